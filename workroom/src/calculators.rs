//! The calculators: one JSON object, or JSON Lines, in on standard input; the same out, in the same order.
//!
//! Every line gets an answer. A line that cannot be used answers `{"id":…,"error":{"where","what","right"}}`, is
//! said in one line on standard error with its line number, and the rest goes on.

use crate::Outcome;
use hangtrue_core::json;
use serde::Deserialize;
use std::io::{BufRead, Write};

/// Answers one object: its text and its line number to one line of JSON.
pub(crate) type Calculator = fn(text: &str, line: usize) -> String;

/// An answer that says what was wrong.
#[derive(Deserialize)]
struct Refused {
    error: Trouble,
}

#[derive(Deserialize)]
struct Trouble {
    #[serde(rename = "where")]
    place: String,
    what: String,
    right: String,
}

/// What was wrong, when the answer is a refusal.
fn refusal(answer: &str) -> Option<Trouble> {
    // Nearly every answer is a good one; reading it as JSON again would cost more than making it.
    if !answer.contains(r#""error":{"#) {
        return None;
    }
    serde_json::from_str::<Refused>(answer).ok().map(|refused| refused.error)
}

/// What answers lines: at once, or when all have come in.
pub(crate) trait Answers {
    /// Takes a line, and gives what is ready, in order.
    fn take(&mut self, text: &str, line: usize) -> Vec<String>;
    /// Puts an answer that is known already in its line's place.
    fn said(&mut self, answer: String) -> Vec<String> {
        vec![answer]
    }
    /// What waited for the end.
    fn finish(self) -> Vec<String>;
}

/// The answer of a line, and of those that waited for it.
fn take(calculator: &mut impl Answers, text: &str, line: usize) -> Vec<String> {
    match doubled(text, line) {
        Some(answer) => calculator.said(answer),
        None => calculator.take(text, line),
    }
}

impl Answers for Calculator {
    fn take(&mut self, text: &str, line: usize) -> Vec<String> {
        vec![self(text, line)]
    }
    fn finish(self) -> Vec<String> {
        Vec::new()
    }
}

impl Answers for hangtrue_core::truth::calculator::Lines {
    fn take(&mut self, text: &str, line: usize) -> Vec<String> {
        Self::take(self, text, line)
    }
    fn said(&mut self, answer: String) -> Vec<String> {
        Self::said(self, answer)
    }
    fn finish(self) -> Vec<String> {
        Self::finish(self)
    }
}

impl Answers for hangtrue_core::truth::calculator::Learner {
    fn take(&mut self, text: &str, line: usize) -> Vec<String> {
        Self::take(self, text, line)
    }
    fn finish(self) -> Vec<String> {
        Self::finish(self)
    }
}

/// Runs a calculator over `input`.
///
/// # Errors
/// Only when input or output itself fails.
pub(crate) fn run(
    mut calculator: impl Answers,
    mut input: impl BufRead,
    mut out: impl Write,
    mut complaints: impl Write,
) -> anyhow::Result<Outcome> {
    let mut outcome = Outcome::Good;
    let mut answered = 0;
    let mut give = |answers: Vec<String>, out: &mut dyn Write| -> anyhow::Result<()> {
        for json in answers {
            answered += 1;
            writeln!(out, "{json}")?;
            if let Some(Trouble { place, what, right }) = refusal(&json) {
                outcome = Outcome::SomeRefused;
                writeln!(complaints, "{place}: {what}; {right}")?;
            }
        }
        Ok(())
    };
    let mut line = String::new();
    let mut number = 0;
    let mut first = true;
    while read_line(&mut input, &mut line)? {
        number += 1;
        let begun = std::mem::take(&mut line);
        let begun = if first { json::without_mark(&begun) } else { &begun };
        if begun.trim().is_empty() {
            continue;
        }
        if first && is_beginning(begun) {
            let mut rest = Vec::new();
            input.read_to_end(&mut rest)?;
            let rest = String::from_utf8_lossy(&rest);
            if are_lines(&rest) {
                give(take(&mut calculator, begun.trim_end(), number), &mut out)?;
                for (text, after) in rest.lines().zip(1..).filter(|(text, _)| !text.trim().is_empty()) {
                    give(take(&mut calculator, text, number + after), &mut out)?;
                }
            } else {
                // The beginning of an object, not a whole one: all of the input is that object.
                give(take(&mut calculator, &format!("{begun}{rest}"), number), &mut out)?;
            }
            break;
        }
        first = false;
        give(take(&mut calculator, begun.trim_end(), number), &mut out)?;
    }
    give(calculator.finish(), &mut out)?;
    out.flush()?;
    if answered == 0 {
        outcome = Outcome::SomeRefused;
        writeln!(complaints, "standard input is empty; write one JSON object a line (--help has an example)")?;
    }
    Ok(outcome)
}

/// Reads a line, replacing what is no UTF-8, so that one bad line does not end the rest; false at the end.
fn read_line(input: &mut impl BufRead, line: &mut String) -> std::io::Result<bool> {
    let mut bytes = Vec::new();
    let n = input.read_until(b'\n', &mut bytes)?;
    line.push_str(&String::from_utf8_lossy(&bytes));
    Ok(n > 0)
}

/// The refusal of a line in which a name stands twice: a map would keep the second in silence.
fn doubled(text: &str, line: usize) -> Option<String> {
    let doubled = json::doubled_key(text)?;
    let id = serde_json::from_str::<serde_json::Value>(text).ok().and_then(|value| value.get("id").cloned());
    let line = line + doubled.line - 1;
    let place = if doubled.path.is_empty() { format!("line {line}") } else { format!("line {line}, {}", doubled.path) };
    let error = serde_json::json!({ "where": place, "what": doubled.to_string(), "right": doubled.right() });
    Some(serde_json::json!({ "id": id, "error": error }).to_string())
}

/// True when what follows an unfinished first line is JSON Lines, not the rest of one object: a line that begins at
/// its left edge and is an object by itself. What an object is written over does not begin so.
fn are_lines(rest: &str) -> bool {
    rest.lines().any(|line| line.starts_with('{') && serde_json::from_str::<serde::de::IgnoredAny>(line).is_ok())
}

fn is_beginning(text: &str) -> bool {
    matches!(serde_json::from_str::<serde::de::IgnoredAny>(text), Err(error) if error.is_eof())
}

/// The cut list, with its answer put in one line like the others'.
pub(crate) fn cutlist(text: &str, line: usize) -> String {
    let id = serde_json::from_str::<serde_json::Value>(text)
        .ok()
        .and_then(|value| value.get("id").cloned())
        .unwrap_or_default();
    match hangtrue_core::cutlist::calculator::answer_line(text) {
        Ok(answer) => answer.to_string(),
        Err(problems) => {
            // All of them are said; the first has its place named apart.
            let first = problems.first().map_or("", |problem| problem.place.as_str());
            let place = if first.is_empty() { format!("line {line}") } else { format!("line {line}, {first}") };
            let join = |words: Vec<&str>| words.join("; ");
            let what = join(problems.iter().map(|problem| problem.what.as_str()).collect());
            let right = join(problems.iter().map(|problem| problem.right.as_str()).collect());
            serde_json::json!({ "id": id, "error": { "where": place, "what": what, "right": right } }).to_string()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn echo(text: &str, line: usize) -> String {
        match serde_json::from_str::<serde_json::Value>(text) {
            Ok(value) => value.to_string(),
            Err(_) => format!(
                r#"{{"id":null,"error":{{"where":"line {line}","what":"not JSON","right":"one object a line"}}}}"#
            ),
        }
    }

    fn through(input: &str) -> (String, String, Outcome) {
        let (mut out, mut complaints) = (Vec::new(), Vec::new());
        let outcome = run(echo as Calculator, input.as_bytes(), &mut out, &mut complaints).unwrap();
        (String::from_utf8(out).unwrap(), String::from_utf8(complaints).unwrap(), outcome)
    }

    #[test]
    fn lines_are_answered_in_order_and_a_bad_one_does_not_stop_the_rest() {
        let (out, complaints, outcome) = through("{\"id\":1}\n\nnonsense\n{\"id\":3}");
        assert_eq!(out.lines().count(), 3);
        assert!(out.ends_with("{\"id\":3}\n"));
        assert_eq!(complaints, "line 3: not JSON; one object a line\n");
        assert_eq!(outcome, Outcome::SomeRefused);
    }

    #[test]
    fn one_object_may_span_lines() {
        let (out, _, outcome) = through("{\n \"id\": 1\n}\n");
        assert_eq!((out.as_str(), outcome), ("{\"id\":1}\n", Outcome::Good));
    }

    #[test]
    fn bytes_that_are_no_text_are_refused_not_fatal() {
        let (mut out, mut complaints) = (Vec::new(), Vec::new());
        run(echo as Calculator, &b"{\"id\":1}\n\xff\xfe\n{\"id\":2}\n"[..], &mut out, &mut complaints).unwrap();
        assert_eq!(String::from_utf8(out).unwrap().lines().count(), 3);
    }

    #[test]
    fn an_unfinished_first_line_does_not_swallow_the_rest() {
        let (out, complaints, outcome) = through("{\"id\":1,\n{\"id\":2}\n\n{\"id\":3}\n");
        assert_eq!(out.lines().count(), 3, "{out}");
        assert!(out.contains("\n{\"id\":2}\n{\"id\":3}\n"), "{out}");
        assert!(complaints.starts_with("line 1: "), "{complaints}");
        assert_eq!(outcome, Outcome::SomeRefused);
    }

    #[test]
    fn a_byte_order_mark_is_passed_over() {
        for input in ["\u{feff}{\"id\":1}\n{\"id\":2}\n", "\u{feff}{\n\"id\":1}"] {
            let (out, complaints, outcome) = through(input);
            assert!(out.starts_with("{\"id\":1}\n"), "{out}");
            assert_eq!((complaints.as_str(), outcome), ("", Outcome::Good));
        }
    }

    #[test]
    fn empty_input_says_so() {
        for input in ["", "\n \n", "\u{feff}"] {
            let (out, complaints, outcome) = through(input);
            assert_eq!((out.as_str(), outcome), ("", Outcome::SomeRefused));
            assert!(complaints.contains("is empty"), "{complaints}");
        }
    }

    #[test]
    fn a_name_that_stands_twice_is_refused_by_every_calculator_with_its_place() {
        use hangtrue_core::{cloth, fixing, mount, truth};
        let every: [(&str, Calculator); 6] = [
            ("truth", truth::calculator::answer),
            ("size", mount::calculator::answer),
            ("cloth", cloth::calculator::answer),
            ("cutlist", cutlist),
            ("screw", fixing::calculator::screw),
            ("beam", fixing::calculator::beam),
        ];
        let line = "{\"id\":7,\"unit\":\"in\",\"settings\":{\"anchor_factor\":5,\"anchor_factor\":4}}\n";
        for (name, calculator) in every {
            let (mut out, mut complaints) = (Vec::new(), Vec::new());
            run(calculator, line.as_bytes(), &mut out, &mut complaints).unwrap();
            let said = String::from_utf8(complaints).unwrap();
            assert_eq!(
                said, "line 1, settings: \"anchor_factor\" stands twice here; keep one of the two \"anchor_factor\"\n",
                "{name}"
            );
            assert!(String::from_utf8(out).unwrap().starts_with("{\"id\":7,\"error\":"), "{name}");
        }
    }
}

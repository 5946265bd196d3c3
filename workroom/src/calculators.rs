//! The calculators: one JSON object, or JSON Lines, in on standard input; the same out, in the same order.
//!
//! Every line gets an answer. A line that cannot be used answers `{"id":…,"error":{"where","what","right"}}`, is
//! said in one line on standard error with its line number, and the rest goes on.

use crate::Outcome;
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

/// Runs a calculator over `input`.
///
/// # Errors
/// Only when input or output itself fails.
pub(crate) fn run(
    calculator: Calculator,
    mut input: impl BufRead,
    mut out: impl Write,
    mut complaints: impl Write,
) -> anyhow::Result<Outcome> {
    let mut outcome = Outcome::Good;
    let mut answer = |text: &str, line: usize, out: &mut dyn Write| -> anyhow::Result<()> {
        let json = calculator(text, line);
        writeln!(out, "{json}")?;
        if let Some(Trouble { place, what, right }) = refusal(&json) {
            outcome = Outcome::SomeRefused;
            writeln!(complaints, "{place}: {what}; {right}")?;
        }
        Ok(())
    };
    let mut line = String::new();
    let mut number = 0;
    let mut first = true;
    loop {
        line.clear();
        if read_line(&mut input, &mut line)? == 0 {
            break;
        }
        number += 1;
        if line.trim().is_empty() {
            continue;
        }
        // A first line that is the beginning of an object, not a whole one: all of the input is that object.
        if first && is_beginning(&line) {
            input.read_to_string(&mut line)?;
            answer(&line, number, &mut out)?;
            break;
        }
        first = false;
        answer(line.trim_end(), number, &mut out)?;
    }
    out.flush()?;
    Ok(outcome)
}

/// Reads a line, replacing what is no UTF-8, so that one bad line does not end the rest.
fn read_line(input: &mut impl BufRead, line: &mut String) -> std::io::Result<usize> {
    let mut bytes = Vec::new();
    let n = input.read_until(b'\n', &mut bytes)?;
    line.push_str(&String::from_utf8_lossy(&bytes));
    Ok(n)
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
        let outcome = run(echo, input.as_bytes(), &mut out, &mut complaints).unwrap();
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
        run(echo, &b"{\"id\":1}\n\xff\xfe\n{\"id\":2}\n"[..], &mut out, &mut complaints).unwrap();
        assert_eq!(String::from_utf8(out).unwrap().lines().count(), 3);
    }
}

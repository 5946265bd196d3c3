//! Fractions set as fractions: one form for eyes that never breaks across a line, one for readers, search and copying.

use crate::length::{Direction, Grain, LengthUnit, parse_signed};
use crate::settings;
use maud::{Markup, PreEscaped, html};

/// A piece of a text: words, or a length that is kept together.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Piece<'a> {
    /// Words as they are.
    Words(&'a str),
    /// A length.
    Length {
        /// All of it as text.
        text: &'a str,
        /// What stands before its fraction.
        lead: &'a str,
        /// Its fraction, if it has one.
        fraction: Option<(&'a str, &'a str)>,
        /// What stands after it: its unit.
        tail: &'a str,
    },
}

/// The marks after a number that belong to it.
const TAILS: [&str; 10] = [" in", " mm", " cm", " m", " lb", " kg", " lbf", " N", " %", " years"];

fn digits(text: &str, from: usize) -> usize {
    text.as_bytes()[from..].iter().take_while(|byte| byte.is_ascii_digit()).count()
}

/// A length at the start of `text`, if there is one: how many bytes are its lead, its fraction and its tail.
fn length_at(text: &str) -> Option<Piece<'_>> {
    let bytes = text.as_bytes();
    let is = |at: usize, byte: u8| bytes.get(at) == Some(&byte);
    let mut at = usize::from(is(0, b'-'));
    let first = digits(text, at);
    if first == 0 {
        return None;
    }
    let mut lead_end = at;
    at += first;
    // Feet: 2' 10 3/8"
    if is(at, b'\'') {
        at += 1;
        lead_end = at;
        if is(at, b' ') && digits(text, at + 1) > 0 {
            at += 1;
            lead_end = at;
            at += digits(text, at);
        }
    }
    let fraction_at = |from: usize| -> Option<(usize, usize)> {
        let over = digits(text, from);
        (over > 0 && is(from + over, b'/')).then(|| (over, digits(text, from + over + 1))).filter(|(_, under)| {
            *under > 0
                && matches!(&text[from + over + 1..from + over + 1 + under], "2" | "4" | "8" | "16" | "32" | "64")
        })
    };
    let mut fraction = None;
    if let Some((over, under)) = fraction_at(lead_end) {
        fraction = Some((lead_end, over, under));
    } else if is(at, b' ')
        && let Some((over, under)) = fraction_at(at + 1)
    {
        lead_end = at;
        fraction = Some((at + 1, over, under));
    } else {
        if is(at, b'.') && digits(text, at + 1) > 0 {
            at += 1;
            at += digits(text, at);
        }
        lead_end = at;
    }
    let mut end = match fraction {
        Some((from, over, under)) => from + over + 1 + under,
        None => lead_end,
    };
    let body = end;
    let rest = &text[end..];
    if let Some(tail) = TAILS.iter().rev().find(|tail| {
        rest.starts_with(**tail) && !rest[tail.len()..].starts_with(|c: char| c.is_alphanumeric() || c == '/')
    }) {
        end += tail.len();
    } else if rest.starts_with('"') {
        end += 1;
    } else if rest.starts_with(|c: char| c.is_alphanumeric() || c == '/') {
        return None;
    }
    let feet = text[..body].contains('\'');
    if fraction.is_none() && end == body && !feet {
        return None;
    }
    Some(Piece::Length {
        text: &text[..end],
        lead: &text[..lead_end],
        fraction: fraction
            .map(|(from, over, under)| (&text[from..from + over], &text[from + over + 1..from + over + 1 + under])),
        tail: &text[body..end],
    })
}

/// A text as words and lengths, in order; put together again they are the text.
pub fn pieces(text: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let (mut from, mut at) = (0, 0);
    while at < text.len() {
        let before = text[..at].chars().next_back();
        let begins = before.is_none_or(|c| !(c.is_alphanumeric() || matches!(c, '.' | '/' | '-' | '\'')));
        let number = if begins { length_at(&text[at..]) } else { None };
        if let Some(Piece::Length { text: whole, .. }) = number {
            if from < at {
                pieces.push(Piece::Words(&text[from..at]));
            }
            pieces.extend(number);
            at += whole.len();
            from = at;
        } else {
            at += text[at..].chars().next().map_or(1, char::len_utf8);
        }
    }
    if from < text.len() {
        pieces.push(Piece::Words(&text[from..]));
    }
    pieces
}

/// A text in which a length that is finer than its tape is given about, to the nearest mark of the tape of `unit`: half
/// a mark goes up, and so is one in the other unit. A drill bit keeps its size, and so does a reading in brackets that is a
/// whole mark of the tape it was read by.
pub(super) fn about(text: &str, unit: LengthUnit) -> String {
    let mut out = String::with_capacity(text.len());
    let pieces = pieces(text);
    for (i, piece) in pieces.iter().enumerate() {
        let Piece::Length { text, fraction, tail, .. } = piece else {
            let Piece::Words(words) = piece else { continue };
            out.push_str(words);
            continue;
        };
        let is_length = matches!(*tail, " in" | " mm" | " cm" | " m" | "\"") || tail.is_empty() && fraction.is_some();
        let is_bit = matches!(pieces.get(i + 1), Some(Piece::Words(next)) if next.starts_with(" bit"));
        let length = if is_length && !is_bit { parse_signed(text, unit).ok() } else { None };
        let metric = matches!(*tail, " mm" | " cm" | " m");
        let other = if unit.is_imperial() { metric } else { !metric && !tail.is_empty() };
        // In brackets stands a reading, as it was typed.
        let typed = out.ends_with('(');
        let Some(length) = length.filter(|length| {
            let own = if metric { LengthUnit::Millimetre } else { unit };
            other && !typed || length.round(Grain::of_tape(own), Direction::Down) != *length
        }) else {
            out.push_str(text);
            continue;
        };
        let grain = Grain::of_tape(unit);
        let near = (length + grain.step().split(2, 1)).round(grain, Direction::Down);
        if !out.ends_with("about ") {
            out.push_str("about ");
        }
        out.push_str(&if tail.is_empty() { near.show(unit) } else { near.show_marked(unit) });
    }
    out
}

/// A text with its fractions set, its lengths kept together, and no setting's code name in it.
pub(super) fn set(text: &str) -> Markup {
    let text = settings::plain(text);
    html! { @for piece in pieces(&text) { (one(piece)) } }
}

fn one(piece: Piece<'_>) -> Markup {
    match piece {
        Piece::Words(words) => html! { (words) },
        Piece::Length { text, fraction: None, .. } => html! { span.nb { (text) } },
        Piece::Length { text, lead, fraction: Some((over, under)), tail } => html! {
            span.len {
                span.vh { (text) }
                span.set aria-hidden="true" { (lead) span.fr { i { (over) } u { "\u{2044}" } i { (under) } } (tail) }
            }
        },
    }
}

/// The same in a drawing: the insides of a text element.
pub(super) fn set_in_drawing(text: &str, escape: impl Fn(&str) -> String, size: f64) -> Markup {
    let mut out = String::new();
    for piece in pieces(text) {
        match piece {
            Piece::Length { lead, fraction: Some((over, under)), tail, .. } => {
                let small = size * 0.72;
                let (up, back, down) = (size * 0.3, size * 0.26, size * 0.14);
                out.push_str(&format!(
                    r#"{}<tspan font-size="{small:.2}" dx="{:.2}" dy="-{up:.2}">{over}</tspan><tspan dy="{back:.2}">⁄</tspan><tspan font-size="{small:.2}" dy="{down:.2}">{under}</tspan>"#,
                    escape(lead),
                    if lead.is_empty() { 0.0 } else { size * 0.12 },
                ));
                if !tail.is_empty() {
                    out.push_str(&format!(r#"<tspan dy="-{:.2}">{}</tspan>"#, back + down - up, escape(tail)));
                }
            }
            Piece::Length { text, .. } | Piece::Words(text) => out.push_str(&escape(text)),
        }
    }
    PreEscaped(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lengths(text: &str) -> Vec<String> {
        let taken = pieces(text).into_iter().filter_map(|piece| match piece {
            Piece::Length { text, lead, fraction, tail } => {
                let fraction = fraction.map_or_else(String::new, |(over, under)| format!("{over}|{under}"));
                assert!(text.starts_with(lead));
                Some(format!("{lead}[{fraction}]{tail}"))
            }
            Piece::Words(_) => None,
        });
        taken.collect()
    }

    #[test]
    fn lengths_are_found_and_nothing_else_is() {
        assert_eq!(lengths("Cut 35 7/8 in, 1/2 and 50 in; -1/4 in"), ["35[7|8] in", "[1|2]", "50[] in", "-[1|4] in"]);
        assert_eq!(lengths("2' 10 3/8\" and 5' and 873 mm"), ["2' 10[3|8]\"", "5'[]", "873[] mm"]);
        assert_eq!(lengths("No. 8 x 1 3/4, a 1x2, 16 CFR 1120.3, 2026-05-04, SOR/2019-97, 3/7"), ["1[3|4]"]);
        assert_eq!(lengths("2.25 in of 3 inches"), ["2.25[] in"]);
        assert_eq!(lengths("0.12 lbf in"), ["0.12[] lbf"]);
    }

    #[test]
    fn words_from_elsewhere_are_no_finer_than_the_tape() {
        for (text, said) in [
            ("needs 25/32 in; gives 3/4 in", "needs about 13/16 in; gives 3/4 in"),
            ("a 5/64 in bit, 3 15/32 deep", "a 5/64 in bit, about 3 1/2 deep"),
            ("Cut cord 2 to 4134.379167 mm", "Cut cord 2 to about 162 3/4 in"),
            ("height (1469 mm), about 0.9 in, -1/32 in", "height (1469 mm), about 7/8 in, about 0 in"),
            ("needs 24 mm; gives 3/4 in", "needs about 15/16 in; gives 3/4 in"),
            ("No. 8 x 1 3/4, 6.18 lb, 40 CFR 745.83", "No. 8 x 1 3/4, 6.18 lb, 40 CFR 745.83"),
        ] {
            assert_eq!(about(text, LengthUnit::Inch), said);
        }
        assert_eq!(about("485.5 mm of 13 mm", LengthUnit::Millimetre), "about 486 mm of 13 mm");
    }

    #[test]
    fn put_together_again_a_text_is_the_same() {
        for text in ["", "a 1/2", "7 3/16 in wide, \u{2044} 12 mm", "x1/2 1/2x 1/2/3 4.5.6", "\u{e9}1/2 \u{1f600} 3/8"]
        {
            let again: String = pieces(text)
                .iter()
                .map(|piece| match piece {
                    Piece::Words(text) | Piece::Length { text, .. } => *text,
                })
                .collect();
            assert_eq!(again, text);
        }
    }

    #[test]
    fn what_is_shown_and_what_is_read_say_the_same() {
        let html = set("3 1/2 in <b>").into_string();
        assert_eq!(
            html,
            "<span class=\"len\"><span class=\"vh\">3 1/2 in</span><span class=\"set\" aria-hidden=\"true\">3<span \
             class=\"fr\"><i>1</i><u>\u{2044}</u><i>2</i></span> in</span></span> &lt;b&gt;"
        );
    }
}

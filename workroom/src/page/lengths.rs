//! Lengths on the page, in two forms: `35 7/8` as it is written for readers, search and copying, and for eyes its fraction
//! set small. The set form is drawn out of attributes, so that it is no text of the page and is never copied or found.

use hangtrue_core::settings;
use hangtrue_core::sheet::{Piece, pieces};
use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

/// A text with its lengths kept together and its fractions set.
pub(super) fn set(text: &str) -> Markup {
    let text = settings::plain(text);
    html! { @for piece in pieces(&text) { (one(piece)) } }
}

fn one(piece: Piece<'_>) -> Markup {
    match piece {
        Piece::Words(words) => html! { (words) },
        Piece::Length { text, fraction: None, .. } => html! { span.nb { (text) } },
        Piece::Length { text, lead, fraction: Some(fraction), tail } => length(text, lead, Some(fraction), tail),
    }
}

/// A length in a column of its own: units stand under units, and a fraction has a slot that a whole number leaves empty.
pub(super) fn column(text: &str) -> Markup {
    match pieces(text).as_slice() {
        [Piece::Length { text, lead, fraction, tail }] if !is_metric(tail) => length(text, lead, *fraction, tail),
        _ if !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit()) => length(text, text, None, ""),
        _ => set(text),
    }
}

fn is_metric(tail: &str) -> bool {
    matches!(tail, " mm" | " cm" | " m")
}

fn length(text: &str, lead: &str, fraction: Option<(&str, &str)>, tail: &str) -> Markup {
    html! {
        span.length {
            span.read { (text) }
            span.set aria-hidden="true" data-lead=(lead) data-tail=(tail) {
                span.fr { @if let Some((over, under)) = fraction { i data-t=(over) {} i data-t=(under) {} } }
            }
        }
    }
}

/// The same in a drawing: the insides of a text element whose letters are `size` high.
pub(super) fn drawn(text: &str, size: f64) -> Markup {
    let mut out = String::new();
    for piece in pieces(text) {
        match piece {
            Piece::Length { lead, fraction: Some((over, under)), tail, .. } => {
                let small = size * 0.72;
                let (up, back, down) = (size * 0.3, size * 0.26, size * 0.14);
                let _ = write!(
                    out,
                    r#"{}<tspan font-size="{small:.1}" dx="{:.1}" dy="-{up:.1}">{over}</tspan><tspan dy="{back:.1}">⁄</tspan><tspan font-size="{small:.1}" dy="{down:.1}">{under}</tspan>"#,
                    escaped(lead),
                    if lead.is_empty() { 0.0 } else { size * 0.12 },
                );
                if !tail.is_empty() {
                    let _ = write!(out, r#"<tspan dy="-{:.1}">{}</tspan>"#, back + down - up, escaped(tail));
                }
            }
            Piece::Length { text, .. } | Piece::Words(text) => out.push_str(&escaped(text)),
        }
    }
    PreEscaped(out)
}

fn escaped(words: &str) -> String {
    html! { (words) }.into_string()
}

/// How wide a text is drawn, about: enough for a ground behind it.
pub(super) fn breadth(text: &str, size: f64) -> f64 {
    let letters = |text: &str| u32::try_from(text.chars().count()).map_or(0.0, f64::from);
    let wide = |piece: &Piece<'_>| match piece {
        Piece::Length { lead, fraction: Some((over, under)), tail, .. } => {
            letters(lead) + letters(tail) + 0.75 * (letters(over) + letters(under)) + 0.7
        }
        Piece::Length { text, .. } | Piece::Words(text) => letters(text),
    };
    pieces(text).iter().map(wide).sum::<f64>() * size * 0.64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is left of a page without its tags: the text that is read, found and copied.
    fn text_of(html: &str) -> String {
        html.split('<')
            .enumerate()
            .map(|(n, part)| if n == 0 { part } else { part.split_once('>').unwrap().1 })
            .collect()
    }

    #[test]
    fn what_is_read_is_the_text_and_what_is_seen_is_no_text() {
        for text in
            ["", "35 7/8", "The middle width (36 7/8) looks an inch long: 35 7/8 would fit with the rest.", "1/2 in"]
        {
            assert_eq!(text_of(&set(text).into_string()), text);
            assert_eq!(text_of(&column(text).into_string()), text);
        }
        let html = set("35 7/8 in").into_string();
        assert!(html.contains(r#"data-lead="35" data-tail=" in""#), "{html}");
        assert!(html.contains(r#"<i data-t="7"></i><i data-t="8"></i>"#), "{html}");
    }

    #[test]
    fn a_whole_number_has_an_empty_slot_in_a_column_and_millimetres_have_none() {
        assert!(column("42 in").into_string().contains(r#"<span class="fr"></span>"#));
        assert!(!column("1180 mm").into_string().contains("fr"));
        assert!(!set("42 in").into_string().contains("fr"));
    }

    #[test]
    fn words_cannot_break_out_of_a_drawing() {
        let drawn = drawn("<b>35 7/8\"", 12.0).into_string();
        assert!(!drawn.contains("<b>") && drawn.contains("&lt;b&gt;"), "{drawn}");
    }
}

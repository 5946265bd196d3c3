//! Cloths and pieces of the shelf as people write them: in a form, and in the columns of a table.
//!
//! One list of fields serves the page, the program and CSV files. What cannot be read is named by its field, with what is
//! wrong and what would be right; what was typed is never changed.

pub(crate) mod cloth;
pub(crate) mod piece;
pub(crate) mod program;
pub(crate) mod table;

use crate::moments;
use hangtrue_core::fact::{Body, House};
use hangtrue_core::length::{Length, LengthUnit, Typed, with_default_unit};
use hangtrue_core::store::{Book, StoreProblem};
use serde_json::Value;
use std::collections::BTreeMap;
use uuid::Uuid;

/// The longest text of a field.
pub(crate) const MOST_CHARS: usize = 400;

/// What was typed, by field.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Typing(BTreeMap<String, String>);

impl Typing {
    /// The pairs of a form or a table, fields without a text left out.
    pub(crate) fn of<'a>(pairs: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        let kept = pairs.into_iter().filter(|(_, text)| !text.trim().is_empty());
        Self(kept.map(|(name, text)| (plain_name(name), text.to_owned())).collect())
    }

    /// What was typed into a field, without the spaces around it.
    pub(crate) fn get(&self, field: &str) -> &str {
        self.0.get(field).map_or("", |text| text.trim())
    }

    pub(crate) fn put(&mut self, field: &str, text: impl Into<String>) {
        let text = text.into();
        if !text.is_empty() {
            self.0.insert(field.to_owned(), text);
        }
    }
}

/// A field's name as it is compared: `Usable width` is `usable_width`.
pub(crate) fn plain_name(name: &str) -> String {
    name.trim().to_lowercase().replace([' ', '-'], "_")
}

/// A field of a form, and a column of a table.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field {
    /// Its name in forms and tables.
    pub(crate) name: &'static str,
    /// What a person reads.
    pub(crate) label: &'static str,
    /// Said beside it; empty when the label says enough.
    pub(crate) hint: &'static str,
    /// What can be chosen, where it is no text: value, words.
    pub(crate) options: &'static [(&'static str, &'static str)],
}

impl Field {
    pub(crate) const fn text(name: &'static str, label: &'static str, hint: &'static str) -> Self {
        Self { name, label, hint, options: &[] }
    }
}

/// A field that cannot be used as it was typed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Slip {
    /// The field's name.
    pub(crate) field: &'static str,
    /// What is wrong.
    pub(crate) what: String,
    /// What would be right.
    pub(crate) right: String,
}

impl Slip {
    pub(crate) fn new(field: &'static str, what: impl Into<String>, right: impl Into<String>) -> Self {
        Self { field, what: what.into(), right: right.into() }
    }
}

/// Reads fields one by one and collects what cannot be used.
pub(crate) struct Reader<'a> {
    pub(crate) typing: &'a Typing,
    pub(crate) unit: LengthUnit,
    pub(crate) slips: Vec<Slip>,
}

impl<'a> Reader<'a> {
    pub(crate) const fn new(typing: &'a Typing, unit: LengthUnit) -> Self {
        Self { typing, unit, slips: Vec::new() }
    }

    pub(crate) fn slip(&mut self, field: &'static str, what: impl Into<String>, right: impl Into<String>) {
        self.slips.push(Slip::new(field, what, right));
    }

    /// A text of one line.
    pub(crate) fn words(&mut self, field: &'static str) -> String {
        let text = self.typing.get(field).split_whitespace().collect::<Vec<_>>().join(" ");
        if text.chars().count() > MOST_CHARS {
            let what = format!("this has {} letters", text.chars().count());
            self.slip(field, what, format!("write at most {MOST_CHARS}"));
        }
        if text.chars().any(char::is_control) {
            self.slip(field, "there is a sign in it that cannot be printed", "type it again");
        }
        text
    }

    /// A length above nothing, or none where the field is empty.
    pub(crate) fn length(&mut self, field: &'static str) -> Option<Typed> {
        self.length_from(field, false)
    }

    /// A length; nothing itself where `zero` allows it.
    pub(crate) fn length_from(&mut self, field: &'static str, zero: bool) -> Option<Typed> {
        let text = self.typing.get(field);
        if text.is_empty() {
            return None;
        }
        match self.read_length(text, zero) {
            Ok(typed) => Some(typed),
            Err((what, right)) => {
                self.slip(field, what, right);
                None
            }
        }
    }

    pub(crate) fn read_length(&self, text: &str, zero: bool) -> Result<Typed, (String, String)> {
        let typed = Typed::read(text.trim(), self.unit)
            .map_err(|problem| (format!("\u{201C}{text}\u{201D}: {}", problem.what), problem.right))?;
        let value = typed.value();
        if value.is_negative() || (value == Length::ZERO && !zero) {
            return Err((
                format!("\u{201C}{text}\u{201D} must be greater than 0"),
                "write a length like 54 or 137 cm".to_owned(),
            ));
        }
        Ok(typed)
    }

    /// Yes or no.
    pub(crate) fn yes(&mut self, field: &'static str) -> bool {
        match self.typing.get(field).to_lowercase().as_str() {
            "" | "no" | "false" | "0" => false,
            "yes" | "true" | "1" | "on" => true,
            other => {
                self.slip(
                    field,
                    format!("\u{201C}{other}\u{201D} is neither yes nor no"),
                    "write yes, or leave it empty",
                );
                false
            }
        }
    }
}

/// A length as it is shown in a form: as it was typed, with its unit where a bare number would mean another.
pub(crate) fn written(typed: &Typed, unit: LengthUnit) -> String {
    if typed.unit() == unit { typed.text().to_owned() } else { typed.marked_text() }
}

/// A decimal number as people write it, in so many parts of one: `24.5` in hundredths is 2450. `None` when it is none.
pub(crate) fn decimal(text: &str, places: u32) -> Option<u64> {
    let text = text.trim();
    let (whole, part) = match text.rfind(['.', ',']) {
        // The last mark is the decimal one: but one before three digits may be either.
        Some(at) if places < 3 && text[at + 1..].len() > places as usize => return None,
        Some(at) => (&text[..at], &text[at + 1..]),
        None => (text, ""),
    };
    let whole: String = whole.chars().filter(|c| !matches!(c, ' ' | '\'' | ',' | '.')).collect();
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if (whole.is_empty() && part.is_empty()) || !digits(&whole) || !digits(part) {
        return None;
    }
    let number = format!("{whole}{part:0<width$}", width = places as usize);
    number.parse().ok()
}

/// Splits a text into its number and what stands behind it.
pub(crate) fn number_and_rest(text: &str) -> (&str, &str) {
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '\''))).unwrap_or(text.len());
    (&text[..end], text[end..].trim())
}

/// A field that is set: what it belongs to, its name, its value.
pub(crate) type Set = (Uuid, String, Value);

/// Sets fields of a house or of the workroom, each in the place of what stands there now, in one transaction.
pub(crate) fn set_fields(book: &mut Book, house: &House, fields: Vec<Set>, by: &str) -> Result<(), StoreProblem> {
    let body = |(on, field, value): Set| {
        let replaces = house.standing.get(&(on, field.clone())).cloned().unwrap_or_default();
        Body::Set { on, field, value, replaces }
    };
    let bodies: Vec<Body> = fields.into_iter().map(body).collect();
    if !bodies.is_empty() {
        book.write(house.job.id, by, house.job.unit, &bodies, &mut moments::now)?;
    }
    Ok(())
}

/// A cloth or a piece as a fact has it.
pub(crate) fn json(of: &impl serde::Serialize, unit: LengthUnit) -> Value {
    with_default_unit(unit, || serde_json::to_value(of)).unwrap_or_default()
}

//! Flags: what a person should know, decide or do again, each with a code, the places concerned and two sentences.

use crate::house::Place;
use serde::{Deserialize, Serialize};

/// How much a flag asks of a person.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Worth knowing; nothing needs to be done.
    Know,
    /// A choice is to be made before cutting.
    Decide,
    /// Take the reading again before leaving the house.
    TakeAgain,
}

impl Severity {
    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Know => "know",
            Self::Decide => "decide",
            Self::TakeAgain => "take again before you leave",
        }
    }
}

/// One thing a person should know, decide or do again.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Flag {
    /// A short name of our own, stable across versions: `widths_differ`.
    pub code: String,
    /// How much it asks.
    pub severity: Severity,
    /// The places concerned; empty for the opening as a whole.
    pub places: Vec<Place>,
    /// One plain sentence.
    pub says: String,
    /// What to do, one plain sentence.
    #[serde(rename = "do")]
    pub to_do: String,
    /// The place that `to_do` says to read, where that is not the first of `places`.
    #[serde(skip)]
    pub read: Option<Place>,
}

impl Flag {
    /// A new flag.
    pub fn new(
        code: &str,
        severity: Severity,
        places: &[Place],
        says: impl Into<String>,
        to_do: impl Into<String>,
    ) -> Self {
        let (says, to_do) = (sentence(&says.into()), sentence(&to_do.into()));
        Self { code: code.to_owned(), severity, places: places.to_vec(), says, to_do, read: None }
    }

    /// The same, where what to do is to read at this place.
    #[must_use]
    pub const fn leading_to(mut self, place: Place) -> Self {
        self.read = Some(place);
        self
    }

    /// The place where a person goes to do what it says.
    pub fn leads_to(&self) -> Option<Place> {
        self.read.or_else(|| self.places.first().copied())
    }
}

/// A clause as a sentence: a capital first, a stop last. A sentence stays as it is.
pub fn sentence(clause: &str) -> String {
    let mut chars = clause.trim().chars();
    let mut text: String = chars.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    text.push_str(chars.as_str());
    if !text.is_empty() && !text.ends_with(['.', '!', '?', ':']) {
        text.push('.');
    }
    text
}

/// `a`, `a and b`, `a, b and c`.
pub fn listed(items: impl IntoIterator<Item = String>) -> String {
    let items: Vec<String> = items.into_iter().collect();
    match items.as_slice() {
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        _ => items.concat(),
    }
}

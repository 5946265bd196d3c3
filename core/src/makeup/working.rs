//! The working of a number: its terms, each with its value and reason, and what they come to.

use crate::length::{Direction, Grain, Length, LengthUnit};

/// A value in a working.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Amount {
    /// A length, exact.
    Length(Length),
    /// A whole number of things.
    Count(i64),
    /// An estimated weight in grams.
    Grams(f64),
}

impl Amount {
    /// As a person reads it, lengths in `unit`.
    pub fn shown(self, unit: LengthUnit) -> String {
        match self {
            Self::Length(length) => length.show_marked(unit),
            Self::Count(n) => n.to_string(),
            Self::Grams(grams) if unit.is_imperial() => format!("{:.2} lb", grams / GRAMS_PER_POUND),
            Self::Grams(grams) => format!("{:.2} kg", grams / 1000.0),
        }
    }
}

/// Grams in a pound: 453.59237 exactly (international yard and pound agreement, 1959).
pub const GRAMS_PER_POUND: f64 = 453.592_37;

/// One term of a working.
#[derive(Clone, PartialEq, Debug)]
pub struct Line {
    /// What it is: `finished width`.
    pub term: String,
    /// Its value, with its sign: the lines of a sum add up to its result.
    pub value: Amount,
    /// Why it is there.
    pub reason: String,
}

/// How one number was worked out.
#[derive(Clone, PartialEq, Debug)]
pub struct Working {
    /// The number: `face, cut width`.
    pub what: String,
    /// True when the lines add up to the result; false when the last reason says what was done with them.
    pub sum: bool,
    /// Its terms in order.
    pub lines: Vec<Line>,
    /// What they come to.
    pub result: Amount,
}

/// A sum being written down.
pub(super) struct Sum {
    what: String,
    lines: Vec<Line>,
    total: Length,
}

impl Sum {
    pub(super) fn of(what: impl Into<String>) -> Self {
        Self { what: what.into(), lines: Vec::new(), total: Length::ZERO }
    }

    pub(super) fn add(mut self, term: impl Into<String>, value: Length, reason: impl Into<String>) -> Self {
        self.total += value;
        self.lines.push(Line { term: term.into(), value: Amount::Length(value), reason: reason.into() });
        self
    }

    /// As [`Self::add`], left out when it is nothing.
    pub(super) fn add_some(self, term: &str, value: Length, reason: impl Into<String>) -> Self {
        if value == Length::ZERO { self } else { self.add(term, value, reason) }
    }

    /// Brings what stands so far to whole grains of the tape, in a named direction, with a line of its own where that
    /// changes anything: the lines still add up.
    pub(super) fn on_tape(self, unit: LengthUnit, direction: Direction) -> Self {
        let rounded = self.total.round(Grain::of_tape(unit), direction);
        if rounded == self.total {
            return self;
        }
        let (term, why) = match direction {
            Direction::Up => ("rounded up", "to the next mark of the tape"),
            Direction::Down => ("rounded down", "to the last mark of the tape"),
            Direction::Nearest => ("rounded", "to the nearest mark of the tape"),
        };
        let change = rounded - self.total;
        self.add(term, change, why)
    }

    /// Files the working and gives the total.
    pub(super) fn file(self, workings: &mut Vec<Working>) -> Length {
        workings.push(Working { what: self.what, sum: true, lines: self.lines, result: Amount::Length(self.total) });
        self.total
    }
}

pub(super) fn line(term: impl Into<String>, value: Amount, reason: impl Into<String>) -> Line {
    Line { term: term.into(), value, reason: reason.into() }
}

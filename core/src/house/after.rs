//! What comes after a quote: invoices, days that were agreed, what was wrong with a shade and why.

use super::{Place, QuoteSum};
use crate::money::{Currency, Money};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// An invoice as it was written: nothing in it is worked out again, and none is ever taken out. One that was wrong is taken
/// back by another.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Invoice {
    /// Its number: the sign of the desk that wrote it, and a count that neither repeats nor skips there.
    pub name: String,
    /// When it was written.
    pub at: DateTime<Utc>,
    /// By whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// The number of the quote that was agreed.
    pub quote: String,
    /// The number of the invoice that it takes back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub takes_back: Option<String>,
    /// Its currency.
    pub currency: Currency,
    /// Its lines: shades, then what is added and taken off, taxes among it.
    pub lines: Vec<QuoteSum>,
    /// Their sum; below zero for one that takes another back.
    pub total: Money,
    /// What had come until then.
    pub paid: Money,
    /// The day by which the rest is asked for.
    pub due: NaiveDate,
}

/// That an opening's shade is made as one that hung there already: its readings are that one's, and two of them are taken again.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Again {
    /// The opening that it is made as.
    pub of: Uuid,
    /// Since when: what is read later confirms.
    pub at: DateTime<Utc>,
}

/// A day at the house that was agreed.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Visit {
    /// What tells it from others.
    pub name: String,
    /// What for.
    pub what: VisitKind,
    /// The day.
    pub on: NaiveDate,
    /// When it begins, as a clock at the house shows it; the whole day when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<NaiveTime>,
    /// How long it takes.
    pub minutes: u32,
    /// A remark.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// What a visit is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VisitKind {
    /// To measure.
    Measure,
    /// To hang.
    Hang,
    /// To put something right.
    PutRight,
}

impl VisitKind {
    /// All, with their codes.
    pub const ALL: [(Self, &'static str); 3] =
        [(Self::Measure, "measure"), (Self::Hang, "hang"), (Self::PutRight, "put_right")];

    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Measure => "measure",
            Self::Hang => "hang",
            Self::PutRight => "put right",
        }
    }
}

/// What was wrong with a shade.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Defect {
    /// What tells it from others.
    pub name: String,
    /// The day it was seen.
    pub on: NaiveDate,
    /// What: "rubs at the left".
    pub what: String,
    /// Where it came from.
    pub cause: DefectCause,
    /// The place whose reading was to blame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// What it cost in cloth and things.
    #[serde(default, skip_serializing_if = "Money::is_zero")]
    pub money: Money,
    /// What it cost in time.
    #[serde(default, skip_serializing_if = "is_none_at_all")]
    pub minutes: u32,
}

// Serde hands a reference.
#[allow(clippy::trivially_copy_pass_by_ref)]
const fn is_none_at_all(minutes: &u32) -> bool {
    *minutes == 0
}

/// Where a defect came from.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DefectCause {
    /// A wrong reading.
    Reading,
    /// A wrong choice of mount, size or make.
    Choice,
    /// Cutting.
    Cutting,
    /// Sewing and mounting on the board.
    Making,
    /// The cloth itself.
    Cloth,
    /// Hanging.
    Hanging,
    /// The house: it moved, or what was behind the wall.
    House,
}

impl DefectCause {
    /// All, in the order of the work.
    pub const ALL: [Self; 7] =
        [Self::Reading, Self::Choice, Self::Cutting, Self::Making, Self::Cloth, Self::Hanging, Self::House];

    /// Its code in the facts.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Choice => "choice",
            Self::Cutting => "cutting",
            Self::Making => "making",
            Self::Cloth => "cloth",
            Self::Hanging => "hanging",
            Self::House => "house",
        }
    }

    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Reading => "a wrong reading",
            Self::Choice => "a wrong choice",
            Self::Cutting => "cutting",
            Self::Making => "sewing",
            Self::Cloth => "the cloth",
            Self::Hanging => "hanging",
            Self::House => "the house",
        }
    }
}

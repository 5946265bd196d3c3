//! Readings, and what they were taken with.

use super::Place;
use crate::length::{Length, LengthUnit, Typed};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// One laying of the tape. Never changed once taken.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Never used again.
    pub id: Uuid,
    /// Where the tape was laid.
    pub place: Place,
    /// What was read, in the words it was typed in.
    #[serde(rename = "read")]
    pub typed: Typed,
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// The name of the tape or laser, as in the job's `instruments`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub with: String,
    /// The reading whose typing this one corrects: that one no longer stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub amends: Option<Uuid>,
    /// The ask from the workroom that this reading answers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answers: Option<Uuid>,
    /// Set when it was taken back: it is kept and no longer stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withdrawn: Option<Withdrawn>,
}

impl Reading {
    /// The exact length that was read.
    pub const fn value(&self) -> Length {
        self.typed.value()
    }

    /// The unit that was read in.
    pub const fn unit(&self) -> LengthUnit {
        self.typed.unit()
    }
}

/// When and why a reading was taken back.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Withdrawn {
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// Why, in a few words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
}

/// A place that was not read, and why.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Skip {
    /// The place.
    pub place: Place,
    /// Why: "painted shut", "behind a piano".
    pub why: String,
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
}

/// A tape, rule or laser that readings were taken with.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// The name readings give it.
    pub name: String,
    /// What it is.
    pub kind: InstrumentKind,
    /// The step it is read to; 1/16 in or 1 mm when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grain: Option<Typed>,
    /// The length of a tape's case, for readings into a corner.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub case: Option<Typed>,
}

/// What kind of instrument it is, and its class.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum InstrumentKind {
    /// A tape of an accuracy class (Directive 2014/32/EU Annex X, MI-008).
    Tape {
        /// Its class; II when nobody knows.
        class: TapeClass,
    },
    /// A laser distance meter.
    Laser,
}

/// Accuracy class of a tape.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
pub enum TapeClass {
    /// Class I.
    I,
    /// Class II, the common one.
    #[default]
    II,
    /// Class III.
    III,
}

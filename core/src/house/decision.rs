//! Answers to questions: what a person decided of an opening, and what that rests on.

use super::{Opening, Place};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A question of an opening that a person answered. It holds until a reading that it rests on changes, or until the
/// question has other figures in it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decision {
    /// Never used again.
    pub id: Uuid,
    /// The code of the flag that asked.
    pub flag: String,
    /// The places that the flag named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<Place>,
    /// What the flag said then.
    pub says: String,
    /// Why it is left so, in a person's words.
    pub why: String,
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// The readings that it rests on: those that stood at the flag's places, or all where it names none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<Uuid>,
    /// True when it takes an earlier answer to the same question back.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub taken_back: bool,
}

impl Opening {
    /// The readings that an answer about these places rests on, in the order of their ids: those that stand there, or
    /// every one that stands where no place is named.
    pub fn rests_on(&self, places: &[Place]) -> Vec<Uuid> {
        let at = |place: Place| places.is_empty() || places.contains(&place);
        let mut ids: Vec<Uuid> = self
            .readings
            .iter()
            .filter(|reading| at(reading.place) && self.stands(reading))
            .map(|reading| reading.id)
            .collect();
        ids.sort_unstable();
        ids
    }
}

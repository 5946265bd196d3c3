//! The workroom's shelf: pieces of cloth that lie there, whose they are, and what their cloth is there like.

use crate::length::{Length, Typed};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A piece of cloth on the shelf.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShelfPiece {
    /// Its cloth, by name.
    pub cloth: String,
    /// How long it is, from cut end to cut end.
    pub length: Typed,
    /// Its usable width; its cloth's when left out. A piece that is narrower has no selvage to sew in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usable: Option<Typed>,
    /// Its lot: two lots of one cloth may differ in shade.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub lot: String,
    /// From its cut end to the first line of the pattern; not known when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_line: Option<Typed>,
    /// Flaws, from the same cut end: nothing is cut over them, at any width.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub flaws: Vec<Flaw>,
    /// The house whose client owns it; the workroom's own when left out. It is never used for another house.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owner: Option<Uuid>,
    /// The house that it is an offcut of. Its plan never cuts from it again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offcut_of: Option<Uuid>,
    /// The house that it was cut for, or is set aside for: no other may use it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_for: Option<Uuid>,
    /// True once it was cut: it lies on the shelf no more.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub gone: bool,
    /// A remark.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// A flaw of a piece, from one place to another along it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flaw {
    /// Where it begins.
    pub from: Typed,
    /// Where it ends.
    pub to: Typed,
}

impl ShelfPiece {
    /// True when a house may be planned on it: it is there or was cut for that house, is nobody else's, and is no offcut
    /// of the house itself.
    pub fn serves(&self, house: Uuid) -> bool {
        let free = |of: Option<Uuid>| of.is_none_or(|of| of == house);
        free(self.owner)
            && free(self.cut_for)
            && self.offcut_of != Some(house)
            && (!self.gone || self.cut_for.is_some())
    }

    /// The stretches without a flaw: from where, and how long.
    pub fn sound(&self) -> Vec<(Length, Length)> {
        let length = self.length.value();
        let mut flaws: Vec<(Length, Length)> = self
            .flaws
            .iter()
            .map(|flaw| (flaw.from.value().min(flaw.to.value()), flaw.from.value().max(flaw.to.value())))
            .collect();
        flaws.sort();
        let mut sound = Vec::new();
        let mut from = Length::ZERO;
        for (start, end) in flaws.into_iter().chain([(length, length)]) {
            let start = start.min(length);
            if start > from {
                sound.push((from, start - from));
            }
            from = from.max(end);
        }
        sound
    }
}

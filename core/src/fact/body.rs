//! What a fact can say.

use crate::house::{Ask, Decision, Note, Photo, Place, Reading, Skip, Withdrawn};
use crate::length::{LengthUnit, with_default_unit};
use serde::de::value::MapDeserializer;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What a fact says. `kind` in the log is the name in snake case.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind", content = "body")]
pub enum Body {
    /// A house was begun.
    HouseOpened {
        /// What it is called.
        name: String,
        /// The unit it works in.
        unit: LengthUnit,
    },
    /// A room was added, after those already there.
    RoomAdded {
        /// Its id.
        room: Uuid,
        /// What it is called.
        name: String,
    },
    /// A room was taken out of the house, with its openings. They stay in the log.
    RoomRemoved {
        /// The room.
        room: Uuid,
    },
    /// An opening was added to a room, after those already there.
    OpeningAdded {
        /// Its id.
        opening: Uuid,
        /// The room it is in.
        room: Uuid,
        /// What it is called.
        name: String,
    },
    /// An opening was taken out of the house. It stays in the log.
    OpeningRemoved {
        /// The opening.
        opening: Uuid,
    },
    /// A field was given a value: `name`, `choices.mount`, `wall.studs`, `settings.anchor_factor`, `cloths.NAME`,
    /// `instruments.NAME`.
    Set {
        /// The house, room or opening it belongs to.
        on: Uuid,
        /// The field.
        field: String,
        /// Its value in the form of the job file; null for the default.
        value: serde_json::Value,
        /// The facts that gave it its values until now, as far as the writer knew. One that is named by nobody
        /// still stands: two such disagree.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        replaces: Vec<Uuid>,
    },
    /// A tape was laid and read.
    ReadingTaken {
        /// The opening.
        opening: Uuid,
        /// The reading, not withdrawn.
        reading: Reading,
    },
    /// A reading was taken back.
    ReadingWithdrawn {
        /// The opening.
        opening: Uuid,
        /// The reading's id.
        reading: Uuid,
        /// When and why.
        withdrawn: Withdrawn,
    },
    /// A place could not be read.
    PlaceSkipped {
        /// The opening.
        opening: Uuid,
        /// The place and why.
        skip: Skip,
    },
    /// A remark was added.
    NoteAdded {
        /// The house, room or opening it is about.
        on: Uuid,
        /// The remark.
        note: Note,
    },
    /// A photo was added.
    PhotoAdded {
        /// The house or opening it shows.
        on: Uuid,
        /// The photo.
        photo: Photo,
    },
    /// The workroom asks to measure again.
    AskMade {
        /// The opening.
        opening: Uuid,
        /// The ask, not closed.
        ask: Ask,
    },
    /// An ask was closed by hand.
    AskClosed {
        /// The opening.
        opening: Uuid,
        /// The ask's id.
        ask: Uuid,
        /// When.
        at: chrono::DateTime<chrono::Utc>,
    },
    /// A question of an opening was answered, or an answer taken back.
    Decided {
        /// The opening.
        opening: Uuid,
        /// The answer, and what it rests on.
        decision: Decision,
    },
    /// The house is erased: whoever holds this keeps none of its bodies and photos and never takes one in again.
    /// Nothing undoes it.
    HouseErased {},
    /// An earlier fact is undone. Undoing this one brings it back.
    Undone {
        /// The fact.
        fact: Uuid,
        /// The places of the opening it concerned, for the screen that shows the undo.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        place: Option<Place>,
    },
}

/// Why a body cannot be used here. The fact is kept and passed on all the same.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum BodyProblem {
    /// A kind that this version does not know.
    #[error("facts of the kind \"{0}\" are not known to this version; they are kept")]
    UnknownKind(String),
    /// A body that does not fit its kind.
    #[error("the body of a fact of the kind \"{kind}\" does not fit: {what}")]
    Form {
        /// The kind.
        kind: String,
        /// What does not fit.
        what: String,
    },
}

impl Body {
    /// The kind's name in the log.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::HouseOpened { .. } => "house_opened",
            Self::RoomAdded { .. } => "room_added",
            Self::RoomRemoved { .. } => "room_removed",
            Self::OpeningAdded { .. } => "opening_added",
            Self::OpeningRemoved { .. } => "opening_removed",
            Self::Set { .. } => "set",
            Self::ReadingTaken { .. } => "reading_taken",
            Self::ReadingWithdrawn { .. } => "reading_withdrawn",
            Self::PlaceSkipped { .. } => "place_skipped",
            Self::NoteAdded { .. } => "note_added",
            Self::PhotoAdded { .. } => "photo_added",
            Self::AskMade { .. } => "ask_made",
            Self::AskClosed { .. } => "ask_closed",
            Self::Decided { .. } => "decided",
            Self::HouseErased {} => "house_erased",
            Self::Undone { .. } => "undone",
        }
    }

    /// The kinds this version knows.
    pub const KINDS: [&'static str; 16] = [
        "house_opened",
        "room_added",
        "room_removed",
        "opening_added",
        "opening_removed",
        "set",
        "reading_taken",
        "reading_withdrawn",
        "place_skipped",
        "note_added",
        "photo_added",
        "ask_made",
        "ask_closed",
        "decided",
        "house_erased",
        "undone",
    ];

    pub(super) fn write(&self, unit: LengthUnit) -> serde_json::Value {
        let mut whole = with_default_unit(unit, || serde_json::to_value(self))
            .expect("a body has no map with keys that are not text, so it always becomes JSON");
        whole.get_mut("body").map(serde_json::Value::take).unwrap_or_default()
    }

    pub(super) fn read(kind: &str, body: &serde_json::Value, unit: LengthUnit) -> Result<Self, BodyProblem> {
        if !Self::KINDS.contains(&kind) {
            return Err(BodyProblem::UnknownKind(kind.to_owned()));
        }
        // The kind first, and both borrowed: a fold reads thousands of these.
        let named = serde_json::Value::String(kind.to_owned());
        let whole = MapDeserializer::<_, serde_json::Error>::new([("kind", &named), ("body", body)].into_iter());
        with_default_unit(unit, || Self::deserialize(whole))
            .map_err(|error| BodyProblem::Form { kind: kind.to_owned(), what: error.to_string() })
    }
}

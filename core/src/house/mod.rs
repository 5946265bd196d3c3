//! The records of a house: a [`Job`] has rooms, a room has openings, an opening has readings and choices.
//!
//! Everything here is plain data. Readings are never changed or removed: a later one names the one it replaces,
//! or a withdrawal is put beside it. [`mod@file`] reads and writes the job file.

mod after;
mod choice;
mod deal;
mod decision;
pub mod file;
mod hardware;
mod place;
mod reading;
mod shares;
mod shelf;
mod workroom;

pub use after::{Again, Defect, DefectCause, Invoice, Visit, VisitKind};
pub use choice::{
    Attach, Backing, Below, BoardSize, Choices, Cloth, ControlSide, CornerAngle, Direction as ClothDirection, Foot,
    HandleSide, HeadShape, Lift, Lining, Match, Mount, ShadeCount, Style, Wall,
};
pub use deal::{
    Agreed, Alternative, CutFrom, CutPart, Done, Payment, Progress, Quote, QuoteLine, QuoteSum, Step, Tax, Taxed, Trade,
};
pub use decision::Decision;
pub use hardware::{Anchor, AnchorScrew, Bracket, Hardware, LiftKind, Screw};
pub use place::Place;
pub use reading::{Instrument, InstrumentKind, Reading, Skip, TapeClass, Withdrawn};
pub use shares::{Part, Shares, gather, spread};
pub use shelf::{Flaw, ShelfPiece};
pub use workroom::Workroom;

use crate::length::LengthUnit;
use crate::money::Currency;
use crate::settings::{Changes, SettingProblem, Settings};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// One client's house: what was read there and what was chosen.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// The version of the job file; first in it.
    #[serde(rename = "hangtrue_job")]
    pub version: file::FileVersion,
    /// Never used again for another house.
    pub id: Uuid,
    /// What the maker calls it.
    pub name: String,
    /// The unit bare numbers are in, and that sheets are written in.
    pub unit: LengthUnit,
    /// Where it stands, for the cautions that are shown.
    #[serde(default, skip_serializing_if = "Region::is_unsaid")]
    pub region: Region,
    /// The year it was built, if known: old paint and coatings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub built: Option<i32>,
    /// Where it stands: street, place, floor, how to get in. Never in the name of a file.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub address: String,
    /// How its client is reached.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reach: String,
    /// True when it was put away: it is found by name, and not in the list.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub away: bool,
    /// The tapes and lasers that were used, by the name readings give them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub instruments: Vec<Instrument>,
    /// The cloths that openings may choose, by name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cloths: Vec<Cloth>,
    /// The numbers this house changes.
    #[serde(default, skip_serializing_if = "Changes::is_empty")]
    pub settings: Changes,
    /// Screws, brackets, anchors and lifts of the workroom's own.
    #[serde(default, skip_serializing_if = "Hardware::is_empty")]
    pub hardware: Hardware,
    /// How it is traded, where that is otherwise than its workroom does.
    #[serde(default, skip_serializing_if = "Trade::is_empty")]
    pub trade: Trade,
    /// The quotes that were given for it, by number.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub quotes: Vec<Quote>,
    /// What was paid for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub payments: Vec<Payment>,
    /// The invoices that were written for it, by number.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub invoices: Vec<Invoice>,
    /// Days at the house that were agreed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub visits: Vec<Visit>,
    /// What its workroom keeps for every house; this house's own stands before it.
    #[serde(default, skip_serializing_if = "Workroom::is_empty")]
    pub workroom: Workroom,
    /// Rooms, in the order of the walk.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rooms: Vec<Room>,
    /// Remarks on the house.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<Note>,
    /// Photos of the house.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<Photo>,
    /// What lies on the shelf: of the workroom's own record alone, which is in no job file by itself.
    #[serde(skip)]
    pub shelf: BTreeMap<Uuid, ShelfPiece>,
    /// Fields of the house, its rooms and openings that two devices set apart. Only a house out of a book has them: a
    /// job file holds what is shown.
    #[serde(skip)]
    pub disagreements: Vec<Disagreement>,
}

/// Two or more values that stand for one field because their writers did not know of each other.
#[derive(Clone, PartialEq, Debug)]
pub struct Disagreement {
    /// The house, room or opening.
    pub on: Uuid,
    /// The field: `choices.mount`.
    pub field: String,
    /// The facts and their values, the one that is shown last: the latest by stamp, then device, then id.
    pub values: Vec<(Uuid, serde_json::Value)>,
}

/// Where a house stands, as far as the cautions differ.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Region {
    /// Nobody said; all places' cautions are shown.
    #[default]
    Unsaid,
    /// Canada.
    Canada,
    /// The United States.
    UnitedStates,
    /// Europe or the United Kingdom.
    EuropeUk,
    /// Australia.
    Australia,
}

impl Region {
    #[allow(clippy::trivially_copy_pass_by_ref, reason = "serde's skip_serializing_if hands over a reference")]
    const fn is_unsaid(&self) -> bool {
        matches!(self, Self::Unsaid)
    }
}

/// A room.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Room {
    /// Never used again.
    pub id: Uuid,
    /// What it is called.
    pub name: String,
    /// Its openings, in the order of the walk.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub openings: Vec<Opening>,
    /// Remarks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<Note>,
}

/// One opening: a window or door that gets one shade.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Never used again.
    pub id: Uuid,
    /// What it is called in its room.
    pub name: String,
    /// Every reading that was taken, also those taken again, in order of taking.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<Reading>,
    /// Places that could not be read, and why.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub skipped: Vec<Skip>,
    /// What is behind and around the opening.
    #[serde(default, skip_serializing_if = "Wall::is_unsaid")]
    pub wall: Wall,
    /// What was chosen for its shade.
    #[serde(default, skip_serializing_if = "Choices::is_empty")]
    pub choices: Choices,
    /// Other ways to make its shade that are priced beside the chosen one, by name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub alternatives: Vec<Alternative>,
    /// How far its shade has come.
    #[serde(default, skip_serializing_if = "Progress::is_empty")]
    pub progress: Progress,
    /// The shade that it is made as, where one hung there already.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub again: Option<Again>,
    /// Which of several shades in one opening of the wall it is, where there are several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shares: Option<Shares>,
    /// What was wrong with its shade, once it hung.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub defects: Vec<Defect>,
    /// Asks from the workroom to measure again.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub asks: Vec<Ask>,
    /// Questions that were answered, and what each answer rests on; the last of a question counts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub decisions: Vec<Decision>,
    /// Remarks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<Note>,
    /// Photos.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<Photo>,
}

/// An ask from the workroom: measure these places again.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ask {
    /// Never used again.
    pub id: Uuid,
    /// The places to read again; empty means all of the opening.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<Place>,
    /// Why, in the workroom's words.
    pub why: String,
    /// When it was asked.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: String,
    /// When it was closed by hand, if it was; readings of every place that name it also answer it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closed: Option<DateTime<Utc>>,
}

/// A remark, in somebody's words.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// Never used again.
    pub id: Uuid,
    /// The words.
    pub text: String,
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: String,
}

/// A photo, named by the SHA-256 of its bytes; the bytes are kept apart.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photo {
    /// SHA-256 of the bytes, 64 hexadecimal digits.
    pub sha256: String,
    /// What it shows.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub caption: String,
    /// When it was taken.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: String,
}

impl Job {
    /// A house with nothing in it yet.
    pub fn new(id: Uuid, name: String, unit: LengthUnit) -> Self {
        Self {
            version: file::FileVersion,
            id,
            name,
            unit,
            region: Region::default(),
            built: None,
            address: String::new(),
            reach: String::new(),
            away: false,
            instruments: Vec::new(),
            cloths: Vec::new(),
            settings: Changes::default(),
            hardware: Hardware::default(),
            trade: Trade::default(),
            quotes: Vec::new(),
            payments: Vec::new(),
            invoices: Vec::new(),
            visits: Vec::new(),
            workroom: Workroom::default(),
            rooms: Vec::new(),
            notes: Vec::new(),
            photos: Vec::new(),
            shelf: BTreeMap::new(),
            disagreements: Vec::new(),
        }
    }

    /// The house's numbers: the defaults of its unit with its workroom's changes, and its own over them.
    ///
    /// # Errors
    /// [`SettingProblem`] when a change does not fit the table.
    pub fn settings(&self) -> Result<Settings, SettingProblem> {
        if self.workroom.settings.is_empty() {
            return Settings::with(self.unit, &self.settings);
        }
        Settings::with(self.unit, &self.settings.over(&self.workroom.settings, self.unit))
    }

    /// How it is traded: its own way, and its workroom's where it says nothing.
    pub fn traded(&self) -> Trade {
        self.trade.over(&self.workroom.trade)
    }

    /// The currency that it is traded in.
    pub fn currency(&self) -> Currency {
        self.trade.currency.or(self.workroom.trade.currency).unwrap_or(Currency::USUAL)
    }

    /// The cloths that can be chosen: its own, and its workroom's of other names.
    pub fn all_cloths(&self) -> impl Iterator<Item = &Cloth> {
        let of_workroom =
            self.workroom.cloths.iter().filter(|cloth| self.cloths.iter().all(|own| own.name != cloth.name));
        self.cloths.iter().chain(of_workroom)
    }

    /// Every opening with its room, in the order of the walk.
    pub fn openings(&self) -> impl Iterator<Item = (&Room, &Opening)> {
        self.rooms.iter().flat_map(|room| room.openings.iter().map(move |opening| (room, opening)))
    }

    /// What it is found by besides its name: address, client, rooms and openings.
    pub fn found_by(&self) -> String {
        let mut words = vec![self.address.as_str(), self.reach.as_str()];
        for room in &self.rooms {
            words.push(&room.name);
            words.extend(room.openings.iter().map(|opening| opening.name.as_str()));
        }
        words.retain(|word| !word.is_empty());
        words.join(" ")
    }

    /// The cloth of this name.
    pub fn cloth(&self, name: &str) -> Option<&Cloth> {
        self.all_cloths().find(|cloth| cloth.name == name)
    }

    /// The tape or laser of this name.
    pub fn instrument(&self, name: &str) -> Option<&Instrument> {
        self.instruments.iter().find(|instrument| instrument.name == name)
    }
}

impl Opening {
    /// An opening with nothing read yet.
    pub fn new(id: Uuid, name: String) -> Self {
        Self {
            id,
            name,
            readings: Vec::new(),
            skipped: Vec::new(),
            wall: Wall::default(),
            choices: Choices::default(),
            alternatives: Vec::new(),
            progress: Progress::default(),
            again: None,
            shares: None,
            defects: Vec::new(),
            asks: Vec::new(),
            decisions: Vec::new(),
            notes: Vec::new(),
            photos: Vec::new(),
        }
    }

    /// The readings that stand at `place` (not withdrawn, not replaced), in order of taking.
    pub fn standing(&self, place: Place) -> impl Iterator<Item = &Reading> {
        self.readings.iter().filter(move |reading| reading.place == place && self.stands(reading))
    }

    /// True unless the reading was withdrawn or a later one names it as amended.
    pub fn stands(&self, reading: &Reading) -> bool {
        reading.withdrawn.is_none()
            && !self.readings.iter().any(|other| other.amends == Some(reading.id) && other.withdrawn.is_none())
    }

    /// True when this reading was taken for the ask, or corrects the typing of one that was. Clocks are not asked: those
    /// of two devices may be hours apart.
    pub fn answers(&self, reading: &Reading, ask: &Ask) -> bool {
        let mut at = Some(reading);
        // A chain of corrections is no longer than there are readings, so that one that bites its tail ends too.
        for _ in 0..=self.readings.len() {
            match at {
                Some(reading) if reading.answers == Some(ask.id) => return true,
                Some(reading) => at = self.readings.iter().find(|other| Some(other.id) == reading.amends),
                None => break,
            }
        }
        false
    }

    /// True while an ask of the workroom stands open.
    pub fn is_asked(&self) -> bool {
        self.asks.iter().any(|ask| !self.is_answered(ask))
    }

    /// True when the ask was closed by hand, or every place it names was read for it.
    pub fn is_answered(&self, ask: &Ask) -> bool {
        let read_for = |place: Place| self.standing(place).any(|reading| self.answers(reading, ask));
        ask.closed.is_some()
            || if ask.places.is_empty() {
                let read: Vec<Place> = self.readings.iter().map(|reading| reading.place).collect();
                !read.is_empty() && read.into_iter().all(read_for)
            } else {
                ask.places.iter().copied().all(read_for)
            }
    }
}

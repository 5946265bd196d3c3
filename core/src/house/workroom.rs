//! What a workroom keeps once for every house: its numbers, its hardware, its cloths. A house lays its own over them.

use super::{Cloth, Hardware, Job, ShelfPiece, Trade};
use crate::settings::Changes;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A workroom's own. In the log its facts stand under [`Workroom::ID`] as a house's do, so that they are exchanged, merged
/// and taken back alike; a program that does not know it sees no house there, because none was opened.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Workroom {
    /// The numbers that it changes.
    #[serde(skip_serializing_if = "Changes::is_empty")]
    pub settings: Changes,
    /// Screws, brackets, anchors and lifts of its own.
    #[serde(skip_serializing_if = "Hardware::is_empty")]
    pub hardware: Hardware,
    /// Its cloths, by name.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cloths: Vec<Cloth>,
    /// How it trades: name, currency, taxes, what it pays.
    #[serde(skip_serializing_if = "Trade::is_empty")]
    pub trade: Trade,
    /// Pieces of cloth on its shelf.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub shelf: BTreeMap<Uuid, ShelfPiece>,
}

impl Workroom {
    /// What the facts of a workroom are about, as the exchange's document has it: one to a book, so always the same.
    pub const ID: Uuid = Uuid::nil();

    /// As it is called where nobody gave it a name.
    pub const NAME: &'static str = "Workroom";

    /// A house's file as a book with the workroom `here` takes it in: what the file's own workroom kept otherwise becomes
    /// the house's own, so that its sizes stay as they were where it was written.
    #[must_use]
    pub fn settle(job: &Job, here: &Self) -> Job {
        let mut settled = job.clone();
        let of_file = std::mem::take(&mut settled.workroom);
        settled.settings = settled.settings.over(&of_file.settings.unlike(&here.settings), job.unit);
        for cloth in of_file.cloths {
            if !here.cloths.contains(&cloth) && settled.cloth(&cloth.name).is_none() {
                settled.cloths.push(cloth);
            }
        }
        if of_file.trade != here.trade {
            settled.trade = settled.trade.over(&of_file.trade);
        }
        if of_file.hardware != here.hardware {
            settled.hardware.lay_under(of_file.hardware);
        }
        settled
    }

    /// True when nothing is kept.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

//! The conversation at the house. Read this first if you draw a screen or drive one.
//!
//! [`Walk`] is where a person is, and what is half typed there: small, and kept by the store at every touch, so that
//! a device that dies at any key comes back to the same screen. [`Walk::step`] takes one [`Event`] and gives the next
//! walk and the facts to write; [`Walk::screen`] draws what a walk shows over a [`World`]. There is no clock, no
//! chance and no disk in here: each step is handed the [`Moment`]s it needs.
//!
//! The order of things for who calls: step, then write the facts and the walk in one transaction, then draw. So a
//! tick on a screen says that the number is on the disk.
//!
//! What comes next is not kept but worked out from the facts, so that an ask that arrives from the workroom stands
//! first at once: [`Aim`].

mod add;
mod choose;
mod decide;
mod drawing;
mod entry;
mod houses;
mod moving;
pub mod note;
mod order;
mod progress;
mod question;
mod reading;
pub mod screen;
mod screens;
mod settings;
pub mod spoken;
mod step;
#[cfg(test)]
mod tests;

pub use choose::Refusal;
pub use drawing::place_drawing;
pub use entry::{Entry, PadKey};
pub use houses::is_listed;
pub use order::{asked, is_read, is_skipped, needed};
pub use screen::Screen;

use crate::fact::{Body, House, Moment};
use crate::house::{Job, Opening, Place, Workroom};
use crate::length::LengthUnit;
use crate::mount::Form;
use crate::settings::Settings;
use crate::truth::Truth;
use crate::work;
use screen::Notice;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Two accepts closer than this are one, in milliseconds: a thumb that bounces. Common practice, no source.
pub const BOUNCE_MS: u64 = 400;

/// A place in doubt is not led to again by itself once this many readings stand there: the doubt stays a flag.
const MOST_TIMES: usize = 3;

/// What a hand did. Every button carries the event that it stands for.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "do")]
pub enum Event {
    /// To the list of houses.
    ShowHouses,
    /// Into a house.
    ShowHouse {
        /// The house.
        house: Uuid,
    },
    /// To what an opening's readings say.
    ShowOpening {
        /// The opening.
        opening: Uuid,
    },
    /// To what is missing before leaving.
    ShowLeaving,
    /// To the settings.
    ShowSettings,
    /// To the sync state.
    ShowSync,
    /// Reads on at an opening, at whatever comes next there.
    Measure {
        /// The opening.
        opening: Uuid,
    },
    /// Reads at one place: the first time, or again.
    GoTo {
        /// The opening.
        opening: Uuid,
        /// The place.
        place: Place,
    },
    /// One screen back.
    Back,
    /// Words were typed into a [`screen::Naming`]; they are kept half typed.
    TypeWords {
        /// The naming's slot.
        slot: String,
        /// All that is typed there.
        text: String,
    },
    /// The words of a [`screen::Naming`] are given.
    GiveWords {
        /// The naming's slot.
        slot: String,
        /// The words.
        text: String,
    },
    /// Takes a room or an opening out of the house.
    Remove {
        /// The room or opening.
        on: Uuid,
    },
    /// Brings back a room or an opening that was taken out.
    BringBack {
        /// The room or opening.
        on: Uuid,
    },
    /// A key of the pad.
    Press {
        /// The key.
        key: PadKey,
    },
    /// Keeps the number and goes on.
    Accept,
    /// Goes on without reading.
    Later,
    /// Leaves the place out.
    Skip {
        /// Why.
        why: String,
    },
    /// Corrects the typing of a reading: the next number accepted takes its place.
    Amend {
        /// The reading.
        reading: Uuid,
    },
    /// Takes a reading back.
    Withdraw {
        /// The reading.
        reading: Uuid,
        /// Why; may be empty.
        why: String,
    },
    /// Takes the last thing back.
    Undo,
    /// Does again what was last taken back.
    Redo,
    /// Gives a field a value.
    Choose {
        /// The house, room or opening.
        on: Uuid,
        /// The field: `choices.mount`.
        field: String,
        /// The value as text; nothing for the default.
        value: Option<String>,
    },
    /// Chooses a way of mounting: mount, and how an outside board is held.
    ChooseWay {
        /// The opening.
        opening: Uuid,
        /// The way.
        form: Form,
    },
    /// Gives several fields their values in one touch: what would work, one length for a set.
    SetAll {
        /// The fields and their values.
        changes: Vec<Change>,
    },
    /// Answers a question of an opening, or of the set that it hangs in: it is left as it is, and this is why.
    Decide {
        /// The opening; any of a set.
        opening: Uuid,
        /// The code of the flag that asks.
        flag: String,
        /// The places that it names.
        places: Vec<Place>,
        /// Why.
        why: String,
    },
    /// Takes an answer back: the question is open again.
    AskAgain {
        /// The opening; any of a set.
        opening: Uuid,
        /// The code of the flag that asks.
        flag: String,
        /// The places that it names.
        places: Vec<Place>,
    },
    /// Begins a shade that is made as one that hangs: a new opening with its choices and readings, two of which are asked again.
    Again {
        /// The opening whose shade hangs.
        opening: Uuid,
    },
    /// Goes to the opening that a label's code tells of.
    OpenLabel {
        /// What the code says.
        code: String,
    },
    /// Marks all that the house's plan cuts now as cut, at once.
    MarkAll {},
    /// Marks a step of a shade as done, or takes the mark back.
    Mark {
        /// The opening.
        opening: Uuid,
        /// The step.
        step: crate::house::Step,
    },
    /// Reads what an ask of the workroom names.
    Answer {
        /// The ask.
        ask: Uuid,
    },
    /// Closes an ask without reading.
    CloseAsk {
        /// The ask.
        ask: Uuid,
    },
    /// The pad's unit from now on. Digits that are typed stay as they were typed.
    UseUnit {
        /// The unit.
        unit: LengthUnit,
    },
    /// The hand that holds the device.
    UseHand {
        /// The hand.
        hand: Hand,
    },
    /// The colours.
    UseTheme {
        /// The colours.
        theme: Theme,
    },
}

/// A field and the value that it is to have.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Change {
    /// The house, room or opening.
    pub on: Uuid,
    /// The field: `choices.board`.
    pub field: String,
    /// The value as text; nothing for the default.
    pub value: Option<String>,
}

/// The hand that holds the device.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hand {
    /// The right one.
    #[default]
    Right,
    /// The left one.
    Left,
}

/// The colours of the screens.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Theme {
    /// For a room.
    #[default]
    Indoors,
    /// For bright light behind the glass: the strongest contrast.
    Outdoors,
}

/// Which place is to be read.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Aim {
    /// Whatever comes next after this one, by the facts as they are now: what the workroom asks for, then what
    /// settles a doubt, then what stands open.
    Next(Option<Place>),
    /// This place.
    At(Place),
}

/// Where a person is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Spot {
    #[default]
    Houses,
    House,
    Measure(Uuid, Aim),
    Opening(Uuid),
    Leaving,
    Settings,
    Sync,
}

/// Something that was written and can be taken back.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(crate) struct Done {
    house: Uuid,
    facts: Vec<Uuid>,
    says: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    at: Option<(Uuid, Place)>,
    /// The facts that took it back, when it was.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    undone: Vec<Uuid>,
}

/// Where a person is in the conversation, and what is half typed. Kept as JSON ([`serde`]) by the store.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Walk {
    house: Option<Uuid>,
    spot: Spot,
    trail: Vec<Spot>,
    /// Half-typed numbers by opening and place.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    entries: BTreeMap<String, Entry>,
    /// Half-typed words by slot.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    words: BTreeMap<String, String>,
    /// The reading whose typing is being corrected.
    #[serde(skip_serializing_if = "Option::is_none")]
    amending: Option<Uuid>,
    /// Places passed over with "later" since the opening was begun or begun again.
    #[serde(skip_serializing_if = "BTreeSet::is_empty")]
    passed: BTreeSet<Place>,
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted_ms: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    notice: Option<Notice>,
    done: Vec<Done>,
    unit: Option<LengthUnit>,
    hand: Hand,
    theme: Theme,
    by: String,
}

/// What there is to draw from: the houses in short, the open house, and the sync state.
#[derive(Clone, Copy, Debug)]
pub struct World<'a> {
    /// Houses, the latest first.
    pub houses: &'a [HouseLine],
    /// The house that the walk is in ([`Walk::house`]), folded.
    pub house: Option<&'a House>,
    /// What is here, and what the workroom has.
    pub sync: SyncLine,
}

/// A house in short.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct HouseLine {
    /// The house.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// How many openings it has.
    pub openings: u32,
    /// How many readings were taken.
    pub readings: u32,
    /// How many of its openings the workroom asks to be measured again.
    pub asked: u32,
    /// True when it was put away.
    pub away: bool,
    /// What else it is found by: address, client, rooms and openings.
    pub words: String,
    /// How many of its facts are on this device alone ([`crate::sync::alone`]).
    pub alone: u64,
}

/// The kind of place that facts were last exchanged with.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum SyncPlace {
    /// The workroom's hub.
    #[default]
    Workroom,
    /// A folder: the workroom has what lies there once its own book has taken it in.
    Folder,
}

impl SyncPlace {
    /// The kind of the place of this name ([`crate::sync::Transport::place`]).
    pub fn of(place: &str) -> Self {
        if place.starts_with("hub-") { Self::Workroom } else { Self::Folder }
    }

    /// In words: "the workroom".
    pub const fn words(self) -> &'static str {
        match self {
            Self::Workroom => "the workroom",
            Self::Folder => "the folder of exchange",
        }
    }
}

/// What was written here, and what the place of exchange has of it.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct SyncLine {
    /// Facts that were written here.
    pub here: u64,
    /// Of them, confirmed by the place that was last exchanged with.
    pub confirmed: u64,
    /// When it last confirmed, in milliseconds since 1970.
    pub confirmed_ms: Option<u64>,
    /// That place.
    pub place: SyncPlace,
    /// Facts that wait for a newer program or for what they are about.
    pub waiting: u64,
}

/// A fact to be written.
#[derive(Clone, Debug)]
pub struct Write {
    /// The house it belongs to.
    pub house: Uuid,
    /// The unit that bare lengths in it are in.
    pub unit: LengthUnit,
    /// When; its id is this moment's.
    pub moment: Moment,
    /// What it says.
    pub body: Body,
}

/// What a step leads to: the next walk, and what to write with it.
#[derive(Clone, Debug)]
pub struct Step {
    /// The walk as it is then.
    pub walk: Walk,
    /// The facts to write in the same transaction, in order.
    pub writes: Vec<Write>,
}

impl Walk {
    /// The house that a person is in.
    pub const fn house(&self) -> Option<Uuid> {
        self.house
    }

    /// True where the list of houses is needed: [`World::houses`] may be empty elsewhere.
    pub const fn is_at_houses(&self) -> bool {
        self.house.is_none() || matches!(self.spot, Spot::Houses)
    }

    /// True before leaving a house: what is on this device alone is said there.
    pub const fn is_at_leaving(&self) -> bool {
        matches!(self.spot, Spot::Leaving)
    }

    /// True where the sync state is shown: [`World::sync`] may be empty elsewhere.
    pub const fn is_at_sync(&self) -> bool {
        matches!(self.spot, Spot::Sync)
    }

    /// Who holds the device, for the facts that are written.
    pub fn by(&self) -> &str {
        &self.by
    }

    /// The opening and place whose number is being typed, if a place is being read.
    pub fn reading_at(&self, world: &World<'_>) -> Option<(Uuid, Place)> {
        match self.stand(world) {
            Stand::Reading(_, opening, place, _) => Some((opening.id, place)),
            _ => None,
        }
    }

    /// The unit of the pad in this house.
    fn pad_unit(&self, job: &Job) -> LengthUnit {
        self.unit.unwrap_or(match job.unit {
            LengthUnit::Inch => LengthUnit::Inch,
            LengthUnit::Foot => LengthUnit::Foot,
            _ => LengthUnit::Millimetre,
        })
    }

    fn entry(&self, opening: Uuid, place: Place) -> Entry {
        // Few are half typed and every place asks: looked through, no key is made for each.
        let is_it = |key: &str| {
            let id = key.strip_suffix(place.code()).and_then(|rest| rest.strip_suffix('/'));
            id.is_some_and(|id| Uuid::try_parse(id) == Ok(opening))
        };
        self.entries.iter().find(|(key, _)| is_it(key)).map(|(_, entry)| entry.clone()).unwrap_or_default()
    }

    /// Where the walk stands over the facts as they are: what it names may be gone since.
    fn stand<'a>(&self, world: &World<'a>) -> Stand<'a> {
        let house = world.house.filter(|house| Some(house.job.id) == self.house);
        let Some(house) = house else {
            return match self.spot {
                Spot::Sync => Stand::Sync,
                Spot::Settings => Stand::Settings(None),
                _ => Stand::Houses,
            };
        };
        if house.job.id == Workroom::ID && !matches!(self.spot, Spot::Houses | Spot::Sync) {
            return Stand::Settings(Some(house));
        }
        let find = |id: Uuid| house.job.openings().find(|(_, opening)| opening.id == id);
        match self.spot {
            Spot::Houses => Stand::Houses,
            Spot::House => Stand::House(house),
            Spot::Leaving => Stand::Leaving(house),
            Spot::Settings => Stand::Settings(Some(house)),
            Spot::Sync => Stand::Sync,
            Spot::Opening(id) => match find(id) {
                Some((_, opening)) => Stand::Opening(house, opening),
                None => Stand::House(house),
            },
            Spot::Measure(id, aim) => {
                let Some((_, opening)) = find(id) else { return Stand::House(house) };
                let next = match aim {
                    Aim::At(place) => Some((place, Why::Chosen)),
                    Aim::Next(after) => self.next(house, opening, after),
                };
                match next {
                    Some((place, why)) => Stand::Reading(house, opening, place, why),
                    None => Stand::Opening(house, opening),
                }
            }
        }
    }

    /// What comes next at an opening: an ask, then what stands open, then a doubt. A doubt is said at once, on whatever
    /// screen is shown, and never takes the place of the one that is asked for: who types a note from paper goes on.
    fn next(&self, house: &House, opening: &Opening, after: Option<Place>) -> Option<(Place, Why)> {
        let free = |place: &Place| !self.passed.contains(place);
        if let Some((_, places)) = asked(opening)
            && let Some(place) = places.into_iter().find(free)
        {
            return Some((place, Why::Asked));
        }
        let needed = order::needed(&house.job, opening, &numbers(&house.job));
        let mut at = after;
        for _ in 0..needed.len() {
            let Some(place) = order::next_open(opening, &needed, at) else { break };
            if free(&place) {
                return Some((place, Why::Next));
            }
            at = Some(place);
        }
        let (place, because) = doubt(truth(&house.job, opening), opening).filter(|(place, _)| free(place))?;
        Some((place, Why::Doubt(because)))
    }
}

/// Why a place is to be read.
#[derive(Clone, PartialEq, Eq, Debug)]
enum Why {
    Asked,
    Doubt(String),
    Next,
    Chosen,
}

/// Where a walk stands, with what it stands on.
#[derive(Clone, Debug)]
enum Stand<'a> {
    Houses,
    House(&'a House),
    Reading(&'a House, &'a Opening, Place, Why),
    Opening(&'a House, &'a Opening),
    Leaving(&'a House),
    Settings(Option<&'a House>),
    Sync,
}

fn entry_key(opening: Uuid, place: Place) -> String {
    format!("{opening}/{}", place.code())
}

/// The house's numbers; a change that does not fit any more leaves the defaults, and the settings say so.
fn numbers(job: &Job) -> Settings {
    job.settings().unwrap_or_else(|_| Settings::defaults(job.unit))
}

fn truth(job: &Job, opening: &Opening) -> Truth {
    work::judge(job, opening, &numbers(job))
}

/// The place whose reading would settle a doubt, and why, if one is in doubt and was not yet read three times.
fn doubt(truth: Truth, opening: &Opening) -> Option<(Place, String)> {
    let next = truth.next_reading?;
    (opening.standing(next.place).count() < MOST_TIMES).then_some((next.place, next.because))
}

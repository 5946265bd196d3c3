//! The one door from the phone shells to the core. Read this first if you write a shell.
//!
//! There is one long-lived object, [`HouseBook`]. Draw [`HouseBook::screen`]; when something is touched, hand its
//! event to [`HouseBook::act`] and draw what comes back. What a screen marks as kept is on the disk. Calls are
//! synchronous and take as long as a disk write: call them off the main thread, one at a time.

#![allow(clippy::needless_pass_by_value, reason = "what crosses the boundary arrives by value")]

mod asks;
mod beside;
mod clock;
mod documents;
mod exchange;
mod fault;
mod records;
mod sheets;

pub use asks::OpenAsk;
pub use documents::{FolderFault, PickedFolder};
pub use exchange::{ExchangeReport, FirmCard, HttpHeader, HubAnswer, HubHttp, HubRequest, WorkroomCard};
pub use fault::{BookFault, HttpFault};
pub use sheets::SheetFile;

use clock::Clock;
use hangtrue_core::fact::{Fact, House, fold};
use hangtrue_core::house::{Job, Photo, Workroom, file};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::store::{Book, Draft};
use hangtrue_core::sync::pairing::Joining;
use hangtrue_core::sync::{alone, confirmed};
use hangtrue_core::walk::screen::Screen;
use hangtrue_core::walk::{Event, HouseLine, SyncLine, SyncPlace, Walk, World};
use sha2::{Digest, Sha256};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use uuid::Uuid;

uniffi::setup_scaffolding!("hangtrue");

/// The key under which the store keeps the walk.
const WALK: &str = "walk";

/// The book of houses on this device, and where its holder is in it.
#[derive(Debug, uniffi::Object)]
pub struct HouseBook {
    open: Mutex<Open>,
    /// The pairing that was begun, and the addresses it goes to. Taken before `open` where both are.
    pairing: Mutex<Option<(Joining, Vec<String>)>>,
    /// Held while an exchange runs. Taken before `open`.
    exchanging: Mutex<()>,
}

/// What is behind the lock. Everything but the book is made again from it.
#[derive(Debug)]
struct Open {
    book: Book,
    walk: Walk,
    clock: Clock,
    /// Houses in short; nothing when something was written since.
    lines: Option<Vec<HouseLine>>,
    /// The facts of the open house, and what they fold to.
    facts: Vec<Fact>,
    house: Option<House>,
    /// What the workroom keeps for every house.
    workroom: Workroom,
    sync: SyncLine,
}

/// Facts to hand to another device: one JSON object a line.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct FactBatch {
    /// The facts, one a line.
    pub lines: String,
    /// How many.
    pub count: u32,
    /// Where the next batch begins.
    pub next: i64,
}

/// What became of facts that were handed in.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct MergeReport {
    /// How many were new.
    pub new_facts: u32,
    /// How many were there already.
    pub known: u32,
    /// Ids that are there with another content, or whose time is no time: not taken.
    pub refused: Vec<String>,
}

#[uniffi::export]
impl HouseBook {
    /// Opens the book in `folder` (the app's own), or begins one there.
    ///
    /// # Errors
    /// [`BookFault::NotKept`] when the file cannot be opened; it is left as it is.
    #[uniffi::constructor]
    pub fn open(folder: String) -> Result<Arc<Self>, BookFault> {
        Self::open_with(&folder, Clock::Device)
    }

    /// As [`HouseBook::open`], with a clock and chance made from a seed: for tests that compare languages. Every
    /// opening of one book needs another seed.
    ///
    /// # Errors
    /// As [`HouseBook::open`].
    #[uniffi::constructor]
    pub fn open_seeded(folder: String, seed: u64) -> Result<Arc<Self>, BookFault> {
        Self::open_with(&folder, Clock::seeded(seed))
    }

    /// What there is to say after opening: a book that was damaged and rebuilt, a copy that became a device of its
    /// own, a full disk. Empty when all is well.
    ///
    /// # Errors
    /// None today; the shells treat every call alike.
    pub fn opening_notices(&self) -> Result<Vec<String>, BookFault> {
        Ok(self.lock().book.notices().iter().map(ToString::to_string).collect())
    }

    /// The screen as it stands.
    ///
    /// # Errors
    /// [`BookFault::NotKept`] when the book cannot be read.
    pub fn screen(&self) -> Result<Screen, BookFault> {
        self.lock().screen()
    }

    /// Takes one event and gives the next screen. What it writes is on the disk when this returns.
    ///
    /// # Errors
    /// [`BookFault::Refused`] for an event that names what is not there, or a value that does not fit;
    /// [`BookFault::NotKept`] when the disk did not take it. Nothing has changed then.
    pub fn act(&self, event: Event) -> Result<Screen, BookFault> {
        let mut open = self.lock();
        open.act(&event)?;
        open.screen()
    }

    /// Finishes writing before the app rests. The book stays open.
    ///
    /// # Errors
    /// [`BookFault::NotKept`] when the disk refused; what was kept before is safe.
    pub fn pause(&self) -> Result<(), BookFault> {
        Ok(self.lock().book.pause()?)
    }

    /// The open house as a job file.
    ///
    /// # Errors
    /// [`BookFault::Refused`] when the house is not here.
    pub fn house_file(&self, house: Uuid) -> Result<String, BookFault> {
        Ok(file::write(&self.lock().job(house)?))
    }

    /// Sheets to share or print: the house's summary, or all sheets of one opening. `day` is written on them.
    ///
    /// # Errors
    /// [`BookFault::Refused`] when the house or opening is not here, or a number of the house does not fit.
    pub fn sheet(&self, house: Uuid, opening: Option<Uuid>, day: String) -> Result<SheetFile, BookFault> {
        let job = self.lock().job(house)?;
        sheets::write(&job, opening, &day)
    }

    /// Takes in a job file: what it says beyond what stands is added, nothing is removed. Gives the screen.
    ///
    /// # Errors
    /// [`BookFault::Refused`] with the line and what would be right; [`BookFault::NotKept`] when the disk refused.
    pub fn take_in_file(&self, text: String) -> Result<Screen, BookFault> {
        let job = file::read(&text)?;
        let mut open = self.lock();
        let Open { book, clock, walk, .. } = &mut *open;
        book.take_in(&job, walk.by(), &mut || clock.moment())?;
        open.refresh()?;
        open.screen()
    }

    /// Keeps a photo of a house or an opening: its bytes under their hash, and the fact that names it. Gives the screen.
    ///
    /// # Errors
    /// [`BookFault::Refused`] when no house is open; [`BookFault::NotKept`] when the disk refused.
    pub fn add_photo(&self, on: Uuid, bytes: Vec<u8>, caption: String) -> Result<Screen, BookFault> {
        use hangtrue_core::fact::Body;
        let mut open = self.lock();
        let Some(house) = &open.house else {
            return Err(BookFault::refused("no house is open", "open a house first"));
        };
        let (job, unit, by) = (house.job.id, house.job.unit, open.walk.by().to_owned());
        if on != job && !house.job.openings().any(|(_, opening)| opening.id == on) {
            return Err(BookFault::Refused {
                reason: "this is no opening of the house".to_owned(),
                advice: "go back and choose again".to_owned(),
                id: Some(on.to_string()),
            });
        }
        let sha256 = open.book.photos().keep(&bytes)?;
        let moment = open.clock.moment();
        let photo = Photo { sha256, caption, at: moment.time(), by: by.clone() };
        let body = Body::PhotoAdded { on, photo };
        let facts = open.book.write(job, &by, unit, &[body], &mut || moment)?;
        open.took(facts);
        open.screen()
    }

    /// What was written here, in order, from `after` on (0 for all), `limit` facts at most.
    ///
    /// # Errors
    /// [`BookFault::NotKept`] when the book cannot be read.
    pub fn facts_after(&self, after: i64, limit: u32) -> Result<FactBatch, BookFault> {
        let facts = self.lock().book.own_facts(after, usize::try_from(limit).unwrap_or(usize::MAX))?;
        let mut lines = String::new();
        for (_, fact) in &facts {
            lines.push_str(&json(fact));
            lines.push('\n');
        }
        let count = u32::try_from(facts.len()).unwrap_or(u32::MAX);
        Ok(FactBatch { lines, count, next: facts.last().map_or(after, |(row, _)| *row) })
    }

    /// Takes in facts of another device, one JSON object a line: any order, any repetition.
    ///
    /// # Errors
    /// [`BookFault::Refused`] with the line that is no fact; nothing is taken then. [`BookFault::NotKept`] when the
    /// disk refused.
    pub fn merge_facts(&self, lines: String) -> Result<MergeReport, BookFault> {
        let mut facts: Vec<Fact> = Vec::new();
        for (n, line) in lines.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
            let fact = serde_json::from_str(line).map_err(|error| {
                BookFault::refused(format!("line {} is no fact: {error}", n + 1), "hand in what facts_after gave")
            })?;
            facts.push(fact);
        }
        let mut open = self.lock();
        let merged = open.book.merge(&facts)?;
        open.refresh()?;
        let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Ok(MergeReport {
            new_facts: count(merged.new),
            known: count(merged.known),
            refused: merged.differs.iter().chain(&merged.refused).map(ToString::to_string).collect(),
        })
    }

    /// A digest of the screen as it stands, the same in every language: for tests.
    ///
    /// # Errors
    /// As [`HouseBook::screen`].
    pub fn screen_digest(&self) -> Result<String, BookFault> {
        let screen = self.lock().screen()?;
        Ok(digest(&json(&screen)))
    }

    /// The screen as it stands, as JSON: for tests and for a developer's eyes.
    ///
    /// # Errors
    /// As [`HouseBook::screen`].
    pub fn screen_json(&self) -> Result<String, BookFault> {
        let screen = self.lock().screen()?;
        Ok(json(&screen))
    }

    /// A digest of what all facts of this book fold to, the same on every device that has the same facts: for tests.
    ///
    /// # Errors
    /// [`BookFault::NotKept`] when the book cannot be read.
    pub fn houses_digest(&self) -> Result<String, BookFault> {
        let open = self.lock();
        let mut ids: Vec<Uuid> = open.book.houses()?.into_iter().map(|line| line.job).collect();
        ids.sort_unstable();
        let mut all = String::new();
        for id in ids {
            all.push_str(&open.book.job(id)?.map(|job| file::write(&job)).unwrap_or_default());
        }
        Ok(digest(&all))
    }

    /// The event of the touch with this id on the screen as it stands; `amend_*` names the first that begins so. For
    /// scenarios.
    ///
    /// # Errors
    /// [`BookFault::Refused`] when the screen has no such touch, or it is not live.
    pub fn event_of(&self, touch: String) -> Result<Event, BookFault> {
        let screen = self.lock().screen()?;
        let screen = serde_json::to_value(&screen).unwrap_or_default();
        let found = find_touch(&screen, &touch).ok_or_else(|| {
            BookFault::refused(format!("the screen has no live \"{touch}\""), "see its JSON for what it has")
        })?;
        serde_json::from_value(found.clone())
            .map_err(|error| BookFault::refused(error.to_string(), "this is a fault of the program"))
    }

    /// Sets how far apart the moments of a seeded clock are: for tests of a thumb that bounces.
    ///
    /// # Errors
    /// [`BookFault::Refused`] on a book with the device's clock.
    pub fn set_clock_step(&self, step_ms: u64) -> Result<(), BookFault> {
        match &mut self.lock().clock {
            Clock::Seeded { step, .. } => {
                *step = step_ms;
                Ok(())
            }
            Clock::Device => {
                Err(BookFault::refused("this book has the device's clock", "open it with a seed to set its step"))
            }
        }
    }
}

/// An event out of its JSON (`{"do":"press","key":{"digit":3}}`): for scenarios.
///
/// # Errors
/// [`BookFault::Refused`] when it is none.
#[uniffi::export]
pub fn event_from_json(text: String) -> Result<Event, BookFault> {
    serde_json::from_str(&text)
        .map_err(|error| BookFault::refused(format!("this is no event: {error}"), "see the scenarios' examples"))
}

impl HouseBook {
    fn open_with(folder: &str, mut clock: Clock) -> Result<Arc<Self>, BookFault> {
        let book = Book::open(&Path::new(folder).join("book"), &mut || clock.moment())?;
        // A walk of a newer program that cannot be read begins at the houses; its facts are all there.
        let walk = book.draft(WALK)?.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
        let mut open = Open {
            book,
            walk,
            clock,
            lines: None,
            facts: Vec::new(),
            house: None,
            workroom: Workroom::default(),
            sync: SyncLine::default(),
        };
        open.refresh()?;
        Ok(Arc::new(Self { open: Mutex::new(open), pairing: Mutex::default(), exchanging: Mutex::default() }))
    }

    fn lock(&self) -> MutexGuard<'_, Open> {
        // A panic in a call leaves what was there before it: state is put in place only after it was written.
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Open {
    /// Reads again what the book holds: after facts came from elsewhere.
    fn refresh(&mut self) -> Result<(), BookFault> {
        self.lines = None;
        self.facts = match self.walk.house() {
            Some(house) => self.book.facts(house)?,
            None => Vec::new(),
        };
        self.workroom = self.book.workroom()?;
        self.lay_out();
        Ok(())
    }

    /// Folds the open house over what the workroom keeps for every house.
    fn lay_out(&mut self) {
        let open = self.walk.house();
        let nothing_yet = || House::empty(Job::new(Workroom::ID, Workroom::NAME.to_owned(), LengthUnit::Inch));
        self.house = fold(&self.facts).or_else(|| (open == Some(Workroom::ID)).then(nothing_yet));
        if let Some(house) = self.house.as_mut().filter(|_| open != Some(Workroom::ID)) {
            house.job.workroom = self.workroom.clone();
        }
    }

    /// Takes note of facts that were written here.
    fn took(&mut self, facts: Vec<Fact>) {
        if !facts.is_empty() {
            self.lines = None;
            self.facts.extend(facts);
            self.lay_out();
        }
    }

    fn job(&self, house: Uuid) -> Result<Job, BookFault> {
        self.book.job(house)?.ok_or_else(|| BookFault::Refused {
            reason: "this house is not in the book".to_owned(),
            advice: "choose one of the list".to_owned(),
            id: Some(house.to_string()),
        })
    }

    /// Makes ready what a screen or a step needs beside the open house.
    fn ready(&mut self, needs_houses: bool) -> Result<(), BookFault> {
        if self.lines.is_none() && needs_houses {
            let alone = alone(&self.book)?;
            let lines = self.book.houses()?.into_iter().map(|line| HouseLine {
                alone: alone.get(&line.job).copied().unwrap_or_default(),
                id: line.job,
                name: line.name,
                openings: line.openings,
                readings: line.readings,
                asked: line.asked,
                away: line.away,
                words: line.words,
            });
            self.lines = Some(lines.collect());
        }
        Ok(())
    }

    fn world(&self) -> World<'_> {
        World { houses: self.lines.as_deref().unwrap_or_default(), house: self.house.as_ref(), sync: self.sync }
    }

    fn screen(&mut self) -> Result<Screen, BookFault> {
        self.ready(self.walk.is_at_houses() || self.walk.is_at_leaving())?;
        if self.walk.is_at_sync() {
            let confirmed = confirmed(&self.book)?;
            self.sync = SyncLine {
                here: self.book.own_count()?,
                confirmed: confirmed.as_ref().map_or(0, |confirmed| confirmed.held),
                confirmed_ms: confirmed.as_ref().map(|confirmed| confirmed.ms),
                place: confirmed.as_ref().map(|confirmed| SyncPlace::of(&confirmed.place)).unwrap_or_default(),
                waiting: self.house.as_ref().map_or(0, |house| house.waiting.len() as u64),
            };
        }
        Ok(self.walk.screen(&self.world()))
    }

    fn act(&mut self, event: &Event) -> Result<(), BookFault> {
        self.ready(matches!(event, Event::ShowHouse { .. } | Event::OpenLabel { .. }))?;
        let Self { walk, clock, lines, house, sync, .. } = self;
        let world = World { houses: lines.as_deref().unwrap_or_default(), house: house.as_ref(), sync: *sync };
        let step = walk.step(event, &world, &mut || clock.moment())?;
        if step.writes.is_empty() {
            if step.walk != self.walk {
                self.book.set_draft(WALK, Some(&json(&step.walk)))?;
            }
        } else {
            let first = &step.writes[0];
            let (job, unit, by) = (first.house, first.unit, step.walk.by().to_owned());
            let bodies: Vec<_> = step.writes.iter().map(|write| write.body.clone()).collect();
            let mut moments = step.writes.iter().map(|write| write.moment);
            let draft = Draft { key: WALK, value: Some(&json(&step.walk)) };
            let facts = self.book.write_with(job, &by, unit, &bodies, Some(draft), &mut || {
                moments.next().expect("the store asks for one moment a fact")
            })?;
            if matches!(event, Event::Mark { .. } | Event::MarkAll { .. }) {
                // What is cut takes its pieces off the shelf.
                self.workroom = self.book.workroom()?;
            }
            if self.walk.house() == Some(job) {
                self.walk = step.walk;
                self.took(facts);
                return Ok(());
            }
        }
        let moved = step.walk.house() != self.walk.house();
        self.walk = step.walk;
        if moved { self.refresh() } else { Ok(()) }
    }
}

/// The event of the first live touch of this id in a screen's JSON, in the order of its fields.
fn find_touch<'a>(json: &'a serde_json::Value, id: &str) -> Option<&'a serde_json::Value> {
    match json {
        serde_json::Value::Object(map) => {
            let is_it = map
                .get("id")
                .and_then(serde_json::Value::as_str)
                .is_some_and(|known| id.strip_suffix('*').map_or(known == id, |start| known.starts_with(start)));
            let live = map.get("live").and_then(serde_json::Value::as_bool) == Some(true);
            match map.get("event") {
                Some(event) if is_it && live => Some(event),
                _ => map.values().find_map(|inner| find_touch(inner, id)),
            }
        }
        serde_json::Value::Array(all) => all.iter().find_map(|inner| find_touch(inner, id)),
        _ => None,
    }
}

fn json(value: &impl serde::Serialize) -> String {
    serde_json::to_string(value).expect("the records have no map with keys that are not text")
}

fn digest(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

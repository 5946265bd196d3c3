//! One sync of a book with a place of exchange: take in what others brought, bring what is held here and lacks there.
//!
//! What holds, whatever is interrupted and however often it is repeated:
//! - A fact counts as sent only when the place returned the hash of what it holds ([`Transport::put`]).
//! - What is missing at the place is found by listing it, not by remembering: a place that lost files gets them again,
//!   what this book wrote under its own name, what others wrote under the name of a carrier ([`Round::carry`]).
//! - A segment is merged whole or not at all; its mark is set after the merge, so a merge is repeated rather than lost.
//! - Under this device's name nothing is believed that this book did not write: then the book is a copy of another,
//!   takes a new device id, takes in what the other wrote and brings all its own under the new name.

use super::key::FirmKey;
use super::name::{Hash, ObjectName, PhotoPartName, SegmentName};
use super::rows::Rows;
use super::segment::{self, FactTooLong, SegmentProblem};
use super::transport::{Prune, Transport, TransportProblem};
use super::{MARKS, photo};
use crate::fact::{ADOPT_AHEAD_MS, Body, ERASED, Fact, HOUSE_ERASED, Moment};
use crate::store::{Book, ERASED_PHOTOS, Moments, StoreProblem};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Facts are read from the book in steps of this many.
const STEP: usize = 1000;
/// When a place says the same again, that it did is kept no more often than this.
const CONFIRMED_APART_MS: u64 = 30_000;
/// So many complaints are said one by one; the rest as a number, so that nobody's junk costs more than a message.
const SAID: usize = 20;
/// So often a photo is put together anew out of other parts in one sync, where one of them was not its own.
const TRIES: u64 = 16;
/// A place is told of so many objects that are asked for next: at most 64 MiB, of the largest segments.
const SOON: usize = 16;
/// A segment of fewer facts than this is a small one, which compaction joins with its neighbours.
const SMALL: u64 = 2000;

/// What a sync did, and what it found.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Report {
    /// Facts that were new here.
    pub arrived: u64,
    /// Facts brought to the place in this sync, each acknowledged by it.
    pub sent: u64,
    /// Facts that others wrote, that the place lacked and that this book brought there.
    pub carried: u64,
    /// Own facts that the place holds after this sync.
    pub held: u64,
    /// True when the place holds everything that was written here.
    pub all_sent: bool,
    /// Photos that became whole here.
    pub photos_arrived: u64,
    /// Photos of this book that the place did not hold and now holds.
    pub photos_sent: u64,
    /// Photos that facts name and that are neither here nor whole at the place.
    pub photos_missing: u64,
    /// Facts that should be at the place and are not.
    pub gaps: Vec<Gap>,
    /// Objects that were not believed, and why. Those that were damaged on the way were asked for again.
    pub bad: Vec<Bad>,
    /// Facts that this book already has with another content: one of the two was damaged or forged. What was here stays.
    pub differs: Vec<Uuid>,
    /// Facts that no reader takes: longer than any may be, or with a stamp beyond the year 9999.
    pub refused: Vec<Uuid>,
    /// Facts of this book that are too long to be brought (an older program wrote them): only that they are was brought.
    pub too_long: Vec<Uuid>,
    /// Facts of houses that were erased, which were not taken in.
    pub erased: u64,
    /// Devices whose clock is more than a day ahead of this one's, and what it said, in milliseconds since 1970.
    pub clocks: Vec<(Uuid, u64)>,
    /// Set when this book turned out to be a copy of another one and took this new device id.
    pub new_device: Option<Uuid>,
    /// Why it ended before everything was done. What was done stands; the next sync goes on.
    pub stopped: Option<TransportProblem>,
}

impl Report {
    /// What it did and found, in sentences for a person.
    pub fn says(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if let Some(device) = self.new_device {
            lines.push(format!("This book is a copy of another one; it is device {device} from now on."));
        }
        lines.push(format!(
            "{} facts arrived, {} were sent; the place holds {} of this book's own.",
            self.arrived, self.sent, self.held
        ));
        if self.carried > 0 {
            lines.push(format!("{} facts that others wrote were not there; they were brought too.", self.carried));
        }
        if self.erased > 0 {
            lines.push(format!(
                "{} facts of houses that were erased lie there still; they were not taken in.",
                self.erased
            ));
        }
        for (device, ms) in &self.clocks {
            let says = Moment { ms: *ms, random: [0; 10] }.time().format("%Y-%m-%d %H:%M");
            lines.push(format!(
                "The clock of device {device} says {says}, more than a day ahead of this one's: set the one that is wrong. \
                 Nothing is lost; of two values set apart the later one is shown."
            ));
        }
        if self.photos_arrived + self.photos_sent + self.photos_missing > 0 {
            lines.push(format!(
                "{} photos arrived, {} were sent, {} are not there yet.",
                self.photos_arrived, self.photos_sent, self.photos_missing
            ));
        }
        for gap in &self.gaps {
            lines.push(format!(
                "Facts {} to {} of device {} have not arrived: sync that device with this place again.",
                gap.first, gap.last, gap.device
            ));
        }
        for bad in self.bad.iter().take(SAID) {
            let asked = if bad.asked_again { "; its device was asked to bring it again" } else { "" };
            lines.push(format!("{} was not taken ({}): {}{asked}.", bad.name, bad.code, bad.says));
        }
        if let Some(more) = self.bad.len().checked_sub(SAID).filter(|more| *more > 0) {
            lines.push(format!("{more} more were not taken either."));
        }
        for id in self.differs.iter().take(SAID) {
            lines.push(format!("Fact {id} is here with another content; what was here stays."));
        }
        for id in self.refused.iter().take(SAID) {
            lines.push(format!(
                "Fact {id} is longer than any may be or from beyond the year 9999; it was not taken in."
            ));
        }
        for id in self.too_long.iter().take(SAID) {
            lines.push(format!(
                "Fact {id} of this book is too long to be exchanged; only that it is there was brought."
            ));
        }
        if !self.all_sent {
            lines.push("Not everything was sent; sync again.".to_owned());
        }
        lines
    }
}

/// Facts of a device that should be at the place and are not.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Gap {
    /// Whose.
    pub device: Uuid,
    /// From this number in its order of writing.
    pub first: u64,
    /// To this.
    pub last: u64,
}

/// An object that was not believed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Bad {
    /// Which.
    pub name: String,
    /// The code of what is wrong, as in `docs/exchange-format.md`.
    pub code: &'static str,
    /// The same in a sentence.
    pub says: String,
    /// True when its owner was asked to bring it again.
    pub asked_again: bool,
}

/// What to do with photos.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum PhotoWish {
    /// Bring own ones, fetch those of others.
    #[default]
    Both,
    /// Bring own ones only: a phone on a thin line.
    Bring,
}

/// Why a sync could not go on. What was done before stands.
#[derive(Debug, thiserror::Error)]
pub enum SyncProblem {
    /// The book.
    #[error(transparent)]
    Book(#[from] StoreProblem),
    /// A fact that no segment can carry.
    #[error(transparent)]
    Fact(#[from] FactTooLong),
    /// The place, where only the place is worked on ([`compact`]).
    #[error(transparent)]
    Place(TransportProblem),
}

/// Syncs a book with a place of exchange, both ways.
///
/// A place that cannot be reached or refuses is no error: [`Report::stopped`] says so and everything until then stands.
///
/// # Errors
/// [`SyncProblem`] when the book itself cannot be read or written.
pub fn sync(
    book: &mut Book,
    key: &FirmKey,
    place: &mut dyn Transport,
    photos: PhotoWish,
    moments: Moments<'_>,
) -> Result<Report, SyncProblem> {
    let now = moments().ms;
    let mut round = Round::new(key, place, BTreeSet::new());
    round.now = now;
    match round.run(book, photos, moments) {
        Ok(()) => {}
        Err(Stop::Place(problem)) => {
            round.report.all_sent = false;
            round.report.stopped = Some(problem);
        }
        Err(Stop::Book(problem)) => return Err(problem),
    }
    if round.counted {
        let now = Confirmed { held: round.report.held, ms: now, place: round.place.place() };
        // A hub's own book asks its folder every few seconds: that is not worth a write each time.
        let as_before = |before: Confirmed| {
            before.held == now.held && before.place == now.place && now.ms.abs_diff(before.ms) < CONFIRMED_APART_MS
        };
        if !confirmed(book)?.is_some_and(as_before) {
            let text = serde_json::to_string(&now).expect("two numbers and a text always become JSON");
            set_mark(book, "place", "last", &text)?;
        }
    }
    Ok(round.report)
}

/// What the last place of exchange holds of what was written here, as it confirmed it itself.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Confirmed {
    /// Own facts that it holds.
    pub held: u64,
    /// When it said so, in milliseconds since 1970.
    pub ms: u64,
    /// The place ([`Transport::place`]).
    pub place: String,
}

/// What the last place confirmed; `None` while nothing was exchanged.
///
/// # Errors
/// [`StoreProblem`] when the book cannot be read.
pub fn confirmed(book: &Book) -> Result<Option<Confirmed>, StoreProblem> {
    Ok(mark(book, "place", "last")?.and_then(|text| serde_json::from_str(&text).ok()))
}

/// Joins this device's small segments into few large ones, and removes those that the new ones replace; likewise those that
/// hold what was erased since, and the photos that went with it.
///
/// Only the owner does this, only with segments that its book wrote or carried there, and only after the new ones were
/// read back. What was erased is looked for every time: a mirror may have brought it back. Gives the number of segments
/// before and after.
///
/// # Errors
/// [`SyncProblem`]; a place that stops half way leaves both the old and the new, which is no harm.
pub fn compact(book: &mut Book, key: &FirmKey, place: &mut dyn Prune) -> Result<(usize, usize), SyncProblem> {
    let mut go = || -> Result<(usize, usize), Stop> {
        let here = place.place();
        let erased = book.erased_houses()?;
        let mut counts = (0, 0);
        for source in sources(book, &here)? {
            let own = own_names(book, source.device, place.list(&format!("segments/{}/", source.device))?)?;
            counts.0 += own.len();
            let mut joining: BTreeSet<Hash> =
                own.iter().filter(|name| name.last - name.first + 1 < SMALL).map(|name| name.hash).collect();
            if joining.len() < 2 {
                joining.clear();
            }
            for name in &own {
                // Facts of an erased house are stubs in the book; whether they are in the segment, it says itself.
                if source.holds_erased(book, name.first, name.last)?
                    && look(place, key, name)?.is_some_and(|found| tells_erased(&found, &erased))
                {
                    joining.insert(name.hash);
                }
            }
            if joining.is_empty() {
                counts.1 += own.len();
                continue;
            }
            let mut round = Round::new(key, place, joining.clone());
            // Only what others cover goes: everything that lies wholly inside a segment that was just made, or that stays.
            let fresh = round.publish(book, &source, &own)?;
            counts.1 += own.len() + fresh.len();
            let (old, stay): (Vec<SegmentName>, Vec<SegmentName>) =
                own.iter().partition(|name| joining.contains(&name.hash));
            for old in &old {
                let within = |new: &&SegmentName| new.first <= old.first && old.last <= new.last;
                // What stays was not read back just now, as the new ones were.
                let covered = fresh.iter().any(|new| within(&new))
                    || match stay.iter().find(within) {
                        Some(new) => matches!(look(place, key, new)?, Some(Ok(_))),
                        None => false,
                    };
                if covered {
                    place.remove(&ObjectName::Segment(*old))?;
                    counts.1 -= 1;
                }
            }
        }
        for photo in erased_photos(book)? {
            for name in place.list(&format!("photos/{photo}/"))? {
                place.remove(&name)?;
            }
        }
        Ok(counts)
    };
    match go() {
        Ok(counts) => Ok(counts),
        Err(Stop::Book(problem)) => Err(problem),
        Err(Stop::Place(problem)) => Err(SyncProblem::Place(problem)),
    }
}

/// Copies every object that one place has and the other lacks, as it is, both ways; no key is needed for it.
/// Gives how many went each way, and the names of those whose bytes were not what they should be.
///
/// # Errors
/// [`TransportProblem`] of either place; what was copied stands.
pub fn mirror(
    one: &mut dyn Transport,
    other: &mut dyn Transport,
) -> Result<(u64, u64, Vec<ObjectName>), TransportProblem> {
    let mut bad = Vec::new();
    let mut counts = [0, 0];
    for kind in ["segments/", "again/", "photos/"] {
        let left: BTreeSet<ObjectName> = one.list(kind)?.into_iter().collect();
        let right: BTreeSet<ObjectName> = other.list(kind)?.into_iter().collect();
        for name in left.difference(&right) {
            counts[0] += u64::from(copy(one, other, name, &mut bad)?);
        }
        for name in right.difference(&left) {
            counts[1] += u64::from(copy(other, one, name, &mut bad)?);
        }
    }
    Ok((counts[0], counts[1], bad))
}

fn copy(
    from: &mut dyn Transport,
    to: &mut dyn Transport,
    name: &ObjectName,
    bad: &mut Vec<ObjectName>,
) -> Result<bool, TransportProblem> {
    let bytes = match from.get(name) {
        Ok(bytes) => bytes,
        // Its owner joined it with others meanwhile.
        Err(TransportProblem::NotThere(_)) => return Ok(false),
        Err(problem) => return Err(problem),
    };
    if !name.fits(&bytes) {
        bad.push(*name);
        return Ok(false);
    }
    confirm(to, name, &bytes)?;
    Ok(true)
}

/// Puts and holds the place to its receipt.
fn confirm(place: &mut dyn Transport, name: &ObjectName, bytes: &[u8]) -> Result<(), TransportProblem> {
    let holds = place.put(name, bytes)?;
    if holds == Hash::of(bytes) {
        return Ok(());
    }
    let what = format!("it holds other bytes for {name} than were sent");
    Err(TransportProblem::Nonsense { place: place.place(), what })
}

enum Stop {
    Place(TransportProblem),
    Book(SyncProblem),
}

impl From<TransportProblem> for Stop {
    fn from(problem: TransportProblem) -> Self {
        Self::Place(problem)
    }
}

impl From<StoreProblem> for Stop {
    fn from(problem: StoreProblem) -> Self {
        Self::Book(problem.into())
    }
}

impl From<FactTooLong> for Stop {
    fn from(problem: FactTooLong) -> Self {
        Self::Book(problem.into())
    }
}

struct Round<'a> {
    report: Report,
    key: &'a FirmKey,
    place: &'a mut dyn Transport,
    /// Own segments at the place that do not count as being there: those that are being joined.
    joining: BTreeSet<Hash>,
    /// What lies under `again/` already.
    asked: BTreeSet<ObjectName>,
    /// True once the place was asked what it holds of this book's own.
    counted: bool,
    /// This device's clock, in milliseconds since 1970.
    now: u64,
    /// Rows that the place holds in sound segments that others brought.
    covered: Rows,
}

/// What this book brings under one name, numbered from 1: what it wrote, or what it carries to one place.
struct Source {
    device: Uuid,
    /// The rows that were carried, in order; `None` for what the book wrote itself.
    carried: Option<Rows>,
}

impl Source {
    fn own(book: &Book) -> Self {
        Self { device: book.device(), carried: None }
    }

    /// How many facts of it there are to be at the place, where that is settled beforehand.
    fn end(&self) -> Option<u64> {
        self.carried.as_ref().map(Rows::count)
    }

    /// The number of the fact that is read next, at most `first`, and a row before it.
    fn start(&self, book: &Book, first: u64) -> Result<(u64, i64), StoreProblem> {
        if self.carried.is_some() { Ok((first, 0)) } else { start_of(book, first) }
    }

    /// Up to [`STEP`] facts from number `next` on; `row` is the row of the one before where it is the book's own.
    fn facts(&self, book: &Book, next: u64, row: i64) -> Result<Vec<(i64, Fact)>, StoreProblem> {
        match &self.carried {
            None => book.own_facts(row, STEP),
            Some(rows) => facts_at(book, &rows.part(next - 1, STEP as u64)),
        }
    }

    /// True when one of these facts was erased since it was brought.
    fn holds_erased(&self, book: &Book, first: u64, last: u64) -> Result<bool, StoreProblem> {
        let (mut next, mut row) = self.start(book, first)?;
        while next <= last {
            let facts = self.facts(book, next, row)?;
            let Some((end, _)) = facts.last() else { break };
            row = *end;
            let left = usize::try_from(last - next + 1).unwrap_or(usize::MAX);
            if facts.iter().take(left).any(|(_, fact)| fact.kind == ERASED) {
                return Ok(true);
            }
            next += facts.len() as u64;
        }
        Ok(false)
    }
}

/// What this book brings to a place: its own, and what it carries there if it carried anything yet.
fn sources(book: &Book, place: &str) -> Result<Vec<Source>, StoreProblem> {
    let mut all = vec![Source::own(book)];
    all.extend(carrier(book, place)?);
    Ok(all)
}

fn carrier(book: &Book, place: &str) -> Result<Option<Source>, StoreProblem> {
    let Some(device) = mark(book, "carrier", place)?.and_then(|text| text.parse().ok()) else { return Ok(None) };
    let rows = mark(book, "carried", &format!("{device}"))?.and_then(|text| Rows::read(&text)).unwrap_or_default();
    Ok(Some(Source { device, carried: Some(rows) }))
}

fn facts_at(book: &Book, rows: &Rows) -> Result<Vec<(i64, Fact)>, StoreProblem> {
    let mut out = Vec::new();
    for (first, last) in rows.ranges() {
        let many = usize::try_from(last.abs_diff(*first)).unwrap_or(usize::MAX).saturating_add(1);
        out.extend(book.all_facts(first - 1, many)?.into_iter().filter(|(row, _)| row <= last));
    }
    Ok(out)
}

/// The rows of what this book wrote, looked for only behind those that were looked at before.
fn own_rows(book: &mut Book) -> Result<Rows, StoreProblem> {
    let kept = mark(book, "rows", "own")?.unwrap_or_default();
    let known = kept.split_once(' ').and_then(|(upto, rows)| Some((upto.parse().ok()?, Rows::read(rows)?)));
    let (upto, mut rows): (i64, Rows) = known.unwrap_or_default();
    let last = book.last_row()?;
    if last > upto {
        for row in book.own_rows(upto)?.into_iter().filter(|row| *row <= last) {
            rows.push(row);
        }
        set_mark(book, "rows", "own", &format!("{last} {}", rows.text()))?;
    }
    Ok(rows.set())
}

/// A segment as it lies at the place; `None` when it does not.
fn look(
    place: &mut dyn Prune,
    key: &FirmKey,
    name: &SegmentName,
) -> Result<Option<Result<segment::Sound, SegmentProblem>>, TransportProblem> {
    match place.get(&ObjectName::Segment(*name)) {
        Err(TransportProblem::NotThere(_)) => Ok(None),
        stored => Ok(Some(segment::check(name, &stored?, key))),
    }
}

/// True when a segment has the words of an erased house, or cannot be read to tell.
fn tells_erased(found: &Result<segment::Sound, SegmentProblem>, erased: &BTreeSet<Uuid>) -> bool {
    let told = |fact: Fact| erased.contains(&fact.job) && fact.kind != ERASED && fact.kind != HOUSE_ERASED;
    found.as_ref().map_or(true, |sound| sound.facts().any(told))
}

fn erased_photos(book: &Book) -> Result<BTreeSet<Hash>, StoreProblem> {
    let text = book.state(ERASED_PHOTOS)?.unwrap_or_default();
    Ok(text.split_whitespace().filter_map(|hash| hash.parse().ok()).collect())
}

impl<'a> Round<'a> {
    fn new(key: &'a FirmKey, place: &'a mut dyn Transport, joining: BTreeSet<Hash>) -> Self {
        Self {
            report: Report::default(),
            key,
            place,
            joining,
            asked: BTreeSet::new(),
            counted: false,
            now: 0,
            covered: Rows::default(),
        }
    }

    fn run(&mut self, book: &mut Book, photos: PhotoWish, moments: Moments<'_>) -> Result<(), Stop> {
        if let Some(firm) = self.place.firm().filter(|firm| *firm != self.key.mark()) {
            return Err(self.foreign(&format!("it belongs to the firm whose key has the mark {firm}")));
        }
        let names = segments(self.place.list("segments/")?);
        self.asked = self.place.list("again/")?.into_iter().collect();
        self.find_copy(book, &names, moments)?;
        let device = book.device();
        let (own, others): (Vec<_>, Vec<_>) = names.iter().copied().partition(|name| name.device == device);
        self.pull(book, &others, !own.is_empty())?;
        let here = book.last_row()?;
        let own = own_names(book, book.device(), own.into_iter().map(ObjectName::Segment).collect())?;
        let source = Source::own(book);
        self.bring(book, &source, own)?;
        self.carry(book, &others, moments)?;
        self.bring_photos(book)?;
        super::alone::elsewhere(book, here)?;
        if photos == PhotoWish::Both {
            self.fetch_photos(book)?;
        }
        Ok(())
    }

    fn foreign(&self, what: &str) -> Stop {
        let what = format!("{what}; nothing was written there: take another place, or the right firm's book");
        TransportProblem::Refused { place: self.place.place(), what }.into()
    }

    /// Brings what the place lacks of a source.
    fn bring(&mut self, book: &mut Book, source: &Source, mut there: Vec<SegmentName>) -> Result<(), Stop> {
        self.bring_again(book, source, &mut there)?;
        self.publish(book, source, &there)?;
        Ok(())
    }

    /// Brings what others wrote and the place lacks, whoever they are and wherever it came from.
    fn carry(&mut self, book: &mut Book, names: &[SegmentName], moments: Moments<'_>) -> Result<(), Stop> {
        let place = self.place.place();
        let stubs = mark(book, "rows", "erased")?.and_then(|text| Rows::read(&text)).unwrap_or_default();
        let missing = Rows::up_to(book.last_row()?).without(&own_rows(book)?);
        let missing = missing.without(&std::mem::take(&mut self.covered).set()).without(&stubs.clone().set());
        let mut source = carrier(book, &place)?;
        if let Some(known) = &source {
            let under: Vec<SegmentName> = names.iter().filter(|name| name.device == known.device).copied().collect();
            let mut mine = Vec::new();
            for name in &under {
                if wrote(book, name)? {
                    mine.push(*name);
                }
            }
            if mine.len() < under.len() {
                // Another book carries under this name too: this one is a copy of it, or an older day of it.
                source = None;
            } else {
                // What is not there any more and is held by nobody else is in `missing` as well: it comes under its own
                // numbers first.
                self.bring(book, known, mine)?;
            }
        }
        let missing = match &source {
            Some(Source { carried: Some(rows), .. }) => missing.without(&rows.clone().set()),
            _ => missing,
        };
        let (mut fresh, mut gone) = (Rows::default(), stubs);
        let before = gone.count();
        let mut at = 0;
        loop {
            let facts = facts_at(book, &missing.part(at, STEP as u64))?;
            if facts.is_empty() {
                break;
            }
            at += facts.len() as u64;
            for (row, fact) in facts {
                if fact.kind == ERASED { gone.push(row) } else { fresh.push(row) }
            }
        }
        if gone.count() > before {
            set_mark(book, "rows", "erased", &gone.set().text())?;
        }
        if fresh.is_empty() {
            return Ok(());
        }
        let Source { device, carried } = match source {
            Some(source) => source,
            None => Source { device: moments().uuid(), carried: None },
        };
        let mut rows = carried.unwrap_or_default();
        let first = rows.count() + 1;
        rows.extend(&fresh);
        // Kept before anything goes out, so that a number never means two facts.
        set_mark(book, "carrier", &place, &device.to_string())?;
        set_mark(book, "carried", &device.to_string(), &rows.text())?;
        let last = rows.count();
        self.publish_range(book, &Source { device, carried: Some(rows) }, first, Some(last), &[])?;
        Ok(())
    }

    /// Something under this device's name that this book did not write, and that is sound, was written by another book
    /// with the same id.
    fn find_copy(&mut self, book: &mut Book, names: &[SegmentName], moments: Moments<'_>) -> Result<(), Stop> {
        for name in names.iter().filter(|name| name.device == book.device()) {
            if wrote(book, name)? {
                continue;
            }
            let opened = match self.open(name) {
                Err(TransportProblem::NotThere(_)) => continue,
                opened => opened?,
            };
            match opened {
                Ok(_) => {
                    self.report.new_device = Some(book.take_new_device(moments)?);
                    return Ok(());
                }
                Err(problem) => self.bad(&ObjectName::Segment(*name), problem.code(), &problem, false),
            }
        }
        Ok(())
    }

    fn bad(&mut self, name: &ObjectName, code: &'static str, says: &dyn std::fmt::Display, asked_again: bool) {
        self.report.bad.push(Bad { name: name.to_string(), code, says: says.to_string(), asked_again });
    }

    /// Asks for an object once more. A place that may not be written to can still be read from, and one that went away
    /// shows it at the next step.
    fn ask_again(&mut self, ask: &ObjectName) {
        let _ = confirm(&mut *self.place, ask, b"");
    }

    /// Fetches and checks a segment; what was hurt on the way is fetched once more.
    fn open(&mut self, name: &SegmentName) -> Result<Result<segment::Sound, SegmentProblem>, TransportProblem> {
        let object = ObjectName::Segment(*name);
        let first = segment::check(name, &self.place.get(&object)?, self.key);
        if first.as_ref().is_err_and(SegmentProblem::asks_again) {
            return Ok(segment::check(name, &self.place.get(&object)?, self.key));
        }
        Ok(first)
    }

    /// Takes in what is new. `known` is true when something of this book's own is there.
    fn pull(&mut self, book: &mut Book, names: &[SegmentName], mut known: bool) -> Result<(), Stop> {
        let mut order: Vec<&SegmentName> = names.iter().collect();
        // The longest first: it may replace the others, which then need not be fetched.
        order.sort_by_key(|name| (name.device, std::cmp::Reverse(name.last - name.first), name.first, name.hash));
        order.dedup();
        let by_hash: BTreeMap<Hash, &SegmentName> = names.iter().map(|name| (name.hash, name)).collect();
        let mut replaced: BTreeSet<Hash> = BTreeSet::new();
        let mut failed: Vec<(SegmentName, Failed)> = Vec::new();
        let mut have: BTreeMap<Uuid, Vec<(u64, u64)>> = BTreeMap::new();
        let mut told = 0;
        for (at, name) in order.iter().copied().enumerate() {
            let hash = name.hash.to_string();
            if let Some(rows) = mark(book, "holds", &hash)?.and_then(|text| Rows::read(&text)) {
                self.covered.extend(&rows);
            } else if let Some(code) = mark(book, "bad", &hash)? {
                // It is what its name says and no segment of ours: fetching it again changes nothing.
                failed.push((*name, Failed::Known(code)));
                continue;
            } else if !replaced.contains(&name.hash) && !is_replaced(book, &by_hash, name)? {
                if at >= told {
                    told = self.tell_soon(book, &order, at, &replaced)?;
                }
                match self.open(name) {
                    Ok(Ok(sound)) => {
                        let rows = self.merge(book, &sound)?;
                        for hash in &sound.replaces {
                            // Kept also for one that is not listed now; what it is worth is seen where it is used.
                            set_mark(book, "seen", &format!("{}.{hash}", name.device), &name.to_string())?;
                            if by_hash.get(hash).is_some_and(|old| covers(name, old)) {
                                replaced.insert(*hash);
                            }
                        }
                        set_mark(book, "holds", &hash, &rows.text())?;
                        self.covered.extend(&rows);
                    }
                    Ok(Err(problem)) => {
                        if !problem.asks_again() && !matches!(problem, SegmentProblem::Newer(_)) {
                            set_mark(book, "bad", &hash, problem.code())?;
                        }
                        failed.push((*name, Failed::Now(problem)));
                        continue;
                    }
                    // Joined with others or taken away since it was listed: a gap, if nothing else covers it.
                    Err(TransportProblem::NotThere(_)) => continue,
                    Err(problem) => return Err(problem.into()),
                }
            }
            known = true;
            have.entry(name.device).or_default().push((name.first, name.last));
        }
        failed.retain(|(name, _)| !replaced.contains(&name.hash));
        let strangers = failed.iter().filter(|(_, failed)| failed.code() == "not_ours").count();
        let stranger = !known && self.place.firm().is_none() && strangers > 0;
        for (name, problem) in failed {
            let ask = ObjectName::SegmentAgain(name);
            let asks = problem.asks_again() && !stranger;
            if asks && !self.asked.contains(&ask) {
                self.ask_again(&ask);
            }
            self.bad(&ObjectName::Segment(name), problem.code(), &problem, asks);
        }
        if stranger {
            return Err(self.foreign("all that is there is encrypted to another firm's key"));
        }
        for (device, ranges) in have {
            // Up to the last that is known to be there: a name alone may be anybody's.
            let last = ranges.iter().map(|range| range.1).max().unwrap_or(0);
            self.report.gaps.extend(holes(ranges, last).into_iter().map(|(first, last)| Gap { device, first, last }));
        }
        Ok(())
    }

    /// Tells the place of the next segments in `order`, from `at` on, that the book does not know; gives where it ended.
    fn tell_soon(
        &mut self,
        book: &Book,
        order: &[&SegmentName],
        at: usize,
        replaced: &BTreeSet<Hash>,
    ) -> Result<usize, StoreProblem> {
        let (mut names, mut end) = (Vec::with_capacity(SOON), at);
        while end < order.len() && names.len() < SOON {
            let hash = order[end].hash.to_string();
            let known = mark(book, "holds", &hash)?.is_some() || mark(book, "bad", &hash)?.is_some();
            if !known && !replaced.contains(&order[end].hash) {
                names.push(ObjectName::Segment(*order[end]));
            }
            end += 1;
        }
        self.place.soon(&names);
        Ok(end)
    }

    /// Merges a segment's facts, and gives the rows where they are.
    fn merge(&mut self, book: &mut Book, sound: &segment::Sound) -> Result<Rows, Stop> {
        let mut rows = Rows::default();
        let mut shown: BTreeSet<Hash> = BTreeSet::new();
        let mut facts = sound.facts();
        loop {
            let some: Vec<Fact> = facts.by_ref().take(STEP).collect();
            if some.is_empty() {
                break;
            }
            let merged = book.merge(&some)?;
            merged.rows.iter().for_each(|row| rows.push(*row));
            self.report.arrived += merged.new as u64;
            self.report.erased += merged.erased as u64;
            self.report.differs.extend(merged.differs);
            self.report.refused.extend(merged.refused);
            let far = self.now.saturating_add(ADOPT_AHEAD_MS);
            for fact in some.iter().filter(|fact| fact.stamp.ms > far) {
                match self.report.clocks.iter_mut().find(|(device, _)| *device == fact.device) {
                    Some((_, ms)) => *ms = fact.stamp.ms.max(*ms),
                    None => self.report.clocks.push((fact.device, fact.stamp.ms)),
                }
            }
            shown.extend(some.iter().filter_map(photo_of));
        }
        if !shown.is_empty() {
            let mut wanted = wanted(book)?;
            let before = wanted.len();
            wanted.extend(shown.difference(&erased_photos(book)?));
            if wanted.len() > before {
                set_wanted(book, &wanted)?;
            }
        }
        Ok(rows)
    }

    /// Brings again what arrived damaged and lies there still: exactly its facts, in a segment that says what it
    /// replaces. `own` then holds the new names too. What was brought for it before counts only while it is there and
    /// nobody found that damaged as well; so a segment brings the place of every damaged one that it covers.
    fn bring_again(&mut self, book: &mut Book, source: &Source, own: &mut Vec<SegmentName>) -> Result<(), Stop> {
        let asked: Vec<SegmentName> = own.iter().filter(|name| self.was_asked(name)).copied().collect();
        let mut fresh: Vec<SegmentName> = Vec::new();
        for name in &asked {
            let hash = name.hash.to_string();
            let answer = mark(book, "answered", &hash)?.unwrap_or_default();
            let stands = |text: &str| own.iter().any(|own| own.to_string() == text && !self.was_asked(own));
            if !answer.is_empty() && answer.split(' ').all(stands) {
                continue;
            }
            let covering = |new: &SegmentName| new.first <= name.first && name.last <= new.last;
            let brought = match fresh.iter().find(|new| covering(new)) {
                Some(new) => vec![*new],
                None => self.publish_range(book, source, name.first, Some(name.last), &asked)?,
            };
            let names: Vec<String> = brought.iter().map(SegmentName::to_string).collect();
            set_mark(book, "answered", &hash, &names.join(" "))?;
            fresh.extend(brought);
        }
        own.extend(fresh);
        Ok(())
    }

    fn was_asked(&self, name: &SegmentName) -> bool {
        self.asked.contains(&ObjectName::SegmentAgain(*name))
    }

    /// Brings every fact of a source that the place does not hold, and gives the names that they went under.
    fn publish(&mut self, book: &mut Book, source: &Source, own: &[SegmentName]) -> Result<Vec<SegmentName>, Stop> {
        let (gone, there): (Vec<SegmentName>, Vec<SegmentName>) =
            own.iter().partition(|name| self.joining.contains(&name.hash));
        let ranges: Vec<(u64, u64)> = there.iter().map(|name| (name.first, name.last)).collect();
        let end = source.end().unwrap_or_else(|| ranges.iter().map(|range| range.1).max().unwrap_or(0));
        let holes = holes(ranges, end);
        if source.carried.is_none() {
            let missing: u64 = holes.iter().map(|(first, last)| last - first + 1).sum();
            self.report.held = end - missing;
            self.counted = true;
        }
        let mut fresh = Vec::new();
        for (first, last) in holes {
            fresh.extend(self.publish_range(book, source, first, Some(last), &gone)?);
        }
        if source.carried.is_none() {
            fresh.extend(self.publish_range(book, source, end + 1, None, &gone)?);
            self.report.all_sent = true;
        }
        Ok(fresh)
    }

    /// Brings facts of a source from number `first` to `last` (or to the end), and gives the names that they went under.
    fn publish_range(
        &mut self,
        book: &mut Book,
        source: &Source,
        first: u64,
        last: Option<u64>,
        gone: &[SegmentName],
    ) -> Result<Vec<SegmentName>, Stop> {
        let mut names = Vec::new();
        let (mut next, mut row) = source.start(book, first)?;
        let mut writer = segment::Writer::new(source.device, next);
        let mut pending: std::collections::VecDeque<(i64, Fact)> = std::collections::VecDeque::new();
        let (mut from, mut ahead) = (row, next);
        let mut rows = Rows::default();
        loop {
            if pending.is_empty() {
                pending.extend(source.facts(book, ahead, from)?);
                from = pending.back().map_or(from, |(row, _)| *row);
                ahead += pending.len() as u64;
            }
            let due = last.is_none_or(|last| next <= last);
            let taken = match pending.front().filter(|_| due) {
                Some((_, fact)) => Some(match writer.add(fact) {
                    Err(FactTooLong { fact: id, bytes }) => {
                        if self.report.too_long.last() != Some(&id) {
                            self.report.too_long.push(id);
                        }
                        writer.add(&too_long(fact, bytes))?
                    }
                    added => added?,
                }),
                None => None,
            };
            if taken == Some(true) {
                row = pending.pop_front().map_or(row, |(row, _)| row);
                rows.push(row);
                next += 1;
                continue;
            }
            let full = std::mem::replace(&mut writer, segment::Writer::new(source.device, next));
            names.extend(self.publish_segment(book, source, full, &std::mem::take(&mut rows), row, gone)?);
            if taken.is_none() {
                return Ok(names);
            }
        }
    }

    fn publish_segment(
        &mut self,
        book: &mut Book,
        source: &Source,
        writer: segment::Writer,
        rows: &Rows,
        row: i64,
        gone: &[SegmentName],
    ) -> Result<Option<SegmentName>, Stop> {
        let count = writer.count();
        let (from, to) = writer.range();
        let replaces: Vec<Hash> =
            gone.iter().filter(|old| from <= old.first && old.last <= to).map(|old| old.hash).collect();
        let Some((name, stored)) = writer.finish(&replaces, self.key) else { return Ok(None) };
        // Kept before it goes out: what this book does not remember, it takes for a copy's.
        set_mark(book, "wrote", &name.to_string(), "1")?;
        if source.carried.is_some() {
            set_mark(book, "holds", &name.hash.to_string(), &rows.text())?;
        }
        confirm(&mut *self.place, &ObjectName::Segment(name), &stored)?;
        if source.carried.is_some() {
            self.report.carried += count;
            return Ok(Some(name));
        }
        // Where the row of the last fact is, so that the next sync need not count from the start.
        let known = top(book)?;
        if known.0 < name.last {
            set_mark(book, "top", &book.device().to_string(), &format!("{} {row}", name.last))?;
        }
        self.report.sent += count;
        self.report.held += count;
        Ok(Some(name))
    }

    /// Brings the photos that are here and not whole at the place. That a name is there proves nothing, since anybody
    /// can make one: a part counts when it was brought from here, fetched, or found equal to what is here.
    fn bring_photos(&mut self, book: &mut Book) -> Result<(), Stop> {
        let here = book.photos().list()?;
        if here.is_empty() {
            return Ok(());
        }
        let mut there: BTreeMap<Hash, Vec<PhotoPartName>> = BTreeMap::new();
        for name in self.place.list("photos/")? {
            if let ObjectName::Photo(name) = name
                && !self.asked.contains(&ObjectName::PhotoAgain(name))
            {
                there.entry(name.photo).or_default().push(name);
            }
        }
        let erased = erased_photos(book)?;
        for text in here {
            let Ok(hash) = text.parse::<Hash>() else { continue };
            if erased.contains(&hash) {
                continue;
            }
            let parts = match photo::parts(book.photos().have(&text)?) {
                Ok(parts) => parts,
                Err(problem) => {
                    self.bad_photo(hash, "too_large", &problem);
                    continue;
                }
            };
            let names = there.remove(&hash).unwrap_or_default();
            let mut sound = sound_parts(book, hash)?;
            let of = |part: u32| names.iter().filter(move |name| name.parts == parts && name.part == part);
            if (1..=parts).all(|part| of(part).any(|name| sound.contains(&name.hash))) {
                continue;
            }
            let bytes = match book.photos().read(&text) {
                Ok(Some(bytes)) => bytes,
                // Gone since it was listed.
                Ok(None) => continue,
                Err(problem @ StoreProblem::PhotoDamaged { .. }) => {
                    // The book moved it aside; another device may have it whole.
                    let mut wanted = wanted(book)?;
                    wanted.insert(hash);
                    set_wanted(book, &wanted)?;
                    self.bad_photo(hash, "damaged", &problem);
                    continue;
                }
                Err(problem) => return Err(problem.into()),
            };
            let mut brought = false;
            for (part, own) in (1..=parts).zip(photo::split(&bytes)) {
                if of(part).any(|name| sound.contains(&name.hash)) || self.has_part(of(part), own, &mut sound)? {
                    continue;
                }
                let Ok((name, stored)) = photo::seal(hash, &bytes, part, self.key) else { continue };
                confirm(&mut *self.place, &ObjectName::Photo(name), &stored)?;
                sound.insert(name.hash);
                brought = true;
            }
            self.report.photos_sent += u64::from(brought);
            set_sound_parts(book, hash, &sound)?;
        }
        Ok(())
    }

    /// True when one of these objects holds this part; a few are looked at.
    fn has_part<'n>(
        &mut self,
        names: impl Iterator<Item = &'n PhotoPartName>,
        own: &[u8],
        sound: &mut BTreeSet<Hash>,
    ) -> Result<bool, Stop> {
        for name in names.take(4) {
            match self.place.get(&ObjectName::Photo(*name)) {
                Ok(stored) if photo::open(name, &stored, self.key).is_ok_and(|bytes| bytes == own) => {
                    sound.insert(name.hash);
                    return Ok(true);
                }
                Ok(_) | Err(TransportProblem::NotThere(_)) => {}
                Err(problem) => return Err(problem.into()),
            }
        }
        Ok(false)
    }

    fn bad_photo(&mut self, photo: Hash, code: &'static str, says: &dyn std::fmt::Display) {
        let name = format!("photo {photo} of this book");
        self.report.bad.push(Bad { name, code, says: says.to_string(), asked_again: false });
    }

    fn fetch_photos(&mut self, book: &mut Book) -> Result<(), Stop> {
        let mut wanted = wanted(book)?;
        let before = wanted.len();
        let here: BTreeSet<String> = book.photos().list()?.into_iter().collect();
        wanted.retain(|hash| !here.contains(&hash.to_string()));
        for hash in wanted.clone() {
            if self.fetch_photo(book, hash)? {
                wanted.remove(&hash);
                self.report.photos_arrived += 1;
            }
        }
        self.report.photos_missing = wanted.len() as u64;
        if wanted.len() < before {
            set_wanted(book, &wanted)?;
        }
        Ok(())
    }

    /// Fetches the parts of a photo that are not here yet; true when it is whole. Each part is kept as it comes.
    ///
    /// Names may lie about how many parts there are, and a sound part may be another photo's: what was put together
    /// and hashes to something else is put together anew out of the other parts, one choice after the other.
    fn fetch_photo(&mut self, book: &mut Book, photo: Hash) -> Result<bool, Stop> {
        let names = photo_parts(self.place.list(&format!("photos/{photo}/"))?, photo);
        let counts: BTreeSet<u32> = names.iter().map(|name| name.parts).collect();
        let mut wrong = None;
        for parts in counts {
            let all: Vec<Vec<PhotoPartName>> = (1..=parts)
                .map(|part| names.iter().filter(|name| (name.part, name.parts) == (part, parts)).copied().collect())
                .collect();
            if all.iter().any(Vec::is_empty) {
                // Not all parts are there; those that are may be kept already.
                if all.first().is_none_or(Vec::is_empty) {
                    continue;
                }
            }
            let kept = format!("{photo}.{parts}");
            let mut choice: u64 = mark(book, "choice", &kept)?.and_then(|text| text.parse().ok()).unwrap_or(0);
            for _ in 0..TRIES {
                match self.put_together(book, photo, &all, choice)? {
                    Together::Whole => return Ok(true),
                    Together::Lacks => break,
                    Together::Wrong(says) => {
                        wrong = Some(says);
                        choice += 1;
                        set_mark(book, "choice", &kept, &choice.to_string())?;
                        if all.iter().all(|names| names.len() < 2) {
                            break;
                        }
                    }
                }
            }
        }
        if let Some(says) = wrong {
            // Sound parts of something else: whoever sealed or named them lied about the photo.
            self.report.bad.push(Bad { name: format!("photos/{photo}/"), code: "damaged", says, asked_again: false });
        }
        Ok(false)
    }

    fn put_together(
        &mut self,
        book: &mut Book,
        photo: Hash,
        all: &[Vec<PhotoPartName>],
        mut choice: u64,
    ) -> Result<Together, Stop> {
        let text = photo.to_string();
        let mut used = sound_parts(book, photo)?;
        let have = usize::try_from(book.photos().have(&text)? / photo::PART as u64).unwrap_or(usize::MAX);
        for (part, names) in (1_u64..).zip(all) {
            // Where a place holds two of a part, the one that is not wanted was seldom made by us: the first is told of.
            if let Some(first) =
                usize::try_from(part - 1).ok().filter(|n| *n >= have && (*n - have).is_multiple_of(SOON))
            {
                let next = all[first..].iter().take(SOON);
                let next: Vec<ObjectName> =
                    next.filter_map(|names| names.first().copied().map(ObjectName::Photo)).collect();
                self.place.soon(&next);
            }
            let at = (part - 1) * photo::PART as u64;
            // The choice among all parts' candidates, as the digits of one number.
            let first = usize::try_from(choice % names.len().max(1) as u64).unwrap_or(0);
            choice /= names.len().max(1) as u64;
            // A power cut may have left a piece of a part: what is missing of it is added.
            let have = book.photos().have(&text)?;
            let Some(torn) = have.checked_sub(at).filter(|torn| *torn < photo::PART as u64) else { continue };
            let is_last = part == all.len() as u64;
            let Some((name, bytes)) = self.fetch_part(names, first, is_last)? else { return Ok(Together::Lacks) };
            used.insert(name.hash);
            let rest = usize::try_from(torn).ok().and_then(|torn| bytes.get(torn..)).unwrap_or_default();
            let whole = if is_last { at + bytes.len() as u64 } else { u64::MAX };
            match book.photos().add_part(&text, have, rest, whole) {
                Ok(true) if is_last => {
                    set_sound_parts(book, photo, &used)?;
                    return Ok(Together::Whole);
                }
                Ok(_) => {}
                Err(problem @ (StoreProblem::PhotoDamaged { .. } | StoreProblem::PhotoPart { .. })) => {
                    return Ok(Together::Wrong(problem.to_string()));
                }
                Err(problem) => return Err(problem.into()),
            }
        }
        Ok(if book.photos().read(&text)?.is_some() { Together::Whole } else { Together::Lacks })
    }

    /// The first sound part among these, beginning with the `first`-th.
    fn fetch_part(
        &mut self,
        names: &[PhotoPartName],
        first: usize,
        is_last: bool,
    ) -> Result<Option<(PhotoPartName, Vec<u8>)>, Stop> {
        let mut failed = Vec::new();
        for n in 0..names.len() {
            let name = names[(first + n) % names.len()];
            let bytes = match self.place.get(&ObjectName::Photo(name)) {
                Ok(bytes) => bytes,
                Err(TransportProblem::NotThere(_)) => continue,
                Err(problem) => return Err(problem.into()),
            };
            match photo::open(&name, &bytes, self.key) {
                // Only the last part may be shorter.
                Ok(bytes) if is_last || bytes.len() == photo::PART => return Ok(Some((name, bytes))),
                Ok(_) => {}
                Err(problem) => failed.push((name, problem)),
            }
        }
        for (name, problem) in failed {
            let asks = matches!(problem, photo::PhotoProblem::Damaged { .. });
            let ask = ObjectName::PhotoAgain(name);
            if asks && !self.asked.contains(&ask) {
                self.ask_again(&ask);
            }
            let code = if asks { "damaged" } else { "not_ours" };
            self.bad(&ObjectName::Photo(name), code, &problem, asks);
        }
        Ok(None)
    }
}

/// What a segment says it replaces counts only of the same device, and only inside its own range.
fn covers(new: &SegmentName, old: &SegmentName) -> bool {
    old.device == new.device && new.first <= old.first && old.last <= new.last
}

/// True when a sound segment that was read earlier and is listed still replaces it.
fn is_replaced(book: &Book, there: &BTreeMap<Hash, &SegmentName>, old: &SegmentName) -> Result<bool, StoreProblem> {
    let by = mark(book, "seen", &format!("{}.{}", old.device, old.hash))?;
    let Some(Ok(ObjectName::Segment(new))) = by.map(|by| by.parse()) else { return Ok(false) };
    Ok(covers(&new, old) && there.contains_key(&new.hash))
}

/// What came of putting a photo together.
enum Together {
    Whole,
    /// A part is not there.
    Lacks,
    /// All parts are there and it is not the photo.
    Wrong(String),
}

/// Why a segment was not believed, now or at an earlier sync.
#[derive(Debug, thiserror::Error)]
enum Failed {
    #[error("{0}")]
    Now(SegmentProblem),
    #[error("it was looked at before")]
    Known(String),
}

impl Failed {
    fn code(&self) -> &'static str {
        match self {
            Self::Now(problem) => problem.code(),
            Self::Known(code) => SegmentProblem::CODES.iter().copied().find(|known| known == code).unwrap_or("damaged"),
        }
    }

    fn asks_again(&self) -> bool {
        matches!(self, Self::Now(problem) if problem.asks_again())
    }
}

/// What is brought in the place of a fact that is too long.
pub(super) fn too_long(fact: &Fact, bytes: usize) -> Fact {
    Fact { kind: "too_long".to_owned(), body: serde_json::json!({ "bytes": bytes }), by: String::new(), ..fact.clone() }
}

/// Stored parts of a photo that are known to be its own.
fn sound_parts(book: &Book, photo: Hash) -> Result<BTreeSet<Hash>, StoreProblem> {
    let text = mark(book, "parts", &photo.to_string())?.unwrap_or_default();
    Ok(text.split_whitespace().filter_map(|hash| hash.parse().ok()).collect())
}

fn set_sound_parts(book: &mut Book, photo: Hash, parts: &BTreeSet<Hash>) -> Result<(), StoreProblem> {
    let text: Vec<String> = parts.iter().map(Hash::to_string).collect();
    set_mark(book, "parts", &photo.to_string(), &text.join(" "))
}

fn segments(names: Vec<ObjectName>) -> Vec<SegmentName> {
    names
        .into_iter()
        .filter_map(|name| match name {
            ObjectName::Segment(name) => Some(name),
            _ => None,
        })
        .collect()
}

fn photo_parts(names: Vec<ObjectName>, photo: Hash) -> Vec<PhotoPartName> {
    names
        .into_iter()
        .filter_map(|name| match name {
            ObjectName::Photo(name) if name.photo == photo => Some(name),
            _ => None,
        })
        .collect()
}

/// Of the names under the prefix of this device or of its carrier, those that this book wrote, each once.
fn own_names(book: &Book, device: Uuid, names: Vec<ObjectName>) -> Result<Vec<SegmentName>, StoreProblem> {
    let mut own = BTreeSet::new();
    for name in segments(names) {
        if name.device == device && wrote(book, &name)? {
            own.insert(name);
        }
    }
    Ok(own.into_iter().collect())
}

/// What of 1 to `end` no range covers, in order.
fn holes(mut ranges: Vec<(u64, u64)>, end: u64) -> Vec<(u64, u64)> {
    ranges.sort_unstable();
    let mut next = 1;
    let mut holes = Vec::new();
    for (first, last) in ranges {
        if first > next {
            holes.push((next, first - 1));
        }
        next = next.max(last + 1);
    }
    if next <= end {
        holes.push((next, end));
    }
    holes
}

/// The photo that a fact names.
pub(super) fn photo_of(fact: &Fact) -> Option<Hash> {
    if fact.kind != "photo_added" {
        return None;
    }
    match fact.read() {
        Ok(Body::PhotoAdded { photo, .. }) => photo.sha256.parse().ok(),
        _ => None,
    }
}

/// Where own fact number `first` comes: the number, and the row of the book just before it.
fn start_of(book: &Book, first: u64) -> Result<(u64, i64), StoreProblem> {
    let (mut number, mut row) = top(book)?;
    if number >= first {
        (number, row) = (0, 0);
    }
    while number + 1 < first {
        let step = usize::try_from(first - 1 - number).unwrap_or(STEP).min(STEP);
        let facts = book.own_facts(row, step)?;
        let Some((last, _)) = facts.last() else { break };
        row = *last;
        number += facts.len() as u64;
    }
    Ok((number + 1, row))
}

/// The largest own number that was ever brought anywhere, and its row.
fn top(book: &Book) -> Result<(u64, i64), StoreProblem> {
    let text = mark(book, "top", &book.device().to_string())?;
    let read = || {
        let (number, row) = text.as_deref()?.split_once(' ')?;
        Some((number.parse().ok()?, row.parse().ok()?))
    };
    Ok(read().unwrap_or_default())
}

fn wrote(book: &Book, name: &SegmentName) -> Result<bool, StoreProblem> {
    Ok(mark(book, "wrote", &name.to_string())?.is_some())
}

fn wanted(book: &Book) -> Result<BTreeSet<Hash>, StoreProblem> {
    let text = mark(book, "photos", "wanted")?.unwrap_or_default();
    Ok(text.split_whitespace().filter_map(|hash| hash.parse().ok()).collect())
}

fn set_wanted(book: &mut Book, wanted: &BTreeSet<Hash>) -> Result<(), StoreProblem> {
    let text: Vec<String> = wanted.iter().map(Hash::to_string).collect();
    set_mark(book, "photos", "wanted", &text.join(" "))
}

fn mark(book: &Book, kind: &str, what: &str) -> Result<Option<String>, StoreProblem> {
    book.state(&format!("{MARKS}{kind}.{what}"))
}

fn set_mark(book: &mut Book, kind: &str, what: &str, value: &str) -> Result<(), StoreProblem> {
    book.set_state(&format!("{MARKS}{kind}.{what}"), Some(value))
}

#[cfg(test)]
mod tests {
    use super::holes;

    #[test]
    fn holes_are_what_no_range_covers() {
        assert_eq!(holes(vec![], 0), vec![]);
        assert_eq!(holes(vec![], 3), vec![(1, 3)]);
        assert_eq!(holes(vec![(2, 3), (2, 9), (12, 12)], 14), vec![(1, 1), (10, 11), (13, 14)]);
        assert_eq!(holes(vec![(1, 5), (3, 4)], 5), vec![]);
    }
}

//! One sync of a book with a place of exchange: take in what others brought, bring what was written here.
//!
//! What holds, whatever is interrupted and however often it is repeated:
//! - A fact counts as sent only when the place returned the hash of what it holds ([`Transport::put`]).
//! - What is missing at the place is found by listing it, not by remembering: a place that lost files gets them again.
//! - A segment is merged whole or not at all; its mark is set after the merge, so a merge is repeated rather than lost.
//! - Under this device's name nothing is believed that this book did not write: then the book is a copy of another,
//!   takes a new device id, takes in what the other wrote and brings all its own under the new name.

use super::key::FirmKey;
use super::name::{Hash, ObjectName, PhotoPartName, SegmentName};
use super::segment::{self, FactTooLong, SegmentProblem};
use super::transport::{Prune, Transport, TransportProblem};
use super::{MARKS, photo};
use crate::fact::{Body, Fact};
use crate::store::{Book, Moments, StoreProblem};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Facts are read from the book in steps of this many.
const STEP: usize = 1000;
/// When a place says the same again, that it did is kept no more often than this.
const CONFIRMED_APART_MS: u64 = 30_000;
/// A segment of fewer facts than this is a small one, which compaction joins with its neighbours.
const SMALL: u64 = 2000;

/// What a sync did, and what it found.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Report {
    /// Facts that were new here.
    pub arrived: u64,
    /// Facts brought to the place in this sync, each acknowledged by it.
    pub sent: u64,
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
        for bad in &self.bad {
            let asked = if bad.asked_again { "; its device was asked to bring it again" } else { "" };
            lines.push(format!("{} was not taken ({}): {}{asked}.", bad.name, bad.code, bad.says));
        }
        for id in &self.differs {
            lines.push(format!("Fact {id} is here with another content; what was here stays."));
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
    let mut round = Round::new(key, place, BTreeSet::new());
    match round.run(book, photos, moments) {
        Ok(()) => {}
        Err(Stop::Place(problem)) => {
            round.report.all_sent = false;
            round.report.stopped = Some(problem);
        }
        Err(Stop::Book(problem)) => return Err(problem),
    }
    if round.counted {
        let now = Confirmed { held: round.report.held, ms: moments().ms, place: round.place.place() };
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

/// Joins this device's small segments into few large ones, and removes those that the new ones replace.
///
/// Only the owner does this, only with segments that its book wrote, and only after the new ones were read back.
/// Gives the number of segments before and after.
///
/// # Errors
/// [`SyncProblem`]; a place that stops half way leaves both the old and the new, which is no harm.
pub fn compact(book: &mut Book, key: &FirmKey, place: &mut dyn Prune) -> Result<(usize, usize), SyncProblem> {
    let mut go = || -> Result<(usize, usize), Stop> {
        let own = own_names(book, place.list(&format!("segments/{}/", book.device()))?)?;
        let small: BTreeSet<Hash> =
            own.iter().filter(|name| name.last - name.first + 1 < SMALL).map(|name| name.hash).collect();
        if small.len() < 2 {
            return Ok((own.len(), own.len()));
        }
        let mut round = Round::new(key, place, small.clone());
        // Only what the new ones cover goes: everything small that lies wholly inside a segment that was just made.
        let fresh = round.publish(book, &own)?;
        let mut left = own.len() + fresh.len();
        for old in own.iter().filter(|old| small.contains(&old.hash)) {
            if fresh.iter().any(|new| new.first <= old.first && old.last <= new.last) {
                place.remove(&ObjectName::Segment(*old))?;
                left -= 1;
            }
        }
        Ok((own.len(), left))
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
}

impl<'a> Round<'a> {
    fn new(key: &'a FirmKey, place: &'a mut dyn Transport, joining: BTreeSet<Hash>) -> Self {
        Self { report: Report::default(), key, place, joining, asked: BTreeSet::new(), counted: false }
    }

    fn run(&mut self, book: &mut Book, photos: PhotoWish, moments: Moments<'_>) -> Result<(), Stop> {
        let names = segments(self.place.list("segments/")?);
        self.asked = self.place.list("again/")?.into_iter().collect();
        self.find_copy(book, &names, moments)?;
        let device = book.device();
        let (own, others): (Vec<_>, Vec<_>) = names.into_iter().partition(|name| name.device == device);
        self.pull(book, &others)?;
        let mut own = own_names(book, own.into_iter().map(ObjectName::Segment).collect())?;
        self.bring_again(book, &mut own)?;
        self.publish(book, &own)?;
        self.bring_photos(book)?;
        if photos == PhotoWish::Both {
            self.fetch_photos(book)?;
        }
        Ok(())
    }

    /// Something under this device's name that this book did not write, and that is sound, was written by another book
    /// with the same id.
    fn find_copy(&mut self, book: &mut Book, names: &[SegmentName], moments: Moments<'_>) -> Result<(), Stop> {
        for name in names.iter().filter(|name| name.device == book.device()) {
            if wrote(book, name)? {
                continue;
            }
            match self.open(name)? {
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

    /// Fetches and checks a segment; what was hurt on the way is fetched once more.
    fn open(&mut self, name: &SegmentName) -> Result<Result<segment::Segment, SegmentProblem>, TransportProblem> {
        let object = ObjectName::Segment(*name);
        let first = segment::open(name, &self.place.get(&object)?, self.key);
        if first.as_ref().is_err_and(SegmentProblem::asks_again) {
            return Ok(segment::open(name, &self.place.get(&object)?, self.key));
        }
        Ok(first)
    }

    fn pull(&mut self, book: &mut Book, names: &[SegmentName]) -> Result<(), Stop> {
        let mut order: Vec<&SegmentName> = names.iter().collect();
        // The longest first: it may replace the others, which then need not be fetched.
        order.sort_by_key(|name| (name.device, std::cmp::Reverse(name.last - name.first), name.first, name.hash));
        let mut replaced: BTreeSet<Hash> = BTreeSet::new();
        let mut failed: Vec<(SegmentName, SegmentProblem)> = Vec::new();
        let mut have: BTreeMap<Uuid, Vec<(u64, u64)>> = BTreeMap::new();
        let mut end: BTreeMap<Uuid, u64> = BTreeMap::new();
        for name in order {
            let last = end.entry(name.device).or_default();
            *last = name.last.max(*last);
            let seen = mark(book, "seen", &name.hash.to_string())?.is_some();
            if !seen && !replaced.contains(&name.hash) {
                match self.open(name) {
                    Ok(Ok(segment)) => {
                        replaced.extend(&segment.replaces);
                        self.merge(book, &segment.facts)?;
                        set_mark(book, "seen", &name.hash.to_string(), "1")?;
                        for hash in &segment.replaces {
                            set_mark(book, "seen", &hash.to_string(), "1")?;
                        }
                    }
                    Ok(Err(problem)) => {
                        failed.push((*name, problem));
                        continue;
                    }
                    // Joined with others or taken away since it was listed: a gap, if nothing else covers it.
                    Err(TransportProblem::NotThere(_)) => continue,
                    Err(problem) => return Err(problem.into()),
                }
            }
            have.entry(name.device).or_default().push((name.first, name.last));
        }
        failed.retain(|(name, _)| !replaced.contains(&name.hash));
        for (name, problem) in failed {
            let ask = ObjectName::SegmentAgain(name);
            let asks = problem.asks_again();
            if asks && !self.asked.contains(&ask) {
                // A place that may not be written to can still be read from.
                match confirm(&mut *self.place, &ask, b"") {
                    Ok(()) | Err(TransportProblem::Refused { .. } | TransportProblem::Full { .. }) => {}
                    Err(problem) => return Err(problem.into()),
                }
            }
            self.bad(&ObjectName::Segment(name), problem.code(), &problem, asks);
        }
        for (device, last) in end {
            let ranges = have.remove(&device).unwrap_or_default();
            self.report.gaps.extend(holes(ranges, last).into_iter().map(|(first, last)| Gap { device, first, last }));
        }
        Ok(())
    }

    fn merge(&mut self, book: &mut Book, facts: &[Fact]) -> Result<(), Stop> {
        let merged = book.merge(facts)?;
        self.report.arrived += merged.new as u64;
        self.report.differs.extend(merged.differs);
        let shown: Vec<Hash> = facts.iter().filter_map(photo_of).collect();
        if !shown.is_empty() {
            let mut wanted = wanted(book)?;
            let before = wanted.len();
            wanted.extend(shown);
            if wanted.len() > before {
                set_wanted(book, &wanted)?;
            }
        }
        Ok(())
    }

    /// Brings again what arrived damaged and lies there still: exactly its facts, in a segment that says what it
    /// replaces. `own` then holds the new names too. What was brought for it before counts only while it is there and
    /// nobody found that damaged as well; so a segment brings the place of every damaged one that it covers.
    fn bring_again(&mut self, book: &mut Book, own: &mut Vec<SegmentName>) -> Result<(), Stop> {
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
                None => self.publish_range(book, name.first, Some(name.last), &asked)?,
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

    /// Brings every own fact that the place does not hold, and gives the names that they went under.
    fn publish(&mut self, book: &mut Book, own: &[SegmentName]) -> Result<Vec<SegmentName>, Stop> {
        let (gone, there): (Vec<SegmentName>, Vec<SegmentName>) =
            own.iter().partition(|name| self.joining.contains(&name.hash));
        let ranges: Vec<(u64, u64)> = there.iter().map(|name| (name.first, name.last)).collect();
        let end = ranges.iter().map(|range| range.1).max().unwrap_or(0);
        let missing: u64 = holes(ranges.clone(), end).iter().map(|(first, last)| last - first + 1).sum();
        self.report.held = end - missing;
        self.counted = true;
        let mut fresh = Vec::new();
        for (first, last) in holes(ranges, end) {
            fresh.extend(self.publish_range(book, first, Some(last), &gone)?);
        }
        fresh.extend(self.publish_range(book, end + 1, None, &gone)?);
        self.report.all_sent = true;
        Ok(fresh)
    }

    /// Brings own facts from number `first` to `last` (or to the end), and gives the names that they went under.
    fn publish_range(
        &mut self,
        book: &mut Book,
        first: u64,
        last: Option<u64>,
        gone: &[SegmentName],
    ) -> Result<Vec<SegmentName>, Stop> {
        let mut names = Vec::new();
        let (mut next, mut row) = start_of(book, first)?;
        let mut writer = segment::Writer::new(book.device(), next);
        let mut pending: std::collections::VecDeque<(i64, Fact)> = std::collections::VecDeque::new();
        let mut from = row;
        loop {
            if pending.is_empty() {
                pending.extend(book.own_facts(from, STEP)?);
                from = pending.back().map_or(from, |(row, _)| *row);
            }
            let due = last.is_none_or(|last| next <= last);
            let taken = match pending.front().filter(|_| due) {
                Some((_, fact)) => Some(writer.add(fact)?),
                None => None,
            };
            if taken == Some(true) {
                row = pending.pop_front().map_or(row, |(row, _)| row);
                next += 1;
                continue;
            }
            let full = std::mem::replace(&mut writer, segment::Writer::new(book.device(), next));
            names.extend(self.publish_segment(book, full, row, gone)?);
            if taken.is_none() {
                return Ok(names);
            }
        }
    }

    fn publish_segment(
        &mut self,
        book: &mut Book,
        writer: segment::Writer,
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
        confirm(&mut *self.place, &ObjectName::Segment(name), &stored)?;
        // Where the row of the last fact is, so that the next sync need not count from the start.
        let known = top(book)?;
        if known.0 < name.last {
            set_mark(book, "top", &book.device().to_string(), &format!("{} {row}", name.last))?;
        }
        self.report.sent += count;
        self.report.held += count;
        Ok(Some(name))
    }

    fn bring_photos(&mut self, book: &mut Book) -> Result<(), Stop> {
        let place = self.place.place();
        let again: BTreeSet<PhotoPartName> = self
            .asked
            .iter()
            .filter_map(|name| match name {
                ObjectName::PhotoAgain(name) => Some(*name),
                _ => None,
            })
            .collect();
        for text in book.photos().list()? {
            let Ok(hash) = text.parse::<Hash>() else { continue };
            let sent = format!("{place}.{hash}");
            let asked: Vec<PhotoPartName> = again.iter().filter(|name| name.photo == hash).copied().collect();
            if asked.is_empty() && mark(book, "photo", &sent)?.is_some() {
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
                    self.report.bad.push(Bad {
                        name: format!("photo {hash} of this book"),
                        code: "damaged",
                        says: problem.to_string(),
                        asked_again: false,
                    });
                    continue;
                }
                Err(problem) => return Err(problem.into()),
            };
            let parts = match photo::parts(bytes.len() as u64) {
                Ok(parts) => parts,
                Err(problem) => {
                    self.report.bad.push(Bad {
                        name: format!("photo {hash} of this book"),
                        code: "too_large",
                        says: problem.to_string(),
                        asked_again: false,
                    });
                    continue;
                }
            };
            let there: BTreeSet<u32> = photo_parts(self.place.list(&format!("photos/{hash}/"))?, hash)
                .into_iter()
                .filter(|name| name.parts == parts && !asked.contains(name))
                .map(|name| name.part)
                .collect();
            let missing: Vec<u32> = (1..=parts).filter(|part| !there.contains(part)).collect();
            for part in &missing {
                let Ok((name, stored)) = photo::seal(hash, &bytes, *part, self.key) else { continue };
                confirm(&mut *self.place, &ObjectName::Photo(name), &stored)?;
            }
            self.report.photos_sent += u64::from(!missing.is_empty());
            set_mark(book, "photo", &sent, "1")?;
        }
        Ok(())
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
                let sent = format!("{}.{hash}", self.place.place());
                set_mark(book, "photo", &sent, "1")?;
            }
        }
        self.report.photos_missing = wanted.len() as u64;
        if wanted.len() < before {
            set_wanted(book, &wanted)?;
        }
        Ok(())
    }

    /// Fetches the parts of a photo that are not here yet; true when it is whole. Each part is kept as it comes.
    fn fetch_photo(&mut self, book: &Book, photo: Hash) -> Result<bool, Stop> {
        let names = photo_parts(self.place.list(&format!("photos/{photo}/"))?, photo);
        let Some(parts) = names.iter().map(|name| name.parts).max() else { return Ok(false) };
        let text = photo.to_string();
        for part in 1..=parts {
            let at = u64::from(part - 1) * photo::PART as u64;
            // A power cut may have left a piece of a part: what is missing of it is added.
            let have = book.photos().have(&text)?;
            let Some(torn) = have.checked_sub(at).filter(|torn| *torn < photo::PART as u64) else { continue };
            let Some(bytes) = self.fetch_part(&names, part, parts)? else { return Ok(false) };
            let rest = usize::try_from(torn).ok().and_then(|torn| bytes.get(torn..)).unwrap_or_default();
            let whole = if part == parts { at + bytes.len() as u64 } else { u64::MAX };
            match book.photos().add_part(&text, have, rest, whole) {
                Ok(done) if part == parts => return Ok(done),
                Ok(_) => {}
                Err(problem @ (StoreProblem::PhotoDamaged { .. } | StoreProblem::PhotoPart { .. })) => {
                    // Sound parts of something else: whoever sealed them lied about the photo.
                    self.report.bad.push(Bad {
                        name: format!("photos/{photo}/"),
                        code: "damaged",
                        says: problem.to_string(),
                        asked_again: false,
                    });
                    return Ok(false);
                }
                Err(problem) => return Err(problem.into()),
            }
        }
        Ok(book.photos().read(&text)?.is_some())
    }

    fn fetch_part(&mut self, names: &[PhotoPartName], part: u32, parts: u32) -> Result<Option<Vec<u8>>, Stop> {
        let candidates: Vec<PhotoPartName> =
            names.iter().filter(|name| name.part == part && name.parts == parts).copied().collect();
        let mut failed = Vec::new();
        for name in candidates {
            let bytes = match self.place.get(&ObjectName::Photo(name)) {
                Ok(bytes) => bytes,
                Err(TransportProblem::NotThere(_)) => continue,
                Err(problem) => return Err(problem.into()),
            };
            match photo::open(&name, &bytes, self.key) {
                Ok(bytes) => return Ok(Some(bytes)),
                Err(problem) => failed.push((name, problem)),
            }
        }
        for (name, problem) in failed {
            let asks = matches!(problem, photo::PhotoProblem::Damaged { .. });
            let ask = ObjectName::PhotoAgain(name);
            if asks && !self.asked.contains(&ask) {
                match confirm(&mut *self.place, &ask, b"") {
                    Ok(()) | Err(TransportProblem::Refused { .. } | TransportProblem::Full { .. }) => {}
                    Err(problem) => return Err(problem.into()),
                }
            }
            let code = if asks { "damaged" } else { "not_ours" };
            self.bad(&ObjectName::Photo(name), code, &problem, asks);
        }
        Ok(None)
    }
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

/// Of the names under this device's prefix, those that this book wrote, each once.
fn own_names(book: &Book, names: Vec<ObjectName>) -> Result<Vec<SegmentName>, StoreProblem> {
    let mut own = BTreeSet::new();
    for name in segments(names) {
        if name.device == book.device() && wrote(book, &name)? {
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
fn photo_of(fact: &Fact) -> Option<Hash> {
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

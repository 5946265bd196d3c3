//! What the sync tests share: books with a clock of their own, a house, readings, and a repeatable source of chance.

#![allow(dead_code, reason = "each test file uses a part")]

use hangtrue_core::fact::{Body, Fact, Moment};
use hangtrue_core::house::{Ask, Photo, Place, Reading};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::store::{Book, Files, StoreProblem};
use hangtrue_core::sync::{FirmKey, Folder, PhotoWish, Report, SyncProblem, Transport, sync};
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// Every file below a folder, in order.
pub(crate) fn files(root: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    for entry in std::fs::read_dir(root).into_iter().flatten().flatten() {
        if entry.path().is_dir() { out.extend(files(&entry.path())) } else { out.push(entry.path()) }
    }
    out.sort();
    out
}

/// A small repeatable source of chance (splitmix64, Steele, Lea and Flood 2014; the constants from memory).
#[derive(Clone)]
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n as u64).expect("below a usize")
    }

    pub(crate) fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
}

/// One device: a book and a clock.
pub(crate) struct Device {
    pub(crate) book: Book,
    pub(crate) path: PathBuf,
    pub(crate) clock: Clock,
}

/// A clock that goes on by itself and may be wrong by hours, and bytes that never repeat.
pub(crate) struct Clock {
    pub(crate) ms: u64,
    pub(crate) chance: Chance,
}

impl Clock {
    pub(crate) fn moment(&mut self) -> Moment {
        self.ms += 1;
        let mut random = [0; 10];
        random[..8].copy_from_slice(&self.chance.next().to_be_bytes());
        random[8..].copy_from_slice(&self.chance.next().to_be_bytes()[..2]);
        Moment { ms: self.ms, random }
    }
}

impl Device {
    pub(crate) fn new(folder: &Path, name: &str, seed: u64) -> Self {
        let mut clock = Clock { ms: 1_700_000_000_000, chance: Chance(seed) };
        let path = folder.join(format!("{name}.book"));
        let book = Book::open(&path, &mut || clock.moment()).expect("a new book");
        Self { book, path, clock }
    }

    pub(crate) fn write(&mut self, job: Uuid, bodies: &[Body]) -> Vec<Fact> {
        self.try_write(job, bodies).expect("written")
    }

    pub(crate) fn try_write(&mut self, job: Uuid, bodies: &[Body]) -> Result<Vec<Fact>, StoreProblem> {
        let clock = &mut self.clock;
        self.book.write(job, "Ida", LengthUnit::Inch, bodies, &mut || clock.moment())
    }

    pub(crate) fn moment(&mut self) -> Moment {
        self.clock.moment()
    }

    /// A house with `openings` openings in one room.
    pub(crate) fn house(&mut self, openings: usize) -> (Uuid, Vec<Uuid>) {
        let (job, room) = (self.moment().uuid(), self.moment().uuid());
        let mut bodies = vec![
            Body::HouseOpened { name: "Larch House".to_owned(), unit: LengthUnit::Inch },
            Body::RoomAdded { room, name: "Study".to_owned() },
        ];
        let ids: Vec<Uuid> = (0..openings).map(|_| self.moment().uuid()).collect();
        for (opening, n) in ids.iter().zip(1..) {
            bodies.push(Body::OpeningAdded { opening: *opening, room, name: format!("Window {n}") });
        }
        self.write(job, &bodies);
        (job, ids)
    }

    pub(crate) fn reading(&mut self, opening: Uuid, place: Place, text: &str, answers: Option<Uuid>) -> Body {
        let moment = self.moment();
        Body::ReadingTaken {
            opening,
            reading: Reading {
                id: moment.uuid(),
                place,
                typed: Typed::read(text, LengthUnit::Inch).expect("a length"),
                at: moment.time(),
                by: "Ida".to_owned(),
                with: "tape 1".to_owned(),
                amends: None,
                answers,
                withdrawn: None,
            },
        }
    }

    pub(crate) fn read(&mut self, job: Uuid, opening: Uuid, place: Place, text: &str) -> Vec<Fact> {
        let body = self.reading(opening, place, text, None);
        self.write(job, &[body])
    }

    pub(crate) fn ask(&mut self, job: Uuid, opening: Uuid, places: &[Place], why: &str) -> Uuid {
        let moment = self.moment();
        let ask = Ask {
            id: moment.uuid(),
            places: places.to_vec(),
            why: why.to_owned(),
            at: moment.time(),
            by: "desk".to_owned(),
            closed: None,
        };
        self.write(job, &[Body::AskMade { opening, ask }]);
        moment.uuid()
    }

    pub(crate) fn photo(&mut self, job: Uuid, opening: Uuid, bytes: &[u8]) -> String {
        let sha256 = self.book.photos().keep(bytes).expect("kept");
        let at = self.moment().time();
        let photo = Photo { sha256: sha256.clone(), caption: "sill".to_owned(), at, by: "Ida".to_owned() };
        self.write(job, &[Body::PhotoAdded { on: opening, photo }]);
        sha256
    }

    pub(crate) fn try_sync(&mut self, key: &FirmKey, place: &mut dyn Transport) -> Result<Report, SyncProblem> {
        let clock = &mut self.clock;
        sync(&mut self.book, key, place, PhotoWish::Both, &mut || clock.moment())
    }

    /// A sync that must reach its end.
    pub(crate) fn sync(&mut self, key: &FirmKey, place: &mut dyn Transport) -> Report {
        let report = self.try_sync(key, place).expect("the book can be read and written");
        assert_eq!(report.stopped, None);
        report
    }

    /// All facts, in an order that is the same everywhere.
    pub(crate) fn all(&self) -> Vec<Fact> {
        let mut facts: Vec<Fact> =
            self.book.all_facts(0, usize::MAX).expect("read").into_iter().map(|(_, fact)| fact).collect();
        facts.sort_by_key(Fact::order);
        facts
    }
}

/// A new folder of exchange.
pub(crate) fn folder(at: &Path) -> Folder {
    Folder::create(&at.join("exchange"), Uuid::from_u128(9), Files::default()).expect("a folder of exchange")
}

/// A folder for a test: in memory where the system has such a place, so that thousands of syncs to the disk cost little.
/// The code under test still makes every one of them.
pub(crate) fn scratch() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    let made = if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() };
    made.expect("a folder for the test")
}

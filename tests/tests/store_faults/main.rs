//! The book on a disk that fails: the n-th open, write, cut, sync, delete or rename is refused, for every n, once or from then on;
//! the power goes and takes what was not synced; the disk is full at any byte; and again while it recovers.
//!
//! In every case: no acknowledged reading is lost, no fact is there that nobody wrote, the file opens, and the next reading
//! can be written. What stands under SQLite is in `vfs.rs`.

mod vfs;

use hangtrue_core::fact::{Body, Fact, Moment, Pen, Stamp};
use hangtrue_core::house::{Place, Reading};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::store::{Book, Draft, Files, RESERVE_BYTES, Step, StoreProblem};
use hangtrue_tests::kill::moments;
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use uuid::Uuid;
use vfs::{Fault, Op};

/// A folder in memory where there is one: thousands of books are made, and the real disk adds nothing here.
fn folder() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.expect("a folder for the test")
}

/// Files beside the book, refused by the same count as SQLite's.
fn files() -> Files {
    Files::gated(
        |_: Step, _: &Path| {
            if vfs::refuses(Op::File) { Err(io::Error::other("refused by the test")) } else { Ok(()) }
        },
    )
}

fn open(path: &Path, round: u64) -> Result<Book, StoreProblem> {
    Book::open_with(path, &files(), &mut moments(round))
}

fn beside(path: &Path, tail: &str) -> PathBuf {
    PathBuf::from(format!("{}{tail}", path.display()))
}

fn body(opening: Uuid, moment: Moment) -> Body {
    Body::ReadingTaken {
        opening,
        reading: Reading {
            id: moment.uuid(),
            place: Place::WidthTop,
            typed: Typed::read("34 3/8", LengthUnit::Inch).expect("a length"),
            at: moment.time(),
            by: "Ida".to_owned(),
            with: String::new(),
            amends: None,
            answers: None,
            withdrawn: None,
        },
    }
}

const JOB: Uuid = Uuid::from_u128(1);
const ROOM: Uuid = Uuid::from_u128(2);
const OPENING: Uuid = Uuid::from_u128(3);

/// What calls acknowledged.
#[derive(Default, Clone)]
struct Acknowledged {
    facts: Vec<Fact>,
    photos: Vec<String>,
    state: Option<String>,
    refused: Vec<String>,
}

impl Acknowledged {
    fn take<T>(&mut self, done: Result<T, StoreProblem>) -> Option<T> {
        done.map_err(|problem| self.refused.push(problem.to_string())).ok()
    }

    fn take_facts(&mut self, done: Result<Vec<Fact>, StoreProblem>) {
        let facts = self.take(done);
        self.facts.extend(facts.into_iter().flatten());
    }
}

fn begin(book: &mut Book, acknowledged: &mut Acknowledged, moments: &mut impl FnMut() -> Moment) {
    let begin = [
        Body::HouseOpened { name: "Larch House".to_owned(), unit: LengthUnit::Inch },
        Body::RoomAdded { room: ROOM, name: "Study".to_owned() },
        Body::OpeningAdded { opening: OPENING, room: ROOM, name: "North".to_owned() },
    ];
    let facts = book.write(JOB, "Ida", LengthUnit::Inch, &begin, moments);
    acknowledged.take_facts(facts);
}

/// A morning's work, from the first opening of the book to its end. What fails is left and the next thing is tried, as a
/// person would.
fn work(path: &Path, round: u64, acknowledged: &mut Acknowledged) {
    let mut moments = moments(round);
    let Some(mut book) = acknowledged.take(Book::open_with(path, &files(), &mut moments)) else { return };
    begin(&mut book, acknowledged, &mut moments);
    for i in 0..4 {
        let _ = acknowledged.take(book.set_draft("walk", Some("34 3")));
        let clear = Draft { key: "walk", value: None };
        let reading = body(OPENING, moments());
        let facts = book.write_with(JOB, "Ida", LengthUnit::Inch, &[reading], Some(clear), &mut moments);
        acknowledged.take_facts(facts);
        if i == 1 {
            let mut pen = Pen::new(Uuid::from_u128(9), Stamp::default());
            let reading = body(OPENING, moments());
            let others: Vec<Fact> =
                (0..30).map(|_| pen.write(moments(), JOB, "Bo", LengthUnit::Inch, &reading)).collect();
            if acknowledged.take(book.merge(&others)).is_some() {
                acknowledged.facts.extend(others);
            }
            let _ = acknowledged.take(book.houses());
        }
        if i == 2 {
            let kept = acknowledged.take(book.photos().keep(b"a photo"));
            acknowledged.photos.extend(kept);
            if acknowledged.take(book.set_state("theme", Some("outdoor"))).is_some() {
                acknowledged.state = Some("outdoor".to_owned());
            }
            let _ = acknowledged.take(book.pause());
        }
    }
}

/// Opens without faults: all that was acknowledged is there, nothing that was not written, and work goes on.
fn all_there(path: &Path, acknowledged: &Acknowledged, case: &str) {
    let mut book = open(path, 7000).unwrap_or_else(|problem| panic!("{case}: {problem}"));
    book.check().unwrap_or_else(|problem| panic!("{case}: {problem}"));
    let there = book.facts(JOB).unwrap();
    let ids: BTreeSet<Uuid> = there.iter().map(|fact| fact.id).collect();
    assert_eq!(ids.len(), there.len(), "{case}");
    for fact in &acknowledged.facts {
        assert!(there.contains(fact), "{case}: lost {fact:?}");
    }
    // One call may have been cut after it was durable and before it could be said: at most one transaction.
    assert!(there.len() <= acknowledged.facts.len() + 30, "{case}");
    for photo in &acknowledged.photos {
        assert_eq!(book.photos().read(photo).unwrap().as_deref(), Some(&b"a photo"[..]), "{case}");
    }
    if acknowledged.state.is_some() {
        assert_eq!(book.state("theme").unwrap(), acknowledged.state, "{case}");
    }
    let mut more = Acknowledged::default();
    begin(&mut book, &mut more, &mut moments(8000));
    assert_eq!(more.refused, Vec::<String>::new(), "{case}");
    assert_eq!(book.houses().unwrap().len(), 1, "{case}");
}

/// How many things a morning's work asks of the disk.
fn things_asked() -> u64 {
    let at = folder();
    vfs::arm(None);
    let mut acknowledged = Acknowledged::default();
    work(&at.path().join("houses.book"), 1, &mut acknowledged);
    assert_eq!(acknowledged.refused, Vec::<String>::new());
    assert_eq!(acknowledged.facts.len(), 37);
    vfs::disarm().1
}

#[test]
fn the_nth_thing_fails_once_for_every_n() {
    let all = things_asked();
    let mut refused = BTreeSet::new();
    for n in 0..all {
        let at = folder();
        let path = at.path().join("houses.book");
        let mut acknowledged = Acknowledged::default();
        vfs::arm(Some(Fault::Once(n)));
        work(&path, 1, &mut acknowledged);
        refused.extend(vfs::disarm().0);
        all_there(&path, &acknowledged, &format!("thing {n} of {all} failed once"));
    }
    assert!(
        [Op::Open, Op::Write, Op::Sync, Op::Delete, Op::Index, Op::File].iter().all(|op| refused.contains(op)),
        "{refused:?}"
    );
    println!("{all} things asked of the disk, each refused once: {refused:?}");
}

/// A disk as a power cut left it, and what had been acknowledged by then.
struct Cut {
    folder: tempfile::TempDir,
    acknowledged: Acknowledged,
    case: String,
}

/// A copy of `from` with the photos (kept by the real file system, so never cut here) and a reserve, so that the
/// thousands of openings need not make one each.
fn copy(from: &Path, photos: &Path, reserve: &Path) -> (tempfile::TempDir, PathBuf) {
    let to = folder();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), to.path().join(entry.file_name())).unwrap();
    }
    let path = to.path().join("houses.book");
    fs::hard_link(reserve, beside(&path, ".reserve")).unwrap();
    if let Ok(entries) = fs::read_dir(photos) {
        fs::create_dir(beside(&path, ".photos")).unwrap();
        for entry in entries {
            let entry = entry.unwrap();
            fs::copy(entry.path(), beside(&path, ".photos").join(entry.file_name())).unwrap();
        }
    }
    (to, path)
}

#[test]
fn the_power_goes_at_every_nth_thing_and_again_while_recovering() {
    let all = things_asked();
    let spare = folder();
    let reserve = spare.path().join("reserve");
    fs::write(&reserve, vec![0; RESERVE_BYTES]).unwrap();
    let (mut cuts, mut recoveries) = (0_u64, 0_u64);
    let mut chance = 0x5EED_u64;
    for n in 0..all {
        let at = folder();
        let path = at.path().join("houses.book");
        let mut acknowledged = Acknowledged::default();
        vfs::arm(Some(Fault::Cut(n)));
        work(&path, 1, &mut acknowledged);
        // Of what was not synced the disk may have nothing, everything, or any part.
        let disks: Vec<Cut> = (0..4)
            .map(|disk| {
                let folder = folder();
                vfs::after_cut(folder.path(), |_| {
                    chance ^= chance << 13;
                    chance ^= chance >> 7;
                    chance ^= chance << 17;
                    disk == 1 || (disk > 1 && chance & 1 == 1)
                });
                let case = format!("power cut at thing {n} of {all}, disk {disk}");
                Cut { folder, acknowledged: acknowledged.clone(), case }
            })
            .collect();
        for (disk, cut) in disks.iter().enumerate() {
            cuts += 1;
            if disk == 0 {
                recoveries += recover(cut, n, &beside(&path, ".photos"), &reserve);
            }
            let (_keep, path) = copy(cut.folder.path(), &beside(&path, ".photos"), &reserve);
            vfs::arm(None);
            all_there(&path, &cut.acknowledged, &cut.case);
        }
    }
    println!("{cuts} power cuts over {all} things; {recoveries} recoveries with a fault of their own");
}

/// Recovers with the m-th thing refused, for every m, in turn once and from then on (the power goes again), and then without
/// faults. Gives how many.
fn recover(cut: &Cut, n: u64, photos: &Path, reserve: &Path) -> u64 {
    for m in 0.. {
        let fault = if (n + m).is_multiple_of(2) { Fault::Once(m) } else { Fault::Cut(m) };
        let (mut keep, mut path) = copy(cut.folder.path(), photos, reserve);
        vfs::arm(Some(fault));
        vfs::follow(keep.path());
        let mut acknowledged = cut.acknowledged.clone();
        if let Some(mut book) = acknowledged.take(open(&path, 2000)) {
            let body = body(OPENING, moments(3000)());
            acknowledged.take_facts(book.write(JOB, "Ida", LengthUnit::Inch, &[body], &mut moments(3001)));
        }
        if let Fault::Cut(_) = fault {
            let again = folder();
            vfs::after_cut(again.path(), |_| false);
            (keep, path) = copy(again.path(), photos, reserve);
        }
        let hit = vfs::disarm().0;
        vfs::arm(None);
        all_there(&path, &acknowledged, &format!("{}, then {fault:?} ({hit:?}) while recovering", cut.case));
        drop(keep);
        if hit.is_none() {
            return m;
        }
    }
    0
}

#[test]
fn a_rebuilding_that_fails_at_every_nth_thing_is_ended_by_the_next_opening() {
    let spare = folder();
    let whole = spare.path().join("houses.book");
    vfs::arm(None);
    let mut acknowledged = Acknowledged::default();
    work(&whole, 1, &mut acknowledged);
    let damaged = {
        let mut bytes = fs::read(&whole).unwrap();
        bytes[..100].fill(0xAA);
        bytes
    };
    let mut cases = 0;
    for n in 0.. {
        let mut was_hit = false;
        for fault in [Fault::Once(n), Fault::Cut(n)] {
            let at = folder();
            let path = at.path().join("houses.book");
            fs::write(&path, &damaged).unwrap();
            fs::create_dir(beside(&path, ".photos")).unwrap();
            vfs::arm(Some(fault));
            let first = open(&path, 2000).map(drop);
            let hit = vfs::disarm().0;
            was_hit |= hit.is_some();
            let case = format!("{fault:?} ({hit:?}) while rebuilding: {first:?}");
            let only_facts = Acknowledged { facts: acknowledged.facts.clone(), ..Acknowledged::default() };
            all_there(&path, &only_facts, &case);
            assert_eq!(fs::read(beside(&path, ".damaged-1")).unwrap(), damaged, "{case}");
            assert!(!beside(&path, ".damaged-2").exists(), "{case}");
            cases += 1;
        }
        if !was_hit {
            break;
        }
    }
    println!("{cases} rebuildings with a fault");
}

/// The disk is full at any byte: at each place where a file grows, one byte before and after it, and in between.
#[test]
fn the_disk_is_full_at_any_byte() {
    let mut rooms = BTreeSet::new();
    for step in 0..64 {
        for byte in [0, 1, 31, 32, 33, 56, 57, 4095] {
            rooms.insert(step * 4096 + byte);
        }
    }
    let (mut full, mut opened_full) = (0, 0);
    for room in &rooms {
        let at = folder();
        let path = at.path().join("houses.book");
        let mut acknowledged = Acknowledged::default();
        vfs::arm(Some(Fault::Room(*room)));
        work(&path, 1, &mut acknowledged);
        let case = format!("room for {room} bytes");
        for said in &acknowledged.refused {
            let no_house = acknowledged.facts.is_empty() && said.contains("there is no house");
            assert!(no_house || said.contains("the disk is full"), "{case}: {said}");
        }
        full += usize::from(!acknowledged.refused.is_empty());
        // On the full disk the book opens and shows all that was acknowledged.
        if !acknowledged.facts.is_empty() {
            let book = open(&path, 2000).unwrap_or_else(|problem| panic!("{case}: {problem}"));
            let there = book.facts(JOB).unwrap();
            assert!(acknowledged.facts.iter().all(|fact| there.contains(fact)), "{case}");
            assert_eq!(book.houses().unwrap().len(), 1, "{case}");
            opened_full += 1;
        }
        vfs::disarm();
        all_there(&path, &acknowledged, &case);
    }
    println!("{} sizes of disk: {full} were full, {opened_full} opened while full", rooms.len());
    assert!(full > 100 && opened_full > 100);
}

#[test]
fn the_reserve_takes_the_last_readings_of_a_day() {
    let at = folder();
    let path = at.path().join("houses.book");
    vfs::arm(None);
    let mut acknowledged = Acknowledged::default();
    let mut moments = moments(1);
    let mut book = open(&path, 1).unwrap();
    begin(&mut book, &mut acknowledged, &mut moments);
    assert!(book.has_reserve());
    // Not one byte more than what is there now.
    let size = |tail: &str| fs::metadata(beside(&path, tail)).map_or(0, |there| there.len());
    let now = size("") + size("-wal") + size(".reserve");
    vfs::arm(Some(Fault::Room(now)));
    let mut after = 0;
    let problem = loop {
        let reading = body(OPENING, moments());
        match book.write(JOB, "Ida", LengthUnit::Inch, &[reading], &mut moments) {
            Ok(facts) => acknowledged.facts.extend(facts),
            Err(problem) => break problem,
        }
        after += 1;
        assert!(!book.has_reserve(), "the caller is told that the reserve is in use");
    };
    assert!(matches!(problem, StoreProblem::Full { .. }), "{problem}");
    assert!(problem.to_string().contains("free some space"), "{problem}");
    println!("{after} readings after the disk was full");
    assert!(after >= 200, "{after}");
    drop(book);
    vfs::disarm();
    all_there(&path, &acknowledged, "full disk");
    assert!(open(&path, 5).unwrap().has_reserve(), "with room again it is set aside again");
}

//! The book as its callers use it: what is written is there again, whatever happens to the file.

use hangtrue_core::fact::{Body, Fact, Moment, Pen, Stamp};
use hangtrue_core::house::{Job, Opening, Place, Reading, file};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::store::{Book, Draft, Files, Notice, Step, StoreProblem, photo_name};
use proptest::prelude::*;
use rusqlite::Connection;
use std::fs;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// Moments for tests: a clock that goes on by a millisecond, and bytes that never repeat.
fn moments(seed: u64) -> impl FnMut() -> Moment {
    let mut n = 0_u64;
    move || {
        n += 1;
        let mut random = [0; 10];
        random[..8].copy_from_slice(&(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ n).to_be_bytes());
        random[8..].copy_from_slice(&u16::try_from(n % 65536).expect("below 65536").to_be_bytes());
        Moment { ms: 1_700_000_000_000 + n, random }
    }
}

fn fixture(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses").join(name);
    file::read(&fs::read_to_string(path).expect("the fixture is there")).expect("the fixture is a job file")
}

struct Spot {
    _folder: tempfile::TempDir,
    path: PathBuf,
}

fn place() -> Spot {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = folder.path().join("houses.book");
    Spot { _folder: folder, path }
}

fn beside(path: &Path, tail: &str) -> PathBuf {
    PathBuf::from(format!("{}{tail}", path.display()))
}

fn begun(name: &str) -> Body {
    Body::HouseOpened { name: name.to_owned(), unit: LengthUnit::Inch }
}

/// A house with one opening, and `n` readings in it.
fn small_house(book: &mut Book, n: u64, moments: &mut impl FnMut() -> Moment) -> (Uuid, Uuid) {
    let (job, room, opening) = (moments().uuid(), moments().uuid(), moments().uuid());
    let bodies = [
        begun("Larch House"),
        Body::RoomAdded { room, name: "Study".to_owned() },
        Body::OpeningAdded { opening, room, name: "North".to_owned() },
    ];
    book.write(job, "Ida", LengthUnit::Inch, &bodies, moments).expect("written");
    for _ in 0..n {
        let body = reading(opening, "34 3/8", moments());
        book.write(job, "Ida", LengthUnit::Inch, &[body], moments).expect("written");
    }
    (job, opening)
}

fn reading(opening: Uuid, text: &str, moment: Moment) -> Body {
    Body::ReadingTaken {
        opening,
        reading: Reading {
            id: moment.uuid(),
            place: Place::WidthTop,
            typed: Typed::read(text, LengthUnit::Inch).expect("a length"),
            at: moment.time(),
            by: "Ida".to_owned(),
            with: String::new(),
            amends: None,
            answers: None,
            withdrawn: None,
        },
    }
}

#[test]
fn a_job_file_goes_in_and_comes_out_the_same_to_the_byte() {
    for name in ["heron-lane.json", "quay-flat.json"] {
        let at = place();
        let mut moments = moments(1);
        let job = fixture(name);
        let mut book = Book::open(&at.path, &mut moments).unwrap();
        assert!(!book.take_in(&job, "Ida", &mut moments).unwrap().is_empty());
        drop(book);
        let mut book = Book::open(&at.path, &mut moments).unwrap();
        assert_eq!(book.notices(), []);
        assert_eq!(file::write(&book.job(job.id).unwrap().unwrap()), file::write(&job), "{name}");
        assert_eq!(book.take_in(&job, "Ida", &mut moments).unwrap(), vec![], "nothing new the second time");
        let lines = book.houses().unwrap();
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].name, job.name);
        assert_eq!(lines[0].openings as usize, job.openings().count());
        let standing = |opening: &Opening| opening.readings.iter().filter(|reading| opening.stands(reading)).count();
        assert_eq!(lines[0].readings as usize, job.openings().map(|(_, opening)| standing(opening)).sum::<usize>());
    }
}

#[test]
fn views_can_be_dropped_and_come_back_the_same() {
    let at = place();
    let mut moments = moments(2);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    book.take_in(&fixture("heron-lane.json"), "Ida", &mut moments).unwrap();
    let first = book.houses().unwrap();
    let (job, _) = small_house(&mut book, 3, &mut moments);
    let with_more = book.houses().unwrap();
    assert_eq!(with_more.len(), 2);
    assert_eq!(with_more[0].job, job, "the latest change first");
    assert_eq!((with_more[0].rooms, with_more[0].openings, with_more[0].readings), (1, 1, 3));
    assert_eq!(with_more[1], first[0]);
    book.drop_views().unwrap();
    assert_eq!(book.houses().unwrap(), with_more);
    // A view of an unknown form is made again, and so is one that lost a table.
    drop(book);
    for sql in ["UPDATE view_state SET form = 99", "DROP TABLE view_house"] {
        Connection::open(&at.path).unwrap().execute_batch(sql).unwrap();
        let book = Book::open(&at.path, &mut moments).unwrap();
        assert_eq!(book.houses().unwrap(), with_more, "{sql}");
    }
}

#[test]
fn stamps_go_on_after_a_reopening_and_after_what_was_merged() {
    let at = place();
    let mut moments = moments(3);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let (job, opening) = small_house(&mut book, 1, &mut moments);
    // An hour ahead is followed; a clock that is years ahead is not (`sync_union.rs`).
    let far = Stamp { ms: moments().ms + 3_600_000, count: 7 };
    let body = reading(opening, "34", moments());
    let merged = book.merge(&[Pen::new(Uuid::from_u128(9), far).write(moments(), job, "Bo", LengthUnit::Inch, &body)]);
    assert_eq!(merged.unwrap().new, 1);
    // An older fact after it does not take the clock back.
    let old = Pen::new(Uuid::from_u128(8), Stamp::default()).write(moments(), job, "Bo", LengthUnit::Inch, &body);
    assert_eq!(book.merge(&[old]).unwrap().new, 1);
    drop(book);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let later = book.write(job, "Ida", LengthUnit::Inch, &[reading(opening, "35", moments())], &mut moments).unwrap();
    assert!(later[0].stamp > far, "{:?}", later[0].stamp);
}

#[test]
fn merging_is_set_union_and_tells_what_differs() {
    let (one, two) = (place(), place());
    let mut moments = moments(4);
    let mut a = Book::open(&one.path, &mut moments).unwrap();
    let (job, _) = small_house(&mut a, 5, &mut moments);
    let facts = a.facts(job).unwrap();
    let mut b = Book::open(&two.path, &mut moments).unwrap();
    assert_ne!(a.device(), b.device());
    let mut mixed: Vec<Fact> = facts.iter().rev().cloned().collect();
    mixed.extend(facts[..3].iter().cloned());
    let merged = b.merge(&mixed).unwrap();
    assert_eq!((merged.new, merged.known), (facts.len(), 3));
    assert_eq!(b.house(job).unwrap(), a.house(job).unwrap());
    assert_eq!(b.houses().unwrap(), a.houses().unwrap());
    assert_eq!(b.own_facts(0, 100).unwrap(), [], "what others wrote is not this book's to send");

    let mut forged = facts[4].clone();
    forged.by = "Mallory".to_owned();
    let mut far = facts[4].clone();
    far.id = Uuid::from_u128(77);
    far.stamp.ms = u64::MAX;
    let merged = b.merge(&[forged.clone(), far.clone()]).unwrap();
    assert_eq!((merged.differs, merged.refused), (vec![forged.id], vec![far.id]));
    assert_eq!(b.house(job).unwrap(), a.house(job).unwrap(), "what was there stays");
}

#[test]
fn kinds_of_a_newer_program_are_kept_and_passed_on() {
    let at = place();
    let mut moments = moments(5);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let (job, _) = small_house(&mut book, 1, &mut moments);
    let mut strange = book.facts(job).unwrap()[3].clone();
    strange.id = Uuid::from_u128(5);
    strange.kind = "hologram_added".to_owned();
    strange.body = serde_json::json!({ "depth": [1, 2.5, "three"], "a": null });
    book.merge(std::slice::from_ref(&strange)).unwrap();
    assert!(book.facts(job).unwrap().contains(&strange));
    assert_eq!(book.houses().unwrap()[0].waiting, 1);
}

#[test]
fn own_facts_are_listed_in_order_of_writing() {
    let at = place();
    let mut moments = moments(6);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let (job, _) = small_house(&mut book, 4, &mut moments);
    let all = book.own_facts(0, 100).unwrap();
    assert_eq!(all.iter().map(|(_, fact)| fact.clone()).collect::<Vec<_>>(), book.facts(job).unwrap());
    let first = book.own_facts(0, 2).unwrap();
    assert_eq!(first, all[..2]);
    assert_eq!(book.own_facts(first[1].0, 100).unwrap(), all[2..]);
    book.set_state("sent.row", Some(&first[1].0.to_string())).unwrap();
    assert_eq!(book.state("sent.row").unwrap().as_deref(), Some("2"));
}

#[test]
fn a_house_that_was_never_begun_is_refused_by_name() {
    let at = place();
    let mut moments = moments(7);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let nobody = Uuid::from_u128(1);
    let body = Body::RoomAdded { room: Uuid::from_u128(2), name: "Study".to_owned() };
    let problem = book.write(nobody, "Ida", LengthUnit::Inch, &[body], &mut moments).unwrap_err();
    assert!(matches!(problem, StoreProblem::NoHouse { job } if job == nobody));
    assert!(problem.to_string().contains("begin it"), "{problem}");
    let mut same = || Moment { ms: 5, random: [3; 10] };
    book.write(nobody, "", LengthUnit::Inch, &[begun("x")], &mut same).unwrap();
    let twice = book.write(nobody, "", LengthUnit::Inch, &[begun("x")], &mut same).unwrap_err();
    assert!(matches!(twice, StoreProblem::IdTaken), "{twice}");
    assert_eq!(book.facts(nobody).unwrap().len(), 1);
}

#[test]
fn half_typed_digits_come_back_and_go_with_the_reading() {
    let at = place();
    let mut moments = moments(8);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let (job, opening) = small_house(&mut book, 0, &mut moments);
    for typed in ["3", "34", "34 3"] {
        book.set_draft("walk", Some(typed)).unwrap();
    }
    drop(book);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    assert_eq!(book.draft("walk").unwrap().as_deref(), Some("34 3"));
    let clear = Draft { key: "walk", value: None };
    let body = reading(opening, "34 3/8", moments());
    book.write_with(job, "Ida", LengthUnit::Inch, &[body], Some(clear), &mut moments).unwrap();
    assert_eq!(book.draft("walk").unwrap(), None);
}

#[test]
fn a_copy_takes_a_new_device_and_still_owns_what_was_written() {
    let (one, two) = (place(), place());
    let mut moments = moments(9);
    let mut book = Book::open(&one.path, &mut moments).unwrap();
    let (job, opening) = small_house(&mut book, 2, &mut moments);
    let before = book.device();
    let wrote = book.own_facts(0, 100).unwrap();
    book.pause().unwrap();
    fs::copy(&one.path, &two.path).unwrap();
    let mut copy = Book::open(&two.path, &mut moments).unwrap();
    let now = copy.device();
    assert_ne!(now, before);
    assert_eq!(copy.notices(), [Notice::Copied { before, now }]);
    assert_eq!(copy.own_facts(0, 100).unwrap(), wrote);
    let last = wrote.last().unwrap().1.stamp;
    let next = copy.write(job, "Ida", LengthUnit::Inch, &[reading(opening, "35", moments())], &mut moments).unwrap();
    assert_eq!(next[0].device, now);
    assert!(next[0].stamp > last);
    drop((book, copy));
    assert_eq!(Book::open(&one.path, &mut moments).unwrap().device(), before, "the first one stays itself");
    let copy = Book::open(&two.path, &mut moments).unwrap();
    assert_eq!((copy.device(), copy.notices()), (now, [].as_slice()), "once is enough");
}

#[test]
fn a_newer_book_is_refused_and_left_alone_to_the_byte() {
    let at = place();
    let mut moments = moments(10);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    small_house(&mut book, 2, &mut moments);
    drop(book);
    // In the log only, as after a newer program's death: the head of the file itself is still the old one.
    let newer = Connection::open(&at.path).unwrap();
    newer.execute_batch("PRAGMA journal_mode = WAL; PRAGMA user_version = 2000").unwrap();
    let (copied, log) = (beside(&at.path, ".kept"), beside(&at.path, ".kept-wal"));
    fs::copy(&at.path, &copied).unwrap();
    fs::copy(beside(&at.path, "-wal"), &log).unwrap();
    drop(newer);
    let before = (fs::read(&copied).unwrap(), fs::read(&log).unwrap());
    let problem = Book::open(&copied, &mut moments).unwrap_err();
    assert!(matches!(problem, StoreProblem::Newer { found: 2, known: 1, .. }), "{problem}");
    assert_eq!((fs::read(&copied).unwrap(), fs::read(&log).unwrap()), before);
    // A newer minor version only adds: it is opened, and its number stays.
    let minor = Connection::open(&at.path).unwrap();
    minor
        .execute_batch("PRAGMA user_version = 1007; ALTER TABLE fact ADD COLUMN later TEXT NOT NULL DEFAULT ''")
        .unwrap();
    drop(minor);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    small_house(&mut book, 1, &mut moments);
    drop(book);
    let kept: i64 = Connection::open(&at.path).unwrap().query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap();
    assert_eq!(kept, 1007);
}

#[test]
fn a_file_of_something_else_is_refused_and_left_alone() {
    let at = place();
    let mut moments = moments(11);
    fs::write(&at.path, "Dear Ida,\nthe north window sticks again.\n").unwrap();
    let problem = Book::open(&at.path, &mut moments).unwrap_err();
    assert!(matches!(problem, StoreProblem::NotABook { .. }), "{problem}");
    assert_eq!(fs::read_to_string(&at.path).unwrap(), "Dear Ida,\nthe north window sticks again.\n");
    fs::remove_file(&at.path).unwrap();
    Connection::open(&at.path).unwrap().execute_batch("CREATE TABLE songs (name TEXT)").unwrap();
    let before = fs::read(&at.path).unwrap();
    let problem = Book::open(&at.path, &mut moments).unwrap_err();
    assert!(matches!(problem, StoreProblem::NotABook { .. }), "{problem}");
    assert_eq!(fs::read(&at.path).unwrap(), before);
}

/// Every table and index of a file, with the columns of each.
fn schema(path: &Path) -> Vec<(String, Vec<String>)> {
    let conn = Connection::open(path).unwrap();
    let mut select = conn.prepare("SELECT name, coalesce(sql, '') FROM sqlite_schema ORDER BY name").unwrap();
    let rows = select.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?))).unwrap();
    rows.map(|row| {
        let (name, sql) = row.unwrap();
        let mut columns: Vec<String> = conn
            .prepare(&format!("PRAGMA table_xinfo({name})"))
            .unwrap()
            .query_map([], |row| {
                let said: [String; 2] = [row.get(1)?, row.get(2)?];
                let default: Option<String> = row.get(4)?;
                Ok(format!("{said:?} {:?} {default:?} {:?}", row.get::<_, i64>(3)?, row.get::<_, i64>(5)?))
            })
            .unwrap()
            .collect::<Result<_, _>>()
            .unwrap();
        columns.push(sql.split_whitespace().collect::<Vec<_>>().join(" "));
        (name, columns)
    })
    .collect()
}

#[test]
fn a_book_of_every_version_opens_whole_and_is_then_as_a_fresh_one() {
    let books = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/books");
    let mut dumps: Vec<PathBuf> = fs::read_dir(books).unwrap().map(|entry| entry.unwrap().path()).collect();
    dumps.sort();
    assert!(!dumps.is_empty());
    let fresh = place();
    let mut moments = moments(20);
    let mut book = Book::open(&fresh.path, &mut moments).unwrap();
    small_house(&mut book, 0, &mut moments);
    book.houses().unwrap();
    drop(book);
    for dump in dumps {
        let at = place();
        Connection::open(&at.path).unwrap().execute_batch(&fs::read_to_string(&dump).unwrap()).unwrap();
        let book = Book::open(&at.path, &mut moments).unwrap();
        book.check().unwrap();
        let lines = book.houses().unwrap();
        let line = (lines.len(), lines[0].name.as_str(), lines[0].openings, lines[0].readings, lines[0].waiting);
        assert_eq!(line, (1, "Larch House", 1, 1, 1), "{}", dump.display());
        let job = book.job(lines[0].job).unwrap().unwrap();
        let (_, opening) = job.openings().next().unwrap();
        let read: Vec<_> =
            opening.readings.iter().map(|reading| (reading.typed.text(), opening.stands(reading))).collect();
        assert_eq!(read, [("34 3/8", true), ("873 mm", false)]);
        assert!(job.notes[0].text.starts_with("the dog \"Bo\" barks — ½"));
        assert_eq!(book.draft("walk").unwrap().as_deref(), Some("34 3"));
        assert_eq!(book.state("theme").unwrap().as_deref(), Some("outdoor"));
        assert!(book.facts(job.id).unwrap().iter().any(|fact| fact.kind == "hologram_added"));
        drop(book);
        assert_eq!(schema(&at.path), schema(&fresh.path), "{}", dump.display());
    }
}

/// What a book holds, to compare after a rebuilding.
fn content(book: &Book) -> Vec<(Uuid, Vec<Fact>)> {
    let mut jobs: Vec<Uuid> = book.houses().unwrap().iter().map(|line| line.job).collect();
    jobs.sort();
    jobs.into_iter()
        .map(|job| {
            let mut facts = book.facts(job).unwrap();
            facts.sort_by_key(Fact::order);
            (job, facts)
        })
        .collect()
}

fn damage(path: &Path, at: u64, bytes: &[u8]) {
    use std::io::{Seek, SeekFrom, Write};
    let mut file = fs::OpenOptions::new().write(true).open(path).unwrap();
    file.seek(SeekFrom::Start(at)).unwrap();
    file.write_all(bytes).unwrap();
}

#[test]
fn a_book_whose_head_is_gone_is_moved_aside_and_every_fact_saved() {
    let at = place();
    let mut moments = moments(12);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    book.take_in(&fixture("heron-lane.json"), "Ida", &mut moments).unwrap();
    // A remark longer than a page spills over to pages of its own.
    let (job, _) = small_house(&mut book, 3, &mut moments);
    let note = hangtrue_core::house::Note {
        id: moments().uuid(),
        text: "the dog barks; ".repeat(900),
        at: moments().time(),
        by: "Ida".to_owned(),
    };
    book.write(job, "Ida", LengthUnit::Inch, &[Body::NoteAdded { on: job, note }], &mut moments).unwrap();
    book.set_draft("walk", Some("34 3")).unwrap();
    book.pause().unwrap();
    let device = book.device();
    // Two more that are only in the log when the damage comes.
    small_house(&mut book, 2, &mut moments);
    let want = content(&book);
    let keep = (fs::read(&at.path).unwrap(), fs::read(beside(&at.path, "-wal")).unwrap());
    drop(book);
    fs::write(&at.path, &keep.0).unwrap();
    fs::write(beside(&at.path, "-wal"), &keep.1).unwrap();
    damage(&at.path, 0, &[0xAA; 100]);
    let damaged = fs::read(&at.path).unwrap();

    let book = Book::open(&at.path, &mut moments).unwrap();
    let facts: usize = want.iter().map(|(_, facts)| facts.len()).sum();
    let aside = beside(&at.path, ".damaged-1");
    assert_eq!(
        book.notices(),
        [Notice::Salvaged { aside: aside.clone(), kept: facts as u64, missing: 0 }],
        "{}",
        book.notices()[0]
    );
    assert_eq!(content(&book), want);
    assert_ne!(book.device(), device);
    assert_eq!(book.own_facts(0, 10_000).unwrap().len(), facts, "all of it is sent again");
    book.check().unwrap();
    assert_eq!(fs::read(&aside).unwrap(), damaged, "the damaged file is kept as it was");
    assert_eq!(fs::read(beside(&aside, "-wal")).unwrap(), keep.1);
}

#[test]
fn an_emptied_book_is_saved_out_of_its_log() {
    let at = place();
    let mut moments = moments(21);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let (job, _) = small_house(&mut book, 4, &mut moments);
    let want = book.facts(job).unwrap();
    let log = fs::read(beside(&at.path, "-wal")).unwrap();
    drop(book);
    fs::write(&at.path, b"").unwrap();
    fs::write(beside(&at.path, "-wal"), &log).unwrap();
    let book = Book::open(&at.path, &mut moments).unwrap();
    assert!(matches!(book.notices(), [Notice::Salvaged { kept: 7, missing: 0, .. }]), "{:?}", book.notices());
    assert_eq!(book.facts(job).unwrap(), want);
    assert_eq!(fs::read(beside(&at.path, ".damaged-1-wal")).unwrap(), log);
}

#[test]
fn one_changed_byte_in_a_fact_is_noticed_and_costs_that_fact_alone() {
    let at = place();
    let mut moments = moments(13);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let (job, opening) = small_house(&mut book, 20, &mut moments);
    let odd =
        book.write(job, "Ida", LengthUnit::Inch, &[reading(opening, "43 5/16", moments())], &mut moments).unwrap();
    book.set_draft("walk", Some("7")).unwrap();
    book.set_state("theme", Some("outdoor")).unwrap();
    book.set_state("sent.row", Some("12")).unwrap();
    book.pause().unwrap();
    let mut want = book.facts(job).unwrap();
    want.retain(|fact| fact.id != odd[0].id);
    drop(book);
    let bytes = fs::read(&at.path).unwrap();
    let found = bytes.windows(7).position(|part| part == b"43 5/16").unwrap();
    damage(&at.path, found as u64, b"48");

    let book = Book::open(&at.path, &mut moments).unwrap();
    let problem = book.facts(job).unwrap_err();
    assert!(matches!(problem, StoreProblem::Damaged { .. }), "{problem}");
    assert!(problem.to_string().contains("not what was written"), "{problem}");
    drop(book);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    assert!(
        matches!(book.notices(), [Notice::Salvaged { kept: 23, missing: 1, .. }]),
        "the next opening rebuilds it: {:?}",
        book.notices()
    );
    assert_eq!(book.facts(job).unwrap(), want);
    assert_eq!(book.draft("walk").unwrap().as_deref(), Some("7"));
    assert_eq!(book.state("theme").unwrap().as_deref(), Some("outdoor"));
    assert_eq!(book.state("sent.row").unwrap(), None, "row numbers change, so all counts as not sent");
    assert_eq!(book.merge(&odd).unwrap().new, 1, "another device brings it back");
    drop(book);
    assert_eq!(Book::open(&at.path, &mut moments).unwrap().notices(), []);
}

#[test]
fn an_exchange_that_was_cut_short_is_ended() {
    let at = place();
    let mut moments = moments(14);
    let mut book = Book::open(&at.path, &mut moments).unwrap();
    let (job, _) = small_house(&mut book, 2, &mut moments);
    let want = book.facts(job).unwrap();
    drop(book);
    // The old book is aside, its log is not, the new book is not in its place.
    fs::copy(&at.path, beside(&at.path, ".damaged-1")).unwrap();
    fs::rename(&at.path, beside(&at.path, ".rebuilt")).unwrap();
    fs::write(beside(&at.path, "-wal"), b"an old log that must not be played into the new book").unwrap();
    let book = Book::open(&at.path, &mut moments).unwrap();
    assert_eq!(book.facts(job).unwrap(), want);
    assert!(fs::read(beside(&at.path, ".damaged-1-wal")).unwrap().starts_with(b"an old log"));
}

#[test]
fn photos_are_named_by_hash_checked_and_resumed() {
    // FIPS 180-4's first example ("abc"), as published with the standard.
    assert_eq!(photo_name(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    let at = place();
    let book = Book::open(&at.path, &mut moments(15)).unwrap();
    let photos = book.photos();
    let bytes: Vec<u8> = (0..100_000_u32).flat_map(u32::to_le_bytes).collect();
    let name = photos.keep(&bytes).unwrap();
    assert_eq!(name, photo_name(&bytes));
    assert_eq!(photos.keep(&bytes).unwrap(), name);
    assert_eq!(photos.read(&name).unwrap().as_deref(), Some(bytes.as_slice()));
    assert_eq!(photos.list().unwrap(), std::slice::from_ref(&name));
    for bad in ["../houses.book", "", "BA7816BF", &name.to_uppercase(), &format!("{name}/x")] {
        assert!(matches!(photos.read(bad), Err(StoreProblem::PhotoName { .. })), "{bad}");
    }

    damage(&beside(&at.path, ".photos").join(&name), 5, b"x");
    assert!(matches!(photos.read(&name), Err(StoreProblem::PhotoDamaged { .. })));
    assert_eq!(photos.read(&name).unwrap(), None, "moved aside, to be fetched again");
    let whole = bytes.len() as u64;
    assert!(!photos.add_part(&name, 0, &bytes[..1000], whole).unwrap());
    assert_eq!(photos.have(&name).unwrap(), 1000);
    assert!(matches!(photos.add_part(&name, 7, &bytes[7..], whole), Err(StoreProblem::PhotoPart { have: 1000, .. })));
    assert!(photos.add_part(&name, 1000, &bytes[1000..], whole).unwrap());
    assert_eq!(photos.read(&name).unwrap().as_deref(), Some(bytes.as_slice()));

    let other = photo_name(b"other");
    assert!(matches!(photos.add_part(&other, 0, b"wrong", 5), Err(StoreProblem::PhotoDamaged { .. })));
    assert_eq!(photos.have(&other).unwrap(), 0);
    assert!(photos.add_part(&other, 0, b"other", 5).unwrap());
}

/// For every n, the n-th thing that is asked of the file system is refused while a photo is kept.
#[test]
fn a_photo_is_kept_whole_or_not_at_all_whichever_step_fails() {
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::sync::{Arc, Mutex};
    let bytes = vec![7_u8; 10_000];
    let name = photo_name(&bytes);
    let mut refused = Vec::new();
    for n in 0.. {
        let at = place();
        drop(Book::open(&at.path, &mut moments(16)).unwrap());
        let left = Arc::new(AtomicUsize::new(usize::MAX));
        let hit = Arc::new(Mutex::new(None));
        let (gate_left, gate_hit) = (left.clone(), hit.clone());
        let files = Files::gated(move |step, _| {
            if gate_left.fetch_sub(1, Ordering::SeqCst) == 0 {
                *gate_hit.lock().unwrap() = Some(step);
                return Err(std::io::Error::from(std::io::ErrorKind::StorageFull));
            }
            Ok(())
        });
        let book = Book::open_with(&at.path, &files, &mut moments(17)).unwrap();
        left.store(n, Ordering::SeqCst);
        let kept = book.photos().keep(&bytes);
        left.store(usize::MAX, Ordering::SeqCst);
        let Some(step) = *hit.lock().unwrap() else {
            assert_eq!(kept.unwrap(), name);
            break;
        };
        refused.push(step);
        let problem = kept.unwrap_err();
        assert!(matches!(problem, StoreProblem::Full { .. }), "{problem}");
        // Whole when the name was already in place, else absent; and the second try always ends well.
        let there = book.photos().read(&name).unwrap();
        assert!(there.is_none() || there.as_ref() == Some(&bytes));
        assert_eq!(book.photos().keep(&bytes).unwrap(), name);
        assert_eq!(book.photos().list().unwrap(), std::slice::from_ref(&name));
    }
    assert_eq!(refused, [Step::Create, Step::Write, Step::Sync, Step::Rename, Step::SyncFolder]);
}

#[test]
fn two_programs_write_in_one_book() {
    let at = place();
    let mut moments_a = moments(18);
    let mut book = Book::open(&at.path, &mut moments_a).unwrap();
    let (job, opening) = small_house(&mut book, 0, &mut moments_a);
    std::thread::scope(|scope| {
        for seed in 30..34 {
            let path = &at.path;
            scope.spawn(move || {
                let mut moments = moments(seed);
                let mut book = Book::open(path, &mut moments).unwrap();
                for _ in 0..25 {
                    let body = reading(opening, "34 3/8", moments());
                    book.write(job, "Bo", LengthUnit::Inch, &[body], &mut moments).unwrap();
                }
            });
        }
    });
    let facts = book.facts(job).unwrap();
    assert_eq!(facts.len(), 103);
    assert!(facts.windows(2).all(|pair| pair[0].stamp < pair[1].stamp), "one clock for all who write in one book");
    assert_eq!(book.houses().unwrap()[0].readings, 100);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever is damaged in the file: it opens, every fact it then has is one that was written, and the old file is kept.
    #[test]
    fn no_damage_makes_a_wrong_fact_or_loses_the_file(
        spots in proptest::collection::vec((0.0_f64..1.0, any::<u8>(), 1_usize..5000), 1..4),
        cut in proptest::option::of(0.0_f64..1.0),
    ) {
        let at = place();
        let mut moments = moments(19);
        let mut book = Book::open(&at.path, &mut moments).unwrap();
        let job = fixture("quay-flat.json");
        book.take_in(&job, "Ida", &mut moments).unwrap();
        let written = book.facts(job.id).unwrap();
        book.pause().unwrap();
        drop(book);
        let mut bytes = fs::read(&at.path).unwrap();
        for (spot, byte, length) in spots {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss,
                reason = "a place somewhere in a small file")]
            let from = (spot * bytes.len() as f64) as usize;
            let end = (from + length).min(bytes.len());
            bytes[from..end].fill(byte);
        }
        if let Some(cut) = cut {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss,
                reason = "a place somewhere in a small file")]
            bytes.truncate(1 + (cut * (bytes.len() - 1) as f64) as usize);
        }
        fs::write(&at.path, &bytes).unwrap();
        // Opening may not meet the damage yet; a check does, and the opening after it rebuilds.
        let opened = Book::open(&at.path, &mut moments);
        let book = match opened {
            Err(StoreProblem::NotABook { .. } | StoreProblem::Newer { .. }) => {
                prop_assert_eq!(fs::read(&at.path).unwrap(), bytes, "left as it is");
                return Ok(());
            }
            opened => opened.unwrap(),
        };
        let _ = book.check();
        drop(book);
        let book = Book::open(&at.path, &mut moments).unwrap();
        book.check().unwrap();
        let facts = book.facts(job.id).unwrap();
        for fact in &facts {
            prop_assert!(written.contains(fact), "{fact:?}");
        }
        prop_assert!(facts.len() == written.len() || beside(&at.path, ".damaged-1").exists());
    }
}

//! How fast the book is: a reading to the disk beside a bare synced commit of SQLite, and a book of ten years (5,000
//! houses, 1,000,000 facts) merged, opened and its first screen shown.
//!
//! `cargo bench -p hangtrue-core --bench store`. The large book is made once under `target/tmp` and kept.

use criterion::{Criterion, criterion_group, criterion_main};
use hangtrue_core::fact::{Body, Fact, Moment, Pen, Stamp};
use hangtrue_core::house::{Place, Reading};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::store::{Book, Draft};
use rusqlite::Connection;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};
use uuid::Uuid;

const HOUSES: u64 = 5_000;
const FACTS_A_HOUSE: u64 = 200;
/// Set for the process that only opens: its memory and its first, cold opening are its own.
const OPEN_ONLY: &str = "HANGTRUE_BENCH_OPEN";

fn moments(seed: u64) -> impl FnMut() -> Moment {
    let mut n = 0_u64;
    move || {
        n += 1;
        let mut random = [0; 10];
        random[2..].copy_from_slice(&(seed << 32 | n).to_be_bytes());
        Moment { ms: 1_700_000_000_000 + n, random }
    }
}

fn reading(opening: Uuid, moment: Moment) -> Body {
    Body::ReadingTaken {
        opening,
        reading: Reading {
            id: moment.uuid(),
            place: Place::WidthTop,
            typed: Typed::read("34 3/8", LengthUnit::Inch).expect("a length"),
            at: moment.time(),
            by: "Ida".to_owned(),
            with: "blue tape".to_owned(),
            amends: None,
            answers: None,
            withdrawn: None,
        },
    }
}

/// A house of four rooms with four openings each; the rest of its facts are readings.
fn house(job: Uuid, pen: &mut Pen, moments: &mut impl FnMut() -> Moment) -> Vec<Fact> {
    let mut facts = Vec::new();
    let mut openings = Vec::new();
    let mut write = |body: Body, moment: Moment| facts.push(pen.write(moment, job, "Ida", LengthUnit::Inch, &body));
    write(Body::HouseOpened { name: format!("House {job}"), unit: LengthUnit::Inch }, moments());
    for r in 0..4 {
        let room = moments().uuid();
        write(Body::RoomAdded { room, name: format!("Room {r}") }, moments());
        for o in 0..4 {
            let opening = moments().uuid();
            openings.push(opening);
            write(Body::OpeningAdded { opening, room, name: format!("Opening {o}") }, moments());
        }
    }
    for opening in openings.iter().cycle().take(usize::try_from(FACTS_A_HOUSE).expect("small") - 21) {
        let body = reading(*opening, moments());
        write(body, moments());
    }
    facts
}

/// The book of ten years, merged out of parts of 5,000 facts as sync would bring them.
fn large_book() -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("ten-years.book");
    let mut moments = moments(1);
    let mut book = Book::open(&path, &mut moments).expect("opened");
    if book.houses().expect("listed").len() as u64 == HOUSES {
        return path;
    }
    let mut pen = Pen::new(Uuid::from_u128(7), Stamp::default());
    let mut merging = Duration::ZERO;
    let mut part = Vec::new();
    for n in 0..HOUSES {
        part.extend(house(Uuid::from_u128(u128::from(n) << 64 | 1), &mut pen, &mut moments));
        if part.len() >= 5_000 || n + 1 == HOUSES {
            let began = Instant::now();
            book.merge(&part).expect("merged");
            merging += began.elapsed();
            part.clear();
        }
    }
    let began = Instant::now();
    book.houses().expect("listed");
    println!(
        "merge of {} facts: {merging:.1?}; folding all {HOUSES} houses for the list: {:.1?}; memory at most {}",
        HOUSES * FACTS_A_HOUSE,
        began.elapsed(),
        memory()
    );
    book.pause().expect("paused");
    path
}

/// The most memory that this process had, as Linux says it.
fn memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM"));
    line.and_then(|line| line.split_once(':')).map_or_else(|| "unknown".to_owned(), |(_, kb)| kb.trim().to_owned())
}

fn open(path: &Path) -> usize {
    let book = Book::open(path, &mut moments(2)).expect("opened");
    book.houses().expect("listed").len()
}

fn opening(c: &mut Criterion) {
    let path = large_book();
    let alone = Command::new(std::env::current_exe().expect("this program"))
        .env(OPEN_ONLY, &path)
        .output()
        .expect("the opening process runs");
    print!("{}", String::from_utf8_lossy(&alone.stdout));
    let mut group = c.benchmark_group("ten years");
    group.sample_size(20);
    group.bench_function("open and list 5000 houses", |b| b.iter(|| open(&path)));
    let book = Book::open(&path, &mut moments(3)).expect("opened");
    let job = book.houses().expect("listed")[0].job;
    group.bench_function("one house of 200 facts", |b| b.iter(|| book.house(job).expect("read")));
    group.finish();
}

/// A reading to the disk, and a bare commit of one row of the same size under the same settings, turn by turn, so that
/// both meet the same disk.
fn appending(c: &mut Criterion) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("append-{}", std::process::id()));
    let mut now = moments(4);
    let mut book = Book::open(&folder.join("houses.book"), &mut now).expect("opened");
    let job = now().uuid();
    let (room, opening) = (now().uuid(), now().uuid());
    let begin = [
        Body::HouseOpened { name: "Larch House".to_owned(), unit: LengthUnit::Inch },
        Body::RoomAdded { room, name: "Study".to_owned() },
        Body::OpeningAdded { opening, room, name: "North".to_owned() },
    ];
    book.write(job, "Ida", LengthUnit::Inch, &begin, &mut now).expect("written");
    let bare = Connection::open(folder.join("bare.sqlite")).expect("opened");
    bare.execute_batch(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA fullfsync = ON;
         CREATE TABLE row (id INTEGER PRIMARY KEY, body BLOB NOT NULL) STRICT;",
    )
    .expect("made");
    let row = vec![7_u8; 400];
    let mut accept = || {
        let body = reading(opening, now());
        let clear = Draft { key: "walk", value: None };
        book.write_with(job, "Ida", LengthUnit::Inch, &[body], Some(clear), &mut now).expect("written");
    };
    let commit = || {
        bare.prepare_cached("INSERT INTO row (body) VALUES (?1)")
            .and_then(|mut insert| insert.execute([&row]))
            .expect("written");
    };
    let (mut readings, mut commits) = (Vec::new(), Vec::new());
    for _ in 0..1_000 {
        let began = Instant::now();
        accept();
        readings.push(began.elapsed());
        let began = Instant::now();
        commit();
        commits.push(began.elapsed());
    }
    readings.sort();
    commits.sort();
    let at = |sorted: &[Duration], part: usize| sorted[sorted.len() * part / 100];
    println!(
        "a reading accepted and durable: median {:.2?}, 90 of 100 within {:.2?}; a bare synced commit: {:.2?}, {:.2?}; ratio of medians {:.2}",
        at(&readings, 50),
        at(&readings, 90),
        at(&commits, 50),
        at(&commits, 90),
        at(&readings, 50).as_secs_f64() / at(&commits, 50).as_secs_f64()
    );
    let mut group = c.benchmark_group("append");
    group.sample_size(50);
    group.bench_function("a reading, durable", |b| b.iter(&mut accept));
    group.bench_function("a bare synced commit", |b| b.iter(commit));
    group.bench_function("half-typed digits", |b| {
        let mut book = Book::open(&folder.join("digits.book"), &mut moments(5)).expect("opened");
        b.iter(|| book.set_draft("walk", Some("34 3")).expect("kept"));
    });
    group.finish();
    drop((book, bare));
    std::fs::remove_dir_all(&folder).expect("the bench's own folder");
}

fn all(c: &mut Criterion) {
    if let Ok(path) = std::env::var(OPEN_ONLY) {
        let began = Instant::now();
        let houses = open(path.as_ref());
        println!(
            "a process of its own: {houses} houses open and listed in {:.1?}, memory at most {}",
            began.elapsed(),
            memory()
        );
        std::process::exit(0);
    }
    appending(c);
    opening(c);
}

criterion_group!(benches, all);
criterion_main!(benches);

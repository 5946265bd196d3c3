//! Prints how long a book takes to merge a firm's ten years out of encrypted segments in a folder, and how much memory:
//! `cargo run --release -p hangtrue-tests --bin merge [facts...]`, 250000 500000 1000000 when none are named.
//!
//! Each merge is a process of its own, so that its memory is its own. What is timed is the whole sync: listing, reading,
//! decrypting, checking, and every fact on the disk.

use hangtrue_core::store::{Book, Files};
use hangtrue_core::sync::{FirmKey, Folder, PhotoWish, sync};
use hangtrue_tests::kill::moments;
use hangtrue_tests::many::{bring, most_memory_kb};
use std::path::Path;
use std::process::{Command, ExitCode};
use std::time::Instant;
use uuid::Uuid;

/// Set for the process that merges: the folder to work in.
const MERGE: &str = "HANGTRUE_MERGE";

/// A desk that begins after all phones have written: in 2027.
const ROUND: u64 = 10_000_000;

/// Merges what lies in `at` into a new book there and prints: milliseconds, most kB of memory, bytes of the book.
fn merge(at: &Path) {
    let key: FirmKey = std::fs::read_to_string(at.join("firm.key")).expect("read").parse().expect("a key");
    let mut now = moments(ROUND);
    let mut book = Book::open(&at.join("desk.book"), &mut now).expect("opened");
    let mut place = Folder::open(&at.join("exchange"), Files::default()).expect("opened");
    let before = most_memory_kb().unwrap_or_default();
    let began = Instant::now();
    let report = sync(&mut book, &key, &mut place, PhotoWish::Both, &mut now).expect("merged");
    let merged = began.elapsed().as_millis();
    assert_eq!((report.stopped, report.bad, report.gaps), (None, vec![], vec![]));
    let memory = most_memory_kb().unwrap_or_default();
    let began = Instant::now();
    let again = sync(&mut book, &key, &mut place, PhotoWish::Both, &mut now).expect("merged");
    assert_eq!(again.arrived, 0);
    let idle = began.elapsed().as_millis();
    book.pause().expect("paused");
    let size = std::fs::metadata(at.join("desk.book")).expect("the book").len();
    println!("{} {merged} {before} {memory} {idle} {size}", report.arrived);
}

fn main() -> ExitCode {
    if let Ok(at) = std::env::var(MERGE) {
        merge(at.as_ref());
        return ExitCode::SUCCESS;
    }
    let given: Result<Vec<u64>, _> = std::env::args().skip(1).map(|text| text.parse::<u64>()).collect();
    let Ok(mut totals) = given else {
        eprintln!("merge [facts...]: whole numbers, such as 250000 1000000");
        return ExitCode::from(2);
    };
    if totals.is_empty() {
        totals = vec![250_000, 500_000, 1_000_000];
    }
    println!("    facts  merged in, s  us a fact  memory before, at most, MB  again, s  in segments, MB  book, MB");
    for total in totals {
        let folder = tempfile::tempdir_in(env!("CARGO_MANIFEST_DIR").to_owned() + "/../target").expect("a folder");
        let key = FirmKey::generate();
        std::fs::write(folder.path().join("firm.key"), key.to_text()).expect("written");
        let mut place = Folder::create(&folder.path().join("exchange"), Uuid::from_u128(9), Files::default())
            .expect("a folder of exchange");
        let (segments, bytes) = bring(total, &key, &mut place).expect("brought");
        let alone = Command::new(std::env::current_exe().expect("this program"))
            .env(MERGE, folder.path())
            .output()
            .expect("the merging process runs");
        let said = String::from_utf8_lossy(&alone.stdout);
        let numbers: Vec<f64> = said.split_whitespace().map(|n| n.parse().expect("numbers")).collect();
        let [facts, merged, before, memory, idle, size] = numbers[..] else {
            eprintln!("the merging process failed: {}", String::from_utf8_lossy(&alone.stderr));
            return ExitCode::FAILURE;
        };
        #[allow(clippy::cast_precision_loss, reason = "shown with one digit")]
        let stored = bytes as f64;
        println!(
            "{facts:9}  {:12.2}  {:9.1}  {:13.1}  {:7.1}      {:8.2}  {:8.1} in {segments:4}  {:8.1}",
            merged / 1e3,
            merged * 1e3 / facts,
            before / 1e3,
            memory / 1e3,
            idle / 1e3,
            stored / 1e6,
            size / 1e6
        );
    }
    ExitCode::SUCCESS
}

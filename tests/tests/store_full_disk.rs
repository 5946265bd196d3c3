//! The book on a disk that is really full: a file system of its own, in memory and small, filled to the last byte.
//!
//! Mounting one needs Linux and the right to make a user namespace. Where that is not given the test says so aloud;
//! the same is proven with a substitute VFS in `store_faults`.

use hangtrue_core::fact::{Body, Fact, Moment};
use hangtrue_core::house::{Place, Reading};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::store::{Book, Notice, StoreProblem};
use hangtrue_tests::kill::moments;
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use uuid::Uuid;

/// Where the small file system is mounted, for the process that fills it.
const FULL_DISK: &str = "HANGTRUE_FULL_DISK";

#[test]
fn a_full_file_system_takes_the_last_readings_and_loses_none() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let mount = "mount -t tmpfs -o size=12m none \"$1\"";
    let within = |script: &str| {
        let mut command = Command::new("unshare");
        command.args(["--user", "--map-root-user", "--mount", "--", "sh", "-c", script, "sh"]).arg(folder.path());
        command
    };
    let can_mount = within(mount).stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok_and(|code| code.success());
    if !can_mount {
        println!("SKIPPED: this system does not let a test mount a file system of its own (unshare, mount -t tmpfs)");
        return;
    }
    let output = within(&format!("{mount} && exec \"$2\" --exact --ignored --nocapture fill_the_disk"))
        .arg(std::env::current_exe().expect("this program"))
        .env(FULL_DISK, folder.path())
        .output()
        .expect("the filling process runs");
    let said = String::from_utf8_lossy(&output.stdout);
    print!("{said}");
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
    assert!(said.contains("1 passed"), "{said}");
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
            with: String::new(),
            amends: None,
            answers: None,
            withdrawn: None,
        },
    }
}

/// Writes into `path` until not one byte more fits.
fn fill(path: &Path) {
    let mut file = OpenOptions::new().create(true).append(true).open(path).expect("opened");
    for size in [65536, 4096, 1] {
        while file.write_all(&vec![7; size]).is_ok() {}
    }
}

#[test]
#[ignore = "run by the test above, on a file system that may be filled"]
fn fill_the_disk() {
    let Some(folder) = std::env::var_os(FULL_DISK).map(PathBuf::from) else { return };
    let path = folder.join("houses.book");
    let mut now = moments(1);
    let mut book = Book::open(&path, &mut now).unwrap();
    assert!(book.has_reserve());
    let (job, room, opening) = (now().uuid(), now().uuid(), now().uuid());
    let begin = [
        Body::HouseOpened { name: "Larch House".to_owned(), unit: LengthUnit::Inch },
        Body::RoomAdded { room, name: "Study".to_owned() },
        Body::OpeningAdded { opening, room, name: "North".to_owned() },
    ];
    let mut acknowledged = book.write(job, "Ida", LengthUnit::Inch, &begin, &mut now).unwrap();
    let ballast = folder.join("ballast");
    fill(&ballast);
    let kept = book.photos().keep(&vec![3; 100_000]);
    assert!(matches!(kept, Err(StoreProblem::Full { .. })), "a photo does not take what readings need: {kept:?}");
    let problem = loop {
        match book.write(job, "Ida", LengthUnit::Inch, &[reading(opening, now())], &mut now) {
            Ok(facts) => acknowledged.extend(facts),
            Err(problem) => break problem,
        }
        assert!(acknowledged.len() < 100_000);
    };
    assert!(matches!(problem, StoreProblem::Full { .. }), "{problem}");
    assert!(!book.has_reserve());
    println!("{} readings on a full disk, then: {problem}", acknowledged.len() - 3);
    assert!(acknowledged.len() >= 200);
    drop(book);

    let all_there = |book: &Book, acknowledged: &[Fact]| {
        let there = book.facts(job).unwrap();
        assert!(acknowledged.iter().all(|fact| there.contains(fact)));
    };
    let mut book = Book::open(&path, &mut now).unwrap();
    assert_eq!(book.notices(), [Notice::NoReserve]);
    all_there(&book, &acknowledged);
    assert_eq!(book.houses().unwrap().len(), 1);
    book.check().unwrap();

    fs::remove_file(&ballast).unwrap();
    acknowledged.extend(book.write(job, "Ida", LengthUnit::Inch, &[reading(opening, now())], &mut now).unwrap());
    book.pause().unwrap();
    assert!(book.has_reserve(), "set aside again once there is room");
    drop(book);
    let book = Book::open(&path, &mut now).unwrap();
    assert_eq!(book.notices(), []);
    all_there(&book, &acknowledged);
}

//! One flipped bit anywhere in a book: what is read is right, or it is said that it is not. Never fewer readings in
//! silence.
//!
//! `HANGTRUE_FLIPS` is how many bits are flipped (400), `HANGTRUE_FLIPS_SEED` where the choice begins (1).

use hangtrue_core::fact::{Body, Fact};
use hangtrue_core::house::{Place, Reading, file};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::store::{Book, HouseLine, Notice, StoreProblem};
use hangtrue_tests::kill::moments;
use std::fs;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// All that a caller may read.
#[derive(PartialEq, Debug)]
struct Read {
    lines: Vec<HouseLine>,
    houses: Vec<Vec<Fact>>,
    all: Vec<Fact>,
    draft: Option<String>,
    state: Option<String>,
    device: Uuid,
}

/// Reads everything, each call by itself: what one call gives must be right though another fails.
fn holds(book: &Book, truth: &Read) -> Result<usize, String> {
    let mut failed = 0;
    macro_rules! look {
        ($what:literal, $got:expr, $right:expr) => {
            match $got {
                Ok(got) if got == $right => {}
                Ok(_) => return Err($what.to_owned()),
                Err(StoreProblem::IdTaken | StoreProblem::Full { .. } | StoreProblem::NoHouse { .. }) => {
                    return Err(format!("{} fails in other words", $what))
                }
                Err(_) => failed += 1,
            }
        };
    }
    look!("the list of houses", book.houses(), truth.lines);
    for (line, facts) in truth.lines.iter().zip(&truth.houses) {
        look!("the facts of a house", book.facts(line.job), *facts);
    }
    look!("all facts", all_facts(book), truth.all);
    look!("half-typed digits", book.draft("walk"), truth.draft);
    look!("small state", book.state("theme"), truth.state);
    if book.device() != truth.device {
        return Err("the device".to_owned());
    }
    Ok(failed)
}

fn all_facts(book: &Book) -> Result<Vec<Fact>, StoreProblem> {
    let (mut all, mut row) = (Vec::new(), 0);
    loop {
        let some = book.all_facts(row, 50)?;
        let Some((last, _)) = some.last() else { return Ok(all) };
        row = *last;
        all.extend(some.into_iter().map(|(_, fact)| fact));
    }
}

fn a_book(path: &Path) -> Read {
    let mut now = moments(77);
    let mut book = Book::open(path, &mut now).unwrap();
    let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses/quay-flat.json");
    let job = file::read(&fs::read_to_string(fixture).unwrap()).unwrap();
    book.take_in(&job, "Ida", &mut now).unwrap();
    for (name, readings) in [("Larch House", 178), ("Smith", 40)] {
        let (job, room, opening) = (now().uuid(), now().uuid(), now().uuid());
        let mut bodies = vec![
            Body::HouseOpened { name: name.to_owned(), unit: LengthUnit::Inch },
            Body::RoomAdded { room, name: "Study".to_owned() },
            Body::OpeningAdded { opening, room, name: "North".to_owned() },
        ];
        for _ in 0..readings {
            let at = now();
            let typed = Typed::read("34 3/8", LengthUnit::Inch).unwrap();
            let reading = Reading {
                id: at.uuid(),
                place: Place::WidthTop,
                typed,
                at: at.time(),
                by: "Ida".to_owned(),
                with: String::new(),
                amends: None,
                answers: None,
                withdrawn: None,
            };
            bodies.push(Body::ReadingTaken { opening, reading });
        }
        book.write(job, "Ida", LengthUnit::Inch, &bodies, &mut now).unwrap();
    }
    book.set_draft("walk", Some("34 3")).unwrap();
    book.set_state("theme", Some("outdoor")).unwrap();
    let lines = book.houses().unwrap();
    book.pause().unwrap();
    Read {
        houses: lines.iter().map(|line| book.facts(line.job).unwrap()).collect(),
        lines,
        all: all_facts(&book).unwrap(),
        draft: book.draft("walk").unwrap(),
        state: book.state("theme").unwrap(),
        device: book.device(),
    }
}

fn number(name: &str, or: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(or)
}

/// Puts the book back as it was but for `bytes`, and what lies beside it away.
fn lay(path: &Path, bytes: &[u8]) {
    let folder = path.parent().unwrap();
    // The same file still, by its number: a copy would say so at every opening. A second name keeps it while a mended book
    // takes its place.
    let kept = folder.join("the file itself");
    if !kept.exists() {
        fs::hard_link(path, &kept).unwrap();
    }
    for entry in fs::read_dir(folder).unwrap() {
        let other = entry.unwrap().path();
        if other != kept && !other.to_string_lossy().ends_with(".reserve") {
            fs::remove_file(&other).unwrap();
        }
    }
    fs::write(&kept, bytes).unwrap();
    fs::hard_link(&kept, path).unwrap();
}

#[test]
fn a_flipped_bit_is_never_silent() {
    let folder = tempfile::tempdir().unwrap();
    let path: PathBuf = folder.path().join("houses.book");
    let truth = a_book(&path);
    let sound = fs::read(&path).unwrap();
    let (flips, mut word) =
        (number("HANGTRUE_FLIPS", 400), number("HANGTRUE_FLIPS_SEED", 1).wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let mut chance = |below: usize| {
        // xorshift64 (Marsaglia 2003)
        word ^= word << 13;
        word ^= word >> 7;
        word ^= word << 17;
        usize::try_from(word % below as u64).unwrap()
    };
    let pages = sound.len() / 4096;
    // Half of them in what only helps to find the facts: leaves and nodes of indexes, the schema.
    let helpers: Vec<usize> = (0..pages).filter(|page| *page == 0 || matches!(sound[page * 4096], 2 | 10)).collect();
    let (mut silent, mut said, mut harmless, mut lost) = (Vec::new(), 0, 0, 0);
    for n in 0..flips {
        let page = if n % 2 == 0 { helpers[chance(helpers.len())] } else { chance(pages) };
        let (at, bit) = (page * 4096 + chance(4096), chance(8));
        let mut bytes = sound.clone();
        bytes[at] ^= 1 << bit;
        lay(&path, &bytes);
        let what = |what: &str| format!("bit {bit} of byte {at} (page {}): {what}", page + 1);
        let spoilt = match Book::open(&path, &mut moments(1000 + n)) {
            Ok(book) if !book.notices().is_empty() => {
                // Said at the opening. What is there now stands.
                said += 1;
                drop(book);
                false
            }
            Ok(book) => match holds(&book, &truth) {
                Ok(0) => {
                    harmless += 1;
                    // What no reading shows, a whole look may still find; it must not fail.
                    book.examine().unwrap();
                    false
                }
                Ok(_) => {
                    said += 1;
                    true
                }
                Err(wrong) => {
                    silent.push(what(&wrong));
                    false
                }
            },
            Err(_) => {
                said += 1;
                true
            }
        };
        // And what was said to be damaged is mended by the next opening, out of the facts themselves.
        if spoilt {
            match Book::open(&path, &mut moments(5000 + n)) {
                Ok(book) => {
                    let there = all_facts(&book).unwrap();
                    let mut missing = 0;
                    for notice in book.notices() {
                        if let Notice::Salvaged { missing: some, .. } = notice {
                            missing += some;
                        }
                    }
                    assert!(there.iter().all(|fact| truth.all.contains(fact)), "{}", what("a fact that nobody wrote"));
                    lost += truth.all.len() - there.len();
                    let least = truth.all.len() as u64;
                    assert!(there.len() as u64 + missing >= least, "{}", what("fewer facts, and not said"));
                    book.check().unwrap_or_else(|problem| panic!("{}", what(&problem.to_string())));
                }
                // A head that says that it is another's or a newer program's is left as it is, and said again.
                Err(StoreProblem::Newer { .. } | StoreProblem::NotABook { .. } | StoreProblem::Disk { .. }) => {}
                Err(problem) => panic!("{}", what(&problem.to_string())),
            }
        }
    }
    println!(
        "{flips} flips: {harmless} harmless, {said} said, {} silent; {lost} facts lost with their own bits",
        silent.len()
    );
    assert!(silent.is_empty(), "{} of {flips} were silent:\n{}", silent.len(), silent.join("\n"));
    assert!(
        said > flips / 10 && harmless > flips / 10,
        "the flips met something, and are not all said for another reason"
    );
}

#[test]
fn readings_that_an_index_hides_are_said_to_be_missing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("houses.book");
    let truth = a_book(&path);
    // As a flipped bit does it, but chosen: of one house's 181 rows in the index, 170 are filed under another's id.
    let conn = rusqlite::Connection::open(&path).unwrap();
    let larch = truth.lines.iter().find(|line| line.name == "Larch House").unwrap().job;
    conn.execute_batch("PRAGMA writable_schema = ON; DELETE FROM sqlite_schema WHERE name = 'fact_job';").unwrap();
    conn.execute_batch("PRAGMA writable_schema = RESET").unwrap();
    conn.execute(
        "CREATE INDEX fact_job ON fact (job) WHERE job <> ?1 OR seq % 20 = 0"
            .replace("?1", &format!("x'{}'", larch.simple()))
            .as_str(),
        [],
    )
    .unwrap();
    conn.execute_batch("PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = 'CREATE INDEX fact_job ON fact (job)' WHERE name = 'fact_job'; PRAGMA writable_schema = RESET").unwrap();
    drop(conn);
    let book = Book::open(&path, &mut moments(3)).unwrap();
    assert_eq!(book.notices(), []);
    let problem = book.facts(larch).unwrap_err();
    assert!(matches!(problem, StoreProblem::Damaged { .. }), "{problem}");
    assert!(problem.to_string().contains("there should be 181"), "{problem}");
    let found = book.examine().unwrap();
    assert!(!found.is_sound());
    drop(book);
    let book = Book::open(&path, &mut moments(4)).unwrap();
    assert!(matches!(book.notices(), [Notice::Salvaged { missing: 0, .. }, ..]), "{:?}", book.notices());
    assert_eq!(book.facts(larch).unwrap().len(), 181);
    assert!(book.examine().unwrap().is_sound());
}

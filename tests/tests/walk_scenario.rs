//! One house keyed in, with slips, kills, undo and a second device: `fixtures/scenarios/`. Runs it through the bindings
//! as a shell would and writes the digest of every screen under `target/scenarios/`, where the Python, Kotlin and Swift
//! runners find what they must see too.

use hangtrue_bindings::{HouseBook, event_from_json};
use hangtrue_core::walk::{Event, PadKey};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("tests stand in the repository").to_owned()
}

/// The books of a scenario, by name, each in its folder.
struct Books {
    folder: tempfile::TempDir,
    open: BTreeMap<String, Arc<HouseBook>>,
    now: String,
}

impl Books {
    fn book(&self) -> &Arc<HouseBook> {
        &self.open[&self.now]
    }

    fn open(&mut self, name: &str, seed: u64) {
        // The old one first: two at once would be two programs on one file.
        self.open.remove(name);
        let folder = self.folder.path().join(name);
        let book = HouseBook::open_seeded(folder.to_string_lossy().into_owned(), seed).unwrap();
        self.open.insert(name.to_owned(), book);
        name.clone_into(&mut self.now);
    }
}

fn text<'a>(step: &'a Value, field: &str) -> Option<&'a str> {
    step.get(field).and_then(Value::as_str)
}

/// The keys of a number as it is written: digits, a point, a foot mark, a minus sign, a fraction.
fn keys(number: &str) -> Vec<PadKey> {
    let mut keys = Vec::new();
    for word in number.split_whitespace() {
        if let Some((n, d)) = word.split_once('/') {
            let sixteenths = n.parse::<u8>().unwrap() * 16 / d.parse::<u8>().unwrap();
            keys.push(PadKey::Sixteenths(sixteenths));
            continue;
        }
        keys.extend(word.chars().map(|c| match c {
            '.' => PadKey::Point,
            '\'' => PadKey::Feet,
            '-' => PadKey::Sign,
            '<' => PadKey::Erase,
            digit => PadKey::Digit(u8::try_from(digit.to_digit(10).unwrap()).unwrap()),
        }));
    }
    keys
}

fn run(name: &str) -> (usize, String) {
    let path = root().join("fixtures/scenarios").join(name);
    let scenario: Value = serde_json::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut books = Books { folder, open: BTreeMap::new(), now: String::new() };
    let mut digests = String::new();
    let mut checked = 0;
    for (n, step) in scenario["steps"].as_array().unwrap().iter().enumerate() {
        let at = || format!("{name}, step {n}: {step}");
        if let Some(book) = text(step, "open") {
            books.open(book, step["seed"].as_u64().unwrap());
        } else if let Some(book) = text(step, "book") {
            book.clone_into(&mut books.now);
        } else if let Some(touch) = text(step, "touch") {
            let event = books.book().event_of(touch.to_owned()).unwrap_or_else(|fault| panic!("{}: {fault}", at()));
            books.book().act(event).unwrap_or_else(|fault| panic!("{}: {fault}", at()));
        } else if let Some(number) = text(step, "type") {
            for key in keys(number) {
                books.book().act(Event::Press { key }).unwrap_or_else(|fault| panic!("{}: {fault}", at()));
            }
        } else if let Some(slot) = text(step, "words") {
            let event = Event::TypeWords { slot: slot.to_owned(), text: text(step, "text").unwrap().to_owned() };
            books.book().act(event).unwrap_or_else(|fault| panic!("{}: {fault}", at()));
        } else if let Some(event) = step.get("event") {
            let event = event_from_json(event.to_string()).unwrap();
            books.book().act(event).unwrap_or_else(|fault| panic!("{}: {fault}", at()));
        } else if let Some(event) = step.get("refused") {
            let event = event_from_json(event.to_string()).unwrap();
            let before = books.book().screen_digest().unwrap();
            books.book().act(event).expect_err(&at());
            assert_eq!(books.book().screen_digest().unwrap(), before, "{}", at());
        } else if let Some(ms) = step.get("clock_step").and_then(Value::as_u64) {
            books.book().set_clock_step(ms).unwrap();
        } else if let Some(from) = text(step, "merge_from") {
            let batch = books.open[from].facts_after(0, 10_000).unwrap();
            books.book().merge_facts(batch.lines).unwrap();
        } else if let Some(lines) = text(step, "merge") {
            books.book().merge_facts(lines.to_owned()).unwrap();
        } else if let Some(same) = step.get("same_houses").and_then(Value::as_array) {
            let houses: Vec<String> =
                same.iter().map(|name| books.open[name.as_str().unwrap()].houses_digest().unwrap()).collect();
            assert!(houses.windows(2).all(|pair| pair[0] == pair[1]), "{}", at());
        } else {
            panic!("{}: there is no such step", at());
        }
        if let Some(expected) = step.get("expect").and_then(Value::as_object) {
            let screen: Value = serde_json::from_str(&books.book().screen_json().unwrap()).unwrap();
            for (pointer, wanted) in expected {
                let found = screen.pointer(pointer).unwrap_or(&Value::Null);
                assert_eq!(found, wanted, "{} {pointer}", at());
                checked += 1;
            }
        }
        let (screen, houses) = (books.book().screen_digest().unwrap(), books.book().houses_digest().unwrap());
        writeln!(digests, "{screen} {houses}").unwrap();
    }
    (checked, digests)
}

#[test]
fn every_scenario_shows_what_it_should() {
    let out = root().join("target/scenarios");
    std::fs::create_dir_all(&out).unwrap();
    let mut names: Vec<String> = std::fs::read_dir(root().join("fixtures/scenarios"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| Path::new(name).extension().is_some_and(|ending| ending == "json"))
        .collect();
    names.sort();
    assert!(!names.is_empty());
    for name in names {
        let (checked, digests) = run(&name);
        println!("{name}: {} steps, {checked} values checked", digests.lines().count());
        assert!(checked > 0, "{name} expects nothing");
        std::fs::write(out.join(name).with_extension("digests"), digests).unwrap();
    }
}

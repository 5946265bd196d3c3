//! The program at a prompt: what to do first, completions and the manual, slips in names, tables that fit a terminal, lists
//! for other programs.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

const HERON: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/houses/heron-lane.json");
const QUAY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/houses/quay-flat.json");

fn hangtrue(at: &Path, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hangtrue"));
    command.current_dir(at).env_remove("HANGTRUE_BOOK").args(words).output().expect("the program runs")
}

fn done(at: &Path, words: &[&str]) -> String {
    let out = hangtrue(at, words);
    assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn refused(at: &Path, words: &[&str]) -> String {
    let out = hangtrue(at, words);
    assert_eq!(out.status.code(), Some(3), "{words:?}");
    String::from_utf8(out.stderr).unwrap()
}

fn listed(at: &Path, words: &[&str]) -> Value {
    let text = done(at, words);
    assert_eq!(text.lines().count(), 1, "one object on one line: {text}");
    serde_json::from_str(&text).unwrap()
}

/// A folder with both invented houses in its book.
fn desk() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    done(folder.path(), &["take", HERON, QUAY]);
    folder
}

#[test]
fn with_nothing_to_do_it_says_what_to_do_first() {
    let folder = tempfile::tempdir().unwrap();
    let before = done(folder.path(), &[]);
    assert!(before.contains("hangtrue demo") && before.contains("hangtrue open"), "{before}");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "it made something");
    let folder = desk();
    let after = done(folder.path(), &[]);
    assert!(after.contains("Your book is here: hangtrue.book") && !after.contains("demo"), "{after}");
    for text in [&before, &after] {
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        // Every command that it names is one.
        for line in text.lines().filter_map(|line| line.trim().strip_prefix("hangtrue ")) {
            let command = line.split_whitespace().next().unwrap();
            done(folder.path(), &[command, "--help"]);
        }
    }
}

#[test]
fn shells_complete_every_command_and_the_manual_has_a_page_for_each() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let help = done(at, &["--help"]);
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.len() > 25 && commands.contains(&"completions"), "{commands:?}");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = done(at, &["completions", shell]);
        assert!(commands.iter().all(|command| script.contains(command)), "{shell}");
    }
    // The shell itself takes the script, and completes with it.
    std::fs::write(at.join("completions"), done(at, &["completions", "bash"])).unwrap();
    let asked = r#"source ./completions; COMP_WORDS=(hangtrue sho); COMP_CWORD=1; _hangtrue hangtrue sho hangtrue; echo "${COMPREPLY[*]}""#;
    let bash = Command::new("bash").args(["--norc", "-c", asked]).current_dir(at).output();
    match bash {
        Ok(out) => assert_eq!(String::from_utf8_lossy(&out.stdout).trim(), "show", "{out:?}"),
        Err(error) => println!("SKIPPED: bash does not run here: {error}"),
    }
    let page = done(at, &["manual"]);
    assert!(page.contains(".TH hangtrue 1") && page.contains("EXIT CODES") | page.contains("Exit codes"), "{page}");
    done(at, &["manual", "--out", "man"]);
    for command in commands.iter().filter(|command| **command != "help") {
        let path = at.join(format!("man/hangtrue-{command}.1"));
        let page = std::fs::read_to_string(&path).unwrap_or_else(|_| panic!("{} is not there", path.display()));
        assert!(page.starts_with(".ie") && page.contains(".SH SYNOPSIS"), "{command}: {page}");
    }
}

#[test]
fn a_slip_in_a_name_is_answered_with_what_was_meant() {
    let folder = desk();
    let at = folder.path();
    for (words, meant) in [
        (&["show", "herron"][..], "did you mean \"Heron Lane, number nine\"?"),
        (&["show", "Quai flat"], "did you mean \"Quay flat, third floor\"?"),
        (&["show", "heron", "studdy, east"], "did you mean \"Study, East\""),
        (&["show", "heron", "stduy, east"], "did you mean \"Study, East\""),
        (&["sheets", "heron", "--opening", "dormr"], "Dormer\""),
        (&["ask", "heron", "studdy, east", "--why", "x"], "did you mean \"Study, East\""),
        (&["read", "heron", "study, east", "widht_top", "36"], "did you mean width_top"),
        (&["export", "observatory"], "they are: "),
        (&["show", "heron", "observatory"], "hangtrue show HOUSE lists them"),
    ] {
        let said = refused(at, words);
        assert!(said.contains(meant), "{words:?}: {said}");
    }
    // A mistyped command is clap's own to answer.
    let out = hangtrue(at, &["shwo"]);
    assert_eq!(out.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&out.stderr).contains("'show'"), "{out:?}");
    // A part that is in several names lists them; a whole name goes before a part of another's.
    let said = refused(at, &["show", "heron", "study"]);
    assert!(said.contains("Study, East; ") || said.contains("; Study, East"), "{said}");
}

#[test]
fn every_table_fits_eighty_columns() {
    let folder = desk();
    let at = folder.path();
    let mut tables = vec![done(at, &["houses"])];
    for house in ["heron", "quay"] {
        tables.push(done(at, &["show", house]));
        for opening in listed(at, &["show", house, "--json"])["openings"].as_array().unwrap() {
            let name = format!("{}, {}", opening["room"].as_str().unwrap(), opening["opening"].as_str().unwrap());
            tables.push(done(at, &["show", house, &name]));
        }
    }
    assert!(tables.len() > 15);
    for line in tables.iter().flat_map(|table| table.lines()).filter(|line| line.starts_with(['│', '┌', '╞', '└']))
    {
        assert!(line.chars().count() <= 80, "{} wide: {line}", line.chars().count());
    }
}

#[test]
fn what_is_asked_stands_where_the_house_and_the_opening_are_shown() {
    let folder = desk();
    let at = folder.path();
    assert!(!done(at, &["show", "heron"]).contains("To measure again:"));
    done(at, &["ask", "heron", "study, east", "--place", "width_top", "--why", "an inch out?", "--by", "Ida"]);
    for words in [&["show", "heron"][..], &["show", "heron", "study, east"]] {
        let text = done(at, words);
        assert!(text.contains("To measure again: top width. an inch out? (Ida, "), "{text}");
    }
    assert!(done(at, &["houses"]).replace('\n', " ").contains("to measure"));
    let asks = listed(at, &["asks", "--json"]);
    let asked = &asks["asks"][0];
    assert_eq!((&asked["room"], &asked["opening"], &asked["by"]), (&"Study".into(), &"East".into(), &"Ida".into()));
    assert_eq!(asked["places"], serde_json::json!(["width_top"]));
    assert_eq!(listed(at, &["houses", "--json"])["houses"][0]["asked"], 1);
    // Read, it stands nowhere any more.
    done(at, &["read", "heron", "study, east", "top width", "35 7/8"]);
    assert!(!done(at, &["show", "heron"]).contains("To measure again:"));
    assert_eq!(listed(at, &["asks", "--json"]), serde_json::json!({ "asks": [] }));
}

/// Every text in a value under one of these names.
fn under<'a>(value: &'a Value, names: &[&str], found: &mut Vec<&'a Value>) {
    match value {
        Value::Object(fields) => {
            for (name, field) in fields {
                if names.contains(&name.as_str()) {
                    found.push(field);
                }
                under(field, names, found);
            }
        }
        Value::Array(all) => all.iter().for_each(|each| under(each, names, found)),
        _ => {}
    }
}

#[test]
fn lists_for_programs_hold_exact_lengths_as_texts_that_read_back() {
    use hangtrue_core::length::{Length, LengthUnit, Typed};
    let folder = desk();
    let at = folder.path();
    let houses = listed(at, &["houses", "--json"]);
    assert_eq!(houses["houses"].as_array().unwrap().len(), 2);
    const LENGTHS: [&str; 12] = [
        "width",
        "length",
        "projection",
        "adds_above",
        "board_length",
        "read",
        "fold",
        "head",
        "flap",
        "raised",
        "from_left",
        "pilot",
    ];
    let mut lengths = 0;
    for house in houses["houses"].as_array().unwrap() {
        let name = house["name"].as_str().unwrap();
        let whole = listed(at, &["show", name, "--json"]);
        assert_eq!(whole["openings"].as_array().unwrap().len() as u64, house["openings"].as_u64().unwrap());
        for one in whole["openings"].as_array().unwrap() {
            let called = format!("{}, {}", one["room"].as_str().unwrap(), one["opening"].as_str().unwrap());
            let opening = listed(at, &["show", name, &called, "--json"]);
            // An opening alone says all that its house's list says of it.
            for (field, value) in one.as_object().unwrap() {
                // Alone, the others of its set are in it too.
                assert_eq!(&opening[field], value, "{called}: {field}");
            }
            let mut found = Vec::new();
            under(&opening, &LENGTHS, &mut found);
            for value in found.into_iter().filter(|value| !value.is_null()) {
                let text = value.as_str().unwrap_or_else(|| panic!("{called}: {value} is no text"));
                // Under whichever unit it is read, it is the same length.
                let [inch, metre] = [LengthUnit::Inch, LengthUnit::Metre].map(|unit| Typed::read(text, unit).unwrap());
                assert_eq!(inch.value(), metre.value(), "{called}: {text}");
                lengths += usize::from(inch.value() > Length::ZERO);
            }
        }
    }
    assert!(lengths > 300, "only {lengths} lengths");
    // Worked out by hand (docs/worked-by-hand.md): Study, East.
    let east = listed(at, &["show", "heron", "study, east", "--json"]);
    assert_eq!((&east["width"], &east["length"]), (&"35 1/2 in".into(), &"47 3/4 in".into()));
    let questions = listed(at, &["decide", "heron", "study, north", "--json"]);
    assert!(questions["says"].is_string() && questions["questions"].is_array());
    assert_eq!(listed(at, &["hub", "devices", "--json"]), serde_json::json!({ "devices": [] }));
    assert_eq!(listed(at, &["hub", "audit", "--json"]), serde_json::json!({ "audit": [] }));
}

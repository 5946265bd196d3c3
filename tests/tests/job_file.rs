//! The job file and its JSON Schema: the fixtures are written back to the byte, slips are refused, and the schema knows
//! every place and setting that core knows. `tests/peers/job_file.py` holds the schema itself against a general-purpose
//! validator, with the slips in `fixtures/job-file-slips.json` that both sides read.

use hangtrue_core::house::{Place, file};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::settings::{Settings, Value as Setting};
use serde_json::Value;
use std::fs;
use std::path::Path;

fn fixtures() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures")
}

fn schema() -> Value {
    serde_json::from_str(&fs::read_to_string(fixtures().join("job-file.schema.json")).unwrap()).unwrap()
}

fn houses() -> Vec<(String, String)> {
    let mut houses: Vec<_> = fs::read_dir(fixtures().join("houses"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.display().to_string(), fs::read_to_string(&path).unwrap()))
        .collect();
    houses.sort();
    assert!(houses.len() >= 2);
    houses
}

#[test]
fn the_fixtures_are_read_and_written_back_to_the_byte() {
    for (path, text) in houses() {
        let job = file::read(&text).unwrap_or_else(|problem| panic!("{path}: {problem}"));
        assert!(file::write(&job) == text, "{path} is not written back as it stands");
    }
}

#[test]
fn slips_are_refused_with_what_and_what_would_be_right() {
    let slips: Vec<(String, Value)> =
        serde_json::from_str(&fs::read_to_string(fixtures().join("job-file-slips.json")).unwrap()).unwrap();
    assert!(slips.len() >= 9);
    let (_, text) = houses().remove(0);
    let base: Value = serde_json::from_str(&text).unwrap();
    for (pointer, value) in slips {
        let mut slip = base.clone();
        let (parent, key) = pointer.rsplit_once('/').unwrap();
        slip.pointer_mut(parent).unwrap().as_object_mut().unwrap().insert(key.to_owned(), value);
        let problem = file::read(&slip.to_string()).expect_err(&pointer);
        assert!(!problem.what.is_empty() && !problem.right.is_empty(), "{pointer}: {problem}");
    }
}

#[test]
fn the_schema_knows_every_place_and_setting() {
    let schema = schema();
    let places: Vec<&str> =
        schema["$defs"]["place"]["enum"].as_array().unwrap().iter().map(|v| v.as_str().unwrap()).collect();
    assert_eq!(places, Place::ALL.iter().map(|place| place.code()).collect::<Vec<_>>());
    let known = schema["$defs"]["settings"]["properties"].as_object().unwrap();
    let rows = Settings::INCHES.rows(LengthUnit::Inch);
    for row in &rows {
        let form = known.get(row.name).unwrap_or_else(|| panic!("the schema lacks the setting {}", row.name));
        assert_eq!(form.get("type").is_some(), matches!(row.value, Setting::Whole(_)), "{}", row.name);
    }
    assert_eq!(known.len(), rows.len());
}

#[test]
fn whatever_a_file_holds_the_reader_answers() {
    let (_, text) = houses().remove(0);
    // Cut anywhere, a file is refused in words and never takes the program down.
    for cut in (0..text.len()).step_by(397) {
        if text.is_char_boundary(cut) {
            let problem = file::read(&text[..cut]).expect_err("half a file");
            assert!(problem.line >= 1);
        }
    }
}

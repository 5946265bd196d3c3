//! The job file: one house as versioned JSON. `fixtures/job-file.schema.json` is its JSON Schema.
//!
//! A file that cannot be used is refused whole, with the line, the path of the field, what is wrong and what
//! would be right; nothing in it is dropped in silence.

use super::{Job, Place, Reading, gather, spread};
use crate::json;
use crate::length::{LengthUnit, with_default_unit};
use crate::mount::Catalogue;
use crate::settings::nearest;
use serde::de::{DeserializeSeed, Deserializer, Error as _, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Serialize, Serializer};
use std::collections::BTreeSet;

/// The version this program writes, and the newest it reads.
pub const VERSION: u32 = 1;

/// The version a job file carries. There is one so far, so it holds nothing.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct FileVersion;

impl Serialize for FileVersion {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_u32(VERSION)
    }
}

impl<'de> Deserialize<'de> for FileVersion {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        match u32::deserialize(from)? {
            VERSION => Ok(Self),
            other => {
                Err(D::Error::custom(format!("version {other} is not read here; this program reads version {VERSION}")))
            }
        }
    }
}

/// Why a job file was refused.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("line {line}{}: {what}; {right}", if .path.is_empty() { String::new() } else { format!(", {}", .path) })]
pub struct FileProblem {
    /// The line, counted from 1.
    pub line: usize,
    /// The path of the field: `rooms[0].openings[2].readings[1].read`.
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub right: String,
}

/// What is read before the rest: the version, and the unit that bare numbers take.
#[derive(Deserialize)]
struct Head {
    hangtrue_job: Option<u64>,
    unit: Option<LengthUnit>,
}

/// Writes a job as its file, ending in a newline.
pub fn write(job: &Job) -> String {
    // What several shades in one opening share stands once.
    let mut once;
    let job = if job.openings().any(|(_, one)| one.shares.is_some()) {
        once = job.clone();
        gather(&mut once);
        &once
    } else {
        job
    };
    let mut text = with_default_unit(job.unit, || serde_json::to_string_pretty(job))
        .expect("a job has no map with keys that are not text, so it always becomes JSON");
    text.push('\n');
    text
}

/// Reads a job file.
///
/// # Errors
/// [`FileProblem`]: not JSON, no version or a newer one, an unknown or missing field, a value of the wrong form, a
/// name used twice or named nowhere, a sign where a place has none.
pub fn read(text: &str) -> Result<Job, FileProblem> {
    let text = json::without_mark(text);
    let problem =
        |line, path: &str, what: String, right: String| FileProblem { line, path: path.to_owned(), what, right };
    if text.trim().is_empty() {
        let right = "a job file is one JSON object; `hangtrue export` writes one".to_owned();
        return Err(problem(1, "", "the file is empty".to_owned(), right));
    }
    if let Some(doubled) = json::doubled_key(text) {
        let right = doubled.right();
        return Err(problem(doubled.line, &doubled.path, doubled.to_string(), right));
    }
    let head: Head = serde_json::from_str(text).map_err(|error| {
        let (what, right) = if error.is_data() {
            (plain(&error), "a job file starts with \"hangtrue_job\": 1 and a \"unit\": \"in\" or \"mm\"")
        } else {
            (format!("this is not JSON: {}", plain(&error)), "a job file is one JSON object")
        };
        problem(error.line().max(1), "", what, right.to_owned())
    })?;
    match head.hangtrue_job {
        Some(version) if version == u64::from(VERSION) => {}
        Some(version) => {
            let right = format!(
                "this program reads version {VERSION}; a newer program reads this file, and it is left as it is"
            );
            return Err(problem(
                line_at(text, "hangtrue_job"),
                "hangtrue_job",
                format!("this is a job file of version {version}"),
                right,
            ));
        }
        None => {
            let right = format!("a job file has \"hangtrue_job\": {VERSION}");
            return Err(problem(1, "hangtrue_job", "the version is missing".to_owned(), right));
        }
    }
    let unit = head.unit.ok_or_else(|| {
        problem(1, "unit", "the unit is missing".to_owned(), "write \"unit\": \"in\" or \"unit\": \"mm\"".to_owned())
    })?;
    let mut job: Job = with_default_unit(unit, || json::read(text)).map_err(|misread| {
        let (what, right) = split_advice(&plain(&misread.error));
        problem(misread.error.line().max(1), &misread.path, what, right)
    })?;
    check(&job).map_err(|(path, what, right)| problem(line_at(text, &path), &path, what, right))?;
    spread(&mut job);
    Ok(job)
}

/// The message of a JSON error without its own "at line … column …".
pub(crate) fn plain(error: &serde_json::Error) -> String {
    let text = error.to_string();
    text.split(" at line ").next().unwrap_or(&text).to_owned()
}

/// Parts a message into what is wrong and what would be right.
pub(crate) fn split_advice(said: &str) -> (String, String) {
    if let Some(rest) = said.strip_prefix("unknown field `") {
        let (name, list) = rest.split_once("`, expected ").unwrap_or((rest, ""));
        let known: Vec<&str> = list.split('`').skip(1).step_by(2).collect();
        let right = if known.is_empty() {
            "leave it out".to_owned()
        } else {
            format!("the nearest known field is \"{}\"; known here: {}", nearest(name, &known), known.join(", "))
        };
        return (format!("there is no field \"{name}\" here"), right);
    }
    if let Some(rest) = said.strip_prefix("unknown variant `") {
        let (name, list) = rest.split_once("`, expected ").unwrap_or((rest, ""));
        let known: Vec<&str> = list.split('`').skip(1).step_by(2).collect();
        return (format!("\"{name}\" is not a choice here"), format!("it is one of: {}", known.join(", ")));
    }
    if let Some(rest) = said.strip_prefix("missing field `") {
        let name = rest.trim_end_matches('`');
        return (format!("the field \"{name}\" is missing"), format!("add \"{name}\""));
    }
    match said.split_once("; ") {
        Some((what, right)) => (what.to_owned(), right.to_owned()),
        None => match said.split_once(", expected ") {
            Some((what, right)) => (what.to_owned(), format!("expected {right}")),
            None => (said.to_owned(), "see fixtures/job-file.schema.json for its form".to_owned()),
        },
    }
}

/// The line of the value at `path`, found by reading the text again and stopping there.
fn line_at(text: &str, path: &str) -> usize {
    let steps: Vec<&str> =
        path.split(['.', '[']).map(|step| step.trim_end_matches(']')).filter(|step| !step.is_empty()).collect();
    let stop = StopAt { steps: &steps }.deserialize(&mut serde_json::Deserializer::from_str(text));
    stop.err().map_or(1, |error| error.line().max(1))
}

/// Reads JSON down a path and fails at its end, so that the reader tells the line.
struct StopAt<'a> {
    steps: &'a [&'a str],
}

impl<'de> DeserializeSeed<'de> for StopAt<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        if self.steps.is_empty() {
            IgnoredAny::deserialize(from)?;
            return Err(D::Error::custom("here"));
        }
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for StopAt<'_> {
    type Value = ();

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "an object or array that holds {}", self.steps[0])
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key::<String>()? {
            if key == self.steps[0] {
                map.next_value_seed(StopAt { steps: &self.steps[1..] })?;
            } else {
                map.next_value::<IgnoredAny>()?;
            }
        }
        Err(A::Error::custom("the path ends here"))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<(), A::Error> {
        let wanted: usize = self.steps[0].parse().map_err(A::Error::custom)?;
        for _ in 0..wanted {
            if items.next_element::<IgnoredAny>()?.is_none() {
                break;
            }
        }
        items.next_element_seed(StopAt { steps: &self.steps[1..] })?;
        Err(A::Error::custom("the path ends here"))
    }
}

type Trouble = (String, String, String);

/// What the form alone cannot say: ids and names used once, names that are known, signs where they belong.
fn check(job: &Job) -> Result<(), Trouble> {
    let mut ids = BTreeSet::new();
    let mut once = |id: uuid::Uuid, path: String| {
        if ids.insert(id) {
            Ok(())
        } else {
            Err((path, format!("the id {id} is used twice"), "every id stands once in a job".to_owned()))
        }
    };
    once(job.id, "id".to_owned())?;
    let mut names = BTreeSet::new();
    for (i, cloth) in job.cloths.iter().enumerate() {
        if !names.insert(cloth.name.as_str()) {
            return Err((
                format!("cloths[{i}].name"),
                format!("the cloth \"{}\" stands twice", cloth.name),
                "give each cloth its own name".to_owned(),
            ));
        }
    }
    let catalogue = Catalogue::standard(job.unit);
    job.hardware
        .check(|name| catalogue.screw(name).is_some())
        .map_err(|(path, what, right)| (format!("hardware.{path}"), what, right.to_owned()))?;
    for (r, room) in job.rooms.iter().enumerate() {
        once(room.id, format!("rooms[{r}].id"))?;
        for (o, opening) in room.openings.iter().enumerate() {
            let path = format!("rooms[{r}].openings[{o}]");
            once(opening.id, format!("{path}.id"))?;
            for (i, reading) in opening.readings.iter().enumerate() {
                once(reading.id, format!("{path}.readings[{i}].id"))?;
                check_reading(job, reading, &format!("{path}.readings[{i}]"))?;
            }
            for (i, decision) in opening.decisions.iter().enumerate() {
                once(decision.id, format!("{path}.decisions[{i}].id"))?;
            }
            if let Some(name) = &opening.choices.cloth
                && job.cloth(name).is_none()
            {
                let known: Vec<&str> = job.cloths.iter().map(|cloth| cloth.name.as_str()).collect();
                let right = if known.is_empty() {
                    "add it to \"cloths\"".to_owned()
                } else {
                    format!("the cloths of this job: {}", known.join(", "))
                };
                return Err((format!("{path}.choices.cloth"), format!("there is no cloth \"{name}\""), right));
            }
        }
    }
    Ok(())
}

fn check_reading(job: &Job, reading: &Reading, path: &str) -> Result<(), Trouble> {
    sign_belongs(reading.place, reading)
        .map_err(|what| (format!("{path}.read"), what, "leave out the minus sign".to_owned()))?;
    if !reading.with.is_empty() && job.instrument(&reading.with).is_none() {
        let right = "name it in \"instruments\" of the job".to_owned();
        return Err((format!("{path}.with"), format!("there is no instrument \"{}\"", reading.with), right));
    }
    Ok(())
}

fn sign_belongs(place: Place, reading: &Reading) -> Result<(), String> {
    if reading.value().is_negative() && !place.has_sign() {
        Err(format!("the {} cannot be negative", place.words()))
    } else {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SMALL: &str = r#"{
  "hangtrue_job": 1,
  "id": "0192a3b4-0000-7000-8000-000000000001",
  "name": "Larch House",
  "unit": "in",
  "rooms": [
    {
      "id": "0192a3b4-0000-7000-8000-000000000002",
      "name": "Study",
      "openings": [
        {
          "id": "0192a3b4-0000-7000-8000-000000000003",
          "name": "North",
          "readings": [
            {"id": "0192a3b4-0000-7000-8000-000000000004", "place": "width_top", "read": "34 3/8", "at": "2026-05-04T09:12:00Z"},
            {"id": "0192a3b4-0000-7000-8000-000000000005", "place": "height_left", "read": "1500 mm", "at": "2026-05-04T09:13:00Z"}
          ]
        }
      ]
    }
  ]
}"#;

    #[test]
    fn what_is_written_reads_back_equal() {
        let job = read(SMALL).unwrap();
        let again = read(&write(&job)).unwrap();
        assert_eq!(write(&again), write(&job));
        assert_eq!(again.rooms[0].openings[0].readings[1].value(), crate::length::Length::mm(1500));
    }

    #[test]
    fn a_name_that_stands_twice_is_refused_and_a_byte_order_mark_is_passed_over() {
        assert_eq!(read(&format!("\u{feff}{SMALL}")).unwrap(), read(SMALL).unwrap());
        let twice = SMALL.replace(
            "\"unit\": \"in\",",
            "\"unit\": \"in\", \"settings\": {\"anchor_factor\": 5,\n\"anchor_factor\": 4},",
        );
        let problem = read(&twice).unwrap_err();
        assert_eq!((problem.line, problem.path.as_str()), (6, "settings"), "{problem}");
        assert!(problem.what.contains("stands twice") && problem.right.contains("keep one"), "{problem}");
        assert!(read(" \n").unwrap_err().what.contains("empty"));
    }

    #[test]
    fn refusals_name_line_path_and_the_right_form() {
        for (from, to, line, path, what) in [
            ("34 3/8", "34 3/7", 15, "rooms[0].openings[0].readings[0].read", "3/7 is not on a tape"),
            ("\"width_top\"", "\"width_tip\"", 15, "rooms[0].openings[0].readings[0].place", "not a choice"),
            ("\"read\": \"34", "\"raed\": \"34", 15, "rooms[0].openings[0].readings[0]", "no field \"raed\""),
            ("\"34 3/8\"", "\"-34 3/8\"", 15, "rooms[0].openings[0].readings[0].read", "cannot be negative"),
            ("000000000005", "000000000004", 16, "rooms[0].openings[0].readings[1].id", "used twice"),
            ("\"unit\": \"in\",", "", 1, "unit", "the unit is missing"),
            ("\"hangtrue_job\": 1", "\"hangtrue_job\": 2", 2, "hangtrue_job", "version 2"),
            (
                "\"name\": \"North\",",
                "\"name\": \"North\", \"colour\": 3,",
                13,
                "rooms[0].openings[0]",
                "no field \"colour\"",
            ),
            (
                "09:13:00Z\"}",
                "09:13:00Z\", \"with\": \"tape 9\"}",
                16,
                "rooms[0].openings[0].readings[1].with",
                "no instrument \"tape 9\"",
            ),
            ("\"rooms\": [", "\"rooms\": [,", 6, "", "not JSON"),
        ] {
            assert!(SMALL.contains(from), "{from}");
            let problem = read(&SMALL.replacen(from, to, 1)).expect_err(from);
            assert!(problem.what.contains(what), "{from}: {problem}");
            assert!(problem.path.starts_with(path), "{from}: {problem}");
            assert_eq!(problem.line, line, "{from}: {problem}");
            assert!(!problem.right.is_empty());
        }
    }
}

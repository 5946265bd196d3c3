//! `size` as a calculator: one line of JSON with an opening's readings and choices in, every mount worked out.
//!
//! A line that cannot be used is answered with where it went wrong, what was found and what would be right.

use super::{Catalogue, Clearance, FlushWay, Mounting, Refusal, Working, work_readings};
use crate::house::file::{plain, split_advice};
use crate::house::{Choices, Wall};
use crate::length::{Length, LengthUnit, with_default_unit};
use crate::truth::calculator::{Refused, Trouble, read, write};
use crate::truth::{Around, judge_around};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

/// Sizes one opening: `{"id":"a","unit":"in","readings":{"width_top":["35 7/8"],...},"wall":{...},"choices":{...}}`.
/// Readings, `skipped`, `settings` and `instrument` are as `truth` takes them; `wall` and `choices` as a job file's
/// openings have them; `catalogue` (a whole catalogue) replaces the built-in one.
///
/// Always one line of JSON, without its newline: the ways that can be (`can`), those that cannot (`cannot`), the one
/// that is advised and why. Lengths are exact texts in the unit that came in.
///
/// ```
/// let line = r#"{"id":"a","unit":"in","readings":{"trim_width":["41"],"trim_height":["62 1/2"],"trim_thickness":["1/2"]},
///                "choices":{"mount":"outside","side_overlap":"1"}}"#;
/// let answer = hangtrue_core::mount::calculator::answer(line, 1);
/// assert!(answer.starts_with(r#"{"id":"a","advised":"outside_flush","#), "{answer}");
/// assert!(answer.contains(r#""finished_width":"43","finished_length":"63 3/4""#), "{answer}");
/// ```
pub fn answer(text: &str, line: usize) -> String {
    let mut id = Value::Null;
    let mut more = [("wall", None), ("choices", None), ("catalogue", None)];
    let worked = read(text, line, &mut id, &mut more).and_then(|(readings, settings)| {
        let unit = readings.unit;
        let [(_, wall), (_, choices), (_, catalogue)] = more;
        let wall: Wall = part(wall, "wall", unit, line)?;
        let choices: Choices = part(choices, "choices", unit, line)?;
        let own = catalogue
            .map(|value| {
                Catalogue::read(&value.to_string()).map_err(|problem| Trouble {
                    place: format!("line {line}, catalogue.{}", problem.path),
                    what: problem.what,
                    right: problem.right,
                })
            })
            .transpose()?;
        let catalogue = own.as_ref().unwrap_or_else(|| Catalogue::standard(unit));
        let truth = judge_around(&readings, &Around::of_choices(&choices, &wall), &settings);
        let mounts = work_readings(&readings, &wall, &choices, &truth, &settings, catalogue);
        Ok(json!({
            "id": id,
            "advised": mounts.advised,
            "because": mounts.because,
            "can": mounts.can.iter().map(|mounting| mounting_out(mounting, unit)).collect::<Vec<_>>(),
            "cannot": mounts.cannot.iter().map(refusal_out).collect::<Vec<_>>(),
            "flags": truth.flags,
            "missing": truth.missing,
        }))
    });
    match worked {
        Ok(value) => write(&value),
        Err(error) => write(&Refused { id, error }),
    }
}

/// A field that has the form of a job file's.
fn part<T: DeserializeOwned + Default>(
    value: Option<Value>,
    name: &str,
    unit: LengthUnit,
    line: usize,
) -> Result<T, Trouble> {
    let Some(value) = value else { return Ok(T::default()) };
    with_default_unit(unit, || serde_path_to_error::deserialize(value)).map_err(|error| {
        let path = error.path().to_string();
        let path = if path == "." { name.to_owned() } else { format!("{name}.{path}") };
        let (what, right) = split_advice(&plain(error.inner()));
        Trouble { place: format!("line {line}, {path}"), what, right }
    })
}

/// The unit of a calculator's line, and its name.
#[derive(Deserialize)]
struct Head {
    #[serde(default)]
    id: Value,
    unit: Option<LengthUnit>,
}

/// Answers one line whose fields are those of `T` (which knows `id` and `unit` as well): the shared frame of
/// calculators that take no readings. `work` answers with an object, to which the id is put in front, or with the
/// path, what is wrong and what would be right.
pub(crate) fn answer_with<T: DeserializeOwned>(
    text: &str,
    line: usize,
    form: &str,
    work: impl FnOnce(T, LengthUnit) -> Result<Value, [String; 3]>,
) -> String {
    let trouble = |path: &str, what: String, right: String| Trouble {
        place: if path.is_empty() { format!("line {line}") } else { format!("line {line}, {path}") },
        what,
        right,
    };
    let refused = |id: Value, error: Trouble| write(&Refused { id, error });
    let head: Head = match serde_json::from_str(text) {
        Ok(head) => head,
        Err(error) => {
            let id = match serde_json::from_str(text) {
                Ok(Value::Object(map)) => map.get("id").cloned().unwrap_or(Value::Null),
                _ => Value::Null,
            };
            let what = if error.is_data() {
                split_advice(&plain(&error)).0
            } else {
                format!("this is not JSON at character {}: {}", error.column(), plain(&error))
            };
            let right = form.to_owned();
            return refused(id, trouble("", what, right));
        }
    };
    let Some(unit) = head.unit else {
        let right = "write \"unit\": \"in\" or \"unit\": \"mm\" (also ft, cm, m)".to_owned();
        return refused(head.id, trouble("unit", "the unit is missing".to_owned(), right));
    };
    let mut reader = serde_json::Deserializer::from_str(text);
    let asked: T = match with_default_unit(unit, || serde_path_to_error::deserialize(&mut reader)) {
        Ok(asked) => asked,
        Err(error) => {
            let path = error.path().to_string();
            let (what, right) = split_advice(&plain(error.inner()));
            let right = if right.contains("job-file") { form.to_owned() } else { right };
            return refused(head.id, trouble(if path == "." { "" } else { &path }, what, right));
        }
    };
    match work(asked, unit) {
        Ok(Value::Object(found)) => {
            let mut all = serde_json::Map::with_capacity(found.len() + 1);
            all.insert("id".to_owned(), head.id);
            all.extend(found);
            write(&Value::Object(all))
        }
        Ok(other) => write(&other),
        Err([path, what, right]) => refused(head.id, trouble(&path, what, right)),
    }
}

fn working_out(working: &Working, unit: LengthUnit) -> Value {
    let lines: Vec<Value> = working
        .lines
        .iter()
        .map(|line| json!({"term": line.term, "value": line.value.show(unit), "reason": line.reason}))
        .collect();
    json!({"rule": working.rule, "lines": lines, "total": working.total.show(unit), "rounding": working.rounding})
}

fn clearance_out(clearance: &Clearance, unit: LengthUnit) -> Value {
    json!({
        "what": clearance.what,
        "needs": clearance.needs.show(unit),
        "has": clearance.has.map(|has| has.show(unit)),
        "holds": clearance.holds,
    })
}

fn mounting_out(mounting: &Mounting, unit: LengthUnit) -> Value {
    let show = |length: Length| length.show(unit);
    json!({
        "form": mounting.form,
        "finished_width": show(mounting.width.total),
        "finished_length": show(mounting.length.total),
        "width": working_out(&mounting.width, unit),
        "width_other_rule": mounting.width_other.as_ref().map(|working| working_out(working, unit)),
        "length": working_out(&mounting.length, unit),
        "worked_width": mounting.width_worked.as_ref().map(|working| working_out(working, unit)),
        "worked_length": mounting.length_worked.as_ref().map(|working| working_out(working, unit)),
        "board": {
            "size": mounting.board.size,
            "thickness": show(mounting.board.thickness),
            "width": show(mounting.board.width),
            "length": show(mounting.board_length.total),
        },
        "bracket": mounting.bracket.as_ref().map(|bracket| {
            json!({"name": bracket.name, "leg": show(bracket.leg), "arm": show(bracket.arm)})
        }),
        "projection": show(mounting.projection),
        "bearing": show(mounting.bearing),
        "packing": show(mounting.packing),
        "off_wall": show(mounting.off_wall),
        "adds_above": show(mounting.adds_above),
        "above_trim": show(mounting.above_trim),
        "above_trim_of": mounting.edge.words(),
        "overlap": show(mounting.overlap),
        "stops": mounting.stop.words(),
        "top_above_sill": show(mounting.above_sill),
        "proud": show(mounting.proud),
        "corner_gaps": mounting.corner_gaps.map(|gaps| json!({
            "top_left": show(gaps.top_left),
            "top_right": show(gaps.top_right),
            "bottom_left": show(gaps.bottom_left),
            "bottom_right": show(gaps.bottom_right),
        })),
        "wedge": mounting.wedge.map(|wedge| {
            json!({"opens": show(wedge.opens), "at": if wedge.at_right { "right" } else { "left" }})
        }),
        "flush_ways": mounting.flush_ways.iter().map(|way| flush_way_out(way, unit)).collect::<Vec<_>>(),
        "clear": mounting.clear.iter().map(|clearance| clearance_out(clearance, unit)).collect::<Vec<_>>(),
        "flags": mounting.flags,
    })
}

fn flush_way_out(way: &FlushWay, unit: LengthUnit) -> Value {
    let choices: serde_json::Map<String, Value> =
        way.set.iter().map(|(field, value)| (field.trim_start_matches("choices.").to_owned(), json!(value))).collect();
    json!({
        "what": way.what,
        "taken": way.taken,
        "projection": way.projection.show(unit),
        "off_trim": way.off_trim.map(|gap| gap.show(unit)),
        "light": way.light,
        "finished_length": way.length.show(unit),
        "why_not": way.why_not,
        "choices": choices,
    })
}

fn refusal_out(refusal: &Refusal) -> Value {
    json!({"form": refusal.form, "why": refusal.why, "would": refusal.would, "missing": refusal.missing})
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = r#"{"id":"a","unit":"in","readings":{"width_top":["35 7/8"],"width_middle":["35 13/16"],"height_left":["60"],"depth":["3 1/2"],"trim_width":["41"],"trim_height":["62 1/2"],"trim_thickness":["1/2"]},"wall":{"above":"wood"},"choices":{"dark":true}}"#;

    fn said(line: &str) -> Value {
        serde_json::from_str(&answer(line, 2)).unwrap()
    }

    #[test]
    fn every_mount_is_worked_in_the_unit_that_came_in() {
        let found = said(GOOD);
        assert_eq!(found["can"].as_array().unwrap().len(), 3, "{found}");
        assert_eq!(found["can"][0]["finished_width"], "35 7/16");
        assert_eq!(
            found["can"][0]["width"]["lines"][1],
            json!({"term": "taken off", "value": "-3/8", "reason": "inside_width_deduction"})
        );
        assert_eq!(found["can"][1]["finished_width"], "44"); // dark: 1 1/2 each side
        assert_eq!(found["advised"], "outside_flush");
        // Every length that is shown reads back in the same unit.
        let back = Length::parse(found["can"][2]["finished_length"].as_str().unwrap(), LengthUnit::Inch).unwrap();
        assert_eq!(back, Length::inches(65, 1)); // 62 1/2 - 1/4 + 2 + 3/4
    }

    #[test]
    fn what_cannot_be_used_is_answered_with_where_what_and_right() {
        for (from, to, place, what) in [
            ("\"dark\":true", "\"side_overlap\":\"1/3\"", "line 2, choices.side_overlap", "not on a tape"),
            ("\"dark\":true", "\"mount\":\"between\"", "line 2, choices.mount", "not a choice"),
            ("\"above\"", "\"beneath\"", "line 2, wall.beneath", "no field"),
            ("\"wall\"", "\"walls\"", "line 2, walls", "no field"),
            ("\"wall\":{", "\"catalogue\":{\"unit\":\"in\"},\"wall\":{", "line 2, catalogue.", "missing"),
            ("35 7/8", "35 7/9", "line 2, readings.width_top[0]", "not on a tape"),
        ] {
            assert!(GOOD.contains(from));
            let found = said(&GOOD.replacen(from, to, 1));
            assert!(found["error"]["where"].as_str().unwrap().starts_with(place), "{from} -> {to}: {found}");
            assert!(found["error"]["what"].as_str().unwrap().contains(what), "{from} -> {to}: {found}");
            assert!(!found["error"]["right"].as_str().unwrap().is_empty(), "{found}");
            assert_eq!(found["id"], "a");
        }
    }
}

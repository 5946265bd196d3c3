//! Thousands of openings against general-purpose libraries in another language (`tests/peers/geometry.py`): scipy's
//! solver finds the same corners, shapely lets the finished shade pass, Python's fractions give the same sizes.
//!
//! Needs scipy and shapely; `./check` installs them under `target/venv`.

use hangtrue_core::house::Place;
use hangtrue_core::truth::calculator;
use hangtrue_tests::world::measure::{exact, place};
use hangtrue_tests::world::{Chance, Opening, POPULATIONS, USUAL};
use serde_json::{Value, json};
use std::io::Write;
use std::process::{Command, Stdio};

const FIGURES: u64 = 2000;

fn python() -> Option<Command> {
    let here = concat!(env!("CARGO_MANIFEST_DIR"), "/../target/venv/bin/python");
    let able = |program: &str| {
        Command::new(program)
            .args(["-c", "import scipy, shapely"])
            .stderr(Stdio::null())
            .status()
            .is_ok_and(|status| status.success())
    };
    [here, "python3"].into_iter().find(|program| able(program)).map(Command::new)
}

/// A line for the calculator, and the true corners it was made from: for half of the openings as a tape reads them (no
/// corners: the readings are not exact), for the other half exactly.
fn asked(id: u64) -> (Value, Value) {
    let mut chance = Chance::new(id);
    let as_read = id.is_multiple_of(2);
    // Head and sill level, jambs straight and as far out as racked ones: what passes is then known without a level.
    let opening = if as_read {
        Opening::draw(&POPULATIONS[usize::try_from(id / 2 % 7).unwrap()], &mut chance)
    } else {
        let (w, h) = (18.0 + 78.0 * chance.even(), 24.0 + 66.0 * chance.even());
        Opening::of(w, h, [chance.normal(0.7), chance.normal(0.4), 0.0, 0.0, 0.0, 0.0])
    };
    let readings: serde_json::Map<String, Value> = USUAL
        .iter()
        .map(|spot| {
            let text = if as_read {
                exact(POPULATIONS[0].hand.read(&opening, *spot, &mut chance))
                    .show(hangtrue_core::length::LengthUnit::Inch)
            } else {
                format!("{:.6} mm", opening.length(*spot) * 25.4)
            };
            (place(*spot).code().to_owned(), json!([text]))
        })
        .chain([(Place::Depth.code().to_owned(), json!(["3 1/2"]))])
        .collect();
    let grain = if as_read { "1/16" } else { "0.01 mm" };
    let asked = json!({
        "id": id, "unit": "in", "readings": readings,
        "instrument": {"kind": {"tape": {"class": "II"}}, "grain": grain},
    });
    let [[a, b], [d, c]] = opening.ends();
    (asked, if as_read { Value::Null } else { json!([a, b, c, d]) })
}

#[test]
fn corners_passage_and_sizes_are_those_of_scipy_shapely_and_fractions() {
    let Some(mut python) = python() else {
        eprintln!("SKIPPED: no Python with scipy and shapely here (./check installs them), so no figure was compared");
        return;
    };
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/peers/geometry.py");
    let mut peer = python.arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let lines: String = (1..=FIGURES)
        .map(|id| {
            let (asked, corners) = asked(id);
            let answered: Value = serde_json::from_str(&calculator::answer(&asked.to_string(), 1)).unwrap();
            format!("{}\n", json!({"asked": asked, "answered": answered, "true": corners}))
        })
        .collect();
    let mut to_peer = peer.stdin.take().unwrap();
    let writer = std::thread::spawn(move || to_peer.write_all(lines.as_bytes()));
    let said = peer.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    let text = String::from_utf8(said.stdout).unwrap();
    let answers: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(u64::try_from(answers.len()).unwrap(), FIGURES);
    let mut worst: f64 = 0.0;
    for answer in &answers {
        assert_eq!(answer["wrong"], Value::Null, "{answer}");
        worst = worst.max(answer["corners"].as_f64().unwrap());
    }
    assert!(worst < 1e-9, "corners differ from scipy's by {worst} of the opening's size");
    println!("{FIGURES} figures: corners within {worst:.1e} of scipy's");
}

//! Random beams against another method in another language: direct stiffness in exact fractions (`tests/peers/beams.py`,
//! Python's `fractions`).

use hangtrue_core::fixing::beam::{Beam, Load};
use serde_json::{Value, json};
use std::io::Write;
use std::process::{Command, Stdio};

/// A small generator of our own, so that the same beams come on every machine (Knuth's MMIX constants).
struct Dice(u64);

impl Dice {
    fn upto(&mut self, most: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        u32::try_from(self.0 >> 40).unwrap() % (most + 1)
    }
}

#[test]
fn random_beams_are_those_of_exact_direct_stiffness() {
    const BEAMS: usize = 500;
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/peers/beams.py");
    let started = Command::new("python3").arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
    let Ok(mut peer) = started else {
        eprintln!("SKIPPED: python3 is not here, so no beam was compared with exact direct stiffness");
        return;
    };
    let mut dice = Dice(2026);
    let beams: Vec<(Beam, Value, Vec<f64>)> = (0..BEAMS)
        .map(|_| {
            let length = 12 + dice.upto(84);
            let mut supports: Vec<u32> = (0..2 + dice.upto(5)).map(|_| dice.upto(length)).collect();
            supports.sort_unstable();
            supports.dedup();
            if supports.len() < 2 {
                supports = vec![0, length];
            }
            let points: Vec<(u32, u32)> = (0..dice.upto(3)).map(|_| (dice.upto(length), 1 + dice.upto(20))).collect();
            let spreads: Vec<(u32, u32, u32)> = (0..=dice.upto(2))
                .map(|_| {
                    let (a, b) = (dice.upto(length), dice.upto(length));
                    (a.min(b), a.max(b), 1 + dice.upto(5))
                })
                .filter(|(a, b, _)| a < b)
                .collect();
            let ask: Vec<u32> = (0..3).map(|_| dice.upto(length)).collect();
            let loads = points
                .iter()
                .map(|(at, force)| Load::Point { at: f64::from(*at), force: f64::from(*force) })
                .chain(spreads.iter().map(|(a, b, w)| Load::Spread {
                    from: f64::from(*a),
                    to: f64::from(*b),
                    per_length: f64::from(*w),
                }))
                .collect();
            let beam = Beam {
                length: f64::from(length),
                supports: supports.iter().map(|support| f64::from(*support)).collect(),
                loads,
                stiffness: 1.0,
            };
            let asked =
                json!({"length": length, "supports": supports, "points": points, "spreads": spreads, "ask": ask});
            (beam, asked, ask.into_iter().map(f64::from).collect())
        })
        .collect();
    let mut to_peer = peer.stdin.take().unwrap();
    let lines: String = beams.iter().map(|(_, asked, _)| format!("{asked}\n")).collect();
    let writer = std::thread::spawn(move || to_peer.write_all(lines.as_bytes()));
    let answered = peer.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    let text = String::from_utf8(answered.stdout).unwrap();
    let answers: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(answers.len(), BEAMS);

    let mut worst: f64 = 0.0;
    for ((beam, asked, ask), answer) in beams.iter().zip(&answers) {
        let bent = beam.bend().unwrap();
        let theirs = |name: &str| -> Vec<f64> {
            answer[name].as_array().unwrap().iter().map(|value| value.as_f64().unwrap()).collect()
        };
        let deflections: Vec<f64> = ask.iter().map(|x| bent.deflection_at(*x)).collect();
        for (name, ours) in [("reactions", &bent.reactions), ("moments", &bent.moments), ("deflections", &deflections)]
        {
            let theirs = theirs(name);
            assert_eq!(ours.len(), theirs.len());
            let scale = theirs.iter().fold(1.0, |most: f64, value| most.max(value.abs()));
            for (a, b) in ours.iter().zip(&theirs) {
                let off = (a - b).abs() / scale;
                worst = worst.max(off);
                assert!(off < 1e-8, "{name} of {asked}: {a} here, {b} there");
            }
        }
        // The deepest place is at least as deep as any place that was asked for.
        assert!(
            deflections.iter().all(|value| value.abs() <= bent.deflection.value.abs() * (1.0 + 1e-9) + 1e-9),
            "{asked}"
        );
        // Statics: the supports push up what comes down.
        let down: f64 = beam
            .loads
            .iter()
            .map(|load| match *load {
                Load::Point { force, .. } => force,
                Load::Spread { from, to, per_length } => per_length * (to - from),
            })
            .sum();
        assert!((bent.reactions.iter().sum::<f64>() - down).abs() < 1e-9 * down.max(1.0), "{asked}");
    }
    println!("{BEAMS} beams, worst relative difference {worst:.1e}");
}

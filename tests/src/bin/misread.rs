//! Prints how well slips are found: `cargo run --release -p hangtrue-tests --bin misread [openings] [seed]`.

use hangtrue_core::settings::Settings;
use hangtrue_core::truth::learn;
use hangtrue_tests::world::{Chance, Opening, POPULATIONS, Population, USUAL, houses, measure, proof};
use std::process::ExitCode;

/// Sizes of planted slips, inches.
const SLIPS: [(f64, &str); 6] = [(0.125, "1/8"), (0.25, "1/4"), (0.5, "1/2"), (1.0, "1"), (2.0, "2"), (10.0, "10")];
/// Chance that a reading is a slip, where slips come as they do.
const SLIPS_PER_READING: f64 = 0.02;

fn main() -> ExitCode {
    let mut given = std::env::args().skip(1);
    let mut number = |usual: u64| given.next().map_or(Ok(usual), |text| text.parse::<u64>());
    let (Ok(openings), Ok(seed)) = (number(20_000), number(1)) else {
        eprintln!("misread [openings] [seed]: both are whole numbers, such as 20000 1");
        return ExitCode::from(2);
    };
    let Ok(openings) = u32::try_from(openings) else {
        eprintln!("openings: at most {}", u32::MAX);
        return ExitCode::from(2);
    };
    println!("{openings} openings a line, 18x24 to 96x90 in, seed {seed}; parts are in %");
    println!("best: a test that knows the population and the slip's size, at the same rate of false alarms");
    println!("named: the slip is the first suspect, or said not to be told apart from it");
    println!(
        "paper: smallest of three less 3/8, look again if widths differ by 1/4; plain: least squares, chi-square at 99 %"
    );
    println!("\n| population | false alarm | paper | plain | extra readings | plumbs |");
    println!("|---|---|---|---|---|---|");
    let mut alarms = Vec::new();
    for population in &POPULATIONS {
        let c = measure::clean(population, openings, seed);
        println!(
            "| {} | {:.2} | {:.1} | {:.1} | {:.3} | {:.2} |",
            population.name,
            100.0 * c.false_alarm,
            100.0 * c.paper,
            100.0 * c.plain,
            c.extra,
            c.plumbs
        );
        alarms.push(c.false_alarm);
    }
    println!("\n| population | slip, in | found | best | first suspect | best | named | paper | plain |");
    println!("|---|---|---|---|---|---|---|---|---|");
    for (population, false_alarm) in POPULATIONS.iter().zip(&alarms) {
        for (size, name) in SLIPS {
            let p = measure::planted(population, size, openings, seed + 1);
            let best = (population.racked_part == 0.0)
                .then(|| measure::best(population, size, *false_alarm, openings, seed + 2));
            let or_dash = |value: Option<f64>| value.map_or("-".to_owned(), |v| format!("{:.1}", 100.0 * v));
            println!(
                "| {} | {name} | {:.1} | {} | {:.1} | {} | {:.1} | {:.1} | {:.1} |",
                population.name,
                100.0 * p.detected,
                or_dash(best.map(|b| b.detected)),
                100.0 * p.first,
                or_dash(best.map(|b| b.first)),
                100.0 * p.among,
                100.0 * p.paper,
                100.0 * p.plain
            );
        }
    }
    println!("\n2 % slips a reading and the advice followed, of 10,000 openings:\n");
    println!(
        "| population | bind | of those by a slip | on paper | off by more than 1/8 in | on paper | extra readings |"
    );
    println!("|---|---|---|---|---|---|---|");
    for population in &POPULATIONS {
        let out = measure::outcome(population, SLIPS_PER_READING, openings, seed + 3);
        println!(
            "| {} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | {:.2} |",
            population.name, out.binds, out.binds_by_slip, out.paper_binds, out.wrong, out.paper_wrong, out.extra
        );
    }
    reliability(openings, seed + 4);
    alike(openings / 4, seed + 5);
    shared(openings / 4, seed + 6);
    hands(openings, seed + 7);
    ExitCode::SUCCESS
}

/// Stated chances against the truth, the spread of every estimate, and log loss.
fn reliability(openings: u32, seed: u64) {
    let all: Vec<proof::Reliability> = POPULATIONS
        .iter()
        .map(|one| proof::reliability(one, SLIPS_PER_READING, &Settings::INCHES, openings, seed))
        .collect();
    println!(
        "\nErrors of the estimates in their own standard deviations (root mean square; 1 is right), and log loss of"
    );
    println!("\"all is right\" beside an oracle's that knows population, hand and slips:\n");
    println!("| population | {} | log loss | oracle |", proof::ESTIMATES.join(" | "));
    println!("|---|---|---|---|---|---|---|---|---|");
    for (population, r) in POPULATIONS.iter().zip(&all) {
        let z: Vec<String> = r.z.iter().map(|z| format!("{z:.2}")).collect();
        let oracle = r.oracle.map_or("-".to_owned(), |o| format!("{o:.3}"));
        println!("| {} | {} | {:.3} | {oracle} |", population.name, z.join(" | "), r.loss);
    }
    println!("\nThe same errors, in % of the openings between so many standard deviations (count):\n");
    println!("| population | estimate | < -3 | < -2 | < -1 | < 0 | < 1 | < 2 | < 3 | above | count |");
    println!("|---|---|---|---|---|---|---|---|---|---|---|");
    println!("| a normal spread | any | 0.1 | 2.1 | 13.6 | 34.1 | 34.1 | 13.6 | 2.1 | 0.1 | |");
    for (population, r) in POPULATIONS.iter().zip(&all) {
        for (estimate, bins) in proof::ESTIMATES.iter().zip(&r.z_bins) {
            let count: u32 = bins.iter().sum();
            let parts: Vec<String> =
                bins.iter().map(|n| format!("{:.1}", 100.0 * f64::from(*n) / f64::from(count.max(1)))).collect();
            println!("| {} | {estimate} | {} | {count} |", population.name, parts.join(" | "));
        }
    }
    type Of = fn(&proof::Reliability) -> proof::Bins;
    let kinds: [(&str, Of); 2] = [("all is right", |r| r.all_right), ("this reading is a slip", |r| r.suspects)];
    for (what, bins) in kinds {
        println!("\nStated chance that {what}: how often it was (count)\n");
        let edges: Vec<String> = proof::EDGES.iter().map(|edge| format!("< {}", edge.min(1.0))).collect();
        println!("| population | {} |", edges.join(" | "));
        println!("|---|{}", "---|".repeat(edges.len()));
        for (population, r) in POPULATIONS.iter().zip(&all) {
            let cells: Vec<String> = bins(r)
                .iter()
                .map(|bin| match bin.count {
                    0 => "-".to_owned(),
                    n => format!(
                        "{:.3}: {:.3} ({n})",
                        bin.stated / f64::from(n),
                        f64::from(bin.came_true) / f64::from(n)
                    ),
                })
                .collect();
            println!("| {} | {} |", population.name, cells.join(" | "));
        }
    }
}

/// Houses of windows alike.
fn alike(houses: u32, seed: u64) {
    println!("\n{} windows alike within 1/16 in, one of them with a slip ({houses} houses):\n", houses::ALIKE);
    println!("| population | slip, in | diagonals | false alarm | found | best | named first | best |");
    println!("|---|---|---|---|---|---|---|---|");
    for population in POPULATIONS.iter().take(4) {
        for (size, name, diagonals) in
            [(0.125, "1/8", true), (0.25, "1/4", true), (0.5, "1/2", true), (0.25, "1/4", false), (0.5, "1/2", false)]
        {
            let a = houses::alike(population, size, diagonals, houses, seed);
            let best = (population.racked_part == 0.0 && diagonals)
                .then(|| houses::best_alike(population, size, a.false_alarm, houses, seed + 1));
            let or_dash = |value: Option<f64>| value.map_or("-".to_owned(), |v| format!("{:.1}", 100.0 * v));
            println!(
                "| {} | {name} | {} | {:.2} | {:.1} | {} | {:.1} | {} |",
                population.name,
                if diagonals { "read" } else { "not read" },
                100.0 * a.false_alarm,
                100.0 * a.detected,
                or_dash(best.map(|b| b.detected)),
                100.0 * a.first,
                or_dash(best.map(|b| b.first))
            );
        }
    }
    println!("\nA window really wider than its neighbours, well read: questioned, %\n");
    println!("| wider by, in | old house | new house |");
    println!("|---|---|---|");
    for (size, name) in [(0.25, "1/4"), (0.5, "1/2"), (1.0, "1"), (2.0, "2")] {
        let of = |n: usize| 100.0 * houses::different(&POPULATIONS[n], size, houses, seed + 2);
        println!("| {name} | {:.2} | {:.2} |", of(0), of(1));
    }
}

/// Faults that many readings share, units, fractions, repeats.
fn shared(openings: u32, seed: u64) {
    println!("\nA fault that many readings share, old house ({openings} openings):\n");
    println!("| fault | questioned | of those on the shared fault after one agreeing repeat | still asked after 12 |");
    println!("|---|---|---|---|");
    for fault in &proof::COMMON {
        let c = proof::common(&POPULATIONS[0], fault, openings, seed);
        println!(
            "| {} | {:.1} | {:.1} | {:.1} |",
            fault.name,
            100.0 * c.questioned,
            100.0 * c.named,
            100.0 * c.endless
        );
    }
    println!("\nOne reading of another unit, or mistyped, old house ({openings} openings):\n");
    println!("| written | questioned | named with its value |");
    println!("|---|---|---|");
    for slip in &proof::UNIT_SLIPS {
        let (questioned, named) = proof::units(&POPULATIONS[0], slip, openings, seed + 1);
        println!("| {} | {:.2} | {:.2} |", slip.name, 100.0 * questioned, 100.0 * named);
    }
    println!();
    let exact = proof::wrong_ends(&POPULATIONS[0], openings, seed + 2);
    println!("A fraction counted from the wrong end: likely is what was meant in {:.1} %", 100.0 * exact);
    for percent in [1, 10] {
        let settings = Settings { slip_recurs_percent: percent, ..Settings::INCHES };
        let loss = proof::repeats(&POPULATIONS[0], &settings, openings, seed + 3);
        println!("Repeats of which one in ten is the same slip, taken as {percent} in 100: log loss {loss:.3}");
    }
}

/// What a workroom's past openings teach: log loss before and after.
fn hands(openings: u32, seed: u64) {
    println!("\nThe hand learned from so many past openings, log loss of \"all is right\":\n");
    println!("| population | as usual | 30 | 100 | 300 | hand learned, mm | false alarm as usual | learned |");
    println!("|---|---|---|---|---|---|---|---|");
    for population in &POPULATIONS {
        let past = |count: u32| {
            let mut chance = Chance::new(seed);
            let past: Vec<_> = (0..count).map(|_| read(population, &mut chance)).collect();
            learn(&past, &Settings::INCHES).expect("openings were read").adopted(&Settings::INCHES)
        };
        let loss = |settings: &Settings| {
            proof::reliability(population, SLIPS_PER_READING, settings, openings / 4, seed + 1).loss
        };
        let learned = past(300);
        println!(
            "| {} | {:.3} | {:.3} | {:.3} | {:.3} | {:.2} | {:.2} | {:.2} |",
            population.name,
            loss(&Settings::INCHES),
            loss(&past(30)),
            loss(&past(100)),
            loss(&learned),
            millimetres(learned.hand_um),
            100.0 * measure::false_alarm(population, &Settings::INCHES, openings / 4, seed + 2),
            100.0 * measure::false_alarm(population, &learned, openings / 4, seed + 2)
        );
    }
}

#[allow(clippy::cast_precision_loss, reason = "a hand's spread")]
fn millimetres(um: i64) -> f64 {
    um as f64 / 1000.0
}

fn read(population: &Population, chance: &mut Chance) -> hangtrue_core::truth::Readings {
    let opening = Opening::draw(population, chance);
    let hand = &population.hand;
    let values: Vec<_> = USUAL
        .iter()
        .map(|spot| {
            let value = hand.read(&opening, *spot, chance);
            let slip = chance.even() < SLIPS_PER_READING;
            (*spot, if slip { hangtrue_tests::world::spoil(value, *spot, chance) } else { value })
        })
        .collect();
    measure::readings(&values, hand)
}

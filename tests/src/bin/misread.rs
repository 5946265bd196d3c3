//! Prints how well slips are found: `cargo run --release -p hangtrue-tests --bin misread [openings] [seed]`.

use hangtrue_tests::world::{POPULATIONS, measure};
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
    println!("{openings} openings a line, 18x24 to 96x90 in, seed {seed}; all in % unless it says otherwise");
    println!("(best): a test that knows the population and the slip's size, at the same rate of false alarms");
    println!("named: the slip is the first suspect, or said not to be told apart from it");
    println!(
        "paper: smallest of three less 3/8, look again if widths differ by 1/4; plain test: least squares, chi-square at 99 %"
    );
    for population in &POPULATIONS {
        println!("\n{}", population.name);
        let clean = measure::clean(population, openings, seed);
        println!(
            "  no slip        false alarm {:5.2}   paper {:5.1}   plain test {:5.1}   extra readings {:.3}",
            100.0 * clean.false_alarm,
            100.0 * clean.paper,
            100.0 * clean.plain,
            clean.extra
        );
        println!("  slip, in   detected  (best)  first suspect  (best)  named  | paper  plain test");
        for (size, name) in SLIPS {
            let p = measure::planted(population, size, openings, seed + 1);
            let best = (population.racked_part == 0.0)
                .then(|| measure::best(population, size, clean.false_alarm, openings, seed + 2));
            let or_dash = |value: Option<f64>| value.map_or("     -".to_owned(), |v| format!("{:6.2}", 100.0 * v));
            println!(
                "  {name:>8}     {:6.2}  {}         {:6.2}  {} {:6.2}  | {:5.1}  {:5.1}",
                100.0 * p.detected,
                or_dash(best.map(|b| b.detected)),
                100.0 * p.first,
                or_dash(best.map(|b| b.first)),
                100.0 * p.among,
                100.0 * p.paper,
                100.0 * p.plain
            );
        }
        // What binds is rare: count it on more openings.
        let out = measure::outcome(population, SLIPS_PER_READING, openings.saturating_mul(5), seed + 3);
        println!(
            "  2 % slips a reading, of 10,000: binds {:.1} (by a slip {:.1}), paper {:.1}; off by more than 1/8 in {:.1}, paper {:.1}; extra readings {:.2}",
            out.binds, out.binds_by_slip, out.paper_binds, out.wrong, out.paper_wrong, out.extra
        );
    }
    ExitCode::SUCCESS
}

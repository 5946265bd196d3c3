//! Whether stated chances come true: reliability in bins, the spread of every estimate, log loss beside an oracle's; and
//! what becomes of faults that many readings share, of other units, and of repeats by the same hand.

use super::measure::{exact, part, place, readings, usual};
use super::rivals::{Oracle, draw_of_size};
use super::{Chance, Opening, Population, SIZES, Spot, USUAL, spoil};
use hangtrue_core::house::Place;
use hangtrue_core::length::Length;
use hangtrue_core::settings::Settings;
use hangtrue_core::truth::{Estimate, Readings, Truth, judge_readings};

/// The upper edges of the bins of stated chances.
pub const EDGES: [f64; 9] = [0.01, 0.05, 0.2, 0.5, 0.8, 0.95, 0.99, 0.999, 1.01];

/// Stated chances against what was true.
#[derive(Clone, Copy, Debug, Default)]
pub struct Bin {
    /// How many were stated.
    pub count: u32,
    /// Their sum.
    pub stated: f64,
    /// How many came true.
    pub came_true: u32,
}

/// Bins by stated chance, one for each of [`EDGES`].
pub type Bins = [Bin; EDGES.len()];

fn state(bins: &mut Bins, chance: f64, came_true: bool) {
    let at = EDGES.iter().position(|edge| chance < *edge).unwrap_or(EDGES.len() - 1);
    bins[at].count += 1;
    bins[at].stated += chance;
    bins[at].came_true += u32::from(came_true);
}

fn loss(chance: f64, came_true: bool) -> f64 {
    -(if came_true { chance } else { 1.0 - chance }).clamp(1e-6, 1.0).ln()
}

/// The estimates of a shape.
pub const ESTIMATES: [&str; 6] = ["lean", "taper", "head", "sill", "bow", "clear width"];

/// Where errors in their own standard deviations are counted apart.
pub const Z_EDGES: [f64; 7] = [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0];

/// How far what is said of a population can be relied on.
#[derive(Clone, Debug, Default)]
pub struct Reliability {
    /// The stated chance that all is right.
    pub all_right: Bins,
    /// The stated chance of each place to be a slip.
    pub suspects: Bins,
    /// Root mean square of each estimate's error in its own standard deviations, 1 when they are what they say.
    pub z: [f64; 6],
    /// The same errors counted between [`Z_EDGES`].
    pub z_bins: [[u32; Z_EDGES.len() + 1]; 6],
    /// Log loss of the chance that all is right, nats.
    pub loss: f64,
    /// The same of an oracle that knows population, hand and slips; not for a mixture.
    pub oracle: Option<f64>,
}

/// Readings with slips at the rate `slips`, judged once.
pub fn reliability(population: &Population, slips: f64, settings: &Settings, openings: u32, seed: u64) -> Reliability {
    let mut chance = Chance::new(seed);
    let mut out = Reliability::default();
    let oracles: Vec<Oracle> = SIZES.iter().map(|nominal| Oracle::new(population, *nominal)).collect();
    let known = population.racked_part == 0.0;
    let (mut oracle, mut squares, mut clean) = (0.0, [0.0; 6], 0_u32);
    for _ in 0..openings {
        let which = *chance.pick(&[0, 1, 2, 3, 4, 5, 6, 7, 8]);
        let opening = if known {
            draw_of_size(population, SIZES[which], 1.0, &mut chance)
        } else {
            Opening::draw(population, &mut chance)
        };
        let mut values = usual(&opening, &population.hand, &mut chance);
        let mut slipped = [false; 7];
        for (n, spot) in USUAL.into_iter().enumerate() {
            if chance.even() < slips {
                values[n] = spoil(values[n], spot, &mut chance);
                slipped[n] = true;
            }
        }
        let pairs: Vec<(Spot, f64)> = USUAL.into_iter().zip(values).collect();
        let truth = judge_readings(&readings(&pairs, &population.hand), settings);
        let none = slipped.iter().all(|slip| !slip);
        state(&mut out.all_right, truth.chance_all_right, none);
        out.loss += loss(truth.chance_all_right, none);
        if known {
            oracle += loss(oracles[which].all_right(&values, slips), none);
        }
        for (n, spot) in USUAL.into_iter().enumerate() {
            let suspect = truth.suspects.iter().find(|suspect| suspect.place == place(spot));
            state(&mut out.suspects, suspect.map_or(0.0, |suspect| suspect.chance), slipped[n]);
        }
        if none && truth.holds {
            clean += 1;
            let each = squares.iter_mut().zip(&mut out.z_bins);
            for ((square, bins), (estimate, true_value)) in each.zip(estimates(&truth, &opening)) {
                let Some(estimate) = estimate else { continue };
                let z = (estimate.value / 25.4 - true_value) / (estimate.sd / 25.4);
                *square += z * z;
                bins[Z_EDGES.iter().filter(|edge| z >= **edge).count()] += 1;
            }
        }
    }
    out.loss /= f64::from(openings);
    out.oracle = known.then(|| oracle / f64::from(openings));
    out.z = squares.map(|square| (square / f64::from(clean.max(1))).sqrt());
    out
}

fn estimates(truth: &Truth, opening: &Opening) -> [(Option<Estimate>, f64); 6] {
    let [bottom, top] = opening.ends();
    let middle = |ends: [[f64; 2]; 2]| f64::midpoint(ends[0][0], ends[1][0]);
    let wide = |ends: [[f64; 2]; 2]| (ends[1][0] - ends[0][0]).hypot(ends[1][1] - ends[0][1]);
    let shape = &truth.shape;
    [
        (shape.lean, middle(top) - middle(bottom)),
        (shape.taper, wide(top) - wide(bottom)),
        (shape.slope_head, top[1][1] - top[0][1]),
        (shape.slope_sill, bottom[1][1] - bottom[0][1]),
        (shape.bow, opening.length(Spot::Width(2)) - f64::midpoint(wide(top), wide(bottom))),
        (shape.passage.map(|passage| passage.estimate), opening.passage()),
    ]
}

/// A fault that many readings share.
#[derive(Clone, Copy, Debug)]
pub struct Common {
    /// As the table names it.
    pub name: &'static str,
    /// What is added to widths, heights and diagonals, inches.
    pub adds: [f64; 3],
}

/// The faults of the table.
pub const COMMON: [Common; 5] = [
    Common { name: "rounded corners, diagonals 3/8 short", adds: [0.0, 0.0, -0.375] },
    Common { name: "heights at the front of a sill, 1/2 long", adds: [0.0, 0.5, 0.0] },
    Common { name: "widths at the front of a splay, 1/2 long", adds: [0.5, 0.0, 0.0] },
    Common { name: "the case forgotten everywhere, 3 short", adds: [-3.0, -3.0, -3.0] },
    Common { name: "no fault", adds: [0.0, 0.0, 0.0] },
];

/// What became of openings whose readings share a fault.
#[derive(Clone, Copy, Debug, Default)]
pub struct OfCommon {
    /// Part that is questioned.
    pub questioned: f64,
    /// Of those, the part with more than half of the weight on a shared fault after one agreeing repeat.
    pub named: f64,
    /// Part that still asks for a reading after twelve.
    pub endless: f64,
}

/// Reads openings with a fault that many readings share, and follows what is asked; each repeat has the fault too.
pub fn common(population: &Population, fault: &Common, openings: u32, seed: u64) -> OfCommon {
    let mut chance = Chance::new(seed);
    let (mut questioned, mut named, mut endless) = (0_u32, 0, 0);
    for _ in 0..openings {
        let opening = Opening::draw(population, &mut chance);
        let hand = &population.hand;
        let read = |spot: Spot, chance: &mut Chance| {
            let adds = match spot {
                Spot::Width(_) => fault.adds[0],
                Spot::Height(_) => fault.adds[1],
                Spot::Rising | Spot::Falling => fault.adds[2],
                Spot::Level(_) | Spot::Plumb(_) => 0.0,
            };
            ((hand.read(&opening, spot, chance) + adds) * hand.per_inch).round() / hand.per_inch
        };
        let mut values: Vec<(Spot, f64)> = USUAL.map(|spot| (spot, read(spot, &mut chance))).to_vec();
        let judge = |values: &[(Spot, f64)]| judge_readings(&readings(values, hand), &Settings::INCHES);
        let mut truth = judge(&values);
        let doubted = !truth.holds;
        questioned += u32::from(doubted);
        for repeats in 0..12 {
            let Some(next) = truth.next_reading.as_ref().and_then(|next| super::measure::spot(next.place)) else {
                break;
            };
            values.push((next, read(next, &mut chance)));
            truth = judge(&values);
            if repeats == 0 && doubted {
                named += u32::from(truth.chance_shared > 0.5);
            }
        }
        endless += u32::from(truth.next_reading.is_some());
    }
    OfCommon {
        questioned: part(questioned, openings),
        named: if questioned == 0 { 0.0 } else { part(named, questioned) },
        endless: part(endless, openings),
    }
}

/// A reading that is right but of another unit, or whose keys were not hit: what is written for a true length, and what
/// is meant by that; `None` where it cannot be written so.
#[derive(Clone, Copy, Debug)]
pub struct UnitSlip {
    /// In words.
    pub name: &'static str,
    made: fn(f64) -> Option<(Length, Length)>,
}

fn whole(value: f64) -> i64 {
    #[allow(clippy::cast_possible_truncation, reason = "the readings of an opening")]
    let whole = value.round() as i64;
    whole
}

/// The slips of units, of a house read in inches.
pub const UNIT_SLIPS: [UnitSlip; 5] = [
    UnitSlip {
        name: "in millimetres",
        made: |inches| Some((Length::whole_inches(whole(inches * 25.4)), Length::mm(whole(inches * 25.4)))),
    },
    UnitSlip {
        name: "in centimetres, to the tenth",
        made: |inches| {
            let tenths = whole(inches * 25.4);
            Some((Length::inches(tenths, 10), Length::mm(tenths)))
        },
    },
    UnitSlip {
        name: "feet and inches run together",
        made: |inches| {
            let eighths = whole(inches * 8.0);
            let (feet, rest) = (eighths / 96, eighths % 96);
            let written = if rest < 80 { feet * 80 + rest } else { feet * 800 + rest };
            (feet > 0).then(|| (Length::inches(written, 8), Length::inches(eighths, 8)))
        },
    },
    UnitSlip {
        name: "the point lost",
        made: |inches| {
            let eighths = whole(inches * 8.0);
            let digits = match eighths % 8 {
                0 => return None,
                4 => eighths * 10 / 8,
                2 | 6 => eighths * 100 / 8,
                _ => eighths * 1000 / 8,
            };
            Some((Length::whole_inches(digits), Length::inches(eighths, 8)))
        },
    },
    UnitSlip {
        name: "the fraction's key not hit",
        made: |inches| {
            let eighths = whole(inches * 8.0);
            let (top, of) = match eighths % 8 {
                0 => return None,
                4 => (1, 2),
                2 | 6 => (eighths % 8 / 2, 4),
                top => (top, 8),
            };
            Some((Length::whole_inches((eighths / 8 * 10 + top) * 10 + of), Length::inches(eighths, 8)))
        },
    },
];

/// One such slip among the readings: part that is questioned, and part where it is named with its value.
pub fn units(population: &Population, slip: &UnitSlip, openings: u32, seed: u64) -> (f64, f64) {
    let mut chance = Chance::new(seed);
    let (mut questioned, mut named, mut made) = (0, 0, 0);
    while made < openings {
        let opening = Opening::draw(population, &mut chance);
        let values = usual(&opening, &population.hand, &mut chance);
        let pairs: Vec<(Spot, f64)> = USUAL.into_iter().zip(values).collect();
        let mut all: Readings = readings(&pairs, &population.hand);
        let at = *chance.pick(&[0, 1, 2, 3, 4, 5, 6]);
        let Some((written, meant)) = (slip.made)(opening.length(USUAL[at])) else { continue };
        made += 1;
        all.taken[at].value = written;
        let truth = judge_readings(&all, &Settings::INCHES);
        questioned += u32::from(!truth.holds);
        let right = |likely: Length| (likely - meant).abs() <= Length::inches(1, 32);
        named += u32::from(
            truth.suspects.first().is_some_and(|s| s.place == place(USUAL[at]) && s.likely.is_some_and(right)),
        );
    }
    (part(questioned, openings), part(named, openings))
}

/// Slips where what was read is questioned and read once more, and the repeat is the same slip once in ten: log loss of
/// the chance that all is right then, by these settings.
pub fn repeats(population: &Population, settings: &Settings, openings: u32, seed: u64) -> f64 {
    let mut chance = Chance::new(seed);
    let (mut sum, mut count) = (0.0, 0_u32);
    for _ in 0..openings {
        let opening = Opening::draw(population, &mut chance);
        let mut values: Vec<(Spot, f64)> =
            USUAL.into_iter().zip(usual(&opening, &population.hand, &mut chance)).collect();
        let at = *chance.pick(&[0, 1, 2, 3, 4, 5, 6]);
        // Half of the openings are right.
        let slipped = chance.even() < 0.5;
        let (spot, plain) = values[at];
        if slipped {
            values[at].1 = spoil(plain, spot, &mut chance);
        }
        let first = judge_readings(&readings(&values, &population.hand), settings);
        if first.holds {
            continue;
        }
        let again: Place = first.suspects.first().map_or(place(spot), |suspect| suspect.place);
        let Some(next) = super::measure::spot(again) else { continue };
        let stuck = slipped && next == spot && chance.even() < 0.1;
        let value = if stuck { values[at].1 } else { population.hand.read(&opening, next, &mut chance) };
        values.push((next, value));
        let truth = judge_readings(&readings(&values, &population.hand), settings);
        // Where the repeat shows the slip it is set right; what is left to say is whether the two are.
        if (value - values[at].1).abs() < 0.13 || next != spot {
            sum += loss(truth.chance_all_right, !slipped);
            count += 1;
        }
    }
    sum / f64::from(count.max(1))
}

/// Fractions counted from the wrong end of the inch, 3/8 for 5/8 and 5/8 for 3/8: part of those that are questioned where the likely value is what was
/// meant, to the sixteenth.
pub fn wrong_ends(population: &Population, openings: u32, seed: u64) -> f64 {
    let mut chance = Chance::new(seed);
    let (mut questioned, mut right) = (0_u32, 0);
    for _ in 0..openings {
        let opening = Opening::draw(population, &mut chance);
        let values = usual(&opening, &population.hand, &mut chance);
        let at = *chance.pick(&[0, 1, 2, 3, 4, 5, 6]);
        let meant = values[at];
        let rest = meant - meant.floor();
        if (rest - 0.375).abs() > 0.01 && (rest - 0.625).abs() > 0.01 {
            continue;
        }
        let mut values = values;
        values[at] = meant.floor() + 1.0 - rest;
        let pairs: Vec<(Spot, f64)> = USUAL.into_iter().zip(values).collect();
        let truth = judge_readings(&readings(&pairs, &population.hand), &Settings::INCHES);
        if truth.holds {
            continue;
        }
        questioned += 1;
        right += u32::from(
            truth.suspects.first().is_some_and(|s| s.place == place(USUAL[at]) && s.likely == Some(exact(meant))),
        );
    }
    part(right, questioned.max(1))
}

//! Houses of windows that are alike: what the neighbours tell of one, beside the best test that knows it all.

use super::measure::{Best, part, plant, readings, usual};
use super::rivals::{Oracle, draw_of_size};
use super::{Chance, Hand, Opening, Population, SIZES, Spot, USUAL};
use hangtrue_core::house::Place;
use hangtrue_core::settings::Settings;
use hangtrue_core::truth::{Around, OfHouse, Readings, Truth, judge_house};

/// Windows in a house of the table.
pub const ALIKE: usize = 5;
/// How far windows alike differ, one standard deviation, inches.
pub const DIFFER: f64 = 1.0 / 16.0;

/// A house of windows that were made to one size; the first has its size changed by so much.
fn house(population: &Population, other: f64, chance: &mut Chance) -> Vec<Opening> {
    let [w, h] = *chance.pick(&SIZES);
    let (w, h) = (w + chance.even() - 0.5, h + chance.even() - 0.5);
    (0..ALIKE)
        .map(|n| {
            let other = if n == 0 { other } else { 0.0 };
            let (w, h) = (w + chance.normal(DIFFER) + other, h + chance.normal(DIFFER));
            let s = if chance.even() < population.racked_part { population.racked } else { population.shapes };
            Opening::shaped(w, h, &s, chance)
        })
        .collect()
}

fn judged(values: &[[f64; 7]], diagonals: bool, hand: &Hand) -> Vec<Truth> {
    let all: Vec<Readings> = values
        .iter()
        .map(|values| {
            let pairs: Vec<(Spot, f64)> = USUAL
                .into_iter()
                .zip(*values)
                .filter(|(spot, _)| diagonals || !matches!(spot, Spot::Rising | Spot::Falling))
                .collect();
            readings(&pairs, hand)
        })
        .collect();
    let settings = Settings::INCHES;
    let openings: Vec<OfHouse<'_>> = all
        .iter()
        .map(|readings| OfHouse { readings, around: Around::default(), room: None, settings: &settings })
        .collect();
    judge_house(&openings)
}

/// What became of houses of windows alike.
#[derive(Clone, Copy, Debug, Default)]
pub struct Alike {
    /// Part of openings without a slip that are questioned.
    pub false_alarm: f64,
    /// Part of slips found.
    pub detected: f64,
    /// Part of slips where the first suspect is the slip.
    pub first: f64,
}

/// One of the alike windows has a slip of `size` inches; the rest have none.
pub fn alike(population: &Population, size: f64, diagonals: bool, houses: u32, seed: u64) -> Alike {
    let mut chance = Chance::new(seed);
    let (mut alarms, mut detected, mut first) = (0, 0, 0);
    for _ in 0..houses {
        let openings = house(population, 0.0, &mut chance);
        let mut values: Vec<[f64; 7]> =
            openings.iter().map(|opening| usual(opening, &population.hand, &mut chance)).collect();
        alarms += u32::from(!judged(&values, diagonals, &population.hand)[0].holds);
        let places = if diagonals { 7 } else { 5 };
        let at = plant(&mut values[0], size, places, &mut chance);
        let truth = &judged(&values, diagonals, &population.hand)[0];
        detected += u32::from(!truth.holds);
        let is = |place: Place| place == super::measure::place(USUAL[at]);
        first += u32::from(truth.suspects.first().is_some_and(|suspect| is(suspect.place)));
    }
    Alike { false_alarm: part(alarms, houses), detected: part(detected, houses), first: part(first, houses) }
}

/// One window is really wider than its neighbours by `other` inches, and well read: part that is questioned.
pub fn different(population: &Population, other: f64, houses: u32, seed: u64) -> f64 {
    let mut chance = Chance::new(seed);
    let mut questioned = 0;
    for _ in 0..houses {
        let openings = house(population, other, &mut chance);
        let values: Vec<[f64; 7]> =
            openings.iter().map(|opening| usual(opening, &population.hand, &mut chance)).collect();
        questioned += u32::from(!judged(&values, true, &population.hand)[0].holds);
    }
    part(questioned, houses)
}

/// The limit: the test that knows the population and the neighbours' size.
pub fn best_alike(population: &Population, size: f64, false_alarm: f64, houses: u32, seed: u64) -> Best {
    let mut chance = Chance::new(seed);
    // The mean of four neighbours, each within DIFFER of the made size, and this one's own.
    let known = DIFFER * (1.0_f64 + 0.25).sqrt();
    let oracles: Vec<Oracle> = SIZES.iter().map(|nominal| Oracle::knowing(population, *nominal, known)).collect();
    let mut draw = |slip: bool| -> Vec<(f64, bool)> {
        (0..houses)
            .map(|_| {
                let which = *chance.pick(&[0, 1, 2, 3, 4, 5, 6, 7, 8]);
                let [w, h] = SIZES[which];
                let size_off = [w + chance.normal(known), h + chance.normal(known)];
                let opening = draw_of_size(population, size_off, 0.0, &mut chance);
                let mut values = usual(&opening, &population.hand, &mut chance);
                let at = if slip { plant(&mut values, size, 7, &mut chance) } else { 7 };
                let (weight, place) = oracles[which].weigh(&values, size);
                (weight, place == at)
            })
            .collect()
    };
    Best::counted(draw(false), &draw(true), false_alarm)
}

//! Runs the judgement over a world and counts: false alarms, detection, first suspects, what binds after its advice.

use super::rivals::{GLOBAL_LIMIT, Oracle, draw_of_size, global_square, paper_looks_again, paper_width};
use super::{Chance, Hand, Opening, Population, SIZES, Spot, USUAL, spoil};
use hangtrue_core::house::{InstrumentKind, Place};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::settings::Settings;
use hangtrue_core::truth::{Gauge, Readings, Taken, Truth, judge_readings};

/// The core's name of a spot.
pub fn place(spot: Spot) -> Place {
    match spot {
        Spot::Width(4) => Place::WidthTop,
        Spot::Width(3) => Place::WidthUpper,
        Spot::Width(2) => Place::WidthMiddle,
        Spot::Width(1) => Place::WidthLower,
        Spot::Width(_) => Place::WidthBottom,
        Spot::Height(0) => Place::HeightLeft,
        Spot::Height(1) => Place::HeightCentre,
        Spot::Height(_) => Place::HeightRight,
        Spot::Rising => Place::DiagonalRising,
        Spot::Falling => Place::DiagonalFalling,
        Spot::Level(true) => Place::LevelHead,
        Spot::Level(false) => Place::LevelSill,
        Spot::Plumb(true) => Place::PlumbRight,
        Spot::Plumb(false) => Place::PlumbLeft,
    }
}

/// The spot of a place, if it is one of the figure's.
pub fn spot(of: Place) -> Option<Spot> {
    let all = [Spot::Width(3), Spot::Width(1), Spot::Height(1)].into_iter().chain(USUAL).chain([
        Spot::Level(true),
        Spot::Level(false),
        Spot::Plumb(true),
        Spot::Plumb(false),
    ]);
    all.into_iter().find(|spot| place(*spot) == of)
}

/// An exact length of whole 64ths.
#[allow(clippy::cast_possible_truncation, reason = "readings are inches in small fractions")]
pub fn exact(inches: f64) -> Length {
    Length::inches((inches * 64.0).round() as i64, 64)
}

fn inches(length: Length) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "below 2^53")]
    let nm = length.nm() as f64;
    nm / 25_400_000.0
}

/// What the core is given.
pub fn readings(values: &[(Spot, f64)], hand: &Hand) -> Readings {
    let with = hand.laser.then_some(Gauge { kind: InstrumentKind::Laser, grain: None, case: None });
    let mut taken: Vec<Taken> =
        values.iter().map(|(spot, value)| Taken { place: place(*spot), value: exact(*value), with }).collect();
    taken.push(Taken { place: Place::Depth, value: Length::inches(7, 2), with });
    Readings::level(LengthUnit::Inch, taken)
}

pub(super) fn usual(opening: &Opening, hand: &Hand, chance: &mut Chance) -> [f64; 7] {
    USUAL.map(|spot| hand.read(opening, spot, chance))
}

fn judge(values: &[f64; 7], hand: &Hand) -> Truth {
    let pairs: Vec<(Spot, f64)> = USUAL.into_iter().zip(*values).collect();
    judge_readings(&readings(&pairs, hand), &Settings::INCHES)
}

/// The spread the plain test is told: hand and rounding.
fn spread(hand: &Hand) -> f64 {
    let rounding = 1.0 / hand.per_inch;
    (hand.sd * hand.sd + rounding * rounding / 12.0).sqrt()
}

/// Openings without a slip.
#[derive(Clone, Copy, Debug, Default)]
pub struct Clean {
    /// Part that is called misread.
    pub false_alarm: f64,
    /// The same of the paper practice.
    pub paper: f64,
    /// The same of the plain global test.
    pub plain: f64,
    /// Readings asked for besides the usual and the plumb, each opening.
    pub extra: f64,
    /// Plumbs asked for, each opening.
    pub plumbs: f64,
}

pub(super) fn part(count: u32, of: u32) -> f64 {
    f64::from(count) / f64::from(of)
}

/// Counts false alarms and what they cost.
pub fn clean(population: &Population, openings: u32, seed: u64) -> Clean {
    let mut chance = Chance::new(seed);
    let (mut alarms, mut paper, mut plain, mut extra, mut plumbs) = (0, 0, 0, 0, 0);
    for _ in 0..openings {
        let opening = Opening::draw(population, &mut chance);
        let values = usual(&opening, &population.hand, &mut chance);
        alarms += u32::from(!judge(&values, &population.hand).holds);
        paper += u32::from(paper_looks_again(&values[..3]));
        plain += u32::from(global_square(&values, spread(&population.hand)) > GLOBAL_LIMIT);
        let pairs: Vec<(Spot, f64)> = USUAL.into_iter().zip(values).collect();
        let (_, taken, plumb) = follow(&opening, &population.hand, pairs, 0.0, &mut chance);
        extra += taken;
        plumbs += plumb;
    }
    Clean {
        false_alarm: part(alarms, openings),
        paper: part(paper, openings),
        plain: part(plain, openings),
        extra: part(extra, openings),
        plumbs: part(plumbs, openings),
    }
}

/// Part of openings without a slip that is called misread, by these settings.
pub fn false_alarm(population: &Population, settings: &Settings, openings: u32, seed: u64) -> f64 {
    let mut chance = Chance::new(seed);
    let mut alarms = 0;
    for _ in 0..openings {
        let opening = Opening::draw(population, &mut chance);
        let values = usual(&opening, &population.hand, &mut chance);
        let pairs: Vec<(Spot, f64)> = USUAL.into_iter().zip(values).collect();
        alarms += u32::from(!judge_readings(&readings(&pairs, &population.hand), settings).holds);
    }
    part(alarms, openings)
}

/// Openings with one slip of a known size.
#[derive(Clone, Copy, Debug, Default)]
pub struct Planted {
    /// Part that is called misread.
    pub detected: f64,
    /// Part where the first suspect is the slip.
    pub first: f64,
    /// Part where the slip is the first suspect or one that is named beside it as not to be told apart.
    pub among: f64,
    /// Detected by paper practice.
    pub paper: f64,
    /// Detected by the plain global test.
    pub plain: f64,
}

/// Plants one slip of `size` inches, either way, at one of the usual places.
pub fn planted(population: &Population, size: f64, openings: u32, seed: u64) -> Planted {
    let mut chance = Chance::new(seed);
    let (mut detected, mut first, mut among, mut paper, mut plain) = (0, 0, 0, 0, 0);
    for _ in 0..openings {
        let opening = Opening::draw(population, &mut chance);
        let mut values = usual(&opening, &population.hand, &mut chance);
        let at = plant(&mut values, size, 7, &mut chance);
        let truth = judge(&values, &population.hand);
        detected += u32::from(!truth.holds);
        paper += u32::from(paper_looks_again(&values[..3]));
        plain += u32::from(global_square(&values, spread(&population.hand)) > GLOBAL_LIMIT);
        if let Some(suspect) = truth.suspects.first() {
            first += u32::from(suspect.place == place(USUAL[at]));
            among += u32::from(suspect.place == place(USUAL[at]) || suspect.or.contains(&place(USUAL[at])));
        }
    }
    Planted {
        detected: part(detected, openings),
        first: part(first, openings),
        among: part(among, openings),
        paper: part(paper, openings),
        plain: part(plain, openings),
    }
}

pub(super) fn plant(values: &mut [f64; 7], size: f64, places: usize, chance: &mut Chance) -> usize {
    let at = *chance.pick(&[0, 1, 2, 3, 4, 5, 6][..places]);
    values[at] += if chance.even() < 0.5 { size } else { -size };
    at
}

/// What the best possible test would do at the same false alarm: detected, and the first suspect right.
#[derive(Clone, Copy, Debug, Default)]
pub struct Best {
    /// Part detected.
    pub detected: f64,
    /// Part where its likeliest place is the slip.
    pub first: f64,
}

/// The limit for a population that is one normal spread, at a rate of false alarms.
pub fn best(population: &Population, size: f64, false_alarm: f64, openings: u32, seed: u64) -> Best {
    let mut chance = Chance::new(seed);
    let oracles: Vec<Oracle> = SIZES.iter().map(|nominal| Oracle::new(population, *nominal)).collect();
    // The log-likelihood ratio is the most powerful test statistic (Neyman and Pearson); its limit is set by counting.
    let mut draw = |slip: bool| -> Vec<(f64, bool)> {
        (0..openings)
            .map(|_| {
                let which = *chance.pick(&[0, 1, 2, 3, 4, 5, 6, 7, 8]);
                let opening = draw_of_size(population, SIZES[which], 1.0, &mut chance);
                let mut values = usual(&opening, &population.hand, &mut chance);
                let at = if slip { plant(&mut values, size, 7, &mut chance) } else { 7 };
                let (weight, place) = oracles[which].weigh(&values, size);
                (weight, place == at)
            })
            .collect()
    };
    Best::counted(draw(false), &draw(true), false_alarm)
}

impl Best {
    /// Counts at the limit that gives this rate of false alarms.
    pub(super) fn counted(without: Vec<(f64, bool)>, with: &[(f64, bool)], false_alarm: f64) -> Self {
        let openings = u32::try_from(with.len()).expect("a count");
        let mut without: Vec<f64> = without.into_iter().map(|(weight, _)| weight).collect();
        without.sort_by(|a, b| b.total_cmp(a));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
        let limit = without[((f64::from(openings) * false_alarm) as usize).min(without.len() - 1)];
        let count = |wanted: &dyn Fn(&(f64, bool)) -> bool| {
            part(u32::try_from(with.iter().filter(|w| wanted(w)).count()).expect("a count"), openings)
        };
        Self { detected: count(&|w| w.0 > limit), first: count(&|w| w.1) }
    }
}

/// Follows the advice until there is none: takes each reading that is asked for. Gives what was said last, and how many
/// readings and how many plumbs were taken. Each reading is a slip with the chance `slips`.
pub fn follow(
    opening: &Opening,
    hand: &Hand,
    mut values: Vec<(Spot, f64)>,
    slips: f64,
    chance: &mut Chance,
) -> (Truth, u32, u32) {
    let (mut taken, mut plumbs) = (0, 0);
    loop {
        let truth = judge_readings(&readings(&values, hand), &Settings::INCHES);
        let next = truth.next_reading.as_ref().and_then(|next| spot(next.place));
        let Some(next) = next.filter(|_| taken < MOST_EXTRA) else { return (truth, taken, plumbs) };
        let plumb = matches!(next, Spot::Plumb(_)) && !values.iter().any(|(spot, _)| *spot == next);
        values.push((next, read(opening, hand, next, slips, chance)));
        if plumb {
            plumbs += 1;
        } else {
            taken += 1;
        }
    }
}

/// Nobody follows advice longer than this.
const MOST_EXTRA: u32 = 12;

fn read(opening: &Opening, hand: &Hand, spot: Spot, slips: f64, chance: &mut Chance) -> f64 {
    let value = hand.read(opening, spot, chance);
    if chance.even() < slips { spoil(value, spot, chance) } else { value }
}

/// What becomes of a population that is measured as people measure.
#[derive(Clone, Copy, Debug, Default)]
pub struct Outcome {
    /// Shades that bind, of 10,000, after the advice was followed.
    pub binds: f64,
    /// Of those, the ones that would not bind had no reading been a slip.
    pub binds_by_slip: f64,
    /// Shades that bind by paper practice.
    pub paper_binds: f64,
    /// Finished widths more than 1/8 in from what readings without slips give, of 10,000: the other way a slip costs.
    pub wrong: f64,
    /// The same for paper practice, against the paper's own.
    pub paper_wrong: f64,
    /// Readings asked for besides the usual, each opening.
    pub extra: f64,
}

/// Measures openings with slips at the rate `slips`, follows the advice, hangs the shade.
pub fn outcome(population: &Population, slips: f64, openings: u32, seed: u64) -> Outcome {
    let mut chance = Chance::new(seed);
    let hand = &population.hand;
    let (mut binds, mut by_slip, mut paper_binds, mut wrong, mut paper_wrong, mut extra) = (0, 0, 0, 0, 0, 0);
    for _ in 0..openings {
        let opening = Opening::draw(population, &mut chance);
        let clean = usual(&opening, hand, &mut chance);
        let mut values = clean;
        for (value, spot) in values.iter_mut().zip(USUAL) {
            if chance.even() < slips {
                *value = spoil(*value, spot, &mut chance);
            }
        }
        let size = |truth: &Truth| {
            truth
                .inside(&Settings::INCHES, LengthUnit::Inch)
                .map(|size| (inches(size.finished_width), size.finished_length.map_or(0.0, inches)))
        };
        let bound = |(width, length): (f64, f64)| width > opening.passage() || length > opening.clear_height();
        let pairs = |values: [f64; 7]| -> Vec<(Spot, f64)> { USUAL.into_iter().zip(values).collect() };
        let without = follow(&opening, hand, pairs(clean), 0.0, &mut chance).0;
        let without = size(&without).expect("an opening has a size");
        let (truth, taken, _) = follow(&opening, hand, pairs(values), slips, &mut chance);
        extra += taken;
        // No size at all is no shade: nothing binds.
        if let Some(made) = size(&truth) {
            binds += u32::from(bound(made));
            by_slip += u32::from(bound(made) && !bound(without));
            wrong += u32::from((made.0 - without.0).abs() > 0.126 || (made.1 - without.1).abs() > 0.126);
        }
        // Paper: when the widths look odd, all three are read afresh, and so again until they do not, three times at
        // most; the heights are believed.
        let mut widths = [values[0], values[1], values[2]];
        for _ in 0..3 {
            if !paper_looks_again(&widths) {
                break;
            }
            widths = [0, 1, 2].map(|at| read(&opening, hand, USUAL[at], slips, &mut chance));
        }
        let length = |left: f64, right: f64| left.min(right) - 0.25;
        let paper = (paper_width(&widths), length(values[3], values[4]));
        let paper_without = (paper_width(&clean[..3]), length(clean[3], clean[4]));
        paper_binds += u32::from(bound(paper));
        paper_wrong +=
            u32::from((paper.0 - paper_without.0).abs() > 0.126 || (paper.1 - paper_without.1).abs() > 0.126);
    }
    let in_ten_thousand = |count: u32| 1e4 * part(count, openings);
    Outcome {
        binds: in_ten_thousand(binds),
        binds_by_slip: in_ten_thousand(by_slip),
        paper_binds: in_ten_thousand(paper_binds),
        wrong: in_ten_thousand(wrong),
        paper_wrong: in_ten_thousand(paper_wrong),
        extra: part(extra, openings),
    }
}

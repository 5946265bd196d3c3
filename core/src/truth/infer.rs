//! The chance that readings are all right, which one is the likely slip, and what to read next.
//!
//! Every hypothesis (no slip; one of the slips that [`super::slips`] names, at one reading; two of them) says what the
//! readings would have been without it, so its weight is its frequency times how well those fit one of the kinds of
//! opening in [`super::likeness`]. With the figure made linear about a first guess, readings of a kind of opening are
//! jointly normal, and undoing a slip moves one of them: each hypothesis then costs a few multiplications.
//!
//! Millimetres and floats only; what is said of exact lengths carries them along untouched.

use super::figure::{self, HEIGHT, LEAN, PARTS, Parts, Sight, WIDTH};
use super::likeness;
use super::passage::{clear, mm};
use super::readings::Read;
use super::slips::{self, Made, Meant};
use crate::house::Place;
use crate::length::Length;
use crate::settings::Settings;
use arrayvec::ArrayVec;
use nalgebra::SMatrix;
use std::ops::Range;

/// A slip at one reading.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slip {
    /// Which reading.
    pub(super) at: usize,
    pub(super) made: Made,
    /// What undoes it, in millimetres: for an unnamed amount, the likeliest.
    pub(super) undo: f64,
    /// The exact length meant, where it is known.
    pub(super) meant: Option<Length>,
}

/// A hypothesis with its posterior chance.
#[derive(Clone, Debug)]
pub(super) struct Hypothesis {
    /// No slip when empty; at most two, and both halves of an exchange of boxes.
    pub(super) slips: ArrayVec<Slip, 2>,
    pub(super) chance: f64,
    /// The kind of opening it fits best.
    kind: usize,
    log: f64,
}

/// What the readings say of slips.
pub(super) struct Posterior {
    /// The likeliest hypotheses, first the likeliest. What is left out is rarer than [`LEFT_OUT`].
    pub(super) hypotheses: Vec<Hypothesis>,
    /// The chance that no reading is a slip.
    pub(super) all_right: f64,
    kinds: Vec<Fit>,
    readings: usize,
}

/// Hypotheses this many times (natural logarithm) rarer than the best are not kept: one in a million.
const LEFT_OUT: f64 = 14.0;
/// A second slip is looked for beside so many of the likeliest first ones.
const FIRSTS: usize = 6;
/// Exchanges of boxes closer than this change nothing that matters (1/4 in).
const LEAST_EXCHANGE_MM: f64 = 6.35;
/// Hypotheses that the next reading is chosen by.
const WEIGHED: usize = 12;

/// The readings as one kind of opening sees them.
struct Fit {
    /// Logarithm of its share times the likelihood of the readings as they are.
    base: f64,
    /// The misfit of the readings as they are, squared in their own spreads.
    square: f64,
    /// The inverse of the readings' covariance times their misfit, reading by reading.
    pull: Vec<f64>,
    /// The diagonal of that inverse.
    hold: Vec<f64>,
    /// Covariance of the parts given the readings.
    covariance: SMatrix<f64, PARTS, PARTS>,
    /// Covariance times each reading's gradient over its variance: how the parts move when a reading does.
    gain: Vec<Parts>,
    gradients: Vec<Parts>,
    /// Parts fitted to the readings as they are.
    parts: Parts,
}

impl Fit {
    fn new(kind: &likeness::Kind, reads: &[Read], about: &Parts) -> Option<Self> {
        let variances = kind.variances();
        let mut precision = SMatrix::<f64, PARTS, PARTS>::from_diagonal(&variances.map(|v| 1.0 / v));
        let mut push = Parts::zeros();
        let mut gradients = Vec::with_capacity(reads.len());
        let mut misfits = Vec::with_capacity(reads.len());
        // Nothing is expected of the size, so its expected value is that of the guess.
        let mut expected = Parts::zeros();
        expected[WIDTH] = about[WIDTH];
        expected[HEIGHT] = about[HEIGHT];
        let step = expected - about;
        for read in reads {
            let (predicted, gradient) = figure::predict(read.sight.place, about);
            let weight = 1.0 / (read.sight.sd * read.sight.sd);
            let misfit = read.sight.value - predicted - gradient.dot(&step);
            precision.ger(weight, &gradient, &gradient, 1.0);
            push.axpy(weight * misfit, &gradient, 1.0);
            gradients.push(gradient);
            misfits.push(misfit);
        }
        let factor = precision.cholesky()?;
        let covariance = factor.inverse();
        let moved = covariance * push;
        let mut square = 0.0;
        let mut pull = Vec::with_capacity(reads.len());
        let mut hold = Vec::with_capacity(reads.len());
        let mut gain = Vec::with_capacity(reads.len());
        for ((read, gradient), misfit) in reads.iter().zip(&gradients).zip(&misfits) {
            let weight = 1.0 / (read.sight.sd * read.sight.sd);
            let pulled = weight * (misfit - gradient.dot(&moved));
            square += misfit * pulled;
            let gained = covariance * gradient * weight;
            hold.push(weight * (1.0 - gradient.dot(&gained)));
            gain.push(gained);
            pull.push(pulled);
        }
        let spread: f64 = 2.0 * factor.l_dirty().diagonal().map(f64::ln).sum() + variances.map(f64::ln).sum();
        let base = kind.share.ln() - 0.5 * (square + spread);
        Some(Self { base, square, pull, hold, covariance, gain, gradients, parts: expected + moved })
    }

    /// Inverse covariance between two readings.
    fn between(&self, i: usize, j: usize, weight_i: f64) -> f64 {
        let same = if i == j { weight_i } else { 0.0 };
        same - weight_i * self.gradients[i].dot(&self.gain[j])
    }

    /// The misfit when the hypothesis' slips are undone.
    fn square_without(&self, hypothesis: &Hypothesis, weights: &[f64]) -> f64 {
        let mut square = self.square;
        for (n, slip) in hypothesis.slips.iter().enumerate() {
            square += slip.undo * (2.0 * self.pull[slip.at] + slip.undo * self.hold[slip.at]);
            for other in &hypothesis.slips[..n] {
                square += 2.0 * slip.undo * other.undo * self.between(slip.at, other.at, weights[slip.at]);
            }
        }
        square
    }

    /// The parts when the hypothesis' slips are undone.
    fn parts_without(&self, hypothesis: &Hypothesis) -> Parts {
        let mut parts = self.parts;
        for slip in &hypothesis.slips {
            parts.axpy(slip.undo, &self.gain[slip.at], 1.0);
        }
        parts
    }
}

/// A first guess at the figure that a single slip does not spoil: the width and height, among those read, that agree
/// best with the diagonals, else the middle ones; the lean the diagonals give, if it is one that openings have.
fn guess(reads: &[Read]) -> Option<Parts> {
    let values = |wanted: fn(Place) -> bool| {
        let mut all: Vec<f64> = reads.iter().filter(|r| wanted(r.sight.place)).map(|r| r.sight.value).collect();
        all.sort_by(f64::total_cmp);
        all
    };
    let (widths, heights, diagonals) = (values(Place::is_width), values(Place::is_height), values(Place::is_diagonal));
    let sights: Vec<Sight> = reads.iter().map(|r| r.sight).collect();
    let mut parts = figure::start(&sights)?;
    let middle = |all: &[f64]| all.get(all.len() / 2).copied();
    if let Some(width) = middle(&widths) {
        parts[WIDTH] = width;
    }
    if let Some(height) = middle(&heights) {
        parts[HEIGHT] = height;
    }
    if !diagonals.is_empty() && !widths.is_empty() && !heights.is_empty() {
        let misfit = |w: f64, h: f64| {
            diagonals.iter().map(|d| (w.hypot(h) - d).abs().min(FAR_MM)).sum::<f64>()
                + widths.iter().map(|x| (x - w).abs().min(FAR_MM)).sum::<f64>()
                + heights.iter().map(|x| (x - h).abs().min(FAR_MM)).sum::<f64>()
        };
        let mut best = misfit(parts[WIDTH], parts[HEIGHT]);
        for w in &widths {
            for h in &heights {
                let this = misfit(*w, *h);
                if this < best {
                    best = this;
                    parts[WIDTH] = *w;
                    parts[HEIGHT] = *h;
                }
            }
        }
    }
    let mean = |place: Place| {
        let all: Vec<f64> = reads.iter().filter(|r| r.sight.place == place).map(|r| r.sight.value).collect();
        middle(&all)
    };
    if let (Some(rising), Some(falling)) = (mean(Place::DiagonalRising), mean(Place::DiagonalFalling)) {
        let lean = (rising * rising - falling * falling) / (4.0 * parts[WIDTH]);
        parts[LEAN] = lean.clamp(-FAR_MM, FAR_MM);
    }
    Some(parts)
}

/// A guess this near is as good as a better one: what is not linear in a diagonal of half a metre then comes to
/// 6 x 6 / (2 x 500) = 0.04 mm, a tenth of what a tape can be read to.
const NEAR_MM: f64 = 6.0;
/// A difference that is a slip or a ruin, however large it is (3 in).
const FAR_MM: f64 = 76.2;

/// The misfit from which readings are not explained: about the 99.9th percentile of chi-square (mean plus three and a
/// half standard deviations).
fn unexplained(readings: usize) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a dozen readings")]
    let freedom = readings as f64;
    freedom + 3.5 * (2.0 * freedom).sqrt()
}

/// Weighs all hypotheses. `None` when there is no reading of the figure.
pub(super) fn weigh(reads: &[Read], in_inches: bool, settings: &Settings) -> Option<Posterior> {
    let about = guess(reads)?;
    let ways = Ways::of(reads, in_inches, settings);
    let first = weigh_about(reads, &ways, &about)?;
    if first.all_right > 0.5 {
        return Some(first);
    }
    // With a slip the guess may be some way off: go once more from where the likeliest hypothesis leads.
    let best = &first.hypotheses[0];
    let again = first.kinds[best.kind].parts_without(best);
    if (again - about).amax() < NEAR_MM {
        return Some(first);
    }
    weigh_about(reads, &ways, &again)
}

/// What each reading may have been meant as.
struct Ways {
    meanings: Vec<Meant>,
    /// Each reading's part of them.
    ranges: Vec<Range<usize>>,
    /// Part of all slips that are two places in each other's box.
    exchange: f64,
}

impl Ways {
    fn of(reads: &[Read], in_inches: bool, settings: &Settings) -> Self {
        let mut meanings: Vec<Meant> = Vec::with_capacity(80 * reads.len());
        let mut ranges = Vec::with_capacity(reads.len());
        for read in reads {
            let from = meanings.len();
            if figure::tells_level(read.sight.place) {
                slips::meant_offset(read.exact, in_inches, &mut meanings);
            } else {
                slips::meant(read.exact, in_inches, read.with.case.unwrap_or(settings.tape_case), &mut meanings);
            }
            ranges.push(from..meanings.len());
        }
        Self { meanings, ranges, exchange: slips::other_box_share(in_inches) }
    }
}

fn weigh_about(reads: &[Read], ways: &Ways, about: &Parts) -> Option<Posterior> {
    let fits: Vec<Fit> = likeness::KINDS.iter().map(|kind| Fit::new(kind, reads, about)).collect::<Option<_>>()?;
    let weights: Vec<f64> = reads.iter().map(|r| 1.0 / (r.sight.sd * r.sight.sd)).collect();
    let odds = (slips::SLIPS_PER_READING / (1.0 - slips::SLIPS_PER_READING)).ln();
    let mut found = Found { best: f64::NEG_INFINITY, list: Vec::with_capacity(64) };
    found.weigh(&fits, 0.0, |fit| fit.base, ArrayVec::new);

    // One slip.
    let Ways { meanings, ranges, exchange } = ways;
    for (at, range) in ranges.iter().enumerate() {
        for meant in &meanings[range.clone()] {
            let prior = odds + meant.share.ln();
            found.one(&fits, at, meant, prior);
        }
    }
    // Two places in each other's box.
    for i in 0..reads.len() {
        for j in i + 1..reads.len() {
            let undo = reads[j].sight.value - reads[i].sight.value;
            let (a, b) = (reads[i].sight.place, reads[j].sight.place);
            if undo.abs() < LEAST_EXCHANGE_MM || a == b || figure::tells_level(a) || figure::tells_level(b) {
                continue;
            }
            #[allow(clippy::cast_precision_loss, reason = "a dozen readings")]
            let prior = odds + (exchange / (reads.len() - 1) as f64).ln();
            let slip =
                |at: usize, undo: f64, meant: Length| Slip { at, made: Made::OtherBox, undo, meant: Some(meant) };
            found.weigh(
                &fits,
                prior,
                |fit| {
                    let square = 2.0 * undo * (fit.pull[i] - fit.pull[j])
                        + undo * undo * (fit.hold[i] + fit.hold[j] - 2.0 * fit.between(i, j, weights[i]));
                    fit.base - 0.5 * square
                },
                || [slip(i, undo, reads[j].exact), slip(j, -undo, reads[i].exact)].into(),
            );
        }
    }
    found.sort();
    // Two slips, only where one does not explain the readings: beside each likely first one.
    if found.list.first().is_some_and(|best| fits[best.kind].square_without(best, &weights) > unexplained(reads.len()))
    {
        let firsts: Vec<Hypothesis> = found.list.iter().filter(|h| h.slips.len() == 1).take(FIRSTS).cloned().collect();
        for first in &firsts {
            let one = first.slips[0];
            for (at, range) in ranges.iter().enumerate() {
                if at == one.at {
                    continue;
                }
                for meant in meanings[range.clone()].iter().filter(|meant| meant.length.is_some()) {
                    // Each pair is met from both of its slips when both are likely firsts; count it once.
                    if at < one.at && firsts.iter().any(|f| f.slips[0].at == at && f.slips[0].meant == meant.length) {
                        continue;
                    }
                    let prior = first_prior(one, &meanings[ranges[one.at].clone()], odds) + odds + meant.share.ln();
                    let (d, e) = (one.undo, meant.undo);
                    found.weigh(
                        &fits,
                        prior,
                        |fit| {
                            let square = 2.0 * (d * fit.pull[one.at] + e * fit.pull[at])
                                + d * d * fit.hold[one.at]
                                + e * e * fit.hold[at]
                                + 2.0 * d * e * fit.between(one.at, at, weights[one.at]);
                            fit.base - 0.5 * square
                        },
                        || [one, Slip { at, made: meant.made, undo: e, meant: meant.length }].into(),
                    );
                }
            }
        }
        found.sort();
    }
    let Found { best, list: mut hypotheses } = found;
    let total: f64 = hypotheses.iter().map(|h| (h.log - best).exp()).sum();
    for hypothesis in &mut hypotheses {
        hypothesis.chance = (hypothesis.log - best).exp() / total;
    }
    let all_right = hypotheses.iter().filter(|h| h.slips.is_empty()).map(|h| h.chance).sum();
    Some(Posterior { hypotheses, all_right, kinds: fits, readings: reads.len() })
}

/// The prior of a slip that was found as a first one.
fn first_prior(slip: Slip, meanings: &[Meant], odds: f64) -> f64 {
    let share = meanings
        .iter()
        .find(|m| m.made == slip.made && (m.length == slip.meant || m.length.is_none()))
        .map_or(f64::MIN_POSITIVE, |m| m.share);
    odds + share.ln()
}

fn only(slip: Slip) -> ArrayVec<Slip, 2> {
    std::iter::once(slip).collect()
}

/// Hypotheses as they are weighed.
struct Found {
    best: f64,
    list: Vec<Hypothesis>,
}

impl Found {
    /// Weighs one hypothesis over all kinds of openings, and keeps it if it is not hopeless.
    fn weigh(
        &mut self,
        fits: &[Fit],
        prior: f64,
        log_likelihood: impl Fn(&Fit) -> f64,
        slips: impl FnOnce() -> ArrayVec<Slip, 2>,
    ) {
        let mut logs = [f64::NEG_INFINITY; likeness::KINDS.len()];
        let (mut kind, mut high) = (0, f64::NEG_INFINITY);
        for (at, fit) in fits.iter().enumerate() {
            logs[at] = log_likelihood(fit) + prior;
            if logs[at] > high {
                (kind, high) = (at, logs[at]);
            }
        }
        if high + LN_KINDS < self.best - LEFT_OUT {
            return;
        }
        let log = high + logs.iter().map(|log| (log - high).exp()).sum::<f64>().ln();
        self.best = self.best.max(log);
        if log > self.best - LEFT_OUT {
            self.list.push(Hypothesis { slips: slips(), chance: 0.0, kind, log });
        }
    }

    /// The likeliest first, without those that have become hopeless.
    fn sort(&mut self) {
        let least = self.best - LEFT_OUT;
        self.list.retain(|hypothesis| hypothesis.log > least);
        self.list.sort_by(|a, b| b.log.total_cmp(&a.log));
    }

    fn one(&mut self, fits: &[Fit], at: usize, meant: &Meant, prior: f64) {
        if let Made::Some(size) = meant.made {
            let open = mm(size).powi(2);
            let level = |fit: &Fit| {
                let hold = fit.hold[at];
                fit.base + 0.5 * fit.pull[at].powi(2) / (hold + 1.0 / open) - 0.5 * (open * hold).ln_1p()
            };
            let likeliest = || {
                let best = fits.iter().max_by(|a, b| level(a).total_cmp(&level(b))).expect("there are kinds");
                -best.pull[at] / (best.hold[at] + 1.0 / open)
            };
            self.weigh(fits, prior, level, || only(Slip { at, made: meant.made, undo: likeliest(), meant: None }));
        } else {
            let undo = meant.undo;
            self.weigh(
                fits,
                prior,
                |fit| fit.base - 0.5 * undo * (2.0 * fit.pull[at] + undo * fit.hold[at]),
                || only(Slip { at, made: meant.made, undo, meant: meant.length }),
            );
        }
    }
}

/// Logarithm of the number of kinds of openings, rounded up.
const LN_KINDS: f64 = 1.5;

impl Posterior {
    /// The chance that an unnoticed slip would change a finished size by more than `most` (millimetres).
    pub(super) fn risk(&self, reads: &[Read], settings: &Settings, most: f64) -> f64 {
        let none = Hypothesis { slips: ArrayVec::new(), chance: 0.0, kind: 0, log: 0.0 };
        let mut plain: [Option<Size>; likeness::KINDS.len()] = [None; likeness::KINDS.len()];
        self.hypotheses
            .iter()
            .filter(|h| !h.slips.is_empty())
            .filter(|h| {
                let fit = &self.kinds[h.kind];
                let before = *plain[h.kind].get_or_insert_with(|| Size::of(fit, reads, settings, &none));
                let after = Size::of(fit, reads, settings, h);
                before.changed(&after, most)
                    || (before.width.is_none()
                        && before.height.is_none()
                        && h.slips.iter().any(|s| s.undo.abs() > most))
            })
            .map(|h| h.chance)
            .sum()
    }

    /// Each reading's chance of being a slip, and the likeliest hypothesis that makes it one.
    pub(super) fn by_reading(&self) -> Vec<(f64, Option<&Hypothesis>)> {
        let mut all: Vec<(f64, Option<&Hypothesis>)> = vec![(0.0, None); self.readings];
        for hypothesis in &self.hypotheses {
            for slip in &hypothesis.slips {
                let entry = &mut all[slip.at];
                entry.0 += hypothesis.chance;
                entry.1.get_or_insert(hypothesis);
            }
        }
        all
    }

    /// What the likeliest hypothesis foresees at `place`, in millimetres.
    pub(super) fn foresees(&self, place: Place) -> f64 {
        let best = &self.hypotheses[0];
        figure::predict(place, &self.kinds[best.kind].parts_without(best)).0
    }

    /// How much a reading at `place` is expected to teach of which hypothesis is right, in nats. Each hypothesis foresees
    /// the reading as a normal spread; what they teach apart is Kolchinsky and Tracey's estimate from the overlaps
    /// (Bhattacharyya's) of such spreads (Entropy 19, 361, 2017; from memory).
    pub(super) fn teaches(&self, place: Place, sd: f64) -> f64 {
        let weighed = &self.hypotheses[..self.hypotheses.len().min(WEIGHED)];
        let total: f64 = weighed.iter().map(|h| h.chance).sum();
        let foreseen: Vec<(f64, f64, f64)> = weighed
            .iter()
            .map(|h| {
                let fit = &self.kinds[h.kind];
                let (value, gradient) = figure::predict(place, &fit.parts_without(h));
                let variance = (gradient.transpose() * fit.covariance * gradient)[0] + sd * sd;
                (h.chance / total, value, variance)
            })
            .collect();
        -foreseen
            .iter()
            .map(|(chance, value, variance)| {
                let overlap: f64 = foreseen
                    .iter()
                    .map(|(other, v, var)| {
                        let apart = (value - v).powi(2) / (4.0 * (variance + var))
                            + 0.5 * ((variance + var) / (2.0 * (variance * var).sqrt())).ln();
                        other * (-apart).exp()
                    })
                    .sum();
                chance * overlap.ln()
            })
            .sum::<f64>()
    }
}

/// What a shade's size would come to, as far as a hypothesis goes.
#[derive(Clone, Copy)]
struct Size {
    width: Option<f64>,
    height: Option<f64>,
}

impl Size {
    fn of(fit: &Fit, reads: &[Read], settings: &Settings, hypothesis: &Hypothesis) -> Self {
        let undone =
            |at: usize| hypothesis.slips.iter().filter(|slip| slip.at == at).map(|slip| slip.undo).sum::<f64>();
        let least = |wanted: fn(Place) -> bool| {
            reads
                .iter()
                .enumerate()
                .filter(|(_, r)| wanted(r.sight.place))
                .map(|(at, r)| r.sight.value + undone(at))
                .min_by(f64::total_cmp)
        };
        let parts = fit.parts_without(hypothesis);
        let passes = reads.iter().any(|r| r.sight.place.is_diagonal()).then(|| clear(&parts, 0.0));
        let width = least(Place::is_width).map(|width| {
            let by_width = width - mm(settings.inside_width_deduction);
            passes.map_or(by_width, |passage| by_width.min(passage - mm(settings.passage_deduction)))
        });
        Self { width, height: least(Place::is_height) }
    }

    fn changed(&self, other: &Self, most: f64) -> bool {
        let far = |a: Option<f64>, b: Option<f64>| matches!((a, b), (Some(a), Some(b)) if (a - b).abs() > most);
        far(self.width, other.width) || far(self.height, other.height)
    }
}

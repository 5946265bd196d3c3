//! The chance that readings are all right, which one is the likely slip, and what to read next.
//!
//! Every hypothesis (no slip; one of the slips that [`super::slips`] names, at one reading; two of them) says what the
//! readings would have been without it, so its weight is its frequency times how well those fit one of the kinds of
//! opening in [`super::likeness`]. With the figure made linear about a first guess, readings of a kind of opening are
//! jointly normal, and undoing a slip moves one of them: each hypothesis then costs a few multiplications.
//!
//! Millimetres and floats only; what is said of exact lengths carries them along untouched.

use super::figure::{self, HEIGHT, LEAN, PARTS, Parts, RISE, Sight, WIDTH};
use super::likeness::{Component, Mixture, most_of_size, of_size};
use super::passage::{clear, mm};
use super::readings::Read;
use super::slips::{self, Fault, Made, Meant};
use crate::house::Place;
use crate::length::Length;
use crate::settings::Settings;
use arrayvec::ArrayVec;
use nalgebra::SMatrix;
use std::ops::Range;

/// Readings by their position, as bits: [`super::readings::MOST_READS`] at most.
pub(super) type Which = u64;

/// A slip at one reading, or one that several share.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slip {
    /// Which reading; of several, the first.
    pub(super) at: usize,
    /// Every reading that carries it.
    pub(super) which: Which,
    pub(super) made: Made,
    /// What undoes it, in millimetres: for an unnamed amount, the likeliest.
    pub(super) undo: f64,
    /// The exact length meant, where it is known.
    pub(super) meant: Option<Length>,
    /// The variance of an amount that is not known, in square millimetres; zero for a known one.
    open: f64,
}

impl Slip {
    fn of(at: usize, meant: &Meant) -> Self {
        let open = if let Made::Some(size) = meant.made { mm(size).powi(2) } else { 0.0 };
        Self { at, which: 1 << at, made: meant.made, undo: meant.undo, meant: meant.length, open }
    }

    /// True when it is a fault of the whole opening, not of one place.
    pub(super) const fn shared(&self) -> bool {
        matches!(self.made, Made::Shared(_))
    }

    /// True when one place is taken as misread.
    pub(super) const fn of_place(&self) -> bool {
        !matches!(self.made, Made::Shared(_) | Made::Bulge)
    }
}

/// A hypothesis with its posterior chance.
#[derive(Clone, Debug)]
pub(super) struct Hypothesis {
    /// No slip when empty; at most two, and both halves of an exchange of boxes.
    pub(super) slips: ArrayVec<Slip, 2>,
    pub(super) chance: f64,
    /// The part of the mixture it fits best.
    kind: usize,
    /// Logarithm of its own frequency.
    prior: f64,
    log: f64,
    /// The figure it leads to, where it was weighed about another one than the rest.
    parts: Option<Parts>,
}

impl Hypothesis {
    /// True when no reading is a slip.
    fn all_right(&self) -> bool {
        self.slips.iter().all(|slip| slip.made == Made::Bulge)
    }
}

/// What the readings say of slips.
pub(super) struct Posterior {
    /// The likeliest hypotheses, first the likeliest. What is left out is rarer than [`LEFT_OUT`].
    pub(super) hypotheses: Vec<Hypothesis>,
    /// The chance that no reading is a slip, and that none share a fault.
    pub(super) all_right: f64,
    /// Logarithm of how likely the readings are, whatever was made of them.
    pub(super) evidence: f64,
    kinds: Vec<Fit>,
}

/// Hypotheses this many times (natural logarithm) rarer than the best are not kept: one in a million.
const LEFT_OUT: f64 = 14.0;
/// A second slip is looked for beside so many of the likeliest first ones.
const FIRSTS: usize = 6;
/// First slips as likely as the last of those (within this, natural logarithm) are looked at too, so that an opening and
/// its mirror image are judged alike.
const AS_LIKELY: f64 = 1e-6;
/// Exchanges of boxes closer than this change nothing that matters (1/4 in).
const LEAST_EXCHANGE_MM: f64 = 6.35;
/// Hypotheses rarer than this say nothing of what kind an opening is.
const WORTH_WEIGHING: f64 = 0.01;
/// Hypotheses that the next reading is chosen by.
const WEIGHED: usize = 12;

/// Faults that many readings share: how common each is among openings, and how large (one standard deviation,
/// millimetres). No source.
const FAULTS: [(Fault, f64, f64); 4] = [
    (Fault::Corners, 0.003, 6.0),
    (Fault::Heights, 0.003, 12.0),
    (Fault::Widths, 0.007, 12.0),
    (Fault::Hook, 0.004, 3.0),
];
/// How common it is that an opening bulges at one place between its ends as no kind of opening does, and how far (one
/// standard deviation, millimetres): what is read there again and again is then believed. No source.
const BULGE: (f64, f64) = (0.0006, 25.4);
/// How common it is that the tape's case is never added at an opening. No source.
const CASE_NEVER_ADDED: f64 = 0.001;

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
    /// What the size as it is adds to the logarithm; nothing where the size is known beforehand.
    size: Option<f64>,
    /// The most that another size could add to that.
    resized_most: f64,
    weights: Vec<f64>,
}

impl Fit {
    fn new(component: &Component, reads: &[Read], about: &Parts) -> Option<Self> {
        let variances = component.variances;
        let mut precision = SMatrix::<f64, PARTS, PARTS>::from_diagonal(&variances.map(|v| 1.0 / v));
        let mut stands = 0.0;
        if reads.iter().any(|read| figure::tells_level(read.sight.place)) {
            // The whole may be turned: its ends rise and its head goes to the side together. Tapes do not see it, so it
            // is left out where nothing else was read. One more variance along one direction (Sherman and Morrison).
            let mut turned = Parts::zeros();
            turned[RISE] = component.stance;
            turned[LEAN] = -component.stance * about[HEIGHT] / about[WIDTH];
            let pushed = turned.component_div(&variances);
            let more = 1.0 + turned.dot(&pushed);
            precision.ger(-1.0 / more, &pushed, &pushed, 1.0);
            stands = more.ln();
        }
        let mut push = Parts::zeros();
        let mut gradients = Vec::with_capacity(reads.len());
        let mut misfits = Vec::with_capacity(reads.len());
        // Where nothing is known of the size its expected value is that of the guess.
        let mut expected = Parts::zeros();
        [expected[WIDTH], expected[HEIGHT]] = component.size.unwrap_or([about[WIDTH], about[HEIGHT]]);
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
        let spread: f64 = 2.0 * factor.l_dirty().diagonal().map(f64::ln).sum() + variances.map(f64::ln).sum() + stands;
        let parts = expected + moved;
        // A size that no reading tells is expected like any other.
        let size = component.size.is_none().then(|| of_size(parts[WIDTH], parts[HEIGHT]));
        let resized_most = size.map_or(0.0, |size| (most_of_size() - size).max(0.0));
        let weights: Vec<f64> = reads.iter().map(|r| 1.0 / (r.sight.sd * r.sight.sd)).collect();
        // The readings' own spreads are the same for every hypothesis, and tell one hand from another.
        let own: f64 = weights.iter().map(|weight| weight.ln()).sum();
        let base = component.ln_share - 0.5 * (square + spread - own) + size.unwrap_or(0.0);
        Some(Self { base, square, pull, hold, covariance, gain, gradients, parts, size, resized_most, weights })
    }

    /// What another size than that of the readings as they are adds to the logarithm.
    fn resize(&self, wider: f64, higher: f64) -> f64 {
        let Some(size) = self.size else { return 0.0 };
        let (w, h) = (self.parts[WIDTH], self.parts[HEIGHT]);
        if wider.abs() < SAME_SIZE * w && higher.abs() < SAME_SIZE * h {
            return 0.0;
        }
        of_size(w + wider, h + higher) - size
    }

    /// Inverse covariance between two readings.
    fn between(&self, i: usize, j: usize) -> f64 {
        let weight = self.weights[i];
        let same = if i == j { weight } else { 0.0 };
        same - weight * self.gradients[i].dot(&self.gain[j])
    }

    /// [`Self::pull`] of all readings that a slip is at, together.
    fn pull_of(&self, which: Which) -> f64 {
        bits(which).map(|at| self.pull[at]).sum()
    }

    /// Inverse covariance between the readings of two slips, together.
    fn hold_of(&self, one: Which, other: Which) -> f64 {
        bits(one).map(|i| bits(other).map(|j| self.between(i, j)).sum::<f64>()).sum()
    }

    /// The misfit when the hypothesis' slips are undone.
    fn square_without(&self, hypothesis: &Hypothesis) -> f64 {
        let mut square = self.square;
        for (n, slip) in hypothesis.slips.iter().enumerate() {
            let hold = self.hold_of(slip.which, slip.which);
            square += slip.undo * (2.0 * self.pull_of(slip.which) + slip.undo * hold);
            for other in &hypothesis.slips[..n] {
                square += 2.0 * slip.undo * other.undo * self.hold_of(slip.which, other.which);
            }
        }
        square
    }

    /// Logarithm of how likely the readings are under a hypothesis and this part of the mixture.
    fn log_of(&self, hypothesis: &Hypothesis) -> f64 {
        if let [slip] = hypothesis.slips.as_slice()
            && slip.open > 0.0
        {
            return hypothesis.prior + self.open(slip.which, slip.open).0;
        }
        let [wider, higher] = self.grown(hypothesis);
        hypothesis.prior + self.base + self.resize(wider, higher)
            - 0.5 * (self.square_without(hypothesis) - self.square)
    }

    /// For a slip of an amount that is not known but for its variance: the logarithm, and the likeliest amount to undo.
    fn open(&self, which: Which, variance: f64) -> (f64, f64) {
        let (pull, hold) = if which.is_power_of_two() {
            let at = which.trailing_zeros() as usize;
            (self.pull[at], self.hold[at])
        } else {
            (self.pull_of(which), self.hold_of(which, which))
        };
        let undo = -pull / (hold + 1.0 / variance);
        let [wider, higher] = self.moved(which, undo);
        let log = self.base + self.resize(wider, higher) - 0.5 * pull * undo - 0.5 * (variance * hold).ln_1p();
        (log, undo)
    }

    /// The amounts by which readings can be moved and the result be as likely as `least` (logarithms); `None` when none
    /// can. A bound: no amount outside is that likely, some inside are not.
    fn window(&self, pull: f64, hold: f64, log: f64, least: f64) -> Option<[f64; 2]> {
        let room = log + self.resized_most - least;
        if hold <= 0.0 {
            return Some([f64::NEG_INFINITY, f64::INFINITY]);
        }
        let room = room + 0.5 * pull * pull / hold;
        let (middle, reach) = (-pull / hold, (2.0 * room / hold).sqrt());
        (room >= 0.0).then_some([middle - reach, middle + reach])
    }

    /// How width and height change when readings are moved.
    fn moved(&self, which: Which, by: f64) -> [f64; 2] {
        bits(which).fold([0.0, 0.0], |[w, h], at| [w + by * self.gain[at][WIDTH], h + by * self.gain[at][HEIGHT]])
    }

    fn grown(&self, hypothesis: &Hypothesis) -> [f64; 2] {
        hypothesis.slips.iter().fold([0.0, 0.0], |[w, h], slip| {
            let [wider, higher] = self.moved(slip.which, slip.undo);
            [w + wider, h + higher]
        })
    }

    /// The parts when the hypothesis' slips are undone.
    fn parts_without(&self, hypothesis: &Hypothesis) -> Parts {
        if let Some(parts) = hypothesis.parts {
            return parts;
        }
        let mut parts = self.parts;
        for slip in &hypothesis.slips {
            for at in bits(slip.which) {
                parts.axpy(slip.undo, &self.gain[at], 1.0);
            }
        }
        parts
    }
}

/// From the least to the largest of all windows.
fn widest(windows: impl Iterator<Item = Option<[f64; 2]>>) -> [f64; 2] {
    windows.flatten().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], [a, b]| [low.min(a), high.max(b)])
}

/// A change of size by less than this part of it changes nothing in how likely it is.
const SAME_SIZE: f64 = 0.02;

/// The positions of bits.
fn bits(mut which: Which) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (which != 0).then(|| {
            let at = which.trailing_zeros() as usize;
            which &= which - 1;
            at
        })
    })
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
    // Of an even number the mean of the middle two, so that it does not matter which side they are read from.
    let middle = |all: &[f64]| {
        let at = all.len() / 2;
        Some(if all.len().is_multiple_of(2) { f64::midpoint(*all.get(at.checked_sub(1)?)?, all[at]) } else { all[at] })
    };
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
    // A chord of nothing has no direction.
    parts[WIDTH] = parts[WIDTH].max(LEAST_MM);
    parts[HEIGHT] = parts[HEIGHT].max(LEAST_MM);
    Some(parts)
}

/// The width and height that the readings are about, in millimetres; `None` when they tell neither.
pub(super) fn size(reads: &[Read]) -> Option<[f64; 2]> {
    let parts = guess(reads)?;
    let told = |wanted: fn(Place) -> bool| reads.iter().any(|r| wanted(r.sight.place));
    (told(Place::is_width) || told(Place::is_height)).then(|| {
        // What was not read is as good as the middle size.
        let [w, h] = super::likeness::middle_size();
        [if told(Place::is_width) { parts[WIDTH] } else { w }, if told(Place::is_height) { parts[HEIGHT] } else { h }]
    })
}

/// The least width and height of a guess.
const LEAST_MM: f64 = 1.0;
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
pub(super) fn weigh(reads: &[Read], in_inches: bool, mixture: &Mixture, settings: &Settings) -> Option<Posterior> {
    let about = guess(reads)?;
    let ways = Ways::of(reads, in_inches, settings);
    let first = weigh_about(reads, &ways, mixture, &about)?;
    if first.all_right > 0.5 {
        return Some(first);
    }
    // With a slip the guess may be some way off: go once more from where the hypotheses lead, all of them by their
    // chance (to pick one of two as likely would judge an opening and its mirror image apart), and weigh each that
    // leads elsewhere about its own figure.
    let again: Parts = first.hypotheses.iter().map(|h| first.kinds[h.kind].parts_without(h) * h.chance).sum::<Parts>();
    let far = (again - about).amax() >= NEAR_MM;
    let mut posterior = if far { weigh_about(reads, &ways, mixture, &again)? } else { first };
    posterior.refine(reads, mixture, if far { &again } else { &about });
    Some(posterior)
}

/// Hypotheses this much (natural logarithm) rarer than the best are not weighed about their own figure: they change no
/// chance by a thousandth.
const REFINED: f64 = 9.0;

impl Posterior {
    fn refine(&mut self, reads: &[Read], mixture: &Mixture, about: &Parts) {
        let best = self.hypotheses[0].log;
        for hypothesis in self.hypotheses.iter_mut().filter(|h| h.log > best - REFINED) {
            let own = self.kinds[hypothesis.kind].parts_without(hypothesis);
            if (own - about).amax() < NEAR_MM || own[WIDTH] <= 0.0 || own[HEIGHT] <= 0.0 {
                continue;
            }
            let fits: Option<Vec<Fit>> = mixture.iter().map(|component| Fit::new(component, reads, &own)).collect();
            let Some(fits) = fits else { continue };
            let logs: Vec<f64> = fits.iter().map(|fit| fit.log_of(hypothesis)).collect();
            let high = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let log = high + logs.iter().map(|log| (log - high).exp()).sum::<f64>().ln();
            if log.is_finite() {
                hypothesis.log = log;
                let kind = (0..fits.len()).max_by(|a, b| logs[*a].total_cmp(&logs[*b])).expect("there are kinds");
                hypothesis.kind = kind;
                if let [slip] = hypothesis.slips.as_mut_slice()
                    && slip.open > 0.0
                {
                    slip.undo = fits[kind].open(slip.which, slip.open).1;
                }
                hypothesis.parts = Some(fits[kind].parts_without(hypothesis));
            }
        }
        self.settle();
    }

    /// Sorts the hypotheses and makes chances of their weights.
    fn settle(&mut self) {
        self.hypotheses.sort_by(|a, b| b.log.total_cmp(&a.log));
        let best = self.hypotheses[0].log;
        let total: f64 = self.hypotheses.iter().map(|h| (h.log - best).exp()).sum();
        for hypothesis in &mut self.hypotheses {
            hypothesis.chance = (hypothesis.log - best).exp() / total;
        }
        self.evidence = best + total.ln();
        self.all_right = self.hypotheses.iter().filter(|h| h.all_right()).map(|h| h.chance).sum::<f64>().min(1.0);
    }
}

/// The width and height, and how likely each kind is, of readings that fit one of the usual kinds as they are; `None` for
/// others, which have to be weighed.
pub(super) fn plain(reads: &[Read], mixture: &Mixture) -> Option<([f64; 2], [f64; 4])> {
    let about = guess(reads)?;
    let fits: Vec<Fit> = mixture.iter().map(|component| Fit::new(component, reads, &about)).collect::<Option<_>>()?;
    #[allow(clippy::cast_precision_loss, reason = "a dozen readings")]
    let freedom = reads.len() as f64;
    let fitting = freedom + FITS_WELL * (2.0 * freedom).sqrt();
    if !fits.iter().take(USUAL_KINDS).any(|fit| fit.square <= fitting) {
        return None;
    }
    let high = fits.iter().map(|fit| fit.base).fold(f64::NEG_INFINITY, f64::max);
    let mut kinds = [0.0; 4];
    for (kind, fit) in kinds.iter_mut().zip(&fits) {
        *kind = (fit.base - high).exp();
    }
    let total: f64 = kinds.iter().sum();
    let best = fits.iter().max_by(|a, b| a.base.total_cmp(&b.base))?;
    Some(([best.parts[WIDTH], best.parts[HEIGHT]], kinds.map(|kind| kind / total)))
}

/// The kinds that openings usually are: near true and settled.
const USUAL_KINDS: usize = 2;
/// Readings fit a kind as they are below the mean of chi-square and so many standard deviations: two in three do.
const FITS_WELL: f64 = 0.5;

/// What each reading may have been meant as, and what several may share.
struct Ways {
    meanings: Vec<Meant>,
    /// Each reading's part of them.
    ranges: Vec<Range<usize>>,
    /// Part of all slips that are two places in each other's box.
    exchange: f64,
    /// Places that were read more than once and alike, each with the logarithm of how often a slip comes out the same.
    repeated: Vec<(Which, f64)>,
    /// Faults that many readings share, each with the logarithm of how common it is.
    faults: Vec<(Slip, f64)>,
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
        let where_is = |wanted: &dyn Fn(Place) -> bool| -> Which {
            reads.iter().enumerate().filter(|(_, r)| wanted(r.sight.place)).fold(0, |which, (at, _)| which | 1 << at)
        };
        #[allow(clippy::cast_precision_loss, reason = "a percentage")]
        let recurs = (settings.slip_recurs_percent.clamp(1, 99) as f64 / 100.0).ln();
        let mut repeated = Vec::new();
        for (at, read) in reads.iter().enumerate() {
            let place = read.sight.place;
            if reads[..at].iter().any(|other| other.sight.place == place) {
                continue;
            }
            let which = reads
                .iter()
                .enumerate()
                .filter(|(_, r)| r.sight.place == place && (r.exact - read.exact).abs() <= settings.repeat_spread);
            let which = which.fold(0, |which, (at, _)| which | 1 << at);
            let times = Which::count_ones(which);
            if times > 1 {
                // From the third on the tape was turned round or another person read, as was asked.
                repeated.push((which, recurs + 2.0 * recurs * f64::from(times - 2)));
            }
        }
        Self {
            meanings,
            ranges,
            exchange: slips::other_box_share(in_inches),
            repeated,
            faults: faults(reads, settings, &where_is),
        }
    }
}

/// Finds the readings at places.
type Finds<'a> = dyn Fn(&dyn Fn(Place) -> bool) -> Which + 'a;

/// The faults that these readings could share, and where the opening may bulge.
fn faults(reads: &[Read], settings: &Settings, where_is: &Finds<'_>) -> Vec<(Slip, f64)> {
    let places = |which: Which| {
        let mut all: Vec<Place> = bits(which).map(|at| reads[at].sight.place).collect();
        all.sort_unstable();
        all.dedup();
        all.len()
    };
    let mut all = Vec::with_capacity(FAULTS.len() + 2);
    for place in [Place::WidthUpper, Place::WidthMiddle, Place::WidthLower, Place::HeightCentre] {
        let which = where_is(&|other| other == place);
        if which != 0 {
            let (common, size) = BULGE;
            let at = which.trailing_zeros() as usize;
            let slip = Slip { at, which, made: Made::Bulge, undo: 0.0, meant: None, open: size * size };
            all.push((slip, common.ln()));
        }
    }
    let (widths, heights, diagonals) =
        (where_is(&Place::is_width), where_is(&Place::is_height), where_is(&Place::is_diagonal));
    // Without a diagonal nothing closes, so nothing would tell.
    if diagonals == 0 || widths == 0 || heights == 0 {
        return all;
    }
    let tape = widths | heights | diagonals;
    let shared = |which: Which, fault: Fault, common: f64, undo: f64, open: f64| {
        let made = Made::Shared(fault);
        (Slip { at: which.trailing_zeros() as usize, which, made, undo, meant: None, open }, common.ln())
    };
    for (fault, common, size) in FAULTS {
        let which = match fault {
            Fault::Corners => diagonals,
            Fault::Heights => heights,
            Fault::Widths => widths,
            Fault::Hook | Fault::Case => tape,
        };
        if places(which) > 1 {
            all.push(shared(which, fault, common, 0.0, size * size));
        }
    }
    let case = reads[tape.trailing_zeros() as usize].with.case.unwrap_or(settings.tape_case);
    all.push(shared(tape, Fault::Case, CASE_NEVER_ADDED, mm(case), 0.0));
    all
}

fn weigh_about(reads: &[Read], ways: &Ways, mixture: &Mixture, about: &Parts) -> Option<Posterior> {
    let fits: Vec<Fit> = mixture.iter().map(|component| Fit::new(component, reads, about)).collect::<Option<_>>()?;
    let odds = (slips::SLIPS_PER_READING / (1.0 - slips::SLIPS_PER_READING)).ln();
    let mut found = Found { best: f64::NEG_INFINITY, list: Vec::with_capacity(64) };
    found.weigh(&fits, 0.0, |fit| fit.base, ArrayVec::new);

    // One slip.
    let Ways { meanings, ranges, exchange, .. } = ways;
    for (at, range) in ranges.iter().enumerate() {
        let least = found.least() - odds;
        let [low, high] = widest(fits.iter().map(|fit| fit.window(fit.pull[at], fit.hold[at], fit.base, least)));
        for meant in meanings[range.clone()].iter().filter(|meant| meant.within(low, high)) {
            let prior = odds + meant.share.ln();
            found.one(&fits, Slip::of(at, meant), prior);
        }
    }
    // One slip that came out the same at every reading of its place.
    for (which, again) in &ways.repeated {
        let at = which.trailing_zeros() as usize;
        let least = found.least() - odds - again;
        let window = |fit: &Fit| fit.window(fit.pull_of(*which), fit.hold_of(*which, *which), fit.base, least);
        let [low, high] = widest(fits.iter().map(window));
        for meant in meanings[ranges[at].clone()].iter().filter(|meant| meant.within(low, high)) {
            let prior = odds + meant.share.ln() + again;
            found.one(&fits, Slip { which: *which, ..Slip::of(at, meant) }, prior);
        }
    }
    // One fault that many readings share.
    for (slip, prior) in &ways.faults {
        found.one(&fits, *slip, *prior);
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
            let slip = |at: usize, undo: f64, meant: Length| Slip {
                at,
                which: 1 << at,
                made: Made::OtherBox,
                undo,
                meant: Some(meant),
                open: 0.0,
            };
            found.weigh(
                &fits,
                prior,
                |fit| {
                    let square = 2.0 * undo * (fit.pull[i] - fit.pull[j])
                        + undo * undo * (fit.hold[i] + fit.hold[j] - 2.0 * fit.between(i, j));
                    fit.base - 0.5 * square
                },
                || [slip(i, undo, reads[j].exact), slip(j, -undo, reads[i].exact)].into(),
            );
        }
    }
    found.sort();
    if found.list.is_empty() {
        return None;
    }
    // Two slips, only where one does not explain the readings: beside each likely first one.
    if found.list.first().is_some_and(|best| fits[best.kind].square_without(best) > unexplained(reads.len())) {
        let single: Vec<&Hypothesis> = found
            .list
            .iter()
            .filter(|h| h.slips.len() == 1 && h.slips[0].which.is_power_of_two() && h.slips[0].of_place())
            .collect();
        let least = single.get(FIRSTS - 1).map_or(f64::NEG_INFINITY, |last| last.log - AS_LIKELY);
        let firsts: Vec<Hypothesis> = single.into_iter().take_while(|h| h.log >= least).cloned().collect();
        for first in &firsts {
            let one = first.slips[0];
            for (at, range) in ranges.iter().enumerate() {
                if at == one.at {
                    continue;
                }
                // Each kind as it is with the first slip undone: how likely, its pull at the other reading.
                let d = one.undo;
                let without: ArrayVec<(f64, f64, f64), 8> = fits
                    .iter()
                    .map(|fit| {
                        let log = fit.base - d * fit.pull[one.at] - 0.5 * d * d * fit.hold[one.at];
                        (log, fit.pull[at] + d * fit.between(one.at, at), fit.hold[at])
                    })
                    .collect();
                let least = found.least() - first.prior - odds;
                let all = without.iter().zip(&fits);
                let [low, high] = widest(all.map(|((log, pull, hold), fit)| fit.window(*pull, *hold, *log, least)));
                let known = |meant: &&Meant| meant.length.is_some() && meant.within(low, high);
                for meant in meanings[range.clone()].iter().filter(known) {
                    // Each pair is met from both of its slips when both are likely firsts; count it once.
                    if at < one.at && firsts.iter().any(|f| f.slips[0].at == at && f.slips[0].meant == meant.length) {
                        continue;
                    }
                    let prior = first.prior + odds + meant.share.ln();
                    let e = meant.undo;
                    found.weigh(
                        &fits,
                        prior,
                        |fit| {
                            let square = 2.0 * (d * fit.pull[one.at] + e * fit.pull[at])
                                + d * d * fit.hold[one.at]
                                + e * e * fit.hold[at]
                                + 2.0 * d * e * fit.between(one.at, at);
                            let (first, second) = (fit.moved(one.which, d), fit.moved(1 << at, e));
                            fit.base + fit.resize(first[0] + second[0], first[1] + second[1]) - 0.5 * square
                        },
                        || [Slip { open: 0.0, ..one }, Slip::of(at, meant)].into(),
                    );
                }
            }
        }
        found.sort();
    }
    let mut posterior = Posterior { hypotheses: found.list, all_right: 0.0, evidence: 0.0, kinds: fits };
    posterior.settle();
    Some(posterior)
}

/// Hypotheses as they are weighed.
struct Found {
    best: f64,
    list: Vec<Hypothesis>,
}

impl Found {
    /// What is less likely than this (logarithm) under every kind is not kept.
    fn least(&self) -> f64 {
        self.best - LEFT_OUT - LN_KINDS
    }

    /// Weighs one hypothesis over all kinds of openings, and keeps it if it is not hopeless.
    fn weigh(
        &mut self,
        fits: &[Fit],
        prior: f64,
        log_likelihood: impl Fn(&Fit) -> f64,
        slips: impl FnOnce() -> ArrayVec<Slip, 2>,
    ) {
        let mut logs: ArrayVec<f64, 8> = ArrayVec::new();
        let (mut kind, mut high) = (0, f64::NEG_INFINITY);
        for (at, fit) in fits.iter().enumerate() {
            let log = log_likelihood(fit) + prior;
            logs.push(log);
            if log > high {
                (kind, high) = (at, log);
            }
        }
        if high < self.least() || high.is_nan() {
            return;
        }
        let log = high + logs.iter().map(|log| (log - high).exp()).sum::<f64>().ln();
        self.best = self.best.max(log);
        if log > self.best - LEFT_OUT {
            self.list.push(Hypothesis { slips: slips(), chance: 0.0, kind, prior, log, parts: None });
        }
    }

    /// The likeliest first, without those that have become hopeless.
    fn sort(&mut self) {
        let least = self.best - LEFT_OUT;
        self.list.retain(|hypothesis| hypothesis.log > least);
        self.list.sort_by(|a, b| b.log.total_cmp(&a.log));
    }

    fn one(&mut self, fits: &[Fit], slip: Slip, prior: f64) {
        if slip.open > 0.0 {
            let likeliest = || {
                let both = fits.iter().map(|fit| fit.open(slip.which, slip.open));
                let best = both.max_by(|a, b| a.0.total_cmp(&b.0)).expect("there are kinds");
                std::iter::once(Slip { undo: best.1, ..slip }).collect()
            };
            // A window of another size than its neighbours' is no fault that its readings share.
            let of = |fit: &Fit| slip.shared() && fit.size.is_none();
            let log = |fit: &Fit| if of(fit) { f64::NEG_INFINITY } else { fit.open(slip.which, slip.open).0 };
            self.weigh(fits, prior, log, likeliest);
            return;
        }
        let (which, undo) = (slip.which, slip.undo);
        let slips = || std::iter::once(slip).collect();
        if which.is_power_of_two() {
            let at = slip.at;
            let log = |fit: &Fit| {
                let resized = fit.resize(undo * fit.gain[at][WIDTH], undo * fit.gain[at][HEIGHT]);
                fit.base + resized - 0.5 * undo * (2.0 * fit.pull[at] + undo * fit.hold[at])
            };
            self.weigh(fits, prior, log, slips);
        } else {
            let log = |fit: &Fit| {
                let [wider, higher] = fit.moved(which, undo);
                let square = undo * (2.0 * fit.pull_of(which) + undo * fit.hold_of(which, which));
                fit.base + fit.resize(wider, higher) - 0.5 * square
            };
            self.weigh(fits, prior, log, slips);
        }
    }
}

/// Logarithm of the number of kinds of openings, rounded up.
const LN_KINDS: f64 = 2.1;

impl Posterior {
    /// The chance that an unnoticed slip would change a finished size by more than `most` (millimetres).
    pub(super) fn risk(&self, reads: &[Read], settings: &Settings, most: f64) -> f64 {
        let none = Hypothesis { slips: ArrayVec::new(), chance: 0.0, kind: 0, prior: 0.0, log: 0.0, parts: None };
        let mut plain: [Option<Size>; 8] = [None; 8];
        self.hypotheses
            .iter()
            .filter(|h| h.slips.iter().any(Slip::of_place))
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

    /// The width and height that the likeliest hypothesis leads to, in millimetres.
    pub(super) fn size(&self) -> [f64; 2] {
        let best = &self.hypotheses[0];
        let parts = self.kinds[best.kind].parts_without(best);
        [parts[WIDTH], parts[HEIGHT]]
    }

    /// How likely the opening is of each kind; for a mixture without known sizes.
    pub(super) fn of_kinds(&self) -> [f64; 4] {
        let mut all = [0.0; 4];
        for hypothesis in self.hypotheses.iter().filter(|h| h.chance > WORTH_WEIGHING) {
            let logs: Vec<f64> = self.kinds.iter().map(|fit| fit.log_of(hypothesis)).collect();
            let high = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let total: f64 = logs.iter().map(|log| (log - high).exp()).sum();
            for (sum, log) in all.iter_mut().zip(&logs) {
                *sum += hypothesis.chance * (log - high).exp() / total;
            }
        }
        let total: f64 = all.iter().sum();
        if total > 0.0 { all.map(|kind| kind / total) } else { all }
    }

    /// The chance that some slip is at one of these readings, and the likeliest hypothesis that has one there.
    pub(super) fn chance_at(&self, which: Which) -> (f64, Option<&Hypothesis>) {
        let mut all = self
            .hypotheses
            .iter()
            .filter(|h| h.slips.iter().any(|slip| slip.of_place() && slip.which & which != 0))
            .peekable();
        let best = all.peek().copied();
        (all.map(|h| h.chance).sum::<f64>().min(1.0), best)
    }

    /// The chance that readings share a fault, by the fault.
    pub(super) fn shared(&self) -> Vec<(Fault, f64, &Slip)> {
        let mut all: Vec<(Fault, f64, &Slip)> = Vec::new();
        for hypothesis in &self.hypotheses {
            for slip in &hypothesis.slips {
                let Made::Shared(fault) = slip.made else { continue };
                match all.iter_mut().find(|(other, ..)| *other == fault) {
                    Some(entry) => entry.1 += hypothesis.chance,
                    None => all.push((fault, hypothesis.chance, slip)),
                }
            }
        }
        all
    }

    /// What the rest of the readings foresee at a reading that a hypothesis takes as a slip: how far the value that is
    /// meant there is from it, in standard deviations, and that standard deviation in millimetres.
    pub(super) fn fits_with_rest(
        &self,
        hypothesis: &Hypothesis,
        slip: &Slip,
        meant_mm: f64,
        read_mm: f64,
    ) -> (f64, f64) {
        let fit = &self.kinds[hypothesis.kind];
        let hold = fit.hold_of(slip.which, slip.which);
        if hold <= 0.0 {
            return (0.0, f64::INFINITY);
        }
        let others: f64 = hypothesis
            .slips
            .iter()
            .filter(|other| other.which != slip.which)
            .map(|other| other.undo * fit.hold_of(slip.which, other.which))
            .sum();
        let likeliest = -(fit.pull_of(slip.which) + others) / hold;
        (((meant_mm - read_mm) - likeliest) * hold.sqrt(), hold.sqrt().recip())
    }

    /// What the likeliest hypothesis foresees at `place`, in millimetres.
    pub(super) fn foresees(&self, place: Place) -> f64 {
        let best = &self.hypotheses[0];
        figure::predict(place, &self.kinds[best.kind].parts_without(best)).0
    }

    /// How much a reading at `place` is expected to teach of which hypothesis is right, in nats. Each hypothesis foresees
    /// the reading as a normal spread; what they teach apart is Kolchinsky and Tracey's estimate from the overlaps
    /// (Bhattacharyya's) of such spreads (Entropy 19, 361, 2017; from memory).
    ///
    /// A fault that readings share is in the next one of them too.
    pub(super) fn teaches(&self, reads: &[Read], place: Place, sd: f64) -> f64 {
        let weighed = &self.hypotheses[..self.hypotheses.len().min(WEIGHED)];
        let total: f64 = weighed.iter().map(|h| h.chance).sum();
        let foreseen: Vec<(f64, f64, f64)> = weighed
            .iter()
            .map(|h| {
                let fit = &self.kinds[h.kind];
                let (value, gradient) = figure::predict(place, &fit.parts_without(h));
                let carried: f64 = h
                    .slips
                    .iter()
                    .filter(|s| s.shared() && bits(s.which).any(|at| reads[at].sight.place == place))
                    .map(|s| s.undo)
                    .sum();
                let value = value - carried;
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
        let undone = |at: usize| {
            hypothesis.slips.iter().filter(|slip| slip.which >> at & 1 == 1).map(|slip| slip.undo).sum::<f64>()
        };
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

#[cfg(test)]
mod tests {
    use super::super::likeness::{Alike, mixture, shares};
    use super::super::readings::{Readings, Taken};
    use super::*;
    use crate::length::LengthUnit;
    use proptest::prelude::*;

    const PLACES: [Place; 8] = [
        Place::WidthTop,
        Place::WidthMiddle,
        Place::WidthBottom,
        Place::HeightLeft,
        Place::HeightRight,
        Place::DiagonalRising,
        Place::DiagonalFalling,
        Place::PlumbLeft,
    ];

    proptest! {
        #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

        /// What lies outside a window is as unlikely as it says, alone and beside a first slip, in every kind: leaving it
        /// out leaves out nothing that would have been kept.
        #[test]
        fn nothing_likely_lies_outside_a_window(
            wide in 200..1600_i64, high in 300..2000_i64, off in proptest::collection::vec(-8..9_i64, 8),
            slip in (0..8_usize, -200..201_i64), alike in any::<bool>(), room in 0.5..20.0_f64,
            at in 0..8_usize, undo in -1500.0..1500.0_f64, first in -300.0..300.0_f64,
        ) {
            #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "sixteenths of an opening")]
            let diagonal = (wide as f64).hypot(high as f64).round() as i64;
            let sizes = [wide, wide, wide, high, high, diagonal, diagonal, 0];
            let taken = PLACES.iter().zip(sizes).zip(&off).enumerate().map(|(n, ((place, size), off))| {
                let slip = if n == slip.0 { slip.1 } else { 0 };
                Taken { place: *place, value: Length::inches(size + off + slip, 16), with: None }
            });
            let settings = Settings::INCHES;
            let readings = Readings::level(LengthUnit::Inch, taken.collect());
            let reads = readings.reads(&settings);
            let same = alike.then_some(Alike { width: 900.0, height: 1500.0, sd: 2.0, chance: 0.5 });
            let mixture = mixture(&shares(&settings), same.as_ref(), &settings);
            let about = guess(&reads).unwrap();
            let beside = (at + 1) % reads.len();
            for fit in mixture.iter().filter_map(|component| Fit::new(component, &reads, &about)) {
                let outside = |window: Option<[f64; 2]>| window.is_none_or(|[low, high]| undo < low || undo > high);
                let least = fit.base - room;
                if outside(fit.window(fit.pull[at], fit.hold[at], fit.base, least)) {
                    let size = fit.resize(undo * fit.gain[at][WIDTH], undo * fit.gain[at][HEIGHT]);
                    let log = fit.base + size - 0.5 * undo * (2.0 * fit.pull[at] + undo * fit.hold[at]);
                    prop_assert!(log < least + 1e-6, "{} of {}", log, least);
                }
                let log = fit.base - first * fit.pull[beside] - 0.5 * first * first * fit.hold[beside];
                let pull = fit.pull[at] + first * fit.between(beside, at);
                if outside(fit.window(pull, fit.hold[at], log, least)) {
                    let [w, h] = fit.moved(1 << beside, first);
                    let [wider, higher] = fit.moved(1 << at, undo);
                    let square = 2.0 * (first * fit.pull[beside] + undo * fit.pull[at])
                        + first * first * fit.hold[beside]
                        + undo * undo * fit.hold[at]
                        + 2.0 * first * undo * fit.between(beside, at);
                    let log = fit.base + fit.resize(w + wider, h + higher) - 0.5 * square;
                    prop_assert!(log < least + 1e-6 + 1e-9 * log.abs(), "{} of {}", log, least);
                }
            }
        }
    }
}

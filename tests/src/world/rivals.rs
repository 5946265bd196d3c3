//! What the judgement is held against: the common paper practice, a plain least-squares global test, and the best test
//! there can be, which knows the population and the size of the slip.

use super::{Chance, Opening, Population, Spot, USUAL};
use hangtrue_core::truth::squares::{Observation, adjust};
use nalgebra::{DMatrix, DVector, SVector};

/// Paper practice: the smallest of three widths, less 3/8, down to the sixteenth.
pub fn paper_width(widths: &[f64]) -> f64 {
    let least = widths.iter().copied().fold(f64::INFINITY, f64::min);
    ((least - 0.375) * 16.0).floor() / 16.0
}

/// Paper practice looks again when the widths differ by 1/4 or more.
pub fn paper_looks_again(widths: &[f64]) -> bool {
    let most = widths.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = widths.iter().copied().fold(f64::INFINITY, f64::min);
    most - least >= 0.25 - 1e-9
}

/// A distance of a plain figure: corners `(0, 0)` and `(foot, 0)`, the two at the head, and a bow of the middle width.
struct Side {
    spot: Spot,
    value: f64,
    sd: f64,
}

impl Observation<6> for Side {
    fn value(&self) -> f64 {
        self.value
    }
    fn sd(&self) -> f64 {
        self.sd
    }
    fn predict(&self, x: &SVector<f64, 6>) -> (f64, SVector<f64, 6>) {
        let [foot, left_x, left_y, right_x, right_y, bow] = [x[0], x[1], x[2], x[3], x[4], x[5]];
        let (head_x, head_y) = (right_x - left_x, right_y - left_y);
        // Each chord, with what each unknown adds to it across and up.
        let (dx, dy, ax, ay): (f64, f64, [f64; 5], [f64; 5]) = match self.spot {
            Spot::Width(4) => (head_x, head_y, [0.0, -1.0, 0.0, 1.0, 0.0], [0.0, 0.0, -1.0, 0.0, 1.0]),
            Spot::Width(2) => {
                (f64::midpoint(foot, head_x), head_y / 2.0, [0.5, -0.5, 0.0, 0.5, 0.0], [0.0, 0.0, -0.5, 0.0, 0.5])
            }
            Spot::Width(_) => (foot, 0.0, [1.0, 0.0, 0.0, 0.0, 0.0], [0.0; 5]),
            Spot::Height(0) => (left_x, left_y, [0.0, 1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0, 0.0]),
            Spot::Height(_) => (right_x - foot, right_y, [-1.0, 0.0, 0.0, 1.0, 0.0], [0.0, 0.0, 0.0, 0.0, 1.0]),
            Spot::Rising => (right_x, right_y, [0.0, 0.0, 0.0, 1.0, 0.0], [0.0, 0.0, 0.0, 0.0, 1.0]),
            _ => (foot - left_x, left_y, [1.0, -1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0, 0.0]),
        };
        let chord = dx.hypot(dy);
        let mut gradient = SVector::zeros();
        for i in 0..5 {
            gradient[i] = (dx * ax[i] + dy * ay[i]) / chord;
        }
        let middle = f64::from(u8::from(self.spot == Spot::Width(2)));
        gradient[5] = middle;
        (chord + middle * bow, gradient)
    }
}

/// The plain global test: the weighted square of the residuals of the seven usual readings, one of which is to spare.
/// Large when they do not fit one figure. Every residual has the same size in standard deviations, so it cannot say
/// which reading it is.
pub fn global_square(values: &[f64; 7], sd: f64) -> f64 {
    let sides: Vec<Side> =
        USUAL.iter().zip(values).map(|(spot, value)| Side { spot: *spot, value: *value, sd }).collect();
    let (w, h) = (values[0], values[3]);
    let start = SVector::from([w, 0.0, h, w, h, 0.0]);
    adjust(start, &SVector::zeros(), &sides).map_or(f64::INFINITY, |fit| fit.sum_of_squares)
}

/// The square that one redundant reading passes once in a hundred: chi-square of one degree at 99 %.
pub const GLOBAL_LIMIT: f64 = 6.635;

/// The best possible test: it knows the population, the hand and the size of the slip, and weighs every place and side.
#[derive(Debug)]
pub struct Oracle {
    inverse: DMatrix<f64>,
    size: [f64; 2],
}

impl Oracle {
    /// For openings of one size of a population that is one normal spread (no racked part).
    pub fn new(population: &Population, size: [f64; 2]) -> Self {
        Self::knowing(population, size, 1000.0)
    }

    /// The same, told the size to within a spread: what windows alike in a house tell of one more.
    pub fn knowing(population: &Population, size: [f64; 2], any: f64) -> Self {
        let s = population.shapes;
        let half = std::f64::consts::FRAC_1_SQRT_2;
        let spreads = [s.lean, s.taper, s.head, s.sill, s.bow * half, s.bow * half];
        let n = USUAL.len();
        let mut covariance = DMatrix::<f64>::zeros(n, n);
        let rounding = 1.0 / population.hand.per_inch;
        for i in 0..n {
            covariance[(i, i)] = population.hand.sd.powi(2) + rounding * rounding / 12.0;
        }
        let lengths = |w: f64, h: f64, draws: [f64; 6]| {
            let opening = Opening::of(w, h, draws);
            DVector::from_iterator(n, USUAL.iter().map(|spot| opening.length(*spot)))
        };
        let [w, h] = size;
        let step = 1e-3;
        let mut add = |change: DVector<f64>, sd: f64| {
            let column = change * (sd / (2.0 * step));
            covariance += &column * column.transpose();
        };
        for (part, sd) in spreads.iter().enumerate() {
            let mut up = [0.0; 6];
            up[part] = step;
            add(lengths(w, h, up) - lengths(w, h, up.map(|v| -v)), *sd);
        }
        add(lengths(w + step, h, [0.0; 6]) - lengths(w - step, h, [0.0; 6]), any);
        add(lengths(w, h + step, [0.0; 6]) - lengths(w, h - step, [0.0; 6]), any);
        let inverse = covariance.try_inverse().expect("a covariance with reading errors has an inverse");
        Self { inverse, size }
    }

    /// The chance that no reading is a slip, by one who knows how slips are made here ([`super::spoil`]) and how often.
    /// Two slips in one opening are left out.
    pub fn all_right(&self, values: &[f64; 7], slips: f64) -> f64 {
        let truth = Opening::of(self.size[0], self.size[1], [0.0; 6]);
        let misfit = DVector::from_iterator(7, USUAL.iter().zip(values).map(|(spot, v)| v - truth.length(*spot)));
        let pull = &self.inverse * &misfit;
        let odds = slips / (1.0 - slips);
        // Likelihoods against those of the readings as they are.
        let mut slipped = 0.0;
        for (i, value) in values.iter().enumerate() {
            let moved = |by: f64| (by * pull[i] - 0.5 * by * by * self.inverse[(i, i)]).exp();
            let either = |by: f64| 0.5 * (moved(by) + moved(-by));
            let whole = value.trunc();
            let tens = (whole / 10.0).trunc();
            let swapped = value - whole + (whole - tens * 10.0) * 10.0 + tens;
            let sixteenths = ((value - whole) * 16.0).round();
            let halved = if sixteenths > 0.0 && sixteenths % 2.0 == 0.0 { sixteenths / 32.0 } else { 0.0 };
            let eighths = if halved > 0.0 { moved(halved) } else { either(2.0) };
            let any: f64 = (1..=64).map(|n| either(f64::from(n) / 16.0)).sum::<f64>() / 64.0;
            slipped += odds
                * (0.30 * either(1.0)
                    + 0.12 * either(0.5)
                    + 0.14 * either(0.25)
                    + 0.14 * either(0.125)
                    + 0.06 * either(12.0)
                    + 0.06 * either(10.0)
                    + 0.06 * moved(value - swapped)
                    + 0.05 * eighths
                    + 0.07 * any);
        }
        if slipped.is_finite() { 1.0 / (1.0 + slipped) } else { 0.0 }
    }

    /// The logarithm of how much likelier a slip of `slip` (either way, any place) is than none; and the likeliest place.
    pub fn weigh(&self, values: &[f64; 7], slip: f64) -> (f64, usize) {
        let truth = Opening::of(self.size[0], self.size[1], [0.0; 6]);
        let misfit = DVector::from_iterator(7, USUAL.iter().zip(values).map(|(spot, v)| v - truth.length(*spot)));
        let pull = &self.inverse * &misfit;
        // Sums of likelihoods, kept as logarithms: those of a large slip are beyond a float.
        let add = |a: f64, b: f64| a.max(b) + (-(a - b).abs()).exp().ln_1p();
        let places: [f64; 7] = std::array::from_fn(|i| {
            // The reading less the slip, against the reading as it is.
            let moved = |by: f64| by * pull[i] - 0.5 * by * by * self.inverse[(i, i)];
            add(moved(-slip), moved(slip))
        });
        let best = (0..7).max_by(|a, b| places[*a].total_cmp(&places[*b])).expect("seven places");
        (places.into_iter().reduce(add).expect("seven places"), best)
    }
}

/// Draws an opening of one nominal size, give or take half of `around` inches, for the oracle.
pub fn draw_of_size(population: &Population, size: [f64; 2], around: f64, chance: &mut Chance) -> Opening {
    let (w, h) = (size[0] + around * (chance.even() - 0.5), size[1] + around * (chance.even() - 0.5));
    Opening::shaped(w, h, &population.shapes, chance)
}

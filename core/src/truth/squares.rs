//! Weighted least squares: readings, each with its standard deviation, to the numbers that explain them best.
//!
//! It knows nothing of openings: what is observed says what it predicts and how that changes. `figure`
//! uses it for the corners of an opening; the tests use it for published survey nets.

use nalgebra::{SMatrix, SVector};

/// Something that was observed: a value with its spread, and what the unknowns predict for it.
pub trait Observation<const P: usize> {
    /// What was read.
    fn value(&self) -> f64;
    /// Its standard deviation, in the same unit.
    fn sd(&self) -> f64;
    /// What the unknowns predict, and how the prediction changes with each of them.
    fn predict(&self, unknowns: &SVector<f64, P>) -> (f64, SVector<f64, P>);
}

/// The result of an adjustment.
#[derive(Clone, Debug)]
pub struct Adjusted<const P: usize> {
    /// The unknowns.
    pub unknowns: SVector<f64, P>,
    /// Their covariance, from the standard deviations that came in.
    pub covariance: SMatrix<f64, P, P>,
    /// The weighted sum of the squared residuals.
    pub sum_of_squares: f64,
}

/// How one observation came out of an adjustment.
#[derive(Clone, Copy, Debug)]
pub struct Residual {
    /// The adjusted value.
    pub adjusted: f64,
    /// Adjusted less read.
    pub residual: f64,
    /// Baarda's redundancy number: the part of a slip here that shows in its own residual, 0 to 1.
    pub redundancy: f64,
    /// The residual over its own standard deviation (Baarda's w); zero where nothing checks the reading.
    pub normalised: f64,
}

/// Below this part of itself a reading is taken as unchecked: what is left is rounding.
const UNCHECKED: f64 = 1e-9;
/// Steps before an adjustment is given up. Well-posed figures settle in three or four.
const MOST_STEPS: usize = 40;

impl<const P: usize> Adjusted<P> {
    /// The residual of `observation`, which has to be one of those adjusted.
    pub fn residual<O: Observation<P>>(&self, observation: &O) -> Residual {
        let (adjusted, gradient) = observation.predict(&self.unknowns);
        let variance = observation.sd() * observation.sd();
        let explained = (gradient.transpose() * self.covariance * gradient)[0];
        let redundancy = 1.0 - explained / variance;
        let residual = adjusted - observation.value();
        let normalised = if redundancy > UNCHECKED { residual / (observation.sd() * redundancy.sqrt()) } else { 0.0 };
        Residual { adjusted, residual, redundancy, normalised }
    }

    /// The standard deviation of `direction` times the unknowns.
    pub fn sd_of(&self, direction: &SVector<f64, P>) -> f64 {
        (direction.transpose() * self.covariance * direction)[0].max(0.0).sqrt()
    }
}

/// Fits the unknowns to the observations by Gauss and Newton's steps, from `start`. Each unknown is tied to its start
/// with the precision (one over the variance) in `ties`; zero leaves it free.
///
/// `None` when the observations and ties leave an unknown open, or the steps do not settle.
pub fn adjust<const P: usize, O: Observation<P>>(
    start: SVector<f64, P>,
    ties: &SVector<f64, P>,
    observations: &[O],
) -> Option<Adjusted<P>> {
    let mut unknowns = start;
    for _ in 0..MOST_STEPS {
        let mut normal = SMatrix::<f64, P, P>::from_diagonal(ties);
        let mut pull = ties.component_mul(&(start - unknowns));
        for observation in observations {
            let (predicted, gradient) = observation.predict(&unknowns);
            let weight = 1.0 / (observation.sd() * observation.sd());
            normal.ger(weight, &gradient, &gradient, 1.0);
            pull.axpy(weight * (observation.value() - predicted), &gradient, 1.0);
        }
        let factor = normal.cholesky()?;
        let step = factor.solve(&pull);
        unknowns += step;
        if !unknowns.iter().all(|u| u.is_finite()) {
            return None;
        }
        if step.amax() <= 1e-13 * unknowns.amax().max(1.0) {
            let sum_of_squares =
                observations.iter().map(|o| ((o.predict(&unknowns).0 - o.value()) / o.sd()).powi(2)).sum();
            return Some(Adjusted { unknowns, covariance: factor.inverse(), sum_of_squares });
        }
    }
    None
}

//! What openings are like: the shapes that a judgement expects before it sees a reading.
//!
//! A mixture, honest about old houses: most are near true, many have settled, some are badly racked, and a few are like
//! nothing else. A racked house that is measured well has to come out as racked, not as misread.

use super::figure::{BOW, HEIGHT, LEAN, Parts, RISE, SLOPE, TAPER, WIDTH};

/// One kind of opening: how common it is, and how far each part of its figure strays (one standard deviation, inches).
#[derive(Clone, Copy, Debug)]
pub(super) struct Kind {
    /// Part of all openings.
    pub(super) share: f64,
    /// How far the head stands to the side of the sill.
    lean: f64,
    /// Top width less bottom width.
    taper: f64,
    /// Right height less left height.
    slope: f64,
    /// Mean rise of head and sill.
    rise: f64,
    /// Bow of both jambs together.
    bow: f64,
}

/// The kinds. The first follows the published squareness limits, taken as two standard deviations: widths and heights
/// within 1/16 to 1/8 in, diagonals within 1/4 in (US window installation instruction, US replacement-window
/// installer's guide). The others have no source: settled (lean 1/4, taper and slope 1/8, bow 1/16), racked (lean 1,
/// taper 1/2), and a rest that is four times as far out.
pub(super) const KINDS: [Kind; 4] = [
    Kind { share: 0.32, lean: 0.10, taper: 0.06, slope: 0.06, rise: 0.05, bow: 0.03 },
    Kind { share: 0.54, lean: 0.25, taper: 0.125, slope: 0.125, rise: 0.0625, bow: 0.0625 },
    Kind { share: 0.12, lean: 1.0, taper: 0.5, slope: 0.25, rise: 0.18, bow: 0.1 },
    Kind { share: 0.02, lean: 3.0, taper: 1.5, slope: 1.0, rise: 0.75, bow: 0.4 },
];

/// Spread of width and height: nothing is expected of the size of an opening (1000 in).
const ANY_SIZE: f64 = 1000.0;
const MM_PER_INCH: f64 = 25.4;

impl Kind {
    /// The variances of the parts, in square millimetres.
    pub(super) fn variances(&self) -> Parts {
        let mut sd = Parts::zeros();
        sd[WIDTH] = ANY_SIZE;
        sd[HEIGHT] = ANY_SIZE;
        sd[LEAN] = self.lean;
        sd[TAPER] = self.taper;
        sd[SLOPE] = self.slope;
        sd[RISE] = self.rise;
        sd[BOW] = self.bow;
        sd.map(|inches| (inches * MM_PER_INCH).powi(2))
    }
}

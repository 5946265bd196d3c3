//! What openings are like: the shapes that a judgement expects before it sees a reading.
//!
//! A mixture, honest about old houses: most are near true, many have settled, some are badly racked, and a few are like
//! nothing else. A racked house that is measured well has to come out as racked, not as misread.

use super::figure::{BOW, HEIGHT, LEAN, Parts, RISE, SLOPE, TAPER, WIDTH};
use crate::settings::Settings;
use arrayvec::ArrayVec;

/// One kind of opening: how far each part of its figure strays (one standard deviation, inches).
#[derive(Clone, Copy, Debug)]
pub(super) struct Kind {
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

/// The kinds; how common each is, is a setting (`kind_*_permille`). The first follows the published squareness limits,
/// taken as two standard deviations: widths and heights within 1/16 to 1/8 in, diagonals within 1/4 in (US window
/// installation instruction, US replacement-window installer's guide). The others have no source: settled (lean 1/4,
/// taper and slope 1/8, bow 1/16), racked (lean 1, taper 1/2), and a rest that is four times as far out.
pub(super) const KINDS: [Kind; 4] = [
    Kind { lean: 0.10, taper: 0.06, slope: 0.06, rise: 0.05, bow: 0.03 },
    Kind { lean: 0.25, taper: 0.125, slope: 0.125, rise: 0.0625, bow: 0.0625 },
    Kind { lean: 1.0, taper: 0.5, slope: 0.25, rise: 0.18, bow: 0.1 },
    Kind { lean: 3.0, taper: 1.5, slope: 1.0, rise: 0.75, bow: 0.4 },
];

/// Spread of width and height where the size is left open (1000 in); what is expected of it is [`of_size`].
const ANY_SIZE: f64 = 1000.0;
const MM_PER_INCH: f64 = 25.4;
/// The middle width and height of openings in a house, inches, and the spread of their logarithms: 12 to 108 in wide and
/// 18 to 134 in high are two standard deviations. No source.
const WIDE: (f64, f64) = (36.0, 0.55);
const HIGH: (f64, f64) = (49.0, 0.50);

/// The parts of all openings that each kind makes; the last has what is left.
pub(super) fn shares(settings: &Settings) -> [f64; 4] {
    #[allow(clippy::cast_precision_loss, reason = "parts of a thousand")]
    let part = |permille: i64| (permille.clamp(1, 997) as f64) / 1000.0;
    let [a, b, c] =
        [settings.kind_true_permille, settings.kind_settled_permille, settings.kind_racked_permille].map(part);
    let most = (a + b + c).max(0.999);
    let rest = (1.0 - (a + b + c)).max(0.001);
    if a + b + c > 0.999 { [a / most * 0.999, b / most * 0.999, c / most * 0.999, rest] } else { [a, b, c, rest] }
}

/// One part of the mixture that readings are held against: a kind of opening, of any size or of a known one.
#[derive(Clone, Copy, Debug)]
pub(super) struct Component {
    pub(super) ln_share: f64,
    pub(super) variances: Parts,
    /// How far the whole may be turned (one standard deviation of how much higher its right end is), in millimetres.
    pub(super) stance: f64,
    /// Width and height in millimetres, where windows like it were read already.
    pub(super) size: Option<[f64; 2]>,
}

/// A mixture: four kinds, and each once more of the neighbours' size.
pub(super) type Mixture = ArrayVec<Component, 8>;

/// A size that other openings of the house share, with how sure it is that this one has it too.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Alike {
    pub(super) width: f64,
    pub(super) height: f64,
    /// Spread of one window's size about it, millimetres.
    pub(super) sd: f64,
    /// The chance, before anything is read, that this opening is one of them.
    pub(super) chance: f64,
}

/// The mixture for one opening.
pub(super) fn mixture(shares: &[f64; 4], alike: Option<&Alike>, settings: &Settings) -> Mixture {
    let stance = super::passage::mm(settings.sill_level_spread);
    let mut all = Mixture::new();
    let strange = alike.map_or(1.0, |alike| 1.0 - alike.chance);
    for (kind, share) in KINDS.iter().zip(shares) {
        all.push(Component { ln_share: (share * strange).ln(), variances: kind.variances(), stance, size: None });
    }
    if let Some(alike) = alike {
        for (kind, share) in KINDS.iter().zip(shares) {
            let mut variances = kind.variances();
            variances[WIDTH] = alike.sd * alike.sd;
            variances[HEIGHT] = alike.sd * alike.sd;
            let size = Some([alike.width, alike.height]);
            all.push(Component { ln_share: (share * alike.chance).ln(), variances, stance, size });
        }
    }
    all
}

/// Logarithm of how likely a size is among openings of houses, against a size of which nothing is expected.
pub(super) fn of_size(width_mm: f64, height_mm: f64) -> f64 {
    let one = |mm: f64, (middle, spread): (f64, f64)| {
        let inches = (mm / MM_PER_INCH).max(LEAST_INCHES);
        let z = (inches / middle).ln() / spread;
        (ANY_SIZE / (inches * spread)).ln() - z * z / 2.0
    };
    one(width_mm, WIDE) + one(height_mm, HIGH)
}

/// The most that [`of_size`] says of any size.
pub(super) fn most_of_size() -> f64 {
    // Where the density of a log-normal size is highest: at the middle over e to its spread squared.
    [WIDE, HIGH].iter().map(|(middle, spread)| (ANY_SIZE / (middle * spread)).ln() + spread * spread / 2.0).sum()
}

/// How far a size is from the middle one, in standard deviations of its logarithm: width and height.
pub(super) fn unlikely_size(width_mm: f64, height_mm: f64) -> [f64; 2] {
    [(width_mm, WIDE), (height_mm, HIGH)]
        .map(|(mm, (middle, spread))| ((mm / MM_PER_INCH).max(LEAST_INCHES) / middle).ln() / spread)
}

/// The middle width and height, in millimetres.
pub(super) fn middle_size() -> [f64; 2] {
    [WIDE.0 * MM_PER_INCH, HIGH.0 * MM_PER_INCH]
}

/// What is no size at all is weighed as this small (inches).
const LEAST_INCHES: f64 = 0.05;

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

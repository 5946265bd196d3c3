//! A world of openings, tapes and slips, to try the judgement of readings on. Read this before believing its table.
//!
//! It shares no line with the inference: openings are points in a plane, what a tape reads is the distance between two
//! of them, what passes is looked for along the jambs, and its populations and slips are set by their own knobs. Inches
//! throughout; everything follows from a seed.

pub mod houses;
pub mod measure;
pub mod proof;
pub mod rivals;

use rand::{Rng, RngExt, SeedableRng};
use rand_xorshift::XorShiftRng;

/// How a population of openings strays from the true: one standard deviation each, inches.
#[derive(Clone, Copy, Debug)]
pub struct Shapes {
    /// Both jambs together: how far the head stands to the side.
    pub lean: f64,
    /// Top width less bottom width.
    pub taper: f64,
    /// How much the right end of the head is higher.
    pub head: f64,
    /// How much the right end of the sill is higher.
    pub sill: f64,
    /// Bow of both jambs together.
    pub bow: f64,
    /// How far the whole is turned: how much higher its right end is, over its width.
    pub turned: f64,
}

/// How readings are taken.
#[derive(Clone, Copy, Debug)]
pub struct Hand {
    /// Spread of one reading before it is rounded, inches.
    pub sd: f64,
    /// Steps in an inch that are read.
    pub per_inch: f64,
    /// A laser instead of a tape.
    pub laser: bool,
}

/// A population: part of its openings are badly racked, the rest follow its shapes.
#[derive(Clone, Copy, Debug)]
pub struct Population {
    /// As the table names it.
    pub name: &'static str,
    /// The usual openings.
    pub shapes: Shapes,
    /// Part of the openings that are racked.
    pub racked_part: f64,
    /// How those are.
    pub racked: Shapes,
    /// Who reads.
    pub hand: Hand,
}

/// The shapes of a settled house: lean 1/4, taper and slope 1/8, bow 1/16.
pub const OLD: Shapes = Shapes { lean: 0.25, taper: 0.125, head: 0.125, sill: 0.0, bow: 0.0625, turned: 0.0 };
/// A new house: within the squareness that installation instructions ask.
pub const NEW: Shapes = Shapes { lean: 0.06, taper: 0.03, head: 0.03, sill: 0.0, bow: 0.02, turned: 0.0 };
/// A badly racked one: lean 1, taper 1/2.
pub const RACKED: Shapes = Shapes { lean: 1.0, taper: 0.5, head: 0.125, sill: 0.0, bow: 0.0625, turned: 0.0 };
/// A careful hand and a tape in sixteenths.
pub const SIXTEENTHS: Hand = Hand { sd: 0.02, per_inch: 16.0, laser: false };

/// The populations of the table.
pub const POPULATIONS: [Population; 11] = [
    Population { name: "old house", shapes: OLD, racked_part: 0.0, racked: RACKED, hand: SIXTEENTHS },
    Population { name: "new house", shapes: NEW, racked_part: 0.0, racked: RACKED, hand: SIXTEENTHS },
    Population { name: "old, 15 % badly racked", shapes: OLD, racked_part: 0.15, racked: RACKED, hand: SIXTEENTHS },
    Population { name: "badly racked", shapes: OLD, racked_part: 1.0, racked: RACKED, hand: SIXTEENTHS },
    Population {
        name: "old, read to 1/8",
        shapes: OLD,
        racked_part: 0.0,
        racked: RACKED,
        hand: Hand { per_inch: 8.0, ..SIXTEENTHS },
    },
    Population {
        name: "old, laser",
        shapes: OLD,
        racked_part: 0.0,
        racked: RACKED,
        hand: Hand { sd: 0.03, per_inch: 16.0, laser: true },
    },
    Population {
        name: "old, sill out of level too",
        shapes: Shapes { sill: 0.125, ..OLD },
        racked_part: 0.0,
        racked: RACKED,
        hand: SIXTEENTHS,
    },
    Population {
        name: "old, turned as a whole by 1/8",
        shapes: Shapes { turned: 0.125, ..OLD },
        racked_part: 0.0,
        racked: RACKED,
        hand: SIXTEENTHS,
    },
    Population {
        name: "old, turned as a whole by 1/4",
        shapes: Shapes { turned: 0.25, ..OLD },
        racked_part: 0.0,
        racked: RACKED,
        hand: SIXTEENTHS,
    },
    Population {
        name: "old, coarse hand",
        shapes: OLD,
        racked_part: 0.0,
        racked: RACKED,
        hand: Hand { sd: 0.06, ..SIXTEENTHS },
    },
    Population {
        name: "old, fine hand",
        shapes: OLD,
        racked_part: 0.0,
        racked: RACKED,
        hand: Hand { sd: 0.008, per_inch: 32.0, laser: false },
    },
];

/// Nominal sizes, 18x24 to 96x90.
pub const SIZES: [[f64; 2]; 9] = [
    [18.0, 24.0],
    [24.0, 36.0],
    [24.0, 72.0],
    [30.0, 48.0],
    [36.0, 60.0],
    [48.0, 48.0],
    [48.0, 72.0],
    [72.0, 60.0],
    [96.0, 90.0],
];

/// Where a tape is laid: the seven usual places first.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Spot {
    /// A width at so many quarters of the height.
    Width(u8),
    /// A height: 0 left, 1 centre, 2 right.
    Height(u8),
    /// Bottom left to top right.
    Rising,
    /// Top left to bottom right.
    Falling,
    /// Level at the head or (false) the sill.
    Level(bool),
    /// Plumb of the right jamb or (false) the left one.
    Plumb(bool),
}

/// The places everybody reads.
pub const USUAL: [Spot; 7] =
    [Spot::Width(4), Spot::Width(2), Spot::Width(0), Spot::Height(0), Spot::Height(2), Spot::Rising, Spot::Falling];

/// A source of chance.
#[derive(Debug)]
pub struct Chance(XorShiftRng);

impl Chance {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        let mut chance = Self(XorShiftRng::seed_from_u64(seed));
        // The first draws of near seeds are alike.
        for _ in 0..16 {
            chance.0.next_u64();
        }
        chance
    }

    /// Evenly from 0 to 1.
    pub fn even(&mut self) -> f64 {
        self.0.random::<f64>()
    }

    /// Normal, of a spread (Box and Muller).
    pub fn normal(&mut self, sd: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.even()).ln()).sqrt();
        sd * radius * (std::f64::consts::TAU * self.even()).cos()
    }

    /// One of several.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss, reason = "small")]
    pub fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[((self.even() * from.len() as f64) as usize).min(from.len() - 1)]
    }
}

/// A true opening: its corners, and how each jamb bows (inwards below zero), in inches.
#[derive(Clone, Copy, Debug)]
pub struct Opening {
    bottom: [[f64; 2]; 2],
    top: [[f64; 2]; 2],
    bow: [f64; 2],
    sag: f64,
}

impl Opening {
    /// One of a population.
    pub fn draw(population: &Population, chance: &mut Chance) -> Self {
        let [w, h] = *chance.pick(&SIZES);
        let (w, h) = (w + chance.even() - 0.5, h + chance.even() - 0.5);
        let s = if chance.even() < population.racked_part { population.racked } else { population.shapes };
        Self::shaped(w, h, &s, chance)
    }

    /// One of a size, that strays from the true as these shapes do.
    pub fn shaped(w: f64, h: f64, s: &Shapes, chance: &mut Chance) -> Self {
        let draws = [
            chance.normal(s.lean),
            chance.normal(s.taper),
            chance.normal(s.head),
            chance.normal(s.sill),
            chance.normal(s.bow * std::f64::consts::FRAC_1_SQRT_2),
            chance.normal(s.bow * std::f64::consts::FRAC_1_SQRT_2),
        ];
        let turn = if s.turned > 0.0 { chance.normal(s.turned) / w } else { 0.0 };
        Self { sag: chance.normal(1.0 / 32.0), ..Self::of(w, h, draws).turned(turn) }
    }

    /// The same opening turned about its bottom left corner, by an angle to the left.
    #[must_use]
    pub fn turned(self, angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        let turn = |[x, y]: [f64; 2]| [cos * x - sin * y, sin * x + cos * y];
        Self { bottom: self.bottom.map(turn), top: self.top.map(turn), ..self }
    }

    /// An opening of a size, with lean, taper, rise of the head, rise of the sill, bow left, bow right.
    pub fn of(w: f64, h: f64, [lean, taper, head, sill, left, right]: [f64; 6]) -> Self {
        let (foot, top) = (w - taper / 2.0, w + taper / 2.0);
        let middle = foot / 2.0 + lean;
        Self {
            bottom: [[0.0, -sill / 2.0], [foot, sill / 2.0]],
            top: [[middle - top / 2.0, h - head / 2.0], [middle + top / 2.0, h + head / 2.0]],
            bow: [left, right],
            sag: 0.0,
        }
    }

    /// The corners: bottom left and right, top left and right.
    pub const fn ends(&self) -> [[[f64; 2]; 2]; 2] {
        [self.bottom, self.top]
    }

    /// The jambs at a part of the height: left and right.
    fn jambs(&self, part: f64) -> [[f64; 2]; 2] {
        let bulge = 4.0 * part * (1.0 - part);
        let at = |side: usize, way: f64| {
            let (b, t) = (self.bottom[side], self.top[side]);
            [b[0] + part * (t[0] - b[0]) + way * bulge * self.bow[side], b[1] + part * (t[1] - b[1])]
        };
        [at(0, -1.0), at(1, 1.0)]
    }

    /// The true length at a spot.
    pub fn length(&self, spot: Spot) -> f64 {
        let apart = |a: [f64; 2], b: [f64; 2]| (b[0] - a[0]).hypot(b[1] - a[1]);
        match spot {
            Spot::Width(quarters) => {
                let [left, right] = self.jambs(f64::from(quarters) / 4.0);
                apart(left, right)
            }
            Spot::Height(0) => apart(self.bottom[0], self.top[0]),
            Spot::Height(1) => {
                let half = |ends: [[f64; 2]; 2]| {
                    [f64::midpoint(ends[0][0], ends[1][0]), f64::midpoint(ends[0][1], ends[1][1])]
                };
                apart(half(self.bottom), half(self.top)) - self.sag
            }
            Spot::Height(_) => apart(self.bottom[1], self.top[1]),
            Spot::Rising => apart(self.bottom[0], self.top[1]),
            Spot::Falling => apart(self.top[0], self.bottom[1]),
            Spot::Level(true) => self.top[1][1] - self.top[0][1],
            Spot::Level(false) => self.bottom[1][1] - self.bottom[0][1],
            Spot::Plumb(true) => self.top[1][0] - self.bottom[1][0],
            Spot::Plumb(false) => self.top[0][0] - self.bottom[0][0],
        }
    }

    /// The widest upright rectangle of full height that truly passes.
    pub fn passage(&self) -> f64 {
        let (mut left, mut right) = (f64::NEG_INFINITY, f64::INFINITY);
        for step in 0..=100_u32 {
            let [l, r] = self.jambs(f64::from(step) / 100.0);
            left = left.max(l[0]);
            right = right.min(r[0]);
        }
        right - left
    }

    /// The lowest clear height.
    pub fn clear_height(&self) -> f64 {
        let rise = |ends: [[f64; 2]; 2]| ends[1][1] - ends[0][1];
        let middle = f64::midpoint(self.top[0][1] - self.bottom[0][1], self.top[1][1] - self.bottom[1][1]);
        middle - (rise(self.top) - rise(self.bottom)).abs() / 2.0
    }
}

impl Hand {
    /// A reading without a slip.
    pub fn read(&self, opening: &Opening, spot: Spot, chance: &mut Chance) -> f64 {
        let sd = if matches!(spot, Spot::Level(_) | Spot::Plumb(_)) { 1.0 / 32.0 } else { self.sd };
        ((opening.length(spot) + chance.normal(sd)) * self.per_inch).round() / self.per_inch
    }
}

/// Spoils a reading as people do; the sizes and their shares are this world's own.
pub fn spoil(reading: f64, spot: Spot, chance: &mut Chance) -> f64 {
    if matches!(spot, Spot::Level(_) | Spot::Plumb(_)) {
        return -reading;
    }
    let side = if chance.even() < 0.5 { 1.0 } else { -1.0 };
    let whole = reading.trunc();
    let draw = chance.even();
    let spoilt = if draw < 0.30 {
        reading + side
    } else if draw < 0.42 {
        reading + side / 2.0
    } else if draw < 0.56 {
        reading + side / 4.0
    } else if draw < 0.70 {
        reading + side / 8.0
    } else if draw < 0.76 {
        reading + side * 12.0
    } else if draw < 0.82 {
        reading + side * 10.0
    } else if draw < 0.88 {
        // Two digits swapped.
        let tens = (whole / 10.0).trunc();
        reading - whole + (whole - tens * 10.0) * 10.0 + tens
    } else if draw < 0.93 {
        // Sixteenths taken as eighths, where that can be.
        let sixteenths = ((reading - whole) * 16.0).round();
        if sixteenths > 0.0 && sixteenths < 8.0 { whole + sixteenths / 8.0 } else { reading + side * 2.0 }
    } else {
        reading + side * ((chance.even() * 64.0).ceil() / 16.0)
    };
    if spoilt > 1.0 && (spoilt - reading).abs() > 1e-9 { spoilt } else { reading + 1.0 }
}

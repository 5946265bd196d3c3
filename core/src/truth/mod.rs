//! What an opening's readings say together. Read this first if you add a check on readings.
//!
//! [`judge`] takes the readings of one opening, any part of them, and says: whether they hold together, which reading is
//! the likely slip and which to take next, what shape the opening has as far as they tell, what still has to be read. Sizes come out exact and are always made of values that somebody
//! read; floats (millimetres) hold estimates only, each with its standard deviation.
//!
//! Repeats are never averaged. Where readings of one place agree within the limit, the one that is safe to cut by
//! stands (the smallest of what must fit between). Where they do not, most of them that agree stand and the rest is set
//! aside, or a further reading is asked for.

pub mod calculator;
mod figure;
mod infer;
mod likeness;
mod passage;
mod readings;
mod slips;
pub mod squares;
mod verdict;
mod words;

pub use passage::{CornerGaps, InsideSize, Passage, WidthRule, corner_gaps, inside_size};
pub use readings::{Gauge, Readings, Stand, Taken, permissible_error, stand};
pub use verdict::{NextReading, Suspect};

use crate::flag::Flag;
use crate::house::{Instrument, Opening, Place};
use crate::length::{Length, LengthUnit};
use crate::settings::Settings;
use figure::{BOW, LEAN, RISE, SLOPE, TAPER};

/// A worked-out number and its standard deviation, in millimetres. Never cut by.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Estimate {
    /// The likeliest value.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
}

/// The shape of an opening as far as its readings tell; what they do not tell is `None`.
///
/// Without a level's or plumb's reading the head and the sill are taken as level on the average of the two: tapes alone
/// cannot tell how the figure stands.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Shape {
    /// How far the top stands to the right of the foot.
    pub lean: Option<Estimate>,
    /// Top width less bottom width.
    pub taper: Option<Estimate>,
    /// How much higher the right end of the head is than its left end.
    pub slope_head: Option<Estimate>,
    /// How much higher the right end of the sill is than its left end.
    pub slope_sill: Option<Estimate>,
    /// How much more the jambs stand apart at half height than straight ones would.
    pub bow: Option<Estimate>,
    /// The widest upright rectangle of full height that passes between the jambs.
    pub passage: Option<Passage>,
    /// Bottom left, bottom right, top right, top left, from the bottom left one: to the right and up, in millimetres.
    pub corners: Option<[[f64; 2]; 4]>,
}

/// What the readings of one opening say together.
#[derive(Clone, PartialEq, Debug)]
pub struct Truth {
    /// What a person should know, decide or do again; gravest first.
    pub flags: Vec<Flag>,
    /// The shape the readings make.
    pub shape: Shape,
    /// The smallest width that stands, exact.
    pub smallest_width: Option<Length>,
    /// The smallest height that stands, exact.
    pub smallest_height: Option<Length>,
    /// Places that an inside mount needs and that were neither read nor skipped.
    pub missing: Vec<Place>,
    /// True when the readings hold together well enough to leave with: no likely slip, no repeat that differs.
    pub holds: bool,
    /// The chance that none of the figure's readings is a slip.
    pub chance_all_right: f64,
    /// Readings that are likely slips, most likely first.
    pub suspects: Vec<Suspect>,
    /// The one reading to take next, if any is worth it.
    pub next_reading: Option<NextReading>,
}

/// The places an inside mount is trusted with, in the order they are read.
pub const INSIDE_NEEDS: [Place; 8] = [
    Place::WidthTop,
    Place::WidthMiddle,
    Place::WidthBottom,
    Place::HeightLeft,
    Place::HeightRight,
    Place::DiagonalRising,
    Place::DiagonalFalling,
    Place::Depth,
];

/// Judges the standing readings of an opening.
pub fn judge(opening: &Opening, instruments: &[Instrument], settings: &Settings, unit: LengthUnit) -> Truth {
    judge_readings(&Readings::of(opening, instruments, unit), settings)
}

/// Judges readings: any part of an opening's, in order of taking.
pub fn judge_readings(readings: &Readings, settings: &Settings) -> Truth {
    let limit = settings.repeat_spread;
    let widths: [Place; 5] = Place::WIDTHS.map(|(place, _)| place);
    let smallest_width = readings::smallest(readings, &widths, limit);
    let smallest_height = readings::smallest(readings, &Place::HEIGHTS, limit);
    let reads = readings.reads(limit);
    let shape = shape(readings, &reads, settings, smallest_width);
    let missing: Vec<Place> = INSIDE_NEEDS
        .into_iter()
        .filter(|place| readings.at(*place).next().is_none() && !readings.skipped.contains(place))
        .collect();
    let verdict = verdict::verdict(readings, &reads, settings, &missing);
    let flags = words::flags(readings, settings, &shape, &missing, &verdict);
    let verdict::Verdict { holds, chance_all_right, suspects, next_reading } = verdict;
    Truth { flags, shape, smallest_width, smallest_height, missing, holds, chance_all_right, suspects, next_reading }
}

impl Truth {
    /// The inside shade of this opening; `None` when no width was read or it is too small for one.
    pub fn inside(&self, settings: &Settings, unit: LengthUnit) -> Option<InsideSize> {
        let grain = crate::length::Grain::of_tape(unit);
        inside_size(self.smallest_width?, self.smallest_height, self.shape.passage.as_ref(), settings, grain)
    }
}

fn shape(readings: &Readings, reads: &[readings::Read], settings: &Settings, smallest_width: Option<Length>) -> Shape {
    let sights: Vec<figure::Sight> = reads.iter().map(|read| read.sight).collect();
    let Some(fitted) = figure::fit(&sights) else { return Shape::default() };
    let passage = smallest_width
        .and_then(|width| passage::passage(&fitted, width, readings.result_grain(), settings.passage_deduction));
    Shape {
        lean: fitted.estimate(&[(LEAN, 1.0)]),
        taper: fitted.estimate(&[(TAPER, 1.0)]),
        slope_head: fitted.estimate(&[(RISE, 1.0), (SLOPE, 0.5)]),
        slope_sill: fitted.estimate(&[(RISE, 1.0), (SLOPE, -0.5)]),
        bow: fitted.estimate(&[(BOW, 1.0)]),
        passage,
        corners: fitted.has_corners().then(|| figure::corners(fitted.parts())),
    }
}

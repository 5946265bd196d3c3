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
mod learn;
mod likeness;
mod neighbours;
mod passage;
mod readings;
mod slips;
pub mod squares;
mod trim;
mod verdict;
mod words;

pub use learn::{Learned, learn};
pub use neighbours::{Around, Neighbours, OfHouse, judge_house};
pub use passage::{CornerGaps, InsideSize, Passage, WidthRule, corner_gaps, inside_size};
pub use readings::{Gauge, Readings, Stand, Taken, permissible_error, stand};
pub use verdict::{NextReading, Suspect};

use crate::flag::Flag;
use crate::house::{HeadShape, Instrument, Opening, Place};
use crate::length::{Length, LengthUnit};
use crate::settings::Settings;
use figure::{BOW, HEIGHT, LEAN, RISE, SLOPE, TAPER, WIDTH};

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

impl Shape {
    /// How far the top seems to lean, in millimetres, only because head and sill are not parallel: without a level's or
    /// plumb's reading half of it is taken as the sill's, and the whole is turned by that.
    fn lean_feigned(&self) -> f64 {
        let (Some(head), Some(sill), Some([_, foot, _, top])) = (self.slope_head, self.slope_sill, self.corners) else {
            return 0.0;
        };
        (head.value - sill.value).abs() / 2.0 * top[1] / foot[0]
    }
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
    /// Places that an inside mount needs and that were neither read nor skipped; none where it hangs outside by choice.
    pub missing: Vec<Place>,
    /// What the shape and the inside size take for granted because it was not read, each as a sentence would end:
    /// "the sill is level".
    pub assumes: Vec<&'static str>,
    /// True when the readings hold together well enough to leave with: no likely slip, no repeat that differs.
    pub holds: bool,
    /// The chance that none of the figure's readings is a slip.
    pub chance_all_right: f64,
    /// The chance that many readings share one fault: rounded corners, another depth, a bent hook, the case forgotten.
    pub chance_shared: f64,
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

/// Judges the standing readings of an opening by themselves.
pub fn judge(opening: &Opening, instruments: &[Instrument], settings: &Settings, unit: LengthUnit) -> Truth {
    judge_around(&Readings::of(opening, instruments, unit), &Around::of(opening), settings)
}

/// Judges readings by themselves: any part of an opening's, in order of taking.
pub fn judge_readings(readings: &Readings, settings: &Settings) -> Truth {
    judge_around(readings, &Around::default(), settings)
}

/// Judges readings with what is known around them: how the shade is mounted, and the other openings of the house.
pub fn judge_around(readings: &Readings, around: &Around, settings: &Settings) -> Truth {
    let limit = settings.repeat_spread;
    let widths: [Place; 5] = Place::WIDTHS.map(|(place, _)| place);
    let smallest_width = readings::smallest(readings, &widths, limit);
    let smallest_height = readings::smallest(readings, &Place::HEIGHTS, limit);
    let reads = readings.reads(settings);
    let shape = shape(readings, &reads, settings, smallest_width);
    // No board is screwed up under a head that is not level: what an inside shade needs is not asked for.
    let around = &Around { outside: around.outside || readings.head != HeadShape::Level, ..*around };
    let missing: Vec<Place> = INSIDE_NEEDS
        .into_iter()
        .filter(|_| !around.outside)
        .filter(|place| readings.at(*place).next().is_none() && !readings.skipped.contains(place))
        .collect();
    let size = inside(smallest_width, smallest_height, &shape, settings, readings.unit);
    let unread = |place: Place| readings.at(place).next().is_none();
    let level = !around.outside
        && shape.passage.zip(size).is_some_and(|(passage, size)| passage.stance_matters(size.finished_width));
    let look = |place: Place| unread(place) && !readings.skipped.contains(&place);
    let hidden = !around.outside && around.plaster;
    let sloped = !around.outside && !reads.iter().any(|read| figure::tells_level(read.sight.place)) && {
        shape.lean_feigned() >= passage::mm(settings.lean_advises_outside)
    };
    let unplumbed = look(Place::PlumbLeft) && look(Place::PlumbRight);
    let wanted = if sloped && unplumbed {
        Some((
            Place::PlumbLeft,
            "Head and sill are not parallel: this tells which is level, and whether the jambs lean.",
        ))
    } else if level && unplumbed {
        Some((Place::PlumbLeft, "A shade hangs plumb: this tells whether the whole opening stands out of plumb."))
    } else if hidden {
        let between =
            [Place::WidthUpper, Place::WidthLower, Place::HeightCentre].into_iter().find(|place| look(*place));
        between.map(|place| (place, "Plaster bulges and sags between the ends: this is where it shows."))
    } else {
        None
    };
    let mixture = around.mixture(settings);
    let verdict = verdict::verdict(readings, &reads, &mixture, settings, &missing, wanted);
    let mut assumes = Vec::new();
    if level {
        assumes.push(words::SILL_LEVEL);
    }
    let no_diagonal = !around.outside && size.is_some() && shape.passage.is_none();
    if no_diagonal && Place::DIAGONALS.iter().any(|place| readings.skipped.contains(place)) {
        assumes.push(words::SQUARE);
    }
    if hidden && size.is_some() && [Place::WidthUpper, Place::WidthLower, Place::HeightCentre].into_iter().any(unread) {
        assumes.push(words::STRAIGHT);
    }
    let mut flags = words::flags(readings, &reads, settings, &shape, &missing, &verdict, &assumes);
    // Without trim there is none to be misread; the height of a trim over an arch is that of its crown.
    if !around.plaster {
        trim::flags(readings, settings, &mut flags);
    }
    flags.sort_by_key(|flag| std::cmp::Reverse(flag.severity));
    let verdict::Verdict { holds, chance_all_right, chance_shared, suspects, next_reading, .. } = verdict;
    Truth {
        flags,
        shape,
        smallest_width,
        smallest_height,
        missing,
        assumes,
        holds,
        chance_all_right,
        chance_shared,
        suspects,
        next_reading,
    }
}

fn inside(
    smallest_width: Option<Length>,
    smallest_height: Option<Length>,
    shape: &Shape,
    settings: &Settings,
    unit: LengthUnit,
) -> Option<InsideSize> {
    let grain = crate::length::Grain::of_tape(unit);
    inside_size(smallest_width?, smallest_height, shape.passage.as_ref(), settings, grain)
}

impl Truth {
    /// The inside shade of this opening; `None` when no width was read or it is too small for one.
    pub fn inside(&self, settings: &Settings, unit: LengthUnit) -> Option<InsideSize> {
        inside(self.smallest_width, self.smallest_height, &self.shape, settings, unit)
    }
}

/// How far an opening leans over its height, as far as its readings tell: the lean of [`Shape`] alone.
pub fn lean(readings: &Readings, settings: &Settings) -> Option<Estimate> {
    let reads = readings.reads(settings);
    let sights: Vec<figure::Sight> = reads.iter().map(|read| read.sight).collect();
    figure::fit(&sights)?.estimate(&[(LEAN, 1.0)])
}

fn shape(readings: &Readings, reads: &[readings::Read], settings: &Settings, smallest_width: Option<Length>) -> Shape {
    let sights: Vec<figure::Sight> = reads.iter().map(|read| read.sight).collect();
    let Some(fitted) = figure::fit(&sights) else { return Shape::default() };
    let passage = smallest_width.and_then(|width| passage::passage(&fitted, width, readings.result_grain(), settings));
    // How the whole stands is in the spread of what is told against the plumb line.
    let stance = if fitted.level_known { 0.0 } else { passage::mm(settings.sill_level_spread) };
    let standing = |estimate: Option<Estimate>, stance: f64| {
        estimate.map(|estimate| Estimate { sd: estimate.sd.hypot(stance), ..estimate })
    };
    let [width, height] = [fitted.parts()[WIDTH].max(1.0), fitted.parts()[HEIGHT]];
    Shape {
        lean: standing(fitted.estimate(&[(LEAN, 1.0)]), stance * height / width),
        taper: fitted.estimate(&[(TAPER, 1.0)]),
        slope_head: standing(fitted.estimate(&[(RISE, 1.0), (SLOPE, 0.5)]), stance),
        slope_sill: standing(fitted.estimate(&[(RISE, 1.0), (SLOPE, -0.5)]), stance),
        bow: fitted.estimate(&[(BOW, 1.0)]),
        passage,
        corners: fitted.has_corners().then(|| figure::corners(fitted.parts())),
    }
}

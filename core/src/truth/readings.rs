//! Readings as the judgement takes them: exact lengths at places, with what they were read with; and which value
//! stands where a place was read more than once.

use super::figure::{self, Sight};
use super::passage::mm;
use crate::house::{HeadShape, Instrument, InstrumentKind, Opening, Place, TapeClass};
use crate::length::{Direction, Grain, Length, LengthUnit, NM_PER_MM};
use crate::settings::Settings;

/// One laying of a tape.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Taken {
    /// Where.
    pub place: Place,
    /// The exact length read.
    pub value: Length,
    /// What it was read with; `None` when nobody said: a tape of class II.
    pub with: Option<Gauge>,
}

/// What the judgement needs to know of a tape or laser.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Gauge {
    /// A tape of a class, or a laser.
    pub kind: InstrumentKind,
    /// The step it is read to; `None` when the readings should tell.
    pub grain: Option<Grain>,
    /// The length of a tape's case.
    pub case: Option<Length>,
}

impl Gauge {
    /// From the job's record of an instrument.
    pub fn of(instrument: &Instrument) -> Self {
        Self {
            kind: instrument.kind,
            grain: instrument.grain.as_ref().and_then(|typed| Grain::of(typed.value())),
            case: instrument.case.as_ref().map(crate::length::Typed::value),
        }
    }

    const UNSAID: Self = Self { kind: InstrumentKind::Tape { class: TapeClass::II }, grain: None, case: None };
}

/// An opening's readings, in order of taking, and the unit that answers are written in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Readings {
    /// The unit of words and results.
    pub unit: LengthUnit,
    /// Every reading that stands, in order of taking.
    pub taken: Vec<Taken>,
    /// Places that cannot be read.
    pub skipped: Vec<Place>,
    /// The shape of the head: what ends at one that is not level is no side of the figure.
    pub head: HeadShape,
}

impl Readings {
    /// Readings under a level head, nothing of it skipped.
    pub const fn level(unit: LengthUnit, taken: Vec<Taken>) -> Self {
        Self { unit, taken, skipped: Vec::new(), head: HeadShape::Level }
    }

    /// The standing readings of an opening.
    pub fn of(opening: &Opening, instruments: &[Instrument], unit: LengthUnit) -> Self {
        let taken = opening
            .readings
            .iter()
            .filter(|reading| opening.stands(reading))
            .map(|reading| Taken {
                place: reading.place,
                value: reading.value(),
                with: instruments.iter().find(|one| one.name == reading.with).map(Gauge::of),
            })
            .collect();
        let skipped = opening.skipped.iter().map(|skip| skip.place).collect();
        Self { unit, taken, skipped, head: opening.wall.head_shape }
    }

    /// True where a place is a side of the figure that is judged. Under an arch what is read up to its crown is none; under
    /// a slope the higher jamb, and what ends at it.
    pub(super) fn in_figure(&self, place: Place) -> bool {
        let first = |place: Place| self.at(place).next();
        let higher = || match (first(Place::HeightLeft), first(Place::HeightRight)) {
            (Some(left), Some(right)) if left > right => Place::HeightLeft,
            _ => Place::HeightRight,
        };
        self.may_be_side(place) && (self.head != HeadShape::Sloped || place != higher())
    }

    /// True where a reading at a place would be a side of the figure, whatever it reads.
    pub(super) fn may_be_side(&self, place: Place) -> bool {
        let over_head = matches!(place, Place::HeightCentre | Place::LevelHead);
        figure::in_figure(place)
            && match self.head {
                HeadShape::Level => true,
                HeadShape::Arched => !over_head,
                HeadShape::Sloped => !over_head && !place.is_diagonal(),
            }
    }

    /// The readings of one place, in order of taking.
    pub fn at(&self, place: Place) -> impl Iterator<Item = Length> + '_ {
        self.taken.iter().filter(move |taken| taken.place == place).map(|taken| taken.value)
    }

    /// True when the lengths are those of a tape in inches, however they were written: whole 64ths of an inch that are
    /// not all whole millimetres. What fits neither follows the unit.
    pub(super) fn in_inches(&self) -> bool {
        let whole = |step: i64| self.taken.iter().all(|taken| taken.value.nm() % step == 0);
        match (whole(NM_PER_MM), whole(Grain::INCH_64.step().nm())) {
            (true, false) => false,
            (false, true) => true,
            _ => self.unit.is_imperial(),
        }
    }

    /// The grain results are rounded to: 1/16 in or 1 mm, by the unit.
    pub(super) const fn result_grain(&self) -> Grain {
        Grain::of_tape(self.unit)
    }

    /// The step the tape was read to, where no instrument says: the coarsest usual one that all readings of the figure
    /// are whole in, if there are enough of them to tell (four: by chance one in sixteen or fewer), else the usual.
    pub(super) fn grain_read(&self) -> Grain {
        self.grain_beside(None)
    }

    /// As [`Self::grain_read`], by the readings of all other places: a slip need not be on the tape's grain.
    pub(super) fn grain_beside(&self, slip: Option<Place>) -> Grain {
        let (usual, coarse, fine) = if self.in_inches() {
            (Grain::INCH_16, Grain::INCH_8, Grain::INCH_32)
        } else {
            (Grain::MM, CENTIMETRE_HALF, Grain::MM_TENTH)
        };
        let figure = || self.taken.iter().filter(|taken| self.in_figure(taken.place) && Some(taken.place) != slip);
        let whole = |grain: Grain| figure().all(|taken| taken.value.nm() % grain.step().nm() == 0);
        if figure().count() >= ENOUGH_FOR_GRAIN && whole(coarse) {
            coarse
        } else if whole(usual) {
            usual
        } else {
            fine
        }
    }

    /// The readings of the figure that stand, in order of taking: those that a majority of repeats sets aside are left
    /// out.
    pub(super) fn reads(&self, settings: &Settings) -> Vec<Read> {
        let limit = settings.repeat_spread;
        let grain = self.grain_read();
        let mut aside: Vec<(Place, Length)> = Vec::new();
        for (at, taken) in self.taken.iter().enumerate() {
            let repeated = self.taken[..at].iter().any(|other| other.place == taken.place);
            if repeated && let Some(Stand::Majority { aside: out, .. }) = stand(self, taken.place, limit) {
                aside.extend(out.into_iter().map(|value| (taken.place, value)));
            }
        }
        let stands = |taken: &&Taken| self.in_figure(taken.place) && !aside.contains(&(taken.place, taken.value));
        let too_many = self.taken.iter().filter(stands).count().saturating_sub(MOST_READS);
        self.taken
            .iter()
            .filter(stands)
            .skip(too_many)
            .map(|taken| {
                let with = taken.with.unwrap_or(Gauge::UNSAID);
                let sd = spread(taken.place, taken.value, with, grain, settings);
                Read { sight: Sight { place: taken.place, value: mm(taken.value), sd }, exact: taken.value, with }
            })
            .collect()
    }

    /// The spread that a further reading at `place`, of about `value` millimetres, would have.
    pub(super) fn spread_of_next(&self, place: Place, value: f64, settings: &Settings) -> f64 {
        let with = self.taken.last().and_then(|taken| taken.with).unwrap_or(Gauge::UNSAID);
        let length = super::passage::from_mm(value, Grain::MM_TENTH, Direction::Nearest);
        spread(place, length, with, self.grain_read(), settings)
    }
}

/// A reading of the figure with what the judgement of slips needs besides its value.
#[derive(Clone, Copy, Debug)]
pub(super) struct Read {
    pub(super) sight: Sight,
    pub(super) exact: Length,
    pub(super) with: Gauge,
}

/// Readings of one figure that are weighed together: the latest.
pub(super) const MOST_READS: usize = 64;

const CENTIMETRE_HALF: Grain = match Grain::of(Length::mm(5)) {
    Some(grain) => grain,
    None => Grain::MM,
};

/// Readings that all fall on a coarse grain before the tape is taken to be read that coarsely.
const ENOUGH_FOR_GRAIN: usize = 4;

/// Largest permissible error of a tape, in millimetres: `a + b L`, L in metres rounded up to the next whole metre, plus
/// `c` from its hook. Source: Directive 2014/32/EU, Annex X, chapter I (MI-008).
pub fn permissible_error(class: TapeClass, length: Length, from_hook: bool) -> Length {
    let (a, b, c) = match class {
        TapeClass::I => (1, 1, 1),
        TapeClass::II => (3, 2, 2),
        TapeClass::III => (6, 4, 3),
    };
    let metres = length.abs().count_up(Length::mm(1000)).unwrap_or(0);
    Grain::MM_TENTH.step() * (a + b * metres + if from_hook { c } else { 0 })
}

/// How well a laser reads at the distances of an opening, one standard deviation in millimetres: half of the 1.5 mm
/// that makers of such meters usually state. From memory.
const LASER_MM: f64 = 0.75;
/// How well a level or plumb line is read, one standard deviation in millimetres. No source.
const LEVEL_MM: f64 = 1.0;
/// How far a head sags or a sill humps between its corners, one standard deviation in millimetres: a centre height
/// tells that much less of the corners. No source.
const SAG_MM: f64 = 1.2;
/// How far a bow differs at the quarters from an even curve, one standard deviation in millimetres. No source.
const UNEVEN_MM: f64 = 0.6;

/// The standard deviation of one reading in millimetres: the instrument, the hand and the grain, and at some places
/// how far the opening itself is from the figure.
fn spread(place: Place, value: Length, with: Gauge, grain_read: Grain, settings: &Settings) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a few hundred")]
    let hand = settings.hand_um as f64 / 1000.0;
    let grain = mm(with.grain.unwrap_or(grain_read).step());
    // A rounded reading is anywhere within its grain, a permissible error anywhere within it: even spreads.
    let rounding = grain * grain / 12.0;
    let instrument = if figure::tells_level(place) {
        LEVEL_MM * LEVEL_MM
    } else {
        match with.kind {
            InstrumentKind::Tape { class } => {
                let limit = mm(permissible_error(class, value, true));
                limit * limit / 3.0 + hand * hand
            }
            InstrumentKind::Laser => LASER_MM * LASER_MM,
        }
    };
    let model = match place {
        Place::HeightCentre => SAG_MM * SAG_MM,
        Place::WidthUpper | Place::WidthLower => UNEVEN_MM * UNEVEN_MM,
        _ => 0.0,
    };
    (rounding + instrument + model).sqrt()
}

/// Which value stands at a place, and what its repeats say.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Stand {
    /// Read once.
    Once(Length),
    /// Read more than once, all within the limit: the one that is safe to cut by.
    Agree(Length),
    /// Most of the readings agree and stand (the one safe to cut by); the others are set aside.
    Majority {
        /// The value used.
        value: Length,
        /// What was set aside, in order of taking.
        aside: Vec<Length>,
    },
    /// No majority agrees: the one that is safe to cut by is used until it is read again.
    Differ(Length),
}

impl Stand {
    /// The exact value used: always one that was read.
    pub const fn value(&self) -> Length {
        match self {
            Self::Once(value) | Self::Agree(value) | Self::Majority { value, .. } | Self::Differ(value) => *value,
        }
    }
}

/// Which value stands at `place`, by its repeats; `None` when it was not read. Never an average. The safe one of
/// several is the smallest, for what has to fit between; at what has to be covered or cleared it is the largest.
pub fn stand(readings: &Readings, place: Place, limit: Length) -> Option<Stand> {
    let all: Vec<Length> = readings.at(place).collect();
    let safe = |group: &[Length]| {
        let pick = if larger_is_safe(place) { group.iter().max() } else { group.iter().min() };
        *pick.expect("a group has at least one reading")
    };
    match all.as_slice() {
        [] => return None,
        [one] => return Some(Stand::Once(*one)),
        _ => {}
    }
    let mut sorted = all.clone();
    sorted.sort_unstable();
    // The largest run of neighbours within the limit; of two as large, the tighter.
    let mut best = &sorted[..1];
    for from in 0..sorted.len() {
        for to in from..sorted.len() {
            let run = &sorted[from..=to];
            let width = |run: &[Length]| run[run.len() - 1] - run[0];
            if width(run) <= limit && (run.len() > best.len() || (run.len() == best.len() && width(run) < width(best)))
            {
                best = run;
            }
        }
    }
    let value = safe(best);
    Some(if best.len() == all.len() {
        Stand::Agree(value)
    } else if best.len() * 2 > all.len() {
        let (low, high) = (best[0], best[best.len() - 1]);
        Stand::Majority { value, aside: all.into_iter().filter(|one| *one < low || *one > high).collect() }
    } else {
        Stand::Differ(safe(&sorted))
    })
}

/// True at places that have to be covered or cleared, where the larger of two readings is the safe one.
const fn larger_is_safe(place: Place) -> bool {
    matches!(
        place,
        Place::TrimWidth
            | Place::TrimLeg
            | Place::TrimThickness
            | Place::ProudMost
            | Place::ProudHeight
            | Place::SashTop
            | Place::SashIn
            | Place::HeadRise
            | Place::SillOut
            | Place::SillPast
    )
}

/// The smallest used value of several places, exact.
pub(super) fn smallest(readings: &Readings, places: &[Place], limit: Length) -> Option<Length> {
    places.iter().filter_map(|place| stand(readings, *place, limit)).map(|stand| stand.value()).min()
}

/// Rounds a measure for words: to the nearest grain of the result's unit.
pub(super) fn shown(value_mm: f64, readings: &Readings) -> String {
    super::passage::from_mm(value_mm, readings.result_grain(), Direction::Nearest).abs().show(readings.unit)
}

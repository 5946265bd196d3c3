//! From chances to what is said: whether the readings hold, whom to suspect, what to read next.

use super::infer::{self, Hypothesis, Posterior, Which};
use super::likeness::{Mixture, unlikely_size};
use super::passage::{from_mm, mm};
use super::readings::{Read, Readings, Stand, Taken, stand};
use super::slips::{Fault, Made};
use super::{figure, words};
use crate::house::Place;
use crate::length::{Direction, Length, LengthUnit};
use crate::settings::Settings;

/// A place whose reading is a likely slip.
#[derive(Clone, PartialEq, Debug)]
pub struct Suspect {
    /// Where.
    pub place: Place,
    /// The chance that its reading is a slip.
    pub chance: f64,
    /// What it probably should have been; it is never put in place of the reading.
    pub likely: Option<Length>,
    /// The kind of slip, as a person would say it: "an inch long".
    pub slip: String,
    /// Other places that what was read cannot tell from this one.
    pub or: Vec<Place>,
}

/// The reading to take next.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NextReading {
    /// Where.
    pub place: Place,
    /// Why, in one plain sentence.
    pub because: String,
}

/// What is wrong with all the readings together, rather than with one.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Whole {
    /// They are all in this unit.
    In(LengthUnit),
    /// They are of no size that an opening has.
    NoSuchSize,
    /// They do not close on one figure: a fault that many share.
    Shared(Fault),
}

pub(super) struct Verdict {
    pub(super) holds: bool,
    pub(super) chance_all_right: f64,
    pub(super) chance_shared: f64,
    pub(super) suspects: Vec<Suspect>,
    pub(super) whole: Option<Whole>,
    pub(super) next_reading: Option<NextReading>,
}

/// Suspects rarer than this are left out.
const WORTH_SAYING: f64 = 0.002;
/// Two suspects are told apart when one is this many times likelier than the other.
const TOLD_APART: f64 = 4.0;
/// Trips of the tape that a reading costs: a diagonal takes both arms, a level or plumb has to be fetched, a place that
/// is seldom read takes explaining; each time a place was read before makes it less inviting, and what has to be read
/// in any case costs less. No source.
fn cost(place: Place, times_read: usize, missing: &[Place]) -> f64 {
    let once = match place {
        _ if place.is_diagonal() => 1.3,
        _ if figure::tells_level(place) => 2.5,
        Place::WidthUpper | Place::WidthLower | Place::HeightCentre => 1.3,
        _ => 1.0,
    };
    #[allow(clippy::cast_precision_loss, reason = "a few readings")]
    let again = 0.25 * times_read.saturating_sub(1) as f64;
    if missing.contains(&place) { 0.6 * once } else { once + again }
}

/// What else is worth reading once all holds, with why.
pub(super) type Wanted = Option<(Place, &'static str)>;

/// Judges the readings that stand.
pub(super) fn verdict(
    readings: &Readings,
    reads: &[Read],
    mixture: &Mixture,
    settings: &Settings,
    missing: &[Place],
    wanted: Wanted,
) -> Verdict {
    let differ: Vec<Place> = Place::ALL
        .iter()
        .copied()
        .filter(|place| matches!(stand(readings, *place, settings.repeat_spread), Some(Stand::Differ(_))))
        .collect();
    let first_missing = || {
        let because = "Not read yet, and an inside shade is not to be trusted without it.".to_owned();
        missing.first().map(|place| NextReading { place: *place, because })
    };
    let again = || {
        let because = format!("Its readings differ by {}.", words::spread(readings, *differ.first()?));
        Some(NextReading { place: differ[0], because })
    };
    let Some(posterior) = infer::weigh(reads, readings.in_inches(), mixture, settings) else {
        // What was read and can be no figure at all is no opening's.
        let (whole, right) = if reads.is_empty() { (None, 1.0) } else { (Some(Whole::NoSuchSize), 0.0) };
        return Verdict {
            holds: differ.is_empty() && whole.is_none(),
            chance_all_right: right,
            chance_shared: 0.0,
            suspects: Vec::new(),
            whole,
            next_reading: again().or_else(first_missing),
        };
    };
    let (as_written, whole) = whole_opening(readings, reads, &posterior, mixture, settings);
    // Rounding may leave a nothing below nothing: -0.
    let chance_all_right = (posterior.all_right * as_written).clamp(0.0, 1.0) + 0.0;
    #[allow(clippy::cast_precision_loss, reason = "a percentage")]
    let holds_together = chance_all_right * 100.0 >= settings.hold_percent as f64;
    let mut suspects = suspects(readings, reads, &posterior);
    if !holds_together {
        check(readings, reads, mixture, settings, chance_all_right, &mut suspects);
    }
    let suspects: Vec<Suspect> = suspects.into_iter().map(|found| found.suspect).collect();
    let shared = posterior.shared();
    let all_shared: f64 = shared.iter().map(|(_, chance, _)| chance).sum();
    let most = suspects.first().map_or(0.0, |suspect| suspect.chance);
    let whole = whole.or_else(|| {
        let (fault, ..) = shared.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        (!holds_together && all_shared > most).then_some(Whole::Shared(*fault))
    });
    let next_reading = again().or_else(|| {
        if let Some(Whole::In(_) | Whole::NoSuchSize) = whole {
            let place = reads.first()?.sight.place;
            return Some(NextReading { place, because: "It shows whether the unit is right.".to_owned() });
        }
        if !holds_together {
            // A fault that many readings share is not found by reading them again: once one came out the same, the
            // flag says where to look instead.
            let repeated = reads
                .iter()
                .enumerate()
                .any(|(at, read)| reads[..at].iter().any(|other| other.sight.place == read.sight.place));
            if all_shared > 0.5 && repeated {
                return None;
            }
            return most_telling(readings, reads, &posterior, &suspects, missing, settings);
        }
        #[allow(clippy::cast_precision_loss, reason = "a few in a thousand")]
        let limit = settings.slip_risk_permille as f64 / 1000.0;
        first_missing()
            .or_else(|| {
                (posterior.risk(reads, settings, mm(settings.slip_matters)) > limit)
                    .then(|| most_telling(readings, reads, &posterior, &suspects, missing, settings))
                    .flatten()
            })
            .or_else(|| wanted.map(|(place, because)| NextReading { place, because: because.to_owned() }))
    });
    Verdict {
        holds: holds_together && differ.is_empty(),
        chance_all_right,
        chance_shared: all_shared,
        suspects,
        whole,
        next_reading,
    }
}

/// How common it is that all of an opening's readings are in one other unit, and that they are of no opening at all. No
/// source.
const ALL_IN_OTHER_UNIT: f64 = 0.002;
const NO_OPENING: f64 = 0.0005;
/// A size this many standard deviations from the middle one is looked at.
const STRANGE_SIZE: f64 = 2.0;

/// The chance that the readings as a whole are what they say they are, and what they are if that is less than even.
fn whole_opening(
    readings: &Readings,
    reads: &[Read],
    posterior: &Posterior,
    mixture: &Mixture,
    settings: &Settings,
) -> (f64, Option<Whole>) {
    let Some(strange) = infer::size(reads).map(|[w, h]| unlikely_size(w, h)) else { return (1.0, None) };
    let [wide, high] = strange;
    if wide.abs() < STRANGE_SIZE && high.abs() < STRANGE_SIZE {
        return (1.0, None);
    }
    let mut all = vec![(0.0, None), (NO_OPENING.ln() + 0.5 * wide.hypot(high).powi(2), Some(Whole::NoSuchSize))];
    let units: &[LengthUnit] = if readings.in_inches() {
        &[LengthUnit::Millimetre, LengthUnit::Centimetre, LengthUnit::Foot]
    } else {
        &[LengthUnit::Inch, LengthUnit::Centimetre, LengthUnit::Metre]
    };
    let one = if readings.in_inches() { LengthUnit::Inch } else { LengthUnit::Millimetre }.one();
    for unit in units {
        let times = mm(unit.one()) / mm(one);
        let meant: Vec<Read> = reads
            .iter()
            .map(|read| {
                let exact = read.exact.scale(unit.one().nm(), one.nm(), Direction::Nearest);
                let mut meant = Read { exact, ..*read };
                if !figure::tells_level(read.sight.place) {
                    meant.sight.value *= times;
                }
                meant
            })
            .collect();
        if let Some(other) = infer::weigh(&meant, readings.in_inches(), mixture, settings) {
            all.push((other.evidence - posterior.evidence + ALL_IN_OTHER_UNIT.ln(), Some(Whole::In(*unit))));
        }
    }
    let high = all.iter().map(|one| one.0).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = all.iter().map(|one| (one.0 - high).exp()).sum();
    let as_written = (all[0].0 - high).exp() / total;
    let best = all[1..].iter().max_by(|a, b| a.0.total_cmp(&b.0)).and_then(|best| best.1);
    (as_written, if as_written < 0.5 { best } else { None })
}

/// A suspect, and the readings that would be another value if it is one.
struct Found {
    suspect: Suspect,
    which: Which,
}

/// A value that is named fits with the rest if it is within this many standard deviations of what they foresee.
const FITS: f64 = 3.0;
/// Where the rest foresees a value no better than this (standard deviation, millimetres: 1/8 in), none is named unless a
/// kind of slip names it.
const FORESEEN_MM: f64 = 3.2;

fn suspects(readings: &Readings, reads: &[Read], posterior: &Posterior) -> Vec<Found> {
    let mut places: Vec<(Place, f64, &Hypothesis)> = Vec::new();
    for (at, read) in reads.iter().enumerate() {
        let place = read.sight.place;
        if reads[..at].iter().any(|other| other.sight.place == place) {
            continue;
        }
        let which =
            reads.iter().enumerate().filter(|(_, r)| r.sight.place == place).fold(0, |all, (n, _)| all | 1 << n);
        if let (chance, Some(hypothesis)) = posterior.chance_at(which) {
            places.push((place, chance, hypothesis));
        }
    }
    places.retain(|entry| entry.1 >= WORTH_SAYING);
    places.sort_by(|a, b| b.1.total_cmp(&a.1));
    places
        .iter()
        .map(|(place, chance, hypothesis)| {
            let is_here = |which: Which| reads[which.trailing_zeros() as usize].sight.place == *place;
            let mut mine = hypothesis.slips.iter().filter(|slip| slip.of_place() && is_here(slip.which));
            let slip = mine.next_back().expect("the hypothesis is of this place");
            let read = reads[slip.at];
            let grain = readings.grain_beside(Some(*place));
            let foreseen = |mm: f64| from_mm(mm, grain, Direction::Nearest);
            let meant = slip.meant.map_or_else(
                || foreseen(read.sight.value + slip.undo),
                // Another unit's number is taken as the tape here would be read.
                |meant| {
                    if matches!(slip.made, Made::ReadIn(_) | Made::OtherUnit) {
                        meant.round(grain, Direction::Nearest)
                    } else {
                        meant
                    }
                },
            );
            let named = slip.meant.map_or(read.sight.value + slip.undo, mm);
            let (off, sd) = posterior.fits_with_rest(hypothesis, slip, named, read.sight.value);
            let fits = off.abs() < FITS && (slip.meant.is_some() || sd < FORESEEN_MM) && meant > Length::ZERO;
            let fits = fits || (figure::tells_level(*place) && slip.meant.is_some());
            // Both slips of one hypothesis are not "either ... or".
            let together = |other: &Place| hypothesis.slips.iter().any(|slip| reads[slip.at].sight.place == *other);
            let or = places
                .iter()
                .filter(|other| other.0 != *place && !together(&other.0))
                .filter(|other| other.1 * TOLD_APART >= *chance && chance * TOLD_APART >= other.1)
                .map(|other| other.0)
                .collect();
            let with = hypothesis
                .slips
                .iter()
                .find(|other| slip.made == Made::OtherBox && other.at != slip.at)
                .map(|other| reads[other.at].sight.place);
            let likely = (fits && meant != read.exact).then_some(meant);
            let said = likely.map_or_else(
                || words::NO_SLIP_NAMED.to_owned(),
                |meant| words::slip(slip.made, read.exact, meant, with, readings.unit),
            );
            Found { suspect: Suspect { place: *place, chance: *chance, likely, slip: said, or }, which: slip.which }
        })
        .collect()
}

/// Suspects as likely as this have what they probably should have been tried out.
const WORTH_TRYING: f64 = 0.05;

/// Tries each likely value out: one that does not make the readings fit better is not named.
fn check(
    readings: &Readings,
    reads: &[Read],
    mixture: &Mixture,
    settings: &Settings,
    all_right: f64,
    suspects: &mut [Found],
) {
    for Found { suspect, which } in suspects {
        let Some(likely) = suspect.likely else { continue };
        let wrong = |taken: &Taken| {
            let here = reads.iter().enumerate().filter(|(at, _)| *which >> at & 1 == 1);
            taken.place == suspect.place && here.into_iter().any(|(_, read)| read.exact == taken.value)
        };
        let mut corrected = readings.clone();
        corrected.taken.iter_mut().filter(|taken| wrong(taken)).for_each(|taken| taken.value = likely);
        let better = suspect.chance >= WORTH_TRYING && {
            let reads = corrected.reads(settings);
            let here = reads.iter().enumerate().filter(|(_, read)| read.sight.place == suspect.place);
            let here = here.fold(0, |which, (at, _)| which | 1 << at);
            infer::weigh(&reads, corrected.in_inches(), mixture, settings).is_some_and(|after| {
                let (as_written, _) = whole_opening(&corrected, &reads, &after, mixture, settings);
                after.all_right * as_written > all_right && after.chance_at(here).0 < suspect.chance.min(0.5)
            })
        };
        if !better {
            suspect.likely = None;
            words::NO_SLIP_NAMED.clone_into(&mut suspect.slip);
        }
    }
}

/// The reading that teaches most for each trip of the tape.
fn most_telling(
    readings: &Readings,
    reads: &[Read],
    posterior: &Posterior,
    suspects: &[Suspect],
    missing: &[Place],
    settings: &Settings,
) -> Option<NextReading> {
    let next = |place: Place| Some(NextReading { place, because: words::because(place, readings, suspects) });
    // A suspect that stands alone is read again: only that gives its value.
    if let Some(first) = suspects.first()
        && first.or.is_empty()
        && first.chance > 0.5
    {
        return next(first.place);
    }
    let mut best: Option<(Place, f64)> = None;
    let about = |place: Place| posterior.foresees(place);
    for place in Place::ALL.iter().copied().filter(|place| readings.may_be_side(*place)) {
        if readings.skipped.contains(&place) {
            continue;
        }
        let times = reads.iter().filter(|read| read.sight.place == place).count();
        let value = posterior.teaches(reads, place, readings.spread_of_next(place, about(place), settings))
            / cost(place, times, missing);
        if best.is_none_or(|(_, most)| value > most) {
            best = Some((place, value));
        }
    }
    next(best?.0)
}

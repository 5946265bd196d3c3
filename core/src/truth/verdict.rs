//! From chances to what is said: whether the readings hold, whom to suspect, what to read next.

use super::infer::{self, Hypothesis, Posterior};
use super::passage::{from_mm, mm};
use super::readings::{Read, Readings, Stand, stand};
use super::slips::Made;
use super::{figure, words};
use crate::house::Place;
use crate::length::{Direction, Length};
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

pub(super) struct Verdict {
    pub(super) holds: bool,
    pub(super) chance_all_right: f64,
    pub(super) suspects: Vec<Suspect>,
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

/// Judges the readings that stand.
pub(super) fn verdict(readings: &Readings, reads: &[Read], settings: &Settings, missing: &[Place]) -> Verdict {
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
    let Some(posterior) = infer::weigh(reads, readings.in_inches(), settings) else {
        return Verdict {
            holds: differ.is_empty(),
            chance_all_right: 1.0,
            suspects: Vec::new(),
            next_reading: again().or_else(first_missing),
        };
    };
    let chance_all_right = posterior.all_right;
    #[allow(clippy::cast_precision_loss, reason = "a percentage")]
    let holds_together = chance_all_right * 100.0 >= settings.hold_percent as f64;
    let suspects = suspects(readings, reads, &posterior);
    let next_reading = again().or_else(|| {
        if !holds_together {
            return most_telling(readings, reads, &posterior, &suspects, missing);
        }
        #[allow(clippy::cast_precision_loss, reason = "a few in a thousand")]
        let limit = settings.slip_risk_permille as f64 / 1000.0;
        first_missing().or_else(|| {
            (posterior.risk(reads, settings, mm(settings.slip_matters)) > limit)
                .then(|| most_telling(readings, reads, &posterior, &suspects, missing))
                .flatten()
        })
    });
    Verdict { holds: holds_together && differ.is_empty(), chance_all_right, suspects, next_reading }
}

fn suspects(readings: &Readings, reads: &[Read], posterior: &Posterior) -> Vec<Suspect> {
    let mut places: Vec<(Place, f64, usize, &Hypothesis)> = Vec::new();
    for (at, (chance, hypothesis)) in posterior.by_reading().into_iter().enumerate() {
        let Some(hypothesis) = hypothesis else { continue };
        match places.iter_mut().find(|entry| entry.0 == reads[at].sight.place) {
            Some(entry) => {
                entry.1 += chance;
                if hypothesis.chance > entry.3.chance {
                    (entry.2, entry.3) = (at, hypothesis);
                }
            }
            None => places.push((reads[at].sight.place, chance, at, hypothesis)),
        }
    }
    places.retain(|entry| entry.1 >= WORTH_SAYING);
    places.sort_by(|a, b| b.1.total_cmp(&a.1));
    places
        .iter()
        .map(|(place, chance, at, hypothesis)| {
            let slip = hypothesis.slips.iter().find(|slip| slip.at == *at).expect("the hypothesis is of this reading");
            let meant = slip.meant.unwrap_or_else(|| {
                from_mm(reads[*at].sight.value + slip.undo, readings.grain_read(), Direction::Nearest)
            });
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
                .find(|other| slip.made == Made::OtherBox && other.at != *at)
                .map(|other| reads[other.at].sight.place);
            let said = words::slip(slip.made, reads[*at].exact, meant, with, readings.unit);
            Suspect { place: *place, chance: *chance, likely: Some(meant), slip: said, or }
        })
        .collect()
}

/// The reading that teaches most for each trip of the tape.
fn most_telling(
    readings: &Readings,
    reads: &[Read],
    posterior: &Posterior,
    suspects: &[Suspect],
    missing: &[Place],
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
    for place in Place::ALL.iter().copied().filter(|place| figure::in_figure(*place)) {
        if readings.skipped.contains(&place) {
            continue;
        }
        let times = reads.iter().filter(|read| read.sight.place == place).count();
        let value =
            posterior.teaches(place, readings.spread_of_next(place, about(place))) / cost(place, times, missing);
        if best.is_none_or(|(_, most)| value > most) {
            best = Some((place, value));
        }
    }
    next(best?.0)
}

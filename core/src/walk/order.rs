//! What is needed at an opening and what comes next there, in the order of reading.

use crate::house::{Ask, Job, Opening, Place};
use crate::mount::{self, Catalogue, Leads};
use crate::settings::Settings;

/// The seven readings of a figure: three widths, two heights, two diagonals.
pub(super) const FIGURE: [Place; 7] = [
    Place::WidthTop,
    Place::WidthMiddle,
    Place::WidthBottom,
    Place::HeightLeft,
    Place::HeightRight,
    Place::DiagonalRising,
    Place::DiagonalFalling,
];

/// Where the readings and the choices of an opening lead ([`mount::leads`]).
pub(super) fn leads(job: &Job, opening: &Opening, settings: &Settings) -> Leads {
    mount::leads(opening, &job.instruments, settings, Catalogue::standard(job.unit), job.unit)
}

/// The places that must be read or left out before leaving, in the order of the walk ([`mount::needs`]).
pub fn needed(job: &Job, opening: &Opening, settings: &Settings) -> Vec<Place> {
    mount::needs(opening, leads(job, opening, settings))
}

/// True when the place was read, and the reading stands.
pub fn is_read(opening: &Opening, place: Place) -> bool {
    opening.standing(place).next().is_some()
}

/// True when somebody said why the place is not read, and it was not read all the same.
pub fn is_skipped(opening: &Opening, place: Place) -> bool {
    opening.skipped.iter().any(|skip| skip.place == place) && !is_read(opening, place)
}

/// What stands open of the places that are needed.
pub(super) fn open(opening: &Opening, needed: &[Place]) -> Vec<Place> {
    needed.iter().copied().filter(|place| !is_read(opening, *place) && !is_skipped(opening, *place)).collect()
}

/// True when nothing of an opening stands open and no ask is unanswered.
pub(super) fn is_done(job: &Job, opening: &Opening, settings: &Settings) -> bool {
    // What an inside shade needs is looked at first: what leads outside is only worked out once all of it is there.
    asked(opening).is_none()
        && open(opening, &mount::needs(opening, Leads::Nowhere)).is_empty()
        && open(opening, &needed(job, opening, settings)).is_empty()
}

/// The first unanswered ask of the workroom, and the places of it that are not yet read for it.
pub fn asked(opening: &Opening) -> Option<(&Ask, Vec<Place>)> {
    let ask = opening.asks.iter().find(|ask| !opening.is_answered(ask))?;
    let read_for = |place: Place| opening.standing(place).any(|reading| opening.answers(reading, ask));
    let places = if ask.places.is_empty() {
        // All of the opening: what was read before, or what is needed where nothing was.
        let mut read: Vec<Place> = opening.readings.iter().map(|reading| reading.place).collect();
        read.sort_unstable();
        read.dedup();
        if read.is_empty() { mount::needs(opening, Leads::Nowhere) } else { read }
    } else {
        ask.places.clone()
    };
    Some((ask, places.into_iter().filter(|place| !read_for(*place)).collect()))
}

/// The next place of [`open`] after `from`, going round, so that a walk begun anywhere goes on from there.
pub(super) fn next_open(opening: &Opening, order: &[Place], from: Option<Place>) -> Option<Place> {
    let at = from.and_then(|from| order.iter().position(|place| *place == from)).map_or(0, |at| at + 1);
    let open = open(opening, order);
    order[at..].iter().chain(&order[..at]).copied().find(|place| open.contains(place))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{Mount, Reading, Skip};
    use crate::length::{LengthUnit, Typed};
    use chrono::DateTime;
    use uuid::Uuid;

    fn read(opening: &mut Opening, place: Place, at: i64) {
        opening.readings.push(Reading {
            id: Uuid::from_u128(u128::try_from(at).unwrap()),
            place,
            typed: Typed::read("34", LengthUnit::Inch).unwrap(),
            at: DateTime::from_timestamp_millis(at).unwrap(),
            by: String::new(),
            with: String::new(),
            amends: None,
            answers: None,
            withdrawn: None,
        });
    }

    #[test]
    fn goes_round_from_wherever_it_was_begun() {
        let mut opening = Opening::new(Uuid::nil(), "N".to_owned());
        let next_open = |opening: &Opening, from| next_open(opening, &mount::needs(opening, Leads::Nowhere), from);
        assert_eq!(next_open(&opening, None), Some(Place::WidthTop));
        read(&mut opening, Place::HeightLeft, 1);
        assert_eq!(next_open(&opening, Some(Place::HeightLeft)), Some(Place::HeightRight));
        let skip = Skip { place: Place::Depth, why: "no".to_owned(), at: DateTime::UNIX_EPOCH, by: String::new() };
        opening.skipped.push(skip);
        assert_eq!(next_open(&opening, Some(Place::DiagonalFalling)), Some(Place::WidthTop));
        for (place, at) in FIGURE.iter().zip(2..) {
            read(&mut opening, *place, at);
        }
        assert_eq!(next_open(&opening, Some(Place::WidthTop)), None);
        opening.choices.mount = Some(Mount::Outside);
        assert_eq!(next_open(&opening, None), Some(Place::TrimWidth));
    }

    #[test]
    fn an_ask_names_what_is_still_to_be_read_for_it() {
        let mut opening = Opening::new(Uuid::nil(), "N".to_owned());
        read(&mut opening, Place::WidthTop, 10);
        read(&mut opening, Place::HeightLeft, 11);
        opening.asks.push(Ask {
            id: Uuid::max(),
            places: vec![],
            why: "an inch?".to_owned(),
            at: DateTime::from_timestamp_millis(20).unwrap(),
            by: "desk".to_owned(),
            closed: None,
        });
        assert_eq!(asked(&opening).unwrap().1, [Place::WidthTop, Place::HeightLeft]);
        // A later time alone answers nothing: the desk's clock and the phone's may be hours apart.
        read(&mut opening, Place::WidthTop, 30);
        assert_eq!(asked(&opening).unwrap().1, [Place::WidthTop, Place::HeightLeft]);
        opening.readings.last_mut().unwrap().answers = Some(Uuid::max());
        assert_eq!(asked(&opening).unwrap().1, [Place::HeightLeft]);
        read(&mut opening, Place::HeightLeft, 31);
        opening.readings.last_mut().unwrap().answers = Some(Uuid::max());
        assert_eq!(asked(&opening), None);
    }
}

//! The order of reading at an opening: what is needed, and what comes next. Common practice of the trade, no source.

use crate::house::{Ask, Attach, Foot, Mount, Opening, Place};

/// Needed at every opening: three widths, two heights, two diagonals.
pub(super) const EVERY: [Place; 7] = [
    Place::WidthTop,
    Place::WidthMiddle,
    Place::WidthBottom,
    Place::HeightLeft,
    Place::HeightRight,
    Place::DiagonalRising,
    Place::DiagonalFalling,
];

/// Needed for an outside mount on trim.
const TRIM: [Place; 4] = [Place::TrimWidth, Place::TrimHeight, Place::TrimLeg, Place::TrimThickness];

/// Needed for any outside mount.
const AROUND: [Place; 5] = [Place::ProudMost, Place::SillOut, Place::WallAbove, Place::WallLeft, Place::WallRight];

/// The places that must be read or skipped before leaving, in the order of the walk. While nobody has said how it
/// is mounted, the depth is among them, so that both mounts can be judged; what only an outside mount needs is not.
pub fn needed(opening: &Opening) -> Vec<Place> {
    let mut places = EVERY.to_vec();
    let (wall, choices) = (&opening.wall, &opening.choices);
    if choices.mount == Some(Mount::Outside) {
        if !wall.no_trim {
            places.extend(TRIM.iter().filter(|place| !(wall.no_sill && **place == Place::TrimHeight)));
        }
        places.extend(AROUND.iter().filter(|place| !(wall.no_sill && **place == Place::SillOut)));
        match choices.attach {
            Some(Attach::Ceiling) => places.push(Place::CeilingToSill),
            Some(Attach::Face) => places.extend([Place::FaceAbove, Place::FaceOut]),
            Some(Attach::Flush | Attach::Brackets) | None => {}
        }
        match choices.foot {
            Foot::Sill if !wall.no_sill => {}
            Foot::Apron => places.push(Place::SillToApronFoot),
            Foot::Sill | Foot::Floor => places.push(Place::SillToFloor),
        }
    } else {
        places.push(Place::Depth);
    }
    places
}

/// True when the place was read, and the reading stands.
pub fn is_read(opening: &Opening, place: Place) -> bool {
    opening.standing(place).next().is_some()
}

/// True when somebody said why the place is not read, and it was not read all the same.
pub fn is_skipped(opening: &Opening, place: Place) -> bool {
    opening.skipped.iter().any(|skip| skip.place == place) && !is_read(opening, place)
}

/// What stands open of [`needed`].
pub(super) fn open(opening: &Opening) -> Vec<Place> {
    needed(opening).into_iter().filter(|place| !is_read(opening, *place) && !is_skipped(opening, *place)).collect()
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
        if read.is_empty() { needed(opening) } else { read }
    } else {
        ask.places.clone()
    };
    Some((ask, places.into_iter().filter(|place| !read_for(*place)).collect()))
}

/// The next place of [`open`] after `from`, going round, so that a walk begun anywhere goes on from there.
pub(super) fn next_open(opening: &Opening, from: Option<Place>) -> Option<Place> {
    let order = needed(opening);
    let at = from.and_then(|from| order.iter().position(|place| *place == from)).map_or(0, |at| at + 1);
    let open = open(opening);
    order[at..].iter().chain(&order[..at]).copied().find(|place| open.contains(place))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{Reading, Skip};
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
        assert_eq!(next_open(&opening, None), Some(Place::WidthTop));
        read(&mut opening, Place::HeightLeft, 1);
        assert_eq!(next_open(&opening, Some(Place::HeightLeft)), Some(Place::HeightRight));
        let skip = Skip { place: Place::Depth, why: "no".to_owned(), at: DateTime::UNIX_EPOCH, by: String::new() };
        opening.skipped.push(skip);
        assert_eq!(next_open(&opening, Some(Place::DiagonalFalling)), Some(Place::WidthTop));
        for (place, at) in EVERY.iter().zip(2..) {
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

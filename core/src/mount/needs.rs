//! What has to be read at an opening: what the way it is to hang is sized, cleared and checked by. Common practice of the
//! trade, no source.

use super::{Catalogue, Edge, inside, size_of};
use crate::house::{Attach, Foot, HeadShape, Instrument, Mount, Opening, Place};
use crate::length::LengthUnit;
use crate::settings::Settings;
use crate::truth::{self, INSIDE_NEEDS, Readings};

/// Of trim: what an outside shade is sized from, and the leg, so that one width between the jambs checks the trim's.
const TRIM: [Place; 4] = [Place::TrimWidth, Place::TrimHeight, Place::TrimLeg, Place::TrimThickness];

/// One width and one height between the jambs: what the trim's are checked by.
const CHECK: [Place; 2] = [Place::WidthTop, Place::HeightLeft];

/// Where the opening itself is what is covered.
const OPENING: [Place; 5] =
    [Place::WidthTop, Place::WidthMiddle, Place::WidthBottom, Place::HeightLeft, Place::HeightRight];

/// The places that have to be read or left out with a reason, in the order of the walk. Where it is to hang inside, or
/// nobody has said, those of an inside shade; outside, those that this outside shade is sized, cleared and checked by;
/// both where it was left undecided, or where the readings lead outside though nobody said so.
pub fn needs(opening: &Opening, leads: Leads) -> Vec<Place> {
    let mut places = Vec::new();
    let outside = opening.choices.mount == Some(Mount::Outside);
    // Under a head that is not level no board is screwed up: whatever was chosen, it is measured for outside.
    let barred = opening.wall.head_shape != HeadShape::Level;
    if !outside && !barred {
        places.extend(INSIDE_NEEDS);
    }
    if let Leads::Plumb(place) = leads {
        places.push(place);
    }
    let goes_outside = opening.choices.undecided || matches!(leads, Leads::Outside(_));
    if outside || barred || (opening.choices.mount.is_none() && goes_outside) {
        for place in of_outside(opening) {
            if !places.contains(&place) {
                places.push(place);
            }
        }
    }
    places
}

fn of_outside(opening: &Opening) -> Vec<Place> {
    let (wall, choices) = (&opening.wall, &opening.choices);
    let face = choices.attach == Some(Attach::Face);
    let mut places = Vec::new();
    if face || wall.no_trim {
        places.extend(OPENING);
        places.extend((wall.head_shape == HeadShape::Arched).then_some(Place::HeadRise));
        // Trim under a beam is not covered to its edges, and has to be cleared.
        places.extend((!wall.no_trim).then_some(Place::TrimThickness));
    } else {
        places.extend(CHECK);
        places.extend(TRIM);
    }
    let above = match choices.attach {
        Some(Attach::Face) => [Some(Place::FaceAbove), Some(Place::FaceOut)],
        Some(Attach::Ceiling) => [Some(Place::CeilingToSill), Some(Place::WallAbove)],
        Some(Attach::Flush | Attach::Brackets) | None => [Some(Place::WallAbove), None],
    };
    places.extend(above.into_iter().flatten());
    places.extend([Place::WallLeft, Place::WallRight, Place::ProudMost]);
    let below = match choices.foot {
        // Without a sill there is nothing to stop at but the floor, whatever is chosen later.
        Foot::Sill => wall.no_sill.then_some(Place::SillToFloor),
        Foot::Apron => Some(Place::SillToApronFoot),
        Foot::Floor => Some(Place::SillToFloor),
    };
    if let Some(below) = below {
        // It hangs past the sill, and has to clear it.
        places.extend((!wall.no_sill).then_some(Place::SillOut));
        places.push(below);
        // And what stands below it would stop it.
        places.extend(wall.below.stands().then_some(Place::SillToStop));
    }
    places
}

/// What an outside shade on this edge is sized by, and what must be clear beside it.
pub fn sized_by(edge: Edge) -> Vec<Place> {
    let mut places = match edge {
        Edge::Trim => vec![Place::TrimWidth, Place::TrimHeight],
        Edge::Opening | Edge::Face => OPENING.to_vec(),
    };
    places.extend([Place::WallLeft, Place::WallRight]);
    places
}

/// Where the readings and the choices lead though nobody said where the shade is to hang: what [`super::work`] advises by,
/// before the trim and the wall are read, so that they are asked for while the tape is at hand.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Leads {
    /// Nothing speaks for an outside mount yet, or somebody chose.
    Nowhere,
    /// It seems to lean; a plumb read here tells whether it does, or the sill is out of level.
    Plumb(Place),
    /// Outside; why, a clause.
    Outside(&'static str),
}

/// Where the readings and the choices of an opening lead.
pub fn leads(
    opening: &Opening,
    instruments: &[Instrument],
    settings: &Settings,
    catalogue: &Catalogue,
    unit: LengthUnit,
) -> Leads {
    let choices = &opening.choices;
    if choices.mount.is_some() {
        return Leads::Nowhere;
    }
    match opening.wall.head_shape {
        HeadShape::Level => {}
        HeadShape::Arched => return Leads::Outside("its head is an arch"),
        HeadShape::Sloped => return Leads::Outside("its head slopes"),
    }
    if choices.dark {
        return Leads::Outside("light is to be kept out");
    }
    let readings = Readings::of(opening, instruments, unit);
    let depth = truth::stand(&readings, Place::Depth, settings.repeat_spread).map(|stand| stand.value());
    let board = choices.board.map_or_else(|| catalogue.usual_boards().next(), |size| catalogue.board(size));
    if let (Some(depth), Some(board)) = (depth, board)
        && depth < inside::flush_depth(board, settings, unit).max(settings.inside_depth_least)
    {
        return Leads::Outside("it is too shallow for a board inside");
    }
    let leans = truth::lean(&readings, settings).is_some_and(|lean| size_of(lean) >= settings.lean_advises_outside);
    if !leans {
        return Leads::Nowhere;
    }
    // A lean that a slip makes sends nobody to the trim.
    let truth = truth::judge(opening, instruments, settings, unit);
    let plumb = [Place::PlumbLeft, Place::PlumbRight];
    match truth.next_reading {
        _ if !truth.holds => Leads::Nowhere,
        Some(next) if plumb.contains(&next.place) => Leads::Plumb(next.place),
        _ => Leads::Outside("the opening leans"),
    }
}

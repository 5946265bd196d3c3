//! A shade that is made as one that hung there already: two readings are taken again before its old ones are cut by.

use crate::flag::{Flag, Severity};
use crate::house::{Again, Opening, Place};

/// Where one reading confirms the widths, and one the heights; the first of each that was read is asked for.
const WIDTHS: [Place; 3] = [Place::WidthMiddle, Place::WidthTop, Place::WidthBottom];
const HEIGHTS: [Place; 2] = [Place::HeightLeft, Place::HeightRight];

/// Asks for the readings that confirm the old ones; nothing once one width and one height were read again, or where nothing
/// of the kind was read at all, because then it is asked for anyway.
pub(super) fn to_confirm(opening: &Opening) -> Option<Flag> {
    let again = opening.again.as_ref()?;
    let asked: Vec<Place> = [&WIDTHS[..], &HEIGHTS[..]].into_iter().filter_map(|of| open(opening, again, of)).collect();
    if asked.is_empty() {
        return None;
    }
    let names: Vec<String> = asked.iter().map(|place| format!("the {}", place.words())).collect();
    Some(Flag::new(
        "made_again",
        Severity::TakeAgain,
        &asked,
        "It is made as the one that hung here, by that one's readings, and a house moves.".to_owned(),
        format!("Read {} again: what agrees with the old readings confirms them.", crate::flag::listed(names)),
    ))
}

/// The place to read again; nothing where one of these was read since, or none ever.
fn open(opening: &Opening, again: &Again, of: &[Place]) -> Option<Place> {
    let is_new = |place: &Place| opening.standing(*place).any(|reading| reading.at > again.at);
    if of.iter().any(is_new) {
        return None;
    }
    of.iter().copied().find(|place| opening.standing(*place).next().is_some())
}

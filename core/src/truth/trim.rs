//! What is read of the trim against what is read between the jambs: an outside shade is cut to one reading of the trim,
//! and nothing else would show that it was misread.

use super::readings::{Readings, smallest, stand};
use crate::flag::{Flag, Severity};
use crate::house::Place;
use crate::length::Length;
use crate::settings::Settings;

/// Between a jamb and the inner edge of its trim a little of the jamb shows: of both sides together this much at most, and
/// trim that reaches past the jamb hides no more than the least. Common practice, no source.
const REVEALS_MOST: Length = Length::whole_inches(1);
const REVEALS_LEAST: Length = Length::inches(-1, 4);

/// The top of the trim stands above the head by its own head piece, of this height at most. Common practice, no source.
const HEAD_MOST: Length = Length::whole_inches(14);

/// Says where trim and opening cannot both be as they were read.
pub(super) fn flags(readings: &Readings, settings: &Settings, flags: &mut Vec<Flag>) {
    let at = |place: Place| stand(readings, place, settings.repeat_spread).map(|stand| stand.value());
    let show = |length: Length| length.show_marked(readings.unit);
    let widths = Place::WIDTHS.map(|(place, _)| place);
    let across = smallest(readings, &widths, settings.repeat_spread);
    if let (Some(trim), Some(leg), Some(across)) = (at(Place::TrimWidth), at(Place::TrimLeg), across) {
        let made = across + leg * 2;
        let reveals = trim - made;
        if reveals < REVEALS_LEAST || reveals > REVEALS_MOST {
            flags.push(Flag::new(
                "trim_width_apart",
                Severity::TakeAgain,
                &[Place::TrimWidth, Place::TrimLeg],
                format!(
                    "The trim is {} wide; the opening of {} and two legs of {} make {}.",
                    show(trim),
                    show(across),
                    show(leg),
                    show(made)
                ),
                "Read the trim width again, and then the leg.",
            ));
        }
    }
    let up = smallest(readings, &Place::HEIGHTS, settings.repeat_spread);
    if let (Some(trim), Some(up)) = (at(Place::TrimHeight), up) {
        let head = trim - up;
        if head.is_negative() || head > HEAD_MOST {
            let what = if head.is_negative() {
                format!("the top of the trim would be {} below the head", show(-head))
            } else {
                format!("the trim over the head would be {} high", show(head))
            };
            flags.push(Flag::new(
                "trim_height_apart",
                Severity::TakeAgain,
                &[Place::TrimHeight],
                format!(
                    "The trim height is {}, and the height between sill and head {}: {what}.",
                    show(trim),
                    show(up)
                ),
                "Read the trim height again: from the top of the trim down to the sill.",
            ));
        }
    }
}

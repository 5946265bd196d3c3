//! What is read of the trim against what is read between the jambs: an outside shade is cut to one reading of the trim,
//! and nothing else would show that it was misread.

use super::readings::{Readings, smallest, stand};
use crate::flag::{Flag, Severity};
use crate::house::{HeadShape, Place};
use crate::length::Length;
use crate::settings::Settings;

/// Says where trim and opening cannot both be as they were read.
pub(super) fn flags(readings: &Readings, settings: &Settings, flags: &mut Vec<Flag>) {
    let at = |place: Place| stand(readings, place, settings.repeat_spread).map(|stand| stand.value());
    let show = |length: Length| length.show_marked(readings.unit);
    let widths = Place::WIDTHS.map(|(place, _)| place);
    let across = smallest(readings, &widths, settings.repeat_spread);
    if let (Some(trim), Some(leg), Some(across)) = (at(Place::TrimWidth), at(Place::TrimLeg), across) {
        let made = across + leg * 2;
        let reveals = trim - made;
        if reveals < -settings.trim_hides_most || reveals > settings.trim_reveal_most {
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
    let level = readings.head == HeadShape::Level;
    if let (true, Some(trim), Some(up)) = (level, at(Place::TrimHeight), up) {
        let head = trim - up;
        if head.is_negative() || head > settings.trim_head_most {
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

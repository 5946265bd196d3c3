//! Finished sizes set by hand: laid over what was worked out, which is kept beside them, and checked against what the
//! readings say of passage, walls, sill, floor and what is in the way.

use super::{Clearance, Form, Line, Mounting, Read, Stop, Working};
use crate::flag::{Flag, Severity};
use crate::house::Place;
use crate::length::Length;
use crate::truth::CornerGaps;

/// The rule that a size set by hand is said to follow.
const BY_HAND: &str = "set by hand";

/// Lays the sizes that were set by hand over a mounting, and says what speaks against them.
pub(super) fn lay(read: &Read<'_>, mounting: &mut Mounting) {
    if let Some(typed) = &read.choices.finished_width {
        width(read, mounting, typed.value());
    }
    if let Some(typed) = &read.choices.finished_length {
        length(read, mounting, typed.value());
    }
}

fn by_hand(term: &str, value: Length, worked: &Working) -> Working {
    let reason = format!("{BY_HAND}; worked out by {}", worked.rule);
    Working::of(BY_HAND, vec![Line::new(term, value, reason)])
}

fn flag(mounting: &mut Mounting, code: &str, severity: Severity, says: String, to_do: &str) {
    mounting.flags.push(Flag::new(code, severity, &[], says, to_do));
}

/// Says that a size is set by hand, with what was worked out.
fn said(mounting: &mut Mounting, code: &str, what: &str, sizes: [String; 2]) {
    let [set, worked] = sizes;
    flag(
        mounting,
        code,
        Severity::Know,
        format!("The {what} of {set} was set by hand; worked out it would be {worked}."),
        "Nothing, if it is meant so; take it out to go back to what is worked out.",
    );
}

fn width(read: &Read<'_>, mounting: &mut Mounting, value: Length) {
    let unit = read.unit;
    let show = |length: Length| length.show_marked(unit);
    let set = by_hand("finished width", value, &mounting.width);
    let worked = std::mem::replace(&mut mounting.width, set);
    said(mounting, "by_hand_width", "finished width", [show(value), show(worked.total)]);
    mounting.board_length = read.board_length(&mounting.width);
    if mounting.beside.is_some() {
        mounting.clear.push(Clearance::new("its part beside the others", value, Some(worked.total)));
        if value > worked.total {
            flag(
                mounting,
                "by_hand_meets_the_next",
                Severity::Decide,
                format!(
                    "The finished width was set by hand to {}, and its part beside the others is {}.",
                    show(value),
                    show(worked.total)
                ),
                "Set it narrower, or look at what the others take.",
            );
        }
    } else if mounting.form == Form::Inside {
        // What passes: the smallest width, or the clear passage of an opening that leans, where that is less.
        let narrow = read.smallest_width().map_or(worked.total, |found| found.value);
        let passes = read.truth.shape.passage.as_ref().map_or(narrow, |passage| passage.reliable.min(narrow));
        mounting.clear.push(Clearance::new("what passes between the jambs", value, Some(passes)));
        // The shade stays where it was: half of what it grew is taken from each side.
        mounting.corner_gaps = mounting.corner_gaps.map(|gaps| {
            let half = (value - worked.total).split(2, 1);
            CornerGaps {
                top_left: gaps.top_left - half,
                top_right: gaps.top_right - half,
                bottom_left: gaps.bottom_left - half,
                bottom_right: gaps.bottom_right - half,
            }
        });
        if value > passes {
            flag(
                mounting,
                "by_hand_does_not_pass",
                Severity::Decide,
                format!(
                    "The finished width was set by hand to {}, and no more than {} surely passes between the jambs.",
                    show(value),
                    show(passes)
                ),
                "Set it narrower, or take it out to go back to what is worked out.",
            );
        }
    } else {
        let across = worked.lines.first().map_or(worked.total, |line| line.value);
        mounting.overlap = (value - across).split(2, 1);
        let edge = if read.wall.no_trim { "opening" } else { "trim" };
        if mounting.overlap.is_negative() {
            flag(
                mounting,
                "by_hand_narrow",
                Severity::Decide,
                format!(
                    "The finished width was set by hand to {}, and the {edge} is {} wide: it is not covered.",
                    show(value),
                    show(across)
                ),
                "Set it wider, or say that it is meant so.",
            );
        }
        mounting.clear.retain(|clear| !clear.what.starts_with("free wall at the "));
        for (place, side) in [(Place::WallLeft, "left"), (Place::WallRight, "right")] {
            let has = read.at(place).map(|found| found.value);
            mounting.clear.push(Clearance::new(
                format!("free wall at the {side} of the {edge}"),
                mounting.overlap,
                has,
            ));
            if let Some(has) = has.filter(|has| *has < mounting.overlap) {
                let overlap = mounting.overlap;
                flag(
                    mounting,
                    "by_hand_no_room",
                    Severity::Decide,
                    format!(
                        "Set by hand, it passes the {edge} by {} at each side, and at the {side} there is {} of wall.",
                        show(overlap),
                        show(has)
                    ),
                    "Set it narrower, or take it out to go back to what is worked out.",
                );
            }
        }
    }
    mounting.width_worked = Some(worked);
}

fn length(read: &Read<'_>, mounting: &mut Mounting, value: Length) {
    let unit = read.unit;
    let show = |length: Length| length.show_marked(unit);
    let set = by_hand("finished length", value, &mounting.length);
    let worked = std::mem::replace(&mut mounting.length, set);
    said(mounting, "by_hand_length", "finished length", [show(value), show(worked.total)]);
    // The hem above the sill; below zero it hangs past it.
    let hem = mounting.above_sill - value;
    let reaches = |place: Place| read.at(place).map(|found| found.value).filter(|below| -hem >= *below);
    let stopped = if mounting.stop == Stop::Sill && hem <= Length::ZERO && !read.wall.no_sill {
        Some(if hem == Length::ZERO {
            "it stands on the sill".to_owned()
        } else {
            format!("it hangs {} past the sill", show(-hem))
        })
    } else if let Some(below) = reaches(Place::SillToStop) {
        Some(format!("{} below the sill something is in its way", show(below)))
    } else {
        reaches(Place::SillToFloor).map(|below| format!("the floor is {} below the sill", show(below)))
    };
    if let Some(stopped) = stopped {
        flag(
            mounting,
            "by_hand_too_long",
            Severity::Decide,
            format!("The finished length was set by hand to {}: {stopped}.", show(value)),
            "Set it shorter, or take it out to go back to what is worked out.",
        );
    }
    mounting.length_worked = Some(worked);
}

//! What is behind a shade, against where the shade hangs: a sash that opens, a handle that is turned, another shade.

use crate::flag::{Flag, Severity};
use crate::house::{ControlSide, HandleSide, Job, Opening, Part, Place};
use crate::length::{Length, LengthUnit};
use crate::makeup::Makeup;
use crate::mount::{self, Behind, Catalogue, Form, Mounting};
use crate::settings::Settings;
use crate::truth::{Readings, stand};

/// The shade that hangs behind this one in its opening, as it is mounted; nothing where none does.
pub(super) fn before(job: &Job, opening: &Opening, settings: &Settings, catalogue: &Catalogue) -> Option<Behind> {
    let shares = opening.shares.filter(|shares| shares.part == Part::InFront)?;
    let is_behind = |one: &Opening| one.shares.is_some_and(|other| other.of == shares.of && other.part == Part::Behind);
    let (_, behind) = job.openings().find(|(_, one)| is_behind(one))?;
    let truth = super::judge(job, behind, settings);
    mount::work(behind, &truth, settings, catalogue, job.unit).advised().map(Behind::of)
}

/// What a person should know or decide of a sash that opens into the room and of a handle.
pub(super) fn flags(
    opening: &Opening,
    mounting: &Mounting,
    made: &Makeup,
    settings: &Settings,
    unit: LengthUnit,
) -> Vec<Flag> {
    let readings = Readings::of(opening, &[], unit);
    let at = |place: Place| stand(&readings, place, settings.repeat_spread).map(|stand| stand.value());
    let show = |length: Length| length.show_marked(unit);
    // Above the sill, once it is raised.
    let foot = mounting.above_sill - made.raised.height;
    let mut flags = Vec::new();

    let top = at(Place::SashTop);
    let reach = at(Place::SashIn);
    let depth = Place::DEPTHS.into_iter().filter_map(at).min().unwrap_or_default();
    // From where the sash is when it is shut to the back of the cloth.
    let room = depth + if mounting.form == Form::Inside { mounting.proud } else { mounting.projection };
    let is_met = reach.is_none_or(|reach| reach + settings.sash_clearance > room);
    let lacks = top.map(|top| top + settings.sash_clearance - foot).filter(|lacks| is_met && *lacks > Length::ZERO);
    if let Some(lacks) = lacks {
        let mut says = format!(
            "The sash opens into the room, and the raised shade hangs {} too low for it to pass below.",
            show(lacks)
        );
        if opening.wall.escape {
            says.push_str(" This opening is a way out in a fire.");
        }
        let to_do = if mounting.form == Form::Inside {
            "Mount it outside and higher, or tell the client that it opens only in part."
        } else {
            "Set it higher by that, choose another fold, or tell the client that it opens only in part."
        };
        flags.push(Flag::new("sash_meets_shade", Severity::Decide, &[Place::SashTop], says, to_do));
    } else if let (None, Some(reach), true) = (top, reach, is_met) {
        flags.push(Flag::new(
            "sash_top_not_read",
            Severity::TakeAgain,
            &[Place::SashTop],
            format!(
                "The sash comes {} into the room, and the cloth hangs {} before it: the raised shade has to clear its top.",
                show(reach),
                show(room)
            ),
            "Read from the sill up to the top of the sash.",
        ));
    }

    if let Some(handle) = at(Place::ProudHeight).filter(|handle| *handle > foot) {
        flags.push(Flag::new(
            "handle_behind_stack",
            Severity::Decide,
            &[Place::ProudHeight],
            format!("Raised, the shade still hangs {} over the handle.", show(handle - foot)),
            "Set it higher, or tell the client that the handle is reached from below the stack.",
        ));
    }
    let control = match opening.choices.control {
        ControlSide::Left => HandleSide::Left,
        ControlSide::Right => HandleSide::Right,
    };
    if opening.choices.lift.is_reachable() && opening.wall.handle == control {
        flags.push(Flag::new(
            "handle_at_control",
            Severity::Know,
            &[],
            "The handle is at the side of the control: its cord hangs in the way of a hand.",
            "Set the control to the other side, or show the client.",
        ));
    }
    flags
}

//! The order in which a shade is hung, in sentences with this shade's own numbers, for boxes to tick.

use super::{Fixing, Ground, Job, ScrewJob};
use crate::flag::listed;
use crate::length::{Length, LengthUnit};
use crate::mount::{Form, Mounting};

/// The steps of hanging one shade, in order; none when it has no fixings.
///
/// All of it is common practice of the trade, with no published source.
pub fn steps(mounting: &Mounting, fixing: &Fixing, unit: LengthUnit) -> Vec<String> {
    if fixing.fixed.is_empty() {
        return Vec::new();
    }
    let show = |length: Length| length.show_marked(unit);
    let job = |wanted: Job| fixing.screws.iter().find(|screw| screw.job == wanted);
    let places = listed(fixing.fixed.iter().map(|fixed| show(fixed.at)));
    let screws = |kind: &ScrewJob| {
        let plural = if kind.count == 1 { "screw" } else { "screws" };
        format!("{} {plural} ({} x {})", kind.count, kind.screw, show(kind.length))
    };
    let anchored: Vec<String> =
        fixing.fixed.iter().filter(|fixed| fixed.on == Ground::Anchor).map(|fixed| show(fixed.at)).collect();
    let mut steps = vec![
        "Find cables and pipes above and beside the opening; keep clear of them.".to_owned(),
        format!(
            "Probe what is behind {} with a finder or a small pilot hole.",
            if mounting.form == Form::Inside { "the head" } else { "the wall" }
        ),
    ];
    let prepare = |steps: &mut Vec<String>, kind: Option<&ScrewJob>| {
        steps.push(format!("Mark the board at {places} from its left end, in the middle of its width."));
        steps.push(
            "Hold fabric and cords out of the way; pierce the fabric at each mark with an awl, or a bit catches and twists it."
                .to_owned(),
        );
        let drill = kind.map_or_else(|| "the drill for the anchor's own screw".to_owned(), |kind| show(kind.through));
        steps.push(format!("Back the board with scrap wood and drill each mark through with {drill}."));
    };
    match mounting.form {
        Form::Inside => {
            let kind = job(Job::BoardToHead);
            prepare(&mut steps, kind);
            if let Some(kind) = kind {
                steps.push(format!("Start the {} in the board, their points not yet proud.", screws(kind)));
            }
            steps.push(hold_up(mounting, unit));
            if let Some(kind) = kind {
                steps.push(format!(
                    "Drill a lead hole of {} up into the head through each mark, and drive the screws: each bites {}.",
                    show(kind.lead),
                    show(kind.bites)
                ));
            }
            anchors(&mut steps, fixing, &anchored, "head", unit);
        }
        Form::OutsideFlush => {
            steps.push(level_line(mounting, unit));
            let kind = job(Job::BoardToWall);
            prepare(&mut steps, kind);
            match kind {
                Some(kind) => steps.push(format!(
                    "Hold the board's foot to the line, drill a lead hole of {} into the wood behind, and drive {}: each \
                     bites {}.",
                    show(kind.lead),
                    screws(kind),
                    show(kind.bites)
                )),
                None => steps.push("Hold the board's foot to the line and mark the wall through its holes.".to_owned()),
            }
            anchors(&mut steps, fixing, &anchored, "wall", unit);
        }
        Form::OutsideBrackets => {
            steps.push(level_line(mounting, unit));
            steps.push(format!(
                "Mark the middles of the brackets: {places} from where the left end of the board will be."
            ));
            if let (Some(kind), Some(bracket)) = (job(Job::BracketToWall), &mounting.bracket) {
                steps.push(format!(
                    "Set each bracket's foot on the line; its holes stand {} above it. Drill lead holes of {} and drive \
                     {} into the wood.",
                    listed(bracket.wall_holes.iter().map(|hole| show(*hole))),
                    show(kind.lead),
                    screws(kind)
                ));
            }
            anchors(&mut steps, fixing, &anchored, "wall", unit);
            if let Some(kind) = job(Job::BracketToBoard) {
                steps.push(format!(
                    "Lay the board on the arms, no cord caught between; pierce the fabric, drill a lead hole of {} no \
                     deeper than {}, and drive {} up through the arms: {} of wood is left before their points.",
                    show(kind.lead),
                    show(kind.bites),
                    screws(kind),
                    show(kind.left.unwrap_or_default())
                ));
            }
        }
    }
    steps.push("Raise and lower it; look that it hangs level and that nothing rubs or catches.".to_owned());
    steps
}

fn hold_up(mounting: &Mounting, unit: LengthUnit) -> String {
    let wedge = mounting.wedge.map_or_else(String::new, |wedge| {
        format!(
            "; the head slopes, so pack the gap of about {} at the {} before the screw there is driven home",
            wedge.opens.show_marked(unit),
            if wedge.at_right { "right" } else { "left" }
        )
    });
    format!("Lift the board under the head, in the middle between the jambs and level{wedge}.")
}

fn level_line(mounting: &Mounting, unit: LengthUnit) -> String {
    let what = if mounting.form == Form::OutsideFlush { "the board's foot" } else { "the brackets' feet" };
    let place = if mounting.above_trim == Length::ZERO {
        "at the top edge".to_owned()
    } else if mounting.above_trim.is_negative() {
        format!("{} below the top edge", mounting.above_trim.abs().show_marked(unit))
    } else {
        format!("{} above the top edge", mounting.above_trim.show_marked(unit))
    };
    format!(
        "Draw a line for {what} {place} of what it covers, with a level, never measured from ceiling or floor; the top \
         of the board comes {} above it.",
        mounting.adds_above.show_marked(unit)
    )
}

fn anchors(steps: &mut Vec<String>, fixing: &Fixing, at: &[String], into: &str, unit: LengthUnit) {
    if let Some(anchor) = &fixing.anchor
        && !at.is_empty()
    {
        steps.push(format!(
            "At {} there is no wood: drill {} into the {into} and set {} of the {}, each with its own screw; where wood is \
             found instead, screw into it.",
            listed(at.iter().cloned()),
            anchor.hole.show_marked(unit),
            anchor.count,
            anchor.anchor
        ));
    }
}

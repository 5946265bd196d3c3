//! The corners of a bay: two boards that stand off two faces meet before the faces do.

use super::{Clearance, Mounting, Read, Refusal};
use crate::house::{CornerAngle, Place};
use crate::length::{Direction, Grain, Length};

/// How much wall a board that stands so far out loses to the corner of two faces: so that it keeps to its own half of the
/// angle, whatever stands on the next face. Nothing where the wall runs on or turns away. Rounded up to the nanometre.
///
/// ```
/// use hangtrue_core::{house::CornerAngle, length::Length, mount::lost_to_corner};
/// let square = CornerAngle::new(90).unwrap();
/// let lost = lost_to_corner(square, Length::whole_inches(2));
/// assert!((lost - Length::whole_inches(2)).abs() <= Length::from_nm(1));
/// ```
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "a board stands out by far less than 2^52 nm"
)]
pub fn lost_to_corner(angle: CornerAngle, projection: Length) -> Length {
    if angle.degrees() >= 180 {
        return Length::ZERO;
    }
    let half = f64::from(180 - angle.degrees()).to_radians() / 2.0;
    Length::from_nm((projection.nm() as f64 * half.tan()).ceil() as i64)
}

/// Holds a mounting against the corners beside it: what it needs there is among what must be clear.
///
/// # Errors
/// A refusal where it would meet the board on the next face.
pub(super) fn beside(read: &Read<'_>, mut mounting: Mounting) -> Result<Mounting, Refusal> {
    let (wall, unit) = (read.wall, read.unit);
    let sides = [(wall.corner_left, Place::WallLeft, "left"), (wall.corner_right, Place::WallRight, "right")];
    for (angle, place, side) in sides {
        let Some(angle) = angle.filter(|angle| angle.degrees() < 180) else { continue };
        let grain = Grain::of_tape(unit);
        let lost =
            (lost_to_corner(angle, mounting.projection) + read.settings.corner_clearance).round(grain, Direction::Up);
        let needs = mounting.overlap + lost;
        let has = read.at(place).map(|found| found.value);
        let what = format!("wall at the {side}, up to the corner of {} degrees", angle.degrees());
        mounting.clear.push(Clearance::new(what, needs, has));
        if let Some(has) = has.filter(|has| *has < needs) {
            let show = |length: Length| length.show_marked(unit);
            let most = has - lost;
            return Err(Refusal {
                form: mounting.form,
                why: format!(
                    "in the corner of {} degrees at the {side} it would meet a board on the next face: standing out {} and passing by {}, it needs {} of wall, and there is {}",
                    angle.degrees(),
                    show(mounting.projection),
                    show(mounting.overlap),
                    show(needs),
                    show(has)
                ),
                would: if most.is_negative() {
                    "Mount it inside, or take a board that stands out less.".to_owned()
                } else {
                    format!("Choose a side overlap of {} or less, or a board that stands out less.", show(most))
                },
                missing: Vec::new(),
            });
        }
    }
    Ok(mounting)
}

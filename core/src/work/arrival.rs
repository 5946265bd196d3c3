//! What arrived of a cloth, measured: the house's plan made again on it, and whether it will do.

use super::{house, still_to_buy};
use crate::buying::Shop;
use crate::house::{Cloth, Job, ShelfPiece};
use crate::length::{Length, Typed};
use crate::mount::Catalogue;
use crate::settings::SettingProblem;
use uuid::Uuid;

/// A piece that came, and what its cloth measures.
#[derive(Clone, PartialEq, Debug)]
pub struct Arrived {
    /// Its id on the shelf.
    pub id: Uuid,
    /// The piece.
    pub piece: ShelfPiece,
    /// The repeat as it was measured, where it was.
    pub repeat: Option<Typed>,
}

/// Whether what is at hand will do.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Arrival {
    /// True where every cut lies on what is at hand and nothing has to be found out first.
    pub go: bool,
    /// What is missing still.
    pub missing: Length,
    /// What is left beyond the last cut, of the piece that has the most left.
    pub slack: Length,
    /// What stands in the way, one sentence each.
    pub says: Vec<String>,
}

/// The house with a piece that came: set aside for it, and its cloth as it measures.
#[must_use]
pub fn with_arrived(job: &Job, arrived: &Arrived) -> (Job, Option<Cloth>) {
    let mut job = job.clone();
    let mut piece = arrived.piece.clone();
    piece.cut_for = Some(job.id);
    let known = job.cloth(&piece.cloth).cloned();
    let measured = known.and_then(|known| {
        let value = |typed: &Option<Typed>| typed.as_ref().map(Typed::value);
        let usable = known.usable.as_ref().unwrap_or(&known.width).value();
        let narrower = piece.usable.as_ref().is_some_and(|width| width.value() < usable);
        let other = arrived.repeat.is_some() && value(&arrived.repeat) != value(&known.repeat);
        (narrower || other).then(|| {
            let mut cloth = known;
            if narrower {
                // Where its selvages are was not measured: half of what is left each side.
                cloth.usable.clone_from(&piece.usable);
                (cloth.selvage_left, cloth.selvage_right) = (None, None);
            }
            if other {
                cloth.repeat.clone_from(&arrived.repeat);
            }
            cloth
        })
    });
    if let Some(cloth) = &measured {
        job.cloths.retain(|own| own.name != cloth.name);
        job.cloths.push(cloth.clone());
    }
    job.workroom.shelf.insert(arrived.id, piece);
    (job, measured)
}

/// Plans a house on what is at hand of a cloth, and says whether that is enough.
///
/// # Errors
/// [`SettingProblem`] when the house changes a number that is none.
pub fn arrival(job: &Job, cloth: &str, catalogue: &Catalogue, shop: &Shop) -> Result<Arrival, SettingProblem> {
    let worked = house(job, catalogue)?;
    let list = still_to_buy(&worked, shop);
    let unit = job.unit;
    let mut says: Vec<String> = list.problems.iter().filter(|problem| problem.starts_with(cloth)).cloned().collect();
    let Some(planned) = list.cloths.iter().find(|planned| planned.bolt.name == cloth) else {
        says.push("no shade of this house that is not cut yet is planned on it".to_owned());
        return Ok(Arrival { go: false, missing: Length::ZERO, slack: Length::ZERO, says });
    };
    let end = |at: usize| {
        let ends =
            planned.plan.pieces.iter().filter(|piece| piece.on_hand == Some(at)).map(|piece| piece.y + piece.along);
        ends.max().unwrap_or(Length::ZERO)
    };
    let unsure = |at: usize| {
        let held = &planned.held[at];
        let matched = planned.plan.pieces.iter().any(|piece| piece.on_hand == Some(at) && piece.phase.is_some());
        if matched && held.first_line.is_none() { planned.bolt.repeat.unwrap_or(Length::ZERO) } else { Length::ZERO }
    };
    let slacks = planned.held.iter().enumerate().map(|(at, held)| held.length - end(at) - unsure(at));
    let slack = slacks.max().unwrap_or(Length::ZERO).max(Length::ZERO);
    let missing = planned.plan.used;
    if missing > Length::ZERO {
        says.insert(0, format!("{} are missing", missing.show_marked(unit)));
    }
    says.extend(planned.plan.to_decide.iter().cloned());
    Ok(Arrival { go: missing == Length::ZERO && says.is_empty(), missing, slack, says })
}

//! When a house is cut: what of its plan is worth keeping goes onto the shelf, and what was cut of the shelf goes off it.

use super::{Plans, WorkedHouse};
use crate::cloth::Offcut;
use crate::house::ShelfPiece;
use crate::length::{LengthUnit, Typed};
use uuid::Uuid;

/// What one touch does with the shelf.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Keep {
    /// Pieces that come onto the shelf; each gets an id of its own.
    pub new: Vec<ShelfPiece>,
    /// Pieces that the plan cuts from: they are cut for this house, and lie on the shelf no more.
    pub cut: Vec<(Uuid, ShelfPiece)>,
}

impl Keep {
    /// True where there is nothing to do.
    pub fn is_empty(&self) -> bool {
        self.new.is_empty() && self.cut.is_empty()
    }
}

/// The offcuts worth keeping of a house's plan of what is cut, and the pieces of the shelf that it takes. Nothing once that
/// was done: the house's own offcuts lie there already.
pub fn keep(house: &WorkedHouse<'_>, plans: &Plans) -> Keep {
    let job = house.job;
    let shelf = &job.workroom.shelf;
    let unit = job.unit;
    let mut keep = Keep::default();
    // What is cut in part leaves what nobody planned as one: its offcuts are known when all of it is cut.
    if plans.is_begun() {
        return keep;
    }
    for planned in &plans.cut.cloths {
        let Some(cloth) = job.cloth(&planned.bolt.name) else { continue };
        let is_done =
            |piece: &ShelfPiece| piece.offcut_of == Some(job.id) || (piece.gone && piece.cut_for == Some(job.id));
        if shelf.values().any(|piece| piece.cloth == cloth.name && is_done(piece)) {
            continue;
        }
        for (at, held) in planned.held.iter().enumerate() {
            let is_cut = planned.plan.pieces.iter().any(|piece| piece.on_hand == Some(at));
            let Some((id, piece)) = held.id.and_then(|id| Some((id, shelf.get(&id)?))).filter(|_| is_cut) else {
                continue;
            };
            keep.cut.push((id, ShelfPiece { cut_for: Some(job.id), gone: true, ..piece.clone() }));
        }
        for Offcut { of, length, width, first_line, .. } in planned.offcuts(&house.settings) {
            let source = of.and_then(|at| planned.held.get(at)).and_then(|held| shelf.get(&held.id?));
            let exact = |length| typed(length, unit);
            keep.new.push(ShelfPiece {
                cloth: cloth.name.clone(),
                length: exact(length),
                usable: (width < planned.bolt.usable).then(|| exact(width)),
                lot: source.map(|source| source.lot.clone()).unwrap_or_default(),
                first_line: first_line.map(exact),
                flaws: Vec::new(),
                owner: source.and_then(|source| source.owner),
                offcut_of: Some(job.id),
                cut_for: None,
                gone: false,
                note: String::new(),
            });
        }
    }
    keep
}

fn typed(length: crate::length::Length, unit: LengthUnit) -> Typed {
    Typed::exact(length, unit)
}

//! What a cut takes of the shelf is set aside for its house in the same transaction, so that no other house is planned on it.

use super::{append, tally};
use crate::fact::{Body, Fact, Moment, fold};
use crate::house::{Done, ShelfPiece, Step, Workroom};
use crate::length::with_default_unit;
use rusqlite::Transaction;
use uuid::Uuid;

/// Sets aside what the marks among these facts were cut from. What is set aside for another house already stays that: the
/// cut was planned before it was known here.
pub(super) fn set_aside(tx: &Transaction<'_>, facts: &[Fact], by: &str) -> rusqlite::Result<()> {
    let taken: Vec<(&Fact, Uuid)> =
        facts.iter().flat_map(|fact| pieces(fact).into_iter().map(move |id| (fact, id))).collect();
    if taken.is_empty() {
        return Ok(());
    }
    let Some(workroom) = fold(&tally::facts(tx, Workroom::ID)?.0) else { return Ok(()) };
    let unit = workroom.job.unit;
    let mut written: Vec<Uuid> = Vec::new();
    for (fact, id) in taken {
        let Some(piece) = workroom.job.shelf.get(&id).filter(|piece| piece.cut_for.is_none()) else { continue };
        if written.contains(&id) {
            continue;
        }
        written.push(id);
        let kept = ShelfPiece { cut_for: Some(fact.job), ..piece.clone() };
        let field = format!("shelf.{id}");
        let replaces = workroom.standing.get(&(Workroom::ID, field.clone())).cloned().unwrap_or_default();
        let value = with_default_unit(unit, || serde_json::to_value(&kept)).unwrap_or_default();
        let body = Body::Set { on: Workroom::ID, replaces, field, value };
        append(tx, &[moment(fact, id)], Workroom::ID, by, unit, &[body])?;
    }
    Ok(())
}

/// The pieces of the shelf that a mark was cut from.
fn pieces(fact: &Fact) -> Vec<Uuid> {
    let Ok(Body::Set { field, value, .. }) = fact.read() else { return Vec::new() };
    if field != format!("progress.{}", Step::Cut.code()) {
        return Vec::new();
    }
    let done: Option<Done> = with_default_unit(fact.unit, || serde_json::from_value(value)).ok();
    done.map_or_else(Vec::new, |done| done.from.iter().map(|from| from.piece).collect())
}

/// A moment of the mark's time with an id of its own for each piece.
fn moment(fact: &Fact, piece: Uuid) -> Moment {
    let (of, with) = (fact.id.as_bytes(), piece.as_bytes());
    Moment { ms: fact.stamp.ms, random: std::array::from_fn(|i| of[6 + i] ^ with[6 + i]) }
}

//! Where rooms and openings stand in the walk: in the order in which they were added, until a person puts one elsewhere or
//! an opening into another room. Two devices that move the same thing apart lose nothing by it: the later move stands,
//! and is no disagreement.

use crate::house::Job;
use crate::length::LengthUnit;
use serde_json::Value;
use std::collections::BTreeMap;
use uuid::Uuid;

/// The field of a room or an opening that says where it stands among its kind: a whole number, the smaller the earlier.
pub const ORDER: &str = "order";
/// The field of an opening that says which room it is in.
pub const ROOM: &str = "room";

/// Between two that were added one after the other there is room for this many.
pub const STEP: i64 = 1 << 32;

/// True for the fields that say where something stands, and not what it is.
pub(super) fn is_place(field: &str) -> bool {
    field == ORDER || field == ROOM
}

/// What was said of where things stand.
#[derive(Default)]
pub(super) struct Placed {
    order: BTreeMap<Uuid, i64>,
    room: BTreeMap<Uuid, Uuid>,
}

impl Placed {
    /// Takes the fields that say where `on` stands out of all that was set there; what says it wrongly waits.
    pub(super) fn take(
        &mut self,
        on: Uuid,
        fields: &mut Vec<(String, Value, LengthUnit, Uuid)>,
        waiting: &mut Vec<Uuid>,
    ) {
        for (field, value, _, fact) in fields.extract_if(.., |(field, ..)| is_place(field)) {
            let order = value.as_i64().filter(|_| field == ORDER);
            let room = value.as_str().filter(|_| field == ROOM).and_then(|text| Uuid::parse_str(text).ok());
            match (order, room) {
                (Some(order), _) => drop(self.order.insert(on, order)),
                (_, Some(room)) => drop(self.room.insert(on, room)),
                // Back to where it was added.
                (None, None) if value.is_null() => {}
                (None, None) => waiting.push(fact),
            }
        }
    }

    /// Puts rooms and openings where they stand, and gives the order of each.
    pub(super) fn lay(&self, job: &mut Job) -> BTreeMap<Uuid, i64> {
        let mut order = BTreeMap::new();
        let mut stand = |on: Uuid, nth: usize| {
            let added = i64::try_from(nth + 1).unwrap_or(i64::MAX / STEP).saturating_mul(STEP);
            order.insert(on, self.order.get(&on).copied().unwrap_or(added));
        };
        let mut most = 0;
        for (nth, room) in job.rooms.iter().enumerate() {
            stand(room.id, nth);
            room.openings.iter().enumerate().for_each(|(nth, opening)| stand(opening.id, nth));
            most = most.max(room.openings.len());
        }
        // What comes from another room stands behind all that is there, until it is put elsewhere.
        let mut moved = Vec::new();
        for room in &mut job.rooms {
            let here = room.id;
            let leaves = |id: Uuid| self.room.get(&id).is_some_and(|to| *to != here);
            moved.extend(room.openings.extract_if(.., |opening| leaves(opening.id)).map(|opening| (here, opening)));
        }
        for (nth, (from, opening)) in moved.into_iter().enumerate() {
            let to = self.room.get(&opening.id).filter(|to| job.rooms.iter().any(|room| room.id == **to));
            let to = to.copied().unwrap_or(from);
            if to != from && !self.order.contains_key(&opening.id) {
                let last = i64::try_from(most + nth + 1).unwrap_or(i64::MAX / STEP).saturating_mul(STEP);
                order.insert(opening.id, last);
            }
            if let Some(room) = job.rooms.iter_mut().find(|room| room.id == to) {
                room.openings.push(opening);
            }
        }
        let at = |id: Uuid| order.get(&id).copied().unwrap_or_default();
        job.rooms.sort_by_key(|room| at(room.id));
        for room in &mut job.rooms {
            room.openings.sort_by_key(|opening| at(opening.id));
        }
        order
    }
}

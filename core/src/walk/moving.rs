//! Rooms and openings put elsewhere in the walk: one earlier, or into another room.

use super::reading::touch;
use super::screen::{ChoiceGroup, Touch};
use super::{Change, Event};
use crate::fact::House;
use crate::fact::placed::{ORDER, ROOM, STEP};
use crate::house::{Opening, Room};
use uuid::Uuid;

/// Puts a room before the one that it follows.
pub(super) fn room_earlier(house: &House, room: &Room) -> Touch {
    let all: Vec<(Uuid, &str)> = house.job.rooms.iter().map(|room| (room.id, room.name.as_str())).collect();
    earlier(house, room.id, &all)
}

/// Puts an opening before the one that it follows in its room.
pub(super) fn opening_earlier(house: &House, room: &Room, opening: &Opening) -> Touch {
    let all: Vec<(Uuid, &str)> = room.openings.iter().map(|one| (one.id, one.name.as_str())).collect();
    earlier(house, opening.id, &all)
}

fn earlier(house: &House, on: Uuid, all: &[(Uuid, &str)]) -> Touch {
    let at = all.iter().position(|(id, _)| *id == on).unwrap_or_default();
    let id = format!("earlier_{on}");
    let Some((before, name)) = at.checked_sub(1).map(|at| all[at]) else {
        let event = Event::Choose { on, field: ORDER.to_owned(), value: None };
        return touch(id, "Earlier", event).said("it is the first").live(false);
    };
    let order = |id: Uuid| house.order.get(&id).copied().unwrap_or_default();
    let low = at.checked_sub(2).map_or_else(|| order(before).saturating_sub(2 * STEP), |at| order(all[at].0));
    let middle = low.midpoint(order(before));
    let says = format!("put {} before {name}", all[at].1);
    let change = |on: Uuid, order: i64| Change { on, field: ORDER.to_owned(), value: Some(order.to_string()) };
    let event = if middle > low && middle < order(before) {
        Event::Choose { on, field: ORDER.to_owned(), value: Some(middle.to_string()) }
    } else {
        // No room is left between the two: all are counted anew.
        let mut ids: Vec<Uuid> = all.iter().map(|(id, _)| *id).collect();
        ids.swap(at - 1, at);
        Event::SetAll { changes: ids.into_iter().zip(1..).map(|(on, nth)| change(on, nth * STEP)).collect() }
    };
    touch(id, "Earlier", event).said(says)
}

/// The rooms that an opening can be put into; nothing where there is only its own.
pub(super) fn to_room(house: &House, own: &Room, opening: &Opening) -> Option<ChoiceGroup> {
    let others = house.job.rooms.iter().filter(|room| room.id != own.id).map(|room| {
        let event = Event::Choose { on: opening.id, field: ROOM.to_owned(), value: Some(room.id.to_string()) };
        touch(format!("to_room_{}", room.id), &room.name, event)
            .said(format!("put {} into {}", opening.name, room.name))
    });
    let options: Vec<Touch> = others.collect();
    (!options.is_empty()).then(|| ChoiceGroup {
        field: ROOM.to_owned(),
        title: format!("It stands in {}; put it into", own.name),
        options,
    })
}

//! The facts that lead from one state of a house to another: how a job file is taken in.

use super::{Body, House};
use crate::house::{Job, Note, Opening, Photo, Reading, Room};
use crate::length::with_default_unit;
use serde_json::Value;
use uuid::Uuid;

/// What must be written so that `before` (nothing, or the house as it stands) becomes `after`.
///
/// Nothing is removed: a room, opening or reading that `after` lacks stays as it is. Lengths in the bodies are bare
/// in `after.unit`, so the facts are to be written with that unit.
pub fn changes(before: Option<&House>, after: &Job) -> Vec<Body> {
    with_default_unit(after.unit, || {
        let mut out = Vec::new();
        let empty = House::empty(Job::new(after.id, after.name.clone(), after.unit));
        if before.is_none() {
            out.push(Body::HouseOpened { name: after.name.clone(), unit: after.unit });
        }
        let before = before.unwrap_or(&empty);
        let old = &before.job;
        let mut set = |on: Uuid, field: String, old: Value, new: Value| {
            if old != new {
                let replaces = before.standing.get(&(on, field.clone())).cloned().unwrap_or_default();
                out.push(Body::Set { on, field, value: new, replaces });
            }
        };
        set(after.id, "name".to_owned(), json(&old.name), json(&after.name));
        set(after.id, "unit".to_owned(), json(&old.unit), json(&after.unit));
        set(after.id, "region".to_owned(), json(&old.region), json(&after.region));
        set(after.id, "built".to_owned(), json(&old.built), json(&after.built));
        set(after.id, "address".to_owned(), json(&old.address), json(&after.address));
        set(after.id, "reach".to_owned(), json(&old.reach), json(&after.reach));
        set(after.id, "away".to_owned(), json(&old.away), json(&after.away));
        for (group, old, new) in [
            ("instruments", json(&old.instruments), json(&after.instruments)),
            ("cloths", json(&old.cloths), json(&after.cloths)),
            ("quotes", json(&old.quotes), json(&after.quotes)),
            ("payments", json(&old.payments), json(&after.payments)),
            ("invoices", json(&old.invoices), json(&after.invoices)),
            ("visits", json(&old.visits), json(&after.visits)),
        ] {
            named(after.id, group, &old, &new, &mut set);
        }
        group(after.id, "settings", &json(&old.settings), &json(&after.settings), &mut set);
        group(after.id, "hardware", &json(&old.hardware), &json(&after.hardware), &mut set);
        group(after.id, "trade", &json(&old.trade), &json(&after.trade), &mut set);
        for room in &after.rooms {
            if let Some(was) = old.rooms.iter().find(|other| other.id == room.id) {
                set(room.id, "name".to_owned(), json(&was.name), json(&room.name));
            }
        }
        for room in &after.rooms {
            room_changes(before, room, &mut out);
        }
        notes(after.id, &old.notes, &after.notes, &mut out);
        photos(after.id, &old.photos, &after.photos, &mut out);
        out
    })
}

fn room_changes(before: &House, room: &Room, out: &mut Vec<Body>) {
    let was = before.job.rooms.iter().find(|other| other.id == room.id);
    if was.is_none() {
        out.push(Body::RoomAdded { room: room.id, name: room.name.clone() });
    }
    notes(room.id, was.map_or(&[], |was| &was.notes), &room.notes, out);
    for opening in &room.openings {
        let known = before.job.rooms.iter().flat_map(|room| &room.openings).find(|other| other.id == opening.id);
        if known.is_none() {
            out.push(Body::OpeningAdded { opening: opening.id, room: room.id, name: opening.name.clone() });
        }
        let empty = Opening::new(opening.id, opening.name.clone());
        opening_changes(before, known.unwrap_or(&empty), opening, out);
    }
}

fn opening_changes(before: &House, old: &Opening, new: &Opening, out: &mut Vec<Body>) {
    let id = new.id;
    let mut set = |on: Uuid, field: String, old: Value, new: Value| {
        if old != new {
            let replaces = before.standing.get(&(on, field.clone())).cloned().unwrap_or_default();
            out.push(Body::Set { on, field, value: new, replaces });
        }
    };
    set(id, "name".to_owned(), json(&old.name), json(&new.name));
    group(id, "wall", &json(&old.wall), &json(&new.wall), &mut set);
    group(id, "choices", &json(&old.choices), &json(&new.choices), &mut set);
    group(id, "progress", &json(&old.progress), &json(&new.progress), &mut set);
    named(id, "alternatives", &json(&old.alternatives), &json(&new.alternatives), &mut set);
    set(id, "again".to_owned(), json(&old.again), json(&new.again));
    set(id, "shares".to_owned(), json(&old.shares), json(&new.shares));
    named(id, "defects", &json(&old.defects), &json(&new.defects), &mut set);
    for reading in &new.readings {
        let was = old.readings.iter().find(|other| other.id == reading.id);
        if was.is_none() {
            let taken = Reading { withdrawn: None, ..reading.clone() };
            out.push(Body::ReadingTaken { opening: id, reading: taken });
        }
        if let Some(withdrawn) = &reading.withdrawn
            && was.is_none_or(|was| was.withdrawn.is_none())
        {
            out.push(Body::ReadingWithdrawn { opening: id, reading: reading.id, withdrawn: withdrawn.clone() });
        }
    }
    for skip in &new.skipped {
        if !old.skipped.contains(skip) {
            out.push(Body::PlaceSkipped { opening: id, skip: skip.clone() });
        }
    }
    for ask in &new.asks {
        let was = old.asks.iter().find(|other| other.id == ask.id);
        if was.is_none() {
            let made = crate::house::Ask { closed: None, ..ask.clone() };
            out.push(Body::AskMade { opening: id, ask: made });
        }
        if let Some(at) = ask.closed
            && was.is_none_or(|was| was.closed.is_none())
        {
            out.push(Body::AskClosed { opening: id, ask: ask.id, at });
        }
    }
    for decision in new.decisions.iter().filter(|given| !old.decisions.iter().any(|other| other.id == given.id)) {
        out.push(Body::Decided { opening: id, decision: decision.clone() });
    }
    notes(id, &old.notes, &new.notes, out);
    photos(id, &old.photos, &new.photos, out);
}

fn notes(on: Uuid, old: &[Note], new: &[Note], out: &mut Vec<Body>) {
    for note in new.iter().filter(|note| !old.iter().any(|other| other.id == note.id)) {
        out.push(Body::NoteAdded { on, note: note.clone() });
    }
}

fn photos(on: Uuid, old: &[Photo], new: &[Photo], out: &mut Vec<Body>) {
    for photo in new.iter().filter(|photo| !old.contains(photo)) {
        out.push(Body::PhotoAdded { on, photo: photo.clone() });
    }
}

/// Every item of a list of named things that is new or differs.
fn named(on: Uuid, group: &str, old: &Value, new: &Value, set: &mut impl FnMut(Uuid, String, Value, Value)) {
    for item in new.as_array().into_iter().flatten() {
        let name = item.get("name").and_then(Value::as_str).unwrap_or_default();
        let was = old.as_array().into_iter().flatten().find(|other| other.get("name") == item.get("name"));
        set(on, format!("{group}.{name}"), was.cloned().unwrap_or_default(), item.clone());
    }
}

/// Every named field of a group that differs, and those that went back to their default.
fn group(on: Uuid, name: &str, old: &Value, new: &Value, set: &mut impl FnMut(Uuid, String, Value, Value)) {
    let field = |value: &Value, key: &str| value.get(key).cloned().unwrap_or_default();
    let mut keys: Vec<&String> =
        old.as_object().into_iter().chain(new.as_object()).flat_map(|map| map.keys()).collect();
    keys.sort();
    keys.dedup();
    for key in keys {
        set(on, format!("{name}.{key}"), field(old, key), field(new, key));
    }
}

fn json(value: &impl serde::Serialize) -> Value {
    serde_json::to_value(value).unwrap_or_default()
}

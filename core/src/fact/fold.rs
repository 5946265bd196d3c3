//! The fold: a house out of its facts, the same for any order and any repetition of them.

use super::placed::{self, Placed};
use super::{Body, BodyProblem, Fact};
use crate::house::{Disagreement, Job, Opening, Photo, Room, Withdrawn, Workroom, spread};
use crate::length::{LengthUnit, with_default_unit};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// A house as its facts tell it.
#[derive(Clone, PartialEq, Debug)]
pub struct House {
    /// The house.
    pub job: Job,
    /// Facts that could not be used yet: of a newer kind, or about something that has not arrived.
    pub waiting: Vec<Uuid>,
    /// For each field that was set, the facts that stand for it: what a new value replaces.
    pub standing: BTreeMap<(Uuid, String), Vec<Uuid>>,
    /// Where rooms stand among each other, and openings in their rooms: the smaller the earlier.
    pub order: BTreeMap<Uuid, i64>,
    /// Rooms and openings that were taken out, in the order of the walk.
    pub removed: Vec<Removed>,
}

impl House {
    /// A house of which no fact stands yet.
    pub fn empty(job: Job) -> Self {
        Self { job, waiting: Vec::new(), standing: BTreeMap::new(), order: BTreeMap::new(), removed: Vec::new() }
    }
}

/// A room or an opening that was taken out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Removed {
    /// Which.
    pub on: Uuid,
    /// Its name, an opening's behind its room's.
    pub name: String,
    /// How many readings it has.
    pub readings: usize,
    /// The facts that took it out: undone, it is back.
    pub facts: Vec<Uuid>,
}

/// Folds the facts of one house. `None` when its opening has not arrived.
pub fn fold<'a>(facts: impl IntoIterator<Item = &'a Fact>) -> Option<House> {
    let mut facts: Vec<&Fact> = facts.into_iter().collect();
    facts.sort_by_key(|fact| fact.order());
    facts.dedup_by_key(|fact| fact.id);
    let bodies: Vec<Result<Body, BodyProblem>> = facts.iter().map(|fact| fact.read()).collect();

    if bodies.iter().any(|body| matches!(body, Ok(Body::HouseErased {}))) {
        return None;
    }
    let undone = undone(&facts, &bodies);

    let opened = facts.iter().zip(&bodies).find_map(|(fact, body)| match body {
        Ok(Body::HouseOpened { name, unit }) => Some((fact.job, name.clone(), *unit)),
        _ => None,
    });
    // A workroom need not be opened: it is there from its first fact on.
    let workroom = || {
        let of = facts.first().filter(|fact| fact.job == Workroom::ID);
        of.map(|fact| (fact.job, Workroom::NAME.to_owned(), fact.unit))
    };
    let (id, name, unit) = opened.or_else(workroom)?;
    let mut build = Build::new(id, name, unit);
    for (fact, body) in facts.iter().zip(&bodies) {
        if let Ok(Body::Set { on, field, replaces, .. }) = body
            && !undone.contains(&fact.id)
        {
            for replaced in replaces.iter().filter(|replaced| **replaced != fact.id) {
                build.replaced.entry(*replaced).or_default().push((*on, field.clone()));
            }
        }
    }
    // A fact may name one with a later stamp, whose writer's clock was ahead: what others rest on comes first.
    let mut order: Vec<(u8, &Fact, Body)> = Vec::with_capacity(facts.len());
    for (fact, body) in facts.iter().zip(bodies) {
        match body {
            Ok(body) => order.push((rank(&body), *fact, body)),
            Err(_) => build.waiting.push(fact.id),
        }
    }
    order.sort_by_key(|(rank, ..)| *rank);
    for (_, fact, body) in order {
        build.take(fact, body, undone.contains(&fact.id));
    }
    Some(build.finish())
}

/// Rooms before openings, openings before what is said of them, that before what takes it back.
const fn rank(body: &Body) -> u8 {
    match body {
        Body::HouseOpened { .. } | Body::RoomAdded { .. } => 0,
        Body::OpeningAdded { .. } => 1,
        Body::ReadingWithdrawn { .. } | Body::AskClosed { .. } => 3,
        _ => 2,
    }
}

/// The facts that an undo names, unless that undo is undone itself. Stamps do not matter: first come the undos that
/// nobody undoes, then those of which all undoers are settled. Undos that undo each other in a ring (only somebody who
/// chose their ids on purpose can make one) go from the newest.
fn undone(facts: &[&Fact], bodies: &[Result<Body, BodyProblem>]) -> BTreeSet<Uuid> {
    let mut undos: BTreeMap<Uuid, Uuid> = BTreeMap::new();
    for (fact, body) in facts.iter().zip(bodies) {
        if let Ok(Body::Undone { fact: target, .. }) = body {
            undos.insert(fact.id, *target);
        }
    }
    // How many undos that are not settled yet name an undo.
    let mut open: BTreeMap<Uuid, usize> = undos.keys().map(|id| (*id, 0)).collect();
    for target in undos.values() {
        if let Some(count) = open.get_mut(target) {
            *count += 1;
        }
    }
    let mut undone = BTreeSet::new();
    let mut ready: Vec<Uuid> = open.iter().filter(|(_, count)| **count == 0).map(|(id, _)| *id).collect();
    let mut newest = facts.iter().rev().map(|fact| fact.id).filter(|id| undos.contains_key(id));
    loop {
        let Some(id) = ready.pop().or_else(|| newest.find(|id| open.contains_key(id))) else { return undone };
        if open.remove(&id).is_none() {
            continue;
        }
        let target = undos[&id];
        if !undone.contains(&id) {
            undone.insert(target);
        }
        if let Some(count) = open.get_mut(&target) {
            *count -= 1;
            if *count == 0 {
                ready.push(target);
            }
        }
    }
}

/// What an opening is, before its registers are laid over it.
struct Build {
    job: Job,
    removed: BTreeMap<Uuid, Vec<Uuid>>,
    /// Facts that a `set` names as replaced, wherever its stamp is, and for which field.
    replaced: BTreeMap<Uuid, Vec<(Uuid, String)>>,
    room_at: BTreeMap<Uuid, usize>,
    opening_at: BTreeMap<Uuid, (usize, usize)>,
    registers: BTreeMap<(Uuid, String), Vec<Written>>,
    /// The order in which fields of a name were first set: of cloths and instruments.
    first_set: Vec<(Uuid, String)>,
    waiting: Vec<Uuid>,
}

struct Written {
    fact: Uuid,
    value: Value,
    unit: LengthUnit,
}

impl Build {
    fn new(id: Uuid, name: String, unit: LengthUnit) -> Self {
        Self {
            job: Job::new(id, name, unit),
            removed: BTreeMap::new(),
            replaced: BTreeMap::new(),
            room_at: BTreeMap::new(),
            opening_at: BTreeMap::new(),
            registers: BTreeMap::new(),
            first_set: Vec::new(),
            waiting: Vec::new(),
        }
    }

    fn opening(&mut self, id: Uuid) -> Option<&mut Opening> {
        let (room, opening) = *self.opening_at.get(&id)?;
        Some(&mut self.job.rooms[room].openings[opening])
    }

    fn take(&mut self, fact: &Fact, body: Body, undone: bool) {
        // A reading that was undone is kept and shown as withdrawn; any other undone fact is as if never written.
        let undone_reading = undone && matches!(body, Body::ReadingTaken { .. });
        if undone && !undone_reading {
            return;
        }
        let used = match body {
            Body::HouseOpened { .. } | Body::HouseErased {} | Body::Undone { .. } => true,
            Body::RoomAdded { room, name } => {
                if let std::collections::btree_map::Entry::Vacant(entry) = self.room_at.entry(room) {
                    entry.insert(self.job.rooms.len());
                    self.job.rooms.push(Room { id: room, name, openings: Vec::new(), notes: Vec::new() });
                }
                true
            }
            Body::RoomRemoved { room } => {
                self.removed.entry(room).or_default().push(fact.id);
                true
            }
            Body::OpeningAdded { opening, room, name } => match self.room_at.get(&room) {
                Some(at) if !self.opening_at.contains_key(&opening) => {
                    let openings = &mut self.job.rooms[*at].openings;
                    self.opening_at.insert(opening, (*at, openings.len()));
                    openings.push(Opening::new(opening, name));
                    true
                }
                found => found.is_some(),
            },
            Body::OpeningRemoved { opening } => {
                self.removed.entry(opening).or_default().push(fact.id);
                true
            }
            Body::Set { on, field, value, .. } => {
                let key = (on, field);
                if !self.registers.contains_key(&key) {
                    self.first_set.push(key.clone());
                }
                let replaced = self.replaced.get(&fact.id).is_some_and(|fields| fields.contains(&key));
                let register = self.registers.entry(key).or_default();
                if replaced {
                    return;
                }
                register.push(Written { fact: fact.id, value, unit: fact.unit });
                true
            }
            Body::ReadingTaken { opening, mut reading } => {
                if undone_reading {
                    let withdrawn = Withdrawn { at: reading.at, by: fact.by.clone(), why: "undone".to_owned() };
                    reading.withdrawn.get_or_insert(withdrawn);
                }
                self.opening(opening).is_some_and(|opening| {
                    if !opening.readings.iter().any(|other| other.id == reading.id) {
                        opening.readings.push(reading);
                    }
                    true
                })
            }
            // It may have been written in another of the shades that share its opening.
            Body::ReadingWithdrawn { reading, withdrawn, .. } => self
                .job
                .rooms
                .iter_mut()
                .flat_map(|room| &mut room.openings)
                .find_map(|opening| opening.readings.iter_mut().find(|other| other.id == reading))
                .is_some_and(|reading| {
                    reading.withdrawn.get_or_insert(withdrawn);
                    true
                }),
            Body::PlaceSkipped { opening, skip } => self.opening(opening).is_some_and(|opening| {
                opening.skipped.retain(|other| other.place != skip.place);
                opening.skipped.push(skip);
                true
            }),
            Body::NoteAdded { on, note } => {
                let notes = if on == self.job.id {
                    Some(&mut self.job.notes)
                } else if let Some(room) = self.room_at.get(&on) {
                    Some(&mut self.job.rooms[*room].notes)
                } else {
                    self.opening(on).map(|opening| &mut opening.notes)
                };
                notes.is_some_and(|notes| {
                    if !notes.iter().any(|other| other.id == note.id) {
                        notes.push(note);
                    }
                    true
                })
            }
            Body::PhotoAdded { on, photo } => {
                let add = |photos: &mut Vec<Photo>| {
                    if !photos.contains(&photo) {
                        photos.push(photo.clone());
                    }
                };
                if on == self.job.id {
                    add(&mut self.job.photos);
                    true
                } else {
                    self.opening(on).is_some_and(|opening| {
                        add(&mut opening.photos);
                        true
                    })
                }
            }
            Body::AskMade { opening, ask } => self.opening(opening).is_some_and(|opening| {
                if !opening.asks.iter().any(|other| other.id == ask.id) {
                    opening.asks.push(ask);
                }
                true
            }),
            Body::AskClosed { opening, ask, at } => self
                .opening(opening)
                .and_then(|opening| opening.asks.iter_mut().find(|other| other.id == ask))
                .is_some_and(|ask| {
                    ask.closed.get_or_insert(at);
                    true
                }),
            Body::Decided { opening, decision } => self.opening(opening).is_some_and(|opening| {
                if !opening.decisions.iter().any(|other| other.id == decision.id) {
                    opening.decisions.push(decision);
                }
                true
            }),
        };
        if !used {
            self.waiting.push(fact.id);
        }
    }

    fn finish(mut self) -> House {
        let mut disagreements = Vec::new();
        let mut standing = BTreeMap::new();
        let mut over: BTreeMap<Uuid, Vec<(String, Value, LengthUnit, Uuid)>> = BTreeMap::new();
        for key in std::mem::take(&mut self.first_set) {
            let Some(register) = self.registers.remove(&key) else { continue };
            // All that was set here was replaced elsewhere, or in a ring: nothing stands, so the default does.
            if register.is_empty() {
                continue;
            }
            standing.insert(key.clone(), register.iter().map(|written| written.fact).collect());
            let (on, field) = key;
            if !placed::is_place(&field) && register.iter().any(|written| written.value != register[0].value) {
                let values = register.iter().map(|written| (written.fact, written.value.clone())).collect();
                disagreements.push(Disagreement { on, field: field.clone(), values });
            }
            if let Some(shown) = register.into_iter().next_back() {
                over.entry(on).or_default().push((field, shown.value, shown.unit, shown.fact));
            }
        }
        // The unit first: it says how the rest is written.
        let id = self.job.id;
        if let Some(fields) = over.get(&id)
            && let Some((_, Value::String(unit), ..)) = fields.iter().find(|(field, ..)| field == "unit")
            && let Ok(unit) = serde_json::from_value(Value::String(unit.clone()))
        {
            self.job.unit = unit;
        }
        let mut waiting = std::mem::take(&mut self.waiting);
        let mut placed = Placed::default();
        for (on, mut fields) in over {
            let unit = self.job.unit;
            if self.room_at.contains_key(&on) || self.opening_at.contains_key(&on) {
                placed.take(on, &mut fields, &mut waiting);
            }
            if on == id {
                lay(&mut self.job, fields, unit, &mut waiting);
            } else if let Some(at) = self.room_at.get(&on) {
                lay(&mut self.job.rooms[*at], fields, unit, &mut waiting);
            } else if let Some((room, opening)) = self.opening_at.get(&on) {
                lay(&mut self.job.rooms[*room].openings[*opening], fields, unit, &mut waiting);
            } else {
                waiting.extend(fields.into_iter().map(|(.., fact)| fact));
            }
        }
        // Before any is taken out: what was read in one that is gone was read in the opening all the same.
        spread(&mut self.job);
        let order = placed.lay(&mut self.job);
        let removed = take_out(&mut self.job, &self.removed);
        self.job.disagreements = disagreements;
        House { job: self.job, waiting, standing, order, removed }
    }
}

/// Takes the rooms and openings that facts removed out of a house, and gives what they were.
fn take_out(job: &mut Job, facts: &BTreeMap<Uuid, Vec<Uuid>>) -> Vec<Removed> {
    let mut all = Vec::new();
    let of = |on: Uuid, name: String, readings: usize| {
        facts.get(&on).map(|facts| Removed { on, name, readings, facts: facts.clone() })
    };
    job.rooms.retain(|room| {
        let readings = room.openings.iter().map(|opening| opening.readings.len()).sum();
        let gone = of(room.id, room.name.clone(), readings);
        let stays = gone.is_none();
        all.extend(gone);
        stays
    });
    for room in &mut job.rooms {
        room.openings.retain(|opening| {
            let gone = of(opening.id, format!("{}, {}", room.name, opening.name), opening.readings.len());
            let stays = gone.is_none();
            all.extend(gone);
            stays
        });
    }
    all
}

/// A record whose fields can be set by facts.
trait Fields: Sized {
    /// The fields that facts may set, as JSON of the job file.
    fn fields(&self) -> Value;
    /// The record with its fields read back.
    fn with_fields(&self, fields: Value) -> Result<Self, serde_json::Error>;
}

/// Lays set values over a record, one by one, so that one that does not fit leaves the others standing.
fn lay<T: Fields>(
    record: &mut T,
    fields: Vec<(String, Value, LengthUnit, Uuid)>,
    unit: LengthUnit,
    waiting: &mut Vec<Uuid>,
) {
    let mut json = with_default_unit(unit, || record.fields());
    let same_unit = fields.iter().all(|(.., from, _)| *from == unit);
    let mut whole = json.clone();
    for (field, value, ..) in &fields {
        put(&mut whole, field, value.clone());
    }
    // The common case: everything was written in the house's unit and fits.
    if same_unit && let Ok(laid) = with_default_unit(unit, || record.with_fields(whole)) {
        *record = laid;
        return;
    }
    for (field, value, from, fact) in fields {
        // What is new is read in the unit it was written in; what stands is marked where that is another.
        let laid = with_default_unit(unit, || record.with_fields(json.clone())).and_then(|standing| {
            with_default_unit(from, || {
                let mut next = standing.fields();
                put(&mut next, &field, value);
                record.with_fields(next)
            })
        });
        match laid {
            Ok(laid) => json = with_default_unit(unit, || laid.fields()),
            Err(_) => waiting.push(fact),
        }
    }
    if let Ok(laid) = with_default_unit(unit, || record.with_fields(json)) {
        *record = laid;
    }
}

/// Puts `value` at `field` (`name`, or `group.name`, where a group may be a list of named things).
fn put(json: &mut Value, field: &str, value: Value) {
    let Some(object) = json.as_object_mut() else { return };
    let Some((group, name)) = field.split_once('.') else {
        if value.is_null() {
            object.remove(field)
        } else {
            object.insert(field.to_owned(), value)
        };
        return;
    };
    if matches!(
        group,
        "cloths" | "instruments" | "quotes" | "payments" | "invoices" | "visits" | "alternatives" | "defects"
    ) {
        let items = object.entry(group).or_insert_with(|| Value::Array(Vec::new()));
        let Some(items) = items.as_array_mut() else { return };
        let at = items.iter().position(|item| item.get("name").and_then(Value::as_str) == Some(name));
        match (at, value.is_null()) {
            (Some(at), true) => drop(items.remove(at)),
            (Some(at), false) => items[at] = value,
            (None, true) => {}
            (None, false) => items.push(value),
        }
        return;
    }
    let inner = object.entry(group).or_insert_with(|| Value::Object(Map::new()));
    let Some(inner) = inner.as_object_mut() else { return };
    if value.is_null() {
        inner.remove(name)
    } else {
        inner.insert(name.to_owned(), value)
    };
}

/// Reads a field through its text, as a job file's is read: the reader of a job file is in the phone library already, and one for
/// values beside it, of every record, was 130 kB of it. What is empty is the default and is not read at all.
fn by_text<T: DeserializeOwned + Default>(value: &Value) -> Result<T, serde_json::Error> {
    let is_empty = match value {
        Value::Array(items) => items.is_empty(),
        Value::Object(map) => map.is_empty(),
        _ => false,
    };
    if is_empty {
        return Ok(T::default());
    }
    let text = value.to_string();
    crate::json::read(&text).map_err(|misread| misread.error)
}

macro_rules! fields {
    ($record:ident: $($field:ident),*; by text: $($long:ident),*) => {
        impl Fields for $record {
            fn fields(&self) -> Value {
                let mut map = Map::new();
                $( map.insert(stringify!($field).to_owned(), serde_json::to_value(&self.$field).unwrap_or_default()); )*
                $( map.insert(stringify!($long).to_owned(), serde_json::to_value(&self.$long).unwrap_or_default()); )*
                Value::Object(map)
            }
            fn with_fields(&self, fields: Value) -> Result<Self, serde_json::Error> {
                let Value::Object(mut map) = fields else {
                    return Err(serde::de::Error::custom("not an object"));
                };
                let laid = Self {
                    $( $field: match map.remove(stringify!($field)) {
                        Some(value) => serde_json::from_value(value)?,
                        None => Default::default(),
                    }, )*
                    $( $long: match map.remove(stringify!($long)) {
                        Some(value) => by_text(&value)?,
                        None => Default::default(),
                    }, )*
                    ..self.clone()
                };
                match map.keys().next() {
                    Some(unknown) => Err(serde::de::Error::custom(format!("there is no field \"{unknown}\" here"))),
                    None => Ok(laid),
                }
            }
        }
    };
}

fields!(
    Job: name, unit, region, built, address, reach, away;
    by text: instruments, cloths, settings, hardware, shelf, trade, quotes, payments, invoices, visits
);
fields!(Room: name; by text:);
fields!(Opening: name, wall, choices; by text: alternatives, progress, again, shares, defects);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fact::{Moment, Pen, Stamp, changes};
    use crate::house::file;
    use proptest::prelude::*;

    fn moment(n: u64) -> Moment {
        let mut random = [0; 10];
        random[2..].copy_from_slice(&n.to_be_bytes());
        Moment { ms: 1_700_000_000_000 + n, random }
    }

    fn device(n: u128) -> Uuid {
        Uuid::from_u128(n)
    }

    /// A house as a file would hold it, with most of what a file can say.
    fn house() -> Job {
        file::read(
            r#"{"hangtrue_job":1,"id":"0192a3b4-0000-7000-8000-000000000001","name":"Larch House","unit":"in",
            "region":"canada","built":1961,
            "instruments":[{"name":"tape 1","kind":{"tape":{"class":"II"}},"grain":"1/16","case":"3"}],
            "cloths":[{"name":"Reed","width":"54","repeat":"25 1/4","weight_gsm":240},{"name":"Ash","width":"140 cm"}],
            "settings":{"inside_width_deduction":"1/2","anchor_factor":5},
            "hardware":{"screws":[{"name":"own 9","diameter":"0.177","root":"0.142","head":"0.337","thread_percent":100,"lengths":["1 1/2","3"]}],"board_screw":"own 9"},
            "rooms":[{"id":"0192a3b4-0000-7000-8000-000000000002","name":"Study","openings":[
              {"id":"0192a3b4-0000-7000-8000-000000000003","name":"North","readings":[
                {"id":"0192a3b4-0000-7000-8000-000000000004","place":"width_top","read":"34-3/8","at":"2026-05-04T09:12:00Z","by":"Ida","with":"tape 1"},
                {"id":"0192a3b4-0000-7000-8000-000000000005","place":"width_top","read":"873 mm","at":"2026-05-04T09:13:00Z","withdrawn":{"at":"2026-05-04T09:14:00Z","why":"wrong window"}}],
               "skipped":[{"place":"depth","why":"painted shut","at":"2026-05-04T09:15:00Z"}],
               "wall":{"above":"plasterboard","studs":["2","18"]},
               "choices":{"mount":"outside","side_overlap":"1/2","cloth":"Reed","finished_width":"40","finished_length":"1525 mm","head":"4 1/2","folds":6},
               "asks":[{"id":"0192a3b4-0000-7000-8000-000000000006","places":["width_top"],"why":"an inch?","at":"2026-05-05T09:15:00Z","by":"desk","closed":"2026-05-06T09:15:00Z"}],
               "decisions":[{"id":"0192a3b4-0000-7000-8000-000000000008","flag":"leans","says":"The opening leans about 1/2 in.","why":"the client has seen it","at":"2026-05-06T10:15:00Z","by":"Ida","readings":["0192a3b4-0000-7000-8000-000000000004"]},
                            {"id":"0192a3b4-0000-7000-8000-000000000009","flag":"leans","says":"The opening leans about 1/2 in.","why":"","at":"2026-05-06T11:15:00Z","taken_back":true}],
               "notes":[{"id":"0192a3b4-0000-7000-8000-000000000007","text":"dog","at":"2026-05-04T09:15:00Z","by":"Ida"}]}]}]}"#,
        )
        .unwrap()
    }

    fn facts(job: &Job, before: Option<&House>, from: u64) -> Vec<Fact> {
        let mut pen = Pen::new(device(1), Stamp::default());
        let bodies = changes(before, job);
        bodies.iter().zip(from..).map(|(body, n)| pen.write(moment(n), job.id, "Ida", job.unit, body)).collect()
    }

    #[test]
    fn a_job_file_becomes_facts_and_the_same_file_again() {
        let job = house();
        let folded = fold(&facts(&job, None, 0)).unwrap();
        assert_eq!(folded.waiting, Vec::<Uuid>::new());
        assert_eq!(folded.job.disagreements, vec![]);
        assert_eq!(file::write(&folded.job), file::write(&job));
        assert_eq!(changes(Some(&folded), &job), vec![], "taking it in twice changes nothing");
    }

    #[test]
    fn a_change_of_unit_keeps_every_length() {
        let mut all = facts(&house(), None, 0);
        let folded = fold(&all).unwrap();
        let metric = Job { unit: LengthUnit::Millimetre, ..folded.job.clone() };
        all.extend(facts(&metric, Some(&folded), 1000));
        let again = fold(&all).unwrap();
        assert_eq!(again.job.unit, LengthUnit::Millimetre);
        let (old, new) = (&folded.job.rooms[0].openings[0], &again.job.rooms[0].openings[0]);
        assert_eq!(new.readings[0].value(), old.readings[0].value());
        assert_eq!(
            new.choices.side_overlap.as_ref().unwrap().value(),
            old.choices.side_overlap.as_ref().unwrap().value()
        );
        assert_eq!(new.wall.studs[1].value(), old.wall.studs[1].value());
        assert_eq!(again.job.cloth("Reed").unwrap().width.value(), old_width(&folded));
        let back = file::read(&file::write(&again.job)).unwrap();
        assert_eq!(file::write(&back), file::write(&again.job));
    }

    fn old_width(house: &House) -> crate::length::Length {
        house.job.cloth("Reed").unwrap().width.value()
    }

    #[test]
    fn what_two_devices_set_apart_stands_twice_until_settled() {
        let mut all = facts(&house(), None, 0);
        let opening = house().rooms[0].openings[0].id;
        let seen = fold(&all).unwrap().standing[&(opening, "choices.mount".to_owned())].clone();
        let set = |n: u64, who: u128, value: &str, replaces: &[Uuid]| {
            let body = Body::Set {
                on: opening,
                field: "choices.mount".to_owned(),
                value: value.into(),
                replaces: replaces.to_vec(),
            };
            Pen::new(device(who), Stamp::default()).write(moment(n), house().id, "", LengthUnit::Inch, &body)
        };
        all.push(set(500, 2, "inside", &seen));
        all.push(set(400, 3, "outside", &seen));
        let split = fold(&all).unwrap();
        assert_eq!(split.job.disagreements.len(), 1);
        assert_eq!(
            split.job.rooms[0].openings[0].choices.mount,
            Some(crate::house::Mount::Inside),
            "the later stamp shows"
        );
        let both = split.standing[&(opening, "choices.mount".to_owned())].clone();
        assert_eq!(both.len(), 2);
        all.push(set(600, 3, "outside", &both));
        assert_eq!(fold(&all).unwrap().job.disagreements, vec![]);
    }

    #[test]
    fn undo_and_undo_of_undo() {
        let mut all = facts(&house(), None, 0);
        let taken = all.iter().find(|fact| fact.kind == "reading_taken").unwrap().id;
        let undo = |n: u64, fact: Uuid| {
            Pen::new(device(2), Stamp::default()).write(
                moment(n),
                house().id,
                "Bo",
                LengthUnit::Inch,
                &Body::Undone { fact, place: None },
            )
        };
        all.push(undo(500, taken));
        let undone = all.last().unwrap().id;
        let reading = |all: &[Fact]| fold(all).unwrap().job.rooms[0].openings[0].readings[0].clone();
        assert_eq!(reading(&all).withdrawn.unwrap().why, "undone");
        all.push(undo(600, undone));
        assert_eq!(reading(&all).withdrawn, None);
    }

    #[test]
    fn a_newer_kind_waits_and_harms_nothing() {
        let mut all = facts(&house(), None, 0);
        let mut strange = all[3].clone();
        strange.id = device(99);
        strange.kind = "hologram_added".to_owned();
        all.push(strange);
        let folded = fold(&all).unwrap();
        assert_eq!(folded.waiting, vec![device(99)]);
        assert_eq!(file::write(&folded.job), file::write(&house()));
    }

    proptest! {
        #[test]
        fn any_order_and_repetition_fold_to_the_same(seed in proptest::collection::vec(any::<u16>(), 1..80), twice in any::<u64>()) {
            let ordered = facts(&house(), None, 0);
            let want = fold(&ordered).unwrap();
            let mut mixed = ordered.clone();
            for (i, fact) in ordered.iter().enumerate() {
                if twice >> (i % 64) & 1 == 1 {
                    mixed.push(fact.clone());
                }
            }
            for (i, s) in seed.iter().enumerate() {
                let n = mixed.len();
                mixed.swap(i % n, usize::from(*s) % n);
            }
            prop_assert_eq!(fold(&mixed).unwrap(), want);
        }
    }
}

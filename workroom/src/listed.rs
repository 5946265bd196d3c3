//! What lists as JSON: one object, for programs that read it. DEVELOPERS.md has the shapes; a length is an exact text
//! with its unit, never a number.

use crate::book::say_raw;
use hangtrue::plain::json_plain;
use hangtrue_core::flag::Flag;
use hangtrue_core::house::{Ask, Job, Opening, Room};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::mount::Mounting;
use hangtrue_core::stand::Reason;
use hangtrue_core::store::HouseLine;
use hangtrue_core::work::{Worked, WorkedHouse};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use uuid::Uuid;

/// One object on standard output, on one line.
pub(crate) fn print(value: &Value) -> anyhow::Result<()> {
    say_raw(&json_plain(&value.to_string()))
}

/// The houses of a book.
pub(crate) fn houses(lines: &[HouseLine], alone: &BTreeMap<Uuid, u64>) -> Value {
    let line = |line: &HouseLine| {
        json!({
            "id": line.job, "name": line.name, "rooms": line.rooms, "openings": line.openings, "readings": line.readings,
            "only_here": alone.get(&line.job).copied().unwrap_or_default(), "asked": line.asked, "away": line.away,
            "changed": line.changed,
        })
    };
    json!({ "houses": lines.iter().map(line).collect::<Vec<_>>() })
}

/// A house with its openings.
pub(crate) fn house(house: &WorkedHouse<'_>) -> Value {
    let job = house.job;
    json!({
        "id": job.id, "name": job.name, "unit": job.unit.name(),
        "apart": house.apart().iter().map(flag).collect::<Vec<_>>(),
        "openings": house.openings.iter().map(|one| brief(job, one)).collect::<Vec<_>>(),
    })
}

/// An opening as its house lists it.
fn brief(job: &Job, one: &Worked<'_>) -> Value {
    let mounting = one.mounts.advised();
    let made = one.shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok());
    let fixed = one.shade.as_ref().and_then(|shade| shade.fixing.as_ref());
    json!({
        "id": one.opening.id, "room": one.room.name, "opening": one.opening.name, "stands": one.stand().code(),
        "mount": mounting.map(|mounting| mounting.form.code()),
        "width": mounting.map(|mounting| length(mounting.width.total, job.unit)),
        "length": mounting.map(|mounting| length(mounting.length.total, job.unit)),
        "folds": made.map(|made| made.folds.count), "fixings": fixed.map(|fixed| fixed.fixed.len()),
        "asked": asks(one.opening), "reasons": one.standing.reasons.iter().map(reason).collect::<Vec<_>>(),
    })
}

/// One opening whole: its readings, what they say, every way of mounting, the shade, its fixings.
pub(crate) fn opening(job: &Job, one: &Worked<'_>) -> Value {
    let opening = one.opening;
    let readings = opening.readings.iter().map(|reading| {
        json!({
            "id": reading.id, "place": reading.place, "read": reading.typed.marked_text(), "at": reading.at, "by": reading.by,
            "with": reading.with, "stands": opening.stands(reading),
        })
    });
    let skipped = opening.skipped.iter().map(|skip| json!({ "place": skip.place, "why": skip.why, "by": skip.by }));
    let ways = one.mounts.can.iter().map(|way| mounting(way, job.unit, one.mounts.advised == Some(way.form)));
    let cannot = one.mounts.cannot.iter();
    let cannot = cannot.map(|way| json!({ "mount": way.form.code(), "why": way.why, "would": way.would }));
    let mut whole = brief(job, one);
    let more = json!({
        "house": job.name, "house_id": job.id, "unit": job.unit.name(), "count": opening.choices.count.get(),
        "stop_cutting": one.stop_cutting(), "stop_hanging": one.stop_hanging(),
        "readings": readings.collect::<Vec<_>>(), "skipped": skipped.collect::<Vec<_>>(),
        "flags": one.flags().into_iter().map(flag).collect::<Vec<_>>(),
        "ways": ways.collect::<Vec<_>>(), "cannot": cannot.collect::<Vec<_>>(), "shade": shade(job, one),
    });
    if let (Some(whole), Value::Object(more)) = (whole.as_object_mut(), more) {
        whole.extend(more);
    }
    whole
}

fn mounting(way: &Mounting, unit: LengthUnit, advised: bool) -> Value {
    json!({
        "mount": way.form.code(), "advised": advised, "width": length(way.width.total, unit), "width_by": way.width.rule,
        "length": length(way.length.total, unit), "projection": length(way.projection, unit),
        "adds_above": length(way.adds_above, unit), "board": way.board.size.name(),
        "board_length": length(way.board_length.total, unit),
    })
}

/// The shade as it is cut and fixed; nothing where it has no size, `problem` where it cannot be made.
fn shade(job: &Job, one: &Worked<'_>) -> Value {
    let show = |of: Length| length(of, job.unit);
    let Some(shade) = &one.shade else { return Value::Null };
    let made = match &shade.makeup {
        Ok(made) => made,
        Err(problem) => return json!({ "problem": problem.to_string() }),
    };
    let cuts = made.cuts.iter().map(|cut| {
        json!({ "part": cut.part.words(), "width": show(cut.width), "length": show(cut.length), "material": cut.material.words() })
    });
    let sticks = made.sticks.iter();
    let sticks =
        sticks.map(|stick| json!({ "part": stick.part.words(), "count": stick.count, "length": show(stick.length) }));
    let fixed = shade.fixing.iter().flat_map(|fixing| &fixing.fixed);
    let fixed =
        fixed.map(|each| json!({ "from_left": show(each.at), "into": each.on.words(), "why_there": each.reason }));
    let screws = shade.fixing.iter().flat_map(|fixing| &fixing.screws);
    let screws = screws.map(|screw| {
        json!({ "count": screw.count, "screw": screw.screw, "length": show(screw.length), "for": screw.job.words(), "pilot": show(screw.lead) })
    });
    json!({
        "fold": show(made.folds.fold), "head": show(made.folds.head), "flap": show(made.folds.flap),
        "raised": show(made.raised.height), "rings": made.rings(), "cuts": cuts.collect::<Vec<_>>(),
        "sticks": sticks.collect::<Vec<_>>(), "fixed": fixed.collect::<Vec<_>>(), "screws": screws.collect::<Vec<_>>(),
    })
}

/// The open requests to measure an opening again.
fn asks(opening: &Opening) -> Vec<Value> {
    let open = opening.asks.iter().filter(|ask| !opening.is_answered(ask));
    open.map(|ask| json!({ "id": ask.id, "places": ask.places, "why": ask.why, "by": ask.by, "at": ask.at })).collect()
}

/// One open request, with where it is.
pub(crate) fn ask(job: &Job, room: &Room, opening: &Opening, ask: &Ask) -> Value {
    json!({
        "id": ask.id, "house": job.name, "house_id": job.id, "room": room.name, "opening": opening.name,
        "opening_id": opening.id, "places": ask.places, "why": ask.why, "by": ask.by, "at": ask.at,
    })
}

fn flag(flag: &Flag) -> Value {
    serde_json::to_value(flag).expect("a flag has no map with keys that are not text")
}

fn reason(reason: &Reason) -> Value {
    serde_json::to_value(reason).expect("a reason has no map with keys that are not text")
}

fn length(length: Length, unit: LengthUnit) -> String {
    length.show_marked(unit)
}

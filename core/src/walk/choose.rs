//! Values that are given to fields: checked against the record before a fact is written, so that none is refused later.

use super::step::capital;
use crate::fact::{House, placed};
use crate::house::{Choices, Job, Region, Shares, Wall};
use crate::length::{LengthUnit, with_default_unit};
use crate::settings::{Settings, label, nearest};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::sync::LazyLock;
use uuid::Uuid;

/// Why an event changes nothing.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{reason}; {advice}")]
pub struct Refusal {
    /// What is wrong.
    pub reason: String,
    /// What would be right.
    pub advice: String,
    /// What it concerns, when it is one thing.
    pub id: Option<Uuid>,
}

impl Refusal {
    pub(super) fn new(reason: impl Into<String>, advice: impl Into<String>) -> Self {
        Self { reason: reason.into(), advice: advice.into(), id: None }
    }

    pub(super) fn gone(what: &str, id: Uuid) -> Self {
        Self { id: Some(id), ..Self::new(format!("this {what} is not in the house"), "go back and choose again") }
    }
}

/// What a field is set on: what is around an opening is said of the one in the wall, whichever shade of it was shown, and
/// also once that one was taken out; where a house came without it, of the first that is there.
pub(super) fn set_on(house: &House, on: Uuid, field: &str) -> Uuid {
    let shares = house.job.openings().find(|(_, one)| one.id == on).and_then(|(_, one)| one.shares);
    let Some(Shares { of, .. }) = shares.filter(|_| field.starts_with("wall.")) else { return on };
    let there = || house.job.openings().filter(|(_, one)| one.in_the_wall() == of).map(|(_, one)| one.id);
    if house.removed.iter().any(|removed| removed.on == of) || there().any(|id| id == of) {
        return of;
    }
    there().min().unwrap_or(on)
}

/// The JSON that a field takes for a value given as text; null for none.
pub(super) fn value_of(job: &Job, on: Uuid, field: &str, value: Option<&str>) -> Result<Value, Refusal> {
    let (group, name) = field.split_once('.').unwrap_or(("", field));
    if on == job.id {
        return match (group, name) {
            ("", "name") => text(value, "a house has a name"),
            ("", "unit") => read::<LengthUnit>(value, "in, ft, mm, cm or m"),
            ("", "region") => read::<Option<Region>>(value, "canada, united_states, europe_uk or australia"),
            ("", "built") => year(value),
            ("", "address" | "reach") => {
                Ok(value.map(str::trim).filter(|text| !text.is_empty()).map_or(Value::Null, Value::from))
            }
            ("", "away") => Ok(if value == Some("true") { Value::Bool(true) } else { Value::Null }),
            ("settings", name) => setting(job, name, value),
            _ => Err(unknown(field)),
        };
    }
    let is_room = job.rooms.iter().any(|room| room.id == on);
    if field == placed::ORDER && (is_room || job.openings().any(|(_, opening)| opening.id == on)) {
        return value.map_or(Ok(Value::Null), |value| {
            let order = value.trim().parse::<i64>().map(Value::from);
            order.map_err(|_| Refusal::new(format!("\"{value}\" is no order"), "write a whole number"))
        });
    }
    if is_room {
        return if field == "name" { text(value, "a room has a name") } else { Err(unknown(field)) };
    }
    let Some((_, opening)) = job.openings().find(|(_, opening)| opening.id == on) else {
        return Err(Refusal::gone("house, room or opening", on));
    };
    match group {
        "" if name == "name" => text(value, "an opening has a name"),
        "" if name == placed::ROOM => {
            let room = value.and_then(|value| Uuid::parse_str(value).ok());
            let known = room.filter(|room| job.rooms.iter().any(|one| one.id == *room));
            let gone = || Refusal::new("this room is not in the house", "go back and choose again");
            known.map(|room| room.to_string().into()).ok_or_else(gone)
        }
        "choices" => fits::<Choices>(job.unit, &opening.choices, name, value).and_then(|found| {
            let known = name != "cloth" || value.is_none_or(|cloth| job.cloth(cloth).is_some());
            let advice = "add the cloth at the workroom first";
            if known { Ok(found) } else { Err(Refusal::new("this house has no cloth of that name", advice)) }
        }),
        "wall" => fits::<Wall>(job.unit, &opening.wall, name, value),
        _ => Err(unknown(field)),
    }
}

fn unknown(field: &str) -> Refusal {
    Refusal::new(format!("there is no field \"{field}\" here"), "choose one that the screen shows")
}

fn text(value: Option<&str>, right: &str) -> Result<Value, Refusal> {
    match value.map(str::trim) {
        Some(value) if !value.is_empty() => Ok(value.into()),
        _ => Err(Refusal::new("the name is empty", right)),
    }
}

fn read<T: DeserializeOwned>(value: Option<&str>, right: &str) -> Result<Value, Refusal> {
    let json = value.map_or(Value::Null, Value::from);
    match serde_json::from_value::<T>(json.clone()) {
        Ok(_) => Ok(json),
        Err(_) => Err(Refusal::new(format!("\"{}\" is none of these", value.unwrap_or("nothing")), right)),
    }
}

fn year(value: Option<&str>) -> Result<Value, Refusal> {
    let Some(value) = value else { return Ok(Value::Null) };
    match value.trim().parse::<i32>() {
        Ok(year) if (1000..=2200).contains(&year) => Ok(year.into()),
        _ => Err(Refusal::new(format!("\"{value}\" is no year"), "write it like 1961")),
    }
}

fn setting(job: &Job, name: &str, value: Option<&str>) -> Result<Value, Refusal> {
    let rows = Settings::defaults(job.unit).rows(job.unit);
    let names: Vec<&str> = rows.iter().map(|row| row.name).collect();
    if !names.contains(&name) {
        let advice = format!("the nearest is \"{}\"", nearest(name, &names));
        return Err(Refusal::new(format!("there is no setting \"{name}\""), advice));
    }
    let mut changes = job.settings.clone();
    let Some(value) = value else { return Ok(Value::Null) };
    changes
        .change(name, value, job.unit)
        .map_err(|problem| Refusal::new(problem.to_string(), "write a length like 3/8, or a whole number"))?;
    with_default_unit(job.unit, || serde_json::to_value(&changes))
        .ok()
        .and_then(|mut all| all.get_mut(name).map(Value::take))
        .ok_or_else(|| unknown(name))
}

/// Fields that may be negative.
const SIGNED: [&str; 4] = ["studs", "joists", "above_trim", "side_overlap"];

/// The first JSON form of `value` that the field of `record` takes: text, true or false, a whole number, a list.
fn fits<T: Serialize + DeserializeOwned>(
    unit: LengthUnit,
    record: &T,
    name: &str,
    value: Option<&str>,
) -> Result<Value, Refusal> {
    let Some(value) = value.map(str::trim) else { return Ok(Value::Null) };
    // Studs and joists may be farther left than the trim, a board lower than its top, a shade narrower than it.
    if value.starts_with('-') && !SIGNED.contains(&name) {
        return Err(Refusal::new(format!("\"{value}\" is negative"), "write it without a minus sign"));
    }
    let as_list = value.split(',').map(|part| Value::from(part.trim())).collect();
    let forms = [
        Some(Value::from(value)),
        value.parse().ok().map(Value::Bool),
        value.parse::<u32>().ok().map(Value::from),
        Some(as_list),
    ];
    let mut said = String::new();
    for form in forms.into_iter().flatten() {
        let laid: Result<T, serde_json::Error> = with_default_unit(unit, || {
            let mut json = serde_json::to_value(record)?;
            if let Some(object) = json.as_object_mut() {
                object.insert(name.to_owned(), form.clone());
            }
            serde_json::from_value(json)
        });
        match laid {
            Ok(_) => return Ok(form),
            Err(error) if said.is_empty() => said = error.to_string(),
            Err(_) => {}
        }
    }
    let (what, right) = crate::house::file::split_advice(&said);
    Err(Refusal::new(what, right))
}

/// The choices as they are written in JSON, to show which is chosen.
pub(super) fn fields_of(unit: LengthUnit, record: &impl Serialize) -> Value {
    with_default_unit(unit, || serde_json::to_value(record)).unwrap_or_default()
}

/// The option that a field of an opening has where nobody chose one; nothing where it may be none.
pub(super) fn default_option(field: &str) -> Option<&'static str> {
    static DEFAULTS: LazyLock<Vec<(&str, &str)>> = LazyLock::new(|| {
        let of = |(field, _, options): &(&'static str, &str, Options)| {
            let (group, name) = field.split_once('.')?;
            let is_default = |text: &str| match group {
                "choices" => is_default::<Choices>(name, text),
                _ => is_default::<Wall>(name, text),
            };
            options.iter().find(|(text, _)| is_default(text)).map(|(text, _)| (*field, *text))
        };
        OPENING_FIELDS.iter().filter_map(of).collect()
    });
    DEFAULTS.iter().find(|(name, _)| *name == field).map(|(_, text)| *text)
}

/// True when a record with nothing chosen has this value at a field.
fn is_default<T: Default + PartialEq + Serialize + DeserializeOwned>(name: &str, text: &str) -> bool {
    let (unit, record) = (LengthUnit::Inch, T::default());
    fits::<T>(unit, &record, name, Some(text)).is_ok_and(|value| stays(unit, &record, name, &value))
}

/// True when a record is the same with this value at a field: chosen already, or so by default.
fn stays<T: PartialEq + Serialize + DeserializeOwned>(unit: LengthUnit, record: &T, name: &str, value: &Value) -> bool {
    let mut json = fields_of(unit, record);
    if let Some(object) = json.as_object_mut() {
        if value.is_null() {
            object.remove(name);
        } else {
            object.insert(name.to_owned(), value.clone());
        }
    }
    with_default_unit(unit, || serde_json::from_value::<T>(json)).is_ok_and(|laid| laid == *record)
}

/// True when a field of an opening is this already, chosen or by default.
pub(super) fn is_so(job: &Job, on: Uuid, field: &str, value: &Value) -> bool {
    let Some((_, opening)) = job.openings().find(|(_, opening)| opening.id == on) else { return false };
    match field.split_once('.') {
        Some(("choices", name)) => stays(job.unit, &opening.choices, name, value),
        Some(("wall", name)) => stays(job.unit, &opening.wall, name, value),
        _ => false,
    }
}

/// What is said of a field that was given a value: "Light: kept out."
pub(super) fn given_words(field: &str, value: &Value) -> String {
    let bare = |value: &Value| match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    if field == "choices.undecided" && value == &Value::Bool(true) {
        return "Mount: not decided.".to_owned();
    }
    match field {
        placed::ORDER => return "It stands elsewhere in the walk.".to_owned(),
        "away" if value.is_null() => return "It is in the list again.".to_owned(),
        "away" => return "It is put away: it is found by its words.".to_owned(),
        placed::ROOM => return "It is in another room.".to_owned(),
        _ => {}
    }
    let text = match value {
        Value::Null => "not chosen".to_owned(),
        Value::Array(all) => all.iter().map(bare).collect::<Vec<_>>().join(", "),
        Value::String(text) => text.replace('_', " "),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        other => other.to_string(),
    };
    let listed = OPENING_FIELDS.iter().chain(HOUSE_FIELDS).find(|(name, ..)| *name == field);
    if let Some((_, title, options)) = listed {
        let words = options.iter().find(|(option, _)| is_value(value, option)).map_or(text, |(_, words)| {
            let mut chars = words.chars();
            chars.next().map(|first| first.to_lowercase().collect::<String>() + chars.as_str()).unwrap_or_default()
        });
        return format!("{title}: {words}.");
    }
    let title = OPENING_LENGTHS.iter().find(|(name, _)| *name == field).map(|(_, words)| (*words).to_owned());
    let (group, name) = field.split_once('.').unwrap_or(("", field));
    let title = title.unwrap_or_else(|| match group {
        "settings" => capital(&label(name)),
        _ => capital(&name.replace('_', " ")),
    });
    format!("{title}: {text}.")
}

/// A field's own options: value as text, words.
pub(super) type Options = &'static [(&'static str, &'static str)];

/// The choices of an opening that have a list of options, in the order they are asked.
pub(super) const OPENING_FIELDS: &[(&str, &str, Options)] = &[
    ("choices.mount", "Mount", &[("inside", "Inside"), ("outside", "Outside")]),
    (
        "choices.attach",
        "Board of an outside mount",
        &[
            ("flush", "Flush on its face"),
            ("brackets", "On brackets"),
            ("ceiling", "Under the ceiling"),
            ("face", "On a beam or frame"),
        ],
    ),
    (
        "choices.foot",
        "Where it stops",
        &[("sill", "Above the sill"), ("apron", "At the apron's foot"), ("floor", "Above the floor")],
    ),
    ("choices.dark", "Light", &[("false", "As usual"), ("true", "Kept out")]),
    (
        "choices.style",
        "Make",
        &[
            ("flat", "Flat"),
            ("flat_ribbed", "Flat, ribbed"),
            ("tucked", "Tucked"),
            ("looped", "Looped"),
            ("relaxed", "Relaxed"),
        ],
    ),
    ("choices.lining", "Lining", &[("none", "None"), ("plain", "Plain"), ("blackout", "Blackout")]),
    ("choices.interlined", "Interlining", &[("false", "None"), ("true", "Interlined")]),
    (
        "choices.lift",
        "Lift",
        &[
            ("no_reachable_cord", "No cord in reach"),
            ("cord_lock", "Cord lock and cleat"),
            ("chain_loop", "Chain, held tight"),
            ("endless_cord", "Endless cord, held tight"),
            ("top_down_bottom_up", "From top and bottom, two cords"),
            ("motor", "Motor"),
        ],
    ),
    ("choices.control", "Control side", &[("left", "Left"), ("right", "Right")]),
    ("wall.head", "Behind the head", BACKINGS),
    ("wall.above", "Behind the wall above", BACKINGS),
    ("wall.ceiling", "Behind the ceiling", BACKINGS),
    ("wall.head_shape", "Head", &[("level", "Level"), ("arched", "Arched"), ("sloped", "Sloped, as under a roof")]),
    (
        "wall.handle",
        "Handle to be reached",
        &[
            ("unsaid", "None, or not said"),
            ("left", "At the left"),
            ("middle", "In the middle"),
            ("right", "At the right"),
        ],
    ),
    ("wall.trim_moulded", "Face of the trim", &[("false", "Flat"), ("true", "Moulded")]),
    ("wall.no_sill", "Sill", &[("false", "There is one"), ("true", "None")]),
    ("wall.no_trim", "Trim", &[("false", "There is some"), ("true", "None")]),
    (
        "wall.below",
        "Below the opening",
        &[
            ("nothing", "Nothing that matters"),
            ("radiator", "Radiator or heater"),
            ("range", "Range, hob or fire"),
            ("stairs", "Stairs"),
            ("basin", "Basin or sink"),
            ("furniture", "Bed, seat or table"),
        ],
    ),
    ("wall.tiled", "Wall where it is fixed", &[("false", "Not tiled"), ("true", "Tiled")]),
    ("wall.door", "Door", &[("false", "None"), ("true", "Swings under or through the shade")]),
    ("wall.escape", "Way out in a fire", &[("false", "No"), ("true", "Yes")]),
    ("wall.public", "Room", &[("false", "A home"), ("true", "Public room or letting")]),
];

const BACKINGS: Options = &[
    ("unknown", "Not probed yet"),
    ("wood", "Wood"),
    ("plasterboard", "Plasterboard"),
    ("masonry", "Masonry"),
    ("steel", "Steel"),
];

/// The house's fields that have a list of options.
pub(super) const HOUSE_FIELDS: &[(&str, &str, Options)] = &[
    ("unit", "Unit of the house", &[("in", "Inches"), ("ft", "Feet"), ("mm", "Millimetres"), ("cm", "Centimetres")]),
    (
        "region",
        "Where it stands",
        &[
            ("unsaid", "Not said"),
            ("canada", "Canada"),
            ("united_states", "United States"),
            ("europe_uk", "Europe or UK"),
            ("australia", "Australia"),
        ],
    ),
];

/// The lengths that can be typed for an opening's choices: field, words.
pub(super) const OPENING_LENGTHS: &[(&str, &str)] = &[
    ("choices.finished_width", "Finished width, set by hand"),
    ("choices.finished_length", "Finished length, set by hand"),
    ("choices.head", "Head, top of the board to the top rings, set by hand"),
    ("choices.folds", "Number of folds, set by hand"),
    ("choices.side_overlap", "Past the trim, each side"),
    ("choices.above_trim", "Above the trim (a minus sign: on it)"),
    ("choices.packing", "Packing behind the board"),
    ("choices.off_wall", "Board under the ceiling, off the wall"),
    ("choices.valance", "Depth of the valance"),
    ("wall.studs", "Studs, from the left edge of the trim"),
    ("wall.joists", "Joists, from the left edge of the trim"),
    ("wall.corner_left", "Angle to the next face at the left, degrees"),
    ("wall.corner_right", "Angle to the next face at the right, degrees"),
];

/// True when the text is how the field's value is written.
pub(super) fn is_value(json: &Value, text: &str) -> bool {
    match json {
        Value::String(value) => value == text,
        Value::Bool(value) => value.to_string() == text,
        Value::Number(value) => value.to_string() == text,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{Opening, Room};

    fn job() -> Job {
        let mut job = Job::new(Uuid::from_u128(1), "Larch House".to_owned(), LengthUnit::Inch);
        let opening = Opening::new(Uuid::from_u128(3), "North".to_owned());
        job.rooms.push(Room {
            id: Uuid::from_u128(2),
            name: "Study".to_owned(),
            openings: vec![opening],
            notes: Vec::new(),
        });
        job
    }

    #[test]
    fn every_option_that_a_screen_offers_fits_its_field() {
        let job = job();
        for (on, fields) in [(3, OPENING_FIELDS), (1, HOUSE_FIELDS)] {
            for (field, _, options) in fields {
                for (value, _) in *options {
                    let found = value_of(&job, Uuid::from_u128(on), field, Some(value));
                    assert!(found.is_ok_and(|json| is_value(&json, value)), "{field} = {value}");
                }
            }
        }
        for (field, _) in OPENING_LENGTHS {
            let value = match *field {
                "choices.folds" => "5",
                "wall.corner_left" | "wall.corner_right" => "135",
                _ => "1/2",
            };
            assert!(value_of(&job, Uuid::from_u128(3), field, Some(value)).is_ok(), "{field}");
        }
    }

    #[test]
    fn what_does_not_fit_is_refused_in_words() {
        let job = job();
        for (on, field, value, said) in [
            (3, "choices.mount", "sideways", "sideways"),
            (3, "choices.colour", "red", "colour"),
            (3, "choices.cloth", "Reed", "no cloth"),
            (3, "choices.side_overlap", "wide", "wide"),
            (1, "settings.inside_width_deduction", "x", "inside_width_deduction"),
            (1, "settings.inside_width_deducton", "1/2", "nearest"),
            (1, "built", "long ago", "no year"),
            (1, "name", " ", "empty"),
            (9, "name", "x", "not in the house"),
        ] {
            let refused = value_of(&job, Uuid::from_u128(on), field, Some(value)).unwrap_err().to_string();
            assert!(refused.contains(said), "{field} = {value}: {refused}");
        }
    }
}

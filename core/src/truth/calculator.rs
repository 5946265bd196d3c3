//! `truth` as a calculator: one line of JSON with an opening's readings in, one line with what they say out.
//!
//! A line that cannot be used is answered with where it went wrong, what was found and what would be right.

use super::{
    Around, CornerGaps, Estimate, Gauge, InsideSize, OfHouse, Readings, Taken, Truth, WidthRule, judge_house,
    judge_readings, learn,
};
use crate::flag::Flag;
use crate::house::{InstrumentKind, Place};
use crate::length::{Grain, Length, LengthProblem, LengthUnit, parse_signed, with_default_unit};
use crate::settings::{Changes, Settings, nearest};
use serde::de::{Deserializer, Error as _, MapAccess, Visitor};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// Judges one line of JSON: `{"id":"a","unit":"in","readings":{"width_top":["35 7/8"],...}}`. Besides, it takes
/// `"skipped":["depth"]`, `"settings":{...}` (as a job file's) and `"instrument":{"kind":{"tape":{"class":"I"}},
/// "grain":"1/32","case":"3"}` (or `"kind":"laser"`); `"house"` and `"room"`, names, are for [`Lines`]. `line` is the line's number, for what is said of it.
///
/// Always one line of JSON, without its newline.
///
/// ```
/// let line = r#"{"id":"a","unit":"in","readings":{"width_top":["35 9/8"]}}"#;
/// let answer = hangtrue_core::truth::calculator::answer(line, 3);
/// assert!(answer.starts_with(r#"{"id":"a","error":{"where":"line 3, readings.width_top[0]","what":"9/8 is a whole inch or more"#));
/// ```
pub fn answer(text: &str, line: usize) -> String {
    match one(text, line) {
        Ok(one) => {
            let truth = judge_readings(&one.readings, &one.settings);
            write(&Answer::new(one.id, &truth, &one.settings, one.readings.unit))
        }
        Err(refused) => write(&refused),
    }
}

/// A line that was read.
#[derive(Debug)]
struct One {
    id: Value,
    readings: Readings,
    settings: Settings,
    /// Lines of one house are judged together.
    house: Option<String>,
    room: Option<String>,
}

fn one(text: &str, line: usize) -> Result<One, Box<Refused>> {
    let mut id = Value::Null;
    let mut more = [("house", None), ("room", None)];
    let text_of = |name: &str, value: Option<Value>| match value {
        None => Ok(None),
        Some(Value::String(text)) => Ok(Some(text)),
        Some(value) => Err(Trouble {
            place: format!("line {line}, {name}"),
            what: format!("{value} is not a text"),
            right: format!("write \"{name}\": \"a name\", or leave it out"),
        }),
    };
    read(text, line, &mut id, &mut more)
        .and_then(|(readings, settings)| {
            let [(_, house), (_, room)] = more;
            Ok((readings, settings, text_of("house", house)?, text_of("room", room)?))
        })
        .map(|(readings, settings, house, room)| One { id: id.clone(), readings, settings, house, room })
        .map_err(|error| Box::new(Refused { id, error }))
}

/// Lines as they come in. A line with `"house"` (and `"room"`) is judged together with every other line of that house,
/// in whatever order they come, so its answer waits for the end of the input, and with it all that come after; until
/// then each line is answered at once.
#[derive(Debug, Default)]
pub struct Lines {
    waiting: Vec<Result<One, String>>,
}

impl Lines {
    /// Takes one line, and gives the answers that are ready, in order.
    pub fn take(&mut self, text: &str, line: usize) -> Vec<String> {
        let read = one(text, line).map_err(|refused| write(&refused));
        if self.waiting.is_empty() && !matches!(&read, Ok(one) if one.house.is_some()) {
            return vec![match read {
                Ok(one) => Self::alone(one),
                Err(answer) => answer,
            }];
        }
        self.waiting.push(read);
        Vec::new()
    }

    /// Puts an answer that is known already in its line's place.
    pub fn said(&mut self, answer: String) -> Vec<String> {
        if self.waiting.is_empty() {
            return vec![answer];
        }
        self.waiting.push(Err(answer));
        Vec::new()
    }

    fn alone(one: One) -> String {
        let truth = judge_readings(&one.readings, &one.settings);
        write(&Answer::new(one.id, &truth, &one.settings, one.readings.unit))
    }

    /// The answers that waited, in the order of their lines.
    pub fn finish(self) -> Vec<String> {
        let mut houses: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (at, one) in self.waiting.iter().enumerate() {
            if let Ok(One { house: Some(house), .. }) = one {
                houses.entry(house).or_default().push(at);
            }
        }
        let mut truths: Vec<Option<Truth>> = self.waiting.iter().map(|_| None).collect();
        for members in houses.values() {
            let openings: Vec<OfHouse<'_>> = members
                .iter()
                .filter_map(|at| self.waiting[*at].as_ref().ok())
                .map(|one| OfHouse {
                    readings: &one.readings,
                    around: Around::default(),
                    room: one.room.as_deref(),
                    settings: &one.settings,
                })
                .collect();
            for (at, truth) in members.iter().zip(judge_house(&openings)) {
                truths[*at] = Some(truth);
            }
        }
        self.waiting
            .into_iter()
            .zip(truths)
            .map(|(one, truth)| match (one, truth) {
                (Ok(one), Some(truth)) => write(&Answer::new(one.id, &truth, &one.settings, one.readings.unit)),
                (Ok(one), None) => Self::alone(one),
                (Err(answer), _) => answer,
            })
            .collect()
    }
}

/// Learns the hand and the kind of houses from lines as [`answer`] takes them, one for each past opening: at the end
/// come the settings to adopt.
#[derive(Debug, Default)]
pub struct Learner {
    past: Vec<Readings>,
    settings: Option<Settings>,
}

impl Learner {
    /// Takes one line; answers only what cannot be used.
    pub fn take(&mut self, text: &str, line: usize) -> Vec<String> {
        match one(text, line) {
            Ok(one) => {
                self.settings.get_or_insert(one.settings);
                self.past.push(one.readings);
                Vec::new()
            }
            Err(refused) => vec![write(&refused)],
        }
    }

    /// `{"openings":120,"settings":{"hand_um":650,...}}`; the settings are empty when nothing told anything.
    pub fn finish(self) -> Vec<String> {
        let learned = self.settings.and_then(|settings| learn(&self.past, &settings));
        let rows: serde_json::Map<String, Value> = learned
            .iter()
            .flat_map(super::Learned::rows)
            .map(|(name, value)| (name.to_owned(), Value::from(value)))
            .collect();
        let openings = learned.map_or(0, |learned| learned.openings);
        vec![write(&serde_json::json!({ "openings": openings, "settings": rows }))]
    }
}

pub(crate) fn write<T: Serialize>(answer: &T) -> String {
    serde_json::to_string(answer).expect("an answer has only text keys and finite numbers")
}

/// Why a line cannot be used.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub(crate) struct Trouble {
    #[serde(rename = "where")]
    pub(crate) place: String,
    pub(crate) what: String,
    pub(crate) right: String,
}

#[derive(Debug, Serialize)]
pub(crate) struct Refused {
    pub(crate) id: Value,
    pub(crate) error: Trouble,
}

/// A JSON object with its fields in order, also where one is named twice.
struct Fields(Vec<(String, Value)>);

impl<'de> Deserialize<'de> for Fields {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = Fields;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("an object with \"id\", \"unit\" and \"readings\"")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Fields, A::Error> {
                let mut fields: Vec<(String, Value)> = Vec::new();
                while let Some(key) = map.next_key::<String>()? {
                    if fields.iter().any(|(known, _)| *known == key) {
                        return Err(A::Error::custom(format!(
                            "\"{key}\" stands twice; keep one, with a list of repeats"
                        )));
                    }
                    // The readings are kept as fields too, for the same reason.
                    if key == "readings" {
                        let inner: Fields = map.next_value()?;
                        fields.push((key, Value::Object(inner.0.into_iter().collect())));
                    } else {
                        fields.push((key, map.next_value()?));
                    }
                }
                Ok(Fields(fields))
            }
        }
        from.deserialize_any(Reader)
    }
}

const KNOWN: [&str; 6] = ["id", "unit", "readings", "skipped", "settings", "instrument"];

/// Reads a line; `more` are fields besides those known here that the line may carry, handed back as they came.
pub(crate) fn read(
    text: &str,
    line: usize,
    id: &mut Value,
    more: &mut [(&str, Option<Value>)],
) -> Result<(Readings, Settings), Trouble> {
    let trouble = |path: &str, what: String, right: String| Trouble {
        place: if path.is_empty() { format!("line {line}") } else { format!("line {line}, {path}") },
        what,
        right,
    };
    let fields: Fields = serde_json::from_str(text).map_err(|error| {
        let said = crate::house::file::plain(&error);
        // A line that is JSON all the same may tell its name.
        if let Ok(Value::Object(map)) = serde_json::from_str(text) {
            *id = map.get("id").cloned().unwrap_or(Value::Null);
        }
        let (what, right) = crate::house::file::split_advice(&said);
        if error.is_data() {
            let right = if right.contains("job-file") { FORM.to_owned() } else { right };
            trouble("", what, right)
        } else {
            trouble("", format!("this is not JSON at character {}: {said}", error.column()), FORM.to_owned())
        }
    })?;
    let mut fields = fields.0;
    let mut take = |name: &str| {
        fields.iter().position(|(known, _)| known == name).map(|at| fields.swap_remove(at).1).filter(|v| !v.is_null())
    };
    *id = take("id").unwrap_or(Value::Null);
    let unit = match take("unit") {
        None => return Err(trouble("unit", "the unit is missing".to_owned(), UNITS.to_owned())),
        Some(value) => LengthUnit::deserialize(&value)
            .map_err(|_| trouble("unit", format!("{value} is not a unit of length"), UNITS.to_owned()))?,
    };
    let length = |value: &Value, path: &str| -> Result<Length, Trouble> {
        let Value::String(text) = value else {
            return Err(trouble(
                path,
                format!("{value} is not a text"),
                "write a length as text, such as \"34 3/8\"".to_owned(),
            ));
        };
        parse_signed(text, unit).map_err(|LengthProblem { at, what, right, .. }| {
            trouble(path, format!("{what} (character {at} of \"{text}\")"), right)
        })
    };
    let mut changes = Changes::default();
    if let Some(value) = take("settings") {
        changes = with_default_unit(unit, || Changes::deserialize(value)).map_err(|error| {
            let (what, right) = crate::house::file::split_advice(&error.to_string());
            trouble("settings", what, right)
        })?;
    }
    let settings = Settings::with(unit, &changes)
        .map_err(|error| trouble("settings", error.to_string(), "use a setting's name and form".to_owned()))?;
    let with = take("instrument").map(|value| gauge(&value, &length, &trouble)).transpose()?;
    let skipped = match take("skipped") {
        None => Vec::new(),
        Some(Value::Array(names)) => names
            .iter()
            .enumerate()
            .map(|(i, name)| place(name.as_str().unwrap_or_default(), &format!("skipped[{i}]"), &trouble))
            .collect::<Result<_, _>>()?,
        Some(_) => return Err(trouble("skipped", "this is not a list".to_owned(), "write [\"depth\"]".to_owned())),
    };
    let Some(Value::Object(places)) = take("readings") else {
        return Err(trouble("readings", "the readings are missing".to_owned(), FORM.to_owned()));
    };
    for (name, value) in more.iter_mut() {
        *value = take(name);
    }
    if let Some((name, _)) = fields.first() {
        let known: Vec<&str> = KNOWN.into_iter().chain(more.iter().map(|(name, _)| *name)).collect();
        let right =
            format!("the nearest known field is \"{}\"; known here: {}", nearest(name, &known), known.join(", "));
        return Err(trouble(name, format!("there is no field \"{name}\" here"), right));
    }
    let mut taken = Vec::with_capacity(12);
    for (code, list) in &places {
        let path = format!("readings.{code}");
        let place = place(code, &path, &trouble)?;
        let Value::Array(list) = list else {
            let right = format!("each place takes a list of its readings in order: [{list}]");
            return Err(trouble(&path, "this is not a list".to_owned(), right));
        };
        for (i, value) in list.iter().enumerate() {
            let path = format!("{path}[{i}]");
            let value = length(value, &path)?;
            if value.is_negative() && !place.has_sign() {
                return Err(trouble(
                    &path,
                    format!("the {} cannot be negative", place.words()),
                    "leave out the minus sign".to_owned(),
                ));
            }
            if value == Length::ZERO && (place.is_width() || place.is_height() || place.is_diagonal()) {
                return Err(trouble(
                    &path,
                    format!("the {} is nothing", place.words()),
                    "leave the place out until it is read".to_owned(),
                ));
            }
            taken.push(Taken { place, value, with });
        }
    }
    Ok((Readings { skipped, ..Readings::level(unit, taken) }, settings))
}

const UNITS: &str = "write \"unit\": \"in\" or \"unit\": \"mm\" (also ft, cm, m)";
const FORM: &str = r#"a line is {"id":"a","unit":"in","readings":{"width_top":["35 7/8"]}}"#;

type Refuse<'a> = &'a dyn Fn(&str, String, String) -> Trouble;

fn place(code: &str, path: &str, trouble: Refuse<'_>) -> Result<Place, Trouble> {
    Place::from_code(code).ok_or_else(|| {
        let known: Vec<&str> = Place::ALL.iter().map(|place| place.code()).collect();
        let right = format!("the nearest is \"{}\"; the places are {}", nearest(code, &known), known.join(", "));
        trouble(path, format!("\"{code}\" is not a place on an opening"), right)
    })
}

fn gauge(
    value: &Value,
    length: &dyn Fn(&Value, &str) -> Result<Length, Trouble>,
    trouble: Refuse<'_>,
) -> Result<Gauge, Trouble> {
    let form = || {
        "write {\"kind\":{\"tape\":{\"class\":\"II\"}},\"grain\":\"1/16\",\"case\":\"3\"} or {\"kind\":\"laser\"}"
            .to_owned()
    };
    let Value::Object(map) = value else {
        return Err(trouble("instrument", "this is not an object".to_owned(), form()));
    };
    if let Some(name) = map.keys().find(|name| !matches!(name.as_str(), "kind" | "grain" | "case")) {
        return Err(trouble(&format!("instrument.{name}"), format!("there is no field \"{name}\" here"), form()));
    }
    let kind = map.get("kind").ok_or_else(|| trouble("instrument.kind", "the kind is missing".to_owned(), form()))?;
    let kind = InstrumentKind::deserialize(kind)
        .map_err(|_| trouble("instrument.kind", format!("{kind} is no kind of instrument"), form()))?;
    let positive = |name: &str| -> Result<Option<Length>, Trouble> {
        let path = format!("instrument.{name}");
        let Some(value) = map.get(name) else { return Ok(None) };
        match length(value, &path)? {
            length if length > Length::ZERO => Ok(Some(length)),
            _ => Err(trouble(&path, format!("a {name} is more than nothing"), form())),
        }
    };
    Ok(Gauge { kind, grain: positive("grain")?.and_then(Grain::of), case: positive("case")? })
}

/// An estimate in the unit of the line.
#[derive(Serialize)]
struct Number {
    value: f64,
    sd: f64,
}

#[derive(Serialize)]
struct ShapeOut {
    lean: Option<Number>,
    taper: Option<Number>,
    slope_head: Option<Number>,
    slope_sill: Option<Number>,
    bow: Option<Number>,
    clear_passage: Option<Number>,
}

#[derive(Serialize)]
struct GapsOut {
    top_left: String,
    top_right: String,
    bottom_left: String,
    bottom_right: String,
}

#[derive(Serialize)]
struct InsideOut {
    finished_width: String,
    finished_length: Option<String>,
    width_rule: WidthRule,
    length_rule: &'static str,
    clear_passage: Option<String>,
    corner_gaps: Option<GapsOut>,
}

#[derive(Serialize)]
struct Corners {
    bottom_left: [f64; 2],
    bottom_right: [f64; 2],
    top_right: [f64; 2],
    top_left: [f64; 2],
}

#[derive(Serialize)]
struct Answer<'a> {
    id: Value,
    flags: &'a [Flag],
    shape: ShapeOut,
    corners: Option<Corners>,
    inside: Option<InsideOut>,
    missing: &'a [Place],
    /// What is taken for granted because it was not read.
    #[serde(skip_serializing_if = "<[&str]>::is_empty")]
    assumes: &'a [&'static str],
    holds: bool,
    chance_all_right: f64,
    /// Only where it says something.
    #[serde(skip_serializing_if = "Option::is_none")]
    chance_shared: Option<f64>,
    suspects: Vec<SuspectOut<'a>>,
    next_reading: Option<NextOut<'a>>,
}

#[derive(Serialize)]
struct SuspectOut<'a> {
    place: Place,
    chance: f64,
    likely: Option<String>,
    slip: &'a str,
    /// Places that cannot be told from this one by what was read.
    #[serde(skip_serializing_if = "<[Place]>::is_empty")]
    or: &'a [Place],
}

#[derive(Serialize)]
struct NextOut<'a> {
    place: Place,
    because: &'a str,
}

/// A chance to four places.
fn chance(value: f64) -> f64 {
    (value * 1e4).round() / 1e4 + 0.0
}

impl<'a> Answer<'a> {
    fn new(id: Value, truth: &'a Truth, settings: &Settings, unit: LengthUnit) -> Self {
        let number = |estimate: Option<Estimate>| {
            estimate.map(|e| Number { value: in_unit(e.value, unit), sd: in_unit(e.sd, unit) })
        };
        let shape = &truth.shape;
        let inside = truth.inside(settings, unit).map(|size: InsideSize| InsideOut {
            finished_width: size.finished_width.show(unit),
            finished_length: size.finished_length.map(|length| length.show(unit)),
            width_rule: size.width_rule,
            length_rule: "smallest height",
            clear_passage: shape.passage.map(|passage| passage.reliable.show(unit)),
            corner_gaps: size.corner_gaps.map(|gaps: CornerGaps| GapsOut {
                top_left: gaps.top_left.show(unit),
                top_right: gaps.top_right.show(unit),
                bottom_left: gaps.bottom_left.show(unit),
                bottom_right: gaps.bottom_right.show(unit),
            }),
        });
        Self {
            id,
            flags: &truth.flags,
            shape: ShapeOut {
                lean: number(shape.lean),
                taper: number(shape.taper),
                slope_head: number(shape.slope_head),
                slope_sill: number(shape.slope_sill),
                bow: number(shape.bow),
                clear_passage: number(shape.passage.map(|passage| passage.estimate)),
            },
            corners: shape.corners.map(|corners| {
                let [bottom_left, bottom_right, top_right, top_left] =
                    corners.map(|corner| corner.map(|at| exactly_in_unit(at, unit)));
                Corners { bottom_left, bottom_right, top_right, top_left }
            }),
            inside,
            missing: &truth.missing,
            assumes: &truth.assumes,
            holds: truth.holds,
            chance_all_right: chance(truth.chance_all_right),
            chance_shared: (truth.chance_shared >= 0.01).then(|| chance(truth.chance_shared)),
            suspects: truth
                .suspects
                .iter()
                .map(|suspect| SuspectOut {
                    place: suspect.place,
                    chance: chance(suspect.chance),
                    likely: suspect.likely.map(|length| length.show(unit)),
                    slip: &suspect.slip,
                    or: &suspect.or,
                })
                .collect(),
            next_reading: truth.next_reading.as_ref().map(|next| NextOut { place: next.place, because: &next.because }),
        }
    }
}

/// Millimetres in the unit of the line.
fn exactly_in_unit(mm: f64, unit: LengthUnit) -> f64 {
    mm / super::passage::mm(unit.one())
}

/// Millimetres in the unit of the line, to a hundredth of a grain or finer: more digits would only look exact.
fn in_unit(mm: f64, unit: LengthUnit) -> f64 {
    let parts = match unit {
        LengthUnit::Millimetre => 1e3,
        LengthUnit::Inch | LengthUnit::Foot | LengthUnit::Centimetre => 1e4,
        LengthUnit::Metre => 1e6,
    };
    // Adding zero takes the sign off a negative nothing.
    (exactly_in_unit(mm, unit) * parts).round() / parts + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = r#"{"id":"a","unit":"in","readings":{"width_top":["35 7/8"],"width_middle":["35 13/16"],"width_bottom":["35 7/8"],"height_left":["60"],"height_right":["60 1/16"],"diagonal_rising":["70"],"diagonal_falling":["69 15/16"],"depth":["3 1/2"]}}"#;

    #[test]
    fn a_true_opening_is_sized_by_its_smallest_width() {
        let answer: Value = serde_json::from_str(&answer(GOOD, 1)).unwrap();
        assert_eq!(answer["id"], "a");
        assert_eq!(answer["inside"]["finished_width"], "35 7/16");
        assert_eq!(answer["inside"]["finished_length"], "59 3/4");
        assert_eq!(answer["inside"]["width_rule"], "smallest width");
        assert_eq!(answer["missing"], Value::Array(Vec::new()));
        // (70^2 - (69 15/16)^2) / (4 x 35.86): the lean of a parallelogram.
        assert!((answer["shape"]["lean"]["value"].as_f64().unwrap() - 0.061).abs() < 1e-3, "{answer}");
    }

    #[test]
    fn what_cannot_be_used_is_answered_with_where_what_and_right() {
        for (from, to, place, what) in [
            ("\"35 7/8\"]", "\"35 7/9\"]", "line 7, readings.width_top[0]", "not on a tape"),
            ("\"35 7/8\"]", "35]", "line 7, readings.width_top[0]", "not a text"),
            ("[\"35 7/8\"]", "\"35 7/8\"", "line 7, readings.width_top", "not a list"),
            ("\"35 7/8\"]", "\"-35\"]", "line 7, readings.width_top[0]", "cannot be negative"),
            ("\"35 7/8\"]", "\"0\"]", "line 7, readings.width_top[0]", "is nothing"),
            ("width_top", "width_tip", "line 7, readings.width_tip", "not a place"),
            ("width_middle", "width_top", "line 7", "stands twice"),
            ("\"unit\":\"in\",", "", "line 7, unit", "missing"),
            ("\"in\"", "\"inch\"", "line 7, unit", "not a unit"),
            ("\"unit\"", "\"colour\":1,\"unit\"", "line 7, colour", "no field"),
            ("\"unit\"", "\"settings\":{\"width\":1},\"unit\"", "line 7, settings", "no setting"),
            ("\"unit\"", "\"instrument\":{\"kind\":\"rope\"},\"unit\"", "line 7, instrument.kind", "no kind"),
            ("{\"id\"", "{\"id", "line 7", "not JSON"),
        ] {
            assert!(GOOD.contains(from), "{from}");
            let said: Value = serde_json::from_str(&answer(&GOOD.replacen(from, to, 1), 7)).unwrap();
            assert_eq!(said["error"]["where"], place, "{from} -> {to}: {said}");
            assert!(said["error"]["what"].as_str().unwrap().contains(what), "{from} -> {to}: {said}");
            assert!(!said["error"]["right"].as_str().unwrap().is_empty());
        }
        assert!(answer("[]", 2).contains("\"where\":\"line 2\""));
        assert!(answer("", 2).contains("not JSON"));
    }
}

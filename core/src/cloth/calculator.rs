//! `cloth` as a calculator: one line of JSON with a cloth and the cuts that are wanted in, one line with the plan out.
//!
//! A line that cannot be used is answered with where it went wrong, what was found and what would be right.

use super::{Bolt, METRE, Placed, Plan, Seam, Want, YARD, plan};
use crate::house::Cloth;
use crate::house::file::{plain, split_advice};
use crate::length::{Direction, Grain, Length, LengthUnit, Typed, with_default_unit};
use crate::settings::{Changes, Settings};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// Cuts that one line may ask for: a large house has some hundreds.
const MOST_PIECES: u64 = super::choose::MOST_PIECES as u64;

/// Plans one line of JSON. In it: `unit`; `cloth` as in a job file (`width`, `usable`, `selvage_left`,
/// `selvage_right`, `repeat`, `repeat_across`, `matching`, `direction`, `shrinks_permille`, `price_cents`, `on_hand`);
/// `pieces`, each with `name`, cut `width`, cut `length`, `count`, `match_at` (from its top cut edge down to the finished
/// head or foot, where the pattern starts; the top edge when left out), `"matched": false` where the pattern is not seen,
/// `fold_lines`; and, if need be, `pattern_start` (the first line of the pattern from the cut end) and `settings` as in a
/// job file.
///
/// Out: the place and phase of every piece, what is cut off the cloth (`across`, `along`) and what of that shows when it is
/// sewn up (`shows`), which edge of which piece is sewn to which (`seams`) and what each seam takes from both, `used`,
/// `buy`, `bound`, `proven`, the simple count and what the plan saves. `line` is the line's number, for what is said of it. Always one line of JSON, without its newline.
///
/// ```
/// // Common household example (checks.md, cloth): 27 x 58 finished, cut 33 x 68, two of them on 55 in cloth.
/// let line = r#"{"id":"a","unit":"in","cloth":{"width":"55"},"pieces":[{"name":"shade","width":"33","length":"68","count":2}]}"#;
/// let answer = hangtrue_core::cloth::calculator::answer(line, 1);
/// assert!(answer.contains(r#""used":"136""#) && answer.contains(r#""buy_units":"4 yd""#), "{answer}");
/// ```
pub fn answer(text: &str, line: usize) -> String {
    let mut id = Value::Null;
    let answer = match work(text, line, &mut id) {
        Ok(mut answer) => {
            let mut out = serde_json::Map::new();
            out.insert("id".to_owned(), id);
            out.append(&mut answer);
            Value::Object(out)
        }
        Err(trouble) => json!({"id": id, "error": trouble}),
    };
    answer.to_string()
}

/// Why a line cannot be used.
#[derive(Serialize)]
struct Trouble {
    #[serde(rename = "where")]
    place: String,
    what: String,
    right: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Input {
    #[serde(default)]
    #[allow(dead_code, reason = "read before the rest, so that an error can carry it")]
    id: Value,
    #[allow(dead_code, reason = "read before the rest, for bare numbers")]
    unit: LengthUnit,
    cloth: Cloth,
    pieces: Vec<InputPiece>,
    #[serde(default)]
    pattern_start: Option<Typed>,
    #[serde(default)]
    settings: Changes,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct InputPiece {
    #[serde(default)]
    name: String,
    width: Typed,
    length: Typed,
    #[serde(default = "one")]
    count: u32,
    #[serde(default)]
    match_at: Option<Typed>,
    #[serde(default = "yes")]
    matched: bool,
    #[serde(default)]
    fold_lines: Vec<Typed>,
}

const fn one() -> u32 {
    1
}

const fn yes() -> bool {
    true
}

const FORM: &str =
    "write {\"unit\":\"in\",\"cloth\":{\"width\":\"54\"},\"pieces\":[{\"width\":\"38\",\"length\":\"66\"}]}";

fn work(text: &str, line: usize, id: &mut Value) -> Result<serde_json::Map<String, Value>, Trouble> {
    let trouble = |path: &str, what: String, right: &str| Trouble {
        place: if path.is_empty() { format!("line {line}") } else { format!("line {line}, {path}") },
        what,
        right: right.to_owned(),
    };
    let mut value: Value = serde_json::from_str(text).map_err(|error| {
        trouble("", format!("this is not JSON at character {}: {}", error.column(), plain(&error)), FORM)
    })?;
    let Some(map) = value.as_object_mut() else {
        return Err(trouble("", "this is not a JSON object".to_owned(), FORM));
    };
    *id = map.get("id").cloned().unwrap_or(Value::Null);
    let unit = match map.get("unit") {
        None => {
            return Err(trouble("unit", "the unit is missing".to_owned(), "write \"unit\":\"in\" or \"unit\":\"mm\""));
        }
        Some(value) => LengthUnit::deserialize(value).map_err(|_| {
            trouble("unit", format!("{value} is not a unit of length"), "it is one of: in, ft, mm, cm, m")
        })?,
    };
    // A cloth at the bench needs no name.
    if let Some(cloth) = map.get_mut("cloth").and_then(Value::as_object_mut) {
        cloth.entry("name").or_insert_with(|| Value::String("cloth".to_owned()));
    }
    let input: Input = with_default_unit(unit, || serde_path_to_error::deserialize(&value)).map_err(|error| {
        let path = error.path().to_string();
        let (what, right) = split_advice(&plain(&error.into_inner()));
        let right = if right.contains("job-file") { FORM } else { &right };
        trouble(path.trim_start_matches('.'), what, right)
    })?;
    let settings = Settings::with(unit, &input.settings)
        .map_err(|error| trouble("settings", error.to_string(), "use a setting's name and form"))?;
    let mut bolt = Bolt::of(&input.cloth, &settings, unit)
        .map_err(|problem| trouble(&format!("cloth.{}", problem.place), problem.what, &problem.right))?;
    bolt.pattern_start = input.pattern_start.as_ref().map(Typed::value);
    if bolt.pattern_start.is_some_and(Length::is_negative) {
        return Err(trouble("pattern_start", "this is before the cut end".to_owned(), "count from the cut end"));
    }
    let wanted: u64 = input.pieces.iter().map(|piece| u64::from(piece.count)).sum();
    if wanted == 0 || wanted > MOST_PIECES {
        return Err(trouble(
            "pieces",
            format!("{wanted} pieces are wanted"),
            &format!("one line plans 1 to {MOST_PIECES} pieces"),
        ));
    }
    let mut wants = Vec::new();
    for (i, piece) in input.pieces.iter().enumerate() {
        let name = if piece.name.is_empty() { format!("piece {}", i + 1) } else { piece.name.clone() };
        let path = format!("pieces[{i}]");
        for (field, typed) in [("width", &piece.width), ("length", &piece.length)] {
            if typed.value() <= Length::ZERO {
                let what = format!("{} is no size", typed.value().show_marked(unit));
                return Err(trouble(&format!("{path}.{field}"), what, "it is more than nothing"));
            }
        }
        let line = piece.match_at.as_ref().map_or(Length::ZERO, Typed::value);
        if line.is_negative() || line > piece.length.value() {
            return Err(trouble(
                &format!("{path}.match_at"),
                format!("{} is not on a piece of {}", line.show_marked(unit), piece.length.value().show_marked(unit)),
                "count from the top cut edge, down to the finished head or foot",
            ));
        }
        for k in 1..=piece.count {
            wants.push(Want {
                name: if piece.count > 1 { format!("{name} ({k} of {})", piece.count) } else { name.clone() },
                width: piece.width.value(),
                length: piece.length.value(),
                match_line: piece.matched.then_some(line),
                fold_lines: piece.fold_lines.iter().map(Typed::value).collect(),
            });
        }
    }
    let plan = plan(&bolt, &wants).map_err(|problem| trouble(&problem.place, problem.what, &problem.right))?;
    Ok(written(&bolt, &wants, &plan))
}

fn written(bolt: &Bolt, wants: &[Want], plan: &Plan) -> serde_json::Map<String, Value> {
    let unit = bolt.unit;
    let show = |length: Length| length.show(unit);
    // A bound that is no place of the tape is rounded down, so that it stays one.
    let bound = if plan.proven {
        plan.used
    } else {
        plan.bound.round(if unit.is_imperial() { Grain::INCH_64 } else { Grain::MM_TENTH }, Direction::Down)
    };
    let piece = |placed: &Placed| {
        json!({
            "name": wants[placed.want].name,
            "part": placed.part.words(),
            "from": placed.on_hand.map_or_else(|| "bought".to_owned(), |roll| format!("on hand {}", roll + 1)),
            "x": show(placed.x),
            "y": show(placed.y),
            "across": show(placed.across),
            "along": show(placed.along),
            "shows": show(plan.shows(placed)),
            "selvage_left": show(placed.selvage_left),
            "selvage_right": show(placed.selvage_right),
            "turned": placed.turned,
            "phase": placed.phase.map(show),
        })
    };
    let seam = |seam: &Seam| {
        json!({
            "name": wants[seam.want].name,
            "part": seam.first.words(),
            "edge": seam.first_edge.words(),
            "to": seam.second.words(),
            "to_edge": seam.second_edge.words(),
            "takes": show(seam.takes),
            "at": show(seam.at),
        })
    };
    let names: Vec<&str> = plan.not_on_hand.iter().map(|&want| wants[want].name.as_str()).collect();
    let fields = json!({
        "pieces": plan.pieces.iter().map(piece).collect::<Vec<_>>(),
        "seams": plan.seams.iter().map(seam).collect::<Vec<_>>(),
        "used": show(plan.used),
        "first_line": plan.first_line.map(show),
        "spare": show(plan.spare),
        "buy": show(plan.buy),
        "buy_units": sold(plan.buy, unit),
        "cost_cents": plan.cost_cents,
        "bound": show(bound),
        "proven": plan.proven,
        "one_after_another": show(plan.one_after_another),
        "saved": show(plan.saved()),
        "waste_percent": f64::from(i32::try_from(plan.waste_permille).unwrap_or(0)) / 10.0,
        "not_on_hand": names,
        "notes": plan.notes,
        "to_decide": plan.to_decide,
    });
    match fields {
        Value::Object(map) => map,
        _ => serde_json::Map::new(),
    }
}

/// A length of cloth as a shop says it: `4 1/4 yd`, `3.7 m`.
pub fn sold(length: Length, unit: LengthUnit) -> String {
    if unit.is_imperial() {
        // A yard is 36 in: what is a fraction of one as 1/64 or coarser is said in yards.
        let scaled = length.nm() * 64;
        if scaled % YARD.nm() == 0 {
            let sixty_fourths = scaled / YARD.nm();
            return format!("{} yd", Length::inches(sixty_fourths, 64).show(LengthUnit::Inch));
        }
        return length.show_marked(unit);
    }
    debug_assert_eq!(METRE, Length::mm(1000));
    length.show_marked(LengthUnit::Metre)
}

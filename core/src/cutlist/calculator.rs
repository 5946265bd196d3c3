//! The cut list as a calculator: one JSON value in, one out. The unit that comes in is the unit that goes out.
//!
//! In: `id` (handed back as it came), `unit` (`in`, `ft`, `mm`, `cm`, `m`); `stock` and `pieces`, and if need be `on_hand`, `kerf`, `trim`,
//! `smallest_offcut`, `cheapest_first` (the cheapest mix, as is usual, or `false` for the fewest sticks), `steps`. Lengths and prices are text. Out: each stick with its cuts and offcut, what to buy,
//! the cost, the bounds, and whether it is proven.

use super::{CutProblem, OnHand, Piece, Plan, Request, Source, Spend, Stock, plan};
use crate::length::{Length, LengthUnit, Typed, with_default_unit};
use crate::settings::Settings;
use serde::{Deserialize, Deserializer, Serialize, de::Error as _};
use serde_json::{Value, json};

/// What cannot be used in a request: where it stands, what is wrong, and what would be right.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, thiserror::Error)]
#[error("{place}: {what}; {right}")]
pub struct Problem {
    /// The field, such as `pieces[2].length`, or `request` for the whole.
    #[serde(rename = "where")]
    pub place: String,
    /// What is wrong, as a sentence or clause.
    pub what: String,
    /// What would be right, as a plain clause.
    pub right: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    #[serde(default)]
    id: Value,
    unit: LengthUnit,
    kerf: Option<Typed>,
    trim: Option<Typed>,
    smallest_offcut: Option<Typed>,
    #[serde(default)]
    stock: Vec<AskedStock>,
    #[serde(default)]
    on_hand: Vec<AskedOffcut>,
    pieces: Vec<AskedPiece>,
    steps: Option<u64>,
    cheapest_first: Option<bool>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AskedStock {
    length: Typed,
    price: Option<Price>,
    count: Option<u32>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AskedOffcut {
    length: Typed,
    #[serde(default = "one")]
    count: u32,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AskedPiece {
    length: Typed,
    #[serde(default = "one")]
    count: u32,
    #[serde(default)]
    name: String,
}

const fn one() -> u32 {
    1
}

/// A price in hundredths of the currency, read from text such as `4.10` or `4`.
struct Price(u64);

impl<'de> Deserialize<'de> for Price {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        cents(&text).map(Price).ok_or_else(|| {
            D::Error::custom(format!("\"{text}\" is not a price; write it like 4.10, without a sign for the currency"))
        })
    }
}

fn cents(text: &str) -> Option<u64> {
    let (whole, part) = text.trim().split_once('.').unwrap_or((text.trim(), ""));
    let digits = |s: &str| s.chars().all(|c| c.is_ascii_digit());
    if whole.is_empty() || part.len() > 2 || !digits(whole) || !digits(part) || text.trim().ends_with('.') {
        return None;
    }
    let part: u64 = format!("{part:0<2}").parse().ok()?;
    whole.parse::<u64>().ok()?.checked_mul(100)?.checked_add(part)
}

fn price(cents: u64) -> String {
    format!("{}.{:02}", cents / 100, cents % 100)
}

/// Answers one line of JSON.
///
/// # Errors
/// Every [`Problem`] of the request: JSON that does not read (the first fault), or each piece no stick can hold.
///
/// ```
/// let line = r#"{"unit":"in","kerf":"1/8","stock":[{"length":"96","price":"4.10"}],
///                "pieces":[{"length":"35 1/4","count":4,"name":"kitchen board"}]}"#;
/// let answer = hangtrue_core::cutlist::calculator::answer_line(line).unwrap();
/// assert_eq!(answer["cost"], "8.20");
/// assert_eq!(answer["sticks"][0]["offcut"], "25 1/4");
/// assert_eq!(answer["proven"], true);
/// ```
pub fn answer_line(line: &str) -> Result<Value, Vec<Problem>> {
    let value = serde_json::from_str(line).map_err(|error| {
        let place = format!("line {}, column {}", error.line(), error.column());
        vec![Problem { place, what: format!("this is not JSON: {error}"), right: EXAMPLE.to_owned() }]
    })?;
    answer_json(&value)
}

const EXAMPLE: &str = "write it like {\"unit\":\"in\",\"kerf\":\"1/8\",\"stock\":[{\"length\":\"96\",\"price\":\"4.10\"}],\
                       \"pieces\":[{\"length\":\"35 1/4\",\"count\":4}]}";

/// Answers one JSON value.
///
/// # Errors
/// As [`answer_line`].
pub fn answer_json(value: &Value) -> Result<Value, Vec<Problem>> {
    let unit: LengthUnit =
        value.get("unit").and_then(|unit| serde_json::from_value(unit.clone()).ok()).ok_or_else(|| {
            let what = "the unit of the lengths is not given".to_owned();
            vec![Problem {
                place: "unit".to_owned(),
                what,
                right: "write \"unit\":\"in\", or ft, mm, cm, m".to_owned(),
            }]
        })?;
    let asked: Asked = with_default_unit(unit, || serde_path_to_error::deserialize(value)).map_err(|error| {
        let path = error.path().to_string();
        let place = if path == "." { "request".to_owned() } else { path };
        vec![Problem { place, what: error.inner().to_string(), right: EXAMPLE.to_owned() }]
    })?;
    let request = asked.request();
    match plan(&request) {
        Ok(plan) => Ok(shown(&asked.id, &request, &plan, asked.unit)),
        Err(problem) => Err(problems(&problem, unit)),
    }
}

fn problems(problem: &CutProblem, unit: LengthUnit) -> Vec<Problem> {
    let right = problem.right().to_owned();
    let at = |place: String, what: String| Problem { place, what, right: right.clone() };
    match problem {
        CutProblem::TooLong { pieces } => {
            pieces.iter().map(|piece| at(format!("pieces[{}].length", piece.place), piece.sentence(unit))).collect()
        }
        CutProblem::Unusable { place, what, .. } => vec![at(place.clone(), what.clone())],
        CutProblem::TooLittle | CutProblem::NoneFound => vec![at("stock".to_owned(), problem.to_string())],
        CutProblem::Miscounted(_) => vec![at("request".to_owned(), problem.to_string())],
    }
}

impl Asked {
    fn request(&self) -> Request {
        let house = Request::of_house(&Settings::defaults(self.unit));
        let or = |typed: &Option<Typed>, default: Length| typed.as_ref().map_or(default, Typed::value);
        Request {
            kerf: or(&self.kerf, house.kerf),
            trim: or(&self.trim, house.trim),
            smallest_offcut: or(&self.smallest_offcut, house.smallest_offcut),
            stock: self
                .stock
                .iter()
                .map(|s| Stock { length: s.length.value(), cents: s.price.as_ref().map(|p| p.0), count: s.count })
                .collect(),
            on_hand: self.on_hand.iter().map(|o| OnHand { length: o.length.value(), count: o.count }).collect(),
            pieces: self
                .pieces
                .iter()
                .map(|p| Piece { name: p.name.clone(), length: p.length.value(), count: p.count })
                .collect(),
            cheapest_first: self
                .cheapest_first
                .unwrap_or_else(|| Settings::defaults(self.unit).cheapest_sticks_first != 0),
            steps: self.steps.unwrap_or(Request::USUAL_STEPS),
        }
    }
}

fn shown(id: &Value, request: &Request, plan: &Plan, unit: LengthUnit) -> Value {
    let sticks: Vec<Value> = plan
        .sticks
        .iter()
        .map(|stick| {
            let cuts: Vec<Value> = stick
                .cuts
                .iter()
                .map(|cut| json!({"length": cut.length.show(unit), "name": request.pieces[cut.piece].name}))
                .collect();
            json!({
                "from": if matches!(stick.source, Source::Stock(_)) { "stock" } else { "on hand" },
                "length": stick.length.show(unit),
                "cuts": cuts,
                "sawn": stick.sawn.show(unit),
                "offcut": stick.offcut.show(unit),
                "keep": stick.keep,
            })
        })
        .collect();
    let buy: Vec<Value> = request
        .stock
        .iter()
        .enumerate()
        .filter_map(|(place, stock)| {
            let count = plan.sticks.iter().filter(|s| s.source == Source::Stock(place)).count();
            let mut row = json!({"length": stock.length.show(unit), "count": count});
            if let Some(cents) = stock.cents {
                row["cost"] = price(cents * count as u64).into();
            }
            (count > 0).then_some(row)
        })
        .collect();
    let mut answer = json!({
        "id": id,
        "unit": unit,
        "bought": plan.bought,
        "bought_at_least": plan.bought_at_least,
        "too_many_at_most": plan.too_many_at_most(),
        "proven": plan.is_proven(),
    });
    let (name, total, at_least) = match plan.spend {
        Spend::Cents { total, at_least } => ("cost", price(total), price(at_least)),
        Spend::Bought { total, at_least } => ("length_bought", total.show(unit), at_least.show(unit)),
    };
    answer[name] = total.into();
    answer[format!("{name}_at_least")] = at_least.into();
    answer["longest_offcut"] = plan.longest_offcut.show(unit).into();
    answer["longest_offcut_at_most"] = plan.longest_offcut_at_most.show(unit).into();
    answer["kerf"] = request.kerf.show(unit).into();
    answer["buy"] = buy.into();
    answer["sticks"] = sticks.into();
    answer
}

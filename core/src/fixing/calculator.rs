//! `screw` and `beam` as calculators: one line of JSON in, one out.
//!
//! A line that cannot be used is answered with where it went wrong, what was found and what would be right. Houses in
//! inches or feet reckon in inches and pounds-force, the others in millimetres and newtons.

use super::NEWTONS;
use super::beam::{Beam, BeamProblem, Load};
use super::screw::{
    Joined, LEAST_DIAMETERS, STEEL_BEARING, Split, allowed_across, inches, lead_hole, thread, through_hole,
    ultimate_withdrawal, withdrawal, wood_bearing,
};
use crate::length::{Length, LengthUnit, NM_PER_MM, Typed};
use crate::mount::calculator::answer_with;
use crate::mount::{Catalogue, Species};
use crate::settings::{Changes, Settings, nearest};
use serde::Deserialize;
use serde_json::{Value, json};

/// Square millimetres to a pound-force a square inch, in newtons: psi to MPa.
const MPA_PER_PSI: f64 = NEWTONS / (25.4 * 25.4);

type Refusal = [String; 3];

fn refuse(path: &str, what: impl Into<String>, right: impl Into<String>) -> Refusal {
    [path.to_owned(), what.into(), right.into()]
}

/// The units of a line's forces and estimates.
#[derive(Clone, Copy)]
struct Forces {
    imperial: bool,
}

impl Forces {
    const fn of(unit: LengthUnit) -> Self {
        Self { imperial: unit.is_imperial() }
    }

    /// A length in the unit that is reckoned in.
    #[allow(clippy::cast_precision_loss, reason = "lengths read are under 2^53 nm")]
    fn length(self, length: Length) -> f64 {
        if self.imperial { inches(length) } else { length.nm() as f64 / NM_PER_MM as f64 }
    }

    /// Pounds-force in the unit of force.
    fn force(self, lbf: f64) -> f64 {
        if self.imperial { lbf } else { lbf * NEWTONS }
    }

    const fn force_name(self) -> &'static str {
        if self.imperial { "lbf" } else { "N" }
    }

    const fn length_name(self) -> &'static str {
        if self.imperial { "in" } else { "mm" }
    }

    /// A modulus in million pounds per square inch, or in gigapascals, in force over square length.
    fn modulus(self, value: f64) -> f64 {
        if self.imperial { value * 1e6 } else { value * 1e3 }
    }
}

fn settings(changes: &Changes, unit: LengthUnit) -> Result<Settings, Refusal> {
    Settings::with(unit, changes)
        .map_err(|problem| refuse("settings", problem.to_string(), "use a setting's name and form"))
}

fn wood<'a>(catalogue: &'a Catalogue, path: &str, name: &str) -> Result<&'a Species, Refusal> {
    catalogue.species(name).ok_or_else(|| {
        let known: Vec<&str> = catalogue.species.iter().map(|species| species.name.as_str()).collect();
        refuse(
            path,
            format!("there is no wood \"{name}\""),
            format!("the nearest is \"{}\"; known: {}", nearest(name, &known), known.join(", ")),
        )
    })
}

/// Six significant digits: more would only look exact.
fn six(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    #[allow(clippy::cast_possible_truncation, reason = "the logarithm of a float is a small number")]
    let digits = 5 - value.abs().log10().floor() as i32;
    let scale = 10_f64.powi(digits.abs());
    if digits >= 0 { (value * scale).round() / scale } else { (value / scale).round() * scale }
}

// ---- screw ----

/// What a screw's line may carry.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ScrewAsked {
    #[serde(default, rename = "id")]
    _id: Value,
    #[serde(rename = "unit")]
    _unit: LengthUnit,
    /// By its name in the catalogue.
    screw: String,
    length: Typed,
    /// The thickness under its head that it only passes.
    #[serde(default)]
    passes: Option<Typed>,
    /// The part of that which holds nothing: plasterboard, packing, air.
    #[serde(default)]
    gap: Option<Typed>,
    /// The wood that holds it.
    #[serde(default)]
    wood: Option<String>,
    /// Its specific gravity, where it is none of the catalogue's.
    #[serde(default)]
    gravity: Option<f64>,
    #[serde(default)]
    hardwood: bool,
    #[serde(default)]
    grain: GrainSide,
    /// The thickness of that wood, where the point could come through.
    #[serde(default)]
    wood_thickness: Option<Typed>,
    /// What is under the head: wood, or a leaf of steel.
    #[serde(default)]
    under_head: UnderHead,
    /// To the nearest end and edge of what splits.
    #[serde(default)]
    end: Option<Typed>,
    #[serde(default)]
    edge: Option<Typed>,
    /// Loads on it: straight out, and across.
    #[serde(default)]
    pull: f64,
    #[serde(default)]
    across: f64,
    #[serde(default)]
    settings: Changes,
}

#[derive(Clone, Copy, PartialEq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
enum GrainSide {
    #[default]
    Side,
    End,
}

#[derive(Clone, Copy, PartialEq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
enum UnderHead {
    #[default]
    Wood,
    Steel,
}

const SCREW_FORM: &str =
    r#"a line is {"unit":"in","screw":"No. 8","length":"2","passes":"3/4","wood":"Douglas fir-larch"}"#;

/// Works one screw: `{"id":"a","unit":"in","screw":"No. 10","length":"2","passes":"3/4","wood":"Douglas fir-larch"}`.
/// Besides: `gravity` and `hardwood` in place of `wood`; `grain` `"side"` or `"end"`; `wood_thickness` where the point
/// could come through; `gap`, the part of `passes` that holds nothing; `under_head` `"wood"` or `"steel"`; `end` and `edge`, its distances; `pull` and `across`, the
/// loads on it (pounds-force, or newtons in a metric unit); `settings`.
///
/// Always one line of JSON, without its newline.
///
/// ```
/// let line = r#"{"unit":"in","screw":"No. 10","length":"2","passes":"3/4","wood":"Douglas fir-larch"}"#;
/// let answer = hangtrue_core::fixing::calculator::screw(line, 1);
/// // NDS Table 12.2B: 135 lb an inch; 1 1/4 in of thread in the wood.
/// assert!(answer.contains(r#""withdrawal_per_length":135.375"#), "{answer}");
/// assert!(answer.contains(r#""thread":"1 1/4""#), "{answer}");
/// ```
pub fn screw(text: &str, line: usize) -> String {
    answer_with(text, line, SCREW_FORM, |asked: ScrewAsked, unit| work_screw(&asked, unit))
}

fn work_screw(asked: &ScrewAsked, unit: LengthUnit) -> Result<Value, Refusal> {
    let settings = settings(&asked.settings, unit)?;
    let catalogue = Catalogue::standard(unit);
    let forces = Forces::of(unit);
    let screw = catalogue.screw(&asked.screw).ok_or_else(|| {
        let known: Vec<&str> = catalogue.screws.iter().map(|screw| screw.name.as_str()).collect();
        refuse("screw", format!("there is no screw \"{}\"", asked.screw), format!("one of: {}", known.join(", ")))
    })?;
    let own;
    let wood = match (&asked.wood, asked.gravity) {
        (Some(name), None) => wood(catalogue, "wood", name)?,
        (None, None) => catalogue.framing(),
        (None, Some(gravity)) => {
            own = Species {
                name: format!("wood of specific gravity {gravity}"),
                gravity,
                elasticity_mpsi: None,
                hardwood: asked.hardwood,
            };
            &own
        }
        (Some(_), Some(_)) => {
            return Err(refuse("gravity", "both a wood and a gravity are given", "give one of the two"));
        }
    };
    for (path, load) in [("pull", asked.pull), ("across", asked.across)] {
        if !load.is_finite() || load < 0.0 {
            return Err(refuse(path, format!("a load of {load} is no load"), "a number of 0 or more"));
        }
    }
    let measure = |path: &str, typed: &Option<Typed>| match typed {
        Some(typed) if typed.value().is_negative() => {
            Err(refuse(path, "this cannot be negative", "leave out the minus sign"))
        }
        Some(typed) => Ok(Some(typed.value())),
        None => Ok(None),
    };
    let length = asked.length.value();
    if length <= Length::ZERO {
        return Err(refuse("length", "a screw has some length", "such as \"2\""));
    }
    let passes = measure("passes", &asked.passes)?.unwrap_or_default();
    let thickness = measure("wood_thickness", &asked.wood_thickness)?;
    let gap = measure("gap", &asked.gap)?.unwrap_or_default();
    if gap > passes {
        return Err(refuse(
            "gap",
            format!(
                "a gap of {} is more than the {} that the screw passes",
                gap.show_marked(unit),
                passes.show_marked(unit)
            ),
            "the gap is the part of \"passes\" that holds nothing",
        ));
    }
    let (end, edge) = (measure("end", &asked.end)?, measure("edge", &asked.edge)?);
    let bites = (length - passes).max(Length::ZERO);
    // What stands out at the far side holds nothing.
    let held = thickness.map_or(bites, |thickness| bites.min(thickness));
    let in_wood = thread(screw, length).min(bites) - (bites - held);
    let in_wood = in_wood.max(Length::ZERO);
    let diameter = inches(screw.diameter);
    let per_inch = match asked.grain {
        GrainSide::End => 0.0,
        GrainSide::Side => withdrawal(wood.gravity, diameter).map_err(|problem| {
            let path = if asked.gravity.is_some() { "gravity" } else { "screw" };
            let said = problem.to_string();
            let (what, right) = said.split_once("; ").unwrap_or((&said, "see the table"));
            refuse(path, what, right)
        })?,
    };
    let pull = per_inch * inches(in_wood);
    let deep_enough = inches(held) / diameter >= LEAST_DIAMETERS - 1e-9;
    let across = if held > Length::ZERO && passes > gap {
        let side_bearing = match asked.under_head {
            UnderHead::Steel => STEEL_BEARING,
            UnderHead::Wood => wood_bearing(catalogue.board_wood().gravity),
        };
        let joined = Joined {
            main: inches(held),
            main_bearing: wood_bearing(wood.gravity),
            side: inches(passes - gap),
            side_bearing,
            gap: inches(gap),
        };
        Some(allowed_across(diameter, inches(screw.root), joined))
    } else {
        None
    };
    #[allow(clippy::cast_precision_loss, reason = "percentages are small numbers")]
    let durations = [
        ("normal", 1.0),
        ("permanent", settings.withdrawal_permanent_percent as f64 / 100.0),
        ("while_pulled", settings.withdrawal_pull_percent as f64 / 100.0),
    ];
    let by_duration = |value: f64| {
        let parts = durations.map(|(name, factor)| (name.to_owned(), json!(six(forces.force(value * factor)))));
        Value::Object(parts.into_iter().collect())
    };
    let left = thickness.map(|thickness| thickness - bites);
    let stays_in = left.map(|left| left >= settings.poke_through);
    let split = end.zip(edge).map(|(end, edge)| Split::of(screw, end, edge, &settings));
    let part = |load: f64, allowed: f64| match (load > 0.0, allowed > 0.0) {
        (false, _) => Some(0.0),
        (true, true) => Some(load / allowed),
        (true, false) => None,
    };
    // Loads on it are judged as lasting ones.
    let lasting = durations[1].1;
    let used = part(asked.pull, forces.force(pull * lasting))
        .zip(part(asked.across, forces.force(across.unwrap_or(0.0) * lasting)))
        .map(|(out, aside)| out + aside);
    let holds = used.is_some_and(|used| used <= 1.0)
        && stays_in != Some(false)
        && split.is_none_or(|split| split.holds())
        && held > Length::ZERO
        // Thin wood may take no more of a screw that only keeps two things together.
        && (deep_enough || (thickness.is_some() && asked.across <= 0.0));
    let mut assumed = vec![format!("{}, specific gravity {}", wood.name, wood.gravity)];
    if asked.grain == GrainSide::End {
        assumed.push("in end grain no withdrawal is allowed (NDS 12.2.2.3)".to_owned());
    }
    if !deep_enough {
        assumed.push(format!(
            "it goes in less than {LEAST_DIAMETERS} diameters ({}), so nothing is allowed across it (NDS 12.1.5.6, from memory)",
            (screw.diameter * 6).show_marked(unit)
        ));
    }
    if gap > Length::ZERO {
        assumed.push(format!("{} of what it passes holds nothing", gap.show_marked(unit)));
    }
    assumed.push("the lead hole is drilled, and the load is the wood's only, not the wall's".to_owned());
    Ok(json!({
        "screw": screw.name,
        "diameter": screw.diameter.show(unit),
        "root": screw.root.show(unit),
        "bites": held.show(unit),
        "thread": in_wood.show(unit),
        "force": forces.force_name(),
        "withdrawal_per_length": six(forces.force(per_inch) / if forces.imperial { 1.0 } else { 25.4 }),
        "pull_allowed": by_duration(pull),
        "pull_ultimate": six(forces.force(match asked.grain {
            GrainSide::End => 0.0,
            GrainSide::Side => ultimate_withdrawal(wood.gravity, diameter, inches(in_wood)),
        })),
        "across_allowed": across.map(by_duration),
        "used": used.map(six),
        "lead_hole": lead_hole(screw, wood, &settings, unit).show(unit),
        "through_hole": through_hole(screw, unit).show(unit),
        "left_before_point": left.map(|left| left.show(unit)),
        "stays_in": stays_in,
        "splits": split.map(|split| json!({
            "end": split.end.show(unit),
            "end_needs": split.end_needs.show(unit),
            "edge": split.edge.show(unit),
            "edge_needs": split.edge_needs.show(unit),
            "splits": !split.holds(),
        })),
        "holds": holds,
        "assumed": assumed,
        "sources": [
            "pull: NDS 2018 eq. 12.2-2, 2850 G^2 D an inch of thread (second-hand)",
            "ultimate: Wood Handbook FPL-GTR-282 ch. 8, 15,700 G^2 D L (second-hand)",
            "across: NDS 2018 Table 12.3.1A and 12.1.5.6, p / 10 D from 6 to 10 diameters (from memory)",
            "across a gap: general dowel equations, American Wood Council TR-12 (from memory)",
            "load duration: NDS Table 2.3.2 (second-hand)",
            "lead hole: Wood Handbook ch. 8 (from memory)",
        ],
    }))
}

// ---- beam ----

/// What a beam's line may carry.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BeamAsked {
    #[serde(default, rename = "id")]
    _id: Value,
    #[serde(rename = "unit")]
    _unit: LengthUnit,
    length: Typed,
    supports: Vec<Typed>,
    #[serde(default)]
    loads: Vec<LoadAsked>,
    /// The section's size up and across.
    #[serde(default)]
    height: Option<Typed>,
    #[serde(default)]
    across: Option<Typed>,
    #[serde(default)]
    wood: Option<String>,
    /// Million pounds per square inch, or gigapascals.
    #[serde(default)]
    elasticity: Option<f64>,
    /// Modulus times second moment of area, in place of all four.
    #[serde(default)]
    stiffness: Option<f64>,
    #[serde(default)]
    limit: Option<Typed>,
    #[serde(default)]
    settings: Changes,
}

/// A load: a force at a place, or so much a unit of length from one place to another.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LoadAsked {
    #[serde(default)]
    force: Option<f64>,
    #[serde(default)]
    at: Option<Typed>,
    #[serde(default)]
    per_length: Option<f64>,
    #[serde(default)]
    from: Option<Typed>,
    #[serde(default)]
    to: Option<Typed>,
}

const BEAM_FORM: &str = r#"a line is {"unit":"in","length":"36","supports":["3","33"],"height":"3/4","across":"1 1/2","wood":"eastern white pine","loads":[{"per_length":0.1}]}"#;

/// Works one beam on any number of supports: `{"unit":"in","length":"36","supports":["3","33"],"height":"3/4",
/// "across":"1 1/2","wood":"eastern white pine","loads":[{"per_length":0.1},{"force":10,"at":"30"}]}`. Besides:
/// `elasticity` in place of `wood` (million pounds per square inch, or gigapascals in a metric unit); `stiffness`
/// (modulus times second moment of area) in place of the section and both; a load's `from` and `to`; `limit`; `settings`.
///
/// Always one line of JSON, without its newline. Sagging moments are positive, reactions upwards, deflections
/// downwards.
///
/// ```
/// let line = r#"{"unit":"mm","length":"4 m","supports":["0","4 m"],"height":"200","across":"50","elasticity":11,
///                "loads":[{"per_length":2.5}]}"#;
/// let answer = hangtrue_core::fixing::calculator::beam(line, 1);
/// // A timber deflection page prints 22.73 mm.
/// assert!(answer.contains(r#""deflection":{"value":22.7273,"at":2000.0}"#), "{answer}");
/// ```
pub fn beam(text: &str, line: usize) -> String {
    answer_with(text, line, BEAM_FORM, |asked: BeamAsked, unit| work_beam(&asked, unit))
}

fn work_beam(asked: &BeamAsked, unit: LengthUnit) -> Result<Value, Refusal> {
    let settings = settings(&asked.settings, unit)?;
    let forces = Forces::of(unit);
    let number = |path: &str, value: f64| {
        if value.is_finite() && value > 0.0 {
            Ok(value)
        } else {
            Err(refuse(path, format!("{value} is not above zero"), "a number above zero"))
        }
    };
    let section = |path: &str, typed: &Option<Typed>| match typed {
        Some(typed) => number(path, forces.length(typed.value())),
        None => Err(refuse(path, "the section is not known", "give \"height\" and \"across\", or \"stiffness\"")),
    };
    let stiffness = if let Some(stiffness) = asked.stiffness {
        if asked.height.is_some() || asked.across.is_some() || asked.wood.is_some() || asked.elasticity.is_some() {
            let right = "give the stiffness, or the section and its elasticity";
            return Err(refuse("stiffness", "the stiffness is given twice", right));
        }
        number("stiffness", stiffness)?
    } else {
        let (up, across) = (section("height", &asked.height)?, section("across", &asked.across)?);
        let modulus = match (&asked.wood, asked.elasticity) {
            (None, Some(value)) => forces.modulus(number("elasticity", value)?),
            (Some(name), None) => {
                let found = wood(Catalogue::standard(unit), "wood", name)?;
                let mpsi = found.elasticity_mpsi.ok_or_else(|| {
                    let what = format!("the stiffness of {} is not in the catalogue", found.name);
                    refuse("wood", what, "give \"elasticity\" in its place")
                })?;
                if forces.imperial { mpsi * 1e6 } else { mpsi * 1e6 * MPA_PER_PSI }
            }
            (None, None) => {
                return Err(refuse("wood", "the stiffness is not known", "name a wood, or give \"elasticity\""));
            }
            (Some(_), Some(_)) => {
                return Err(refuse("elasticity", "both a wood and an elasticity are given", "give one of the two"));
            }
        };
        modulus * across * up.powi(3) / 12.0
    };
    let length = forces.length(asked.length.value());
    let loads = asked
        .loads
        .iter()
        .enumerate()
        .map(|(i, load)| {
            let place = |typed: &Typed| forces.length(typed.value());
            match load {
                LoadAsked { force: Some(force), at: Some(at), per_length: None, from: None, to: None } => {
                    Ok(Load::Point { at: place(at), force: *force })
                }
                LoadAsked { force: None, at: None, per_length: Some(per_length), from, to } => Ok(Load::Spread {
                    from: from.as_ref().map_or(0.0, place),
                    to: to.as_ref().map_or(length, place),
                    per_length: *per_length,
                }),
                _ => Err(refuse(
                    &format!("loads[{i}]"),
                    "this is neither a force at a place nor a load along a length",
                    "{\"force\":10,\"at\":\"30\"} or {\"per_length\":0.1,\"from\":\"0\",\"to\":\"36\"}",
                )),
            }
        })
        .collect::<Result<Vec<_>, _>>()?;
    let supports = asked.supports.iter().map(|support| forces.length(support.value())).collect();
    let bent = Beam { length, supports, loads, stiffness }.bend().map_err(|problem| {
        let right = "supports in rising order and loads, all on the beam";
        match &problem {
            BeamProblem::NotPositive(name) => refuse(name, problem.to_string(), "a length above zero"),
            BeamProblem::Supports(_) => refuse("supports", problem.to_string(), right),
            BeamProblem::SupportOrder(i) => refuse(&format!("supports[{}]", i - 1), problem.to_string(), right),
            BeamProblem::Load(i) => refuse(&format!("loads[{}]", i - 1), problem.to_string(), right),
        }
    })?;
    let limit = asked.limit.as_ref().map_or(settings.sag_limit, Typed::value);
    let peak = |peak: super::beam::Peak| json!({"value": six(peak.value), "at": six(peak.at)});
    let spans: Vec<Value> = bent
        .spans
        .iter()
        .map(|span| json!({"moment": peak(span.moment), "deflection": peak(span.deflection)}))
        .collect();
    Ok(json!({
        "force": forces.force_name(),
        "length": forces.length_name(),
        "reactions": bent.reactions.iter().map(|value| six(*value)).collect::<Vec<_>>(),
        "moments_at_supports": bent.moments.iter().map(|value| six(*value)).collect::<Vec<_>>(),
        "spans": spans,
        "moment": peak(bent.moment),
        "deflection": peak(bent.deflection),
        "limit": limit.show(unit),
        "holds": bent.deflection.value.abs() <= forces.length(limit),
        "assumed": ["supports do not sink", "the section is the same all along", "shear's share of the deflection is left out"],
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(answer: &str) -> Value {
        serde_json::from_str(answer).unwrap()
    }

    #[test]
    fn a_screw_through_a_board_is_worked_and_its_point_watched() {
        let line = r#"{"id":7,"unit":"in","screw":"No. 8","length":"3/4","passes":"1/16","wood":"eastern white pine","wood_thickness":"3/4","under_head":"steel","end":"3","edge":"3/4"}"#;
        let found = said(&screw(line, 1));
        assert_eq!(found["id"], 7);
        assert_eq!(found["left_before_point"], "1/16");
        assert_eq!((&found["stays_in"], &found["holds"]), (&json!(true), &json!(true)));
        assert_eq!(found["lead_hole"], "5/64");
        // One size longer comes through, and near the end it splits.
        let long = said(&screw(&line.replace("\"3/4\",\"passes\"", "\"1\",\"passes\""), 1));
        assert_eq!((&long["stays_in"], &long["holds"]), (&json!(false), &json!(false)));
        let near = said(&screw(&line.replace("\"end\":\"3\"", "\"end\":\"1\""), 1));
        assert_eq!((&near["splits"]["splits"], &near["holds"]), (&json!(true), &json!(false)));
        // In end grain nothing is allowed (NDS 12.2.2.3).
        let end = said(&screw(&line.replace("\"end\":\"3\"", "\"grain\":\"end\",\"pull\":1,\"end\":\"3\""), 1));
        assert_eq!((&end["pull_allowed"]["normal"], &end["holds"]), (&json!(0.0), &json!(false)));
    }

    #[test]
    fn metric_screws_answer_in_newtons() {
        let line = r#"{"unit":"mm","screw":"5.0","length":"50","passes":"19","wood":"Douglas fir-larch"}"#;
        let found = said(&screw(line, 1));
        // 2850 x 0.5^2 x 5/25.4 lb an inch = 140.256 lb an inch = 24.5626 N a millimetre.
        assert!((found["withdrawal_per_length"].as_f64().unwrap() - 24.5626).abs() < 1e-3, "{found}");
        assert_eq!((&found["force"], &found["thread"]), (&json!("N"), &json!("30")));
    }

    #[test]
    fn what_cannot_be_used_is_answered_with_where_what_and_right() {
        let good = r#"{"unit":"in","screw":"No. 8","length":"2","passes":"3/4"}"#;
        for (from, to, place, what) in [
            ("No. 8", "No. 9", "line 4, screw", "no screw"),
            ("\"2\"", "\"2 1/3\"", "line 4, length", "not on a tape"),
            ("\"2\"", "\"0\"", "line 4, length", "some length"),
            ("\"3/4\"", "\"-3/4\"", "line 4, passes", "negative"),
            ("\"passes\"", "\"wood\":\"oak\",\"passes\"", "line 4, wood", "no wood \"oak\""),
            ("\"passes\"", "\"gravity\":0.9,\"passes\"", "line 4, gravity", "0.9 is outside"),
            ("\"passes\"", "\"pull\":-1,\"passes\"", "line 4, pull", "no load"),
            ("\"passes\"", "\"colour\":1,\"passes\"", "line 4, colour", "no field"),
            ("\"unit\":\"in\",", "", "line 4, unit", "missing"),
            ("\"3/4\"}", "\"3/4\"", "line 4", "not JSON"),
        ] {
            assert!(good.contains(from));
            let found = said(&screw(&good.replacen(from, to, 1), 4));
            assert_eq!(found["error"]["where"], place, "{from} -> {to}: {found}");
            assert!(found["error"]["what"].as_str().unwrap().contains(what), "{from} -> {to}: {found}");
            assert!(!found["error"]["right"].as_str().unwrap().is_empty(), "{found}");
        }
        let good = r#"{"unit":"in","length":"36","supports":["3","33"],"stiffness":1000,"loads":[{"per_length":0.1}]}"#;
        for (from, to, place, what) in [
            ("\"3\",", "", "line 4, supports", "at least two"),
            ("\"33\"", "\"37\"", "line 4, supports[1]", "off the beam"),
            ("0.1}", "0.1,\"at\":\"3\"}", "line 4, loads[0]", "neither"),
            ("0.1}", "0.1,\"to\":\"40\"}", "line 4, loads[0]", "off the beam"),
            ("1000", "-1000", "line 4, stiffness", "above zero"),
            ("1000", "1000,\"wood\":\"red pine\"", "line 4, stiffness", "twice"),
            ("\"stiffness\":1000", "\"wood\":\"red pine\"", "line 4, height", "section"),
            (
                "\"stiffness\":1000",
                "\"wood\":\"red oak\",\"height\":\"1\",\"across\":\"1\"",
                "line 4, wood",
                "not in the catalogue",
            ),
        ] {
            assert!(good.contains(from));
            let found = said(&beam(&good.replacen(from, to, 1), 4));
            assert_eq!(found["error"]["where"], place, "{from} -> {to}: {found}");
            assert!(found["error"]["what"].as_str().unwrap().contains(what), "{from} -> {to}: {found}");
        }
    }
}

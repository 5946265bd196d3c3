//! Hardware as it is bought: screws, brackets, anchors and lifts, in the catalogue and of a workroom's own.

use super::{Backing, Lift};
use crate::length::{Length, NEWTONS_PER_LBF};
use serde::{Deserialize, Serialize};

/// What a workroom has of its own, laid over the built-in catalogue for one house: a thing of a known name takes its
/// place, any other stands before the built-in ones.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Hardware {
    /// Its screws.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub screws: Vec<Screw>,
    /// Its brackets.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub brackets: Vec<Bracket>,
    /// Its anchors.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub anchors: Vec<Anchor>,
    /// Its lifts.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lifts: Vec<LiftKind>,
    /// The screw that every board is fixed with, by name; each board's own when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub board_screw: Option<String>,
}

impl Hardware {
    /// Lays another's under this: what has a name that stands here already is left out.
    pub(super) fn lay_under(&mut self, below: Self) {
        fn under<T>(own: &mut Vec<T>, below: Vec<T>, name: impl Fn(&T) -> &str) {
            for item in below {
                if own.iter().all(|other| name(other) != name(&item)) {
                    own.push(item);
                }
            }
        }
        under(&mut self.screws, below.screws, |one| &one.name);
        under(&mut self.brackets, below.brackets, |one| &one.name);
        under(&mut self.anchors, below.anchors, |one| &one.name);
        under(&mut self.lifts, below.lifts, |one| &one.name);
        self.board_screw = self.board_screw.take().or(below.board_screw);
    }
}

/// An L bracket: the leg stands on the wall, the arm carries the board.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bracket {
    /// The name openings choose it by.
    pub name: String,
    /// Height of the leg, from its foot to the top of the arm.
    pub leg: Length,
    /// Reach of the arm from the wall.
    pub arm: Length,
    /// Width, along the wall.
    pub across: Length,
    /// Thickness of its metal.
    pub leaf: Length,
    /// Holes in the leg, up from its foot.
    pub wall_holes: Vec<Length>,
    /// Holes in the arm, out from the wall.
    pub board_holes: Vec<Length>,
    /// The screw that fits its holes, by name.
    pub screw: String,
}

/// A wood screw of one gauge and the lengths it is sold in.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Screw {
    /// What it is asked for by: `No. 8`, `4.5`.
    pub name: String,
    /// Nominal diameter.
    pub diameter: Length,
    /// Diameter at the root of the thread.
    pub root: Length,
    /// Diameter of the head.
    pub head: Length,
    /// Threaded part of its length, in percent (NDS Table L3: about two thirds).
    pub thread_percent: i64,
    /// Lengths it is sold in, shortest first.
    pub lengths: Vec<Length>,
}

/// An anchor for where there is no wood.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(try_from = "AnchorForm", into = "AnchorForm")]
pub struct Anchor {
    /// What it is asked for by.
    pub name: String,
    /// What it holds in.
    pub backing: Backing,
    /// The ultimate pull straight out that its seller states, pounds-force.
    pub pull_lbf: f64,
    /// The ultimate load across it that its seller states, pounds-force.
    pub shear_lbf: f64,
    /// The hole it wants.
    pub hole: Length,
    /// The screw it takes, which is bought with it; nothing where the catalogue does not say.
    pub screw: Option<AnchorScrew>,
}

/// The screw that an anchor takes.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnchorScrew {
    /// What it is asked for by: `No. 8`, `machine screw 8-32`.
    pub name: String,
    /// Its diameter: the hole in what is hung is no smaller.
    pub diameter: Length,
    /// How far it goes past the face of the wall at least, so that the anchor takes hold.
    pub into: Length,
    /// Lengths it is sold in, shortest first.
    pub lengths: Vec<Length>,
}

/// An anchor as its file has it: loads in pounds-force, or in newtons.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct AnchorForm {
    name: String,
    backing: Backing,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pull_lbf: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    shear_lbf: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pull_n: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    shear_n: Option<f64>,
    hole: Length,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    screw: Option<AnchorScrew>,
}

impl TryFrom<AnchorForm> for Anchor {
    type Error = String;
    fn try_from(form: AnchorForm) -> Result<Self, String> {
        let AnchorForm { name, backing, pull_lbf, shear_lbf, pull_n, shear_n, hole, screw } = form;
        Ok(Self {
            pull_lbf: one_of(("pull_lbf", pull_lbf), ("pull_n", pull_n), NEWTONS_PER_LBF)?,
            shear_lbf: one_of(("shear_lbf", shear_lbf), ("shear_n", shear_n), NEWTONS_PER_LBF)?,
            name,
            backing,
            hole,
            screw,
        })
    }
}

impl From<Anchor> for AnchorForm {
    fn from(anchor: Anchor) -> Self {
        let Anchor { name, backing, pull_lbf, shear_lbf, hole, screw } = anchor;
        let (pull_lbf, pull_n) = as_given(pull_lbf, NEWTONS_PER_LBF);
        let (shear_lbf, shear_n) = as_given(shear_lbf, NEWTONS_PER_LBF);
        Self { name, backing, pull_lbf, shear_lbf, pull_n, shear_n, hole, screw }
    }
}

/// A lift that is sold.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(try_from = "LiftForm", into = "LiftForm")]
pub struct LiftKind {
    /// What it is asked for by.
    pub name: String,
    /// How it lifts.
    pub lift: Lift,
    /// The most it lifts, pounds-force, as its seller states.
    pub lifts_lbf: f64,
    /// The narrowest shade it goes on, where there is a limit.
    pub narrowest: Option<Length>,
    /// The widest shade it goes on, where there is a limit.
    pub widest: Option<Length>,
    /// The longest shade it raises, where there is a limit: what its spring or its cords' drums take.
    pub longest: Option<Length>,
}

/// A lift as its file has it: its load in pounds-force, or in kilograms.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct LiftForm {
    name: String,
    lift: Lift,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lifts_lbf: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lifts_kg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    narrowest: Option<Length>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    widest: Option<Length>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    longest: Option<Length>,
}

impl TryFrom<LiftForm> for LiftKind {
    type Error = String;
    fn try_from(form: LiftForm) -> Result<Self, String> {
        let LiftForm { name, lift, lifts_lbf, lifts_kg, narrowest, widest, longest } = form;
        let lifts_lbf = one_of(("lifts_lbf", lifts_lbf), ("lifts_kg", lifts_kg), KG_PER_LB)?;
        Ok(Self { name, lift, lifts_lbf, narrowest, widest, longest })
    }
}

impl From<LiftKind> for LiftForm {
    fn from(kind: LiftKind) -> Self {
        let LiftKind { name, lift, lifts_lbf, narrowest, widest, longest } = kind;
        let (lifts_lbf, lifts_kg) = as_given(lifts_lbf, KG_PER_LB);
        Self { name, lift, lifts_lbf, lifts_kg, narrowest, widest, longest }
    }
}

/// Kilograms in a pound: 0.45359237 exactly. A kilogram weighs one kilogram-force.
const KG_PER_LB: f64 = 0.453_592_37;

/// A load in the unit it was given in, pounds-force or metric, so that it reads back as the same number.
fn as_given(lbf: f64, metric_per_lbf: f64) -> (Option<f64>, Option<f64>) {
    let metric = (lbf * metric_per_lbf * 1000.0).round() / 1000.0;
    #[allow(clippy::float_cmp, reason = "the same division of the same number is meant")]
    let given = metric / metric_per_lbf == lbf;
    if given { (None, Some(metric)) } else { (Some(lbf), None) }
}

/// A load that is given in pounds-force or in a metric unit, of which one pound-force is `metric_per_lbf`.
fn one_of(lbf: (&str, Option<f64>), metric: (&str, Option<f64>), metric_per_lbf: f64) -> Result<f64, String> {
    match (lbf.1, metric.1) {
        (Some(value), None) => Ok(value),
        (None, Some(value)) => Ok(value / metric_per_lbf),
        (None, None) => Err(format!("missing field `{}`", lbf.0)),
        (Some(_), Some(_)) => Err(format!("\"{}\" and \"{}\" are both given; give one of the two", lbf.0, metric.0)),
    }
}

/// What is wrong with a thing of the catalogue: the field within it, what, and what would be right.
pub(crate) type Wrong = (String, String, &'static str);

fn positive(path: &str, sizes: &[Length]) -> Result<(), Wrong> {
    if sizes.iter().all(|size| *size > Length::ZERO) {
        Ok(())
    } else {
        Err((path.to_owned(), "a size is not above zero".to_owned(), "every size is above zero"))
    }
}

fn sold_in(path: &str, lengths: &[Length]) -> Result<(), Wrong> {
    positive(path, lengths)?;
    if lengths.is_empty() || !lengths.is_sorted() {
        let what = "the lengths are missing or out of order".to_owned();
        return Err((path.to_owned(), what, "give at least one length, shortest first"));
    }
    Ok(())
}

impl Screw {
    pub(crate) fn check(&self) -> Result<(), Wrong> {
        positive("", &[self.diameter, self.root, self.head])?;
        sold_in(".lengths", &self.lengths)?;
        if self.root > self.diameter {
            let what = "the root is thicker than the screw".to_owned();
            return Err((".root".to_owned(), what, "the root of the thread is thinner than the screw"));
        }
        if !(1..=100).contains(&self.thread_percent) {
            let what = format!("{} percent of its length cannot be thread", self.thread_percent);
            return Err((".thread_percent".to_owned(), what, "a whole number from 1 to 100"));
        }
        Ok(())
    }
}

impl Bracket {
    pub(crate) fn check(&self) -> Result<(), Wrong> {
        positive("", &[self.leg, self.arm, self.across, self.leaf])?;
        positive(".wall_holes", &self.wall_holes)?;
        positive(".board_holes", &self.board_holes)?;
        if self.wall_holes.is_empty() || self.wall_holes.iter().any(|hole| *hole >= self.leg) {
            let what = "a hole of the leg is missing or beyond its end".to_owned();
            return Err((".wall_holes".to_owned(), what, "holes are measured up from the foot of the leg"));
        }
        if self.board_holes.is_empty() || self.board_holes.iter().any(|hole| *hole >= self.arm) {
            let what = "a hole of the arm is missing or beyond its end".to_owned();
            return Err((".board_holes".to_owned(), what, "holes are measured out from the wall"));
        }
        Ok(())
    }
}

impl Anchor {
    pub(crate) fn check(&self) -> Result<(), Wrong> {
        let stated = |load: f64| load.is_finite() && load > 0.0;
        if !(stated(self.pull_lbf) && stated(self.shear_lbf)) {
            let what = "a stated load is not above zero".to_owned();
            return Err((String::new(), what, "the ultimate loads that its seller states"));
        }
        positive(".hole", &[self.hole])?;
        if let Some(screw) = &self.screw {
            positive(".screw", &[screw.diameter, screw.into])?;
            sold_in(".screw.lengths", &screw.lengths)?;
        }
        Ok(())
    }
}

impl LiftKind {
    pub(crate) fn check(&self) -> Result<(), Wrong> {
        if !(self.lifts_lbf.is_finite() && self.lifts_lbf > 0.0) {
            let what = "what it lifts is not above zero".to_owned();
            return Err((String::new(), what, "the most that its seller states it lifts"));
        }
        let limits: Vec<Length> = [self.narrowest, self.widest, self.longest].into_iter().flatten().collect();
        positive("", &limits)?;
        if self.narrowest.zip(self.widest).is_some_and(|(least, most)| least > most) {
            let what = "the narrowest is wider than the widest".to_owned();
            return Err((".narrowest".to_owned(), what, "the narrowest is the smaller of the two"));
        }
        Ok(())
    }
}

impl Hardware {
    pub(crate) fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// What the form alone cannot say. `known` tells the screws of the built-in catalogue by name.
    pub(crate) fn check(&self, known: impl Fn(&str) -> bool) -> Result<(), Wrong> {
        fn each<'a, T: 'a>(
            of: &str,
            items: &'a [T],
            name: impl Fn(&T) -> &str,
            check: impl Fn(&T) -> Result<(), Wrong>,
        ) -> Result<(), Wrong> {
            for (i, item) in items.iter().enumerate() {
                let at = |(path, what, right): Wrong| (format!("{of}[{i}]{path}"), what, right);
                check(item).map_err(at)?;
                if name(item).trim().is_empty() {
                    return Err(at((".name".to_owned(), "the name is empty".to_owned(), "give it a name")));
                }
                if items[..i].iter().any(|other| name(other) == name(item)) {
                    let what = format!("\"{}\" stands twice", name(item));
                    return Err(at((".name".to_owned(), what, "give each its own name")));
                }
            }
            Ok(())
        }
        each("screws", &self.screws, |screw| &screw.name, Screw::check)?;
        each("brackets", &self.brackets, |bracket| &bracket.name, Bracket::check)?;
        each("anchors", &self.anchors, |anchor| &anchor.name, Anchor::check)?;
        each("lifts", &self.lifts, |lift| &lift.name, LiftKind::check)?;
        let there = |name: &str| known(name) || self.screws.iter().any(|screw| screw.name == name);
        let missing = |path: String, name: &str| {
            let right = "name a screw of the catalogue, or one of \"hardware.screws\"";
            Err((path, format!("there is no screw \"{name}\""), right))
        };
        for (i, bracket) in self.brackets.iter().enumerate() {
            if !there(&bracket.screw) {
                return missing(format!("brackets[{i}].screw"), &bracket.screw);
            }
        }
        match &self.board_screw {
            Some(name) if !there(name) => missing("board_screw".to_owned(), name),
            _ => Ok(()),
        }
    }
}

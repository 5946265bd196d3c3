//! The catalogue: boards, brackets, screws, anchors, kinds of wood and lifts, as data that a workroom replaces.
//!
//! Two are built in (`core/data`), one for houses in inches and one for houses in millimetres.

use crate::house::file::{FileProblem, plain, split_advice};
use crate::house::{Backing, BoardSize, Lift};
use crate::length::{Length, LengthUnit, with_default_unit};
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// The version this program reads.
const VERSION: u32 = 1;

/// What a workroom buys and keeps. Lengths in the file take its `unit`.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Catalogue {
    /// The version of the file; 1.
    #[serde(rename = "hangtrue_catalogue")]
    pub version: u32,
    /// The unit bare lengths are in.
    pub unit: LengthUnit,
    /// Where the figures come from, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Boards, the usual one first: where several serve, the first is taken.
    pub boards: Vec<Board>,
    /// Brackets, the usual one first.
    pub brackets: Vec<Bracket>,
    /// Screws, thinnest first.
    pub screws: Vec<Screw>,
    /// Anchors, the usual one of each backing first.
    pub anchors: Vec<Anchor>,
    /// Kinds of wood.
    pub species: Vec<Species>,
    /// The wood that is assumed where nobody said.
    pub assume: Assumed,
    /// Lifts.
    pub lifts: Vec<LiftKind>,
}

/// A dressed board.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// Its trade size.
    pub size: BoardSize,
    /// The smaller of its two actual sizes.
    pub thickness: Length,
    /// The larger of its two actual sizes.
    pub width: Length,
    /// The screw it is fixed with, by name.
    pub screw: String,
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
#[serde(deny_unknown_fields)]
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
}

/// A kind of wood.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Species {
    /// Its name in the tables.
    pub name: String,
    /// Specific gravity, oven-dry.
    pub gravity: f64,
    /// Modulus of elasticity along the grain, million pounds per square inch, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elasticity_mpsi: Option<f64>,
    /// True for a hardwood: it wants a larger lead hole.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub hardwood: bool,
}

/// The wood that is assumed where nobody said; the weak end of what is usual.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Assumed {
    /// Of the board.
    pub board: String,
    /// Of studs, headers and head jambs.
    pub framing: String,
}

/// A lift that is sold.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LiftKind {
    /// What it is asked for by.
    pub name: String,
    /// How it lifts.
    pub lift: Lift,
    /// The most it lifts, pounds-force, as its seller states.
    pub lifts_lbf: f64,
}

impl Catalogue {
    /// The built-in catalogue for houses of this unit.
    pub fn standard(unit: LengthUnit) -> &'static Self {
        static INCHES: LazyLock<Catalogue> = LazyLock::new(|| {
            Catalogue::read(include_str!("../../data/catalogue.json")).expect("a test reads the built-in catalogue")
        });
        static MILLIMETRES: LazyLock<Catalogue> = LazyLock::new(|| {
            Catalogue::read(include_str!("../../data/catalogue-mm.json")).expect("a test reads the built-in catalogue")
        });
        if unit.is_imperial() { &INCHES } else { &MILLIMETRES }
    }

    /// Reads a catalogue.
    ///
    /// # Errors
    /// [`FileProblem`] names the line, the field, what is wrong and what would be right: not JSON, another version,
    /// an unknown or missing field, a size that is not above zero, a name that is used twice or named nowhere.
    pub fn read(text: &str) -> Result<Self, FileProblem> {
        #[derive(Deserialize)]
        struct Head {
            unit: Option<LengthUnit>,
        }
        let head: Head = serde_json::from_str(text).map_err(|error| FileProblem {
            line: error.line().max(1),
            path: String::new(),
            what: plain(&error),
            right: "a catalogue is one JSON object with \"hangtrue_catalogue\": 1 and a \"unit\"".to_owned(),
        })?;
        let unit = head.unit.ok_or_else(|| FileProblem {
            line: 1,
            path: "unit".to_owned(),
            what: "the unit is missing".to_owned(),
            right: "write \"unit\": \"in\" or \"unit\": \"mm\"".to_owned(),
        })?;
        let mut reader = serde_json::Deserializer::from_str(text);
        let catalogue: Self =
            with_default_unit(unit, || serde_path_to_error::deserialize(&mut reader)).map_err(|error| {
                let path = error.path().to_string();
                let inner = error.into_inner();
                let (what, right) = split_advice(&plain(&inner));
                FileProblem { line: inner.line().max(1), path, what, right }
            })?;
        catalogue.check().map_err(|(path, what, right)| FileProblem { line: 1, path, what, right })?;
        Ok(catalogue)
    }

    /// What the form alone cannot say.
    fn check(&self) -> Result<(), (String, String, String)> {
        let wrong = |path: String, what: String, right: &str| Err((path, what, right.to_owned()));
        if self.version != VERSION {
            let what = format!("version {} is not read here", self.version);
            return wrong("hangtrue_catalogue".to_owned(), what, "this program reads version 1");
        }
        let positive = |path: String, sizes: &[Length]| {
            if sizes.iter().all(|size| *size > Length::ZERO) {
                Ok(())
            } else {
                wrong(path, "a size is not above zero".to_owned(), "every size is above zero")
            }
        };
        for (i, board) in self.boards.iter().enumerate() {
            positive(format!("boards[{i}]"), &[board.thickness, board.width])?;
            if board.thickness > board.width {
                let what = "the thickness is more than the width".to_owned();
                return wrong(format!("boards[{i}].thickness"), what, "the thickness is the smaller size");
            }
            if self.screw(&board.screw).is_none() {
                let what = format!("there is no screw \"{}\"", board.screw);
                return wrong(format!("boards[{i}].screw"), what, "name a screw of this catalogue");
            }
            if self.boards[..i].iter().any(|other| other.size == board.size) {
                let what = "the same board stands twice".to_owned();
                return wrong(format!("boards[{i}].size"), what, "give each board once");
            }
        }
        for (i, screw) in self.screws.iter().enumerate() {
            let path = format!("screws[{i}]");
            positive(path.clone(), &[screw.diameter, screw.root, screw.head])?;
            positive(format!("{path}.lengths"), &screw.lengths)?;
            if screw.lengths.is_empty() || !screw.lengths.is_sorted() {
                let what = "the lengths are missing or out of order".to_owned();
                return wrong(format!("{path}.lengths"), what, "give at least one length, shortest first");
            }
            if !(1..=100).contains(&screw.thread_percent) {
                let what = format!("{} percent of its length cannot be thread", screw.thread_percent);
                return wrong(format!("{path}.thread_percent"), what, "a whole number from 1 to 100");
            }
        }
        for (i, bracket) in self.brackets.iter().enumerate() {
            let path = format!("brackets[{i}]");
            positive(path.clone(), &[bracket.leg, bracket.arm, bracket.across, bracket.leaf])?;
            positive(format!("{path}.wall_holes"), &bracket.wall_holes)?;
            positive(format!("{path}.board_holes"), &bracket.board_holes)?;
            if bracket.wall_holes.is_empty() || bracket.wall_holes.iter().any(|hole| *hole >= bracket.leg) {
                let what = "a hole of the leg is missing or beyond its end".to_owned();
                return wrong(format!("{path}.wall_holes"), what, "holes are measured up from the foot of the leg");
            }
            if bracket.board_holes.is_empty() || bracket.board_holes.iter().any(|hole| *hole >= bracket.arm) {
                let what = "a hole of the arm is missing or beyond its end".to_owned();
                return wrong(format!("{path}.board_holes"), what, "holes are measured out from the wall");
            }
            if self.screw(&bracket.screw).is_none() {
                let what = format!("there is no screw \"{}\"", bracket.screw);
                return wrong(format!("{path}.screw"), what, "name a screw of this catalogue");
            }
            if self.brackets[..i].iter().any(|other| other.name == bracket.name) {
                let what = format!("the bracket \"{}\" stands twice", bracket.name);
                return wrong(format!("{path}.name"), what, "give each bracket its own name");
            }
        }
        for (i, species) in self.species.iter().enumerate() {
            if !(species.gravity > 0.0 && species.gravity < 1.5) {
                let what = format!("a specific gravity of {} is no wood's", species.gravity);
                return wrong(format!("species[{i}].gravity"), what, "a number such as 0.42");
            }
        }
        for (i, anchor) in self.anchors.iter().enumerate() {
            if !(anchor.pull_lbf > 0.0 && anchor.shear_lbf > 0.0) {
                let what = "a stated load is not above zero".to_owned();
                return wrong(format!("anchors[{i}]"), what, "the ultimate loads that its seller states");
            }
        }
        for (path, name) in [("assume.board", &self.assume.board), ("assume.framing", &self.assume.framing)] {
            if self.species(name).is_none() {
                return wrong(path.to_owned(), format!("there is no species \"{name}\""), "name one of this catalogue");
            }
        }
        if self.boards.is_empty() || self.screws.is_empty() {
            return wrong("boards".to_owned(), "there is no board or no screw".to_owned(), "give at least one of each");
        }
        Ok(())
    }

    /// The board of this trade size.
    pub fn board(&self, size: BoardSize) -> Option<&Board> {
        self.boards.iter().find(|board| board.size == size)
    }

    /// The bracket of this name.
    pub fn bracket(&self, name: &str) -> Option<&Bracket> {
        self.brackets.iter().find(|bracket| bracket.name == name)
    }

    /// The screw of this name.
    pub fn screw(&self, name: &str) -> Option<&Screw> {
        self.screws.iter().find(|screw| screw.name == name)
    }

    /// The kind of wood of this name.
    pub fn species(&self, name: &str) -> Option<&Species> {
        self.species.iter().find(|species| species.name.eq_ignore_ascii_case(name))
    }

    /// The wood assumed of studs, headers and head jambs.
    ///
    /// # Panics
    /// Never for a catalogue that was read: its assumed woods are checked then.
    pub fn framing(&self) -> &Species {
        self.species(&self.assume.framing).expect("checked when the catalogue was read")
    }

    /// The wood assumed of the board.
    ///
    /// # Panics
    /// Never for a catalogue that was read: its assumed woods are checked then.
    pub fn board_wood(&self) -> &Species {
        self.species(&self.assume.board).expect("checked when the catalogue was read")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_catalogues_read_and_refusals_name_the_field() {
        for unit in [LengthUnit::Inch, LengthUnit::Millimetre] {
            let catalogue = Catalogue::standard(unit);
            assert_eq!(catalogue.boards.len(), 6, "{unit:?}");
        }
        let text = include_str!("../../data/catalogue.json");
        for (from, to, path, what) in [
            ("\"3/4\", \"width\": \"1 1/2\"", "\"3/7\", \"width\": \"1 1/2\"", "boards[0].thickness", "3/7"),
            ("\"screw\": \"No. 8\"", "\"screw\": \"No. 9\"", "boards[0].screw", "no screw \"No. 9\""),
            ("\"gravity\": 0.36", "\"gravity\": 36", "species[0].gravity", "no wood's"),
            ("\"leg\"", "\"lag\"", "brackets[0].lag", "no field \"lag\""),
            ("\"hangtrue_catalogue\": 1", "\"hangtrue_catalogue\": 2", "hangtrue_catalogue", "version 2"),
        ] {
            let problem = Catalogue::read(&text.replacen(from, to, 1)).expect_err(from);
            assert!(problem.what.contains(what), "{problem}");
            assert_eq!(problem.path, path, "{problem}");
            assert!(!problem.right.is_empty());
        }
    }
}

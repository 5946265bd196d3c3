//! The catalogue: boards, brackets, screws, anchors, kinds of wood and lifts, as data that a workroom replaces.
//!
//! Two are built in (`core/data`), one for houses in inches and one for houses in millimetres.

use crate::house::file::{FileProblem, plain, split_advice};
use crate::house::{Anchor, BoardSize, Bracket, Hardware, LiftKind, Screw};
use crate::json;
use crate::length::{Length, LengthUnit, with_default_unit};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
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
    /// Lifts, of each kind the lightest first: where several serve, the first is taken.
    pub lifts: Vec<LiftKind>,
}

/// A dressed board.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// What it is asked for by.
    pub size: BoardSize,
    /// The smaller of its two actual sizes.
    pub thickness: Length,
    /// The larger of its two actual sizes.
    pub width: Length,
    /// The screw it is fixed with, by name.
    pub screw: String,
    /// True of a board that is taken only where it is chosen by name: one that is kept for the jobs that name it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_name_only: bool,
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
        let text = json::without_mark(text);
        if let Some(doubled) = json::doubled_key(text) {
            let (what, right) = (doubled.to_string(), doubled.right());
            return Err(FileProblem { line: doubled.line, path: doubled.path, what, right });
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
        let catalogue: Self = with_default_unit(unit, || json::read(text)).map_err(|misread| {
            let (what, right) = split_advice(&plain(&misread.error));
            FileProblem { line: misread.error.line().max(1), path: misread.path, what, right }
        })?;
        catalogue.check().map_err(|(path, what, right)| FileProblem { line: 1, path, what, right })?;
        Ok(catalogue)
    }

    /// This catalogue with what a workroom has of its own laid over it: a thing of a known name takes its place; other
    /// screws stand by their diameter, and other brackets, anchors and lifts before the built-in ones, so that they are
    /// taken first where they serve. What cannot be (only a book that no job file was read into could hold it) is left
    /// out.
    pub fn with<'a>(&'a self, own: &Hardware) -> Cow<'a, Self> {
        /// Those before, then those of the catalogue, each name once.
        fn before<T: Clone>(own: impl Iterator<Item = T>, standing: &mut Vec<T>, name: impl Fn(&T) -> &str) {
            let mut all: Vec<T> = own.collect();
            for item in standing.iter() {
                if !all.iter().any(|other| name(other) == name(item)) {
                    all.push(item.clone());
                }
            }
            *standing = all;
        }
        if own.is_empty() {
            return Cow::Borrowed(self);
        }
        let mut laid = self.clone();
        let screws = own.screws.iter().filter(|screw| screw.check().is_ok()).cloned();
        before(screws, &mut laid.screws, |screw| &screw.name);
        laid.screws.sort_by_key(|screw| screw.diameter);
        let known = |name: &str| laid.screws.iter().any(|screw| screw.name == name);
        let brackets = own.brackets.iter().filter(|bracket| bracket.check().is_ok() && known(&bracket.screw)).cloned();
        before(brackets, &mut laid.brackets, |bracket| &bracket.name);
        before(own.anchors.iter().filter(|one| one.check().is_ok()).cloned(), &mut laid.anchors, |one| &one.name);
        before(own.lifts.iter().filter(|one| one.check().is_ok()).cloned(), &mut laid.lifts, |one| &one.name);
        if let Some(name) = own.board_screw.as_ref().filter(|name| known(name)) {
            for board in &mut laid.boards {
                board.screw.clone_from(name);
            }
        }
        Cow::Owned(laid)
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
        let at = |path: String, (field, what, right): (String, String, &'static str)| {
            Err((format!("{path}{field}"), what, right.to_owned()))
        };
        for (i, screw) in self.screws.iter().enumerate() {
            screw.check().or_else(|problem| at(format!("screws[{i}]"), problem))?;
        }
        for (i, bracket) in self.brackets.iter().enumerate() {
            let path = format!("brackets[{i}]");
            bracket.check().or_else(|problem| at(path.clone(), problem))?;
            if self.screw(&bracket.screw).is_none() {
                let what = format!("there is no screw \"{}\"", bracket.screw);
                return wrong(format!("{path}.screw"), what, "name a screw of this catalogue");
            }
            if self.brackets[..i].iter().any(|other| other.name == bracket.name) {
                let what = format!("the bracket \"{}\" stands twice", bracket.name);
                return wrong(format!("{path}.name"), what, "give each bracket its own name");
            }
        }
        for (i, lift) in self.lifts.iter().enumerate() {
            lift.check().or_else(|problem| at(format!("lifts[{i}]"), problem))?;
        }
        for (i, species) in self.species.iter().enumerate() {
            if !(species.gravity > 0.0 && species.gravity < 1.5) {
                let what = format!("a specific gravity of {} is no wood's", species.gravity);
                return wrong(format!("species[{i}].gravity"), what, "a number such as 0.42");
            }
        }
        for (i, anchor) in self.anchors.iter().enumerate() {
            anchor.check().or_else(|problem| at(format!("anchors[{i}]"), problem))?;
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

    /// The boards that are taken without being chosen, the usual one first.
    pub fn usual_boards(&self) -> impl Iterator<Item = &Board> {
        self.boards.iter().filter(|board| !board.by_name_only)
    }

    /// The board of this name.
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
            assert_eq!(catalogue.usual_boards().count(), 6, "{unit:?}");
            // Every name that a job file of before could carry is still known, by the size it had.
            for name in ["1x2", "1x3", "1x4", "2x2", "2x3", "2x4"] {
                let board = catalogue.board(BoardSize::read(name).unwrap()).expect(name);
                assert_eq!(board.by_name_only, !unit.is_imperial(), "{name}");
            }
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

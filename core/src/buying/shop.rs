//! How things are sold, what they cost and what is on hand: a file that a workroom edits. Two are built in
//! (`core/data/shop.json`, `shop-mm.json`).

use crate::house::file::{FileProblem, plain, split_advice};
use crate::json;
use crate::length::{Length, LengthUnit, with_default_unit};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The version this program reads.
const VERSION: u32 = 1;

/// How a workroom's shops sell. Lengths in the file take its `unit`; prices are hundredths of the currency.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shop {
    /// The version of the file; 1.
    #[serde(rename = "hangtrue_shop")]
    pub version: u32,
    /// The unit bare lengths are in.
    pub unit: LengthUnit,
    /// Where the figures come from, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// The sections in the order of the walk through the shop.
    pub sections: Vec<String>,
    /// Linings and interlining.
    pub linings: Vec<LiningStock>,
    /// Boards, bars and ribs.
    pub sticks: Vec<StickStock>,
    /// Lift cord.
    pub cord: CordStock,
    /// All that is sold by count.
    pub packs: Vec<PackStock>,
}

/// A lining as it is sold.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LiningStock {
    /// `plain lining`, `blackout lining`, `interlining`.
    pub kind: String,
    /// Usable width.
    pub width: Length,
    /// The step it is cut by.
    pub sold_by: Length,
    /// Price of a yard (a file in inches) or a metre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_cents: Option<u64>,
    /// Lengths on hand.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub on_hand: Vec<Length>,
}

/// Sticks of one kind.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StickStock {
    /// `board` for all sizes, `board 1x2` for one, `bottom bar`, `rib`.
    pub kind: String,
    /// Its section.
    pub section: String,
    /// Lengths it is sold in; prices for every one or for none.
    pub lengths: Vec<StickLength>,
    /// Offcuts on hand.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub on_hand: Vec<Length>,
}

/// A length a stick is sold in.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StickLength {
    /// The length.
    pub length: Length,
    /// Price of one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cents: Option<u64>,
}

/// Lift cord as it is sold.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CordStock {
    /// Its section.
    pub section: String,
    /// What one spool or cut holds.
    pub sold_by: Length,
    /// Price of one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_cents: Option<u64>,
    /// What is on hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on_hand: Option<Length>,
}

/// Things of one kind that are sold by count.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PackStock {
    /// `ring`, `screw eye`, `screw`, `anchor`, `bracket`, `cord cleat`, `lift`.
    pub kind: String,
    /// One thing of that kind, by what it is asked for by; all of the kind when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub only: Option<String>,
    /// Its section.
    pub section: String,
    /// The packs it comes in.
    pub sizes: Vec<Pack>,
    /// How many are on hand; only where `only` says of what, or the kind is one thing.
    #[serde(default)]
    pub on_hand: u64,
}

/// A pack.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// How many it holds.
    pub count: u32,
    /// Price of one pack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cents: Option<u64>,
}

/// Kinds that are many things, so that a count on hand must say of which.
const MANY: [&str; 4] = ["screw", "anchor", "bracket", "lift"];

impl Shop {
    /// The built-in shop for houses of this unit.
    pub fn standard(unit: LengthUnit) -> &'static Self {
        static INCHES: LazyLock<Shop> =
            LazyLock::new(|| Shop::read(include_str!("../../data/shop.json")).expect("a test reads the built-in shop"));
        static MILLIMETRES: LazyLock<Shop> = LazyLock::new(|| {
            Shop::read(include_str!("../../data/shop-mm.json")).expect("a test reads the built-in shop")
        });
        if unit.is_imperial() { &INCHES } else { &MILLIMETRES }
    }

    /// Reads a shop file.
    ///
    /// # Errors
    /// [`FileProblem`] names the line, the field, what is wrong and what would be right: not JSON, another version, an
    /// unknown or missing field, a size or pack of nothing, a section that is not listed.
    pub fn read(text: &str) -> Result<Self, FileProblem> {
        #[derive(Deserialize)]
        struct Head {
            unit: Option<LengthUnit>,
        }
        let problem = |line, path: &str, what: String, right: &str| FileProblem {
            line,
            path: path.to_owned(),
            what,
            right: right.to_owned(),
        };
        let text = json::without_mark(text);
        if let Some(doubled) = json::doubled_key(text) {
            return Err(problem(doubled.line, &doubled.path, doubled.to_string(), &doubled.right()));
        }
        let head: Head = serde_json::from_str(text).map_err(|error| {
            let right = "a shop file is one JSON object with \"hangtrue_shop\": 1 and a \"unit\"";
            problem(error.line().max(1), "", plain(&error), right)
        })?;
        let unit = head.unit.ok_or_else(|| {
            problem(1, "unit", "the unit is missing".to_owned(), "write \"unit\": \"in\" or \"unit\": \"mm\"")
        })?;
        let shop: Self = with_default_unit(unit, || json::read(text)).map_err(|misread| {
            let (what, right) = split_advice(&plain(&misread.error));
            FileProblem { line: misread.error.line().max(1), path: misread.path, what, right }
        })?;
        shop.check().map_err(|(path, what, right)| problem(1, &path, what, right))?;
        Ok(shop)
    }

    /// What the form alone cannot say.
    fn check(&self) -> Result<(), (String, String, &'static str)> {
        if self.version != VERSION {
            let what = format!("version {} is not read here", self.version);
            return Err(("hangtrue_shop".to_owned(), what, "this program reads version 1"));
        }
        let above_zero = |path: String, length: Length| {
            if length > Length::ZERO {
                Ok(())
            } else {
                Err((path, "a length is not above zero".to_owned(), "every length is above zero"))
            }
        };
        let listed = |path: String, section: &String| {
            if self.sections.contains(section) {
                Ok(())
            } else {
                Err((path, format!("there is no section \"{section}\""), "name a section of \"sections\""))
            }
        };
        for (i, lining) in self.linings.iter().enumerate() {
            above_zero(format!("linings[{i}].width"), lining.width)?;
            above_zero(format!("linings[{i}].sold_by"), lining.sold_by)?;
            for (k, length) in lining.on_hand.iter().enumerate() {
                above_zero(format!("linings[{i}].on_hand[{k}]"), *length)?;
            }
        }
        for (i, stick) in self.sticks.iter().enumerate() {
            listed(format!("sticks[{i}].section"), &stick.section)?;
            if stick.lengths.is_empty() {
                let path = format!("sticks[{i}].lengths");
                return Err((path, "it is sold in no length".to_owned(), "list the lengths it is sold in"));
            }
            for length in stick.lengths.iter().map(|length| length.length).chain(stick.on_hand.iter().copied()) {
                above_zero(format!("sticks[{i}]"), length)?;
            }
        }
        listed("cord.section".to_owned(), &self.cord.section)?;
        above_zero("cord.sold_by".to_owned(), self.cord.sold_by)?;
        for (i, pack) in self.packs.iter().enumerate() {
            listed(format!("packs[{i}].section"), &pack.section)?;
            if pack.sizes.is_empty() || pack.sizes.iter().any(|size| size.count == 0) {
                let path = format!("packs[{i}].sizes");
                return Err((path, "a pack holds nothing".to_owned(), "every pack holds one or more"));
            }
            if pack.on_hand > 0 && pack.only.is_none() && MANY.contains(&pack.kind.as_str()) {
                let path = format!("packs[{i}].on_hand");
                return Err((
                    path,
                    format!("of which {} there are {}", pack.kind, pack.on_hand),
                    "say it with \"only\"",
                ));
            }
        }
        Ok(())
    }

    /// Everything that has a price, by what the list calls it: `bottom bar, 96 in`, `ring, 50 in a pack`.
    pub fn priced(&self) -> Vec<(String, Option<u64>)> {
        let mut whole = self.clone();
        let mut all = Vec::new();
        whole.each_price(|what, price| all.push((what, *price)));
        all
    }

    /// The same shop at what a workroom pays, by the same names; what it does not name stays as it is.
    #[must_use]
    pub fn at(&self, prices: &BTreeMap<String, u64>) -> Self {
        let mut shop = self.clone();
        shop.each_price(|what, price| {
            if let Some(known) = prices.get(&what) {
                *price = Some(*known);
            }
        });
        shop
    }

    /// The same shop with nothing on hand.
    #[must_use]
    pub fn emptied(mut self) -> Self {
        self.linings.iter_mut().for_each(|lining| lining.on_hand.clear());
        self.sticks.iter_mut().for_each(|stick| stick.on_hand.clear());
        self.cord.on_hand = None;
        self.packs.iter_mut().for_each(|pack| pack.on_hand = 0);
        self
    }

    fn each_price(&mut self, mut each: impl FnMut(String, &mut Option<u64>)) {
        let unit = self.unit;
        for lining in &mut self.linings {
            each(lining.kind.clone(), &mut lining.price_cents);
        }
        for stick in &mut self.sticks {
            for sold in &mut stick.lengths {
                each(format!("{}, {}", stick.kind, sold.length.show_marked(unit)), &mut sold.cents);
            }
        }
        each("lift cord".to_owned(), &mut self.cord.price_cents);
        for pack in &mut self.packs {
            let what = pack.only.as_ref().unwrap_or(&pack.kind);
            for size in &mut pack.sizes {
                let name = if size.count == 1 { what.clone() } else { format!("{what}, {} in a pack", size.count) };
                each(name, &mut size.cents);
            }
        }
    }

    /// How sticks are sold: those of this very name, or of the kind.
    pub(super) fn stick(&self, kind: &str, what: &str) -> Option<&StickStock> {
        let named = |name: &str| self.sticks.iter().find(|stick| stick.kind == name);
        named(what).or_else(|| named(kind))
    }

    /// How a thing is packed: that thing alone, or its kind.
    pub(super) fn pack(&self, kind: &str, what: &str) -> Option<&PackStock> {
        let of_kind = || self.packs.iter().filter(|pack| pack.kind == kind);
        of_kind().find(|pack| pack.only.as_deref() == Some(what)).or_else(|| of_kind().find(|pack| pack.only.is_none()))
    }
}

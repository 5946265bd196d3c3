//! What is agreed with a client: prices and taxes of a workroom, other ways a shade was priced, quotes, payments.

use super::{Lining, Mount};
use crate::length::Typed;
use crate::money::{Currency, Money};
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// How a workroom trades: what stands on its quotes, and what it pays for what it buys. A house may have its own.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Trade {
    /// Its name as a client reads it.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// How it is reached, as a client reads it.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub reach: String,
    /// The currency of every price.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub currency: Option<Currency>,
    /// Taxes on a sale; which apply, and at what rate, the workroom knows.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub taxes: Vec<Tax>,
    /// What the shop takes for a thing, in hundredths, by what the shop's list calls it: `board 1x2, 96 in`.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub prices: BTreeMap<String, u64>,
}

impl Trade {
    pub(super) fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// This one's, and `below`'s where it says nothing.
    #[must_use]
    pub fn over(&self, below: &Self) -> Self {
        let words = |own: &String, other: &String| if own.is_empty() { other.clone() } else { own.clone() };
        let mut prices = below.prices.clone();
        prices.extend(self.prices.iter().map(|(what, price)| (what.clone(), *price)));
        Self {
            name: words(&self.name, &below.name),
            reach: words(&self.reach, &below.reach),
            currency: self.currency.or(below.currency),
            taxes: if self.taxes.is_empty() { below.taxes.clone() } else { self.taxes.clone() },
            prices,
        }
    }
}

/// A tax on a sale.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tax {
    /// What it is called on paper.
    pub name: String,
    /// Its rate in thousandths of a percent: 7 % is 7000.
    pub rate: u32,
    /// What it is on.
    pub on: Taxed,
}

/// What a tax is on.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Taxed {
    /// Everything.
    All,
    /// What is made and bought, not the hanging and the way there.
    Goods,
    /// The hanging and the way there alone.
    Work,
}

/// Another way to make an opening's shade, priced beside the one that is chosen. What is left out stays as chosen.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    /// What it is called: "blackout", "in Hazel linen".
    pub name: String,
    /// Inside or outside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mount: Option<Mount>,
    /// Another cloth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cloth: Option<String>,
    /// Another lining.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lining: Option<Lining>,
    /// With an interlining, or without.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interlined: Option<bool>,
}

/// A quote as it was given: nothing in it is worked out again.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quote {
    /// Its number in the house: "1".
    pub name: String,
    /// When it was made.
    pub at: DateTime<Utc>,
    /// By whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// The last day it stands.
    pub until: NaiveDate,
    /// Its currency.
    pub currency: Currency,
    /// The content number of the sizes that it was made from.
    pub content: String,
    /// Its shades.
    pub lines: Vec<QuoteLine>,
    /// What is added and taken off below them, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sums: Vec<QuoteSum>,
    /// All of it.
    pub total: Money,
    /// What is paid first.
    pub deposit: Money,
    /// The client's word, once it was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub agreed: Option<Agreed>,
}

/// A shade of a quote.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct QuoteLine {
    /// Its opening.
    pub opening: Uuid,
    /// Its room and name as they were.
    pub what: String,
    /// How many alike.
    pub count: u32,
    /// Finished width.
    pub width: Typed,
    /// Finished length.
    pub length: Typed,
    /// Inside, outside and how, in words.
    pub mount: String,
    /// Its cloth and lining, in words.
    pub made: String,
    /// For all alike.
    pub price: Money,
    /// What the client is to know: what the price is without, what is still to be confirmed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// A line below the shades.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct QuoteSum {
    /// What it is.
    pub what: String,
    /// How much; below zero for what is taken off.
    pub money: Money,
}

/// That a client agreed.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Agreed {
    /// Who, as signed.
    pub name: String,
    /// When.
    pub at: DateTime<Utc>,
    /// The strokes of the signature, if it was drawn: `x y` pairs in a box of 300 by 100, strokes apart by `;`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub strokes: String,
}

/// Money that came, or went back.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Payment {
    /// What tells it from others.
    pub name: String,
    /// The day it came.
    pub on: NaiveDate,
    /// How much; below zero for what went back.
    pub money: Money,
    /// What for, or how.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub what: String,
}

/// How far a shade has come. Each step is set by one touch, or by what brings it about.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Progress {
    /// Its cloth was ordered.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ordered: Option<Done>,
    /// Its cloth is here, measured and looked over.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub here: Option<Done>,
    /// It was cut, to the sizes that it was cut to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cut: Option<Done>,
    /// It was sewn and is on its board.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub made: Option<Done>,
    /// It hangs, and what was really done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hung: Option<Done>,
}

/// That something was done: when, by whom, and to which size.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Done {
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// The finished width that it had then; of one that hangs, as it measures there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Typed>,
    /// The finished length that it had then; of one that hangs, as it measures there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Typed>,
    /// The cloth that it had then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cloth: Option<String>,
    /// Every part as it was cut; none in a mark of before parts were kept.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<CutPart>,
    /// Which stretches of the shelf's pieces it was cut from.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub from: Vec<CutFrom>,
    /// As it was hung: what it was fixed with, and to what.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub fixed: String,
    /// Who of the house saw it hang and was content.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub content: String,
    /// What else is to be known: the lot that came, how it was hung.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// A part as it was cut: of cloth, or sticks of one length.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CutPart {
    /// Which: `face`, `board_cover`, `rib`.
    pub part: String,
    /// What it was cut from, where the part alone does not say it: the kind of lining, the size of the board.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub of: String,
    /// How many.
    pub count: u32,
    /// Cut width; a stick has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Typed>,
    /// Cut length.
    pub length: Typed,
    /// From its top cut edge to the finished head; a stick has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub head: Option<Typed>,
}

/// A stretch of a piece of the shelf that a shade was cut from, whole across.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CutFrom {
    /// The piece.
    pub piece: Uuid,
    /// Its lot.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub lot: String,
    /// From where, counted from its cut end.
    pub from: Typed,
    /// To where.
    pub to: Typed,
}

/// A step of a shade's way.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// Cloth ordered.
    Ordered,
    /// Cloth here.
    Here,
    /// Cut.
    Cut,
    /// Made.
    Made,
    /// Hung.
    Hung,
}

impl Step {
    /// All, in order.
    pub const ALL: [Self; 5] = [Self::Ordered, Self::Here, Self::Cut, Self::Made, Self::Hung];

    /// Its field in the facts.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Ordered => "ordered",
            Self::Here => "here",
            Self::Cut => "cut",
            Self::Made => "made",
            Self::Hung => "hung",
        }
    }

    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Ordered => "cloth ordered",
            Self::Here => "cloth here",
            Self::Cut => "cut",
            Self::Made => "made",
            Self::Hung => "hung",
        }
    }
}

impl Progress {
    pub(super) fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// What is known of a step.
    pub const fn of(&self, step: Step) -> Option<&Done> {
        match step {
            Step::Ordered => self.ordered.as_ref(),
            Step::Here => self.here.as_ref(),
            Step::Cut => self.cut.as_ref(),
            Step::Made => self.made.as_ref(),
            Step::Hung => self.hung.as_ref(),
        }
    }

    /// The farthest step that was done.
    pub fn last(&self) -> Option<Step> {
        Step::ALL.into_iter().rev().find(|step| self.of(*step).is_some())
    }
}

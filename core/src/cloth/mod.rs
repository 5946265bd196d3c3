//! The plan of the bolt: widths and joins, places in the pattern, several shades off one length of cloth, and what to buy.
//!
//! A [`Want`] is one cut of a shade; [`plan`] lays all wants of one cloth out on it. Distances run along the cloth
//! from its cut end (`y`) and across it from the left edge of its usable width (`x`), face up. Lengths along the
//! cloth are as it is bought: what shrinks is cut longer.

mod bound;
pub mod calculator;
mod choose;
mod join;
mod pack;
mod search;
mod shelf;
mod words;

pub use shelf::{AtHand, Belongs, Offcut, Shelved, at_hand, offcuts, plan_from};

use crate::house::{Cloth, ClothDirection, Match};
use crate::length::{Direction, Grain, Length, LengthUnit, Typed};
use crate::settings::Settings;
use pack::Effort;

/// A yard: 36 in exactly.
pub const YARD: Length = Length::whole_inches(36);
/// A metre.
pub const METRE: Length = Length::mm(1000);

/// A cloth with all that its plan needs.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Bolt {
    /// What it is called.
    pub name: String,
    /// The unit it is shown in.
    pub unit: LengthUnit,
    /// Full width, selvages included.
    pub width: Length,
    /// Usable width.
    pub usable: Length,
    /// Selvages at the left and at the right, face up; half of what the usable width leaves each when `None`.
    pub selvages: Option<(Length, Length)>,
    /// Vertical repeat.
    pub repeat: Option<Length>,
    /// Horizontal repeat.
    pub repeat_across: Option<Length>,
    /// How the pattern meets from width to width.
    pub matching: Match,
    /// Whether it has an up and a down.
    pub direction: ClothDirection,
    /// Shrinkage along its length in tenths of a percent.
    pub shrinks_permille: u32,
    /// Price of [`Self::priced_by`], in hundredths of the currency.
    pub price_cents: Option<u64>,
    /// The length that the price is for; a yard (imperial) or a metre when `None`.
    pub price_per: Option<Length>,
    /// Lengths on hand.
    pub on_hand: Vec<Length>,
    /// The step a shop cuts it by.
    pub sold_by: Length,
    /// Whole repeats bought to spare, and left at the start of every length on hand.
    pub spare_repeats: i64,
    /// What a join takes from each of its two pieces.
    pub seam: Length,
    /// A part of a joined cut narrower than this is not cut.
    pub least_join: Length,
    /// Where the first line of the pattern stands from the cut end, if that is known; then nothing is spared for it.
    pub pattern_start: Option<Length>,
}

/// Why there is no plan.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{place}: {what}; {right}")]
pub struct ClothProblem {
    /// The cloth's field or the piece it is about.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub right: String,
}

impl ClothProblem {
    fn new(place: impl Into<String>, what: impl Into<String>, right: impl Into<String>) -> Self {
        Self { place: place.into(), what: what.into(), right: right.into() }
    }
}

fn other_side(place: &str) -> ClothProblem {
    ClothProblem::new(
        place,
        "one selvage is given, and neither the other nor the usable width",
        "give both selvages, or the usable width",
    )
}

impl Bolt {
    /// A cloth of the house.
    ///
    /// # Errors
    /// [`ClothProblem`] as [`Self::check`].
    pub fn of(cloth: &Cloth, settings: &Settings, unit: LengthUnit) -> Result<Self, ClothProblem> {
        let some = |typed: &Option<Typed>| typed.as_ref().map(Typed::value);
        let width = cloth.width.value();
        let (left, right) = (some(&cloth.selvage_left), some(&cloth.selvage_right));
        let usable = match (some(&cloth.usable), left, right) {
            (Some(usable), ..) => usable,
            (None, Some(left), Some(right)) => width - left - right,
            (None, None, None) => width,
            (None, Some(_), None) => return Err(other_side("selvage_right")),
            (None, None, Some(_)) => return Err(other_side("selvage_left")),
        };
        let selvages = match (left, right) {
            (None, None) => None,
            (Some(left), Some(right)) => Some((left, right)),
            (Some(left), None) => Some((left, width - usable - left)),
            (None, Some(right)) => Some((width - usable - right, right)),
        };
        let bolt = Self {
            name: cloth.name.clone(),
            unit,
            width,
            usable,
            selvages,
            repeat: some(&cloth.repeat).filter(|repeat| *repeat != Length::ZERO),
            repeat_across: some(&cloth.repeat_across).filter(|repeat| *repeat != Length::ZERO),
            matching: cloth.matching,
            direction: cloth.direction,
            shrinks_permille: cloth.shrinks_permille,
            price_cents: cloth.price_cents,
            price_per: some(&cloth.price_per),
            on_hand: cloth.on_hand.iter().map(Typed::value).collect(),
            sold_by: settings.cloth_sold_by,
            spare_repeats: settings.spare_repeats,
            seam: settings.seam_allowance,
            least_join: settings.least_join,
            pattern_start: None,
        };
        bolt.check()?;
        Ok(bolt)
    }

    /// The lining or interlining that the house buys: plain, any way, as wide as the setting says.
    pub fn lining(name: &str, settings: &Settings, unit: LengthUnit) -> Self {
        Self {
            name: name.to_owned(),
            unit,
            width: settings.lining_width,
            usable: settings.lining_width,
            selvages: None,
            repeat: None,
            repeat_across: None,
            matching: Match::Straight,
            direction: ClothDirection::AnyWay,
            shrinks_permille: 0,
            price_cents: None,
            price_per: None,
            on_hand: Vec::new(),
            sold_by: settings.cloth_sold_by,
            spare_repeats: settings.spare_repeats,
            seam: settings.seam_allowance,
            least_join: settings.least_join,
            pattern_start: None,
        }
    }

    /// Checks that the cloth can be planned on.
    ///
    /// # Errors
    /// [`ClothProblem`] names the field: a width or repeat of nothing, a usable width beyond the full one, a half-drop
    /// without a repeat, a cloth that shrinks by half or more.
    pub fn check(&self) -> Result<(), ClothProblem> {
        let show = |length: Length| length.show_marked(self.unit);
        let positive = |place: &str, length: Length| {
            if length > Length::ZERO {
                Ok(())
            } else {
                Err(ClothProblem::new(place, format!("this is {}", show(length)), "it is more than nothing"))
            }
        };
        positive("width", self.width)?;
        positive("usable", self.usable)?;
        positive("sold_by", self.sold_by)?;
        positive("price_per", self.priced_by())?;
        if self.usable > self.width {
            return Err(ClothProblem::new(
                "usable",
                format!("{} is more than the full width of {}", show(self.usable), show(self.width)),
                "the usable width leaves the selvages out",
            ));
        }
        if let Some((left, right)) = self.selvages {
            for (place, selvage) in [("selvage_left", left), ("selvage_right", right)] {
                if selvage.is_negative() {
                    return Err(ClothProblem::new(
                        place,
                        format!("this comes to {}", show(selvage)),
                        "both selvages and the usable width together are the full width",
                    ));
                }
            }
            if left + right + self.usable != self.width {
                return Err(ClothProblem::new(
                    "selvage_left",
                    format!(
                        "selvages of {} and {} and {} usable are {}, and the full width is {}",
                        show(left),
                        show(right),
                        show(self.usable),
                        show(left + right + self.usable),
                        show(self.width)
                    ),
                    "both selvages and the usable width together are the full width",
                ));
            }
        }
        if let Some(repeat) = self.repeat {
            positive("repeat", repeat)?;
        }
        if let Some(repeat) = self.repeat_across {
            positive("repeat_across", repeat)?;
        }
        if self.matching == Match::HalfDrop && self.repeat.is_none() {
            return Err(ClothProblem::new(
                "matching",
                "a half-drop has a vertical repeat, and none is given",
                "give \"repeat\", or leave \"matching\" out",
            ));
        }
        if self.shrinks_permille >= 500 {
            return Err(ClothProblem::new(
                "shrinks_permille",
                format!("{} is half of the cloth or more", self.shrinks_permille),
                "tenths of a percent: 30 is 3 %",
            ));
        }
        if let Some(i) = self.on_hand.iter().position(|length| *length <= Length::ZERO) {
            return Err(ClothProblem::new(format!("on_hand[{i}]"), "there is nothing of it", "leave it out"));
        }
        Ok(())
    }

    /// Selvages at the left and at the right.
    pub fn selvages(&self) -> (Length, Length) {
        self.selvages.unwrap_or_else(|| {
            let each = (self.width - self.usable).scale(1, 2, Direction::Down);
            (each, each)
        })
    }

    fn is_patterned(&self) -> bool {
        self.repeat.is_some() || self.repeat_across.is_some()
    }

    /// True when this cut may be turned a quarter: the cloth has no direction, and its pattern, where it is matched,
    /// repeats both ways by known lengths.
    fn turns(&self, want: &Want) -> bool {
        self.direction == ClothDirection::AnyWay
            && (want.match_line.is_none() || self.repeat.is_some() == self.repeat_across.is_some())
    }

    /// Length along the cloth as bought, of which this is left when it has shrunk; never short, and on the tape, since
    /// somebody has to measure it off.
    fn along(&self, length: Length) -> Length {
        if self.shrinks_permille == 0 {
            return length;
        }
        let bought = length.scale(1000, 1000 - i64::from(self.shrinks_permille), Direction::Up);
        bought.round(Grain::of_tape(self.unit), Direction::Up)
    }

    /// The cloth that is spared for a pattern that starts anywhere, where any of its pieces is matched.
    fn spare(&self, matched: bool) -> Length {
        match self.repeat {
            Some(repeat) if matched && self.pattern_start.is_none() => repeat * self.spare_repeats,
            _ => Length::ZERO,
        }
    }

    /// What the price is for: a yard or a metre where it does not say.
    pub fn priced_by(&self) -> Length {
        self.price_per.unwrap_or(if self.unit.is_imperial() { YARD } else { METRE })
    }

    /// What this much costs in hundredths of the currency, a part of one counted as whole.
    pub fn cost_cents(&self, length: Length) -> Option<u64> {
        let price = u128::from(self.price_cents?);
        let nm = u128::try_from(length.nm()).ok()?;
        let by = u128::try_from(self.priced_by().nm()).ok()?;
        u64::try_from((nm * price).div_ceil(by)).ok()
    }
}

/// One cut that is wanted from a cloth.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Want {
    /// Whose it is: `Study, north: face`.
    pub name: String,
    /// Cut width.
    pub width: Length,
    /// Cut length.
    pub length: Length,
    /// From its top cut edge to the line where the pattern starts, so that all that match meet at one height: the finished
    /// head or foot. `None` where the pattern is not seen.
    pub match_line: Option<Length>,
    /// From its top cut edge: where a seam across would be hidden at a fold.
    pub fold_lines: Vec<Length>,
}

/// Which part of a cut a piece makes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum PartOf {
    /// All of it.
    Whole,
    /// The full width in the centre.
    Centre,
    /// At the left, numbered from the centre out.
    Left(u32),
    /// At the right, numbered from the centre out.
    Right(u32),
    /// A band of a turned cut, numbered from the top; its seam is at a fold.
    Band(u32),
}

impl PartOf {
    /// As a maker says it.
    pub fn words(self) -> String {
        match self {
            Self::Whole => "whole".to_owned(),
            Self::Centre => "centre".to_owned(),
            Self::Left(1) => "left part".to_owned(),
            Self::Left(n) => format!("left part {n}"),
            Self::Right(1) => "right part".to_owned(),
            Self::Right(n) => format!("right part {n}"),
            Self::Band(n) => format!("band {n} from the top"),
        }
    }
}

/// An edge of a piece as it hangs, face towards the reader.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Edge {
    /// Its left edge.
    Left,
    /// Its right edge.
    Right,
    /// Its top edge.
    Top,
    /// Its bottom edge.
    Bottom,
}

impl Edge {
    /// As a maker says it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }
}

/// A seam between two pieces of one cut.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Seam {
    /// The want its pieces belong to, counted from 0.
    pub want: usize,
    /// One piece: the left one, or the upper one.
    pub first: PartOf,
    /// The edge of it that is sewn.
    pub first_edge: Edge,
    /// The piece it is sewn to.
    pub second: PartOf,
    /// The edge of that.
    pub second_edge: Edge,
    /// What the seam takes from each of the two.
    pub takes: Length,
    /// Where it is on the cut when it is sewn up: from its left cut edge, or from its top one.
    pub at: Length,
}

impl Seam {
    /// As a maker reads it: `right edge of the left part to left edge of the centre`.
    pub fn words(&self) -> String {
        format!(
            "{} edge of the {} to {} edge of the {}",
            self.first_edge.words(),
            self.first.words(),
            self.second_edge.words(),
            self.second.words()
        )
    }
}

/// A piece with its place on the cloth.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Placed {
    /// The want it belongs to, counted from 0.
    pub want: usize,
    /// Which part of it.
    pub part: PartOf,
    /// The length on hand it is cut from, counted from 0; `None` for the cloth that is bought.
    pub on_hand: Option<usize>,
    /// Its left edge from the left of the usable width; negative where it keeps some of the left selvage.
    pub x: Length,
    /// Its start from the cut end.
    pub y: Length,
    /// What is cut off across the cloth, what it keeps of a selvage included.
    pub across: Length,
    /// Along the cloth.
    pub along: Length,
    /// What it keeps of the left selvage, for a seam to lie in.
    pub selvage_left: Length,
    /// What it keeps of the right selvage.
    pub selvage_right: Length,
    /// True when it lies turned a quarter: its own width along the cloth.
    pub turned: bool,
    /// How far its start lies past a line of the pattern, where it is matched.
    pub phase: Option<Length>,
}

/// The plan of one cloth.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Plan {
    /// Every piece, those off lengths on hand first, along the cloth.
    pub pieces: Vec<Placed>,
    /// Every seam between pieces of one cut, in the order of the wants, from the left or from the top.
    pub seams: Vec<Seam>,
    /// Length used of the cloth that is bought.
    pub used: Length,
    /// Where the first line of the pattern stands on the bought cloth, from its cut end; `None` for a plain cloth.
    pub first_line: Option<Length>,
    /// Spared for a pattern that a shop cuts anywhere, by the setting.
    pub spare: Length,
    /// To buy: used and spare, up to what a shop sells.
    pub buy: Length,
    /// Cost of it, where a price is given.
    pub cost_cents: Option<u64>,
    /// No plan for the cloth that is bought uses less than this.
    pub bound: Length,
    /// True when `used` is the least there is.
    pub proven: bool,
    /// The simple count: every piece on its own full width, one after the other, each up to whole repeats.
    pub one_after_another: Length,
    /// Area of the bought cloth that is in no piece, in tenths of a percent of what is used.
    pub waste_permille: i64,
    /// Wants that no length on hand takes, where there are any on hand.
    pub not_on_hand: Vec<usize>,
    /// Sentences that the sheet says beside the plan.
    pub notes: Vec<String>,
    /// What is to be decided or found out before this cloth is cut, one sentence each.
    pub to_decide: Vec<String>,
}

impl Plan {
    /// The seams of one want.
    pub fn seams_of(&self, want: usize) -> impl Iterator<Item = &Seam> {
        self.seams.iter().filter(move |seam| seam.want == want)
    }

    /// What a piece shows when its seams are sewn, the cut's own turnings counted: across it as it hangs, or down it for
    /// a band.
    pub fn shows(&self, piece: &Placed) -> Length {
        let taken = |seam: &&Seam| seam.first == piece.part || seam.second == piece.part;
        piece.across - self.seams_of(piece.want).filter(taken).map(|seam| seam.takes).sum::<Length>()
    }

    /// What the plan saves against the simple count; negative where the pattern asks for more than whole repeats.
    pub fn saved(&self) -> Length {
        self.one_after_another - self.used
    }
}

/// Whole repeats that a cut takes, and their length: 96 in of a 27 in repeat are 4, 108 in.
/// `None` when the repeat is not positive.
pub fn whole_repeats(cut: Length, repeat: Length) -> Option<(i64, Length)> {
    let count = cut.count_up(repeat)?;
    Some((count, repeat * count))
}

/// Lays out all wants of one cloth.
///
/// # Errors
/// [`ClothProblem`] when the cloth cannot be planned on, a cut has no size or a match line outside it, or a cut is wider
/// than the cloth and cannot be joined.
pub fn plan(bolt: &Bolt, wants: &[Want]) -> Result<Plan, ClothProblem> {
    choose::plan(bolt, wants, Effort::HOUSE)
}

#[cfg(test)]
mod tests;

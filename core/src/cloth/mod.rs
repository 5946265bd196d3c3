//! The plan of the bolt: widths and joins, places in the pattern, several shades off one length of cloth, and what to buy.
//!
//! A [`Want`] is one cut of a shade; [`plan`] lays all wants of one cloth out on it. Distances run along the cloth
//! from its cut end (`y`) and across it from the left edge of its usable width (`x`), face up. Lengths along the
//! cloth are as it is bought: what shrinks is cut longer.

mod bound;
pub mod calculator;
mod join;
mod pack;
mod search;

use crate::house::{Cloth, ClothDirection, Match};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::settings::Settings;
use pack::{Effort, Held, Piece};

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
    /// Price of a yard (imperial) or a metre, in hundredths of the currency.
    pub price_cents: Option<u64>,
    /// Lengths on hand.
    pub on_hand: Vec<Length>,
    /// The step a shop cuts it by.
    pub sold_by: Length,
    /// Whole repeats bought to spare, and left at the start of every length on hand.
    pub spare_repeats: i64,
    /// What each side of a join takes.
    pub seam: Length,
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

impl Bolt {
    /// A cloth of the house.
    ///
    /// # Errors
    /// [`ClothProblem`] as [`Self::check`].
    pub fn of(cloth: &Cloth, settings: &Settings, unit: LengthUnit) -> Result<Self, ClothProblem> {
        let bolt = Self {
            name: cloth.name.clone(),
            unit,
            width: cloth.width.value(),
            usable: cloth.usable.as_ref().map_or(cloth.width.value(), crate::length::Typed::value),
            repeat: cloth.repeat.as_ref().map(crate::length::Typed::value).filter(|repeat| *repeat != Length::ZERO),
            repeat_across: cloth
                .repeat_across
                .as_ref()
                .map(crate::length::Typed::value)
                .filter(|repeat| *repeat != Length::ZERO),
            matching: cloth.matching,
            direction: cloth.direction,
            shrinks_permille: cloth.shrinks_permille,
            price_cents: cloth.price_cents,
            on_hand: cloth.on_hand.iter().map(crate::length::Typed::value).collect(),
            sold_by: settings.cloth_sold_by,
            spare_repeats: settings.spare_repeats,
            seam: settings.seam_allowance,
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
            repeat: None,
            repeat_across: None,
            matching: Match::Straight,
            direction: ClothDirection::AnyWay,
            shrinks_permille: 0,
            price_cents: None,
            on_hand: Vec::new(),
            sold_by: settings.cloth_sold_by,
            spare_repeats: settings.spare_repeats,
            seam: settings.seam_allowance,
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
        if self.usable > self.width {
            return Err(ClothProblem::new(
                "usable",
                format!("{} is more than the full width of {}", show(self.usable), show(self.width)),
                "the usable width leaves the selvages out",
            ));
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

    /// The cloth that is spared for a pattern that starts anywhere.
    fn spare(&self) -> Length {
        match self.repeat {
            Some(repeat) if self.pattern_start.is_none() => repeat * self.spare_repeats,
            _ => Length::ZERO,
        }
    }

    /// A yard or a metre: what prices are for.
    pub fn priced_by(&self) -> Length {
        if self.unit.is_imperial() { YARD } else { METRE }
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

/// A piece with its place on the cloth.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Placed {
    /// The want it belongs to, counted from 0.
    pub want: usize,
    /// Which part of it.
    pub part: PartOf,
    /// The length on hand it is cut from, counted from 0; `None` for the cloth that is bought.
    pub on_hand: Option<usize>,
    /// Its left edge from the left of the usable width.
    pub x: Length,
    /// Its start from the cut end.
    pub y: Length,
    /// Across the cloth.
    pub across: Length,
    /// Along the cloth.
    pub along: Length,
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
}

impl Plan {
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
    plan_with(bolt, wants, Effort::HOUSE)
}

fn plan_with(bolt: &Bolt, wants: &[Want], effort: Effort) -> Result<Plan, ClothProblem> {
    bolt.check()?;
    let mut parts = Vec::new();
    for (i, want) in wants.iter().enumerate() {
        check_want(bolt, want)?;
        parts.extend(join::parts(bolt, want)?.into_iter().map(|part| (i, part)));
    }
    let one_after_another = one_after_another(bolt, &parts);
    let usable = bolt.usable.nm();
    let repeat = bolt.repeat.filter(|_| bolt.pattern_start.is_none()).map(Length::nm);
    let start = bolt.pattern_start.map_or(0, Length::nm);
    let piece = |at: usize| -> Piece {
        let mut piece = parts[at].1.piece.clone();
        for way in &mut piece.ways {
            if let Held::Every { at, every } = way.y {
                way.y = Held::every(at + start, every);
            }
        }
        piece
    };
    let placed = |spot: &pack::Spot, at: usize, origin: i64, on_hand: Option<usize>| -> Placed {
        let (want, part) = &parts[at];
        let way = part.piece.ways[spot.way];
        Placed {
            want: *want,
            part: part.of,
            on_hand,
            x: Length::from_nm(spot.x),
            y: Length::from_nm(spot.y),
            across: Length::from_nm(way.w),
            along: Length::from_nm(way.h),
            turned: part.turned[spot.way],
            phase: match way.y {
                Held::Every { every, .. } => Some(Length::from_nm((spot.y + origin - start).rem_euclid(every))),
                _ => None,
            },
        }
    };
    let mut left: Vec<usize> = (0..parts.len()).collect();
    let mut pieces = Vec::new();
    // Shortest first: a short length takes what fits it, and the long ones stay whole.
    let mut rolls: Vec<usize> = (0..bolt.on_hand.len()).collect();
    rolls.sort_by_key(|&roll| (bolt.on_hand[roll], roll));
    for roll in rolls {
        let length = bolt.on_hand[roll] - bolt.spare();
        if length <= Length::ZERO || left.is_empty() {
            continue;
        }
        let some: Vec<Piece> = left.iter().map(|&at| piece(at)).collect();
        let groups: Vec<usize> = left.iter().map(|&at| parts[at].0).collect();
        let (spots, origin) = pack::fill(&some, &groups, usable, length.nm(), repeat, effort);
        pieces.extend(spots.iter().map(|spot| placed(spot, left[spot.piece], origin, Some(roll))));
        let gone: Vec<usize> = spots.iter().map(|spot| left[spot.piece]).collect();
        left.retain(|at| !gone.contains(at));
    }
    let mut not_on_hand: Vec<usize> =
        if bolt.on_hand.is_empty() { Vec::new() } else { left.iter().map(|&at| parts[at].0).collect() };
    not_on_hand.dedup();
    let some: Vec<Piece> = left.iter().map(|&at| piece(at)).collect();
    let (mut used, mut bound, mut area, mut first_line) = (Length::ZERO, Length::ZERO, 0_i128, bolt.pattern_start);
    if !some.is_empty() {
        let packing = pack::pack(&some, usable, repeat, effort);
        for spot in &packing.spots {
            let way = some[spot.piece].ways[spot.way];
            area += i128::from(way.w) * i128::from(way.h);
            pieces.push(placed(spot, left[spot.piece], packing.origin, None));
        }
        used = Length::from_nm(packing.length);
        bound = if bolt.on_hand.is_empty() { Length::from_nm(packing.bound) } else { bound_beyond(bolt, &parts) };
        if bolt.pattern_start.is_none() {
            first_line = bolt.repeat.map(|repeat| Length::from_nm((-packing.origin).rem_euclid(repeat.nm())));
        }
    }
    pieces.sort_by_key(|piece| (piece.on_hand.is_none(), piece.on_hand, piece.y, piece.x, piece.want));
    let spare = if used > Length::ZERO { bolt.spare() } else { Length::ZERO };
    let grain = Grain::of(bolt.sold_by).expect("checked to be more than nothing");
    let buy = (used + spare).round(grain, Direction::Up);
    let whole = i128::from(usable) * i128::from(used.nm());
    let waste_permille = if whole > 0 { i64::try_from((whole - area) * 1000 / whole).unwrap_or(0) } else { 0 };
    let notes = notes(bolt, &parts, used);
    Ok(Plan {
        pieces,
        used,
        first_line: first_line.filter(|_| bolt.repeat.is_some()),
        spare,
        buy,
        cost_cents: bolt.cost_cents(buy),
        bound,
        proven: used <= bound,
        one_after_another,
        waste_permille,
        not_on_hand,
        notes,
    })
}

fn check_want(bolt: &Bolt, want: &Want) -> Result<(), ClothProblem> {
    let show = |length: Length| length.show_marked(bolt.unit);
    for (field, length) in [("width", want.width), ("length", want.length)] {
        if length <= Length::ZERO {
            return Err(ClothProblem::new(
                format!("{}, {field}", want.name),
                format!("this is {}", show(length)),
                "it is more than nothing",
            ));
        }
    }
    match want.match_line {
        Some(line) if line.is_negative() || line > want.length => Err(ClothProblem::new(
            format!("{}, match line", want.name),
            format!("{} is not on a piece of {}", show(line), show(want.length)),
            "it is counted from the top cut edge, down to the finished head or foot",
        )),
        _ => Ok(()),
    }
}

/// Every piece on its own full width of cloth; a cut of several widths takes a drop for each, and a half-drop half a
/// repeat more.
fn one_after_another(bolt: &Bolt, parts: &[(usize, join::Part)]) -> Length {
    let mut total = Length::ZERO;
    for (i, (want, part)) in parts.iter().enumerate() {
        let way = part.piece.ways[0];
        let cut = Length::from_nm(way.h);
        total += match (bolt.repeat, way.y) {
            (Some(repeat), Held::Every { .. }) => whole_repeats(cut, repeat).map_or(cut, |(_, length)| length),
            _ => cut,
        };
        let first_side = part.of == PartOf::Left(1) && i > 0 && parts[i - 1].0 == *want;
        if let (Some(repeat), Match::HalfDrop, true) = (bolt.repeat, bolt.matching, first_side) {
            total += repeat.scale(1, 2, Direction::Up);
        }
    }
    total
}

/// A bound on what is bought beside lengths on hand: the area that they cannot hold.
fn bound_beyond(bolt: &Bolt, parts: &[(usize, join::Part)]) -> Length {
    let all: Vec<Piece> = parts.iter().map(|(_, part)| part.piece.clone()).collect();
    let held: Length = bolt.on_hand.iter().copied().sum();
    (Length::from_nm(bound::by_area(&all, bolt.usable.nm())) - held).max(Length::ZERO)
}

fn notes(bolt: &Bolt, parts: &[(usize, join::Part)], used: Length) -> Vec<String> {
    let mut notes = Vec::new();
    if let (Some(repeat), true) = (bolt.repeat, used > Length::ZERO) {
        let show = repeat.show_marked(bolt.unit);
        notes.push(match (bolt.pattern_start, bolt.spare_repeats) {
            (Some(start), _) => format!(
                "The first line of the pattern stands {} from the cut end: nothing is spared for it",
                start.show_marked(bolt.unit)
            ),
            (None, 0) => format!(
                "No repeat is bought to spare: ask the shop to cut where the plan starts in the pattern ({show} repeat)"
            ),
            (None, 1) => {
                format!("One repeat of {show} is bought to spare, because a shop cuts anywhere in the pattern")
            }
            (None, n) => {
                format!("{n} repeats of {show} are bought to spare, because a shop cuts anywhere in the pattern")
            }
        });
    }
    if bolt.shrinks_permille > 0 {
        notes.push(format!(
            "Lengths along the cloth are as it is bought; {}.{} % of them shrinks away",
            bolt.shrinks_permille / 10,
            bolt.shrinks_permille % 10
        ));
    }
    if parts.iter().any(|(_, part)| part.turned.contains(&true)) && bolt.is_patterned() {
        notes.push("Some pieces may be turned a quarter: look at the pattern before cutting".to_owned());
    }
    notes
}

#[cfg(test)]
mod tests;

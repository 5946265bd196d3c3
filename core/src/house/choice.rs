//! What is chosen for an opening's shade, and what the wall around it is.

use crate::length::Typed;
use serde::{Deserialize, Serialize};

/// Inside the opening or outside it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mount {
    /// Between the jambs, under the head.
    Inside,
    /// On the wall or trim, over the opening.
    Outside,
}

/// How the board of an outside mount is held.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Attach {
    /// On its face, flush: screwed straight through to the wall.
    Flush,
    /// Flat on the arms of L brackets.
    Brackets,
}

/// A dressed board by its trade size (PS 20: a 1x2 is 3/4 x 1 1/2 in).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
pub enum BoardSize {
    /// 3/4 x 1 1/2 in.
    #[serde(rename = "1x2")]
    OneByTwo,
    /// 3/4 x 2 1/2 in.
    #[serde(rename = "1x3")]
    OneByThree,
    /// 3/4 x 3 1/2 in.
    #[serde(rename = "1x4")]
    OneByFour,
    /// 1 1/2 x 1 1/2 in.
    #[serde(rename = "2x2")]
    TwoByTwo,
    /// 1 1/2 x 2 1/2 in.
    #[serde(rename = "2x3")]
    TwoByThree,
    /// 1 1/2 x 3 1/2 in.
    #[serde(rename = "2x4")]
    TwoByFour,
}

impl BoardSize {
    /// Its trade size: `1x2`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::OneByTwo => "1x2",
            Self::OneByThree => "1x3",
            Self::OneByFour => "1x4",
            Self::TwoByTwo => "2x2",
            Self::TwoByThree => "2x3",
            Self::TwoByFour => "2x4",
        }
    }
}

/// Where the foot of an outside mount stops.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Foot {
    /// Just above the sill.
    #[default]
    Sill,
    /// At the foot of the apron.
    Apron,
    /// Just above the floor.
    Floor,
}

/// How the shade is made.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Style {
    /// Flat, rings sewn to the lining.
    #[default]
    Flat,
    /// Flat, with ribs in pockets of the lining.
    FlatRibbed,
    /// A stitched tuck at every fold.
    Tucked,
    /// Soft looped folds that stand when it is down.
    Looped,
    /// Relaxed: no bottom bar, the foot hangs in a curve.
    Relaxed,
}

/// How the shade is lifted.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lift {
    /// No cord can be reached: a spring lift.
    #[default]
    NoReachableCord,
    /// A cord on a lock, with a cleat.
    CordLock,
    /// An endless chain held by a tensioner.
    ChainLoop,
    /// A motor.
    Motor,
}

/// The side the control hangs, seen from the room.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ControlSide {
    /// At the right.
    #[default]
    Right,
    /// At the left.
    Left,
}

/// What lines the shade.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lining {
    /// None.
    None,
    /// Plain lining.
    #[default]
    Plain,
    /// Blackout lining.
    Blackout,
}

/// What is behind the surface where the shade is fixed.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Backing {
    /// Not known until it is probed.
    #[default]
    Unknown,
    /// Solid wood: a head jamb, header or continuous timber.
    Wood,
    /// Plasterboard with studs at the given positions.
    Plasterboard,
    /// Brick, block, stone or concrete.
    Masonry,
    /// Steel.
    Steel,
}

/// What is around an opening that a tape does not say.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Wall {
    /// Behind the head lining, for an inside mount.
    #[serde(skip_serializing_if = "is_default")]
    pub head: Backing,
    /// Behind the wall above the trim, for an outside mount.
    #[serde(skip_serializing_if = "is_default")]
    pub above: Backing,
    /// Centre lines of studs, from the left edge of the trim (negative: farther left).
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub studs: Vec<Typed>,
    /// True when the face of the trim is moulded, not flat.
    #[serde(skip_serializing_if = "is_default")]
    pub trim_moulded: bool,
    /// True when there is no sill to stop at.
    #[serde(skip_serializing_if = "is_default")]
    pub no_sill: bool,
    /// True when there is no trim: the wall returns into the opening.
    #[serde(skip_serializing_if = "is_default")]
    pub no_trim: bool,
}

impl Wall {
    pub(super) fn is_unsaid(&self) -> bool {
        *self == Self::default()
    }
}

/// What was chosen for one shade; what is left out takes the house's default.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Choices {
    /// Inside or outside; advised from the readings when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mount: Option<Mount>,
    /// How an outside board is held; advised when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub attach: Option<Attach>,
    /// The board; a 1x2 when left out and it serves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub board: Option<BoardSize>,
    /// The bracket, by its name in the catalogue.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bracket: Option<String>,
    /// Where an outside shade stops.
    #[serde(skip_serializing_if = "is_default")]
    pub foot: Foot,
    /// How far past the trim it reaches each side.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side_overlap: Option<Typed>,
    /// How far the foot of the board or bracket stands above the trim.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub above_trim: Option<Typed>,
    /// True where light must be kept out: wider overlaps.
    #[serde(skip_serializing_if = "is_default")]
    pub dark: bool,
    /// How it is made.
    #[serde(skip_serializing_if = "is_default")]
    pub style: Style,
    /// Its cloth, by name in the job's `cloths`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cloth: Option<String>,
    /// Its lining.
    #[serde(skip_serializing_if = "is_default")]
    pub lining: Lining,
    /// True with an interlining.
    #[serde(skip_serializing_if = "is_default")]
    pub interlined: bool,
    /// The number of folds, if the maker wants another than the one worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub folds: Option<u32>,
    /// How deep a board-mounted valance over it hangs, if there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub valance: Option<Typed>,
    /// How it is lifted.
    #[serde(skip_serializing_if = "is_default")]
    pub lift: Lift,
    /// The side of the control.
    #[serde(skip_serializing_if = "is_default")]
    pub control: ControlSide,
}

impl Choices {
    pub(super) fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// How a pattern meets itself from one width to the next.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Match {
    /// At the same height.
    #[default]
    Straight,
    /// Half a repeat lower.
    HalfDrop,
}

/// Whether a cloth has an up and a down.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// One way only: every piece the same way up.
    #[default]
    OneWay,
    /// No direction: it may be turned (railroaded) if its repeat allows.
    AnyWay,
}

/// A cloth as it is bought.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cloth {
    /// The name openings choose it by.
    pub name: String,
    /// Full width, selvages included.
    pub width: Typed,
    /// Usable width, selvages left out; the full width when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usable: Option<Typed>,
    /// Vertical repeat of the pattern; plain when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat: Option<Typed>,
    /// Horizontal repeat of the pattern.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat_across: Option<Typed>,
    /// How the pattern meets from width to width.
    #[serde(default, skip_serializing_if = "is_default")]
    pub matching: Match,
    /// Whether it has an up and a down.
    #[serde(default, skip_serializing_if = "is_default")]
    pub direction: Direction,
    /// Shrinkage along its length in tenths of a percent.
    #[serde(default, skip_serializing_if = "is_default")]
    pub shrinks_permille: u32,
    /// Weight in grams per square metre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight_gsm: Option<u32>,
    /// Price of a yard (a house in inches) or a metre, in hundredths of the currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_cents: Option<u64>,
    /// Lengths on hand: a roll, or pieces.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub on_hand: Vec<Typed>,
}

fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

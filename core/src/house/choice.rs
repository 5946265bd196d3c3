//! What is chosen for an opening's shade, and what the wall around it is.

use crate::length::Typed;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

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
    /// Flat under the ceiling, screwed up into it.
    Ceiling,
    /// On its face, screwed straight through to the face of a beam or frame.
    Face,
}

/// A dressed board by the name it is asked for by, thickness by width: `1x2` is the trade size of 3/4 x 1 1/2 in
/// (PS 20), `18x44` a board of so many millimetres. Its actual sizes are the catalogue's.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct BoardSize {
    thick: u16,
    wide: u16,
}

impl BoardSize {
    /// The usual board of a house in inches.
    pub const ONE_BY_TWO: Self = Self { thick: 1, wide: 2 };

    /// Reads a name: two whole numbers with an `x` between.
    pub fn read(name: &str) -> Option<Self> {
        let number = |text: &str| -> Option<u16> {
            let plain = (1..=3).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
            text.parse().ok().filter(|n| plain && *n > 0 && !text.starts_with('0'))
        };
        let (thick, wide) = name.split_once('x')?;
        Some(Self { thick: number(thick)?, wide: number(wide)? })
    }

    /// Its name: `1x2`.
    pub fn name(self) -> String {
        format!("{}x{}", self.thick, self.wide)
    }
}

impl Serialize for BoardSize {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(&self.name())
    }
}

impl<'de> Deserialize<'de> for BoardSize {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let name = String::deserialize(from)?;
        Self::read(&name).ok_or_else(|| {
            D::Error::custom(format!(
                "\"{name}\" is not a board; write thickness by width, such as \"1x2\" or \"18x44\""
            ))
        })
    }
}

/// How many shades alike an opening gets, from this one reading: 1 to 99.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct ShadeCount(u32);

impl ShadeCount {
    /// The most.
    const MOST: u32 = 99;

    /// A number of shades, if it is 1 to 99.
    pub const fn new(count: u32) -> Option<Self> {
        if count >= 1 && count <= Self::MOST { Some(Self(count)) } else { None }
    }

    /// How many.
    pub const fn get(self) -> u32 {
        self.0
    }
}

impl Default for ShadeCount {
    fn default() -> Self {
        Self(1)
    }
}

impl Serialize for ShadeCount {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_u32(self.0)
    }
}

impl<'de> Deserialize<'de> for ShadeCount {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let count = i64::deserialize(from)?;
        u32::try_from(count).ok().and_then(Self::new).ok_or_else(|| {
            D::Error::custom(format!("{count} shades alike cannot be; write a whole number from 1 to {}", Self::MOST))
        })
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
    /// An endless cord round a pulley on the board, held by a tensioner.
    EndlessCord,
    /// Raised from the foot and lowered from the top: two sets of cords, each on its own lock.
    TopDownBottomUp,
}

impl Lift {
    /// True where a cord or chain hangs in reach.
    pub const fn is_reachable(self) -> bool {
        matches!(self, Self::CordLock | Self::ChainLoop | Self::EndlessCord | Self::TopDownBottomUp)
    }

    /// True where each column's cord runs across to a lock and hangs down to be pulled.
    pub const fn is_pulled(self) -> bool {
        matches!(self, Self::CordLock | Self::TopDownBottomUp)
    }

    /// True where a chain or cord goes round and round.
    pub const fn is_endless(self) -> bool {
        matches!(self, Self::ChainLoop | Self::EndlessCord)
    }

    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::NoReachableCord => "no cord in reach",
            Self::CordLock => "cord lock and cleat",
            Self::ChainLoop => "chain, held tight",
            Self::Motor => "motor",
            Self::EndlessCord => "endless cord, held tight",
            Self::TopDownBottomUp => "from top and bottom, two cords",
        }
    }
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

/// What is below an opening, as far as a caution hangs on it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Below {
    /// Floor, or nothing that matters.
    #[default]
    Nothing,
    /// A radiator or another heater.
    Radiator,
    /// A range, a hob or an open fire.
    Range,
    /// Stairs.
    Stairs,
    /// A basin or a sink.
    Basin,
    /// A bed, a seat or a table.
    Furniture,
}

impl Below {
    /// True where something stands there that a shade to the apron or the floor meets.
    pub const fn stands(self) -> bool {
        matches!(self, Self::Radiator | Self::Range | Self::Basin | Self::Furniture)
    }
}

/// The shape of an opening's head.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HeadShape {
    /// Level, as far as a builder makes it so.
    #[default]
    Level,
    /// An arch: the heights at the jambs end where it begins.
    Arched,
    /// It slopes from one jamb to the other, as under a roof.
    Sloped,
}

/// Where the handle is that has to be reached.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HandleSide {
    /// Nobody said, or there is none.
    #[default]
    Unsaid,
    /// At the left.
    Left,
    /// In the middle.
    Middle,
    /// At the right.
    Right,
}

/// The angle between two walls as it is seen in the room, in whole degrees: 90 in the corner of a room, 135 in a bay of
/// three faces, 180 where the wall runs on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct CornerAngle(u16);

impl CornerAngle {
    const LEAST: u16 = 45;
    const MOST: u16 = 315;

    /// An angle, if it is 45 to 315 degrees.
    pub const fn new(degrees: u16) -> Option<Self> {
        if degrees >= Self::LEAST && degrees <= Self::MOST { Some(Self(degrees)) } else { None }
    }

    /// In degrees.
    pub const fn degrees(self) -> u16 {
        self.0
    }
}

impl Serialize for CornerAngle {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_u16(self.0)
    }
}

impl<'de> Deserialize<'de> for CornerAngle {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let degrees = i64::deserialize(from)?;
        u16::try_from(degrees).ok().and_then(Self::new).ok_or_else(|| {
            D::Error::custom(format!(
                "a corner of {degrees} degrees cannot be; write whole degrees from {} to {}, such as 135",
                Self::LEAST,
                Self::MOST
            ))
        })
    }
}

/// What is around an opening that a tape does not say.
#[allow(clippy::struct_excessive_bools, reason = "each is a fact of its own, as the job file has it")]
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Wall {
    /// Behind the head lining, for an inside mount.
    #[serde(skip_serializing_if = "is_default")]
    pub head: Backing,
    /// Behind the wall above the trim, for an outside mount; of a beam or frame, the beam itself.
    #[serde(skip_serializing_if = "is_default")]
    pub above: Backing,
    /// Behind the ceiling, for a board under it.
    #[serde(skip_serializing_if = "is_default")]
    pub ceiling: Backing,
    /// Centre lines of the joists that run towards the wall, from the left edge of the trim (negative: farther left).
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub joists: Vec<Typed>,
    /// Centre lines of studs, from the left edge of the trim (negative: farther left).
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub studs: Vec<Typed>,
    /// The shape of its head.
    #[serde(skip_serializing_if = "is_default")]
    pub head_shape: HeadShape,
    /// Where the handle is that has to be reached.
    #[serde(skip_serializing_if = "is_default")]
    pub handle: HandleSide,
    /// The angle to the next face at the left, in a bay or a corner.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub corner_left: Option<CornerAngle>,
    /// The angle to the next face at the right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub corner_right: Option<CornerAngle>,
    /// True when the face of the trim is moulded, not flat.
    #[serde(skip_serializing_if = "is_default")]
    pub trim_moulded: bool,
    /// True when there is no sill to stop at.
    #[serde(skip_serializing_if = "is_default")]
    pub no_sill: bool,
    /// True when there is no trim: the wall returns into the opening.
    #[serde(skip_serializing_if = "is_default")]
    pub no_trim: bool,
    /// What is below the opening.
    #[serde(skip_serializing_if = "is_default")]
    pub below: Below,
    /// True when the wall where it is fixed is tiled.
    #[serde(skip_serializing_if = "is_default")]
    pub tiled: bool,
    /// True when a door swings under or through the shade.
    #[serde(skip_serializing_if = "is_default")]
    pub door: bool,
    /// True when the opening is a way out in a fire.
    #[serde(skip_serializing_if = "is_default")]
    pub escape: bool,
    /// True in a public room or a letting, where cloth may have to resist flame.
    #[serde(skip_serializing_if = "is_default")]
    pub public: bool,
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
    /// True where a person left open whether it hangs inside or outside: both are measured for and worked out, and
    /// nothing is cut before it is chosen.
    #[serde(skip_serializing_if = "is_default")]
    pub undecided: bool,
    /// How an outside board is held; advised when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub attach: Option<Attach>,
    /// How many shades alike are made to this opening.
    #[serde(skip_serializing_if = "is_default")]
    pub count: ShadeCount,
    /// The board; the first of the catalogue when left out and it serves.
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
    /// How thick the packing behind the board is, of a board on its face; worked out when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub packing: Option<Typed>,
    /// How far the back edge of a board under the ceiling stands off the wall; worked out when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub off_wall: Option<Typed>,
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
    /// The finished width, set by hand instead of worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finished_width: Option<Typed>,
    /// The finished length, set by hand instead of worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finished_length: Option<Typed>,
    /// From the top of the board to the top row of rings, set by hand instead of worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head: Option<Typed>,
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
    /// What its maker calls it: pattern and colour, as it is ordered.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub code: String,
    /// Who it is bought from.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub supplier: String,
    /// Full width, selvages included.
    pub width: Typed,
    /// Usable width, selvages left out; when left out, the full width less the selvages that are given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usable: Option<Typed>,
    /// Width of the selvage at the left, face up; half of what the usable width leaves when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub selvage_left: Option<Typed>,
    /// Width of the selvage at the right, face up; half of what the usable width leaves when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub selvage_right: Option<Typed>,
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
    /// Price of what [`Self::price_per`] says, in hundredths of the currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_cents: Option<u64>,
    /// True where it is the client's own: nothing is bought of it, and its handling is charged.
    #[serde(default, skip_serializing_if = "is_default")]
    pub clients_own: bool,
    /// The length that the price is for; a yard (a house in inches) or a metre when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_per: Option<Typed>,
    /// True when no more of it is to be had: the client's own, or what is left of one that is made no more.
    #[serde(default, skip_serializing_if = "is_default")]
    pub no_more: bool,
    /// A remark.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Lengths on hand: a roll, or pieces.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub on_hand: Vec<Typed>,
}

fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

//! Exact lengths. Read this first if you add any number that is cut, bought or hung.
//!
//! A [`Length`] is a whole number of nanometres, so that 1/64 in (396,875 nm) and 0.1 mm are both exact.
//! There is no float here and no silent rounding: what must be rounded names its [`Grain`] and [`Direction`].
//! [`Typed`] keeps a length beside the words it was written in.
//!
//! Division has no operator: how a length is shared out (equal parts, and who gets the remainder) is a
//! decision, so it is made with [`Length::split`] or a named rounding.

mod parse;
mod show;
mod typed;

pub use parse::{LengthProblem, parse, parse_signed};
pub use typed::{Typed, with_default_unit};

use serde::{Deserialize, Serialize};

/// Nanometres in an inch: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
pub const NM_PER_INCH: i64 = 25_400_000;
/// Newtons in a pound-force: 4.4482216152605 exactly (0.45359237 kg x 9.80665 m/s2).
pub const NEWTONS_PER_LBF: f64 = 4.448_221_615_260_5;
/// Nanometres in a millimetre.
pub const NM_PER_MM: i64 = 1_000_000;

/// An exact length in whole nanometres. May be negative where it is a difference (a gap, a lean).
///
/// ```
/// use hangtrue_core::length::{Length, LengthUnit};
/// let smallest = Length::parse("35 13/16", LengthUnit::Inch).unwrap();
/// let finished = smallest - Length::inches(3, 8);
/// assert_eq!(finished.show(LengthUnit::Inch), "35 7/16");
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub struct Length(i64);

/// The unit a length is written in, or that a bare number takes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default, Serialize, Deserialize)]
pub enum LengthUnit {
    /// Inches and fractions: `34 3/8`.
    #[default]
    #[serde(rename = "in")]
    Inch,
    /// Feet, inches and fractions: `2' 10 3/8"`.
    #[serde(rename = "ft")]
    Foot,
    /// Millimetres: `873`.
    #[serde(rename = "mm")]
    Millimetre,
    /// Centimetres: `87.3`.
    #[serde(rename = "cm")]
    Centimetre,
    /// Metres: `0.873`.
    #[serde(rename = "m")]
    Metre,
}

impl LengthUnit {
    /// The short name written after a number: `in`, `ft`, `mm`, `cm`, `m`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Inch => "in",
            Self::Foot => "ft",
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
        }
    }

    /// True for inches and feet.
    pub const fn is_imperial(self) -> bool {
        matches!(self, Self::Inch | Self::Foot)
    }

    /// One of this unit.
    pub const fn one(self) -> Length {
        Length(match self {
            Self::Inch => NM_PER_INCH,
            Self::Foot => 12 * NM_PER_INCH,
            Self::Millimetre => NM_PER_MM,
            Self::Centimetre => 10 * NM_PER_MM,
            Self::Metre => 1000 * NM_PER_MM,
        })
    }
}

/// The step a rounded length is a whole number of.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Grain(i64);

impl Grain {
    /// 1/64 in.
    pub const INCH_64: Self = Self(NM_PER_INCH / 64);
    /// 1/32 in.
    pub const INCH_32: Self = Self(NM_PER_INCH / 32);
    /// 1/16 in, the grain of a tape in inches.
    pub const INCH_16: Self = Self(NM_PER_INCH / 16);
    /// 1/8 in, the coarsest that is useful.
    pub const INCH_8: Self = Self(NM_PER_INCH / 8);
    /// 1/4 in.
    pub const INCH_4: Self = Self(NM_PER_INCH / 4);
    /// 1 in.
    pub const INCH: Self = Self(NM_PER_INCH);
    /// 1 mm, the grain of a tape in millimetres.
    pub const MM: Self = Self(NM_PER_MM);
    /// 0.1 mm.
    pub const MM_TENTH: Self = Self(NM_PER_MM / 10);

    /// A grain of any positive length; `None` for zero or less.
    pub const fn of(step: Length) -> Option<Self> {
        if step.0 > 0 { Some(Self(step.0)) } else { None }
    }

    /// The usual reading grain of a unit: 1/16 in or 1 mm.
    pub const fn of_tape(unit: LengthUnit) -> Self {
        if unit.is_imperial() { Self::INCH_16 } else { Self::MM }
    }

    /// The step itself.
    pub const fn step(self) -> Length {
        Length(self.0)
    }
}

/// Which way a rounding goes.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Direction {
    /// To the next grain below (towards minus infinity): what must fit inside.
    Down,
    /// To the next grain above: what must be bought, or must clear.
    Up,
    /// To the nearest grain, a tie to the even one (NIST Handbook 44 sec. 10.3).
    Nearest,
}

impl Length {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// The longest length that can be read from text: 10 km. Anything longer is a slip of the hand.
    pub const LONGEST_READ: Self = Self(10_000 * 1000 * NM_PER_MM);

    /// From whole nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Self(nm)
    }

    /// Whole nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// `numerator / denominator` inches, for constants: `Length::inches(3, 8)`.
    ///
    /// # Panics
    /// At compile time (or run time) when the denominator does not divide an inch into whole nanometres.
    pub const fn inches(numerator: i64, denominator: i64) -> Self {
        assert!(denominator > 0 && NM_PER_INCH % denominator == 0, "not a fraction of an inch in whole nanometres");
        Self(NM_PER_INCH / denominator * numerator)
    }

    /// Whole inches.
    pub const fn whole_inches(inches: i64) -> Self {
        Self(inches * NM_PER_INCH)
    }

    /// Whole millimetres.
    pub const fn mm(mm: i64) -> Self {
        Self(mm * NM_PER_MM)
    }

    /// Reads what people write; bare numbers take `unit`. See [`parse`].
    ///
    /// # Errors
    /// [`LengthProblem`] says what is wrong, at which character, and what would be right.
    pub fn parse(text: &str, unit: LengthUnit) -> Result<Self, LengthProblem> {
        parse(text, unit)
    }

    /// Sum, or `None` on overflow. The `+` operator panics instead: lengths that were read are at most
    /// [`Self::LONGEST_READ`], so sums of thousands of them cannot overflow.
    pub const fn checked_add(self, other: Self) -> Option<Self> {
        match self.0.checked_add(other.0) {
            Some(nm) => Some(Self(nm)),
            None => None,
        }
    }

    /// Difference, or `None` on overflow.
    pub const fn checked_sub(self, other: Self) -> Option<Self> {
        match self.0.checked_sub(other.0) {
            Some(nm) => Some(Self(nm)),
            None => None,
        }
    }

    /// A whole multiple, or `None` on overflow.
    pub const fn checked_mul(self, times: i64) -> Option<Self> {
        match self.0.checked_mul(times) {
            Some(nm) => Some(Self(nm)),
            None => None,
        }
    }

    /// The size without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// True below zero.
    pub const fn is_negative(self) -> bool {
        self.0 < 0
    }

    /// Rounds to whole grains in a named direction.
    ///
    /// ```
    /// use hangtrue_core::length::{Direction, Grain, Length};
    /// let half = Length::inches(3, 32); // midway between 1/16 and 2/16
    /// assert_eq!(half.round(Grain::INCH_16, Direction::Nearest), Length::inches(2, 16)); // the even graduation
    /// assert_eq!(half.round(Grain::INCH_16, Direction::Down), Length::inches(1, 16));
    /// ```
    #[must_use]
    pub const fn round(self, grain: Grain, direction: Direction) -> Self {
        let below = self.0.div_euclid(grain.0);
        let rest = self.0.rem_euclid(grain.0);
        let whole = match direction {
            Direction::Down => below,
            Direction::Up => below + (rest > 0) as i64,
            Direction::Nearest => {
                let twice = rest * 2;
                if twice > grain.0 || (twice == grain.0 && below % 2 != 0) { below + 1 } else { below }
            }
        };
        Self(whole * grain.0)
    }

    /// How many whole `part`s cover this length: 216 in of 27 in strips is 8, and one nanometre more is 9.
    /// `None` when `part` is not positive; zero for a length of zero or less.
    pub const fn count_up(self, part: Self) -> Option<i64> {
        if part.0 <= 0 {
            None
        } else if self.0 <= 0 {
            Some(0)
        } else {
            Some((self.0 - 1) / part.0 + 1)
        }
    }

    /// How many whole `part`s go into this length. `None` when `part` is not positive.
    pub const fn count_down(self, part: Self) -> Option<i64> {
        if part.0 <= 0 {
            None
        } else if self.0 <= 0 {
            Some(0)
        } else {
            Some(self.0 / part.0)
        }
    }

    /// The `i`-th of the `n + 1` marks that part this length into `n` equal parts, each mark rounded down to
    /// the nanometre from the exact place (so errors never add up): mark 0 is zero, mark `n` the whole.
    ///
    /// # Panics
    /// When `n` is zero or less.
    #[must_use]
    pub fn split(self, n: i64, i: i64) -> Self {
        assert!(n > 0, "a length is split in at least one part");
        let mark = (i128::from(self.0) * i128::from(i)).div_euclid(i128::from(n));
        Self(i64::try_from(mark).expect("a part of a length is no longer than an i64"))
    }

    /// This length times `numerator / denominator`, rounded to the nanometre in a named direction.
    ///
    /// # Panics
    /// When the denominator is not positive, or the result does not fit.
    #[must_use]
    pub fn scale(self, numerator: i64, denominator: i64, direction: Direction) -> Self {
        assert!(denominator > 0, "a scale's denominator is positive");
        let product = i128::from(self.0) * i128::from(numerator);
        let d = i128::from(denominator);
        let below = product.div_euclid(d);
        let rest = product.rem_euclid(d);
        let whole = match direction {
            Direction::Down => below,
            Direction::Up => below + i128::from(rest > 0),
            Direction::Nearest => {
                if rest * 2 > d || (rest * 2 == d && below % 2 != 0) {
                    below + 1
                } else {
                    below
                }
            }
        };
        Self(i64::try_from(whole).expect("a scaled length fits"))
    }
}

impl std::ops::Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        self.checked_add(other).expect("lengths of a house do not overflow")
    }
}

impl std::ops::Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self.checked_sub(other).expect("lengths of a house do not overflow")
    }
}

impl std::ops::Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl std::ops::Mul<i64> for Length {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        self.checked_mul(times).expect("lengths of a house do not overflow")
    }
}

impl std::ops::AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl std::ops::SubAssign for Length {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl std::iter::Sum for Length {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::ZERO, |total, part| total + part)
    }
}

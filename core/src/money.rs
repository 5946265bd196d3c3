//! Money: a whole number of the smallest units of one currency. No float, no rounding in silence.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::iter::Sum;
use std::ops::{Add, Neg, Sub};

/// A currency by its code of ISO 4217: `USD`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Currency([u8; 3]);

/// The currencies whose smallest unit is not a hundredth, by ISO 4217 (list one of its maintenance agency); checked against
/// that list in `tests/peers/quotes.py`.
const NOT_HUNDREDTHS: [(&[&str], u32); 3] = [
    (
        &[
            "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND", "VUV", "XAF",
            "XOF", "XPF",
        ],
        0,
    ),
    (&["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"], 3),
    (&["CLF", "UYW"], 4),
];

impl Currency {
    /// The one that is taken until a workroom names its own.
    pub const USUAL: Self = Self(*b"USD");

    /// Reads a code: three letters.
    pub fn read(code: &str) -> Option<Self> {
        let letters: [u8; 3] = code.trim().as_bytes().try_into().ok()?;
        letters.iter().all(u8::is_ascii_alphabetic).then(|| Self(letters.map(|letter| letter.to_ascii_uppercase())))
    }

    /// Its code.
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).expect("a currency's code is three ASCII letters")
    }

    /// How many decimals its smallest unit has.
    pub fn decimals(self) -> u32 {
        NOT_HUNDREDTHS.iter().find(|(codes, _)| codes.contains(&self.code())).map_or(2, |(_, decimals)| *decimals)
    }

    /// An amount in words: `1,234.50 USD`.
    pub fn show(self, money: Money) -> String {
        format!("{} {}", self.number(money), self.code())
    }

    /// An amount without its currency: `1,234.50`.
    pub fn number(self, money: Money) -> String {
        let one = 10_u64.pow(self.decimals());
        let (whole, rest) = (money.0.unsigned_abs() / one, money.0.unsigned_abs() % one);
        let digits = whole.to_string();
        let mut grouped = String::new();
        for (i, digit) in digits.chars().enumerate() {
            if i > 0 && (digits.len() - i).is_multiple_of(3) {
                grouped.push(',');
            }
            grouped.push(digit);
        }
        let sign = if money.0 < 0 { "-" } else { "" };
        match self.decimals() {
            0 => format!("{sign}{grouped}"),
            decimals => format!("{sign}{grouped}.{rest:0width$}", width = decimals as usize),
        }
    }

    /// Reads an amount as people write it: `1,234.50`, `12`, `0.5`. Nothing for more decimals than the currency has.
    pub fn read_amount(self, text: &str) -> Option<Money> {
        let plain: String = text.trim().chars().filter(|c| !matches!(c, ',' | ' ' | '\u{a0}')).collect();
        let (whole, decimals) = plain.split_once('.').unwrap_or((&plain, ""));
        let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        let places = self.decimals() as usize;
        if whole.is_empty() || !digits(whole) || !digits(decimals) || decimals.len() > places {
            return None;
        }
        let rest = if places == 0 { 0 } else { format!("{decimals:0<places$}").parse::<i64>().ok()? };
        let money = whole.parse::<i64>().ok()?.checked_mul(10_i64.pow(self.decimals()))?.checked_add(rest)?;
        (money <= MOST).then_some(Money(money))
    }

    /// What a price list that counts in hundredths says, in this currency's smallest units.
    pub fn of_hundredths(self, hundredths: u64) -> Money {
        let hundredths = i64::try_from(hundredths).unwrap_or(MOST).min(MOST);
        Money(hundredths).times(10_i64.pow(self.decimals()), 100)
    }
}

impl Serialize for Currency {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.code())
    }
}

impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let code = String::deserialize(from)?;
        Self::read(&code).ok_or_else(|| {
            serde::de::Error::custom(format!(
                "\"{code}\" is no currency; write its three letters, such as \"USD\" or \"EUR\""
            ))
        })
    }
}

/// No amount is larger: a thousand million of the smallest units of any currency and a thousand times more.
const MOST: i64 = 1_000_000_000_000;

/// An amount, in the smallest units of its currency.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Money(pub i64);

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// True for nothing.
    #[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
    pub const fn is_zero(&self) -> bool {
        self.0 == 0
    }

    /// `over / under` of it, to the nearest smallest unit, halves away from zero: the one rounding of prices.
    #[must_use]
    pub fn times(self, over: i64, under: i64) -> Self {
        let (exact, under) = (i128::from(self.0) * i128::from(over), i128::from(under).max(1));
        let half = if exact < 0 { -(under / 2) } else { under / 2 };
        // An odd divisor has no half: then adding the whole half below it rounds to the nearest.
        Self(i64::try_from((exact + half) / under).unwrap_or(if exact < 0 { i64::MIN } else { i64::MAX }))
    }

    /// So many percent of it.
    #[must_use]
    pub fn percent(self, percent: i64) -> Self {
        self.times(percent, 100)
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Money {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn amounts_are_shown_with_the_decimals_of_their_currency() {
        let of = |code: &str| Currency::read(code).unwrap();
        assert_eq!(of("USD").show(Money(410_440)), "4,104.40 USD");
        assert_eq!(of("jpy").show(Money(1_234_567)), "1,234,567 JPY");
        assert_eq!(of("KWD").show(Money(-1_005)), "-1.005 KWD");
        assert_eq!(Currency::read("US"), None);
        assert_eq!(Currency::read("U5D"), None);
        assert_eq!(of("JPY").of_hundredths(1_250), Money(13), "12.50 of a price list is 13 yen: a half goes up");
        assert_eq!(of("KWD").of_hundredths(1_250), Money(12_500));
    }

    #[test]
    fn what_is_no_amount_is_not_read() {
        for text in ["", ".5", "1.234", "-3", "12 USD", "1e3", "9999999999999"] {
            assert_eq!(Currency::USUAL.read_amount(text), None, "{text}");
        }
        assert_eq!(Currency::USUAL.read_amount(" 1,234.5 "), Some(Money(123_450)));
        assert_eq!(Currency::read("JPY").unwrap().read_amount("12.5"), None);
    }

    proptest! {
        #[test]
        fn a_shown_amount_reads_back(units in 0..MOST, code in prop::sample::select(vec!["USD", "JPY", "KWD", "CLF"])) {
            let currency = Currency::read(code).unwrap();
            prop_assert_eq!(currency.read_amount(&currency.number(Money(units))), Some(Money(units)));
        }

        #[test]
        fn a_part_is_the_nearest_and_a_half_goes_away_from_zero(units in -1_000_000_i64..1_000_000, over in 0_i64..10_000, under in 1_i64..10_000) {
            let got = i128::from(Money(units).times(over, under).0) * i128::from(under);
            let exact = i128::from(units) * i128::from(over);
            let off = (got - exact).abs() * 2;
            prop_assert!(off <= i128::from(under));
            if off == i128::from(under) {
                prop_assert!(got.abs() > exact.abs());
            }
        }
    }
}

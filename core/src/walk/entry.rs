//! Half-typed digits: what stands on the pad before it is accepted, kept as it was typed.

use crate::length::{LengthProblem, LengthUnit, Typed};
use serde::{Deserialize, Serialize};
use std::fmt::Write as _;

/// Digits of a whole number at most: 99999 mm is 100 m, longer than any wall.
const MOST_DIGITS: usize = 5;

/// Digits behind the point of an inch at most: 0.8125 is 13/16.
const MOST_INCH_PARTS: usize = 4;

/// One key of the pad that adds to a number or takes off it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PadKey {
    /// A digit, 0 to 9.
    Digit(u8),
    /// The first two digits of a long number in one touch, 10 to 24: millimetres only.
    Pair(u8),
    /// A fraction of an inch in sixteenths, 1 to 15; a second one takes the place of the first.
    Sixteenths(u8),
    /// What was typed are feet: inches follow.
    Feet,
    /// The decimal point: tenths of a millimetre, or parts of an inch from a keyboard that has one.
    Point,
    /// The other sign, where a reading has a side.
    Sign,
    /// Takes off the last key.
    Erase,
}

/// What was typed at one place and not yet accepted.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Entry {
    /// True with a minus sign before it.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    minus: bool,
    /// Feet, once the feet key was pressed.
    #[serde(skip_serializing_if = "Option::is_none")]
    feet: Option<String>,
    /// Whole inches or millimetres.
    #[serde(skip_serializing_if = "String::is_empty")]
    whole: String,
    /// Digits after the point, once the point was pressed.
    #[serde(skip_serializing_if = "Option::is_none")]
    tenths: Option<String>,
    /// Sixteenths of an inch, 0 when none were chosen.
    #[serde(skip_serializing_if = "is_zero")]
    sixteenths: u8,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde's skip_serializing_if hands over a reference")]
const fn is_zero(n: &u8) -> bool {
    *n == 0
}

impl Entry {
    /// True when nothing is typed.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// True when `key` would change the number in this unit, at a place that has a sign or not.
    pub fn takes(&self, key: PadKey, unit: LengthUnit, signed: bool) -> bool {
        let fine = self.sixteenths > 0 || self.tenths.is_some();
        match key {
            PadKey::Digit(0..=9) => match &self.tenths {
                Some(tenths) => tenths.len() < if unit.is_imperial() { MOST_INCH_PARTS } else { 1 },
                // A zero alone is a whole reading; digits behind it would be a slip.
                None => self.sixteenths == 0 && self.whole.len() < MOST_DIGITS && self.whole != "0",
            },
            PadKey::Pair(10..=24) => !unit.is_imperial() && self.whole.is_empty() && self.feet.is_none() && !fine,
            PadKey::Sixteenths(1..=15) => unit.is_imperial() && self.tenths.is_none(),
            PadKey::Feet => unit.is_imperial() && self.feet.is_none() && !self.whole.is_empty() && !fine,
            PadKey::Point => !self.whole.is_empty() && self.feet.is_none() && !fine,
            PadKey::Sign => signed,
            PadKey::Erase => !self.is_empty(),
            PadKey::Digit(_) | PadKey::Pair(_) | PadKey::Sixteenths(_) => false,
        }
    }

    /// Puts one key on it; a key that is not live changes nothing.
    pub fn press(&mut self, key: PadKey, unit: LengthUnit, signed: bool) {
        if !self.takes(key, unit, signed) {
            return;
        }
        match key {
            PadKey::Digit(digit) => {
                self.tenths.as_mut().unwrap_or(&mut self.whole).push(char::from(b'0' + digit));
            }
            PadKey::Pair(pair) => self.whole = pair.to_string(),
            PadKey::Sixteenths(sixteenths) => self.sixteenths = sixteenths,
            PadKey::Feet => self.feet = Some(std::mem::take(&mut self.whole)),
            PadKey::Point => self.tenths = Some(String::new()),
            PadKey::Sign => self.minus = !self.minus,
            PadKey::Erase => self.erase(),
        }
    }

    fn erase(&mut self) {
        if self.sixteenths > 0 {
            self.sixteenths = 0;
        } else if let Some(tenths) = &mut self.tenths {
            if tenths.pop().is_none() {
                self.tenths = None;
            }
        } else if self.whole.pop().is_some() {
        } else if let Some(feet) = self.feet.take() {
            self.whole = feet;
        } else {
            self.minus = false;
        }
    }

    /// The sixteenths that are chosen, 0 for none.
    pub const fn sixteenths(&self) -> u8 {
        self.sixteenths
    }

    /// What was typed, as it is written in this unit: `34 3/8`, `2' 10 3/8"`, `873.5`.
    pub fn text(&self) -> String {
        let (mut parts, mut of) = (self.sixteenths, 16);
        while parts > 0 && parts.is_multiple_of(2) {
            parts /= 2;
            of /= 2;
        }
        let mut text = String::new();
        if self.minus {
            text.push('-');
        }
        if let Some(feet) = &self.feet {
            text.push_str(feet);
            text.push('\'');
        }
        let space = |text: &mut String| {
            if text.chars().last().is_some_and(|last| last != '-') {
                text.push(' ');
            }
        };
        if !self.whole.is_empty() {
            space(&mut text);
            text.push_str(&self.whole);
        }
        if let Some(tenths) = &self.tenths {
            text.push('.');
            text.push_str(tenths);
        }
        if parts > 0 {
            space(&mut text);
            let _ = write!(text, "{parts}/{of}");
        }
        if self.feet.is_some() && !(self.whole.is_empty() && parts == 0) {
            text.push('"');
        }
        text
    }

    /// The length that stands on the pad. `None` while nothing that could be a number is typed. In feet, digits
    /// before the feet key are still inches: what is shown is what is kept.
    ///
    /// # Errors
    /// As [`crate::length::parse`]: a length over 10 km, a fraction where the unit has none.
    pub fn length(&self, unit: LengthUnit) -> Result<Option<Typed>, LengthProblem> {
        if self.feet.is_none() && self.whole.is_empty() && self.sixteenths == 0 {
            return Ok(None);
        }
        let text = self.text();
        let bare = if unit == LengthUnit::Foot { LengthUnit::Inch } else { unit };
        Typed::read(text.trim_end_matches('.'), bare).map(Some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::length::Length;
    use proptest::prelude::*;

    fn typed(keys: &[PadKey], unit: LengthUnit) -> Entry {
        let mut entry = Entry::default();
        for key in keys {
            entry.press(*key, unit, true);
        }
        entry
    }

    #[test]
    fn inches_feet_and_millimetres() {
        use PadKey::{Digit, Erase, Feet, Pair, Point, Sign, Sixteenths};
        let inch = LengthUnit::Inch;
        let cases: [(&[PadKey], LengthUnit, &str, Length); 9] = [
            (&[Digit(3), Digit(4), Sixteenths(6)], inch, "34 3/8", Length::inches(275, 8)),
            (&[Sixteenths(1)], inch, "1/16", Length::inches(1, 16)),
            (&[Digit(3), Sixteenths(6), Sixteenths(9)], inch, "3 9/16", Length::inches(57, 16)),
            (&[Digit(3), Sixteenths(6), Erase, Erase, Digit(5)], inch, "5", Length::whole_inches(5)),
            (&[Sign, Sixteenths(2)], inch, "-1/8", Length::inches(-1, 8)),
            (
                &[Digit(2), Feet, Digit(1), Digit(0), Sixteenths(6)],
                LengthUnit::Foot,
                "2' 10 3/8\"",
                Length::inches(275, 8),
            ),
            (&[Digit(3), Feet], LengthUnit::Foot, "3'", Length::whole_inches(36)),
            (&[Pair(15), Digit(2), Digit(4)], LengthUnit::Millimetre, "1524", Length::mm(1524)),
            (
                &[Digit(8), Digit(7), Digit(3), Point, Digit(5)],
                LengthUnit::Millimetre,
                "873.5",
                Length::from_nm(873_500_000),
            ),
        ];
        for (keys, unit, text, length) in cases {
            let entry = typed(keys, unit);
            assert_eq!(entry.text(), text);
            assert_eq!(entry.length(unit).unwrap().unwrap().value(), length, "{text}");
        }
        // From a keyboard that has a point: 34.375, never 34375.
        let keys = [Digit(3), Digit(4), Point, Digit(3), Digit(7), Digit(5)];
        assert_eq!(typed(&keys, inch).length(inch).unwrap().unwrap().value(), Length::inches(275, 8));
        assert_eq!(typed(&[Sign], inch).length(inch), Ok(None));
        assert_eq!(
            typed(&[Digit(8), Point], LengthUnit::Millimetre).length(LengthUnit::Millimetre).unwrap().unwrap().text(),
            "8"
        );
    }

    #[test]
    fn another_unit_keeps_what_was_typed() {
        let entry = typed(&[PadKey::Digit(8), PadKey::Digit(7), PadKey::Digit(3)], LengthUnit::Inch);
        assert_eq!(entry.length(LengthUnit::Millimetre).unwrap().unwrap().value(), Length::mm(873));
        assert_eq!(entry.length(LengthUnit::Inch).unwrap().unwrap().value(), Length::whole_inches(873));
    }

    fn key() -> impl Strategy<Value = PadKey> {
        prop_oneof![
            6 => (0u8..10).prop_map(PadKey::Digit),
            1 => (0u8..40).prop_map(PadKey::Pair),
            2 => (0u8..20).prop_map(PadKey::Sixteenths),
            1 => Just(PadKey::Feet),
            1 => Just(PadKey::Point),
            1 => Just(PadKey::Sign),
            2 => Just(PadKey::Erase),
        ]
    }

    proptest! {
        /// Whatever is pressed, in whatever unit, can be read back, and erasing leads back to nothing.
        #[test]
        fn any_keys_in_any_unit_make_a_number_or_nothing(keys in proptest::collection::vec((key(), 0usize..3), 0..30)) {
            let units = [LengthUnit::Inch, LengthUnit::Foot, LengthUnit::Millimetre];
            let mut entry = Entry::default();
            for (key, unit) in keys {
                let before = entry.clone();
                let live = entry.takes(key, units[unit], true);
                entry.press(key, units[unit], true);
                prop_assert!(live || entry == before, "a dead key changes nothing");
                for unit in units {
                    // Only a fraction in millimetres, or feet by the mile, are no length.
                    let length = entry.length(unit);
                    prop_assert!(length.is_ok() || entry.sixteenths > 0 || entry.feet.is_some());
                    if let Ok(Some(typed)) = length {
                        let kept = serde_json::to_string(&typed).unwrap();
                        let back: Typed = serde_json::from_str(&kept).unwrap();
                        prop_assert_eq!(back.value(), typed.value());
                    }
                }
            }
            for _ in 0..40 {
                entry.press(PadKey::Erase, LengthUnit::Inch, true);
            }
            prop_assert!(entry.is_empty());
        }
    }
}

//! Writing lengths. One formatter serves screens, pages, sheets and exports; whatever it writes reads back
//! to the same length.

use super::{Direction, Grain, Length, LengthUnit, NM_PER_INCH, NM_PER_MM};
use std::fmt::Write as _;

impl Length {
    /// Writes the exact length in `unit`, bare where that is possible: `34 3/8`, `873`, `2' 10 3/8"`.
    /// A length that has no exact form in the unit (873 mm in inches) is written in millimetres, marked `mm`.
    /// Reading the text back with the same default unit gives the same length.
    ///
    /// ```
    /// use hangtrue_core::length::{Length, LengthUnit};
    /// assert_eq!(Length::inches(275, 8).show(LengthUnit::Inch), "34 3/8");
    /// assert_eq!(Length::inches(275, 8).show(LengthUnit::Foot), "2' 10 3/8\"");
    /// assert_eq!(Length::inches(275, 8).show(LengthUnit::Millimetre), "873.125");
    /// assert_eq!(Length::mm(873).show(LengthUnit::Inch), "873 mm");
    /// ```
    pub fn show(self, unit: LengthUnit) -> String {
        self.written(unit, false)
    }

    /// As [`Self::show`], always with the unit's mark, so that it reads back under any default unit:
    /// `34 3/8 in`, `873 mm`.
    pub fn show_marked(self, unit: LengthUnit) -> String {
        self.written(unit, true)
    }

    /// As a reader of another unit has it: the exact length where it lies on that unit's tape, else to the nearest grain
    /// of it, as "about". Never what is cut by.
    ///
    /// ```
    /// use hangtrue_core::length::{Length, LengthUnit};
    /// assert_eq!(Length::mm(911).show_about(LengthUnit::Inch), "about 35 7/8");
    /// assert_eq!(Length::inches(275, 8).show_about(LengthUnit::Millimetre), "about 873");
    /// assert_eq!(Length::mm(254).show_about(LengthUnit::Inch), "10");
    /// ```
    pub fn show_about(self, unit: LengthUnit) -> String {
        let near = self.round(Grain::of_tape(unit), Direction::Nearest);
        if near == self { self.show(unit) } else { format!("about {}", near.show(unit)) }
    }

    fn written(self, unit: LengthUnit, marked: bool) -> String {
        let sign = if self.is_negative() { "-" } else { "" };
        let nm = self.nm().unsigned_abs();
        let inch = NM_PER_INCH.unsigned_abs();
        match unit {
            LengthUnit::Inch => match inches(nm) {
                Some(text) if marked => format!("{sign}{text} in"),
                Some(text) => format!("{sign}{text}"),
                None => format!("{sign}{} mm", decimal(nm, NM_PER_MM.unsigned_abs())),
            },
            LengthUnit::Foot => {
                let feet = nm / (12 * inch);
                match inches(nm % (12 * inch)) {
                    Some(rest) if rest == "0" && feet > 0 => format!("{sign}{feet}'"),
                    Some(rest) if feet == 0 => format!("{sign}{rest}\""),
                    Some(rest) => format!("{sign}{feet}' {rest}\""),
                    None => format!("{sign}{} mm", decimal(nm, NM_PER_MM.unsigned_abs())),
                }
            }
            LengthUnit::Millimetre | LengthUnit::Centimetre | LengthUnit::Metre => {
                let number = decimal(nm, unit.one().nm().unsigned_abs());
                if marked { format!("{sign}{number} {}", unit.name()) } else { format!("{sign}{number}") }
            }
        }
    }
}

/// Inches as a mixed number in 64ths or coarser, else as an exact decimal, else nothing.
fn inches(nm: u64) -> Option<String> {
    let inch = NM_PER_INCH.unsigned_abs();
    let sixty_fourth = inch / 64;
    if nm.is_multiple_of(sixty_fourth) {
        let (mut n, mut d) = (nm % inch / sixty_fourth, 64);
        while n > 0 && n % 2 == 0 {
            n /= 2;
            d /= 2;
        }
        return Some(match (nm / inch, n) {
            (whole, 0) => whole.to_string(),
            (0, n) => format!("{n}/{d}"),
            (whole, n) => format!("{whole} {n}/{d}"),
        });
    }
    // An inch is 127 x 200,000 nm: only multiples of 127 nm end as a decimal of an inch.
    nm.is_multiple_of(127).then(|| decimal(nm, inch))
}

/// `nm / per` as a decimal without trailing zeros. The caller knows that it ends.
fn decimal(nm: u64, per: u64) -> String {
    let mut text = (nm / per).to_string();
    let mut rest = u128::from(nm % per);
    if rest > 0 {
        text.push('.');
        while rest > 0 {
            rest *= 10;
            let _ = write!(text, "{}", rest / u128::from(per));
            rest %= u128::from(per);
        }
    }
    text
}

//! Lengths as they are said aloud: for a screen reader, and for a person up a ladder who cannot look.

use crate::length::{Grain, Length, LengthUnit, NM_PER_INCH, NM_PER_MM};

const UNITS: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 10] = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// A whole number below a billion in words: "one hundred and eight".
///
/// ```
/// use hangtrue_core::walk::spoken::number;
/// assert_eq!(number(34), "thirty-four");
/// assert_eq!(number(1524), "one thousand five hundred and twenty-four");
/// ```
pub fn number(n: u64) -> String {
    let small = |n: u64| usize::try_from(n).unwrap_or(0);
    match n {
        0..20 => UNITS[small(n)].to_owned(),
        20..100 if n.is_multiple_of(10) => TENS[small(n / 10)].to_owned(),
        20..100 => format!("{}-{}", TENS[small(n / 10)], UNITS[small(n % 10)]),
        100..1000 => joined(format!("{} hundred", number(n / 100)), n % 100),
        1000..1_000_000 => joined(format!("{} thousand", number(n / 1000)), n % 1000),
        _ => joined(format!("{} million", number(n / 1_000_000)), n % 1_000_000),
    }
}

fn joined(head: String, rest: u64) -> String {
    match rest {
        0 => head,
        1..100 => format!("{head} and {}", number(rest)),
        _ => format!("{head} {}", number(rest)),
    }
}

/// A fraction of an inch in words: "three eighths", "one half", "eleven sixteenths". `of` is a power of two to 64.
pub fn fraction(parts: u64, of: u64) -> String {
    let name = match of {
        2 => "half",
        4 => "quarter",
        8 => "eighth",
        16 => "sixteenth",
        32 => "thirty-second",
        _ => "sixty-fourth",
    };
    format!("{} {name}{}", number(parts), if parts == 1 { "" } else { "s" })
}

/// A length as it is said: "thirty-four and three eighths inches", "eight hundred and seventy-three point five
/// millimetres". What has no exact form in 64ths (or hundredths of a millimetre) is said as "about" the nearest.
///
/// ```
/// use hangtrue_core::length::{Length, LengthUnit};
/// use hangtrue_core::walk::spoken::length;
/// assert_eq!(length(Length::inches(275, 8), LengthUnit::Inch), "thirty-four and three eighths inches");
/// assert_eq!(length(Length::inches(275, 8), LengthUnit::Foot), "two feet ten and three eighths inches");
/// assert_eq!(length(Length::mm(873), LengthUnit::Millimetre), "eight hundred and seventy-three millimetres");
/// ```
pub fn length(length: Length, unit: LengthUnit) -> String {
    let minus = if length.is_negative() { "minus " } else { "" };
    let size = length.abs();
    let (said, exact) = match unit {
        LengthUnit::Inch | LengthUnit::Foot => imperial(size, unit),
        LengthUnit::Millimetre | LengthUnit::Centimetre | LengthUnit::Metre => metric(size, unit),
    };
    format!("{}{minus}{said}", if exact { "" } else { "about " })
}

fn imperial(size: Length, unit: LengthUnit) -> (String, bool) {
    let near = size.round(Grain::INCH_64, crate::length::Direction::Nearest);
    let exact = near == size;
    let inches = near.nm().unsigned_abs() / NM_PER_INCH.unsigned_abs();
    let (mut parts, mut of) =
        (near.nm().unsigned_abs() % NM_PER_INCH.unsigned_abs() / (NM_PER_INCH / 64).unsigned_abs(), 64);
    while parts > 0 && parts.is_multiple_of(2) {
        parts /= 2;
        of /= 2;
    }
    let (feet, inches) = if unit == LengthUnit::Foot { (inches / 12, inches % 12) } else { (0, inches) };
    let rest = match (inches, parts) {
        (0, 0) if feet > 0 => None,
        (1, 0) => Some("one inch".to_owned()),
        (n, 0) => Some(format!("{} inches", number(n))),
        (0, parts) => Some(format!("{} of an inch", fraction(parts, of))),
        (n, parts) => Some(format!("{} and {} inches", number(n), fraction(parts, of))),
    };
    let feet = match feet {
        0 => None,
        1 => Some("one foot".to_owned()),
        n => Some(format!("{} feet", number(n))),
    };
    (feet.into_iter().chain(rest).collect::<Vec<_>>().join(" "), exact)
}

fn metric(size: Length, unit: LengthUnit) -> (String, bool) {
    let (name, one) = match unit {
        LengthUnit::Centimetre => ("centimetre", 10 * NM_PER_MM),
        LengthUnit::Metre => ("metre", 1000 * NM_PER_MM),
        _ => ("millimetre", NM_PER_MM),
    };
    // To the hundredth of a millimetre, whatever the unit: finer than any tape.
    let grain = Grain::of(Length::from_nm(NM_PER_MM / 100)).expect("a hundredth of a millimetre is more than nothing");
    let near = size.round(grain, crate::length::Direction::Nearest);
    let one = one.unsigned_abs();
    let (whole, mut rest) = (near.nm().unsigned_abs() / one, near.nm().unsigned_abs() % one);
    let mut said = number(whole);
    if rest > 0 {
        said.push_str(" point");
        while rest > 0 {
            rest *= 10;
            said.push(' ');
            said.push_str(&number(rest / one));
            rest %= one;
        }
    }
    let plural = if near.nm().unsigned_abs() == one { "" } else { "s" };
    (format!("{said} {name}{plural}"), near == size)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_said_as_people_say_them() {
        let inch = |n, d| length(Length::inches(n, d), LengthUnit::Inch);
        assert_eq!(inch(0, 1), "zero inches");
        assert_eq!(inch(1, 1), "one inch");
        assert_eq!(inch(1, 16), "one sixteenth of an inch");
        assert_eq!(inch(3, 2), "one and one half inches");
        assert_eq!(inch(108, 1), "one hundred and eight inches");
        assert_eq!(inch(-11, 16), "minus eleven sixteenths of an inch");
        assert_eq!(inch(2221, 64), "thirty-four and forty-five sixty-fourths inches");
        assert_eq!(length(Length::inches(36, 1), LengthUnit::Foot), "three feet");
        assert_eq!(length(Length::inches(12, 1), LengthUnit::Foot), "one foot");
        assert_eq!(length(Length::inches(5, 2), LengthUnit::Foot), "two and one half inches");
        let mm = |nm| length(Length::from_nm(nm), LengthUnit::Millimetre);
        assert_eq!(mm(873_500_000), "eight hundred and seventy-three point five millimetres");
        assert_eq!(mm(1_000_000), "one millimetre");
        assert_eq!(mm(2_005_000_000), "two thousand and five millimetres");
        assert_eq!(mm(873_125_000), "about eight hundred and seventy-three point one two millimetres");
        assert_eq!(length(Length::mm(873), LengthUnit::Inch), "about thirty-four and three eighths inches");
        assert_eq!(length(Length::mm(873), LengthUnit::Centimetre), "eighty-seven point three centimetres");
    }
}

//! Slips as people make them: how often, of what kinds, and what a reading would have been without one.

use super::passage::mm;
use crate::length::{Direction, Grain, Length, LengthUnit, NM_PER_INCH, NM_PER_MM};

/// Part of all readings that are slips. No source.
pub(super) const SLIPS_PER_READING: f64 = 0.02;

/// How a slip is made.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Made {
    /// The reading is this much too long (or, below zero, too short).
    Off(Length),
    /// Two neighbouring digits changed places.
    DigitsSwapped,
    /// One digit is another.
    DigitWrong,
    /// A digit is missing, or one too many.
    DigitCount,
    /// So many sixteenths were taken as eighths, or the other way round.
    SixteenthsEighths,
    /// The tape's case was not added.
    CaseForgotten,
    /// Inches were written as centimetres, in a house of millimetres.
    OtherUnit,
    /// Millimetres were written as centimetres, or the other way round.
    TenTimes,
    /// The number is right, but of another unit.
    ReadIn(LengthUnit),
    /// The fraction was counted from the wrong end of the inch: 3/8 for 5/8.
    WrongEnd,
    /// Feet and inches were run together: 210 for 2 ft 10.
    FeetRunTogether,
    /// The point was not typed: 34375 for 34.375.
    PointLost,
    /// The fraction's key was not hit, and its digits were typed instead: 3578 for 35 7/8.
    FractionTyped,
    /// Written in the box of another place, and that one's in this box.
    OtherBox,
    /// To the other side: a level's or plumb's reading without its sign.
    OtherSide,
    /// Some other amount, of about this size.
    Some(Length),
    /// One fault that several readings share.
    Shared(Fault),
    /// No slip: the jambs or the head really bulge at this place, farther than any kind of opening expects.
    Bulge,
}

/// A fault that many readings of an opening share.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Fault {
    /// Both diagonals: the tape does not reach into a rounded or filled corner.
    Corners,
    /// All heights: read at another depth than the rest, as at the front of a drained sill.
    Heights,
    /// All widths: read at another depth than the rest, as at the front of splayed jambs.
    Widths,
    /// Everything along a tape: its hook is bent or worn.
    Hook,
    /// Everything along a tape: its case was never added.
    Case,
}

/// A kind of slip and the part of all slips that it makes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Kind {
    pub(super) made: Made,
    pub(super) share: f64,
}

const fn off(numerator: i64, denominator: i64, share: f64) -> Kind {
    Kind { made: Made::Off(Length::inches(numerator, denominator)), share }
}

const fn off_mm(amount: i64, share: f64) -> Kind {
    Kind { made: Made::Off(Length::mm(amount)), share }
}

/// Slips with a tape in inches. Shares have no source, but that one wrong digit is the commonest mistake of copying,
/// and swapped and lost digits come after it, is Verhoeff's finding (1969; seen in summaries). A whole inch too long is
/// the burned inch: the tape held at its one-inch mark and the inch not taken off.
pub(super) const INCH_SLIPS: [Kind; 32] = [
    off(1, 1, 0.13),
    off(-1, 1, 0.07),
    off(2, 1, 0.01),
    off(-2, 1, 0.01),
    off(1, 2, 0.065),
    off(-1, 2, 0.065),
    off(1, 4, 0.09),
    off(-1, 4, 0.09),
    off(1, 8, 0.025),
    off(-1, 8, 0.025),
    off(12, 1, 0.015),
    off(-12, 1, 0.015),
    off(10, 1, 0.02),
    off(-10, 1, 0.02),
    Kind { made: Made::DigitsSwapped, share: 0.025 },
    Kind { made: Made::DigitWrong, share: 0.04 },
    Kind { made: Made::DigitCount, share: 0.02 },
    Kind { made: Made::SixteenthsEighths, share: 0.035 },
    Kind { made: Made::WrongEnd, share: 0.06 },
    Kind { made: Made::CaseForgotten, share: 0.025 },
    Kind { made: Made::ReadIn(LengthUnit::Millimetre), share: 0.015 },
    Kind { made: Made::ReadIn(LengthUnit::Centimetre), share: 0.01 },
    Kind { made: Made::FeetRunTogether, share: 0.005 },
    Kind { made: Made::PointLost, share: 0.005 },
    Kind { made: Made::FractionTyped, share: 0.01 },
    Kind { made: Made::OtherBox, share: 0.03 },
    Kind { made: Made::Some(Length::inches(3, 8)), share: 0.02 },
    Kind { made: Made::Some(Length::whole_inches(3)), share: 0.03 },
    Kind { made: Made::Some(Length::whole_inches(500)), share: 0.01 },
    Kind { made: Made::TenTimes, share: 0.01 },
    Kind { made: Made::ReadIn(LengthUnit::Foot), share: 0.005 },
    // A level's or plumb's reading has slips of its own; it is measured over a short offset, not along a tape.
    Kind { made: Made::OtherSide, share: 0.30 },
];

/// Slips with a tape in millimetres. Shares have no source; see [`INCH_SLIPS`].
pub(super) const MM_SLIPS: [Kind; 27] = [
    off_mm(10, 0.105),
    off_mm(-10, 0.105),
    off_mm(100, 0.055),
    off_mm(-100, 0.055),
    off_mm(5, 0.065),
    off_mm(-5, 0.065),
    off_mm(3, 0.03),
    off_mm(-3, 0.03),
    off_mm(20, 0.015),
    off_mm(-20, 0.015),
    off_mm(50, 0.02),
    off_mm(-50, 0.02),
    off_mm(1000, 0.005),
    off_mm(-1000, 0.005),
    Kind { made: Made::DigitsSwapped, share: 0.04 },
    Kind { made: Made::DigitWrong, share: 0.10 },
    Kind { made: Made::DigitCount, share: 0.04 },
    Kind { made: Made::CaseForgotten, share: 0.03 },
    Kind { made: Made::ReadIn(LengthUnit::Inch), share: 0.02 },
    Kind { made: Made::OtherUnit, share: 0.005 },
    Kind { made: Made::PointLost, share: 0.005 },
    Kind { made: Made::TenTimes, share: 0.03 },
    Kind { made: Made::OtherBox, share: 0.03 },
    Kind { made: Made::Some(Length::mm(8)), share: 0.04 },
    Kind { made: Made::Some(Length::mm(75)), share: 0.03 },
    Kind { made: Made::Some(Length::mm(12_700)), share: 0.01 },
    Kind { made: Made::OtherSide, share: 0.30 },
];

/// What a reading would have been without a slip.
#[derive(Clone, Copy, Debug)]
pub(super) struct Meant {
    pub(super) made: Made,
    /// What is added to the reading to undo the slip, in millimetres; nothing known of [`Made::Some`].
    pub(super) undo: f64,
    /// The exact length meant, where it is known.
    pub(super) length: Option<Length>,
    /// Part of all slips, shared among the ways this kind can have led to this reading.
    pub(super) share: f64,
}

impl Meant {
    /// True when undoing it moves the reading by an amount within these, or by one that is not known.
    pub(super) fn within(&self, low: f64, high: f64) -> bool {
        self.length.is_none() || (low..=high).contains(&self.undo)
    }
}

/// Everything that `read` may have been meant as, by one slip, at a place along a tape; what concerns two places
/// ([`Made::OtherBox`]) is not here.
pub(super) fn meant(read: Length, in_inches: bool, case: Length, out: &mut Vec<Meant>) {
    let kinds: &[Kind] = if in_inches { &INCH_SLIPS } else { &MM_SLIPS };
    let whole = if in_inches { Length::from_nm(NM_PER_INCH) } else { Length::from_nm(NM_PER_MM) };
    let number = read.nm() / whole.nm();
    let rest = Length::from_nm(read.nm() % whole.nm());
    for Kind { made, share } in kinds {
        let from = out.len();
        let mut push = |length: Length| {
            if length > Length::ZERO && length != read {
                out.push(Meant { made: *made, undo: mm(length - read), length: Some(length), share: *share });
            }
        };
        match made {
            Made::Off(by) => push(read - *by),
            Made::DigitsSwapped => swapped(number, &mut |n| push(whole * n + rest)),
            Made::DigitWrong => one_wrong(number, &mut |n| push(whole * n + rest)),
            Made::DigitCount => one_more_or_less(number, &mut |n| push(whole * n + rest)),
            Made::SixteenthsEighths => {
                // n/8 read where n/16 stood, and n/16 where n/8 stood.
                let sixteenths = rest.nm() / Grain::INCH_16.step().nm();
                if rest.nm() % Grain::INCH_16.step().nm() == 0 {
                    if sixteenths % 2 == 0 {
                        push(whole * number + Length::inches(sixteenths / 2, 16));
                    }
                    if sixteenths < 8 {
                        push(whole * number + Length::inches(sixteenths, 8));
                    }
                }
            }
            Made::CaseForgotten => push(read + case),
            Made::OtherUnit => {
                push(read.scale(127, 50, Direction::Nearest));
            }
            Made::TenTimes => {
                push(read * 10);
                push(read.scale(1, 10, Direction::Nearest));
            }
            Made::ReadIn(unit) => {
                // The number that stands here, in the other unit.
                push(read.scale(unit.one().nm(), whole.nm(), Direction::Nearest));
            }
            Made::WrongEnd => {
                // Counted back from the inch above (34 5/8 read as 34 3/8), or written with that inch (as 35 3/8).
                if in_inches && !rest.is_negative() && rest > Length::ZERO {
                    let other = whole - rest;
                    push(whole * number + other);
                    if number > 0 {
                        push(whole * (number - 1) + other);
                    }
                }
            }
            Made::FeetRunTogether => {
                // Two digits of inches (210 for 2 ft 10), or one (29 for 2 ft 9).
                let feet = |n: i64, inches: i64| whole * (12 * n + inches) + rest;
                if (100..10_000).contains(&number) && number % 100 < 12 {
                    push(feet(number / 100, number % 100));
                }
                if (10..1000).contains(&number) {
                    push(feet(number / 10, number % 10));
                }
            }
            Made::PointLost => {
                if rest == Length::ZERO && number >= 100 {
                    for power in [10, 100, 1000] {
                        push(Length::from_nm(number * whole.nm() / power));
                    }
                }
            }
            Made::FractionTyped => {
                if rest == Length::ZERO {
                    fraction_typed(number, &mut |n, top, of| push(whole * n + Length::inches(top, of)));
                }
            }
            Made::Some(_) => out.push(Meant { made: *made, undo: 0.0, length: None, share: *share }),
            Made::OtherBox | Made::OtherSide | Made::Shared(_) | Made::Bulge => {}
        }
        // The kind's share is spread over the ways it can have been made; a fixed amount has one way.
        let ways = out.len() - from;
        if ways > 1 {
            #[allow(clippy::cast_precision_loss, reason = "a few dozen ways at most")]
            let part = 1.0 / ways as f64;
            out[from..].iter_mut().for_each(|meant| meant.share *= part);
        }
    }
}

/// What a level's or plumb's offset may have been meant as.
pub(super) fn meant_offset(read: Length, in_inches: bool, out: &mut Vec<Meant>) {
    let kinds: &[Kind] = if in_inches { &INCH_SLIPS } else { &MM_SLIPS };
    for Kind { made, share } in kinds {
        match made {
            Made::OtherSide if read != Length::ZERO => {
                out.push(Meant { made: *made, undo: mm(-read - read), length: Some(-read), share: *share });
            }
            Made::Some(_) => out.push(Meant { made: *made, undo: 0.0, length: None, share: *share }),
            _ => {}
        }
    }
}

/// The part of all slips that are two places written in each other's box.
pub(super) fn other_box_share(in_inches: bool) -> f64 {
    let kinds: &[Kind] = if in_inches { &INCH_SLIPS } else { &MM_SLIPS };
    kinds.iter().filter(|kind| kind.made == Made::OtherBox).map(|kind| kind.share).sum()
}

/// The whole inches and the fraction that were meant when a fraction's digits were typed behind them.
fn fraction_typed(number: i64, push: &mut dyn FnMut(i64, i64, i64)) {
    for (of, digits) in [(2, 10), (4, 10), (8, 10), (16, 100)] {
        let (above, end) = (number / digits, number % digits);
        if end != of {
            continue;
        }
        for digits in [10, 100] {
            let (whole, top) = (above / digits, above % digits);
            if whole > 0 && top > 0 && top < of && top % 2 == 1 && (digits == 10 || top >= 10) {
                push(whole, top, of);
            }
        }
    }
}

fn swapped(number: i64, push: &mut dyn FnMut(i64)) {
    let mut place = 1;
    while number / place >= 10 {
        let (low, high) = (number / place % 10, number / place / 10 % 10);
        if low != high {
            push(number + (low - high) * 9 * place);
        }
        place *= 10;
    }
}

fn one_wrong(number: i64, push: &mut dyn FnMut(i64)) {
    let mut place = 1;
    while number / place >= 1 {
        let digit = number / place % 10;
        for other in 0..10 {
            // A first digit of nothing would be a missing one.
            if other != digit && !(other == 0 && number / place < 10) {
                push(number + (other - digit) * place);
            }
        }
        place *= 10;
    }
}

fn one_more_or_less(number: i64, push: &mut dyn FnMut(i64)) {
    let mut place = 1;
    loop {
        let (above, below) = (number / place, number % place);
        for digit in 0..10 {
            if !(digit == 0 && above == 0) {
                push(above * place * 10 + digit * place + below);
            }
        }
        if above == 0 {
            return;
        }
        if number >= 10 {
            push(above / 10 * place + below);
        }
        place *= 10;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn collect(way: fn(i64, &mut dyn FnMut(i64)), number: i64) -> Vec<i64> {
        let mut all = Vec::new();
        way(number, &mut |n| all.push(n));
        all.sort_unstable();
        all.dedup();
        all
    }

    #[test]
    fn digits_go_wrong_in_the_ways_named() {
        assert_eq!(collect(swapped, 35), [53]);
        assert_eq!(collect(swapped, 911), [191]);
        let wrong = collect(one_wrong, 35);
        assert_eq!(wrong.len(), 9 + 8);
        assert!(wrong.contains(&36) && wrong.contains(&95) && !wrong.contains(&5));
        let count = collect(one_more_or_less, 35);
        assert!(count.contains(&3) && count.contains(&5) && count.contains(&355) && count.contains(&135));
        assert!(!count.contains(&35));
    }

    #[test]
    fn a_reading_s_meanings_undo_the_slip() {
        let mut all = Vec::new();
        meant(Length::inches(287, 8), true, Length::whole_inches(3), &mut all);
        let has =
            |made: fn(&Made) -> bool, length: Length| all.iter().any(|m| made(&m.made) && m.length == Some(length));
        assert!(has(|m| matches!(m, Made::Off(_)), Length::inches(279, 8)), "an inch long");
        assert!(has(|m| *m == Made::DigitsSwapped, Length::inches(53 * 8 + 7, 8)));
        assert!(has(|m| *m == Made::SixteenthsEighths, Length::inches(35 * 16 + 7, 16)));
        assert!(has(|m| *m == Made::CaseForgotten, Length::inches(38 * 8 + 7, 8)));
        for m in all.iter().filter(|m| m.length.is_some()) {
            assert!((mm(Length::inches(287, 8)) + m.undo - mm(m.length.unwrap())).abs() < 1e-9);
        }
        // Along a tape the shares make a whole, with those that take two places; an offset's stand apart.
        let along: f64 = all.iter().map(|m| m.share).sum::<f64>() + other_box_share(true);
        assert!((along - 1.0).abs() < 0.02, "{along}");
    }
}

//! Reading lengths as people write them.

use super::{Length, LengthUnit, NM_PER_INCH};

/// Why a text is not a length: what is wrong, where, and what would be right.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{what} (character {at} of \"{text}\"); {right}")]
pub struct LengthProblem {
    /// The text as it was given.
    pub text: String,
    /// The character it went wrong at, counted from 1.
    pub at: usize,
    /// What is wrong, as a plain clause.
    pub what: String,
    /// What would be right, as a plain clause.
    pub right: String,
}

#[derive(Clone, PartialEq, Debug)]
enum Token {
    /// Digits with at most one decimal mark: whole digits, and the digits after the mark.
    Number {
        whole: String,
        after: Option<(char, String)>,
    },
    Slash,
    Hyphen,
    Unit(LengthUnit),
}

/// Reads a length: `34 3/8`, `34-3/8"`, `34⅜`, `2' 10 3/8"`, `2 ft 10 in`, `34.375`, `873`, `87,3 cm`, `873 mm`,
/// `0.873 m`. A bare number takes `unit`.
///
/// # Errors
/// Anything else: a fraction that is no tape's (`34 3/7`), a fraction of more than a whole (`34 9/8`), a zero
/// denominator, a minus sign, an ambiguous thousands mark, a length over 10 km, or words.
///
/// ```
/// use hangtrue_core::length::{Length, LengthUnit};
/// let read = |text| Length::parse(text, LengthUnit::Inch);
/// assert_eq!(read("34⅜").unwrap(), Length::inches(275, 8));
/// assert_eq!(read("34 3/7").unwrap_err().what, "3/7 is not on a tape");
/// ```
pub fn parse(text: &str, unit: LengthUnit) -> Result<Length, LengthProblem> {
    Reader { text, unit }.read(false)
}

/// As [`parse`], and a leading `-` or `+` is allowed: for offsets that have a side, such as a level's.
///
/// # Errors
/// As [`parse`].
pub fn parse_signed(text: &str, unit: LengthUnit) -> Result<Length, LengthProblem> {
    Reader { text, unit }.read(true)
}

struct Reader<'a> {
    text: &'a str,
    unit: LengthUnit,
}

impl Reader<'_> {
    fn problem(&self, at: usize, what: impl Into<String>, right: impl Into<String>) -> LengthProblem {
        LengthProblem { text: self.text.to_owned(), at, what: what.into(), right: right.into() }
    }

    fn example(&self) -> &'static str {
        match self.unit {
            LengthUnit::Inch => "write it like 34 3/8 or 34.375",
            LengthUnit::Foot => "write it like 2' 10 3/8\"",
            LengthUnit::Millimetre => "write it like 873 or 873.5",
            LengthUnit::Centimetre => "write it like 87.3",
            LengthUnit::Metre => "write it like 0.873",
        }
    }

    fn read(&self, signed: bool) -> Result<Length, LengthProblem> {
        let trimmed = self.text.trim_start();
        let lead = self.text.chars().count() - trimmed.chars().count();
        if trimmed.trim_end().is_empty() {
            return Err(self.problem(1, "there is nothing here", self.example()));
        }
        let minus = trimmed.starts_with(['-', '\u{2212}']);
        if minus && !signed {
            return Err(self.problem(lead + 1, "a length cannot be negative", "leave out the minus sign"));
        }
        let skip = usize::from(signed && (minus || trimmed.starts_with('+')));
        let mut tokens = self.tokens(lead + skip)?;
        if tokens.is_empty() {
            return Err(self.problem(lead + 1, "there is no number here", self.example()));
        }
        let size = self.value(&mut tokens)?;
        if size > Length::LONGEST_READ {
            return Err(self.problem(lead + 1, "this is longer than 10 km", "check the number and its unit"));
        }
        Ok(if minus { -size } else { size })
    }

    /// Splits the text into tokens, each with the place (from 1) of its first character.
    fn tokens(&self, skip: usize) -> Result<Vec<(usize, Token)>, LengthProblem> {
        let chars: Vec<char> = self.text.chars().collect();
        let mut tokens = Vec::new();
        let mut i = skip;
        while i < chars.len() {
            let at = i + 1;
            let c = chars[i];
            match c {
                _ if c.is_whitespace() => i += 1,
                '0'..='9' | '.' | ',' => {
                    let (token, next) = self.number(&chars, i)?;
                    tokens.push((at, token));
                    i = next;
                }
                '/' | '\u{2044}' | '\u{2215}' => {
                    tokens.push((at, Token::Slash));
                    i += 1;
                }
                '-' | '\u{2010}'..='\u{2013}' => {
                    tokens.push((at, Token::Hyphen));
                    i += 1;
                }
                '\'' | '\u{2018}' | '\u{2019}' | '\u{2032}' => {
                    let double = matches!(chars.get(i + 1), Some(d) if *d == c);
                    tokens.push((at, Token::Unit(if double { LengthUnit::Inch } else { LengthUnit::Foot })));
                    i += 1 + usize::from(double);
                }
                '"' | '\u{201c}' | '\u{201d}' | '\u{2033}' => {
                    tokens.push((at, Token::Unit(LengthUnit::Inch)));
                    i += 1;
                }
                _ if vulgar(c).is_some() => {
                    let (n, d) = vulgar(c).expect("the arm's guard just saw it");
                    let digits = |v: u8| Token::Number { whole: v.to_string(), after: None };
                    tokens.extend([(at, digits(n)), (at, Token::Slash), (at, digits(d))]);
                    i += 1;
                }
                _ if c.is_alphabetic() => {
                    let word: String = chars[i..].iter().take_while(|c| c.is_alphabetic()).collect();
                    let unit = match word.to_lowercase().as_str() {
                        "in" | "inch" | "inches" => LengthUnit::Inch,
                        "ft" | "foot" | "feet" => LengthUnit::Foot,
                        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => LengthUnit::Millimetre,
                        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => LengthUnit::Centimetre,
                        "m" | "metre" | "metres" | "meter" | "meters" => LengthUnit::Metre,
                        _ => {
                            let what = format!("\"{word}\" is not a unit of length");
                            return Err(self.problem(at, what, "the units are in, ft, mm, cm and m"));
                        }
                    };
                    tokens.push((at, Token::Unit(unit)));
                    i += word.chars().count();
                    // "in." and "ft." are common; the stop after a unit says nothing.
                    i += usize::from(chars.get(i) == Some(&'.'));
                }
                _ => {
                    let what = format!("\"{c}\" does not belong in a length");
                    return Err(self.problem(at, what, self.example()));
                }
            }
        }
        Ok(tokens)
    }

    fn number(&self, chars: &[char], start: usize) -> Result<(Token, usize), LengthProblem> {
        let digits = |from: usize| -> String { chars[from..].iter().take_while(|c| c.is_ascii_digit()).collect() };
        let whole = digits(start);
        let mut next = start + whole.len();
        let mut after = None;
        if let Some(mark @ ('.' | ',')) = chars.get(next).copied() {
            let part = digits(next + 1);
            if part.is_empty() {
                return Err(self.problem(next + 1, format!("nothing stands after \"{mark}\""), self.example()));
            }
            next += 1 + part.len();
            after = Some((mark, part));
        }
        if matches!(chars.get(next), Some('.' | ',')) {
            return Err(self.problem(next + 1, "a number has one decimal mark", self.example()));
        }
        Ok((Token::Number { whole, after }, next))
    }

    fn value(&self, tokens: &mut Vec<(usize, Token)>) -> Result<Length, LengthProblem> {
        use Token::{Hyphen, Number, Slash, Unit};
        // Feet first, if there are any: NUMBER FOOT [-].
        let mut total = Length::ZERO;
        let mut had_feet = false;
        if let [(at, Number { whole, after }), (_, Unit(LengthUnit::Foot)), ..] = tokens.as_slice() {
            total = self.decimal(*at, whole, after.as_ref(), LengthUnit::Foot)?;
            let decimal_feet = after.is_some();
            tokens.drain(..2);
            if matches!(tokens.first(), Some((_, Hyphen))) && tokens.len() > 1 {
                tokens.remove(0);
            }
            if tokens.is_empty() {
                return Ok(total);
            }
            if decimal_feet {
                let right = "write whole feet before the inches, or decimal feet alone";
                return Err(self.problem(tokens[0].0, "inches follow a decimal number of feet", right));
            }
            had_feet = true;
        }
        // A unit at the end names the rest.
        let mut unit = if had_feet { LengthUnit::Inch } else { self.unit };
        let mut marked = had_feet;
        if let Some((at, Unit(named))) = tokens.last().cloned() {
            if had_feet && named != LengthUnit::Inch {
                return Err(self.problem(at, "feet are followed by inches", "write it like 2' 10 3/8\""));
            }
            unit = named;
            marked = true;
            tokens.pop();
        }
        let rest = match tokens.as_slice() {
            [(at, Number { whole, after })] => {
                // A bare number in a house of feet is inches only when it says so.
                self.decimal(*at, whole, after.as_ref(), unit)?
            }
            [(at, Number { whole: n, after: None }), (_, Slash), (_, Number { whole: d, after: None })] => {
                self.imperial_only(*at, unit, marked)?;
                self.fraction(*at, n, d)?
            }
            [
                (at, Number { whole, after: None }),
                middle @ ..,
                (at_n, Number { whole: n, after: None }),
                (_, Slash),
                (_, Number { whole: d, after: None }),
            ] if middle.is_empty() || matches!(middle, [(_, Hyphen)]) => {
                self.imperial_only(*at, unit, marked)?;
                self.decimal(*at, whole, None, LengthUnit::Inch)? + self.fraction(*at_n, n, d)?
            }
            [(at, Unit(_)), ..] => {
                return Err(self.problem(*at, "a unit stands where a number should", self.example()));
            }
            [] => return Err(self.problem(1, "there is no number before the unit", self.example())),
            [_, (at, _), ..] | [(at, _)] => {
                return Err(self.problem(*at, "this is not one length", self.example()));
            }
        };
        if had_feet && rest >= LengthUnit::Foot.one() {
            let (at, right) = (tokens[0].0, (total + rest).show(LengthUnit::Foot));
            return Err(self.problem(
                at,
                "the inches make more than a foot",
                format!("write {right} if that is meant"),
            ));
        }
        Ok(total + rest)
    }

    /// A fraction is of an inch; in a house of millimetres it has to say so.
    fn imperial_only(&self, at: usize, unit: LengthUnit, marked: bool) -> Result<(), LengthProblem> {
        match unit {
            LengthUnit::Inch => Ok(()),
            LengthUnit::Foot if !marked => Ok(()),
            _ if marked => Err(self.problem(
                at,
                format!("a fraction of {} is not on a tape", unit.name()),
                "fractions are of inches; write a decimal",
            )),
            _ => Err(self.problem(
                at,
                format!("a fraction, where bare numbers are {}", unit.name()),
                "mark inches, like 34 3/8\", or write a decimal",
            )),
        }
    }

    fn fraction(&self, at: usize, n: &str, d: &str) -> Result<Length, LengthProblem> {
        let not_on_tape = || {
            self.problem(
                at,
                format!("{n}/{d} is not on a tape"),
                "a tape has halves, 4ths, 8ths, 16ths, 32nds and 64ths",
            )
        };
        let top: i64 = n.parse().map_err(|_| not_on_tape())?;
        let bottom: i64 = d.parse().map_err(|_| not_on_tape())?;
        if bottom == 0 {
            return Err(self.problem(
                at,
                format!("{n}/0 divides by nothing"),
                "a tape has halves, 4ths, 8ths, 16ths, 32nds and 64ths",
            ));
        }
        if !matches!(bottom, 2 | 4 | 8 | 16 | 32 | 64) {
            return Err(not_on_tape());
        }
        if top >= bottom {
            let right =
                format!("write {} if that is meant", Length::inches(top.min(9999), bottom).show(LengthUnit::Inch));
            return Err(self.problem(at, format!("{n}/{d} is a whole inch or more"), right));
        }
        Ok(Length::inches(top, bottom))
    }

    fn decimal(
        &self,
        at: usize,
        whole: &str,
        after: Option<&(char, String)>,
        unit: LengthUnit,
    ) -> Result<Length, LengthProblem> {
        if let Some((',', part)) = after
            && part.len() == 3
            && !whole.is_empty()
            && whole != "0"
            && unit != LengthUnit::Metre
        {
            let right = format!("write {whole}{part} or {whole}.{part}");
            return Err(self.problem(at, "the comma may mark thousands or a decimal", right));
        }
        let too_long = || self.problem(at, "this is longer than 10 km", "check the number and its unit");
        let one = i128::from(unit.one().nm());
        let whole_units: i128 = if whole.is_empty() { 0 } else { whole.parse().map_err(|_| too_long())? };
        let mut nm = whole_units.checked_mul(one).ok_or_else(too_long)?;
        if let Some((_, part)) = after {
            let part = part.trim_end_matches('0');
            let too_fine = || {
                self.problem(
                    at,
                    "this is finer than can be kept exactly",
                    "a tape reads 1/64 in or 0.1 mm at its finest",
                )
            };
            let scale = u32::try_from(part.len()).ok().and_then(|p| 10_i128.checked_pow(p)).ok_or_else(too_fine)?;
            let digits: i128 = if part.is_empty() { 0 } else { part.parse().map_err(|_| too_fine())? };
            let scaled = digits.checked_mul(one).ok_or_else(too_fine)?;
            if scaled % scale != 0 {
                return Err(too_fine());
            }
            nm += scaled / scale;
        }
        let nm = i64::try_from(nm).map_err(|_| too_long())?;
        if nm > Length::LONGEST_READ.nm() { Err(too_long()) } else { Ok(Length::from_nm(nm)) }
    }
}

/// The fraction a single character stands for.
fn vulgar(c: char) -> Option<(u8, u8)> {
    Some(match c {
        '½' => (1, 2),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '⅕' => (1, 5),
        _ => return None,
    })
}

const _: () = assert!(NM_PER_INCH % 64 == 0, "a 64th of an inch is a whole number of nanometres");

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn inch(text: &str) -> Result<Length, LengthProblem> {
        parse(text, LengthUnit::Inch)
    }

    #[test]
    fn reads_what_people_write() {
        let want = Length::inches(275, 8);
        for text in [
            "34 3/8",
            "34-3/8\"",
            "34⅜",
            "34 ⅜",
            "2' 10 3/8\"",
            "2'-10 3/8\"",
            "2 ft 10 3/8 in",
            "34.375",
            "34,375 in".replace(',', ".").as_str(),
            "34 3⁄8 in.",
            " 34 6/16 ",
            "2’ 10 3/8”",
        ] {
            assert_eq!(inch(text).unwrap(), want, "{text}");
        }
        for text in ["873 mm", "87,3 cm", "87.3cm", "0.873 m", "0,873 m", "873"] {
            assert_eq!(parse(text, LengthUnit::Millimetre).unwrap(), Length::mm(873), "{text}");
        }
        assert_eq!(inch("2 ft 10 in").unwrap(), Length::whole_inches(34));
        assert_eq!(inch("7/8").unwrap(), Length::inches(7, 8));
        assert_eq!(inch("2.5'").unwrap(), Length::whole_inches(30));
        assert_eq!(parse("34 3/8 in", LengthUnit::Millimetre).unwrap(), want);
        assert_eq!(parse_signed("-1/4", LengthUnit::Inch).unwrap(), -Length::inches(1, 4));
        assert_eq!(parse_signed("+3 mm", LengthUnit::Inch).unwrap(), Length::mm(3));
    }

    #[test]
    fn refuses_with_what_where_and_what_would_be_right() {
        for (text, at, what) in [
            ("34 9/8", 4, "whole inch or more"),
            ("3/0", 1, "divides by nothing"),
            ("34 3/7", 4, "not on a tape"),
            ("34⅓", 3, "not on a tape"),
            ("-34", 1, "negative"),
            ("34 xyz", 4, "not a unit"),
            ("", 1, "nothing here"),
            ("34..5", 3, "nothing stands after"),
            ("34 35", 4, "not one length"),
            ("2' 14\"", 4, "more than a foot"),
            ("1,234", 1, "thousands or a decimal"),
            ("99999999999999999999999999999999999999999", 1, "longer than 10 km"),
            ("999999999999", 1, "longer than 10 km"),
            ("0.00000001", 1, "finer than"),
            ("34 3/8 mm", 1, "fraction of mm"),
            ("34 #", 4, "does not belong"),
            ("in", 1, "no number before the unit"),
            ("34/", 3, "not one length"),
            ("2' 3 mm", 6, "feet are followed by inches"),
        ] {
            let problem = inch(text).expect_err(text);
            assert!(problem.what.contains(what), "{text}: {problem}");
            assert_eq!(problem.at, at, "{text}: {problem}");
            assert!(!problem.right.is_empty());
        }
        assert!(parse("34 3/8", LengthUnit::Millimetre).unwrap_err().right.contains("mark inches"));
    }

    proptest! {
        #[test]
        fn whatever_is_shown_reads_back(nm in 0i64..10_000_000_000_000, which in 0usize..5) {
            let unit = [LengthUnit::Inch, LengthUnit::Foot, LengthUnit::Millimetre, LengthUnit::Centimetre, LengthUnit::Metre][which];
            let length = Length::from_nm(nm);
            prop_assert_eq!(parse(&length.show(unit), unit).unwrap(), length);
            prop_assert_eq!(parse(&length.show_marked(unit), LengthUnit::Metre).unwrap(), length);
            prop_assert_eq!(parse_signed(&(-length).show(unit), unit).unwrap(), -length);
        }

        #[test]
        fn a_tape_fraction_reads_back_in_inches_and_feet(n in 0i64..64_000) {
            let length = Length::inches(n, 64);
            for unit in [LengthUnit::Inch, LengthUnit::Foot] {
                let text = length.show(unit);
                prop_assert!(!text.contains("mm"));
                prop_assert_eq!(parse(&text, unit).unwrap(), length);
            }
        }

        #[test]
        fn any_text_is_answered_and_never_panics(text in "\\PC{0,24}") {
            for unit in [LengthUnit::Inch, LengthUnit::Foot, LengthUnit::Millimetre] {
                if let Err(problem) = parse(&text, unit) {
                    prop_assert!(problem.at >= 1 && problem.at <= text.chars().count() + 1);
                }
            }
        }

        #[test]
        fn any_mix_of_a_length_s_own_signs_is_answered(text in "[0-9 '\"/.,½⅜-]{0,12}(in|mm|ft|m)?") {
            if let Ok(length) = inch(&text) {
                prop_assert!(length >= Length::ZERO && length <= Length::LONGEST_READ);
                prop_assert_eq!(inch(&length.show(LengthUnit::Inch)).unwrap(), length);
            }
        }

        #[test]
        fn rounding_holds_its_direction(nm in -1_000_000_000_000i64..1_000_000_000_000, step in 1i64..100_000_000) {
            use crate::length::{Direction, Grain};
            let (length, grain) = (Length::from_nm(nm), Grain::of(Length::from_nm(step)).unwrap());
            let (down, up, near) = (length.round(grain, Direction::Down), length.round(grain, Direction::Up), length.round(grain, Direction::Nearest));
            prop_assert!(down <= length && length <= up && up - down <= grain.step());
            prop_assert!(near == down || near == up);
            prop_assert!((near - length).abs() * 2 <= grain.step());
        }
    }
}

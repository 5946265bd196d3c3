//! A code short enough to be typed: who types it and the workroom's address gets the whole offer to pair from there, and
//! knows by the code that it is the workroom's own.
//!
//! Fifteen of its sixteen signs are the first 75 bits of a hash of the offer. Another computer at that address would have
//! to make an offer of its own with the same 75 bits within the minutes that an offer is good: 2^75 tries. The last sign
//! catches a slip before anything is sent. Signs are those of Crockford's base 32: no I, L, O, U; either case.

use super::pairing::Offer;
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// Where a device fetches an offer by the short code.
pub const FETCH: &str = "/pair/v1/offer";
/// The most bytes of an offer's text.
pub const MOST_OFFER: u64 = 4 << 10;

const SIGNS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const LENGTH: usize = 15;

/// The short code of an offer.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ShortCode {
    signs: [u8; LENGTH],
}

impl ShortCode {
    /// The code of an offer.
    pub fn of(offer: &Offer) -> Self {
        Self { signs: signs(&Sha256::digest(format!("hangtrue short code 1 {offer}"))) }
    }

    /// What is sent to fetch the offer: it shows that one has the code, and does not tell it.
    pub fn knock(&self) -> String {
        let text = Sha256::digest(format!("hangtrue short knock 1 {}", self.text()));
        text.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    fn text(&self) -> String {
        self.signs.iter().map(|sign| char::from(SIGNS[usize::from(*sign)])).collect()
    }

    fn check(&self) -> u8 {
        signs(&Sha256::digest(format!("hangtrue short check 1 {}", self.text())))[0]
    }
}

/// The first fifteen groups of five bits.
fn signs(hash: &[u8]) -> [u8; LENGTH] {
    std::array::from_fn(|n| {
        (0..5).fold(0, |sign, bit| {
            let at = 5 * n + bit;
            (sign << 1) | ((hash[at / 8] >> (7 - at % 8)) & 1)
        })
    })
}

impl fmt::Display for ShortCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let check = char::from(SIGNS[usize::from(self.check())]);
        for (n, sign) in self.text().chars().chain([check]).enumerate() {
            if n > 0 && n % 4 == 0 {
                f.write_str("-")?;
            }
            write!(f, "{sign}")?;
        }
        Ok(())
    }
}

impl FromStr for ShortCode {
    type Err = ShortCodeProblem;

    fn from_str(text: &str) -> Result<Self, ShortCodeProblem> {
        let mut values = Vec::new();
        for c in text.chars().filter(|c| !c.is_whitespace() && *c != '-') {
            // What a hand takes for another sign.
            let sign = match c.to_ascii_uppercase() {
                'O' => '0',
                'I' | 'L' => '1',
                other => other,
            };
            let value = SIGNS.iter().position(|known| char::from(*known) == sign).ok_or(ShortCodeProblem::Sign(c))?;
            values.push(u8::try_from(value).expect("one of 32"));
        }
        let count = values.len();
        let Some((signs, [check])) = values.split_first_chunk::<LENGTH>() else {
            return Err(ShortCodeProblem::Length(count));
        };
        let code = Self { signs: *signs };
        if code.check() == *check { Ok(code) } else { Err(ShortCodeProblem::Slip) }
    }
}

/// Why a text is no short code.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum ShortCodeProblem {
    /// A sign that no code has.
    #[error("\"{0}\" is in no code; it has the digits and the letters without I, L, O and U")]
    Sign(char),
    /// Too few or too many.
    #[error("a code has 16 digits and letters, and this has {0}")]
    Length(usize),
    /// One sign is not what was shown.
    #[error("there is a slip in this code; compare it with the one that the workroom shows")]
    Slip,
}

#[cfg(test)]
mod tests {
    use super::super::name::Hash;
    use super::super::pairing::Invitation;
    use super::*;

    fn offer(n: u64) -> Offer {
        Invitation::new(vec!["192.0.2.7:7443".to_owned()], Hash::of(b"certificate"), n).offer().clone()
    }

    #[test]
    fn a_code_reads_back_however_it_is_typed() {
        for n in 0..200 {
            let code = ShortCode::of(&offer(n));
            let text = code.to_string();
            assert_eq!(text.len(), 19, "{text}");
            assert_eq!(text.parse(), Ok(code));
            assert_eq!(text.to_lowercase().replace('-', " ").parse(), Ok(code));
            assert_eq!(text.replace('0', "o").replace('1', "l").parse(), Ok(code));
        }
    }

    #[test]
    fn a_slip_is_seen_before_anything_is_sent() {
        let (mut seen, mut slips) = (0, 0);
        for n in 0..40 {
            let text = ShortCode::of(&offer(n)).to_string();
            for at in (0..text.len()).filter(|at| text.as_bytes()[*at] != b'-') {
                for sign in ["0", "7", "Z"] {
                    let mut other = text.clone();
                    other.replace_range(at..=at, sign);
                    if other != text {
                        slips += 1;
                        seen += u32::from(other.parse::<ShortCode>() == Err(ShortCodeProblem::Slip));
                    }
                }
            }
        }
        // One sign in 32 fits by chance.
        assert!(f64::from(seen) > 0.93 * f64::from(slips), "{seen} of {slips}");
        assert_eq!("ABC".parse::<ShortCode>(), Err(ShortCodeProblem::Length(3)));
        assert_eq!("ABCU".parse::<ShortCode>(), Err(ShortCodeProblem::Sign('U')));
    }

    #[test]
    fn another_offer_has_another_code_and_the_knock_does_not_tell_it() {
        let (one, other) = (offer(1), offer(1));
        assert_ne!(one.key, other.key);
        assert_ne!(ShortCode::of(&one), ShortCode::of(&other));
        let code = ShortCode::of(&one);
        assert_ne!(code.knock(), ShortCode::of(&other).knock());
        assert!(!code.knock().to_uppercase().contains(&code.text()));
    }
}

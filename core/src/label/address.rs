//! What a label's code says: an address that opens the app at one opening, as `hangtrue-pair:` opens it at a workroom.
//!
//! `hangtrue-label:1?house=ID&opening=ID&sizes=NUMBER`. The number tells which sizes it was printed from.

use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

const SCHEME: &str = "hangtrue-label:";
const VERSION: u32 = 1;

/// Six bytes that are others as soon as a size on the label is another: `4f2a 99c1 03de`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Number(pub(super) [u8; 6]);

impl Number {
    fn hex(self) -> String {
        self.0.iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

/// As labels have it, in three groups.
impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hex = self.hex();
        write!(f, "{} {} {}", &hex[..4], &hex[4..8], &hex[8..])
    }
}

impl FromStr for Number {
    type Err = AddressProblem;

    fn from_str(text: &str) -> Result<Self, AddressProblem> {
        let digits: Vec<u8> = text
            .chars()
            .filter(|c| !c.is_whitespace())
            .map(|c| c.to_digit(16).and_then(|digit| u8::try_from(digit).ok()))
            .collect::<Option<_>>()
            .ok_or(AddressProblem::Number)?;
        let mut bytes = [0; 6];
        if digits.len() != 2 * bytes.len() {
            return Err(AddressProblem::Number);
        }
        for (byte, two) in bytes.iter_mut().zip(digits.chunks(2)) {
            *byte = two[0] * 16 + two[1];
        }
        Ok(Self(bytes))
    }
}

/// What a label's code says.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Address {
    /// The house.
    pub house: Uuid,
    /// The opening.
    pub opening: Uuid,
    /// The sizes it was printed from.
    pub sizes: Number,
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { house, opening, sizes } = self;
        write!(f, "{SCHEME}{VERSION}?house={}&opening={}&sizes={}", house.simple(), opening.simple(), sizes.hex())
    }
}

impl FromStr for Address {
    type Err = AddressProblem;

    fn from_str(text: &str) -> Result<Self, AddressProblem> {
        let rest = text.trim().strip_prefix(SCHEME).ok_or(AddressProblem::NotALabel)?;
        let (version, fields) = rest.split_once('?').ok_or(AddressProblem::NotALabel)?;
        match version.parse::<u32>() {
            Ok(VERSION) => {}
            Ok(newer) if newer > VERSION => return Err(AddressProblem::Newer(newer)),
            _ => return Err(AddressProblem::NotALabel),
        }
        // A field that a newer minor version added is passed over.
        let field = |name: &'static str| {
            let mut values =
                fields.split('&').filter_map(|field| field.split_once('=')).filter(|(key, _)| *key == name);
            match (values.next(), values.next()) {
                (Some((_, value)), None) => Ok(value),
                _ => Err(AddressProblem::Field(name)),
            }
        };
        let id = |name: &'static str| field(name)?.parse::<Uuid>().map_err(|_| AddressProblem::Field(name));
        Ok(Self { house: id("house")?, opening: id("opening")?, sizes: field("sizes")?.parse()? })
    }
}

/// Text that is no label's code and no number of one.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum AddressProblem {
    /// Something else.
    #[error("this is no code of a label; it would begin {SCHEME}{VERSION}?")]
    NotALabel,
    /// A newer version's.
    #[error("this label is of version {0}; a newer Hangtrue is needed on this device")]
    Newer(u32),
    /// A field that is missing, there twice, or does not fit.
    #[error("the label's code has no usable \"{0}\"; scan it again")]
    Field(&'static str),
    /// Not the number of a label.
    #[error("this is no number of a label; write its twelve digits, such as 4f2a 99c1 03de")]
    Number,
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "hangtrue-label:1?house=0192a3b4000070008000000000000001&opening=0192a3b4000070008000000000000002&sizes=4f2a99c103de";

    #[test]
    fn an_address_reads_back_and_what_is_none_says_why() {
        let address: Address = TEXT.parse().unwrap();
        assert_eq!(address.to_string(), TEXT);
        assert_eq!(address.sizes.to_string(), "4f2a 99c1 03de");
        assert_eq!("4F2A 99c1 03de".parse::<Number>(), Ok(address.sizes));
        // Ids with hyphens, and a field that a newer version added.
        let hyphens =
            TEXT.replace("0192a3b4000070008000000000000001", "0192a3b4-0000-7000-8000-000000000001") + "&new=1";
        assert_eq!(hyphens.parse(), Ok(address));
        for (text, problem) in [
            ("https://example.com".to_owned(), AddressProblem::NotALabel),
            ("hangtrue-pair:1?at=a:1".to_owned(), AddressProblem::NotALabel),
            (TEXT.replace(":1?", ":2?"), AddressProblem::Newer(2)),
            (TEXT.replace("house=", "hose="), AddressProblem::Field("house")),
            (format!("{TEXT}&sizes=4f2a99c103de"), AddressProblem::Field("sizes")),
            (TEXT.replace("4f2a", "4f2"), AddressProblem::Number),
            (TEXT.replace("4f2a", "4g2a"), AddressProblem::Number),
        ] {
            assert_eq!(text.parse::<Address>(), Err(problem), "{text}");
        }
    }
}

//! The names of what is exchanged. Everything that lies in a place of exchange has one of three names, and a name
//! says what the bytes must hash to; a file with any other name is nobody's and is left alone.
//!
//! ```text
//! segments/DEVICE/FIRST-LAST-SHA256        facts FIRST to LAST of what DEVICE wrote
//! photos/PHOTO/PART-PARTS-SHA256           part PART of PARTS of the photo whose bytes hash to PHOTO
//! again/segments/… or again/photos/…       empty: that object arrived damaged, its owner should bring it again
//! ```

use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

/// A SHA-256. Written as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash(pub [u8; 32]);

impl Hash {
    /// The hash of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Hash {
    type Err = NameProblem;

    fn from_str(text: &str) -> Result<Self, NameProblem> {
        let bad = || NameProblem { name: text.to_owned(), wants: "64 lower-case hexadecimal digits" };
        let digits = text.as_bytes();
        if digits.len() != 64 {
            return Err(bad());
        }
        let mut out = [0; 32];
        for (byte, pair) in out.iter_mut().zip(digits.chunks_exact(2)) {
            let digit = |c: u8| match c {
                b'0'..=b'9' => Ok(c - b'0'),
                b'a'..=b'f' => Ok(c - b'a' + 10),
                _ => Err(bad()),
            };
            *byte = digit(pair[0])? << 4 | digit(pair[1])?;
        }
        Ok(Self(out))
    }
}

/// The name of a segment: whose, which of its facts, and the hash of its stored bytes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct SegmentName {
    /// The device that brought it; only that device creates under its prefix.
    pub device: Uuid,
    /// The first fact's number in that device's own order of writing, from 1.
    pub first: u64,
    /// The last fact's number.
    pub last: u64,
    /// SHA-256 of the stored (encrypted) bytes.
    pub hash: Hash,
}

/// The name of a part of a photo.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct PhotoPartName {
    /// SHA-256 of the photo's own bytes, as its record names it.
    pub photo: Hash,
    /// Which part, from 1.
    pub part: u32,
    /// Of how many.
    pub parts: u32,
    /// SHA-256 of the stored (encrypted) bytes of this part.
    pub hash: Hash,
}

/// The name of an object in a place of exchange.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum ObjectName {
    /// Facts.
    Segment(SegmentName),
    /// A part of a photo.
    Photo(PhotoPartName),
    /// A segment that arrived damaged, to be brought again.
    SegmentAgain(SegmentName),
    /// A part that arrived damaged, to be brought again.
    PhotoAgain(PhotoPartName),
}

/// Parts of a photo are at most this many: a photo of 1 GiB.
pub const MOST_PARTS: u32 = 4096;

impl ObjectName {
    /// What the stored bytes hash to; `None` for an ask to bring something again, which is empty.
    pub const fn hash(&self) -> Option<Hash> {
        match self {
            Self::Segment(name) => Some(name.hash),
            Self::Photo(name) => Some(name.hash),
            Self::SegmentAgain(_) | Self::PhotoAgain(_) => None,
        }
    }

    /// The most bytes that an object of this name may have.
    pub const fn most_bytes(&self) -> u64 {
        match self {
            Self::Segment(_) => super::segment::MOST_STORED,
            Self::Photo(_) => super::photo::MOST_STORED,
            Self::SegmentAgain(_) | Self::PhotoAgain(_) => 0,
        }
    }

    /// True when `bytes` are what this name says.
    pub fn fits(&self, bytes: &[u8]) -> bool {
        self.hash().map_or(bytes.is_empty(), |hash| hash == Hash::of(bytes))
    }
}

impl fmt::Display for SegmentName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "segments/{}/{:010}-{:010}-{}", self.device, self.first, self.last, self.hash)
    }
}

impl fmt::Display for PhotoPartName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "photos/{}/{:04}-{:04}-{}", self.photo, self.part, self.parts, self.hash)
    }
}

impl fmt::Display for ObjectName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Segment(name) => name.fmt(f),
            Self::Photo(name) => name.fmt(f),
            Self::SegmentAgain(name) => write!(f, "again/{name}"),
            Self::PhotoAgain(name) => write!(f, "again/{name}"),
        }
    }
}

impl FromStr for ObjectName {
    type Err = NameProblem;

    /// Reads a name; only the exact form that is written above is one, so no name leads out of its place.
    fn from_str(text: &str) -> Result<Self, NameProblem> {
        let read = || -> Option<Self> {
            let (again, rest) = text.strip_prefix("again/").map_or((false, text), |rest| (true, rest));
            let (kind, rest) = rest.split_once('/')?;
            let (group, rest) = rest.split_once('/')?;
            let (low, rest) = rest.split_once('-')?;
            let (high, hash) = rest.split_once('-')?;
            let hash = hash.parse().ok()?;
            match kind {
                "segments" => {
                    let name = SegmentName {
                        device: Uuid::try_parse(group).ok()?,
                        first: low.parse().ok()?,
                        last: high.parse().ok()?,
                        hash,
                    };
                    let many =
                        name.last.checked_sub(name.first).filter(|more| *more < super::segment::MOST_FACTS as u64);
                    (name.first >= 1 && many.is_some() && name.last <= 9_999_999_999).then_some(if again {
                        Self::SegmentAgain(name)
                    } else {
                        Self::Segment(name)
                    })
                }
                "photos" => {
                    let name = PhotoPartName {
                        photo: group.parse().ok()?,
                        part: low.parse().ok()?,
                        parts: high.parse().ok()?,
                        hash,
                    };
                    (name.part >= 1 && name.part <= name.parts && name.parts <= MOST_PARTS).then_some(if again {
                        Self::PhotoAgain(name)
                    } else {
                        Self::Photo(name)
                    })
                }
                _ => None,
            }
        };
        read().filter(|name| name.to_string() == text).ok_or_else(|| NameProblem {
            name: text.chars().take(200).collect(),
            wants: "segments/DEVICE/FIRST-LAST-SHA256 or photos/PHOTO/PART-PARTS-SHA256, or one of these after again/",
        })
    }
}

/// A name that nothing in a place of exchange can have.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("\"{name}\" is no name of an object: it would be {wants}")]
pub struct NameProblem {
    /// The name.
    pub name: String,
    /// What would be right.
    pub wants: &'static str,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_read_back_and_nothing_else_is_one() {
        let hash = Hash::of(b"");
        // FIPS 180-4's empty message, as every SHA-256 test set gives it.
        assert_eq!(hash.to_string(), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
        let segment = SegmentName { device: Uuid::from_u128(7), first: 1, last: 40, hash };
        let part = PhotoPartName { photo: hash, part: 1, parts: 4096, hash };
        for name in [
            ObjectName::Segment(segment),
            ObjectName::Photo(part),
            ObjectName::SegmentAgain(segment),
            ObjectName::PhotoAgain(part),
        ] {
            assert_eq!(name.to_string().parse(), Ok(name));
        }
        let good = segment.to_string();
        for bad in [
            String::new(),
            "../../etc/passwd".to_owned(),
            format!("/{good}"),
            format!("{good}/"),
            format!("{good}\0"),
            format!("again/again/{good}"),
            good.replace("segments", "Segments"),
            good.replace("0000000001-", "0000000041-"),
            good.replace("-0000000040-", "-0000020001-"),
            good.replace("0000000001-", "1-"),
            good.replace("0000000001-", "0000000000-"),
            good.replace("e3b0", "E3B0"),
            good.replace("segments/", "segments/../segments/"),
            part.to_string().replace("0001-4096", "4097-4097"),
        ] {
            assert!(bad.parse::<ObjectName>().is_err(), "{bad}");
        }
    }
}

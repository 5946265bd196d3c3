//! Photos: too large to resend when the line breaks, so they go in parts, each an object of its own. What arrived
//! stays, what is missing is sent; the whole is believed when its bytes hash to what the photo's record says.

use super::key::{FirmKey, OpenProblem};
use super::name::{Hash, MOST_PARTS, PhotoPartName};

/// The bytes of a photo in one part.
pub const PART: usize = 256 << 10;
/// The most bytes of a stored part: its photo bytes, and what age adds.
pub const MOST_STORED: u64 = (PART as u64) + 4096;

/// How many parts a photo of this many bytes has: at least one.
///
/// # Errors
/// [`PhotoProblem::TooLarge`] beyond 1 GiB.
pub fn parts(bytes: u64) -> Result<u32, PhotoProblem> {
    let parts = bytes.div_ceil(PART as u64).max(1);
    u32::try_from(parts).ok().filter(|parts| *parts <= MOST_PARTS).ok_or(PhotoProblem::TooLarge { bytes })
}

/// The bytes of each part of a photo; one empty part of an empty one.
pub fn split(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    let empty = bytes.is_empty().then_some(bytes);
    bytes.chunks(PART).chain(empty)
}

/// One stored part of a photo, `part` from 1, and its name.
///
/// # Errors
/// [`PhotoProblem::TooLarge`] beyond 1 GiB.
pub fn seal(photo: Hash, bytes: &[u8], part: u32, key: &FirmKey) -> Result<(PhotoPartName, Vec<u8>), PhotoProblem> {
    let parts = parts(bytes.len() as u64)?;
    let from = ((part as usize - 1) * PART).min(bytes.len());
    let stored = key.seal(&bytes[from..(from + PART).min(bytes.len())]);
    Ok((PhotoPartName { photo, part, parts, hash: Hash::of(&stored) }, stored))
}

/// Opens and checks one stored part.
///
/// # Errors
/// [`PhotoProblem`]: changed on the way, or not ours.
pub fn open(name: &PhotoPartName, stored: &[u8], key: &FirmKey) -> Result<Vec<u8>, PhotoProblem> {
    let found = Hash::of(stored);
    if found != name.hash {
        return Err(PhotoProblem::Damaged { found });
    }
    Ok(key.open(stored, PART as u64)?)
}

/// Why a photo or a part of one is not believed.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum PhotoProblem {
    /// Larger than can be exchanged.
    #[error("a photo of {bytes} bytes is larger than 1 GiB and is not exchanged")]
    TooLarge {
        /// Its size.
        bytes: u64,
    },
    /// The bytes are not those the name speaks of.
    #[error("its bytes hash to {found}, not to what its name says: it was changed or cut off on the way")]
    Damaged {
        /// What they hash to.
        found: Hash,
    },
    /// It does not open.
    #[error("{0}")]
    Open(#[from] OpenProblem),
}

//! A few megabytes beside the book, given up when the disk is full so that the last readings still fit.

use super::files::{Files, beside};
use std::fs;
use std::path::{Path, PathBuf};

/// The size of the reserve: a reading takes under 20 KB of the log before it is folded into the file, so this
/// holds some 200 more, a day's work.
pub const RESERVE_BYTES: usize = 4 << 20;

#[derive(Debug)]
pub(super) struct Reserve {
    path: PathBuf,
    files: Files,
}

impl Reserve {
    pub(super) fn of(book: &Path, files: Files) -> Self {
        Self { path: beside(book, ".reserve"), files }
    }

    pub(super) fn is_held(&self) -> bool {
        fs::metadata(&self.path).is_ok_and(|there| there.len() == RESERVE_BYTES as u64)
    }

    /// Sets the room aside. False when the disk has none to spare; then nothing is taken.
    pub(super) fn hold(&self) -> bool {
        self.is_held() || self.files.replace(&self.path, &filling()).is_ok()
    }

    /// Gives the room up. False when there was none to give.
    pub(super) fn release(&self) -> bool {
        self.path.exists() && self.files.remove(&self.path).is_ok()
    }
}

/// Bytes that a compressing file system cannot make smaller (xorshift64, Marsaglia 2003), else nothing would be held.
fn filling() -> Vec<u8> {
    let mut word = 0x9E37_79B9_7F4A_7C15_u64;
    (0..RESERVE_BYTES / 8)
        .flat_map(|_| {
            word ^= word << 13;
            word ^= word >> 7;
            word ^= word << 17;
            word.to_le_bytes()
        })
        .collect()
}

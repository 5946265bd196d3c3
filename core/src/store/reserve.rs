//! A few megabytes beside the book, given up when the disk is full so that the last readings still fit.

use super::files::{Files, beside, is_plain};
use std::fs;
use std::io::Read;
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
        self.there() == There::Held
    }

    /// Sets the room aside. False when the disk has none to spare, or when something that is not ours has its name; then
    /// nothing is taken and nothing is touched.
    pub(super) fn hold(&self) -> bool {
        match self.there() {
            There::Held => true,
            There::Foreign => false,
            There::No => self.files.replace_secret(&self.path, &filling()).is_ok(),
        }
    }

    /// Gives the room up. False when there was none to give.
    pub(super) fn release(&self) -> bool {
        self.is_held() && self.files.remove(&self.path).is_ok()
    }

    fn there(&self) -> There {
        let Ok(there) = fs::symlink_metadata(&self.path) else { return There::No };
        let mut begins = [0; 8];
        let ours = is_plain(&there)
            && fs::File::open(&self.path).and_then(|mut file| file.read_exact(&mut begins)).is_ok()
            && begins == first_word().to_le_bytes();
        match (ours, there.len() == RESERVE_BYTES as u64) {
            (true, true) => There::Held,
            // Made with a size of an older program, or cut.
            (true, false) => There::No,
            (false, _) => There::Foreign,
        }
    }
}

/// What lies under the reserve's name.
#[derive(Clone, Copy, PartialEq, Eq)]
enum There {
    No,
    Held,
    Foreign,
}

/// Bytes that a compressing file system cannot make smaller (xorshift64, Marsaglia 2003), else nothing would be held.
fn filling() -> Vec<u8> {
    let mut word = SEED;
    (0..RESERVE_BYTES / 8)
        .flat_map(|_| {
            word = next(word);
            word.to_le_bytes()
        })
        .collect()
}

const SEED: u64 = 0x9E37_79B9_7F4A_7C15;

const fn next(mut word: u64) -> u64 {
    word ^= word << 13;
    word ^= word >> 7;
    word ^ (word << 17)
}

/// What a reserve begins with: how it is told from another's file of that name.
const fn first_word() -> u64 {
    next(SEED)
}

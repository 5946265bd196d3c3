//! What tells a book from a copy of it.
//!
//! Two books with one device id would write different facts under the same name, and the other side would take one
//! for the other. So the book holds a marker of the very file it is in: its number on the disk and the instant it was
//! made. A copy, a restored backup or a moved phone is another file, the markers differ on opening, and the book takes a
//! new device id ([`super::Notice::Copied`]); the old id stays in its list of own devices, so that what it wrote
//! is still sent. A needless new id costs one more name in the sync folder, no fact.
//!
//! What a marker cannot see is a whole disk that was put back to an earlier day (same file, same number). Sync
//! can: it finds segments under this device's name that this book never wrote, and calls
//! [`super::Book::take_new_device`].

use std::fs;
use std::path::Path;

/// The marker of a file; empty when the system does not say enough, and then nothing is compared.
pub(super) fn of(path: &Path) -> String {
    let Ok(about) = fs::metadata(path) else { return String::new() };
    let made = about
        .created()
        .ok()
        .and_then(|made| made.duration_since(std::time::UNIX_EPOCH).ok())
        .map_or_else(String::new, |made| made.as_nanos().to_string());
    #[cfg(unix)]
    let number = std::os::unix::fs::MetadataExt::ino(&about).to_string();
    #[cfg(not(unix))]
    let number = String::new();
    if made.is_empty() && number.is_empty() { String::new() } else { format!("{number}:{made}") }
}

//! What exists on this device alone: what was written here and no place of exchange has confirmed.
//!
//! A sync that came to its end leaves behind up to which row of the book everything is elsewhere too: what was written
//! here lies at the place, and what others wrote is with them. Only what this book wrote after that row is here alone.

use crate::store::{Book, StoreProblem};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Under [`crate::store::SENT`]: a book that was rebuilt forgets it, and everything counts as here alone.
const UP_TO: &str = "sent.elsewhere";

/// Keeps that everything up to this row is elsewhere too.
pub(super) fn elsewhere(book: &mut Book, row: i64) -> Result<(), StoreProblem> {
    if row > up_to(book)? {
        book.set_state(UP_TO, Some(&row.to_string()))?;
    }
    Ok(())
}

fn up_to(book: &Book) -> Result<i64, StoreProblem> {
    Ok(book.state(UP_TO)?.and_then(|text| text.parse().ok()).unwrap_or(0))
}

/// How many facts of each house are on this device alone. A house that is not named has none.
///
/// # Errors
/// [`StoreProblem`] when the book cannot be read.
pub fn alone(book: &Book) -> Result<BTreeMap<Uuid, u64>, StoreProblem> {
    book.written_after(up_to(book)?)
}

/// The same in a few words: "12 entries are only on this device"; nothing when there are none.
pub fn alone_words(facts: u64) -> String {
    match facts {
        0 => String::new(),
        1 => "1 entry is only on this device".to_owned(),
        n => format!("{n} entries are only on this device"),
    }
}

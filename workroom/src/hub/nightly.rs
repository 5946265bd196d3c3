//! The nightly check of a hub that keeps a book: the whole book, and every object that lies in the hub's store. What is not
//! sound is said, stands in the audit list, and is mended from the facts by the next opening of the book.

use hangtrue_core::store::{Book, StoreProblem};
use hangtrue_core::sync::{Folder, Transport, TransportProblem};

/// The book's state under which it is kept when it was last checked, in milliseconds since 1970.
const LAST: &str = "check.last";
const HOUR_MS: u64 = 3_600_000;

/// True when a check is due: at night a day after the last one, at any hour after a second night was missed.
pub(super) fn is_due(last_ms: Option<u64>, now_ms: u64, hour: u32) -> bool {
    let Some(last_ms) = last_ms else { return true };
    // A clock that was set back must not put the check off for years.
    let since = now_ms.abs_diff(last_ms);
    (since >= 20 * HOUR_MS && (1..5).contains(&hour)) || since >= 44 * HOUR_MS
}

/// When the book was last checked.
pub(super) fn last(book: &Book) -> Option<u64> {
    book.state(LAST).ok().flatten()?.parse().ok()
}

/// Checks everything. Gives what was found, in sentences, and whether all is sound.
pub(super) fn check(book: &mut Book, store: &mut Folder, now_ms: u64) -> Result<(Vec<String>, bool), StoreProblem> {
    let found = book.examine()?;
    let mut says = found.says();
    let (mut whole, mut bad) = (0_u64, 0_u64);
    for prefix in ["segments/", "photos/"] {
        match store.list(prefix) {
            Ok(names) => {
                for name in names {
                    match store.get(&name) {
                        Ok(bytes) if name.fits(&bytes) => whole += 1,
                        // Joined with others meanwhile.
                        Err(TransportProblem::NotThere(_)) => {}
                        _ => {
                            bad += 1;
                            says.push(format!("  {name} is not what its name says; its device brings it again"));
                        }
                    }
                }
            }
            Err(problem) => {
                bad += 1;
                says.push(format!("  the hub's store cannot be listed: {problem}"));
            }
        }
    }
    says.push(format!("In the hub's store {whole} objects are sound, {bad} are not."));
    let is_sound = found.is_sound() && bad == 0;
    if found.faults.is_empty() {
        book.set_state(LAST, Some(&now_ms.to_string()))?;
    }
    Ok((says, is_sound))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moments;
    use hangtrue_core::store::Files;
    use std::fs;

    #[test]
    fn a_check_comes_every_night_and_a_missed_one_by_day() {
        let day = 24 * HOUR_MS;
        assert!(is_due(None, 0, 12));
        assert!(!is_due(Some(day), day + HOUR_MS, 3));
        assert!(is_due(Some(day), 2 * day, 3));
        assert!(!is_due(Some(day), 2 * day, 12));
        assert!(is_due(Some(day), 3 * day, 12));
        assert!(is_due(Some(400 * day), day, 3), "the clock was set back");
        // Hour by hour over a month: once a night.
        let (mut last, mut checks) = (None, 0);
        for hour in 0..24 * 30 {
            let now = 1000 * day + hour * HOUR_MS;
            if is_due(last, now, u32::try_from(hour % 24).unwrap()) {
                checks += 1;
                last = Some(now);
            }
        }
        assert!((30..=31).contains(&checks), "{checks}");
    }

    #[test]
    fn what_is_not_sound_in_the_book_or_the_store_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("desk.book");
        let mut book = Book::open(&path, &mut moments::now).unwrap();
        let kept = book.photos().keep(b"a photo").unwrap();
        let root = folder.path().join("store");
        let mut store = Folder::create(&root, moments::now().uuid(), Files::default()).unwrap();
        let (says, is_sound) = check(&mut book, &mut store, 5).unwrap();
        assert!(is_sound, "{says:?}");
        assert_eq!(last(&book), Some(5));
        fs::write(folder.path().join("desk.book.photos").join(&kept), b"another").unwrap();
        let (says, is_sound) = check(&mut book, &mut store, 6).unwrap();
        assert!(!is_sound && says.iter().any(|line| line.contains(&kept)), "{says:?}");
    }
}

//! A backup of the whole book, and its restore tried at once: what nobody has read back is no backup yet.

use super::desk::DeskProblem;
use hangtrue_core::store::{Book, Files, HouseLine, StoreProblem};
use hangtrue_core::sync::archive;
use std::path::{Path, PathBuf};

/// What the folders of backups are called, before their day and time.
const NAME: &str = "hangtrue-backup-";

/// What a backup came to.
#[derive(Debug)]
pub(super) struct Backup {
    /// Where it is.
    pub(super) folder: PathBuf,
    /// What is in it and how it was tried, in sentences.
    pub(super) says: Vec<String>,
}

/// Where backups go unless a person names another folder: beside the book.
pub(super) fn usual(book: &Path) -> PathBuf {
    let mut own = book.as_os_str().to_owned();
    own.push(".backups");
    PathBuf::from(own)
}

/// The newest backup in a folder, by its name.
pub(super) fn newest(folder: &Path) -> Option<String> {
    let names = std::fs::read_dir(folder).ok()?.filter_map(Result::ok);
    let whole = names.filter(|entry| entry.path().join("archive.json").exists());
    let names = whole.filter_map(|entry| entry.file_name().into_string().ok());
    names.filter_map(|name| name.strip_prefix(NAME).map(str::to_owned)).max()
}

/// Writes all of a book to a new folder in `place`, restores that into an empty book, and holds the two against each other.
/// The book that was restored is taken away again. `stamp` is the day and time, as the name of a folder.
pub(super) fn make(book: &Book, place: &Path, stamp: &str) -> Result<Backup, DeskProblem> {
    let wrong = |what: String| DeskProblem::Refused {
        what,
        right: "Name a folder of this computer or a disk that can be written, with room for the book.".to_owned(),
    };
    let failed = |problem: archive::ArchiveProblem| wrong(format!("The backup was not made: {problem}."));
    let folder = place.join(format!("{NAME}{stamp}"));
    let before = book.houses()?;
    let contents = archive::write(book, &folder, &Files::default()).map_err(failed)?;
    let after = book.houses()?;
    let mut says = vec![format!(
        "{} and {} are in it.",
        many(contents.facts, "entry", "entries"),
        many(contents.photos, "photo", "photos")
    )];
    if contents.photos_missing > 0 {
        let missing = many(contents.photos_missing, "photo", "photos");
        says.push(format!("Not in it, because not on this computer: {missing}."));
    }
    let trial = folder.join("trying-to-restore");
    let tried = try_out(&folder, &trial, &[before, after]);
    // What is left of a trial is no part of the backup.
    let cleared = std::fs::remove_dir_all(&trial);
    match tried {
        Ok(houses) => says.push(format!(
            "Restored into an empty book to try it: {}, the same as here, and sound.",
            many(houses, "house", "houses")
        )),
        Err(what) => return Err(wrong(format!("The backup in {} does not restore: {what}", folder.display()))),
    }
    if let Err(error) = cleared {
        says.push(format!("{} could not be taken away again: {error}.", trial.display()));
    }
    Ok(Backup { folder, says })
}

/// Restores a backup into a book of its own: how many houses it has then, or what is wrong. `as_here` are the lists of
/// houses that would be right: from before and after the backup was written.
fn try_out(backup: &Path, trial: &Path, as_here: &[Vec<HouseLine>]) -> Result<u64, String> {
    let restored = || -> Result<(Vec<HouseLine>, Vec<String>, bool), archive::ArchiveProblem> {
        let disk = |error| archive::ArchiveProblem::Disk { path: trial.to_owned(), error };
        hangtrue_core::store::make_private(trial).map_err(disk)?;
        let mut book = Book::open(&trial.join("trial.book"), &mut crate::moments::now)?;
        archive::restore(&mut book, backup)?;
        let found = book.examine()?;
        Ok((book.houses()?, found.says(), found.is_sound()))
    };
    let (houses, says, is_sound) = restored().map_err(|problem| problem.to_string())?;
    if !is_sound {
        return Err(says.join(" "));
    }
    if !as_here.contains(&houses) {
        return Err(format!("it has {} houses that are not those of this book.", houses.len()));
    }
    Ok(u64::try_from(houses.len()).unwrap_or(u64::MAX))
}

fn many(count: u64, one: &str, more: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {more}") }
}

/// The key under which the folder that a person named is kept.
const PLACE: &str = "page.backup";

/// The folder that backups of a book go to.
pub(super) fn place(book: &Book) -> Result<PathBuf, StoreProblem> {
    Ok(book.draft(PLACE)?.map_or_else(|| usual(book.path()), PathBuf::from))
}

/// Keeps the folder that a person named; nothing named is the usual one.
pub(super) fn set_place(book: &mut Book, named: &str) -> Result<PathBuf, StoreProblem> {
    let usual = usual(book.path());
    let named = named.trim();
    let is_usual = named.is_empty() || Path::new(named) == usual;
    book.set_draft(PLACE, (!is_usual).then_some(named))?;
    Ok(if is_usual { usual } else { PathBuf::from(named) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moments;
    use hangtrue_core::house::file;

    #[test]
    fn a_backup_is_restored_and_one_that_is_damaged_is_told() {
        let at = tempfile::tempdir().unwrap();
        let mut book = Book::open(&at.path().join("a.book"), &mut moments::now).unwrap();
        let job = file::read(include_str!("../../../fixtures/houses/heron-lane.json")).unwrap();
        book.take_in(&job, "test", &mut moments::now).unwrap();
        let place = usual(book.path());
        assert_eq!(newest(&place), None);
        let made = make(&book, &place, "2026-05-04-0912").unwrap();
        assert!(made.says.iter().any(|line| line.contains("1 house, the same as here")), "{:?}", made.says);
        assert!(!made.folder.join("trying-to-restore").exists());
        assert_eq!(newest(&place).as_deref(), Some("2026-05-04-0912"));
        // The same moment once more is another folder's name, or a refusal; nothing is written over.
        assert!(make(&book, &place, "2026-05-04-0912").is_err());
        // It restores into a book of its own, by the program's own command.
        let mut other = Book::open(&at.path().join("b.book"), &mut moments::now).unwrap();
        archive::restore(&mut other, &made.folder).unwrap();
        assert_eq!(other.houses().unwrap(), book.houses().unwrap());
        // One letter of one entry, and the trial says so.
        let facts = made.folder.join("facts.jsonl");
        let text = std::fs::read_to_string(&facts).unwrap().replacen("Dormer", "Darmer", 1);
        std::fs::write(&facts, text).unwrap();
        let trial = at.path().join("trial");
        assert!(try_out(&made.folder, &trial, &[book.houses().unwrap()]).is_err());
        // A house more than the backup has.
        let elsewhere = at.path().join("elsewhere");
        let whole = make(&book, &elsewhere, "1").unwrap();
        std::fs::remove_dir_all(&trial).ok();
        assert!(try_out(&whole.folder, &trial, &[Vec::new()]).unwrap_err().contains("not those of this book"));
    }

    #[test]
    fn a_folder_that_is_named_is_kept_and_none_is_the_usual_one() {
        let at = tempfile::tempdir().unwrap();
        let mut book = Book::open(&at.path().join("a.book"), &mut moments::now).unwrap();
        let usual = usual(book.path());
        assert_eq!(place(&book).unwrap(), usual);
        assert_eq!(set_place(&mut book, " /mnt/stick ").unwrap(), Path::new("/mnt/stick"));
        assert_eq!(place(&book).unwrap(), Path::new("/mnt/stick"));
        assert_eq!(set_place(&mut book, "").unwrap(), usual);
        assert_eq!(place(&book).unwrap(), usual);
    }
}

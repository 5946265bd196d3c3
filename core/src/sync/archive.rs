//! Backup and leaving: all facts and photos of a book as plain files, and back.
//!
//! ```text
//! ARCHIVE/archive.json         {"hangtrue_archive":1,"facts":N,"facts_sha256":"…","photos":M}, written last
//! ARCHIVE/facts.jsonl          one fact a line, in order of arrival
//! ARCHIVE/photos/SHA256        the photos' own bytes
//! ```
//! Nothing in it is encrypted or compressed: it opens with any text editor, for as long as there are any.

use super::name::Hash;
use super::segment::MOST_FACT;
use crate::fact::{ERASED, Fact, LAST_MS};
use crate::store::{Book, ERASED_PHOTOS, Files, StoreProblem, make_private, private_folder, tighten};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;
use std::fs;
use std::io::{self, BufRead, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

const VERSION: u32 = 1;
const STEP: usize = 1000;
/// A line of an archive is at most this long to be read; version 1 wrote facts that are longer than any may be now.
const MOST_LINE: u64 = 4 << 20;

/// What an archive holds: its `archive.json`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Contents {
    /// The version of the archive.
    pub hangtrue_archive: u32,
    /// How many facts.
    pub facts: u64,
    /// SHA-256 of `facts.jsonl`.
    pub facts_sha256: String,
    /// How many photos.
    pub photos: u64,
    /// How many photos facts name that are not in it.
    #[serde(default, skip_serializing_if = "is_none")]
    pub photos_missing: u64,
    /// How many of its facts a book did not take in: longer than any may be, or of a house that was erased.
    #[serde(skip)]
    pub not_taken: u64,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde's skip_serializing_if hands over a reference")]
const fn is_none(count: &u64) -> bool {
    *count == 0
}

/// Why an archive could not be written or taken in. Each has a code that never changes.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveProblem {
    /// The folder that was named has something in it.
    #[error("{}: there is something here already; name a folder that is not there yet or is empty", .0.display())]
    NotEmpty(PathBuf),
    /// Not an archive, or one that was not finished.
    #[error("{}: this is no whole archive: {what}", path.display())]
    NotAnArchive {
        /// Where.
        path: PathBuf,
        /// What is missing.
        what: String,
    },
    /// A newer program's.
    #[error("{}: this archive is of version {found}, this program reads up to {VERSION}; it was left as it is", path.display())]
    Newer {
        /// Where.
        path: PathBuf,
        /// Its version.
        found: u32,
    },
    /// Not what was written.
    #[error("{}: {what}", path.display())]
    Damaged {
        /// Which file.
        path: PathBuf,
        /// What is wrong, with the line where there is one.
        what: String,
    },
    /// The disk.
    #[error("{}: {error}", path.display())]
    Disk {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// The book.
    #[error(transparent)]
    Book(#[from] StoreProblem),
}

impl ArchiveProblem {
    /// Its code, the same in every reader of the format.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NotEmpty(_) => "not_empty",
            Self::NotAnArchive { .. } => "not_an_archive",
            Self::Newer { .. } => "newer",
            Self::Damaged { .. } => "damaged",
            Self::Disk { .. } => "disk",
            Self::Book(_) => "book",
        }
    }
}

fn disk(path: &Path) -> impl Fn(io::Error) -> ArchiveProblem + '_ {
    move |error| ArchiveProblem::Disk { path: path.to_owned(), error }
}

/// Writes all facts and photos of a book to the folder `to`, which must be empty or not there.
///
/// # Errors
/// [`ArchiveProblem`]; `archive.json` is written last, so half an archive is never taken for a whole one.
pub fn write(book: &Book, to: &Path, files: &Files) -> Result<Contents, ArchiveProblem> {
    let photos = to.join("photos");
    make_private(to).map_err(disk(to))?;
    if fs::read_dir(to).map_err(disk(to))?.next().is_some() {
        return Err(ArchiveProblem::NotEmpty(to.to_owned()));
    }
    tighten(to).map_err(disk(to))?;
    private_folder(&photos).map_err(disk(&photos))?;
    let path = to.join("facts.jsonl");
    files.create_secret(&path, b"").map_err(disk(&path))?;
    let mut out = BufWriter::new(fs::OpenOptions::new().append(true).open(&path).map_err(disk(&path))?);
    let mut sum = Sha256::new();
    let (mut row, mut count) = (0, 0);
    let (mut named, mut long) = (BTreeSet::new(), Vec::new());
    loop {
        let facts = book.all_facts(row, STEP)?;
        let Some((last, _)) = facts.last() else { break };
        row = *last;
        for (_, fact) in &facts {
            if fact.kind == ERASED {
                continue;
            }
            named.extend(super::exchange::photo_of(fact));
            let write =
                |fact: &Fact| serde_json::to_vec(fact).expect("a fact has text keys only, so it always becomes JSON");
            let mut line = write(fact);
            if line.len() > MOST_FACT {
                // An older program's: kept whole for a person to read, and in short where every reader reads.
                let short = write(&super::exchange::too_long(fact, line.len()));
                long.extend(std::mem::replace(&mut line, short));
                long.push(b'\n');
            }
            line.push(b'\n');
            sum.update(&line);
            out.write_all(&line).map_err(disk(&path))?;
            count += 1;
        }
    }
    out.into_inner().map_err(|error| disk(&path)(error.into_error()))?.sync_all().map_err(disk(&path))?;
    if !long.is_empty() {
        let path = to.join("too-long.jsonl");
        files.replace_secret(&path, &long).map_err(disk(&path))?;
    }
    let mut kept = 0;
    for name in book.photos().list()? {
        if let Some(bytes) = book.photos().read(&name)? {
            named.retain(|hash: &Hash| hash.to_string() != name);
            let path = photos.join(&name);
            files.replace_secret(&path, &bytes).map_err(disk(&path))?;
            kept += 1;
        }
    }
    let contents = Contents {
        hangtrue_archive: VERSION,
        facts: count,
        facts_sha256: Hash(sum.finalize().into()).to_string(),
        photos: kept,
        photos_missing: named.len() as u64,
        not_taken: 0,
    };
    let path = to.join("archive.json");
    let mut text = serde_json::to_vec_pretty(&contents).expect("numbers and a text always become JSON");
    text.push(b'\n');
    files.replace_secret(&path, &text).map_err(disk(&path))?;
    Ok(contents)
}

/// Looks at a whole archive: every line, every photo, every sum.
///
/// # Errors
/// [`ArchiveProblem`] says which file and line are not what was written.
pub fn check(from: &Path) -> Result<Contents, ArchiveProblem> {
    walk(from, &mut |_| Ok(()), &mut |_| Ok(()))
}

/// Takes an archive into a book: its facts are merged, its photos kept. The whole archive is looked at before the
/// first fact is taken in, so a damaged one changes nothing.
///
/// # Errors
/// [`ArchiveProblem`].
pub fn restore(book: &mut Book, from: &Path) -> Result<Contents, ArchiveProblem> {
    check(from)?;
    let batch: RefCell<Vec<Fact>> = RefCell::new(Vec::new());
    let shared = RefCell::new(book);
    let not_taken = Cell::new(0);
    let take = || -> Result<(), StoreProblem> {
        let merged = shared.borrow_mut().merge(&batch.take())?;
        not_taken.set(not_taken.get() + (merged.erased + merged.refused.len()) as u64);
        Ok(())
    };
    let mut contents = walk(
        from,
        &mut |fact| {
            batch.borrow_mut().push(fact);
            let full = batch.borrow().len() >= STEP;
            if full { Ok(take()?) } else { Ok(()) }
        },
        &mut |bytes| {
            // All facts come before the first photo: what they erased is known then.
            let left = !batch.borrow().is_empty();
            if left {
                take()?;
            }
            let book = shared.borrow();
            let gone = book.state(ERASED_PHOTOS)?.unwrap_or_default();
            let name = Hash::of(&bytes).to_string();
            if !gone.split_whitespace().any(|gone| gone == name) {
                book.photos().keep(&bytes)?;
            }
            Ok(())
        },
    )?;
    take()?;
    contents.not_taken = not_taken.get();
    Ok(contents)
}

type Each<'a, T> = &'a mut dyn FnMut(T) -> Result<(), ArchiveProblem>;

fn walk(from: &Path, fact: Each<'_, Fact>, photo: Each<'_, Vec<u8>>) -> Result<Contents, ArchiveProblem> {
    let path = from.join("archive.json");
    let whole = |what: String| ArchiveProblem::NotAnArchive { path: from.to_owned(), what };
    let text = fs::read(&path).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => whole("it has no archive.json, which is written last".to_owned()),
        _ => disk(&path)(error),
    })?;
    let any: serde_json::Value =
        serde_json::from_slice(&text).map_err(|error| whole(format!("archive.json: {error}")))?;
    let version = any.get("hangtrue_archive").and_then(serde_json::Value::as_u64).unwrap_or(0);
    if version > u64::from(VERSION) {
        return Err(ArchiveProblem::Newer { path: from.to_owned(), found: u32::try_from(version).unwrap_or(u32::MAX) });
    }
    let contents: Contents = serde_json::from_value(any).map_err(|error| whole(format!("archive.json: {error}")))?;
    if contents.hangtrue_archive == 0 {
        return Err(whole("archive.json: there is no version 0".to_owned()));
    }
    let path = from.join("facts.jsonl");
    let damaged = |what: String| ArchiveProblem::Damaged { path: path.clone(), what };
    let mut lines = BufReader::new(fs::File::open(&path).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => whole("it has no facts.jsonl".to_owned()),
        _ => disk(&path)(error),
    })?);
    let mut sum = Sha256::new();
    let (mut count, mut line) = (0_u64, Vec::new());
    loop {
        line.clear();
        let read = (&mut lines).take(MOST_LINE).read_until(b'\n', &mut line).map_err(disk(&path))?;
        if read == 0 {
            break;
        }
        count += 1;
        if line.last() != Some(&b'\n') {
            return Err(damaged(format!(
                "line {count} does not end; it was cut off or is longer than {MOST_LINE} bytes"
            )));
        }
        sum.update(&line);
        let read: Fact = serde_json::from_slice(&line).map_err(|error| damaged(format!("line {count}: {error}")))?;
        if read.stamp.ms > LAST_MS {
            return Err(damaged(format!("line {count}: its stamp {} ms lies beyond the year 9999", read.stamp.ms)));
        }
        fact(read)?;
    }
    if count != contents.facts {
        return Err(damaged(format!("it should hold {} facts and holds {count}", contents.facts)));
    }
    let found = Hash(sum.finalize().into()).to_string();
    if found != contents.facts_sha256 {
        return Err(damaged(format!("its bytes hash to {found}, not to {}", contents.facts_sha256)));
    }
    let folder = from.join("photos");
    let mut photos = 0;
    let mut names: Vec<PathBuf> = match fs::read_dir(&folder) {
        Ok(entries) => {
            entries.map(|entry| entry.map(|entry| entry.path())).collect::<Result<_, _>>().map_err(disk(&folder))?
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
        Err(error) => return Err(disk(&folder)(error)),
    };
    names.sort();
    for path in names {
        let name = path.file_name().and_then(|name| name.to_str()).and_then(|name| name.parse::<Hash>().ok());
        // Not a photo of ours: a file that some program left there.
        let Some(name) = name else { continue };
        let bytes = fs::read(&path).map_err(disk(&path))?;
        if Hash::of(&bytes) != name {
            let what = "its bytes are not those of its name".to_owned();
            return Err(ArchiveProblem::Damaged { path, what });
        }
        photos += 1;
        photo(bytes)?;
    }
    if photos != contents.photos {
        let what = format!("it should hold {} photos and holds {photos}", contents.photos);
        return Err(ArchiveProblem::Damaged { path: folder, what });
    }
    Ok(contents)
}

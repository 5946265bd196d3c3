//! Backup and leaving: all facts and photos of a book as plain files, and back.
//!
//! ```text
//! ARCHIVE/archive.json         {"hangtrue_archive":1,"facts":N,"facts_sha256":"…","photos":M}, written last
//! ARCHIVE/facts.jsonl          one fact a line, in order of arrival
//! ARCHIVE/photos/SHA256        the photos' own bytes
//! ```
//! Nothing in it is encrypted or compressed: it opens with any text editor, for as long as there are any.

use super::name::Hash;
use crate::fact::Fact;
use crate::store::{Book, Files, StoreProblem};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fs;
use std::io::{self, BufRead, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

const VERSION: u32 = 1;
const STEP: usize = 1000;
/// A line of an archive is at most this long.
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
    fs::create_dir_all(to).map_err(disk(to))?;
    if fs::read_dir(to).map_err(disk(to))?.next().is_some() {
        return Err(ArchiveProblem::NotEmpty(to.to_owned()));
    }
    fs::create_dir_all(&photos).map_err(disk(&photos))?;
    let path = to.join("facts.jsonl");
    let mut out = BufWriter::new(fs::File::create(&path).map_err(disk(&path))?);
    let mut sum = Sha256::new();
    let (mut row, mut count) = (0, 0);
    loop {
        let facts = book.all_facts(row, STEP)?;
        let Some((last, _)) = facts.last() else { break };
        row = *last;
        for (_, fact) in &facts {
            let mut line = serde_json::to_vec(fact).expect("a fact has text keys only, so it always becomes JSON");
            line.push(b'\n');
            sum.update(&line);
            out.write_all(&line).map_err(disk(&path))?;
            count += 1;
        }
    }
    out.into_inner().map_err(|error| disk(&path)(error.into_error()))?.sync_all().map_err(disk(&path))?;
    let mut kept = 0;
    for name in book.photos().list()? {
        if let Some(bytes) = book.photos().read(&name)? {
            let path = photos.join(&name);
            files.replace(&path, &bytes).map_err(disk(&path))?;
            kept += 1;
        }
    }
    let contents = Contents {
        hangtrue_archive: VERSION,
        facts: count,
        facts_sha256: Hash(sum.finalize().into()).to_string(),
        photos: kept,
    };
    let path = to.join("archive.json");
    let mut text = serde_json::to_vec_pretty(&contents).expect("numbers and a text always become JSON");
    text.push(b'\n');
    files.replace(&path, &text).map_err(disk(&path))?;
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
    let mut batch = Vec::new();
    let shared = std::cell::RefCell::new(book);
    let contents = walk(
        from,
        &mut |fact| {
            batch.push(fact);
            if batch.len() >= STEP {
                shared.borrow_mut().merge(&batch)?;
                batch.clear();
            }
            Ok(())
        },
        &mut |bytes| shared.borrow().photos().keep(&bytes).map(drop).map_err(ArchiveProblem::from),
    )?;
    shared.into_inner().merge(&batch)?;
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
        fact(serde_json::from_slice(&line).map_err(|error| damaged(format!("line {count}: {error}")))?)?;
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

//! What can go wrong with a book, said so that a caller knows what to do.

use rusqlite::ErrorCode;
use std::io;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// Why the book could not do what it was asked. What was acknowledged before stays whole in every case.
#[derive(Debug, thiserror::Error)]
pub enum StoreProblem {
    /// A newer program wrote this file. It was not touched.
    #[error(
        "{}: this book has version {found}, this program reads up to {known}; it was left as it is, open it with the newer program",
        path.display()
    )]
    Newer {
        /// The book.
        path: PathBuf,
        /// Its major version.
        found: i64,
        /// The newest major version that is read here.
        known: i64,
    },
    /// There is no book to be read. Nothing was made.
    #[error(
        "{}: there is no book here; look at the path (--book, or HANGTRUE_BOOK), or begin a book by taking a job file in",
        path.display()
    )]
    NoBook {
        /// Where one was looked for.
        path: PathBuf,
    },
    /// The file is something else. It was not touched.
    #[error("{}: this is not a book ({what}); it was left as it is, name another file", path.display())]
    NotABook {
        /// The file.
        path: PathBuf,
        /// What it is instead.
        what: String,
    },
    /// No room on the disk. What was saved is whole; what was asked now is not saved.
    #[error(
        "{}: the disk is full while {doing}; all that was saved is whole, this was not saved; free some space and do it again",
        path.display()
    )]
    Full {
        /// The book or file.
        path: PathBuf,
        /// What was being done.
        doing: String,
    },
    /// Another program is writing and did not end in time.
    #[error("{}: another program is writing in this book; wait for it to end and do it again", path.display())]
    Busy {
        /// The book.
        path: PathBuf,
    },
    /// The file is damaged. Opening it again moves it aside and saves what can be read.
    #[error(
        "{}: the book is damaged ({what}); nothing was deleted, open it again and what can be read is saved",
        path.display()
    )]
    Damaged {
        /// The book.
        path: PathBuf,
        /// What was found.
        what: String,
    },
    /// The disk or the system refused.
    #[error("{}: {doing} failed: {what}; nothing that was saved is lost; see to the disk and do it again", path.display())]
    Disk {
        /// The book or file.
        path: PathBuf,
        /// What was being done.
        doing: String,
        /// What the system said.
        what: String,
    },
    /// No such house in this book.
    #[error("there is no house {job} in this book; begin it (a fact \"house_opened\") or take in its job file first")]
    NoHouse {
        /// The house that was named.
        job: Uuid,
    },
    /// A fact that is longer than any may be.
    #[error("this is {bytes} bytes long as it would be kept, and at most {most} can be kept and exchanged; make it shorter, or write it in parts", most = crate::fact::MOST_FACT)]
    TooLong {
        /// Its length as a line.
        bytes: usize,
    },
    /// The chance that was handed in was not new.
    #[error("an id that was handed in is already in the book; hand in fresh random bytes for every fact")]
    IdTaken,
    /// A photo's name is not a hash.
    #[error("\"{name}\" is not the name of a photo; it is the SHA-256 of its bytes, 64 digits of 0-9 and a-f")]
    PhotoName {
        /// What was handed in.
        name: String,
    },
    /// A photo's bytes are not those that its name says.
    #[error(
        "{}: the bytes of this photo are not those of its name; they were moved aside, fetch it again from where it was sent",
        path.display()
    )]
    PhotoDamaged {
        /// Where the bytes are now.
        path: PathBuf,
    },
    /// A part of a photo does not follow what is there.
    #[error("the next part of photo {sha256} starts at byte {have}, not at {given}")]
    PhotoPart {
        /// The photo.
        sha256: String,
        /// How many bytes are there.
        have: u64,
        /// Where the part that was handed in starts.
        given: u64,
    },
}

impl StoreProblem {
    pub(super) fn sqlite(path: &Path, doing: &str, error: &rusqlite::Error) -> Self {
        let path = path.to_owned();
        let what = error.to_string();
        let doing = doing.to_owned();
        if is_full(error) {
            return Self::Full { path, doing };
        }
        match error {
            rusqlite::Error::ToSqlConversionFailure(inner) if inner.is::<TooLong>() => {
                Self::TooLong { bytes: inner.downcast_ref::<TooLong>().map_or(0, |long| long.0) }
            }
            rusqlite::Error::SqliteFailure(inner, _) => match inner.code {
                ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => Self::Busy { path },
                ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase => Self::Damaged { path, what },
                ErrorCode::ConstraintViolation => Self::IdTaken,
                _ => Self::Disk { path, doing, what },
            },
            rusqlite::Error::FromSqlConversionFailure(..)
            | rusqlite::Error::IntegralValueOutOfRange(..)
            | rusqlite::Error::InvalidColumnType(..)
            | rusqlite::Error::Utf8Error(..) => Self::Damaged { path, what },
            _ => Self::Disk { path, doing, what },
        }
    }

    pub(super) fn file(path: &Path, doing: &str, error: &io::Error) -> Self {
        let path = path.to_owned();
        let doing = doing.to_owned();
        match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full { path, doing },
            _ => Self::Disk { path, doing, what: error.to_string() },
        }
    }
}

/// How a transaction says that a fact is too long.
#[derive(Debug, thiserror::Error)]
#[error("a fact of {0} bytes")]
pub(super) struct TooLong(pub(super) usize);

/// True when the disk had no room: also when the shared index beside the log could not grow.
pub(super) fn is_full(error: &rusqlite::Error) -> bool {
    matches!(error, rusqlite::Error::SqliteFailure(inner, _)
        if inner.code == ErrorCode::DiskFull || inner.extended_code == rusqlite::ffi::SQLITE_IOERR_SHMSIZE)
}

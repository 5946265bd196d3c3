//! What a book knows of its firm: the firm's key, and the door of the workroom that it was paired with. Kept in one
//! file beside the book, which only its owner may read; never in the book itself, which is copied and looked into.

use super::key::FirmKey;
use super::name::Hash;
use super::pairing::Paired;
use crate::store::Files;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};
use std::{fmt, fs, io};

/// Addresses of a workroom that are kept at most.
const MOST_ADDRESSES: usize = 8;

/// A book's firm.
#[derive(Clone, Debug)]
pub struct Firm {
    /// The firm's key.
    pub key: FirmKey,
    /// The workroom, when the book was paired with one; without it the firm exchanges through folders.
    pub workroom: Option<Workroom>,
}

/// The workroom that a book was paired with.
#[derive(Clone, PartialEq, Eq)]
pub struct Workroom {
    /// What it calls itself.
    pub name: String,
    /// This device's own key at the hub.
    pub key: String,
    /// The hub's certificate: the only one that is ever accepted.
    pub certificate: Hash,
    /// Where it may be reached, `host:port`, the likeliest first.
    pub addresses: Vec<String>,
}

impl fmt::Debug for Workroom {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Workroom").field("name", &self.name).field("addresses", &self.addresses).finish_non_exhaustive()
    }
}

/// The file's form.
#[derive(Serialize, Deserialize)]
struct Kept {
    firm: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    workroom: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    key: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    certificate: Option<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    addresses: Vec<String>,
}

impl Firm {
    /// The firm of the book at `book`; `None` while it has none.
    ///
    /// # Errors
    /// [`FirmProblem::Unreadable`].
    pub fn of(book: &Path) -> Result<Option<Self>, FirmProblem> {
        let path = file(book);
        let unreadable = |what: String| FirmProblem::Unreadable { path: path.clone(), what };
        let text = match fs::read(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(unreadable(error.to_string())),
        };
        let kept: Kept = serde_json::from_slice(&text).map_err(|error| unreadable(error.to_string()))?;
        let key = kept.firm.parse().map_err(|problem: super::KeyProblem| unreadable(problem.to_string()))?;
        let workroom = match (kept.key, kept.certificate) {
            (Some(key), Some(certificate)) => Some(Workroom {
                name: kept.workroom.unwrap_or_default(),
                key,
                certificate: certificate.parse().map_err(|_| unreadable("its certificate is no hash".to_owned()))?,
                addresses: kept.addresses,
            }),
            _ => None,
        };
        Ok(Some(Self { key, workroom }))
    }

    /// Keeps this as the firm of the book at `book`; on the disk when it returns.
    ///
    /// # Errors
    /// [`FirmProblem::Another`] when the book belongs to a firm with another key: what one firm's book holds must not
    /// go to another. [`FirmProblem::Unreadable`], [`FirmProblem::NotKept`]; what was kept is as it was.
    pub fn keep(&self, book: &Path, files: &Files) -> Result<(), FirmProblem> {
        if let Some(before) = Self::of(book)?.filter(|before| before.key.to_text() != self.key.to_text()) {
            return Err(FirmProblem::Another(before.key.mark()));
        }
        let kept = Kept {
            firm: self.key.to_text(),
            workroom: self.workroom.as_ref().map(|workroom| workroom.name.clone()),
            key: self.workroom.as_ref().map(|workroom| workroom.key.clone()),
            certificate: self.workroom.as_ref().map(|workroom| workroom.certificate.to_string()),
            addresses: self.workroom.as_ref().map(|workroom| workroom.addresses.clone()).unwrap_or_default(),
        };
        let text = serde_json::to_vec_pretty(&kept).expect("texts always become JSON");
        let path = file(book);
        files.replace_secret(&path, &text).map_err(|error| FirmProblem::NotKept { path, what: error.to_string() })
    }
}

impl From<Paired> for Firm {
    fn from(paired: Paired) -> Self {
        let Paired { firm, key, workroom, addresses, certificate } = paired;
        Self { key: firm, workroom: Some(Workroom { name: workroom, key, certificate, addresses }) }
    }
}

impl Workroom {
    /// Puts an address before the others.
    pub fn try_first(&mut self, address: String) {
        self.addresses.retain(|known| *known != address);
        self.addresses.insert(0, address);
        self.addresses.truncate(MOST_ADDRESSES);
    }
}

fn file(book: &Path) -> PathBuf {
    let mut name = book.as_os_str().to_owned();
    name.push(".workroom.json");
    PathBuf::from(name)
}

/// Why a book's firm cannot be read or kept.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum FirmProblem {
    /// The file cannot be read, or is not of its form.
    #[error("what was kept of the firm in {} cannot be read: {what}; move that file away and pair this device anew", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// The book belongs to another firm.
    #[error("this book belongs to the firm whose key has the mark {0}; take another book for another firm")]
    Another(String),
    /// The disk refused.
    #[error("the firm's key could not be kept in {}: {what}; free some space and do it again", path.display())]
    NotKept {
        /// The file.
        path: PathBuf,
        /// What the system said.
        what: String,
    },
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_books_firm_is_kept_for_its_owner_alone_and_never_mixed_with_another() {
        let folder = std::env::temp_dir().join(format!("hangtrue-firm-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let book = folder.join("book");
        let files = Files::default();
        assert!(Firm::of(&book).unwrap().is_none());
        let mut firm = Firm { key: FirmKey::generate(), workroom: None };
        firm.keep(&book, &files).unwrap();
        assert!(Firm::of(&book).unwrap().unwrap().workroom.is_none());
        let certificate = Hash::of(b"certificate");
        let mut workroom =
            Workroom { name: "Loft".to_owned(), key: "k".to_owned(), certificate, addresses: vec!["a:1".to_owned()] };
        workroom.try_first("b:2".to_owned());
        workroom.try_first("a:1".to_owned());
        firm.workroom = Some(workroom.clone());
        firm.keep(&book, &files).unwrap();
        let read = Firm::of(&book).unwrap().unwrap();
        assert_eq!(read.workroom, Some(workroom));
        assert_eq!(read.workroom.unwrap().addresses, ["a:1", "b:2"]);
        let other = Firm { key: FirmKey::generate(), workroom: None };
        assert_eq!(other.keep(&book, &files).unwrap_err(), FirmProblem::Another(firm.key.mark()));
        assert_eq!(Firm::of(&book).unwrap().unwrap().key.to_text(), firm.key.to_text());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(fs::metadata(file(&book)).unwrap().permissions().mode() & 0o777, 0o600);
        }
        fs::write(file(&book), "{").unwrap();
        assert!(matches!(Firm::of(&book).unwrap_err(), FirmProblem::Unreadable { .. }));
        fs::remove_dir_all(&folder).unwrap();
    }
}

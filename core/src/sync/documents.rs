//! A folder that has no path, as a place of exchange: one that a phone's own picker hands out, of which a program may list,
//! read and create documents. The same files lie in it as in [`super::Folder`], under the same names and with the same
//! marker, so the same stick serves both.

use super::folder::{MARKER, MOST_MARKER, Marker};
use super::key::FirmKey;
use super::name::{Hash, ObjectName};
use super::transport::{Transport, TransportProblem};
use uuid::Uuid;

/// The documents of a folder. A name is what leads to one from the folder, its parts set apart by `/`.
pub trait Documents {
    /// The names of all documents below `prefix` (ending in `/`), in any order. A folder that is not there has none.
    ///
    /// # Errors
    /// [`DocumentProblem`].
    fn list(&mut self, prefix: &str) -> Result<Vec<String>, DocumentProblem>;

    /// A document's bytes, one more than `most` and no further; nothing where there is no such document.
    ///
    /// # Errors
    /// [`DocumentProblem`].
    fn read(&mut self, name: &str, most: u64) -> Result<Option<Vec<u8>>, DocumentProblem>;

    /// Creates a document, and the folders that lead to it: whole under its name or not under its name at all. What has
    /// that name already is not changed; it is put aside under another.
    ///
    /// # Errors
    /// [`DocumentProblem`].
    fn create(&mut self, name: &str, bytes: &[u8]) -> Result<(), DocumentProblem>;
}

/// Why a folder's documents could not be reached.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum DocumentProblem {
    /// It cannot be reached now: a stick that was pulled, an app that does not answer.
    #[error("{0}")]
    Away(String),
    /// It has no room left.
    #[error("{0}")]
    Full(String),
    /// It refuses: read only, or what was allowed is allowed no more.
    #[error("{0}")]
    Refused(String),
}

/// A place of exchange over documents.
#[derive(Debug)]
pub struct DocumentFolder<D> {
    documents: D,
    called: String,
    marker: Uuid,
    firm: Option<String>,
}

impl<D: Documents> DocumentFolder<D> {
    /// Opens a folder that is a place of exchange; `called` is what a person calls it.
    ///
    /// # Errors
    /// As [`super::Folder::open`].
    pub fn open(mut documents: D, called: &str) -> Result<Self, TransportProblem> {
        let marker = read_marker(&mut documents, called)?.ok_or_else(|| Marker::missing(called))?;
        Ok(Self { documents, called: called.to_owned(), marker: marker.place, firm: marker.firm })
    }

    /// Makes it a place of exchange of the firm with this key, with the name `place`, or opens it when it already is one.
    ///
    /// # Errors
    /// As [`super::Folder::create_for`].
    pub fn create_for(mut documents: D, called: &str, place: Uuid, key: &FirmKey) -> Result<Self, TransportProblem> {
        if read_marker(&mut documents, called)?.is_none() {
            let text = Marker::written(place, Some(key.mark()));
            documents.create(MARKER, text.as_bytes()).map_err(|problem| told(called, problem))?;
        }
        Self::open(documents, called)
    }

    /// The same place still, and not another that took its place.
    fn still_there(&mut self) -> Result<(), TransportProblem> {
        let marker = read_marker(&mut self.documents, &self.called)?.ok_or_else(|| Marker::missing(&self.called))?;
        if marker.place == self.marker {
            return Ok(());
        }
        let what = "another folder of exchange has taken its place".to_owned();
        Err(TransportProblem::Away { place: self.called.clone(), what })
    }

    fn read(&mut self, name: &ObjectName) -> Result<Option<Vec<u8>>, TransportProblem> {
        self.documents.read(&name.to_string(), name.most_bytes()).map_err(|problem| told(&self.called, problem))
    }
}

impl<D: Documents> Transport for DocumentFolder<D> {
    // the same as by its path: a stick that is read by a desk and by a phone is one place
    fn place(&self) -> String {
        format!("folder-{}", self.marker)
    }

    fn firm(&self) -> Option<String> {
        self.firm.clone()
    }

    fn list(&mut self, prefix: &str) -> Result<Vec<ObjectName>, TransportProblem> {
        self.still_there()?;
        let names = self.documents.list(prefix).map_err(|problem| told(&self.called, problem))?;
        Ok(names.iter().filter_map(|name| name.parse().ok()).collect())
    }

    fn get(&mut self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        self.read(name)?.ok_or_else(|| TransportProblem::NotThere(name.to_string()))
    }

    fn put(&mut self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem> {
        if let Some(there) = self.read(name)?.filter(|there| name.fits(there)) {
            return Ok(Hash::of(&there));
        }
        // a folder that was emptied meanwhile is not filled unasked
        self.still_there()?;
        self.documents.create(&name.to_string(), bytes).map_err(|problem| told(&self.called, problem))?;
        Ok(Hash::of(&self.get(name)?))
    }
}

fn read_marker(documents: &mut impl Documents, called: &str) -> Result<Option<Marker>, TransportProblem> {
    let Some(text) = documents.read(MARKER, MOST_MARKER).map_err(|problem| told(called, problem))? else {
        return Ok(None);
    };
    if text.len() as u64 > MOST_MARKER {
        let what = format!("{MARKER} in it is far too long, and no marker; nothing was touched");
        return Err(TransportProblem::Nonsense { place: called.to_owned(), what });
    }
    Marker::read(called, &text).map(Some)
}

fn told(called: &str, problem: DocumentProblem) -> TransportProblem {
    let place = called.to_owned();
    match problem {
        DocumentProblem::Away(what) => TransportProblem::Away { place, what },
        DocumentProblem::Full(what) => TransportProblem::Full { place, what },
        DocumentProblem::Refused(what) => TransportProblem::Refused { place, what },
    }
}

//! Exchange through a folder that a phone's own picker hands out: it has no path, so the shell lists, reads and creates
//! its documents, and the core says which.

use crate::HouseBook;
use crate::exchange::ExchangeReport;
use crate::fault::BookFault;
use hangtrue_core::sync::{DocumentFolder, DocumentProblem, Documents, Report};
use std::sync::Arc;

/// Why the picked folder did not do as asked.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error, uniffi::Error)]
pub enum FolderFault {
    /// It cannot be reached now: a stick that was pulled, an app that does not answer.
    #[error("{reason}")]
    Away {
        /// What happened, in the platform's words.
        reason: String,
    },
    /// It has no room left.
    #[error("{reason}")]
    Full {
        /// What happened, in the platform's words.
        reason: String,
    },
    /// It refuses: read only, or what was allowed is allowed no more.
    #[error("{reason}")]
    Refused {
        /// What happened, in the platform's words.
        reason: String,
    },
}

impl From<uniffi::UnexpectedUniFFICallbackError> for FolderFault {
    fn from(error: uniffi::UnexpectedUniFFICallbackError) -> Self {
        Self::Away { reason: error.reason }
    }
}

impl From<FolderFault> for DocumentProblem {
    fn from(fault: FolderFault) -> Self {
        match fault {
            FolderFault::Away { reason } => Self::Away(reason),
            FolderFault::Full { reason } => Self::Full(reason),
            FolderFault::Refused { reason } => Self::Refused(reason),
        }
    }
}

/// The platform's documents of the picked folder. A name is what leads to one from the folder, its parts set apart by `/`.
#[uniffi::export(with_foreign)]
pub trait PickedFolder: Send + Sync {
    /// The names of all documents below `prefix`, which ends in `/`. A folder that is not there has none.
    ///
    /// # Errors
    /// [`FolderFault`].
    fn list(&self, prefix: String) -> Result<Vec<String>, FolderFault>;

    /// A document's bytes, one more than `most` and no further; nothing where there is no such document.
    ///
    /// # Errors
    /// [`FolderFault`].
    fn read(&self, name: String, most: u64) -> Result<Option<Vec<u8>>, FolderFault>;

    /// Creates a document, and the folders that lead to it: written under another name, made durable, then renamed. What
    /// has that name already is not changed; it is put aside under another.
    ///
    /// # Errors
    /// [`FolderFault`].
    fn create(&self, name: String, bytes: Vec<u8>) -> Result<(), FolderFault>;
}

struct Picked(Arc<dyn PickedFolder>);

impl Documents for Picked {
    fn list(&mut self, prefix: &str) -> Result<Vec<String>, DocumentProblem> {
        Ok(self.0.list(prefix.to_owned())?)
    }

    fn read(&mut self, name: &str, most: u64) -> Result<Option<Vec<u8>>, DocumentProblem> {
        Ok(self.0.read(name.to_owned(), most)?)
    }

    fn create(&mut self, name: &str, bytes: &[u8]) -> Result<(), DocumentProblem> {
        Ok(self.0.create(name.to_owned(), bytes.to_vec())?)
    }
}

#[uniffi::export]
impl HouseBook {
    /// As [`HouseBook::exchange_with_folder`], through a folder that the platform's picker handed out; `called` is what a
    /// person calls it.
    ///
    /// # Errors
    /// As [`HouseBook::exchange_with_folder`].
    pub fn exchange_with_picked_folder(
        &self,
        folder: Arc<dyn PickedFolder>,
        called: String,
        begin: bool,
        fetch_photos: bool,
    ) -> Result<ExchangeReport, BookFault> {
        let (key, fresh, _) = self.for_folder()?;
        let documents = Picked(folder);
        let opened = if begin {
            DocumentFolder::create_for(documents, &called, fresh, &key)
        } else {
            DocumentFolder::open(documents, &called)
        };
        match opened {
            Ok(mut place) => self.exchange(&key, &mut place, &called, fetch_photos),
            Err(problem) => self.report(&Report::default(), Some(problem.to_string())),
        }
    }
}

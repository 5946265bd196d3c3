//! What a place of exchange must do: list, get, put. Nothing else is asked of it, so that any folder, hub or bucket
//! serves.

use super::name::{Hash, ObjectName};

/// A place where the firm's devices exchange what they wrote.
pub trait Transport {
    /// A name for this place that stays the same between syncs, for the marks that a book keeps of it.
    fn place(&self) -> String;

    /// The mark of the firm that this place says it belongs to ([`super::FirmKey::mark`]); `None` where it says nothing.
    fn firm(&self) -> Option<String> {
        None
    }

    /// Every object whose name begins with `prefix` (ending in `/`), in any order. What has no name of ours is left out.
    ///
    /// # Errors
    /// [`TransportProblem`]; an empty place is no error.
    fn list(&mut self, prefix: &str) -> Result<Vec<ObjectName>, TransportProblem>;

    /// An object's bytes, unchecked: the reader verifies them against the name.
    ///
    /// # Errors
    /// [`TransportProblem`]; [`TransportProblem::NotThere`] when it is gone.
    fn get(&mut self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem>;

    /// What will be asked for next, a few objects in this order. A place where each answer takes its time may fetch them
    /// side by side; what it then cannot get is asked for again by [`Transport::get`], which says why.
    fn soon(&mut self, _names: &[ObjectName]) {}

    /// Creates an object and returns the hash of what the other side holds after it is safe there, read back.
    /// Never changes an object that is there and whole; putting the same again is no error.
    ///
    /// # Errors
    /// [`TransportProblem`]; the object may then be there or not, never in part.
    fn put(&mut self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem>;
}

/// A place where the owner of a prefix can also take away what newer objects replace.
pub trait Prune: Transport {
    /// Removes an object. Nothing when it is not there.
    ///
    /// # Errors
    /// [`TransportProblem`].
    fn remove(&mut self, name: &ObjectName) -> Result<(), TransportProblem>;
}

/// Why a place of exchange did not do as asked.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum TransportProblem {
    /// The object is not there.
    #[error("{0} is not there")]
    NotThere(String),
    /// The place cannot be reached now, or went away half way: try again later.
    #[error("{place} cannot be reached: {what}")]
    Away {
        /// The place.
        place: String,
        /// What happened.
        what: String,
    },
    /// The place has no room left.
    #[error("{place} is full: {what}; make room there and sync again, nothing is lost")]
    Full {
        /// The place.
        place: String,
        /// What happened.
        what: String,
    },
    /// The place refuses: read only, a revoked key, a name that is not this device's.
    #[error("{place} refuses: {what}")]
    Refused {
        /// The place.
        place: String,
        /// In the place's words.
        what: String,
    },
    /// The place answers what cannot be.
    #[error("{place} answers what cannot be: {what}")]
    Nonsense {
        /// The place.
        place: String,
        /// What it answered.
        what: String,
    },
}

//! From the house to the workroom and back: what is exchanged, how it is merged, and what a place of exchange must do.
//!
//! [`sync`] brings what this book wrote to a place ([`Transport`]) and takes in what others brought. A place is a folder
//! ([`Folder`]) or the workroom's hub ([`Hub`], over whatever HTTPS client the shell has); the workroom's program adds
//! object stores. [`pairing`] makes a device known to a hub, [`archive`] writes everything plain and takes it back.
//! The format is in `docs/exchange-format.md`, what it defends against in `docs/threat-model.md`.
//!
//! No network, no clock in here. Chance: keys and nonces come from the system through the age library; everything
//! else is handed in.

mod alone;
pub mod archive;
mod disagree;
mod documents;
mod exchange;
mod firm;
mod folder;
mod hub;
mod key;
mod name;
pub mod pairing;
pub mod photo;
mod rows;
pub mod segment;
pub mod short;
mod transport;

pub use alone::{alone, alone_words};
pub use disagree::disagreements;
pub use documents::{DocumentFolder, DocumentProblem, Documents};
pub use exchange::{Bad, Confirmed, Gap, PhotoWish, Report, SyncProblem, compact, confirmed, mirror, sync};
pub use firm::{Firm, FirmProblem, Workroom};
pub use folder::{Folder, MARKER};
pub use hub::{
    Http, HttpProblem, Hub, HubReceipt, HubRefusal, LIST, MOST_LIST, Method, OBJECTS, Request, Response, read_list,
    write_list,
};
pub use key::{FirmKey, KeyProblem, OpenProblem};
pub use name::{Hash, MOST_PARTS, NameProblem, ObjectName, PhotoPartName, SegmentName};
pub use transport::{Prune, Transport, TransportProblem};

/// The start of the keys of a book's state that sync keeps. Under [`crate::store::SENT`], so that a book that was
/// rebuilt after damage forgets them and takes everything in anew.
const MARKS: &str = "sent.";

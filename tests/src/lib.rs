//! What the cross-layer tests share.

pub mod bench;
pub mod houses;
pub mod kill;
pub mod many;
pub mod printed;
pub mod published;
pub mod world;

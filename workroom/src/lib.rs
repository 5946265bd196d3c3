//! What the workroom's program is made of: the hub, the places of exchange. `main.rs` only reads the command line.

pub mod hub;
pub mod moments;
pub mod plain;
pub mod transport;

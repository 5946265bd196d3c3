//! The exchange where it is real: the hub as a process over TLS, an object store as a process, processes that are killed.
//! The rules of sync themselves are tried in `tests/tests/sync*.rs`, on folders.

#![allow(clippy::zombie_processes, reason = "a paired process is read to the end of its output, which is its end")]

#[path = "../../../tests/tests/sync_help/mod.rs"]
mod help;

mod bad_server;
mod by_hand;
mod hub;
mod kill;
mod load;
mod places;
mod process;
mod requests;

//! What the hub holds, measured: a day's house over TLS on loopback, fifty devices at once. The hub runs as a process.
//!
//! `cargo bench -p hangtrue --bench exchange`

#[path = "../../tests/tests/sync_help/mod.rs"]
mod help;
#[path = "../tests/exchange/load.rs"]
#[allow(dead_code, reason = "its tests are not built here")]
mod load;
#[path = "../tests/exchange/process.rs"]
#[allow(dead_code, reason = "the tests use more of it")]
mod process;

fn main() {
    load::days_house();
    load::at_once(50);
}

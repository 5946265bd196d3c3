//! The public check data, which lies beside the project and not in it: a test that needs it says aloud when it is not there.
//!
//! `HANGTRUE_DATA` names its folder, and then it must be there. Otherwise it is `../shared/data` from the project's root; where
//! that is not there, each test that needs a file of it prints a line that begins with [`LEFT_OUT`], and `./check` counts them.

use std::path::{Path, PathBuf};

/// How the line of a check that was left out begins.
pub const LEFT_OUT: &str = "LEFT OUT, no public data:";

/// The text of a file of the public data; nothing, said aloud, where there is no such data here.
///
/// # Panics
/// When `HANGTRUE_DATA` is set and the file is not in its folder.
pub fn text(name: &str) -> Option<String> {
    let named = std::env::var_os("HANGTRUE_DATA").filter(|folder| !folder.is_empty()).map(PathBuf::from);
    let is_named = named.is_some();
    let beside = || Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data");
    let path = named.unwrap_or_else(beside).join(name);
    match std::fs::read_to_string(&path) {
        Ok(text) => Some(text),
        Err(error) if is_named => panic!("HANGTRUE_DATA names a folder without {name}: {error} ({})", path.display()),
        Err(_) => {
            println!("{LEFT_OUT} {name}");
            None
        }
    }
}

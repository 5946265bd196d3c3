//! The file that lets a browser in: a form with a token that is good once, in a file that only its owner may read.
//! Opening that file is the proof of who one is; no secret is on a command line or in an address, which others can read.

use anyhow::Context as _;
use hangtrue_core::store::{Files, make_private};
use maud::{DOCTYPE, PreEscaped, html};
use std::fs;
use std::path::{Path, PathBuf};

/// The door's file, and the token in it.
#[derive(Debug)]
pub(super) struct Door {
    folder: PathBuf,
    token: String,
}

impl Door {
    /// A door in a folder of its own: beside the book, or where that disk knows no owners, in the system's folder for
    /// what is passing. `name` tells it from those of other programs.
    pub(super) fn beside(book: &Path, name: &str) -> anyhow::Result<Self> {
        let mut own = book.as_os_str().to_owned();
        own.push(format!(".page-{name}"));
        let places = [PathBuf::from(own), std::env::temp_dir().join(format!("hangtrue-page-{name}"))];
        for folder in &places {
            if fs::symlink_metadata(folder).is_err() && make_private(folder).is_ok() {
                if is_private(folder) {
                    return Ok(Self { folder: folder.clone(), token: String::new() });
                }
                let _ = fs::remove_dir(folder);
            }
        }
        anyhow::bail!(
            "no folder can be made that only you may read, neither {} nor {}: without one, others on this computer could \
             read the book's page",
            places[0].display(),
            places[1].display()
        )
    }

    /// The file to be opened in a browser.
    pub(super) fn file(&self) -> PathBuf {
        self.folder.join("open.html")
    }

    pub(super) fn token(&self) -> &str {
        &self.token
    }

    /// Puts a new token into the file; the one before is worth nothing from now on.
    pub(super) fn open(&mut self, host: &str, token: String) -> anyhow::Result<()> {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head { meta charset="utf-8"; meta name="referrer" content="no-referrer"; title { "Hangtrue" } }
                body {
                    form method="post" action={ "http://" (host) (super::guard::ENTER) } {
                        input type="hidden" name="token" value=(token);
                        noscript { button type="submit" { "Open the page" } }
                    }
                    script { (PreEscaped("document.forms[0].submit()")) }
                }
            }
        };
        let file = self.file();
        Files::default()
            .replace_secret(&file, page.into_string().as_bytes())
            .with_context(|| format!("{} cannot be written", file.display()))?;
        self.token = token;
        Ok(())
    }

    /// Takes the file away.
    pub(super) fn close(&mut self) {
        // What is left is worth nothing: its token dies with the program.
        let _ = fs::remove_file(self.file());
        let _ = fs::remove_dir(&self.folder);
    }
}

#[cfg(unix)]
fn is_private(folder: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    fs::symlink_metadata(folder).is_ok_and(|there| there.is_dir() && there.permissions().mode() & 0o777 == 0o700)
}

#[cfg(not(unix))]
fn is_private(folder: &Path) -> bool {
    folder.is_dir()
}

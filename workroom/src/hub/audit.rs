//! The audit list: who brought what, who was refused, who was paired and revoked. One JSON line each, only added to.

use anyhow::Context;
use serde::{Deserialize, Serialize};
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// The list goes on in a fresh file after this many bytes; one older file is kept.
const FULL: u64 = 16 << 20;

/// One line.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Line {
    /// Milliseconds since 1970 by the hub's clock.
    pub(super) ms: u64,
    /// `put`, `refused`, `pair_offer`, `pair_ask`, `paired`, `pair_failed`, `revoked`.
    pub(super) what: String,
    /// From which address.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(super) from: String,
    /// Which device, as it was named at pairing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(super) device: String,
    /// Which object.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(super) name: String,
    /// How many bytes.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub(super) bytes: u64,
    /// Why, for what was refused.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(super) why: String,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde's skip_serializing_if hands over a reference")]
const fn is_zero(bytes: &u64) -> bool {
    *bytes == 0
}

/// The audit list of a hub.
#[derive(Debug)]
pub(super) struct Audit {
    path: PathBuf,
    file: Mutex<File>,
}

impl Audit {
    /// Opens the list in a hub's folder.
    pub(super) fn open(hub: &Path) -> anyhow::Result<Self> {
        let path = hub.join("audit.jsonl");
        let file = Mutex::new(append(&path)?);
        Ok(Self { path, file })
    }

    /// Adds a line. A disk that is full must not stop the hub, so a failure goes to the terminal.
    pub(super) fn add(&self, line: &Line) {
        let mut text = serde_json::to_vec(line).expect("texts and numbers always become JSON");
        text.push(b'\n');
        let mut file = self.file.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let written = file.write_all(&text).and_then(|()| {
            if file.metadata()?.len() < FULL {
                return Ok(());
            }
            fs::rename(&self.path, self.path.with_extension("1.jsonl"))?;
            *file = append(&self.path).map_err(std::io::Error::other)?;
            Ok(())
        });
        if let Err(error) = written {
            eprintln!("the audit list cannot be written: {error}");
        }
    }

    /// Reads the list of a hub, the older file first.
    pub(super) fn read(hub: &Path) -> anyhow::Result<Vec<Line>> {
        let mut lines = Vec::new();
        for name in ["audit.1.jsonl", "audit.jsonl"] {
            let path = hub.join(name);
            if !path.exists() {
                continue;
            }
            let text = fs::read_to_string(&path).with_context(|| format!("reading {}", path.display()))?;
            // The last line may be half written when the power went.
            lines.extend(text.lines().filter_map(|line| serde_json::from_str(line).ok()));
        }
        Ok(lines)
    }
}

fn append(path: &Path) -> anyhow::Result<File> {
    OpenOptions::new().create(true).append(true).open(path).with_context(|| format!("opening {}", path.display()))
}

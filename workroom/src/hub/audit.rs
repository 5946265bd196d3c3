//! The audit lists: who brought what, who was refused, who was paired and revoked. One JSON line each, only added to.
//!
//! Three lists, so that none can be pushed out by another: pairings are kept for ever; what devices with a key did goes on
//! in a fresh file when it is full, with one older kept; of what strangers send only some lines a minute are kept, in a
//! small list of their own, and the rest is counted.

use anyhow::Context;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// The list of devices goes on in a fresh file after this many bytes; one older file is kept.
const FULL: u64 = 16 << 20;
/// And that of strangers.
const FULL_STRANGERS: u64 = 1 << 20;
/// So many lines of strangers are kept in a minute, and so many of one address.
const STRANGERS_A_MINUTE: u32 = 12;
const ONE_A_MINUTE: u32 = 3;
/// A text in a line has at most so many characters.
const MOST_TEXT: usize = 200;

/// One line.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub(super) struct Line {
    /// Milliseconds since 1970 by the hub's clock.
    pub(super) ms: u64,
    /// `put`, `refused`, `pair_offer`, `pair_ask`, `paired`, `pair_failed`, `revoked`, `checked`, `more`.
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

/// Which list a line belongs to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum List {
    Pairings,
    Devices,
    Strangers,
}

impl List {
    const ALL: [Self; 3] = [Self::Pairings, Self::Devices, Self::Strangers];

    fn of(line: &Line) -> Self {
        match line.what.as_str() {
            "paired" | "revoked" | "pair_offer" | "checked" => Self::Pairings,
            "pair_ask" | "pair_failed" | "more" => Self::Strangers,
            _ if line.device.is_empty() => Self::Strangers,
            _ => Self::Devices,
        }
    }

    const fn name(self) -> &'static str {
        match self {
            Self::Pairings => "pairings.jsonl",
            Self::Devices => "audit.jsonl",
            Self::Strangers => "strangers.jsonl",
        }
    }

    const fn full(self) -> u64 {
        match self {
            Self::Pairings => u64::MAX,
            Self::Devices => FULL,
            Self::Strangers => FULL_STRANGERS,
        }
    }
}

/// What strangers sent in the minute that goes on.
#[derive(Debug, Default)]
struct Minute {
    number: u64,
    kept: u32,
    dropped: u64,
    by_address: HashMap<String, u32>,
}

impl Minute {
    /// True when the line is kept; before it, how many of the minute before were not.
    fn takes(&mut self, line: &Line) -> (u64, bool) {
        let mut untold = 0;
        if self.number != line.ms / 60_000 {
            untold = self.dropped;
            *self = Self { number: line.ms / 60_000, ..Self::default() };
        }
        let of_one = self.by_address.get(&line.from).copied().unwrap_or_default();
        let is_kept = self.kept < STRANGERS_A_MINUTE && of_one < ONE_A_MINUTE;
        if is_kept {
            self.kept += 1;
            self.by_address.insert(line.from.clone(), of_one + 1);
        } else {
            self.dropped += 1;
        }
        (untold, is_kept)
    }
}

/// The audit lists of a hub.
#[derive(Debug)]
pub(super) struct Audit {
    hub: PathBuf,
    files: Mutex<(Vec<File>, Minute)>,
}

impl Audit {
    /// Opens the lists in a hub's folder.
    pub(super) fn open(hub: &Path) -> anyhow::Result<Self> {
        let files = List::ALL.iter().map(|list| append(&hub.join(list.name()))).collect::<anyhow::Result<_>>()?;
        Ok(Self { hub: hub.to_owned(), files: Mutex::new((files, Minute::default())) })
    }

    /// Adds a line. A disk that is full must not stop the hub, so a failure goes to the terminal.
    pub(super) fn add(&self, line: &Line) {
        let mut guard = self.files.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let (files, minute) = &mut *guard;
        let list = List::of(line);
        if list == List::Strangers {
            let (untold, is_kept) = minute.takes(line);
            if untold > 0 {
                let why = format!("{untold} more lines of strangers in the minute before");
                let more = Line { ms: line.ms, what: "more".to_owned(), why, ..Line::default() };
                self.put(files, List::Strangers, &more);
            }
            if !is_kept {
                return;
            }
        }
        self.put(files, list, line);
    }

    fn put(&self, files: &mut [File], list: List, line: &Line) {
        let cut = |text: &str| text.chars().take(MOST_TEXT).collect::<String>();
        let line = Line {
            from: cut(&line.from),
            device: cut(&line.device),
            name: cut(&line.name),
            why: cut(&line.why),
            ..line.clone()
        };
        let mut text = serde_json::to_vec(&line).expect("texts and numbers always become JSON");
        text.push(b'\n');
        let file = &mut files[list as usize];
        let path = self.hub.join(list.name());
        let written = file.write_all(&text).and_then(|()| {
            if file.metadata()?.len() < list.full() {
                return Ok(());
            }
            fs::rename(&path, path.with_extension("1.jsonl"))?;
            *file = append(&path).map_err(std::io::Error::other)?;
            Ok(())
        });
        if let Err(error) = written {
            eprintln!("the audit list cannot be written: {error}");
        }
    }

    /// Reads the lists of a hub, the oldest line first.
    pub(super) fn read(hub: &Path) -> anyhow::Result<Vec<Line>> {
        let mut lines = Vec::new();
        for list in List::ALL {
            for path in [hub.join(list.name()).with_extension("1.jsonl"), hub.join(list.name())] {
                if !path.exists() {
                    continue;
                }
                let text = fs::read_to_string(&path).with_context(|| format!("reading {}", path.display()))?;
                // The last line may be half written when the power went.
                lines.extend(text.lines().filter_map(|line| serde_json::from_str::<Line>(line).ok()));
            }
        }
        lines.sort_by_key(|line| line.ms);
        Ok(lines)
    }
}

fn append(path: &Path) -> anyhow::Result<File> {
    let mut options = OpenOptions::new();
    options.create(true).append(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path).with_context(|| format!("opening {}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(ms: u64, what: &str, from: &str, device: &str, name: &str) -> Line {
        let [what, from, device, name] = [what, from, device, name].map(str::to_owned);
        Line { ms, what, from, device, name, ..Line::default() }
    }

    #[test]
    fn a_stranger_pushes_nothing_out_and_adds_little() {
        let folder = tempfile::tempdir().unwrap();
        let audit = Audit::open(folder.path()).unwrap();
        audit.add(&line(1, "paired", "", "Ida's phone", "id"));
        audit.add(&line(2, "put", "192.0.2.9", "Ida's phone", "segments/x"));
        // A day of a hundred a second from a thousand addresses, with the longest names that a path takes.
        let long = "x".repeat(8000);
        for n in 0..200_000_u64 {
            let from = format!("198.51.100.{}", n % 1000);
            audit.add(&line(1000 + n * 432, "refused", &from, "", &long));
        }
        let size: u64 =
            fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().metadata().unwrap().len()).sum();
        assert!(size < 2 * FULL_STRANGERS + 4096, "{size}");
        let lines = Audit::read(folder.path()).unwrap();
        assert_eq!(lines[0].what, "paired");
        assert_eq!(lines[1].what, "put");
        let day_before_the_last = lines.iter().filter(|line| line.what == "more").count();
        assert!(day_before_the_last > 0, "what was left out is counted");
        assert!(lines.iter().all(|line| line.name.chars().count() <= MOST_TEXT));
    }

    #[test]
    fn a_forged_line_stays_inside_its_own() {
        let folder = tempfile::tempdir().unwrap();
        let audit = Audit::open(folder.path()).unwrap();
        let forged = "segments/a\n{\"ms\":9,\"what\":\"paired\",\"device\":\"Mallory\"}\u{1b}[2K";
        audit.add(&line(1, "refused", "198.51.100.7", "", forged));
        let lines = Audit::read(folder.path()).unwrap();
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].name, forged, "kept as it came, escaped by JSON; shown escaped too (plain.rs)");
        let shown = crate::plain::plain(&lines[0].name, false);
        assert!(!shown.chars().any(char::is_control), "{shown}");
    }
}

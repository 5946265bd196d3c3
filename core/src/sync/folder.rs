//! A folder as a place of exchange: any share, stick or synced drive. Written to a temporary name, synced, renamed,
//! read back. Never a database in it, only objects by name.

use super::key::FirmKey;
use super::name::{Hash, ObjectName};
use super::transport::{Prune, Transport, TransportProblem};
use crate::store::Files;
use serde::{Deserialize, Serialize};
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// The file that makes a folder a place of exchange. Without it nothing is read or written: the mount point of a
/// stick that was pulled is an empty folder too.
pub const MARKER: &str = "hangtrue-exchange.json";
/// The version that is written, and the newest that is used.
const VERSION: u32 = 1;
/// A marker is at most this long; what is longer is none.
pub(super) const MOST_MARKER: u64 = 4096;
/// Names have at most this many parts (`again/segments/DEVICE/…`); what lies deeper is nobody's.
const DEEPEST: usize = 4;

/// What the marker says.
#[derive(Serialize, Deserialize)]
pub(super) struct Marker {
    hangtrue_exchange: u32,
    pub(super) place: Uuid,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) firm: Option<String>,
}

impl Marker {
    /// The text of a new one.
    pub(super) fn written(place: Uuid, firm: Option<String>) -> String {
        serde_json::to_string(&Self { hangtrue_exchange: VERSION, place, firm })
            .expect("a number and an id always become JSON")
    }

    /// Reads the marker of `place`, which is what a person calls it.
    pub(super) fn read(place: &str, text: &[u8]) -> Result<Self, TransportProblem> {
        let nonsense = |what| TransportProblem::Nonsense { place: place.to_owned(), what };
        let marker: Self = serde_json::from_slice(text).map_err(|error| nonsense(format!("{MARKER}: {error}")))?;
        if marker.hangtrue_exchange == VERSION {
            return Ok(marker);
        }
        Err(nonsense(format!(
            "{MARKER} says version {}, this program knows {VERSION}; nothing was touched",
            marker.hangtrue_exchange
        )))
    }

    /// There is none.
    pub(super) fn missing(place: &str) -> TransportProblem {
        let what =
            format!("there is no {MARKER} in it; is the drive connected? (a new place is made once, on purpose)");
        TransportProblem::Away { place: place.to_owned(), what }
    }
}

/// A folder in which the firm's devices exchange what they wrote.
#[derive(Debug)]
pub struct Folder {
    root: PathBuf,
    place: Uuid,
    firm: Option<String>,
    files: Files,
}

impl Folder {
    /// Makes `root` (and the folders above it) a place of exchange with the name `place`, or opens it when it
    /// already is one.
    ///
    /// # Errors
    /// As [`Folder::open`]; the folder cannot be made or written.
    pub fn create(root: &Path, place: Uuid, files: Files) -> Result<Self, TransportProblem> {
        Self::make(root, place, None, files)
    }

    /// As [`Folder::create`], and a new place says from then on that it belongs to the firm with this key.
    ///
    /// # Errors
    /// As [`Folder::create`].
    pub fn create_for(root: &Path, place: Uuid, key: &FirmKey, files: Files) -> Result<Self, TransportProblem> {
        Self::make(root, place, Some(key.mark()), files)
    }

    fn make(root: &Path, place: Uuid, firm: Option<String>, files: Files) -> Result<Self, TransportProblem> {
        let fails = |error: &io::Error| problem(root, "making the folder of exchange", error);
        fs::create_dir_all(root).map_err(|error| fails(&error))?;
        let marker = root.join(MARKER);
        if fs::symlink_metadata(&marker).is_err_and(|error| error.kind() == io::ErrorKind::NotFound) {
            let text = Marker::written(place, firm);
            files.replace(&marker, text.as_bytes()).map_err(|error| fails(&error))?;
        }
        Self::open(root, files)
    }

    /// Opens a folder that is a place of exchange.
    ///
    /// # Errors
    /// [`TransportProblem::Away`] when the folder or its marker is not there; [`TransportProblem::Nonsense`] when the
    /// marker is of a newer version or cannot be read.
    pub fn open(root: &Path, files: Files) -> Result<Self, TransportProblem> {
        let marker = read_marker(root)?;
        Ok(Self { root: root.to_owned(), place: marker.place, firm: marker.firm, files })
    }

    /// Where it is.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Removes half-written temporary files. Only for a folder that nobody else is writing in.
    ///
    /// # Errors
    /// [`TransportProblem`]; what could be removed is.
    pub fn sweep(&mut self) -> Result<u64, TransportProblem> {
        let mut left = Vec::new();
        walk(&self.root, 0, &mut |path| {
            if path.extension().is_some_and(|extension| extension == "new") {
                left.push(path.to_owned());
            }
        })
        .map_err(|error| problem(&self.root, "looking for half-written files", &error))?;
        for path in &left {
            fs::remove_file(path).map_err(|error| problem(path, "removing a half-written file", &error))?;
        }
        Ok(left.len() as u64)
    }

    /// The same place still, and not the empty mount point of one that went away.
    fn still_there(&self) -> Result<(), TransportProblem> {
        let marker = read_marker(&self.root)?;
        if marker.place == self.place {
            return Ok(());
        }
        let what = "another folder of exchange has taken its place".to_owned();
        Err(TransportProblem::Away { place: self.root.display().to_string(), what })
    }

    fn path(&self, name: &ObjectName) -> PathBuf {
        self.root.join(name.to_string())
    }

    fn read(&self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        let path = self.path(name);
        let read = || -> io::Result<Vec<u8>> {
            let mut bytes = Vec::new();
            // A link, a pipe or a device is no object: opening it could lead elsewhere or never return.
            if !fs::symlink_metadata(&path)?.is_file() {
                return Err(io::ErrorKind::NotFound.into());
            }
            // One byte more than may be, so that a file that grew is seen to be wrong and memory stays small.
            fs::File::open(&path)?.take(name.most_bytes() + 1).read_to_end(&mut bytes)?;
            Ok(bytes)
        };
        read().map_err(|error| match error.kind() {
            // One file that may not be read must not stop the others: it counts as not there.
            io::ErrorKind::NotFound | io::ErrorKind::PermissionDenied | io::ErrorKind::IsADirectory => {
                TransportProblem::NotThere(name.to_string())
            }
            _ => problem(&path, "reading", &error),
        })
    }
}

impl Transport for Folder {
    fn place(&self) -> String {
        format!("folder-{}", self.place)
    }

    fn firm(&self) -> Option<String> {
        self.firm.clone()
    }

    fn list(&mut self, prefix: &str) -> Result<Vec<ObjectName>, TransportProblem> {
        self.still_there()?;
        let mut names = Vec::new();
        walk(&self.root.join(prefix), prefix.matches('/').count(), &mut |path| {
            let name = path.strip_prefix(&self.root).ok().and_then(Path::to_str).map(|name| name.replace('\\', "/"));
            names.extend(name.and_then(|name| name.parse::<ObjectName>().ok()));
        })
        .map_err(|error| problem(&self.root, "listing", &error))?;
        Ok(names)
    }

    fn get(&mut self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        self.still_there()?;
        self.read(name)
    }

    fn put(&mut self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem> {
        self.still_there()?;
        match self.read(name) {
            // There and whole: left as it is. There and not what its name says: nothing of worth is lost by
            // putting the right bytes in its stead.
            Ok(there) if name.fits(&there) => return Ok(Hash::of(&there)),
            Ok(_) | Err(TransportProblem::NotThere(_)) => {}
            Err(error) => return Err(error),
        }
        let path = self.path(name);
        let fails = |error: &io::Error| problem(&path, "writing", error);
        let folder = path.parent().expect("a name has folders before its last part, so its path has a parent");
        make_folders(&self.root, folder).map_err(|error| fails(&error))?;
        self.files.replace(&path, bytes).map_err(|error| fails(&error))?;
        Ok(Hash::of(&self.read(name)?))
    }
}

impl Prune for Folder {
    fn remove(&mut self, name: &ObjectName) -> Result<(), TransportProblem> {
        self.still_there()?;
        let path = self.path(name);
        match fs::remove_file(&path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(problem(&path, "removing", &error)),
            _ => Ok(()),
        }
    }
}

fn read_marker(root: &Path) -> Result<Marker, TransportProblem> {
    let place = || root.display().to_string();
    let read = || -> io::Result<Option<Vec<u8>>> {
        let path = root.join(MARKER);
        let there = fs::symlink_metadata(&path)?;
        if !there.is_file() || there.len() > MOST_MARKER {
            return Ok(None);
        }
        let mut text = Vec::new();
        fs::File::open(&path)?.take(MOST_MARKER).read_to_end(&mut text)?;
        Ok(Some(text))
    };
    let text = read().map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => Marker::missing(&place()),
        _ => problem(root, "reading its marker", &error),
    })?;
    let Some(text) = text else {
        let what = format!("{MARKER} in it is a link, a pipe or far too long, and no marker; nothing was touched");
        return Err(TransportProblem::Nonsense { place: place(), what });
    };
    Marker::read(&place(), &text)
}

/// Makes the folders from `root` down to `folder`, each synced into the one above it. No link is followed.
fn make_folders(root: &Path, folder: &Path) -> io::Result<()> {
    let mut at = root.to_owned();
    for part in folder.strip_prefix(root).unwrap_or(folder) {
        let above = at.clone();
        at.push(part);
        match fs::create_dir(&at) {
            Ok(()) => {
                #[cfg(unix)]
                fs::File::open(&above)?.sync_all()?;
                #[cfg(not(unix))]
                drop(above);
            }
            // A link would lead what is written into a folder that is somebody else's.
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                if !fs::symlink_metadata(&at)?.is_dir() {
                    let what = format!("{} is a link or a file, not a folder; it was left as it is", at.display());
                    return Err(io::Error::new(io::ErrorKind::NotADirectory, what));
                }
            }
            Err(error) => return Err(error),
        }
    }
    Ok(())
}

/// Hands every file below `folder`, which lies `depth` parts below the root, to `each`. Links are not followed; a folder
/// that is not there has no files, one that is deeper than any name has none of ours, and one that may not be read
/// does not hide the others.
fn walk(folder: &Path, depth: usize, each: &mut dyn FnMut(&Path)) -> io::Result<()> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(error),
    };
    for entry in entries {
        let entry = entry?;
        let kind = entry.file_type()?;
        if kind.is_dir() {
            if depth + 1 < DEEPEST {
                let _ = walk(&entry.path(), depth + 1, each);
            }
        } else if kind.is_file() {
            each(&entry.path());
        }
    }
    Ok(())
}

fn problem(path: &Path, doing: &str, error: &io::Error) -> TransportProblem {
    let place = path.display().to_string();
    let what = format!("{doing}: {error}");
    match error.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => TransportProblem::Full { place, what },
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            TransportProblem::Refused { place, what }
        }
        _ => TransportProblem::Away { place, what },
    }
}

//! Photos beside the book: one file each, named by the SHA-256 of its bytes. What is read is checked against the name.

use super::StoreProblem;
use super::files::{Files, beside, private_folder};
use sha2::{Digest, Sha256};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The folder of photos of one book.
#[derive(Debug)]
pub struct Photos {
    folder: PathBuf,
    files: Files,
}

/// The SHA-256 of `bytes` in 64 hexadecimal digits: the name of a photo.
pub fn photo_name(bytes: &[u8]) -> String {
    use std::fmt::Write;
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut name, byte| {
        let _ = write!(name, "{byte:02x}");
        name
    })
}

impl Photos {
    pub(super) fn of(book: &Path, files: Files) -> Self {
        Self { folder: beside(book, ".photos"), files }
    }

    fn path(&self, sha256: &str) -> Result<PathBuf, StoreProblem> {
        // Checked before it becomes a path: names come from job files and from other devices.
        let is_hash = sha256.len() == 64 && sha256.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
        if is_hash { Ok(self.folder.join(sha256)) } else { Err(StoreProblem::PhotoName { name: sha256.to_owned() }) }
    }

    fn make_folder(&self) -> Result<(), StoreProblem> {
        // A link would lead clients' photos into a folder that is somebody else's.
        if fs::symlink_metadata(&self.folder).is_ok_and(|there| !there.is_dir()) {
            let what = io::Error::new(io::ErrorKind::NotADirectory, "it is a link or a file; move it away");
            return Err(StoreProblem::file(&self.folder, "making the folder", &what));
        }
        private_folder(&self.folder).map_err(|error| StoreProblem::file(&self.folder, "making the folder", &error))
    }

    /// Keeps a photo and gives its name. Durable when it returns; keeping it twice changes nothing.
    ///
    /// # Errors
    /// [`StoreProblem::Full`], [`StoreProblem::Disk`]: nothing of it is kept.
    pub fn keep(&self, bytes: &[u8]) -> Result<String, StoreProblem> {
        let name = photo_name(bytes);
        let path = self.path(&name)?;
        // One that is there is kept only if it is whole: otherwise it is replaced by these bytes.
        if fs::read(&path).is_ok_and(|there| there == bytes) {
            return Ok(name);
        }
        self.make_folder()?;
        self.files
            .replace_secret(&path, bytes)
            .map_err(|error| StoreProblem::file(&path, "keeping a photo", &error))?;
        Ok(name)
    }

    /// The bytes of a photo, checked against its name. `None` when it is not here.
    ///
    /// # Errors
    /// [`StoreProblem::PhotoName`]; [`StoreProblem::PhotoDamaged`] when the bytes are not those of the name: they are
    /// moved aside, so that the photo counts as not here; [`StoreProblem::Disk`].
    pub fn read(&self, sha256: &str) -> Result<Option<Vec<u8>>, StoreProblem> {
        let path = self.path(sha256)?;
        let bytes = match fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(StoreProblem::file(&path, "reading a photo", &error)),
        };
        if photo_name(&bytes) == sha256 {
            return Ok(Some(bytes));
        }
        let aside = beside(&path, ".damaged");
        self.files.rename(&path, &aside).map_err(|error| StoreProblem::file(&path, "moving a photo aside", &error))?;
        Err(StoreProblem::PhotoDamaged { path: aside })
    }

    /// Removes a photo, and what had arrived of it: only where its house was erased.
    ///
    /// # Errors
    /// [`StoreProblem::PhotoName`], [`StoreProblem::Disk`].
    pub fn remove(&self, sha256: &str) -> Result<(), StoreProblem> {
        let path = self.path(sha256)?;
        for path in [path.clone(), beside(&path, ".part"), beside(&path, ".damaged")] {
            self.files.remove(&path).map_err(|error| StoreProblem::file(&path, "removing a photo", &error))?;
        }
        Ok(())
    }

    /// How many bytes of a photo are here: all of it, or the part that has arrived so far.
    ///
    /// # Errors
    /// [`StoreProblem::PhotoName`].
    pub fn have(&self, sha256: &str) -> Result<u64, StoreProblem> {
        let path = self.path(sha256)?;
        let size = |path: &Path| fs::metadata(path).map(|there| there.len()).ok();
        Ok(size(&path).or_else(|| size(&beside(&path, ".part"))).unwrap_or(0))
    }

    /// Adds the next part of a photo that arrives in pieces, from byte `at`, of `whole` bytes in all. True when it is
    /// whole and its hash is right; each part is durable when this returns, so a broken transfer goes on from
    /// [`Photos::have`].
    ///
    /// # Errors
    /// [`StoreProblem::PhotoPart`] when `at` is not where the last part ended; [`StoreProblem::PhotoDamaged`] when
    /// all bytes are here and the hash is wrong: they are moved aside and it starts again from 0;
    /// [`StoreProblem::PhotoName`], [`StoreProblem::Full`], [`StoreProblem::Disk`].
    pub fn add_part(&self, sha256: &str, at: u64, bytes: &[u8], whole: u64) -> Result<bool, StoreProblem> {
        let path = self.path(sha256)?;
        let part = beside(&path, ".part");
        if path.exists() {
            return Ok(true);
        }
        let have = self.have(sha256)?;
        if at != have {
            return Err(StoreProblem::PhotoPart { sha256: sha256.to_owned(), have, given: at });
        }
        self.make_folder()?;
        let fails = |error: &io::Error| StoreProblem::file(&part, "adding to a photo", error);
        self.files.write_at(&part, at, bytes).map_err(|error| fails(&error))?;
        if at + (bytes.len() as u64) < whole {
            return Ok(false);
        }
        let arrived = fs::read(&part).map_err(|error| fails(&error))?;
        if photo_name(&arrived) == sha256 {
            self.files.rename(&part, &path).map_err(|error| fails(&error))?;
            return Ok(true);
        }
        let aside = beside(&path, ".damaged");
        self.files.rename(&part, &aside).map_err(|error| fails(&error))?;
        Err(StoreProblem::PhotoDamaged { path: aside })
    }

    /// Looks at the bytes of every photo: how many are whole, and the names of those that are not.
    ///
    /// # Errors
    /// [`StoreProblem::Disk`].
    pub fn look(&self) -> Result<(u64, Vec<String>), StoreProblem> {
        let (mut whole, mut damaged) = (0, Vec::new());
        for name in self.list()? {
            let path = self.path(&name)?;
            let bytes = fs::read(&path).map_err(|error| StoreProblem::file(&path, "reading a photo", &error))?;
            if photo_name(&bytes) == name {
                whole += 1;
            } else {
                damaged.push(name);
            }
        }
        Ok((whole, damaged))
    }

    /// The names of the photos that are here whole, in order.
    ///
    /// # Errors
    /// [`StoreProblem::Disk`].
    pub fn list(&self) -> Result<Vec<String>, StoreProblem> {
        let fails = |error: &io::Error| StoreProblem::file(&self.folder, "listing the photos", error);
        let entries = match fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(fails(&error)),
        };
        let mut names = Vec::new();
        for entry in entries {
            let name = entry.map_err(|error| fails(&error))?.file_name();
            if let Some(name) = name.to_str().filter(|name| self.path(name).is_ok()) {
                names.push(name.to_owned());
            }
        }
        names.sort();
        Ok(names)
    }
}

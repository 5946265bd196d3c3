//! Files beside the book: write, sync the file, rename, sync the folder. In that order a power cut leaves the old
//! file or the new one, never a part.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// One thing that is asked of the file system.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Step {
    /// A file is opened for writing.
    Create,
    /// Bytes are written.
    Write,
    /// A file is synced to the disk.
    Sync,
    /// A file gets another name.
    Rename,
    /// A folder's list of names is synced to the disk.
    SyncFolder,
    /// A file is removed.
    Remove,
}

type Gate = Arc<dyn Fn(Step, &Path) -> io::Result<()> + Send + Sync>;

/// The file system as the book uses it. Every step can be made to fail by a gate, so that tests can refuse the n-th.
#[derive(Clone, Default)]
pub struct Files {
    gate: Option<Gate>,
}

impl std::fmt::Debug for Files {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Files").field("gated", &self.gate.is_some()).finish()
    }
}

impl Files {
    /// Files whose every step first asks `gate`; what it refuses is not done (of a refused write, the first half is).
    pub fn gated(gate: impl Fn(Step, &Path) -> io::Result<()> + Send + Sync + 'static) -> Self {
        Self { gate: Some(Arc::new(gate)) }
    }

    fn ask(&self, step: Step, path: &Path) -> io::Result<()> {
        self.gate.as_ref().map_or(Ok(()), |gate| gate(step, path))
    }

    /// Puts `bytes` at `path`, whole or not at all, and durable when it returns.
    ///
    /// # Errors
    /// What the system said; `path` is then as it was.
    pub fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        self.replace_with(path, bytes, OpenOptions::new())
    }

    /// As [`Files::replace`], for a file that only its owner may read.
    ///
    /// # Errors
    /// As [`Files::replace`].
    pub fn replace_secret(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        // What a killed call left may have other permissions, which opening it again would not change.
        self.remove(&beside(path, ".new"))?;
        #[cfg_attr(not(unix), allow(unused_mut, reason = "only here are permissions set at creation"))]
        let mut options = OpenOptions::new();
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        self.replace_with(path, bytes, options)
    }

    fn replace_with(&self, path: &Path, bytes: &[u8], options: OpenOptions) -> io::Result<()> {
        let fresh = beside(path, ".new");
        let done = self.write_with(&fresh, 0, bytes, options).and_then(|()| self.rename(&fresh, path));
        if done.is_err() {
            // What is left is only this call's own half; the error above is the one to tell.
            let _ = fs::remove_file(&fresh);
        }
        done
    }

    /// Cuts the file at `at`, writes `bytes` there and syncs it. Makes the file when there is none.
    pub(super) fn write_at(&self, path: &Path, at: u64, bytes: &[u8]) -> io::Result<()> {
        self.write_with(path, at, bytes, OpenOptions::new())
    }

    fn write_with(&self, path: &Path, at: u64, bytes: &[u8], mut options: OpenOptions) -> io::Result<()> {
        self.ask(Step::Create, path)?;
        let mut file = options.create(true).write(true).truncate(false).open(path)?;
        file.set_len(at)?;
        file.seek(SeekFrom::Start(at))?;
        if let Err(error) = self.ask(Step::Write, path) {
            file.write_all(&bytes[..bytes.len() / 2])?;
            return Err(error);
        }
        file.write_all(bytes)?;
        self.sync(&file, path)
    }

    pub(super) fn sync(&self, file: &File, path: &Path) -> io::Result<()> {
        self.ask(Step::Sync, path)?;
        file.sync_all()
    }

    pub(super) fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.ask(Step::Rename, to)?;
        fs::rename(from, to)?;
        self.sync_folder(to)
    }

    /// Removes a file; one that is not there counts as removed.
    pub(super) fn remove(&self, path: &Path) -> io::Result<()> {
        self.ask(Step::Remove, path)?;
        match fs::remove_file(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            done => done,
        }
    }

    /// Syncs the names in the folder that holds `path`.
    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        self.ask(Step::SyncFolder, path)?;
        #[cfg(unix)]
        {
            let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
            File::open(folder)?.sync_all()?;
        }
        Ok(())
    }
}

/// `path` with `tail` after its name.
pub(super) fn beside(path: &Path, tail: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(tail);
    PathBuf::from(name)
}

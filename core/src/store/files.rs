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

    /// Puts `bytes` at `path`, whole or not at all, and durable when it returns. What lay there under that name is
    /// replaced; a link is replaced itself, and what it leads to stays as it is.
    ///
    /// # Errors
    /// What the system said; `path` is then as it was.
    pub fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        self.replace_with(path, HALF, bytes, &mut OpenOptions::new())
    }

    /// As [`Files::replace`], for a file that only its owner may read.
    ///
    /// # Errors
    /// As [`Files::replace`].
    pub fn replace_secret(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        self.replace_with(path, HALF, bytes, &mut private())
    }

    /// As [`Files::replace_secret`], into a folder that is a person's own: the half-written file has a name there that
    /// only this program gives.
    ///
    /// # Errors
    /// As [`Files::replace`].
    pub fn hand_out(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        self.replace_with(path, ".hangtrue-new", bytes, &mut private())
    }

    /// Makes a file that only its owner may read, with these bytes, durable when it returns.
    ///
    /// # Errors
    /// When there is anything under that name already, be it a link that leads nowhere: it is as it was. What the system
    /// said.
    pub fn create_secret(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        self.ask(Step::Create, path)?;
        let mut file = private().write(true).create_new(true).open(path)?;
        let done = self.fill(&mut file, path, bytes).and_then(|()| self.sync_folder(path));
        if done.is_err() {
            // It was not there before; half a file under the name that was asked for would be taken for a whole one.
            let _ = fs::remove_file(path);
        }
        done
    }

    fn replace_with(&self, path: &Path, half: &str, bytes: &[u8], options: &mut OpenOptions) -> io::Result<()> {
        let (mut file, fresh) = self.fresh(path, half, options)?;
        let done = self.fill(&mut file, &fresh, bytes).and_then(|()| {
            // Another program that writes the same file may have taken this half for one that was left behind.
            if is_the_same(&file, &fresh)? { self.rename(&fresh, path) } else { Err(taken(&fresh)) }
        });
        if done.is_err() && is_the_same(&file, &fresh).unwrap_or(false) {
            // What is left is only this call's own half; the error above is the one to tell.
            let _ = fs::remove_file(&fresh);
        }
        done
    }

    /// A new file beside `path`. What lies there already under the name of a half-written file is removed if it can only
    /// be one that a killed program left; a link or another's file is left alone, and another name is taken.
    fn fresh(&self, path: &Path, half: &str, options: &mut OpenOptions) -> io::Result<(File, PathBuf)> {
        let mut last = None;
        for n in 0..16 {
            let fresh = if n == 0 { beside(path, half) } else { beside(path, &format!(".{n}{half}")) };
            self.ask(Step::Create, &fresh)?;
            if fs::symlink_metadata(&fresh).is_ok_and(|there| is_plain(&there)) {
                let _ = fs::remove_file(&fresh);
            }
            match options.write(true).create_new(true).open(&fresh) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => last = Some(error),
                Err(error) => return Err(error),
                Ok(file) => return Ok((file, fresh)),
            }
        }
        Err(last.unwrap_or_else(|| taken(path)))
    }

    /// Cuts the file at `at`, writes `bytes` there and syncs it. Makes the file when there is none; one that is a link, or
    /// has a second name, is refused.
    pub(super) fn write_at(&self, path: &Path, at: u64, bytes: &[u8]) -> io::Result<()> {
        self.ask(Step::Create, path)?;
        let mut file = match fs::symlink_metadata(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                private().write(true).create_new(true).open(path)?
            }
            Err(error) => return Err(error),
            Ok(there) if is_plain(&there) => OpenOptions::new().write(true).open(path)?,
            Ok(_) => return Err(taken(path)),
        };
        // What was looked at and what was opened: the same file, not one that came between.
        if !is_the_same(&file, path)? {
            return Err(taken(path));
        }
        file.set_len(at)?;
        file.seek(SeekFrom::Start(at))?;
        self.fill(&mut file, path, bytes)
    }

    fn fill(&self, file: &mut File, path: &Path, bytes: &[u8]) -> io::Result<()> {
        if let Err(error) = self.ask(Step::Write, path) {
            file.write_all(&bytes[..bytes.len() / 2])?;
            return Err(error);
        }
        file.write_all(bytes)?;
        self.sync(file, path)
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

/// The end of a half-written file's name.
const HALF: &str = ".new";

/// Options of a file that only its owner may read and write, where the system knows owners.
fn private() -> OpenOptions {
    #[cfg_attr(not(unix), allow(unused_mut, reason = "only here are permissions set at creation"))]
    let mut options = OpenOptions::new();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

/// Makes a folder that only its owner may look into, and the folders above it; one that was there is made so.
///
/// # Errors
/// What the system said: the folder cannot be made, or is another's.
pub fn private_folder(path: &Path) -> io::Result<()> {
    make_private(path)?;
    tighten(path)
}

/// As [`private_folder`], but a folder that was there stays as it is.
///
/// # Errors
/// What the system said.
pub fn make_private(path: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}

/// Takes away what others may do with a file or folder that is there. A link is left as it is.
///
/// # Errors
/// What the system said: it belongs to another.
pub fn tighten(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let there = match fs::symlink_metadata(path) {
            Ok(there) => there,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(error) => return Err(error),
        };
        let mode = there.permissions().mode();
        if !there.is_symlink() && mode & 0o077 != 0 {
            fs::set_permissions(path, fs::Permissions::from_mode(mode & 0o7700))?;
        }
    }
    #[cfg(not(unix))]
    let _ = path;
    Ok(())
}

/// True for a file with no second name: no link, no folder, no pipe.
pub(super) fn is_plain(there: &fs::Metadata) -> bool {
    #[cfg(unix)]
    let alone = std::os::unix::fs::MetadataExt::nlink(there) == 1;
    #[cfg(not(unix))]
    let alone = true;
    there.is_file() && alone
}

/// True when `path` itself, not what a link there leads to, is this open file, and it has no second name.
fn is_the_same(file: &File, path: &Path) -> io::Result<bool> {
    let there = match fs::symlink_metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
        there => there?,
    };
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        let open = file.metadata()?;
        Ok(is_plain(&there) && (open.dev(), open.ino()) == (there.dev(), there.ino()))
    }
    #[cfg(not(unix))]
    {
        let _ = file;
        Ok(is_plain(&there))
    }
}

fn taken(path: &Path) -> io::Error {
    let what = format!("{} is a link or another program's; it was left as it is", path.display());
    io::Error::new(io::ErrorKind::AlreadyExists, what)
}

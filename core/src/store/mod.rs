//! The book: one SQLite file that holds the log of facts, and what stands beside it. Start with [`Book`].
//!
//! - The table of facts is append-only. Everything else about a house is folded from it ([`crate::fact::fold`]); the
//!   list of houses is a stored view that can be dropped and is made again.
//! - What a call acknowledges is on the disk: WAL with synchronous FULL. Only half-typed digits do without the wait for
//!   the disk: they outlive the program's death at once, and a power cut from the next saved fact on.
//! - Nothing is deleted or overwritten: not on a merge, not on damage, not for a newer file.
//! - Beside `book` stand `book.photos/` (photos by hash), `book.reserve` (room for the last readings when the disk is full)
//!   and SQLite's own `book-wal` and `book-shm`. After damage: `book.damaged-N`, the old file.
//!
//! There is no clock and no chance in here: whoever writes hands in [`Moment`]s.

mod files;
mod lines;
mod log;
mod marker;
mod number;
mod photos;
mod problem;
mod reserve;
mod salvage;
mod schema;
mod shelf;
mod tally;

pub use files::{Files, Step, make_private, private_folder, tighten};
pub use lines::HouseLine;
pub use photos::{Photos, photo_name};
pub use problem::StoreProblem;
pub use reserve::RESERVE_BYTES;

use crate::fact::{Body, Fact, HOUSE_ERASED, House, LAST_MS, MOST_FACT, Moment, changes, fold};
use crate::house::{Job, Workroom};
use crate::length::LengthUnit;
use files::beside;
use reserve::Reserve;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;
use uuid::Uuid;

/// Where new moments come from: asked once for every fact (and twice for a device's id).
pub type Moments<'a> = &'a mut dyn FnMut() -> Moment;

/// The start of the keys of [`Book::state`] that say what was sent: forgotten when a damaged book is rebuilt, because
/// the numbers of its rows change then.
pub const SENT: &str = "sent.";

/// The state's key for the photos that facts name and that have not arrived.
pub(crate) const WANTED_PHOTOS: &str = "sent.photos.wanted";
/// The state's key for the photos that went with an erased house: they are not fetched and not kept again.
pub(crate) const ERASED_PHOTOS: &str = "erased_photos";

/// How long a call waits for another program that is writing.
const BUSY: Duration = Duration::from_secs(5);

/// Something that a person should be told after opening.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Notice {
    /// The book was damaged and was rebuilt from what could be read.
    Salvaged {
        /// Where the damaged file is now.
        aside: PathBuf,
        /// How many facts were saved.
        kept: u64,
        /// How many more there were, at least.
        missing: u64,
    },
    /// This file is a copy of another, or was restored: from now on it writes as a device of its own.
    Copied {
        /// The device it wrote as before.
        before: Uuid,
        /// The device it writes as now.
        now: Uuid,
    },
    /// The disk has no room to set aside for the last readings.
    NoReserve,
}

impl std::fmt::Display for Notice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Salvaged { aside, kept, missing: 0 } => write!(
                f,
                "the book was damaged and was mended: all {kept} facts were found; the damaged file is kept as {}",
                aside.display()
            ),
            Self::Salvaged { aside, kept, missing } => write!(
                f,
                "the book was damaged: {kept} facts were saved, at least {missing} are missing; the damaged file is \
                 kept as {}; sync with the other devices, they may have the rest",
                aside.display()
            ),
            Self::Copied { before, now } => {
                write!(f, "this book is a copy or was restored: it was device {before} and is device {now} from now on")
            }
            Self::NoReserve => {
                write!(f, "the disk is nearly full: there is no room in reserve for the last readings; free some space")
            }
        }
    }
}

/// What a whole look at a book found ([`Book::examine`]).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Examined {
    /// How many facts there should be.
    pub facts: u64,
    /// Of how many houses.
    pub houses: u64,
    /// How many photos are whole.
    pub photos: u64,
    /// What is not sound in the book itself, in words.
    pub faults: Vec<String>,
    /// Photos whose bytes are not those of their names.
    pub photos_damaged: Vec<String>,
}

impl Examined {
    /// True when nothing was found.
    pub fn is_sound(&self) -> bool {
        self.faults.is_empty() && self.photos_damaged.is_empty()
    }

    /// What was found, in sentences for a person.
    pub fn says(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if self.faults.is_empty() {
            lines.push(format!(
                "Sound: {} facts of {} houses, each with its sum; all lists agree.",
                self.facts, self.houses
            ));
        } else {
            lines.push(format!("Not sound: {} faults in the book.", self.faults.len()));
            lines.extend(self.faults.iter().map(|fault| format!("  {fault}")));
        }
        if self.photos_damaged.is_empty() {
            lines.push(format!("Sound: {} photos.", self.photos));
        } else {
            lines.push(format!("Not sound: {} photos; {} are whole.", self.photos_damaged.len(), self.photos));
            lines.extend(self.photos_damaged.iter().map(|name| format!("  photo {name}")));
        }
        lines
    }
}

/// What became of facts that were merged.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Merged {
    /// How many were new.
    pub new: usize,
    /// How many were there already.
    pub known: usize,
    /// Ids that are there with another content. What was there stays; one of the two is damaged or forged.
    pub differs: Vec<Uuid>,
    /// Ids whose stamp lies after the year 9999 or that are longer than any fact may be: no reader takes them.
    pub refused: Vec<Uuid>,
    /// The rows where those that are here now are, in the order in which they were handed in.
    pub rows: Vec<i64>,
    /// How many were of houses that were erased, and so are not taken in.
    pub erased: usize,
}

/// Half-typed text and the key it is kept under, written in the same transaction as facts; `None` clears it.
#[derive(Clone, Copy, Debug)]
pub struct Draft<'a> {
    /// Whose it is: an opening and place, or whatever the caller keeps apart.
    pub key: &'a str,
    /// What is typed so far.
    pub value: Option<&'a str>,
}

/// The book of houses: one file, open.
///
/// ```
/// use hangtrue_core::fact::{Body, Moment};
/// use hangtrue_core::length::LengthUnit;
/// use hangtrue_core::store::Book;
///
/// let folder = std::env::temp_dir().join(format!("book-example-{}", std::process::id()));
/// let mut n = 0;
/// let mut moments = || {
///     n += 1; // a program hands in its clock and random bytes
///     Moment { ms: 1_800_000_000_000 + n, random: [(n % 256) as u8; 10] }
/// };
/// let mut book = Book::open(&folder.join("houses.book"), &mut moments)?;
/// let job = moments().uuid();
/// let begun = Body::HouseOpened { name: "Larch House".to_owned(), unit: LengthUnit::Inch };
/// book.write(job, "Ida", LengthUnit::Inch, &[begun], &mut moments)?;
/// assert_eq!(book.houses()?[0].name, "Larch House");
/// # drop(book);
/// # std::fs::remove_dir_all(&folder).expect("the example's own folder");
/// # Ok::<(), hangtrue_core::store::StoreProblem>(())
/// ```
#[derive(Debug)]
pub struct Book {
    conn: Connection,
    path: PathBuf,
    files: Files,
    reserve: Reserve,
    photos: Photos,
    device: Uuid,
    level: Level,
    notices: Vec<Notice>,
    /// The workroom as it was read last, and its last row: every house asks for it.
    workroom: RefCell<Option<(i64, Workroom)>>,
    /// Where the book really is, when it cannot be written. After `conn`: the file is closed before it is removed.
    copy: Option<Copy>,
}

/// A folder with a copy of a book, removed when it is done with.
#[derive(Debug)]
struct Copy {
    folder: PathBuf,
}

impl Drop for Copy {
    fn drop(&mut self) {
        // What stays is in the system's folder for what is passing, and only its owner can read it.
        let _ = fs::remove_dir_all(&self.folder);
    }
}

fn make_writable(path: &Path) -> std::io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        fs::set_permissions(path, fs::Permissions::from_mode(0o600))
    }
    #[cfg(not(unix))]
    {
        let mut permissions = fs::metadata(path)?.permissions();
        #[allow(clippy::permissions_set_readonly_false, reason = "only where there are no owners and groups")]
        permissions.set_readonly(false);
        fs::set_permissions(path, permissions)
    }
}

/// How long a commit waits for the disk.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Level {
    /// Until it is on the disk.
    Full,
    /// Not at all: it is in the system's hands, and on the disk with the next full one.
    Normal,
}

impl Level {
    const fn pragma(self) -> &'static str {
        match self {
            Self::Full => "FULL",
            Self::Normal => "NORMAL",
        }
    }
}

impl Book {
    /// Opens the book at `path`, or begins one there. Read [`Book::notices`] after it.
    ///
    /// An older book is brought up to date; a damaged one is moved aside and rebuilt from what can be read; a copied
    /// one takes a new device id.
    ///
    /// # Errors
    /// [`StoreProblem::Newer`], [`StoreProblem::NotABook`]: the file was left as it is. [`StoreProblem::Full`],
    /// [`StoreProblem::Busy`], [`StoreProblem::Disk`]: what was there is whole.
    pub fn open(path: &Path, moments: Moments<'_>) -> Result<Self, StoreProblem> {
        Self::open_with(path, &Files::default(), moments)
    }

    /// As [`Book::open`], with the files beside the book going through `files`.
    ///
    /// # Errors
    /// As [`Book::open`].
    pub fn open_with(path: &Path, files: &Files, moments: Moments<'_>) -> Result<Self, StoreProblem> {
        if let Some(folder) = path.parent() {
            make_private(folder).map_err(|error| StoreProblem::file(folder, "making the folder", &error))?;
        }
        salvage::finish(path, files)?;
        let mut notices = Vec::new();
        let mut opened = Self::open_once(path, files, moments);
        let is_damaged = match &opened {
            Err(StoreProblem::Damaged { .. }) => true,
            // Marked as damaged, and not even its tables are what they should be.
            Err(StoreProblem::Disk { .. }) => is_flagged(path),
            _ => false,
        };
        if is_damaged {
            let saved = salvage::salvage(path, files, new_device(moments))?;
            notices.push(Notice::Salvaged { aside: saved.aside, kept: saved.kept, missing: saved.missing });
            opened = Self::open_once(path, files, moments);
        }
        let mut book = opened?;
        if is_flagged(path) {
            let flag = book.flag();
            files.remove(&flag).map_err(|error| StoreProblem::file(&flag, "clearing the mark of damage", &error))?;
        }
        if !book.reserve.hold() {
            notices.push(Notice::NoReserve);
        }
        notices.append(&mut book.notices);
        book.notices = notices;
        Ok(book)
    }

    /// Opens a book to look into it. Where there is none, nothing is made. One that cannot be written (a medium that is
    /// read-only, or another's file) is copied into a folder that only this user may read, and the copy is opened; it is
    /// gone when the book is dropped.
    ///
    /// # Errors
    /// [`StoreProblem::NoBook`]; else as [`Book::open`].
    pub fn open_to_read(path: &Path, moments: Moments<'_>) -> Result<Self, StoreProblem> {
        let log = beside(path, "-wal");
        if ![path, &beside(path, ".rebuilt"), &log].into_iter().any(Path::exists) {
            return Err(StoreProblem::NoBook { path: path.to_owned() });
        }
        let is_sealed = |error: &std::io::Error| {
            matches!(error.kind(), std::io::ErrorKind::PermissionDenied | std::io::ErrorKind::ReadOnlyFilesystem)
        };
        match fs::OpenOptions::new().write(true).open(path) {
            Err(error) if is_sealed(&error) => Self::open_copy(path, moments),
            _ => match Self::open(path, moments) {
                // The file may be written and its folder not: SQLite can keep no log there.
                Err(problem @ StoreProblem::Disk { .. }) => Self::open_copy(path, moments).map_err(|_| problem),
                opened => opened,
            },
        }
    }

    fn open_copy(path: &Path, moments: Moments<'_>) -> Result<Self, StoreProblem> {
        let folder = std::env::temp_dir().join(format!("hangtrue-read-{}", new_device(moments)));
        let fails = |error: &std::io::Error| StoreProblem::file(path, "copying the book to read it", error);
        // Made new, never found: what others may have laid there is not used.
        if fs::symlink_metadata(&folder).is_ok() {
            return Err(fails(&std::io::Error::from(std::io::ErrorKind::AlreadyExists)));
        }
        private_folder(&folder).map_err(|error| fails(&error))?;
        let copy = Copy { folder };
        let at = copy.folder.join("book");
        for tail in ["", "-wal"] {
            let from = beside(path, tail);
            if tail.is_empty() || from.exists() {
                fs::copy(&from, beside(&at, tail)).map_err(|error| fails(&error))?;
                // The copy has the permissions of what it was copied from: perhaps none to write.
                make_writable(&beside(&at, tail)).map_err(|error| fails(&error))?;
            }
        }
        let mut book = Self::open(&at, moments)?;
        book.notices.retain(|notice| !matches!(notice, Notice::Copied { .. }));
        book.photos = Photos::of(path, book.files.clone());
        book.copy = Some(copy);
        Ok(book)
    }

    fn open_once(path: &Path, files: &Files, moments: Moments<'_>) -> Result<Self, StoreProblem> {
        look_at_head(path)?;
        salvage::begin(path, files)?;
        let fails = |error: &rusqlite::Error| StoreProblem::sqlite(path, "opening the book", error);
        let mut conn = Connection::open(path).map_err(|error| fails(&error))?;
        conn.busy_timeout(BUSY).map_err(|error| fails(&error))?;
        // Until the file is known to be ours to write, closing it must not write into it either.
        let keep =
            |on| conn.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, on).map_err(|error| fails(&error));
        keep(true)?;
        whose(&conn, path)?;
        keep(false)?;
        // The book may be named by a link; SQLite keeps its log beside what the link leads to.
        let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        for private in ["", "-wal", "-shm"].map(|tail| beside(&real, tail)).iter().chain([&beside(path, ".photos")]) {
            // A disk that knows no owners, or a book that another keeps for us: it is read all the same.
            let _ = tighten(private);
        }
        schema::settle(&conn).map_err(|error| fails(&error))?;
        schema::upgrade(&mut conn).map_err(|error| fails(&error))?;
        if is_flagged(path) {
            check(&conn).map_err(|error| fails(&error))?;
        }
        let mut book = Self {
            conn,
            path: path.to_owned(),
            reserve: Reserve::of(path, files.clone()),
            photos: Photos::of(path, files.clone()),
            files: files.clone(),
            device: Uuid::nil(),
            level: Level::Full,
            notices: Vec::new(),
            workroom: RefCell::default(),
            copy: None,
        };
        book.settle_device(moments)?;
        // Reads a little of every table, so that damage in their roots shows now.
        log::pen(&book.conn, LAST_MS).map_err(|error| fails(&error))?;
        if let Some(strange) = tally::device(&book.conn).map_err(|error| fails(&error))? {
            return Err(fails(&tally::damaged(strange)));
        }
        Ok(book)
    }

    /// The same book once more, for work beside this one that takes long (an exchange): readings are kept meanwhile.
    ///
    /// Without reading the file itself: closing it would take away this process's locks on it (POSIX locks belong to
    /// the process, not to the open file; see SQLite's "How To Corrupt An SQLite Database File", section 2.2).
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn beside(&self) -> Result<Self, StoreProblem> {
        let open = || -> rusqlite::Result<(Connection, Uuid)> {
            let conn = Connection::open(&self.path)?;
            conn.busy_timeout(BUSY)?;
            schema::settle(&conn)?;
            let device = conn.query_row("SELECT device FROM book", [], |row| row.get(0).map(Uuid::from_bytes))?;
            Ok((conn, device))
        };
        let (conn, device) = open().map_err(|error| self.fails("opening the book once more", &error))?;
        Ok(Self {
            conn,
            path: self.path.clone(),
            reserve: Reserve::of(&self.path, self.files.clone()),
            photos: Photos::of(&self.path, self.files.clone()),
            files: self.files.clone(),
            device,
            level: Level::Full,
            notices: self.notices.clone(),
            workroom: RefCell::default(),
            copy: None,
        })
    }

    /// The files beside the book go through these.
    pub const fn files(&self) -> &Files {
        &self.files
    }

    /// Gives a new book its device id, and a copied one a new id.
    fn settle_device(&mut self, moments: Moments<'_>) -> Result<(), StoreProblem> {
        let marker = marker::of(&self.path);
        let known = self
            .conn
            .query_row("SELECT device, marker FROM book", [], |row| {
                Ok((Uuid::from_bytes(row.get(0)?), row.get::<_, String>(1)?))
            })
            .optional()
            .map_err(|error| self.fails("reading the device", &error))?;
        match known {
            Some((device, there)) if there == marker => self.device = device,
            Some((device, there)) if there.is_empty() || marker.is_empty() => {
                self.durable("marking the book", &mut |tx| tx.execute("UPDATE book SET marker = ?1", [&marker]))?;
                self.device = device;
            }
            Some((before, _)) => {
                let now = self.take_new_device(moments)?;
                self.notices.push(Notice::Copied { before, now });
            }
            None => {
                let device = new_device(moments);
                // Another program may have begun the same book in this very moment: its id stands.
                self.device = self.durable("beginning the book", &mut |tx| {
                    tx.execute(
                        "INSERT OR IGNORE INTO book (one, device, marker) VALUES (1, ?1, ?2)",
                        params![device.into_bytes(), marker],
                    )?;
                    let stands: [u8; 16] = tx.query_row("SELECT device FROM book", [], |row| row.get(0))?;
                    tx.execute("INSERT OR IGNORE INTO own_device VALUES (?1)", [stands])?;
                    Ok(Uuid::from_bytes(stands))
                })?;
            }
        }
        Ok(())
    }

    /// The device that this book writes as.
    pub const fn device(&self) -> Uuid {
        self.device
    }

    /// Where the book is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What a person should be told after opening.
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }

    /// Photos beside the book.
    pub const fn photos(&self) -> &Photos {
        &self.photos
    }

    /// True while room is set aside for the last readings; false once the disk was full: time to free some space.
    pub fn has_reserve(&self) -> bool {
        self.reserve.is_held()
    }

    /// Takes a new device id: for a book that turns out to be a copy of another. What the old id wrote stays this book's
    /// own and is still listed by [`Book::own_facts`].
    ///
    /// # Errors
    /// [`StoreProblem::Full`], [`StoreProblem::Busy`], [`StoreProblem::Disk`].
    pub fn take_new_device(&mut self, moments: Moments<'_>) -> Result<Uuid, StoreProblem> {
        let device = new_device(moments);
        let marker = marker::of(&self.path);
        self.durable("taking a new device id", &mut |tx| {
            // The old id's last stamp is in the last row only until another device's facts follow it.
            log::saw(tx, log::pen(tx, LAST_MS)?.last())?;
            tx.execute("UPDATE book SET device = ?1, marker = ?2", params![device.into_bytes(), marker])?;
            tx.execute("INSERT OR IGNORE INTO own_device VALUES (?1)", [device.into_bytes()])
        })?;
        self.device = device;
        Ok(device)
    }

    /// Every house whose opening is here, the latest change first.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn houses(&self) -> Result<Vec<HouseLine>, StoreProblem> {
        lines::all(&self.conn).map_err(|error| self.fails("listing the houses", &error))
    }

    /// A house as its facts tell it. `None` when its opening is not here.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn house(&self, job: Uuid) -> Result<Option<House>, StoreProblem> {
        let Some(mut house) = fold(&self.facts(job)?) else {
            let is_workroom = job == Workroom::ID;
            return Ok(is_workroom.then(|| House::empty(Job::new(job, Workroom::NAME.to_owned(), LengthUnit::Inch))));
        };
        if job != Workroom::ID {
            house.job.workroom = self.workroom()?;
        }
        Ok(Some(house))
    }

    /// What the workroom keeps for every house.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn workroom(&self) -> Result<Workroom, StoreProblem> {
        // Its facts are never erased, so the last of them tells whether there are others.
        let last =
            log::last_of(&self.conn, Workroom::ID).map_err(|error| self.fails("looking for the workroom", &error))?;
        if let Some((_, kept)) = self.workroom.borrow().as_ref().filter(|(at, _)| *at == last) {
            return Ok(kept.clone());
        }
        let folded = fold(&self.facts(Workroom::ID)?);
        let workroom = folded.map_or_else(Workroom::default, |house| Workroom {
            settings: house.job.settings,
            hardware: house.job.hardware,
            cloths: house.job.cloths,
            trade: house.job.trade,
            shelf: house.job.shelf,
        });
        self.workroom.replace(Some((last, workroom.clone())));
        Ok(workroom)
    }

    /// A house as its job file holds it ([`crate::house::file::write`]). `None` when its opening is not here.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn job(&self, job: Uuid) -> Result<Option<Job>, StoreProblem> {
        Ok(self.house(job)?.map(|house| house.job))
    }

    /// All facts of a house, in order of arrival here; [`fold`] takes them in any order.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn facts(&self, job: Uuid) -> Result<Vec<Fact>, StoreProblem> {
        tally::facts(&self.conn, job).map(|(facts, _)| facts).map_err(|error| self.fails("reading a house", &error))
    }

    /// What this book itself wrote, as any of its device ids, in order of writing: up to `limit` facts after the row
    /// `after` (0 for all), each with its row. For sync: keep the last row under [`SENT`].
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn own_facts(&self, after: i64, limit: usize) -> Result<Vec<(i64, Fact)>, StoreProblem> {
        log::own_after(&self.conn, after, limit).map_err(|error| self.fails("listing what was written here", &error))
    }

    /// The rows of what this book itself wrote, after the row `after`.
    pub(crate) fn own_rows(&self, after: i64) -> Result<Vec<i64>, StoreProblem> {
        log::own_rows(&self.conn, after).map_err(|error| self.fails("listing what was written here", &error))
    }

    /// How many facts this book itself wrote, as any of its device ids: for the sync state on a screen.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn own_count(&self) -> Result<u64, StoreProblem> {
        let count = log::own_count(&self.conn).map_err(|error| self.fails("counting what was written here", &error))?;
        Ok(count.unsigned_abs())
    }

    /// How many facts of each house this book wrote after the row `after`; after 0, all that a house has.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn written_after(&self, after: i64) -> Result<BTreeMap<Uuid, u64>, StoreProblem> {
        let found = if after == 0 {
            tally::all(&self.conn).map(|all| all.into_iter().map(|(job, tally)| (job, tally.facts)).collect())
        } else {
            log::own_by_job(&self.conn, after)
        };
        let found: Vec<(Uuid, i64)> = found.map_err(|error| self.fails("counting what is only here", &error))?;
        Ok(found.into_iter().map(|(job, facts)| (job, facts.unsigned_abs())).collect())
    }

    /// Every fact of the book, of all houses and devices, in order of arrival: up to `limit` after the row `after` (0 for
    /// all), each with its row. For an archive.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn all_facts(&self, after: i64, limit: usize) -> Result<Vec<(i64, Fact)>, StoreProblem> {
        tally::facts_after(&self.conn, after, limit).map_err(|error| self.fails("listing all facts", &error))
    }

    /// Writes what happened, all of it or nothing, and gives the facts. On the disk when it returns.
    /// Bare lengths in `bodies` are in `unit`.
    ///
    /// # Errors
    /// [`StoreProblem::NoHouse`] when the house was never begun and `bodies` does not begin it;
    /// [`StoreProblem::IdTaken`] when a moment is not new; [`StoreProblem::Full`], [`StoreProblem::Busy`],
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`]. Nothing is written then.
    pub fn write(
        &mut self,
        job: Uuid,
        by: &str,
        unit: LengthUnit,
        bodies: &[Body],
        moments: Moments<'_>,
    ) -> Result<Vec<Fact>, StoreProblem> {
        self.write_with(job, by, unit, bodies, None, moments)
    }

    /// As [`Book::write`], and sets or clears half-typed digits in the same transaction: an accepted reading and its
    /// cleared keypad come together or not at all.
    ///
    /// # Errors
    /// As [`Book::write`].
    pub fn write_with(
        &mut self,
        job: Uuid,
        by: &str,
        unit: LengthUnit,
        bodies: &[Body],
        draft: Option<Draft<'_>>,
        moments: Moments<'_>,
    ) -> Result<Vec<Fact>, StoreProblem> {
        if job == Workroom::ID && bodies.iter().any(|body| matches!(body, Body::HouseErased {})) {
            return Err(StoreProblem::NoHouse { job });
        }
        let begins = job == Workroom::ID || matches!(bodies.first(), Some(Body::HouseOpened { .. }));
        if !begins && !log::has_job(&self.conn, job).map_err(|error| self.fails("looking for a house", &error))? {
            return Err(StoreProblem::NoHouse { job });
        }
        let moments: Vec<Moment> = bodies.iter().map(|_| moments()).collect();
        let device = self.device;
        self.durable("writing facts", &mut |tx| {
            if let Some(draft) = draft {
                put(tx, "draft", draft.key, draft.value)?;
            }
            let facts = append(tx, &moments, job, by, unit, bodies)?;
            number::took(tx, device, &facts)?;
            shelf::set_aside(tx, &facts, by)?;
            Ok(facts)
        })
        .and_then(|facts| self.after_erasing(&facts).map(|()| facts))
    }

    /// Takes in a job file's house: writes the facts that lead from what stands to what it says, and gives them (none
    /// when it says nothing new). Nothing is removed: what the file lacks stays.
    ///
    /// # Errors
    /// As [`Book::write`], without [`StoreProblem::NoHouse`].
    pub fn take_in(&mut self, job: &Job, by: &str, moments: Moments<'_>) -> Result<Vec<Fact>, StoreProblem> {
        let job = &Workroom::settle(job, &self.workroom()?);
        // Kept, so that a second try after the reserve was given up writes the same facts.
        let mut taken: Vec<Moment> = Vec::new();
        self.durable("taking in a job file", &mut |tx| {
            let bodies = changes(fold(&tally::facts(tx, job.id)?.0).as_ref(), job);
            while taken.len() < bodies.len() {
                taken.push(moments());
            }
            append(tx, &taken, job.id, by, job.unit, &bodies)
        })
    }

    /// Adds facts of other devices, in one transaction: set union, so any order and any repetition give the same book.
    /// On the disk when it returns.
    ///
    /// # Errors
    /// [`StoreProblem::Full`], [`StoreProblem::Busy`], [`StoreProblem::Damaged`], [`StoreProblem::Disk`]. Nothing is
    /// added then.
    pub fn merge(&mut self, facts: &[Fact]) -> Result<Merged, StoreProblem> {
        let merged = self.durable("merging facts", &mut |tx| {
            let mut merged = Merged::default();
            let mut merging = log::Merging::begin(tx)?;
            for fact in facts {
                if fact.stamp.ms > LAST_MS || is_too_long(fact).is_some() || erases_the_workroom(fact) {
                    merged.refused.push(fact.id);
                    continue;
                }
                if merging.is_gone(fact) {
                    merged.erased += 1;
                    continue;
                }
                let (met, row) = log::meet(tx, fact)?;
                merged.rows.push(row);
                match met {
                    log::Met::New => {
                        merged.new += 1;
                        merging.saw(fact);
                        if fact.kind == HOUSE_ERASED {
                            erase(tx, fact.job)?;
                        }
                    }
                    log::Met::Known => merged.known += 1,
                    log::Met::Differs => merged.differs.push(fact.id),
                }
            }
            if merged.new > 0 {
                merging.end(tx)?;
            }
            Ok(merged)
        })?;
        self.after_erasing(facts)?;
        Ok(merged)
    }

    /// The houses that were erased, by a fact that is here.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn erased_houses(&self) -> Result<BTreeSet<Uuid>, StoreProblem> {
        log::erased(&self.conn).map_err(|error| self.fails("reading which houses were erased", &error))
    }

    /// Takes away what an erased house leaves beside the facts: its photos, and its words in the log that SQLite keeps.
    fn after_erasing(&mut self, facts: &[Fact]) -> Result<(), StoreProblem> {
        if !facts.iter().any(|fact| fact.kind == HOUSE_ERASED) {
            return Ok(());
        }
        for sha256 in self.get("state", ERASED_PHOTOS)?.unwrap_or_default().split_whitespace() {
            self.photos.remove(sha256)?;
        }
        self.pause()
    }

    /// The number that the next invoice has that is written here.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn next_invoice(&self) -> Result<String, StoreProblem> {
        Ok(number::after(self.device, self.get("state", number::LAST)?.as_deref()))
    }

    /// Half-typed text under `key`.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn draft(&self, key: &str) -> Result<Option<String>, StoreProblem> {
        self.get("draft", key)
    }

    /// Keeps half-typed text, or clears it. Outlives the death of the program at once; it does not wait for the disk
    /// (a key press must not), so a power cut may lose the keys pressed since the last saved fact or [`Book::pause`].
    ///
    /// # Errors
    /// [`StoreProblem::Full`], [`StoreProblem::Busy`], [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn set_draft(&mut self, key: &str, value: Option<&str>) -> Result<(), StoreProblem> {
        self.commit(Level::Normal, "keeping half-typed digits", &mut |tx| put(tx, "draft", key, value))
    }

    /// Small state of this device that is no fact and is not sent: a shell's settings, what was sent ([`SENT`]).
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn state(&self, key: &str) -> Result<Option<String>, StoreProblem> {
        self.get("state", key)
    }

    /// Sets small state, or clears it. On the disk when it returns.
    ///
    /// # Errors
    /// [`StoreProblem::Full`], [`StoreProblem::Busy`], [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn set_state(&mut self, key: &str, value: Option<&str>) -> Result<(), StoreProblem> {
        self.durable("keeping state", &mut |tx| put(tx, "state", key, value))
    }

    /// Finishes writing before the program rests or ends: brings the list of houses up to date, folds the log into the
    /// file and sets the reserve aside again if there is room. The book stays open. Another program that is reading
    /// makes it leave the log for later, and so does a full disk.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`]: what was saved is safe in the log.
    pub fn pause(&mut self) -> Result<(), StoreProblem> {
        self.houses()?;
        match self.conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())) {
            // All that was saved is whole in the log; it is folded in when there is room again.
            Err(error) if problem::is_full(&error) => {}
            done => done.map_err(|error| self.fails("folding the log into the book", &error))?,
        }
        self.reserve.hold();
        Ok(())
    }

    /// Drops the stored list of houses; the next [`Book::houses`] makes it again from the facts.
    ///
    /// # Errors
    /// [`StoreProblem::Full`], [`StoreProblem::Busy`], [`StoreProblem::Disk`].
    pub fn drop_views(&mut self) -> Result<(), StoreProblem> {
        self.durable("dropping the views", &mut |tx| lines::drop_all(tx))
    }

    /// The row of the newest fact: it grows whenever anything is added, by this program or another.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn last_row(&self) -> Result<i64, StoreProblem> {
        log::last_row(&self.conn).map_err(|error| self.fails("looking for what is new", &error))
    }

    /// Looks at the whole file: every index against its table, the sum of every fact, every house's tally, every view.
    /// Slow on a large book.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`] with what was found: the next opening rebuilds the book. [`StoreProblem::Disk`].
    pub fn check(&self) -> Result<(), StoreProblem> {
        check(&self.conn).map_err(|error| self.fails("checking the book", &error))
    }

    /// Looks at the whole book and at every photo beside it, and says what is sound and what is not. Nothing is changed;
    /// where facts are not sound, [`Book::mend`] or the next opening finds them again.
    ///
    /// # Errors
    /// [`StoreProblem::Disk`], [`StoreProblem::Busy`].
    pub fn examine(&self) -> Result<Examined, StoreProblem> {
        let faults = match tally::examine(&self.conn) {
            Ok(faults) => faults,
            Err(error) => match self.fails("checking the book", &error) {
                StoreProblem::Damaged { what, .. } => vec![what],
                problem => return Err(problem),
            },
        };
        if !faults.is_empty() {
            // If the mark cannot be made, the same damage shows again when it is met again.
            let _ = self.files.replace_secret(&self.flag(), b"");
        }
        let (photos, damaged) = self.photos.look()?;
        let count = |number: rusqlite::Result<i64>| number.map_or(0, i64::unsigned_abs);
        Ok(Examined {
            facts: count(tally::total(&self.conn)),
            houses: tally::all(&self.conn).map_or(0, |all| all.len() as u64),
            photos,
            faults,
            photos_damaged: damaged,
        })
    }

    /// Marks the book at `path` as damaged, so that the next opening looks at all of it and rebuilds what is not sound:
    /// for one that cannot be opened at all.
    ///
    /// # Errors
    /// [`StoreProblem::NoBook`], [`StoreProblem::Disk`], [`StoreProblem::Full`].
    pub fn mark_damaged(path: &Path) -> Result<(), StoreProblem> {
        if !path.exists() {
            return Err(StoreProblem::NoBook { path: path.to_owned() });
        }
        let flag = beside(path, ".check");
        let done = Files::default().replace_secret(&flag, b"");
        done.map_err(|error| StoreProblem::file(&flag, "marking the damage", &error))
    }

    /// Rebuilds the book from the facts that can be found, wherever they lie in it; what was there is moved aside whole.
    /// Damaged photos are moved aside too, so that they count as not here and are fetched again. The notices say what was
    /// found.
    ///
    /// # Errors
    /// As [`Book::open`]; the book must be opened again then.
    pub fn mend(&mut self, moments: Moments<'_>) -> Result<(), StoreProblem> {
        let flag = self.flag();
        self.files
            .replace_secret(&flag, b"")
            .map_err(|error| StoreProblem::file(&flag, "marking the damage", &error))?;
        let nothing = Connection::open_in_memory().map_err(|error| self.fails("closing the book", &error))?;
        drop(std::mem::replace(&mut self.conn, nothing));
        let fresh = Self::open_with(&self.path, &self.files, moments)?;
        *self = fresh;
        for name in self.photos.look()?.1 {
            // It says that it was moved aside, which is what is wanted.
            let _ = self.photos.read(&name);
        }
        Ok(())
    }

    fn get(&self, table: &str, key: &str) -> Result<Option<String>, StoreProblem> {
        value(&self.conn, table, key).map_err(|error| self.fails("reading the book", &error))
    }

    /// Runs `work` in one transaction, which is on the disk when this returns.
    fn durable<T>(
        &mut self,
        doing: &str,
        work: &mut dyn FnMut(&Transaction<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, StoreProblem> {
        self.commit(Level::Full, doing, work)
    }

    /// Runs `work` in one transaction and commits it. When the disk is full, gives up the reserve and tries once more.
    fn commit<T>(
        &mut self,
        level: Level,
        doing: &str,
        work: &mut dyn FnMut(&Transaction<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, StoreProblem> {
        let mut once = || {
            // Asked for before each transaction, not put back after: a failure in between cannot leave it low.
            if self.level != level {
                self.conn.pragma_update(None, "synchronous", level.pragma())?;
                self.level = level;
            }
            let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let done = work(&tx)?;
            tx.commit()?;
            Ok(done)
        };
        let done = match once() {
            Err(error) if problem::is_full(&error) && self.reserve.release() => once(),
            done => done,
        };
        done.map_err(|error| self.fails(doing, &error))
    }

    fn flag(&self) -> PathBuf {
        beside(&self.path, ".check")
    }

    /// Says what failed; damage is marked beside the book, so that the next opening looks at all of it.
    fn fails(&self, doing: &str, error: &rusqlite::Error) -> StoreProblem {
        let problem = StoreProblem::sqlite(&self.path, doing, error);
        if matches!(problem, StoreProblem::Damaged { .. }) {
            // If the mark cannot be made, the same damage shows again when it is met again.
            let _ = self.files.replace_secret(&self.flag(), b"");
        }
        problem
    }
}

/// Refuses what is no SQLite file, before SQLite opens it. With a book's own files beside it, it was one: damaged.
fn look_at_head(path: &Path) -> Result<(), StoreProblem> {
    // A pipe would be waited for, and a folder is no file.
    if fs::metadata(path).is_ok_and(|there| !there.is_file()) {
        return Err(StoreProblem::NotABook { path: path.to_owned(), what: "it is no file".to_owned() });
    }
    // SQLite writes into these without looking whose they are: a second name of another's file would be written over.
    let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    for own in ["-wal", "-shm", "-journal"].map(|tail| beside(&real, tail)) {
        if fs::symlink_metadata(&own).is_ok_and(|there| !files::is_plain(&there)) {
            let what = format!("{} is a link or no file; move it away", own.display());
            return Err(StoreProblem::NotABook { path: path.to_owned(), what });
        }
    }
    let mut head = Vec::new();
    match fs::File::open(path).map(|file| file.take(16).read_to_end(&mut head)) {
        Ok(Ok(_)) => {}
        // A book is begun where it is named, not where a link laid there before would have it.
        Err(error) if error.kind() == std::io::ErrorKind::NotFound && fs::symlink_metadata(path).is_ok() => {
            let what = "it is a link that leads to nothing; take it away".to_owned();
            return Err(StoreProblem::NotABook { path: path.to_owned(), what });
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Ok(Err(error)) | Err(error) => return Err(StoreProblem::file(path, "opening the book", &error)),
    }
    if head == b"SQLite format 3\0" {
        return Ok(());
    }
    if head.is_empty() {
        // SQLite deletes the log of an empty file (`pagerOpenWalIfPresent`); here it may hold a book's last days.
        return match fs::metadata(beside(path, "-wal")) {
            Ok(log) if log.len() > 0 => Err(StoreProblem::Damaged {
                path: path.to_owned(),
                what: "it is empty beside a log that is not".to_owned(),
            }),
            _ => Ok(()),
        };
    }
    let what = "it does not start as a database does".to_owned();
    let traces = [".reserve", ".photos", "-wal", ".check"];
    if traces.iter().any(|tail| beside(path, tail).exists()) {
        Err(StoreProblem::Damaged { path: path.to_owned(), what })
    } else {
        Err(StoreProblem::NotABook { path: path.to_owned(), what })
    }
}

/// Refuses a database of something else and a book of a newer program, before anything is written.
fn whose(conn: &Connection, path: &Path) -> Result<(), StoreProblem> {
    let fails = |error: &rusqlite::Error| StoreProblem::sqlite(path, "opening the book", error);
    let number = |sql: &str| conn.query_row(sql, [], |row| row.get::<_, i64>(0)).map_err(|error| fails(&error));
    let tables = number("SELECT count(*) FROM sqlite_schema")?;
    let application = number("PRAGMA application_id")?;
    if application != schema::APPLICATION_ID && (application != 0 || tables > 0) {
        let what = format!("a database of another program, application id {application}");
        return Err(StoreProblem::NotABook { path: path.to_owned(), what });
    }
    let found = schema::version(conn).map_err(|error| fails(&error))?.major();
    let known = schema::newest().major();
    if found > known {
        return Err(StoreProblem::Newer { path: path.to_owned(), found, known });
    }
    Ok(())
}

/// True when the book was found damaged and not mended since. The mark is an empty file; what has its name and is not
/// empty is somebody else's.
fn is_flagged(path: &Path) -> bool {
    fs::symlink_metadata(beside(path, ".check")).is_ok_and(|there| files::is_plain(&there) && there.len() == 0)
}

fn check(conn: &Connection) -> rusqlite::Result<()> {
    match tally::examine(conn)?.into_iter().next() {
        Some(fault) => Err(tally::damaged(fault)),
        None => Ok(()),
    }
}

/// A random id (RFC 9562 version 4), out of the chance of two moments.
fn new_device(moments: Moments<'_>) -> Uuid {
    let mut bytes = [0; 16];
    bytes[..8].copy_from_slice(&moments().random[..8]);
    bytes[8..].copy_from_slice(&moments().random[..8]);
    uuid::Builder::from_random_bytes(bytes).into_uuid()
}

/// True of a fact that would end the workroom on every device: a house can be erased, what all houses rest on cannot.
fn erases_the_workroom(fact: &Fact) -> bool {
    fact.job == Workroom::ID && fact.kind == HOUSE_ERASED
}

/// The length of a fact's line where that is more than may be.
fn is_too_long(fact: &Fact) -> Option<usize> {
    // Only what may come near the limit is written out to be measured: a body's text is most of a line.
    let small = fact.by.len() + fact.kind.len() < 1024 && body_bytes(&fact.body) < MOST_FACT / 8;
    if small { None } else { Some(fact.line_bytes()).filter(|bytes| *bytes > MOST_FACT) }
}

/// About how many bytes a value takes, without writing it; control characters may take six times as many.
fn body_bytes(value: &serde_json::Value) -> usize {
    match value {
        serde_json::Value::String(text) => text.len() + 2,
        serde_json::Value::Array(items) => items.iter().map(|item| body_bytes(item) + 1).sum::<usize>() + 2,
        serde_json::Value::Object(map) => {
            map.iter().map(|(key, item)| key.len() + 4 + body_bytes(item)).sum::<usize>() + 2
        }
        _ => 24,
    }
}

fn append(
    tx: &Transaction<'_>,
    moments: &[Moment],
    job: Uuid,
    by: &str,
    unit: LengthUnit,
    bodies: &[Body],
) -> rusqlite::Result<Vec<Fact>> {
    let Some(first) = moments.first() else { return Ok(Vec::new()) };
    let mut pen = log::pen(tx, first.ms)?;
    let mut facts = Vec::with_capacity(bodies.len());
    for (body, moment) in bodies.iter().zip(moments) {
        let fact = pen.write(*moment, job, by, unit, body);
        if let Some(bytes) = is_too_long(&fact) {
            return Err(rusqlite::Error::ToSqlConversionFailure(Box::new(problem::TooLong(bytes))));
        }
        log::append(tx, &fact)?;
        if fact.kind == HOUSE_ERASED {
            erase(tx, job)?;
        }
        facts.push(fact);
    }
    Ok(facts)
}

/// Erases a house's rows, and remembers which photos go with it, here and where they were brought.
fn erase(tx: &Transaction<'_>, job: Uuid) -> rusqlite::Result<()> {
    let gone = log::erase(tx, job)?;
    if gone.is_empty() {
        return Ok(());
    }
    let listed = |key: &str| -> rusqlite::Result<String> {
        tx.query_row("SELECT value FROM state WHERE key = ?1", [key], |row| row.get(0))
            .optional()
            .map(Option::unwrap_or_default)
    };
    let wanted = listed(WANTED_PHOTOS)?;
    let wanted: Vec<&str> = wanted.split_whitespace().filter(|hash| !gone.iter().any(|gone| gone == hash)).collect();
    put(tx, "state", WANTED_PHOTOS, Some(&wanted.join(" ")))?;
    let before = listed(ERASED_PHOTOS)?;
    let all: BTreeSet<&str> = before.split_whitespace().chain(gone.iter().map(String::as_str)).collect();
    put(tx, "state", ERASED_PHOTOS, Some(&all.into_iter().collect::<Vec<_>>().join(" ")))
}

/// A small value, as it was written.
fn value(conn: &Connection, table: &str, key: &str) -> rusqlite::Result<Option<String>> {
    conn.prepare_cached(&format!("SELECT value, sum FROM {table} WHERE key = ?1"))?
        .query_row([key], |row| Ok((row.get::<_, String>(0)?, row.get::<_, Option<i64>>(1)?)))
        .optional()?
        .map(|(value, sum)| match sum {
            Some(sum) if sum != tally::value_sum(key, &value) => {
                Err(tally::damaged(format!("the small value {key} is not what was written")))
            }
            _ => Ok(value),
        })
        .transpose()
}

fn put(tx: &Transaction<'_>, table: &str, key: &str, value: Option<&str>) -> rusqlite::Result<()> {
    match value {
        Some(value) => tx
            .prepare_cached(&format!("INSERT OR REPLACE INTO {table} (key, value, sum) VALUES (?1, ?2, ?3)"))?
            .execute(params![key, value, tally::value_sum(key, value)]),
        None => tx.prepare_cached(&format!("DELETE FROM {table} WHERE key = ?1"))?.execute([key]),
    }
    .map(drop)
}

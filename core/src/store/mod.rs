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
mod photos;
mod problem;
mod reserve;
mod salvage;
mod schema;

pub use files::{Files, Step};
pub use lines::HouseLine;
pub use photos::{Photos, photo_name};
pub use problem::StoreProblem;
pub use reserve::RESERVE_BYTES;

use crate::fact::{Body, Fact, House, Moment, Pen, changes, fold};
use crate::house::Job;
use crate::length::LengthUnit;
use files::beside;
use reserve::Reserve;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};
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

/// What became of facts that were merged.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Merged {
    /// How many were new.
    pub new: usize,
    /// How many were there already.
    pub known: usize,
    /// Ids that are there with another content. What was there stays; one of the two is damaged or forged.
    pub differs: Vec<Uuid>,
    /// Ids whose stamp lies after the year 9999: no clock of a device says that, and it would spoil every later stamp.
    pub refused: Vec<Uuid>,
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
            fs::create_dir_all(folder).map_err(|error| StoreProblem::file(folder, "making the folder", &error))?;
        }
        salvage::finish(path, files)?;
        let mut notices = Vec::new();
        let mut opened = Self::open_once(path, files, moments);
        if matches!(opened, Err(StoreProblem::Damaged { .. })) {
            let saved = salvage::salvage(path, files, new_device(moments))?;
            notices.push(Notice::Salvaged { aside: saved.aside, kept: saved.kept, missing: saved.missing });
            opened = Self::open_once(path, files, moments);
        }
        let mut book = opened?;
        let flag = book.flag();
        files.remove(&flag).map_err(|error| StoreProblem::file(&flag, "clearing the mark of damage", &error))?;
        if !book.reserve.hold() {
            notices.push(Notice::NoReserve);
        }
        notices.append(&mut book.notices);
        book.notices = notices;
        Ok(book)
    }

    fn open_once(path: &Path, files: &Files, moments: Moments<'_>) -> Result<Self, StoreProblem> {
        look_at_head(path)?;
        let fails = |error: &rusqlite::Error| StoreProblem::sqlite(path, "opening the book", error);
        let mut conn = Connection::open(path).map_err(|error| fails(&error))?;
        conn.busy_timeout(BUSY).map_err(|error| fails(&error))?;
        // Until the file is known to be ours to write, closing it must not write into it either.
        let keep =
            |on| conn.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, on).map_err(|error| fails(&error));
        keep(true)?;
        whose(&conn, path)?;
        keep(false)?;
        schema::settle(&conn).map_err(|error| fails(&error))?;
        schema::upgrade(&mut conn).map_err(|error| fails(&error))?;
        if beside(path, ".check").exists() {
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
        };
        book.settle_device(moments)?;
        // Reads a little of every table, so that damage in their roots shows now.
        log::pen(&book.conn).map_err(|error| fails(&error))?;
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
            log::saw(tx, log::pen(tx)?.last())?;
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
        Ok(fold(&self.facts(job)?))
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
        log::of_job(&self.conn, job).map_err(|error| self.fails("reading a house", &error))
    }

    /// What this book itself wrote, as any of its device ids, in order of writing: up to `limit` facts after the row
    /// `after` (0 for all), each with its row. For sync: keep the last row under [`SENT`].
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn own_facts(&self, after: i64, limit: usize) -> Result<Vec<(i64, Fact)>, StoreProblem> {
        log::own_after(&self.conn, after, limit).map_err(|error| self.fails("listing what was written here", &error))
    }

    /// How many facts this book itself wrote, as any of its device ids: for the sync state on a screen.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn own_count(&self) -> Result<u64, StoreProblem> {
        let count = log::own_count(&self.conn).map_err(|error| self.fails("counting what was written here", &error))?;
        Ok(count.unsigned_abs())
    }

    /// Every fact of the book, of all houses and devices, in order of arrival: up to `limit` after the row `after` (0 for
    /// all), each with its row. For an archive.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`], [`StoreProblem::Disk`].
    pub fn all_facts(&self, after: i64, limit: usize) -> Result<Vec<(i64, Fact)>, StoreProblem> {
        log::all_after(&self.conn, after, limit).map_err(|error| self.fails("listing all facts", &error))
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
        let begins = matches!(bodies.first(), Some(Body::HouseOpened { .. }));
        if !begins && !log::has_job(&self.conn, job).map_err(|error| self.fails("looking for a house", &error))? {
            return Err(StoreProblem::NoHouse { job });
        }
        let moments: Vec<Moment> = bodies.iter().map(|_| moments()).collect();
        self.durable("writing facts", &mut |tx| {
            if let Some(draft) = draft {
                put(tx, "draft", draft.key, draft.value)?;
            }
            append(tx, log::pen(tx)?, &moments, job, by, unit, bodies)
        })
    }

    /// Takes in a job file's house: writes the facts that lead from what stands to what it says, and gives them (none
    /// when it says nothing new). Nothing is removed: what the file lacks stays.
    ///
    /// # Errors
    /// As [`Book::write`], without [`StoreProblem::NoHouse`].
    pub fn take_in(&mut self, job: &Job, by: &str, moments: Moments<'_>) -> Result<Vec<Fact>, StoreProblem> {
        // Kept, so that a second try after the reserve was given up writes the same facts.
        let mut taken: Vec<Moment> = Vec::new();
        self.durable("taking in a job file", &mut |tx| {
            let bodies = changes(fold(&log::of_job(tx, job.id)?).as_ref(), job);
            while taken.len() < bodies.len() {
                taken.push(moments());
            }
            append(tx, log::pen(tx)?, &taken, job.id, by, job.unit, &bodies)
        })
    }

    /// Adds facts of other devices, in one transaction: set union, so any order and any repetition give the same book.
    /// On the disk when it returns.
    ///
    /// # Errors
    /// [`StoreProblem::Full`], [`StoreProblem::Busy`], [`StoreProblem::Damaged`], [`StoreProblem::Disk`]. Nothing is
    /// added then.
    pub fn merge(&mut self, facts: &[Fact]) -> Result<Merged, StoreProblem> {
        self.durable("merging facts", &mut |tx| {
            let mut merged = Merged::default();
            let mut pen = log::pen(tx)?;
            for fact in facts {
                if fact.stamp.ms > log::LAST_MS {
                    merged.refused.push(fact.id);
                    continue;
                }
                match log::meet(tx, fact)? {
                    log::Met::New => {
                        merged.new += 1;
                        pen.saw(fact.stamp);
                    }
                    log::Met::Known => merged.known += 1,
                    log::Met::Differs => merged.differs.push(fact.id),
                }
            }
            if merged.new > 0 {
                log::saw(tx, pen.last())?;
            }
            Ok(merged)
        })
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
    /// makes it leave the log for later.
    ///
    /// # Errors
    /// [`StoreProblem::Full`], [`StoreProblem::Damaged`], [`StoreProblem::Disk`]: what was saved is safe in the log.
    pub fn pause(&mut self) -> Result<(), StoreProblem> {
        self.houses()?;
        self.conn
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
            .map_err(|error| self.fails("folding the log into the book", &error))?;
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

    /// Looks at the whole file: SQLite's own check and the sum of every fact. Slow on a large book.
    ///
    /// # Errors
    /// [`StoreProblem::Damaged`] with what was found: the next opening rebuilds the book. [`StoreProblem::Disk`].
    pub fn check(&self) -> Result<(), StoreProblem> {
        check(&self.conn).map_err(|error| self.fails("checking the book", &error))
    }

    fn get(&self, table: &str, key: &str) -> Result<Option<String>, StoreProblem> {
        let get = || {
            self.conn
                .prepare_cached(&format!("SELECT value FROM {table} WHERE key = ?1"))?
                .query_row([key], |row| row.get(0))
                .optional()
        };
        get().map_err(|error| self.fails("reading the book", &error))
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
            let _ = self.files.replace(&self.flag(), b"");
        }
        problem
    }
}

/// Refuses what is no SQLite file, before SQLite opens it. With a book's own files beside it, it was one: damaged.
fn look_at_head(path: &Path) -> Result<(), StoreProblem> {
    let mut head = Vec::new();
    match fs::File::open(path).map(|file| file.take(16).read_to_end(&mut head)) {
        Ok(Ok(_)) => {}
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

fn check(conn: &Connection) -> rusqlite::Result<()> {
    let said: String = conn.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    if said != "ok" {
        let code = rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_CORRUPT);
        return Err(rusqlite::Error::SqliteFailure(code, Some(said)));
    }
    log::check(conn)
}

/// A random id (RFC 9562 version 4), out of the chance of two moments.
fn new_device(moments: Moments<'_>) -> Uuid {
    let mut bytes = [0; 16];
    bytes[..8].copy_from_slice(&moments().random[..8]);
    bytes[8..].copy_from_slice(&moments().random[..8]);
    uuid::Builder::from_random_bytes(bytes).into_uuid()
}

fn append(
    tx: &Transaction<'_>,
    mut pen: Pen,
    moments: &[Moment],
    job: Uuid,
    by: &str,
    unit: LengthUnit,
    bodies: &[Body],
) -> rusqlite::Result<Vec<Fact>> {
    bodies
        .iter()
        .zip(moments)
        .map(|(body, moment)| {
            let fact = pen.write(*moment, job, by, unit, body);
            log::append(tx, &fact).map(|()| fact)
        })
        .collect()
}

fn put(tx: &Transaction<'_>, table: &str, key: &str, value: Option<&str>) -> rusqlite::Result<()> {
    match value {
        Some(value) => tx
            .prepare_cached(&format!("INSERT OR REPLACE INTO {table} (key, value) VALUES (?1, ?2)"))?
            .execute([key, value]),
        None => tx.prepare_cached(&format!("DELETE FROM {table} WHERE key = ?1"))?.execute([key]),
    }
    .map(drop)
}

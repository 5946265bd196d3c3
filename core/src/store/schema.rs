//! The tables of a book, and the steps that lead an older book to them.
//!
//! `user_version` is the major version times 1000 plus the minor one. A minor step only adds what an older program
//! can leave unread; a major one may not be opened by an older program. Steps are never changed once they shipped:
//! a new one is added at the end, and a file of each form is kept in `fixtures/books`.

use rusqlite::{Connection, TransactionBehavior};

/// "HGTB": marks the file as a book.
pub(super) const APPLICATION_ID: i64 = 0x4847_5442;

/// A version in the form of `user_version`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Version(pub(super) i64);

impl Version {
    pub(super) const fn major(self) -> i64 {
        self.0 / 1000
    }
}

/// One step from the version before it to `to`.
struct Step {
    to: Version,
    sql: &'static str,
}

const STEPS: &[Step] = &[
    Step {
        to: Version(1000),
        // `fact` is append-only, so `seq` (the order of arrival here) never goes back though it is not AUTOINCREMENT.
        // `sum` is the start of a SHA-256 over the rest of the row: SQLite does not notice a changed byte inside a page.
        sql: "
        CREATE TABLE fact (
            seq INTEGER PRIMARY KEY,
            id BLOB NOT NULL UNIQUE,
            device BLOB NOT NULL,
            ms INTEGER NOT NULL,
            count INTEGER NOT NULL,
            job BLOB NOT NULL,
            who TEXT NOT NULL DEFAULT '',
            unit TEXT NOT NULL,
            kind TEXT NOT NULL,
            body TEXT NOT NULL,
            sum INTEGER NOT NULL
        ) STRICT;
        CREATE INDEX fact_job ON fact (job);
        CREATE TABLE book (
            one INTEGER PRIMARY KEY CHECK (one = 1),
            device BLOB NOT NULL,
            marker TEXT NOT NULL DEFAULT '',
            seen_ms INTEGER NOT NULL DEFAULT 0,
            seen_count INTEGER NOT NULL DEFAULT 0
        ) STRICT;
        CREATE TABLE own_device (device BLOB NOT NULL PRIMARY KEY) STRICT, WITHOUT ROWID;
        CREATE TABLE draft (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
        CREATE TABLE state (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
    ",
    },
    // An older program keeps it too, without knowing: triggers are in the file.
    Step { to: Version(1001), sql: super::tally::STEP },
];

/// The version that this program writes.
pub(super) const fn newest() -> Version {
    STEPS[STEPS.len() - 1].to
}

/// The version of the file as it stands.
pub(super) fn version(conn: &Connection) -> rusqlite::Result<Version> {
    conn.query_row("PRAGMA user_version", [], |row| row.get(0)).map(Version)
}

/// How the file is kept: set on every opening, after it is known to be a book that this program may write.
pub(super) fn settle(conn: &Connection) -> rusqlite::Result<()> {
    // WAL with FULL: every commit is synced. NORMAL could lose the last commits when the power goes.
    conn.pragma_update(None, "journal_mode", "WAL")?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    // On Apple's systems only this makes the drive itself write; elsewhere it does nothing.
    conn.pragma_update(None, "fullfsync", true)?;
    conn.pragma_update(None, "checkpoint_fullfsync", true)?;
    // No file outside the app's own folder.
    conn.pragma_update(None, "temp_store", "MEMORY")?;
    conn.pragma_update(None, "cell_size_check", true)?;
    // What is erased is written over with zeros, not only let go.
    conn.pragma_update(None, "secure_delete", true)?;
    conn.pragma_update(None, "trusted_schema", false)?;
    // After a large merge the log beside the file is cut back.
    conn.pragma_update(None, "journal_size_limit", 4 << 20)
}

/// Takes every step that the file lacks, all in one transaction.
pub(super) fn upgrade(conn: &mut Connection) -> rusqlite::Result<()> {
    if version(conn)? >= newest() {
        return Ok(());
    }
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Asked again inside: another program may have upgraded it since.
    let from = version(&tx)?;
    for step in STEPS.iter().filter(|step| step.to > from) {
        tx.execute_batch(step.sql)?;
        tx.pragma_update(None, "user_version", step.to.0)?;
    }
    tx.pragma_update(None, "application_id", APPLICATION_ID)?;
    tx.commit()
}

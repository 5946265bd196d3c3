//! How much of every house there should be: a count of its facts and a sum over their sums, kept by triggers in the same
//! transaction as the facts themselves.
//!
//! SQLite finds a house's facts through an index. A flipped bit in there hides facts without any error: what is left is
//! a house with fewer readings. So what was found is held against the tally on every fold; it costs one look-up. A whole
//! look ([`examine`]) compares every index with its table, every sum, and every view with what it was made from.

use super::{lines, log};
use crate::fact::Fact;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, ffi};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The part of a row's sum that is added up: forty bits, so that eight million facts of one house stay below 2^63 and no
/// trigger ever overflows.
pub(super) const PART: i64 = (1 << 40) - 1;

/// The tables and triggers, as a step of the schema. A row may change (what is erased is), and none is ever removed.
pub(super) const STEP: &str = "
    CREATE TABLE tally (
        job BLOB NOT NULL PRIMARY KEY,
        facts INTEGER NOT NULL,
        sums INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID;
    INSERT INTO tally (job, facts, sums)
        SELECT job, count(*), sum(sum & 1099511627775) FROM fact NOT INDEXED GROUP BY job;
    CREATE TRIGGER tally_new AFTER INSERT ON fact BEGIN
        INSERT INTO tally VALUES (new.job, 1, new.sum & 1099511627775)
            ON CONFLICT (job) DO UPDATE SET facts = facts + 1, sums = sums + excluded.sums;
    END;
    CREATE TRIGGER tally_changed AFTER UPDATE OF sum ON fact BEGIN
        UPDATE tally SET sums = sums - (old.sum & 1099511627775) + (new.sum & 1099511627775) WHERE job = new.job;
    END;
    ALTER TABLE draft ADD COLUMN sum INTEGER;
    ALTER TABLE state ADD COLUMN sum INTEGER;
";

/// What a house should hold.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(super) struct Tally {
    pub(super) facts: i64,
    pub(super) sums: i64,
}

impl Tally {
    fn add(&mut self, sum: i64) {
        self.facts += 1;
        self.sums += sum & PART;
    }
}

/// Damage, as SQLite itself would say it.
pub(super) fn damaged(what: String) -> rusqlite::Error {
    rusqlite::Error::SqliteFailure(ffi::Error::new(ffi::SQLITE_CORRUPT), Some(what))
}

/// Runs `read` on one state of the book, though others write meanwhile.
pub(super) fn at_once<T>(conn: &Connection, read: impl FnOnce() -> rusqlite::Result<T>) -> rusqlite::Result<T> {
    if !conn.is_autocommit() {
        return read();
    }
    let tx = Transaction::new_unchecked(conn, TransactionBehavior::Deferred)?;
    let done = read()?;
    tx.finish()?;
    Ok(done)
}

/// What one house should hold.
fn of(conn: &Connection, job: Uuid) -> rusqlite::Result<Tally> {
    let found = conn
        .prepare_cached("SELECT facts, sums FROM tally WHERE job = ?1")?
        .query_row([job.into_bytes()], |row| Ok(Tally { facts: row.get(0)?, sums: row.get(1)? }))
        .optional()?;
    Ok(found.unwrap_or_default())
}

/// What every house should hold.
pub(super) fn all(conn: &Connection) -> rusqlite::Result<BTreeMap<Uuid, Tally>> {
    conn.prepare_cached("SELECT job, facts, sums FROM tally")?
        .query_map([], |row| Ok((Uuid::from_bytes(row.get(0)?), Tally { facts: row.get(1)?, sums: row.get(2)? })))?
        .collect()
}

/// How many facts the book should hold.
pub(super) fn total(conn: &Connection) -> rusqlite::Result<i64> {
    conn.prepare_cached("SELECT coalesce(sum(facts), 0) FROM tally")?.query_row([], |row| row.get(0))
}

/// All facts of a house in order of arrival, with their tally. Fails when they are not all there.
pub(super) fn facts(conn: &Connection, job: Uuid) -> rusqlite::Result<(Vec<Fact>, Tally)> {
    at_once(conn, || {
        let (mut facts, mut found) = (Vec::new(), Tally::default());
        for (fact, sum) in log::of_job_summed(conn, job)? {
            found.add(sum);
            facts.push(fact);
        }
        let should = of(conn, job)?;
        if found == should {
            return Ok((facts, found));
        }
        Err(damaged(format!("of house {job} {} facts were found, and there should be {}", found.facts, should.facts)))
    })
}

/// Facts in order of arrival, after the row `after`. Fails where one is passed over: rows are numbered without a gap.
pub(super) fn facts_after(conn: &Connection, after: i64, limit: usize) -> rusqlite::Result<Vec<(i64, Fact)>> {
    at_once(conn, || {
        let facts = log::all_after(conn, after, limit)?;
        let gap = |at: i64| damaged(format!("the fact in row {at} is not found"));
        for (expected, (row, _)) in (after + 1..).zip(&facts) {
            if *row != expected {
                return Err(gap(expected));
            }
        }
        let last = facts.last().map_or(after, |(row, _)| *row);
        if facts.len() < limit && last < total(conn)? {
            return Err(gap(last + 1));
        }
        Ok(facts)
    })
}

/// The sum that is kept beside a small value.
pub(super) fn value_sum(key: &str, value: &str) -> i64 {
    log::sum_of(&[key, value])
}

/// Looks at the whole book: gives every fault that was found, in words; none when it is sound.
pub(super) fn examine(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut faults: Vec<String> = conn
        .prepare("PRAGMA integrity_check(20)")?
        .query_map([], |row| row.get::<_, String>(0))?
        .collect::<rusqlite::Result<Vec<_>>>()?;
    faults.retain(|said| said != "ok");
    at_once(conn, || {
        let mut found: BTreeMap<Uuid, Tally> = BTreeMap::new();
        log::each_row(conn, &mut |row| match row {
            Ok((fact, sum)) => found.entry(fact.job).or_default().add(sum),
            Err(error) => faults.push(error.to_string()),
        })?;
        let should = all(conn)?;
        let none = Tally::default();
        for job in found.keys().chain(should.keys().filter(|job| !found.contains_key(job))) {
            let (found, should) = (found.get(job).unwrap_or(&none), should.get(job).unwrap_or(&none));
            if found != should {
                let (there, wanted) = (found.facts, should.facts);
                faults.push(format!("of house {job} {there} facts were found, and there should be {wanted}"));
            }
        }
        for table in ["draft", "state"] {
            let mut rows = conn.prepare(&format!("SELECT key, value, sum FROM {table}"))?;
            let mut rows = rows.query([])?;
            while let Some(row) = rows.next()? {
                let (key, value): (String, String) = (row.get(0)?, row.get(1)?);
                if row.get::<_, Option<i64>>(2)?.is_some_and(|sum| sum != value_sum(&key, &value)) {
                    faults.push(format!("the small value {key} is not what was written"));
                }
            }
        }
        faults.extend(device(conn)?);
        faults.extend(lines::faults(conn)?);
        Ok(())
    })?;
    Ok(faults)
}

/// The device that the book says it writes as must be one of its own. What is wrong, if anything.
pub(super) fn device(conn: &Connection) -> rusqlite::Result<Option<String>> {
    let sql = "SELECT count(*) FROM book WHERE device NOT IN (SELECT device FROM own_device)";
    let strange: i64 = conn.query_row(sql, [], |row| row.get(0))?;
    Ok((strange > 0).then(|| "the device that this book writes as is not one of its own".to_owned()))
}

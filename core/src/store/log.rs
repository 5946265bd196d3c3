//! Rows of the log: a fact to a row and back, with its sum.

use crate::fact::{Fact, Pen, Stamp};
use crate::length::LengthUnit;
use rusqlite::types::Type;
use rusqlite::{Connection, OptionalExtension, Row, params};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// The last millisecond of the year 9999, the last that RFC 3339 can write: a stamp beyond it is nobody's clock,
/// and would push every later one past what can be written.
pub(super) const LAST_MS: u64 = 253_402_300_799_999;

/// The columns of a row in the order of the table, without `seq`.
#[derive(Debug)]
pub(super) struct Raw {
    pub(super) id: [u8; 16],
    pub(super) device: [u8; 16],
    pub(super) ms: i64,
    pub(super) count: i64,
    pub(super) job: [u8; 16],
    pub(super) who: String,
    pub(super) unit: String,
    pub(super) kind: String,
    pub(super) body: String,
}

impl Raw {
    fn of(fact: &Fact) -> Self {
        Self {
            id: fact.id.into_bytes(),
            device: fact.device.into_bytes(),
            ms: i64::try_from(fact.stamp.ms).unwrap_or(i64::MAX),
            count: i64::from(fact.stamp.count),
            job: fact.job.into_bytes(),
            who: fact.by.clone(),
            unit: fact.unit.name().to_owned(),
            kind: fact.kind.clone(),
            body: fact.body.to_string(),
        }
    }

    /// The first eight bytes of the SHA-256 over the row, each text with its length before it.
    pub(super) fn sum(&self) -> i64 {
        let mut hash = Sha256::new();
        hash.update(self.id);
        hash.update(self.device);
        hash.update(self.ms.to_le_bytes());
        hash.update(self.count.to_le_bytes());
        hash.update(self.job);
        for text in [&self.who, &self.unit, &self.kind, &self.body] {
            hash.update((text.len() as u64).to_le_bytes());
            hash.update(text.as_bytes());
        }
        let whole: [u8; 32] = hash.finalize().into();
        let (first, _) = whole.split_first_chunk::<8>().expect("32 bytes begin with 8");
        i64::from_le_bytes(*first)
    }

    pub(super) fn fact(&self) -> Result<Fact, String> {
        let unit: LengthUnit = serde_json::from_value(serde_json::Value::String(self.unit.clone()))
            .map_err(|error| format!("unit: {error}"))?;
        let body = serde_json::from_str(&self.body).map_err(|error| format!("body: {error}"))?;
        Ok(Fact {
            id: Uuid::from_bytes(self.id),
            device: Uuid::from_bytes(self.device),
            stamp: Stamp {
                ms: u64::try_from(self.ms).map_err(|_| "a time before 1970".to_owned())?,
                count: u32::try_from(self.count).map_err(|_| "a count out of its range".to_owned())?,
            },
            job: Uuid::from_bytes(self.job),
            by: self.who.clone(),
            unit,
            kind: self.kind.clone(),
            body,
        })
    }

    pub(super) fn insert(&self, conn: &Connection, or: &str) -> rusqlite::Result<usize> {
        let sql = format!(
            "INSERT {or} INTO fact (id, device, ms, count, job, who, unit, kind, body, sum)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)"
        );
        conn.prepare_cached(&sql)?.execute(params![
            self.id,
            self.device,
            self.ms,
            self.count,
            self.job,
            self.who,
            self.unit,
            self.kind,
            self.body,
            self.sum()
        ])
    }
}

const SELECT: &str = "SELECT seq, id, device, ms, count, job, who, unit, kind, body, sum FROM fact";

fn from_row(row: &Row<'_>) -> rusqlite::Result<(i64, Fact)> {
    let seq = row.get(0)?;
    let raw = Raw {
        id: row.get(1)?,
        device: row.get(2)?,
        ms: row.get(3)?,
        count: row.get(4)?,
        job: row.get(5)?,
        who: row.get(6)?,
        unit: row.get(7)?,
        kind: row.get(8)?,
        body: row.get(9)?,
    };
    let bad = |column, what: String| {
        let what = format!("fact {seq}: {what}");
        rusqlite::Error::FromSqlConversionFailure(column, Type::Text, what.into())
    };
    if row.get::<_, i64>(10)? != raw.sum() {
        return Err(bad(10, "its content is not what was written".to_owned()));
    }
    raw.fact().map(|fact| (seq, fact)).map_err(|what| bad(9, what))
}

/// Writes a new fact. Fails when its id is taken.
pub(super) fn append(conn: &Connection, fact: &Fact) -> rusqlite::Result<()> {
    Raw::of(fact).insert(conn, "").map(drop)
}

/// What became of a fact that was merged.
pub(super) enum Met {
    New,
    Known,
    Differs,
}

/// Adds a fact unless its id is there.
pub(super) fn meet(conn: &Connection, fact: &Fact) -> rusqlite::Result<Met> {
    if Raw::of(fact).insert(conn, "OR IGNORE")? == 1 {
        return Ok(Met::New);
    }
    let known = one(conn, fact.id)?;
    Ok(if known.as_ref() == Some(fact) { Met::Known } else { Met::Differs })
}

/// The fact of this id.
pub(super) fn one(conn: &Connection, id: Uuid) -> rusqlite::Result<Option<Fact>> {
    conn.prepare_cached(&format!("{SELECT} WHERE id = ?1"))?
        .query_row([id.into_bytes()], from_row)
        .optional()
        .map(|found| found.map(|(_, fact)| fact))
}

/// All facts of a house, in order of arrival.
pub(super) fn of_job(conn: &Connection, job: Uuid) -> rusqlite::Result<Vec<Fact>> {
    conn.prepare_cached(&format!("{SELECT} WHERE job = ?1 ORDER BY seq"))?
        .query_map([job.into_bytes()], |row| from_row(row).map(|(_, fact)| fact))?
        .collect()
}

/// True when there is any fact of this house.
/// The row of the newest fact; 0 in an empty book.
pub(super) fn last_row(conn: &Connection) -> rusqlite::Result<i64> {
    conn.query_row("SELECT coalesce(max(seq), 0) FROM fact", [], |row| row.get(0))
}

pub(super) fn has_job(conn: &Connection, job: Uuid) -> rusqlite::Result<bool> {
    conn.prepare_cached("SELECT 1 FROM fact WHERE job = ?1 LIMIT 1")?.exists([job.into_bytes()])
}

/// Facts that this book's own devices wrote, after `seq`, in order of writing.
pub(super) fn own_after(conn: &Connection, seq: i64, limit: usize) -> rusqlite::Result<Vec<(i64, Fact)>> {
    let sql = format!("{SELECT} WHERE seq > ?1 AND device IN (SELECT device FROM own_device) ORDER BY seq LIMIT ?2");
    conn.prepare_cached(&sql)?.query_map(params![seq, i64::try_from(limit).unwrap_or(i64::MAX)], from_row)?.collect()
}

/// How many facts this book's own devices wrote.
pub(super) fn own_count(conn: &Connection) -> rusqlite::Result<i64> {
    conn.prepare_cached("SELECT count(*) FROM fact WHERE device IN (SELECT device FROM own_device)")?
        .query_row([], |row| row.get(0))
}

/// All facts after `seq`, in order of arrival.
pub(super) fn all_after(conn: &Connection, seq: i64, limit: usize) -> rusqlite::Result<Vec<(i64, Fact)>> {
    conn.prepare_cached(&format!("{SELECT} WHERE seq > ?1 ORDER BY seq LIMIT ?2"))?
        .query_map(params![seq, i64::try_from(limit).unwrap_or(i64::MAX)], from_row)?
        .collect()
}

/// Looks at every row. Fails at the first whose content is not what was written.
pub(super) fn check(conn: &Connection) -> rusqlite::Result<()> {
    let mut all = conn.prepare(SELECT)?;
    let mut rows = all.query([])?;
    while let Some(row) = rows.next()? {
        from_row(row)?;
    }
    Ok(())
}

/// A pen that goes on after everything in the book.
///
/// Of what this book writes, the last row has the largest stamp; `seen` holds the largest at the last merge. So two
/// look-ups give the largest of all.
pub(super) fn pen(conn: &Connection) -> rusqlite::Result<Pen> {
    let stamp = |ms: i64, count: i64| Stamp {
        ms: u64::try_from(ms).unwrap_or_default(),
        count: u32::try_from(count).unwrap_or_default(),
    };
    let (device, seen) = conn
        .prepare_cached("SELECT device, seen_ms, seen_count FROM book")?
        .query_row([], |row| Ok((row.get::<_, [u8; 16]>(0)?, stamp(row.get(1)?, row.get(2)?))))?;
    let last = conn
        .prepare_cached("SELECT ms, count FROM fact ORDER BY seq DESC LIMIT 1")?
        .query_row([], |row| Ok(stamp(row.get(0)?, row.get(1)?)))
        .optional()?;
    Ok(Pen::new(Uuid::from_bytes(device), seen.max(last.unwrap_or_default())))
}

/// Keeps the largest stamp that was seen, so that what is written from now on is later.
pub(super) fn saw(conn: &Connection, stamp: Stamp) -> rusqlite::Result<()> {
    let ms = i64::try_from(stamp.ms).unwrap_or(i64::MAX);
    conn.execute("UPDATE book SET seen_ms = ?1, seen_count = ?2", params![ms, stamp.count]).map(drop)
}

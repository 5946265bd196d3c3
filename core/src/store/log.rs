//! Rows of the log: a fact to a row and back, with its sum.

use crate::fact::{ADOPT_AHEAD_MS, ERASED, Fact, HOUSE_ERASED, Pen, Stamp};
use crate::length::LengthUnit;
use rusqlite::types::Type;
use rusqlite::{Connection, OptionalExtension, Row, params};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use uuid::Uuid;

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
    pub(super) fn of(fact: &Fact) -> Self {
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
pub(super) fn meet(conn: &Connection, fact: &Fact) -> rusqlite::Result<(Met, i64)> {
    if Raw::of(fact).insert(conn, "OR IGNORE")? == 1 {
        return Ok((Met::New, conn.last_insert_rowid()));
    }
    let (row, known) = one(conn, fact.id)?.ok_or(rusqlite::Error::QueryReturnedNoRows)?;
    // What is left of an erased fact is no other content of it.
    let same = known == *fact || known == fact.erased();
    Ok((if same { Met::Known } else { Met::Differs }, row))
}

/// The fact of this id.
fn one(conn: &Connection, id: Uuid) -> rusqlite::Result<Option<(i64, Fact)>> {
    conn.prepare_cached(&format!("{SELECT} WHERE id = ?1"))?.query_row([id.into_bytes()], from_row).optional()
}

/// All facts of a house with the sum of each row, in order of arrival.
pub(super) fn of_job_summed(conn: &Connection, job: Uuid) -> rusqlite::Result<Vec<(Fact, i64)>> {
    conn.prepare_cached(&format!("{SELECT} WHERE job = ?1 ORDER BY seq"))?
        .query_map([job.into_bytes()], |row| Ok((from_row(row)?.1, row.get(10)?)))?
        .collect()
}

/// Hands every row of the table itself to `take`, whatever the indexes say.
pub(super) fn each_row(conn: &Connection, take: &mut dyn FnMut(rusqlite::Result<(Fact, i64)>)) -> rusqlite::Result<()> {
    let mut all = conn.prepare(&format!("{SELECT} NOT INDEXED"))?;
    let mut rows = all.query([])?;
    while let Some(row) = rows.next()? {
        take(from_row(row).and_then(|(_, fact)| Ok((fact, row.get(10)?))));
    }
    Ok(())
}

/// The first eight bytes of the SHA-256 over texts, each with its length before it.
pub(super) fn sum_of(texts: &[&str]) -> i64 {
    let mut hash = Sha256::new();
    for text in texts {
        hash.update((text.len() as u64).to_le_bytes());
        hash.update(text.as_bytes());
    }
    let whole: [u8; 32] = hash.finalize().into();
    let (first, _) = whole.split_first_chunk::<8>().expect("32 bytes begin with 8");
    i64::from_le_bytes(*first)
}

/// The row of the newest fact; 0 in an empty book.
pub(super) fn last_row(conn: &Connection) -> rusqlite::Result<i64> {
    conn.query_row("SELECT coalesce(max(seq), 0) FROM fact", [], |row| row.get(0))
}

/// True when there is any fact of this house.
pub(super) fn has_job(conn: &Connection, job: Uuid) -> rusqlite::Result<bool> {
    conn.prepare_cached("SELECT 1 FROM fact WHERE job = ?1 LIMIT 1")?.exists([job.into_bytes()])
}

/// The last row of a job; 0 where there is none.
pub(super) fn last_of(conn: &Connection, job: Uuid) -> rusqlite::Result<i64> {
    conn.prepare_cached("SELECT coalesce(max(seq), 0) FROM fact WHERE job = ?1")?
        .query_row([job.into_bytes()], |row| row.get(0))
}

/// Facts that this book's own devices wrote, after `seq`, in order of writing.
pub(super) fn own_after(conn: &Connection, seq: i64, limit: usize) -> rusqlite::Result<Vec<(i64, Fact)>> {
    let sql = format!("{SELECT} WHERE seq > ?1 AND device IN (SELECT device FROM own_device) ORDER BY seq LIMIT ?2");
    conn.prepare_cached(&sql)?.query_map(params![seq, i64::try_from(limit).unwrap_or(i64::MAX)], from_row)?.collect()
}

/// The rows of facts that this book's own devices wrote, after `seq`.
pub(super) fn own_rows(conn: &Connection, seq: i64) -> rusqlite::Result<Vec<i64>> {
    conn.prepare_cached(
        "SELECT seq FROM fact WHERE seq > ?1 AND device IN (SELECT device FROM own_device) ORDER BY seq",
    )?
    .query_map([seq], |row| row.get(0))?
    .collect()
}

/// How many facts this book's own devices wrote.
pub(super) fn own_count(conn: &Connection) -> rusqlite::Result<i64> {
    conn.prepare_cached("SELECT count(*) FROM fact WHERE device IN (SELECT device FROM own_device)")?
        .query_row([], |row| row.get(0))
}

/// How many facts of each house this book's own devices wrote after `seq`.
pub(super) fn own_by_job(conn: &Connection, seq: i64) -> rusqlite::Result<Vec<(Uuid, i64)>> {
    // By the numbers of the rows: the few after the last exchange, not an index of all.
    let sql = "SELECT job, count(*) FROM fact NOT INDEXED
               WHERE seq > ?1 AND device IN (SELECT device FROM own_device) GROUP BY job";
    conn.prepare_cached(sql)?.query_map([seq], |row| Ok((Uuid::from_bytes(row.get(0)?), row.get(1)?)))?.collect()
}

/// All facts after `seq`, in order of arrival.
pub(super) fn all_after(conn: &Connection, seq: i64, limit: usize) -> rusqlite::Result<Vec<(i64, Fact)>> {
    conn.prepare_cached(&format!("{SELECT} WHERE seq > ?1 ORDER BY seq LIMIT ?2"))?
        .query_map(params![seq, i64::try_from(limit).unwrap_or(i64::MAX)], from_row)?
        .collect()
}

/// The state's key for the largest stamp that this book wrote itself, while the last row is another's.
const OWN_STAMP: &str = "own.stamp";
/// The start of the state's keys for houses that were erased.
const ERASED_HOUSE: &str = "erased.";

fn stamp(ms: i64, count: i64) -> Stamp {
    Stamp { ms: u64::try_from(ms).unwrap_or_default(), count: u32::try_from(count).unwrap_or_default() }
}

/// A pen that goes on after everything that this book wrote, and after what it took in as far as that lies at most a day
/// after its own clock, which says `now`: a stamp at the edge of time must not take every later one over it.
///
/// The largest stamp of all that was taken in is kept, so this is two look-ups; only where that lies too far ahead is the
/// largest below looked for among all facts, once for each time that one comes in.
pub(super) fn pen(conn: &Connection, now: u64) -> rusqlite::Result<Pen> {
    let (device, seen) = conn
        .prepare_cached("SELECT device, seen_ms, seen_count FROM book")?
        .query_row([], |row| Ok((row.get::<_, [u8; 16]>(0)?, stamp(row.get(1)?, row.get(2)?))))?;
    let own = own_last(conn)?;
    let reach = now.saturating_add(ADOPT_AHEAD_MS);
    let seen = if seen.ms <= reach {
        seen
    } else {
        let near = conn
            .prepare_cached("SELECT ms, count FROM fact WHERE ms <= ?1 ORDER BY ms DESC, count DESC LIMIT 1")?
            .query_row([i64::try_from(reach).unwrap_or(i64::MAX)], |row| Ok(stamp(row.get(0)?, row.get(1)?)))
            .optional()?
            .unwrap_or_default();
        saw(conn, near)?;
        near
    };
    Ok(Pen::new(Uuid::from_bytes(device), seen.max(own)))
}

/// The largest stamp that this book wrote.
fn own_last(conn: &Connection) -> rusqlite::Result<Stamp> {
    let kept = conn
        .prepare_cached("SELECT value FROM state WHERE key = ?1")?
        .query_row([OWN_STAMP], |row| row.get::<_, String>(0))
        .optional()?
        .and_then(|text| {
            let (ms, count) = text.split_once(' ')?;
            Some(Stamp { ms: ms.parse().ok()?, count: count.parse().ok()? })
        });
    let last = conn
        .prepare_cached(
            "SELECT ms, count, device IN (SELECT device FROM own_device) FROM fact ORDER BY seq DESC LIMIT 1",
        )?
        .query_row([], |row| Ok((stamp(row.get(0)?, row.get(1)?), row.get::<_, bool>(2)?)))
        .optional()?;
    Ok(match (last, kept) {
        (Some((last, true)), kept) => last.max(kept.unwrap_or_default()),
        (_, Some(kept)) => kept,
        (None, None) => Stamp::default(),
        // A book of an older program that took in something last.
        (Some((_, false)), None) => conn
            .prepare_cached(
                "SELECT ms, count FROM fact WHERE device IN (SELECT device FROM own_device) ORDER BY seq DESC LIMIT 1",
            )?
            .query_row([], |row| Ok(stamp(row.get(0)?, row.get(1)?)))
            .optional()?
            .unwrap_or_default(),
    })
}

/// Keeps the largest stamp that was seen, so that what is written from now on is later.
pub(super) fn saw(conn: &Connection, stamp: Stamp) -> rusqlite::Result<()> {
    let ms = i64::try_from(stamp.ms).unwrap_or(i64::MAX);
    conn.execute("UPDATE book SET seen_ms = ?1, seen_count = ?2", params![ms, stamp.count]).map(drop)
}

/// What a merge needs to know of the book, and what it leaves in it.
pub(super) struct Merging {
    own: BTreeSet<[u8; 16]>,
    own_stamp: Stamp,
    seen: Stamp,
    erased: BTreeSet<Uuid>,
}

impl Merging {
    pub(super) fn begin(conn: &Connection) -> rusqlite::Result<Self> {
        let own = conn
            .prepare_cached("SELECT device FROM own_device")?
            .query_map([], |row| row.get(0))?
            .collect::<rusqlite::Result<_>>()?;
        let seen =
            conn.query_row("SELECT seen_ms, seen_count FROM book", [], |row| Ok(stamp(row.get(0)?, row.get(1)?)))?;
        Ok(Self { own, own_stamp: own_last(conn)?, seen, erased: erased(conn)? })
    }

    /// True when this fact's house was erased, so that nothing of it is taken in any more.
    pub(super) fn is_gone(&self, fact: &Fact) -> bool {
        fact.kind == ERASED || (self.erased.contains(&fact.job) && fact.kind != HOUSE_ERASED)
    }

    pub(super) fn saw(&mut self, fact: &Fact) {
        self.seen = self.seen.max(fact.stamp);
        if self.own.contains(fact.device.as_bytes()) {
            self.own_stamp = self.own_stamp.max(fact.stamp);
        }
        if fact.kind == HOUSE_ERASED {
            self.erased.insert(fact.job);
        }
    }

    pub(super) fn end(&self, conn: &Connection) -> rusqlite::Result<()> {
        saw(conn, self.seen)?;
        let Stamp { ms, count } = self.own_stamp;
        keep(conn, OWN_STAMP, &format!("{ms} {count}"))
    }
}

/// The houses that were erased.
pub(super) fn erased(conn: &Connection) -> rusqlite::Result<BTreeSet<Uuid>> {
    let keys: Vec<String> = conn
        .prepare_cached("SELECT key FROM state WHERE key >= 'erased.' AND key < 'erased/'")?
        .query_map([], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    Ok(keys.iter().filter_map(|key| key.strip_prefix(ERASED_HOUSE)?.parse().ok()).collect())
}

/// Marks a house as erased.
pub(super) fn mark_erased(conn: &Connection, job: Uuid) -> rusqlite::Result<()> {
    keep(conn, &format!("{ERASED_HOUSE}{job}"), "")
}

/// Keeps small state with its sum.
fn keep(conn: &Connection, key: &str, value: &str) -> rusqlite::Result<()> {
    conn.prepare_cached("INSERT OR REPLACE INTO state (key, value, sum) VALUES (?1, ?2, ?3)")?
        .execute(params![key, value, sum_of(&[key, value])])
        .map(drop)
}

/// Takes everything out of a house's rows but that they were, and gives the photos that only this house named.
pub(super) fn erase(conn: &Connection, job: Uuid) -> rusqlite::Result<Vec<String>> {
    mark_erased(conn, job)?;
    let mut photos: BTreeSet<String> = BTreeSet::new();
    let rows: Vec<(i64, Fact)> = conn
        .prepare_cached(&format!("{SELECT} WHERE job = ?1"))?
        .query_map([job.into_bytes()], from_row)?
        .collect::<rusqlite::Result<_>>()?;
    for (seq, fact) in rows {
        if fact.kind == HOUSE_ERASED || fact.kind == ERASED {
            continue;
        }
        photos.extend(photo_of(&fact));
        if let Some(opening) =
            fact.body.get("opening").and_then(serde_json::Value::as_str).filter(|text| text.len() == 36)
        {
            // Half-typed digits are kept under a key that names their opening.
            conn.prepare_cached("DELETE FROM draft WHERE instr(key, ?1) > 0")?.execute([opening])?;
        }
        let left = Raw::of(&fact.erased());
        conn.prepare_cached("UPDATE fact SET who = ?2, kind = ?3, body = ?4, sum = ?5 WHERE seq = ?1")?
            .execute(params![seq, left.who, left.kind, left.body, left.sum()])?;
    }
    conn.prepare_cached("DELETE FROM draft WHERE instr(key, ?1) > 0")?.execute([job.to_string()])?;
    if photos.is_empty() {
        return Ok(Vec::new());
    }
    let mut others = conn.prepare("SELECT body FROM fact WHERE kind = 'photo_added'")?;
    let mut rows = others.query([])?;
    while let Some(row) = rows.next()? {
        let body: serde_json::Value = serde_json::from_str(&row.get::<_, String>(0)?).unwrap_or_default();
        if let Some(sha256) = photo_in(&body) {
            photos.remove(sha256);
        }
    }
    Ok(photos.into_iter().collect())
}

/// The photo that a fact adds.
pub(super) fn photo_of(fact: &Fact) -> Option<String> {
    if fact.kind == "photo_added" { photo_in(&fact.body).map(str::to_owned) } else { None }
}

fn photo_in(body: &serde_json::Value) -> Option<&str> {
    body.get("photo")?.get("sha256")?.as_str()
}

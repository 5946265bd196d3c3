//! The list of houses: a view over the log, stored so that it shows at once. It can be dropped at any time; what is
//! missing or behind is folded again.

use super::log;
use crate::fact::fold;
use chrono::{DateTime, Utc};
use rusqlite::{Connection, OptionalExtension, Row, TransactionBehavior, params};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The form of the view, raised whenever `fold` or the columns change what a line says. A view of another form is
/// dropped and made again; it never needs a migration.
const FORM: i64 = 1;

/// One house in the list.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct HouseLine {
    /// The house.
    pub job: Uuid,
    /// What it is called.
    pub name: String,
    /// How many rooms it has.
    pub rooms: u32,
    /// How many openings.
    pub openings: u32,
    /// How many readings stand (not withdrawn, not amended).
    pub readings: u32,
    /// How many fields two devices set apart.
    pub disagreements: u32,
    /// How many facts wait for something that has not arrived, or for a newer program.
    pub waiting: u32,
    /// When its latest fact was written, by its writer's clock.
    pub changed: DateTime<Utc>,
}

/// A line, or that there are facts but no opening yet.
type Known = (Uuid, Option<HouseLine>);

fn from_row(row: &Row<'_>) -> rusqlite::Result<Known> {
    let job = Uuid::from_bytes(row.get(0)?);
    let line = HouseLine {
        job,
        name: row.get(2)?,
        rooms: row.get(3)?,
        openings: row.get(4)?,
        readings: row.get(5)?,
        disagreements: row.get(6)?,
        waiting: row.get(7)?,
        changed: time(row.get(8)?),
    };
    Ok((job, row.get::<_, bool>(1)?.then_some(line)))
}

fn time(ms: i64) -> DateTime<Utc> {
    DateTime::from_timestamp_millis(ms).unwrap_or(DateTime::<Utc>::MAX_UTC)
}

/// All lines as the log stands, the latest change first.
pub(super) fn all(conn: &Connection) -> rusqlite::Result<Vec<HouseLine>> {
    let up_to = up_to(conn)?;
    let mut lines: BTreeMap<Uuid, Option<HouseLine>> = BTreeMap::new();
    if up_to > 0 {
        let sql = "SELECT job, shown, name, rooms, openings, readings, disagreements, waiting, ms FROM view_house";
        for known in conn.prepare_cached(sql)?.query_map([], from_row)? {
            let (job, line) = known?;
            lines.insert(job, line);
        }
    }
    let newest: i64 = conn.query_row("SELECT coalesce(max(seq), 0) FROM fact", [], |row| row.get(0))?;
    if newest > up_to {
        let fresh = behind(conn, up_to)?;
        // A view that cannot be stored (a full disk) is worked out again next time; the list is right all the same.
        let _ = store(conn, up_to == 0, newest, &fresh);
        lines.extend(fresh);
    }
    let mut lines: Vec<HouseLine> = lines.into_values().flatten().collect();
    lines.sort_by(|a, b| b.changed.cmp(&a.changed).then(a.job.cmp(&b.job)));
    Ok(lines)
}

/// The last fact that the stored view has in it; 0 when there is no view of this form.
fn up_to(conn: &Connection) -> rusqlite::Result<i64> {
    let sql = "SELECT count(*) FROM sqlite_schema WHERE name IN ('view_house', 'view_state')";
    if conn.query_row(sql, [], |row| row.get::<_, i64>(0))? < 2 {
        return Ok(0);
    }
    let found = conn.query_row("SELECT up_to FROM view_state WHERE form = ?1", [FORM], |row| row.get(0)).optional()?;
    Ok(found.unwrap_or(0))
}

/// Folds every house that has facts after `up_to`.
fn behind(conn: &Connection, up_to: i64) -> rusqlite::Result<Vec<Known>> {
    let jobs: Vec<[u8; 16]> = conn
        .prepare_cached("SELECT DISTINCT job FROM fact WHERE seq > ?1")?
        .query_map([up_to], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    jobs.into_iter()
        .map(|job| {
            let job = Uuid::from_bytes(job);
            let facts = log::of_job(conn, job)?;
            let last = facts.iter().map(|fact| fact.stamp.ms).max().unwrap_or_default();
            let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
            let line = fold(&facts).map(|house| HouseLine {
                job,
                rooms: count(house.job.rooms.len()),
                openings: count(house.job.openings().count()),
                readings: count(
                    house
                        .job
                        .openings()
                        .map(|(_, opening)| opening.readings.iter().filter(|reading| opening.stands(reading)).count())
                        .sum(),
                ),
                disagreements: count(house.job.disagreements.len()),
                waiting: count(house.waiting.len()),
                changed: time(i64::try_from(last).unwrap_or(i64::MAX)),
                name: house.job.name,
            });
            Ok((job, line))
        })
        .collect()
}

fn store(conn: &Connection, anew: bool, up_to: i64, lines: &[Known]) -> rusqlite::Result<()> {
    let tx = rusqlite::Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?;
    if anew {
        drop_all(&tx)?;
        tx.execute_batch(
            "CREATE TABLE view_house (
                job BLOB NOT NULL PRIMARY KEY,
                shown INTEGER NOT NULL,
                name TEXT NOT NULL DEFAULT '',
                rooms INTEGER NOT NULL DEFAULT 0,
                openings INTEGER NOT NULL DEFAULT 0,
                readings INTEGER NOT NULL DEFAULT 0,
                disagreements INTEGER NOT NULL DEFAULT 0,
                waiting INTEGER NOT NULL DEFAULT 0,
                ms INTEGER NOT NULL DEFAULT 0
            ) STRICT, WITHOUT ROWID;
            CREATE TABLE view_state (form INTEGER NOT NULL PRIMARY KEY, up_to INTEGER NOT NULL) STRICT;",
        )?;
    }
    for (job, line) in lines {
        match line {
            Some(line) => tx
                .prepare_cached("INSERT OR REPLACE INTO view_house VALUES (?1, 1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)")?
                .execute(params![
                    job.into_bytes(),
                    line.name,
                    line.rooms,
                    line.openings,
                    line.readings,
                    line.disagreements,
                    line.waiting,
                    line.changed.timestamp_millis()
                ])?,
            None => tx
                .prepare_cached("INSERT OR REPLACE INTO view_house (job, shown) VALUES (?1, 0)")?
                .execute([job.into_bytes()])?,
        };
    }
    tx.execute("INSERT OR REPLACE INTO view_state VALUES (?1, ?2)", [FORM, up_to])?;
    tx.commit()
}

/// Drops the stored view.
pub(super) fn drop_all(conn: &Connection) -> rusqlite::Result<()> {
    conn.execute_batch("DROP TABLE IF EXISTS view_house; DROP TABLE IF EXISTS view_state;")
}

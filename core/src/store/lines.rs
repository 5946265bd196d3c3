//! The list of houses: a view over the log, stored so that it shows at once. It can be dropped at any time; what is
//! missing, behind or not whole is folded again.

use super::log;
use super::tally::{self, Tally};
use crate::fact::fold;
use crate::house::Workroom;
use chrono::{DateTime, Utc};
use rusqlite::{Connection, Row, TransactionBehavior, params};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The form of the view, raised whenever `fold` or the columns change what a line says. A view of another form is
/// dropped and made again; it never needs a migration.
const FORM: i64 = 3;

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
    /// How many openings the workroom asks to be measured again.
    pub asked: u32,
    /// True when it was put away.
    pub away: bool,
    /// What else it is found by: its client's address, its rooms and openings.
    pub words: String,
    /// How many fields two devices set apart.
    pub disagreements: u32,
    /// How many facts wait for something that has not arrived, or for a newer program.
    pub waiting: u32,
    /// When its latest fact was written, by its writer's clock.
    pub changed: DateTime<Utc>,
}

/// A line, or that there are facts but no opening yet; and the facts that it was folded from.
#[derive(Clone)]
struct Known {
    job: Uuid,
    line: Option<HouseLine>,
    of: Tally,
}

impl Known {
    /// A sum over all that is stored of it: a flipped bit must not show another name.
    fn sum(&self) -> i64 {
        let line = self.line.as_ref().map_or_else(String::new, |line| {
            format!(
                "{}\u{0}{}\u{0}{}\u{0}{}\u{0}{}\u{0}{}\u{0}{}\u{0}{}\u{0}{}\u{0}{}",
                line.name,
                line.rooms,
                line.openings,
                line.readings,
                line.asked,
                line.away,
                line.words,
                line.disagreements,
                line.waiting,
                line.changed.timestamp_millis()
            )
        });
        log::sum_of(&[&self.job.to_string(), &self.of.facts.to_string(), &self.of.sums.to_string(), &line])
    }
}

/// A stored line, and whether its sum is right.
fn from_row(row: &Row<'_>) -> rusqlite::Result<(Known, bool)> {
    let job = Uuid::from_bytes(row.get(0)?);
    let line = HouseLine {
        job,
        name: row.get(2)?,
        rooms: row.get(3)?,
        openings: row.get(4)?,
        readings: row.get(5)?,
        asked: row.get(6)?,
        away: row.get(7)?,
        words: row.get(8)?,
        disagreements: row.get(9)?,
        waiting: row.get(10)?,
        changed: time(row.get(11)?),
    };
    let of = Tally { facts: row.get(12)?, sums: row.get(13)? };
    let known = Known { job, line: row.get::<_, bool>(1)?.then_some(line), of };
    let is_whole = row.get::<_, i64>(14)? == known.sum();
    Ok((known, is_whole))
}

fn time(ms: i64) -> DateTime<Utc> {
    DateTime::from_timestamp_millis(ms).unwrap_or(DateTime::<Utc>::MAX_UTC)
}

/// All lines as the log stands, the latest change first. A stored line counts only when its sum is right and it was
/// folded from just the facts that its house should hold.
pub(super) fn all(conn: &Connection) -> rusqlite::Result<Vec<HouseLine>> {
    let (is_there, known, fresh) = tally::at_once(conn, || {
        let is_there = is_there(conn)?;
        let stored = if is_there { stored(conn)? } else { BTreeMap::new() };
        let (mut known, mut fresh) = (Vec::new(), Vec::new());
        for (job, should) in tally::all(conn)? {
            match stored.get(&job) {
                Some((line, true)) if line.of == should => known.push(line.clone()),
                _ => fresh.push(folded(conn, job)?),
            }
        }
        Ok((is_there, known, fresh))
    })?;
    if !fresh.is_empty() {
        // A view that cannot be stored (a full disk) is worked out again next time; the list is right all the same.
        let _ = store(conn, !is_there, &fresh);
    }
    let mut lines: Vec<HouseLine> = known.into_iter().chain(fresh).filter_map(|known| known.line).collect();
    lines.sort_by(|a, b| b.changed.cmp(&a.changed).then(a.job.cmp(&b.job)));
    Ok(lines)
}

/// What is wrong with the stored lines, in words.
pub(super) fn faults(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut faults = Vec::new();
    if is_there(conn)? {
        let should = tally::all(conn)?;
        for (job, (known, is_whole)) in stored(conn)? {
            if !is_whole || !should.contains_key(&job) {
                faults.push(format!("the line of house {job} in the list of houses is not what was written"));
            } else if should.get(&job) == Some(&known.of) && folded(conn, job)?.line != known.line {
                faults.push(format!("the line of house {job} in the list of houses is not what its facts say"));
            }
        }
    }
    Ok(faults)
}

/// True when there is a stored view of this form.
fn is_there(conn: &Connection) -> rusqlite::Result<bool> {
    let sql = "SELECT count(*) FROM sqlite_schema WHERE name IN ('view_house', 'view_state')";
    if conn.query_row(sql, [], |row| row.get::<_, i64>(0))? < 2 {
        return Ok(false);
    }
    conn.query_row("SELECT count(*) FROM view_state WHERE form = ?1", [FORM], |row| row.get(0))
}

fn stored(conn: &Connection) -> rusqlite::Result<BTreeMap<Uuid, (Known, bool)>> {
    let sql = "SELECT job, shown, name, rooms, openings, readings, asked, away, words, disagreements, waiting, ms, facts, sums, sum FROM view_house";
    conn.prepare_cached(sql)?
        .query_map([], from_row)?
        .map(|row| row.map(|(known, is_whole)| (known.job, (known, is_whole))))
        .collect()
}

/// A house folded from its facts.
fn folded(conn: &Connection, job: Uuid) -> rusqlite::Result<Known> {
    let (facts, of) = tally::facts(conn, job)?;
    let last = facts.iter().map(|fact| fact.stamp.ms).max().unwrap_or_default();
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    // The workroom is no house.
    let line = fold(&facts).filter(|_| job != Workroom::ID).map(|house| HouseLine {
        job,
        rooms: count(house.job.rooms.len()),
        openings: count(house.job.openings().count()),
        readings: count(
            house
                .job
                .openings()
                // What several shades in one opening share was read once.
                .filter(|(_, opening)| house.job.is_first_in_the_wall(opening))
                .map(|(_, opening)| opening.readings.iter().filter(|reading| opening.stands(reading)).count())
                .sum(),
        ),
        asked: count(house.job.openings().filter(|(_, opening)| opening.is_asked()).count()),
        away: house.job.away,
        words: house.job.found_by(),
        disagreements: count(house.job.disagreements.len()),
        waiting: count(house.waiting.len()),
        changed: time(i64::try_from(last).unwrap_or(i64::MAX)),
        name: house.job.name,
    });
    Ok(Known { job, line, of })
}

fn store(conn: &Connection, anew: bool, lines: &[Known]) -> rusqlite::Result<()> {
    let tx = rusqlite::Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?;
    if anew {
        drop_all(&tx)?;
        tx.execute_batch(
            "CREATE TABLE view_house (
                job BLOB NOT NULL PRIMARY KEY,
                shown INTEGER NOT NULL,
                name TEXT NOT NULL,
                rooms INTEGER NOT NULL,
                openings INTEGER NOT NULL,
                readings INTEGER NOT NULL,
                asked INTEGER NOT NULL,
                away INTEGER NOT NULL,
                words TEXT NOT NULL,
                disagreements INTEGER NOT NULL,
                waiting INTEGER NOT NULL,
                ms INTEGER NOT NULL,
                facts INTEGER NOT NULL,
                sums INTEGER NOT NULL,
                sum INTEGER NOT NULL
            ) STRICT, WITHOUT ROWID;
            CREATE TABLE view_state (form INTEGER NOT NULL PRIMARY KEY, up_to INTEGER NOT NULL) STRICT;",
        )?;
        tx.execute("INSERT INTO view_state VALUES (?1, 0)", [FORM])?;
    }
    let none = |job| HouseLine {
        job,
        name: String::new(),
        rooms: 0,
        openings: 0,
        readings: 0,
        asked: 0,
        away: false,
        words: String::new(),
        disagreements: 0,
        waiting: 0,
        changed: time(0),
    };
    for known in lines {
        let line = known.line.clone().unwrap_or_else(|| none(known.job));
        tx.prepare_cached(
            "INSERT OR REPLACE INTO view_house VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)",
        )?
        .execute(params![
            known.job.into_bytes(),
            known.line.is_some(),
            line.name,
            line.rooms,
            line.openings,
            line.readings,
            line.asked,
            line.away,
            line.words,
            line.disagreements,
            line.waiting,
            line.changed.timestamp_millis(),
            known.of.facts,
            known.of.sums,
            known.sum()
        ])?;
    }
    tx.commit()
}

/// Drops the stored view.
pub(super) fn drop_all(conn: &Connection) -> rusqlite::Result<()> {
    conn.execute_batch("DROP TABLE IF EXISTS view_house; DROP TABLE IF EXISTS view_state;")
}

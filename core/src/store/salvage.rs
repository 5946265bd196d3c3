//! Saving what can be read of a damaged book.
//!
//! The facts are only ever added and each carries its sum, so they can be looked for in the raw pages of the file and of
//! the log beside it, without SQLite and without an intact tree: whatever has the form and the sum of a fact is
//! one. They go into a new book under `.rebuilt`; only when that is whole on the disk is the old one moved aside
//! to `.damaged-N` and the new one put in its place. Nothing is deleted. A cut at any point leaves the old book
//! in place, or an exchange that the next opening ends ([`finish`]).

use super::files::{Files, beside};
use super::log::Raw;
use super::{StoreProblem, schema};
use crate::fact::HOUSE_ERASED;
use rusqlite::{Connection, OpenFlags};
use std::collections::{BTreeSet, HashMap};
use std::fs::{self, File};
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

/// What was saved.
#[derive(Debug)]
pub(super) struct Saved {
    pub(super) aside: PathBuf,
    pub(super) kept: u64,
    pub(super) missing: u64,
}

/// Saves what can be read of the book at `path` into a new one in its place. `device` is the new book's own id.
pub(super) fn salvage(path: &Path, files: &Files, device: uuid::Uuid) -> Result<Saved, StoreProblem> {
    let rebuilt = beside(path, ".rebuilt");
    // Half a rebuilt book from an earlier attempt is this program's own and holds nothing that the old one lacks.
    for tail in ["", "-wal", "-shm", "-journal"] {
        let left = beside(&rebuilt, tail);
        files.remove(&left).map_err(|error| StoreProblem::file(&left, "removing a half-made copy", &error))?;
    }
    begin(&rebuilt, files)?;
    let (kept, missing) = rebuild(path, &rebuilt, device)?;
    let fails = |error: &io::Error| StoreProblem::file(path, "exchanging the damaged book", error);
    File::open(&rebuilt).and_then(|file| files.sync(&file, &rebuilt)).map_err(|error| fails(&error))?;
    let aside = aside(path, free(path));
    files.rename(path, &aside).map_err(|error| fails(&error))?;
    finish(path, files)?;
    Ok(Saved { aside, kept, missing })
}

/// Makes an empty file for a new book, which only its owner may read: SQLite gives what it makes beside it the same
/// permissions. One that is there is left as it is.
pub(super) fn begin(path: &Path, files: &Files) -> Result<(), StoreProblem> {
    if fs::symlink_metadata(path).is_ok() {
        return Ok(());
    }
    match files.create_secret(path, b"") {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => {
            Err(StoreProblem::file(path, "making the book", &error))
        }
        _ => Ok(()),
    }
}

/// Ends an exchange that was cut short: the old book is aside, the new one is not yet in its place. Also moves a log
/// whose book is gone aside, for SQLite would delete it.
pub(super) fn finish(path: &Path, files: &Files) -> Result<(), StoreProblem> {
    if path.exists() {
        return Ok(());
    }
    let fails = |error: &io::Error| StoreProblem::file(path, "exchanging the damaged book", error);
    let (wal, rebuilt) = (beside(path, "-wal"), beside(path, ".rebuilt"));
    if fs::metadata(&wal).is_ok_and(|there| there.len() > 0) {
        // In an exchange it belongs to the book that was moved aside last.
        let free = free(path);
        let last = aside(path, free.saturating_sub(1));
        let of =
            if rebuilt.exists() && last.exists() && !beside(&last, "-wal").exists() { last } else { aside(path, free) };
        files.rename(&wal, &beside(&of, "-wal")).map_err(|error| fails(&error))?;
    }
    files.remove(&beside(path, "-shm")).map_err(|error| fails(&error))?;
    if rebuilt.exists() {
        files.rename(&rebuilt, path).map_err(|error| fails(&error))?;
    }
    Ok(())
}

/// Where a damaged book goes.
fn aside(path: &Path, n: u32) -> PathBuf {
    beside(path, &format!(".damaged-{n}"))
}

/// The first number that no damaged book has.
fn free(path: &Path) -> u32 {
    let mut n = 1;
    while aside(path, n).exists() || beside(&aside(path, n), "-wal").exists() {
        n += 1;
    }
    n
}

fn rebuild(path: &Path, rebuilt: &Path, device: uuid::Uuid) -> Result<(u64, u64), StoreProblem> {
    let sqlite = |error: &rusqlite::Error| StoreProblem::sqlite(rebuilt, "saving what can be read", error);
    let mut conn = Connection::open(rebuilt).map_err(|error| sqlite(&error))?;
    schema::upgrade(&mut conn).map_err(|error| sqlite(&error))?;
    let small = small_tables(path);
    let tx = conn.transaction().map_err(|error| sqlite(&error))?;
    let (mut kept, mut largest, mut spoilt, mut writers) = (0_u64, 0_i64, BTreeSet::new(), BTreeSet::new());
    let mut fault = Ok(());
    let read = each_fact(path, &mut |seq, found| {
        let Some(raw) = found else {
            spoilt.insert(seq);
            return true;
        };
        match raw.insert(&tx, "OR IGNORE") {
            Ok(added) => kept += added as u64,
            Err(error) => fault = Err(error),
        }
        if raw.kind == HOUSE_ERASED
            && let Err(error) = super::log::mark_erased(&tx, uuid::Uuid::from_bytes(raw.job))
        {
            fault = Err(error);
        }
        largest = largest.max(seq);
        writers.insert(raw.device);
        fault.is_ok()
    });
    fault.map_err(|error| sqlite(&error))?;
    read.map_err(|error| StoreProblem::file(path, "reading the damaged book", &error))?;
    let put = || -> rusqlite::Result<()> {
        let stamp = "SELECT ms, count FROM fact ORDER BY ms DESC, count DESC LIMIT 1";
        tx.execute(
            &format!(
                "INSERT INTO book (one, device, seen_ms, seen_count)
                 SELECT 1, ?1, coalesce(max(ms), 0), coalesce(max(count), 0) FROM ({stamp})"
            ),
            [device.into_bytes()],
        )?;
        // Who wrote what is here is not certain any more: all of it is sent again, which harms nothing.
        for writer in writers.iter().chain([device.as_bytes()]) {
            tx.execute("INSERT OR IGNORE INTO own_device VALUES (?1)", [writer])?;
        }
        for (table, key, value) in &small {
            super::put(&tx, table, key, Some(value))?;
        }
        Ok(())
    };
    put().map_err(|error| sqlite(&error))?;
    tx.commit().map_err(|error| sqlite(&error))?;
    conn.close().map_err(|(_, error)| sqlite(&error))?;
    // Rows were numbered from 1 without a gap, so the largest number tells how many there were at least; rows after
    // it that have the form of a fact and not its sum were facts too.
    let there = u64::try_from(largest).unwrap_or_default();
    let after = spoilt.into_iter().filter(|seq| *seq > largest).count() as u64;
    Ok((kept, there.saturating_sub(kept) + after))
}

/// Half-typed digits and small state, as far as SQLite can still read them. What was sent is left out: row numbers
/// change, so everything counts as not sent.
fn small_tables(path: &Path) -> Vec<(&'static str, String, String)> {
    let mut found = Vec::new();
    // SQLite would delete the log of an empty file, also when it only reads.
    if fs::metadata(path).map_or(0, |there| there.len()) == 0 {
        return found;
    }
    let Ok(conn) = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY) else { return found };
    for table in ["draft", "state"] {
        // An older book has no sums there.
        let columns = ["key, value, sum", "key, value, NULL"];
        let select = columns.iter().find_map(|these| conn.prepare(&format!("SELECT {these} FROM {table}")).ok());
        let Some(mut select) = select else { continue };
        let Ok(rows) = select.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))) else { continue };
        let rows = rows.map_while(|row: rusqlite::Result<(String, String, Option<i64>)>| row.ok());
        let whole = rows.filter(|(key, value, sum)| sum.is_none_or(|sum| sum == super::tally::value_sum(key, value)));
        let kept = whole.filter(|(key, _, _)| !key.starts_with(super::SENT));
        found.extend(kept.map(|(key, value, _)| (table, key, value)));
    }
    found
}

/// A place in the files where a page starts.
#[derive(Clone, Copy)]
enum At {
    Book(u64),
    Log(u64),
}

struct Pages {
    size: usize,
    book: File,
    log: Option<File>,
    /// The last copy of each page in the log.
    newest: HashMap<u32, u64>,
}

impl Pages {
    fn read(&mut self, at: At) -> io::Result<Vec<u8>> {
        let (file, offset) = match (at, &mut self.log) {
            (At::Log(offset), Some(log)) => (log, offset),
            (At::Book(offset) | At::Log(offset), _) => (&mut self.book, offset),
        };
        file.seek(SeekFrom::Start(offset))?;
        let mut page = Vec::with_capacity(self.size);
        file.take(self.size as u64).read_to_end(&mut page)?;
        page.resize(self.size, 0);
        Ok(page)
    }

    /// A page by its number: as the log has it, or as the book has it.
    fn by_number(&mut self, number: u32, from_log: bool) -> io::Result<Vec<u8>> {
        let in_book = At::Book(u64::from(number.saturating_sub(1)) * self.size as u64);
        let at = if from_log { self.newest.get(&number).map_or(in_book, |offset| At::Log(*offset)) } else { in_book };
        self.read(at)
    }
}

/// Hands every fact that can be found to `take` with its row number, the same one perhaps more than once, and `None` for
/// a row that has a fact's form but not its sum. Stops when `take` says no.
///
/// The form of the file is SQLite's published one (sqlite.org/fileformat2.html, sections 1.5, 1.6, 2.1 and 4.1).
fn each_fact(path: &Path, take: &mut dyn FnMut(i64, Option<&Raw>) -> bool) -> io::Result<()> {
    let mut book = File::open(path)?;
    let length = book.seek(SeekFrom::End(0))?;
    book.seek(SeekFrom::Start(0))?;
    let mut head = [0; 18];
    let size = match book.read_exact(&mut head) {
        Ok(()) if head.starts_with(b"SQLite format 3\0") => {
            page_size(u32::from(u16::from_be_bytes([head[16], head[17]])))
        }
        _ => None,
    };
    // A book is made with SQLite's default of 4096; a header that cannot be read changes nothing of that.
    let size = size.unwrap_or(4096);
    let mut at: Vec<At> = (0..length.div_ceil(size as u64)).map(|n| At::Book(n * size as u64)).collect();
    let mut newest = HashMap::new();
    let mut log = File::open(beside(path, "-wal")).ok();
    if let Some(log) = &mut log {
        let length = log.seek(SeekFrom::End(0))?;
        let frame = 24 + size as u64;
        for n in 0..length.saturating_sub(32).div_ceil(frame) {
            let offset = 32 + n * frame;
            let mut number = [0; 4];
            log.seek(SeekFrom::Start(offset))?;
            if log.read_exact(&mut number).is_ok() {
                newest.insert(u32::from_be_bytes(number), offset + 24);
                at.push(At::Log(offset + 24));
            }
        }
    }
    let mut pages = Pages { size, book, log, newest };
    for at in at {
        // A sector that cannot be read costs its page, not the rest.
        let Ok(page) = pages.read(at) else { continue };
        let start = if matches!(at, At::Book(0)) { 100 } else { 0 };
        if page[start] != 13 {
            continue;
        }
        let cells = usize::from(u16::from_be_bytes([page[start + 3], page[start + 4]]));
        for cell in 0..cells {
            let pointer = start + 8 + 2 * cell;
            let Some(&[high, low]) = page.get(pointer..pointer + 2).and_then(|two| two.first_chunk()) else { break };
            let from = usize::from(u16::from_be_bytes([high, low]));
            // What spilled over may have its newest copy in the log or, when the log is an old one, in the book.
            for from_log in [true, false] {
                let Some((seq, payload)) = payload(&mut pages, &page, from, from_log) else { continue };
                let Some((raw, is_whole)) = record(&payload) else { break };
                if !take(seq, is_whole.then_some(&raw)) {
                    return Ok(());
                }
                if is_whole {
                    break;
                }
            }
        }
    }
    Ok(())
}

fn page_size(said: u32) -> Option<usize> {
    match said {
        1 => Some(65536),
        512..=32768 if said.is_power_of_two() => usize::try_from(said).ok(),
        _ => None,
    }
}

/// A variable-length integer and how many bytes it took.
fn varint(bytes: &[u8]) -> Option<(u64, usize)> {
    let mut value = 0_u64;
    for (i, byte) in bytes.iter().take(9).enumerate() {
        if i == 8 {
            return Some(((value << 8) | u64::from(*byte), 9));
        }
        value = (value << 7) | u64::from(byte & 0x7F);
        if byte & 0x80 == 0 {
            return Some((value, i + 1));
        }
    }
    None
}

/// The row number and payload of a cell of a table leaf, with what spilled over to other pages.
fn payload(pages: &mut Pages, page: &[u8], from: usize, from_log: bool) -> Option<(i64, Vec<u8>)> {
    let cell = page.get(from..)?;
    let (length, a) = varint(cell)?;
    let (seq, b) = varint(&cell[a..])?;
    let body = &cell[a + b..];
    let length = usize::try_from(length).ok().filter(|length| *length < 1 << 30)?;
    let usable = pages.size;
    let local = if length <= usable - 35 {
        length
    } else {
        let least = (usable - 12) * 32 / 255 - 23;
        let most = least + (length - least) % (usable - 4);
        if most <= usable - 35 { most } else { least }
    };
    let mut payload = body.get(..local)?.to_vec();
    let mut next = if local < length { u32::from_be_bytes(*body.get(local..)?.first_chunk()?) } else { 0 };
    while payload.len() < length {
        if next == 0 {
            return None;
        }
        let more = pages.by_number(next, from_log).ok()?;
        next = u32::from_be_bytes(*more.first_chunk()?);
        let want = (length - payload.len()).min(usable - 4);
        payload.extend_from_slice(&more[4..4 + want]);
    }
    Some((i64::from_ne_bytes(seq.to_ne_bytes()), payload))
}

/// A record's value, of the kinds that a fact's row has.
enum Value<'a> {
    None,
    Int(i64),
    Blob(&'a [u8]),
    Text(&'a [u8]),
}

fn values(payload: &[u8]) -> Option<Vec<Value<'_>>> {
    let (head, mut at) = varint(payload)?;
    let head = usize::try_from(head).ok()?;
    let mut data = payload.get(head..)?;
    let mut out = Vec::new();
    while at < head {
        let (kind, used) = varint(payload.get(at..head)?)?;
        at += used;
        let size = match kind {
            0 | 8 | 9 => 0,
            1..=4 => usize::try_from(kind).ok()?,
            5 => 6,
            6 => 8,
            12.. => usize::try_from((kind - 12) / 2).ok()?,
            _ => return None,
        };
        let (bytes, rest) = data.split_at_checked(size)?;
        data = rest;
        out.push(match kind {
            0 => Value::None,
            8 => Value::Int(0),
            9 => Value::Int(1),
            1..=6 => {
                let sign = if bytes[0] & 0x80 == 0 { 0 } else { -1 };
                Value::Int(bytes.iter().fold(sign, |value, byte| (value << 8) | i64::from(*byte)))
            }
            _ if kind % 2 == 0 => Value::Blob(bytes),
            _ => Value::Text(bytes),
        });
    }
    Some(out)
}

/// A fact's row, if this has the form of one, and whether its sum is right.
fn record(payload: &[u8]) -> Option<(Raw, bool)> {
    let values = values(payload)?;
    // Later minor versions may have columns after these.
    let [
        Value::None,
        Value::Blob(id),
        Value::Blob(device),
        Value::Int(ms),
        Value::Int(count),
        Value::Blob(job),
        texts @ ..,
    ] = values.as_slice()
    else {
        return None;
    };
    let [Value::Text(who), Value::Text(unit), Value::Text(kind), Value::Text(body), Value::Int(sum), ..] = texts else {
        return None;
    };
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).ok();
    let raw = Raw {
        id: (*id).try_into().ok()?,
        device: (*device).try_into().ok()?,
        ms: *ms,
        count: *count,
        job: (*job).try_into().ok()?,
        who: text(who)?,
        unit: text(unit)?,
        kind: text(kind)?,
        body: text(body)?,
    };
    let is_whole = raw.sum() == *sum && raw.fact().is_ok();
    Some((raw, is_whole))
}

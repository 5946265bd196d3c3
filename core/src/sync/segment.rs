//! Segments: a run of one device's facts as one immutable file. JSON lines, compressed (zstd), encrypted (age).
//!
//! A segment is believed whole or not at all: its bytes must hash to what its name says, decrypt with the firm's
//! key, and hold exactly the facts that its name and first line say. `docs/exchange-format.md` is the format.

use super::key::{FirmKey, OpenProblem};
use super::name::{Hash, SegmentName};
use crate::fact::{Fact, LAST_MS};
use serde::{Deserialize, Serialize};
use std::io::{self, BufRead, BufReader, Read};
use uuid::Uuid;

/// The version that is written, and the newest that is read.
pub const VERSION: u32 = 1;
/// The most bytes of a stored segment.
pub const MOST_STORED: u64 = 4 << 20;
/// The most bytes a segment decompresses to: what a reader must be ready to hold.
pub const MOST_PLAIN: u64 = 16 << 20;
/// The most facts in a segment.
pub const MOST_FACTS: usize = 20_000;
/// A writer closes a segment once it holds this many bytes of lines, so that a reader's memory stays small.
const FULL_PLAIN: usize = 2 << 20;
pub use crate::fact::MOST_FACT;
/// A reader's window of zstd is at most two to this power; level 19 makes no larger one. A window is memory that the
/// first bytes of a file ask for.
const WINDOW_LOG: u32 = 23;

/// What a segment holds.
#[derive(Clone, PartialEq, Debug)]
pub struct Segment {
    /// The device that brings it.
    pub device: Uuid,
    /// The number of its first fact in the device's order of writing, from 1.
    pub first: u64,
    /// Hashes of earlier segments of the same device whose facts are all in here too.
    pub replaces: Vec<Hash>,
    /// The facts, in the device's order of writing.
    pub facts: Vec<Fact>,
}

#[derive(Serialize, Deserialize)]
struct Header {
    hangtrue_segment: u32,
    device: Uuid,
    first: u64,
    last: u64,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    replaces: Vec<String>,
}

#[derive(Deserialize)]
struct JustVersion {
    hangtrue_segment: u32,
}

/// Gathers facts into a segment until it is full.
#[derive(Debug)]
pub struct Writer {
    device: Uuid,
    first: u64,
    count: u64,
    lines: Vec<u8>,
}

impl Writer {
    /// A segment of `device` that begins with its fact number `first`.
    pub const fn new(device: Uuid, first: u64) -> Self {
        Self { device, first, count: 0, lines: Vec::new() }
    }

    /// Adds the next fact; false when the segment is full and the fact was not taken.
    ///
    /// # Errors
    /// [`FactTooLong`] for a fact that no segment can carry.
    pub fn add(&mut self, fact: &Fact) -> Result<bool, FactTooLong> {
        let line = serde_json::to_vec(fact).expect("a fact has text keys only, so it always becomes JSON");
        if line.len() > MOST_FACT {
            return Err(FactTooLong { fact: fact.id, bytes: line.len() });
        }
        let full = self.count >= MOST_FACTS as u64 || self.lines.len() + line.len() > FULL_PLAIN;
        if full && self.count > 0 {
            return Ok(false);
        }
        self.lines.extend_from_slice(&line);
        self.lines.push(b'\n');
        self.count += 1;
        Ok(true)
    }

    /// The number of facts so far.
    pub const fn count(&self) -> u64 {
        self.count
    }

    /// The numbers of its first and last fact; the last is one less than the first when there is none.
    pub const fn range(&self) -> (u64, u64) {
        (self.first, self.first + self.count - 1)
    }

    /// The stored bytes and their name; `None` when there is no fact.
    pub fn finish(self, replaces: &[Hash], key: &FirmKey) -> Option<(SegmentName, Vec<u8>)> {
        let last = self.first + self.count.checked_sub(1)?;
        let header = Header {
            hangtrue_segment: VERSION,
            device: self.device,
            first: self.first,
            last,
            replaces: replaces.iter().map(Hash::to_string).collect(),
        };
        let mut plain = serde_json::to_vec(&header).expect("a header has text keys only");
        plain.push(b'\n');
        plain.extend_from_slice(&self.lines);
        // A day's house is small and goes over the air: squeeze it. A big one comes once, from a desk.
        let level = if plain.len() < 1 << 18 { 19 } else { 7 };
        let packed = zstd::encode_all(&plain[..], level).expect("memory takes every write, so zstd cannot fail");
        let stored = key.seal(&packed);
        Some((SegmentName { device: self.device, first: self.first, last, hash: Hash::of(&stored) }, stored))
    }
}

/// A fact that is too long for any segment.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("fact {fact} is {bytes} bytes long; at most {MOST_FACT} can be exchanged")]
pub struct FactTooLong {
    /// The fact.
    pub fact: Uuid,
    /// Its length as a line.
    pub bytes: usize,
}

/// Why a segment is not believed. Each has a code that never changes, for other readers of the format.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum SegmentProblem {
    /// The stored file is too large.
    #[error("it has {bytes} bytes; a segment has at most {MOST_STORED}")]
    TooLarge {
        /// Its size.
        bytes: u64,
    },
    /// The bytes are not those the name speaks of.
    #[error("its bytes hash to {found}, not to what its name says: it was changed or cut off on the way")]
    Damaged {
        /// What they hash to.
        found: Hash,
    },
    /// It does not open.
    #[error("{0}")]
    Open(#[from] OpenProblem),
    /// It does not decompress.
    #[error("it does not decompress as zstd: {0}")]
    NotZstd(String),
    /// It decompresses to too much.
    #[error("it decompresses to more than {MOST_PLAIN} bytes")]
    PlainTooLarge,
    /// The first line does not fit.
    #[error("line 1: {0}; it would be {{\"hangtrue_segment\":1,\"device\":…,\"first\":…,\"last\":…}}")]
    Header(String),
    /// Written by a newer version.
    #[error("it is of version {0}, this program reads up to {VERSION}: a newer Hangtrue is needed; it is left alone")]
    Newer(u32),
    /// The first line says other than the name.
    #[error("line 1 says {said}, the name says otherwise")]
    OtherName {
        /// What line 1 says.
        said: String,
    },
    /// Not as many facts as it says.
    #[error("it should hold {said} facts and holds {found}")]
    Count {
        /// As its name says.
        said: u64,
        /// As there are.
        found: u64,
    },
    /// A line that is no fact.
    #[error("line {line}: {what}")]
    Fact {
        /// Which line, from 1.
        line: u64,
        /// What is wrong with it.
        what: String,
    },
}

impl SegmentProblem {
    /// Every code.
    pub const CODES: [&'static str; 12] = [
        "too_large",
        "damaged",
        "not_age",
        "not_ours",
        "does_not_decrypt",
        "not_zstd",
        "plain_too_large",
        "header",
        "newer",
        "other_name",
        "fact",
        "count",
    ];

    /// Its code, the same in every reader of the format.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::TooLarge { .. } => "too_large",
            Self::Damaged { .. } => "damaged",
            Self::Open(OpenProblem::NotAge(_)) => "not_age",
            Self::Open(OpenProblem::NotOurs) => "not_ours",
            Self::Open(OpenProblem::Damaged) => "does_not_decrypt",
            Self::Open(OpenProblem::TooLong(_)) | Self::PlainTooLarge => "plain_too_large",
            Self::NotZstd(_) => "not_zstd",
            Self::Header(_) => "header",
            Self::Newer(_) => "newer",
            Self::OtherName { .. } => "other_name",
            Self::Count { .. } => "count",
            Self::Fact { .. } => "fact",
        }
    }

    /// True when the bytes suffered on the way, so that asking for them again can help.
    pub const fn asks_again(&self) -> bool {
        matches!(self, Self::TooLarge { .. } | Self::Damaged { .. })
    }
}

/// A stored segment that was looked at as a whole and found sound. Its facts are read from it one by one, so that
/// what it unfolds to never lies in memory.
#[derive(Clone, Debug)]
pub struct Sound {
    /// Hashes that it says it replaces: to be believed only of segments of the same device with a range inside its own.
    pub replaces: Vec<Hash>,
    packed: Vec<u8>,
}

impl Sound {
    /// Its facts, in the device's order.
    pub fn facts(&self) -> impl Iterator<Item = Fact> + '_ {
        let mut lines = decoder(&self.packed).ok().map(BufReader::new);
        let mut line = Vec::new();
        let mut first = true;
        std::iter::from_fn(move || {
            let lines = lines.as_mut()?;
            loop {
                line.clear();
                // It was read to its end once, so it can be read again; a fact's line is no longer than was checked.
                lines.read_until(b'\n', &mut line).ok()?;
                if !std::mem::take(&mut first) {
                    return serde_json::from_slice(&line).ok();
                }
            }
        })
    }
}

/// Opens and checks a stored segment, and gives all of it at once. For a segment from outside use [`check`].
///
/// # Errors
/// [`SegmentProblem`]; nothing of it is to be believed then.
pub fn open(name: &SegmentName, stored: &[u8], key: &FirmKey) -> Result<Segment, SegmentProblem> {
    let sound = check(name, stored, key)?;
    let facts = sound.facts().collect();
    Ok(Segment { device: name.device, first: name.first, replaces: sound.replaces, facts })
}

/// Opens and checks a stored segment.
///
/// # Errors
/// [`SegmentProblem`]; nothing of it is to be believed then.
pub fn check(name: &SegmentName, stored: &[u8], key: &FirmKey) -> Result<Sound, SegmentProblem> {
    if stored.len() as u64 > MOST_STORED {
        return Err(SegmentProblem::TooLarge { bytes: stored.len() as u64 });
    }
    let found = Hash::of(stored);
    if found != name.hash {
        return Err(SegmentProblem::Damaged { found });
    }
    let packed = key.open(stored, MOST_STORED)?;
    let not_zstd = |error: &io::Error| SegmentProblem::NotZstd(error.to_string());
    let decoder = decoder(&packed).map_err(|error| not_zstd(&error))?;
    let mut lines = BufReader::new(Counted { inner: decoder, count: 0, failed: None });
    let header = read_lines(name, &mut lines, &mut |_| {});
    // What the whole is made of is told before what its lines say, so it is read to its end first.
    let drained = io::copy(&mut lines, &mut io::sink());
    let Counted { inner, count, failed } = lines.into_inner();
    drop(inner);
    if count > MOST_PLAIN {
        return Err(SegmentProblem::PlainTooLarge);
    }
    if let Some(error) = failed.or_else(|| drained.err().map(|error| error.to_string())) {
        return Err(SegmentProblem::NotZstd(error));
    }
    Ok(Sound { replaces: header?, packed })
}

fn decoder(packed: &[u8]) -> io::Result<zstd::Decoder<'_, &[u8]>> {
    let mut decoder = zstd::Decoder::with_buffer(packed)?;
    decoder.window_log_max(WINDOW_LOG)?;
    Ok(decoder)
}

/// Counts what is read, ends it one byte beyond the most that may come, and remembers what went wrong below.
struct Counted<R> {
    inner: R,
    count: u64,
    failed: Option<String>,
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.count > MOST_PLAIN || self.failed.is_some() {
            return Ok(0);
        }
        match self.inner.read(buffer) {
            Ok(read) => {
                self.count += read as u64;
                Ok(read)
            }
            Err(error) if error.kind() == io::ErrorKind::Interrupted => Err(error),
            Err(error) => {
                self.failed = Some(error.to_string());
                Ok(0)
            }
        }
    }
}

/// Reads the decompressed lines of a segment. Open to the fuzzer, which cannot guess what age will accept.
///
/// # Errors
/// [`SegmentProblem`], as [`open`].
pub fn read_plain(name: &SegmentName, plain: &[u8]) -> Result<Segment, SegmentProblem> {
    let mut facts = Vec::new();
    let replaces = read_lines(name, &mut &plain[..], &mut |fact| facts.push(fact))?;
    Ok(Segment { device: name.device, first: name.first, replaces, facts })
}

/// Hands every fact of the lines to `each`, and gives what line 1 says it replaces. Of what it gives nothing is to be
/// believed unless it ends well.
fn read_lines(
    name: &SegmentName,
    lines: &mut dyn BufRead,
    each: &mut dyn FnMut(Fact),
) -> Result<Vec<Hash>, SegmentProblem> {
    let mut line = Vec::new();
    // One more than may be and its newline: a line that has not ended then is too long.
    let mut next = |line: &mut Vec<u8>| {
        line.clear();
        let most = MOST_FACT as u64 + 2;
        let _ = (&mut *lines).take(most).read_until(b'\n', line);
        let ended = line.last() == Some(&b'\n');
        if ended {
            line.pop();
        }
        ended
    };
    let mut ended = next(&mut line);
    if line.len() > MOST_FACT {
        return Err(SegmentProblem::Header(format!("it is longer than {MOST_FACT} bytes")));
    }
    // The version first, alone: a newer version's header may have any other form.
    let JustVersion { hangtrue_segment } =
        serde_json::from_slice(&line).map_err(|error| SegmentProblem::Header(error.to_string()))?;
    if hangtrue_segment > VERSION {
        return Err(SegmentProblem::Newer(hangtrue_segment));
    }
    let header: Header = serde_json::from_slice(&line).map_err(|error| SegmentProblem::Header(error.to_string()))?;
    if hangtrue_segment == 0 {
        return Err(SegmentProblem::Header("there is no version 0".to_owned()));
    }
    if (header.device, header.first, header.last) != (name.device, name.first, name.last) {
        let said = format!("device {}, facts {} to {}", header.device, header.first, header.last);
        return Err(SegmentProblem::OtherName { said });
    }
    let replaces = header
        .replaces
        .iter()
        .map(|hash| hash.parse())
        .collect::<Result<_, _>>()
        .map_err(|error: super::name::NameProblem| SegmentProblem::Header(error.to_string()))?;
    let said = name.last - name.first + 1;
    let mut found = 0;
    for number in 2.. {
        let before = ended;
        ended = next(&mut line);
        let fact = |what: String| SegmentProblem::Fact { line: number, what };
        if line.is_empty() && !ended {
            // What follows the last newline is nothing.
            ended = before;
            break;
        }
        if line.is_empty() {
            return Err(fact("an empty line".to_owned()));
        }
        if found >= said || found >= MOST_FACTS as u64 {
            return Err(SegmentProblem::Count { said, found: found + 1 });
        }
        if line.len() > MOST_FACT {
            return Err(fact(format!("it is longer than {MOST_FACT} bytes")));
        }
        let read: Fact = serde_json::from_slice(&line).map_err(|error| fact(error.to_string()))?;
        if read.stamp.ms > LAST_MS {
            return Err(fact(format!("its stamp {} ms lies beyond the year 9999", read.stamp.ms)));
        }
        each(read);
        found += 1;
    }
    if found != said || !ended {
        return Err(SegmentProblem::Count { said, found });
    }
    Ok(replaces)
}

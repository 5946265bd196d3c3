//! The log of facts: everything that happened to a house, append-only. A correction is a new fact that names the
//! old one; what a screen shows is a fold over the log ([`fold`]), the same for any order of arrival.
//!
//! There is no clock and no chance in here: whoever writes hands in a [`Moment`].

mod body;
mod changes;
mod fold;
pub mod placed;

pub use body::{Body, BodyProblem};
pub use changes::changes;
pub use fold::{House, Removed, fold};

use crate::length::LengthUnit;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// The last millisecond of the year 9999, the last that RFC 3339 can write: the one bound of stamps, for whoever writes and
/// for every reader.
pub const LAST_MS: u64 = 253_402_300_799_999;
/// A fact is at most this many bytes as a line of JSON: the one limit, where a fact is written down and for every reader.
/// Ten thousand times a reading, a hundred pages of a remark.
pub const MOST_FACT: usize = 1 << 20;
/// A stamp that lies further ahead of a device's own clock is taken like any other, but does not move that clock: one
/// device that is wrong by years drags nobody along. A day is more than time zones and sleepy clocks make.
pub const ADOPT_AHEAD_MS: u64 = 86_400_000;
/// The kind of what is left of a fact of a house that was erased.
pub const ERASED: &str = "erased";
/// The kind of the fact that erases a house.
pub const HOUSE_ERASED: &str = "house_erased";

/// A hybrid logical clock's reading: the wall clock in milliseconds, never going back, and a count within one.
/// Later facts of one device have larger stamps, and so has every fact written after another was seen.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default, Serialize, Deserialize)]
pub struct Stamp {
    /// Milliseconds since 1970, as far as the device knew.
    pub ms: u64,
    /// Order within the millisecond.
    pub count: u32,
}

/// What the outside hands in for one new fact: the time, and ten bytes of chance.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    /// Milliseconds since 1970.
    pub ms: u64,
    /// Ten random bytes.
    pub random: [u8; 10],
}

impl Moment {
    /// A UUIDv7 (RFC 9562) of this moment.
    pub fn uuid(&self) -> Uuid {
        uuid_v7(self.ms, &self.random)
    }

    /// The time of this moment.
    pub fn time(&self) -> chrono::DateTime<chrono::Utc> {
        let ms = i64::try_from(self.ms).unwrap_or(i64::MAX);
        chrono::DateTime::from_timestamp_millis(ms).unwrap_or(chrono::DateTime::<chrono::Utc>::MAX_UTC)
    }
}

fn uuid_v7(ms: u64, random: &[u8; 10]) -> Uuid {
    uuid::Builder::from_unix_timestamp_millis(ms, random).into_uuid()
}

/// One fact. Never changed, never removed.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Fact {
    /// Its own id, a UUIDv7.
    pub id: Uuid,
    /// The device that wrote it.
    pub device: Uuid,
    /// When, by the device's hybrid logical clock.
    pub stamp: Stamp,
    /// The house it belongs to.
    pub job: Uuid,
    /// Who held the device.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// The unit that bare lengths in the body are in.
    pub unit: LengthUnit,
    /// What kind of fact it is; kinds that this version does not know are kept and passed on.
    pub kind: String,
    /// What it says; its form depends on the kind. A name that stands twice in it is refused, as one of the fact itself.
    #[serde(deserialize_with = "crate::json::once")]
    pub body: serde_json::Value,
}

impl Fact {
    /// The order in which facts are folded: by stamp, then device, then id. Total, and the same everywhere.
    pub const fn order(&self) -> (Stamp, Uuid, Uuid) {
        (self.stamp, self.device, self.id)
    }

    /// The number of bytes of its line.
    pub fn line_bytes(&self) -> usize {
        serde_json::to_vec(self).map_or(usize::MAX, |line| line.len())
    }

    /// What may be kept of it once its house is erased: that it was.
    #[must_use]
    pub fn erased(&self) -> Self {
        Self { by: String::new(), kind: ERASED.to_owned(), body: serde_json::Value::Null, ..self.clone() }
    }

    /// What the fact says.
    ///
    /// # Errors
    /// [`BodyProblem::UnknownKind`] for a newer version's kind, [`BodyProblem::Form`] for a body that does not fit.
    pub fn read(&self) -> Result<Body, BodyProblem> {
        Body::read(&self.kind, &self.body, self.unit)
    }
}

/// Writes the facts of one device: its id, and its clock.
#[derive(Clone, Debug)]
pub struct Pen {
    device: Uuid,
    last: Stamp,
}

impl Pen {
    /// A pen for `device` whose newest known stamp (its own or seen from another) is `last`.
    pub const fn new(device: Uuid, last: Stamp) -> Self {
        Self { device, last }
    }

    /// The device it writes for.
    pub const fn device(&self) -> Uuid {
        self.device
    }

    /// The newest stamp it has written or seen.
    pub const fn last(&self) -> Stamp {
        self.last
    }

    /// Takes note of another device's stamp: what is written from now on is later.
    pub fn saw(&mut self, stamp: Stamp) {
        self.last = self.last.max(stamp);
    }

    /// Writes one fact. Bare lengths in `body` are in `unit`.
    pub fn write(&mut self, moment: Moment, job: Uuid, by: &str, unit: LengthUnit, body: &Body) -> Fact {
        let now = moment.ms.min(LAST_MS);
        self.last = if now > self.last.ms {
            Stamp { ms: now, count: 0 }
        } else {
            match self.last.count.checked_add(1) {
                Some(count) => Stamp { ms: self.last.ms, count },
                None if self.last.ms < LAST_MS => Stamp { ms: self.last.ms + 1, count: 0 },
                // The last stamp of all: it stands still, and what is equal goes by device and id.
                None => self.last,
            }
        };
        Fact {
            id: moment.uuid(),
            device: self.device,
            stamp: self.last,
            job,
            by: by.to_owned(),
            unit,
            kind: body.kind().to_owned(),
            body: body.write(unit),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_never_go_back_though_the_clock_does() {
        let mut pen = Pen::new(Uuid::nil(), Stamp::default());
        let mut written = Vec::new();
        for ms in [50, 50, 40, 60, 10] {
            let body = Body::RoomRemoved { room: Uuid::nil() };
            written.push(pen.write(Moment { ms, random: [0; 10] }, Uuid::nil(), "", LengthUnit::Inch, &body).stamp);
        }
        assert!(written.windows(2).all(|pair| pair[0] < pair[1]), "{written:?}");
        pen.saw(Stamp { ms: 1000, count: 3 });
        let body = Body::RoomRemoved { room: Uuid::nil() };
        let next = pen.write(Moment { ms: 70, random: [0; 10] }, Uuid::nil(), "", LengthUnit::Inch, &body);
        assert_eq!(next.stamp, Stamp { ms: 1000, count: 4 });
    }

    #[test]
    fn a_name_that_stands_twice_anywhere_in_a_fact_is_refused() {
        let fact = Pen::new(Uuid::nil(), Stamp::default()).write(
            Moment { ms: 1, random: [0; 10] },
            Uuid::nil(),
            "",
            LengthUnit::Inch,
            &Body::RoomRemoved { room: Uuid::nil() },
        );
        let line = serde_json::to_string(&fact).unwrap();
        assert_eq!(serde_json::from_str::<Fact>(&line).unwrap(), fact);
        for (once, twice) in [("\"room\":", "\"room\":1,\"room\":"), ("\"kind\":", "\"kind\":\"set\",\"kind\":")] {
            let doubled = line.replacen(once, twice, 1);
            assert_ne!(doubled, line);
            serde_json::from_str::<Fact>(&doubled).unwrap_err();
        }
    }

    /// RFC 9562 appendix A.6: unix_ts_ms 017F22E279B0, rand_a CC3, rand_b 18C4DC0C0C07398F.
    #[test]
    fn uuid_v7_is_the_example_of_rfc_9562_appendix_a_6() {
        let random = [0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F];
        assert_eq!(uuid_v7(0x017F_22E2_79B0, &random).to_string(), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
    }
}

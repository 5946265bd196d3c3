//! Ten years of a firm's facts, as its phones would write them: for measuring merges, here and beside other libraries.

use hangtrue_core::fact::{Body, Fact, Moment, Pen, Stamp};
use hangtrue_core::house::Reading;
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::sync::{FirmKey, Hash, ObjectName, SegmentName, Transport, TransportProblem, segment};
use hangtrue_core::truth::INSIDE_NEEDS;
use uuid::Uuid;

/// The firm has this many phones.
pub const DEVICES: u64 = 5;
/// A day's house: 12 openings in 3 rooms.
pub const FACTS_A_HOUSE: u64 = 300;
const OPENINGS: u64 = 12;
/// From one fact to the next on the same phone: 20 s.
const APART_MS: u64 = 20_000;

/// The facts of one phone, in its order of writing; the same for the same numbers.
#[derive(Debug)]
pub struct Phone {
    pen: Pen,
    number: u64,
    written: u64,
    total: u64,
    chance: u64,
    job: Uuid,
    openings: Vec<Uuid>,
    rooms: Vec<Uuid>,
}

impl Phone {
    /// Phone `number` of the firm, which writes its part of `total` facts.
    pub fn new(number: u64, total: u64) -> Self {
        let share = total / DEVICES + u64::from(number < total % DEVICES);
        Self {
            pen: Pen::new(Uuid::from_u128(0x51 << 64 | u128::from(number)), Stamp::default()),
            number,
            written: 0,
            total: share,
            chance: number + 1,
            job: Uuid::nil(),
            openings: Vec::new(),
            rooms: Vec::new(),
        }
    }

    /// The device that writes.
    pub const fn device(&self) -> Uuid {
        self.pen.device()
    }

    /// xorshift64 (Marsaglia 2003), below `n`.
    fn below(&mut self, n: u64) -> u64 {
        self.chance ^= self.chance << 13;
        self.chance ^= self.chance >> 7;
        self.chance ^= self.chance << 17;
        self.chance % n
    }

    fn moment(&mut self) -> Moment {
        let mut random = [0; 10];
        random[..8].copy_from_slice(&self.below(u64::MAX).to_be_bytes());
        random[8..].copy_from_slice(&self.below(1 << 16).to_be_bytes()[6..]);
        Moment { ms: 1_700_000_000_000 + self.written * APART_MS + self.number * 1000, random }
    }

    fn body(&mut self, moment: Moment) -> Body {
        let at = self.written % FACTS_A_HOUSE;
        if at == 0 {
            self.job = moment.uuid();
            (self.openings, self.rooms) = (Vec::new(), Vec::new());
            let name = format!("{} Larch Lane {}", self.written / FACTS_A_HOUSE + 1, self.number);
            return Body::HouseOpened { name, unit: LengthUnit::Inch };
        }
        if at <= 3 {
            self.rooms.push(moment.uuid());
            return Body::RoomAdded { room: moment.uuid(), name: format!("Room {at}") };
        }
        if at < 4 + OPENINGS {
            let room = self.rooms[usize::try_from(at % 3).expect("below 3")];
            self.openings.push(moment.uuid());
            return Body::OpeningAdded { opening: moment.uuid(), room, name: format!("Window {}", at - 3) };
        }
        let opening = self.openings[usize::try_from(at % OPENINGS).expect("below 12")];
        if at < 4 + 3 * OPENINGS {
            let (field, value) = match self.below(3) {
                0 => ("choices.mount", "inside"),
                1 => ("choices.mount", "outside"),
                _ => ("choices.control", "left"),
            };
            return Body::Set { on: opening, field: field.to_owned(), value: value.into(), replaces: Vec::new() };
        }
        let place = INSIDE_NEEDS[usize::try_from(at / OPENINGS % 8).expect("below 8")];
        let typed = format!("{} {}/16", 24 + self.below(48), 1 + 2 * self.below(8));
        let reading = Reading {
            id: moment.uuid(),
            place,
            typed: Typed::read(&typed, LengthUnit::Inch).expect("whole inches and sixteenths are a length"),
            at: moment.time(),
            by: "Ida".to_owned(),
            with: "blue tape".to_owned(),
            amends: None,
            answers: None,
            withdrawn: None,
        };
        Body::ReadingTaken { opening, reading }
    }
}

impl Iterator for Phone {
    type Item = Fact;

    fn next(&mut self) -> Option<Fact> {
        if self.written == self.total {
            return None;
        }
        let moment = self.moment();
        let body = self.body(moment);
        self.written += 1;
        Some(self.pen.write(moment, self.job, "Ida", LengthUnit::Inch, &body))
    }
}

/// Brings `total` facts of the firm's phones to a place in segments, as a sync of each would. Gives how many segments
/// there are, and how many bytes they have.
///
/// # Errors
/// [`TransportProblem`] of the place.
pub fn bring(total: u64, key: &FirmKey, place: &mut dyn Transport) -> Result<(u64, u64), TransportProblem> {
    let mut sizes = (0, 0);
    for number in 0..DEVICES {
        let phone = Phone::new(number, total);
        let device = phone.device();
        let mut put = |written: Option<(SegmentName, Vec<u8>)>| -> Result<(), TransportProblem> {
            let Some((name, bytes)) = written else { return Ok(()) };
            let holds = place.put(&ObjectName::Segment(name), &bytes)?;
            assert_eq!(holds, Hash::of(&bytes), "the place holds what was put");
            sizes.0 += 1;
            sizes.1 += bytes.len() as u64;
            Ok(())
        };
        let mut writer = segment::Writer::new(device, 1);
        for (fact, n) in phone.zip(1..) {
            if !writer.add(&fact).expect("these facts are short") {
                let full = std::mem::replace(&mut writer, segment::Writer::new(device, n));
                put(full.finish(&[], key))?;
                assert!(writer.add(&fact).expect("these facts are short"), "an empty segment takes a fact");
            }
        }
        put(writer.finish(&[], key))?;
    }
    Ok(sizes)
}

/// The most memory that this process had, in kB, as Linux says it; `None` elsewhere.
pub fn most_memory_kb() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix(" kB")?.trim().parse().ok()
}

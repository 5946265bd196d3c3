//! Several shades in one opening: side by side, or one before another. Each is an opening of its own in the house, with its
//! own choices; what was read and what is around is that of the one opening in the wall.

use super::{Job, Opening, Reading, Skip};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Which of several shades in one opening, as seen from the room.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// The left one of two side by side.
    LeftOfTwo,
    /// The right one of two.
    RightOfTwo,
    /// The left one of three.
    LeftOfThree,
    /// The centre one of three.
    CentreOfThree,
    /// The right one of three.
    RightOfThree,
    /// The one behind, nearer to the glass.
    Behind,
    /// The one before it, nearer to the room.
    InFront,
}

impl Part {
    /// Which from the left, from 0, and of how many; nothing for one before another, which is as wide as the opening gives.
    pub const fn beside(self) -> Option<(i64, i64)> {
        match self {
            Self::LeftOfTwo => Some((0, 2)),
            Self::RightOfTwo => Some((1, 2)),
            Self::LeftOfThree => Some((0, 3)),
            Self::CentreOfThree => Some((1, 3)),
            Self::RightOfThree => Some((2, 3)),
            Self::Behind | Self::InFront => None,
        }
    }

    /// As a person reads it: "the left one of two".
    pub const fn words(self) -> &'static str {
        match self {
            Self::LeftOfTwo => "the left one of two",
            Self::RightOfTwo => "the right one of two",
            Self::LeftOfThree => "the left one of three",
            Self::CentreOfThree => "the centre one of three",
            Self::RightOfThree => "the right one of three",
            Self::Behind => "the one behind",
            Self::InFront => "the one in front",
        }
    }

    /// What it adds to the opening's name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::LeftOfTwo | Self::LeftOfThree => "left",
            Self::RightOfTwo | Self::RightOfThree => "right",
            Self::CentreOfThree => "centre",
            Self::Behind => "behind",
            Self::InFront => "in front",
        }
    }
}

/// That an opening is one of several shades in one opening of the wall.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shares {
    /// The opening that was measured as it: the first of them, which names itself.
    pub of: Uuid,
    /// Which of them it is.
    pub part: Part,
}

impl Opening {
    /// The opening in the wall that it is in: the same for all shades that share one.
    pub fn in_the_wall(&self) -> Uuid {
        self.shares.map_or(self.id, |shares| shares.of)
    }
}

impl Job {
    /// True for an opening that is alone in the wall, and for the first of those that share one: what was read there is
    /// counted once.
    pub fn is_first_in_the_wall(&self, opening: &Opening) -> bool {
        opening.shares.is_none_or(|shares| {
            let first = self.openings().find(|(_, one)| one.in_the_wall() == shares.of);
            first.is_none_or(|(_, first)| first.id == opening.id)
        })
    }
}

/// Gives every opening that shares one all that was read there, in whichever of them it was written, and what is around the
/// first of them. Done twice it is as done once.
pub fn spread(job: &mut Job) {
    let mut walls: Vec<Uuid> = job.openings().filter_map(|(_, one)| Some(one.shares?.of)).collect();
    walls.sort_unstable();
    walls.dedup();
    for wall in walls {
        let mut mine: Vec<&mut Opening> =
            job.rooms.iter_mut().flat_map(|room| &mut room.openings).filter(|one| one.in_the_wall() == wall).collect();
        if mine.len() < 2 {
            continue;
        }
        let mut readings: Vec<Reading> = Vec::new();
        let mut skipped: Vec<Skip> = Vec::new();
        for one in &mine {
            for reading in &one.readings {
                match readings.iter_mut().find(|other| other.id == reading.id) {
                    Some(other) if other.withdrawn.is_none() => other.withdrawn.clone_from(&reading.withdrawn),
                    Some(_) => {}
                    None => readings.push(reading.clone()),
                }
            }
            skipped.extend(one.skipped.iter().filter(|skip| !skipped.contains(skip)).cloned().collect::<Vec<_>>());
        }
        readings.sort_by_key(|reading| (reading.at, reading.id));
        // Of two that leave out one place the later counts.
        skipped.sort_by_key(|skip| (skip.at, skip.place));
        let last = |skip: &Skip| skipped.iter().rfind(|other| other.place == skip.place) == Some(skip);
        let skipped: Vec<Skip> = skipped.iter().filter(|skip| last(skip)).cloned().collect();
        let first = mine.iter().map(|one| one.id).min();
        let says = |one: &&&mut Opening| one.id == wall;
        let around = mine.iter().find(says).or_else(|| mine.iter().find(|one| Some(one.id) == first));
        let around = around.map(|one| one.wall.clone()).unwrap_or_default();
        for one in &mut mine {
            one.readings.clone_from(&readings);
            one.skipped.clone_from(&skipped);
            one.wall.clone_from(&around);
        }
    }
}

/// The other way: what was read in an opening that several share stands once, in the first of them, as a job file has it.
pub fn gather(job: &mut Job) {
    let mut seen: Vec<Uuid> = Vec::new();
    for one in job.rooms.iter_mut().flat_map(|room| &mut room.openings) {
        let Some(shares) = one.shares else { continue };
        if seen.contains(&shares.of) {
            one.readings.clear();
            one.skipped.clear();
        } else {
            seen.push(shares.of);
        }
    }
}

//! What is carried to the houses of a day: the bag of each shade, bits and drivers, what reaches up to it, and who else is
//! needed. Each line says which openings ask for it.
//!
//! Only what is settled is hung, so only that is packed for. What nobody probed yet is packed for both ways.

mod bag;

pub use bag::{InBag, NoBag, bag};

use crate::care::Topic;
use crate::fixing::Job as For;
use crate::flag::sentence;
use crate::house::{Backing, Below, Opening, Place};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::mount::Catalogue;
use crate::stand::Cause;
use crate::work::{Worked, WorkedHouse};

/// One line to tick.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// What is taken along.
    pub what: String,
    /// Which openings ask for it, or why it is taken; empty where all do.
    pub why: Vec<String>,
}

/// The bag of one shade.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Bag {
    /// The house, the room and the opening, and which of shades alike.
    pub of: String,
    /// What is in it.
    pub things: Vec<InBag>,
}

/// A bit, and how far it has to reach.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Bit {
    /// Its size.
    pub size: Length,
    /// It drills this deep at least, up to the tape.
    pub reach: Length,
    /// Which openings ask for it.
    pub why: Vec<String>,
}

/// All of it.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Kit {
    /// The bags, in the order of the houses and of the walk.
    pub bags: Vec<Bag>,
    /// The bits, the thinnest first.
    pub bits: Vec<Bit>,
    /// Tools and what is used up.
    pub tools: Vec<Line>,
    /// Ladders, and who else lifts.
    pub reach: Vec<Line>,
    /// What is not known, and so is taken both ways.
    pub both: Vec<Line>,
    /// What is not packed for, and why.
    pub left_out: Vec<String>,
    /// What to mind, each once.
    pub mind: Vec<String>,
}

/// Lines in the order in which they were first asked for; each opening once.
#[derive(Default)]
struct Lines(Vec<Line>);

impl Lines {
    fn add(&mut self, what: impl Into<String>, why: &str) {
        let what = what.into();
        let at = self.0.iter().position(|line| line.what == what).unwrap_or_else(|| {
            self.0.push(Line { what, why: Vec::new() });
            self.0.len() - 1
        });
        if !self.0[at].why.iter().any(|there| there == why) {
            self.0[at].why.push(why.to_owned());
        }
    }
}

/// The kit for these houses. Lengths are written in `unit`.
pub fn kit(houses: &[&WorkedHouse<'_>], unit: LengthUnit) -> Kit {
    let mut all = Kit::default();
    let (mut tools, mut reach, mut both) = (Lines::default(), Lines::default(), Lines::default());
    let several = houses.len() > 1;
    let mut highest: Option<(Length, String)> = None;
    for house in houses {
        let catalogue = Catalogue::standard(house.job.unit).with(&house.job.hardware);
        for one in &house.openings {
            let name = format!("{}, {}", one.room.name, one.opening.name);
            let name = if several { format!("{}: {name}", house.job.name) } else { name };
            if !one.standing.is_settled() {
                all.left_out.push(sentence(&format!("{name}: {}", one.stand().words())));
                continue;
            }
            match bag(one, unit) {
                Err(why) => all.left_out.push(sentence(&format!("{name}: {why}"))),
                Ok(things) => {
                    let count = one.opening.choices.count.get();
                    for n in 1..=count {
                        let of = if count == 1 { name.clone() } else { format!("{name}, {n} of {count}") };
                        all.bags.push(Bag { of, things: things.clone() });
                    }
                    drilled(one, &name, unit, &mut all.bits, &mut tools);
                }
            }
            lifted(house, one, &name, &mut reach);
            match board_height(one) {
                Some(height) if highest.as_ref().is_none_or(|(most, _)| *most < height) => {
                    highest = Some((height, name.clone()));
                }
                Some(_) => {}
                None => {
                    both.add(
                        "Two ladders or a taller one: the height of the board above the floor is not known",
                        &name,
                    );
                }
            }
            if one.opening.wall.below == Below::Stairs {
                reach.add("A platform made for stairs: no ladder stands on them", &name);
            }
            not_probed(one, &name, &catalogue, &mut both);
            for caution in one.shade.iter().flat_map(|shade| &shade.care) {
                let minded = matches!(caution.topic, Topic::Ladder | Topic::Drilling | Topic::OldPaint);
                let said = caution.short();
                if minded && !all.mind.contains(&said) {
                    all.mind.push(said);
                }
            }
        }
    }
    all.bits.sort_by_key(|bit| bit.size);
    if !all.bags.is_empty() {
        for what in [
            "Tape, pencil, awl, level",
            "Finder for studs, cables and pipes",
            "Drill and driver, charged",
            "Scrap wood to drill into, packing for gaps",
            "Dust sheets and a vacuum cleaner",
        ] {
            tools.0.push(Line { what: what.to_owned(), why: Vec::new() });
        }
    }
    if let Some((height, name)) = highest {
        let up = height.round(Grain::of_tape(unit), Direction::Up).show_marked(unit);
        reach.0.insert(
            0,
            Line {
                what: format!("A ladder for a board {up} above the floor, worked at without its top two steps"),
                why: vec![name],
            },
        );
    }
    all.tools = tools.0;
    all.reach = reach.0;
    all.both = both.0;
    all
}

/// Bits, drivers and spare screws of one shade.
fn drilled(one: &Worked<'_>, name: &str, unit: LengthUnit, bits: &mut Vec<Bit>, tools: &mut Lines) {
    let Some(fixing) = one.shade.as_ref().and_then(|shade| shade.fixing.as_ref()) else { return };
    let mut bit = |size: Length, reach: Length| {
        if size <= Length::ZERO {
            return;
        }
        let reach = reach.round(Grain::of_tape(unit), Direction::Up);
        match bits.iter_mut().find(|there| there.size == size) {
            Some(there) => {
                there.reach = there.reach.max(reach);
                if there.why.iter().all(|why| why != name) {
                    there.why.push(name.to_owned());
                }
            }
            None => bits.push(Bit { size, reach, why: vec![name.to_owned()] }),
        }
    };
    for screw in &fixing.screws {
        bit(screw.through, screw.passes);
        if screw.job != For::IntoAnchor {
            bit(screw.lead, screw.passes + screw.bites);
        }
        tools.add(format!("Driver bit that fits {} screws", screw.screw), name);
        tools.add(format!("Spare {} screws, {}", screw.screw, screw.length.show_marked(unit)), name);
    }
    if let Some(anchor) = &fixing.anchor {
        let own = fixing.screws.iter().filter(|screw| screw.job == For::IntoAnchor);
        bit(anchor.hole, own.map(|screw| screw.length).max().unwrap_or(anchor.passes));
        tools.add(format!("Spare {}", anchor.anchor), name);
    }
    if backing(one) == Backing::Masonry {
        tools.add("Hammer drill, and its bits for masonry", name);
    }
    if one.opening.wall.tiled {
        tools.add("Tile bit and masking tape", name);
    }
}

/// What the shade is fixed to, by how it is mounted.
fn backing(one: &Worked<'_>) -> Backing {
    use crate::mount::Form;
    let wall = &one.opening.wall;
    match one.mounts.advised().map(|mounting| mounting.form) {
        Some(Form::Inside) => wall.head,
        Some(Form::OutsideCeiling) => wall.ceiling,
        _ => wall.above,
    }
}

/// What nobody probed is packed for both ways.
fn not_probed(one: &Worked<'_>, name: &str, catalogue: &Catalogue, both: &mut Lines) {
    if one.standing.holds.iter().all(|reason| reason.cause != Cause::Wall) {
        return;
    }
    both.add("Not probed yet: screws for wood and anchors, bring both", name);
    for (backing, words) in [(Backing::Plasterboard, "behind a board"), (Backing::Masonry, "in masonry")] {
        if let Some(anchor) = catalogue.anchors.iter().find(|anchor| anchor.backing == backing) {
            both.add(format!("Anchors for where there is no wood, {words}: {}", anchor.name), name);
        }
    }
}

/// Whether one person lifts it.
fn lifted(house: &WorkedHouse<'_>, one: &Worked<'_>, name: &str, reach: &mut Lines) {
    let long =
        one.mounts.advised().is_some_and(|mounting| mounting.board_length.total > house.settings.two_people_from);
    let made = one.shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok());
    #[allow(clippy::cast_precision_loss, reason = "a weight is an estimate")]
    let heavy = made.is_some_and(|made| made.weight.total > house.settings.two_people_g as f64);
    for (is, why) in [(long, "long"), (heavy, "heavy")] {
        if is {
            reach.add("A second person", &format!("{name} ({why})"));
        }
    }
}

/// How far the top of the board stands above the floor.
fn board_height(one: &Worked<'_>) -> Option<Length> {
    let floor = sill_to_floor(one.opening)?;
    Some(floor + one.mounts.advised()?.above_sill)
}

fn sill_to_floor(opening: &Opening) -> Option<Length> {
    opening.standing(Place::SillToFloor).last().map(crate::house::Reading::value)
}

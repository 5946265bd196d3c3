//! Where there is no more of a cloth and what is at hand is too short: what is tried, in order, what each gains, and then
//! the largest shade that it would make.
//!
//! The order is common practice, no source: first what nobody sees, then what makes the shade weaker, then a smaller shade.

use super::{WorkedHouse, house_with};
use crate::buying::Shop;
use crate::house::{ClothDirection, Job};
use crate::length::{Direction, Grain, Length, Typed};
use crate::mount::Catalogue;
use crate::settings::Settings;
use uuid::Uuid;

/// One thing that is tried, on top of those before it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ShortStep {
    /// What: "The board covered in lining".
    pub what: &'static str,
    /// How much less cloth is missing by it.
    pub gains: Length,
    /// What is missing still; nothing where it is enough.
    pub missing: Length,
}

/// How short a cloth is, and what helps.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Short {
    /// The cloth.
    pub cloth: String,
    /// What is missing as the house stands.
    pub missing: Length,
    /// What was tried, in order, up to the first that is enough.
    pub steps: Vec<ShortStep>,
    /// Where nothing was enough: each opening's longest shade out of what is at hand, made alone with all that was tried, at
    /// its width; nothing where none can be made.
    pub largest: Vec<(Uuid, String, Option<Length>)>,
}

/// The cloths of a house of which no more is to be had and too little is at hand.
pub fn short(house: &WorkedHouse<'_>, catalogue: &Catalogue, shop: &Shop) -> Vec<Short> {
    let job = house.job;
    let named = |name: &str| job.openings().any(|(_, one)| one.choices.cloth.as_deref() == Some(name));
    job.all_cloths()
        .filter(|cloth| cloth.no_more && named(&cloth.name))
        .filter_map(|cloth| one(job, &cloth.name, &house.settings, catalogue, shop))
        .collect()
}

/// What is missing of a cloth when a house is made by these numbers: what would have to be bought, before a shop rounds.
fn missing(job: &Job, cloth: &str, settings: &Settings, catalogue: &Catalogue, shop: &Shop) -> Option<Length> {
    let house = house_with(job, settings, catalogue);
    let list = super::buying(&house, shop);
    let planned = list.cloths.iter().find(|planned| planned.bolt.name == cloth)?;
    // What a shop would spare for the pattern is of no use where nothing is bought.
    Some(planned.plan.used)
}

fn one(job: &Job, cloth: &str, settings: &Settings, catalogue: &Catalogue, shop: &Shop) -> Option<Short> {
    let first = missing(job, cloth, settings, catalogue, shop).filter(|missing| *missing > Length::ZERO)?;
    let mut settings = settings.clone();
    let mut job = job.clone();
    let mut steps = Vec::new();
    let mut left = first;
    for what in STEPS {
        match what {
            SPARE => settings.spare_repeats = 0,
            COVER => settings.board_cover_in_lining = 1,
            TURNINGS => settings.side_turning = settings.side_turning_least.min(settings.side_turning),
            HEM => {
                // Half shows as the pocket, half is turned in: the bar must still go in.
                let least = (settings.bar_height + settings.bar_thickness + settings.pocket_ease) * 2;
                settings.bottom_turning = settings.bottom_turning.min(least);
            }
            _ => turned(&mut job, cloth),
        }
        let Some(now) = missing(&job, cloth, &settings, catalogue, shop) else { break };
        steps.push(ShortStep { what, gains: (left - now).max(Length::ZERO), missing: now });
        left = now;
        if now == Length::ZERO {
            return Some(Short { cloth: cloth.to_owned(), missing: first, steps, largest: Vec::new() });
        }
    }
    let largest = largest(&job, cloth, &settings, catalogue, shop);
    Some(Short { cloth: cloth.to_owned(), missing: first, steps, largest })
}

const SPARE: &str = "No repeat to spare";
const COVER: &str = "The board covered in lining";
const TURNINGS: &str = "Side turnings at their least";
const HEM: &str = "The hem at its least: just deep enough for the bar";
const SEAMS: &str = "Seams elsewhere: the cloth turned a quarter, if it has no up and down";
const STEPS: [&str; 5] = [SPARE, COVER, TURNINGS, HEM, SEAMS];

/// A plain cloth may be turned; a pattern has its own way up.
fn turned(job: &mut Job, cloth: &str) {
    let all = job.cloths.iter_mut().chain(&mut job.workroom.cloths);
    for one in all.filter(|one| one.name == cloth && one.repeat.is_none() && one.repeat_across.is_none()) {
        one.direction = ClothDirection::AnyWay;
    }
}

/// The longest shade of each opening alone that what is at hand makes.
fn largest(
    job: &Job,
    cloth: &str,
    settings: &Settings,
    catalogue: &Catalogue,
    shop: &Shop,
) -> Vec<(Uuid, String, Option<Length>)> {
    let step = Grain::of_tape(job.unit).step();
    let openings = job.openings().filter(|(_, one)| one.choices.cloth.as_deref() == Some(cloth));
    let found = openings.map(|(room, opening)| {
        let alone = |length: Option<Length>| {
            let mut job = job.clone();
            for room in &mut job.rooms {
                room.openings.retain(|one| one.id == opening.id);
            }
            if let Some(length) = length {
                for one in job.rooms.iter_mut().flat_map(|room| &mut room.openings) {
                    one.choices.finished_length = Some(Typed::exact(length, job.unit));
                    one.choices.folds = None;
                    one.choices.head = None;
                }
            }
            job
        };
        let wanted = alone(None);
        let house = house_with(&wanted, settings, catalogue);
        let most = house.openings.first().and_then(|one| one.mounts.advised()).map(|mounting| mounting.length.total);
        let fits = |length: Length| {
            let job = alone(Some(length));
            let house = house_with(&job, settings, catalogue);
            let list = super::buying(&house, shop);
            list.cloths.iter().any(|planned| planned.bolt.name == cloth && planned.plan.used == Length::ZERO)
        };
        let longest = most.and_then(|most| {
            let (mut low, mut high) = (0, most.round(Grain::of_tape(job.unit), Direction::Down).count_down(step)?);
            if fits(step * high) {
                return Some(step * high);
            }
            // What is too short to fold is not made either: the search is between one that fits and one that does not.
            let least = settings.fold_least * 3;
            low = low.max(least.count_up(step)?);
            if low >= high || !fits(step * low) {
                return None;
            }
            while high - low > 1 {
                let middle = i64::midpoint(low, high);
                if fits(step * middle) { low = middle } else { high = middle }
            }
            Some(step * low)
        });
        (opening.id, format!("{}, {}", room.name, opening.name), longest)
    });
    found.collect()
}

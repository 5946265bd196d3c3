//! Openings added many at once or like another, what is given from one to others, and what was taken out of a house.

use super::choose::fields_of;
use super::reading::touch;
use super::screen::{ChoiceGroup, Touch};
use super::{Change, Event};
use crate::fact::{Body, House, changes};
use crate::house::{Choices, Job, Opening, Room, ShadeCount};
use uuid::Uuid;

/// What openings are called where several are added at once, and what one of them is called.
const PLURALS: [(&str, &str); 4] =
    [("windows", "Window"), ("openings", "Opening"), ("doors", "Door"), ("sashes", "Sash")];

/// Openings added at once, at most.
const MOST_AT_ONCE: u32 = 20;

/// The windows of a bay, left to right as seen from the room.
const BAY: [&str; 3] = ["Left window", "Centre window", "Right window"];
/// What is typed or touched for them.
pub(super) const BAY_WORDS: &str = "Bay of three";

/// The names of the openings that these words add to a room: "5 windows" five, "Bay of three" its three, else the one.
pub(super) fn names(words: &str, room: &Room) -> Vec<String> {
    let mut used: Vec<String> = room.openings.iter().map(|opening| opening.name.clone()).collect();
    let mut all = Vec::new();
    let wanted: Vec<&str> = if words == BAY_WORDS {
        BAY.to_vec()
    } else {
        let several = words.split_once(' ').and_then(|(count, kind)| {
            let one = PLURALS.iter().find(|(many, _)| kind.trim().eq_ignore_ascii_case(many))?.1;
            Some((count.parse::<u32>().ok().filter(|n| (2..=MOST_AT_ONCE).contains(n))?, one))
        });
        let Some((count, one)) = several else { return vec![words.to_owned()] };
        vec![one; usize::try_from(count).unwrap_or(1)]
    };
    for name in wanted {
        let name = unused(name, &used);
        used.push(name.clone());
        all.push(name);
    }
    all
}

/// `name`, or with the first number that makes it new.
pub(super) fn unused<T: AsRef<str>>(name: &str, used: &[T]) -> String {
    let is_used = |name: &str| used.iter().any(|other| other.as_ref() == name);
    if !is_used(name) {
        return name.to_owned();
    }
    // One more than there are names is enough to find a new one.
    (2..used.len() + 3).map(|n| format!("{name} {n}")).find(|name| !is_used(name)).unwrap_or_default()
}

/// What is said of every window like this one: its choices, trim and wall. What was measured or set for this window alone
/// is not: its readings, the places of its studs, a size set by hand.
fn like(opening: &Opening, id: Uuid, name: &str) -> Opening {
    let mut other = Opening::new(id, name.to_owned());
    other.wall = opening.wall.clone();
    other.wall.studs.clear();
    other.wall.joists.clear();
    other.choices = Choices {
        finished_width: None,
        finished_length: None,
        head: None,
        folds: None,
        count: ShadeCount::default(),
        ..opening.choices.clone()
    };
    other
}

/// The bodies that add an opening like another to its room.
pub(super) fn another(house: &House, room: Uuid, opening: &Opening, id: Uuid, name: &str) -> Vec<Body> {
    let mut job = house.job.clone();
    if let Some(room) = job.rooms.iter_mut().find(|other| other.id == room) {
        room.openings.push(like(opening, id, name));
    }
    changes(Some(house), &job)
}

/// The slot of an opening that is to be like another.
pub(super) fn like_slot(room: Uuid, opening: Uuid) -> String {
    format!("like/{room}/{opening}")
}

/// Another opening like this one, in one touch.
pub(super) fn another_offer(room: &Room, opening: &Opening) -> Touch {
    let names: Vec<&str> = room.openings.iter().map(|one| one.name.as_str()).collect();
    let name = unused(opening.name.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end(), &names);
    let event = Event::GiveWords { slot: like_slot(room.id, opening.id), text: name.clone() };
    touch(format!("like_{}", opening.id), format!("Another like {}", opening.name), event)
        .said(format!("add {name}, with the choices and the wall of {}", opening.name))
}

/// The choices that are given from one opening to others.
const GIVEN: [&str; 15] = [
    "mount",
    "undecided",
    "attach",
    "board",
    "bracket",
    "foot",
    "dark",
    "style",
    "cloth",
    "lining",
    "interlined",
    "lift",
    "control",
    "side_overlap",
    "valance",
];

/// Gives an opening's choices to the others of its room, and to all of the house: one touch each. Nothing where all have
/// them already.
pub(super) fn give(job: &Job, opening: &Opening) -> Option<ChoiceGroup> {
    let mine = fields_of(job.unit, &opening.choices);
    let to = |openings: &mut dyn Iterator<Item = &Opening>| -> (Vec<Change>, usize) {
        let (mut all, mut count) = (Vec::new(), 0);
        for other in openings.filter(|other| other.id != opening.id) {
            let theirs = fields_of(job.unit, &other.choices);
            let before = all.len();
            for name in GIVEN.into_iter().filter(|name| mine[*name] != theirs[*name]) {
                let value = match &mine[name] {
                    serde_json::Value::Null => None,
                    serde_json::Value::String(text) => Some(text.clone()),
                    other => Some(other.to_string()),
                };
                all.push(Change { on: other.id, field: format!("choices.{name}"), value });
            }
            count += usize::from(all.len() > before);
        }
        (all, count)
    };
    let room = job.rooms.iter().find(|room| room.openings.iter().any(|one| one.id == opening.id))?;
    let (in_room, n_room) = to(&mut room.openings.iter());
    let (in_house, n_house) = to(&mut job.openings().map(|(_, one)| one));
    let others = |n: usize| if n == 1 { "1 other".to_owned() } else { format!("{n} others") };
    let mut options = Vec::new();
    if n_room > 0 {
        let label = format!("{} in {}", others(n_room), room.name);
        options.push(touch("give_room", label, Event::SetAll { changes: in_room }));
    }
    if n_house > n_room {
        let label = format!("{} in the house", others(n_house));
        options.push(touch("give_house", label, Event::SetAll { changes: in_house }));
    }
    (!options.is_empty()).then(|| ChoiceGroup {
        field: "give.choices".to_owned(),
        title: "Give these choices to".to_owned(),
        options,
    })
}

/// What was taken out of the house, each brought back in one touch, however long ago it was.
pub(super) fn taken_out(house: &House) -> Option<ChoiceGroup> {
    let options = house.removed.iter().map(|removed| {
        let says = match removed.readings {
            0 => removed.name.clone(),
            1 => format!("{}, 1 reading", removed.name),
            n => format!("{}, {n} readings", removed.name),
        };
        touch(format!("bring_back_{}", removed.on), says, Event::BringBack { on: removed.on })
            .said(format!("bring {} back", removed.name))
    });
    let options: Vec<Touch> = options.collect();
    (!options.is_empty()).then(|| ChoiceGroup {
        field: "removed".to_owned(),
        title: "Taken out; a touch brings it back".to_owned(),
        options,
    })
}

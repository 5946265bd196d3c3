//! Openings added many at once or like another, what is given from one to others, and what was taken out of a house.

use super::choose::fields_of;
use super::reading::touch;
use super::screen::{ChoiceGroup, Touch};
use super::{Change, Event, Refusal};
use crate::fact::placed::{ORDER, STEP};
use crate::fact::{Body, House, changes};
use crate::flag::listed;
use crate::house::{Choices, Job, Opening, Part, Room, ShadeCount, Shares};
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

/// What one shade of an opening may become, and the parts that it is then.
const SPLITS: [(&str, &[Part]); 3] = [
    ("Two side by side", &[Part::LeftOfTwo, Part::RightOfTwo]),
    ("Three side by side", &[Part::LeftOfThree, Part::CentreOfThree, Part::RightOfThree]),
    ("One in front of another", &[Part::Behind, Part::InFront]),
];

/// The shades in one opening: what one may become, or which of several this is and the others.
pub(super) fn shades(job: &Job, opening: &Opening) -> ChoiceGroup {
    let field = "shades".to_owned();
    let Some(shares) = opening.shares else {
        let slot = format!("shades/{}", opening.id);
        let options = SPLITS.map(|(words, _)| {
            let id = format!("shades_{}", words.to_lowercase().replace(' ', "_"));
            touch(id, words, Event::GiveWords { slot: slot.clone(), text: words.to_owned() }).live(!is_begun(opening))
        });
        return ChoiceGroup { field, title: "Several shades in this opening".to_owned(), options: options.to_vec() };
    };
    let others = job.openings().filter(|(_, other)| other.in_the_wall() == shares.of && other.id != opening.id);
    let options = others.map(|(_, other)| {
        touch(format!("shades_{}", other.id), &other.name, Event::ShowOpening { opening: other.id })
            .said(format!("go to {}", other.name))
    });
    ChoiceGroup {
        field,
        title: format!("It is {} in this opening; the readings are the same", shares.part.words()),
        options: options.collect(),
    }
}

/// True once its one shade is cut, or further.
const fn is_begun(opening: &Opening) -> bool {
    let progress = &opening.progress;
    progress.cut.is_some() || progress.made.is_some() || progress.hung.is_some()
}

/// The parts that these words make of an opening.
pub(super) fn may_split(opening: &Opening, words: &str) -> Result<&'static [Part], Refusal> {
    if is_begun(opening) {
        return Err(Refusal::new("its shade is cut already", "add another opening for another shade"));
    }
    if opening.shares.is_some() {
        return Err(Refusal::new("it is one of several shades already", "take the others out first"));
    }
    let found = SPLITS.iter().find(|(known, _)| *known == words).map(|(_, parts)| *parts);
    let known: Vec<String> = SPLITS.iter().map(|(words, _)| format!("\"{words}\"")).collect();
    found.ok_or_else(|| {
        Refusal::new(format!("\"{words}\" is no way to share an opening"), format!("write {}", listed(known)))
    })
}

/// The bodies that make one shade of an opening several: the first keeps its id, and with it all that was read; the others
/// follow it in the walk, with its choices.
pub(super) fn split(house: &House, opening: &Opening, parts: &[Part], ids: &[Uuid]) -> Vec<Body> {
    let mut job = house.job.clone();
    let Some(room) = job.rooms.iter_mut().find(|room| room.openings.iter().any(|one| one.id == opening.id)) else {
        return Vec::new();
    };
    let named = |part: &Part| format!("{} {}", opening.name, part.name());
    let at = room.openings.iter().position(|one| one.id == opening.id).unwrap_or_default();
    // Between the first and what follows it, evenly.
    let order = |one: &Opening| house.order.get(&one.id).copied().unwrap_or_default();
    let from = order(&room.openings[at]);
    let to = room.openings.get(at + 1).map_or(from.saturating_add(2 * STEP), order);
    let step = (to.saturating_sub(from) / i64::try_from(parts.len()).unwrap_or(2)).max(1);
    room.openings[at].name = named(&parts[0]);
    room.openings[at].shares = Some(Shares { of: opening.id, part: parts[0] });
    for (id, part) in ids.iter().zip(&parts[1..]) {
        let mut other = like(opening, *id, &named(part));
        other.wall = opening.wall.clone();
        other.shares = Some(Shares { of: opening.id, part: *part });
        room.openings.push(other);
    }
    let mut all = changes(Some(house), &job);
    for (id, nth) in ids.iter().zip(1..) {
        let value = from.saturating_add(step * nth).into();
        all.push(Body::Set { on: *id, field: ORDER.to_owned(), value, replaces: Vec::new() });
    }
    all
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

/// What is to be chosen so that the choices `now` become `then`.
pub(super) fn to_choose(on: Uuid, now: &serde_json::Value, then: &serde_json::Value) -> Vec<Change> {
    let (Some(before), Some(after)) = (now.as_object(), then.as_object()) else { return Vec::new() };
    let names: std::collections::BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    let changed = names.into_iter().filter(|name| before.get(*name) != after.get(*name));
    changed
        .map(|name| Change {
            on,
            field: format!("choices.{name}"),
            value: after.get(name).and_then(|value| match value {
                serde_json::Value::Null => None,
                serde_json::Value::String(text) => Some(text.clone()),
                other => Some(other.to_string()),
            }),
        })
        .collect()
}

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

//! What is asked of an opening while its first places are read, each answered in one touch beside the pad: where the shade
//! is to hang, and where that is outside, whether there is trim and where it stops. Nothing waits for an answer.

use super::choose::set_on;
use super::reading::touch;
use super::screen::{ChoiceGroup, Touch};
use super::{Change, Event};
use crate::fact::House;
use crate::house::{Mount, Opening, Place};
use uuid::Uuid;

const TRIM: [Place; 4] = [Place::TrimWidth, Place::TrimHeight, Place::TrimLeg, Place::TrimThickness];

/// The question that stands open at an opening while `place` is read; `needed` are the places that are needed there.
pub(super) fn ask(house: &House, opening: &Opening, place: Place, needed: &[Place]) -> Option<ChoiceGroup> {
    let choices = &opening.choices;
    let answered = |field: &str| house.standing.contains_key(&(set_on(house, opening.id, field), field.to_owned()));
    let is_open = |place: &Place| needed.contains(place) && opening.standing(*place).next().is_none();
    if choices.mount.is_none() && !choices.undecided {
        let options = mounts(house, opening);
        return Some(group("ask.mount", "Where is it to hang?", options));
    }
    if !answered("wall.no_trim") && TRIM.iter().all(is_open) {
        return Some(group("ask.trim", "Is there trim around it?", trim(opening.id).to_vec()));
    }
    let goes_outside = needed.contains(&Place::ProudMost);
    let across = place.is_width() || matches!(place, Place::TrimWidth | Place::TrimLeg | Place::TrimThickness);
    if goes_outside && !across && !answered("choices.foot") && !answered("wall.no_sill") {
        return Some(group("ask.stop", "Where does it stop?", stops(opening.id).to_vec()));
    }
    None
}

fn group(field: &str, title: &str, options: Vec<Touch>) -> ChoiceGroup {
    ChoiceGroup { field: field.to_owned(), title: title.to_owned(), options }
}

fn change(on: Uuid, field: &str, value: Option<&str>) -> Change {
    Change { on, field: field.to_owned(), value: value.map(str::to_owned) }
}

/// Leaves open whether it hangs inside or outside.
pub(super) fn not_decided(on: Uuid) -> Event {
    Event::SetAll { changes: vec![change(on, "choices.mount", None), change(on, "choices.undecided", Some("true"))] }
}

/// Inside, outside or not decided; what was answered last in this house stands first.
fn mounts(house: &House, opening: &Opening) -> Vec<Touch> {
    let on = opening.id;
    let choose = |value: &str| Event::Choose { on, field: "choices.mount".to_owned(), value: Some(value.to_owned()) };
    let mut all = vec![
        touch("ask_inside", "Inside", choose("inside")),
        touch("ask_outside", "Outside", choose("outside")),
        touch("ask_undecided", "Not decided", not_decided(on)).said("not decided: measure for both"),
    ];
    let answer = |other: &Opening| match (other.choices.mount, other.choices.undecided) {
        (Some(Mount::Inside), _) => Some(0),
        (Some(Mount::Outside), _) => Some(1),
        (None, true) => Some(2),
        (None, false) => None,
    };
    // The walk goes through the house in its order: what was answered before this one is the last answer.
    let mut before: Vec<&Opening> = house.job.openings().map(|(_, other)| other).collect();
    let at = before.iter().position(|other| other.id == on).unwrap_or(before.len());
    before.rotate_left(at);
    let last = before.iter().rev().find_map(|other| answer(other).map(|nth| (nth, other.name.clone())));
    if let Some((nth, name)) = last {
        let mut quick = all.remove(nth);
        quick.spoken = format!("{}, as {name}", quick.spoken);
        quick.label = format!("{}, as before", quick.label);
        all.insert(0, quick);
    }
    all
}

fn trim(on: Uuid) -> [Touch; 2] {
    let set = |value: &str| Event::SetAll { changes: vec![change(on, "wall.no_trim", Some(value))] };
    [touch("ask_trim", "There is trim", set("false")), touch("ask_no_trim", "No trim", set("true"))]
}

fn stops(on: Uuid) -> [Touch; 4] {
    let foot = |value: &str| change(on, "choices.foot", Some(value));
    let set = |changes: Vec<Change>| Event::SetAll { changes };
    [
        touch("ask_sill", "Above the sill", set(vec![foot("sill")])),
        touch("ask_apron", "At the apron's foot", set(vec![foot("apron")])),
        touch("ask_floor", "Above the floor", set(vec![foot("floor")])),
        touch(
            "ask_no_sill",
            "No sill: above the floor",
            set(vec![change(on, "wall.no_sill", Some("true")), foot("floor")]),
        ),
    ]
}

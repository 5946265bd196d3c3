//! Questions that a person answers, and choices that one touch makes: as groups of options, which every shell draws.

use super::choose::Refusal;
use super::reading::{flag_card, touch};
use super::screen::{ChoiceGroup, FlagCard, Naming, Touch};
use super::{Change, Event, Walk, numbers};
use crate::flag::{Flag, Severity};
use crate::house::{Decision, Job, Opening, Place};
use crate::mount::Catalogue;
use crate::stand::{self, Reason, Set, Stand};
use crate::work::{self, Worked, WorkedHouse};
use uuid::Uuid;

/// A question, and whose it is: an opening's, or those of a set.
pub(super) struct Asked {
    pub(super) flag: Flag,
    pub(super) openings: Vec<Uuid>,
}

/// The question of this code at an opening.
pub(super) fn find(job: &Job, opening: Uuid, code: &str, places: &[Place]) -> Result<Asked, Refusal> {
    let house = work::room(job, opening, &numbers(job), Catalogue::standard(job.unit));
    let gone = || Refusal::new("this question is not open any more", "look at the opening again");
    let worked = house.opening(opening).ok_or_else(gone)?;
    let of_set = of_sets(&house, opening).find(|(_, flag)| flag.code == code && flag.places == places);
    let asked = match of_set {
        Some((set, flag)) => {
            let openings = set.members.iter().map(|at| house.openings[*at].opening.id).collect();
            Asked { flag: flag.clone(), openings }
        }
        None => {
            let flags = worked.flags();
            let flag = flags.into_iter().find(|flag| flag.code == code && flag.places == places).ok_or_else(gone)?;
            Asked { flag: flag.clone(), openings: vec![opening] }
        }
    };
    if stand::can_be_answered(worked.opening, &asked.flag) {
        Ok(asked)
    } else {
        Err(Refusal::new(format!("words do not settle this: {}", asked.flag.says), asked.flag.to_do))
    }
}

/// The questions of the sets that an opening is in, answered ones too.
fn of_sets<'a>(house: &'a WorkedHouse<'_>, opening: Uuid) -> impl Iterator<Item = (&'a Set, &'a Flag)> {
    let is_in = move |set: &&Set| set.members.iter().any(|at| house.openings[*at].opening.id == opening);
    house.sets.iter().filter(is_in).filter_map(|set| Some((set, set.question.as_ref()?)))
}

/// The slot of an answer in a person's own words.
pub(super) fn slot(opening: Uuid, flag: &Flag) -> String {
    let places: Vec<&str> = flag.places.iter().map(|place| place.code()).collect();
    format!("decide/{opening}/{}/{}", flag.code, places.join(","))
}

fn field(flag: &Flag) -> String {
    let places: Vec<&str> = flag.places.iter().map(|place| place.code()).collect();
    format!("decide.{}.{}", flag.code, places.join("."))
}

fn changes(fields: impl IntoIterator<Item = (Uuid, String, Option<String>)>) -> Event {
    Event::SetAll { changes: fields.into_iter().map(|(on, field, value)| Change { on, field, value }).collect() }
}

/// Reasons that one touch gives.
fn reasons(opening: &Opening, flag: &Flag) -> &'static [(&'static str, &'static str)] {
    let read = |place: &Place| opening.standing(*place).next().is_some();
    match flag.severity {
        Severity::TakeAgain if flag.places.iter().all(read) => &[("read_twice", "Read again, and it is so")],
        Severity::TakeAgain => &[("cannot_be_read", "It cannot be read; it goes without")],
        _ => &[("client", "The client has seen it"), ("meant_so", "It is meant so")],
    }
}

/// The questions of an opening as groups of options: what is open first, then what was answered; and before them what
/// would work where its chosen mount cannot be.
pub(super) fn groups(job: &Job, house: &WorkedHouse<'_>, worked: &Worked<'_>) -> Vec<ChoiceGroup> {
    let id = worked.opening.id;
    let mut groups: Vec<ChoiceGroup> = offers(worked).into_iter().collect();
    let of_sets: Vec<(&Set, &Flag)> = of_sets(house, id).collect();
    for (set, flag) in &of_sets {
        let mut options: Vec<Touch> = work::set_answers(house, set, Catalogue::standard(job.unit))
            .into_iter()
            .map(|answer| {
                let fields = answer.fields.into_iter().map(|(on, field, value)| (on, field, Some(value)));
                touch(format!("set_{}", answer.code), answer.words, changes(fields))
            })
            .collect();
        options.extend(answers(worked.opening, flag, &[("as_they_are", "Leave them as they are")]));
        groups.push(group(worked.opening, flag, options));
    }
    let own = worked.flags().into_iter().filter(|flag| stand::can_be_answered(worked.opening, flag));
    for flag in own {
        groups.push(group(worked.opening, flag, answers(worked.opening, flag, reasons(worked.opening, flag))));
    }
    groups.sort_by_key(|group| group.title.starts_with(ANSWERED));
    groups
}

const ANSWERED: &str = "Answered: ";

fn answers(opening: &Opening, flag: &Flag, whys: &[(&str, &str)]) -> Vec<Touch> {
    let given = stand::closed_by(opening, flag);
    let event = |why: &str| Event::Decide {
        opening: opening.id,
        flag: flag.code.clone(),
        places: flag.places.clone(),
        why: why.to_owned(),
    };
    let mut options: Vec<Touch> = whys
        .iter()
        .map(|(code, why)| {
            let chosen = given.is_some_and(|given| given.why == *why);
            touch(format!("{}_{code}", field(flag)), *why, event(why)).chosen(chosen)
        })
        .collect();
    if given.is_some() {
        let event = Event::AskAgain { opening: opening.id, flag: flag.code.clone(), places: flag.places.clone() };
        options.push(touch(format!("{}_again", field(flag)), "Ask again", event).said("take the answer back"));
    }
    options
}

fn group(opening: &Opening, flag: &Flag, options: Vec<Touch>) -> ChoiceGroup {
    let title = match stand::closed_by(opening, flag) {
        Some(given) => format!("{ANSWERED}{} {}", flag.says, given_words(given)),
        None => flag.says.clone(),
    };
    ChoiceGroup { field: field(flag), title, options }
}

/// Who answered, when and why, in words.
fn given_words(given: &Decision) -> String {
    let by = if given.by.is_empty() { String::new() } else { format!(", {}", given.by) };
    format!("({}{by}, {})", given.why, given.at.format("%Y-%m-%d"))
}

/// What would work where the chosen mount cannot be.
fn offers(worked: &Worked<'_>) -> Option<ChoiceGroup> {
    if worked.offers.is_empty() {
        return None;
    }
    let options = worked.offers.iter().enumerate().map(|(n, offer)| {
        let fields = offer.fields.iter().map(|(field, value)| (worked.opening.id, (*field).to_owned(), value.clone()));
        touch(format!("offer_{}", n + 1), &offer.words, changes(fields))
    });
    Some(ChoiceGroup {
        field: "offer.mount".to_owned(),
        title: format!("{} What would work:", worked.mounts.because),
        options: options.collect(),
    })
}

/// A card for each reason that comes from no flag of the opening's own: a mount that cannot be, a set, a lift.
pub(super) fn cards(worked: &Worked<'_>) -> Vec<FlagCard> {
    let flags = worked.flags();
    let from_flag = |reason: &&Reason| !flags.iter().any(|flag| flag.code == reason.flag);
    let reasons = worked.standing.reasons.iter().filter(from_flag);
    reasons
        .map(|reason| {
            let severity = if reason.stand == Stand::Decide { Severity::Decide } else { Severity::TakeAgain };
            let code =
                if reason.flag.is_empty() { format!("{:?}", reason.cause).to_lowercase() } else { reason.flag.clone() };
            flag_card(worked.opening.id, &Flag::new(&code, severity, &reason.places, &*reason.says, &*reason.to_do))
        })
        .collect()
}

impl Walk {
    /// A naming for each open question: the reason in a person's own words.
    pub(super) fn own_words(&self, house: &WorkedHouse<'_>, worked: &Worked<'_>) -> Vec<Naming> {
        let id = worked.opening.id;
        let of_sets = of_sets(house, id).map(|(_, flag)| flag);
        let own = worked.flags().into_iter().filter(|flag| stand::can_be_answered(worked.opening, flag));
        of_sets
            .chain(own)
            .filter(|flag| stand::closed_by(worked.opening, flag).is_none())
            .map(|flag| self.naming(slot(id, flag), &format!("Leave it so, and why: {}", flag.says), Vec::new()))
            .collect()
    }
}

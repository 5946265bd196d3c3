//! What one touch does for a set of shades that hang together: one length, one height, both. Each is tried before it is
//! offered, and gives every shade the same folds and head, so that their lines meet.

use super::{WorkedHouse, opening};
use crate::house::{Choices, Opening, Place, Reading};
use crate::length::{Length, Typed};
use crate::makeup::Folds;
use crate::mount::{Catalogue, Form};
use crate::stand::{Answer, Set};
use uuid::Uuid;

/// A member's trial: its opening with the choices that are tried.
struct Tried {
    form: Form,
    length: Length,
    above_trim: Length,
    above_sill: Length,
    folds: Folds,
}

/// The answers to a set's question that one touch gives, besides leaving the shades as they are.
pub fn set_answers(house: &WorkedHouse<'_>, set: &Set, catalogue: &Catalogue) -> Vec<Answer> {
    let trial = Trial { house, members: &set.members, catalogue };
    let now: Vec<Choices> = set.members.iter().map(|at| house.openings[*at].opening.choices.clone()).collect();
    let Some(as_they_are) = trial.all(&now) else { return Vec::new() };
    let unit = house.job.unit;
    let mut answers = Vec::new();
    let mut add = |code: &'static str, words: String, choices: &[Choices]| {
        answers.push(Answer { code, words, fields: trial.fields(&now, choices) });
    };
    let lengths_differ = as_they_are.iter().any(|one| one.length != as_they_are[0].length);
    let length_of = |choices: &[Choices]| choices[0].finished_length.as_ref().map(Typed::value).unwrap_or_default();
    if lengths_differ && let Some(alike) = trial.one_length(&now) {
        add("one_length", format!("Make them one length: {}", length_of(&alike).show_marked(unit)), &alike);
    }
    if let Some(raised) = trial.one_height(&now, &as_they_are) {
        add("one_height", "Hang them at one height: the highest".to_owned(), &raised);
        if lengths_differ && let Some(both) = trial.one_length(&raised) {
            let words = format!("One length and one height: {}", length_of(&both).show_marked(unit));
            add("one_length_one_height", words, &both);
        }
    }
    answers
}

struct Trial<'a, 'h> {
    house: &'a WorkedHouse<'h>,
    members: &'a [usize],
    catalogue: &'a Catalogue,
}

impl Trial<'_, '_> {
    fn of(&self, at: usize) -> &Opening {
        self.house.openings[self.members[at]].opening
    }

    /// One member worked with other choices; nothing when it cannot be mounted or made so.
    fn one(&self, at: usize, choices: &Choices) -> Option<Tried> {
        let worked = &self.house.openings[self.members[at]];
        let tried = Opening { choices: choices.clone(), ..worked.opening.clone() };
        let worked = opening(self.house.job, worked.room, &tried, &self.house.settings, self.catalogue);
        let mounting = worked.mounts.advised()?;
        let made = worked.shade.as_ref()?.makeup.as_ref().ok()?;
        Some(Tried {
            form: mounting.form,
            length: mounting.length.total,
            above_trim: mounting.above_trim,
            above_sill: mounting.above_sill,
            folds: made.folds,
        })
    }

    fn all(&self, choices: &[Choices]) -> Option<Vec<Tried>> {
        choices.iter().enumerate().map(|(at, choices)| self.one(at, choices)).collect()
    }

    /// All as long as the shortest, with the folds and the head of the one that needs the deepest head.
    fn one_length(&self, now: &[Choices]) -> Option<Vec<Choices>> {
        let length = self.all(now)?.iter().map(|one| one.length).min()?;
        let typed = |length: Length| Some(Typed::exact(length, self.house.job.unit));
        let plain: Vec<Choices> = now
            .iter()
            .map(|choices| Choices { finished_length: typed(length), folds: None, head: None, ..choices.clone() })
            .collect();
        let deepest = self.all(&plain)?.into_iter().max_by_key(|one| (one.folds.head_least, one.folds.head))?.folds;
        let alike: Vec<Choices> = plain
            .iter()
            .map(|choices| Choices { folds: Some(deepest.count), head: typed(deepest.head), ..choices.clone() })
            .collect();
        let made = self.all(&alike)?;
        made.iter().all(|one| one.length == length && one.folds.fold == made[0].folds.fold).then_some(alike)
    }

    /// All as high as the highest: outside mounts only, and only where each can still be mounted as it is.
    fn one_height(&self, now: &[Choices], as_they_are: &[Tried]) -> Option<Vec<Choices>> {
        let floor = |at: usize| self.of(at).standing(Place::SillToFloor).last().map(Reading::value);
        let heads = as_they_are
            .iter()
            .enumerate()
            .map(|(at, one)| (one.form != Form::Inside).then_some(()).and_then(|()| Some(floor(at)? + one.above_sill)));
        let heads: Vec<Length> = heads.collect::<Option<_>>()?;
        let high = *heads.iter().max()?;
        if heads.iter().all(|head| *head == high) {
            return None;
        }
        let raised: Vec<Choices> = now
            .iter()
            .zip(as_they_are)
            .zip(&heads)
            .map(|((choices, one), head)| {
                let above = one.above_trim + (high - *head);
                let raised = Some(Typed::exact(above, self.house.job.unit));
                if *head == high { choices.clone() } else { Choices { above_trim: raised, ..choices.clone() } }
            })
            .collect();
        let made = self.all(&raised)?;
        let stands = |(at, one): (usize, &Tried)| {
            one.form == as_they_are[at].form && floor(at).is_some_and(|floor| floor + one.above_sill == high)
        };
        made.iter().enumerate().all(stands).then_some(raised)
    }

    /// The fields that differ, as they are set.
    fn fields(&self, now: &[Choices], then: &[Choices]) -> Vec<(Uuid, String, String)> {
        let unit = self.house.job.unit;
        let mut fields = Vec::new();
        for (at, (now, then)) in now.iter().zip(then).enumerate() {
            let lengths = [
                ("choices.finished_length", &now.finished_length, &then.finished_length),
                ("choices.head", &now.head, &then.head),
                ("choices.above_trim", &now.above_trim, &then.above_trim),
            ];
            for (field, now, then) in lengths {
                let value = |typed: &Option<Typed>| typed.as_ref().map(Typed::value);
                if let Some(then) = value(then).filter(|then| value(now) != Some(*then)) {
                    fields.push((self.of(at).id, field.to_owned(), then.show_marked(unit)));
                }
            }
            if let Some(folds) = then.folds.filter(|folds| now.folds != Some(*folds)) {
                fields.push((self.of(at).id, "choices.folds".to_owned(), folds.to_string()));
            }
        }
        fields
    }
}

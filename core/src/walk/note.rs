//! A whole opening from a paper note: a field for each place, typed as it is written on the note.
//!
//! [`look`] says beside each field what it was taken as and whether it fits with the rest; nothing is written then.
//! [`super::Walk::keep_note`] keeps all of them as readings, or none where one cannot be read.

use super::choose::Refusal;
use super::reading::{doubtful, figure};
use super::screen::{ChoiceGroup, Drawing, Figure};
use super::step::capital;
use super::{drawing, numbers, order, question, truth};
use crate::fact::House;
use crate::flag::{Flag, Severity};
use crate::house::{Job, Opening, Place, Reading};
use crate::length::{LengthProblem, LengthUnit, Typed};
use chrono::DateTime;
use uuid::Uuid;

/// A field of the note. Two of one place are two readings there.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Field {
    /// Its place.
    pub place: Place,
    /// As it is written on the note; nothing where the note has nothing.
    pub text: String,
}

/// What a field was taken as.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Taken {
    /// Nothing is typed there.
    Empty,
    /// It is no length: what is wrong, and what would be right.
    Unreadable {
        /// What is wrong.
        what: String,
        /// What would be right.
        right: String,
    },
    /// A length.
    Length(Figure),
}

/// What is said beside a place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Said {
    /// How much it asks; nothing where it fits.
    pub severity: Option<Severity>,
    /// "Fits", or what does not, with what to do.
    pub says: String,
}

/// A note as it is typed so far.
#[derive(Clone, Debug)]
pub struct Looked {
    /// What each field was taken as, in the fields' order.
    pub taken: Vec<Taken>,
    /// What is said of each field's place, in the fields' order; nothing where there is nothing to say yet.
    pub said: Vec<Option<Said>>,
    /// What concerns all of it.
    pub flags: Vec<Flag>,
    /// The opening with what is typed.
    pub drawing: Drawing,
    /// Fields that hold a length.
    pub lengths: usize,
    /// Fields that hold something that is none.
    pub unreadable: usize,
    /// Places to read again.
    pub again: usize,
}

/// The places of a note for this opening: those it needs, in the order of the walk, and the others that it has.
pub fn places(job: &Job, opening: &Opening) -> (Vec<Place>, Vec<Place>) {
    let needed = order::needed(job, opening, &numbers(job));
    let others = Place::ALL.iter().copied().filter(|place| !needed.contains(place)).collect();
    (needed, others)
}

/// What is asked of the opening before its note is typed, because it tells which places are needed; nothing waits for it.
pub fn ask(house: &House, opening: &Opening) -> Option<ChoiceGroup> {
    let needed = order::needed(&house.job, opening, &numbers(&house.job));
    question::ask(house, opening, needed.last().copied().unwrap_or(Place::WidthTop), &needed)
}

/// A field's length; nothing where it is empty.
fn read(field: &Field, unit: LengthUnit) -> Option<Result<Typed, LengthProblem>> {
    let text = field.text.trim();
    if text.is_empty() {
        return None;
    }
    Some(written(text, unit, field.place))
}

/// A length as it was written out at a place: negative only where a reading has a side.
///
/// # Errors
/// [`LengthProblem`] where it is none.
pub(super) fn written(text: &str, unit: LengthUnit, place: Place) -> Result<Typed, LengthProblem> {
    let typed = Typed::read(text, unit)?;
    if !typed.value().is_negative() || place.has_sign() {
        return Ok(typed);
    }
    Err(LengthProblem {
        text: text.to_owned(),
        at: 1,
        what: format!("{text} is negative"),
        right: "measurements here start at 0".to_owned(),
    })
}

/// Says of a note what each field was taken as, and whether it fits with the rest and with what was read before.
pub fn look(house: &House, opening: &Opening, fields: &[Field]) -> Looked {
    let job = &house.job;
    let mut with = opening.clone();
    let (mut taken, mut lengths, mut unreadable) = (Vec::new(), 0_usize, 0);
    for field in fields {
        taken.push(match read(field, job.unit) {
            None => Taken::Empty,
            Some(Err(problem)) => {
                unreadable += 1;
                Taken::Unreadable { what: problem.what, right: problem.right }
            }
            Some(Ok(typed)) => {
                lengths += 1;
                let shown = figure(&typed);
                with.readings.push(Reading {
                    // The largest ids there are, in the fields' order: no kept reading has one.
                    id: Uuid::from_u128(u128::MAX - (fields.len() - lengths) as u128),
                    place: field.place,
                    typed,
                    at: DateTime::UNIX_EPOCH,
                    by: String::new(),
                    with: String::new(),
                    amends: None,
                    answers: None,
                    withdrawn: None,
                });
                Taken::Length(shown)
            }
        });
    }
    let truth = truth(job, &with);
    let of_one = |flag: &Flag| flag.severity == Severity::TakeAgain && flag.places.len() <= 3;
    let known = order::FIGURE.iter().all(|place| order::is_read(&with, *place));
    let said = fields.iter().zip(&taken).map(|(field, taken)| {
        if !matches!(taken, Taken::Length(_)) {
            return None;
        }
        let flag = truth.flags.iter().find(|flag| of_one(flag) && flag.places.contains(&field.place));
        match flag {
            Some(flag) => Some(Said { severity: Some(flag.severity), says: format!("{} {}", flag.says, flag.to_do) }),
            // Before all seven are there, too little stands against a reading to say that it fits.
            None => (known && truth.holds && order::FIGURE.contains(&field.place))
                .then(|| Said { severity: None, says: "Fits".to_owned() }),
        }
    });
    let said: Vec<Option<Said>> = said.collect();
    let mut again: Vec<Place> = fields.iter().map(|field| field.place).collect();
    again.sort_unstable();
    again.dedup();
    let in_doubt = doubtful(&truth.flags);
    again.retain(|place| in_doubt.contains(place));
    // What is not typed yet shows by its empty field; what is only worth knowing stands at the opening once it is kept.
    let concerns_all = |flag: &Flag| flag.severity > Severity::Know && !of_one(flag) && flag.code != "not_read_yet";
    let flags = truth.flags.into_iter().filter(concerns_all).collect();
    Looked {
        taken,
        said,
        flags,
        drawing: drawing::draw(&with, None, &in_doubt, true),
        lengths,
        unreadable,
        again: again.len(),
    }
}

/// What every field of a note holds, but for the empty ones.
///
/// # Errors
/// [`Refusal`] when a field is no length, or all are empty.
pub(super) fn lengths(fields: &[Field], unit: LengthUnit) -> Result<Vec<(Place, Typed)>, Refusal> {
    let mut all = Vec::new();
    for field in fields {
        match read(field, unit) {
            None => {}
            Some(Ok(typed)) => all.push((field.place, typed)),
            Some(Err(problem)) => {
                let what = format!("{}: {}", capital(field.place.words()), problem.what);
                return Err(Refusal::new(what, problem.right));
            }
        }
    }
    if all.is_empty() {
        return Err(Refusal::new("nothing is typed yet", "type each length as it stands on the note"));
    }
    Ok(all)
}

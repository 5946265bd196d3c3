//! How far a shade has come: cloth ordered and here, cut, made, hung; each by one touch, and taken back by another.

use super::choose::Refusal;
use super::reading::touch;
use super::screen::ChoiceGroup;
use super::step::{Hand, capital};
use super::{Event, Spot, add, numbers, settings};
use crate::buying::Shop;
use crate::fact::{Body, Moment, changes};
use crate::house::{Again, CutFrom, Done, Job, Opening, Place, Reading, ShelfPiece, Step};
use crate::length::{Typed, with_default_unit};
use crate::mount::Catalogue;
use crate::work::{self, Worked};
use uuid::Uuid;

/// The steps of an opening's shade, those that are done shown as chosen.
pub(super) fn steps(opening: &Opening) -> ChoiceGroup {
    let options = Step::ALL.map(|step| {
        let done = opening.progress.of(step).is_some();
        let event = Event::Mark { opening: opening.id, step };
        let said = if done { format!("{}: take it back", step.words()) } else { step.words().to_owned() };
        touch(format!("step_{}", step.code()), capital(step.words()), event).said(said).chosen(done)
    });
    let mut options = options.to_vec();
    if opening.progress.hung.is_some() {
        let event = Event::Again { opening: opening.id };
        options.push(touch("again", "The same again", event).said("begin another shade that is made as this one"));
    }
    ChoiceGroup { field: "progress".to_owned(), title: "How far it is".to_owned(), options }
}

/// The day of each step that is done, in words: "Cut on 2026-11-28 by Ida".
pub(super) fn said(opening: &Opening) -> Option<String> {
    let step = opening.progress.last()?;
    let done = opening.progress.of(step)?;
    let by = if done.by.is_empty() { String::new() } else { format!(" by {}", done.by) };
    Some(format!("{} on {}{by}", capital(step.words()), done.at.date_naive()))
}

fn done(job: &Job, worked: &Worked<'_>, at: Moment, by: &str) -> Done {
    let mounting = worked.mounts.advised();
    Done {
        at: at.time(),
        by: by.to_owned(),
        width: mounting.map(|mounting| Typed::exact(mounting.width.total, job.unit)),
        length: mounting.map(|mounting| Typed::exact(mounting.length.total, job.unit)),
        cloth: worked.opening.choices.cloth.clone(),
        parts: Vec::new(),
        from: Vec::new(),
        fixed: String::new(),
        content: String::new(),
        note: String::new(),
    }
}

/// Which stretches of the shelf an opening's shades are cut from; nothing is planned where the shelf has none of the cloth.
fn from_shelf(job: &Job, opening: &Opening) -> Vec<CutFrom> {
    let is_of = |piece: &ShelfPiece| Some(&piece.cloth) == opening.choices.cloth.as_ref() && piece.serves(job.id);
    if !job.workroom.shelf.values().any(is_of) {
        return Vec::new();
    }
    let house = work::house_with(job, &numbers(job), Catalogue::standard(job.unit));
    work::cut_from(job, &work::plans(&house, Shop::standard(job.unit)), opening.id)
}

impl Hand<'_, '_> {
    /// Marks a step as done, or takes the mark back. What is cut keeps the sizes and the numbers that it was cut by, and only
    /// what is settled may be.
    pub(super) fn mark(&mut self, on: Uuid, step: Step) -> Result<(), Refusal> {
        let (house, opening) = self.opening(on)?;
        let job = &house.job;
        let name = &opening.name;
        let replaces = |field: &str| house.standing.get(&(on, field.to_owned())).cloned().unwrap_or_default();
        let field = format!("progress.{}", step.code());
        if opening.progress.of(step).is_some() {
            let body = Body::Set { on, replaces: replaces(&field), field, value: serde_json::Value::Null };
            let moment = self.moment();
            self.write((job.id, job.unit), moment, body, format!("{name}: not {} after all.", step.words()), None);
            return Ok(());
        }
        let whole = work::room(job, on, &numbers(job), Catalogue::standard(job.unit));
        let worked = whole.opening(on).ok_or_else(|| Refusal::gone("opening", on))?;
        if step == Step::Cut && !worked.standing.is_settled() {
            let stop = worked.stop_cutting().unwrap_or_else(|| "It is not settled.".to_owned());
            return Err(Refusal::new(stop, "settle it first: what is cut by an open question is cut twice"));
        }
        let moment = self.moment();
        let mut done = done(job, worked, moment, &self.walk.by);
        match step {
            Step::Cut => {
                done.parts = work::cut_parts(worked, job.unit);
                done.from = from_shelf(job, opening);
            }
            // As it hangs is what somebody measures there, not what was worked out.
            Step::Hung => (done.width, done.length) = (None, None),
            Step::Ordered | Step::Here | Step::Made => {}
        }
        let value = with_default_unit(job.unit, || serde_json::to_value(&done)).unwrap_or_default();
        let mut all = vec![(moment, Body::Set { on, replaces: replaces(&field), field, value })];
        if step == Step::Cut {
            let held = self.set(house, &settings::held(job))?;
            all.extend(held);
        }
        self.write_all((job.id, job.unit), all, format!("{name}: {}.", step.words()), None);
        Ok(())
    }

    /// Begins a shade that is made as one that hangs.
    pub(super) fn again(&mut self, of: Uuid) -> Result<(), Refusal> {
        let (house, opening) = self.opening(of)?;
        let job = &house.job;
        let room = job.rooms.iter().find(|room| room.openings.iter().any(|one| one.id == of));
        let room = room.ok_or_else(|| Refusal::gone("opening", of))?;
        let moment = self.moment();
        let (id, at) = (moment.uuid(), moment.time());
        let name = add::unused(
            &format!("{}, again", opening.name),
            &room.openings.iter().map(|one| &one.name).collect::<Vec<_>>(),
        );
        let mut next = Opening::new(id, name.clone());
        next.wall = opening.wall.clone();
        next.choices = opening.choices.clone();
        next.again = Some(Again { of, at });
        let standing = Place::ALL.iter().flat_map(|place| opening.standing(*place));
        let mut readings: Vec<Reading> = standing.cloned().collect();
        readings.sort_by_key(|reading| reading.at);
        // One of several in an opening is that part of it again, and has what was read there already.
        next.shares = opening.shares;
        for reading in readings.into_iter().filter(|_| opening.shares.is_none()) {
            next.readings.push(Reading {
                id: self.moment().uuid(),
                amends: None,
                answers: None,
                withdrawn: None,
                ..reading
            });
        }
        if opening.shares.is_none() {
            next.skipped.clone_from(&opening.skipped);
        }
        let mut after = job.clone();
        if let Some(room) = after.rooms.iter_mut().find(|other| other.id == room.id) {
            room.openings.push(next);
        }
        let mut moment = Some(moment);
        let bodies = changes(Some(house), &after);
        let all = bodies.into_iter().map(|body| (moment.take().unwrap_or_else(|| self.moment()), body)).collect();
        self.write_all((job.id, job.unit), all, format!("{name} is begun, as {} was.", opening.name), None);
        self.go(Spot::Opening(id));
        Ok(())
    }

    /// Marks all that the house's plan cuts as cut: by one plan, as it was printed.
    pub(super) fn mark_all(&mut self) -> Result<(), Refusal> {
        let house = self.house()?;
        let job = &house.job;
        let worked = work::house_with(job, &numbers(job), Catalogue::standard(job.unit));
        let to_cut = |one: &&Worked<'_>| one.standing.is_settled() && one.opening.progress.cut.is_none();
        let to_cut: Vec<&Worked<'_>> = worked.openings.iter().filter(to_cut).collect();
        if to_cut.is_empty() {
            return Err(Refusal::new(
                "the plan cuts nothing now",
                "settle an opening first, or leave what is cut as it is",
            ));
        }
        let plans = work::plans(&worked, Shop::standard(job.unit));
        let field = format!("progress.{}", Step::Cut.code());
        let mut all = Vec::new();
        for one in &to_cut {
            let (on, moment) = (one.opening.id, self.moment());
            let parts = work::cut_parts(one, job.unit);
            let from = work::cut_from(job, &plans, on);
            let done = Done { parts, from, ..done(job, one, moment, &self.walk.by) };
            let value = with_default_unit(job.unit, || serde_json::to_value(&done)).unwrap_or_default();
            let replaces = house.standing.get(&(on, field.clone())).cloned().unwrap_or_default();
            all.push((moment, Body::Set { on, replaces, field: field.clone(), value }));
        }
        all.extend(self.set(house, &settings::held(job))?);
        let says = match to_cut.as_slice() {
            [one] => format!("{}: cut.", one.opening.name),
            many => format!("{} shades are cut.", many.len()),
        };
        self.write_all((job.id, job.unit), all, says, None);
        Ok(())
    }
}

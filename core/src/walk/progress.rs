//! How far a shade has come: cloth ordered and here, cut, made, hung; each by one touch, and taken back by another.

use super::choose::Refusal;
use super::reading::touch;
use super::screen::ChoiceGroup;
use super::step::{Hand, capital};
use super::{Event, numbers, settings};
use crate::fact::Body;
use crate::house::{Done, Opening, Step};
use crate::length::{Typed, with_default_unit};
use crate::mount::Catalogue;
use crate::work;
use uuid::Uuid;

/// The steps of an opening's shade, those that are done shown as chosen.
pub(super) fn steps(opening: &Opening) -> ChoiceGroup {
    let options = Step::ALL.map(|step| {
        let done = opening.progress.of(step).is_some();
        let event = Event::Mark { opening: opening.id, step };
        let said = if done { format!("{}: take it back", step.words()) } else { step.words().to_owned() };
        touch(format!("step_{}", step.code()), capital(step.words()), event).said(said).chosen(done)
    });
    ChoiceGroup { field: "progress".to_owned(), title: "How far it is".to_owned(), options: options.to_vec() }
}

/// The day of each step that is done, in words: "Cut on 2026-11-28 by Ida".
pub(super) fn said(opening: &Opening) -> Option<String> {
    let step = opening.progress.last()?;
    let done = opening.progress.of(step)?;
    let by = if done.by.is_empty() { String::new() } else { format!(" by {}", done.by) };
    Some(format!("{} on {}{by}", capital(step.words()), done.at.date_naive()))
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
        let mounting = worked.mounts.advised();
        let done = Done {
            at: moment.time(),
            by: self.walk.by.clone(),
            width: mounting.map(|mounting| Typed::exact(mounting.width.total, job.unit)),
            length: mounting.map(|mounting| Typed::exact(mounting.length.total, job.unit)),
            cloth: opening.choices.cloth.clone(),
            note: String::new(),
        };
        let value = with_default_unit(job.unit, || serde_json::to_value(&done)).unwrap_or_default();
        let mut all = vec![(moment, Body::Set { on, replaces: replaces(&field), field, value })];
        if step == Step::Cut {
            let held = self.set(house, &settings::held(job))?;
            all.extend(held);
        }
        self.write_all((job.id, job.unit), all, format!("{name}: {}.", step.words()), None);
        Ok(())
    }
}

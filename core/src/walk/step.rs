//! One event: the walk after it, and the facts that it writes.

use super::choose::{Refusal, given_words, is_so, set_on, value_of};
use super::houses::{FIND, LABEL};
use super::note::{self, Field};
use super::screen::Notice;
use super::{Aim, BOUNCE_MS, Done, Event, PadKey, Spot, Stand, Step, Walk, World, Write, add, entry_key};
use crate::fact::{Body, House, Moment};
use crate::flag::listed;
use crate::house::{Decision, Note, Opening, Place, Reading, Skip, Withdrawn, Workroom};
use crate::label::{Address, AddressProblem};
use crate::length::{LengthProblem, LengthUnit, Typed};
use crate::mount::Form;
use std::collections::BTreeSet;
use uuid::Uuid;

/// How many things can be taken back, and how many screens back leads.
const KEPT_DONE: usize = 30;
const KEPT_TRAIL: usize = 32;

/// The hand of one step.
pub(super) struct Hand<'a, 'w> {
    pub(super) walk: Walk,
    writes: Vec<Write>,
    now: Moment,
    /// The moment that is not used for a fact yet.
    fresh: Option<Moment>,
    next: &'a mut dyn FnMut() -> Moment,
    world: &'a World<'w>,
}

impl Walk {
    /// What `event` leads to. `next` hands out moments, never the same one twice.
    ///
    /// # Errors
    /// [`Refusal`] when the event names what is not there, or a value that does not fit; nothing has changed then.
    pub fn step(&self, event: &Event, world: &World<'_>, next: &mut dyn FnMut() -> Moment) -> Result<Step, Refusal> {
        self.done_by(world, next, |hand| hand.take(event))
    }

    /// Keeps a note: every field that holds something becomes a reading of its place. All are taken back together, and
    /// the opening is shown.
    ///
    /// # Errors
    /// [`Refusal`] when the opening is not there, a field is no length, or all are empty; nothing has changed then.
    pub fn keep_note(
        &self,
        opening: Uuid,
        fields: &[Field],
        world: &World<'_>,
        next: &mut dyn FnMut() -> Moment,
    ) -> Result<Step, Refusal> {
        self.done_by(world, next, |hand| hand.keep_note(opening, fields))
    }

    fn done_by<'w>(
        &self,
        world: &World<'w>,
        next: &mut dyn FnMut() -> Moment,
        does: impl FnOnce(&mut Hand<'_, 'w>) -> Result<(), Refusal>,
    ) -> Result<Step, Refusal> {
        let now = next();
        let mut walk = self.clone();
        walk.notice = None;
        let mut hand = Hand { walk, writes: Vec::new(), now, fresh: Some(now), next, world };
        does(&mut hand)?;
        Ok(Step { walk: hand.walk, writes: hand.writes })
    }
}

impl<'w> Hand<'_, 'w> {
    pub(super) fn moment(&mut self) -> Moment {
        self.fresh.take().unwrap_or_else(|| (self.next)())
    }

    pub(super) fn house(&self) -> Result<&'w House, Refusal> {
        self.world
            .house
            .filter(|house| Some(house.job.id) == self.walk.house)
            .ok_or_else(|| Refusal::new("no house is open", "open a house first"))
    }

    pub(super) fn opening(&self, id: Uuid) -> Result<(&'w House, &'w Opening), Refusal> {
        let house = self.house()?;
        let found = house.job.openings().find(|(_, opening)| opening.id == id);
        let gone = || Refusal::gone("opening", id);
        found.map(|(_, opening)| (house, opening)).ok_or_else(gone)
    }

    fn reading(&self) -> Result<(&'w House, &'w Opening, Place), Refusal> {
        match self.walk.stand(self.world) {
            Stand::Reading(house, opening, place, _) => Ok((house, opening, place)),
            _ => Err(Refusal::new("no place is being read", "go to a place of an opening first")),
        }
    }

    pub(super) fn go(&mut self, spot: Spot) {
        if let Some(at) = self.walk.trail.iter().rposition(|before| *before == spot) {
            // A screen that was come through is gone back to.
            self.walk.trail.truncate(at);
            self.walk.spot = spot;
        } else if self.walk.spot != spot {
            self.walk.trail.push(self.walk.spot);
            let extra = self.walk.trail.len().saturating_sub(KEPT_TRAIL);
            self.walk.trail.drain(..extra);
            self.walk.spot = spot;
        }
        self.walk.amending = None;
    }

    /// On to the next place of an opening: back leads to where the reading was begun from, not through the readings.
    fn go_on(&mut self, opening: Uuid, after: Place) {
        self.walk.spot = Spot::Measure(opening, Aim::Next(Some(after)));
        self.walk.amending = None;
    }

    fn say(&mut self, says: impl Into<String>, kept: bool) {
        self.walk.notice = Some(Notice { says: says.into(), kept });
    }

    /// Writes a fact that can be taken back, and says so.
    pub(super) fn write(
        &mut self,
        house: (Uuid, LengthUnit),
        moment: Moment,
        body: Body,
        says: String,
        at: Option<(Uuid, Place)>,
    ) {
        self.write_all(house, vec![(moment, body)], says, at);
    }

    /// Writes facts that are taken back together.
    pub(super) fn write_all(
        &mut self,
        (house, unit): (Uuid, LengthUnit),
        all: Vec<(Moment, Body)>,
        says: String,
        at: Option<(Uuid, Place)>,
    ) {
        let facts = all.iter().map(|(moment, _)| moment.uuid()).collect();
        self.walk.done.push(Done { house, facts, says: says.clone(), at, undone: Vec::new() });
        let extra = self.walk.done.len().saturating_sub(KEPT_DONE);
        self.walk.done.drain(..extra);
        self.writes.extend(all.into_iter().map(|(moment, body)| Write { house, unit, moment, body }));
        self.say(says, true);
    }

    fn take(&mut self, event: &Event) -> Result<(), Refusal> {
        // A label is told of on the screen that it led to, and on no other.
        self.walk.words.remove(LABEL);
        match event {
            Event::ShowHouses => self.go(Spot::Houses),
            Event::ShowHouse { house } if *house == Workroom::ID => {
                // The workroom has no rooms to show: its numbers are.
                self.enter(*house);
                self.go(Spot::Settings);
            }
            Event::ShowHouse { house } => {
                if self.walk.house != Some(*house) {
                    if !self.world.houses.iter().any(|line| line.id == *house) {
                        return Err(Refusal::gone("house", *house));
                    }
                    self.enter(*house);
                }
                self.go(Spot::House);
            }
            Event::ShowOpening { opening } => {
                self.opening(*opening)?;
                self.go(Spot::Opening(*opening));
            }
            Event::ShowLeaving => {
                self.house()?;
                self.go(Spot::Leaving);
            }
            Event::ShowSettings => self.go(Spot::Settings),
            Event::ShowSync => self.go(Spot::Sync),
            Event::Measure { opening } => {
                self.opening(*opening)?;
                self.walk.passed.clear();
                self.go(Spot::Measure(*opening, Aim::Next(None)));
            }
            Event::GoTo { opening, place } => {
                self.opening(*opening)?;
                self.pin();
                self.go(Spot::Measure(*opening, Aim::At(*place)));
            }
            Event::Back => self.back(),
            Event::TypeWords { slot, text } => {
                if text.is_empty() {
                    self.walk.words.remove(slot);
                } else {
                    self.walk.words.insert(slot.clone(), text.clone());
                }
            }
            Event::GiveWords { slot, text } => self.give(slot, text)?,
            Event::Remove { on } => self.remove(*on)?,
            Event::BringBack { on } => self.bring_back(*on)?,
            Event::Press { key } => self.press(*key)?,
            Event::Accept => self.accept()?,
            Event::Later => {
                let (_, opening, place) = self.reading()?;
                self.walk.passed.insert(place);
                self.go_on(opening.id, place);
            }
            Event::Skip { why } => self.skip(why)?,
            Event::Amend { reading } => {
                let (opening, taken) = self.taken(*reading)?;
                self.go(Spot::Measure(opening, Aim::At(taken.place)));
                self.walk.amending = Some(*reading);
            }
            Event::Withdraw { reading, why } => {
                let (opening, taken) = self.taken(*reading)?;
                if taken.withdrawn.is_some() {
                    self.say("It was taken back already.", false);
                    return Ok(());
                }
                let house = self.house()?;
                let says = format!("Taken back: {} {}.", taken.place.words(), taken.typed.marked_text());
                let moment = self.moment();
                let withdrawn = Withdrawn { at: moment.time(), by: self.walk.by.clone(), why: why.trim().to_owned() };
                let body = Body::ReadingWithdrawn { opening, reading: *reading, withdrawn };
                self.write((house.job.id, house.job.unit), moment, body, says, Some((opening, taken.place)));
            }
            Event::Undo => self.undo()?,
            Event::Redo => self.redo()?,
            Event::Choose { on, field, value } => self.choose(*on, field, value.as_deref())?,
            Event::ChooseWay { opening, form } => self.choose_way(*opening, *form)?,
            Event::SetAll { changes } => self.set_all(changes)?,
            Event::Decide { opening, flag, places, why } => self.decide(*opening, flag, places, Some(why))?,
            Event::AskAgain { opening, flag, places } => self.decide(*opening, flag, places, None)?,
            Event::Again { opening } => self.again(*opening)?,
            Event::OpenLabel { code } => {
                let label: Address = code.parse().map_err(|problem: AddressProblem| {
                    Refusal::new(problem.to_string(), "scan the code of a label, or open its house and opening by hand")
                })?;
                if self.walk.house != Some(label.house) {
                    if !self.world.houses.iter().any(|line| line.id == label.house) {
                        return Err(Refusal::new(
                            "the house of this label is not on this device",
                            "exchange with the workroom first",
                        ));
                    }
                    self.enter(label.house);
                    self.go(Spot::House);
                }
                self.go(Spot::Opening(label.opening));
                self.walk.words.insert(LABEL.to_owned(), code.clone());
            }
            Event::MarkAll {} => self.mark_all()?,
            Event::Mark { opening, step } => self.mark(*opening, *step)?,
            Event::Answer { ask } => {
                let (opening, ask) = self.ask(*ask)?;
                let place = super::asked(opening)
                    .filter(|(first, _)| first.id == ask.id)
                    .and_then(|(_, places)| places.first().copied())
                    .or_else(|| ask.places.first().copied());
                let aim = place.map_or(Aim::Next(None), Aim::At);
                self.walk.passed.clear();
                self.go(Spot::Measure(opening.id, aim));
            }
            Event::CloseAsk { ask } => {
                let (opening, ask) = self.ask(*ask)?;
                let (opening, ask, house) = (opening.id, ask.id, self.house()?);
                let moment = self.moment();
                let body = Body::AskClosed { opening, ask, at: moment.time() };
                self.write((house.job.id, house.job.unit), moment, body, "The ask is closed.".to_owned(), None);
            }
            Event::UseUnit { unit } => {
                // The pad types in three units; the others are ways of writing a house's lengths.
                self.walk.unit = Some(match unit {
                    LengthUnit::Inch | LengthUnit::Foot => *unit,
                    _ => LengthUnit::Millimetre,
                });
            }
            Event::UseHand { hand } => self.walk.hand = *hand,
            Event::UseTheme { theme } => self.walk.theme = *theme,
        }
        Ok(())
    }

    /// Into another house: back does not lead from one into the other, and the pad's unit is this house's.
    fn enter(&mut self, house: Uuid) {
        self.walk.trail.clear();
        self.walk.spot = Spot::Houses;
        self.walk.house = Some(house);
        self.walk.unit = None;
    }

    /// Stays with the place that is shown now, whatever facts arrive: before anything is typed, or left, there.
    fn pin(&mut self) {
        if let Stand::Reading(_, opening, place, _) = self.walk.stand(self.world) {
            self.walk.spot = Spot::Measure(opening.id, Aim::At(place));
        }
    }

    fn back(&mut self) {
        self.walk.amending = None;
        self.walk.spot = match self.walk.trail.pop() {
            Some(spot) => spot,
            None if self.walk.house.is_none() => Spot::Houses,
            None => match self.walk.spot {
                Spot::House | Spot::Houses => Spot::Houses,
                _ => Spot::House,
            },
        };
    }

    fn press(&mut self, key: PadKey) -> Result<(), Refusal> {
        let (house, opening, place) = self.reading()?;
        self.pin();
        let unit = self.walk.pad_unit(&house.job);
        let mut entry = self.walk.entry(opening.id, place);
        entry.press(key, unit, place.has_sign());
        let at = entry_key(opening.id, place);
        if entry.is_empty() {
            self.walk.entries.remove(&at);
        } else {
            self.walk.entries.insert(at, entry);
        }
        Ok(())
    }

    fn accept(&mut self) -> Result<(), Refusal> {
        let (house, opening, place) = self.reading()?;
        let now = self.now.ms;
        if self.walk.accepted_ms.is_some_and(|before| now.abs_diff(before) < BOUNCE_MS) {
            // One thumb, one reading. What the first said stands, and what is typed since.
            self.walk.notice = Some(Notice { says: "Touched twice; taken once.".to_owned(), kept: false });
            return Ok(());
        }
        let unit = self.walk.pad_unit(&house.job);
        self.keep((house, opening, place), self.walk.entry(opening.id, place).length(unit));
        Ok(())
    }

    /// Keeps a length as the reading of the place that is being read, or says why it is none.
    fn keep(
        &mut self,
        (house, opening, place): (&'w House, &'w Opening, Place),
        length: Result<Option<Typed>, LengthProblem>,
    ) {
        let typed = match length {
            Ok(Some(typed)) => typed,
            Ok(None) => {
                return self.say("Nothing is typed yet: type what the tape reads, or leave the place out.", false);
            }
            Err(problem) => return self.say(format!("Not kept: {}; {}.", problem.what, problem.right), false),
        };
        let amends = self.walk.amending.filter(|id| opening.readings.iter().any(|other| other.id == *id));
        let says = format!("{} {}, kept.", capital(place.words()), typed.marked_text());
        let (moment, body) = self.taken_at(opening, place, typed, amends);
        self.write((house.job.id, house.job.unit), moment, body, says, Some((opening.id, place)));
        self.walk.entries.remove(&entry_key(opening.id, place));
        self.walk.accepted_ms = Some(self.now.ms);
        self.go_on(opening.id, place);
    }

    /// What a device typed by itself, a laser or a tape with a keyboard's plug: with its unit, as one reading.
    fn keyed(&mut self, text: &str) -> Result<(), Refusal> {
        let (house, opening, place) = self.reading()?;
        let unit = self.walk.pad_unit(&house.job);
        let bare = if unit == LengthUnit::Foot { LengthUnit::Inch } else { unit };
        let read = note::written(text, bare, place).map(Some);
        self.keep((house, opening, place), read);
        Ok(())
    }

    /// A reading taken now.
    fn taken_at(&mut self, opening: &Opening, place: Place, typed: Typed, amends: Option<Uuid>) -> (Moment, Body) {
        let moment = self.moment();
        let answers = super::asked(opening).filter(|(_, places)| places.contains(&place)).map(|(ask, _)| ask.id);
        let reading = Reading {
            // The fact and its reading share their id, so that either names the other.
            id: moment.uuid(),
            place,
            typed,
            at: moment.time(),
            by: self.walk.by.clone(),
            with: String::new(),
            amends,
            answers,
            withdrawn: None,
        };
        (moment, Body::ReadingTaken { opening: opening.id, reading })
    }

    fn keep_note(&mut self, opening: Uuid, fields: &[Field]) -> Result<(), Refusal> {
        let (house, opening) = self.opening(opening)?;
        let lengths = note::lengths(fields, house.job.unit)?;
        let says = match lengths.len() {
            1 => format!("{}: 1 reading kept.", opening.name),
            n => format!("{}: {n} readings kept.", opening.name),
        };
        let all = lengths.into_iter().map(|(place, typed)| self.taken_at(opening, place, typed, None)).collect();
        self.write_all((house.job.id, house.job.unit), all, says, None);
        self.go(Spot::Opening(opening.id));
        Ok(())
    }

    fn skip(&mut self, why: &str) -> Result<(), Refusal> {
        let (house, opening, place) = self.reading()?;
        let why = why.trim();
        if why.is_empty() {
            self.say("Say why in a word or two, so that the workroom knows.", false);
            return Ok(());
        }
        let moment = self.moment();
        let skip = Skip { place, why: why.to_owned(), at: moment.time(), by: self.walk.by.clone() };
        let says = format!("{} left out: {why}.", capital(place.words()));
        let body = Body::PlaceSkipped { opening: opening.id, skip };
        self.write((house.job.id, house.job.unit), moment, body, says, Some((opening.id, place)));
        self.walk.words.remove(&format!("skip/{}", entry_key(opening.id, place)));
        // A place asked for that cannot be read would otherwise come again at once.
        self.walk.passed.insert(place);
        self.go_on(opening.id, place);
        Ok(())
    }

    fn taken(&self, reading: Uuid) -> Result<(Uuid, &'w Reading), Refusal> {
        let house = self.house()?;
        let mut all = house.job.openings();
        all.find_map(|(_, opening)| {
            opening.readings.iter().find(|taken| taken.id == reading).map(|taken| (opening.id, taken))
        })
        .ok_or_else(|| Refusal::gone("reading", reading))
    }

    fn ask(&self, ask: Uuid) -> Result<(&'w Opening, &'w crate::house::Ask), Refusal> {
        let house = self.house()?;
        let mut all = house.job.openings();
        all.find_map(|(_, opening)| opening.asks.iter().find(|other| other.id == ask).map(|ask| (opening, ask)))
            .ok_or_else(|| Refusal::gone("ask", ask))
    }

    fn undo(&mut self) -> Result<(), Refusal> {
        let house = self.house()?;
        let last = self.walk.done.iter().rposition(|done| done.house == house.job.id && done.undone.is_empty());
        let Some(last) = last else {
            self.say("There is nothing to take back here.", false);
            return Ok(());
        };
        let facts = self.walk.done[last].facts.clone();
        self.walk.done[last].undone = self.undo_facts(house, &facts, last);
        let says = format!("Taken back: {}", self.walk.done[last].says);
        self.say(says, true);
        self.show(self.walk.done[last].at);
        Ok(())
    }

    fn redo(&mut self) -> Result<(), Refusal> {
        let house = self.house()?;
        let Some(at) = self.walk.to_redo(Some(house.job.id)) else {
            self.say("There is nothing to do again here.", false);
            return Ok(());
        };
        let undone = std::mem::take(&mut self.walk.done[at].undone);
        self.undo_facts(house, &undone, at);
        let says = format!("Done again: {}", self.walk.done[at].says);
        self.say(says, true);
        self.show(self.walk.done[at].at);
        Ok(())
    }

    /// Writes that facts are undone, and gives the ids of what was written.
    fn undo_facts(&mut self, house: &House, facts: &[Uuid], of: usize) -> Vec<Uuid> {
        let place = self.walk.done[of].at.map(|(_, place)| place);
        facts
            .iter()
            .map(|fact| {
                let moment = self.moment();
                let body = Body::Undone { fact: *fact, place };
                self.writes.push(Write { house: house.job.id, unit: house.job.unit, moment, body });
                moment.uuid()
            })
            .collect()
    }

    /// Goes to the place that an undo concerned, so that nothing changes out of sight.
    fn show(&mut self, at: Option<(Uuid, Place)>) {
        if let Some((opening, place)) = at {
            self.pin();
            self.go(Spot::Measure(opening, Aim::At(place)));
        }
    }

    fn remove(&mut self, on: Uuid) -> Result<(), Refusal> {
        let house = self.house()?;
        let (body, says) = if let Some(room) = house.job.rooms.iter().find(|room| room.id == on) {
            (Body::RoomRemoved { room: on }, format!("{} is taken out.", room.name))
        } else if let Some((_, opening)) = house.job.openings().find(|(_, opening)| opening.id == on) {
            (Body::OpeningRemoved { opening: on }, format!("{} is taken out.", opening.name))
        } else {
            return Err(Refusal::gone("room or opening", on));
        };
        let moment = self.moment();
        self.write((house.job.id, house.job.unit), moment, body, says, None);
        self.go(Spot::House);
        Ok(())
    }

    fn bring_back(&mut self, on: Uuid) -> Result<(), Refusal> {
        let house = self.house()?;
        let removed = house.removed.iter().find(|removed| removed.on == on);
        let removed = removed.ok_or_else(|| Refusal::gone("room or opening that was taken out", on))?;
        let facts = removed.facts.iter().map(|fact| (self.moment(), Body::Undone { fact: *fact, place: None }));
        let facts = facts.collect();
        self.write_all((house.job.id, house.job.unit), facts, format!("{} is back.", removed.name), None);
        Ok(())
    }

    fn choose(&mut self, on: Uuid, field: &str, value: Option<&str>) -> Result<(), Refusal> {
        let house = self.house()?;
        let value = value_of(&house.job, on, field, value)?;
        let target = set_on(house, on, field);
        let replaces = house.standing.get(&(target, field.to_owned())).cloned().unwrap_or_default();
        let apart = house.job.disagreements.iter().any(|apart| apart.on == target && apart.field == field);
        // What is chosen stays chosen, and nothing is written twice.
        if !apart && is_so(&house.job, on, field, &value) {
            self.say("It is so already.", false);
            return Ok(());
        }
        let says = given_words(field, &value);
        let moment = self.moment();
        let body = Body::Set { on: target, field: field.to_owned(), value, replaces };
        self.write((house.job.id, house.job.unit), moment, body, says, None);
        Ok(())
    }

    fn choose_way(&mut self, opening: Uuid, form: Form) -> Result<(), Refusal> {
        let (house, _) = self.opening(opening)?;
        let (mount, attach) = match form {
            Form::Inside => ("inside", None),
            Form::OutsideFlush => ("outside", Some("flush")),
            Form::OutsideBrackets => ("outside", Some("brackets")),
            Form::OutsideCeiling => ("outside", Some("ceiling")),
            Form::OutsideFace => ("outside", Some("face")),
        };
        let fields = [Some(("choices.mount", mount)), attach.map(|attach| ("choices.attach", attach))];
        let mut all = Vec::new();
        for (field, value) in fields.into_iter().flatten() {
            let value = value_of(&house.job, opening, field, Some(value))?;
            let replaces = house.standing.get(&(opening, field.to_owned())).cloned().unwrap_or_default();
            let body = Body::Set { on: opening, field: field.to_owned(), value, replaces };
            all.push((self.moment(), body));
        }
        let says = format!("It is mounted {}.", form.words());
        self.write_all((house.job.id, house.job.unit), all, says, None);
        Ok(())
    }

    /// The facts that give fields their values.
    pub(super) fn set(&mut self, house: &House, changes: &[super::Change]) -> Result<Vec<(Moment, Body)>, Refusal> {
        let mut all = Vec::new();
        for change in changes {
            let value = value_of(&house.job, change.on, &change.field, change.value.as_deref())?;
            let on = set_on(house, change.on, &change.field);
            let replaces = house.standing.get(&(on, change.field.clone())).cloned().unwrap_or_default();
            let body = Body::Set { on, field: change.field.clone(), value, replaces };
            all.push((self.moment(), body));
        }
        Ok(all)
    }

    fn set_all(&mut self, changes: &[super::Change]) -> Result<(), Refusal> {
        let house = self.house()?;
        let all = self.set(house, changes)?;
        if all.is_empty() {
            self.say("Nothing is to be changed.", false);
            return Ok(());
        }
        // One opening's answer is said in full; what is given to several is said by its fields.
        let one = changes.iter().all(|change| change.on == changes[0].on) && all.len() <= 2;
        let says = if let Some((_, Body::Set { field, value, .. })) = all.first().filter(|_| changes[0].field == "away")
        {
            given_words(field, value)
        } else if one {
            let given = |(_, body): &(Moment, Body)| match body {
                // What goes back to nothing beside a new answer is part of that answer.
                Body::Set { value, .. } if value.is_null() && all.len() > 1 => None,
                Body::Set { field, value, .. } => Some(given_words(field, value)),
                _ => None,
            };
            all.iter().filter_map(given).collect::<Vec<_>>().join(" ")
        } else {
            let fields: BTreeSet<String> = changes.iter().map(|change| field_words(&change.field)).collect();
            format!("{}: chosen.", capital(&fields.into_iter().collect::<Vec<_>>().join(", ")))
        };
        self.write_all((house.job.id, house.job.unit), all, says, None);
        Ok(())
    }

    /// Answers a question, or takes its answer back where no reason is given.
    fn decide(&mut self, opening: Uuid, flag: &str, places: &[Place], why: Option<&str>) -> Result<(), Refusal> {
        let (house, _) = self.opening(opening)?;
        let job = &house.job;
        let why = why.map(str::trim);
        if why == Some("") {
            self.say("Say why in a word or two: it stands beside the question.", false);
            return Ok(());
        }
        let asked = super::decide::find(job, opening, flag, places)?;
        let mut all = Vec::new();
        for on in &asked.openings {
            let moment = self.moment();
            let Some((_, opening)) = job.openings().find(|(_, other)| other.id == *on) else { continue };
            let decision = Decision {
                id: moment.uuid(),
                flag: asked.flag.code.clone(),
                places: asked.flag.places.clone(),
                says: asked.flag.says.clone(),
                why: why.unwrap_or_default().to_owned(),
                at: moment.time(),
                by: self.walk.by.clone(),
                readings: opening.rests_on(&asked.flag.places),
                taken_back: why.is_none(),
            };
            all.push((moment, Body::Decided { opening: *on, decision }));
        }
        let says = match why {
            Some(why) => format!("Decided: {why}."),
            None => "The question is open again.".to_owned(),
        };
        self.walk.words.remove(&super::decide::slot(opening, &asked.flag));
        self.write_all((job.id, job.unit), all, says, None);
        Ok(())
    }

    /// Adds an opening, several ("5 windows"), or one like another, and goes to the first of them.
    fn add_openings(&mut self, room: Uuid, like: Option<Uuid>, words: &str) -> Result<(), Refusal> {
        let house = self.house()?;
        let found = house.job.rooms.iter().find(|other| other.id == room);
        let found = found.ok_or_else(|| Refusal::gone("room", room))?;
        let (mut all, mut first, names) = (Vec::new(), None, add::names(words, found));
        for name in &names {
            let moment = self.moment();
            let opening = moment.uuid();
            first.get_or_insert(opening);
            match like {
                None => all.push((moment, Body::OpeningAdded { opening, room, name: name.clone() })),
                Some(like) => {
                    let (_, like) = self.opening(like)?;
                    let mut moment = Some(moment);
                    for body in add::another(house, room, like, opening, name) {
                        all.push((moment.take().unwrap_or_else(|| self.moment()), body));
                    }
                }
            }
        }
        let says = match names.as_slice() {
            [one] => format!("{one} is added."),
            more => format!("{} are added.", listed(more.iter().cloned())),
        };
        self.write_all((house.job.id, house.job.unit), all, says, None);
        self.walk.passed.clear();
        if let Some(first) = first {
            self.go(Spot::Measure(first, Aim::Next(None)));
        }
        Ok(())
    }

    /// Makes one shade of an opening several, all in that opening.
    fn split(&mut self, opening: Uuid, words: &str) -> Result<(), Refusal> {
        let (house, one) = self.opening(opening)?;
        let parts = add::may_split(one, words)?;
        let ids: Vec<Moment> = parts.iter().skip(1).map(|_| self.moment()).collect();
        let others: Vec<Uuid> = ids.iter().map(Moment::uuid).collect();
        let mut ids = ids.into_iter();
        let bodies = add::split(house, one, parts, &others);
        let all = bodies.into_iter().map(|body| (ids.next().unwrap_or_else(|| self.moment()), body)).collect();
        let names: Vec<&str> = parts.iter().map(|part| part.name()).collect();
        let says =
            format!("{}: {}, each with its own choices.", one.name, listed(names.into_iter().map(str::to_owned)));
        self.write_all((house.job.id, house.job.unit), all, says, None);
        self.go(Spot::Opening(opening));
        Ok(())
    }

    /// Words that were given: a name, a reason, a value.
    fn give(&mut self, slot: &str, text: &str) -> Result<(), Refusal> {
        let text = text.trim();
        if text.is_empty() && slot != "by" && slot != FIND {
            self.say("Nothing is typed yet.", false);
            return Ok(());
        }
        let (kind, rest) = slot.split_once('/').unwrap_or((slot, ""));
        let strange = || Refusal::new(format!("no words belong to \"{slot}\""), "hand back the slot of the screen");
        let id = |text: &str| Uuid::parse_str(text).map_err(|_| strange());
        match kind {
            FIND => {
                // What is looked for stands until it is taken out.
                if text.is_empty() {
                    self.walk.words.remove(FIND);
                } else {
                    self.walk.words.insert(FIND.to_owned(), text.to_owned());
                }
                return Ok(());
            }
            "house" => {
                // "house/mm" begins a house in millimetres.
                let unit = match rest {
                    "mm" => LengthUnit::Millimetre,
                    "" | "in" => LengthUnit::Inch,
                    _ => return Err(strange()),
                };
                let moment = self.moment();
                let house = moment.uuid();
                let body = Body::HouseOpened { name: text.to_owned(), unit };
                self.writes.push(Write { house, unit, moment, body });
                self.enter(house);
                self.go(Spot::House);
                // The words stand in the slot without a unit; the end of this function takes out the slot with one.
                self.walk.words.remove("house");
                self.say(format!("{text} is begun."), true);
            }
            "room" => {
                let house = self.house()?;
                let moment = self.moment();
                let body = Body::RoomAdded { room: moment.uuid(), name: text.to_owned() };
                self.write((house.job.id, house.job.unit), moment, body, format!("{text} is added."), None);
            }
            "opening" => {
                self.add_openings(id(rest)?, None, text)?;
            }
            "like" => {
                let (room, like) = rest.split_once('/').ok_or_else(strange)?;
                self.add_openings(id(room)?, Some(id(like)?), text)?;
            }
            "shades" => self.split(id(rest)?, text)?,
            "rename" => self.choose(id(rest)?, "name", Some(text))?,
            "set" => {
                let (on, field) = rest.split_once('/').ok_or_else(strange)?;
                self.choose(id(on)?, field, Some(text))?;
            }
            "decide" => {
                let mut parts = rest.splitn(3, '/');
                let (on, flag, places) = (
                    parts.next().unwrap_or_default(),
                    parts.next().unwrap_or_default(),
                    parts.next().unwrap_or_default(),
                );
                let places: Vec<Place> = places.split(',').filter_map(Place::from_code).collect();
                self.decide(id(on)?, flag, &places, Some(text))?;
            }
            "note" => {
                let (house, on) = (self.house()?, id(rest)?);
                let moment = self.moment();
                let note =
                    Note { id: moment.uuid(), text: text.to_owned(), at: moment.time(), by: self.walk.by.clone() };
                let body = Body::NoteAdded { on, note };
                self.write((house.job.id, house.job.unit), moment, body, "The note is kept.".to_owned(), None);
            }
            "skip" => self.skip(text)?,
            "reading" => self.keyed(text)?,
            "by" => {
                text.clone_into(&mut self.walk.by);
                self.say(
                    if text.is_empty() { "No name is written." } else { "Your name goes with what you write." },
                    false,
                );
            }
            _ => return Err(strange()),
        }
        // "house/mm" is the slot "house" with its unit.
        self.walk.words.remove(if kind == "house" { kind } else { slot });
        Ok(())
    }
}

/// A field as a person reads it: "finished width".
fn field_words(field: &str) -> String {
    field.rsplit('.').next().unwrap_or(field).replace('_', " ")
}

pub(super) fn capital(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    let mut chars = words.chars();
    if let Some(first) = chars.next() {
        text.extend(first.to_uppercase());
    }
    text.push_str(chars.as_str());
    text
}

//! The commands of the loop between workroom and house: ask for an opening to be measured again, list what is asked,
//! write down a reading that answers.

use crate::book::{BookArgs, find, say};
use crate::near::{hint, near};
use crate::{Outcome, listed, moments};
use anyhow::{Context as _, bail};
use hangtrue_core::fact::Body;
use hangtrue_core::house::{Ask, Job, Opening, Place, Reading, Room};
use hangtrue_core::length::Typed;

/// Asks for an opening to be measured again.
pub(crate) fn ask(
    at: &BookArgs,
    house: &str,
    opening: &str,
    places: &[String],
    why: &str,
    by: &str,
) -> anyhow::Result<Outcome> {
    let job = find(at, house)?;
    let (room, opening) = find_opening(&job, opening)?;
    let moment = moments::now();
    let ask = Ask {
        id: moment.uuid(),
        places: places.iter().map(|place| find_place(place)).collect::<anyhow::Result<_>>()?,
        why: why.to_owned(),
        at: moment.time(),
        by: by.to_owned(),
        closed: None,
    };
    let body = Body::AskMade { opening: opening.id, ask };
    at.open()?.write(job.id, by, job.unit, &[body], &mut moments::now)?;
    say(&format!("Asked: {}, {}, {}. It goes out with the next sync.", job.name, room.name, opening.name))?;
    Ok(Outcome::Good)
}

/// Where the words of an erased house are all the same.
pub(crate) const STILL_HAVE_IT: &str = "What still has them: devices that do not sync, sticks, archives, printed sheets, and files set aside after damage.";

/// Erases a house for good, here and wherever this is heard of. `name` is the house's whole name, written once more.
pub(crate) fn erase(at: &BookArgs, house: &str, name: &str, by: &str) -> anyhow::Result<Outcome> {
    let job = find(at, house)?;
    if job.name != name {
        bail!(
            "the house is called \"{}\", and --sure says \"{name}\"; nothing was erased. Nothing brings a house back that was erased",
            job.name
        );
    }
    at.open()?.write(job.id, by, job.unit, &[Body::HouseErased {}], &mut moments::now)?;
    say(&format!(
        "{}: its readings, words and photos are erased here. Sync, so that the other devices hear of it and erase them too. {STILL_HAVE_IT}",
        job.name
    ))?;
    Ok(Outcome::Good)
}

/// Lists what is asked and not answered.
pub(crate) fn list(at: &BookArgs, json: bool) -> anyhow::Result<Outcome> {
    let book = at.read()?;
    let (mut any, mut all) = (false, Vec::new());
    for line in book.houses()? {
        let job = book.job(line.job)?.context("a listed house is in the book")?;
        for (room, opening) in job.openings() {
            for ask in opening.asks.iter().filter(|ask| !opening.is_answered(ask)) {
                any = true;
                if json {
                    all.push(listed::ask(&job, room, opening, ask));
                    continue;
                }
                let places: Vec<&str> = ask.places.iter().map(|place| place.words()).collect();
                let places = if places.is_empty() { "all of it".to_owned() } else { places.join(", ") };
                say(&format!("{}, {}, {}: {places}. {} ({})", job.name, room.name, opening.name, ask.why, ask.by))?;
            }
        }
    }
    if json {
        listed::print(&serde_json::json!({ "asks": all }))?;
    } else if !any {
        say("Nothing is asked.")?;
    }
    Ok(Outcome::Good)
}

/// Writes down a reading; it answers the oldest open ask that names its place, or that names all of the opening.
pub(crate) fn read(
    at: &BookArgs,
    house: &str,
    opening: &str,
    place: &str,
    reading: &str,
    by: &str,
) -> anyhow::Result<Outcome> {
    let job = find(at, house)?;
    let (room, opening) = find_opening(&job, opening)?;
    let place = find_place(place)?;
    let typed = Typed::read(reading, job.unit).with_context(|| format!("\"{reading}\" is no length"))?;
    let asked = |ask: &&Ask| (ask.places.is_empty() || ask.places.contains(&place)) && !opening.is_answered(ask);
    let answers = opening.asks.iter().find(asked).map(|ask| ask.id);
    let moment = moments::now();
    let reading = Reading {
        id: moment.uuid(),
        place,
        typed,
        at: moment.time(),
        by: by.to_owned(),
        with: String::new(),
        amends: None,
        answers,
        withdrawn: None,
    };
    let words = reading.typed.marked_text();
    let body = Body::ReadingTaken { opening: opening.id, reading };
    at.open()?.write(job.id, by, job.unit, &[body], &mut moments::now)?;
    let answered = if answers.is_some() { " It answers what the workroom asked." } else { "" };
    say(&format!("{}, {}: {} {words} is written down.{answered}", room.name, opening.name, place.words()))?;
    Ok(Outcome::Good)
}

fn find_place(name: &str) -> anyhow::Result<Place> {
    let codes: Vec<&str> = Place::ALL.iter().map(|place| place.code()).collect();
    let found = Place::ALL.iter().find(|place| place.code() == name || place.words() == name.to_lowercase());
    let near = || near(name, &codes);
    found.copied().with_context(|| match near().as_slice() {
        [] => format!("there is no place \"{name}\"; they are: {}", codes.join(", ")),
        near => format!("there is no place \"{name}\"; did you mean {}?", near.join(" or ")),
    })
}

/// The opening whose room's and own name have this text in them: one, or a clear refusal. The whole name goes before a
/// part of another's.
pub(crate) fn find_opening<'a>(job: &'a Job, name: &str) -> anyhow::Result<(&'a Room, &'a Opening)> {
    let wanted = name.to_lowercase();
    let words = |(room, opening): &(&Room, &Opening)| format!("{}, {}", room.name, opening.name);
    let is_whole =
        |both: &(&Room, &Opening)| words(both).to_lowercase() == wanted || both.1.name.to_lowercase() == wanted;
    let part: Vec<_> = job.openings().filter(|both| words(both).to_lowercase().contains(&wanted)).collect();
    let whole: Vec<_> = part.iter().copied().filter(is_whole).collect();
    let list = |all: &[(&Room, &Opening)]| all.iter().map(words).collect::<Vec<_>>();
    match (whole.as_slice(), part.as_slice()) {
        ([one], _) | (_, [one]) => Ok(*one),
        (_, []) => {
            let known = list(&job.openings().collect::<Vec<_>>());
            let known: Vec<&str> = known.iter().map(String::as_str).collect();
            let how = hint(name, &known, "hangtrue show HOUSE");
            bail!("no opening of {} has \"{name}\" in its name; {how}", job.name)
        }
        _ => {
            bail!("\"{name}\" is in the name of {} openings; write more of it: {}", part.len(), list(&part).join("; "))
        }
    }
}

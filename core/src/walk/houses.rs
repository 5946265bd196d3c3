//! The list of houses: those that the workroom waits for stand first, what was put away is found by its words.

use super::reading::touch;
use super::screen::{HouseRow, Houses, Naming, Shown, Touch};
use super::screens::{count, many};
use super::{Change, Event, HouseLine, Walk, World, settings};
use crate::house::Job;
use crate::sync::alone_words;

/// Rows of the list of houses at most: more are found by their words.
const HOUSE_ROWS: usize = 200;

/// The slot of what a house is looked for by.
pub(super) const FIND: &str = "find";
/// Where the code of a label is kept while the screen that it led to is shown.
pub(super) const LABEL: &str = "label";

/// True when a house is in the list: while nothing is looked for, all that are not put away; else all that have every word
/// of it in their name, address, client, rooms or openings.
pub fn is_listed(name: &str, words: &str, away: bool, wanted: &str) -> bool {
    let all = format!("{name} {words}").to_lowercase();
    let wanted = wanted.to_lowercase();
    let mut wanted = wanted.split_whitespace().peekable();
    if wanted.peek().is_none() { !away } else { wanted.all(|word| all.contains(word)) }
}

impl Walk {
    pub(super) fn houses(&self, world: &World<'_>) -> Shown {
        let wanted = self.words.get(FIND).map_or("", |typed| typed.trim());
        let mut found: Vec<&HouseLine> =
            world.houses.iter().filter(|line| is_listed(&line.name, &line.words, line.away, wanted)).collect();
        found.sort_by_key(|line| line.asked == 0);
        let rows = found.iter().take(HOUSE_ROWS).map(|line| {
            let event = Event::ShowHouse { house: line.id };
            let mut says = format!("{}, {}", many(line.openings, "opening"), many(line.readings, "reading"));
            if line.asked > 0 {
                says = format!("to measure again: {}; {says}", many(line.asked, "opening"));
            }
            if line.away {
                says = format!("{says}; put away");
            }
            if line.alone > 0 {
                says = format!("{says}; {}", alone_words(line.alone));
            }
            let open = touch(format!("house_{}", line.id), &line.name, event).said(format!("{}: {says}", line.name));
            HouseRow { id: line.id, open, says }
        });
        let offers = ["in", "mm"].map(|unit| {
            let typed = self.words.get("house").map_or("", |typed| typed.trim());
            let label = if unit == "in" { "Begin in inches" } else { "Begin in millimetres" };
            let event = Event::GiveWords { slot: format!("house/{unit}"), text: typed.to_owned() };
            touch(format!("begin_{unit}"), label, event).live(!typed.is_empty())
        });
        Shown::Houses {
            screen: Houses {
                rows: rows.collect(),
                count: count(found.len()),
                find: self.find(world.houses, wanted),
                begin: self.naming("house", "Name of the house", offers.to_vec()),
                sync: touch("sync", "With the workroom", Event::ShowSync),
            },
        }
    }

    fn find(&self, lines: &[HouseLine], wanted: &str) -> Naming {
        let away = count(lines.iter().filter(|line| line.away).count());
        let prompt = match away {
            0 => "Find a house by name, room or address".to_owned(),
            1 => "Find a house by name, room or address; 1 is put away".to_owned(),
            n => format!("Find a house by name, room or address; {n} are put away"),
        };
        let all = touch("find_all", "Show all", Event::TypeWords { slot: FIND.to_owned(), text: String::new() });
        let give = touch("find_give", "Find", Event::TypeWords { slot: FIND.to_owned(), text: wanted.to_owned() });
        Naming { give, ..self.naming(FIND, &prompt, if wanted.is_empty() { Vec::new() } else { vec![all] }) }
    }

    /// What is known of a house besides its openings, each to be written.
    pub(super) fn about(&self, job: &Job) -> Vec<Naming> {
        let built = job.built.map(|year| year.to_string()).unwrap_or_default();
        let fields = [
            ("address", "Address, and how to get in", job.address.as_str()),
            ("reach", "How the client is reached", job.reach.as_str()),
            ("built", "The year it was built: old paint", built.as_str()),
        ];
        let of = |(field, words, now): (&str, &str, &str)| {
            let prompt = if now.is_empty() { words.to_owned() } else { format!("{words} ({now})") };
            self.naming(format!("set/{}/{field}", job.id), &prompt, Vec::new())
        };
        let remark = self.naming(format!("note/{}", job.id), "A remark on the house", Vec::new());
        fields.map(of).into_iter().chain([remark]).collect()
    }
}

/// Puts a house away, or back into the list.
pub(super) fn away(job: &Job) -> Touch {
    let change = Change { on: job.id, field: "away".to_owned(), value: (!job.away).then(|| "true".to_owned()) };
    // What is done keeps the numbers that it was made by.
    let held = if job.away { Vec::new() } else { settings::held(job) };
    let event = Event::SetAll { changes: std::iter::once(change).chain(held).collect() };
    let label = if job.away { "Back into the list" } else { "Put away" };
    touch("away", label, event).said(format!("{}: {}", job.name, label.to_lowercase()))
}

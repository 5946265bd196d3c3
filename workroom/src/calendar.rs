//! The days that were agreed as a calendar file (iCalendar, RFC 5545), for any calendar that reads one.

use crate::Outcome;
use crate::book::{self, BookArgs};
use chrono::Duration;
use hangtrue_core::house::{Job, Visit};
use icalendar::{Calendar, Component as _, Event, EventLike as _};
use std::io::Write as _;

/// The visits of these houses. What stands in it is for the maker's own calendar: house, address, what for.
pub(crate) fn ics<'a>(jobs: impl IntoIterator<Item = &'a Job>) -> String {
    let mut calendar = Calendar::new();
    calendar.name("Hangtrue");
    for job in jobs {
        for visit in &job.visits {
            calendar.push(event(job, visit));
        }
    }
    calendar.to_string()
}

/// Writes the days of a book to the terminal or into a file.
pub(crate) fn run(book: &BookArgs) -> anyhow::Result<Outcome> {
    let jobs = book::jobs(book)?;
    write!(std::io::stdout(), "{}", ics(jobs.iter().filter(|job| !job.away)))?;
    Ok(Outcome::Good)
}

fn event(job: &Job, visit: &Visit) -> Event {
    let what = visit.what.words();
    let mut event = Event::new();
    event.uid(&format!("{}@{}", visit.name, job.id));
    event.summary(&format!("{}: {what}", job.name));
    if !job.address.is_empty() {
        event.location(&job.address);
    }
    if !visit.note.is_empty() {
        event.description(&visit.note);
    }
    match visit.at {
        None => {
            event.all_day(visit.on);
        }
        // As the clock at the house shows it: a time without a zone is that (RFC 5545, 3.3.5, form 1).
        Some(at) => {
            let begin = visit.on.and_time(at);
            event.starts(begin).ends(begin + Duration::minutes(i64::from(visit.minutes.max(1))));
        }
    }
    event.done()
}

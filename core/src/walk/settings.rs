//! The numbers of a house and of its workroom, each with where it comes from and the way back.

use super::reading::touch;
use super::screen::{SettingRow, Touch};
use super::step::capital;
use super::{Change, Event, Walk, numbers};
use crate::house::{Job, Workroom};
use crate::settings::{Row, Settings};

/// Every number of a house, or of the workroom itself.
pub(super) fn rows(walk: &Walk, job: &Job) -> Vec<SettingRow> {
    let unit = job.unit;
    let changed: Vec<&str> = job.settings.names().collect();
    let (now, beyond) = (numbers(job), job.settings.beyond(unit));
    let unlikely = now.unlikely(unit);
    // What a number goes back to: the workroom's, where it has one.
    let below = Settings::with(unit, &job.workroom.settings).unwrap_or_else(|_| Settings::defaults(unit)).rows(unit);
    let of_workroom: Vec<&str> = job.workroom.settings.names().collect();
    let row = |(row, below): (Row, Row)| {
        let doubt = unlikely.iter().find(|doubt| doubt.name == row.name);
        let aside = beyond.iter().find(|aside| aside.name == row.name);
        let (field, words) = (format!("settings.{}", row.name), capital(&row.label()));
        let mut default = below.shown(unit);
        if of_workroom.contains(&row.name) {
            default.push_str(", the workroom's");
        }
        let is_changed = changed.contains(&row.name);
        let event = Event::Choose { on: job.id, field: field.clone(), value: None };
        SettingRow {
            name: row.name.to_owned(),
            value: row.shown(unit),
            changed: is_changed,
            reason: match (aside, doubt) {
                (Some(aside), _) => format!("{} {}", aside.says, row.reason),
                (None, Some(_)) => format!("Is this meant? It is far from its default of {default}. {}", row.reason),
                (None, None) => row.reason.to_owned(),
            },
            change: walk.naming(format!("set/{}/{field}", job.id), &words, Vec::new()),
            reset: touch(format!("reset_{}", row.name), "Default", event)
                .said(format!("{words} back to {default}"))
                .live(is_changed),
            default,
            words,
        }
    };
    now.rows(unit).into_iter().zip(below).map(row).collect()
}

/// Leads to the workroom's numbers.
pub(super) fn to_workroom() -> Touch {
    touch("workroom_numbers", "The workroom's numbers", Event::ShowHouse { house: Workroom::ID })
        .said("the workroom's numbers, for every house")
}

/// What writes the workroom's numbers down as the house's own; nothing where it has all of them.
pub(super) fn held(job: &Job) -> Vec<Change> {
    let own: Vec<&str> = job.settings.names().collect();
    let beyond = job.workroom.settings.beyond(job.unit);
    let names = job.workroom.settings.names().filter(|name| !own.contains(name));
    let sound = names.filter(|name| beyond.iter().all(|aside| aside.name != *name));
    sound
        .filter_map(|name| {
            let value = Some(job.workroom.settings.written(name)?);
            Some(Change { on: job.id, field: format!("settings.{name}"), value })
        })
        .collect()
}

/// Holds the numbers that the house has now.
pub(super) fn hold(job: &Job) -> Option<Touch> {
    let changes = held(job);
    (!changes.is_empty()).then(|| {
        touch("hold_numbers", "Hold these numbers", Event::SetAll { changes })
            .said("hold these numbers for this house, whatever becomes of the workroom's")
    })
}

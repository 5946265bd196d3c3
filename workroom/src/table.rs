//! Tables on the terminal. Colours only where standard output is one.

use comfy_table::{Attribute, Cell, CellAlignment, ContentArrangement, Table, presets};
use hangtrue_core::flag::{Flag, Severity};
use hangtrue_core::house::{Job, Opening};
use hangtrue_core::length::Length;
use hangtrue_core::stand::{Reason, Stand};
use hangtrue_core::store::HouseLine;
use hangtrue_core::work::{Worked, WorkedHouse};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use uuid::Uuid;

fn table(head: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(presets::UTF8_BORDERS_ONLY).set_content_arrangement(ContentArrangement::Dynamic);
    if table.width().is_none() {
        table.set_width(80);
    }
    table.set_header(head.iter().map(|words| Cell::new(words).add_attribute(Attribute::Bold)));
    table
}

fn right(words: impl ToString) -> Cell {
    Cell::new(words).set_alignment(CellAlignment::Right)
}

/// Every opening of a house on a line.
pub(crate) fn house(house: &WorkedHouse<'_>) -> String {
    let show = |length: Length| length.show(house.job.unit);
    let mut table = table(&["Room", "Opening", "Mount", "Wide", "Long", "Folds", "Fixings", "Stands"]);
    for worked in &house.openings {
        let mounting = worked.mounts.advised();
        let made = worked.shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok());
        let fixed = worked.shade.as_ref().and_then(|shade| shade.fixing.as_ref());
        table.add_row([
            Cell::new(&worked.room.name),
            Cell::new(&worked.opening.name),
            Cell::new(mounting.map_or("no size yet", |mounting| mounting.form.words())),
            right(mounting.map_or_else(String::new, |mounting| show(mounting.width.total))),
            right(mounting.map_or_else(String::new, |mounting| show(mounting.length.total))),
            right(made.map_or_else(String::new, |made| made.folds.count.to_string())),
            right(fixed.map_or_else(String::new, |fixed| fixed.fixed.len().to_string())),
            Cell::new(worked.stand().words()),
        ]);
    }
    format!("{} ({})\n{table}", house.job.name, house.job.unit.name())
}

/// The houses of a book.
pub(crate) fn houses(lines: &[HouseLine], alone: &BTreeMap<Uuid, u64>) -> String {
    let mut table = table(&["House", "Rooms", "Openings", "Readings", "Only here", "Changed"]);
    let mut names: BTreeMap<&str, u32> = BTreeMap::new();
    for line in lines {
        *names.entry(line.name.trim()).or_default() += 1;
    }
    for line in lines {
        // An id is what tells two of one name apart, and only they need it.
        let shared = names.get(line.name.trim()).is_some_and(|count| *count > 1);
        let name = if shared { format!("{} {}", line.name, line.job) } else { line.name.clone() };
        let name = if line.asked > 0 { format!("{name} (to measure again: {})", line.asked) } else { name };
        table.add_row([
            Cell::new(name),
            right(line.rooms),
            right(line.openings),
            right(line.readings),
            right(alone.get(&line.job).copied().unwrap_or_default()),
            Cell::new(line.changed.format("%Y-%m-%d %H:%M")),
        ]);
    }
    table.to_string()
}

/// One opening: its readings, what they say, every way of mounting, the shade and its fixings.
pub(crate) fn opening(job: &Job, worked: &Worked<'_>) -> String {
    let show = |length: Length| length.show(job.unit);
    let mut out = format!("{}, {}, {} ({})\n\n", job.name, worked.room.name, worked.opening.name, job.unit.name());
    let _ = writeln!(out, "Stands: {}", worked.stand().words());
    for stop in worked.stop_cutting().into_iter().chain(worked.stop_hanging()) {
        let _ = writeln!(out, "{stop}");
    }
    out.push_str(&asks(worked.opening));
    out.push('\n');
    out.push_str(&readings(worked.opening));
    let flags = worked.flags();
    if flags.is_empty() {
        out.push_str("\nThe readings hold together.\n");
    }
    for flag in flags {
        let _ = writeln!(out, "\n{}", flag_words(flag));
    }
    let mut ways = table(&["Way", "Wide", "Long", "Width by", "Stands out", "Adds above", "Board", ""]);
    for way in &worked.mounts.can {
        ways.add_row([
            Cell::new(way.form.words()),
            right(show(way.width.total)),
            right(show(way.length.total)),
            Cell::new(&way.width.rule),
            right(show(way.projection)),
            right(show(way.adds_above)),
            Cell::new(format!("{} x {}", way.board.size.name(), show(way.board_length.total))),
            Cell::new(if worked.mounts.advised == Some(way.form) { "this one" } else { "" }),
        ]);
    }
    let _ = writeln!(out, "\n{ways}");
    for way in &worked.mounts.can {
        for by_hand in way.by_hand(job.unit) {
            let _ = writeln!(out, "{}: {by_hand}", way.form.words());
        }
    }
    for offer in &worked.offers {
        let _ = writeln!(out, "would work: {}", offer.words);
    }
    for way in worked.mounts.can.iter().flat_map(|way| &way.flush_ways) {
        let says = way.why_not.as_ref().unwrap_or(&way.light);
        let mark = if way.taken { " (taken)" } else { "" };
        let _ = writeln!(out, "  {}: projection {}, {says}{mark}", way.what, show(way.projection));
    }
    if worked.opening.choices.count.get() > 1 {
        let _ = writeln!(out, "{} shades alike.", worked.opening.choices.count.get());
    }
    for way in &worked.mounts.cannot {
        let _ = writeln!(out, "{}: {} {}", way.form.words(), way.why, way.would);
    }
    if let Some(shade) = &worked.shade {
        match &shade.makeup {
            Ok(made) => {
                let _ = writeln!(
                    out,
                    "\n{} folds of {}, head {}, flap {}; raised {}; {} rings",
                    made.folds.count,
                    show(made.folds.fold),
                    show(made.folds.head),
                    show(made.folds.flap),
                    show(made.raised.height),
                    made.rings()
                );
                for cut in &made.cuts {
                    let _ = writeln!(
                        out,
                        "  cut {}: {} x {} of {}",
                        cut.part.words(),
                        show(cut.width),
                        show(cut.length),
                        cut.material.words()
                    );
                }
                for stick in &made.sticks {
                    let _ = writeln!(out, "  cut {} {}: {}", stick.count, stick.part.words(), show(stick.length));
                }
            }
            Err(problem) => {
                let _ = writeln!(out, "\n{problem}");
            }
        }
        if let Some(fixing) = &shade.fixing {
            let mut fixed = table(&[
                if fixing.brackets { "Bracket from left" } else { "Screw from left" },
                "Into",
                "Why there",
                "Used",
            ]);
            for each in &fixing.fixed {
                fixed.add_row([
                    right(show(each.at)),
                    Cell::new(each.on.words()),
                    Cell::new(&each.reason),
                    right(format!("{:.0} %", each.load.used * 100.0)),
                ]);
            }
            let _ = writeln!(out, "\n{fixed}");
            for screw in &fixing.screws {
                let _ = writeln!(
                    out,
                    "  {} of {} x {}: {}; pilot {}, bites {}",
                    screw.count,
                    screw.screw,
                    show(screw.length),
                    screw.job.words(),
                    show(screw.lead),
                    show(screw.bites)
                );
            }
        }
    }
    out
}

/// The open requests to measure an opening again, a line each.
pub(crate) fn asks(opening: &Opening) -> String {
    let mut out = String::new();
    for ask in opening.asks.iter().filter(|ask| !opening.is_answered(ask)) {
        let places: Vec<&str> = ask.places.iter().map(|place| place.words()).collect();
        let places = if places.is_empty() { "all of it".to_owned() } else { places.join(", ") };
        let day = ask.at.format("%Y-%m-%d");
        let _ = writeln!(out, "!! To measure again: {places}. {} ({}, {day})", ask.why, ask.by);
    }
    out
}

fn readings(opening: &Opening) -> String {
    let mut table = table(&["Place", "Read", "When", "By", "With"]);
    for reading in &opening.readings {
        let stands = opening.stands(reading);
        table.add_row([
            Cell::new(reading.place.words()),
            right(if stands { reading.typed.text().to_owned() } else { format!("({})", reading.typed.text()) }),
            Cell::new(reading.at.format("%Y-%m-%d %H:%M")),
            Cell::new(&reading.by),
            Cell::new(&reading.with),
        ]);
    }
    for skip in &opening.skipped {
        table.add_row([
            Cell::new(skip.place.words()),
            right("not read"),
            Cell::new(&skip.why),
            Cell::new(&skip.by),
            Cell::new(""),
        ]);
    }
    format!("{table}\n")
}

/// A flag in three lines.
pub(crate) fn flag_words(flag: &Flag) -> String {
    let mark = match flag.severity {
        Severity::TakeAgain => "!!",
        Severity::Decide => " ?",
        Severity::Know => "  ",
    };
    format!("{mark} {} [{}]\n   {}", flag.says, flag.code, flag.to_do)
}

/// A reason why an opening is not settled, in three lines.
pub(crate) fn reason_words(reason: &Reason) -> String {
    let mark = if reason.stand == Stand::Decide { " ?" } else { "!!" };
    let code = if reason.flag.is_empty() { String::new() } else { format!(" [{}]", reason.flag) };
    format!("{mark} {}{code}\n   {}", reason.says, reason.to_do)
}

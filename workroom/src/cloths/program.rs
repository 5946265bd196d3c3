//! `hangtrue cloths` and `hangtrue shelf`: lists, and tables out and in.

use super::{json, set_fields, table};
use crate::book::{BookArgs, hand_out, say};
use crate::{Outcome, moments};
use anyhow::Context as _;
use clap::Args;
use hangtrue::plain::plain;
use hangtrue_core::house::{Job, Workroom};
use hangtrue_core::length::Typed;
use std::path::PathBuf;
use uuid::Uuid;

/// What `hangtrue cloths` and `hangtrue shelf` are told.
#[derive(Args, Debug)]
pub(crate) struct TableArgs {
    #[command(flatten)]
    book: BookArgs,
    /// Take this table in (CSV); a row that cannot be used is named, the others go in
    #[arg(long, value_name = "FILE", conflicts_with = "out")]
    take: Option<PathBuf>,
    /// Write all of it to this file as a table (CSV)
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Who does it
    #[arg(long, default_value = "desk")]
    by: String,
}

/// The workroom's cloths.
pub(crate) fn cloths(args: &TableArgs) -> anyhow::Result<Outcome> {
    run(args, true)
}

/// The workroom's shelf.
pub(crate) fn shelf(args: &TableArgs) -> anyhow::Result<Outcome> {
    run(args, false)
}

fn run(args: &TableArgs, cloths: bool) -> anyhow::Result<Outcome> {
    let (what, words) = if cloths { ("cloths", "a table of cloths") } else { ("pieces", "a table of the shelf") };
    let mut book = if args.take.is_some() { args.book.open()? } else { args.book.read()? };
    let folded = book.house(Workroom::ID)?.context("the workroom is always there")?;
    let job = &folded.job;
    let houses: Vec<(Uuid, String)> = book.houses()?.into_iter().map(|line| (line.job, line.name)).collect();
    let written = |job: &Job| {
        if cloths { table::cloths_out(&job.cloths, job.unit) } else { table::shelf_out(&job.shelf, &houses) }
    };
    if let Some(path) = &args.out {
        let first = written(&Job::new(Workroom::ID, String::new(), job.unit));
        hand_out(path, written(job).as_bytes(), words, &|there| there.starts_with(first.trim_end()))?;
        return Ok(Outcome::Good);
    }
    let Some(path) = &args.take else {
        let lines = if cloths { cloth_lines(job) } else { shelf_lines(job, &houses) };
        say(if lines.is_empty() { "There are none yet." } else { &lines })?;
        return Ok(Outcome::Good);
    };
    let text = std::fs::read_to_string(path).with_context(|| format!("{} cannot be read as text", path.display()))?;
    let (fields, slips) = if cloths {
        let taken = table::cloths_in(&text, &job.cloths, job.unit);
        let new = taken.rows.iter().filter(|cloth| !job.cloths.contains(cloth));
        (
            new.map(|cloth| (Workroom::ID, format!("cloths.{}", cloth.name), json(cloth, job.unit)))
                .collect::<Vec<_>>(),
            taken.slips,
        )
    } else {
        let taken = table::shelf_in(&text, &job.shelf, &job.cloths, &houses, job.unit, &mut || moments::now().uuid());
        let new = taken.rows.iter().filter(|(id, piece)| job.shelf.get(id) != Some(piece));
        (new.map(|(id, piece)| (Workroom::ID, format!("shelf.{id}"), json(piece, job.unit))).collect(), taken.slips)
    };
    let count = fields.len();
    set_fields(&mut book, &folded, fields, &args.by)?;
    book.pause()?;
    say(&format!("{count} {what} taken in"))?;
    for slip in &slips {
        eprintln!("{}", plain(&format!("{}: {}", path.display(), slip.words()), true));
    }
    Ok(if slips.is_empty() { Outcome::Good } else { Outcome::SomeRefused })
}

fn cloth_lines(job: &Job) -> String {
    let unit = job.unit;
    let line = |cloth: &hangtrue_core::house::Cloth| {
        let usable = cloth.usable.as_ref().unwrap_or(&cloth.width).value().show_marked(unit);
        let words = [cloth.code.clone(), cloth.supplier.clone(), super::cloth::price_words(cloth, unit)];
        let words: Vec<String> = words.into_iter().filter(|words| !words.is_empty()).collect();
        format!("{}: {usable} usable{}{}", cloth.name, if words.is_empty() { "" } else { "; " }, words.join("; "))
    };
    job.cloths.iter().map(line).collect::<Vec<_>>().join("\n")
}

fn shelf_lines(job: &Job, houses: &[(Uuid, String)]) -> String {
    let there = job.shelf.values().filter(|piece| !piece.gone);
    let line = |piece: &hangtrue_core::house::ShelfPiece| {
        let mut words = vec![format!("{}: {} long", piece.cloth, piece.length.value().show_marked(job.unit))];
        words.extend((!piece.lot.is_empty()).then(|| format!("lot {}", piece.lot)));
        words.extend(
            (!piece.flaws.is_empty())
                .then(|| format!("flaws {}", super::piece::flaw_words(piece, &Typed::marked_text))),
        );
        words.extend(piece.owner.map(|id| {
            houses
                .iter()
                .find(|(known, _)| *known == id)
                .map_or_else(|| "another's".to_owned(), |(_, name)| format!("of {name}"))
        }));
        words.join("; ")
    };
    there.map(line).collect::<Vec<_>>().join("\n")
}

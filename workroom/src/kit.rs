//! `hangtrue kit`: what is carried to the houses of a day.

use crate::book::{self, BookArgs, say};
use crate::{Outcome, moments};
use anyhow::{Context as _, bail};
use hangtrue_core::house::Job;
use hangtrue_core::kit;
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::sheet::{self, Heading};
use hangtrue_core::work::{self, WorkedHouse};
use maud::Markup;
use std::path::PathBuf;

/// What `hangtrue kit` is told.
#[derive(clap::Args, Debug)]
pub(crate) struct KitArgs {
    #[command(flatten)]
    book: BookArgs,
    /// The houses of the day, each by its name or a part of it, or the start of its id
    #[arg(required = true)]
    houses: Vec<String>,
    /// The folder it is written to
    #[arg(long, value_name = "FOLDER", default_value = "sheets")]
    out: PathBuf,
}

/// The kit for these houses as a sheet, in the unit of the first unless another is asked for.
pub(crate) fn sheet_of(houses: &[&WorkedHouse<'_>], unit: Option<LengthUnit>) -> Option<Markup> {
    let day = sheet::kit_house(houses)?;
    let today = moments::today();
    let heading = Heading { job: &day, unit: unit.unwrap_or(day.unit), day: &today };
    Some(sheet::kit(&heading, &kit::kit(houses, heading.unit)))
}

/// Writes the kit for the houses of a day, into the folder of the first.
pub(crate) fn run(args: &KitArgs) -> anyhow::Result<Outcome> {
    let mut jobs: Vec<Job> = Vec::new();
    for house in &args.houses {
        let job = book::find(&args.book, house)?;
        if jobs.iter().all(|there| there.id != job.id) {
            jobs.push(job);
        }
    }
    let worked =
        jobs.iter().map(|job| work::house(job, Catalogue::standard(job.unit))).collect::<Result<Vec<_>, _>>()?;
    let houses: Vec<&WorkedHouse<'_>> = worked.iter().collect();
    let Some(sheet) = sheet_of(&houses, None) else { bail!("no house was named") };
    let folder = book::house_folder(&jobs[0], &args.out)?;
    let path = folder.join(if jobs.len() == 1 { "kit.html" } else { "kit-of-the-day.html" });
    book::write_sheet(&path, "Kit for the day", &[sheet])
        .with_context(|| format!("{} cannot be written", path.display()))?;
    say(&path.display().to_string())?;
    Ok(Outcome::Good)
}

//! What a house prints, all of it.

use hangtrue_core::buying::Shop;
use hangtrue_core::house::Job;
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::{kit, sheet, work};

/// Every sheet of a house written in a unit, each with a name to find it by.
///
/// # Panics
/// When the house's numbers do not fit.
pub fn sheets_in(job: &Job, unit: LengthUnit) -> Vec<(String, String)> {
    let heading = sheet::Heading { job, unit, day: "2026-05-04" };
    let worked = work::house(job, Catalogue::standard(job.unit)).unwrap();
    let plans = work::plans(&worked, Shop::standard(job.unit));
    let mut all = vec![("house".to_owned(), sheet::summary(&heading, &worked).into_string())];
    for one in &worked.openings {
        let name = format!("{}, {}", one.room.name, one.opening.name);
        let mut add = |what: &str, text: String| all.push((format!("{name}: {what}"), text));
        if let Some(markup) = sheet::making(&heading, one, Some(&plans)) {
            add("making", markup.into_string());
        }
        add("hanging", sheet::hanging(&heading, one).into_string());
        add("measuring", sheet::measuring(&heading, one).into_string());
        add("working", sheet::working(&heading, one).into_string());
        if let Some(markup) = sheet::full_size(&heading, one) {
            add("full size", markup.into_string());
        }
    }
    for markup in sheet::full_sizes(&heading, &worked) {
        all.push(("full sizes".to_owned(), markup.into_string()));
    }
    all.push(("cutting".to_owned(), sheet::cutting(&heading, &plans, &worked).into_string()));
    all.push(("buying".to_owned(), sheet::buying(&heading, &plans).into_string()));
    all.push(("kit".to_owned(), sheet::kit(&heading, &kit::kit(&[&worked], unit)).into_string()));
    all.push(("care".to_owned(), sheet::minding(&heading, &worked).into_string()));
    all
}

//! The summary of a house: every opening on one line, and what stands in the way of cutting.

use super::{Heading, flag};
use crate::flag::Severity;
use crate::length::Length;
use crate::work::{Worked, WorkedHouse};
use maud::{Markup, html};

/// The summary sheet of a house.
pub fn summary(heading: &Heading<'_>, house: &WorkedHouse<'_>) -> Markup {
    let show = |length: Length| heading.show(length);
    let content = html! {
        table {
            thead { tr { th { "Opening" } th { "Mount" } th.n { "Wide" } th.n { "Long" } th { "Cloth" } th { "Stands open" } } }
            tbody {
                @for worked in &house.openings {
                    tr {
                        td { (worked.room.name) ", " strong { (worked.opening.name) } }
                        @match worked.mounts.advised() {
                            Some(mounting) => {
                                td { (mounting.form.words()) }
                                td.n.size { (show(mounting.width.total)) }
                                td.n.size { (show(mounting.length.total)) }
                            }
                            None => { td colspan="3" { "cannot be worked out yet" } }
                        }
                        td { (worked.opening.choices.cloth.as_deref().unwrap_or("not chosen")) }
                        td { (open_words(worked)) }
                    }
                }
            }
        }
        h2 { "Before cutting" }
        @let waiting: Vec<&Worked<'_>> = house.openings.iter().filter(|worked| worked.stands_open().next().is_some()).collect();
        @let pairs = house.pairs();
        @let apart = house.apart();
        @if waiting.is_empty() && pairs.is_empty() && apart.is_empty() { p { "Nothing stands in the way." } }
        div.columns {
            @for each in &apart { (flag(each)) }
        @for (room, flags) in &pairs {
                h3 { (room.name) }
                @for each in flags { (flag(each)) }
            }
            @for worked in waiting {
                h3 { (worked.room.name) ", " (worked.opening.name) }
                @for each in worked.stands_open() { (flag(each)) }
            }
        }
    };
    heading.sheet("House", &format!("{} openings", house.openings.len()), &content)
}

/// How many flags of each kind stand open, in words.
fn open_words(worked: &Worked<'_>) -> String {
    let count = |severity: Severity| worked.stands_open().filter(|flag| flag.severity == severity).count();
    let (again, decide) = (count(Severity::TakeAgain), count(Severity::Decide));
    match (again, decide) {
        (0, 0) => "nothing".to_owned(),
        (again, 0) => format!("{again} to take again"),
        (0, decide) => format!("{decide} to decide"),
        (again, decide) => format!("{again} to take again, {decide} to decide"),
    }
}

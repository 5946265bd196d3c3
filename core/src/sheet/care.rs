//! The sheet of what to mind: every lift beside the rules of the place, and the cautions of this house's shades, each
//! with its source. Nothing on it says that a shade complies.

use super::{Heading, sentence};
use crate::care::{self, Caution, NOT_A_STATEMENT, Rule};
use crate::house::{Lift, Region};
use crate::work::WorkedHouse;
use maud::{Markup, html};

/// The sheet of a house's cautions.
pub fn minding(heading: &Heading<'_>, house: &WorkedHouse<'_>) -> Markup {
    let job = heading.job;
    let lifted = |lift: Lift| {
        let names: Vec<String> = house
            .openings
            .iter()
            .filter(|one| one.opening.choices.lift == lift)
            .map(|one| format!("{}, {}", one.room.name, one.opening.name))
            .collect();
        names.join("; ")
    };
    let content = html! {
        p {
            "The house stands in " strong { (place(job.region)) } "; "
            @match job.built { Some(year) => { "built " strong { (year) } ". " } None => "nobody said when it was built. " }
            @if job.region == Region::Unsaid { "While nobody says where, the rules of every place are shown." }
        }
        h2 { "Lifts" }
        table {
            thead { tr { th { "Lift" } th { "Shades of this house" } th { "What stands beside it" } } }
            tbody {
                @for (lift, rules) in care::lifts(job.region) {
                    tr {
                        td { strong { (words(lift)) } br; @if care::can_be_reached(lift) { "a child can reach it" } @else { "no cord in reach" } }
                        td { (lifted(lift)) }
                        td { @if rules.is_empty() { "The first choice where children are or visit." } @else { ul.care { @for rule in rules { li { (stands(rule)) } } } } }
                    }
                }
            }
        }
        @for (topic, cautions) in by_topic(house) {
            h2 { (topic) }
            ul.care {
                @for (caution, openings) in cautions {
                    li {
                        (sentence(&caution.says)) " "
                        @match caution.keeps {
                            Some(true) => { strong { "The measure here is within the figure." } " " }
                            Some(false) => { strong { "The measure here is past the figure." } " " }
                            None => {}
                        }
                        span.soft { "(" (caution.source) "; " (caution.known.words()) ")" }
                        @if openings.len() < house.openings.len() { br; span.soft { (openings.join("; ")) } }
                    }
                }
            }
        }
        p { strong { (NOT_A_STATEMENT) } }
    };
    heading.sheet("Care", &format!("{} openings", house.openings.len()), &content)
}

fn stands(rule: &Rule) -> Markup {
    html! { (sentence(rule.says)) " " span.soft { "(" (rule.source) "; " (rule.known.words()) ")" } }
}

const fn words(lift: Lift) -> &'static str {
    match lift {
        Lift::NoReachableCord => "No cord in reach",
        Lift::Motor => "Motor",
        Lift::ChainLoop => "Chain, held tight",
        Lift::CordLock => "Cord lock and cleat",
    }
}

const fn place(region: Region) -> &'static str {
    match region {
        Region::Unsaid => "a place that nobody named",
        Region::Canada => "Canada",
        Region::UnitedStates => "the United States",
        Region::EuropeUk => "Europe or the United Kingdom",
        Region::Australia => "Australia",
    }
}

/// A caution, with the names of the openings that it is about.
type Said<'a> = (&'a Caution, Vec<String>);

/// Each caution once, by topic, with the openings that it is about.
fn by_topic<'a>(house: &'a WorkedHouse<'_>) -> Vec<(&'static str, Vec<Said<'a>>)> {
    let mut topics: Vec<(&'static str, Vec<Said<'a>>)> = Vec::new();
    for one in &house.openings {
        let name = format!("{}, {}", one.room.name, one.opening.name);
        for caution in one.shade.iter().flat_map(|shade| &shade.care) {
            let topic = caution.topic.words();
            let at = topics.iter().position(|(other, _)| *other == topic).unwrap_or_else(|| {
                topics.push((topic, Vec::new()));
                topics.len() - 1
            });
            let said = &mut topics[at].1;
            match said.iter_mut().find(|(other, _)| other.says == caution.says && other.keeps == caution.keeps) {
                Some((_, openings)) => openings.push(name.clone()),
                None => said.push((caution, vec![name.clone()])),
            }
        }
    }
    topics
}

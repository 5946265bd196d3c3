//! The sheet of what to mind: every lift beside the rules of the place, and the cautions of this house's shades, each
//! with its source. Nothing on it says that a shade complies.

use super::frame::{Block, Sheet, WIDE, text_mm};
use super::set::set;
use super::{Heading, name_of, sentence};
use crate::care::{self, Caution, NOT_A_STATEMENT, Rule};
use crate::house::{Lift, Region};
use crate::work::WorkedHouse;
use maud::{Markup, html};

/// The sheet of a house's cautions.
pub fn minding(heading: &Heading<'_>, house: &WorkedHouse<'_>) -> Markup {
    let job = heading.job;
    let lifted = |lift: Lift| {
        let names: Vec<String> =
            house.openings.iter().filter(|one| one.opening.choices.lift == lift).map(name_of).collect();
        names.join("; ")
    };
    let built =
        job.built.map_or_else(|| "the year it was built is not entered.".to_owned(), |year| format!("built {year}."));
    let unsaid = if job.region == Region::Unsaid {
        " While no place is entered, the rules of every place are shown."
    } else {
        ""
    };
    let intro = format!("Place: {}; {built}{unsaid} {NOT_A_STATEMENT}", place(job.region));
    let mut blocks = vec![Block::whole(html! { p { (intro) } }, text_mm(&intro, WIDE, 10.0, 1.28) + 2.5)];
    let all = care::lifts(job.region);
    let lifts = all
        .iter()
        .map(|(lift, _)| {
            let names = lifted(*lift);
            let reach = if care::can_be_reached(*lift) {
                "a child can reach it"
            } else {
                "no cord in reach: the first choice where children are or visit"
            };
            let mm = text_mm(&names, 104.0, 9.0, 1.22).max(text_mm(reach, 38.0, 8.5, 1.22)).max(4.6) + 1.6;
            let row = html! { tr { td { b { (words(*lift)) } } td.note { (reach) } td { (names) } } };
            (row, mm)
        })
        .collect();
    blocks.push(Block::parts(15.0, lifts, 1, |parts, first| {
        html! {
            h2 { "Lifts" @if !first { " (goes on)" } }
            table.lifts.close {
                thead { tr { th { "Lift" } th { "A child" } th { "Shades of this house" } } }
                tbody { @for part in parts { (part) } }
            }
        }
    }));
    // Each rule once, with the lifts that it is beside where they are not all of those within reach.
    let reachable = all.iter().filter(|(lift, _)| care::can_be_reached(*lift)).count();
    let mut rules: Vec<(&Rule, Vec<&str>)> = Vec::new();
    for (lift, beside) in &all {
        for rule in beside {
            match rules.iter_mut().find(|(known, _)| known.code == rule.code) {
                Some((_, lifts)) => lifts.push(words(*lift)),
                None => rules.push((rule, vec![words(*lift)])),
            }
        }
    }
    let mut lists = vec![("Rules beside a cord or loop within reach", Vec::new())];
    for (rule, lifts) in rules {
        let beside = if lifts.len() == reachable { String::new() } else { format!(" [{}]", lifts.join("; ")) };
        lists[0].1.push((String::new(), format!("{}{beside}", stands(rule))));
    }
    lists.push(("Cautions", Vec::new()));
    for (topic, cautions) in by_topic(house) {
        for (caution, openings) in cautions {
            let mut text = caution.long();
            if openings.len() < house.openings.len() {
                text.push_str(&format!(" [{}]", openings.join("; ")));
            }
            lists[1].1.push((format!("{topic}."), text));
        }
    }
    for (title, items) in lists {
        let parts = items
            .into_iter()
            .map(|(topic, text)| {
                let mm = text_mm(&format!("{topic} {text}"), WIDE / 2.0 - 6.5, 8.5, 1.25) + 0.6;
                (html! { li { b { (topic) } " " (set(&text)) } }, mm)
            })
            .collect();
        blocks.push(Block::parts(9.2, parts, 2, move |parts, first| {
            html! { h2 { (title) @if !first { " (goes on)" } } ul.care.columns { @for part in parts { (part) } } }
        }));
    }
    let of = format!("{} openings", house.openings.len());
    heading.pages(&Sheet::of("Care", "Of", &of, blocks))
}

fn stands(rule: &Rule) -> String {
    let stock = if rule.is_of_stock() { "For stock products, not for a shade made to order: " } else { "" };
    format!("{stock}{} ({}; {})", sentence(rule.says), rule.source, rule.known.words())
}

const fn words(lift: Lift) -> &'static str {
    match lift {
        Lift::NoReachableCord => "No cord in reach",
        Lift::Motor => "Motor",
        Lift::ChainLoop => "Chain, held tight",
        Lift::CordLock => "Cord lock and cleat",
        Lift::EndlessCord => "Endless cord, held tight",
        Lift::TopDownBottomUp => "From top and bottom, two cords",
    }
}

const fn place(region: Region) -> &'static str {
    match region {
        Region::Unsaid => "not entered",
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

//! The kit for a day: everything that is carried to its houses, with a box for each.

use super::Heading;
use super::frame::{Block, Sheet, WIDE, text_mm};
use crate::care::NOT_A_STATEMENT;
use crate::flag::listed;
use crate::house::Job;
use crate::kit::{Kit, Line};
use crate::length::LengthUnit;
use crate::work::WorkedHouse;
use maud::{Markup, html};

/// The house that a kit's pages are headed by: the only one, or all of them by name with what of their settings is the same.
pub fn kit_house(houses: &[&WorkedHouse<'_>]) -> Option<Job> {
    let first = houses.first()?.job;
    if houses.len() == 1 {
        return Some(first.clone());
    }
    let mut day = Job::new(first.id, listed(houses.iter().map(|house| house.job.name.clone())), first.unit);
    if houses.iter().all(|house| house.job.settings == first.settings) {
        day.settings = first.settings.clone();
    }
    day.workroom = first.workroom.clone();
    Some(day)
}

/// What is carried to the houses of a day.
pub fn kit(heading: &Heading<'_>, kit: &Kit) -> Markup {
    let mut blocks = Vec::new();
    for said in &kit.left_out {
        let said = format!("Not packed: {said}");
        blocks.push(Block::whole(html! { p { (said) } }, text_mm(&said, WIDE, 10.0, 1.28) + 1.5));
    }
    if kit.bags.is_empty() {
        blocks.push(Block::whole(html! { p { "There is nothing to pack yet: only what is settled is hung." } }, 6.0));
    }
    let bags = kit.bags.iter().map(|bag| {
        let things: Vec<String> = bag
            .things
            .iter()
            .map(|thing| {
                let used = if thing.used.is_empty() { String::new() } else { format!(" ({})", thing.used) };
                format!("{} {}{used}", thing.count, thing.what)
            })
            .collect();
        let things = if things.is_empty() { "no fixings".to_owned() } else { things.join("; ") };
        row(heading, &format!("Shade and bag: {}", bag.of), &things)
    });
    blocks.push(table("Shades and their bags", "In the bag", bags.collect()));
    let unit = heading.unit();
    let bits = kit.bits.iter().map(|bit| {
        let size = if unit.is_imperial() { bit.size.show(LengthUnit::Inch) } else { bit.size.show_marked(unit) };
        let what = format!("{size} bit, {} deep at least", heading.show_marked(bit.reach));
        row(heading, &what, &bit.why.join("; "))
    });
    blocks.push(table("Bits", "For", bits.collect()));
    for (title, lines) in
        [("Tools", &kit.tools), ("To reach and to lift", &kit.reach), ("Not known: bring both", &kit.both)]
    {
        blocks.push(table(title, "For", lines.iter().map(|line| of_line(heading, line)).collect()));
    }
    if !kit.mind.is_empty() {
        let said = format!("{} {NOT_A_STATEMENT}", kit.mind.join(" "));
        let mm = text_mm(&format!("Mind. {said}"), WIDE, 8.5, 1.25) + 1.6;
        blocks.push(Block::whole(html! { p.mind { b { "Mind." } " " span.care { (super::set::set(&said)) } } }, mm));
    }
    heading.pages(&Sheet::of("Kit", "Of", "what is carried there", blocks))
}

fn of_line(heading: &Heading<'_>, line: &Line) -> (Markup, f64) {
    row(heading, &line.what, &if line.why.is_empty() { "every house".to_owned() } else { line.why.join("; ") })
}

fn row(heading: &Heading<'_>, what: &str, why: &str) -> (Markup, f64) {
    let mm = text_mm(what, 76.0, 10.6, 1.22).max(text_mm(why, 92.0, 9.0, 1.25)).max(5.4) + 1.8;
    (html! { tr { td.tick { span.box {} } td { b { (heading.set(what)) } } td.note { (heading.set(why)) } } }, mm)
}

fn table<'a>(title: &'static str, last: &'static str, rows: Vec<(Markup, f64)>) -> Block<'a> {
    Block::parts(14.5, rows, 1, move |parts, first| {
        html! {
            h2 { (title) @if !first { " (goes on)" } }
            table.kit {
                thead { tr { td.tick {} th { "Take" } th { (last) } } }
                tbody { @for part in parts { (part) } }
            }
        }
    })
}

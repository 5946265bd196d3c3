//! The summary of a house: every opening on one line, and what stands in the way of cutting.

use super::frame::{Block, Sheet, WIDE, text_mm};
use super::{Heading, alike, flag, name_of};
use crate::flag::Flag;
use crate::stand::{Reason, Stand};
use crate::work::WorkedHouse;
use maud::{Markup, html};

/// The summary sheet of a house.
pub fn summary(heading: &Heading<'_>, house: &WorkedHouse<'_>) -> Markup {
    let rows = house
        .openings
        .iter()
        .map(|worked| {
            let name = name_of(worked);
            let cloth = worked.opening.choices.cloth.as_deref().unwrap_or("not chosen");
            let mount = worked.mounts.advised().map_or("", |mounting| mounting.form.words());
            let by_hand = worked.mounts.advised().map_or_else(Vec::new, |mounting| mounting.by_hand(heading.unit()));
            let mm = text_mm(&name, 50.0, 10.0, 1.22)
                .max(text_mm(cloth, 28.0, 10.0, 1.22))
                .max(
                    text_mm(mount, 34.0, 10.0, 1.22)
                        + by_hand.iter().map(|each| text_mm(each, 34.0, 8.5, 1.22)).sum::<f64>(),
                )
                .max(6.0 + worked.standing.reasons.first().map_or(0.0, |reason| text_mm(&reason.brief, 34.0, 8.5, 1.25)))
                + 1.8;
            let row = html! {
                tr {
                    td { (worked.room.name) ", " b { (worked.opening.name) } }
                    @match worked.mounts.advised() {
                        Some(mounting) => {
                            td { (alike(worked.opening)) (mount) @for each in &by_hand { span.sub { (heading.set(each)) } } }
                            td.n.mid { (heading.len(mounting.width.total)) }
                            td.n.mid { (heading.len(mounting.length.total)) }
                        }
                        None => { td colspan="3" { "no size yet" } }
                    }
                    td { (cloth) }
                    td { b { (worked.stand().words()) } @if let Some(reason) = worked.standing.reasons.first() { span.sub { (heading.set(&reason.brief)) } } }
                }
            };
            (row, mm)
        })
        .collect();
    let mut blocks = vec![Block::parts(9.0, rows, 1, |parts, _| {
        html! {
            table {
                thead { tr { th { "Opening" } th { "Mount" } th.n { "Wide" } th.n { "Long" } th { "Cloth" } th { "Stands" } } }
                tbody { @for part in parts { (part) } }
            }
        }
    })];
    let mut open: Vec<(Markup, f64)> = Vec::new();
    let high = |says: &str, to_do: &str| text_mm(&format!("{says} {to_do}"), WIDE / 2.0 - 7.0, 9.5, 1.25) + 1.6;
    let mut apart = house.apart();
    apart.extend(house.set_aside());
    let questions: Vec<&Flag> = house.questions().map(|(_, question)| question).collect();
    for each in apart.iter().chain(questions) {
        open.push((flag(heading, each), high(&each.says, &each.to_do)));
    }
    for worked in house.openings.iter().filter(|worked| !worked.standing.is_settled()) {
        // What the whole set is asked stands once, above.
        let own = worked
            .standing
            .reasons
            .iter()
            .filter(|reason| !["set_differs", "heads_differ", "setting_beyond"].contains(&reason.flag.as_str()));
        for (n, reason) in own.enumerate() {
            let markup = html! { div { @if n == 0 { h3 { (name_of(worked)) } } (why(heading, reason)) } };
            open.push((markup, high(&reason.says, &reason.to_do) + if n == 0 { 8.0 } else { 0.0 }));
        }
    }
    if open.is_empty() {
        open.push((html! { p { "Nothing stands in the way." } }, 6.0));
    }
    blocks.push(Block::parts(9.2, open, 2, |parts, first| {
        html! {
            h2 { "Before cutting" @if !first { " (goes on)" } }
            div.columns { @for part in parts { (part) } }
        }
    }));
    let of = format!("{} openings", house.openings.len());
    heading.pages(&Sheet::of("House", "Of", &of, blocks))
}

/// A reason as a flag is shown: its mark says whether it is to be read or to be decided.
fn why(heading: &Heading<'_>, reason: &Reason) -> Markup {
    let class = if reason.stand == Stand::Decide { "decide" } else { "take_again" };
    html! { div class={ "flag " (class) } { b { (heading.set(&reason.says)) } " " (heading.set(&reason.to_do)) } }
}

//! A fixing from the side at full size, once for each distinct one, with bars to check the print by.

use super::drawing::Drawing;
use super::frame::{Block, Sheet, WIDE, text_mm};
use super::hanging::Side;
use super::{Heading, name_of};
use crate::mount::Mounting;
use crate::work::{Worked, WorkedHouse};
use maud::{Markup, PreEscaped, html};

/// The fixing of one opening at full size.
pub fn full_size(heading: &Heading<'_>, worked: &Worked<'_>) -> Option<Markup> {
    let mounting = worked.mounts.advised()?;
    Some(one(heading, mounting, &drawn(heading, mounting), &name_of(worked)))
}

/// Every distinct fixing of a house at full size, each with the openings that it is for.
pub fn full_sizes(heading: &Heading<'_>, house: &WorkedHouse<'_>) -> Vec<Markup> {
    let mut kinds: Vec<(String, &Mounting, Vec<String>)> = Vec::new();
    for worked in &house.openings {
        let Some(mounting) = worked.mounts.advised() else { continue };
        let drawing = drawn(heading, mounting);
        match kinds.iter_mut().find(|(known, ..)| *known == drawing) {
            Some((_, _, names)) => names.push(name_of(worked)),
            None => kinds.push((drawing, mounting, vec![name_of(worked)])),
        }
    }
    kinds.into_iter().map(|(drawing, mounting, names)| one(heading, mounting, &drawing, &names.join("; "))).collect()
}

fn drawn(heading: &Heading<'_>, mounting: &Mounting) -> String {
    let mut d = Drawing::full_size("The fixing from the side, full size");
    Side::of(mounting).draw(&mut d, heading, mounting, (45.0, 50.0));
    d.svg()
}

fn one(heading: &Heading<'_>, mounting: &Mounting, drawing: &str, names: &str) -> Markup {
    let bracket = mounting.bracket.as_ref().map_or_else(String::new, |bracket| format!("; bracket {}", bracket.name));
    let said = format!("{}; board {}{bracket}. Scale 1:1.", mounting.form.words(), mounting.board.size.name());
    let how = "Full size. Lay a rule on the bars at the left and below: where they are not right the print was scaled, and is \
               printed again at 100 %. Hold the drawing to the trim, the handle and the sill before drilling.";
    let for_words = format!("For {names}.");
    let mm = text_mm(how, WIDE, 10.0, 1.28) + text_mm(&for_words, WIDE, 10.0, 1.28) + 179.0 + 12.0;
    let content = html! {
        p { (heading.set(how)) }
        p { (for_words) }
        figure { (PreEscaped(drawing)) figcaption { (heading.set(&said)) } }
    };
    let fixing = crate::flag::sentence(mounting.form.words());
    let of = format!("{}, board {}", fixing.trim_end_matches('.'), mounting.board.size.name());
    heading.pages(&Sheet::of("Full size", "Fixing", &of, vec![Block::whole(content, mm)]))
}

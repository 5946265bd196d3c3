//! Sheets: self-contained HTML with drawings to scale, for paper in Letter and A4.
//!
//! A sheet shows what other modules worked out and does no sums of its own. Every sheet carries the house, the
//! opening, the day it was worked out, the settings that differ, and a hash of its own content, so that two prints can
//! be told apart. Nothing is wider than 186 mm: the printable width that both papers share.

mod care;
mod cutting;
mod drawing;
mod hanging;
mod making;
mod measuring;
mod summary;

pub use care::minding;
pub use cutting::{buying, cloth, timber};
pub use hanging::{full_size, hanging};
pub use making::{making, making_of};
pub use measuring::{measuring, opening_figure};
pub use summary::summary;

use crate::flag::{Flag, sentence};
use crate::house::Job;
use crate::length::{Length, LengthUnit};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

/// The widest drawing that fits both papers, millimetres.
const PAPER_WIDTH: f64 = 180.0;

/// The style of every sheet; a page that shows sheets among other things links it.
pub const STYLE: &str = include_str!("style.css");

/// What every sheet of a house carries.
#[derive(Clone, Copy, Debug)]
pub struct Heading<'a> {
    /// The house.
    pub job: &'a Job,
    /// The unit lengths are written in: the house's, unless a reader wants another.
    pub unit: LengthUnit,
    /// The day it is printed for, as the caller writes it: `2026-05-04`.
    pub day: &'a str,
}

impl Heading<'_> {
    const fn unit(&self) -> LengthUnit {
        self.unit
    }

    fn show(&self, length: Length) -> String {
        length.show(self.unit)
    }

    /// One sheet: its title, what it is of, and its content, with the foot that every sheet has.
    fn sheet(&self, title: &str, of: &str, content: &Markup) -> Markup {
        let hash = Sha256::digest(content.0.as_bytes());
        let hash: String = hash.iter().take(6).map(|byte| format!("{byte:02x}")).collect();
        let changed: Vec<String> = match self.job.settings() {
            Ok(settings) => settings
                .rows(self.unit())
                .into_iter()
                .filter(|row| row.value != row.default)
                .map(|row| format!("{} {}", row.name.replace('_', " "), row.shown(self.unit())))
                .collect(),
            Err(problem) => vec![problem.to_string()],
        };
        html! {
            section.sheet {
                header.head {
                    h1 { (title) }
                    p { strong { (self.job.name) } br; (of) }
                }
                (content)
                div.foot {
                    p {
                        "Lengths in " (unit_words(self.unit())) ". "
                        @if changed.is_empty() { "All settings at their defaults. " } @else { "Settings changed here: " (changed.join("; ")) ". " }
                        "Worked out for " (self.day) ". Content " (hash) "."
                    }
                }
            }
        }
    }
}

/// A whole document of sheets.
pub fn document(title: &str, sheets: &[Markup]) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body { main { @for sheet in sheets { (sheet) } } }
        }
    }
    .into_string()
}

fn unit_words(unit: LengthUnit) -> &'static str {
    match unit {
        LengthUnit::Inch => "inches",
        LengthUnit::Foot => "feet and inches",
        LengthUnit::Millimetre => "millimetres",
        LengthUnit::Centimetre => "centimetres",
        LengthUnit::Metre => "metres",
    }
}

/// A flag as a sheet shows it; its severity is told by words and by its mark's shape, not by colour alone.
fn flag(flag: &Flag) -> Markup {
    let class = match flag.severity {
        crate::flag::Severity::TakeAgain => "take_again",
        crate::flag::Severity::Decide => "decide",
        crate::flag::Severity::Know => "know",
    };
    html! {
        div class={ "flag " (class) } {
            b { (flag.says) }
            (flag.to_do)
        }
    }
}

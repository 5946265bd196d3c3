//! Sheets: self-contained HTML with drawings to scale, for paper in Letter and A4.
//!
//! A sheet shows what other modules worked out and does no sums of its own. Two pages go to work for every opening: one
//! to make by, one to hang by. The measuring record and the full working are sheets of their own, for the file. Every
//! page carries the house, the opening, the sheet and its number among the pages of that sheet; every sheet the day it was
//! worked out, the settings that differ, and a hash of its own content, so that two prints can be told apart.
//!
//! Both papers share 186 mm by 261 mm; the module `frame` fills pages of that size and starts the next before one runs over.
//! Every length is shown to a whole mark of the tape of the unit it is shown in: what is cut was rounded where it was
//! worked out, in a named direction, and comes here as a whole mark.

mod care;
mod cutting;
mod drawing;
mod frame;
mod full_size;
mod hanging;
mod invoice;
mod kit;
mod labels;
mod making;
mod measuring;
mod quote;
mod set;
mod summary;
mod working;

pub use care::minding;
pub use cutting::{buying, cutting};
pub use full_size::{full_size, full_sizes};
pub use hanging::hanging;
pub use invoice::invoice;
pub use kit::{kit, kit_house};
pub use labels::{Code, Laid, labels};
pub use making::making;
pub use measuring::{measuring, opening_figure};
pub use quote::quote;
pub use set::{Piece, pieces};
pub use summary::summary;
pub use working::working;

use crate::flag::{Flag, Severity, sentence};
use crate::house::{Job, Opening};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::work::Worked;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use set::set;

/// The widest drawing that fits both papers, millimetres.
const PAPER_WIDTH: f64 = 180.0;

/// The look in one place: type, space, colours, of sheets and of the page alike.
pub const TOKENS: &str = include_str!("tokens.css");

/// The style of every sheet, over [`TOKENS`]; a page that shows sheets among other things links it.
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

    /// A length to the nearest mark of the tape. What is cut is a whole mark already; this brings the rest there, and a
    /// house that is shown in the other unit.
    fn on_tape(&self, length: Length) -> Length {
        length.round(Grain::of_tape(self.unit), Direction::Nearest)
    }

    fn show(&self, length: Length) -> String {
        if self.is_translated() { length.show_about(self.unit) } else { self.on_tape(length).show(self.unit) }
    }

    /// As [`Self::show`], with the unit.
    fn show_marked(&self, length: Length) -> String {
        let on_tape = self.on_tape(length);
        let about = if self.is_translated() && on_tape != length { "about " } else { "" };
        format!("{about}{}", on_tape.show_marked(self.unit))
    }

    /// A text with its fractions set; a length in it that is finer than a tape is about, to the nearest mark: words from
    /// elsewhere may quote a reading or an estimate.
    fn set(&self, text: &str) -> Markup {
        set(&set::about(text, self.unit))
    }

    /// A length with its fraction set, without its unit: the sheet's foot names it.
    fn len(&self, length: Length) -> Markup {
        let shown = self.show(length);
        if self.unit.is_imperial() && !shown.contains('/') {
            // It keeps the room of a fraction, so that in a column its inches stand under the others'.
            return html! { span.whole { (shown) } };
        }
        set(&shown)
    }

    /// The same with its unit: where a number stands alone.
    fn marked(&self, length: Length) -> Markup {
        set(&self.show_marked(length))
    }

    /// True where the sheet is written in the other kind of unit than the house is measured in.
    const fn is_translated(&self) -> bool {
        self.unit.is_imperial() != self.job.unit.is_imperial()
    }
}

/// What every document of sheets has in its head: a file without it was made by somebody else.
pub const MARK: &str = "<meta name=\"generator\" content=\"Hangtrue sheets\">";

/// A whole document of sheets.
pub fn document(title: &str, sheets: &[Markup]) -> String {
    html! {
        (DOCTYPE)
        html lang="en" class="paper" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                (PreEscaped(MARK))
                title { (title) }
                style { (PreEscaped(TOKENS)) (PreEscaped(STYLE)) }
            }
            body { main { @for sheet in sheets { (sheet) } } }
        }
    }
    .into_string()
}

/// How many shades alike, where there are more than one: "2 alike; ".
fn alike(opening: &Opening) -> String {
    match opening.choices.count.get() {
        1 => String::new(),
        n => format!("{n} alike; "),
    }
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

/// An opening as its sheets name it.
fn name_of(worked: &Worked<'_>) -> String {
    format!("{}, {}", worked.room.name, worked.opening.name)
}

/// A flag as a sheet shows it; its severity is told by words and by its mark's shape, not by colour alone.
fn flag(heading: &Heading<'_>, flag: &Flag) -> Markup {
    let class = match flag.severity {
        Severity::TakeAgain => "take_again",
        Severity::Decide => "decide",
        Severity::Know => "know",
    };
    html! {
        div class={ "flag " (class) } {
            b { (heading.set(&flag.says)) } " "
            (heading.set(&flag.to_do))
        }
    }
}

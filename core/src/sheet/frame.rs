//! The pages of a sheet: title block, content, foot; a sheet that takes more than one page is parted here.
//!
//! Paper cannot be asked how high a text is, so heights are reckoned, a little too high, from the widest face the sheets
//! are set in; `tests/browser/paper.py` prints every sheet on both papers and finds a page for each page counted here.

use super::{Heading, unit_words};
use crate::flag::sentence;
use crate::settings::{Value, is_money};
use maud::{Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

/// The height that Letter and A4 share within their margins, less what rounding takes: 279.4 mm less twice 9.
const PAGE: f64 = 260.6;
/// The width that both share.
pub(super) const WIDE: f64 = 186.0;

/// Millimetres in a point: 25.4 / 72.
const POINT: f64 = 25.4 / 72.0;

/// The advance of a space, in parts of the letters' size.
const SPACE: f64 = 0.32;

/// The advance of a letter in DejaVu Sans, the widest of the faces, in parts of its size: from the font's own table,
/// letters of like width together.
fn advance(c: char) -> f64 {
    match c {
        ' ' | '.' | ',' => SPACE,
        'i' | 'j' | 'l' | '\'' => 0.28,
        'I' | 'f' | 't' | 'r' | '-' | '/' | ':' | ';' | '(' | ')' => 0.41,
        's' | 'c' | 'z' | 'J' | '"' => 0.54,
        'a' | 'e' | 'o' | 'k' | 'v' | 'x' | 'y' => 0.615,
        'm' => 0.975,
        'w' | 'G' | 'O' | 'Q' | 'D' | 'H' | 'N' | 'U' | 'M' => 0.82,
        'W' | '%' => 0.99,
        c if c.is_ascii_uppercase() => 0.69,
        c if c.is_ascii() => 0.635,
        _ => 1.0,
    }
}

/// The length of words set on one line, in the unit of `size`.
pub(super) fn breadth(words: &str, size: f64) -> f64 {
    words.chars().map(advance).sum::<f64>() * size
}

/// Lines that a text takes at most in a column this wide, set in this many points.
pub(super) fn lines(text: &str, wide: f64, points: f64) -> f64 {
    // A little less than there is: a browser rounds each word.
    let most = (wide * 0.995 / (points * POINT)).max(1.0);
    let (mut lines, mut used) = (1.0, 0.0);
    for word in text.split_whitespace() {
        // A fraction is set as one, its digits small: `style.css`, `.len .fr`.
        let fraction = word.contains('/') && word.starts_with(|c: char| c.is_ascii_digit());
        let long = breadth(word, 1.0) * if fraction { 0.66 } else { 1.0 };
        if used > 0.0 && used + SPACE + long > most {
            lines += 1.0;
            used = 0.0;
        }
        used += long + if used > 0.0 { SPACE } else { 0.0 };
        while used > most {
            lines += 1.0;
            used -= most;
        }
    }
    lines
}

/// The height of a text, its lines this many times its points apart.
pub(super) fn text_mm(text: &str, wide: f64, points: f64, leading: f64) -> f64 {
    lines(text, wide, points) * points * POINT * leading
}

/// A count as a float, for heights.
#[allow(clippy::cast_precision_loss, reason = "a few lines")]
pub(super) const fn many(n: usize) -> f64 {
    n as f64
}

/// How the parts of a block stand on a page: all of them or some, and whether they are the first.
type Wrap<'a> = Box<dyn Fn(&[&Markup], bool) -> Markup + 'a>;

/// A part of a sheet's content, with the height it takes.
pub(super) struct Block<'a> {
    /// The height of what is said once a page: heading and table head.
    head: f64,
    parts: Vec<(Markup, f64)>,
    two_columns: bool,
    wrap: Wrap<'a>,
}

impl<'a> Block<'a> {
    /// What stays together.
    pub(super) fn whole(markup: Markup, mm: f64) -> Self {
        Self {
            head: 0.0,
            parts: vec![(markup, mm)],
            two_columns: false,
            wrap: Box::new(|parts, _| html! { @for part in parts { (part) } }),
        }
    }

    /// Rows of a table, or items of a list, that may go on over the page.
    pub(super) fn parts(
        head: f64,
        parts: Vec<(Markup, f64)>,
        columns: usize,
        wrap: impl Fn(&[&Markup], bool) -> Markup + 'a,
    ) -> Self {
        Self { head, parts, two_columns: columns == 2, wrap: Box::new(wrap) }
    }

    fn height(&self, of: &[(Markup, f64)]) -> f64 {
        let sum: f64 = of.iter().map(|part| part.1).sum();
        if !self.two_columns {
            return self.head + sum;
        }
        // A browser fills two columns in order, as evenly as whole parts allow.
        let mut left = 0.0;
        let best = of.iter().fold(sum, |best: f64, part| {
            left += part.1;
            best.min(left.max(sum - left))
        });
        self.head + best
    }

    /// The height of all of it.
    pub(super) fn high(&self) -> f64 {
        if self.parts.is_empty() { 0.0 } else { self.height(&self.parts) }
    }

    fn render(&self, from: usize, to: usize) -> Markup {
        let parts: Vec<&Markup> = self.parts[from..to].iter().map(|part| &part.0).collect();
        (self.wrap)(&parts, from == 0)
    }
}

/// A bar across the top: what must not be done yet, and why.
#[derive(Clone, Debug, Default)]
pub(super) struct Stop {
    /// `Do not cut`, `Before it is hung`.
    pub(super) what: String,
    /// Each reason, one sentence; no bar where there is none.
    pub(super) why: Vec<String>,
}

/// One sheet before it is parted into pages.
pub(super) struct Sheet<'a> {
    /// Its name: `Making`.
    pub(super) title: &'a str,
    /// What the second field of the title block is: `Opening`.
    pub(super) field: &'a str,
    /// What it is of.
    pub(super) of: &'a str,
    /// What must not be done yet.
    pub(super) stop: Stop,
    /// True of what was given to a client as it stands: nothing in it is worked out again, and no print of it makes another void.
    pub(super) given: bool,
    /// What is on it.
    pub(super) blocks: Vec<Block<'a>>,
}

impl<'a> Sheet<'a> {
    pub(super) fn of(title: &'a str, field: &'a str, of: &'a str, blocks: Vec<Block<'a>>) -> Self {
        Self { title, field, of, stop: Stop::default(), given: false, blocks }
    }
}

impl Heading<'_> {
    /// What the first page of a sheet has room for.
    pub(super) fn room(&self, sheet: &Sheet<'_>) -> f64 {
        PAGE - self.block_mm(sheet) - self.foot(sheet, "0000 0000 0000").1 - sheet.stop.mm()
    }

    /// A sheet as its pages, one after the other.
    pub(super) fn pages(&self, sheet: &Sheet<'_>) -> Markup {
        let mut hash = Sha256::new();
        for block in &sheet.blocks {
            hash.update(block.render(0, block.parts.len()).0.as_bytes());
        }
        for why in &sheet.stop.why {
            hash.update(why.as_bytes());
        }
        let hash: Vec<String> =
            hash.finalize().chunks(2).take(3).map(|two| format!("{:02x}{:02x}", two[0], two[1])).collect();
        let (foot, foot_mm) = self.foot(sheet, &hash.join(" "));
        let room = PAGE - self.block_mm(sheet) - foot_mm;
        let mut pages: Vec<Vec<Markup>> = vec![Vec::new()];
        let mut left = room - sheet.stop.mm();
        for block in &sheet.blocks {
            let mut from = 0;
            while from < block.parts.len() {
                let rest = &block.parts[from..];
                let mut fit =
                    (0..=rest.len()).rev().find(|n| *n == 0 || block.height(&rest[..*n]) <= left).unwrap_or(0);
                let fresh = pages.last().is_none_or(Vec::is_empty);
                // One row alone at a page's foot reads as lost.
                if fit < rest.len() && fit < 2 && !fresh {
                    fit = 0;
                }
                if fit == 0 && !fresh {
                    pages.push(Vec::new());
                    left = room;
                    continue;
                }
                let fit = fit.max(1);
                left -= block.height(&rest[..fit]);
                if let Some(page) = pages.last_mut() {
                    page.push(block.render(from, from + fit));
                }
                from += fit;
            }
        }
        let count = pages.len();
        html! {
            @for (n, page) in pages.iter().enumerate() {
                section.sheet {
                    (self.block(sheet, n + 1, count))
                    @if n == 0 { (sheet.stop.bar(self)) }
                    @for part in page { (part) }
                    (foot)
                }
            }
        }
    }

    /// The title block: where one is, in the same order on every sheet.
    fn block(&self, sheet: &Sheet<'_>, page: usize, of: usize) -> Markup {
        html! {
            header {
                dl.block {
                    div { dt { "House" } dd { (self.job.name) } }
                    div.grow { dt { (sheet.field) } dd { (sheet.of) } }
                    div.kept { dt { "Sheet" } dd { (sheet.title) } }
                    div.kept { dt { "Page" } dd { (page) " of " (of) } }
                }
            }
        }
    }

    fn block_mm(&self, sheet: &Sheet<'_>) -> f64 {
        // Bold is wider than the plain face by a tenth.
        let wide = |text: &str| breadth(text, 1.1 * 12.0 * POINT);
        let fixed = wide(sheet.title) + wide("1 of 9") + 4.0 * 5.2;
        let rows = ((wide(&self.job.name) + wide(sheet.of)) / (WIDE - fixed).max(40.0)).ceil().max(1.0);
        6.8 + rows * 12.0 * POINT * 1.2
    }

    /// What is at the foot of every page, and its height.
    fn foot(&self, sheet: &Sheet<'_>, hash: &str) -> (Markup, f64) {
        if sheet.given {
            let units = format!("Lengths in {}. Printed {}. Content {hash}.", unit_words(self.unit), self.day);
            let mm = text_mm(&units, WIDE, 7.5, 1.25) + 3.8;
            return (html! { footer.foot { div { p { (units) } } } }, mm);
        }
        let changed: Vec<String> = match self.job.settings() {
            Ok(settings) => settings
                .rows(self.job.unit)
                .into_iter()
                .filter(|row| row.value != row.default && !is_money(row.name))
                .map(|row| {
                    // The layer that it comes from, where that is not the house itself.
                    let own = self.job.settings.names().any(|name| name == row.name);
                    (if own || self.job.workroom.settings.is_empty() { "" } else { " (workroom)" }, row)
                })
                .map(|(layer, row)| match &row.value {
                    // As it was typed, or about where the sheet is in the other unit.
                    Value::Length(length) if self.is_translated() => {
                        format!("{} {}{layer}", row.label(), self.show(*length))
                    }
                    _ => format!(
                        "{} {}{layer}",
                        row.label(),
                        row.shown(if self.is_translated() { self.unit } else { self.job.unit })
                    ),
                })
                .collect(),
            Err(problem) => vec![problem.to_string()],
        };
        let units = if self.is_translated() {
            format!(
                "Lengths in {}, to the nearest mark. The house is measured in {}: cut by a sheet in that unit.",
                unit_words(self.unit),
                unit_words(self.job.unit)
            )
        } else {
            format!("Lengths in {}.", unit_words(self.unit))
        };
        let settings = if changed.is_empty() {
            "All settings at their defaults.".to_owned()
        } else {
            format!("Settings changed: {}.", changed.join("; "))
        };
        let made = format!("Worked out {}. Content {hash}. An older print is void.", self.day);
        let wide = WIDE - 83.5;
        let settings = format!("{units} {settings}");
        let mm = [&settings, &made].iter().map(|text| text_mm(text, wide, 7.5, 1.25)).sum::<f64>().max(8.0) + 3.8;
        let foot = html! {
            footer.foot {
                (check_bar(self.unit.is_imperial()))
                div { p.typed { (settings) } p { (made) } }
            }
        };
        (foot, mm)
    }
}

impl Stop {
    /// A bar of what [`crate::stand`] says: `Do not cut: the middle width is to be read again.`
    pub(super) fn of(said: Option<String>) -> Self {
        let Some(said) = said else { return Self::default() };
        let (what, why) = said.split_once(": ").unwrap_or((&said, ""));
        let why = why.trim_end_matches('.').split("; ").map(sentence).collect();
        Self { what: what.to_owned(), why }
    }

    fn mm(&self) -> f64 {
        if self.why.is_empty() {
            return 0.0;
        }
        let said = format!("{}{}", "M".repeat(self.what.chars().count()), self.why.join(" "));
        text_mm(&said, WIDE - 26.0, 11.0, 1.2).max(8.0) + 7.4
    }

    fn bar(&self, heading: &Heading<'_>) -> Markup {
        html! {
            @if !self.why.is_empty() {
                div.stop {
                    svg viewBox="0 0 40 40" aria-hidden="true" {
                        path d="M12 1h16l11 11v16L28 39H12L1 28V12z" {}
                        path d="M9 20h22" {}
                    }
                    p { b { (self.what) } @for why in &self.why { " " (heading.set(why)) } }
                }
            }
        }
    }
}

/// A bar to check a print's scale with: 3 in or 75 mm.
fn check_bar(inches: bool) -> Markup {
    let (ticks, step, words) = if inches { (12, 25.4 / 4.0, "3 in") } else { (15, 5.0, "75 mm") };
    let long = f64::from(ticks) * step;
    let mut path = format!("M.2 4H{:.2}", long + 0.2);
    for n in 0..=ticks {
        let high = match (inches, n) {
            (true, n) if n % 4 == 0 => 3.4,
            (true, n) if n % 2 == 0 => 2.2,
            (false, n) if n % 10 == 0 => 3.4,
            (false, n) if n % 2 == 0 => 2.2,
            _ => 1.4,
        };
        path.push_str(&format!("M{:.3} 4v-{high}", f64::from(n) * step + 0.2));
    }
    html! {
        (PreEscaped(format!(
            r#"<svg class="drawing bar" role="img" width="{w:.1}mm" height="8mm" viewBox="0 0 {w:.1} 8"><title>A bar of {words}: measure it</title><path d="{path}"/><text class="small" x=".2" y="7.4" text-anchor="start">{words}, if printed at 100 %</text></svg>"#,
            w = long + 1.0
        )))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::Job;
    use crate::length::LengthUnit;
    use uuid::Uuid;

    #[test]
    fn a_long_list_goes_on_over_the_page_and_every_part_stands_once() {
        let job = Job::new(Uuid::nil(), "Larch House".to_owned(), LengthUnit::Inch);
        let heading = Heading { job: &job, unit: job.unit, day: "2026-05-04" };
        for count in [1, 10, 60, 200] {
            let parts = (0..count).map(|n| (html! { li { "part " (n) "." } }, 6.0)).collect();
            let list = Block::parts(
                8.0,
                parts,
                1,
                |parts, first| html! { @if first { h2 { "List" } } ul { @for part in parts { (part) } } },
            );
            let markup = heading.pages(&Sheet::of("Making", "Opening", "Study, East", vec![list])).into_string();
            let pages = markup.matches("<section").count();
            assert!((0..count).all(|n| markup.matches(&format!("part {n}.")).count() == 1), "{count}");
            #[allow(clippy::cast_precision_loss, reason = "a few")]
            let least = (f64::from(count) * 6.0 / PAGE).ceil();
            assert!((least..=least + 1.0).contains(&many(pages)), "{count}: {pages}");
            assert!(markup.contains(&format!("{pages} of {pages}</dd>")) && markup.matches("<h2>").count() == 1);
        }
    }

    #[test]
    fn a_bar_stands_only_where_there_is_a_reason() {
        let job = Job::new(Uuid::nil(), "Larch House".to_owned(), LengthUnit::Inch);
        let heading = Heading { job: &job, unit: job.unit, day: "2026-05-04" };
        let sheet = |said: Option<&str>| {
            let stop = Stop::of(said.map(str::to_owned));
            let blocks = vec![Block::whole(html! { p { "x" } }, 5.0)];
            heading.pages(&Sheet { stop, ..Sheet::of("Making", "Opening", "a", blocks) }).into_string()
        };
        assert!(!sheet(None).contains("class=\"stop\""));
        let bar = sheet(Some("Do not cut: the middle width is to be read again; the depth is not measured."));
        for words in ["<b>Do not cut</b> ", "The middle width is to be read again.", "The depth is not measured."] {
            assert!(bar.contains(words), "{bar}");
        }
    }
}

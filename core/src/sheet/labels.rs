//! Labels as they are printed: a page for each sheet of labels, every label at its exact place.
//!
//! A label's text is measured as the sheets' is. It is set as large as there is room for; where there is none, words are
//! left out and a mark says so, and a number is never shortened.

use super::Heading;
use super::drawing::{escape, real};
use super::frame::breadth;
use super::set::set_in_drawing;
use crate::label::{Label, Stock, StockProblem, Thing};
use crate::length::{Length, LengthUnit};
use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

/// A code that a camera reads, as a square of modules, `true` where dark, row by row from the top; no quiet zone.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Code {
    /// Modules along one side.
    pub side: usize,
    /// Every module.
    pub dark: Vec<bool>,
}

/// How labels are put on their sheet.
#[derive(Clone, Copy, Debug)]
pub struct Laid {
    /// The sheet.
    pub stock: Stock,
    /// How far all is moved to the right, where a printer prints off; negative to the left.
    pub across: Length,
    /// How far all is moved down.
    pub down: Length,
    /// The first label of the first sheet that is still there, counted from 0 along the rows.
    pub first: usize,
    /// True for a trial on plain paper: every label is outlined, to be held against the sheet.
    pub outlined: bool,
}

/// The most that all is moved: a printer that is off by more is set up for another paper.
const MOST_MOVED: Length = Length::mm(10);
/// Paper that most printers do not reach, millimetres. Common practice, no source.
const OUT_OF_REACH: f64 = 5.0;
/// A light zone of four modules goes round a code (ISO/IEC 18004).
const QUIET: usize = 4;
/// Millimetres in a point.
const POINT: f64 = 25.4 / 72.0;
/// Between two lines, in parts of the letters' size.
const LEADING: f64 = 1.18;
/// Bold is wider than the plain face by this at most.
const BOLD: f64 = 1.15;
/// Of what text may be set in, the smallest and the largest, as parts of the sizes in [`lines_of`].
const SCALES: (f64, f64) = (0.86, 2.0);

impl Laid {
    /// The first label on a whole sheet, nothing moved.
    pub const fn on(stock: Stock) -> Self {
        Self { stock, across: Length::ZERO, down: Length::ZERO, first: 0, outlined: false }
    }

    /// Checks that it can be printed so.
    ///
    /// # Errors
    /// [`StockProblem`] says which measure is wrong.
    pub fn check(&self) -> Result<(), StockProblem> {
        self.stock.check()?;
        let problem = |what: String, right: String| Err(StockProblem { what, right });
        let unit = self.stock.paper.unit();
        for (what, moved) in [("to the right", self.across), ("down", self.down)] {
            if moved.abs() > MOST_MOVED {
                return problem(
                    format!("moved {what} by {}", moved.show_marked(unit)),
                    format!("it can be moved by {} at most", MOST_MOVED.show_marked(LengthUnit::Millimetre)),
                );
            }
        }
        if self.first >= self.stock.count() {
            return problem(
                format!("label {} of a sheet", self.first + 1),
                format!("a sheet has {}: begin at 1 to {}", self.stock.count(), self.stock.count()),
            );
        }
        Ok(())
    }

    /// How many sheets so many labels take.
    pub const fn sheets(&self, labels: usize) -> usize {
        if labels == 0 { 0 } else { (self.first + labels).div_ceil(self.stock.count()) }
    }
}

/// The labels of a house as pages, one for each sheet of labels. `code` draws what a camera reads.
///
/// # Errors
/// [`StockProblem`] as [`Laid::check`].
pub fn labels(
    heading: &Heading<'_>,
    labels: &[Label],
    laid: &Laid,
    code: &dyn Fn(&str) -> Option<Code>,
) -> Result<Vec<Markup>, StockProblem> {
    laid.check()?;
    let (wide, high) = laid.stock.paper.size();
    let (wide, high) = (real(wide), real(high));
    let sheets = laid.sheets(labels.len());
    let mut bodies = vec![String::new(); sheets];
    for (n, label) in labels.iter().enumerate() {
        let at = laid.first + n;
        let (x, y) = laid.stock.place(at % laid.stock.count());
        let corner = (real(x + laid.across), real(y + laid.down));
        one(heading, label, laid, corner, code, &mut bodies[at / laid.stock.count()]);
    }
    let of = |n: usize| format!("Labels of {}, sheet {} of {sheets}", heading.job.name, n + 1);
    Ok(bodies
        .into_iter()
        .enumerate()
        .map(|(n, body)| {
            html! {
                section class={ "labels " (laid.stock.paper.code()) } {
                    (PreEscaped(format!(
                        r#"<svg class="labels" role="img" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}"><title>{}</title>{body}</svg>"#,
                        escape(&of(n))
                    )))
                }
            }
        })
        .collect())
}

/// One label, its corner at a place of the paper.
fn one(
    heading: &Heading<'_>,
    label: &Label,
    laid: &Laid,
    (x, y): (f64, f64),
    code: &dyn Fn(&str) -> Option<Code>,
    out: &mut String,
) {
    let (wide, high) = (real(laid.stock.width), real(laid.stock.height));
    if laid.outlined {
        let _ = write!(out, r#"<rect class="outline" x="{x:.3}" y="{y:.3}" width="{wide:.3}" height="{high:.3}"/>"#);
    }
    let side = (OUT_OF_REACH - real(laid.stock.left)).max(1.8);
    let above = (OUT_OF_REACH - real(laid.stock.top)).max(1.4);
    let (left, top, right, foot) = (x + side, y + above, x + wide - side, y + high - above);
    // The code at the right, its number under it.
    let number = label.number.to_string();
    let small = 6.0 * POINT;
    let square = (foot - top - small * LEADING).min((right - left) * 0.36).min(30.0);
    let code_left = right - square;
    if let Some(code) = code(&label.address(heading.job.id).to_string()) {
        draw_code(&code, (code_left, top), square, out);
    }
    let size = small.min(small * square / breadth(&number, small));
    text((code_left + square / 2.0, top + square + size * 0.9), size, "number", &number, out);
    let mut text_left = left;
    if label.has_top() {
        arrow((left, top), foot - top, out);
        text_left += ARROW + 1.2;
    }
    let room = (code_left - 0.8 - text_left, foot - top);
    let (lines, scale) = fitted(&lines_of(heading, label), room);
    // What room is left goes above and below alike, so that a short label does not hang from its top.
    let used: f64 = lines.iter().map(|line| line.points * scale * POINT * LEADING).sum();
    let mut at = top + ((room.1 - used) / 2.0).max(0.0);
    for line in &lines {
        let size = line.points * scale * POINT;
        text((text_left, at + size * 0.92), size, if line.bold { "bold" } else { "plain" }, &line.words(), out);
        at += size * LEADING;
    }
}

/// Width of the arrow to the top, millimetres.
const ARROW: f64 = 5.2;

/// An arrow to the top of what the label is on.
fn arrow((x, y): (f64, f64), high: f64, out: &mut String) {
    let (middle, size) = (x + ARROW / 2.0, 5.5 * POINT);
    let foot = y + high - size * LEADING - 0.4;
    let _ = write!(
        out,
        r#"<path class="arrow" d="M{middle:.3} {y:.3}l{:.3} 4.2h-1.7V{foot:.3}h-1.6V{:.3}h-1.7z"/>"#,
        2.5,
        y + 4.2
    );
    text((middle, y + high - size * 0.26), size, "top", "TOP", out);
}

fn text((x, y): (f64, f64), size: f64, class: &str, words: &str, out: &mut String) {
    let set = set_in_drawing(words, escape, size).0;
    let _ = write!(out, r#"<text class="{class}" x="{x:.3}" y="{y:.3}" font-size="{size:.3}">{set}</text>"#);
}

/// A code in a square of paper, its light zone in the square too.
fn draw_code(code: &Code, (x, y): (f64, f64), square: f64, out: &mut String) {
    let module = square / super::frame::many(code.side + 2 * QUIET);
    let mut path = String::new();
    for (row, line) in code.dark.chunks(code.side.max(1)).enumerate() {
        let mut column = 0;
        while column < line.len() {
            let run = line[column..].iter().take_while(|dark| **dark).count();
            if run > 0 {
                let _ = write!(path, "M{} {}h{run}v1h-{run}z", column + QUIET, row + QUIET);
            }
            column += run.max(1);
        }
    }
    let _ = write!(
        out,
        r#"<g transform="translate({x:.3} {y:.3}) scale({module:.5})"><path class="code" d="{path}"/></g>"#
    );
}

/// One line of a label.
#[derive(Clone, Debug)]
struct Line {
    /// What stands in it, each never parted.
    words: Vec<String>,
    /// Its letters' size at scale 1.
    points: f64,
    bold: bool,
    kind: Kind,
}

/// What may be done to a line that is too long.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    /// Words of it are left out.
    Name,
    /// It goes on below; nothing of it is left out.
    Size,
    /// The last are left out, and it is said where they stand.
    List,
}

impl Line {
    fn words(&self) -> String {
        self.words.join(" ")
    }

    fn wide(&self) -> f64 {
        wide(&self.words(), self.points, self.bold)
    }
}

/// The breadth of a text in millimetres. A fraction is set as one, its digits small.
fn wide(text: &str, points: f64, bold: bool) -> f64 {
    let each = text.split(' ').map(|word| {
        let fraction = word.contains('/') && word.starts_with(|c: char| c.is_ascii_digit());
        breadth(word, 1.0) * if fraction { 0.8 } else { 1.0 } + breadth(" ", 1.0)
    });
    (each.sum::<f64>() - breadth(" ", 1.0)) * points * POINT * if bold { BOLD } else { 1.0 }
}

fn lines_of(heading: &Heading<'_>, label: &Label) -> Vec<Line> {
    let unit = heading.job.unit;
    let line = |text: &str, points: f64, bold: bool, kind: Kind| Line {
        words: text.split_whitespace().map(str::to_owned).collect(),
        points,
        bold,
        kind,
    };
    let sizes = label.sizes(unit);
    let mut lines = vec![line(&label.place(), 9.0, true, Kind::Name), line(&label.part(), 8.0, true, Kind::Name)];
    match &label.thing {
        Thing::Cloth { .. } | Thing::Sticks { .. } => {
            lines.push(Line { words: sizes, points: 12.0, bold: true, kind: Kind::Size });
        }
        Thing::Cords(_) => lines.push(Line { words: parted(sizes), points: 9.0, bold: true, kind: Kind::List }),
        Thing::Bag(_) => lines.push(Line { words: parted(sizes), points: 7.0, bold: false, kind: Kind::List }),
    }
    lines.push(line(&label.from(), 7.0, false, Kind::Name));
    lines.push(line(&heading.job.name, 7.0, false, Kind::Name));
    lines.retain(|line| !line.words.is_empty());
    lines
}

/// The phrases of a list with commas between them.
fn parted(mut list: Vec<String>) -> Vec<String> {
    let last = list.len().saturating_sub(1);
    for (n, phrase) in list.iter_mut().enumerate() {
        if n < last {
            phrase.push(';');
        }
    }
    list
}

/// A line as the lines it takes in a column this wide; nothing where something of it is wider by itself.
fn wrapped(line: &Line, column: f64) -> Option<Vec<Line>> {
    let mut lines: Vec<Line> = Vec::new();
    for word in &line.words {
        let alone = Line { words: vec![word.clone()], ..line.clone() };
        if alone.wide() > column {
            return None;
        }
        match lines.last_mut() {
            Some(last) => {
                last.words.push(word.clone());
                if last.wide() > column {
                    last.words.pop();
                    lines.push(alone);
                }
            }
            None => lines.push(alone),
        }
    }
    Some(lines)
}

/// The lines as they are set, and the scale of their letters: as large as they fit, whole if they can be.
fn fitted(lines: &[Line], (column, high): (f64, f64)) -> (Vec<Line>, f64) {
    let tall = |lines: &[Line], scale: f64| {
        lines.iter().map(|line| line.points).sum::<f64>() * POINT * LEADING * scale <= high
    };
    let (least, most) = SCALES;
    let mut scale = most;
    while scale >= least {
        let whole: Option<Vec<Vec<Line>>> = lines.iter().map(|line| wrapped(line, column / scale)).collect();
        if let Some(whole) = whole {
            let whole: Vec<Line> = whole.into_iter().flatten().collect();
            if tall(&whole, scale) {
                return (whole, scale);
            }
        }
        scale -= 0.02;
    }
    // Names in one line each, then lists shorter, until it fits.
    let column = column / least;
    let mut lists = lines.iter().map(|line| line.words.len()).max().unwrap_or_default();
    loop {
        let short: Vec<Line> = lines
            .iter()
            .flat_map(|line| match line.kind {
                Kind::Name => vec![shortened(line, column)],
                Kind::Size => wrapped(line, column).unwrap_or_else(|| broken(line, column)),
                Kind::List => {
                    let line = fewer(line, lists);
                    wrapped(&line, column).unwrap_or_else(|| broken(&line, column))
                }
            })
            .collect();
        if lists == 0 || tall(&short, least) {
            return (short, least);
        }
        lists -= 1;
    }
}

/// A list with at most so many of its phrases.
fn fewer(line: &Line, most: usize) -> Line {
    if line.words.len() <= most {
        return line.clone();
    }
    let mut words: Vec<String> = line.words[..most].to_vec();
    let sheet = if line.bold { "making" } else { "hanging" };
    words.push(if most == 0 { format!("See the {sheet} sheet") } else { format!("the rest: {sheet} sheet") });
    Line { words, ..line.clone() }
}

/// A line of phrases parted at their words where a phrase is wider than the column; each number stays whole.
fn broken(line: &Line, column: f64) -> Vec<Line> {
    let words = line.words.iter().flat_map(|phrase| whole_lengths(phrase)).collect();
    let line = Line { words, ..line.clone() };
    wrapped(&line, column).unwrap_or_else(|| vec![line])
}

/// The words of a phrase, a number with its fraction and unit as one.
fn whole_lengths(phrase: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let figure = |word: &str| word.starts_with(|c: char| c.is_ascii_digit());
    for word in phrase.split(' ') {
        match words.last_mut() {
            Some(last)
                if last.rsplit(' ').next().is_some_and(figure)
                    && (figure(word) || matches!(word, "in" | "mm" | "in;" | "mm;" | "x")) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// A name in one line: words in its midst are left out, so that its beginning and its end still tell it from others.
fn shortened(line: &Line, column: f64) -> Line {
    let fits = |words: &[String]| Line { words: words.to_vec(), ..line.clone() }.wide() <= column;
    if fits(&line.words) {
        return line.clone();
    }
    let count = line.words.len();
    for kept in (2..count).rev() {
        let ends = kept / 2;
        let mut words: Vec<String> = line.words[..kept - ends].to_vec();
        words.push("\u{2026}".to_owned());
        words.extend_from_slice(&line.words[count - ends..]);
        if fits(&words) {
            return Line { words, ..line.clone() };
        }
    }
    // Its last word alone, or as much of a word as goes in; a word with a figure goes in whole or not at all.
    let last = line.words.last().cloned().unwrap_or_default();
    let alone = vec!["\u{2026}".to_owned(), last.clone()];
    if fits(&alone) {
        return Line { words: alone, ..line.clone() };
    }
    let first = line.words.first().cloned().unwrap_or_default();
    let mut letters: String = if first.chars().any(|c| c.is_ascii_digit()) { String::new() } else { first };
    while !letters.is_empty() && !fits(&[format!("{letters}\u{2026}")]) {
        letters.pop();
    }
    Line { words: vec![format!("{letters}\u{2026}")], ..line.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn name(text: &str) -> Line {
        let words = text.split_whitespace().map(str::to_owned).collect();
        Line { words, points: 9.0, bold: true, kind: Kind::Name }
    }

    #[test]
    fn a_name_loses_words_in_its_midst_and_never_a_part_of_a_number() {
        for (text, column, whole) in [
            ("Study, East", 40.0, true),
            ("Guest bedroom over the garage, window 12", 40.0, false),
            ("Guest bedroom over the garage, window 12", 22.0, false),
            ("Winterschlafzimmerfenster", 25.0, false),
            ("12345678901234567890", 20.0, false),
        ] {
            let short = shortened(&name(text), column);
            assert!(short.wide() <= column, "{short:?}");
            let said = short.words();
            assert_eq!(whole, said == text, "{said}");
            assert_eq!(!whole, said.contains('\u{2026}'), "{said}");
            let words: Vec<&str> = text.split(' ').collect();
            for word in said.split(' ').map(|word| word.trim_end_matches('\u{2026}')) {
                let part = word.is_empty() || words.iter().any(|known| known.starts_with(word));
                assert!(words.contains(&word) || part && !word.contains(|c: char| c.is_ascii_digit()), "{word}");
            }
            // The number that tells a window from its neighbours stays while it fits.
            assert!(!text.ends_with("12") || said.ends_with("12"), "{said}");
        }
    }

    #[test]
    fn a_size_is_whole_wherever_it_is_parted() {
        assert_eq!(whole_lengths("35 7/8 x"), ["35 7/8 x"]);
        assert_eq!(whole_lengths("4 No. 8 screws, 1 3/4 in;"), ["4", "No.", "8", "screws,", "1 3/4 in;"]);
        let size = Line {
            words: vec!["138 15/16 x".into(), "152 11/16 in".into()],
            points: 12.0,
            bold: true,
            kind: Kind::Size,
        };
        let (lines, scale) = fitted(&[size], (32.0, 20.0));
        let words: Vec<String> = lines.iter().map(Line::words).collect();
        assert_eq!(words, ["138 15/16 x", "152 11/16 in"]);
        assert!(lines.iter().all(|line| line.wide() * scale <= 32.0));
    }

    #[test]
    fn a_long_list_says_where_the_rest_stands() {
        let list = (1..9).map(|n| format!("{n}: 16{n} 1/2 in"));
        let line = Line { words: parted(list.collect()), points: 9.0, bold: true, kind: Kind::List };
        let (lines, _) = fitted(&[line], (30.0, 10.0));
        let words: Vec<String> = lines.iter().map(Line::words).collect();
        let said = words.join(" ");
        assert!(said.starts_with("1: 161 1/2 in;") && said.ends_with("the rest: making sheet"), "{words:?}");
    }
}

//! The full working of one opening, for the file: how every size, cut, weight and load was worked out. Terms are exact
//! here, and each rounding stands on a line of its own with its direction; results are whole marks of the tape.

use super::frame::{Block, Sheet, WIDE, many, text_mm};
use super::set::set;
use super::{Heading, flag, name_of};
use crate::fixing::{Fixing, shown_force};
use crate::flag::sentence;
use crate::makeup::Amount;
use crate::mount;
use crate::work::{Shade, Worked};
use maud::{Markup, html};

/// The working of an opening.
pub fn working(heading: &Heading<'_>, worked: &Worked<'_>) -> Markup {
    let unit = heading.unit();
    let name = name_of(worked);
    let mut blocks = Vec::new();
    let because = sentence(&worked.mounts.because);
    blocks.push(Block::whole(html! { p { (heading.set(&because)) } }, text_mm(&because, WIDE, 10.0, 1.28) + 4.0));
    blocks.push(ways(heading, worked));
    if let (Some(shade), Some(mounting)) = (&worked.shade, worked.mounts.advised()) {
        let mut tables: Vec<(Markup, f64)> = [
            ("Finished width", Some(&mounting.width)),
            ("Width by the other rule", mounting.width_other.as_ref()),
            ("Finished length", Some(&mounting.length)),
            ("Board", Some(&mounting.board_length)),
        ]
        .into_iter()
        .filter_map(|(words, working)| Some(mount_table(heading, words, working?)))
        .collect();
        if let Ok(made) = &shade.makeup {
            tables.extend(made.workings.iter().map(|working| {
                let lines: Vec<(String, String)> = working
                    .lines
                    .iter()
                    .map(|line| (format!("{} ({})", line.term, line.reason), line.value.shown(unit)))
                    .collect();
                // A size set by hand may be finer than the tape; its exact figure is among the lines.
                let result = match &working.result {
                    Amount::Length(length) => heading.show_marked(*length),
                    other => other.shown(unit),
                };
                table(&sentence(&working.what), &result, &lines)
            }));
        }
        blocks.push(tables_block("How each size comes about", tables));
        blocks.push(room_for(heading, mounting));
        if let Some(fixing) = &shade.fixing {
            blocks.push(loads(heading, fixing));
            blocks.push(hardest(heading, fixing));
        }
        blocks.push(notes(heading, mounting, shade));
    }
    heading.pages(&Sheet::of("Working", "Opening", &name, blocks))
}

const COLUMN: f64 = WIDE / 2.0 - 3.0;

fn table(what: &str, result: &str, lines: &[(String, String)]) -> (Markup, f64) {
    let mm = 7.0 + lines.iter().map(|(term, _)| text_mm(term, COLUMN - 26.0, 8.5, 1.22) + 1.7).sum::<f64>();
    let markup = html! {
        table {
            thead { tr { @if what.is_empty() { td {} } @else { th { (set(what.trim_end_matches('.'))) } } @if result.is_empty() { td {} } @else { th.n { (set(result)) } } } }
            tbody.exact { @for (term, value) in lines { tr { td { (set(term.trim_end_matches(" ()"))) } td.n { (set(value)) } } } }
        }
    };
    (markup, mm)
}

fn mount_table(heading: &Heading<'_>, words: &str, working: &mount::Working) -> (Markup, f64) {
    let lines: Vec<(String, String)> = working
        .lines
        .iter()
        .map(|line| (format!("{} ({})", line.term, line.reason), line.value.show_marked(heading.unit())))
        .collect();
    table(&format!("{words}: {}", working.rule), &heading.show_marked(working.total), &lines)
}

fn tables_block(title: &'static str, tables: Vec<(Markup, f64)>) -> Block<'static> {
    Block::parts(9.2, tables, 2, move |parts, first| {
        html! {
            h2 { (title) @if !first { " (goes on)" } }
            div.working { @for part in parts { (part) } }
        }
    })
}

/// Every way side by side, and those that cannot be.
fn ways<'a>(heading: &Heading<'_>, worked: &Worked<'_>) -> Block<'a> {
    let cannot: Vec<String> = worked
        .mounts
        .cannot
        .iter()
        .map(|way| format!("{} {} {}", sentence(way.form.words()), sentence(&way.why), sentence(&way.would)))
        .collect();
    let mm = 9.0
        + many(worked.mounts.can.len()) * 6.2
        + many(worked.mounts.can.iter().map(|way| way.flush_ways.len()).sum()) * 16.0
        + cannot.iter().map(|text| text_mm(text, WIDE, 10.0, 1.28) + 1.2).sum::<f64>()
        + 6.0;
    let content = html! {
        h2 { "Every way this opening allows" }
        table {
            thead { tr { th { "Way" } th.n { "Wide" } th.n { "Long" } th.n { "Projects" } th.n { "Adds above" } th { "Taken here" } } }
            tbody {
                @for way in &worked.mounts.can {
                    tr {
                        td { (sentence(way.form.words()).trim_end_matches('.')) } td.n { (heading.len(way.width.total)) } td.n { (heading.len(way.length.total)) }
                        td.n { (heading.len(way.projection)) } td.n { (heading.len(way.adds_above)) }
                        td { @if worked.mounts.advised == Some(way.form) { b { "this one" } } }
                    }
                    @for flush in &way.flush_ways {
                        tr.soft {
                            td { (heading.set(&flush.what)) ": " (heading.set(flush.why_not.as_ref().unwrap_or(&flush.light))) } td.n {} td.n { (heading.len(flush.length)) }
                            td.n { (heading.len(flush.projection)) } td.n { (heading.len(flush.above_trim)) " above the trim" }
                            td { @if flush.taken { "so" } }
                        }
                    }
                }
            }
        }
        @for each in &cannot { p { (heading.set(each)) } }
    };
    Block::whole(content, mm)
}

fn room_for<'a>(heading: &Heading<'_>, mounting: &mount::Mounting) -> Block<'a> {
    let result = |holds| match holds {
        Some(true) => "clear",
        Some(false) => "too little",
        None => "check on site",
    };
    let mm = 30.0 + many(mounting.clear.len()) * 10.5;
    let content = html! {
        h2 { "Room for it" }
        @if let Some(gaps) = &mounting.corner_gaps {
            table {
                thead { tr { th { "Gap beside the shade" } th.n { "Left" } th.n { "Right" } } }
                tbody {
                    tr { td { "at the head" } td.n { (heading.len(gaps.top_left)) } td.n { (heading.len(gaps.top_right)) } }
                    tr { td { "at the sill" } td.n { (heading.len(gaps.bottom_left)) } td.n { (heading.len(gaps.bottom_right)) } }
                }
            }
        }
        @if !mounting.clear.is_empty() {
            table {
                thead { tr { th { "Must be clear" } th.n { "Needs" } th.n { "Has" } th { "Result" } } }
                tbody {
                    @for clear in &mounting.clear {
                        tr {
                            td { (clear.what) } td.n { (heading.len(clear.needs)) }
                            td.n { @match clear.has { Some(has) => (heading.len(has)), None => "not measured" } }
                            td { (result(clear.holds)) }
                        }
                    }
                }
            }
        }
    };
    Block::whole(content, mm)
}

fn loads<'a>(heading: &Heading<'_>, fixing: &Fixing) -> Block<'a> {
    let unit = heading.unit();
    let lbf = |value: f64| shown_force(value, unit);
    let rows = fixing
        .fixed
        .iter()
        .enumerate()
        .map(|(i, each)| {
            let row = html! {
                tr {
                    td { b { (crate::fixing::letter(i)) } } td.n { (heading.len(each.at)) } td { (each.on.words()) }
                    td.n { (lbf(each.load.down_lbf)) } td.n { (lbf(each.load.pull_lbf)) } td.n { (lbf(each.load.pull_allowed_lbf)) }
                    td.n { (lbf(each.load.across_lbf)) } td.n { (lbf(each.load.across_allowed_lbf)) }
                    td.n { @if each.load.used.is_finite() { (format!("{:.0} %", each.load.used * 100.0)) } @else { "holds nothing" } @if each.load.while_pulled { " pulled" } }
                }
            };
            (row, 6.0)
        })
        .collect();
    Block::parts(19.0, rows, 1, |parts, _| {
        html! {
            h2 { "What the fixings carry" }
            table {
                thead { tr { td {} th.n { "From left" } th { "Into" } th.n { "Down" } th.n { "Pull on one" } th.n { "may take" } th.n { "Across one" } th.n { "may take" } th.n { "Used" } } }
                tbody { @for part in parts { (part) } }
            }
        }
    })
}

/// The working of the hardest loaded fixing: figures of strength, not lengths for a tape.
fn hardest<'a>(heading: &Heading<'_>, fixing: &Fixing) -> Block<'a> {
    let unit = heading.unit();
    let lines: Vec<(String, String)> =
        fixing.statics.iter().map(|figure| (format!("{} ({})", figure.term, figure.why), figure.shown(unit))).collect();
    let mut tables = if lines.is_empty() { Vec::new() } else { vec![table("The hardest loaded one", "", &lines)] };
    let sags = [("board", &fixing.board_sag), ("bottom bar", &fixing.bar_sag)];
    let mut said: Vec<String> = sags
        .into_iter()
        .filter_map(|(what, sag)| {
            let sag = sag.as_ref()?;
            let holds = if sag.holds() { "no more" } else { "more" };
            Some(format!("The {what} sags {holds} than the limit of {}.", heading.show_marked(sag.limit)))
        })
        .collect();
    said.extend(fixing.assumed.iter().map(|each| format!("Assumed: {each}")));
    tables.extend(said.into_iter().map(|text| {
        let mm = text_mm(&text, COLUMN, 8.5, 1.25) + 1.2;
        (html! { p.note { (heading.set(&text)) } }, mm)
    }));
    tables_block("Strength", tables)
}

fn notes<'a>(heading: &Heading<'_>, mounting: &mount::Mounting, shade: &Shade) -> Block<'a> {
    let made = shade.makeup.iter().flat_map(|made| &made.flags);
    let fixed = shade.fixing.iter().flat_map(|fixing| &fixing.flags);
    let flags = mounting.flags.iter().chain(made).chain(fixed);
    let parts = flags
        .map(|each| {
            let mm = text_mm(&format!("{} {}", each.says, each.to_do), COLUMN - 3.0, 9.5, 1.25) + 1.6;
            (flag(heading, each), mm)
        })
        .collect();
    Block::parts(9.2, parts, 2, |parts, _| html! { h2 { "To know" } div.columns { @for part in parts { (part) } } })
}

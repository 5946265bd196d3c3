//! The making sheet: one shade drawn to scale with every dimension, what to cut, and the work in its order.

use super::drawing::{Anchor, Drawing, real, words_wide};
use super::{Heading, PAPER_WIDTH, flag};
use crate::flag::listed;
use crate::house::{Cloth, Job, Lining, Opening, Room, Style};
use crate::length::Length;
use crate::makeup::{Amount, Cut, Makeup, Part, StickUse, steps};
use crate::work::Worked;
use maud::{Markup, PreEscaped, html};

/// The making sheet of an opening of a house; nothing when its shade cannot be made up yet.
pub fn making_of(heading: &Heading<'_>, job: &Job, worked: &Worked<'_>) -> Option<Markup> {
    let shade = worked.shade.as_ref()?;
    let made = shade.makeup.as_ref().ok()?;
    let cloth = worked.opening.choices.cloth.as_deref().and_then(|name| job.cloth(name));
    Some(making(heading, worked.room, worked.opening, made, cloth, shade.form.words()))
}

/// The making sheet of one shade. `hung` says how it is mounted, in a few words.
pub fn making(
    heading: &Heading<'_>,
    room: &Room,
    opening: &Opening,
    shade: &Makeup,
    cloth: Option<&Cloth>,
    hung: &str,
) -> Markup {
    let unit = heading.unit();
    let show = |length: Length| heading.show(length);
    let content = html! {
        p {
            strong.size { (show(shade.width)) " wide, " (show(shade.length)) " long" }
            " finished; " (style(shade.style)) ", " (lining(opening.choices.lining))
            @if opening.choices.interlined { ", interlined" }
            "; " (cloth.map_or("no cloth chosen yet", |cloth| &cloth.name)) "; " (hung) "."
        }
        div.two {
            figure {
                (PreEscaped(finished(heading, shade)))
                figcaption { "The shade, seen from the room. Rings at the dots; rows from the head, columns from the left edge." }
            }
            div {
                h2 { "Cut" }
                table {
                    thead { tr { th { "Part" } th { "Of" } th.n { "Wide" } th.n { "Long" } th.n { "Head line" } } }
                    tbody {
                        @for cut in &shade.cuts {
                            tr { td { (cut.part.words()) } td { (cut.material.words()) } td.n.size { (show(cut.width)) } td.n.size { (show(cut.length)) } td.n { (show(cut.head_line)) } }
                        }
                    }
                }
                p.soft { "Head line: from the top cut edge down to the top of the board." }
                table {
                    thead { tr { th { "Stick" } th.n { "Count" } th.n { "Long" } } }
                    tbody { @for stick in &shade.sticks { tr { td { (stick.part.words()) } td.n { (stick.count) } td.n.size { (show(stick.length)) } } } }
                }
                table {
                    thead { tr { th colspan="2" { "Folds" } } }
                    tbody {
                        tr { td { (shade.folds.count) " equal folds, each" } td.n.size { (show(shade.folds.fold)) } }
                        tr { td { "head, board to first row" } td.n.size { (show(shade.folds.head)) } }
                        tr { td { "flap, last row to hem" } td.n.size { (show(shade.folds.flap)) } }
                        tr { td { "raised, hangs from the board" } td.n { (show(shade.raised.height)) } }
                        tr { td { "raised, covers of the opening" } td.n { (show(shade.raised.covers)) } }
                        tr { td { "rings" } td.n { (shade.rings()) } }
                        tr { td { "cord, with waste" } td.n { (show(shade.cords.to_buy)) } }
                        tr { td { "weight in all, and lifted" } td.n { (Amount::Grams(shade.weight.total).shown(unit)) ", " (Amount::Grams(shade.weight.lifted).shown(unit)) } }
                    }
                }
                @if shade.grid.rows_rounded || shade.grid.columns_rounded {
                    p.soft { "Marks are rounded to the tape from their exact places, each by itself, so that no error adds up." }
                }
                @for each in &shade.flags { (flag(each)) }
            }
        }
        div.two {
            figure { (PreEscaped(piece(heading, shade, Part::Face))) figcaption { "The face as it is cut; broken lines are turned." } }
            @if shade.cut(Part::Lining).is_some() {
                figure { (PreEscaped(piece(heading, shade, Part::Lining))) figcaption { "The lining as it is cut, with its rows." } }
            }
        }
        h2 { "The work, in its order" }
        ol.tick { @for step in steps(shade, unit) { li { (step) } } }
        @if !shade.cords.runs.is_empty() {
            h2 { "Cords" }
            table {
                thead { tr { th { "Columns" } th.n { "Up" } th.n { "Across" } th.n { "Pull" } th.n { "Ties" } th.n { "Cut each" } } }
                tbody {
                    @for runs in shade.cords.alike() {
                        @let run = runs[0];
                        tr { td { (listed(runs.iter().map(|run| run.column.to_string()))) } td.n { (show(run.up)) } td.n { (show(run.across)) } td.n { (show(run.pull)) } td.n { (show(run.ties)) } td.n.size { (show(run.total)) } }
                    }
                }
            }
        }
        h2.page { "The working" }
        (workings(heading, shade))
    };
    heading.sheet("Making", &format!("{}, {}", room.name, opening.name), &content)
}

fn workings(heading: &Heading<'_>, shade: &Makeup) -> Markup {
    let unit = heading.unit();
    html! {
        div.workings {
            @for working in &shade.workings {
                table {
                    thead { tr { th { (working.what) } th.n { (working.result.shown(unit)) } } }
                    tbody {
                        @for line in &working.lines {
                            tr { td { (line.term) @if !line.reason.is_empty() { " " span.soft { (line.reason) } } } td.n { (line.value.shown(unit)) } }
                        }
                    }
                }
            }
        }
    }
}

fn style(style: Style) -> &'static str {
    match style {
        Style::Flat => "flat",
        Style::FlatRibbed => "flat with ribs",
        Style::Tucked => "stitched tucks",
        Style::Looped => "soft folds",
        Style::Relaxed => "relaxed",
    }
}

fn lining(lining: Lining) -> &'static str {
    match lining {
        Lining::None => "unlined",
        Lining::Plain => "lined",
        Lining::Blackout => "blackout lining",
    }
}

/// The finished shade with its grid.
fn finished(heading: &Heading<'_>, shade: &Makeup) -> String {
    let show = |length: Length| heading.show(length);
    let (w, h) = (real(shade.width), real(shade.length));
    let rows = shade.grid.rows.iter().map(|row| words_wide(&show(row.from_head.mark)));
    let beside = rows.fold(13.0, |most: f64, words| most.max(words + 3.0));
    let room = (PAPER_WIDTH / 2.0 - 3.0, 118.0);
    let mut d = Drawing::fit_beside("The shade", (0.0, 0.0), (w, h), room, 13.0, beside);
    d.rect((0.0, 0.0), (w, h), "cloth");
    for row in &shade.grid.rows {
        let y = h - real(row.from_head.exact);
        d.line((0.0, y), (w, y), "thin hidden");
        d.line((w, y), (w + d.on_wall(2.0), y), "witness");
        d.text((w + d.on_wall(2.5), y), -1.0, Anchor::Start, "measure", &show(row.from_head.mark));
        for column in &shade.grid.columns {
            d.dot((real(column.from_left.exact), y), 0.7, "solid");
        }
    }
    if let Some(bar) = shade.stick(StickUse::Bar) {
        let side = (w - real(bar.length)) / 2.0;
        d.rect((side, d.on_wall(0.4)), (w - side, d.on_wall(1.4)), "wood");
    }
    for (i, column) in shade.grid.columns.iter().enumerate() {
        let x = real(column.from_left.exact);
        d.line((x, h), (x, h + d.on_wall(2.0)), "witness");
        // Narrow grids take their words on two levels.
        let lift = if i % 2 == 0 { 2.6 } else { 5.8 };
        d.text((x, h), lift, Anchor::Middle, "measure", &show(column.from_left.mark));
    }
    d.dimension_across(0.0, w, 0.0, -5.0, &show(shade.width));
    d.dimension_up(0.0, h, 0.0, 5.0, &show(shade.length));
    let scale = format!("scale 1:{}", d.scale());
    d.text((0.0, 0.0), -11.5, Anchor::Start, "small", &scale);
    d.svg()
}

/// A part as it is cut, with its turnings and rows.
fn piece(heading: &Heading<'_>, shade: &Makeup, part: Part) -> String {
    let show = |length: Length| heading.show(length);
    let Some(Cut { width, length, head_line, foot_line, .. }) = shade.cut(part) else { return String::new() };
    let (w, h) = (real(*width), real(*length));
    let beside =
        words_wide(&format!("foot {}", show(*foot_line))).max(words_wide(&format!("head {}", show(*head_line))));
    let room = (PAPER_WIDTH / 2.0 - 3.0, 92.0);
    let mut d = Drawing::fit_beside(part.words(), (0.0, 0.0), (w, h), room, 9.0, beside);
    d.rect((0.0, 0.0), (w, h), "cloth");
    let side = (w - real(shade.width)) / 2.0;
    if side > 0.0 {
        d.line((side, 0.0), (side, h), "hidden");
        d.line((w - side, 0.0), (w - side, h), "hidden");
    }
    for (line, words) in [(*head_line, "head"), (*foot_line, "foot")] {
        let y = h - real(line);
        if (0.0..h).contains(&y) {
            d.line((0.0, y), (w, y), "hidden");
            d.text((w + d.on_wall(1.0), y), -1.0, Anchor::Start, "small", &format!("{words} {}", show(line)));
        }
    }
    for row in &shade.grid.rows {
        let mark = if part == Part::Lining { row.on_lining } else { row.on_face };
        let y = h - real(mark.exact);
        d.line((0.0, y), (w, y), "thin centre");
        d.text((w / 2.0, y), 0.6, Anchor::Middle, "small", &show(mark.mark));
    }
    d.dimension_across(0.0, w, 0.0, -4.0, &show(*width));
    d.dimension_up(0.0, h, 0.0, 4.0, &show(*length));
    let scale = format!("scale 1:{}", d.scale());
    d.text((0.0, h), 2.5, Anchor::Start, "small", &scale);
    d.svg()
}

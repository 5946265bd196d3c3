//! The making sheet: one page with the shade drawn, what to cut, and the work in its order.

use super::drawing::{Anchor, Drawing, real, words_wide};
use super::frame::{Block, Sheet, Stop, WIDE, many, text_mm};
use super::set::set;
use super::{Heading, alike, name_of};
use crate::buying;
use crate::care::{Caution, Topic};
use crate::flag::{Severity, listed};
use crate::house::{Choices, ControlSide, Lift, Lining, Style};
use crate::length::Length;
use crate::makeup::{Amount, CordOf, Cut, Makeup, Making, Material, Part, StickUse, cut_before_shrinking, steps};
use crate::work::{Plans, Worked};
use maud::{Markup, PreEscaped, html};

/// The making sheet of an opening of a house; nothing when its shade cannot be made up yet.
///
/// `plans` are the house's: they say how wide parts of a settled shade are joined. Without them, or where it is not
/// settled, the joins are those it has when it is planned alone.
pub fn making(heading: &Heading<'_>, worked: &Worked<'_>, plans: Option<&Plans>) -> Option<Markup> {
    let shade = worked.shade.as_ref()?;
    let made = shade.makeup.as_ref().ok()?;
    let choices = &worked.opening.choices;
    let cloth = choices.cloth.as_deref().and_then(|name| heading.job.cloth(name));
    let settings = heading.job.settings().unwrap_or_default();
    let name = name_of(worked);
    let planned = plans.filter(|plans| plans.cut.plans_for(worked.opening.id));
    let joins = planned.map_or_else(
        || {
            let alone = buying::Shade {
                opening: worked.opening.id,
                name: &name,
                room: worked.room.id,
                makeup: made,
                choices,
                cloth,
                board: crate::house::BoardSize::ONE_BY_TWO,
                bracket: None,
                fixing: None,
                lot: None,
            };
            buying::joins_alone(&alone, buying::MatchAt::default(), &settings, heading.job.unit)
        },
        |plans| plans.cut.joins(worked.opening.id),
    );
    let making = Making { shade: made, choices, cloth, settings: &settings, joins: &joins, unit: heading.unit() };
    let mut hung = vec![shade.form.words().to_owned()];
    hung.extend(worked.mounts.advised().into_iter().flat_map(|mounting| mounting.by_hand(heading.unit())));
    hung.extend(choices.folds.map(|_| "number of folds set by hand".to_owned()));
    hung.extend(choices.head.as_ref().map(|_| "head set by hand".to_owned()));
    let order: Vec<(Markup, f64)> = steps(&making)
        .into_iter()
        .enumerate()
        .map(|(n, step)| {
            let mm = text_mm(&step, WIDE / 2.0 - 16.5, 10.5, 1.22).max(5.0) + 1.0;
            (html! { li { span.box {} span.no { (n + 1) } span { (heading.set(&step)) } } }, mm)
        })
        .collect();
    let order = Block::parts(9.2, order, 2, |parts, first| {
        html! {
            h2 { "In order" @if !first { " (goes on)" } }
            ol.steps.two-up { @for part in parts { (part) } }
        }
    });
    let notes = notes(heading, made, &shade.care);
    let mut sheet = Sheet::of("Making", "Opening", &name, Vec::new());
    sheet.stop = Stop::of(worked.stop_cutting());
    let room = heading.room(&sheet) - order.high() - notes.high();
    let (front, front_mm) = front(heading, &making, &alike(worked.opening), &hung.join("; "), room);
    sheet.blocks = vec![Block::whole(front, front_mm), order, notes];
    Some(heading.pages(&sheet))
}

/// What the maker minds and knows: cords and children first, then the flags that ask nothing more.
fn notes<'a>(heading: &Heading<'_>, made: &Makeup, care: &[Caution]) -> Block<'a> {
    let cautions = care.iter().filter(|caution| matches!(caution.topic, Topic::Cord | Topic::Rings | Topic::Flame));
    let cautions: Vec<String> = cautions.map(Caution::short).collect();
    let flags: Vec<String> = made
        .flags
        .iter()
        // What stands among the sizes, or is a step, is not said again.
        .filter(|flag| {
            flag.severity == Severity::Know
                && !matches!(flag.code.as_str(), "raised_stack" | "columns_rounded" | "rows_rounded")
        })
        .map(|flag| format!("{} {}", flag.says, flag.to_do))
        .collect();
    if cautions.is_empty() && flags.is_empty() {
        return Block::parts(0.0, Vec::new(), 1, |_, _| html! {});
    }
    let (cautions, flags) = (cautions.join(" "), flags.join(" "));
    let mm = text_mm(&format!("Mind. {cautions} {flags}"), WIDE, 8.5, 1.25) + 1.6;
    // The rules of a place keep their own figures.
    let content = html! { p.mind { b { "Mind." } " " span.care { (set(&cautions)) } " " (heading.set(&flags)) } };
    Block::whole(content, mm)
}

/// The upper part: the shade and its face drawn, its sizes beside them.
fn front(heading: &Heading<'_>, making: &Making<'_>, count: &str, hung: &str, room: f64) -> (Markup, f64) {
    let Making { shade, choices, cloth, .. } = *making;
    let unit = heading.unit();
    let said = format!(
        "{}, {}{}. {}. {}. {}.",
        crate::flag::sentence(style(shade.style)).trim_end_matches('.'),
        lining(choices.lining),
        if choices.interlined { ", interlined" } else { "" },
        cloth.map_or("No cloth chosen yet", |cloth| cloth.name.as_str()),
        crate::flag::sentence(hung).trim_end_matches('.'),
        lift(choices)
    );
    let right = WIDE - 84.0;
    let mut mm = (if count.is_empty() { 9.0 } else { 18.0 }) + text_mm(&said, right, 10.0, 1.28) + 2.0;
    let rows: Vec<Markup> = shade
        .cuts
        .iter()
        .map(|cut| {
            let (long, after) = sizes(heading, making, cut);
            let part = crate::flag::sentence(cut.part.words());
            let part = part.trim_end_matches('.');
            let of = of_what(making, cut);
            mm += text_mm(&format!("{part}, {of}"), 40.0, 9.5, 1.22).max(6.0)
                + if long == cut.length { 0.0 } else { 4.0 }
                + 1.5;
            html! {
                tr {
                    td.tick { span.box {} }
                    td { b { (part) } ", " span.note { (heading.set(&of)) (after) } }
                    td.n.big { (heading.len(cut.width)) } td.n.big { (heading.len(long)) }
                    td.n { @if cut.head_line > Length::ZERO { (heading.len(cut.head_line)) } @else { "none" } }
                }
            }
        })
        .collect();
    let groups = shade.cords.alike();
    let cords = if groups.len() <= 2 { groups.len() } else { 1 } + usize::from(shade.cords.around.is_some());
    mm += 8.0 + many(shade.sticks.len() + cords) * 7.1 + 1.5 + 21.0 + 4.0;
    // The drawings take what the sizes beside them, and the work below, leave of a page.
    let left = room.min(150.0).max(mm) - 12.0;
    let (drawn, drawn_mm) = finished(heading, shade, left * 0.62);
    let (face, face_mm) = piece(heading, shade, Part::Face, left * 0.38);
    let markup = html! {
        div.sides {
            div {
                figure { (PreEscaped(drawn)) figcaption { "From the room. Rows from the hem, columns from the left." } }
                figure { (PreEscaped(face)) figcaption { "The face as cut; broken lines are turned." } }
            }
            div {
                h1 { (count) (heading.len(shade.width)) " wide, " (heading.len(shade.length)) " long" }
                p { (heading.set(&said)) }
                table {
                    thead { tr { td.tick {} th { "Cut" } th.n { "Wide" } th.n { "Long" } th.n { "Head line" } } }
                    tbody { @for row in &rows { (row) } }
                }
                table {
                    tbody {
                        @for stick in &shade.sticks {
                            tr { td.tick { span.box {} } td { b { (crate::flag::sentence(stick.part.words()).trim_end_matches('.')) } @if stick.count > 1 { ", " (stick.count) " of them, each" } } td.n.big { (heading.len(stick.length)) } }
                        }
                        @if groups.len() <= 2 {
                            @for runs in &groups {
                                tr { td.tick { span.box {} } td { b { @if runs[0].of == CordOf::TopRail { "Top rail cord" } @else { "Cord" } @if runs.len() == 1 { " " } @else { "s " } } (listed(runs.iter().map(|run| run.column.to_string()))) @if runs.len() > 1 { ", each" } } td.n.big { (heading.len(runs[0].total)) } }
                            }
                        } @else if !groups.is_empty() {
                            tr { td.tick { span.box {} } td { b { (shade.cords.runs.len()) " cords" } ", each to its length: see the steps" } td.n { (heading.marked(shade.cords.to_buy)) " in all" } }
                        }
                        @if let Some(around) = shade.cords.around { tr { td.tick { span.box {} } td { b { "Endless loop" } ", once around" } td.n.big { (heading.len(around)) } } }
                    }
                }
                table.folds {
                    thead { tr { th { (shade.folds.count) " folds, each" } th { "Head to first row" } th { "Flap, last row to hem" } th { "Raised, from the board's top" } th { (if shade.raised.from_head { "Covers of the opening" } else { "Hangs below the trim's top" }) } } }
                    tbody { tr { td.mid { (heading.len(shade.folds.fold)) } td.mid { (heading.len(shade.folds.head)) } td.mid { (heading.len(shade.folds.flap)) } td.mid { (heading.len(shade.raised.height)) } td.mid { (heading.len(shade.raised.covers)) } } }
                }
                p.note { (shade.rings()) " rings. Weight " (heading.set(&Amount::Grams(shade.weight.total).shown(unit))) ", lifted " (heading.set(&Amount::Grams(shade.weight.lifted).shown(unit))) "." }
            }
        }
    };
    (markup, mm.max(drawn_mm + face_mm + 12.0) + 2.5)
}

/// The long size of a cut as it comes off the bolt, and what it is once it has shrunk.
fn sizes(heading: &Heading<'_>, making: &Making<'_>, cut: &Cut) -> (Length, Markup) {
    let long = cut_before_shrinking(making, cut);
    let after = if long == cut.length {
        html! {}
    } else {
        html! { ", " b { (heading.len(cut.length)) " long after shrinking" } }
    };
    (long, after)
}

/// What a part is cut from, by the name it is bought under.
fn of_what(making: &Making<'_>, cut: &Cut) -> String {
    match cut.material {
        Material::Face => making.cloth.map_or_else(|| "face cloth".to_owned(), |cloth| cloth.name.clone()),
        Material::Lining if making.choices.lining == Lining::Blackout => "blackout lining".to_owned(),
        Material::Lining => "plain lining".to_owned(),
        Material::Interlining => "interlining".to_owned(),
    }
}

pub(super) fn style(style: Style) -> &'static str {
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

/// The lift and its side.
pub(super) fn lift(choices: &Choices) -> String {
    let side = match choices.control {
        ControlSide::Left => "left",
        ControlSide::Right => "right",
    };
    match choices.lift {
        Lift::NoReachableCord => "Spring lift, no cord in reach".to_owned(),
        Lift::CordLock => format!("Cord lock at the {side}, with a cleat"),
        Lift::ChainLoop => format!("Chain at the {side}, with a tensioner"),
        Lift::EndlessCord => format!("Endless cord at the {side}, with a tensioner"),
        Lift::TopDownBottomUp => format!("From top and bottom, two cords, the shade's at the {side}"),
        Lift::Motor => format!("Motor, its power at the {side}"),
    }
}

/// Of marks this far apart, every so many have room for words this wide.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few marks")]
fn every(d: &Drawing, apart: f64, words: f64) -> usize {
    (words / d.on_paper(apart)).ceil().clamp(1.0, 100.0) as usize
}

/// The finished shade with its grid, and the height of its drawing.
fn finished(heading: &Heading<'_>, shade: &Makeup, high: f64) -> (String, f64) {
    let show = |length: Length| heading.show(length);
    let (w, h) = (real(shade.width), real(shade.length));
    let rows = shade.grid.rows.iter().map(|row| words_wide(&show(row.from_hem.mark)));
    let beside = rows.fold(14.0, |most: f64, words| most.max(words + 4.0));
    let mut d = Drawing::fit_beside("The shade from the room", (0.0, 0.0), (w, h), (79.0, high), 10.0, beside);
    d.rect((0.0, 0.0), (w, h), "cloth");
    // Words stand 4 mm apart at least: of narrower rows and columns every second, third, ... is named, the outer ones too.
    let last = shade.grid.rows.len().saturating_sub(1);
    let named = every(&d, real(shade.folds.fold), 4.0);
    for (i, row) in shade.grid.rows.iter().enumerate() {
        let y = h - real(row.from_head.exact);
        d.line((0.0, y), (w, y), "thin hidden");
        if (last - i).is_multiple_of(named) {
            d.line((w, y), (w + d.on_wall(1.5), y), "witness");
            d.text((w + d.on_wall(2.0), y), -1.2, Anchor::Start, "measure", &show(row.from_hem.mark));
        }
        for column in &shade.grid.columns {
            d.dot((real(column.from_left.exact), y), 0.75, "solid");
        }
    }
    if let Some(bar) = shade.stick(StickUse::Bar) {
        let side = (w - real(bar.length)) / 2.0;
        d.rect((side, d.on_wall(0.5)), (w - side, d.on_wall(1.6)), "wood");
    }
    let columns = &shade.grid.columns;
    let widest = columns.iter().map(|column| words_wide(&show(column.from_left.mark))).fold(8.0, f64::max);
    let apart = if columns.len() > 1 { real(columns[1].from_left.exact - columns[0].from_left.exact) } else { w };
    // Two levels of words take twice as many.
    let named = every(&d, apart * 2.0, widest + 1.0);
    for (i, column) in columns.iter().enumerate() {
        let x = real(column.from_left.exact);
        d.line((x, h), (x, h + d.on_wall(1.6)), "witness");
        let outer = i == 0 || i + 1 == columns.len();
        if i.is_multiple_of(named) || outer && named == 1 {
            let lift = if (i / named).is_multiple_of(2) { 2.2 } else { 6.0 };
            d.text((x, h), lift, Anchor::Middle, "measure", &show(column.from_left.mark));
        }
    }
    d.dimension_across(0.0, w, 0.0, -5.5, &show(shade.width));
    d.dimension_up(0.0, h, 0.0, 5.5, &show(shade.length));
    let high = d.high();
    (d.svg(), high)
}

/// A part as it is cut, with its turnings, and the height of its drawing.
fn piece(heading: &Heading<'_>, shade: &Makeup, part: Part, high: f64) -> (String, f64) {
    let show = |length: Length| heading.show(length);
    let Some(Cut { width, length, side_turning, head_line, foot_line, .. }) = shade.cut(part) else {
        return (String::new(), 0.0);
    };
    let (w, h) = (real(*width), real(*length));
    let side = (w - real(shade.width)) / 2.0;
    let turned = *side_turning;
    let words = [
        format!("head line {}", show(*head_line)),
        format!("hem {}", show(*length - *foot_line)),
        format!("sides {}", show(turned)),
    ];
    let beside = words.iter().map(|words| words_wide(words)).fold(0.0, f64::max) + 3.0;
    let mut d = Drawing::fit_beside(part.words(), (0.0, 0.0), (w, h), (79.0, high), 8.5, beside);
    d.rect((0.0, 0.0), (w, h), "cloth");
    d.line((side, 0.0), (side, h), "hidden");
    d.line((w - side, 0.0), (w - side, h), "hidden");
    let beyond = w + d.on_wall(1.5);
    let (top, foot) = (h - real(*head_line), h - real(*foot_line));
    d.line((0.0, top), (w, top), "thick");
    d.text((beyond, top), -1.2, Anchor::Start, "small", &words[0]);
    if foot > 0.0 {
        d.line((0.0, foot), (w, foot), "hidden");
        d.text((beyond, foot), -1.2, Anchor::Start, "small", &words[1]);
    }
    d.text((beyond, h / 2.0), -1.2, Anchor::Start, "small", &words[2]);
    d.dimension_across(0.0, w, 0.0, -4.0, &show(*width));
    d.dimension_up(0.0, h, 0.0, 4.0, &show(*length));
    let high = d.high();
    (d.svg(), high)
}

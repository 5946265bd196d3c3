//! The cutting sheets of a house: the plan of every cloth drawn to scale with its pattern, and every stick with its cuts.

use super::drawing::{Anchor, Drawing, real};
use super::frame::{Block, Sheet, Stop, WIDE, many, text_mm};
use super::{Heading, PAPER_WIDTH, sentence};
use crate::buying::{ClothPlan, StickPlan};
use crate::cutlist::Spend;
use crate::flag::listed;
use crate::length::{Direction, Grain, Length};
use crate::price;
use crate::work::{Plans, WorkedHouse};
use maud::{Markup, PreEscaped, html};

/// Scales of a plan of cloth, the largest first.
const SCALES: [f64; 6] = [15.0, 20.0, 25.0, 30.0, 40.0, 50.0];
/// Paper around a drawing of cloth, millimetres on each side.
const BORDER: f64 = 7.0;

/// What is cut of a house: the plan of every cloth, and every stick with its cuts.
/// What is otherwise than its client agreed on stands across it: that is agreed on before it is cut.
pub fn cutting(heading: &Heading<'_>, plans: &Plans, house: &WorkedHouse<'_>) -> Markup {
    let buying = &plans.cut;
    let mut blocks = Vec::new();
    if !plans.left_out.is_empty() {
        let names: Vec<String> =
            plans.left_out.iter().map(|(name, stand)| format!("{name} ({})", stand.words())).collect();
        let said = format!("Not cut yet: {}.", names.join("; "));
        blocks.push(Block::whole(html! { p { b { (said) } } }, text_mm(&said, WIDE, 10.0, 1.4) + 1.5));
    }
    if !plans.cut_already.is_empty() {
        let said = format!("Cut already, and not planned again: {}.", plans.cut_already.join("; "));
        blocks.push(Block::whole(html! { p { b { (said) } } }, text_mm(&said, WIDE, 10.0, 1.4) + 1.5));
    }
    for plan in &buying.cloths {
        one_cloth(heading, plan, &mut blocks);
    }
    if !buying.cloths.is_empty() {
        let how = "From left, from end: where the piece's corner lies from the left of the usable width (below 0: in the selvage) and from the cut end, face \
                   up. Numbers as in the table. Fine lines: the pattern's repeats. Shaded: pieces; white: what is left.";
        blocks.push(Block::whole(html! { p.note { (how) } }, text_mm(how, WIDE, 8.5, 1.25) + 1.5));
    }
    for plan in &buying.sticks {
        blocks.push(one_kind(heading, plan));
    }
    if blocks.is_empty() {
        blocks.push(Block::whole(html! { p { "There is nothing to cut yet." } }, 6.0));
    }
    let mut sheet = Sheet::of("Cutting", "Of", "cloths, then sticks", blocks);
    let why = price::cut_unlike_agreed(house, plans);
    if !why.is_empty() {
        sheet.stop = Stop { what: "Not as agreed any more: agree on a new quote before this is cut".to_owned(), why };
    }
    heading.pages(&sheet)
}

fn one_cloth<'a>(heading: &Heading<'a>, planned: &'a ClothPlan, blocks: &mut Vec<Block<'a>>) {
    let show = |length: Length| heading.show(length);
    let marked = |length: Length| heading.show_marked(length);
    let ClothPlan { bolt, wants, plan, held, .. } = planned;
    let title = sentence(&bolt.name).trim_end_matches('.').to_owned();
    let mut said = vec![format!("Buy {}; used {}", marked(plan.buy), marked(plan.used))];
    if plan.spare > Length::ZERO {
        said.push(format!("spared for the pattern {}", marked(plan.spare)));
    }
    let mut text = format!("{}. ", said.join(", "));
    if plan.proven {
        text.push_str("No plan uses less.");
    } else {
        let bound = plan.bound.round(Grain::of_tape(heading.unit()), Direction::Down);
        text.push_str(&format!("No plan uses less than {}.", marked(bound)));
    }
    text.push_str(&format!(
        " One piece after the other takes {}. {} usable of {} wide",
        marked(plan.one_after_another),
        marked(bolt.usable),
        marked(bolt.width)
    ));
    match bolt.repeat {
        Some(repeat) => text.push_str(&format!("; repeat {}", marked(repeat))),
        None => text.push_str("; plain"),
    }
    if let Some(across) = bolt.repeat_across {
        text.push_str(&format!(", {} across", marked(across)));
    }
    text.push('.');
    for note in &plan.notes {
        text.push(' ');
        text.push_str(&sentence(note));
    }
    let from_hand = if held.is_empty() { "on hand" } else { "shelf" };
    if !plan.not_on_hand.is_empty() && held.is_empty() {
        let names: Vec<&str> = plan.not_on_hand.iter().map(|i| wants[*i].name.as_str()).collect();
        text.push_str(&format!(" No length on hand takes: {}.", names.join("; ")));
    }
    let some_on_hand = plan.pieces.iter().any(|piece| piece.on_hand.is_some());
    let matched = plan.pieces.iter().any(|piece| piece.phase.is_some());
    let rows: Vec<(Markup, f64)> = plan
        .pieces
        .iter()
        .enumerate()
        .map(|(n, piece)| {
            let name = format!("{}. {}", n + 1, wants[piece.want].name);
            let mut part = format!("{}{}", piece.part.words(), if piece.turned { ", turned" } else { "" });
            for (kept, edge) in [(piece.selvage_left, "left"), (piece.selvage_right, "right")] {
                if kept > Length::ZERO {
                    part.push_str(&format!(", keep {} of the {edge} selvage", marked(kept)));
                }
            }
            let mm = text_mm(&name, 60.0, 9.0, 1.22).max(text_mm(&part, 26.0, 9.0, 1.22)).max(4.6) + 1.0;
            let row = html! {
                tr {
                    td.tick { span.box.small {} }
                    td { (name) }
                    td { (heading.set(&part)) }
                    @if some_on_hand { td { @match piece.on_hand { Some(i) => { (from_hand) ", " @match held.get(i) { Some(held) => (heading.set(&held.words(heading.unit()))), None => @if let Some(length) = bolt.on_hand.get(i) { (heading.set(&show(*length))) } } } None => "the bolt" } } }
                    td.n { (heading.len(piece.x)) } td.n { (heading.len(piece.y)) }
                    td.n { b { (heading.len(piece.across)) } } td.n { b { (heading.len(piece.along)) } }
                    @if matched { td.n { @if let Some(phase) = piece.phase { (heading.len(phase)) } } }
                }
            };
            (row, mm)
        })
        .collect();
    for decide in &plan.to_decide {
        text.push(' ');
        text.push_str(&sentence(decide));
    }
    let drawn: Vec<(String, f64)> = strips(heading, planned);
    let intro = text_mm(&text, WIDE, 10.0, 1.28);
    // Heading, words and the first strip stay together.
    let mut drawn = drawn.into_iter();
    let first = drawn.next();
    let mm = 9.0 + intro + first.as_ref().map_or(0.0, |(_, high)| high + 1.5);
    blocks.push(Block::whole(
        html! {
            h2 { (title) }
            p { (heading.set(&text)) }
            @if let Some((svg, _)) = first { figure { (PreEscaped(svg)) } }
        },
        mm,
    ));
    for (svg, high) in drawn {
        blocks.push(Block::whole(html! { figure { (PreEscaped(svg)) } }, high + 1.5));
    }
    let seams: Vec<(Markup, f64)> = plan
        .seams
        .iter()
        .map(|seam| {
            let name = &wants[seam.want].name;
            let words = seam.words();
            let row = html! {
                tr { td { (name) } td { (words) } td.n { b { (heading.len(seam.takes)) } } td.n { (heading.len(seam.at)) } }
            };
            (row, text_mm(name, 60.0, 9.0, 1.22).max(text_mm(&words, 50.0, 9.0, 1.22)).max(4.6) + 1.0)
        })
        .collect();
    let joins = Block::parts(6.5, seams, 1, |parts, _| {
        html! {
            table.close {
                thead { tr { th { "Join" } th { "Sewn" } th.n { "Takes from both" } th.n { "From the left, or the top" } } }
                tbody { @for part in parts { (part) } }
            }
        }
    });
    blocks.push(Block::parts(6.5, rows, 1, move |parts, first| {
        html! {
            @if !first { h3 { (title) " (goes on)" } }
            table.close {
                thead { tr { td.tick {} th { "Cut" } th { "Piece" } @if some_on_hand { th { "From" } } th.n { "From left" } th.n { "From end" } th.n { "Across" } th.n { "Along" } @if matched { th.n { "In the repeat" } } } }
                tbody { @for part in parts { (part) } }
            }
        }
    }));
    blocks.push(joins);
}

/// Drawings of the bought cloth, strip by strip, along the paper.
fn strips(heading: &Heading<'_>, planned: &ClothPlan) -> Vec<(String, f64)> {
    let ClothPlan { bolt, plan, .. } = planned;
    let (wide, long) = (real(bolt.usable), real(plan.used));
    if long <= 0.0 {
        return Vec::new();
    }
    // As large as leaves the table and all strips on one page, if any scale does.
    let room = (78.0 - 4.0 * many(plan.pieces.len())).max(52.0);
    let strip = |scale: f64| (PAPER_WIDTH - 2.0 * BORDER) * scale;
    let high = |scale: f64| (long / strip(scale)).ceil() * (wide / scale + 2.0 * BORDER + 3.0);
    let scale = SCALES.into_iter().find(|scale| high(*scale) <= room).unwrap_or(SCALES[SCALES.len() - 1]);
    let strip = strip(scale);
    let mut out = Vec::new();
    let mut from = 0.0;
    while from < long {
        let to = (from + strip).min(long.max(from + 1.0));
        let room = (PAPER_WIDTH, wide / scale + 2.0 * BORDER);
        let mut d = Drawing::fit(&bolt.name, (0.0, 0.0), (strip.min(long), wide), room, BORDER);
        d.rect((0.0, 0.0), (to - from, wide), "thick");
        if let (Some(repeat), Some(first)) = (bolt.repeat, plan.first_line) {
            let step = real(repeat);
            let mut at = real(first);
            while at < to && step > 0.0 {
                if at > from {
                    d.line((at - from, 0.0), (at - from, wide), "thin hidden");
                }
                at += step;
            }
        }
        for (n, piece) in plan.pieces.iter().enumerate().filter(|(_, piece)| piece.on_hand.is_none()) {
            let (start, end) = (real(piece.y).max(from), real(piece.y + piece.along).min(to));
            if end - start < 0.5 {
                continue;
            }
            // The left edge of the cloth is drawn at the top.
            let (top, foot) = (wide - real(piece.x), wide - real(piece.x + piece.across));
            d.rect((start - from, foot), (end - from, top), "cloth");
            d.text(
                (f64::midpoint(start, end) - from, f64::midpoint(top, foot)),
                -1.0,
                Anchor::Middle,
                "measure",
                &(n + 1).to_string(),
            );
        }
        d.dimension_up(0.0, wide, 0.0, 3.5, &heading.show(bolt.usable));
        let words = format!("scale 1:{}", d.scale());
        d.text((0.0, 0.0), -4.0, Anchor::Start, "small", &words);
        let high = d.high();
        out.push((d.svg(), high));
        from = to;
    }
    out
}

fn one_kind<'a>(heading: &'a Heading<'a>, planned: &'a StickPlan) -> Block<'a> {
    let marked = |length: Length| heading.show_marked(length);
    let StickPlan { what, request, plan } = planned;
    let title = sentence(what).trim_end_matches('.').to_owned();
    let mut said = format!("Buy {}", plan.bought);
    let cheapest = request.cheapest_first && matches!(plan.spend, Spend::Cents { .. });
    if plan.is_proven() && cheapest {
        said.push_str("; no mix is cheaper, and none as cheap has fewer.");
    } else if plan.is_proven() {
        said.push_str("; no plan buys fewer, and none of as many is cheaper.");
    } else if let (true, Spend::Cents { at_least, .. }) = (cheapest, plan.spend) {
        said.push_str(&format!("; no mix costs less than {}.", money(at_least)));
    } else {
        said.push_str(&format!(
            "; at most {} more than the fewest there can be ({}).",
            plan.too_many_at_most(),
            plan.bought_at_least
        ));
    }
    if let Spend::Cents { total, .. } = plan.spend {
        said.push_str(&format!(" {}.", money(total)));
    }
    said.push_str(&format!(" Each cut takes {}.", marked(request.kerf)));
    let rows = plan
        .sticks
        .iter()
        .enumerate()
        .map(|(n, stick)| {
            let on_hand = matches!(stick.source, crate::cutlist::Source::OnHand(_));
            let cuts: Vec<String> =
                stick.cuts.iter().map(|cut| format!("{} {}", heading.show(cut.length), request.pieces[cut.piece].name)).collect();
            let row = html! {
                tr {
                    td.tick { span.box {} }
                    td { (n + 1) ". " (heading.marked(stick.length)) @if on_hand { " on hand" } }
                    td { @for (i, cut) in stick.cuts.iter().enumerate() { @if i > 0 { ", " } b { (heading.len(cut.length)) } " " span.soft { (request.pieces[cut.piece].name) } } }
                    td.n { (heading.len(stick.sawn)) }
                    td.n { (heading.len(stick.offcut)) }
                    td { @if stick.keep { "keep" } }
                }
            };
            (row, text_mm(&cuts.join(", "), 98.0, 10.0, 1.25).max(6.2) + 1.8)
        })
        .collect();
    let mm = 9.0 + text_mm(&said, WIDE, 10.0, 1.28) + 8.0;
    Block::parts(mm, rows, 1, move |parts, first| {
        html! {
            h2 { (title) @if !first { " (goes on)" } }
            @if first { p { (heading.set(&said)) } }
            table {
                thead { tr { td.tick {} th { "Stick" } th { "Cut, in this order" } th.n { "Sawn away" } th.n { "Left" } td {} } }
                tbody { @for part in parts { (part) } }
            }
        }
    })
}

/// What a house needs from the shops.
pub fn buying(heading: &Heading<'_>, plans: &Plans) -> Markup {
    let buying = plans.buy();
    let without = plans.with_mates.is_some().then_some(&plans.cut);
    let alone = |what: &str| {
        let items = without.into_iter().flat_map(|cut| &cut.sections).flat_map(|section| &section.items);
        items.filter(|item| item.what == what).map(|item| item.buy.as_str()).next().unwrap_or("nothing").to_owned()
    };
    let both = without.is_some();
    let mut blocks = Vec::new();
    let mut said = Vec::new();
    if both {
        said.push(format!(
            "With {}, not settled yet but in the same cloth and room as what is: two lots never meet in a room. Without: \
             what to buy for the settled shades alone.",
            listed(plans.mates.iter().cloned())
        ));
    }
    let others: Vec<String> = plans
        .left_out
        .iter()
        .filter(|(name, _)| !plans.mates.contains(name))
        .map(|(name, stand)| format!("{name} ({})", stand.words()))
        .collect();
    if !others.is_empty() {
        said.push(format!("Not on this list: {}.", others.join("; ")));
    }
    if !plans.cut_already.is_empty() {
        said.push(format!("Cut already, and not bought for again: {}.", plans.cut_already.join("; ")));
    }
    for said in said {
        blocks.push(Block::whole(html! { p { (said) } }, text_mm(&said, WIDE, 10.0, 1.28) + 1.5));
    }
    for problem in &buying.problems {
        let said = sentence(problem);
        blocks.push(Block::whole(html! { p { b { (heading.set(&said)) } } }, text_mm(&said, WIDE, 10.0, 1.35) + 1.2));
    }
    for section in &buying.sections {
        let title = sentence(&section.name).trim_end_matches('.').to_owned();
        let rows = section
            .items
            .iter()
            .map(|item| {
                let row = html! {
                    tr {
                        td.tick { span.box {} }
                        td { (heading.set(&item.what)) } td { b { (heading.set(&item.buy)) } @if both { span.sub { "without: " (heading.set(&alone(&item.what))) } } } td { (heading.set(&item.need)) } td { (heading.set(&item.on_hand)) } td.note { (heading.set(&item.why)) }
                        td.n { (item.cost_cents.map_or_else(String::new, money)) }
                    }
                };
                let cells = [(&item.what, 36.0, 10.0), (&item.buy, 30.0, 10.6), (&item.need, 30.0, 10.0), (&item.on_hand, 18.0, 10.0), (&item.why, 34.0, 8.5)];
                let sub = if both { text_mm(&format!("without: {}", alone(&item.what)), 28.0, 8.5, 1.25) } else { 0.0 };
                let mm = sub + cells.iter().map(|(text, wide, points)| text_mm(text, *wide, *points, 1.22)).fold(5.4, f64::max);
                (row, mm + 1.8)
            })
            .collect();
        blocks.push(Block::parts(15.0, rows, 1, move |parts, first| {
            html! {
                h2 { (title) @if !first { " (goes on)" } }
                table.shop {
                    thead { tr { td.tick {} th { "What" } th { "Buy" } th { "Needed" } th { "On hand" } th { "Why" } th.n { "Cost" } } }
                    tbody { @for part in parts { (part) } }
                }
            }
        }));
    }
    let sum = buying.cost_cents.map_or_else(
        || "Not everything has a price, so there is no sum.".to_owned(),
        |cents| {
            let alone = without.and_then(|cut| cut.cost_cents);
            let alone = alone.map_or_else(String::new, |cents| format!("; without {}", money(cents)));
            format!("In all {}{alone}.", money(cents))
        },
    );
    blocks.push(Block::whole(html! { p { b { (sum) } } }, 6.5));
    heading.pages(&Sheet::of("Buying", "Of", "up to what the shops sell", blocks))
}

fn money(cents: u64) -> String {
    format!("{}.{:02}", cents / 100, cents % 100)
}

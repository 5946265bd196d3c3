//! The cutting sheets of a house: the plan of every cloth drawn to scale with its pattern, and every stick with its cuts.

use super::drawing::{Anchor, Drawing, real};
use super::{Heading, PAPER_WIDTH, sentence};
use crate::buying::{Buying, ClothPlan, StickPlan};
use crate::cutlist::Spend;
use crate::length::{Direction, Grain, Length};
use maud::{Markup, PreEscaped, html};

/// Scales of a plan of cloth, the largest first.
const SCALES: [f64; 6] = [15.0, 20.0, 25.0, 30.0, 40.0, 50.0];
/// Paper around a drawing of cloth, millimetres on each side.
const BORDER: f64 = 7.0;

/// The plan of every cloth of a house, a sheet each.
pub fn cloth(heading: &Heading<'_>, buying: &Buying) -> Vec<Markup> {
    buying.cloths.iter().map(|plan| one_cloth(heading, plan)).collect()
}

fn one_cloth(heading: &Heading<'_>, planned: &ClothPlan) -> Markup {
    let show = |length: Length| heading.show(length);
    let ClothPlan { bolt, wants, plan } = planned;
    let content = html! {
        p {
            strong.size { "Buy " (show(plan.buy)) } "; used " (show(plan.used))
            @if plan.spare > Length::ZERO { ", spared for the pattern " (show(plan.spare)) }
            ". "
            @if plan.proven { "No plan uses less." } @else { "No plan uses less than " (show(plan.bound.round(Grain::of_tape(heading.unit()), Direction::Down))) "." }
            " One piece after the other takes " (show(plan.one_after_another)) ": this plan saves " (show(plan.saved())) "."
        }
        p.soft {
            (show(bolt.usable)) " usable of " (show(bolt.width)) " wide"
            @if let Some(repeat) = bolt.repeat { "; repeat " (show(repeat)) } @else { "; plain" }
            @if let Some(across) = bolt.repeat_across { ", " (show(across)) " across" }
            "."
        }
        @for note in &plan.notes { p { (sentence(note)) } }
        @if !plan.not_on_hand.is_empty() {
            p { strong { "No length on hand takes: " } (plan.not_on_hand.iter().map(|i| wants[*i].name.as_str()).collect::<Vec<_>>().join("; ")) "." }
        }
        @let some_on_hand = plan.pieces.iter().any(|piece| piece.on_hand.is_some());
        @let matched = plan.pieces.iter().any(|piece| piece.phase.is_some());
        table.close {
            thead { tr { th { "Cut" } th { "Piece" } @if some_on_hand { th { "From" } } th.n { "From left" } th.n { "From end" } th.n { "Across" } th.n { "Along" } @if matched { th.n { "In repeat" } } } }
            tbody {
                @for (n, piece) in plan.pieces.iter().enumerate() {
                    tr {
                        td { (n + 1) ". " (wants[piece.want].name) }
                        td { (piece.part.words()) @if piece.turned { ", turned" } }
                        @if some_on_hand { td { @if let Some(i) = piece.on_hand { "on hand, " (bolt.on_hand.get(i).map_or_else(String::new, |length| show(*length))) } @else { "the bolt" } } }
                        td.n { (show(piece.x)) } td.n { (show(piece.y)) }
                        td.n.size { (show(piece.across)) } td.n.size { (show(piece.along)) }
                        @if matched { td.n { (piece.phase.map_or_else(String::new, show)) } }
                    }
                }
            }
        }
        @for strip in strips(heading, planned) {
            figure { (PreEscaped(strip)) }
        }
        p.soft.after { "From left, from end: where the piece's corner lies from the left of the usable width and from the cut end. Face up, drawn to scale; numbers as in the table. Fine lines: the pattern's repeats. Shaded: pieces; white: what is left." }
    };
    heading.sheet("Cloth", &bolt.name, &content)
}

/// Drawings of the bought cloth, strip by strip, along the paper.
fn strips(heading: &Heading<'_>, planned: &ClothPlan) -> Vec<String> {
    let ClothPlan { bolt, plan, .. } = planned;
    let (wide, long) = (real(bolt.usable), real(plan.used));
    if long <= 0.0 {
        return Vec::new();
    }
    // As large as leaves the table and all strips on one page, if any scale does.
    #[allow(clippy::cast_precision_loss, reason = "a few pieces")]
    let room = (215.0 - 9.5 * plan.pieces.len() as f64).max(100.0);
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
        out.push(d.svg());
        from = to;
    }
    out
}

/// Every stick of a house with its cuts.
pub fn timber(heading: &Heading<'_>, buying: &Buying) -> Markup {
    let content = html! {
        @if buying.sticks.is_empty() { p { "There is nothing to cut from sticks yet." } }
        @for plan in &buying.sticks { (one_kind(heading, plan)) }
    };
    heading.sheet("Timber and bars", "in the order of cutting", &content)
}

fn one_kind(heading: &Heading<'_>, planned: &StickPlan) -> Markup {
    let show = |length: Length| heading.show(length);
    let StickPlan { what, request, plan } = planned;
    html! {
        h2 { (sentence(what).trim_end_matches('.')) }
        p {
            strong.size { "Buy " (plan.bought) }
            @if plan.is_proven() { "; no plan buys fewer, and none of as many is cheaper." }
            @else { "; at most " (plan.too_many_at_most()) " more than the fewest there can be (" (plan.bought_at_least) ")." }
            @match plan.spend { Spend::Cents { total, .. } => { " " (money(total)) "." } Spend::Bought { .. } => {} }
            " Each cut takes " (show(request.kerf)) "."
        }
        table {
            thead { tr { th { "Stick" } th { "Cut, in this order" } th.n { "Sawn away" } th.n { "Left" } } }
            tbody {
                @for (n, stick) in plan.sticks.iter().enumerate() {
                    tr {
                        td { (n + 1) ". " (show(stick.length)) @if matches!(stick.source, crate::cutlist::Source::OnHand(_)) { " on hand" } }
                        td { @for (i, cut) in stick.cuts.iter().enumerate() { @if i > 0 { ", " } strong { (show(cut.length)) } " " span.soft { (request.pieces[cut.piece].name) } } }
                        td.n { (show(stick.sawn)) }
                        td.n { (show(stick.offcut)) @if stick.keep { ", keep" } }
                    }
                }
            }
        }
    }
}

/// What a house needs from the shops.
pub fn buying(heading: &Heading<'_>, buying: &Buying) -> Markup {
    let content = html! {
        @for problem in &buying.problems { p { strong { (sentence(problem)) } } }
        @for section in &buying.sections {
            h2 { (section.name) }
            table {
                thead { tr { th { "Got" } th { "What" } th { "Buy" } th { "Needed" } th { "On hand" } th { "Why" } th.n { "Cost" } } }
                tbody {
                    @for item in &section.items {
                        tr {
                            td { span.box {} }
                            td { (item.what) } td.size { (item.buy) } td { (item.need) } td { (item.on_hand) } td.soft { (item.why) }
                            td.n { (item.cost_cents.map_or_else(String::new, money)) }
                        }
                    }
                }
            }
        }
        @match buying.cost_cents {
            Some(cents) => p { strong { "In all " (money(cents)) } },
            None => p.soft { "Not everything has a price, so there is no sum." },
        }
    };
    heading.sheet("Buying", "up to what the shops sell", &content)
}

fn money(cents: u64) -> String {
    format!("{}.{:02}", cents / 100, cents % 100)
}

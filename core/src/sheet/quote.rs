//! The quote: what a client is offered, in plain words, with the warning that matters, and a line to sign on.

use super::frame::{Block, Sheet, Stop, WIDE, text_mm};
use super::{Heading, alike};
use crate::care;
use crate::flag::sentence;
use crate::house::{Quote, QuoteLine};
use crate::length::{Direction, Grain, Length};
use crate::money::Money;
use crate::mount::Form;
use crate::price;
use crate::work::{Worked, WorkedHouse};
use maud::{Markup, PreEscaped, html};

/// The height of the tallest drawing in a row, millimetres.
const DRAWN: f64 = 11.0;

/// A quote as its client reads it. It says what was frozen in it; what became otherwise since stands in a bar on top.
pub fn quote(heading: &Heading<'_>, quote: &Quote, house: &WorkedHouse<'_>) -> Markup {
    let trade = heading.job.traded();
    let tallest =
        quote.lines.iter().map(|line| line.width.value().max(line.length.value())).max().unwrap_or(Length::ZERO);
    let shades: u32 = quote.lines.iter().map(|line| line.count).sum();
    let mut blocks = vec![Block::whole(
        html! {
            div.quote-head {
                h1 { (shades) @if shades == 1 { " Roman shade" } @else { " Roman shades" } ", made and hung" }
                p { "Quote " (quote.name) " of " (quote.at.date_naive()) ". Good until " (quote.until) "." }
            }
        },
        13.0,
    )];
    let mut last_room = String::new();
    let rows = quote.lines.iter().map(|line| {
        let (room, name) = line.what.split_once(", ").unwrap_or(("", &line.what));
        let first = last_room != room;
        room.clone_into(&mut last_room);
        row(heading, quote, line, (if first { room } else { "" }, name), tallest, house.opening(line.opening))
    });
    blocks.push(Block::parts(8.0, rows.collect(), 1, |parts, _| {
        html! {
            table.quote {
                thead { tr { th { "Room" } th { "" } th { "Window or door" } th.n { "Wide" } th.n { "Long" } th { "Made and hung" } th.n { "Price" } } }
                tbody { @for part in parts { (part) } }
            }
        }
    }));
    blocks.push(below(quote, house));
    blocks.push(Block::whole(signature(quote, &trade.name), 24.0));
    let law = "Laws on sales at the door, on the right to withdraw and on deposits differ by place; they decide, not this sheet. The \
               cloth is cut only after this is agreed and no reading is open. Prices stand as they are printed here.";
    let number = format!(
        " Content of the sizes: {}. Amounts in {}, each line to its smallest unit, halves away from zero.",
        quote.content,
        quote.currency.code()
    );
    blocks.push(Block::whole(
        html! { p.note { (law) (number) } },
        text_mm(&format!("{law}{number}"), WIDE, 8.5, 1.25) + 1.5,
    ));
    let made_for = if heading.job.reach.is_empty() { heading.job.name.clone() } else { heading.job.reach.clone() };
    let mut sheet = Sheet { given: true, ..Sheet::of("Quote", "For", &made_for, blocks) };
    let changed = price::has_changed(quote, house);
    if !changed.is_empty() {
        let what = if quote.agreed.is_some() { "Not as agreed any more" } else { "Not as offered any more" };
        sheet.stop = Stop { what: what.to_owned(), why: changed };
    }
    heading.pages(&sheet)
}

fn row(
    heading: &Heading<'_>,
    quote: &Quote,
    line: &QuoteLine,
    (room, name): (&str, &str),
    tallest: Length,
    worked: Option<&Worked<'_>>,
) -> (Markup, f64) {
    let made =
        format!("{}{}; {}", worked.map_or_else(String::new, |worked| alike(worked.opening)), line.mount, line.made);
    let notes = line.notes.join("; ");
    let mm = text_mm(&made, 66.0, 9.0, 1.22)
        .max(text_mm(name, 34.0, 10.0, 1.22) + text_mm(&notes, 34.0, 8.5, 1.22))
        .max(DRAWN)
        + 1.8;
    let markup = html! {
        tr {
            td { b { (room) } }
            td.drawn { (drawn(line, tallest)) }
            td { (name) @if !notes.is_empty() { span.sub { (notes) } } }
            td.n.mid { (heading.len(line.width.value())) }
            td.n.mid { (heading.len(line.length.value())) }
            td.sub-text { (made) }
            td.n { (quote.currency.number(line.price)) }
        }
    };
    (markup, mm)
}

/// The shade's face, all of a quote at one scale.
#[allow(clippy::cast_precision_loss, reason = "a drawing, not a cut")]
fn drawn(line: &QuoteLine, tallest: Length) -> Markup {
    let mm = |length: Length| length.nm() as f64 / tallest.nm().max(1) as f64 * DRAWN;
    let (wide, long) = (mm(line.width.value()), mm(line.length.value()));
    PreEscaped(format!(
        r#"<svg width="{w:.2}mm" height="{h:.2}mm" viewBox="0 0 {w:.2} {h:.2}" aria-hidden="true"><rect x=".2" y=".2" width="{iw:.2}" height="{ih:.2}" fill="none" stroke="black" stroke-width=".3"/><path d="M.2 {a:.2}h{iw:.2}M.2 {b:.2}h{iw:.2}M.2 {c:.2}h{iw:.2}" stroke="black" stroke-width=".12"/></svg>"#,
        w = wide,
        h = long,
        iw = (wide - 0.4).max(0.1),
        ih = (long - 0.4).max(0.1),
        a = long * 0.27,
        b = long * 0.5,
        c = long * 0.73,
    ))
}

/// What is included, what is not known yet and what to mind, beside the sums.
fn below<'a>(quote: &Quote, house: &WorkedHouse<'_>) -> Block<'a> {
    let mut words: Vec<(&str, String)> = Vec::new();
    words.push((
        "Included",
        "Measuring, cloth and lining as named, board, lift, making, and hanging in one stop.".to_owned(),
    ));
    let open: Vec<String> = house
        .openings
        .iter()
        .filter(|one| quote.lines.iter().all(|line| line.opening != one.opening.id))
        .map(|one| format!("{}, {}", one.room.name, one.opening.name))
        .collect();
    let mut unknown: Vec<String> = Vec::new();
    if !open.is_empty() {
        unknown.push(format!("Not in this price: {}.", open.join("; ")));
    }
    if quote.lines.iter().any(|line| line.notes.iter().any(|note| note == "size to be confirmed")) {
        unknown.push("Where a size is to be confirmed, a reading is taken again before anything is cut.".to_owned());
    }
    unknown.push("What is behind the walls is probed on the day; other fixings are at cost.".to_owned());
    words.push(("Not yet known", unknown.join(" ")));
    words.extend(minding(quote, house).into_iter().map(|says| ("To mind", says)));
    let mut sums: Vec<(String, Money)> =
        vec![("The shades".to_owned(), quote.lines.iter().map(|line| line.price).sum())];
    sums.extend(quote.sums.iter().map(|sum| (sum.what.clone(), sum.money)));
    let rest = quote.total - quote.deposit;
    let left: f64 = words.iter().map(|(_, says)| text_mm(says, 104.0, 10.0, 1.28) + 2.0).sum::<f64>() + 20.0;
    #[allow(clippy::cast_precision_loss, reason = "a few rows")]
    let right = sums.len() as f64 * 6.0 + 26.0;
    let number = |money: Money| quote.currency.number(money);
    let markup = html! {
        div.quote-below {
            div {
                @for (i, (title, says)) in words.iter().enumerate() {
                    @if i == 0 || words[i - 1].0 != *title { h2 { (title) } }
                    p { (says) }
                }
            }
            table.sum {
                tbody {
                    @for (what, money) in &sums { tr { td { (what) } td.n { (number(*money)) } } }
                    tr.total { td { "Total, " (quote.currency.code()) } td.n { (number(quote.total)) } }
                    tr { td { "Deposit now" } td.n { b { (number(quote.deposit)) } } }
                    tr { td { "When hung" } td.n { (number(rest)) } }
                }
            }
        }
    };
    Block::whole(markup, left.max(right))
}

/// What a client finds out too late otherwise: what a raised shade covers, gaps of light, seams, cords.
fn minding(quote: &Quote, house: &WorkedHouse<'_>) -> Vec<String> {
    let unit = house.job.unit;
    let of: Vec<&Worked<'_>> = quote.lines.iter().filter_map(|line| house.opening(line.opening)).collect();
    let made: Vec<_> = of
        .iter()
        .filter_map(|one| Some((*one, one.mounts.advised()?, one.shade.as_ref()?.makeup.as_ref().ok()?)))
        .collect();
    let mut all = Vec::new();
    let covers = made.iter().map(|(_, _, made)| made.raised.covers).filter(|covers| *covers > Length::ZERO);
    if let (Some(least), Some(most)) = (covers.clone().min(), covers.max()) {
        let show = |length: Length| length.round(Grain::of_tape(unit), Direction::Up).show_marked(unit);
        let range = if least == most { show(most) } else { format!("{} to {}", show(least), show(most)) };
        all.push(format!("Raised, a shade lies folded at its head and covers {range} of the glass or frame below the head of the opening."));
    }
    if made.iter().any(|(_, mounting, _)| mounting.form == Form::Inside) {
        all.push("Inside the opening there is a gap of light at each side: without it a shade rubs.".to_owned());
    }
    let joined = made.iter().filter(|(one, _, made)| {
        let cloth = one.opening.choices.cloth.as_deref().and_then(|name| house.job.cloth(name));
        let wide =
            cloth.map(|cloth| cloth.usable.as_ref().map_or_else(|| cloth.width.value(), crate::length::Typed::value));
        wide.is_some_and(|wide| made.cuts.first().is_some_and(|face| face.width > wide))
    });
    let names: Vec<&str> = joined.map(|(one, ..)| one.opening.name.as_str()).collect();
    if !names.is_empty() {
        all.push(sentence(&format!("{} wider than the cloth: it is joined, with seams that show", names.join(", "))));
    }
    if of.iter().any(|one| care::can_be_reached(one.opening.choices.lift)) {
        all.push("A cord or chain in reach can strangle a child. It is held tight or cleated out of reach, as the law of the place asks; a lift with no cord in reach is made instead on request.".to_owned());
    }
    all
}

fn signature(quote: &Quote, workroom: &str) -> Markup {
    html! {
        div.sign {
            div {
                @if let Some(agreed) = &quote.agreed {
                    @if !agreed.strokes.is_empty() { (strokes(&agreed.strokes)) }
                    "Agreed: " b { (agreed.name) } ", " (agreed.at.date_naive())
                } @else { "Agreed, name and date" }
            }
            div { "For the workroom" @if !workroom.is_empty() { ", " (workroom) } @if !quote.by.is_empty() { ": " (quote.by) } }
        }
    }
}

/// A signature as it was drawn.
fn strokes(text: &str) -> Markup {
    let lines: Vec<String> = text
        .split(';')
        .map(|stroke| {
            let points =
                stroke.split_whitespace().filter_map(|number| number.parse::<u16>().ok()).filter(|n| *n <= 300);
            points.map(|n| n.to_string()).collect::<Vec<_>>().join(" ")
        })
        .filter(|points| !points.is_empty())
        .collect();
    html! {
        svg.signature width="45mm" height="15mm" viewBox="0 0 300 100" role="img" aria-label="signature" {
            @for points in &lines { polyline points=(points) fill="none" stroke="black" stroke-width="2" {} }
        }
    }
}

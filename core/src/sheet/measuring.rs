//! The measuring sheet: an opening drawn with its readings at their places, and what they say.

use super::drawing::{Anchor, Drawing, Point, real};
use super::{Heading, PAPER_WIDTH, flag};
use crate::house::{Opening, Place, Room};
use crate::length::Length;
use crate::truth::Truth;
use maud::{Markup, PreEscaped, html};

/// How much the drawing exaggerates what is out of true.
const EXAGGERATED: f64 = 10.0;

/// The measuring sheet of one opening.
pub fn measuring(heading: &Heading<'_>, room: &Room, opening: &Opening, truth: &Truth) -> Markup {
    let content = html! {
        div.two {
            figure {
                (PreEscaped(opening_figure(opening, truth)))
                figcaption { "Seen from the room, to scale. " @if truth.shape.corners.is_some() { "What is out of true is drawn ten times as large." } @else { "Not enough was read to draw its shape." } }
            }
            div {
                h2 { "What the readings say" }
                @if truth.flags.is_empty() { p { "They hold together." } }
                @for each in &truth.flags { (flag(each)) }
                (shape(heading, truth))
            }
        }
        (readings(heading, opening))
        @if !truth.missing.is_empty() {
            p { "Not read yet: " (truth.missing.iter().map(|place| place.words()).collect::<Vec<_>>().join(", ")) "." }
        }
        @for note in &opening.notes { p { strong { "Note: " } (note.text) " " span.soft { "(" (note.by) ")" } } }
        @for ask in opening.asks.iter().filter(|ask| !opening.is_answered(ask)) {
            p { strong { "Asked to measure again: " } (ask.why) }
        }
    };
    heading.sheet("Measuring", &format!("{}, {}", room.name, opening.name), &content)
}

/// Every reading that was taken, in order; who, when and with what once where that is the same for all.
fn readings(heading: &Heading<'_>, opening: &Opening) -> Markup {
    let day = |at: &chrono::DateTime<chrono::Utc>| at.format("%Y-%m-%d").to_string();
    let Some(first) = opening.readings.first() else {
        return html! { h2 { "Every reading" } p { "Nothing was read yet." } };
    };
    let taken = |r: &crate::house::Reading| [day(&r.at), r.by.clone(), r.with.clone()];
    let same = opening.readings.iter().all(|r| taken(r) == taken(first));
    let said = |parts: [String; 3]| parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
    html! {
        h2 { "Every reading" @if same { span.soft { " (" (said(taken(first))) ")" } } }
        ul.readings {
            @for reading in &opening.readings {
                li {
                    span { (reading.place.words()) @if !same { span.soft { " " (said(taken(reading))) } } @else { span.soft { " " (reading.at.format("%H:%M")) } } }
                    span {
                        @if opening.stands(reading) { strong { (reading.typed.text()) } } @else { s { (reading.typed.text()) } }
                        @if reading.unit() != heading.unit() { " " (reading.unit().name()) }
                        @if let Some(withdrawn) = &reading.withdrawn { " taken back" @if !withdrawn.why.is_empty() { ": " (withdrawn.why) } }
                        @else if !opening.stands(reading) { " corrected later" }
                    }
                }
            }
            @for skip in &opening.skipped {
                li { span { (skip.place.words()) } span { "not read: " (skip.why) } }
            }
        }
    }
}

fn shape(heading: &Heading<'_>, truth: &Truth) -> Markup {
    let shape = &truth.shape;
    let per = real(heading.unit().one());
    let number = |value: f64| {
        // Adding nothing to a rounded number turns the -0.00 of a small negative one into 0.00.
        if heading.unit().is_imperial() {
            format!("{:.2} in", (value / per * 100.0).round() / 100.0 + 0.0)
        } else {
            format!("{:.1} mm", (value * 10.0).round() / 10.0 + 0.0)
        }
    };
    let rows = [
        ("leans to the right by", shape.lean),
        ("wider at the top by", shape.taper),
        ("head higher at the right by", shape.slope_head),
        ("sill higher at the right by", shape.slope_sill),
        ("jambs bow apart by", shape.bow),
    ];
    html! {
        h2 { "Its shape" }
        @if rows.iter().all(|(_, estimate)| estimate.is_none()) { p { "Not known yet." } } @else {
            table {
                thead { tr { th { "Estimate" } th.n { "about" } th.n { "give or take" } } }
                tbody {
                    @for (words, estimate) in rows {
                        @if let Some(estimate) = estimate {
                            tr { td { (words) } td.n { (number(estimate.value)) } td.n { (number(estimate.sd)) } }
                        }
                    }
                    @if let Some(passage) = &shape.passage {
                        tr { td { "clear upright passage" } td.n { strong { (passage.reliable.show_marked(heading.unit())) } } td.n { "" } }
                    }
                }
            }
        }
    }
}

/// The value that is written at a place: the readings that stand, in the order of taking.
fn written(opening: &Opening, place: Place) -> Option<String> {
    let texts: Vec<&str> = opening.standing(place).map(|reading| reading.typed.text()).collect();
    (!texts.is_empty()).then(|| texts.join(" | "))
}

fn first(opening: &Opening, places: &[Place]) -> Option<Length> {
    places.iter().find_map(|place| opening.standing(*place).next()).map(crate::house::Reading::value)
}

/// The opening as an SVG to scale, with its readings at their places and what is out of true drawn ten times as large.
pub fn opening_figure(opening: &Opening, truth: &Truth) -> String {
    let widths: Vec<Place> = Place::WIDTHS.iter().map(|(place, _)| *place).collect();
    let width = first(opening, &widths).map_or(900.0, real);
    let height = first(opening, &Place::HEIGHTS).map_or(width * 1.3, real);
    let flat: [Point; 4] = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    // Each corner moved from the true rectangle by ten times what it is out, and held within a third of the width.
    let corners: [Point; 4] = truth.shape.corners.map_or(flat, |fitted| {
        let most = width / 3.0;
        std::array::from_fn(|i| {
            let out = |got: f64, true_: f64| true_ + ((got - true_) * EXAGGERATED).clamp(-most, most);
            (out(fitted[i][0], flat[i].0), out(fitted[i][1], flat[i].1))
        })
    });
    let low =
        (corners.iter().map(|p| p.0).fold(f64::MAX, f64::min), corners.iter().map(|p| p.1).fold(f64::MAX, f64::min));
    let high =
        (corners.iter().map(|p| p.0).fold(f64::MIN, f64::max), corners.iter().map(|p| p.1).fold(f64::MIN, f64::max));
    let room = (PAPER_WIDTH / 2.0 - 3.0, 130.0);
    let mut d = Drawing::fit(&opening.name, low, high, room, 9.0);
    let [bl, br, tr, tl] = corners;
    d.polygon(&corners, "glass thick");
    let between = |a: Point, b: Point, part: f64| (a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part);
    let inset = d.on_wall(5.0);
    for (place, quarters) in Place::WIDTHS {
        let Some(words) = written(opening, place) else { continue };
        let part = match quarters {
            0 => inset / height,
            4 => 1.0 - inset / height,
            _ => f64::from(i32::try_from(quarters).unwrap_or(2)) / 4.0,
        };
        let (a, b) = (between(bl, tl, part), between(br, tr, part));
        d.line(a, b, "tape");
        d.text(between(a, b, 0.27), 0.8, Anchor::Middle, "tape-text", &words);
    }
    for (place, from, to, x, side) in
        [(Place::HeightLeft, bl, tl, low.0, 1.0), (Place::HeightRight, br, tr, high.0, -1.0)]
    {
        if let Some(words) = written(opening, place) {
            d.dimension_up(from.1, to.1, x, 5.0 * side, &words);
        }
    }
    if let Some(words) = written(opening, Place::HeightCentre) {
        let (a, b) = (between(bl, br, 0.5), between(tl, tr, 0.5));
        d.line(a, b, "tape");
        d.text(between(a, b, 0.62), 0.0, Anchor::Start, "tape-text", &format!(" {words}"));
    }
    for (place, from, to, at) in [(Place::DiagonalRising, bl, tr, 0.64), (Place::DiagonalFalling, tl, br, 0.64)] {
        if let Some(words) = written(opening, place) {
            d.line(from, to, "tape hidden");
            d.text(between(from, to, at), 0.8, Anchor::Middle, "tape-text", &words);
        }
    }
    let scale = format!("scale 1:{}", d.scale());
    d.text(low, -8.0, Anchor::Start, "small", &scale);
    if let Some(words) = written(opening, Place::Depth) {
        d.text((high.0, low.1), -8.0, Anchor::End, "small", &format!("depth {words}"));
    }
    d.svg()
}

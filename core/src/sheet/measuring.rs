//! The measuring record: an opening drawn with its readings at their places, and what they say.

use super::drawing::{Anchor, Drawing, Point, real};
use super::frame::{Block, Sheet, WIDE, text_mm};
use super::set::set;
use super::{Heading, PAPER_WIDTH, flag};
use crate::flag::sentence;
use crate::house::{HeadShape, Opening, Place};
use crate::length::{Direction, Grain, Length};
use crate::truth::Truth;
use crate::work::Worked;
use maud::{Markup, PreEscaped, html};

/// How much the drawing exaggerates what is out of true.
const EXAGGERATED: f64 = 10.0;

/// The measuring record of one opening, for the file.
pub fn measuring(heading: &Heading<'_>, worked: &Worked<'_>) -> Markup {
    let Worked { room, opening, truth, .. } = worked;
    let caption = if truth.shape.corners.is_some() {
        "Seen from the room, to scale. What is out of true is drawn ten times as large."
    } else {
        "Not enough is measured to draw its shape: a sketch."
    };
    let flags_mm: f64 = truth
        .flags
        .iter()
        .map(|each| text_mm(&format!("{} {}", each.says, each.to_do), WIDE / 2.0 - 6.0, 9.5, 1.25) + 1.6)
        .sum();
    let top = html! {
        div.halves {
            figure.typed { (PreEscaped(opening_figure(opening, truth))) figcaption { (caption) } }
            div {
                h2 { "Result" }
                p { b { (sentence(worked.stand().words())) } }
                @if truth.flags.is_empty() { p { "The readings hold together." } }
                @for each in &truth.flags { (flag(heading, each)) }
                (shape(heading, truth))
            }
        }
    };
    let mut blocks = vec![Block::whole(top, (flags_mm + 66.0).max(140.0)), readings(heading, opening)];
    let mut rest: Vec<String> = Vec::new();
    if !truth.missing.is_empty() {
        let places: Vec<&str> = truth.missing.iter().map(|place| place.words()).collect();
        rest.push(format!("Not measured yet: {}.", places.join(", ")));
    }
    rest.extend(opening.notes.iter().map(|note| format!("Note: {} ({})", note.text, note.by)));
    let open = opening.asks.iter().filter(|ask| !opening.is_answered(ask));
    rest.extend(open.map(|ask| format!("Remeasure request: {}", ask.why)));
    for text in rest {
        let mm = text_mm(&text, WIDE, 10.0, 1.28) + 1.2;
        blocks.push(Block::whole(html! { p.typed { (set(&text)) } }, mm));
    }
    let name = format!("{}, {}", room.name, opening.name);
    heading.pages(&Sheet::of("Measuring record", "Opening", &name, blocks))
}

/// Every reading that was taken, in order; who, when and with what once where that is the same for all.
fn readings<'a>(heading: &Heading<'_>, opening: &Opening) -> Block<'a> {
    let day = |at: &chrono::DateTime<chrono::Utc>| at.format("%Y-%m-%d").to_string();
    let Some(first) = opening.readings.first() else {
        return Block::whole(html! { h2 { "Every reading" } p { "No readings yet." } }, 15.0);
    };
    let taken = |r: &crate::house::Reading| [day(&r.at), r.by.clone(), r.with.clone()];
    let same = opening.readings.iter().all(|r| taken(r) == taken(first));
    let said = |parts: [String; 3]| parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
    let aside = if same { format!(" ({})", said(taken(first))) } else { String::new() };
    let mut rows: Vec<(Markup, f64)> = Vec::new();
    for reading in &opening.readings {
        let left = if same { reading.at.format("%H:%M").to_string() } else { said(taken(reading)) };
        let mut right = String::new();
        if reading.unit() != heading.unit() {
            right.push(' ');
            right.push_str(reading.unit().name());
        }
        if let Some(withdrawn) = &reading.withdrawn {
            right.push_str(", withdrawn");
            if !withdrawn.why.is_empty() {
                right.push_str(": ");
                right.push_str(&withdrawn.why);
            }
        } else if !opening.stands(reading) {
            right.push_str(", corrected later");
        }
        let stands = opening.stands(reading);
        let text = reading.typed.text();
        let row = html! {
            li {
                span { (reading.place.words()) " " span.soft { (left) } }
                // A number that does not stand is in brackets, not struck through: a line hides its digits.
                span.typed { @if stands { b { (set(text)) } } @else { "[" (set(text)) "]" } (right) }
            }
        };
        let mm =
            text_mm(&format!("{} {left} {text}{right}", reading.place.words()), WIDE / 2.0 - 10.0, 9.0, 1.28) + 1.3;
        rows.push((row, mm));
    }
    for skip in &opening.skipped {
        let right = format!("skipped: {}", skip.why);
        let mm = text_mm(&format!("{} {right}", skip.place.words()), WIDE / 2.0 - 10.0, 9.0, 1.28) + 1.3;
        rows.push((html! { li { span { (skip.place.words()) } span { (right) } } }, mm));
    }
    Block::parts(9.2, rows, 2, move |parts, first| {
        html! {
            h2 { "Every reading" @if !first { " (goes on)" } span.aside { (aside) } }
            ul.readings { @for part in parts { (part) } }
        }
    })
}

/// What was estimated of its shape, to the nearest mark of the tape: an estimate is no finer than what it came from.
fn shape(heading: &Heading<'_>, truth: &Truth) -> Markup {
    let shape = &truth.shape;
    let grain = Grain::of_tape(heading.unit());
    #[allow(clippy::cast_possible_truncation, reason = "openings are far below 2^63 nm")]
    let length = |mm: f64| Length::from_nm((mm * 1e6).round() as i64);
    let about = |mm: f64| length(mm).round(grain, Direction::Nearest).show(heading.unit());
    let give = |mm: f64| length(mm.abs()).round(grain, Direction::Up).show(heading.unit());
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
                            tr { td { (words) } td.n { (set(&about(estimate.value))) } td.n { (set(&give(estimate.sd))) } }
                        }
                    }
                    @if let Some(passage) = &shape.passage {
                        tr { td { "clear width (plumb)" } td.n { b { (set(&passage.reliable.round(grain, Direction::Down).show(heading.unit()))) } } td.n { "" } }
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
    // A tape that says nothing gives no picture: drawn as if it was not read.
    let drawn = |places: &[Place]| first(opening, places).map(real).filter(|length| *length >= 1.0);
    let width = drawn(&widths).unwrap_or(900.0);
    let height = drawn(&Place::HEIGHTS).unwrap_or(width * 1.3);
    // Under a slope each jamb is as high as it was read.
    let sloped = opening.wall.head_shape == HeadShape::Sloped;
    let jamb = |place: Place| drawn(&[place]).filter(|_| sloped).unwrap_or(height);
    let (left, right) = (jamb(Place::HeightLeft), jamb(Place::HeightRight));
    let flat: [Point; 4] = [(0.0, 0.0), (width, 0.0), (width, right), (0.0, left)];
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
    // An arch that was not read is not drawn.
    let rise = drawn(&[Place::HeadRise]).filter(|_| opening.wall.head_shape == HeadShape::Arched).unwrap_or(0.0);
    let top = corners.iter().map(|p| p.1).fold(f64::MIN, f64::max) + rise;
    let high = (corners.iter().map(|p| p.0).fold(f64::MIN, f64::max), top);
    let room = (PAPER_WIDTH / 2.0 - 3.0, 130.0);
    let mut d = Drawing::fit(&opening.name, low, high, room, 9.0);
    let [bl, br, tr, tl] = corners;
    d.polygon(&corners, "glass thick");
    let between = |a: Point, b: Point, part: f64| (a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part);
    let inset = d.on_wall(5.0);
    if rise > 0.0 {
        const CHORDS: u32 = 16;
        let arch = |n: u32| {
            let part = f64::from(n) / f64::from(CHORDS);
            let (x, y) = between(tl, tr, part);
            (x, y + 4.0 * rise * part * (1.0 - part))
        };
        for n in 0..CHORDS {
            d.line(arch(n), arch(n + 1), "thick");
        }
        if let Some(words) = written(opening, Place::HeadRise) {
            let foot = between(tl, tr, 0.5);
            d.line(foot, (foot.0, foot.1 + rise), "tape");
            d.text((foot.0, foot.1 + rise / 2.0), 0.0, Anchor::Start, "tape-text", &format!(" {words}"));
        }
    }
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

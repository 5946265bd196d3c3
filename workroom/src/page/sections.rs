//! The ways of mounting from the side, all at one scale: wall, bracket, board and fabric.

use super::figures::{Pens, millimetres};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::{Form, Mounting, Mounts};
use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

/// Millimetres drawn of the wall, of what is above the board, and of the fabric below it.
const WALL: f64 = 14.0;
const ABOVE: f64 = 10.0;
const BELOW: f64 = 24.0;
/// What the largest of them takes on the page, and the space around for its words.
const ROOM: (f64, f64) = (150.0, 150.0);
/// The most that a millimetre takes: a small fixing alone is not blown up.
const MOST: f64 = 1.6;
const SIDES: (f64, f64) = (56.0, 48.0);
const ENDS: (f64, f64) = (10.0, 34.0);

/// The parts of one way, in millimetres: across from the wall, up from the bottom of bracket or board.
struct Parts {
    /// The left edge of what is drawn.
    left: f64,
    /// The board's back.
    back: f64,
    /// How far what it is set on stands off the wall.
    bearing: f64,
    deep: f64,
    high: f64,
    /// The bracket's leg, arm and thickness; nothing without one.
    bracket: Option<(f64, f64, f64)>,
}

impl Parts {
    fn of(mounting: &Mounting) -> Self {
        let (wide, thick) = (millimetres(mounting.board.width), millimetres(mounting.board.thickness));
        let (deep, high) = if mounting.form.is_on_face() { (thick, wide) } else { (wide, thick) };
        let bracket = mounting.bracket.as_ref();
        let off = if mounting.form == Form::OutsideCeiling { millimetres(mounting.off_wall) } else { 0.0 };
        Self {
            left: -WALL - off,
            back: if mounting.form.is_screwed_up() { 0.0 } else { millimetres(mounting.bearing + mounting.packing) },
            bearing: millimetres(mounting.bearing),
            deep,
            high,
            bracket: bracket
                .map(|bracket| (millimetres(bracket.leg), millimetres(bracket.arm), millimetres(bracket.leaf))),
        }
    }

    fn leg(&self) -> f64 {
        self.bracket.map_or(0.0, |(leg, ..)| leg)
    }

    fn top(&self) -> f64 {
        self.leg() + self.high
    }

    fn right(&self) -> f64 {
        self.back + self.deep.max(self.bracket.map_or(0.0, |(_, arm, _)| arm))
    }

    /// What it takes on the wall.
    fn size(&self) -> (f64, f64) {
        (self.right() - self.left, self.top() + ABOVE + BELOW)
    }
}

/// A drawing of each way that can be, at the largest scale that fits them all.
pub(super) fn of(mounts: &Mounts, unit: LengthUnit) -> Vec<(Form, Markup)> {
    let parts: Vec<(&Mounting, Parts)> = mounts.can.iter().map(|mounting| (mounting, Parts::of(mounting))).collect();
    let fits = |(_, parts): &(&Mounting, Parts)| {
        let (wide, high) = parts.size();
        (ROOM.0 / wide).min(ROOM.1 / high)
    };
    let scale = parts.iter().map(fits).fold(MOST, f64::min);
    let highest = parts.iter().map(|(_, parts)| parts.top()).fold(0.0, f64::max);
    parts.iter().map(|(mounting, parts)| (mounting.form, drawn(mounting, parts, scale, highest, unit))).collect()
}

fn drawn(mounting: &Mounting, parts: &Parts, scale: f64, highest: f64, unit: LengthUnit) -> Markup {
    // Their bottoms are in line, so that what one adds above is seen beside the others.
    let at = |x: f64, y: f64| (SIDES.0 + (x - parts.left) * scale, ENDS.0 + (highest + ABOVE - y) * scale);
    let mut pens = Pens::default();
    let rect = |pens: &mut Pens, low: (f64, f64), high: (f64, f64), class: &str| {
        let ((x1, y2), (x2, y1)) = (at(low.0, low.1), at(high.0, high.1));
        let (wide, high) = (x2 - x1, y2 - y1);
        let _ = write!(
            pens.lines,
            r#"<rect class="{class}" x="{x1:.1}" y="{y1:.1}" width="{wide:.1}" height="{high:.1}"/>"#
        );
    };
    let line =
        |pens: &mut Pens, a: (f64, f64), b: (f64, f64), class: &str| pens.line(at(a.0, a.1), at(b.0, b.1), class);
    let (top, back, front) = (parts.top(), parts.back, parts.back + parts.deep);
    if mounting.form.is_screwed_up() {
        let ceiling = mounting.form == Form::OutsideCeiling;
        let wall = if ceiling { parts.left + WALL } else { back };
        rect(&mut pens, (parts.left, top), (front + 6.0, top + ABOVE), "wall");
        if ceiling {
            rect(&mut pens, (parts.left, -BELOW), (wall, top), "wall");
            line(&mut pens, (wall, -BELOW), (wall, top), "sill");
        }
        line(&mut pens, (if ceiling { wall } else { parts.left }, top), (front + 6.0, top), "sill");
        rect(&mut pens, (back, 0.0), (front, top), "wood");
        line(&mut pens, (f64::midpoint(back, front), -3.0), (f64::midpoint(back, front), top + 8.0), "");
    } else {
        rect(&mut pens, (parts.left, -BELOW), (0.0, top + ABOVE), "wall");
        line(&mut pens, (0.0, -BELOW), (0.0, top + ABOVE), "sill");
        if parts.bearing > 0.0 {
            rect(&mut pens, (0.0, -BELOW), (parts.bearing, top), "thin");
        }
        if back > parts.bearing {
            rect(&mut pens, (parts.bearing, 0.0), (back, top), "wood dash");
        }
        if let Some((leg, arm, leaf)) = parts.bracket {
            rect(&mut pens, (back, 0.0), (back + leaf, leg), "solid");
            rect(&mut pens, (back, leg - leaf), (back + arm, leg), "solid");
        } else {
            line(&mut pens, (-10.0, parts.high / 2.0), (front + 1.5, parts.high / 2.0), "");
        }
        rect(&mut pens, (back, parts.leg()), (front, top), "wood");
    }
    line(&mut pens, (front, top), (front, -BELOW), "fabric");
    let (projects, adds) = (mounting.projection.show(unit), mounting.adds_above.show(unit));
    let from =
        if mounting.form.is_screwed_up() && mounting.form != Form::OutsideCeiling { back } else { parts.left + WALL };
    let low = at(0.0, -BELOW).1 + 18.0;
    pens.measure((at(from, 0.0).0, low), (at(front, 0.0).0, low), "thin");
    // Beside a short measure, over a long one.
    pens.word((at(front, 0.0).0 + 30.0, low), &projects, 14.0, "", "", false);
    if top > 0.0 && !mounting.form.is_screwed_up() {
        let x = SIDES.0 - 18.0;
        pens.measure((x, at(0.0, 0.0).1), (x, at(0.0, top).1), "thin");
        pens.word((x - 18.0, f64::midpoint(at(0.0, 0.0).1, at(0.0, top).1)), &adds, 14.0, "", "", false);
    }
    let wide = SIDES.0 + (parts.right() - parts.left) * scale + SIDES.1;
    let high = ENDS.0 + (highest + ABOVE + BELOW) * scale + ENDS.1;
    let said = format!(
        "{} from the side: projects {projects}{}.",
        mounting.form.words(),
        if mounting.form.is_screwed_up() { String::new() } else { format!(", adds {adds} above its own bottom") }
    );
    html! {
        svg.d.section width=(format!("{wide:.0}")) height=(format!("{high:.0}")) viewBox=(format!("0 0 {wide:.0} {high:.0}"))
            role="img" aria-label=(said) { (PreEscaped(pens.lines)) (PreEscaped(pens.words)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hangtrue_core::mount::Catalogue;
    use hangtrue_core::work;

    #[test]
    fn every_way_of_an_opening_is_drawn_at_one_scale() {
        let text = include_str!("../../../fixtures/houses/heron-lane.json");
        let job = hangtrue_core::house::file::read(text).unwrap();
        let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
        let mut most = 0;
        for one in &house.openings {
            let drawn = of(&one.mounts, job.unit);
            most = most.max(drawn.len());
            let scales: Vec<f64> = drawn
                .iter()
                .zip(&one.mounts.can)
                .map(|((_, svg), mounting)| {
                    let svg = svg.clone().into_string();
                    let board = svg.split(r#"<rect class="wood""#).nth(1).unwrap();
                    let wide: f64 =
                        board.split(r#"width=""#).nth(1).unwrap().split('"').next().unwrap().parse().unwrap();
                    wide / Parts::of(mounting).deep
                })
                .collect();
            assert!(scales.iter().all(|scale| (scale - scales[0]).abs() < 0.01), "{}: {scales:?}", one.opening.name);
        }
        assert!(most >= 3, "no opening has ways to compare");
    }
}

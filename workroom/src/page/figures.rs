//! Openings as drawings: a house's at one scale over its floor, one alone with its readings, and the marks of a state.
//!
//! Floats serve here: nothing is cut from a drawing. What was not measured is dashed, and no line stands for a reading
//! that was not taken.

use super::lengths::{breadth, drawn};
use hangtrue_core::house::{HeadShape, Opening, Place, Room};
use hangtrue_core::length::Length;
use hangtrue_core::stand::{Cause, Stand};
use hangtrue_core::work::Worked;
use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

/// Millimetres on the wall of one `em` of a house's drawings: the page's style says how large that is.
const EM: f64 = 508.0;
/// Millimetres of wall left free around an opening in a house's drawings.
const AROUND: f64 = 50.0;
/// An opening that was not measured, as a sketch: its width and its height.
const SKETCH: (f64, f64) = (760.0, 1370.0);
/// Where heads are in line as long as no height above the floor was measured.
const HEADS: f64 = 2030.0;
/// How much a single drawing exaggerates what is out of true.
const EXAGGERATED: f64 = 10.0;

/// The mark of a state and its word.
pub(super) fn mark(stand: Stand) -> Markup {
    let (class, shape) = match stand {
        Stand::NotMeasured => ("", "m-measure"),
        Stand::ReadAgain => ("again", "m-again"),
        Stand::Decide => ("decides", "m-decide"),
        Stand::Settled => ("", "m-settled"),
    };
    html! { span class={ "mark " (class) } { (shape_of(shape)) span { (stand.words()) } } }
}

/// A shape from [`SHAPES`].
pub(super) fn shape_of(name: &str) -> Markup {
    html! { svg aria-hidden="true" { use href={ "#" (name) } {} } }
}

/// The shapes of states and findings, once on every page.
pub(super) const SHAPES: &str = r#"<svg class="quiet" aria-hidden="true"><defs>
<symbol id="m-measure" viewBox="0 0 16 16"><path d="M2 2h12v12H2z" fill="none" stroke="currentColor" stroke-width="1.6" stroke-dasharray="2.4 2"/></symbol>
<symbol id="m-again" viewBox="0 0 16 16"><path fill="currentColor" fill-rule="evenodd" d="M8 .8 15.6 15H.4zM7 5.5v5h2v-5zm0 6v2h2v-2z"/></symbol>
<symbol id="m-decide" viewBox="0 0 16 16"><path d="M8 1.2 14.8 8 8 14.8 1.2 8z" fill="none" stroke="currentColor" stroke-width="1.8"/><path d="M7 7h2v2H7z" fill="currentColor"/></symbol>
<symbol id="m-settled" viewBox="0 0 16 16"><path d="M2 2h12v12H2z" fill="none" stroke="currentColor" stroke-width="1.6"/><path d="m4.8 8.2 2.3 2.4 4.2-5" fill="none" stroke="currentColor" stroke-width="1.8"/></symbol>
<symbol id="m-know" viewBox="0 0 16 16"><circle cx="8" cy="8" r="6.6" fill="none" stroke="currentColor" stroke-width="1.6"/><path d="M7.1 7h1.8v5H7.1zm0-3h1.8v2H7.1z" fill="currentColor"/></symbol>
<symbol id="m-plumb" viewBox="0 0 20 24"><path d="M2 3h16M10 3v12" fill="none" stroke="currentColor" stroke-width="2"/><path d="M6.500 14h7L10 22z" fill="currentColor"/></symbol>
</defs></svg>"#;

/// The same plumb bob for a browser's tab.
pub(super) const ICON: &str = "data:image/svg+xml,%3Csvg%20xmlns='http://www.w3.org/2000/svg'%20viewBox='0%200%2024%2024'%3E%3Cpath%20fill='%23fbfcfb'%20d='M0%200h24v24H0z'/%3E%3Cpath%20d='M4%204h16M12%204v11'%20fill='none'%20stroke='%2314201c'%20stroke-width='2.6'/%3E%3Cpath%20fill='%231b3f9c'%20d='M7%2013h10l-5%2010z'/%3E%3C/svg%3E";

/// Millimetres of a length, for drawing only.
pub(super) fn millimetres(length: Length) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a drawing needs no nanometres")]
    let nm = length.nm() as f64;
    nm / 1e6
}

/// What stands at a place, for drawing; a tape that says nothing gives no picture.
fn read(opening: &Opening, place: Place) -> Option<f64> {
    let last = opening.standing(place).last()?;
    Some(millimetres(last.value())).filter(|length| *length >= 1.0)
}

fn first_read(opening: &Opening, places: impl IntoIterator<Item = Place>) -> Option<f64> {
    places.into_iter().find_map(|place| read(opening, place))
}

/// The places that are in doubt or asked for.
fn doubtful(worked: &Worked<'_>) -> Vec<Place> {
    let reasons = worked.standing.reasons.iter().filter(|reason| matches!(reason.cause, Cause::InDoubt | Cause::Asked));
    reasons.flat_map(|reason| reason.places.iter().copied()).collect()
}

/// How large an opening is, as far as it was measured.
struct Size {
    width: f64,
    height: f64,
    /// True when both were read.
    is_read: bool,
    /// The width and the height over the trim, where both were read.
    trim: Option<(f64, f64)>,
    /// The sill above the floor, where it was read.
    sill: Option<f64>,
    /// What stands above the jambs of a head that is not level, at the left, in the middle and at the right; a sketch of it
    /// where it was not read.
    over: Option<([f64; 3], bool)>,
}

impl Size {
    fn of(opening: &Opening, doubtful: &[Place]) -> Self {
        // A width in doubt is drawn as a line over the opening; it does not size it while there is another.
        let widths = || Place::WIDTHS.iter().map(|(place, _)| *place);
        let width = first_read(opening, widths().filter(|place| !doubtful.contains(place)));
        let width = width.or_else(|| first_read(opening, widths()));
        let heights = || Place::HEIGHTS.iter().copied();
        let height = first_read(opening, heights().filter(|place| !doubtful.contains(place)));
        let height = height.or_else(|| first_read(opening, heights()));
        let trim = read(opening, Place::TrimWidth).zip(read(opening, Place::TrimHeight));
        Self {
            width: width.unwrap_or(SKETCH.0),
            height: height.unwrap_or(SKETCH.1),
            is_read: width.is_some() && height.is_some(),
            trim: trim.filter(|_| !opening.wall.no_trim),
            over: over(opening, width.unwrap_or(SKETCH.0)),
            sill: opening.standing(Place::SillToFloor).last().map(|taken| millimetres(taken.value())),
        }
    }
}

/// What of an opening is above where its first height was read, and whether that was read.
fn over(opening: &Opening, width: f64) -> Option<([f64; 3], bool)> {
    let sketch = width / 5.0;
    match opening.wall.head_shape {
        HeadShape::Level => None,
        HeadShape::Arched => {
            let rise = read(opening, Place::HeadRise);
            Some(([0.0, rise.unwrap_or(sketch), 0.0], rise.is_some()))
        }
        HeadShape::Sloped => {
            let (left, right) = (read(opening, Place::HeightLeft), read(opening, Place::HeightRight));
            let rise = left.zip(right).map(|(left, right)| right - left);
            let up = rise.unwrap_or(sketch);
            Some(([0.0, up / 2.0, up], rise.is_some()))
        }
    }
}

/// Where a tape lies between the corners of an opening of width 1 and height 1, from the bottom left one up.
fn across(place: Place) -> Option<((f64, f64), (f64, f64))> {
    Some(match place {
        Place::WidthTop => ((0.0, 0.94), (1.0, 0.94)),
        Place::WidthUpper => ((0.0, 0.75), (1.0, 0.75)),
        Place::WidthMiddle => ((0.0, 0.5), (1.0, 0.5)),
        Place::WidthLower => ((0.0, 0.25), (1.0, 0.25)),
        Place::WidthBottom => ((0.0, 0.06), (1.0, 0.06)),
        Place::HeightLeft => ((0.06, 0.0), (0.06, 1.0)),
        Place::HeightCentre => ((0.5, 0.0), (0.5, 1.0)),
        Place::HeightRight => ((0.94, 0.0), (0.94, 1.0)),
        Place::DiagonalRising => ((0.0, 0.0), (1.0, 1.0)),
        Place::DiagonalFalling => ((0.0, 1.0), (1.0, 0.0)),
        _ => return None,
    })
}

/// A room's openings over its floor, in their order: each as high as the room's highest, so that their floors are one line.
pub(super) struct Elevation<'a> {
    drawn: Vec<(&'a Worked<'a>, Size, f64)>,
    top: f64,
}

impl<'a> Elevation<'a> {
    pub(super) fn of(room: &Room, openings: &'a [Worked<'a>]) -> Self {
        let mine = openings.iter().filter(|one| one.room.id == room.id);
        let sized: Vec<(&Worked<'_>, Size)> = mine.map(|one| (one, Size::of(one.opening, &doubtful(one)))).collect();
        // Heads of one room are mostly in line: one whose height above the floor was not measured hangs there too.
        let heads = sized.iter().filter_map(|(_, size)| Some(size.sill? + size.height));
        let head = heads.reduce(f64::max).unwrap_or(HEADS);
        let drawn: Vec<_> = sized
            .into_iter()
            .map(|(one, size)| {
                let sill = size.sill.unwrap_or_else(|| (head - size.height).max(0.0));
                (one, size, sill)
            })
            .collect();
        let top = |(one, size, sill): &(&Worked<'_>, Size, f64)| {
            let trim = size.trim.map_or(size.height, |(_, height)| height);
            let shade = one.mounts.advised().map_or(0.0, |mounting| millimetres(mounting.above_sill));
            let head = size.over.map_or(0.0, |(over, _)| over.into_iter().fold(0.0, f64::max));
            sill + trim.max(size.height + head).max(shade)
        };
        let top = drawn.iter().map(top).fold(0.0, f64::max) + AROUND;
        Self { drawn, top }
    }

    /// The drawing of one of them.
    pub(super) fn figure(&self, one: &Worked<'_>) -> Markup {
        let Some((_, size, sill)) = self.drawn.iter().find(|(other, ..)| other.opening.id == one.opening.id) else {
            return html! {};
        };
        let shade = one.mounts.advised().filter(|_| size.is_read).map(|mounting| {
            let width = millimetres(mounting.width.total);
            // Among others it hangs off the middle.
            let aside = mounting
                .beside
                .map_or(0.0, |beside| millimetres(beside.from_left) + (width - millimetres(beside.whole)) / 2.0);
            (width, millimetres(mounting.length.total), millimetres(mounting.above_sill), aside)
        });
        let wide = [Some(size.width), size.trim.map(|(width, _)| width), shade.map(|(width, ..)| width)];
        let wide = wide.into_iter().flatten().fold(0.0, f64::max) + 2.0 * AROUND;
        let (left, head) = ((wide - size.width) / 2.0, self.top - sill - size.height);
        let foot = self.top - sill;
        let mut body = String::new();
        let mut rect = |x: f64, y: f64, w: f64, h: f64, class: &str| {
            let _ = write!(body, r#"<rect class="{class}" x="{x:.0}" y="{y:.0}" width="{w:.0}" height="{h:.0}"/>"#);
        };
        if let Some((width, height)) = size.trim {
            rect((wide - width) / 2.0, foot - height, width, height, "thin");
        }
        rect(left, head, size.width, size.height, if size.is_read { "glass" } else { "dash" });
        if let Some(([a, b, c], is_read)) = size.over {
            // A curve through the middle, which is straight where that lies between the ends.
            let (middle, right) = (left + size.width / 2.0, left + size.width);
            let _ = write!(
                body,
                r#"<path class="{}" fill="none" d="M{left:.0} {:.0} Q{middle:.0} {:.0} {right:.0} {:.0}"/>"#,
                if is_read { "thin" } else { "dash" },
                head - a,
                head - (2.0 * b - f64::midpoint(a, c)),
                head - c
            );
        }
        let shade = shade.map(|(width, length, above, aside)| {
            let mut body = String::new();
            let class = if one.stand() == Stand::Settled { "cloth" } else { "dash" };
            let (x, y) = ((wide - width) / 2.0 + aside, foot - above);
            let _ = write!(
                body,
                r#"<rect class="{class}" x="{x:.0}" y="{y:.0}" width="{width:.0}" height="{length:.0}"/>"#
            );
            body
        });
        let mut line = |a: (f64, f64), b: (f64, f64), class: &str| {
            let _ = write!(
                body,
                r#"<line class="{class}" x1="{:.0}" y1="{:.0}" x2="{:.0}" y2="{:.0}"/>"#,
                a.0, a.1, b.0, b.1
            );
        };
        if size.is_read && !one.opening.wall.no_sill {
            line((left - 25.0, foot), (left + size.width + 25.0, foot), "sill");
        }
        if size.sill.is_none() && *sill > 60.0 {
            line((wide / 2.0, foot + 20.0), (wide / 2.0, self.top), "dots");
        }
        body.extend(shade);
        let mut line = |a: (f64, f64), b: (f64, f64), class: &str| {
            let _ = write!(
                body,
                r#"<line class="{class}" x1="{:.0}" y1="{:.0}" x2="{:.0}" y2="{:.0}"/>"#,
                a.0, a.1, b.0, b.1
            );
        };
        for place in doubtful(one) {
            let Some((a, b)) = across(place) else { continue };
            let at = |p: (f64, f64)| (left + p.0 * size.width, foot - p.1 * size.height);
            line(at(a), at(b), "bad");
        }
        html! {
            svg.d width={ (format!("{:.3}", wide / EM)) "em" } height={ (format!("{:.3}", self.top / EM)) "em" }
                viewBox={ "0 0 " (format!("{wide:.0} {:.0}", self.top)) } aria-hidden="true" { (PreEscaped(body)) }
        }
    }
}

/// Lines first, then words, each on its own ground: no line runs through a number.
#[derive(Default)]
pub(super) struct Pens {
    pub(super) lines: String,
    pub(super) words: String,
}

impl Pens {
    pub(super) fn line(&mut self, a: (f64, f64), b: (f64, f64), class: &str) {
        let _ = write!(
            self.lines,
            r#"<line class="{class}" x1="{:.1}" y1="{:.1}" x2="{:.1}" y2="{:.1}"/>"#,
            a.0, a.1, b.0, b.1
        );
    }

    /// A line with a stroke at each end, as the trade draws a measure.
    pub(super) fn measure(&mut self, a: (f64, f64), b: (f64, f64), class: &str) {
        self.line(a, b, class);
        for (x, y) in [a, b] {
            self.line((x - 4.0, y + 4.0), (x + 4.0, y - 4.0), if class == "bad" { "bad" } else { "" });
        }
    }

    pub(super) fn word(&mut self, at: (f64, f64), text: &str, size: f64, ground: &str, class: &str, turn: bool) {
        let (x, y) = at;
        let wide = breadth(text, size) + 6.0;
        let turn = if turn { format!(r#" transform="rotate(-90 {x:.1} {y:.1})""#) } else { String::new() };
        let _ = write!(
            self.words,
            r#"<rect class="ground {ground}" x="{:.1}" y="{:.1}" width="{wide:.1}" height="{:.1}"{turn}/><text class="{class}" x="{x:.1}" y="{:.1}" font-size="{size}"{turn}>{}</text>"#,
            x - wide / 2.0,
            y - size * 0.68,
            size * 1.36,
            y + size * 0.35,
            drawn(text, size).0
        );
    }
}

/// One opening with its readings at their places, and what is out of true ten times as large. Gives what is said of it,
/// too: nothing is drawn to scale that was not measured.
pub(super) fn alone(worked: &Worked<'_>) -> (Markup, String) {
    let opening = worked.opening;
    let doubtful = doubtful(worked);
    let size = Size::of(opening, &doubtful);
    // Under a slope each jamb is as high as it was read.
    let right = size.over.map_or(0.0, |([.., right], _)| right);
    let flat = [[0.0, 0.0], [size.width, 0.0], [size.width, size.height + right], [0.0, size.height]];
    let (most, fitted) = (size.width / 6.0, worked.truth.shape.corners.filter(|_| size.is_read));
    let corners = fitted.map_or(flat, |fitted| {
        std::array::from_fn(|i| {
            std::array::from_fn(|axis| {
                let out: f64 = (fitted[i][axis] - flat[i][axis]) * EXAGGERATED;
                flat[i][axis] + out.clamp(-most, most)
            })
        })
    });
    let trim = size.trim.unwrap_or((size.width, size.height));
    let over = ((trim.0 - size.width) / 2.0).max(0.0);
    let low = corners.iter().map(|c| c[0]).fold(-over, f64::min);
    let high = corners.iter().map(|c| c[0]).fold(size.width + over, f64::max);
    let bottom = corners.iter().map(|c| c[1]).fold(0.0, f64::min);
    let crown = size.over.map_or(0.0, |(over, _)| over.into_iter().fold(0.0, f64::max));
    let top = corners.iter().map(|c| c[1]).fold(trim.1.max(size.height + crown), f64::max);
    let scale = (300.0 / (high - low)).min(350.0 / (top - bottom));
    let (left, head) = (52.0, if size.trim.is_some() { 40.0 } else { 20.0 });
    let at = |x: f64, y: f64| (left + (x - low) * scale, head + (top - y) * scale);
    let corner = |i: usize| (corners[i][0], corners[i][1]);
    // A point of the opening, from its bottom left corner across and up.
    let within = |p: (f64, f64)| {
        let between = |a: (f64, f64), b: (f64, f64), t: f64| (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
        let (foot, headed) = (between(corner(0), corner(1), p.0), between(corner(3), corner(2), p.0));
        let (x, y) = between(foot, headed, p.1);
        at(x, y)
    };
    let mut pens = Pens::default();
    if let Some(([_, rise, _], is_read)) = size.over.filter(|_| opening.wall.head_shape == HeadShape::Arched) {
        let ((x1, y1), (x2, y2)) = (at(0.0, size.height), at(size.width, size.height));
        let (x, y) = at(size.width / 2.0, size.height + 2.0 * rise);
        let class = if is_read { "thin" } else { "dash" };
        let _ = write!(
            pens.lines,
            r#"<path class="{class}" fill="none" d="M{x1:.1} {y1:.1} Q{x:.1} {y:.1} {x2:.1} {y2:.1}"/>"#
        );
    }
    if let Some((width, height)) = size.trim {
        let x = (size.width - width) / 2.0;
        let ((x1, y1), (x2, y2)) = (at(x, height), at(x + width, 0.0));
        let (w, h) = (x2 - x1, y2 - y1);
        let _ = write!(pens.lines, r#"<rect class="thin" x="{x1:.1}" y="{y1:.1}" width="{w:.1}" height="{h:.1}"/>"#);
        let text = written(opening, Place::TrimWidth);
        pens.measure((x1, 18.0), (x2, 18.0), "thin");
        pens.word((f64::midpoint(x1, x2), 18.0), &text, 14.0, "", "", false);
    }
    let points: Vec<String> =
        (0..4).map(|i| at(corner(i).0, corner(i).1)).map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
    let _ = write!(
        pens.lines,
        r#"<polygon class="{}" points="{}"/>"#,
        if size.is_read { "glass" } else { "dash" },
        points.join(" ")
    );
    if size.is_read && !opening.wall.no_sill {
        let (a, b) = (at(corner(0).0, corner(0).1), at(corner(1).0, corner(1).1));
        pens.line((a.0 - 6.0, a.1), (b.0 + 6.0, b.1), "sill");
    }
    for (place, along) in [(Place::DiagonalRising, 0.8), (Place::DiagonalFalling, 0.8)] {
        let text = written(opening, place);
        let Some((a, b)) = across(place).filter(|_| !text.is_empty()) else { continue };
        let bad = doubtful.contains(&place);
        pens.line(within(a), within(b), if bad { "bad" } else { "thin dash" });
        let point = (a.0 + (b.0 - a.0) * along, a.1 + (b.1 - a.1) * along);
        pens.word(within(point), &text, 13.0, "on-glass", if bad { "bt" } else { "" }, false);
    }
    for (place, _) in Place::WIDTHS {
        let text = written(opening, place);
        let Some((a, b)) = across(place).filter(|_| !text.is_empty()) else { continue };
        let (bad, (from, mut to)) = (doubtful.contains(&place), (within(a), within(b)));
        if bad {
            // As long as it was read: past the jamb, or short of it.
            to.0 = from.0 + read(opening, place).unwrap_or(size.width) * scale;
        }
        pens.measure(from, to, if bad { "bad" } else { "thin" });
        let middle = from.0 + (within(b).0 - from.0) * if place == Place::WidthMiddle { 0.28 } else { 0.5 };
        let (letters, class) = if bad { (18.0, "bt") } else { (14.0, "") };
        pens.word((middle, f64::midpoint(from.1, to.1)), &text, letters, "on-glass", class, false);
    }
    let right = at(high, 0.0).0;
    for (place, x, corners) in [(Place::HeightLeft, 26.0, (0, 3)), (Place::HeightRight, right + 26.0, (1, 2))] {
        let text = written(opening, place);
        if text.is_empty() {
            continue;
        }
        let bad = doubtful.contains(&place);
        let (foot, head) = (at(0.0, corner(corners.0).1).1, at(0.0, corner(corners.1).1).1);
        pens.measure((x, foot), (x, head), if bad { "bad" } else { "thin" });
        pens.word((x, f64::midpoint(foot, head)), &text, 14.0, "", if bad { "bt" } else { "" }, true);
    }
    let centre = written(opening, Place::HeightCentre);
    if !centre.is_empty() {
        let bad = doubtful.contains(&Place::HeightCentre);
        pens.measure(within((0.4, 0.0)), within((0.4, 1.0)), if bad { "bad" } else { "thin" });
        pens.word(within((0.4, 0.7)), &centre, 13.0, "on-glass", if bad { "bt" } else { "" }, true);
    }
    let (wide, high) = (right + 52.0, at(0.0, bottom).1 + 14.0);
    let said = spoken(opening, &doubtful);
    let figure = html! {
        svg.d.alone width=(format!("{wide:.0}")) height=(format!("{high:.0}")) viewBox=(format!("0 0 {wide:.0} {high:.0}"))
            role="img" aria-label=(said) { (PreEscaped(pens.lines)) (PreEscaped(pens.words)) }
    };
    let shown = if !size.is_read {
        "Not measured: drawn as a sketch."
    } else if corners.iter().flatten().zip(flat.iter().flatten()).all(|(a, b)| (a - b).abs() * scale < 1.0) {
        "Seen from the room, to scale."
    } else {
        "Seen from the room, to scale. What is out of true is drawn ten times as large."
    };
    let mut words = shown.to_owned();
    for (place, name) in [(Place::Depth, "Depth"), (Place::SillToFloor, "Floor to sill")] {
        let text = written(opening, place);
        if !text.is_empty() {
            let _ = write!(words, " {name} {text}.");
        }
    }
    (figure, words)
}

/// The value that is written at a place: the readings that stand, in the order of taking.
fn written(opening: &Opening, place: Place) -> String {
    opening.standing(place).map(|taken| taken.typed.text()).collect::<Vec<_>>().join(" | ")
}

fn spoken(opening: &Opening, doubtful: &[Place]) -> String {
    let read = Place::ALL.iter().filter(|place| opening.standing(**place).next().is_some());
    let said: Vec<String> = read
        .map(|place| {
            let doubt = if doubtful.contains(place) { " (to read again)" } else { "" };
            format!("{} {}{doubt}", place.words(), written(opening, *place))
        })
        .collect();
    if said.is_empty() {
        return format!("{}, seen from the room. Nothing was read yet.", opening.name);
    }
    format!("{}, seen from the room: {}.", opening.name, said.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use hangtrue_core::house::Job;
    use hangtrue_core::mount::Catalogue;
    use hangtrue_core::work;
    use uuid::Uuid;

    fn demo() -> Job {
        hangtrue_core::house::file::read(include_str!("../../../fixtures/houses/heron-lane.json")).unwrap()
    }

    fn attribute<'a>(svg: &'a str, name: &str) -> &'a str {
        svg.split(&format!(" {name}=\"")).nth(1).unwrap().split('"').next().unwrap()
    }

    #[test]
    fn a_house_is_drawn_at_one_scale_and_a_room_over_one_floor() {
        let job = demo();
        let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
        for room in &job.rooms {
            let elevation = Elevation::of(room, &house.openings);
            let mut heights = std::collections::BTreeSet::new();
            for one in house.openings.iter().filter(|one| one.room.id == room.id) {
                let svg = elevation.figure(one).into_string();
                heights.insert(attribute(&svg, "height").to_owned());
                let wide: f64 = attribute(&svg, "width").trim_end_matches("em").parse().unwrap();
                let wall: f64 = attribute(&svg, "viewBox").split(' ').nth(2).unwrap().parse().unwrap();
                assert!((wide * EM - wall).abs() < 1.0, "{}: {wide} em for {wall} mm", one.opening.name);
            }
            assert_eq!(heights.len(), 1, "{}: the floors of {heights:?} are not in line", room.name);
        }
    }

    #[test]
    fn what_was_not_measured_is_dashed_and_what_is_in_doubt_is_a_line_of_its_own() {
        let mut job = demo();
        job.rooms[0].openings.push(Opening::new(Uuid::nil(), "New".to_owned()));
        let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
        let of = |name: &str| {
            let one = house.openings.iter().find(|one| one.opening.name == name).unwrap();
            let small = Elevation::of(one.room, &house.openings).figure(one).into_string();
            let (large, words) = alone(one);
            (small, large.into_string(), words)
        };
        let (small, large, words) = of("New");
        for svg in [&small, &large] {
            assert!(svg.contains(r#"class="dash""#) && !svg.contains("glass") && !svg.contains("sill"), "{svg}");
        }
        assert!(words.contains("Not measured") && !words.contains("scale"), "{words}");
        let (small, large, words) = of("East");
        assert!(small.contains(r#"class="bad""#) && large.contains(r#"class="bt""#));
        assert!(words.contains("to scale"), "{words}");
        assert!(!of("North").0.contains(r#"class="bad""#), "no reading of it is in doubt");
    }

    #[test]
    fn every_number_has_its_own_ground_over_all_lines() {
        let job = demo();
        let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
        for one in &house.openings {
            let svg = alone(one).0.into_string();
            let (lines, words) = svg.split_at(svg.find(r#"<rect class="ground"#).unwrap());
            assert!(!lines.contains("<text") && !words.contains("<line") && !words.contains("<polygon"), "{svg}");
            assert_eq!(words.matches("<text").count(), words.matches(r#"<rect class="ground"#).count(), "{svg}");
        }
    }
}

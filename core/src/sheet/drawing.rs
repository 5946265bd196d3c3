//! Drawings to scale, as SVG with sizes in millimetres of paper.
//!
//! Points are given in real millimetres, x to the right and y up, as on a wall; the paper's scale and the turning
//! over of y are this file's business. Floats serve here: nothing is cut from a drawing's coordinates, every
//! measure on it is written out beside it from its exact length.

use super::frame::breadth;
use super::set::set_in_drawing;
use crate::length::Length;
use std::fmt::Write as _;

/// Scales a drawing may have, the largest first: 1 to n. Full size is asked for by name, as it must be checked.
const SCALES: [u32; 14] = [2, 4, 5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100];

/// A point in real millimetres.
pub(super) type Point = (f64, f64);

/// One drawing on paper.
#[derive(Debug)]
pub(super) struct Drawing {
    scale: u32,
    /// Real coordinates of the paper's left and top edge.
    left: f64,
    top: f64,
    paper: (f64, f64),
    title: String,
    body: String,
}

/// Where a text stands to its point.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Anchor {
    /// It starts there.
    Start,
    /// It is centred there.
    Middle,
    /// It ends there.
    End,
}

/// Millimetres of a length, for drawing only.
#[allow(clippy::cast_precision_loss, reason = "a drawing needs no nanometres")]
pub(super) fn real(length: Length) -> f64 {
    length.nm() as f64 / 1e6
}

impl Drawing {
    /// A drawing whose real extent, from `low` to `high`, fits `room` (millimetres of paper) with `border` on all
    /// sides for dimensions, at the largest scale that does.
    pub(super) fn fit(title: &str, low: Point, high: Point, room: (f64, f64), border: f64) -> Self {
        Self::fit_beside(title, low, high, room, border, border)
    }

    /// As [`Self::fit`], with a border of its own at the right, for words that stand there.
    pub(super) fn fit_beside(title: &str, low: Point, high: Point, room: (f64, f64), border: f64, right: f64) -> Self {
        let size = ((high.0 - low.0).max(1.0), (high.1 - low.1).max(1.0));
        let fits = |scale: u32| {
            let s = f64::from(scale);
            size.0 / s + border + right < room.0 + 1e-6 && size.1 / s + 2.0 * border < room.1 + 1e-6
        };
        let scale = SCALES.into_iter().find(|scale| fits(*scale)).unwrap_or(200);
        let mut drawing = Self::at_scale(title, low, high, scale, border);
        drawing.paper.0 += right - border;
        drawing
    }

    /// As [`Self::fit`], with borders of its own on each side: (left, right) and (top, bottom), millimetres of paper.
    pub(super) fn fit_in(
        title: &str,
        low: Point,
        high: Point,
        room: (f64, f64),
        sides: (f64, f64),
        ends: (f64, f64),
    ) -> Self {
        let size = ((high.0 - low.0).max(1.0), (high.1 - low.1).max(1.0));
        let fits = |scale: u32| {
            let s = f64::from(scale);
            size.0 / s + sides.0 + sides.1 < room.0 + 1e-6 && size.1 / s + ends.0 + ends.1 < room.1 + 1e-6
        };
        let scale = SCALES.into_iter().find(|scale| fits(*scale)).unwrap_or(200);
        let s = f64::from(scale);
        let mut drawing = Self::at_scale(title, low, high, scale, 0.0);
        drawing.left -= sides.0 * s;
        drawing.top += ends.0 * s;
        drawing.paper = (size.0 / s + sides.0 + sides.1, size.1 / s + ends.0 + ends.1);
        drawing
    }

    /// A drawing at a given scale.
    fn at_scale(title: &str, low: Point, high: Point, scale: u32, border: f64) -> Self {
        let size = ((high.0 - low.0).max(1.0), (high.1 - low.1).max(1.0));
        let s = f64::from(scale);
        Self {
            scale,
            left: low.0 - border * s,
            top: high.1 + border * s,
            paper: (size.0 / s + 2.0 * border, size.1 / s + 2.0 * border),
            title: title.to_owned(),
            body: String::new(),
        }
    }

    /// The scale: 1 to this.
    pub(super) const fn scale(&self) -> u32 {
        self.scale
    }

    /// Real millimetres that `paper` millimetres stand for.
    pub(super) fn on_wall(&self, paper: f64) -> f64 {
        paper * f64::from(self.scale)
    }

    /// Millimetres of paper that a real length takes.
    pub(super) fn on_paper(&self, real: f64) -> f64 {
        real / f64::from(self.scale)
    }

    /// The height of the paper, millimetres.
    pub(super) const fn high(&self) -> f64 {
        self.paper.1
    }

    fn at(&self, p: Point) -> (f64, f64) {
        let s = f64::from(self.scale);
        ((p.0 - self.left) / s, (self.top - p.1) / s)
    }

    /// A line.
    pub(super) fn line(&mut self, a: Point, b: Point, class: &str) {
        let ((x1, y1), (x2, y2)) = (self.at(a), self.at(b));
        let _ = write!(self.body, r#"<line class="{class}" x1="{x1:.2}" y1="{y1:.2}" x2="{x2:.2}" y2="{y2:.2}"/>"#);
    }

    /// A closed figure.
    pub(super) fn polygon(&mut self, points: &[Point], class: &str) {
        let mut text = String::new();
        for p in points {
            let (x, y) = self.at(*p);
            let _ = write!(text, "{x:.2},{y:.2} ");
        }
        let _ = write!(self.body, r#"<polygon class="{class}" points="{}"/>"#, text.trim_end());
    }

    /// A rectangle between two corners.
    pub(super) fn rect(&mut self, a: Point, b: Point, class: &str) {
        self.polygon(&[a, (b.0, a.1), b, (a.0, b.1)], class);
    }

    /// A circle whose radius is in millimetres of paper: a ring, a hole, a screw eye.
    pub(super) fn dot(&mut self, at: Point, paper_radius: f64, class: &str) {
        let (x, y) = self.at(at);
        let _ = write!(self.body, r#"<circle class="{class}" cx="{x:.2}" cy="{y:.2}" r="{paper_radius:.2}"/>"#);
    }

    /// A cross of paper size: the place of a screw.
    pub(super) fn cross(&mut self, at: Point, paper_size: f64, class: &str) {
        let (x, y) = self.at(at);
        let r = paper_size / 2.0;
        let _ = write!(
            self.body,
            r#"<path class="{class}" d="M{:.2} {:.2}L{:.2} {:.2}M{:.2} {:.2}L{:.2} {:.2}"/>"#,
            x - r,
            y - r,
            x + r,
            y + r,
            x - r,
            y + r,
            x + r,
            y - r
        );
    }

    /// Words, `lift` millimetres of paper above their point.
    pub(super) fn text(&mut self, at: Point, lift: f64, anchor: Anchor, class: &str, words: &str) {
        let (x, y) = self.at(at);
        self.words(x, y - lift, anchor, class, words, 0);
    }

    fn words(&mut self, x: f64, y: f64, anchor: Anchor, class: &str, words: &str, turn: i32) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let size = match class {
            "small" => 2.9,
            "large" => 5.2,
            _ => 3.4,
        };
        let turn = if turn == 0 { String::new() } else { format!(r#" transform="rotate({turn} {x:.2} {y:.2})""#) };
        // Its own ground, so that a line that runs under a number never strikes it through.
        let wide = breadth(words, size);
        let start = match anchor {
            "start" => x,
            "middle" => x - wide / 2.0,
            _ => x - wide,
        };
        let _ = write!(
            self.body,
            r#"<rect class="ground" x="{start:.2}" y="{:.2}" width="{wide:.2}" height="{:.2}"{turn}/>"#,
            y - size * 0.8,
            size * 0.9
        );
        let _ = write!(
            self.body,
            r#"<text class="{class}" x="{x:.2}" y="{y:.2}" text-anchor="{anchor}"{turn}>{}</text>"#,
            set_in_drawing(words, escape, size).0
        );
    }

    /// A level dimension from `from` to `to` (real x), drawn `away` millimetres of paper above real `y` (below when
    /// negative), with its witness lines and its words.
    pub(super) fn dimension_across(&mut self, from: f64, to: f64, y: f64, away: f64, words: &str) {
        let ((x1, base), (x2, _)) = (self.at((from, y)), self.at((to, y)));
        let line = base - away;
        let past = if away >= 0.0 { -1.2 } else { 1.2 };
        let start = if away >= 0.0 { -0.8 } else { 0.8 };
        for x in [x1, x2] {
            let _ = write!(
                self.body,
                r#"<line class="witness" x1="{x:.2}" y1="{:.2}" x2="{x:.2}" y2="{:.2}"/>"#,
                base + start,
                line + past
            );
        }
        self.arrow((x1, line), (x2, line));
        let y = if away >= 0.0 { line - 1.1 } else { line + 3.9 };
        self.words(f64::midpoint(x1, x2), y, Anchor::Middle, "measure", words, 0);
    }

    /// An upright dimension from `from` to `to` (real y), drawn `away` millimetres of paper left of real `x` (right
    /// when negative).
    pub(super) fn dimension_up(&mut self, from: f64, to: f64, x: f64, away: f64, words: &str) {
        let ((base, y1), (_, y2)) = (self.at((x, from)), self.at((x, to)));
        let line = base - away;
        let (start, past) = if away >= 0.0 { (-0.8, -1.2) } else { (0.8, 1.2) };
        for y in [y1, y2] {
            let _ = write!(
                self.body,
                r#"<line class="witness" x1="{:.2}" y1="{y:.2}" x2="{:.2}" y2="{y:.2}"/>"#,
                base + start,
                line + past
            );
        }
        self.arrow((line, y1), (line, y2));
        let x = if away >= 0.0 { line - 1.1 } else { line + 3.9 };
        self.words(x, f64::midpoint(y1, y2), Anchor::Middle, "measure", words, -90);
    }

    /// A dimension line with a short slanted tick at each end.
    fn arrow(&mut self, a: (f64, f64), b: (f64, f64)) {
        let _ =
            write!(self.body, r#"<line class="dim" x1="{:.2}" y1="{:.2}" x2="{:.2}" y2="{:.2}"/>"#, a.0, a.1, b.0, b.1);
        for (x, y) in [a, b] {
            let _ = write!(
                self.body,
                r#"<line class="tick" x1="{:.2}" y1="{:.2}" x2="{:.2}" y2="{:.2}"/>"#,
                x - 0.8,
                y + 0.8,
                x + 0.8,
                y - 0.8
            );
        }
    }

    /// A full-size drawing with room for 152.4 x 152.4 mm, and bars to check its print with along both axes.
    pub(super) fn full_size(title: &str) -> Self {
        let mut d = Self::at_scale(title, (0.0, 0.0), (152.4, 152.4), 1, 13.0);
        for (at, long, words) in [(0.0, 150.0, "150 mm"), (-6.0, 152.4, "6 in")] {
            d.dimension_across(0.0, long, at, 0.0, words);
            d.dimension_up(0.0, long, at, 0.0, words);
        }
        d
    }

    /// The finished SVG.
    pub(super) fn svg(self) -> String {
        let (w, h) = self.paper;
        format!(
            r#"<svg class="drawing" role="img" width="{w:.1}mm" height="{h:.1}mm" viewBox="0 0 {w:.1} {h:.1}"><title>{}, scale 1:{}</title>{}</svg>"#,
            escape(&self.title),
            self.scale,
            self.body
        )
    }
}

/// Millimetres that words in the class `measure` take, at most (measured from the sheets' font, and a little more).
pub(super) fn words_wide(words: &str) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a few letters")]
    let letters = words.chars().count() as f64;
    2.2 * letters
}

/// Words as they may stand in SVG or HTML.
pub(super) fn escape(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_scale_that_fits_is_taken_and_paper_is_true() {
        let mut drawing = Drawing::fit("a", (0.0, 0.0), (900.0, 1500.0), (180.0, 170.0), 10.0);
        assert_eq!(drawing.scale(), 10);
        drawing.line((0.0, 0.0), (900.0, 0.0), "thick");
        let svg = drawing.svg();
        assert!(svg.contains(r#"width="110.0mm" height="170.0mm" viewBox="0 0 110.0 170.0""#), "{svg}");
        assert!(svg.contains(r#"x1="10.00" y1="160.00" x2="100.00" y2="160.00""#), "{svg}");
    }

    #[test]
    fn words_cannot_break_out() {
        let mut drawing = Drawing::fit("<script>", (0.0, 0.0), (1.0, 1.0), (50.0, 50.0), 1.0);
        drawing.text((0.0, 0.0), 0.0, Anchor::Start, "x", "<b>&\"");
        let svg = drawing.svg();
        assert!(!svg.contains("<script>") && !svg.contains("<b>"), "{svg}");
    }
}

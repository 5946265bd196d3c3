//! The figure of an opening: four corners, a bow, and what a tape laid at each place would read.
//!
//! Floats in millimetres: nothing here is cut. Sideways is to the right, upwards is up, as seen from inside the room.
//!
//! Tapes alone do not tell how the figure stands to the plumb line: turn the whole opening and every length stays. So
//! without a level's or plumb's reading the head and the sill are taken as level on the average of the two.

use super::squares::{Adjusted, Observation, adjust};
use crate::house::Place;
use nalgebra::SVector;

/// How many numbers make a figure.
pub(super) const PARTS: usize = 7;
/// Mean width between the jambs.
pub(super) const WIDTH: usize = 0;
/// Mean height.
pub(super) const HEIGHT: usize = 1;
/// How far the middle of the head stands to the right of the middle of the sill.
pub(super) const LEAN: usize = 2;
/// Top width less bottom width.
pub(super) const TAPER: usize = 3;
/// Right height less left height, so the rise of the head less the rise of the sill.
pub(super) const SLOPE: usize = 4;
/// Mean rise of head and sill from left to right.
pub(super) const RISE: usize = 5;
/// How much more the jambs stand apart at half height than their straight chords do.
pub(super) const BOW: usize = 6;

/// The numbers of a figure, in the order of the constants above.
pub(super) type Parts = SVector<f64, PARTS>;

/// Spread of what is left open (1000 in): far more than any opening, so that it decides nothing.
const OPEN_MM: f64 = 25_400.0;
/// Spread of what is held (the mean rise where nothing tells it): nothing that could be read.
const HELD_MM: f64 = 1e-6;
/// An estimate that is looser than this (1 in) is not one.
const KNOWN_MM: f64 = 25.4;

/// The parts that a place's reading is made of: a chord `(across, up)` whose length is read, plus a part of the bow; or
/// one of the two alone.
#[derive(Clone, Copy)]
enum Laid {
    /// A chord that runs across from the left: at this part of the height from the sill.
    Across(f64),
    /// A chord that runs up: at this part of the width from the centre (-1/2 left, 1/2 right).
    Up(f64),
    /// A diagonal: 1 rising, -1 falling.
    Diagonal(f64),
    /// A level: at the sill -1/2, at the head 1/2.
    Level(f64),
    /// A plumb line at the left jamb -1/2, at the right 1/2.
    Plumb(f64),
}

fn laid(place: Place) -> Option<Laid> {
    Some(match place {
        Place::WidthTop => Laid::Across(1.0),
        Place::WidthUpper => Laid::Across(0.75),
        Place::WidthMiddle => Laid::Across(0.5),
        Place::WidthLower => Laid::Across(0.25),
        Place::WidthBottom => Laid::Across(0.0),
        Place::HeightLeft => Laid::Up(-0.5),
        Place::HeightCentre => Laid::Up(0.0),
        Place::HeightRight => Laid::Up(0.5),
        Place::DiagonalRising => Laid::Diagonal(1.0),
        Place::DiagonalFalling => Laid::Diagonal(-1.0),
        Place::LevelHead => Laid::Level(0.5),
        Place::LevelSill => Laid::Level(-0.5),
        Place::PlumbLeft => Laid::Plumb(-0.5),
        Place::PlumbRight => Laid::Plumb(0.5),
        _ => return None,
    })
}

/// True for the places whose readings make the figure.
pub(super) fn in_figure(place: Place) -> bool {
    laid(place).is_some()
}

/// True for the places that tell how the figure stands to the plumb line.
pub(super) fn tells_level(place: Place) -> bool {
    matches!(place, Place::LevelHead | Place::LevelSill | Place::PlumbLeft | Place::PlumbRight)
}

/// The part of the full bow at a part of the height: a parabola through both ends.
pub(super) fn bow_at(part: f64) -> f64 {
    4.0 * part * (1.0 - part)
}

/// What is read at `place` on a figure, and how that changes with each part of it.
///
/// # Panics
/// When the place is none of the figure's: callers keep only those.
pub(super) fn predict(place: Place, f: &Parts) -> (f64, Parts) {
    let mut gradient = Parts::zeros();
    // Each chord is linear in the parts: (across, up), and the parts each of them takes.
    let (across, up) = match laid(place).expect("only places of the figure are kept") {
        Laid::Across(part) => {
            let off = part - 0.5;
            let (dx, dy) = (f[WIDTH] + off * f[TAPER], f[RISE] + off * f[SLOPE]);
            let chord = dx.hypot(dy);
            let (ux, uy) = (dx / chord, dy / chord);
            gradient[WIDTH] = ux;
            gradient[TAPER] = off * ux;
            gradient[RISE] = uy;
            gradient[SLOPE] = off * uy;
            gradient[BOW] = bow_at(part);
            return (chord + bow_at(part) * f[BOW], gradient);
        }
        Laid::Up(side) => {
            let (dx, dy) = (f[LEAN] + side * f[TAPER], f[HEIGHT] + side * f[SLOPE]);
            let chord = dx.hypot(dy);
            let (ux, uy) = (dx / chord, dy / chord);
            gradient[LEAN] = ux;
            gradient[TAPER] = side * ux;
            gradient[HEIGHT] = uy;
            gradient[SLOPE] = side * uy;
            return (chord, gradient);
        }
        Laid::Diagonal(way) => {
            let (dx, dy) = (f[WIDTH] + way * f[LEAN], f[HEIGHT] + way * f[RISE]);
            let chord = dx.hypot(dy);
            let (ux, uy) = (dx / chord, dy / chord);
            gradient[WIDTH] = ux;
            gradient[LEAN] = way * ux;
            gradient[HEIGHT] = uy;
            gradient[RISE] = way * uy;
            return (chord, gradient);
        }
        Laid::Level(side) => {
            gradient[RISE] = 1.0;
            gradient[SLOPE] = side;
            (0.0, f[RISE] + side * f[SLOPE])
        }
        Laid::Plumb(side) => {
            gradient[LEAN] = 1.0;
            gradient[TAPER] = side;
            (f[LEAN] + side * f[TAPER], 0.0)
        }
    };
    (across + up, gradient)
}

/// One reading of the figure, in millimetres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sight {
    /// Where.
    pub(super) place: Place,
    /// What was read.
    pub(super) value: f64,
    /// Its standard deviation.
    pub(super) sd: f64,
}

impl Observation<PARTS> for Sight {
    fn value(&self) -> f64 {
        self.value
    }
    fn sd(&self) -> f64 {
        self.sd
    }
    fn predict(&self, parts: &Parts) -> (f64, Parts) {
        predict(self.place, parts)
    }
}

/// Where a fit starts: the widths and heights as they are, all else true.
pub(super) fn start(sights: &[Sight]) -> Option<Parts> {
    let mean = |wanted: fn(Place) -> bool| {
        let (sum, count) = sights
            .iter()
            .filter(|s| wanted(s.place))
            .fold((0.0, 0.0), |(sum, count): (f64, f64), s| (sum + s.value, count + 1.0));
        (count > 0.0).then(|| sum / count)
    };
    let diagonal = mean(Place::is_diagonal);
    let rest = |side: f64| diagonal.and_then(|d| (d > side).then(|| (d * d - side * side).sqrt()));
    let (width, height) = match (mean(Place::is_width), mean(Place::is_height)) {
        (Some(w), Some(h)) => (w, h),
        (Some(w), None) => (w, rest(w).unwrap_or(1.5 * w)),
        (None, Some(h)) => (rest(h).unwrap_or(h / 1.5), h),
        (None, None) => {
            let d = diagonal?;
            (d * 0.55, d * 0.835)
        }
    };
    let mut parts = Parts::zeros();
    parts[WIDTH] = width;
    parts[HEIGHT] = height;
    Some(parts)
}

/// A figure fitted to readings by weighted least squares, with nothing assumed of what openings are like.
#[derive(Clone, Debug)]
pub(super) struct Fitted {
    pub(super) adjusted: Adjusted<PARTS>,
    /// True when a level or plumb was read, so that the figure's stance is known.
    pub(super) level_known: bool,
}

/// Fits a figure. `None` when there is no reading of it, or the readings are of no figure at all.
pub(super) fn fit(sights: &[Sight]) -> Option<Fitted> {
    let level_known = sights.iter().any(|s| tells_level(s.place));
    let open = 1.0 / (OPEN_MM * OPEN_MM);
    let mut ties = Parts::repeat(open);
    if !level_known {
        ties[RISE] = 1.0 / (HELD_MM * HELD_MM);
    }
    let adjusted = adjust(start(sights)?, &ties, sights)?;
    Some(Fitted { adjusted, level_known })
}

impl Fitted {
    pub(super) fn parts(&self) -> &Parts {
        &self.adjusted.unknowns
    }

    /// The value and spread of a sum of parts, where the readings tell it.
    pub(super) fn estimate(&self, of: &[(usize, f64)]) -> Option<super::Estimate> {
        let mut direction = Parts::zeros();
        for (part, times) in of {
            direction[*part] += times;
        }
        let sd = self.adjusted.sd_of(&direction);
        (sd < KNOWN_MM).then(|| super::Estimate { value: direction.dot(self.parts()), sd })
    }

    /// True when width, height, lean and taper are all known: then the corners are.
    pub(super) fn has_corners(&self) -> bool {
        [WIDTH, HEIGHT, LEAN, TAPER, SLOPE].iter().all(|part| self.estimate(&[(*part, 1.0)]).is_some())
    }
}

/// The corners of a figure from its bottom left one: bottom left, bottom right, top right, top left.
pub(super) fn corners(f: &Parts) -> [[f64; 2]; 4] {
    let (bottom, top) = (f[WIDTH] - f[TAPER] / 2.0, f[WIDTH] + f[TAPER] / 2.0);
    let (sill, head) = (f[RISE] - f[SLOPE] / 2.0, f[RISE] + f[SLOPE] / 2.0);
    let (left_x, left_y) = (f[LEAN] - f[TAPER] / 2.0, f[HEIGHT] - f[SLOPE] / 2.0);
    [[0.0, 0.0], [bottom, sill], [left_x + top, left_y + head], [left_x, left_y]]
}

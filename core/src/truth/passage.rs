//! The clear upright passage of an opening, and the inside shade that fits it.
//!
//! A shade hangs plumb and level, so what counts is the widest upright rectangle that passes between the jambs, not
//! the smallest width: two parallel jambs `w` apart that lean by `x` over the height leave `w - |x|`.

use super::Estimate;
use super::figure::{BOW, Fitted, LEAN, Parts, TAPER, WIDTH, bow_at, corners};
use crate::length::{Direction, Grain, Length};
use crate::settings::Settings;
use serde::{Deserialize, Serialize};

/// Parts of the height at which the jambs are looked at.
const STATIONS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
/// The passage is sure to this many standard deviations: what the deduction does not cover of them is taken off too.
/// No source; three leaves about one in a thousand.
const SURE: f64 = 3.0;

/// What passes between the jambs.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Passage {
    /// The widest upright rectangle of full height, in millimetres. Without a level's or plumb's reading it is that of a
    /// sill and head that are level on the average, and its spread holds how the opening may stand besides.
    pub estimate: Estimate,
    /// The passage that may be relied on, rounded down to the tape's grain. Never more than the estimate. Where no
    /// level was read it is the narrower of "the sill is level" and "the head is level"; where the readings leave it
    /// less sure than the deduction covers, the rest is taken off.
    pub reliable: Length,
    /// True when a plumb or level was read, so that it is known how the opening stands.
    pub stance_known: bool,
    /// What passes if the opening stands out of plumb as far as openings do ([`STANCE`] standard deviations), in
    /// millimetres; the estimate less its doubt when it is known how it stands.
    worst: f64,
    /// The jambs at the foot and at the head, left and right, in millimetres from the bottom left corner.
    jambs: Jambs,
}

#[derive(Clone, Copy, PartialEq, Debug)]
struct Jambs {
    foot: [f64; 2],
    head: [f64; 2],
    /// The innermost points of both jambs over the whole height.
    inner: [f64; 2],
}

/// The jambs of a figure turned by `turn` (radians, to the left) about its bottom left corner.
fn jambs(parts: &Parts, turn: f64) -> Jambs {
    let (sin, cos) = turn.sin_cos();
    let at = |[x, y]: [f64; 2]| cos * x - sin * y;
    let [foot_left, foot_right, head_right, head_left] = corners(parts);
    let foot = [at(foot_left), at(foot_right)];
    let head = [at(head_left), at(head_right)];
    // Which jamb bows is not told by widths: each is taken to bow by half.
    let mut inner = [f64::NEG_INFINITY, f64::INFINITY];
    for part in STATIONS {
        let half = parts[BOW] * bow_at(part) / 2.0;
        inner[0] = inner[0].max(foot[0] + part * (head[0] - foot[0]) - half);
        inner[1] = inner[1].min(foot[1] + part * (head[1] - foot[1]) + half);
    }
    Jambs { foot, head, inner }
}

/// The widest upright rectangle of full height in a figure turned by `turn`.
pub(super) fn clear(parts: &Parts, turn: f64) -> f64 {
    let inner = jambs(parts, turn).inner;
    inner[1] - inner[0]
}

/// An opening is looked at standing out of plumb by this many standard deviations: one in a thousand stands farther out.
const STANCE: f64 = 3.3;
/// Where a normal spread is looked at: Gauss and Hermite's five points, in standard deviations, with their weights
/// (Abramowitz and Stegun, table 25.10; from memory).
const SPREAD: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_7),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (2.856_970_013_872_806, 0.011_257_411_327_720_7),
];

impl Passage {
    /// True when a shade of this width may not pass because it is not known how the opening stands.
    pub fn stance_matters(&self, finished_width: Length) -> bool {
        !self.stance_known && mm(finished_width) > self.worst
    }
}

/// The clear passage of a fitted figure; `None` where the readings do not tell how it leans.
pub(super) fn passage(fitted: &Fitted, smallest_width: Length, grain: Grain, settings: &Settings) -> Option<Passage> {
    let deduction = settings.passage_deduction;
    if !fitted.has_corners() {
        return None;
    }
    // Too few widths to tell a bow: the jambs are taken as straight, as a tape at two heights shows them.
    let mut parts = *fitted.parts();
    let bow_known = fitted.estimate(&[(BOW, 1.0)]).is_some();
    if !bow_known {
        parts[BOW] = 0.0;
    }
    let value = clear(&parts, 0.0);
    let read_sd = held_by(&parts, value, bow_known).map(|ways| fitted.adjusted.sd_of(&ways)).fold(0.0, f64::max);
    // How far the whole may be turned: as far as a sill is from level.
    let turn = if fitted.level_known { 0.0 } else { mm(settings.sill_level_spread) / parts[WIDTH].max(1.0) };
    let stance: f64 = SPREAD.iter().map(|(at, part)| part * (clear(&parts, at * turn) - value).powi(2)).sum();
    let sd = read_sd.hypot(stance.sqrt());
    let worst = clear(&parts, STANCE * turn).min(clear(&parts, -STANCE * turn)) - SURE * read_sd;
    let [_, sill, head, head_left] = corners(&parts);
    let turns = if fitted.level_known {
        [0.0, 0.0]
    } else {
        [-(sill[1] / sill[0]).atan(), -((head[1] - head_left[1]) / (head[0] - head_left[0])).atan()]
    };
    let least = turns.iter().fold(value, |least, turn| least.min(clear(&parts, *turn)));
    let unsure = (SURE * read_sd - mm(deduction)).max(0.0);
    let reliable = from_mm(least - unsure, grain, Direction::Down).min(smallest_width);
    let stance_known = fitted.level_known;
    Some(Passage { estimate: Estimate { value, sd }, reliable, stance_known, worst, jambs: jambs(&parts, 0.0) })
}

/// How the passage changes with each part of a figure, for each pair of points of the jambs that it is held between:
/// more than one where two hold it alike, as in a true opening. None of them is left out, so that an opening and its
/// mirror image come out alike.
fn held_by(parts: &Parts, value: f64, bow_known: bool) -> impl Iterator<Item = Parts> {
    let pairs = STATIONS.into_iter().flat_map(|left| STATIONS.map(|right| (left, right)));
    let ways = pairs.map(move |(left, right)| {
        // Upright, the corners are linear in the parts: see `corners`.
        let mut ways = Parts::zeros();
        ways[WIDTH] = 1.0;
        ways[LEAN] = right - left;
        ways[TAPER] = (left + right - 1.0) / 2.0;
        ways[BOW] = if bow_known { f64::midpoint(bow_at(left), bow_at(right)) } else { 0.0 };
        ways
    });
    ways.filter(move |ways| ways.dot(parts) - value < SAME_MM)
}

/// Two widths this near are one: far below a grain, far above rounding.
const SAME_MM: f64 = 1e-6;

/// A length in float millimetres, for estimates only.
#[allow(clippy::cast_precision_loss, reason = "lengths read are under 2^53 nm")]
pub(super) fn mm(length: Length) -> f64 {
    length.nm() as f64 / 1e6
}

/// A float of millimetres as whole grains in a named direction. A value within a hundred thousandth of a millimetre of a
/// grain, or of the middle between two, is that: floats do not decide a tie.
#[allow(clippy::cast_possible_truncation, reason = "figures of openings are far below 2^63 nm")]
pub(super) fn from_mm(value: f64, grain: Grain, direction: Direction) -> Length {
    let nm = Length::from_nm((value * 1e6).round() as i64);
    let step = grain.step().nm();
    let half = if step % 2 == 0 { Grain::of(Length::from_nm(step / 2)).unwrap_or(grain) } else { grain };
    let near = nm.round(half, Direction::Nearest);
    if (near - nm).abs() <= NO_DIFFERENCE { near.round(grain, direction) } else { nm.round(grain, direction) }
}

/// Two worked-out lengths this near are one.
const NO_DIFFERENCE: Length = Length::from_nm(10);

/// Which rule gave the finished width.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum WidthRule {
    /// The smallest width, less its deduction.
    #[serde(rename = "smallest width")]
    SmallestWidth,
    /// The clear upright passage, less its deduction: the opening leans, tapers or bows.
    #[serde(rename = "clear passage")]
    ClearPassage,
}

impl WidthRule {
    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::SmallestWidth => "smallest width",
            Self::ClearPassage => "clear passage",
        }
    }
}

/// The gap beside a plumb, level shade at each corner of the opening, to the nearest grain of the tape.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct CornerGaps {
    /// At the head, left.
    pub top_left: Length,
    /// At the head, right.
    pub top_right: Length,
    /// At the sill, left.
    pub bottom_left: Length,
    /// At the sill, right.
    pub bottom_right: Length,
}

impl CornerGaps {
    /// The widest of the four.
    pub fn widest(&self) -> Length {
        self.top_left.max(self.top_right).max(self.bottom_left).max(self.bottom_right)
    }
}

/// An inside shade's finished size.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct InsideSize {
    /// Finished width.
    pub finished_width: Length,
    /// Which rule gave it.
    pub width_rule: WidthRule,
    /// Finished length: the smallest height less its deduction; `None` when no height was read.
    pub finished_length: Option<Length>,
    /// The gaps at the corners; `None` when the readings do not tell how the opening leans.
    pub corner_gaps: Option<CornerGaps>,
}

/// The inside shade of an opening: the smaller of the smallest width less `inside_width_deduction` and the clear passage
/// less `passage_deduction`, rounded down to the grain; the smallest height less `inside_length_deduction`, likewise.
///
/// `None` when the opening is no wider or no higher than what is taken off.
pub fn inside_size(
    smallest_width: Length,
    smallest_height: Option<Length>,
    passage: Option<&Passage>,
    settings: &Settings,
    grain: Grain,
) -> Option<InsideSize> {
    let by_width = smallest_width - settings.inside_width_deduction;
    let by_passage = passage.map(|p| p.reliable - settings.passage_deduction);
    let (width, width_rule) = match by_passage {
        Some(by_passage) if by_passage < by_width => (by_passage, WidthRule::ClearPassage),
        _ => (by_width, WidthRule::SmallestWidth),
    };
    let finished_width = width.round(grain, Direction::Down);
    let finished_length =
        smallest_height.map(|height| (height - settings.inside_length_deduction).round(grain, Direction::Down));
    if finished_width <= Length::ZERO || finished_length.is_some_and(|length| length <= Length::ZERO) {
        return None;
    }
    let corner_gaps = passage.map(|p| corner_gaps(p, finished_width, grain));
    Some(InsideSize { finished_width, width_rule, finished_length, corner_gaps })
}

/// The gaps at the corners when a shade of this width hangs plumb in the middle of the passage.
pub fn corner_gaps(passage: &Passage, finished_width: Length, grain: Grain) -> CornerGaps {
    let Jambs { foot, head, inner } = passage.jambs;
    let middle = f64::midpoint(inner[0], inner[1]);
    let half = mm(finished_width) / 2.0;
    let gap = |value: f64| from_mm(value, grain, Direction::Nearest);
    CornerGaps {
        top_left: gap(middle - half - head[0]),
        top_right: gap(head[1] - middle - half),
        bottom_left: gap(middle - half - foot[0]),
        bottom_right: gap(foot[1] - middle - half),
    }
}

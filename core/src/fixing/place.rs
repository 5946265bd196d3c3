//! Where screws or brackets go along a board: a search over exact places, the best first.
//!
//! Asked of every plan: clear of every screw eye, near enough to both ends, never farther apart than the house allows.
//! Wanted, in this order: as many as can be on studs, those near the studs' centre lines, the rest even about the
//! centre, near their even places. The places of a pair (first and last, second and last but one, ...) are chosen together from the ends inwards, which makes the
//! search exact and short.

use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::settings::Settings;

/// What is to be placed. All lengths from the left end of the board.
#[derive(Clone, Copy, Debug)]
pub struct Wanted<'a> {
    /// Length of the board.
    pub board: Length,
    /// Half the width of what is fixed: of a bracket; zero for a screw.
    pub half: Length,
    /// The least distance from an end: what would not split it.
    pub end_least: Length,
    /// Screw eyes.
    pub eyes: &'a [Length],
    /// Studs' centre lines; empty where the backing is the same all along.
    pub studs: &'a [Length],
    /// The unit of the house: places fall on its tape's grain.
    pub unit: LengthUnit,
}

/// One place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Spot {
    /// From the left end of the board.
    pub at: Length,
    /// The stud it is on, by its centre line.
    pub stud: Option<Length>,
    /// Why there, a plain clause.
    pub reason: String,
}

/// What a plan costs, compared in this order: places off a stud, way from studs' centre lines, unevenness about the
/// centre of pairs that are on none, way from the even places. All but the first in nanometres.
type Cost = (usize, i64, i64, i64);

/// A choice for one pair of places (left, right), the best cost up to it, and the step of the pair before that led here.
type Step = ((usize, usize), Cost, usize);

struct Candidate {
    at: Length,
    stud: Option<Length>,
}

/// The fewest that keep the house's greatest distance, at least two.
pub fn fewest(wanted: &Wanted<'_>, settings: &Settings) -> i64 {
    let between = wanted.board - end_place(wanted, settings) * 2;
    between.count_up(settings.screw_most).unwrap_or(1).max(1) + 1
}

/// How far the first one stands from the end when nothing is in its way; a short board takes a quarter of its length.
fn end_place(wanted: &Wanted<'_>, settings: &Settings) -> Length {
    let quarter = wanted.board.split(4, 1).round(Grain::of_tape(wanted.unit), Direction::Down);
    settings.screw_end.min(quarter).max(wanted.end_least)
}

/// Finds places for `n` of them; nothing when no plan of `n` meets what is asked.
pub fn search(n: i64, wanted: &Wanted<'_>, settings: &Settings) -> Option<Vec<Spot>> {
    let even = even_places(n, wanted, settings);
    let candidates: Vec<Vec<Candidate>> = even.iter().map(|place| candidates(*place, wanted, settings)).collect();
    let n = even.len();
    let least = wanted.half * 2 + settings.screw_eye_clearance;
    let apart = |a: Length, b: Length| b - a >= least && b - a <= settings.screw_most;
    let cost_of = |i: usize, candidate: &Candidate| -> Cost {
        let off = usize::from(!wanted.studs.is_empty() && candidate.stud.is_none());
        let from_line = candidate.stud.map_or(Length::ZERO, |stud| (candidate.at - stud).abs());
        (off, from_line.nm(), 0, (candidate.at - even[i]).abs().nm())
    };
    let add = |a: Cost, b: Cost| (a.0 + b.0, a.1 + b.1, a.2 + b.2, a.3 + b.3);

    let mut levels: Vec<Vec<Step>> = Vec::new();
    for k in 0..n.div_ceil(2) {
        let (i, j) = (k, n - 1 - k);
        let mut level = Vec::new();
        for (a, left) in candidates[i].iter().enumerate() {
            for (b, right) in candidates[j].iter().enumerate() {
                if i == j && a != b {
                    continue;
                }
                let last = i == j || i + 1 == j;
                if last && i != j && !apart(left.at, right.at) {
                    continue;
                }
                let mut own = cost_of(i, left);
                if i != j {
                    own = add(own, cost_of(j, right));
                }
                if left.stud.is_none() && right.stud.is_none() {
                    own.2 += (left.at + right.at - wanted.board).abs().nm();
                }
                let before = match levels.last() {
                    None => Some((own, 0)),
                    Some(outer) => outer
                        .iter()
                        .enumerate()
                        .filter(|(_, ((x, y), _, _))| {
                            apart(candidates[i - 1][*x].at, left.at) && apart(right.at, candidates[j + 1][*y].at)
                        })
                        .map(|(from, (_, cost, _))| (add(*cost, own), from))
                        .min(),
                };
                if let Some((cost, from)) = before {
                    level.push(((a, b), cost, from));
                }
            }
        }
        levels.push(level);
    }
    let mut at = levels.last()?.iter().enumerate().min_by_key(|(_, (_, cost, _))| *cost)?.0;
    let mut chosen: Vec<Option<usize>> = vec![None; n];
    for (k, level) in levels.iter().enumerate().rev() {
        let ((a, b), _, from) = level[at];
        chosen[k] = Some(a);
        chosen[n - 1 - k] = Some(b);
        at = from;
    }
    Some(
        chosen
            .into_iter()
            .enumerate()
            .filter_map(|(i, choice)| choice.map(|choice| (i, &candidates[i][choice])))
            .map(|(i, candidate)| Spot {
                at: candidate.at,
                stud: candidate.stud,
                reason: reason(i, n, even[i], candidate, wanted, settings),
            })
            .collect(),
    )
}

/// Even places, mirrored about the centre to the nanometre, the left half on the tape's grain.
fn even_places(n: i64, wanted: &Wanted<'_>, settings: &Settings) -> Vec<Length> {
    let end = end_place(wanted, settings);
    let between = wanted.board - end * 2;
    let grain = Grain::of_tape(wanted.unit);
    (0..n)
        .map(|i| {
            let mirrored = n - 1 - i;
            let left = |k: i64| (end + between.split(n - 1, k)).round(grain, Direction::Nearest);
            match i.cmp(&mirrored) {
                std::cmp::Ordering::Less => left(i),
                std::cmp::Ordering::Equal => wanted.board.split(2, 1),
                std::cmp::Ordering::Greater => wanted.board - left(mirrored),
            }
        })
        .collect()
}

fn keeps(wanted: &Wanted<'_>, settings: &Settings) -> Length {
    settings.screw_eye_clearance + wanted.half
}

fn is_clear(at: Length, wanted: &Wanted<'_>, settings: &Settings) -> bool {
    let end = wanted.end_least.max(wanted.half);
    at >= end && wanted.board - at >= end && wanted.eyes.iter().all(|eye| (at - *eye).abs() >= keeps(wanted, settings))
}

/// The places worth trying near an even one: itself, the nearest that clear a screw eye (or the mirror of one, so that
/// its partner can stand opposite), and on studs within reach (and opposite them).
fn candidates(even: Length, wanted: &Wanted<'_>, settings: &Settings) -> Vec<Candidate> {
    let keep = keeps(wanted, settings);
    let mirror = |at: Length| wanted.board - at;
    let mut places = vec![even];
    let eyes = || wanted.eyes.iter().flat_map(|eye| [*eye, mirror(*eye)]);
    places.extend(eyes().flat_map(|eye| [eye - keep, eye + keep]));
    for stud in wanted.studs.iter().flat_map(|stud| [*stud, mirror(*stud)]) {
        places.push(stud);
        // An eye before the stud: as near its centre line as the eye allows.
        places.extend([stud - settings.stud_hold, stud + settings.stud_hold]);
    }
    places.retain(|at| (*at - even).abs() <= settings.stud_reach && is_clear(*at, wanted, settings));
    places.sort_unstable();
    places.dedup();
    places
        .into_iter()
        .map(|at| Candidate {
            at,
            stud: wanted.studs.iter().copied().find(|stud| (at - *stud).abs() <= settings.stud_hold),
        })
        .collect()
}

fn reason(i: usize, n: usize, even: Length, candidate: &Candidate, wanted: &Wanted<'_>, settings: &Settings) -> String {
    let unit = wanted.unit;
    let show = |length: Length| length.show_marked(unit);
    let role = if i == 0 {
        "near the left end"
    } else if i + 1 == n {
        "near the right end"
    } else if i * 2 + 1 == n {
        "in the middle"
    } else {
        "evenly between"
    };
    let moved = candidate.at - even;
    if let Some(stud) = candidate.stud {
        let off = (candidate.at - stud).abs();
        let place = if off == Length::ZERO { String::new() } else { format!(", {} off its centre line", show(off)) };
        return format!("{role}, on the stud at {}{place}", show(stud));
    }
    let keep = keeps(wanted, settings);
    let stud_words = if wanted.studs.is_empty() { "" } else { "; no stud within reach" };
    if moved == Length::ZERO {
        return format!("{role}{stud_words}");
    }
    let way = if moved.is_negative() { "left" } else { "right" };
    let crowding = |at: Length| wanted.eyes.iter().copied().find(|eye| (at - *eye).abs() < keep);
    let why = match (crowding(even), crowding(wanted.board - even)) {
        (Some(eye), _) => format!("to stand clear of the screw eye at {}", show(eye)),
        (None, Some(_)) => "to match its partner about the centre".to_owned(),
        (None, None) => "to stand no farther from its neighbours than is allowed".to_owned(),
    };
    format!("{role}, {} to the {way} of its even place {why}{stud_words}", show(moved.abs()))
}

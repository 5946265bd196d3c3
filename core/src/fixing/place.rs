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
    /// How far from its left and its right end it keeps for another reason: the edge of the plaster.
    pub ends: [Length; 2],
    /// Screw eyes.
    pub eyes: &'a [Length],
    /// Studs' centre lines; empty where the backing is the same all along.
    pub studs: &'a [Length],
    /// What those are called: stud or joist.
    pub line: &'static str,
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

/// Steps of the fine search over the reach, to each side.
const FINE: i64 = 8;

#[derive(Clone, Copy)]
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
    // The few places that matter nearly always do; where they leave no plan, the whole reach is tried in steps.
    [false, true].into_iter().find_map(|fine| {
        let candidates: Vec<Vec<Candidate>> =
            even.iter().map(|place| candidates(*place, fine, wanted, settings)).collect();
        best(&even, &candidates, wanted, settings)
    })
}

/// Every place on a stud that is clear, where even places with their anchors would not hold: nothing when there are
/// fewer than two, or they leave an end or a stretch of the board longer than the house allows.
pub fn on_studs(wanted: &Wanted<'_>, settings: &Settings) -> Option<Vec<Spot>> {
    let mut spots: Vec<Spot> = Vec::new();
    for stud in wanted.studs {
        let clear = [*stud, *stud - settings.stud_hold, *stud + settings.stud_hold]
            .into_iter()
            .find(|at| is_clear(*at, wanted, settings));
        if let Some(at) = clear {
            let reason = format!("on the stud at {}, because anchors would not hold", stud.show_marked(wanted.unit));
            spots.push(Spot { at, stud: Some(*stud), reason });
        }
    }
    spots.sort_by_key(|spot| spot.at);
    let (first, last) = (spots.first()?.at, spots.last()?.at);
    let least = (wanted.half * 2 + settings.screw_eye_clearance).max(Grain::of_tape(wanted.unit).step());
    let near = spots.windows(2).all(|pair| {
        let between = pair[1].at - pair[0].at;
        between <= settings.screw_most && between >= least
    });
    let ends = first.max(wanted.board - last) * 2 <= settings.screw_most;
    (spots.len() >= 2 && near && ends).then_some(spots)
}

/// The best choice of one candidate for each place.
fn best(even: &[Length], candidates: &[Vec<Candidate>], wanted: &Wanted<'_>, settings: &Settings) -> Option<Vec<Spot>> {
    let n = even.len();
    // Never two in one place, whatever the house sets.
    let least = (wanted.half * 2 + settings.screw_eye_clearance).max(Grain::of_tape(wanted.unit).step());
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
    let [left, right] = wanted.ends.map(|keep| end.max(keep + wanted.half));
    at >= left
        && wanted.board - at >= right
        && wanted.eyes.iter().all(|eye| (at - *eye).abs() >= keeps(wanted, settings))
}

/// The places worth trying near an even one: itself, the nearest that clear a screw eye (or the mirror of one, so that
/// its partner can stand opposite), and on studs within reach.
/// `fine` adds even steps over the whole reach.
fn candidates(even: Length, fine: bool, wanted: &Wanted<'_>, settings: &Settings) -> Vec<Candidate> {
    let keep = keeps(wanted, settings);
    let mirror = |at: Length| wanted.board - at;
    let mut places = vec![even];
    // As near an end as the plaster's edge allows, and the mirror of that.
    let [left, right] = wanted.ends.map(|keep| keep + wanted.half);
    places.extend([left, mirror(left), mirror(right), right]);
    let eyes = || wanted.eyes.iter().flat_map(|eye| [*eye, mirror(*eye)]);
    places.extend(eyes().flat_map(|eye| [eye - keep, eye + keep]));
    for stud in wanted.studs {
        // An eye before the stud: as near its edge as is surely wood.
        places.extend([*stud, *stud - settings.stud_hold, *stud + settings.stud_hold]);
    }
    if fine {
        places.extend((1..=FINE).flat_map(|k| {
            let step = settings.stud_reach.split(FINE, k);
            [even - step, even + step]
        }));
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
        return format!("{role}, on the {} at {}{place}", wanted.line, show(stud));
    }
    let keep = keeps(wanted, settings);
    let stud_words = if wanted.studs.is_empty() { String::new() } else { format!("; no {} within reach", wanted.line) };
    if moved == Length::ZERO {
        return format!("{role}{stud_words}");
    }
    let way = if moved.is_negative() { "left" } else { "right" };
    let crowding = |at: Length| wanted.eyes.iter().copied().find(|eye| (at - *eye).abs() < keep);
    let why = match (crowding(even), crowding(wanted.board - even)) {
        (Some(eye), _) => format!("to stand clear of the screw eye at {}", show(eye)),
        (None, Some(_)) => "to match its partner about the centre".to_owned(),
        (None, None) if !is_clear(even, wanted, settings) || !is_clear(wanted.board - even, wanted, settings) => {
            "to keep off the plaster's edge".to_owned()
        }
        (None, None) => "to stand no farther from its neighbours than is allowed".to_owned(),
    };
    format!("{role}, {} to the {way} of its even place {why}{stud_words}", show(moved.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every choice of candidates, and the best cost among those that are allowed: the search without its shortcut.
    fn every_choice(n: i64, wanted: &Wanted<'_>, settings: &Settings) -> Option<Cost> {
        let even = even_places(n, wanted, settings);
        let all: Vec<Vec<Candidate>> = even.iter().map(|at| candidates(*at, false, wanted, settings)).collect();
        let mut plans: Vec<Vec<Candidate>> = vec![Vec::new()];
        for choices in &all {
            plans = plans
                .into_iter()
                .flat_map(|plan| choices.iter().map(move |one| [plan.clone(), vec![*one]].concat()))
                .collect();
        }
        plans
            .into_iter()
            .filter(|plan| allowed(&places(plan), wanted, settings))
            .map(|plan| cost(&plan, &even, wanted))
            .min()
    }

    fn places(plan: &[Candidate]) -> Vec<Length> {
        plan.iter().map(|one| one.at).collect()
    }

    /// What is asked of every plan.
    fn allowed(at: &[Length], wanted: &Wanted<'_>, settings: &Settings) -> bool {
        let gaps = at.windows(2).all(|pair| {
            let gap = pair[1] - pair[0];
            gap <= settings.screw_most && gap >= wanted.half * 2 + settings.screw_eye_clearance
        });
        let clear = |at: &Length| {
            wanted.eyes.iter().all(|eye| (*at - *eye).abs() >= settings.screw_eye_clearance + wanted.half)
        };
        let ends = |at: &Length| {
            let room = wanted.end_least.max(wanted.half);
            *at >= room.max(wanted.ends[0] + wanted.half)
                && wanted.board - *at >= room.max(wanted.ends[1] + wanted.half)
        };
        gaps && at.iter().all(|at| clear(at) && ends(at))
    }

    fn cost(plan: &[Candidate], even: &[Length], wanted: &Wanted<'_>) -> Cost {
        let mut sum: Cost = (0, 0, 0, 0);
        for (i, one) in plan.iter().enumerate() {
            sum.0 += usize::from(!wanted.studs.is_empty() && one.stud.is_none());
            sum.1 += one.stud.map_or(0, |stud| (one.at - stud).abs().nm());
            sum.3 += (one.at - even[i]).abs().nm();
            let opposite = plan[plan.len() - 1 - i];
            if i * 2 < plan.len() && one.stud.is_none() && opposite.stud.is_none() {
                sum.2 += (one.at + opposite.at - wanted.board).abs().nm();
            }
        }
        sum
    }

    fn sixteenths(n: i64) -> Length {
        Length::inches(n, 16)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]
        #[test]
        fn the_search_is_as_good_as_trying_every_choice(
            board in 160_i64..1200,
            eyes in prop::collection::vec(0_i64..1200, 0..5),
            first_stud in 0_i64..256,
            studded in any::<bool>(),
            half in prop::sample::select(vec![0_i64, 5, 8]),
            more in 0_i64..2,
            keep in prop::sample::select(vec![0_i64, 0, 20, 40, 64]),
        ) {
            let eyes: Vec<Length> = eyes.into_iter().filter(|eye| *eye <= board).map(sixteenths).collect();
            let studs: Vec<Length> = if studded {
                (0..8).map(|k| first_stud + 256 * k).filter(|stud| *stud < board).map(sixteenths).collect()
            } else {
                Vec::new()
            };
            let settings = Settings::INCHES;
            let wanted = Wanted {
                board: sixteenths(board),
                half: sixteenths(half),
                end_least: sixteenths(26),
                ends: [sixteenths(keep), Length::ZERO],
                eyes: &eyes,
                studs: &studs,
                line: "stud",
                unit: LengthUnit::Inch,
            };
            let n = (fewest(&wanted, &settings) + more).min(4);
            let found = search(n, &wanted, &settings);
            let tried = every_choice(n, &wanted, &settings);
            if let Some(tried) = tried {
                let plan = found.as_ref().expect("a plan exists");
                let chosen: Vec<Candidate> = plan.iter().map(|spot| Candidate { at: spot.at, stud: spot.stud }).collect();
                prop_assert_eq!(cost(&chosen, &even_places(n, &wanted, &settings), &wanted), tried);
            }
            if let Some(plan) = found {
                prop_assert_eq!(i64::try_from(plan.len()).unwrap(), n);
                let at: Vec<Length> = plan.iter().map(|spot| spot.at).collect();
                prop_assert!(allowed(&at, &wanted, &settings), "{:?}", at);
                for spot in &plan {
                    prop_assert!(!spot.reason.is_empty());
                    if let Some(stud) = spot.stud {
                        prop_assert!((stud - spot.at).abs() <= settings.stud_hold && studs.contains(&stud));
                    }
                }
                // Without studs and eyes the plan is even about the centre, to the nanometre.
                if studs.is_empty() && eyes.is_empty() && keep == 0 {
                    for (left, right) in at.iter().zip(at.iter().rev()) {
                        prop_assert_eq!(*left + *right, wanted.board);
                    }
                }
            }
        }
    }

    #[test]
    fn an_eye_in_the_middle_moves_the_middle_screw_and_says_so() {
        let board = Length::whole_inches(36);
        let eyes = [Length::whole_inches(18)];
        let wanted = Wanted {
            board,
            half: Length::ZERO,
            end_least: Length::inches(26, 16),
            ends: [Length::ZERO; 2],
            eyes: &eyes,
            studs: &[],
            line: "stud",
            unit: LengthUnit::Inch,
        };
        let plan = search(3, &wanted, &Settings::INCHES).unwrap();
        assert_eq!(plan[1].at, Length::whole_inches(17));
        assert_eq!(
            plan[1].reason,
            "in the middle, 1 in to the left of its even place to stand clear of the screw eye at 18 in"
        );
    }
}

//! Which way each cut is made: every way the cloth allows is laid out, and the plan that uses the least cloth is taken, of
//! those as short the one with the fewest seams.
//!
//! Cuts that are alike share a class, so that only how many of them are made each way is counted. Where even that is too
//! much to try in full, what was not tried is covered by a bound that holds for every way.

use super::join::{self, Joined, Part};
use super::pack::{self, Effort, Held, Piece};
use super::{Bolt, ClothProblem, PartOf, Placed, Plan, Seam, Want, bound, whole_repeats};
use crate::house::Match;
use crate::length::{Direction, Grain, Length};

/// Choices of ways that are laid out in full.
const MOST_CHOICES: usize = 48;

/// The ways of each want, and which of them is chosen.
type Choice = Vec<usize>;

/// Lays out all wants of one cloth.
pub(super) fn plan(bolt: &Bolt, wants: &[Want], effort: Effort) -> Result<Plan, ClothProblem> {
    bolt.check()?;
    let mut ways = Vec::new();
    for want in wants {
        check_want(bolt, want)?;
        ways.push(join::ways(bolt, want)?);
    }
    let most: usize = ways.iter().map(|ways| ways.iter().map(|way| way.parts.len()).max().unwrap_or(0)).sum();
    if most > MOST_PIECES {
        return Err(ClothProblem::new(
            "pieces",
            format!("these cuts take {most} pieces of cloth"),
            format!("one plan lays out at most {MOST_PIECES} pieces: plan the rooms one by one"),
        ));
    }
    let (choices, all) = choices(wants, &ways, (200_000 / (most * most).max(1)).clamp(2, MOST_CHOICES));
    let table = Table { bolt, ways: &ways };
    let best = table.best(&choices, all, effort);
    Ok(table.finish(wants, best))
}

/// The most pieces one plan lays out.
pub(super) const MOST_PIECES: usize = 400;

/// The choices that are tried, the one with the fewest seams first; true when there are no others.
fn choices(wants: &[Want], ways: &[Vec<Joined>], most_choices: usize) -> (Vec<Choice>, bool) {
    let mut classes: Vec<Vec<usize>> = Vec::new();
    for i in (0..wants.len()).filter(|&i| ways[i].len() > 1) {
        let alike = |class: &&mut Vec<usize>| ways[class[0]] == ways[i];
        match classes.iter_mut().find(alike) {
            Some(class) => class.push(i),
            None => classes.push(vec![i]),
        }
    }
    let mut found: Vec<Choice> = vec![vec![0; wants.len()]];
    let mut all = true;
    for class in &classes {
        let mut next = Vec::new();
        for choice in &found {
            // How many of the class are made each way: sequences that never go down stand for all others.
            let mut picks: Vec<usize> = vec![0; class.len()];
            loop {
                let mut with = choice.clone();
                for (&want, &way) in class.iter().zip(&picks) {
                    with[want] = way;
                }
                next.push(with);
                if next.len() > most_choices * 8 {
                    break;
                }
                let most = ways[class[0]].len() - 1;
                let Some(at) = picks.iter().rposition(|way| *way < most) else { break };
                let up = picks[at] + 1;
                picks[at..].fill(up);
            }
        }
        if next.len() > most_choices {
            // Too many: of this class, all one way or all another.
            all = false;
            next.clear();
            for choice in &found {
                for way in 0..ways[class[0]].len() {
                    let mut with = choice.clone();
                    for &want in class {
                        with[want] = way;
                    }
                    next.push(with);
                }
            }
            next.sort_by_key(|choice| seams(ways, choice));
            next.truncate(most_choices);
        }
        found = next;
    }
    found.sort_by_key(|choice| seams(ways, choice));
    (found, all)
}

fn seams(ways: &[Vec<Joined>], choice: &Choice) -> usize {
    choice.iter().enumerate().map(|(want, &way)| ways[want][way].seams.len()).sum()
}

/// What lies where, by one choice of ways.
struct Laid {
    choice: Choice,
    pieces: Vec<Placed>,
    used: i64,
    bound: i64,
    /// Where in the vertical repeat the bought cloth starts.
    origin: i64,
    not_on_hand: Vec<usize>,
    area: i128,
}

struct Table<'a> {
    bolt: &'a Bolt,
    ways: &'a [Vec<Joined>],
}

impl<'a> Table<'a> {
    fn way(&self, choice: &Choice, want: usize) -> &'a Joined {
        &self.ways[want][choice[want]]
    }

    /// The best choice laid out, with a bound that holds for all.
    fn best(&self, choices: &[Choice], all: bool, effort: Effort) -> Laid {
        if let ([choice], true) = (choices, all) {
            return self.lay(choice, effort);
        }
        let quick = Effort { improve: effort.improve / 200, prove: effort.prove / 200 };
        let mut laid: Vec<Laid> = choices.iter().map(|choice| self.lay(choice, quick)).collect();
        let rank = |laid: &Laid| (laid.used, seams(self.ways, &laid.choice));
        let mut best = 0;
        for round in [8, 1] {
            best = (0..laid.len()).min_by_key(|&i| rank(&laid[i])).unwrap_or(0);
            let mut open: Vec<usize> = (0..laid.len())
                .filter(|&i| laid[i].bound < laid[i].used && self.may_win(&laid[i], &laid[best]))
                .collect();
            open.sort_by_key(|&i| rank(&laid[i]));
            // First a little for each that may win, then real work for the best of them.
            let most = if round == 1 { 6 } else { open.len() };
            let share = (open.len().min(most) as u64).max(1) * round;
            for i in open.into_iter().take(most) {
                if self.may_win(&laid[i], &laid[best]) {
                    let part = Effort { improve: effort.improve / share, prove: effort.prove / share };
                    let again = self.lay(&laid[i].choice, part);
                    let bound = laid[i].bound.max(again.bound);
                    if again.used <= laid[i].used {
                        laid[i] = again;
                    }
                    laid[i].bound = bound.min(laid[i].used);
                    if rank(&laid[i]) < rank(&laid[best]) {
                        best = i;
                    }
                }
            }
        }
        let mut bound = laid.iter().map(|laid| laid.bound).min().unwrap_or(0);
        if !all {
            bound = bound.min(self.least_of_all());
        }
        let mut best = laid.swap_remove(best);
        best.bound = bound.min(best.used);
        best
    }

    fn may_win(&self, one: &Laid, best: &Laid) -> bool {
        one.bound < best.used
            || (one.bound == best.used && seams(self.ways, &one.choice) < seams(self.ways, &best.choice))
    }

    /// A length that no choice of ways is below: the least area of each want, and the least length of each.
    fn least_of_all(&self) -> i64 {
        let usable = i128::from(self.bolt.usable.nm());
        let least = |part: &Part| part.piece.ways.iter().map(|way| i128::from(way.w) * i128::from(way.h)).min();
        let area = |way: &Joined| way.parts.iter().filter_map(least).sum::<i128>();
        let sum: i128 = self.ways.iter().filter_map(|ways| ways.iter().map(area).min()).sum();
        let held: i128 = self.bolt.on_hand.iter().map(|length| i128::from(length.nm())).sum();
        let beyond = (sum + usable - 1) / usable - held;
        i64::try_from(beyond.max(0)).unwrap_or(i64::MAX)
    }

    /// Lays out one choice: first on what is on hand, then on what is bought.
    fn lay(&self, choice: &Choice, effort: Effort) -> Laid {
        let bolt = self.bolt;
        let parts: Vec<(usize, &Part)> = (0..choice.len())
            .flat_map(|want| self.way(choice, want).parts.iter().map(move |part| (want, part)))
            .collect();
        let usable = bolt.usable.nm();
        let repeat = bolt.repeat.filter(|_| bolt.pattern_start.is_none()).map(Length::nm);
        let start = bolt.pattern_start.map_or(0, Length::nm);
        let piece = |at: usize| -> Piece {
            let mut piece = parts[at].1.piece.clone();
            for way in &mut piece.ways {
                if let Held::Every { at, every } = way.y {
                    way.y = Held::every(at + start, every);
                }
            }
            piece
        };
        let placed = |spot: &pack::Spot, at: usize, origin: i64, on_hand: Option<usize>| -> Placed {
            let (want, part) = parts[at];
            let way = part.piece.ways[spot.way];
            let (left, right) = part.kept;
            Placed {
                want,
                part: part.of,
                on_hand,
                x: Length::from_nm(spot.x) - left,
                y: Length::from_nm(spot.y),
                across: Length::from_nm(way.w) + left + right,
                along: Length::from_nm(way.h),
                selvage_left: left,
                selvage_right: right,
                turned: part.turned[spot.way],
                phase: match way.y {
                    Held::Every { every, .. } => Some(Length::from_nm((spot.y + origin - start).rem_euclid(every))),
                    _ => None,
                },
            }
        };
        let is_matched = |at: usize| parts[at].1.piece.ways.iter().any(|way| way.y != Held::Free);
        let mut left: Vec<usize> = (0..parts.len()).collect();
        let mut pieces = Vec::new();
        // Shortest first: a short length takes what fits it, and the long ones stay whole.
        let mut rolls: Vec<usize> = (0..bolt.on_hand.len()).collect();
        rolls.sort_by_key(|&roll| (bolt.on_hand[roll], roll));
        for roll in rolls {
            let length = bolt.on_hand[roll] - bolt.spare(left.iter().any(|&at| is_matched(at)));
            if length <= Length::ZERO || left.is_empty() {
                continue;
            }
            let some: Vec<Piece> = left.iter().map(|&at| piece(at)).collect();
            let groups: Vec<usize> = left.iter().map(|&at| parts[at].0).collect();
            let (spots, origin) = pack::fill(&some, &groups, usable, length.nm(), repeat, effort);
            pieces.extend(spots.iter().map(|spot| placed(spot, left[spot.piece], origin, Some(roll))));
            let gone: Vec<usize> = spots.iter().map(|spot| left[spot.piece]).collect();
            left.retain(|at| !gone.contains(at));
        }
        let mut not_on_hand: Vec<usize> =
            if bolt.on_hand.is_empty() { Vec::new() } else { left.iter().map(|&at| parts[at].0).collect() };
        not_on_hand.dedup();
        let mut laid = Laid { choice: choice.clone(), pieces, used: 0, bound: 0, origin: 0, not_on_hand, area: 0 };
        if !left.is_empty() {
            let some: Vec<Piece> = left.iter().map(|&at| piece(at)).collect();
            let packing = pack::pack(&some, usable, repeat, effort);
            for spot in &packing.spots {
                let way = some[spot.piece].ways[spot.way];
                laid.area += i128::from(way.w) * i128::from(way.h);
                laid.pieces.push(placed(spot, left[spot.piece], packing.origin, None));
            }
            laid.used = packing.length;
            laid.origin = packing.origin;
            laid.bound = if bolt.on_hand.is_empty() {
                packing.bound
            } else {
                let all: Vec<Piece> = parts.iter().map(|(_, part)| part.piece.clone()).collect();
                let held: Length = bolt.on_hand.iter().copied().sum();
                (bound::by_area(&all, usable) - held.nm()).clamp(0, packing.length)
            };
        }
        laid.pieces.sort_by_key(|piece| (piece.on_hand.is_none(), piece.on_hand, piece.y, piece.x, piece.want));
        laid
    }

    fn finish(&self, wants: &[Want], laid: Laid) -> Plan {
        let bolt = self.bolt;
        let used = Length::from_nm(laid.used);
        let bought_matched = laid.pieces.iter().any(|piece| piece.on_hand.is_none() && piece.phase.is_some());
        let spare = if used > Length::ZERO { bolt.spare(bought_matched) } else { Length::ZERO };
        let grain = Grain::of(bolt.sold_by).expect("checked to be more than nothing");
        let buy = (used + spare).round(grain, Direction::Up);
        let whole = i128::from(bolt.usable.nm()) * i128::from(used.nm());
        let waste_permille = if whole > 0 { i64::try_from((whole - laid.area) * 1000 / whole).unwrap_or(0) } else { 0 };
        let parts: Vec<(usize, &Part)> = (0..wants.len())
            .flat_map(|want| self.way(&laid.choice, want).parts.iter().map(move |part| (want, part)))
            .collect();
        let seams: Vec<Seam> = (0..wants.len())
            .flat_map(|want| self.way(&laid.choice, want).seams.iter().map(move |seam| Seam { want, ..*seam }))
            .collect();
        let first_line = match (bolt.repeat, bolt.pattern_start) {
            (Some(_), Some(start)) => Some(start),
            (Some(repeat), None) if used > Length::ZERO => {
                Some(Length::from_nm((-laid.origin).rem_euclid(repeat.nm())))
            }
            _ => None,
        };
        let bound = Length::from_nm(laid.bound);
        Plan {
            used,
            first_line,
            spare,
            buy,
            cost_cents: bolt.cost_cents(buy),
            bound,
            proven: used <= bound,
            one_after_another: one_after_another(bolt, &parts),
            waste_permille,
            not_on_hand: laid.not_on_hand,
            notes: notes(bolt, &laid.pieces, bought_matched),
            to_decide: to_decide(bolt, wants, &seams),
            pieces: laid.pieces,
            seams,
        }
    }
}

fn check_want(bolt: &Bolt, want: &Want) -> Result<(), ClothProblem> {
    let show = |length: Length| length.show_marked(bolt.unit);
    for (field, length) in [("width", want.width), ("length", want.length)] {
        if length <= Length::ZERO {
            return Err(ClothProblem::new(
                format!("{}, {field}", want.name),
                format!("this is {}", show(length)),
                "it is more than nothing",
            ));
        }
    }
    match want.match_line {
        Some(line) if line.is_negative() || line > want.length => Err(ClothProblem::new(
            format!("{}, match line", want.name),
            format!("{} is not on a piece of {}", show(line), show(want.length)),
            "it is counted from the top cut edge, down to the finished head or foot",
        )),
        _ => Ok(()),
    }
}

/// Every piece on its own full width of cloth; a cut of several widths takes a drop for each, and a half-drop half a
/// repeat more.
fn one_after_another(bolt: &Bolt, parts: &[(usize, &Part)]) -> Length {
    let mut total = Length::ZERO;
    for (i, (want, part)) in parts.iter().enumerate() {
        let way = part.piece.ways[0];
        let cut = Length::from_nm(way.h);
        total += match (bolt.repeat, way.y) {
            (Some(repeat), Held::Every { .. }) => whole_repeats(cut, repeat).map_or(cut, |(_, length)| length),
            _ => cut,
        };
        let first_side = part.of == PartOf::Left(1) && i > 0 && parts[i - 1].0 == *want;
        if let (Some(repeat), Match::HalfDrop, true) = (bolt.repeat, bolt.matching, first_side) {
            total += repeat.scale(1, 2, Direction::Up);
        }
    }
    total
}

/// What is to be found out before joined print is cut.
pub(super) fn to_decide(bolt: &Bolt, wants: &[Want], seams: &[Seam]) -> Vec<String> {
    let mut joined: Vec<&str> = seams
        .iter()
        .filter(|seam| wants[seam.want].match_line.is_some() && matches!(seam.first_edge, super::Edge::Right))
        .map(|seam| wants[seam.want].name.as_str())
        .collect();
    joined.dedup();
    if joined.is_empty() || bolt.repeat.is_none() || bolt.repeat_across.is_some() {
        return Vec::new();
    }
    vec![format!(
        "{}: the print is joined and its repeat across is not known, so where it goes on at the seams is not worked out. \
         Measure the repeat across, or choose to join it by eye",
        joined.join("; ")
    )]
}

fn notes(bolt: &Bolt, pieces: &[Placed], bought_matched: bool) -> Vec<String> {
    let mut notes = Vec::new();
    if let (Some(repeat), true) = (bolt.repeat, bought_matched) {
        // A repeat may lie between two grains of the tape; what is said of it here is not measured with it.
        let nearest = repeat.round(Grain::of_tape(bolt.unit), Direction::Nearest);
        let about = if nearest == repeat { "" } else { "about " };
        let show = format!("{about}{}", nearest.show_marked(bolt.unit));
        notes.push(match (bolt.pattern_start, bolt.spare_repeats) {
            (Some(start), _) => format!(
                "The first line of the pattern stands {} from the cut end: nothing is spared for it",
                start.show_marked(bolt.unit)
            ),
            (None, 0) => format!(
                "No repeat is bought to spare: ask the shop to cut where the plan starts in the pattern ({show} repeat)"
            ),
            (None, 1) => {
                format!("One repeat of {show} is bought to spare, because a shop cuts anywhere in the pattern")
            }
            (None, n) => {
                format!("{n} repeats of {show} are bought to spare, because a shop cuts anywhere in the pattern")
            }
        });
    }
    if bolt.shrinks_permille > 0 {
        notes.push(format!(
            "Lengths along the cloth are as it is bought; {}.{} % of them shrinks away",
            bolt.shrinks_permille / 10,
            bolt.shrinks_permille % 10
        ));
    }
    if pieces.iter().any(|piece| piece.turned) && bolt.is_patterned() {
        notes.push("Some pieces are turned a quarter: look at the pattern before cutting".to_owned());
    }
    if pieces.iter().any(|piece| piece.selvage_left + piece.selvage_right > Length::ZERO) {
        notes.push(format!(
            "Seams lie in the selvage: keep {} of it where a piece is marked so, and cut off the rest of it",
            bolt.seam.show_marked(bolt.unit)
        ));
    }
    notes
}

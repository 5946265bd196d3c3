//! Lengths below which no plan can go: by area, by widths that do not pass each other, by pieces that must follow
//! each other, each with the cloth that the pattern makes them leave. All in whole numbers, so that a bound is a proof.

use super::pack::{Held, Piece, Way};
use std::collections::BTreeSet;

/// The best of the bounds for these pieces on a strip of `width` that starts where the pattern is at zero.
pub(super) fn below(pieces: &[Piece], width: i64) -> i64 {
    let tallest = pieces
        .iter()
        .map(|piece| piece.ways.iter().map(|way| way.y.next(0).unwrap_or(0) + way.h).min().unwrap_or(0))
        .max()
        .unwrap_or(0);
    if pieces.iter().any(|piece| piece.ways.len() > 1) {
        return tallest.max(by_area(pieces, width));
    }
    let all: Vec<Way> = pieces.iter().map(|piece| piece.ways[0]).collect();
    // Fewer pieces need no more cloth, and without the free ones the pattern's gaps can be counted.
    let held: Vec<Way> = all.iter().copied().filter(|way| way.y != Held::Free).collect();
    let mut best = tallest;
    for ways in [&all, &held] {
        if ways.is_empty() {
            continue;
        }
        best = best.max(areas(ways, width)).max(sequences(ways, width));
        if ways.len() == all.len() && held.len() == all.len() {
            break;
        }
    }
    // A plan ends where one of its pieces ends.
    match ends(&all, i64::MAX / 4) {
        Some(_) => next_end(&all, best),
        None => best,
    }
}

/// The length whose area is that of all pieces, whichever way each lies.
pub(super) fn by_area(pieces: &[Piece], width: i64) -> i64 {
    let area = |piece: &Piece| piece.ways.iter().map(|way| i128::from(way.w) * i128::from(way.h)).min().unwrap_or(0);
    divide_up(pieces.iter().map(area).sum(), width)
}

fn divide_up(area: i128, width: i64) -> i64 {
    let width = i128::from(width);
    i64::try_from((area + width - 1) / width).unwrap_or(i64::MAX)
}

/// Cloth that lies unused right before and right after a piece, over its whole width, whatever lies there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Margin {
    pub(super) before: i64,
    pub(super) after: i64,
}

/// The margins of all pieces.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Margins {
    /// One a piece.
    pub(super) each: Vec<Margin>,
    /// How far a margin may reach below the start of the strip.
    pub(super) under: i64,
}

/// Shares of the gaps that the pattern asks for.
///
/// From the end of a piece to the first place the pattern allows another there are at least `gap(i, j)`; margins share
/// it out so that `after(i) + before(j)` is never more (the dual of an assignment), and so they never overlap. As much as
/// possible goes before pieces, or after them: which is better depends on whether heads or feet match. What a piece at
/// the very start has less before it either limits its margin or is let reach below the start.
fn margins(ways: &[Way], after_first: bool, limited: bool) -> Margins {
    let gap = |i: usize, j: usize| match (ways[i].y, ways[j].y) {
        (Held::Every { at, every }, Held::Every { at: next, every: same }) if same == every => {
            (next - at - ways[i].h).rem_euclid(every)
        }
        _ => 0,
    };
    let start = |j: usize| ways[j].y.next(0).unwrap_or(0);
    let others = |k: usize| (0..ways.len()).filter(move |&i| i != k);
    let mut each = vec![Margin { before: 0, after: 0 }; ways.len()];
    if after_first {
        for (i, margin) in each.iter_mut().enumerate() {
            margin.after = others(i).map(|j| gap(i, j)).min().unwrap_or(0);
        }
    }
    for j in 0..ways.len() {
        let before = others(j).map(|i| gap(i, j) - each[i].after).min().unwrap_or(0);
        each[j].before = if limited { before.min(start(j)) } else { before };
    }
    if !after_first {
        for i in 0..ways.len() {
            each[i].after = others(i).map(|j| gap(i, j) - each[j].before).min().unwrap_or(0);
        }
    }
    let under = (0..ways.len()).map(|j| each[j].before - start(j)).max().unwrap_or(0).max(0);
    Margins { each, under }
}

/// The ways of sharing that are worth trying.
fn sharings(ways: &[Way]) -> [Margins; 4] {
    [(false, true), (true, true), (false, false), (true, false)]
        .map(|(after_first, limited)| margins(ways, after_first, limited))
}

/// The sharing with the best bound by area.
pub(super) fn best_margins(ways: &[Way], width: i64) -> Margins {
    let [mut best, rest @ ..] = sharings(ways);
    let mut value = areas_with(ways, width, &best);
    for margins in rest {
        let next = areas_with(ways, width, &margins);
        if next > value {
            (best, value) = (margins, next);
        }
    }
    best
}

/// The last allowed end of a piece that is not beyond `limit`.
pub(super) fn last_end(way: &Way, limit: i64) -> i64 {
    match way.y {
        Held::Every { at, every } => limit - (limit - at - way.h).rem_euclid(every),
        _ => limit,
    }
}

/// Area bounds through dual feasible functions of the widths (Fekete and Schepers; Martello and Vigo), each piece
/// with its margins.
fn areas(ways: &[Way], width: i64) -> i64 {
    sharings(ways).iter().map(|margins| areas_with(ways, width, margins)).max().unwrap_or(0)
}

fn areas_with(ways: &[Way], width: i64, margins: &Margins) -> i64 {
    let tall: Vec<(i64, i64)> =
        ways.iter().zip(&margins.each).map(|(way, margin)| (way.w, way.h + margin.before + margin.after)).collect();
    let sum = |f: &dyn Fn(i64) -> i128| -> i128 { tall.iter().map(|&(w, h)| f(w) * i128::from(h)).sum() };
    let mut best = divide_up(sum(&i128::from), width);
    let mut cuts: Vec<i64> = tall.iter().map(|&(w, _)| w).chain(tall.iter().map(|&(w, _)| width - w + 1)).collect();
    cuts.sort_unstable();
    cuts.dedup();
    for &cut in cuts.iter().filter(|&&cut| cut > 0 && cut * 2 <= width) {
        // Whoever leaves less than `cut` beside it takes the whole width; who is narrower than `cut` takes none.
        let total = sum(&|w| {
            if w > width - cut {
                i128::from(width)
            } else if w < cut {
                0
            } else {
                i128::from(w)
            }
        });
        best = best.max(divide_up(total, width));
        let whole = width / cut;
        let total = sum(&|w| {
            i128::from(match (w * 2).cmp(&width) {
                std::cmp::Ordering::Greater => 2 * (whole - (width - w) / cut),
                std::cmp::Ordering::Equal => whole,
                std::cmp::Ordering::Less => 2 * (w / cut),
            })
        });
        best = best.max(divide_up(total, 2 * whole));
    }
    // Whole parts of the width: w counts floor((k + 1) w / W) / k, unless that is exact.
    for k in 1..=16_i64 {
        let scale = i128::from(k + 1);
        let total = sum(&|w| {
            let share = i128::from(w) * scale;
            if share % i128::from(width) == 0 {
                i128::from(w) * i128::from(k)
            } else {
                share / i128::from(width) * i128::from(width)
            }
        });
        best = best.max(divide_up(total, width * k));
    }
    // Margins may reach below the start and beyond the end of the plan: its last piece ends before its margin, at a
    // place of its own.
    let best = best - margins.under;
    ways.iter()
        .zip(&margins.each)
        .map(|(way, margin)| match way.y {
            Held::Every { at, every } => {
                let from = best - margin.after;
                from + (at + way.h - from).rem_euclid(every)
            }
            _ => best - margin.after,
        })
        .min()
        .unwrap_or(0)
}

/// The stretch of the strip's width that a piece covers wherever it lies.
fn always_covered(way: &Way, width: i64) -> Option<(i64, i64)> {
    let first = way.x.next(0)?;
    let last = match way.x {
        Held::Free => width - way.w,
        Held::Fixed(at) => at,
        Held::Every { at, every } => at + (width - way.w - at).div_euclid(every) * every,
    };
    (last < first + way.w).then_some((last, first + way.w))
}

/// Pairs that never lie beside each other.
pub(super) fn apart(ways: &[Way], width: i64) -> Vec<Vec<bool>> {
    let covered: Vec<Option<(i64, i64)>> = ways.iter().map(|way| always_covered(way, width)).collect();
    let pair = |i: usize, j: usize| {
        ways[i].w + ways[j].w > width
            || matches!((covered[i], covered[j]), (Some(a), Some(b)) if a.0 < b.1 && b.0 < a.1)
    };
    (0..ways.len()).map(|i| (0..ways.len()).map(|j| i != j && pair(i, j)).collect()).collect()
}

/// Pieces of which no two lie beside each other follow each other: the shortest sequence of them, with the gaps their
/// pattern asks for.
fn sequences(ways: &[Way], width: i64) -> i64 {
    let apart = apart(ways, width);
    let mut groups: BTreeSet<Vec<usize>> = BTreeSet::new();
    let covered: Vec<Option<(i64, i64)>> = ways.iter().map(|way| always_covered(way, width)).collect();
    for point in covered.iter().flatten().map(|stretch| stretch.0) {
        groups.insert(
            (0..ways.len()).filter(|&i| covered[i].is_some_and(|(from, to)| from <= point && point < to)).collect(),
        );
    }
    for (c, others) in apart.iter().enumerate() {
        // This piece with all that are apart from it and wide enough to be apart from each other.
        let mut group: Vec<usize> = (0..ways.len()).filter(|&i| others[i] && ways[i].w * 2 > width).collect();
        group.push(c);
        group.sort_unstable();
        groups.insert(group);
    }
    groups.iter().map(|group| sequence(&group.iter().map(|&i| ways[i]).collect::<Vec<_>>())).max().unwrap_or(0)
}

/// The shortest length in which these pieces follow each other, exact up to fifteen of them, else a bound.
fn sequence(ways: &[Way]) -> i64 {
    const EXACT: usize = 15;
    if ways.len() > EXACT {
        // The margin before the first may reach below the start, that after the last beyond the end.
        let one = |margins: &Margins| {
            let beyond = margins.each.iter().map(|margin| margin.after).max().unwrap_or(0);
            let tall = ways.iter().zip(&margins.each).map(|(way, margin)| way.h + margin.before + margin.after);
            tall.sum::<i64>() - beyond - margins.under
        };
        return sharings(ways).iter().map(one).max().unwrap_or(0);
    }
    // The earliest end of every set of pieces: who ends earlier can always go on as early.
    let mut end = vec![i64::MAX; 1 << ways.len()];
    end[0] = 0;
    for set in 0..end.len() {
        let now = end[set];
        for (i, way) in ways.iter().enumerate() {
            if set & (1 << i) == 0 {
                let next = way.y.next(now).unwrap_or(now) + way.h;
                let slot = &mut end[set | (1 << i)];
                *slot = (*slot).min(next);
            }
        }
    }
    end[(1 << ways.len()) - 1]
}

/// The most ends that are listed; beyond it they are as good as anywhere.
const MOST_ENDS: usize = 20_000;

/// Sums of the heights of free pieces: a free piece rests on the end of another or on the start.
fn free_sums(ways: &[Way]) -> Option<Vec<i64>> {
    let mut sums: BTreeSet<i64> = BTreeSet::from([0]);
    for way in ways.iter().filter(|way| way.y == Held::Free) {
        let more: Vec<i64> = sums.iter().map(|sum| sum + way.h).collect();
        sums.extend(more);
        if sums.len() > MOST_ENDS {
            return None;
        }
    }
    Some(sums.into_iter().collect())
}

/// Every length below `limit` that a plan pushed down as far as it goes can have, or nothing when they are too many
/// to list.
pub(super) fn ends(ways: &[Way], limit: i64) -> Option<Vec<i64>> {
    let sums = free_sums(ways)?;
    if limit >= i64::MAX / 4 {
        return Some(Vec::new());
    }
    let mut ends: BTreeSet<i64> = sums.iter().copied().filter(|&sum| sum < limit).collect();
    for way in ways {
        let Held::Every { at, every } = way.y else { continue };
        for sum in &sums {
            let mut end = at + way.h + sum;
            while end < limit {
                ends.insert(end);
                end += every;
            }
            if ends.len() > MOST_ENDS {
                return None;
            }
        }
    }
    Some(ends.into_iter().collect())
}

/// The first length not below `bound` that a plan can have.
fn next_end(ways: &[Way], bound: i64) -> i64 {
    let Some(sums) = free_sums(ways) else { return bound };
    let mut best = sums.iter().copied().find(|&sum| sum >= bound).unwrap_or(i64::MAX);
    for way in ways {
        let Held::Every { at, every } = way.y else { continue };
        for sum in &sums {
            let end = at + way.h + sum;
            let up = if end >= bound { end } else { end + (bound - end + every - 1) / every * every };
            best = best.min(up);
        }
    }
    if best == i64::MAX { bound } else { best }
}

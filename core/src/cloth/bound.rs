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
        return next_end(pieces, tallest.max(areas_either_way(pieces, width)).max(follow_either_way(pieces, width)));
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
    next_end(pieces, best)
}

/// What the widths of pieces that lie side by side can add up to.
#[derive(Clone, Debug)]
pub(super) struct Reach {
    /// All widths are whole multiples of this.
    unit: i64,
    words: usize,
}

/// The most steps of width that are looked at one by one.
const MOST_REACH: i64 = 4096;

impl Reach {
    /// Nothing where the widths have no coarse common measure.
    pub(super) fn of<'a>(ways: impl Iterator<Item = &'a Way>, width: i64) -> Option<Self> {
        let unit = ways.map(|way| way.w).fold(0, gcd);
        (unit > 0 && width / unit < MOST_REACH)
            .then(|| Self { unit, words: usize::try_from(width / unit / 64).expect("few") + 1 })
    }

    /// Every sum of these pieces' widths, each piece taken once and one way, as bits.
    pub(super) fn sums<'a>(&self, pieces: impl Iterator<Item = &'a [Way]>) -> Vec<u64> {
        let mut sums = vec![0_u64; self.words];
        sums[0] = 1;
        let mut next = sums.clone();
        for ways in pieces {
            next.copy_from_slice(&sums);
            for (i, way) in ways.iter().enumerate() {
                if i > 0 && ways[i - 1].w == way.w {
                    continue;
                }
                let by = usize::try_from(way.w / self.unit).expect("no wider than the strip");
                let (whole, part) = (by / 64, by % 64);
                for at in (whole..self.words).rev() {
                    let mut bits = sums[at - whole] << part;
                    if part > 0 && at > whole {
                        bits |= sums[at - whole - 1] >> (64 - part);
                    }
                    next[at] |= bits;
                }
            }
            sums.copy_from_slice(&next);
        }
        sums
    }

    /// The most of `room` that sums like these fill.
    pub(super) fn fills(&self, sums: &[u64], room: i64) -> i64 {
        let top = usize::try_from(room.max(0) / self.unit).expect("no wider than the strip");
        let mut at = (top / 64).min(self.words - 1);
        let mut word = sums[at];
        if top / 64 == at {
            word &= u64::MAX >> (63 - top % 64);
        }
        loop {
            if word != 0 {
                let bit = at * 64 + 63 - word.leading_zeros() as usize;
                return i64::try_from(bit).expect("few") * self.unit;
            }
            if at == 0 {
                return 0;
            }
            at -= 1;
            word = sums[at];
        }
    }
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// The widest row there can be: no more of the width is ever covered.
fn widest_row<'a>(ways: impl Iterator<Item = &'a [Way]> + Clone, width: i64) -> i64 {
    Reach::of(ways.clone().flatten(), width).map_or(width, |reach| reach.fills(&reach.sums(ways), width))
}

/// Area bounds where pieces may lie more than one way: each counts the way that counts least.
fn areas_either_way(pieces: &[Piece], width: i64) -> i64 {
    let each = pieces.iter().map(|piece| piece.ways.as_slice());
    let widths: Vec<i64> = pieces.iter().flat_map(|piece| &piece.ways).map(|way| way.w).collect();
    let sum = |f: &dyn Fn(i64) -> i128| -> i128 {
        let least = |ways: &[Way]| ways.iter().map(|way| f(way.w) * i128::from(way.h)).min().unwrap_or(0);
        pieces.iter().map(|piece| least(&piece.ways)).sum()
    };
    by_functions(&widths, width, widest_row(each, width), &sum)
}

/// Pieces that are more than half as wide as the strip whichever way they lie follow each other.
fn follow_either_way(pieces: &[Piece], width: i64) -> i64 {
    let narrowest = |piece: &Piece| piece.ways.iter().map(|way| way.w).min().unwrap_or(0);
    let lowest = |piece: &Piece| piece.ways.iter().map(|way| way.h).min().unwrap_or(0);
    let is_wide = |piece: &&Piece| narrowest(piece) * 2 > width;
    let sum: i64 = pieces.iter().filter(is_wide).map(lowest).sum();
    let least = pieces.iter().filter(is_wide).map(narrowest).min().unwrap_or(0);
    let beside = pieces.iter().filter(|piece| !is_wide(piece) && narrowest(piece) + least > width);
    sum + beside.map(lowest).max().unwrap_or(0)
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
    let widths: Vec<i64> = tall.iter().map(|&(w, _)| w).collect();
    let row = widest_row(ways.iter().map(std::slice::from_ref), width);
    let best = by_functions(&widths, width, row, &sum);
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

/// Adds a function of the widths times the heights up, over all pieces.
type Sum<'a> = &'a dyn Fn(&dyn Fn(i64) -> i128) -> i128;

/// The best of the bounds by dual feasible functions; `sum` adds a function of the widths times the heights up, and no
/// row of pieces is wider than `row`.
fn by_functions(widths: &[i64], width: i64, row: i64, sum: Sum<'_>) -> i64 {
    let mut best = divide_up(sum(&i128::from), row.max(1));
    let mut cuts: Vec<i64> = widths.iter().copied().chain(widths.iter().map(|w| width - w + 1)).collect();
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
    best
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
    let mut groups: Vec<Vec<usize>> = groups.into_iter().collect();
    if ways.len() > MOST_LISTED {
        groups.sort_by_key(|group| -group.iter().map(|&i| ways[i].h).sum::<i64>());
        groups.truncate(4);
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

/// Of more pieces than this no list of ends is made, and few groups are looked at.
const MOST_LISTED: usize = 60;
/// The most ends that are listed; beyond it they are as good as anywhere.
const MOST_ENDS: usize = 20_000;

/// Sums of the heights of free pieces: a free piece rests on the end of another or on the start.
fn free_sums(pieces: &[Piece]) -> Option<Vec<i64>> {
    if pieces.len() > MOST_LISTED {
        return None;
    }
    let mut sums: BTreeSet<i64> = BTreeSet::from([0]);
    for piece in pieces {
        let free = piece.ways.iter().filter(|way| way.y == Held::Free);
        let more: Vec<i64> = free.flat_map(|way| sums.iter().map(|sum| sum + way.h)).collect();
        sums.extend(more);
        if sums.len() > MOST_ENDS {
            return None;
        }
    }
    Some(sums.into_iter().collect())
}

/// Every length below `limit` that a plan pushed down as far as it goes can have, or nothing when they are too many
/// to list.
pub(super) fn ends(pieces: &[Piece], limit: i64) -> Option<Vec<i64>> {
    let sums = free_sums(pieces)?;
    let mut ends: BTreeSet<i64> = sums.iter().copied().filter(|&sum| sum < limit).collect();
    for way in pieces.iter().flat_map(|piece| &piece.ways) {
        let Held::Every { at, every } = way.y else { continue };
        for sum in &sums {
            let mut end = at + way.h + sum;
            while end < limit {
                ends.insert(end);
                end += every;
                if ends.len() > MOST_ENDS {
                    return None;
                }
            }
        }
    }
    Some(ends.into_iter().collect())
}

/// The first length not below `bound` that a plan can have.
fn next_end(pieces: &[Piece], bound: i64) -> i64 {
    let Some(sums) = free_sums(pieces) else { return bound };
    let mut best = sums.iter().copied().find(|&sum| sum >= bound).unwrap_or(i64::MAX);
    for way in pieces.iter().flat_map(|piece| &piece.ways) {
        let Held::Every { at, every } = way.y else { continue };
        for sum in &sums {
            let end = at + way.h + sum;
            let up = if end >= bound { end } else { end + (bound - end + every - 1) / every * every };
            best = best.min(up);
        }
    }
    if best == i64::MAX { bound } else { best }
}

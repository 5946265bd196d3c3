//! Rectangles on a strip of cloth: where each piece lies so that the least length is used, and a bound below which
//! no plan can go.
//!
//! This is strip packing in whole nanometres where a piece may be held to places in a pattern: its start along the
//! cloth is congruent to a place in the vertical repeat, its left edge to one in the horizontal repeat, or it is held
//! to one selvage. A plan is built piece by piece, each at the lowest place that takes it; the order of pieces is
//! improved by seeded moves; then a branch and bound tries to finish or to prove. All limits are counts of
//! work, never a clock, so the same input gives the same plan on every machine.

use super::bound;
use super::search;

/// Where a coordinate may be.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) enum Held {
    /// Anywhere.
    Free,
    /// At `at` plus whole multiples of `every`; `0 <= at < every`.
    Every {
        /// The first place.
        at: i64,
        /// The repeat.
        every: i64,
    },
    /// At one place.
    Fixed(i64),
}

impl Held {
    /// Congruent to `place` in steps of `every`.
    pub(super) fn every(place: i64, every: i64) -> Self {
        Self::Every { at: place.rem_euclid(every), every }
    }

    /// The first allowed place that is not before `from`.
    pub(super) fn next(self, from: i64) -> Option<i64> {
        match self {
            Self::Free => Some(from),
            Self::Every { at, every } => Some(from + (at - from).rem_euclid(every)),
            Self::Fixed(at) => (at >= from).then_some(at),
        }
    }

    /// True where this place is allowed.
    #[cfg(test)]
    pub(super) fn allows(self, place: i64) -> bool {
        self.next(place) == Some(place)
    }
}

/// One way a piece may lie.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) struct Way {
    /// Across the cloth.
    pub(super) w: i64,
    /// Along the cloth.
    pub(super) h: i64,
    /// Its left edge.
    pub(super) x: Held,
    /// Its start along the cloth; never [`Held::Fixed`].
    pub(super) y: Held,
}

impl Way {
    /// True when there is a place across a strip of `width` that it is held to.
    pub(super) fn fits(&self, width: i64) -> bool {
        self.x.next(0).is_some_and(|x| x + self.w <= width)
    }
}

/// A piece: the ways it may lie, one or two.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Piece {
    pub(super) ways: Vec<Way>,
}

/// Where a piece lies.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Spot {
    pub(super) piece: usize,
    pub(super) way: usize,
    pub(super) x: i64,
    pub(super) y: i64,
}

/// A finished plan.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Packing {
    /// One a piece, in the order of the pieces.
    pub(super) spots: Vec<Spot>,
    /// Length of cloth used.
    pub(super) length: i64,
    /// No plan is shorter than this.
    pub(super) bound: i64,
    /// Where in the vertical repeat the strip starts.
    pub(super) origin: i64,
}

/// How much work a plan may cost, in looks at a place (about 20 a microsecond).
#[derive(Clone, Copy, Debug)]
pub(super) struct Effort {
    /// For improving the order of pieces.
    pub(super) improve: u64,
    /// For the branch and bound.
    pub(super) prove: u64,
}

impl Effort {
    /// For one cloth of one house.
    pub(super) const HOUSE: Self = Self { improve: 6_000_000, prove: 6_000_000 };
}

/// Plans `pieces` on a strip of `width`. `repeat` is the vertical repeat where the strip may start anywhere in the
/// pattern: every start that puts some piece at the very beginning is considered. Every way fits ([`Way::fits`]).
pub(super) fn pack(pieces: &[Piece], width: i64, repeat: Option<i64>, effort: Effort) -> Packing {
    let (origins, all) = few(&origins(pieces, repeat), pieces.len());
    let shifted = |origin: i64| -> Vec<Piece> { pieces.iter().map(|piece| shift(piece, origin)).collect() };
    let mut runs: Vec<(i64, i64, Vec<Piece>)> = origins
        .iter()
        .map(|&origin| {
            let moved = shifted(origin);
            (bound::below(&moved, width), origin, moved)
        })
        .collect();
    runs.sort_by_key(|(bound, origin, _)| (*bound, *origin));
    let share = runs.len() as u64;
    // A piece without a pattern below the first that has one would start the strip elsewhere in the pattern: then only
    // what holds for the patterned pieces alone, or for the area of all, holds for every start.
    let is_free = |piece: &Piece| piece.ways.iter().all(|way| way.y == Held::Free);
    let mixed = repeat.is_some() && pieces.iter().any(is_free) && !pieces.iter().all(is_free);
    let floor = mixed.then(|| {
        let held: Vec<Piece> = pieces.iter().filter(|piece| !is_free(piece)).cloned().collect();
        let half = Effort { improve: effort.improve / 2, prove: effort.prove / 2 };
        pack(&held, width, repeat, half).bound.max(bound::by_area(pieces, width))
    });
    let mut best: Option<Packing> = None;
    let mut least = i64::MAX;
    // First a cheap look from every start, then real work where the bound leaves room.
    for (bound, origin, moved) in &runs {
        let found = search::quick(moved, width);
        if best.as_ref().is_none_or(|best| found.1 < best.length) {
            best = Some(Packing { spots: found.0, length: found.1, bound: *bound, origin: *origin });
        }
    }
    let mut best = best.expect("there is at least one start");
    for (bound, origin, moved) in &runs {
        if *bound >= best.length || floor.is_some_and(|floor| floor >= best.length) {
            least = least.min(*bound);
            continue;
        }
        let part = Effort { improve: effort.improve / share, prove: effort.prove / share };
        let found = search::run(moved, width, *bound, best.length, part);
        least = least.min(found.bound);
        if let Some((spots, length)) = found.better {
            best = Packing { spots, length, bound: *bound, origin: *origin };
        }
    }
    let floor = if all { floor } else { Some(bound::by_area(pieces, width)) };
    best.bound = floor.unwrap_or(least).min(best.length);
    best
}

/// The piece as it is seen from a strip that starts at `origin` of the pattern.
fn shift(piece: &Piece, origin: i64) -> Piece {
    Piece {
        ways: piece
            .ways
            .iter()
            .map(|way| Way {
                y: match way.y {
                    Held::Every { at, every } => Held::every(at - origin, every),
                    other => other,
                },
                ..*way
            })
            .collect(),
    }
}

/// Which of `pieces` a piece on hand of this length takes, and where: see [`search::fill`]. `repeat` as in [`pack`].
pub(super) fn fill(
    pieces: &[Piece],
    groups: &[usize],
    width: i64,
    length: i64,
    repeat: Option<i64>,
    effort: Effort,
) -> (Vec<Spot>, i64) {
    let area = |spots: &[Spot]| -> i128 {
        spots
            .iter()
            .map(|spot| {
                let way = &pieces[spot.piece].ways[spot.way];
                i128::from(way.w) * i128::from(way.h)
            })
            .sum()
    };
    let (origins, _) = few(&origins(pieces, repeat), pieces.len());
    let share = origins.len() as u64;
    let mut best = (Vec::new(), 0);
    for origin in origins {
        let moved: Vec<Piece> = pieces.iter().map(|piece| shift(piece, origin)).collect();
        let spots = search::fill(&moved, groups, width, length, effort.improve / share / 4);
        if area(&spots) > area(&best.0) {
            best = (spots, origin);
        }
    }
    best
}

/// As many of the starts as can be tried for so many pieces, evenly taken; true when these are all.
fn few(origins: &[i64], pieces: usize) -> (Vec<i64>, bool) {
    let most = (400_000 / (pieces * pieces).max(1)).max(2);
    if origins.len() <= most {
        return (origins.to_vec(), true);
    }
    ((0..most).map(|i| origins[i * origins.len() / most]).collect(), false)
}

/// Every place in the pattern where a strip may start so that some piece lies at its very beginning.
fn origins(pieces: &[Piece], repeat: Option<i64>) -> Vec<i64> {
    let mut origins: Vec<i64> = match repeat {
        Some(_) => pieces
            .iter()
            .flat_map(|piece| &piece.ways)
            .filter_map(|way| match way.y {
                Held::Every { at, .. } => Some(at),
                _ => None,
            })
            .collect(),
        None => vec![0],
    };
    origins.sort_unstable();
    origins.dedup();
    if origins.is_empty() {
        origins.push(0);
    }
    origins
}

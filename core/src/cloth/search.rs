//! Building, improving and proving a plan: see [`super::pack`].

use super::bound;
use super::pack::{Effort, Held, Piece, Spot, Way};

/// What a search found.
pub(super) struct Found {
    /// A plan shorter than the one to beat, and its length.
    pub(super) better: Option<(Vec<Spot>, i64)>,
    /// No plan of this strip is shorter.
    pub(super) bound: i64,
}

/// Up to so many pieces are all looked at.
const FEW: usize = 32;
/// The order by nearest places is worked out for at most so many pieces: it takes their third power.
const MOST_NEAREST: usize = 60;

/// A plan being built.
struct Table<'a> {
    pieces: &'a [Piece],
    width: i64,
    placed: Vec<(Spot, Way)>,
    length: i64,
    starts: Vec<i64>,
    blocked: Vec<(i64, i64)>,
    work: u64,
    /// Places in `placed` by their start, and the tallest of them: once there are many, what overlaps a height is found
    /// without looking at all.
    by_start: Vec<(i64, usize)>,
    tallest: i64,
    /// The way each piece must lie, where one is chosen; empty when none is.
    only: Vec<Option<usize>>,
}

impl<'a> Table<'a> {
    fn new(pieces: &'a [Piece], width: i64) -> Self {
        Self {
            pieces,
            width,
            placed: Vec::new(),
            length: 0,
            starts: Vec::new(),
            blocked: Vec::new(),
            work: 0,
            by_start: Vec::new(),
            tallest: 0,
            only: Vec::new(),
        }
    }

    fn clear(&mut self) {
        self.placed.clear();
        self.by_start.clear();
        self.tallest = 0;
        self.length = 0;
    }

    /// Takes the last pieces out again, until `kept` are left.
    fn cut_back(&mut self, kept: usize) {
        self.placed.truncate(kept);
        self.by_start.retain(|(_, at)| *at < kept);
    }

    fn put(&mut self, spot: Spot, way: Way) {
        let at = self.by_start.partition_point(|(y, _)| *y <= spot.y);
        self.by_start.insert(at, (spot.y, self.placed.len()));
        self.tallest = self.tallest.max(way.h);
        self.placed.push((spot, way));
        self.length = self.length.max(spot.y + way.h);
    }

    /// The lowest place that takes this way of a piece, leftmost there.
    fn lowest(&mut self, way: &Way) -> (i64, i64) {
        self.starts.clear();
        self.starts.extend(way.y.next(0));
        for (spot, other) in &self.placed {
            self.starts.extend(way.y.next(spot.y + other.h));
        }
        self.starts.sort_unstable();
        self.starts.dedup();
        for i in 0..self.starts.len() {
            let y = self.starts[i];
            if let Some(x) = self.leftmost(way, y) {
                return (x, y);
            }
        }
        unreachable!("beyond the last piece the whole strip is free")
    }

    /// The leftmost place at `y` that takes this way, if there is one.
    fn leftmost(&mut self, way: &Way, y: i64) -> Option<i64> {
        self.blocked.clear();
        if self.placed.len() > FEW {
            let from = self.by_start.partition_point(|(start, _)| *start <= y - self.tallest);
            let to = self.by_start.partition_point(|(start, _)| *start < y + way.h);
            self.work += (to - from) as u64 + 8;
            for &(_, at) in &self.by_start[from..to] {
                let (spot, other) = &self.placed[at];
                if y < spot.y + other.h {
                    self.blocked.push((spot.x, spot.x + other.w));
                }
            }
        } else {
            self.work += self.placed.len() as u64 + 1;
            for (spot, other) in &self.placed {
                if spot.y < y + way.h && y < spot.y + other.h {
                    self.blocked.push((spot.x, spot.x + other.w));
                }
            }
        }
        self.blocked.sort_unstable();
        let mut x = way.x.next(0)?;
        for &(from, to) in &self.blocked {
            if x + way.w <= from {
                break;
            }
            if to > x {
                x = way.x.next(to)?;
            }
        }
        (x + way.w <= self.width).then_some(x)
    }

    /// Places a piece the way that ends lowest; false when the plan would not be shorter than `beat`.
    fn place(&mut self, piece: usize, beat: i64) -> bool {
        let pieces = self.pieces;
        let mut best: Option<(i64, i64, i64, usize)> = None;
        for (i, way) in pieces[piece].ways.iter().enumerate() {
            if self.only.get(piece).is_some_and(|only| only.is_some_and(|only| only != i)) {
                continue;
            }
            let (x, y) = self.lowest(way);
            if best.is_none_or(|best| (y + way.h, y) < (best.0, best.1)) {
                best = Some((y + way.h, y, x, i));
            }
        }
        let (end, y, x, i) = best.expect("a piece has a way to lie");
        if end >= beat {
            return false;
        }
        self.put(Spot { piece, way: i, x, y }, pieces[piece].ways[i]);
        true
    }

    /// Builds the plan of an order; `None` when it is not shorter than `beat`.
    fn build(&mut self, order: &[usize], beat: i64) -> Option<(i64, i128)> {
        self.clear();
        for &piece in order {
            if !self.place(piece, beat) {
                return None;
            }
        }
        // Of plans as long, the one that lies lower is nearer to a shorter one.
        let low = self.placed.iter().map(|(spot, way)| i128::from(way.w) * i128::from(spot.y + way.h)).sum();
        Some((self.length, low))
    }

    fn spots(&self) -> Vec<Spot> {
        let mut spots: Vec<Spot> = self.placed.iter().map(|(spot, _)| *spot).collect();
        spots.sort_by_key(|spot| spot.piece);
        spots
    }
}

/// Orders that are good to begin with.
fn orders(pieces: &[Piece]) -> Vec<Vec<usize>> {
    let first = |i: usize| pieces[i].ways[0];
    let mut list = Vec::new();
    let mut sorted = |key: &dyn Fn(usize) -> (i64, i64)| {
        let mut order: Vec<usize> = (0..pieces.len()).collect();
        order.sort_by_key(|&i| key(i));
        list.push(order);
    };
    let phase = |way: Way| way.y.next(0).unwrap_or(0);
    sorted(&|i| (-first(i).h, -first(i).w));
    sorted(&|i| (-first(i).w, -first(i).h));
    sorted(&|i| (-(first(i).w + first(i).h), -first(i).h));
    sorted(&|i| (phase(first(i)), -first(i).h));
    sorted(&|i| (-phase(first(i)), -first(i).w));
    list
}

/// The best of the plain orders, and of the one that always takes the piece that starts lowest.
pub(super) fn quick(pieces: &[Piece], width: i64) -> (Vec<Spot>, i64) {
    let mut table = Table::new(pieces, width);
    let mut best: Option<(Vec<Spot>, i64)> = None;
    let mut list = orders(pieces);
    if pieces.len() <= MOST_NEAREST {
        list.push(nearest(pieces, width));
    }
    for order in &list {
        let beat = best.as_ref().map_or(i64::MAX, |best| best.1);
        if table.build(order, beat).is_some() {
            best = Some((table.spots(), table.length));
        }
    }
    best.expect("the first order always builds")
}

/// At each step the piece that can lie lowest; of those, the widest, then the longest.
fn nearest(pieces: &[Piece], width: i64) -> Vec<usize> {
    let mut table = Table::new(pieces, width);
    let mut left: Vec<usize> = (0..pieces.len()).collect();
    let mut order = Vec::new();
    while !left.is_empty() {
        let at = (0..left.len())
            .min_by_key(|&at| {
                let way = &pieces[left[at]].ways[0];
                let (_, y) = table.lowest(way);
                (y, -way.w, -way.h)
            })
            .expect("pieces are left");
        let piece = left.remove(at);
        table.place(piece, i64::MAX);
        order.push(piece);
    }
    order
}

/// A small generator (xorshift) with a fixed seed: the same moves on every machine.
struct Moves(u64);

impl Moves {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % n as u64).expect("an index fits")
    }
}

/// Looks for a plan shorter than `beat`, and for the highest bound it can show.
pub(super) fn run(pieces: &[Piece], width: i64, bound: i64, beat: i64, effort: Effort) -> Found {
    let mut table = Table::new(pieces, width);
    let mut best: Option<(Vec<Spot>, i64)> = None;
    let mut beat = beat;
    let n = pieces.len();
    let mut moves = Moves(0x9e37_79b9_7f4a_7c15);
    // A first short branch and bound ends the small cases; improving comes between it and the long one.
    let first = prove(pieces, width, bound, beat, effort.prove / 8);
    if let Some(found) = first.better {
        beat = found.1;
        best = Some(found);
    }
    let mut bound = bound.max(first.bound);
    if bound >= beat {
        return Found { better: best, bound: beat.min(bound) };
    }
    let starts = orders(pieces);
    let rounds = starts.len() as u64;
    let turnable: Vec<usize> = (0..n).filter(|&i| pieces[i].ways.len() > 1).collect();
    'improve: for (round, start) in starts.into_iter().enumerate() {
        let mut order = start;
        table.only = if turnable.is_empty() { Vec::new() } else { vec![None; n] };
        let until = effort.improve / rounds * (round as u64 + 1);
        let mut now = table.build(&order, i64::MAX).expect("nothing is too long here");
        while table.work < until && n > 1 {
            let mut next = order.clone();
            let only = table.only.clone();
            if !turnable.is_empty() && moves.below(3) == 0 {
                let piece = turnable[moves.below(turnable.len())];
                let way = moves.below(pieces[piece].ways.len() + 1);
                table.only[piece] = way.checked_sub(1);
            }
            for _ in 0..=moves.below(2) {
                let (a, b) = (moves.below(n), moves.below(n));
                if moves.below(2) == 0 {
                    next.swap(a, b);
                } else {
                    let piece = next.remove(a);
                    next.insert(b, piece);
                }
            }
            // A plan a little longer than the present one cannot be taken, so it need not be finished.
            let Some(value) = table.build(&next, now.0 + 1) else {
                table.only = only;
                continue;
            };
            if value <= now {
                now = value;
                order = next;
                if now.0 < beat {
                    beat = now.0;
                    best = Some((table.spots(), now.0));
                    if beat <= bound {
                        break 'improve;
                    }
                }
            } else {
                table.only = only;
            }
        }
    }
    if bound < beat {
        let last = prove(pieces, width, bound, beat, effort.prove);
        if let Some(found) = last.better {
            beat = found.1;
            best = Some(found);
        }
        bound = bound.max(last.bound);
    }
    Found { better: best, bound: bound.min(beat) }
}

/// Branch and bound over pieces in the order they start. It relaxes where a piece lies across the cloth to the sum of
/// widths at every height (which any true plan keeps), so what it cannot find does not exist; what it finds is laid
/// out across and kept only when that can be done. Each piece is taken with the cloth that the pattern leaves unused
/// before and after it ([`bound::margins`]), so that what is wasted is seen early.
fn prove(pieces: &[Piece], width: i64, bound: i64, beat: i64, work: u64) -> Found {
    if pieces.len() > 40 {
        return Found { better: None, bound };
    }
    let mut items: Vec<usize> = (0..pieces.len()).collect();
    // Alike pieces side by side, wide and long ones first.
    items.sort_by_key(|&i| {
        let way = pieces[i].ways[0];
        (-way.w, -way.h, way.y, way.x, i)
    });
    let real: Vec<Vec<Way>> = items.iter().map(|&i| pieces[i].ways.clone()).collect();
    let one_way = pieces.iter().all(|piece| piece.ways.len() == 1);
    let bound::Margins { each: margins, under } = if one_way {
        bound::best_margins(&real.iter().map(|ways| ways[0]).collect::<Vec<_>>(), width)
    } else {
        bound::Margins { each: vec![bound::Margin { before: 0, after: 0 }; items.len()], under: 0 }
    };
    let with = |way: &Way, margin: &bound::Margin| Way {
        h: way.h + margin.before + margin.after,
        y: match way.y {
            Held::Every { at, every } => Held::every(at - margin.before, every),
            other => other,
        },
        ..*way
    };
    let ways: Vec<Vec<Way>> =
        real.iter().zip(&margins).map(|(ways, margin)| ways.iter().map(|way| with(way, margin)).collect()).collect();
    let first = |(ways, margin): (&Vec<Way>, &bound::Margin)| -> Vec<i64> {
        ways.iter().map(|way| way.y.next(0).unwrap_or(0) - margin.before).collect()
    };
    let area = |ways: &Vec<Way>| ways.iter().map(|way| i128::from(way.w) * i128::from(way.h)).min().unwrap_or(0);
    let flat: Vec<Way> = ways.iter().flatten().copied().collect();
    let mut offsets = Vec::new();
    let mut offset = 0;
    for ways in &ways {
        offsets.push(offset);
        offset += ways.len();
    }
    let mut tree = Tree {
        apart: bound::apart(&flat, width),
        offsets,
        reach: bound::Reach::of(flat.iter(), width),
        wide: ways.iter().map(|ways| ways.iter().all(|way| way.w * 2 > width)).collect(),
        starts: vec![0; ways.len()],
        taken: vec![0; ways.len()],
        used: vec![false; ways.len()],
        placed: Vec::new(),
        profile: vec![(-under, width)],
        areas: ways.iter().map(area).collect(),
        left: ways.iter().map(area).sum(),
        first: real.iter().zip(&margins).map(first).collect(),
        beat,
        cap: 0,
        margin_cap: 0,
        relaxed: i64::MAX,
        best: None,
        work,
        across_work: 0,
        ends: bound::ends(pieces, beat),
        width,
        real,
        ways,
        margins,
    };
    tree.set_cap();
    if tree.cap >= bound {
        tree.branch(-under, 0);
    }
    let finished = tree.work > 0;
    let length = tree.best.as_ref().map_or(beat, |_| tree.beat);
    let better = tree.best.map(|places| {
        let mut spots: Vec<Spot> = places
            .iter()
            .map(|&(item, way, x, y)| Spot { piece: items[item], way, x, y: y + tree.margins[item].before })
            .collect();
        spots.sort_by_key(|spot| spot.piece);
        (spots, length)
    });
    let bound = if finished { bound.max(length.min(tree.relaxed)) } else { bound };
    Found { better, bound }
}

struct Tree {
    /// The ways of each piece, with its margins.
    ways: Vec<Vec<Way>>,
    /// The ways without.
    real: Vec<Vec<Way>>,
    margins: Vec<bound::Margin>,
    /// The first start of each way, margin included.
    first: Vec<Vec<i64>>,
    width: i64,
    /// Pairs of ways that cannot lie beside each other, by what they are held to or their widths.
    apart: Vec<Vec<bool>>,
    /// Where the ways of each piece start in `apart`.
    offsets: Vec<usize>,
    /// What widths side by side add up to, where that can be listed.
    reach: Option<bound::Reach>,
    /// Pieces that take more than half of the width whichever way they lie.
    wide: Vec<bool>,
    starts: Vec<i64>,
    /// The way each placed piece lies.
    taken: Vec<usize>,
    used: Vec<bool>,
    placed: Vec<usize>,
    /// Free width from each height up to the next; the last entry goes on for ever.
    profile: Vec<(i64, i64)>,
    /// The least area of each piece.
    areas: Vec<i128>,
    /// Area of the pieces that are not placed.
    left: i128,
    beat: i64,
    /// The longest end that beats `beat`.
    cap: i64,
    /// How far margins reach in a plan that ends at `cap`.
    margin_cap: i64,
    /// The shortest relaxed plan that could not be laid out across.
    relaxed: i64,
    /// Item, way, place across and start of each.
    best: Option<Vec<(usize, usize, i64, i64)>>,
    work: u64,
    across_work: u64,
    /// Every length a plan can have, if they are few.
    ends: Option<Vec<i64>>,
}

impl Tree {
    fn set_cap(&mut self) {
        self.cap = match &self.ends {
            Some(ends) => ends[..ends.partition_point(|&end| end < self.beat)].last().copied().unwrap_or(-1),
            None => self.beat - 1,
        };
        let reach = |(ways, margin): (&Vec<Way>, &bound::Margin)| {
            ways.iter().map(|way| bound::last_end(way, self.cap) + margin.after).max().unwrap_or(self.cap)
        };
        self.margin_cap = self.real.iter().zip(&self.margins).map(reach).max().unwrap_or(self.cap);
    }

    /// True when item `i`, lying so, with its margin from `start`, ends beyond `cap`.
    fn late(&self, i: usize, way: usize, start: i64) -> bool {
        start + self.ways[i][way].h - self.margins[i].after > self.cap
    }

    fn spend(&mut self, work: u64) -> bool {
        self.work = self.work.saturating_sub(work);
        self.work > 0
    }

    /// Area above `last` that the pieces that are left can still cover: at each height no more than their widths add up to.
    fn free(&mut self, last: i64) -> i128 {
        let sums = self.reach.as_ref().map(|reach| {
            let left = (0..self.ways.len()).filter(|&i| !self.used[i]).map(|i| self.ways[i].as_slice());
            reach.sums(left)
        });
        if let Some(sums) = &sums {
            self.work = self.work.saturating_sub((sums.len() * (self.ways.len() - self.placed.len()) / 4) as u64);
        }
        let mut free: i128 = 0;
        for (i, &(from, room)) in self.profile.iter().enumerate() {
            let to = self.profile.get(i + 1).map_or(self.margin_cap, |next| next.0).min(self.margin_cap);
            let from = from.max(last);
            if to > from {
                let covered = match (&self.reach, &sums) {
                    (Some(reach), Some(sums)) => reach.fills(sums, room),
                    _ => room,
                };
                free += i128::from(to - from) * i128::from(covered);
            }
        }
        free
    }

    /// Tries every piece that may start next, not before `last`; `tie` is the item after which others may start there.
    fn branch(&mut self, last: i64, tie: usize) {
        if self.placed.len() == self.ways.len() {
            self.leaf();
            return;
        }
        if !self.spend(self.profile.len() as u64 + self.ways.len() as u64) {
            return;
        }
        // What is free below `last` stays free: later pieces start above it.
        if self.left > self.free(last) {
            return;
        }
        // Wide pieces follow each other; the first of them waits until there is room.
        let (mut wide_from, mut wide_sum) = (i64::MAX, 0);
        for i in 0..self.ways.len() {
            if self.used[i] {
                continue;
            }
            let in_time = |way: usize| {
                let first = self.ways[i][way].y.next(last.max(self.first[i][way]));
                first.is_some_and(|first| !self.late(i, way, first))
            };
            if !(0..self.ways[i].len()).any(in_time) {
                return;
            }
            if self.wide[i] {
                wide_sum += self.ways[i].iter().map(|way| way.h).min().unwrap_or(0);
                for way in 0..self.ways[i].len() {
                    wide_from = wide_from.min(self.earliest(i, way, last));
                }
            }
        }
        if wide_sum > 0 && wide_from.saturating_add(wide_sum) > self.margin_cap {
            return;
        }
        let mut tried: Vec<(i64, usize, usize)> = Vec::new();
        for i in 0..self.ways.len() {
            if self.used[i] || (i > 0 && !self.used[i - 1] && self.ways[i] == self.ways[i - 1]) {
                continue;
            }
            for way in 0..self.ways[i].len() {
                let start = self.earliest(i, way, last);
                // Pieces that start at one height are taken in one order only.
                if self.late(i, way, start) || (start == last && i < tie && !self.placed.is_empty()) {
                    continue;
                }
                tried.push((start, i, way));
            }
        }
        tried.sort_unstable();
        for (start, i, k) in tried {
            if self.late(i, k, start) {
                continue;
            }
            let way = self.ways[i][k];
            let kept = self.profile.clone();
            self.take(start, start + way.h, way.w);
            self.used[i] = true;
            self.starts[i] = start;
            self.taken[i] = k;
            self.placed.push(i);
            self.left -= self.areas[i];
            self.branch(start, i);
            self.left += self.areas[i];
            self.placed.pop();
            self.used[i] = false;
            self.profile = kept;
            if self.work == 0 {
                return;
            }
        }
    }

    /// The first allowed start of item `i`, lying so, not before `from`, where the sum of widths takes it and nothing it is
    /// apart from lies.
    fn earliest(&mut self, i: usize, way: usize, from: i64) -> i64 {
        let row = self.offsets[i] + way;
        let (way, first) = (self.ways[i][way], self.first[i][way]);
        let mut y = way.y.next(from.max(first)).expect("a start along the cloth is never fixed");
        loop {
            self.work = self.work.saturating_sub(1 + self.profile.len() as u64 / 4);
            let mut clear = y;
            for (k, &(at, room)) in self.profile.iter().enumerate() {
                let to = self.profile.get(k + 1).map_or(i64::MAX, |next| next.0);
                if at < y + way.h && to > y && room < way.w {
                    clear = clear.max(to);
                }
            }
            for &other in &self.placed {
                let taken = self.taken[other];
                let end = self.starts[other] + self.ways[other][taken].h;
                if self.apart[row][self.offsets[other] + taken] && self.starts[other] < y + way.h && end > y {
                    clear = clear.max(end);
                }
            }
            if clear == y {
                return y;
            }
            y = way.y.next(clear).expect("a start along the cloth is never fixed");
        }
    }

    /// Takes `w` of the free width from `from` to `to`.
    fn take(&mut self, from: i64, to: i64, w: i64) {
        for cut in [from, to] {
            let at = self.profile.partition_point(|entry| entry.0 < cut);
            if self.profile.get(at).is_none_or(|entry| entry.0 != cut) {
                let room = self.profile[at - 1].1;
                self.profile.insert(at, (cut, room));
            }
        }
        for entry in &mut self.profile {
            if entry.0 >= from && entry.0 < to {
                entry.1 -= w;
            }
        }
    }

    fn leaf(&mut self) {
        let end = |&i: &usize| self.starts[i] + self.ways[i][self.taken[i]].h - self.margins[i].after;
        let length = self.placed.iter().map(end).max().unwrap_or(0);
        if length >= self.beat {
            return;
        }
        self.across_work = 20_000;
        let mut places = Vec::new();
        let mut done = vec![false; self.ways.len()];
        let laid = self.across(&mut places, &mut done, 0);
        self.work = self.work.saturating_sub(20_000 - self.across_work);
        if laid {
            self.beat = length;
            self.best = Some(places);
            self.set_cap();
        } else {
            self.relaxed = self.relaxed.min(length);
        }
    }

    /// Lays the pieces out across in order of their left edges: each as far left as those before it allow.
    fn across(&mut self, places: &mut Vec<(usize, usize, i64, i64)>, done: &mut [bool], from: i64) -> bool {
        if places.len() == self.ways.len() {
            return true;
        }
        for i in 0..self.ways.len() {
            if done[i] {
                continue;
            }
            if self.across_work == 0 {
                return false;
            }
            self.across_work -= 1;
            let (way, y) = (self.ways[i][self.taken[i]], self.starts[i]);
            let clear = places
                .iter()
                .filter(|&&(other, k, _, at)| at < y + way.h && y < at + self.ways[other][k].h)
                .map(|&(other, k, x, _)| x + self.ways[other][k].w)
                .max()
                .unwrap_or(0);
            let Some(x) = way.x.next(clear) else { continue };
            // Left edges never go back, so that no order is tried twice.
            if x < from || x + way.w > self.width {
                continue;
            }
            done[i] = true;
            places.push((i, self.taken[i], x, y));
            if self.across(places, done, x) {
                return true;
            }
            places.pop();
            done[i] = false;
        }
        false
    }
}

/// Fills a strip of a given length with whole groups of pieces: as much area as it takes. A group goes in whole or not
/// at all. Gives the spots of what went in.
pub(super) fn fill(pieces: &[Piece], groups: &[usize], width: i64, length: i64, work: u64) -> Vec<Spot> {
    let mut names: Vec<usize> = groups.to_vec();
    names.dedup();
    let area = |piece: usize| i128::from(pieces[piece].ways[0].w) * i128::from(pieces[piece].ways[0].h);
    let members: Vec<Vec<usize>> =
        names.iter().map(|name| (0..pieces.len()).filter(|&i| groups[i] == *name).collect()).collect();
    let size = |group: usize| members[group].iter().map(|&i| area(i)).sum::<i128>();
    let mut table = Table::new(pieces, width);
    let mut order: Vec<usize> = (0..names.len()).collect();
    order.sort_by_key(|&group| (-size(group), group));
    let mut moves = Moves(0x2545_f491_4f6c_dd1d);
    let mut best: (i128, Vec<Spot>) = (0, Vec::new());
    let mut next = order.clone();
    loop {
        table.clear();
        let mut filled = 0;
        for &group in &next {
            let kept = table.placed.len();
            if members[group].iter().all(|&piece| table.place(piece, length.saturating_add(1))) {
                filled += size(group);
            } else {
                table.cut_back(kept);
            }
        }
        if filled >= best.0 {
            if filled > best.0 {
                best = (filled, table.spots());
            }
            order.clone_from(&next);
        }
        if table.work >= work || names.len() < 2 || best.1.len() == pieces.len() {
            return best.1;
        }
        next.clone_from(&order);
        let (a, b) = (moves.below(next.len()), moves.below(next.len()));
        let group = next.remove(a);
        next.insert(b, group);
    }
}

//! The fullest or dearest filling of one stick: a bounded knapsack, in whole numbers throughout.
//!
//! Two exact ways, whichever is shorter: a table over every room (short sticks in steps of the saw), or a
//! depth-first search (few pieces to a stick, fine steps). What the bounds of a plan rest on is worked out here,
//! so nothing rounds in its favour: the one float, the search's pruning density, is rounded up.

use super::work::Work;

/// Pieces that can go into a stick, all slices of one length.
#[derive(Clone, Copy, Debug)]
pub(in crate::cutlist) struct Items<'a> {
    /// What a piece takes of a stick, in steps.
    pub(in crate::cutlist) sizes: &'a [i64],
    /// How many of it may be used.
    pub(in crate::cutlist) most: &'a [u32],
    /// What one is worth; those of zero or less are left out.
    pub(in crate::cutlist) values: &'a [i64],
}

/// One filling.
#[derive(Clone, Debug)]
pub(in crate::cutlist) struct Fill {
    /// No filling is worth more than this; `None` where that was not looked into.
    pub(in crate::cutlist) most_worth: Option<i64>,
    /// What `take` is worth.
    pub(in crate::cutlist) worth: i64,
    /// Item and how many of it, items ascending. Empty when nothing is worth more than was asked.
    pub(in crate::cutlist) take: Vec<(u32, u32)>,
}

/// A table of more entries than this is not made (it would take tens of megabytes).
const TABLE_LIMIT: u64 = 400_000_000;
/// A table this small is made at once, without trying the search first.
const TABLE_AT_ONCE: u64 = 60_000;
/// The longest room a table is made for.
const TABLE_ROOM: i64 = 2_000_000;
/// Nodes of each of the short searches of [`spread`].
const SPREAD: u64 = 1500;
/// After so many nodes a filling that is worth enough is taken, the dearest or not.
const GOOD_ENOUGH: u64 = 30_000;
/// What a node of the search costs, in steps.
const NODE: u64 = 6;

/// True where the table is so small that it is made at once.
pub(in crate::cutlist) fn is_short(items: Items, room: i64) -> bool {
    let steps: u64 = parts(items, room).iter().map(|part| (room - part.size + 1).unsigned_abs()).sum();
    room <= TABLE_ROOM && steps <= TABLE_AT_ONCE
}

/// A filling of `room` worth more than `enough`, if a short search finds one.
pub(in crate::cutlist) fn dear(items: Items, room: i64, enough: i64, work: &mut Work) -> Option<Fill> {
    let mut search = Search::new(items, 1);
    let fill = search.run(room, enough, GOOD_ENOUGH, true);
    work.spend(search.nodes * NODE);
    fill.filter(|fill| !fill.take.is_empty())
}

/// For each item, a filling with it that is worth more than `enough`, if a short search finds one: the dearest first.
pub(in crate::cutlist) fn spread(items: Items, room: i64, enough: i64, work: &mut Work) -> Vec<Fill> {
    let mut search = Search::new(items, 1);
    let mut fills = Vec::new();
    for k in 0..search.order.len() {
        let (size, value) = (search.order[k].size, search.order[k].value);
        if size > room {
            continue;
        }
        search.taken[k] = 1;
        search.best = enough;
        search.nodes = 0;
        search.limit = SPREAD;
        search.best_taken.fill(0);
        search.go(0, room - size, value);
        search.taken[k] = 0;
        work.spend(search.nodes * NODE);
        if search.best > enough {
            let take = listed(&search.order, &search.best_taken);
            fills.push(Fill { most_worth: None, worth: search.best, take });
        }
    }
    fills.sort_by(|a, b| b.worth.cmp(&a.worth).then_with(|| a.take.cmp(&b.take)));
    fills.dedup_by(|a, b| a.take == b.take);
    fills
}

/// For each of `rooms` the dearest filling that is worth more than its entry of `enough`; where none is worth so
/// much, that is found out for certain (or, in the finest steps, a bound on what it can be worth).
pub(in crate::cutlist) fn dearest(items: Items, rooms: &[i64], enough: &[i64], work: &mut Work) -> Vec<Fill> {
    let widest = rooms.iter().copied().max().unwrap_or(0);
    let parts = parts(items, widest);
    let table_steps: u64 = parts.iter().map(|part| (widest - part.size + 1).unsigned_abs()).sum();
    let table_fits = widest <= TABLE_ROOM && table_steps <= TABLE_LIMIT;
    if !(table_fits && table_steps <= TABLE_AT_ONCE) {
        let mut search = Search::new(items, 1);
        let limit = if table_fits { table_steps / NODE } else { 20_000_000 };
        let mut fills = Vec::new();
        for (room, enough) in rooms.iter().zip(enough) {
            fills.push(search.run(*room, *enough, limit, false));
            work.spend(search.nodes * NODE);
        }
        if !table_fits {
            let bound = |room| Fill { most_worth: Some(search.ceiling(room)), worth: 0, take: Vec::new() };
            return fills.into_iter().zip(rooms).map(|(fill, room)| fill.unwrap_or_else(|| bound(*room))).collect();
        }
        if let Some(all) = fills.into_iter().collect() {
            return all;
        }
    }
    work.spend(table_steps);
    table(&parts, widest, rooms)
}

/// Some copies of one item, taken together or not at all.
struct Part {
    item: u32,
    copies: u32,
    size: i64,
    value: i64,
}

fn parts(items: Items, widest: i64) -> Vec<Part> {
    let mut parts = Vec::new();
    for (item, ((&size, &most), &value)) in items.sizes.iter().zip(items.most).zip(items.values).enumerate() {
        if value <= 0 || size > widest {
            continue;
        }
        let mut left = u32::try_from(widest / size).unwrap_or(u32::MAX).min(most);
        let mut copies = 1;
        while left > 0 {
            let now = copies.min(left);
            let n = i64::from(now);
            parts.push(Part { item: index(item), copies: now, size: size * n, value: value * n });
            left -= now;
            copies *= 2;
        }
    }
    parts
}

fn table(parts: &[Part], widest: i64, rooms: &[i64]) -> Vec<Fill> {
    let wide = usize::try_from(widest).expect("a table's room is small");
    let words = wide / 64 + 1;
    let mut worth = vec![0_i64; wide + 1];
    let mut taken = vec![0_u64; words * parts.len()];
    for (part, row) in parts.iter().zip(taken.chunks_exact_mut(words)) {
        let size = usize::try_from(part.size).expect("no longer than the room");
        for room in (size..=wide).rev() {
            let with = worth[room - size] + part.value;
            if with > worth[room] {
                worth[room] = with;
                row[room / 64] |= 1 << (room % 64);
            }
        }
    }
    rooms
        .iter()
        .map(|&room| {
            let mut at = usize::try_from(room).unwrap_or(0);
            let best = worth[at];
            let mut take: Vec<(u32, u32)> = Vec::new();
            for (n, part) in parts.iter().enumerate().rev() {
                if taken[n * words + at / 64] >> (at % 64) & 1 == 1 {
                    at -= usize::try_from(part.size).expect("no longer than the room");
                    match take.last_mut() {
                        Some((item, copies)) if *item == part.item => *copies += part.copies,
                        _ => take.push((part.item, part.copies)),
                    }
                }
            }
            take.reverse();
            Fill { most_worth: Some(best), worth: best, take }
        })
        .collect()
}

struct Entry {
    item: u32,
    size: i64,
    most: u32,
    value: i64,
    /// Value a step, rounded up, so that `room * density` is never below what the room can be worth.
    density: f64,
}

/// Depth-first search, the densest items first.
struct Search {
    order: Vec<Entry>,
    /// The shortest size at or after each place.
    shortest: Vec<i64>,
    taken: Vec<u32>,
    best: i64,
    best_taken: Vec<u32>,
    nodes: u64,
    limit: u64,
}

#[expect(clippy::cast_precision_loss, reason = "rounded up by far more than a conversion loses")]
fn density(value: i64, size: i64) -> f64 {
    value as f64 / size as f64 * (1.0 + 1e-12)
}

#[expect(clippy::cast_precision_loss, reason = "rounded up by far more than a conversion loses")]
fn reach(value: i64, room: i64, density: f64) -> f64 {
    (value as f64 + room as f64 * density) * (1.0 + 1e-12)
}

fn copies(n: i64) -> u32 {
    u32::try_from(n).expect("no more than are wanted")
}

fn index(item: usize) -> u32 {
    u32::try_from(item).expect("there are fewer lengths than 2^32")
}

impl Search {
    fn new(items: Items, least_worth: i64) -> Self {
        let mut order: Vec<Entry> = (0..items.sizes.len())
            .filter(|&i| items.values[i] >= least_worth && items.most[i] > 0)
            .map(|i| Entry {
                item: index(i),
                size: items.sizes[i],
                most: items.most[i],
                value: items.values[i],
                density: density(items.values[i], items.sizes[i]),
            })
            .collect();
        order.sort_by(|a, b| b.density.total_cmp(&a.density).then(b.size.cmp(&a.size)));
        let mut shortest: Vec<i64> = order.iter().map(|entry| entry.size).collect();
        for i in (1..shortest.len()).rev() {
            shortest[i - 1] = shortest[i - 1].min(shortest[i]);
        }
        let taken = vec![0; order.len()];
        Self { order, shortest, best_taken: taken.clone(), taken, best: 0, nodes: 0, limit: u64::MAX }
    }

    /// The dearest filling worth more than `enough`, within `limit` nodes. Where they run out: what was found, if
    /// `any` will do, else nothing.
    fn run(&mut self, room: i64, enough: i64, limit: u64, any: bool) -> Option<Fill> {
        self.best = enough.max(0);
        self.best_taken.fill(0);
        self.nodes = 0;
        self.limit = limit;
        self.go(0, room, 0);
        let whole = self.nodes <= self.limit;
        let found = self.best_taken.iter().any(|n| *n > 0);
        (whole || (any && found)).then(|| Fill {
            most_worth: whole.then_some(self.best),
            worth: if found { self.best } else { 0 },
            take: listed(&self.order, &self.best_taken),
        })
    }

    /// Nothing that fits the room is worth more, searched or not.
    #[expect(clippy::cast_possible_truncation, reason = "values are far below 2^62")]
    fn ceiling(&self, room: i64) -> i64 {
        self.order.first().map_or(0, |first| reach(0, room, first.density).ceil() as i64)
    }

    #[expect(clippy::cast_precision_loss, reason = "`reach` is rounded up by far more than this loses")]
    fn go(&mut self, from: usize, room: i64, value: i64) {
        if value > self.best {
            self.best = value;
            self.best_taken.copy_from_slice(&self.taken);
        }
        for k in from..self.order.len() {
            if self.shortest[k] > room || self.nodes > self.limit {
                return;
            }
            self.nodes += 1;
            let entry = &self.order[k];
            if reach(value, room, entry.density) < (self.best + 1) as f64 {
                return;
            }
            let (size, worth) = (entry.size, entry.value);
            let before = self.taken[k];
            for n in (1..=(room / size).min(i64::from(entry.most - before))).rev() {
                self.taken[k] = before + copies(n);
                self.go(k + 1, room - n * size, value + n * worth);
            }
            self.taken[k] = before;
        }
    }
}

fn listed(order: &[Entry], taken: &[u32]) -> Vec<(u32, u32)> {
    let mut take: Vec<(u32, u32)> =
        order.iter().zip(taken).filter(|(_, n)| **n > 0).map(|(entry, n)| (entry.item, *n)).collect();
    take.sort_unstable();
    take
}

/// Every filling of `room` that is worth at least `floor` and to which nothing can be added, or `None` when there
/// are more than `limit` of them or the search is too long.
pub(in crate::cutlist) fn every(
    items: Items,
    room: i64,
    floor: i64,
    limit: usize,
    work: &mut Work,
) -> Option<Vec<Vec<(u32, u32)>>> {
    let mut all = Every { search: Search::new(items, 0), floor, limit, found: Vec::new(), nodes: 200 * limit as u64 };
    let whole = all.go(0, room, 0);
    work.spend(all.search.nodes * NODE);
    whole.then_some(all.found)
}

struct Every {
    search: Search,
    floor: i64,
    limit: usize,
    found: Vec<Vec<(u32, u32)>>,
    nodes: u64,
}

impl Every {
    #[expect(clippy::cast_precision_loss, reason = "`reach` is rounded up by far more than this loses")]
    fn go(&mut self, from: usize, room: i64, value: i64) -> bool {
        // A filling of pieces that are worth nothing is one too: without it a plan that needs it would be ruled out.
        if value >= self.floor && self.search.taken.iter().any(|taken| *taken > 0) {
            let full = |(entry, taken): (&Entry, &u32)| entry.size > room || *taken >= entry.most;
            if self.search.order.iter().zip(&self.search.taken).all(full) {
                if self.found.len() >= self.limit {
                    return false;
                }
                self.found.push(listed(&self.search.order, &self.search.taken));
            }
        }
        for k in from..self.search.order.len() {
            if self.search.shortest[k] > room {
                break;
            }
            self.search.nodes += 1;
            if self.search.nodes > self.nodes {
                return false;
            }
            let entry = &self.search.order[k];
            if reach(value, room, entry.density) < self.floor as f64 {
                break;
            }
            let (size, worth) = (entry.size, entry.value);
            for n in (1..=(room / size).min(i64::from(entry.most))).rev() {
                self.search.taken[k] = copies(n);
                let whole = self.go(k + 1, room - n * size, value + n * worth);
                self.search.taken[k] = 0;
                if !whole {
                    return false;
                }
            }
        }
        true
    }
}

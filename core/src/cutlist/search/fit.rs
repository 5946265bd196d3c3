//! Can these pieces be cut out of these sticks? Found, never (proven), or not known within the effort.
//!
//! In turn: what earlier prices already rule out; a greedy plan; the linear programme, whose prices prove a
//! "never"; a dive (cut the sticks it is surest of, solve again for the rest); and, where few enough ways to cut
//! lie within what may be lost, a complete search over just those.

use super::knapsack::{Items, every};
use super::master::{Cut, Generate, Kind, Master, ONE, Pattern};
use super::work::Work;
use std::collections::BTreeSet;

/// The answer.
#[derive(Clone, Debug)]
pub(in crate::cutlist) enum Fit {
    /// A way for every stick that is cut.
    Found(Vec<Pattern>),
    /// Proven: there is no plan.
    Never,
    /// Effort ran out.
    Unknown,
}

/// At most so many ways to cut are searched completely.
const POOL: usize = 12_000;
/// The linear programme holds at most so many lengths and kinds of stick together: its square is kept in memory.
const WIDEST: usize = 1200;
/// From so many pieces on a greedy plan counts as work.
const MANY: u64 = 2000;
/// At most so many dives are tried.
const DIVES: u64 = 15;
/// What a stick that nobody has costs the linear programme, in sticks.
const MISSING: i64 = 1 << 10;
/// More than this much of a missing stick is a shortage, not the float's noise.
const SHORTAGE: f64 = 1e-5;

/// The ways that the linear programme may use.
#[derive(PartialEq, Eq)]
enum Over<'a> {
    /// These, and no others.
    Pool(&'a [Pattern]),
    /// Those known, and those that short searches find.
    Likely,
    /// All.
    All,
}

enum Relaxed {
    /// Proven too little.
    Never,
    /// The fractional plan: ways and how often; and the prices that leave least to spare.
    Plan(Vec<(Pattern, f64)>, Cut),
    /// A fractional plan that may not be the best, and no proof.
    Rough(Vec<(Pattern, f64)>),
    /// Neither could be shown.
    Unknown,
}

/// What is known of one set of pieces and kinds of stick, gathered from question to question.
pub(in crate::cutlist) struct Fitter<'a> {
    pub(in crate::cutlist) sizes: &'a [i64],
    /// The room of each kind of stick.
    pub(in crate::cutlist) rooms: &'a [i64],
    /// What using a stick of each kind should cost the linear programme, in parts of [`ONE`].
    pub(in crate::cutlist) guide: Vec<i64>,
    pub(in crate::cutlist) columns: BTreeSet<Pattern>,
    pub(in crate::cutlist) cuts: Vec<Cut>,
    /// The last fractional plan: where the next question like it starts from.
    pub(in crate::cutlist) hints: Vec<(Pattern, f64)>,
}

impl<'a> Fitter<'a> {
    pub(in crate::cutlist) fn new(sizes: &'a [i64], rooms: &'a [i64], guide: Vec<i64>) -> Self {
        // The first cut of all: pieces are worth what they measure.
        let cuts = vec![Cut { prices: sizes.to_vec(), most_worth: rooms.to_vec() }];
        Self { sizes, rooms, guide, columns: BTreeSet::new(), cuts, hints: Vec::new() }
    }

    /// Whether `demand` can be cut out of `counts` sticks of each kind.
    pub(in crate::cutlist) fn fit(&mut self, demand: &[u32], counts: &[u32], work: &mut Work) -> Fit {
        if self.cuts.iter().any(|cut| cut.slack(demand, counts) < 0) {
            return Fit::Never;
        }
        // A greedy plan of many pieces takes as long as a piece of search.
        let pieces: u64 = demand.iter().map(|n| u64::from(*n)).sum();
        work.spend(if pieces > MANY { pieces * 1000 } else { 0 });
        if let Some(plan) = greedy(self.sizes, self.rooms, demand, counts) {
            return Fit::Found(plan);
        }
        if self.is_too_wide() {
            return Fit::Unknown;
        }
        let old = work.narrow(work.left() / 2);
        let hints = std::mem::take(&mut self.hints);
        let relaxed = self.relax(demand, counts, &Over::All, &hints, work);
        work.widen(old);
        let (plan, cut) = match relaxed {
            Relaxed::Never => return Fit::Never,
            Relaxed::Unknown => return Fit::Unknown,
            Relaxed::Plan(plan, cut) => (plan, Some(cut)),
            Relaxed::Rough(plan) => (plan, None),
        };
        self.hints.clone_from(&plan);
        let mut dives = 0..DIVES;
        for dive in dives.by_ref().take(3) {
            if let Some(plan) = self.dive(demand, counts, &plan, dive, work) {
                return Fit::Found(plan);
            }
        }
        if let Some(pool) = cut.and_then(|cut| self.pool(demand, counts, &cut, work)) {
            for (order, steps) in Order::ALL {
                let old = work.narrow(steps.min(work.left() / 2));
                let fit = self.branch(demand, counts, &pool, order, &plan, work);
                work.widen(old);
                if !matches!(fit, Fit::Unknown) {
                    return fit;
                }
            }
        }
        for dive in dives {
            if let Some(plan) = self.dive(demand, counts, &plan, dive, work) {
                return Fit::Found(plan);
            }
        }
        Fit::Unknown
    }

    /// True for more lengths and kinds of stick than the linear programme is asked to hold.
    pub(in crate::cutlist) fn is_too_wide(&self) -> bool {
        self.sizes.len() + self.rooms.len() > WIDEST
    }

    fn kinds(&self, counts: &[u32]) -> (Vec<Kind>, usize) {
        let mut stocked = (0..counts.len()).filter(|&k| counts[k] > 0);
        let only = stocked.next().filter(|_| stocked.next().is_none());
        let mut kinds: Vec<Kind> = (0..counts.len())
            .map(|k| Kind { room: self.rooms[k], cost: self.guide[k], limit: Some(counts[k]) })
            .collect();
        if let Some(only) = only {
            // With one kind the fewest sticks are the question, and no row is needed to count them.
            kinds[only].limit = None;
            kinds[only].cost = ONE;
            return (kinds, only);
        }
        let room = self.rooms.iter().copied().max().unwrap_or(0);
        kinds.push(Kind { room, cost: MISSING * ONE, limit: None });
        let missing = kinds.len() - 1;
        (kinds, missing)
    }

    /// The linear programme of what is left, over the ways that `over` says, starting from `hints`.
    fn relax(
        &mut self,
        demand: &[u32],
        counts: &[u32],
        over: &Over,
        hints: &[(Pattern, f64)],
        work: &mut Work,
    ) -> Relaxed {
        let (kinds, starter) = self.kinds(counts);
        let with_missing = kinds.len() > counts.len();
        if !with_missing && (0..demand.len()).any(|i| demand[i] > 0 && self.sizes[i] > self.rooms[starter]) {
            return Relaxed::Never;
        }
        let usable = |pattern: &&Pattern| {
            counts[pattern.kind as usize] > 0 && pattern.take.iter().all(|(item, n)| demand[*item as usize] >= *n)
        };
        let known: Vec<Pattern> = match over {
            Over::Pool(pool) => pool.to_vec(),
            Over::Likely | Over::All => self.columns.iter().filter(usable).cloned().collect(),
        };
        work.spend(20 * known.len() as u64);
        let mut master = Master::new(self.sizes, demand, &kinds, starter, known);
        work.spend(master.rebuilding());
        master.start_from(hints, work);
        let mut tightest: Option<(i128, Cut)> = None;
        let mut watch = |cut: &Cut, _: f64| {
            let slack = cut.slack(demand, counts);
            if tightest.as_ref().is_none_or(|(least, _)| slack < *least) {
                tightest = Some((slack, cut.clone()));
            }
            slack < 0
        };
        let generate = match over {
            Over::Pool(_) => Generate::No,
            Over::Likely => Generate::Quick,
            Over::All => Generate::Sure,
        };
        let mut solved = master.solve(generate, work, &mut watch);
        let missing = |master: &Master| -> f64 {
            let used = master.used();
            used.iter().filter(|(p, _)| p.kind as usize >= counts.len()).map(|(_, level)| level).sum()
        };
        let mut short = with_missing && missing(&master) > SHORTAGE;
        if short && solved {
            // Count missing sticks alone: their price is then exact, and proves the shortage.
            let mut costs = vec![0; counts.len()];
            costs.push(ONE);
            master.recost(&costs);
            solved = master.solve(generate, work, &mut watch);
            short = missing(&master) > SHORTAGE;
        }
        // With one kind of stick a shortage is a plan of more sticks than there are.
        short |= !with_missing && master.cost() > f64::from(counts[starter]) + SHORTAGE;
        let used: Vec<(Pattern, f64)> =
            master.used().into_iter().filter(|(p, _)| (p.kind as usize) < counts.len()).collect();
        if generate != Generate::No {
            self.columns.extend(master.into_columns().into_iter().filter(|p| (p.kind as usize) < counts.len()));
        }
        if let Some((slack, mut cut)) = tightest {
            cut.most_worth.truncate(counts.len());
            if slack < 0 {
                if generate != Generate::No {
                    self.cuts.push(cut);
                }
                return Relaxed::Never;
            }
            if solved && !short && *over != Over::Likely {
                return Relaxed::Plan(used, cut);
            }
        }
        if short { Relaxed::Unknown } else { Relaxed::Rough(used) }
    }

    /// Cuts the sticks the fractional plan is surest of, asks again for the rest, and so on down.
    ///
    /// The first dive cuts several sticks at a time, the second one by one; later ones stray from the plan, each in
    /// its own fixed way.
    fn dive(
        &mut self,
        demand: &[u32],
        counts: &[u32],
        first: &[(Pattern, f64)],
        dive: u64,
        work: &mut Work,
    ) -> Option<Vec<Pattern>> {
        let (mut demand, mut counts) = (demand.to_vec(), counts.to_vec());
        let mut done = Vec::new();
        let mut plan = first.to_vec();
        let mut stray = dive.saturating_sub(1);
        loop {
            let left: u32 = counts.iter().sum();
            let parts = if dive == 0 { 1 + left / 16 } else { 1 };
            if work.is_spent() || !round(&plan, parts, &mut stray, &mut demand, &mut counts, &mut done) {
                return None;
            }
            if let Some(rest) = greedy(self.sizes, self.rooms, &demand, &counts) {
                done.extend(rest);
                return Some(done);
            }
            plan = match self.relax(&demand, &counts, &Over::Likely, &plan, work) {
                Relaxed::Plan(plan, _) | Relaxed::Rough(plan) => plan,
                Relaxed::Never | Relaxed::Unknown => return None,
            };
        }
    }

    /// Every way to cut that a plan of these sticks may use: one that wastes no more than `cut` leaves to waste.
    fn pool(&self, demand: &[u32], counts: &[u32], cut: &Cut, work: &mut Work) -> Option<Vec<Pattern>> {
        let slack = i64::try_from(cut.slack(demand, counts)).ok()?;
        let mut pool = Vec::new();
        for (kind, &count) in counts.iter().enumerate() {
            if count == 0 {
                continue;
            }
            let floor = (cut.most_worth[kind] - slack).max(0);
            let items = Items { sizes: self.sizes, most: demand, values: &cut.prices };
            let ways = every(items, self.rooms[kind], floor, POOL.checked_sub(pool.len())?, work)?;
            let kind = u32::try_from(kind).expect("few kinds");
            pool.extend(ways.into_iter().map(|take| Pattern { kind, take }));
        }
        Some(pool)
    }

    /// Complete search over `pool`: some stick is cut the way that `order` picks from the fractional plan, or none is.
    fn branch(
        &mut self,
        demand: &[u32],
        counts: &[u32],
        pool: &[Pattern],
        order: Order,
        hints: &[(Pattern, f64)],
        work: &mut Work,
    ) -> Fit {
        if let Some(plan) = greedy(self.sizes, self.rooms, demand, counts) {
            return Fit::Found(plan);
        }
        let pool: BTreeSet<Pattern> = pool
            .iter()
            .filter(|p| counts[p.kind as usize] > 0)
            .map(|p| Pattern { kind: p.kind, take: trimmed(&p.take, demand) })
            .filter(|p| !p.take.is_empty())
            .collect();
        let pool: Vec<Pattern> = pool.into_iter().collect();
        work.spend(50 * pool.len() as u64);
        let plan = match self.relax(demand, counts, &Over::Pool(&pool), hints, work) {
            Relaxed::Never => return Fit::Never,
            Relaxed::Unknown | Relaxed::Rough(_) => return Fit::Unknown,
            Relaxed::Plan(plan, _) => plan,
        };
        let (mut left, mut spare, mut done) = (demand.to_vec(), counts.to_vec(), Vec::new());
        floors(&plan, &mut left, &mut spare, &mut done);
        if let Some(rest) = greedy(self.sizes, self.rooms, &left, &spare) {
            done.extend(rest);
            return Fit::Found(done);
        }
        let Some((way, level)) = order.pick(&plan) else { return Fit::Unknown };
        let times = whole(level).max(1);
        let without: Vec<Pattern> = pool.iter().filter(|p| **p != way).cloned().collect();
        let mut open = false;
        // At least `times` of it; else just one fewer, two fewer, ... none, and then no more of it.
        for n in (0..=times).rev() {
            let (mut demand, mut counts, mut done) = (demand.to_vec(), counts.to_vec(), Vec::new());
            if (0..n).any(|_| !cut_one(&way, &mut demand, &mut counts, &mut done)) {
                continue;
            }
            match self.branch(&demand, &counts, if n == times { &pool } else { &without }, order, &plan, work) {
                Fit::Found(rest) => {
                    done.extend(rest);
                    return Fit::Found(done);
                }
                Fit::Never => {}
                Fit::Unknown => open = true,
            }
            if work.is_spent() {
                return Fit::Unknown;
            }
        }
        if open { Fit::Unknown } else { Fit::Never }
    }
}

/// A level's whole part, the float's noise and the eased demand forgiven.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "levels are small and not negative")]
fn whole(level: f64) -> u32 {
    (level + 1e-4).max(0.0).floor() as u32
}

/// Which way of a fractional plan a search branches on. A search that goes astray near its root never comes back to it
/// within its effort; another order seldom goes astray in the same place.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Order {
    /// The one furthest above a whole number, the first of several: what the plan is sure of stays open to change.
    Undecided,
    /// The last of several.
    UndecidedLast,
    /// The one used most.
    Surest,
}

impl Order {
    /// Each with the steps it may spend.
    const ALL: [(Self, u64); 3] =
        [(Self::Undecided, 200_000_000), (Self::UndecidedLast, 200_000_000), (Self::Surest, u64::MAX)];

    fn pick(self, plan: &[(Pattern, f64)]) -> Option<(Pattern, f64)> {
        let merit = |level: f64| match self {
            Self::Undecided | Self::UndecidedLast => level + 1e-6 - (level + 1e-6).floor(),
            Self::Surest => level,
        };
        let mut best: Option<&(Pattern, f64)> = None;
        for entry in plan {
            let margin = if self == Self::UndecidedLast { -1e-6 } else { 1e-6 };
            if best.is_none_or(|(_, level)| merit(entry.1) > merit(*level) + margin) {
                best = Some(entry);
            }
        }
        best.cloned()
    }
}

fn trimmed(take: &[(u32, u32)], demand: &[u32]) -> Vec<(u32, u32)> {
    take.iter().map(|(item, n)| (*item, (*n).min(demand[*item as usize]))).filter(|(_, n)| *n > 0).collect()
}

/// Cuts one stick this way, leaving out what is no longer wanted. False when there is no such stick or it would
/// be cut for nothing.
fn cut_one(way: &Pattern, demand: &mut [u32], counts: &mut [u32], done: &mut Vec<Pattern>) -> bool {
    let take = trimmed(&way.take, demand);
    let count = &mut counts[way.kind as usize];
    if *count == 0 || take.is_empty() {
        return false;
    }
    *count -= 1;
    for (item, n) in &take {
        demand[*item as usize] -= n;
    }
    done.push(Pattern { kind: way.kind, take });
    true
}

fn floors(plan: &[(Pattern, f64)], demand: &mut [u32], counts: &mut [u32], done: &mut Vec<Pattern>) {
    for (way, level) in plan {
        for _ in 0..whole(*level) {
            if trimmed(&way.take, demand) == way.take {
                cut_one(way, demand, counts, done);
            }
        }
    }
}

/// Cuts every whole stick of a fractional plan, and the likeliest `most` of its parts. False when nothing was cut.
///
/// A `stray` of zero takes the largest parts; another weighs the parts by a fixed sequence of its own.
fn round(
    plan: &[(Pattern, f64)],
    most: u32,
    stray: &mut u64,
    demand: &mut [u32],
    counts: &mut [u32],
    done: &mut Vec<Pattern>,
) -> bool {
    let before = done.len();
    floors(plan, demand, counts, done);
    let mut parts: Vec<(f64, &Pattern)> = Vec::new();
    for (way, level) in plan {
        let part = level - f64::from(whole(*level));
        parts.push((part * (1.0 - 0.5 * strayed(stray)), way));
    }
    parts.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    let mut left = most;
    for (part, way) in parts {
        let likely = left == most || part > 0.5;
        if left > 0 && likely && trimmed(&way.take, demand) == way.take && cut_one(way, demand, counts, done) {
            left -= 1;
        }
    }
    done.len() > before
}

/// The next number of a fixed sequence, from 0 to 1; always 0 where the sequence starts at 0.
fn strayed(state: &mut u64) -> f64 {
    if *state == 0 {
        return 0.0;
    }
    // Knuth's multiplier (MMIX); the top 16 bits are the ones used.
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    f64::from(u16::try_from(*state >> 48).expect("16 bits")) / 65_536.0
}

/// Longest pieces first, each into the stick that it leaves least of. All sticks are at hand from the start, so
/// short ones and offcuts are filled before long ones.
pub(in crate::cutlist) fn greedy(sizes: &[i64], rooms: &[i64], demand: &[u32], counts: &[u32]) -> Option<Vec<Pattern>> {
    let mut order: Vec<usize> = (0..sizes.len()).filter(|&i| demand[i] > 0).collect();
    order.sort_by(|a, b| sizes[*b].cmp(&sizes[*a]).then(a.cmp(b)));
    let mut spare = counts.to_vec();
    let mut by_room: Vec<usize> = (0..rooms.len()).collect();
    by_room.sort_by_key(|&k| (rooms[k], k));
    // Sticks that are cut already, by the room they have left.
    let mut started: BTreeSet<(i64, usize)> = BTreeSet::new();
    let mut cut: Vec<(u32, Vec<(u32, u32)>)> = Vec::new();
    for item in order {
        for _ in 0..demand[item] {
            let size = sizes[item];
            let fitting = started.range((size, 0)..).next().copied();
            let fresh = by_room.iter().copied().find(|&k| spare[k] > 0 && rooms[k] >= size);
            let (room, stick) = match (fitting, fresh) {
                (Some((room, stick)), Some(kind)) if room <= rooms[kind] => (room, stick),
                (Some((room, stick)), None) => (room, stick),
                (_, Some(kind)) => {
                    spare[kind] -= 1;
                    cut.push((u32::try_from(kind).expect("few kinds"), Vec::new()));
                    (rooms[kind], cut.len() - 1)
                }
                (None, None) => return None,
            };
            started.remove(&(room, stick));
            started.insert((room - size, stick));
            let item = u32::try_from(item).expect("few items");
            match cut[stick].1.last_mut() {
                Some((last, n)) if *last == item => *n += 1,
                _ => cut[stick].1.push((item, 1)),
            }
        }
    }
    Some(
        cut.into_iter()
            .map(|(kind, mut take)| {
                take.sort_unstable();
                Pattern { kind, take }
            })
            .collect(),
    )
}

//! The linear programme over ways to cut a stick, solved by the simplex method with new ways priced in by a
//! knapsack (column generation).
//!
//! The simplex runs in floats, and only with sums, products, quotients and comparisons, which IEEE 754 fixes to
//! the last bit on every machine; there is no fused step, no thread and no clock. Its prices are then rounded
//! down to whole numbers and the knapsack answers for those exactly, so a bound drawn from them holds whatever
//! the floats did.

use super::knapsack::{Fill, Items, dear, dearest, is_short, spread};
use super::work::Work;
use std::collections::BTreeMap;

/// One stick's worth, in the whole numbers that prices are kept in.
pub(in crate::cutlist) const ONE: i64 = 1 << 36;

/// The sticks of one kind, as the programme sees them.
#[derive(Clone, Copy, Debug)]
pub(in crate::cutlist) struct Kind {
    /// Its room in steps.
    pub(in crate::cutlist) room: i64,
    /// What using one costs, in parts of [`ONE`].
    pub(in crate::cutlist) cost: i64,
    /// How many there are; `None` where there is no end of them.
    pub(in crate::cutlist) limit: Option<u32>,
}

/// A way to cut one stick.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(in crate::cutlist) struct Pattern {
    /// The kind of stick.
    pub(in crate::cutlist) kind: u32,
    /// Item and how many of it, items ascending.
    pub(in crate::cutlist) take: Vec<(u32, u32)>,
}

/// How far new ways are looked for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::cutlist) enum Generate {
    /// Not at all.
    No,
    /// While short searches find some.
    Quick,
    /// Until it is certain that there are none.
    Sure,
}

/// What prices say of each kind of stick: no filling of kind `k` is worth more than `most_worth[k]`.
#[derive(Clone, Debug)]
pub(in crate::cutlist) struct Cut {
    pub(in crate::cutlist) prices: Vec<i64>,
    pub(in crate::cutlist) most_worth: Vec<i64>,
}

impl Cut {
    /// What all pieces are worth.
    pub(in crate::cutlist) fn worth(&self, demand: &[u32]) -> i128 {
        self.prices.iter().zip(demand).map(|(price, n)| i128::from(*price) * i128::from(*n)).sum()
    }

    /// What is left of the worth that `counts` sticks can hold at most: below zero, they cannot hold all.
    pub(in crate::cutlist) fn slack(&self, demand: &[u32], counts: &[u32]) -> i128 {
        let held: i128 = self.most_worth.iter().zip(counts).map(|(w, n)| i128::from(*w) * i128::from(*n)).sum();
        held - self.worth(demand)
    }

    /// A cost that no plan is below, rounded up to whole parts of [`ONE`]: by scaling the prices down until no
    /// filling of an endless kind is worth more than its stick, and crediting the limited kinds.
    pub(in crate::cutlist) fn least_cost(&self, demand: &[u32], kinds: &[Kind]) -> i128 {
        let (mut num, mut den) = (1_i128, 1_i128);
        for (kind, worth) in kinds.iter().zip(&self.most_worth) {
            let (cost, worth) = (i128::from(kind.cost), i128::from(*worth));
            if kind.limit.is_none() && cost * den < worth * num {
                (num, den) = (cost, worth);
            }
        }
        let mut least = (self.worth(demand) * num).div_euclid(den);
        for (kind, worth) in kinds.iter().zip(&self.most_worth) {
            if let Some(limit) = kind.limit {
                let over = -((-i128::from(*worth) * num).div_euclid(den)) - i128::from(kind.cost);
                least -= over.max(0) * i128::from(limit);
            }
        }
        least
    }
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Basic {
    Column(usize),
    /// More than enough of the item of this row.
    Surplus(usize),
    /// Sticks of the kind of this row that stay whole.
    Spare(usize),
}

/// How far a reduced cost must be below zero before its column enters, in sticks.
const ENTERS: f64 = 1e-9;
/// The same for a new filling, in parts of [`ONE`].
const WORTH_ADDING: i64 = ONE >> 28;
/// Pivots between two rebuildings of the inverse.
const REBUILD: u32 = 250;

/// The programme over one residual: `demand` pieces left to cut out of `kinds`.
pub(in crate::cutlist) struct Master<'a> {
    sizes: &'a [i64],
    demand: &'a [u32],
    kinds: &'a [Kind],
    /// The item of each row.
    items: Vec<usize>,
    row_of_item: Vec<usize>,
    row_of_kind: Vec<usize>,
    height: usize,
    columns: Vec<Pattern>,
    known: BTreeMap<Pattern, usize>,
    entries: Vec<Vec<(usize, f64)>>,
    costs: Vec<f64>,
    kind_costs: Vec<i64>,
    basis: Vec<Basic>,
    inverse: Vec<f64>,
    level: Vec<f64>,
    price: Vec<f64>,
    since_rebuild: u32,
}

const NO_ROW: usize = usize::MAX;

#[expect(clippy::cast_precision_loss, reason = "costs are below 2^53")]
fn in_sticks(cost: i64) -> f64 {
    cost as f64 / ONE as f64
}

impl<'a> Master<'a> {
    /// `starter` is an endless kind that takes any piece; `columns` are ways already known.
    pub(in crate::cutlist) fn new(
        sizes: &'a [i64],
        demand: &'a [u32],
        kinds: &'a [Kind],
        starter: usize,
        columns: impl IntoIterator<Item = Pattern>,
    ) -> Self {
        let items: Vec<usize> = (0..sizes.len()).filter(|&i| demand[i] > 0).collect();
        let mut row_of_item = vec![NO_ROW; sizes.len()];
        for (row, &item) in items.iter().enumerate() {
            row_of_item[item] = row;
        }
        let mut height = items.len();
        let mut row_of_kind = vec![NO_ROW; kinds.len()];
        for (kind, row) in kinds.iter().zip(&mut row_of_kind) {
            if kind.limit.is_some_and(|limit| limit > 0) {
                *row = height;
                height += 1;
            }
        }
        let mut master = Self {
            sizes,
            demand,
            kinds,
            row_of_item,
            row_of_kind,
            height,
            columns: Vec::new(),
            known: BTreeMap::new(),
            entries: Vec::new(),
            costs: Vec::new(),
            kind_costs: kinds.iter().map(|kind| kind.cost).collect(),
            basis: Vec::new(),
            inverse: Vec::new(),
            level: Vec::new(),
            price: Vec::new(),
            since_rebuild: 0,
            items,
        };
        let room = kinds[starter].room;
        for row in 0..master.items.len() {
            let item = master.items[row];
            let copies = u32::try_from(room / sizes[item]).unwrap_or(u32::MAX).min(demand[item]).max(1);
            let kind = u32::try_from(starter).expect("few kinds");
            let item = u32::try_from(item).expect("few items");
            master.add(Pattern { kind, take: vec![(item, copies)] });
            master.basis.push(Basic::Column(row));
        }
        for row in master.items.len()..height {
            master.basis.push(Basic::Spare(row));
        }
        for pattern in columns {
            master.add(pattern);
        }
        master.rebuild();
        master
    }

    fn add(&mut self, pattern: Pattern) -> bool {
        if self.known.contains_key(&pattern) {
            return false;
        }
        self.known.insert(pattern.clone(), self.columns.len());
        let mut entries: Vec<(usize, f64)> = pattern
            .take
            .iter()
            .map(|(item, copies)| (self.row_of_item[*item as usize], f64::from(*copies)))
            .filter(|(row, _)| *row != NO_ROW)
            .collect();
        let kind_row = self.row_of_kind[pattern.kind as usize];
        if kind_row != NO_ROW {
            entries.push((kind_row, 1.0));
        }
        self.costs.push(in_sticks(self.kind_costs[pattern.kind as usize]));
        self.entries.push(entries);
        self.columns.push(pattern);
        true
    }

    /// Other costs for the same ways, from the plan the programme stands at.
    pub(in crate::cutlist) fn recost(&mut self, costs: &[i64]) {
        self.kind_costs = costs.to_vec();
        for (cost, pattern) in self.costs.iter_mut().zip(&self.columns) {
            *cost = in_sticks(costs[pattern.kind as usize]);
        }
        self.reprice();
    }

    /// What is asked of each row. Demands are eased by a millionth, a little differently in each row, so that
    /// the simplex does not stand still at its many ties; bounds are worked out from the true demand.
    fn asked(&self, row: usize) -> f64 {
        if let Some(&item) = self.items.get(row) {
            let ease = f64::from(u32::try_from(row * 7919 % 1009).expect("below 1009"));
            f64::from(self.demand[item]) - 1e-6 * (0.5 + ease / 1009.0)
        } else {
            let kind = self.row_of_kind.iter().position(|r| *r == row).expect("a row is an item's or a kind's");
            f64::from(self.kinds[kind].limit.unwrap_or(0))
        }
    }

    fn entries_of(&self, basic: Basic) -> Vec<(usize, f64)> {
        match basic {
            Basic::Column(j) => self.entries[j].clone(),
            Basic::Surplus(row) => vec![(row, -1.0)],
            Basic::Spare(row) => vec![(row, 1.0)],
        }
    }

    fn cost_of(&self, basic: Basic) -> f64 {
        if let Basic::Column(j) = basic { self.costs[j] } else { 0.0 }
    }

    /// Inverts the basis anew (Gauss-Jordan, the largest pivot of each column). False when it is singular.
    fn rebuild(&mut self) -> bool {
        let m = self.height;
        let mut a = vec![0.0; m * m];
        for (place, basic) in self.basis.iter().enumerate() {
            for (row, value) in self.entries_of(*basic) {
                a[row * m + place] = value;
            }
        }
        let mut inverse = vec![0.0; m * m];
        for i in 0..m {
            inverse[i * m + i] = 1.0;
        }
        for place in 0..m {
            let mut pivot_row = place;
            for row in place + 1..m {
                if a[row * m + place].abs() > a[pivot_row * m + place].abs() {
                    pivot_row = row;
                }
            }
            if a[pivot_row * m + place].abs() < 1e-11 {
                return false;
            }
            if pivot_row != place {
                for k in 0..m {
                    a.swap(place * m + k, pivot_row * m + k);
                    inverse.swap(place * m + k, pivot_row * m + k);
                }
            }
            let scale = 1.0 / a[place * m + place];
            let mut pivot_a = a[place * m..(place + 1) * m].to_vec();
            let mut pivot_i = inverse[place * m..(place + 1) * m].to_vec();
            pivot_a.iter_mut().chain(&mut pivot_i).for_each(|v| *v *= scale);
            a[place * m..(place + 1) * m].copy_from_slice(&pivot_a);
            inverse[place * m..(place + 1) * m].copy_from_slice(&pivot_i);
            for row in 0..m {
                let factor = a[row * m + place];
                if row != place && factor != 0.0 {
                    subtract(&mut a[row * m..(row + 1) * m], &pivot_a, factor);
                    subtract(&mut inverse[row * m..(row + 1) * m], &pivot_i, factor);
                }
            }
        }
        self.inverse = inverse;
        self.level = (0..m)
            .map(|place| {
                let row = &self.inverse[place * m..(place + 1) * m];
                row.iter().enumerate().map(|(r, v)| v * self.asked(r)).sum::<f64>()
            })
            .collect();
        self.reprice();
        self.since_rebuild = 0;
        true
    }

    /// Steps that building the inverse anew takes.
    pub(in crate::cutlist) const fn rebuilding(&self) -> u64 {
        let size = self.height as u64;
        size * size * size / 8
    }

    fn reprice(&mut self) {
        let m = self.height;
        self.price = vec![0.0; m];
        for place in 0..m {
            let cost = self.cost_of(self.basis[place]);
            if cost != 0.0 {
                subtract(&mut self.price, &self.inverse[place * m..(place + 1) * m], -cost);
            }
        }
    }

    /// The column that promises most, by the prices as they stand.
    fn entering(&self) -> Option<(Basic, f64)> {
        let mut best: Option<(Basic, f64)> = None;
        let mut offer = |basic: Basic, reduced: f64| {
            if reduced < best.map_or(-ENTERS, |(_, least)| least) {
                best = Some((basic, reduced));
            }
        };
        for (j, (entries, cost)) in self.entries.iter().zip(&self.costs).enumerate() {
            let worth: f64 = entries.iter().map(|(row, value)| self.price[*row] * value).sum();
            offer(Basic::Column(j), cost - worth);
        }
        for row in 0..self.items.len() {
            offer(Basic::Surplus(row), self.price[row]);
        }
        for row in self.items.len()..self.height {
            offer(Basic::Spare(row), -self.price[row]);
        }
        best
    }

    /// One step of the simplex. False when nothing stands in the way of `basic` (which a bounded programme never
    /// does) or the step is too small to trust.
    fn pivot(&mut self, basic: Basic, reduced: f64) -> bool {
        let m = self.height;
        let entries = self.entries_of(basic);
        let mut alpha = vec![0.0; m];
        for (place, value) in alpha.iter_mut().enumerate() {
            let row = &self.inverse[place * m..(place + 1) * m];
            *value = entries.iter().map(|(r, v)| row[*r] * v).sum();
        }
        let mut leaving: Option<(usize, f64)> = None;
        for place in 0..m {
            if alpha[place] > 1e-9 {
                let ratio = self.level[place].max(0.0) / alpha[place];
                let better = match leaving {
                    None => true,
                    Some((old, least)) => {
                        ratio < least - 1e-12 || (ratio <= least + 1e-12 && alpha[place] > alpha[old])
                    }
                };
                if better {
                    leaving = Some((place, ratio));
                }
            }
        }
        let Some((out, step)) = leaving else { return false };
        let scale = 1.0 / alpha[out];
        let mut pivot_row = self.inverse[out * m..(out + 1) * m].to_vec();
        for value in &mut pivot_row {
            *value *= scale;
        }
        for (place, factor) in alpha.iter().copied().enumerate() {
            if place != out && factor != 0.0 {
                subtract(&mut self.inverse[place * m..(place + 1) * m], &pivot_row, factor);
                self.level[place] -= factor * step;
            }
        }
        self.inverse[out * m..(out + 1) * m].copy_from_slice(&pivot_row);
        self.level[out] = step;
        self.basis[out] = basic;
        subtract(&mut self.price, &pivot_row, -reduced);
        self.since_rebuild += 1;
        if self.since_rebuild >= REBUILD { self.rebuild() } else { true }
    }

    /// Runs the simplex over the known columns. False when effort ran out or the arithmetic gave way.
    fn settle(&mut self, work: &mut Work) -> bool {
        let mut pivots = 0;
        let most = 60 * self.height + 2000;
        loop {
            let Some((basic, reduced)) = self.entering() else { return true };
            let size = self.height as u64;
            // A large inverse is rebuilt in more steps than all its pivots between two rebuildings.
            let steps = size * size * (1 + size / 125) + 4 * self.columns.len() as u64;
            if pivots > most || !work.spend(steps) || !self.pivot(basic, reduced) {
                return false;
            }
            pivots += 1;
        }
    }

    /// The prices as whole numbers, never above what the floats say and never below zero.
    #[expect(clippy::cast_possible_truncation, reason = "a cast of a float saturates, and prices are far below 2^63")]
    fn whole_prices(&self) -> Vec<i64> {
        let mut prices = vec![0; self.sizes.len()];
        for (row, &item) in self.items.iter().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "ONE is a power of two")]
            let price = (self.price[row].max(0.0) * ONE as f64).floor();
            prices[item] = price as i64;
        }
        prices
    }

    /// What a filling of `kind` must be worth to be of use, in parts of [`ONE`].
    #[expect(clippy::cast_possible_truncation, reason = "a cast of a float saturates, and prices are far below 2^63")]
    fn threshold(&self, kind: usize) -> i64 {
        let row = self.row_of_kind[kind];
        let credit = if row == NO_ROW { 0.0 } else { self.price[row].min(0.0) };
        #[expect(clippy::cast_precision_loss, reason = "ONE is a power of two")]
        let credit = (credit * ONE as f64).round() as i64;
        self.kind_costs[kind] - credit
    }

    /// Brings ways that served a like question well into the basis first: most of the way in few steps.
    pub(in crate::cutlist) fn start_from(&mut self, hints: &[(Pattern, f64)], work: &mut Work) {
        for (pattern, _) in hints {
            let Some(&column) = self.known.get(pattern) else { continue };
            let worth: f64 = self.entries[column].iter().map(|(row, value)| self.price[*row] * value).sum();
            let reduced = self.costs[column] - worth;
            let size = self.height as u64;
            if reduced < -ENTERS && (!work.spend(size * size) || !self.pivot(Basic::Column(column), reduced)) {
                return;
            }
        }
    }

    /// Solves over the known ways, or over all there are. Calls `enough` with each new cut, and stops when it says
    /// so. False when effort ran out.
    pub(in crate::cutlist) fn solve(
        &mut self,
        generate: Generate,
        work: &mut Work,
        mut enough: impl FnMut(&Cut, f64) -> bool,
    ) -> bool {
        let mut since_sure = 0;
        loop {
            let settled = self.settle(work);
            let prices = self.whole_prices();
            if generate == Generate::No {
                let most_worth = self.dearest_known(&prices);
                enough(&Cut { prices, most_worth }, self.cost());
                return settled;
            }
            if !settled || work.is_spent() {
                return false;
            }
            let items = Items { sizes: self.sizes, most: self.demand, values: &prices };
            // Also for kinds that have run out: the cut then tells of other mixes of sticks too.
            let rooms: Vec<i64> = self.kinds.iter().map(|k| k.room).collect();
            let short = is_short(items, rooms.iter().copied().max().unwrap_or(0));
            since_sure += 1;
            if !short {
                let gain = self.add_dear(&prices, work);
                let found = gain.is_some() || self.add_spread(&prices, work);
                if !found && generate == Generate::Quick {
                    return true;
                }
                // Where the gain left is so small that a bound may now tell, be sure of it once in a while.
                let telling = gain.is_some_and(|gain| gain * self.cost() < 0.5 * self.cost().fract());
                if found && !(telling && since_sure > 10 && generate == Generate::Sure) {
                    continue;
                }
                since_sure = 0;
            }
            let enough_worth: Vec<i64> = (0..rooms.len()).map(|kind| self.threshold(kind) + WORTH_ADDING).collect();
            let fills = dearest(items, &rooms, &enough_worth, work);
            let gain = |kind: usize| fills[kind].worth - enough_worth[kind];
            let mut best: Option<usize> = None;
            for (kind, fill) in fills.iter().enumerate() {
                if self.offer(kind, fill, enough_worth[kind]) && best.is_none_or(|b| gain(kind) > gain(b)) {
                    best = Some(kind);
                }
            }
            let most_worth: Option<Vec<i64>> = fills.iter().map(|fill| fill.most_worth).collect();
            if most_worth.is_some_and(|most_worth| enough(&Cut { prices: prices.clone(), most_worth }, self.cost())) {
                return best.is_none();
            }
            match best {
                None => return true,
                Some(kind) if short => self.add_beside(kind, &fills[kind].take, &prices, work),
                Some(_) => {}
            }
        }
    }

    /// Adds a filling of a kind that is still to be had, if it is worth more than `enough` and new.
    fn offer(&mut self, kind: usize, fill: &Fill, enough: i64) -> bool {
        fill.worth > enough
            && !fill.take.is_empty()
            && self.kinds[kind].limit != Some(0)
            && self.add(Pattern { kind: u32::try_from(kind).expect("few kinds"), take: fill.take.clone() })
    }

    /// Adds what short searches find: for each kind the best fillings that have no piece in common.
    fn add_spread(&mut self, prices: &[i64], work: &mut Work) -> bool {
        let mut added = false;
        for kind in 0..self.kinds.len() {
            if self.kinds[kind].limit == Some(0) {
                continue;
            }
            let enough = self.threshold(kind) + WORTH_ADDING;
            let items = Items { sizes: self.sizes, most: self.demand, values: prices };
            let mut left = self.demand.to_vec();
            for fill in spread(items, self.kinds[kind].room, enough, work) {
                if fill.take.iter().all(|(item, n)| left[*item as usize] >= *n) && self.offer(kind, &fill, enough) {
                    added = true;
                    for (item, n) in &fill.take {
                        left[*item as usize] -= n;
                    }
                }
            }
        }
        added
    }

    /// Adds what a short search finds for each kind, each filling out of the pieces that the last ones left. The
    /// largest gain, in sticks, where any was found.
    #[expect(clippy::cast_precision_loss, reason = "a gain is below 2^53")]
    fn add_dear(&mut self, prices: &[i64], work: &mut Work) -> Option<f64> {
        let mut largest: Option<i64> = None;
        for kind in 0..self.kinds.len() {
            if self.kinds[kind].limit == Some(0) {
                continue;
            }
            let enough = self.threshold(kind) + WORTH_ADDING;
            let mut left = self.demand.to_vec();
            loop {
                let items = Items { sizes: self.sizes, most: &left, values: prices };
                let Some(fill) = dear(items, self.kinds[kind].room, enough, work) else { break };
                if self.offer(kind, &fill, enough) {
                    largest = largest.max(Some(fill.worth - enough));
                }
                for (item, n) in &fill.take {
                    left[*item as usize] -= n;
                }
            }
        }
        largest.map(|gain| gain as f64 / ONE as f64)
    }

    /// Beside the best filling, good ones of the pieces it does not use: most of a plan at a time.
    fn add_beside(&mut self, kind: usize, first: &[(u32, u32)], prices: &[i64], work: &mut Work) {
        let mut most = self.demand.to_vec();
        let mut take = first.to_vec();
        let enough = self.threshold(kind) + WORTH_ADDING;
        for _ in 0..12 {
            for (item, copies) in &take {
                most[*item as usize] -= copies;
            }
            let items = Items { sizes: self.sizes, most: &most, values: prices };
            let Some(fill) = dearest(items, &[self.kinds[kind].room], &[enough], work).pop() else { return };
            if fill.take.is_empty() || fill.worth <= enough {
                return;
            }
            self.offer(kind, &fill, enough);
            take = fill.take;
        }
    }

    /// The most that a known way of each kind is worth at `prices`.
    fn dearest_known(&self, prices: &[i64]) -> Vec<i64> {
        let mut most = vec![0; self.kinds.len()];
        for pattern in &self.columns {
            let worth: i64 = pattern.take.iter().map(|(item, n)| prices[*item as usize] * i64::from(*n)).sum();
            let slot: &mut i64 = &mut most[pattern.kind as usize];
            *slot = worth.max(*slot);
        }
        most
    }

    /// The cost of the fractional plan.
    pub(in crate::cutlist) fn cost(&self) -> f64 {
        self.basis.iter().zip(&self.level).map(|(basic, level)| self.cost_of(*basic) * level).sum()
    }

    /// The ways that the fractional plan uses, and how often.
    pub(in crate::cutlist) fn used(&self) -> Vec<(Pattern, f64)> {
        let mut used: Vec<(usize, f64)> = self
            .basis
            .iter()
            .zip(&self.level)
            .filter_map(|(basic, level)| match basic {
                Basic::Column(j) if *level > 1e-7 => Some((*j, *level)),
                _ => None,
            })
            .collect();
        used.sort_by_key(|(j, _)| *j);
        used.into_iter().map(|(j, level)| (self.columns[j].clone(), level)).collect()
    }

    pub(in crate::cutlist) fn into_columns(self) -> Vec<Pattern> {
        self.columns
    }
}

/// `row -= factor * by`, in order.
fn subtract(row: &mut [f64], by: &[f64], factor: f64) {
    for (value, other) in row.iter_mut().zip(by) {
        *value -= factor * other;
    }
}

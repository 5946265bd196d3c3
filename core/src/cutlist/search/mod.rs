//! The search for the plan: whole steps in, ways to cut out. No unit, no name and no kerf is known here.
//!
//! A piece takes its length and one kerf; a stick gives its length and one kerf, because the last cut of a stick
//! needs no wood beyond it. So pieces fit a stick just when their sizes sum to no more than its room.
//!
//! Three questions in turn, each a series of "can these pieces be cut out of these sticks?" ([`fit`]):
//! fewest bought sticks (the longest serve best, so one mix a number); cheapest mix of that many; then the same
//! mix with one more piece, as long as can be: the offcut to keep.

mod fit;
mod knapsack;
mod master;
mod work;

use fit::{Fit, Fitter, greedy};
use master::{Cut, Generate, Kind, Master, ONE};
use std::collections::BTreeSet;

pub(super) use master::Pattern;
pub(super) use work::Work;

/// A kind of stick that can be bought.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Bought {
    pub(super) room: i64,
    pub(super) price: u64,
    pub(super) limit: Option<u32>,
}

/// The question. Kinds are numbered: what can be bought, longest first, then what is on hand.
#[derive(Clone, Debug)]
pub(super) struct Question {
    /// Distinct sizes, longest first.
    pub(super) sizes: Vec<i64>,
    pub(super) demand: Vec<u32>,
    /// Longest first.
    pub(super) bought: Vec<Bought>,
    /// Room and count.
    pub(super) held: Vec<(i64, u32)>,
    /// The cheapest mix comes before the fewest sticks.
    pub(super) cheapest_first: bool,
    /// An offcut is worth keeping from this room on (its kerf included).
    pub(super) useful: i64,
}

/// The answer.
#[derive(Clone, Debug)]
pub(super) struct Answer {
    pub(super) sticks: Vec<Pattern>,
    /// No plan buys fewer.
    pub(super) bought_at_least: u32,
    /// No plan that buys as many costs less.
    pub(super) price_at_least: u64,
    /// No plan of as many sticks at this price leaves an offcut of more room.
    pub(super) offcut_at_most: i64,
}

impl Answer {
    /// Nothing to cut.
    pub(super) const fn empty() -> Self {
        Self { sticks: Vec::new(), bought_at_least: 0, price_at_least: 0, offcut_at_most: 0 }
    }
}

/// Why there is no answer.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Short {
    /// Proven: what there is to buy and on hand does not hold all pieces.
    Proven,
    /// No plan was found, and none was ruled out.
    Unknown,
}

/// Steps that may be spent on one length of the offcut to keep.
const OFFCUT_STEPS: u64 = 60_000_000;
/// Pieces that the first greedy plans may handle in all.
const GREEDY_PIECES: u64 = 4_000_000;
/// More mixes of sticks than this are not looked through for the next cheapest.
const MIXES: u32 = 3_000_000;

impl Question {
    fn rooms(&self) -> Vec<i64> {
        self.bought.iter().map(|b| b.room).chain(self.held.iter().map(|h| h.0)).collect()
    }

    /// The longest `n` that can be bought, and all that is on hand.
    fn longest(&self, n: u32) -> Vec<u32> {
        let mut left = n;
        let mut counts = Vec::new();
        for kind in &self.bought {
            let now = kind.limit.map_or(left, |limit| limit.min(left));
            counts.push(now);
            left -= now;
        }
        counts.extend(self.held.iter().map(|h| h.1));
        counts
    }

    /// The most sticks there is any sense in buying.
    fn most(&self) -> u32 {
        let pieces: u32 = self.demand.iter().sum();
        let mut supply = 0_u32;
        for kind in &self.bought {
            match kind.limit {
                None => return pieces,
                Some(limit) => supply = supply.saturating_add(limit),
            }
        }
        supply.min(pieces)
    }

    fn price(&self, sticks: &[Pattern]) -> u64 {
        sticks.iter().filter_map(|p| self.bought.get(p.kind as usize)).map(|b| b.price).sum()
    }

    fn bought_of(&self, sticks: &[Pattern]) -> u32 {
        let count = sticks.iter().filter(|p| (p.kind as usize) < self.bought.len()).count();
        u32::try_from(count).expect("no more sticks than pieces")
    }

    /// What the linear programme is told a stick costs: its length, and nothing for what is on hand.
    fn guide(&self) -> Vec<i64> {
        let longest = self.bought.first().map_or(1, |b| b.room);
        let part = |room: i64| {
            let cost = i128::from(room) * i128::from(ONE) / i128::from(longest);
            i64::try_from(cost).expect("no longer than the longest")
        };
        self.bought.iter().map(|b| part(b.room)).chain(self.held.iter().map(|_| 0)).collect()
    }

    /// Searches. The same question and the same limit of work give the same answer on every machine.
    pub(super) fn answer(&self, work: &mut Work) -> Result<Answer, Short> {
        let rooms = self.rooms();
        let mut fitter = Fitter::new(&self.sizes, &rooms, self.guide());
        let (sticks, bought_at_least) = self.fewest(&mut fitter, work)?;
        let (sticks, price_at_least) = self.cheapest(sticks, &mut fitter, work);
        let (sticks, bought_at_least, price_at_least) = if self.cheapest_first {
            self.cheapest_of_any(sticks, bought_at_least, price_at_least, &mut fitter, work)
        } else {
            (sticks, bought_at_least, price_at_least)
        };
        let (sticks, offcut_at_most) = self.largest_offcut(sticks, &fitter, work);
        Ok(Answer { sticks, bought_at_least, price_at_least, offcut_at_most })
    }

    fn fewest(&self, fitter: &mut Fitter, work: &mut Work) -> Result<(Vec<Pattern>, u32), Short> {
        let most = self.most();
        let material = &fitter.cuts[0];
        let mut least =
            (0..=most).find(|n| material.slack(&self.demand, &self.longest(*n)) >= 0).ok_or(Short::Proven)?;
        // One number after the other, or, where that is too long, as many as there are sense in.
        let pieces: u64 = self.demand.iter().map(|n| u64::from(*n)).sum();
        let tried = u32::try_from(GREEDY_PIECES / pieces.max(1)).unwrap_or(u32::MAX).max(1);
        let numbers = (least..=most).take(tried as usize).chain(std::iter::once(most));
        let mut plan = numbers
            .filter(|n| *n <= most)
            .find_map(|n| greedy(&self.sizes, fitter.rooms, &self.demand, &self.longest(n)));
        if let Some(plan) = &plan {
            fitter.columns.extend(plan.iter().cloned());
            fitter.hints = plan.iter().map(|way| (way.clone(), 1.0)).collect();
        }
        let found = |plan: &Option<Vec<Pattern>>| plan.as_ref().map_or(u32::MAX, |p| self.bought_of(p));
        let mut likely = least;
        if found(&plan) > least && !fitter.is_too_wide() {
            let old = work.narrow(work.left() / 3);
            let (bound, fractional) = self.fewest_by_prices(found(&plan), fitter, work);
            work.widen(old);
            least = least.max(bound);
            likely = least.max(fractional);
        }
        // Each question gets half of the effort that is left, so that the next one gets its turn. First the
        // numbers that the fractional plan makes likely, then those below it that are not ruled out.
        let mut open = false;
        for n in likely..=most {
            if n >= found(&plan) {
                break;
            }
            if work.is_spent() {
                open = true;
                break;
            }
            match self.fit_shared(n, fitter, work) {
                Fit::Found(better) => plan = Some(better),
                Fit::Never => least = least.max(n + 1),
                Fit::Unknown => open = true,
            }
        }
        while least < found(&plan).min(likely) {
            match self.fit_shared(least, fitter, work) {
                Fit::Found(better) => plan = Some(better),
                Fit::Never => least += 1,
                Fit::Unknown => {
                    open = true;
                    break;
                }
            }
        }
        match plan {
            Some(plan) => Ok((plan, least)),
            None if open => Err(Short::Unknown),
            None => Err(Short::Proven),
        }
    }

    fn fit_shared(&self, n: u32, fitter: &mut Fitter, work: &mut Work) -> Fit {
        let old = work.narrow(work.left() / 2);
        let fit = fitter.fit(&self.demand, &self.longest(n), work);
        work.widen(old);
        fit
    }

    /// By the linear programme that counts bought sticks: a number that no plan is below, and the number that its
    /// fractional plan comes to, which is the same or more where effort ran out.
    fn fewest_by_prices(&self, found: u32, fitter: &mut Fitter, work: &mut Work) -> (u32, u32) {
        let mut kinds = Vec::new();
        let mut endless = None;
        for (k, bought) in self.bought.iter().enumerate() {
            // Kinds shorter than an endless one never make the sticks fewer.
            let limit = if endless.is_some() { Some(0) } else { bought.limit };
            kinds.push(Kind { room: bought.room, cost: ONE, limit });
            if limit.is_none() {
                endless = Some(k);
            }
        }
        kinds.extend(self.held.iter().map(|(room, count)| Kind { room: *room, cost: 0, limit: Some(*count) }));
        let longest = fitter.rooms.iter().copied().max().unwrap_or(0);
        let starter = endless.filter(|k| self.bought[*k].room >= self.sizes[0]).unwrap_or_else(|| {
            kinds.push(Kind { room: longest, cost: 1024 * ONE, limit: None });
            kinds.len() - 1
        });
        let mut master = Master::new(&self.sizes, &self.demand, &kinds, starter, fitter.columns.iter().cloned());
        master.start_from(&fitter.hints, work);
        let mut least = 0_i128;
        let mut best: Option<Cut> = None;
        master.solve(Generate::Sure, work, |cut, cost| {
            let bound = up(cut.least_cost(&self.demand, &kinds));
            if bound >= least || best.is_none() {
                least = bound;
                best = Some(cut.clone());
            }
            #[expect(clippy::cast_precision_loss, reason = "a number of sticks")]
            let met = least as f64 >= cost - 1e-6;
            met || least >= i128::from(found)
        });
        fitter.hints = master.used();
        let fractional = master.cost();
        let real = |p: &Pattern| (p.kind as usize) < fitter.rooms.len();
        fitter.columns.extend(master.into_columns().into_iter().filter(real));
        if let Some(mut cut) = best {
            cut.most_worth.truncate(fitter.rooms.len());
            fitter.cuts.push(cut);
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a number of sticks, at least 0")]
        let fractional = (fractional - 1e-6).ceil().max(0.0) as u32;
        (u32::try_from(least.max(0)).unwrap_or(u32::MAX).min(found), fractional.min(found))
    }

    /// The cheapest mix of as many sticks as `sticks` buys.
    fn cheapest(&self, sticks: Vec<Pattern>, fitter: &mut Fitter, work: &mut Work) -> (Vec<Pattern>, u64) {
        let mut sticks = self.shortened(sticks);
        let mut tried: BTreeSet<Vec<u32>> = BTreeSet::new();
        let mut open: Option<u64> = None;
        loop {
            let price = self.price(&sticks);
            let Some(next) = self.next_mix(self.bought_of(&sticks), price, fitter, &tried, work) else {
                // Too many mixes to look through: what is known is that none costs less than the cheapest kind, or than
                // all pieces at the best price for what they are worth.
                let least = self.bought.iter().map(|b| b.price).min().unwrap_or(0) * u64::from(self.bought_of(&sticks));
                return (sticks, least.max(self.least_cost(fitter)).min(price));
            };
            let Some((mix, cost)) = next else { return (sticks, open.unwrap_or(price)) };
            match fitter.fit(&self.demand, &mix, work) {
                Fit::Found(better) => return (better, open.unwrap_or(cost)),
                Fit::Never => {}
                Fit::Unknown => open = open.or(Some(cost)),
            }
            tried.insert(mix);
            if work.is_spent() {
                return (sticks, open.unwrap_or(cost));
            }
            sticks = self.shortened(sticks);
        }
    }

    /// What any mix costs at least: all pieces, at the best price for what each cut says that they are worth.
    fn least_cost(&self, fitter: &Fitter) -> u64 {
        let by_cut = |cut: &Cut| -> i128 {
            let held: i128 = (self.bought.len()..cut.most_worth.len())
                .map(|k| i128::from(cut.most_worth[k]) * i128::from(self.held[k - self.bought.len()].1))
                .sum();
            let need = (cut.worth(&self.demand) - held).max(0);
            let kinds = self.bought.iter().zip(&cut.most_worth).filter(|(_, worth)| **worth > 0);
            let at = |(kind, worth): (&Bought, &i64)| {
                let worth = i128::from(*worth);
                (need * i128::from(kind.price) + worth - 1) / worth
            };
            kinds.map(at).min().unwrap_or(0)
        };
        let least = fitter.cuts.iter().map(by_cut).max().unwrap_or(0);
        u64::try_from(least).unwrap_or(u64::MAX)
    }

    /// The cheapest mix of any number of sticks, of those as cheap one of the fewest; how many such a mix has at least, and
    /// what any costs at least. `sticks` is the cheapest found of the fewest, which costs at least `known`.
    fn cheapest_of_any(
        &self,
        sticks: Vec<Pattern>,
        fewest: u32,
        known: u64,
        fitter: &mut Fitter,
        work: &mut Work,
    ) -> (Vec<Pattern>, u32, u64) {
        let cheapest = self.bought.iter().map(|b| b.price).min().unwrap_or(0);
        let done = self.bought_of(&sticks);
        let known = if known < self.price(&sticks) { Some(known) } else { None };
        let mut best = sticks;
        let mut price = self.price(&best);
        // One kind alone, greedily: a start that many mixes need not be looked through for.
        for kind in 0..self.bought.len() {
            let mut counts = vec![0; self.bought.len()];
            counts[kind] = self.bought[kind].limit.unwrap_or_else(|| self.most());
            counts.extend(self.held.iter().map(|h| h.1));
            if let Some(plan) = greedy(&self.sizes, fitter.rooms, &self.demand, &counts) {
                let plan = self.shortened(plan);
                if self.price(&plan) < price {
                    price = self.price(&plan);
                    best = plan;
                }
            }
        }
        // The least cost that was not ruled out.
        let mut open = known;
        let stays_open = |open: Option<u64>, cost: u64| Some(open.map_or(cost, |least| least.min(cost)));
        let mut sure = open.is_none();
        'numbers: for n in fewest..=self.most() {
            // Of as many sticks or more only a cheaper mix is of use, of fewer one that is as cheap.
            let below = |best: &[Pattern], price: u64| price + u64::from(n < self.bought_of(best));
            if cheapest * u64::from(n) >= below(&best, price) || self.least_cost(fitter) >= below(&best, price) {
                break;
            }
            if n == done {
                continue;
            }
            let mut tried: BTreeSet<Vec<u32>> = BTreeSet::new();
            loop {
                if work.is_spent() {
                    open = stays_open(open, cheapest * u64::from(n));
                    sure = false;
                    break 'numbers;
                }
                let Some(next) = self.next_mix(n, below(&best, price), fitter, &tried, work) else {
                    // Too many mixes of this number, and there are more of each further one.
                    open = stays_open(open, cheapest * u64::from(n));
                    sure = false;
                    break 'numbers;
                };
                let Some((mix, cost)) = next else { break };
                let old = work.narrow(work.left() / 4);
                let fit = fitter.fit(&self.demand, &mix, work);
                work.widen(old);
                match fit {
                    Fit::Found(better) => {
                        best = self.shortened(better);
                        price = self.price(&best);
                    }
                    Fit::Never => {}
                    Fit::Unknown => {
                        open = stays_open(open, cost);
                        sure = false;
                    }
                }
                tried.insert(mix);
            }
        }
        let bought = self.bought_of(&best);
        let open = open.map(|open| open.max(self.least_cost(fitter))).filter(|open| *open < price);
        let at_least = if sure { bought } else { fewest.min(bought) };
        (best, at_least, open.unwrap_or(price))
    }

    /// Each stick replaced by the cheapest kind, still to be had, that holds what is cut from it.
    fn shortened(&self, sticks: Vec<Pattern>) -> Vec<Pattern> {
        let mut used = vec![0_u32; self.bought.len()];
        for stick in &sticks {
            if let Some(n) = used.get_mut(stick.kind as usize) {
                *n += 1;
            }
        }
        let mut shortened = sticks;
        for stick in &mut shortened {
            let kind = stick.kind as usize;
            if kind >= self.bought.len() {
                continue;
            }
            let size: i64 = stick.take.iter().map(|(item, n)| self.sizes[*item as usize] * i64::from(*n)).sum();
            let to = (0..self.bought.len())
                .filter(|&k| self.bought[k].room >= size && self.bought[k].limit.is_none_or(|l| used[k] < l))
                .min_by_key(|&k| (self.bought[k].price, self.bought[k].room));
            if let Some(to) = to
                && self.bought[to].price < self.bought[kind].price
            {
                used[kind] -= 1;
                used[to] += 1;
                stick.kind = u32::try_from(to).expect("few kinds");
            }
        }
        shortened
    }

    /// The cheapest mix of `n` bought sticks below `price` that no cut rules out and nobody tried, with its cost;
    /// the outer `None` when there are too many to look through.
    #[expect(clippy::option_option, reason = "not to be found out is not the same as none")]
    fn next_mix(
        &self,
        n: u32,
        price: u64,
        fitter: &Fitter,
        tried: &BTreeSet<Vec<u32>>,
        work: &mut Work,
    ) -> Option<Option<(Vec<u32>, u64)>> {
        let mut mixes = Mixes {
            question: self,
            tried,
            held: self.held.iter().map(|h| h.1).collect(),
            needs: Vec::new(),
            best: None,
            below: price,
            left: MIXES,
            counts: Vec::new(),
        };
        for cut in &fitter.cuts {
            let held: i128 = (self.bought.len()..cut.most_worth.len())
                .map(|k| i128::from(cut.most_worth[k]) * i128::from(mixes.held[k - self.bought.len()]))
                .sum();
            mixes.needs.push((cut.worth(&self.demand) - held, &cut.most_worth));
        }
        let needs: Vec<i128> = mixes.needs.iter().map(|(need, _)| *need).collect();
        mixes.go(n, 0, &needs);
        work.spend(u64::from(MIXES - mixes.left) * 200);
        (mixes.left > 0).then_some(mixes.best)
    }

    /// The same mix of sticks with the longest offcut that can be found in it, and a room no offcut is above.
    ///
    /// An offcut of some room is there just when the pieces fit the same sticks with one of them shortened by it.
    fn largest_offcut(&self, sticks: Vec<Pattern>, fitter: &Fitter, work: &mut Work) -> (Vec<Pattern>, i64) {
        let mut counts = vec![0_u32; fitter.rooms.len()];
        for stick in &sticks {
            counts[stick.kind as usize] += 1;
        }
        let from = if self.bought_of(&sticks) > 0 { 0..self.bought.len() } else { self.bought.len()..counts.len() };
        // Where nothing is bought, any stick on hand may be the one that is left long.
        let any = self.bought_of(&sticks) == 0;
        let shorten: Vec<usize> =
            from.filter(|&k| counts[k] > 0 || (any && self.held[k - self.bought.len()].1 > 0)).collect();
        for (count, (_, held)) in counts[self.bought.len()..].iter_mut().zip(&self.held) {
            *count = *held;
        }
        let spare = fitter.cuts[0].slack(&self.demand, &counts);
        let shortest = self.sizes.last().copied().unwrap_or(0);
        let mut sticks = sticks;
        let mut at_most = self.largest(&sticks, &shorten);
        for kind in shorten.iter().copied() {
            let mut high = i64::try_from(spare).unwrap_or(i64::MAX).min(fitter.rooms[kind] - shortest);
            let mut low = self.largest(&sticks, &shorten).max(self.useful - 1);
            let mut sure = true;
            let mut offcut = high;
            while low < high && !work.is_spent() {
                let old = work.narrow(OFFCUT_STEPS);
                let fit = self.fit_beside(kind, offcut, &counts, fitter, work);
                work.widen(old);
                match fit {
                    Fit::Found(better) if self.largest(&better, &shorten) >= offcut => {
                        sticks = better;
                        low = self.largest(&sticks, &shorten);
                    }
                    Fit::Never => high = offcut - 1,
                    Fit::Found(_) | Fit::Unknown => {
                        // Not known, or the shortened stick is not cut at all and so leaves no offcut. What is
                        // above stays possible; go on looking below.
                        at_most = if sure { at_most.max(high) } else { at_most };
                        sure = false;
                        high = offcut - 1;
                    }
                }
                offcut = low + (high - low + 1) / 2;
            }
            at_most = at_most.max(high);
        }
        let others = self.offcut_of_others(&sticks);
        (sticks, at_most.max(others))
    }

    /// A room that no offcut of another mix of as many bought sticks for as much or less is above; zero where there is no
    /// other such mix.
    fn offcut_of_others(&self, sticks: &[Pattern]) -> i64 {
        let (bought, price) = (self.bought_of(sticks), self.price(sticks));
        let mut mine = vec![0_u32; self.bought.len()];
        for stick in sticks {
            if let Some(n) = mine.get_mut(stick.kind as usize) {
                *n += 1;
            }
        }
        let held: i64 = self.held.iter().map(|(room, count)| room * i64::from(*count)).sum();
        let pieces: i64 = self.sizes.iter().zip(&self.demand).map(|(size, n)| size * i64::from(*n)).sum();
        let shortest = self.sizes.last().copied().unwrap_or(0);
        let mut others =
            Others { question: self, mine: &mine, price, spare: held - pieces, left: MIXES, most: 0, shortest };
        others.go(0, bought, 0, 0, 0, true);
        if others.left == 0 {
            // Too many to look through: no offcut is longer than the longest stick less the shortest piece.
            return self.bought.iter().map(|b| b.room - shortest).max().unwrap_or(0).max(0);
        }
        others.most
    }

    /// Whether all fits with a stick of `kind` shortened by `offcut`.
    fn fit_beside(&self, kind: usize, offcut: i64, counts: &[u32], known: &Fitter, work: &mut Work) -> Fit {
        let mut rooms = known.rooms.to_vec();
        rooms.push(rooms[kind] - offcut);
        let mut counts = counts.to_vec();
        counts[kind] -= 1;
        counts.push(1);
        let mut guide = known.guide.clone();
        guide.push(0);
        let mut fitter = Fitter::new(&self.sizes, &rooms, guide);
        fitter.columns.clone_from(&known.columns);
        fitter.hints.clone_from(&known.hints);
        match fitter.fit(&self.demand, &counts, work) {
            Fit::Found(mut sticks) => {
                let short = u32::try_from(rooms.len() - 1).expect("few kinds");
                for stick in sticks.iter_mut().filter(|stick| stick.kind == short) {
                    stick.kind = u32::try_from(kind).expect("few kinds");
                }
                Fit::Found(sticks)
            }
            other => other,
        }
    }

    /// The most room left in a stick of `kinds`.
    fn largest(&self, sticks: &[Pattern], kinds: &[usize]) -> i64 {
        let rooms = self.rooms();
        let left = |p: &Pattern| {
            let size: i64 = p.take.iter().map(|(item, n)| self.sizes[*item as usize] * i64::from(*n)).sum();
            rooms[p.kind as usize] - size
        };
        sticks.iter().filter(|p| kinds.contains(&(p.kind as usize))).map(left).max().unwrap_or(0)
    }
}

/// Looks through all mixes of a number of bought sticks up to a price but one, for the most room an offcut can have.
struct Others<'a> {
    question: &'a Question,
    /// The mix that is left out.
    mine: &'a [u32],
    price: u64,
    /// Room on hand less all pieces.
    spare: i64,
    left: u32,
    most: i64,
    shortest: i64,
}

impl Others<'_> {
    /// `room` and `longest` are of the sticks taken so far; `same` while they are those of the mix that is left out.
    fn go(&mut self, at: usize, n: u32, cost: u64, room: i64, longest: i64, same: bool) {
        if self.left == 0 || cost > self.price {
            return;
        }
        self.left -= 1;
        let bought = &self.question.bought;
        if n == 0 {
            if same && self.mine[at..].iter().all(|count| *count == 0) {
                return;
            }
            // What is left in all, and what is left of the longest when the shortest piece is cut from it.
            self.most = self.most.max((room + self.spare).min(longest - self.shortest));
            return;
        }
        let Some(kind) = bought.get(at) else { return };
        for count in 0..=kind.limit.map_or(n, |limit| limit.min(n)) {
            let longest = if count > 0 { longest.max(kind.room) } else { longest };
            let cost = cost.saturating_add(kind.price * u64::from(count));
            self.go(
                at + 1,
                n - count,
                cost,
                room + kind.room * i64::from(count),
                longest,
                same && self.mine[at] == count,
            );
        }
    }
}

/// Looks through the mixes of bought sticks in depth-first order, with what the cuts still need at each step.
struct Mixes<'a> {
    question: &'a Question,
    tried: &'a BTreeSet<Vec<u32>>,
    held: Vec<u32>,
    needs: Vec<(i128, &'a Vec<i64>)>,
    best: Option<(Vec<u32>, u64)>,
    below: u64,
    left: u32,
    counts: Vec<u32>,
}

impl Mixes<'_> {
    fn go(&mut self, n: u32, cost: u64, needs: &[i128]) {
        let bought = &self.question.bought;
        let at = self.counts.len();
        if self.left == 0 {
            return;
        }
        self.left -= 1;
        let below = self.best.as_ref().map_or(self.below, |(_, best)| *best);
        let cheapest = bought[at..].iter().map(|b| b.price).min();
        if cost + cheapest.unwrap_or(0) * u64::from(n) >= below {
            return;
        }
        for (need, (_, worth)) in needs.iter().zip(&self.needs) {
            let most = worth[at..bought.len()].iter().copied().max().unwrap_or(0);
            if i128::from(most) * i128::from(n) < *need {
                return;
            }
        }
        if at == bought.len() {
            let mix: Vec<u32> = self.counts.iter().chain(&self.held).copied().collect();
            if n == 0 && !self.tried.contains(&mix) {
                self.best = Some((mix, cost));
            }
            return;
        }
        let last = at + 1 == bought.len();
        let most = bought[at].limit.map_or(n, |limit| limit.min(n));
        for count in if last { n..=most } else { 0..=most } {
            let rest: Vec<i128> = needs
                .iter()
                .zip(&self.needs)
                .map(|(need, (_, worth))| need - i128::from(worth[at]) * i128::from(count))
                .collect();
            self.counts.push(count);
            self.go(n - count, cost + bought[at].price * u64::from(count), &rest);
            self.counts.pop();
        }
    }
}

/// Parts of [`ONE`], rounded up to whole sticks.
fn up(parts: i128) -> i128 {
    -((-parts).div_euclid(i128::from(ONE)))
}

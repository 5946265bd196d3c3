//! Rows of a book as ranges: what a segment held, what was carried. A million facts are a few ranges.

/// Rows in an order, as ranges `first..=last` of which each rises.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Rows(Vec<(i64, i64)>);

impl Rows {
    /// Every row from 1 to `last`.
    pub(super) fn up_to(last: i64) -> Self {
        if last < 1 { Self::default() } else { Self(vec![(1, last)]) }
    }

    /// Adds a row at the end.
    pub(super) fn push(&mut self, row: i64) {
        match self.0.last_mut() {
            Some((_, last)) if *last + 1 == row => *last = row,
            _ => self.0.push((row, row)),
        }
    }

    /// Adds these at the end.
    pub(super) fn extend(&mut self, other: &Self) {
        for (first, last) in &other.0 {
            match self.0.last_mut() {
                Some((_, end)) if *end + 1 == *first => *end = *last,
                _ => self.0.push((*first, *last)),
            }
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many rows.
    pub(super) fn count(&self) -> u64 {
        self.0.iter().map(|(first, last)| last.abs_diff(*first) + 1).sum()
    }

    /// The rows from the `n`-th (from 0) on, as ranges, `limit` rows at most.
    pub(super) fn part(&self, n: u64, limit: u64) -> Self {
        let (mut skip, mut left, mut out) = (n, limit, Self::default());
        for (first, last) in &self.0 {
            let length = last.abs_diff(*first) + 1;
            if skip >= length {
                skip -= length;
                continue;
            }
            let take = (length - skip).min(left);
            if take == 0 {
                break;
            }
            let from = first.saturating_add_unsigned(skip);
            out.extend(&Self(vec![(from, from.saturating_add_unsigned(take - 1))]));
            skip = 0;
            left -= take;
        }
        out
    }

    /// The same as a set: rising, each once.
    pub(super) fn set(mut self) -> Self {
        self.0.sort_unstable();
        let mut out: Vec<(i64, i64)> = Vec::with_capacity(self.0.len());
        for (first, last) in self.0 {
            match out.last_mut() {
                Some((_, end)) if first <= end.saturating_add(1) => *end = last.max(*end),
                _ => out.push((first, last)),
            }
        }
        Self(out)
    }

    /// This set without another set.
    pub(super) fn without(&self, other: &Self) -> Self {
        let (mut out, mut at) = (Vec::new(), 0);
        for (first, last) in &self.0 {
            let mut from = *first;
            while other.0.get(at).is_some_and(|gone| gone.1 < from) {
                at += 1;
            }
            let mut here = at;
            while from <= *last {
                match other.0.get(here) {
                    Some((gone, end)) if gone <= last => {
                        if from < *gone {
                            out.push((from, gone - 1));
                        }
                        from = from.max(end + 1);
                        here += 1;
                    }
                    _ => {
                        out.push((from, *last));
                        break;
                    }
                }
            }
        }
        Self(out)
    }

    /// The ranges.
    pub(super) fn ranges(&self) -> &[(i64, i64)] {
        &self.0
    }

    /// As `1-40,42`.
    pub(super) fn text(&self) -> String {
        let one =
            |(first, last): &(i64, i64)| if first == last { first.to_string() } else { format!("{first}-{last}") };
        self.0.iter().map(one).collect::<Vec<_>>().join(",")
    }

    /// Reads what [`Rows::text`] wrote.
    pub(super) fn read(text: &str) -> Option<Self> {
        let mut rows = Self::default();
        for part in text.split(',').filter(|part| !part.is_empty()) {
            let (first, last) = part.split_once('-').unwrap_or((part, part));
            let (first, last) = (first.parse().ok()?, last.parse().ok()?);
            if first < 1 || last < first {
                return None;
            }
            rows.0.push((first, last));
        }
        Some(rows)
    }
}

#[cfg(test)]
mod tests {
    use super::Rows;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    fn of(rows: impl IntoIterator<Item = i64>) -> Rows {
        let mut out = Rows::default();
        rows.into_iter().for_each(|row| out.push(row));
        out
    }

    fn list(rows: &Rows) -> Vec<i64> {
        rows.ranges().iter().flat_map(|(first, last)| *first..=*last).collect()
    }

    proptest! {
        #[test]
        fn ranges_do_what_sets_and_lists_do(a in proptest::collection::vec(1_i64..60, 0..40), b in proptest::collection::vec(1_i64..60, 0..40), n in 0_u64..50, limit in 0_u64..50) {
            let (one, two) = (of(a.clone()), of(b.clone()));
            prop_assert_eq!(list(&one), a.clone());
            prop_assert_eq!(one.count(), a.len() as u64);
            prop_assert_eq!(Rows::read(&one.text()), Some(one.clone()));
            let part: Vec<i64> =
                a.iter().copied().skip(usize::try_from(n).unwrap()).take(usize::try_from(limit).unwrap()).collect();
            prop_assert_eq!(list(&one.part(n, limit)), part);
            let (left, right): (BTreeSet<i64>, BTreeSet<i64>) = (a.into_iter().collect(), b.into_iter().collect());
            prop_assert_eq!(list(&one.clone().set()), left.iter().copied().collect::<Vec<_>>());
            prop_assert_eq!(list(&one.set().without(&two.set())), left.difference(&right).copied().collect::<Vec<_>>());
        }
    }
}

//! The search's effort, counted in steps of its inner loops: the same on every machine, unlike a clock.

/// Steps taken so far, and how many may be taken.
#[derive(Clone, Copy, Debug)]
pub(in crate::cutlist) struct Work {
    used: u64,
    limit: u64,
}

impl Work {
    pub(in crate::cutlist) const fn new(limit: u64) -> Self {
        Self { used: 0, limit }
    }

    /// Counts `steps` and says whether any are left.
    pub(in crate::cutlist) const fn spend(&mut self, steps: u64) -> bool {
        self.used = self.used.saturating_add(steps);
        self.used < self.limit
    }

    /// True when nothing is left.
    pub(in crate::cutlist) const fn is_spent(&self) -> bool {
        self.used >= self.limit
    }

    pub(in crate::cutlist) const fn used(&self) -> u64 {
        self.used
    }

    pub(in crate::cutlist) const fn left(&self) -> u64 {
        self.limit.saturating_sub(self.used)
    }

    /// Runs on with at most `share` more steps (and never more than are left), then puts the old limit back.
    pub(in crate::cutlist) const fn narrow(&mut self, share: u64) -> u64 {
        let old = self.limit;
        let least = self.used.saturating_add(share);
        self.limit = if least < old { least } else { old };
        old
    }

    pub(in crate::cutlist) const fn widen(&mut self, old: u64) {
        self.limit = old;
    }
}

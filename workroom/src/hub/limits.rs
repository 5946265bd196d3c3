//! How often one may knock. A bucket of tokens for each key, and for each address that shows none.

use std::collections::HashMap;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Requests at once, and requests a second after that.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rate {
    /// How many may come at once.
    pub(super) burst: u32,
    /// How many a second after that.
    pub(super) each_second: u32,
}

/// A paired device: a day with many photos goes in parts of 256 kB.
pub(super) const PAIRED: Rate = Rate { burst: 400, each_second: 100 };
/// An address that shows no key that is good: enough to pair by, too few to guess by. A device polls once a second.
pub(super) const STRANGER: Rate = Rate { burst: 20, each_second: 5 };
/// So many buckets are kept; then those that are full again are dropped.
const MOST: usize = 4096;

/// All buckets.
#[derive(Debug, Default)]
pub(super) struct Limits {
    buckets: Mutex<HashMap<String, (f64, Instant)>>,
}

impl Limits {
    /// Takes one token of `who`; false when there is none.
    pub(super) fn take(&self, who: &str, rate: Rate, now: Instant) -> bool {
        let mut buckets = self.buckets.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if buckets.len() >= MOST {
            let full_again = Duration::from_secs(u64::from(rate.burst / rate.each_second.max(1)) + 1);
            buckets.retain(|_, (_, at)| now.duration_since(*at) < full_again);
        }
        let (tokens, at) = buckets.entry(who.to_owned()).or_insert((f64::from(rate.burst), now));
        let grown = now.duration_since(*at).as_secs_f64() * f64::from(rate.each_second);
        *tokens = (*tokens + grown).min(f64::from(rate.burst));
        *at = now;
        let ok = *tokens >= 1.0;
        if ok {
            *tokens -= 1.0;
        }
        ok
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bucket_empties_and_fills_again() {
        let limits = Limits::default();
        let rate = Rate { burst: 3, each_second: 1 };
        let start = Instant::now();
        let taken = (0..5).filter(|_| limits.take("a", rate, start)).count();
        assert_eq!(taken, 3);
        assert!(limits.take("b", rate, start), "another's bucket is its own");
        assert!(!limits.take("a", rate, start + Duration::from_millis(900)));
        assert!(limits.take("a", rate, start + Duration::from_millis(1900)));
    }
}

//! Time and chance, which the core does not have of its own.

use hangtrue_core::fact::Moment;
use sha2::{Digest, Sha256};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// Where moments come from.
#[derive(Debug)]
pub(crate) enum Clock {
    /// The device's clock and the system's random bytes.
    Device,
    /// Made up from a seed, for tests that compare languages: each moment a step after the one before.
    Seeded {
        /// The seed: other moments for another seed.
        seed: u64,
        /// Milliseconds since 1970 of the last moment.
        ms: u64,
        /// Milliseconds from one moment to the next.
        step: u64,
        /// How many moments were handed out.
        count: u64,
    },
}

/// The first moment of seed 0: a day in October 2025; each seed begins an hour after the one before.
const SEEDED_FROM_MS: u64 = 1_760_000_000_000;
const SEED_APART_MS: u64 = 3_600_000;

impl Clock {
    pub(crate) const fn seeded(seed: u64) -> Self {
        // A seed beyond any clock would overflow; such a test wants only another one.
        let ms = SEEDED_FROM_MS + (seed % 1_000_000) * SEED_APART_MS;
        Self::Seeded { seed, ms, step: 1000, count: 0 }
    }

    pub(crate) fn moment(&mut self) -> Moment {
        let mut random = [0; 10];
        match self {
            Self::Device => {
                getrandom::fill(&mut random).expect("a device that has no random bytes cannot name anything");
                // A clock before 1970 counts as 1970: stamps never go back whatever the clock says.
                let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or(Duration::ZERO);
                Moment { ms: u64::try_from(since.as_millis()).unwrap_or(u64::MAX), random }
            }
            Self::Seeded { seed, ms, step, count } => {
                *ms += *step;
                *count += 1;
                let hash = Sha256::new().chain_update(seed.to_be_bytes()).chain_update(count.to_be_bytes()).finalize();
                random.copy_from_slice(&hash[..10]);
                Moment { ms: *ms, random }
            }
        }
    }
}

//! What a kill test and the program that it kills agree on.

use hangtrue_core::fact::Moment;
use uuid::Uuid;

/// The house of a round.
pub fn job(round: u64) -> Uuid {
    Uuid::from_u128(0x0001_0000 | u128::from(round) << 32)
}

/// What is half typed before reading `i` of a round.
pub fn draft(round: u64, i: u64) -> String {
    format!("{round} {i}/16")
}

/// Moments that no other round hands in.
pub fn moments(round: u64) -> impl FnMut() -> Moment {
    let mut n = 0_u32;
    move || {
        n += 1;
        let mut random = [0; 10];
        random[2..6].copy_from_slice(&n.to_be_bytes());
        random[6..].copy_from_slice(&u32::try_from(round).expect("few rounds").to_be_bytes());
        Moment { ms: 1_700_000_000_000 + round * 10_000 + u64::from(n), random }
    }
}

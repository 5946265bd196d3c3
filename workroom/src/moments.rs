//! The clock and the chance that core is handed: this machine's.

use hangtrue_core::fact::Moment;
use std::time::{SystemTime, UNIX_EPOCH};

/// A moment of now.
///
/// # Panics
/// When the operating system has no random bytes to give: nothing could be written safely then.
pub fn now() -> Moment {
    let ms = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| u64::try_from(since.as_millis()).unwrap_or(u64::MAX));
    let mut random = [0; 10];
    getrandom::fill(&mut random).expect("the operating system gives random bytes");
    Moment { ms, random }
}

/// Thirty-two random bytes, for keys.
///
/// # Errors
/// When the operating system has none to give.
pub fn random() -> anyhow::Result<[u8; 32]> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes)?;
    Ok(bytes)
}

/// Today, as sheets write it.
pub fn today() -> String {
    chrono::Local::now().format("%Y-%m-%d").to_string()
}

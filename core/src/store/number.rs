//! The numbers of invoices: a sign of the desk and a count that neither repeats nor skips there, whatever is erased.
//!
//! Two desks cannot ask each other, so each counts for itself: the sign is made of the device's id. A book that was restored or
//! copied writes as another device, and counts anew under another sign.

use super::put;
use crate::fact::{Body, Fact};
use rusqlite::Transaction;
use uuid::Uuid;

/// The last count that was given, under `state`.
pub(super) const LAST: &str = "invoices";

/// The signs of the digits: no I, L, O or U, which are read as others.
const DIGITS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// The number after the last.
pub(super) fn after(device: Uuid, last: Option<&str>) -> String {
    format!("{}-{:04}", sign(device), count(device, last) + 1)
}

/// Four signs of a device's id, out of its last twenty bits, which are of chance.
fn sign(device: Uuid) -> String {
    let bits = device.as_u128();
    (0..4).rev().map(|nth| char::from(DIGITS[(bits >> (5 * nth) & 31) as usize])).collect()
}

/// What is kept is `SIGN-COUNT`; of another device it counts for nothing.
fn count(device: Uuid, last: Option<&str>) -> u64 {
    last.and_then(|last| last.strip_prefix(&format!("{}-", sign(device)))?.parse().ok()).unwrap_or(0)
}

/// Notes the number of an invoice among these facts. One that is not the next fails the transaction: another hand of this desk
/// was faster.
pub(super) fn took(tx: &Transaction<'_>, device: Uuid, facts: &[Fact]) -> rusqlite::Result<()> {
    for fact in facts {
        let Ok(Body::Set { field, value, .. }) = fact.read() else { continue };
        let Some(number) = field.strip_prefix("invoices.").filter(|_| !value.is_null()) else { continue };
        let last = super::value(tx, "state", LAST)?;
        if number != after(device, last.as_deref()) {
            let taken = rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_CONSTRAINT);
            return Err(rusqlite::Error::SqliteFailure(taken, Some(format!("{number} is not the next number"))));
        }
        put(tx, "state", LAST, Some(number))?;
    }
    Ok(())
}

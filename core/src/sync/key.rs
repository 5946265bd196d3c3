//! The firm's key: all that is exchanged is encrypted to it, in the age format (age-encryption.org/v1, X25519).
//!
//! Every device of the firm holds the whole key, and its public half is never written anywhere: so what opens with
//! it was also made by somebody who has it.

use super::name::Hash;
use age::secrecy::ExposeSecret;
use std::io::{Read, Write};
use std::str::FromStr;

/// The firm's key. Shows itself only as its mark.
#[derive(Clone)]
pub struct FirmKey(age::x25519::Identity);

impl FirmKey {
    /// A new key, from the system's own randomness (as the age library takes it).
    pub fn generate() -> Self {
        Self(age::x25519::Identity::generate())
    }

    /// The key as text: one line that begins `AGE-SECRET-KEY-1`, as the age tool reads from a file. Whoever has it
    /// reads everything.
    pub fn to_text(&self) -> String {
        self.0.to_string().expose_secret().to_owned()
    }

    /// Eight hexadecimal digits that tell one firm's key from another's and give nothing of it away.
    pub fn mark(&self) -> String {
        let mut mark = Hash::of(format!("hangtrue firm {}", self.0.to_public()).as_bytes()).to_string();
        mark.truncate(8);
        mark
    }

    /// Encrypts.
    pub fn seal(&self, plain: &[u8]) -> Vec<u8> {
        seal_to(&self.0.to_public(), plain)
    }

    /// Decrypts; at most `limit` bytes come out.
    ///
    /// # Errors
    /// [`OpenProblem`] says whether it is no age file, another key's, damaged, or too long.
    pub fn open(&self, stored: &[u8], limit: u64) -> Result<Vec<u8>, OpenProblem> {
        open_with(&self.0, stored, limit)
    }
}

impl std::fmt::Debug for FirmKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "FirmKey({})", self.mark())
    }
}

impl FromStr for FirmKey {
    type Err = KeyProblem;

    /// Reads a key file: one key, and lines that begin with `#` or are empty.
    fn from_str(text: &str) -> Result<Self, KeyProblem> {
        let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
        let (Some(line), None) = (lines.next(), lines.next()) else { return Err(KeyProblem) };
        line.parse().map(Self).map_err(|_| KeyProblem)
    }
}

/// Text that is no firm's key.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error("this is no firm's key: it is one line that begins AGE-SECRET-KEY-1")]
pub struct KeyProblem;

/// Why stored bytes do not open.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum OpenProblem {
    /// Not the age format.
    #[error("it is not in the age format (age-encryption.org/v1): {0}")]
    NotAge(String),
    /// Encrypted to another key.
    #[error("it is encrypted to another firm's key")]
    NotOurs,
    /// It does not decrypt: bytes were changed, or the end is missing.
    #[error("it does not decrypt, so bytes were changed or the end is missing")]
    Damaged,
    /// More comes out than may.
    #[error("it is longer than {0} bytes when decrypted")]
    TooLong(u64),
}

pub(super) fn seal_to(to: &age::x25519::Recipient, plain: &[u8]) -> Vec<u8> {
    let mut out = Vec::with_capacity(plain.len() + 256);
    age::Encryptor::with_recipients(std::iter::once(to as &dyn age::Recipient))
        .ok()
        .and_then(|encryptor| {
            let mut writer = encryptor.wrap_output(&mut out).ok()?;
            writer.write_all(plain).ok()?;
            writer.finish().ok()
        })
        .expect("one X25519 recipient is given and memory takes every write, so age has nothing to refuse");
    out
}

pub(super) fn open_with(key: &age::x25519::Identity, stored: &[u8], limit: u64) -> Result<Vec<u8>, OpenProblem> {
    let decryptor = age::Decryptor::new(stored).map_err(|error| OpenProblem::NotAge(error.to_string()))?;
    let reader = decryptor.decrypt(std::iter::once(key as &dyn age::Identity)).map_err(|error| match error {
        age::DecryptError::NoMatchingKeys | age::DecryptError::DecryptionFailed => OpenProblem::NotOurs,
        age::DecryptError::InvalidMac => OpenProblem::Damaged,
        other => OpenProblem::NotAge(other.to_string()),
    })?;
    let mut out = Vec::new();
    reader.take(limit + 1).read_to_end(&mut out).map_err(|_| OpenProblem::Damaged)?;
    if out.len() as u64 > limit { Err(OpenProblem::TooLong(limit)) } else { Ok(out) }
}

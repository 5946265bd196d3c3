//! The keys of the devices that may use the hub: one small file each, read at every request, so that a key that was
//! revoked is worthless at once, also while the hub runs.

use crate::moments;
use anyhow::{Context, anyhow};
use hangtrue_core::store::{Files, private_folder};
use hangtrue_core::sync::Hash;
use serde::{Deserialize, Serialize};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// A device's key as the hub keeps it. The secret itself is only with the device.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct DeviceKey {
    /// The key's id: the first half of what the device shows.
    pub(super) id: Uuid,
    /// What the device calls itself.
    pub(super) name: String,
    /// When it was paired, milliseconds since 1970.
    pub(super) paired_ms: u64,
    /// SHA-256 of the secret.
    pub(super) secret_sha256: String,
    /// When it was revoked, if it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) revoked_ms: Option<u64>,
}

/// All keys of a hub.
#[derive(Clone, Debug)]
pub(super) struct Keys {
    devices: PathBuf,
    prefixes: PathBuf,
}

/// Why a key does not open the door.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub(super) enum KeyRefusal {
    /// No key, or none that was ever given out.
    #[error("this device is not paired with this workroom; pair it with a new code")]
    Unknown,
    /// Taken back.
    #[error("this device's key was revoked by the workroom; pair it again if that was a mistake")]
    Revoked,
}

impl Keys {
    /// The keys below a hub's folder.
    pub(super) fn of(hub: &Path) -> anyhow::Result<Self> {
        let keys = Self { devices: hub.join("devices"), prefixes: hub.join("prefixes") };
        for folder in [&keys.devices, &keys.prefixes] {
            private_folder(folder).with_context(|| format!("making {}", folder.display()))?;
        }
        Ok(keys)
    }

    /// Adds a key; `text` is what the device shows from now on, as [`fresh`] makes it.
    pub(super) fn add(&self, text: &str, name: &str, device: Uuid, now_ms: u64) -> anyhow::Result<DeviceKey> {
        let (id, secret) = split(text).context("a key that was just made")?;
        let key = DeviceKey { id, name: name.to_owned(), paired_ms: now_ms, secret_sha256: secret, revoked_ms: None };
        self.write(&key)?;
        self.take_over(device, id, now_ms)?;
        Ok(key)
    }

    /// Gives a device's prefix to its new key. The key that had it before is worth nothing from now on, and what else it
    /// had goes along: a device that is paired again, after a revoke or because it died half way, writes on.
    fn take_over(&self, device: Uuid, key: Uuid, now_ms: u64) -> anyhow::Result<()> {
        if self.claim(device, key)? {
            return Ok(());
        }
        let path = self.prefixes.join(device.to_string());
        let before = fs::read_to_string(&path).with_context(|| format!("reading {}", path.display()))?;
        for entry in fs::read_dir(&self.prefixes).with_context(|| format!("listing {}", self.prefixes.display()))? {
            let path = entry?.path();
            if fs::read_to_string(&path).is_ok_and(|owner| owner == before) {
                Files::default()
                    .replace(&path, key.to_string().as_bytes())
                    .with_context(|| format!("writing {}", path.display()))?;
            }
        }
        for mut old in self.list()? {
            if old.id.to_string() == before && old.revoked_ms.is_none() {
                old.revoked_ms = Some(now_ms);
                self.write(&old)?;
            }
        }
        Ok(())
    }

    /// The key that a device shows.
    pub(super) fn check(&self, shown: &str) -> Result<DeviceKey, KeyRefusal> {
        let (id, secret) = split(shown).ok_or(KeyRefusal::Unknown)?;
        let text = fs::read(self.devices.join(format!("{id}.json"))).map_err(|_| KeyRefusal::Unknown)?;
        let key: DeviceKey = serde_json::from_slice(&text).map_err(|_| KeyRefusal::Unknown)?;
        if key.secret_sha256 != secret {
            return Err(KeyRefusal::Unknown);
        }
        if key.revoked_ms.is_some() { Err(KeyRefusal::Revoked) } else { Ok(key) }
    }

    /// Every key, the oldest first.
    pub(super) fn list(&self) -> anyhow::Result<Vec<DeviceKey>> {
        let mut keys: Vec<DeviceKey> = Vec::new();
        for entry in fs::read_dir(&self.devices).with_context(|| format!("listing {}", self.devices.display()))? {
            let path = entry?.path();
            if path.extension().is_some_and(|extension| extension == "json") {
                let text = fs::read(&path)?;
                keys.push(serde_json::from_slice(&text).with_context(|| format!("reading {}", path.display()))?);
            }
        }
        keys.sort_by_key(|key| (key.paired_ms, key.id));
        Ok(keys)
    }

    /// Takes a key back. `which` is its id or the start of it, or the device's name.
    pub(super) fn revoke(&self, which: &str, now_ms: u64) -> anyhow::Result<DeviceKey> {
        let mut found: Vec<DeviceKey> = self
            .list()?
            .into_iter()
            .filter(|key| key.revoked_ms.is_none())
            .filter(|key| key.name == which || (which.len() >= 4 && key.id.to_string().starts_with(which)))
            .collect();
        match (found.pop(), found.is_empty()) {
            (Some(mut key), true) => {
                key.revoked_ms = Some(now_ms);
                self.write(&key)?;
                Ok(key)
            }
            (Some(_), false) => Err(anyhow!("more than one device is called \"{which}\"; name it by its id")),
            (None, _) => {
                Err(anyhow!("no device with a key that is good is called \"{which}\"; see hangtrue hub devices"))
            }
        }
    }

    /// The key that may create under `device`'s prefix: the first one that did. A book that turns out to be a copy
    /// takes a new device id and so a new prefix; its key stays.
    pub(super) fn claim(&self, device: Uuid, key: Uuid) -> anyhow::Result<bool> {
        let path = self.prefixes.join(device.to_string());
        match fs::read_to_string(&path) {
            Ok(owner) => return Ok(owner == key.to_string()),
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => return Err(error).with_context(|| format!("reading {}", path.display())),
        }
        // Made under another name and linked: of two that claim at once exactly one wins, and never half a file.
        let fresh = self.prefixes.join(format!("{device}.{key}.new"));
        Files::default().replace_secret(&fresh, key.to_string().as_bytes())?;
        let linked = fs::hard_link(&fresh, &path);
        fs::remove_file(&fresh)?;
        match linked {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => Ok(fs::read_to_string(&path)? == key.to_string()),
            Err(error) => Err(error).with_context(|| format!("writing {}", path.display())),
        }
    }

    fn write(&self, key: &DeviceKey) -> anyhow::Result<()> {
        let path = self.devices.join(format!("{}.json", key.id));
        let text = serde_json::to_vec_pretty(key)?;
        Files::default().replace_secret(&path, &text).with_context(|| format!("writing {}", path.display()))
    }
}

/// A new key as the device shows it: an id, a dot, 64 hexadecimal digits.
pub(super) fn fresh() -> anyhow::Result<String> {
    Ok(format!("{}.{}", moments::now().uuid(), Hash(moments::random()?)))
}

/// A shown key's id, and the hash of its secret.
fn split(shown: &str) -> Option<(Uuid, String)> {
    let (id, secret) = shown.split_once('.')?;
    secret.parse::<Hash>().ok()?;
    Some((Uuid::try_parse(id).ok()?, Hash::of(secret.as_bytes()).to_string()))
}

//! A hub that runs as a service has no terminal: `hangtrue hub pair`, run by the owner of the hub's folder, speaks to it by
//! its own HTTPS side with a secret from a file in that folder, which only its owner can read.

use super::{qr_text, write_secret};
use crate::plain::plain;
use crate::transport::Https;
use anyhow::{Context, bail};
use hangtrue_core::sync::{Hash, Http, HubRefusal, Method, Request, Response};
use serde::{Deserialize, Serialize};
use std::fs;
use std::io::{BufRead, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::Path;
use std::time::Duration;

pub(super) const INVITE: &str = "/door/v1/invite";
pub(super) const WAITING: &str = "/door/v1/waiting";
pub(super) const CONFIRM: &str = "/door/v1/confirm";

/// What is to be shown to the device.
#[derive(Serialize, Deserialize)]
pub(super) struct Shown {
    pub(super) offer: String,
    pub(super) address: String,
    pub(super) code: String,
}

/// Who waits for its digits to be typed.
#[derive(Serialize, Deserialize)]
pub(super) struct Waiting {
    pub(super) name: Option<String>,
    pub(super) is_over: bool,
}

/// The door's file.
#[derive(Serialize, Deserialize)]
struct Door {
    address: String,
    secret: String,
}

fn file(folder: &Path) -> std::path::PathBuf {
    folder.join("door.json")
}

/// Makes a door for a hub that listens at `listens`, and gives its secret.
pub(super) fn make(folder: &Path, listens: SocketAddr) -> anyhow::Result<String> {
    let here = if listens.ip().is_unspecified() { IpAddr::V4(Ipv4Addr::LOCALHOST) } else { listens.ip() };
    let secret = Hash(crate::moments::random()?).to_string();
    let door = Door { address: SocketAddr::new(here, listens.port()).to_string(), secret: secret.clone() };
    write_secret(&file(folder), &serde_json::to_vec(&door)?)?;
    Ok(secret)
}

/// `hangtrue hub pair`: shows an offer of the hub that runs, and takes the six digits.
pub(super) fn pair(folder: &Path) -> anyhow::Result<()> {
    let path = file(folder);
    let text = fs::read(&path).with_context(|| {
        format!(
            "{} cannot be read: is a hub running with this folder? (hangtrue hub, or hangtrue open --hub)",
            path.display()
        )
    })?;
    let door: Door = serde_json::from_slice(&text).with_context(|| format!("reading {}", path.display()))?;
    let certificate = folder.join("certificate.der");
    let certificate = Hash::of(&fs::read(&certificate).with_context(|| format!("reading {}", certificate.display()))?);
    let mut https = Https::new(vec![door.address], certificate, Duration::from_secs(20))?;
    let mut ask = |path: &str, body: &str| -> anyhow::Result<Response> {
        let headers = vec![("Authorization".to_owned(), format!("Bearer {}", door.secret))];
        let body = body.as_bytes().to_vec();
        let request = Request { method: Method::Post, path: path.to_owned(), headers, body, most: 64 << 10 };
        let response = https.send(&request).context("the hub does not answer: does it run?")?;
        if response.status == 404 {
            bail!("the hub that answers was not started with this folder; stop it, or name its folder with --folder");
        }
        Ok(response)
    };
    let shown: Shown = serde_json::from_slice(&ask(INVITE, "")?.body).context("the hub answers what cannot be")?;
    show(&shown.offer, &shown.address, &shown.code);
    let mut lines = std::io::stdin().lock().lines();
    let mut told = false;
    loop {
        let waiting: Waiting =
            serde_json::from_slice(&ask(WAITING, "")?.body).context("the hub answers what cannot be")?;
        let Some(name) = waiting.name else {
            if waiting.is_over {
                bail!("no device was paired: the code is no longer good; run this again for a new one");
            }
            std::thread::sleep(Duration::from_millis(500));
            continue;
        };
        if !told {
            told = true;
            println!("\"{}\" asks to be paired.", plain(&name, false));
        }
        println!("Type the six digits that it shows, and Enter:");
        std::io::stdout().flush()?;
        let Some(line) = lines.next().transpose()? else { bail!("no digits were typed; the device was given nothing") };
        let answer = ask(CONFIRM, line.trim())?;
        if answer.status == 200 {
            println!("\"{}\" is paired.", plain(&name, false));
            return Ok(());
        }
        let says =
            serde_json::from_slice::<HubRefusal>(&answer.body).map_or_else(|_| String::new(), |refusal| refusal.says);
        if answer.status != 409 {
            bail!("not paired: {says}");
        }
        println!("{says}.");
    }
}

/// Shows an offer in a terminal: to be scanned, to be typed, to be pasted.
pub(super) fn show(offer: &str, address: &str, code: &str) {
    match qr_text(offer) {
        Ok(picture) => println!("{picture}"),
        Err(error) => println!("The code could not be drawn: {error:#}"),
    }
    println!("Scan this within five minutes, or type on the device: {address} {code}");
    println!("Or hand this text over:\n{offer}");
    let _ = std::io::stdout().flush();
}

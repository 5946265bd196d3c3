//! The places of exchange that the workroom's program reaches, and the commands that use them: `pair`, `sync`,
//! `mirror`, `key`, `archive`, `restore`.

mod bucket;
mod https;

pub use bucket::Bucket;
pub use https::Https;

use crate::hub::now_ms;
use crate::moments;
use anyhow::{Context, anyhow, bail};
use clap::Args;
use hangtrue_core::store::{Book, Files};
use hangtrue_core::sync::pairing::{Joining, Offer, Paired, is_address};
use hangtrue_core::sync::short::{FETCH, MOST_OFFER, ShortCode};
use hangtrue_core::sync::{
    Firm, FirmKey, Folder, Http, Hub, Method, PhotoWish, Prune, Request, Transport, archive, compact, mirror, sync,
};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Pair a book with a workroom's hub, by the code that the hub shows.
#[derive(Debug, Args)]
pub struct PairArgs {
    /// The workroom's address and its short code, as 192.168.1.20 K7QM-3F9T-XB2D-6WPA; or the text of the whole code,
    /// `hangtrue-pair:…`.
    #[arg(required = true, num_args = 1..)]
    code: Vec<String>,
    /// What the workroom's list of devices shows.
    #[arg(long, default_value = "a device")]
    name: String,
    /// The workroom's address as HOST:PORT, where those in the code cannot be reached.
    #[arg(long)]
    address: Vec<String>,
}

/// Exchange a book's facts and photos with a place.
#[derive(Debug, Args)]
pub struct SyncArgs {
    /// A folder, `s3://BUCKET/FOLDER`, or `hub` for the workroom this book is paired with.
    #[arg(default_value = "hub")]
    place: String,
    /// The file with the firm's key; not needed where the book is paired with a hub.
    #[arg(long)]
    key: Option<PathBuf>,
    /// The hub's address as HOST:PORT, where it has moved.
    #[arg(long)]
    address: Vec<String>,
    /// Make the folder a place of exchange, once.
    #[arg(long)]
    create: bool,
    /// Join this book's small segments there into few large ones (folders and buckets).
    #[arg(long)]
    compact: bool,
    /// Leave the photos of others where they are.
    #[arg(long)]
    no_photos: bool,
}

/// Copy all that lies at one place to another and back, as it is; no key is needed.
#[derive(Debug, Args)]
pub struct MirrorArgs {
    /// A folder or `s3://BUCKET/FOLDER`; the hub's is the folder `store` in its own.
    one: String,
    /// Another.
    other: String,
}

/// Make a firm's key, for a firm without a hub.
#[derive(Debug, Args)]
pub struct KeyArgs {
    /// The file to write; must not be there yet.
    file: PathBuf,
}

/// A request and its answer take at most this long; a part of a photo over a thin line is the longest.
const TIMEOUT: Duration = Duration::from_secs(90);

/// `hangtrue pair`.
///
/// # Errors
/// In sentences for a person.
pub fn run_pair(at: &Path, args: &PairArgs) -> anyhow::Result<()> {
    let (offer, typed) = offer_of(&args.code, &args.address)?;
    let book = Book::open(at, &mut moments::now)?;
    let secret = moments::random()?;
    let mut addresses = typed;
    addresses.extend(offer.addresses.clone());
    let mut https = Https::new(addresses.clone(), offer.certificate, TIMEOUT)?;
    let joining = Joining::new(offer, book.device(), &args.name, now_ms() / 1000, secret)?;
    let response = https.send(&joining.ask()).context("the workroom cannot be reached")?;
    joining.asked(&response)?;
    println!("Type these six digits at the workroom: {}", joining.code());
    // Said at once, also where what is written is read by another program.
    std::io::Write::flush(&mut std::io::stdout())?;
    let paired = loop {
        std::thread::sleep(Duration::from_secs(1));
        let response = https.send(&joining.poll()).context("the workroom cannot be reached")?;
        if let Some(paired) = joining.polled(&response)? {
            break paired;
        }
    };
    let said = format!("Paired with \"{}\"; the firm's key has the mark {}.", paired.workroom, paired.firm.mark());
    Firm::from(Paired { addresses, ..paired }).keep(at, book.files())?;
    println!("{said}");
    Ok(())
}

/// The offer that a person typed, and the addresses typed with it.
fn offer_of(words: &[String], more: &[String]) -> anyhow::Result<(Offer, Vec<String>)> {
    let mut addresses = more.to_vec();
    let (mut whole, mut code) = (None, String::new());
    for word in words {
        if word.starts_with("hangtrue-pair:") {
            whole = Some(word.parse::<Offer>()?);
        } else if word.contains(['.', ':']) {
            let address = if word.contains(':') { word.clone() } else { format!("{word}:{PORT}") };
            if !is_address(&address) {
                bail!("\"{word}\" is no address; it would be HOST or HOST:PORT, such as 192.168.1.20");
            }
            addresses.push(address);
        } else {
            code.push_str(word);
        }
    }
    if let Some(offer) = whole {
        return Ok((offer, addresses));
    }
    if code.is_empty() {
        bail!("the code is missing: the workroom shows it beside its address");
    }
    let code: ShortCode = code.parse()?;
    if addresses.is_empty() {
        bail!("the workroom's address is missing: it shows it beside the code, as 192.168.1.20");
    }
    let fetch = Request {
        method: Method::Post,
        path: FETCH.to_owned(),
        headers: Vec::new(),
        body: code.knock().into_bytes(),
        most: MOST_OFFER,
    };
    let response =
        Https::unproven(addresses.clone(), TIMEOUT)?.send(&fetch).context("the workroom cannot be reached")?;
    if response.status != 200 {
        bail!("the workroom shows no such code now; compare it, or show a new one there");
    }
    let offer: Offer = String::from_utf8_lossy(&response.body).parse()?;
    // Whoever answers at that address: only the workroom's own offer has this code.
    if ShortCode::of(&offer) != code {
        bail!("another computer answers at {} than the one that shows this code; nothing was sent to it", addresses[0]);
    }
    Ok((offer, addresses))
}

/// Where a hub listens when nothing else is said.
const PORT: u16 = 7443;

/// A place that was opened, and whether segments can be joined there.
enum Place {
    Plain(Box<dyn Transport>),
    Prunable(Box<dyn Prune>),
}

/// Opens a place; with a firm's key, makes it that firm's when it is not there yet.
fn place(name: &str, create_for: Option<&FirmKey>) -> anyhow::Result<Place> {
    Ok(Place::Prunable(if name.starts_with("s3://") {
        Box::new(Bucket::new(name, std::env::vars())?)
    } else if let Some(key) = create_for {
        Box::new(Folder::create_for(Path::new(name), moments::now().uuid(), key, Files::default())?)
    } else {
        Box::new(Folder::open(Path::new(name), Files::default())?)
    }))
}

/// `hangtrue sync`.
///
/// # Errors
/// In sentences for a person; also when the place stopped before all was done.
pub fn run_sync(at: &Path, args: &SyncArgs) -> anyhow::Result<()> {
    let kept = Firm::of(at)?;
    let firm: FirmKey = match (&args.key, &kept) {
        (Some(path), _) => {
            let text = fs::read_to_string(path).with_context(|| format!("reading {}", path.display()))?;
            text.parse().with_context(|| format!("reading {}", path.display()))?
        }
        (None, Some(firm)) => firm.key.clone(),
        (None, None) => {
            bail!("this book has no firm's key yet: pair it with a hub (hangtrue pair), or name a key file with --key")
        }
    };
    let mut place = if args.place == "hub" {
        let Some(Firm { key, workroom: Some(mut workroom) }) = kept else {
            bail!("this book is not paired with a hub; see hangtrue pair")
        };
        for address in args.address.iter().rev() {
            workroom.try_first(address.clone());
        }
        if !args.address.is_empty() {
            Firm { key, workroom: Some(workroom.clone()) }.keep(at, &Files::default())?;
        }
        let https = Https::new(workroom.addresses, workroom.certificate, TIMEOUT)?;
        Place::Plain(Box::new(Hub::new(https, workroom.certificate, workroom.key)))
    } else {
        place(&args.place, args.create.then_some(&firm))?
    };
    let mut book = Book::open(at, &mut moments::now)?;
    for notice in book.notices() {
        println!("{notice}");
    }
    let photos = if args.no_photos { PhotoWish::Bring } else { PhotoWish::Both };
    let report = match &mut place {
        Place::Plain(place) => sync(&mut book, &firm, place.as_mut(), photos, &mut moments::now)?,
        Place::Prunable(place) => sync(&mut book, &firm, place.as_mut(), photos, &mut moments::now)?,
    };
    for line in report.says() {
        println!("{line}");
    }
    if args.compact && report.stopped.is_none() {
        let Place::Prunable(place) = &mut place else { bail!("a hub joins nothing: its devices only create") };
        let (before, after) = compact(&mut book, &firm, place.as_mut())?;
        println!("{before} segments of this book are now {after}.");
    }
    book.pause()?;
    match report.stopped {
        Some(problem) => Err(problem.into()),
        None => Ok(()),
    }
}

/// `hangtrue mirror`.
///
/// # Errors
/// In sentences for a person.
pub fn run_mirror(args: &MirrorArgs) -> anyhow::Result<()> {
    let (Place::Prunable(mut one), Place::Prunable(mut other)) = (place(&args.one, None)?, place(&args.other, None)?)
    else {
        bail!("a mirror is between folders and buckets");
    };
    let (there, back, bad) = mirror(one.as_mut(), other.as_mut())?;
    println!("{there} objects went to {}, {back} came back.", args.other);
    for name in bad {
        println!("{name} was not copied: its bytes are not what its name says.");
    }
    Ok(())
}

/// `hangtrue key`.
///
/// # Errors
/// When the file is there already or cannot be written.
pub fn run_key(args: &KeyArgs) -> anyhow::Result<()> {
    let key = FirmKey::generate();
    let text = format!("# the firm's key: whoever has it reads everything\n{}\n", key.to_text());
    Files::default().create_secret(&args.file, text.as_bytes()).map_err(|error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => anyhow!(
            "{} is there already; a key that is overwritten is lost with all it opens: name another file",
            args.file.display()
        ),
        _ => anyhow!("{} cannot be written: {error}", args.file.display()),
    })?;
    println!("The firm's key is in {}; its mark is {}. Keep a copy on paper.", args.file.display(), key.mark());
    Ok(())
}

/// `hangtrue archive`.
///
/// # Errors
/// In sentences for a person.
pub fn run_archive(at: &Path, folder: &Path) -> anyhow::Result<()> {
    let book = Book::open_to_read(at, &mut moments::now)?;
    let contents = archive::write(&book, folder, &Files::default())?;
    println!("{} facts and {} photos are in {}.", contents.facts, contents.photos, folder.display());
    if contents.photos_missing > 0 {
        println!("{} photos that facts name are not in this book, and so not in there.", contents.photos_missing);
    }
    Ok(())
}

/// `hangtrue restore`.
///
/// # Errors
/// In sentences for a person; a damaged archive changes nothing.
pub fn run_restore(at: &Path, folder: &Path) -> anyhow::Result<()> {
    let mut book = Book::open(at, &mut moments::now)?;
    let contents = archive::restore(&mut book, folder)?;
    book.pause()?;
    let taken = contents.facts - contents.not_taken.min(contents.facts);
    println!("{taken} facts and {} photos are in {}.", contents.photos, at.display());
    if contents.not_taken > 0 {
        println!("{} facts were not taken in: too long, or of a house that was erased.", contents.not_taken);
    }
    if contents.photos_missing > 0 {
        println!("{} photos were already missing when it was made.", contents.photos_missing);
    }
    Ok(())
}

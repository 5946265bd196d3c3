//! `hangtrue hub`: the workroom's own place of exchange on the local network. Start with [`HubArgs`] and [`run`];
//! [`Hub`] is what the terminal and the workroom's page share.

mod audit;
mod door;
mod keys;
mod limits;
mod nightly;
mod server;

pub use server::{Hub, router, serve, store_of};

use crate::moments;
use crate::plain::{json_plain, plain};
use anyhow::{Context, bail};
use clap::{Args, Subcommand};
use hangtrue_core::store::{Book, Files, private_folder};
use hangtrue_core::sync::{FirmKey, Folder, Hash, PhotoWish, sync};
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use serde_json::json;
use std::fs;
use std::io::{BufRead, Write};
use std::net::{SocketAddr, UdpSocket};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio_rustls::TlsAcceptor;

/// Keep the firm's segments and photos, and let paired devices exchange them over the local network.
#[derive(Debug, Args)]
pub struct HubArgs {
    /// The hub's folder: keys, audit list, and what is exchanged.
    #[arg(long, default_value = "hangtrue-hub")]
    folder: PathBuf,
    /// Where to listen.
    #[arg(long, default_value = "0.0.0.0:7443")]
    listen: SocketAddr,
    /// An address that devices reach this computer by, as HOST:PORT; found out when left out. May be given more than once.
    #[arg(long)]
    address: Vec<String>,
    /// What the workroom calls itself.
    #[arg(long, default_value = "Workroom")]
    name: String,
    /// The workroom's own book: it takes in what arrives, and what is asked in it goes out
    #[arg(long, env = "HANGTRUE_BOOK")]
    book: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<HubCommand>,
}

#[derive(Debug, Subcommand)]
enum HubCommand {
    /// List the paired devices.
    Devices {
        /// One JSON object; DEVELOPERS.md has its shape
        #[arg(long)]
        json: bool,
    },
    /// Take a device's key back.
    Revoke {
        /// Its name, or the start of its key's id.
        device: String,
    },
    /// Show who brought what, who was refused, who was paired.
    Audit {
        /// One JSON object; DEVELOPERS.md has its shape
        #[arg(long)]
        json: bool,
    },
    /// Pair a device with the hub that runs: for a hub that has no terminal.
    Pair,
}

/// Milliseconds since 1970.
pub fn now_ms() -> u64 {
    moments::now().ms
}

/// Runs the hub, or one of its lists.
///
/// # Errors
/// In sentences for a person.
pub fn run(args: &HubArgs) -> anyhow::Result<()> {
    match &args.command {
        Some(HubCommand::Devices { json: true }) => {
            let keys = keys::Keys::of(&args.folder)?.list()?;
            let line = |key: &keys::DeviceKey| {
                let state = if key.revoked_ms.is_some() { "revoked" } else { "active" };
                json!({ "id": key.id, "name": key.name, "paired": instant(key.paired_ms), "access": state })
            };
            let all = json!({ "devices": keys.iter().map(line).collect::<Vec<_>>() });
            println!("{}", json_plain(&all.to_string()));
            Ok(())
        }
        Some(HubCommand::Devices { json: false }) => {
            for key in keys::Keys::of(&args.folder)?.list()? {
                let state = if key.revoked_ms.is_some() { "revoked" } else { "active" };
                println!("{}  {state:7}  paired {}  {}", key.id, day(key.paired_ms), plain(&key.name, false));
            }
            Ok(())
        }
        Some(HubCommand::Revoke { device }) => {
            let key = keys::Keys::of(&args.folder)?.revoke(device, now_ms())?;
            let line = audit::Line {
                ms: now_ms(),
                what: "revoked".to_owned(),
                from: String::new(),
                device: key.name.clone(),
                name: key.id.to_string(),
                bytes: 0,
                why: String::new(),
            };
            audit::Audit::open(&args.folder)?.add(&line);
            println!("The key of {} is revoked. It knows the firm's key still: see docs/threat-model.md.", key.name);
            Ok(())
        }
        Some(HubCommand::Pair) => door::pair(&args.folder),
        Some(HubCommand::Audit { json: true }) => {
            let line = |line: audit::Line| {
                json!({ "at": instant(line.ms), "what": line.what, "from": line.from, "device": line.device,
                    "name": line.name, "bytes": line.bytes, "why": line.why })
            };
            let lines: Vec<_> = audit::Audit::read(&args.folder)?.into_iter().map(line).collect();
            println!("{}", json_plain(&json!({ "audit": lines }).to_string()));
            Ok(())
        }
        Some(HubCommand::Audit { json: false }) => {
            for line in audit::Audit::read(&args.folder)? {
                let bytes = if line.bytes > 0 { format!("{} bytes", line.bytes) } else { String::new() };
                let parts = [line.from, line.device, line.name, bytes, line.why];
                let rest: Vec<&str> = parts.iter().map(String::as_str).filter(|part| !part.is_empty()).collect();
                // What strangers send must not forge a line or steer the terminal.
                println!("{}", plain(&format!("{} {:11} {}", instant(line.ms), line.what, rest.join("  ")), false));
            }
            Ok(())
        }
        None => begin(args),
    }
}

fn day(ms: u64) -> String {
    instant(ms).chars().take(10).collect()
}

fn instant(ms: u64) -> String {
    let moment = hangtrue_core::fact::Moment { ms, random: [0; 10] };
    moment.time().format("%Y-%m-%d %H:%M:%S").to_string()
}

impl HubArgs {
    /// What the workroom's page opens a hub with: a folder, where to listen, and the book that the page shows.
    pub fn of_page(folder: PathBuf, listen: SocketAddr, book: PathBuf) -> Self {
        Self { folder, listen, address: Vec::new(), name: "Workroom".to_owned(), book: Some(book), command: None }
    }
}

/// A hub that listens and keeps its book in step, not yet serving.
pub struct Standing {
    /// What the routes, the terminal and the page share.
    pub hub: Arc<Hub>,
    listener: tokio::net::TcpListener,
    tls: TlsAcceptor,
}

impl std::fmt::Debug for Standing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Standing").field("hub", &self.hub).finish_non_exhaustive()
    }
}

impl Standing {
    /// Listens, with the firm's key and the certificate of the hub's folder; both are made when there are none.
    ///
    /// # Errors
    /// When the folder cannot be written, or the address cannot be listened on.
    pub fn of(args: &HubArgs, runtime: &tokio::runtime::Handle) -> anyhow::Result<Self> {
        private_folder(&args.folder)
            .with_context(|| format!("keeping {} for its owner only", args.folder.display()))?;
        let firm = firm_key(&args.folder)?;
        let (certificate, key) = certificate(&args.folder)?;
        let print = Hash::of(&certificate);
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let tls = rustls::ServerConfig::builder_with_provider(provider)
            .with_protocol_versions(&[&rustls::version::TLS13])?
            .with_no_client_auth()
            .with_single_cert(vec![certificate], key)?;
        let tls = TlsAcceptor::from(Arc::new(tls));
        let listener = runtime
            .block_on(tokio::net::TcpListener::bind(args.listen))
            .with_context(|| format!("listening on {}", args.listen))?;
        let port = listener.local_addr()?.port();
        let addresses = if args.address.is_empty() { own_addresses(args.listen, port) } else { args.address.clone() };
        if let Some(bad) = addresses.iter().find(|address| !hangtrue_core::sync::pairing::is_address(address)) {
            bail!("\"{bad}\" is no address; it would be HOST:PORT, such as 192.168.1.20:{port}");
        }
        println!("{} listens on port {port}; devices reach it at {}.", args.name, addresses.join(", "));
        println!("Certificate {print}; the firm's key has the mark {}.", firm.mark());
        let hub = Arc::new(Hub::new(&args.folder, firm.clone(), args.name.clone(), addresses, print)?);
        hub.open_door(door::make(&args.folder, listener.local_addr()?)?);
        if let Some(book) = args.book.clone() {
            let (hub, store, handle) = (Arc::clone(&hub), store_of(&args.folder), runtime.clone());
            std::thread::spawn(move || keep_book(&book, &firm, &store, &hub, &handle));
        }
        Ok(Self { hub, listener, tls })
    }

    /// Serves until the process ends.
    ///
    /// # Errors
    /// When the listener itself fails.
    pub async fn serve(self) -> anyhow::Result<()> {
        serve(self.listener, self.tls, router(self.hub)).await
    }
}

fn begin(args: &HubArgs) -> anyhow::Result<()> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    let standing = Standing::of(args, runtime.handle())?;
    println!("Type \"pair\" and Enter to pair a device.");
    let told = Arc::clone(&standing.hub);
    runtime.spawn(async move {
        loop {
            told.asked.notified().await;
            if let Some(asked) = told.waiting() {
                println!(
                    "\"{}\" asks to be paired. Type the six digits that it shows, and Enter:",
                    plain(&asked.name, false)
                );
                let _ = std::io::stdout().flush();
            }
        }
    });
    let typing = Arc::clone(&standing.hub);
    // Ends with the terminal; the hub goes on without it.
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().lines().map_while(Result::ok) {
            typed(&typing, line.trim());
        }
    });
    runtime.block_on(standing.serve())
}

/// What a person typed in the hub's terminal.
fn typed(hub: &Hub, line: &str) {
    if line == "pair" {
        let offer = hub.invite();
        let (address, code) = hub.typed_code().unwrap_or_default();
        door::show(&offer, &address, &code);
    } else if hub.waiting().is_some() {
        match hub.confirm(line) {
            Ok(asked) => println!("\"{}\" is paired.", plain(&asked.name, false)),
            Err(problem) if hub.waiting().is_some() => println!("{problem:#}. Type the six digits again:"),
            Err(problem) => println!("Not paired: {problem:#}"),
        }
    } else if !line.is_empty() {
        println!("Type \"pair\" and Enter to pair a device.");
    }
    let _ = std::io::stdout().flush();
}

/// Keeps the workroom's own book in step with the hub's folder.
fn keep_book(book: &Path, firm: &FirmKey, store: &Path, hub: &Hub, runtime: &tokio::runtime::Handle) {
    loop {
        let once = || -> anyhow::Result<()> {
            let mut book = Book::open(book, &mut moments::now)?;
            for notice in book.notices() {
                println!("{notice}");
            }
            let mut place = Folder::open(store, Files::default())?;
            let hour = chrono::Timelike::hour(&chrono::Local::now());
            if nightly::is_due(nightly::last(&book), now_ms(), hour) {
                let (says, is_sound) = nightly::check(&mut book, &mut place, now_ms())?;
                hub.checked(&says, is_sound);
                if !is_sound {
                    for line in says {
                        println!("{}", plain(&line, false));
                    }
                }
            }
            let report = sync(&mut book, firm, &mut place, PhotoWish::Both, &mut moments::now)?;
            if report.arrived + report.sent > 0 || !report.bad.is_empty() {
                for line in report.says() {
                    println!("{line}");
                }
            }
            Ok(())
        };
        if let Err(error) = once() {
            eprintln!("the workroom's book could not take in what arrived: {error:#}");
        }
        // What arrives is taken in at once, what is asked in the book goes out within seconds.
        runtime.block_on(async {
            let _ = tokio::time::timeout(Duration::from_secs(3), hub.arrived.notified()).await;
        });
    }
}

/// The firm's key of a hub, made when there is none.
pub fn firm_key(folder: &Path) -> anyhow::Result<FirmKey> {
    let path = folder.join("firm.key");
    match fs::read_to_string(&path) {
        Ok(text) => text.parse().with_context(|| format!("reading {}", path.display())),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            let key = FirmKey::generate();
            write_secret(
                &path,
                format!("# the firm's key: whoever has it reads everything\n{}\n", key.to_text()).as_bytes(),
            )?;
            Ok(key)
        }
        Err(error) => Err(error).with_context(|| format!("reading {}", path.display())),
    }
}

/// Writes a file that only its owner may read; whole or not at all.
pub fn write_secret(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    Files::default().replace_secret(path, bytes).with_context(|| format!("writing {}", path.display()))
}

/// The hub's certificate and its key, made when there are none. Devices pin it, so it carries no name and no end.
fn certificate(folder: &Path) -> anyhow::Result<(CertificateDer<'static>, PrivateKeyDer<'static>)> {
    let (cert_path, key_path) = (folder.join("certificate.der"), folder.join("certificate.key"));
    if !cert_path.exists() {
        let made =
            rcgen::generate_simple_self_signed(vec!["hangtrue-hub".to_owned()]).context("making a certificate")?;
        write_secret(&key_path, &made.signing_key.serialize_der())?;
        write_secret(&cert_path, made.cert.der())?;
    }
    let read = |path: &Path| fs::read(path).with_context(|| format!("reading {}", path.display()));
    let certificate = CertificateDer::from(read(&cert_path)?);
    Ok((certificate, PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(read(&key_path)?))))
}

/// The addresses that devices may reach this computer by.
fn own_addresses(listen: SocketAddr, port: u16) -> Vec<String> {
    if !listen.ip().is_unspecified() {
        return vec![SocketAddr::new(listen.ip(), port).to_string()];
    }
    // Asks the system which of its addresses faces outward; nothing is sent.
    let outward = || -> std::io::Result<SocketAddr> {
        let socket = UdpSocket::bind("0.0.0.0:0")?;
        socket.connect("192.0.2.1:9")?;
        socket.local_addr()
    };
    let ip = outward().map_or(std::net::IpAddr::from([127, 0, 0, 1]), |address| address.ip());
    vec![SocketAddr::new(ip, port).to_string()]
}

/// A QR code for a terminal.
///
/// # Errors
/// When the text is too long for one.
pub fn qr_text(text: &str) -> anyhow::Result<String> {
    let code = qrcode::QrCode::with_error_correction_level(text, qrcode::EcLevel::L)?;
    Ok(code.render::<qrcode::render::unicode::Dense1x2>().build())
}

/// A QR code as SVG, for the workroom's page.
///
/// # Errors
/// When the text is too long for one.
pub fn qr_svg(text: &str) -> anyhow::Result<String> {
    let code = qrcode::QrCode::with_error_correction_level(text, qrcode::EcLevel::M)?;
    Ok(code.render::<qrcode::render::svg::Color<'_>>().min_dimensions(320, 320).build())
}

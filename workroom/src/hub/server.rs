//! The hub's HTTPS side: TLS with its own certificate, four routes, limits on everything.

use super::audit::{Audit, Line};
use super::door;
use super::keys::{DeviceKey, Keys, fresh};
use super::limits::{Limits, PAIRED, Rate, STRANGER};
use super::now_ms;
use anyhow::Context;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::rejection::PathRejection;
use axum::extract::{Extension, Path as UrlPath, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use hangtrue_core::store::Files;
use hangtrue_core::sync::pairing::{self, Asked, Invitation, PairProblem};
use hangtrue_core::sync::segment::SegmentProblem;
use hangtrue_core::sync::short::{self, ShortCode};
use hangtrue_core::sync::{
    FirmKey, Folder, Hash, HubReceipt, HubRefusal, ObjectName, Transport, TransportProblem, photo, segment, write_list,
};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::net::{IpAddr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::{Duration, Instant};
use tokio::net::TcpListener;
use tokio::sync::{Notify, Semaphore};
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;

/// A handshake, a request's head, a whole body: each must come within its time.
const HANDSHAKE: Duration = Duration::from_secs(10);
const HEAD: Duration = Duration::from_secs(15);
const BODY: Duration = Duration::from_secs(60);
/// So many connections at once; more wait.
const CONNECTIONS: usize = 256;
/// So many bytes of bodies may be on their way at once; more wait, so that many at once cannot fill the memory.
const ROOM: usize = 24 << 20;
/// Room is given out in steps of this many bytes.
const STEP: usize = 64 << 10;

/// A running hub's shared state: what the routes, the terminal and the workroom's page use.
#[derive(Debug)]
pub struct Hub {
    folder: PathBuf,
    firm: FirmKey,
    workroom: String,
    addresses: Vec<String>,
    certificate: Hash,
    keys: Keys,
    audit: Audit,
    limits: Limits,
    pairing: Mutex<Option<Invitation>>,
    /// What a command on this computer shows ([`super::door`]); nothing while there is none.
    door: OnceLock<String>,
    /// Room for bodies that are on their way, in steps of [`STEP`] bytes.
    room: Semaphore,
    /// One segment is looked into at a time: what it unfolds to is bounded, and so is then the whole.
    looking: Mutex<()>,
    /// Told when something arrived.
    pub arrived: Notify,
    /// Told when a device asked to be paired.
    pub asked: Notify,
}

impl Hub {
    /// A hub over its folder; `addresses` are what an offer shows.
    pub fn new(
        folder: &Path,
        firm: FirmKey,
        workroom: String,
        addresses: Vec<String>,
        certificate: Hash,
    ) -> anyhow::Result<Self> {
        let mut store = Folder::create_for(&store_of(folder), crate::moments::now().uuid(), &firm, Files::default())?;
        // Nobody else writes in here while the hub begins.
        store.sweep()?;
        Ok(Self {
            folder: folder.to_owned(),
            firm,
            workroom,
            addresses,
            certificate,
            keys: Keys::of(folder)?,
            audit: Audit::open(folder)?,
            limits: Limits::default(),
            pairing: Mutex::new(None),
            door: OnceLock::new(),
            room: Semaphore::new(ROOM / STEP),
            looking: Mutex::new(()),
            arrived: Notify::new(),
            asked: Notify::new(),
        })
    }

    fn store(&self) -> Result<Folder, TransportProblem> {
        Folder::open(&store_of(&self.folder), Files::default())
    }

    fn with_pairing<T>(&self, work: impl FnOnce(&mut Option<Invitation>) -> T) -> T {
        work(&mut self.pairing.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Makes a new offer and gives its text, to be shown as a QR code. An older one is worth nothing from now on.
    pub fn invite(&self) -> String {
        let invitation = Invitation::new(self.addresses.clone(), self.certificate, now_ms() / 1000);
        let text = invitation.offer().to_string();
        self.with_pairing(|pairing| *pairing = Some(invitation));
        self.note("pair_offer", None, "", "", 0, "");
        text
    }

    /// What a person types on a device that cannot scan the offer: an address of this computer, and the short code.
    pub fn typed_code(&self) -> Option<(String, String)> {
        let code = self.with_pairing(|pairing| pairing.as_ref().map(|open| ShortCode::of(open.offer()).to_string()))?;
        Some((self.addresses.first().cloned().unwrap_or_default(), code))
    }

    /// Lets commands in that show `secret`.
    pub(super) fn open_door(&self, secret: String) {
        let _ = self.door.set(secret);
    }

    /// True for a command of this computer's owner, who can read the door's secret.
    fn is_owner(&self, headers: &HeaderMap) -> bool {
        let shown = headers.get(header::AUTHORIZATION).and_then(|value| value.to_str().ok());
        let shown = shown.and_then(|value| value.strip_prefix("Bearer ")).unwrap_or_default();
        // Hashes are compared, so the time tells nothing of the secret.
        self.door.get().is_some_and(|secret| Hash::of(secret.as_bytes()) == Hash::of(shown.as_bytes()))
    }

    /// Who has asked and waits for the six digits.
    pub fn waiting(&self) -> Option<Asked> {
        self.with_pairing(|pairing| pairing.as_ref().and_then(Invitation::asked))
    }

    /// Takes the six digits as typed by hand. A slip costs a try.
    ///
    /// # Errors
    /// In a sentence; the device was given nothing. While [`Hub::waiting`] still names it, the digits may be typed again.
    pub fn confirm(&self, typed: &str) -> anyhow::Result<Asked> {
        let key = fresh()?;
        let confirmed = self.with_pairing(|pairing| {
            let invitation = pairing.as_mut().context("no device has asked to be paired")?;
            // The key works only from here on, and before the device can fetch it.
            let asked = invitation.confirm(typed, now_ms() / 1000, &self.firm, &key, &self.workroom)?;
            match self.keys.add(&key, &asked.name, asked.device, now_ms()) {
                Ok(_) => Ok(asked),
                Err(problem) => {
                    // A full disk: the answer is made already, and must not be handed out without a key that works.
                    *pairing = None;
                    Err(problem.context("the device was given nothing"))
                }
            }
        });
        match &confirmed {
            Ok(asked) => self.note("paired", None, &asked.name, &asked.device.to_string(), 0, ""),
            Err(problem) => self.note("pair_failed", None, "", "", 0, &problem.to_string()),
        }
        confirmed
    }

    /// The devices that were paired: name, when (milliseconds since 1970), and whether the key is good still.
    ///
    /// # Errors
    /// When the hub's folder cannot be read.
    pub fn paired(&self) -> anyhow::Result<Vec<(String, u64, bool)>> {
        let keys = self.keys.list()?;
        Ok(keys.into_iter().map(|key| (key.name, key.paired_ms, key.revoked_ms.is_none())).collect())
    }

    /// Notes what a check of the book and the store found.
    pub(super) fn checked(&self, says: &[String], is_sound: bool) {
        let why = if is_sound { "all sound".to_owned() } else { says.join(" ") };
        self.note("checked", None, "", "", 0, &why);
    }

    fn note(&self, what: &str, from: Option<IpAddr>, device: &str, name: &str, bytes: u64, why: &str) {
        self.audit.add(&Line {
            ms: now_ms(),
            what: what.to_owned(),
            from: from.map_or_else(String::new, |from| from.to_string()),
            device: device.to_owned(),
            name: name.to_owned(),
            bytes,
            why: why.to_owned(),
        });
    }

    /// The key that a request shows, if it is good and not too often.
    fn admit(&self, headers: &HeaderMap, from: IpAddr) -> Result<DeviceKey, Refusal> {
        let shown = headers
            .get(header::AUTHORIZATION)
            .and_then(|value| value.to_str().ok())
            .and_then(|value| value.strip_prefix("Bearer "))
            .unwrap_or_default();
        match self.keys.check(shown) {
            Ok(key) => {
                self.hold(&key.id.to_string(), PAIRED)?;
                Ok(key)
            }
            Err(refusal) => {
                self.hold(&from.to_string(), STRANGER)?;
                Err(Refusal::new(StatusCode::UNAUTHORIZED, refusal.to_string()))
            }
        }
    }

    fn hold(&self, who: &str, rate: Rate) -> Result<(), Refusal> {
        if self.limits.take(who, rate, Instant::now()) {
            Ok(())
        } else {
            Err(Refusal::new(StatusCode::TOO_MANY_REQUESTS, "too many requests; wait a little and go on"))
        }
    }

    /// Stores an object after looking at all of it.
    fn take_object(&self, key: &DeviceKey, name: &ObjectName, bytes: &[u8]) -> Result<Hash, Refusal> {
        if !name.fits(bytes) {
            let says =
                format!("the bytes of {name} hash to {}; they were changed or cut off on the way", Hash::of(bytes));
            return Err(Refusal::new(StatusCode::BAD_REQUEST, says));
        }
        let mut store = self.store()?;
        match name {
            ObjectName::Segment(segment_name) => {
                let owns = self.keys.claim(segment_name.device, key.id).map_err(|error| Refusal::disk(&error))?;
                if !owns {
                    let says = format!("another device writes as {}; this one may not", segment_name.device);
                    return Err(Refusal::new(StatusCode::FORBIDDEN, says));
                }
                let looked = {
                    let _one = self.looking.lock().unwrap_or_else(PoisonError::into_inner);
                    segment::check(segment_name, bytes, &self.firm).map(drop)
                };
                match looked {
                    // A newer phone's segments are kept for newer desks.
                    Ok(()) | Err(SegmentProblem::Newer(_)) => {}
                    Err(problem) => {
                        return Err(Refusal::new(StatusCode::UNPROCESSABLE_ENTITY, format!("{name}: {problem}")));
                    }
                }
            }
            ObjectName::Photo(part) => {
                if let Err(problem) = photo::open(part, bytes, &self.firm) {
                    return Err(Refusal::new(StatusCode::UNPROCESSABLE_ENTITY, format!("{name}: {problem}")));
                }
            }
            // Only what is there can be asked for again, so that nobody fills the disk with asks.
            ObjectName::SegmentAgain(asked) => drop(store.get(&ObjectName::Segment(*asked))?),
            ObjectName::PhotoAgain(asked) => drop(store.get(&ObjectName::Photo(*asked))?),
        }
        Ok(store.put(name, bytes)?)
    }
}

/// Where a hub keeps the objects: a folder of exchange like any other.
pub fn store_of(hub: &Path) -> PathBuf {
    hub.join("store")
}

struct Refusal {
    status: StatusCode,
    says: String,
}

impl Refusal {
    fn new(status: StatusCode, says: impl Into<String>) -> Self {
        Self { status, says: says.into() }
    }

    fn disk(error: &anyhow::Error) -> Self {
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, format!("the workroom's disk: {error:#}"))
    }
}

impl From<TransportProblem> for Refusal {
    fn from(problem: TransportProblem) -> Self {
        let status = match problem {
            TransportProblem::NotThere(_) => StatusCode::NOT_FOUND,
            TransportProblem::Full { .. } => StatusCode::INSUFFICIENT_STORAGE,
            _ => StatusCode::SERVICE_UNAVAILABLE,
        };
        Self::new(status, problem.to_string())
    }
}

impl From<PairProblem> for Refusal {
    fn from(problem: PairProblem) -> Self {
        let status = StatusCode::from_u16(problem.status()).unwrap_or(StatusCode::BAD_REQUEST);
        Self::new(status, problem.to_string())
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let mut response = json(self.status, &HubRefusal { says: self.says });
        if self.status == StatusCode::TOO_MANY_REQUESTS {
            // Every rate gives at least one request a second; whole seconds are what HTTP can say (RFC 9110, 10.2.3).
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("1"));
        }
        response
    }
}

fn json(status: StatusCode, body: &impl serde::Serialize) -> Response {
    let text = serde_json::to_vec(body).expect("records of texts always become JSON");
    (status, [(header::CONTENT_TYPE, "application/json")], text).into_response()
}

/// The hub's routes.
pub fn router(hub: Arc<Hub>) -> Router {
    Router::new()
        .route("/exchange/v1/list/{*prefix}", get(list))
        .route("/exchange/v1/objects/{*name}", get(fetch).put(store))
        .route(pairing::ASK, post(pair_ask))
        .route(pairing::ANSWER, post(pair_answer))
        .route(short::FETCH, post(pair_offer))
        .route(door::INVITE, post(door_invite))
        .route(door::WAITING, post(door_waiting))
        .route(door::CONFIRM, post(door_confirm))
        .fallback(nothing)
        .method_not_allowed_fallback(nothing)
        .with_state(hub)
}

type Peer = Extension<SocketAddr>;
type Name = Result<UrlPath<String>, PathRejection>;

/// A name in a path; bytes that are no text are no name, and the empty one is refused in our own words.
fn readable(name: Name) -> String {
    name.map_or_else(|_| String::new(), |UrlPath(name)| name)
}

async fn nothing(State(hub): State<Arc<Hub>>, peer: Peer) -> Refusal {
    if let Err(refusal) = hub.hold(&peer.ip().to_string(), STRANGER) {
        return refusal;
    }
    Refusal::new(StatusCode::NOT_FOUND, "there is nothing here")
}

/// Runs what waits for the disk apart from what waits for the network, and logs what is refused.
async fn guarded(
    hub: Arc<Hub>,
    from: IpAddr,
    name: String,
    work: impl FnOnce(&Hub) -> Result<Response, (String, Refusal)> + Send + 'static,
) -> Response {
    let inner = Arc::clone(&hub);
    match tokio::task::spawn_blocking(move || work(&inner)).await {
        Ok(Ok(response)) => response,
        Ok(Err((device, refusal))) => {
            // What is simply not there is no event, and knocking too often must not fill the list.
            if !matches!(refusal.status, StatusCode::NOT_FOUND | StatusCode::TOO_MANY_REQUESTS) {
                hub.note("refused", Some(from), &device, &name, 0, &refusal.says);
            }
            refusal.into_response()
        }
        Err(_) => Refusal::new(StatusCode::INTERNAL_SERVER_ERROR, "the workroom failed inside").into_response(),
    }
}

async fn list(State(hub): State<Arc<Hub>>, Extension(peer): Peer, prefix: Name, headers: HeaderMap) -> Response {
    let prefix = readable(prefix);
    guarded(hub, peer.ip(), prefix.clone(), move |hub| {
        let key = hub.admit(&headers, peer.ip()).map_err(|refusal| (String::new(), refusal))?;
        let names = checked_prefix(&prefix)
            .and_then(|()| hub.store().and_then(|mut store| store.list(&prefix)).map_err(Refusal::from))
            .map_err(|refusal| (key.name, refusal))?;
        Ok((StatusCode::OK, [(header::CONTENT_TYPE, "application/zstd")], write_list(&names)).into_response())
    })
    .await
}

/// `segments/`, `photos/HASH/` and the like: nothing that leads out of the store.
fn checked_prefix(prefix: &str) -> Result<(), Refusal> {
    let plain = prefix.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || matches!(b, b'/' | b'-'));
    let known = ["segments/", "photos/", "again/"].iter().any(|kind| prefix.starts_with(kind));
    if plain && known && prefix.ends_with('/') && prefix.len() < 200 {
        Ok(())
    } else {
        Err(Refusal::new(StatusCode::BAD_REQUEST, "lists are of segments/, photos/ and again/, or of a folder in them"))
    }
}

async fn fetch(State(hub): State<Arc<Hub>>, Extension(peer): Peer, name: Name, headers: HeaderMap) -> Response {
    let name = readable(name);
    guarded(hub, peer.ip(), name.clone(), move |hub| {
        let key = hub.admit(&headers, peer.ip()).map_err(|refusal| (String::new(), refusal))?;
        let read = || -> Result<Vec<u8>, Refusal> { Ok(hub.store()?.get(&object(&name)?)?) };
        let bytes = read().map_err(|refusal| (key.name, refusal))?;
        Ok((StatusCode::OK, [(header::CONTENT_TYPE, "application/octet-stream")], bytes).into_response())
    })
    .await
}

fn object(name: &str) -> Result<ObjectName, Refusal> {
    name.parse::<ObjectName>().map_err(|problem| Refusal::new(StatusCode::BAD_REQUEST, problem.to_string()))
}

async fn store(
    State(hub): State<Arc<Hub>>,
    Extension(peer): Peer,
    name: Name,
    headers: HeaderMap,
    body: Body,
) -> Response {
    let name = readable(name);
    // Who it is and how much it may be is settled before a byte of the body is read.
    let (asking, sent) = (Arc::clone(&hub), headers.clone());
    let admitted = tokio::task::spawn_blocking(move || asking.admit(&sent, peer.ip())).await;
    let holder = Arc::clone(&hub);
    // Held until the answer is on its way; who takes too long gives it back.
    let mut room = None;
    let (key, bytes) = match admitted {
        Ok(Ok(key)) => match object(&name) {
            Ok(object) => {
                let most = object.most_bytes();
                // Only for who is paired: a stranger's body is not kept, and takes nobody's room.
                room = holder.room.acquire_many(steps(&headers, most)).await.ok();
                match whole(body, &headers, most).await {
                    Ok(bytes) => (Ok((key, object)), bytes),
                    Err(refusal) => (Err((key.name, refusal)), axum::body::Bytes::new()),
                }
            }
            Err(refusal) => (Err((key.name, refusal)), axum::body::Bytes::new()),
        },
        Ok(Err(refusal)) => (Err((String::new(), refusal)), axum::body::Bytes::new()),
        Err(_) => {
            let inside = Refusal::new(StatusCode::INTERNAL_SERVER_ERROR, "the workroom failed inside");
            (Err((String::new(), inside)), axum::body::Bytes::new())
        }
    };
    let answer = guarded(hub, peer.ip(), name, move |hub| {
        let (key, object) = key?;
        let hash = hub.take_object(&key, &object, &bytes).map_err(|refusal| (key.name.clone(), refusal))?;
        hub.note("put", Some(peer.ip()), &key.name, &object.to_string(), bytes.len() as u64, "");
        hub.arrived.notify_one();
        Ok(json(StatusCode::CREATED, &HubReceipt { sha256: hash.to_string() }))
    })
    .await;
    drop(room);
    answer
}

/// How much room a body takes, in steps.
fn steps(headers: &HeaderMap, most: u64) -> u32 {
    u32::try_from(said(headers).unwrap_or(most).min(most).div_ceil(STEP as u64)).unwrap_or(1)
}

/// How long the body says it is.
fn said(headers: &HeaderMap) -> Option<u64> {
    headers.get(header::CONTENT_LENGTH).and_then(|value| value.to_str().ok()?.parse().ok())
}

/// A whole body, at most `most` bytes, in time.
async fn whole(body: Body, headers: &HeaderMap, most: u64) -> Result<axum::body::Bytes, Refusal> {
    let too_large = || Refusal::new(StatusCode::PAYLOAD_TOO_LARGE, format!("at most {most} bytes may come here"));
    let said = said(headers);
    if said.is_some_and(|said| said > most) {
        return Err(too_large());
    }
    let limit = usize::try_from(most).unwrap_or(usize::MAX);
    match timeout(BODY, to_bytes(body, limit)).await {
        Ok(Ok(bytes)) => Ok(bytes),
        // Longer than may be, or broken off.
        Ok(Err(_)) if said.is_none() => Err(too_large()),
        Ok(Err(error)) => Err(Refusal::new(StatusCode::BAD_REQUEST, format!("the body broke off: {error}"))),
        Err(_) => Err(Refusal::new(StatusCode::REQUEST_TIMEOUT, "the body took too long")),
    }
}

async fn pair_offer(State(hub): State<Arc<Hub>>, Extension(peer): Peer, headers: HeaderMap, body: Body) -> Response {
    if let Err(refusal) = hub.hold(&peer.ip().to_string(), STRANGER) {
        return refusal.into_response();
    }
    let knock = match whole(body, &headers, 64).await {
        Ok(bytes) => bytes,
        Err(refusal) => return refusal.into_response(),
    };
    let offer = hub.with_pairing(|pairing| {
        let open = pairing.as_ref().filter(|open| open.problem().is_none() && open.asked().is_none())?;
        (ShortCode::of(open.offer()).knock().as_bytes() == &*knock).then(|| open.offer().to_string())
    });
    match offer {
        Some(text) => (StatusCode::OK, text).into_response(),
        None => Refusal::new(StatusCode::NOT_FOUND, "no such code is shown here now").into_response(),
    }
}

/// What a command on this computer asks for; to anybody else there is nothing here.
async fn at_door(hub: &Hub, peer: SocketAddr, headers: &HeaderMap, body: Body) -> Result<String, Refusal> {
    if !hub.is_owner(headers) {
        hub.hold(&peer.ip().to_string(), STRANGER)?;
        return Err(Refusal::new(StatusCode::NOT_FOUND, "there is nothing here"));
    }
    Ok(String::from_utf8_lossy(&whole(body, headers, 64).await?).into_owned())
}

async fn door_invite(State(hub): State<Arc<Hub>>, Extension(peer): Peer, headers: HeaderMap, body: Body) -> Response {
    if let Err(refusal) = at_door(&hub, peer, &headers, body).await {
        return refusal.into_response();
    }
    let offer = hub.invite();
    let (address, code) = hub.typed_code().unwrap_or_default();
    json(StatusCode::OK, &door::Shown { offer, address, code })
}

async fn door_waiting(State(hub): State<Arc<Hub>>, Extension(peer): Peer, headers: HeaderMap, body: Body) -> Response {
    if let Err(refusal) = at_door(&hub, peer, &headers, body).await {
        return refusal.into_response();
    }
    let is_over = hub.with_pairing(|pairing| pairing.as_ref().is_none_or(|open| open.problem().is_some()));
    json(StatusCode::OK, &door::Waiting { name: hub.waiting().map(|asked| asked.name), is_over })
}

async fn door_confirm(State(hub): State<Arc<Hub>>, Extension(peer): Peer, headers: HeaderMap, body: Body) -> Response {
    let digits = match at_door(&hub, peer, &headers, body).await {
        Ok(digits) => digits,
        Err(refusal) => return refusal.into_response(),
    };
    let asked = hub.waiting();
    // It waits for the disk.
    let (deciding, typed) = (Arc::clone(&hub), digits);
    match tokio::task::spawn_blocking(move || deciding.confirm(&typed)).await {
        Ok(Ok(asked)) => json(StatusCode::OK, &door::Waiting { name: Some(asked.name), is_over: true }),
        Ok(Err(problem)) => Refusal::new(
            if asked.is_some() && hub.waiting().is_some() { StatusCode::CONFLICT } else { StatusCode::FORBIDDEN },
            format!("{problem:#}"),
        )
        .into_response(),
        Err(_) => Refusal::new(StatusCode::INTERNAL_SERVER_ERROR, "the workroom failed inside").into_response(),
    }
}

async fn pair_ask(State(hub): State<Arc<Hub>>, Extension(peer): Peer, headers: HeaderMap, body: Body) -> Response {
    if let Err(refusal) = hub.hold(&peer.ip().to_string(), STRANGER) {
        return refusal.into_response();
    }
    let taken = match whole(body, &headers, pairing::MOST_BODY).await {
        Ok(bytes) => hub.with_pairing(|pairing| match pairing {
            Some(invitation) => invitation.take(&bytes, now_ms() / 1000).map_err(Refusal::from),
            None => Err(PairProblem::Expired.into()),
        }),
        Err(refusal) => Err(refusal),
    };
    match taken {
        Ok(asked) => {
            hub.note("pair_ask", Some(peer.ip()), &asked.name, &asked.device.to_string(), 0, "");
            hub.asked.notify_one();
            StatusCode::ACCEPTED.into_response()
        }
        Err(refusal) => {
            hub.note("pair_failed", Some(peer.ip()), "", "", 0, &refusal.says);
            refusal.into_response()
        }
    }
}

async fn pair_answer(State(hub): State<Arc<Hub>>, Extension(peer): Peer, headers: HeaderMap, body: Body) -> Response {
    if let Err(refusal) = hub.hold(&peer.ip().to_string(), STRANGER) {
        return refusal.into_response();
    }
    let ticket = match whole(body, &headers, 64).await {
        Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
        Err(refusal) => return refusal.into_response(),
    };
    let answer = hub.with_pairing(|pairing| match pairing {
        Some(invitation) => invitation.answer(&ticket, now_ms() / 1000).map_err(Refusal::from),
        None => Err(PairProblem::Expired.into()),
    });
    match answer {
        Ok(None) => StatusCode::ACCEPTED.into_response(),
        Ok(Some(sealed)) => (StatusCode::OK, sealed).into_response(),
        Err(refusal) => refusal.into_response(),
    }
}

/// Serves until the process ends.
///
/// # Errors
/// When the listener itself fails.
pub async fn serve(listener: TcpListener, tls: TlsAcceptor, router: Router) -> anyhow::Result<()> {
    let places = Arc::new(Semaphore::new(CONNECTIONS));
    loop {
        let place = Arc::clone(&places).acquire_owned().await?;
        let (stream, peer) = match listener.accept().await {
            Ok(accepted) => accepted,
            // Too many open files, a connection that ended at once: the next one may do.
            Err(error) => {
                eprintln!("a connection could not be taken: {error}");
                tokio::time::sleep(Duration::from_millis(100)).await;
                continue;
            }
        };
        let (tls, router) = (tls.clone(), router.clone());
        tokio::spawn(async move {
            let _place = place;
            // Small answers go out at once.
            let _ = stream.set_nodelay(true);
            let Ok(Ok(stream)) = timeout(HANDSHAKE, tls.accept(stream)).await else { return };
            let service = TowerToHyperService::new(router.layer(Extension(peer)));
            // What ends a connection (cut off, too slow) is the client's to tell; the hub goes on.
            let _ = hyper::server::conn::http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEAD)
                .max_buf_size(64 << 10)
                .serve_connection(TokioIo::new(stream), service)
                .await;
        });
    }
}

//! Exchange with the firm's place: a folder, or the workroom's hub through the platform's own HTTP client.
//!
//! The core makes every request and reads every answer; a shell only sends ([`HubHttp`]). An exchange works on a
//! connection of its own, so readings are kept while it runs: call it off the thread that takes touches.

use crate::HouseBook;
use crate::fault::{BookFault, HttpFault, said};
use hangtrue_core::store::Files;
use hangtrue_core::sync::pairing::{Joining, Offer, OfferProblem, Paired, is_address};
use hangtrue_core::sync::{
    Firm, FirmKey, Folder, Hash, Http, HttpProblem, Hub, KeyProblem, PhotoWish, Report, Request, Response, Transport,
    Workroom, sync,
};
use hangtrue_core::walk::screen::Screen;
use std::path::Path;
use std::sync::{Arc, PoisonError};
use uuid::Uuid;

/// One name and value of a request's head.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct HttpHeader {
    /// Its name.
    pub name: String,
    /// Its value.
    pub value: String,
}

/// A request to the workroom's hub.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct HubRequest {
    /// `GET`, `PUT` or `POST`.
    pub method: String,
    /// Begins with `https://`. Redirects are not followed, no proxy is used.
    pub url: String,
    /// Names and values.
    pub headers: Vec<HttpHeader>,
    /// May be empty.
    pub body: Vec<u8>,
    /// SHA-256 of the one certificate (DER) to accept, whatever name or date it bears: 64 hexadecimal digits.
    pub certificate_sha256: String,
    /// An answer's body is read to one byte more than this and no further.
    pub most: u64,
    /// The request and its whole answer may take so long.
    pub seconds: u32,
}

/// The hub's answer, whatever its status.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct HubAnswer {
    /// The status code.
    pub status: u16,
    /// The body.
    pub body: Vec<u8>,
}

/// The platform's HTTPS client: TLS 1.3, and the one certificate that a request names.
#[uniffi::export(with_foreign)]
pub trait HubHttp: Send + Sync {
    /// Sends a request and waits for the whole answer.
    ///
    /// # Errors
    /// [`HttpFault::NotReached`] when nothing was sent; [`HttpFault::BrokenOff`] when no whole answer came.
    fn send(&self, request: HubRequest) -> Result<HubAnswer, HttpFault>;
}

/// The firm of this book.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct FirmCard {
    /// Eight digits that tell its key from another's.
    pub mark: String,
    /// The workroom, when this book was paired with one.
    pub workroom: Option<WorkroomCard>,
}

/// The workroom that this book was paired with.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct WorkroomCard {
    /// What it calls itself.
    pub name: String,
    /// Where it may be reached, `host:port`, the likeliest first.
    pub addresses: Vec<String>,
    /// SHA-256 of its certificate.
    pub certificate_sha256: String,
}

impl From<&Firm> for FirmCard {
    fn from(firm: &Firm) -> Self {
        let workroom = firm.workroom.as_ref().map(|workroom| WorkroomCard {
            name: workroom.name.clone(),
            addresses: workroom.addresses.clone(),
            certificate_sha256: workroom.certificate.to_string(),
        });
        Self { mark: firm.key.mark(), workroom }
    }
}

/// What an exchange did.
#[derive(Clone, PartialEq, Debug, uniffi::Record)]
pub struct ExchangeReport {
    /// True when the place holds everything that was written here.
    pub all_sent: bool,
    /// Facts that were new here.
    pub arrived: u64,
    /// Facts that were brought, each confirmed.
    pub sent: u64,
    /// Facts of this book that the place holds now.
    pub held: u64,
    /// Photos that became whole here.
    pub photos_arrived: u64,
    /// Photos that were brought.
    pub photos_sent: u64,
    /// Photos that are neither here nor there.
    pub photos_missing: u64,
    /// What it did and found, in sentences.
    pub says: Vec<String>,
    /// Why it ended before all was done. What was done stands; the next exchange goes on.
    pub stopped: Option<String>,
    /// The screen after it.
    pub screen: Screen,
}

#[uniffi::export]
impl HouseBook {
    /// The firm of this book; nothing while it has none.
    ///
    /// # Errors
    /// [`BookFault::NotKept`] when what was kept of it cannot be read.
    pub fn firm(&self) -> Result<Option<FirmCard>, BookFault> {
        let path = self.lock().book.path().to_owned();
        Ok(Firm::of(&path)?.as_ref().map(FirmCard::from))
    }

    /// Takes the firm's key as text (`AGE-SECRET-KEY-1…`), for a firm that exchanges through folders.
    ///
    /// # Errors
    /// [`BookFault::Refused`] for a text that is no key, and when the book belongs to another firm;
    /// [`BookFault::NotKept`] when the disk refused.
    pub fn take_firm_key(&self, text: String) -> Result<FirmCard, BookFault> {
        let key =
            text.parse().map_err(|problem: KeyProblem| said(&problem, "copy it whole from the firm's key file"))?;
        let open = self.lock();
        let workroom = Firm::of(open.book.path())?.and_then(|firm| firm.workroom);
        let firm = Firm { key, workroom };
        firm.keep(open.book.path(), open.book.files())?;
        Ok(FirmCard::from(&firm))
    }

    /// Begins to pair this book with a workroom. `code` is the text of the QR code that the hub shows, `address` one
    /// typed by hand as HOST:PORT where those in the code are not reached, `name` what the workroom's list will show.
    /// Gives the six digits to show: a person types them at the workroom. Then call [`HouseBook::finish_pairing`].
    ///
    /// # Errors
    /// [`BookFault::Refused`] for a code or an address that is none, a code that is used or too old, and when the
    /// workroom is not reached.
    pub fn begin_pairing(
        &self,
        code: String,
        address: Option<String>,
        name: String,
        http: Arc<dyn HubHttp>,
    ) -> Result<String, BookFault> {
        let offer: Offer = code.parse().map_err(|problem: OfferProblem| said(&problem, "scan the code again"))?;
        let mut addresses = offer.addresses.clone();
        if let Some(address) = address {
            addresses.insert(0, checked(address)?);
        }
        let mut secret = [0; 32];
        // Not the book's clock and chance, which a test may seed: whoever knows this secret can pair as this device.
        getrandom::fill(&mut secret).expect("a device that has no random bytes cannot keep a secret");
        let (device, now) = {
            let mut open = self.lock();
            (open.book.device(), open.clock.moment().ms / 1000)
        };
        let mut sender = Sender::new(http, addresses, offer.certificate);
        let joining = Joining::new(offer, device, &name, now, secret)?;
        joining.asked(&sender.send(&joining.ask())?)?;
        let digits = joining.code();
        *self.pairing.lock().unwrap_or_else(PoisonError::into_inner) = Some((joining, sender.addresses));
        Ok(digits)
    }

    /// Asks whether the six digits were typed; call it every second or two. Gives the firm once they were: from then on
    /// this book exchanges with that workroom. Nothing while nobody has typed yet.
    ///
    /// # Errors
    /// [`BookFault::Refused`] when pairing was not begun, when the digits did not agree or nobody typed them in time,
    /// when the workroom is not reached (call again), and when the book belongs to another firm;
    /// [`BookFault::NotKept`] when the disk refused (call again).
    pub fn finish_pairing(&self, http: Arc<dyn HubHttp>) -> Result<Option<FirmCard>, BookFault> {
        let mut pairing = self.pairing.lock().unwrap_or_else(PoisonError::into_inner);
        let Some((joining, addresses)) = pairing.as_mut() else {
            return Err(BookFault::refused("pairing was not begun", "scan the code that the workroom shows"));
        };
        let mut sender = Sender::new(http, addresses.clone(), joining.offer().certificate);
        let answer = sender.send(&joining.poll())?;
        // Too often: the next call comes later.
        if answer.status == 429 {
            return Ok(None);
        }
        let paired = match joining.polled(&answer) {
            Ok(None) => return Ok(None),
            Ok(Some(paired)) => paired,
            Err(problem) => {
                *pairing = None;
                return Err(problem.into());
            }
        };
        let firm = Firm::from(Paired { addresses: sender.addresses, ..paired });
        let open = self.lock();
        firm.keep(open.book.path(), open.book.files())?;
        *pairing = None;
        Ok(Some(FirmCard::from(&firm)))
    }

    /// Exchanges facts and photos with the paired workroom. `address` is one typed by hand as HOST:PORT, where the
    /// workroom has moved; it is kept. Without `fetch_photos` those of others stay where they are: a thin line.
    ///
    /// A workroom that is not reached or refuses is no fault: [`ExchangeReport::stopped`] says so.
    ///
    /// # Errors
    /// [`BookFault::Refused`] when the book is not paired, or for an address that is none; [`BookFault::NotKept`] when
    /// the book cannot be read or written.
    pub fn exchange_with_workroom(
        &self,
        http: Arc<dyn HubHttp>,
        address: Option<String>,
        fetch_photos: bool,
    ) -> Result<ExchangeReport, BookFault> {
        let path = self.lock().book.path().to_owned();
        let Some(Firm { key, workroom: Some(mut workroom) }) = Firm::of(&path)? else {
            return Err(BookFault::refused(
                "this book is not paired with a workroom",
                "scan the code that the workroom shows",
            ));
        };
        if let Some(address) = address {
            workroom.try_first(checked(address)?);
            let open = self.lock();
            Firm { key: key.clone(), workroom: Some(workroom.clone()) }.keep(&path, open.book.files())?;
        }
        let Workroom { name, key: own, certificate, addresses } = workroom;
        let mut hub = Hub::new(Sender::new(http, addresses, certificate), certificate, own);
        self.exchange(&key, &mut hub, &format!("the workroom \"{name}\""), fetch_photos)
    }

    /// Exchanges facts and photos through a folder: a share, a stick, a synced drive. `begin` makes the folder a place
    /// of exchange, once, on purpose: an unplugged stick leaves an empty folder too.
    ///
    /// A folder that is away, full or read-only is no fault: [`ExchangeReport::stopped`] says so.
    ///
    /// # Errors
    /// [`BookFault::Refused`] when the book has no firm's key; [`BookFault::NotKept`] when the book cannot be read or
    /// written.
    pub fn exchange_with_folder(
        &self,
        folder: String,
        begin: bool,
        fetch_photos: bool,
    ) -> Result<ExchangeReport, BookFault> {
        let (key, fresh, files) = self.for_folder()?;
        let at = Path::new(&folder);
        let opened = if begin { Folder::create_for(at, fresh, &key, files) } else { Folder::open(at, files) };
        match opened {
            Ok(mut place) => self.exchange(&key, &mut place, &folder, fetch_photos),
            Err(problem) => self.report(&Report::default(), Some(problem.to_string())),
        }
    }
}

impl HouseBook {
    /// What an exchange through a folder needs: the firm's key, a name for the place should it be a new one, the files.
    pub(crate) fn for_folder(&self) -> Result<(FirmKey, Uuid, Files), BookFault> {
        let mut open = self.lock();
        let Some(Firm { key, .. }) = Firm::of(open.book.path())? else {
            return Err(BookFault::refused(
                "this book has no firm's key yet",
                "pair it with the workroom, or take the firm's key",
            ));
        };
        Ok((key, open.clock.moment().uuid(), open.book.files().clone()))
    }

    /// Exchanges with a place; `called` is what a person calls it.
    pub(crate) fn exchange(
        &self,
        key: &FirmKey,
        place: &mut dyn Transport,
        called: &str,
        fetch_photos: bool,
    ) -> Result<ExchangeReport, BookFault> {
        // One at a time; the walk goes on meanwhile on its own connection.
        let _one = self.exchanging.lock().unwrap_or_else(PoisonError::into_inner);
        let mut book = self.lock().book.beside()?;
        let photos = if fetch_photos { PhotoWish::Both } else { PhotoWish::Bring };
        let report = sync(&mut book, key, place, photos, &mut || self.lock().clock.moment())?;
        let stopped = report.stopped.as_ref().map(|problem| problem.to_string().replace(&place.place(), called));
        if report.new_device.is_some() {
            // The other connection still writes as the device that this book no longer is.
            self.lock().book = book;
        }
        self.report(&report, stopped)
    }

    pub(crate) fn report(&self, report: &Report, stopped: Option<String>) -> Result<ExchangeReport, BookFault> {
        let mut open = self.lock();
        open.refresh()?;
        Ok(ExchangeReport {
            all_sent: report.all_sent,
            arrived: report.arrived,
            sent: report.sent,
            held: report.held,
            photos_arrived: report.photos_arrived,
            photos_sent: report.photos_sent,
            photos_missing: report.photos_missing,
            says: report.says(),
            stopped,
            screen: open.screen()?,
        })
    }
}

/// An address as typed, if it is one.
fn checked(address: String) -> Result<String, BookFault> {
    let address = address.trim().to_owned();
    if is_address(&address) {
        return Ok(address);
    }
    Err(BookFault::Refused {
        reason: format!("\"{address}\" is no address"),
        advice: "type it as HOST:PORT, such as 192.168.1.20:7443".to_owned(),
        id: Some(address),
    })
}

/// Sends through the platform's client, to one address after the other.
struct Sender {
    http: Arc<dyn HubHttp>,
    addresses: Vec<String>,
    certificate: Hash,
}

/// A request and its answer may take so long: a part of a photo over a thin line is the longest.
const SECONDS: u32 = 90;

impl Sender {
    fn new(http: Arc<dyn HubHttp>, addresses: Vec<String>, certificate: Hash) -> Self {
        Self { http, addresses, certificate }
    }

    fn try_one(&self, address: &str, request: &Request) -> Result<Response, HttpFault> {
        let header = |(name, value): &(String, String)| HttpHeader { name: name.clone(), value: value.clone() };
        let answer = self.http.send(HubRequest {
            method: request.method.name().to_owned(),
            url: format!("https://{address}{}", request.path),
            headers: request.headers.iter().map(header).collect(),
            body: request.body.clone(),
            certificate_sha256: self.certificate.to_string(),
            most: request.most,
            seconds: SECONDS,
        })?;
        // A refusal's words may be longer than the answer that was wanted.
        if answer.body.len() as u64 > request.most && answer.status < 400 {
            return Err(HttpFault::BrokenOff { reason: format!("the answer is longer than {} bytes", request.most) });
        }
        Ok(Response { status: answer.status, body: answer.body })
    }
}

impl Http for Sender {
    fn send(&mut self, request: &Request) -> Result<Response, HttpProblem> {
        let mut last = HttpProblem { what: "no address of the workroom is known".to_owned() };
        for at in 0..self.addresses.len() {
            match self.try_one(&self.addresses[at], request) {
                Ok(response) => {
                    // The one that answered is tried first from now on.
                    self.addresses[..=at].rotate_right(1);
                    return Ok(response);
                }
                Err(HttpFault::NotReached { reason }) => last = HttpProblem { what: reason },
                Err(HttpFault::BrokenOff { reason }) => return Err(HttpProblem { what: reason }),
            }
        }
        Err(last)
    }
}

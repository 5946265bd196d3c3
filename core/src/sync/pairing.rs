//! Pairing a device with the hub: an offer (the QR code) and a check code of six digits.
//!
//! The hub shows an [`Offer`]: where it is, its certificate's fingerprint and a one-time public key. Whoever scans it
//! knows the hub; the hub does not know who scanned. So the device shows six digits that only the hub and this very
//! device can work out, and a person types them at the hub; three slips end it. Only then the firm's key goes over,
//! encrypted to the device that asked.
//!
//! No clock and no chance in here: whoever calls hands in seconds since 1970 and random bytes.

use super::hub::{Method, Request, Response};
use super::key::{FirmKey, open_with, seal_to};
use super::name::Hash;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

/// An offer is worth nothing after this many seconds: long enough to carry it to another room and type it there.
pub const OFFER_SECONDS: u64 = 300;
/// The six digits must be typed within this many seconds after the device asked.
pub const CODE_SECONDS: u64 = 300;
/// So often may the six digits be typed; a slip costs one.
pub const TRIES: u32 = 3;
/// Where a device asks to be paired.
pub const ASK: &str = "/pair/v1/ask";
/// Where it fetches the answer.
pub const ANSWER: &str = "/pair/v1/answer";
/// The most bytes of an ask or an answer.
pub const MOST_BODY: u64 = 16 << 10;
const MOST_NAME: usize = 60;
const SCHEME: &str = "hangtrue-pair:";
const VERSION: u32 = 1;

/// What the QR code says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Offer {
    /// Where the hub can be reached, `host:port`, the likeliest first.
    pub addresses: Vec<String>,
    /// SHA-256 of the hub's certificate (DER).
    pub certificate: Hash,
    /// The one-time public key, an age recipient.
    pub key: String,
    /// Seconds since 1970 after which it is worth nothing.
    pub until: u64,
}

impl fmt::Display for Offer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{SCHEME}{VERSION}?")?;
        for address in &self.addresses {
            write!(f, "at={address}&")?;
        }
        write!(f, "cert={}&key={}&until={}", self.certificate, self.key, self.until)
    }
}

impl FromStr for Offer {
    type Err = OfferProblem;

    fn from_str(text: &str) -> Result<Self, OfferProblem> {
        let rest = text.trim().strip_prefix(SCHEME).ok_or(OfferProblem::NotAnOffer)?;
        let (version, fields) = rest.split_once('?').ok_or(OfferProblem::NotAnOffer)?;
        match version.parse::<u32>() {
            Ok(VERSION) => {}
            Ok(newer) if newer > VERSION => return Err(OfferProblem::Newer(newer)),
            _ => return Err(OfferProblem::NotAnOffer),
        }
        let (mut addresses, mut certificate, mut key, mut until) = (Vec::new(), None, None, None);
        let once = |field: &'static str, slot: &mut Option<String>, value: &str| match slot {
            Some(_) => Err(OfferProblem::Field { field, wants: "to be there once" }),
            None => {
                *slot = Some(value.to_owned());
                Ok(())
            }
        };
        for field in fields.split('&') {
            let (name, value) = field.split_once('=').ok_or(OfferProblem::NotAnOffer)?;
            match name {
                "at" if is_address(value) && addresses.len() < 8 => addresses.push(value.to_owned()),
                "at" => return Err(OfferProblem::Field { field: "at", wants: "at most eight of HOST:PORT" }),
                "cert" => once("cert", &mut certificate, value)?,
                "key" => once("key", &mut key, value)?,
                "until" => once("until", &mut until, value)?,
                // A field that a newer minor version added.
                _ => {}
            }
        }
        let certificate = certificate
            .and_then(|hex| hex.parse().ok())
            .ok_or(OfferProblem::Field { field: "cert", wants: "64 lower-case hexadecimal digits" })?;
        let key = key
            .filter(|key| key.parse::<age::x25519::Recipient>().is_ok())
            .ok_or(OfferProblem::Field { field: "key", wants: "an age public key, age1…" })?;
        let until = until
            .filter(|digits| digits.bytes().all(|digit| digit.is_ascii_digit()))
            .and_then(|digits| digits.parse().ok())
            .ok_or(OfferProblem::Field { field: "until", wants: "seconds since 1970" })?;
        if addresses.is_empty() {
            return Err(OfferProblem::Field { field: "at", wants: "at least one HOST:PORT" });
        }
        Ok(Self { addresses, certificate, key, until })
    }
}

/// `host:port` with nothing in it that could turn it into another address.
pub fn is_address(text: &str) -> bool {
    let Some((host, port)) = text.rsplit_once(':') else { return false };
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-');
    let host_ok = match host.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')) {
        Some(v6) => v6.parse::<std::net::Ipv6Addr>().is_ok(),
        None => !host.is_empty() && host.len() <= 253 && host.chars().all(plain),
    };
    host_ok && port.bytes().all(|digit| digit.is_ascii_digit()) && port.parse::<u16>().is_ok_and(|port| port > 0)
}

/// Text that is no offer to pair. Each has a code that never changes.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum OfferProblem {
    /// Something else.
    #[error("this is no code to pair with a workroom; it would begin {SCHEME}{VERSION}?")]
    NotAnOffer,
    /// A newer version's.
    #[error("this code is of version {0}; a newer Hangtrue is needed on this device")]
    Newer(u32),
    /// A field that is missing or does not fit.
    #[error("the code's field \"{field}\" wants {wants}")]
    Field {
        /// Which.
        field: &'static str,
        /// What would be right.
        wants: &'static str,
    },
}

impl OfferProblem {
    /// Its code, the same in every reader of the format.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NotAnOffer => "not_an_offer",
            Self::Newer(_) => "newer",
            Self::Field { .. } => "field",
        }
    }
}

/// What a device hands in, encrypted to the one-time key.
#[derive(Clone, Serialize, Deserialize)]
struct Ask {
    device: Uuid,
    name: String,
    reply: String,
    secret: String,
}

/// What the hub answers, encrypted to the device's own one-time key.
#[derive(Serialize, Deserialize)]
struct Answer {
    firm: String,
    key: String,
    workroom: String,
}

/// The six digits.
fn code(offer: &str, ask: &Ask) -> String {
    let mut hash = Sha256::new();
    for part in ["hangtrue check code 1", offer, &ask.device.to_string(), &ask.name, &ask.reply, &ask.secret] {
        hash.update((part.len() as u64).to_be_bytes());
        hash.update(part.as_bytes());
    }
    let whole: [u8; 32] = hash.finalize().into();
    let (first, _) = whole.split_first_chunk::<8>().expect("32 bytes begin with 8");
    format!("{:06}", u64::from_be_bytes(*first) % 1_000_000)
}

fn ticket(ask: &Ask) -> String {
    Hash::of(format!("hangtrue ticket 1 {}", ask.secret).as_bytes()).to_string()
}

/// The device's side of pairing.
pub struct Joining {
    offer: Offer,
    ask: Ask,
    reply: age::x25519::Identity,
}

impl fmt::Debug for Joining {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Joining").field("device", &self.ask.device).finish_non_exhaustive()
    }
}

/// What a device has once it is paired; to be kept where the platform keeps secrets.
#[derive(Clone)]
pub struct Paired {
    /// The firm's key.
    pub firm: FirmKey,
    /// This device's own key at the hub.
    pub key: String,
    /// What the workroom calls itself.
    pub workroom: String,
    /// Where the hub was reached.
    pub addresses: Vec<String>,
    /// The hub's certificate: the only one that is ever accepted.
    pub certificate: Hash,
}

impl fmt::Debug for Paired {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Paired").field("firm", &self.firm).field("workroom", &self.workroom).finish_non_exhaustive()
    }
}

impl Joining {
    /// Begins to join. `name` is what the workroom's list shows (at most 60 characters are kept), `secret` 32 fresh random bytes.
    ///
    /// # Errors
    /// [`PairProblem::Expired`] when the offer's time is over by this device's clock.
    pub fn new(offer: Offer, device: Uuid, name: &str, now: u64, secret: [u8; 32]) -> Result<Self, PairProblem> {
        // The hub's clock decides; a phone whose clock is hours off must still be able to pair, so here only an offer
        // that is more than a day old is refused outright.
        if now > offer.until.saturating_add(86_400) {
            return Err(PairProblem::Expired);
        }
        let reply = age::x25519::Identity::generate();
        let name = name.chars().filter(|c| !c.is_control()).take(MOST_NAME).collect();
        let ask = Ask { device, name, reply: reply.to_public().to_string(), secret: Hash(secret).to_string() };
        Ok(Self { offer, ask, reply })
    }

    /// Where to send, and which certificate to accept.
    pub const fn offer(&self) -> &Offer {
        &self.offer
    }

    /// The six digits to show; they are typed at the workroom.
    pub fn code(&self) -> String {
        code(&self.offer.to_string(), &self.ask)
    }

    /// The ask, to be sent once.
    pub fn ask(&self) -> Request {
        let to = self.offer.key.parse().expect("an offer's key was read as an age public key");
        let plain = serde_json::to_vec(&self.ask).expect("four texts always become JSON");
        post(ASK, seal_to(&to, &plain))
    }

    /// Takes what came back for the ask.
    ///
    /// # Errors
    /// [`PairProblem`].
    pub fn asked(&self, response: &Response) -> Result<(), PairProblem> {
        if response.status == 202 { Ok(()) } else { Err(PairProblem::of(response)) }
    }

    /// Asks whether the digits were typed; to be sent every second or so.
    pub fn poll(&self) -> Request {
        post(ANSWER, ticket(&self.ask).into_bytes())
    }

    /// Takes what came back for a poll; `None` while nobody has typed yet.
    ///
    /// # Errors
    /// [`PairProblem`].
    pub fn polled(&self, response: &Response) -> Result<Option<Paired>, PairProblem> {
        match response.status {
            202 => return Ok(None),
            200 => {}
            _ => return Err(PairProblem::of(response)),
        }
        let nonsense = |what: String| PairProblem::Nonsense(what);
        let plain =
            open_with(&self.reply, &response.body, MOST_BODY).map_err(|problem| nonsense(problem.to_string()))?;
        let answer: Answer = serde_json::from_slice(&plain).map_err(|error| nonsense(error.to_string()))?;
        let firm = answer.firm.parse().map_err(|problem: super::key::KeyProblem| nonsense(problem.to_string()))?;
        Ok(Some(Paired {
            firm,
            key: answer.key,
            workroom: answer.workroom,
            addresses: self.offer.addresses.clone(),
            certificate: self.offer.certificate,
        }))
    }
}

fn post(path: &str, body: Vec<u8>) -> Request {
    Request { method: Method::Post, path: path.to_owned(), headers: Vec::new(), body, most: MOST_BODY }
}

/// Why pairing did not come about.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum PairProblem {
    /// Its time is over.
    #[error("the code is no longer good; show a new one at the workroom")]
    Expired,
    /// Somebody has used the offer.
    #[error("the code was already used; if that was not you, somebody else scanned it: show a new one at the workroom")]
    Used,
    /// The digits did not agree, or nobody typed them in time.
    #[error("the workroom did not confirm the six digits; show a new code and start again")]
    NotConfirmed,
    /// Other digits than the device shows; they may be typed again.
    #[error("these are not the six digits that the device shows; look again, {left} more may be tried")]
    Slip {
        /// How often.
        left: u32,
    },
    /// What was handed in cannot be read.
    #[error("what was handed in is no ask to pair: {0}")]
    NotAnAsk(String),
    /// The hub answers what cannot be.
    #[error("the workroom answers what cannot be: {0}")]
    Nonsense(String),
}

impl PairProblem {
    /// The HTTP status that tells it.
    pub const fn status(&self) -> u16 {
        match self {
            Self::Expired => 410,
            Self::Used => 409,
            Self::NotConfirmed | Self::Slip { .. } => 403,
            Self::NotAnAsk(_) => 400,
            Self::Nonsense(_) => 500,
        }
    }

    fn of(response: &Response) -> Self {
        match response.status {
            410 => Self::Expired,
            409 => Self::Used,
            403 => Self::NotConfirmed,
            400 => Self::NotAnAsk("the workroom could not read it".to_owned()),
            other => Self::Nonsense(format!("status {other}")),
        }
    }
}

/// Who wants to be paired.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Asked {
    /// The device's id in its own book.
    pub device: Uuid,
    /// What it calls itself.
    pub name: String,
}

enum State {
    Open,
    Asked { ask: Ask, at: u64, left: u32 },
    Done { ticket: String, sealed: Vec<u8> },
    Dead { problem: PairProblem },
}

/// The hub's side: one offer, for one device, with three tries.
pub struct Invitation {
    offer: Offer,
    key: age::x25519::Identity,
    state: State,
}

impl fmt::Debug for Invitation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Invitation").field("offer", &self.offer).finish_non_exhaustive()
    }
}

impl Invitation {
    /// A new offer with a one-time key (from the system's own randomness, as the age library takes it).
    pub fn new(addresses: Vec<String>, certificate: Hash, now: u64) -> Self {
        let key = age::x25519::Identity::generate();
        let offer = Offer {
            addresses,
            certificate,
            key: key.to_public().to_string(),
            until: now.saturating_add(OFFER_SECONDS),
        };
        Self { offer, key, state: State::Open }
    }

    /// What to show.
    pub const fn offer(&self) -> &Offer {
        &self.offer
    }

    /// Who has asked and waits for the digits to be typed.
    pub fn asked(&self) -> Option<Asked> {
        match &self.state {
            State::Asked { ask, .. } => Some(Asked { device: ask.device, name: ask.name.clone() }),
            _ => None,
        }
    }

    /// Why it can no longer be used, if so.
    pub const fn problem(&self) -> Option<&PairProblem> {
        match &self.state {
            State::Dead { problem } => Some(problem),
            _ => None,
        }
    }

    /// Takes a device's ask; the first one that can be read uses the offer up.
    ///
    /// # Errors
    /// [`PairProblem::Expired`], [`PairProblem::Used`], [`PairProblem::NotAnAsk`].
    pub fn take(&mut self, body: &[u8], now: u64) -> Result<Asked, PairProblem> {
        self.tick(now);
        match &self.state {
            State::Open => {}
            State::Dead { problem: PairProblem::Expired } => return Err(PairProblem::Expired),
            _ => return Err(PairProblem::Used),
        }
        let not_an_ask = |what: String| PairProblem::NotAnAsk(what);
        let plain = open_with(&self.key, body, MOST_BODY).map_err(|problem| not_an_ask(problem.to_string()))?;
        let ask: Ask = serde_json::from_slice(&plain).map_err(|error| not_an_ask(error.to_string()))?;
        if ask.name.chars().count() > MOST_NAME || ask.name.chars().any(char::is_control) {
            return Err(not_an_ask(format!("a name has at most {MOST_NAME} plain characters")));
        }
        if ask.reply.parse::<age::x25519::Recipient>().is_err() || ask.secret.parse::<Hash>().is_err() {
            return Err(not_an_ask("its key or its secret has another form".to_owned()));
        }
        let asked = Asked { device: ask.device, name: ask.name.clone() };
        self.state = State::Asked { ask, at: now, left: TRIES };
        Ok(asked)
    }

    /// Takes the six digits as typed by hand. A slip costs a try, and the last one kills the offer. `key` is what the device will
    /// show the hub from now on.
    ///
    /// # Errors
    /// [`PairProblem::Slip`], [`PairProblem::NotConfirmed`] and [`PairProblem::Expired`]; nothing was given away.
    pub fn confirm(
        &mut self,
        typed: &str,
        now: u64,
        firm: &FirmKey,
        key: &str,
        workroom: &str,
    ) -> Result<Asked, PairProblem> {
        self.tick(now);
        let named = self.asked();
        let offer = self.offer.to_string();
        let (ask, asked, left) = match (&mut self.state, named) {
            (State::Asked { ask, left, .. }, Some(asked)) => (ask, asked, left),
            (State::Dead { problem }, _) => return Err(problem.clone()),
            _ => return Err(PairProblem::NotConfirmed),
        };
        let digits: String = typed.chars().filter(|c| !c.is_whitespace()).collect();
        if digits != code(&offer, ask) {
            *left -= 1;
            if *left > 0 {
                return Err(PairProblem::Slip { left: *left });
            }
            self.state = State::Dead { problem: PairProblem::NotConfirmed };
            return Err(PairProblem::NotConfirmed);
        }
        let answer = Answer { firm: firm.to_text(), key: key.to_owned(), workroom: workroom.to_owned() };
        let plain = serde_json::to_vec(&answer).expect("three texts always become JSON");
        let reply = ask.reply.parse().expect("the key was read as an age public key when the ask was taken");
        let (ticket, sealed) = (ticket(ask), seal_to(&reply, &plain));
        self.state = State::Done { ticket, sealed };
        Ok(asked)
    }

    /// The answer to a poll: `None` while nobody has typed.
    ///
    /// # Errors
    /// [`PairProblem`] when there will be none.
    pub fn answer(&mut self, polled: &str, now: u64) -> Result<Option<Vec<u8>>, PairProblem> {
        self.tick(now);
        match &self.state {
            State::Asked { ask, .. } if ticket(ask) == polled => Ok(None),
            State::Done { ticket, sealed } if ticket == polled => Ok(Some(sealed.clone())),
            State::Dead { problem } => Err(problem.clone()),
            _ => Err(PairProblem::NotConfirmed),
        }
    }

    /// Lets the time pass.
    fn tick(&mut self, now: u64) {
        match &self.state {
            State::Open if now > self.offer.until => self.state = State::Dead { problem: PairProblem::Expired },
            State::Asked { at, .. } if now > at.saturating_add(CODE_SECONDS) => {
                self.state = State::Dead { problem: PairProblem::NotConfirmed };
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: u64 = 1_800_000_000;

    fn start() -> (Invitation, Joining) {
        let invitation = Invitation::new(vec!["192.0.2.7:7443".to_owned()], Hash::of(b"certificate"), NOW);
        let offer = invitation.offer().to_string().parse().unwrap();
        let joining = Joining::new(offer, Uuid::from_u128(5), "Ida's phone", NOW + 5, [7; 32]).unwrap();
        (invitation, joining)
    }

    fn answer(result: Result<Option<Vec<u8>>, PairProblem>) -> Response {
        match result {
            Ok(None) => Response { status: 202, body: Vec::new() },
            Ok(Some(body)) => Response { status: 200, body },
            Err(problem) => Response { status: problem.status(), body: Vec::new() },
        }
    }

    #[test]
    fn the_right_digits_hand_over_the_key_and_nothing_before_them_does() {
        let (mut hub, phone) = start();
        let firm = FirmKey::generate();
        assert_eq!(hub.take(&phone.ask().body, NOW + 6).unwrap().name, "Ida's phone");
        let poll = String::from_utf8(phone.poll().body).unwrap();
        assert!(phone.polled(&answer(hub.answer(&poll, NOW + 7))).unwrap().is_none());
        hub.confirm(&phone.code(), NOW + 30, &firm, "key", "Loft").unwrap();
        let paired = phone.polled(&answer(hub.answer(&poll, NOW + 31))).unwrap().unwrap();
        assert_eq!(paired.firm.to_text(), firm.to_text());
        assert_eq!((paired.key.as_str(), paired.workroom.as_str()), ("key", "Loft"));
    }

    #[test]
    fn a_slip_costs_a_try_and_the_last_one_kills_the_offer() {
        let (mut hub, phone) = start();
        hub.take(&phone.ask().body, NOW).unwrap();
        let wrong = if phone.code() == "000000" { "000001" } else { "000000" };
        for left in [2, 1] {
            let slip = hub.confirm(wrong, NOW, &FirmKey::generate(), "", "").unwrap_err();
            assert_eq!(slip, PairProblem::Slip { left });
            let poll = String::from_utf8(phone.poll().body).unwrap();
            assert!(phone.polled(&answer(hub.answer(&poll, NOW))).unwrap().is_none(), "the device waits on");
        }
        let mut right = start();
        right.0.take(&right.1.ask().body, NOW).unwrap();
        right.0.confirm("1", NOW, &FirmKey::generate(), "", "").unwrap_err();
        assert!(
            right.0.confirm(&right.1.code(), NOW, &FirmKey::generate(), "", "").is_ok(),
            "typed rightly after a slip"
        );
        assert_eq!(hub.confirm(wrong, NOW, &FirmKey::generate(), "", "").unwrap_err(), PairProblem::NotConfirmed);
        assert_eq!(
            hub.confirm(&phone.code(), NOW, &FirmKey::generate(), "", "").unwrap_err(),
            PairProblem::NotConfirmed
        );
        let poll = String::from_utf8(phone.poll().body).unwrap();
        assert_eq!(phone.polled(&answer(hub.answer(&poll, NOW))).unwrap_err(), PairProblem::NotConfirmed);
    }

    #[test]
    fn who_scans_second_is_told_and_his_digits_are_not_the_first_ones() {
        let (mut hub, phone) = start();
        let stranger = Joining::new(hub.offer().clone(), Uuid::from_u128(6), "Ida's phone", NOW, [8; 32]).unwrap();
        hub.take(&stranger.ask().body, NOW).unwrap();
        let refused = hub.take(&phone.ask().body, NOW).unwrap_err();
        assert_eq!(refused, PairProblem::Used);
        assert_ne!(phone.code(), stranger.code());
        assert_eq!(
            hub.confirm(&phone.code(), NOW, &FirmKey::generate(), "", "").unwrap_err(),
            PairProblem::Slip { left: 2 }
        );
    }

    #[test]
    fn there_are_two_minutes_at_the_least_for_each_part() {
        let (mut hub, phone) = start();
        hub.take(&phone.ask().body, NOW + 120).unwrap();
        hub.confirm(&phone.code(), NOW + 240, &FirmKey::generate(), "", "").unwrap();
    }

    #[test]
    fn late_is_late_and_another_hubs_ask_is_none() {
        let (mut hub, phone) = start();
        assert_eq!(hub.take(&phone.ask().body, NOW + OFFER_SECONDS + 1).unwrap_err(), PairProblem::Expired);
        let (mut hub, phone) = start();
        hub.take(&phone.ask().body, NOW + OFFER_SECONDS).unwrap();
        assert_eq!(
            hub.confirm(&phone.code(), NOW + OFFER_SECONDS + CODE_SECONDS + 1, &FirmKey::generate(), "", "")
                .unwrap_err(),
            PairProblem::NotConfirmed
        );
        let (mut hub, _) = start();
        assert!(matches!(hub.take(&phone.ask().body, NOW), Err(PairProblem::NotAnAsk(_))));
        assert!(matches!(hub.take(b"", NOW), Err(PairProblem::NotAnAsk(_))));
        assert!(hub.take(&start().1.ask().body, NOW).is_err());
        // What could not be read did not use the offer up.
        let good = Joining::new(hub.offer().clone(), Uuid::from_u128(6), "", NOW, [8; 32]).unwrap();
        assert!(hub.take(&good.ask().body, NOW).is_ok());
    }

    #[test]
    fn offers_that_are_none_are_refused_with_their_field() {
        let good = start().0.offer().to_string();
        for (bad, code) in [
            (String::new(), "not_an_offer"),
            ("https://example.org".to_owned(), "not_an_offer"),
            (good.replace("pair:1", "pair:2"), "newer"),
            (good.replace("pair:1", "pair:x"), "not_an_offer"),
            (good.replace("at=192.0.2.7:7443&", ""), "field"),
            (good.replace("at=192.0.2.7:7443", "at=192.0.2.7"), "field"),
            (good.replace("at=192.0.2.7:7443", "at=a@b:7443"), "field"),
            (good.replace("at=192.0.2.7:7443", "at=b/c:7443"), "field"),
            (good.replace("key=age1", "key=age2"), "field"),
            (good.replace("until=", "until=+"), "field"),
            (format!("{good}&cert={}", Hash::of(b"")), "field"),
        ] {
            assert_eq!(bad.parse::<Offer>().unwrap_err().code(), code, "{bad}");
        }
        assert!(format!("{good}&new=1").parse::<Offer>().is_ok());
    }
}

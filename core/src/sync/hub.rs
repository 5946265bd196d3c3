//! The workroom's hub as a place of exchange, as a client sees it. Nothing here speaks to a network: a [`Request`] is
//! built, the shell (the phone's own HTTP client, or the workroom's) sends it, and the [`Response`] is taken.

use super::name::{Hash, ObjectName};
use super::transport::{Transport, TransportProblem};
use serde::{Deserialize, Serialize};
use std::io::Read;

/// How a request is made.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Method {
    /// Ask for something.
    Get,
    /// Create something.
    Put,
    /// Hand something in.
    Post,
}

impl Method {
    /// As HTTP writes it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Get => "GET",
            Self::Put => "PUT",
            Self::Post => "POST",
        }
    }
}

/// A request to the hub. The shell puts the hub's address before `path` and accepts only the pinned certificate.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Request {
    /// How.
    pub method: Method,
    /// Begins with `/`.
    pub path: String,
    /// Names and values.
    pub headers: Vec<(String, String)>,
    /// May be empty.
    pub body: Vec<u8>,
    /// An answer's body longer than this is not read further and counts as [`HttpProblem`].
    pub most: u64,
}

/// The hub's answer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Response {
    /// The status code.
    pub status: u16,
    /// The body.
    pub body: Vec<u8>,
}

/// The request did not come through: no route, a time-out, another certificate, a body cut off.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{what}")]
pub struct HttpProblem {
    /// What happened, in the client's words.
    pub what: String,
}

/// An HTTPS client that trusts one certificate: the only thing the shell provides.
///
/// An answer 429 says in `Retry-After` how many seconds to wait; a client that can wait does so and sends again. One
/// that hands the answer on ends the sync there, and the next sync goes on.
pub trait Http {
    /// Sends a request and waits for the whole answer.
    ///
    /// # Errors
    /// [`HttpProblem`] when no whole answer came.
    fn send(&mut self, request: &Request) -> Result<Response, HttpProblem>;
}

/// What a hub says when it does not do as asked; its body for every status from 400.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct HubRefusal {
    /// One plain sentence: what was wrong and what would be right.
    pub says: String,
}

/// What a hub says after it stored an object: the hash of what it read back from its disk.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct HubReceipt {
    /// 64 hexadecimal digits.
    pub sha256: String,
}

/// The most bytes of a list of names when decompressed: some 200,000 objects.
pub const MOST_LIST: u64 = 32 << 20;

/// The path before the name of an object.
pub const OBJECTS: &str = "/exchange/v1/objects/";
/// The path before the prefix of a list.
pub const LIST: &str = "/exchange/v1/list/";

/// The hub as a place of exchange.
#[derive(Debug)]
pub struct Hub<H> {
    http: H,
    place: String,
    key: String,
}

impl<H: Http> Hub<H> {
    /// The hub with this certificate; `key` is what it gave this device when it was paired.
    pub fn new(http: H, certificate: Hash, key: String) -> Self {
        Self { http, place: format!("hub-{certificate}"), key }
    }

    fn ask(&mut self, method: Method, path: String, body: Vec<u8>, most: u64) -> Result<Response, TransportProblem> {
        let headers = vec![("authorization".to_owned(), format!("Bearer {}", self.key))];
        let response = self.http.send(&Request { method, path: path.clone(), headers, body, most });
        let response = response.map_err(|problem| self.away(problem.what))?;
        if (200..300).contains(&response.status) {
            return Ok(response);
        }
        let what = serde_json::from_slice::<HubRefusal>(&response.body)
            .map_or_else(|_| format!("it answers with status {}", response.status), |refusal| refusal.says);
        let place = self.place.clone();
        Err(match response.status {
            404 => TransportProblem::NotThere(path),
            408 | 429 | 500 | 502..=504 => TransportProblem::Away { place, what },
            507 => TransportProblem::Full { place, what },
            400..=499 => TransportProblem::Refused { place, what },
            _ => TransportProblem::Nonsense { place, what },
        })
    }

    fn away(&self, what: String) -> TransportProblem {
        TransportProblem::Away { place: self.place.clone(), what }
    }

    fn nonsense(&self, what: impl Into<String>) -> TransportProblem {
        TransportProblem::Nonsense { place: self.place.clone(), what: what.into() }
    }
}

impl<H: Http> Transport for Hub<H> {
    fn place(&self) -> String {
        self.place.clone()
    }

    fn list(&mut self, prefix: &str) -> Result<Vec<ObjectName>, TransportProblem> {
        let response = self.ask(Method::Get, format!("{LIST}{prefix}"), Vec::new(), MOST_LIST)?;
        read_list(&response.body, prefix).map_err(|what| self.nonsense(what))
    }

    fn get(&mut self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        let path = format!("{OBJECTS}{name}");
        self.ask(Method::Get, path, Vec::new(), name.most_bytes()).map(|response| response.body).map_err(|problem| {
            if matches!(problem, TransportProblem::NotThere(_)) {
                TransportProblem::NotThere(name.to_string())
            } else {
                problem
            }
        })
    }

    fn put(&mut self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem> {
        let response = self.ask(Method::Put, format!("{OBJECTS}{name}"), bytes.to_vec(), 4096)?;
        let receipt: HubReceipt = serde_json::from_slice(&response.body)
            .map_err(|error| self.nonsense(format!("its receipt for {name}: {error}")))?;
        receipt.sha256.parse().map_err(|_| self.nonsense(format!("its receipt for {name} holds no hash")))
    }
}

/// Writes a list of names as a hub answers it: one a line, compressed.
pub fn write_list(names: &[ObjectName]) -> Vec<u8> {
    let mut text = String::new();
    for name in names {
        text.push_str(&name.to_string());
        text.push('\n');
    }
    zstd::encode_all(text.as_bytes(), 3).expect("memory takes every write, so zstd cannot fail")
}

/// Reads a list of names. A name of a kind that is not known here is left out.
///
/// # Errors
/// What does not fit, in a sentence.
pub fn read_list(body: &[u8], prefix: &str) -> Result<Vec<ObjectName>, String> {
    let mut text = String::new();
    zstd::Decoder::new(body)
        .and_then(|decoder| decoder.take(MOST_LIST + 1).read_to_string(&mut text))
        .map_err(|error| format!("its list of \"{prefix}\" does not decompress to text: {error}"))?;
    if text.len() as u64 > MOST_LIST {
        return Err(format!("its list of \"{prefix}\" is longer than {MOST_LIST} bytes"));
    }
    Ok(text.lines().filter(|line| line.starts_with(prefix)).filter_map(|line| line.parse().ok()).collect())
}

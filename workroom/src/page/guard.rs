//! Who may ask: only the browser of the person who started the program. Others who are logged in on the same computer
//! reach the same port; what they cannot do is read a file that only its owner may read. So the program writes one
//! ([`door`]), which posts a token that is good once; what comes back is a cookie for a host name that no other program
//! on this computer serves under, because cookies do not know ports. Without the cookie nothing is served, not even a name.
//!
//! Hosts that are not ours (DNS rebinding), forms of other sites, and anything that could run a script not ours are
//! refused here too.

use super::{App, door::Door, refused};
use axum::extract::{Request, State};
use axum::http::{HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use hangtrue_core::fact::Moment;
use std::fmt::Write as _;
use std::net::SocketAddr;
use std::sync::{Mutex, PoisonError};

/// What a request is held against.
#[derive(Debug)]
pub(super) struct Guard {
    /// The one host, with the port.
    host: String,
    /// Every form carries it; no other site can know it.
    token: String,
    /// What a browser keeps once it came in.
    key: String,
    door: Mutex<Door>,
}

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Where the door's form goes.
pub(super) const ENTER: &str = "/enter";

/// The cookie that holds the key.
const COOKIE: &str = "hangtrue_key";

/// All that is said to who has no key.
const NO_KEY: &str = "Access key required.\n";

/// Thirty-two random bytes as text.
fn secret(chance: &mut dyn FnMut() -> Moment) -> String {
    let mut text = String::new();
    for _ in 0..4 {
        for byte in &chance().random[..8] {
            let _ = write!(text, "{byte:02x}");
        }
    }
    text
}

impl Guard {
    /// A guard for a page served at `bound`, with a door that is kept in `door`.
    pub(super) fn new(bound: SocketAddr, mut chance: impl FnMut() -> Moment, mut door: Door) -> anyhow::Result<Self> {
        let name: String = secret(&mut chance).chars().take(24).collect();
        // RFC 6761, 6.3: every name under localhost is this computer, and no name server is asked.
        let host = format!("h{name}.localhost:{}", bound.port());
        let (token, key) = (secret(&mut chance), secret(&mut chance));
        door.open(&host, secret(&mut chance))?;
        Ok(Self { host, token, key, door: Mutex::new(door) })
    }

    /// What forms carry.
    pub(super) fn token(&self) -> String {
        self.token.clone()
    }

    /// True for the token of this page's forms.
    pub(super) fn knows(&self, token: &str) -> bool {
        same(token, &self.token)
    }

    /// The page's own host, with its port.
    #[cfg(test)]
    pub(super) fn host(&self) -> &str {
        &self.host
    }

    /// What a browser brings once it is in.
    pub(super) fn cookie(&self) -> String {
        format!("{COOKIE}={}", self.key)
    }

    /// Lets a browser in by the token of the door's file. The file has another one at once: this one is worth nothing now.
    pub(super) fn enter(&self, token: &str) -> Response {
        let mut door = self.door.lock().unwrap_or_else(PoisonError::into_inner);
        if !same(token, door.token()) {
            return no_key(StatusCode::FORBIDDEN);
        }
        if let Err(error) = door.open(&self.host, secret(&mut crate::moments::now)) {
            eprintln!("{error:#}");
        }
        // The browser comes from a file, which is another site: a strict cookie goes only with what this page asks next.
        // It names an icon of its own, or a browser that is quick asks for one that is not there.
        let on = "<!DOCTYPE html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>Hangtrue</title>\
                  <link rel=\"icon\" href=\"data:,\"><meta http-equiv=\"refresh\" content=\"0;url=/\"></head><body><p><a href=\"/\">Go on</a></p></body></html>";
        let cookie = format!("{}; HttpOnly; SameSite=Strict; Path=/", self.cookie());
        ([(header::SET_COOKIE, cookie)], Html(on)).into_response()
    }

    /// Takes the door away: the page is served no more.
    pub(super) fn close(&self) {
        self.door.lock().unwrap_or_else(PoisonError::into_inner).close();
    }
}

/// Compares without telling by its time how much was right.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |all, (x, y)| all | (x ^ y)) == 0
}

/// A form of a page that was loaded before the program was started again, or of another site.
pub(super) fn stale() -> Response {
    refused(StatusCode::FORBIDDEN, "This form has expired.", "Reload the page; nothing was changed.")
}

/// The same few words for whoever has no key: nothing of the book, and nothing of the program.
fn no_key(status: StatusCode) -> Response {
    (status, [(header::CONTENT_TYPE, "text/plain; charset=utf-8")], NO_KEY).into_response()
}

/// Stands before every request, and adds the headers that keep a browser strict.
pub(super) async fn stand(State(app): State<App>, request: Request, next: Next) -> Response {
    let mut response = match check(&app.guard, &request) {
        Ok(()) => next.run(request).await,
        Err(refusal) => *refusal,
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_FRAME_OPTIONS, "DENY"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    headers.insert("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-resource-policy", HeaderValue::from_static("same-origin"));
    response
}

fn check(guard: &Guard, request: &Request) -> Result<(), Box<Response>> {
    let text = |name| request.headers().get(name).and_then(|value| value.to_str().ok());
    if text(header::HOST).unwrap_or_default() != guard.host {
        return Err(Box::new(no_key(StatusCode::MISDIRECTED_REQUEST)));
    }
    // The token in it is the proof; a file has no site that could be looked at.
    if request.uri().path() == ENTER && request.method() == Method::POST {
        return Ok(());
    }
    let cookies = request.headers().get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let wanted = guard.cookie();
    if !cookies.flat_map(|all| all.split("; ")).any(|cookie| same(cookie, &wanted)) {
        return Err(Box::new(no_key(StatusCode::UNAUTHORIZED)));
    }
    if request.method() == Method::POST {
        let foreign = text(header::ORIGIN).is_some_and(|origin| origin.strip_prefix("http://") != Some(&guard.host));
        let cross = request
            .headers()
            .get("sec-fetch-site")
            .is_some_and(|site| !matches!(site.as_bytes(), b"same-origin" | b"none"));
        if foreign || cross {
            return Err(Box::new(stale()));
        }
    }
    Ok(())
}

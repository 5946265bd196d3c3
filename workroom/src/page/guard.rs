//! Who may ask: only this computer's own page. Hosts that are not ours (DNS rebinding), forms of other sites, and
//! anything that could run a script not ours are refused here.

use super::{App, refused};
use axum::extract::{Request, State};
use axum::http::{HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use hangtrue_core::fact::Moment;
use std::fmt::Write as _;
use std::net::SocketAddr;

/// What a request is held against.
#[derive(Debug)]
pub(super) struct Guard {
    bound: SocketAddr,
    /// Hosts that are ours, with the port.
    hosts: Vec<String>,
    /// Every form carries it; no other site can know it.
    token: String,
    /// What a browser on the network has to bring once.
    key: Option<String>,
}

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

impl Guard {
    /// A guard for a page served at `bound`; a shared one asks for a key.
    pub(super) fn new(bound: SocketAddr, mut chance: impl FnMut() -> Moment, shared: bool) -> Self {
        let mut secret = || {
            let mut text = String::new();
            for byte in [chance().random, chance().random].concat() {
                let _ = write!(text, "{byte:02x}");
            }
            text
        };
        let port = bound.port();
        let mut hosts = vec![bound.to_string()];
        if bound.ip().is_loopback() {
            hosts.extend([format!("127.0.0.1:{port}"), format!("localhost:{port}"), format!("[::1]:{port}")]);
        }
        Self { bound, hosts, token: secret(), key: shared.then(secret) }
    }

    /// Where the page is, with the key if it takes one.
    pub(super) fn address(&self) -> String {
        match &self.key {
            Some(key) => format!("http://{}/?key={key}", self.bound),
            None => format!("http://{}/", self.bound),
        }
    }

    /// What forms carry.
    pub(super) fn token(&self) -> String {
        self.token.clone()
    }

    /// True for the token of this page's forms.
    pub(super) fn knows(&self, token: &str) -> bool {
        same(token, &self.token)
    }

    fn is_ours(&self, host: &str) -> bool {
        self.hosts.iter().any(|ours| ours == host)
    }
}

/// Compares without telling by its time how much was right.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |all, (x, y)| all | (x ^ y)) == 0
}

/// A form of a page that was loaded before the program was started again, or of another site.
pub(super) fn stale() -> Response {
    refused(StatusCode::FORBIDDEN, "This form is not of this page.", "Load the page again; nothing was changed.")
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
    let host = text(header::HOST).unwrap_or_default();
    if !guard.is_ours(host) {
        let right = format!("Open {}", guard.bound);
        return Err(Box::new(refused(
            StatusCode::MISDIRECTED_REQUEST,
            "This page is not served under that name.",
            &right,
        )));
    }
    if request.method() == Method::POST {
        let foreign = text(header::ORIGIN)
            .is_some_and(|origin| origin.strip_prefix("http://").is_none_or(|host| !guard.is_ours(host)));
        let cross = request
            .headers()
            .get("sec-fetch-site")
            .is_some_and(|site| !matches!(site.as_bytes(), b"same-origin" | b"none"));
        if foreign || cross {
            return Err(Box::new(stale()));
        }
    }
    if let Some(key) = &guard.key {
        let brought = request.uri().query().unwrap_or_default().split('&').find_map(|pair| pair.strip_prefix("key="));
        if brought.is_some_and(|brought| same(brought, key)) {
            let cookie = format!("key={key}; HttpOnly; SameSite=Strict; Path=/");
            return Err(Box::new(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()));
        }
        let kept = text(header::COOKIE).unwrap_or_default().split("; ").find_map(|cookie| cookie.strip_prefix("key="));
        if !kept.is_some_and(|kept| same(kept, key)) {
            return Err(Box::new(refused(
                StatusCode::UNAUTHORIZED,
                "This page asks for its key.",
                "Open the whole address that the program printed.",
            )));
        }
    }
    Ok(())
}

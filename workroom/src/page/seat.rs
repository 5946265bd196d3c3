//! Who sits at the page: each browser has a walk and notes of its own, so that two at one house do not move each other.

use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::middleware::Next;
use axum::response::Response;

const COOKIE: &str = "seat";

tokio::task_local! {
    static SEAT: String;
}

/// The seat of the request that is being served; empty for one that brings none.
pub(super) fn of_this_request() -> String {
    SEAT.try_with(String::clone).unwrap_or_default()
}

fn of(headers: &HeaderMap) -> Option<String> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let seat = cookies.flat_map(|all| all.split("; ")).find_map(|cookie| cookie.strip_prefix("seat="))?;
    let is_ours = seat.len() == 32 && seat.bytes().all(|byte| byte.is_ascii_hexdigit());
    is_ours.then(|| seat.to_owned())
}

/// Finds out the seat of a request. A browser that comes to a page without one is given one, and keeps it.
pub(super) async fn taken(request: Request, next: Next) -> Response {
    let there = of(request.headers());
    let is_browser = request.headers().get("sec-fetch-mode").is_some_and(|mode| mode.as_bytes() == b"navigate");
    let given = (there.is_none() && is_browser).then(|| crate::moments::now().uuid().simple().to_string());
    let seat = there.or_else(|| given.clone()).unwrap_or_default();
    let mut response = SEAT.scope(seat, next.run(request)).await;
    if let Some(given) = given {
        let cookie = format!("{COOKIE}={given}; SameSite=Strict; HttpOnly; Path=/; Max-Age=31536000");
        let cookie = HeaderValue::from_str(&cookie).expect("hexadecimal digits are fit for a header");
        response.headers_mut().append(header::SET_COOKIE, cookie);
    }
    response
}

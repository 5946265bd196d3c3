//! An answer that arrives: what a client still sends after it was refused is read on and dropped, up to a bound.
//!
//! A server that answers "too large" and closes while the client writes is not heard: the client's next write breaks,
//! and a person reads "connection reset" instead of what was too large.

use axum::body::{Body, Bytes};
use axum::extract::Request;
use axum::http::{HeaderValue, header};
use axum::middleware::Next;
use axum::response::Response;
use http_body::{Body as _, Frame, SizeHint};
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

/// The most that is read on after a refusal. Past it the connection is closed, heard or not.
const MOST: usize = 64 * 1024 * 1024;
/// How long a client may take for it.
const LONGEST: Duration = Duration::from_secs(20);

/// A request's body that outlives whoever reads it.
#[derive(Clone)]
struct Shared(Arc<Mutex<Body>>);

impl Shared {
    fn with<T>(&self, work: impl FnOnce(Pin<&mut Body>) -> T) -> T {
        work(Pin::new(&mut *self.0.lock().unwrap_or_else(PoisonError::into_inner)))
    }

    /// Reads what is left and drops it; true when the end was reached within the bounds.
    async fn run_out(&self) -> bool {
        let all = async {
            let mut dropped = 0;
            while let Some(frame) = std::future::poll_fn(|task| self.with(|body| body.poll_frame(task))).await {
                dropped += match frame {
                    Ok(frame) => frame.data_ref().map_or(0, Bytes::len),
                    Err(_) => return false,
                };
                if dropped > MOST {
                    return false;
                }
            }
            true
        };
        tokio::time::timeout(LONGEST, all).await.unwrap_or(false)
    }
}

impl http_body::Body for Shared {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(self: Pin<&mut Self>, task: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        self.with(|body| body.poll_frame(task))
    }

    fn is_end_stream(&self) -> bool {
        self.with(|body| body.is_end_stream())
    }

    fn size_hint(&self) -> SizeHint {
        self.with(|body| body.size_hint())
    }
}

/// The outermost layer: lets the rest answer, then reads on until the client has said all.
pub(crate) async fn answered(request: Request, next: Next) -> Response {
    let (head, body) = request.into_parts();
    let body = Shared(Arc::new(Mutex::new(body)));
    let mut response = next.run(Request::from_parts(head, Body::new(body.clone()))).await;
    if response.status().is_client_error() && !body.with(|body| body.is_end_stream()) && !body.run_out().await {
        response.headers_mut().insert(header::CONNECTION, HeaderValue::from_static("close"));
    }
    response
}

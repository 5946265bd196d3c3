//! An HTTPS client that trusts exactly one certificate.

use anyhow::Context;
use hangtrue_core::sync::{Hash, Http, HttpProblem, Method, Request, Response};
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::{CryptoProvider, verify_tls12_signature, verify_tls13_signature};
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{CertificateError, DigitallySignedStruct, SignatureScheme};
use std::io::Read;
use std::sync::Arc;
use std::time::Duration;

/// The workroom's client of a hub.
#[derive(Debug)]
pub struct Https {
    addresses: Vec<String>,
    client: reqwest::blocking::Client,
    timeout: Duration,
}

impl Https {
    /// A client that tries these addresses in turn and accepts only this certificate. A request and its whole answer
    /// take at most `timeout`; a hub that asks to wait (429 with Retry-After) is asked again for as long.
    ///
    /// # Errors
    /// When the system gives no HTTPS client.
    pub fn new(addresses: Vec<String>, certificate: Hash, timeout: Duration) -> anyhow::Result<Self> {
        Self::trusting(addresses, Some(certificate), timeout)
    }

    /// A client that takes whatever certificate it is shown: only for what proves itself, as an offer does by its short
    /// code.
    ///
    /// # Errors
    /// When the system gives no HTTPS client.
    pub fn unproven(addresses: Vec<String>, timeout: Duration) -> anyhow::Result<Self> {
        Self::trusting(addresses, None, timeout)
    }

    fn trusting(addresses: Vec<String>, certificate: Option<Hash>, timeout: Duration) -> anyhow::Result<Self> {
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let pinned = Arc::new(Pinned { certificate, provider: Arc::clone(&provider) });
        let tls = rustls::ClientConfig::builder_with_provider(provider)
            .with_protocol_versions(&[&rustls::version::TLS13])?
            .dangerous()
            .with_custom_certificate_verifier(pinned)
            .with_no_client_auth();
        let client = reqwest::blocking::Client::builder()
            .tls_backend_preconfigured(tls)
            .no_proxy()
            .redirect(reqwest::redirect::Policy::none())
            .connect_timeout(Duration::from_secs(5))
            .timeout(timeout)
            .build()
            .context("making the HTTPS client")?;
        Ok(Self { addresses, client, timeout })
    }

    /// The answer, and how long the hub asks to wait before this is sent again.
    fn try_one(&self, address: &str, request: &Request) -> Result<(Response, Option<Duration>), (bool, HttpProblem)> {
        let url = format!("https://{address}{}", request.path);
        let mut call = match request.method {
            Method::Get => self.client.get(url),
            Method::Put => self.client.put(url).body(request.body.clone()),
            Method::Post => self.client.post(url).body(request.body.clone()),
        };
        for (name, value) in &request.headers {
            call = call.header(name, value);
        }
        let response = call.send().map_err(|error| (error.is_connect(), HttpProblem { what: whole(&error) }))?;
        let status = response.status().as_u16();
        let wait = response.headers().get("retry-after").filter(|_| status == 429);
        let wait = wait.and_then(|seconds| seconds.to_str().ok()?.parse().ok()).map(Duration::from_secs);
        let mut body = Vec::new();
        response
            .take(request.most.saturating_add(1))
            .read_to_end(&mut body)
            .map_err(|error| (false, HttpProblem { what: format!("the answer broke off: {error}") }))?;
        // A refusal's words may be longer than the answer that was wanted.
        if body.len() as u64 > request.most && status < 400 {
            let what = format!("the answer is longer than {} bytes", request.most);
            return Err((false, HttpProblem { what }));
        }
        Ok((Response { status, body }, wait))
    }

    fn try_all(&mut self, request: &Request) -> Result<(Response, Option<Duration>), HttpProblem> {
        let mut last = HttpProblem { what: "no address of the workroom is known".to_owned() };
        for at in 0..self.addresses.len() {
            match self.try_one(&self.addresses[at], request) {
                Ok(answer) => {
                    // The one that answered is tried first from now on.
                    self.addresses.swap(0, at);
                    return Ok(answer);
                }
                Err((never_connected, problem)) => {
                    last = problem;
                    if !never_connected {
                        break;
                    }
                }
            }
        }
        Err(last)
    }
}

impl Http for Https {
    fn send(&mut self, request: &Request) -> Result<Response, HttpProblem> {
        let mut patience = self.timeout;
        loop {
            let (response, wait) = self.try_all(request)?;
            match wait.filter(|wait| *wait <= patience) {
                Some(wait) => {
                    // A hub that says nought is not asked in a tight loop.
                    let wait = wait.max(Duration::from_millis(100));
                    std::thread::sleep(wait);
                    patience = patience.saturating_sub(wait);
                }
                None => return Ok(response),
            }
        }
    }
}

/// An error with its causes, in one line.
fn whole(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(inner) = cause {
        text.push_str(": ");
        text.push_str(&inner.to_string());
        cause = inner.source();
    }
    text
}

/// Accepts the one certificate with this hash, or any, from whoever can prove to hold its key.
#[derive(Debug)]
struct Pinned {
    certificate: Option<Hash>,
    provider: Arc<CryptoProvider>,
}

impl ServerCertVerifier for Pinned {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, rustls::Error> {
        if self.certificate.is_none_or(|certificate| Hash::of(end_entity) == certificate) {
            Ok(ServerCertVerified::assertion())
        } else {
            Err(CertificateError::ApplicationVerificationFailure.into())
        }
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        dss: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        verify_tls12_signature(message, cert, dss, &self.provider.signature_verification_algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        dss: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        verify_tls13_signature(message, cert, dss, &self.provider.signature_verification_algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.provider.signature_verification_algorithms.supported_schemes()
    }
}

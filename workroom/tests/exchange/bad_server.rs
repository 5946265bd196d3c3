//! Servers that stop half way, answer slowly, or lie about lengths and hashes: real TLS with a pinned certificate, so
//! that only the answers are bad.

use crate::help::{Device, scratch};
use hangtrue::transport::Https;
use hangtrue_core::sync::{FirmKey, Hash, Http, Hub, Method, Request, TransportProblem};
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use rustls::{ServerConfig, ServerConnection, StreamOwned};
use std::io::{Read, Write};
use std::net::TcpListener;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Answers every request with `answer`, then waits `hold` before it closes. Gives its address and certificate.
fn serve(answer: Vec<u8>, hold: Duration) -> (String, Hash) {
    let made = rcgen::generate_simple_self_signed(vec!["hangtrue-hub".to_owned()]).unwrap();
    let certificate = CertificateDer::from(made.cert.der().to_vec());
    let print = Hash::of(&certificate);
    let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(made.signing_key.serialize_der()));
    let config = ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_single_cert(vec![certificate], key)
        .unwrap();
    let config = Arc::new(config);
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap().to_string();
    std::thread::spawn(move || {
        for stream in listener.incoming().map_while(Result::ok) {
            let (config, answer) = (Arc::clone(&config), answer.clone());
            std::thread::spawn(move || {
                let mut tls = StreamOwned::new(ServerConnection::new(config).unwrap(), stream);
                let mut head = [0; 16 << 10];
                if tls.read(&mut head).is_ok() && tls.write_all(&answer).is_ok() && tls.flush().is_ok() {
                    std::thread::sleep(hold);
                }
            });
        }
    });
    (address, print)
}

fn answer(head: &str, body: &[u8]) -> Vec<u8> {
    [head.as_bytes(), b"\r\n\r\n", body].concat()
}

#[test]
fn a_server_that_lies_stops_or_dawdles_is_named_and_nothing_counts_as_sent() {
    let at = scratch();
    let key = FirmKey::generate();
    let list = hangtrue_core::sync::write_list(&[]);
    let lied = br#"{"sha256":"0000000000000000000000000000000000000000000000000000000000000000"}"#;
    let cases: Vec<(&str, Vec<u8>)> = vec![
        ("says more than it sends", answer("HTTP/1.1 200 OK\r\ncontent-length: 5000", &list)),
        ("says less than it sends", answer("HTTP/1.1 200 OK\r\ncontent-length: 3", &list)),
        ("says far too much", answer("HTTP/1.1 200 OK\r\ncontent-length: 99999999999999", &list)),
        ("stops in its head", b"HTTP/1.1 200 OK\r\ncontent-le".to_vec()),
        ("says nothing", Vec::new()),
        ("speaks no HTTP", b"220 ready\r\n".to_vec()),
        ("a chunk that never ends", answer("HTTP/1.1 200 OK\r\ntransfer-encoding: chunked", b"ffff\r\nabc")),
        ("a list that is none", answer("HTTP/1.1 200 OK\r\ncontent-length: 5", b"hello")),
        ("sends it elsewhere", answer("HTTP/1.1 302 Found\r\nlocation: https://192.0.2.1/\r\ncontent-length: 0", b"")),
        ("an error without words", answer("HTTP/1.1 500 Oops\r\ncontent-length: 0", b"")),
        ("a receipt for everything", answer(&format!("HTTP/1.1 200 OK\r\ncontent-length: {}", lied.len()), lied)),
    ];
    for (n, (what, bytes)) in cases.into_iter().enumerate() {
        let (address, print) = serve(bytes, Duration::ZERO);
        let https = Https::new(vec![address], print, Duration::from_secs(3)).unwrap();
        let mut phone = Device::new(at.path(), &format!("phone{n}"), 50 + n as u64);
        phone.house(1);
        let report = phone.try_sync(&key, &mut Hub::new(https, print, "key".to_owned())).unwrap();
        assert!(report.stopped.is_some() && !report.all_sent && report.sent == 0, "{what}: {report:?}");
        assert!(!report.stopped.unwrap().to_string().is_empty());
    }
    // Slow: the time-out ends it.
    let (address, print) = serve(b"HTTP/1.1 200 OK\r\ncontent-length: 10\r\n\r\n12".to_vec(), Duration::from_secs(60));
    let https = Https::new(vec![address], print, Duration::from_secs(2)).unwrap();
    let mut phone = Device::new(at.path(), "slow", 90);
    phone.house(1);
    let started = Instant::now();
    let report = phone.try_sync(&key, &mut Hub::new(https, print, "key".to_owned())).unwrap();
    assert!(matches!(report.stopped, Some(TransportProblem::Away { .. })), "{report:?}");
    assert!(started.elapsed() < Duration::from_secs(10));
    // Too long an answer is not read to its end.
    let (address, print) =
        serve(answer("HTTP/1.1 200 OK\r\ncontent-length: 90000", &vec![b'x'; 90_000]), Duration::ZERO);
    let mut https = Https::new(vec![address], print, Duration::from_secs(3)).unwrap();
    let request = Request { method: Method::Get, path: "/".to_owned(), headers: vec![], body: vec![], most: 1000 };
    assert!(https.send(&request).unwrap_err().what.contains("longer than 1000"));
}

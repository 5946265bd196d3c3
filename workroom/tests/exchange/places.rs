//! One suite over every place of exchange: a folder, the hub over TLS, an object store.

use crate::help::{Device, folder, scratch};
use crate::process::HubProcess;
use hangtrue::transport::Bucket;
use hangtrue_core::house::Place;
use hangtrue_core::sync::{
    FirmKey, Hash, Http, HttpProblem, Hub, ObjectName, Request, Response, SegmentName, Transport, TransportProblem,
};
use std::fs;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// What every place must do. `reach` gives the place as one of two devices reaches it.
fn suite(at: &Path, key: &FirmKey, reach: &mut dyn FnMut(Uuid, &str) -> Box<dyn Transport>) {
    let (mut phone, mut desk) = (Device::new(at, "phone", 1), Device::new(at, "desk", 2));
    let mut from_house = reach(phone.book.device(), "phone");
    let mut from_desk = reach(desk.book.device(), "desk");
    assert_eq!(from_house.list("segments/").unwrap(), vec![], "an empty place is no error");

    // The house is measured, with a photo of two parts; the desk has it.
    let (job, openings) = phone.house(2);
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    let bytes: Vec<u8> = (0..300_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    let photo = phone.photo(job, openings[0], &bytes);
    let report = phone.sync(key, from_house.as_mut());
    assert_eq!((report.sent, report.photos_sent, report.all_sent), (6, 1, true));
    let report = desk.sync(key, from_desk.as_mut());
    assert_eq!((report.arrived, report.photos_arrived, report.photos_missing), (6, 1, 0));
    assert_eq!(desk.book.photos().read(&photo).unwrap().unwrap(), bytes);

    // The workroom asks; the ask arrives at the phone; the reading answers it; the desk sees it closed.
    let ask = desk.ask(job, openings[0], &[Place::WidthTop], "an inch out?");
    desk.sync(key, from_desk.as_mut());
    assert_eq!(phone.sync(key, from_house.as_mut()).arrived, 1);
    let opening = phone.book.job(job).unwrap().unwrap().rooms[0].openings[0].clone();
    assert!(!opening.is_answered(&opening.asks[0]));
    let again = phone.reading(openings[0], Place::WidthTop, "35 3/8", Some(ask));
    phone.write(job, &[again]);
    phone.sync(key, from_house.as_mut());
    desk.sync(key, from_desk.as_mut());
    let opening = desk.book.job(job).unwrap().unwrap().rooms[0].openings[0].clone();
    assert!(opening.is_answered(&opening.asks[0]));
    assert_eq!(desk.all(), phone.all());
    let idle = phone.sync(key, from_house.as_mut());
    assert_eq!((idle.arrived, idle.sent, idle.photos_sent), (0, 0, 0));

    // Creating again is no error and changes nothing; other bytes under a name are never taken for it.
    let name = from_house.list(&format!("segments/{}/", phone.book.device())).unwrap()[0];
    let stored = from_house.get(&name).unwrap();
    assert!(name.fits(&stored));
    assert_eq!(from_house.put(&name, &stored).unwrap(), Hash::of(&stored));
    let other = from_house.put(&name, b"something else");
    assert_ne!(other.ok(), Some(Hash::of(b"something else")), "never overwritten");
    assert_eq!(from_desk.get(&name).unwrap(), stored);
    let gone = ObjectName::Segment(SegmentName { device: phone.book.device(), first: 1, last: 9, hash: Hash::of(b"") });
    assert_eq!(from_desk.get(&gone), Err(TransportProblem::NotThere(gone.to_string())));
    assert_eq!(from_desk.list("photos/").unwrap().len(), 2);
    assert_eq!(from_desk.list(&format!("photos/{photo}/")).unwrap().len(), 2);
    assert_eq!(from_desk.list("again/").unwrap(), vec![]);
}

#[test]
fn a_folder_does_it() {
    let at = scratch();
    folder(at.path());
    suite(at.path(), &FirmKey::generate(), &mut |_, _| Box::new(folder(at.path())));
}

#[test]
fn the_hub_does_it_over_tls() {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let first = hub.pair(Uuid::from_u128(1), "first");
    suite(at.path(), &first.firm.clone(), &mut |device, name| {
        let paired = hub.pair(device, name);
        Box::new(hub.place(&paired))
    });
}

/// An S3 server as a process on loopback.
struct S3 {
    child: Child,
    port: u16,
}

impl S3 {
    /// `s3s-fs` from the registry, where `./check sync` or HANGTRUE_S3_SERVER put it.
    fn start(root: &Path) -> Option<Self> {
        let here = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/tools/bin/s3s-fs");
        let program = std::env::var_os("HANGTRUE_S3_SERVER").map_or(here, PathBuf::from);
        if !program.exists() {
            eprintln!("SKIPPED: no S3 server at {}; ./check sync installs it", program.display());
            return None;
        }
        // Free at this moment; the server takes it at once.
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let child = Command::new(program)
            .args([
                "--host",
                "127.0.0.1",
                "--port",
                &port.to_string(),
                "--access-key",
                "invented",
                "--secret-key",
                "invented",
            ])
            .arg(root)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the S3 server starts");
        let started = Instant::now();
        while std::net::TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(started.elapsed() < Duration::from_secs(20), "the S3 server does not listen");
            std::thread::sleep(Duration::from_millis(20));
        }
        Some(Self { child, port })
    }

    fn bucket(&self, url: &str) -> Bucket {
        let variables = [
            ("AWS_ACCESS_KEY_ID", "invented".to_owned()),
            ("AWS_SECRET_ACCESS_KEY", "invented".to_owned()),
            ("AWS_REGION", "us-east-1".to_owned()),
            ("AWS_ENDPOINT", format!("http://127.0.0.1:{}", self.port)),
            ("AWS_ALLOW_HTTP", "true".to_owned()),
        ];
        let variables = variables.into_iter().map(|(name, value)| (name.to_owned(), value));
        Bucket::new(url, variables).expect("a bucket")
    }
}

impl Drop for S3 {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn an_object_store_does_it() {
    let at = scratch();
    let root = at.path().join("s3");
    fs::create_dir_all(root.join("firm")).unwrap();
    let Some(s3) = S3::start(&root) else { return };
    suite(at.path(), &FirmKey::generate(), &mut |_, _| Box::new(s3.bucket("s3://firm/exchange")));
    // Away is said, and nothing is lost.
    drop(s3);
    let mut phone = Device::new(at.path(), "third", 3);
    phone.house(1);
    let mut gone = S3 { child: Command::new("true").spawn().unwrap(), port: 9 }.bucket("s3://firm");
    let report = phone.try_sync(&FirmKey::generate(), &mut gone).unwrap();
    assert!(matches!(report.stopped, Some(TransportProblem::Away { .. })), "{report:?}");
    assert!(!report.all_sent);
}

/// An HTTPS client whose n-th request is not sent, or whose reply is lost.
struct Striking<H> {
    inner: H,
    n: u64,
    at: u64,
    after: bool,
}

impl<H: Http> Http for Striking<H> {
    fn send(&mut self, request: &Request) -> Result<Response, HttpProblem> {
        self.n += 1;
        let lost = || HttpProblem { what: "the line broke".to_owned() };
        if self.n == self.at && !self.after {
            return Err(lost());
        }
        let response = self.inner.send(request)?;
        if self.n == self.at { Err(lost()) } else { Ok(response) }
    }
}

/// Each round has a hub of its own: in one hub every round would find more to list and fetch than the one before, and
/// the requests would grow faster than `n`.
#[test]
fn every_request_to_the_hub_fails_once_before_and_once_after() {
    let (mut struck, mut twice) = ([0; 2], 0);
    for after in [false, true] {
        for n in 1.. {
            let at = scratch();
            let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
            let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
            let (paired, desk_key) = (hub.pair(phone.book.device(), "phone"), hub.pair(desk.book.device(), "desk"));
            // Something to fetch, something to bring, each with a photo.
            let (job, openings) = desk.house(1);
            desk.photo(job, openings[0], b"the desk's");
            desk.sync(&desk_key.firm, &mut hub.place(&desk_key));
            let (own, openings) = phone.house(1);
            phone.photo(own, openings[0], b"the phone's");
            let striking = |at| {
                let inner = hangtrue::transport::Https::new(
                    vec![format!("127.0.0.1:{}", hub.port)],
                    paired.certificate,
                    crate::process::SHORT,
                );
                Hub::new(
                    Striking { inner: inner.expect("a client"), n: 0, at, after },
                    paired.certificate,
                    paired.key.clone(),
                )
            };
            let report = phone.try_sync(&paired.firm, &mut striking(n)).unwrap();
            let Some(problem) = report.stopped else {
                assert!(report.all_sent);
                break;
            };
            assert!(problem.to_string().contains("the line broke"), "{problem}");
            struck[usize::from(after)] += 1;
            // Once more in the recovery, at the place that this request has moved to.
            let report = phone.try_sync(&paired.firm, &mut striking(1 + n / 2)).unwrap();
            twice += u64::from(report.stopped.is_some());
            let report = phone.sync(&paired.firm, &mut hub.place(&paired));
            assert_eq!((report.held, report.all_sent), (4, true), "request {n}, after: {after}");
            desk.sync(&desk_key.firm, &mut hub.place(&desk_key));
            for device in [&phone, &desk] {
                assert_eq!(device.book.photos().list().unwrap().len(), 2, "request {n}, after: {after}");
            }
            assert_eq!(desk.all(), phone.all(), "request {n}, after: {after}");
        }
    }
    println!(
        "fault points on the way to the hub: {} requests that are not sent, {} whose reply is lost, {twice} of them once \
         more in the recovery",
        struck[0], struck[1]
    );
    assert!(struck[0] >= 8 && struck[0] == struck[1], "{struck:?}");
}

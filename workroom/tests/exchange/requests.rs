//! Requests thrown at the hub's running routes: sound ones, and ones that were changed at random in their path, their
//! headers and their body. Whatever comes, the hub answers in words, never fails inside, never gives the firm's key away,
//! and its folder holds nothing but sound objects.
//!
//! `HANGTRUE_REQUESTS=1000000 HANGTRUE_REQUESTS_SEED=7 cargo test -p hangtrue --test exchange requests` throws more.

use crate::help::{Chance, Device, folder, scratch};
use axum::body::{Body, to_bytes};
use axum::extract::Extension;
use axum::http::Request;
use hangtrue::hub::{Hub, router, store_of};
use hangtrue_core::store::Files;
use hangtrue_core::sync::pairing::Joining;
use hangtrue_core::sync::{FirmKey, Folder, Hash, LIST, Method, OBJECTS, ObjectName, Transport, photo, segment};
use std::collections::BTreeMap;
use std::fs;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use tower::ServiceExt;

/// A request as bytes, so that any part of it can be changed.
#[derive(Clone)]
struct Thrown {
    method: &'static str,
    path: Vec<u8>,
    headers: Vec<(&'static str, Vec<u8>)>,
    body: Vec<u8>,
}

impl Thrown {
    fn new(method: &'static str, path: &str, key: &str, body: &[u8]) -> Self {
        let headers = vec![("authorization", format!("Bearer {key}").into_bytes())];
        Self { method, path: path.as_bytes().to_vec(), headers, body: body.to_vec() }
    }

    /// `None` where it is no HTTP any more: hyper answers that before our routes see it.
    fn request(&self) -> Option<Request<Body>> {
        let mut request = Request::builder().method(self.method).uri(&self.path[..]);
        for (name, value) in &self.headers {
            request = request.header(*name, &value[..]);
        }
        request.body(Body::from(self.body.clone())).ok()
    }
}

fn change(bytes: &mut Vec<u8>, chance: &mut Chance) {
    const PIECES: [&[u8]; 12] =
        [b"..", b"/", b"%2f", b"%00", b"again/", b"segments/", b"photos/", b"0", b"-", b"\xff", b"\n", b"9999999999"];
    let at = chance.below(bytes.len() + 1);
    match chance.below(6) {
        0 if at < bytes.len() => bytes[at] ^= 1 << chance.below(8),
        1 => bytes.truncate(at),
        2 => drop(bytes.splice(at..at, PIECES[chance.below(PIECES.len())].iter().copied())),
        3 if at < bytes.len() => drop(bytes.remove(at)),
        4 => drop(bytes.splice(at..(at + chance.below(9)).min(bytes.len()), [])),
        _ => {
            let end = (at + chance.below(40)).min(bytes.len());
            bytes.extend_from_within(at..end);
        }
    }
}

/// A hub that has a phone paired, with a house and a photo brought, and sound requests of every kind.
fn prepare(at: &Path) -> (FirmKey, Vec<Thrown>) {
    let firm = FirmKey::generate();
    let hub = hub(&at.join("hub"), &firm);
    let mut phone = Device::new(at, "phone", 1);
    let paired = {
        let offer = hub.invite().parse().expect("an offer");
        let now = hangtrue::moments::now().ms / 1000;
        let joining = Joining::new(offer, phone.book.device(), "phone", now, [1; 32]).expect("in time");
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
        let hub = Arc::new(hub);
        let send = |request: hangtrue_core::sync::Request| {
            let thrown = Thrown::new("POST", &request.path, "", &request.body);
            let (status, body) = runtime.block_on(throw(&hub, thrown.request().expect("sound"), 1));
            hangtrue_core::sync::Response { status, body }
        };
        joining.asked(&send(joining.ask())).expect("taken");
        hub.confirm(&joining.code()).expect("the right digits");
        joining.polled(&send(joining.poll())).expect("an answer").expect("typed")
    };
    let (job, openings) = phone.house(1);
    phone.photo(job, openings[0], b"sill");
    let mut elsewhere = folder(at);
    phone.sync(&firm, &mut elsewhere);
    let mut sound = vec![
        Thrown::new("POST", "/pair/v1/ask", "", b"age-encryption.org/v1\n"),
        Thrown::new("POST", "/pair/v1/answer", "", Hash::of(b"ticket").to_string().as_bytes()),
    ];
    for kind in ["segments/", "photos/", "again/"] {
        sound.push(Thrown::new("GET", &format!("{LIST}{kind}"), &paired.key, b""));
        for name in elsewhere.list(kind).expect("listed") {
            let path = format!("{OBJECTS}{name}");
            sound.push(Thrown::new(Method::Put.name(), &path, &paired.key, &elsewhere.get(&name).expect("read")));
            sound.push(Thrown::new(Method::Get.name(), &path, &paired.key, b""));
            sound.push(Thrown::new(Method::Put.name(), &format!("{OBJECTS}again/{name}"), &paired.key, b""));
        }
    }
    (firm, sound)
}

/// A hub over a folder that may be there already. A new one has forgotten who knocked how often.
fn hub(at: &Path, firm: &FirmKey) -> Hub {
    fs::create_dir_all(at).expect("made");
    let addresses = vec!["127.0.0.1:7443".to_owned()];
    Hub::new(at, firm.clone(), "Loft".to_owned(), addresses, Hash::of(b"certificate")).expect("a hub")
}

async fn throw(hub: &Arc<Hub>, request: Request<Body>, from: u32) -> (u16, Vec<u8>) {
    let peer = SocketAddr::from((from.to_be_bytes(), 1));
    let response = router(Arc::clone(hub)).layer(Extension(peer)).oneshot(request).await.expect("it never fails");
    let status = response.status().as_u16();
    (status, to_bytes(response.into_body(), 64 << 20).await.expect("a whole body").to_vec())
}

#[test]
fn requests_thrown_at_the_hub_are_answered_and_leave_nothing_unsound() {
    let number =
        |name: &str, default: u64| std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(default);
    let (count, seed) = (number("HANGTRUE_REQUESTS", 3000), number("HANGTRUE_REQUESTS_SEED", 1));
    let at = scratch();
    let (firm, sound) = prepare(at.path());
    let secret = firm.to_text();
    let mut chance = Chance(seed);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    let mut statuses: BTreeMap<u16, u64> = BTreeMap::new();
    let mut running = Arc::new(hub(&at.path().join("hub"), &firm));
    for n in 0..count {
        // Below the rate of a paired device, which the hub would hold it to.
        if n % 300 == 299 {
            running = Arc::new(hub(&at.path().join("hub"), &firm));
            if chance.one_in(2) {
                running.invite();
            }
        }
        let mut thrown = sound[chance.below(sound.len())].clone();
        for _ in 0..chance.below(4) {
            match chance.below(8) {
                0..=3 => change(&mut thrown.path, &mut chance),
                4 | 5 => change(&mut thrown.body, &mut chance),
                6 => change(&mut thrown.headers[0].1, &mut chance),
                _ if chance.one_in(2) => {
                    thrown.method = ["GET", "PUT", "POST", "DELETE", "PATCH", "HEAD"][chance.below(6)];
                }
                _ => {
                    let length = [b"0".to_vec(), b"99999999999999999999".to_vec(), b"-1".to_vec(), b"17".to_vec()];
                    thrown.headers.push(("content-length", length[chance.below(4)].clone()));
                }
            }
        }
        let Some(request) = thrown.request() else {
            *statuses.entry(0).or_default() += 1;
            continue;
        };
        let what = format!("seed {seed}, request {n}: {} {}", thrown.method, String::from_utf8_lossy(&thrown.path));
        let (status, body) = runtime.block_on(throw(&running, request, u32::try_from(n).unwrap_or(0)));
        *statuses.entry(status).or_default() += 1;
        assert!(status < 500 && status != 429, "{what}: {status} {}", String::from_utf8_lossy(&body));
        if status >= 400 && thrown.method != "HEAD" {
            let says: serde_json::Value = serde_json::from_slice(&body).unwrap_or_default();
            assert!(says["says"].as_str().is_some_and(|says| !says.is_empty()), "{what}: {status} without words");
        }
        assert!(!String::from_utf8_lossy(&body).contains(&secret), "{what}");
        if status == 201 {
            assert!(thrown.headers[0].1.starts_with(b"Bearer "), "{what}");
        }
    }
    println!("{count} requests at the hub, answers by status (0: no HTTP any more): {statuses:?}");
    let mut top: Vec<String> = fs::read_dir(at.path().join("hub"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    // The audit lists begin anew when they are long.
    top.retain(|name| !name.ends_with(".1.jsonl"));
    top.sort();
    assert_eq!(top, ["audit.jsonl", "devices", "pairings.jsonl", "prefixes", "store", "strangers.jsonl"]);
    let root = store_of(&at.path().join("hub"));
    let mut store = Folder::open(&root, Files::default()).unwrap();
    let mut objects = 0;
    for (name, bytes) in crate::hub::tree(&root) {
        if name == hangtrue_core::sync::MARKER {
            continue;
        }
        let object: ObjectName = name.parse().unwrap_or_else(|_| panic!("{name} lies in the store"));
        assert!(object.fits(&bytes), "{name}");
        assert_eq!(store.get(&object).unwrap(), bytes);
        match object {
            ObjectName::Segment(name) => drop(segment::open(&name, &bytes, &firm).expect("sound")),
            // A number in its name may have been changed to another that is one.
            ObjectName::Photo(part) => drop(photo::open(&part, &bytes, &firm).expect("sound")),
            ObjectName::SegmentAgain(_) | ObjectName::PhotoAgain(_) => {}
        }
        objects += 1;
    }
    assert!(objects >= 2, "{objects}");
    // The hub still does its work.
    let mut late = Device::new(at.path(), "late", 2);
    late.sync(&firm, &mut store);
    assert_eq!(late.all().len(), 4);
}

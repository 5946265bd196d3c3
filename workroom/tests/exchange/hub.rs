//! What the hub refuses: wrong digits, second scanners, replays, strangers, revoked keys, other devices' names, other
//! firms' segments, paths that lead out, what is too large or too often.

use crate::help::{Device, scratch};
use crate::process::{HubProcess, SHORT, run, try_run};
use hangtrue::transport::Https;
use hangtrue_core::fact::{Body, Moment, Pen, Stamp};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::sync::pairing::{Joining, PairProblem};
use hangtrue_core::sync::{
    FirmKey, Hash, Http, HttpProblem, Method, OBJECTS, ObjectName, PhotoPartName, Request, Response, SegmentName,
    Transport, TransportProblem, segment,
};
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};
use uuid::Uuid;

fn a_segment(device: Uuid, key: &FirmKey) -> (SegmentName, Vec<u8>) {
    let mut writer = segment::Writer::new(device, 1);
    let body = Body::HouseOpened { name: "Larch House".to_owned(), unit: LengthUnit::Inch };
    let moment = Moment { ms: 1_700_000_000_000, random: [3; 10] };
    writer.add(&Pen::new(device, Stamp::default()).write(moment, moment.uuid(), "", LengthUnit::Inch, &body)).unwrap();
    writer.finish(&[], key).unwrap()
}

fn raw(method: Method, path: &str, key: &str, body: &[u8]) -> Request {
    Request {
        method,
        path: path.to_owned(),
        headers: vec![("authorization".to_owned(), format!("Bearer {key}"))],
        body: body.to_vec(),
        most: 1 << 20,
    }
}

fn says(response: &Response) -> String {
    String::from_utf8_lossy(&response.body).into_owned()
}

#[test]
fn pairing_is_for_one_device_and_the_third_slip_ends_it() {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let now = hangtrue::moments::now().ms / 1000;
    let join = |offer, n: u8| Joining::new(offer, Uuid::from_u128(u128::from(n)), "phone", now, [n; 32]).unwrap();

    // Wrong digits: nothing is given, and the offer is dead for the right ones too.
    let offer = hub.offer();
    let mut https = HubProcess::https(&offer);
    let phone = join(offer, 1);
    phone.asked(&https.send(&phone.ask()).unwrap()).unwrap();
    assert!(phone.polled(&https.send(&phone.poll()).unwrap()).unwrap().is_none(), "nobody has typed yet");
    hub.wait_for("Type the six digits");
    let wrong = if phone.code() == "123456" { "123457" } else { "123456" };
    for _ in 0..2 {
        hub.type_in(wrong);
        hub.wait_for("Type the six digits again");
        assert!(phone.polled(&https.send(&phone.poll()).unwrap()).unwrap().is_none(), "a slip costs a try");
    }
    hub.type_in(wrong);
    hub.wait_for("Not paired");
    assert_eq!(phone.polled(&https.send(&phone.poll()).unwrap()).unwrap_err(), PairProblem::NotConfirmed);
    hub.type_in(&phone.code());
    hub.wait_for("Type \"pair\"");
    assert_eq!(phone.polled(&https.send(&phone.poll()).unwrap()).unwrap_err(), PairProblem::NotConfirmed);

    // A stranger scans first: the phone is told, and its digits do not confirm the stranger.
    let offer = hub.offer();
    let (stranger, phone) = (join(offer.clone(), 2), join(offer, 3));
    stranger.asked(&https.send(&stranger.ask()).unwrap()).unwrap();
    hub.wait_for("Type the six digits");
    assert_eq!(phone.asked(&https.send(&phone.ask()).unwrap()).unwrap_err(), PairProblem::Used);
    for _ in 0..3 {
        hub.type_in(&phone.code());
    }
    hub.wait_for("Not paired");
    assert_eq!(stranger.polled(&https.send(&stranger.poll()).unwrap()).unwrap_err(), PairProblem::NotConfirmed);

    // A good one; then its ask is replayed, and somebody else polls.
    let offer = hub.offer();
    let (good, other) = (join(offer.clone(), 4), join(offer, 5));
    let ask = good.ask();
    good.asked(&https.send(&ask).unwrap()).unwrap();
    hub.wait_for("Type the six digits");
    hub.type_in(&good.code());
    hub.wait_for("is paired");
    assert_eq!(good.asked(&https.send(&ask).unwrap()).unwrap_err(), PairProblem::Used, "a replay");
    assert_eq!(other.polled(&https.send(&other.poll()).unwrap()).unwrap_err(), PairProblem::NotConfirmed);
    assert!(good.polled(&https.send(&good.poll()).unwrap()).unwrap().is_some());

    // A newer offer kills the older one; an ask for the old one cannot be read with the new key.
    let old = hub.offer();
    let newer = hub.offer();
    assert_ne!(old.key, newer.key);
    let late = join(old, 6);
    assert!(matches!(late.asked(&https.send(&late.ask()).unwrap()), Err(PairProblem::NotAnAsk(_))));

    let folder = hub.folder.display().to_string();
    let audit = run(&["hub", "--folder", &folder, "audit"]);
    for word in ["pair_offer", "pair_ask", "pair_failed", "paired"] {
        assert!(audit.contains(word), "{word}: {audit}");
    }
    let secrets = [good.code()];
    assert!(secrets.iter().all(|secret| !audit.contains(secret.as_str())), "no code in the list");
    #[cfg(unix)]
    for name in ["firm.key", "certificate.key"] {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(fs::metadata(hub.folder.join(name)).unwrap().permissions().mode() & 0o777, 0o600, "{name}");
    }
}

#[test]
fn what_is_not_right_is_refused_logged_and_changes_nothing() {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let mut phone = Device::new(at.path(), "phone", 1);
    let paired = hub.pair(phone.book.device(), "Ida's phone");
    let other = hub.pair(Uuid::from_u128(2), "Bo's phone");
    let (job, openings) = phone.house(1);
    phone.photo(job, openings[0], b"sill");
    phone.sync(&paired.firm, &mut hub.place(&paired));
    let store = hub.folder.join("store");
    let before = tree(&store);
    let mut https = Https::new(vec![format!("127.0.0.1:{}", hub.port)], paired.certificate, SHORT).unwrap();
    let mut send = |request: &Request| https.send(request);
    let own = before.iter().find(|(name, _)| name.starts_with("segments/")).unwrap().clone();
    let (foreign, foreign_bytes) = a_segment(Uuid::from_u128(77), &FirmKey::generate());
    let (theirs, their_bytes) = a_segment(phone.book.device(), &paired.firm);
    let theirs_path = format!("{OBJECTS}{theirs}");
    let own_path = format!("{OBJECTS}{}", own.0);
    let strange_key = format!("{}.{}", Uuid::from_u128(9), Hash::of(b"guess"));
    let junk = Hash::of(b"junk");
    let lost = SegmentName { device: Uuid::from_u128(2), first: 7, last: 8, hash: junk };
    let photo = PhotoPartName { photo: junk, part: 1, parts: 1, hash: junk };
    let big = vec![0; (4 << 20) + 1];
    for (what, request, status) in [
        ("no key", raw(Method::Get, "/exchange/v1/list/segments/", "", b""), 401),
        ("a key that was never given", raw(Method::Get, &own_path, &strange_key, b""), 401),
        ("other bytes under a name that is there", raw(Method::Put, &own_path, &paired.key, b"x"), 400),
        ("another device's prefix", raw(Method::Put, &theirs_path, &other.key, &their_bytes), 403),
        ("another firm's key", raw(Method::Put, &format!("{OBJECTS}{foreign}"), &paired.key, &foreign_bytes), 422),
        (
            "a photo that is none of the firm's",
            raw(Method::Put, &format!("{OBJECTS}{photo}"), &paired.key, b"junk"),
            422,
        ),
        (
            "asking again for what was never there",
            raw(Method::Put, &format!("{OBJECTS}again/{lost}"), &paired.key, b""),
            404,
        ),
        ("asking again with a body", raw(Method::Put, &format!("{OBJECTS}again/{lost}"), &paired.key, b"x"), 413),
        ("a path outside", raw(Method::Get, &format!("{OBJECTS}..%2f..%2ffirm.key"), &paired.key, b""), 400),
        (
            "a path outside, plain",
            raw(Method::Get, "/exchange/v1/objects/segments/../../../firm.key", &paired.key, b""),
            404,
        ),
        ("a list outside", raw(Method::Get, "/exchange/v1/list/..%2f", &paired.key, b""), 400),
        ("a list of everything", raw(Method::Get, "/exchange/v1/list/devices/", &paired.key, b""), 400),
        ("a name that is none", raw(Method::Put, &format!("{OBJECTS}segments/x"), &paired.key, b"x"), 400),
        ("more than a segment may be", raw(Method::Put, &theirs_path, &paired.key, &big), 413),
        ("nothing there", raw(Method::Get, "/", &paired.key, b""), 404),
        ("posting an object", raw(Method::Post, &own_path, &paired.key, b"x"), 404),
        ("an ask to pair with no offer open", raw(Method::Post, "/pair/v1/ask", "", b"x"), 409),
        ("an ask to pair that is too large", raw(Method::Post, "/pair/v1/ask", "", &big[..20_000]), 413),
    ] {
        let response = match send(&request) {
            Ok(response) => response,
            // The hub may close before all of a body that is too large is sent: refused too, and nothing is changed.
            Err(problem) if status == 413 && request.body.len() > big.len() / 2 => {
                assert!(problem.what.contains("Broken pipe") || problem.what.contains("reset"), "{what}: {problem}");
                continue;
            }
            Err(problem) => panic!("{what}: {problem}"),
        };
        assert_eq!(response.status, status, "{what}: {}", says(&response));
        assert!(response.body.starts_with(b"{\"says\":"), "{what}: {}", says(&response));
    }
    assert_eq!(tree(&store), before, "nothing was changed");
    assert_eq!(hub.place(&paired).get(&own.0.parse::<ObjectName>().unwrap()).unwrap(), own.1);

    // The wrong certificate, and no TLS at all.
    let mut wrong = Https::new(vec![format!("127.0.0.1:{}", hub.port)], Hash::of(b"another"), SHORT).unwrap();
    let HttpProblem { what } = wrong.send(&raw(Method::Get, "/", "", b"")).unwrap_err();
    assert!(what.contains("certificate"), "{what}");

    // Revoked while it runs: at once, and only that one.
    let folder = hub.folder.display().to_string();
    run(&["hub", "--folder", &folder, "revoke", "Bo's phone"]);
    let response = send(&raw(Method::Get, "/exchange/v1/list/segments/", &other.key, b"")).unwrap();
    assert_eq!(response.status, 401);
    assert!(says(&response).contains("revoked"), "{}", says(&response));
    let mut third = Device::new(at.path(), "third", 3);
    let report = third.try_sync(&other.firm, &mut hub.place(&other)).unwrap();
    assert!(matches!(report.stopped, Some(TransportProblem::Refused { .. })), "{report:?}");
    assert_eq!(phone.sync(&paired.firm, &mut hub.place(&paired)).held, 4);
    let devices = run(&["hub", "--folder", &folder, "devices"]);
    assert!(devices.contains("revoked") && devices.contains("Ida's phone"), "{devices}");
    assert!(!try_run(&["hub", "--folder", &folder, "revoke", "nobody"]).status.success());

    // Who brought what is written down, and who was refused; no key is.
    let audit = run(&["hub", "--folder", &folder, "audit"]);
    let brought = audit.lines().find(|line| line.contains("put") && line.contains(&own.0)).unwrap();
    assert!(brought.contains("Ida's phone") && brought.contains("127.0.0.1"), "{brought}");
    assert!(audit.contains("refused") && audit.contains("another firm's key"), "{audit}");
    let secret = paired.key.split_once('.').unwrap().1;
    assert!(!audit.contains(secret) && !audit.contains("AGE-SECRET"));

    // Too often: a stranger is slowed down to five requests a second after the first twenty, so that these sixty cannot
    // be answered in less than eight seconds on any machine; a paired device next to him waits for nothing.
    let started = Instant::now();
    for _ in 0..60 {
        assert_eq!(send(&raw(Method::Get, &own_path, &strange_key, b"")).unwrap().status, 401);
    }
    assert!(started.elapsed() > Duration::from_secs(7), "{:?}", started.elapsed());
    assert_eq!(send(&raw(Method::Get, &own_path, &paired.key, b"")).unwrap().status, 200);
}

/// The same book is paired again: after a revoke, and when it died before it had its answer. It writes on under its
/// name, and the key that it had before is worth nothing.
#[test]
fn a_book_that_is_paired_again_goes_on() {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let mut phone = Device::new(at.path(), "phone", 1);
    let device = phone.book.device();
    let first = hub.pair(device, "phone");
    let (job, openings) = phone.house(1);
    phone.sync(&first.firm, &mut hub.place(&first));
    let folder = hub.folder.display().to_string();
    run(&["hub", "--folder", &folder, "revoke", "phone"]);
    phone.read(job, openings[0], hangtrue_core::house::Place::WidthTop, "34 3/8");
    let again = hub.pair(device, "phone");
    let report = phone.sync(&again.firm, &mut hub.place(&again));
    assert_eq!((report.sent, report.all_sent), (1, true), "{report:?}");
    // Confirmed at the hub, and the phone dies before it fetches its key.
    let now = hangtrue::moments::now().ms / 1000;
    let offer = hub.offer();
    let dying = Joining::new(offer.clone(), device, "phone", now, [9; 32]).unwrap();
    dying.asked(&HubProcess::https(&offer).send(&dying.ask()).unwrap()).unwrap();
    hub.wait_for("Type the six digits");
    hub.type_in(&dying.code());
    hub.wait_for("is paired");
    let third = hub.pair(device, "phone");
    phone.read(job, openings[0], hangtrue_core::house::Place::WidthTop, "34 1/2");
    assert_eq!(phone.sync(&third.firm, &mut hub.place(&third)).sent, 1);
    let stopped = phone.try_sync(&again.firm, &mut hub.place(&again)).unwrap().stopped;
    assert!(matches!(stopped, Some(TransportProblem::Refused { .. })), "{stopped:?}");
    let devices = run(&["hub", "--folder", &folder, "devices"]);
    assert_eq!(devices.matches("revoked").count(), 3, "{devices}");
}

/// A hub that cannot keep a device's key gives the firm's key to nobody.
#[test]
fn a_hub_that_cannot_keep_a_key_hands_none_out() {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let now = hangtrue::moments::now().ms / 1000;
    let offer = hub.offer();
    let mut https = HubProcess::https(&offer);
    let phone = Joining::new(offer, Uuid::from_u128(1), "phone", now, [1; 32]).unwrap();
    phone.asked(&https.send(&phone.ask()).unwrap()).unwrap();
    hub.wait_for("Type the six digits");
    // As a full disk does: nothing can be made where the keys are kept.
    let devices = hub.folder.join("devices");
    fs::remove_dir_all(&devices).unwrap();
    fs::write(&devices, "no room").unwrap();
    hub.type_in(&phone.code());
    hub.wait_for("Not paired");
    let answer = https.send(&phone.poll()).unwrap();
    assert!(answer.status >= 400, "{}", answer.status);
    assert!(phone.polled(&answer).is_err());
}

/// Two hundred uploads by somebody who is paired and means harm: what unfolds to much, and what asks for a large window.
#[cfg(target_os = "linux")]
#[test]
fn two_hundred_hostile_uploads_fit_into_256_mb() {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let device = Uuid::from_u128(1);
    let paired = hub.pair(device, "hostile");
    let body = format!("[{}0]", "0,".repeat((1 << 19) - 400));
    let fact = format!(
        "{{\"id\":\"{device}\",\"device\":\"{device}\",\"stamp\":{{\"ms\":1,\"count\":0}},\"job\":\"{device}\",\"unit\":\"in\",\
         \"kind\":\"x\",\"body\":{body}}}\n"
    );
    let pack = |facts: usize, window: Option<u32>| {
        let head = format!("{{\"hangtrue_segment\":1,\"device\":\"{device}\",\"first\":1,\"last\":{facts}}}\n");
        let plain = format!("{head}{}", fact.repeat(facts));
        let mut packer = zstd::Encoder::new(Vec::new(), 3).unwrap();
        if let Some(log) = window {
            packer.window_log(log).unwrap();
        }
        std::io::Write::write_all(&mut packer, plain.as_bytes()).unwrap();
        packer.finish().unwrap()
    };
    // As much as may come out of one, at ten of them at once; one fact, at a hundred; too large a window, at the rest.
    let packed = [(15, pack(15, None)), (15, pack(15, Some(27))), (1, pack(1, None))];
    let (port, certificate) = (hub.port, paired.certificate);
    let taken = std::sync::atomic::AtomicU64::new(0);
    std::thread::scope(|scope| {
        for thread in 0..40 {
            let (packed, paired, taken) = (&packed, &paired, &taken);
            scope.spawn(move || {
                let mut https =
                    Https::new(vec![format!("127.0.0.1:{port}")], certificate, Duration::from_secs(1200)).unwrap();
                for n in 0..5 {
                    let kind = if n == 0 && thread % 4 == 0 { 0 } else { 1 + (thread + n) % 2 };
                    let (last, plain) = &packed[kind];
                    let stored = paired.firm.seal(plain);
                    let name = SegmentName { device, first: 1, last: *last, hash: Hash::of(&stored) };
                    let request = raw(Method::Put, &format!("{OBJECTS}{name}"), &paired.key, &stored);
                    let status = https.send(&request).expect("it answers").status;
                    assert!(matches!(status, 201 | 422), "{status}");
                    taken.fetch_add(u64::from(status == 201), std::sync::atomic::Ordering::Relaxed);
                }
            });
        }
    });
    let most = hub.most_memory_kb();
    println!("200 hostile uploads, {} of them sound: the hub took {} MB at most", taken.into_inner(), most >> 10);
    assert!(most < 256 << 10, "{most} kB");
    assert!(hub.pair(Uuid::from_u128(2), "phone").certificate == certificate, "and it goes on");
}

/// A restored book takes a new device id and so a new prefix: its key stays good.
#[test]
fn a_device_with_a_new_id_keeps_its_key() {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let mut phone = Device::new(at.path(), "phone", 1);
    let paired = hub.pair(phone.book.device(), "phone");
    phone.house(1);
    phone.sync(&paired.firm, &mut hub.place(&paired));
    let Device { book, path, mut clock } = phone;
    drop(book);
    let moved = path.with_extension("moved");
    fs::copy(&path, &moved).unwrap();
    let book = hangtrue_core::store::Book::open(&moved, &mut || clock.moment()).unwrap();
    let mut phone = Device { book, path: moved, clock };
    let report = phone.sync(&paired.firm, &mut hub.place(&paired));
    assert_eq!((report.sent, report.all_sent), (3, true), "all its own, under the new name");
}

/// The workroom's own book follows what arrives, and what is asked in it goes out; all as processes.
#[test]
fn two_processes_measure_ask_and_answer() {
    let at = scratch();
    let book = |name: &str| at.path().join(name).display().to_string();
    let (desk, phone) = (book("desk.book"), book("phone.book"));
    let house = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses/heron-lane.json").display().to_string();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &["--book", &desk]);
    run(&["take", "--book", &phone, &house]);
    let offer = hub.offer().to_string();
    let pairing = {
        let phone = phone.clone();
        let child = crate::process::program()
            .args(["pair", "--book", &phone, "--name", "Ida's phone", &offer])
            .stdout(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = std::io::BufReader::new(child.stdout.unwrap());
        let mut line = String::new();
        std::io::BufRead::read_line(&mut out, &mut line).unwrap();
        let code = line.trim().rsplit(' ').next().unwrap().to_owned();
        hub.wait_for("Type the six digits");
        hub.type_in(&code);
        hub.wait_for("is paired");
        let mut rest = String::new();
        std::io::Read::read_to_string(&mut out, &mut rest).unwrap();
        rest
    };
    assert!(pairing.contains("Paired with \"Workroom\""), "{pairing}");
    let said = run(&["sync", "--book", &phone]);
    assert!(said.contains("were sent"), "{said}");
    hub.wait_for("facts arrived");
    assert!(run(&["houses", "--book", &desk]).contains("Heron"));
    let job = hangtrue_core::house::file::read(&fs::read_to_string(&house).unwrap()).unwrap();
    let (room, opening) = job.openings().next().unwrap();
    let name = format!("{}, {}", room.name, opening.name);
    run(&["ask", "--book", &desk, "heron", &name, "--place", "width_top", "--why", "an inch out?"]);
    // The hub's own sync brings it out within seconds.
    hub.wait_for("1 were sent");
    run(&["sync", "--book", &phone]);
    let asked = run(&["asks", "--book", &phone]);
    assert!(asked.contains("an inch out?") && asked.contains("top width"), "{asked}");
    let answer = run(&["read", "--book", &phone, "heron", &name, "width_top", "35 7/8", "--by", "Ida"]);
    assert!(answer.contains("answers"), "{answer}");
    run(&["sync", "--book", &phone]);
    hub.wait_for("1 facts arrived");
    assert!(run(&["asks", "--book", &desk]).contains("Nothing is asked"));
}

pub(crate) fn tree(root: &Path) -> Vec<(String, Vec<u8>)> {
    fn walk(root: &Path, at: &Path, out: &mut Vec<(String, Vec<u8>)>) {
        for entry in fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(root, &path, out);
            } else {
                out.push((path.strip_prefix(root).unwrap().display().to_string(), fs::read(&path).unwrap()));
            }
        }
    }
    let mut out = Vec::new();
    walk(root, root, &mut out);
    out.sort();
    out
}

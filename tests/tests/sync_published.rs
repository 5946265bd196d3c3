//! What the exchange stands on, held against the outside: the age format's published vectors, zstd frames made by hand
//! from RFC 8878, and everything that we write opened by the age and zstd tools and plain Python alone, as
//! `docs/exchange-format.md` says. (UUIDv7's example of RFC 9562 is held in `core/src/fact`.)
//!
//! Where a tool is not installed its test says so and ends; `./check sync` installs them.

mod sync_help;

use hangtrue_core::fact::Body;
use hangtrue_core::house::Place;
use hangtrue_core::store::Files;
use hangtrue_core::sync::segment::{self, SegmentProblem};
use hangtrue_core::sync::{FirmKey, Hash, OpenProblem, SegmentName, archive};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use sync_help::{Device, folder};
use uuid::Uuid;

fn here(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)
}

fn from_hex(text: &str) -> Vec<u8> {
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).expect("hex")).collect()
}

fn there(tools: &[&str]) -> bool {
    for tool in tools {
        if Command::new(tool).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status().is_err() {
            eprintln!("SKIPPED: the command {tool} is not installed; ./check sync installs it");
            return false;
        }
    }
    true
}

/// Runs a tool on bytes: what it wrote, or what it said.
fn tool(command: &mut Command, input: &[u8]) -> Result<Vec<u8>, String> {
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts");
    let mut stdin = child.stdin.take().expect("piped");
    let input = input.to_vec();
    // A tool may end before it has read everything.
    let feeding = std::thread::spawn(move || drop(stdin.write_all(&input)));
    let output = child.wait_with_output().expect("it ends");
    feeding.join().expect("fed");
    if output.status.success() { Ok(output.stdout) } else { Err(String::from_utf8_lossy(&output.stderr).into_owned()) }
}

fn age(key: &Path, input: &[u8]) -> Result<Vec<u8>, String> {
    tool(Command::new("age").arg("-d").arg("-i").arg(key), input)
}

fn unzstd(input: &[u8]) -> Result<Vec<u8>, String> {
    tool(Command::new("zstd").args(["-d", "-c", "-q"]), input)
}

/// C2SP/CCTV, "age test vectors" (their version is in the file): all 47 with one X25519 key that are neither armoured nor
/// compressed. Ours and the age tool, which shares no code with it, must do what the vector expects.
///
/// Two headers the age library reads on purpose though the format forbids them (files of its own early versions had such
/// stanzas). They are still authenticated, so nothing is believed that the key's holder did not write.
#[test]
fn the_age_vectors_of_c2sp_open_or_fail_as_they_say() {
    let text = fs::read_to_string(here("fixtures/exchange/age-vectors.json")).expect("the vectors are there");
    let file: Value = serde_json::from_str(&text).expect("JSON");
    let at = tempfile::tempdir().unwrap();
    let with_tool = there(&["age"]);
    let lenient = ["stanza_missing_body", "stanza_missing_final_line"];
    let mut counts: BTreeMap<String, u32> = BTreeMap::new();
    for vector in file["vectors"].as_array().expect("a list") {
        let word = |field: &str| vector[field].as_str().unwrap_or_default().to_owned();
        let (name, expect, stored) = (word("name"), word("expect"), from_hex(&word("hex")));
        let key: FirmKey = word("key").parse().expect("an age key");
        let opened = key.open(&stored, 1 << 20);
        match (expect.as_str(), &opened) {
            ("success", Ok(payload)) => assert_eq!(Hash::of(payload).to_string(), word("payload_sha256"), "{name}"),
            // Where in a header that cannot be read the reader stops is its own affair; it gives nothing out.
            ("no match", Err(OpenProblem::NotOurs))
            | ("HMAC failure" | "payload failure", Err(OpenProblem::Damaged))
            | ("header failure", Err(_)) => {}
            ("header failure", Ok(_)) if lenient.contains(&name.as_str()) => {}
            _ => panic!("{name}: {expect} was expected, ours says {opened:?}"),
        }
        if with_tool {
            let path = at.path().join("key");
            fs::write(&path, word("key")).unwrap();
            let theirs = age(&path, &stored);
            assert_eq!(theirs.is_ok(), expect == "success", "{name}: the age tool says {theirs:?}");
            assert!(theirs.is_err() || theirs.ok() == opened.ok(), "{name}");
        }
        *counts.entry(expect).or_default() += 1;
    }
    println!("age vectors: {counts:?}, the age tool agrees: {with_tool}");
    assert_eq!(counts.values().sum::<u32>(), 47);
}

/// Frames of RFC 8878 by hand: 3.1.1 (magic, header descriptor 0x20 = one segment with a size of one byte), 3.1.1.2
/// (blocks of type raw 0, RLE 1, reserved 3) and 3.1.2 (a frame to be skipped).
#[test]
fn zstd_frames_made_by_hand_from_rfc_8878_are_read_and_wrong_ones_are_not() {
    const MAGIC: [u8; 4] = [0x28, 0xB5, 0x2F, 0xFD];
    fn block(last: bool, kind: u32, size: usize, content: &[u8]) -> Vec<u8> {
        let head = u32::from(last) | kind << 1 | u32::try_from(size).expect("small") << 3;
        [&head.to_le_bytes()[..3], content].concat()
    }
    fn frame(size: usize, blocks: &[Vec<u8>]) -> Vec<u8> {
        let size = u8::try_from(size).expect("one byte");
        [&MAGIC[..], &[0x20, size], &blocks.concat()].concat()
    }
    let key = FirmKey::generate();
    let device = Uuid::from_u128(1);
    // A header that says one fact, and no fact: read through to its end, the count is what is wrong.
    let line = format!("{{\"hangtrue_segment\":1,\"device\":\"{device}\",\"first\":1,\"last\":1}}\n");
    let raw = frame(line.len(), &[block(true, 0, line.len(), line.as_bytes())]);
    let in_two = frame(
        line.len(),
        &[block(false, 0, 10, &line.as_bytes()[..10]), block(true, 0, line.len() - 10, &line.as_bytes()[10..])],
    );
    let skipped = [&[0x50, 0x2A, 0x4D, 0x18, 3, 0, 0, 0, 1, 2, 3][..], &raw].concat();
    // Ten spaces in one byte; JSON's own white space before the header.
    let spaces = [frame(10, &[block(true, 1, 10, b" ")]), raw.clone()].concat();
    let reserved = frame(line.len(), &[block(true, 3, line.len(), line.as_bytes())]);
    let mut reserved_bit = raw.clone();
    reserved_bit[4] |= 0x08;
    let cut = raw[..raw.len() - 1].to_vec();
    let endless = frame(line.len(), &[block(false, 0, line.len(), line.as_bytes())]);
    // A window of 2^41 bytes (exponent 31 of 3.1.1.1.2): more than a reader should hold.
    let window = [&MAGIC[..], &[0x00, 31 << 3], &block(true, 0, line.len(), line.as_bytes())].concat();
    let with_tool = there(&["zstd"]);
    for (what, packed, good) in [
        ("one raw block", raw, true),
        ("two raw blocks", in_two, true),
        ("a frame to be skipped before it", skipped, true),
        ("an RLE block, and another frame", spaces, true),
        ("the reserved kind of block", reserved, false),
        ("the reserved bit", reserved_bit, false),
        ("cut off", cut, false),
        ("no last block", endless, false),
        ("a window of two terabytes", window, false),
    ] {
        let stored = key.seal(&packed);
        let name = SegmentName { device, first: 1, last: 1, hash: Hash::of(&stored) };
        match segment::open(&name, &stored, &key) {
            Err(SegmentProblem::Count { said: 1, found: 0 }) => assert!(good, "{what}"),
            Err(SegmentProblem::NotZstd(_)) => assert!(!good, "{what}"),
            other => panic!("{what}: {other:?}"),
        }
        if with_tool {
            let theirs = unzstd(&packed);
            assert_eq!(theirs.is_ok(), good, "{what}: the zstd tool says {theirs:?}");
        }
    }
}

/// A segment with the two usual tools, by the line in `docs/exchange-format.md`; a folder of exchange and an archive with
/// Python's own library and those tools, no package.
#[test]
fn what_we_write_opens_with_the_age_and_zstd_tools_and_plain_python() {
    if !there(&["age", "zstd", "python3"]) {
        return;
    }
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let key_file = at.path().join("firm.key");
    fs::write(&key_file, format!("# invented\n\n{}\n", key.to_text())).unwrap();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(3);
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    let bytes: Vec<u8> = (0..300_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    phone.photo(job, openings[0], &bytes);
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    desk.ask(job, openings[1], &[Place::WidthTop], "an inch out?");
    desk.sync(&key, &mut place);
    phone.sync(&key, &mut place);

    let mut lines = 0;
    for device in [&phone, &desk] {
        let own = place.root().join(format!("segments/{}", device.book.device()));
        for entry in fs::read_dir(own).unwrap() {
            let plain = unzstd(&age(&key_file, &fs::read(entry.unwrap().path()).unwrap()).unwrap()).unwrap();
            let text = String::from_utf8(plain).unwrap();
            let mut parsed = text.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
            assert_eq!(parsed.next().unwrap()["hangtrue_segment"], 1);
            for fact in parsed {
                let ours = device.all().into_iter().find(|ours| fact["id"] == ours.id.to_string()).expect("ours");
                assert_eq!(fact, serde_json::to_value(&ours).unwrap());
                lines += 1;
            }
        }
    }
    assert_eq!(lines, phone.all().len());

    let mut ids: Vec<String> = phone.all().iter().map(|fact| fact.id.to_string()).collect();
    ids.sort();
    let hash = format!("facts by id hash to {}", Hash::of(ids.concat().as_bytes()));
    // -I -S: no packages, no settings of the user.
    let python = |arguments: &[&Path]| {
        let script = here("tests/python/read_exchange.py");
        let mut command = Command::new("python3");
        String::from_utf8(tool(command.args(["-I", "-S"]).arg(script).args(arguments), b"").expect("it reads")).unwrap()
    };
    let said = python(&[Path::new("folder"), &key_file, place.root()]);
    assert!(said.contains(&hash) && said.contains("1 of 1 photos whole, 0 objects not believed"), "{said}");
    // A house's readings, listed from the document alone, are those that the core shows.
    let (before, standing) = (phone.read(job, openings[0], Place::WidthTop, "43 3/8"), phone.all().len());
    phone.write(job, &[Body::Undone { fact: before[0].id, place: None }]);
    let first = desk.book.job(job).unwrap().unwrap().openings().next().unwrap().1.readings[0].id;
    let mut better = phone.reading(openings[0], Place::WidthTop, "873 mm", None);
    if let Body::ReadingTaken { reading, .. } = &mut better {
        reading.amends = Some(first);
    }
    phone.write(job, &[better]);
    assert!(phone.all().len() > standing);
    phone.sync(&key, &mut place);
    let house = phone.book.job(job).unwrap().unwrap();
    let mut want: Vec<String> = Vec::new();
    for (room, opening) in house.openings() {
        for reading in &opening.readings {
            let state = match (opening.stands(reading), reading.withdrawn.is_some()) {
                (true, _) => "stands",
                (false, true) => "taken back",
                (false, false) => "corrected",
            };
            let (house, place) = (&house.name, reading.place.code());
            let read = reading.typed.text();
            want.push(format!("{house}\t{}\t{}\t{place}\t{read} [in]\t{state}", room.name, opening.name));
        }
    }
    let said = python(&[Path::new("readings"), &key_file, place.root()]);
    let mut listed: Vec<String> = said.lines().map(str::to_owned).collect();
    listed.sort();
    want.sort();
    assert_eq!(listed, want);
    assert_eq!(listed.iter().filter(|line| line.ends_with("stands")).count(), 1);
    desk.sync(&key, &mut place);
    let mut ids: Vec<String> = desk.all().iter().map(|fact| fact.id.to_string()).collect();
    ids.sort();
    let hash = format!("facts by id hash to {}", Hash::of(ids.concat().as_bytes()));
    let out = at.path().join("archive");
    archive::write(&desk.book, &out, &Files::default()).unwrap();
    let said = python(&[Path::new("archive"), &out]);
    assert!(said.contains(&hash) && said.contains(&format!("ok: {} facts", ids.len())), "{said}");
}

//! The kit of good and bad files in `fixtures/exchange/kit.json`: each must get exactly the verdict that it names, here and
//! in the second reader (`tests/python/read_exchange.py`). The kit is written once and kept, so that a change of the
//! format is seen: `HANGTRUE_WRITE_KIT=1 cargo test -p hangtrue-tests --test sync_kit -- --ignored` writes a new one.

mod sync_help;

use hangtrue_core::store::Files;
use hangtrue_core::sync::pairing::{Invitation, Offer};
use hangtrue_core::sync::segment::SegmentProblem;
use hangtrue_core::sync::{FirmKey, Hash, ObjectName, PhotoPartName, SegmentName, archive, photo, segment};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use sync_help::Device;
use uuid::Uuid;

fn kit_path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/exchange/kit.json")
}

fn to_hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

fn from_hex(text: &str) -> Vec<u8> {
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).expect("hex")).collect()
}

fn stored(case: &Value) -> Vec<u8> {
    case.get("repeat").map_or_else(
        || from_hex(case["hex"].as_str().expect("hex")),
        |repeat| {
            let byte = u8::try_from(repeat["byte"].as_u64().expect("a byte")).expect("a byte");
            vec![byte; usize::try_from(repeat["count"].as_u64().expect("a count")).expect("a count")]
        },
    )
}

#[test]
fn every_file_of_the_kit_gets_its_verdict() {
    let kit: Value = serde_json::from_str(&fs::read_to_string(kit_path()).expect("the kit is there")).expect("JSON");
    let key: FirmKey = kit["key"].as_str().unwrap().parse().unwrap();
    let mut seen: Vec<String> = Vec::new();
    for case in kit["names"].as_array().unwrap() {
        let name = case["name"].as_str().unwrap();
        assert_eq!(name.parse::<ObjectName>().is_ok(), case["ok"].as_bool().unwrap(), "{name}");
    }
    for case in kit["segments"].as_array().unwrap() {
        let Ok(ObjectName::Segment(name)) = case["name"].as_str().unwrap().parse() else { panic!("{case}") };
        let read = segment::open(&name, &stored(case), &key);
        let (code, says) = match &read {
            Ok(_) => ("ok", String::new()),
            Err(problem) => (problem.code(), problem.to_string()),
        };
        assert_eq!(code, case["verdict"].as_str().unwrap(), "{}: {says}", case["why"]);
        if let Ok(segment) = read {
            let ids: Vec<String> = segment.facts.iter().map(|fact| fact.id.to_string()).collect();
            assert_eq!(json!(ids), case["facts"], "{}", case["why"]);
            let replaces: Vec<String> = segment.replaces.iter().map(Hash::to_string).collect();
            assert_eq!(json!(replaces), case["replaces"], "{}", case["why"]);
        }
        seen.push(code.to_owned());
    }
    for code in std::iter::once("ok").chain(SegmentProblem::CODES) {
        assert!(seen.iter().any(|seen| seen == code), "the kit has no case of {code}");
    }
    for case in kit["photo_parts"].as_array().unwrap() {
        let Ok(ObjectName::Photo(name)) = case["name"].as_str().unwrap().parse() else { panic!("{case}") };
        let read = photo::open(&name, &stored(case), &key);
        let code = match &read {
            Ok(bytes) => {
                assert_eq!(Hash::of(bytes), name.photo, "{}", case["why"]);
                "ok"
            }
            Err(photo::PhotoProblem::Damaged { .. }) => "damaged",
            Err(_) => "not_ours",
        };
        assert_eq!(code, case["verdict"].as_str().unwrap(), "{}", case["why"]);
    }
    for case in kit["archives"].as_array().unwrap() {
        let at = tempfile::tempdir().unwrap();
        for (name, text) in case["files"].as_object().unwrap() {
            let path = at.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, from_hex(text.as_str().unwrap())).unwrap();
        }
        let code = archive::check(at.path()).map_or_else(|problem| problem.code(), |_| "ok");
        assert_eq!(code, case["verdict"].as_str().unwrap(), "{}", case["why"]);
    }
    for case in kit["offers"].as_array().unwrap() {
        let text = case["text"].as_str().unwrap();
        let code = text.parse::<Offer>().map_or_else(|problem| problem.code(), |_| "ok");
        assert_eq!(code, case["verdict"].as_str().unwrap(), "{text}");
    }
}

/// Seals lines as a segment of `device`, facts 1 to `last`, whatever the lines are.
fn seal(key: &FirmKey, device: Uuid, last: u64, plain: &[u8]) -> (String, Vec<u8>) {
    named(device, last, key.seal(&zstd::encode_all(plain, 19).unwrap()))
}

fn named(device: Uuid, last: u64, stored: Vec<u8>) -> (String, Vec<u8>) {
    (SegmentName { device, first: 1, last, hash: Hash::of(&stored) }.to_string(), stored)
}

#[test]
#[ignore = "writes a new kit over the old one"]
fn write_the_kit() {
    if std::env::var("HANGTRUE_WRITE_KIT").is_err() {
        eprintln!("nothing written: HANGTRUE_WRITE_KIT is not set");
        return;
    }
    let at = tempfile::tempdir().unwrap();
    let (key, other) = (FirmKey::generate(), FirmKey::generate());
    let mut phone = Device::new(at.path(), "phone", 1);
    let (job, openings) = phone.house(1);
    phone.photo(job, openings[0], b"the bytes of a photo");
    let facts = phone.all();
    let device = Uuid::from_u128(0x00C0_FFEE);
    let lines = |n: usize| -> String {
        facts.iter().take(n).fold(String::new(), |mut text, fact| {
            text.push_str(&serde_json::to_string(fact).unwrap());
            text.push('\n');
            text
        })
    };
    let head = |last: u64| format!("{{\"hangtrue_segment\":1,\"device\":\"{device}\",\"first\":1,\"last\":{last}}}\n");
    let good = format!("{}{}", head(2), lines(2));
    let ids = |n: usize| -> Vec<String> { facts.iter().take(n).map(|fact| fact.id.to_string()).collect() };

    let mut segments = Vec::new();
    let mut add = |why: &str, (name, stored): (String, Vec<u8>), verdict: &str| {
        segments.push(json!({ "why": why, "name": name, "verdict": verdict, "hex": to_hex(&stored) }));
    };
    let sealed = |plain: &str, last: u64| seal(&key, device, last, plain.as_bytes());
    // Sound ones come first; what they hold is added below.
    add("two facts", sealed(&good, 2), "ok");
    let replaced = Hash::of(b"an older segment").to_string();
    let richer = good.replace("\"last\":2", &format!("\"last\":2,\"new\":{{}},\"replaces\":[\"{replaced}\"]"));
    add("a field of a later minor version, and a replaced segment", sealed(&richer, 2), "ok");
    let strange = good.replace("\"kind\":\"room_added\"", "\"kind\":\"hologram_added\",\"later\":1");
    assert_ne!(strange, good);
    add("a kind that is not known here, with a field that is not", sealed(&strange, 2), "ok");
    let (name, bytes) = sealed(&good, 2);
    let mut flipped = bytes.clone();
    flipped[bytes.len() - 5] ^= 1;
    add("one bit flipped on the way", (name.clone(), flipped.clone()), "damaged");
    add("cut off on the way", (name.clone(), bytes[..bytes.len() - 1].to_vec()), "damaged");
    add("empty", (name, Vec::new()), "damaged");
    add("no age file", named(device, 2, good.clone().into_bytes()), "not_age");
    add("an age file's first line alone", named(device, 2, b"age-encryption.org/v1\n".to_vec()), "not_age");
    add("another firm's", seal(&other, device, 2, good.as_bytes()), "not_ours");
    add("one bit flipped before it was named", named(device, 2, flipped), "does_not_decrypt");
    add("cut off before it was named", named(device, 2, bytes[..bytes.len() - 1].to_vec()), "does_not_decrypt");
    let mac = bytes.windows(5).position(|window| window == b"\n--- ").unwrap() + 5;
    let mut wrong_mac = bytes.clone();
    wrong_mac[mac] = if wrong_mac[mac] == b'A' { b'B' } else { b'A' };
    add("the header's check is wrong", named(device, 2, wrong_mac), "does_not_decrypt");
    add("not compressed", named(device, 2, key.seal(good.as_bytes())), "not_zstd");
    let packed = zstd::encode_all(good.as_bytes(), 19).unwrap();
    add(
        "compressed, and cut off before it was sealed",
        named(device, 2, key.seal(&packed[..packed.len() - 4])),
        "not_zstd",
    );
    add("17 MiB of nothing in two kB", seal(&key, device, 2, &vec![b' '; 17 << 20]), "plain_too_large");
    for (why, plain, verdict) in [
        ("nothing in it", String::new(), "header"),
        ("no JSON", "hello\n".to_owned(), "header"),
        ("no version", good.replace("\"hangtrue_segment\":1,", ""), "header"),
        ("version in words", good.replace("\"hangtrue_segment\":1", "\"hangtrue_segment\":\"1\""), "header"),
        ("version 0", good.replace("\"hangtrue_segment\":1", "\"hangtrue_segment\":0"), "header"),
        ("no device", good.replacen(&format!("\"device\":\"{device}\","), "", 1), "header"),
        ("replaces what is no hash", good.replace("\"last\":2", "\"last\":2,\"replaces\":[\"x\"]"), "header"),
        ("version 2, of a form nobody knows yet", "{\"hangtrue_segment\":2,\"all\":\"new\"}\nx\n".to_owned(), "newer"),
        ("another device's", good.replacen("c0ffee", "c0ffef", 1), "other_name"),
        ("other numbers", good.replace("\"last\":2", "\"last\":3"), "other_name"),
        ("a unit that is none", good.replacen("\"unit\":\"in\"", "\"unit\":\"ell\"", 1), "fact"),
        (
            "a fact with no body",
            format!("{}{}\n", head(1), {
                let mut fact = serde_json::to_value(&facts[0]).unwrap();
                fact.as_object_mut().unwrap().remove("body");
                fact
            }),
            "fact",
        ),
        (
            "a stamp after the year 9999",
            good.replacen("\"ms\":1700", "\"ms\":9900", 1).replacen("\"ms\":99", "\"ms\":9999", 1),
            "fact",
        ),
        ("a stamp before 1970", good.replacen("\"ms\":", "\"ms\":-", 1), "fact"),
        ("a count too large", good.replacen("\"count\":0", "\"count\":4294967296", 1), "fact"),
        ("a line that is no JSON", format!("{}{}hello\n", head(2), lines(1)), "fact"),
        ("an empty line", format!("{}{}\n{}", head(2), lines(1), lines(2)), "fact"),
        ("one fact too few", format!("{}{}", head(2), lines(1)), "count"),
        ("one fact too many", format!("{}{}", head(2), lines(3)), "count"),
        ("the last line does not end", good.trim_end().to_owned(), "count"),
        ("a first line alone, not ended", head(2).trim_end().to_owned(), "count"),
    ] {
        assert!(verdict != "fact" || plain != good, "{why}");
        let last = if why == "a fact with no body" { 1 } else { 2 };
        add(why, sealed(&plain, last), verdict);
    }
    segments.push(json!({
        "why": "one byte more than may be stored", "verdict": "too_large",
        "name": SegmentName { device, first: 1, last: 2, hash: Hash::of(&vec![0; (4 << 20) + 1]) }.to_string(),
        "repeat": { "byte": 0, "count": (4 << 20) + 1 },
    }));
    for case in segments.iter_mut().filter(|case| case["verdict"] == "ok") {
        case["facts"] = json!(ids(2));
        let replaces = case["why"].as_str().unwrap().contains("replaced");
        case["replaces"] = if replaces { json!([replaced]) } else { json!([]) };
    }

    let picture = b"the bytes of a photo";
    let (part, stored) = photo::seal(Hash::of(picture), picture, 1, &key).unwrap();
    let (none, empty) = photo::seal(Hash::of(b""), b"", 1, &key).unwrap();
    let theirs = other.seal(picture);
    let foreign = PhotoPartName { hash: Hash::of(&theirs), ..part };
    let photo_parts = json!([
        { "why": "a photo in one part", "name": part.to_string(), "hex": to_hex(&stored), "verdict": "ok" },
        { "why": "an empty photo", "name": none.to_string(), "hex": to_hex(&empty), "verdict": "ok" },
        { "why": "a part cut off", "name": part.to_string(), "hex": to_hex(&stored[1..]), "verdict": "damaged" },
        { "why": "another firm's part", "name": foreign.to_string(), "hex": to_hex(&theirs), "verdict": "not_ours" },
    ]);

    let plain = at.path().join("archive");
    archive::write(&phone.book, &plain, &Files::default()).unwrap();
    let read = |name: &str| fs::read(plain.join(name)).unwrap();
    let photo_name = format!("photos/{}", Hash::of(picture));
    type Contents = Vec<(String, Vec<u8>)>;
    let archive_case = |why: &str, verdict: &str, change: &dyn Fn(&mut Contents)| {
        let mut files = vec![
            ("archive.json".to_owned(), read("archive.json")),
            ("facts.jsonl".to_owned(), read("facts.jsonl")),
            (photo_name.clone(), picture.to_vec()),
        ];
        change(&mut files);
        let files: serde_json::Map<String, Value> =
            files.into_iter().map(|(name, bytes)| (name, json!(to_hex(&bytes)))).collect();
        json!({ "why": why, "verdict": verdict, "files": files })
    };
    let swap = |bytes: &mut Vec<u8>, from: &str, to: &str| {
        *bytes = String::from_utf8(std::mem::take(bytes)).unwrap().replacen(from, to, 1).into_bytes();
    };
    let archives = json!([
        archive_case("a whole archive", "ok", &|_| {}),
        archive_case("with a file that is no photo", "ok", &|files| files
            .push(("photos/readme.txt".to_owned(), vec![]))),
        archive_case("not finished", "not_an_archive", &|files| drop(files.remove(0))),
        archive_case("no facts", "not_an_archive", &|files| drop(files.remove(1))),
        archive_case("version 2", "newer", &|files| swap(&mut files[0].1, "_archive\": 1", "_archive\": 2")),
        archive_case("a photo lost", "damaged", &|files| drop(files.remove(2))),
        archive_case("a photo changed", "damaged", &|files| files[2].1[0] ^= 1),
        archive_case("a word changed", "damaged", &|files| swap(&mut files[1].1, "Larch", "Beech")),
        archive_case("a line that is no fact", "damaged", &|files| swap(
            &mut files[1].1,
            "\"unit\":\"in\"",
            "\"unit\":\"ell\""
        )),
        archive_case("cut off", "damaged", &|files| {
            files[1].1.pop();
        }),
    ]);

    let offer = Invitation::new(
        vec!["192.0.2.7:7443".to_owned(), "[2001:db8::1]:7443".to_owned()],
        Hash::of(b"c"),
        1_800_000_000,
    )
    .offer()
    .to_string();
    let offers: Vec<Value> = [
        (offer.clone(), "ok"),
        (format!(" {offer}\n"), "ok"),
        (format!("{offer}&later=1"), "ok"),
        (String::new(), "not_an_offer"),
        ("https://example.org/".to_owned(), "not_an_offer"),
        (format!("{offer}&later"), "not_an_offer"),
        (offer.replace("pair:1", "pair:0"), "not_an_offer"),
        (offer.replace("pair:1", "pair:one"), "not_an_offer"),
        (offer.replace("pair:1", "pair:2"), "newer"),
        (offer.replace("192.0.2.7:7443", "192.0.2.7"), "field"),
        (offer.replace("192.0.2.7:7443", "192.0.2.7:0"), "field"),
        (offer.replace("192.0.2.7:7443", "192.0.2.7:65536"), "field"),
        (offer.replace("192.0.2.7:7443", "somebody@192.0.2.7:7443"), "field"),
        (offer.replace("192.0.2.7:7443", "192.0.2.7/x:7443"), "field"),
        (offer.replace("[2001:db8::1]", "[2001:db8:::1]"), "field"),
        (offer.replace("cert=", "certificate="), "field"),
        (offer.replace("key=age1", "key=age1q"), "field"),
        (offer.replace("until=18", "until=-18"), "field"),
        (offer.replace("until=18", "until=99999999999999999999"), "field"),
        (format!("{offer}&until=1"), "field"),
        (format!("{offer}{}", "&at=a:1".repeat(7)), "field"),
    ]
    .into_iter()
    .map(|(text, verdict)| json!({ "text": text, "verdict": verdict }))
    .collect();

    let segment_name = segments[0]["name"].as_str().unwrap().to_owned();
    let part_name = part.to_string();
    let names: Vec<Value> = [
        (segment_name.clone(), true),
        (format!("again/{segment_name}"), true),
        (part_name.clone(), true),
        (format!("again/{part_name}"), true),
        (String::new(), false),
        ("../../etc/passwd".to_owned(), false),
        (format!("/{segment_name}"), false),
        (format!("{segment_name}/"), false),
        (format!("{segment_name}\n"), false),
        (format!("{segment_name}\0"), false),
        (format!("{segment_name}.new"), false),
        (format!("again/again/{segment_name}"), false),
        (segment_name.replace("segments/", "segments/../segments/"), false),
        (segment_name.replace("segments/", "Segments/"), false),
        (segment_name.replace("/0000000001-", "/1-"), false),
        (segment_name.replace("/0000000001-", "/0000000000-"), false),
        (segment_name.replace("/0000000001-", "/0000000003-"), false),
        (segment_name.to_uppercase(), false),
        (segment_name[..segment_name.len() - 1].to_owned(), false),
        (part_name.replace("/0001-0001-", "/0002-0001-"), false),
        (part_name.replace("/0001-0001-", "/0001-4097-"), false),
        (part_name.replace("/0001-0001-", "/0000-0001-"), false),
    ]
    .into_iter()
    .map(|(name, ok)| json!({ "name": name, "ok": ok }))
    .collect();

    let kit = json!({
        "key": key.to_text(),
        "names": names,
        "segments": segments,
        "photo_parts": photo_parts,
        "archives": archives,
        "offers": offers,
    });
    fs::create_dir_all(kit_path().parent().unwrap()).unwrap();
    fs::write(kit_path(), serde_json::to_string_pretty(&kit).unwrap() + "\n").unwrap();
    let _ = segment::VERSION;
}

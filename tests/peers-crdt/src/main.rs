//! Our exchange beside two general-purpose merge libraries (automerge and loro, both MIT), on the same facts of five
//! phones: `cargo run --release --manifest-path tests/peers-crdt/Cargo.toml [facts...]`.
//!
//! The peers get the form that suits them best of those tried: a map a house, from a fact's id to its line of JSON, one
//! change a house, no encryption (one map of all facts took automerge 17 to 37 times the memory). Ours does all that it does in use: encrypted segments, every fact checked, indexed, summed and durable.
//! Every step is a process of its own, so that its memory is its own:
//!
//! - `merge`: what five phones hand over becomes the desk's one state on the disk, synced;
//! - `day`: the desk is opened again and one more day (300 facts of a sixth phone) is merged and kept.

use automerge::transaction::Transactable;
use automerge::{ActorId, AutoCommit, ObjType, ReadDoc};
use hangtrue_core::fact::Fact;
use hangtrue_core::store::{Book, Files};
use hangtrue_core::sync::{FirmKey, Folder, ObjectName, PhotoWish, Transport, segment, sync};
use hangtrue_tests::kill::moments;
use hangtrue_tests::many::{DEVICES, FACTS_A_HOUSE, Phone, bring, most_memory_kb};
use loro::{ExportMode, LoroDoc, LoroMap};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use std::time::Instant;
use uuid::Uuid;

/// Set for the process of one step: "library step folder facts".
const STEP: &str = "HANGTRUE_PEER";
const LIBRARIES: [&str; 3] = ["hangtrue", "automerge", "loro"];

/// A sixth phone's day.
fn day() -> Phone {
    Phone::new(DEVICES, FACTS_A_HOUSE * DEVICES)
}

fn line(fact: &Fact) -> (String, String) {
    (fact.id.to_string(), serde_json::to_string(fact).expect("a fact has text keys only"))
}

fn keep(path: &Path, bytes: &[u8]) {
    Files::default().replace(path, bytes).expect("kept");
}

fn files(folder: &Path) -> Vec<PathBuf> {
    (0..DEVICES).map(|n| folder.join(format!("phone-{n}"))).collect()
}

fn phone_of(n: u64, total: u64) -> Phone {
    if n < DEVICES { Phone::new(n, total) } else { day() }
}

// What a phone hands over.

fn automerge_phone(n: u64, total: u64) -> Vec<u8> {
    let mut doc = AutoCommit::new();
    doc.set_actor(ActorId::from(n.to_be_bytes()));
    let mut house = automerge::ROOT;
    for (fact, count) in phone_of(n, total).zip(1_u64..) {
        if count % FACTS_A_HOUSE == 1 {
            house = doc.put_object(automerge::ROOT, fact.job.to_string(), ObjType::Map).expect("a house");
        }
        let (id, text) = line(&fact);
        doc.put(&house, id, text).expect("put");
        if count % FACTS_A_HOUSE == 0 {
            doc.commit();
        }
    }
    doc.save()
}

fn loro_phone(n: u64, total: u64) -> Vec<u8> {
    let doc = LoroDoc::new();
    doc.set_peer_id(n + 1).expect("a peer");
    let mut house = LoroMap::new();
    for (fact, count) in phone_of(n, total).zip(1_u64..) {
        if count % FACTS_A_HOUSE == 1 {
            house = doc.get_map("houses").insert_container(&fact.job.to_string(), LoroMap::new()).expect("a house");
        }
        let (id, text) = line(&fact);
        house.insert(&id, text).expect("put");
        if count % FACTS_A_HOUSE == 0 {
            doc.commit();
        }
    }
    doc.commit();
    doc.export(ExportMode::all_updates()).expect("exported")
}

fn our_day(folder: &Path, key: &FirmKey) {
    let phone = day();
    let mut writer = segment::Writer::new(phone.device(), 1);
    for fact in phone {
        assert!(writer.add(&fact).expect("a short fact"), "a day fits a segment");
    }
    let (name, bytes) = writer.finish(&[], key).expect("a day has facts");
    let mut place = Folder::open(&folder.join("exchange"), Files::default()).expect("opened");
    place.put(&ObjectName::Segment(name), &bytes).expect("put");
}

// The desk.

fn automerge_desk(folder: &Path, from: &[PathBuf], begin: bool) -> u64 {
    let desk = folder.join("desk");
    let mut doc =
        if begin { AutoCommit::new() } else { AutoCommit::load(&fs::read(&desk).expect("read")).expect("loaded") };
    for path in from {
        let mut phone = AutoCommit::load(&fs::read(path).expect("read")).expect("loaded");
        doc.merge(&mut phone).expect("merged");
    }
    keep(&desk, &doc.save());
    let houses: Vec<_> = doc.map_range(automerge::ROOT, ..).map(|house| house.id()).collect();
    houses.iter().map(|house| doc.length(house) as u64).sum()
}

fn loro_desk(folder: &Path, from: &[PathBuf], begin: bool) -> u64 {
    let desk = folder.join("desk");
    let doc = LoroDoc::new();
    if !begin {
        doc.import(&fs::read(&desk).expect("read")).expect("loaded");
    }
    for path in from {
        doc.import(&fs::read(path).expect("read")).expect("merged");
    }
    keep(&desk, &doc.export(ExportMode::Snapshot).expect("exported"));
    let houses = doc.get_map("houses");
    let mut facts = 0;
    houses.for_each(|_, house| {
        facts += house.into_container().expect("a house").into_map().expect("a map").len() as u64;
    });
    facts
}

fn our_desk(folder: &Path) -> u64 {
    let key: FirmKey = fs::read_to_string(folder.join("firm.key")).expect("read").parse().expect("a key");
    // After all phones have written; the second opening hands in moments of its own.
    let mut now = moments(10_000_000 + u64::from(folder.join("desk").exists()));
    let mut book = Book::open(&folder.join("desk"), &mut now).expect("opened");
    let mut place = Folder::open(&folder.join("exchange"), Files::default()).expect("opened");
    let report = sync(&mut book, &key, &mut place, PhotoWish::Both, &mut now).expect("merged");
    assert_eq!((report.stopped, report.bad), (None, vec![]));
    u64::try_from(book.last_row().expect("read")).expect("rows count from 1")
}

/// One step, in this process. Prints facts, milliseconds, most kB of memory.
fn step(said: &str) {
    let words: Vec<&str> = said.splitn(4, ' ').collect();
    let [library, name, total, folder] = words[..] else { panic!("library step facts folder: {said}") };
    let (total, folder): (u64, &Path) = (total.parse().expect("a number"), Path::new(folder));
    let day_file = [folder.join("phone-day")];
    if name == "phones" {
        match library {
            "automerge" => {
                files(folder).iter().zip(0..).for_each(|(path, n)| keep(path, &automerge_phone(n, total)));
                keep(&day_file[0], &automerge_phone(DEVICES, total));
            }
            "loro" => {
                files(folder).iter().zip(0..).for_each(|(path, n)| keep(path, &loro_phone(n, total)));
                keep(&day_file[0], &loro_phone(DEVICES, total));
            }
            _ => {
                let key = FirmKey::generate();
                fs::write(folder.join("firm.key"), key.to_text()).expect("written");
                let mut place =
                    Folder::create(&folder.join("exchange"), Uuid::from_u128(9), Files::default()).expect("made");
                bring(total, &key, &mut place).expect("brought");
            }
        }
        println!("{total} 0 0");
        return;
    }
    let begin = name == "merge";
    let from = if begin { files(folder) } else { day_file.to_vec() };
    let began = Instant::now();
    let facts = match library {
        "automerge" => automerge_desk(folder, &from, begin),
        "loro" => loro_desk(folder, &from, begin),
        _ => our_desk(folder),
    };
    println!("{facts} {} {}", began.elapsed().as_millis(), most_memory_kb().unwrap_or_default());
}

fn run(library: &str, name: &str, total: u64, folder: &Path) -> [f64; 3] {
    let out = Command::new(std::env::current_exe().expect("this program"))
        .env(STEP, format!("{library} {name} {total} {}", folder.display()))
        .output()
        .expect("the step runs");
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    let numbers: Vec<f64> = text.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    numbers.try_into().unwrap_or_else(|_| panic!("{library} {name}: {}", String::from_utf8_lossy(&out.stderr)))
}

fn size(path: &Path) -> u64 {
    if path.is_dir() {
        return fs::read_dir(path).expect("listed").map(|entry| size(&entry.expect("listed").path())).sum();
    }
    fs::metadata(path).map_or(0, |there| there.len())
}

fn main() -> ExitCode {
    if let Ok(said) = std::env::var(STEP) {
        step(&said);
        return ExitCode::SUCCESS;
    }
    let given: Result<Vec<u64>, _> = std::env::args().skip(1).map(|text| text.parse::<u64>()).collect();
    let Ok(mut totals) = given else {
        eprintln!("[facts...]: whole numbers, such as 30000 300000");
        return ExitCode::from(2);
    };
    if totals.is_empty() {
        totals = vec![30_000, 100_000, 300_000];
    }
    println!(
        "facts     library    handed over, MB  desk, MB  merge, s  most memory, MB | one more day: s  most memory, MB"
    );
    for total in totals {
        let mut ours: Option<[f64; 6]> = None;
        for library in LIBRARIES {
            let folder = tempfile::tempdir_in(concat!(env!("CARGO_MANIFEST_DIR"), "/target")).expect("a folder");
            let at = folder.path();
            run(library, "phones", total, at);
            #[allow(clippy::cast_precision_loss, reason = "shown with two digits")]
            let mb = |bytes: u64| bytes as f64 / 1e6;
            let handed = mb(size(&at.join("exchange")) + files(at).iter().map(|path| size(path)).sum::<u64>());
            let merged = run(library, "merge", total, at);
            let desk = mb(size(&at.join("desk")) + size(&at.join("desk-wal")));
            if library == "hangtrue" {
                let key = fs::read_to_string(at.join("firm.key")).expect("read").parse().expect("a key");
                our_day(at, &key);
            }
            let again = run(library, "day", total, at);
            #[allow(clippy::cast_precision_loss, reason = "far below 2^53")]
            let wanted = [total as f64, (total + FACTS_A_HOUSE) as f64];
            assert_eq!([merged[0], again[0]], wanted, "{library} has all facts");
            let row = [handed, desk, merged[1] / 1e3, merged[2] / 1e3, again[1] / 1e3, again[2] / 1e3];
            println!(
                "{total:8}  {library:9}  {:15.2}  {:8.2}  {:8.2}  {:15.1} | {:15.3}  {:15.1}",
                row[0], row[1], row[2], row[3], row[4], row[5]
            );
            match ours {
                None => ours = Some(row),
                Some(ours) => {
                    let ratio: Vec<String> =
                        row.iter().zip(ours).map(|(peer, own)| format!("{:.2}", peer / own)).collect();
                    println!("          {library} / ours: {}", ratio.join(", "));
                }
            }
        }
    }
    ExitCode::SUCCESS
}

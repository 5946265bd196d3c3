//! From the house to the workroom and back, through a folder: the loop that the card names, copies, gaps, damage,
//! disagreements, photos, compaction, mirrors and the archive.

mod sync_help;

use hangtrue_core::fact::{Body, Fact, fold};
use hangtrue_core::house::{Place, Workroom};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::store::{Book, Files};
use hangtrue_core::sync::{
    FirmKey, Folder, Hash, ObjectName, Transport, TransportProblem, archive, compact, disagreements, mirror,
};
use std::fs;
use std::path::PathBuf;
use sync_help::{Device, files, folder};
use uuid::Uuid;

#[test]
fn the_workroom_asks_the_phone_answers_the_desk_sees_it_closed() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(2);
    phone.clock.ms += 5 * 3_600_000;
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    let report = phone.sync(&key, &mut place);
    assert_eq!((report.sent, report.held, report.all_sent), (5, 5, true));
    assert_eq!(desk.sync(&key, &mut place).arrived, 5);
    assert_eq!(desk.book.houses().unwrap()[0].readings, 1);

    // The phone's clock is hours ahead of the desk's: what it read before the ask does not answer it all the same.
    let ask = desk.ask(job, openings[0], &[Place::WidthTop], "an inch out?");
    assert_eq!(desk.sync(&key, &mut place).sent, 1);
    assert_eq!(phone.sync(&key, &mut place).arrived, 1);
    let house = phone.book.job(job).unwrap().unwrap();
    let opening = &house.rooms[0].openings[0];
    assert_eq!(opening.asks[0].why, "an inch out?");
    assert!(!opening.is_answered(&opening.asks[0]));

    let again = phone.reading(openings[0], Place::WidthTop, "35 3/8", Some(ask));
    phone.write(job, &[again]);
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    let house = desk.book.job(job).unwrap().unwrap();
    let opening = &house.rooms[0].openings[0];
    assert!(opening.is_answered(&opening.asks[0]));
    assert_eq!(opening.readings.len(), 2, "the first reading is kept");
    assert_eq!(desk.all(), phone.all());
    // Nothing to do is nothing done.
    let idle = phone.sync(&key, &mut place);
    assert_eq!((idle.arrived, idle.sent, idle.held, idle.all_sent), (0, 0, 6, true));
}

#[test]
fn what_two_devices_change_apart_is_kept_twice_and_flagged_until_settled() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    let first = phone.read(job, openings[0], Place::WidthTop, "34 3/8")[0].clone();
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    let Ok(Body::ReadingTaken { reading, .. }) = first.read() else { panic!("a reading was written") };
    for (device, mount, text) in [(&mut phone, "inside", "34 5/8"), (&mut desk, "outside", "34 1/8")] {
        let set =
            Body::Set { on: openings[0], field: "choices.mount".to_owned(), value: mount.into(), replaces: Vec::new() };
        let mut amended = device.reading(openings[0], Place::WidthTop, text, None);
        if let Body::ReadingTaken { reading: amendment, .. } = &mut amended {
            amendment.amends = Some(reading.id);
        }
        device.write(job, &[set, amended]);
    }
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    phone.sync(&key, &mut place);
    let (here, there) = (phone.book.house(job).unwrap().unwrap(), desk.book.house(job).unwrap().unwrap());
    assert_eq!(here, there);
    let flags = disagreements(&here);
    let codes: Vec<(Uuid, &str)> = flags.iter().map(|(on, flag)| (*on, flag.code.as_str())).collect();
    assert_eq!(codes, [(openings[0], "set_apart"), (openings[0], "corrected_apart")]);
    assert!(flags[0].1.says.contains("\"outside\"") && flags[0].1.says.contains("\"inside\""), "{}", flags[0].1.says);
    assert!(flags[1].1.says.contains("34 1/8") && flags[1].1.says.contains("34 5/8"), "{}", flags[1].1.says);
    // A person settles both.
    let replaces = here.standing[&(openings[0], "choices.mount".to_owned())].clone();
    let set = Body::Set { on: openings[0], field: "choices.mount".to_owned(), value: "inside".into(), replaces };
    let opening = &here.job.rooms[0].openings[0];
    let wrong = opening.readings.iter().find(|reading| reading.typed.text() == "34 1/8").unwrap().id;
    let withdrawn = hangtrue_core::house::Withdrawn {
        at: desk.moment().time(),
        by: "desk".to_owned(),
        why: "phone was right".to_owned(),
    };
    desk.write(job, &[set, Body::ReadingWithdrawn { opening: openings[0], reading: wrong, withdrawn }]);
    desk.sync(&key, &mut place);
    phone.sync(&key, &mut place);
    assert_eq!(disagreements(&phone.book.house(job).unwrap().unwrap()), vec![]);
}

#[test]
fn a_newer_kind_passes_through_an_older_desk() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut desk, mut third) = (Device::new(at.path(), "desk", 2), Device::new(at.path(), "third", 3));
    let (job, _) = desk.house(1);
    // As a newer phone would write it.
    let mut strange = desk.all()[0].clone();
    strange.id = Uuid::from_u128(77);
    strange.device = Uuid::from_u128(78);
    strange.kind = "hologram_added".to_owned();
    strange.body = serde_json::json!({"deep": [1, {"x": null}]});
    let mut writer = hangtrue_core::sync::segment::Writer::new(strange.device, 1);
    assert!(writer.add(&strange).unwrap());
    let (name, stored) = writer.finish(&[], &key).unwrap();
    place.put(&ObjectName::Segment(name), &stored).unwrap();
    desk.sync(&key, &mut place);
    assert_eq!(desk.book.house(job).unwrap().unwrap().waiting, vec![strange.id]);
    third.sync(&key, &mut place);
    assert!(third.all().contains(&strange));
    let archived = at.path().join("archive");
    archive::write(&third.book, &archived, &Files::default()).unwrap();
    assert!(fs::read_to_string(archived.join("facts.jsonl")).unwrap().contains("hologram_added"));
}

#[test]
fn a_restored_book_notices_and_nothing_of_either_is_lost() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let mut phone = Device::new(at.path(), "phone", 1);
    let (job, openings) = phone.house(1);
    phone.sync(&key, &mut place);
    phone.book.pause().unwrap();
    // The whole disk is put back to this day later on: the same file with the same marker, which only sync can tell.
    let backup = fs::read(&phone.path).unwrap();
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    phone.sync(&key, &mut place);
    phone.book.pause().unwrap();
    let device = phone.book.device();
    let lost_otherwise = phone.all();
    let Device { book, path, mut clock } = phone;
    drop(book);
    for tail in ["-wal", "-shm"] {
        let _ = fs::remove_file(format!("{}{tail}", path.display()));
    }
    fs::write(&path, backup).unwrap();
    clock.chance.0 ^= 0x5555;
    let book = Book::open(&path, &mut || clock.moment()).unwrap();
    let mut phone = Device { book, path, clock };
    assert_eq!(phone.book.device(), device, "the book itself cannot tell");
    let after = phone.read(job, openings[0], Place::WidthMiddle, "34 1/4");
    let report = phone.sync(&key, &mut place);
    assert_eq!(report.new_device, Some(phone.book.device()));
    assert_ne!(phone.book.device(), device);
    let mut all: Vec<Uuid> = lost_otherwise.iter().chain(&after).map(|fact| fact.id).collect();
    all.sort();
    let mut here: Vec<Uuid> = phone.all().iter().map(|fact| fact.id).collect();
    here.sort();
    assert_eq!(here, all);
    let mut desk = Device::new(at.path(), "desk", 2);
    desk.sync(&key, &mut place);
    assert_eq!(desk.all(), phone.all());
    assert_eq!(phone.sync(&key, &mut place).new_device, None, "once is enough");
}

#[test]
fn a_gap_is_said_and_its_owner_fills_it() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    phone.sync(&key, &mut place);
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    phone.sync(&key, &mut place);
    phone.read(job, openings[0], Place::WidthMiddle, "34 3/8");
    phone.sync(&key, &mut place);
    let segments = files(&place.root().join("segments"));
    assert_eq!(segments.len(), 3);
    fs::remove_file(&segments[1]).unwrap();
    let report = desk.sync(&key, &mut place);
    assert_eq!(report.gaps.len(), 1);
    assert_eq!((report.gaps[0].device, report.gaps[0].first, report.gaps[0].last), (phone.book.device(), 4, 4));
    assert_eq!(phone.sync(&key, &mut place).sent, 1);
    assert_eq!(desk.sync(&key, &mut place).gaps, []);
    assert_eq!(desk.all(), phone.all());
}

#[test]
fn damage_is_named_asked_for_again_and_healed() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    phone.house(3);
    phone.sync(&key, &mut place);
    let segment = files(&place.root().join("segments")).remove(0);
    let good = fs::read(&segment).unwrap();
    for hurt in [good[..good.len() / 2].to_vec(), [&good[..], b"x"].concat(), Vec::new(), {
        let mut flipped = good.clone();
        flipped[good.len() / 2] ^= 0x10;
        flipped
    }] {
        fs::write(&segment, hurt).unwrap();
        let report = desk.sync(&key, &mut place);
        assert_eq!(report.arrived, 0);
        assert_eq!((report.bad.len(), report.bad[0].code, report.bad[0].asked_again), (1, "damaged", true));
        // Its name alone proves no gap; that it was not taken is said.
        assert_eq!(report.gaps.len(), 0);
        assert!(desk.all().is_empty());
    }
    assert_eq!(phone.sync(&key, &mut place).sent, 5, "brought again");
    assert_eq!(phone.sync(&key, &mut place).sent, 0, "and only once");
    let report = desk.sync(&key, &mut place);
    assert_eq!((report.arrived, report.bad.len(), report.gaps.len()), (5, 0, 0));
    assert_eq!(desk.all(), phone.all());
}

#[test]
fn another_firms_segments_and_stray_files_are_left_alone() {
    let at = tempfile::tempdir().unwrap();
    let (key, other) = (FirmKey::generate(), FirmKey::generate());
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    phone.house(1);
    phone.sync(&other, &mut place);
    fs::write(place.root().join("segments/notes.txt"), "not ours").unwrap();
    fs::create_dir_all(place.root().join("segments/.hidden")).unwrap();
    let before = files(place.root());
    desk.house(1);
    let report = desk.try_sync(&key, &mut place).unwrap();
    assert!(matches!(report.stopped, Some(TransportProblem::Refused { .. })), "{report:?}");
    assert_eq!((report.bad.len(), report.bad[0].code, report.bad[0].asked_again), (1, "not_ours", false));
    assert_eq!(desk.all().len(), 3);
    assert_eq!(files(place.root()), before);
}

#[test]
fn photos_go_in_parts_resume_and_heal() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    let bytes: Vec<u8> = (0..700_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    let hash = phone.photo(job, openings[0], &bytes);
    let empty = phone.photo(job, openings[0], b"");
    let report = phone.sync(&key, &mut place);
    assert_eq!((report.photos_sent, report.photos_missing), (2, 0));
    let parts = files(&place.root().join("photos").join(&hash));
    assert_eq!(parts.len(), 3);
    assert!(parts.iter().all(|part| fs::metadata(part).unwrap().len() < 270_000), "no segment holds a photo");
    // The line breaks after the first part.
    let second = fs::read(&parts[1]).unwrap();
    fs::remove_file(&parts[1]).unwrap();
    let report = desk.sync(&key, &mut place);
    assert_eq!((report.photos_arrived, report.photos_missing), (1, 1));
    assert_eq!(desk.book.photos().have(&hash).unwrap(), 262_144, "what arrived stays");
    // It comes back damaged: named, asked for again, brought again by whoever has the photo.
    fs::write(&parts[1], &second[..second.len() - 1]).unwrap();
    let report = desk.sync(&key, &mut place);
    assert_eq!((report.photos_missing, report.bad.len(), report.bad[0].code), (1, 1, "damaged"));
    assert_eq!(phone.sync(&key, &mut place).photos_sent, 1);
    let report = desk.sync(&key, &mut place);
    assert_eq!((report.photos_arrived, report.photos_missing), (1, 0));
    assert_eq!(desk.book.photos().read(&hash).unwrap().unwrap(), bytes);
    assert_eq!(desk.book.photos().read(&empty).unwrap().unwrap(), b"");
    assert_eq!(phone.book.photos().read(&hash).unwrap().unwrap(), bytes, "sync never takes the original");
}

#[test]
fn compaction_by_the_owner_loses_nothing() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    for n in 0..20 {
        phone.read(job, openings[0], Place::WidthTop, &format!("34 {n}/32"));
        phone.sync(&key, &mut place);
        if n == 10 {
            desk.sync(&key, &mut place);
        }
    }
    desk.ask(job, openings[0], &[], "all of it");
    desk.sync(&key, &mut place);
    assert_eq!(compact(&mut phone.book, &key, &mut place).unwrap(), (20, 1));
    let own = format!("segments/{}/", desk.book.device());
    assert_eq!(place.list("segments/").unwrap().len(), 1 + place.list(&own).unwrap().len(), "others' are not touched");
    let mut late = Device::new(at.path(), "late", 3);
    for device in [&mut phone, &mut desk, &mut late] {
        let report = device.sync(&key, &mut place);
        assert_eq!((report.gaps.len(), report.bad.len()), (0, 0));
    }
    assert_eq!(late.all(), phone.all());
    assert_eq!(desk.all(), phone.all());
    assert_eq!(compact(&mut phone.book, &key, &mut place).unwrap(), (1, 1));
}

#[test]
fn a_mirror_carries_everything_without_the_key() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let (mut stick, mut hub) = (folder(&at.path().join("a")), folder(&at.path().join("b")));
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    phone.photo(job, openings[0], b"a photo");
    phone.sync(&key, &mut stick);
    let (there, back, bad) = mirror(&mut stick, &mut hub).unwrap();
    assert_eq!((there, back, bad.len()), (2, 0, 0));
    desk.sync(&key, &mut hub);
    desk.ask(job, openings[0], &[], "again");
    desk.sync(&key, &mut hub);
    mirror(&mut stick, &mut hub).unwrap();
    phone.sync(&key, &mut stick);
    assert_eq!(phone.all(), desk.all());
    assert_eq!(mirror(&mut stick, &mut hub).unwrap(), (0, 0, vec![]));
}

#[test]
fn a_folder_that_went_away_is_said_and_never_made_anew() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let mut phone = Device::new(at.path(), "phone", 1);
    phone.house(1);
    let away = at.path().join("pulled");
    fs::rename(place.root(), &away).unwrap();
    fs::create_dir(at.path().join("exchange")).unwrap();
    let report = phone.try_sync(&key, &mut place).unwrap();
    assert!(matches!(report.stopped, Some(TransportProblem::Away { .. })), "{:?}", report.stopped);
    assert_eq!(files(place.root()), Vec::<PathBuf>::new(), "the empty mount point stays empty");
    assert!(matches!(Folder::open(place.root(), Files::default()), Err(TransportProblem::Away { .. })));
    fs::remove_dir(place.root()).unwrap();
    fs::rename(&away, place.root()).unwrap();
    assert!(phone.sync(&key, &mut place).all_sent);
    // A place of a newer version is left alone.
    let marker = place.root().join(hangtrue_core::sync::MARKER);
    let text = fs::read_to_string(&marker).unwrap().replace("\"hangtrue_exchange\":1", "\"hangtrue_exchange\":2");
    fs::write(&marker, text).unwrap();
    assert!(matches!(Folder::open(place.root(), Files::default()), Err(TransportProblem::Nonsense { .. })));
}

#[test]
fn everything_goes_into_an_archive_and_comes_back_equal() {
    let at = tempfile::tempdir().unwrap();
    let mut phone = Device::new(at.path(), "phone", 1);
    for _ in 0..3 {
        let (job, openings) = phone.house(4);
        for opening in &openings {
            phone.read(job, *opening, Place::WidthTop, "34 3/8");
        }
        phone.photo(job, openings[0], job.as_bytes());
    }
    let (one, two) = (at.path().join("one"), at.path().join("two"));
    let contents = archive::write(&phone.book, &one, &Files::default()).unwrap();
    assert_eq!((contents.facts, contents.photos), (33, 3));
    assert_eq!(archive::write(&phone.book, &one, &Files::default()).unwrap_err().code(), "not_empty");
    let mut new = Device::new(at.path(), "new", 4);
    assert_ne!(new.book.device(), phone.book.device());
    assert_eq!(archive::restore(&mut new.book, &one).unwrap(), contents);
    assert_eq!(new.all(), phone.all());
    archive::write(&new.book, &two, &Files::default()).unwrap();
    for (a, b) in files(&one).iter().zip(files(&two)) {
        assert_eq!(fs::read(a).unwrap(), fs::read(b).unwrap(), "{}", a.display());
    }
    for line in new.book.houses().unwrap() {
        let (a, b) = (new.book.facts(line.job).unwrap(), phone.book.facts(line.job).unwrap());
        assert_eq!(fold(&a), fold(&b));
    }
    // A damaged one changes nothing.
    let text = fs::read_to_string(two.join("facts.jsonl")).unwrap();
    fs::write(two.join("facts.jsonl"), text.replacen("34 3/8", "34 5/8", 1)).unwrap();
    let mut third = Device::new(at.path(), "third", 5);
    assert_eq!(archive::restore(&mut third.book, &two).unwrap_err().code(), "damaged");
    assert!(third.all().is_empty());
    fs::remove_file(two.join("archive.json")).unwrap();
    assert_eq!(archive::check(&two).unwrap_err().code(), "not_an_archive");
}

/// What a workroom keeps for every house goes where its houses go: through a place, into an archive and out of it.
#[test]
fn a_workrooms_numbers_are_exchanged_and_archived() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, _) = phone.house(1);
    let field = "settings.inside_width_deduction".to_owned();
    let set = Body::Set { on: Workroom::ID, field, value: "1/2".into(), replaces: Vec::new() };
    desk.write(Workroom::ID, &[set]);
    desk.sync(&key, &mut place);
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    let half = hangtrue_core::length::Length::inches(1, 2);
    let off = |device: &Device| device.book.job(job).unwrap().unwrap().settings().unwrap().inside_width_deduction;
    assert_eq!((off(&phone), off(&desk)), (half, half));
    let archived = at.path().join("archive");
    archive::write(&phone.book, &archived, &Files::default()).unwrap();
    let mut new = Device::new(at.path(), "new", 3);
    archive::restore(&mut new.book, &archived).unwrap();
    assert_eq!((off(&new), new.book.workroom().unwrap()), (half, phone.book.workroom().unwrap()));
}

#[test]
fn a_book_of_many_segments_merges_in_any_order() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let mut phone = Device::new(at.path(), "phone", 1);
    let (job, openings) = phone.house(1);
    for _ in 0..9 {
        let bodies: Vec<Body> =
            (0..1000).map(|n| phone.reading(openings[0], Place::WidthTop, &format!("{n}"), None)).collect();
        phone.write(job, &bodies);
    }
    let report = phone.sync(&key, &mut place);
    assert_eq!((report.sent, report.all_sent), (9003, true));
    let names = place.list("segments/").unwrap();
    assert!(names.len() >= 2, "few larger segments: {}", names.len());
    let mut desk = Device::new(at.path(), "desk", 2);
    assert_eq!(desk.sync(&key, &mut place).arrived, 9003);
    assert_eq!(desk.all(), phone.all());
    let unit = desk.all().iter().map(|fact: &Fact| fact.unit).next();
    assert_eq!(unit, Some(LengthUnit::Inch));
}

/// A folder that keeps what it was told of beforehand and gives nothing else of segments and photos: every object that is
/// fetched in a first exchange was told of, at most sixteen at a time.
struct Told {
    inner: Folder,
    soon: Vec<ObjectName>,
    most: usize,
}

impl Transport for Told {
    fn place(&self) -> String {
        self.inner.place()
    }

    fn list(&mut self, prefix: &str) -> Result<Vec<ObjectName>, TransportProblem> {
        self.inner.list(prefix)
    }

    fn get(&mut self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        assert!(self.soon.contains(name), "{name} was not told of");
        self.inner.get(name)
    }

    fn soon(&mut self, names: &[ObjectName]) {
        self.most = self.most.max(names.len());
        self.soon = names.to_vec();
    }

    fn put(&mut self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem> {
        self.inner.put(name, bytes)
    }
}

#[test]
fn what_is_fetched_was_told_of_before() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(&at.path().join("place"));
    let mut phone = Device::new(at.path(), "phone", 1);
    let (job, openings) = phone.house(1);
    for n in 0..40 {
        phone.read(job, openings[0], Place::WidthTop, &format!("{} 1/2", 20 + n));
        phone.sync(&key, &mut place);
    }
    let photo: Vec<u8> = (0..5_000_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    phone.photo(job, openings[0], &photo);
    phone.sync(&key, &mut place);
    let mut place = Told { inner: place, soon: Vec::new(), most: 0 };
    let mut desk = Device::new(at.path(), "desk", 2);
    let report = desk.sync(&key, &mut place);
    assert_eq!((desk.all(), report.photos_arrived, place.most), (phone.all(), 1, 16));
}

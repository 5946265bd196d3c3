//! What is held is offered: after any exchange both sides hold the union of what both held, whoever wrote it, through lost
//! places, lost devices, archives and copies. And nothing that lacks the key, nor one device that has it, can hide, stop
//! or spoil what others hold.

mod sync_help;

use hangtrue_core::fact::{Body, Fact, LAST_MS, MOST_FACT, Moment, Pen, Stamp, fold};
use hangtrue_core::house::{Note, Place};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::store::{Files, StoreProblem};
use hangtrue_core::sync::{
    FirmKey, Folder, Hash, MARKER, ObjectName, PhotoPartName, SegmentName, Transport, TransportProblem, archive,
    compact, mirror, photo, segment,
};
use proptest::prelude::*;
use std::fs;
use sync_help::{Chance, Device, files, folder, scratch};
use uuid::Uuid;

fn put(place: &mut Folder, writer: segment::Writer, replaces: &[Hash], key: &FirmKey) -> SegmentName {
    let (name, stored) = writer.finish(replaces, key).expect("there are facts");
    place.put(&ObjectName::Segment(name), &stored).expect("put");
    name
}

#[test]
fn a_desk_carries_a_sticks_house_to_the_hub() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let (mut stick, mut hub) = (folder(&at.path().join("stick")), {
        let root = at.path().join("hub");
        Folder::create(&root, Uuid::from_u128(10), Files::default()).unwrap()
    });
    let (mut phone, mut desk, mut other) =
        (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2), Device::new(at.path(), "other", 3));
    let (job, openings) = phone.house(1);
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    let hash = phone.photo(job, openings[0], b"the sill");
    phone.sync(&key, &mut stick);
    desk.sync(&key, &mut stick);
    let report = desk.sync(&key, &mut hub);
    assert_eq!((report.sent, report.carried, report.photos_sent), (0, 5, 1));
    assert_eq!(other.sync(&key, &mut hub).arrived, 5);
    assert_eq!(other.all(), phone.all());
    assert_eq!(other.book.photos().read(&hash).unwrap().unwrap(), b"the sill");
    // Once is enough, for whoever comes.
    for device in [&mut desk, &mut other] {
        let report = device.sync(&key, &mut hub);
        assert_eq!((report.arrived, report.carried, report.photos_sent, report.gaps.len()), (0, 0, 0, 0));
    }
    assert_eq!(desk.sync(&key, &mut stick).carried, 0, "what lies there is not brought there");
    // The phone comes to the hub at last, and the desk's copy does no harm.
    let report = phone.sync(&key, &mut hub);
    assert_eq!((report.arrived, report.sent, report.carried), (0, 5, 0));
}

#[test]
fn a_lost_place_and_a_lost_phone_leave_nothing_on_one_desk_alone() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    {
        let mut lost = folder(&at.path().join("lost"));
        let (job, openings) = phone.house(2);
        phone.read(job, openings[0], Place::WidthTop, "34 3/8");
        phone.sync(&key, &mut lost);
        desk.sync(&key, &mut lost);
        desk.house(1);
        desk.sync(&key, &mut lost);
    }
    let mut fresh = folder(&at.path().join("fresh"));
    let report = desk.sync(&key, &mut fresh);
    assert_eq!((report.sent, report.carried), (3, 5));
    let mut late = Device::new(at.path(), "late", 3);
    late.sync(&key, &mut fresh);
    assert_eq!(late.all(), desk.all());
    // The place loses one of the carried files: it comes again under its own numbers.
    let carried = files(&fresh.root().join("segments"))
        .into_iter()
        .find(|path| !path.display().to_string().contains(&desk.book.device().to_string()))
        .unwrap();
    fs::remove_file(carried).unwrap();
    assert_eq!(desk.sync(&key, &mut fresh).carried, 5);
    let mut later = Device::new(at.path(), "later", 4);
    let report = later.sync(&key, &mut fresh);
    assert_eq!((report.arrived, report.gaps.len()), (8, 0));
}

#[test]
fn a_firm_that_starts_anew_from_an_archive_shares_all_of_it() {
    let at = tempfile::tempdir().unwrap();
    let mut phone = Device::new(at.path(), "phone", 1);
    let (job, openings) = phone.house(2);
    phone.photo(job, openings[0], b"a photo");
    let kept = at.path().join("archive");
    archive::write(&phone.book, &kept, &Files::default()).unwrap();
    let mut new = Device::new(at.path(), "new", 2);
    archive::restore(&mut new.book, &kept).unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let report = new.sync(&key, &mut place);
    assert_eq!((report.carried, report.photos_sent), (5, 1));
    let mut desk = Device::new(at.path(), "desk", 3);
    desk.sync(&key, &mut place);
    assert_eq!(desk.all(), phone.all());
}

/// Devices and places that come and go; at the end the ones that are left exchange until nothing moves.
fn run(seed: u64) {
    let at = scratch();
    let key = FirmKey::generate();
    let mut chance = Chance(seed);
    let make = |n: u64| {
        let root = at.path().join(format!("place{n}"));
        Folder::create(&root, Uuid::from_u128(100 + u128::from(n)), Files::default()).unwrap()
    };
    let mut places: Vec<Folder> = (0..3).map(make).collect();
    let mut devices: Vec<Device> = (0..4_u64).map(|n| Device::new(at.path(), &format!("d{n}"), seed * 7 + n)).collect();
    let (mut made, mut lost_places, mut archives) = (3, 0, 0);
    // What some device holds that is still with us: the union that all must come to.
    for _ in 0..60 {
        let who = chance.below(devices.len());
        match chance.below(12) {
            0..=4 => {
                let device = &mut devices[who];
                let houses = device.book.houses().unwrap();
                if houses.is_empty() || chance.one_in(4) {
                    device.house(1 + chance.below(2));
                } else {
                    let job = houses[chance.below(houses.len())].job;
                    let house = device.book.job(job).unwrap().unwrap();
                    let opening = house.openings().next().unwrap().1.id;
                    device.read(job, opening, Place::WidthTop, &format!("{} 3/8", 20 + chance.below(30)));
                }
            }
            5..=8 => {
                let which = chance.below(places.len());
                devices[who].sync(&key, &mut places[which]);
            }
            9 => {
                // A place is lost with all that lies there; a new one is made.
                let gone = places.remove(chance.below(places.len()));
                fs::remove_dir_all(gone.root()).unwrap();
                places.push(make(made));
                made += 1;
                lost_places += 1;
            }
            10 if devices.len() > 2 => drop(devices.remove(who)),
            11 => {
                let kept = at.path().join(format!("archive{archives}"));
                archives += 1;
                archive::write(&devices[who].book, &kept, &Files::default()).unwrap();
                let mut new = Device::new(at.path(), &format!("new{archives}"), 1_000_000 + seed * 1000 + archives);
                archive::restore(&mut new.book, &kept).unwrap();
                devices.push(new);
            }
            _ => {
                let which = chance.below(places.len());
                compact(&mut devices[who].book, &key, &mut places[which]).unwrap();
            }
        }
    }
    let mut want: Vec<Fact> = devices.iter().flat_map(Device::all).collect();
    want.sort_by_key(Fact::order);
    want.dedup();
    // One exchange of two devices over one place: both hold the union of both, and of what lay there.
    let (one, two) = (0, devices.len() - 1);
    let mut both: Vec<Fact> = [devices[one].all(), devices[two].all()].concat();
    for n in [one, two, one] {
        devices[n].sync(&key, &mut places[0]);
    }
    assert_eq!(devices[one].all(), devices[two].all(), "seed {seed}");
    let all = devices[one].all();
    both.retain(|fact| !all.contains(fact));
    assert_eq!(both, [], "seed {seed}: held by one and not by both");
    for round in 0.. {
        assert!(round < 12, "seed {seed}: it never comes to rest");
        let mut moved = 0;
        for device in &mut devices {
            for place in &mut places {
                let report = device.sync(&key, place);
                assert_eq!((report.bad.len(), report.gaps.len(), report.differs.len()), (0, 0, 0), "seed {seed}");
                moved += report.arrived + report.sent + report.carried;
            }
        }
        if moved == 0 {
            break;
        }
    }
    for device in &devices {
        let all = device.all();
        let missing = want.iter().filter(|fact| !all.contains(fact)).count();
        assert_eq!(missing, 0, "seed {seed}, {lost_places} places lost");
        assert_eq!(all, devices[0].all(), "seed {seed}");
    }
    // And any one place is enough for a newcomer.
    for (n, place) in places.iter_mut().enumerate() {
        let mut late = Device::new(at.path(), &format!("late{n}"), 2_000_000 + seed);
        late.sync(&key, place);
        assert_eq!(late.all(), devices[0].all(), "seed {seed}");
    }
}

#[test]
fn through_lost_places_lost_devices_and_archives_all_are_equal() {
    let number =
        |name: &str, default: u64| std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(default);
    let (from, seeds) = (number("HANGTRUE_SYNC_FROM", 0), number("HANGTRUE_SYNC_SEEDS", 12));
    (from..from + seeds).for_each(run);
}

#[test]
fn what_a_segment_says_it_replaces_hides_only_its_own() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    phone.house(2);
    phone.sync(&key, &mut place);
    let Some(ObjectName::Segment(victim)) = place.list("segments/").unwrap().first().copied() else { panic!("one") };
    // A paired device brings a longer segment of its own, which so is read first, and names the phone's in it.
    let mut hostile = Device::new(at.path(), "hostile", 3);
    hostile.house(9);
    let mut writer = segment::Writer::new(hostile.book.device(), 1);
    for fact in hostile.all() {
        assert!(writer.add(&fact).unwrap());
    }
    put(&mut place, writer, &[victim.hash], &key);
    let report = desk.sync(&key, &mut place);
    assert_eq!((report.arrived, report.gaps.len()), (15, 0));
    assert!(phone.all().iter().all(|fact| desk.all().contains(fact)));
    assert_eq!(desk.sync(&key, &mut place).arrived, 0);
}

fn foreign(device: u128, ms: u64, count: u32, job: Uuid, body: &Body) -> Fact {
    let mut pen = Pen::new(Uuid::from_u128(device), Stamp::default());
    let mut random = [7; 10];
    random[..2].copy_from_slice(&u16::try_from(device).unwrap().to_be_bytes());
    let mut fact = pen.write(Moment { ms, random }, job, "Bo", LengthUnit::Inch, body);
    fact.stamp = Stamp { ms, count };
    fact
}

#[test]
fn a_stamp_at_the_edge_of_time_stops_nobody() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    let poison =
        foreign(9, LAST_MS, u32::MAX, job, &Body::RoomAdded { room: Uuid::from_u128(5), name: "Far".to_owned() });
    assert_eq!(phone.book.merge(std::slice::from_ref(&poison)).unwrap().new, 1);
    let before = phone.clock.ms;
    for n in 0..3 {
        let facts = phone.read(job, openings[0], Place::WidthTop, &format!("34 {n}/8"));
        assert!(facts[0].stamp.ms < before + 1000, "its own clock goes on: {:?}", facts[0].stamp);
    }
    phone.sync(&key, &mut place);
    let report = desk.sync(&key, &mut place);
    assert_eq!((report.arrived, report.refused.len()), (7, 0));
    assert_eq!(report.clocks, [(poison.device, LAST_MS)], "and it is said");
    assert!(report.says().iter().any(|line| line.contains("9999-12-31")), "{:?}", report.says());
    desk.read(job, openings[0], Place::WidthMiddle, "34");
    desk.sync(&key, &mut place);
    phone.sync(&key, &mut place);
    assert_eq!(phone.all(), desk.all());
    assert_eq!(phone.book.house(job).unwrap(), desk.book.house(job).unwrap());
    // An archive of it is restored as it says.
    let kept = at.path().join("archive");
    let contents = archive::write(&phone.book, &kept, &Files::default()).unwrap();
    let mut new = Device::new(at.path(), "new", 4);
    assert_eq!(archive::restore(&mut new.book, &kept).unwrap(), contents);
    assert_eq!(new.all().len() as u64, contents.facts);
    // Beyond the bound is refused by everybody.
    let beyond = foreign(8, LAST_MS + 1, 0, job, &Body::RoomAdded { room: Uuid::from_u128(6), name: "x".to_owned() });
    assert_eq!(phone.book.merge(std::slice::from_ref(&beyond)).unwrap().refused, [beyond.id]);
}

#[test]
fn a_clock_at_the_last_stamp_of_all_still_writes() {
    let mut pen = Pen::new(Uuid::from_u128(1), Stamp { ms: LAST_MS, count: u32::MAX - 1 });
    for n in 0..4_u8 {
        let body = Body::RoomRemoved { room: Uuid::nil() };
        let moment = Moment { ms: LAST_MS + 5, random: [n; 10] };
        let fact = pen.write(moment, Uuid::nil(), "", LengthUnit::Inch, &body);
        assert_eq!(fact.stamp, Stamp { ms: LAST_MS, count: u32::MAX });
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever stamps are taken in, in whatever order, the book goes on writing within the bounds, and two that took
    /// in the same in another order fold to the same.
    #[test]
    fn no_fact_that_is_taken_can_stop_a_device(
        stamps in proptest::collection::vec((prop_oneof![0..=LAST_MS, Just(LAST_MS), 1_700_000_000_000..1_700_100_000_000_u64], any::<u32>()), 1..8),
        turn in any::<prop::sample::Index>(),
    ) {
        let at = scratch();
        let (mut one, mut two) = (Device::new(at.path(), "one", 1), Device::new(at.path(), "two", 2));
        let (job, openings) = one.house(1);
        two.book.merge(&one.all()).unwrap();
        let mut facts: Vec<Fact> = stamps.iter().zip(20_u128..).map(|((ms, count), device)| {
            foreign(device, *ms, *count, job, &Body::RoomAdded { room: Uuid::from_u128(device), name: device.to_string() })
        }).collect();
        for fact in &facts {
            prop_assert_eq!(one.book.merge(std::slice::from_ref(fact)).unwrap().new, 1);
            let wrote = one.read(job, openings[0], Place::WidthTop, "34");
            prop_assert!(wrote[0].stamp.ms <= LAST_MS);
            prop_assert!(wrote[0].stamp.ms <= one.clock.ms + 86_400_000, "dragged to {:?}", wrote[0].stamp);
            prop_assert!(two.book.merge(&wrote).unwrap().refused.is_empty());
        }
        let n = turn.index(facts.len());
        facts.rotate_left(n);
        two.book.merge(&facts).unwrap();
        prop_assert_eq!(one.all(), two.all());
        prop_assert_eq!(one.book.house(job).unwrap(), two.book.house(job).unwrap());
    }
}

/// A phone whose clock was a century ahead wrote the house; a desk with the right clock works on it all the same.
#[test]
fn what_comes_after_a_wrong_clock_counts() {
    let at = tempfile::tempdir().unwrap();
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    phone.clock.ms += 100 * 365 * 86_400_000;
    let (job, openings) = phone.house(1);
    let field = || "choices.mount".to_owned();
    let set =
        |value: &str, replaces: Vec<Uuid>| Body::Set { on: openings[0], field: field(), value: value.into(), replaces };
    phone.write(job, &[set("inside", vec![])]);
    let wrong = phone.read(job, openings[0], Place::WidthTop, "43 3/8")[0].clone();
    desk.book.merge(&phone.all()).unwrap();
    desk.read(job, openings[0], Place::WidthTop, "34 3/8");
    let stands = desk.book.house(job).unwrap().unwrap().standing[&(openings[0], field())].clone();
    desk.write(job, &[set("outside", stands), Body::Undone { fact: wrong.id, place: None }]);
    let house = desk.book.house(job).unwrap().unwrap();
    assert_eq!((house.waiting.len(), house.job.disagreements.len()), (0, 0));
    let opening = &house.job.rooms[0].openings[0];
    let stand: Vec<&str> =
        opening.readings.iter().filter(|reading| opening.stands(reading)).map(|reading| reading.typed.text()).collect();
    assert_eq!(stand, ["34 3/8"]);
    assert_eq!(opening.choices.mount, Some(hangtrue_core::house::Mount::Outside));
    // An undo of the undo, however the clocks stand.
    let undo = desk.all().iter().find(|fact| fact.kind == "undone").unwrap().id;
    phone.book.merge(&desk.all()).unwrap();
    phone.write(job, &[Body::Undone { fact: undo, place: None }]);
    desk.book.merge(&phone.all()).unwrap();
    let house = desk.book.house(job).unwrap().unwrap();
    let opening = &house.job.rooms[0].openings[0];
    assert_eq!(opening.readings.iter().filter(|reading| opening.stands(reading)).count(), 2);
}

fn remark(device: &mut Device, on: Uuid, letters: usize) -> Body {
    let moment = device.moment();
    let text = "x".repeat(letters);
    Body::NoteAdded { on, note: Note { id: moment.uuid(), text, at: moment.time(), by: "Ida".to_owned() } }
}

#[test]
fn a_remark_that_is_too_long_is_refused_where_it_is_written() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, _) = phone.house(1);
    let long = remark(&mut phone, job, 1_100_000);
    let problem = phone.try_write(job, std::slice::from_ref(&long)).unwrap_err();
    assert!(matches!(problem, StoreProblem::TooLong { bytes } if bytes > 1_100_000), "{problem}");
    assert_eq!(phone.all().len(), 3, "nothing of it is kept");
    // The longest that is taken goes all the way.
    let most = remark(&mut phone, job, MOST_FACT - 1000);
    phone.write(job, &[most]);
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    assert_eq!(desk.all(), phone.all());
    let kept = at.path().join("archive");
    let contents = archive::write(&desk.book, &kept, &Files::default()).unwrap();
    let mut new = Device::new(at.path(), "new", 3);
    assert_eq!(archive::restore(&mut new.book, &kept).unwrap(), contents);
    assert_eq!(new.all(), phone.all());
    // And no reader takes what is longer.
    let forged = foreign(9, 1_700_000_000_000, 0, job, &long);
    assert_eq!(desk.book.merge(std::slice::from_ref(&forged)).unwrap().refused, [forged.id]);
}

/// True when a word lies in a fact at a place.
fn lies_at(place: &mut Folder, key: &FirmKey, word: &str) -> bool {
    place.list("segments/").unwrap().into_iter().any(|name| {
        let ObjectName::Segment(segment) = name else { return false };
        let open = segment::open(&segment, &place.get(&name).unwrap(), key).unwrap();
        open.facts.iter().any(|fact| fact.body.to_string().contains(word))
    })
}

/// What a book carried for another is its to clear away too; and what a mirror brings back is cleared away again.
#[test]
fn an_erased_house_is_cleared_from_what_was_carried_and_from_what_a_mirror_brings_back() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let [mut stick, mut hub, mut copy] = ["stick", "hub", "copy"].map(|name| folder(&at.path().join(name)));
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    phone.write(job, &[Body::RoomAdded { room: Uuid::from_u128(4), name: "Wisteria Parlour".to_owned() }]);
    let photo = phone.photo(job, openings[0], b"a face at the window");
    phone.sync(&key, &mut stick);
    desk.sync(&key, &mut stick);
    // The hub has the phone's house from the desk alone.
    desk.sync(&key, &mut hub);
    assert!(lies_at(&mut hub, &key, "Wisteria"));
    mirror(&mut hub, &mut copy).unwrap();
    desk.write(job, &[Body::HouseErased {}]);
    desk.sync(&key, &mut hub);
    for _ in 0..2 {
        compact(&mut desk.book, &key, &mut hub).unwrap();
        assert!(!lies_at(&mut hub, &key, "Wisteria"), "it lies in what was carried");
        assert_eq!(hub.list(&format!("photos/{photo}/")).unwrap(), []);
        let before = hub.list("segments/").unwrap();
        compact(&mut desk.book, &key, &mut hub).unwrap();
        assert_eq!(hub.list("segments/").unwrap(), before, "what is clear is not written again");
        mirror(&mut copy, &mut hub).unwrap();
        assert!(lies_at(&mut hub, &key, "Wisteria"), "the mirror brought it back");
    }
}

#[test]
fn an_erased_house_is_gone_and_comes_back_from_nowhere() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    phone.write(job, &[Body::RoomAdded { room: Uuid::from_u128(4), name: "Wisteria Parlour".to_owned() }]);
    let photo = phone.photo(job, openings[0], b"a face at the window");
    let (kept_house, kept_openings) = phone.house(1);
    let shared = phone.photo(kept_house, kept_openings[0], b"a sample of cloth");
    phone.photo(job, openings[0], b"a sample of cloth");
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    let kept = at.path().join("archive");
    archive::write(&desk.book, &kept, &Files::default()).unwrap();

    desk.write(job, &[Body::HouseErased {}]);
    desk.sync(&key, &mut place);
    phone.sync(&key, &mut place);
    for device in [&mut phone, &mut desk] {
        assert_eq!(device.book.house(job).unwrap(), None);
        assert_eq!(device.book.houses().unwrap().len(), 1);
        assert_eq!(device.book.photos().read(&photo).unwrap(), None);
        assert!(device.book.photos().read(&shared).unwrap().is_some(), "another house names it");
        device.book.pause().unwrap();
        let bytes = fs::read(&device.path).unwrap();
        assert!(!bytes.windows(16).any(|bytes| bytes == b"Wisteria Parlour"), "the words are not in the file any more");
    }
    // At the next compaction they are gone from the place too.
    compact(&mut phone.book, &key, &mut place).unwrap();
    compact(&mut desk.book, &key, &mut place).unwrap();
    assert!(!lies_at(&mut place, &key, "Wisteria"));
    assert_eq!(place.list(&format!("photos/{photo}/")).unwrap(), []);
    assert_eq!(place.list(&format!("photos/{shared}/")).unwrap().len(), 1);
    // Nor does it come back from the archive, or from a device that lay in a drawer.
    let contents = archive::restore(&mut desk.book, &kept).unwrap();
    assert_eq!(contents.not_taken, 6);
    assert_eq!(desk.book.house(job).unwrap(), None);
    assert_eq!(desk.book.photos().read(&photo).unwrap(), None);
    let mut drawer = Device::new(at.path(), "drawer", 3);
    archive::restore(&mut drawer.book, &kept).unwrap();
    assert!(drawer.book.house(job).unwrap().is_some());
    let mut elsewhere = folder(&at.path().join("elsewhere"));
    drawer.sync(&key, &mut elsewhere);
    assert!(desk.sync(&key, &mut elsewhere).erased >= 6);
    assert_eq!(desk.book.house(job).unwrap(), None);
    drawer.sync(&key, &mut elsewhere);
    assert_eq!(drawer.book.house(job).unwrap(), None);
    let late = desk.read(kept_house, kept_openings[0], Place::WidthTop, "20");
    assert_eq!(late.len(), 1, "the others go on");
}

#[test]
fn a_house_is_erased_whatever_comes_first() {
    let at = tempfile::tempdir().unwrap();
    let mut phone = Device::new(at.path(), "phone", 1);
    let (job, openings) = phone.house(1);
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    let facts = phone.all();
    let erased = phone.write(job, &[Body::HouseErased {}]);
    for turned in [false, true] {
        let mut other = Device::new(at.path(), if turned { "b" } else { "a" }, 2);
        let (first, then) = if turned { (&erased, &facts) } else { (&facts, &erased) };
        other.book.merge(first).unwrap();
        other.book.merge(then).unwrap();
        assert_eq!(other.book.house(job).unwrap(), None);
        assert!(other.all().iter().all(|fact| fact.kind == "house_erased" || fact.body.is_null()));
        assert_eq!(fold(&other.all()), None);
    }
}

#[test]
fn a_photo_that_a_place_lost_is_brought_again_by_whoever_has_it() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    let hash = phone.photo(job, openings[0], &vec![7; 300_000]);
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    assert_eq!(desk.sync(&key, &mut place).photos_sent, 0);
    fs::remove_dir_all(place.root().join("photos")).unwrap();
    assert_eq!(desk.sync(&key, &mut place).photos_sent, 1, "the desk has it");
    let mut late = Device::new(at.path(), "late", 3);
    assert_eq!(late.sync(&key, &mut place).photos_arrived, 1);
    assert_eq!(late.book.photos().read(&hash).unwrap().unwrap().len(), 300_000);
    // An archive says what it lacks.
    fs::remove_file(format!("{}.photos/{hash}", late.path.display())).unwrap();
    let contents = archive::write(&late.book, &at.path().join("archive"), &Files::default()).unwrap();
    assert_eq!((contents.photos, contents.photos_missing), (0, 1));
    assert_eq!(archive::check(&at.path().join("archive")).unwrap().photos_missing, 1);
}

#[test]
fn a_strangers_parts_hide_no_photo() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    let (one, two) = (phone.photo(job, openings[0], b"one"), phone.photo(job, openings[0], b"two"));
    // Before the photo comes: junk in its place, so that it seems to be there.
    let put = |name: PhotoPartName, bytes: &[u8]| {
        let path = place.root().join(name.to_string());
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    };
    let photo: Hash = one.parse().unwrap();
    for (part, parts) in [(1, 1), (1, 4096), (4096, 4096), (1, 2)] {
        put(PhotoPartName { photo, part, parts, hash: Hash::of(b"junk") }, b"junk");
    }
    // Another photo's sound part under its name.
    let other: Hash = two.parse().unwrap();
    let (name, stored) = photo::seal(other, b"two", 1, &key).unwrap();
    put(PhotoPartName { photo, ..name }, &stored);
    let report = phone.sync(&key, &mut place);
    assert_eq!(report.photos_sent, 2);
    for _ in 0..3 {
        desk.sync(&key, &mut place);
    }
    assert_eq!(desk.book.photos().read(&one).unwrap().unwrap(), b"one");
    assert_eq!(desk.book.photos().read(&two).unwrap().unwrap(), b"two");
}

#[test]
fn a_strangers_names_make_no_gap_and_stop_nothing() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let mut place = folder(at.path());
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    phone.house(1);
    phone.sync(&key, &mut place);
    let device = phone.book.device();
    let root = place.root().to_owned();
    for (first, last) in [(9_999_999_990, 9_999_999_999), (50, 60)] {
        let name = SegmentName { device, first, last, hash: Hash::of(b"junk") };
        fs::write(root.join(name.to_string()), b"junk").unwrap();
    }
    let wide = format!("segments/{device}/0000000001-0000030000-{}", Hash::of(b"junk"));
    assert!(wide.parse::<ObjectName>().is_err(), "no segment holds so many");
    fs::write(root.join(wide), b"junk").unwrap();
    // A folder deeper than any path may be long, and one that is called as an object.
    let mut deep = root.join("segments");
    for _ in 0..400 {
        let next = deep.join("deep");
        if fs::create_dir(&next).is_err() {
            break;
        }
        deep = next;
    }
    let asked = SegmentName { device, first: 50, last: 60, hash: Hash::of(b"junk") };
    fs::create_dir_all(root.join(format!("again/{asked}"))).unwrap();
    let report = desk.sync(&key, &mut place);
    assert_eq!((report.arrived, report.gaps.len()), (3, 0), "{report:?}");
    assert!(!report.bad.is_empty());
    // It is not fetched again and again.
    assert_eq!(desk.sync(&key, &mut place).bad.len(), report.bad.len());
    assert!(phone.sync(&key, &mut place).all_sent);
}

#[cfg(unix)]
#[test]
fn a_pipe_or_a_device_as_the_marker_hangs_nothing() {
    let at = tempfile::tempdir().unwrap();
    for what in ["pipe", "zero", "long"] {
        let root = at.path().join(what);
        fs::create_dir(&root).unwrap();
        let marker = root.join(MARKER);
        match what {
            "pipe" => assert!(std::process::Command::new("mkfifo").arg(&marker).status().unwrap().success()),
            "zero" => std::os::unix::fs::symlink("/dev/zero", &marker).unwrap(),
            _ => fs::write(&marker, " ".repeat(1 << 20)).unwrap(),
        }
        for opened in
            [Folder::open(&root, Files::default()), Folder::create(&root, Uuid::from_u128(1), Files::default())]
        {
            assert!(matches!(opened, Err(TransportProblem::Nonsense { .. })), "{what}: {opened:?}");
        }
    }
}

#[test]
fn another_firms_stick_is_refused_before_anything_is_written() {
    let at = tempfile::tempdir().unwrap();
    let (ours, theirs) = (FirmKey::generate(), FirmKey::generate());
    let root = at.path().join("stick");
    // A new stick says whose it is, even while it is empty.
    let mut place = Folder::create_for(&root, Uuid::from_u128(1), &theirs, Files::default()).unwrap();
    let before = files(&root);
    let mut phone = Device::new(at.path(), "phone", 1);
    phone.house(1);
    let report = phone.try_sync(&ours, &mut place).unwrap();
    assert!(matches!(&report.stopped, Some(TransportProblem::Refused { what, .. }) if what.contains(&theirs.mark())));
    assert_eq!(files(&root), before);
    assert!(phone.sync(&theirs, &mut place).all_sent);
}

#[test]
fn a_file_that_asks_for_a_large_window_is_not_unfolded() {
    let key = FirmKey::generate();
    let device = Uuid::from_u128(1);
    let head = format!("{{\"hangtrue_segment\":1,\"device\":\"{device}\",\"first\":1,\"last\":1}}\n");
    let plain = [head.as_bytes(), " ".repeat(12 << 20).as_bytes()].concat();
    let mut packer = zstd::Encoder::new(Vec::new(), 3).unwrap();
    packer.window_log(27).unwrap();
    std::io::Write::write_all(&mut packer, &plain).unwrap();
    let stored = key.seal(&packer.finish().unwrap());
    assert!(stored.len() < 4000, "{}", stored.len());
    let name = SegmentName { device, first: 1, last: 1, hash: Hash::of(&stored) };
    assert_eq!(segment::open(&name, &stored, &key).unwrap_err().code(), "not_zstd");
}

//! Two phones change the same things apart and exchange through a folder: both values are kept, one is shown, and a flag
//! stands on every screen, sheet and table until a person settles it on either.

use hangtrue_bindings::HouseBook;
use hangtrue_core::fact::Body;
use hangtrue_core::house::{Job, Place, Reading, file};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::store::Book;
use hangtrue_core::sync::FirmKey;
use hangtrue_core::walk::{Event, PadKey};
use serde_json::Value;
use std::path::Path;
use std::sync::Arc;
use uuid::Uuid;

fn phone(at: &Path, name: &str, seed: u64, key: &FirmKey) -> Arc<HouseBook> {
    let book = HouseBook::open_seeded(at.join(name).to_string_lossy().into_owned(), seed).unwrap();
    book.take_firm_key(key.to_text()).unwrap();
    book
}

fn exchange(book: &HouseBook, at: &Path) {
    let report = book.exchange_with_folder(at.join("exchange").to_string_lossy().into_owned(), true, true).unwrap();
    assert_eq!((report.all_sent, report.stopped), (true, None));
}

fn touch(book: &HouseBook, id: &str) {
    let event = book.event_of(id.to_owned()).unwrap_or_else(|fault| panic!("{id}: {fault}"));
    book.act(event).unwrap();
}

fn screen(book: &HouseBook) -> Value {
    serde_json::from_str(&book.screen_json().unwrap()).unwrap()
}

/// The flags of a screen with this code.
fn flags(book: &HouseBook, code: &str) -> Vec<String> {
    let all = screen(book)["shown"]["screen"]["flags"].clone();
    let with = all.as_array().unwrap().iter().filter(|flag| flag["code"] == code);
    with.map(|flag| format!("{} {}", flag["says"].as_str().unwrap(), flag["settle"].as_str().unwrap())).collect()
}

#[test]
fn what_two_phones_set_apart_is_flagged_everywhere_until_one_person_chooses() {
    let at = tempfile::tempdir().unwrap();
    let key = FirmKey::generate();
    let (one, two) = (phone(at.path(), "one", 1, &key), phone(at.path(), "two", 2, &key));
    one.act(Event::TypeWords { slot: "house".to_owned(), text: "Larch House".to_owned() }).unwrap();
    for id in ["begin_in", "offer_study", "offer_window"] {
        touch(&one, id);
    }
    for number in [[3, 4], [3, 4], [3, 4], [5, 8], [5, 8]] {
        for digit in number {
            one.act(Event::Press { key: PadKey::Digit(digit) }).unwrap();
        }
        touch(&one, "accept");
    }
    exchange(&one, at.path());
    exchange(&two, at.path());
    touch(&two, "house_*");
    touch(&one, "back");
    let house: Uuid = serde_json::from_value(screen(&two)["shown"]["screen"]["id"].clone()).unwrap();
    let opening: Uuid =
        serde_json::from_value(screen(&two)["shown"]["screen"]["rooms"][0]["openings"][0]["id"].clone()).unwrap();
    let room: Uuid = serde_json::from_value(screen(&two)["shown"]["screen"]["rooms"][0]["id"].clone()).unwrap();

    // Each chooses while it does not know of the other: the mount, and the room's name. The second seed's clock is an
    // hour ahead, so what it says is shown.
    for (book, mount, name) in [(&one, "inside", "Library"), (&two, "outside", "Den")] {
        book.act(Event::ShowOpening { opening }).unwrap();
        touch(book, &format!("choices.mount_{mount}"));
        book.act(Event::GiveWords { slot: format!("rename/{room}"), text: name.to_owned() }).unwrap();
    }
    for book in [&one, &two, &one] {
        exchange(book, at.path());
    }
    assert_eq!(one.houses_digest().unwrap(), two.houses_digest().unwrap());
    let said = [
        "Two devices set the mount apart: \"outside\" is shown, the latest by their clocks; \"inside\" stands beside it. \
         Ask who set it, and choose one of them once more.",
    ];
    for book in [&one, &two] {
        book.act(Event::ShowOpening { opening }).unwrap();
        assert_eq!(flags(book, "set_apart"), said);
        // While the tape is in hand, too.
        book.act(Event::GoTo { opening, place: Place::WidthTop }).unwrap();
        assert_eq!(flags(book, "set_apart"), said);
        book.act(Event::ShowHouse { house }).unwrap();
        let rooms = flags(book, "set_apart");
        assert!(rooms.len() == 1 && rooms[0].contains("\"Den\" is shown"), "{rooms:?}");
        assert!(!screen(book)["shown"]["screen"]["rooms"][0]["openings"][0]["asks"].as_str().unwrap().is_empty());
        let measuring = book.sheet(house, Some(opening), "2026-05-04".to_owned()).unwrap().html;
        assert!(measuring.contains("Two devices set the mount apart"));
        let summary = book.sheet(house, None, "2026-05-04".to_owned()).unwrap().html;
        assert!(
            summary.contains("Two devices set the mount apart") && summary.contains("Two devices set the name apart")
        );
    }
    // A job file holds what is shown; it neither carries the disagreement nor settles it when it is taken in.
    let text = one.house_file(house).unwrap();
    assert!(!text.contains("disagree") && file::read(&text).unwrap().disagreements.is_empty());
    one.take_in_file(text).unwrap();
    one.act(Event::ShowOpening { opening }).unwrap();
    assert_eq!(flags(&one, "set_apart").len(), 1);

    // One person settles both on one phone: what is shown is chosen once more, and the other name is given.
    touch(&one, "choices.mount_outside");
    one.act(Event::GiveWords { slot: format!("rename/{room}"), text: "Library".to_owned() }).unwrap();
    assert_eq!(flags(&one, "set_apart"), Vec::<String>::new());
    exchange(&one, at.path());
    exchange(&two, at.path());
    two.act(Event::ShowOpening { opening }).unwrap();
    assert_eq!(flags(&two, "set_apart"), Vec::<String>::new());
    two.act(Event::ShowHouse { house }).unwrap();
    assert_eq!(flags(&two, "set_apart"), Vec::<String>::new());
    assert_eq!(screen(&two)["shown"]["screen"]["rooms"][0]["name"], "Library");
    assert_eq!(one.houses_digest().unwrap(), two.houses_digest().unwrap());
}

#[test]
fn a_reading_corrected_twice_apart_is_flagged_until_one_is_withdrawn() {
    let at = tempfile::tempdir().unwrap();
    let mut n = 0_u64;
    let mut now = || {
        n += 1;
        let mut random = [0; 10];
        random[2..].copy_from_slice(&n.to_be_bytes());
        hangtrue_core::fact::Moment { ms: 1_800_000_000_000 + n, random }
    };
    let mut book = Book::open(&at.path().join("desk.book"), &mut now).unwrap();
    let job = Job::new(now().uuid(), "Larch House".to_owned(), LengthUnit::Inch);
    let (room, opening, first) = (now().uuid(), now().uuid(), now().uuid());
    let mut reading = |id: Uuid, text: &str, amends: Option<Uuid>| Body::ReadingTaken {
        opening,
        reading: Reading {
            id,
            place: Place::WidthTop,
            typed: Typed::read(text, LengthUnit::Inch).unwrap(),
            at: now().time(),
            by: "Ida".to_owned(),
            with: String::new(),
            amends,
            answers: None,
            withdrawn: None,
        },
    };
    let (left, right) = (Uuid::from_u128(71), Uuid::from_u128(72));
    let bodies = [
        Body::HouseOpened { name: job.name.clone(), unit: job.unit },
        Body::RoomAdded { room, name: "Study".to_owned() },
        Body::OpeningAdded { opening, room, name: "North".to_owned() },
        reading(first, "34 3/8", None),
        reading(left, "34 5/8", Some(first)),
        reading(right, "34 1/8", Some(first)),
    ];
    let codes = |book: &Book| -> Vec<(String, String)> {
        let house = book.job(job.id).unwrap().unwrap();
        let worked = hangtrue_core::work::house(&house, hangtrue_core::mount::Catalogue::standard(house.unit)).unwrap();
        let flags = worked.openings[0].flags();
        let apart = flags.iter().filter(|flag| flag.code == "corrected_apart");
        apart.map(|flag| (flag.says.clone(), flag.severity.words().to_owned())).collect()
    };
    book.write(job.id, "Ida", job.unit, &bodies, &mut now).unwrap();
    let says = "The top width was corrected to 34 1/8 in and to 34 5/8 in on two devices.";
    assert_eq!(codes(&book), [(says.to_owned(), hangtrue_core::flag::Severity::Decide.words().to_owned())]);
    let withdrawn =
        hangtrue_core::house::Withdrawn { at: now().time(), by: "Bo".to_owned(), why: "read again".to_owned() };
    let body = Body::ReadingWithdrawn { opening, reading: left, withdrawn };
    book.write(job.id, "Bo", job.unit, &[body], &mut now).unwrap();
    assert_eq!(codes(&book), []);
}

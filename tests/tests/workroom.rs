//! What a workroom keeps once holds in every house that has none of its own, on every device, and stays where a house holds
//! it. Houses and numbers are invented.

use hangtrue_core::fact::{Body, Fact, Moment, Pen, Stamp};
use hangtrue_core::house::{Job, Workroom, file};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::mount::{Catalogue, Form};
use hangtrue_core::store::Book;
use hangtrue_core::walk::screen::{SettingsScreen, Shown};
use hangtrue_core::walk::{Event, HouseLine, SyncLine, Walk, World};
use hangtrue_core::work;
use proptest::prelude::*;
use serde_json::json;
use std::path::PathBuf;
use uuid::Uuid;

const IN: LengthUnit = LengthUnit::Inch;

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("hangtrue-workroom-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Moments of one device, a second apart.
struct Clock(u64, u8);

impl Clock {
    fn moment(&mut self) -> Moment {
        self.0 += 1000;
        let mut random = [self.1; 10];
        random[..8].copy_from_slice(&self.0.to_be_bytes());
        Moment { ms: self.0, random }
    }
}

struct Desk {
    book: Book,
    walk: Walk,
    clock: Clock,
    _folder: Folder,
}

impl Desk {
    fn new(name: &str, device: u8) -> Self {
        let folder = Folder::new(name);
        let mut clock = Clock(1_780_000_000_000 + u64::from(device) * 100, device);
        let book = Book::open(&folder.0.join("book"), &mut || clock.moment()).unwrap();
        Self { book, walk: Walk::default(), clock, _folder: folder }
    }

    fn take_in(&mut self, job: &Job) {
        let clock = &mut self.clock;
        self.book.take_in(job, "Ida", &mut || clock.moment()).unwrap();
    }

    fn act(&mut self, event: &Event) {
        let to = match event {
            Event::ShowHouse { house } => Some(*house),
            _ => self.walk.house(),
        };
        let house = to.and_then(|id| self.book.house(id).unwrap());
        let lines = [HouseLine { id: to.unwrap_or_default(), ..HouseLine::default() }];
        let world = World { houses: &lines, house: house.as_ref(), sync: SyncLine::default() };
        let clock = &mut self.clock;
        let step = self.walk.step(event, &world, &mut || clock.moment()).unwrap();
        self.walk = step.walk;
        for write in step.writes {
            self.book.write(write.house, "Ida", write.unit, &[write.body], &mut || write.moment).unwrap();
        }
    }

    fn settings(&self) -> SettingsScreen {
        let house = self.walk.house().and_then(|id| self.book.house(id).unwrap());
        let world = World { houses: &[], house: house.as_ref(), sync: SyncLine::default() };
        match self.walk.screen(&world).shown {
            Shown::Settings { screen } => screen,
            other => panic!("no settings are shown: {other:?}"),
        }
    }

    fn number(&mut self, on: Uuid, name: &str, value: Option<&str>) {
        let event = Event::Choose { on, field: format!("settings.{name}"), value: value.map(str::to_owned) };
        self.act(&Event::ShowHouse { house: on });
        self.act(&event);
    }

    fn width(&self, house: Uuid) -> String {
        let job = self.book.job(house).unwrap().unwrap();
        let worked = work::house(&job, Catalogue::standard(IN)).unwrap();
        worked.openings[0].mounts.get(Form::Inside).unwrap().width.total.show(IN)
    }

    fn facts(&self) -> Vec<Fact> {
        let mut all = self.book.facts(Workroom::ID).unwrap();
        for line in self.book.houses().unwrap() {
            all.extend(self.book.facts(line.job).unwrap());
        }
        all
    }
}

fn id(n: u32) -> String {
    format!("0192a3b4-0000-7000-8000-{n:012}")
}

fn uuid(n: u32) -> Uuid {
    Uuid::parse_str(&id(n)).unwrap()
}

/// A square opening of 36 x 60, 3 deep, that hangs inside.
fn house(n: u32, more: &serde_json::Value) -> Job {
    let read = [
        ("width_top", "36"),
        ("width_middle", "36"),
        ("width_bottom", "36"),
        ("height_left", "60"),
        ("height_right", "60"),
        ("diagonal_rising", "69 15/16"),
        ("diagonal_falling", "69 15/16"),
        ("depth", "3"),
        ("plumb_left", "0"),
    ];
    let readings: Vec<_> = read
        .iter()
        .zip(n * 100 + 10..)
        .map(|((place, read), n)| json!({"id": id(n), "place": place, "read": read, "at": "2026-05-04T09:12:00Z"}))
        .collect();
    let mut all = json!({
        "hangtrue_job": 1, "id": id(n * 100), "name": format!("House {n}"), "unit": "in",
        "rooms": [{"id": id(n * 100 + 1), "name": "Study", "openings": [
            {"id": id(n * 100 + 2), "name": "North", "readings": readings, "choices": {"mount": "inside"}},
        ]}],
    });
    for (field, value) in more.as_object().into_iter().flatten() {
        all[field] = value.clone();
    }
    file::read(&all.to_string()).unwrap()
}

/// By pencil: 36 less the built-in 3/8 is 35 5/8; less the workroom's 1/2 it is 35 1/2; less a house's own 1/4 it is 35 3/4.
#[test]
fn a_number_of_the_workroom_holds_in_every_house_that_has_none_of_its_own() {
    let mut desk = Desk::new("layers", 1);
    desk.take_in(&house(1, &json!({})));
    desk.take_in(&house(2, &json!({"settings": {"inside_width_deduction": "1/4"}})));
    assert_eq!((desk.width(uuid(100)), desk.width(uuid(200))), ("35 5/8".to_owned(), "35 3/4".to_owned()));
    desk.number(Workroom::ID, "inside_width_deduction", Some("1/2"));
    assert_eq!((desk.width(uuid(100)), desk.width(uuid(200))), ("35 1/2".to_owned(), "35 3/4".to_owned()));
    // The workroom is no house in the list, and where a number comes from is said.
    assert_eq!(desk.book.houses().unwrap().len(), 2);
    desk.act(&Event::ShowHouse { house: uuid(100) });
    desk.act(&Event::ShowSettings);
    let rows = desk.settings().rows;
    let row = rows.iter().find(|row| row.name == "inside_width_deduction").unwrap();
    assert_eq!((row.value.as_str(), row.default.as_str(), row.changed), ("1/2 in", "1/2 in, the workroom's", false));
    // What the house gives back, it takes from the workroom again.
    desk.number(uuid(200), "inside_width_deduction", None);
    assert_eq!(desk.width(uuid(200)), "35 1/2");
    desk.number(Workroom::ID, "inside_width_deduction", None);
    assert_eq!(desk.width(uuid(200)), "35 5/8");
}

#[test]
fn a_house_that_holds_its_numbers_or_is_put_away_keeps_its_sizes() {
    let mut desk = Desk::new("hold", 2);
    for n in 1..=3 {
        desk.take_in(&house(n, &json!({})));
    }
    desk.number(Workroom::ID, "inside_width_deduction", Some("1/2"));
    desk.act(&Event::ShowHouse { house: uuid(100) });
    desk.act(&Event::ShowSettings);
    let hold = desk.settings().hold.expect("there is something to hold");
    desk.act(&hold.event);
    assert!(desk.settings().hold.is_none());
    desk.act(&Event::ShowHouse { house: uuid(200) });
    let folded = desk.book.house(uuid(200)).unwrap().unwrap();
    let world = World { houses: &[], house: Some(&folded), sync: SyncLine::default() };
    let Shown::House { screen } = desk.walk.screen(&world).shown else { panic!("a house is shown") };
    desk.act(&screen.away.event);
    desk.number(Workroom::ID, "inside_width_deduction", Some("3/4"));
    let widths = [100, 200, 300].map(|n| desk.width(uuid(n)));
    assert_eq!(widths, ["35 1/2", "35 1/2", "35 1/4"]);
}

#[test]
fn a_house_file_makes_the_same_sizes_elsewhere() {
    let mut desk = Desk::new("file", 3);
    desk.take_in(&house(1, &json!({})));
    desk.number(Workroom::ID, "inside_width_deduction", Some("1/2"));
    let written = file::write(&desk.book.job(uuid(100)).unwrap().unwrap());
    // Alone, as the program reads it, and in a book of another workroom.
    let job = file::read(&written).unwrap();
    let worked = work::house(&job, Catalogue::standard(IN)).unwrap();
    assert_eq!(worked.openings[0].mounts.get(Form::Inside).unwrap().width.total.show(IN), "35 1/2");
    let mut other = Desk::new("file-other", 4);
    other.number(Workroom::ID, "inside_width_deduction", Some("1"));
    other.take_in(&job);
    assert_eq!(other.width(uuid(100)), "35 1/2");
    // Taken in where it came from, it says nothing new.
    let before = desk.facts().len();
    desk.take_in(&job);
    assert_eq!(desk.facts().len(), before);
}

#[test]
fn two_devices_that_set_a_workroom_s_number_apart_agree_and_an_older_program_sees_no_house() {
    let (mut one, mut two) = (Desk::new("one", 5), Desk::new("two", 6));
    one.take_in(&house(1, &json!({})));
    let facts = one.facts();
    two.book.merge(&facts).unwrap();
    one.number(Workroom::ID, "inside_width_deduction", Some("1/2"));
    two.number(Workroom::ID, "inside_width_deduction", Some("5/8"));
    let (of_one, of_two) = (one.facts(), two.facts());
    one.book.merge(&of_two).unwrap();
    two.book.merge(&of_one).unwrap();
    assert_eq!(one.width(uuid(100)), two.width(uuid(100)));
    assert_eq!(one.book.house(Workroom::ID).unwrap().unwrap().job.disagreements.len(), 1);
    // Nothing opens it: a program that folds houses by their opening has none.
    let opens = |fact: &Fact| matches!(fact.read(), Ok(Body::HouseOpened { .. }));
    assert!(!one.book.facts(Workroom::ID).unwrap().iter().any(opens));
}

/// A piece of the shelf is a fact like any other: it comes to the other device, its house is planned on it, and two hands that
/// change it apart are seen.
#[test]
fn the_shelf_goes_to_the_other_device() {
    let (mut one, mut two) = (Desk::new("shelf-one", 9), Desk::new("shelf-two", 10));
    one.take_in(&house(1, &json!({"cloths": [{"name": "Reed", "width": "54"}]})));
    let field = "shelf.0192a3b4-0000-7000-8000-000000000777".to_owned();
    let put = |desk: &mut Desk, value: serde_json::Value| {
        let replaces =
            desk.book.house(Workroom::ID).unwrap().unwrap().standing.get(&(Workroom::ID, field.clone())).cloned();
        let body = Body::Set { on: Workroom::ID, field: field.clone(), value, replaces: replaces.unwrap_or_default() };
        let moment = desk.clock.moment();
        desk.book.write(Workroom::ID, "Ida", IN, &[body], &mut || moment).unwrap();
    };
    put(&mut one, json!({"cloth": "Reed", "length": "150", "lot": "A", "flaws": [{"from": "12", "to": "14"}]}));
    let facts = one.facts();
    two.book.merge(&facts).unwrap();
    let on = |desk: &Desk| desk.book.workroom().unwrap().shelf;
    assert_eq!(on(&two), on(&one));
    assert_eq!(on(&two).values().next().unwrap().length.value(), Length::whole_inches(150));
    // It stands in the house's file, too, and not as a house's own.
    let written = file::write(&two.book.job(uuid(100)).unwrap().unwrap());
    assert_eq!(file::read(&written).unwrap().workroom.shelf, on(&one));
    put(&mut one, json!({"cloth": "Reed", "length": "100", "lot": "A"}));
    put(&mut two, serde_json::Value::Null);
    let (of_one, of_two) = (one.facts(), two.facts());
    one.book.merge(&of_two).unwrap();
    two.book.merge(&of_one).unwrap();
    assert_eq!(on(&one), on(&two));
    assert_eq!(one.book.house(Workroom::ID).unwrap().unwrap().job.disagreements.len(), 1);
}

/// A house can be erased on every device; what all houses rest on cannot, by nobody.
#[test]
fn nobody_erases_the_workroom() {
    let mut desk = Desk::new("erase", 8);
    desk.take_in(&house(1, &json!({})));
    desk.number(Workroom::ID, "inside_width_deduction", Some("1/2"));
    let forged = Pen::new(Uuid::from_u128(9), Stamp::default()).write(
        desk.clock.moment(),
        Workroom::ID,
        "Mallory",
        IN,
        &Body::HouseErased {},
    );
    assert_eq!(desk.book.merge(std::slice::from_ref(&forged)).unwrap().refused, [forged.id]);
    let moment = desk.clock.moment();
    assert!(desk.book.write(Workroom::ID, "Ida", IN, &[Body::HouseErased {}], &mut || moment).is_err());
    assert_eq!(desk.width(uuid(100)), "35 1/2");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever is set in whichever order (of at least 1/4 in, where the smallest width rules), a house is made by its own number, else by the workroom's, else by the built-in.
    #[test]
    fn the_nearest_layer_rules(all in proptest::collection::vec((any::<bool>(), proptest::option::weighted(0.7, 2..12_i64)), 1..8)) {
        let mut desk = Desk::new("nearest", 7);
        desk.take_in(&house(1, &json!({})));
        let (mut own, mut workroom) = (None, None);
        for (of_house, value) in all {
            let text = value.map(|eighths| Length::inches(eighths, 8).show(IN));
            let on = if of_house { uuid(100) } else { Workroom::ID };
            desk.number(on, "inside_width_deduction", text.as_deref());
            *(if of_house { &mut own } else { &mut workroom }) = value;
            let off = own.or(workroom).map_or(Length::inches(3, 8), |eighths| Length::inches(eighths, 8));
            prop_assert_eq!(desk.width(uuid(100)), (Length::whole_inches(36) - off).show(IN));
        }
    }
}

/// Before a number is changed it is known what changes: just the sizes that are others afterwards.
#[test]
fn what_a_number_would_change_is_what_it_changes() {
    let now = house(1, &json!({}));
    let mut then = now.clone();
    then.workroom.settings.change("inside_width_deduction", "1/2", IN).unwrap();
    let found = work::differs(&now, &then, Catalogue::standard(IN));
    let said: Vec<_> =
        found.iter().map(|one| (one.name.as_str(), one.what, one.before.as_str(), one.after.as_str())).collect();
    assert_eq!(said, [("Study, North", "finished width", "35 5/8 in", "35 1/2 in")]);
    // A house that has its own is not touched.
    let own = house(2, &json!({"settings": {"inside_width_deduction": "1/4"}}));
    let mut then = own.clone();
    then.workroom.settings.change("inside_width_deduction", "1/2", IN).unwrap();
    assert!(work::differs(&own, &then, Catalogue::standard(IN)).is_empty());
}

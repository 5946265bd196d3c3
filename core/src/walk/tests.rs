//! Events in, screens out: what the walk promises, with facts in memory.

use super::screen::{Screen, Shown};
use super::{Event, HouseLine, PadKey, SyncLine, Walk, World};
use crate::fact::{Body, Fact, House, Moment, Pen, Stamp, fold};
use crate::house::{Ask, Place};
use crate::length::LengthUnit;
use uuid::Uuid;

struct Device {
    walk: Walk,
    facts: Vec<Fact>,
    house: Option<House>,
    pen: Pen,
    now: u64,
    step: u64,
}

impl Device {
    fn new() -> Self {
        let pen = Pen::new(Uuid::from_u128(7), Stamp::default());
        let now = 1_760_000_000_000;
        Self { walk: Walk::default(), facts: Vec::new(), house: None, pen, now, step: 1000 }
    }

    /// A house with a kitchen and its window, at the first reading.
    fn at_a_window() -> Self {
        let mut device = Self::new();
        device.give("house/in", "Elm Court");
        device.give("room", "Kitchen");
        let room = device.house.as_ref().unwrap().job.rooms[0].id;
        device.give(&format!("opening/{room}"), "Window");
        device
    }

    fn moment(now: &mut u64, step: u64) -> Moment {
        *now += step;
        let mut random = [0; 10];
        random[2..].copy_from_slice(&now.to_be_bytes());
        Moment { ms: *now, random }
    }

    fn screen(&self) -> Screen {
        let houses: &[HouseLine] = &[];
        self.walk.screen(&World { houses, house: self.house.as_ref(), sync: SyncLine::default() })
    }

    fn act(&mut self, event: &Event) -> Screen {
        let world = World { houses: &[], house: self.house.as_ref(), sync: SyncLine::default() };
        let (now, step) = (&mut self.now, self.step);
        let next = self.walk.step(event, &world, &mut || Self::moment(now, step)).unwrap();
        for write in next.writes {
            self.facts.push(self.pen.write(write.moment, write.house, "", write.unit, &write.body));
        }
        self.house = fold(&self.facts);
        // What is kept is all that is needed.
        self.walk = serde_json::from_str(&serde_json::to_string(&next.walk).unwrap()).unwrap();
        assert_eq!(self.walk, next.walk);
        self.screen()
    }

    fn give(&mut self, slot: &str, text: &str) {
        self.act(&Event::GiveWords { slot: slot.to_owned(), text: text.to_owned() });
    }

    fn type_in(&mut self, keys: &[PadKey]) {
        for key in keys {
            self.act(&Event::Press { key: *key });
        }
    }

    fn read(&mut self, inches: u8, sixteenths: u8) {
        self.type_in(&[PadKey::Digit(inches / 10), PadKey::Digit(inches % 10)]);
        if sixteenths > 0 {
            self.type_in(&[PadKey::Sixteenths(sixteenths)]);
        }
        self.act(&Event::Accept);
    }

    fn place(&self) -> Place {
        match self.screen().shown {
            Shown::Reading { screen } => Place::from_code(&screen.place).unwrap(),
            other => panic!("no place is read: {other:?}"),
        }
    }

    fn typed(&self) -> String {
        match self.screen().shown {
            Shown::Reading { screen } => screen.typed,
            other => panic!("no place is read: {other:?}"),
        }
    }

    fn opening(&self) -> &crate::house::Opening {
        &self.house.as_ref().unwrap().job.rooms[0].openings[0]
    }
}

#[test]
fn goes_in_the_order_of_the_trade_and_ends_at_what_the_readings_say() {
    let mut device = Device::at_a_window();
    for (place, inches, sixteenths) in [
        (Place::WidthTop, 34, 6),
        (Place::WidthMiddle, 34, 6),
        (Place::WidthBottom, 34, 5),
        (Place::HeightLeft, 58, 4),
        (Place::HeightRight, 58, 4),
        (Place::DiagonalRising, 67, 10),
        (Place::DiagonalFalling, 67, 10),
        (Place::Depth, 13, 8),
    ] {
        assert_eq!(device.place(), place);
        device.read(inches, sixteenths);
    }
    let Shown::Opening { screen } = device.screen().shown else { panic!("the opening is not shown") };
    assert_eq!((screen.progress.done, screen.progress.of), (8, 8));
    assert!(screen.ways.iter().any(|way| way.can), "{:?}", screen.ways);
}

#[test]
fn half_typed_digits_stay_at_their_place() {
    let mut device = Device::at_a_window();
    device.type_in(&[PadKey::Digit(3)]);
    let opening = device.opening().id;
    device.act(&Event::GoTo { opening, place: Place::Depth });
    assert_eq!(device.typed(), "");
    device.type_in(&[PadKey::Digit(4)]);
    device.act(&Event::Back);
    assert_eq!((device.place(), device.typed().as_str()), (Place::WidthTop, "3"));
    device.act(&Event::Later);
    device.act(&Event::ShowHouses);
    device.act(&Event::Back);
    device.act(&Event::GoTo { opening, place: Place::Depth });
    assert_eq!(device.typed(), "4");
}

#[test]
fn a_thumb_that_bounces_reads_once() {
    let mut device = Device::at_a_window();
    device.read(34, 6);
    device.step = super::BOUNCE_MS / 2 - 1;
    device.type_in(&[PadKey::Digit(9)]);
    device.act(&Event::Accept);
    assert_eq!((device.opening().readings.len(), device.typed().as_str()), (1, "9"));
    device.step = super::BOUNCE_MS;
    device.act(&Event::Accept);
    assert_eq!(device.opening().readings.len(), 2);
    // A clock that was set back does not lock the pad.
    device.now -= 10_000_000;
    device.read(34, 6);
    assert_eq!(device.opening().readings.len(), 3);
}

#[test]
fn undo_leads_to_what_it_undoes_and_redo_brings_it_back() {
    let mut device = Device::at_a_window();
    device.read(34, 6);
    device.read(34, 7);
    let opening = device.opening().id;
    device.act(&Event::ShowOpening { opening });
    device.act(&Event::Undo);
    assert_eq!(device.place(), Place::WidthMiddle);
    device.act(&Event::Undo);
    assert_eq!(device.place(), Place::WidthTop);
    assert_eq!(device.opening().standing(Place::WidthTop).count(), 0);
    device.act(&Event::Redo);
    assert_eq!(device.opening().standing(Place::WidthTop).count(), 1);
    device.act(&Event::Redo);
    assert_eq!(device.opening().standing(Place::WidthMiddle).count(), 1);
    assert_eq!(device.screen().redo, None);
    // Once more back, and something new: what was taken back stays so.
    device.act(&Event::Undo);
    device.read(34, 5);
    assert_eq!(device.screen().redo, None);
}

#[test]
fn an_ask_that_arrives_stands_first_and_its_reading_answers_it() {
    let mut device = Device::at_a_window();
    device.read(34, 6);
    assert_eq!(device.place(), Place::WidthMiddle);
    let (opening, job) = (device.opening().id, device.house.as_ref().unwrap().job.id);
    let mut desk = Pen::new(Uuid::from_u128(8), device.pen.last());
    let moment = Device::moment(&mut device.now, 1000);
    let ask = Ask {
        id: moment.uuid(),
        places: vec![Place::WidthTop],
        why: "an inch?".to_owned(),
        at: moment.time(),
        by: "the desk".to_owned(),
        closed: None,
    };
    device.facts.push(desk.write(moment, job, "desk", LengthUnit::Inch, &Body::AskMade { opening, ask }));
    device.house = fold(&device.facts);
    assert_eq!(device.place(), Place::WidthTop, "it stands first at once");
    let Shown::Reading { screen } = device.screen().shown else { panic!() };
    assert_eq!(screen.because, "the desk asks: an inch?");
    device.pen.saw(desk.last());
    device.read(35, 6);
    assert!(device.opening().is_answered(&device.opening().asks[0]));
    assert_eq!(device.opening().readings[1].answers, Some(device.opening().asks[0].id));
}

#[test]
fn a_place_half_typed_is_not_taken_away_by_an_ask() {
    let mut device = Device::at_a_window();
    device.read(34, 6);
    device.type_in(&[PadKey::Digit(3)]);
    let (opening, job) = (device.opening().id, device.house.as_ref().unwrap().job.id);
    let moment = Device::moment(&mut device.now, 1000);
    let at = moment.time();
    let ask = Ask { id: moment.uuid(), places: vec![], why: String::new(), at, by: String::new(), closed: None };
    let fact = device.pen.write(moment, job, "", LengthUnit::Inch, &Body::AskMade { opening, ask });
    device.facts.push(fact);
    device.house = fold(&device.facts);
    assert_eq!((device.place(), device.typed().as_str()), (Place::WidthMiddle, "3"));
}

#[test]
fn a_slip_is_said_while_the_tape_is_in_hand() {
    let mut device = Device::at_a_window();
    device.read(34, 6);
    device.read(34, 6);
    device.type_in(&[PadKey::Digit(4), PadKey::Digit(3)]);
    let Shown::Reading { screen } = device.screen().shown else { panic!() };
    let flag = screen.flags.first().expect("nine inches are said");
    assert!(flag.severity > crate::flag::Severity::Know, "{flag:?}");
    assert!(screen.accept.live, "it never blocks");
    device.act(&Event::Accept);
    let again = device.place();
    let Shown::Reading { screen } = device.screen().shown else { panic!() };
    assert!(!screen.because.is_empty(), "led to the {} without a word", again.words());
    // Whoever goes on is let go on.
    device.act(&Event::Later);
    assert_ne!(device.place(), again);
}

#[test]
fn read_again_leads_to_the_reading_in_doubt() {
    let mut device = Device::at_a_window();
    let opening = device.opening().id;
    for (place, inches, sixteenths) in [
        (Place::WidthTop, 34, 6),
        (Place::WidthMiddle, 34, 6),
        (Place::WidthBottom, 34, 5),
        (Place::HeightLeft, 58, 4),
        (Place::HeightRight, 59, 4),
        (Place::DiagonalRising, 67, 10),
        (Place::DiagonalFalling, 67, 10),
        (Place::Depth, 13, 8),
    ] {
        device.act(&Event::GoTo { opening, place });
        device.read(inches, sixteenths);
    }
    device.act(&Event::ShowOpening { opening });
    let Shown::Opening { screen } = device.screen().shown else { panic!("the opening is not shown") };
    assert_eq!(screen.measure.label, "Read again");
    device.act(&screen.measure.event);
    assert_eq!(device.place(), Place::HeightRight);
    device.read(58, 4);
    device.read(58, 4);
    device.act(&Event::ShowOpening { opening });
    let Shown::Opening { screen } = device.screen().shown else { panic!("the opening is not shown") };
    device.act(&screen.measure.event);
    assert_eq!(device.place(), Place::WidthTop, "nothing is in doubt: from the first");
}

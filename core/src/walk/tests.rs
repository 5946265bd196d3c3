//! Events in, screens out: what the walk promises, with facts in memory.

use super::note::{self, Field};
use super::screen::{ChoiceGroup, Screen, Shown};
use super::{Event, HouseLine, PadKey, Refusal, SyncLine, Walk, World};
use crate::fact::{Body, Fact, House, Moment, Pen, Stamp, fold};
use crate::flag::Severity;
use crate::house::{Ask, Place, Reading};
use crate::length::LengthUnit;
use proptest::prelude::*;
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
        // Then, because a shade hangs plumb and the slack needs it.
        (Place::PlumbLeft, 0, 0),
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
fn a_slip_is_said_when_it_is_kept_and_the_next_place_stays_the_next() {
    let mut device = Device::at_a_window();
    device.read(34, 6);
    device.read(34, 6);
    device.type_in(&[PadKey::Digit(4), PadKey::Digit(3)]);
    let Shown::Reading { screen } = device.screen().shown else { panic!() };
    assert!(screen.flags.iter().all(|flag| flag.severity < Severity::TakeAgain), "half typed is not judged");
    assert!(screen.accept.live, "it never blocks");
    device.act(&Event::Accept);
    assert_eq!(device.place(), Place::HeightLeft, "who types a note from paper goes on");
    let Shown::Reading { screen } = device.screen().shown else { panic!() };
    let flag = screen.flags.first().expect("nine inches are said");
    assert_eq!(flag.severity, Severity::TakeAgain, "the gravest first: {flag:?}");
    let go = flag.go.as_ref().expect("one touch leads there");
    assert_eq!(go.label, "Read it now");
    // The button leads to the place that its words name.
    let place = match &go.event {
        Event::GoTo { place, .. } => *place,
        other => panic!("{other:?}"),
    };
    assert!(flag.settle.contains(place.words()) || flag.says.contains(place.words()), "{flag:?}");
    device.act(&go.event.clone());
    assert_eq!(device.place(), place);
    // Whoever goes on is let go on.
    device.act(&Event::Later);
    assert_ne!(device.place(), place);
}

#[test]
fn once_all_is_read_the_walk_leads_to_what_is_in_doubt() {
    let mut device = Device::at_a_window();
    for (inches, sixteenths) in [(34, 6), (35, 6), (34, 6), (58, 4), (58, 4), (67, 10), (67, 10)] {
        assert_ne!(device.place(), Place::Depth);
        device.read(inches, sixteenths);
    }
    assert_eq!(device.place(), Place::Depth, "what is needed comes first");
    device.read(13, 8);
    assert_eq!(device.place(), Place::WidthMiddle, "then the doubt");
    let Shown::Reading { screen } = device.screen().shown else { panic!() };
    assert!(!screen.because.is_empty(), "led there without a word");
}

#[test]
fn the_pad_takes_the_unit_of_its_house() {
    let mut device = Device::at_a_window();
    device.act(&Event::UseUnit { unit: LengthUnit::Millimetre });
    let Shown::Reading { screen } = device.screen().shown else { panic!() };
    assert_eq!(screen.unit, "mm");
    device.facts.clear();
    device.house = None;
    device.give("house/in", "Elm Court, upstairs");
    device.give("room", "Study");
    let room = device.house.as_ref().unwrap().job.rooms[0].id;
    device.give(&format!("opening/{room}"), "Window");
    let Shown::Reading { screen } = device.screen().shown else { panic!() };
    assert_eq!(screen.unit, "in", "the unit of the last house is not this one's");
}

/// Seven readings that close, as they may stand on a note, and the depth.
const NOTE: [(Place, &str); 8] = [
    (Place::WidthTop, "35 7/8"),
    (Place::WidthMiddle, "35.875"),
    (Place::WidthBottom, "35 13/16"),
    (Place::HeightLeft, "60"),
    (Place::HeightRight, "1524 mm"),
    (Place::DiagonalRising, "69-15/16"),
    (Place::DiagonalFalling, "5' 9 15/16\""),
    (Place::Depth, "3 1/2"),
];

fn fields(note: &[(Place, &str)]) -> Vec<Field> {
    note.iter().map(|(place, text)| Field { place: *place, text: (*text).to_owned() }).collect()
}

impl Device {
    fn keep_note(&mut self, fields: &[Field]) -> Result<(), Refusal> {
        let opening = self.opening().id;
        let world = World { houses: &[], house: self.house.as_ref(), sync: SyncLine::default() };
        let now = &mut self.now;
        let next = self.walk.keep_note(opening, fields, &world, &mut || Self::moment(now, 1))?;
        for write in next.writes {
            self.facts.push(self.pen.write(write.moment, write.house, "", write.unit, &write.body));
        }
        self.house = fold(&self.facts);
        self.walk = next.walk;
        Ok(())
    }

    fn looked(&self, fields: &[Field]) -> note::Looked {
        note::look(self.house.as_ref().unwrap(), self.opening(), fields)
    }
}

#[test]
fn a_note_is_kept_word_for_word_and_taken_back_as_one() {
    let mut device = Device::at_a_window();
    let note = fields(&NOTE);
    let looked = device.looked(&note);
    assert_eq!((looked.lengths, looked.unreadable, looked.again), (8, 0, 0));
    assert!(looked.said[..7].iter().all(|said| said.as_ref().is_some_and(|said| said.says == "Fits")), "{looked:?}");
    assert!(device.opening().readings.is_empty(), "looking keeps nothing");
    device.keep_note(&note).unwrap();
    let kept: Vec<(Place, &str)> = device.opening().readings.iter().map(|r| (r.place, r.typed.text())).collect();
    assert_eq!(kept, NOTE);
    let Shown::Opening { .. } = device.screen().shown else { panic!("the opening is not shown") };
    device.act(&Event::Undo);
    assert_eq!(NOTE.iter().map(|(place, _)| device.opening().standing(*place).count()).sum::<usize>(), 0);
}

#[test]
fn a_note_says_beside_the_field_what_is_wrong_and_keeps_nothing_under_a_wrong_name() {
    let mut device = Device::at_a_window();
    let mut note = fields(&NOTE);
    note[1].text = "36 7/8".to_owned();
    let looked = device.looked(&note);
    let said = looked.said[1].as_ref().unwrap();
    assert!(said.says.starts_with("The middle width (36 7/8) looks an inch long: 35 7/8 would fit"), "{said:?}");
    assert_eq!((said.severity, looked.again), (Some(Severity::TakeAgain), 1));
    note[3].text = "60 3/7".to_owned();
    note[4].text = "-60".to_owned();
    let looked = device.looked(&note);
    assert_eq!((looked.lengths, looked.unreadable), (6, 2));
    let wrong = |at: usize| match &looked.taken[at] {
        note::Taken::Unreadable { what, right } => format!("{what}; {right}"),
        other => panic!("{other:?}"),
    };
    assert!(wrong(3).starts_with("3/7 is not on a tape"), "{}", wrong(3));
    assert_eq!(wrong(4), "-60 is negative; measurements here start at 0");
    let refused = device.keep_note(&note).unwrap_err();
    assert!(refused.reason.starts_with("Left height: 3/7"), "{refused:?}");
    assert!(device.opening().readings.is_empty(), "all or nothing");
    assert!(device.keep_note(&fields(&[(Place::WidthTop, " ")])).is_err(), "nothing is typed");
}

proptest! {
    /// Whatever stands on a note: what looking calls a length is kept as that length at that place, and nothing else is.
    #[test]
    fn what_a_note_was_taken_as_is_what_is_kept(
        texts in proptest::collection::vec(("[0-9]{0,3}( [1-7]/8)?( mm|\"| in)?|\\PC{0,6}", 0..Place::ALL.len()), 1..12),
    ) {
        let mut device = Device::at_a_window();
        let note: Vec<Field> =
            texts.iter().map(|(text, at)| Field { place: Place::ALL[*at], text: text.clone() }).collect();
        let looked = device.looked(&note);
        prop_assert_eq!(looked.taken.len(), note.len());
        let kept = device.keep_note(&note);
        prop_assert_eq!(kept.is_ok(), looked.unreadable == 0 && looked.lengths > 0);
        let readings = &device.opening().readings;
        if kept.is_err() {
            prop_assert!(readings.is_empty());
        } else {
            let mut readings = readings.iter();
            for (field, taken) in note.iter().zip(&looked.taken) {
                if let note::Taken::Length(figure) = taken {
                    let reading = readings.next().unwrap();
                    prop_assert_eq!((reading.place, reading.typed.text()), (field.place, field.text.trim()));
                    prop_assert_eq!(&reading.typed.marked_text(), &figure.text);
                }
            }
            prop_assert!(readings.next().is_none());
        }
    }
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
    assert_eq!(device.place(), Place::PlumbLeft);
    device.read(0, 0);
    device.act(&Event::ShowOpening { opening });
    let Shown::Opening { screen } = device.screen().shown else { panic!("the opening is not shown") };
    device.act(&screen.measure.event);
    assert_eq!(device.place(), Place::WidthTop, "nothing is in doubt: from the first");
}

impl Device {
    fn room(&self) -> &crate::house::Room {
        &self.house.as_ref().unwrap().job.rooms[0]
    }

    fn names(&self) -> Vec<&str> {
        self.room().openings.iter().map(|opening| opening.name.as_str()).collect()
    }

    fn choose(&mut self, on: Uuid, field: &str, value: &str) {
        self.act(&Event::Choose { on, field: field.to_owned(), value: Some(value.to_owned()) });
    }

    fn groups(&mut self, opening: Uuid) -> Vec<ChoiceGroup> {
        match self.act(&Event::ShowOpening { opening }).shown {
            Shown::Opening { screen } => screen.choices,
            other => panic!("the opening is not shown: {other:?}"),
        }
    }
}

#[test]
fn several_openings_are_named_at_once_and_another_is_like_this_one_but_for_its_readings() {
    let mut device = Device::at_a_window();
    let (room, first) = (device.room().id, device.opening().id);
    device.give(&format!("opening/{room}"), "Bay of three");
    assert_eq!(device.names(), ["Window", "Left window", "Centre window", "Right window"]);
    device.give(&format!("opening/{room}"), "2 windows");
    assert_eq!(device.names()[4..], ["Window 2", "Window 3"]);
    // One touch undoes what one touch did.
    device.act(&Event::Undo);
    assert_eq!(device.names().len(), 4);
    // A number with another word is a name.
    device.give(&format!("opening/{room}"), "2 over 2");
    assert_eq!(device.names()[4..], ["2 over 2"]);
    device.choose(first, "choices.mount", "outside");
    device.choose(first, "choices.style", "flat_ribbed");
    device.choose(first, "choices.finished_width", "40");
    device.choose(first, "choices.count", "2");
    device.choose(first, "wall.above", "wood");
    device.choose(first, "wall.studs", "4, 20");
    device.choose(first, "wall.no_sill", "true");
    device.act(&Event::GoTo { opening: first, place: Place::WidthTop });
    device.read(34, 6);
    let like = device.groups(first).into_iter().find(|group| group.field == "like.this").unwrap();
    device.act(&like.options[0].event.clone());
    assert_eq!(device.place(), Place::WidthTop, "and it is measured");
    let (one, other) = (device.opening().clone(), device.room().openings.last().unwrap().clone());
    assert_eq!(other.name, "Window 2");
    assert!(other.readings.is_empty() && other.wall.studs.is_empty());
    assert_eq!((other.choices.finished_width, other.choices.count.get()), (None, 1));
    assert_eq!((other.choices.mount, other.choices.style), (one.choices.mount, one.choices.style));
    assert_eq!((other.wall.above, other.wall.no_sill), (one.wall.above, true));
}

#[test]
fn every_group_of_choices_shows_one_as_chosen_and_only_what_may_be_none_offers_none() {
    let mut device = Device::at_a_window();
    let first = device.opening().id;
    let groups = device.groups(first);
    let fields: Vec<&ChoiceGroup> =
        groups.iter().filter(|group| group.field.starts_with("choices.") || group.field.starts_with("wall.")).collect();
    assert!(fields.len() > 15, "{fields:?}");
    for group in &fields {
        let chosen: Vec<&str> = group.options.iter().filter(|one| one.chosen).map(|one| one.label.as_str()).collect();
        // Where it is to hang nobody said yet, and advice is no choice.
        let said = usize::from(group.field != "choices.mount");
        assert_eq!(chosen.len(), said, "{}: {chosen:?}", group.title);
        let none = group.options.iter().any(|one| one.id.ends_with("_not_chosen"));
        let may_be_none = ["choices.attach", "choices.board", "choices.cloth"];
        assert_eq!(none, may_be_none.contains(&group.field.as_str()), "{}", group.title);
    }
    // A touch on a default that shows as chosen writes nothing either.
    let facts = device.facts.len();
    let defaults: Vec<Event> = fields
        .iter()
        .flat_map(|group| group.options.iter().filter(|one| one.chosen))
        .map(|one| one.event.clone())
        .collect();
    for event in defaults {
        device.act(&event);
        assert_eq!(device.screen().notice.unwrap().says, "It is so already.");
    }
    assert_eq!(device.facts.len(), facts);
}

#[test]
fn choices_are_given_to_the_room_in_one_touch_and_a_chosen_one_stays_chosen() {
    let mut device = Device::at_a_window();
    let (room, first) = (device.room().id, device.opening().id);
    device.give(&format!("opening/{room}"), "3 windows");
    device.choose(first, "choices.lining", "blackout");
    device.choose(first, "choices.dark", "true");
    assert_eq!(device.screen().notice.unwrap().says, "Light: kept out.");
    let facts = device.facts.len();
    device.choose(first, "choices.dark", "true");
    assert_eq!(device.screen().notice.unwrap().says, "It is so already.");
    assert_eq!(device.facts.len(), facts, "nothing is written twice");
    assert!(device.opening().choices.dark, "a touch on what is chosen leaves it chosen");
    let give = device.groups(first).into_iter().find(|group| group.field == "give.choices").unwrap();
    assert_eq!(give.options[0].label, "3 others in Kitchen");
    device.act(&give.options[0].event.clone());
    let all = |device: &Device| device.room().openings.iter().filter(|one| one.choices.dark).count();
    assert_eq!(all(&device), 4);
    assert!(!device.groups(first).iter().any(|group| group.field == "give.choices"), "all have them");
    device.act(&Event::Undo);
    assert_eq!(all(&device), 1);
}

#[test]
fn what_was_taken_out_comes_back_with_its_readings_after_a_thousand_acts() {
    let mut device = Device::at_a_window();
    let (room, opening) = (device.room().id, device.opening().id);
    device.read(34, 6);
    device.act(&Event::Remove { on: opening });
    device.act(&Event::Remove { on: room });
    device.give("room", "Study");
    let house = device.house.as_ref().unwrap().job.id;
    for n in 0..1000 {
        device.give(&format!("note/{house}"), &n.to_string());
    }
    let taken_out = |device: &mut Device| match device.act(&Event::ShowSettings).shown {
        Shown::Settings { screen } => screen.house.into_iter().find(|group| group.field == "removed"),
        other => panic!("{other:?}"),
    };
    let list = taken_out(&mut device).unwrap();
    // The opening was taken out before its room: it is in the list once the room is back.
    assert_eq!(list.options.iter().map(|one| one.label.as_str()).collect::<Vec<_>>(), ["Kitchen, 1 reading"]);
    device.act(&list.options[0].event.clone());
    let list = taken_out(&mut device).unwrap();
    assert_eq!(list.options[0].label, "Kitchen, Window, 1 reading");
    device.act(&list.options[0].event.clone());
    assert_eq!(taken_out(&mut device), None);
    assert_eq!(device.opening().standing(Place::WidthTop).count(), 1);
    device.act(&Event::Undo);
    assert!(device.room().openings.is_empty(), "bringing back is taken back too");
}

/// The options of the question that stands beside the pad, by their labels.
fn asks(device: &Device) -> (String, Vec<super::screen::Touch>) {
    match device.screen().shown {
        Shown::Reading { screen } => screen.ask.map(|ask| (ask.title, ask.options)).unwrap_or_default(),
        other => panic!("no place is read: {other:?}"),
    }
}

fn answer(device: &mut Device, label: &str) {
    let (title, options) = asks(device);
    let option = options.iter().find(|option| option.label == label);
    let event = option.unwrap_or_else(|| panic!("{label}: {title} {options:?}")).event.clone();
    device.act(&event);
}

#[test]
fn where_it_hangs_is_asked_first_and_what_is_needed_follows() {
    let mut device = Device::at_a_window();
    assert_eq!(asks(&device).0, "Where is it to hang?");
    // Nothing waits for the answer, and what is typed before it stays.
    device.type_in(&[PadKey::Digit(3)]);
    answer(&mut device, "Outside");
    assert_eq!((device.place(), device.typed().as_str()), (Place::WidthTop, "3"));
    device.type_in(&[PadKey::Digit(6)]);
    device.act(&Event::Accept);
    assert_eq!((device.place(), asks(&device).0.as_str()), (Place::HeightLeft, "Is there trim around it?"));
    answer(&mut device, "No trim");
    assert_eq!(device.screen().notice.map(|notice| notice.says).as_deref(), Some("Trim: none."));
    // Where it stops matters from the heights on.
    for place in [Place::WidthMiddle, Place::WidthBottom] {
        assert_eq!((device.place(), asks(&device).0.as_str()), (place, ""));
        device.read(36, 0);
    }
    assert_eq!((device.place(), asks(&device).0.as_str()), (Place::HeightLeft, "Where does it stop?"));
    answer(&mut device, "No sill: above the floor");
    assert_eq!(asks(&device).0, "");
    let says = device.screen().notice.map(|notice| notice.says);
    assert_eq!(says.as_deref(), Some("Sill: none. Where it stops: above the floor."));
    // Three widths, two heights, the wall, and down to the floor: no diagonal, no depth.
    let Shown::Reading { screen } = device.screen().shown else { panic!("no place is read") };
    assert_eq!((screen.opening_progress.done, screen.opening_progress.of), (3, 10));
}

#[test]
fn the_last_answer_of_the_house_is_the_quick_one_and_undecided_is_an_answer() {
    let mut device = Device::at_a_window();
    answer(&mut device, "Not decided");
    assert_eq!(device.screen().notice.map(|notice| notice.says).as_deref(), Some("Mount: not decided."));
    assert!(device.opening().choices.undecided);
    let room = device.house.as_ref().unwrap().job.rooms[0].id;
    device.give(&format!("opening/{room}"), "Door");
    let (_, options) = asks(&device);
    let labels: Vec<&str> = options.iter().map(|option| option.label.as_str()).collect();
    assert_eq!(labels, ["Not decided, as before", "Inside", "Outside"]);
    answer(&mut device, "Inside");
    device.give(&format!("opening/{room}"), "Window");
    assert_eq!(asks(&device).1[0].label, "Inside, as before");
}

#[test]
fn back_leads_to_where_the_reading_was_begun_from() {
    let mut device = Device::at_a_window();
    for _ in 0..4 {
        device.read(34, 6);
    }
    device.act(&Event::Back);
    assert!(matches!(device.screen().shown, Shown::House { .. }));
    let opening = device.opening().id;
    device.act(&Event::ShowOpening { opening });
    device.act(&Event::Measure { opening });
    device.read(58, 0);
    device.act(&Event::Back);
    assert!(matches!(device.screen().shown, Shown::Opening { .. }));
    device.act(&Event::Measure { opening });
    let house = device.screen().house.expect("a way to the house").event;
    device.act(&house);
    assert!(matches!(device.screen().shown, Shown::House { .. }));
    device.act(&Event::Back);
    assert!(matches!(device.screen().shown, Shown::Houses { .. }));
}

#[test]
fn what_a_device_types_with_its_unit_is_one_reading() {
    let mut device = Device::at_a_window();
    device.type_in(&[PadKey::Digit(8)]);
    device.give("reading", "0.873 m");
    assert_eq!(device.opening().readings.last().map(Reading::value), Some(crate::length::Length::mm(873)));
    assert_eq!((device.place(), device.typed().as_str()), (Place::WidthMiddle, ""));
    device.act(&Event::Later);
    device.give("reading", "rubbish m");
    let notice = device.screen().notice.expect("said why");
    assert!(notice.says.starts_with("Not kept: ") && !notice.kept, "{}", notice.says);
    device.give("reading", "-3 in");
    assert_eq!(device.opening().readings.len(), 1);
}

#[test]
fn rooms_and_openings_are_put_elsewhere() {
    let mut device = Device::at_a_window();
    let kitchen = device.house.as_ref().unwrap().job.rooms[0].id;
    for name in ["Door", "Hatch"] {
        device.give(&format!("opening/{kitchen}"), name);
    }
    device.give("room", "Study");
    let names = |device: &Device| -> Vec<(String, Vec<String>)> {
        let rooms = &device.house.as_ref().unwrap().job.rooms;
        let openings = |room: &crate::house::Room| room.openings.iter().map(|one| one.name.clone()).collect();
        rooms.iter().map(|room| (room.name.clone(), openings(room))).collect()
    };
    let rows = |device: &mut Device| {
        let house = device.house.as_ref().unwrap().job.id;
        device.act(&Event::ShowHouse { house });
        let Shown::House { screen } = device.screen().shown else { panic!("no house is shown") };
        screen.rooms
    };
    // The first has none before it.
    assert!(!rows(&mut device)[0].earlier.live && !rows(&mut device)[0].openings[0].earlier.live);
    // Many times over the same gap: the numbers between two run out and are counted anew.
    for _ in 0..120 {
        let last = rows(&mut device)[0].openings[2].earlier.event.clone();
        device.act(&last);
    }
    assert_eq!(names(&device)[0].1.len(), 3);
    let before = names(&device)[0].1.clone();
    let middle = rows(&mut device)[0].openings[1].earlier.event.clone();
    device.act(&middle);
    assert_eq!(names(&device)[0].1, [before[1].clone(), before[0].clone(), before[2].clone()]);
    device.act(&Event::Undo);
    assert_eq!(names(&device)[0].1, before);
    let study = rows(&mut device)[1].earlier.event.clone();
    device.act(&study);
    assert_eq!(names(&device)[0].0, "Study");
    // Into another room with all its readings.
    let opening = rows(&mut device)[1].openings[0].id;
    device.act(&Event::Measure { opening });
    device.read(34, 6);
    device.act(&Event::ShowOpening { opening });
    let Shown::Opening { screen } = device.screen().shown else { panic!("no opening is shown") };
    let group = screen.choices.iter().find(|group| group.field == "room").expect("another room");
    device.act(&group.options[0].event.clone());
    let rooms = &device.house.as_ref().unwrap().job.rooms;
    assert_eq!((rooms[0].openings.len(), rooms[1].openings.len()), (1, 2));
    assert_eq!(rooms[0].openings[0].readings.len(), 1);
    // No device calls that a disagreement.
    assert!(device.house.as_ref().unwrap().job.disagreements.is_empty());
}

#[test]
fn the_list_of_houses_is_narrowed_by_what_is_looked_for() {
    let line = |n: u128, name: &str, words: &str, away: bool, asked: u32| HouseLine {
        id: Uuid::from_u128(n),
        name: name.to_owned(),
        words: words.to_owned(),
        away,
        asked,
        ..HouseLine::default()
    };
    let lines = [
        line(1, "Larch House", "12 Mill Lane Study East", false, 0),
        line(2, "Elm Court", "Kitchen", true, 0),
        line(3, "Quay Flat", "3 Mill Wharf", false, 2),
    ];
    let world = World { houses: &lines, house: None, sync: SyncLine::default() };
    let shown = |walk: &Walk| match walk.screen(&world).shown {
        Shown::Houses { screen } => screen.rows.iter().map(|row| row.open.label.clone()).collect::<Vec<_>>(),
        other => panic!("{other:?}"),
    };
    let typed = |text: &str| {
        let event = Event::TypeWords { slot: "find".to_owned(), text: text.to_owned() };
        Walk::default().step(&event, &world, &mut || Moment { ms: 1, random: [0; 10] }).unwrap().walk
    };
    // What the workroom waits for stands first; what was put away is found by its words.
    assert_eq!(shown(&Walk::default()), ["Quay Flat", "Larch House"]);
    assert_eq!(shown(&typed("mill")), ["Quay Flat", "Larch House"]);
    assert_eq!(shown(&typed("study LANE")), ["Larch House"]);
    assert_eq!(shown(&typed("elm")), ["Elm Court"]);
    assert!(shown(&typed("elm lane")).is_empty());
}

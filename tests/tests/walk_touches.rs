//! Counts touches over the demo houses: every reading is keyed in on the walk's own screens, in the walk's own order,
//! and the house that results must hold the same lengths. Prints the mean and the worst beside a system keyboard.

use hangtrue_core::fact::{Fact, House, Moment, Pen, Stamp, fold};
use hangtrue_core::house::{Job, Opening, Place, Reading, file};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::walk::screen::{ReadingScreen, Screen, Shown};
use hangtrue_core::walk::{Event, HouseLine, PadKey, SyncLine, Walk, World};
use std::path::Path;
use uuid::Uuid;

/// A walk over facts in memory: what a store and a shell do, without either.
struct Device {
    walk: Walk,
    facts: Vec<Fact>,
    house: Option<House>,
    pen: Pen,
    now: u64,
}

impl Device {
    fn new() -> Self {
        let pen = Pen::new(Uuid::from_u128(7), Stamp::default());
        Self { walk: Walk::default(), facts: Vec::new(), house: None, pen, now: 1_760_000_000_000 }
    }

    fn screen(&self) -> Screen {
        let houses: &[HouseLine] = &[];
        self.walk.screen(&World { houses, house: self.house.as_ref(), sync: SyncLine::default() })
    }

    #[allow(clippy::needless_pass_by_value, reason = "an event is made for one act")]
    fn act(&mut self, event: Event) {
        let world = World { houses: &[], house: self.house.as_ref(), sync: SyncLine::default() };
        let now = &mut self.now;
        let step = self
            .walk
            .step(&event, &world, &mut || {
                *now += 1000;
                let mut random = [0; 10];
                random[2..].copy_from_slice(&now.to_be_bytes());
                Moment { ms: *now, random }
            })
            .unwrap_or_else(|refused| panic!("{event:?}: {refused}"));
        for write in step.writes {
            self.facts.push(self.pen.write(write.moment, write.house, "", write.unit, &write.body));
            self.house = fold(&self.facts);
        }
        self.walk = step.walk;
    }

    fn give(&mut self, slot: &str, text: &str) {
        self.act(Event::GiveWords { slot: slot.to_owned(), text: text.to_owned() });
    }

    fn reading(&self) -> Option<ReadingScreen> {
        match self.screen().shown {
            Shown::Reading { screen } => Some(screen),
            _ => None,
        }
    }

    /// Touches a live key of the screen that stands for `key`; panics when the screen has none.
    fn press(&mut self, key: PadKey) {
        let screen = self.reading().expect("a place is read");
        let event = Event::Press { key };
        let keys = screen.digits.iter().chain(&screen.quick).chain(&screen.edit);
        let touch = keys.into_iter().find(|touch| touch.event == event).expect("the screen has the key");
        assert!(touch.live, "{} is not live after \"{}\"", touch.id, screen.typed);
        self.act(event);
    }
}

/// The fewest keys for a length on a pad of `unit`; nothing where the pad cannot say it (1/32 in, 0.01 mm).
fn keys(length: Length, unit: LengthUnit) -> Option<Vec<PadKey>> {
    let size = length.abs();
    let mut keys = if length.is_negative() { vec![PadKey::Sign] } else { Vec::new() };
    let digits = |n: i64| n.to_string().bytes().map(|b| PadKey::Digit(b - b'0')).collect::<Vec<_>>();
    if unit == LengthUnit::Inch {
        let whole = size.count_down(Length::whole_inches(1))?;
        let rest = size - Length::whole_inches(whole);
        let sixteenths = rest.count_down(Length::inches(1, 16))?;
        if Length::inches(sixteenths, 16) != rest {
            return None;
        }
        if whole > 0 || sixteenths == 0 {
            keys.extend(digits(whole));
        }
        if sixteenths > 0 {
            keys.push(PadKey::Sixteenths(u8::try_from(sixteenths).ok()?));
        }
    } else {
        let tenths = size.count_down(Length::from_nm(100_000))?;
        if Length::from_nm(tenths * 100_000) != size {
            return None;
        }
        let whole = tenths / 10;
        match u8::try_from(whole / 100) {
            Ok(pair) if (10..=24).contains(&pair) && whole < 10_000 => {
                keys.push(PadKey::Pair(pair));
                let rest = whole % 100;
                keys.push(PadKey::Digit(u8::try_from(rest / 10).ok()?));
                keys.push(PadKey::Digit(u8::try_from(rest % 10).ok()?));
            }
            _ => keys.extend(digits(whole)),
        }
        if tenths % 10 > 0 {
            keys.push(PadKey::Point);
            keys.push(PadKey::Digit(u8::try_from(tenths % 10).ok()?));
        }
    }
    Some(keys)
}

#[derive(Default)]
struct Count {
    touches: Vec<usize>,
    keyboard: Vec<usize>,
    sevens: Vec<usize>,
    finer: usize,
}

const SEVEN: [Place; 7] = [
    Place::WidthTop,
    Place::WidthMiddle,
    Place::WidthBottom,
    Place::HeightLeft,
    Place::HeightRight,
    Place::DiagonalRising,
    Place::DiagonalFalling,
];

fn first(opening: &Opening, place: Place) -> Option<&Reading> {
    opening.standing(place).next()
}

/// Keys in one opening, the walk leading; checks that what was read is what stands.
fn key_in(device: &mut Device, job: &Job, opening: &Opening, count: &mut Count) {
    let room = device.house.as_ref().unwrap().job.rooms.last().unwrap().id;
    device.give(&format!("opening/{room}"), &opening.name);
    let unit = if job.unit.is_imperial() { LengthUnit::Inch } else { LengthUnit::Millimetre };
    let mut seven = Some(0);
    let mut asked = 0;
    while let Some(screen) = device.reading() {
        asked += 1;
        assert!(asked < 60, "the walk asks without end at {}", opening.name);
        let place = Place::from_code(&screen.place).unwrap();
        let reading = first(opening, place);
        let typed = reading.and_then(|reading| keys(reading.value(), unit).map(|keys| (reading, keys)));
        let Some((reading, keys)) = typed else {
            count.finer += usize::from(reading.is_some());
            if SEVEN.contains(&place) {
                seven = None;
            }
            device.act(Event::Later);
            continue;
        };
        let touches = keys.len() + 1;
        for key in keys {
            device.press(key);
        }
        let screen = device.reading().unwrap();
        assert!(screen.accept.live);
        device.act(screen.accept.event);
        let again = device.house.as_ref().unwrap().job.openings().last().unwrap().1.standing(place).count();
        if again > 1 {
            // The walk led here once more because of a doubt: those touches are the doubt's.
            continue;
        }
        let stands = device.house.as_ref().unwrap().job.openings().last().unwrap().1;
        assert_eq!(first(stands, place).unwrap().value(), reading.value(), "{} {}", opening.name, place.words());
        count.touches.push(touches);
        // On a system keyboard: each character, and "next". Its change of layouts is not counted against it.
        count.keyboard.push(reading.value().show(unit).chars().count() + 1);
        if SEVEN.contains(&place) {
            seven = seven.map(|sum| sum + touches);
        }
    }
    count.sevens.extend(seven);
}

#[allow(clippy::cast_precision_loss, reason = "a few hundred touches")]
fn mean(all: &[usize]) -> f64 {
    all.iter().sum::<usize>() as f64 / all.len() as f64
}

#[test]
fn a_reading_takes_four_touches_or_fewer_and_seven_take_thirty() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().join("fixtures/houses");
    let mut houses: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    houses.sort();
    let mut all = Count::default();
    println!("| house | readings | touches, mean | worst | system keyboard, mean | worst | seven readings, worst |");
    println!("|---|---|---|---|---|---|---|");
    for path in houses.iter().filter(|path| path.extension().is_some_and(|ending| ending == "json")) {
        let job = file::read(&std::fs::read_to_string(path).unwrap()).unwrap();
        let mut count = Count::default();
        let mut device = Device::new();
        device.give(if job.unit.is_imperial() { "house/in" } else { "house/mm" }, &job.name);
        for room in &job.rooms {
            device.act(Event::ShowHouse { house: device.walk.house().unwrap() });
            device.give("room", &room.name);
            for opening in &room.openings {
                key_in(&mut device, &job, opening, &mut count);
            }
        }
        println!(
            "| {} | {} | {:.2} | {} | {:.2} | {} | {} |",
            job.name,
            count.touches.len(),
            mean(&count.touches),
            count.touches.iter().max().unwrap(),
            mean(&count.keyboard),
            count.keyboard.iter().max().unwrap(),
            count.sevens.iter().max().map_or("none has all seven".to_owned(), ToString::to_string),
        );
        assert!(mean(&count.touches) <= 4.0, "{}: {:.2} touches a reading", job.name, mean(&count.touches));
        assert!(count.sevens.iter().all(|seven| *seven <= 30), "{}: {:?} for seven readings", job.name, count.sevens);
        all.finer += count.finer;
        all.touches.extend(count.touches);
        all.sevens.extend(count.sevens);
    }
    println!("all: {:.2} touches a reading; {} finer than the pad's keys were left out", mean(&all.touches), all.finer);
    assert!(all.touches.len() > 50 && !all.sevens.is_empty(), "the demo houses hold too little to count");
}

/// Touches of a whole bay, each on what its screen shows: the names, where the first is to hang, its choices given to the
/// room, and nine readings a window (seven, depth and a plumb).
#[test]
fn ten_windows_of_a_bay_take_370_touches_with_their_choices() {
    let mut device = Device::new();
    device.give("house/in", "Larch House");
    device.give("room", "Study");
    let room = device.house.as_ref().unwrap().job.rooms[0].id;
    let mut touches = 0;
    // The words are typed letter by letter, and kept.
    let words = "10 windows";
    touches += words.len() + 1;
    device.give(&format!("opening/{room}"), words);
    let asked = device.reading().unwrap().ask.expect("where it is to hang is asked");
    touches += 1;
    device.act(asked.options.iter().find(|option| option.label == "Inside").unwrap().event.clone());
    let result = device.reading().unwrap().result.event;
    touches += 1;
    device.act(result);
    for (field, value) in [("choices.lining", "blackout"), ("choices.lift", "chain_loop"), ("wall.head", "wood")] {
        touches += 1;
        device.act(chosen(&device, field, value));
    }
    touches += 1;
    device.act(given_to_the_room(&device));
    let mut each = Vec::new();
    for nth in 0..10_i64 {
        let before = touches;
        let Shown::Opening { screen } = device.screen().shown else { panic!("an opening is shown") };
        let on = if nth == 0 { Some(screen.measure) } else { screen.next };
        touches += 1;
        device.act(on.expect("another window").event);
        let wide = 574 + nth % 3;
        let mut read = 0;
        while let Some(screen) = device.reading() {
            assert!(screen.ask.is_none(), "{:?}", screen.ask);
            let sixteenths = match Place::from_code(&screen.place).unwrap() {
                place if place.is_width() => wide,
                place if place.is_height() => 964,
                // The square root of 574² + 964², of 575² and 576²: 1121.96, 1122.47, 1122.98.
                place if place.is_diagonal() => [1122, 1122, 1123][usize::try_from(nth % 3).unwrap()],
                Place::Depth => 56,
                Place::PlumbLeft => 0,
                other => panic!("{} is asked for", other.words()),
            };
            let keys = keys(Length::inches(sixteenths, 16), LengthUnit::Inch).unwrap();
            touches += keys.len() + 1;
            for key in keys {
                device.press(key);
            }
            device.act(device.reading().unwrap().accept.event);
            read += 1;
        }
        assert_eq!(read, 9, "seven readings, depth and one plumb");
        each.push(touches - before);
    }
    println!(
        "a window of the bay: {:?} touches; all ten with names and choices: {touches}",
        each.iter().max().unwrap()
    );
    assert!(each.iter().all(|one| *one <= 36), "{each:?}");
    assert!(touches <= 370, "{touches}");
    let job = &device.house.as_ref().unwrap().job;
    let lining = hangtrue_core::house::Lining::Blackout;
    assert!(job.openings().all(|(_, opening)| opening.choices.lining == lining && opening.readings.len() == 9));
}

fn option_of(device: &Device, is_it: impl Fn(&str, &str) -> bool) -> Event {
    let Shown::Opening { screen } = device.screen().shown else { panic!("an opening is shown") };
    let mut all = screen.choices.iter().flat_map(|group| group.options.iter().map(|option| (&group.field, option)));
    all.find(|(field, option)| is_it(field, &option.id)).expect("the screen has it").1.event.clone()
}

fn chosen(device: &Device, field: &str, value: &str) -> Event {
    option_of(device, |_, id| id == format!("{field}_{value}"))
}

fn given_to_the_room(device: &Device) -> Event {
    option_of(device, |field, id| field == "give.choices" && id == "give_room")
}

//! Where an opening stands: nothing unsettled is on a cutting list, an answer holds until a reading that it rests on
//! changes, a size set by hand reaches every cut, and a chosen mount never becomes another. Houses are invented; sums are
//! this file's own.

use hangtrue_core::buying::Shop;
use hangtrue_core::fact::{Body, Fact, House, Moment, Pen, Stamp, changes, fold};
use hangtrue_core::flag::{Flag, Severity};
use hangtrue_core::house::{Decision, Job, Opening, Place, Reading, Withdrawn, file};
use hangtrue_core::length::{Length, LengthUnit, Typed};
use hangtrue_core::makeup::{Part, StickUse};
use hangtrue_core::mount::{Catalogue, Form};
use hangtrue_core::stand::{Cause, Stand, closed_by};
use hangtrue_core::walk::{Event, HouseLine, SyncLine, Walk, World};
use hangtrue_core::work::{self, Worked, WorkedHouse};
use hangtrue_core::{sheet, stand};
use proptest::prelude::*;
use serde_json::{Value, json};
use uuid::Uuid;

const IN: LengthUnit = LengthUnit::Inch;

fn id(n: u32) -> String {
    format!("0192a3b4-0000-7000-8000-{n:012}")
}

/// One opening as a job file has it.
fn opening(n: u32, name: &str, readings: &[(&str, &str)], more: &Value) -> Value {
    let readings: Vec<Value> = readings
        .iter()
        .zip(n * 1000 + 1..)
        .map(|((place, read), n)| json!({"id": id(n), "place": place, "read": read, "at": "2026-05-04T09:12:00Z"}))
        .collect();
    let mut all = json!({"id": id(n * 1000), "name": name, "readings": readings});
    for (field, value) in more.as_object().into_iter().flatten() {
        all[field] = value.clone();
    }
    all
}

/// A house of one room.
fn house(openings: &[Value]) -> Job {
    let text = json!({
        "hangtrue_job": 1, "id": id(1), "name": "Larch House", "unit": "in",
        "cloths": [{"name": "Reed", "width": "54", "weight_gsm": 240}, {"name": "Fern", "width": "54", "repeat": "25 1/4"}],
        "rooms": [{"id": id(2), "name": "Study", "openings": openings}],
    });
    file::read(&text.to_string()).unwrap()
}

fn worked(job: &Job) -> WorkedHouse<'_> {
    work::house(job, Catalogue::standard(job.unit)).unwrap()
}

/// A square opening, 36 x 60, 3 deep.
const SQUARE: [(&str, &str); 8] = [
    ("width_top", "36"),
    ("width_middle", "36"),
    ("width_bottom", "36"),
    ("height_left", "60"),
    ("height_right", "60"),
    ("diagonal_rising", "69 15/16"),
    ("diagonal_falling", "69 15/16"),
    ("depth", "3"),
];

/// The same with trim all round.
fn trimmed() -> Vec<(&'static str, &'static str)> {
    let mut all = SQUARE.to_vec();
    all.extend([
        ("trim_width", "41"),
        ("trim_height", "62 1/2"),
        ("trim_leg", "2 1/2"),
        ("trim_thickness", "1/2"),
        ("sill_to_floor", "30"),
        ("wall_above", "9"),
        ("wall_left", "6"),
        ("wall_right", "6"),
    ]);
    all
}

fn with(base: &[(&'static str, &'static str)], place: &str, read: &'static str) -> Vec<(&'static str, &'static str)> {
    base.iter().map(|(at, was)| (*at, if *at == place { read } else { *was })).collect()
}

fn settled() -> Value {
    json!({"wall": {"head": "wood"}, "choices": {"mount": "inside", "cloth": "Reed"}})
}

fn first<'a>(house: &'a WorkedHouse<'_>) -> &'a Worked<'a> {
    &house.openings[0]
}

#[test]
fn a_square_opening_with_all_read_is_settled() {
    let job = house(&[opening(1, "North", &SQUARE, &settled())]);
    let house = worked(&job);
    assert_eq!(first(&house).stand(), Stand::Settled, "{:?}", first(&house).standing);
    assert_eq!((first(&house).stop_cutting(), first(&house).stop_hanging()), (None, None));
}

#[test]
fn a_reading_in_doubt_puts_a_bar_across_the_making_sheet() {
    // An inch slipped at the middle width.
    let job = house(&[opening(1, "North", &with(&SQUARE, "width_middle", "35"), &settled())]);
    let house = worked(&job);
    assert_eq!(first(&house).stand(), Stand::ReadAgain);
    assert_eq!(first(&house).stop_cutting().unwrap(), "Do not cut: the middle width is to be read again.");
    let heading = sheet::Heading { job: &job, unit: job.unit, day: "2026-05-04" };
    let making = sheet::making(&heading, first(&house), None).unwrap().into_string();
    let bar = making.split("<div class=\"stop\">").nth(1).unwrap().split("</div>").next().unwrap();
    assert!(bar.contains("<b>Do not cut</b>") && bar.contains("The middle width is to be read again."), "{bar}");
    let summary = sheet::summary(&heading, &house).into_string();
    assert!(summary.contains("to read again"), "{summary}");
}

#[test]
fn a_wall_that_is_not_probed_holds_the_hanging_and_not_the_cutting() {
    let choices = json!({"choices": {"mount": "inside", "cloth": "Reed"}});
    let job = house(&[opening(1, "North", &SQUARE, &choices)]);
    let house = worked(&job);
    assert_eq!(first(&house).stand(), Stand::Settled);
    assert_eq!(first(&house).stop_cutting(), None);
    assert!(first(&house).stop_hanging().unwrap().contains("behind the head"));
    let heading = sheet::Heading { job: &job, unit: job.unit, day: "2026-05-04" };
    let making = sheet::making(&heading, first(&house), None).unwrap().into_string();
    let hanging = sheet::hanging(&heading, first(&house)).into_string();
    assert!(!making.contains("class=\"stop\"") && hanging.contains("class=\"stop\""));
    assert_eq!(work::plans(&house, Shop::standard(IN)).left_out, []);
}

#[test]
fn nothing_read_and_something_not_read_are_not_measured() {
    let job = house(&[
        opening(1, "North", &[], &settled()),
        opening(2, "East", &SQUARE[..7], &settled()),
        opening(3, "West", &SQUARE, &json!({"choices": {"mount": "outside"}})),
    ]);
    let house = worked(&job);
    let stops: Vec<String> = house.openings.iter().map(|one| one.stop_cutting().unwrap()).collect();
    assert!(house.openings.iter().all(|one| one.stand() == Stand::NotMeasured), "{stops:?}");
    assert_eq!(stops[0], "Do not cut: nothing is measured yet.");
    assert!(stops[1].contains("the depth is not measured yet"), "{stops:?}");
    assert!(stops[2].contains("the trim width is not measured yet"), "{stops:?}");
}

#[test]
fn a_chosen_mount_that_cannot_be_has_no_size_and_says_what_would_work() {
    // A handle of 1 1/2 in under a 1x2 flush on the wall, which holds the fabric 3/4 in off.
    let mut readings = trimmed();
    readings.push(("proud_most", "1 1/2"));
    let chosen = json!({"choices": {"mount": "outside", "attach": "flush", "board": "1x2", "cloth": "Reed"}});
    let job = house(&[opening(1, "North", &readings, &chosen)]);
    let all = worked(&job);
    let one = first(&all);
    assert_eq!((one.mounts.advised, one.shade.is_none(), one.stand()), (None, true, Stand::Decide));
    assert_eq!(one.standing.reasons[0].cause, Cause::Mount);
    assert!(one.mounts.because.contains("chosen and cannot be"), "{}", one.mounts.because);
    let words: Vec<&str> = one.offers.iter().map(|offer| offer.words.as_str()).collect();
    assert!(words.iter().any(|words| words.contains("on brackets")), "{words:?}");
    assert!(words.iter().any(|words| words.starts_with("Fixed on the flat trim")) || words.len() > 1, "{words:?}");
    let heading = sheet::Heading { job: &job, unit: job.unit, day: "2026-05-04" };
    let hanging = sheet::hanging(&heading, one).into_string();
    assert!(hanging.contains("What would work") && hanging.contains("Do not hang"), "{hanging}");
    assert!(sheet::making(&heading, one, None).is_none());
    // One touch each: after it the shade has the size that was offered.
    let mut desk = Desk::of(&job);
    let event = desk.option("offer.mount", 0);
    desk.act(event);
    let house = worked(&desk.house.job);
    let offered = &one.offers[0];
    let mounting = first(&house).mounts.advised().unwrap();
    assert_eq!(
        (mounting.width.total, mounting.length.total, mounting.form),
        (offered.width, offered.length, offered.form)
    );
    desk.act(Event::Undo);
    assert_eq!(first(&worked(&desk.house.job)).stand(), Stand::Decide);
}

#[test]
fn a_shade_too_heavy_for_its_lift_is_to_decide() {
    // 10 ft by 10 ft, interlined, in 240 g/m2: above the 12 lbf of the heaviest spring lift in the catalogue.
    let readings = [
        ("width_top", "120"),
        ("width_middle", "120"),
        ("width_bottom", "120"),
        ("height_left", "120"),
        ("height_right", "120"),
        ("diagonal_rising", "169 11/16"),
        ("diagonal_falling", "169 11/16"),
        ("depth", "4"),
    ];
    let mut heavy = settled();
    heavy["choices"]["interlined"] = json!(true);
    heavy["choices"]["lining"] = json!("blackout");
    let job = house(&[opening(1, "North", &readings, &heavy)]);
    let house = worked(&job);
    let reasons = &first(&house).standing.reasons;
    assert!(reasons.iter().any(|reason| reason.cause == Cause::Lift && reason.stand == Stand::Decide), "{reasons:?}");
}

// ---- Sets ----

/// The diagonal of a rectangle, to the nearest whole: in whole numbers, by this file's own root.
fn across(wide: i64, high: i64) -> i64 {
    let square = wide * wide + high * high;
    let root = square.isqrt();
    if square - root * root > root { root + 1 } else { root }
}

fn bay(lengths: [&'static str; 3]) -> Job {
    let all: Vec<Value> = ["Bay left", "Bay centre", "Bay right"]
        .iter()
        .zip(lengths)
        .zip(1..)
        .map(|((name, high), n)| {
            let sixteenths = Length::parse(high, IN).unwrap().count_down(Length::inches(1, 16)).unwrap();
            let diagonal = &*Length::inches(across(36 * 16, sixteenths), 16).show(IN).leak();
            let readings: Vec<(&str, &str)> = SQUARE
                .iter()
                .map(|(place, read)| match *place {
                    "height_left" | "height_right" => (*place, high),
                    "diagonal_rising" | "diagonal_falling" => (*place, diagonal),
                    _ => (*place, *read),
                })
                .collect();
            opening(n, name, &readings, &settled())
        })
        .collect();
    house(&all)
}

#[test]
fn a_bay_of_three_is_one_question_and_one_touch_makes_its_lines_meet() {
    let job = bay(["60", "60 1/4", "59 7/8"]);
    let all = worked(&job);
    assert_eq!(all.questions().count(), 1);
    assert!(all.openings.iter().all(|one| one.stand() == Stand::Decide));
    let mut desk = Desk::of(&job);
    let event = desk.option_of("decide.set_differs.", "set_one_length");
    desk.act(event);
    let all = worked(&desk.house.job);
    assert_eq!(all.questions().count(), 0);
    let made: Vec<_> = all.openings.iter().map(|one| one.shade.as_ref().unwrap().makeup.as_ref().unwrap()).collect();
    // The shortest height, 59 7/8, less 1/4.
    assert!(made.iter().all(|made| made.length == Length::inches(477, 8)), "{:?}", made[0].length);
    let rows = |at: usize| made[at].grid.rows.iter().map(|row| row.from_head.exact).collect::<Vec<_>>();
    assert_eq!((rows(0), rows(0)), (rows(1), rows(2)), "fold lines meet");
    assert!(all.openings.iter().all(|one| one.stand() == Stand::Settled), "{:?}", all.openings[1].standing);
    // Undone together.
    desk.act(Event::Undo);
    assert_eq!(desk.house.job, { Desk::of(&job).house.job });
}

#[test]
fn a_set_stands_where_its_worst_member_stands_unless_it_is_left_as_it_is() {
    let mut job = bay(["60", "60", "60"]);
    assert!(worked(&job).openings.iter().all(|one| one.stand() == Stand::Settled));
    let ask =
        json!({"id": id(99), "places": ["width_top"], "why": "an inch?", "at": "2026-05-05T09:12:00Z", "by": "desk"});
    job.rooms[0].openings[1].asks.push(serde_json::from_value(ask).unwrap());
    let all = worked(&job);
    assert!(all.openings.iter().all(|one| one.stand() == Stand::ReadAgain));
    assert_eq!(
        all.openings[0].stop_cutting().unwrap(),
        "Do not cut: it hangs together with Bay centre, which is to be read again."
    );
    let plans = work::plans(&all, Shop::standard(IN));
    assert!(plans.cut.cloths.is_empty() && plans.cut.sticks.is_empty());

    // Left as they are, each stands for itself.
    let mut job = bay(["60", "60 1/4", "60"]);
    job.rooms[0].openings[1].asks.push(
        serde_json::from_value(
            json!({"id": id(99), "places": ["width_top"], "why": "?", "at": "2026-05-05T09:12:00Z", "by": ""}),
        )
        .unwrap(),
    );
    let mut desk = Desk::of(&job);
    let event = desk.option_of("decide.set_differs.", "decide.set_differs._as_they_are");
    desk.act(event);
    let all = worked(&desk.house.job);
    let stands: Vec<Stand> = all.openings.iter().map(Worked::stand).collect();
    assert_eq!(stands, [Stand::Settled, Stand::ReadAgain, Stand::Settled]);
}

#[test]
fn shades_are_hung_at_one_height_in_one_touch() {
    let outside =
        json!({"wall": {"above": "wood"}, "choices": {"mount": "outside", "attach": "flush", "cloth": "Reed"}});
    let low = with(&with(&trimmed(), "sill_to_floor", "29 3/4"), "trim_height", "62 1/2");
    let job = house(&[opening(1, "Left", &trimmed(), &outside), opening(2, "Right", &low, &outside)]);
    assert_eq!(worked(&job).questions().count(), 1);
    let mut desk = Desk::of(&job);
    let event = desk.option_of("decide.set_differs.", "set_one_length_one_height");
    // The lengths agree already, so there is no such touch: the height alone.
    assert!(event.is_none());
    let event = desk.option_of("decide.set_differs.", "set_one_height").unwrap();
    desk.act(event);
    let all = worked(&desk.house.job);
    let head = |at: usize| {
        let one = &all.openings[at];
        let floor = one.opening.standing(Place::SillToFloor).last().unwrap().value();
        floor + one.mounts.advised().unwrap().above_sill
    };
    // 30 + 62 1/2 + 1 1/2 = 94.
    assert_eq!((head(0), head(1)), (Length::inches(94, 1), Length::inches(94, 1)));
}

// ---- Answers ----

/// A house in facts, with a walk over it: what a touch writes is folded at once.
struct Desk {
    facts: Vec<Fact>,
    house: House,
    walk: Walk,
    pen: Pen,
    clock: u64,
}

impl Desk {
    fn of(job: &Job) -> Self {
        let pen = Pen::new(Uuid::from_u128(7), Stamp::default());
        let mut desk = Self {
            facts: Vec::new(),
            house: House::empty(job.clone()),
            walk: Walk::default(),
            pen,
            clock: 1_800_000_000_000,
        };
        for body in changes(None, job) {
            desk.write(&body);
        }
        desk.walk_to(&Event::ShowHouse { house: job.id });
        desk.walk_to(&Event::GiveWords { slot: "by".to_owned(), text: "Ida".to_owned() });
        desk
    }

    fn moment(clock: &mut u64) -> Moment {
        *clock += 1000;
        let mut random = [0; 10];
        random[2..].copy_from_slice(&clock.to_be_bytes());
        Moment { ms: *clock, random }
    }

    fn write(&mut self, body: &Body) -> Uuid {
        let moment = Self::moment(&mut self.clock);
        let fact = self.pen.write(moment, self.house.job.id, "Ida", self.house.job.unit, body);
        self.facts.push(fact);
        self.house = fold(&self.facts).unwrap();
        self.facts.last().unwrap().id
    }

    fn walk_to(&mut self, event: &Event) {
        self.act(Some(event.clone()));
    }

    fn act(&mut self, event: impl Into<Option<Event>>) {
        let event: Event = event.into().expect("the touch is there");
        let lines = [HouseLine { id: self.house.job.id, ..HouseLine::default() }];
        let world = World { houses: &lines, house: Some(&self.house), sync: SyncLine::default() };
        let clock = &mut self.clock;
        let step = self.walk.step(&event, &world, &mut || Self::moment(clock)).unwrap();
        self.walk = step.walk;
        for write in step.writes {
            let (job, unit) = (write.house, write.unit);
            self.facts.push(self.pen.write(write.moment, job, "Ida", unit, &write.body));
        }
        self.house = fold(&self.facts).unwrap();
    }

    fn groups(&mut self) -> Vec<hangtrue_core::walk::screen::ChoiceGroup> {
        let first = self.house.job.rooms[0].openings[0].id;
        self.walk_to(&Event::ShowOpening { opening: first });
        let lines = [HouseLine { id: self.house.job.id, ..HouseLine::default() }];
        let world = World { houses: &lines, house: Some(&self.house), sync: SyncLine::default() };
        match self.walk.screen(&world).shown {
            hangtrue_core::walk::screen::Shown::Opening { screen } => screen.choices,
            other => panic!("{other:?}"),
        }
    }

    fn leaving(&mut self) -> hangtrue_core::walk::screen::Leaving {
        self.walk_to(&Event::ShowLeaving);
        let lines = [HouseLine { id: self.house.job.id, ..HouseLine::default() }];
        let world = World { houses: &lines, house: Some(&self.house), sync: SyncLine::default() };
        match self.walk.screen(&world).shown {
            hangtrue_core::walk::screen::Shown::Leaving { screen } => screen,
            other => panic!("{other:?}"),
        }
    }

    fn option(&mut self, field: &str, at: usize) -> Option<Event> {
        let groups = self.groups();
        let group = groups.iter().find(|group| group.field == field)?;
        group.options.get(at).map(|option| option.event.clone())
    }

    fn option_of(&mut self, field: &str, touch: &str) -> Option<Event> {
        let groups = self.groups();
        let group = groups.iter().find(|group| group.field == field)?;
        group.options.iter().find(|option| option.id == touch).map(|option| option.event.clone())
    }

    fn opening(&self) -> &Opening {
        &self.house.job.rooms[0].openings[0]
    }
}

/// A shallow opening, whose board stands proud: a question about the depth alone.
fn shallow() -> Job {
    house(&[opening(1, "North", &with(&SQUARE, "depth", "1"), &settled())])
}

fn proud(opening: &Opening, job: &Job) -> Flag {
    let house = worked(job);
    let one = house.opening(opening.id).unwrap();
    one.flags().into_iter().find(|flag| flag.code == "stands_proud").unwrap().clone()
}

#[test]
fn a_question_is_answered_with_who_when_and_why_and_asked_again() {
    let mut desk = Desk::of(&shallow());
    assert_eq!(first(&worked(&desk.house.job)).stand(), Stand::Decide);
    let slot = format!("decide/{}/stands_proud/depth", desk.opening().id);
    desk.act(Event::GiveWords { slot, text: "the client has seen it".to_owned() });
    let given: &Decision = desk.opening().decisions.last().unwrap();
    assert_eq!(
        (given.by.as_str(), given.why.as_str(), given.flag.as_str()),
        ("Ida", "the client has seen it", "stands_proud")
    );
    assert_eq!(given.readings.len(), 1);
    assert_eq!(first(&worked(&desk.house.job)).stand(), Stand::Settled);
    // A job file carries it.
    let text = file::write(&desk.house.job);
    assert_eq!(first(&worked(&file::read(&text).unwrap())).stand(), Stand::Settled);
    let again = desk.option_of("decide.stands_proud.depth", "decide.stands_proud.depth_again").unwrap();
    desk.act(again);
    assert_eq!(first(&worked(&desk.house.job)).stand(), Stand::Decide);
    desk.act(Event::Undo);
    assert_eq!(first(&worked(&desk.house.job)).stand(), Stand::Settled);
}

#[test]
fn an_answer_to_one_figure_is_none_to_another() {
    let mut desk = Desk::of(&shallow());
    let opening = desk.opening().id;
    let places = vec![Place::Depth];
    desk.act(Event::Decide { opening, flag: "stands_proud".to_owned(), places, why: "seen".to_owned() });
    assert_eq!(first(&worked(&desk.house.job)).stand(), Stand::Settled);
    // A wider board stands an inch more proud: nobody said that this is well.
    desk.act(Event::Choose { on: opening, field: "choices.board".to_owned(), value: Some("1x3".to_owned()) });
    assert_eq!(first(&worked(&desk.house.job)).stand(), Stand::Decide);
}

#[test]
fn words_do_not_settle_a_reading_in_doubt_until_it_was_read_twice() {
    let job = house(&[opening(1, "North", &with(&SQUARE, "width_middle", "35"), &settled())]);
    let house = worked(&job);
    let flag = first(&house).flags().into_iter().find(|flag| flag.severity == Severity::TakeAgain).unwrap().clone();
    assert!(!stand::can_be_answered(first(&house).opening, &flag));
    let mut desk = Desk::of(&job);
    let opening = desk.opening().id;
    let event =
        Event::Decide { opening, flag: flag.code.clone(), places: flag.places.clone(), why: "sure of it".to_owned() };
    let lines = [HouseLine { id: desk.house.job.id, ..HouseLine::default() }];
    let world = World { houses: &lines, house: Some(&desk.house), sync: SyncLine::default() };
    let refused = desk.walk.step(&event, &world, &mut || panic_moment());
    assert!(refused.is_err());
    // Read again, and the same: now a person may say that it is so.
    let again = reading(&mut desk, Place::WidthMiddle, "35", None);
    desk.write(&again);
    let house = worked(&desk.house.job);
    let doubt = first(&house).flags().into_iter().find(|flag| flag.severity == Severity::TakeAgain).cloned();
    if let Some(flag) = doubt.filter(|flag| flag.places == [Place::WidthMiddle]) {
        assert!(stand::can_be_answered(first(&house).opening, &flag));
    }
}

fn panic_moment() -> Moment {
    Moment { ms: 1, random: [0; 10] }
}

fn reading(desk: &mut Desk, place: Place, text: &str, amends: Option<Uuid>) -> Body {
    let moment = Desk::moment(&mut desk.clock);
    Body::ReadingTaken {
        opening: desk.opening().id,
        reading: Reading {
            id: moment.uuid(),
            place,
            typed: Typed::read(text, IN).unwrap(),
            at: moment.time(),
            by: "Bo".to_owned(),
            with: String::new(),
            amends,
            answers: None,
            withdrawn: None,
        },
    }
}

// ---- Two plans ----

#[test]
fn buying_takes_unsettled_room_mates_of_the_same_cloth_and_shows_what_they_add() {
    let shorter = with(
        &with(
            &with(&with(&with(&SQUARE, "height_left", "40"), "height_right", "40"), "diagonal_rising", "53 13/16"),
            "diagonal_falling",
            "53 13/16",
        ),
        "depth",
        "1",
    );
    let mut other = settled();
    other["choices"]["cloth"] = json!("Fern");
    let job = house(&[
        opening(1, "North", &SQUARE, &settled()),
        opening(2, "East", &shorter, &settled()),
        opening(3, "West", &shorter, &other),
    ]);
    let house = worked(&job);
    let stands: Vec<Stand> = house.openings.iter().map(Worked::stand).collect();
    assert_eq!(stands, [Stand::Settled, Stand::Decide, Stand::Decide]);
    let plans = work::plans(&house, Shop::standard(IN));
    assert_eq!(plans.mates, ["Study, East"]);
    let bought = |buying: &hangtrue_core::buying::Buying| -> Vec<String> {
        let names = buying.cloths.iter().filter(|plan| plan.bolt.name == "Reed").flat_map(|plan| &plan.wants);
        names.map(|want| want.name.clone()).collect()
    };
    assert!(bought(&plans.cut).iter().all(|name| name.starts_with("Study, North")));
    assert!(bought(plans.buy()).iter().any(|name| name.starts_with("Study, East")));
    assert!(plans.buy().cloths.iter().all(|plan| plan.bolt.name != "Fern"));
    let heading = sheet::Heading { job: &job, unit: job.unit, day: "2026-05-04" };
    let text = sheet::buying(&heading, &plans).into_string();
    assert!(text.contains("Study, East") && text.contains("Without"), "{text}");
    let cutting = sheet::cutting(&heading, &plans, &house).into_string();
    assert!(cutting.contains("Not cut yet: ") && cutting.contains("Study, East (to decide)"), "{cutting}");
}

#[test]
fn a_length_set_by_hand_is_checked_against_the_pattern_beside_it() {
    let mut fern = settled();
    fern["choices"]["cloth"] = json!("Fern");
    let asked = |length: &str| {
        let mut by_hand = fern.clone();
        by_hand["choices"]["finished_length"] = json!(length);
        let low = with(
            &with(&with(&with(&SQUARE, "height_left", "33"), "height_right", "33"), "diagonal_rising", "48 13/16"),
            "diagonal_falling",
            "48 13/16",
        );
        let job = house(&[opening(1, "North", &low, &by_hand), opening(2, "East", &SQUARE, &fern)]);
        let house = worked(&job);
        first(&house).flags().iter().any(|flag| flag.code == "by_hand_pattern")
    };
    // Worked out 32 3/4 beside 59 3/4; the repeat is 25 1/4. A foot 1/2 in higher is off; one that makes the heads
    // agree, 59 3/4 - 25 1/4 = 34 1/2, is not.
    assert!(asked("32 1/4"));
    assert!(!asked("34 1/2"));
    assert!(!asked("32 3/4"));
}

// ---- Properties ----

/// Readings of one invented opening, some of them slipped, missing, or of a shallow or leaning opening.
#[derive(Clone, Debug)]
#[allow(clippy::struct_excessive_bools, reason = "each is one thing that an opening has or lacks")]
struct Invented {
    wide: i64,
    high: i64,
    lean: i64,
    slip: Option<(usize, i64)>,
    depth: Option<i64>,
    trim: bool,
    mount: usize,
    board: usize,
    cloth: bool,
    probed: bool,
    asked: bool,
    room: i64,
}

fn invented() -> impl Strategy<Value = Invented> {
    (
        (320..900_i64, 400..1200_i64, -3..4_i64, proptest::option::weighted(0.25, (0..5_usize, -20..21_i64))),
        (proptest::option::weighted(0.8, 2..80_i64), any::<bool>(), 0..6_usize, 0..8_usize),
        (prop::bool::weighted(0.9), any::<bool>(), prop::bool::weighted(0.1), 0..200_i64),
    )
        .prop_map(|((wide, high, lean, slip), (depth, trim, mount, board), (cloth, probed, asked, room))| {
            Invented { wide, high, lean, slip, depth, trim, mount, board, cloth, probed, asked, room }
        })
}

fn sixteenths(n: i64) -> String {
    Length::inches(n, 16).show(IN)
}

/// The opening as a job file has it: lengths in sixteenths of an inch.
fn made_up(n: u32, one: &Invented) -> Value {
    let diagonal = |lean: i64| across(one.wide + lean, one.high);
    let mut values = [one.wide, one.wide, one.wide, one.high, one.high];
    if let Some((at, by)) = one.slip {
        values[at] += by;
    }
    let mut readings: Vec<(&str, String)> =
        ["width_top", "width_middle", "width_bottom", "height_left", "height_right"]
            .into_iter()
            .zip(values.map(sixteenths))
            .collect();
    readings.push(("diagonal_rising", sixteenths(diagonal(one.lean))));
    readings.push(("diagonal_falling", sixteenths(diagonal(-one.lean))));
    readings.extend(one.depth.map(|depth| ("depth", sixteenths(depth))));
    if one.trim {
        for (place, value) in [
            ("trim_width", one.wide + 80),
            ("trim_height", one.high + 40),
            ("trim_leg", 40),
            ("trim_thickness", 8),
            ("wall_above", one.room),
            ("wall_left", one.room),
            ("wall_right", 200),
            ("proud_most", one.room / 5),
        ] {
            readings.push((place, sixteenths(value)));
        }
    }
    let readings: Vec<(&str, &str)> = readings.iter().map(|(place, read)| (*place, read.as_str())).collect();
    let mut more = json!({"choices": {}, "wall": {}});
    match one.mount {
        0 => {}
        1 | 2 => more["choices"]["mount"] = json!("inside"),
        3 => more["choices"]["mount"] = json!("outside"),
        4 => more["choices"] = json!({"mount": "outside", "attach": "flush"}),
        _ => more["choices"] = json!({"mount": "outside", "attach": "brackets"}),
    }
    if let Some(board) = ["1x2", "1x3", "1x4", "2x2", "2x3", "2x4"].get(one.board) {
        more["choices"]["board"] = json!(board);
    }
    if one.cloth {
        more["choices"]["cloth"] = json!("Reed");
    }
    if one.probed {
        more["wall"] = json!({"head": "wood", "above": "wood"});
    }
    if one.asked {
        more["asks"] = json!([{"id": id(n * 1000 + 900), "places": ["width_top"], "why": "?", "at": "2026-05-05T09:12:00Z", "by": "desk"}]);
    }
    opening(n, &format!("Opening {}", ["one", "two", "three"][n as usize - 1]), &readings, &more)
}

/// What keeps an opening from the table, said again: a flag that asks something and is not answered, an ask, no mount,
/// no making, a fixing that fails.
fn is_open(one: &Worked<'_>) -> bool {
    let asks = one.flags().into_iter().any(|flag| {
        flag.severity != Severity::Know && flag.code != "backing_not_known" && closed_by(one.opening, flag).is_none()
    });
    let asked = one.opening.asks.iter().any(|ask| ask.closed.is_none());
    let makes = one
        .shade
        .as_ref()
        .is_some_and(|shade| shade.makeup.is_ok() && shade.fixing.as_ref().is_some_and(|fixing| fixing.holds));
    asks || asked || !makes
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    /// Nothing with anything open is in a cutting list, of cloth or of sticks; and whatever is settled is.
    #[test]
    fn nothing_unsettled_is_in_a_cutting_list(all in proptest::collection::vec(invented(), 1..4)) {
        let openings: Vec<Value> = all.iter().zip(1..).map(|(one, n)| made_up(n, one)).collect();
        let job = house(&openings);
        let house = worked(&job);
        let plans = work::plans(&house, Shop::standard(IN));
        let mut names: Vec<&str> = plans.cut.cloths.iter().flat_map(|plan| &plan.wants).map(|want| want.name.as_str()).collect();
        names.extend(plans.cut.sticks.iter().flat_map(|plan| &plan.request.pieces).map(|piece| piece.name.as_str()));
        for one in &house.openings {
            let name = format!("Study, {}:", one.opening.name);
            let cut = names.iter().any(|cut| cut.starts_with(&name));
            if is_open(one) {
                prop_assert!(one.stand() != Stand::Settled, "{}: {:?}", name, one.standing);
                prop_assert!(one.stop_cutting().is_some());
                prop_assert!(!cut, "{} is cut", name);
            }
            prop_assert_eq!(cut, one.stand() == Stand::Settled, "{}", name);
            prop_assert_eq!(plans.left_out.iter().any(|(left, _)| format!("{left}:") == name), !cut);
        }
    }

    /// Before leaving, whatever is not settled is on the list with the word for where it stands, and only that is.
    #[test]
    fn what_is_not_settled_is_on_the_list_before_leaving(all in proptest::collection::vec(invented(), 1..4)) {
        let openings: Vec<Value> = all.iter().zip(1..).map(|(one, n)| made_up(n, one)).collect();
        let job = house(&openings);
        let leaving = Desk::of(&job).leaving();
        let house = worked(&job);
        for one in &house.openings {
            let name = format!("Study, {}", one.opening.name);
            let rows: Vec<_> = leaving.rows.iter().filter(|row| row.opening == name).collect();
            if one.stand() == Stand::Settled {
                let open = rows.iter().find(|row| !row.says.starts_with("Not read yet"));
                prop_assert!(open.is_none(), "{}: {:?}", name, open);
            } else {
                prop_assert!(!rows.is_empty(), "{}: {:?}", name, one.standing);
                prop_assert!(rows.iter().any(|row| row.asks == one.stand().words()), "{}: {:?} {:?}", name, rows, one.standing);
            }
        }
        prop_assert_eq!(leaving.rows.is_empty(), leaving.says == "Nothing is missing.");
    }

    /// A mount that was chosen is the one that is made, or none is.
    #[test]
    fn a_chosen_mount_never_becomes_another(one in invented()) {
        let job = house(&[made_up(1, &one)]);
        let house = worked(&job);
        let found = first(&house);
        let allowed: &[Form] = match one.mount {
            0 => &[Form::Inside, Form::OutsideFlush, Form::OutsideBrackets],
            1 | 2 => &[Form::Inside],
            3 => &[Form::OutsideFlush, Form::OutsideBrackets],
            4 => &[Form::OutsideFlush],
            _ => &[Form::OutsideBrackets],
        };
        let board = ["1x2", "1x3", "1x4", "2x2", "2x3", "2x4"].get(one.board);
        match found.mounts.advised() {
            Some(mounting) => {
                prop_assert!(allowed.contains(&mounting.form));
                prop_assert_eq!(found.shade.as_ref().map(|shade| shade.form), Some(mounting.form));
                prop_assert!(board.is_none_or(|board| *board == mounting.board.size.name()));
                prop_assert!(found.offers.is_empty());
            }
            None => {
                prop_assert!(found.shade.is_none());
                prop_assert!(found.stand() != Stand::Settled);
                // What is offered was tried: laid in by its fields alone, it gives the size that it says.
                for offer in &found.offers {
                    let mut tried = Desk::of(&job);
                    let on = found.opening.id;
                    let changes = offer.fields.iter().map(|(field, value)| hangtrue_core::walk::Change { on, field: (*field).to_owned(), value: value.clone() });
                    tried.act(Event::SetAll { changes: changes.collect() });
                    let now = worked(&tried.house.job);
                    let mounting = first(&now).mounts.advised().expect("what is offered can be");
                    prop_assert_eq!((mounting.width.total, mounting.length.total, mounting.form), (offer.width, offer.length, offer.form));
                }
            }
        }
    }

    /// A finished size that is set by hand is the size of every cut: what it grew by, every piece across or along grew by.
    #[test]
    fn a_size_set_by_hand_reaches_every_cut(
        one in invented(),
        wider in -64..65_i64,
        longer in -64..65_i64,
        metric in any::<bool>(),
        head in 0..64_i64,
    ) {
        let plain = Invented { slip: None, lean: 0, depth: Some(48), board: 9, ..one };
        let job = house(&[made_up(1, &plain)]);
        let before = worked(&job);
        let Some(old) = first(&before).mounts.advised() else { return Ok(()) };
        let Some(was) = first(&before).shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok()) else { return Ok(()) };
        // Off the tape too: a millimetre in a house of inches.
        let odd = if metric { Length::mm(1) } else { Length::ZERO };
        let width = old.width.total + Length::inches(wider, 16) + odd;
        let length = old.length.total + Length::inches(longer, 16) + odd;
        let mut by_hand = job.clone();
        {
            let choices = &mut by_hand.rooms[0].openings[0].choices;
            choices.mount = Some(if old.form == Form::Inside { hangtrue_core::house::Mount::Inside } else { hangtrue_core::house::Mount::Outside });
            choices.attach = match old.form {
                Form::OutsideFlush => Some(hangtrue_core::house::Attach::Flush),
                Form::OutsideBrackets => Some(hangtrue_core::house::Attach::Brackets),
                Form::OutsideCeiling => Some(hangtrue_core::house::Attach::Ceiling),
                Form::OutsideFace => Some(hangtrue_core::house::Attach::Face),
                Form::Inside => None,
            };
            choices.finished_width = Some(Typed::exact(width, IN));
            choices.finished_length = Some(Typed::exact(length, IN));
            choices.folds = Some(was.folds.count);
        }
        let after = worked(&by_hand);
        let new = first(&after).mounts.advised().unwrap();
        prop_assert_eq!((new.width.total, new.length.total), (width, length));
        // What was worked out is kept beside it.
        prop_assert_eq!(new.width_worked.as_ref().map(|worked| worked.total), Some(old.width.total));
        prop_assert_eq!(new.length_worked.as_ref().map(|worked| worked.total), Some(old.length.total));
        let Some(made) = first(&after).shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok()) else { return Ok(()) };
        prop_assert_eq!((made.width, made.length, made.folds.count), (width, length, was.folds.count));
        prop_assert_eq!(made.folds.head + made.folds.fold * i64::from(made.folds.count) + made.folds.flap, length);
        for part in [Part::Face, Part::Lining] {
            let (Some(now), Some(then)) = (made.cut(part), was.cut(part)) else { continue };
            // A turning may be narrower where that saves a join; what is left when they are turned is the size all the same.
            let over = now.width - now.side_turning * 2 - now.finished_width;
            prop_assert!(!over.is_negative() && over < Length::inches(1, 16), "{:?}: {:?}", part, over);
            if part == Part::Face {
                prop_assert_eq!(now.finished_width, width, "{:?}", part);
            }
            prop_assert_eq!(now.finished_width - then.finished_width, width - old.width.total, "{:?}", part);
            // Both cuts are up to the tape: less than a sixteenth apart from what the sizes differ by.
            let off = (now.length - then.length) - (length - old.length.total);
            prop_assert!(off.abs() < Length::inches(1, 16), "{:?}: {:?}", part, off);
        }
        for part in [StickUse::Board, StickUse::Bar, StickUse::Rib] {
            let (Some(now), Some(then)) = (made.stick(part), was.stick(part)) else { continue };
            let off = (now.length - then.length) - (width - old.width.total);
            prop_assert!(off.abs() < Length::inches(1, 16), "{:?}: {:?}", part, off);
        }
        // Too wide to pass, or past the sill: a person is asked.
        if old.form == Form::Inside {
            let flags = first(&after).flags();
            let asked = |code: &str| flags.iter().any(|flag| flag.code == code && flag.severity == Severity::Decide);
            if width > Length::inches(plain.wide, 16) { prop_assert!(asked("by_hand_does_not_pass")); }
            prop_assert_eq!(length >= Length::inches(plain.high, 16), asked("by_hand_too_long"));
        }
        // The head that is set by hand is the head; equal folds take the rest, and what they leave shows below.
        let deep = was.folds.head_least + Length::inches(head, 16);
        by_hand.rooms[0].openings[0].choices.head = Some(Typed::exact(deep, IN));
        let after = worked(&by_hand);
        if let Some(made) = first(&after).shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok()) {
            prop_assert_eq!(made.folds.head, deep);
            prop_assert_eq!(deep + made.folds.fold * i64::from(made.folds.count) + made.folds.flap, length);
            prop_assert_eq!(made.grid.rows[0].from_head.exact, deep);
            prop_assert!(made.folds.flap * 2 >= made.folds.fold);
        }
    }

    /// An answer is the same for any order and repetition of its facts, and holds until a reading at its place changes.
    #[test]
    fn an_answer_survives_any_order_and_is_asked_again_when_its_reading_changes(
        swaps in proptest::collection::vec(any::<u16>(), 1..60),
        twice in any::<u64>(),
        change in 0..5_usize,
    ) {
        let mut desk = Desk::of(&shallow());
        let flag = proud(desk.opening(), &desk.house.job);
        let opening = desk.opening().id;
        desk.act(Event::Decide { opening, flag: flag.code.clone(), places: flag.places.clone(), why: "seen".to_owned() });
        let mixed = |facts: &[Fact]| {
            let mut all = facts.to_vec();
            all.extend(facts.iter().enumerate().filter(|(i, _)| twice >> (i % 64) & 1 == 1).map(|(_, fact)| fact.clone()));
            for (i, swap) in swaps.iter().enumerate() {
                let n = all.len();
                all.swap(i % n, usize::from(*swap) % n);
            }
            fold(&all).unwrap()
        };
        let mixed_up = mixed(&desk.facts);
        prop_assert_eq!(&mixed_up, &desk.house);
        prop_assert_eq!(first(&worked(&mixed_up.job)).stand(), Stand::Settled);
        // One fact more, at the place that it rests on or at another.
        let depth = desk.opening().standing(Place::Depth).next().unwrap().id;
        let body = match change {
            0 => reading(&mut desk, Place::Depth, "1", None),
            1 => reading(&mut desk, Place::Depth, "1", Some(depth)),
            2 => Body::ReadingWithdrawn {
                opening,
                reading: depth,
                withdrawn: Withdrawn { at: Desk::moment(&mut desk.clock).time(), by: String::new(), why: String::new() },
            },
            3 => reading(&mut desk, Place::SillToFloor, "30", None),
            _ => Body::Undone { fact: desk.facts.last().unwrap().id, place: None },
        };
        let written = desk.write(&body);
        let mixed_up = mixed(&desk.facts);
        prop_assert_eq!(&mixed_up, &desk.house);
        let now = first(&worked(&mixed_up.job)).stand();
        prop_assert_eq!(now == Stand::Settled, change == 3, "{:?}", now);
        // Taken back, the answer stands as it stood.
        desk.write(&Body::Undone { fact: written, place: None });
        let undone = mixed(&desk.facts);
        prop_assert_eq!(first(&worked(&undone.job)).stand(), Stand::Settled);
    }
}

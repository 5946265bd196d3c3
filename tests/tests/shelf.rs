//! The shelf: what is cut of it lies on it, its pattern meets, its lots do not, and it never makes anybody buy more. Houses,
//! cloths and pieces are invented.

use hangtrue_core::buying::Shop;
use hangtrue_core::cloth::{AtHand, Belongs, Bolt, PartOf, Plan, Shelved, Want, offcuts, plan, plan_from};
use hangtrue_core::fact::{Body, Moment};
use hangtrue_core::house::{ClothDirection, Job, Match, Step, Workroom, file};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::settings::Settings;
use hangtrue_core::store::Book;
use hangtrue_core::walk::{Event, HouseLine, SyncLine, Walk, World};
use hangtrue_core::work::{self, Plans};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

const IN: LengthUnit = LengthUnit::Inch;

/// Lots, the first of which nobody noted.
const LOTS: [&str; 3] = ["", "A", "B"];

fn inch(text: &str) -> Length {
    Length::parse(text, IN).unwrap()
}

fn eighths(n: i64) -> Length {
    Length::inches(n, 8)
}

fn id(n: u32) -> String {
    format!("0192a3b4-0000-7000-8000-{n:012}")
}

/// A house with a room of so many square windows of 36 x 60 that hang inside, all of the cloth "Reed".
fn house(n: u32, windows: u32, cloth: &Value, shelf: &Value) -> Job {
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
    let opening = |w: u32| {
        let readings: Vec<_> = read
            .iter()
            .zip(n * 1000 + w * 20 + 100..)
            .map(|((place, read), n)| json!({"id": id(n), "place": place, "read": read, "at": "2026-05-04T09:12:00Z"}))
            .collect();
        json!({"id": id(n * 1000 + w + 2), "name": format!("Window {w}"), "readings": readings, "wall": {"head": "wood"},
               "choices": {"mount": "inside", "cloth": "Reed"}})
    };
    let all = json!({
        "hangtrue_job": 1, "id": id(n * 1000), "name": format!("House {n}"), "unit": "in",
        "workroom": {"cloths": [cloth], "shelf": shelf},
        "rooms": [{"id": id(n * 1000 + 1), "name": "Study", "openings": (1..=windows).map(opening).collect::<Vec<_>>()}],
    });
    file::read(&all.to_string()).unwrap()
}

fn plans(job: &Job) -> Plans {
    let worked = work::house(job, Catalogue::standard(IN)).unwrap();
    for one in &worked.openings {
        assert!(one.standing.is_settled(), "{:?}", one.standing.reasons);
    }
    work::plans(&worked, Shop::standard(IN))
}

fn bought(job: &Job) -> Length {
    plans(job).cut.cloths.iter().find(|planned| planned.bolt.name == "Reed").unwrap().plan.buy
}

fn reed() -> Value {
    json!({"name": "Reed", "width": "54", "repeat": "27"})
}

/// By pencil: a face is 35 5/8 + 2 x 1 1/2 = 38 5/8 wide and 2 over the board + 59 3/4 + 3 = 64 3/4 long; its foot stands
/// 61 3/4 below its top edge. Two lie one after the other on 54 in: the second begins a whole number of repeats of 27 after the
/// first, so 81 on, and ends at 145 3/4. A piece of 150 whose first line stands at 61 3/4 - 2 x 27 = 7 3/4 takes both.
#[test]
fn two_faces_that_fit_one_piece_are_not_bought() {
    let none = house(1, 2, &reed(), &json!({}));
    assert!(bought(&none) > Length::ZERO);
    let piece = |length: &str, line: Option<&str>| json!({id(1): {"cloth": "Reed", "length": length, "lot": "A", "first_line": line.unwrap_or("0")}});
    assert_eq!(bought(&house(1, 2, &reed(), &piece("150", Some("7 3/4")))), Length::ZERO);
    // With its line elsewhere, cloth is lost before the first face: 145 3/4 + 7 3/4 is too long; and a room is not of two lots.
    assert_eq!(bought(&house(1, 2, &reed(), &piece("150", None))), bought(&none));
    assert_eq!(bought(&house(1, 2, &reed(), &piece("172", Some("0")))), Length::ZERO);
    // Nobody measured where its pattern starts: a whole repeat may be lost, and then 172 is too short and 172 3/4 is not.
    let unknown = |length: &str| json!({id(1): {"cloth": "Reed", "length": length}});
    assert_eq!(bought(&house(1, 2, &reed(), &unknown("172"))), bought(&none));
    assert_eq!(bought(&house(1, 2, &reed(), &unknown("172 3/4"))), Length::ZERO);
    // A flaw between the two, from 65 to 80, harms nothing; one in the second is cut around, and then it is too short.
    let flawed = |from: &str, to: &str| json!({id(1): {"cloth": "Reed", "length": "150", "first_line": "7 3/4", "flaws": [{"from": from, "to": to}]}});
    assert_eq!(bought(&house(1, 2, &reed(), &flawed("65", "80"))), Length::ZERO);
    assert_eq!(bought(&house(1, 2, &reed(), &flawed("100", "100"))), bought(&none));
}

#[test]
fn a_client_s_own_cloth_is_for_nobody_else_and_a_piece_set_aside_neither() {
    for whose in ["owner", "cut_for"] {
        let shelf = json!({id(1): {"cloth": "Reed", "length": "150", "first_line": "7 3/4", whose: id(1000)}});
        assert_eq!(bought(&house(1, 2, &reed(), &shelf)), Length::ZERO, "{whose}");
        assert!(bought(&house(2, 2, &reed(), &shelf)) > Length::ZERO, "{whose}");
    }
}

#[test]
fn two_lots_never_meet_in_a_room() {
    let shelf = |lots: [&str; 2]| json!({id(1): {"cloth": "Reed", "length": "70", "first_line": "7 3/4", "lot": lots[0]}, id(2): {"cloth": "Reed", "length": "70", "first_line": "7 3/4", "lot": lots[1]}});
    assert_eq!(bought(&house(1, 2, &reed(), &shelf(["A", "A"]))), Length::ZERO);
    // Each would take one window: of two lots, and where no lot is noted, all is bought.
    let none = bought(&house(1, 2, &reed(), &json!({})));
    assert_eq!(bought(&house(1, 2, &reed(), &shelf(["A", "B"]))), none);
    assert_eq!(bought(&house(1, 2, &reed(), &shelf(["", ""]))), none);
}

/// One touch: the offcuts go onto the shelf, what was cut goes off it, the house's plan stays, and the next house uses them.
#[test]
fn offcuts_go_onto_the_shelf_and_the_next_house_is_cut_of_them() {
    let plain = json!({"name": "Reed", "width": "54"});
    let shelf = json!({id(1): {"cloth": "Reed", "length": "200", "lot": "A"}});
    let mut job = house(1, 2, &plain, &shelf);
    let before = plans(&job);
    let worked = work::house(&job, Catalogue::standard(IN)).unwrap();
    let keep = work::keep(&worked, &before);
    // By pencil: two faces of 38 5/8 x 64 3/4 leave 200 - 129 1/2 = 70 1/2 of the full width, and 15 3/8 beside them.
    let left: Vec<_> = keep
        .new
        .iter()
        .map(|piece| {
            (piece.length.value(), piece.usable.as_ref().map(hangtrue_core::length::Typed::value), piece.lot.as_str())
        })
        .collect();
    assert_eq!(left, [(inch("70 1/2"), None, "A"), (inch("129 1/2"), Some(inch("15 3/8")), "A")]);
    assert_eq!(keep.cut.len(), 1);
    for (n, piece) in keep.new.iter().enumerate() {
        job.workroom.shelf.insert(Uuid::from_u128(n as u128 + 90), piece.clone());
    }
    job.workroom.shelf.extend(keep.cut.iter().cloned());
    let after = plans(&job);
    // That another house may be planned on the piece is true no more.
    let lies = |plans: &Plans| -> Vec<_> {
        plans.cut.cloths.iter().map(|one| Plan { notes: Vec::new(), ..one.plan.clone() }).collect()
    };
    assert_eq!(lies(&before), lies(&after));
    let says = |plans: &Plans| {
        plans.cut.cloths.iter().any(|one| one.plan.notes.iter().any(|note| note.contains("not set aside")))
    };
    assert_eq!((says(&before), says(&after)), (true, false));
    let worked = work::house(&job, Catalogue::standard(IN)).unwrap();
    assert!(work::keep(&worked, &after).is_empty(), "a second touch does nothing");
    let mut next = house(2, 1, &plain, &json!({}));
    assert!(bought(&next) > Length::ZERO);
    next.workroom.shelf = job.workroom.shelf.clone();
    assert_eq!(bought(&next), Length::ZERO);
    // What went through a file is the same shelf.
    assert_eq!(file::read(&file::write(&next)).unwrap().workroom, next.workroom);
}

/// By pencil: two faces of 64 3/4 take 129 1/2. On 128 1/2 an inch is missing: the hem at its least is 2 x (1 + 1/8 + 1/8) =
/// 2 1/2 instead of 3, so two faces of 64 1/4 are 128 1/2, and that is enough. Nothing before it helps their length.
#[test]
fn what_helps_a_short_cloth_is_tried_in_order() {
    let own = json!({"name": "Reed", "width": "54", "no_more": true});
    let shelf = |length: &str| json!({id(1): {"cloth": "Reed", "length": length, "owner": id(1000)}});
    let found = |length: &str, windows: u32| {
        let job = house(1, windows, &own, &shelf(length));
        let worked = work::house(&job, Catalogue::standard(IN)).unwrap();
        work::short(&worked, Catalogue::standard(IN), Shop::standard(IN))
    };
    assert!(found("129 1/2", 2).is_empty(), "it is enough");
    // Half an inch a face: enough with the hem at its least, which is the fourth thing that is tried.
    let short = found("128 1/2", 2).remove(0);
    let gains: Vec<_> = short.steps.iter().map(|step| step.gains > Length::ZERO).collect();
    assert_eq!(gains, [false, false, false, true]);
    assert_eq!(short.steps[3].missing, Length::ZERO);
    assert!(short.largest.is_empty());
    // Of one window and 50 in: upright 50 - 2 - 2 1/2 = 45 1/2; turned a quarter its 37 1/8 lie along the 50, and its length
    // across the 54: 54 - 2 - 2 1/2 = 49 1/2 is the longest shade.
    let short = found("50", 1).remove(0);
    assert_eq!(short.steps.len(), 5);
    assert_eq!(short.largest[0].2, Some(inch("49 1/2")));
}

#[test]
fn what_arrived_is_planned_on_and_says_go_or_no_go() {
    let job = house(1, 2, &reed(), &json!({}));
    let arrived = |length: &str, line: Option<&str>, width: Option<&str>, repeat: Option<&str>| {
        let piece = json!({"cloth": "Reed", "length": format!("{length} in"), "lot": "C", "first_line": line.map(|line| format!("{line} in")), "usable": width.map(|width| format!("{width} in"))});
        let mut piece = piece;
        piece.as_object_mut().unwrap().retain(|_, value| !value.is_null());
        let repeat = repeat.map(|repeat| hangtrue_core::length::Typed::read(repeat, IN).unwrap());
        let arrived = work::Arrived { id: Uuid::from_u128(5), piece: serde_json::from_value(piece).unwrap(), repeat };
        let (then, measured) = work::with_arrived(&job, &arrived);
        (work::arrival(&then, "Reed", Catalogue::standard(IN), Shop::standard(IN)).unwrap(), measured)
    };
    // As above by pencil: both end at 145 3/4.
    let (found, measured) = arrived("150", Some("7 3/4"), None, None);
    assert!(found.go && measured.is_none(), "{found:?}");
    assert_eq!(found.slack, inch("4 1/4"));
    let (found, _) = arrived("140", Some("7 3/4"), None, None);
    assert!(!found.go && found.missing > Length::ZERO);
    // A repeat of 26 3/4 as it measures: the second begins at 80 1/4 and ends at 145.
    let (found, measured) = arrived("150", Some("8 1/4"), None, Some("26 3/4"));
    assert!(found.go, "{found:?}");
    assert_eq!(found.slack, inch("5"));
    assert_eq!(measured.unwrap().repeat.unwrap().value(), inch("26 3/4"));
    // Narrower than a face with its least turnings (35 5/8 + 2 x 3/4 = 37 1/8): it is joined, and its print's repeat across is unknown.
    let (found, measured) = arrived("400", Some("7 3/4"), Some("37"), None);
    assert!(!found.go && measured.is_some());
}

/// By pencil: two faces of 64 3/4 take 129 1/2 of a plain piece of 200, so the first lies from 0 to 64 3/4. Once it is cut
/// the second lies on what is left of the piece, from 64 3/4 on, and the piece is this house's alone.
#[test]
fn what_is_cut_of_a_piece_is_not_there_any_more() {
    let plain = json!({"name": "Reed", "width": "54"});
    let mut desk = Workbench::new(
        &[house(1, 2, &plain, &json!({})), house(2, 1, &plain, &json!({}))],
        &plain,
        &json!({id(1): {"cloth": "Reed", "length": "200", "lot": "A"}}),
    );
    assert_eq!(desk.bought(1), Length::ZERO);
    assert_eq!(desk.bought(2), Length::ZERO, "the piece is nobody's yet");
    desk.cut(1, 1);
    let cut = desk.job(1).rooms[0].openings[0].progress.cut.clone().unwrap();
    let from: Vec<_> = cut.from.iter().map(|from| (from.from.value(), from.to.value(), from.lot.as_str())).collect();
    assert_eq!(from, [(Length::ZERO, inch("64 3/4"), "A")]);
    let rest = plans(&desk.job(1));
    let piece = &rest.cut.cloths.iter().find(|planned| planned.bolt.name == "Reed").unwrap().plan.pieces;
    assert_eq!(piece.iter().map(|piece| piece.y).collect::<Vec<_>>(), [inch("64 3/4")]);
    assert!(desk.bought(2) > Length::ZERO, "it is cut for another house");
    // Kept again as one plan once all is cut.
    desk.cut(1, 2);
    assert_eq!(desk.bought(1), Length::ZERO);
}

#[test]
fn what_hangs_beside_a_cut_shade_is_of_its_lot_or_it_is_said() {
    let plain = json!({"name": "Reed", "width": "54"});
    let shelf = json!({id(1): {"cloth": "Reed", "length": "70", "lot": "A"}});
    let mut desk = Workbench::new(&[house(1, 1, &plain, &json!({}))], &plain, &shelf);
    desk.cut(1, 1);
    // A second window is measured after the first was cut of lot A: what is bought for it is to be of that lot.
    let mut job = desk.job(1);
    let mut second = house(1, 2, &plain, &json!({})).rooms.remove(0).openings.remove(1);
    second.name = "Late".to_owned();
    job.rooms[0].openings.push(second);
    let says = |job: &Job| plans(job).cut.cloths[0].plan.to_decide.clone();
    assert!(says(&job)[0].contains("Late: face: what hangs in the same room is cut of lot A"), "{:?}", says(&job));
    let add = |job: &mut Job, n: u32, lot: &str| {
        let piece = json!({"cloth": "Reed", "length": "80 in", "lot": lot});
        job.workroom.shelf.insert(id(n).parse().unwrap(), serde_json::from_value(piece).unwrap());
    };
    // Lot B on the shelf is of no use, lot A is.
    add(&mut job, 2, "B");
    assert!(bought(&job) > Length::ZERO && says(&job).len() == 1);
    add(&mut job, 3, "A");
    assert_eq!((bought(&job), says(&job)), (Length::ZERO, Vec::new()));
}

/// Houses and the workroom's shelf in one book, driven as the screens drive them.
struct Workbench {
    book: Book,
    _folder: tempfile::TempDir,
    n: u64,
}

impl Workbench {
    fn new(houses: &[Job], cloth: &Value, shelf: &Value) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut n = 0;
        let mut book = Book::open(&folder.path().join("book.db"), &mut || moment(&mut n)).unwrap();
        for house in houses {
            let house = Job { workroom: Workroom::default(), ..house.clone() };
            book.take_in(&house, "Ida", &mut || moment(&mut n)).unwrap();
        }
        let set = |field: String, value: &Value| Body::Set {
            on: Workroom::ID,
            replaces: Vec::new(),
            field,
            value: value.clone(),
        };
        let mut bodies = vec![set("cloths.Reed".to_owned(), cloth)];
        bodies.extend(shelf.as_object().unwrap().iter().map(|(id, piece)| set(format!("shelf.{id}"), piece)));
        book.write(Workroom::ID, "Ida", IN, &bodies, &mut || moment(&mut n)).unwrap();
        Self { book, _folder: folder, n }
    }

    fn job(&self, house: u32) -> Job {
        self.book.job(id(house * 1000).parse().unwrap()).unwrap().unwrap()
    }

    fn bought(&self, house: u32) -> Length {
        bought(&self.job(house))
    }

    fn cut(&mut self, house: u32, window: u32) {
        let opening = id(house * 1000 + window + 2).parse().unwrap();
        self.act(house, &Event::Mark { opening, step: Step::Cut }).unwrap();
    }

    fn act(&mut self, house: u32, event: &Event) -> Result<(), String> {
        let id: Uuid = id(house * 1000).parse().unwrap();
        let folded = self.book.house(id).unwrap();
        let lines = [HouseLine { id, ..HouseLine::default() }];
        let world = World { houses: &lines, house: folded.as_ref(), sync: SyncLine::default() };
        let n = &mut self.n;
        let mut walk = Walk::default();
        for event in [&Event::ShowHouse { house: id }, event] {
            let step = walk.step(event, &world, &mut || moment(n)).map_err(|refusal| refusal.reason)?;
            walk = step.walk;
            let bodies: Vec<Body> = step.writes.iter().map(|write| write.body.clone()).collect();
            let mut moments = step.writes.iter().map(|write| write.moment);
            if !bodies.is_empty() {
                self.book.write(id, "Ida", IN, &bodies, &mut || moments.next().unwrap()).unwrap();
            }
        }
        Ok(())
    }
}

fn moment(n: &mut u64) -> Moment {
    *n += 1;
    let mut random = [0; 10];
    random[2..].copy_from_slice(&n.to_be_bytes());
    Moment { ms: 1_780_000_000_000 + *n, random }
}

struct Case {
    bolt: Bolt,
    wants: Vec<Want>,
    together: Vec<usize>,
    lots: Vec<Option<String>>,
    shelf: Vec<AtHand>,
}

prop_compose! {
    fn case()(
        usable in 300_i64..460, repeat in proptest::option::of(40_i64..240), half_drop in any::<bool>(), any_way in any::<bool>(),
        sizes in prop::collection::vec((80_i64..430, 120_i64..640, any::<bool>(), 0_usize..3), 1..7),
        cut in prop::collection::vec(proptest::option::weighted(0.3, 0_usize..3), 3),
        pieces in prop::collection::vec((150_i64..1800, proptest::option::weighted(0.3, 90_i64..460), 0_usize..3,
            proptest::option::of(0_i64..240), prop::collection::vec((0_i64..1800, 0_i64..40), 0..3)), 0..5),
    ) -> Case {
        let bolt = Bolt {
            width: eighths(usable), usable: eighths(usable), repeat: repeat.map(eighths),
            matching: if half_drop && repeat.is_some() { Match::HalfDrop } else { Match::Straight },
            direction: if any_way { ClothDirection::AnyWay } else { ClothDirection::OneWay },
            ..Bolt::lining("cloth", &Settings::INCHES, IN)
        };
        let wants = sizes.iter().enumerate().map(|(n, &(width, length, seen, _))| Want {
            name: format!("cut {n}"), width: eighths(width), length: eighths(length),
            match_line: seen.then(|| eighths(length - 24)), fold_lines: Vec::new(),
        }).collect();
        let together = sizes.iter().enumerate().map(|(n, &(_, _, seen, room))| if seen { room } else { 100 + n }).collect();
        let lots = sizes.iter().map(|&(_, _, seen, room)| cut[room].filter(|_| seen).map(|lot| LOTS[lot].to_owned())).collect();
        let shelf = pieces.iter().enumerate().map(|(n, (length, width, lot, line, flaws))| {
            let mut sound = Vec::new();
            let mut flaws: Vec<(i64, i64)> = flaws.iter().map(|(from, more)| (*from.min(length), (from + more).min(*length))).collect();
            flaws.sort_unstable();
            let mut from = 0;
            for (start, end) in flaws.into_iter().chain([(*length, *length)]) {
                if start > from { sound.push((eighths(from), eighths(start - from))); }
                from = from.max(end);
            }
            AtHand {
                id: Some(Uuid::from_u128(n as u128)), length: eighths(*length), usable: eighths(width.unwrap_or(usable)),
                lot: LOTS[*lot].to_owned(), first_line: line.filter(|line| line < length).map(eighths), sound, owned: false, kept: false,
            }
        }).collect();
        Case { bolt, wants, together, lots, shelf }
    }
}

impl std::fmt::Debug for Case {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?}\n{:?}\n{:?}\n{:?}\n{:?}", self.bolt, self.wants, self.together, self.lots, self.shelf)
    }
}

/// From x, to x, from y, to y.
type Box4 = (Length, Length, Length, Length);

fn apart(a: Box4, b: Box4) -> bool {
    a.1 <= b.0 || b.1 <= a.0 || a.3 <= b.2 || b.3 <= a.2
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    /// However a house is cut, one by one or all by one sheet: no two cuts take the same cloth of a piece, all lie on it, what
    /// is planned for the rest lies beside them, and no other house is planned on a piece that was cut from.
    #[test]
    fn no_cloth_is_cut_twice(windows in 2_u32..6, lengths in prop::collection::vec((60_i64..320, 0_usize..3), 1..5), order in prop::collection::vec(0_usize..8, 0..5), all in any::<bool>()) {
        let plain = json!({"name": "Reed", "width": "54"});
        let shelf: serde_json::Map<String, Value> = lengths.iter().zip(1..).map(|((length, lot), n)| (id(n), json!({"cloth": "Reed", "length": length.to_string(), "lot": LOTS[*lot]}))).collect();
        let mut desk = Workbench::new(&[house(1, windows, &plain, &json!({})), house(2, 2, &plain, &json!({}))], &plain, &Value::Object(shelf));
        let mut done = BTreeSet::new();
        for nth in order {
            let left: Vec<u32> = (1..=windows).filter(|window| !done.contains(window)).collect();
            let Some(window) = left.get(nth % left.len().max(1)) else { break };
            desk.cut(1, *window);
            done.insert(*window);
        }
        let is_left = done.len() < windows as usize;
        if all {
            prop_assert_eq!(desk.act(1, &Event::MarkAll {}).is_ok(), is_left);
        }
        let job = desk.job(1);
        let mut cut: BTreeMap<Uuid, Vec<(Length, Length)>> = BTreeMap::new();
        let by_sheet = done.is_empty();
        for (_, one) in job.openings() {
            for from in one.progress.cut.iter().flat_map(|cut| &cut.from) {
                cut.entry(from.piece).or_default().push((from.from.value(), from.to.value()));
            }
        }
        for (piece, stretches) in &cut {
            let piece = &job.workroom.shelf[piece];
            prop_assert_eq!(piece.cut_for, Some(job.id));
            prop_assert!(stretches.iter().all(|(_, to)| *to <= piece.length.value()));
            // By one sheet two cuts may lie beside each other; these are wider than half the cloth.
            for (n, a) in stretches.iter().enumerate() {
                prop_assert!(stretches[n + 1..].iter().all(|b| a.1 <= b.0 || b.1 <= a.0), "cut twice: {stretches:?}, by one sheet: {by_sheet}");
            }
        }
        let has = |openings: &[Uuid], done: bool| openings.iter().all(|id| job.openings().any(|(_, one)| one.id == *id && one.progress.cut.is_some() == done));
        let house = work::house(&job, Catalogue::standard(IN)).unwrap();
        if !house.is_cut() {
            let rest = work::plans(&house, Shop::standard(IN));
            for planned in rest.cut.cloths.iter().filter(|planned| planned.bolt.name == "Reed") {
                prop_assert!(has(&planned.openings, false));
                for piece in &planned.plan.pieces {
                    let Some(id) = piece.on_hand.and_then(|at| planned.held[at].id) else { continue };
                    let gone = cut.get(&id).into_iter().flatten();
                    prop_assert!(gone.clone().all(|(from, to)| piece.y >= *to || piece.y + piece.along <= *from), "planned over a cut");
                }
            }
        }
        let other = plans(&desk.job(2));
        for planned in &other.cut.cloths {
            prop_assert!(planned.held.iter().all(|held| held.id.is_none_or(|id| !cut.contains_key(&id))));
        }
    }

    #[test]
    fn what_is_laid_on_the_shelf_lies_there(case in case()) {
        let Case { bolt, wants, together, lots, shelf } = &case;
        let Ok(whole) = plan(bolt, wants) else { return Ok(()) };
        let Shelved { plan, held } = plan_from(bolt, wants, &Belongs { together, lots }, shelf).unwrap();
        prop_assert!(plan.buy <= whole.buy, "using the shelf buys more: {} and {}", plan.buy.show(IN), whole.buy.show(IN));
        // Every cut is there, with the area that it has alone: nothing is left out, nothing twice.
        let kinds = |pieces: &[hangtrue_core::cloth::Placed], want: usize| {
            let mut kinds: Vec<PartOf> = pieces.iter().filter(|piece| piece.want == want).map(|piece| piece.part).collect();
            kinds.sort();
            kinds
        };
        for (n, want) in wants.iter().enumerate() {
            let mine: Vec<_> = plan.pieces.iter().filter(|piece| piece.want == n).collect();
            prop_assert!(!mine.is_empty());
            if want.width <= bolt.usable {
                prop_assert_eq!(mine.len(), 1);
                let size = (mine[0].across, mine[0].along);
                prop_assert!(size == (want.width, want.length) || (mine[0].turned && size == (want.length, want.width)));
            } else {
                let parts: BTreeSet<PartOf> = kinds(&plan.pieces, n).into_iter().collect();
                prop_assert_eq!(parts.len(), mine.len(), "a part is there twice");
                prop_assert_eq!(plan.seams_of(n).count() + 1, mine.len());
            }
        }
        let mut on: BTreeMap<Option<usize>, Vec<Box4>> = BTreeMap::new();
        for piece in &plan.pieces {
            let place = (piece.x, piece.x + piece.across, piece.y, piece.y + piece.along);
            if let Some(at) = piece.on_hand {
                let of = &held[at];
                prop_assert!(place.0 >= Length::ZERO - bolt.seam && place.1 <= of.usable.min(bolt.usable) + bolt.seam);
                // In one stretch without a flaw, so in the piece too.
                prop_assert!(of.sound.iter().any(|(from, length)| *from <= place.2 && place.3 <= *from + *length), "{place:?} over a flaw of {of:?}");
                // Its pattern: the line that all match at stands on a line of the piece.
                if let (Some(line), Some(repeat), Some(first), PartOf::Whole, false) = (wants[piece.want].match_line, bolt.repeat, of.first_line, piece.part, piece.turned) {
                    let off = (piece.y + line - first).nm().rem_euclid(repeat.nm());
                    prop_assert_eq!(off, 0, "its pattern is off");
                }
            }
            let others = on.entry(piece.on_hand).or_default();
            prop_assert!(others.iter().all(|other| apart(*other, place)), "two cuts overlap");
            others.push(place);
        }
        // One lot to a room, and what is bought is a lot of its own.
        let lot = |piece: &hangtrue_core::cloth::Placed| piece.on_hand.map(|at| if held[at].lot.is_empty() { format!("no lot {at}") } else { held[at].lot.clone() });
        for room in 0..3 {
            let lots: BTreeSet<Option<String>> = plan.pieces.iter().filter(|piece| together[piece.want] == room).map(lot).collect();
            prop_assert!(lots.len() <= 1, "room {room} is of {lots:?}");
        }
        // What hangs beside what is cut is of its lot, or it is said, for exactly those.
        for (n, lot) in lots.iter().enumerate() {
            let mut mine = plan.pieces.iter().filter(|piece| piece.want == n);
            let on_shelf = plan.pieces.iter().any(|piece| piece.want == n && piece.on_hand.is_some());
            let of_lot = lot.as_ref().is_some_and(|lot| !lot.is_empty() && mine.all(|piece| piece.on_hand.is_some_and(|at| held[at].lot == *lot)));
            prop_assert!(lot.is_none() || of_lot || !on_shelf, "{} is cut of another lot of the shelf", wants[n].name);
            let is_said = plan.to_decide.iter().any(|says| says.contains("is cut of") && says.split(": what hangs").next().unwrap().replace(" and ", ", ").split(", ").any(|name| name == wants[n].name));
            prop_assert_eq!(is_said, lot.is_some() && !of_lot, "{:?}", plan.to_decide);
        }
        // Where the pattern of a piece was not measured, there is room for the whole of it to be off by a repeat.
        for (at, of) in held.iter().enumerate().filter(|(_, of)| of.first_line.is_none()) {
            if let Some(repeat) = bolt.repeat && plan.pieces.iter().any(|piece| piece.on_hand == Some(at) && piece.phase.is_some()) {
                for (from, length) in &of.sound {
                    let mine = plan.pieces.iter().filter(|piece| piece.on_hand == Some(at) && *from <= piece.y && piece.y < *from + *length);
                    let mine: Vec<_> = mine.collect();
                    if mine.iter().any(|piece| piece.phase.is_some()) {
                        let end = mine.iter().map(|piece| piece.y + piece.along).max().unwrap();
                        prop_assert!(end + repeat <= *from + *length);
                    }
                }
            }
        }
        let (long, wide) = (eighths(144), eighths(96));
        let shelved = Shelved { plan, held };
        for offcut in offcuts(bolt, &shelved, long, wide) {
            prop_assert!(offcut.length >= long && offcut.width >= wide);
            let place = (offcut.at.0, offcut.at.0 + offcut.width, offcut.at.1, offcut.at.1 + offcut.length);
            let others = on.entry(offcut.of).or_default();
            prop_assert!(others.iter().all(|other| apart(*other, place)), "an offcut lies over a cut or another");
            others.push(place);
            match offcut.of {
                Some(at) => {
                    let of = &shelved.held[at];
                    prop_assert!(place.1 <= of.usable && of.sound.iter().any(|(from, length)| *from <= place.2 && place.3 <= *from + *length));
                }
                None => prop_assert!(place.1 <= bolt.usable && place.3 <= shelved.plan.buy),
            }
        }
    }
}

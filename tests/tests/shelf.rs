//! The shelf: what is cut of it lies on it, its pattern meets, its lots do not, and it never makes anybody buy more. Houses,
//! cloths and pieces are invented.

use hangtrue_core::buying::Shop;
use hangtrue_core::cloth::{AtHand, Bolt, PartOf, Shelved, Want, offcuts, plan, plan_from};
use hangtrue_core::house::{ClothDirection, Job, Match, file};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::settings::Settings;
use hangtrue_core::work::{self, Plans};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

const IN: LengthUnit = LengthUnit::Inch;

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
    assert_eq!(
        before.cut.cloths.iter().map(|one| &one.plan).collect::<Vec<_>>(),
        after.cut.cloths.iter().map(|one| &one.plan).collect::<Vec<_>>()
    );
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

struct Case {
    bolt: Bolt,
    wants: Vec<Want>,
    together: Vec<usize>,
    shelf: Vec<AtHand>,
}

prop_compose! {
    fn case()(
        usable in 300_i64..460, repeat in proptest::option::of(40_i64..240), half_drop in any::<bool>(), any_way in any::<bool>(),
        sizes in prop::collection::vec((80_i64..430, 120_i64..640, any::<bool>(), 0_usize..3), 1..7),
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
                lot: ["", "A", "B"][*lot].to_owned(), first_line: line.filter(|line| line < length).map(eighths), sound, owned: false,
            }
        }).collect();
        Case { bolt, wants, together, shelf }
    }
}

impl std::fmt::Debug for Case {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?}\n{:?}\n{:?}\n{:?}", self.bolt, self.wants, self.together, self.shelf)
    }
}

/// From x, to x, from y, to y.
type Box4 = (Length, Length, Length, Length);

fn apart(a: Box4, b: Box4) -> bool {
    a.1 <= b.0 || b.1 <= a.0 || a.3 <= b.2 || b.3 <= a.2
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn what_is_laid_on_the_shelf_lies_there(case in case()) {
        let Case { bolt, wants, together, shelf } = &case;
        let Ok(whole) = plan(bolt, wants) else { return Ok(()) };
        let Shelved { plan, held } = plan_from(bolt, wants, together, shelf).unwrap();
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

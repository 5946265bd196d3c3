//! Several shades in one opening: side by side they never meet and leave no more than they should; one in front of another
//! clears it; what was read once is read for all of them, and judged as one window. Sums by pencil stand beside their checks;
//! what is left between is common practice, from memory, no source.

use hangtrue_core::fixing::Ground;
use hangtrue_core::house::{Job, Opening, Part, Place, Shares, Step, file, spread};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::mount::{Catalogue, Form, Mounting};
use hangtrue_core::walk::{Change, Event};
use hangtrue_core::work::{self, Worked};
use hangtrue_tests::bench::{Bench, one_window};
use proptest::prelude::*;
use serde_json::json;
use uuid::Uuid;

const IN: LengthUnit = LengthUnit::Inch;

const TWO: &[Part] = &[Part::LeftOfTwo, Part::RightOfTwo];
const THREE: &[Part] = &[Part::LeftOfThree, Part::CentreOfThree, Part::RightOfThree];

/// A house of one opening with these readings in sixteenths, and as many shades in it as there are parts; the choices of
/// each.
fn house(readings: &[(&str, i64)], parts: &[Part], choices: &[serde_json::Value], wall: &serde_json::Value) -> Job {
    let id = |n: usize| format!("0192a3b4-0000-7000-8000-{n:012}");
    let read: Vec<_> = readings
        .iter()
        .zip(100..)
        .map(|((place, n), i)| {
            json!({"id": id(i), "place": place, "read": Length::inches(*n, 16).show(IN), "at": "2026-05-04T09:12:00Z"})
        })
        .collect();
    let openings: Vec<_> = parts
        .iter()
        .zip(10..)
        .map(|(part, i)| {
            let first = i == 10;
            json!({
                "id": id(i), "name": part.name(), "choices": choices[(i - 10).min(choices.len() - 1)],
                "readings": if first { json!(read) } else { json!([]) },
                "wall": if first { wall.clone() } else { json!({}) },
                "shares": {"of": id(10), "part": part},
            })
        })
        .collect();
    let text = json!({"hangtrue_job": 1, "id": id(1), "name": "Larch House", "unit": "in",
        "rooms": [{"id": id(2), "name": "Study", "openings": openings}]});
    file::read(&text.to_string()).unwrap()
}

fn all<T>(job: &Job, see: impl FnOnce(&[Worked<'_>]) -> T) -> T {
    see(&work::house(job, Catalogue::standard(IN)).unwrap().openings)
}

fn inside(wide: i64, extra: &[(&'static str, i64)]) -> Vec<(&'static str, i64)> {
    let mut readings = vec![("width_top", wide), ("width_middle", wide), ("width_bottom", wide), ("height_left", 960)];
    readings.extend([("height_right", 960), ("depth", 56)]);
    readings.extend(extra);
    readings
}

/// From corner to corner of an opening of this width that is 960 high.
const fn across(wide: i64) -> i64 {
    (wide * wide + 960 * 960).isqrt()
}

fn show(length: Length) -> String {
    length.show(IN)
}

/// By pencil: 72 wide takes 71 5/8; with 1/2 between two, 71 1/8 are left, 35 9/16 each. The whole begins 3/16 from the left
/// jamb; so does the left shade. The right one begins 35 9/16 + 1/2 = 36 1/16 further, at 36 1/4, and ends at 71 13/16: 3/16
/// from the right jamb. Three in 108 1/8 with posts at 36 and 72: all together 107 3/4, from 3/16 on; the left ends 1/4 before
/// its post, at 35 3/4, and is 35 9/16; the centre is from 36 1/4 to 71 3/4, 35 1/2; the right from 72 1/4 to 107 15/16, 35 11/16.
#[test]
fn the_pencil_s_two_and_three() {
    let choices = [json!({"mount": "inside"})];
    let look = |job: &Job| -> Vec<(String, String)> {
        all(job, |ones| {
            ones.iter()
                .map(|one| {
                    let way = one.mounts.get(Form::Inside).unwrap();
                    (show(way.width.total), show(way.beside.unwrap().from_edge))
                })
                .collect()
        })
    };
    let two = house(&inside(72 * 16, &[]), TWO, &choices, &json!({}));
    assert_eq!(look(&two), [("35 9/16".into(), "3/16".into()), ("35 9/16".into(), "36 1/4".into())]);
    let posts = inside(108 * 16 + 2, &[("post_first", 36 * 16), ("post_second", 72 * 16)]);
    let three = look(&house(&posts, THREE, &choices, &json!({})));
    let right = [("35 9/16", "3/16"), ("35 1/2", "36 1/4"), ("35 11/16", "72 1/4")];
    assert_eq!(three, right.map(|(width, at)| (width.to_owned(), at.to_owned())));
}

/// Of three shades one post was read: the other is asked for, and nothing is cut before.
#[test]
fn a_post_that_is_not_read_is_asked_for() {
    let readings = inside(108 * 16, &[("post_first", 36 * 16)]);
    let job = house(&readings, THREE, &[json!({"mount": "inside"})], &json!({}));
    all(&job, |ones| {
        for one in ones {
            let asked = one.flags().into_iter().find(|flag| flag.code == "post_not_read").expect("it is asked for");
            assert_eq!(asked.places, [Place::PostSecond]);
            assert!(!one.standing.is_settled());
        }
    });
}

/// By pencil: the one behind has a 1x2, 1 1/2 deep, and 1 in for its folds; a 1x2 before it is flush where the opening is
/// 1 1/2 + 1 + 1 1/2 = 4 deep, and stands 1/2 proud where that is 3 1/2.
#[test]
fn the_one_in_front_has_the_depth_that_the_one_behind_leaves() {
    for (depth, proud) in [(64, 0), (56, 8)] {
        let mut readings = inside(34 * 16, &[]);
        readings.retain(|(place, _)| *place != "depth");
        readings.push(("depth", depth));
        let parts = [Part::Behind, Part::InFront];
        let job = house(&readings, &parts, &[json!({"mount": "inside"})], &json!({}));
        all(&job, |ones| {
            assert_eq!(ones[0].mounts.get(Form::Inside).unwrap().proud, Length::ZERO);
            assert_eq!(ones[1].mounts.get(Form::Inside).unwrap().proud, Length::inches(proud, 16));
            assert_eq!(ones[0].mounts.advised().unwrap().width.total, ones[1].mounts.advised().unwrap().width.total);
        });
    }
}

const TRIMMED: &[(&str, i64)] = &[
    ("width_top", 34 * 16),
    ("height_left", 58 * 16),
    ("trim_width", 41 * 16),
    ("trim_height", 61 * 16 + 8),
    ("trim_leg", 56),
    ("trim_thickness", 8),
    ("wall_above", 144),
    ("wall_left", 96),
    ("wall_right", 96),
    ("proud_most", 8),
];

/// From the left end of all to both ends of this one.
fn ends(way: &Mounting) -> (Length, Length) {
    let beside = way.beside.expect("it hangs beside others");
    (beside.from_left, beside.from_left + way.width.total)
}

proptest! {
    /// Shades side by side never meet, keep what is left between them, and none passes the whole; where no post parts them
    /// they are alike to the grain.
    #[test]
    fn shades_side_by_side_never_meet(
        wide in 500i64..2400, lean in -8i64..8, three: bool, outside: bool, posts in proptest::option::of((200i64..800, 800i64..1600)),
        overlap in 0i64..40,
    ) {
        let parts = if three { THREE } else { TWO };
        let mut readings = if outside { TRIMMED.to_vec() } else { inside(wide, &[]) };
        if outside {
            readings.retain(|(place, _)| !["width_top", "trim_width"].contains(place));
            readings.extend([("width_top", wide), ("trim_width", wide + 112)]);
        } else {
            readings.extend([("diagonal_rising", across(wide + lean)), ("diagonal_falling", across(wide - lean))]);
        }
        if let Some((first, second)) = posts {
            readings.push(("post_first", first));
            if three {
                readings.push(("post_second", second));
            }
        }
        let mount = if outside { json!({"mount": "outside", "side_overlap": show(Length::inches(overlap, 16))}) } else { json!({"mount": "inside"}) };
        let job = house(&readings, parts, &[mount], &json!({}));
        let settings = job.settings().unwrap();
        all(&job, |ones| {
            let forms: &[Form] = if outside { &[Form::OutsideFlush, Form::OutsideBrackets] } else { &[Form::Inside] };
            for form in forms {
                let ways: Vec<Option<&Mounting>> = ones.iter().map(|one| one.mounts.get(*form)).collect();
                for pair in ways.windows(2) {
                    let [Some(left), Some(right)] = pair else { continue };
                    prop_assert!(ends(right).0 - ends(left).1 >= settings.shades_apart);
                }
                for way in ways.iter().flatten() {
                    let whole = way.beside.unwrap().whole;
                    prop_assert!(ends(way).0 >= Length::ZERO && ends(way).1 <= whole);
                    prop_assert!(way.board_length.total < way.width.total);
                    prop_assert_eq!(way.width.lines.iter().map(|line| line.value).sum::<Length>(), way.width.total);
                }
                if let (None, Some(first)) = (posts, ways[0]) {
                    let n = i64::try_from(parts.len()).unwrap();
                    let lost = first.beside.unwrap().whole - settings.shades_apart * (n - 1) - first.width.total * n;
                    prop_assert!(!lost.is_negative() && lost < Length::inches(1, 16) * n);
                    prop_assert!(ways.iter().flatten().all(|way| way.width.total == first.width.total));
                }
            }
            Ok(())
        })?;
    }

    /// A screw that is said to be on a stud is on one (half of its 1 1/2 in to either side), whichever part of the opening its shade covers.
    #[test]
    fn a_stud_is_met_by_every_part(first in -40i64..200, three: bool, wide in 900i64..2000) {
        let parts = if three { THREE } else { TWO };
        let mut readings = TRIMMED.to_vec();
        readings.retain(|(place, _)| !["width_top", "trim_width"].contains(place));
        readings.extend([("width_top", wide - 112), ("trim_width", wide)]);
        let studs: Vec<i64> = (0..9).map(|n| first + n * 256).collect();
        let wall = json!({"above": "plasterboard", "studs": studs.iter().map(|n| {
            let text = show(Length::inches(n.abs(), 16));
            if *n < 0 { format!("-{text}") } else { text }
        }).collect::<Vec<_>>()});
        let job = house(&readings, parts, &[json!({"mount": "outside"})], &wall);
        all(&job, |ones| {
            let mut on_studs = 0;
            for one in ones {
                let (Some(way), Some(fixing)) = (one.mounts.advised(), one.shade.as_ref().and_then(|shade| shade.fixing.as_ref()))
                else { continue };
                let inset = (way.width.total - way.board_length.total).split(2, 1);
                for fixed in fixing.fixed.iter().filter(|fixed| fixed.on == Ground::Stud) {
                    let from_trim = way.beside.unwrap().from_edge + inset + fixed.at;
                    let near = studs.iter().map(|stud| (Length::inches(*stud, 16) - from_trim).abs()).min().unwrap();
                    prop_assert!(near <= Length::inches(3, 4), "{} {near:?}", one.opening.name);
                    on_studs += 1;
                }
            }
            prop_assume!(on_studs > 0);
            Ok(())
        })?;
    }

    /// Before another that hangs outside there is room for that one's folds, or it is refused.
    #[test]
    fn the_one_in_front_clears_the_one_behind(proud in 0i64..48, flush: bool, front in 0usize..3) {
        let mut readings = TRIMMED.to_vec();
        readings.retain(|(place, _)| *place != "proud_most");
        readings.push(("proud_most", proud));
        let hold = |attach: &str| json!({"mount": "outside", "attach": attach});
        let behind = hold(if flush { "flush" } else { "brackets" });
        let before = [json!({"mount": "outside"}), hold("flush"), hold("brackets")][front].clone();
        let job = house(&readings, &[Part::Behind, Part::InFront], &[behind, before], &json!({}));
        let settings = job.settings().unwrap();
        all(&job, |ones| {
            let Some(back) = ones[0].mounts.advised() else { return Ok(()) };
            for way in ones[1].mounts.can.iter().filter(|way| way.form != Form::Inside) {
                prop_assert!(way.projection - back.projection >= settings.layers_apart, "{:?}", way.form);
            }
            Ok(())
        })?;
    }

    /// What an opening's readings say is the same whether one shade hangs in it or several, beside whatever neighbours.
    #[test]
    fn sharing_an_opening_changes_nothing_of_what_its_readings_say(
        wide in 400i64..900, slip in -20i64..20, others in prop::collection::vec(-2i64..3, 0..4), three: bool,
    ) {
        let readings = |wide: i64, slip: i64| {
            let diagonal = across(wide);
            let mut all = inside(wide, &[("diagonal_rising", diagonal), ("diagonal_falling", diagonal)]);
            all[1].1 += slip;
            all
        };
        let choices = [json!({"mount": "inside"})];
        let mut job = house(&readings(wide, slip), &[Part::LeftOfTwo], &choices, &json!({}));
        job.rooms[0].openings[0].shares = None;
        for (n, apart) in others.iter().enumerate() {
            let mut other = house(&readings(wide + apart, 0), &[Part::LeftOfTwo], &choices, &json!({})).rooms[0].openings.remove(0);
            other.shares = None;
            other.id = Uuid::from_u128(1000 + u128::try_from(n).unwrap());
            for reading in &mut other.readings {
                reading.id = Uuid::from_u128(reading.id.as_u128() + 1000 * (1 + u128::try_from(n).unwrap()));
            }
            job.rooms[0].openings.push(other);
        }
        let mut several = job.clone();
        let first = several.rooms[0].openings[0].clone();
        for (n, part) in (if three { THREE } else { TWO }).iter().enumerate() {
            let shares = Some(Shares { of: first.id, part: *part });
            if n == 0 {
                several.rooms[0].openings[0].shares = shares;
            } else {
                let mut other = Opening::new(Uuid::from_u128(500 + u128::try_from(n).unwrap()), part.name().to_owned());
                other.choices = first.choices.clone();
                other.shares = shares;
                several.rooms[0].openings.push(other);
            }
        }
        spread(&mut several);
        let once = several.clone();
        spread(&mut several);
        prop_assert_eq!(&once, &several);
        let says = |job: &Job| all(job, |ones| {
            ones.iter().map(|one| (one.opening.id, one.truth.chance_all_right, one.truth.suspects.clone())).collect::<Vec<_>>()
        });
        let (alone, shared) = (says(&job), says(&several));
        for (id, chance, suspects) in &alone {
            let (_, now, then) = shared.iter().find(|(other, ..)| other == id).unwrap();
            prop_assert_eq!((chance, suspects), (now, then));
        }
        let in_it = shared.iter().filter(|(id, ..)| !alone.iter().any(|(other, ..)| other == id));
        for (_, chance, suspects) in in_it {
            prop_assert!((chance - alone[0].1).abs() < 1e-9 && suspects.len() == alone[0].2.len());
        }
    }
}

/// On the walk: one opening becomes two in a touch; what is read in either is read for both, taken back for both, and stays
/// when one is taken out; what is around is said once; and the file has it once.
#[test]
fn on_the_walk_what_is_read_in_one_is_read_for_all() {
    let mut desk = Bench::new(&one_window());
    let first = desk.now().openings().next().unwrap().1.id;
    let before = desk.now().rooms[0].openings[0].readings.len();
    desk.act(&Event::GiveWords { slot: format!("shades/{first}"), text: "Two side by side".to_owned() }).unwrap();
    let now = desk.now();
    let names: Vec<&str> = now.rooms[0].openings.iter().take(2).map(|one| one.name.as_str()).collect();
    assert!(names[0].ends_with("left") && names[1].ends_with("right"), "{names:?}");
    let second = now.rooms[0].openings[1].id;
    assert_eq!(now.rooms[0].openings[1].in_the_wall(), first);
    assert_eq!(now.rooms[0].openings[1].readings.len(), before);
    desk.read(second, Place::PostFirst, "17 1/2");
    let read = |desk: &Bench, id: Uuid| {
        let job = desk.now();
        let (_, one) = job.openings().find(|(_, one)| one.id == id).unwrap();
        one.standing(Place::PostFirst).next().map(|reading| (reading.id, show(reading.value())))
    };
    let (reading, text) = read(&desk, first).unwrap();
    assert_eq!(text, "17 1/2");
    desk.act(&Event::Choose { on: second, field: "wall.no_trim".to_owned(), value: Some("true".to_owned()) }).unwrap();
    desk.act(&Event::SetAll {
        changes: vec![Change { on: second, field: "wall.tiled".to_owned(), value: Some("true".to_owned()) }],
    })
    .unwrap();
    assert!(
        desk.now()
            .openings()
            .filter(|(_, one)| one.in_the_wall() == first)
            .all(|(_, one)| one.wall.no_trim && one.wall.tiled)
    );
    // The file has the readings once, and gives them to both again.
    let text = file::write(&desk.now());
    assert_eq!(text.matches("\"post_first\"").count(), 1);
    assert_eq!(file::write(&file::read(&text).unwrap()), text);
    desk.act(&Event::Withdraw { reading, why: "another window".to_owned() }).unwrap();
    assert!(read(&desk, first).is_none() && read(&desk, second).is_none());
    // The same again is the same part of the opening, not the whole of it, and two readings confirm it.
    let width = |desk: &Bench, id: Uuid| {
        let job = desk.now();
        let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
        let one = house.opening(id).unwrap();
        (
            one.mounts.get(Form::Inside).map(|way| way.width.total),
            one.flags().iter().any(|flag| flag.code == "made_again"),
        )
    };
    desk.act(&Event::Mark { opening: second, step: Step::Hung }).unwrap();
    desk.act(&Event::Again { opening: second }).unwrap();
    let again = desk.now().rooms[0].openings.iter().find(|one| one.name.ends_with("again")).unwrap().id;
    assert_eq!(width(&desk, again), (width(&desk, second).0, true));
    desk.act(&Event::Remove { on: again }).unwrap();
    // Taken out, the first leaves what was read to the other.
    desk.act(&Event::Remove { on: first }).unwrap();
    let job = desk.now();
    assert_eq!(job.rooms[0].openings[0].id, second);
    assert_eq!(job.rooms[0].openings[0].readings.len(), before + 1);
    // And what is around is said of what is left, also where the first never came.
    let around = |desk: &Bench| desk.now().openings().find(|(_, one)| one.id == second).unwrap().1.wall.clone();
    desk.act(&Event::Choose { on: second, field: "wall.door".to_owned(), value: Some("true".to_owned()) }).unwrap();
    assert!(around(&desk).door && around(&desk).no_trim && around(&desk).tiled);
    let mut other = Bench::new(&file::read(&file::write(&desk.now())).unwrap());
    assert_eq!(around(&other), around(&desk));
    other.act(&Event::Choose { on: second, field: "wall.escape".to_owned(), value: Some("true".to_owned()) }).unwrap();
    assert!(around(&other).escape && around(&other).door);
    desk.act(&Event::BringBack { on: first }).unwrap();
    // Put before the first in the walk, the other has what is around all the same, in its file too.
    let order = Change { on: second, field: "order".to_owned(), value: Some("1".to_owned()) };
    desk.act(&Event::SetAll { changes: vec![order] }).unwrap();
    let text = file::write(&desk.now());
    assert!(file::read(&text).unwrap().openings().all(|(_, one)| one.wall.no_trim && one.wall.door));
    assert_eq!(text.matches("\"post_first\"").count(), 1);
    // Nothing is split twice, and what is no way to share is refused in words.
    let again = Event::GiveWords { slot: format!("shades/{first}"), text: "Three side by side".to_owned() };
    let said = desk.act(&again).unwrap_err();
    assert!(said.contains("several shades already"), "{said}");
}

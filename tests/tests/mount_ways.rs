//! The ways to mount a shade that a week brings, each against its own arithmetic: thick trim, packing, a ceiling, a
//! beam, plaster without trim, shades alike, a metric house. Common practice, no published source, unless a test names
//! one. Readings are invented.

use hangtrue_core::buying::{Buying, Shop};
use hangtrue_core::fixing::{self, Fixing, Ground, Hung};
use hangtrue_core::house::{Job, Opening, Place, file};
use hangtrue_core::length::{Length, LengthUnit, with_default_unit};
use hangtrue_core::mount::{self, Catalogue, Form, Mounting, Mounts};
use hangtrue_core::settings::Settings;
use hangtrue_core::{truth, work};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::path::Path;

const IN: LengthUnit = LengthUnit::Inch;
const MM: LengthUnit = LengthUnit::Millimetre;

fn opening(unit: LengthUnit, readings: &[(&str, String)], more: &Value) -> Opening {
    let readings: Vec<Value> = readings
        .iter()
        .enumerate()
        .map(|(i, (place, read))| {
            let id = format!("0192a3b4-0000-7000-8000-{i:012}");
            json!({"id": id, "place": place, "read": read, "at": "2026-05-04T09:12:00Z"})
        })
        .collect();
    let mut all = json!({"id": "0192a3b4-0000-7000-9000-000000000001", "name": "north", "readings": readings});
    for (name, value) in more.as_object().unwrap() {
        all[name] = value.clone();
    }
    with_default_unit(unit, || serde_json::from_value(all)).unwrap()
}

fn mounts(unit: LengthUnit, opening: &Opening, settings: &Settings) -> Mounts {
    let truth = truth::judge(opening, &[], settings, unit);
    mount::work(opening, &truth, settings, Catalogue::standard(unit), unit)
}

/// Trim of this thickness over an opening of 36 by 60, in inches, with more readings and fields.
fn trimmed(thickness: &str, more: &[(&'static str, &str)], fields: &Value) -> (Opening, Mounts) {
    let base = [
        ("width_top", "36"),
        ("width_middle", "36"),
        ("width_bottom", "36"),
        ("height_left", "60"),
        ("height_right", "60"),
        ("trim_width", "43"),
        ("trim_height", "63 1/2"),
        ("trim_thickness", thickness),
        ("wall_above", "9"),
        ("wall_left", "6"),
        ("wall_right", "6"),
    ];
    let readings: Vec<(&str, String)> = base
        .iter()
        .filter(|(place, _)| more.iter().all(|(other, _)| other != place))
        .chain(more)
        .filter(|(_, read)| !read.is_empty())
        .map(|(place, read)| (*place, (*read).to_owned()))
        .collect();
    let opening = opening(IN, &readings, fields);
    let mounts = mounts(IN, &opening, &Settings::INCHES);
    (opening, mounts)
}

fn show(length: Length) -> String {
    length.show(IN)
}

fn get(mounts: &Mounts, form: Form) -> &Mounting {
    mounts.get(form).unwrap_or_else(|| panic!("{form:?}: {:?}", mounts.cannot))
}

fn fix(opening: &Opening, mounting: &Mounting, weight_lbf: f64) -> Fixing {
    let hung = Hung { mounting, wall: &opening.wall, eyes: &[], control_at: None, weight_lbf, bar: None };
    fixing::work(&hung, &Settings::INCHES, Catalogue::standard(IN), IN)
}

// ---- Thick trim ----

#[test]
fn thick_trim_forces_no_deeper_board_where_the_fabric_may_rest_on_it() {
    let (_, mounts) = trimmed("3/4", &[], &json!({}));
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!(flush.board.size.name(), "1x2");
    assert_eq!([show(flush.projection), show(flush.packing), show(flush.above_trim)], ["3/4", "0", "0"]);
    assert_eq!(show(flush.length.total), "64 3/4"); // 63 1/2 - 1/4 + 1 1/2
    assert!(flush.flags.iter().any(|flag| flag.code == "rests_on_trim"));
    // The ways, each with what it does: rests; 3/4 off it on the trim; 1/4 off it with packing; 3/4 with a deeper board.
    let said: Vec<(String, String, Option<String>, String)> = flush
        .flush_ways
        .iter()
        .filter(|way| way.why_not.is_none())
        .map(|way| (way.what.clone(), show(way.projection), way.off_trim.map(show), show(way.length)))
        .collect();
    let way = |what: &str, out: &str, off: &str, length: &str| {
        (what.to_owned(), out.to_owned(), Some(off.to_owned()), length.to_owned())
    };
    assert!(said.contains(&way("1x2 on the flat wall above the trim", "3/4", "0", "64 3/4")), "{said:?}");
    assert!(said.contains(&way("1x2 on the flat trim", "1 1/2", "3/4", "63 1/4")), "{said:?}");
    let packed = "1x2 on the flat wall above the trim, 1/4 in of packing behind it";
    assert!(said.contains(&way(packed, "1", "1/4", "64 3/4")), "{said:?}");
    assert!(said.contains(&way("2x2 on the flat wall above the trim", "1 1/2", "3/4", "64 3/4")), "{said:?}");
}

#[test]
fn where_a_plain_board_would_not_reach_past_the_trim_the_next_way_is_taken() {
    // 1 1/4 in of flat trim, its head 3 1/2 high: the plain board goes on the trim itself.
    let (_, mounts) = trimmed("1 1/4", &[], &json!({}));
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!(flush.board.size.name(), "1x2");
    assert_eq!([show(flush.above_trim), show(flush.projection)], ["-1 1/2", "2"]);
    assert_eq!(show(flush.length.total), "63 1/4"); // 63 1/2 - 1/4 - 1 1/2 + 1 1/2
    // Moulded, there is no bearing on it: 1 1/4 + 1/4 of clearance - 3/4 of board is 3/4 of packing.
    let (_, mounts) = trimmed("1 1/4", &[], &json!({"wall": {"trim_moulded": true}}));
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!([show(flush.packing), show(flush.projection)], ["3/4", "1 1/2"]);
    // A head trim lower than the board is wide takes none either.
    let (_, mounts) = trimmed("1 1/4", &[("trim_height", "61")], &json!({}));
    assert_eq!(show(get(&mounts, Form::OutsideFlush).packing), "3/4");
    // Where the house wants no packing, a deeper board: 2x2.
    let (opening, _) = trimmed("1 1/4", &[], &json!({"wall": {"trim_moulded": true}}));
    let settings = Settings { packing_most: Length::ZERO, ..Settings::INCHES };
    let flush = self::mounts(IN, &opening, &settings);
    let flush = get(&flush, Form::OutsideFlush);
    assert_eq!((flush.board.size.name(), show(flush.packing)), ("2x2".to_owned(), "0".to_owned()));
}

#[test]
fn a_chosen_place_or_packing_is_kept_and_says_what_else_would_be() {
    let chosen =
        json!({"choices": {"mount": "outside", "attach": "flush", "board": "1x2", "above_trim": "0", "packing": "0"}});
    let (_, mounts) = trimmed("1 1/4", &[], &chosen);
    assert!(mounts.get(Form::OutsideFlush).is_none());
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideFlush).unwrap();
    assert!(
        refusal.why.contains("needs 1 1/4 in projection to clear the trim; this board gives 3/4 in"),
        "{refusal:?}"
    );
    assert!(refusal.would.contains("1x2 on the flat trim") && refusal.would.contains("packing"), "{refusal:?}");
    let packed = json!({"choices": {"packing": "1/2"}});
    let (_, mounts) = trimmed("3/4", &[], &packed);
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!([show(flush.packing), show(flush.projection)], ["1/2", "1 1/4"]);
}

#[test]
fn every_way_offered_is_the_way_that_comes_when_it_is_chosen() {
    for thickness in ["1/2", "3/4", "1", "1 1/4", "1 3/4"] {
        let (_, mounts) = trimmed(thickness, &[("trim_leg", "3 1/2")], &json!({}));
        let Some(flush) = mounts.get(Form::OutsideFlush) else { continue };
        assert_eq!(flush.flush_ways.iter().filter(|way| way.taken).count(), 1);
        for way in flush.flush_ways.iter().filter(|way| way.why_not.is_none()) {
            let mut choices = json!({"mount": "outside", "attach": "flush"});
            for (field, value) in &way.set {
                choices[field.strip_prefix("choices.").unwrap()] = json!(value);
            }
            let (_, again) = trimmed(thickness, &[("trim_leg", "3 1/2")], &json!({"choices": choices}));
            let found = get(&again, Form::OutsideFlush);
            assert_eq!((found.board.size, found.packing, found.above_trim), (way.board, way.packing, way.above_trim));
            assert_eq!((found.projection, found.length.total), (way.projection, way.length), "{}", way.what);
        }
    }
}

#[test]
fn packing_behind_the_board_makes_its_screws_longer() {
    let fields = |packing: &str| json!({"choices": {"packing": packing}, "wall": {"above": "wood"}});
    let bites = |packing: &str| {
        let (opening, mounts) = trimmed("1/2", &[], &fields(packing));
        let flush = get(&mounts, Form::OutsideFlush);
        let found = fix(&opening, flush, 4.0);
        let screw = found.screws[0].clone();
        // What it passes is the board, the packing and the plaster; the rest of it is in the wood.
        let passes = Length::inches(3, 4) + flush.packing + Length::inches(1, 2);
        assert_eq!((screw.passes, screw.length - screw.bites), (passes, passes));
        assert!(screw.bites >= Settings::INCHES.screw_bite);
        screw.length
    };
    assert!(bites("3/4") >= bites("0") + Length::inches(1, 2));
}

// ---- Ceiling, beam, plaster ----

#[test]
fn under_the_ceiling_the_drop_is_counted_from_it() {
    let fields = json!({"choices": {"mount": "outside", "attach": "ceiling"},
                        "wall": {"ceiling": "plasterboard", "joists": ["2 1/2", "21 1/2", "40 1/2"]}});
    let (opening, mounts) =
        trimmed("3/4", &[("ceiling_to_sill", "84"), ("wall_above", "20 1/2"), ("proud_most", "2")], &fields);
    assert_eq!(mounts.advised, Some(Form::OutsideCeiling));
    let found = get(&mounts, Form::OutsideCeiling);
    assert_eq!(show(found.length.total), "83 3/4"); // 84 - 1/4
    assert_eq!(show(found.width.total), "44");
    // A handle of 2 in and 1/4 of clearance: the 1 1/2 in board stands 3/4 in off the wall.
    assert_eq!([show(found.off_wall), show(found.projection)], ["3/4", "2 1/4"]);
    assert_eq!(show(found.above_sill), "84");
    // Straight pull on screws into joists, as inside: each carries what comes down on it and nothing across.
    let fixing = fix(&opening, found, 6.0);
    assert!(
        fixing.fixed.iter().all(|fixed| fixed.on == Ground::Stud && fixed.reason.contains("joist")),
        "{:?}",
        fixing.fixed
    );
    for fixed in &fixing.fixed {
        assert!((fixed.load.pull_lbf - fixed.load.down_lbf.max(0.0)).abs() < 1e-9 && fixed.load.across_lbf == 0.0);
    }
    let screw = &fixing.screws[0];
    assert_eq!(screw.length - screw.bites, Length::inches(5, 4)); // 3/4 of board, 1/2 of plasterboard
    // Without joists it would hang on anchors for good: a person decides that.
    let bare = json!({"choices": {"mount": "outside", "attach": "ceiling"}});
    let (opening, mounts) = trimmed("3/4", &[("ceiling_to_sill", "84")], &bare);
    let fixing = fix(&opening, get(&mounts, Form::OutsideCeiling), 6.0);
    assert!(fixing.flags.iter().any(|flag| flag.code == "anchor_in_ceiling"));
    // Unread, it says which reading is wanted.
    let (_, mounts) = trimmed("3/4", &[], &bare);
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideCeiling).unwrap();
    assert_eq!(refusal.missing, [Place::CeilingToSill]);
}

#[test]
fn a_cornice_and_a_ceiling_too_low_are_said() {
    let fields = json!({"choices": {"mount": "outside", "attach": "ceiling"}});
    // 84 - 63 1/2 is 20 1/2 of wall, and only 18 of it are free.
    let (_, mounts) = trimmed("3/4", &[("ceiling_to_sill", "84"), ("wall_above", "18")], &fields);
    let flags = &get(&mounts, Form::OutsideCeiling).flags;
    assert!(flags.iter().any(|flag| flag.code == "cornice" && flag.says.contains("2 1/2 in")), "{flags:?}");
    let (_, mounts) = trimmed("3/4", &[("ceiling_to_sill", "64")], &fields);
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideCeiling).unwrap();
    assert!(refusal.why.contains("The ceiling is 1/2 in above the trim"), "{refusal:?}");
}

#[test]
fn on_a_beam_the_board_goes_by_the_opening_and_its_screws_pass_no_plaster() {
    let fields = json!({"choices": {"mount": "outside", "attach": "face", "above_trim": "1"}});
    let (opening, mounts) = trimmed("3/4", &[("face_above", "6"), ("face_out", "1 1/2")], &fields);
    let found = get(&mounts, Form::OutsideFace);
    assert_eq!(show(found.width.total), "39"); // 36 and 1 1/2 each side
    assert_eq!(show(found.length.total), "62 1/4"); // 60 - 1/4 + 1 + 1 1/2
    assert_eq!(show(found.projection), "2 1/4"); // 1 1/2 of beam and 3/4 of board
    let fixing = fix(&opening, found, 4.0);
    let screw = &fixing.screws[0];
    assert_eq!(screw.length - screw.bites, Length::inches(3, 4));
    assert!(fixing.fixed.iter().all(|fixed| fixed.on == Ground::Wood));
    let (_, mounts) = trimmed("3/4", &[("face_above", "2"), ("face_out", "1 1/2")], &fields);
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideFace).unwrap();
    assert!(
        refusal.why.contains("needs 2 1/2 in above the lower edge of the face, and there is 2 in of face"),
        "{refusal:?}"
    );
}

#[test]
fn without_trim_the_overlap_is_its_own_and_screws_keep_off_the_plasters_edge() {
    let fields = json!({"wall": {"no_trim": true, "above": "wood"}});
    let (opening, mounts) = trimmed("3/4", &[("wall_left", "2"), ("wall_right", "30")], &fields);
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!(show(flush.width.total), "39"); // 36 and 1 1/2 each side
    // The screw is 3/4 in above the bottom of the board: 1/4 in higher it is 1 in from the edge.
    assert_eq!(show(flush.above_trim), "1/4");
    assert_eq!(show(flush.length.total), "61 1/2"); // 60 - 1/4 + 1/4 + 1 1/2
    let brackets = get(&mounts, Form::OutsideBrackets);
    let lowest = brackets.bracket.as_ref().unwrap().wall_holes.iter().copied().min().unwrap();
    assert!(brackets.above_trim + lowest >= Settings::INCHES.plaster_edge);
    // At the left the wall ends 2 - 1 1/2 past the shade: with a wide edge to keep, the first screw moves in.
    let settings = Settings { plaster_edge: Length::whole_inches(5), ..Settings::INCHES };
    let wide = self::mounts(IN, &opening, &settings);
    let flush = get(&wide, Form::OutsideFlush);
    let hung = Hung { mounting: flush, wall: &opening.wall, eyes: &[], control_at: None, weight_lbf: 4.0, bar: None };
    let found = fixing::work(&hung, &settings, Catalogue::standard(IN), IN);
    // 5 in from the edge: 1/2 in of wall past the shade and 1/16 in that the board is short at this end.
    assert!(found.fixed[0].at >= Length::inches(71, 16), "{:?}", found.fixed);
    // Set lower by hand it is asked about.
    let low = json!({"wall": {"no_trim": true}, "choices": {"above_trim": "0"}});
    let (_, mounts) = trimmed("3/4", &[], &low);
    let flags = &get(&mounts, Form::OutsideFlush).flags;
    assert!(flags.iter().any(|flag| flag.code == "screws_near_plaster_edge"), "{flags:?}");
}

// ---- Settings and units ----

#[test]
fn an_absurd_deduction_is_questioned() {
    let settings = Settings { inside_width_deduction: Length::whole_inches(40), ..Settings::INCHES };
    let doubts = settings.unlikely(IN);
    assert_eq!(doubts.len(), 1);
    assert_eq!(doubts[0].says, "The setting \"inside width deduction\" is 40 in; the default is 3/8 in.");
    let read = |width: &str| {
        let readings: Vec<(&str, String)> = [
            ("width_top", width),
            ("width_middle", width),
            ("width_bottom", width),
            ("height_left", "60"),
            ("depth", "3"),
        ]
        .map(|(place, read)| (place, read.to_owned()))
        .to_vec();
        mounts(IN, &opening(IN, &readings, &json!({})), &settings)
    };
    let wide = read("80");
    let flags = &get(&wide, Form::Inside).flags;
    assert!(flags.iter().any(|flag| flag.code == "setting_unlikely" && flag.says.contains("40 in")), "{flags:?}");
    let narrow = read("36");
    let refusal = &narrow.cannot[0];
    assert!(refusal.why.contains("no larger than what is taken off (40 in"), "{refusal:?}");
    for unit in [IN, MM] {
        assert!(Settings::defaults(unit).unlikely(unit).is_empty());
    }
}

/// No default of a metric house is an inch, or a simple part of one, rounded to millimetres: each is a number that a
/// metric rule is set by (under 10, or a multiple of 2 to 20, of 5 to 400, of 10 beyond).
#[test]
fn a_metric_house_is_metric_all_through() {
    for row in Settings::MILLIMETRES.rows(MM) {
        if let hangtrue_core::settings::Value::Length(length) = row.value {
            let mm = length.nm() / 1_000_000;
            assert_eq!(length, Length::mm(mm), "{}", row.name);
            let plain = mm <= 10 || (mm <= 50 && mm % 2 == 0) || (mm <= 400 && mm % 5 == 0) || mm % 100 == 0;
            assert!(plain && mm != 38, "{} is {mm} mm", row.name);
        }
    }
    let catalogue = Catalogue::standard(MM);
    for board in catalogue.usual_boards() {
        // A board is called by what it measures.
        let name = format!("{}x{}", board.thickness.show(MM), board.width.show(MM));
        assert_eq!(board.size.name(), name);
    }
    let readings: Vec<(&str, String)> = [
        ("width_top", "900"),
        ("width_middle", "900"),
        ("width_bottom", "900"),
        ("height_left", "1500"),
        ("height_right", "1500"),
        ("depth", "90"),
        ("trim_width", "1040"),
        ("trim_height", "1570"),
        ("trim_thickness", "15"),
        ("wall_above", "300"),
    ]
    .map(|(place, read)| (place, read.to_owned()))
    .to_vec();
    let metric = mounts(MM, &opening(MM, &readings, &json!({})), &Settings::MILLIMETRES);
    for form in [Form::Inside, Form::OutsideFlush, Form::OutsideBrackets] {
        assert!(get(&metric, form).board.size.name().starts_with("18x"), "{form:?}");
    }
    assert_eq!(get(&metric, Form::OutsideFlush).width.total, Length::mm(1070));
    // A job of before that names a trade size keeps its timber.
    let old = mounts(MM, &opening(MM, &readings, &json!({"choices": {"board": "1x2"}})), &Settings::MILLIMETRES);
    let board = &get(&old, Form::Inside).board;
    assert_eq!((board.thickness, board.width), (Length::mm(19), Length::mm(38)));
}

// ---- Raised stack ----

fn heron() -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses/heron-lane.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// The demo house with one opening's record changed.
fn changed(name: &str, change: impl Fn(&mut Value)) -> Job {
    let mut house = heron();
    for room in house["rooms"].as_array_mut().unwrap() {
        for opening in room["openings"].as_array_mut().unwrap() {
            if opening["name"] == name {
                change(opening);
            }
        }
    }
    file::read(&house.to_string()).unwrap()
}

#[test]
fn the_raised_stack_is_measured_from_the_head_only_where_it_is_known() {
    let raised = |job: &Job| {
        let worked = work::house(job, Catalogue::standard(job.unit)).unwrap();
        let one = worked.openings.iter().find(|one| one.opening.name == "French door").unwrap();
        let made = one.shade.as_ref().unwrap().makeup.as_ref().unwrap();
        let says = made.flags.iter().find(|flag| flag.code == "raised_stack").unwrap().says.clone();
        (made.raised, says)
    };
    let (known, says) = raised(&changed("French door", |_| {}));
    assert!(known.from_head && says.contains("head of the opening"), "{says}");
    let (unknown, says) = raised(&changed("French door", |opening| {
        opening["readings"].as_array_mut().unwrap().retain(|reading| {
            let place = reading["place"].as_str().unwrap();
            !place.starts_with("height") && !place.starts_with("diagonal")
        });
    }));
    assert!(!unknown.from_head && says.contains("below the top of the trim"), "{says}");
    // The head is 81 1/2 - 78 below the top of the trim: so much less hangs below it.
    assert_eq!(unknown.covers - known.covers, Length::inches(7, 2));
    assert_eq!(unknown.height, known.height);
}

// ---- Shades alike ----

fn bought(job: &Job) -> Buying {
    let worked = work::house(job, Catalogue::standard(job.unit)).unwrap();
    work::buying(&worked, Shop::standard(job.unit))
}

/// The demo house with nothing in it but one opening, so many times, or so many alike.
fn only(name: &str, copies: usize, alike: usize) -> Job {
    let mut house = heron();
    let rooms = house["rooms"].as_array().unwrap();
    let find = |room: &&Value| room["openings"].as_array().unwrap().iter().any(|opening| opening["name"] == name);
    let mut room = rooms.iter().find(find).unwrap().clone();
    let all = room["openings"].as_array().unwrap();
    let mut one = all.iter().find(|opening| opening["name"] == name).unwrap().clone();
    one["asks"] = json!([]);
    one["choices"]["count"] = json!(alike);
    let copies: Vec<Value> = (0..copies)
        .map(|n| {
            let mut copy = one.clone();
            copy["id"] = json!(format!("0192a3b4-0000-7000-a000-{n:012}"));
            copy["name"] = json!(format!("{name} {n}"));
            for (i, reading) in copy["readings"].as_array_mut().unwrap().iter_mut().enumerate() {
                reading["id"] = json!(format!("0192a3b4-0000-7000-b{n:03}-{i:012}"));
                for link in ["amends", "answers"] {
                    reading.as_object_mut().unwrap().remove(link);
                }
            }
            for part in ["notes", "photos"] {
                copy.as_object_mut().unwrap().remove(part);
            }
            copy
        })
        .collect();
    room["openings"] = json!(copies);
    house["rooms"] = json!([room]);
    file::read(&house.to_string()).unwrap()
}

#[test]
fn a_number_of_shades_alike_is_one_to_ninety_nine() {
    for (count, good) in [(0, false), (1, true), (2, true), (99, true), (100, false), (-1, false)] {
        let mut house = heron();
        house["rooms"][0]["openings"][0]["choices"]["count"] = json!(count);
        let read = file::read(&house.to_string());
        assert_eq!(read.is_ok(), good, "{count}");
        if let Err(problem) = read {
            assert!(problem.path.ends_with("choices.count") && problem.right.contains("1 to 99"), "{problem}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Shades alike buy exactly what as many openings of the same readings and choices buy.
    #[test]
    fn shades_alike_buy_what_as_many_openings_buy(
        name in prop::sample::select(vec!["Over the sink", "East", "French door", "Left of the hearth", "Dormer"]),
        count in 1_usize..6,
    ) {
        let (alike, one) = (bought(&only(name, 1, count)), bought(&only(name, 1, 1)));
        let copies = bought(&only(name, count, 1));
        prop_assert_eq!(&alike.sections, &copies.sections);
        prop_assert_eq!(alike.cost_cents, copies.cost_cents);
        for (many, single) in alike.cloths.iter().zip(&one.cloths) {
            prop_assert_eq!(many.wants.len(), single.wants.len() * count);
            let area = |wants: &[hangtrue_core::cloth::Want]| -> i128 {
                wants.iter().map(|want| i128::from(want.width.nm()) * i128::from(want.length.nm())).sum()
            };
            prop_assert_eq!(area(&many.wants), area(&single.wants) * i128::try_from(count).unwrap());
        }
        for (many, single) in alike.sticks.iter().zip(&one.sticks) {
            let sum = |plan: &hangtrue_core::buying::StickPlan| -> Length {
                plan.request.pieces.iter().map(|piece| piece.length * i64::from(piece.count)).sum()
            };
            prop_assert_eq!(sum(many), sum(single) * i64::try_from(count).unwrap());
        }
        // What is counted in whole things multiplies exactly.
        let needs = |buying: &Buying| -> Vec<(String, u64)> {
            let items = buying.sections.iter().flat_map(|section| &section.items);
            items.filter_map(|item| Some((item.what.clone(), item.need.parse().ok()?))).collect()
        };
        let single = needs(&one);
        prop_assert!(!single.is_empty());
        let times: Vec<(String, u64)> = single.into_iter().map(|(what, need)| (what, need * count as u64)).collect();
        prop_assert_eq!(needs(&alike), times);
    }
}

// ---- Any opening ----

/// A reading in the tape's grains: sixteenths of an inch, or millimetres.
fn tape(unit: LengthUnit, grains: i64) -> Length {
    if unit == IN { Length::inches(grains, 16) } else { Length::mm(grains * 2) }
}

#[derive(Clone, Debug)]
struct Any {
    unit: LengthUnit,
    readings: Vec<(&'static str, Length)>,
    fields: Value,
}

fn any_opening() -> impl Strategy<Value = Any> {
    let read = (200_i64..900, 300_i64..1300, 0_i64..64, 0_i64..60, 0_i64..200, 0_i64..160, 20_i64..120);
    let kinds = (any::<bool>(), any::<bool>(), any::<bool>(), any::<bool>(), 0_usize..6, 0_usize..4);
    let chosen = (prop::option::of(-40_i64..64), prop::option::of(0_i64..24), prop::option::of(0_i64..64), 0_usize..7);
    (read, kinds, chosen).prop_map(|(read, kinds, chosen)| {
        let (width, height, thick, proud, wall, ceiling, head) = read;
        let (metric, no_trim, moulded, dark, attach, foot) = kinds;
        let (above, packing, off, board) = chosen;
        let unit = if metric { MM } else { IN };
        let at = |grains: i64| tape(unit, grains);
        let mut readings = vec![
            ("width_top", at(width)),
            ("width_middle", at(width + 1)),
            ("width_bottom", at(width)),
            ("height_left", at(height)),
            ("height_right", at(height)),
            ("depth", at(head)),
            ("wall_above", at(wall)),
            ("wall_left", at(wall)),
            ("wall_right", at(wall)),
            ("proud_most", at(proud)),
            ("sill_out", at(proud / 2)),
            ("sill_to_floor", at(400)),
            ("sill_to_apron_foot", at(60)),
            ("ceiling_to_sill", at(height + head + ceiling)),
            ("face_above", at(wall)),
            ("face_out", at(thick)),
        ];
        if !no_trim {
            readings.extend([
                ("trim_width", at(width + 2 * head)),
                ("trim_height", at(height + head)),
                ("trim_leg", at(head)),
                ("trim_thickness", at(thick)),
            ]);
        }
        let foot = ["sill", "sill", "apron", "floor"][foot];
        let mut choices = json!({"dark": dark, "foot": foot});
        if let Some(attach) = [None, None, Some("flush"), Some("brackets"), Some("ceiling"), Some("face")][attach] {
            choices["attach"] = json!(attach);
        }
        for (field, grains) in [("above_trim", above), ("packing", packing), ("off_wall", off)] {
            if let Some(grains) = grains {
                choices[field] = json!(at(grains).show(unit));
            }
        }
        let boards: Vec<_> = Catalogue::standard(unit).boards.iter().map(|board| board.size).collect();
        if board < boards.len() && board < 6 {
            choices["board"] = json!(boards[board]);
        }
        let fields = json!({"choices": choices, "wall": {"no_trim": no_trim, "trim_moulded": moulded}});
        Any { unit, readings, fields }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever is read and chosen, every way that is offered adds up, clears what it must and fits where it goes; its
    /// length is the sum of the readings, worked once more here.
    #[test]
    fn every_way_that_is_offered_adds_up_and_clears(any in any_opening()) {
        let Any { unit, readings, fields } = any;
        let settings = Settings::defaults(unit);
        let texts: Vec<(&str, String)> = readings.iter().map(|(place, read)| (*place, read.show(unit))).collect();
        let opening = opening(unit, &texts, &fields);
        let found = mounts(unit, &opening, &settings);
        let at = |place: &str| readings.iter().find(|(other, _)| *other == place).map(|(_, read)| *read);
        let no_trim = opening.wall.no_trim;
        let choices = &opening.choices;
        prop_assert!(found.can.iter().any(|way| Some(way.form) == found.advised) || found.can.is_empty());
        for way in &found.can {
            for sum in [&way.width, &way.length, &way.board_length] {
                prop_assert_eq!(sum.lines.iter().map(|line| line.value).sum::<Length>(), sum.total);
            }
            prop_assert!(way.clear.iter().all(|clear| clear.holds != Some(false)) || way.form == Form::Inside, "{:?}", way.clear);
            if way.form == Form::Inside {
                continue;
            }
            // What must be cleared, from the readings alone.
            let trim = at("trim_thickness").filter(|_| !no_trim);
            let below = !matches!(choices.foot, hangtrue_core::house::Foot::Sill);
            let may_rest = way.form.is_on_face() && !opening.wall.trim_moulded;
            let gap = settings.projection_clearance;
            let mut needs = Length::ZERO;
            if let Some(trim) = trim {
                needs = needs.max(if may_rest { trim } else { trim + gap });
            }
            let proud = at("proud_most").unwrap();
            let behind_trim = may_rest && trim.is_some_and(|trim| proud <= trim);
            needs = needs.max(if behind_trim { proud } else { proud + gap });
            if below {
                needs = needs.max(at("sill_out").unwrap() + gap);
            }
            prop_assert!(way.projection >= needs, "{:?} {} {}", way.form, way.projection.show(unit), needs.show(unit));
            let out = if way.form.is_on_face() { way.board.thickness } else { way.board.width };
            prop_assert_eq!(way.projection, way.bearing + way.packing + way.off_wall + out);
            // The length, from the readings alone.
            let foot = match choices.foot {
                hangtrue_core::house::Foot::Sill => -settings.outside_foot_clearance,
                hangtrue_core::house::Foot::Apron => at("sill_to_apron_foot").unwrap(),
                hangtrue_core::house::Foot::Floor => at("sill_to_floor").unwrap() - settings.floor_clearance,
            };
            let by_opening = no_trim || way.form == Form::OutsideFace;
            let top = if by_opening { at("height_left").unwrap() } else { at("trim_height").unwrap() };
            let length = match way.form {
                Form::OutsideCeiling => at("ceiling_to_sill").unwrap() + foot,
                _ => top + foot + way.above_trim + way.adds_above,
            };
            prop_assert_eq!(way.length.total, length);
            let overlap = match choices.dark {
                true => settings.dark_side_overlap,
                false if by_opening => settings.no_trim_overlap,
                false => settings.outside_side_overlap,
            };
            let across = if by_opening { at("width_middle").unwrap() } else { at("trim_width").unwrap() };
            prop_assert_eq!(way.width.total, across + overlap * 2);
            // It fits where it goes.
            match way.form {
                Form::OutsideCeiling => {
                    prop_assert_eq!(top + way.above_trim + way.adds_above, at("ceiling_to_sill").unwrap());
                    prop_assert!(!way.above_trim.is_negative());
                }
                _ => prop_assert!(way.adds_above + way.above_trim <= at("wall_above").unwrap()),
            }
            if let Some(chosen) = &choices.packing && way.form.is_on_face() {
                prop_assert_eq!(way.packing, chosen.value());
            }
            if no_trim && choices.above_trim.is_none() && matches!(way.form, Form::OutsideFlush) {
                prop_assert!(way.above_trim + way.board.width.split(2, 1) >= settings.plaster_edge);
            }
            // Every way to set the board says the truth about itself.
            for flush in &way.flush_ways {
                if flush.why_not.is_none() {
                    prop_assert!(flush.projection >= needs);
                    prop_assert_eq!(flush.off_trim, trim.map(|trim| flush.projection - trim));
                }
            }
        }
    }
}

//! Mounts and fixings against the trade's own worked figures: common practice, no published source, unless a test
//! names one. Readings are invented.

use hangtrue_core::fixing::{self, Ground, Hung, Job};
use hangtrue_core::flag::Severity;
use hangtrue_core::house::Opening;
use hangtrue_core::length::{Direction, Grain, Length, LengthUnit, with_default_unit};
use hangtrue_core::mount::{self, Catalogue, Form, Mounting, Mounts};
use hangtrue_core::settings::Settings;
use hangtrue_core::stand::{Member, sets};
use hangtrue_core::truth;
use serde_json::{Value, json};

const IN: LengthUnit = LengthUnit::Inch;

/// An opening of these readings, with more fields laid over it.
fn opening(unit: LengthUnit, readings: &[(&str, &str)], more: &Value) -> Opening {
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

fn work(unit: LengthUnit, readings: &[(&str, &str)], more: &Value) -> (Opening, Mounts) {
    let opening = opening(unit, readings, more);
    let settings = Settings::defaults(unit);
    let truth = truth::judge(&opening, &[], &settings, unit);
    let mounts = mount::work(&opening, &truth, &settings, Catalogue::standard(unit), unit);
    (opening, mounts)
}

const SQUARE: &[(&str, &str)] = &[
    ("width_top", "35 7/8"),
    ("width_middle", "35 13/16"),
    ("width_bottom", "35 7/8"),
    ("height_left", "60 1/16"),
    ("height_right", "60"),
    ("diagonal_rising", "69 15/16"),
    ("diagonal_falling", "69 15/16"),
    ("depth", "3 1/2"),
];

const TRIMMED: &[(&str, &str)] = &[
    ("trim_width", "41"),
    ("trim_height", "62 1/2"),
    ("trim_thickness", "1/2"),
    ("wall_above", "9"),
    ("wall_left", "6"),
    ("wall_right", "6"),
];

fn with(extra: &[(&'static str, &'static str)]) -> Vec<(&'static str, &'static str)> {
    TRIMMED.iter().chain(extra).copied().collect()
}

fn show(length: Length) -> String {
    length.show(IN)
}

fn get(mounts: &Mounts, form: Form) -> &Mounting {
    mounts.get(form).unwrap_or_else(|| panic!("{form:?}: {:?}", mounts.cannot))
}

/// Every total is the sum of its lines, on every mounting there is.
fn adds_up(mounts: &Mounts) {
    for mounting in &mounts.can {
        for working in [&mounting.width, &mounting.length, &mounting.board_length] {
            assert_eq!(working.lines.iter().map(|line| line.value).sum::<Length>(), working.total);
        }
    }
}

// ---- Inside ----

#[test]
fn inside_takes_three_eighths_and_a_quarter() {
    let (_, mounts) = work(IN, SQUARE, &json!({}));
    let inside = get(&mounts, Form::Inside);
    assert_eq!(show(inside.width.total), "35 7/16");
    assert_eq!(inside.width.rule, "smallest width");
    assert_eq!(inside.width.lines[0].term, "smallest width (middle width)");
    assert_eq!(inside.width.lines[1].reason, "inside_width_deduction");
    assert_eq!(show(inside.length.total), "59 3/4");
    assert_eq!(show(inside.board_length.total), "35 5/16");
    assert_eq!(inside.proud, Length::ZERO);
    assert_eq!(mounts.advised, Some(Form::Inside));
    adds_up(&mounts);
}

#[test]
fn inside_in_millimetres_takes_ten_and_six() {
    let readings: &[(&str, &str)] = &[
        ("width_top", "911"),
        ("width_middle", "910"),
        ("width_bottom", "911"),
        ("height_left", "1525"),
        ("height_right", "1524"),
        ("depth", "90"),
    ];
    let (_, mounts) = work(LengthUnit::Millimetre, readings, &json!({}));
    let inside = get(&mounts, Form::Inside);
    assert_eq!(inside.width.total, Length::mm(900));
    assert_eq!(inside.length.total, Length::mm(1518));
}

#[test]
fn a_fraction_finer_than_the_tape_is_rounded_down_by_a_named_line() {
    let readings: &[(&str, &str)] =
        &[("width_middle", "35 51/64"), ("height_left", "60"), ("height_right", "60"), ("depth", "2")];
    let (_, mounts) = work(IN, readings, &json!({}));
    let inside = get(&mounts, Form::Inside);
    assert_eq!(show(inside.width.total), "35 3/8"); // 35 51/64 - 3/8 = 35 27/64
    assert_eq!(inside.width.rounding.as_deref(), Some("rounded down to 1/16 in"));
    adds_up(&mounts);
}

/// Geometry (calculated): parallel jambs w apart with lean x over the height leave w - |x|; d1^2 - d2^2 = 4 w x.
#[test]
fn a_leaning_opening_is_sized_to_its_clear_passage_and_an_outside_mount_is_advised() {
    // 36 x 60 leaning 1 in: diagonals sqrt(37^2 + 60^2) = 70.491 and sqrt(35^2 + 60^2) = 69.462.
    let mut readings = vec![
        ("width_top", "36"),
        ("width_middle", "36"),
        ("width_bottom", "36"),
        ("height_left", "60"),
        ("height_right", "60"),
        ("diagonal_rising", "70 1/2"),
        ("diagonal_falling", "69 7/16"),
        ("depth", "3"),
    ];
    readings.extend_from_slice(TRIMMED);
    let (_, mounts) = work(IN, &readings, &json!({}));
    let inside = get(&mounts, Form::Inside);
    assert_eq!(inside.width.rule, "clear passage");
    assert!(inside.width.total <= Length::whole_inches(35) - Length::inches(1, 8));
    assert!(inside.width_other.as_ref().unwrap().total == Length::inches(285, 8));
    let gaps = inside.corner_gaps.unwrap();
    // The gaps at one jamb differ by the lean.
    assert!((gaps.top_left - gaps.bottom_left).abs() >= Length::inches(7, 8));
    assert_eq!(mounts.advised, Some(Form::OutsideFlush));
    assert!(mounts.because.contains("leans"), "{}", mounts.because);
    adds_up(&mounts);
}

#[test]
fn a_shallow_opening_stands_proud_by_a_said_amount_and_a_bare_one_is_refused() {
    let mut readings = SQUARE.to_vec();
    readings[7] = ("depth", "1 1/8");
    let (_, mounts) = work(IN, &readings, &json!({}));
    let inside = get(&mounts, Form::Inside);
    assert_eq!(show(inside.proud), "3/8"); // 1 1/2 flush
    assert!(inside.flags.iter().any(|flag| flag.code == "stands_proud"));

    readings[7] = ("depth", "1/2");
    let (_, mounts) = work(IN, &readings, &json!({}));
    assert!(mounts.get(Form::Inside).is_none());
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::Inside).unwrap();
    assert!(refusal.why.contains("1/2 in deep") && !refusal.would.is_empty(), "{refusal:?}");
    assert_eq!(mounts.advised, None);
}

#[test]
fn what_was_not_read_is_asked_for() {
    let (_, mounts) = work(IN, &[("depth", "3")], &json!({}));
    assert!(mounts.can.is_empty());
    assert_eq!(mounts.cannot.len(), 3);
    assert!(mounts.cannot.iter().all(|refusal| !refusal.missing.is_empty() && !refusal.would.is_empty()));
    assert!(mounts.because.starts_with("No way can be"), "{}", mounts.because);
}

// ---- Outside ----

#[test]
fn outside_passes_the_trim_by_half_an_inch_each_side() {
    let (_, mounts) = work(IN, TRIMMED, &json!({}));
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!(show(flush.width.total), "42");
    assert_eq!(show(flush.overlap), "1/2");
    let (_, mounts) = work(IN, TRIMMED, &json!({"choices": {"dark": true}}));
    assert_eq!(show(get(&mounts, Form::OutsideFlush).width.total), "44");
    let (_, mounts) = work(IN, TRIMMED, &json!({"choices": {"side_overlap": "2"}}));
    assert_eq!(show(get(&mounts, Form::OutsideFlush).width.total), "45");
}

#[test]
fn a_1x2_flush_adds_one_and_a_half_and_projects_three_quarters() {
    let (_, mounts) = work(IN, TRIMMED, &json!({}));
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!(flush.board.size.name(), "1x2");
    assert_eq!(show(flush.projection), "3/4");
    assert_eq!(show(flush.adds_above), "1 1/2");
    // 62 1/2 from the top of the trim to the sill, less 1/4, and the board above the trim.
    assert_eq!(show(flush.length.total), "63 3/4");
    adds_up(&mounts);
}

#[test]
fn a_two_and_a_half_leg_and_a_three_quarter_board_add_three_and_a_quarter() {
    let choices = json!({"choices": {"mount": "outside", "attach": "brackets", "board": "1x3", "above_trim": "4"}});
    let (_, mounts) = work(IN, TRIMMED, &choices);
    let brackets = get(&mounts, Form::OutsideBrackets);
    assert_eq!(show(brackets.bracket.as_ref().unwrap().leg), "2 1/2");
    assert_eq!(show(brackets.adds_above), "3 1/4");
    assert_eq!(show(brackets.length.total), "69 1/2"); // 62 1/2 - 1/4 + 4 + 3 1/4
    assert_eq!(mounts.advised, Some(Form::OutsideBrackets));
    adds_up(&mounts);
}

#[test]
fn a_bracket_suits_its_board() {
    let catalogue = Catalogue::standard(IN);
    for board in &catalogue.boards {
        let choices = json!({"choices": {"board": board.size}});
        let (_, mounts) = work(IN, TRIMMED, &choices);
        if let Some(found) = mounts.get(Form::OutsideBrackets) {
            let arm = found.bracket.as_ref().unwrap().arm;
            assert!(arm <= board.width, "the arm does not stick out past the board");
            assert!(arm * 3 >= board.width * 2, "the arm carries two thirds of the board");
        }
    }
    // A large bracket under a 1x2 would show.
    let (_, mounts) = work(IN, TRIMMED, &json!({"choices": {"board": "1x2", "bracket": "large L"}}));
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideBrackets).unwrap();
    assert!(refusal.why.contains("No bracket suits a 1x2"), "{refusal:?}");
    let (_, mounts) = work(IN, TRIMMED, &json!({"choices": {"bracket": "huge L"}}));
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideBrackets).unwrap();
    assert!(refusal.why.contains("no bracket \"huge L\"") && refusal.would.contains("small L"), "{refusal:?}");
}

#[test]
fn the_fabric_clears_trim_and_handles() {
    // Moulded trim of 3/4 in: the fabric may not lie on it, so the 3/4 in board is packed out by the clearance.
    let thick: Vec<_> =
        with(&[]).into_iter().map(|(p, r)| if p == "trim_thickness" { (p, "3/4") } else { (p, r) }).collect();
    let (_, mounts) = work(IN, &thick, &json!({"wall": {"trim_moulded": true}}));
    assert_eq!(show(get(&mounts, Form::OutsideFlush).projection), "1");
    // A crank that stands 2 in: a 1x3 on brackets, and flush says what it lacks.
    let (_, mounts) = work(IN, &with(&[("proud_most", "2")]), &json!({}));
    assert_eq!(show(get(&mounts, Form::OutsideBrackets).projection), "2 1/2");
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideFlush).unwrap();
    assert!(refusal.why.contains("needs 2 1/4 in projection"), "{refusal:?}");
}

#[test]
fn wall_above_and_beside_must_be_there() {
    let low: Vec<_> = with(&[]).into_iter().map(|(p, r)| if p == "wall_above" { (p, "2") } else { (p, r) }).collect();
    let (_, mounts) = work(IN, &low, &json!({}));
    assert!(mounts.get(Form::OutsideFlush).is_some());
    let refusal = mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideBrackets).unwrap();
    assert!(refusal.why.contains("there is 2 in of wall"), "{refusal:?}");
    // Set on the flat trim it fits; moulded trim has no flat bearing.
    let down = json!({"choices": {"above_trim": "-1 1/2"}});
    let (_, mounts) = work(IN, &low, &down);
    let brackets = get(&mounts, Form::OutsideBrackets);
    assert_eq!(show(brackets.projection), "2"); // the 1/2 in trim and a 1x2
    let moulded = json!({"choices": {"above_trim": "-1 1/2"}, "wall": {"trim_moulded": true}});
    let (_, mounts) = work(IN, &low, &moulded);
    assert!(mounts.cannot.iter().any(|refusal| refusal.why.contains("moulded")));

    let narrow: Vec<_> =
        with(&[]).into_iter().map(|(p, r)| if p == "wall_left" { (p, "1/4") } else { (p, r) }).collect();
    let (_, mounts) = work(IN, &narrow, &json!({}));
    assert!(mounts.cannot.iter().all(|refusal| refusal.form == Form::Inside || refusal.would.contains("1/4 in")));
}

#[test]
fn the_foot_stops_at_sill_apron_or_floor() {
    let readings = with(&[("sill_to_apron_foot", "4 1/2"), ("sill_to_floor", "30"), ("sill_out", "1/4")]);
    let length = |choices: &Value| {
        let (_, mounts) = work(IN, &readings, &json!({ "choices": choices }));
        show(get(&mounts, Form::OutsideFlush).length.total)
    };
    assert_eq!(length(&json!({"foot": "sill"})), "63 3/4");
    assert_eq!(length(&json!({"foot": "apron"})), "68 1/2"); // 62 1/2 + 4 1/2 + 1 1/2
    assert_eq!(length(&json!({"foot": "floor"})), "93 1/2"); // 62 1/2 + 30 - 1/2 + 1 1/2
    // A radiator 6 in below the sill is in the way of a shade to the floor.
    let blocked: Vec<_> = readings.iter().copied().chain([("sill_to_stop", "6")]).collect();
    let (_, mounts) = work(IN, &blocked, &json!({"choices": {"foot": "floor"}}));
    assert!(mounts.cannot.iter().any(|refusal| refusal.why.contains("something is in its way")));
    // Where there is no sill, it is a choice.
    let (_, mounts) = work(IN, &readings, &json!({"wall": {"no_sill": true}}));
    assert!(mounts.cannot.iter().any(|refusal| refusal.why.contains("no sill")));
}

#[test]
fn without_trim_the_opening_itself_is_covered() {
    let readings: Vec<_> = SQUARE.iter().copied().chain([("wall_above", "9")]).collect();
    let (_, mounts) = work(IN, &readings, &json!({"wall": {"no_trim": true}}));
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!(show(flush.width.total), "38 7/8"); // the widest, 35 7/8, and 1 1/2 each side
    assert_eq!(show(flush.length.total), "61 1/2"); // 60 - 1/4 + 1/4 for the screws off the plaster's edge + 1 1/2
}

#[test]
fn a_chosen_mount_that_cannot_be_says_why() {
    let mut readings = with(&[]);
    readings.extend_from_slice(SQUARE);
    let at = readings.iter().position(|(place, _)| *place == "depth").unwrap();
    readings[at] = ("depth", "1/4");
    let (_, mounts) = work(IN, &readings, &json!({"choices": {"mount": "inside"}}));
    // It never turns into another: there is no size until a person chooses what can be.
    assert_eq!(mounts.advised, None);
    assert!(
        mounts.because.starts_with("Inside was chosen and cannot be: the opening is 1/4 in deep"),
        "{}",
        mounts.because
    );
}

#[test]
fn readings_in_another_unit_are_brought_to_the_tape_by_a_named_line() {
    let readings: Vec<_> =
        with(&[]).into_iter().map(|(p, r)| if p == "trim_width" { (p, "1041 mm") } else { (p, r) }).collect();
    let (_, mounts) = work(IN, &readings, &json!({}));
    let flush = get(&mounts, Form::OutsideFlush);
    assert_eq!(show(flush.width.total), "42"); // 1041 mm is 40.984 in
    assert_eq!(flush.width.rounding.as_deref(), Some("rounded to the nearest 1/16 in"));
    adds_up(&mounts);
}

// ---- Sets ----

#[test]
fn shades_of_one_room_that_nearly_agree_are_one_question_however_many_they_are() {
    let shade = |name: &str, sixteenths: i64, inside: bool| Member {
        opening: uuid::Uuid::nil(),
        name: name.to_owned(),
        inside,
        length: Length::inches(sixteenths, 16),
        head: None,
    };
    let settings = Settings::INCHES;
    let asked =
        |room: &[Member]| sets(room, &settings, IN).into_iter().filter_map(|set| set.question).collect::<Vec<_>>();
    let near = asked(&[shade("left", 960, true), shade("right", 963, true)]);
    assert_eq!(near.len(), 1);
    assert!(near[0].says.contains("60 in and 60 3/16 in long"), "{}", near[0].says);
    assert!(asked(&[shade("left", 960, true), shade("right", 960, true)]).is_empty());
    assert!(asked(&[shade("left", 960, true), shade("right", 977, true)]).is_empty());
    assert!(asked(&[shade("left", 960, true), shade("right", 963, false)]).is_empty());
    // A bay of three whose lengths and heads all differ a little gave six questions, two for each pair.
    let outside = |name: &str, sixteenths: i64, head: i64| Member {
        head: Some(Length::inches(head, 16)),
        ..shade(name, sixteenths, false)
    };
    let bay = [outside("left", 960, 1500), outside("centre", 963, 1502), outside("right", 958, 1503)];
    let bay = asked(&bay);
    assert_eq!(bay.len(), 1, "{bay:?}");
    assert!(bay[0].says.contains("Left, centre and right") && bay[0].says.contains("3/16 in apart"), "{}", bay[0].says);
    // Equal in length they hang together though there is nothing to ask.
    let equal = sets(&[shade("left", 960, true), shade("right", 960, true)], &settings, IN);
    assert_eq!((equal.len(), &equal[0].members), (1, &vec![0, 1]));
}

// ---- Fixings ----

fn fix(opening: &Opening, mounting: &Mounting, eyes: &[Length], weight_lbf: f64) -> fixing::Fixing {
    let control_at = eyes.last().copied();
    let hung = Hung { mounting, wall: &opening.wall, eyes, control_at, weight_lbf, bar: None };
    fixing::work(&hung, &Settings::INCHES, Catalogue::standard(IN), IN)
}

#[test]
fn three_quarter_screws_do_not_come_through_a_three_quarter_board() {
    let choices = json!({"choices": {"attach": "brackets", "mount": "outside"}, "wall": {"above": "wood"}});
    let (opening, mounts) = work(IN, TRIMMED, &choices);
    let found = fix(&opening, get(&mounts, Form::OutsideBrackets), &[], 4.0);
    let job = found.screws.iter().find(|screw| screw.job == Job::BracketToBoard).unwrap();
    assert_eq!(show(job.length), "3/4");
    assert!(job.stays_in);
    // The leaf of the bracket is what is left before the point.
    assert_eq!(job.left, Some(get(&mounts, Form::OutsideBrackets).bracket.as_ref().unwrap().leaf));
}

#[test]
fn two_screws_on_a_small_shade_more_on_a_longer_one_all_clear_of_screw_eyes() {
    for (width, least) in [("18", 2), ("30", 2), ("36", 3), ("84", 5)] {
        let readings: &[(&str, &str)] = &[
            ("width_top", width),
            ("width_middle", width),
            ("width_bottom", width),
            ("height_left", "60"),
            ("height_right", "60"),
            ("depth", "3"),
        ];
        let (opening, mounts) = work(IN, readings, &json!({"wall": {"head": "wood"}}));
        let inside = get(&mounts, Form::Inside);
        let board = inside.board_length.total;
        let eyes: Vec<Length> =
            (0..=4).map(|i| Length::inches(19, 16) + (board - Length::inches(19, 8)).split(4, i)).collect();
        let found = fix(&opening, inside, &eyes, 5.0);
        assert!(found.holds, "{:?}", found.fails);
        assert_eq!(found.fixed.len(), least, "{width}");
        for fixed in &found.fixed {
            assert_eq!(fixed.on, Ground::Wood);
            assert!(!fixed.reason.is_empty());
            assert!(eyes.iter().all(|eye| (*eye - fixed.at).abs() >= Settings::INCHES.screw_eye_clearance));
        }
        let job = &found.screws[0];
        assert_eq!(job.job, Job::BoardToHead);
        assert!(job.bites >= Settings::INCHES.screw_bite);
        assert!(job.split.unwrap().holds());
    }
}

#[test]
fn brackets_sit_on_studs_where_they_can() {
    let choices = json!({
        "choices": {"attach": "brackets", "mount": "outside"},
        "wall": {"above": "plasterboard", "studs": ["2 1/2", "18 1/2", "34 1/2"]}
    });
    let (opening, mounts) = work(IN, TRIMMED, &choices);
    let found = fix(&opening, get(&mounts, Form::OutsideBrackets), &[], 4.0);
    assert!(found.holds, "{:?}", found.fails);
    // Studs from the left edge of the trim; the board starts 7/16 in to the left of it (1/2 overlap less 1/16 wrap).
    let at: Vec<String> = found.fixed.iter().map(|fixed| show(fixed.at)).collect();
    assert_eq!(at, ["2 15/16", "18 15/16", "34 15/16"]);
    assert!(found.fixed.iter().all(|fixed| fixed.on == Ground::Stud && fixed.reason.contains("on the stud at")));
    assert!(found.anchor.is_none());
}

#[test]
fn no_wood_takes_anchors_by_a_quarter_of_their_stated_load() {
    let choices = json!({"choices": {"mount": "outside", "attach": "flush"}, "wall": {"above": "plasterboard"}});
    let (opening, mounts) = work(IN, TRIMMED, &choices);
    let found = fix(&opening, get(&mounts, Form::OutsideFlush), &[], 4.0);
    let anchor = found.anchor.as_ref().unwrap();
    assert_eq!(anchor.factor, 4);
    for fixed in &found.fixed {
        assert_eq!(fixed.on, Ground::Anchor);
        assert!((fixed.load.pull_allowed_lbf - anchor.stated_lbf / 4.0).abs() < 1e-12);
        // Statics of a flush board: the pull is the weight times 3/4 in over the 3/4 in from its foot to the screw.
        assert!((fixed.load.pull_lbf - fixed.load.down_lbf.max(0.0)).abs() < 1e-9);
    }
}

#[test]
fn what_does_not_hold_says_so_and_offers_what_would() {
    let choices = json!({"choices": {"mount": "outside", "attach": "brackets"}, "wall": {"above": "plasterboard"}});
    let (opening, mounts) = work(IN, TRIMMED, &choices);
    let found = fix(&opening, get(&mounts, Form::OutsideBrackets), &[], 600.0);
    assert!(!found.holds);
    assert!(found.fails.iter().any(|fail| fail.contains("percent of what it may")), "{:?}", found.fails);
    assert!(found.would[0].contains("lighter"), "{:?}", found.would);
}

/// The loads of all fixings add up to what hangs, whatever their number and places (statics).
#[test]
fn what_comes_down_on_the_fixings_is_what_hangs() {
    let (opening, mounts) = work(IN, TRIMMED, &json!({"wall": {"above": "wood"}, "choices": {"mount": "outside"}}));
    for form in [Form::OutsideFlush, Form::OutsideBrackets] {
        let mounting = get(&mounts, form);
        let hung = Hung { mounting, wall: &opening.wall, eyes: &[], control_at: None, weight_lbf: 7.5, bar: None };
        let found = fixing::work(&hung, &Settings::INCHES, Catalogue::standard(IN), IN);
        let sum: f64 = found.fixed.iter().map(|fixed| fixed.load.down_lbf).sum();
        assert!((sum - 7.5).abs() < 1e-9, "{sum}");
    }
}

/// Statics of a bracket: it turns about the foot of its leg, so screws pull in proportion to their height, and their
/// moments about the foot balance what hangs at the front of the board.
#[test]
fn a_brackets_screws_balance_the_prying_moment() {
    let (opening, mounts) = work(IN, TRIMMED, &json!({"wall": {"above": "wood"}, "choices": {"board": "1x3"}}));
    let mounting = get(&mounts, Form::OutsideBrackets);
    let bracket = mounting.bracket.as_ref().unwrap();
    let inches = |length: Length| hangtrue_core::fixing::screw::inches(length);
    let found = fix(&opening, mounting, &[], 12.0);
    for fixed in &found.fixed {
        let holes: Vec<f64> = bracket.wall_holes.iter().map(|hole| inches(*hole)).collect();
        let top = holes.iter().copied().fold(0.0, f64::max);
        let balance: f64 = holes.iter().map(|hole| fixed.load.pull_lbf * hole / top * hole).sum();
        let moment = fixed.load.down_lbf * inches(mounting.projection);
        assert!((balance - moment).abs() < 1e-9, "{balance} {moment}");
    }
}

#[test]
fn more_weight_takes_more_brackets_then_another_anchor_then_wood() {
    let choices = json!({"choices": {"mount": "outside", "attach": "brackets"}, "wall": {"above": "plasterboard"}});
    let (opening, mounts) = work(IN, TRIMMED, &choices);
    let mounting = get(&mounts, Form::OutsideBrackets);
    let hang = |weight_lbf: f64| {
        let hung = Hung { mounting, wall: &opening.wall, eyes: &[], control_at: None, weight_lbf, bar: None };
        fixing::work(&hung, &Settings::INCHES, Catalogue::standard(IN), IN)
    };
    let (light, heavy) = (hang(10.0), hang(55.0));
    assert!(light.holds && heavy.holds, "{:?} {:?}", light.fails, heavy.fails);
    assert!(heavy.fixed.len() > light.fixed.len());
    // The next better anchor is taken, and said.
    let strong = hang(130.0);
    assert!(strong.holds, "{:?}", strong.fails);
    assert_eq!(strong.anchor.as_ref().unwrap().anchor, "hollow-wall anchor, large");
    assert!(strong.flags.iter().any(|flag| flag.code == "fixing_stronger" && flag.says.contains("large")));
    let too_heavy = hang(400.0);
    assert!(!too_heavy.holds);
    assert!(!too_heavy.would.is_empty());
    let flag = too_heavy.flags.iter().find(|flag| flag.code == "fixing_does_not_hold").unwrap();
    assert_eq!(flag.severity, Severity::Decide);
}

#[test]
fn a_hanging_is_told_step_by_step_with_its_numbers() {
    for (form, wall, said) in [
        (Form::Inside, json!({"head": "wood"}), ["No. 8 x 1 3/4 in", "5/64 bit", "11/64 bit"]),
        (Form::OutsideFlush, json!({"above": "wood"}), ["No. 8 x 2 1/4 in", "along the top of the trim", "5/64 bit"]),
        (
            Form::OutsideBrackets,
            json!({"above": "plasterboard"}),
            ["hollow-wall anchor", "along the top of the trim", "No. 8 x 3/4 in"],
        ),
    ] {
        let readings: Vec<_> = SQUARE.iter().chain(TRIMMED).copied().collect();
        let (opening, mounts) = work(IN, &readings, &json!({ "wall": wall }));
        let mounting = get(&mounts, form);
        let found = fix(&opening, mounting, &[], 4.0);
        let hanging = fixing::Hanging {
            mounting,
            fixing: &found,
            choices: &opening.choices,
            wall: &opening.wall,
            at_the_hole: &[],
            settings: &Settings::INCHES,
            unit: IN,
        };
        let told = fixing::steps(&hanging);
        let steps: Vec<&str> = told.all().collect();
        let all = steps.join(" ");
        for words in said {
            assert!(all.contains(words), "{form:?}: {words}: {all}");
        }
        // To the nearest mark of the tape: the middle of a board of 35 5/16 is 17 21/32.
        for (i, fixed) in found.fixed.iter().enumerate() {
            let mark = fixed.at.round(Grain::INCH_16, Direction::Nearest);
            assert!(all.contains(&format!("{} {}", fixing::letter(i), mark.show(IN))), "{form:?}: {all}");
        }
        assert!(steps.iter().all(|step| step.ends_with('.')));
    }
}

#[test]
fn lifts_without_a_reachable_cord_come_first() {
    for lifted in [1.0, 8.0, 16.0, 50.0] {
        let offers = fixing::lifts(lifted, Catalogue::standard(IN));
        let first = offers.iter().position(|offer| offer.reachable).unwrap();
        assert!(offers[first..].iter().all(|offer| offer.reachable), "{lifted}");
        assert!(offers.iter().all(|offer| offer.lifts == (offer.kind.lifts_lbf >= lifted)));
    }
    assert_eq!(fixing::lifts(4.0, Catalogue::standard(IN))[0].kind.name, "spring lift, light");
    assert_eq!(fixing::lifts(8.0, Catalogue::standard(IN))[0].kind.name, "spring lift, heavy");
}

//! What hangs, holds: from the readings to what is bought. Houses are invented; the arithmetic here is its own.

use hangtrue_core::buying::{Buying, Shop};
use hangtrue_core::fixing::{self, Fixing, Ground, Hung, Job};
use hangtrue_core::flag::Severity;
use hangtrue_core::house::{self, file};
use hangtrue_core::length::{Length, LengthUnit, with_default_unit};
use hangtrue_core::makeup::{CordOf, CordRun, Makeup, Making};
use hangtrue_core::mount::{Catalogue, Form, Mounting, Wedge};
use hangtrue_core::settings::Settings;
use hangtrue_core::work::{self, WorkedHouse};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeMap;

const IN: LengthUnit = LengthUnit::Inch;

fn id(n: usize) -> String {
    format!("0192a3b4-0000-7000-8000-{n:012}")
}

/// One opening as a job file has it.
fn opening(n: usize, readings: &[(&str, String)], more: &Value) -> Value {
    let taken: Vec<Value> = readings
        .iter()
        .enumerate()
        .map(|(i, (place, read))| {
            json!({"id": id(n * 100 + i + 1), "place": place, "read": read, "at": "2026-05-04T09:12:00Z"})
        })
        .collect();
    let mut all = json!({"id": id(n * 100), "name": format!("window {n}"), "readings": taken});
    for (name, value) in more.as_object().unwrap() {
        all[name] = value.clone();
    }
    all
}

fn job(unit: &str, openings: &[Value], more: &Value) -> house::Job {
    let mut all = json!({
        "hangtrue_job": 1, "id": id(9_000_001), "name": "Larch House", "unit": unit,
        "cloths": [{"name": "Reed", "width": "54 in"}],
        "rooms": [{"id": id(9_000_002), "name": "Study", "openings": openings}]
    });
    for (name, value) in more.as_object().unwrap() {
        all[name] = value.clone();
    }
    file::read(&all.to_string()).unwrap_or_else(|problem| panic!("{problem}"))
}

fn plain(readings: &[(&'static str, &str)]) -> Vec<(&'static str, String)> {
    readings.iter().map(|(place, read)| (*place, (*read).to_owned())).collect()
}

const INSIDE: &[(&str, &str)] = &[
    ("width_top", "36"),
    ("width_middle", "36"),
    ("width_bottom", "36"),
    ("height_left", "60"),
    ("height_right", "60"),
    ("depth", "3 1/2"),
];

const OUTSIDE: &[(&str, &str)] = &[
    ("width_top", "36"),
    ("width_middle", "36"),
    ("width_bottom", "36"),
    ("height_left", "60"),
    ("height_right", "60"),
    ("trim_width", "41"),
    ("trim_height", "62 1/2"),
    ("trim_thickness", "1/2"),
    ("wall_above", "12"),
    ("wall_left", "6"),
    ("wall_right", "6"),
];

fn fixing_of<'a>(house: &'a WorkedHouse<'_>) -> &'a Fixing {
    house.openings[0].shade.as_ref().unwrap().fixing.as_ref().unwrap()
}

fn worked<T>(job: &house::Job, look: impl FnOnce(&WorkedHouse<'_>, &Buying) -> T) -> T {
    let house = work::house(job, Catalogue::standard(job.unit)).unwrap();
    let buying = work::buying(&house, Shop::standard(job.unit));
    look(&house, &buying)
}

/// What the list says is needed of a thing; nothing where it is not on it.
fn needed(buying: &Buying, what: &str) -> usize {
    let items = buying.sections.iter().flat_map(|section| &section.items);
    items.filter(|item| item.what == what).map(|item| item.need.parse::<usize>().unwrap()).sum()
}

// ---- A head that slopes ----

/// An inside mounting on a 1x2 whose head opens by so much at one end.
fn sloping(opens: Length, at_right: bool) -> (house::Opening, Mounting) {
    let job = job("in", &[opening(1, &plain(INSIDE), &json!({"wall": {"head": "wood"}}))], &json!({}));
    let opening = job.rooms[0].openings[0].clone();
    let settings = Settings::INCHES;
    let truth = hangtrue_core::truth::judge(&opening, &[], &settings, IN);
    let mounts = hangtrue_core::mount::work(&opening, &truth, &settings, Catalogue::standard(IN), IN);
    let mut mounting = mounts.get(Form::Inside).unwrap().clone();
    mounting.wedge = (opens > Length::ZERO).then_some(Wedge { at_right, opens });
    (opening, mounting)
}

fn hang(opening: &house::Opening, mounting: &Mounting, weight_lbf: f64) -> Fixing {
    let hung = Hung { mounting, wall: &opening.wall, eyes: &[], control_at: None, weight_lbf, bar: None };
    fixing::work(&hung, &Settings::INCHES, Catalogue::standard(IN), IN)
}

/// The steps of hanging it, in one text.
fn hanging_steps(opening: &house::Opening, mounting: &Mounting, fixing: &Fixing) -> String {
    let hanging = fixing::Hanging {
        mounting,
        fixing,
        choices: &opening.choices,
        wall: &opening.wall,
        settings: &Settings::INCHES,
        unit: IN,
        at_the_hole: &[],
    };
    fixing::steps(&hanging).all().collect::<Vec<_>>().join(" ")
}

/// The steps of making it, in one text.
fn making_steps(made: &Makeup, choices: &house::Choices) -> String {
    let settings = Settings::INCHES;
    let making = Making { shade: made, choices, cloth: None, settings: &settings, joins: &[], unit: IN };
    hangtrue_core::makeup::steps(&making).join(" ")
}

/// The case that was found: a screw under a gap of 0.66 in bit a third of an inch where the sheet said one.
#[test]
fn a_screw_under_a_sloping_head_is_longer_by_the_gap_and_its_place_is_packed() {
    let (opening, mounting) = sloping(Length::inches(23, 32), true);
    let fixing = hang(&opening, &mounting, 4.0);
    assert!(fixing.holds, "{:?}", fixing.fails);
    // Board 36 - 3/8 - 1/8 = 35 1/2; the last screw 3 in from its end, at 32 1/2: 23/32 x 32.5 / 35.5 = 0.658 in, up to
    // 11/16. 3/4 of board, 11/16 of gap and 1 in of bite are 2 7/16: the next screw sold is 2 1/2 and bites 1 1/16.
    let last = fixing.fixed.last().unwrap();
    assert_eq!((last.at.show(IN), last.gap.show(IN)), ("32 1/2".to_owned(), "11/16".to_owned()));
    assert_eq!(last.screw_length.unwrap().show(IN), "2 1/2");
    assert_eq!(last.bites.show(IN), "1 1/16");
    // At the left 23/32 x 3 / 35.5 is 0.061, up to 1/16: 1 13/16 are asked, and 2 is sold.
    let first = &fixing.fixed[0];
    assert_eq!((first.gap.show(IN), first.screw_length.unwrap().show(IN)), ("1/16".to_owned(), "2".to_owned()));
    // It reaches the sheet: the table, the list of what to bring, and the steps.
    assert!(last.reason.contains("pack the gap of about 11/16 in"), "{}", last.reason);
    let lengths: Vec<String> = fixing.screws.iter().map(|job| job.length.show(IN)).collect();
    assert!(lengths.contains(&"2".to_owned()) && lengths.contains(&"2 1/2".to_owned()), "{lengths:?}");
    let steps = hanging_steps(&opening, &mounting, &fixing);
    assert!(steps.contains("C 32 1/2 in") && steps.contains("C 11/16 in"), "{steps}");
    assert!(steps.contains("2 1/2 in"), "{steps}");
}

/// From the readings: a level says that the head falls, and the shade's hanging sheet says what to pack.
#[test]
fn a_slope_that_was_read_reaches_the_hanging_sheet() {
    let mut readings = plain(INSIDE);
    readings[4].1 = "60 3/4".to_owned();
    let job = job(
        "in",
        &[opening(1, &readings, &json!({"wall": {"head": "wood"}, "choices": {"cloth": "Reed", "mount": "inside"}}))],
        &json!({}),
    );
    worked(&job, |house, _| {
        let one = &house.openings[0];
        let wedge = one.mounts.advised().unwrap().wedge.unwrap();
        assert!(wedge.at_right && wedge.opens >= Length::inches(1, 4), "{wedge:?}");
        let fixing = fixing_of(house);
        let last = fixing.fixed.last().unwrap();
        assert!(last.gap > Length::ZERO);
        let heading = hangtrue_core::sheet::Heading { job: &job, unit: IN, day: "2026-05-04" };
        let sheet = hangtrue_core::sheet::hanging(&heading, one).into_string();
        assert!(sheet.contains("pack the gap"), "{sheet}");
    });
}

/// Six diameters of the usual screws in hundred-thousandths of an inch, from Table L3: no float.
fn six_diameters(screw: &str) -> Length {
    let thousandths = match screw {
        "No. 6" => 138,
        "No. 8" => 164,
        "No. 10" => 190,
        "No. 12" => 216,
        "No. 14" => 242,
        other => panic!("{other}"),
    };
    Length::inches(thousandths * 6, 1000)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Length is board and gap and bite, the bite is what was asked, and the gap is never less than the head's own.
    #[test]
    fn a_screw_is_as_long_as_what_it_passes_and_what_it_bites(
        opens in 0_i64..160, at_right in any::<bool>(), weight in 1.0_f64..30.0, thick in any::<bool>(),
    ) {
        let (opening, mut mounting) = sloping(Length::inches(opens, 64), at_right);
        if thick {
            mounting.board = Catalogue::standard(IN).board(house::BoardSize::read("2x2").unwrap()).unwrap().clone();
        }
        let fixing = hang(&opening, &mounting, weight);
        let board = mounting.board_length.total;
        let mut counted = 0;
        for fixed in &fixing.fixed {
            prop_assert_eq!(fixed.on, Ground::Wood);
            let Some(length) = fixed.screw_length else {
                prop_assert!(!fixing.holds && fixing.fails[0].contains("long enough"), "{:?}", fixing.fails);
                continue;
            };
            let job = fixing.screws.iter().find(|job| job.length == length && job.at.contains(&fixed.at)).unwrap();
            prop_assert_eq!(length, mounting.board.thickness + fixed.gap + fixed.bites);
            prop_assert!(fixed.bites >= Length::whole_inches(1) && fixed.bites >= six_diameters(&job.screw));
            prop_assert!(job.bites <= fixed.bites && job.bites >= Length::whole_inches(1));
            // The head above the screw by cross multiplication: gap x board >= opens x distance, within one sixteenth.
            let from = if at_right { fixed.at } else { board - fixed.at };
            let (have, head) = (
                i128::from(fixed.gap.nm()) * i128::from(board.nm()),
                i128::from(Length::inches(opens, 64).nm()) * i128::from(from.nm()),
            );
            prop_assert!(have >= head);
            prop_assert!(have - head <= i128::from(Length::inches(1, 16).nm() + 1) * i128::from(board.nm()));
            prop_assert_eq!(fixed.gap > Length::ZERO, fixed.reason.contains("pack the gap"));
            counted += 1;
        }
        prop_assert_eq!(fixing.screws.iter().map(|job| job.count).sum::<usize>(), counted);
        let steps = hanging_steps(&opening, &mounting, &fixing);
        let gaps: Vec<String> = ('A'..)
            .zip(&fixing.fixed)
            .filter(|(_, fixed)| fixed.gap > Length::ZERO)
            .map(|(letter, fixed)| format!("{letter} {}", fixed.gap.show_marked(IN)))
            .collect();
        let packed = format!("(the head slopes: about {})", gaps.join(", "));
        prop_assert_eq!(steps.contains(&packed), !gaps.is_empty(), "{} in {}", packed, steps);
    }
}

// ---- What is bought holds ----

#[derive(Debug, Clone)]
struct Heavy {
    width: i64,
    gsm: u32,
    form: usize,
    backing: usize,
    studs: Option<i64>,
    lift: usize,
    interlined: bool,
}

const LIFTS: [&str; 6] =
    ["no_reachable_cord", "cord_lock", "chain_loop", "motor", "endless_cord", "top_down_bottom_up"];

fn heavy() -> impl Strategy<Value = Heavy> {
    let of = (18_i64..110, prop::sample::select(vec![100_u32, 400, 900, 2000, 6000]), 0..3_usize, 0..5_usize);
    let more = (prop::option::of(1_i64..16), 0..LIFTS.len(), any::<bool>());
    (of, more).prop_map(|((width, gsm, form, backing), (studs, lift, interlined))| Heavy {
        width,
        gsm,
        form,
        backing,
        studs,
        lift,
        interlined,
    })
}

fn heavy_house(shades: &[Heavy], metric: bool) -> house::Job {
    let openings: Vec<Value> = shades
        .iter()
        .enumerate()
        .map(|(i, one)| {
            let inch = |n: i64| format!("{n} in");
            let readings: Vec<(&str, String)> = vec![
                ("width_top", inch(one.width)),
                ("width_middle", inch(one.width)),
                ("width_bottom", inch(one.width)),
                ("height_left", inch(60)),
                ("height_right", inch(60)),
                ("depth", inch(4)),
                ("trim_width", inch(one.width + 5)),
                ("trim_height", inch(63)),
                ("trim_thickness", "1/2 in".to_owned()),
                ("wall_above", inch(14)),
                ("wall_left", inch(6)),
                ("wall_right", inch(6)),
            ];
            let backing = ["unknown", "wood", "plasterboard", "masonry", "steel"][one.backing];
            let studs: Vec<String> =
                one.studs.map_or_else(Vec::new, |first| (0..8).map(|k| inch(first + 16 * k)).collect());
            let (mount, attach) =
                [("inside", None), ("outside", Some("flush")), ("outside", Some("brackets"))][one.form];
            let cloth = format!("cloth {}", one.gsm);
            let choices = json!({
                "mount": mount, "attach": attach, "cloth": cloth, "lift": LIFTS[one.lift], "interlined": one.interlined
            });
            opening(
                i + 1,
                &readings,
                &json!({
                    "wall": {"head": backing, "above": backing, "studs": studs}, "choices": choices
                }),
            )
        })
        .collect();
    let mut weights: Vec<u32> = shades.iter().map(|one| one.gsm).collect();
    weights.sort_unstable();
    weights.dedup();
    let cloths: Vec<Value> = weights
        .into_iter()
        .map(|gsm| json!({"name": format!("cloth {gsm}"), "width": "120 in", "weight_gsm": gsm}))
        .collect();
    job(if metric { "mm" } else { "in" }, &openings, &json!({"cloths": cloths}))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Weight to fixing to buying: what is on the list holds, all of it is on the list, and what would not hold is a
    /// decision and is not bought.
    #[test]
    fn what_is_bought_holds(shades in prop::collection::vec(heavy(), 1..3), metric in any::<bool>()) {
        let job = heavy_house(&shades, metric);
        let catalogue = Catalogue::standard(job.unit);
        let house = work::house(&job, catalogue).unwrap();
        let buying = work::buying(&house, Shop::standard(job.unit));
        let mut want: BTreeMap<String, usize> = BTreeMap::new();
        let mut never: Vec<String> = Vec::new();
        for one in &house.openings {
            let Some(shade) = one.shade.as_ref() else { continue };
            let (Ok(made), Some(fixing)) = (&shade.makeup, &shade.fixing) else { continue };
            let mounting = one.mounts.advised().unwrap();
            let flagged = |code: &str| fixing.flags.iter().any(|flag| flag.code == code && flag.severity == Severity::Decide);
            // The lift: what hangs on it and a fifth more, on its width and length; or a decision.
            let lifted = made.weight.lifted / 453.592_37;
            match &fixing.lift {
                Some(kind) => {
                    prop_assert!(kind.lifts_lbf >= lifted * 1.2);
                    prop_assert!(kind.lift == one.opening.choices.lift);
                    prop_assert!(kind.widest.is_none_or(|most| mounting.width.total <= most));
                    prop_assert!(kind.longest.is_none_or(|most| mounting.length.total <= most));
                    let lighter = catalogue.lifts.iter().filter(|other| other.lift == kind.lift);
                    let would = |other: &hangtrue_core::mount::LiftKind| {
                        other.lifts_lbf >= lifted * 1.2
                            && other.widest.is_none_or(|most| mounting.width.total <= most)
                            && other.narrowest.is_none_or(|least| mounting.width.total >= least)
                            && other.longest.is_none_or(|most| mounting.length.total <= most)
                    };
                    let lightest = !lighter.filter(|other| other.lifts_lbf < kind.lifts_lbf).any(would);
                    prop_assert!(lightest);
                }
                None => prop_assert!(flagged("lift_too_heavy") || flagged("lift_no_size")),
            }
            if !fixing.holds {
                prop_assert!(flagged("fixing_does_not_hold"), "{:?}", fixing.flags);
                never.push(format!("{}, {}", one.room.name, one.opening.name));
                continue;
            }
            // Statics: with nothing pulled, or pulled, the fixings together carry what hangs and what is pulled.
            for fixed in &fixing.fixed {
                prop_assert!(fixed.load.used <= 1.0, "{:?}", fixed);
                let load = fixed.load;
                let (may, across) = if fixed.on == Ground::Anchor {
                    // A quarter of what the seller states, by the anchor's name.
                    let name = &fixing.anchor.as_ref().unwrap().anchor;
                    let anchor = catalogue.anchors.iter().find(|anchor| anchor.name == *name).unwrap();
                    (anchor.pull_lbf / 4.0, anchor.shear_lbf / 4.0)
                } else {
                    // 2850 G^2 D an inch of thread, two thirds of the screw or what is in the wood; G 0.36.
                    let length = fixed.screw_length.unwrap();
                    let bought = fixing.screws.iter().find(|screw| screw.at.contains(&fixed.at) && screw.length == length
                        && !matches!(screw.job, Job::BracketToBoard | Job::IntoAnchor)).unwrap();
                    let screw = catalogue.screw(&bought.screw).unwrap();
                    let inch = hangtrue_core::fixing::screw::inches;
                    let d = inch(screw.diameter);
                    let thread = (inch(length) * f64::from(i32::try_from(screw.thread_percent).unwrap()) / 100.0).min(inch(fixed.bites));
                    let duration = if load.while_pulled { 1.6 } else { 0.9 };
                    // Deep enough to carry anything across (NDS 12.1.5.6), and at least what the house asks.
                    prop_assert!(inch(fixed.bites) >= 6.0 * d - 1e-9);
                    let least = if metric { Length::mm(25) } else { Length::whole_inches(1) };
                    prop_assert!(fixed.bites >= least);
                    (2850.0 * 0.36 * 0.36 * d * thread * duration, load.across_allowed_lbf)
                };
                prop_assert!((load.pull_allowed_lbf - may).abs() <= 1e-6 * may, "{:?} {}", load, may);
                prop_assert!(load.pull_lbf / may + load.across_lbf / across.max(1e-9) <= 1.0 + 1e-9);
            }
            for screw in &fixing.screws {
                let what = format!("{} screws, {}", screw.screw, screw.length.show_marked(job.unit));
                *want.entry(what).or_default() += screw.count;
            }
            if let Some(anchor) = &fixing.anchor {
                *want.entry(anchor.anchor.clone()).or_default() += anchor.count;
                // Every anchor has its own screw.
                let own: usize = fixing.screws.iter().filter(|s| s.job == Job::IntoAnchor).map(|s| s.count).sum();
                prop_assert_eq!(own, anchor.count);
            }
            if let Some(bracket) = mounting.bracket.as_ref() {
                *want.entry(format!("{} brackets", bracket.name)).or_default() += fixing.fixed.len();
            }
        }
        for (what, count) in &want {
            prop_assert_eq!(needed(&buying, what), *count, "{}", what);
        }
        // And nothing else of the shelf with the fixings.
        for item in buying.sections.iter().filter(|section| section.name == "fixings").flat_map(|section| &section.items) {
            prop_assert!(want.contains_key(&item.what) || item.what == "cord cleats", "{}", item.what);
        }
        for name in never {
            prop_assert!(buying.problems.iter().any(|said| said.contains(&name) && said.contains("would not hold")));
        }
    }
}

// ---- Lateral values and the usual settings ----

#[test]
fn a_screw_that_bites_a_quarter_inch_holds_nothing_across_and_does_not_hold() {
    let line = |length: &str, across: f64| {
        let asked = json!({"unit": "in", "screw": "No. 8", "length": length, "passes": "3/4", "across": across});
        serde_json::from_str::<Value>(&fixing::calculator::screw(&asked.to_string(), 1)).unwrap()
    };
    let short = line("1", 5.0);
    assert_eq!((&short["bites"], &short["holds"]), (&json!("1/4"), &json!(false)), "{short}");
    assert_eq!(short["across_allowed"]["normal"], json!(0.0));
    assert_eq!(line("1", 0.0)["holds"], json!(false));
    assert_eq!(line("1 3/4", 5.0)["holds"], json!(true));
}

#[test]
fn a_gap_behind_what_a_screw_passes_lessens_what_it_carries() {
    let line = |gap: &str| {
        let asked = json!({"unit": "in", "screw": "No. 8", "length": "2 1/2", "passes": "1 1/4", "gap": gap});
        serde_json::from_str::<Value>(&fixing::calculator::screw(&asked.to_string(), 1)).unwrap()
    };
    let across = |gap: &str| line(gap)["across_allowed"]["normal"].as_f64().unwrap();
    assert!(across("1/2") < across("1/4") && across("1/4") < across("0"));
    // Python, by the general dowel equations written out anew: No. 8, 1 1/4 in deep, 3/4 in of eastern white pine, 1/2 in gap,
    // spruce-pine-fir (south): 26.57 lbf.
    assert!((across("1/2") - 26.57).abs() < 0.01, "{}", across("1/2"));
    assert!(line("2")["error"]["where"].as_str().unwrap().contains("gap"));
}

// ---- Stronger hardware, and none ----

#[test]
fn an_overload_takes_the_next_anchor_and_a_hopeless_one_is_a_decision_and_not_bought() {
    let house = |gsm: u32, width: &str| {
        let mut readings = plain(OUTSIDE);
        readings[5].1 = width.to_owned();
        let more = json!({
            "wall": {"above": "plasterboard"},
            "choices": {"mount": "outside", "attach": "brackets", "cloth": "Felt", "lift": "motor"}
        });
        job(
            "in",
            &[opening(1, &readings, &more)],
            &json!({"cloths": [{"name": "Felt", "width": "120", "weight_gsm": gsm}]}),
        )
    };
    worked(&house(300, "41"), |house, buying| {
        assert!(fixing_of(house).holds);
        assert_eq!(needed(buying, "hollow-wall anchor, large"), 0);
        assert!(needed(buying, "hollow-wall anchor, small") > 0);
    });
    worked(&house(60_000, "41"), |house, buying| {
        let fixing = fixing_of(house);
        assert!(!fixing.holds);
        let open: Vec<&str> = house.openings[0].stands_open().map(|flag| flag.code.as_str()).collect();
        assert!(open.contains(&"fixing_does_not_hold") && open.contains(&"lift_too_heavy"), "{open:?}");
        assert!(!buying.sections.iter().any(|section| section.name == "fixings" || section.name == "lifts"));
        assert!(buying.problems.iter().any(|said| said.contains("would not hold")), "{:?}", buying.problems);
        assert!(buying.problems.iter().any(|said| said.contains("no lift raises it")), "{:?}", buying.problems);
        let heavy = fixing.flags.iter().find(|flag| flag.code == "lift_too_heavy").unwrap();
        assert!(heavy.says.contains("too heavy") && heavy.to_do.contains("lighter"), "{heavy:?}");
    });
}

#[test]
fn where_anchors_would_not_hold_the_studs_alone_are_taken() {
    // The board is 41 7/8 long. Studs at 8, 22 and 33 in from the trim: out of reach of the even places near the ends.
    let more = json!({
        "wall": {"above": "plasterboard", "studs": ["8", "22", "33"]}, "choices": {"mount": "outside", "attach": "brackets"}
    });
    let job = job("in", &[opening(1, &plain(OUTSIDE), &more)], &json!({}));
    let one = &job.rooms[0].openings[0];
    let settings = Settings::INCHES;
    let mut catalogue = Catalogue::standard(IN).clone();
    let truth = hangtrue_core::truth::judge(one, &[], &settings, IN);
    let mounts = hangtrue_core::mount::work(one, &truth, &settings, &catalogue, IN);
    let mounting = mounts.get(Form::OutsideBrackets).unwrap();
    let hung = Hung { mounting, wall: &one.wall, eyes: &[], control_at: None, weight_lbf: 15.0, bar: None };
    let usual = fixing::work(&hung, &settings, &catalogue, IN);
    assert!(usual.holds && usual.fixed.iter().any(|fixed| fixed.on == Ground::Anchor));
    // With no anchor but a weak one the studs alone are taken, and it is said.
    catalogue.anchors.retain(|anchor| anchor.name == "hollow-wall anchor, small");
    catalogue.anchors[0].pull_lbf = 4.0;
    let found = fixing::work(&hung, &settings, &catalogue, IN);
    assert!(found.holds, "{:?}", found.fails);
    let at: Vec<String> = found.fixed.iter().map(|fixed| fixed.at.show(IN)).collect();
    assert_eq!(at, ["8 7/16", "22 7/16", "33 7/16"]);
    assert!(found.anchor.is_none() && found.fixed.iter().all(|fixed| fixed.on == Ground::Stud));
    assert!(found.flags.iter().any(|flag| flag.code == "fixing_stronger"), "{:?}", found.flags);
}

// ---- The workroom's own ----

#[test]
fn a_screw_a_bracket_an_anchor_and_a_lift_of_the_workrooms_own_are_taken_and_bought() {
    let own = json!({
        "screws": [{"name": "structural 9", "diameter": "0.177", "root": "0.142", "head": "0.337", "thread_percent": 100,
                    "lengths": ["3/4", "1", "2", "3", "4"]}],
        "brackets": [{"name": "forged L", "leg": "3", "arm": "1 1/4", "across": "3/4", "leaf": "1/8",
                      "wall_holes": ["1/2", "2 1/4"], "board_holes": ["3/4"], "screw": "structural 9"}],
        "anchors": [{"name": "spring toggle", "backing": "plasterboard", "pull_n": 900, "shear_n": 1200, "hole": "5/8",
                     "screw": {"name": "toggle bolt", "diameter": "3/16", "into": "2", "lengths": ["3", "4"]}}],
        "lifts": [{"name": "our motor", "lift": "motor", "lifts_kg": 8}]
    });
    let choices =
        json!({"mount": "outside", "attach": "brackets", "cloth": "Reed", "lift": "motor", "bracket": "forged L"});
    let more = json!({"wall": {"above": "plasterboard"}, "choices": choices});
    let house = job("in", &[opening(1, &plain(OUTSIDE), &more)], &json!({"hardware": own}));
    assert_eq!(file::read(&file::write(&house)).unwrap().hardware, house.hardware);
    worked(&house, |worked, buying| {
        assert!(fixing_of(worked).holds, "{:?}", fixing_of(worked).fails);
        let brackets = fixing_of(worked).fixed.len();
        assert_eq!(needed(buying, "forged L brackets"), brackets);
        assert_eq!(needed(buying, "spring toggle"), brackets * 2);
        // Leaf 1/8 and 2 in past the wall: 3 in of the lengths given.
        assert_eq!(needed(buying, "toggle bolt screws, 3 in"), brackets * 2);
        assert_eq!(needed(buying, "our motor"), 1);
    });
    // The same through facts.
    let facts_of = hangtrue_core::fact::changes(None, &house);
    assert!(facts_of.iter().any(|body| format!("{body:?}").contains("hardware.screws")));
    // A slip is refused with its place.
    for (at, field, value, place, what) in [
        ("/brackets/0", "screw", json!("structural 8"), "hardware.brackets[0].screw", "no screw \"structural 8\""),
        ("/brackets/0", "board_holes", json!(["3"]), "hardware.brackets[0].board_holes", "beyond its end"),
        ("/anchors/0", "pull_n", json!(0), "hardware.anchors[0]", "not above zero"),
        ("/anchors/0", "pull_lbf", json!(1), "hardware.anchors[0]", "both given"),
        ("/anchors/0", "pull_n", Value::Null, "hardware.anchors[0]", "missing"),
        ("/lifts/0", "colour", json!(1), "hardware.lifts[0]", "no field \"colour\""),
        ("", "board_screw", json!("No. 9"), "hardware.board_screw", "no screw \"No. 9\""),
    ] {
        let mut slip = own.clone();
        let object = slip.pointer_mut(at).and_then(Value::as_object_mut).unwrap();
        // Null leaves the field out.
        if value.is_null() {
            object.remove(field);
        } else {
            object.insert(field.to_owned(), value);
        }
        let mut all: Value = serde_json::from_str(&file::write(&house)).unwrap();
        all["hardware"] = slip;
        let problem = file::read(&all.to_string()).expect_err(field);
        assert!(problem.path.starts_with(place) && problem.what.contains(what), "{at}/{field}: {problem}");
        assert!(!problem.right.is_empty());
    }
}

#[test]
fn a_known_name_takes_its_place_and_others_stand_first() {
    let text = r#"{"screws":[{"name":"No. 8","diameter":"0.164","root":"0.131","head":"0.312","thread_percent":67,"lengths":["5"]}],
        "anchors":[{"name":"ours","backing":"masonry","pull_lbf":500,"shear_lbf":500,"hole":"1/4"}],"board_screw":"No. 12"}"#;
    let own: house::Hardware = with_default_unit(IN, || serde_json::from_str(text)).unwrap();
    let standard = Catalogue::standard(IN);
    let laid = standard.with(&own);
    assert_eq!(laid.screws.len(), standard.screws.len());
    assert_eq!(laid.screw("No. 8").unwrap().lengths, [Length::whole_inches(5)]);
    assert!(laid.screws.is_sorted_by_key(|screw| screw.diameter));
    assert_eq!((laid.anchors[0].name.as_str(), laid.anchors.len()), ("ours", standard.anchors.len() + 1));
    assert!(laid.boards.iter().all(|board| board.screw == "No. 12"));
    assert_eq!(*standard.with(&house::Hardware::default()), *standard);
}

// ---- Lifts ----

/// One opening in Reed, 36 in wide and 60 in high, lifted so.
fn lifted(lift: &str) -> house::Job {
    let more = json!({"wall": {"head": "wood"}, "choices": {"mount": "inside", "cloth": "Reed", "lift": lift, "control": "right"}});
    job("in", &[opening(1, &plain(INSIDE), &more)], &json!({}))
}

#[test]
fn an_endless_cord_has_its_loop_its_tensioner_and_its_cautions() {
    worked(&lifted("endless_cord"), |house, buying| {
        let shade = house.openings[0].shade.as_ref().unwrap();
        let made = shade.makeup.as_ref().unwrap();
        // Two thirds of 59 3/4 by the setting's 67 %: 40.0325, twice is 80.065, up to the sixteenth 80 1/8.
        assert_eq!(made.cords.around.unwrap().show(IN), "80 1/8");
        assert!(made.cords.runs.iter().all(|run| run.pull == Length::ZERO && run.of == CordOf::Foot));
        assert_eq!(needed(buying, "endless cord, 80 1/8 in once around"), 1);
        assert_eq!((needed(buying, "tensioners"), needed(buying, "endless cord and pulley, right")), (1, 1));
        let said = |code: &str| shade.care.iter().find(|caution| caution.code == code).unwrap();
        assert!(said("loop_held").says.contains("tensioner"));
        assert_eq!(said("canada_loop").keeps, Some(false), "80 in is more than 44 cm");
        assert!(said("cord_strangles").says.contains("tensioner"));
    });
}

#[test]
fn a_shade_lowered_from_the_top_has_its_rail_its_second_cords_and_eyes() {
    worked(&lifted("top_down_bottom_up"), |house, buying| {
        let shade = house.openings[0].shade.as_ref().unwrap();
        let made = shade.makeup.as_ref().unwrap();
        // 59 3/4 less the 3/4 in board: the shade itself is 59 long, from the top of its rail.
        assert_eq!(made.length.show(IN), "59");
        let (foot, rail): (Vec<&CordRun>, Vec<&CordRun>) =
            made.cords.runs.iter().partition(|run| run.of == CordOf::Foot);
        let folds = &made.folds;
        assert_eq!(folds.head + folds.fold * i64::from(folds.count) + folds.flap, made.length);
        assert_eq!(foot.len(), made.grid.columns.len());
        // From the lowest ring through the rail to the board.
        assert!(foot.iter().all(|run| run.up == made.length - folds.flap));
        // 35 5/8 wide, columns 33 1/8 apart at the outside: three hold the rail with no stretch over 24 in.
        let columns: Vec<u32> = rail.iter().map(|run| run.column).collect();
        assert_eq!((columns.first(), columns.last()), (Some(&1), Some(&foot.last().unwrap().column)));
        let at = |n: u32| made.grid.columns[n as usize - 1].from_left.exact;
        assert!(columns.windows(2).all(|pair| at(pair[1]) - at(pair[0]) <= Length::whole_inches(24)));
        // Lowered by every fold; pulled at the left, because the foot is at the right.
        for run in &rail {
            assert_eq!(run.up, folds.fold * i64::from(folds.count));
            // As a person cuts it: up to the next sixteenth.
            let across = at(run.column) - at(1);
            assert!(run.across >= across && run.across - across < Length::inches(1, 16));
            assert_eq!(run.total, run.up + run.across + run.pull + Length::whole_inches(4));
        }
        assert_eq!(needed(buying, "screw eyes"), foot.len() + rail.len());
        assert_eq!((needed(buying, "cord cleats"), needed(buying, "pair of cord locks")), (2, 1));
        // Its rail is a second board.
        let boards = buying.sticks.iter().find(|plan| plan.what.starts_with("board")).unwrap();
        assert_eq!(boards.request.pieces.iter().map(|piece| piece.count).sum::<u32>(), 2);
        // No screw near any of the eyes.
        let fixing = fixing_of(house);
        for eye in
            made.grid.columns.iter().map(|column| column.on_board.mark).chain(made.cords.rail_eyes.iter().copied())
        {
            assert!(fixing.fixed.iter().all(|fixed| (fixed.at - eye).abs() >= Length::whole_inches(1)), "{eye:?}");
        }
        assert!(shade.care.iter().any(|caution| caution.code == "cord_above_rail"));
        let steps = making_steps(made, &house.openings[0].opening.choices);
        assert!(steps.contains("top rail cord") && steps.contains("more screw eyes"), "{steps}");
    });
}

#[test]
fn the_lift_is_the_lightest_that_raises_it_and_goes_on_it() {
    for (lift, name) in
        [("no_reachable_cord", "spring lift, light"), ("motor", "motor, light"), ("cord_lock", "cord lock, right")]
    {
        worked(&lifted(lift), |_, buying| assert_eq!(needed(buying, name), 1, "{name}"));
    }
    // A wide one is too wide for any spring.
    let mut readings = plain(INSIDE);
    for reading in &mut readings[..3] {
        reading.1 = "110".to_owned();
    }
    let more = json!({"wall": {"head": "wood"}, "choices": {"mount": "inside", "cloth": "Reed"}});
    worked(&job("in", &[opening(1, &readings, &more)], &json!({})), |house, buying| {
        let flag = fixing_of(house).flags.iter().find(|flag| flag.code == "lift_no_size").unwrap();
        assert_eq!(flag.severity, Severity::Decide);
        assert!(flag.to_do.contains("motor"), "{}", flag.to_do);
        assert!(buying.problems.iter().any(|said| said.contains("no lift raises it")));
    });
}

// ---- Ribs and pockets ----

#[test]
fn ribs_are_one_a_fold_and_their_pockets_are_where_there_is_a_lining() {
    let house = |lining: &str, settings: Value| {
        let choices = json!({"mount": "inside", "cloth": "Reed", "style": "flat_ribbed", "lining": lining});
        let more = json!({"wall": {"head": "wood"}, "choices": choices});
        job("in", &[opening(1, &plain(INSIDE), &more)], &json!({"settings": settings}))
    };
    let look = |job: &house::Job| {
        worked(job, |house, _| {
            let made = house.openings[0].shade.as_ref().unwrap().makeup.as_ref().unwrap();
            let ribs = made.stick(hangtrue_core::makeup::StickUse::Rib).unwrap().count;
            let codes: Vec<String> = made.flags.iter().map(|flag| flag.code.clone()).collect();
            (ribs, made.folds.count as usize, making_steps(made, &house.openings[0].opening.choices), codes)
        })
    };
    let (ribs, folds, steps, codes) = look(&house("plain", json!({})));
    assert_eq!(ribs, folds);
    assert!(steps.contains(&format!("{ribs} rib pockets on the lining")), "{steps}");
    assert!(!codes.iter().any(|code| code.contains("pocket")));
    let (_, _, steps, _) = look(&house("none", json!({})));
    assert!(!steps.contains("on the lining") && steps.contains("back of the face"), "{steps}");
    let (ribs, folds, ..) = look(&house("plain", json!({"rib_in_top_row": 1})));
    assert_eq!(ribs, folds + 1);
    // A bar of 2 x 1/8 in does not go into a pocket of 1 1/2; nor a rod of 1/2 in into one of 3/4: it takes 0.79.
    let (_, _, _, codes) = look(&house("plain", json!({"bar_height": "2"})));
    assert!(codes.contains(&"bar_pocket_shallow".to_owned()), "{codes:?}");
    let (_, _, _, codes) = look(&house("plain", json!({"rib_thickness": "1/2"})));
    assert!(codes.contains(&"rib_pocket_shallow".to_owned()), "{codes:?}");
}

// ---- Metric houses ----

#[test]
fn a_metric_house_reads_in_newtons_and_kilograms_with_screws_by_their_millimetres() {
    let mm = |n: i64| format!("{n}");
    let readings: Vec<(&str, String)> = vec![
        ("width_top", mm(900)),
        ("width_middle", mm(900)),
        ("width_bottom", mm(900)),
        ("height_left", mm(1500)),
        ("height_right", mm(1500)),
        ("depth", mm(90)),
    ];
    let more = json!({"wall": {"head": "plasterboard"}, "choices": {"mount": "inside", "cloth": "Reed"}});
    let job = job(
        "mm",
        &[opening(1, &readings, &more)],
        &json!({"cloths": [{"name": "Reed", "width": "1400", "weight_gsm": 9000}]}),
    );
    worked(&job, |house, _| {
        let one = &house.openings[0];
        let fixing = fixing_of(house);
        let catalogue = Catalogue::standard(LengthUnit::Millimetre);
        // Screws, anchors' screws and lifts are whole millimetres or their tenths, none an inch in disguise.
        let lengths = catalogue.screws.iter().flat_map(|screw| &screw.lengths);
        assert!(
            lengths
                .chain(catalogue.anchors.iter().flat_map(|anchor| &anchor.screw.as_ref().unwrap().lengths))
                .all(|length| length.nm() % 1_000_000 == 0)
        );
        assert!(fixing.screws.iter().all(|job| job.length.nm() % 1_000_000 == 0));
        assert!((catalogue.anchors[0].pull_lbf * 4.448_221_615_260_5 - 500.0).abs() < 1e-9);
        let mut said = fixing.fails.join(" ") + &fixing.would.join(" ") + &fixing.assumed.join(" ");
        said.push_str(&fixing.flags.iter().map(|flag| format!("{} {}", flag.says, flag.to_do)).collect::<String>());
        said.push_str(&fixing.statics.iter().map(|figure| figure.shown(job.unit)).collect::<Vec<_>>().join(" "));
        for wrong in ["lbf", " lb ", " in,", "inch"] {
            assert!(!said.contains(wrong), "{wrong}: {said}");
        }
        assert!(one.stands_open().any(|flag| flag.code == "lift_too_heavy" && flag.says.contains(" kg ")), "{said}");
    });
}

//! Whatever a house's numbers are set to, within their limits or beyond them, it can be worked out and printed: no number
//! typed on a page stops a house, and none prints what is no number.

use hangtrue_core::house::{Job, file};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::settings::{Changes, SettingProblem, Settings, Value};
use hangtrue_core::work;
use hangtrue_tests::houses;
use hangtrue_tests::printed::sheets_in;
use proptest::prelude::*;
use std::path::Path;

fn house(name: &str) -> Job {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    file::read(&std::fs::read_to_string(root.join("fixtures/houses").join(name)).unwrap()).unwrap()
}

fn text(value: &Value, unit: LengthUnit) -> String {
    match value {
        Value::Length(length) => length.show_marked(unit),
        Value::Whole(n) => n.to_string(),
    }
}

/// All that a house says, as one text.
fn printed(job: &Job) -> String {
    sheets_in(job, job.unit).into_iter().map(|(_, text)| text).collect()
}

fn holds_at(name: &str, text: &str, job: &Job) {
    let said = std::panic::catch_unwind(|| printed(job));
    let said = said.unwrap_or_else(|_| panic!("{name} = {text} stops {}", job.name));
    for no_number in ["NaN", "inf ", "inf<", ">inf", "-inf"] {
        assert!(!said.contains(no_number), "{name} = {text} prints {no_number}");
    }
}

#[test]
fn every_setting_at_its_least_and_at_its_most_leaves_a_house_that_prints() {
    for file in ["quay-flat.json", "heron-lane.json"] {
        let job = house(file);
        for row in Settings::defaults(job.unit).rows(job.unit) {
            let (least, most) = Settings::limits(row.name).expect("every setting has limits");
            for value in [least, most] {
                let text = text(&value, LengthUnit::Millimetre);
                let mut with = job.clone();
                with.settings.change(row.name, &text, LengthUnit::Millimetre).unwrap();
                holds_at(row.name, &text, &with);
            }
        }
    }
}

#[test]
fn what_is_beyond_its_limits_is_refused_where_it_is_typed_and_kept_unused_where_it_was_written() {
    let job = house("quay-flat.json");
    let unit = job.unit;
    for row in Settings::defaults(unit).rows(unit) {
        let (least, most) = Settings::limits(row.name).unwrap();
        let mut beyond: Vec<String> = Vec::new();
        match (least, most) {
            (Value::Whole(least), Value::Whole(most)) => {
                beyond.extend([(most + 1).to_string(), "999999999999".to_owned()]);
                beyond.extend((least > 0).then(|| (least - 1).to_string()));
            }
            (_, most) => {
                let Value::Length(most) = most else { panic!("{}", row.name) };
                beyond.extend([(most * 2).show_marked(LengthUnit::Millimetre), "9000 m".to_owned()]);
            }
        }
        for text in beyond {
            let refused = job.settings.clone().change(row.name, &text, unit).unwrap_err();
            assert!(matches!(&refused, SettingProblem::Beyond { limits, .. } if limits.contains(" to ")), "{refused}");
            // As an older program wrote it into a job file.
            let json = serde_json::json!({ row.name: text.parse::<i64>().map_or_else(|_| text.clone().into(), serde_json::Value::from) });
            let changes: Changes = serde_json::from_value(json.clone()).unwrap();
            assert_eq!(Settings::with(unit, &changes).unwrap(), Settings::defaults(unit), "{} is used", row.name);
            let said = changes.beyond(unit);
            assert_eq!(said.len(), 1, "{}", row.name);
            assert!(said[0].says.contains(&row.label()) && said[0].says.contains("its default of"), "{}", said[0].says);
            assert_eq!(serde_json::to_value(&changes).unwrap(), json, "what was written is kept");
        }
        let mut with = job.clone();
        assert!(with.settings.beyond(unit).is_empty());
        with.settings = serde_json::from_value(serde_json::json!({})).unwrap();
        assert_eq!(with.settings().unwrap(), Settings::defaults(unit));
    }
}

/// What an older file has beyond its limits is not worked with, so nothing is cut by what stands in its place.
#[test]
fn nothing_is_cut_while_a_setting_stands_beyond_its_limits() {
    for file in ["quay-flat.json", "heron-lane.json"] {
        let mut job = house(file);
        let cut = |job: &Job| {
            let house = work::house(job, Catalogue::standard(job.unit)).unwrap();
            house.openings.iter().filter(|one| one.stop_cutting().is_none()).count()
        };
        assert!(cut(&job) > 0, "something of {file} may be cut");
        job.settings = serde_json::from_value(serde_json::json!({"side_turning": "9000 m"})).unwrap();
        assert_eq!(cut(&job), 0);
        assert!(printed(&job).contains("its default of"), "the sheets say why");
    }
}

/// The four that were found by hand in an older program: a panic, "inf %", a factor taken as 1, a bar that vanished.
#[test]
fn numbers_that_once_went_wrong_in_silence_are_refused_in_words() {
    let mut changes = Changes::default();
    for (name, text, limits) in [
        ("bracket_arm_percent", "999999999999", "\"bracket arm, percent of the board's width\" can be 1 to 100"),
        ("anchor_factor", "0", "\"divisor of an anchor's stated load\" can be 1 to 100"),
        ("bar_deduction", "1000", "\"bar deduction\" can be 0 in to 480 in"),
    ] {
        assert_eq!(changes.change(name, text, LengthUnit::Inch).unwrap_err().to_string(), limits);
    }
    assert!(changes.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn several_settings_at_their_ends_leave_an_invented_house_that_prints(
        seed in any::<u64>(), imperial in any::<bool>(), ends in proptest::collection::vec((any::<prop::sample::Index>(), any::<bool>()), 1..7),
    ) {
        let unit = if imperial { LengthUnit::Inch } else { LengthUnit::Millimetre };
        let mut job = houses::house(seed, unit);
        let rows = Settings::defaults(unit).rows(unit);
        for (at, most) in ends {
            let name = at.get(&rows).name;
            let (low, high) = Settings::limits(name).unwrap();
            job.settings.change(name, &text(if most { &high } else { &low }, LengthUnit::Millimetre), LengthUnit::Millimetre).unwrap();
        }
        holds_at("several", &format!("{:?}", job.settings), &job);
    }
}

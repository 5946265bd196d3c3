//! Cautions against the published figures on cords, paint and ladders; each check names its source.

use hangtrue_core::care::{NOT_A_STATEMENT, RULES, Shade, Topic, for_shade, lifts};
use hangtrue_core::house::{Lift, Region};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::settings::Settings;
use std::collections::BTreeSet;

const CM: LengthUnit = LengthUnit::Centimetre;

fn cm(text: &str) -> Length {
    Length::parse(text, CM).unwrap()
}

fn keeps(code: &str, found: Length) -> Option<bool> {
    RULES.iter().find(|rule| rule.code == code).unwrap_or_else(|| panic!("{code}")).keeps(found)
}

/// SOR/2019-97 sections 5 to 7: 22.0 cm passes, 22.1 fails; a loop of 44 cm. 16 CFR 1120.3: 8 in. EN 13120
/// (second-hand): 1.5 m, 200 mm. Australian standard of 2014 (second-hand): 1600 mm.
#[test]
fn boundaries_are_the_published_figures() {
    for (code, good, bad) in [
        ("canada_free_end", "22.0 cm", "22.1 cm"),
        ("canada_between_rings", "22.0 cm", "22.1 cm"),
        ("canada_loop", "44.0 cm", "44.1 cm"),
        ("us_stock_operating_cord", "8 in", "8 1/16 in"),
        ("europe_between_rings", "200 mm", "201 mm"),
        ("europe_loop_height", "1.5 m", "1499 mm"),
        ("australia_loop_height", "1600 mm", "1599 mm"),
    ] {
        assert_eq!(keeps(code, cm(good)), Some(true), "{code} {good}");
        assert_eq!(keeps(code, cm(bad)), Some(false), "{code} {bad}");
    }
    // 22 cm is 8.66 in, 200 mm is 7.87 in: the next sixteenths on both sides.
    assert_eq!(keeps("canada_between_rings", cm("8 5/8 in")), Some(true));
    assert_eq!(keeps("canada_between_rings", cm("8 11/16 in")), Some(false));
    assert_eq!(keeps("europe_between_rings", cm("7 13/16 in")), Some(true));
    assert_eq!(keeps("europe_between_rings", cm("7 7/8 in")), Some(false));
    assert_eq!(keeps("us_custom_voluntary", cm("8 in")), None);
}

fn codes(shade: &Shade) -> BTreeSet<&'static str> {
    for_shade(shade, &Settings::INCHES, LengthUnit::Inch).into_iter().map(|caution| caution.code).collect()
}

#[test]
fn a_place_that_nobody_named_gets_the_rules_of_all() {
    let shade = Shade { lift: Lift::ChainLoop, ring_gap: Some(Length::mm(210)), ..Shade::default() };
    let all = codes(&shade);
    for region in [Region::Canada, Region::UnitedStates, Region::EuropeUk, Region::Australia] {
        let named = for_shade(&Shade { region, ..shade }, &Settings::INCHES, LengthUnit::Inch);
        for caution in &named {
            assert!(caution.region == region || caution.region == Region::Unsaid, "{}", caution.code);
            assert!(!caution.source.is_empty());
            let only_there = ["old_coatings"].contains(&caution.code);
            assert!(only_there || all.contains(caution.code), "{}", caution.code);
        }
        let paints = named.iter().filter(|caution| caution.topic == Topic::OldPaint).count();
        assert_eq!(paints, 1, "{region:?}");
    }
}

/// 210 mm between rows keeps Canada's 22 cm and not EN 13120's 200 mm; nothing ever says that a shade complies.
#[test]
fn ring_rows_are_compared_place_by_place() {
    let shade = Shade { ring_gap: Some(Length::mm(210)), ..Shade::default() };
    let cautions = for_shade(&shade, &Settings::MILLIMETRES, LengthUnit::Millimetre);
    let find = |code: &str| cautions.iter().find(|caution| caution.code == code).unwrap();
    assert_eq!(find("canada_between_rings").keeps, Some(true));
    assert_eq!(find("europe_between_rings").keeps, Some(false));
    assert!(find("europe_between_rings").says.contains("210 mm"));
    for caution in &cautions {
        let words = caution.says.to_lowercase();
        assert!(!words.contains("complies") && !words.contains("compliant") && !words.contains("is safe"), "{words}");
    }
    assert!(NOT_A_STATEMENT.contains("not a statement that this shade complies"));
}

#[test]
fn a_pull_cord_is_measured_and_a_lift_without_one_is_not() {
    let shade = Shade { lift: Lift::CordLock, free_end: Some(Length::whole_inches(40)), ..Shade::default() };
    let cautions = for_shade(&shade, &Settings::INCHES, LengthUnit::Inch);
    let free_end = cautions.iter().find(|caution| caution.code == "canada_free_end").unwrap();
    assert_eq!(free_end.keeps, Some(false));
    // 16 CFR 1120.3 is on stock products: no rule of a shade that is made to order.
    assert!(cautions.iter().all(|caution| !caution.says.contains("stock product")));
    let spring = codes(&Shade { lift: Lift::NoReachableCord, ..Shade::default() });
    assert!(!spring.contains("canada_free_end") && !spring.contains("cord_strangles"));
    assert!(spring.contains("canada_between_rings"), "cords still run behind the shade");
}

#[test]
fn lifts_without_a_reachable_cord_come_first_and_the_others_have_their_rules() {
    for region in [Region::Unsaid, Region::Canada, Region::UnitedStates, Region::EuropeUk, Region::Australia] {
        let order = lifts(region);
        assert_eq!(order[0].0, Lift::NoReachableCord);
        assert_eq!(order[1].0, Lift::Motor);
        assert!(order[..2].iter().all(|(_, rules)| rules.is_empty()));
        assert!(order[2..].iter().any(|(_, rules)| !rules.is_empty()), "{region:?}");
    }
}

/// 40 CFR 745.83: housing built before 1978. Asbestos coatings before 2000 in the UK: common practice, no source.
#[test]
fn old_paint_goes_by_year_and_place() {
    let old = |region, built| {
        let codes = codes(&Shade { region, built, ..Shade::default() });
        (codes.contains("lead_paint"), codes.contains("asbestos_coating"))
    };
    assert_eq!(old(Region::UnitedStates, Some(1977)), (true, false));
    assert_eq!(old(Region::UnitedStates, Some(1978)), (false, false));
    assert_eq!(old(Region::UnitedStates, None), (true, false));
    assert_eq!(old(Region::EuropeUk, Some(1999)), (false, true));
    assert_eq!(old(Region::EuropeUk, Some(2000)), (false, false));
    assert_eq!(old(Region::Unsaid, Some(1960)), (true, true));
}

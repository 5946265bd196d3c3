//! No list is short: packs against every choice of packs, and a house counted again.

use super::{MatchAt, Pack, Shade, Shop, buy, fewest_packs};
use crate::cutlist;
use crate::house::{BoardSize, Choices, Cloth, Mount, Style};
use crate::length::{Length, LengthUnit};
use crate::makeup::{Makeup, Order, make};
use crate::settings::Settings;
use proptest::prelude::*;

proptest! {
    /// Packs hold what is needed, and no other choice of packs is better.
    #[test]
    fn packs_hold_enough_and_none_are_better(
        need in 0_u64..40, sizes in prop::collection::vec((1_u32..12, 1_u64..500), 1..4), priced in any::<bool>(),
    ) {
        let sizes: Vec<Pack> =
            sizes.into_iter().map(|(count, cents)| Pack { count, cents: priced.then_some(cents) }).collect();
        let packs = fewest_packs(need, &sizes);
        let held: u64 = packs.iter().map(|(pack, n)| u64::from(pack.count) * n).sum();
        let value = |pack: &Pack| if priced { pack.cents.unwrap() } else { u64::from(pack.count) };
        let ours: u64 = packs.iter().map(|(pack, n)| value(pack) * n).sum();
        prop_assert!(held >= need);
        // Every number of every size, up to what alone would be enough.
        let mut least = u64::MAX;
        let most: Vec<u64> = sizes.iter().map(|pack| need.div_ceil(u64::from(pack.count))).collect();
        let mut counts = vec![0; sizes.len()];
        loop {
            let holds: u64 = sizes.iter().zip(&counts).map(|(pack, n)| u64::from(pack.count) * n).sum();
            if holds >= need {
                least = least.min(sizes.iter().zip(&counts).map(|(pack, n)| value(pack) * n).sum());
            }
            let Some(at) = (0..counts.len()).find(|&at| counts[at] < most[at]) else { break };
            counts[at] += 1;
            counts[..at].fill(0);
        }
        prop_assert_eq!(ours, least);
    }
}

fn shade(choices: &Choices, width: i64, length: i64) -> Makeup {
    let order = Order {
        unit: LengthUnit::Inch,
        width: Length::whole_inches(width),
        length: Length::whole_inches(length),
        mount: Mount::Inside,
        board_depth: Length::inches(3, 2),
        board_height: Length::inches(3, 4),
        above_opening: Length::ZERO,
        head_known: true,
        choices,
        cloth: None,
        settings: &Settings::INCHES,
    };
    make(&order).unwrap()
}

/// Three shades: every cut, stick and ring counted again from the make-ups, what is on hand taken off, cost exact.
#[test]
fn a_house_counted_again() {
    let choices = Choices { style: Style::FlatRibbed, ..Choices::default() };
    let cloth: Cloth = serde_json::from_value(serde_json::json!({
        "name": "Moss", "width": "54 in", "repeat": "27 in", "price_cents": 2400
    }))
    .unwrap();
    let makeups = [shade(&choices, 30, 60), shade(&choices, 30, 60), shade(&choices, 44, 48)];
    let shades: Vec<Shade<'_>> = makeups
        .iter()
        .zip(["north", "south", "east"])
        .map(|(makeup, name)| Shade {
            opening: uuid::Uuid::nil(),
            room: uuid::Uuid::nil(),
            name,
            makeup,
            choices: &choices,
            cloth: Some(&cloth),
            board: BoardSize::ONE_BY_TWO,
            bracket: None,
            fixing: None,
            lot: None,
        })
        .collect();
    let mut shop = Shop::standard(LengthUnit::Inch).clone();
    let rings = shop.packs.iter_mut().find(|pack| pack.kind == "ring").unwrap();
    rings.on_hand = 7;
    let bought = buy(&shades, MatchAt::Foot, &Settings::INCHES, &shop, LengthUnit::Inch);
    assert_eq!(bought.problems, Vec::<String>::new());
    let names: Vec<&str> = bought.sections.iter().map(|section| section.name.as_str()).collect();
    assert_eq!(names, ["cloth", "timber and rods", "notions", "lifts"]);
    let wants: usize = bought.cloths.iter().map(|cloth| cloth.wants.len()).sum();
    assert_eq!(wants, makeups.iter().map(|makeup| makeup.cuts.len()).sum::<usize>());
    for cloth in &bought.cloths {
        assert!(cloth.plan.buy >= cloth.plan.used + cloth.plan.spare);
    }
    let mut cut: Vec<Length> = bought
        .sticks
        .iter()
        .flat_map(|sticks| &sticks.plan.sticks)
        .flat_map(|stick| stick.cuts.iter().map(|cut| cut.length))
        .collect();
    let mut needed: Vec<Length> = makeups
        .iter()
        .flat_map(|makeup| &makeup.sticks)
        .flat_map(|stick| std::iter::repeat_n(stick.length, stick.count))
        .collect();
    cut.sort_unstable();
    needed.sort_unstable();
    assert_eq!(cut, needed);
    for sticks in &bought.sticks {
        assert_eq!(cutlist::check(&sticks.request, &sticks.plan), Ok(()));
    }
    let item = |what: &str| bought.sections.iter().flat_map(|s| &s.items).find(|item| item.what == what).unwrap();
    let count: usize = makeups.iter().map(Makeup::rings).sum();
    assert_eq!((item("rings").need.as_str(), item("rings").on_hand.as_str()), (count.to_string().as_str(), "7"));
    // A yard at 24.00; sold by quarters, so every purchase is a whole number of 6.00.
    let moss = bought.cloths.iter().find(|plan| plan.bolt.name == "Moss").unwrap();
    let quarters = moss.plan.buy.count_up(Length::whole_inches(9)).unwrap();
    assert_eq!(item("Moss").cost_cents, Some(600 * u64::try_from(quarters).unwrap()));
    assert_eq!(bought.cost_cents, None, "sticks have no price in the built-in shop");
}

#[test]
fn shop_files_are_read_and_refused_with_the_place() {
    for unit in [LengthUnit::Inch, LengthUnit::Millimetre] {
        assert!(!Shop::standard(unit).packs.is_empty());
    }
    let text = include_str!("../../data/shop.json");
    for (from, to, path, what) in [
        ("\"hangtrue_shop\": 1", "\"hangtrue_shop\": 2", "hangtrue_shop", "version 2"),
        ("\"width\": \"54\"", "\"width\": \"0\"", "linings[0].width", "not above zero"),
        ("{ \"count\": 50 }", "{ \"count\": 0 }", "packs[0].sizes", "holds nothing"),
        ("\"section\": \"notions\", \"sold_by\"", "\"section\": \"attic\", \"sold_by\"", "cord.section", "no section"),
        ("\"section\": \"notions\", \"sold_by\"", "\"colour\": 1, \"sold_by\"", "cord", "no field \"colour\""),
    ] {
        assert!(text.contains(from), "{from}");
        let problem = Shop::read(&text.replacen(from, to, 1)).unwrap_err();
        assert!(problem.path.starts_with(path) && problem.what.contains(what), "{problem}");
        assert!(!problem.right.is_empty());
    }
}

/// A board longer than any stick is named with its opening; the boards of the others are planned all the same.
#[test]
fn a_board_too_long_names_its_opening() {
    let choices = Choices::default();
    let makeups = [shade(&choices, 200, 60), shade(&choices, 30, 60)];
    let shades: Vec<Shade<'_>> = makeups
        .iter()
        .zip(["Hall, wide", "Hall, small"])
        .map(|(makeup, name)| Shade {
            opening: uuid::Uuid::nil(),
            room: uuid::Uuid::nil(),
            name,
            makeup,
            choices: &choices,
            cloth: None,
            board: BoardSize::ONE_BY_TWO,
            bracket: None,
            fixing: None,
            lot: None,
        })
        .collect();
    let bought = buy(&shades, MatchAt::Foot, &Settings::INCHES, Shop::standard(LengthUnit::Inch), LengthUnit::Inch);
    assert!(
        bought.problems.iter().any(|said| said.starts_with("Hall, wide: board is 199 7/8 in long")),
        "{:?}",
        bought.problems
    );
    let boards = bought.sticks.iter().find(|plan| plan.what == "board 1x2").unwrap();
    let names: Vec<&str> = boards.request.pieces.iter().map(|piece| piece.name.as_str()).collect();
    assert_eq!(names, ["Hall, small: board"]);
}

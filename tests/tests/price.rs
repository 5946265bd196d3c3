//! Prices, quotes and what was cut. The example by hand was worked with a pencil before the program saw it; sums of random
//! houses are worked again in Python's decimal by `tests/peers/quotes.py`. Houses and prices are invented.

use hangtrue_core::buying::Shop;
use hangtrue_core::fact::{Pen, Stamp, changes, fold};
use hangtrue_core::house::{Agreed, Job, Step, Workroom, file};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::money::{Currency, Money};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::price::{self, Kind, Ways};
use hangtrue_core::stand::Stand;
use hangtrue_core::walk::Event;
use hangtrue_core::walk::screen::Shown;
use hangtrue_core::work;
use hangtrue_tests::bench::{Bench, moment, one_window};
use hangtrue_tests::houses;
use proptest::prelude::*;
use serde_json::{Value, json};
use uuid::Uuid;

/// By hand. Finished 35 13/16 - 3/8 = 35 7/16 by 60 - 1/4 = 59 3/4. Face cut 59 3/4 + 1 1/2 + 1/2 + 3 = 64 3/4 long, one
/// width; the shop cuts by 9 in: 72 in, 2 yd, 48.00. Board 35 5/16 and bar 34 15/16 each out of 72 in: 6.00 and 5.00. Lift
/// 30.00. Together 89.00, and 40 % of it 35.60. Size 35.4375 x 59.75 / 144 = 14.704 sq ft, at 7 minutes 102.9: 103 minutes, and
/// 90 for a plain shade: 193 minutes at 45.00 an hour, 144.75. The shade: 269.35. Hanging 30 + 30 minutes: 45.00. Tax 7 % of
/// 269.35: 18.8545, 18.85. Total 333.20; half of it, 166.60, is more than the 78.00 of cloth and lift.
#[test]
fn a_price_by_hand() {
    let job = one_window();
    let catalogue = Catalogue::standard(job.unit);
    let house = work::house(&job, catalogue).unwrap();
    assert_eq!(house.openings[0].stand(), Stand::Settled, "{:?}", house.openings[0].standing.reasons);
    let whole = price::of_house(&house, catalogue, &Ways::of(&job));
    assert_eq!(whole.without, Vec::<String>::new());
    let shade = whole.openings[0].chosen.as_ref().unwrap();
    let of = |what: &str| {
        shade.lines.iter().find(|line| line.what == what).unwrap_or_else(|| panic!("{what}: {:?}", shade.lines)).money
    };
    assert_eq!(of("Moss"), Some(Money(4_800)));
    assert_eq!(of("board 1x2"), Some(Money(600)));
    assert_eq!(of("bottom bar"), Some(Money(500)));
    assert_eq!(of("added to what is bought"), Some(Money(3_560)));
    assert_eq!((shade.minutes, of("making")), (193, Some(Money(14_475))));
    assert_eq!(shade.each, Money(26_935));
    let sums: Vec<(&str, i64)> = whole.sums.iter().map(|sum| (sum.what.as_str(), sum.money.0)).collect();
    assert_eq!(sums, [("Hanging, one stop", 4_500), ("Sales tax, 7 % on the shades", 1_885)]);
    assert_eq!((whole.total, whole.deposit), (Money(33_320), Money(16_660)));
    assert_eq!(price::alone_and_shared(&house, &whole, &Ways::of(&job)), Some((Money(8_900), Money(8_900))));
}

#[test]
fn what_has_no_price_is_named_and_the_sum_is_without_it() {
    let mut job = one_window();
    job.trade.prices.remove("lift");
    job.settings = serde_json::from_value(json!({})).unwrap();
    let catalogue = Catalogue::standard(job.unit);
    let house = work::house(&job, catalogue).unwrap();
    let whole = price::of_house(&house, catalogue, &Ways::of(&job));
    let without = whole.without.join("; ");
    assert!(without.contains("lift") && without.contains("making, because an hour has no price yet"), "{without}");
    assert_eq!(whole.of_shades, Money(8_260), "48.00 + 6.00 + 5.00, and 40 % of it");
}

#[test]
fn the_clients_own_cloth_is_not_charged_and_its_handling_is() {
    let mut job = one_window();
    job.cloths[0].clients_own = true;
    job.settings.change("own_cloth_charge", "1500", job.unit).unwrap();
    let catalogue = Catalogue::standard(job.unit);
    let house = work::house(&job, catalogue).unwrap();
    let whole = price::of_house(&house, catalogue, &Ways::of(&job));
    // 11.00 and the lift's 30.00, 40 % of that, 15.00, 144.75.
    assert_eq!(whole.of_shades, Money(4_100 + 1_640 + 1_500 + 14_475));
}

#[test]
fn a_quote_stays_as_it_was_given_and_what_became_otherwise_is_said() {
    let job = one_window();
    let catalogue = Catalogue::standard(job.unit);
    let house = work::house(&job, catalogue).unwrap();
    let whole = price::of_house(&house, catalogue, &Ways::of(&job));
    let quote = price::draw_up(&house, &whole, moment(1), "Ida").unwrap();
    assert_eq!((quote.name.as_str(), quote.total, quote.lines.len()), ("1", Money(33_320), 1));
    assert_eq!(price::has_changed(&quote, &house), Vec::<String>::new());
    let mut kept = job.clone();
    kept.quotes.push(hangtrue_core::house::Quote {
        agreed: Some(Agreed { name: "M. Sorrel".to_owned(), at: moment(2).time(), strokes: String::new() }),
        ..quote
    });
    // Through its file and through the log it is the same, word for word.
    let back = file::read(&file::write(&kept)).unwrap();
    assert_eq!(back.quotes, kept.quotes);
    let mut pen = Pen::new(Uuid::from_u128(1), Stamp::default());
    let facts: Vec<_> = changes(None, &kept)
        .iter()
        .zip(10..)
        .map(|(body, n)| pen.write(moment(n), kept.id, "Ida", kept.unit, body))
        .collect();
    assert_eq!(fold(&facts).unwrap().job.quotes, kept.quotes);
    // A number that only changes the price changes nothing that was agreed; one that changes the size is said.
    let mut dearer = kept.clone();
    dearer.settings.change("hour_price", "9000", job.unit).unwrap();
    assert_eq!(price::has_changed(&kept.quotes[0], &work::house(&dearer, catalogue).unwrap()), Vec::<String>::new());
    let mut narrower = kept.clone();
    narrower.settings.change("inside_width_deduction", "1/2", job.unit).unwrap();
    let said = price::has_changed(&kept.quotes[0], &work::house(&narrower, catalogue).unwrap());
    assert_eq!(said, ["Study, North: its finished width was 35 7/16 in and is 35 5/16 in now."]);
    let sheet = hangtrue_core::sheet::quote(
        &hangtrue_core::sheet::Heading { job: &narrower, unit: job.unit, day: "2026-11-28" },
        &narrower.quotes[0],
        &work::house(&narrower, catalogue).unwrap(),
    )
    .into_string();
    assert!(sheet.contains("Not as agreed any more") && sheet.contains("M. Sorrel") && sheet.contains("333.20"));
    assert!(!sheet.contains("price of an hour") && !sheet.contains("9000"), "the maker's own numbers are on no sheet");
}

/// An invented house, in inches or millimetres.
fn invented(seed: u64) -> Job {
    houses::house(seed, if seed & 1 == 0 { LengthUnit::Inch } else { LengthUnit::Millimetre })
}

/// All that is cut of an opening's shades, read off what is made of it.
fn all_that_is_cut(job: &Job, at: Uuid) -> String {
    let house = work::house(job, Catalogue::standard(job.unit)).unwrap();
    let one = house.openings.iter().find(|one| one.opening.id == at).unwrap();
    let Some(mounting) = one.mounts.advised() else { return "no size".to_owned() };
    let made = one.shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok());
    let choices = &one.opening.choices;
    let has_lining =
        made.is_some_and(|made| made.cuts.iter().any(|cut| cut.material == hangtrue_core::makeup::Material::Lining));
    format!(
        "{:?}",
        (
            (mounting.width.total, mounting.length.total, &choices.cloth, choices.count, mounting.board.size),
            made.map(|made| made
                .cuts
                .iter()
                .map(|cut| (cut.part, cut.width, cut.length, cut.head_line))
                .collect::<Vec<_>>()),
            made.map(|made| &made.sticks),
            has_lining.then_some(choices.lining),
        )
    )
}

/// Names of the shades that a plan cuts.
fn planned(plans: &work::Plans) -> Vec<String> {
    let mut names: Vec<String> =
        plans.cut.cloths.iter().flat_map(|cloth| &cloth.wants).map(|want| want.name.clone()).collect();
    names.extend(plans.cut.sticks.iter().flat_map(|sticks| &sticks.request.pieces).map(|piece| piece.name.clone()));
    names
}

#[test]
fn only_what_is_settled_is_marked_as_cut_and_then_it_keeps_its_numbers() {
    let mut job = one_window();
    job.workroom = Workroom {
        settings: serde_json::from_value(json!({"inside_width_deduction": "1/2 in"})).unwrap(),
        ..Workroom::default()
    };
    let opening = job.rooms[0].openings[0].id;
    let cut = Event::Mark { opening, step: Step::Cut };
    // Nobody read its depth: it is not cut, and why is said.
    let mut unread = job.clone();
    unread.rooms[0].openings[0].readings.truncate(2);
    let mut bench = Bench::new(&unread);
    let refused = bench.act(&cut).unwrap_err();
    assert!(refused.starts_with("Do not cut:"), "{refused}");
    assert!(bench.now().rooms[0].openings[0].progress.cut.is_none());

    let mut bench = Bench::new(&job);
    bench.act(&cut).unwrap();
    let done = bench.now().rooms[0].openings[0].progress.cut.clone().unwrap();
    assert_eq!(done.width.unwrap().text(), "35 5/16");
    // The workroom changes its number: what was cut keeps the one that it was cut by.
    bench.job.workroom.settings = serde_json::from_value(json!({"inside_width_deduction": "3/4 in"})).unwrap();
    let after = bench.now();
    let house = work::house(&after, Catalogue::standard(after.unit)).unwrap();
    assert_eq!(house.openings[0].mounts.advised().unwrap().width.total.show(after.unit), "35 5/16");
    assert!(house.openings[0].standing.is_settled());
    // Taken back, it follows again only where the house was not held by it: the number stays the house's own.
    bench.act(&cut).unwrap();
    assert!(bench.now().rooms[0].openings[0].progress.cut.is_none());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    /// At the door: what is shown beside a way is what the shade is sold at once that way is touched, and the way back is
    /// shown then at what it was sold at before.
    #[test]
    fn a_price_beside_a_way_is_the_price_once_it_is_chosen(seed in any::<u64>()) {
        let mut job = invented(seed);
        job.settings.change("hour_price", "4500", job.unit).unwrap();
        for (i, (what, _)) in Shop::standard(job.unit).priced().into_iter().enumerate() {
            job.trade.prices.insert(what, 300 + u64::try_from(i).unwrap());
        }
        let group = |bench: &Bench| match bench.shown() {
            Some(Shown::Opening { screen }) => screen.choices.into_iter().find(|group| group.field == "priced"),
            _ => None,
        };
        let price = |label: &str| label.rsplit_once(": ").map(|(_, price)| price.to_owned());
        for opening in job.openings().map(|(_, one)| one.id).take(3) {
            let mut bench = Bench::new(&job);
            bench.act(&Event::ShowOpening { opening }).unwrap();
            let Some(ways) = group(&bench) else { continue };
            for way in &ways.options[1..] {
                let mut bench = Bench::new(&job);
                bench.act(&Event::ShowOpening { opening }).unwrap();
                bench.act(&way.event).unwrap();
                let then = group(&bench);
                let now = then.as_ref().map(|group| price(&group.options[0].label));
                prop_assert_eq!(now, Some(price(&way.label)), "{}", way.label);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Every amount is the sum of its lines; what a client pays first is never more than all of it; and planned together
    /// a house's material costs no more than shade by shade.
    #[test]
    fn every_sum_is_the_sum_of_its_lines(seed in any::<u64>(), hour in 0_i64..20_000, markup in 0_i64..120, deposit in 0_i64..=100, rate in 0_u32..30_000, off in 0_i64..400) {
        let mut job = invented(seed);
        let unit = job.unit;
        for (name, value) in [("hour_price", hour), ("markup_percent", markup), ("deposit_percent", deposit), ("discount_permille", off)] {
            job.settings.change(name, &value.to_string(), unit).unwrap();
        }
        for (i, (what, _)) in Shop::standard(unit).priced().into_iter().enumerate() {
            job.trade.prices.insert(what, (seed >> (i % 32)) % 5_000);
        }
        for (i, cloth) in job.cloths.iter_mut().enumerate() {
            cloth.price_cents = Some(1_000 + (seed >> i) % 9_000);
        }
        job.trade.taxes = serde_json::from_value(json!([{"name": "tax", "rate": rate, "on": "all"}])).unwrap();
        let catalogue = Catalogue::standard(unit);
        let Ok(house) = work::house(&job, catalogue) else { return Ok(()) };
        let whole = price::of_house(&house, catalogue, &Ways::of(&job));
        for priced in whole.openings.iter().filter_map(|one| one.chosen.as_ref()) {
            prop_assert_eq!(priced.lines.iter().filter_map(|line| line.money).sum::<Money>(), priced.each);
            prop_assert!(priced.lines.iter().all(|line| line.money.is_some() || priced.without.contains(&line.what)));
            prop_assert!(priced.lines.iter().all(|line| line.kind == Kind::Charge || line.money.is_none_or(|money| money >= Money::ZERO)));
        }
        let shades: Money = whole.openings.iter().filter_map(|one| one.chosen.as_ref()).map(price::Priced::all).sum();
        prop_assert_eq!(shades, whole.of_shades);
        prop_assert_eq!(whole.of_shades + whole.sums.iter().map(|sum| sum.money).sum(), whole.total);
        prop_assert!(whole.deposit >= Money::ZERO && whole.deposit <= whole.total);
        prop_assert!(whole.deposit >= whole.total.percent(deposit));
    }

    /// What was agreed is what is cut, or it is said: the sentences are empty exactly while the content number is the same.
    #[test]
    fn what_is_agreed_is_what_is_cut_or_it_is_said(seed in any::<u64>(), which in 0_usize..64, what in 0_u8..5) {
        let job = invented(seed);
        let catalogue = Catalogue::standard(job.unit);
        let Ok(house) = work::house(&job, catalogue) else { return Ok(()) };
        let ways = Ways::of(&job);
        let Some(quote) = price::draw_up(&house, &price::of_house(&house, catalogue, &ways), moment(1), "") else { return Ok(()) };
        prop_assert!(price::has_changed(&quote, &house).is_empty());
        let mut after = job.clone();
        let openings: Vec<Uuid> = quote.lines.iter().map(|line| line.opening).collect();
        let at = openings[which % openings.len()];
        let changed = after.rooms.iter_mut().flat_map(|room| &mut room.openings).find(|one| one.id == at).unwrap();
        match what {
            0 => changed.choices = serde_json::from_value(json!({})).unwrap(),
            1 => changed.choices.interlined = !changed.choices.interlined,
            2 => { changed.readings.pop(); }
            3 => after.settings.change("inside_width_deduction", if job.unit.is_imperial() { "7/16" } else { "11" }, job.unit).unwrap(),
            _ => changed.name.push('x'),
        }
        let Ok(then) = work::house(&after, catalogue) else { return Ok(()) };
        let again = price::draw_up(&then, &price::of_house(&then, catalogue, &ways), moment(2), "");
        let said = price::has_changed(&quote, &then);
        let same = again.is_some_and(|again| again.content == quote.content);
        prop_assert_eq!(said.is_empty(), same, "{:?}", said);
        // Once it was agreed on, the bar stands across the cutting sheet exactly where something of it is cut.
        let word = Agreed { name: "R. Alder".to_owned(), at: moment(3).time(), strokes: String::new() };
        let mut agreed = after.clone();
        agreed.quotes.push(hangtrue_core::house::Quote { agreed: Some(word), ..quote });
        let house = work::house(&agreed, catalogue).unwrap();
        let plans = work::plans(&house, Shop::standard(agreed.unit));
        let heading = hangtrue_core::sheet::Heading { job: &agreed, unit: agreed.unit, day: "2026-11-28" };
        let sheet = hangtrue_core::sheet::cutting(&heading, &plans, &house).into_string();
        let of_cut = house.openings.iter().filter(|one| plans.cut.plans_for(one.opening.id)).any(|one| said.iter().any(|says| says.starts_with(&format!("{}, {}:", one.room.name, one.opening.name.trim_end_matches('x')))));
        prop_assert_eq!(sheet.contains("Not as agreed any more: agree on a new quote"), of_cut, "{:?}", said);
    }

    /// A shade that is cut is asked about exactly where a part, its size or what it is cut from is another than it was: then
    /// it is settled no more, and no plan cuts it.
    #[test]
    fn what_was_cut_is_asked_about_exactly_where_it_would_be_another(seed in any::<u64>(), which in 0_usize..64, what in 0_usize..12) {
        let job = invented(seed);
        let settled: Vec<Uuid> = {
            let Ok(house) = work::house(&job, Catalogue::standard(job.unit)) else { return Ok(()) };
            house.openings.iter().filter(|one| one.standing.is_settled()).map(|one| one.opening.id).collect()
        };
        prop_assume!(!settled.is_empty());
        let at = settled[which % settled.len()];
        let mut bench = Bench::new(&job);
        bench.act(&Event::Mark { opening: at, step: Step::Cut }).unwrap();
        let marked = bench.now();
        let before = all_that_is_cut(&marked, at);
        let asked = |job: &Job| {
            let house = work::house(job, Catalogue::standard(job.unit)).unwrap();
            let one = house.openings.iter().find(|one| one.opening.id == at).unwrap();
            let says = one.flags().iter().find(|flag| flag.code == "cut_otherwise").map(|flag| flag.says.clone());
            (says, one.standing.is_settled())
        };
        prop_assert_eq!(asked(&marked).0, None);
        let mut after = marked.clone();
        let unit = after.unit;
        let changed = after.rooms.iter_mut().flat_map(|room| &mut room.openings).find(|one| one.id == at).unwrap();
        let choices = &mut changed.choices;
        let other = |value: &Value| json!({"plain": "blackout", "blackout": "none", "none": "plain", "flat": "relaxed", "relaxed": "hobbled", "left": "right", "right": "left"}).get(value.as_str().unwrap_or_default()).cloned();
        let mut set = |field: &str, default: &str| {
            let mut map = serde_json::to_value(&*choices).unwrap();
            let now = map.get(field).cloned().unwrap_or_else(|| json!(default));
            if let Some(next) = other(&now) { map[field] = next; }
            if let Ok(read) = hangtrue_core::length::with_default_unit(unit, || serde_json::from_value(map)) { *choices = read; }
        };
        match what {
            0 => set("lining", "plain"),
            1 => set("style", "flat"),
            2 => set("control", "right"),
            3 => choices.interlined = !choices.interlined,
            4 => choices.count = hangtrue_core::house::ShadeCount::new(choices.count.get() % 3 + 1).unwrap(),
            5 => choices.cloth = job.all_cloths().map(|cloth| cloth.name.clone()).find(|name| Some(name) != choices.cloth.as_ref()),
            6 => { changed.readings.pop(); }
            7 => changed.name.push('x'),
            8 => after.settings.change("side_turning", if unit.is_imperial() { "2" } else { "50" }, unit).unwrap(),
            9 => after.settings.change("hang_minutes", "77", unit).unwrap(),
            10 => after.settings.change("bar_deduction", if unit.is_imperial() { "3/4" } else { "20" }, unit).unwrap(),
            _ => after.settings.change("inside_width_deduction", if unit.is_imperial() { "7/16" } else { "11" }, unit).unwrap(),
        }
        prop_assume!(work::house(&after, Catalogue::standard(unit)).is_ok());
        let (says, is_settled) = asked(&after);
        prop_assert_eq!(says.is_some(), all_that_is_cut(&after, at) != before, "{:?}", says);
        prop_assert!(says.is_none() || !is_settled);
        // What comes back is as it was, and the question goes.
        prop_assert_eq!(asked(&marked).0, None);
    }

    /// A shade is cut once: it is planned, or it is told as cut already, or it is not settled; and whatever is planned has the
    /// size that it is marked with.
    #[test]
    fn nothing_is_cut_twice(seed in any::<u64>(), cut in any::<u64>()) {
        let job = invented(seed);
        let mut bench = Bench::new(&job);
        let settled: Vec<Uuid> = {
            let Ok(house) = work::house(&job, Catalogue::standard(job.unit)) else { return Ok(()) };
            house.openings.iter().filter(|one| one.standing.is_settled()).map(|one| one.opening.id).collect()
        };
        for (i, opening) in settled.iter().enumerate().filter(|(i, _)| cut >> (i % 64) & 1 == 1) {
            bench.act(&Event::Mark { opening: *opening, step: Step::Cut }).unwrap_or_else(|why| panic!("{i}: {why}"));
        }
        let after = bench.now();
        let house = work::house(&after, Catalogue::standard(after.unit)).unwrap();
        let plans = work::plans(&house, Shop::standard(after.unit));
        let names = planned(&plans);
        let all_cut = house.openings.iter().filter(|one| one.standing.is_settled()).all(|one| one.opening.progress.cut.is_some());
        for one in &house.openings {
            let name = format!("{}, {}", one.room.name, one.opening.name);
            let is_planned = names.iter().any(|piece| piece.starts_with(&format!("{name}:")) || piece.starts_with(&format!("{name}, ")));
            if let Some(done) = &one.opening.progress.cut {
                prop_assert_eq!(is_planned, all_cut);
                prop_assert_eq!(plans.cut_already.contains(&name), !all_cut);
                let mounting = one.mounts.advised().unwrap();
                prop_assert_eq!(done.width.as_ref().unwrap().value(), mounting.width.total);
                prop_assert_eq!(done.length.as_ref().unwrap().value(), mounting.length.total);
            } else {
                prop_assert!(!is_planned || one.standing.is_settled());
            }
        }
    }
}

#[test]
fn a_reading_that_comes_after_the_cut_is_asked_about() {
    let job = one_window();
    let opening = job.rooms[0].openings[0].id;
    let mut bench = Bench::new(&job);
    bench.act(&Event::Mark { opening, step: Step::Cut }).unwrap();
    let mut after = bench.now();
    after.settings.change("inside_length_deduction", "1/2", after.unit).unwrap();
    let house = work::house(&after, Catalogue::standard(after.unit)).unwrap();
    let one = &house.openings[0];
    assert_eq!(one.stand(), Stand::Decide);
    let flag = one.flags().into_iter().find(|flag| flag.code == "cut_otherwise").unwrap();
    assert!(flag.says.contains("its finished length was 59 3/4 in and would be 59 1/2 in"), "{}", flag.says);
    assert_eq!(Currency::USUAL.show(Money(5)), "0.05 USD");
}

#[test]
fn the_calculator_answers_on_one_line() {
    let answer = price::calculator::answer(&file::write(&one_window()), 1);
    let answer: Value = serde_json::from_str(&answer).unwrap();
    assert_eq!(answer["total"], 33_320);
    assert_eq!(answer["decimals"], 2);
    let refused: Value = serde_json::from_str(&price::calculator::answer("{}", 1)).unwrap();
    assert!(refused["error"]["right"].as_str().unwrap().contains("hangtrue_job"));
}

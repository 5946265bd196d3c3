//! What comes after a quote: invoices and their numbers, the bench, the day that is promised. Days by pencil from a calendar of
//! 2026; houses are invented.

use chrono::{Datelike, NaiveDate, Weekday};
use hangtrue_core::buying::Shop;
use hangtrue_core::fact::{Body, Moment, fold};
use hangtrue_core::house::{Agreed, Done, Job, Place, Quote, Step, file};
use hangtrue_core::label::Address;
use hangtrue_core::length::{LengthUnit, with_default_unit};
use hangtrue_core::money::Money;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::price::bench::{Next, after_days, on_bench, promise, promise_of};
use hangtrue_core::price::{self, Ways};
use hangtrue_core::settings::Settings;
use hangtrue_core::store::{Book, StoreProblem};
use hangtrue_core::walk::Event;
use hangtrue_core::walk::screen::Shown;
use hangtrue_core::work;
use hangtrue_tests::bench::{Bench, one_window};
use hangtrue_tests::houses;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use uuid::Uuid;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// By pencil: 2026-05-04 is a Monday. 900 minutes at 360 a day are 3 days, so the bench is free on Thursday the 7th; cloth
/// that is ordered then is here on Monday the 18th; 400 minutes are 2 days, so it is made by Wednesday the 20th, and 5 working
/// days of grace lead to Wednesday the 27th. With the cloth at hand it is Thursday the 7th, 2 days, Monday the 11th, and 5 days
/// of grace: Monday the 18th.
#[test]
fn a_promise_by_pencil() {
    let settings = Settings::INCHES;
    let said = promise(day("2026-05-04"), 900, 400, after_days(day("2026-05-04"), settings.cloth_days), &settings);
    assert_eq!((said.free, said.cloth_in, said.promise), (day("2026-05-07"), day("2026-05-18"), day("2026-05-27")));
    assert_eq!(promise(day("2026-05-04"), 900, 400, day("2026-05-04"), &settings).promise, day("2026-05-18"));
    // A Saturday is no day of a bench that works from Monday to Friday.
    assert_eq!(
        promise(day("2026-05-09"), 0, 0, day("2026-05-09"), &Settings { grace_days: 0, ..settings }).promise,
        day("2026-05-11")
    );
}

fn moment(n: &mut u64) -> Moment {
    *n += 1;
    let mut random = [0; 10];
    random[2..].copy_from_slice(&n.to_be_bytes());
    Moment { ms: 1_780_000_000_000 + *n * 1_000, random }
}

/// An invented house with a price for everything, and a quote that was agreed.
fn agreed(seed: u64, n: &mut u64) -> Option<Job> {
    let mut job = houses::house(seed, if seed & 1 == 0 { LengthUnit::Inch } else { LengthUnit::Millimetre });
    job.settings.change("hour_price", "4500", job.unit).unwrap();
    for (what, _) in Shop::standard(job.unit).priced() {
        job.trade.prices.insert(what, 700);
    }
    let catalogue = Catalogue::standard(job.unit);
    let house = work::house(&job, catalogue).ok()?;
    let quote = price::draw_up(&house, &price::of_house(&house, catalogue, &Ways::of(&job)), moment(n), "Ida")?;
    let word = Agreed { name: "R. Alder".to_owned(), at: moment(n).time(), strokes: "1 2 30 40".to_owned() };
    drop(house);
    job.quotes.push(Quote { agreed: Some(word), ..quote });
    Some(job)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// An invoice asks for what was agreed, to the unit; taken back it asks for nothing; and nothing of it is lost in a file.
    #[test]
    fn an_invoice_asks_for_what_was_agreed(seed in any::<u64>()) {
        let mut n = 0;
        let Some(mut job) = agreed(seed, &mut n) else { return Ok(()) };
        let quote = job.quotes[0].clone();
        let open = Quote { agreed: None, ..quote.clone() };
        prop_assert!(price::invoice(&job, &open, "A-1", moment(&mut n), "").is_none());
        let invoice = price::invoice(&job, &quote, "A-1", moment(&mut n), "").unwrap();
        prop_assert_eq!(price::agreed_open(&job), Some(quote.total));
        prop_assert_eq!(invoice.total, quote.total);
        prop_assert_eq!(invoice.lines.iter().map(|line| line.money).sum::<Money>(), invoice.total);
        prop_assert_eq!((invoice.due - invoice.at.date_naive()).num_days(), 14);
        job.invoices.push(invoice.clone());
        prop_assert_eq!(price::open(&job), quote.total);
        // Nobody is asked twice: not by a second touch, and what is agreed is not open beside its invoice.
        prop_assert!(price::invoice(&job, &quote, "A-2", moment(&mut n), "").is_none());
        prop_assert_eq!(price::agreed_open(&job), Some(quote.total));
        let back = price::take_back(&job, &invoice, "A-2", moment(&mut n), "").unwrap();
        job.invoices.push(back.clone());
        prop_assert_eq!(price::open(&job), Money::ZERO);
        prop_assert!(price::take_back(&job, &invoice, "A-3", moment(&mut n), "").is_none());
        prop_assert!(price::take_back(&job, &back, "A-3", moment(&mut n), "").is_none());
        prop_assert_eq!(file::read(&file::write(&job)).unwrap().invoices, job.invoices);
    }

    /// The day that is promised is worked, is not before the cloth is in and its grace is over, and is never earlier for more work.
    #[test]
    fn a_promise_keeps_its_grace(from in 0_u64..4_000, before in 0_i64..40_000, own in 0_i64..9_000, more in 0_i64..5_000, days in 5_i64..8, minutes in 1_i64..900, cloth in 0_i64..90, grace in 0_i64..40, needs in any::<bool>()) {
        let today = day("2026-01-01") + chrono::Days::new(from);
        let settings = Settings { bench_days: days, bench_minutes: minutes, cloth_days: cloth, grace_days: grace, ..Settings::INCHES };
        let cloth_in = if needs { after_days(today, cloth) } else { today };
        let said = promise(today, before, own, cloth_in, &settings);
        let worked = |day: NaiveDate| match days { 7 => true, 6 => day.weekday() != Weekday::Sun, _ => !matches!(day.weekday(), Weekday::Sat | Weekday::Sun) };
        prop_assert!(worked(said.promise) && worked(said.free));
        prop_assert!(said.promise >= said.cloth_in && said.promise >= said.free && said.free >= today);
        // As many days are worked from then on as its own work and the grace take.
        let begin = said.free.max(said.cloth_in);
        let between = begin.iter_days().take_while(|day| *day < said.promise).filter(|day| worked(*day)).count();
        let takes = (own + minutes - 1) / minutes + grace;
        prop_assert_eq!(i64::try_from(between).unwrap(), takes);
        prop_assert!(promise(today, before + more, own, cloth_in, &settings).promise >= said.promise);
        prop_assert!(promise(today, before, own + more, cloth_in, &settings).promise >= said.promise);
    }

    /// Cloth that was ordered reaches the promise: no day is promised before the cloth of every shade that waits for it can be
    /// here and the days of grace are over.
    #[test]
    fn no_promise_before_the_cloth(seed in any::<u64>(), ordered in prop::collection::vec(proptest::option::of(0_u64..30), 8), before in 0_i64..5_000) {
        let mut n = 0;
        let Some(mut job) = agreed(seed, &mut n) else { return Ok(()) };
        let today = day("2026-05-29");
        let openings: Vec<Uuid> = {
            let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
            house.openings.iter().filter(|one| one.standing.is_settled()).map(|one| one.opening.id).collect()
        };
        for (opening, ago) in openings.iter().zip(ordered.iter().cycle()) {
            let Some(ago) = ago else { continue };
            let at = (today - chrono::Days::new(*ago)).and_hms_opt(12, 0, 0).unwrap().and_utc();
            let at = Moment { ms: u64::try_from(at.timestamp_millis()).unwrap(), random: [7; 10] };
            mark(&mut job, *opening, Step::Ordered, at);
        }
        let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
        let plans = work::plans(&house, Shop::standard(job.unit));
        let rows = on_bench(&house, &plans, Shop::standard(job.unit), today);
        let said = promise_of(&rows, today, before, &house.settings);
        for row in &rows {
            let one = house.opening(row.opening).unwrap();
            let from = match (&one.opening.progress.ordered, row.now) {
                (Some(ordered), _) if row.waits_for.starts_with("its cloth") => ordered.at.date_naive(),
                (_, Some(Next::Order)) => today,
                _ => continue,
            };
            prop_assert!(said.promise >= after_days(from, house.settings.cloth_days + house.settings.grace_days), "{row:?} and {said:?}");
        }
    }

    /// What hangs and is on an invoice is sold: it is in no later quote, and a second invoice asks for the new alone, less what
    /// came beyond the first.
    #[test]
    fn nothing_is_sold_twice(seed in any::<u64>(), hang in any::<u64>(), paid in 0_i64..500_000) {
        let mut n = 0;
        let Some(mut job) = agreed(seed, &mut n) else { return Ok(()) };
        let quote = job.quotes[0].clone();
        let invoice = price::invoice(&job, &quote, "A-1", moment(&mut n), "").unwrap();
        job.invoices.push(invoice);
        let hung: Vec<Uuid> = quote.lines.iter().enumerate().filter(|(i, _)| hang >> (i % 64) & 1 == 1).map(|(_, line)| line.opening).collect();
        for opening in &hung {
            mark(&mut job, *opening, Step::Hung, moment(&mut n));
        }
        job.payments.push(serde_json::from_value(json!({"name": "one", "on": "2026-05-05", "money": paid})).unwrap());
        let catalogue = Catalogue::standard(job.unit);
        let house = work::house(&job, catalogue).unwrap();
        let again = price::draw_up(&house, &price::of_house(&house, catalogue, &Ways::of(&job)), moment(&mut n), "Ida");
        let Some(again) = again else {
            prop_assert_eq!(hung.len(), quote.lines.len());
            return Ok(());
        };
        let now: BTreeSet<Uuid> = again.lines.iter().map(|line| line.opening).collect();
        let then: BTreeSet<Uuid> = quote.lines.iter().map(|line| line.opening).filter(|id| !hung.contains(id)).collect();
        prop_assert_eq!(now, then);
        prop_assert_eq!(again.lines.iter().map(|line| line.price).sum::<Money>() + again.sums.iter().map(|sum| sum.money).sum(), again.total);
        drop(house);
        let again = Quote { agreed: quote.agreed, ..again };
        job.quotes.push(again.clone());
        prop_assert_eq!(price::agreed_open(&job), Some(Money(quote.total.0 + again.total.0 - paid)));
        let second = price::invoice(&job, &again, "A-2", moment(&mut n), "").unwrap();
        prop_assert_eq!(second.paid, Money((paid - quote.total.0).max(0)));
    }

    /// Every shade is where its steps say, and goes on until it hangs and is paid: each step that can be done leads to another,
    /// and nothing that is not settled is ever to be cut.
    #[test]
    fn every_shade_goes_on_until_it_is_paid(seed in any::<u64>(), pay in any::<bool>()) {
        let mut n = 0;
        let Some(mut job) = agreed(seed, &mut n) else { return Ok(()) };
        let today = day("2026-05-04");
        for turn in 0..8 {
            let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
            let plans = work::plans(&house, Shop::standard(job.unit));
            let rows = on_bench(&house, &plans, Shop::standard(job.unit), today);
            let mut marks: Vec<(Uuid, Step)> = Vec::new();
            for row in &rows {
                let one = house.opening(row.opening).unwrap();
                prop_assert_eq!(row.now.is_some(), row.waits_for.is_empty());
                if matches!(row.now, Some(Next::Cut | Next::Order | Next::Make)) {
                    prop_assert!(one.standing.is_settled(), "{:?} of what is not settled", row.now);
                }
                if let Some(step) = row.now.and_then(hangtrue_core::price::bench::marked_by) {
                    marks.push((row.opening, step));
                } else if row.now == Some(Next::AgreeDay) {
                    marks.push((row.opening, Step::Hung));
                } else if row.waits_for.starts_with("its cloth") {
                    marks.push((row.opening, Step::Here));
                }
            }
            let asks = rows.iter().any(|row| row.now == Some(Next::Invoice));
            drop(house);
            if asks {
                let invoice = price::invoice(&job, &job.quotes[0], "A-1", moment(&mut n), "").unwrap();
                job.invoices.push(invoice);
            }
            for (opening, step) in &marks {
                mark(&mut job, *opening, *step, moment(&mut n));
            }
            if marks.is_empty() && !asks {
                let hung = job.openings().any(|(_, one)| one.progress.hung.is_some());
                if pay && hung && job.payments.is_empty() {
                    let total = job.quotes[0].total;
                    job.payments.push(serde_json::from_value(json!({"name": "all", "on": "2026-05-05", "money": total})).unwrap());
                    continue;
                }
                // What is left to do is a person's: to measure, to decide, to quote, to wait for the payment.
                for row in &rows {
                    let left = matches!(row.now, Some(Next::Measure | Next::Decide | Next::Quote)) || row.waits_for.starts_with("its payment");
                    prop_assert!(left, "turn {turn}: {row:?}");
                    prop_assert!(!pay || !row.waits_for.starts_with("its payment"));
                }
                return Ok(());
            }
        }
        prop_assert!(false, "it never came to an end");
    }

    /// Numbers count 1, 2, 3 on a desk, whatever house they are for, whatever is erased, opened again or asked for twice.
    #[test]
    fn numbers_neither_repeat_nor_skip(acts in prop::collection::vec((0_u8..4, 0_usize..3), 1..30)) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("book.db");
        let mut n = 0;
        let mut book = Book::open(&path, &mut || moment(&mut n)).unwrap();
        let mut houses: Vec<Uuid> = Vec::new();
        let mut given: Vec<String> = Vec::new();
        for (act, at) in acts {
            match act {
                0 => {
                    let id = Uuid::from_u128(0x0192_a3b4_0000_7000_8000_0000_0000_0000 + u128::from(n));
                    let body = Body::HouseOpened { name: format!("House {n}"), unit: LengthUnit::Inch };
                    book.write(id, "Ida", LengthUnit::Inch, &[body], &mut || moment(&mut n)).unwrap();
                    houses.push(id);
                }
                1 if !houses.is_empty() => {
                    let id = houses[at % houses.len()];
                    let number = book.next_invoice().unwrap();
                    let write = |book: &mut Book, n: &mut u64| book.write(id, "Ida", LengthUnit::Inch, &[invoiced(id, &number)], &mut || moment(n));
                    write(&mut book, &mut n).unwrap();
                    // The same number again is refused, and nothing is written.
                    prop_assert!(matches!(write(&mut book, &mut n), Err(StoreProblem::IdTaken)));
                    given.push(number);
                }
                2 => {
                    drop(book);
                    book = Book::open(&path, &mut || moment(&mut n)).unwrap();
                }
                3 if !houses.is_empty() => {
                    let id = houses.swap_remove(at % houses.len());
                    book.write(id, "Ida", LengthUnit::Inch, &[Body::HouseErased {}], &mut || moment(&mut n)).unwrap();
                }
                _ => {}
            }
        }
        let counts: Vec<u64> = given.iter().map(|number| number.split_once('-').unwrap().1.parse().unwrap()).collect();
        prop_assert_eq!(counts, (1..=given.len() as u64).collect::<Vec<_>>());
        let signs: BTreeSet<&str> = given.iter().map(|number| number.split_once('-').unwrap().0).collect();
        prop_assert!(signs.len() <= 1);
        for id in houses {
            let house = fold(&book.facts(id).unwrap()).unwrap();
            prop_assert!(house.job.invoices.iter().all(|invoice| given.contains(&invoice.name)));
        }
    }
}

fn invoiced(on: Uuid, number: &str) -> Body {
    let value = json!({"name": number, "at": "2026-05-04T09:00:00Z", "quote": "1", "currency": "USD", "lines": [], "total": 0, "paid": 0, "due": "2026-05-18"});
    Body::Set { on, replaces: Vec::new(), field: format!("invoices.{number}"), value }
}

fn mark(job: &mut Job, opening: Uuid, step: Step, at: Moment) {
    let unit = job.unit;
    let house = work::house(job, Catalogue::standard(unit)).unwrap();
    let one = house.opening(opening).unwrap();
    let mounting = one.mounts.advised().unwrap();
    let done = json!({
        "at": at.time(), "width": mounting.width.total.show_marked(unit), "length": mounting.length.total.show_marked(unit),
        "cloth": one.opening.choices.cloth,
    });
    drop(house);
    let mut done = done;
    if done["cloth"].is_null() {
        done.as_object_mut().unwrap().remove("cloth");
    }
    let done: Done = with_default_unit(unit, || serde_json::from_value::<Done>(Value::clone(&done))).unwrap();
    let one = job.rooms.iter_mut().flat_map(|room| &mut room.openings).find(|one| one.id == opening).unwrap();
    let progress = &mut one.progress;
    *match step {
        Step::Ordered => &mut progress.ordered,
        Step::Here => &mut progress.here,
        Step::Cut => &mut progress.cut,
        Step::Made => &mut progress.made,
        Step::Hung => &mut progress.hung,
    } = Some(done);
}

/// A shade that hung is ordered again: the two readings that are asked for, and nothing else, lead to its size, and what does not
/// agree with the old ones is asked about.
#[test]
fn the_same_again_is_confirmed_by_two_readings() {
    let mut bench = Bench::new(&one_window());
    let first = bench.now().rooms[0].openings[0].id;
    assert!(bench.act(&Event::Mark { opening: first, step: Step::Cut }).is_ok());
    bench.act(&Event::Mark { opening: first, step: Step::Hung }).unwrap();
    bench.act(&Event::Again { opening: first }).unwrap();
    let job = bench.now();
    let again = job.rooms[0].openings[1].clone();
    assert_eq!((again.name.as_str(), again.again.map(|again| again.of)), ("North, again", Some(first)));
    assert_eq!(again.readings.len(), job.rooms[0].openings[0].readings.len());
    assert!(again.progress.cut.is_none());
    let stand = |job: &Job| {
        let house = work::house(job, Catalogue::standard(job.unit)).unwrap();
        let one = house.opening(again.id).unwrap();
        let asks: Vec<Place> = one
            .flags()
            .iter()
            .find(|flag| flag.code == "made_again")
            .map(|flag| flag.places.clone())
            .unwrap_or_default();
        let width = one.mounts.advised().map(|mounting| mounting.width.total.show(job.unit));
        (one.standing.is_settled(), asks, width)
    };
    assert_eq!(stand(&job), (false, vec![Place::WidthMiddle, Place::HeightLeft], Some("35 7/16".to_owned())));
    bench.read(again.id, Place::WidthMiddle, "35 13/16");
    assert_eq!(stand(&bench.now()).1, [Place::HeightLeft]);
    bench.read(again.id, Place::HeightLeft, "60");
    assert_eq!(stand(&bench.now()), (true, vec![], Some("35 7/16".to_owned())));
    // The window that was exchanged since does not agree: it is read again, all of it.
    let mut other = Bench::new(&one_window());
    other.act(&Event::Mark { opening: first, step: Step::Hung }).unwrap();
    other.act(&Event::Again { opening: first }).unwrap();
    let id = other.now().rooms[0].openings[1].id;
    other.read(id, Place::WidthMiddle, "35 1/4");
    other.read(id, Place::HeightLeft, "60");
    let job = other.now();
    let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
    assert!(!house.opening(id).unwrap().standing.is_settled());
}

/// A label's code opens its opening, from wherever a person is.
#[test]
fn a_label_opens_its_opening() {
    let mut bench = Bench::new(&one_window());
    let job = bench.now();
    let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
    let labels = hangtrue_core::label::labels(&house, &work::plans(&house, Shop::standard(job.unit)));
    let code = Address { house: job.id, opening: labels.labels[0].opening, sizes: labels.labels[0].number }.to_string();
    let opening = labels.labels[0].opening;
    bench.act(&Event::ShowHouses).unwrap();
    bench.act(&Event::OpenLabel { code: code.clone() }).unwrap();
    assert_eq!(bench.shown_opening(), Some(opening));
    // It says whether what is written on the label is still so, there and on no other screen.
    let says = |bench: &Bench| match bench.shown() {
        Some(Shown::Opening { screen }) => screen.says,
        other => panic!("{other:?}"),
    };
    assert!(says(&bench).starts_with("This label: Good: the pieces of Study, North."), "{}", says(&bench));
    bench.act(&Event::ShowHouse { house: job.id }).unwrap();
    bench.act(&Event::ShowOpening { opening }).unwrap();
    assert!(!says(&bench).contains("label"), "{}", says(&bench));
    for place in [Place::WidthTop, Place::WidthMiddle, Place::WidthBottom] {
        bench.read(opening, place, "35 5/8");
        bench.read(opening, place, "35 5/8");
    }
    bench.act(&Event::OpenLabel { code: code.clone() }).unwrap();
    assert!(says(&bench).starts_with("This label: Void: "), "{}", says(&bench));
    let refused = bench.act(&Event::OpenLabel { code: code.replace("house=0", "house=1") }).unwrap_err();
    assert!(refused.contains("not on this device"), "{refused}");
    assert!(bench.act(&Event::OpenLabel { code: "hangtrue-label:9?x".to_owned() }).unwrap_err().contains("newer"));
}

/// By pencil, an hour at 45.00: 48.00 and 60 minutes are 93.00; 20 minutes are 15.00; what is older than the day is not counted, and
/// 5.00 in another currency is told and not added.
#[test]
fn mistakes_by_pencil() {
    let mut first = one_window();
    let mut second = one_window();
    second.trade.currency = Some(hangtrue_core::money::Currency::read("EUR").unwrap());
    let defect = |name: &str, on: &str, cause: &str, place: Option<&str>, money: i64, minutes: u32| {
        let mut json =
            json!({"name": name, "on": on, "what": "rubs", "cause": cause, "money": money, "minutes": minutes});
        if let Some(place) = place {
            json["place"] = json!(place);
        }
        serde_json::from_value(json).unwrap()
    };
    first.rooms[0].openings[0].defects = vec![
        defect("a", "2026-05-04", "reading", Some("width_middle"), 4_800, 60),
        defect("b", "2026-06-04", "cutting", None, 0, 20),
        defect("c", "2025-05-04", "cutting", None, 9_900, 0),
    ];
    second.rooms[0].openings[0].defects = vec![defect("d", "2026-05-05", "cloth", None, 500, 0)];
    let jobs = [first, second];
    let found = price::mistakes(&jobs, day("2025-12-31"), hangtrue_core::money::Currency::USUAL, 4_500);
    assert_eq!((found.whole.many, found.whole.cost, found.whole.minutes), (2, Money(10_800), 80));
    let costs: Vec<(&str, i64)> = found.causes.iter().map(|(cause, sum)| (cause.code(), sum.cost.0)).collect();
    assert_eq!(costs, [("reading", 9_300), ("cutting", 1_500)]);
    assert_eq!(found.places[&Place::WidthMiddle].cost, Money(9_300));
    let each: Vec<(&str, Option<i64>)> =
        found.all.iter().map(|one| (one.defect.name.as_str(), one.cost.map(|cost| cost.0))).collect();
    assert_eq!(each, [("b", Some(1_500)), ("d", None), ("a", Some(9_300))]);
}

//! Cut lists against public instances, recipes with known optima, brute force, and their own sums.

#[path = "cutting/classes.rs"]
#[allow(dead_code, reason = "the bench uses the rest of it")]
mod classes;

use classes::{Draw, Instance};
use hangtrue_core::cutlist::{CutProblem, OnHand, Piece, Plan, Request, Source, Spend, Stock, check, plan};
use hangtrue_core::length::Length;
use hangtrue_core::settings::Settings;
use proptest::prelude::*;

/// Plans an instance, adds the plan up, and holds it against the optimum.
fn solved(instance: &Instance) -> Plan {
    let request = instance.request();
    let plan = plan(&request).unwrap();
    check(&request, &plan).unwrap();
    if let Some(optimum) = instance.optimum {
        assert!(plan.bought_at_least <= optimum, "{}: a bound above the optimum", instance.name);
        assert!(plan.bought <= optimum + 1, "{}: {} sticks, optimum {optimum}", instance.name, plan.bought);
    }
    plan
}

fn proven(instance: &Instance) {
    let plan = solved(instance);
    assert_eq!(plan.too_many_at_most(), 0, "{}: {} sticks", instance.name, plan.bought);
    if let Some(optimum) = instance.optimum {
        assert_eq!(plan.bought, optimum, "{}", instance.name);
    }
}

/// Optima: BPPLIB's bounds, as `../shared/data/README.md` says (data of ESICUP and OR-Library).
#[test]
fn public_instances_reach_their_published_optimum() {
    let hard = ["Scholl 3", "Hard28 (Schoenfield)", "Waescher"];
    let text = hangtrue_tests::published::text("cutting_1d_instances.jsonl").unwrap_or_default();
    for instance in classes::published(&text) {
        if hard.contains(&instance.family.as_str()) {
            solved(&instance);
        } else {
            proven(&instance);
        }
    }
}

/// Falkenauer, "A hybrid grouping genetic algorithm for bin packing" (1996): triplets, whose optimum is n / 3.
#[test]
fn triplets_by_falkenauers_recipe_are_solved() {
    for seed in 0..6 {
        proven(&classes::triplets(60, seed));
    }
    proven(&classes::triplets(120, 3));
}

/// Falkenauer (1996), Schwerin and Waescher (1997), Scholl, Klein and Juergens (1997): classes made by recipe.
#[test]
fn classes_by_their_published_recipes_are_proven() {
    for seed in 0..4 {
        proven(&classes::uniform(120, seed));
        proven(&classes::schwerin(120, seed + 1));
        for capacity in [100, 120, 150] {
            for least in [1, 20, 30] {
                proven(&classes::scholl_1(50, capacity, least, seed));
                proven(&classes::scholl_1(100, capacity, least, seed));
            }
        }
    }
}

/// Invented houses: every number of sticks and every cost proven.
#[test]
fn invented_houses_are_proven() {
    for seed in 0..3 {
        for (name, request) in classes::house(60, seed) {
            let plan = plan(&request).unwrap();
            check(&request, &plan).unwrap();
            assert!(plan.is_proven(), "{name} of house {seed}: {:?}", plan.spend);
        }
        assert!(plan(&classes::twelve_lengths(seed)).unwrap().is_proven());
    }
}

fn house(pieces: &[(Length, u32)], stock: &[(Length, Option<u64>, Option<u32>)], on_hand: &[(Length, u32)]) -> Request {
    Request {
        stock: stock
            .iter()
            .map(|(length, cents, count)| Stock { length: *length, cents: *cents, count: *count })
            .collect(),
        on_hand: on_hand.iter().map(|(length, count)| OnHand { length: *length, count: *count }).collect(),
        pieces: pieces
            .iter()
            .enumerate()
            .map(|(n, (length, count))| Piece { name: format!("piece {}", n + 1), length: *length, count: *count })
            .collect(),
        ..Request::of_house(&Settings::INCHES)
    }
}

const fn inches(n: i64) -> Length {
    Length::whole_inches(n)
}

/// The rule of the saw, worked by hand: common practice, no source.
#[test]
fn the_last_cut_needs_no_wood_beyond_the_piece() {
    // Two of 47 15/16 and a kerf of 1/8 fill 96 to the end.
    let full = [(Length::inches(767, 16), 2)];
    let exact = plan(&house(&full, &[(inches(96), None, None)], &[])).unwrap();
    assert_eq!((exact.bought, exact.sticks[0].offcut, exact.sticks[0].sawn), (1, Length::ZERO, Length::inches(1, 8)));
    // 1/16 is left: less than a kerf, and the saw takes it.
    let less = [(Length::inches(767, 16), 1), (Length::inches(766, 16), 1)];
    let eaten = plan(&house(&less, &[(inches(96), None, None)], &[])).unwrap();
    assert_eq!((eaten.bought, eaten.sticks[0].offcut, eaten.sticks[0].sawn), (1, Length::ZERO, Length::inches(3, 16)));
    // 1/64 more and they do not fit.
    let more = [(Length::inches(767, 16), 1), (Length::inches(767, 16) + Length::inches(1, 64), 1)];
    assert_eq!(plan(&house(&more, &[(inches(96), None, None)], &[])).unwrap().bought, 2);
}

#[test]
fn trimmed_ends_come_off_bought_sticks_only() {
    let mut request = house(&[(inches(95), 2)], &[(inches(96), None, None)], &[(inches(95), 1)]);
    request.trim = Length::inches(1, 2);
    let trimmed = plan(&request).unwrap();
    assert_eq!((trimmed.bought, trimmed.sticks.len()), (1, 2));
    request.trim = Length::inches(5, 8);
    let CutProblem::TooLittle = plan(&request).unwrap_err() else { panic!("one of them fits nothing") };
}

#[test]
fn fewest_then_cheapest_then_the_longest_offcut() {
    let stock = [(inches(72), Some(300), None), (inches(96), Some(410), None), (inches(120), Some(600), None)];
    // One 120 would do, and so would one 96.
    let one = plan(&house(&[(inches(40), 2)], &stock, &[])).unwrap();
    assert_eq!((one.bought, one.spend), (1, Spend::Cents { total: 410, at_least: 410 }));
    // Fewest first: one stick of 120 although two of 72 are dearer only by nothing.
    let two = plan(&house(&[(inches(59), 2)], &stock, &[])).unwrap();
    assert_eq!((two.bought, two.spend), (1, Spend::Cents { total: 600, at_least: 600 }));
    // Two sticks of 96 hold 40, 40, 30, 30: the longest offcut takes the pieces apart unevenly.
    let kept = plan(&house(&[(inches(40), 2), (inches(30), 2)], &[(inches(96), None, None)], &[])).unwrap();
    assert_eq!(kept.bought, 2);
    assert_eq!(kept.longest_offcut, Length::inches(286, 8), "96 - 2 x 30 - 2 x 1/8");
    assert_eq!(kept.longest_offcut_at_most, kept.longest_offcut);
}

#[test]
fn offcuts_on_hand_cost_nothing_and_limits_hold() {
    let request = house(&[(inches(40), 3)], &[(inches(96), Some(410), None)], &[(inches(41), 1)]);
    let with = plan(&request).unwrap();
    assert_eq!(with.bought, 1);
    assert!(with.sticks.iter().any(|s| s.source == Source::OnHand(0)));
    let limited = house(&[(inches(40), 6)], &[(inches(96), None, Some(2)), (inches(48), None, Some(2))], &[]);
    assert_eq!(plan(&limited).unwrap().bought, 4);
    let short = house(&[(inches(40), 7)], &[(inches(96), None, Some(2)), (inches(48), None, Some(2))], &[]);
    assert_eq!(plan(&short).unwrap_err(), CutProblem::TooLittle);
}

#[test]
fn impossible_pieces_are_named_each_in_a_sentence() {
    let mut request = house(&[(inches(100), 1), (inches(20), 1), (inches(97), 2)], &[(inches(96), None, None)], &[]);
    let said = plan(&request).unwrap_err().to_string();
    assert_eq!(
        said,
        "piece 1 is 100 in long, and the longest stick gives 96 in. piece 3 is 97 in long, and the longest stick gives 96 in."
    );
    request.stock.clear();
    assert!(plan(&request).unwrap_err().to_string().contains("there is no stick to cut it from"));
}

/// Very many short pieces, and very many lengths: a plan that adds up, within memory.
#[test]
fn large_requests_are_planned() {
    let many = house(&[(Length::inches(1, 4), 20_000)], &[(inches(96), Some(410), None)], &[]);
    let plan_of_many = plan(&many).unwrap();
    assert_eq!(plan_of_many.bought, 20_000_u32.div_ceil(256), "96 1/8 / 3/8 pieces to a stick");
    let lengths: Vec<(Length, u32)> = (1..1500).map(|n| (Length::from_nm(500_000_000 + n * 7919), 1)).collect();
    let wide = house(&lengths, &[(inches(96), Some(410), None)], &[]);
    let plan_of_wide = plan(&wide).unwrap();
    check(&wide, &plan_of_wide).unwrap();
    assert!(plan_of_wide.bought_at_least <= plan_of_wide.bought);
}

/// A search that is stopped at once still gives a plan that adds up and a bound that holds.
#[test]
fn a_stopped_search_keeps_its_bound() {
    for seed in 0..5 {
        let instance = classes::triplets(60, seed);
        let mut request = instance.request();
        request.steps = 1;
        let stopped = plan(&request).unwrap();
        check(&request, &stopped).unwrap();
        assert!(stopped.bought_at_least <= 20 && stopped.bought >= 20);
    }
}

#[test]
fn the_calculator_answers_in_the_unit_it_was_asked_in() {
    use hangtrue_core::cutlist::calculator::answer_line;
    let answer = answer_line(
        r#"{"id":7,"unit":"mm","kerf":"3","stock":[{"length":"2400","price":"4.1"}],"on_hand":[{"length":"905"}],
            "pieces":[{"length":"900","count":3,"name":"board"},{"length":"450","name":"bar"}]}"#,
    )
    .unwrap();
    assert_eq!(answer["id"], 7);
    assert_eq!(answer["cost"], "4.10");
    assert_eq!(answer["bought"], 1);
    assert_eq!(answer["sticks"][0]["length"], "2400");
    for (line, place, said) in [
        (r#"{"unit":"in","pieces":[{"length":"35 1/7"}]}"#, "pieces[0].length", "not on a tape"),
        (r#"{"pieces":[]}"#, "unit", "not given"),
        (r#"{"unit":"in","pieces":[{"lenght":"35"}]}"#, "pieces[0].lenght", "unknown field"),
        (r#"{"unit":"in","stock":[{"length":"96","price":"$4"}],"pieces":[]}"#, "stock[0].price", "not a price"),
        (r#"{"unit":"in","stock":[{"length":"96"}],"pieces":[{"length":"97"}]}"#, "pieces[0].length", "97 in long"),
        (r#"{"unit":"in","kerf":"-1/8","stock":[],"pieces":[]}"#, "kerf", "below zero"),
        ("{", "line 1, column 1", "not JSON"),
    ] {
        let problems = answer_line(line).unwrap_err();
        assert_eq!(problems.len(), 1, "{line}");
        assert_eq!(problems[0].place, place, "{line}: {problems:?}");
        assert!(problems[0].what.contains(said), "{line}: {problems:?}");
        assert!(!problems[0].right.is_empty());
    }
}

/// Fewest bought sticks, and the least price of as many, by trying everything: each piece in turn on every stick.
fn brute(request: &Request) -> Option<(u32, u64)> {
    fn go(
        pieces: &[i64],
        kerf: i64,
        open: &mut Vec<i64>,
        stock: &mut Vec<(i64, u64, u32)>,
        spent: (u32, u64),
        best: &mut Option<(u32, u64)>,
    ) {
        if best.is_some_and(|b| spent >= b) {
            return;
        }
        let Some((&piece, rest)) = pieces.split_first() else {
            *best = Some(spent);
            return;
        };
        for k in 0..open.len() {
            if open[k] >= piece + kerf && open[..k].iter().all(|room| *room != open[k]) {
                open[k] -= piece + kerf;
                go(rest, kerf, open, stock, spent, best);
                open[k] += piece + kerf;
            }
        }
        for k in 0..stock.len() {
            let (room, price, left) = stock[k];
            if left > 0 && room >= piece + kerf {
                stock[k].2 -= 1;
                open.push(room - piece - kerf);
                go(rest, kerf, open, stock, (spent.0 + 1, spent.1 + price), best);
                open.pop();
                stock[k].2 += 1;
            }
        }
    }
    let kerf = request.kerf.nm();
    let mut pieces: Vec<i64> =
        request.pieces.iter().flat_map(|p| std::iter::repeat_n(p.length.nm(), p.count as usize)).collect();
    pieces.sort_unstable_by(|a, b| b.cmp(a));
    let mut open: Vec<i64> =
        request.on_hand.iter().flat_map(|o| std::iter::repeat_n(o.length.nm() + kerf, o.count as usize)).collect();
    let mut stock = request
        .stock
        .iter()
        .map(|s| {
            let room = s.length.nm() - 2 * request.trim.nm() + kerf;
            (room, s.cents.unwrap_or(s.length.nm().unsigned_abs()), s.count.unwrap_or(u32::MAX))
        })
        .collect();
    let mut best = None;
    go(&pieces, kerf, &mut open, &mut stock, (0, 0), &mut best);
    best
}

/// Small requests: up to eight pieces, up to three sticks to buy, up to two offcuts.
fn small() -> impl Strategy<Value = Request> {
    let pieces = prop::collection::vec((8_i64..60, 1_u32..3), 1..6);
    let stock = prop::collection::vec((40_i64..130, 1_u64..9, prop::option::of(0_u32..4)), 1..4);
    let on_hand = prop::collection::vec((8_i64..70, 1_u32..3), 0..3);
    (pieces, stock, on_hand, 0_i64..3, any::<bool>()).prop_map(|(pieces, stock, on_hand, kerf, priced)| Request {
        kerf: Length::mm(kerf),
        smallest_offcut: Length::mm(10),
        stock: stock
            .into_iter()
            .map(|(length, price, count)| Stock {
                length: Length::mm(length),
                cents: priced.then_some(price * 10 + length.unsigned_abs()),
                count,
            })
            .collect(),
        on_hand: on_hand.into_iter().map(|(length, count)| OnHand { length: Length::mm(length), count }).collect(),
        pieces: pieces
            .into_iter()
            .map(|(length, count)| Piece { name: String::new(), length: Length::mm(length), count })
            .collect(),
        ..Request::of_house(&Settings::MILLIMETRES)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn small_requests_equal_brute_force(request in small()) {
        let truth = brute(&request);
        match plan(&request) {
            Ok(plan) => {
                check(&request, &plan).unwrap();
                let total = match plan.spend {
                    Spend::Cents { total, .. } => total,
                    Spend::Bought { total, .. } => total.nm().unsigned_abs(),
                };
                prop_assert_eq!(Some((plan.bought, total)), truth);
                prop_assert!(plan.is_proven());
            }
            Err(CutProblem::TooLong { .. } | CutProblem::TooLittle) => prop_assert_eq!(truth, None),
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    /// Wherever the search is stopped, its bounds hold and its plan adds up.
    #[test]
    fn bounds_hold_wherever_the_search_stops(request in small(), steps in 0_u64..20_000) {
        let Some((sticks, price)) = brute(&request) else { return Ok(()) };
        match plan(&Request { steps, ..request.clone() }) {
            Ok(plan) => {
                check(&request, &plan).unwrap();
                prop_assert!(plan.bought_at_least <= sticks && sticks <= plan.bought);
                let at_least = match plan.spend {
                    Spend::Cents { at_least, .. } => at_least,
                    Spend::Bought { at_least, .. } => at_least.nm().unsigned_abs(),
                };
                prop_assert!(plan.bought > sticks || at_least <= price);
            }
            Err(error) => prop_assert_eq!(error, CutProblem::NoneFound),
        }
    }

    /// Whatever the line, there is an answer or a problem with its place, never a panic.
    #[test]
    fn any_line_is_answered_or_refused(text in "\\PC{0,40}", field in "(kerf|trim|unit|steps|stock|pieces)") {
        use hangtrue_core::cutlist::calculator::answer_line;
        let _ = answer_line(&text);
        let line = serde_json::json!({ "unit": "in", "stock": [{"length": "96"}], "pieces": [{"length": "20"}], field: text });
        if let Err(problems) = answer_line(&line.to_string()) {
            prop_assert!(!problems.is_empty() && problems.iter().all(|p| !p.place.is_empty() && !p.right.is_empty()));
        }
    }

    #[test]
    fn the_order_of_the_request_changes_nothing(request in small(), seed in any::<u64>()) {
        let mut shuffled = request.clone();
        let mut draw = Draw::new(seed);
        draw.shuffle(&mut shuffled.pieces);
        draw.shuffle(&mut shuffled.stock);
        draw.shuffle(&mut shuffled.on_hand);
        match (plan(&request), plan(&shuffled)) {
            (Ok(a), Ok(b)) => {
                prop_assert_eq!((a.bought, a.bought_at_least, a.spend, a.longest_offcut), (b.bought, b.bought_at_least, b.spend, b.longest_offcut));
                let cuts = |plan: &Plan| -> Vec<Vec<Length>> {
                    plan.sticks.iter().map(|s| s.cuts.iter().map(|c| c.length).collect()).collect()
                };
                prop_assert_eq!(cuts(&a), cuts(&b));
            }
            (Err(a), Err(b)) => prop_assert_eq!(std::mem::discriminant(&a), std::mem::discriminant(&b)),
            (a, b) => prop_assert!(false, "{:?} and {:?}", a, b),
        }
    }
}

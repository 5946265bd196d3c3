//! How long a cut list takes: the boards, bars and ribs of 60 shades, 60 pieces of 12 lengths, and the public classes.
//!
//! `cargo bench -p hangtrue-core --bench cutlist`. The classes are made by their published recipes, with the
//! generator that the tests use; the public instances are read from `../shared/data` where it is at hand. Beside the
//! times it prints, for each class, how many instances were proven, and the largest distance from the bound.

#[path = "../../tests/tests/cutting/classes.rs"]
#[allow(dead_code, reason = "the tests use the rest of it")]
mod classes;

use classes::Instance;
use criterion::{Criterion, criterion_group, criterion_main};
use hangtrue_core::cutlist::{Request, plan};
use std::hint::black_box;
use std::time::Instant;

fn houses(c: &mut Criterion) {
    let mut group = c.benchmark_group("cutlist");
    group.sample_size(10);
    let house = classes::house(60, 1);
    group.bench_function("60 shades: boards, bars, ribs, three stock lengths", |b| {
        b.iter(|| house.iter().all(|(_, request)| plan(black_box(request)).expect("a plan").is_proven()));
    });
    let twelve = classes::twelve_lengths(1);
    group.bench_function("60 pieces of 12 lengths", |b| b.iter(|| plan(black_box(&twelve)).expect("a plan").bought));
    group.finish();
}

/// Each class once, instance by instance: a median of a class says more than many runs of one instance.
fn public_classes(_: &mut Criterion) {
    let mut classes: Vec<(String, Vec<Instance>)> = Vec::new();
    let data = std::env::var("HANGTRUE_DATA")
        .unwrap_or_else(|_| concat!(env!("CARGO_MANIFEST_DIR"), "/../../shared/data").to_owned());
    let text = std::fs::read_to_string(format!("{data}/cutting_1d_instances.jsonl")).unwrap_or_default();
    for instance in classes::published(&text) {
        match classes.iter_mut().find(|(family, _)| *family == instance.family) {
            Some((_, of)) => of.push(instance),
            None => classes.push((instance.family.clone(), vec![instance])),
        }
    }
    let made = |name: &str, make: &dyn Fn(u64) -> Instance, n: u64| (name.to_owned(), (0..n).map(make).collect());
    classes.push(made("u120, made", &|seed| classes::uniform(120, seed), 20));
    classes.push(made("u250, made", &|seed| classes::uniform(250, seed), 20));
    classes.push(made("t60, made", &|seed| classes::triplets(60, seed), 20));
    classes.push(made("t120, made", &|seed| classes::triplets(120, seed), 20));
    classes.push(made("Schwerin 1, made", &|seed| classes::schwerin(100, seed), 20));
    classes.push(made("Schwerin 2, made", &|seed| classes::schwerin(120, seed), 20));
    let scholl_1 = |seed: u64| {
        let pick = |of: &[i64], every: u64| of[usize::try_from(seed / every).expect("small") % of.len()];
        let n = usize::try_from(pick(&[50, 100, 200, 500], 9)).expect("small");
        classes::scholl_1(n, pick(&[100, 120, 150], 3), pick(&[1, 20, 30], 1), seed)
    };
    classes.push(made("Scholl 1, made", &scholl_1, 720));
    classes.push(made("u1000, made", &|seed| classes::uniform(1000, seed), 5));
    classes.push(made("t501, made", &|seed| classes::triplets(501, seed), 5));
    classes.push(made("Scholl 3, made", &classes::scholl_3, 5));
    let mut times = Vec::new();
    let mut proven = 0;
    for seed in 0..60 {
        for (_, request) in classes::house(60, seed) {
            let start = Instant::now();
            proven += u32::from(plan(black_box(&request)).expect("a plan").is_proven());
            times.push(start.elapsed().as_secs_f64());
        }
    }
    times.sort_by(f64::total_cmp);
    let (median, longest) = (times[times.len() / 2], times[times.len() - 1]);
    println!("{} lists of 60 shades: {proven} proven, median {median:.4} s, longest {longest:.3} s", times.len());
    println!("class | instances | proven | most above the bound | median s | longest s");
    for (name, instances) in &classes {
        let mut times = Vec::new();
        let (mut proven, mut above) = (0, 0);
        for instance in instances {
            let request: Request = instance.request();
            let start = Instant::now();
            let plan = plan(black_box(&request)).expect("a plan");
            times.push(start.elapsed().as_secs_f64());
            proven += u32::from(plan.too_many_at_most() == 0);
            above = above.max(plan.too_many_at_most());
        }
        times.sort_by(f64::total_cmp);
        let (median, longest) = (times[times.len() / 2], times[times.len() - 1]);
        println!("{name} | {} | {proven} | {above} | {median:.4} | {longest:.3}", instances.len());
    }
}

criterion_group!(benches, houses, public_classes);
criterion_main!(benches);

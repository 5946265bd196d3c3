//! A key press in the walk, without the disk: the step and the screen that it leads to.

use criterion::{Criterion, criterion_group, criterion_main};
use hangtrue_core::fact::{Fact, House, Moment, Pen, Stamp, changes, fold};
use hangtrue_core::house::{Place, file};
use hangtrue_core::walk::{Event, HouseLine, PadKey, SyncLine, Walk, World};
use std::hint::black_box;
use uuid::Uuid;

/// The demo house with the most openings, folded from facts.
fn house() -> House {
    let text = include_str!("../../fixtures/houses/heron-lane.json");
    let job = file::read(text).expect("the demo house reads");
    let mut pen = Pen::new(Uuid::from_u128(1), Stamp::default());
    let facts: Vec<Fact> = changes(None, &job)
        .iter()
        .zip(1u64..)
        .map(|(body, n)| {
            let mut random = [0; 10];
            random[2..].copy_from_slice(&n.to_be_bytes());
            pen.write(Moment { ms: 1_760_000_000_000 + n, random }, job.id, "", job.unit, body)
        })
        .collect();
    fold(&facts).expect("the house is opened")
}

fn walk(criterion: &mut Criterion) {
    let house = house();
    let lines = [HouseLine { id: house.job.id, ..HouseLine::default() }];
    let world = World { houses: &lines, house: Some(&house), sync: SyncLine::default() };
    let mut n = 1_770_000_000_000;
    let mut moment = move || {
        n += 1000;
        let mut random = [0; 10];
        random[2..].copy_from_slice(&u64::to_be_bytes(n));
        Moment { ms: n, random }
    };
    let opening = house.job.openings().max_by_key(|(_, opening)| opening.readings.len()).expect("has openings").1.id;
    let mut at = Walk::default();
    for event in [
        Event::ShowHouse { house: house.job.id },
        Event::GoTo { opening, place: Place::WidthTop },
        Event::Press { key: PadKey::Digit(3) },
    ] {
        at = at.step(&event, &world, &mut moment).expect("fits the house").walk;
    }
    let mut group = criterion.benchmark_group("walk");
    let digit = Event::Press { key: PadKey::Digit(4) };
    group.bench_function("a key press and its screen", |bench| {
        bench.iter(|| {
            let next = at.step(black_box(&digit), &world, &mut moment).expect("fits");
            black_box(next.walk.screen(&world))
        });
    });
    group.bench_function("of it, the step alone", |bench| {
        bench.iter(|| black_box(at.step(black_box(&digit), &world, &mut moment).expect("fits")));
    });
    let accept = Event::Accept;
    group.bench_function("an accept, without its fold", |bench| {
        bench.iter(|| black_box(at.step(black_box(&accept), &world, &mut moment).expect("fits")));
    });
    let rows = at.step(&Event::ShowHouse { house: house.job.id }, &world, &mut moment).expect("fits").walk;
    group.bench_function("the screen of a house", |bench| bench.iter(|| black_box(rows.screen(&world))));
    let result = at.step(&Event::ShowOpening { opening }, &world, &mut moment).expect("fits").walk;
    group.bench_function("the screen of an opening, every mount", |bench| {
        bench.iter(|| black_box(result.screen(&world)));
    });
    group.finish();
}

criterion_group!(benches, walk);
criterion_main!(benches);

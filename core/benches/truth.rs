//! How long one opening's judgement takes: `cargo bench -p hangtrue-core --bench truth`. To hold: 33 microseconds an
//! opening that holds (30,000 a second), 10 ms for a house of 60 judged together.

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use hangtrue_core::house::Place;
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::settings::Settings;
use hangtrue_core::truth::{Around, OfHouse, Readings, Taken, calculator, judge_house, judge_readings};
use std::hint::black_box;

/// Sixteenths of an inch at the usual places, depth last.
const TRUE: [(Place, i64); 8] = [
    (Place::WidthTop, 574),
    (Place::WidthMiddle, 573),
    (Place::WidthBottom, 574),
    (Place::HeightLeft, 960),
    (Place::HeightRight, 961),
    (Place::DiagonalRising, 1120),
    (Place::DiagonalFalling, 1119),
    (Place::Depth, 56),
];

fn readings(slip: i64, wider: i64) -> Readings {
    let taken = TRUE
        .iter()
        .map(|(place, n)| {
            let off = if *place == Place::WidthMiddle { slip } else { 0 };
            // A diagonal of 1120 over 574 by 960 grows by 574 / 1120 of what the width does: about a half.
            let wider = if place.is_width() { wider } else { wider * i64::from(place.is_diagonal()) / 2 };
            Taken { place: *place, value: Length::inches(n + off + wider, 16), with: None }
        })
        .collect();
    Readings::level(LengthUnit::Inch, taken)
}

fn judge(c: &mut Criterion) {
    let mut group = c.benchmark_group("truth");
    for (name, slip) in [("readings that hold", 0), ("a slip of an inch", 16), ("a slip of a quarter", 4)] {
        let readings = readings(slip, 0);
        group.bench_function(name, |b| b.iter(|| judge_readings(black_box(&readings), &Settings::INCHES)));
    }
    // Another house each time: what its openings say of each other is remembered.
    let mut wider = 0;
    group.bench_function("a house of 60 judged together", |b| {
        b.iter_batched(
            || {
                wider = (wider + 1) % 7;
                (0..60).map(|n| readings(if n % 7 == 0 { 4 } else { 0 }, wider + n % 3 * 8)).collect::<Vec<_>>()
            },
            |house| {
                let openings: Vec<OfHouse<'_>> = house
                    .iter()
                    .map(|readings| OfHouse {
                        readings,
                        around: Around::default(),
                        room: None,
                        settings: &Settings::INCHES,
                    })
                    .collect();
                judge_house(black_box(&openings))
            },
            BatchSize::SmallInput,
        );
    });
    let line = r#"{"id":"a","unit":"in","readings":{"width_top":["35 7/8"],"width_middle":["35 13/16"],"width_bottom":["35 7/8"],"height_left":["60"],"height_right":["60 1/16"],"diagonal_rising":["70"],"diagonal_falling":["69 15/16"],"depth":["3 1/2"]}}"#;
    group.throughput(Throughput::Elements(1));
    group.bench_function("a line of the calculator", |b| b.iter(|| calculator::answer(black_box(line), 1)));
    group.finish();
}

criterion_group!(benches, judge);
criterion_main!(benches);

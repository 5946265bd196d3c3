//! `cargo bench -p hangtrue-core --bench cloth`: making one shade, and the plan of the bolt for twelve shades.

use criterion::{Criterion, criterion_group, criterion_main};
use hangtrue_core::cloth::{Bolt, Want, plan};
use hangtrue_core::house::{Choices, ClothDirection, Mount};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::makeup::{Order, make};
use hangtrue_core::settings::Settings;
use std::hint::black_box;

/// Twelve shades of a house on 54 in cloth with a 27 in repeat, matched at the foot or at the head.
fn twelve(at_foot: bool) -> (Bolt, Vec<Want>) {
    let bolt = Bolt {
        repeat: Some(Length::whole_inches(27)),
        direction: ClothDirection::OneWay,
        ..Bolt::lining("cloth", &Settings::INCHES, LengthUnit::Inch)
    };
    let sizes = [
        (38, 65),
        (38, 65),
        (26, 53),
        (26, 53),
        (47, 71),
        (33, 59),
        (33, 59),
        (23, 41),
        (51, 77),
        (30, 68),
        (41, 53),
        (28, 77),
    ];
    let wants = sizes
        .iter()
        .enumerate()
        .map(|(i, &(width, length))| Want {
            name: format!("shade {i}"),
            width: Length::whole_inches(width),
            length: Length::whole_inches(length),
            match_line: Some(Length::whole_inches(if at_foot { length - 3 } else { 2 })),
            fold_lines: Vec::new(),
        })
        .collect();
    (bolt, wants)
}

fn bench(c: &mut Criterion) {
    let (choices, settings) = (Choices::default(), Settings::INCHES);
    let order = Order {
        unit: LengthUnit::Inch,
        width: Length::inches(567, 16),
        length: Length::inches(239, 4),
        mount: Mount::Inside,
        board_depth: Length::inches(3, 2),
        board_height: Length::inches(3, 4),
        above_opening: Length::ZERO,
        head_known: true,
        choices: &choices,
        cloth: None,
        settings: &settings,
    };
    c.bench_function("make up one shade", |b| b.iter(|| make(black_box(&order)).unwrap()));
    for (name, at_foot) in [("feet", true), ("heads", false)] {
        let (bolt, wants) = twelve(at_foot);
        c.bench_function(&format!("bolt plan, 12 shades, 27 in repeat, {name} match"), |b| {
            b.iter(|| plan(black_box(&bolt), black_box(&wants)).unwrap());
        });
    }
}

criterion_group!(benches, bench);
criterion_main!(benches);

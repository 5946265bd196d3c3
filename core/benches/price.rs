//! How fast a quote is worked: 20 openings, each with three other ways beside the chosen one.
//!
//! `cargo bench -p hangtrue-core --bench price`. Openings are those of the invented houses in `fixtures/houses`.

use criterion::{Criterion, criterion_group, criterion_main};
use hangtrue_core::house::{Alternative, Lining, Mount, file};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::price::{Ways, of_house};
use hangtrue_core::work;
use std::hint::black_box;
use std::path::Path;

fn quotes(c: &mut Criterion) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses/heron-lane.json");
    let text = std::fs::read_to_string(path).expect("the invented houses stand in fixtures");
    let mut job = file::read(&text).expect("the invented houses read");
    let way = |name: &str, mount, lining, interlined| Alternative {
        name: name.to_owned(),
        mount,
        cloth: None,
        lining,
        interlined,
    };
    let ways = [
        way("outside", Some(Mount::Outside), None, None),
        way("blackout", None, Some(Lining::Blackout), None),
        way("interlined", None, None, Some(true)),
    ];
    let more: Vec<_> = job.rooms.iter().flat_map(|room| room.openings.clone()).collect();
    let count = more.len();
    job.rooms[0].openings.extend(more.into_iter().take(20 - count.min(20)));
    for opening in job.rooms.iter_mut().flat_map(|room| &mut room.openings) {
        opening.alternatives = ways.to_vec();
    }
    let catalogue = Catalogue::standard(job.unit);
    let house = work::house(&job, catalogue).expect("its settings hold");
    let name = format!("a quote of {} openings with three other ways", house.openings.len());
    c.bench_function(&name, |b| b.iter(|| black_box(of_house(&house, catalogue, &Ways::of(&job)))));
}

criterion_group!(benches, quotes);
criterion_main!(benches);

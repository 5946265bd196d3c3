//! How fast one opening is worked: every mount, its fixings, and everything; and a house of 60 openings.
//!
//! `cargo bench -p hangtrue-core --bench opening`. Openings are those of the invented houses in `fixtures/houses`.

use criterion::{Criterion, criterion_group, criterion_main};
use hangtrue_core::house::{Job, file};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::{fixing, makeup, mount, work};
use std::hint::black_box;
use std::path::Path;

fn house(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses").join(name);
    let text = std::fs::read_to_string(path).expect("the invented houses stand in fixtures");
    file::read(&text).expect("the invented houses read")
}

fn openings(c: &mut Criterion) {
    let job = house("heron-lane.json");
    let settings = job.settings().expect("its settings hold");
    let catalogue = Catalogue::standard(job.unit);
    let worked = work::house(&job, catalogue).expect("its settings hold");
    let count = worked.openings.len();
    let shades: Vec<(&mount::Mounting, &work::Worked<'_>, &makeup::Makeup)> = worked
        .openings
        .iter()
        .filter_map(|one| {
            let made = one.shade.as_ref()?.makeup.as_ref().ok()?;
            Some((one.mounts.advised()?, one, made))
        })
        .collect();
    c.bench_function(&format!("every mount of {count} openings"), |b| {
        b.iter(|| {
            for one in &worked.openings {
                black_box(mount::work(one.opening, &one.truth, &settings, catalogue, job.unit));
            }
        });
    });
    c.bench_function(&format!("fixings of {} shades", shades.len()), |b| {
        b.iter(|| {
            for (mounting, one, made) in &shades {
                let (wall, choices) = (&one.opening.wall, &one.opening.choices);
                black_box(fixing::of_makeup(mounting, wall, choices, made, &settings, catalogue, job.unit));
            }
        });
    });
    c.bench_function(&format!("all of a house of {count} openings"), |b| {
        b.iter(|| black_box(work::house(&job, catalogue).expect("its settings hold")));
    });
}

criterion_group!(benches, openings);
criterion_main!(benches);

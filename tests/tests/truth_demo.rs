//! The demo's houses, judged: the misread opening is found and named, the racked one is not accused, the rest hold.

use hangtrue_core::house::{Job, Place, file};
use hangtrue_core::length::Length;
use hangtrue_core::truth::{Truth, judge};

fn house(name: &str) -> Job {
    let path = format!("{}/../fixtures/houses/{name}.json", env!("CARGO_MANIFEST_DIR"));
    file::read(&std::fs::read_to_string(&path).unwrap()).unwrap()
}

fn judged(job: &Job) -> Vec<(String, Truth)> {
    let settings = job.settings().unwrap();
    job.openings()
        .map(|(room, opening)| {
            (format!("{}, {}", room.name, opening.name), judge(opening, &job.instruments, &settings, job.unit))
        })
        .collect()
}

#[test]
fn the_misread_opening_is_found_and_named_and_no_other() {
    let mut found = 0;
    for (name, truth) in ["heron-lane", "quay-flat"].iter().flat_map(|file| judged(&house(file))) {
        if name == "Study, East" {
            found += 1;
            assert!(!truth.holds);
            assert_eq!(truth.suspects[0].place, Place::WidthMiddle);
            assert_eq!(truth.suspects[0].likely, Some(Length::inches(287, 8)));
            assert_eq!(truth.suspects[0].slip, "an inch long");
            assert!(truth.suspects[0].chance > 0.99);
            assert_eq!(truth.next_reading.unwrap().place, Place::WidthMiddle);
        } else {
            assert!(truth.holds, "{name}: {} {:?}", truth.chance_all_right, truth.suspects);
        }
    }
    assert_eq!(found, 1);
}

#[test]
fn the_racked_openings_are_racked_not_misread() {
    for (name, lean) in [("Study, North", 0.84), ("Front bedroom, Side", 0.67)] {
        let all = judged(&house("heron-lane"));
        let (_, truth) = all.iter().find(|(opening, _)| opening == name).unwrap();
        assert!(truth.holds && truth.chance_all_right > 0.8, "{name}: {}", truth.chance_all_right);
        assert!(truth.flags.iter().any(|flag| flag.code == "leans"), "{name}: {:?}", truth.flags);
        assert!((truth.shape.lean.unwrap().value / 25.4 - lean).abs() < 0.05, "{name}: {:?}", truth.shape.lean);
    }
}

//! The main figures of the judgement of readings on a small seeded sample, so that a change that loses some is noticed.
//! `cargo run --release -p hangtrue-tests --bin misread` prints them all on a large one.
//!
//! Limits leave room for the small sample: about three standard deviations of a count.

use hangtrue_tests::world::{POPULATIONS, Population, measure};

const SEED: u64 = 20_260_504;

fn named(name: &str) -> &'static Population {
    POPULATIONS.iter().find(|population| population.name == name).expect("a population of the table")
}

#[test]
fn good_readings_of_old_houses_are_believed() {
    let clean = measure::clean(named("old house"), 2000, SEED);
    assert!(clean.false_alarm <= 0.017, "to hold 1 %: {clean:?}");
    assert!(clean.extra <= 0.12, "to hold 0.1: {clean:?}");
    // The rivals, so that the world itself is seen to be no easier than it was.
    assert!((0.005..0.018).contains(&clean.plain), "the plain test's own 1 %: {clean:?}");
    assert!(clean.paper > 0.05, "paper looks again at one opening in ten: {clean:?}");
}

#[test]
fn racked_houses_are_not_called_misread() {
    let clean = measure::clean(named("badly racked"), 1500, SEED);
    assert!(clean.false_alarm <= 0.03, "to hold 2 %: {clean:?}");
}

#[test]
fn planted_slips_are_found_and_named() {
    for (size, detected, first) in [(0.125, 0.12, 0.0), (0.25, 0.765, 0.745), (0.5, 0.99, 0.95), (1.0, 0.998, 0.985)] {
        let planted = measure::planted(named("old house"), size, 1500, SEED);
        assert!(planted.detected >= detected, "{size}: {planted:?}");
        assert!(planted.first >= first, "{size}: {planted:?}");
        assert!(planted.plain < 0.9, "the plain test cannot see all places: {planted:?}");
    }
}

#[test]
fn the_best_possible_test_is_not_far_ahead() {
    let population = named("old house");
    let planted = measure::planted(population, 0.25, 2000, SEED);
    let best = measure::best(population, 0.25, 0.01, 2000, SEED);
    assert!(best.first - planted.first < 0.06, "{best:?} {planted:?}");
    assert!(planted.detected <= best.detected + 0.05, "no test beats the best one: {best:?} {planted:?}");
}

#[test]
fn a_shade_seldom_binds_after_the_advice() {
    let outcome = measure::outcome(named("old house"), 0.02, 3000, SEED);
    assert!(outcome.binds <= 10.0, "of 10,000, to hold 2: {outcome:?}");
    assert!(outcome.paper_binds > 20.0 * outcome.binds.max(1.0), "{outcome:?}");
    assert!(outcome.wrong * 3.0 < outcome.paper_wrong, "{outcome:?}");
}

//! Five openings with known corners, from `docs/worked-by-hand.md`: the readings are made of the corners here, the results
//! are the pencil's.

use hangtrue_core::house::Place;
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::settings::Settings;
use hangtrue_core::truth::{InsideSize, Readings, Taken, Truth, judge_readings};

type Corners = [[f64; 2]; 4];

const TRUE: Corners = [[0.0, 0.0], [36.0, 0.0], [36.0, 60.0], [0.0, 60.0]];

/// The distance between two points as a tape shows it, in sixteenths.
#[allow(clippy::cast_possible_truncation, reason = "a tape of a few feet")]
fn tape(a: [f64; 2], b: [f64; 2]) -> Length {
    Length::inches(((b[0] - a[0]).hypot(b[1] - a[1]) * 16.0).round() as i64, 16)
}

fn read([foot_left, foot_right, head_right, head_left]: Corners) -> Vec<(Place, Length)> {
    let middle = |a: [f64; 2], b: [f64; 2]| [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
    vec![
        (Place::WidthTop, tape(head_left, head_right)),
        (Place::WidthMiddle, tape(middle(foot_left, head_left), middle(foot_right, head_right))),
        (Place::WidthBottom, tape(foot_left, foot_right)),
        (Place::HeightLeft, tape(foot_left, head_left)),
        (Place::HeightRight, tape(foot_right, head_right)),
        (Place::DiagonalRising, tape(foot_left, head_right)),
        (Place::DiagonalFalling, tape(head_left, foot_right)),
    ]
}

/// What truly passes: the corners hold the jambs, which are straight.
fn passes([foot_left, foot_right, head_right, head_left]: Corners) -> f64 {
    foot_right[0].min(head_right[0]) - foot_left[0].max(head_left[0])
}

fn judge(taken: &[(Place, Length)]) -> (Truth, InsideSize) {
    let taken = taken.iter().map(|(place, value)| Taken { place: *place, value: *value, with: None }).collect();
    let truth = judge_readings(&Readings::level(LengthUnit::Inch, taken), &Settings::INCHES);
    let size = truth.inside(&Settings::INCHES, LengthUnit::Inch).unwrap();
    (truth, size)
}

fn sixteenths(n: i64) -> Length {
    Length::inches(n, 16)
}

fn inches(length: Length) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "below 2^53")]
    let nm = length.nm() as f64;
    nm / 25_400_000.0
}

fn at(taken: &[(Place, Length)], place: Place) -> Length {
    taken.iter().find(|(of, _)| *of == place).unwrap().1
}

#[test]
fn a_true_one() {
    let taken = read(TRUE);
    assert_eq!(at(&taken, Place::DiagonalRising), sixteenths(70 * 16));
    let (truth, size) = judge(&taken);
    assert!(truth.holds);
    assert_eq!(size.finished_width, sixteenths(35 * 16 + 10));
    assert_eq!(size.finished_length, Some(sixteenths(59 * 16 + 12)));
    assert_eq!(size.corner_gaps.unwrap().top_left, sixteenths(3));
    assert!(inches(size.finished_width) < passes(TRUE));
}

#[test]
fn one_that_leans() {
    let corners = [[0.0, 0.0], [36.0, 0.0], [36.5, 60.0], [0.5, 60.0]];
    let taken = read(corners);
    assert_eq!(at(&taken, Place::DiagonalRising), sixteenths(70 * 16 + 4));
    assert_eq!(at(&taken, Place::DiagonalFalling), sixteenths(69 * 16 + 11));
    let (truth, size) = judge(&taken);
    assert!(truth.holds);
    assert!((truth.shape.lean.unwrap().value / 25.4 - 0.547).abs() < 0.003, "{:?}", truth.shape.lean);
    assert!((truth.shape.passage.unwrap().estimate.value / 25.4 - 35.453).abs() < 0.003);
    assert!(size.finished_width <= sixteenths(35 * 16 + 5), "{size:?}");
    assert!(inches(size.finished_width) < passes(corners));
    assert!(35.625 > passes(corners), "the smallest width would bind");
}

#[test]
fn a_keystone() {
    let corners = [[0.0, 0.0], [37.0, 0.0], [36.0, 60.0], [1.0, 60.0]];
    let taken = read(corners);
    assert_eq!(at(&taken, Place::DiagonalRising), at(&taken, Place::DiagonalFalling));
    let (truth, size) = judge(&taken);
    assert!(truth.holds);
    assert_eq!(size.finished_width, sixteenths(34 * 16 + 10));
    let gaps = size.corner_gaps.unwrap();
    assert_eq!((gaps.top_left, gaps.bottom_left), (sixteenths(3), sixteenths(19)));
    assert!(inches(size.finished_width) < passes(corners));
}

#[test]
fn one_that_is_turned_as_a_whole() {
    let angle = -(0.25_f64 / 36.0).asin();
    let turned = TRUE.map(|[x, y]| [angle.cos() * x - angle.sin() * y, angle.sin() * x + angle.cos() * y]);
    let mut taken = read(turned);
    assert_eq!(taken, read(TRUE), "a tape sees nothing of it");
    assert!((passes(turned) - 35.58).abs() < 0.005);
    let (truth, size) = judge(&taken);
    assert_eq!(truth.assumes, ["the sill is level"]);
    assert!(inches(size.finished_width) > passes(turned), "as the tape has it, it binds");
    taken.push((Place::PlumbLeft, sixteenths(7)));
    let (truth, size) = judge(&taken);
    assert!(truth.assumes.is_empty() && truth.holds);
    assert!(size.finished_width <= sixteenths(35 * 16 + 7), "{size:?}");
    assert!(inches(size.finished_width) < passes(turned));
}

#[test]
fn one_with_an_inch_lost_at_the_top() {
    let mut taken = read(TRUE);
    taken[0].1 = sixteenths(35 * 16);
    let (truth, _) = judge(&taken);
    assert!(!truth.holds);
    assert_eq!(truth.suspects[0].place, Place::WidthTop);
    assert_eq!(truth.suspects[0].likely, Some(sixteenths(36 * 16)));
    assert_eq!(truth.suspects[0].slip, "an inch short");
}

/// A dormer: sill level, jambs plumb, the head 3 in higher at its left end. Tapes alone share the slope between head and
/// sill, and the whole seems turned by 1 1/2 in over its width, so by 1 1/2 x 55 1/2 / 36 = 2.3 in over its height. One
/// plumb reading settles it, so it is asked for, and nothing else is then.
#[test]
fn a_dormer_is_asked_for_its_plumb_first() {
    const DORMER: Corners = [[0.0, 0.0], [36.0, 0.0], [36.0, 54.0], [0.0, 57.0]];
    let mut taken = read(DORMER);
    taken.push((Place::Depth, Length::whole_inches(4)));
    let (truth, _) = judge(&taken);
    assert!(truth.holds, "{:?}", truth.suspects);
    let next = truth.next_reading.unwrap();
    assert_eq!(next.place, Place::PlumbLeft);
    assert!(next.because.contains("not parallel"), "{}", next.because);
    assert!((truth.shape.lean.unwrap().value.abs() / 25.4 - 2.3).abs() < 0.2, "{:?}", truth.shape.lean);
    taken.push((Place::PlumbLeft, Length::ZERO));
    let (truth, size) = judge(&taken);
    assert!(truth.holds && truth.next_reading.is_none(), "{:?}", truth.next_reading);
    assert!(truth.shape.lean.unwrap().value.abs() < 5.0 && !truth.flags.iter().any(|flag| flag.code == "leans"));
    assert!(inches(size.finished_width) <= passes(DORMER) && inches(size.finished_width) > passes(DORMER) - 0.75);
}

//! Slips of units and keys, faults that many readings share, what is said to fit, and what is taken for granted: each
//! example a person met, and the properties that join them.

use hangtrue_core::house::Place;
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::settings::Settings;
use hangtrue_core::truth::{Around, Readings, Taken, Truth, judge_around, judge_readings};
use hangtrue_tests::world::measure::{exact, place};
use hangtrue_tests::world::{Chance, Opening, POPULATIONS, SIZES, USUAL};
use proptest::prelude::*;

const TRUE: [(Place, &str); 8] = [
    (Place::WidthTop, "34 3/8"),
    (Place::WidthMiddle, "34 3/8"),
    (Place::WidthBottom, "34 7/16"),
    (Place::HeightLeft, "60"),
    (Place::HeightRight, "60 1/16"),
    (Place::DiagonalRising, "69 1/8"),
    (Place::DiagonalFalling, "69 3/16"),
    (Place::Depth, "3 1/2"),
];

fn readings(unit: LengthUnit, list: &[(Place, &str)]) -> Readings {
    let taken =
        list.iter().map(|(place, text)| Taken { place: *place, value: Length::parse(text, unit).unwrap(), with: None });
    Readings::level(unit, taken.collect())
}

fn with(changed: &[(Place, &str)]) -> Truth {
    let list: Vec<(Place, &str)> = TRUE
        .iter()
        .map(|(place, text)| (*place, changed.iter().find(|(other, _)| other == place).map_or(*text, |(_, text)| text)))
        .collect();
    judge_readings(&readings(LengthUnit::Inch, &list), &Settings::INCHES)
}

fn said(truth: &Truth) -> String {
    truth.flags.iter().map(|flag| format!("{} {}\n", flag.says, flag.to_do)).collect()
}

#[test]
fn a_reading_in_another_unit_is_told_with_the_value_to_take() {
    for (typed, why) in [
        ("873", "as if read in millimetres (873 mm is 34 3/8)"),
        ("87 5/16", "as if read in centimetres (87 5/16 cm is 34 3/8)"),
        ("210 3/8", "as if feet and inches were run together"),
        ("34375", "as if a point was not typed"),
        ("3438", "as if the fraction was typed as digits"),
    ] {
        let truth = with(&[(Place::WidthTop, typed)]);
        assert!(!truth.holds, "{typed}");
        let first = &truth.suspects[0];
        assert_eq!(first.place, Place::WidthTop, "{typed}");
        assert_eq!(first.likely, Some(Length::inches(275, 8)), "{typed}: {first:?}");
        let says = format!("The top width ({typed}) looks {why}: 34 3/8 would fit with the rest.");
        assert_eq!(truth.flags[0].says, says);
    }
    let truth = judge_readings(
        &readings(
            LengthUnit::Inch,
            &[
                (Place::WidthTop, "3578"),
                (Place::WidthMiddle, "35 13/16"),
                (Place::WidthBottom, "35 7/8"),
                (Place::HeightLeft, "60"),
                (Place::HeightRight, "60 1/16"),
            ],
        ),
        &Settings::INCHES,
    );
    assert_eq!(truth.suspects[0].likely, Some(Length::inches(287, 8)), "{}", said(&truth));
}

#[test]
fn a_millimetre_house_is_told_of_inches_and_centimetres() {
    let truth = judge_readings(
        &readings(
            LengthUnit::Millimetre,
            &[
                (Place::WidthTop, "34.375"),
                (Place::WidthMiddle, "873"),
                (Place::WidthBottom, "874"),
                (Place::HeightLeft, "1524"),
                (Place::HeightRight, "1525"),
                (Place::DiagonalRising, "1756"),
                (Place::DiagonalFalling, "1757"),
            ],
        ),
        &Settings::MILLIMETRES,
    );
    assert_eq!(truth.suspects[0].likely, Some(Length::mm(873)), "{}", said(&truth));
    assert!(said(&truth).contains("as if read in inches"), "{}", said(&truth));
}

#[test]
fn where_nothing_fits_nothing_is_named() {
    // 357 as the left height: no kind of slip leads from it to 60.
    let truth = with(&[(Place::HeightLeft, "357")]);
    assert!(!truth.holds);
    assert_eq!(truth.suspects[0].place, Place::HeightLeft);
    assert!(!said(&truth).contains("357 would fit"), "{}", said(&truth));
    for suspect in &truth.suspects {
        assert_ne!(suspect.likely, Some(Length::whole_inches(357)));
    }
}

#[test]
fn a_fraction_from_the_wrong_end_is_told() {
    let truth = judge_readings(
        &readings(
            LengthUnit::Inch,
            &[
                (Place::WidthTop, "34 3/16"),
                (Place::WidthMiddle, "34 13/16"),
                (Place::WidthBottom, "34 13/16"),
                (Place::HeightLeft, "60"),
                (Place::HeightRight, "60"),
                (Place::DiagonalRising, "69 3/8"),
                (Place::DiagonalFalling, "69 3/8"),
            ],
        ),
        &Settings::INCHES,
    );
    assert_eq!(truth.suspects[0].likely, Some(Length::inches(34 * 16 + 13, 16)), "{}", said(&truth));
    assert!(said(&truth).contains("counted from the wrong end of the inch"), "{}", said(&truth));
}

#[test]
fn a_whole_opening_in_another_unit_or_of_no_size_is_questioned() {
    let mm = [
        (Place::WidthTop, "873"),
        (Place::WidthMiddle, "873"),
        (Place::WidthBottom, "874"),
        (Place::HeightLeft, "1524"),
        (Place::HeightRight, "1525"),
        (Place::DiagonalRising, "1756"),
        (Place::DiagonalFalling, "1757"),
        (Place::Depth, "90"),
    ];
    let truth = judge_readings(&readings(LengthUnit::Inch, &mm), &Settings::INCHES);
    assert!(!truth.holds);
    assert_eq!(truth.flags[0].code, "other_unit", "{}", said(&truth));
    assert_eq!(truth.flags[0].says, "All readings look as if in millimetres: the top width (873) is then 34 3/8.");
    let nothing = mm.map(|(place, _)| (place, "0"));
    let truth = judge_readings(&readings(LengthUnit::Inch, &nothing), &Settings::INCHES);
    assert!(!truth.holds);
    assert_eq!(truth.flags[0].code, "no_such_size", "{}", said(&truth));
    // One reading beyond what a house has is questioned as it is entered.
    let truth = judge_readings(&readings(LengthUnit::Inch, &[(Place::WidthTop, "873")]), &Settings::INCHES);
    assert!(!truth.holds, "{}", said(&truth));
    // Readings of the sizes that houses have are not.
    for [w, h] in SIZES {
        let list = [(Place::WidthTop, w), (Place::HeightLeft, h)].map(|(place, inches)| Taken {
            place,
            value: exact(inches),
            with: None,
        });
        let alone = Readings::level(LengthUnit::Inch, list.to_vec());
        assert!(judge_readings(&alone, &Settings::INCHES).holds, "{w} x {h}");
    }
}

#[test]
fn what_is_taken_for_granted_is_said_where_it_matters() {
    let read = readings(LengthUnit::Inch, &TRUE);
    let truth = judge_readings(&read, &Settings::INCHES);
    assert!(truth.holds);
    assert_eq!(truth.assumes, ["the sill is level"]);
    assert_eq!(truth.next_reading.as_ref().unwrap().place, Place::PlumbLeft);
    // An outside mount has no use for it.
    let outside = judge_around(&read, &Around { outside: true, ..Around::default() }, &Settings::INCHES);
    assert!(outside.assumes.is_empty());
    assert_eq!(outside.next_reading, None);
    // Once it is read, nothing is assumed any more, and the size is that of what is known.
    let mut plumbed = read.clone();
    let plumb = |text: &str| Taken {
        place: Place::PlumbLeft,
        value: Length::parse(text, LengthUnit::Inch).unwrap(),
        with: None,
    };
    plumbed.taken.push(plumb("0"));
    let truth = judge_readings(&plumbed, &Settings::INCHES);
    assert!(truth.assumes.is_empty() && truth.holds, "{}", said(&truth));
    assert_eq!(truth.next_reading, None);
    // A wide low opening cannot stand far enough out for it to matter.
    let low = readings(
        LengthUnit::Inch,
        &[
            (Place::WidthTop, "96"),
            (Place::WidthMiddle, "96"),
            (Place::WidthBottom, "96"),
            (Place::HeightLeft, "18"),
            (Place::HeightRight, "18"),
            (Place::DiagonalRising, "97 11/16"),
            (Place::DiagonalFalling, "97 11/16"),
            (Place::Depth, "3"),
        ],
    );
    let truth = judge_readings(&low, &Settings::INCHES);
    assert!(truth.assumes.is_empty(), "{}", said(&truth));
    assert_eq!(truth.next_reading, None);
}

#[test]
fn skipped_diagonals_are_said_to_be_an_assumption() {
    let mut read = readings(LengthUnit::Inch, &TRUE);
    read.taken.retain(|taken| !taken.place.is_diagonal());
    read.skipped = Place::DIAGONALS.to_vec();
    let truth = judge_readings(&read, &Settings::INCHES);
    assert!(truth.shape.passage.is_none());
    assert_eq!(truth.assumes, ["the opening is square"]);
    assert!(truth.flags.iter().any(|flag| flag.code == "assumes_square"), "{}", said(&truth));
}

#[test]
fn plaster_is_looked_at_between_its_ends() {
    let mut read = readings(LengthUnit::Inch, &TRUE);
    read.taken.push(Taken { place: Place::PlumbLeft, value: Length::ZERO, with: None });
    let around = Around { plaster: true, ..Around::default() };
    let mut asked = Vec::new();
    loop {
        let truth = judge_around(&read, &around, &Settings::INCHES);
        let Some(next) = truth.next_reading else {
            assert!(truth.assumes.is_empty(), "{}", said(&truth));
            break;
        };
        assert_eq!(truth.assumes, ["the plaster is straight between the ends"]);
        asked.push(next.place);
        let value = if next.place.is_width() { Length::inches(275, 8) } else { Length::inches(961, 16) };
        read.taken.push(Taken { place: next.place, value, with: None });
    }
    assert_eq!(asked, [Place::WidthUpper, Place::WidthLower, Place::HeightCentre]);
}

/// One agreeing repeat is not another witness: the same hand misreads the same way.
#[test]
fn a_repeat_by_the_same_hand_clears_less_than_an_independent_one() {
    let mut read = readings(LengthUnit::Inch, &TRUE);
    read.taken[1].value += Length::whole_inches(1);
    read.taken.push(read.taken[1]);
    let sticky = judge_readings(&read, &Settings::INCHES);
    assert!(!sticky.holds, "{}", sticky.chance_all_right);
    let settings = Settings { slip_recurs_percent: 1, ..Settings::INCHES };
    assert!(judge_readings(&read, &settings).chance_all_right > sticky.chance_all_right);
    let asks = said(&sticky);
    assert!(sticky.suspects[0].place == Place::WidthMiddle, "{asks}");
}

/// What is a number from one place's own text: how far from its neighbours a likely value may be. The test's own
/// arithmetic: the median of the widths, of the heights, or what Pythagoras makes of both.
fn foreseen(taken: &[(Place, f64)], of: Place) -> f64 {
    let median = |wanted: fn(Place) -> bool| {
        let mut all: Vec<f64> = taken.iter().filter(|(p, _)| wanted(*p) && *p != of).map(|(_, v)| *v).collect();
        all.sort_by(f64::total_cmp);
        all[all.len() / 2]
    };
    match of {
        _ if of.is_width() => median(Place::is_width),
        _ if of.is_height() => median(Place::is_height),
        _ => median(Place::is_width).hypot(median(Place::is_height)),
    }
}

fn as_inches(length: Length) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "below 2^53")]
    let nm = length.nm() as f64;
    nm / 25_400_000.0
}

/// Whole inches with the number of so many millimetres.
#[allow(clippy::cast_possible_truncation, reason = "millimetres of an opening")]
fn millimetres_as_inches(length: Length) -> Length {
    Length::whole_inches((as_inches(length) * 25.4).round() as i64)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, ..ProptestConfig::default() })]

    /// "would fit" is never said untruly: what is offered is near what the other readings foresee by plain geometry, and
    /// with it in place nothing there is suspected any more.
    #[test]
    fn what_would_fit_does(seed in any::<u64>(), population in 0..4_usize, at in 0..7_usize, wrong in 0..4000_i64, way in 0..6_u8) {
        let population = &POPULATIONS[population];
        let mut chance = Chance::new(seed);
        let opening = Opening::draw(population, &mut chance);
        let mut taken: Vec<(Place, Length)> = USUAL
            .iter()
            .map(|spot| (place(*spot), exact(population.hand.read(&opening, *spot, &mut chance))))
            .collect();
        let whole = taken[at].1.nm() / 25_400_000;
        taken[at].1 = match way {
            0 => millimetres_as_inches(taken[at].1),
            1 => exact((as_inches(taken[at].1) * 2.54 * 16.0).round() / 16.0),
            2 => Length::whole_inches(whole * 100 + 38),
            3 => Length::whole_inches((whole / 12) * 100 + whole % 12),
            4 => Length::whole_inches(wrong + 1),
            _ => taken[at].1 + Length::inches(wrong % 64 - 32, 16),
        };
        let judge = |taken: &[(Place, Length)]| {
            let taken = taken.iter().map(|(place, value)| Taken { place: *place, value: *value, with: None }).collect();
            judge_readings(&Readings::level(LengthUnit::Inch, taken), &Settings::INCHES)
        };
        let truth = judge(&taken);
        for flag in truth.flags.iter().filter(|flag| flag.says.contains("would fit")) {
            let of = flag.places[0];
            let suspect = truth.suspects.iter().find(|suspect| suspect.place == of).unwrap();
            let likely = suspect.likely.unwrap();
            prop_assert!(flag.says.contains(&likely.show(LengthUnit::Inch)));
            let others: Vec<(Place, f64)> = taken.iter().map(|(place, value)| (*place, as_inches(*value))).collect();
            // Where another reading is wrong too, plain geometry is no witness.
            if truth.suspects.iter().filter(|other| other.chance > 0.05).count() == 1 {
                let off = (as_inches(likely) - foreseen(&others, of)).abs();
                prop_assert!(off < 6.0, "{of:?} {likely:?} is {off} from what the rest foresees: {}", flag.says);
            }
            let mut corrected = taken.clone();
            corrected.iter_mut().find(|(place, _)| *place == of).unwrap().1 = likely;
            let after = judge(&corrected);
            prop_assert!(after.chance_all_right > truth.chance_all_right, "{taken:?} {truth:#?} {after:#?}");
            prop_assert!(after.suspects.iter().all(|other| other.place != of || other.chance < 0.5));
        }
    }

    /// Every chance is one.
    #[test]
    fn chances_are_chances(seed in any::<u64>(), population in 0..11_usize, repeats in proptest::collection::vec((0..7_usize, -40..40_i64), 0..9)) {
        let population = &POPULATIONS[population];
        let mut chance = Chance::new(seed);
        let opening = Opening::draw(population, &mut chance);
        let mut taken: Vec<Taken> = USUAL
            .iter()
            .map(|spot| Taken { place: place(*spot), value: exact(population.hand.read(&opening, *spot, &mut chance)), with: None })
            .collect();
        for (at, sixteenths) in repeats {
            let value = taken[at].value + Length::inches(sixteenths, 16);
            taken.push(Taken { value, ..taken[at] });
        }
        let truth = judge_readings(&Readings::level(LengthUnit::Inch, taken), &Settings::INCHES);
        prop_assert!((0.0..=1.0).contains(&truth.chance_all_right), "{}", truth.chance_all_right);
        for suspect in &truth.suspects {
            prop_assert!((0.0..=1.0).contains(&suspect.chance), "{suspect:?}");
            prop_assert!(suspect.chance <= 1.0 - truth.chance_all_right + 1e-9, "{suspect:?} {}", truth.chance_all_right);
        }
    }
}

//! The flags: what is said to a person, and when. Short, exact, and never blaming.

use super::readings::{Read, Readings, Stand, shown, stand};
use super::slips::{Fault, Made};
use super::verdict::{Suspect, Verdict, Whole};
use super::{Shape, passage::mm};
use crate::flag::{Flag, Severity, listed};
use crate::house::Place;
use crate::length::{Length, LengthUnit};
use crate::settings::Settings;

/// Said of a suspect that no slip explains.
pub(super) const NO_SLIP_NAMED: &str = "as if it does not fit with the rest";
/// What is taken for granted, to follow "assumes that".
pub(super) const SILL_LEVEL: &str = "the sill is level";
/// As [`SILL_LEVEL`].
pub(super) const SQUARE: &str = "the opening is square";
/// As [`SILL_LEVEL`].
pub(super) const STRAIGHT: &str = "the plaster is straight between the ends";

/// Every flag of an opening, gravest first; of equal weight in the order of the walk.
pub(super) fn flags(
    readings: &Readings,
    reads: &[Read],
    settings: &Settings,
    shape: &Shape,
    missing: &[Place],
    verdict: &Verdict,
    assumes: &[&str],
) -> Vec<Flag> {
    let mut flags = Vec::new();
    repeats(readings, settings, &mut flags);
    assumed(assumes, &mut flags);
    if let Some(whole) = verdict.whole {
        let flag = of_whole(whole, readings, reads);
        flags.push(verdict.next_reading.iter().fold(flag, |flag, next| flag.leading_to(next.place)));
    } else if verdict.holds {
        shapes(readings, settings, shape, &mut flags);
    } else {
        // A shape made of a slip is not worth describing.
        misread(readings, verdict, &mut flags);
    }
    spreads(readings, settings, &mut flags);
    if !missing.is_empty() && !readings.taken.is_empty() {
        flags.push(Flag::new(
            "not_read_yet",
            Severity::Decide,
            missing,
            format!("Not read yet: {}.", list(missing)),
            "Read them before you leave if the shade may hang inside.",
        ));
    }
    flags
}

/// "the top width, the depth and the rising diagonal".
pub(super) fn list(places: &[Place]) -> String {
    listed(places.iter().map(|place| format!("the {}", place.words())))
}

fn assumed(assumes: &[&str], flags: &mut Vec<Flag>) {
    for assumed in assumes {
        let (code, severity, places, says, to_do): (_, _, &[Place], _, _) = match *assumed {
            SILL_LEVEL => (
                "assumes_level_sill",
                Severity::Know,
                &[Place::PlumbLeft],
                "The clear width assumes that the sill is level: no plumb was read.",
                "Hold a level to a jamb: how far does its top stand out over the height?",
            ),
            SQUARE => (
                "assumes_square",
                Severity::Decide,
                &Place::DIAGONALS,
                "The diagonals were skipped: the clear width is not known, and the size assumes that the opening is square.",
                "Read both diagonals, or try the corners with a square.",
            ),
            _ => (
                "assumes_straight_plaster",
                Severity::Know,
                &[Place::WidthUpper, Place::WidthLower, Place::HeightCentre],
                "The plaster between the ends was not measured. Jambs that bow the same way show on no tape.",
                "Read the widths at the quarters and the height in the middle, and sight along both jambs.",
            ),
        };
        flags.push(Flag::new(code, severity, places, says, to_do));
    }
}

/// What is wrong with all readings together.
fn of_whole(whole: Whole, readings: &Readings, reads: &[Read]) -> Flag {
    let first = reads.first().expect("what is judged was read");
    let written = first.exact.show(readings.unit);
    let places: Vec<Place> =
        Place::ALL.iter().copied().filter(|place| reads.iter().any(|r| r.sight.place == *place)).collect();
    match whole {
        Whole::In(unit) => {
            let one = if readings.in_inches() { LengthUnit::Inch } else { LengthUnit::Millimetre }.one();
            let meant = first.exact.scale(unit.one().nm(), one.nm(), crate::length::Direction::Nearest);
            let meant = meant.round(readings.grain_read(), crate::length::Direction::Nearest).show(readings.unit);
            Flag::new(
                "other_unit",
                Severity::TakeAgain,
                &places,
                format!(
                    "All readings look as if in {}: the {} ({written}) is then {meant}.",
                    unit_words(unit),
                    first.sight.place.words()
                ),
                "Read one again; if it is so, choose that unit and correct each reading.",
            )
        }
        Whole::NoSuchSize => Flag::new(
            "no_such_size",
            Severity::TakeAgain,
            &places,
            format!("No window has this size: the {} is {written}.", first.sight.place.words()),
            "Check the number and its unit.",
        ),
        Whole::Shared(fault) => {
            let likely = match fault {
                Fault::Corners => "The corners may be rounded or filled, so that the tape does not reach into them.",
                Fault::Heights => {
                    "The heights may be read at another depth than the rest, as at the front of a sloped sill."
                }
                Fault::Widths => {
                    "The widths may be read at another depth than the rest, as at the front of splayed jambs."
                }
                Fault::Hook => "The tape's hook may be bent.",
                Fault::Case => "The tape's case may not have been added.",
            };
            Flag::new(
                "does_not_close",
                Severity::TakeAgain,
                &places,
                format!(
                    "Widths, heights and diagonals do not close on one figure, and no single reading explains it. {likely}"
                ),
                "Check the hook against another tape, look into the corners, and read all at one depth.",
            )
        }
    }
}

/// A unit in a sentence.
const fn unit_words(unit: LengthUnit) -> &'static str {
    match unit {
        LengthUnit::Inch => "inches",
        LengthUnit::Foot => "feet",
        LengthUnit::Millimetre => "millimetres",
        LengthUnit::Centimetre => "centimetres",
        LengthUnit::Metre => "metres",
    }
}

fn misread(readings: &Readings, verdict: &Verdict, flags: &mut Vec<Flag>) {
    let Some(first) = verdict.suspects.first() else { return };
    let next = verdict.next_reading.as_ref().map_or(first.place, |next| next.place);
    // Repeats that differ already have their flag.
    if flags.iter().any(|flag| flag.code == "repeats_differ" && flag.places.contains(&first.place)) {
        return;
    }
    let again = |place: Place| match readings.at(place).next() {
        Some(_) => format!("Read the {} again.", place.words()),
        None => format!("Read the {}.", place.words()),
    };
    if first.or.is_empty() {
        let read = readings.at(first.place).last().map_or_else(String::new, |length| length.show(readings.unit));
        let words = first.place.words();
        let says = first.likely.map_or_else(
            || format!("The {words} ({read}) does not fit with the rest."),
            |likely| {
                let likely = likely.show(readings.unit);
                format!("The {words} ({read}) looks {}: {likely} would fit with the rest.", first.slip)
            },
        );
        let to_do = if next != first.place {
            again(next)
        } else if readings.at(first.place).count() > 1 {
            // The same hand misreads the same way.
            "Read it again with the tape turned round, or let another person read it.".to_owned()
        } else {
            "Read it again.".to_owned()
        };
        flags.push(Flag::new("misread", Severity::TakeAgain, &[first.place], says, to_do).leading_to(next));
    } else {
        let mut places = vec![first.place];
        places.extend(&first.or);
        let either: Vec<String> = places.iter().map(|place| format!("the {}", place.words())).collect();
        let (last, most) = either.split_last().expect("there are at least two");
        let how = if most.len() == 1 { "Either" } else { "One of" };
        let says = format!("{how} {} or {last} does not fit with the rest.", most.join(", "));
        let to_do = format!("{} It shows which.", again(next));
        flags.push(Flag::new("misread_one_of", Severity::TakeAgain, &places, says, to_do).leading_to(next));
    }
}

/// A slip in a person's words, to follow "looks".
pub(super) fn slip(made: Made, read: Length, meant: Length, with: Option<Place>, unit: LengthUnit) -> String {
    let off = read - meant;
    let way = if off.is_negative() { "short" } else { "long" };
    match made {
        Made::Off(by) if by.abs() == Length::whole_inches(1) => format!("an inch {way}"),
        Made::Off(by) if by.abs() == Length::whole_inches(12) => format!("a foot {way}"),
        Made::Off(by) => format!("{} {way}", by.abs().show_marked(natural(by, unit))),
        Made::DigitsSwapped => "as if two digits changed places".to_owned(),
        Made::DigitWrong => "as if one digit is another".to_owned(),
        Made::DigitCount if off.is_negative() => "as if a digit is missing".to_owned(),
        Made::DigitCount => "as if a digit was typed twice".to_owned(),
        Made::SixteenthsEighths if off.is_negative() => "as if eighths were read as sixteenths".to_owned(),
        Made::SixteenthsEighths => "as if sixteenths were read as eighths".to_owned(),
        Made::CaseForgotten => "short by the tape's case".to_owned(),
        Made::ReadIn(other) => {
            let number = read.show(if unit.is_imperial() { LengthUnit::Inch } else { LengthUnit::Millimetre });
            format!("as if read in {} ({number} {} is {})", unit_words(other), other.name(), meant.show(unit))
        }
        Made::WrongEnd => "as if its fraction was counted from the wrong end of the inch".to_owned(),
        Made::FeetRunTogether => "as if feet and inches were run together".to_owned(),
        Made::PointLost => "as if a point was not typed".to_owned(),
        Made::FractionTyped => "as if the fraction was typed as digits".to_owned(),
        Made::Shared(_) | Made::Bulge => NO_SLIP_NAMED.to_owned(),
        Made::OtherUnit => "as if inches and centimetres were mixed".to_owned(),
        Made::TenTimes => "as if millimetres and centimetres were mixed".to_owned(),
        Made::OtherBox => with.map_or_else(
            || "as if it was written in the wrong field".to_owned(),
            |place| format!("as if it was written in the wrong field, in place of the {}", place.words()),
        ),
        Made::OtherSide => "as if it leans to the other side".to_owned(),
        Made::Some(_) => format!("about {} {way}", off.abs().show_marked(natural(off, unit))),
    }
}

/// The house's unit, but whole fractions of an inch stay inches and millimetres stay millimetres.
fn natural(length: Length, unit: LengthUnit) -> LengthUnit {
    if unit.is_imperial() && length.show(LengthUnit::Inch).ends_with("mm") { LengthUnit::Millimetre } else { unit }
}

/// How far the readings of a place lie apart.
pub(super) fn spread(readings: &Readings, place: Place) -> String {
    let (low, high) = (readings.at(place).min(), readings.at(place).max());
    let apart = high.zip(low).map_or(Length::ZERO, |(high, low)| high - low);
    apart.show_marked(natural(apart, readings.unit))
}

/// Why a place is to be read next.
pub(super) fn because(place: Place, readings: &Readings, suspects: &[Suspect]) -> String {
    let read = readings.at(place).last();
    match (suspects.iter().find(|suspect| suspect.place == place), read) {
        (Some(suspect), Some(read)) => match suspect.likely {
            Some(likely) => {
                format!("It shows whether this is {} or {}.", read.show(readings.unit), likely.show(readings.unit))
            }
            None => "It shows whether this reading is right.".to_owned(),
        },
        (None, _) if suspects.len() > 1 => "This shows which of the two is wrong.".to_owned(),
        (None, _) if suspects.len() == 1 => format!("It shows whether the {} is right.", suspects[0].place.words()),
        (None, Some(_)) => "A second reading here makes sure of the size.".to_owned(),
        _ => "It checks the readings against each other.".to_owned(),
    }
}

fn repeats(readings: &Readings, settings: &Settings, flags: &mut Vec<Flag>) {
    let unit = readings.unit;
    for place in Place::ALL {
        let all: Vec<Length> = readings.at(*place).collect();
        let written = |lengths: &[Length]| listed(lengths.iter().map(|length| length.show(unit)));
        match stand(readings, *place, settings.repeat_spread) {
            Some(Stand::Differ(value)) => flags.push(Flag::new(
                "repeats_differ",
                Severity::TakeAgain,
                &[*place],
                format!("The {} was read as {}.", place.words(), written(&all)),
                format!("Read it once more; until then {} is used.", value.show(unit)),
            )),
            Some(Stand::Majority { value, aside }) => flags.push(Flag::new(
                "repeat_set_aside",
                Severity::Know,
                &[*place],
                format!("Most readings of the {} agree; {} was set aside.", place.words(), written(&aside)),
                format!("No action: {} is used.", value.show(unit)),
            )),
            Some(Stand::Agree(value)) if all.iter().any(|one| *one != value) => flags.push(Flag::new(
                "repeats_agree",
                Severity::Know,
                &[*place],
                format!("The {} was read as {}, which agree.", place.words(), written(&all)),
                format!("No action: {}, the safe one to cut by, is used.", value.show(unit)),
            )),
            _ => {}
        }
    }
}

fn spreads(readings: &Readings, settings: &Settings, flags: &mut Vec<Flag>) {
    let widths = Place::WIDTHS.map(|(place, _)| place);
    for (code, what, places, limit, to_do) in [
        (
            "widths_differ",
            "widths",
            widths.as_slice(),
            settings.width_spread,
            "No action if the jambs look straight; an inside mount is sized from the clear width.",
        ),
        (
            "heights_differ",
            "heights",
            Place::HEIGHTS.as_slice(),
            settings.height_spread,
            "No action if the head or sill looks out of level; the smallest height counts.",
        ),
        (
            "diagonals_differ",
            "diagonals",
            Place::DIAGONALS.as_slice(),
            settings.diagonal_spread,
            "No action if the opening looks out of square; an inside mount is sized from the clear width.",
        ),
    ] {
        // What a head that is not level makes is no spread: it was said.
        let read: Vec<(Place, Length)> = places
            .iter()
            .filter(|place| readings.in_figure(**place))
            .filter_map(|place| stand(readings, *place, settings.repeat_spread).map(|s| (*place, s.value())))
            .collect();
        let lengths = || read.iter().map(|(_, length)| *length);
        let (Some(low), Some(high)) = (lengths().min(), lengths().max()) else { continue };
        // A spread that a misread reading makes is not the jambs'.
        let again =
            |flag: &Flag| flag.severity == Severity::TakeAgain && flag.places.iter().any(|at| places.contains(at));
        if flags.iter().any(again) {
            continue;
        }
        if high - low > limit {
            let places: Vec<Place> = read.iter().map(|(place, _)| *place).collect();
            let says = format!(
                "The {what} differ by {}; in a square opening they agree within {}.",
                (high - low).show(readings.unit),
                limit.show(readings.unit)
            );
            flags.push(Flag::new(code, Severity::Know, &places, says, to_do));
        }
    }
}

fn shapes(readings: &Readings, settings: &Settings, shape: &Shape, flags: &mut Vec<Flag>) {
    if let Some(lean) = shape.lean
        && lean.value.abs() >= mm(settings.lean_advises_outside)
    {
        let side = if lean.value > 0.0 { "right" } else { "left" };
        flags.push(Flag::new(
            "leans",
            Severity::Decide,
            &Place::DIAGONALS,
            format!("The opening leans about {} to the {side}.", shown(lean.value, readings)),
            "An outside mount would serve better; inside, the gaps at the corners will show.",
        ));
    }
    if let Some(bow) = shape.bow
        && bow.value.abs() > mm(settings.bow_limit)
    {
        let (way, what) = if bow.value > 0.0 { ("wider", "bow out") } else { ("narrower", "bow in") };
        flags.push(Flag::new(
            "bowed",
            Severity::Know,
            &[Place::WidthTop, Place::WidthMiddle, Place::WidthBottom],
            format!("The jambs {what}: about {} {way} in the middle.", shown(bow.value, readings)),
            "Expect an uneven gap beside an inside shade.",
        ));
    }
    let level_read = |place: Place| readings.at(place).next().is_some();
    let known = [Place::LevelHead, Place::LevelSill, Place::PlumbLeft, Place::PlumbRight].into_iter().any(level_read);
    let over = |slope: Option<super::Estimate>, limit: f64| slope.filter(|s| s.value.abs() > limit);
    let limit = mm(settings.slope_limit);
    if known {
        let ends = |value: f64| if value > 0.0 { "right" } else { "left" };
        if let Some(head) = over(shape.slope_head, limit) {
            let (by, end) = (shown(head.value, readings), ends(head.value));
            flags.push(Flag::new(
                "head_slopes",
                Severity::Know,
                &[Place::LevelHead],
                format!("The head stands about {by} higher at the {end}."),
                "A level board will show a wedge of light under it.",
            ));
        }
        if let Some(sill) = over(shape.slope_sill, limit) {
            let (by, end) = (shown(sill.value, readings), ends(sill.value));
            flags.push(Flag::new(
                "sill_slopes",
                Severity::Know,
                &[Place::LevelSill],
                format!("The sill stands about {by} higher at the {end}."),
                "A level hem will show a wedge of light over it.",
            ));
        }
    } else if let (Some(head), Some(sill)) = (shape.slope_head, shape.slope_sill)
        && (head.value - sill.value).abs() > limit
    {
        let slope = head.value - sill.value;
        let end = if slope > 0.0 { "right" } else { "left" };
        let says = format!("The opening is about {} higher at the {end}.", shown(slope, readings));
        let to_do = "A level on the sill would tell whether sill or head is out; a wedge of light will show there.";
        let places = [Place::HeightLeft, Place::HeightRight];
        let flag = Flag::new("head_and_sill_not_parallel", Severity::Know, &places, says, to_do);
        flags.push(flag.leading_to(Place::LevelSill));
    }
}

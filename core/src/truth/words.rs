//! The flags: what is said to a person, and when. Short, exact, and never blaming.

use super::readings::{Readings, Stand, shown, stand};
use super::slips::Made;
use super::verdict::{Suspect, Verdict};
use super::{Shape, passage::mm};
use crate::flag::{Flag, Severity, listed};
use crate::house::Place;
use crate::length::{Length, LengthUnit};
use crate::settings::Settings;

/// Every flag of an opening, gravest first; of equal weight in the order of the walk.
pub(super) fn flags(
    readings: &Readings,
    settings: &Settings,
    shape: &Shape,
    missing: &[Place],
    verdict: &Verdict,
) -> Vec<Flag> {
    let mut flags = Vec::new();
    repeats(readings, settings, &mut flags);
    if verdict.holds {
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
    flags.sort_by_key(|flag| std::cmp::Reverse(flag.severity));
    flags
}

/// "the top width, the depth and the rising diagonal".
pub(super) fn list(places: &[Place]) -> String {
    listed(places.iter().map(|place| format!("the {}", place.words())))
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
        let likely = first.likely.map_or_else(String::new, |length| length.show(readings.unit));
        flags.push(Flag::new(
            "misread",
            Severity::TakeAgain,
            &[first.place],
            format!("The {} ({read}) looks {}: {likely} would fit with the rest.", first.place.words(), first.slip),
            if next == first.place { "Read it again.".to_owned() } else { again(next) },
        ));
    } else {
        let mut places = vec![first.place];
        places.extend(&first.or);
        let either: Vec<String> = places.iter().map(|place| format!("the {}", place.words())).collect();
        let (last, most) = either.split_last().expect("there are at least two");
        let how = if most.len() == 1 { "Either" } else { "One of" };
        flags.push(Flag::new(
            "misread_one_of",
            Severity::TakeAgain,
            &places,
            format!("{how} {} or {last} does not fit with the rest.", most.join(", ")),
            format!("{} It tells which.", again(next)),
        ));
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
        Made::DigitCount => "as if a digit stands twice".to_owned(),
        Made::SixteenthsEighths if off.is_negative() => "as if eighths were read as sixteenths".to_owned(),
        Made::SixteenthsEighths => "as if sixteenths were read as eighths".to_owned(),
        Made::CaseForgotten => "short by the tape's case".to_owned(),
        Made::OtherUnit => "as if inches and centimetres were mixed".to_owned(),
        Made::TenTimes => "as if millimetres and centimetres were mixed".to_owned(),
        Made::OtherBox => with.map_or_else(
            || "as if it belongs in another box".to_owned(),
            |place| format!("as if it changed boxes with the {}", place.words()),
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
                format!("It tells whether this is {} or {}.", read.show(readings.unit), likely.show(readings.unit))
            }
            None => "It tells whether this reading stands.".to_owned(),
        },
        (None, _) if suspects.len() > 1 => {
            format!("It tells the {} from the {}.", suspects[0].place.words(), suspects[1].place.words())
        }
        (None, _) if suspects.len() == 1 => format!("It tells whether the {} stands.", suspects[0].place.words()),
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
                format!("Nothing: {} is used.", value.show(unit)),
            )),
            Some(Stand::Agree(value)) if all.iter().any(|one| *one != value) => flags.push(Flag::new(
                "repeats_agree",
                Severity::Know,
                &[*place],
                format!("The {} was read as {}, which agree.", place.words(), written(&all)),
                format!("Nothing: {}, the safe one to cut by, is used.", value.show(unit)),
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
            "Nothing if the jambs look it; an inside shade is sized by what passes.",
        ),
        (
            "heights_differ",
            "heights",
            Place::HEIGHTS.as_slice(),
            settings.height_spread,
            "Nothing if the head or sill looks it; the smallest height counts.",
        ),
        (
            "diagonals_differ",
            "diagonals",
            Place::DIAGONALS.as_slice(),
            settings.diagonal_spread,
            "Nothing if the opening looks out of square; an inside shade is sized by what passes.",
        ),
    ] {
        let read: Vec<(Place, Length)> = places
            .iter()
            .filter_map(|place| stand(readings, *place, settings.repeat_spread).map(|s| (*place, s.value())))
            .collect();
        let lengths = || read.iter().map(|(_, length)| *length);
        let (Some(low), Some(high)) = (lengths().min(), lengths().max()) else { continue };
        if high - low > limit {
            let places: Vec<Place> = read.iter().map(|(place, _)| *place).collect();
            let says = format!(
                "The {what} differ by {}; a true opening's lie within {}.",
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
        flags.push(Flag::new(
            "head_and_sill_not_parallel",
            Severity::Know,
            &[Place::HeightLeft, Place::HeightRight],
            format!("The opening is about {} higher at the {end}.", shown(slope, readings)),
            "A level on the sill would tell whether sill or head is out; a wedge of light will show there.",
        ));
    }
}

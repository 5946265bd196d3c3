//! Where two devices said different things: both are kept, one is shown, and a flag stands until a person settles it.

use crate::fact::House;
use crate::flag::{Flag, Severity};
use crate::house::{Opening, Place};
use uuid::Uuid;

/// A flag for everything in the house that two devices changed apart, with the house, room or opening it belongs to.
///
/// - A field that was set twice: the value of the latest stamp shows, then of the larger device id, then of the larger
///   fact id. Setting it again, knowing both, settles it.
/// - A reading whose typing was corrected twice, differently: both corrections stand as readings. Withdrawing one, or
///   correcting it to the other, settles it.
pub fn disagreements(house: &House) -> Vec<(Uuid, Flag)> {
    let mut flags = Vec::new();
    for apart in &house.disagreements {
        let shown: Vec<String> = apart.values.iter().map(|(_, value)| words(value)).collect();
        let Some((last, others)) = shown.split_last() else { continue };
        let says = format!(
            "Two devices set {} apart: {last} is shown, the latest by their clocks; {} stands beside it.",
            apart.field,
            others.join(" and ")
        );
        let to_do = "Ask who set it and set it once more, to either.";
        flags.push((apart.on, Flag::new("set_apart", Severity::Decide, &[], says, to_do)));
    }
    for (_, opening) in house.job.openings() {
        flags.extend(corrected_apart(opening).map(|flag| (opening.id, flag)));
    }
    flags
}

fn words(value: &serde_json::Value) -> String {
    match value {
        serde_json::Value::Null => "nothing".to_owned(),
        serde_json::Value::String(text) => format!("\"{text}\""),
        other => other.to_string(),
    }
}

fn corrected_apart(opening: &Opening) -> impl Iterator<Item = Flag> + '_ {
    opening.readings.iter().filter_map(|reading| {
        let corrections =
            opening.readings.iter().filter(|other| other.amends == Some(reading.id) && opening.stands(other));
        let mut values: Vec<_> = corrections.map(|other| (other.value(), other.typed.marked_text())).collect();
        values.sort_by_key(|(value, _)| *value);
        values.dedup_by_key(|(value, _)| *value);
        if values.len() < 2 {
            return None;
        }
        let words: Vec<String> = values.into_iter().map(|(_, typed)| typed).collect();
        let place: Place = reading.place;
        let says = format!("The {} was corrected to {} on two devices.", place.words(), words.join(" and to "));
        let to_do = "Look at the tape again, or withdraw the wrong one.";
        Some(Flag::new("corrected_apart", Severity::TakeAgain, &[place], says, to_do))
    })
}

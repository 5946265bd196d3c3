//! Where two devices said different things: both are kept, one is shown, and a flag stands at the opening, room or house
//! until a person settles it.
//!
//! Which one is shown: the value of the latest stamp; of equal stamps, that of the larger device id; then of the
//! larger fact id. The same on every device that has the same facts.

use crate::flag::{Flag, Severity};
use crate::house::{Disagreement, Job, Opening, Place};
use serde_json::Value;
use uuid::Uuid;

/// The flags of one opening.
///
/// - A field that was set twice (`set_apart`): choosing once more, knowing both, settles it.
/// - A reading whose typing was corrected twice, differently (`corrected_apart`): both corrections stand as readings.
///   Withdrawing one, or correcting it to the other, settles it.
pub fn of_opening(job: &Job, opening: &Opening) -> Vec<Flag> {
    let mut flags = of(job, opening.id);
    flags.extend(corrected(opening));
    flags
}

/// The flags of the house itself, and of its rooms: whose each is, and the flag.
pub fn of_house(job: &Job) -> Vec<(Uuid, Flag)> {
    let own = std::iter::once(job.id).chain(job.rooms.iter().map(|room| room.id));
    own.flat_map(|on| of(job, on).into_iter().map(move |flag| (on, flag))).collect()
}

/// What two devices set apart for the house that an opening's size hangs on: its numbers, its unit, the opening's cloth.
pub fn that_concern(job: &Job, opening: &Opening) -> Vec<Flag> {
    let cloth = opening.choices.cloth.as_deref().map(|cloth| format!("cloths.{cloth}"));
    let concerns = |field: &str| field.starts_with("settings.") || field == "unit" || Some(field) == cloth.as_deref();
    let apart = job.disagreements.iter().filter(|apart| apart.on == job.id && concerns(&apart.field));
    apart.filter_map(set).collect()
}

fn of(job: &Job, on: Uuid) -> Vec<Flag> {
    job.disagreements.iter().filter(|apart| apart.on == on).filter_map(set).collect()
}

fn set(apart: &Disagreement) -> Option<Flag> {
    let mut values: Vec<String> = Vec::new();
    for (_, value) in &apart.values {
        let said = words(value);
        // The one that is shown stands last; the same said twice is said once.
        values.retain(|other| *other != said);
        values.push(said);
    }
    let (shown, others) = values.split_last()?;
    let field = apart.field.rsplit('.').next().unwrap_or_default().replace('_', " ");
    let says = format!(
        "Two devices set the {field} apart: {shown} is shown, the latest by their clocks; {} stands beside it.",
        others.join(" and ")
    );
    Some(Flag::new("set_apart", Severity::Decide, &[], says, "Ask who set it, and choose one of them once more."))
}

fn words(value: &Value) -> String {
    match value {
        Value::Null => "the default".to_owned(),
        Value::String(text) => format!("\"{}\"", text.replace('_', " ")),
        Value::Array(all) => all.iter().map(words).collect::<Vec<_>>().join(", "),
        Value::Object(map) => {
            map.iter().map(|(name, value)| format!("{name} {}", words(value))).collect::<Vec<_>>().join(", ")
        }
        other => other.to_string(),
    }
}

fn corrected(opening: &Opening) -> impl Iterator<Item = Flag> + '_ {
    opening.readings.iter().filter_map(|reading| {
        let mut values: Vec<_> = opening
            .readings
            .iter()
            .filter(|other| other.amends == Some(reading.id) && opening.stands(other))
            .map(|other| (other.value(), other.typed.marked_text()))
            .collect();
        values.sort_by_key(|(value, _)| *value);
        values.dedup_by_key(|(value, _)| *value);
        if values.len() < 2 {
            return None;
        }
        let words: Vec<String> = values.into_iter().map(|(_, typed)| typed).collect();
        let place: Place = reading.place;
        let says = format!("The {} was corrected to {} on two devices.", place.words(), words.join(" and to "));
        let to_do = "Withdraw the wrong one; read it again where nobody knows which.";
        Some(Flag::new("corrected_apart", Severity::Decide, &[place], says, to_do))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::length::LengthUnit;

    #[test]
    fn each_value_is_said_once_and_the_shown_one_first() {
        let mut job = Job::new(Uuid::from_u128(1), "Larch House".to_owned(), LengthUnit::Inch);
        let fact = |n: u128, value: Value| (Uuid::from_u128(n), value);
        job.disagreements.push(Disagreement {
            on: job.id,
            field: "settings.inside_width_deduction".to_owned(),
            values: vec![fact(1, "1/2".into()), fact(2, Value::Null), fact(3, "1/4".into()), fact(4, "1/2".into())],
        });
        let flags = of_house(&job);
        assert_eq!(
            flags[0].1.says,
            "Two devices set the inside width deduction apart: \"1/2\" is shown, the latest by their clocks; the \
             default and \"1/4\" stands beside it."
        );
        assert_eq!((flags.len(), flags[0].0, flags[0].1.severity), (1, job.id, Severity::Decide));
    }
}

//! Questions and their answers: which flags a person may answer, and what keeps an answer standing.

use crate::flag::{Flag, Severity};
use crate::house::{Decision, Opening};

/// Flags that are settled in another way than by an answer: a field is set once more, a reading corrected or taken back.
const SETTLED_OTHERWISE: [&str; 2] = ["set_apart", "corrected_apart"];

/// True when a person may answer this flag.
///
/// A question to decide always, unless what was set apart must be set once more, a fixing would not hold or a lift not
/// raise: no answer makes it strong. A reading to take again only once every place in doubt was read twice, or
/// was left out with a reason.
pub fn can_be_answered(opening: &Opening, flag: &Flag) -> bool {
    let strength = flag.code.starts_with("fixing_") || flag.code.starts_with("lift_");
    match flag.severity {
        Severity::Know => false,
        Severity::Decide => !strength && !SETTLED_OTHERWISE.contains(&flag.code.as_str()),
        Severity::TakeAgain => {
            !flag.places.is_empty()
                && flag.places.iter().all(|place| {
                    let times = opening.standing(*place).count();
                    times >= 2 || (times == 0 && opening.skipped.iter().any(|skip| skip.place == *place))
                })
        }
    }
}

/// The answer that closes a flag, if there is one: the last that was given to it, unless it was taken back, a reading
/// that it rests on changed, or the flag's figures are others now.
pub fn closed_by<'a>(opening: &'a Opening, flag: &Flag) -> Option<&'a Decision> {
    if opening.decisions.is_empty() || !can_be_answered(opening, flag) {
        return None;
    }
    let last = opening.decisions.iter().rfind(|given| given.flag == flag.code && given.places == flag.places)?;
    let stands = !last.taken_back
        && last.readings == opening.rests_on(&flag.places)
        && figures(&last.says) == figures(&flag.says);
    stands.then_some(last)
}

/// The figures of a sentence: an answer to "4 folds of 11 in" is none to "3 folds of 14 in", and stands though the words
/// around the figures are put better in a later version.
pub fn figures(says: &str) -> Vec<&str> {
    says.split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '/')))
        .map(|part| part.trim_matches(['.', '/']))
        .filter(|part| !part.is_empty())
        .collect()
}

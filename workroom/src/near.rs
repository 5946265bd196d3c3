//! Names that a typing slip may have meant.

/// Alike to this part or more: one letter in three may be another one.
const ALIKE: f64 = 0.66;
/// Names offered at once.
const MOST: usize = 3;
/// Names listed where none is near.
const LISTED: usize = 12;

/// The names that `wanted` may have meant, the nearest first; of a name of several words, any run of them counts.
pub(crate) fn near<'a>(wanted: &str, names: &[&'a str]) -> Vec<&'a str> {
    let wanted = words(wanted);
    let mut found: Vec<(f64, &str)> =
        names.iter().map(|name| (alike(&wanted, &words(name)), *name)).filter(|(alike, _)| *alike >= ALIKE).collect();
    found.sort_by(|(a, one), (b, other)| b.total_cmp(a).then_with(|| one.cmp(other)));
    found.dedup_by(|(_, one), (_, other)| one == other);
    found.into_iter().take(MOST).map(|(_, name)| name).collect()
}

fn words(name: &str) -> Vec<String> {
    let parts = name.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty());
    parts.map(str::to_lowercase).collect()
}

fn alike(wanted: &[String], name: &[String]) -> f64 {
    let wanted_text = wanted.join(" ");
    if wanted_text.is_empty() {
        return 0.0;
    }
    let runs = name.windows(wanted.len().min(name.len()).max(1)).map(|run| run.join(" "));
    // Two words typed as one, too.
    let all = runs.chain([name.join(" "), name.concat()]);
    all.map(|run| strsim::normalized_damerau_levenshtein(&wanted_text, &run)).fold(0.0, f64::max)
}

/// What follows a refusal: the near names as a question, else the names that there are.
pub(crate) fn hint(wanted: &str, names: &[&str], all: &str) -> String {
    let near = near(wanted, names);
    let mut known: Vec<&str> = names.to_vec();
    known.dedup();
    if !near.is_empty() {
        let quoted: Vec<String> = near.iter().map(|name| format!("\"{name}\"")).collect();
        format!("did you mean {}?", quoted.join(" or "))
    } else if known.len() <= LISTED {
        format!("they are: {}", known.join("; "))
    } else {
        format!("there are {}; {all} lists them", known.len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_a_key_finds_its_name_and_another_word_finds_none() {
        let houses = ["Heron Lane, number nine", "Quay flat, third floor", "Mill Cottage"];
        for (typed, meant) in [
            ("herron", houses[0]),
            ("Heorn lane", houses[0]),
            ("millcotage", houses[2]),
            ("quai", houses[1]),
            ("third flor", houses[1]),
            ("mil cotage", houses[2]),
        ] {
            assert_eq!(near(typed, &houses).first(), Some(&meant), "{typed}");
        }
        assert_eq!(near("observatory", &houses), [""; 0]);
        assert_eq!(near("", &houses), [""; 0]);
        assert_eq!(hint("observatory", &houses[2..], "hangtrue houses"), "they are: Mill Cottage");
        let many: Vec<String> = (0..50).map(|n| format!("{n}")).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).collect();
        assert_eq!(hint("observatory", &many, "hangtrue houses"), "there are 50; hangtrue houses lists them");
    }
}

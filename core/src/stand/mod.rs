//! Where an opening stands on its way to a hung shade: one word, the same on every screen, sheet, list and table, with
//! its reasons in plain words.
//!
//! Only what is settled is cut. A wall that is not probed does not hinder the cutting: it holds the hanging.

mod answer;
mod set;

pub use answer::{can_be_answered, closed_by, figures};
pub use set::{Answer, Member, Set, sets};

use crate::fixing::{self, Fixing};
use crate::flag::{Flag, Severity, listed, sentence};
use crate::house::{Opening, Place};
use crate::length::LengthUnit;
use crate::makeup::{GRAMS_PER_POUND, Makeup, MakeupProblem};
use crate::mount::{self, Catalogue, Form, Mounts};
use serde::Serialize;

/// Where an opening stands; the worst first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stand {
    /// Readings are missing that it is sized or judged by.
    NotMeasured,
    /// A reading is in doubt, or the workroom asked for one.
    ReadAgain,
    /// A question is open, or something chosen cannot be as it is.
    Decide,
    /// No reading is in doubt, every question is answered, every fixing holds: it may be cut.
    Settled,
}

impl Stand {
    /// The word for it, as every screen, sheet, list and table has it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotMeasured => "not measured",
            Self::ReadAgain => "to read again",
            Self::Decide => "to decide",
            Self::Settled => "settled",
        }
    }

    /// The same of a shade: "which is to be read again".
    pub const fn is_words(self) -> &'static str {
        match self {
            Self::NotMeasured => "is not measured",
            Self::ReadAgain => "is to be read again",
            Self::Decide => "is to be decided",
            Self::Settled => "is settled",
        }
    }

    /// Its name where a program reads it.
    pub const fn code(self) -> &'static str {
        match self {
            Self::NotMeasured => "not_measured",
            Self::ReadAgain => "read_again",
            Self::Decide => "decide",
            Self::Settled => "settled",
        }
    }
}

/// What keeps an opening from being settled, or a shade from being hung.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// Something was not read yet.
    NotRead,
    /// A reading is in doubt.
    InDoubt,
    /// The workroom asked for a reading, and it was not read yet.
    Asked,
    /// The mount that was chosen cannot be; or none can.
    Mount,
    /// The shade cannot be made up as it is chosen.
    Make,
    /// A fixing would carry more than it may, or there is no place for one.
    Fixing,
    /// The shade is heavier than its lift raises.
    Lift,
    /// A question is open.
    Question,
    /// Another shade of the set that it hangs with is not settled.
    Set,
    /// What it is fixed to was not probed: holds the hanging only.
    Wall,
}

/// One reason, in plain words.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Reason {
    /// What kind it is.
    pub cause: Cause,
    /// Where the opening stands because of it.
    pub stand: Stand,
    /// The code of the flag that it comes from; empty when it comes from none.
    pub flag: String,
    /// The places concerned.
    pub places: Vec<Place>,
    /// A clause for a bar: "the middle width is to be read again".
    pub brief: String,
    /// One plain sentence.
    pub says: String,
    /// What to do, one plain sentence.
    pub to_do: String,
}

/// Where one opening stands, and why.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Standing {
    /// The word.
    pub stand: Stand,
    /// What keeps it from being settled, the worst first; empty when it is.
    pub reasons: Vec<Reason>,
    /// What holds the hanging, and not the cutting.
    pub holds: Vec<Reason>,
}

impl Standing {
    fn of(mut reasons: Vec<Reason>, holds: Vec<Reason>) -> Self {
        reasons.sort_by_key(|reason| (reason.stand, reason.cause));
        let stand = reasons.first().map_or(Stand::Settled, |reason| reason.stand);
        Self { stand, reasons, holds }
    }

    /// Adds what is known only of a house as a whole.
    pub fn add(&mut self, reason: Reason) {
        let mut reasons = std::mem::take(&mut self.reasons);
        reasons.push(reason);
        *self = Self::of(reasons, std::mem::take(&mut self.holds));
    }

    /// True when it may be cut.
    pub fn is_settled(&self) -> bool {
        self.stand == Stand::Settled
    }

    /// The bar across a sheet that cuts: "Do not cut: the middle width is to be read again." Nothing when settled.
    pub fn stop_cutting(&self) -> Option<String> {
        stop("Do not cut", &self.reasons)
    }

    /// The bar across a hanging sheet: what stops the cutting stops it too, and so does a wall that was not probed.
    pub fn stop_hanging(&self) -> Option<String> {
        match self.stop_cutting() {
            Some(_) => stop("Do not hang", &self.reasons),
            None => stop("Before it is hung", &self.holds),
        }
    }
}

/// How many clauses a bar has at most; the rest are on the sheet of the house.
const CLAUSES: usize = 3;

fn stop(what: &str, reasons: &[Reason]) -> Option<String> {
    let mut clauses: Vec<String> = Vec::new();
    for reason in reasons {
        if !clauses.contains(&reason.brief) {
            clauses.push(reason.brief.clone());
        }
    }
    if clauses.is_empty() {
        return None;
    }
    let more = clauses.len().saturating_sub(CLAUSES);
    clauses.truncate(CLAUSES);
    if more > 0 {
        clauses.push(if more == 1 { "and 1 thing more".to_owned() } else { format!("and {more} things more") });
    }
    Some(sentence(&format!("{what}: {}", clauses.join("; "))))
}

/// What is known of one opening when its standing is worked out.
#[derive(Clone, Debug)]
pub struct Known<'a> {
    /// The opening.
    pub opening: &'a Opening,
    /// Every flag of its readings, of the mount that is chosen or advised, of the shade and of its fixing.
    pub flags: Vec<&'a Flag>,
    /// Its ways of mounting.
    pub mounts: &'a Mounts,
    /// How it is made up, or why it cannot be; nothing where it has no mount.
    pub makeup: Option<Result<&'a Makeup, &'a MakeupProblem>>,
    /// How it is fixed.
    pub fixing: Option<&'a Fixing>,
    /// What the workroom has.
    pub catalogue: &'a Catalogue,
    /// The unit of the house.
    pub unit: LengthUnit,
}

/// Flags that hold the hanging and not the cutting.
const HOLDS_HANGING: [&str; 1] = ["backing_not_known"];

/// Works out where an opening stands, as far as it is alone concerned.
pub fn of(known: &Known<'_>) -> Standing {
    let opening = known.opening;
    let (mut reasons, mut holds) = (Vec::new(), Vec::new());
    if opening.readings.iter().all(|reading| !opening.stands(reading)) {
        reasons.push(Reason {
            cause: Cause::NotRead,
            stand: Stand::NotMeasured,
            flag: String::new(),
            places: Vec::new(),
            brief: "nothing is measured yet".to_owned(),
            says: "Nothing is measured yet.".to_owned(),
            to_do: "Measure it.".to_owned(),
        });
        return Standing::of(reasons, holds);
    }
    for flag in &known.flags {
        if HOLDS_HANGING.contains(&flag.code.as_str()) {
            holds.push(Reason {
                cause: Cause::Wall,
                brief: if known.mounts.advised == Some(Form::Inside) {
                    "find out what is behind the head".to_owned()
                } else {
                    "find out what is behind the wall".to_owned()
                },
                ..reason(Cause::Wall, Stand::Settled, flag)
            });
        } else if let Some(reason) = of_flag(opening, flag) {
            reasons.push(reason);
        }
    }
    for ask in opening.asks.iter().filter(|ask| !opening.is_answered(ask)) {
        reasons.push(Reason {
            cause: Cause::Asked,
            stand: Stand::ReadAgain,
            flag: String::new(),
            places: ask.places.clone(),
            brief: if ask.places.is_empty() {
                "it is to be measured again".to_owned()
            } else {
                format!("{} to be read again", are(&ask.places))
            },
            says: sentence(&format!("The workroom asks for it to be measured again: {}", ask.why)),
            to_do: "Read what is asked for.".to_owned(),
        });
    }
    if opening.choices.undecided && opening.choices.mount.is_none() {
        reasons.push(Reason {
            cause: Cause::Mount,
            stand: Stand::Decide,
            flag: String::new(),
            places: Vec::new(),
            brief: "whether it hangs inside or outside is not decided".to_owned(),
            says: "Whether it hangs inside or outside is not decided.".to_owned(),
            to_do: "Choose one.".to_owned(),
        });
    }
    reasons.extend(of_mount(known));
    reasons.extend(of_outside(known));
    if let Some(Err(problem)) = known.makeup {
        reasons.push(Reason {
            cause: Cause::Make,
            stand: Stand::Decide,
            flag: String::new(),
            places: Vec::new(),
            brief: format!("it cannot be made so: {}", problem.what),
            says: sentence(&problem.what),
            to_do: sentence(&problem.right),
        });
    }
    reasons.extend(of_fixing(known));
    reasons.extend(of_lift(known));
    Standing::of(reasons, holds)
}

/// "the depth is", "the top width and the depth are".
fn are(places: &[Place]) -> String {
    let words = listed(places.iter().map(|place| format!("the {}", place.words())));
    format!("{words} {}", if places.len() == 1 { "is" } else { "are" })
}

fn reason(cause: Cause, stand: Stand, flag: &Flag) -> Reason {
    Reason {
        cause,
        stand,
        flag: flag.code.clone(),
        places: flag.places.clone(),
        brief: clause(&flag.says),
        says: flag.says.clone(),
        to_do: flag.to_do.clone(),
    }
}

/// A sentence as a clause: a small letter first, no stop last.
fn clause(sentence: &str) -> String {
    let mut chars = sentence.trim_end_matches('.').chars();
    let mut text: String = chars.next().map(|first| first.to_lowercase().to_string()).unwrap_or_default();
    text.push_str(chars.as_str());
    text
}

/// What an open flag makes of its opening; nothing when it asks nothing or is answered.
pub fn of_flag(opening: &Opening, flag: &Flag) -> Option<Reason> {
    if flag.severity == Severity::Know || closed_by(opening, flag).is_some() {
        return None;
    }
    let unread: Vec<Place> =
        flag.places.iter().copied().filter(|place| opening.standing(*place).next().is_none()).collect();
    let skipped = |place: &Place| opening.skipped.iter().any(|skip| skip.place == *place);
    let not_read = !unread.is_empty() && unread.len() == flag.places.len();
    if flag.code == "not_read_yet" {
        let open: Vec<Place> = unread.iter().copied().filter(|place| !skipped(place)).collect();
        return Some(if open.is_empty() {
            Reason {
                brief: format!("{} not measured", are(&flag.places)),
                ..reason(Cause::Question, Stand::Decide, flag)
            }
        } else {
            Reason {
                brief: format!("{} not measured yet", are(&open)),
                ..reason(Cause::NotRead, Stand::NotMeasured, flag)
            }
        });
    }
    Some(match flag.severity {
        Severity::TakeAgain if not_read && !unread.iter().all(skipped) => Reason {
            brief: format!("{} not measured yet", are(&unread)),
            ..reason(Cause::NotRead, Stand::NotMeasured, flag)
        },
        Severity::TakeAgain if flag.code == "misread_one_of" && flag.places.len() > 1 => {
            let words: Vec<String> = flag.places.iter().map(|place| format!("the {}", place.words())).collect();
            Reason {
                brief: format!("{} is to be read again", words.join(" or ")),
                ..reason(Cause::InDoubt, Stand::ReadAgain, flag)
            }
        }
        Severity::TakeAgain if !flag.places.is_empty() => Reason {
            brief: format!("{} to be read again", are(&flag.places)),
            ..reason(Cause::InDoubt, Stand::ReadAgain, flag)
        },
        Severity::TakeAgain => reason(Cause::InDoubt, Stand::ReadAgain, flag),
        _ => {
            let cause = match flag.code.split('_').next() {
                Some("fixing") => Cause::Fixing,
                Some("lift") => Cause::Lift,
                _ => Cause::Question,
            };
            reason(cause, Stand::Decide, flag)
        }
    })
}

/// A mount that is missing: readings, or the choice.
fn of_mount(known: &Known<'_>) -> Option<Reason> {
    if known.mounts.advised.is_some() {
        return None;
    }
    let chosen = known.opening.choices.mount.is_some();
    let missing: Vec<Place> = known.mounts.missing();
    let plain = Reason {
        cause: Cause::Mount,
        stand: Stand::Decide,
        flag: String::new(),
        places: Vec::new(),
        brief: if chosen { "the mount that was chosen cannot be" } else { "no mount can be" }.to_owned(),
        says: known.mounts.because.clone(),
        to_do: if chosen { "Choose what would work." } else { "Look at the readings and the choices." }.to_owned(),
    };
    Some(if missing.is_empty() {
        plain
    } else {
        Reason {
            cause: Cause::NotRead,
            stand: Stand::NotMeasured,
            brief: format!("{} not measured yet", are(&missing)),
            to_do: sentence(&format!("read {}", listed(missing.iter().map(|place| format!("the {}", place.words()))))),
            places: missing,
            ..plain
        }
    })
}

/// What an outside shade is sized or cleared by and nobody read or left out: of several widths one alone gives a size, and
/// a shade that passes the opening needs its wall.
fn of_outside(known: &Known<'_>) -> Option<Reason> {
    let opening = known.opening;
    let mounting = known.mounts.advised().filter(|mounting| mounting.form != Form::Inside)?;
    let skipped = |place: Place| opening.skipped.iter().any(|skip| skip.place == place);
    let missing: Vec<Place> = mount::sized_by(mounting.edge)
        .into_iter()
        .filter(|place| opening.standing(*place).next().is_none() && !skipped(*place))
        .collect();
    if missing.is_empty() {
        return None;
    }
    let says = sentence(&format!("{} not measured yet", are(&missing)));
    Some(Reason {
        cause: Cause::NotRead,
        stand: Stand::NotMeasured,
        flag: String::new(),
        brief: format!("{} not measured yet", are(&missing)),
        says,
        to_do: sentence(&format!("read {}", listed(missing.iter().map(|place| format!("the {}", place.words()))))),
        places: missing,
    })
}

/// True where a flag of this kind asks something already; one that is only worth knowing does not.
fn asks(known: &Known<'_>, kind: &str) -> bool {
    known.flags.iter().any(|flag| flag.severity > Severity::Know && flag.code.starts_with(kind))
}

fn of_fixing(known: &Known<'_>) -> Option<Reason> {
    let fixing = known.fixing.filter(|fixing| !fixing.holds)?;
    // Said already by a flag of its own.
    if asks(known, "fixing_") {
        return None;
    }
    let would = fixing.would.join(" ");
    Some(Reason {
        cause: Cause::Fixing,
        stand: Stand::Decide,
        flag: String::new(),
        places: Vec::new(),
        brief: "its fixing does not hold".to_owned(),
        says: fixing.fails.join(" "),
        to_do: if would.is_empty() { "Choose another board, bracket or place.".to_owned() } else { would },
    })
}

fn of_lift(known: &Known<'_>) -> Option<Reason> {
    let made = known.makeup?.ok()?;
    if asks(known, "lift_") {
        return None;
    }
    let lifted = made.weight.lifted / GRAMS_PER_POUND;
    let lift = known.opening.choices.lift;
    let offers = fixing::lifts(lifted, known.catalogue);
    let of_choice = || offers.iter().filter(|offer| offer.kind.lift == lift);
    if of_choice().count() == 0 || of_choice().any(|offer| offer.lifts) {
        return None;
    }
    let most = of_choice().map(|offer| offer.kind.lifts_lbf).fold(0.0, f64::max);
    let force = |lbf: f64| fixing::shown_force(lbf, known.unit);
    let others: Vec<String> = offers.iter().filter(|offer| offer.lifts).map(|offer| offer.kind.name.clone()).collect();
    Some(Reason {
        cause: Cause::Lift,
        stand: Stand::Decide,
        flag: String::new(),
        places: Vec::new(),
        brief: "the shade is too heavy for its lift".to_owned(),
        says: format!("The lift must raise {}, and the strongest of its kind raises {}.", force(lifted), force(most)),
        to_do: if others.is_empty() {
            "Make the shade lighter, or in two parts.".to_owned()
        } else {
            format!("Choose a lift that raises it: {}.", listed(others))
        },
    })
}

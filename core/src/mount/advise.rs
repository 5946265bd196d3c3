//! Which way of mounting is advised, and shades of one room that nearly agree.

use super::{Form, Mounting, Refusal};
use crate::flag::{Flag, Severity};
use crate::house::{Attach, Choices, Mount, Place};
use crate::length::{Length, LengthUnit};
use crate::settings::Settings;

/// The advised form and why. `lean` is how far the opening leans over its height, without sign.
pub(super) fn advise(
    choices: &Choices,
    can: &[Mounting],
    cannot: &[Refusal],
    lean: Option<Length>,
    settings: &Settings,
    unit: LengthUnit,
) -> (Option<Form>, String) {
    let get = |form: Form| can.iter().find(|mounting| mounting.form == form);
    // Of both outside forms the one that stands out less: less light at the sides. Flush when they are the same.
    let outside = || {
        [Form::OutsideFlush, Form::OutsideBrackets]
            .into_iter()
            .filter_map(get)
            .min_by_key(|mounting| mounting.projection)
            .map(|mounting| mounting.form)
    };
    let refused = |form: Form| cannot.iter().find(|refusal| refusal.form == form).map(|refusal| refusal.why.as_str());

    if let Some(mount) = choices.mount {
        let wanted = match (mount, choices.attach) {
            (Mount::Inside, _) => get(Form::Inside).map(|mounting| mounting.form),
            (Mount::Outside, Some(Attach::Flush)) => get(Form::OutsideFlush).map(|mounting| mounting.form),
            (Mount::Outside, Some(Attach::Brackets)) => get(Form::OutsideBrackets).map(|mounting| mounting.form),
            (Mount::Outside, None) => outside(),
        };
        if let Some(form) = wanted {
            let why = match (mount, choices.attach) {
                (Mount::Outside, None) => match (form, refused(Form::OutsideFlush)) {
                    (Form::OutsideBrackets, Some(why)) => {
                        format!("an outside mount was chosen; flush cannot be: {why}")
                    }
                    (Form::OutsideBrackets, None) => {
                        "an outside mount was chosen; on brackets it stands out least, with the least light at the sides"
                            .to_owned()
                    }
                    _ => "an outside mount was chosen; flush stands out least, with the least light at the sides and no bracket"
                        .to_owned(),
                },
                _ => "it was chosen".to_owned(),
            };
            return (Some(form), why);
        }
        let tried = match (mount, choices.attach) {
            (Mount::Inside, _) => Form::Inside,
            (Mount::Outside, Some(Attach::Flush)) => Form::OutsideFlush,
            (Mount::Outside, _) => Form::OutsideBrackets,
        };
        let why = refused(tried).unwrap_or("it was not worked");
        let other = can.first().map(|mounting| mounting.form);
        return (other, format!("{} was chosen and cannot be: {why}", tried.words()));
    }

    let inside = get(Form::Inside);
    let (Some(inside), outside) = (inside, outside()) else {
        let why = refused(Form::Inside).unwrap_or("it was not worked");
        return match outside() {
            Some(form) => (Some(form), format!("an inside mount cannot be: {why}")),
            None => (None, format!("no way can be; inside: {why}")),
        };
    };
    let Some(outside) = outside else {
        return (Some(Form::Inside), "no outside mount can be".to_owned());
    };
    if choices.dark {
        return (
            Some(outside),
            "light must be kept out, and outside the shade passes the opening at each side".to_owned(),
        );
    }
    if let Some(lean) = lean
        && lean >= settings.lean_advises_outside
    {
        let why = format!("the opening leans by about {}, and inside the gaps would show it", near(lean, unit));
        return (Some(outside), why);
    }
    if inside.proud > Length::ZERO {
        let why = format!("inside the board would stand {} proud", inside.proud.show_marked(unit));
        return (Some(outside), why);
    }
    (Some(Form::Inside), "it fits flush within the opening, and nothing about the opening speaks against it".to_owned())
}

/// An estimate as a person reads it, to the grain of a tape.
fn near(length: Length, unit: LengthUnit) -> String {
    use crate::length::{Direction, Grain};
    length.round(Grain::of_tape(unit), Direction::Nearest).show_marked(unit)
}

/// What is compared of the shades of one room.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Alike {
    /// The opening's name.
    pub name: String,
    /// How it is mounted.
    pub form: Form,
    /// Its finished length.
    pub length: Length,
    /// The top of its board above the floor, where the readings tell.
    pub head: Option<Length>,
}

/// Flags pairs of shades in one room whose lengths or heads nearly agree, so that the maker decides whether they are
/// made equal. Pairs that agree exactly, or that plainly differ, are left alone.
pub fn alike(room: &[Alike], settings: &Settings, unit: LengthUnit) -> Vec<Flag> {
    let nearly = |a: Length, b: Length| {
        let apart = (a - b).abs();
        (apart > Length::ZERO && apart <= settings.pair_difference).then_some(apart)
    };
    let mut flags = Vec::new();
    for (i, a) in room.iter().enumerate() {
        for b in &room[i + 1..] {
            let inside = |shade: &Alike| shade.form == Form::Inside;
            if inside(a) != inside(b) {
                continue;
            }
            if let Some(apart) = nearly(a.length, b.length) {
                flags.push(Flag::new(
                    "pair_lengths_differ",
                    Severity::Decide,
                    &[],
                    format!(
                        "{} is to be {} long and {} {}: they differ by {}, and hang in one room.",
                        a.name,
                        a.length.show_marked(unit),
                        b.name,
                        b.length.show_marked(unit),
                        apart.show_marked(unit)
                    ),
                    "Decide whether they are made to one length; inside mounts go by the shorter.",
                ));
            }
            if let (Some(one), Some(other)) = (a.head, b.head)
                && let Some(apart) = nearly(one, other)
            {
                flags.push(Flag::new(
                    "pair_heads_differ",
                    Severity::Decide,
                    &[Place::SillToFloor],
                    format!(
                        "The heads of {} and {} stand {} apart in height, and hang in one room.",
                        a.name,
                        b.name,
                        apart.show_marked(unit)
                    ),
                    "Decide whether they hang at one height; outside, one can be fixed higher.",
                ));
            }
        }
    }
    flags
}

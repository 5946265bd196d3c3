//! Which way of mounting is advised, and shades of one room that nearly agree.

use super::{Form, Mounting, Refusal};
use crate::house::{Attach, Choices, Mount};
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
        outside_forms(choices.attach)
            .iter()
            .filter_map(|form| get(*form))
            .min_by_key(|mounting| mounting.projection)
            .map(|mounting| mounting.form)
    };
    let refused = |form: Form| cannot.iter().find(|refusal| refusal.form == form).map(|refusal| refusal.why.as_str());

    if let Some(mount) = choices.mount {
        let wanted = match (mount, choices.attach) {
            (Mount::Inside, _) => get(Form::Inside).map(|mounting| mounting.form),
            (Mount::Outside, Some(Attach::Flush)) => get(Form::OutsideFlush).map(|mounting| mounting.form),
            (Mount::Outside, Some(Attach::Brackets)) => get(Form::OutsideBrackets).map(|mounting| mounting.form),
            (Mount::Outside, Some(Attach::Ceiling)) => get(Form::OutsideCeiling).map(|mounting| mounting.form),
            (Mount::Outside, Some(Attach::Face)) => get(Form::OutsideFace).map(|mounting| mounting.form),
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
                    (Form::OutsideCeiling | Form::OutsideFace, _) => {
                        format!("an outside mount was chosen; {} it stands out least", form.words())
                    }
                    _ => "an outside mount was chosen; flush stands out least, with the least light at the sides and no bracket"
                        .to_owned(),
                },
                _ => "your choice".to_owned(),
            };
            return (Some(form), why);
        }
        // What was chosen is never put aside for another: there is no size until a person chooses what can be.
        let mut whys: Vec<String> = Vec::new();
        for form in chosen(choices) {
            // A ceiling or a beam that nobody measured was not worked, and is no reason.
            let why = match (refused(*form), choices.attach) {
                (None, None) => continue,
                (why, _) => why.unwrap_or("it was not worked").to_owned(),
            };
            if !whys.contains(&why) {
                whys.push(why);
            }
        }
        let what = match chosen(choices) {
            [one] => one.words(),
            _ => "an outside mount",
        };
        return (None, format!("{what} was chosen and cannot be: {}", whys.join("; ")));
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

/// The outside forms that the choice of how the board is held leaves.
const fn outside_forms(attach: Option<Attach>) -> &'static [Form] {
    match attach {
        None => &[Form::OutsideFlush, Form::OutsideBrackets, Form::OutsideFace, Form::OutsideCeiling],
        Some(Attach::Flush) => &[Form::OutsideFlush],
        Some(Attach::Brackets) => &[Form::OutsideBrackets],
        Some(Attach::Ceiling) => &[Form::OutsideCeiling],
        Some(Attach::Face) => &[Form::OutsideFace],
    }
}

/// The forms that were chosen; none where the mount is left to advice.
pub(super) const fn chosen(choices: &Choices) -> &'static [Form] {
    match choices.mount {
        None => &[],
        Some(Mount::Inside) => &[Form::Inside],
        Some(Mount::Outside) => outside_forms(choices.attach),
    }
}

/// An estimate as a person reads it, to the grain of a tape.
fn near(length: Length, unit: LengthUnit) -> String {
    use crate::length::{Direction, Grain};
    length.round(Grain::of_tape(unit), Direction::Nearest).show_marked(unit)
}

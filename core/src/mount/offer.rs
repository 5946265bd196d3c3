//! What would work where a chosen mount cannot be: other choices, each tried before it is offered.

use super::{Behind, Catalogue, Form, Mounts, work_before};
use crate::house::{Attach, BoardSize, Choices, Foot, Mount, Opening, Place};
use crate::length::{Direction, Grain, Length, LengthUnit, Typed};
use crate::settings::Settings;
use crate::truth::{Readings, Truth, stand};

/// Choices that would work, one touch each.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Offer {
    /// What it chooses, and the size that it gives: "A 2x2 board: 42 x 63 3/4, outside, board flush on the wall".
    pub words: String,
    /// The fields and values that it sets; no value puts a field back to its default.
    pub fields: Vec<(&'static str, Option<String>)>,
    /// How it would be mounted.
    pub form: Form,
    /// The finished width then.
    pub width: Length,
    /// The finished length then.
    pub length: Length,
}

/// One way to choose otherwise.
struct Other {
    words: String,
    fields: Vec<(&'static str, Option<String>)>,
    choices: Choices,
}

/// The choices that would work where the mount that was chosen cannot be: those that keep the mount first, then another
/// way of holding it, then the other mount. Each was worked out. Empty when the mount can be, or none was chosen.
pub fn offers(
    opening: &Opening,
    behind: Option<Behind>,
    truth: &Truth,
    mounts: &Mounts,
    settings: &Settings,
    catalogue: &Catalogue,
    unit: LengthUnit,
) -> Vec<Offer> {
    if mounts.advised.is_some() || mounts.chosen.is_empty() {
        return Vec::new();
    }
    let readings = Readings::of(opening, &[], unit);
    let mut found: Vec<Offer> = Vec::new();
    for other in others(opening, &readings, settings, catalogue, unit) {
        let otherwise = Opening { choices: other.choices, ..opening.clone() };
        let worked = work_before(&otherwise, behind, truth, settings, catalogue, unit);
        let Some(mounting) = worked.advised() else { continue };
        found.push(Offer {
            words: format!(
                "{}: {} x {}, {}",
                other.words,
                mounting.width.total.show(unit),
                mounting.length.total.show(unit),
                mounting.form.words()
            ),
            fields: other.fields,
            form: mounting.form,
            width: mounting.width.total,
            length: mounting.length.total,
        });
    }
    found
}

fn others(
    opening: &Opening,
    readings: &Readings,
    settings: &Settings,
    catalogue: &Catalogue,
    unit: LengthUnit,
) -> Vec<Other> {
    let now = &opening.choices;
    let mut all = Vec::new();
    let mut add = |words: String, fields: Vec<(&'static str, Option<String>)>, choices: Choices| {
        all.push(Other { words, fields, choices });
    };
    let board = |size: Option<BoardSize>| Choices { board: size, ..now.clone() };
    for size in catalogue.usual_boards().map(|board| board.size).filter(|size| now.board != Some(*size)) {
        let fields = vec![("choices.board", Some(size.name()))];
        add(format!("A {} board", size.name()), fields, board(Some(size)));
    }
    let outside = now.mount == Some(Mount::Outside);
    if outside {
        let brackets = catalogue.brackets.iter().filter(|bracket| now.bracket.as_deref() != Some(&bracket.name));
        for bracket in brackets.filter(|_| matches!(now.attach, None | Some(Attach::Brackets))) {
            let fields = vec![("choices.bracket", Some(bracket.name.clone()))];
            let choices = Choices { bracket: Some(bracket.name.clone()), ..now.clone() };
            add(format!("The bracket {}", bracket.name), fields, choices);
        }
        for height in heights(readings, settings, catalogue, unit) {
            let typed = Typed::exact(height, unit);
            let fields = vec![("choices.above_trim", Some(height.show_marked(unit)))];
            let words = if height.is_negative() {
                format!("Fixed on the flat trim, {} below its top", (-height).show_marked(unit))
            } else {
                format!("Fixed {} above the trim", height.show_marked(unit))
            };
            add(words, fields, Choices { above_trim: Some(typed), ..now.clone() });
        }
        let walls = [Place::WallLeft, Place::WallRight];
        let beside = walls.iter().filter_map(|place| Some(stand(readings, *place, settings.repeat_spread)?.value()));
        if let Some(least) = beside.min() {
            let fields = vec![("choices.side_overlap", Some(least.show_marked(unit)))];
            let choices = Choices { side_overlap: Some(Typed::exact(least, unit)), ..now.clone() };
            add(format!("{} past the trim at each side", least.show_marked(unit)), fields, choices);
        }
        for (foot, code, words) in [
            (Foot::Sill, "sill", "Down to the sill"),
            (Foot::Apron, "apron", "Down to the bottom of the apron"),
            (Foot::Floor, "floor", "Down to the floor"),
        ] {
            if now.foot != foot {
                let fields = vec![("choices.foot", Some(code.to_owned()))];
                add(words.to_owned(), fields, Choices { foot, ..now.clone() });
            }
        }
    }
    // Another way of holding it: what was chosen of board and bracket is left to it.
    let free = Choices { board: None, bracket: None, attach: None, ..now.clone() };
    let unset = |name: &'static str, was: bool| was.then_some((name, None));
    let cleared = || {
        let fields = [unset("choices.board", now.board.is_some()), unset("choices.bracket", now.bracket.is_some())];
        fields.into_iter().flatten().collect::<Vec<_>>()
    };
    if now.packing.is_some() {
        let fields = vec![("choices.packing", None)];
        add("Packing as it is worked out".to_owned(), fields, Choices { packing: None, ..now.clone() });
    }
    for (attach, code, words) in [
        (Attach::Flush, "flush", "Outside, flush"),
        (Attach::Brackets, "brackets", "Outside, on brackets"),
        (Attach::Ceiling, "ceiling", "Outside, under the ceiling"),
        (Attach::Face, "face", "Outside, on the face of a beam or frame"),
    ] {
        if !outside || now.attach.is_some_and(|held| held != attach) {
            let mut fields =
                vec![("choices.mount", Some("outside".to_owned())), ("choices.attach", Some(code.to_owned()))];
            fields.extend(cleared());
            let choices = Choices { mount: Some(Mount::Outside), attach: Some(attach), ..free.clone() };
            add(words.to_owned(), fields, choices);
        }
    }
    if outside {
        let mut fields = vec![("choices.mount", Some("inside".to_owned()))];
        fields.extend(unset("choices.attach", now.attach.is_some()));
        fields.extend(cleared());
        add("Inside".to_owned(), fields, Choices { mount: Some(Mount::Inside), ..free });
    }
    all
}

/// Heights of the fixing that are tried: at the trim's top, as high as the wall above leaves room for each board and
/// bracket, and on the trim by the height of each board where its leg is that wide.
fn heights(readings: &Readings, settings: &Settings, catalogue: &Catalogue, unit: LengthUnit) -> Vec<Length> {
    let at = |place: Place| stand(readings, place, settings.repeat_spread).map(|stand| stand.value());
    let grain = Grain::of_tape(unit);
    let adds = catalogue.usual_boards().map(|board| board.width).chain(
        catalogue
            .brackets
            .iter()
            .flat_map(|bracket| catalogue.usual_boards().map(move |board| bracket.leg + board.thickness)),
    );
    let mut heights = vec![Length::ZERO];
    for add in adds {
        heights.extend(at(Place::WallAbove).map(|above| (above - add).round(grain, Direction::Down)));
        heights.extend(at(Place::TrimLeg).filter(|leg| *leg >= add).map(|_| -add));
    }
    heights.sort_unstable_by_key(|height| (height.is_negative(), height.abs()));
    heights.dedup();
    // The wall is asked for no more than is tried: a height on the trim lies within its leg.
    heights.retain(|height| !height.is_negative() || at(Place::TrimLeg).is_some_and(|leg| -*height <= leg));
    heights
}

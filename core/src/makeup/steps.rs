//! The work in the order it is done, one line a step, with this shade's own numbers: for boxes to tick.

use super::{Makeup, Material, Part, StickUse};
use crate::flag::listed;
use crate::house::Style;
use crate::length::{Length, LengthUnit};

/// The steps of making one shade.
pub fn steps(shade: &Makeup, unit: LengthUnit) -> Vec<String> {
    let show = |length: Length| length.show_marked(unit);
    let folds = &shade.folds;
    let mut steps = Vec::new();
    for cut in &shade.cuts {
        steps.push(format!(
            "Cut the {}: {} wide, {} long, of {}",
            cut.part.words(),
            show(cut.width),
            show(cut.length),
            cut.material.words()
        ));
    }
    for stick in &shade.sticks {
        steps.push(match stick.count {
            1 => format!("Cut the {}: {}", stick.part.words(), show(stick.length)),
            n => format!("Cut {n} {}s: {} each", stick.part.words(), show(stick.length)),
        });
    }
    steps.push(format!("Turn back and press both sides of the face, to {} finished", show(shade.width)));
    if shade.cut(Part::Interlining).is_some() {
        steps.push("Lay the interlining in the folds of the side turnings and catch it down".to_owned());
    }
    match shade.style {
        Style::FlatRibbed => steps.push(format!(
            "Mark and sew {} rib pockets on the lining, at {} from its top edge",
            shade.grid.rows.len(),
            list(shade.grid.rows.iter().map(|row| row.on_lining.mark), unit)
        )),
        Style::Tucked => steps.push(format!(
            "Mark the tucks on the face, at {} from its top edge; stitch each {} deep",
            list(shade.grid.rows.iter().map(|row| row.on_face.mark), unit),
            show(folds.tuck.split(2, 1))
        )),
        Style::Looped => steps.push(format!(
            "Mark the rows on the face, at {} from its top edge; tack each to its row on the lining, so that {} of each loop hangs free",
            list(shade.grid.rows.iter().map(|row| row.on_face.mark), unit),
            show(folds.loop_extra)
        )),
        Style::Flat | Style::Relaxed => {}
    }
    if shade.cuts.iter().any(|cut| cut.part == Part::Lining && cut.material == Material::Lining) {
        steps.push("Turn under the sides of the lining, centre it on the face and sew it down both sides".to_owned());
    }
    if shade.style == Style::Relaxed {
        steps.push("Face the foot and press its curve".to_owned());
    } else {
        steps.push(format!(
            "Turn up the foot and sew the pocket of the bar, hem at {} from the head",
            show(shade.length)
        ));
    }
    steps.push(format!(
        "Mark {} rows of rings from the hem: {}",
        shade.grid.rows.len(),
        list(shade.grid.rows.iter().rev().map(|row| row.from_hem.mark), unit)
    ));
    steps.push(format!(
        "Mark {} columns from the left edge: {}",
        shade.grid.columns.len(),
        list(shade.grid.columns.iter().map(|column| column.from_left.mark), unit)
    ));
    steps.push(format!("Sew {} rings through to the face, the lowest row knotted twice", shade.rings()));
    if shade.stick(StickUse::Rib).is_some() {
        steps.push("Slide in the ribs and close their pockets".to_owned());
    }
    if shade.stick(StickUse::Bar).is_some() {
        steps.push("Slide in the bottom bar and close its pocket".to_owned());
    }
    steps.push(
        "Cover the board; square the shade to its front edge at the head line and staple from the middle out"
            .to_owned(),
    );
    if shade.cut(Part::Valance).is_some() {
        steps.push("Line and hem the valance, and staple it over the shade".to_owned());
    }
    steps.push(format!(
        "Set {} screw eyes in the foot of the board, from its left end: {}",
        shade.grid.columns.len(),
        list(shade.grid.columns.iter().map(|column| column.on_board.mark), unit)
    ));
    for runs in shade.cords.alike() {
        let numbers = listed(runs.iter().map(|run| run.column.to_string()));
        steps.push(match runs[..] {
            [run] => format!("Cut cord {numbers} to {} and thread it", show(run.total)),
            _ => format!("Cut cords {numbers} to {} each and thread them", show(runs[0].total)),
        });
    }
    steps.push("Hang it on the bench: level it, set the knots, raise and lower it three times".to_owned());
    steps
}

fn list(marks: impl Iterator<Item = Length>, unit: LengthUnit) -> String {
    marks.map(|mark| mark.show(unit)).collect::<Vec<_>>().join(", ")
}

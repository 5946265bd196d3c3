//! The drawing of an opening as lines in a box of 1000 by 1000: where the tape goes, and what was read where.

use super::screen::{Drawing, Ink, MarkKind, PenLine, PenMark, PenWords};
use crate::house::{HeadShape, Opening, Place, Reading};
use uuid::Uuid;

// The opening, its trim and its sill, in the box. A picture, not to scale: what is read is written beside it.
const LEFT: i32 = 300;
const RIGHT: i32 = 700;
const HEAD: i32 = 220;
const SILL: i32 = 720;
const TRIM: i32 = 50;
const SILL_PAST: i32 = 40;
const FLOOR: i32 = 960;
const WALL: i32 = 30;
// An arch or a slope stands this far above where the jambs end.
const RISE: i32 = 40;

/// Where the tape lies at a place: from (hook) to (read), both in the box.
const fn tape(place: Place) -> ((i32, i32), (i32, i32)) {
    let (across, down) = (i32::midpoint(LEFT, RIGHT), i32::midpoint(HEAD, SILL));
    let quarter = (SILL - HEAD) / 4;
    match place {
        Place::WidthTop => ((LEFT, HEAD + 30), (RIGHT, HEAD + 30)),
        Place::WidthUpper => ((LEFT, HEAD + quarter), (RIGHT, HEAD + quarter)),
        Place::WidthMiddle => ((LEFT, down), (RIGHT, down)),
        Place::WidthLower => ((LEFT, SILL - quarter), (RIGHT, SILL - quarter)),
        Place::WidthBottom => ((LEFT, SILL - 30), (RIGHT, SILL - 30)),
        Place::HeightLeft => ((LEFT + 30, SILL), (LEFT + 30, HEAD)),
        Place::HeightCentre => ((across, SILL), (across, HEAD)),
        Place::HeightRight => ((RIGHT - 30, SILL), (RIGHT - 30, HEAD)),
        Place::DiagonalRising => ((LEFT, SILL), (RIGHT, HEAD)),
        Place::DiagonalFalling => ((LEFT, HEAD), (RIGHT, SILL)),
        Place::LevelHead => ((LEFT, HEAD + 12), (RIGHT, HEAD + 12)),
        Place::LevelSill => ((LEFT, SILL - 12), (RIGHT, SILL - 12)),
        Place::PlumbLeft => ((LEFT + 12, SILL), (LEFT + 12, HEAD)),
        Place::PlumbRight => ((RIGHT - 12, SILL), (RIGHT - 12, HEAD)),
        Place::Depth => ((RIGHT, down + 60), (RIGHT - 90, down)),
        Place::PostFirst => ((LEFT, HEAD + 100), (LEFT + 150, HEAD + 100)),
        Place::PostSecond => ((LEFT, HEAD + 150), (LEFT + 270, HEAD + 150)),
        Place::DepthLeft => ((LEFT, down + 60), (LEFT + 90, down)),
        Place::DepthRight => ((RIGHT, down - 60), (RIGHT - 90, down - 120)),
        Place::HeadRise => ((across, HEAD), (across, HEAD - RISE)),
        Place::SashTop => ((across - 90, SILL), (across - 90, HEAD + 60)),
        Place::SashIn => ((across - 60, HEAD + 60), (across + 60, HEAD + 130)),
        Place::ProudHeight => ((across + 60, SILL), (across + 60, down)),
        Place::TrimWidth => ((LEFT - TRIM, HEAD - TRIM - 25), (RIGHT + TRIM, HEAD - TRIM - 25)),
        Place::TrimHeight => ((LEFT - TRIM - 25, SILL), (LEFT - TRIM - 25, HEAD - TRIM)),
        Place::TrimLeg => ((LEFT - TRIM, down), (LEFT, down)),
        Place::TrimThickness => ((RIGHT + TRIM, down - 60), (RIGHT + TRIM + 70, down - 100)),
        Place::ProudMost => ((across, down), (across + 110, down - 60)),
        Place::SillOut => ((across, SILL), (across + 80, SILL + 50)),
        Place::SillPast => ((RIGHT + TRIM, SILL + 40), (RIGHT + TRIM + SILL_PAST, SILL + 40)),
        Place::SillToApronFoot => ((LEFT + 60, SILL), (LEFT + 60, SILL + 70)),
        Place::SillToFloor => ((across, SILL), (across, FLOOR)),
        Place::SillToStop => ((across + 60, SILL), (across + 60, FLOOR - 90)),
        Place::WallAbove => ((across, HEAD - TRIM), (across, WALL)),
        Place::CeilingToSill => ((across + 120, SILL), (across + 120, WALL)),
        Place::FaceAbove => ((across - 60, HEAD), (across - 60, HEAD - TRIM)),
        Place::FaceOut => ((LEFT, HEAD - TRIM / 2), (LEFT + 70, HEAD - TRIM / 2 - 40)),
        Place::WallLeft => ((LEFT - TRIM, down + 60), (WALL, down + 60)),
        Place::WallRight => ((RIGHT + TRIM, down + 60), (1000 - WALL, down + 60)),
    }
}

const fn line(x1: i32, y1: i32, x2: i32, y2: i32, ink: Ink) -> PenLine {
    PenLine { x1, y1, x2, y2, ink }
}

fn frame(opening: &Opening, lines: &mut Vec<PenLine>) {
    let mut around = |x1, y1, x2, y2| lines.push(line(x1, y1, x2, y2, Ink::Around));
    if !opening.wall.no_trim {
        around(LEFT - TRIM, SILL, LEFT - TRIM, HEAD - TRIM);
        around(LEFT - TRIM, HEAD - TRIM, RIGHT + TRIM, HEAD - TRIM);
        around(RIGHT + TRIM, HEAD - TRIM, RIGHT + TRIM, SILL);
    }
    if !opening.wall.no_sill {
        let (from, to) = (LEFT - TRIM - SILL_PAST, RIGHT + TRIM + SILL_PAST);
        around(from, SILL, to, SILL);
        around(from, SILL, from, SILL + 20);
        around(to, SILL, to, SILL + 20);
        around(from, SILL + 20, to, SILL + 20);
    }
    around(WALL, FLOOR, 1000 - WALL, FLOOR);
    let mut edge = |x1, y1, x2, y2| lines.push(line(x1, y1, x2, y2, Ink::Edge));
    let across = i32::midpoint(LEFT, RIGHT);
    match opening.wall.head_shape {
        HeadShape::Level => edge(LEFT, HEAD, RIGHT, HEAD),
        HeadShape::Arched => {
            // Chords of a flat arch.
            let chords = [(LEFT, HEAD), (LEFT + 70, HEAD - 22), (LEFT + 140, HEAD - 36), (across, HEAD - RISE)];
            for pair in chords.windows(2) {
                let [(x1, y1), (x2, y2)] = [pair[0], pair[1]];
                edge(x1, y1, x2, y2);
                edge(LEFT + RIGHT - x1, y1, LEFT + RIGHT - x2, y2);
            }
        }
        HeadShape::Sloped => {
            let height = |place: Place| opening.standing(place).last().map(Reading::value);
            if height(Place::HeightLeft) > height(Place::HeightRight) {
                edge(LEFT, HEAD - RISE, RIGHT, HEAD);
            } else {
                edge(LEFT, HEAD, RIGHT, HEAD - RISE);
            }
        }
    }
    edge(RIGHT, HEAD, RIGHT, SILL);
    edge(RIGHT, SILL, LEFT, SILL);
    edge(LEFT, SILL, LEFT, HEAD);
}

/// Degrees clockwise from right, to the nearest 45: as near as an arrow head needs.
const fn turn((x1, y1): (i32, i32), (x2, y2): (i32, i32)) -> i32 {
    let (x, y) = ((x2 - x1).signum(), (y2 - y1).signum());
    match (x, y) {
        (1, 1) => 45,
        (0, 1) => 90,
        (-1, 1) => 135,
        (-1, 0) => 180,
        (-1, -1) => 225,
        (0, -1) => 270,
        (1, -1) => 315,
        _ => 0,
    }
}

/// Where the tape goes at one place, on an opening that is nobody's.
pub fn place_drawing(place: Place) -> Drawing {
    draw(&Opening::new(Uuid::nil(), String::new()), Some(place), &[], false)
}

/// What was read at each place, the place to read now, and the places in doubt.
pub(super) fn draw(opening: &Opening, lit: Option<Place>, doubtful: &[Place], values: bool) -> Drawing {
    let mut drawing = Drawing::default();
    frame(opening, &mut drawing.lines);
    let mut spoken = Vec::new();
    let lit_last = Place::ALL.iter().filter(|place| Some(**place) != lit).chain(lit.as_ref());
    for place in lit_last.copied() {
        let reading = opening.standing(place).last();
        let is_lit = Some(place) == lit;
        if reading.is_none() && !is_lit {
            continue;
        }
        let ink = if is_lit {
            Ink::Lit
        } else if doubtful.contains(&place) {
            Ink::Doubt
        } else {
            Ink::Read
        };
        let (hook, read) = tape(place);
        drawing.lines.push(line(hook.0, hook.1, read.0, read.1, ink));
        if is_lit {
            spoken.push(format!("The {} is lit.", place.words()));
            drawing.marks.push(PenMark { x: hook.0, y: hook.1, turn: turn(read, hook), kind: MarkKind::Hook, ink });
            drawing.marks.push(PenMark { x: read.0, y: read.1, turn: turn(hook, read), kind: MarkKind::Arrow, ink });
        }
        if let Some(reading) = reading
            && (values || is_lit)
        {
            // A third along, so that the labels of crossing tapes stand apart.
            let (x, y) = ((2 * hook.0 + read.0) / 3, (2 * hook.1 + read.1) / 3);
            drawing.labels.push(PenWords { x, y, text: reading.typed.text().to_owned(), ink });
        }
    }
    if lit.is_none() {
        let read = Place::ALL.iter().filter(|place| opening.standing(**place).next().is_some()).count();
        spoken.push(format!("The opening with {read} {} read.", if read == 1 { "place" } else { "places" }));
    }
    drawing.spoken = spoken.join(" ");
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_lies_in_the_box_and_none_on_another() {
        let mut seen = std::collections::BTreeSet::new();
        for place in Place::ALL {
            let (hook, read) = tape(*place);
            for n in [hook.0, hook.1, read.0, read.1] {
                assert!((0..=1000).contains(&n), "{place:?}");
            }
            assert_ne!(hook, read, "{place:?}");
            assert!(seen.insert((hook, read)), "{place:?} is drawn over another");
            let drawing = draw(&Opening::new(Uuid::nil(), String::new()), Some(*place), &[], false);
            assert_eq!(drawing.lines.iter().filter(|line| line.ink == Ink::Lit).count(), 1);
            assert_eq!(drawing.marks.len(), 2);
        }
    }
}

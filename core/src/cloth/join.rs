//! From a cut that is wanted to the pieces it is made of: one, or a full width in the centre with equal parts at its
//! sides, or, turned, bands that meet at fold lines. Each piece is held to the places where its pattern meets.

use super::pack::{Held, Piece, Way};
use super::{Bolt, ClothProblem, PartOf, Want};
use crate::house::Match;
use crate::length::{Direction, Length};

/// A piece before it has a place.
pub(super) struct Part {
    pub(super) of: PartOf,
    pub(super) piece: Piece,
    /// Whether each way is turned.
    pub(super) turned: Vec<bool>,
}

/// Widths of the upright pieces: the centre, and each side from the centre out.
struct Widths {
    centre: Length,
    sides: Vec<Length>,
}

/// The pieces of one cut.
pub(super) fn parts(bolt: &Bolt, want: &Want) -> Result<Vec<Part>, ClothProblem> {
    let can_turn = bolt.turns(want);
    if want.width <= bolt.usable {
        let mut ways = vec![upright(bolt, want, want.width, 0, centred(bolt, want))];
        let mut turned = vec![false];
        let across = lying(bolt, want, Length::ZERO, want.length);
        if can_turn && want.length != want.width && across.fits(bolt.usable.nm()) {
            ways.push(across);
            turned.push(true);
        }
        return Ok(vec![Part { of: PartOf::Whole, piece: Piece { ways }, turned }]);
    }
    let joined = widths(bolt, want);
    let fits = |bands: &Vec<(Length, Length)>| {
        bands.iter().all(|&(from_top, height)| lying(bolt, want, from_top, height).fits(bolt.usable.nm()))
    };
    let bands = if can_turn { bands(bolt, want).filter(fits) } else { None };
    match (joined, bands) {
        (Ok(widths), Some(bands)) if bands.len() - 1 < widths.sides.len() * 2 => Ok(turned_bands(bolt, want, &bands)),
        (Ok(widths), _) => Ok(upright_joined(bolt, want, &widths)),
        (Err(_), Some(bands)) => Ok(turned_bands(bolt, want, &bands)),
        (Err(problem), None) => Err(problem),
    }
}

/// Cloth that a join takes from the usable width on one side. A patterned cloth is printed past its usable width so that
/// the seam lies in the selvage; only a wide horizontal repeat that is known, with no selvage, is cut into.
fn inner_seam(bolt: &Bolt) -> Length {
    let selvage = bolt.width - bolt.usable >= bolt.seam * 2;
    let patterned = bolt.repeat.is_some() || bolt.repeat_across.is_some();
    if selvage || (patterned && bolt.repeat_across.is_none()) { Length::ZERO } else { bolt.seam }
}

fn widths(bolt: &Bolt, want: &Want) -> Result<Widths, ClothProblem> {
    let seam = inner_seam(bolt);
    let shown = bolt.usable - seam * 2;
    // Where the horizontal repeat is known, a side part starts where the pattern goes on: what lies before is lost.
    let lost = match (bolt.repeat_across, want.match_line) {
        (Some(across), Some(_)) => Length::from_nm(shown.nm().rem_euclid(across.nm())),
        _ => Length::ZERO,
    };
    let most = bolt.usable - lost;
    if shown <= Length::ZERO || most <= bolt.seam * 2 || bolt.usable <= bolt.seam * 2 {
        return Err(ClothProblem::new(
            format!("{}, width", want.name),
            format!(
                "a usable width of {} is too narrow to be joined with {} seams",
                bolt.usable.show_marked(bolt.unit),
                bolt.seam.show_marked(bolt.unit)
            ),
            format!("use a cloth {} wide or more", want.width.show_marked(bolt.unit)),
        ));
    }
    let mut side = (want.width - shown).scale(1, 2, Direction::Up);
    let mut sides = Vec::new();
    while side + seam > most {
        sides.push(most);
        side -= most - seam * 2;
    }
    sides.push(side + seam);
    Ok(Widths { centre: bolt.usable, sides })
}

fn upright_joined(bolt: &Bolt, want: &Want, widths: &Widths) -> Vec<Part> {
    let one = |of: PartOf, way: Way| Part { of, piece: Piece { ways: vec![way] }, turned: vec![false] };
    let mut parts = vec![one(PartOf::Centre, upright(bolt, want, widths.centre, 0, Held::Fixed(0)))];
    let seam = inner_seam(bolt).nm();
    let usable = bolt.usable.nm();
    for (i, &width) in widths.sides.iter().enumerate() {
        let number = u32::try_from(i + 1).expect("widths are few");
        let (left, right) = if want.match_line.is_none() || !bolt.is_patterned() {
            (Held::Free, Held::Free)
        } else if let Some(across) = bolt.repeat_across {
            // At each seam line the pattern of one width goes on where that of the other ends.
            (Held::every(2 * seam - width.nm(), across.nm()), Held::every(usable - 2 * seam, across.nm()))
        } else {
            (Held::Fixed(usable - width.nm()), Held::Fixed(0))
        };
        parts.push(one(PartOf::Left(number), upright(bolt, want, width, number, left)));
        parts.push(one(PartOf::Right(number), upright(bolt, want, width, number, right)));
    }
    parts
}

/// A piece whose pattern stands in the middle of the cloth's own.
fn centred(bolt: &Bolt, want: &Want) -> Held {
    match bolt.repeat_across {
        Some(across) if want.match_line.is_some() => {
            Held::every((bolt.usable - want.width).nm().div_euclid(2), across.nm())
        }
        _ => Held::Free,
    }
}

/// A piece as it hangs, `from_centre` widths away from the centre.
fn upright(bolt: &Bolt, want: &Want, width: Length, from_centre: u32, x: Held) -> Way {
    let y = match (bolt.repeat, want.match_line) {
        (Some(repeat), Some(line)) => {
            let drop = if bolt.matching == Match::HalfDrop { repeat.nm() * i64::from(from_centre) / 2 } else { 0 };
            Held::every(drop - bolt.along(line).nm(), repeat.nm())
        }
        _ => Held::Free,
    };
    Way { w: width.nm(), h: bolt.along(want.length).nm(), x, y }
}

/// A piece turned a quarter: its width runs along the cloth. `from_top` and `height` are of the band it makes.
fn lying(bolt: &Bolt, want: &Want, from_top: Length, height: Length) -> Way {
    let run = bolt.along(want.width);
    let (x, y) = match (bolt.repeat, bolt.repeat_across, want.match_line) {
        (Some(repeat), Some(across), Some(line)) => (
            Held::every((bolt.usable.scale(1, 2, Direction::Down) - (line - from_top)).nm(), across.nm()),
            Held::every(-run.nm().div_euclid(2), repeat.nm()),
        ),
        _ => (Held::Free, Held::Free),
    };
    Way { w: height.nm(), h: run.nm(), x, y }
}

/// The bands of a turned cut from the top: where each starts and how high it is, seams at fold lines. `None` when a band
/// would need a seam where there is no fold line.
fn bands(bolt: &Bolt, want: &Want) -> Option<Vec<(Length, Length)>> {
    let mut bands = Vec::new();
    let mut top = Length::ZERO;
    let mut seam_above = Length::ZERO;
    loop {
        if want.length - top + seam_above <= bolt.usable {
            bands.push((top - seam_above, want.length - top + seam_above));
            return Some(bands);
        }
        let fits = |line: Length| line > top && line - top + seam_above + bolt.seam <= bolt.usable;
        let line = want.fold_lines.iter().copied().filter(|&line| fits(line)).max()?;
        bands.push((top - seam_above, line - top + seam_above + bolt.seam));
        top = line;
        seam_above = bolt.seam;
    }
}

fn turned_bands(bolt: &Bolt, want: &Want, bands: &[(Length, Length)]) -> Vec<Part> {
    bands
        .iter()
        .enumerate()
        .map(|(i, &(from_top, height))| Part {
            of: if bands.len() == 1 {
                PartOf::Whole
            } else {
                PartOf::Band(u32::try_from(i + 1).expect("bands are few"))
            },
            piece: Piece { ways: vec![lying(bolt, want, from_top, height)] },
            turned: vec![true],
        })
        .collect()
}

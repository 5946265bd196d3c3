//! From a cut that is wanted to the pieces it is made of, in every way the cloth allows: one piece; a full width in the
//! centre with equal parts at its sides; or, turned, bands that meet at fold lines.
//!
//! Each seam takes its allowance from both pieces. A selvage takes it where it is at least as wide: then that edge lies
//! in it, and what is kept of it comes off the cloth with the piece. Where the pattern's repeat across is known, each
//! part starts where the pattern of the one before it goes on.

use super::pack::{Held, Piece, Way};
use super::{Bolt, ClothProblem, Edge, PartOf, Seam, Want};
use crate::house::Match;
use crate::length::{Direction, Grain, Length};

/// The most pieces one cut is made of: more is a slip of the hand.
pub(super) const MOST_PARTS: usize = 40;
/// Ways to part a turned cut at its fold lines that are looked at.
const MOST_BANDINGS: usize = 12;

/// A piece before it has a place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Part {
    pub(super) of: PartOf,
    /// Its ways to lie, without what is kept of a selvage: beside a piece that reaches into a selvage nothing lies there.
    pub(super) piece: Piece,
    /// Whether each way is turned.
    pub(super) turned: Vec<bool>,
    /// What it keeps of the selvages, left and right.
    pub(super) kept: (Length, Length),
}

/// One way to make a cut.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Joined {
    pub(super) parts: Vec<Part>,
    /// The seams between them, [`Seam::want`] left at 0.
    pub(super) seams: Vec<Seam>,
}

/// Every way to make a cut, the one with the fewest seams first.
pub(super) fn ways(bolt: &Bolt, want: &Want) -> Result<Vec<Joined>, ClothProblem> {
    let can_turn = bolt.turns(want);
    if want.width <= bolt.usable {
        let mut lie = vec![upright(bolt, want, want.width, 0, centred(bolt, want))];
        let mut turned = vec![false];
        let across = lying(bolt, want, Length::ZERO, want.length);
        if can_turn && want.length != want.width && across.fits(bolt.usable.nm()) {
            lie.push(across);
            turned.push(true);
        }
        let kept = (Length::ZERO, Length::ZERO);
        let whole = Part { of: PartOf::Whole, piece: Piece { ways: lie }, turned, kept };
        return Ok(vec![Joined { parts: vec![whole], seams: Vec::new() }]);
    }
    let mut ways = if can_turn { bandings(bolt, want) } else { Vec::new() };
    match Upright::of(bolt, want) {
        Ok(joined) => ways.push(joined),
        Err(problem) if ways.is_empty() => return Err(problem),
        Err(_) => {}
    }
    ways.sort_by_key(|way| way.seams.len());
    Ok(ways)
}

/// Upright parts being measured: distances across the cloth are from the left of its usable width.
struct Upright<'a> {
    bolt: &'a Bolt,
    want: &'a Want,
    /// How far left an edge that is sewn may lie: into the selvage by a seam, if that is wide enough.
    from: Length,
    /// How far right.
    to: Length,
    /// The pattern's repeat across, where the pattern is matched and its repeat known.
    across: Option<Length>,
}

/// Parts of both sides, from the centre out: how much of each shows, and where its inner seam lies on the cloth.
struct Sides {
    shows: Vec<Length>,
    left: Vec<Length>,
    right: Vec<Length>,
}

/// The seam lines of the centre on the cloth.
#[derive(Clone, Copy)]
struct Lines {
    left: Length,
    right: Length,
}

impl<'a> Upright<'a> {
    fn of(bolt: &'a Bolt, want: &'a Want) -> Result<Joined, ClothProblem> {
        let (left, right) = bolt.selvages();
        let one = Self {
            bolt,
            want,
            from: if left >= bolt.seam { -bolt.seam } else { Length::ZERO },
            to: bolt.usable + if right >= bolt.seam { bolt.seam } else { Length::ZERO },
            across: want.match_line.and(bolt.repeat_across),
        };
        let (lines, sides) = one.share()?;
        Ok(one.parts(lines, &sides))
    }

    /// What a full width shows between two seams.
    fn shown(&self) -> Length {
        self.to - self.from - self.bolt.seam * 2
    }

    fn is_print(&self) -> bool {
        self.want.match_line.is_some() && self.bolt.is_patterned()
    }

    /// The first seam line at or after `from` where the pattern is as at `line`.
    fn goes_on(&self, line: Length, from: Length) -> Length {
        match self.across {
            Some(across) => from + Length::from_nm((line - from).nm().rem_euclid(across.nm())),
            None => from,
        }
    }

    /// Shares the width out: a centre as wide as can be, equal sides on the tape, no part narrower than the least.
    fn share(&self) -> Result<(Lines, Sides), ClothProblem> {
        let seam = self.bolt.seam;
        let shown = self.shown();
        if shown <= Length::ZERO || shown + seam * 2 < self.bolt.least_join {
            return Err(self.too_narrow());
        }
        let grain = Grain::of_tape(self.bolt.unit);
        let least = self.bolt.least_join - seam;
        let half = (self.want.width - shown).scale(1, 2, Direction::Up);
        // A side on the tape: the centre is narrower by what that adds to both.
        let side = half.round(grain, Direction::Up).max(least);
        let centre = self.want.width - side * 2;
        if centre <= Length::ZERO || centre + seam * 2 < self.bolt.least_join {
            return Err(self.too_narrow());
        }
        // A print stays in its middle; a plain width lies to the left.
        let in_from = if self.is_print() {
            (shown - centre).scale(1, 2, Direction::Down).round(grain, Direction::Down)
        } else {
            Length::ZERO
        };
        let left = self.from + seam + in_from;
        let lines = Lines { left, right: left + centre };
        Ok((lines, self.sides(side, lines, least)?))
    }

    /// Parts from the centre out that show `side` in all.
    fn sides(&self, side: Length, lines: Lines, least: Length) -> Result<Sides, ClothProblem> {
        let (seam, usable) = (self.bolt.seam, self.bolt.usable);
        let grain = Grain::of_tape(self.bolt.unit);
        let mut sides = Sides { shows: Vec::new(), left: Vec::new(), right: Vec::new() };
        let Lines { left: mut out_left, right: mut out_right } = lines;
        let mut rest = side;
        loop {
            if sides.shows.len() * 2 + 3 > MOST_PARTS {
                return Err(ClothProblem::new(
                    format!("{}, width", self.want.name),
                    format!(
                        "{} of cloth with {} usable is more than {MOST_PARTS} pieces side by side",
                        self.want.width.show_marked(self.bolt.unit),
                        usable.show_marked(self.bolt.unit)
                    ),
                    format!("a cut is made of at most {MOST_PARTS} pieces: check the width, or use a wider cloth"),
                ));
            }
            let right = self.goes_on(out_right, self.from + seam);
            let left = -self.goes_on(-out_left, seam - self.to);
            sides.left.push(left);
            sides.right.push(right);
            // The outermost part ends in a turning, which lies in the usable width.
            let last = left.min(usable - right);
            if rest <= last {
                sides.shows.push(rest);
                return Ok(sides);
            }
            let full = (left - self.from - seam).min(self.to - seam - right);
            let mut now = if grain.step() < full { full.round(grain, Direction::Down) } else { full };
            if rest - now < least {
                now = rest - least;
            }
            if now <= Length::ZERO || now + seam * 2 < self.bolt.least_join {
                return Err(self.too_narrow());
            }
            sides.shows.push(now);
            out_left = left - now;
            out_right = right + now;
            rest -= now;
        }
    }

    fn too_narrow(&self) -> ClothProblem {
        let show = |length: Length| length.show_marked(self.bolt.unit);
        ClothProblem::new(
            format!("{}, width", self.want.name),
            format!(
                "a usable width of {} is too narrow to be joined with {} seams and no part under {}",
                show(self.bolt.usable),
                show(self.bolt.seam),
                show(self.bolt.least_join)
            ),
            format!("use a cloth {} wide or more", show(self.want.width)),
        )
    }

    fn parts(&self, lines: Lines, sides: &Sides) -> Joined {
        let seam = self.bolt.seam;
        let mut parts = vec![self.part(PartOf::Centre, 0, lines.left - seam, lines.right + seam)];
        let mut seams = Vec::new();
        let mut at_left: Length = sides.shows.iter().copied().sum();
        let mut at_right = self.want.width - at_left;
        let (mut inner_left, mut inner_right) = (PartOf::Centre, PartOf::Centre);
        for (i, &shows) in sides.shows.iter().enumerate() {
            let number = u32::try_from(i + 1).expect("parts are few");
            let outer = if i + 1 < sides.shows.len() { seam } else { Length::ZERO };
            let (left, right) = (sides.left[i], sides.right[i]);
            let (of_left, of_right) = (PartOf::Left(number), PartOf::Right(number));
            parts.push(self.part(of_left, number, left - shows - outer, left + seam));
            parts.push(self.part(of_right, number, right - seam, right + shows + outer));
            let sewn = |at, first, second| Seam {
                want: 0,
                first,
                first_edge: Edge::Right,
                second,
                second_edge: Edge::Left,
                takes: seam,
                at,
            };
            seams.push(sewn(at_left, of_left, inner_left));
            seams.push(sewn(at_right, inner_right, of_right));
            at_left -= shows;
            at_right += shows;
            (inner_left, inner_right) = (of_left, of_right);
        }
        seams.sort_by_key(|seam| seam.at);
        Joined { parts, seams }
    }

    /// A part from `left` to `right` on the cloth, or wherever else it may lie.
    fn part(&self, of: PartOf, number: u32, left: Length, right: Length) -> Part {
        let (bolt, want) = (self.bolt, self.want);
        let kept = ((-left).max(Length::ZERO), (right - bolt.usable).max(Length::ZERO));
        let width = right - left - kept.0 - kept.1;
        let at = left.max(Length::ZERO);
        let in_selvage = kept.0 + kept.1 > Length::ZERO;
        let x = if in_selvage {
            Held::Fixed(at.nm())
        } else if let Some(across) = self.across {
            Held::every(at.nm(), across.nm())
        } else if self.is_print() {
            Held::Fixed(at.nm())
        } else {
            Held::Free
        };
        let way = upright(bolt, want, width, number, x);
        Part { of, piece: Piece { ways: vec![way] }, turned: vec![false], kept }
    }
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

/// The ways to make a turned cut of the fewest bands, seams at fold lines. None when a band would need a seam where there
/// is no fold line, or would not lie on the cloth.
fn bandings(bolt: &Bolt, want: &Want) -> Vec<Joined> {
    let mut lines: Vec<Length> =
        want.fold_lines.iter().copied().filter(|line| *line > Length::ZERO && *line < want.length).collect();
    lines.sort_unstable();
    lines.dedup();
    let Some(fewest) = fewest_bands(bolt, want, &lines) else { return Vec::new() };
    let mut found = Vec::new();
    split(bolt, want, &lines, fewest, &mut Vec::new(), &mut found);
    found.iter().map(|cuts| banded(bolt, want, cuts)).filter(|way| fits(bolt, way)).collect()
}

fn fits(bolt: &Bolt, way: &Joined) -> bool {
    way.parts.iter().all(|part| part.piece.ways.iter().all(|way| way.fits(bolt.usable.nm())))
}

/// The height of a band from one line to the next, its seams included.
fn height(bolt: &Bolt, want: &Want, from: Length, to: Length) -> Length {
    let seams = i64::from(from > Length::ZERO) + i64::from(to < want.length);
    to - from + bolt.seam * seams
}

/// How many bands it takes when each reaches as far down as it can.
fn fewest_bands(bolt: &Bolt, want: &Want, lines: &[Length]) -> Option<usize> {
    let (mut top, mut bands) = (Length::ZERO, 1);
    while height(bolt, want, top, want.length) > bolt.usable {
        let reached = |line: &Length| *line > top && height(bolt, want, top, *line) <= bolt.usable;
        top = lines.iter().copied().filter(reached).max()?;
        bands += 1;
        if bands > MOST_PARTS {
            return None;
        }
    }
    Some(bands)
}

/// Choices of fold lines for `bands` bands, those that reach farthest down first.
fn split(
    bolt: &Bolt,
    want: &Want,
    lines: &[Length],
    bands: usize,
    cuts: &mut Vec<Length>,
    found: &mut Vec<Vec<Length>>,
) {
    let top = cuts.last().copied().unwrap_or(Length::ZERO);
    let whole = bands == 1 && cuts.is_empty();
    let holds = |to: Length| {
        let height = height(bolt, want, top, to);
        height <= bolt.usable && (whole || height >= bolt.least_join)
    };
    if bands == 1 {
        if holds(want.length) {
            found.push(cuts.clone());
        }
        return;
    }
    for &line in lines.iter().rev().filter(|line| **line > top) {
        if found.len() >= MOST_BANDINGS {
            return;
        }
        // What is left below must still go into the bands that are left.
        let most = bolt.usable * i64::try_from(bands - 1).expect("bands are few");
        if holds(line) && want.length - line <= most {
            cuts.push(line);
            split(bolt, want, lines, bands - 1, cuts, found);
            cuts.pop();
        }
    }
}

/// A turned cut with seams at these lines.
fn banded(bolt: &Bolt, want: &Want, cuts: &[Length]) -> Joined {
    let number = |i: usize| {
        if cuts.is_empty() { PartOf::Whole } else { PartOf::Band(u32::try_from(i + 1).expect("bands are few")) }
    };
    let edges: Vec<Length> =
        std::iter::once(Length::ZERO).chain(cuts.iter().copied()).chain(std::iter::once(want.length)).collect();
    let parts = edges
        .windows(2)
        .enumerate()
        .map(|(i, edge)| {
            let (from, to) = (edge[0], edge[1]);
            let above = if i > 0 { bolt.seam } else { Length::ZERO };
            let way = lying(bolt, want, from - above, height(bolt, want, from, to));
            let kept = (Length::ZERO, Length::ZERO);
            Part { of: number(i), piece: Piece { ways: vec![way] }, turned: vec![true], kept }
        })
        .collect();
    let seams = cuts
        .iter()
        .enumerate()
        .map(|(i, &at)| Seam {
            want: 0,
            first: number(i),
            first_edge: Edge::Bottom,
            second: number(i + 1),
            second_edge: Edge::Top,
            takes: bolt.seam,
            at,
        })
        .collect();
    Joined { parts, seams }
}

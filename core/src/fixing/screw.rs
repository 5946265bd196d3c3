//! What a wood screw holds, the holes it wants, and whether it comes through or splits the wood.
//!
//! Withdrawal by the National Design Specification for Wood Construction (NDS 2018) and by the Wood Handbook; a load
//! across the screw by the NDS yield limit equations, with a gap by the general dowel equations. Strengths are floats in pounds-force and inches: they are
//! compared, never cut. Holes and depths are exact.

use crate::length::{Direction, Grain, Length, LengthUnit, NM_PER_INCH};
use crate::mount::{Screw, Species};
use crate::settings::Settings;

/// Why the published expressions say nothing about a screw.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum ScrewProblem {
    /// The wood is lighter or heavier than the expression was fitted to.
    #[error("a specific gravity of {0} is outside what the withdrawal expression was fitted to; it is 0.31 to 0.73")]
    Gravity(f64),
    /// The screw is thinner or thicker than the expression was fitted to.
    #[error(
        "a diameter of {0:.3} in is outside what the withdrawal expression was fitted to; it is No. 6 to No. 24, 0.138 to 0.372 in"
    )]
    Diameter(f64),
}

/// A length in float inches, for estimates only.
#[allow(clippy::cast_precision_loss, reason = "lengths of a house are under 2^53 nm")]
pub fn inches(length: Length) -> f64 {
    length.nm() as f64 / NM_PER_INCH as f64
}

/// Allowable withdrawal from side grain at a normal load duration, pounds-force an inch of thread in the wood:
/// `2850 G^2 D`. Source: NDS 2018 eq. 12.2-2, second-hand. From end grain the NDS allows none (12.2.2.3).
///
/// # Errors
/// [`ScrewProblem`] outside the range of the expression (NDS Table 12.2B).
///
/// ```
/// use hangtrue_core::fixing::screw::withdrawal;
/// // NDS Table 12.2B: No. 10 in Douglas fir-larch, 135 lb an inch.
/// assert_eq!(withdrawal(0.50, 0.190).unwrap().round(), 135.0);
/// ```
pub fn withdrawal(gravity: f64, diameter: f64) -> Result<f64, ScrewProblem> {
    if !(0.31..=0.73).contains(&gravity) {
        return Err(ScrewProblem::Gravity(gravity));
    }
    if !(0.138..=0.372).contains(&diameter) {
        return Err(ScrewProblem::Diameter(diameter));
    }
    Ok(2850.0 * gravity * gravity * diameter)
}

/// The ultimate pull that tears a screw out of side grain, pounds-force: `15,700 G^2 D L`, `L` the thread in the wood
/// in inches. Source: Wood Handbook FPL-GTR-282 ch. 8, second-hand.
pub fn ultimate_withdrawal(gravity: f64, diameter: f64, thread: f64) -> f64 {
    15_700.0 * gravity * gravity * diameter * thread
}

/// The modes in which a screw across two pieces yields.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Lateral {
    /// The wood crushes in the piece that holds the point: mode Im, pounds-force.
    pub crushes_main: f64,
    /// The wood crushes in the piece under the head: mode Is.
    pub crushes_side: f64,
    /// The screw turns as a whole: mode II.
    pub turns: f64,
    /// The screw bends in the piece that holds the point: mode `IIIm`.
    pub bends_main: f64,
    /// The screw bends in the piece under the head: mode `IIIs`.
    pub bends_side: f64,
    /// The screw bends in both: mode IV.
    pub bends_both: f64,
}

impl Lateral {
    /// The least of the six: the allowable load across one screw at a normal load duration, pounds-force.
    pub fn allowable(&self) -> f64 {
        [self.crushes_main, self.crushes_side, self.turns, self.bends_main, self.bends_side, self.bends_both]
            .into_iter()
            .fold(f64::INFINITY, f64::min)
    }
}

/// The dowel bearing strength of wood under a screw thinner than 1/4 in, pounds per square inch: `16,600 G^1.84`.
/// Source: NDS 2018 12.3.3, from memory.
pub fn wood_bearing(gravity: f64) -> f64 {
    16_600.0 * gravity.powf(1.84)
}

/// The dowel bearing strength of a thin mild steel leaf, pounds per square inch. Source: NDS 2018 Table 12M (ASTM A653
/// grade 33), from memory.
pub const STEEL_BEARING: f64 = 61_850.0;

/// The two pieces that a screw joins.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Joined {
    /// The screw's length in the piece that holds its point, inches.
    pub main: f64,
    /// That piece's dowel bearing strength, pounds per square inch.
    pub main_bearing: f64,
    /// The thickness of the piece under the head, inches.
    pub side: f64,
    /// That piece's dowel bearing strength, pounds per square inch.
    pub side_bearing: f64,
    /// What lies between the two and holds nothing (plasterboard, packing, air), inches; 0 where their faces touch.
    pub gap: f64,
}

/// The load across a wood screw in single shear at which each mode yields, made allowable. `Joined::main` is the length
/// that bears, not yet lessened for the point; [`allowed_across`] has the rules for how far a screw must go in.
///
/// The general dowel equations (American Wood Council, Technical Report 12, Table 1-1; from memory): the yield limit
/// equations of NDS 2018 Table 12.3.1A are these with a gap of 0. Bearing, bending and `KD` by the root diameter
/// (12.3.7, from memory: the rows of Table 12L come out so, within a pound), the bending strength by the nominal one
/// (Table I1). Diameters are in inches.
pub fn lateral(diameter: f64, root: f64, joined: Joined) -> Lateral {
    let Joined { main: lm, main_bearing, side: ls, side_bearing, gap } = joined;
    // Bearing a unit of length in either piece, and the moment that bends the screw for good.
    let (qm, qs) = (main_bearing * root, side_bearing * root);
    let moment = yield_strength(diameter) * root.powi(3) / 6.0;
    let allow = |load: f64| load / reduction(root);
    // The balance of forces and moments on the bent screw is a square equation of the load in every mode but I.
    let solve = |a: f64, b: f64, c: f64| allow(((b * b - 4.0 * a * c).sqrt() - b) / (2.0 * a));
    let (bears_main, bears_side) = (qm * lm * lm / 4.0, qs * ls * ls / 4.0);
    Lateral {
        crushes_main: allow(qm * lm),
        crushes_side: allow(qs * ls),
        turns: solve(1.0 / (4.0 * qs) + 1.0 / (4.0 * qm), ls / 2.0 + gap + lm / 2.0, -bears_side - bears_main),
        bends_main: solve(1.0 / (2.0 * qs) + 1.0 / (4.0 * qm), gap + lm / 2.0, -moment - bears_main),
        bends_side: solve(1.0 / (4.0 * qs) + 1.0 / (2.0 * qm), ls / 2.0 + gap, -bears_side - moment),
        bends_both: solve(1.0 / (2.0 * qs) + 1.0 / (2.0 * qm), gap, -2.0 * moment),
    }
}

/// A screw goes this many diameters into the wood that holds its point, or it holds nothing across. Source: NDS 2018
/// 12.1.5.6, from memory.
pub const LEAST_DIAMETERS: f64 = 6.0;

/// A screw that goes this many diameters in has the whole value across. Source: NDS 2018 Table 12L, its notes, from memory.
pub const WHOLE_DIAMETERS: f64 = 10.0;

/// The allowable load across a wood screw whose point goes `joined.main` deep into the wood, at a normal load duration,
/// pounds-force: nothing below 6 diameters (12.1.5.6), and from 6 to 10 the value of 10 diameters times `p / 10 D`
/// (Table 12L, its notes), or what the yield limit equations give with the point's own half left out, where that is
/// less (12.3.5.3: two diameters of point). NDS 2018, from memory.
///
/// ```
/// use hangtrue_core::fixing::screw::{Joined, allowed_across, wood_bearing};
/// let pine = wood_bearing(0.36);
/// let into = |main: f64| Joined { main, main_bearing: pine, side: 0.75, side_bearing: pine, gap: 0.0 };
/// // No. 10: 6 diameters are 1.14 in.
/// assert_eq!(allowed_across(0.190, 0.152, into(1.139)), 0.0);
/// assert!(allowed_across(0.190, 0.152, into(1.14)) > 40.0);
/// ```
pub fn allowed_across(diameter: f64, root: f64, joined: Joined) -> f64 {
    let diameters = joined.main / diameter;
    // A hair's breadth for the float: six diameters written as a length are six diameters.
    if diameters < LEAST_DIAMETERS - 1e-9 || joined.side <= 0.0 {
        return 0.0;
    }
    let whole = lateral(diameter, root, Joined { main: WHOLE_DIAMETERS * diameter, ..joined }).allowable();
    if diameters >= WHOLE_DIAMETERS {
        return whole;
    }
    let bears = lateral(diameter, root, Joined { main: joined.main - diameter, ..joined }).allowable();
    bears.min(whole * diameters / WHOLE_DIAMETERS)
}

/// The bending yield strength of a wood screw, pounds per square inch, by its diameter in inches.
/// Source: NDS 2018 Table I1, from memory.
pub fn yield_strength(diameter: f64) -> f64 {
    match diameter {
        d if d <= 0.142 => 100_000.0,
        d if d <= 0.177 => 90_000.0,
        d if d <= 0.236 => 80_000.0,
        _ => 70_000.0,
    }
}

/// The reduction term of a thin screw, by its root diameter in inches (12.3.7). Source: NDS 2018 Table 12.3.1B, from
/// memory: 2.2 up to 0.17 in, then `10 D + 0.5`.
pub fn reduction(diameter: f64) -> f64 {
    if diameter <= 0.17 { 2.2 } else { 10.0 * diameter + 0.5 }
}

/// The step drills are sold in: 1/64 in, or half a millimetre.
pub const fn drill_step(unit: LengthUnit) -> Grain {
    if unit.is_imperial() {
        Grain::INCH_64
    } else {
        match Grain::of(Length::from_nm(500_000)) {
            Some(grain) => grain,
            None => Grain::MM_TENTH,
        }
    }
}

/// The lead hole in the wood that takes the thread: a part of the root diameter, rounded down to a drill.
/// Source: Wood Handbook ch. 8 (70 % softwood, 90 % hardwood), from memory.
pub fn lead_hole(screw: &Screw, wood: &Species, settings: &Settings, unit: LengthUnit) -> Length {
    let percent = if wood.hardwood { settings.lead_hardwood_percent } else { settings.lead_softwood_percent };
    screw.root.scale(percent, 100, Direction::Nearest).round(drill_step(unit), Direction::Down)
}

/// The hole in what the screw only passes, so that it draws the two together: its diameter, rounded up to a drill.
pub fn through_hole(screw: &Screw, unit: LengthUnit) -> Length {
    screw.diameter.round(drill_step(unit), Direction::Up)
}

/// The threaded part of a screw, measured from its point; rounded down to the nanometre.
pub fn thread(screw: &Screw, length: Length) -> Length {
    length.scale(screw.thread_percent, 100, Direction::Down)
}

/// Whether a screw would split a board: how far it stands from the nearest end and edge against what it needs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Split {
    /// To the nearest end of the board.
    pub end: Length,
    /// Needed there at least, with a lead hole.
    pub end_needs: Length,
    /// To the nearest edge of the board.
    pub edge: Length,
    /// Needed there at least, with a lead hole.
    pub edge_needs: Length,
}

impl Split {
    /// The check of a screw at these distances.
    pub fn of(screw: &Screw, end: Length, edge: Length, settings: &Settings) -> Self {
        Self {
            end,
            end_needs: screw.diameter * settings.split_end_diameters,
            edge,
            edge_needs: screw.diameter.scale(settings.split_edge_tenths, 10, Direction::Up),
        }
    }

    /// True when the board holds together.
    pub fn holds(&self) -> bool {
        self.end >= self.end_needs && self.edge >= self.edge_needs
    }
}

//! Making one shade: folds, cut sizes, rings and ribs, cords, weight and the raised stack, from its finished size.
//!
//! [`make`] takes plain sizes and choices and gives a [`Makeup`]: every number that is cut, marked or bought, and the
//! working of each ([`Working`]) so that a maker can check it by hand. Lengths are exact. Only weights are estimates.
//!
//! How a shade folds. From the head (top of the board) down: the head, then `n` equal folds, then a flap of half a
//! fold plus the reveal. Rings stand in a row at the top of every fold and at the top of the flap: `n + 1` rows.
//! Raised, the rows lie on each other and the flap shows below them by the reveal.

mod cuts;
mod folds;
mod lift;
mod steps;
mod working;

pub use cuts::{Cut, Material, Part, Stick, StickUse};
pub use folds::{Column, Folds, Grid, Mark, Row};
pub use lift::{CordOf, CordRun, Cords, PartWeight, Raised, Weight};
pub use steps::{Join, Making, cut_before_shrinking, steps};
pub use working::{Amount, GRAMS_PER_POUND, Line, Working};

use crate::flag::{Flag, Severity};
use crate::house::{Choices, Cloth, Lift, Lining, Mount, Style};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::settings::Settings;

/// The widest spacing of ring rows that no rule named in `care` speaks against: Canada, SOR/2019-97 s. 6, 22 cm between
/// two contact points.
pub const RING_GAP_CANADA: Length = Length::mm(220);
/// The longest unsupported run of a rear cord without a breakaway: EN 13120 (second-hand), 200 mm.
pub const RING_GAP_EUROPE: Length = Length::mm(200);

/// What is known of a shade before it is made up.
#[derive(Clone, Copy, Debug)]
pub struct Order<'a> {
    /// The unit its numbers are shown in, and whose tape it is marked with.
    pub unit: LengthUnit,
    /// Finished width.
    pub width: Length,
    /// Finished length, from the top of the board to the hem.
    pub length: Length,
    /// Inside or outside.
    pub mount: Mount,
    /// The board from front to back: 1 1/2 in for a 1x2 laid flat, 3/4 in for one on its face.
    pub board_depth: Length,
    /// The board from its top to its foot: 3/4 in for a 1x2 laid flat, 1 1/2 in for one on its face.
    pub board_height: Length,
    /// How far the shade's head stands above the head of the opening; zero for an inside mount. Above the top of the
    /// trim where [`Self::head_known`] is false.
    pub above_opening: Length,
    /// True where it is known where the head of the opening is.
    pub head_known: bool,
    /// Style, lining, folds, valance, lift and control side.
    pub choices: &'a Choices,
    /// Its cloth, if one is chosen: its weight, and its width where narrower turnings save a join.
    pub cloth: Option<&'a Cloth>,
    /// The numbers of the house.
    pub settings: &'a Settings,
}

impl Order<'_> {
    /// A length to whole grains of the house's tape.
    fn tape(&self, length: Length, direction: Direction) -> Length {
        length.round(Grain::of_tape(self.unit), direction)
    }

    /// From the top cut edge down to the finished head: what wraps the board and is pulled on while stapling. Rounded
    /// up to the tape, so that there is never too little to staple.
    fn wrap(&self) -> Length {
        self.tape(self.board_depth + self.settings.staple_turning, Direction::Up)
    }
}

/// One shade made up: all that a maker cuts, marks, sews and ties.
#[derive(Clone, PartialEq, Debug)]
pub struct Makeup {
    /// How it is made.
    pub style: Style,
    /// Finished width.
    pub width: Length,
    /// Finished length.
    pub length: Length,
    /// The fold plan.
    pub folds: Folds,
    /// Where every ring and rib stands.
    pub grid: Grid,
    /// Cloth to cut: face, lining, interlining, facings, valance, board cover.
    pub cuts: Vec<Cut>,
    /// Bar, ribs and board.
    pub sticks: Vec<Stick>,
    /// Lift cords.
    pub cords: Cords,
    /// The shade when it is up.
    pub raised: Raised,
    /// Weight of each part, in all, and lifted.
    pub weight: Weight,
    /// The working of every number.
    pub workings: Vec<Working>,
    /// What the maker should know or decide.
    pub flags: Vec<Flag>,
}

impl Makeup {
    /// The cut of one part, if the shade has it.
    pub fn cut(&self, part: Part) -> Option<&Cut> {
        self.cuts.iter().find(|cut| cut.part == part)
    }

    /// The bar, the ribs or the board.
    pub fn stick(&self, part: StickUse) -> Option<&Stick> {
        self.sticks.iter().find(|stick| stick.part == part)
    }

    /// Rings to sew: one at every crossing of a row and a column.
    pub fn rings(&self) -> usize {
        self.grid.rows.len() * self.grid.columns.len()
    }
}

/// Why a shade cannot be made up as it is asked for.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{place}: {what}; {right}")]
pub struct MakeupProblem {
    /// The number or choice that stands in the way: `finished length`, `folds`.
    pub place: &'static str,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub right: String,
}

impl MakeupProblem {
    fn new(place: &'static str, what: impl Into<String>, right: impl Into<String>) -> Self {
        Self { place, what: what.into(), right: right.into() }
    }
}

/// Makes up one shade.
///
/// # Errors
/// [`MakeupProblem`] when the size is not positive, too small to fold or to hold two columns of rings, or when the
/// number of folds that was asked for does not go into it.
///
/// ```
/// use hangtrue_core::house::{Choices, Mount};
/// use hangtrue_core::length::{Length, LengthUnit};
/// use hangtrue_core::makeup::{Order, Part, make};
/// use hangtrue_core::settings::Settings;
/// let order = Order {
///     unit: LengthUnit::Inch,
///     width: Length::inches(567, 16), // 35 7/16
///     length: Length::inches(239, 4), // 59 3/4
///     mount: Mount::Inside,
///     board_depth: Length::inches(3, 2),
///     board_height: Length::inches(3, 4),
///     above_opening: Length::ZERO,
///     head_known: true,
///     choices: &Choices::default(),
///     cloth: None,
///     settings: &Settings::INCHES,
/// };
/// let shade = make(&order).unwrap();
/// let face = shade.cut(Part::Face).unwrap();
/// assert_eq!(face.width.show(LengthUnit::Inch), "38 7/16"); // 1 1/2 in turned back each side
/// assert_eq!(face.length.show(LengthUnit::Inch), "64 3/4"); // 2 in over the board, 3 in for the bar's pocket
/// ```
pub fn make(order: &Order<'_>) -> Result<Makeup, MakeupProblem> {
    check(order)?;
    let mut workings = Vec::new();
    let mut flags = Vec::new();
    // Lowered from the top, a shade is stapled to a rail of the board's size, which lies under the board when it is up.
    let under_rail;
    let order = if order.choices.lift == Lift::TopDownBottomUp && order.length > order.board_height {
        let length = working::Sum::of("shade under the board")
            .add("finished length", order.length, "top of the board to the hem")
            .add("board", -order.board_height, "the top rail lies under it, and the shade begins on the rail")
            .file(&mut workings);
        under_rail = Order { length, ..*order };
        &under_rail
    } else {
        order
    };
    pockets(order, &mut flags);
    let folds = folds::plan(order, &mut workings, &mut flags)?;
    let grid = folds::grid(order, &folds, &mut workings, &mut flags)?;
    let sticks = cuts::sticks(order, &grid, &mut workings);
    let cuts = cuts::cuts(order, &folds, &grid, &mut workings, &mut flags);
    flags.extend(cuts::unknown_print(order, &cuts));
    let cords = lift::cords(order, &folds, &grid, &mut workings);
    let raised = lift::raised(order, &folds, &mut workings, &mut flags);
    let weight = lift::weight(order, &folds, &grid, &cuts, &sticks, &mut workings);
    Ok(Makeup {
        style: order.choices.style,
        width: order.width,
        length: order.length,
        folds,
        grid,
        cuts,
        sticks,
        cords,
        raised,
        weight,
        workings,
        flags,
    })
}

fn check(order: &Order<'_>) -> Result<(), MakeupProblem> {
    let positive = |place, value: Length| {
        if value > Length::ZERO {
            Ok(())
        } else {
            Err(MakeupProblem::new(
                place,
                format!("the {place} is {}", value.show_marked(order.unit)),
                "it is more than nothing",
            ))
        }
    };
    positive("finished width", order.width)?;
    positive("finished length", order.length)?;
    for (place, value) in [("finished width", order.width), ("finished length", order.length)] {
        if value > order.settings.largest_size {
            return Err(MakeupProblem::new(
                place,
                format!("the {place} is {}", value.show_marked(order.unit)),
                format!(
                    "no shade is made larger than {} (largest size, a setting): read it again",
                    order.settings.largest_size.show_marked(order.unit)
                ),
            ));
        }
    }
    positive("board depth", order.board_depth)?;
    positive("board height", order.board_height)?;
    if let Some(head) = &order.choices.head {
        positive("head", head.value())?;
    }
    if let Some(valance) = &order.choices.valance {
        positive("valance", valance.value())?;
        if valance.value() >= order.length {
            return Err(MakeupProblem::new(
                "valance",
                format!(
                    "a valance of {} hides the whole shade of {}",
                    valance.value().show_marked(order.unit),
                    order.length.show_marked(order.unit)
                ),
                "a valance is shorter than the shade it hangs over",
            ));
        }
    }
    Ok(())
}

/// Says where a pocket does not take what slides into it.
fn pockets(order: &Order<'_>, flags: &mut Vec<Flag>) {
    let settings = order.settings;
    let show = |length: Length| length.show_marked(order.unit);
    let mut look = |code: &str, what: &str, pocket: Length, needs: Length, setting: &str| {
        if pocket < needs {
            flags.push(flag(
                code,
                Severity::Decide,
                format!(
                    "The pocket of the {what} is {} deep and the {what} needs {}: it does not go in",
                    show(pocket.round(Grain::of_tape(order.unit), Direction::Down)),
                    show(needs.round(Grain::of_tape(order.unit), Direction::Up))
                ),
                format!("Turn up more ({setting} of the house's settings), or take a smaller {what}."),
            ));
        }
    };
    if order.choices.style != Style::Relaxed {
        // Half of the turning shows as the pocket, half is turned in; a flat bar takes its height and its thickness.
        let pocket = settings.bottom_turning.split(2, 1);
        let needs = settings.bar_height + settings.bar_thickness + settings.pocket_ease;
        look("bar_pocket_shallow", "bottom bar", pocket, needs, "the bottom turning");
    }
    if order.choices.style == Style::FlatRibbed {
        // A round rib of thickness d takes half its way round, 1.57 d, of the flat pocket.
        let needs = settings.rib_thickness.scale(11, 7, Direction::Up) + settings.pocket_ease;
        look("rib_pocket_shallow", "rib", settings.rib_pocket.split(2, 1), needs, "the rib pocket");
    }
}

/// A flag on the shade as a whole.
fn flag(code: &str, severity: Severity, says: impl Into<String>, to_do: impl Into<String>) -> Flag {
    Flag::new(code, severity, &[], says, to_do)
}

/// True where each row has a rib or a stitched tuck.
const fn is_stiff(style: Style) -> bool {
    matches!(style, Style::FlatRibbed | Style::Tucked)
}

/// True unless the shade has no lining.
const fn is_lined(choices: &Choices) -> bool {
    !matches!(choices.lining, Lining::None)
}

//! How a shade is fixed: where each screw or bracket goes and why, each screw's holes, what every fixing carries and
//! whether it holds, and how far board and bottom bar sag.
//!
//! [`work`] takes a mounting, the screw eyes, the weight and what is known of the wall. Places and holes are exact;
//! loads and strengths are floats in pounds-force and inches, compared with each other and never cut. What does not
//! hold says so and offers what would. Nobody knows a wall until it is probed: what was assumed is listed.

pub mod beam;
pub mod calculator;
pub mod place;
mod raise;
mod rig;
pub mod screw;
mod steps;

pub use place::Spot;
pub use raise::{Raise, shown_weight};
pub use steps::{Hanging, HangingSteps, letter, steps};

use crate::flag::{Flag, Severity};
use crate::house::{Choices, ControlSide, Lift, Wall};
use crate::length::{Length, LengthUnit};
use crate::makeup::{GRAMS_PER_POUND, Makeup, StickUse};
use crate::mount::{Catalogue, LiftKind, Mounting};
use crate::settings::Settings;
use beam::{Beam, Load};
use rig::Rig;
use screw::{Split, inches};

/// What hangs, and on what.
#[derive(Clone, Copy, Debug)]
pub struct Hung<'a> {
    /// How it is mounted.
    pub mounting: &'a Mounting,
    /// What is behind the wall.
    pub wall: &'a Wall,
    /// Screw eyes, from the left end of the board.
    pub eyes: &'a [Length],
    /// Where the control pulls, from the left end of the board; nothing when nothing is pulled.
    pub control_at: Option<Length>,
    /// The weight of all that hangs on the wall, the board too, pounds-force.
    pub weight_lbf: f64,
    /// The bottom bar, where its sag is asked for.
    pub bar: Option<&'a Bar>,
}

/// A bottom bar hung at the columns of rings.
#[derive(Clone, PartialEq, Debug)]
pub struct Bar {
    /// Its length.
    pub length: Length,
    /// Where it is held, from its left end.
    pub supports: Vec<Length>,
    /// Its upright size as it hangs.
    pub height: Length,
    /// Its size across that.
    pub thickness: Length,
    /// Modulus of elasticity, million pounds per square inch.
    pub elasticity_mpsi: f64,
    /// What it weighs with what hangs from it, pounds-force.
    pub lbf: f64,
}

/// What a fixing bites into.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Ground {
    /// Solid wood.
    Wood,
    /// A stud behind the wall's covering.
    Stud,
    /// An anchor, where there is no wood.
    Anchor,
}

impl Ground {
    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Wood => "wood",
            Self::Stud => "stud",
            Self::Anchor => "anchor",
        }
    }
}

/// One fixing: a screw through the board, or a bracket with its screws.
#[derive(Clone, PartialEq, Debug)]
pub struct Fixed {
    /// From the left end of the board; of a bracket, its centre.
    pub at: Length,
    /// What it bites into.
    pub on: Ground,
    /// Why it is there, a plain clause.
    pub reason: String,
    /// The gap between the board and a head that slopes, over it, rounded up to the tape; zero where they touch.
    /// It is packed there.
    pub gap: Length,
    /// How long its screw is: into the wood, or the anchor's; nothing where none is long enough or none is known.
    pub screw_length: Option<Length>,
    /// How far that screw goes into what holds it; zero where there is none.
    pub bites: Length,
    /// The load on it at its worst.
    pub load: Carried,
}

/// What one fixing carries at its worst, and what it may.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Carried {
    /// What comes down on it, pounds-force; below zero it is lifted.
    pub down_lbf: f64,
    /// The pull straight out on its hardest pulled screw or anchor, pounds-force.
    pub pull_lbf: f64,
    /// The load across each of its screws or anchors, pounds-force.
    pub across_lbf: f64,
    /// The pull that one may take, pounds-force.
    pub pull_allowed_lbf: f64,
    /// The load across that one may take, pounds-force.
    pub across_allowed_lbf: f64,
    /// Both together as a part of what is allowed: 1 is all of it.
    pub used: f64,
    /// True when it is at its worst while the control is pulled.
    pub while_pulled: bool,
}

/// What a screw is for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Job {
    /// Up through the board into the head.
    BoardToHead,
    /// Up through the board into the ceiling.
    BoardToCeiling,
    /// Through the board's thickness to the wall, or to the face of a beam or frame.
    BoardToWall,
    /// Through the bracket's leg to the wall.
    BracketToWall,
    /// Up through the bracket's arm into the board.
    BracketToBoard,
    /// An anchor's own screw, through board or bracket into it.
    IntoAnchor,
}

impl Job {
    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::BoardToHead => "up through the board into the head",
            Self::BoardToCeiling => "up through the board into the ceiling",
            Self::BoardToWall => "through the board into the wall",
            Self::BracketToWall => "through the bracket's leg into the wall",
            Self::BracketToBoard => "up through the bracket's arm into the board",
            Self::IntoAnchor => "into its anchor",
        }
    }
}

/// One kind of screw to bring: its job, size, holes and checks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ScrewJob {
    /// What it is for.
    pub job: Job,
    /// What it is asked for by: `No. 8`.
    pub screw: String,
    /// Its length.
    pub length: Length,
    /// How many.
    pub count: usize,
    /// Which fixings it is for, from the left end of the board.
    pub at: Vec<Length>,
    /// What it passes at most before what holds it: board or leaf, wall covering, and the gap under a sloping head.
    pub passes: Length,
    /// How far it goes into what holds it at least.
    pub bites: Length,
    /// How much of that is thread.
    pub thread: Length,
    /// The lead hole in that wood; of an anchor's screw, the hole of the anchor.
    pub lead: Length,
    /// The hole in what it only passes.
    pub through: Length,
    /// The wood left before its point, where there is a far face to come through; nothing where there is none.
    pub left: Option<Length>,
    /// Whether the point stays in.
    pub stays_in: bool,
    /// Whether the board would split; nothing where it passes no wood near an end.
    pub split: Option<Split>,
}

/// Anchors to bring.
#[derive(Clone, PartialEq, Debug)]
pub struct AnchorJob {
    /// What it is asked for by.
    pub anchor: String,
    /// How many.
    pub count: usize,
    /// The hole it wants.
    pub hole: Length,
    /// What its own screw passes at most in front of the wall.
    pub passes: Length,
    /// The anchors' places, from the left end of the board.
    pub at: Vec<Length>,
    /// The pull its seller states, pounds-force.
    pub stated_lbf: f64,
    /// What it is divided by.
    pub factor: i64,
}

/// A float of a working, for a reader: what, how much, of what, and why.
#[derive(Clone, PartialEq, Debug)]
pub struct Figure {
    /// What it is.
    pub term: String,
    /// How much.
    pub value: f64,
    /// `lbf`, `lbf/in`, `in`, `lbf in`, `parts`.
    pub of: &'static str,
    /// How it comes about, or its source.
    pub why: String,
}

/// Newtons in a pound-force.
pub const NEWTONS: f64 = crate::length::NEWTONS_PER_LBF;

/// A force as a reader of a house in this unit has it: `11.6 lbf`, `51.4 N`.
pub fn shown_force(lbf: f64, unit: LengthUnit) -> String {
    if unit.is_imperial() { format!("{lbf:.1} lbf") } else { format!("{:.1} N", lbf * NEWTONS) }
}

impl Figure {
    /// Its value as a reader of a house in this unit has it: what is worked in pounds-force and inches, in newtons and
    /// millimetres where the house is.
    pub fn shown(&self, unit: LengthUnit) -> String {
        let (times, of) = match self.of {
            _ if unit.is_imperial() => (1.0, self.of),
            "lbf" => (NEWTONS, "N"),
            "in" => (25.4, "mm"),
            "lbf in" => (NEWTONS * 0.0254, "N m"),
            "lbf/in" => (NEWTONS / 25.4, "N/mm"),
            other => (1.0, other),
        };
        format!("{:.2} {of}", self.value * times)
    }

    fn new(term: impl Into<String>, value: f64, of: &'static str, why: impl Into<String>) -> Self {
        Self { term: term.into(), value, of, why: why.into() }
    }
}

/// How far something sags between its supports.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sag {
    /// The most, inches.
    pub most_in: f64,
    /// Where, inches from its left end.
    pub at_in: f64,
    /// The limit.
    pub limit: Length,
}

impl Sag {
    /// The most, as a reader of a house in this unit has it.
    pub fn shown(&self, unit: LengthUnit) -> String {
        show_inches(self.most_in, unit)
    }

    /// True within the limit.
    pub fn holds(&self) -> bool {
        self.most_in.abs() <= inches(self.limit)
    }
}

/// How one shade is fixed.
#[derive(Clone, PartialEq, Debug)]
pub struct Fixing {
    /// The fixings, from the left.
    pub fixed: Vec<Fixed>,
    /// True when they are brackets, not screws.
    pub brackets: bool,
    /// The screws to bring.
    pub screws: Vec<ScrewJob>,
    /// The anchors to bring.
    pub anchor: Option<AnchorJob>,
    /// The lift to buy; nothing where none of the catalogue raises this shade, or none was asked for.
    pub lift: Option<LiftKind>,
    /// The working of the hardest loaded fixing, in order.
    pub statics: Vec<Figure>,
    /// How far the board sags under the shade; nothing where the stiffness of its wood is not known.
    pub board_sag: Option<Sag>,
    /// How far the bottom bar sags; nothing where it was not asked for.
    pub bar_sag: Option<Sag>,
    /// True when every fixing, screw and sag holds.
    pub holds: bool,
    /// What does not hold, each a plain sentence.
    pub fails: Vec<String>,
    /// What would hold instead, each a plain sentence; each was worked.
    pub would: Vec<String>,
    /// What was assumed, each a plain sentence.
    pub assumed: Vec<String>,
    /// What a person should know, decide or do.
    pub flags: Vec<Flag>,
}

/// Fixes a shade that is made up: its screw eyes, weight, control and bottom bar as [`crate::makeup`] has them.
///
/// The control pulls at the outer column of its side; a lift without a reachable cord is pulled at the middle of the
/// foot; a motor is not pulled.
pub fn of_makeup(
    mounting: &Mounting,
    wall: &Wall,
    choices: &Choices,
    makeup: &Makeup,
    settings: &Settings,
    catalogue: &Catalogue,
    unit: LengthUnit,
) -> Fixing {
    let mut eyes: Vec<Length> = makeup.grid.columns.iter().map(|column| column.on_board.mark).collect();
    let control_at = match (choices.lift, choices.control) {
        (Lift::Motor, _) => None,
        (Lift::NoReachableCord, _) => Some(mounting.board_length.total.split(2, 1)),
        (_, ControlSide::Left) => eyes.first().copied(),
        (_, ControlSide::Right) => eyes.last().copied(),
    };
    eyes.extend(&makeup.cords.rail_eyes);
    eyes.sort_unstable();
    let bar = makeup.stick(StickUse::Bar).map(|stick| {
        let inset = (mounting.width.total - stick.length).split(2, 1);
        #[allow(clippy::cast_precision_loss, reason = "a modulus is a small number")]
        let elasticity_mpsi = settings.bar_elasticity_kpsi as f64 / 1000.0;
        Bar {
            length: stick.length,
            supports: makeup.grid.columns.iter().map(|column| column.from_left.exact - inset).collect(),
            height: settings.bar_height,
            thickness: settings.bar_thickness,
            elasticity_mpsi,
            lbf: makeup.weight.lifted / GRAMS_PER_POUND,
        }
    });
    let weight_lbf = makeup.weight.total / GRAMS_PER_POUND;
    let hung = Hung { mounting, wall, eyes: &eyes, control_at, weight_lbf, bar: bar.as_ref() };
    let mut fixing = work(&hung, settings, catalogue, unit);
    let raise = Raise {
        lift: choices.lift,
        lifted_lbf: makeup.weight.lifted / GRAMS_PER_POUND,
        width: mounting.width.total,
        length: mounting.length.total,
    };
    match raise.choose(settings, catalogue, unit) {
        Ok(kind) => fixing.lift = Some(kind.clone()),
        Err(flag) => fixing.flags.push(flag),
    }
    fixing
}

/// Fixes a shade: the fewest screws or brackets that hold, each at its best place.
///
/// ```
/// # use hangtrue_core::{fixing, house, length::LengthUnit, mount, settings::Settings, truth};
/// # let opening: house::Opening = serde_json::from_str(r#"{"id":"0192a3b4-0000-7000-8000-000000000001","name":"a",
/// #   "wall":{"head":"wood"},"readings":[
/// #   {"id":"0192a3b4-0000-7000-8000-000000000002","place":"width_top","read":"36 in","at":"2026-05-04T09:12:00Z"},
/// #   {"id":"0192a3b4-0000-7000-8000-000000000003","place":"height_left","read":"60 in","at":"2026-05-04T09:12:00Z"},
/// #   {"id":"0192a3b4-0000-7000-8000-000000000004","place":"depth","read":"3 in","at":"2026-05-04T09:12:00Z"}]}"#).unwrap();
/// let (unit, settings) = (LengthUnit::Inch, Settings::INCHES);
/// let catalogue = mount::Catalogue::standard(unit);
/// let truth = truth::judge(&opening, &[], &settings, unit);
/// let mounts = mount::work(&opening, &truth, &settings, catalogue, unit);
/// let mounting = mounts.get(mount::Form::Inside).unwrap();
/// let hung = fixing::Hung { mounting, wall: &opening.wall, eyes: &[], control_at: None, weight_lbf: 3.0, bar: None };
/// let fixing = fixing::work(&hung, &settings, catalogue, unit);
/// assert!(fixing.holds);
/// assert_eq!(fixing.fixed.len(), 3);
/// assert_eq!(fixing.screws[0].length.show(unit), "1 3/4"); // 3/4 in of board and 1 in of wood
/// ```
pub fn work(hung: &Hung<'_>, settings: &Settings, catalogue: &Catalogue, unit: LengthUnit) -> Fixing {
    let rig = Rig::of(hung, settings, catalogue, unit);
    let fewest = place::fewest(&rig.wanted(hung.eyes), settings);
    // The usual hardware first, the fewest that hold; then what is stronger, until something holds.
    let mut first = None;
    for means in rig.means() {
        for spots in rig.plans(fewest, means) {
            let mut fixing = rig.fix(&spots, means);
            if fixing.holds {
                if let Some(usual) = &first {
                    fixing.flags.extend(rig.stronger(usual, &fixing));
                }
                return fixing;
            }
            first.get_or_insert(fixing);
        }
    }
    let Some(mut fixing) = first else {
        return rig.no_place();
    };
    fixing.would = rig.offers(fewest);
    if fixing.would.is_empty() {
        fixing.would.push("Make the shade lighter, or choose another mount.".to_owned());
    }
    fixing.flags.push(Flag::new(
        "fixing_does_not_hold",
        Severity::Decide,
        &[],
        fixing.fails.first().cloned().unwrap_or_default(),
        fixing.would[0].clone(),
    ));
    fixing
}

/// How far a bottom bar sags between the cords that hold it; nothing when it is held at fewer than two places on it.
pub fn bar_sag(bar: &Bar, settings: &Settings) -> Option<Sag> {
    let length = inches(bar.length);
    let stiffness = bar.elasticity_mpsi * 1e6 * inches(bar.thickness) * inches(bar.height).powi(3) / 12.0;
    let loads = vec![Load::Spread { from: 0.0, to: length, per_length: bar.lbf / length }];
    let supports = bar.supports.iter().map(|support| inches(*support)).collect();
    let bent = Beam { length, supports, loads, stiffness }.bend().ok()?;
    Some(Sag { most_in: bent.deflection.value, at_in: bent.deflection.at, limit: settings.sag_limit })
}

/// An estimate in inches as a person of this unit reads it: three decimals of an inch, or two of a millimetre.
pub fn show_inches(value: f64, unit: LengthUnit) -> String {
    if unit.is_imperial() { format!("{value:.3} in") } else { format!("{:.2} mm", value * 25.4) }
}

/// A lift that was looked at for one shade.
#[derive(Clone, PartialEq, Debug)]
pub struct LiftOffer {
    /// The lift.
    pub kind: LiftKind,
    /// True when it lifts the shade by what its seller states.
    pub lifts: bool,
    /// True when a cord or chain can be reached.
    pub reachable: bool,
}

/// The lifts of the catalogue for a shade of which this weight is lifted: those without a reachable cord first, and
/// among them the lightest that lifts it first.
pub fn lifts(lifted_lbf: f64, catalogue: &Catalogue) -> Vec<LiftOffer> {
    let mut offers: Vec<LiftOffer> = catalogue
        .lifts
        .iter()
        .map(|kind| LiftOffer {
            kind: kind.clone(),
            lifts: kind.lifts_lbf >= lifted_lbf,
            reachable: kind.lift.is_reachable(),
        })
        .collect();
    offers.sort_by(|a, b| {
        (a.reachable, !a.lifts).cmp(&(b.reachable, !b.lifts)).then(a.kind.lifts_lbf.total_cmp(&b.kind.lifts_lbf))
    });
    offers
}

//! How a shade is fixed: where each screw or bracket goes and why, each screw's holes, what every fixing carries and
//! whether it holds, and how far board and bottom bar sag.
//!
//! [`work`] takes a mounting, the screw eyes, the weight and what is known of the wall. Places and holes are exact;
//! loads and strengths are floats in pounds-force and inches, compared with each other and never cut. What does not
//! hold says so and offers what would. Nobody knows a wall until it is probed: what was assumed is listed.

pub mod beam;
pub mod place;
mod rig;
pub mod screw;

pub use place::Spot;

use crate::flag::Flag;
use crate::house::{Choices, ControlSide, Lift, Wall};
use crate::length::{Length, LengthUnit};
use crate::makeup::{GRAMS_PER_POUND, Makeup, StickUse};
use crate::mount::{Catalogue, LiftKind, Mounting};
use crate::settings::Settings;
use beam::{Beam, Load};
use rig::{MORE, Rig};
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
    /// Through the board's thickness to the wall.
    BoardToWall,
    /// Through the bracket's leg to the wall.
    BracketToWall,
    /// Up through the bracket's arm into the board.
    BracketToBoard,
}

impl Job {
    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::BoardToHead => "up through the board into the head",
            Self::BoardToWall => "through the board into the wall",
            Self::BracketToWall => "through the bracket's leg into the wall",
            Self::BracketToBoard => "up through the bracket's arm into the board",
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
    /// What it passes before the wood that holds it.
    pub passes: Length,
    /// How far it goes into that wood.
    pub bites: Length,
    /// How much of that is thread.
    pub thread: Length,
    /// The lead hole in that wood.
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
    /// What its own screw passes in front of the wall.
    pub passes: Length,
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

impl Figure {
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
    let eyes: Vec<Length> = makeup.grid.columns.iter().map(|column| column.on_board.mark).collect();
    let control_at = match (choices.lift, choices.control) {
        (Lift::Motor, _) => None,
        (Lift::NoReachableCord, _) => Some(mounting.board_length.total.split(2, 1)),
        (_, ControlSide::Left) => eyes.first().copied(),
        (_, ControlSide::Right) => eyes.last().copied(),
    };
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
    work(&Hung { mounting, wall, eyes: &eyes, control_at, weight_lbf, bar: bar.as_ref() }, settings, catalogue, unit)
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
    let usual = rig.anchors.first().copied();
    let fewest = place::fewest(&rig.wanted(hung.eyes), settings);
    // The fewest that can be placed at all; then the fewest of those that hold.
    let mut first = None;
    for n in fewest..fewest + MORE {
        let Some(spots) = place::search(n, &rig.wanted(hung.eyes), settings) else { continue };
        let fixing = rig.fix(&spots, usual);
        if fixing.holds {
            return fixing;
        }
        first.get_or_insert(fixing);
    }
    let Some(mut fixing) = first else {
        return rig.no_place();
    };
    fixing.would = rig.offers(fewest, usual);
    if fixing.would.is_empty() {
        fixing.would.push("Make the shade lighter, or ask somebody who knows this wall.".to_owned());
    }
    fixing
}

<<<<<<< HEAD
=======
/// How many more than the fewest are tried before something else is offered.
const MORE: i64 = 3;

/// What stays the same while places and numbers are tried.
struct Rig<'a> {
    hung: &'a Hung<'a>,
    board: &'a Board,
    bracket: Option<&'a Bracket>,
    length: Length,
    settings: &'a Settings,
    catalogue: &'a Catalogue,
    unit: LengthUnit,
    /// What is behind the surface.
    backing: Backing,
    /// Studs from the left end of the board.
    studs: Vec<Length>,
    /// The anchors that suit the backing, the usual one first.
    anchors: Vec<&'a Anchor>,
    /// The screw into wood, and its length; nothing when none is long enough.
    into_wood: Option<(&'a Screw, Length)>,
    /// What that screw passes.
    passes: Length,
}

impl<'a> Rig<'a> {
    fn of(hung: &'a Hung<'a>, settings: &'a Settings, catalogue: &'a Catalogue, unit: LengthUnit) -> Self {
        let mounting = hung.mounting;
        let (board, bracket) = (&mounting.board, mounting.bracket.as_ref());
        let length = mounting.board_length.total;
        let inside = mounting.form == Form::Inside;
        let backing = if inside { hung.wall.head } else { hung.wall.above };
        let offset = mounting.overlap - settings.board_deduction.split(2, 1);
        let studs = if inside || matches!(backing, Backing::Wood | Backing::Masonry | Backing::Steel) {
            Vec::new()
        } else {
            hung.wall
                .studs
                .iter()
                .map(|stud| stud.value() + offset)
                .filter(|stud| *stud > Length::ZERO && *stud < length)
                .collect()
        };
        let board_backing = if backing == Backing::Unknown { Backing::Plasterboard } else { backing };
        let anchors = catalogue.anchors.iter().filter(|anchor| anchor.backing == board_backing).collect();
        let covering = match (inside, backing) {
            (true, Backing::Wood | Backing::Unknown) => Length::ZERO,
            _ => settings.wall_covering,
        };
        let held = bracket.map_or(board.thickness, |bracket| bracket.leaf);
        let passes = held + covering;
        let wanted = bracket.map_or(board.screw.as_str(), |bracket| bracket.screw.as_str());
        let into_wood = long_enough(catalogue, wanted, passes + settings.screw_bite);
        Self { hung, board, bracket, length, settings, catalogue, unit, backing, studs, anchors, into_wood, passes }
    }

    fn inside(&self) -> bool {
        self.hung.mounting.form == Form::Inside
    }

    fn wanted<'b>(&'b self, eyes: &'b [Length]) -> Wanted<'b> {
        let thickest = self.into_wood.map_or(Length::ZERO, |(screw, _)| screw.diameter);
        let half = self.bracket.map_or(Length::ZERO, |bracket| bracket.across.split(2, 1));
        let end_least = thickest * self.settings.split_end_diameters;
        Wanted { board: self.length, half, end_least, eyes, studs: &self.studs, unit: self.unit }
    }

    /// What a fixing at this spot bites into.
    fn ground(&self, spot: &Spot) -> Ground {
        match (self.inside(), self.backing) {
            (_, Backing::Wood) | (true, Backing::Unknown) => Ground::Wood,
            _ if spot.stud.is_some() => Ground::Stud,
            _ => Ground::Anchor,
        }
    }

    /// What comes down on each fixing under the shade and board, and with the control pulled.
    fn reactions(&self, spots: &[Spot], pulled: bool) -> Vec<f64> {
        let mut loads = vec![self.spread()];
        if pulled && let Some(at) = self.hung.control_at {
            #[allow(clippy::cast_precision_loss, reason = "a pull is a small number")]
            let force = self.settings.control_pull_lbf as f64;
            loads.push(Load::Point { at: inches(at.max(Length::ZERO).min(self.length)), force });
        }
        self.bend(spots, loads, 1.0).map_or_else(Vec::new, |bent| bent.reactions)
    }

    fn spread(&self) -> Load {
        let to = inches(self.length);
        Load::Spread { from: 0.0, to, per_length: self.hung.weight_lbf / to }
    }

    fn bend(&self, spots: &[Spot], loads: Vec<Load>, stiffness: f64) -> Option<beam::Bent> {
        let supports = spots.iter().map(|spot| inches(spot.at)).collect();
        Beam { length: inches(self.length), supports, loads, stiffness }.bend().ok()
    }

    /// The pull and the load across one screw for what comes down on its fixing, with the statics in words.
    fn statics(&self, down: f64) -> (f64, f64, Vec<Figure>) {
        let arm = inches(self.hung.mounting.projection);
        match self.bracket {
            _ if self.inside() => {
                let figures = vec![Figure::new("pull on the screw", down, "lbf", "the board hangs straight on it")];
                (down.max(0.0), 0.0, figures)
            }
            None => {
                let lever = inches(self.board.width) / 2.0;
                let pull = down * arm / lever;
                let figures = vec![
                    Figure::new(
                        "arm",
                        arm,
                        "in",
                        "from the wall out to the fabric, which hangs at the front of the board",
                    ),
                    Figure::new("prying moment", down * arm, "lbf in", "what comes down times the arm"),
                    Figure::new("lever", lever, "in", "from the foot of the board, where it bears, up to the screw"),
                    Figure::new("pull on the screw", pull, "lbf", "moment over lever"),
                    Figure::new("across the screw", down, "lbf", "what comes down"),
                ];
                (pull.max(0.0), down.abs(), figures)
            }
            Some(bracket) => {
                let heights: Vec<f64> = bracket.wall_holes.iter().map(|hole| inches(*hole)).collect();
                let squares: f64 = heights.iter().map(|height| height * height).sum();
                let top = heights.iter().copied().fold(0.0, f64::max);
                #[allow(clippy::cast_precision_loss, reason = "a bracket has a few holes")]
                let across = down / heights.len() as f64;
                let pull = down * arm * top / squares;
                let figures = vec![
                    Figure::new(
                        "arm",
                        arm,
                        "in",
                        "from the wall out to the fabric, which hangs at the front of the board",
                    ),
                    Figure::new("prying moment", down * arm, "lbf in", "what comes down times the arm"),
                    Figure::new("top hole", top, "in", "above the foot of the leg, about which the bracket turns"),
                    Figure::new(
                        "pull on the top screw",
                        pull,
                        "lbf",
                        "moment times its height over the sum of the squares of all the holes' heights",
                    ),
                    Figure::new("across each screw", across, "lbf", "what comes down, shared by the screws of the leg"),
                ];
                (pull.max(0.0), across.abs(), figures)
            }
        }
    }

    /// What one screw or anchor may take: straight out and across, at a normal load duration, and the figures.
    fn allowed(&self, on: Ground, anchor: Option<&Anchor>) -> (f64, f64, Vec<Figure>) {
        if on == Ground::Anchor {
            let Some(anchor) = anchor else { return (0.0, 0.0, Vec::new()) };
            #[allow(clippy::cast_precision_loss, reason = "a factor is a small number")]
            let factor = self.settings.anchor_factor as f64;
            let why = format!("its stated {} lbf over {factor} (anchor_factor)", anchor.pull_lbf);
            let figures = vec![Figure::new("an anchor may be pulled", anchor.pull_lbf / factor, "lbf", why)];
            return (anchor.pull_lbf / factor, anchor.shear_lbf / factor, figures);
        }
        let Some((screw, length)) = self.into_wood else { return (0.0, 0.0, Vec::new()) };
        let wood = self.catalogue.framing();
        let bites = length - self.passes;
        let thread = screw::thread(screw, length).min(bites);
        let (diameter, root) = (inches(screw.diameter), inches(screw.root));
        let Ok(per_inch) = screw::withdrawal(wood.gravity, diameter) else { return (0.0, 0.0, Vec::new()) };
        let joined = Joined {
            main: inches(bites),
            main_bearing: screw::wood_bearing(wood.gravity),
            side: inches(self.bracket.map_or(self.board.thickness, |bracket| bracket.leaf)),
            side_bearing: if self.bracket.is_some() {
                screw::STEEL_BEARING
            } else {
                screw::wood_bearing(self.catalogue.board_wood().gravity)
            },
        };
        let across = screw::lateral(diameter, root, joined).allowable();
        let figures = vec![
            Figure::new("thread in the wood", inches(thread), "in", "the threaded part, or what reaches the wood"),
            Figure::new(
                "withdrawal",
                per_inch,
                "lbf/in",
                format!("2850 G^2 D, NDS 2018 eq. 12.2-2, G {} ({}), D {diameter:.3} in", wood.gravity, wood.name),
            ),
            Figure::new(
                "a screw may be pulled",
                per_inch * inches(thread),
                "lbf",
                "withdrawal times thread, before load duration",
            ),
            Figure::new(
                "a screw may carry across",
                across,
                "lbf",
                "NDS 2018 yield limit equations, before load duration",
            ),
        ];
        (per_inch * inches(thread), across, figures)
    }

    fn carried(&self, down: f64, on: Ground, anchor: Option<&Anchor>, pulled: bool) -> Carried {
        let (pull, across, _) = self.statics(down);
        let (mut pull_allowed, mut across_allowed, _) = self.allowed(on, anchor);
        if on != Ground::Anchor {
            // Load duration is for wood; an anchor's stated value has its factor.
            let percent =
                if pulled { self.settings.withdrawal_pull_percent } else { self.settings.withdrawal_permanent_percent };
            #[allow(clippy::cast_precision_loss, reason = "a percentage is a small number")]
            let duration = percent as f64 / 100.0;
            pull_allowed *= duration;
            across_allowed *= duration;
        }
        let part = |load: f64, allowed: f64| match (load > 0.0, allowed > 0.0) {
            (false, _) => 0.0,
            (true, true) => load / allowed,
            (true, false) => f64::INFINITY,
        };
        // The plain sum is harsher than the NDS's own rule for both at once (12.4), which weighs by the angle.
        let used = part(pull, pull_allowed) + part(across, across_allowed);
        Carried {
            down_lbf: down,
            pull_lbf: pull,
            across_lbf: across,
            pull_allowed_lbf: pull_allowed,
            across_allowed_lbf: across_allowed,
            used,
            while_pulled: pulled,
        }
    }

    fn fix(&self, spots: &[Spot], anchor: Option<&Anchor>) -> Fixing {
        let settings = self.settings;
        let (still, pulled) = (self.reactions(spots, false), self.reactions(spots, true));
        let fixed: Vec<Fixed> = spots
            .iter()
            .enumerate()
            .map(|(i, spot)| {
                let on = self.ground(spot);
                let cases = [(still[i], false), (pulled[i], true)];
                let load = cases
                    .into_iter()
                    .map(|(down, pulled)| self.carried(down, on, anchor, pulled))
                    .max_by(|a, b| a.used.total_cmp(&b.used))
                    .unwrap_or_default();
                Fixed { at: spot.at, on, reason: spot.reason.clone(), load }
            })
            .collect();
        let mut fails = Vec::new();
        let screws = self.screws(&fixed, &mut fails);
        let anchored = fixed.iter().filter(|fixed| fixed.on == Ground::Anchor).count();
        let per = self.bracket.map_or(1, |bracket| bracket.wall_holes.len());
        let anchor_job = anchor.filter(|_| anchored > 0).map(|anchor| AnchorJob {
            anchor: anchor.name.clone(),
            count: anchored * per,
            hole: anchor.hole,
            passes: self.bracket.map_or(self.board.thickness, |bracket| bracket.leaf),
            stated_lbf: anchor.pull_lbf,
            factor: settings.anchor_factor,
        });
        if anchored > 0 && anchor_job.is_none() {
            fails.push("The catalogue has no anchor for what is behind this wall.".to_owned());
        }
        for fixed in fixed.iter().filter(|fixed| fixed.load.used > 1.0 && fixed.load.used.is_finite()) {
            fails.push(format!(
                "At {} the {} would carry {:.1} lbf straight out and {:.1} lbf across{}: {:.0} percent of what it may.",
                fixed.at.show_marked(self.unit),
                if fixed.on == Ground::Anchor { "anchor" } else { "screw" },
                fixed.load.pull_lbf,
                fixed.load.across_lbf,
                if fixed.load.while_pulled { " while the control is pulled" } else { "" },
                fixed.load.used * 100.0
            ));
        }
        let board_sag = self.board_sag(spots);
        if let Some(sag) = board_sag.filter(|sag| !sag.holds()) {
            fails.push(format!(
                "The board would sag {} between its fixings, more than {}.",
                show_inches(sag.most_in, self.unit),
                sag.limit.show_marked(self.unit)
            ));
        }
        let bar_sag = self.hung.bar.and_then(|bar| bar_sag(bar, settings));
        let mut flags = Vec::new();
        if let Some(sag) = bar_sag.filter(|sag| !sag.holds()) {
            flags.push(Flag::new(
                "bar_sags",
                Severity::Decide,
                &[],
                format!(
                    "The bottom bar sags {} between its cords, more than {}.",
                    show_inches(sag.most_in, self.unit),
                    sag.limit.show_marked(self.unit)
                ),
                "Take a deeper bar, or one more column of rings.",
            ));
        }
        let worst = fixed.iter().max_by(|a, b| a.load.used.total_cmp(&b.load.used));
        let statics = worst.map_or_else(Vec::new, |worst| self.explain(worst, anchor));
        let assumed = self.assumed(&mut flags);
        Fixing {
            holds: fails.is_empty(),
            fixed,
            brackets: self.bracket.is_some(),
            screws,
            anchor: anchor_job,
            statics,
            board_sag,
            bar_sag,
            fails,
            would: Vec::new(),
            assumed,
            flags,
        }
    }

    fn explain(&self, worst: &Fixed, anchor: Option<&Anchor>) -> Vec<Figure> {
        #[allow(clippy::cast_precision_loss, reason = "a pull is a small number")]
        let pull = self.settings.control_pull_lbf as f64;
        let mut figures =
            vec![Figure::new("weight", self.hung.weight_lbf, "lbf", "all that hangs on the wall, the board too")];
        if worst.load.while_pulled && self.hung.control_at.is_some() {
            figures.push(Figure::new("pull on the control", pull, "lbf", "control_pull_lbf, straight down"));
        }
        figures.push(Figure::new(
            format!("comes down at {}", worst.at.show_marked(self.unit)),
            worst.load.down_lbf,
            "lbf",
            "the hardest loaded fixing; the board taken as a beam on all of them",
        ));
        figures.extend(self.statics(worst.load.down_lbf).2);
        figures.extend(self.allowed(worst.on, anchor).2);
        if worst.on != Ground::Anchor {
            let (percent, name) = if worst.load.while_pulled {
                (self.settings.withdrawal_pull_percent, "withdrawal_pull_percent")
            } else {
                (self.settings.withdrawal_permanent_percent, "withdrawal_permanent_percent")
            };
            #[allow(clippy::cast_precision_loss, reason = "a percentage is a small number")]
            figures.push(Figure::new("load duration", percent as f64 / 100.0, "parts", name));
        }
        figures.push(Figure::new("used of what is allowed", worst.load.used, "parts", "pull and across added"));
        figures
    }

    fn assumed(&self, flags: &mut Vec<Flag>) -> Vec<String> {
        let wood = self.catalogue.framing();
        let mut assumed = vec![
            format!(
                "The wood behind is taken as {} (specific gravity {}), screwed into its side grain with the lead hole given.",
                wood.name, wood.gravity
            ),
            "The pull on the control goes straight down; whoever tugs it sideways or hangs on it is not reckoned with."
                .to_owned(),
            "The wall is not known until it is probed.".to_owned(),
        ];
        if !self.inside() && self.into_wood.is_some() {
            assumed.push(format!(
                "{} of plasterboard or plaster lies tight in front of the wood and holds nothing.",
                self.settings.wall_covering.show_marked(self.unit)
            ));
        }
        if self.backing == Backing::Unknown {
            let (says, places): (String, &[Place]) = if self.inside() {
                ("Nobody said what is behind the head; it is taken as wood.".to_owned(), &[])
            } else if self.studs.is_empty() {
                ("Nobody said what is behind the wall; it is taken as plasterboard without studs.".to_owned(), &[])
            } else {
                ("Nobody said what is behind the wall; it is taken as plasterboard on the studs given.".to_owned(), &[])
            };
            assumed.push(says.clone());
            flags.push(Flag::new(
                "backing_not_known",
                Severity::Decide,
                places,
                says,
                "Find out with a finder or a small pilot hole before hanging.",
            ));
        }
        assumed
    }

    fn board_sag(&self, spots: &[Spot]) -> Option<Sag> {
        let wood = self.catalogue.board_wood().elasticity_mpsi?;
        let (thickness, width) = (inches(self.board.thickness), inches(self.board.width));
        let upright = self.hung.mounting.form == Form::OutsideFlush;
        let (across, up) = if upright { (thickness, width) } else { (width, thickness) };
        let stiffness = wood * 1e6 * across * up.powi(3) / 12.0;
        let bent = self.bend(spots, vec![self.spread()], stiffness)?;
        let (most_in, at_in) = (bent.deflection.value, bent.deflection.at);
        Some(Sag { most_in, at_in, limit: self.settings.sag_limit })
    }

    /// The screws to bring, and what fails about them.
    fn screws(&self, fixed: &[Fixed], fails: &mut Vec<String>) -> Vec<ScrewJob> {
        let (settings, unit) = (self.settings, self.unit);
        let end = fixed.iter().map(|fixed| fixed.at.min(self.length - fixed.at)).min().unwrap_or_default();
        let in_wood = fixed.iter().filter(|fixed| fixed.on != Ground::Anchor).count();
        let mut jobs = Vec::new();
        if in_wood > 0 {
            let framing = self.catalogue.framing();
            match self.into_wood {
                None => fails.push(format!(
                    "No screw of the catalogue is long enough: {} to pass and {} of bite are {}.",
                    self.passes.show_marked(unit),
                    settings.screw_bite.show_marked(unit),
                    (self.passes + settings.screw_bite).show_marked(unit)
                )),
                Some((screw, length)) => {
                    let (job, count, split) = match (self.bracket, self.inside()) {
                        (Some(bracket), _) => (Job::BracketToWall, in_wood * bracket.wall_holes.len(), None),
                        (None, inside) => {
                            let edge = self.board.width.split(2, 1);
                            let job = if inside { Job::BoardToHead } else { Job::BoardToWall };
                            (job, in_wood, Some(Split::of(screw, end, edge, settings)))
                        }
                    };
                    let bites = length - self.passes;
                    jobs.push(ScrewJob {
                        job,
                        screw: screw.name.clone(),
                        length,
                        count,
                        passes: self.passes,
                        bites,
                        thread: screw::thread(screw, length).min(bites),
                        lead: screw::lead_hole(screw, framing, settings, unit),
                        through: screw::through_hole(screw, unit),
                        left: None,
                        stays_in: true,
                        split,
                    });
                }
            }
        }
        if let Some(bracket) = self.bracket {
            match self.into_board(bracket) {
                None => fails.push(format!(
                    "No screw of the catalogue stays in a board of {} through the leaf of this bracket.",
                    self.board.thickness.show_marked(unit)
                )),
                Some((screw, length)) => {
                    let edge = bracket
                        .board_holes
                        .iter()
                        .map(|hole| (*hole).min(self.board.width - *hole))
                        .min()
                        .unwrap_or_default();
                    let bites = length - bracket.leaf;
                    jobs.push(ScrewJob {
                        job: Job::BracketToBoard,
                        screw: screw.name.clone(),
                        length,
                        count: fixed.len() * bracket.board_holes.len(),
                        passes: bracket.leaf,
                        bites,
                        thread: screw::thread(screw, length).min(bites),
                        lead: screw::lead_hole(screw, self.catalogue.board_wood(), settings, unit),
                        through: screw::through_hole(screw, unit),
                        left: Some(self.board.thickness - bites),
                        stays_in: self.board.thickness - bites >= settings.poke_through,
                        split: Some(Split::of(screw, end, edge, settings)),
                    });
                }
            }
        }
        for job in &jobs {
            if let Some(split) = job.split.filter(|split| !split.holds()) {
                fails.push(format!(
                    "A {} screw {} would split the board: {} from its end and {} from its edge, where {} and {} are needed.",
                    job.screw,
                    job.job.words(),
                    split.end.show_marked(unit),
                    split.edge.show_marked(unit),
                    split.end_needs.show_marked(unit),
                    split.edge_needs.show_marked(unit)
                ));
            }
        }
        jobs
    }

    /// The longest screw through the bracket's leaf that stays in the board.
    fn into_board(&self, bracket: &Bracket) -> Option<(&'a Screw, Length)> {
        let screw = self.catalogue.screw(&bracket.screw)?;
        let most = bracket.leaf + self.board.thickness - self.settings.poke_through;
        screw.lengths.iter().rev().find(|length| **length <= most).map(|length| (screw, *length))
    }

    /// What would hold: each is tried, and only what holds is offered.
    fn offers(&self, fewest: i64, usual: Option<&'a Anchor>) -> Vec<String> {
        let mut would = Vec::new();
        let kind = if self.bracket.is_some() { "brackets" } else { "screws" };
        let holds_with = |rig: &Self, anchor: Option<&Anchor>| {
            (fewest..fewest + MORE).find(|n| {
                place::search(*n, &rig.wanted(rig.hung.eyes), rig.settings)
                    .is_some_and(|spots| rig.fix(&spots, anchor).holds)
            })
        };
        for anchor in self.anchors.iter().filter(|anchor| Some(anchor.name.as_str()) != usual.map(|u| u.name.as_str()))
        {
            if let Some(n) = holds_with(self, Some(anchor)) {
                would.push(format!(
                    "With the {} in place of the {}, {n} {kind} hold.",
                    anchor.name,
                    usual.map_or("usual one", |u| u.name.as_str())
                ));
                break;
            }
        }
        // Another board of the catalogue, where the same bracket carries it.
        for board in &self.catalogue.boards {
            let suits = self.bracket.is_none_or(|bracket| {
                bracket.arm <= board.width && bracket.arm * 100 >= board.width * self.settings.bracket_arm_percent
            });
            if board.size == self.board.size || !suits || self.hung.mounting.form == Form::OutsideFlush {
                continue;
            }
            let mounting = Mounting { board: board.clone(), ..self.hung.mounting.clone() };
            let hung = Hung { mounting: &mounting, ..*self.hung };
            let rig = Rig::of(&hung, self.settings, self.catalogue, self.unit);
            if let Some(n) = holds_with_rig(&rig, fewest, usual) {
                would.push(format!("With a {} board, {n} {kind} hold.", board.size.name()));
                break;
            }
        }
        if !self.inside() && self.backing != Backing::Wood {
            let wall = Wall { above: Backing::Wood, ..self.hung.wall.clone() };
            let hung = Hung { wall: &wall, ..*self.hung };
            let rig = Rig::of(&hung, self.settings, self.catalogue, self.unit);
            if let Some(n) = holds_with_rig(&rig, fewest, usual) {
                would.push(format!("Into wood all along (studs or a header, found by probing), {n} {kind} hold."));
            }
        }
        would
    }

    fn no_place(&self) -> Fixing {
        let mut flags = Vec::new();
        let assumed = self.assumed(&mut flags);
        Fixing {
            fixed: Vec::new(),
            brackets: self.bracket.is_some(),
            screws: Vec::new(),
            anchor: None,
            statics: Vec::new(),
            board_sag: None,
            bar_sag: None,
            holds: false,
            fails: vec![format!(
                "On a board of {} no two places are clear of the screw eyes and near enough to its ends.",
                self.length.show_marked(self.unit)
            )],
            would: vec!["Move a column of rings, or take fewer of them.".to_owned()],
            assumed,
            flags,
        }
    }
}

fn holds_with_rig(rig: &Rig<'_>, fewest: i64, anchor: Option<&Anchor>) -> Option<i64> {
    (fewest..fewest + MORE).find(|n| {
        place::search(*n, &rig.wanted(rig.hung.eyes), rig.settings).is_some_and(|spots| rig.fix(&spots, anchor).holds)
    })
}

/// The shortest screw of at least this length: of the wanted name, else of the next thicker ones.
fn long_enough<'a>(catalogue: &'a Catalogue, wanted: &str, least: Length) -> Option<(&'a Screw, Length)> {
    let from = catalogue.screws.iter().position(|screw| screw.name == wanted)?;
    catalogue.screws[from..]
        .iter()
        .find_map(|screw| screw.lengths.iter().find(|length| **length >= least).map(|length| (screw, *length)))
}

>>>>>>> ae54f6b (Sheets, the worked house, and the program's commands on the book)
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
            reachable: matches!(kind.lift, Lift::CordLock | Lift::ChainLoop),
        })
        .collect();
    offers.sort_by(|a, b| {
        (a.reachable, !a.lifts).cmp(&(b.reachable, !b.lifts)).then(a.kind.lifts_lbf.total_cmp(&b.kind.lifts_lbf))
    });
    offers
}

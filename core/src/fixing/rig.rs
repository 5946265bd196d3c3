//! Working one fixing plan: what every screw, bracket and anchor carries, what it may, and what would hold instead.

use super::beam::{self, Beam, Load};
use super::place::{self, Spot, Wanted};
use super::screw::{self, Joined, Split, inches};
use super::{
    AnchorJob, Carried, Figure, Fixed, Fixing, Ground, Hung, Job, Sag, ScrewJob, bar_sag, show_inches, shown_force,
};
use crate::flag::{Flag, Severity};
use crate::house::{Backing, Wall};
use crate::length::{Length, LengthUnit};
use crate::mount::{Anchor, Board, Bracket, Catalogue, Form, Mounting, Screw, Species};
use crate::settings::Settings;

/// How many more than the fewest are tried before something else is offered.
pub(super) const MORE: i64 = 3;

/// What stays the same while places and numbers are tried.
pub(super) struct Rig<'a> {
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
    pub(super) anchors: Vec<&'a Anchor>,
    /// The screw into wood, and its length; nothing when none is long enough.
    into_wood: Option<(&'a Screw, Length)>,
    /// What that screw passes.
    passes: Length,
    /// What that screw may take; nothing when there is none, or no published expression says.
    wood_holds: Option<WoodHolds>,
}

/// What one screw may take in the wood behind, at a normal load duration.
struct WoodHolds {
    /// Inches.
    diameter: f64,
    /// Inches of thread in the wood.
    thread: f64,
    /// Pounds-force straight out.
    pull: f64,
    /// Pounds-force across.
    across: f64,
}

impl WoodHolds {
    /// `side` is the thickness under the head and its dowel bearing strength.
    fn of(screw: &Screw, size: Length, passes: Length, side: (Length, f64), wood: &Species) -> Option<Self> {
        let bites = size - passes;
        let thread = inches(screw::thread(screw, size).min(bites));
        let diameter = inches(screw.diameter);
        let pull = screw::withdrawal(wood.gravity, diameter).ok()? * thread;
        let joined = Joined {
            main: inches(bites),
            main_bearing: screw::wood_bearing(wood.gravity),
            side: inches(side.0),
            side_bearing: side.1,
        };
        let across = screw::lateral(diameter, inches(screw.root), joined).allowable();
        Some(Self { diameter, thread, pull, across })
    }
}

/// The height of a bracket's top hole above its foot, and the sum of the squares of all of them, inches.
fn levers(bracket: &Bracket) -> (f64, f64) {
    bracket
        .wall_holes
        .iter()
        .map(|hole| inches(*hole))
        .fold((0.0, 0.0), |(top, squares), height| (f64::max(top, height), squares + height * height))
}

impl<'a> Rig<'a> {
    pub(super) fn of(hung: &'a Hung<'a>, settings: &'a Settings, catalogue: &'a Catalogue, unit: LengthUnit) -> Self {
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
        let wood_holds = into_wood.and_then(|(screw, size)| {
            let side = match bracket {
                Some(bracket) => (bracket.leaf, screw::STEEL_BEARING),
                None => (board.thickness, screw::wood_bearing(catalogue.board_wood().gravity)),
            };
            WoodHolds::of(screw, size, passes, side, catalogue.framing())
        });
        Self {
            hung,
            board,
            bracket,
            length,
            settings,
            catalogue,
            unit,
            backing,
            studs,
            anchors,
            into_wood,
            passes,
            wood_holds,
        }
    }

    fn inside(&self) -> bool {
        self.hung.mounting.form == Form::Inside
    }

    pub(super) fn wanted<'b>(&'b self, eyes: &'b [Length]) -> Wanted<'b> {
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

    /// The pull on the hardest pulled screw of a fixing, and the load across each, for what comes down on it.
    fn prying(&self, down: f64) -> (f64, f64) {
        let arm = inches(self.hung.mounting.projection);
        let (pull, across) = match self.bracket {
            _ if self.inside() => (down, 0.0),
            None => (down * arm / self.lever(), down),
            Some(bracket) => {
                let (top, squares) = levers(bracket);
                #[allow(clippy::cast_precision_loss, reason = "a bracket has a few holes")]
                let screws = bracket.wall_holes.len() as f64;
                (down * arm * top / squares, down / screws)
            }
        };
        (pull.max(0.0), across.abs())
    }

    /// From the foot of a flush board, where it bears, up to its screws in the middle.
    fn lever(&self) -> f64 {
        inches(self.board.width) / 2.0
    }

    /// The statics of [`Self::prying`] in words.
    fn prying_words(&self, down: f64) -> Vec<Figure> {
        let arm = inches(self.hung.mounting.projection);
        let (pull, across) = self.prying(down);
        if self.inside() {
            return vec![Figure::new("pull on the screw", pull, "lbf", "the board hangs straight on it")];
        }
        let mut figures = vec![
            Figure::new("arm", arm, "in", "from the wall out to the fabric, which hangs at the front of the board"),
            Figure::new("prying moment", down * arm, "lbf in", "what comes down times the arm"),
        ];
        match self.bracket {
            None => figures.extend([
                Figure::new("lever", self.lever(), "in", "from the foot of the board, where it bears, up to the screw"),
                Figure::new("pull on the screw", pull, "lbf", "moment over lever"),
                Figure::new("across the screw", across, "lbf", "what comes down"),
            ]),
            Some(bracket) => figures.extend([
                Figure::new(
                    "top hole",
                    levers(bracket).0,
                    "in",
                    "above the foot of the leg, about which the bracket turns",
                ),
                Figure::new(
                    "pull on the top screw",
                    pull,
                    "lbf",
                    "moment times its height over the sum of the squares of all the holes' heights",
                ),
                Figure::new("across each screw", across, "lbf", "what comes down, shared by the screws of the leg"),
            ]),
        }
        figures
    }

    fn factor(&self) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "a factor is a small number")]
        let factor = self.settings.anchor_factor.max(1) as f64;
        factor
    }

    /// What one screw or anchor may take, straight out and across, at a normal load duration; nothing where neither
    /// the catalogue nor a published expression says.
    fn allowed(&self, on: Ground, anchor: Option<&Anchor>) -> Option<(f64, f64)> {
        match on {
            Ground::Anchor => anchor.map(|anchor| (anchor.pull_lbf / self.factor(), anchor.shear_lbf / self.factor())),
            Ground::Wood | Ground::Stud => self.wood_holds.as_ref().map(|holds| (holds.pull, holds.across)),
        }
    }

    /// Where [`Self::allowed`] comes from, in words.
    fn allowed_words(&self, on: Ground, anchor: Option<&Anchor>) -> Vec<Figure> {
        if on == Ground::Anchor {
            return anchor.map_or_else(Vec::new, |anchor| {
                let stated = shown_force(anchor.pull_lbf, self.unit);
                let why = format!("its stated {stated} over {} (anchor_factor)", self.factor());
                vec![Figure::new("an anchor may be pulled", anchor.pull_lbf / self.factor(), "lbf", why)]
            });
        }
        let (Some(holds), wood) = (&self.wood_holds, self.catalogue.framing()) else { return Vec::new() };
        let source =
            format!("2850 G^2 D, NDS 2018 eq. 12.2-2, G {} ({}), D {:.3} in", wood.gravity, wood.name, holds.diameter);
        vec![
            Figure::new("thread in the wood", holds.thread, "in", "the threaded part, or what reaches the wood"),
            Figure::new("withdrawal", holds.pull / holds.thread, "lbf/in", source),
            Figure::new("a screw may be pulled", holds.pull, "lbf", "withdrawal times thread, before load duration"),
            Figure::new(
                "a screw may carry across",
                holds.across,
                "lbf",
                "NDS 2018 yield limit equations, before load duration",
            ),
        ]
    }

    fn carried(&self, down: f64, on: Ground, anchor: Option<&Anchor>, pulled: bool) -> Carried {
        let (pull, across) = self.prying(down);
        let (mut pull_allowed, mut across_allowed) = self.allowed(on, anchor).unwrap_or_default();
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

    pub(super) fn fix(&self, spots: &[Spot], anchor: Option<&Anchor>) -> Fixing {
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
        if self.into_wood.is_some() && self.wood_holds.is_none() && anchored < fixed.len() {
            fails.push(format!(
                "No published expression says what this screw holds in {}.",
                self.catalogue.framing().name
            ));
        }
        for fixed in fixed.iter().filter(|fixed| fixed.load.used > 1.0 && fixed.load.used.is_finite()) {
            fails.push(format!(
                "At {} the {} would carry {} straight out and {} across{}: {:.0} percent of what it may.",
                fixed.at.show_marked(self.unit),
                if fixed.on == Ground::Anchor { "anchor" } else { "screw" },
                shown_force(fixed.load.pull_lbf, self.unit),
                shown_force(fixed.load.across_lbf, self.unit),
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
        let assumed = self.assumed(fixed.iter().any(|fixed| fixed.on != Ground::Anchor), &mut flags);
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
        figures.extend(self.prying_words(worst.load.down_lbf));
        figures.extend(self.allowed_words(worst.on, anchor));
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

    /// What was assumed; `in_wood` when any fixing bites into wood.
    fn assumed(&self, in_wood: bool, flags: &mut Vec<Flag>) -> Vec<String> {
        let mut assumed = Vec::new();
        if in_wood {
            let wood = self.catalogue.framing();
            assumed.push(format!(
                "The wood behind is taken as {} (specific gravity {}), screwed into its side grain with the lead hole given.",
                wood.name, wood.gravity
            ));
            if !self.inside() {
                assumed.push(format!(
                    "{} of plasterboard or plaster lies tight in front of the wood and holds nothing.",
                    self.settings.wall_covering.show_marked(self.unit)
                ));
            }
        }
        assumed.push(
            "The pull on the control goes straight down; tugging it sideways or hanging on it is not reckoned with."
                .to_owned(),
        );
        assumed.push("The wall is not known until it is probed.".to_owned());
        if self.backing == Backing::Unknown {
            let says = if self.inside() {
                "Nobody said what is behind the head; it is taken as wood."
            } else if self.studs.is_empty() {
                "Nobody said what is behind the wall; it is taken as plasterboard without studs."
            } else {
                "Nobody said what is behind the wall; it is taken as plasterboard on the studs given."
            };
            assumed.push(says.to_owned());
            flags.push(Flag::new(
                "backing_not_known",
                Severity::Decide,
                &[],
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
            match self.screw_of_board(bracket) {
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
    fn screw_of_board(&self, bracket: &Bracket) -> Option<(&'a Screw, Length)> {
        let screw = self.catalogue.screw(&bracket.screw)?;
        let most = bracket.leaf + self.board.thickness - self.settings.poke_through;
        screw.lengths.iter().rev().find(|length| **length <= most).map(|length| (screw, *length))
    }

    /// The fewest that hold with this anchor.
    fn holds_with(&self, fewest: i64, anchor: Option<&Anchor>) -> Option<i64> {
        (fewest..fewest + MORE).find(|n| {
            place::search(*n, &self.wanted(self.hung.eyes), self.settings)
                .is_some_and(|spots| self.fix(&spots, anchor).holds)
        })
    }

    /// What would hold: each is tried, and only what holds is offered.
    pub(super) fn offers(&self, fewest: i64, usual: Option<&'a Anchor>) -> Vec<String> {
        let mut would = Vec::new();
        let kind = if self.bracket.is_some() { "brackets" } else { "screws" };
        for anchor in self.anchors.iter().filter(|anchor| Some(anchor.name.as_str()) != usual.map(|u| u.name.as_str()))
        {
            if let Some(n) = self.holds_with(fewest, Some(anchor)) {
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
            if let Some(n) = rig.holds_with(fewest, usual) {
                would.push(format!("With a {} board, {n} {kind} hold.", board.size.name()));
                break;
            }
        }
        if !self.inside() && self.backing != Backing::Wood {
            let wall = Wall { above: Backing::Wood, ..self.hung.wall.clone() };
            let hung = Hung { wall: &wall, ..*self.hung };
            let rig = Rig::of(&hung, self.settings, self.catalogue, self.unit);
            if let Some(n) = rig.holds_with(fewest, usual) {
                would.push(format!("Into wood all along (studs or a header, found by probing), {n} {kind} hold."));
            }
        }
        would
    }

    pub(super) fn no_place(&self) -> Fixing {
        let mut flags = Vec::new();
        let assumed = self.assumed(true, &mut flags);
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

/// The shortest screw of at least this length: of the wanted name, else of the next thicker ones.
fn long_enough<'a>(catalogue: &'a Catalogue, wanted: &str, least: Length) -> Option<(&'a Screw, Length)> {
    let from = catalogue.screws.iter().position(|screw| screw.name == wanted)?;
    catalogue.screws[from..]
        .iter()
        .find_map(|screw| screw.lengths.iter().find(|length| **length >= least).map(|length| (screw, *length)))
}

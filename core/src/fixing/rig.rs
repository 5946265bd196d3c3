//! Working one fixing plan: what every screw, bracket and anchor carries, what it may, and what would hold instead.

use super::beam::{self, Beam, Load};
use super::place::{self, Spot, Wanted};
use super::screw::{self, Joined, Split, inches};
use super::{
    AnchorJob, Carried, Figure, Fixed, Fixing, Ground, Hung, Job, Sag, ScrewJob, bar_sag, show_inches, shown_force,
};
use crate::flag::{Flag, Severity, listed};
use crate::house::{AnchorScrew, Backing, Wall};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::mount::{Anchor, Board, Bracket, Catalogue, Form, Mounting, Screw, Species};
use crate::settings::Settings;

/// How many more than the fewest are tried before something else is offered.
const MORE: i64 = 3;

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
    anchors: Vec<&'a Anchor>,
    /// What a screw passes first: the board, or the leaf of its bracket.
    held: Length,
    /// What it passes then, which holds nothing: plasterboard in front of wood.
    covering: Length,
}

/// What is tried: which anchor where there is no wood, how strong a screw where there is, and where.
#[derive(Clone, Copy)]
pub(super) struct Means<'a> {
    anchor: Option<&'a Anchor>,
    bite: Bite,
    studs_only: bool,
}

/// How strong a screw into wood is asked for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bite {
    /// The usual screw, as short as may be.
    Usual,
    /// The usual screw, so deep that all of its value across counts.
    Deep,
    /// The next thicker screw, that deep.
    Thick,
}

/// A screw into wood, for one place.
#[derive(Clone, Copy)]
struct Pick<'a> {
    screw: &'a Screw,
    size: Length,
    passes: Length,
    /// Nothing where no published expression says what it holds.
    holds: Option<WoodHolds>,
}

impl Pick<'_> {
    fn bites(&self) -> Length {
        self.size - self.passes
    }
}

/// What one screw may take in the wood behind, at a normal load duration.
#[derive(Clone, Copy)]
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
    /// `side` is the thickness under the head and its dowel bearing strength, `gap` what holds nothing behind it.
    fn of(
        screw: &Screw,
        bites: Length,
        thread: Length,
        side: (Length, f64),
        gap: Length,
        wood: &Species,
    ) -> Option<Self> {
        let thread = inches(thread.min(bites));
        let diameter = inches(screw.diameter);
        let pull = screw::withdrawal(wood.gravity, diameter).ok()? * thread;
        let joined = Joined {
            main: inches(bites),
            main_bearing: screw::wood_bearing(wood.gravity),
            side: inches(side.0),
            side_bearing: side.1,
            gap: inches(gap),
        };
        let across = screw::allowed_across(diameter, inches(screw.root), joined);
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
        let (backing, lines) = match mounting.form {
            Form::Inside => (hung.wall.head, &hung.wall.studs),
            Form::OutsideCeiling => (hung.wall.ceiling, &hung.wall.joists),
            // A beam or frame is solid, unless it is said otherwise.
            Form::OutsideFace if hung.wall.above == Backing::Unknown => (Backing::Wood, &hung.wall.studs),
            _ => (hung.wall.above, &hung.wall.studs),
        };
        let offset = mounting.left_past() - settings.board_deduction.split(2, 1);
        let studs = if inside || matches!(backing, Backing::Wood | Backing::Masonry | Backing::Steel) {
            Vec::new()
        } else {
            lines
                .iter()
                .map(|stud| stud.value() + offset)
                .filter(|stud| *stud > Length::ZERO && *stud < length)
                .collect()
        };
        let board_backing = if backing == Backing::Unknown { Backing::Plasterboard } else { backing };
        let anchors = catalogue.anchors.iter().filter(|anchor| anchor.backing == board_backing).collect();
        let covering = match (inside, backing) {
            (true, Backing::Wood | Backing::Unknown) => Length::ZERO,
            // The bare face of a beam has no plaster before it.
            (false, Backing::Wood | Backing::Steel) if mounting.form == Form::OutsideFace => Length::ZERO,
            _ => settings.wall_covering,
        };
        let held = bracket.map_or(board.thickness, |bracket| bracket.leaf);
        Self { hung, board, bracket, length, settings, catalogue, unit, backing, studs, anchors, held, covering }
    }

    /// What is tried, the usual first: stronger screws where there is wood, stronger anchors where there is none.
    pub(super) fn means(&self) -> Vec<Means<'a>> {
        let mut anchors: Vec<Option<&'a Anchor>> = self.anchors.iter().copied().map(Some).collect();
        if anchors.is_empty() {
            anchors.push(None);
        }
        let bites = [Bite::Usual, Bite::Deep, Bite::Thick];
        let some_wood = self.backing == Backing::Wood || self.inside() || !self.studs.is_empty();
        let bites = match (some_wood, self.bracket) {
            (false, _) => &bites[..1],
            // A bracket's holes take one screw only.
            (true, Some(_)) => &bites[..2],
            (true, None) => &bites[..],
        };
        let mut means = Vec::new();
        for (i, anchor) in anchors.iter().enumerate() {
            for bite in bites {
                for studs_only in [false, true] {
                    // On studs alone no anchor is used, so one of them is tried.
                    if !studs_only || (i == 0 && !self.studs.is_empty()) {
                        means.push(Means { anchor: *anchor, bite: *bite, studs_only });
                    }
                }
            }
        }
        means
    }

    /// The places to try with these means, the fewest first.
    pub(super) fn plans(&self, fewest: i64, means: Means<'a>) -> impl Iterator<Item = Vec<Spot>> {
        let numbers = if means.studs_only { fewest..fewest + 1 } else { fewest..fewest + MORE };
        numbers.filter_map(move |n| {
            let wanted = self.wanted(self.hung.eyes);
            if means.studs_only {
                place::on_studs(&wanted, self.settings)
            } else {
                place::search(n, &wanted, self.settings)
            }
        })
    }

    /// The gap between the board and what it is fixed to, at a place of it: under a head that slopes, rounded up to the
    /// tape, or the packing behind it.
    fn gap(&self, at: Length) -> Length {
        let mounting = self.hung.mounting;
        let wedge = mounting
            .wedge
            .map_or(Length::ZERO, |wedge| wedge.over(at, self.length).round(Grain::of_tape(self.unit), Direction::Up));
        wedge + mounting.packing
    }

    /// The screw into wood at a place: the shortest that passes what is in front of the wood and bites as asked.
    fn pick(&self, gap: Length, bite: Bite) -> Option<Pick<'a>> {
        let wanted = self.bracket.map_or(self.board.screw.as_str(), |bracket| bracket.screw.as_str());
        let from = self.catalogue.screws.iter().position(|screw| screw.name == wanted)?;
        let passes = self.held + self.covering + gap;
        let least = |screw: &Screw| {
            let diameters = match bite {
                Bite::Usual => screw.diameter * self.settings.screw_bite_diameters,
                Bite::Deep | Bite::Thick => screw.diameter * 10,
            };
            passes + self.settings.screw_bite.max(diameters)
        };
        // A bracket's holes take its own screw only; through a board the next thicker ones serve where it is too short.
        let from = if bite == Bite::Thick { from + 1 } else { from };
        let to = if self.bracket.is_some() {
            (from + 1).min(self.catalogue.screws.len())
        } else {
            self.catalogue.screws.len()
        };
        let (screw, size) = self.catalogue.screws.get(from..to)?.iter().find_map(|screw| {
            let size = screw.lengths.iter().find(|length| **length >= least(screw))?;
            Some((screw, *size))
        })?;
        let side = match self.bracket {
            Some(bracket) => (bracket.leaf, screw::STEEL_BEARING),
            None => (self.board.thickness, screw::wood_bearing(self.catalogue.board_wood().gravity)),
        };
        let thread = screw::thread(screw, size);
        let holds = WoodHolds::of(screw, size - passes, thread, side, self.covering + gap, self.catalogue.framing());
        Some(Pick { screw, size, passes, holds })
    }

    /// The anchor's own screw at a place: the shortest that passes what is in front of the wall and takes hold.
    fn anchor_screw(&self, gap: Length, anchor: Option<&'a Anchor>) -> Option<(&'a AnchorScrew, Length)> {
        let screw = anchor?.screw.as_ref()?;
        let size = screw.lengths.iter().find(|length| **length >= self.held + gap + screw.into)?;
        Some((screw, *size))
    }

    fn inside(&self) -> bool {
        self.hung.mounting.form == Form::Inside
    }

    fn under_ceiling(&self) -> bool {
        self.hung.mounting.form == Form::OutsideCeiling
    }

    /// True where the board hangs straight on screws that go up through it.
    fn hangs_straight(&self) -> bool {
        self.hung.mounting.form.is_screwed_up()
    }

    pub(super) fn wanted<'b>(&'b self, eyes: &'b [Length]) -> Wanted<'b> {
        let thickest = self.pick(Length::ZERO, Bite::Usual).map_or(Length::ZERO, |pick| pick.screw.diameter);
        let half = self.bracket.map_or(Length::ZERO, |bracket| bracket.across.split(2, 1));
        let end_least = thickest * self.settings.split_end_diameters;
        Wanted {
            board: self.length,
            half,
            end_least,
            ends: self.hung.mounting.ends_clear,
            eyes,
            studs: &self.studs,
            line: if self.under_ceiling() { "joist" } else { "stud" },
            unit: self.unit,
        }
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
            _ if self.hangs_straight() => (down, 0.0),
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
        if self.hangs_straight() {
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
    fn allowed(&self, on: Ground, anchor: Option<&Anchor>, wood: Option<WoodHolds>) -> Option<(f64, f64)> {
        match on {
            Ground::Anchor => anchor.map(|anchor| (anchor.pull_lbf / self.factor(), anchor.shear_lbf / self.factor())),
            Ground::Wood | Ground::Stud => wood.map(|holds| (holds.pull, holds.across)),
        }
    }

    /// Where [`Self::allowed`] comes from, in words.
    fn allowed_words(&self, on: Ground, anchor: Option<&Anchor>, wood: Option<WoodHolds>) -> Vec<Figure> {
        if on == Ground::Anchor {
            return anchor.map_or_else(Vec::new, |anchor| {
                let stated = shown_force(anchor.pull_lbf, self.unit);
                let why = format!("its stated {stated} over {} (anchor_factor)", self.factor());
                vec![Figure::new("an anchor may be pulled", anchor.pull_lbf / self.factor(), "lbf", why)]
            });
        }
        let (Some(holds), wood) = (wood, self.catalogue.framing()) else { return Vec::new() };
        let diameter = show_inches(holds.diameter, self.unit);
        let source =
            format!("2850 G^2 D (lbf, in), NDS 2018 eq. 12.2-2, G {} ({}), D {diameter}", wood.gravity, wood.name);
        vec![
            Figure::new("thread in the wood", holds.thread, "in", "the threaded part, or what reaches the wood"),
            Figure::new("withdrawal", holds.pull / holds.thread, "lbf/in", source),
            Figure::new("a screw may be pulled", holds.pull, "lbf", "withdrawal times thread, before load duration"),
            Figure::new(
                "a screw may carry across",
                holds.across,
                "lbf",
                "NDS 2018 yield limit equations, the gap reckoned with (TR-12); by p / 10 D below 10 diameters; from memory",
            ),
        ]
    }

    fn carried(
        &self,
        down: f64,
        on: Ground,
        anchor: Option<&Anchor>,
        wood: Option<WoodHolds>,
        pulled: bool,
    ) -> Carried {
        let (pull, across) = self.prying(down);
        let (mut pull_allowed, mut across_allowed) = self.allowed(on, anchor, wood).unwrap_or_default();
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

    pub(super) fn fix(&self, spots: &[Spot], means: Means<'a>) -> Fixing {
        let (settings, anchor) = (self.settings, means.anchor);
        let (still, pulled) = (self.reactions(spots, false), self.reactions(spots, true));
        let level = self.pick(Length::ZERO, means.bite);
        let mut picks = Vec::with_capacity(spots.len());
        let fixed: Vec<Fixed> = spots
            .iter()
            .enumerate()
            .map(|(i, spot)| {
                let (on, gap) = (self.ground(spot), self.gap(spot.at));
                let pick = if gap == Length::ZERO { level } else { self.pick(gap, means.bite) };
                let wood = pick.and_then(|pick| pick.holds);
                let cases = [(still[i], false), (pulled[i], true)];
                let load = cases
                    .into_iter()
                    .map(|(down, pulled)| self.carried(down, on, anchor, wood, pulled))
                    .max_by(|a, b| a.used.total_cmp(&b.used))
                    .unwrap_or_default();
                let (screw_length, bites) = if on == Ground::Anchor {
                    let screw = self.anchor_screw(gap, anchor).map(|(_, size)| size);
                    (screw, screw.map_or(Length::ZERO, |size| size - self.held - gap))
                } else {
                    (pick.map(|pick| pick.size), pick.map_or(Length::ZERO, |pick| pick.bites()))
                };
                picks.push(pick);
                let reason = if gap > Length::ZERO {
                    format!("{}; pack the gap of about {} over it", spot.reason, gap.show_marked(self.unit))
                } else {
                    spot.reason.clone()
                };
                Fixed { at: spot.at, on, reason, gap, screw_length, bites, load }
            })
            .collect();
        let mut fails = Vec::new();
        let screws = self.screws(&fixed, &picks, anchor, &mut fails);
        let anchored: Vec<&Fixed> = fixed.iter().filter(|fixed| fixed.on == Ground::Anchor).collect();
        let per = self.bracket.map_or(1, |bracket| bracket.wall_holes.len());
        let anchor_job = anchor.filter(|_| !anchored.is_empty()).map(|anchor| AnchorJob {
            anchor: anchor.name.clone(),
            count: anchored.len() * per,
            hole: anchor.hole,
            passes: self.held + anchored.iter().map(|fixed| fixed.gap).max().unwrap_or_default(),
            at: anchored.iter().map(|fixed| fixed.at).collect(),
            stated_lbf: anchor.pull_lbf,
            factor: settings.anchor_factor,
        });
        if !anchored.is_empty() && anchor_job.is_none() {
            fails.push("The catalogue has no anchor for what is behind this wall.".to_owned());
        }
        let unsaid = |(fixed, pick): (&Fixed, &Option<Pick<'_>>)| {
            fixed.on != Ground::Anchor && pick.is_some_and(|pick| pick.holds.is_none())
        };
        if fixed.iter().zip(&picks).any(unsaid) {
            fails.push(format!(
                "No published expression says what this screw holds in {}.",
                self.catalogue.framing().name
            ));
        }
        for fixed in fixed.iter().filter(|fixed| fixed.load.used.is_infinite() && fixed.screw_length.is_some()) {
            fails.push(format!(
                "At {} the screw bites {}, too little to carry anything across it.",
                fixed.at.show_marked(self.unit),
                fixed.bites.show_marked(self.unit)
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
        let worst = fixed.iter().zip(&picks).max_by(|a, b| a.0.load.used.total_cmp(&b.0.load.used));
        let statics =
            worst.map_or_else(Vec::new, |(worst, pick)| self.explain(worst, anchor, pick.and_then(|pick| pick.holds)));
        let assumed = self.assumed(fixed.iter().any(|fixed| fixed.on != Ground::Anchor), &mut flags);
        if self.under_ceiling() && !anchored.is_empty() {
            flags.push(Flag::new(
                "anchor_in_ceiling",
                Severity::Decide,
                &[],
                "The shade would hang for good on anchors in the ceiling's covering.",
                "Find the joists and screw into them, or fix a batten to them first; ask somebody who knows this ceiling.",
            ));
        }
        Fixing {
            holds: fails.is_empty(),
            fixed,
            brackets: self.bracket.is_some(),
            screws,
            anchor: anchor_job,
            lift: None,
            statics,
            board_sag,
            bar_sag,
            fails,
            would: Vec::new(),
            assumed,
            flags,
        }
    }

    fn explain(&self, worst: &Fixed, anchor: Option<&Anchor>, wood: Option<WoodHolds>) -> Vec<Figure> {
        #[allow(clippy::cast_precision_loss, reason = "a pull is a small number")]
        let pull = self.settings.control_pull_lbf as f64;
        let mut figures =
            vec![Figure::new("weight", self.hung.weight_lbf, "lbf", "all that hangs on the wall, the board too")];
        if worst.load.while_pulled && self.hung.control_at.is_some() {
            figures.push(Figure::new("pull on the control", pull, "lbf", "what the house reckons with, straight down"));
        }
        figures.push(Figure::new(
            format!("comes down at {}", worst.at.show_marked(self.unit)),
            worst.load.down_lbf,
            "lbf",
            "the hardest loaded fixing; the board taken as a beam on all of them",
        ));
        figures.extend(self.prying_words(worst.load.down_lbf));
        figures.extend(self.allowed_words(worst.on, anchor, wood));
        if worst.on != Ground::Anchor {
            let (percent, name) = if worst.load.while_pulled {
                (self.settings.withdrawal_pull_percent, "withdrawal_pull_percent")
            } else {
                (self.settings.withdrawal_permanent_percent, "withdrawal_permanent_percent")
            };
            #[allow(clippy::cast_precision_loss, reason = "a percentage is a small number")]
            figures.push(Figure::new("load duration", percent as f64 / 100.0, "parts", name));
        }
        // What holds nothing has no share of it; why is said by its flag.
        if worst.load.used.is_finite() {
            figures.push(Figure::new("used of what is allowed", worst.load.used, "parts", "pull and across added"));
        }
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
            if !self.inside() && self.hung.mounting.form != Form::OutsideFace {
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
        if self.hung.mounting.form == Form::OutsideFace && self.hung.wall.above == Backing::Unknown {
            assumed.push("The beam or frame is taken as solid wood.".to_owned());
        }
        if self.backing == Backing::Unknown {
            let says = if self.under_ceiling() {
                if self.studs.is_empty() {
                    "Ceiling not entered; assumed drywall with no joists."
                } else {
                    "Ceiling not entered; assumed drywall on the joists given."
                }
            } else if self.inside() {
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
        let upright = self.hung.mounting.form.is_on_face();
        let (across, up) = if upright { (thickness, width) } else { (width, thickness) };
        let stiffness = wood * 1e6 * across * up.powi(3) / 12.0;
        let bent = self.bend(spots, vec![self.spread()], stiffness)?;
        let (most_in, at_in) = (bent.deflection.value, bent.deflection.at);
        Some(Sag { most_in, at_in, limit: self.settings.sag_limit })
    }

    /// The screws to bring, and what fails about them.
    fn screws(
        &self,
        fixed: &[Fixed],
        picks: &[Option<Pick<'a>>],
        anchor: Option<&'a Anchor>,
        fails: &mut Vec<String>,
    ) -> Vec<ScrewJob> {
        let (settings, unit) = (self.settings, self.unit);
        let end = fixed.iter().map(|fixed| fixed.at.min(self.length - fixed.at)).min().unwrap_or_default();
        let per = self.bracket.map_or(1, |bracket| bracket.wall_holes.len());
        let mut jobs: Vec<ScrewJob> = Vec::new();
        // One kind of screw where one length serves; under a sloping head each place may need its own.
        let mut put = |next: ScrewJob| {
            let alike = |job: &&mut ScrewJob| (job.job, &job.screw, job.length) == (next.job, &next.screw, next.length);
            match jobs.iter_mut().find(alike) {
                Some(job) => {
                    job.count += next.count;
                    job.at.extend(&next.at);
                    job.passes = job.passes.max(next.passes);
                    job.bites = job.bites.min(next.bites);
                    job.thread = job.thread.min(next.thread);
                }
                None => jobs.push(next),
            }
        };
        let too_short = |passes: Length, bite: Length| {
            format!(
                "No screw of the catalogue is long enough: {} to pass and {} of bite are {}.",
                passes.show_marked(unit),
                bite.show_marked(unit),
                (passes + bite).show_marked(unit)
            )
        };
        for (fixed, pick) in fixed.iter().zip(picks) {
            if fixed.on == Ground::Anchor {
                let Some(anchor) = anchor else { continue };
                let Some(own) = &anchor.screw else { continue };
                let Some((screw, length)) = self.anchor_screw(fixed.gap, Some(anchor)) else {
                    fails.push(too_short(self.held + fixed.gap, own.into));
                    continue;
                };
                put(ScrewJob {
                    job: Job::IntoAnchor,
                    screw: screw.name.clone(),
                    length,
                    count: per,
                    at: vec![fixed.at],
                    passes: self.held + fixed.gap,
                    bites: fixed.bites,
                    thread: fixed.bites,
                    lead: anchor.hole,
                    through: screw.diameter.round(screw::drill_step(unit), Direction::Up),
                    left: None,
                    stays_in: true,
                    split: None,
                });
                continue;
            }
            let Some(pick) = pick else {
                fails.push(too_short(self.held + self.covering + fixed.gap, settings.screw_bite));
                continue;
            };
            let (job, split) = match (self.bracket, self.inside()) {
                (Some(_), _) => (Job::BracketToWall, None),
                (None, inside) => {
                    let edge = self.board.width.split(2, 1);
                    let job = match self.hung.mounting.form {
                        _ if inside => Job::BoardToHead,
                        Form::OutsideCeiling => Job::BoardToCeiling,
                        _ => Job::BoardToWall,
                    };
                    (job, Some(Split::of(pick.screw, end, edge, settings)))
                }
            };
            put(ScrewJob {
                job,
                screw: pick.screw.name.clone(),
                length: pick.size,
                count: per,
                at: vec![fixed.at],
                passes: pick.passes,
                bites: pick.bites(),
                thread: screw::thread(pick.screw, pick.size).min(pick.bites()),
                lead: screw::lead_hole(pick.screw, self.catalogue.framing(), settings, unit),
                through: screw::through_hole(pick.screw, unit),
                left: None,
                stays_in: true,
                split,
            });
        }
        fails.dedup();
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
                        at: fixed.iter().map(|fixed| fixed.at).collect(),
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

    /// How many hold with what there is, the usual first.
    fn holds_with(&self, fewest: i64) -> Option<usize> {
        self.means().into_iter().find_map(|means| {
            self.plans(fewest, means).find(|spots| self.fix(spots, means).holds).map(|spots| spots.len())
        })
    }

    /// What was taken in place of the usual, to know.
    pub(super) fn stronger(&self, usual: &Fixing, taken: &Fixing) -> Option<Flag> {
        let hardware = |fixing: &Fixing| -> Vec<String> {
            let mut words = Vec::new();
            words.extend(fixing.anchor.iter().map(|anchor| format!("the {}", anchor.anchor)));
            let screws = fixing.screws.iter().filter(|job| !matches!(job.job, Job::BracketToBoard | Job::IntoAnchor));
            words.extend(screws.map(|job| format!("{} x {}", job.screw, job.length.show_marked(self.unit))));
            words
        };
        let (of_usual, of_taken) = (hardware(usual), hardware(taken));
        let kind = if taken.brackets { "brackets" } else { "fixings" };
        let say = |n: usize, words: Vec<String>| listed([format!("{n} {kind}")].into_iter().chain(words));
        (of_usual != of_taken).then(|| {
            Flag::new(
                "fixing_stronger",
                Severity::Know,
                &[],
                format!(
                    "{} would not hold; taken are {}",
                    say(usual.fixed.len(), of_usual),
                    say(taken.fixed.len(), of_taken)
                ),
                "Bring what the list says, not the usual.",
            )
        })
    }

    /// What would hold where nothing at hand does: each is tried, and only what holds is offered.
    pub(super) fn offers(&self, fewest: i64) -> Vec<String> {
        let mut would = Vec::new();
        let kind = if self.bracket.is_some() { "brackets" } else { "screws" };
        // Another board of the catalogue, where the same bracket carries it.
        for board in &self.catalogue.boards {
            let suits = self.bracket.is_none_or(|bracket| {
                bracket.arm <= board.width && bracket.arm * 100 >= board.width * self.settings.bracket_arm_percent
            });
            if board.size == self.board.size || !suits || self.hung.mounting.form.is_on_face() {
                continue;
            }
            let mounting = Mounting { board: board.clone(), ..self.hung.mounting.clone() };
            let hung = Hung { mounting: &mounting, ..*self.hung };
            let rig = Rig::of(&hung, self.settings, self.catalogue, self.unit);
            if let Some(n) = rig.holds_with(fewest) {
                would.push(format!("With a {} board, {n} {kind} hold.", board.size.name()));
                break;
            }
        }
        if !self.inside() && self.backing != Backing::Wood {
            let wall = Wall { above: Backing::Wood, ceiling: Backing::Wood, ..self.hung.wall.clone() };
            let hung = Hung { wall: &wall, ..*self.hung };
            let rig = Rig::of(&hung, self.settings, self.catalogue, self.unit);
            if let Some(n) = rig.holds_with(fewest) {
                would.push(format!(
                    "Into wood all along ({}, found by probing), {n} {kind} hold.",
                    if self.under_ceiling() { "a joist or a batten" } else { "studs or a header" }
                ));
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
            lift: None,
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

//! Every way a shade can be mounted on an opening, worked side by side, each as a full record with its working.
//!
//! Read this to know what a finished size is made of. [`work`] takes an opening and what [`crate::truth`] makes of
//! its readings and gives [`Mounts`]: inside, outside flush and outside on brackets, each either worked or refused
//! in one sentence, and the one that is advised. Sizes are exact sums of readings and settings; the one that is
//! estimated (the clear passage of a leaning opening) says how it was rounded.

mod advise;
mod beside;
mod by_hand;
pub mod calculator;
mod catalogue;
mod corner;
mod inside;
mod needs;
mod offer;
mod outside;

pub use crate::house::{Anchor, AnchorScrew, Bracket, LiftKind, Screw};
pub use beside::{Behind, Beside};
pub use catalogue::{Assumed, Board, Catalogue, Species};
pub use corner::lost_to_corner;
pub use needs::{Leads, leads, needs, sized_by};
pub use offer::{Offer, offers};

use crate::flag::{Flag, Severity, sentence};
use crate::house::{Attach, BoardSize, Choices, HeadShape, Mount, Opening, Part, Place, Wall};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::settings::Settings;
use crate::truth::{CornerGaps, Estimate, Readings, Truth, stand};
use serde::{Deserialize, Serialize};

/// The ways a shade is mounted.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Form {
    /// Between the jambs, the board laid flat under the head and screwed up into it.
    Inside,
    /// On the wall, the board on its face, screwed straight through.
    OutsideFlush,
    /// On the wall, the board flat on the arms of L brackets.
    OutsideBrackets,
    /// Before the wall, the board flat under the ceiling and screwed up into it.
    OutsideCeiling,
    /// On the face of a beam or frame, the board on its own face, screwed straight through.
    OutsideFace,
}

impl Form {
    /// Every form, in the order they are shown.
    pub const ALL: [Self; 5] =
        [Self::Inside, Self::OutsideFlush, Self::OutsideBrackets, Self::OutsideCeiling, Self::OutsideFace];

    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::OutsideFlush => "outside, board flush on the wall",
            Self::OutsideBrackets => "outside, board on brackets",
            Self::OutsideCeiling => "outside, board under the ceiling",
            Self::OutsideFace => "outside, board on the face of a beam or frame",
        }
    }

    /// True where the board stands on its face and is screwed straight through.
    pub const fn is_on_face(self) -> bool {
        matches!(self, Self::OutsideFlush | Self::OutsideFace)
    }

    /// True where the board lies flat and is screwed up into what is over it, so that it hangs straight on its screws.
    pub const fn is_screwed_up(self) -> bool {
        matches!(self, Self::Inside | Self::OutsideCeiling)
    }

    /// How a person chooses it: the mount, and how an outside board is held.
    pub const fn choice(self) -> (Mount, Option<Attach>) {
        match self {
            Self::Inside => (Mount::Inside, None),
            Self::OutsideFlush => (Mount::Outside, Some(Attach::Flush)),
            Self::OutsideBrackets => (Mount::Outside, Some(Attach::Brackets)),
            Self::OutsideCeiling => (Mount::Outside, Some(Attach::Ceiling)),
            Self::OutsideFace => (Mount::Outside, Some(Attach::Face)),
        }
    }

    /// Its name on the wire.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::OutsideFlush => "outside_flush",
            Self::OutsideBrackets => "outside_brackets",
            Self::OutsideCeiling => "outside_ceiling",
            Self::OutsideFace => "outside_face",
        }
    }
}

/// One line of a working that a maker would sign: what, how much (taken off when negative), and why.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// What it is: "smallest width (middle width)".
    pub term: String,
    /// How much it adds; negative when it is taken off.
    pub value: Length,
    /// Why: the name of the setting, or where the figure came from.
    pub reason: String,
}

impl Line {
    /// A new line.
    pub fn new(term: impl Into<String>, value: Length, reason: impl Into<String>) -> Self {
        Self { term: term.into(), value, reason: reason.into() }
    }
}

/// A sum with its lines; the total is always the sum of them.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Working {
    /// The rule that was followed: "smallest width", "clear passage", "trim and overlap".
    pub rule: String,
    /// The lines, in order.
    pub lines: Vec<Line>,
    /// The exact sum of the lines.
    pub total: Length,
    /// Named only when a line was rounded: which way and to what.
    pub rounding: Option<String>,
}

impl Working {
    /// Adds up lines.
    pub fn of(rule: impl Into<String>, lines: Vec<Line>) -> Self {
        let total = lines.iter().map(|line| line.value).sum();
        Self { rule: rule.into(), lines, total, rounding: None }
    }

    /// Rounds to whole grains of the tape with a line of its own, where the sum is no whole grain.
    #[must_use]
    fn rounded(mut self, unit: LengthUnit, direction: Direction, reason: &str) -> Self {
        let grain = Grain::of_tape(unit);
        let rounded = self.total.round(grain, direction);
        if rounded != self.total {
            let way = match direction {
                Direction::Down => "down to",
                Direction::Up => "up to",
                Direction::Nearest => "to the nearest",
            };
            let said = format!("rounded {way} {}", grain.step().show_marked(unit));
            self.lines.push(Line::new(said.clone(), rounded - self.total, reason));
            self.total = rounded;
            self.rounding = Some(said);
        }
        self
    }
}

/// Where the foot of the shade stops.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Stop {
    /// Just above the sill.
    Sill,
    /// At the foot of the apron.
    ApronFoot,
    /// Just above the floor.
    Floor,
}

impl Stop {
    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Sill => "just above the sill",
            Self::ApronFoot => "at the foot of the apron",
            Self::Floor => "just above the floor",
        }
    }
}

/// Something that must be clear, what it needs and what there is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Clearance {
    /// What must be clear: "wall above the trim".
    pub what: String,
    /// How much is needed at least.
    pub needs: Length,
    /// How much there is; nothing when it was not read.
    pub has: Option<Length>,
    /// Whether it holds; nothing when it was not read.
    pub holds: Option<bool>,
}

impl Clearance {
    fn new(what: impl Into<String>, needs: Length, has: Option<Length>) -> Self {
        Self { what: what.into(), needs, has, holds: has.map(|has| has >= needs) }
    }
}

/// A wedge of light between a level board and a head that slopes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Wedge {
    /// True when it opens at the right end, the head being higher there.
    pub at_right: bool,
    /// Its height at that end.
    pub opens: Length,
}

impl Wedge {
    /// The gap over a place of the board, `at` from its left end: the board touches the head at one end, and all of the
    /// wedge is taken to open over its length. Rounded up to the nanometre.
    ///
    /// ```
    /// use hangtrue_core::{length::Length, mount::Wedge};
    /// let wedge = Wedge { at_right: true, opens: Length::inches(3, 4) };
    /// let board = Length::whole_inches(36);
    /// assert_eq!(wedge.over(Length::whole_inches(33), board), Length::inches(11, 16));
    /// assert_eq!(wedge.over(Length::ZERO, board), Length::ZERO);
    /// ```
    pub fn over(&self, at: Length, board: Length) -> Length {
        let from_touching = if self.at_right { at } else { board - at };
        if board <= Length::ZERO {
            return self.opens;
        }
        self.opens.scale(from_touching.nm().max(0), board.nm(), Direction::Up)
    }
}

/// What heights above the opening are counted from.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Edge {
    /// The top of the trim.
    Trim,
    /// The head of the opening, where there is no trim.
    Opening,
    /// The lower edge of a beam's or frame's face, at the head of the opening.
    Face,
}

impl Edge {
    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Trim => "the trim",
            Self::Opening => "the opening",
            Self::Face => "the lower edge of the face",
        }
    }
}

/// One way to set a board on its face where the trim is thick: where, on what, and what that does.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FlushWay {
    /// "1x2 on the flat wall above the trim".
    pub what: String,
    /// The board.
    pub board: BoardSize,
    /// True on the flat trim, not on the wall above it.
    pub on_trim: bool,
    /// Packing behind the board.
    pub packing: Length,
    /// How far the bottom of the board stands above the trim; negative on the trim.
    pub above_trim: Length,
    /// From the wall to the front of the board.
    pub projection: Length,
    /// How far the back of the fabric stands off the trim: 0 where it rests on it, nothing where there is no trim.
    pub off_trim: Option<Length>,
    /// Finished length.
    pub length: Length,
    /// What it does to the light at the sides, a plain clause.
    pub light: String,
    /// Why it cannot be, a plain clause; nothing where it can.
    pub why_not: Option<String>,
    /// True for the way that was taken.
    pub taken: bool,
    /// The choices that take it: field and value.
    pub set: Vec<(&'static str, String)>,
}

/// One way of mounting, worked out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mounting {
    /// Which way.
    pub form: Form,
    /// Finished width.
    pub width: Working,
    /// The width by the rule that gave more and was passed over (inside mounts only).
    pub width_other: Option<Working>,
    /// What the width was worked out to, where it was set by hand.
    pub width_worked: Option<Working>,
    /// Finished length, from the top of the board to the hem.
    pub length: Working,
    /// What the length was worked out to, where it was set by hand.
    pub length_worked: Option<Working>,
    /// The board.
    pub board: Board,
    /// Its length.
    pub board_length: Working,
    /// The bracket, of a board on brackets.
    pub bracket: Option<Bracket>,
    /// From the wall (outside) or the back of the board (inside) to the front of the board.
    pub projection: Length,
    /// How far the surface that a board or bracket outside is set on stands off the wall: of the trim, a beam or frame.
    pub bearing: Length,
    /// Packing between that surface and a board on its face: every screw passes it.
    pub packing: Length,
    /// How far the back edge of a board under the ceiling stands off the wall.
    pub off_wall: Length,
    /// What the fixing adds above its own foot: the board's height, or bracket leg and board. Zero inside.
    pub adds_above: Length,
    /// How far the bottom of board or bracket stands above [`Self::edge`]; negative on the trim. Zero inside.
    pub above_trim: Length,
    /// What that is counted from.
    pub edge: Edge,
    /// How far the shade passes the trim (the opening where there is none) at each side. Zero inside.
    pub overlap: Length,
    /// Where it hangs among several side by side; nothing where it hangs alone.
    pub beside: Option<Beside>,
    /// Where the foot stops.
    pub stop: Stop,
    /// How far the top of the board stands above the sill; inside, at the smallest height.
    pub above_sill: Length,
    /// How far an inside board stands proud of the front of a shallow opening; zero when flush.
    pub proud: Length,
    /// The gaps at the corners of an inside mount; nothing when the readings do not tell.
    pub corner_gaps: Option<CornerGaps>,
    /// The wedge of light under a sloping head, inside.
    pub wedge: Option<Wedge>,
    /// How what heights are counted from slopes, of a board outside: they are counted at its lower end.
    pub edge_slopes: Option<Wedge>,
    /// How far screws stay from the left and the right end of the board, so that they keep clear of the plaster's edge.
    pub ends_clear: [Length; 2],
    /// The ways to set a board on its face, of a flush mount on trim: the one that was taken, and the others.
    pub flush_ways: Vec<FlushWay>,
    /// What must be clear.
    pub clear: Vec<Clearance>,
    /// What a person should know, decide or read again about this way.
    pub flags: Vec<Flag>,
}

impl Mounting {
    /// How far its left end passes the left edge of the trim, or of the opening where there is none; negative where it ends
    /// before it.
    pub fn left_past(&self) -> Length {
        self.beside.map_or(self.overlap, |beside| -beside.from_edge)
    }

    /// What was set by hand and what was worked out, a clause each: "width set by hand, worked out 35 1/2 in".
    pub fn by_hand(&self, unit: LengthUnit) -> Vec<String> {
        [("width", &self.width_worked), ("length", &self.length_worked)]
            .into_iter()
            .filter_map(|(what, worked)| Some((what, worked.as_ref()?)))
            .map(|(what, worked)| format!("{what} set by hand, worked out {}", worked.total.show_marked(unit)))
            .collect()
    }
}

/// Why one way cannot be, and what would make it possible.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Refusal {
    /// Which way.
    pub form: Form,
    /// Why, in one sentence.
    pub why: String,
    /// What would make it possible, in one sentence.
    pub would: String,
    /// The readings that are missing, when that is why.
    pub missing: Vec<Place>,
}

/// Every way of mounting an opening's shade.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mounts {
    /// The ways that can be, in the order of [`Form::ALL`].
    pub can: Vec<Mounting>,
    /// The ways that cannot, each with its reason.
    pub cannot: Vec<Refusal>,
    /// The one that is advised; nothing when none can be.
    pub advised: Option<Form>,
    /// Why that one, in one sentence.
    pub because: String,
    /// The forms that were chosen; none where it is left to advice. Only these are advised then.
    pub chosen: Vec<Form>,
}

impl Mounts {
    /// The mounting of this form, if it can be.
    pub fn get(&self, form: Form) -> Option<&Mounting> {
        self.can.iter().find(|mounting| mounting.form == form)
    }

    /// The advised mounting.
    pub fn advised(&self) -> Option<&Mounting> {
        self.advised.and_then(|form| self.get(form))
    }

    /// The readings that the mount waits for: those of the form that was chosen, or else of the first form that only
    /// waits for readings. Empty when a mount can be, or none would be with all of them.
    pub fn missing(&self) -> Vec<Place> {
        if self.advised.is_some() {
            return Vec::new();
        }
        let asked = |refusal: &&Refusal| self.chosen.is_empty() || self.chosen.contains(&refusal.form);
        let first = self.cannot.iter().filter(asked).find(|refusal| !refusal.missing.is_empty());
        first.map(|refusal| refusal.missing.clone()).unwrap_or_default()
    }
}

/// Works every way of mounting an opening's shade.
///
/// `truth` is what [`crate::truth::judge`] made of the same opening. `unit` is the house's: finished sizes are whole
/// grains of its tape.
pub fn work(opening: &Opening, truth: &Truth, settings: &Settings, catalogue: &Catalogue, unit: LengthUnit) -> Mounts {
    work_before(opening, None, truth, settings, catalogue, unit)
}

/// As [`work`], of a shade that hangs before another.
pub fn work_before(
    opening: &Opening,
    behind: Option<Behind>,
    truth: &Truth,
    settings: &Settings,
    catalogue: &Catalogue,
    unit: LengthUnit,
) -> Mounts {
    let readings = &Readings::of(opening, &[], unit);
    let part = opening.shares.map(|shares| shares.part);
    let (wall, choices) = (&opening.wall, &opening.choices);
    Read { readings, wall, choices, part, behind, truth, settings, unit }.work(catalogue)
}

/// As [`work`], from readings that are no opening's record; the unit is theirs.
pub fn work_readings(
    readings: &Readings,
    wall: &Wall,
    choices: &Choices,
    truth: &Truth,
    settings: &Settings,
    catalogue: &Catalogue,
) -> Mounts {
    let unit = readings.unit;
    Read { readings, wall, choices, part: None, behind: None, truth, settings, unit }.work(catalogue)
}

/// An estimate without its sign, to the nanometre; for words and limits, never cut by.
#[allow(clippy::cast_possible_truncation, reason = "openings are far below 2^63 nm")]
fn size_of(estimate: Estimate) -> Length {
    Length::from_nm((estimate.value.abs() * 1e6).round() as i64)
}

/// A reading that stands, with the words of its line.
struct Found {
    term: String,
    value: Length,
    why: String,
}

/// An opening's readings as the mounts ask for them.
struct Read<'a> {
    readings: &'a Readings,
    wall: &'a Wall,
    choices: &'a Choices,
    /// Which of several shades in the opening it is.
    part: Option<Part>,
    /// What hangs behind it.
    behind: Option<Behind>,
    truth: &'a Truth,
    settings: &'a Settings,
    unit: LengthUnit,
}

impl Read<'_> {
    /// Works every way.
    fn work(&self, catalogue: &Catalogue) -> Mounts {
        let (choices, settings, unit) = (self.choices, self.settings, self.unit);
        let (mut can, mut cannot) = (Vec::new(), Vec::new());
        for way in std::iter::once(inside::work(self, catalogue)).chain(outside::work(self, catalogue)) {
            match way.and_then(|mounting| beside::share(self, mounting)) {
                Ok(mut mounting) => {
                    by_hand::lay(self, &mut mounting);
                    mounting.flags.extend(self.unlikely(&mounting));
                    can.push(mounting);
                }
                Err(refusal) => cannot.push(refusal),
            }
        }
        let lean = self.truth.shape.lean.map(size_of);
        let (advised, because) = advise::advise(choices, &can, &cannot, lean, settings, unit);
        // Clauses until here, so that the advice can quote them; sentences for who reads them alone.
        for refusal in &mut cannot {
            refusal.why = sentence(&refusal.why);
            refusal.would = sentence(&refusal.would);
        }
        Mounts { can, cannot, advised, because: sentence(&because), chosen: advise::chosen(choices).to_vec() }
    }

    /// The value that stands at a place, by its repeats.
    fn at(&self, place: Place) -> Option<Found> {
        let value = stand(self.readings, place, self.settings.repeat_spread)?.value();
        let why = match self.readings.at(place).count() {
            1 => "read once".to_owned(),
            n => format!("read {n} times"),
        };
        Some(Found { term: place.words().to_owned(), value, why })
    }

    /// The extreme of several places, and which one it was.
    fn extreme(&self, places: &[Place], name: &str, pick: fn(Length, Length) -> bool) -> Option<Found> {
        let mut best: Option<(Place, Length)> = None;
        for place in places {
            if let Some(stand) = stand(self.readings, *place, self.settings.repeat_spread)
                && best.is_none_or(|(_, value)| pick(stand.value(), value))
            {
                best = Some((*place, stand.value()));
            }
        }
        let (place, value) = best?;
        let read = places.iter().filter(|place| self.readings.at(**place).next().is_some()).count();
        Some(Found { term: format!("{name} ({})", place.words()), value, why: format!("of {read} read") })
    }

    fn smallest_width(&self) -> Option<Found> {
        self.extreme(&Place::WIDTHS.map(|(place, _)| place), "smallest width", |new, old| new < old)
    }

    fn largest_width(&self) -> Option<Found> {
        self.extreme(&Place::WIDTHS.map(|(place, _)| place), "widest width", |new, old| new > old)
    }

    fn smallest_height(&self) -> Option<Found> {
        self.extreme(&Place::HEIGHTS, "smallest height", |new, old| new < old)
    }

    fn largest_height(&self) -> Option<Found> {
        self.extreme(&Place::HEIGHTS, "largest height", |new, old| new > old)
    }

    /// The shallowest depth that was read.
    fn depth(&self) -> Option<Length> {
        self.extreme(&Place::DEPTHS, "depth", |new, old| new < old).map(|found| found.value)
    }

    /// How much higher the right end of the head is than its left one: by a level held to it; by the heights at the jambs
    /// and the level of the sill that they stand on; by the shape, where a plumb tells how that stands; else as if the sill
    /// were level, which the sheets say.
    fn head_rise(&self) -> Option<Length> {
        let value = |place: Place| self.at(place).map(|found| found.value);
        if let Some(level) = value(Place::LevelHead) {
            return Some(level);
        }
        let apart = value(Place::HeightRight)? - value(Place::HeightLeft)?;
        if let Some(sill) = value(Place::LevelSill) {
            return Some(apart + sill);
        }
        let plumbed = value(Place::PlumbLeft).or_else(|| value(Place::PlumbRight)).is_some();
        let rise = self.truth.shape.slope_head.filter(|_| plumbed && self.wall.head_shape == HeadShape::Level);
        Some(rise.map_or(apart, |rise| if rise.value < 0.0 { -size_of(rise) } else { size_of(rise) }))
    }

    /// How the head slopes, as far as a board that is set over it must know; nothing under an arch, and nothing that
    /// reading alone may make.
    fn head_slopes(&self) -> Option<Wedge> {
        let rise = self.head_rise().filter(|_| self.wall.head_shape != HeadShape::Arched)?;
        let opens = rise.abs().round(Grain::of_tape(self.unit), Direction::Up);
        (opens > self.settings.slope_limit).then_some(Wedge { at_right: !rise.is_negative(), opens })
    }

    fn board_length(&self, width: &Working) -> Working {
        Working::of(
            "finished width less the wrap of its ends",
            vec![
                Line::new("finished width", width.total, width.rule.clone()),
                Line::new("taken off", -self.settings.board_deduction, "board_deduction"),
            ],
        )
        .rounded(self.unit, Direction::Down, "a board is never longer than what wraps it")
    }

    /// Flags for settings so large that they are likely a slip, where this size was worked with them.
    fn unlikely(&self, mounting: &Mounting) -> Vec<Flag> {
        let lines = [&mounting.width, &mounting.length, &mounting.board_length].into_iter().flat_map(|sum| &sum.lines);
        let used: Vec<&str> = lines.map(|line| line.reason.as_str()).collect();
        let doubts = self.settings.unlikely(self.unit).into_iter().filter(|doubt| used.contains(&doubt.name));
        doubts
            .map(|doubt| {
                Flag::new(
                    "setting_unlikely",
                    Severity::Decide,
                    &[],
                    format!("{} This size was worked with it.", doubt.says),
                    "Change it in the settings, or confirm that it is meant.",
                )
            })
            .collect()
    }

    /// The wedge of light over a level board: all that the head may slope, where that is more than reading makes; else as
    /// the shape has it, to the nearest grain of the tape. Nothing when the head is level to it.
    fn wedge(&self) -> Option<Wedge> {
        if let Some(slopes) = self.head_slopes() {
            return Some(slopes);
        }
        let rise = self.truth.shape.slope_head?;
        let opens = size_of(rise).round(Grain::of_tape(self.unit), Direction::Nearest);
        (opens > Length::ZERO).then_some(Wedge { at_right: rise.value > 0.0, opens })
    }
}

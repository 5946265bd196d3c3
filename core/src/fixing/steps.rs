//! The order in which a shade is hung, in sentences with this shade's own numbers, for boxes to tick: first what is done
//! at the bench, then what is done at the window.
//!
//! All of it is common practice of the trade, with no published source. Every length is a whole mark of the tape; a drill
//! bit is named by its own size, with the word bit after it.

use super::{Fixing, Ground, Job, ScrewJob};
use crate::flag::listed;
use crate::house::{Choices, ControlSide, Lift, Lining, Wall};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::mount::{Edge, Form, Mounting};
use crate::settings::Settings;

/// The work of hanging one shade, in order.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct HangingSteps {
    /// At the bench, before the shade leaves the workroom.
    pub bench: Vec<String>,
    /// At the window.
    pub window: Vec<String>,
}

impl HangingSteps {
    /// Every step, in order.
    pub fn all(&self) -> impl Iterator<Item = &str> {
        self.bench.iter().chain(&self.window).map(String::as_str)
    }
}

/// What is hung, with what.
#[derive(Clone, Copy, Debug)]
pub struct Hanging<'a> {
    /// How it is mounted.
    pub mounting: &'a Mounting,
    /// Its screws or brackets.
    pub fixing: &'a Fixing,
    /// Its lift, its control's side and its lining.
    pub choices: &'a Choices,
    /// What is around the opening.
    pub wall: &'a Wall,
    /// What is to be minded at the hole: old paint, old boards.
    pub at_the_hole: &'a [&'a str],
    /// The settings of the house.
    pub settings: &'a Settings,
    /// The unit it is written in.
    pub unit: LengthUnit,
}

/// The letter of a fixing, from the left: A, B, C; after Z, numbers.
pub fn letter(i: usize) -> String {
    u8::try_from(i).ok().filter(|i| *i < 26).map_or_else(|| (i + 1).to_string(), |i| char::from(b'A' + i).to_string())
}

/// The steps of hanging one shade; none when it has no fixings.
pub fn steps(hanging: &Hanging<'_>) -> HangingSteps {
    if hanging.fixing.fixed.is_empty() {
        return HangingSteps::default();
    }
    let mut steps = HangingSteps::default();
    if hanging.mounting.bracket.is_some() {
        hanging.bench_for_brackets(&mut steps.bench);
        hanging.before(&mut steps.window);
        hanging.brackets_first(&mut steps.window);
    } else {
        hanging.bench_for_screws(&mut steps.bench);
        hanging.before(&mut steps.window);
        hanging.board_up(&mut steps.window);
    }
    hanging.control(&mut steps.window);
    steps.window.push("Lower it, raise it, lower it again: level, nothing rubs or catches.".to_owned());
    steps.window.push(match hanging.choices.lift {
        Lift::NoReachableCord | Lift::Motor => {
            "Show the client the cords behind it: cots, beds, chairs stay clear.".to_owned()
        }
        _ => "Show the client how the cord or loop stays out of a child's reach; cots, beds and chairs stay clear."
            .to_owned(),
    });
    steps
}

impl Hanging<'_> {
    /// A length on the tape, in a named direction.
    fn tape(&self, length: Length, direction: Direction) -> String {
        length.round(Grain::of_tape(self.unit), direction).show_marked(self.unit)
    }

    fn near(&self, length: Length) -> String {
        self.tape(length, Direction::Nearest)
    }

    fn bit(&self, length: Length) -> String {
        let size = if self.unit.is_imperial() { length.show(LengthUnit::Inch) } else { length.show_marked(self.unit) };
        let article = if size.starts_with('8') || size.starts_with("11/") { "an" } else { "a" };
        format!("{article} {size} bit")
    }

    /// The screws of a job: under a sloping head each place may have a length of its own.
    fn of(&self, wanted: Job) -> impl Iterator<Item = &ScrewJob> {
        self.fixing.screws.iter().filter(move |screw| screw.job == wanted)
    }

    fn job(&self, wanted: Job) -> Option<&ScrewJob> {
        self.of(wanted).next()
    }

    /// The job of the screws that go through the board.
    fn through_board(&self) -> Job {
        match self.mounting.form {
            Form::Inside => Job::BoardToHead,
            Form::OutsideCeiling => Job::BoardToCeiling,
            Form::OutsideFlush | Form::OutsideFace | Form::OutsideBrackets => Job::BoardToWall,
        }
    }

    /// What it is fixed to.
    fn surface(&self) -> &'static str {
        match self.mounting.form {
            Form::Inside => "head",
            Form::OutsideCeiling => "ceiling",
            Form::OutsideFace => "face of the beam or frame",
            Form::OutsideFlush | Form::OutsideBrackets => "wall",
        }
    }

    /// `A 3, B 12 1/4 in`.
    fn marks(&self) -> String {
        let fixed = self.fixing.fixed.iter().enumerate();
        let grain = Grain::of_tape(self.unit);
        let marks = fixed
            .map(|(i, fixed)| format!("{} {}", letter(i), fixed.at.round(grain, Direction::Nearest).show(self.unit)));
        format!("{} {}", marks.collect::<Vec<_>>().join(", "), self.unit.name())
    }

    fn letters(&self, which: impl Fn(Ground) -> bool) -> String {
        let fixed = self.fixing.fixed.iter().enumerate().filter(|(_, fixed)| which(fixed.on));
        listed(fixed.map(|(i, _)| letter(i)))
    }

    /// The letters of the fixings at these places.
    fn letters_at(&self, at: &[Length]) -> String {
        let fixed = self.fixing.fixed.iter().enumerate().filter(|(_, fixed)| at.contains(&fixed.at));
        listed(fixed.map(|(i, _)| letter(i)))
    }

    fn screws(&self, kind: &ScrewJob) -> String {
        let plural = if kind.count == 1 { "screw" } else { "screws" };
        format!("{} {plural} ({} x {})", kind.count, kind.screw, kind.length.show_marked(self.unit))
    }

    fn layers(&self) -> &'static str {
        if self.choices.lining == Lining::None { "the fabric" } else { "both layers of fabric" }
    }

    /// The bench work of a board that is screwed through.
    fn bench_for_screws(&self, bench: &mut Vec<String>) {
        let (own, wood) = (Job::IntoAnchor, self.through_board());
        bench.push(format!(
            "Mark the screw holes mid-width from the board's left end, clear of the screw eyes: {}.",
            self.marks()
        ));
        bench.push(format!("Pierce {} at each mark with an awl: a bit twists cloth.", self.layers()));
        let bit = self.job(wood).or_else(|| self.job(own));
        bench.push(format!(
            "Cloth and cords clear, scrap wood behind the board: drill each mark through with {}.",
            bit.map_or_else(|| "a bit as thick as the anchor's screw".to_owned(), |kind| self.bit(kind.through))
        ));
        let kinds: Vec<&ScrewJob> = self.of(wood).chain(self.of(own)).collect();
        let several = kinds.len() > 1;
        let screws = kinds.iter().map(|kind| {
            let at = if several { format!(" at {}", self.letters_at(&kind.at)) } else { String::new() };
            format!("{}{at}", self.screws(kind))
        });
        let screws = listed(screws);
        let screws = if screws.is_empty() { "anchors' own screws".to_owned() } else { screws };
        bench.push(format!("Start the {screws} in their holes, points not out yet."));
    }

    /// The bench work of a board that lies on brackets.
    fn bench_for_brackets(&self, bench: &mut Vec<String>) {
        bench.push("Mark the brackets under the board as drawn, clear of the screw eyes.".to_owned());
        bench.push(format!(
            "At each hold an arm, mark its holes, pierce {} with an awl.",
            if self.choices.lining == Lining::None { "the fabric" } else { "both layers" }
        ));
        if let Some(kind) = self.job(Job::BracketToBoard) {
            bench.push(format!(
                "Cloth and cords clear: drill with {}, {} deep, no more.",
                self.bit(kind.lead),
                self.tape(kind.bites, Direction::Down)
            ));
            bench.push(format!("Start the {}, and take them out again.", self.screws(kind)));
        }
    }

    /// What comes before any hole at the window.
    fn before(&self, window: &mut Vec<String>) {
        let mut first = "Find cables and pipes above and beside the opening; keep clear.".to_owned();
        for caution in self.at_the_hole {
            first.push(' ');
            first.push_str(caution);
        }
        window.push(first);
        if self.mounting.board_length.total > self.settings.two_people_from {
            window.push(format!("Two people: the board is {} long.", self.near(self.mounting.board_length.total)));
        }
    }

    fn probe(&self, window: &mut Vec<String>) {
        let anchored = self.letters(|on| on == Ground::Anchor);
        let wood = self.letters(|on| on != Ground::Anchor);
        let found = match (anchored.is_empty(), wood.is_empty()) {
            (true, _) => format!("wood is expected at {wood}"),
            (_, true) => "no wood is expected; into wood, no anchor".to_owned(),
            _ => format!("wood is expected at {wood}, none at {anchored}"),
        };
        window.push(format!("Probe the {} at each mark: {found}.", self.surface()));
        if self.wall.tiled {
            window.push(
                "Where a mark is on tile: tape over it, start with a tile bit, slowly and without hammer; change the bit behind the \
                 tile."
                    .to_owned(),
            );
        }
    }

    /// A board that is screwed through, from the shoulder to the last screw.
    fn board_up(&self, window: &mut Vec<String>) {
        let form = self.mounting.form;
        let clear = "Cloth over the shoulder, or tied up clear.";
        match form {
            Form::Inside => {
                let touches = self.mounting.wedge.map_or("", |wedge| {
                    if wedge.at_right { ", its left end touching" } else { ", its right end touching" }
                });
                let inset = (self.mounting.width.total - self.mounting.board_length.total).split(2, 1);
                let at = self.mounting.beside.map_or_else(
                    || "midway between the jambs".to_owned(),
                    |beside| format!("its left end {} from the left jamb", self.near(beside.from_edge + inset)),
                );
                window.push(format!("{clear} Hold the board up to the head, {at}, level{touches}."));
            }
            Form::OutsideCeiling => {
                let off = self.mounting.off_wall;
                let off = if off > Length::ZERO {
                    format!("its back edge {} off the wall all along", self.near(off))
                } else {
                    "its back edge against the wall".to_owned()
                };
                window.push(self.left_end());
                window.push(format!(
                    "{clear} Hold the board up to the ceiling, {off}, its left end at the mark; pack it until it is level."
                ));
            }
            Form::OutsideFlush | Form::OutsideFace | Form::OutsideBrackets => {
                window.push(self.level_line("the board's bottom"));
                window.push(self.left_end());
                window.push(format!(
                    "{clear} Hold the bottom of the board to the line, its left end at the mark; check it with the level."
                ));
            }
        }
        window.push("Mark through each hole, and lower the board.".to_owned());
        self.probe(window);
        let at = self.letters(|on| on == Ground::Anchor);
        if let Some(anchor) = &self.fixing.anchor {
            window.push(format!(
                "With the board down, drill {at} with {} and set {} x {}.",
                self.bit(anchor.hole),
                anchor.count,
                anchor.anchor
            ));
        }
        let gaps: Vec<String> = self
            .fixing
            .fixed
            .iter()
            .enumerate()
            .filter(|(_, fixed)| fixed.gap > Length::ZERO)
            .map(|(i, fixed)| format!("{} {}", letter(i), self.tape(fixed.gap, Direction::Up)))
            .collect();
        let pack = if gaps.is_empty() {
            String::new()
        } else {
            format!(", pack the gap over each screw (the head slopes: about {})", gaps.join(", "))
        };
        let wood = self.through_board();
        if let Some(kind) = self.job(wood) {
            let bites = self.of(wood).map(|kind| kind.bites).min().unwrap_or_default();
            window.push(format!(
                "At {} drill pilot holes with {}. Bring the board back, level it{pack}, drive the screws: each goes {} at least into the wood.",
                self.letters(|on| on != Ground::Anchor),
                self.bit(kind.lead),
                self.tape(bites, Direction::Down)
            ));
        }
        if self.fixing.anchor.is_some() {
            let back = if self.job(wood).is_some() {
                "Drive".to_owned()
            } else {
                format!("Bring the board back, level it{pack}, drive")
            };
            window.push(format!("{back} the anchors' own screws at {at}."));
        }
    }

    /// Brackets first; then the board on them.
    fn brackets_first(&self, window: &mut Vec<String>) {
        window.push(self.level_line("the brackets' bottoms"));
        window.push(self.left_end());
        window.push(format!("From there mark the brackets' middles: {}.", self.marks()));
        self.probe(window);
        let holes = self
            .mounting
            .bracket
            .as_ref()
            .map_or_else(String::new, |bracket| listed(bracket.wall_holes.iter().map(|hole| self.near(*hole))));
        if let Some(anchor) = &self.fixing.anchor {
            window.push(format!(
                "At {} drill {holes} above the line with {}, set {} x {}, and fix the brackets.",
                self.letters(|on| on == Ground::Anchor),
                self.bit(anchor.hole),
                anchor.count,
                anchor.anchor
            ));
        }
        if let Some(kind) = self.job(Job::BracketToWall) {
            window.push(format!(
                "At {} drill pilot holes {holes} above the line with {}; fix the brackets.",
                self.letters(|on| on != Ground::Anchor),
                self.bit(kind.lead)
            ));
        }
        let (first, last) = (letter(0), letter(self.fixing.fixed.len() - 1));
        window.push(format!("Lay the level from {first} to {last}; pack behind a bracket that leans."));
        window.push(
            "Cloth over the shoulder, or tied up. Lay the board on the arms, its end at the mark, no cord under it, the shade centred on its brackets."
                .to_owned(),
        );
        if let Some(kind) = self.job(Job::BracketToBoard) {
            window.push(format!("Drive {} up through the arms.", self.screws(kind)));
        }
    }

    fn level_line(&self, what: &str) -> String {
        let above = self.mounting.above_trim;
        let edge = self.mounting.edge;
        let place = if edge == Edge::Face && above == Length::ZERO {
            format!("along {}", edge.words())
        } else if edge == Edge::Face {
            let side = if above.is_negative() { "below" } else { "above" };
            format!("{} {side} {}", self.near(above.abs()), edge.words())
        } else if above == Length::ZERO {
            format!("along the top of {}", self.mounting.edge.words())
        } else if above.is_negative() {
            format!("{} below the top of {}", self.near(above.abs()), self.mounting.edge.words())
        } else {
            format!("{} above the top of {}", self.near(above), self.mounting.edge.words())
        };
        let lower = self.mounting.edge_slopes.map_or("", |slopes| {
            if slopes.at_right {
                ", counted at its left, which is lower"
            } else {
                ", counted at its right, which is lower"
            }
        });
        let packing = if self.mounting.packing > Length::ZERO {
            format!(" Put packing of {} behind the board.", self.near(self.mounting.packing))
        } else {
            String::new()
        };
        format!("Draw a level line {place}{lower}, for {what}.{packing}")
    }

    /// Where the left end of the board comes, from the trim or the opening.
    fn left_end(&self) -> String {
        let inset = (self.mounting.width.total - self.mounting.board_length.total).split(2, 1);
        let past = self.mounting.left_past() - inset;
        let edge = if self.mounting.edge == Edge::Trim { "the trim" } else { "the opening" };
        let on = if self.mounting.form == Form::OutsideCeiling { "on the ceiling" } else { "on the line" };
        if past.round(Grain::of_tape(self.unit), Direction::Nearest) == Length::ZERO {
            return format!("Mark the board's left end {on}, at the left edge of {edge}.");
        }
        format!(
            "Mark the board's left end {on}: {} {} {edge}.",
            self.near(past.abs()),
            if past.is_negative() { "right of the left edge of" } else { "left of" }
        )
    }

    /// Cleat, tensioner or power, each at its height.
    fn control(&self, window: &mut Vec<String>) {
        let side = match self.choices.control {
            ControlSide::Left => "left",
            ControlSide::Right => "right",
        };
        let height = self.tape(self.settings.cleat_height, Direction::Up);
        match self.choices.lift {
            Lift::NoReachableCord => {}
            Lift::CordLock => window.push(format!(
                "Screw the cord cleat to the {side}, at least {height} above the floor, out of a child's reach. The cord \
                 is wound on it whenever the shade is up."
            )),
            Lift::TopDownBottomUp => window.push(format!(
                "Screw two cord cleats, one at each side, at one height, at least {height} above the floor, out of a \
                 child's reach. Each cord is wound on its own."
            )),
            Lift::ChainLoop | Lift::EndlessCord => window.push(format!(
                "Screw the tensioner to the {side}, at least {height} above the floor or as the rule of the place says, \
                 so that the loop is taut: a loose loop strangles."
            )),
            Lift::Motor => window.push(
                "A motor on mains is wired by a licensed person; set its ends of travel before the shade is left."
                    .to_owned(),
            ),
        }
    }
}

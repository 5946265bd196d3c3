//! The work in the order it is done, one line a step, with this shade's own numbers: for boxes to tick.

use super::{CordOf, Cut, Makeup, Material, Part, StickUse};
use crate::flag::listed;
use crate::house::{Choices, Cloth, ControlSide, Lift, Lining, Style};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::settings::Settings;

/// How a part that is wider than its cloth is joined.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Join {
    /// The part.
    pub part: Part,
    /// What is done, one step a line.
    pub steps: Vec<String>,
}

/// A shade as its maker has it.
#[derive(Clone, Copy, Debug)]
pub struct Making<'a> {
    /// The shade.
    pub shade: &'a Makeup,
    /// What was chosen for it.
    pub choices: &'a Choices,
    /// Its cloth, if one is chosen.
    pub cloth: Option<&'a Cloth>,
    /// The settings of the house.
    pub settings: &'a Settings,
    /// How its wide parts are joined: [`crate::buying::Buying::joins`].
    pub joins: &'a [Join],
    /// The unit the steps are written in.
    pub unit: LengthUnit,
}

/// How long a part is cut off the bolt, so that it has its size once its cloth has shrunk: rounded up to the tape.
pub fn cut_before_shrinking(making: &Making<'_>, cut: &Cut) -> Length {
    let shrinks = match (cut.material, making.cloth) {
        (Material::Face, Some(cloth)) => i64::from(cloth.shrinks_permille.min(999)),
        _ => 0,
    };
    if shrinks == 0 {
        return cut.length;
    }
    cut.length.scale(1000, 1000 - shrinks, Direction::Up).round(Grain::of_tape(making.unit), Direction::Up)
}

/// The steps of making one shade.
pub fn steps(making: &Making<'_>) -> Vec<String> {
    let mut steps = Vec::new();
    making.cutting(&mut steps);
    making.joining(&mut steps);
    making.sewing(&mut steps);
    making.rings(&mut steps);
    making.board(&mut steps);
    steps
}

impl Making<'_> {
    /// A length to the nearest mark of the tape: what is cut is a whole mark already.
    fn near(&self, length: Length) -> String {
        length.round(Grain::of_tape(self.unit), Direction::Nearest).show_marked(self.unit)
    }

    fn list(&self, marks: impl Iterator<Item = Length>) -> String {
        let marks: Vec<String> =
            marks.map(|mark| mark.round(Grain::of_tape(self.unit), Direction::Nearest).show(self.unit)).collect();
        format!("{} {}", marks.join(", "), self.unit.name())
    }

    /// A length taken in two, both on the tape: the first down, the rest for the other.
    fn halves(&self, length: Length) -> (Length, Length) {
        let first = length.split(2, 1).round(Grain::of_tape(self.unit), Direction::Down);
        (first, length.round(Grain::of_tape(self.unit), Direction::Nearest) - first)
    }

    fn cutting(&self, steps: &mut Vec<String>) {
        let parts = listed(self.shade.cuts.iter().map(|cut| cut.part.words().to_owned()));
        let face = self.shade.cut(Part::Face);
        let shrinks = face.filter(|face| cut_before_shrinking(self, face) != face.length);
        steps.push("Press and true the cloth; look for flaws, and for one lot.".to_owned());
        if let Some(face) = shrinks {
            steps.push(format!(
                "Cut the {parts} as in the table, the face {} long off the bolt; label each. Shrink and press the face \
                 cloth, then trim it to {}.",
                self.near(cut_before_shrinking(self, face)),
                self.near(face.length)
            ));
        } else {
            steps.push(format!("Cut the {parts} as in the table; label each: opening, part, top."));
        }
        let sticks = self.shade.sticks.iter().map(|stick| match stick.count {
            1 => format!("the {} {}", stick.part.words(), self.near(stick.length)),
            n => format!("{n} {}s {} each", stick.part.words(), self.near(stick.length)),
        });
        let sticks: Vec<String> = sticks.collect();
        if !sticks.is_empty() {
            steps.push(format!("Saw {}.", listed(sticks)));
        }
    }

    /// What is wider than its cloth is joined.
    fn joining(&self, steps: &mut Vec<String>) {
        let usable = self.cloth.map(|cloth| cloth.usable.as_ref().unwrap_or(&cloth.width).value());
        for cut in self.shade.cuts.iter().filter(|cut| cut.material == Material::Face) {
            if usable.is_some_and(|usable| cut.width > usable) && self.joins.iter().all(|join| join.part != cut.part) {
                steps.push(format!(
                    "Join the {}: it is wider than its cloth; its seams are on the cutting sheet.",
                    cut.part.words()
                ));
            }
        }
        for join in self.joins {
            let mut said = format!("Join the {}: ", join.part.words());
            for (n, step) in join.steps.iter().enumerate() {
                let step = step.trim_end_matches('.');
                if n == 0 {
                    said.push_str(&step.replacen("Cut it", "cut it", 1));
                } else {
                    said.push_str(". ");
                    said.push_str(step);
                }
            }
            said.push('.');
            steps.push(said);
        }
    }

    fn sewing(&self, steps: &mut Vec<String>) {
        let Self { shade, settings, .. } = self;
        let folds = &shade.folds;
        let rows = |pick: fn(&super::Row) -> Length| self.list(shade.grid.rows.iter().map(pick));
        if let Some(face) = shade.cut(Part::Face) {
            let turned = face.side_turning;
            steps.push(format!(
                "Turn back and press {} at both sides of the face, to {} finished.",
                self.near(turned),
                self.near(shade.width)
            ));
        }
        if shade.cut(Part::Interlining).is_some() {
            steps.push("Lay the interlining into the side turnings and catch it down.".to_owned());
        }
        let lined = shade.cut(Part::Lining);
        match (shade.style, lined) {
            (Style::FlatRibbed, Some(_)) => steps.push(format!(
                "Mark {} rib pockets on the lining at {} from its top edge; fold and stitch each, {} taken up.",
                shade.grid.ribbed().len(),
                self.list(shade.grid.ribbed().iter().map(|row| row.on_lining.mark)),
                self.near(settings.rib_pocket)
            )),
            (Style::FlatRibbed, None) => steps.push(format!(
                "There is no lining: sew {} rib pockets of tape to the back of the face, at {} from its top edge.",
                shade.grid.ribbed().len(),
                self.list(shade.grid.ribbed().iter().map(|row| row.on_face.mark))
            )),
            (Style::Tucked, _) => steps.push(format!(
                "Lay {} flat together. Mark the tucks at {} from the top edge of the face; stitch each {} deep, through \
                 all layers.",
                if lined.is_some() { "face and lining" } else { "the face" },
                rows(|row| row.on_face.mark),
                self.near(folds.tuck.split(2, 1))
            )),
            (Style::Looped, _) => steps.push(format!(
                "Mark the rows on the face at {} from its top edge; tack each to its row on the {}, so that {} of each \
                 loop hangs free.",
                rows(|row| row.on_face.mark),
                if lined.is_some() { "lining" } else { "stay tapes" },
                self.near(folds.loop_extra)
            )),
            (Style::Flat | Style::Relaxed, _) => {}
        }
        if let Some(lining) = lined {
            let turned = lining.side_turning;
            let inset = (shade.width - lining.finished_width).split(2, 1);
            steps.push(format!(
                "Turn under {} at both sides of the lining; sew it to the face, {} back from each edge.",
                self.near(turned),
                self.near(inset)
            ));
        }
        if shade.style == Style::Relaxed {
            steps.push(format!(
                "Face the bottom: sew the facing on with a seam of {}, turn it to the back, and press the curve into \
                 it. There is no bottom bar.",
                self.near(settings.seam_allowance)
            ));
        } else if let Some(face) = shade.cut(Part::Face) {
            let (turned, pocket) = self.halves(face.length - face.foot_line);
            steps.push(format!(
                "Turn up the hem: {} turned in, {} for the bar's pocket; hem {} from the head line.",
                self.near(turned),
                self.near(pocket),
                self.near(shade.length)
            ));
        }
    }

    fn rings(&self, steps: &mut Vec<String>) {
        let shade = self.shade;
        let through = match shade.style {
            Style::FlatRibbed => "to the rib pockets",
            Style::Tucked => "to the back of each tuck",
            Style::Looped => "to the rows of the lining",
            Style::Flat | Style::Relaxed => "through to the face",
        };
        steps.push(format!(
            "Mark {} rows of rings, each from the hem: {}.",
            shade.grid.rows.len(),
            self.list(shade.grid.rows.iter().rev().map(|row| row.from_hem.mark))
        ));
        steps.push(format!(
            "Mark {} columns, each from the left edge: {}.{}",
            shade.grid.columns.len(),
            self.list(shade.grid.columns.iter().map(|column| column.from_left.mark)),
            if shade.style == Style::Relaxed { " Two only: the bottom hangs in a curve between them." } else { "" }
        ));
        steps.push(format!("Sew {} rings {through}; knot the lowest row twice.", shade.rings()));
        let bar = shade.stick(StickUse::Bar).is_some();
        if shade.stick(StickUse::Rib).is_some() {
            steps.push("Slide the ribs into their pockets and close the ends.".to_owned());
        }
        if bar {
            steps.push("Slide in the bottom bar and close its pocket.".to_owned());
        }
    }

    fn board(&self, steps: &mut Vec<String>) {
        let shade = self.shade;
        let head = shade.cut(Part::Face).map_or(Length::ZERO, |face| face.head_line);
        let on = if shade.stick(StickUse::TopRail).is_some() { "top rail" } else { "board" };
        steps.push(format!(
            "Cover the board. Lay the head line, {} from the top edge, square on the {on}'s front edge; staple from the middle out.",
            self.near(head)
        ));
        if let Some(valance) = shade.cut(Part::Valance) {
            steps.push(format!(
                "{} the valance, hem it to {} deep, and staple it over the shade.",
                if self.choices.lining == Lining::None { "Turn in" } else { "Line" },
                self.near(valance.foot_line - valance.head_line)
            ));
        }
        let eyes = self.list(shade.grid.columns.iter().map(|column| column.on_board.mark));
        let bottom = "in the bottom of the board, from its left end";
        let side = match self.choices.control {
            ControlSide::Left => "left",
            ControlSide::Right => "right",
        };
        steps.push(match self.choices.lift {
            Lift::NoReachableCord => {
                format!("Set the spring lift, and {} guides {bottom}: {eyes}.", shade.grid.columns.len())
            }
            Lift::CordLock | Lift::TopDownBottomUp => format!(
                "Set {} screw eyes {bottom}: {eyes}. Set the cord lock beside the last one at the {side}.",
                shade.grid.columns.len()
            ),
            Lift::ChainLoop => {
                format!("Set the chain lift with its chain at the {side}, and a spool {bottom}: {eyes}.")
            }
            Lift::EndlessCord => {
                format!("Set the cord lift with its endless cord at the {side}, and a spool {bottom}: {eyes}.")
            }
            Lift::Motor => format!("Set the motor with its power at the {side}, and a spool {bottom}: {eyes}."),
        });
        if !shade.cords.rail_eyes.is_empty() {
            steps.push(format!(
                "Set {} more screw eyes for the top rail's cords, from the left end of the board: {}, and drill the rail \
                 under every screw eye, so that each cord passes it freely.",
                shade.cords.rail_eyes.len(),
                self.list(shade.cords.rail_eyes.iter().copied())
            ));
        }
        for runs in shade.cords.alike() {
            let numbers = listed(runs.iter().map(|run| run.column.to_string()));
            let length = self.near(runs[0].total);
            let (cord, thread) = match runs[0].of {
                CordOf::Foot => ("cord", "lowest ring first"),
                CordOf::TopRail => ("top rail cord", "knotted into the rail"),
            };
            steps.push(match runs.len() {
                1 => format!("Cut {cord} {numbers} to {length} and thread it, {thread}."),
                _ => format!("Cut {cord}s {numbers} to {length} each and thread them, {thread}."),
            });
        }
        if let Some(around) = shade.cords.around {
            steps.push(format!("Hang the endless loop, {} once around, on the lift at the {side}.", self.near(around)));
        }
        steps.push("Hang it on the bench: level it, set the knots, raise and lower it three times.".to_owned());
    }
}

//! Outside mounts: on the wall over the opening, the board flush or on brackets.

use super::{Board, Bracket, Catalogue, Clearance, Form, Line, Mounting, Read, Refusal, Stop, Working};
use crate::flag::{Flag, Severity};
use crate::house::{Foot, Place};
use crate::length::{Direction, Length};

/// What is the same of both outside mounts.
struct Around<'a> {
    read: &'a Read<'a>,
    /// "the trim", or "the opening" where there is none.
    edge: &'static str,
    width: Working,
    /// Top of the trim (or opening) to the foot of the shade.
    drop: Vec<Line>,
    rule: &'static str,
    stop: Stop,
    /// Top of the trim (or opening) above the sill.
    top_above_sill: Length,
    overlap: Length,
    above_trim: Length,
    /// What the back of the fabric must clear, and what it is.
    proudest: Option<(Length, String)>,
    /// What stood in the way of knowing the proudest thing.
    unread: Vec<Place>,
    clear: Vec<Clearance>,
    flags: Vec<Flag>,
}

/// Works both outside forms, each to a mounting or a refusal.
pub(super) fn work(read: &Read<'_>, catalogue: &Catalogue) -> [Result<Mounting, Refusal>; 2] {
    let around = match Around::of(read) {
        Ok(around) => around,
        Err(refusal) => {
            let for_form = |form| Err(Refusal { form, ..refusal.clone() });
            return [for_form(Form::OutsideFlush), for_form(Form::OutsideBrackets)];
        }
    };
    [around.flush(catalogue), around.brackets(catalogue)]
}

impl<'a> Around<'a> {
    /// # Errors
    /// A refusal that holds for both forms (its form is set by the caller).
    fn of(read: &'a Read<'a>) -> Result<Self, Refusal> {
        let (settings, unit) = (read.settings, read.unit);
        let choices = read.choices;
        let refuse = |why: String, would: String, missing: &[Place]| Refusal {
            form: Form::OutsideFlush,
            why,
            would,
            missing: missing.to_vec(),
        };
        let edge = if read.wall.no_trim { "the opening" } else { "the trim" };
        let no_trim = read.wall.no_trim;

        let across = if no_trim {
            read.largest_width().ok_or_else(|| {
                refuse(
                    "no width was read, and without trim an outside mount is sized from the widest".to_owned(),
                    "Read the three widths.".to_owned(),
                    &[Place::WidthTop, Place::WidthMiddle, Place::WidthBottom],
                )
            })?
        } else {
            read.at(Place::TrimWidth).ok_or_else(|| {
                refuse(
                    "the trim was not measured over its outside edges".to_owned(),
                    "Read the trim width, or say that there is no trim.".to_owned(),
                    &[Place::TrimWidth],
                )
            })?
        };
        let down = if no_trim {
            read.smallest_height().ok_or_else(|| {
                refuse(
                    "no height was read, and without trim an outside mount hangs from the top of the opening"
                        .to_owned(),
                    "Read the heights.".to_owned(),
                    &[Place::HeightLeft, Place::HeightRight],
                )
            })?
        } else {
            read.at(Place::TrimHeight).ok_or_else(|| {
                refuse(
                    "the height from the top of the trim down to the sill was not read".to_owned(),
                    "Read the trim height.".to_owned(),
                    &[Place::TrimHeight],
                )
            })?
        };

        let mut flags = Vec::new();
        let mut clear = Vec::new();
        let (overlap, overlap_why) = match &choices.side_overlap {
            Some(typed) => (typed.value(), "chosen for this opening"),
            None if choices.dark => (settings.dark_side_overlap, "dark_side_overlap"),
            None => (settings.outside_side_overlap, "outside_side_overlap"),
        };
        if overlap.is_negative() && !no_trim && -overlap * 2 >= across.value {
            return Err(refuse(
                "the chosen side overlap takes away the whole width".to_owned(),
                "Choose a smaller one.".to_owned(),
                &[],
            ));
        }
        for (place, side) in [(Place::WallLeft, "left"), (Place::WallRight, "right")] {
            let has = read.at(place).map(|found| found.value);
            clear.push(Clearance::new(format!("free wall at the {side} of {edge}"), overlap, has));
            if let Some(has) = has
                && has < overlap
            {
                return Err(refuse(
                    format!(
                        "it passes {edge} by {} at each side, and at the {side} there is {} of wall",
                        overlap.show_marked(unit),
                        has.show_marked(unit)
                    ),
                    format!("Choose a side overlap of {} or less.", has.show_marked(unit)),
                    &[],
                ));
            }
        }
        let width = Working::of(
            format!("{} and overlap", if no_trim { "widest width" } else { "trim" }),
            vec![
                Line::new(across.term, across.value, across.why),
                Line::new("overlap at the left", overlap, overlap_why),
                Line::new("overlap at the right", overlap, overlap_why),
            ],
        )
        .rounded(unit, Direction::Nearest, "readings in another unit are brought to this tape");

        let (above_trim, above_why) = match &choices.above_trim {
            Some(typed) => (typed.value(), "chosen for this opening"),
            None => (settings.fixing_above_trim, "fixing_above_trim"),
        };
        if above_trim.is_negative() && (read.wall.trim_moulded || no_trim) {
            let (why, would) = if no_trim {
                (
                    "there is no trim to fix on, and the fixing is set below the top of the opening",
                    "Fix at or above it.",
                )
            } else {
                (
                    "the trim is moulded, and a board or bracket set on it has no flat bearing",
                    "Fix to the flat wall above the trim: choose a height above it of 0 or more.",
                )
            };
            return Err(refuse(why.to_owned(), would.to_owned(), &[]));
        }
        let (stop, rule, below) = Self::foot(read, &refuse)?;
        let top_above_sill = down.value;
        let mut drop = vec![Line::new(down.term, down.value, down.why)];
        drop.extend(below);
        drop.push(Line::new(format!("foot of the fixing above {edge}"), above_trim, above_why));

        let hangs_below_sill = matches!(stop, Stop::ApronFoot | Stop::Floor);
        let mut stands: Vec<(Length, String)> = Vec::new();
        let mut unread = Vec::new();
        let wanted = [
            (!no_trim, Place::TrimThickness, "the trim"),
            (true, Place::ProudMost, "what stands proudest (handle, crank, catch)"),
            (hangs_below_sill && !read.wall.no_sill, Place::SillOut, "the sill"),
        ];
        for (applies, place, what) in wanted {
            if !applies {
                continue;
            }
            match read.at(place) {
                Some(found) => stands.push((found.value, what.to_owned())),
                // Handles are read only where there are any.
                None if place == Place::ProudMost => {}
                None => unread.push(place),
            }
        }
        if !unread.is_empty() {
            let names: Vec<&str> = unread.iter().map(|place| place.words()).collect();
            flags.push(Flag::new(
                "projection_not_checked",
                Severity::TakeAgain,
                &unread,
                format!("The {} was not read, so nobody knows that the fabric clears it.", names.join(" and the ")),
                "Read it before the board is chosen.",
            ));
        }
        let proudest = stands.into_iter().max_by_key(|(value, _)| *value);
        Ok(Self {
            read,
            edge,
            width,
            drop,
            rule,
            stop,
            top_above_sill,
            overlap,
            above_trim,
            proudest,
            unread,
            clear,
            flags,
        })
    }

    /// Where the foot stops, and the lines from the sill to it.
    fn foot(
        read: &Read<'_>,
        refuse: &dyn Fn(String, String, &[Place]) -> Refusal,
    ) -> Result<(Stop, &'static str, Vec<Line>), Refusal> {
        let (settings, unit) = (read.settings, read.unit);
        let (stop, rule, lines) = match read.choices.foot {
            Foot::Sill if read.wall.no_sill => {
                return Err(refuse(
                    "there is no sill for it to stop at".to_owned(),
                    "Choose whether it stops at the foot of the apron or above the floor.".to_owned(),
                    &[],
                ));
            }
            Foot::Sill => {
                let line = Line::new("above the sill", -settings.outside_foot_clearance, "outside_foot_clearance");
                return Ok((Stop::Sill, "to the sill", vec![line]));
            }
            Foot::Apron => {
                let found = read.at(Place::SillToApronFoot).ok_or_else(|| {
                    refuse(
                        "it is to stop at the foot of the apron, and that was not read".to_owned(),
                        "Read from the sill down to the foot of the apron.".to_owned(),
                        &[Place::SillToApronFoot],
                    )
                })?;
                (Stop::ApronFoot, "to the foot of the apron", vec![Line::new(found.term, found.value, found.why)])
            }
            Foot::Floor => {
                let found = read.at(Place::SillToFloor).ok_or_else(|| {
                    refuse(
                        "it is to stop above the floor, and the height of the sill above it was not read".to_owned(),
                        "Read from the sill down to the floor.".to_owned(),
                        &[Place::SillToFloor],
                    )
                })?;
                let lines = vec![
                    Line::new(found.term, found.value, found.why),
                    Line::new("above the floor", -settings.floor_clearance, "floor_clearance"),
                ];
                (Stop::Floor, "to the floor", lines)
            }
        };
        let below: Length = lines.iter().map(|line: &Line| line.value).sum();
        if let Some(found) = read.at(Place::SillToStop)
            && below + settings.outside_foot_clearance > found.value
        {
            return Err(refuse(
                format!(
                    "it would hang {} below the sill, and {} below the sill something is in its way",
                    below.show_marked(unit),
                    found.value.show_marked(unit)
                ),
                "Stop it at the sill, or move what is in the way.".to_owned(),
                &[],
            ));
        }
        Ok((stop, rule, lines))
    }

    /// What the back of the fabric needs to stand off the wall; nothing where nothing stands proud.
    fn needs(&self) -> Length {
        self.proudest.as_ref().map_or(Length::ZERO, |(value, _)| *value + self.read.settings.projection_clearance)
    }

    /// How far the surface that the fixing sits on stands off the wall: the trim's, when it is set on the trim.
    fn bearing(&self) -> Length {
        if self.above_trim.is_negative() {
            self.read.at(Place::TrimThickness).map_or(Length::ZERO, |found| found.value)
        } else {
            Length::ZERO
        }
    }

    fn wall_above(&self) -> Option<Length> {
        self.read.at(Place::WallAbove).map(|found| found.value)
    }

    /// The refusal of a fixing that is higher than the wall above allows.
    fn too_high(&self, form: Form, adds: Length, has: Length) -> Refusal {
        let unit = self.read.unit;
        let what = if form == Form::OutsideFlush { "the board" } else { "bracket and board" };
        let would = if self.read.wall.trim_moulded || self.read.wall.no_trim {
            "Choose a lower fixing, or an inside mount.".to_owned()
        } else {
            format!(
                "Choose a lower fixing, or set it on the flat trim: a height above it of {} or less.",
                (has - adds).show_marked(unit)
            )
        };
        Refusal {
            form,
            why: format!(
                "{what} {} {} above {}, and there is {} of wall",
                if form == Form::OutsideFlush { "needs" } else { "need" },
                (adds + self.above_trim).show_marked(unit),
                self.edge,
                has.show_marked(unit)
            ),
            would,
            missing: Vec::new(),
        }
    }

    fn flush(&self, catalogue: &Catalogue) -> Result<Mounting, Refusal> {
        let form = Form::OutsideFlush;
        let chosen = self.read.choices.board;
        let boards: Vec<&Board> =
            catalogue.boards.iter().filter(|board| chosen.is_none_or(|size| board.size == size)).collect();
        self.known_board(form, &boards)?;
        let clears = |board: &&Board| self.bearing() + board.thickness >= self.needs();
        let Some(board) = boards.iter().copied().find(clears) else {
            return Err(self.not_proud_enough(form, &boards, |board| self.bearing() + board.thickness));
        };
        let adds = board.width;
        if let Some(has) = self.wall_above()
            && adds + self.above_trim > has
        {
            return Err(self.too_high(form, adds, has));
        }
        let lines =
            vec![Line::new("the board stands on its face", adds, format!("{} in the catalogue", board.size.name()))];
        Ok(self.mounting(form, board.clone(), None, board.thickness, adds, lines))
    }

    fn brackets(&self, catalogue: &Catalogue) -> Result<Mounting, Refusal> {
        let form = Form::OutsideBrackets;
        let (choices, settings, unit) = (self.read.choices, self.read.settings, self.read.unit);
        let boards: Vec<&Board> =
            catalogue.boards.iter().filter(|board| choices.board.is_none_or(|size| board.size == size)).collect();
        self.known_board(form, &boards)?;
        let brackets: Vec<&Bracket> = catalogue
            .brackets
            .iter()
            .filter(|bracket| choices.bracket.as_ref().is_none_or(|name| bracket.name == *name))
            .collect();
        if brackets.is_empty() {
            let known: Vec<&str> = catalogue.brackets.iter().map(|bracket| bracket.name.as_str()).collect();
            return Err(Refusal {
                form,
                why: choices.bracket.as_ref().map_or_else(
                    || "the catalogue has no bracket".to_owned(),
                    |name| format!("the catalogue has no bracket \"{name}\""),
                ),
                would: format!("Choose one of: {}.", known.join(", ")),
                missing: Vec::new(),
            });
        }
        let clears = |board: &&Board| self.bearing() + board.width >= self.needs();
        let suits = |board: &Board, bracket: &Bracket| {
            bracket.arm <= board.width && bracket.arm * 100 >= board.width * settings.bracket_arm_percent
        };
        let wide: Vec<&Board> = boards.iter().copied().filter(clears).collect();
        if wide.is_empty() {
            return Err(self.not_proud_enough(form, &boards, |board| self.bearing() + board.width));
        }
        let pairs: Vec<(&Board, &Bracket)> = wide
            .iter()
            .flat_map(|board| brackets.iter().map(move |bracket| (*board, *bracket)))
            .filter(|(board, bracket)| suits(board, bracket))
            .collect();
        if pairs.is_empty() {
            let board = wide[0];
            let least = board.width.scale(settings.bracket_arm_percent, 100, Direction::Up);
            return Err(Refusal {
                form,
                why: format!(
                    "no bracket suits a {}: its arm must carry at least {} percent of the board and not stick out past it",
                    board.size.name(),
                    settings.bracket_arm_percent
                ),
                would: format!(
                    "A bracket with an arm of {} to {}, or another board.",
                    least.show_marked(unit),
                    board.width.show_marked(unit)
                ),
                missing: Vec::new(),
            });
        }
        let adds = |board: &Board, bracket: &Bracket| bracket.leg + board.thickness;
        let has = self.wall_above();
        let fits = |(board, bracket): &&(&Board, &Bracket)| {
            has.is_none_or(|has| adds(board, bracket) + self.above_trim <= has)
        };
        let Some((board, bracket)) = pairs.iter().find(fits) else {
            let (board, bracket) = pairs[0];
            return Err(self.too_high(form, adds(board, bracket), has.unwrap_or_default()));
        };
        let lines = vec![
            Line::new("bracket leg", bracket.leg, format!("{} in the catalogue", bracket.name)),
            Line::new("board on the bracket", board.thickness, format!("{} in the catalogue", board.size.name())),
        ];
        Ok(self.mounting(form, (*board).clone(), Some((*bracket).clone()), board.width, adds(board, bracket), lines))
    }

    fn known_board(&self, form: Form, boards: &[&Board]) -> Result<(), Refusal> {
        if boards.is_empty() {
            let name = self.read.choices.board.map_or("that was asked for", |size| size.name());
            return Err(Refusal {
                form,
                why: format!("the catalogue has no board {name}"),
                would: "Choose another board, or add it to the catalogue.".to_owned(),
                missing: Vec::new(),
            });
        }
        Ok(())
    }

    fn not_proud_enough(&self, form: Form, boards: &[&Board], out: impl Fn(&Board) -> Length) -> Refusal {
        let unit = self.read.unit;
        let most = boards.iter().map(|board| out(board)).max().unwrap_or_default();
        let what = self.proudest.as_ref().map_or("what is under it", |(_, what)| what.as_str());
        let would = match form {
            Form::OutsideFlush => "Put the board on brackets, or choose a thicker one.",
            _ => "Choose a wider board and a bracket that carries it.",
        };
        Refusal {
            form,
            why: format!(
                "the fabric must hang {} off the wall to clear {what}, and the board holds it {} off",
                self.needs().show_marked(unit),
                most.show_marked(unit)
            ),
            would: would.to_owned(),
            missing: Vec::new(),
        }
    }

    fn mounting(
        &self,
        form: Form,
        board: Board,
        bracket: Option<Bracket>,
        out: Length,
        adds: Length,
        adding: Vec<Line>,
    ) -> Mounting {
        let projection = self.bearing() + out;
        let mut lines = self.drop.clone();
        lines.extend(adding);
        let mut clear = self.clear.clone();
        clear.push(Clearance::new(format!("free wall above {}", self.edge), adds + self.above_trim, self.wall_above()));
        if let Some((value, what)) = &self.proudest {
            let settings = self.read.settings;
            clear.push(Clearance::new(
                format!("between the fabric and {what}"),
                settings.projection_clearance,
                Some(projection - *value),
            ));
        }
        for place in &self.unread {
            let needs = self.read.settings.projection_clearance;
            clear.push(Clearance::new(format!("between the fabric and the {}", place.words()), needs, None));
        }
        let mut flags = self.flags.clone();
        if self.wall_above().is_none() {
            flags.push(Flag::new(
                "wall_above_not_read",
                Severity::TakeAgain,
                &[Place::WallAbove],
                format!(
                    "Nobody knows that there is {} of free wall above {}.",
                    (adds + self.above_trim).show_marked(self.read.unit),
                    self.edge
                ),
                "Read the free wall above, up to a ceiling or cornice.",
            ));
        }
        let board_length = self.read.board_length(&self.width);
        Mounting {
            form,
            width: self.width.clone(),
            width_other: None,
            length: Working::of(self.rule, lines).rounded(
                self.read.unit,
                Direction::Down,
                "readings in another unit are brought to this tape, never below where it stops",
            ),
            board,
            board_length,
            bracket,
            projection,
            adds_above: adds,
            above_trim: self.above_trim,
            overlap: self.overlap,
            stop: self.stop,
            above_sill: self.top_above_sill + self.above_trim + adds,
            proud: Length::ZERO,
            corner_gaps: None,
            wedge: None,
            clear,
            flags,
        }
    }
}

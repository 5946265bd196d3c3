//! Outside mounts: over the opening, on the wall or its trim, under the ceiling, or on a beam or frame.

use super::{
    Board, Bracket, Catalogue, Clearance, Edge, FlushWay, Form, Line, Mounting, Read, Refusal, Stop, Wedge, Working,
    corner,
};
use crate::flag::{Flag, Severity, listed};
use crate::house::{Attach, BoardSize, Foot, HeadShape, Place};
use crate::length::{Direction, Grain, Length, Typed};

/// What is the same of every outside mount of one opening.
struct Around<'a> {
    read: &'a Read<'a>,
    /// What heights above the opening are counted from.
    edge: Edge,
    width: Working,
    /// From that edge down to the sill, at the edge's lower end.
    down: Vec<Line>,
    /// From the sill down to the foot of the shade.
    below: Vec<Line>,
    rule: &'static str,
    stop: Stop,
    overlap: Length,
    /// What the back of the fabric must clear.
    stands: Vec<Stands>,
    /// What must be cleared and was not read.
    unread: Vec<Place>,
    ends_clear: [Length; 2],
    /// How the edge slopes, where that is the opening's own head.
    slopes: Option<Wedge>,
    clear: Vec<Clearance>,
    flags: Vec<Flag>,
}

/// Something that stands off the wall under the shade.
struct Stands {
    out: Length,
    what: &'static str,
    /// True of the trim: where it is flat, the fabric may rest on it.
    is_trim: bool,
}

/// Where one way of fixing sits, before the lengths are added up.
struct Seat {
    bearing: Length,
    packing: Length,
    above: Line,
}

type Way = Result<Mounting, Refusal>;

/// Works the outside forms, each to a mounting or a refusal. A board under the ceiling or on a beam is worked only
/// where it is chosen or was measured for.
pub(super) fn work(read: &Read<'_>, catalogue: &Catalogue) -> Vec<Way> {
    let asked = |attach: Attach, place: Place| read.choices.attach == Some(attach) || read.at(place).is_some();
    let mut ways: Vec<Way> = Vec::new();
    let ceiling = asked(Attach::Ceiling, Place::CeilingToSill);
    match Around::of(read, false) {
        Ok(around) => {
            ways.extend([around.flush(Form::OutsideFlush, catalogue), around.brackets(catalogue)]);
            if ceiling {
                ways.push(around.ceiling(catalogue));
            }
        }
        Err(refusal) => {
            let forms = [Form::OutsideFlush, Form::OutsideBrackets, Form::OutsideCeiling];
            let forms = &forms[..if ceiling { 3 } else { 2 }];
            ways.extend(forms.iter().map(|form| Err(Refusal { form: *form, ..refusal.clone() })));
        }
    }
    if asked(Attach::Face, Place::FaceAbove) {
        let face = Around::of(read, true).and_then(|around| around.flush(Form::OutsideFace, catalogue));
        ways.push(face.map_err(|refusal| Refusal { form: Form::OutsideFace, ..refusal }));
    }
    ways.into_iter().map(|way| way.and_then(|mounting| corner::beside(read, mounting))).collect()
}

impl<'a> Around<'a> {
    /// `face` for a board on the face of a beam or frame, which goes by the opening itself.
    ///
    /// # Errors
    /// A refusal that holds for every form (its form is set by the caller).
    fn of(read: &'a Read<'a>, face: bool) -> Result<Self, Refusal> {
        let (settings, unit) = (read.settings, read.unit);
        let choices = read.choices;
        let refuse = |why: String, would: String, missing: &[Place]| Refusal {
            form: Form::OutsideFlush,
            why,
            would,
            missing: missing.to_vec(),
        };
        let no_trim = read.wall.no_trim;
        let by_opening = face || no_trim;
        let edge = match (face, no_trim) {
            (true, _) => Edge::Face,
            (false, true) => Edge::Opening,
            (false, false) => Edge::Trim,
        };
        let beside = if by_opening { "the opening" } else { "the trim" };

        let across = if by_opening {
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
        let arched = read.wall.head_shape == HeadShape::Arched;
        let down = if by_opening {
            let height = if arched { read.largest_height() } else { read.smallest_height() };
            height.ok_or_else(|| {
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

        let rise = if by_opening && arched {
            let rise = read.at(Place::HeadRise).ok_or_else(|| {
                refuse(
                    "how far the arch rises was not read, and a board over it must clear its crown".to_owned(),
                    "Read from where the arch begins up to its highest point.".to_owned(),
                    &[Place::HeadRise],
                )
            })?;
            Some(rise)
        } else {
            None
        };

        let mut flags = Vec::new();
        let mut clear = Vec::new();
        let (overlap, overlap_why) = match &choices.side_overlap {
            Some(typed) => (typed.value(), "chosen for this opening"),
            None if choices.dark => (settings.dark_side_overlap, "dark_side_overlap"),
            None if by_opening => (settings.no_trim_overlap, "no_trim_overlap"),
            None => (settings.outside_side_overlap, "outside_side_overlap"),
        };
        if overlap.is_negative() && -overlap * 2 >= across.value {
            return Err(refuse(
                "the chosen side overlap takes away the whole width".to_owned(),
                "Choose a smaller one.".to_owned(),
                &[],
            ));
        }
        let mut ends_clear = [Length::ZERO; 2];
        for (place, side, end) in [(Place::WallLeft, "left", 0), (Place::WallRight, "right", 1)] {
            let has = read.at(place).map(|found| found.value);
            clear.push(Clearance::new(format!("free wall at the {side} of {beside}"), overlap, has));
            let Some(has) = has else { continue };
            if has < overlap {
                return Err(refuse(
                    format!(
                        "it passes {beside} by {} at each side, and at the {side} there is {} of wall",
                        overlap.show_marked(unit),
                        has.show_marked(unit)
                    ),
                    format!("Choose a side overlap of {} or less.", has.show_marked(unit)),
                    &[],
                ));
            }
            if edge == Edge::Opening {
                // The wall goes on past the board's end by what is left of it, and by half of what the board is short.
                let past = has - overlap + settings.board_deduction.split(2, 1);
                ends_clear[end] = (settings.plaster_edge - past).max(Length::ZERO);
            }
        }
        let width = Working::of(
            format!("{} and overlap", if by_opening { "widest width" } else { "trim" }),
            vec![
                Line::new(across.term, across.value, across.why),
                Line::new("overlap at the left", overlap, overlap_why),
                Line::new("overlap at the right", overlap, overlap_why),
            ],
        )
        .rounded(unit, Direction::Nearest, "readings in another unit are brought to this tape");

        let (stop, rule, below) = Self::foot(read, &refuse)?;
        let (stands, unread) = Self::stands(read, no_trim, stop);
        if !unread.is_empty() {
            let names: Vec<&str> = unread.iter().map(|place| place.words()).collect();
            flags.push(Flag::new(
                "projection_not_checked",
                Severity::TakeAgain,
                &unread,
                format!("The {} not measured: cannot check that the fabric clears it.", names.join(" and the ")),
                "Read it before the board is chosen.",
            ));
        }
        Ok(Self {
            read,
            edge,
            width,
            down: std::iter::once(down).chain(rise).map(|one| Line::new(one.term, one.value, one.why)).collect(),
            below,
            rule,
            stop,
            overlap,
            stands,
            unread,
            ends_clear,
            slopes: read.head_slopes().filter(|_| by_opening),
            clear,
            flags,
        })
    }

    /// From the edge that heights are counted from down to the sill.
    fn drop(&self) -> Length {
        self.down.iter().map(|line| line.value).sum()
    }

    /// How far that edge rises from its lower end to its higher one.
    fn slope(&self) -> Length {
        self.slopes.map_or(Length::ZERO, |slopes| slopes.opens)
    }

    /// True where the trim has a flat, straight face over the head that a board or a bracket may be set on.
    fn trim_bears(&self) -> bool {
        !self.read.wall.trim_moulded && self.read.wall.head_shape == HeadShape::Level
    }

    /// What stands off the wall under the shade, and what of it was not read.
    fn stands(read: &Read<'_>, no_trim: bool, stop: Stop) -> (Vec<Stands>, Vec<Place>) {
        let hangs_below_sill = matches!(stop, Stop::ApronFoot | Stop::Floor);
        let wanted = [
            (!no_trim, Place::TrimThickness, "the trim"),
            (true, Place::ProudMost, "the deepest projection (handle, crank, catch)"),
            (hangs_below_sill && !read.wall.no_sill, Place::SillOut, "the sill"),
        ];
        let (mut stands, mut unread) = (Vec::new(), Vec::new());
        if let Some(behind) = read.behind.filter(|behind| behind.form != Form::Inside) {
            // Its folds stand before it, beside what the cloth keeps clear of everything.
            let out = behind.out + read.settings.layers_apart - read.settings.projection_clearance;
            stands.push(Stands { out, what: "the shade behind it", is_trim: false });
        }
        for (_, place, what) in wanted.into_iter().filter(|(applies, _, _)| *applies) {
            match read.at(place) {
                Some(found) => {
                    // A handle that stands no farther out than the trim is cleared as the trim is.
                    let trim = read.at(Place::TrimThickness).filter(|_| !no_trim && place == Place::ProudMost);
                    let is_trim = place == Place::TrimThickness || trim.is_some_and(|trim| found.value <= trim.value);
                    stands.push(Stands { out: found.value, what, is_trim });
                }
                // Handles are read only where there are any.
                None if place == Place::ProudMost => {}
                None => unread.push(place),
            }
        }
        (stands, unread)
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

    /// The gap that the fabric needs before something: none before flat trim where it may rest on it.
    fn gap_before(&self, stands: &Stands, may_rest: bool) -> Length {
        if stands.is_trim && may_rest && !self.read.wall.trim_moulded {
            Length::ZERO
        } else {
            self.read.settings.projection_clearance
        }
    }

    /// What the back of the fabric needs to stand off the wall, and for the sake of what; zero where nothing stands
    /// proud.
    fn needs(&self, may_rest: bool) -> (Length, &'static str) {
        self.stands
            .iter()
            .map(|stands| (stands.out + self.gap_before(stands, may_rest), stands.what))
            .max_by_key(|(needs, _)| *needs)
            .unwrap_or((Length::ZERO, "what is under it"))
    }

    fn trim_thickness(&self) -> Option<Length> {
        self.stands.iter().find(|stands| stands.is_trim).map(|stands| stands.out)
    }

    /// Why nothing can be set this far above the edge; nothing where it can.
    fn no_seat(&self, form: Form, above: Length) -> Option<Refusal> {
        let (why, would) = match self.edge {
            Edge::Face if above < self.slope() => (
                "the board would hang below the face where that is highest",
                "Choose a height that clears its higher end.",
            ),
            _ if !above.is_negative() => return None,
            Edge::Face => ("the board would hang below the face", "Choose a height above its lower edge of 0 or more."),
            Edge::Opening => (
                "there is no trim to fix on, and the fixing is set below the top of the opening",
                "Fix at or above it.",
            ),
            Edge::Trim if !self.trim_bears() => (
                "the trim is moulded or not straight, and a board or bracket set on it has no flat bearing",
                "Fix to the flat wall above the trim: choose a height above it of 0 or more.",
            ),
            Edge::Trim => return None,
        };
        Some(Refusal { form, why: why.to_owned(), would: would.to_owned(), missing: Vec::new() })
    }

    /// How far the bottom of a fixing stands above the edge: as chosen, else as the house sets it, and without trim so
    /// high that its lowest screw keeps off the plaster's edge. `hole` is that screw, above the bottom of the fixing.
    fn above(&self, hole: Length) -> Line {
        let settings = self.read.settings;
        let term = format!("bottom of the fixing above {}", self.edge.words());
        if let Some(typed) = &self.read.choices.above_trim {
            return Line::new(term, typed.value(), "chosen for this opening");
        }
        let least = (settings.plaster_edge - hole).round(Grain::of_tape(self.read.unit), Direction::Up);
        let (above, why) = if self.edge == Edge::Opening && least > settings.fixing_above_trim {
            (least, "plaster_edge")
        } else {
            (settings.fixing_above_trim, "fixing_above_trim")
        };
        // Counted at the lower end, and so that it holds at the higher one.
        Line::new(term, above + self.slope(), why)
    }

    /// How far the surface that a fixing at this height sits on stands off the wall.
    fn bearing(&self, above: Length) -> Length {
        match self.edge {
            Edge::Face => self.read.at(Place::FaceOut).map_or(Length::ZERO, |found| found.value),
            Edge::Trim if above.is_negative() => self.trim_thickness().unwrap_or_default(),
            _ => Length::ZERO,
        }
    }

    /// The surface above the edge that takes the fixing, as far as it was read.
    fn room_above(&self) -> Option<Length> {
        let place = if self.edge == Edge::Face { Place::FaceAbove } else { Place::WallAbove };
        self.read.at(place).map(|found| found.value)
    }

    /// The refusal of a fixing that is higher than the surface above allows.
    fn too_high(&self, form: Form, above: Length, adds: Length, has: Length) -> Refusal {
        let unit = self.read.unit;
        let what = if form == Form::OutsideBrackets { "bracket and board need" } else { "the board needs" };
        let would = if self.edge != Edge::Trim || !self.trim_bears() {
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
                "{what} {} above {}, and there is {} of {}",
                (adds + above).show_marked(unit),
                self.edge.words(),
                has.show_marked(unit),
                if self.edge == Edge::Face { "face" } else { "wall" }
            ),
            would,
            missing: Vec::new(),
        }
    }

    /// The boards that may be taken: the one that was chosen, else the usual ones.
    fn boards<'b>(&self, form: Form, catalogue: &'b Catalogue) -> Result<Vec<&'b Board>, Refusal> {
        let boards: Vec<&Board> = match self.read.choices.board {
            Some(size) => catalogue.board(size).into_iter().collect(),
            None => catalogue.usual_boards().collect(),
        };
        if boards.is_empty() {
            let name = self.read.choices.board.map_or_else(|| "that was asked for".to_owned(), BoardSize::name);
            return Err(Refusal {
                form,
                why: format!("the catalogue has no board {name}"),
                would: "Choose another board, or add it to the catalogue.".to_owned(),
                missing: Vec::new(),
            });
        }
        Ok(boards)
    }

    /// A board on its face, on the wall, on flat trim or on a beam. The plain first board comes first, on the wall and
    /// then on flat trim; then packing behind it; then deeper boards.
    fn flush(&self, form: Form, catalogue: &Catalogue) -> Way {
        let choices = self.read.choices;
        let boards = self.boards(form, catalogue)?;
        if let Some(typed) = &choices.above_trim
            && let Some(refusal) = self.no_seat(form, typed.value())
        {
            return Err(refusal);
        }
        if self.edge == Edge::Face && self.room_above().is_none() {
            return Err(Refusal {
                form,
                why: "the face of the beam or frame was not measured".to_owned(),
                would: "Read the height of its flat face above the opening.".to_owned(),
                missing: vec![Place::FaceAbove],
            });
        }
        let mut tried: Vec<(bool, Mounting, FlushWay)> = Vec::new();
        let mut deepest = Length::ZERO;
        for board in boards {
            if board.thickness <= deepest {
                continue;
            }
            let first = deepest == Length::ZERO;
            deepest = board.thickness;
            for (as_chosen, seat) in self.seats(board) {
                // A deeper board stands in place of packing, not before it.
                if !first && choices.packing.is_none() && seat.packing > Length::ZERO {
                    continue;
                }
                let (mounting, way) = self.flush_on(form, board, seat);
                if tried.iter().all(|(_, _, other)| (&other.what, other.above_trim) != (&way.what, way.above_trim)) {
                    tried.push((as_chosen, mounting, way));
                }
            }
        }
        let taken = tried.iter().position(|(as_chosen, _, way)| *as_chosen && way.why_not.is_none());
        let Some(taken) = taken else { return Err(Self::no_flush(form, &tried)) };
        let mut ways: Vec<FlushWay> = tried.iter().map(|(_, _, way)| way.clone()).collect();
        ways[taken].taken = true;
        let mut mounting = tried.swap_remove(taken).1;
        if ways[taken].off_trim == Some(Length::ZERO) {
            mounting.flags.push(Flag::new(
                "rests_on_trim",
                Severity::Know,
                &[Place::TrimThickness],
                "The fabric rests on the face of the trim: least light at the sides, and it may wear there.",
                "To hang it clear, pack behind the board or take a deeper one.",
            ));
        }
        // Where nothing stands under the shade there is nothing to choose between.
        if self.edge == Edge::Trim {
            mounting.flush_ways = ways;
        }
        Ok(mounting)
    }

    /// Where a board on its face may sit, the first choice first, each with whether it is as the person chose.
    fn seats(&self, board: &Board) -> Vec<(bool, Seat)> {
        let (choices, settings) = (self.read.choices, self.read.settings);
        let hole = board.width.split(2, 1);
        let chosen = choices.packing.as_ref().map(Typed::value);
        let wall = self.above(hole);
        let seat =
            |above: &Line, packing: Length| Seat { bearing: self.bearing(above.value), packing, above: above.clone() };
        let plain = chosen.unwrap_or_default();
        let mut seats = vec![(true, seat(&wall, plain))];
        // On flat trim, its top edge and the board's in one line.
        if self.edge == Edge::Trim && self.trim_bears() && self.trim_thickness().is_some() {
            let on_trim = Line::new(wall.term.clone(), -board.width, "on the flat trim, level with its top");
            if choices.above_trim.is_some() || self.head_trim().is_some_and(|head| head >= board.width) {
                seats.push((choices.above_trim.is_none(), seat(&on_trim, plain)));
            }
        }
        // As much packing as hangs the fabric clear; where that is too much, as much as lets it rest.
        let base = self.bearing(wall.value) + board.thickness;
        let grain = Grain::of_tape(self.read.unit);
        let lacks = [false, true].map(|may_rest| (self.needs(may_rest).0 - base).round(grain, Direction::Up));
        let packing = lacks.into_iter().find(|lacks| *lacks <= settings.packing_most).unwrap_or(lacks[1]);
        if packing > Length::ZERO {
            seats.push((chosen.is_none(), seat(&wall, packing)));
        }
        seats
    }

    /// The height of the head trim's face: its top above the head of the opening, else the width of a leg.
    fn head_trim(&self) -> Option<Length> {
        self.read
            .smallest_height()
            .map(|height| self.drop() - height.value)
            .or_else(|| self.read.at(Place::TrimLeg).map(|found| found.value))
    }

    /// One board on its face in one place, and what that does.
    fn flush_on(&self, form: Form, board: &Board, seat: Seat) -> (Mounting, FlushWay) {
        let (settings, unit) = (self.read.settings, self.read.unit);
        let show = |length: Length| length.show_marked(unit);
        let (above, packing) = (seat.above.value, seat.packing);
        let on_trim = self.edge == Edge::Trim && above.is_negative();
        let adding = vec![Line::new(
            "the board stands on its face",
            board.width,
            format!("{} in the catalogue", board.size.name()),
        )];
        let mounting = self.mounting(form, board.clone(), None, seat, board.thickness, board.width, adding);
        let (needs, before) = self.needs(true);
        let why_not = if mounting.projection < needs {
            Some(format!(
                "the fabric needs {} projection to clear {before}; this board gives {}",
                show(needs),
                show(mounting.projection)
            ))
        } else if packing > settings.packing_most {
            Some(format!(
                "it needs {} of packing behind the board, more than {} (packing_most)",
                show(packing),
                show(settings.packing_most)
            ))
        } else {
            let has = self.room_above();
            let high = has.filter(|has| board.width + above > *has);
            high.map(|has| self.too_high(form, above, board.width, has).why)
        };
        let place = match self.edge {
            Edge::Trim if on_trim => "on the flat trim".to_owned(),
            Edge::Face => "on the face".to_owned(),
            edge => format!("on the flat wall above {}", edge.words()),
        };
        let packed =
            if packing > Length::ZERO { format!(", {} of packing behind it", show(packing)) } else { String::new() };
        let off_trim = self.trim_thickness().map(|trim| mounting.projection - trim);
        let light = match off_trim {
            Some(gap) if gap == Length::ZERO => "rests on the trim: least light at the sides".to_owned(),
            Some(gap) if gap.is_negative() => format!("the trim stands {} in its way", show(-gap)),
            Some(gap) => format!("{} between fabric and trim, where light passes at the sides", show(gap)),
            None => format!("{} between fabric and wall, where light passes at the sides", show(mounting.projection)),
        };
        let way = FlushWay {
            what: format!("{} {place}{packed}", board.size.name()),
            board: board.size,
            on_trim,
            packing,
            above_trim: above,
            projection: mounting.projection,
            off_trim,
            length: mounting.length.total,
            light,
            why_not,
            taken: false,
            set: vec![
                ("choices.board", board.size.name()),
                ("choices.above_trim", show(above)),
                ("choices.packing", show(packing)),
            ],
        };
        (mounting, way)
    }

    /// The refusal where no board on its face is as it was chosen: why the first is not, and what would be.
    fn no_flush(form: Form, tried: &[(bool, Mounting, FlushWay)]) -> Refusal {
        let serve = tried.iter().filter(|(_, _, way)| way.why_not.is_none());
        let others: Vec<&str> = serve.map(|(_, _, way)| way.what.as_str()).collect();
        let would = if others.is_empty() {
            "Put the board on brackets, or choose a deeper one.".to_owned()
        } else {
            format!("Choose: {}.", listed(others.into_iter().map(str::to_owned)))
        };
        let why = tried.iter().find_map(|(as_chosen, _, way)| way.why_not.clone().filter(|_| *as_chosen));
        Refusal { form, why: why.unwrap_or_else(|| "no board serves".to_owned()), would, missing: Vec::new() }
    }

    /// A board flat on the arms of brackets.
    fn brackets(&self, catalogue: &Catalogue) -> Way {
        let form = Form::OutsideBrackets;
        let (choices, settings, unit) = (self.read.choices, self.read.settings, self.read.unit);
        if let Some(typed) = &choices.above_trim
            && let Some(refusal) = self.no_seat(form, typed.value())
        {
            return Err(refusal);
        }
        let boards = self.boards(form, catalogue)?;
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
        let above = |bracket: &Bracket| self.above(bracket.wall_holes.iter().copied().min().unwrap_or_default());
        let (needs, before) = self.needs(false);
        let gives =
            |board: &Board| self.bearing(choices.above_trim.as_ref().map_or(Length::ZERO, Typed::value)) + board.width;
        let wide: Vec<&Board> = boards.iter().copied().filter(|board| gives(board) >= needs).collect();
        if wide.is_empty() {
            let most = boards.iter().map(|board| gives(board)).max().unwrap_or_default();
            return Err(Refusal {
                form,
                why: format!(
                    "the fabric needs {} projection to clear {before}; the board gives {}",
                    needs.show_marked(unit),
                    most.show_marked(unit)
                ),
                would: "Choose a wider board and a bracket that carries it.".to_owned(),
                missing: Vec::new(),
            });
        }
        let suits = |board: &Board, bracket: &Bracket| {
            bracket.arm <= board.width && bracket.arm * 100 >= board.width * settings.bracket_arm_percent
        };
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
        let has = self.room_above();
        let fits = |(board, bracket): &&(&Board, &Bracket)| {
            has.is_none_or(|has| adds(board, bracket) + above(bracket).value <= has)
        };
        let Some((board, bracket)) = pairs.iter().find(fits) else {
            let (board, bracket) = pairs[0];
            return Err(self.too_high(form, above(bracket).value, adds(board, bracket), has.unwrap_or_default()));
        };
        let lines = vec![
            Line::new("bracket leg", bracket.leg, format!("{} in the catalogue", bracket.name)),
            Line::new("board on the bracket", board.thickness, format!("{} in the catalogue", board.size.name())),
        ];
        let above = above(bracket);
        let seat = Seat { bearing: self.bearing(above.value), packing: Length::ZERO, above };
        let bracket = (*bracket).clone();
        let adds = adds(board, &bracket);
        Ok(self.mounting(form, (*board).clone(), Some(bracket), seat, board.width, adds, lines))
    }

    /// A board flat under the ceiling, so far from the wall that the fabric hangs clear.
    fn ceiling(&self, catalogue: &Catalogue) -> Way {
        let form = Form::OutsideCeiling;
        let (settings, unit, grain) = (self.read.settings, self.read.unit, Grain::of_tape(self.read.unit));
        let show = |length: Length| length.show_marked(unit);
        let refuse =
            |why: String, would: String, missing: &[Place]| Refusal { form, why, would, missing: missing.to_vec() };
        let board = self.boards(form, catalogue)?[0];
        let found = self.read.at(Place::CeilingToSill).ok_or_else(|| {
            refuse(
                "the drop from the ceiling was not read".to_owned(),
                "Read from the ceiling down to the sill.".to_owned(),
                &[Place::CeilingToSill],
            )
        })?;
        let room = found.value - self.drop();
        if room < board.thickness + self.slope() {
            return Err(refuse(
                format!(
                    "the ceiling is {} above {}, and the board is {} thick",
                    show(room),
                    self.edge.words(),
                    show(board.thickness)
                ),
                "Choose another way of mounting, or check both heights.".to_owned(),
                &[],
            ));
        }
        let (needs, before) = self.needs(false);
        let least = (needs - board.width).max(Length::ZERO).round(grain, Direction::Up);
        let off_wall = self.read.choices.off_wall.as_ref().map_or(least, Typed::value);
        if off_wall < least {
            return Err(refuse(
                format!(
                    "the fabric needs {} projection to clear {before}; this board, {} off the wall, gives {}",
                    show(needs),
                    show(off_wall),
                    show(off_wall + board.width)
                ),
                format!("Set its back edge {} or more off the wall.", show(least)),
                &[],
            ));
        }
        let mut mounting = self.mounting(
            form,
            board.clone(),
            None,
            Seat {
                bearing: off_wall,
                packing: Length::ZERO,
                above: Line::new("", room - board.thickness, "from the ceiling"),
            },
            board.width,
            board.thickness,
            Vec::new(),
        );
        // The drop is counted from the ceiling, where the top of the board is.
        let mut lines = vec![Line::new(found.term, found.value, found.why)];
        lines.extend(self.below.iter().cloned());
        mounting.length = self.rounded_length(lines);
        mounting.above_sill = found.value;
        mounting.bearing = Length::ZERO;
        mounting.off_wall = off_wall;
        mounting.clear.retain(|clear| !clear.what.starts_with("free wall above"));
        mounting.flags.retain(|flag| flag.code != "wall_above_not_read");
        mounting.clear.push(Clearance::new(
            format!("between {} and the ceiling", self.edge.words()),
            board.thickness,
            Some(room),
        ));
        let wall = self.read.at(Place::WallAbove).map(|found| found.value);
        if let Some(wall) = wall.filter(|wall| (*wall - room).abs() > settings.repeat_spread) {
            let apart = (wall - room).abs();
            mounting.flags.push(if wall < room {
                Flag::new(
                    "cornice",
                    Severity::Decide,
                    &[Place::WallAbove, Place::CeilingToSill],
                    format!(
                        "The free wall ends {} below the ceiling: a cornice, or something else, is there.",
                        show(apart)
                    ),
                    "See how far it sticks out, and set the back edge of the board in front of it (off the wall).",
                )
            } else {
                Flag::new(
                    "ceiling_disagrees",
                    Severity::TakeAgain,
                    &[Place::CeilingToSill, Place::WallAbove],
                    format!("The free wall above would reach {} past the ceiling.", show(apart)),
                    "Measure both once more.",
                )
            });
        }
        Ok(mounting)
    }

    fn rounded_length(&self, lines: Vec<Line>) -> Working {
        Working::of(self.rule, lines).rounded(
            self.read.unit,
            Direction::Down,
            "readings in another unit are brought to this tape, never below where it stops",
        )
    }

    /// The record of a fixing in its seat, which stands `out` from it and adds so much above its own bottom.
    #[allow(clippy::too_many_arguments, reason = "the parts of one record, each named where it is called")]
    fn mounting(
        &self,
        form: Form,
        board: Board,
        bracket: Option<Bracket>,
        seat: Seat,
        out: Length,
        adds: Length,
        adding: Vec<Line>,
    ) -> Mounting {
        let unit = self.read.unit;
        let Seat { bearing, packing, above } = seat;
        let above_trim = above.value;
        let projection = bearing + packing + out;
        let mut lines = self.down.clone();
        lines.extend(self.below.iter().cloned());
        // What a slope adds is a line of its own, so that the number it is added to keeps its name.
        let slopes = self.slopes.filter(|_| self.read.choices.above_trim.is_none());
        let up = slopes.map_or(Length::ZERO, |slopes| slopes.opens);
        lines.push(Line { value: above.value - up, ..above });
        lines.extend(slopes.map(|slopes| {
            let side = if slopes.at_right { "right" } else { "left" };
            Line::new(format!("by which the head is higher at the {side}"), up, "read")
        }));
        lines.extend(adding);
        let edge = self.edge.words();
        let mut clear = self.clear.clone();
        let surface = if self.edge == Edge::Face { "face" } else { "wall" };
        let room_above = self.room_above();
        clear.push(Clearance::new(format!("free {surface} above {edge}"), adds + above_trim, room_above));
        for stands in &self.stands {
            let gap = self.gap_before(stands, form.is_on_face());
            clear.push(Clearance::new(
                format!("between the fabric and {}", stands.what),
                gap,
                Some(projection - stands.out),
            ));
        }
        for place in &self.unread {
            let needs = self.read.settings.projection_clearance;
            clear.push(Clearance::new(format!("between the fabric and the {}", place.words()), needs, None));
        }
        let mut flags = self.flags.clone();
        if room_above.is_none() {
            flags.push(Flag::new(
                "wall_above_not_read",
                Severity::TakeAgain,
                &[Place::WallAbove],
                format!("Free wall above {edge} not measured; {} is needed.", (adds + above_trim).show_marked(unit)),
                "Read the free wall above, up to a ceiling or cornice.",
            ));
        }
        if form == Form::OutsideFace && self.read.at(Place::FaceOut).is_none() {
            flags.push(Flag::new(
                "face_out_not_read",
                Severity::Know,
                &[Place::FaceOut],
                "How far the face stands off the wall was not measured; it is taken as flush with the wall.",
                "Measure it where the fabric must clear a handle or the sill.",
            ));
        }
        if self.edge == Edge::Opening {
            let hole = match &bracket {
                Some(bracket) => bracket.wall_holes.iter().copied().min().unwrap_or_default(),
                None => board.width.split(2, 1),
            };
            let from_edge = above_trim + hole - self.slope();
            let least = self.read.settings.plaster_edge;
            if from_edge < least && !form.is_screwed_up() {
                flags.push(Flag::new(
                    "screws_near_plaster_edge",
                    Severity::Decide,
                    &[],
                    format!(
                        "The lowest screws come {} above the edge of the plaster, nearer than {}: it may break away.",
                        from_edge.show_marked(unit),
                        least.show_marked(unit)
                    ),
                    "Set the fixing higher, or look at what is there.",
                ));
            }
        }
        let board_length = self.read.board_length(&self.width);
        Mounting {
            form,
            width: self.width.clone(),
            width_other: None,
            width_worked: None,
            length_worked: None,
            length: self.rounded_length(lines),
            board,
            board_length,
            bracket,
            projection,
            bearing,
            packing,
            off_wall: Length::ZERO,
            adds_above: adds,
            above_trim,
            edge: self.edge,
            overlap: self.overlap,
            beside: None,
            stop: self.stop,
            above_sill: self.drop() + above_trim + adds,
            proud: Length::ZERO,
            corner_gaps: None,
            wedge: None,
            edge_slopes: self.slopes,
            ends_clear: self.ends_clear,
            flush_ways: Vec::new(),
            clear,
            flags,
        }
    }
}

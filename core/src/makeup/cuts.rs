//! What is cut: pieces of cloth and sticks, each size as a sum of named terms.

use super::working::{Sum, Working};
use super::{Folds, Grid, Order, is_lined};
use crate::cloth::Bolt;
use crate::flag::{Flag, Severity};
use crate::house::{Lift, Mount, Style};
use crate::length::{Direction, Grain, Length};

/// A part that is cut from cloth.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Part {
    /// The face of the shade.
    Face,
    /// Its lining.
    Lining,
    /// Between face and lining.
    Interlining,
    /// The facing behind the foot of a relaxed shade.
    FootFacing,
    /// The face of the valance.
    Valance,
    /// The lining of the valance.
    ValanceLining,
    /// The cloth that covers the board.
    BoardCover,
}

impl Part {
    /// Every part.
    pub const ALL: [Self; 7] = [
        Self::Face,
        Self::Lining,
        Self::Interlining,
        Self::FootFacing,
        Self::Valance,
        Self::ValanceLining,
        Self::BoardCover,
    ];

    /// As a maker says it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Face => "face",
            Self::Lining => "lining",
            Self::Interlining => "interlining",
            Self::FootFacing => "foot facing",
            Self::Valance => "valance",
            Self::ValanceLining => "valance lining",
            Self::BoardCover => "board cover",
        }
    }
}

/// The cloth a part is cut from.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Material {
    /// The cloth that was chosen.
    Face,
    /// Plain or blackout lining, as chosen.
    Lining,
    /// Interlining.
    Interlining,
}

impl Material {
    /// As a maker says it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Face => "face cloth",
            Self::Lining => "lining",
            Self::Interlining => "interlining",
        }
    }
}

/// One piece of cloth to cut. Wider than the cloth it is cut from, it is joined: see [`crate::cloth`].
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cut {
    /// What it becomes.
    pub part: Part,
    /// What it is cut from.
    pub material: Material,
    /// Cut width, turnings included: the finished width and a turning at each side, whatever it is joined from.
    pub width: Length,
    /// Its own width when its joins are sewn and its sides turned.
    pub finished_width: Length,
    /// Turned at each side.
    pub side_turning: Length,
    /// Cut length, turnings included.
    pub length: Length,
    /// From its top cut edge to the finished head: where a pattern that starts at the head is matched.
    pub head_line: Length,
    /// From its top cut edge to the finished foot: where a pattern that starts at the foot is matched.
    pub foot_line: Length,
    /// True when its pattern is seen, so that it is matched.
    pub matched: bool,
}

/// What a stick of wood, metal or rod becomes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum StickUse {
    /// The bar in the pocket at the foot.
    Bar,
    /// A rib in a pocket of the lining.
    Rib,
    /// The board the shade hangs from.
    Board,
    /// The rail under the board that the shade is stapled to where it is lowered from the top.
    TopRail,
}

impl StickUse {
    /// As a maker says it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Bar => "bottom bar",
            Self::Rib => "rib",
            Self::Board => "board",
            Self::TopRail => "top rail",
        }
    }
}

/// Sticks of one length to cut.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Stick {
    /// What they become.
    pub part: StickUse,
    /// Length of each.
    pub length: Length,
    /// How many.
    pub count: usize,
}

/// Bar, ribs and board.
pub(super) fn sticks(order: &Order<'_>, grid: &Grid, workings: &mut Vec<Working>) -> Vec<Stick> {
    let settings = order.settings;
    let mut cut = |part: StickUse, off: Length, why: &str| {
        Sum::of(part.words())
            .add("finished width", order.width, "edge to edge")
            .add("shorter by", -off, why)
            .on_tape(order.unit, Direction::Down)
            .file(workings)
    };
    let mut sticks = Vec::new();
    let board = cut(StickUse::Board, settings.board_deduction, "the cloth wraps its ends");
    sticks.push(Stick { part: StickUse::Board, length: board, count: 1 });
    if order.choices.lift == Lift::TopDownBottomUp {
        let rail = cut(StickUse::TopRail, settings.board_deduction, "the cloth wraps its ends");
        sticks.push(Stick { part: StickUse::TopRail, length: rail, count: 1 });
    }
    if order.choices.style != Style::Relaxed {
        let bar = cut(StickUse::Bar, settings.bar_deduction, "it slides in its pocket and stays hidden");
        sticks.push(Stick { part: StickUse::Bar, length: bar, count: 1 });
    }
    if order.choices.style == Style::FlatRibbed {
        let rib = cut(StickUse::Rib, settings.rib_deduction, "a little short of the width");
        sticks.push(Stick { part: StickUse::Rib, length: rib, count: grid.ribbed().len() });
    }
    sticks.retain(|stick| stick.length > Length::ZERO);
    sticks
}

/// Every piece of cloth.
pub(super) fn cuts(
    order: &Order<'_>,
    folds: &Folds,
    grid: &Grid,
    workings: &mut Vec<Working>,
    flags: &mut Vec<Flag>,
) -> Vec<Cut> {
    let settings = order.settings;
    let style = order.choices.style;
    let relaxed = style == Style::Relaxed;
    let rows = i64::try_from(grid.rows.len()).expect("rows of rings are few");
    let n = i64::from(folds.count);
    let wrap = order.wrap();
    let show = |length: Length| length.show_marked(order.unit);
    let tucks = folds.tuck * rows;
    let tucks_why = format!("{rows} stitched tucks, each takes twice {}", show(settings.tuck_depth));
    let loops = folds.loop_extra * n;
    let loops_why = format!("{n} soft loops of {} more", show(folds.loop_extra));
    let mut cuts = Vec::new();

    let turning = turning(order, "face", order.width, settings.side_turning, face_usable(order), flags);
    let width = Sum::of("face, cut width")
        .add("finished width", order.width, "edge to edge")
        .add("side turnings", turning.each * 2, turning.why(order, "turned back each side"))
        .file(workings);
    let length = Sum::of("face, cut length")
        .add("over the board", order.board_depth, "wraps the board's top, front to back")
        .add("to staple", settings.staple_turning, "to pull on while stapling")
        .on_tape(order.unit, Direction::Up)
        .add("finished length", order.length, "top of the board to the hem")
        .add_some("tucks", tucks, tucks_why.as_str())
        .add_some("loops", loops, loops_why.as_str())
        .add(
            if relaxed { "foot seam" } else { "bottom turning" },
            if relaxed { settings.seam_allowance } else { settings.bottom_turning },
            if relaxed { "sewn to the facing" } else { "the pocket of the bar" },
        )
        .on_tape(order.unit, Direction::Up)
        .file(workings);
    let foot_line = order.tape(wrap + order.length + tucks + loops, Direction::Nearest);
    let face = Cut {
        part: Part::Face,
        material: Material::Face,
        width,
        finished_width: order.width,
        side_turning: turning.each,
        length,
        head_line: wrap,
        foot_line,
        matched: true,
    };
    cuts.push(face);

    if is_lined(order.choices) {
        let (width, finished_width, side_turning) = lining_width(order, "lining", order.width, workings, flags);
        let ribs = i64::try_from(grid.ribbed().len()).expect("rows of rings are few");
        let pockets = if style == Style::FlatRibbed { settings.rib_pocket * ribs } else { Length::ZERO };
        let length = Sum::of("lining, cut length")
            .add("over the board", order.board_depth, "stapled with the face")
            .add("to staple", settings.staple_turning, "to pull on while stapling")
            .on_tape(order.unit, Direction::Up)
            .add("finished length", order.length, "top of the board to the hem")
            .add("foot", -settings.lining_rise, "ends inside the pocket, above the fold of the hem")
            .add_some("rib pockets", pockets, format!("{ribs} pockets, each takes {}", show(settings.rib_pocket)))
            .add_some("tucks", tucks, tucks_why.as_str())
            .on_tape(order.unit, Direction::Up)
            .file(workings);
        cuts.push(Cut {
            part: Part::Lining,
            material: Material::Lining,
            width,
            finished_width,
            side_turning,
            length,
            head_line: wrap,
            foot_line: length,
            matched: false,
        });
    }
    if order.choices.interlined {
        let width = Sum::of("interlining, cut width")
            .add("finished width", order.width, "lies in the folds of the side turnings")
            .on_tape(order.unit, Direction::Up)
            .file(workings);
        let length = Sum::of("interlining, cut length")
            .add("finished length", order.length, "top of the board to the fold of the hem")
            .add_some("tucks", tucks, tucks_why.as_str())
            .add_some("loops", loops, loops_why.as_str())
            .on_tape(order.unit, Direction::Up)
            .file(workings);
        cuts.push(Cut {
            part: Part::Interlining,
            material: Material::Interlining,
            width,
            finished_width: order.width,
            side_turning: Length::ZERO,
            length,
            head_line: Length::ZERO,
            foot_line: length,
            matched: false,
        });
    }
    if relaxed {
        let length = Sum::of("foot facing, cut length")
            .add("facing", settings.facing_depth, "finished depth, shaped to the curve of the foot")
            .add("seams", settings.seam_allowance * 2, "top turned under, foot sewn to the face")
            .on_tape(order.unit, Direction::Up)
            .file(workings);
        cuts.push(Cut {
            part: Part::FootFacing,
            material: Material::Face,
            width,
            finished_width: order.width,
            side_turning: turning.each,
            length,
            head_line: Length::ZERO,
            foot_line: length,
            matched: false,
        });
    }
    if let Some(drop) = order.choices.valance.as_ref().map(crate::length::Typed::value) {
        valance(order, drop, wrap, &mut cuts, workings, flags);
    }
    board_cover(order, &mut cuts, workings);
    cuts
}

/// What is turned at each side of a part.
struct Turning {
    each: Length,
    /// What the house turns, where this is less.
    usual: Option<Length>,
}

impl Turning {
    fn why(&self, order: &Order<'_>, what: &str) -> String {
        let show = |length: Length| length.show_marked(order.unit);
        match self.usual {
            Some(usual) => format!("{} {what}, not {}: so it needs no join", show(self.each), show(usual)),
            None => format!("{} {what}", show(self.each)),
        }
    }
}

/// Usable width of the cloth that was chosen.
fn face_usable(order: &Order<'_>) -> Option<Length> {
    let bolt = Bolt::of(order.cloth?, order.settings, order.unit).ok()?;
    Some(bolt.usable)
}

/// The turning at each side: the house's, or less where a little less saves a join.
fn turning(
    order: &Order<'_>,
    part: &str,
    finished: Length,
    usual: Length,
    usable: Option<Length>,
    flags: &mut Vec<Flag>,
) -> Turning {
    // Each side is turned by a whole mark of the tape, rounded up: never too little to turn.
    let usual = order.tape(usual, Direction::Up);
    let least = order.settings.side_turning_least.min(usual);
    let Some(usable) = usable.filter(|usable| finished + usual * 2 > *usable && finished + least * 2 <= *usable) else {
        return Turning { each: usual, usual: None };
    };
    // On the tape, and never so that a join is needed after all.
    let each = (usable - finished).scale(1, 2, Direction::Down).round(Grain::of_tape(order.unit), Direction::Down);
    if each < least {
        return Turning { each: usual, usual: None };
    }
    let show = |length: Length| length.show_marked(order.unit);
    flags.push(super::flag(
        "turnings_narrowed",
        Severity::Know,
        format!("the side turnings of the {part} are {} each, not {}", show(each), show(usual)),
        format!("no action: so the {part} needs no join on cloth of {} usable width", show(usable)),
    ));
    Turning { each, usual: Some(usual) }
}

/// A print that is joined goes on at its seams by its repeat across: where that is not known, it is to be decided.
pub(super) fn unknown_print(order: &Order<'_>, cuts: &[Cut]) -> Option<Flag> {
    let bolt = Bolt::of(order.cloth?, order.settings, order.unit).ok()?;
    let joined = |cut: &&Cut| cut.matched && cut.material == Material::Face && cut.width > bolt.usable;
    let cut = cuts.iter().find(joined)?;
    (bolt.repeat.is_some() && bolt.repeat_across.is_none()).then(|| {
        super::flag(
            "print_across_unknown",
            Severity::Decide,
            format!(
                "the {} is joined and the repeat across of {} is not known: where its print goes on at the seams cannot be worked out",
                cut.part.words(),
                bolt.name
            ),
            "measure the repeat across the cloth and enter it, or choose to join it by eye",
        )
    })
}

/// Cut width, finished width and turning of a lining behind a face of this finished width.
fn lining_width(
    order: &Order<'_>,
    part: &str,
    face: Length,
    workings: &mut Vec<Working>,
    flags: &mut Vec<Flag>,
) -> (Length, Length, Length) {
    let settings = order.settings;
    let inset = order.tape(settings.lining_inset, Direction::Up);
    let finished = face - inset * 2;
    let turning = turning(order, part, finished, settings.lining_turning, Some(settings.lining_width), flags);
    let width = Sum::of(format!("{part}, cut width"))
        .add("finished width", face, "edge to edge of the face")
        .add(
            "stands back",
            -(inset * 2),
            format!("{} each side, so that it stays hidden", inset.show_marked(order.unit)),
        )
        .add("side turnings", turning.each * 2, turning.why(order, "turned under each side"))
        .file(workings);
    (width, finished, turning.each)
}

/// The valance hangs from the top of the same board, over the shade.
fn valance(
    order: &Order<'_>,
    drop: Length,
    wrap: Length,
    cuts: &mut Vec<Cut>,
    workings: &mut Vec<Working>,
    flags: &mut Vec<Flag>,
) {
    let settings = order.settings;
    let returns =
        if order.mount == Mount::Outside { order.tape(order.board_depth, Direction::Up) * 2 } else { Length::ZERO };
    let finished_width = order.width + returns;
    let turning = turning(order, "valance", finished_width, settings.side_turning, face_usable(order), flags);
    let width = Sum::of("valance, cut width")
        .add("finished width", order.width, "edge to edge")
        .add_some("returns", returns, "around both ends of the board, back to the wall")
        .add("side turnings", turning.each * 2, turning.why(order, "turned back each side"))
        .file(workings);
    let length = Sum::of("valance, cut length")
        .add("over the board", order.board_depth, "wraps the board's top, over the shade")
        .add("to staple", settings.staple_turning, "to pull on while stapling")
        .on_tape(order.unit, Direction::Up)
        .add("drop", drop, "top of the board to its foot")
        .add("hem", settings.valance_hem, "turned up at the foot")
        .on_tape(order.unit, Direction::Up)
        .file(workings);
    cuts.push(Cut {
        part: Part::Valance,
        material: Material::Face,
        width,
        finished_width,
        side_turning: turning.each,
        length,
        head_line: wrap,
        foot_line: order.tape(wrap + drop, Direction::Nearest),
        matched: true,
    });
    if is_lined(order.choices) {
        let (width, finished_width, side_turning) =
            lining_width(order, "valance lining", order.width + returns, workings, flags);
        let length = Sum::of("valance lining, cut length")
            .add("over the board", order.board_depth, "stapled with the valance")
            .add("to staple", settings.staple_turning, "to pull on while stapling")
            .on_tape(order.unit, Direction::Up)
            .add("drop", drop, "top of the board to its foot")
            .add("foot", -settings.lining_rise, "ends inside the hem")
            .on_tape(order.unit, Direction::Up)
            .file(workings);
        cuts.push(Cut {
            part: Part::ValanceLining,
            material: Material::Lining,
            width,
            finished_width,
            side_turning,
            length,
            head_line: wrap,
            foot_line: length,
            matched: false,
        });
    }
}

/// Face cloth where the board is seen from below or nothing else is there, lining inside an opening and where the house says so.
fn board_cover(order: &Order<'_>, cuts: &mut Vec<Cut>, workings: &mut Vec<Working>) {
    let settings = order.settings;
    let outside = order.mount == Mount::Outside && settings.board_cover_in_lining == 0;
    let face = outside || !is_lined(order.choices);
    let material = if face { Material::Face } else { Material::Lining };
    let end = order.tape(order.board_height, Direction::Up);
    let width = Sum::of("board cover, cut width")
        .add("finished width", order.width, "the board and the cloth on its ends")
        .add("ends", end * 2, "folded over both ends")
        .on_tape(order.unit, Direction::Up)
        .file(workings);
    let around = (order.board_depth + order.board_height) * 2;
    let length = Sum::of("board cover, cut length")
        .add("around the board", around, "twice its depth and height")
        .add("to staple", settings.staple_turning, "laps over itself")
        .on_tape(order.unit, Direction::Up)
        .file(workings);
    cuts.push(Cut {
        part: Part::BoardCover,
        material,
        width,
        finished_width: order.width,
        side_turning: end,
        length,
        head_line: Length::ZERO,
        foot_line: length,
        matched: false,
    });
}

/// Area of a cut in square metres: an estimate, for weights.
pub(super) fn square_metres(width: Length, length: Length) -> f64 {
    metres(width) * metres(length)
}

/// A length in metres: an estimate, for weights.
#[allow(clippy::cast_precision_loss, reason = "a weight is an estimate to three figures")]
pub(super) fn metres(length: Length) -> f64 {
    length.round(crate::length::Grain::MM_TENTH, Direction::Nearest).nm() as f64 / 1e9
}

//! What is cut: pieces of cloth and sticks, each size as a sum of named terms.

use super::working::{Sum, Working};
use super::{Folds, Grid, Order, is_lined};
use crate::house::{Mount, Style};
use crate::length::{Direction, Length};

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
    /// Cut width, turnings included.
    pub width: Length,
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
}

impl StickUse {
    /// As a maker says it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Bar => "bottom bar",
            Self::Rib => "rib",
            Self::Board => "board",
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
            .file(workings)
    };
    let mut sticks = Vec::new();
    let board = cut(StickUse::Board, settings.board_deduction, "the cloth wraps its ends");
    sticks.push(Stick { part: StickUse::Board, length: board, count: 1 });
    if order.choices.style != Style::Relaxed {
        let bar = cut(StickUse::Bar, settings.bar_deduction, "it slides in its pocket and stays hidden");
        sticks.push(Stick { part: StickUse::Bar, length: bar, count: 1 });
    }
    if order.choices.style == Style::FlatRibbed {
        let rib = cut(StickUse::Rib, settings.rib_deduction, "a little short of the width");
        sticks.push(Stick { part: StickUse::Rib, length: rib, count: grid.rows.len() });
    }
    sticks.retain(|stick| stick.length > Length::ZERO);
    sticks
}

/// Every piece of cloth.
pub(super) fn cuts(order: &Order<'_>, folds: &Folds, grid: &Grid, workings: &mut Vec<Working>) -> Vec<Cut> {
    let settings = order.settings;
    let style = order.choices.style;
    let relaxed = style == Style::Relaxed;
    let rows = i64::try_from(grid.rows.len()).expect("rows of rings are few");
    let n = i64::from(folds.count);
    let wrap = order.board_depth + settings.staple_turning;
    let show = |length: Length| length.show_marked(order.unit);
    let tucks = folds.tuck * rows;
    let tucks_why = format!("{rows} stitched tucks, each takes twice {}", show(settings.tuck_depth));
    let loops = folds.loop_extra * n;
    let loops_why = format!("{n} soft loops of {} more", show(folds.loop_extra));
    let mut cuts = Vec::new();

    let width = Sum::of("face, cut width")
        .add("finished width", order.width, "edge to edge")
        .add(
            "side turnings",
            settings.side_turning * 2,
            format!("{} turned back each side", show(settings.side_turning)),
        )
        .file(workings);
    let length = Sum::of("face, cut length")
        .add("over the board", order.board_depth, "wraps the board's top, front to back")
        .add("to staple", settings.staple_turning, "to pull on while stapling")
        .add("finished length", order.length, "top of the board to the hem")
        .add_some("tucks", tucks, tucks_why.as_str())
        .add_some("loops", loops, loops_why.as_str())
        .add(
            if relaxed { "foot seam" } else { "bottom turning" },
            if relaxed { settings.seam_allowance } else { settings.bottom_turning },
            if relaxed { "sewn to the facing" } else { "the pocket of the bar" },
        )
        .file(workings);
    let foot_line = wrap + order.length + tucks + loops;
    let face =
        Cut { part: Part::Face, material: Material::Face, width, length, head_line: wrap, foot_line, matched: true };
    cuts.push(face);

    if is_lined(order.choices) {
        let width = lining_width(order, "lining, cut width", order.width, workings);
        let pockets = if style == Style::FlatRibbed { settings.rib_pocket * rows } else { Length::ZERO };
        let length = Sum::of("lining, cut length")
            .add("over the board", order.board_depth, "stapled with the face")
            .add("to staple", settings.staple_turning, "to pull on while stapling")
            .add("finished length", order.length, "top of the board to the hem")
            .add("foot", -settings.lining_rise, "ends inside the pocket, above the fold of the hem")
            .add_some("rib pockets", pockets, format!("{rows} pockets, each takes {}", show(settings.rib_pocket)))
            .add_some("tucks", tucks, tucks_why.as_str())
            .file(workings);
        cuts.push(Cut {
            part: Part::Lining,
            material: Material::Lining,
            width,
            length,
            head_line: wrap,
            foot_line: length,
            matched: false,
        });
    }
    if order.choices.interlined {
        let width = Sum::of("interlining, cut width")
            .add("finished width", order.width, "lies in the folds of the side turnings")
            .file(workings);
        let length = Sum::of("interlining, cut length")
            .add("finished length", order.length, "top of the board to the fold of the hem")
            .add_some("tucks", tucks, tucks_why.as_str())
            .add_some("loops", loops, loops_why.as_str())
            .file(workings);
        cuts.push(Cut {
            part: Part::Interlining,
            material: Material::Interlining,
            width,
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
            .file(workings);
        cuts.push(Cut {
            part: Part::FootFacing,
            material: Material::Face,
            width,
            length,
            head_line: Length::ZERO,
            foot_line: length,
            matched: false,
        });
    }
    if let Some(drop) = order.choices.valance.as_ref().map(crate::length::Typed::value) {
        valance(order, drop, wrap, &mut cuts, workings);
    }
    board_cover(order, &mut cuts, workings);
    cuts
}

fn lining_width(order: &Order<'_>, what: &str, finished: Length, workings: &mut Vec<Working>) -> Length {
    let settings = order.settings;
    Sum::of(what)
        .add("finished width", finished, "edge to edge of the face")
        .add(
            "stands back",
            -(settings.lining_inset * 2),
            format!("{} each side, so that it stays hidden", settings.lining_inset.show_marked(order.unit)),
        )
        .add(
            "side turnings",
            settings.lining_turning * 2,
            format!("{} turned under each side", settings.lining_turning.show_marked(order.unit)),
        )
        .file(workings)
}

/// The valance hangs from the top of the same board, over the shade.
fn valance(order: &Order<'_>, drop: Length, wrap: Length, cuts: &mut Vec<Cut>, workings: &mut Vec<Working>) {
    let settings = order.settings;
    let returns = if order.mount == Mount::Outside { order.board_depth * 2 } else { Length::ZERO };
    let width = Sum::of("valance, cut width")
        .add("finished width", order.width, "edge to edge")
        .add_some("returns", returns, "around both ends of the board, back to the wall")
        .add("side turnings", settings.side_turning * 2, "turned back each side")
        .file(workings);
    let length = Sum::of("valance, cut length")
        .add("over the board", order.board_depth, "wraps the board's top, over the shade")
        .add("to staple", settings.staple_turning, "to pull on while stapling")
        .add("drop", drop, "top of the board to its foot")
        .add("hem", settings.valance_hem, "turned up at the foot")
        .file(workings);
    cuts.push(Cut {
        part: Part::Valance,
        material: Material::Face,
        width,
        length,
        head_line: wrap,
        foot_line: wrap + drop,
        matched: true,
    });
    if is_lined(order.choices) {
        let width = lining_width(order, "valance lining, cut width", order.width + returns, workings);
        let length = Sum::of("valance lining, cut length")
            .add("over the board", order.board_depth, "stapled with the valance")
            .add("to staple", settings.staple_turning, "to pull on while stapling")
            .add("drop", drop, "top of the board to its foot")
            .add("foot", -settings.lining_rise, "ends inside the hem")
            .file(workings);
        cuts.push(Cut {
            part: Part::ValanceLining,
            material: Material::Lining,
            width,
            length,
            head_line: wrap,
            foot_line: length,
            matched: false,
        });
    }
}

/// Face cloth where the board is seen from below or nothing else is there, lining inside an opening.
fn board_cover(order: &Order<'_>, cuts: &mut Vec<Cut>, workings: &mut Vec<Working>) {
    let settings = order.settings;
    let face = order.mount == Mount::Outside || !is_lined(order.choices);
    let material = if face { Material::Face } else { Material::Lining };
    let width = Sum::of("board cover, cut width")
        .add("finished width", order.width, "the board and the cloth on its ends")
        .add("ends", order.board_height * 2, "folded over both ends")
        .file(workings);
    let around = (order.board_depth + order.board_height) * 2;
    let length = Sum::of("board cover, cut length")
        .add("around the board", around, "twice its depth and height")
        .add("to staple", settings.staple_turning, "laps over itself")
        .file(workings);
    cuts.push(Cut {
        part: Part::BoardCover,
        material,
        width,
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

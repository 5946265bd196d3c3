//! The fold plan, and the grid of rings and ribs that comes from it.

use super::working::{Amount, Sum, Working, line};
use super::{MakeupProblem, Order, RING_GAP_CANADA, RING_GAP_EUROPE, flag, is_stiff};
use crate::flag::{Flag, Severity};
use crate::house::Style;
use crate::length::{Direction, Grain, Length, LengthUnit};

/// How the length is shared out: head, `count` equal folds, flap.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Folds {
    /// Number of equal folds; rows of rings are one more.
    pub count: u32,
    /// Height of one fold on the finished shade: the spacing of the rows.
    pub fold: Length,
    /// From the top of the board to the top row of rings.
    pub head: Length,
    /// The least the head could be: board, clearance and the raised pile.
    pub head_least: Length,
    /// From the lowest row of rings to the hem: half a fold (with its loop) and the reveal.
    pub flap: Length,
    /// How far the flap shows below the raised stack.
    pub reveal: Length,
    /// Cloth each soft loop has beyond `fold`; nothing for other styles.
    pub loop_extra: Length,
    /// Cloth each row's stitched tuck takes up; nothing for other styles.
    pub tuck: Length,
}

/// A place on the shade: exact, and as it is marked with a tape.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Mark {
    /// The exact place.
    pub exact: Length,
    /// The place to the tape's grain, rounded from the exact one, so that errors never add up.
    pub mark: Length,
}

impl Mark {
    fn of(exact: Length, unit: LengthUnit) -> Self {
        Self { exact, mark: exact.round(Grain::of_tape(unit), Direction::Nearest) }
    }

    /// True when the mark is not the exact place.
    pub fn is_rounded(self) -> bool {
        self.exact != self.mark
    }
}

/// A row of rings, numbered from the top.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Row {
    /// 1 at the top.
    pub number: u32,
    /// From the top of the board, on the finished shade.
    pub from_head: Mark,
    /// From the hem, on the finished shade.
    pub from_hem: Mark,
    /// From the top edge of the cut face: the row, or the middle of its tuck.
    pub on_face: Mark,
    /// From the top edge of the cut lining: the row, or the middle of its pocket or tuck.
    pub on_lining: Mark,
}

/// A column of rings, numbered from the left, seen from the room.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Column {
    /// 1 at the left.
    pub number: u32,
    /// From the left edge of the finished shade.
    pub from_left: Mark,
    /// From the left end of the board, where its screw eye stands.
    pub on_board: Mark,
}

/// Every row and column of rings. Ribs, where the style has them, lie in rows: see [`Grid::ribbed`].
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Grid {
    /// From the top.
    pub rows: Vec<Row>,
    /// From the left, seen from the room.
    pub columns: Vec<Column>,
    /// True when a column's mark is rounded from its exact place.
    pub columns_rounded: bool,
    /// True when a row's mark is rounded from its exact place.
    pub rows_rounded: bool,
    /// True where the top row has a rib too, in a style with ribs.
    pub top_rib: bool,
}

impl Grid {
    /// The rows that have a rib, where the style has ribs: one a fold, in the row at its foot; where the house
    /// asks for it (`rib_in_top_row`) the top row too.
    pub fn ribbed(&self) -> &[Row] {
        let first = usize::from(!self.top_rib).min(self.rows.len());
        &self.rows[first..]
    }
}

/// Works out the fold plan.
pub(super) fn plan(
    order: &Order<'_>,
    workings: &mut Vec<Working>,
    flags: &mut Vec<Flag>,
) -> Result<Folds, MakeupProblem> {
    let settings = order.settings;
    let show = |length: Length| length.show_marked(order.unit);
    let (least, most) = (settings.ring_row_least, settings.ring_row_most);
    let forced = order.choices.folds;
    let folds = if let Some(count) = forced {
        let Some(folds) = (count >= 1).then(|| with_count(order, count)).flatten() else {
            return Err(MakeupProblem::new(
                "folds",
                format!("{count} folds do not go into a shade of {}", show(order.length)),
                format!("leave \"folds\" out, or ask for folds of {} or more", show(settings.fold_least)),
            ));
        };
        folds
    } else {
        choose(order).ok_or_else(|| {
            let shortest = head_least(order, 1) + flap_more(order) + settings.fold_least.scale(3, 2, Direction::Up);
            MakeupProblem::new(
                "finished length",
                format!("{} is too short to fold", show(order.length)),
                format!("a shade of this make is {} or longer", show(order.tape(shortest, Direction::Up))),
            )
        })?
    };
    if folds.fold > most {
        flags.push(flag(
            "folds_deep",
            Severity::Decide,
            format!("{} folds are {} each, more than the {} set here", folds.count, show(folds.fold), show(most)),
            "Ask for more folds, or accept the deeper stack and the longer runs of cord behind it.",
        ));
    } else if folds.fold < least {
        flags.push(flag(
            "folds_small",
            Severity::Know,
            format!("The folds are {} each, less than the {} set here", show(folds.fold), show(least)),
            if forced.is_some() {
                "Ask for fewer folds if that is too close."
            } else {
                "The shade is too short for deeper folds."
            },
        ));
    }
    if folds.fold > RING_GAP_EUROPE {
        let over_canada = folds.fold > RING_GAP_CANADA;
        flags.push(flag(
            "ring_rows_wide",
            Severity::Decide,
            format!(
                "Rows of rings stand {} apart: more than 200 mm (EN 13120, second-hand){}",
                show(folds.fold),
                if over_canada { ", and more than 22 cm (Canada, SOR/2019-97 s. 6)" } else { "" }
            ),
            "Ask for more folds, or look at the rule of the place before this is made; this is not a statement that any spacing complies.",
        ));
    }
    if order.choices.head.is_some() && folds.head < folds.head_least {
        flags.push(flag(
            "by_hand_head",
            Severity::Decide,
            format!(
                "The head was set by hand to {}, less than the {} that the raised stack and the cords' pull need",
                show(folds.head),
                show(folds.head_least)
            ),
            "Set it deeper, or take it out to go back to what is worked out.",
        ));
    }
    write_working(order, &folds, workings);
    Ok(folds)
}

/// The least head: the board's height, the clearance, and the pile of the raised rows.
fn head_least(order: &Order<'_>, count: u32) -> Length {
    order.board_height + order.settings.head_clear + row_pile(order) * (i64::from(count) + 1)
}

/// What each row adds to the raised pile.
fn row_pile(order: &Order<'_>) -> Length {
    let settings = order.settings;
    let row = if is_stiff(order.choices.style) { settings.stack_stiff } else { settings.stack_row };
    if order.choices.interlined { row + settings.stack_interlined } else { row }
}

fn loop_extra(order: &Order<'_>) -> Length {
    if order.choices.style == Style::Looped { order.settings.loop_extra } else { Length::ZERO }
}

/// The part of the flap that a soft loop's extra cloth adds: half of it, so that the flap still shows below.
fn half_loop(order: &Order<'_>) -> Length {
    loop_extra(order).scale(1, 2, Direction::Up)
}

/// What the flap has beyond half a fold: the reveal, and half of a loop's extra. Rounded up to the tape, so that the rows
/// are marked from the hem on whole marks.
fn flap_more(order: &Order<'_>) -> Length {
    order.tape(order.settings.reveal + half_loop(order), Direction::Up)
}

/// The plan with this many folds: the deepest fold whose half is on the tape and that leaves the head its least;
/// what is left over makes the head deeper. Nothing when the folds would be smaller than is made.
fn with_count(order: &Order<'_>, count: u32) -> Option<Folds> {
    let settings = order.settings;
    let n = i64::from(count);
    let head_least = head_least(order, count);
    let by_hand = order.choices.head.as_ref().map(|typed| order.tape(typed.value(), Direction::Nearest));
    let room = order.length - by_hand.unwrap_or(head_least) - flap_more(order);
    if room <= Length::ZERO {
        return None;
    }
    // Two tape grains, so that half a fold is on the tape too.
    let grain = Grain::of(Grain::of_tape(order.unit).step() * 2)?;
    let fold = room.scale(2, 2 * n + 1, Direction::Down).round(grain, Direction::Down);
    if fold < settings.fold_least {
        return None;
    }
    let half = fold.scale(1, 2, Direction::Up) + half_loop(order);
    // What equal folds leave over makes the head deeper; where that is set by hand, it shows below the stack.
    let (head, flap) = match by_hand {
        Some(head) => (head, order.length - head - fold * n),
        None => {
            let flap = fold.scale(1, 2, Direction::Up) + flap_more(order);
            (order.length - fold * n - flap, flap)
        }
    };
    let reveal = flap - half;
    let tuck = if order.choices.style == Style::Tucked { settings.tuck_depth * 2 } else { Length::ZERO };
    Some(Folds { count, fold, head, head_least, flap, reveal, loop_extra: loop_extra(order), tuck })
}

/// Of the plans whose folds are in the range that is set, the one nearest its middle (the fewer folds of two as
/// near); if none is in the range, the fewest folds that are not deeper than it.
fn choose(order: &Order<'_>) -> Option<Folds> {
    let (least, most) = (order.settings.ring_row_least, order.settings.ring_row_most);
    let mut best: Option<Folds> = None;
    let mut short = None;
    let mut deep = None;
    for count in 1.. {
        let Some(folds) = with_count(order, count) else { break };
        let off = |folds: &Folds| (folds.fold * 2 - least - most).abs();
        if folds.fold > most {
            deep = Some(folds);
        } else if folds.fold < least {
            short = Some(folds);
            break;
        } else if best.is_none_or(|best| off(&folds) < off(&best)) {
            best = Some(folds);
        }
    }
    best.or(short).or(deep)
}

fn write_working(order: &Order<'_>, folds: &Folds, workings: &mut Vec<Working>) {
    let settings = order.settings;
    let rows = i64::from(folds.count) + 1;
    let n = i64::from(folds.count);
    let pile = row_pile(order);
    let least = Sum::of("head, at least")
        .add("board, top to foot", order.board_height, "the screw eyes stand in its foot")
        .add("clearance", settings.head_clear, "so that the pull stays near straight")
        .add("raised pile", pile * rows, format!("{rows} rows of {}", pile.show_marked(order.unit)))
        .file(workings);
    debug_assert_eq!(least, folds.head_least);
    let by_hand = order.choices.head.is_some();
    let (head, why) = if by_hand { (folds.head, "set by hand") } else { (folds.head_least, "worked above") };
    let room = Sum::of("length to fold")
        .add("finished length", order.length, "top of the board to the hem")
        .add(if by_hand { "head" } else { "head, at least" }, -head, why)
        .add("reveal", -settings.reveal, "the flap shows below the raised stack")
        .add_some("half of a loop's extra", -half_loop(order), "the flap hangs as deep as the loops above it")
        .add_some("rounded down", settings.reveal + half_loop(order) - flap_more(order), "the flap is on the tape")
        .file(workings);
    workings.push(Working {
        what: "fold".to_owned(),
        sum: false,
        lines: vec![
            line("length to fold", Amount::Length(room), "worked above"),
            line(
                "equal folds",
                Amount::Count(n),
                match order.choices.folds {
                    Some(_) => "set by hand".to_owned(),
                    None => format!(
                        "rows of rings nearest the middle of {} to {}",
                        settings.ring_row_least.show_marked(order.unit),
                        settings.ring_row_most.show_marked(order.unit)
                    ),
                },
            ),
            line(
                "half folds",
                Amount::Count(2 * n + 1),
                "two a fold and one for the flap: the length is divided by them, doubled, and rounded down so that half a fold is on the tape",
            ),
        ],
        result: Amount::Length(folds.fold),
    });
    let half = folds.fold.scale(1, 2, Direction::Up) + half_loop(order);
    Sum::of("flap, lowest row to hem")
        .add(
            "half a fold",
            half,
            if folds.loop_extra > Length::ZERO { "half of a fold and its loop" } else { "half of a fold" },
        )
        .add(
            "reveal",
            folds.reveal,
            if by_hand {
                "shows below the raised stack, with what equal folds leave over"
            } else {
                "shows below the raised stack; the flap is rounded up to the tape"
            },
        )
        .file(workings);
    Sum::of("head, top of board to top row")
        .add("finished length", order.length, "top of the board to the hem")
        .add(format!("{n} folds"), -(folds.fold * n), format!("of {}", folds.fold.show_marked(order.unit)))
        .add(
            "flap",
            -folds.flap,
            if by_hand {
                "what is left is the head that was set by hand"
            } else {
                "the head takes what equal folds leave over"
            },
        )
        .file(workings);
}

/// Works out where the rings stand.
pub(super) fn grid(
    order: &Order<'_>,
    folds: &Folds,
    workings: &mut Vec<Working>,
    flags: &mut Vec<Flag>,
) -> Result<Grid, MakeupProblem> {
    let settings = order.settings;
    let unit = order.unit;
    let wrap = order.wrap();
    let pocket = if order.choices.style == Style::FlatRibbed { settings.rib_pocket } else { Length::ZERO };
    let half = |length: Length| length.scale(1, 2, Direction::Up);
    let rows: Vec<Row> = (0..=folds.count)
        .map(|i| {
            let above = i64::from(i);
            let from_head = folds.head + folds.fold * above;
            let face = wrap + from_head + folds.tuck * above + half(folds.tuck) + folds.loop_extra * above;
            // A tuck is stitched through the lining too; a loop's lining hangs straight and carries the rings.
            let (pockets, own) = match (above, settings.rib_in_top_row) {
                (0, 0) => (0, Length::ZERO),
                (_, 0) => (above - 1, pocket),
                _ => (above, pocket),
            };
            let lining = wrap + from_head + pocket * pockets + folds.tuck * above + half(own + folds.tuck);
            Row {
                number: i + 1,
                from_head: Mark::of(from_head, unit),
                from_hem: Mark::of(order.length - from_head, unit),
                on_face: Mark::of(face, unit),
                on_lining: Mark::of(lining, unit),
            }
        })
        .collect();
    let edge = if order.choices.style == Style::Relaxed { settings.relaxed_column } else { settings.ring_edge };
    let span = order.width - edge * 2;
    if span <= Length::ZERO {
        return Err(MakeupProblem::new(
            "finished width",
            format!(
                "{} does not hold two columns of rings {} from its edges",
                order.width.show_marked(unit),
                edge.show_marked(unit)
            ),
            format!("a shade of this make is wider than {}", (edge * 2).show_marked(unit)),
        ));
    }
    let parts = if order.choices.style == Style::Relaxed {
        1
    } else {
        span.count_up(settings.ring_column_most).ok_or_else(|| {
            MakeupProblem::new("ring_column_most", "columns cannot stand nothing apart", "a setting of 8 to 12 in")
        })?
    };
    let board_end = half(settings.board_deduction);
    let columns: Vec<Column> = (0..=parts)
        .map(|i| {
            let from_left = edge + span.split(parts, i);
            Column {
                number: u32::try_from(i + 1).expect("columns of rings are few"),
                from_left: Mark::of(from_left, unit),
                on_board: Mark::of(from_left - board_end, unit),
            }
        })
        .collect();
    let columns_rounded = columns.iter().any(|column| column.from_left.is_rounded());
    let rows_rounded = rows.iter().any(|row| row.from_head.is_rounded());
    workings.push(Working {
        what: "columns of rings".to_owned(),
        sum: false,
        lines: vec![
            line("finished width", Amount::Length(order.width), "edge to edge"),
            line("edge to outer column", Amount::Length(edge), "taken off twice"),
            line("between outer columns", Amount::Length(span), "shared in equal parts"),
            line(
                "equal parts",
                Amount::Count(parts),
                if order.choices.style == Style::Relaxed {
                    "two columns only, so that the foot hangs in a curve".to_owned()
                } else {
                    format!("the fewest that stand {} or less apart", settings.ring_column_most.show_marked(unit))
                },
            ),
        ],
        result: Amount::Count(parts + 1),
    });
    if columns_rounded {
        flags.push(flag(
            "columns_rounded",
            Severity::Know,
            format!(
                "{} between the outer columns does not part in {parts} on the tape: each mark is rounded from its exact place",
                span.show_marked(unit)
            ),
            "Mark every column from the left edge, never from the one before it.",
        ));
    }
    if rows_rounded {
        flags.push(flag(
            "rows_rounded",
            Severity::Know,
            format!(
                "A finished length of {} is finer than the tape: the rows are rounded from their exact places",
                order.length.show_marked(unit)
            ),
            "Mark every row from the hem, never from the one before it.",
        ));
    }
    Ok(Grid { rows, columns, columns_rounded, rows_rounded, top_rib: settings.rib_in_top_row != 0 })
}

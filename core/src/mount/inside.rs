//! The inside mount: between the jambs, the board laid flat under the head.

use super::{Board, Catalogue, Clearance, Edge, Form, Line, Mounting, Read, Refusal, Stop, Working};
use crate::flag::{Flag, Severity};
use crate::house::{BoardSize, HeadShape, Place};
use crate::length::{Direction, Grain, Length, LengthUnit};
use crate::settings::Settings;
use crate::truth::{WidthRule, inside_size};

/// Why finished sizes of an inside mount are rounded as they are.
const FIT: &str = "what must fit is rounded down";

/// How deep an opening must be for this board to be flush with its front: the usual board has a setting.
pub(super) fn flush_depth(board: &Board, settings: &Settings, unit: LengthUnit) -> Length {
    let usual = Catalogue::standard(unit).usual_boards().next();
    if usual.is_some_and(|usual| usual.size == board.size) { settings.flush_depth } else { board.width }
}

/// Works the inside mount.
pub(super) fn work(read: &Read<'_>, catalogue: &Catalogue) -> Result<Mounting, Refusal> {
    let (settings, unit, grain) = (read.settings, read.unit, Grain::of_tape(read.unit));
    let refuse = |why: String, would: &str, missing: &[Place]| Refusal {
        form: Form::Inside,
        why,
        would: would.to_owned(),
        missing: missing.to_vec(),
    };
    if read.wall.head_shape != HeadShape::Level {
        let (why, would) = match read.wall.head_shape {
            HeadShape::Arched => (
                "the head is an arch, and a board has nothing level to be screwed up into",
                "Hang it outside, over the arch; or fix a batten across where the arch begins, and measure below that as an opening with a level head.",
            ),
            _ => (
                "the head slopes, and a level board would touch it at one end alone",
                "Hang it outside, above the higher end; or fix a level batten at the lower end, and measure below that as an opening with a level head.",
            ),
        };
        return Err(refuse(why.to_owned(), would, &[]));
    }
    let narrow = read.smallest_width().ok_or_else(|| {
        refuse(
            "no width was read between the jambs".to_owned(),
            "Read the three widths.",
            &[Place::WidthTop, Place::WidthMiddle, Place::WidthBottom],
        )
    })?;
    let short = read.smallest_height().ok_or_else(|| {
        refuse(
            "no height was read".to_owned(),
            "Read the heights at the left and at the right.",
            &[Place::HeightLeft, Place::HeightRight],
        )
    })?;
    let passage = read.truth.shape.passage.as_ref();
    let size = inside_size(narrow.value, Some(short.value), passage, settings, grain).ok_or_else(|| {
        refuse(
            format!(
                "the opening ({} by {}) is no larger than what is taken off ({} and {})",
                narrow.value.show_marked(unit),
                short.value.show_marked(unit),
                settings.inside_width_deduction.show_marked(unit),
                settings.inside_length_deduction.show_marked(unit)
            ),
            "Check the readings, and what the settings take off.",
            &[],
        )
    })?;

    // Both rules, each as a maker writes it down; the smaller one is the width.
    let by_width = Working::of(
        WidthRule::SmallestWidth.words(),
        vec![
            Line::new(narrow.term, narrow.value, narrow.why),
            Line::new("taken off", -settings.inside_width_deduction, "inside_width_deduction"),
        ],
    )
    .rounded(unit, Direction::Down, FIT);
    let by_passage = passage.map(|passage| {
        Working::of(
            WidthRule::ClearPassage.words(),
            vec![
                Line::new(
                    "widest upright rectangle that surely passes",
                    passage.reliable,
                    "estimated from the readings, rounded down",
                ),
                Line::new("taken off", -settings.passage_deduction, "passage_deduction"),
            ],
        )
        .rounded(unit, Direction::Down, FIT)
    });
    let (width, width_other) = match (size.width_rule, by_passage) {
        (WidthRule::ClearPassage, Some(by_passage)) => (by_passage, Some(by_width)),
        (_, by_passage) => (by_width, by_passage),
    };
    debug_assert_eq!(width.total, size.finished_width);
    let length = Working::of(
        "smallest height",
        vec![
            Line::new(short.term, short.value, short.why),
            Line::new("taken off", -settings.inside_length_deduction, "inside_length_deduction"),
        ],
    )
    .rounded(unit, Direction::Down, FIT);

    let chosen = read.choices.board;
    let usual = catalogue.usual_boards().next();
    let board = chosen.map_or(usual, |size| catalogue.board(size)).ok_or_else(|| {
        let name = chosen.map_or_else(|| "that was asked for".to_owned(), BoardSize::name);
        refuse(format!("the catalogue has no board {name}"), "Choose another board, or add it to the catalogue.", &[])
    })?;
    if length.total <= board.thickness {
        return Err(refuse("the opening is no higher than its board".to_owned(), "Look at the heights again.", &[]));
    }

    let mut flags = Vec::new();
    let depth = match (read.depth(), read.behind) {
        (_, Some(behind)) if behind.form != Form::Inside => {
            return Err(refuse(
                "what hangs behind it hangs outside the opening".to_owned(),
                "Mount the one behind it inside, or this one outside.",
                &[],
            ));
        }
        // The one behind takes its board and its folds of the depth.
        (depth, Some(behind)) => depth.map(|depth| depth - behind.out - settings.layers_apart),
        (depth, None) => depth,
    };
    let flush = flush_depth(board, settings, unit);
    let proud = match depth {
        Some(depth) if depth < settings.inside_depth_least => {
            return Err(refuse(
                format!(
                    "the opening is {} deep{}, too little for a board to be screwed up into its head (at least {})",
                    depth.max(Length::ZERO).show_marked(unit),
                    if read.behind.is_some() { " before the one behind" } else { "" },
                    settings.inside_depth_least.show_marked(unit)
                ),
                "Mount it outside, or take away what stands in the opening.",
                &[],
            ));
        }
        Some(depth) => (flush - depth).max(Length::ZERO),
        None => {
            flags.push(Flag::new(
                "depth_not_read",
                Severity::TakeAgain,
                &[Place::Depth],
                "Depth not measured: cannot check that the board fits.",
                "Read from the front edge back to the first obstruction, at the shallowest place.",
            ));
            Length::ZERO
        }
    };
    if proud > Length::ZERO {
        flags.push(Flag::new(
            "stands_proud",
            Severity::Decide,
            &[Place::Depth],
            format!("The opening is too shallow: the board stands {} proud of its front.", proud.show_marked(unit)),
            "Show the client, or mount it outside.",
        ));
    }
    let clear = vec![
        Clearance::new("depth for the board", flush, depth),
        Clearance::new("depth that the screws need", settings.inside_depth_least, depth),
    ];

    let wedge = read.wedge();
    if let Some(wedge) = wedge
        && wedge.opens > settings.slope_limit
    {
        flags.push(Flag::new(
            "head_wedge",
            Severity::Know,
            &[Place::HeightLeft, Place::HeightRight],
            format!(
                "The head slopes: above a level board a wedge of light opens to about {} at the {}.",
                wedge.opens.show_marked(unit),
                if wedge.at_right { "right" } else { "left" }
            ),
            "Hang the board level, and pack the gap over it where a screw goes.",
        ));
    }
    if let Some(gaps) = &size.corner_gaps
        && gaps.widest() > settings.inside_width_deduction
    {
        flags.push(Flag::new(
            "corner_gap_wide",
            Severity::Know,
            &[],
            format!("At its widest corner the gap beside the shade is {}.", gaps.widest().show_marked(unit)),
            "Show the client, or mount it outside.",
        ));
    }
    let board_length = read.board_length(&width);
    Ok(Mounting {
        form: Form::Inside,
        width,
        width_other,
        width_worked: None,
        length,
        length_worked: None,
        board: board.clone(),
        board_length,
        bracket: None,
        projection: board.width,
        bearing: Length::ZERO,
        packing: Length::ZERO,
        off_wall: Length::ZERO,
        adds_above: Length::ZERO,
        above_trim: Length::ZERO,
        edge: Edge::Opening,
        overlap: Length::ZERO,
        beside: None,
        stop: Stop::Sill,
        above_sill: short.value,
        proud,
        corner_gaps: size.corner_gaps,
        wedge,
        edge_slopes: None,
        ends_clear: [Length::ZERO; 2],
        flush_ways: Vec::new(),
        clear,
        flags,
    })
}

//! Cords, the raised stack, and weights.

use super::cuts::{Cut, Material, Part, Stick, StickUse, metres, square_metres};
use super::working::{Amount, Line, Sum, Working, line};
use super::{Folds, Grid, Order, flag};
use crate::flag::{Flag, Severity, listed};
use crate::house::{ControlSide, Lift, Lining, Mount, Style};
use crate::length::{Direction, Length};

/// What a cord raises or lowers.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum CordOf {
    /// The foot of the shade: through the rings of its column.
    #[default]
    Foot,
    /// The top rail of a shade that is lowered from the top.
    TopRail,
}

/// One column's own cord.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct CordRun {
    /// What it moves.
    pub of: CordOf,
    /// The column, 1 at the left.
    pub column: u32,
    /// From the lowest ring up to the screw eye in the board's foot; of a top rail, how far it is lowered.
    pub up: Length,
    /// Along the board to the control's column; nothing where the lift winds each cord above its column.
    pub across: Length,
    /// What hangs down at the control; nothing where no cord is pulled.
    pub pull: Length,
    /// For the knot, and what stays on the lift.
    pub ties: Length,
    /// All of it.
    pub total: Length,
}

/// The cords of a shade.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cords {
    /// One a column, from the left.
    pub runs: Vec<CordRun>,
    /// All runs together.
    pub total: Length,
    /// With the waste that is set, rounded up to the tape.
    pub to_buy: Length,
    /// How long the chain or cord of an endless lift is, once around, up to the tape; it is bought as a loop.
    pub around: Option<Length>,
    /// Where the screw eyes of a top rail's cords stand, from the left end of the board.
    pub rail_eyes: Vec<Length>,
}

impl Cords {
    /// The runs, those that are cut alike together.
    pub fn alike(&self) -> Vec<Vec<CordRun>> {
        let mut groups: Vec<Vec<CordRun>> = Vec::new();
        for run in &self.runs {
            match groups
                .iter_mut()
                .find(|group| (group[0].of, group[0].across, group[0].total) == (run.of, run.across, run.total))
            {
                Some(group) => group.push(*run),
                None => groups.push(vec![*run]),
            }
        }
        groups
    }
}

/// The shade when it is up.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Raised {
    /// From the top of the board to the lowest point of the raised shade.
    pub height: Length,
    /// How far that hangs below the head of the opening: what of the opening's height it covers. Below the top of the
    /// trim where [`Self::from_head`] is false. Zero when the stack stands clear above it.
    pub covers: Length,
    /// True where [`Self::covers`] is counted from the head of the opening; false from the top of the trim, where it is
    /// not known how far below that the head is.
    pub from_head: bool,
    /// From the top of the board to the foot of the raised rows, without the flap's reveal and any dip.
    pub stack: Length,
}

/// The weight of one part, an estimate.
#[derive(Clone, PartialEq, Debug)]
pub struct PartWeight {
    /// `face`, `bottom bar`.
    pub part: &'static str,
    /// Grams.
    pub grams: f64,
}

/// Weights, estimates in grams.
#[derive(Clone, PartialEq, Debug)]
pub struct Weight {
    /// Each part.
    pub parts: Vec<PartWeight>,
    /// All that hangs on the wall.
    pub total: f64,
    /// What the cords carry when the shade is up: all that hangs below the top row of rings.
    pub lifted: f64,
}

/// Works out every cord.
pub(super) fn cords(order: &Order<'_>, folds: &Folds, grid: &Grid, workings: &mut Vec<Working>) -> Cords {
    let settings = order.settings;
    let lift = order.choices.lift;
    let pulled = lift.is_pulled();
    let control = match order.choices.control {
        ControlSide::Left => grid.columns.first(),
        ControlSide::Right => grid.columns.last(),
    }
    .map_or(Length::ZERO, |column| column.from_left.exact);
    // A top rail's own height is passed too, so that the cord still reaches the board.
    let rail = if lift == Lift::TopDownBottomUp { order.board_height } else { Length::ZERO };
    let up = order.length - folds.flap - order.board_height + rail;
    let pull = if pulled {
        order.tape(order.length.scale(settings.cord_pull_percent, 100, Direction::Up), Direction::Up)
    } else {
        Length::ZERO
    };
    let ties = settings.cord_knot + if pulled { Length::ZERO } else { settings.cord_drum };
    let mut runs: Vec<CordRun> = grid
        .columns
        .iter()
        .map(|column| {
            let across = if pulled { (control - column.from_left.exact).abs() } else { Length::ZERO };
            // A cord may be longer than need be, never shorter; a person cuts it with a tape.
            let across = order.tape(across, Direction::Up);
            let total = order.tape(up + across + pull + ties, Direction::Up);
            CordRun { of: CordOf::Foot, column: column.number, up, across, pull, ties, total }
        })
        .collect();
    let mut rail_eyes = Vec::new();
    if lift == Lift::TopDownBottomUp {
        let other = match order.choices.control {
            ControlSide::Left => grid.columns.last(),
            ControlSide::Right => grid.columns.first(),
        }
        .map_or(Length::ZERO, |column| column.from_left.exact);
        let travel = folds.fold * i64::from(folds.count);
        for (i, column) in rail_columns(grid, settings.screw_most).into_iter().enumerate() {
            let across = order.tape((other - column.from_left.exact).abs(), Direction::Up);
            let total = order.tape(travel + across + pull + ties, Direction::Up);
            runs.push(CordRun { of: CordOf::TopRail, column: column.number, up: travel, across, pull, ties, total });
            // Beside the column's own eye, towards the middle, so that none comes nearer to an end.
            let beside = if i == 0 { settings.rail_eye_beside } else { -settings.rail_eye_beside };
            rail_eyes.push(order.tape(column.on_board.mark + beside, Direction::Nearest));
        }
    }
    let around = lift.is_endless().then(|| {
        let hangs = order.length.scale(settings.loop_percent, 100, Direction::Up);
        Sum::of("loop, once around")
            .add("down", hangs, format!("{} % of the finished length hangs at the control", settings.loop_percent))
            .add("up again", hangs, "it is endless")
            .on_tape(order.unit, Direction::Up)
            .file(workings)
    });
    let total = runs.iter().map(|run| run.total).sum();
    let cords = Cords { total, to_buy: Length::ZERO, runs, around, rail_eyes };
    for alike in cords.alike() {
        let numbers = listed(alike.iter().map(|run| run.column.to_string()));
        let (one, many) = match alike[0].of {
            CordOf::Foot => ("cord", "cords"),
            CordOf::TopRail => ("top rail cord", "top rail cords"),
        };
        let what = if alike.len() == 1 { format!("{one} {numbers}") } else { format!("{many} {numbers}, each") };
        let across = alike[0].across;
        Sum::of(what)
            .add(
                "up",
                alike[0].up,
                match alike[0].of {
                    CordOf::Foot => "lowest ring to the screw eye in the board's foot",
                    CordOf::TopRail => "as far as the top rail is lowered: every fold",
                },
            )
            .add_some("across", across, "along the board to the control's column")
            .add_some(
                "pull",
                pull,
                format!("{} % of the finished length hangs at the control", settings.cord_pull_percent),
            )
            .add(
                "knot",
                settings.cord_knot,
                match alike[0].of {
                    CordOf::Foot => "at the lowest ring",
                    CordOf::TopRail => "in the top rail",
                },
            )
            .add_some("on the lift", ties - settings.cord_knot, "stays wound above the column")
            .on_tape(order.unit, Direction::Up)
            .file(workings);
    }
    let waste = cords.total.scale(settings.waste_cord_percent, 100, Direction::Up);
    let to_buy = Sum::of("cord in all")
        .add("runs", cords.total, format!("{} cords", cords.runs.len()))
        .add("waste", waste, format!("{} %", settings.waste_cord_percent))
        .on_tape(order.unit, Direction::Up)
        .file(workings);
    Cords { to_buy, ..cords }
}

/// The columns that hold a top rail: both outer ones, and between them the fewest that leave no stretch longer than `most`.
fn rail_columns(grid: &Grid, most: Length) -> Vec<&super::Column> {
    let mut taken: Vec<&super::Column> = Vec::new();
    for (i, column) in grid.columns.iter().enumerate() {
        let next = grid.columns.get(i + 1);
        let too_far =
            |last: &super::Column| next.is_some_and(|next| next.from_left.exact - last.from_left.exact > most);
        if i == 0 || next.is_none() || taken.last().is_some_and(|last| too_far(last)) {
            taken.push(column);
        }
    }
    taken
}

/// Works out the raised stack.
pub(super) fn raised(order: &Order<'_>, folds: &Folds, workings: &mut Vec<Working>, flags: &mut Vec<Flag>) -> Raised {
    let dip = if order.choices.style == Style::Relaxed { order.settings.relaxed_dip } else { Length::ZERO };
    let rail = if order.choices.lift == Lift::TopDownBottomUp { order.board_height } else { Length::ZERO };
    let height = Sum::of("raised stack, from the top of the board")
        .add_some("board", rail, "the top rail lies under it")
        .add("head", folds.head, "the rows pile up inside it")
        .add("flap", folds.flap, "hangs below the lowest row")
        .add_some("dip", dip, "the middle of a relaxed foot hangs lower")
        .on_tape(order.unit, Direction::Up)
        .file(workings);
    let covers = if order.mount == Mount::Inside {
        height
    } else {
        order.tape((height - order.above_opening).max(Length::ZERO), Direction::Up)
    };
    let show = |length: Length| length.show_marked(order.unit);
    flags.push(flag(
        "raised_stack",
        Severity::Know,
        if order.mount == Mount::Inside {
            format!("Raised, the shade covers the top {} of the opening", show(covers))
        } else if covers > Length::ZERO {
            format!(
                "Raised, the shade is {} high and hangs {} below the {}",
                show(height),
                show(covers),
                if order.head_known { "head of the opening" } else { "top of the trim" }
            )
        } else {
            format!("Raised, the shade is {} high and stands clear of the opening", show(height))
        },
        if order.head_known || covers == Length::ZERO {
            "Show this to the client before the size is settled."
        } else {
            "Measure the height of the opening to see what of it is covered; show this to the client."
        },
    ));
    Raised { height, covers, from_head: order.head_known, stack: height - dip - folds.reveal }
}

/// Works out the weights.
pub(super) fn weight(
    order: &Order<'_>,
    folds: &Folds,
    grid: &Grid,
    cuts: &[Cut],
    sticks: &[Stick],
    workings: &mut Vec<Working>,
) -> Weight {
    let settings = order.settings;
    let choices = order.choices;
    let gsm = |material: Material| -> (f64, String) {
        let set = |n: i64, name: &str| (grams_of(n), format!("{n} g/m2, setting {name}"));
        match material {
            Material::Face => match order.cloth.and_then(|cloth| cloth.weight_gsm) {
                Some(n) => (f64::from(n), format!("{n} g/m2, the cloth's own")),
                None => set(settings.face_gsm, "face_gsm"),
            },
            Material::Lining if choices.lining == Lining::Blackout => set(settings.blackout_gsm, "blackout_gsm"),
            Material::Lining => set(settings.lining_gsm, "lining_gsm"),
            Material::Interlining => set(settings.interlining_gsm, "interlining_gsm"),
        }
    };
    let mut parts = Vec::new();
    let mut lines: Vec<Line> = Vec::new();
    let mut lifted = 0.0;
    let mut put = |part: &'static str, grams: f64, lifted_share: f64, why: String| {
        lines.push(line(part, Amount::Grams(grams), why));
        parts.push(PartWeight { part, grams });
        lifted += grams * lifted_share;
    };
    for cut in cuts {
        let (per, why) = gsm(cut.material);
        let grams = square_metres(cut.width, cut.length) * per;
        // What lies above the top row stays up by itself; the valance and the board's cover are never lifted.
        let share = match cut.part {
            Part::Face | Part::Lining => 1.0 - ratio(cut.head_line + folds.head, cut.length),
            Part::Interlining => 1.0 - ratio(folds.head, cut.length),
            Part::FootFacing => 1.0,
            Part::Valance | Part::ValanceLining | Part::BoardCover => 0.0,
        };
        put(cut.part.words(), grams, share, why);
    }
    for stick in sticks {
        let run = metres(stick.length) * count(stick.count);
        let (grams, share, why) = match stick.part {
            StickUse::Bar => (
                run * grams_of(settings.bar_g_per_m),
                1.0,
                format!("{} g/m, setting bar_g_per_m", settings.bar_g_per_m),
            ),
            StickUse::Rib => (
                run * grams_of(settings.rib_g_per_m),
                1.0,
                format!("{} ribs at {} g/m, setting rib_g_per_m", stick.count, settings.rib_g_per_m),
            ),
            StickUse::TopRail => (
                run * square_metres(order.board_depth, order.board_height)
                    * grams_of(settings.board_kg_per_m3)
                    * 1000.0,
                1.0,
                format!("as the board, {} kg/m3, setting board_kg_per_m3", settings.board_kg_per_m3),
            ),
            StickUse::Board => (
                run * square_metres(order.board_depth, order.board_height)
                    * grams_of(settings.board_kg_per_m3)
                    * 1000.0,
                0.0,
                format!("{} kg/m3, setting board_kg_per_m3", settings.board_kg_per_m3),
            ),
        };
        put(stick.part.words(), grams, share, why);
    }
    let rings = grid.rows.len() * grid.columns.len();
    put(
        "rings",
        count(rings) * grams_of(settings.ring_mg) / 1000.0,
        1.0,
        format!("{rings} rings at {} mg, setting ring_mg", settings.ring_mg),
    );
    put("lift", grams_of(settings.lift_g), 0.0, "setting lift_g".to_owned());
    let total = parts.iter().map(|part| part.grams).sum();
    workings.push(Working { what: "weight".to_owned(), sum: true, lines, result: Amount::Grams(total) });
    workings.push(Working {
        what: "lifted weight".to_owned(),
        sum: false,
        lines: vec![
            line("weight", Amount::Grams(total), "worked above"),
            line(
                "stays up",
                Amount::Grams(total - lifted),
                "board, cover, lift, valance and the cloth above the top row",
            ),
        ],
        result: Amount::Grams(lifted),
    });
    Weight { parts, total, lifted }
}

fn ratio(part: Length, whole: Length) -> f64 {
    metres(part) / metres(whole)
}

#[allow(clippy::cast_precision_loss, reason = "a weight is an estimate; settings and counts are small")]
fn grams_of(n: i64) -> f64 {
    n as f64
}

#[allow(clippy::cast_precision_loss, reason = "a weight is an estimate; counts are small")]
fn count(n: usize) -> f64 {
    n as f64
}

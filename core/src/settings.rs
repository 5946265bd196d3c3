//! The house's numbers: every deduction, allowance, clearance, factor and limit, with its default and its reason.
//!
//! A maker who works differently changes a number here (in the job file, under `settings`), never in a function.
//! Each row has a figure for a house in inches and one for a house in millimetres. Unless a row names a source it
//! is common practice of the trade, with no published source. Sheets list the values that were used.

mod people;

pub use people::{GROUPS, is_money};

use crate::length::{Direction, Grain, Length, LengthUnit, Typed};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::collections::BTreeMap;

/// What a setting's value is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Value {
    /// A length.
    Length(Length),
    /// A whole number of things, or of the small parts its name says (`_percent`, `_tenths`, `_lbf`).
    Whole(i64),
}

/// One row of the table, as a person would read it.
#[derive(Clone, Debug)]
pub struct Row {
    /// The setting's name, as in the job file.
    pub name: &'static str,
    /// Its value in this house.
    pub value: Value,
    /// Its value had nobody changed it.
    pub default: Value,
    /// Why it is what it is, and its source where it has one.
    pub reason: &'static str,
}

impl Row {
    /// What it is called on paper and on a screen: [`label`].
    pub fn label(&self) -> String {
        label(self.name)
    }

    /// The value in words: a length in the house's unit, or a whole number. What its name keeps in pounds is said in SI
    /// units beside it where lengths are metric.
    pub fn shown(&self, unit: LengthUnit) -> String {
        match &self.value {
            Value::Length(length) => length.show_marked(unit),
            Value::Whole(n) if !unit.is_imperial() && self.name.ends_with("_lbf") => {
                format!("{n} (about {} N)", thousandths(*n, 4_448))
            }
            Value::Whole(n) if !unit.is_imperial() && self.name.ends_with("_kpsi") => {
                format!("{n} (about {} GPa)", thousandths(thousandths(*n, 6_895), 1))
            }
            Value::Whole(n) => n.to_string(),
        }
    }
}

/// `n` times so many thousandths, to the nearest whole.
fn thousandths(n: i64, times: i64) -> i64 {
    // A number as large as this is none that a house has: it is shown as it is, not wrapped round.
    n.saturating_mul(times).saturating_add(500) / 1_000
}

/// A length that is likely a slip: see [`Settings::unlikely`].
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unlikely {
    /// The setting's name, as in the job file.
    pub name: &'static str,
    /// What it is and what it would be, one sentence.
    pub says: String,
}

macro_rules! settings {
    (
        lengths { $( $l:ident = $inch:expr, $mm:expr, $lwhy:literal; )* }
        whole { $( $w:ident = $n:expr, $(mm $wm:expr,)? in $range:expr, $wwhy:literal; )* }
    ) => {
        /// Every number of the house. Fields are documented by [`Settings::rows`].
        #[derive(Clone, PartialEq, Eq, Debug)]
        pub struct Settings {
            $( #[doc = $lwhy] pub $l: Length, )*
            $( #[doc = $wwhy] pub $w: i64, )*
        }

        impl Settings {
            /// The defaults of a house that works in inches.
            pub const INCHES: Self = Self { $( $l: $inch, )* $( $w: $n, )* };
            /// The defaults of a house that works in millimetres.
            pub const MILLIMETRES: Self = Self { $( $l: $mm, )* $( $w: in_metric($n, &[$($wm)?]), )* };
        }

        /// The table, lengths first, in the order it is written in.
        const TABLE: &[Spec] = &[
            $( Spec { name: stringify!($l), reason: $lwhy, limits: (0, 0), at: At::Length(|all| &all.$l, |all| &mut all.$l) }, )*
            $( Spec { name: stringify!($w), reason: $wwhy, limits: (*($range).start(), *($range).end()), at: At::Whole(|all| &all.$w, |all| &mut all.$w) }, )*
        ];
    };
}

/// One row of the table as the program has it. A match over all names for each thing that is asked took 300 kB of the
/// phones' library.
struct Spec {
    name: &'static str,
    reason: &'static str,
    /// The least and the most of a whole number.
    limits: (i64, i64),
    at: At,
}

/// Where a setting's value stands.
enum At {
    Length(fn(&Settings) -> &Length, fn(&mut Settings) -> &mut Length),
    Whole(fn(&Settings) -> &i64, fn(&mut Settings) -> &mut i64),
}

impl Spec {
    fn of(name: &str) -> Option<&'static Self> {
        TABLE.iter().find(|spec| spec.name == name)
    }

    fn value(&self, settings: &Settings) -> Value {
        match self.at {
            At::Length(get, _) => Value::Length(*get(settings)),
            At::Whole(get, _) => Value::Whole(*get(settings)),
        }
    }
}

impl Settings {
    /// Every setting with its value here, its default in a house of `unit`, and its reason.
    pub fn rows(&self, unit: LengthUnit) -> Vec<Row> {
        let default = Self::defaults(unit);
        let row = |spec: &Spec| Row {
            name: spec.name,
            value: spec.value(self),
            default: spec.value(&default),
            reason: spec.reason,
        };
        TABLE.iter().map(row).collect()
    }

    /// The least and the most that a setting may be; nothing for a name that is none.
    pub fn limits(name: &str) -> Option<(Value, Value)> {
        let spec = Spec::of(name)?;
        Some(match spec.at {
            At::Length(..) => (Value::Length(Length::ZERO), Value::Length(LONGEST)),
            At::Whole(..) => (Value::Whole(spec.limits.0), Value::Whole(spec.limits.1)),
        })
    }

    fn set(&mut self, name: &str, value: &Value) -> Result<(), SettingProblem> {
        let Some(spec) = Spec::of(name) else {
            let names: Vec<&str> = TABLE.iter().map(|spec| spec.name).collect();
            return Err(SettingProblem::Unknown { name: name.to_owned(), near: nearest(name, &names) });
        };
        match (&spec.at, value) {
            (At::Length(_, at), Value::Length(length)) => *at(self) = *length,
            (At::Whole(_, at), Value::Whole(n)) => *at(self) = *n,
            (At::Length(..), Value::Whole(_)) => return Err(SettingProblem::WantsLength(spec.name)),
            (At::Whole(..), Value::Length(_)) => return Err(SettingProblem::WantsWhole(spec.name)),
        }
        Ok(())
    }
}

/// No length of a house's numbers is longer: 480 in, as the largest finished size. Common practice, no source.
const LONGEST: Length = Length::mm(12_192);

/// A number's value in a metric house: its own there, if it has one.
const fn in_metric(n: i64, own: &[i64]) -> i64 {
    if own.is_empty() { n } else { own[0] }
}

const fn eighths(n: i64) -> Length {
    Length::inches(n, 8)
}

const fn sixteenths(n: i64) -> Length {
    Length::inches(n, 16)
}

const fn mm(n: i64) -> Length {
    Length::mm(n)
}

settings! {
    lengths {
        // truth: when readings do not hold together. Named limits; see `truth` for how each is used.
        repeat_spread = eighths(1), mm(3), "Two readings of one place may differ by this much before a third is asked for. Common practice, no source.";
        width_spread = eighths(1), mm(3), "Three widths of a true opening lie within this. Source: US replacement-window installer's guide (1/8 in).";
        height_spread = eighths(1), mm(3), "Heights of a true opening lie within this. Common practice, no source; installation instructions ask 1/16 in of new frames.";
        diagonal_spread = Length::inches(1, 4), mm(6), "Diagonals of a square opening lie within this. Source: US window installation instruction and replacement-window installer's guide (1/4 in).";
        lean_advises_outside = Length::inches(1, 2), mm(12), "From this lean over the height an outside mount serves better. Common practice, no source.";
        bow_limit = sixteenths(2), mm(3), "A jamb bowed more than this shows as an uneven gap. Common practice, no source.";
        slope_limit = sixteenths(2), mm(3), "A head or sill out of level by more than this shows a wedge of light beside a level shade. Common practice, no source.";
        tape_case = Length::whole_inches(3), mm(75), "The length of a tape's case, where the tape does not say: forgotten, a reading into a corner is short by it. Common practice, no source.";
        slip_matters = eighths(1), mm(3), "A slip matters when it would change a finished size by more than this. Common practice, no source.";
        sill_level_spread = sixteenths(3), mm(5), "How far a sill's ends differ in height from level, one standard deviation, while no plumb or level is read: how sure the clear width is. No source; walls are built plumb within 3/8 in in 32 in (NAHB Residential Construction Performance Guidelines), twice as far out.";
        made_alike_spread = sixteenths(1), mm(2), "Windows made to one size differ by this much, one standard deviation: how closely one is held against its neighbours. No source.";
        trim_reveal_most = Length::whole_inches(1), mm(25), "What shows of the jambs inside the trim, both sides together, is this at most; where trim width, opening and legs leave more, one of them is misread. Common practice, no source.";
        trim_hides_most = Length::inches(1, 4), mm(6), "Trim hides this much of the opening at most, both sides together; where the readings say more, one of them is misread. Common practice, no source.";
        trim_head_most = Length::whole_inches(14), mm(350), "The trim over the head is this high at most; where trim height and height leave more, one of them is misread. Common practice, no source.";
        // mount: inside
        inside_width_deduction = eighths(3), mm(10), "Taken off the smallest width of an inside mount: more leaves light gaps, less rubs on the trim.";
        inside_length_deduction = Length::inches(1, 4), mm(6), "Taken off the smallest height of an inside mount: keeps the hem off a sill that gets dirty and wet.";
        passage_deduction = eighths(1), mm(3), "Taken off the clear upright passage of a leaning opening: half each side is the least that does not rub.";
        flush_depth = Length::inches(3, 2), mm(44), "Depth that takes the usual board (1x2, 18x44) laid flat, flush with the front. Less means the board stands proud.";
        inside_depth_least = Length::inches(3, 4), mm(20), "An opening shallower than this takes less than half of the usual board: too little to screw up into. Common practice, no source.";
        // mount: outside
        outside_side_overlap = Length::inches(1, 2), mm(15), "The shade passes the trim by this much each side.";
        dark_side_overlap = Length::inches(3, 2), mm(40), "The shade passes the trim by this much each side where light must be kept out. Common practice, no source.";
        no_trim_overlap = Length::inches(3, 2), mm(40), "Where there is no trim, and on a beam or frame, the shade passes the opening by this much each side: 1 1/2 to 2 in. Common practice, no source.";
        plaster_edge = Length::whole_inches(1), mm(25), "Where there is no trim, screws keep this far from the edge of the plaster, which breaks away. Common practice, no source.";
        packing_most = Length::inches(3, 4), mm(20), "Packing behind a board on its face is at most this thick; a deeper board or brackets serve better beyond it. Common practice, no source.";
        outside_foot_clearance = Length::inches(1, 4), mm(6), "The hem stays this far above the sill of an outside mount.";
        floor_clearance = Length::inches(1, 2), mm(15), "A shade to the floor stops this far above it. Common practice, no source.";
        fixing_above_trim = Length::inches(0, 1), mm(0), "How far the foot of the board or bracket stands above the trim, unless the opening says otherwise.";
        pair_difference = Length::whole_inches(1), mm(25), "Two shades in one room whose lengths or heads differ by no more than this look like a mistake: a maker may want them equal. Common practice, no source.";
        projection_clearance = Length::inches(1, 4), mm(6), "The back of the fabric clears what stands proud (trim, handle, sill) by at least this. Common practice, no source.";
        corner_clearance = Length::inches(1, 2), mm(12), "In the corner of a bay the board ends this far before it would meet the board on the next face. Common practice, from memory, no source.";
        shades_apart = Length::inches(1, 2), mm(12), "Left between two shades that hang side by side in one opening. Common practice, from memory, no source.";
        layers_apart = Length::whole_inches(1), mm(25), "Left between a shade and the one that hangs before it in the same opening, for its folds. Common practice, from memory, no source.";
        sash_clearance = Length::inches(1, 2), mm(12), "Left between the cloth and a sash that opens into the room behind it. Common practice, from memory, no source.";
        cleat_height = Length::whole_inches(60), mm(1600), "A cord cleat stands at least this far above the floor, out of a child's reach; fixed tensioners in Europe and the UK at 1.5 m or higher (EN 13120, second-hand), loose loops in Australia not below 1.6 m.";
        // making: board and bar
        board_deduction = eighths(1), mm(3), "The board is this much shorter than the finished width, for the fabric that wraps its ends.";
        bar_deduction = Length::inches(1, 2), mm(12), "The bottom bar is this much shorter than the finished width.";
        ring_edge = Length::inches(5, 4), mm(30), "The outer columns of rings stand this far from the edge: 1 to 1 1/2 in.";
        ring_column_most = Length::whole_inches(12), mm(300), "Columns of rings stand at most this far apart: 8 to 12 in.";
        ring_row_least = Length::whole_inches(6), mm(150), "Rows of rings stand at least this far apart.";
        ring_row_most = Length::whole_inches(8), mm(200), "Rows of rings stand at most this far apart. Farther than 7 7/8 in (200 mm) or 8 5/8 in (220 mm) breaks a rule somewhere.";
        // makeup: folds
        reveal = Length::whole_inches(1), mm(25), "The lowest flap is half a fold and this much more, so that it shows below the raised stack. 1 in is common practice, no source.";
        head_clear = Length::whole_inches(2), mm(50), "The top row of rings stands at least this far below the foot of the board, besides the pile of the raised rows, so that the pull stays near straight. Common practice, no source.";
        stack_row = eighths(1), mm(3), "Height that each row of rings adds to the raised pile of a soft shade. Common practice, no source.";
        stack_stiff = Length::inches(1, 4), mm(6), "Height that each row adds to the raised pile where there is a rib or a stitched tuck. Common practice, no source.";
        stack_interlined = eighths(1), mm(3), "Height that an interlining adds to each row of the raised pile. Common practice, no source.";
        fold_least = Length::whole_inches(3), mm(75), "Folds smaller than this are not made: the shade is too short to fold. Common practice, no source.";
        tuck_depth = eighths(3), mm(10), "Depth of a stitched tuck; each takes twice this out of the length. Common practice, no source.";
        loop_extra = Length::whole_inches(4), mm(100), "Cloth that each soft loop has beyond its height on the finished shade. Common practice, no source.";
        relaxed_column = Length::whole_inches(5), mm(125), "The two columns of a relaxed shade stand this far from the edges, so that the foot hangs in a curve. Common practice, no source.";
        relaxed_dip = Length::whole_inches(4), mm(100), "The middle of a raised relaxed shade hangs about this much below its columns. Common practice, no source.";
        // makeup: cutting
        largest_size = Length::whole_inches(480), mm(12_000), "A finished width or length above this is a slip of its readings, and nothing is made up. No source.";
        side_turning = Length::inches(3, 2), mm(40), "Cloth turned back at each side of the face. 1 1/2 in is common practice, no source.";
        side_turning_least = Length::inches(3, 4), mm(20), "Side turnings may become this narrow where that saves a join: 1 1/2 in down to 3/4 in. Common practice, from memory, no source.";
        least_join = Length::whole_inches(3), mm(75), "A part of a joined cut narrower than this is not cut: a sliver puckers and shows. Common practice, from memory, no source.";
        bottom_turning = Length::whole_inches(3), mm(75), "Cloth turned up at the foot for the pocket of the bar: half shows as the pocket, half is turned in. Common practice, no source.";
        staple_turning = Length::inches(1, 2), mm(15), "Cloth beyond the back edge of the board's top, to pull on while stapling. Common practice, no source.";
        seam_allowance = Length::inches(1, 2), mm(15), "Cloth that each side of a join or seam takes. Common practice, no source.";
        lining_inset = Length::inches(1, 2), mm(15), "The finished lining stands back this far from each side of the face, so that it stays hidden. Common practice, no source.";
        lining_turning = Length::whole_inches(1), mm(25), "Lining turned under at each side. Common practice, no source.";
        lining_rise = Length::inches(1, 2), mm(15), "The foot of the lining stands this far above the fold of the hem, inside the pocket. Common practice, no source.";
        rib_pocket = Length::inches(3, 2), mm(40), "Lining taken up by the pocket of each rib: 3/4 in, doubled. Common practice, no source.";
        rib_deduction = Length::whole_inches(1), mm(25), "A rib is this much shorter than the finished width. A little short is common practice, no source.";
        facing_depth = Length::whole_inches(3), mm(75), "Finished depth of the facing behind the foot of a relaxed shade. Common practice, no source.";
        valance_hem = Length::whole_inches(2), mm(50), "Cloth turned up at the foot of a valance. Common practice, no source.";
        cord_knot = Length::whole_inches(4), mm(100), "Cord for the knot at the lowest ring of each run. Common practice, no source.";
        cord_drum = Length::whole_inches(12), mm(300), "Cord that stays wound or tied above each run where the lift winds it (spring, chain or motor). Common practice, no source.";
        // cloth
        lining_width = Length::whole_inches(54), mm(1400), "Usable width of the lining and interlining that is bought. Common practice, no source.";
        cloth_sold_by = Length::whole_inches(9), mm(100), "A shop cuts cloth by this much: a quarter yard, or a tenth of a metre. Common practice, no source.";
        offcut_length_least = Length::whole_inches(18), mm(500), "An offcut of cloth at least this long is worth keeping on the shelf. Common practice, no source.";
        offcut_width_least = Length::whole_inches(12), mm(300), "An offcut of cloth at least this wide is worth keeping on the shelf. Common practice, no source.";
        // fixing
        screw_end = Length::whole_inches(3), mm(75), "The first screw stands about this far from the end of the board. Common practice, no source.";
        screw_most = Length::whole_inches(24), mm(600), "Screws and brackets stand at most this far apart. Common practice, no source; studs stand 16 or 24 in apart.";
        screw_eye_clearance = Length::whole_inches(1), mm(25), "A screw or bracket keeps this clear of a screw eye and its cord. Common practice, no source.";
        two_people_from = Length::whole_inches(60), mm(1500), "A board longer than this is lifted by two people. Common practice, no source.";
        screw_bite = Length::whole_inches(1), mm(25), "A screw bites at least this far into the wood beyond the board, and never less than screw_bite_diameters. Common practice, no source.";
        rail_eye_beside = Length::whole_inches(1), mm(25), "The screw eye of a top rail's cord stands this far beside the column's own, so that the two cords do not rub. Common practice, no source.";
        rib_thickness = eighths(1), mm(3), "Thickness of a rib: a 1/8 in (3 mm) rod, as it is weighed. Its pocket must take it. Common practice, no source.";
        pocket_ease = eighths(1), mm(3), "A pocket is this much deeper than what slides into it. Common practice, no source.";
        stud_reach = Length::whole_inches(4), mm(100), "A screw or bracket moves at most this far from its even place to meet a stud. Common practice, no source.";
        stud_hold = Length::inches(1, 2), mm(12), "Within this of a stud's centre line there is surely wood: a stud is 1 1/2 in (38 mm) thick and a finder errs. Common practice, no source.";
        wall_covering = Length::inches(1, 2), mm(15), "Plasterboard or plaster in front of the wood of a wall or ceiling (1/2 in; 12.5 mm and its skim): a screw passes it and it holds nothing. Common practice, no source; probe.";
        sag_limit = sixteenths(1), mm(2), "A board or bottom bar may sag this much between its supports: more shows beside a level sill. Common practice, no source.";
        bar_height = Length::whole_inches(1), mm(25), "Height of the bottom bar as it hangs in its pocket: flat aluminium, 1 x 1/8 in, as it is weighed. Common practice, no source.";
        bar_thickness = eighths(1), mm(3), "Thickness of the bottom bar. Common practice, no source.";
        poke_through = sixteenths(1), mm(2), "Wood left between a screw's point and the far face, where the point must not come through. Common practice, no source.";
        // cutlist
        saw_kerf = eighths(1), mm(3), "What one cut of the saw takes. Common practice, no source; a fine hand saw takes half of it.";
        stick_trim = Length::inches(0, 1), mm(0), "What comes off each end of a bought stick before it is used, the cut included. Common practice, no source: sticks are sold square.";
        smallest_offcut = Length::whole_inches(12), mm(300), "An offcut shorter than this is scrap. Common practice, no source.";
    }
    whole {
        hand_um = 300, in 20..=5_000, "How well the hand lays and reads the tape, one standard deviation in thousandths of a millimetre, the grain and the tape's own error aside. No source; hangtrue learn proposes it from a workroom's own openings.";
        slip_recurs_percent = 10, in 0..=90, "Of readings that were slips, this many in a hundred come out the same when the same person reads again. No source.";
        kind_true_permille = 320, in 1..=997, "Of a thousand openings, as many are near true. No source; hangtrue learn proposes it.";
        kind_settled_permille = 540, in 1..=997, "Of a thousand openings, as many have settled: out by an eighth or a quarter inch. No source; hangtrue learn proposes it.";
        kind_racked_permille = 120, in 1..=997, "Of a thousand openings, as many are badly racked; what is left to a thousand is like nothing else. No source; hangtrue learn proposes it.";
        hold_percent = 78, in 1..=99, "Readings hold together when the chance that all are right is at least this. Set by simulation, so that of settled houses read well fewer than one in a hundred is called misread.";
        slip_risk_permille = 8, in 1..=500, "A further reading is asked for while the chance of an unnoticed slip that matters is above this many in a thousand. Set by simulation, so that few good openings cost a further trip of the tape.";
        anchor_factor = 4, in 1..=100, "An anchor's published ultimate load is divided by this. Practice, seen on a reference page.";
        control_pull_lbf = 10, in 0..=200, "Pull on the control that fixings must take, in pounds-force. Common practice, no source.";
        withdrawal_permanent_percent = 90, in 1..=400, "A screw's withdrawal value under the shade's own weight, in percent. Source: NDS Table 2.3.2, load duration, second-hand.";
        withdrawal_pull_percent = 160, in 1..=400, "A screw's withdrawal value while somebody pulls the control, in percent. Source: NDS Table 2.3.2, ten minutes, second-hand.";
        screw_bite_diameters = 6, in 1..=40, "A screw bites at least this many of its diameters into the wood; with less it carries nothing across. Source: NDS 2018 12.1.5.6, from memory.";
        lift_reserve_percent = 20, in 0..=500, "A lift is chosen that raises this much more than the shade weighs: cords rub in their rings. Common practice, no source.";
        loop_percent = 67, in 1..=100, "A chain or an endless cord hangs down by this much of the finished length (two thirds); its tensioner still stands at its height. Common practice, no source.";
        rib_in_top_row = 0, in 0..=1, "1: a rib in every row of rings, the top one too. 0: one rib a fold, in the row at its foot; the top row stays up under the board, is never drawn up, and needs none. Common practice, no source.";
        lead_softwood_percent = 70, in 1..=100, "A lead hole in softwood, in percent of the screw's root. Source: Wood Handbook ch. 8, from memory.";
        lead_hardwood_percent = 90, in 1..=100, "A lead hole in hardwood, in percent of the screw's root. Source: Wood Handbook ch. 8, from memory.";
        split_end_diameters = 10, in 0..=60, "With a lead hole, a screw stands at least this many diameters from the end of a board, or the board splits. Source: NDS commentary's advice for nails and wood screws, from memory.";
        split_edge_tenths = 25, in 0..=200, "With a lead hole, a screw stands at least this many tenths of its diameter from the edge of a board. Source: as for the end, from memory.";
        bar_elasticity_kpsi = 10_000, in 100..=60_000, "Modulus of elasticity of the bottom bar, thousand pounds per square inch: aluminium, as in published column examples.";
        bracket_arm_percent = 67, in 1..=100, "A bracket's arm carries at least this much of the board's width. Common practice, no source (two thirds).";
        waste_cord_percent = 10, in 0..=500, "Cord bought beyond the worked-out total.";
        cord_pull_percent = 67, in 1..=100, "The pull of a cord lift hangs down by this much of the finished length (two thirds). Common practice, no source.";
        cheapest_sticks_first = 1, in 0..=1, "Where every stick has a price: 1 buys the cheapest mix, 0 the fewest sticks. Common practice, no source.";
        spare_repeats = 1, in 0..=20, "Whole repeats bought beyond the plan, because a shop cuts anywhere in the pattern. Some buy one, some none: a choice of the house.";
        board_cover_in_lining = 0, in 0..=1, "1: the board of an outside mount is covered in lining too, which saves face cloth and shows from below. 0: in face cloth. Common practice, no source.";
        face_gsm = 271, in 1..=5_000, "Weight of a face cloth that names none, in grams a square metre: 8 oz a square yard (1 oz/yd2 = 33.906 g/m2, calculated).";
        lining_gsm = 150, in 0..=5_000, "Weight of plain lining in grams a square metre. Common practice, no source.";
        blackout_gsm = 260, in 0..=5_000, "Weight of blackout lining in grams a square metre. Common practice, no source.";
        interlining_gsm = 200, in 0..=5_000, "Weight of interlining in grams a square metre. Common practice, no source.";
        bar_g_per_m = 218, mm 203, in 0..=20_000, "Weight of the bottom bar in grams a metre: aluminium 1 x 1/8 in (25 x 3 mm) at 2.70 g/cm3, calculated.";
        rib_g_per_m = 16, mm 14, in 0..=5_000, "Weight of a rib in grams a metre: a 1/8 in (3 mm) rod at 2.0 g/cm3, calculated.";
        board_kg_per_m3 = 450, in 50..=2_000, "Weight of the board in kilograms a cubic metre: a dry softwood. Common practice, no source.";
        hour_price = 0, in 0..=100_000_000, "What an hour of work is charged at, in the currency's smallest units; 0 while nobody said it, and then no price is whole. No default: it differs by place.";
        shade_minutes = 90, in 0..=10_000, "Minutes to make a plain shade, its size aside. Common practice, from memory, no source.";
        area_minutes = 7, mm 75, in 0..=10_000, "Minutes that each square foot of the finished shade adds (each square metre in a metric house). Common practice, from memory, no source.";
        join_minutes = 45, in 0..=10_000, "Minutes that each join of widths adds. Common practice, from memory, no source.";
        pattern_percent = 25, in 0..=1_000, "Making takes this much longer, in percent, in a cloth with a pattern. Common practice, from memory, no source.";
        interlining_minutes = 30, in 0..=10_000, "Minutes that an interlining adds. Common practice, from memory, no source.";
        rib_minutes = 5, in 0..=10_000, "Minutes that each rib adds. Common practice, no source.";
        hang_minutes = 30, in 0..=10_000, "Minutes to hang a shade. Common practice, from memory, no source.";
        stop_minutes = 30, in 0..=10_000, "Minutes that a stop to hang takes, whatever is hung: parking, carrying, clearing up. Common practice, from memory, no source.";
        stairs_minutes = 20, in 0..=10_000, "Minutes more to hang a shade over stairs. Common practice, no source.";
        markup_percent = 40, in 0..=10_000, "What is added to the price of what is bought, in percent. Practice differs widely; no source.";
        own_cloth_charge = 0, in 0..=100_000_000, "Charge for each shade in the client's own cloth, in the currency's smallest units: its handling, and its risk. No default: it differs by maker.";
        least_charge = 0, in 0..=100_000_000, "No shade is made for less than this, in the currency's smallest units. No default: it differs by maker.";
        visit_charge = 0, in 0..=100_000_000, "Charge for the visit to measure, in the currency's smallest units. No default: it differs by maker.";
        travel_charge = 0, in 0..=100_000_000, "Charge for the way there to hang, in the currency's smallest units. No default: it differs by house.";
        discount_permille = 0, in 0..=1_000, "Taken off the shades, in tenths of a percent.";
        deposit_percent = 50, in 0..=100, "The deposit is this much of the total in percent, or what is bought for it where that is more. Common practice, from memory, no source; laws on deposits differ by place.";
        quote_days = 30, in 1..=3_650, "A quote stands for so many days. Common practice, no source.";
        due_days = 14, in 0..=3_650, "An invoice is to be paid within so many days. Common practice, no source; laws differ by place.";
        bench_minutes = 360, in 1..=10_000, "Minutes that the bench makes in a working day. Common practice, no source: what is left of a day beside talking, buying and clearing up.";
        bench_days = 5, in 5..=7, "Days of a week that are worked: 5 Monday to Friday, 6 to Saturday, 7 all.";
        cloth_days = 14, in 0..=3_650, "Days from an order until its cloth is here. Common practice, no source; it differs by seller.";
        grace_days = 5, in 0..=3_650, "Working days put on a day that is promised. Common practice, no source.";
        hide_prices = 0, in 0..=1, "1: no price is shown, on no screen and on no sheet but the quote's.";
        ring_mg = 500, in 0..=100_000, "Weight of a ring in milligrams. Common practice, no source.";
        two_people_g = 9_000, in 500..=100_000, "A shade with its board that weighs more than this, in grams, is hung by two people. Common practice, no source.";
        lift_g = 400, in 0..=50_000, "Weight of the lift on the board (spring, lock, chain, cord or motor) in grams. Common practice, no source; a motor may weigh more.";
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self::INCHES
    }
}

impl Settings {
    /// The defaults of a house of this unit.
    pub const fn defaults(unit: LengthUnit) -> Self {
        if unit.is_imperial() { Self::INCHES } else { Self::MILLIMETRES }
    }

    /// The lengths that are so far above their defaults that they are likely a slip: over four times as much, and
    /// over 2 in (50 mm) more; where the default is none, over 24 in (600 mm).
    pub fn unlikely(&self, unit: LengthUnit) -> Vec<Unlikely> {
        let (more, most) = if unit.is_imperial() {
            (Length::whole_inches(2), Length::whole_inches(24))
        } else {
            (Length::mm(50), Length::mm(600))
        };
        let limit = |default: Length| if default == Length::ZERO { most } else { (default * 4).max(default + more) };
        let rows = self.rows(unit).into_iter().filter_map(|row| match (&row.value, &row.default) {
            (Value::Length(value), Value::Length(default)) if *value > limit(*default) => Some(Unlikely {
                name: row.name,
                says: format!(
                    "The setting \"{}\" is {}; the default is {}.",
                    row.name.replace('_', " "),
                    value.show_marked(unit),
                    default.show_marked(unit)
                ),
            }),
            _ => None,
        });
        rows.collect()
    }

    /// The defaults of a house of this unit with its own changes laid over them.
    ///
    /// # Errors
    /// [`SettingProblem`] names the first change that is no setting or has the wrong kind of value.
    pub fn with(unit: LengthUnit, changes: &Changes) -> Result<Self, SettingProblem> {
        let mut settings = Self::defaults(unit);
        for (name, change) in &changes.0 {
            let value = change.value();
            if matches!(&value, Value::Whole(n) if *n < 0) || matches!(&value, Value::Length(l) if l.is_negative()) {
                return Err(SettingProblem::Negative(name.clone()));
            }
            let mut with = settings.clone();
            with.set(name, &value)?;
            // A number beyond its limits is kept in the house as it was written, and not worked with: `Changes::beyond`.
            if within(name, &value) {
                settings = with;
            }
        }
        Ok(settings)
    }
}

/// True when a value lies within its setting's limits.
fn within(name: &str, value: &Value) -> bool {
    match (Settings::limits(name), value) {
        (Some((Value::Length(least), Value::Length(most))), Value::Length(length)) => (least..=most).contains(length),
        (Some((Value::Whole(least), Value::Whole(most))), Value::Whole(n)) => (least..=most).contains(n),
        _ => true,
    }
}

/// What a house has changed in the table, as written in its job file: a length as text, a number as a number.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize)]
pub struct Changes(BTreeMap<String, Change>);

/// One changed value.
#[derive(Clone, PartialEq, Eq, Debug)]
enum Change {
    Length(Typed),
    Whole(i64),
}

impl Changes {
    /// Changes that are known to fit the table.
    ///
    /// # Errors
    /// As [`Settings::with`].
    pub fn change(&mut self, name: &str, text: &str, unit: LengthUnit) -> Result<(), SettingProblem> {
        let wants_length = Settings::defaults(unit)
            .rows(unit)
            .into_iter()
            .any(|row| row.name == name && matches!(row.value, Value::Length(_)));
        let change = if wants_length {
            let typed = Typed::read(text, unit)
                .map_err(|problem| SettingProblem::Length { name: name.to_owned(), problem: problem.to_string() })?;
            Change::Length(typed)
        } else {
            Change::Whole(text.trim().parse().map_err(|_| SettingProblem::NotWhole(name.to_owned()))?)
        };
        let value = change.value();
        let mut next = self.clone();
        next.0.insert(name.to_owned(), change);
        Settings::with(unit, &next)?;
        if !within(name, &value) {
            return Err(SettingProblem::Beyond { name: name.to_owned(), limits: limits_words(name, unit) });
        }
        *self = next;
        Ok(())
    }

    /// The changes that an older program or another hand wrote beyond their limits: they are kept, and the default is
    /// used in their place.
    pub fn beyond(&self, unit: LengthUnit) -> Vec<Unlikely> {
        let rows = Settings::defaults(unit).rows(unit);
        let beyond = self.0.iter().filter(|(name, change)| !within(name, &change.value()));
        beyond
            .filter_map(|(name, change)| {
                let row = rows.iter().find(|row| row.name == *name)?;
                let (written, label) = (Row { value: change.value(), ..row.clone() }.shown(unit), row.label());
                let says = format!(
                    "The setting \"{label}\" is written as {written}, and can be {}; its default of {} is used.",
                    limits_words(name, unit),
                    row.shown(unit)
                );
                Some(Unlikely { name: row.name, says })
            })
            .collect()
    }

    /// These laid over those of the workroom. What is written beyond its limits here gives way to what stands below.
    #[must_use]
    pub fn over(&self, below: &Self, unit: LengthUnit) -> Self {
        let aside: Vec<&str> = self.beyond(unit).into_iter().map(|aside| aside.name).collect();
        let mut all = below.clone();
        let own = self.0.iter().filter(|(name, _)| !aside.contains(&name.as_str()) || !below.0.contains_key(*name));
        all.0.extend(own.map(|(name, change)| (name.clone(), change.clone())));
        all
    }

    /// Takes a change back to what stands below.
    pub fn take_out(&mut self, name: &str) {
        self.0.remove(name);
    }

    /// Those that stand otherwise, or not at all, in `other`.
    #[must_use]
    pub fn unlike(&self, other: &Self) -> Self {
        let same =
            |name: &String, change: &Change| other.0.get(name).is_some_and(|there| there.value() == change.value());
        Self(self.0.iter().filter(|(name, change)| !same(name, change)).map(|(n, c)| (n.clone(), c.clone())).collect())
    }

    /// The change of this name as it is written, for who gives it on.
    pub fn written(&self, name: &str) -> Option<String> {
        self.0.get(name).map(|change| match change {
            Change::Length(typed) => typed.marked_text(),
            Change::Whole(n) => n.to_string(),
        })
    }

    /// True when nothing was changed.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The names that were changed, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }
}

impl Change {
    fn value(&self) -> Value {
        match self {
            Self::Length(typed) => Value::Length(typed.value()),
            Self::Whole(n) => Value::Whole(*n),
        }
    }
}

/// A setting's limits in words: "1 to 100".
fn limits_words(name: &str, unit: LengthUnit) -> String {
    let shown = |value: Value| match value {
        Value::Length(length) => length.round(Grain::of_tape(unit), Direction::Down).show_marked(unit),
        Value::Whole(n) => n.to_string(),
    };
    Settings::limits(name).map_or_else(String::new, |(least, most)| format!("{} to {}", shown(least), shown(most)))
}

impl Serialize for Change {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Length(typed) => typed.serialize(to),
            Self::Whole(n) => to.serialize_i64(*n),
        }
    }
}

impl<'de> Deserialize<'de> for Change {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl serde::de::Visitor<'_> for Visitor {
            type Value = Change;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a length as text, such as \"1/2\", or a whole number")
            }
            fn visit_i64<E: serde::de::Error>(self, n: i64) -> Result<Change, E> {
                Ok(Change::Whole(n))
            }
            fn visit_u64<E: serde::de::Error>(self, n: u64) -> Result<Change, E> {
                i64::try_from(n).map(Change::Whole).map_err(E::custom)
            }
            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Change, E> {
                Typed::deserialize(serde::de::value::StrDeserializer::<E>::new(text)).map(Change::Length)
            }
        }
        from.deserialize_any(Visitor)
    }
}

impl<'de> Deserialize<'de> for Changes {
    /// Refuses a change that does not fit the table, so that the error has its line and path.
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let changes = Self(BTreeMap::deserialize(from)?);
        Settings::with(LengthUnit::Inch, &changes).map_err(serde::de::Error::custom)?;
        Ok(changes)
    }
}

/// Why a change is no setting.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum SettingProblem {
    /// No setting has this name; the nearest one is given.
    #[error("there is no setting \"{name}\"; the nearest is \"{near}\"")]
    Unknown {
        /// The name that was given.
        name: String,
        /// The setting with the most similar name.
        near: String,
    },
    /// A number stands where a length should.
    #[error("\"{0}\" is a length: write it as text, such as \"1/2\" or \"13 mm\"")]
    WantsLength(&'static str),
    /// A length stands where a whole number should.
    #[error("\"{0}\" is a whole number: write it without quotes")]
    WantsWhole(&'static str),
    /// Not a whole number.
    #[error("\"{0}\" is a whole number, such as 4")]
    NotWhole(String),
    /// Below zero.
    #[error("\"{0}\" cannot be negative")]
    Negative(String),
    /// Less than its least or more than its most.
    #[error("\"{}\" can be {limits}", label(name))]
    Beyond {
        /// The setting.
        name: String,
        /// Its limits, in words.
        limits: String,
    },
    /// A length that cannot be read.
    #[error("\"{name}\": {problem}")]
    Length {
        /// The setting.
        name: String,
        /// What is wrong with the length.
        problem: String,
    },
}

/// A setting as a person reads it, from its name in the job file: `side_turning` is `side turning`.
pub fn label(name: &str) -> String {
    match name {
        "hand_um" => "how well the hand reads the tape",
        "slip_recurs_percent" => "slips that come out the same when read again",
        "kind_true_permille" => "openings that are near true",
        "kind_settled_permille" => "openings that have settled",
        "kind_racked_permille" => "openings that are badly racked",
        "hold_percent" => "chance from which readings hold, percent",
        "slip_risk_permille" => "chance of a slip that asks for a further reading, per 1,000",
        "anchor_factor" => "divisor of an anchor's stated load",
        "control_pull_lbf" => "pull on the control, pounds-force",
        "withdrawal_permanent_percent" => "screw under steady load, percent of its value",
        "withdrawal_pull_percent" => "screw while the control is pulled, percent of its value",
        "lead_softwood_percent" => "pilot hole in softwood, percent of the root",
        "lead_hardwood_percent" => "pilot hole in hardwood, percent of the root",
        "split_end_diameters" => "screw from the end of a board, diameters",
        "split_edge_tenths" => "screw from the edge of a board, tenths of a diameter",
        "bar_elasticity_kpsi" => "stiffness of the bottom bar, thousand psi",
        "bracket_arm_percent" => "bracket arm, percent of the board's width",
        "waste_cord_percent" => "cord to spare, percent",
        "cord_pull_percent" => "hanging pull, percent of the length",
        "face_gsm" => "weight of face cloth, g/m2",
        "lining_gsm" => "weight of plain lining, g/m2",
        "blackout_gsm" => "weight of blackout lining, g/m2",
        "interlining_gsm" => "weight of interlining, g/m2",
        "bar_g_per_m" => "weight of the bottom bar, g/m",
        "rib_g_per_m" => "weight of a rib, g/m",
        "board_kg_per_m3" => "weight of the board's wood, kg/m3",
        "ring_mg" => "weight of a ring, mg",
        "two_people_g" => "hung by two people above, g",
        "lift_g" => "weight of the lift, g",
        "outside_foot_clearance" => "hem above the sill, outside mount",
        "fixing_above_trim" => "board or bracket above the trim",
        "offcut_length_least" => "offcut of cloth worth keeping, at least so long",
        "offcut_width_least" => "offcut of cloth worth keeping, at least so wide",
        "dark_side_overlap" => "side overlap where light is kept out",
        "flush_depth" => "depth that takes a 1x2 flush",
        "hour_price" => "price of an hour",
        "shade_minutes" => "minutes to make a plain shade",
        "area_minutes" => "minutes for each square foot or metre",
        "join_minutes" => "minutes for each join",
        "pattern_percent" => "longer in a pattern, percent",
        "interlining_minutes" => "minutes for an interlining",
        "rib_minutes" => "minutes for each rib",
        "hang_minutes" => "minutes to hang a shade",
        "stop_minutes" => "minutes for a stop to hang",
        "stairs_minutes" => "minutes more over stairs",
        "markup_percent" => "added to what is bought, percent",
        "own_cloth_charge" => "charge for a client's own cloth",
        "least_charge" => "least charge for a shade",
        "visit_charge" => "charge for the visit to measure",
        "travel_charge" => "charge for the way there",
        "discount_permille" => "taken off the shades, tenths of a percent",
        "deposit_percent" => "deposit, percent of the total",
        "due_days" => "days to pay an invoice",
        "bench_minutes" => "minutes on the bench in a day",
        "bench_days" => "days of a week that are worked",
        "cloth_days" => "days until ordered cloth is here",
        "grace_days" => "working days put on a promise",
        "quote_days" => "days that a quote stands",
        "hide_prices" => "show no prices (1) or show them (0)",
        other => return other.replace('_', " "),
    }
    .to_owned()
}

/// A text in which every setting is called by its [`label`], not by its name in the job file.
pub fn plain(text: &str) -> String {
    if !text.contains('_') {
        return text.to_owned();
    }
    let rows = Settings::INCHES.rows(LengthUnit::Inch);
    let is_name = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(start) = rest.find(is_name) {
        out.push_str(&rest[..start]);
        let word = &rest[start..];
        let word = &word[..word.find(|c: char| !is_name(c)).unwrap_or(word.len())];
        if rows.iter().any(|row| row.name == word) && word.contains('_') {
            out.push_str(&label(word));
        } else {
            out.push_str(word);
        }
        rest = &rest[start + word.len()..];
    }
    out.push_str(rest);
    out
}

/// The name among `names` that shares most with `name`: for "did you mean".
pub(crate) fn nearest(name: &str, names: &[&str]) -> String {
    names.iter().min_by_key(|known| edits(name, known)).map_or_else(String::new, |known| (*known).to_owned())
}

/// Single-character edits between two words (Levenshtein).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let next = (corner + usize::from(x != *y)).min(row[j] + 1).min(row[j + 1] + 1);
            corner = row[j + 1];
            row[j + 1] = next;
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::length::with_default_unit;

    #[test]
    fn a_house_changes_its_numbers_and_keeps_its_words() {
        let changes: Changes = with_default_unit(LengthUnit::Inch, || {
            serde_json::from_str(r#"{"inside_width_deduction":"1/2","anchor_factor":5}"#).unwrap()
        });
        let settings = Settings::with(LengthUnit::Inch, &changes).unwrap();
        assert_eq!(settings.inside_width_deduction, Length::inches(1, 2));
        assert_eq!(settings.anchor_factor, 5);
        assert_eq!(
            serde_json::to_string(&changes).unwrap(),
            r#"{"anchor_factor":5,"inside_width_deduction":"1/2 in"}"#
        );
    }

    /// 10 lbf is 44.48 N; 10,000 thousand psi is 68.95 GPa (NIST Special Publication 811, appendix B.8: 4.448222 N a
    /// pound-force, 6.894757 kPa a psi).
    #[test]
    fn pounds_are_said_in_newtons_where_lengths_are_metric() {
        let shown = |name: &str, unit: LengthUnit| {
            let rows = Settings::MILLIMETRES.rows(unit);
            rows.iter().find(|row| row.name == name).unwrap().shown(unit)
        };
        assert_eq!(shown("control_pull_lbf", LengthUnit::Millimetre), "10 (about 44 N)");
        assert_eq!(shown("control_pull_lbf", LengthUnit::Inch), "10");
        assert_eq!(shown("bar_elasticity_kpsi", LengthUnit::Centimetre), "10000 (about 69 GPa)");
        assert_eq!(shown("least_join", LengthUnit::Millimetre), "75 mm");
    }

    #[test]
    fn no_label_is_a_code_name() {
        for row in Settings::INCHES.rows(LengthUnit::Inch) {
            assert!(!row.label().contains('_') && !row.label().is_empty(), "{}", row.name);
        }
        assert_eq!(
            plain("taken off: board_deduction (of x_y), face_gsm."),
            "taken off: board deduction (of x_y), weight of face cloth, g/m2."
        );
    }

    #[test]
    fn what_is_no_setting_is_refused_with_the_nearest_name() {
        for (json, said) in [
            (r#"{"inside_width_deducton":"1/2"}"#, "nearest is \"inside_width_deduction\""),
            (r#"{"inside_width_deduction":3}"#, "is a length"),
            (r#"{"anchor_factor":"3 in"}"#, "whole number"),
            (r#"{"anchor_factor":-1}"#, "negative"),
        ] {
            let error =
                with_default_unit(LengthUnit::Inch, || serde_json::from_str::<Changes>(json).unwrap_err().to_string());
            assert!(error.contains(said), "{json}: {error}");
        }
    }
}

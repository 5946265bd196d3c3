//! The house's numbers as people look for them: in groups, as the job goes, and in units that are in use.

use super::{Row, Value};
use crate::length::LengthUnit;

/// The group of prices and minutes.
const PRICES: &str = "Prices, minutes and days";

/// True for a number of prices and minutes: it is the maker's own business, and stands on no sheet that lists its numbers.
pub fn is_money(name: &str) -> bool {
    GROUPS.iter().any(|(group, names)| *group == PRICES && names.contains(&name))
}

/// Where in a job a number matters, and the numbers, in the order that they are shown.
pub const GROUPS: [(&str, &[&str]); 10] = [
    (
        "Reading the opening",
        &[
            "repeat_spread",
            "width_spread",
            "height_spread",
            "diagonal_spread",
            "lean_advises_outside",
            "bow_limit",
            "slope_limit",
            "tape_case",
            "slip_matters",
            "trim_reveal_most",
            "trim_hides_most",
            "trim_head_most",
        ],
    ),
    (
        "Inside mount",
        &[
            "inside_width_deduction",
            "inside_length_deduction",
            "passage_deduction",
            "flush_depth",
            "inside_depth_least",
        ],
    ),
    (
        "Outside mount",
        &[
            "outside_side_overlap",
            "dark_side_overlap",
            "no_trim_overlap",
            "plaster_edge",
            "packing_most",
            "outside_foot_clearance",
            "floor_clearance",
            "fixing_above_trim",
            "pair_difference",
            "projection_clearance",
            "corner_clearance",
            "sash_clearance",
            "shades_apart",
            "layers_apart",
            "cleat_height",
            "bracket_arm_percent",
        ],
    ),
    (
        "Making",
        &[
            "board_deduction",
            "bar_deduction",
            "ring_edge",
            "ring_column_most",
            "ring_row_least",
            "ring_row_most",
            "reveal",
            "head_clear",
            "stack_row",
            "stack_stiff",
            "stack_interlined",
            "fold_least",
            "tuck_depth",
            "loop_extra",
            "relaxed_column",
            "relaxed_dip",
            "largest_size",
            "side_turning",
            "side_turning_least",
            "bottom_turning",
            "staple_turning",
            "lining_inset",
            "lining_turning",
            "lining_rise",
            "rib_pocket",
            "rib_deduction",
            "rib_in_top_row",
            "facing_depth",
            "valance_hem",
            "cord_knot",
            "cord_drum",
            "rib_thickness",
            "pocket_ease",
            "bar_height",
            "bar_thickness",
            "loop_percent",
            "cord_pull_percent",
            "board_cover_in_lining",
        ],
    ),
    (
        "Cloth",
        &[
            "least_join",
            "seam_allowance",
            "lining_width",
            "cloth_sold_by",
            "offcut_length_least",
            "offcut_width_least",
            "spare_repeats",
            "face_gsm",
            "lining_gsm",
            "blackout_gsm",
            "interlining_gsm",
        ],
    ),
    (
        "Fixing and weights",
        &[
            "screw_end",
            "screw_most",
            "screw_eye_clearance",
            "two_people_from",
            "two_people_g",
            "screw_bite",
            "rail_eye_beside",
            "stud_reach",
            "stud_hold",
            "wall_covering",
            "sag_limit",
            "poke_through",
            "anchor_factor",
            "control_pull_lbf",
            "withdrawal_permanent_percent",
            "withdrawal_pull_percent",
            "screw_bite_diameters",
            "lift_reserve_percent",
            "lead_softwood_percent",
            "lead_hardwood_percent",
            "split_end_diameters",
            "split_edge_tenths",
            "bar_elasticity_kpsi",
            "bar_g_per_m",
            "rib_g_per_m",
            "board_kg_per_m3",
            "ring_mg",
            "lift_g",
        ],
    ),
    ("Saw and sticks", &["saw_kerf", "stick_trim", "smallest_offcut"]),
    ("Buying", &["waste_cord_percent", "cheapest_sticks_first"]),
    (
        PRICES,
        &[
            "hour_price",
            "shade_minutes",
            "area_minutes",
            "join_minutes",
            "pattern_percent",
            "interlining_minutes",
            "rib_minutes",
            "hang_minutes",
            "stop_minutes",
            "stairs_minutes",
            "markup_percent",
            "own_cloth_charge",
            "least_charge",
            "visit_charge",
            "travel_charge",
            "discount_permille",
            "deposit_percent",
            "quote_days",
            "due_days",
            "bench_minutes",
            "bench_days",
            "cloth_days",
            "grace_days",
            "hide_prices",
        ],
    ),
    (
        "Judging readings",
        &[
            "hand_um",
            "slip_recurs_percent",
            "kind_true_permille",
            "kind_settled_permille",
            "kind_racked_permille",
            "hold_percent",
            "slip_risk_permille",
            "sill_level_spread",
            "made_alike_spread",
        ],
    ),
];

impl Row {
    /// The value in a unit that is in use, where it is kept in another: 8 in a thousand is 0.8 %. Nothing where it is shown
    /// well enough as it is.
    pub fn in_use(&self, unit: LengthUnit) -> Option<String> {
        let Value::Whole(n) = self.value else { return None };
        let tenths = |n: i64| if n % 10 == 0 { (n / 10).to_string() } else { format!("{}.{}", n / 10, n % 10) };
        let name = self.name;
        let words = match name {
            _ if name.ends_with("_permille") => format!("{} %", tenths(n)),
            _ if name.ends_with("_percent") => format!("{n} %"),
            "hand_um" => format!("{} mm", thousandths(n)),
            "ring_mg" => format!("{} g", thousandths(n)),
            "control_pull_lbf" if unit.is_imperial() => format!("{n} lb"),
            "bar_elasticity_kpsi" if unit.is_imperial() => format!("{},000 psi", grouped(n)),
            "split_edge_tenths" => format!("{} diameters", tenths(n)),
            "split_end_diameters" | "screw_bite_diameters" => format!("{n} diameters"),
            "lift_g" | "two_people_g" => format!("{n} g"),
            "quote_days" | "due_days" | "bench_days" | "cloth_days" | "grace_days" => format!("{n} days"),
            _ if name.ends_with("_minutes") => format!("{n} min"),
            "bar_g_per_m" | "rib_g_per_m" => format!("{n} g a metre"),
            "board_kg_per_m3" => format!("{n} kg a cubic metre"),
            // 1 oz/yd2 is 33.906 g/m2 (NIST Special Publication 811, appendix B.8).
            _ if name.ends_with("_gsm") && unit.is_imperial() => {
                format!("{n} g/m2, {} oz/yd2", tenths((n * 10_000 + 16_953) / 33_906))
            }
            _ if name.ends_with("_gsm") => format!("{n} g/m2"),
            "rib_in_top_row" | "cheapest_sticks_first" | "board_cover_in_lining" | "hide_prices" => {
                if n == 1 { "yes" } else { "no" }.to_owned()
            }
            _ => return None,
        };
        Some(words)
    }

    /// What a bare number that is typed for it counts: "per 1,000". Empty for a length and for plain numbers.
    pub fn counts(&self) -> &'static str {
        match self.name {
            name if name.ends_with("_permille") => "in 1,000: 8 is 0.8 %",
            name if name.ends_with("_percent") => "in percent",
            "hand_um" => "in thousandths of a millimetre: 300 is 0.3 mm",
            "ring_mg" => "in milligrams: 500 is 0.5 g",
            "hour_price" => "in the currency's smallest units: 4500 is 45.00",
            name if name.ends_with("_charge") => "in the currency's smallest units: 4500 is 45.00",
            "control_pull_lbf" => "in pounds of pull: 10 is 44 N",
            "bar_elasticity_kpsi" => "in thousands of psi: 10000 is 69 GPa",
            "split_edge_tenths" => "in tenths of a diameter: 25 is 2.5",
            "rib_in_top_row" | "cheapest_sticks_first" | "board_cover_in_lining" => "1 is yes, 0 is no",
            name if name.ends_with("_gsm") => "in g/m2",
            _ => "",
        }
    }
}

/// So many thousandths: 300 is 0.3.
fn thousandths(n: i64) -> String {
    let text = format!("{}.{:03}", n / 1000, n % 1000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A whole number with a comma before every three digits.
fn grouped(n: i64) -> String {
    if n < 1000 { n.to_string() } else { format!("{},{:03}", grouped(n / 1000), n % 1000) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Settings;

    #[test]
    fn every_number_stands_in_one_group() {
        let mut grouped: Vec<&str> = GROUPS.iter().flat_map(|(_, names)| names.iter().copied()).collect();
        grouped.sort_unstable();
        let mut all: Vec<&str> = Settings::INCHES.rows(LengthUnit::Inch).iter().map(|row| row.name).collect();
        all.sort_unstable();
        assert_eq!(grouped, all);
    }

    /// 8 oz/yd2 is 271 g/m2 (NIST Special Publication 811, appendix B.8: 33.906 g/m2 an ounce a square yard).
    #[test]
    fn numbers_are_said_in_units_that_are_in_use() {
        let rows = Settings::INCHES.rows(LengthUnit::Inch);
        let shown = |name: &str| rows.iter().find(|row| row.name == name).unwrap().in_use(LengthUnit::Inch);
        for (name, words) in [
            ("slip_risk_permille", "0.8 %"),
            ("kind_true_permille", "32 %"),
            ("hand_um", "0.3 mm"),
            ("ring_mg", "0.5 g"),
            ("bar_elasticity_kpsi", "10,000,000 psi"),
            ("face_gsm", "271 g/m2, 8 oz/yd2"),
            ("split_edge_tenths", "2.5 diameters"),
            ("rib_in_top_row", "no"),
        ] {
            assert_eq!(shown(name).as_deref(), Some(words), "{name}");
        }
        assert_eq!(shown("side_turning"), None);
        // Nothing that is shown is a code.
        for row in &rows {
            let words = row.in_use(LengthUnit::Inch).unwrap_or_else(|| row.shown(LengthUnit::Inch));
            assert!(!words.contains("permille") && !words.contains("kpsi") && !words.contains("gsm"), "{words}");
        }
    }
}

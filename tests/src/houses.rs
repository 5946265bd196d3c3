//! Invented houses for tests that read everything a house is printed as: a house a seed, the same for the same seed, in
//! inches or millimetres, with readings finer than a tape, in the other unit, and with settings that are off the tape.

use hangtrue_core::house::{Job, file};
use hangtrue_core::length::LengthUnit;
use std::fmt::Write as _;
use uuid::Uuid;

/// Chance from a seed: xorshift64 (Marsaglia 2003).
#[derive(Debug)]
pub struct Chance(u64);

impl Chance {
    /// The chance of this seed.
    pub fn new(seed: u64) -> Self {
        let mut chance = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        for _ in 0..8 {
            chance.below(2);
        }
        chance
    }

    /// A number below `n`.
    pub fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % n
    }

    /// One of several.
    pub fn of<T: Copy>(&mut self, from: &[T]) -> T {
        from[usize::try_from(self.below(from.len() as u64)).expect("a few")]
    }

    /// True once in `n`.
    pub fn once_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }

    fn uuid(&mut self) -> Uuid {
        let mut bytes = [0_u8; 16];
        for byte in &mut bytes {
            *byte = u8::try_from(self.below(256)).expect("below 256");
        }
        bytes[6] = bytes[6] & 0x0f | 0x70;
        bytes[8] = bytes[8] & 0x3f | 0x80;
        Uuid::from_bytes(bytes)
    }

    /// About this many millimetres, as somebody writes it: mostly as the house's tape has it, at times finer or in the
    /// other unit.
    fn written(&mut self, mm: u64, unit: LengthUnit) -> String {
        let mm = mm + self.below(6);
        let inch = |chance: &mut Self, parts: u64| {
            let whole = mm * 10 / 254;
            match chance.below(parts) {
                0 => format!("{whole} in"),
                n if whole == 0 => format!("{n}/{parts} in"),
                n => format!("{whole} {n}/{parts} in"),
            }
        };
        match (unit.is_imperial(), self.below(12)) {
            (true, 0) => inch(self, 64),
            (true, 1) => inch(self, 32),
            (true, 2) => format!("{mm} mm"),
            (true, _) => inch(self, 16),
            (false, 0) => format!("{mm}.{} mm", 1 + self.below(9)),
            (false, 1) => inch(self, 8),
            (false, _) => format!("{mm} mm"),
        }
    }
}

/// How a shade is lifted.
const LIFTS: [&str; 6] =
    ["no_reachable_cord", "cord_lock", "chain_loop", "motor", "endless_cord", "top_down_bottom_up"];

/// The settings that are set off the tape in some houses.
const SETTINGS: [&str; 12] = [
    "inside_width_deduction",
    "outside_side_overlap",
    "side_turning",
    "bottom_turning",
    "staple_turning",
    "lining_inset",
    "lining_turning",
    "lining_rise",
    "rib_pocket",
    "board_deduction",
    "bar_deduction",
    "reveal",
];

/// An invented house of one to three openings.
///
/// # Panics
/// Should the generator write what is no job file.
pub fn house(seed: u64, unit: LengthUnit) -> Job {
    let mut chance = Chance::new(seed);
    let mut text = String::new();
    let region = chance.of(&["unsaid", "canada", "united_states", "europe_uk", "australia"]);
    let _ = write!(
        text,
        r#"{{"hangtrue_job":1,"id":"{}","name":"Larch House {seed}","unit":"{}","region":"{region}","built":{},"settings":{{"#,
        chance.uuid(),
        unit.name(),
        1880 + chance.below(140)
    );
    let mut settings = Vec::new();
    for name in SETTINGS {
        if chance.once_in(8) {
            let value = if unit.is_imperial() {
                format!("1 {}/64 in", 1 + 2 * chance.below(31))
            } else {
                format!("{}.{} mm", 20 + chance.below(20), 1 + chance.below(9))
            };
            settings.push(format!(r#""{name}":"{value}""#));
        }
    }
    let cloth = format!(
        r#"{{"name":"Reed","width":"{}","shrinks_permille":{},"weight_gsm":{}{}}}"#,
        if unit.is_imperial() { "54 in" } else { "1400 mm" },
        chance.of(&[0, 0, 15, 23]),
        180 + chance.below(200),
        if chance.once_in(3) {
            if unit.is_imperial() { r#","repeat":"13 9/32 in""# } else { r#","repeat":"327.5 mm""# }
        } else {
            ""
        }
    );
    let _ = write!(
        text,
        r#"{}}},"cloths":[{cloth}],"rooms":[{{"id":"{}","name":"Study","openings":["#,
        settings.join(","),
        chance.uuid()
    );
    for n in 0..=chance.below(3) {
        if n > 0 {
            text.push(',');
        }
        opening(&mut chance, n, unit, &mut text);
    }
    text.push_str("]}]}");
    file::read(&text).unwrap_or_else(|problem| panic!("{problem}: {text}"))
}

fn opening(chance: &mut Chance, n: u64, unit: LengthUnit, text: &mut String) {
    let (wide, high) = (450 + chance.below(1900), 500 + chance.below(1800));
    // Pythagoras, to the millimetre.
    #[allow(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a few metres"
    )]
    let diagonal = ((wide * wide + high * high) as f64).sqrt() as u64;
    let out = chance.below(14);
    let places = [
        ("width_top", wide),
        ("width_middle", wide),
        ("width_bottom", wide),
        ("height_left", high),
        ("height_right", high + out),
        ("diagonal_rising", diagonal),
        ("diagonal_falling", diagonal),
        ("depth", 60 + chance.below(60)),
        ("trim_width", wide + 140),
        ("trim_height", high + 70),
        ("trim_leg", 70),
        ("trim_thickness", 12 + chance.below(12)),
        ("wall_above", 120 + chance.below(300)),
        ("wall_left", 80 + chance.below(300)),
        ("wall_right", 80 + chance.below(300)),
        ("sill_to_floor", 700 + chance.below(300)),
        ("sill_to_apron_foot", 90 + chance.below(40)),
        ("ceiling_to_sill", high + 300 + chance.below(200)),
        ("face_above", 60 + chance.below(200)),
        ("face_out", chance.below(60)),
        ("proud_most", 20 + chance.below(20)),
        ("proud_height", high / 3),
        ("sash_top", high / 2 + chance.below(100)),
        ("sash_in", 20 + chance.below(200)),
        ("head_rise", 40 + chance.below(80)),
        ("sill_out", 30 + chance.below(40)),
    ];
    let mut readings = Vec::new();
    for (i, (place, mm)) in places.into_iter().enumerate() {
        let is_rare = matches!(place, "proud_height" | "sash_top" | "sash_in");
        if chance.once_in(25) || (is_rare && !chance.once_in(5)) {
            continue;
        }
        readings.push(format!(
            r#"{{"id":"{}","place":"{place}","read":"{}","at":"2026-05-04T09:{i:02}:00Z","by":"Ida"}}"#,
            chance.uuid(),
            chance.written(mm, unit)
        ));
    }
    let mut choices = vec![
        format!(r#""style":"{}""#, chance.of(&["flat", "flat_ribbed", "tucked", "looped", "relaxed"])),
        format!(r#""lift":"{}""#, chance.of(&LIFTS)),
        format!(r#""control":"{}""#, chance.of(&["left", "right"])),
        format!(r#""lining":"{}""#, chance.of(&["none", "plain", "blackout"])),
        format!(r#""interlined":{}"#, chance.once_in(4)),
    ];
    if !chance.once_in(8) {
        choices.push(r#""cloth":"Reed""#.to_owned());
    }
    if chance.once_in(2) {
        choices.push(format!(r#""mount":"{}""#, chance.of(&["inside", "outside"])));
    }
    if chance.once_in(3) {
        choices.push(format!(r#""attach":"{}""#, chance.of(&["flush", "brackets", "ceiling", "face"])));
    }
    if chance.once_in(6) {
        choices.push(format!(r#""valance":"{}""#, chance.written(220, unit)));
    }
    if chance.once_in(6) {
        choices.push(format!(r#""above_trim":"{}""#, chance.written(30, unit)));
    }
    if chance.once_in(6) {
        choices.push(format!(r#""count":{}"#, 2 + chance.below(3)));
    }
    if chance.once_in(5) {
        choices.push(format!(r#""foot":"{}""#, chance.of(&["apron", "floor"])));
    }
    if chance.once_in(10) {
        choices.push(format!(r#""finished_width":"{}""#, chance.written(wide - 20, unit)));
    }
    if chance.once_in(10) {
        choices.push(format!(r#""finished_length":"{}""#, chance.written(high - 20, unit)));
    }
    if chance.once_in(10) {
        choices.push(format!(r#""head":"{}""#, chance.written(90, unit)));
    }
    if chance.once_in(8) {
        choices.push(format!(r#""side_overlap":"{}""#, chance.written(20, unit)));
    }
    if chance.once_in(12) {
        choices.push(format!(r#""folds":{}"#, 2 + chance.below(8)));
    }
    let backing = ["unknown", "wood", "plasterboard", "masonry"];
    let wall = format!(
        r#""head":"{}","above":"{}","ceiling":"{}","below":"{}","no_trim":{},"tiled":{},"door":{},"escape":{},"public":{}"#,
        chance.of(&backing),
        chance.of(&backing),
        chance.of(&backing),
        chance.of(&["nothing", "nothing", "radiator", "range", "stairs", "basin", "furniture"]),
        chance.once_in(8),
        chance.once_in(6),
        chance.once_in(6),
        chance.once_in(6),
        chance.once_in(6)
    );
    let shape = chance.of(&[
        "level", "level", "level", "level", "level", "level", "level", "level", "level", "level", "arched", "sloped",
    ]);
    let handle = chance.of(&["unsaid", "left", "middle", "right"]);
    let corner = chance.of(&["", "", "", r#","corner_left":135"#, r#","corner_right":90,"corner_left":225"#]);
    let wall = format!(r#"{wall},"head_shape":"{shape}","handle":"{handle}"{corner}"#);
    let _ = write!(
        text,
        r#"{{"id":"{}","name":"Window {}","readings":[{}],"wall":{{{wall}}},"choices":{{{}}}}}"#,
        chance.uuid(),
        n + 1,
        readings.join(","),
        choices.join(",")
    );
}

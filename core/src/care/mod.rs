//! Cautions: what can hurt a child, the installer or the house, each with its place and its source.
//!
//! [`for_shade`] joins the table of [`RULES`] and the trade's own cautions to one shade: its lift, the spacing of its
//! rings, where its house stands and when it was built. Nothing here says that a shade complies with anything: a
//! measure that is within a published figure is said to be so, and [`NOT_A_STATEMENT`] goes with every list. Local
//! rules and licensed people decide. Where nobody named a place, the rules of all are shown.

use crate::flag::sentence;
use crate::house::{Below, Lift, Region, Wall};
use crate::length::{Length, LengthUnit};
use crate::makeup::Makeup;
use crate::settings::Settings;

/// What goes with every list of cautions.
pub const NOT_A_STATEMENT: &str =
    "Cautions, not a statement that this shade complies with any rule: local rules and licensed people decide.";

/// How well a source is known.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Known {
    /// The source's own text was read.
    Seen,
    /// Read in an extract that quotes the source: read the source before relying on it.
    SecondHand,
    /// From memory: read the source before relying on it.
    Memory,
    /// Common practice of the trade, with no published source.
    Practice,
}

impl Known {
    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Seen => "read in the source",
            Self::SecondHand => "second-hand: read the source before relying on it",
            Self::Memory => "from memory: read the source before relying on it",
            Self::Practice => "common practice, no published source",
        }
    }
}

/// What a caution is about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Topic {
    /// Cords and loops that a child can reach.
    Cord,
    /// Cords between the rings at the back.
    Rings,
    /// What is hung on a wall.
    Load,
    /// Drilling into walls.
    Drilling,
    /// Old paint and coatings.
    OldPaint,
    /// Ladders.
    Ladder,
    /// Heat below or beside the cloth, and flame.
    Flame,
    /// Doors and ways out.
    Way,
    /// Wiring.
    Wiring,
}

impl Topic {
    /// As a heading.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Cord => "Cords and loops",
            Self::Rings => "Cords between the rings",
            Self::Load => "Loads",
            Self::Drilling => "Drilling",
            Self::OldPaint => "Old paint and coatings",
            Self::Ladder => "Ladders",
            Self::Flame => "Heat and flame",
            Self::Way => "Doors and ways out",
            Self::Wiring => "Wiring",
        }
    }
}

/// What a rule measures.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Measure {
    /// The length of a cord with a free end that can be reached.
    FreeEnd,
    /// The perimeter of any loop, one that is made by pulling a cord out too.
    Loop,
    /// The height of the fixing that keeps a loop taut, or of a loop's lowest point, above the floor.
    LoopHeight,
    /// The run of a cord between two places where it is held: from ring to ring.
    BetweenRings,
    /// Nothing that a length says.
    Words,
}

/// A rule of a place.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rule {
    /// A short name of our own.
    pub code: &'static str,
    /// The place it is of.
    pub region: Region,
    /// What it measures.
    pub measure: Measure,
    /// The published figure: the most, or the least where it is a height. Zero where the rule is words.
    pub figure: Length,
    /// What it says, one sentence.
    pub says: &'static str,
    /// Where that stands.
    pub source: &'static str,
    /// How well that is known.
    pub known: Known,
}

impl Rule {
    /// True for a rule on products that are sold from stock: not one of a shade that is made to order.
    pub fn is_of_stock(&self) -> bool {
        matches!(self.code, "us_stock_operating_cord" | "us_inner_cords")
    }

    /// True when a measure keeps the published figure, which itself keeps it: 22.0 cm does, 22.1 cm does not.
    /// Rules in words keep nothing and break nothing: `None`.
    ///
    /// ```
    /// use hangtrue_core::care::RULES;
    /// use hangtrue_core::length::Length;
    /// let rule = RULES.iter().find(|rule| rule.code == "canada_between_rings").unwrap();
    /// assert_eq!(rule.keeps(Length::mm(220)), Some(true));
    /// assert_eq!(rule.keeps(Length::mm(221)), Some(false));
    /// ```
    pub fn keeps(&self, found: Length) -> Option<bool> {
        match self.measure {
            Measure::Words => None,
            Measure::LoopHeight => Some(found >= self.figure),
            Measure::FreeEnd | Measure::Loop | Measure::BetweenRings => Some(found <= self.figure),
        }
    }
}

/// The rules on cords that Hangtrue knows, by place. Not all there are.
pub const RULES: &[Rule] = &[
    Rule {
        code: "canada_free_end",
        region: Region::Canada,
        measure: Measure::FreeEnd,
        figure: Length::mm(220),
        says: "A cord with a free end that can be reached is at most 22 cm long, pulled with up to 35 N.",
        source: "Canada, Corded Window Coverings Regulations SOR/2019-97, section 5",
        known: Known::Seen,
    },
    Rule {
        code: "canada_between_rings",
        region: Region::Canada,
        measure: Measure::BetweenRings,
        figure: Length::mm(220),
        says: "A reachable cord between two places where it is held (from ring to ring) is at most 22 cm, pulled with 35 N.",
        source: "Canada, Corded Window Coverings Regulations SOR/2019-97, section 6",
        known: Known::Seen,
    },
    Rule {
        code: "canada_loop",
        region: Region::Canada,
        measure: Measure::Loop,
        figure: Length::mm(440),
        says: "Any loop, one made by pulling a cord out too, is at most 44 cm around.",
        source: "Canada, Corded Window Coverings Regulations SOR/2019-97, section 7",
        known: Known::Seen,
    },
    Rule {
        code: "canada_small_parts",
        region: Region::Canada,
        measure: Measure::Words,
        figure: Length::ZERO,
        says: "Small parts that a child could swallow stay on when they are pulled with 90 N.",
        source: "Canada, Corded Window Coverings Regulations SOR/2019-97, section 2",
        known: Known::Seen,
    },
    Rule {
        code: "us_stock_operating_cord",
        region: Region::UnitedStates,
        measure: Measure::FreeEnd,
        figure: Length::whole_inches(8),
        says: "On a stock product there is no operating cord, or it is at most 8 in long, or it cannot be reached.",
        source: "United States, 16 CFR 1120.3(e), (f)",
        known: Known::Seen,
    },
    Rule {
        code: "us_inner_cords",
        region: Region::UnitedStates,
        measure: Measure::Words,
        figure: Length::ZERO,
        says: "Cords at the back of a stock product are tried by ANSI/WCMA A100.1-2018, appendices C and D.",
        source: "United States, 16 CFR 1120.3(f)",
        known: Known::Seen,
    },
    Rule {
        code: "us_custom_voluntary",
        region: Region::UnitedStates,
        measure: Measure::Words,
        figure: Length::ZERO,
        says: "Custom products have no free-hanging operating cord since 1 June 2024, by a voluntary standard; the rule on \
               custom products, 16 CFR 1260, was vacated on 12 September 2023 and is not law, whatever a reprint says.",
        source: "United States, ANSI/WCMA A100.1-2022; D.C. Circuit 22-1300",
        known: Known::SecondHand,
    },
    Rule {
        code: "europe_loop_height",
        region: Region::EuropeUk,
        measure: Measure::LoopHeight,
        figure: Length::mm(1500),
        says: "The device that keeps a loop taut is fixed at least 1.5 m above the floor.",
        source: "Europe and the United Kingdom, EN 13120",
        known: Known::SecondHand,
    },
    Rule {
        code: "europe_between_rings",
        region: Region::EuropeUk,
        measure: Measure::BetweenRings,
        figure: Length::mm(200),
        says: "The cord at the back of a Roman shade breaks away where it runs unsupported for more than 200 mm.",
        source: "Europe and the United Kingdom, EN 13120",
        known: Known::SecondHand,
    },
    Rule {
        code: "australia_loop_height",
        region: Region::Australia,
        measure: Measure::LoopHeight,
        figure: Length::mm(1600),
        says: "A loose loop of 220 mm or more is not formed lower than 1600 mm above the floor.",
        source: "Australia, safety standard for corded internal window coverings, 2014",
        known: Known::SecondHand,
    },
];

/// One caution for one shade.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Caution {
    /// A short name of our own.
    pub code: &'static str,
    /// What it is about.
    pub topic: Topic,
    /// The place it is of; unsaid means everywhere.
    pub region: Region,
    /// What it says, one or two plain sentences.
    pub says: String,
    /// Where that stands.
    pub source: &'static str,
    /// How well that is known.
    pub known: Known,
    /// Whether a measure of this shade keeps the published figure; nothing where none was compared.
    pub keeps: Option<bool>,
}

impl Caution {
    /// It in one or two sentences with where it stands, for a sheet that is worked from.
    pub fn short(&self) -> String {
        let known = match self.known {
            Known::Seen => "",
            Known::SecondHand => ", second-hand",
            Known::Memory => ", from memory",
            Known::Practice => return sentence(&self.says),
        };
        format!("{} ({}{known})", sentence(&self.says), self.source)
    }

    /// What it comes to where the hole is drilled, for a step; nothing where that is no step.
    pub const fn at_the_hole(&self) -> Option<&'static str> {
        match self.code.as_bytes() {
            b"lead_paint" => Some("Old paint may hold lead: certified people drill it (40 CFR 745.83)."),
            b"asbestos_coating" => Some("Coatings and boards may hold asbestos: a licensed person looks first."),
            b"old_coatings" => Some("Old paint may hold lead, old boards asbestos: ask the local authority first."),
            _ => None,
        }
    }

    /// It with all that is known of its source, for the sheet of cautions.
    pub fn long(&self) -> String {
        format!("{} ({}; {})", sentence(&self.says), self.source, self.known.words())
    }
}

/// What is around a shade that a caution hangs on.
#[allow(clippy::struct_excessive_bools, reason = "each is a fact of its own, as the job file has it")]
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Near {
    /// What is below the opening.
    pub below: Below,
    /// Whether the wall where it is fixed is tiled.
    pub tiled: bool,
    /// Whether a door swings under or through it.
    pub door: bool,
    /// Whether the opening is a way out in a fire.
    pub escape: bool,
    /// Whether the room is public, or let.
    pub public: bool,
}

impl Near {
    /// What the record of an opening says of these.
    pub const fn of(wall: &Wall) -> Self {
        Self { below: wall.below, tiled: wall.tiled, door: wall.door, escape: wall.escape, public: wall.public }
    }
}

/// What cautions are joined to.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Shade {
    /// What is around it.
    pub near: Near,
    /// Where the house stands.
    pub region: Region,
    /// The year it was built, if known.
    pub built: Option<i32>,
    /// How the shade is lifted.
    pub lift: Lift,
    /// The widest spacing between two rows of rings.
    pub ring_gap: Option<Length>,
    /// How far a pull cord hangs free.
    pub free_end: Option<Length>,
    /// How long the chain or cord of an endless lift is, once around.
    pub around: Option<Length>,
}

impl Shade {
    /// What a shade that is made up has of these.
    pub fn of(region: Region, built: Option<i32>, lift: Lift, wall: &Wall, makeup: &Makeup) -> Self {
        let ring_gap = makeup.grid.rows.windows(2).map(|pair| pair[1].from_head.exact - pair[0].from_head.exact).max();
        let free_end = makeup.cords.runs.iter().map(|run| run.pull).max().filter(|pull| *pull > Length::ZERO);
        Self { near: Near::of(wall), region, built, lift, ring_gap, free_end, around: makeup.cords.around }
    }
}

/// True when rules of `of` are shown for a house in `place`.
fn shown(of: Region, place: Region) -> bool {
    place == Region::Unsaid || of == Region::Unsaid || of == place
}

/// What a lift lets a child reach, so the measures that rules have for it.
const fn concerns(lift: Lift) -> &'static [Measure] {
    match lift {
        Lift::NoReachableCord | Lift::Motor => &[Measure::BetweenRings],
        Lift::CordLock | Lift::TopDownBottomUp => &[Measure::FreeEnd, Measure::Loop, Measure::BetweenRings],
        Lift::ChainLoop | Lift::EndlessCord => &[Measure::Loop, Measure::LoopHeight, Measure::BetweenRings],
    }
}

/// True for a lift that hangs a cord or chain where a child can reach it.
pub const fn can_be_reached(lift: Lift) -> bool {
    lift.is_reachable()
}

/// Every lift, those without a reachable cord first, each with the rules of the place that stand beside it.
pub fn lifts(place: Region) -> Vec<(Lift, Vec<&'static Rule>)> {
    let all =
        [Lift::NoReachableCord, Lift::Motor, Lift::ChainLoop, Lift::EndlessCord, Lift::CordLock, Lift::TopDownBottomUp];
    all.into_iter()
        .map(|lift| {
            let rules = RULES
                .iter()
                .filter(|rule| can_be_reached(lift) && shown(rule.region, place))
                .filter(|rule| rule.measure == Measure::Words || concerns(lift).contains(&rule.measure))
                .collect();
            (lift, rules)
        })
        .collect()
}

/// The cautions of one shade, by topic.
pub fn for_shade(shade: &Shade, settings: &Settings, unit: LengthUnit) -> Vec<Caution> {
    let mut cautions = Vec::new();
    cords(shade, settings, unit, &mut cautions);
    let everywhere = |code, topic, says: &str, source, known| Caution {
        code,
        topic,
        region: Region::Unsaid,
        says: says.to_owned(),
        source,
        known,
        keeps: None,
    };
    cautions.push(everywhere(
        "load_not_published_value",
        Topic::Load,
        "What a seller states for an anchor or screw is not what to hang on it: look at the working and its factor. \
         The wall is not known until it is probed.",
        "practice of the trade",
        Known::Practice,
    ));
    cautions.push(everywhere(
        "drilling_cables_pipes",
        Topic::Drilling,
        "Cables and pipes run above and beside windows: find them before drilling, and leave the place alone where in doubt.",
        "practice of the trade",
        Known::Practice,
    ));
    old_paint(shade, &mut cautions);
    cautions.push(everywhere(
        "ladder_quarter",
        Topic::Ladder,
        "A leaning ladder's foot stands out by a quarter of its working length.",
        "United States, 29 CFR 1926.1053(b)",
        Known::SecondHand,
    ));
    cautions.push(everywhere(
        "ladder_top_steps",
        Topic::Ladder,
        "Never stand on the top two steps of a stepladder.",
        "practice of the trade",
        Known::Practice,
    ));
    around(shade, &everywhere, &mut cautions);
    cautions.sort_by_key(|caution| caution.topic);
    cautions
}

/// What hangs on what is around the opening, and on a lift that is wired.
fn around(
    shade: &Shade,
    everywhere: &dyn Fn(&'static str, Topic, &str, &'static str, Known) -> Caution,
    cautions: &mut Vec<Caution>,
) {
    let practice = |code, topic, says: &str| everywhere(code, topic, says, "practice of the trade", Known::Practice);
    match shade.near.below {
        Below::Nothing => {}
        Below::Radiator => cautions.push(practice(
            "heat_below",
            Topic::Flame,
            "A heater is below: stop the cloth clear above it, raise the shade while it heats, and ask the heater's maker \
             for the distance.",
        )),
        Below::Range => cautions.push(practice(
            "range_beside",
            Topic::Flame,
            "A range, hob or fire is below or beside: cloth there can catch. Keep the distance that the range's maker and \
             the local code give, or choose another covering.",
        )),
        Below::Basin => cautions.push(practice(
            "water_below",
            Topic::Way,
            "Water is below: stop the cloth clear above what splashes, and choose a cloth and lining that may be washed.",
        )),
        Below::Furniture => cautions.push(practice(
            "climbing_below",
            Topic::Cord,
            "A bed, a seat or a table is below: a child climbs it and reaches what hangs there. Move it away, or choose a \
             lift with no cord in reach.",
        )),
        Below::Stairs => cautions.push(everywhere(
            "ladder_on_stairs",
            Topic::Ladder,
            "Stairs are below: a ladder stands only on level, firm ground or is secured; use a platform made for stairs, \
             and two people.",
            "United States, 29 CFR 1926.1053(b)(6)",
            Known::Memory,
        )),
    }
    if shade.near.tiled {
        cautions.push(practice(
            "drilling_tile",
            Topic::Drilling,
            "Tile splits and its dust harms: tape over the mark, a tile bit, no hammer, eyes covered; old tile and its \
             bed may hold asbestos.",
        ));
    }
    if shade.near.door {
        cautions.push(practice(
            "door_swing",
            Topic::Way,
            "A door swings here: open it fully under the raised shade before it is left; cloth, bar and cords stay clear \
             of the handle and of the way through.",
        ));
    }
    if shade.near.escape {
        cautions.push(everywhere(
            "escape_window",
            Topic::Way,
            "This opening is a way out in a fire: the shade must raise at once, without key or tool, and leave the clear \
             opening free. Local codes decide.",
            "United States, International Residential Code R310",
            Known::Memory,
        ));
    }
    if shade.near.public {
        cautions.push(everywhere(
            "cloth_flame",
            Topic::Flame,
            "In public rooms and lettings cloth may have to resist flame, tested and labelled: ask the local fire code \
             and the cloth's maker before cutting.",
            "NFPA 701 in the United States, BS 5867-2 in the United Kingdom, as local codes ask for them",
            Known::Memory,
        ));
    }
    if shade.lift == Lift::Motor {
        cautions.push(practice(
            "motor_mains",
            Topic::Wiring,
            "A motor on mains is wired by a licensed person; keep its cable out of the cloth's way, and children from its \
             batteries.",
        ));
    }
}

fn cords(shade: &Shade, settings: &Settings, unit: LengthUnit, cautions: &mut Vec<Caution>) {
    if can_be_reached(shade.lift) {
        cautions.push(Caution {
            code: "cord_strangles",
            topic: Topic::Cord,
            region: Region::Unsaid,
            says: format!(
                "Cords and loops strangle children. Choose a lift without a reachable cord; where this one stays, its cleat \
                 or tensioner is fixed at least {} above the floor, and cots, beds and chairs stand away from it.",
                settings.cleat_height.show_marked(unit)
            ),
            source: "practice of the trade",
            known: Known::Practice,
            keeps: None,
        });
    } else {
        cautions.push(Caution {
            code: "cord_behind",
            topic: Topic::Cord,
            region: Region::Unsaid,
            says:
                "This lift hangs no cord in reach, but cords run behind the shade from ring to ring: a child can get \
                   between them."
                    .to_owned(),
            source: "practice of the trade",
            known: Known::Practice,
            keeps: None,
        });
    }
    if shade.lift == Lift::TopDownBottomUp {
        cautions.push(Caution {
            code: "cord_above_rail",
            topic: Topic::Cord,
            region: Region::Unsaid,
            says:
                "Lowered from the top, this shade has bare cords between its board and its top rail, and two pulls: a \
                   child can get between them. Each pull has its own cleat, at the same height; where children are, \
                   choose another lift."
                    .to_owned(),
            source: "practice of the trade",
            known: Known::Practice,
            keeps: None,
        });
    }
    if shade.lift.is_endless() {
        cautions.push(Caution {
            code: "loop_held",
            topic: Topic::Cord,
            region: Region::Unsaid,
            says: "An endless chain or cord is only as safe as its tensioner: screwed to the wall, never left hanging, so \
                   that no loop can be pulled out of it."
                .to_owned(),
            source: "practice of the trade",
            known: Known::Practice,
            keeps: None,
        });
    }
    for rule in RULES.iter().filter(|rule| shown(rule.region, shade.region)) {
        let applies = match rule.measure {
            Measure::Words => can_be_reached(shade.lift) || rule.code == "canada_small_parts",
            measure => concerns(shade.lift).contains(&measure),
        };
        // These shades are made to order: what is for stock products is no rule of theirs.
        if !applies || rule.is_of_stock() {
            continue;
        }
        let found = match rule.measure {
            Measure::FreeEnd => shade.free_end,
            Measure::BetweenRings => shade.ring_gap,
            Measure::Loop => shade.around,
            Measure::LoopHeight | Measure::Words => None,
        };
        let keeps = found.and_then(|found| rule.keeps(found));
        let what = match rule.measure {
            Measure::BetweenRings => "The rows of rings stand",
            Measure::Loop => "Its chain or cord is, once around,",
            _ => "The pull hangs free by",
        };
        let says = match (found, keeps) {
            (Some(found), Some(true)) => {
                format!("{} {what} {}: within that figure.", rule.says, found.show_marked(unit))
            }
            (Some(found), _) => format!("{} {what} {}: MORE than that.", rule.says, found.show_marked(unit)),
            (None, _) => rule.says.to_owned(),
        };
        let topic = if rule.measure == Measure::BetweenRings { Topic::Rings } else { Topic::Cord };
        cautions.push(Caution {
            code: rule.code,
            topic,
            region: rule.region,
            says,
            source: rule.source,
            known: rule.known,
            keeps,
        });
    }
    cautions.sort_by_key(|caution| caution.topic);
}

/// Lead paint in the United States before 1978; asbestos coatings in the United Kingdom before 2000.
fn old_paint(shade: &Shade, cautions: &mut Vec<Caution>) {
    let before = |year: i32| shade.built.is_none_or(|built| built < year);
    let age =
        shade.built.map_or_else(|| "Year of the house not entered.".to_owned(), |built| format!("House of {built}."));
    if shown(Region::UnitedStates, shade.region) && before(1978) {
        cautions.push(Caution {
            code: "lead_paint",
            topic: Topic::OldPaint,
            region: Region::UnitedStates,
            says: format!(
                "{age} Before 1978 paint may hold lead: drilling and scraping are for certified people, but for minor repair \
                 of up to 6 square feet a room; local rules decide."
            ),
            source: "United States, 40 CFR 745.83",
            known: Known::Seen,
            keeps: None,
        });
    }
    if shown(Region::EuropeUk, shade.region) && before(2000) {
        cautions.push(Caution {
            code: "asbestos_coating",
            topic: Topic::OldPaint,
            region: Region::EuropeUk,
            says: format!(
                "{age} In the United Kingdom textured coatings and boards from before 2000 may hold asbestos: do not drill \
                 them until a licensed person has looked."
            ),
            source: "practice of the trade",
            known: Known::Practice,
            keeps: None,
        });
    }
    if matches!(shade.region, Region::Canada | Region::Australia) && shade.built.is_none_or(|built| built < 2000) {
        cautions.push(Caution {
            code: "old_coatings",
            topic: Topic::OldPaint,
            region: shade.region,
            says: format!(
                "{age} Old paint may hold lead and old boards asbestos: ask the local authority before drilling."
            ),
            source: "practice of the trade",
            known: Known::Practice,
            keeps: None,
        });
    }
}

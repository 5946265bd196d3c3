//! One label for each thing that is cut, bundled or packed of a house, and which of those that were printed before still hold.
//!
//! Only what is settled is cut, so only that is labelled: the labels are the pieces of [`work::plans`](crate::work::plans),
//! each once, and with them the cords and the bag of fixings of each of those shades. What has no label is named with why.

mod address;
mod stock;

pub use address::{Address, AddressProblem, Number};
pub use stock::{Paper, Stock, StockProblem};

use crate::buying::{ClothPlan, StickPlan};
use crate::cloth::PartOf;
use crate::flag::{listed, sentence};
use crate::house::Opening;
use crate::kit::{InBag, bag};
use crate::length::{Length, LengthUnit};
use crate::makeup::{CordOf, Cords, Makeup, Part, StickUse};
use crate::work::{Plans, Worked, WorkedHouse};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// What a label is put on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Thing {
    /// A piece of cloth as it comes off the bolt.
    Cloth {
        /// What it becomes.
        part: Part,
        /// Which part of that, where it is joined.
        piece: PartOf,
        /// Its width as it hangs.
        width: Length,
        /// Its length as it hangs; before it shrinks.
        length: Length,
        /// The cloth.
        cloth: String,
        /// True where the cloth shrinks, so that the finished length is less.
        shrinks: bool,
    },
    /// A board, a rail, a bar, or a bundle of ribs.
    Sticks {
        /// What they become.
        part: StickUse,
        /// The length of each.
        length: Length,
        /// How many.
        count: u32,
        /// What they are cut from: `board 1x2`.
        stock: String,
    },
    /// The cords, one bundle.
    Cords(Cords),
    /// The bag of fixings.
    Bag(Vec<InBag>),
}

/// One label.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Label {
    /// The opening.
    pub opening: Uuid,
    /// Its room's name.
    pub room: String,
    /// Its name.
    pub name: String,
    /// Which of how many shades alike; nothing where there is one.
    pub which: Option<(u32, u32)>,
    /// What it is put on.
    pub thing: Thing,
    /// What it was printed from. What is cut of an opening has one number, its bags another: a wall that is probed later
    /// changes the screws and no cloth.
    pub number: Number,
}

/// The labels of a house, and what has none.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Labels {
    /// The labels, opening by opening in the order of the walk.
    pub labels: Vec<Label>,
    /// What has no label, and why, one sentence each.
    pub left_out: Vec<String>,
}

impl Label {
    /// What it is on: `Face, left part`.
    pub fn part(&self) -> String {
        let words = match &self.thing {
            Thing::Cloth { part, piece: PartOf::Whole, .. } => part.words().to_owned(),
            Thing::Cloth { part, piece, .. } => format!("{}, {}", part.words(), piece.words()),
            Thing::Sticks { part, count: 1, .. } => part.words().to_owned(),
            Thing::Sticks { part, count, .. } => format!("{count} {}s", part.words()),
            Thing::Cords(cords) => match (cords.runs.len(), cords.around.is_some()) {
                (0, _) => "endless loop".to_owned(),
                (1, _) => "1 cord".to_owned(),
                (n, _) => format!("{n} cords"),
            },
            Thing::Bag(_) => "fixings".to_owned(),
        };
        sentence(&words).trim_end_matches('.').to_owned()
    }

    /// Its sizes, or what is in it: each is a phrase that is never shortened.
    pub fn sizes(&self, unit: LengthUnit) -> Vec<String> {
        match &self.thing {
            Thing::Cloth { width, length, .. } => {
                vec![format!("{} x", width.show(unit)), length.show_marked(unit)]
            }
            Thing::Sticks { length, count: 1, .. } => vec![length.show_marked(unit)],
            Thing::Sticks { length, .. } => vec![format!("each {}", length.show_marked(unit))],
            Thing::Cords(cords) => cord_sizes(cords, unit),
            Thing::Bag(things) => things.iter().map(|thing| format!("{} {}", thing.count, thing.what)).collect(),
        }
    }

    /// What it is cut from; empty where that is said already.
    pub fn from(&self) -> String {
        match &self.thing {
            Thing::Cloth { cloth, shrinks: true, .. } => format!("{cloth}, before it shrinks"),
            Thing::Cloth { cloth, .. } => cloth.clone(),
            Thing::Sticks { stock, part, .. } if stock != part.words() => stock.clone(),
            Thing::Sticks { .. } | Thing::Cords(_) | Thing::Bag(_) => String::new(),
        }
    }

    /// True where a top and a bottom can be mistaken.
    pub const fn has_top(&self) -> bool {
        matches!(
            self.thing,
            Thing::Cloth { .. } | Thing::Sticks { part: StickUse::Board | StickUse::TopRail | StickUse::Bar, .. }
        )
    }

    /// Its place in the house: `Study, East`, and which of shades alike.
    pub fn place(&self) -> String {
        let which = self.which.map_or_else(String::new, |(n, of)| format!(", {n} of {of}"));
        format!("{}, {}{which}", self.room, self.name)
    }

    /// What its code says.
    pub const fn address(&self, house: Uuid) -> Address {
        Address { house, opening: self.opening, sizes: self.number }
    }

    const fn is_cut(&self) -> bool {
        !matches!(self.thing, Thing::Bag(_))
    }

    /// What of it may not change, exactly, in figures that do not depend on words of a version.
    fn exactly(&self) -> String {
        let which = self.which.map_or(0, |(n, _)| n);
        match &self.thing {
            Thing::Cloth { part, piece, width, length, cloth, .. } => {
                let part = Part::ALL.iter().position(|one| one == part).unwrap_or_default();
                let piece = match piece {
                    PartOf::Whole => "w".to_owned(),
                    PartOf::Centre => "c".to_owned(),
                    PartOf::Left(n) => format!("l{n}"),
                    PartOf::Right(n) => format!("r{n}"),
                    PartOf::Band(n) => format!("b{n}"),
                };
                format!("{which} cloth {part} {piece} {} {} {cloth}", width.nm(), length.nm())
            }
            Thing::Sticks { part, length, count, stock } => {
                let part = match part {
                    StickUse::Bar => "bar",
                    StickUse::Rib => "rib",
                    StickUse::Board => "board",
                    StickUse::TopRail => "rail",
                };
                format!("{which} {part} {} {count} {stock}", length.nm())
            }
            Thing::Cords(cords) => {
                let runs: Vec<String> = cords
                    .runs
                    .iter()
                    .map(|run| {
                        format!(
                            "{}{}:{}",
                            if run.of == CordOf::TopRail { "t" } else { "s" },
                            run.column,
                            run.total.nm()
                        )
                    })
                    .collect();
                format!("{which} cords {} {}", runs.join(","), cords.around.unwrap_or_default().nm())
            }
            Thing::Bag(things) => {
                let things: Vec<String> =
                    things.iter().map(|thing| format!("{} {} {}", thing.count, thing.what, thing.used)).collect();
                format!("{which} bag {}", things.join(";"))
            }
        }
    }
}

/// The cords, those of one length together.
fn cord_sizes(cords: &Cords, unit: LengthUnit) -> Vec<String> {
    let mut groups: Vec<(CordOf, Length, Vec<u32>)> = Vec::new();
    for run in &cords.runs {
        match groups.iter_mut().find(|(of, total, _)| (*of, *total) == (run.of, run.total)) {
            Some((_, _, columns)) => columns.push(run.column),
            None => groups.push((run.of, run.total, vec![run.column])),
        }
    }
    let one = groups.len() == 1;
    let mut sizes: Vec<String> = groups
        .into_iter()
        .map(|(of, total, columns)| {
            let rail = if of == CordOf::TopRail { "rail " } else { "" };
            let columns = listed(columns.iter().map(u32::to_string));
            if one {
                format!("each {}", total.show_marked(unit))
            } else {
                format!("{rail}{columns}: {}", total.show_marked(unit))
            }
        })
        .collect();
    sizes.extend(cords.around.map(|around| format!("loop {} around", around.show_marked(unit))));
    sizes
}

/// The shades of a house that may be cut, each with its opening and its name on the plans: one for each of shades alike.
fn shades<'a>(house: &'a WorkedHouse<'_>) -> impl Iterator<Item = (&'a Worked<'a>, Option<(u32, u32)>, String)> {
    house.openings.iter().filter(|one| one.standing.is_settled()).flat_map(|one| {
        let count = one.opening.choices.count.get();
        (1..=count).map(move |n| {
            let name = format!("{}, {}", one.room.name, one.opening.name);
            let which = (count > 1).then_some((n, count));
            (one, which, if count > 1 { format!("{name}, {n} of {count}") } else { name })
        })
    })
}

/// The plans, with what of them has its label: names may stand twice, and then the first that is left is the first shade's.
struct Left<'a> {
    cloths: Vec<(&'a ClothPlan, Vec<bool>)>,
    sticks: Vec<(&'a StickPlan, Vec<bool>)>,
}

impl<'a> Left<'a> {
    fn of(plans: &'a Plans) -> Self {
        let cloths = plans.cut.cloths.iter().map(|plan| (plan, vec![true; plan.wants.len()])).collect();
        let sticks = plans.cut.sticks.iter().map(|plan| (plan, vec![true; plan.request.pieces.len()])).collect();
        Self { cloths, sticks }
    }

    fn cloth(&mut self, name: &str, width: Length, length: Length) -> Option<(&'a ClothPlan, usize)> {
        self.cloths.iter_mut().find_map(|(plan, left)| {
            let at =
                plan.wants.iter().zip(left.iter()).position(|(want, left)| {
                    *left && want.name == name && (want.width, want.length) == (width, length)
                })?;
            left[at] = false;
            Some((*plan, at))
        })
    }

    fn stick(&mut self, name: &str, length: Length) -> Option<(&'a StickPlan, u32)> {
        self.sticks.iter_mut().find_map(|(plan, left)| {
            let pieces = &plan.request.pieces;
            let at = pieces
                .iter()
                .zip(left.iter())
                .position(|(piece, left)| *left && piece.name == name && piece.length == length)?;
            left[at] = false;
            Some((*plan, pieces[at].count))
        })
    }
}

/// The labels of a house. `plans` are of this house as it is now.
pub fn labels(house: &WorkedHouse<'_>, plans: &Plans) -> Labels {
    let mut all = Labels::default();
    for one in house.openings.iter().filter(|one| !one.standing.is_settled()) {
        let mut why: Vec<&str> = Vec::new();
        for reason in &one.standing.reasons {
            if !why.contains(&reason.brief.as_str()) {
                why.push(&reason.brief);
            }
        }
        let name = format!("{}, {}", one.room.name, one.opening.name);
        all.left_out.push(sentence(&format!("{name}, {}: {}", one.stand().words(), why.join("; "))));
    }
    let mut left = Left::of(plans);
    for (one, which, name) in shades(house) {
        let Some(Ok(made)) = one.shade.as_ref().map(|shade| shade.makeup.as_ref()) else {
            all.left_out.push(format!("{name}: it is not made up."));
            continue;
        };
        let label = |thing: Thing| Label {
            opening: one.opening.id,
            room: one.room.name.clone(),
            name: one.opening.name.clone(),
            which,
            thing,
            number: Number([0; 6]),
        };
        for cut in &made.cuts {
            let Some((plan, at)) = left.cloth(&format!("{name}: {}", cut.part.words()), cut.width, cut.length) else {
                all.left_out.push(format!("{name}, {}: no cloth is planned for it.", cut.part.words()));
                continue;
            };
            let mut pieces: Vec<_> = plan.plan.pieces.iter().filter(|piece| piece.want == at).collect();
            pieces.sort_by_key(|piece| from_left(piece.part));
            all.labels.extend(pieces.into_iter().map(|piece| {
                let (width, length) =
                    if piece.turned { (piece.along, piece.across) } else { (piece.across, piece.along) };
                let (cloth, shrinks) = (plan.bolt.name.clone(), plan.bolt.shrinks_permille > 0);
                label(Thing::Cloth { part: cut.part, piece: piece.part, width, length, cloth, shrinks })
            }));
        }
        for stick in &made.sticks {
            match left.stick(&format!("{name}: {}", stick.part.words()), stick.length) {
                Some((plan, count)) => all.labels.push(label(Thing::Sticks {
                    part: stick.part,
                    length: stick.length,
                    count,
                    stock: plan.what.clone(),
                })),
                None => all.left_out.push(format!("{name}, {}: no stick is planned for it.", stick.part.words())),
            }
        }
        all.labels.extend(has_cords(made).then(|| label(Thing::Cords(made.cords.clone()))));
        match bag(one, house.job.unit) {
            Ok(things) if things.is_empty() => {}
            Ok(things) => all.labels.push(label(Thing::Bag(things))),
            Err(why) => all.left_out.push(format!("{name}, bag of fixings: {why}.")),
        }
    }
    for one in &house.openings {
        number(one.opening, &mut all.labels);
    }
    all
}

fn has_cords(made: &Makeup) -> bool {
    !made.cords.runs.is_empty() || made.cords.around.is_some()
}

/// From left to right, or from the top.
fn from_left(part: PartOf) -> i64 {
    match part {
        PartOf::Left(n) => -i64::from(n),
        PartOf::Whole | PartOf::Centre => 0,
        PartOf::Right(n) | PartOf::Band(n) => i64::from(n),
    }
}

/// Numbers the labels of an opening by what they say: what is cut, and what is packed.
fn number(opening: &Opening, labels: &mut [Label]) {
    for cut in [true, false] {
        let mine = |label: &Label| label.opening == opening.id && label.is_cut() == cut;
        let mut hash = Sha256::new();
        hash.update(opening.id.as_bytes());
        for label in labels.iter().filter(|label| mine(label)) {
            hash.update(label.exactly().as_bytes());
            hash.update(b"\n");
        }
        let mut bytes = [0; 6];
        bytes.copy_from_slice(&hash.finalize()[..6]);
        for label in labels.iter_mut().filter(|label| mine(label)) {
            label.number = Number(bytes);
        }
    }
}

/// What is to be done with labels that were printed before.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Old {
    /// As it was given.
    pub text: String,
    /// True where they hold: what they say is what is cut now.
    pub holds: bool,
    /// One sentence: whose they are, or why they are thrown away.
    pub says: String,
}

/// Judges labels that were printed before, by their numbers or by what their codes say, one a line.
///
/// # Errors
/// The line that is neither, and what would be right.
pub fn judge(house: &WorkedHouse<'_>, labels: &Labels, text: &str) -> Result<Vec<Old>, String> {
    text.lines().map(str::trim).filter(|line| !line.is_empty()).map(|line| one_old(house, labels, line)).collect()
}

fn one_old(house: &WorkedHouse<'_>, labels: &Labels, line: &str) -> Result<Old, String> {
    let wrong = |problem: AddressProblem| format!("\"{line}\": {problem}");
    let address: Option<Address> = if line.contains(':') { Some(line.parse().map_err(wrong)?) } else { None };
    let number = match address {
        Some(address) => address.sizes,
        None => line.parse().map_err(wrong)?,
    };
    let old = |holds: bool, says: String| Ok(Old { text: line.to_owned(), holds, says });
    if address.is_some_and(|address| address.house != house.job.id) {
        return Err(format!("\"{line}\": this label is of another house; look at it there"));
    }
    if let Some(label) = labels.labels.iter().find(|label| label.number == number) {
        let what = if label.is_cut() { "pieces" } else { "bag of fixings" };
        return old(true, format!("Good: the {what} of {}, {}.", label.room, label.name));
    }
    let Some(address) = address else {
        return old(false, "Void: no shade of this house is cut to these sizes now. Throw them away.".to_owned());
    };
    match house.opening(address.opening) {
        None => old(false, "Void: its opening is not in this house any more. Throw them away.".to_owned()),
        Some(one) => {
            let now = labels.labels.iter().find(|label| label.opening == address.opening);
            let name = format!("{}, {}", one.room.name, one.opening.name);
            old(
                false,
                match now {
                    Some(_) => {
                        format!("Void: {name} has other sizes or fixings now. Throw them away and print new ones.")
                    }
                    None => format!("Void: {name} {} now. Throw them away.", one.stand().is_words()),
                },
            )
        }
    }
}

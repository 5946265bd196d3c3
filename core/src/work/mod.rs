//! Everything worked out, for one opening and for a house: what sheets, walk, page and program show.
//!
//! This module decides nothing of its own; it hands each module what the ones before it found.

mod again;
mod arrival;
mod behind;
mod cloths;
mod cut;
mod differ;
mod keep;
mod set;
mod short;

pub use arrival::{Arrival, Arrived, arrival, with_arrived};
pub use cloths::cloth_differs;
pub use cut::{cut_from, cut_in_steps, cut_parts};
pub use differ::{Differs, differs};
pub use keep::{Keep, keep};
pub use set::set_answers;
pub use short::{Short, ShortStep, short};

use crate::apart;
use crate::buying::{self, Buying, MatchAt, Shop};
use crate::care::{self, Caution};
use crate::cloth::{Bolt, at_hand};
use crate::fixing::{self, Fixing};
use crate::flag::{Flag, Severity};
use crate::house::{Cloth, CutFrom, HeadShape, Job, Mount, Opening, Place, Reading, Room};
use crate::length::Length;
use crate::makeup::{self, Makeup, MakeupProblem, Order};
use crate::mount::{self, Catalogue, Edge, Form, Mounting, Mounts, Offer};
use crate::settings::{SettingProblem, Settings, Unlikely};
use crate::stand::{self, Cause, Known, Member, Reason, Set, Stand, Standing};
use crate::truth::{self, Around, Neighbours, OfHouse, Readings, Truth};
use std::collections::BTreeMap;
use uuid::Uuid;

/// One opening, worked out.
#[derive(Debug)]
pub struct Worked<'a> {
    /// Its room.
    pub room: &'a Room,
    /// The opening.
    pub opening: &'a Opening,
    /// What its readings say together.
    pub truth: Truth,
    /// Every way of mounting.
    pub mounts: Mounts,
    /// The shade, mounted as advised (or as chosen); nothing when no mount can be.
    pub shade: Option<Shade>,
    /// What is to be decided of it beside the others of its room; empty unless a room or a house was worked out.
    pub beside: Vec<Flag>,
    /// What would work where the chosen mount cannot be; each was tried.
    pub offers: Vec<Offer>,
    /// Where it stands; what the others of its set add is in it only where a room or a house was worked out.
    pub standing: Standing,
}

impl Worked<'_> {
    /// Every flag of the opening and of the mount and shade that are advised, the gravest first.
    pub fn flags(&self) -> Vec<&Flag> {
        let mut all = flags(&self.truth, &self.mounts, self.shade.as_ref());
        all.extend(&self.beside);
        all.sort_by_key(|flag| std::cmp::Reverse(flag.severity));
        all
    }

    /// The flags that ask something of a person before cloth is cut, and are not answered, the gravest first.
    pub fn stands_open(&self) -> impl Iterator<Item = &Flag> {
        self.flags()
            .into_iter()
            .filter(|flag| flag.severity > Severity::Know && stand::closed_by(self.opening, flag).is_none())
    }

    /// Where it stands on its way to a hung shade.
    pub const fn stand(&self) -> Stand {
        self.standing.stand
    }

    /// The bar across what cuts it: "Do not cut: the middle width is to be read again." Nothing when it is settled.
    pub fn stop_cutting(&self) -> Option<String> {
        self.standing.stop_cutting()
    }

    /// The bar across what hangs it; a wall that was not probed is one.
    pub fn stop_hanging(&self) -> Option<String> {
        self.standing.stop_hanging()
    }
}

fn flags<'a>(truth: &'a Truth, mounts: &'a Mounts, shade: Option<&'a Shade>) -> Vec<&'a Flag> {
    let mount = mounts.advised().into_iter().flat_map(|mounting| &mounting.flags);
    let made = shade.iter().filter_map(|shade| shade.makeup.as_ref().ok()).flat_map(|made| &made.flags);
    let fixed = shade.iter().filter_map(|shade| shade.fixing.as_ref()).flat_map(|fixing| &fixing.flags);
    let mut flags: Vec<&Flag> = truth.flags.iter().chain(mount).chain(made).chain(fixed).collect();
    flags.sort_by_key(|flag| std::cmp::Reverse(flag.severity));
    flags
}

/// A shade on its mount.
#[derive(Debug)]
pub struct Shade {
    /// Which way it is mounted.
    pub form: Form,
    /// How it is made, or why it cannot be.
    pub makeup: Result<Makeup, MakeupProblem>,
    /// How it is fixed; nothing when it cannot be made.
    pub fixing: Option<Fixing>,
    /// What to mind; empty when it cannot be made.
    pub care: Vec<Caution>,
}

/// A house, worked out.
#[derive(Debug)]
pub struct WorkedHouse<'a> {
    /// The house.
    pub job: &'a Job,
    /// Its numbers.
    pub settings: Settings,
    /// Its openings, in the order of the walk.
    pub openings: Vec<Worked<'a>>,
    /// The shades that hang together, room by room; the members are places in `openings`.
    pub sets: Vec<Set>,
}

impl WorkedHouse<'_> {
    /// The opening of this id.
    pub fn opening(&self, id: Uuid) -> Option<&Worked<'_>> {
        self.openings.iter().find(|worked| worked.opening.id == id)
    }

    /// The questions of its sets that are not answered, one for each set, with the sets.
    pub fn questions(&self) -> impl Iterator<Item = (&Set, &Flag)> {
        self.sets.iter().filter_map(|set| Some((set, set.question.as_ref()?))).filter(|(set, question)| {
            !set.members.iter().all(|at| stand::closed_by(self.openings[*at].opening, question).is_some())
        })
    }

    /// Settings that are written beyond their limits, so that their defaults are used.
    pub fn set_aside(&self) -> Vec<Flag> {
        let to_do = "Put it right in the settings, or take it back to its default.";
        let flag = |aside: Unlikely| Flag::new("setting_beyond", Severity::Decide, &[], aside.says, to_do);
        let own = self.job.settings.beyond(self.job.unit);
        // The workroom's that this house sets anew do not matter here.
        let names: Vec<&str> = self.job.settings.names().collect();
        let below = self.job.workroom.settings.beyond(self.job.unit);
        own.into_iter().chain(below.into_iter().filter(|aside| !names.contains(&aside.name))).map(flag).collect()
    }

    /// What two devices set apart for the house itself or for its rooms; openings have theirs among their flags.
    pub fn apart(&self) -> Vec<Flag> {
        apart::of_house(self.job).into_iter().map(|(_, flag)| flag).collect()
    }

    /// True where every shade that is settled is cut.
    pub fn is_cut(&self) -> bool {
        self.openings.iter().filter(|one| one.standing.is_settled()).all(is_cut)
    }

    /// Adds to each opening what is known only of the house: what hangs together, and what two devices set apart.
    fn stand_together(&mut self) {
        // What is cut by a default that somebody meant to change is cut wrongly.
        for flag in self.set_aside() {
            for one in &mut self.openings {
                one.standing.add(Reason {
                    cause: Cause::Question,
                    stand: Stand::Decide,
                    flag: flag.code.clone(),
                    places: Vec::new(),
                    brief: "a setting is beyond its limits".to_owned(),
                    says: flag.says.clone(),
                    to_do: flag.to_do.clone(),
                });
            }
        }
        for at in 0..self.openings.len() {
            for flag in apart::that_concern(self.job, self.openings[at].opening) {
                self.openings[at].standing.add(Reason {
                    cause: Cause::Question,
                    stand: Stand::Decide,
                    flag: flag.code,
                    places: Vec::new(),
                    brief: "two devices set the house apart".to_owned(),
                    says: flag.says,
                    to_do: flag.to_do,
                });
            }
        }
        for at in 0..self.openings.len() {
            let one = &self.openings[at];
            let asked = [self.pattern_by_hand(one), cut::cut_otherwise(self.job, one)];
            for flag in asked.into_iter().flatten() {
                let one = &mut self.openings[at];
                if let Some(reason) = stand::of_flag(one.opening, &flag) {
                    one.standing.add(reason);
                }
                one.beside.push(flag);
            }
        }
        let open: Vec<(Vec<usize>, Flag)> =
            self.questions().map(|(set, question)| (set.members.clone(), question.clone())).collect();
        for (members, question) in &open {
            for at in members {
                self.openings[*at].standing.add(Reason {
                    cause: Cause::Question,
                    stand: Stand::Decide,
                    flag: question.code.clone(),
                    places: Vec::new(),
                    brief: "the set that it hangs in is not decided".to_owned(),
                    says: question.says.clone(),
                    to_do: question.to_do.clone(),
                });
            }
        }
        // Who was left as they are hang each alone; all others stand where the worst of them does.
        let apart: Vec<&Set> = self.sets.iter().filter(|set| self.hang_together(set)).collect();
        let mut waits: Vec<(usize, Reason)> = Vec::new();
        for set in apart {
            let Some(worst) = set.members.iter().copied().min_by_key(|at| self.openings[*at].standing.stand) else {
                continue;
            };
            let (name, stand) = (&self.openings[worst].opening.name, self.openings[worst].standing.stand);
            for at in set.members.iter().filter(|at| self.openings[**at].standing.stand > stand) {
                waits.push((
                    *at,
                    Reason {
                        cause: Cause::Set,
                        stand,
                        flag: String::new(),
                        places: Vec::new(),
                        brief: format!("it hangs together with {name}, which {}", stand.is_words()),
                        says: format!("It hangs together with {name}, which {}.", stand.is_words()),
                        to_do: format!("Settle {name} first."),
                    },
                ));
            }
        }
        for (at, reason) in waits {
            self.openings[at].standing.add(reason);
        }
    }

    /// A length that was set by hand moves the pattern against the others of its cloth in the room, unless either the feet
    /// or the heads still agree to whole repeats.
    fn pattern_by_hand(&self, one: &Worked<'_>) -> Option<Flag> {
        let unit = self.job.unit;
        let cloth = self.job.cloth(one.opening.choices.cloth.as_deref()?)?;
        let repeat = cloth.repeat.as_ref()?.value();
        let length = |one: &Worked<'_>| one.mounts.advised().map(|mounting| mounting.length.total);
        let moved = |one: &Worked<'_>| {
            let mounting = one.mounts.advised()?;
            let worked = mounting.length_worked.as_ref().map_or(mounting.length.total, |worked| worked.total);
            Some(mounting.length.total - worked)
        };
        one.mounts.advised()?.length_worked.as_ref()?;
        let whole = |apart: Length| apart.abs().count_down(repeat).is_none_or(|n| repeat * n == apart.abs());
        let mates = self.openings.iter().filter(|other| {
            other.room.id == one.room.id
                && other.opening.id != one.opening.id
                && other.opening.choices.cloth == one.opening.choices.cloth
        });
        for other in mates {
            let (Some(foot), Some(head)) =
                (moved(one).zip(moved(other)).map(|(a, b)| a - b), length(one).zip(length(other)).map(|(a, b)| a - b))
            else {
                continue;
            };
            if !whole(foot) && !whole(head) {
                return Some(Flag::new(
                    "by_hand_pattern",
                    Severity::Decide,
                    &[],
                    format!(
                        "The length set by hand moves its pattern (repeat {}) by {} against {}.",
                        repeat.show_marked(unit),
                        foot.abs().show_marked(unit),
                        other.opening.name
                    ),
                    "Set it to whole repeats or to the same length, or say that it is meant so.",
                ));
            }
        }
        None
    }

    /// True where the shades of a set wait for each other: of one length, unless a person left them as they are.
    fn hang_together(&self, set: &Set) -> bool {
        set.question.as_ref().is_none_or(|question| {
            question.code == "set_differs"
                && !set.members.iter().all(|at| stand::closed_by(self.openings[*at].opening, question).is_some())
        })
    }
}

/// Judges an opening of a house: its readings, what the other openings say of it, and what two devices set apart there.
pub fn judge(job: &Job, opening: &Opening, settings: &Settings) -> Truth {
    let readings = Readings::of(opening, &job.instruments, job.unit);
    let mut around = Around::of(opening);
    if !around.alone {
        let room_of = |id: Uuid| job.openings().find(|(_, one)| one.id == id).map(|(room, _)| room.name.as_str());
        let others: Vec<(Readings, &str)> = job
            .openings()
            .filter(|(_, other)| other.in_the_wall() != opening.in_the_wall() && job.is_first_in_the_wall(other))
            .map(|(room, other)| (Readings::of(other, &job.instruments, job.unit), room.name.as_str()))
            .collect();
        let others = others.iter().map(|(readings, room)| (readings, Some(*room)));
        around.neighbours = Neighbours::of(&readings, room_of(opening.id), others, settings);
    }
    beside_apart(job, opening, truth::judge_around(&readings, &around, settings))
}

/// As [`judge`], for every opening of a house.
fn judge_all(job: &Job, settings: &Settings) -> Vec<Truth> {
    let all: Vec<(Readings, Around, &str)> = job
        .openings()
        .filter(|(_, one)| job.is_first_in_the_wall(one))
        .map(|(room, one)| (Readings::of(one, &job.instruments, job.unit), Around::of(one), room.name.as_str()))
        .collect();
    let openings: Vec<OfHouse<'_>> = all
        .iter()
        .map(|(readings, around, room)| OfHouse { readings, around: *around, room: Some(room), settings })
        .collect();
    let mut truths = truth::judge_house(&openings).into_iter();
    let judged = job.openings().map(|(_, one)| {
        let first = if job.is_first_in_the_wall(one) { truths.next() } else { None };
        first.map_or_else(|| judge(job, one, settings), |truth| beside_apart(job, one, truth))
    });
    judged.collect()
}

fn beside_apart(job: &Job, opening: &Opening, mut truth: Truth) -> Truth {
    let mut beside = apart::of_opening(job, opening);
    beside.extend(again::to_confirm(opening));
    if !beside.is_empty() {
        truth.flags.extend(beside);
        truth.flags.sort_by_key(|flag| std::cmp::Reverse(flag.severity));
    }
    truth
}

/// Works out one opening of a house.
pub fn opening<'a>(
    job: &Job,
    room: &'a Room,
    opening: &'a Opening,
    settings: &Settings,
    catalogue: &Catalogue,
) -> Worked<'a> {
    opening_judged(job, room, opening, judge(job, opening, settings), settings, catalogue)
}

fn opening_judged<'a>(
    job: &Job,
    room: &'a Room,
    opening: &'a Opening,
    truth: Truth,
    settings: &Settings,
    catalogue: &Catalogue,
) -> Worked<'a> {
    let catalogue = catalogue.with(&job.workroom.hardware);
    let catalogue = &*catalogue.with(&job.hardware);
    let behind = behind::before(job, opening, settings, catalogue);
    let mounts = mount::work_before(opening, behind, &truth, settings, catalogue, job.unit);
    let shade = mounts.advised().map(|mounting| shade(job, opening, &truth, mounting, settings, catalogue));
    let standing = stand::of(&Known {
        opening,
        flags: flags(&truth, &mounts, shade.as_ref()),
        mounts: &mounts,
        makeup: shade.as_ref().map(|shade| shade.makeup.as_ref()),
        fixing: shade.as_ref().and_then(|shade| shade.fixing.as_ref()),
        catalogue,
        unit: job.unit,
    });
    let offers = mount::offers(opening, behind, &truth, &mounts, settings, catalogue, job.unit);
    Worked { room, opening, truth, mounts, shade, beside: Vec::new(), offers, standing }
}

/// Works out a whole house.
///
/// # Errors
/// [`SettingProblem`] when the house changes a number that is none.
pub fn house<'a>(job: &'a Job, catalogue: &Catalogue) -> Result<WorkedHouse<'a>, SettingProblem> {
    let settings = job.settings()?;
    Ok(work_out(job, settings, None, catalogue))
}

/// Works out the room of an opening: what the opening's screen and sheets need, with what hangs together there.
pub fn room<'a>(job: &'a Job, of: Uuid, settings: &Settings, catalogue: &Catalogue) -> WorkedHouse<'a> {
    let room = job.openings().find(|(_, one)| one.id == of).map(|(room, _)| room.id);
    work_out(job, settings.clone(), Some(room.unwrap_or_default()), catalogue)
}

/// Works out a house whose numbers are known to fit.
pub fn house_with<'a>(job: &'a Job, settings: &Settings, catalogue: &Catalogue) -> WorkedHouse<'a> {
    work_out(job, settings.clone(), None, catalogue)
}

fn work_out<'a>(job: &'a Job, settings: Settings, only: Option<Uuid>, catalogue: &Catalogue) -> WorkedHouse<'a> {
    let openings: Vec<Worked<'a>> = match only {
        Some(only) => job
            .openings()
            .filter(|(room, _)| room.id == only)
            .map(|(room, one)| opening(job, room, one, &settings, catalogue))
            .collect(),
        None => job
            .openings()
            .zip(judge_all(job, &settings))
            .map(|((room, one), truth)| opening_judged(job, room, one, truth, &settings, catalogue))
            .collect(),
    };
    let mut sets = Vec::new();
    for room in &job.rooms {
        let at: Vec<usize> = (0..openings.len()).filter(|at| openings[*at].room.id == room.id).collect();
        let members: Vec<(usize, Member)> =
            at.into_iter().filter_map(|at| Some((at, member(&openings[at])?))).collect();
        let room: Vec<Member> = members.iter().map(|(_, member)| member.clone()).collect();
        for mut set in stand::sets(&room, &settings, job.unit) {
            set.members.iter_mut().for_each(|member| *member = members[*member].0);
            sets.push(set);
        }
    }
    let mut house = WorkedHouse { job, settings, openings, sets };
    house.stand_together();
    house
}

/// What is compared of an opening with the others of its room; where its mount cannot be, by the first that can.
fn member(worked: &Worked<'_>) -> Option<Member> {
    let mounting = worked.mounts.advised().or_else(|| worked.mounts.can.first())?;
    let inside = mounting.form == Form::Inside;
    let floor = worked.opening.standing(Place::SillToFloor).last().filter(|_| !inside);
    Some(Member {
        opening: worked.opening.id,
        name: worked.opening.name.clone(),
        inside,
        length: mounting.length.total,
        head: floor.map(|floor| floor.value() + mounting.above_sill),
    })
}

/// What is cut and bought of a house: only what is settled is cut.
#[derive(Debug)]
pub struct Plans {
    /// The settled shades alone: what the cutting sheets plan, and the least to buy.
    pub cut: Buying,
    /// With the unsettled room-mates in the same cloth, because two lots never meet in a room; nothing when there are none.
    pub with_mates: Option<Buying>,
    /// Those room-mates, by name.
    pub mates: Vec<String>,
    /// Every opening that is not cut yet, by name, and where it stands.
    pub left_out: Vec<(String, Stand)>,
    /// Every shade that is cut and is not planned again, by name.
    pub cut_already: Vec<String>,
}

impl Plans {
    /// True where some of what is settled is cut and some is not.
    pub fn is_begun(&self) -> bool {
        !self.cut_already.is_empty()
    }

    /// What is bought by default: with the room-mates where there are any.
    pub fn buy(&self) -> &Buying {
        self.with_mates.as_ref().unwrap_or(&self.cut)
    }
}

/// Plans what is settled, and once more with its unsettled room-mates in the same cloth, so that it is seen what they add.
///
/// `shop` says how things are sold and what is on hand ([`Shop::standard`] unless the workroom has its own).
pub fn plans(house: &WorkedHouse<'_>, shop: &Shop) -> Plans {
    let name = |one: &Worked<'_>| format!("{}, {}", one.room.name, one.opening.name);
    // What is cut is not cut again beside what is not; a house that is cut whole prints its plan as it was.
    let all_cut = house.is_cut();
    let settled = |one: &Worked<'_>| one.standing.is_settled() && (all_cut || !is_cut(one));
    let made = |one: &Worked<'_>| one.shade.as_ref().is_some_and(|shade| shade.makeup.is_ok());
    let mate = |one: &Worked<'_>| {
        let cloth = one.opening.choices.cloth.as_deref();
        !settled(one)
            && !is_cut(one)
            && made(one)
            && cloth.is_some()
            && house.openings.iter().any(|other| {
                settled(other) && other.room.id == one.room.id && other.opening.choices.cloth.as_deref() == cloth
            })
    };
    let mates: Vec<String> = house.openings.iter().filter(|one| mate(one)).map(name).collect();
    let already = if all_cut { Already::default() } else { Already::of(house.job) };
    Plans {
        cut: buying_of(house, shop, &already, settled),
        with_mates: (!mates.is_empty()).then(|| buying_of(house, shop, &already, |one| settled(one) || mate(one))),
        mates,
        left_out: house
            .openings
            .iter()
            .filter(|one| !one.standing.is_settled())
            .map(|one| (name(one), one.stand()))
            .collect(),
        cut_already: house.openings.iter().filter(|one| !all_cut && is_cut(one)).map(name).collect(),
    }
}

/// What a house would need if every shade of it that can be made up were settled: an estimate, never cut from.
pub fn buying(house: &WorkedHouse<'_>, shop: &Shop) -> Buying {
    buying_of(house, shop, &Already::default(), |_| true)
}

/// What a house needs still if every shade of it that is not cut and can be made up were settled: an estimate, never cut from.
pub fn still_to_buy(house: &WorkedHouse<'_>, shop: &Shop) -> Buying {
    if house.is_cut() {
        return buying(house, shop);
    }
    buying_of(house, shop, &Already::of(house.job), |one| !is_cut(one))
}

fn is_cut(one: &Worked<'_>) -> bool {
    one.opening.progress.cut.is_some()
}

/// What is cut of a house before what is planned: what it took of the shelf, and its lots.
#[derive(Default)]
struct Already<'a> {
    taken: Vec<CutFrom>,
    lots: BTreeMap<(Uuid, &'a str), String>,
}

impl<'a> Already<'a> {
    fn of(job: &'a Job) -> Self {
        Self { taken: cut::taken(job), lots: cut::cut_lots(job) }
    }
}

fn buying_of(
    house: &WorkedHouse<'_>,
    shop: &Shop,
    already: &Already<'_>,
    which: impl Fn(&Worked<'_>) -> bool,
) -> Buying {
    // Shades alike are as many shades, each with its own name, so that every list multiplies by itself.
    let names: Vec<(usize, String)> = house
        .openings
        .iter()
        .enumerate()
        .flat_map(|(at, one)| {
            let name = format!("{}, {}", one.room.name, one.opening.name);
            let count = one.opening.choices.count.get();
            (1..=count).map(move |n| (at, if count == 1 { name.clone() } else { format!("{name}, {n} of {count}") }))
        })
        .collect();
    let shades: Vec<buying::Shade<'_>> = names
        .iter()
        .filter_map(|(at, name)| {
            let one = Some(&house.openings[*at]).filter(|one| which(one))?;
            let cloth = one.opening.choices.cloth.as_deref().unwrap_or_default();
            let lot = already.lots.get(&(one.room.id, cloth)).map(String::as_str);
            Some(buying::Shade { lot, ..to_buy(house, one, name)? })
        })
        .collect();
    let shelf =
        |cloth: &Cloth, bolt: &Bolt| at_hand(&house.job.workroom.shelf, house.job.id, &already.taken, cloth, bolt);
    buying::buy_from(&shades, MatchAt::default(), &house.settings, shop, house.job.unit, &shelf)
}

/// A shade as it is bought for, under a name; nothing where it has no size or cannot be made.
pub(crate) fn to_buy<'a>(house: &'a WorkedHouse<'_>, one: &'a Worked<'_>, name: &'a str) -> Option<buying::Shade<'a>> {
    let mounting = one.mounts.advised()?;
    let shade = one.shade.as_ref()?;
    Some(buying::Shade {
        opening: one.opening.id,
        name,
        room: one.room.id,
        makeup: shade.makeup.as_ref().ok()?,
        choices: &one.opening.choices,
        cloth: one.opening.choices.cloth.as_deref().and_then(|cloth| house.job.cloth(cloth)),
        board: mounting.board.size,
        bracket: mounting.bracket.as_ref().map(|bracket| bracket.name.as_str()),
        fixing: shade.fixing.as_ref(),
        lot: None,
    })
}

fn shade(
    job: &Job,
    opening: &Opening,
    truth: &Truth,
    mounting: &Mounting,
    settings: &Settings,
    catalogue: &Catalogue,
) -> Shade {
    let form = mounting.form;
    let (board_depth, board_height) = if form.is_on_face() {
        (mounting.board.thickness, mounting.board.width)
    } else {
        (mounting.board.width, mounting.board.thickness)
    };
    let (above_opening, head_known) = above_opening(opening, truth, mounting);
    let order = Order {
        unit: job.unit,
        width: mounting.width.total,
        length: mounting.length.total,
        mount: if form == Form::Inside { Mount::Inside } else { Mount::Outside },
        board_depth,
        board_height,
        above_opening,
        head_known,
        choices: &opening.choices,
        cloth: opening.choices.cloth.as_deref().and_then(|name| job.cloth(name)),
        settings,
    };
    let makeup = makeup::make(&order);
    let mut makeup = makeup;
    if let Ok(made) = &mut makeup {
        made.flags.extend(behind::flags(opening, mounting, made, settings, job.unit));
    }
    let fixing = makeup
        .as_ref()
        .ok()
        .map(|made| fixing::of_makeup(mounting, &opening.wall, &opening.choices, made, settings, catalogue, job.unit));
    let care = makeup.as_ref().map_or_else(
        |_| Vec::new(),
        |made| {
            let of = care::Shade::of(job.region, job.built, opening.choices.lift, &opening.wall, made);
            care::for_shade(&of, settings, job.unit)
        },
    );
    Shade { form, makeup, fixing, care }
}

/// How far the top of the board stands above the head of the opening, and true; where it is not known how far the head
/// is below the top of the trim, how far it stands above that, and false.
fn above_opening(opening: &Opening, truth: &Truth, mounting: &Mounting) -> (Length, bool) {
    let above = mounting.adds_above + mounting.above_trim;
    match (mounting.form, mounting.edge) {
        (Form::Inside, _) => (Length::ZERO, true),
        (_, Edge::Opening | Edge::Face) => (above, true),
        (_, Edge::Trim) => {
            let crown = match opening.wall.head_shape {
                // The glass goes on above where the arch begins.
                HeadShape::Arched => opening.standing(Place::HeadRise).next().map(Reading::value),
                HeadShape::Level | HeadShape::Sloped => Some(Length::ZERO),
            };
            let over_trim = opening.standing(Place::TrimHeight).next().map(Reading::value);
            match (over_trim, truth.smallest_height, crown) {
                (Some(over_trim), Some(height), Some(crown)) => (above + over_trim - height - crown, true),
                _ => (above, false),
            }
        }
    }
}

//! Everything worked out, for one opening and for a house: what sheets, walk, page and program show.
//!
//! This module decides nothing of its own; it hands each module what the ones before it found.

use crate::apart;
use crate::buying::{self, Buying, MatchAt, Shop};
use crate::care::{self, Caution};
use crate::fixing::{self, Fixing};
use crate::flag::{Flag, Severity};
use crate::house::{Job, Mount, Opening, Place, Room};
use crate::length::Length;
use crate::makeup::{self, Makeup, MakeupProblem, Order};
use crate::mount::{self, Alike, Catalogue, Form, Mounting, Mounts};
use crate::settings::{SettingProblem, Settings};
use crate::truth::{self, Truth};

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
}

impl Worked<'_> {
    /// Every flag of the opening and of the mount and shade that are advised, the gravest first.
    pub fn flags(&self) -> Vec<&Flag> {
        let mount = self.mounts.advised().into_iter().flat_map(|mounting| &mounting.flags);
        let made = self.shade.iter().filter_map(|shade| shade.makeup.as_ref().ok()).flat_map(|made| &made.flags);
        let fixed = self.shade.iter().filter_map(|shade| shade.fixing.as_ref()).flat_map(|fixing| &fixing.flags);
        let mut flags: Vec<&Flag> = self.truth.flags.iter().chain(mount).chain(made).chain(fixed).collect();
        flags.sort_by_key(|flag| std::cmp::Reverse(flag.severity));
        flags
    }

    /// The flags that ask something of a person before cloth is cut, the gravest first.
    pub fn stands_open(&self) -> impl Iterator<Item = &Flag> {
        self.flags().into_iter().filter(|flag| flag.severity > Severity::Know)
    }
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
}

impl WorkedHouse<'_> {
    /// What two devices set apart for the house itself or for its rooms; openings have theirs among their flags.
    pub fn apart(&self) -> Vec<Flag> {
        apart::of_house(self.job).into_iter().map(|(_, flag)| flag).collect()
    }

    /// Shades of one room that nearly agree in length or in height, room by room: a maker may want them equal.
    pub fn pairs(&self) -> Vec<(&Room, Vec<Flag>)> {
        let unit = self.job.unit;
        let alike = |room: &Room| -> Vec<Alike> {
            self.openings
                .iter()
                .filter(|worked| worked.room.id == room.id)
                .filter_map(|worked| {
                    let mounting = worked.mounts.advised()?;
                    let floor = worked.opening.standing(Place::SillToFloor).last();
                    Some(Alike {
                        name: worked.opening.name.clone(),
                        form: mounting.form,
                        length: mounting.length.total,
                        head: floor.map(|floor| floor.value() + mounting.above_sill),
                    })
                })
                .collect()
        };
        let rooms = self.job.rooms.iter().map(|room| (room, mount::alike(&alike(room), &self.settings, unit)));
        rooms.filter(|(_, flags)| !flags.is_empty()).collect()
    }
}

/// Judges an opening of a house: its readings, and what two devices set apart there.
pub fn judge(job: &Job, opening: &Opening, settings: &Settings) -> Truth {
    let mut truth = truth::judge(opening, &job.instruments, settings, job.unit);
    let apart = apart::of_opening(job, opening);
    if !apart.is_empty() {
        truth.flags.extend(apart);
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
    let truth = judge(job, opening, settings);
    let mounts = mount::work(opening, &truth, settings, catalogue, job.unit);
    let shade = mounts.advised().map(|mounting| shade(job, opening, &truth, mounting, settings, catalogue));
    Worked { room, opening, truth, mounts, shade }
}

/// Works out a whole house.
///
/// # Errors
/// [`SettingProblem`] when the house changes a number that is none.
pub fn house<'a>(job: &'a Job, catalogue: &Catalogue) -> Result<WorkedHouse<'a>, SettingProblem> {
    let settings = job.settings()?;
    let openings = job.openings().map(|(room, one)| opening(job, room, one, &settings, catalogue)).collect();
    Ok(WorkedHouse { job, settings, openings })
}

/// What a house needs from the shops, with the plan of every cloth and stick: for every shade that can be made up.
///
/// `shop` says how things are sold and what is on hand ([`Shop::standard`] unless the workroom has its own).
pub fn buying(house: &WorkedHouse<'_>, shop: &Shop) -> Buying {
    let names: Vec<String> =
        house.openings.iter().map(|one| format!("{}, {}", one.room.name, one.opening.name)).collect();
    let shades: Vec<buying::Shade<'_>> = house
        .openings
        .iter()
        .zip(&names)
        .filter_map(|(one, name)| {
            let mounting = one.mounts.advised()?;
            let shade = one.shade.as_ref()?;
            Some(buying::Shade {
                name,
                makeup: shade.makeup.as_ref().ok()?,
                choices: &one.opening.choices,
                cloth: one.opening.choices.cloth.as_deref().and_then(|cloth| house.job.cloth(cloth)),
                board: mounting.board.size,
                bracket: mounting.bracket.as_ref().map(|bracket| bracket.name.as_str()),
                fixing: shade.fixing.as_ref(),
            })
        })
        .collect();
    buying::buy(&shades, MatchAt::default(), &house.settings, shop, house.job.unit)
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
    let (board_depth, board_height) = if form == Form::OutsideFlush {
        (mounting.board.thickness, mounting.board.width)
    } else {
        (mounting.board.width, mounting.board.thickness)
    };
    let order = Order {
        unit: job.unit,
        width: mounting.width.total,
        length: mounting.length.total,
        mount: if form == Form::Inside { Mount::Inside } else { Mount::Outside },
        board_depth,
        board_height,
        above_opening: above_opening(opening, truth, mounting),
        choices: &opening.choices,
        cloth: opening.choices.cloth.as_deref().and_then(|name| job.cloth(name)),
        settings,
    };
    let makeup = makeup::make(&order);
    let fixing = makeup
        .as_ref()
        .ok()
        .map(|made| fixing::of_makeup(mounting, &opening.wall, &opening.choices, made, settings, catalogue, job.unit));
    let care = makeup.as_ref().map_or_else(
        |_| Vec::new(),
        |made| {
            let of = care::Shade::of(job.region, job.built, opening.choices.lift, made);
            care::for_shade(&of, settings, job.unit)
        },
    );
    Shade { form, makeup, fixing, care }
}

/// How far the top of the board stands above the head of the opening.
fn above_opening(opening: &Opening, truth: &Truth, mounting: &Mounting) -> Length {
    if mounting.form == Form::Inside {
        return Length::ZERO;
    }
    let head_trim = opening
        .standing(Place::TrimHeight)
        .next()
        .zip(truth.smallest_height)
        .map_or(Length::ZERO, |(over_trim, height)| over_trim.value() - height);
    mounting.adds_above + mounting.above_trim + head_trim
}

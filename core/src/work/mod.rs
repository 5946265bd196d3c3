//! Everything worked out, for one opening and for a house: what sheets, walk, page and program show.
//!
//! This module decides nothing of its own; it hands each module what the ones before it found.

use crate::fixing::{self, Bar, Fixing, Hung};
use crate::flag::{Flag, Severity};
use crate::house::{BoardSize, ControlSide, Job, Lift, Mount, Opening, Place, Room};
use crate::length::Length;
use crate::makeup::{self, GRAMS_PER_POUND, Makeup, MakeupProblem, Order, StickUse};
use crate::mount::{self, Catalogue, Form, Mounting, Mounts};
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

/// Works out one opening of a house.
pub fn opening<'a>(
    job: &Job,
    room: &'a Room,
    opening: &'a Opening,
    settings: &Settings,
    catalogue: &Catalogue,
) -> Worked<'a> {
    let truth = truth::judge(opening, &job.instruments, settings, job.unit);
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
    let fixing = makeup.as_ref().ok().map(|made| {
        let eyes: Vec<Length> = made.grid.columns.iter().map(|column| column.on_board.exact).collect();
        let bar = bar(made, settings);
        let hung = Hung {
            mounting,
            wall: &opening.wall,
            eyes: &eyes,
            control_at: control_at(opening, &eyes),
            weight_lbf: made.weight.total / GRAMS_PER_POUND,
            bar: bar.as_ref(),
        };
        fixing::work(&hung, settings, catalogue, job.unit)
    });
    Shade { form, makeup, fixing }
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

/// Where the control pulls: at the outer screw eye of its side; nowhere when nothing is pulled.
fn control_at(opening: &Opening, eyes: &[Length]) -> Option<Length> {
    match opening.choices.lift {
        Lift::NoReachableCord | Lift::Motor => None,
        Lift::CordLock | Lift::ChainLoop => match opening.choices.control {
            ControlSide::Left => eyes.first().copied(),
            ControlSide::Right => eyes.last().copied(),
        },
    }
}

fn bar(made: &Makeup, settings: &Settings) -> Option<Bar> {
    let stick = made.stick(StickUse::Bar)?;
    let side = (made.width - stick.length).split(2, 1);
    let grams: f64 =
        made.weight.parts.iter().filter(|part| part.part == StickUse::Bar.words()).map(|part| part.grams).sum();
    #[allow(clippy::cast_precision_loss, reason = "thousands of psi are a small number")]
    let elasticity_mpsi = settings.bar_elasticity_kpsi as f64 / 1000.0;
    Some(Bar {
        length: stick.length,
        supports: made.grid.columns.iter().map(|column| column.from_left.exact - side).collect(),
        height: settings.bar_height,
        thickness: settings.bar_thickness,
        elasticity_mpsi,
        lbf: grams / GRAMS_PER_POUND,
    })
}

/// The board a mounting takes, by its trade size.
pub fn board_words(size: BoardSize) -> &'static str {
    match size {
        BoardSize::OneByTwo => "1x2",
        BoardSize::OneByThree => "1x3",
        BoardSize::OneByFour => "1x4",
        BoardSize::TwoByTwo => "2x2",
        BoardSize::TwoByThree => "2x3",
        BoardSize::TwoByFour => "2x4",
    }
}

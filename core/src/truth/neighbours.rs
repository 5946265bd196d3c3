//! What the other openings of a house say of one: how its openings stand, and whether windows were made to one size.
//!
//! A judgement by itself takes openings as they come anywhere. In one house they are no strangers: one frame has settled
//! like its neighbour, and windows come in made sizes. [`judge_house`] judges each opening alone first, and then again
//! with what the others said; nothing is taken from an opening into the judgement of itself.

use super::infer;
use super::likeness::{self, Alike, Mixture};
use super::{Readings, Truth, judge_around};
use crate::house::{Choices, Mount, Opening, Wall};
use crate::settings::Settings;
use std::cell::RefCell;
use std::collections::VecDeque;

/// What is known around an opening's readings.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Around {
    /// An outside mount was chosen: the clear width does not matter.
    pub outside: bool,
    /// There is no trim: the jambs are plaster, which bulges where it is not read.
    pub plaster: bool,
    /// It is judged by its own readings alone: because it is made as another of the house, whose readings it has and which would
    /// bear it out by its own; or because a person decided something of it: a decision rests on what was
    /// read there, and is not opened again by a neighbour's reading.
    pub alone: bool,
    /// What the other openings of the house say.
    pub neighbours: Option<Neighbours>,
}

impl Around {
    /// What an opening's choices say; nothing of its neighbours.
    pub fn of(opening: &Opening) -> Self {
        Self {
            alone: !opening.decisions.is_empty() || opening.again.is_some(),
            ..Self::of_choices(&opening.choices, &opening.wall)
        }
    }

    /// As [`Self::of`].
    pub fn of_choices(choices: &Choices, wall: &Wall) -> Self {
        Self { outside: choices.mount == Some(Mount::Outside), plaster: wall.no_trim, alone: false, neighbours: None }
    }

    pub(super) fn mixture(&self, settings: &Settings) -> Mixture {
        match self.neighbours.as_ref().filter(|_| !self.alone) {
            Some(neighbours) => likeness::mixture(&neighbours.shares, neighbours.alike.as_ref(), settings),
            None => likeness::mixture(&likeness::shares(settings), None, settings),
        }
    }
}

/// What the other openings of a house say of one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Neighbours {
    /// The parts of each kind among openings here.
    shares: [f64; 4],
    /// The size that windows next to it share.
    alike: Option<Alike>,
}

/// What one opening says of others: its size in millimetres, and how likely it is of each kind.
#[derive(Clone, Copy)]
struct Says {
    size: Option<[f64; 2]>,
    kinds: [f64; 4],
}

impl Says {
    /// An order of what is said, whoever said it.
    fn order(&self, other: &Self) -> std::cmp::Ordering {
        let all = |says: &Self| says.kinds.into_iter().chain(says.size.into_iter().flatten()).collect::<Vec<_>>();
        all(self)
            .iter()
            .zip(&all(other))
            .map(|(a, b)| a.total_cmp(b))
            .find(|order| order.is_ne())
            .unwrap_or_else(|| self.size.is_some().cmp(&other.size.is_some()))
    }
}

/// How many openings it takes to outweigh what is usual anywhere. Set by simulation.
const USUAL_WEIGHS: f64 = 1.0;
/// However many windows are alike, the next one may be another: at most this sure. Set by simulation, so that a window
/// that is really different is seldom questioned.
const MOST_ALIKE: f64 = 0.6;
/// Windows whose width and height are within this look as if they were made to one size (3/16 in, three times
/// `made_alike_spread`). One that is farther off is another window, and its neighbours say nothing of its size.
const LOOKS_ALIKE_MM: f64 = 4.76;

/// An opening of a house, to be judged together with the others.
#[derive(Clone, Copy, Debug)]
pub struct OfHouse<'a> {
    /// Its readings.
    pub readings: &'a Readings,
    /// How its shade is mounted; its neighbours are found.
    pub around: Around,
    /// Its room's name, if it has one.
    pub room: Option<&'a str>,
    /// The numbers it is judged by.
    pub settings: &'a Settings,
}

/// Judges the openings of one house together. The answers come in the order of the openings, and that order changes
/// nothing in them.
pub fn judge_house(openings: &[OfHouse<'_>]) -> Vec<Truth> {
    let says: Vec<Option<Says>> = openings.iter().map(|one| says(one.readings, one.settings)).collect();
    let judge = |(at, one): (usize, &OfHouse<'_>)| {
        let others = says.iter().zip(openings).enumerate().filter(|(n, _)| *n != at);
        let others = others.filter_map(|(_, (said, other))| {
            said.as_ref().map(|said| (said, one.room.is_some() && one.room == other.room))
        });
        let neighbours = neighbours(says[at].as_ref(), others, one.settings);
        judge_around(one.readings, &Around { neighbours, ..one.around }, one.settings)
    };
    openings.iter().enumerate().map(judge).collect()
}

impl Neighbours {
    /// What `others` say of the opening that `readings` are of; the same as in [`judge_house`].
    pub fn of<'a>(
        readings: &Readings,
        room: Option<&str>,
        others: impl Iterator<Item = (&'a Readings, Option<&'a str>)>,
        settings: &Settings,
    ) -> Option<Self> {
        let said: Vec<(Says, bool)> =
            others.filter_map(|(other, its)| Some((says(other, settings)?, room.is_some() && room == its))).collect();
        neighbours(says(readings, settings).as_ref(), said.iter().map(|(said, same)| (said, *same)), settings)
    }
}

thread_local! {
    /// What was worked out last, the oldest first: while one opening is read the others of its house say the same at every
    /// touch of a key.
    static SAID: RefCell<VecDeque<(Readings, Settings, Option<Says>)>> = const { RefCell::new(VecDeque::new()) };
}

/// As many openings as are remembered: those of a large house.
const REMEMBERED: usize = 128;

fn says(readings: &Readings, settings: &Settings) -> Option<Says> {
    SAID.with_borrow_mut(|all| {
        if let Some((.., says)) = all.iter().find(|(of, by, _)| of == readings && by == settings) {
            return *says;
        }
        let says = work_out(readings, settings);
        if all.len() == REMEMBERED {
            all.pop_front();
        }
        all.push_back((readings.clone(), settings.clone(), says));
        says
    })
}

fn work_out(readings: &Readings, settings: &Settings) -> Option<Says> {
    let reads = readings.reads(settings);
    let mixture = likeness::mixture(&likeness::shares(settings), None, settings);
    let told = reads.iter().any(|r| r.sight.place.is_width()) && reads.iter().any(|r| r.sight.place.is_height());
    // Most openings fit a usual kind as they are, and need no weighing of slips to say so.
    if let Some((size, kinds)) = infer::plain(&reads, &mixture) {
        return Some(Says { size: told.then_some(size), kinds });
    }
    let posterior = infer::weigh(&reads, readings.in_inches(), &mixture, settings)?;
    Some(Says { size: told.then(|| posterior.size()), kinds: posterior.of_kinds() })
}

fn neighbours<'a>(
    own: Option<&Says>,
    others: impl Iterator<Item = (&'a Says, bool)>,
    settings: &Settings,
) -> Option<Neighbours> {
    let usual = likeness::shares(settings);
    let mut kinds = usual.map(|share| share * USUAL_WEIGHS);
    let mut count = 0.0;
    // Windows of the same size: in the same room, or found alike anywhere in the house.
    let (mut near, mut width, mut height): (f64, f64, f64) = (0.0, 0.0, 0.0);
    let mut same_room = false;
    // Sums of floats depend on their order by a hair, and a hair may turn a printed digit: one order, whatever came first.
    let mut others: Vec<_> = others.collect();
    others.sort_by(|(a, _), (b, _)| a.order(b));
    for (other, in_room) in others {
        count += 1.0;
        for (sum, kind) in kinds.iter_mut().zip(other.kinds) {
            *sum += kind;
        }
        if let Some(([w, h], [own_w, own_h])) = other.size.zip(own.and_then(|own| own.size))
            && (w - own_w).abs() < LOOKS_ALIKE_MM
            && (h - own_h).abs() < LOOKS_ALIKE_MM
        {
            near += 1.0;
            width += w;
            height += h;
            same_room |= in_room;
        }
    }
    if count == 0.0 {
        return None;
    }
    let total = count + USUAL_WEIGHS;
    let shares = kinds.map(|kind| kind / total);
    let alike = (near > 0.0).then(|| {
        let made = super::passage::mm(settings.made_alike_spread);
        // One as sure as its own reading, the more the surer.
        let sd = (made * made * (1.0 + 1.0 / near)).sqrt();
        let chance = near / (near + if same_room { 0.5 } else { 1.0 });
        Alike { width: width / near, height: height / near, sd, chance: chance.min(MOST_ALIKE) }
    });
    Some(Neighbours { shares, alike })
}

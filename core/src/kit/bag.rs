//! The bag of fixings of one shade: what is carried to its window besides the shade and its board.

use crate::fixing::Job;
use crate::house::Lift;
use crate::length::LengthUnit;
use crate::work::Worked;

/// One kind of thing in the bag.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct InBag {
    /// What it is asked for by, as the buying list has it: `No. 8 screws, 1 3/4 in`.
    pub what: String,
    /// How many.
    pub count: usize,
    /// What it is for, a few words; empty where its name says it.
    pub used: &'static str,
}

/// Why a shade has no bag.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum NoBag {
    /// It is not made up, so nothing is known of its fixings.
    #[error("it is not made up, so its fixings are not known")]
    NotMade,
    /// What is known would not hold it.
    #[error("its fixings would not hold, so none are packed")]
    WouldNotHold,
}

/// The bag of one shade; of shades alike each has one.
///
/// # Errors
/// [`NoBag`] where there is nothing to pack.
pub fn bag(one: &Worked<'_>, unit: LengthUnit) -> Result<Vec<InBag>, NoBag> {
    let (Some(mounting), Some(shade)) = (one.mounts.advised(), one.shade.as_ref()) else {
        return Err(NoBag::NotMade);
    };
    let (Some(fixing), Ok(makeup)) = (shade.fixing.as_ref(), shade.makeup.as_ref()) else {
        return Err(NoBag::NotMade);
    };
    if !fixing.holds {
        return Err(NoBag::WouldNotHold);
    }
    let mut bag: Vec<InBag> = Vec::new();
    let mut put = |what: String, count: usize, used: &'static str| {
        if count > 0 {
            match bag.iter_mut().find(|there| there.what == what && there.used == used) {
                Some(there) => there.count += count,
                None => bag.push(InBag { what, count, used }),
            }
        }
    };
    if let (true, Some(bracket)) = (fixing.brackets, mounting.bracket.as_ref()) {
        put(format!("{} brackets", bracket.name), fixing.fixed.len(), "");
    }
    for screw in &fixing.screws {
        put(format!("{} screws, {}", screw.screw, screw.length.show_marked(unit)), screw.count, brief(screw.job));
    }
    if let Some(anchor) = &fixing.anchor {
        put(anchor.anchor.clone(), anchor.count, "");
    }
    put("cord cleats".to_owned(), cleats(one.opening.choices.lift), "");
    put("tensioners".to_owned(), usize::from(makeup.cords.around.is_some()), "");
    Ok(bag)
}

const fn cleats(lift: Lift) -> usize {
    match lift {
        Lift::CordLock => 1,
        Lift::TopDownBottomUp => 2,
        _ => 0,
    }
}

/// A screw's job in the fewest words.
const fn brief(job: Job) -> &'static str {
    match job {
        Job::BoardToHead => "board into head",
        Job::BoardToCeiling => "board into ceiling",
        Job::BoardToWall => "board into wall",
        Job::BracketToWall => "legs into wall",
        Job::BracketToBoard => "arms into board",
        Job::IntoAnchor => "into anchors",
    }
}

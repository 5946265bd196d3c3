//! What two devices changed apart, of a whole house at once.

use crate::apart;
use crate::fact::House;
use crate::flag::Flag;
use uuid::Uuid;

/// A flag for everything in the house that two devices changed apart, with the house, room or opening it belongs to.
pub fn disagreements(house: &House) -> Vec<(Uuid, Flag)> {
    let job = &house.job;
    let openings = job
        .openings()
        .flat_map(|(_, opening)| apart::of_opening(job, opening).into_iter().map(move |flag| (opening.id, flag)));
    apart::of_house(job).into_iter().chain(openings).collect()
}

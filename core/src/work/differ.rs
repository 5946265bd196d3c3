//! What a house would be made to by other numbers: shown before they are changed.

use super::{Worked, house};
use crate::house::Job;
use crate::length::Length;
use crate::mount::{Catalogue, Mounting};
use uuid::Uuid;

/// One thing of a shade that would be another.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Differs {
    /// Its opening.
    pub opening: Uuid,
    /// Its room and name: "Study, East".
    pub name: String,
    /// What: "finished width".
    pub what: &'static str,
    /// As it is now.
    pub before: String,
    /// As it would be.
    pub after: String,
}

/// What of a house's shades is otherwise in `after`, the same house with other numbers: sizes, and where each stands.
/// Empty where its numbers cannot be used at all.
pub fn differs(before: &Job, after: &Job, catalogue: &Catalogue) -> Vec<Differs> {
    let (Ok(was), Ok(is)) = (house(before, catalogue), house(after, catalogue)) else { return Vec::new() };
    let mut all = Vec::new();
    for (was, is) in was.openings.iter().zip(&is.openings) {
        for ((what, before), (_, after)) in facts_of(was, before).into_iter().zip(facts_of(is, after)) {
            if before != after {
                let name = format!("{}, {}", was.room.name, was.opening.name);
                all.push(Differs { opening: was.opening.id, name, what, before, after });
            }
        }
    }
    all
}

fn facts_of(worked: &Worked<'_>, job: &Job) -> [(&'static str, String); 3] {
    let mounting = worked.mounts.advised();
    let shown = |of: fn(&Mounting) -> Length| {
        mounting.map_or_else(|| "no size".to_owned(), |mounting| of(mounting).show_marked(job.unit))
    };
    [
        ("finished width", shown(|mounting| mounting.width.total)),
        ("finished length", shown(|mounting| mounting.length.total)),
        ("where it stands", worked.stand().words().to_owned()),
    ]
}

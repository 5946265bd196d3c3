//! What a change of a cloth changes in a house: what is cut of it, and what is bought.

use super::{Already, Differs, Worked, buying_of, house};
use crate::buying::{Shop, cloth_sold};
use crate::house::Job;
use crate::makeup::Part;
use crate::mount::Catalogue;
use uuid::Uuid;

/// What of a house is otherwise in `after`, the same house where the cloth of this name is another: the faces that are cut
/// of it, where their openings stand, and what is bought. Empty where the house does not use it, or has its own of that
/// name. A line of the house itself has no opening ([`Uuid::nil`]).
pub fn cloth_differs(before: &Job, after: &Job, cloth: &str, catalogue: &Catalogue, shop: &Shop) -> Vec<Differs> {
    let uses = before.openings().any(|(_, one)| one.choices.cloth.as_deref() == Some(cloth));
    if !uses || before.cloth(cloth) == after.cloth(cloth) {
        return Vec::new();
    }
    let (Ok(was), Ok(is)) = (house(before, catalogue), house(after, catalogue)) else { return Vec::new() };
    let of_it = |one: &Worked<'_>| one.opening.choices.cloth.as_deref() == Some(cloth);
    let mut all = Vec::new();
    for (was, is) in was.openings.iter().zip(&is.openings).filter(|(one, _)| of_it(one)) {
        for ((what, before), (_, after)) in facts_of(was, before).into_iter().zip(facts_of(is, after)) {
            if before != after {
                let name = format!("{}, {}", was.room.name, was.opening.name);
                all.push(Differs { opening: was.opening.id, name, what, before, after });
            }
        }
    }
    let bought = |worked| {
        let list = buying_of(worked, shop, &Already::default(), of_it);
        let plan = list.cloths.iter().find(|plan| plan.bolt.name == cloth);
        let said = || list.problems.first().cloned().unwrap_or_else(|| "nothing".to_owned());
        plan.map_or_else(said, cloth_sold)
    };
    let (before, after) = (bought(&was), bought(&is));
    if before != after {
        let name = format!("All {} together", all_of(&was.openings, of_it));
        all.push(Differs { opening: Uuid::nil(), name, what: "cloth to buy", before, after });
    }
    all
}

fn all_of(openings: &[Worked<'_>], which: impl Fn(&Worked<'_>) -> bool) -> usize {
    openings.iter().filter(|one| which(one)).count()
}

fn facts_of(worked: &Worked<'_>, job: &Job) -> [(&'static str, String); 2] {
    let made = worked.shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok());
    let face = made.and_then(|made| made.cut(Part::Face)).map_or_else(
        || "no size".to_owned(),
        |cut| format!("{} x {}", cut.width.show(job.unit), cut.length.show_marked(job.unit)),
    );
    [("face, cut", face), ("where it stands", worked.stand().words().to_owned())]
}

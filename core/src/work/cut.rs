//! What is cut: what a mark keeps of it, and the one question between a bench and a later reading.

use super::{Plans, Worked};
use crate::buying::ClothPlan;
use crate::flag::{Flag, Severity};
use crate::house::{Choices, CutFrom, CutPart, Done, Job, Lining};
use crate::length::{Length, LengthUnit, Typed};
use crate::makeup::{Makeup, Material};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Every part of a shade as it is cut by what is known now.
pub fn cut_parts(worked: &Worked<'_>, unit: LengthUnit) -> Vec<CutPart> {
    let made = worked.shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok());
    let (Some(made), Some(mounting)) = (made, worked.mounts.advised()) else { return Vec::new() };
    parts(made, &worked.opening.choices, &mounting.board.size.name(), unit)
}

fn parts(made: &Makeup, choices: &Choices, board: &str, unit: LengthUnit) -> Vec<CutPart> {
    let alike = choices.count.get();
    let exact = |length: Length| Typed::exact(length, unit);
    let code = |words: &str| words.replace(' ', "_");
    let kind = match choices.lining {
        Lining::None => "none",
        Lining::Plain => "plain",
        Lining::Blackout => "blackout",
    };
    let cloth = made.cuts.iter().map(|cut| CutPart {
        part: code(cut.part.words()),
        of: if cut.material == Material::Lining { kind.to_owned() } else { String::new() },
        count: alike,
        width: Some(exact(cut.width)),
        length: exact(cut.length),
        head: Some(exact(cut.head_line)),
    });
    let sticks = made.sticks.iter().map(|stick| CutPart {
        part: code(stick.part.words()),
        of: if stick.part == crate::makeup::StickUse::Board { board.to_owned() } else { String::new() },
        count: u32::try_from(stick.count).unwrap_or(u32::MAX).saturating_mul(alike),
        width: None,
        length: exact(stick.length),
        head: None,
    });
    cloth.chain(sticks).collect()
}

/// Which stretches of the shelf's pieces an opening's shades are cut from by these plans.
pub fn cut_from(job: &Job, plans: &Plans, opening: Uuid) -> Vec<CutFrom> {
    let mut stretches: BTreeMap<Uuid, (Length, Length)> = BTreeMap::new();
    for ClothPlan { openings, plan, held, .. } in &plans.cut.cloths {
        for piece in plan.pieces.iter().filter(|piece| openings[piece.want] == opening) {
            let Some(id) = piece.on_hand.and_then(|at| held.get(at)?.id) else { continue };
            let end = piece.y + piece.along;
            let (from, to) = stretches.entry(id).or_insert((piece.y, end));
            (*from, *to) = (piece.y.min(*from), end.max(*to));
        }
    }
    let lot = |piece: &Uuid| job.workroom.shelf.get(piece).map(|piece| piece.lot.clone()).unwrap_or_default();
    let exact = |length: Length| Typed::exact(length, job.unit);
    let stretch = |(piece, (from, to)): (Uuid, (Length, Length))| CutFrom {
        lot: lot(&piece),
        piece,
        from: exact(from),
        to: exact(to),
    };
    stretches.into_iter().map(stretch).collect()
}

/// True where what was taken of the shelf is not what the plan of the whole takes: it was cut in steps, each by a plan of its
/// own, or by a plan that was another then.
pub fn cut_in_steps(job: &Job, plans: &Plans) -> bool {
    let was = |one: &crate::house::Opening| one.progress.cut.as_ref().map(|cut| cut.from.clone());
    let value = |from: &CutFrom| (from.piece, from.from.value(), from.to.value());
    job.openings().any(|(_, one)| {
        was(one).is_some_and(|was| !was.iter().map(value).eq(cut_from(job, plans, one.id).iter().map(value)))
    })
}

/// What was cut of the shelf for a house so far.
pub(super) fn taken(job: &Job) -> Vec<CutFrom> {
    job.openings().filter_map(|(_, one)| one.progress.cut.as_ref()).flat_map(|cut| cut.from.iter().cloned()).collect()
}

/// The lot that what is cut in each room is of, by room and cloth; empty where it is not one that was noted.
pub(super) fn cut_lots(job: &Job) -> BTreeMap<(Uuid, &str), String> {
    let mut lots: BTreeMap<(Uuid, &str), String> = BTreeMap::new();
    for (room, one) in job.openings() {
        let Some(cut) = one.progress.cut.as_ref() else { continue };
        let Some(cloth) = cut.cloth.as_deref() else { continue };
        let lot = match cut.from.as_slice() {
            [first, rest @ ..] if rest.iter().all(|other| other.lot == first.lot) => first.lot.clone(),
            _ => String::new(),
        };
        let known = lots.entry((room.id, cloth)).or_insert_with(|| lot.clone());
        if *known != lot {
            known.clear();
        }
    }
    lots
}

/// Asks about a shade that was cut and would be cut otherwise now; nothing while every part is what was cut.
pub(super) fn cut_otherwise(job: &Job, worked: &Worked<'_>) -> Option<Flag> {
    let cut = worked.opening.progress.cut.as_ref()?;
    let mut all = Vec::new();
    match worked.mounts.advised() {
        None => all.push("it has no size any more".to_owned()),
        Some(mounting) => {
            let sizes = [("width", &cut.width, mounting.width.total), ("length", &cut.length, mounting.length.total)];
            for (what, was, is) in sizes {
                if let Some(was) = was.as_ref().filter(|was| was.value() != is) {
                    let (was, is) = (was.value().show_marked(job.unit), is.show_marked(job.unit));
                    all.push(format!("its finished {what} was {was} and would be {is}"));
                }
            }
        }
    }
    let chosen = &worked.opening.choices.cloth;
    if cut.cloth != *chosen {
        let name = |cloth: &Option<String>| cloth.clone().unwrap_or_else(|| "no cloth".to_owned());
        all.push(format!("it was {} and {} is chosen", name(&cut.cloth), name(chosen)));
    }
    all.extend(parts_otherwise(cut, &cut_parts(worked, job.unit), job.unit));
    (!all.is_empty()).then(|| {
        let says = said(&all);
        Flag::new(
            "cut_otherwise",
            Severity::Decide,
            &[],
            format!("It is cut already, and by what is known now it would be cut otherwise: {says}."),
            "Hold what was cut against the opening before it is sewn on; then leave it as it is, or cut it anew and mark it again.",
        )
    })
}

/// How many differences are said in full.
const SAID: usize = 4;

fn said(all: &[String]) -> String {
    match all.len().saturating_sub(SAID) {
        0 => all.join("; "),
        1 => format!("{}; and one thing more", all[..SAID].join("; ")),
        more => format!("{}; and {more} things more", all[..SAID].join("; ")),
    }
}

fn parts_otherwise(cut: &Done, now: &[CutPart], unit: LengthUnit) -> Vec<String> {
    if cut.parts.is_empty() {
        return Vec::new(); // a mark of before parts were kept
    }
    let words = |part: &CutPart| part.part.replace('_', " ");
    let show = |typed: &Typed| typed.value().show_marked(unit);
    let size = |part: &CutPart| match (&part.width, part.count) {
        (Some(width), 1) => format!("{} by {}", show(width), show(&part.length)),
        (Some(width), count) => format!("{count} of {} by {}", show(width), show(&part.length)),
        (None, 1) => show(&part.length),
        (None, count) => format!("{count} of {}", show(&part.length)),
    };
    let value = |typed: &Option<Typed>| typed.as_ref().map(Typed::value);
    let mut all = Vec::new();
    for was in &cut.parts {
        let Some(is) = now.iter().find(|is| is.part == was.part) else {
            all.push(format!("it would have no {}", words(was)));
            continue;
        };
        if was.of != is.of {
            all.push(format!("its {} was {} and would be {}", words(was), was.of, is.of));
        }
        if (value(&was.width), was.length.value(), was.count) != (value(&is.width), is.length.value(), is.count) {
            all.push(format!("its {} was cut {} and would be {}", words(was), size(was), size(is)));
        } else if value(&was.head) != value(&is.head)
            && let (Some(before), Some(head)) = (&was.head, &is.head)
        {
            let (before, head) = (show(before), show(head));
            all.push(format!(
                "its {} had its head {before} from the cut edge and would have it {head} from there",
                words(was)
            ));
        }
    }
    let was_cut = |part: &CutPart| cut.parts.iter().any(|was| was.part == part.part);
    all.extend(
        now.iter().filter(|is| !was_cut(is)).map(|is| format!("it would have a {}, and none was cut", words(is))),
    );
    all
}

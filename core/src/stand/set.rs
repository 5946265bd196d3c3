//! Shades of one room that hang together: those that are mounted alike and whose lengths nearly agree. They are made to
//! one length, or a person says that they are not; until then none of them is settled.

use crate::flag::{Flag, Severity, listed};
use crate::house::Place;
use crate::length::{Length, LengthUnit};
use crate::settings::Settings;
use uuid::Uuid;

/// What is compared of the shades of one room.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Member {
    /// The opening.
    pub opening: Uuid,
    /// Its name.
    pub name: String,
    /// True when it is mounted inside: only alike ones are compared.
    pub inside: bool,
    /// Its finished length.
    pub length: Length,
    /// The top of its board above the floor, of an outside mount, where the readings tell. Inside, the opening sets it.
    pub head: Option<Length>,
}

/// Shades that hang together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Set {
    /// Their places in what [`sets`] was given, in its order.
    pub members: Vec<usize>,
    /// What a person is to decide of them as a whole; nothing where they agree.
    pub question: Option<Flag>,
}

/// What one touch does for a whole set.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Answer {
    /// A short name of our own: `one_length`.
    pub code: &'static str,
    /// What it does, in words: "Make them one length: 59 1/2".
    pub words: String,
    /// The fields that it sets: opening, field, value as text.
    pub fields: Vec<(Uuid, String, String)>,
}

/// The sets of a room: one question for each, however many hang in it.
///
/// Two shades hang together when they are mounted alike and their lengths differ by no more than `pair_difference`; who
/// hangs with one of a set hangs with all. Outside mounts whose heads nearly agree in height are asked about too.
pub fn sets(room: &[Member], settings: &Settings, unit: LengthUnit) -> Vec<Set> {
    let near = |a: Length, b: Length| (a - b).abs() <= settings.pair_difference;
    let alike = |a: &Member, b: &Member| a.inside == b.inside && near(a.length, b.length);
    let mut found: Vec<Set> = joined(room, alike)
        .into_iter()
        .map(|members| {
            let question = question(room, &members, true, unit);
            Set { members, question }
        })
        .collect();
    // Heads that nearly agree though the lengths plainly differ: a question, but they do not wait for each other.
    let heads =
        joined(room, |a, b| a.inside == b.inside && a.head.zip(b.head).is_some_and(|(a, b)| a != b && near(a, b)));
    for members in heads {
        if !found.iter().any(|set| members.iter().all(|member| set.members.contains(member)))
            && let Some(question) = question(room, &members, false, unit)
        {
            found.push(Set { members, question: Some(question) });
        }
    }
    found
}

/// Groups of two or more that are joined by `near`, each in the order of the room.
fn joined(room: &[Member], near: impl Fn(&Member, &Member) -> bool) -> Vec<Vec<usize>> {
    let mut group: Vec<usize> = (0..room.len()).collect();
    for a in 0..room.len() {
        for b in a + 1..room.len() {
            if near(&room[a], &room[b]) {
                let (keep, drop) = (group[a].min(group[b]), group[a].max(group[b]));
                group.iter_mut().filter(|of| **of == drop).for_each(|of| *of = keep);
            }
        }
    }
    let mut all: Vec<Vec<usize>> =
        (0..room.len()).map(|first| (0..room.len()).filter(|at| group[*at] == first).collect()).collect();
    all.retain(|members: &Vec<usize>| members.len() > 1);
    all
}

/// The one question of a set; nothing where lengths and heads agree.
fn question(room: &[Member], members: &[usize], lengths: bool, unit: LengthUnit) -> Option<Flag> {
    let of: Vec<&Member> = members.iter().map(|at| &room[*at]).collect();
    let names = listed(of.iter().map(|member| member.name.clone()));
    let mut says = Vec::new();
    if lengths && of.iter().any(|member| member.length != of[0].length) {
        let each = listed(of.iter().map(|member| member.length.show_marked(unit)));
        says.push(format!("they are to be {each} long"));
    }
    let heads: Vec<Length> = of.iter().filter_map(|member| member.head).collect();
    let apart = heads.iter().max().zip(heads.iter().min()).map_or(Length::ZERO, |(high, low)| *high - *low);
    if apart > Length::ZERO {
        says.push(format!("the tops of their boards are up to {} apart in height", apart.show_marked(unit)));
    }
    if says.is_empty() {
        return None;
    }
    let mut to_do = Vec::new();
    if lengths && of.iter().any(|member| member.length != of[0].length) {
        to_do.push("make them one length");
    }
    if apart > Length::ZERO {
        to_do.push("hang them at one height");
    }
    to_do.push("leave them as they are");
    Some(Flag::new(
        if lengths { "set_differs" } else { "heads_differ" },
        Severity::Decide,
        // An answer about heights rests on the floor's reading too; all of them cover it.
        &[] as &[Place],
        format!("{names} {}: {}", if lengths { "hang together" } else { "hang in one room" }, says.join("; ")),
        to_do.join(", or "),
    ))
}

//! The kit for a day, over invented houses: every fixing of every settled shade is in a bag, every bit reaches far enough,
//! and nothing is packed for what is not settled.

use hangtrue_core::fixing::Job as For;
use hangtrue_core::house::{Below, Job, file};
use hangtrue_core::kit::{Kit, kit};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::stand::Cause;
use hangtrue_core::work::{self, WorkedHouse};
use hangtrue_tests::houses;

fn worked(job: &Job) -> WorkedHouse<'_> {
    work::house(job, Catalogue::standard(job.unit)).unwrap()
}

fn demo() -> Job {
    file::read(include_str!("../../fixtures/houses/heron-lane.json")).unwrap()
}

fn look(kit: &Kit, house: &WorkedHouse<'_>, unit: LengthUnit) -> usize {
    let mut screws = 0;
    for one in &house.openings {
        let name = format!("{}, {}", one.room.name, one.opening.name);
        let bags: Vec<_> =
            kit.bags.iter().filter(|bag| bag.of == name || bag.of.starts_with(&format!("{name}, "))).collect();
        if !one.standing.is_settled() {
            assert!(bags.is_empty() && kit.left_out.iter().any(|said| said.starts_with(&name)), "{name}: {kit:?}");
            continue;
        }
        let fixing = one.shade.iter().filter_map(|shade| shade.fixing.as_ref()).find(|fixing| fixing.holds);
        let Some(fixing) = fixing else {
            assert!(bags.is_empty(), "{name}: nothing that would not hold is packed");
            continue;
        };
        assert_eq!(bags.len(), usize::try_from(one.opening.choices.count.get()).unwrap(), "{name}");
        for bag in bags {
            let in_bag = |what: &str| -> usize {
                bag.things.iter().filter(|thing| thing.what == what).map(|thing| thing.count).sum()
            };
            for screw in &fixing.screws {
                let what = format!("{} screws, {}", screw.screw, screw.length.show_marked(unit));
                let alike =
                    fixing.screws.iter().filter(|other| (&other.screw, other.length) == (&screw.screw, screw.length));
                assert_eq!(in_bag(&what), alike.map(|other| other.count).sum::<usize>(), "{name}: {what}");
                screws += screw.count;
            }
            if let Some(anchor) = &fixing.anchor {
                assert_eq!(in_bag(&anchor.anchor), anchor.count, "{name}");
            }
            if fixing.brackets {
                let bracket = one.mounts.advised().unwrap().bracket.as_ref().unwrap();
                assert_eq!(in_bag(&format!("{} brackets", bracket.name)), fixing.fixed.len(), "{name}");
            }
        }
        // Each hole has its bit, and that reaches to its end: the longest that is needed is there.
        for screw in &fixing.screws {
            let reaches = |size: Length, deep: Length| {
                size <= Length::ZERO
                    || kit.bits.iter().any(|bit| bit.size == size && bit.reach >= deep && bit.why.contains(&name))
            };
            assert!(reaches(screw.through, screw.passes), "{name}: {screw:?}");
            assert!(
                screw.job == For::IntoAnchor || reaches(screw.lead, screw.passes + screw.bites),
                "{name}: {screw:?}"
            );
        }
        if let Some(anchor) = &fixing.anchor {
            assert!(kit.bits.iter().any(|bit| bit.size == anchor.hole && bit.why.contains(&name)), "{name}");
        }
        // A wall that is not probed is packed for both ways.
        let not_probed = one.standing.holds.iter().any(|reason| reason.cause == Cause::Wall);
        let both = kit.both.iter().any(|line| line.what.starts_with("Not probed") && line.why.contains(&name));
        assert_eq!(both, not_probed, "{name}");
    }
    screws
}

#[test]
fn every_fixing_of_every_settled_shade_is_in_a_bag_and_every_bit_reaches() {
    let mut screws = 0;
    for seed in 1..=160 {
        let unit = if seed % 2 == 0 { LengthUnit::Inch } else { LengthUnit::Millimetre };
        let job = houses::house(seed, unit);
        let house = worked(&job);
        screws += look(&kit(&[&house], unit), &house, unit);
    }
    let job = demo();
    let house = worked(&job);
    screws += look(&kit(&[&house], job.unit), &house, job.unit);
    assert!(screws >= 50, "{screws}");
}

#[test]
fn houses_of_a_day_are_packed_together_and_say_whose_each_is() {
    let (first, second) = (demo(), file::read(include_str!("../../fixtures/houses/quay-flat.json")).unwrap());
    let (first, second) = (worked(&first), worked(&second));
    let both = kit(&[&first, &second], LengthUnit::Inch);
    let alone = [kit(&[&first], LengthUnit::Inch), kit(&[&second], LengthUnit::Inch)];
    assert_eq!(both.bags.len(), alone.iter().map(|kit| kit.bags.len()).sum::<usize>());
    assert!(both.bags.iter().all(|bag| bag.of.starts_with("Heron Lane") || bag.of.starts_with("Quay flat")));
    // A bit that both need is there once.
    let mut sizes: Vec<Length> = both.bits.iter().map(|bit| bit.size).collect();
    sizes.dedup();
    assert_eq!(sizes.len(), both.bits.len());
    for bit in alone.iter().flat_map(|kit| &kit.bits) {
        assert!(both.bits.iter().any(|there| there.size == bit.size && there.reach >= bit.reach), "{bit:?}");
    }
}

#[test]
fn a_second_person_a_ladder_and_a_platform_are_asked_for_where_they_are_needed() {
    let mut job = demo();
    let (room, opening) = {
        let house = worked(&job);
        let one = house.openings.iter().find(|one| one.standing.is_settled()).unwrap();
        (one.room.id, one.opening.id)
    };
    let line = |kit: &Kit, words: &str| kit.reach.iter().any(|line| line.what.contains(words));
    let now = kit(&[&worked(&job)], job.unit);
    assert!(!line(&now, "platform"), "{now:?}");
    // Above the floor: the sill, and the board above the sill.
    let house = worked(&job);
    let highest = house
        .openings
        .iter()
        .filter(|one| one.standing.is_settled())
        .filter_map(|one| {
            let floor = one.opening.standing(hangtrue_core::house::Place::SillToFloor).last()?.value();
            Some(floor + one.mounts.advised()?.above_sill)
        })
        .max();
    assert_eq!(line(&now, "A ladder for a board"), highest.is_some());
    if let Some(highest) = highest {
        assert!(
            line(&now, &highest.show(job.unit)) || now.reach[0].what.contains(&highest.show_marked(job.unit)),
            "{now:?}"
        );
    }
    drop(house);
    let at = job.rooms.iter_mut().find(|one| one.id == room).unwrap();
    at.openings.iter_mut().find(|one| one.id == opening).unwrap().wall.below = Below::Stairs;
    assert!(line(&kit(&[&worked(&job)], job.unit), "platform"));
    // Everything is long and heavy to a workroom of careful people.
    job.settings.change("two_people_from", "1 in", job.unit).unwrap();
    let careful = kit(&[&worked(&job)], job.unit);
    let second = careful.reach.iter().find(|line| line.what == "A second person").unwrap();
    assert!(second.why.iter().filter(|why| why.ends_with("(long)")).count() >= 1, "{second:?}");
}

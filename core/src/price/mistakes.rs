//! What was wrong with shades, and what it cost: by cause, and by the reading that was to blame.

use crate::house::{Defect, DefectCause, Job, Place};
use crate::money::{Currency, Money};
use chrono::NaiveDate;
use std::collections::BTreeMap;
use uuid::Uuid;

/// How many, and what they cost, time among it.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Sum {
    /// How many.
    pub many: u32,
    /// Things, and time at the price of an hour.
    pub cost: Money,
    /// Minutes.
    pub minutes: u64,
}

impl Sum {
    fn add(&mut self, one: Self) {
        self.many += one.many;
        self.cost = self.cost + one.cost;
        self.minutes += one.minutes;
    }
}

/// One defect, and what it cost.
#[derive(Clone, Debug)]
pub struct Mistake<'a> {
    /// The house.
    pub job: &'a Job,
    /// The opening.
    pub opening: Uuid,
    /// Its name.
    pub name: &'a str,
    /// The defect.
    pub defect: &'a Defect,
    /// What it cost; nothing where the house is traded in another currency than the workroom.
    pub cost: Option<Money>,
}

/// What was wrong since a day.
#[derive(Clone, Debug)]
pub struct Mistakes<'a> {
    /// Shades that were hung since then.
    pub hung: usize,
    /// Each, the latest first.
    pub all: Vec<Mistake<'a>>,
    /// All together, by cause, and by reading: of what is in the workroom's currency.
    pub whole: Sum,
    /// By cause.
    pub causes: BTreeMap<DefectCause, Sum>,
    /// By the reading that was to blame.
    pub places: BTreeMap<Place, Sum>,
}

/// Adds up what was wrong in these houses after a day, in a currency, an hour at its price: an hour that went into putting right
/// is one that was not sold. What is in another currency is told, and not added.
pub fn mistakes(jobs: &[Job], since: NaiveDate, currency: Currency, hour_price: i64) -> Mistakes<'_> {
    let mut found =
        Mistakes { hung: 0, all: Vec::new(), whole: Sum::default(), causes: BTreeMap::new(), places: BTreeMap::new() };
    for (job, one) in jobs.iter().flat_map(|job| job.openings().map(move |(_, one)| (job, one))) {
        found.hung += usize::from(one.progress.hung.as_ref().is_some_and(|hung| hung.at.date_naive() > since));
        for defect in one.defects.iter().filter(|defect| defect.on > since) {
            let time = Money(hour_price).times(i64::from(defect.minutes), 60);
            let cost = (job.currency() == currency).then_some(defect.money + time);
            if let Some(cost) = cost {
                let sum = Sum { many: 1, cost, minutes: u64::from(defect.minutes) };
                found.whole.add(sum);
                found.causes.entry(defect.cause).or_default().add(sum);
                if let Some(place) = defect.place {
                    found.places.entry(place).or_default().add(sum);
                }
            }
            found.all.push(Mistake { job, opening: one.id, name: &one.name, defect, cost });
        }
    }
    found.all.sort_by_key(|one| std::cmp::Reverse(one.defect.on));
    found
}

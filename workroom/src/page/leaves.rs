//! The sheets of a house as pages: what is to be made, hung, cut, bought and minded.

use super::desk::DeskProblem;
use hangtrue_core::buying::{Buying, Shop};
use hangtrue_core::house::Job;
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::sheet::{self, Heading};
use hangtrue_core::work::{self, WorkedHouse};
use maud::Markup;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};
use uuid::Uuid;

/// A kind of sheet.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Leaf {
    Summary,
    Measuring,
    Making,
    Hanging,
    Cloth,
    Timber,
    Buying,
    Care,
}

impl Leaf {
    /// Every kind, in the order of the work.
    pub(super) const ALL: [Self; 8] = [
        Self::Summary,
        Self::Measuring,
        Self::Making,
        Self::Cloth,
        Self::Timber,
        Self::Hanging,
        Self::Buying,
        Self::Care,
    ];

    /// Its name in a path.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Summary => "summary",
            Self::Measuring => "measuring",
            Self::Making => "making",
            Self::Hanging => "hanging",
            Self::Cloth => "cloth",
            Self::Timber => "timber",
            Self::Buying => "buying",
            Self::Care => "care",
        }
    }

    /// Its name for a person.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Summary => "Summary",
            Self::Measuring => "Measuring",
            Self::Making => "Making",
            Self::Hanging => "Hanging",
            Self::Cloth => "Cloth",
            Self::Timber => "Timber and bars",
            Self::Buying => "Buying",
            Self::Care => "Care",
        }
    }

    /// The kind of this name.
    pub(super) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|leaf| leaf.name() == name)
    }
}

/// What houses need from the shops, kept as long as the book stays as it is: the plans of cloth and sticks take longer
/// than a page should.
#[derive(Debug, Default)]
pub(super) struct Plans(Mutex<HashMap<Uuid, (i64, Arc<Buying>)>>);

impl Plans {
    /// Houses whose plans are kept at most.
    const MOST: usize = 32;

    fn of(&self, version: i64, house: &WorkedHouse<'_>) -> Arc<Buying> {
        let lock = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let id = house.job.id;
        if let Some((_, kept)) = lock().get(&id).filter(|(at, _)| *at == version) {
            return Arc::clone(kept);
        }
        let fresh = Arc::new(work::buying(house, Shop::standard(house.job.unit)));
        let mut kept = lock();
        if kept.len() >= Self::MOST {
            kept.clear();
        }
        kept.insert(id, (version, Arc::clone(&fresh)));
        fresh
    }
}

/// The sheets of one kind, in the order of the walk. `version` is the book's, as [`super::desk::Desk::version`] has it.
pub(super) fn render(
    leaf: Leaf,
    job: &Job,
    unit: Option<LengthUnit>,
    day: &str,
    (plans, version): (&Plans, i64),
) -> Result<Vec<Markup>, DeskProblem> {
    let heading = Heading { job, unit: unit.unwrap_or(job.unit), day };
    let worked = work::house(job, Catalogue::standard(job.unit)).map_err(|problem| DeskProblem::Refused {
        what: problem.to_string(),
        right: "Put the number right in the numbers of the house.".to_owned(),
    })?;
    Ok(match leaf {
        Leaf::Summary => vec![sheet::summary(&heading, &worked)],
        Leaf::Measuring => {
            worked.openings.iter().map(|one| sheet::measuring(&heading, one.room, one.opening, &one.truth)).collect()
        }
        Leaf::Making => worked.openings.iter().filter_map(|one| sheet::making_of(&heading, job, one)).collect(),
        Leaf::Hanging => worked
            .openings
            .iter()
            .flat_map(|one| std::iter::once(sheet::hanging(&heading, one)).chain(sheet::full_size(&heading, one)))
            .collect(),
        Leaf::Cloth => sheet::cloth(&heading, &plans.of(version, &worked)),
        Leaf::Care => vec![sheet::minding(&heading, &worked)],
        Leaf::Timber => vec![sheet::timber(&heading, &plans.of(version, &worked))],
        Leaf::Buying => vec![sheet::buying(&heading, &plans.of(version, &worked))],
    })
}

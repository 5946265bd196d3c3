//! The sheets of a house as pages: what is to be made, hung, cut, bought and minded.

use super::desk::DeskProblem;
use hangtrue_core::buying::Shop;
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
    Making,
    Cutting,
    Hanging,
    FullSize,
    Buying,
    Kit,
    Care,
    Measuring,
    Working,
}

impl Leaf {
    /// Every kind, in the order of the work; the last two are for the file.
    pub(super) const ALL: [Self; 10] = [
        Self::Summary,
        Self::Buying,
        Self::Cutting,
        Self::Making,
        Self::Hanging,
        Self::FullSize,
        Self::Kit,
        Self::Care,
        Self::Measuring,
        Self::Working,
    ];

    /// Its name in a path.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Summary => "summary",
            Self::Making => "making",
            Self::Cutting => "cutting",
            Self::Hanging => "hanging",
            Self::FullSize => "full-size",
            Self::Buying => "buying",
            Self::Kit => "kit",
            Self::Care => "care",
            Self::Measuring => "measuring",
            Self::Working => "working",
        }
    }

    /// Its name for a person.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Summary => "Summary",
            Self::Making => "Making",
            Self::Cutting => "Cutting",
            Self::Hanging => "Hanging",
            Self::FullSize => "Full size",
            Self::Buying => "Buying",
            Self::Kit => "Kit for the day",
            Self::Care => "Care",
            Self::Measuring => "Measuring record",
            Self::Working => "Working",
        }
    }

    /// True for a kind that each opening has its own of, so that one opening's alone can be printed.
    pub(super) const fn is_of_openings(self) -> bool {
        matches!(self, Self::Making | Self::Hanging | Self::FullSize | Self::Measuring | Self::Working)
    }

    /// The kind of this name.
    pub(super) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|leaf| leaf.name() == name)
    }
}

/// What houses need from the shops, kept as long as the book stays as it is: the plans of cloth and sticks take longer
/// than a page should.
#[derive(Debug, Default)]
pub(super) struct Plans(Mutex<HashMap<Uuid, (i64, Arc<work::Plans>)>>);

impl Plans {
    /// Houses whose plans are kept at most.
    const MOST: usize = 32;

    pub(super) fn of(&self, version: i64, house: &WorkedHouse<'_>) -> Arc<work::Plans> {
        let lock = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let id = house.job.id;
        if let Some((_, kept)) = lock().get(&id).filter(|(at, _)| *at == version) {
            return Arc::clone(kept);
        }
        let fresh = Arc::new(work::plans(house, Shop::standard(house.job.unit)));
        let mut kept = lock();
        if kept.len() >= Self::MOST {
            kept.clear();
        }
        kept.insert(id, (version, Arc::clone(&fresh)));
        fresh
    }
}

/// The sheets of one kind, in the order of the walk; those of one opening alone where one is named. `version` is the
/// book's, as [`super::desk::Desk::version`] has it.
pub(super) fn render(
    leaf: Leaf,
    job: &Job,
    opening: Option<Uuid>,
    unit: Option<LengthUnit>,
    day: &str,
    (plans, version): (&Plans, i64),
) -> Result<Vec<Markup>, DeskProblem> {
    let heading = Heading { job, unit: unit.unwrap_or(job.unit), day };
    let worked = work::house(job, Catalogue::standard(job.unit)).map_err(|problem| DeskProblem::Refused {
        what: problem.to_string(),
        right: "Put the number right in the settings of the house.".to_owned(),
    })?;
    let of = || worked.openings.iter().filter(|one| opening.is_none_or(|id| one.opening.id == id));
    Ok(match leaf {
        Leaf::Summary => vec![sheet::summary(&heading, &worked)],
        Leaf::Measuring => of().map(|one| sheet::measuring(&heading, one)).collect(),
        Leaf::Making => {
            let plans = plans.of(version, &worked);
            of().filter_map(|one| sheet::making(&heading, one, Some(&plans))).collect()
        }
        Leaf::Hanging => of().map(|one| sheet::hanging(&heading, one)).collect(),
        Leaf::FullSize if opening.is_some() => of().filter_map(|one| sheet::full_size(&heading, one)).collect(),
        Leaf::FullSize => sheet::full_sizes(&heading, &worked),
        Leaf::Working => of().map(|one| sheet::working(&heading, one)).collect(),
        Leaf::Cutting => vec![sheet::cutting(&heading, &plans.of(version, &worked), &worked)],
        Leaf::Kit => crate::kit::sheet_of(&[&worked], unit).into_iter().collect(),
        Leaf::Care => vec![sheet::minding(&heading, &worked)],
        Leaf::Buying => vec![sheet::buying(&heading, &plans.of(version, &worked))],
    })
}

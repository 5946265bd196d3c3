//! The workroom's bench: what can be done for a shade now, why not the rest, how long the bench is full, and the day that can
//! be promised.

use super::{Ways, has_changed, is_invoiced, of_shade};
use crate::buying::Shop;
use crate::house::{Job, Opening, Quote, Step, VisitKind};
use crate::length::Length;
use crate::money::Money;
use crate::settings::Settings;
use crate::work::{Plans, Worked, WorkedHouse};
use chrono::{Datelike, Days, NaiveDate, Weekday};
use uuid::Uuid;

/// Where a shade stands on its way, and what comes next.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OnBench {
    /// Its opening.
    pub opening: Uuid,
    /// Its room and name.
    pub name: String,
    /// The last that was done: "cut on 2026-05-04".
    pub last: String,
    /// What can be done now.
    pub now: Option<Next>,
    /// Why nothing can, in a few words; empty where something can.
    pub waits_for: String,
    /// Minutes that it takes on the bench still.
    pub minutes: i64,
    /// True where work on it is agreed on or begun, so that the bench is full of it.
    pub agreed: bool,
    /// The day by which its cloth can be here; nothing where none is waited for.
    pub cloth_in: Option<NaiveDate>,
}

/// What can be done for a shade.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Next {
    /// Readings are taken, or taken again.
    Measure,
    /// A question is answered.
    Decide,
    /// A quote is drawn up.
    Quote,
    /// The cloth is ordered.
    Order,
    /// It is cut.
    Cut,
    /// It is sewn and put on its board.
    Make,
    /// A day to hang it is agreed.
    AgreeDay,
    /// It is hung.
    Hang,
    /// The invoice is written.
    Invoice,
}

impl Next {
    /// All, in the order of the work.
    pub const ALL: [Self; 9] = [
        Self::Measure,
        Self::Decide,
        Self::Quote,
        Self::Order,
        Self::Cut,
        Self::Make,
        Self::AgreeDay,
        Self::Hang,
        Self::Invoice,
    ];

    /// As a person reads it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Measure => "measure",
            Self::Decide => "decide",
            Self::Quote => "quote",
            Self::Order => "order cloth",
            Self::Cut => "cut",
            Self::Make => "sew",
            Self::AgreeDay => "agree on a day to hang",
            Self::Hang => "hang",
            Self::Invoice => "write the invoice",
        }
    }
}

/// Every shade of a house on the bench; one that hangs and is paid is on none.
pub fn on_bench(house: &WorkedHouse<'_>, plans: &Plans, shop: &Shop, today: NaiveDate) -> Vec<OnBench> {
    let ways = Ways { shop: shop.clone(), ..Ways::of(house.job) };
    let agreed = house.job.quotes.iter().rev().find(|quote| quote.agreed.is_some());
    house.openings.iter().filter_map(|one| row(house, one, plans, &ways, agreed, today)).collect()
}

fn row(
    house: &WorkedHouse<'_>,
    one: &Worked<'_>,
    plans: &Plans,
    ways: &Ways,
    agreed: Option<&Quote>,
    today: NaiveDate,
) -> Option<OnBench> {
    let (now, waits_for) = next(house, one, plans, agreed, today)?;
    let last = one.opening.progress.last().and_then(|step| Some((step, one.opening.progress.of(step)?)));
    let progress = &one.opening.progress;
    let made = progress.made.is_some() || progress.hung.is_some();
    let waits = progress.cut.is_none() && !made && progress.here.is_none();
    let has_none = |one: &Worked<'_>| one.standing.is_settled() && !needs_cloth(plans, one.opening);
    Some(OnBench {
        opening: one.opening.id,
        name: format!("{}, {}", one.room.name, one.opening.name),
        last: last.map_or_else(
            || one.stand().words().to_owned(),
            |(step, done)| format!("{} on {}", step.words(), done.at.date_naive()),
        ),
        now,
        waits_for,
        agreed: last.is_some() || agreed.is_some_and(|quote| is_in(quote, one.opening)),
        cloth_in: (waits && !has_none(one)).then(|| {
            let ordered = progress.ordered.as_ref().map_or(today, |ordered| ordered.at.date_naive());
            after_days(ordered, house.settings.cloth_days).max(today)
        }),
        minutes: if made {
            0
        } else {
            of_shade(house, one, ways).map_or(0, |priced| priced.minutes * i64::from(priced.count))
        },
    })
}

/// What can be done for a shade, or why nothing can; nothing for one that needs nothing any more.
fn next(
    house: &WorkedHouse<'_>,
    one: &Worked<'_>,
    plans: &Plans,
    agreed: Option<&Quote>,
    today: NaiveDate,
) -> Option<(Option<Next>, String)> {
    let can = |next: Next| Some((Some(next), String::new()));
    let waits = |why: String| Some((None, why));
    let job = house.job;
    let progress = &one.opening.progress;
    if progress.hung.is_some() {
        return hung(job, one.opening);
    }
    if progress.made.is_some() {
        let day = job
            .visits
            .iter()
            .filter(|visit| visit.what == VisitKind::Hang && visit.on >= today)
            .map(|visit| visit.on)
            .min();
        return match day {
            None => can(Next::AgreeDay),
            Some(day) if day <= today => can(Next::Hang),
            Some(day) => waits(format!("the day to hang it: {day}")),
        };
    }
    if progress.cut.is_some() {
        // What would be cut otherwise now is asked about before it is sewn.
        return if one.standing.is_settled() { can(Next::Make) } else { can(Next::Decide) };
    }
    if !one.standing.is_settled() {
        return match one.stand() {
            crate::stand::Stand::Decide => can(Next::Decide),
            _ => can(Next::Measure),
        };
    }
    // A workroom that gives no quotes goes on without; one that gives them waits for the client's word.
    match (agreed, job.quotes.last()) {
        (None, Some(last)) if has_changed(last, house).is_empty() => {
            return waits(format!("the client's word on quote {}", last.name));
        }
        (None, Some(_)) => return can(Next::Quote),
        (Some(quote), _) if !has_changed(quote, house).is_empty() || !is_in(quote, one.opening) => {
            return can(Next::Quote);
        }
        (Some(_) | None, _) => {}
    }
    if progress.here.is_some() || !needs_cloth(plans, one.opening) {
        return can(Next::Cut);
    }
    match &progress.ordered {
        Some(ordered) => waits(format!("its cloth, ordered on {}", ordered.at.date_naive())),
        None => can(Next::Order),
    }
}

/// What hangs is invoiced by the quote that it was agreed on with, and waits for what is open.
fn hung(job: &Job, opening: &Opening) -> Option<(Option<Next>, String)> {
    let of_it = |quote: &&Quote| quote.agreed.is_some() && is_in(quote, opening);
    let quote = job.quotes.iter().rev().find(of_it)?;
    if !is_invoiced(job, quote) {
        return Some((Some(Next::Invoice), String::new()));
    }
    let open = super::open(job);
    (open > Money::ZERO).then(|| (None, format!("its payment: {} are open", quote.currency.show(open))))
}

fn is_in(quote: &Quote, opening: &Opening) -> bool {
    quote.lines.iter().any(|line| line.opening == opening.id)
}

/// True where what a shade is cut of is bought, not all at hand.
fn needs_cloth(plans: &Plans, opening: &Opening) -> bool {
    plans.cut.cloths.iter().any(|planned| {
        planned.plan.buy > Length::ZERO
            && planned.bolt.name == opening.choices.cloth.clone().unwrap_or_default()
            && planned
                .plan
                .pieces
                .iter()
                .any(|piece| planned.openings[piece.want] == opening.id && piece.on_hand.is_none())
    })
}

/// When a bench that is full of so many minutes is free, counted from a day, and what can be promised for work of its own.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Promise {
    /// The first day on which the bench has nothing of the others to do.
    pub free: NaiveDate,
    /// The day by which its cloth is in.
    pub cloth_in: NaiveDate,
    /// Minutes of its own work.
    pub own: i64,
    /// The earliest day to promise.
    pub promise: NaiveDate,
}

/// The earliest day to promise for `own` minutes of work, behind `before` minutes of others: when its cloth is in and the bench
/// free, then its own work, then the days of grace.
pub fn promise(today: NaiveDate, before: i64, own: i64, cloth_in: NaiveDate, settings: &Settings) -> Promise {
    let free = working(today, days_of(before, settings), settings);
    let made = working(free.max(cloth_in), days_of(own, settings), settings);
    Promise { free, cloth_in, own, promise: working(made, settings.grace_days, settings) }
}

/// The earliest day to promise for a house with these shades, behind `before` minutes of others.
pub fn promise_of(rows: &[OnBench], today: NaiveDate, before: i64, settings: &Settings) -> Promise {
    let own = rows.iter().map(|row| row.minutes).sum();
    let cloth_in = rows.iter().filter_map(|row| row.cloth_in).max().unwrap_or(today);
    promise(today, before, own, cloth_in, settings)
}

/// True of a house that may have a shade that fills the bench: something of it is agreed on or begun.
pub fn may_fill(job: &Job) -> bool {
    job.quotes.iter().any(|quote| quote.agreed.is_some())
        || job.openings().any(|(_, one)| one.progress.last().is_some())
}

/// The minutes that the bench is full of by these shades.
pub fn full(rows: &[OnBench]) -> i64 {
    rows.iter().filter(|row| row.agreed).map(|row| row.minutes).sum()
}

/// The day by which cloth that is ordered on a day can be here.
pub fn after_days(day: NaiveDate, days: i64) -> NaiveDate {
    day.checked_add_days(Days::new(u64::try_from(days).unwrap_or(0))).unwrap_or(day)
}

/// Whole days of the bench that so many minutes take.
fn days_of(minutes: i64, settings: &Settings) -> i64 {
    let day = settings.bench_minutes.max(1);
    minutes.max(0).saturating_add(day - 1) / day
}

/// The day after so many working days: a working day itself. With none, the day itself or the next that is worked.
fn working(from: NaiveDate, days: i64, settings: &Settings) -> NaiveDate {
    let is_worked = |day: NaiveDate| match settings.bench_days {
        7.. => true,
        6 => day.weekday() != Weekday::Sun,
        _ => !matches!(day.weekday(), Weekday::Sat | Weekday::Sun),
    };
    let mut day = from;
    let mut left = days.clamp(0, 10_000);
    loop {
        if is_worked(day) {
            if left == 0 {
                return day;
            }
            left -= 1;
        }
        match day.succ_opt() {
            Some(next) => day = next,
            None => return day,
        }
    }
}

/// The step that brings what comes next about, where one touch marks it.
pub const fn marked_by(next: Next) -> Option<Step> {
    match next {
        Next::Order => Some(Step::Ordered),
        Next::Cut => Some(Step::Cut),
        Next::Make => Some(Step::Made),
        Next::Hang => Some(Step::Hung),
        Next::Measure | Next::Decide | Next::Quote | Next::AgreeDay | Next::Invoice => None,
    }
}

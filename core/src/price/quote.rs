//! A quote: a price that was given, frozen with the sizes that it was made from. What became otherwise since is said, and
//! has to be agreed again.

use super::HousePrice;
use crate::fact::Moment;
use crate::house::{Choices, Job, Lining, Quote, QuoteLine};
use crate::length::{Length, Typed};
use crate::money::Money;
use crate::stand::Stand;
use crate::work::{Plans, Worked, WorkedHouse};
use chrono::Days;
use sha2::{Digest, Sha256};

/// What of a shade is agreed on: its size, where it hangs, what it is made of.
struct Shown {
    width: Length,
    length: Length,
    mount: &'static str,
    made: String,
}

impl Shown {
    fn of(worked: &Worked<'_>) -> Option<Self> {
        let mounting = worked.mounts.advised()?;
        Some(Self {
            width: mounting.width.total,
            length: mounting.length.total,
            mount: mounting.form.words(),
            made: made(&worked.opening.choices),
        })
    }
}

/// What a shade is made of, in words: "Reed stripe, blackout lining, interlined".
fn made(choices: &Choices) -> String {
    let mut words = vec![choices.cloth.clone().unwrap_or_else(|| "cloth not chosen".to_owned())];
    match choices.lining {
        Lining::None => words.push("not lined".to_owned()),
        Lining::Plain => {}
        Lining::Blackout => words.push("blackout lining".to_owned()),
    }
    if choices.interlined {
        words.push("interlined".to_owned());
    }
    if choices.valance.is_some() {
        words.push("with a valance".to_owned());
    }
    words.push(choices.lift.words().to_owned());
    words.join(", ")
}

/// Draws up a quote over the shades that have a price: what it says stays as it is, whatever becomes of the readings.
/// Nothing when no shade has one.
pub fn draw_up(house: &WorkedHouse<'_>, price: &HousePrice, moment: Moment, by: &str) -> Option<Quote> {
    let unit = house.job.unit;
    let lines: Vec<QuoteLine> = price
        .openings
        .iter()
        .filter_map(|one| {
            let (priced, worked) = (one.chosen.as_ref()?, house.opening(one.opening)?);
            let shown = Shown::of(worked)?;
            let mut notes = priced.without.iter().map(|what| format!("price without {what}")).collect::<Vec<_>>();
            match one.stand {
                Stand::NotMeasured | Stand::ReadAgain => notes.push("size to be confirmed".to_owned()),
                Stand::Decide => notes.push("one choice open".to_owned()),
                Stand::Settled => {}
            }
            Some(QuoteLine {
                opening: one.opening,
                what: one.name.clone(),
                count: priced.count,
                width: Typed::exact(shown.width, unit),
                length: Typed::exact(shown.length, unit),
                mount: shown.mount.to_owned(),
                made: shown.made,
                price: priced.all(),
                notes,
            })
        })
        .collect();
    if lines.is_empty() {
        return None;
    }
    let at = moment.time();
    let number = house.job.quotes.iter().filter_map(|quote| quote.name.parse::<u64>().ok()).max().unwrap_or(0) + 1;
    let days = u64::try_from(house.settings.quote_days).unwrap_or(0);
    Some(Quote {
        name: number.to_string(),
        at,
        by: by.to_owned(),
        until: at.date_naive().checked_add_days(Days::new(days)).unwrap_or(at.date_naive()),
        currency: price.currency,
        content: content(&lines),
        lines,
        sums: price.sums.clone(),
        total: price.total,
        deposit: price.deposit,
        agreed: None,
    })
}

/// The content number of the sizes of a quote: the same for the same openings, sizes, mounts and stuff, and for no other.
pub fn content(lines: &[QuoteLine]) -> String {
    let mut sum = Sha256::new();
    for line in lines {
        let text = format!(
            "{}\n{}\n{}\n{}\n{}\n{}\n\n",
            line.opening,
            line.count,
            line.width.value().nm(),
            line.length.value().nm(),
            line.mount,
            line.made
        );
        sum.update(text.as_bytes());
    }
    let hex: String = sum.finalize().iter().take(6).map(|byte| format!("{byte:02x}")).collect();
    format!("{} {} {}", &hex[..4], &hex[4..8], &hex[8..])
}

/// What of a quote's shades is otherwise now, one sentence each; empty while all that it says is so. A shade that was put in
/// the house later is told by the sheet, not here: nobody agreed on it.
pub fn has_changed(quote: &Quote, house: &WorkedHouse<'_>) -> Vec<String> {
    quote.lines.iter().flat_map(|line| line_changed(line, house)).collect()
}

/// What of the shades that these plans cut is otherwise than their client agreed on, by the last quote that was agreed on.
pub fn cut_unlike_agreed(house: &WorkedHouse<'_>, plans: &Plans) -> Vec<String> {
    let agreed = house.job.quotes.iter().rev().find(|quote| quote.agreed.is_some());
    let lines = agreed.into_iter().flat_map(|quote| &quote.lines).filter(|line| plans.cut.plans_for(line.opening));
    lines.flat_map(|line| line_changed(line, house)).collect()
}

fn line_changed(line: &QuoteLine, house: &WorkedHouse<'_>) -> Vec<String> {
    let unit = house.job.unit;
    let Some((worked, shown)) = house.opening(line.opening).and_then(|worked| Some((worked, Shown::of(worked)?)))
    else {
        return vec![format!("{}: it has no size any more, or was taken out.", line.what)];
    };
    let mut all = Vec::new();
    for (what, was, is) in
        [("finished width", &line.width, shown.width), ("finished length", &line.length, shown.length)]
    {
        if was.value() != is {
            let (was, is) = (was.value().show_marked(unit), is.show_marked(unit));
            all.push(format!("{}: its {what} was {was} and is {is} now.", line.what));
        }
    }
    for (what, was, is) in [("mount", &line.mount, shown.mount), ("make", &line.made, shown.made.as_str())] {
        if was.as_str() != is {
            all.push(format!("{}: its {what} was {was} and is {is} now.", line.what));
        }
    }
    let count = worked.opening.choices.count.get();
    if count != line.count {
        all.push(format!("{}: it was for {} and is for {count} now.", line.what, line.count));
    }
    all
}

/// What was paid for a house.
pub fn paid(job: &Job) -> Money {
    job.payments.iter().map(|payment| payment.money).sum()
}

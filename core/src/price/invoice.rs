//! An invoice: what was agreed, as it is asked for, under a number of its own.

use crate::fact::Moment;
use crate::house::{Invoice, Job, Opening, Quote, QuoteSum};
use crate::money::Money;
use chrono::Days;

/// True where a quote is on an invoice that was not taken back.
pub fn is_invoiced(job: &Job, quote: &Quote) -> bool {
    let is_gone = |name: &str| job.invoices.iter().any(|other| other.takes_back.as_deref() == Some(name));
    job.invoices.iter().any(|one| one.quote == quote.name && one.takes_back.is_none() && !is_gone(&one.name))
}

/// True of a shade that hangs and is on an invoice: it is sold, and in no price and no quote again.
pub fn is_sold(job: &Job, opening: &Opening) -> bool {
    let has = |quote: &&Quote| quote.lines.iter().any(|line| line.opening == opening.id);
    opening.progress.hung.is_some() && job.quotes.iter().filter(has).any(|quote| is_invoiced(job, quote))
}

/// The invoice of an agreed quote, under the number that the book gives; nothing where it was not agreed, or is on an invoice
/// already. What came for invoices before it is theirs.
pub fn invoice(job: &Job, quote: &Quote, number: &str, moment: Moment, by: &str) -> Option<Invoice> {
    quote.agreed.as_ref()?;
    if is_invoiced(job, quote) {
        return None;
    }
    let shade = |line: &crate::house::QuoteLine| {
        let many = if line.count > 1 { format!("{} of ", line.count) } else { String::new() };
        QuoteSum { what: format!("{many}{}: {}", line.what, line.made), money: line.price }
    };
    let lines: Vec<QuoteSum> = quote.lines.iter().map(shade).chain(quote.sums.iter().cloned()).collect();
    let total = lines.iter().map(|line| line.money).sum();
    let at = moment.time();
    let days = u64::try_from(job.settings().unwrap_or_default().due_days).unwrap_or(0);
    Some(Invoice {
        name: number.to_owned(),
        at,
        by: by.to_owned(),
        quote: quote.name.clone(),
        takes_back: None,
        currency: quote.currency,
        lines,
        total,
        paid: (super::paid(job) - asked(job)).max(Money::ZERO),
        due: at.date_naive().checked_add_days(Days::new(days)).unwrap_or(at.date_naive()),
    })
}

/// The invoice that takes another back: the same lines below zero, under a number of its own. Nothing where it was taken back
/// already, or takes one back itself.
pub fn take_back(job: &Job, invoice: &Invoice, number: &str, moment: Moment, by: &str) -> Option<Invoice> {
    let is_gone = job.invoices.iter().any(|other| other.takes_back.as_ref() == Some(&invoice.name));
    if is_gone || invoice.takes_back.is_some() {
        return None;
    }
    let at = moment.time();
    let below = |line: &QuoteSum| QuoteSum { what: line.what.clone(), money: Money::ZERO - line.money };
    Some(Invoice {
        name: number.to_owned(),
        at,
        by: by.to_owned(),
        takes_back: Some(invoice.name.clone()),
        lines: invoice.lines.iter().map(below).collect(),
        total: Money::ZERO - invoice.total,
        paid: Money::ZERO,
        due: at.date_naive(),
        ..invoice.clone()
    })
}

/// What all invoices ask for together.
fn asked(job: &Job) -> Money {
    job.invoices.iter().map(|invoice| invoice.total).sum()
}

/// What is asked for by invoices and was not paid yet.
pub fn open(job: &Job) -> Money {
    let asked = asked(job);
    if asked == Money::ZERO { Money::ZERO } else { asked - super::paid(job) }
}

/// What is agreed on or on an invoice and was not paid yet: the last quote that was agreed on counts until it is on one.
pub fn agreed_open(job: &Job) -> Option<Money> {
    let agreed = job.quotes.iter().rev().find(|quote| quote.agreed.is_some())?;
    let more = if is_invoiced(job, agreed) { Money::ZERO } else { agreed.total };
    Some(asked(job) + more - super::paid(job))
}

//! An invoice: what was agreed, as it is asked for, under a number of its own.

use crate::fact::Moment;
use crate::house::{Invoice, Job, Quote, QuoteSum};
use crate::money::Money;
use chrono::Days;

/// The invoice of an agreed quote, under the number that the book gives; nothing where it was not agreed.
pub fn invoice(job: &Job, quote: &Quote, number: &str, moment: Moment, by: &str) -> Option<Invoice> {
    quote.agreed.as_ref()?;
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
        paid: super::paid(job),
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

/// What is asked for by invoices and was not paid yet.
pub fn open(job: &Job) -> Money {
    let asked: Money = job.invoices.iter().map(|invoice| invoice.total).sum();
    if asked == Money::ZERO { Money::ZERO } else { asked - super::paid(job) }
}

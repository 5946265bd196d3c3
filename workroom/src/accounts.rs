//! Invoices and payments of all houses as CSV, for whoever keeps the accounts: one row a line of an invoice, one a payment.

use crate::Outcome;
use crate::book::{self, BookArgs};
use anyhow::Context as _;
use chrono::NaiveDate;
use hangtrue_core::house::Job;
use hangtrue_core::money::{Currency, Money};
use std::io::Write as _;

/// The days that are asked for, the first and the last among them; all that are left out.
#[derive(Clone, Copy, Default)]
pub(crate) struct Days {
    pub from: Option<NaiveDate>,
    pub to: Option<NaiveDate>,
}

impl Days {
    fn has(self, day: NaiveDate) -> bool {
        self.from.is_none_or(|from| from <= day) && self.to.is_none_or(|to| day <= to)
    }
}

/// Writes the table of a book to the terminal or into a file.
pub(crate) fn run(book: &BookArgs, days: Days) -> anyhow::Result<Outcome> {
    write!(std::io::stdout(), "{}", csv(&book::jobs(book)?, days)?)?;
    Ok(Outcome::Good)
}

/// One row.
struct Row {
    kind: &'static str,
    day: NaiveDate,
    number: String,
    what: String,
    money: Money,
    currency: Currency,
    due: Option<NaiveDate>,
    takes_back: String,
}

/// The rows of these houses, by day.
///
/// # Errors
/// When the rows cannot be written, which memory can always.
pub(crate) fn csv(jobs: &[Job], days: Days) -> anyhow::Result<String> {
    let mut rows: Vec<(&Job, Row)> = jobs.iter().flat_map(|job| rows(job, days).map(move |row| (job, row))).collect();
    rows.sort_by(|(_, a), (_, b)| (a.day, a.kind, &a.number).cmp(&(b.day, b.kind, &b.number)));
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(["kind", "day", "number", "house", "client", "what", "amount", "currency", "due", "takes_back"])?;
    for (job, row) in rows {
        let due = row.due.map_or_else(String::new, |due| due.to_string());
        out.write_record([
            row.kind,
            &row.day.to_string(),
            &row.number,
            &plain(&job.name),
            &plain(&job.reach),
            &plain(&row.what),
            &row.currency.number(row.money).replace(',', ""),
            row.currency.code(),
            &due,
            &row.takes_back,
        ])?;
    }
    String::from_utf8(out.into_inner().context("rows in memory")?).context("rows are text")
}

/// A text that no table program takes for a formula.
fn plain(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

fn rows(job: &Job, days: Days) -> impl Iterator<Item = Row> {
    let currency = job.currency();
    let invoices = job.invoices.iter().flat_map(|invoice| {
        invoice.lines.iter().map(|line| Row {
            kind: "invoice",
            day: invoice.at.date_naive(),
            number: invoice.name.clone(),
            what: line.what.clone(),
            money: line.money,
            currency: invoice.currency,
            due: Some(invoice.due),
            takes_back: invoice.takes_back.clone().unwrap_or_default(),
        })
    });
    let payments = job.payments.iter().map(move |payment| Row {
        kind: "payment",
        day: payment.on,
        number: payment.name.clone(),
        what: payment.what.clone(),
        money: payment.money,
        currency,
        due: None,
        takes_back: String::new(),
    });
    invoices.chain(payments).filter(move |row| days.has(row.day))
}

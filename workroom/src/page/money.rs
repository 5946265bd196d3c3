//! Invoices: written from what was agreed, taken back by another, all of them with what is open, and as CSV for the accounts.

use super::desk::DeskProblem;
use super::lengths::set;
use super::views::{Content, Crumb, one_sheet};
use super::{App, guard};
use crate::accounts::{self, Days};
use crate::cloths::json;
use crate::moments;
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use axum::routing::{get, post};
use hangtrue_core::house::{Invoice, Job};
use hangtrue_core::money::Money;
use hangtrue_core::price;
use hangtrue_core::sheet::{self, Heading};
use maud::{Markup, html};
use serde::Deserialize;
use uuid::Uuid;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/money", get(show))
        .route("/money.csv", get(csv))
        .route("/house/{house}/invoices", post(write))
        .route("/house/{house}/invoices/{number}", get(one))
}

/// The invoices of a house, and the way to write one.
pub(super) fn pane(job: &Job, token: &str) -> Markup {
    let action = format!("/house/{}/invoices", job.id);
    let agreed = job.quotes.iter().rev().find(|quote| quote.agreed.is_some());
    let is_gone = |invoice: &Invoice| job.invoices.iter().any(|other| other.takes_back.as_ref() == Some(&invoice.name));
    html! {
        @if job.invoices.is_empty() { p { "None was written yet." } }
        @else {
            table.list.price { tbody {
                @for invoice in &job.invoices {
                    tr {
                        th scope="row" { a href={ (action) "/" (invoice.name) } { (invoice.name) } }
                        td { (invoice.at.date_naive())
                            @if let Some(other) = &invoice.takes_back { ", takes back " (other) }
                            @else if is_gone(invoice) { ", taken back" }
                            @else {
                                form.inline method="post" action=(action) data-plain="yes" { input type="hidden" name="token" value=(token); input type="hidden" name="back" value=(invoice.name); button.small.plain type="submit" { "Take it back" } }
                            }
                        }
                        td.n { (invoice.currency.number(invoice.total)) }
                    }
                }
            } }
        }
        @match agreed {
            None => p.soft { "An invoice is written from a quote that was agreed." },
            Some(quote) if price::is_invoiced(job, quote) => p.soft { "Quote " (quote.name) " is on an invoice. One that was wrong is taken back by another, never taken out." },
            Some(quote) => form.touch method="post" action=(action) data-plain="yes" {
                input type="hidden" name="token" value=(token);
                input type="hidden" name="quote" value=(quote.name);
                button type="submit" data-id="invoice" { "Write the invoice on quote " (quote.name) }
            },
        }
    }
}

#[derive(Deserialize)]
struct Said {
    token: String,
    #[serde(default)]
    quote: String,
    #[serde(default)]
    back: String,
}

async fn write(
    State(app): State<App>,
    Path(house): Path<Uuid>,
    Form(said): Form<Said>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&said.token) {
        return Ok(guard::stale());
    }
    let number = app
        .at_desk(move |desk| {
            let folded = desk.house(house)?;
            let job = &folded.job;
            let (number, moment) = (desk.book.next_invoice()?, moments::now());
            let written = if said.back.is_empty() {
                let quote = job.quotes.iter().find(|quote| quote.name == said.quote);
                price::invoice(job, quote.ok_or(DeskProblem::NoSuch { what: "quote" })?, &number, moment, "")
            } else {
                let invoice = job.invoices.iter().find(|invoice| invoice.name == said.back);
                price::take_back(job, invoice.ok_or(DeskProblem::NoSuch { what: "invoice" })?, &number, moment, "")
            };
            let written = written.ok_or_else(|| DeskProblem::Refused {
                what: "There is nothing to write an invoice on.".to_owned(),
                right: "An invoice is written from a quote that was agreed, and is taken back once.".to_owned(),
            })?;
            desk.set_fields(&folded, vec![(house, format!("invoices.{number}"), json(&written, job.unit))])?;
            Ok::<_, DeskProblem>(number)
        })
        .await?;
    Ok(Redirect::to(&format!("/house/{house}/invoices/{number}")).into_response())
}

async fn one(
    State(app): State<App>,
    headers: HeaderMap,
    Path((house, number)): Path<(Uuid, String)>,
) -> Result<Response, DeskProblem> {
    app.page(&headers, format!("/house/{house}/invoices/{number}"), move |desk| {
        let job = desk.house(house)?.job;
        let invoice = job.invoices.iter().find(|invoice| invoice.name == number);
        let invoice = invoice.ok_or(DeskProblem::NoSuch { what: "invoice" })?;
        let day = moments::today();
        let sheet = sheet::invoice(&Heading { job: &job, unit: job.unit, day: &day }, invoice);
        let trail = vec![Crumb::house(&job), Crumb::to("Page", "Prices and quotes", format!("/house/{house}/prices"))];
        let prices = format!("/house/{house}/prices");
        let title = format!("Invoice {}", invoice.name);
        let markup = one_sheet(&title, (&prices, "Prices and quotes"), &sheet);
        Ok(Content { title: format!("{title}, {}", job.name), trail, outdoors: false, markup })
    })
    .await
}

async fn show(State(app): State<App>, headers: HeaderMap) -> Result<Response, DeskProblem> {
    app.page(&headers, "/money".to_owned(), |desk| Ok(page(&desk.jobs(|_| true)?))).await
}

fn page(jobs: &[Job]) -> Content {
    let mut invoices: Vec<(&Job, &Invoice)> =
        jobs.iter().flat_map(|job| job.invoices.iter().map(move |invoice| (job, invoice))).collect();
    invoices.sort_by_key(|(_, invoice)| std::cmp::Reverse((invoice.at, invoice.name.clone())));
    let open: Vec<(&Job, Money)> =
        jobs.iter().map(|job| (job, price::open(job))).filter(|(_, open)| *open != Money::ZERO).collect();
    let markup = html! {
        section.pane.broad {
            h1 { "Invoices" }
            h2 { "Open" }
            @if open.is_empty() { p { "Nothing is open." } }
            @else { table.list.price { tbody { @for (job, open) in &open { tr { th scope="row" { a href={ "/house/" (job.id) "/prices" } { (job.name) } } td.n { b { (job.currency().show(*open)) } } } } } } }
            h2 { "Written" }
            @if invoices.is_empty() { p { "None was written yet: open a house, its prices, and agree on a quote." } }
            @else {
                table.list {
                    thead { tr { th { "Number" } th { "Day" } th { "House" } th.n { "Total" } } }
                    tbody { @for (job, invoice) in &invoices { tr {
                        td { a href={ "/house/" (job.id) "/invoices/" (invoice.name) } { (invoice.name) } @if let Some(other) = &invoice.takes_back { br; span.soft { "takes back " (other) } } }
                        td { (invoice.at.date_naive()) } td { (set(&job.name)) } td.n { (invoice.currency.show(invoice.total)) }
                    } } }
                }
            }
            p.soft.note { "A number is the sign of the desk and a count that neither repeats nor skips there. Two desks cannot ask each other, so each has its own sign." }
        }
        section.pane {
            h2 { "For the accounts" }
            p { "Every line of every invoice, and every payment, as CSV." }
            form.taking method="get" action="/money.csv" {
                label { span { "From, or empty" } input type="date" name="from"; }
                label { span { "To, or empty" } input type="date" name="to"; }
                button type="submit" data-id="money_csv" { "Save the file" }
            }
        }
    };
    Content { title: "Invoices".to_owned(), trail: vec![Crumb::here("Workroom", "Invoices")], outdoors: false, markup }
}

#[derive(Deserialize)]
struct Between {
    #[serde(default)]
    from: String,
    #[serde(default)]
    to: String,
}

async fn csv(State(app): State<App>, Query(between): Query<Between>) -> Result<Response, DeskProblem> {
    let day = |text: &str| match text.trim() {
        "" => Ok(None),
        text => text.parse().map(Some).map_err(|_| DeskProblem::Refused {
            what: format!("\"{text}\" is no day."),
            right: "Write it like 2026-05-04, or leave it empty.".to_owned(),
        }),
    };
    let days = Days { from: day(&between.from)?, to: day(&between.to)? };
    let jobs = app.at_desk(|desk| desk.jobs(|_| true)).await?;
    let csv = accounts::csv(&jobs, days).map_err(|error| DeskProblem::Refused {
        what: format!("The rows cannot be written: {error}."),
        right: "Try again.".to_owned(),
    })?;
    let named = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"accounts.csv\""),
    ];
    Ok((named, csv).into_response())
}

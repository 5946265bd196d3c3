//! As it hangs: what was really done at the window, what was wrong and why; and what the workroom's mistakes cost in a year.

use super::desk::DeskProblem;
use super::lengths::set;
use super::views::{Content, Crumb};
use super::{App, guard};
use crate::cloths::json;
use crate::moments;
use axum::Router;
use axum::extract::{Form, Path, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum::routing::{get, post};
use chrono::{Local, Months, NaiveDate};
use hangtrue_core::house::{Defect, DefectCause, Done, Job, Opening, Place, Workroom};
use hangtrue_core::length::{Length, LengthUnit, Typed};
use hangtrue_core::money::{Currency, Money};
use hangtrue_core::price::{self, Mistakes, Sum};
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use uuid::Uuid;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/house/{house}/opening/{opening}/hung", post(keep))
        .route("/house/{house}/opening/{opening}/defect", post(blame))
        .route("/mistakes", get(mistakes))
}

/// What was done at the window and what was wrong: on the page of an opening whose shade is made.
pub(super) fn pane(job: &Job, opening: &Opening, token: &str) -> Markup {
    let progress = &opening.progress;
    if progress.made.is_none() && progress.hung.is_none() && opening.defects.is_empty() {
        return html! {};
    }
    let at = format!("/house/{}/opening/{}", job.id, opening.id);
    let hung = progress.hung.as_ref();
    let kept = |of: fn(&Done) -> &String| hung.map(of).map_or("", String::as_str);
    let size = |of: fn(&Done) -> &Option<Typed>| {
        hung.and_then(|hung| of(hung).as_ref()).map_or_else(String::new, |typed| typed.value().show(job.unit))
    };
    html! {
        section.pane.hung-pane {
            h2 { "As it hangs" }
            @if let Some(hung) = hung { p { "Hung on " (hung.at.date_naive()) @if !hung.by.is_empty() { " by " (hung.by) } "." @if !hung.content.is_empty() { " " (hung.content) " saw it and was content." } } }
            form.taking method="post" action={ (at) "/hung" } data-plain="yes" {
                input type="hidden" name="token" value=(token);
                label { span { "Width as it measures, " (job.unit.name()) } input type="text" name="width" value=(size(|done| &done.width)) maxlength="20" data-id="hung_width"; }
                label { span { "Length as it measures, " (job.unit.name()) } input type="text" name="length" value=(size(|done| &done.length)) maxlength="20"; }
                label { span { "Fixed with what, to what; shims" } input type="text" name="fixed" value=(kept(|done| &done.fixed)) maxlength="300" data-id="hung_fixed"; }
                label { span { "Who of the house saw it and is content" } input type="text" name="content" value=(kept(|done| &done.content)) maxlength="120"; }
                label { span { "A remark" } input type="text" name="note" value=(kept(|done| &done.note)) maxlength="300"; }
                button.main type="submit" data-id="keep_hung" { @if hung.is_some() { "Keep" } @else { "It hangs" } }
            }
            @if !opening.defects.is_empty() {
                h3 { "What was wrong" }
                ul.plain { @for defect in &opening.defects { li { b { (defect.what) } ", " (defect.on) ": " (defect.cause.words()) @if let Some(place) = defect.place { ", " (place.words()) } (cost(defect, job.currency())) } } }
            }
            details {
                summary { "Something is wrong with it" }
                form.taking method="post" action={ (at) "/defect" } data-plain="yes" {
                    input type="hidden" name="token" value=(token);
                    label { span { "What" } input type="text" name="what" required maxlength="200" data-id="defect_what"; }
                    label { span { "It came from" } select name="cause" data-id="defect_cause" { @for cause in DefectCause::ALL { option value=(cause.code()) { (cause.words()) } } } }
                    label { span { "Which reading, if one was to blame" } select name="place" { option value="" { "none" } @for place in Place::ALL { option value=(place.code()) { (place.words()) } } } }
                    label { span { "Cost in cloth and things, " (job.currency().code()) } input type="text" inputmode="decimal" name="money" maxlength="12"; }
                    label { span { "Minutes it took" } input type="text" inputmode="numeric" name="minutes" maxlength="5"; }
                    button type="submit" data-id="defect" { "Write it down" }
                }
            }
        }
    }
}

fn cost(defect: &Defect, currency: Currency) -> String {
    let mut all = String::new();
    if defect.money != Money::ZERO {
        all.push_str(&format!(", {}", currency.show(defect.money)));
    }
    if defect.minutes > 0 {
        all.push_str(&format!(", {} min", defect.minutes));
    }
    all
}

fn refuse(what: impl Into<String>, right: &str) -> DeskProblem {
    DeskProblem::Refused { what: what.into(), right: right.to_owned() }
}

#[derive(Deserialize)]
struct Hung {
    token: String,
    #[serde(default)]
    width: String,
    #[serde(default)]
    length: String,
    #[serde(default)]
    fixed: String,
    #[serde(default)]
    content: String,
    #[serde(default)]
    note: String,
}

fn measured(text: &str, what: &str, unit: LengthUnit) -> Result<Option<Typed>, DeskProblem> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let length = Length::parse(text.trim(), unit).ok().filter(|length| *length > Length::ZERO);
    let length = length.ok_or_else(|| {
        refuse(format!("\"{text}\" is no {what}."), "Write it as the tape shows it, or leave it empty.")
    })?;
    Ok(Some(Typed::exact(length, unit)))
}

async fn keep(
    State(app): State<App>,
    Path((house, opening)): Path<(Uuid, Uuid)>,
    Form(said): Form<Hung>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&said.token) {
        return Ok(guard::stale());
    }
    app.at_desk(move |desk| {
        let folded = desk.house(house)?;
        let unit = folded.job.unit;
        let one = find(&folded.job, opening)?;
        let was = one.progress.hung.clone();
        let done = Done {
            at: was.as_ref().map_or_else(|| moments::now().time(), |was| was.at),
            by: was.map(|was| was.by).unwrap_or_default(),
            width: measured(&said.width, "width", unit)?,
            length: measured(&said.length, "length", unit)?,
            cloth: one.choices.cloth.clone(),
            parts: Vec::new(),
            from: Vec::new(),
            fixed: said.fixed.trim().to_owned(),
            content: said.content.trim().to_owned(),
            note: said.note.trim().to_owned(),
        };
        desk.set_fields(&folded, vec![(opening, "progress.hung".to_owned(), json(&done, unit))])
    })
    .await?;
    Ok(Redirect::to(&format!("/house/{house}/opening/{opening}")).into_response())
}

fn find(job: &Job, opening: Uuid) -> Result<&Opening, DeskProblem> {
    job.openings().find(|(_, one)| one.id == opening).map(|(_, one)| one).ok_or(DeskProblem::NoSuch { what: "opening" })
}

#[derive(Deserialize)]
struct Blame {
    token: String,
    #[serde(default)]
    what: String,
    #[serde(default)]
    cause: String,
    #[serde(default)]
    place: String,
    #[serde(default)]
    money: String,
    #[serde(default)]
    minutes: String,
}

async fn blame(
    State(app): State<App>,
    Path((house, opening)): Path<(Uuid, Uuid)>,
    Form(said): Form<Blame>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&said.token) {
        return Ok(guard::stale());
    }
    app.at_desk(move |desk| {
        let folded = desk.house(house)?;
        find(&folded.job, opening)?;
        let defect = read(&said, folded.job.currency(), Local::now().date_naive())?;
        desk.set_fields(&folded, vec![(opening, format!("defects.{}", defect.name), json(&defect, folded.job.unit))])
    })
    .await?;
    Ok(Redirect::to(&format!("/house/{house}/opening/{opening}")).into_response())
}

fn read(said: &Blame, currency: Currency, on: NaiveDate) -> Result<Defect, DeskProblem> {
    let what = said.what.trim();
    if what.is_empty() {
        return Err(refuse("It is not said what is wrong.", "Write a few words: \"rubs at the left\"."));
    }
    let money = match said.money.trim() {
        "" => Money::ZERO,
        typed => currency
            .read_amount(typed)
            .ok_or_else(|| refuse(format!("\"{typed}\" is no amount."), "Write it like 48.00, or leave it empty."))?,
    };
    let minutes = match said.minutes.trim() {
        "" => 0,
        typed => typed
            .parse()
            .map_err(|_| refuse(format!("\"{typed}\" are no minutes."), "Write a whole number, or leave it empty."))?,
    };
    Ok(Defect {
        name: moments::now().uuid().to_string(),
        on,
        what: what.to_owned(),
        cause: DefectCause::ALL
            .into_iter()
            .find(|cause| cause.code() == said.cause)
            .ok_or_else(|| refuse("It is not said where it came from.", "Choose one of the list."))?,
        place: Place::ALL.iter().copied().find(|place| place.code() == said.place),
        money,
        minutes,
    })
}

async fn mistakes(State(app): State<App>, headers: HeaderMap) -> Result<Response, DeskProblem> {
    app.page(&headers, "/mistakes".to_owned(), |desk| {
        let jobs = desk.jobs(|_| true)?;
        let workroom = desk.house(Workroom::ID)?.job;
        let hour = workroom.settings().map_or(0, |settings| settings.hour_price);
        let today = Local::now().date_naive();
        let year_ago = today.checked_sub_months(Months::new(12)).unwrap_or(today);
        let currency = workroom.trade.currency.unwrap_or(Currency::USUAL);
        Ok(page(&price::mistakes(&jobs, year_ago, currency, hour), currency, hour > 0))
    })
    .await
}

fn page(found: &Mistakes<'_>, currency: Currency, timed: bool) -> Content {
    let bar = |words: &'static str, sum: &Sum| (words, sum.many, currency.number(sum.cost));
    let strange = found.all.iter().filter(|one| one.cost.is_none()).count();
    let markup = html! {
        section.pane.broad {
            h1 { "Mistakes" }
            @if found.all.is_empty() { p { "None was written down in the last year, of " (shades(found.hung)) " hung. What is wrong with a shade is written down on its opening's page." } }
            @else {
                p.lead { b { (found.all.len()) } " in the last year, of " (shades(found.hung)) " hung; together " b { (currency.show(found.whole.cost)) } @if timed { ", time among it." } @else { " in things, and " (found.whole.minutes) " minutes, which have no price yet." } }
                @if strange > 0 { p { (strange) " in houses of another currency, not added." } }
                h2 { "Where they came from" }
                (bars(found.causes.iter().map(|(cause, sum)| bar(cause.words(), sum))))
                @if !found.places.is_empty() { h2 { "Which readings were to blame" } (bars(found.places.iter().map(|(place, sum)| bar(place.words(), sum)))) }
                h2 { "Each" }
                table.list.price { tbody { @for one in &found.all { tr { th scope="row" { (one.defect.on) } td { a href={ "/house/" (one.job.id) "/opening/" (one.opening) } { (one.job.name) ", " (one.name) } ": " (set(&one.defect.what)) } td { (one.defect.cause.words()) } td.n { (one.cost.map_or_else(|| "not added".to_owned(), |cost| currency.number(cost))) } } } } }
            }
        }
    };
    Content { title: "Mistakes".to_owned(), trail: vec![Crumb::here("Workroom", "Mistakes")], outdoors: false, markup }
}

fn shades(many: usize) -> String {
    if many == 1 { "1 shade that was".to_owned() } else { format!("{many} shades that were") }
}

/// Bars side by side, each with its number and what it cost in words beside it: the picture says no more than they do.
fn bars<'a>(rows: impl Iterator<Item = (&'a str, u32, String)>) -> Markup {
    let rows: Vec<_> = rows.collect();
    let most = rows.iter().map(|(_, many, _)| *many).max().unwrap_or(1).max(1);
    html! {
        table.list.price.bars { tbody {
            @for (what, many, cost) in &rows { tr {
                th scope="row" { (what) }
                td { (PreEscaped(format!(r#"<svg width="100%" height="14" viewBox="0 0 100 14" preserveAspectRatio="none" aria-hidden="true"><rect width="{}" height="14" fill="currentColor"/></svg>"#, many * 100 / most))) }
                td.n { (many) }
                td.n { (cost) }
            } }
        } }
    }
}

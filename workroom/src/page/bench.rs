//! The workroom's bench over all houses: what can be done now and why not the rest, how full it is, what can be promised; and
//! the days that were agreed.

use super::desk::DeskProblem;
use super::lengths::set;
use super::views::{Content, Crumb, one_sheet};
use super::{App, guard};
use crate::calendar;
use crate::cloths::json;
use crate::moments;
use axum::Router;
use axum::extract::{Form, Path, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use axum::routing::get;
use chrono::{Local, NaiveDate, NaiveTime};
use hangtrue_core::buying::Shop;
use hangtrue_core::house::{Job, Visit, VisitKind};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::price::bench::{Next, OnBench, Promise, after_days, full, may_fill, on_bench, promise, promise_of};
use hangtrue_core::settings::Settings;
use hangtrue_core::work;
use maud::{Markup, html};
use serde::Deserialize;
use uuid::Uuid;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/bench", get(show))
        .route("/calendar.ics", get(ics))
        .route("/kit/{day}", get(kit))
        .route("/house/{house}/days", get(days).post(change_days))
}

/// A house with its shades on the bench.
struct OfHouse {
    id: Uuid,
    name: String,
    rows: Vec<OnBench>,
}

fn of_house(job: &Job, today: NaiveDate) -> Option<OfHouse> {
    let worked = work::house(job, Catalogue::standard(job.unit)).ok()?;
    let shop = Shop::standard(job.unit);
    let rows = on_bench(&worked, &work::plans(&worked, shop), shop, today);
    (!rows.is_empty()).then(|| OfHouse { id: job.id, name: job.name.clone(), rows })
}

async fn show(State(app): State<App>, headers: HeaderMap) -> Result<Response, DeskProblem> {
    let (version, jobs, settings) = app
        .at_desk(|desk| {
            let jobs = desk.jobs(|line| !line.away)?;
            let workroom = desk.workroom()?.job;
            let settings = workroom.settings().unwrap_or_else(|_| Settings::defaults(workroom.unit));
            Ok::<_, DeskProblem>((desk.version(), jobs, settings))
        })
        .await?;
    let today = Local::now().date_naive();
    let content = tokio::task::spawn_blocking(move || {
        let houses: Vec<OfHouse> = jobs.iter().filter_map(|job| of_house(job, today)).collect();
        page(&houses, &jobs, &settings, today)
    });
    let content = content.await.expect("work on the bench does not panic");
    Ok(app.framed(&headers, "/bench", version, &content))
}

fn page(houses: &[OfHouse], jobs: &[Job], settings: &Settings, today: NaiveDate) -> Content {
    let full: i64 = houses.iter().map(|house| full(&house.rows)).sum();
    let next = |next: Next| -> Vec<(&OfHouse, &OnBench)> {
        let all = houses.iter().flat_map(|house| house.rows.iter().map(move |row| (house, row)));
        all.filter(|(_, row)| row.now == Some(next)).collect()
    };
    let waiting: Vec<(&OfHouse, &OnBench)> = houses
        .iter()
        .flat_map(|house| house.rows.iter().map(move |row| (house, row)))
        .filter(|(_, row)| row.now.is_none())
        .collect();
    let mut to_come: Vec<(&Job, &Visit)> = jobs
        .iter()
        .flat_map(|job| job.visits.iter().map(move |visit| (job, visit)))
        .filter(|(_, visit)| visit.on >= today)
        .collect();
    to_come.sort_by_key(|(_, visit)| (visit.on, visit.at));
    let promised = promise(today, full, 0, after_days(today, settings.cloth_days), settings);
    let markup = html! {
        section.pane.broad {
            h1 { "The bench" }
            p.lead { "Full for " b { (hours(full)) } ": free on " b { (promised.free) } ". A shade that is agreed today can be promised for " b { (promised.promise) } " at the earliest." }
            p.soft.note { "Work that is agreed or begun, by the minutes of the prices, " (settings.bench_minutes) " minutes a day on " (settings.bench_days) " days a week; cloth in " (settings.cloth_days) " days; " (settings.grace_days) " working days of grace. " a href={ "/house/" (hangtrue_core::house::Workroom::ID) "/settings?find=days" } { "These numbers" } "." }
        }
        section.pane.broad {
            h2 { "Can be done now" }
            @if houses.iter().all(|house| house.rows.iter().all(|row| row.now.is_none())) { p { "Nothing: all waits, or there is nothing to do." } }
            @for kind in Next::ALL {
                @let rows = next(kind);
                @if !rows.is_empty() { h3 { (hangtrue_core::flag::sentence(kind.words()).trim_end_matches('.')) " (" (rows.len()) ")" } (table(&rows)) }
            }
        }
        @if !waiting.is_empty() { section.pane.broad { h2 { "Waits" } (table(&waiting)) } }
        section.pane.broad {
            h2 { "Days agreed" }
            @if to_come.is_empty() { p { "None is to come." } }
            @for (n, (job, visit)) in to_come.iter().enumerate() {
                @if n == 0 || to_come[n - 1].1.on != visit.on { h3 { (visit.on) } p { a.as-button href={ "/kit/" (visit.on) } { "Kit of the day" } } }
                p { b { (clock(visit)) } " " a href={ "/house/" (job.id) "/days" } { (job.name) } ": " (visit.what.words()) @if !visit.note.is_empty() { ". " span.soft { (visit.note) } } }
            }
            p { a.as-button href="/calendar.ics" { "All days as a calendar file" } }
        }
    };
    Content {
        title: "The bench".to_owned(),
        trail: vec![Crumb::here("Workroom", "The bench")],
        outdoors: false,
        markup,
    }
}

fn table(rows: &[(&OfHouse, &OnBench)]) -> Markup {
    html! {
        table.list.bench {
            thead { tr { th { "Shade" } th { "Stands" } th.n { "On the bench" } } }
            tbody {
                @for (house, row) in rows {
                    tr {
                        td { a href={ "/house/" (house.id) "/opening/" (row.opening) } { (row.name) } br; span.soft { (house.name) } }
                        td { (set(&row.last)) @if !row.waits_for.is_empty() { br; "waits for " (row.waits_for) } }
                        td.n { (hours(row.minutes)) }
                    }
                }
            }
        }
    }
}

fn hours(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, 0) => "\u{2013}".to_owned(),
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

fn clock(visit: &Visit) -> String {
    visit.at.map_or_else(|| "all day".to_owned(), |at| at.format("%H:%M").to_string())
}

fn when(visit: &Visit) -> String {
    format!("{}, {}", visit.on, clock(visit))
}

/// What is carried to the houses of a day, all of them on one sheet.
async fn kit(State(app): State<App>, headers: HeaderMap, Path(day): Path<String>) -> Result<Response, DeskProblem> {
    let day: NaiveDate = day.parse().map_err(|_| DeskProblem::NoSuch { what: "day" })?;
    let (version, jobs) = app
        .at_desk(move |desk| {
            let jobs = desk.jobs(|_| true)?;
            let there = |job: &Job| job.visits.iter().any(|visit| visit.on == day && visit.what != VisitKind::Measure);
            Ok::<_, DeskProblem>((desk.version(), jobs.into_iter().filter(there).collect::<Vec<Job>>()))
        })
        .await?;
    let content = tokio::task::spawn_blocking(move || {
        let worked = jobs.iter().filter_map(|job| work::house(job, Catalogue::standard(job.unit)).ok());
        let worked: Vec<work::WorkedHouse<'_>> = worked.collect();
        let sheet = crate::kit::sheet_of(&worked.iter().collect::<Vec<_>>(), None);
        let markup = match &sheet {
            Some(sheet) => one_sheet(&format!("Kit for {day}"), ("/bench", "The bench"), sheet),
            None => html! { p { "Nothing is hung on " (day) "." } },
        };
        Content {
            title: format!("Kit for {day}"),
            trail: vec![Crumb::to("Workroom", "The bench", "/bench".to_owned())],
            outdoors: false,
            markup,
        }
    });
    let content = content.await.expect("work on a kit does not panic");
    Ok(app.framed(&headers, &format!("/kit/{day}"), version, &content))
}

async fn ics(State(app): State<App>) -> Result<Response, DeskProblem> {
    let jobs = app.at_desk(|desk| desk.jobs(|line| !line.away)).await?;
    let named = [
        (header::CONTENT_TYPE, "text/calendar; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"days.ics\""),
    ];
    Ok((named, calendar::ics(&jobs)).into_response())
}

async fn days(State(app): State<App>, headers: HeaderMap, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    let (version, job, others) = app
        .at_desk(move |desk| {
            let job = desk.house(house)?.job;
            let others = desk.jobs(|line| !line.away && line.job != house)?;
            Ok::<_, DeskProblem>((desk.version(), job, others))
        })
        .await?;
    // Plans take their time: the book is not kept from others meanwhile.
    let content = tokio::task::spawn_blocking(move || {
        let today = Local::now().date_naive();
        let others = others.iter().filter(|job| may_fill(job)).filter_map(|job| of_house(job, today));
        let before = others.map(|house| full(&house.rows)).sum();
        days_page(&job, before, &token)
    });
    let content = content.await.expect("work on the bench does not panic");
    Ok(app.framed(&headers, &format!("/house/{house}/days"), version, &content))
}

fn days_page(job: &Job, before: i64, token: &str) -> Content {
    let at = format!("/house/{}/days", job.id);
    let today = Local::now().date_naive();
    let settings = job.settings().unwrap_or_else(|_| Settings::defaults(job.unit));
    let rows = of_house(job, today).map_or_else(Vec::new, |house| house.rows);
    let Promise { free, cloth_in, own, promise } = promise_of(&rows, today, before, &settings);
    let mut visits: Vec<&Visit> = job.visits.iter().collect();
    visits.sort_by_key(|visit| (visit.on, visit.at));
    let markup = html! {
        section.pane {
            h1 { "Days" }
            @if own > 0 {
                p.lead { "The earliest day to promise: " b { (promise) } "." }
                p.soft.note { (hours(own)) " on the bench, which is free of others on " (free) @if cloth_in > today { "; its cloth can be here on " (cloth_in) } "; " (settings.grace_days) " working days of grace." }
            }
            @if visits.is_empty() { p { "No day is agreed yet." } }
            @else { table.list.price { tbody {
                @for visit in &visits { tr {
                    th scope="row" { (when(visit)) }
                    td { (visit.what.words()) ", " (hours(i64::from(visit.minutes))) @if !visit.note.is_empty() { br; span.soft { (visit.note) } } }
                    td { form.inline method="post" action=(at) data-plain="yes" { input type="hidden" name="token" value=(token); input type="hidden" name="drop" value=(visit.name); button.small.plain type="submit" { "Take out" } } }
                } }
            } } }
        }
        section.pane {
            h2 { "Agree on a day" }
            form.taking method="post" action=(at) data-plain="yes" {
                input type="hidden" name="token" value=(token);
                label { span { "What for" } select name="what" data-id="visit_what" { @for (kind, code) in VisitKind::ALL { option value=(code) { (kind.words()) } } } }
                label { span { "Day" } input type="date" name="on" required data-id="visit_on"; }
                label { span { "From, as the clock there shows; empty: the whole day" } input type="time" name="at" data-id="visit_at"; }
                label { span { "Minutes" } input type="text" inputmode="numeric" name="minutes" value="60" maxlength="4"; }
                label { span { "A remark" } input type="text" name="note" maxlength="200"; }
                button.main type="submit" data-id="visit_add" { "Write it down" }
            }
        }
    };
    Content {
        title: format!("Days, {}", job.name),
        trail: vec![Crumb::house(job), Crumb::here("Page", "Days")],
        outdoors: false,
        markup,
    }
}

#[derive(Deserialize)]
struct Said {
    token: String,
    #[serde(default)]
    drop: String,
    #[serde(default)]
    what: String,
    #[serde(default)]
    on: String,
    #[serde(default)]
    at: String,
    #[serde(default)]
    minutes: String,
    #[serde(default)]
    note: String,
}

async fn change_days(
    State(app): State<App>,
    Path(house): Path<Uuid>,
    Form(said): Form<Said>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&said.token) {
        return Ok(guard::stale());
    }
    app.at_desk(move |desk| {
        let folded = desk.house(house)?;
        let field = |name: &str| format!("visits.{name}");
        if !said.drop.is_empty() {
            return desk.set_fields(&folded, vec![(house, field(&said.drop), serde_json::Value::Null)]);
        }
        let visit = read(&said)?;
        desk.set_fields(&folded, vec![(house, field(&visit.name), json(&visit, folded.job.unit))])
    })
    .await?;
    Ok(Redirect::to(&format!("/house/{house}/days")).into_response())
}

fn read(said: &Said) -> Result<Visit, DeskProblem> {
    let refuse = |what: String, right: &str| DeskProblem::Refused { what, right: right.to_owned() };
    let on: NaiveDate =
        said.on.parse().map_err(|_| refuse(format!("\"{}\" is no day.", said.on), "Write it like 2026-05-04."))?;
    let at =
        if said.at.trim().is_empty() {
            None
        } else {
            let read = NaiveTime::parse_from_str(said.at.trim(), "%H:%M");
            Some(read.map_err(|_| {
                refuse(format!("\"{}\" is no time.", said.at), "Write it like 14:30, or leave it empty.")
            })?)
        };
    let minutes = said.minutes.trim().parse().ok().filter(|minutes| (1..=1_440).contains(minutes));
    let minutes = minutes.ok_or_else(|| {
        refuse(format!("\"{}\" are no minutes.", said.minutes), "Write a whole number from 1 to 1440.")
    })?;
    let what =
        VisitKind::ALL.into_iter().find(|(_, code)| *code == said.what).map_or(VisitKind::Hang, |(kind, _)| kind);
    let name = moments::now().uuid().to_string();
    Ok(Visit { name, what, on, at, minutes, note: said.note.trim().to_owned() })
}

//! The shelf on the page: pieces of cloth, whose they are, and what is wrong with them; and cloths and shelf as tables.

use super::cloths::{again, in_path};
use super::desk::{Desk, DeskProblem};
use super::fields::{fields, refused};
use super::lengths::{column, set};
use super::views::{Content, Crumb};
use super::{App, guard};
use crate::cloths::{Slip, Typing, json, piece as typed, table, written};
use crate::moments;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Form, Multipart, Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use hangtrue_core::buying::Shop;
use hangtrue_core::house::{Cloth, Job, ShelfPiece, Workroom};
use hangtrue_core::length::Typed;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::work;
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::Value;
use uuid::Uuid;

/// Pieces on one page of the list.
const PIECES: usize = 100;
/// The largest table, bytes.
const TABLE_BYTES: usize = 4 * 1024 * 1024;
/// Slips of a table that are told one by one.
const SLIPS: usize = 50;
/// Houses of which it is worked out what a table of cloths changes.
const HOUSES: usize = 40;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/shelf", get(list))
        .route("/shelf/one", get(one))
        .route("/shelf/keep", post(keep))
        .route("/shelf/out", post(take_out))
        .route("/tables/{what}", get(download))
        .route("/tables/{what}/look", post(look).layer(DefaultBodyLimit::max(TABLE_BYTES)))
        .route("/tables/{what}/take", post(take).layer(DefaultBodyLimit::max(TABLE_BYTES)))
}

#[derive(Deserialize)]
struct Asked {
    #[serde(default)]
    find: String,
    #[serde(default)]
    from: usize,
    #[serde(default)]
    done: String,
}

async fn list(State(app): State<App>, headers: HeaderMap, Query(find): Query<Asked>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, "/shelf".to_owned(), move |desk| {
        Ok(list_page(&desk.workroom()?.job, &desk.names()?, &find, &token))
    })
    .await
}

/// A house's name; a house that is not here is one of another device.
fn named(houses: &[(Uuid, String)], id: Uuid) -> &str {
    houses.iter().find(|(known, _)| *known == id).map_or("a house that is not in this book", |(_, name)| name)
}

fn list_page(workroom: &Job, houses: &[(Uuid, String)], find: &Asked, token: &str) -> Content {
    let unit = workroom.unit;
    let is_found = |piece: &ShelfPiece| {
        let owner = piece.owner.map_or("", |id| named(houses, id));
        let of = format!("{} {} {} {owner}", piece.cloth, piece.lot, piece.note).to_lowercase();
        find.find.to_lowercase().split_whitespace().all(|word| of.contains(word))
    };
    let mut found: Vec<(&Uuid, &ShelfPiece)> =
        workroom.shelf.iter().filter(|(_, piece)| !piece.gone && is_found(piece)).collect();
    found.sort_by_key(|(id, piece)| {
        (piece.cloth.to_lowercase(), piece.lot.clone(), std::cmp::Reverse(piece.length.value()), **id)
    });
    let any = workroom.shelf.values().any(|piece| !piece.gone);
    let usable = |piece: &ShelfPiece| {
        let cloth = workroom.cloths.iter().find(|cloth| cloth.name == piece.cloth);
        let of_cloth = || cloth.map(|cloth| cloth.usable.as_ref().unwrap_or(&cloth.width).value());
        piece
            .usable
            .as_ref()
            .map(Typed::value)
            .or_else(of_cloth)
            .map_or_else(String::new, |width| width.show_marked(unit))
    };
    let markup = html! {
        section.pane {
            h1 { "The shelf" }
            @if !find.done.is_empty() { p.notice role="status" { (find.done) } }
            @if !any {
                p.lead { "Nothing is on the shelf. What lies here is used before cloth is bought, where the pattern allows it." }
            } @else {
                form.find method="get" action="/shelf" role="search" {
                    label { span { "Find a piece by cloth, lot, remark or whose it is" } input type="search" name="find" value=(find.find); }
                    button type="submit" { "Find" }
                }
                @if found.is_empty() { p { "No piece has that in its words." } } @else {
                    table.list.shelf {
                        thead { tr { th { "Piece" } th.n { "Long" } th.n { "Usable" } th { "Lot" } th { "What to know" } } }
                        tbody {
                            @for (id, piece) in found.iter().skip(find.from).take(PIECES) {
                                tr {
                                    td { a href={ "/shelf/one?id=" (id) } { (piece.cloth) } @if let Some(owner) = piece.owner { br; span.soft { "of " (named(houses, owner)) } } }
                                    td.n { (column(&piece.length.value().show_marked(unit))) }
                                    td.n { (column(&usable(piece))) }
                                    td { (piece.lot) }
                                    td {
                                        @if let Some(line) = &piece.first_line { div { "first line at " (set(&written(line, unit))) } }
                                        @if !piece.flaws.is_empty() { div { "flaws: " (set(&typed::flaw_words(piece, &|typed| written(typed, unit)))) } }
                                        @if let Some(of) = piece.offcut_of { div { "left of " (named(houses, of)) } }
                                        @if let Some(house) = piece.cut_for { div { "set aside for " (named(houses, house)) } }
                                        (piece.note)
                                    }
                                }
                            }
                        }
                    }
                    @if found.len() > find.from + PIECES { p { a href={ "/shelf?from=" (find.from + PIECES) "&find=" (in_path(&find.find)) } { "The next of " (found.len()) } } }
                }
            }
            div.row {
                @if workroom.cloths.is_empty() { a.as-button.main href="/cloths/one" { "Add a cloth first" } } @else { a.as-button.main href="/shelf/one" { "Put a piece on the shelf" } }
                a.as-button href="/cloths" { "Cloths" }
            }
        }
        (tables("shelf", "the shelf", token))
    };
    Content {
        title: "The shelf".to_owned(),
        trail: vec![Crumb::here("Workroom", "The shelf")],
        outdoors: false,
        markup,
    }
}

/// Out as a table, and in again.
pub(super) fn tables(what: &str, words: &str, token: &str) -> Markup {
    html! {
        section.pane {
            h2 { "As a table" }
            p { "Spreadsheets read and write it (CSV). A row that cannot be used is named by its line and column; the others go in." }
            div.row { a.as-button href={ "/tables/" (what) } download={ (what) ".csv" } { "Save " (words) " as a table" } }
            details {
                summary { "Take a table in" }
                form.taking method="post" action={ "/tables/" (what) "/look" } enctype="multipart/form-data" data-plain="yes" {
                    input type="hidden" name="token" value=(token);
                    label { span { "The file" } input type="file" name="file" accept=".csv,text/csv,text/plain"; }
                    label { span { "Or its text" } textarea name="text" rows="5" spellcheck="false" {} }
                    button type="submit" data-id={ "look_" (what) } { "Look at it" }
                }
            }
        }
    }
}

#[derive(Deserialize)]
struct One {
    id: Option<Uuid>,
    #[serde(default)]
    cloth: String,
}

async fn one(State(app): State<App>, headers: HeaderMap, Query(one): Query<One>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, String::new(), move |desk| {
        let (workroom, houses) = (desk.workroom()?.job, desk.names()?);
        let typing = match one.id {
            None => Typing::of([("cloth", one.cloth.as_str())]),
            Some(id) => match workroom.shelf.get(&id) {
                Some(piece) => typed::typing(piece, &houses, workroom.unit),
                None => return Err(DeskProblem::NoSuch { what: "piece" }),
            },
        };
        Ok(form_page(&workroom, &houses, one.id, &typing, &[], &token))
    })
    .await
}

fn form_page(
    workroom: &Job,
    houses: &[(Uuid, String)],
    id: Option<Uuid>,
    typing: &Typing,
    slips: &[Slip],
    token: &str,
) -> Content {
    let unit = if workroom.unit.is_imperial() { "inches" } else { "millimetres" };
    let set_aside = id.and_then(|id| workroom.shelf.get(&id)).and_then(|piece| piece.cut_for);
    let around = html! {
        input type="hidden" name="token" value=(token);
        @if let Some(id) = id { input type="hidden" name="id" value=(id); }
    };
    let markup = html! {
        datalist #cloth-names { @for cloth in &workroom.cloths { option value=(cloth.name) {} } }
        datalist #house-names { @for (_, name) in houses { option value=(name) {} } }
        section.pane {
            h1 { @if id.is_some() { "A piece of " (typing.get("cloth")) } @else { "A new piece" } }
            (refused(&typed::FIELDS, slips))
            @if let Some(house) = set_aside { p { "It is set aside for " (named(houses, house)) ": no other house is planned on it." } }
            p.soft { "A bare number is in " (unit) "; 2.4 m and 7' 10\" are read too." }
            form.sheet-form method="post" action="/shelf/keep" data-plain="yes" {
                (around)
                (fields(&typed::FIELDS, typing, slips, &[("cloth", "cloth-names"), ("whose", "house-names")]))
                button.main type="submit" data-id="piece_keep" { "Keep the piece" }
            }
            @if id.is_some() {
                form.taking method="post" action="/shelf/out" data-plain="yes" {
                    (around)
                    button type="submit" data-id="piece_out" { "It is not there any more" }
                }
            }
        }
    };
    Content {
        title: "A piece of the shelf".to_owned(),
        trail: vec![Crumb::to("Workroom", "The shelf", "/shelf".to_owned())],
        outdoors: false,
        markup,
    }
}

type Pairs = Vec<(String, String)>;

fn get_of<'a>(pairs: &'a Pairs, name: &str) -> &'a str {
    pairs.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.as_str())
}

async fn keep(State(app): State<App>, headers: HeaderMap, Form(pairs): Form<Pairs>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(get_of(&pairs, "token")) {
        return Ok(guard::stale());
    }
    let token = app.guard.token();
    let kept = app.at_desk(move |desk| {
        let (folded, houses) = (desk.workroom()?, desk.names()?);
        let job = &folded.job;
        let id = Uuid::parse_str(get_of(&pairs, "id")).ok();
        let typing = Typing::of(pairs.iter().map(|(key, value)| (key.as_str(), value.as_str())));
        let before = id.and_then(|id| job.shelf.get(&id));
        let is_cloth = |name: &str| job.cloths.iter().any(|cloth| cloth.name == name);
        match typed::read(&typing, before, is_cloth, &houses, job.unit) {
            Err(slips) => Ok(Some(form_page(job, &houses, id, &typing, &slips, &token))),
            Ok(piece) => {
                let id = id.unwrap_or_else(|| moments::now().uuid());
                if before != Some(&piece) {
                    desk.set_fields(&folded, vec![(Workroom::ID, format!("shelf.{id}"), json(&piece, job.unit))])?;
                }
                Ok::<_, DeskProblem>(None)
            }
        }
    });
    Ok(match kept.await? {
        None => Redirect::to(&format!("/shelf?done={}", in_path("The piece is kept."))).into_response(),
        Some(form) => again(&app, &headers, form),
    })
}

async fn take_out(State(app): State<App>, Form(pairs): Form<Pairs>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(get_of(&pairs, "token")) {
        return Ok(guard::stale());
    }
    app.at_desk(move |desk| {
        let folded = desk.workroom()?;
        let id = Uuid::parse_str(get_of(&pairs, "id")).ok().filter(|id| folded.job.shelf.contains_key(id));
        let Some(id) = id else { return Err(DeskProblem::NoSuch { what: "piece" }) };
        desk.set_fields(&folded, vec![(Workroom::ID, format!("shelf.{id}"), Value::Null)])
    })
    .await?;
    Ok(Redirect::to(&format!("/shelf?done={}", in_path("The piece is off the shelf."))).into_response())
}

async fn download(State(app): State<App>, Path(what): Path<String>) -> Result<Response, DeskProblem> {
    let text = app.at_desk(move |desk| {
        let job = desk.workroom()?.job;
        match what.as_str() {
            "cloths" => Ok(table::cloths_out(&job.cloths, job.unit)),
            "shelf" => Ok(table::shelf_out(&job.shelf, &desk.names()?)),
            _ => Err(DeskProblem::NoSuch { what: "table" }),
        }
    });
    Ok(([(header::CONTENT_TYPE, "text/csv; charset=utf-8")], text.await?).into_response())
}

/// A table that was looked at: what of it can be used, as fields, and what cannot.
struct Looked {
    /// What is new, what is changed, what is as it stands.
    counts: [usize; 3],
    fields: Vec<(Uuid, String, Value)>,
    slips: Vec<table::RowSlip>,
    /// The cloths as they would be.
    cloths: Vec<Cloth>,
}

fn looked(desk: &Desk, what: &str, text: &str) -> Result<Looked, DeskProblem> {
    let job = desk.workroom()?.job;
    let mut looked = Looked { counts: [0; 3], fields: Vec::new(), slips: Vec::new(), cloths: job.cloths.clone() };
    let count = |looked: &mut Looked, is_new: bool, is_same: bool| {
        looked.counts[if is_new { 0 } else { 1 + usize::from(is_same) }] += 1;
    };
    match what {
        "cloths" => {
            let taken = table::cloths_in(text, &job.cloths, job.unit);
            for cloth in taken.rows {
                let known = looked.cloths.iter().position(|known| known.name == cloth.name);
                let is_same = known.is_some_and(|at| {
                    json(&looked.cloths[at], job.unit) == json(&cloth, job.unit) || same(&looked.cloths[at], &cloth)
                });
                count(&mut looked, known.is_none(), is_same);
                if !is_same {
                    looked.fields.push((Workroom::ID, format!("cloths.{}", cloth.name), json(&cloth, job.unit)));
                }
                match known {
                    Some(at) => looked.cloths[at] = cloth,
                    None => looked.cloths.push(cloth),
                }
            }
            looked.slips = taken.slips;
        }
        "shelf" => {
            let houses = desk.names()?;
            let taken =
                table::shelf_in(text, &job.shelf, &job.cloths, &houses, job.unit, &mut || moments::now().uuid());
            for (id, piece) in taken.rows {
                let known = job.shelf.get(&id);
                let write = |piece: &ShelfPiece| {
                    typed::typing_by(piece, &houses, &|typed: &Typed| typed.value().nm().to_string())
                };
                let is_same = known.is_some_and(|known| write(known) == write(&piece));
                count(&mut looked, known.is_none(), is_same);
                if !is_same {
                    looked.fields.push((Workroom::ID, format!("shelf.{id}"), json(&piece, job.unit)));
                }
            }
            looked.slips = taken.slips;
        }
        _ => return Err(DeskProblem::NoSuch { what: "table" }),
    }
    Ok(looked)
}

/// True when two cloths are one but for how their lengths are written.
fn same(a: &Cloth, b: &Cloth) -> bool {
    use crate::cloths::cloth::typing_by;
    let unit = a.width.unit();
    let write = |typed: &Typed| typed.value().nm().to_string();
    typing_by(a, &write, unit) == typing_by(b, &write, unit)
}

async fn look(
    State(app): State<App>,
    headers: HeaderMap,
    Path(what): Path<String>,
    mut form: Multipart,
) -> Result<Response, DeskProblem> {
    let (mut token, mut file, mut text) = (String::new(), String::new(), String::new());
    while let Ok(Some(field)) = form.next_field().await {
        let name = field.name().unwrap_or_default().to_owned();
        let Ok(bytes) = field.bytes().await else {
            return Err(DeskProblem::Refused {
                what: "The table is too large.".to_owned(),
                right: "A table may have 4 MB.".to_owned(),
            });
        };
        let Ok(read) = String::from_utf8(bytes.to_vec()) else {
            return Err(DeskProblem::Refused {
                what: "The file is not written in UTF-8.".to_owned(),
                right: "Save it in the spreadsheet as CSV UTF-8.".to_owned(),
            });
        };
        match name.as_str() {
            "token" => token = read,
            "file" => file = read,
            "text" => text = read,
            _ => {}
        }
    }
    if !app.guard.knows(&token) {
        return Ok(guard::stale());
    }
    let text = if file.trim().is_empty() { text } else { file };
    if text.trim().is_empty() {
        return Err(DeskProblem::Refused {
            what: "There is no table.".to_owned(),
            right: "Choose a file, or put its text into the field.".to_owned(),
        });
    }
    let content = app.at_desk(move |desk| {
        let looked = looked(desk, &what, &text)?;
        look_page(desk, &what, &text, &looked, &token)
    });
    let content = content.await?;
    Ok(app.framed(&headers, "", 0, &content))
}

fn look_page(desk: &Desk, what: &str, text: &str, looked: &Looked, token: &str) -> Result<Content, DeskProblem> {
    let [new, changed, as_it_is] = looked.counts;
    let one = if what == "cloths" { "cloth" } else { "piece" };
    let many = |n: usize, what: &str| if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") };
    let refused: std::collections::BTreeSet<u64> = looked.slips.iter().map(|slip| slip.line).collect();
    // A price that differs is money that was told to a client: what it changes is shown first.
    let mut changes = Vec::new();
    if what == "cloths" && changed > 0 {
        let lines = desk.houses()?;
        for line in lines.into_iter().filter(|line| !line.away) {
            let Some(job) = desk.book.job(line.job)? else { continue };
            let then =
                Job { workroom: Workroom { cloths: looked.cloths.clone(), ..job.workroom.clone() }, ..job.clone() };
            let mut names: Vec<&str> = job.openings().filter_map(|(_, one)| one.choices.cloth.as_deref()).collect();
            names.sort_unstable();
            names.dedup();
            let (catalogue, shop) = (Catalogue::standard(job.unit), Shop::standard(job.unit));
            let all: Vec<_> =
                names.into_iter().flat_map(|name| work::cloth_differs(&job, &then, name, catalogue, shop)).collect();
            if !all.is_empty() {
                changes.push((line.name, all));
            }
            if changes.len() == HOUSES {
                break;
            }
        }
    }
    let markup = html! {
        section.pane {
            h1 { "A table of " (if what == "cloths" { "cloths" } else { "the shelf" }) }
            p.lead role="status" {
                (many(new, one)) " new, " (changed) " changed, " (as_it_is) " as " @if as_it_is == 1 { "it stands" } @else { "they stand" } "."
                @if !refused.is_empty() { " " strong { (many(refused.len(), "line")) " refused." } }
            }
            @if !looked.slips.is_empty() {
                div.refusal role="alert" {
                    ul { @for slip in looked.slips.iter().take(SLIPS) { li { (set(&slip.words())) } } }
                    @if looked.slips.len() > SLIPS { p { "And " (looked.slips.len() - SLIPS) " more." } }
                }
            }
            @if !changes.is_empty() {
                h2 { "What it changes" }
                @for (house, all) in &changes {
                    h3 { (house) }
                    ul { @for one in all { li { b { (one.name) } ": " (one.what) " " (set(&one.before)) " becomes " b { (set(&one.after)) } } } }
                }
            }
            div.row {
                @if looked.fields.is_empty() { p { "There is nothing to take in." } } @else {
                    form.touch method="post" action={ "/tables/" (what) "/take" } data-plain="yes" {
                        input type="hidden" name="token" value=(token);
                        input type="hidden" name="text" value=(text);
                        button.main type="submit" data-id="take_table" { "Take " (many(looked.fields.len(), one)) " in" }
                    }
                }
                a.as-button href={ "/" (what) } { "Leave it" }
            }
        }
    };
    Ok(Content {
        title: "A table".to_owned(),
        trail: vec![Crumb::to("Workroom", if what == "cloths" { "Cloths" } else { "The shelf" }, format!("/{what}"))],
        outdoors: false,
        markup,
    })
}

#[derive(Deserialize)]
struct Take {
    token: String,
    text: String,
}

async fn take(
    State(app): State<App>,
    Path(what): Path<String>,
    Form(form): Form<Take>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let to = app.at_desk(move |desk| {
        let looked = looked(desk, &what, &form.text)?;
        let folded = desk.workroom()?;
        let n = looked.fields.len();
        desk.set_fields(&folded, looked.fields)?;
        let said = if n == 1 { "1 row is taken in.".to_owned() } else { format!("{n} rows are taken in.") };
        Ok::<_, DeskProblem>(format!("/{what}?done={}", in_path(&said)))
    });
    Ok(Redirect::to(&to.await?).into_response())
}

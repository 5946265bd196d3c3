//! Cloths on the page: the workroom's, found and changed; a house's own; and which opening is made of which.
//!
//! A form that is refused comes back with all that was typed. What a change makes others is shown before it is made.

use super::desk::{Desk, DeskProblem};
use super::fields::{carried, fields, refused};
use super::lengths::{column, set};
use super::views::{Content, Crumb};
use super::{App, guard, refused_at};
use crate::cloths::{Set, Slip, Typing, cloth as typed, json, set_fields};
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use hangtrue_core::buying::Shop;
use hangtrue_core::fact::House;
use hangtrue_core::house::{Cloth, ClothDirection, Job, Match, Workroom};
use hangtrue_core::length::{Length, LengthUnit, Typed};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::work::{self, Differs};
use maud::html;
use serde::Deserialize;
use serde_json::Value;
use uuid::Uuid;

/// Cloths on one page of the list.
const CLOTHS: usize = 60;
/// Houses whose buying is worked out before a change is made; the others are counted.
const HOUSES: usize = 40;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/cloths", get(list))
        .route("/cloths/one", get(one))
        .route("/cloths/keep", post(keep))
        .route("/cloths/out", post(take_out))
        .route("/house/{house}/cloths", get(of_house))
        .route("/house/{house}/cloths/choose", post(choose))
        .route("/house/{house}/cloths/lay", post(lay))
}

/// The path of a cloth's form.
fn path_of(house: Option<Uuid>, name: &str) -> String {
    let of = house.map_or_else(String::new, |house| format!("&house={house}"));
    format!("/cloths/one?name={}{of}", in_path(name))
}

/// A text as it stands in a path's question.
pub(super) fn in_path(text: &str) -> String {
    let plain = |byte: &u8| byte.is_ascii_alphanumeric() || b"-_.~".contains(byte);
    text.bytes().map(|byte| if plain(&byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") }).collect()
}

impl Desk {
    /// The workroom's own record.
    pub(super) fn workroom(&self) -> Result<House, DeskProblem> {
        self.house(Workroom::ID)
    }

    /// Sets fields, each in the place of what stands there now, in one transaction.
    pub(super) fn set_fields(&mut self, house: &House, fields: Vec<Set>) -> Result<(), DeskProblem> {
        Ok(set_fields(&mut self.book, house, fields, "desk")?)
    }

    /// The houses in the list, and their names.
    pub(super) fn names(&self) -> Result<Vec<(Uuid, String)>, DeskProblem> {
        Ok(self.houses()?.into_iter().map(|line| (line.job, line.name)).collect())
    }

    /// The houses that are not put away and have an opening of this cloth that is the workroom's there.
    fn users(&self, cloth: &str) -> Result<Vec<House>, DeskProblem> {
        let mut users = Vec::new();
        for line in self.houses()?.into_iter().filter(|line| !line.away) {
            let Some(house) = self.book.house(line.job)? else { continue };
            let own = house.job.cloths.iter().any(|own| own.name == cloth);
            if !own && house.job.openings().any(|(_, one)| one.choices.cloth.as_deref() == Some(cloth)) {
                users.push(house);
            }
        }
        Ok(users)
    }

    /// What another cloth in the place of one would change, house by house.
    fn cloth_would_change(
        &self,
        house: Uuid,
        before: &str,
        after: &Cloth,
    ) -> Result<Vec<(String, Vec<Differs>)>, DeskProblem> {
        let lay = |cloths: &mut Vec<Cloth>| {
            if let Some(at) = cloths.iter_mut().find(|cloth| cloth.name == before) {
                *at = after.clone();
            }
        };
        let users = if house == Workroom::ID { self.users(before)? } else { vec![self.house(house)?] };
        let mut all = Vec::new();
        for user in users.iter().take(HOUSES) {
            let mut then = user.job.clone();
            lay(if house == Workroom::ID { &mut then.workroom.cloths } else { &mut then.cloths });
            let unit = user.job.unit;
            let differs =
                work::cloth_differs(&user.job, &then, before, Catalogue::standard(unit), Shop::standard(unit));
            if !differs.is_empty() {
                all.push((user.job.name.clone(), differs));
            }
        }
        Ok(all)
    }
}

#[derive(Deserialize)]
struct Asked {
    #[serde(default)]
    find: String,
    #[serde(default)]
    from: usize,
    /// Said above the list: what was just done.
    #[serde(default)]
    done: String,
}

async fn list(State(app): State<App>, headers: HeaderMap, Query(find): Query<Asked>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, "/cloths".to_owned(), move |desk| Ok(list_page(&desk.workroom()?.job, &find, &token))).await
}

fn list_page(workroom: &Job, find: &Asked, token: &str) -> Content {
    let unit = workroom.unit;
    let mut found: Vec<&Cloth> = workroom.cloths.iter().filter(|cloth| typed::is_found(cloth, &find.find)).collect();
    found.sort_by_key(|cloth| cloth.name.to_lowercase());
    let on_shelf = |name: &str| -> (usize, Length) {
        let pieces = workroom.shelf.values().filter(|piece| piece.cloth == name && !piece.gone);
        pieces.fold((0, Length::ZERO), |(count, length), piece| (count + 1, length + piece.length.value()))
    };
    let markup = html! {
        section.pane {
            h1 { "The workroom's cloths" }
            @if !find.done.is_empty() { p.notice role="status" { (find.done) } }
            @if workroom.cloths.is_empty() {
                p.lead { "No cloth yet. Add one by hand, or take a list in from a table; every house can choose it then." }
            } @else {
                form.find method="get" action="/cloths" role="search" {
                    label { span { "Find a cloth by name, code, who sells it or remark" } input type="search" name="find" value=(find.find); }
                    button type="submit" { "Find" }
                }
                @if found.is_empty() { p { "No cloth has that in its words." } } @else {
                    table.list.cloths {
                        thead { tr { th { "Cloth" } th.n { "Usable" } th.n { "Repeat" } th { "Price" } th { "On the shelf" } } }
                        tbody {
                            @for cloth in found.iter().skip(find.from).take(CLOTHS) {
                                @let (count, length) = on_shelf(&cloth.name);
                                tr {
                                    td {
                                        a href=(path_of(None, &cloth.name)) { (cloth.name) }
                                        @if !cloth.code.is_empty() || !cloth.supplier.is_empty() { br; span.soft { (cloth.code) @if !cloth.code.is_empty() && !cloth.supplier.is_empty() { ", " } (cloth.supplier) } }
                                    }
                                    td.n { (column(&cloth.usable.as_ref().unwrap_or(&cloth.width).value().show_marked(unit))) }
                                    td.n { @match &cloth.repeat { Some(repeat) => (column(&repeat.value().show_marked(unit))), None => "plain" } }
                                    td { (typed::price_words(cloth, unit)) @if cloth.no_more { @if cloth.price_cents.is_some() { br; } span.soft { "no more to be had" } } }
                                    td { @if count > 0 { a href={ "/shelf?find=" (in_path(&cloth.name)) } { (count) @if count == 1 { " piece, " } @else { " pieces, " } (set(&length.show_marked(unit))) } } }
                                }
                            }
                        }
                    }
                    @if found.len() > find.from + CLOTHS {
                        p { a href={ "/cloths?from=" (find.from + CLOTHS) "&find=" (in_path(&find.find)) } { "The next of " (found.len()) } }
                    }
                }
            }
            div.row { a.as-button.main href="/cloths/one" { "Add a cloth" } a.as-button href="/shelf" { "The shelf" } a.as-button href="/order" { "What to order" } }
        }
        (super::shelf::tables("cloths", "cloths", token))
    };
    Content { title: "Cloths".to_owned(), trail: vec![Crumb::here("Workroom", "Cloths")], outdoors: false, markup }
}

#[derive(Deserialize)]
struct One {
    #[serde(default)]
    name: String,
    house: Option<Uuid>,
}

async fn one(State(app): State<App>, headers: HeaderMap, Query(one): Query<One>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, String::new(), move |desk| {
        let job = desk.house(one.house.unwrap_or(Workroom::ID))?.job;
        let cloth = job.cloths.iter().find(|cloth| cloth.name == one.name);
        if cloth.is_none() && !one.name.is_empty() {
            return Err(DeskProblem::NoSuch { what: "cloth" });
        }
        let typing = cloth.map_or_else(Typing::default, |cloth| typed::typing(cloth, job.unit));
        Ok(form_page(&job, &one.name, &typing, &[], &token))
    })
    .await
}

/// The form of a cloth: `was` is its name as it stands, empty for one that is added.
fn form_page(job: &Job, was: &str, typing: &Typing, slips: &[Slip], token: &str) -> Content {
    let of_all = job.id == Workroom::ID;
    let (main, more) = typed::FIELDS.split_at(13);
    let more_typed = more
        .iter()
        .any(|field| !typing.get(field.name).is_empty() || slips.iter().any(|slip| slip.field == field.name));
    let title = if was.is_empty() { "A new cloth".to_owned() } else { was.to_owned() };
    let unit = if job.unit.is_imperial() { "inches" } else { "millimetres" };
    let around = html! {
        input type="hidden" name="token" value=(token);
        input type="hidden" name="was" value=(was);
        @if !of_all { input type="hidden" name="house" value=(job.id); }
    };
    let markup = html! {
        section.pane {
            h1 { (title) }
            (refused(&typed::FIELDS, slips))
            p.soft { "Write lengths as on paper: 54, 54 1/4, 137 cm. A bare number is in " (unit) "." }
            form.sheet-form method="post" action="/cloths/keep" data-plain="yes" {
                (around)
                (fields(main, typing, slips, &[]))
                details open[more_typed] { summary { "Selvages and remark" } (fields(more, typing, slips, &[])) }
                button.main type="submit" data-id="cloth_keep" { "Keep the cloth" }
            }
            @if !was.is_empty() {
                details {
                    summary { "Take it out" }
                    form.taking method="post" action="/cloths/out" data-plain="yes" {
                        (around)
                        @if of_all { p { "A house that uses it keeps it as its own: nothing that is chosen is lost." } } @else { p { "An opening that was made of it takes the workroom's of that name, or none." } }
                        button type="submit" data-id="cloth_out" { "Take " (was) " out" }
                    }
                }
            }
        }
    };
    Content { title, trail: trail(job), outdoors: false, markup }
}

/// Where a cloth's page is: the workroom's, or a house's own.
fn trail(job: &Job) -> Vec<Crumb> {
    if job.id == Workroom::ID {
        vec![Crumb::to("Workroom", "Cloths", "/cloths".to_owned())]
    } else {
        vec![Crumb::house(job), Crumb::to("Its own", "Cloths", format!("/house/{}/cloths", job.id))]
    }
}

/// Form's pairs: what is named, and all that was typed.
struct Given {
    pairs: Vec<(String, String)>,
}

impl Given {
    fn get(&self, name: &str) -> &str {
        self.pairs.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.as_str())
    }

    fn typing(&self) -> Typing {
        Typing::of(self.pairs.iter().map(|(key, value)| (key.as_str(), value.as_str())))
    }

    /// The house it is about; the workroom where none is named.
    fn house(&self) -> Option<Uuid> {
        let named = self.get("house");
        if named.is_empty() { Some(Workroom::ID) } else { Uuid::parse_str(named).ok() }
    }
}

/// What became of a form.
enum Done {
    Kept(String),
    Page(Box<Content>),
    Slips(Box<Content>),
}

async fn keep(
    State(app): State<App>,
    headers: HeaderMap,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, DeskProblem> {
    let given = Given { pairs };
    if !app.guard.knows(given.get("token")) {
        return Ok(guard::stale());
    }
    let Some(house) = given.house() else { return Err(DeskProblem::NoSuch { what: "house" }) };
    let token = app.guard.token();
    let done = app.at_desk(move |desk| keep_cloth(desk, house, &given, &token)).await?;
    Ok(answer(&app, &headers, done))
}

/// A form's answer: the page that comes next, or the form again.
fn answer(app: &App, headers: &HeaderMap, done: Done) -> Response {
    match done {
        Done::Kept(to) => Redirect::to(&to).into_response(),
        Done::Page(content) => app.framed(headers, "", 0, &content),
        Done::Slips(content) => {
            let mut page = app.framed(headers, "", 0, &content);
            *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
            page
        }
    }
}

fn keep_cloth(desk: &mut Desk, house: Uuid, given: &Given, token: &str) -> Result<Done, DeskProblem> {
    let folded = desk.house(house)?;
    let (job, was, typing) = (&folded.job, given.get("was"), given.typing());
    let before = job.cloths.iter().find(|cloth| cloth.name == was);
    let slip = |slips: &[Slip]| Ok(Done::Slips(Box::new(form_page(job, was, &typing, slips, token))));
    let cloth = match typed::read(&typing, before, job.unit) {
        Ok(cloth) => cloth,
        Err(slips) => return slip(&slips),
    };
    let renamed = cloth.name != was;
    let is_taken = |other: &&Cloth| other.name != was && other.name.eq_ignore_ascii_case(&cloth.name);
    if let Some(other) = job.cloths.iter().find(is_taken) {
        let what = format!("there is a cloth called \u{201C}{}\u{201D} already", other.name);
        return slip(&[Slip::new("name", what, "give this one another name, or change that one")]);
    }
    if renamed && !was.is_empty() {
        let chosen = if house == Workroom::ID { desk.users(was)?.len() } else { usize::from(uses(job, was) > 0) };
        let on_shelf = job.shelf.values().any(|piece| piece.cloth == was && !piece.gone);
        if chosen > 0 || on_shelf {
            let by = if chosen > 0 {
                "openings have chosen it by this name"
            } else {
                "pieces on the shelf are of this name"
            };
            return slip(&[Slip::new(
                "name",
                by,
                format!("leave it \u{201C}{was}\u{201D}, or add this one as another cloth"),
            )]);
        }
    }
    if !was.is_empty() && given.get("sure").is_empty() {
        let changes = desk.cloth_would_change(house, was, &cloth)?;
        if !changes.is_empty() {
            return Ok(Done::Page(Box::new(ask_page(job, was, &changes, &typing, token))));
        }
    }
    let mut fields = vec![(house, format!("cloths.{}", cloth.name), json(&cloth, job.unit))];
    if renamed && !was.is_empty() {
        fields.push((house, format!("cloths.{was}"), Value::Null));
    }
    if before != Some(&cloth) {
        desk.set_fields(&folded, fields)?;
    }
    let done = in_path(&format!("{} is kept.", cloth.name));
    Ok(Done::Kept(if house == Workroom::ID {
        format!("/cloths?done={done}")
    } else {
        format!("/house/{house}/cloths?done={done}")
    }))
}

/// What a change makes others, before it is made.
fn ask_page(job: &Job, was: &str, changes: &[(String, Vec<Differs>)], typing: &Typing, token: &str) -> Content {
    let many = |n: usize, what: &str| if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") };
    let openings: usize = {
        let mut all: Vec<Uuid> =
            changes.iter().flat_map(|(_, all)| all.iter().map(|one| one.opening)).filter(|id| !id.is_nil()).collect();
        all.sort_unstable();
        all.dedup();
        all.len()
    };
    let sum = if openings == 0 {
        format!("It changes what is bought for {}.", many(changes.len(), "house"))
    } else {
        format!("It changes {} in {}.", many(openings, "opening"), many(changes.len(), "house"))
    };
    let markup = html! {
        section.pane {
            h1 { "What this changes" }
            p.lead role="status" { (sum) }
            @for (house, all) in changes {
                h2 { (house) }
                ul { @for one in all { li { b { (one.name) } ": " (one.what) " " (set(&one.before)) " becomes " b { (set(&one.after)) } } } }
            }
            @if changes.len() >= HOUSES { p { "Of more houses than these nothing was worked out here." } }
            div.row {
                form.touch method="post" action="/cloths/keep" data-plain="yes" {
                    input type="hidden" name="token" value=(token);
                    input type="hidden" name="was" value=(was);
                    @if job.id != Workroom::ID { input type="hidden" name="house" value=(job.id); }
                    input type="hidden" name="sure" value="yes";
                    (carried(&typed::FIELDS, typing))
                    button.main type="submit" data-id="change_it" { "Change it" }
                }
                a.as-button href=(path_of((job.id != Workroom::ID).then_some(job.id), was)) { "Leave it as it is" }
            }
        }
    };
    Content { title: "What this changes".to_owned(), trail: trail(job), outdoors: false, markup }
}

/// How many openings of a house are made of a cloth.
fn uses(job: &Job, cloth: &str) -> usize {
    job.openings().filter(|(_, one)| one.choices.cloth.as_deref() == Some(cloth)).count()
}

async fn take_out(State(app): State<App>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, DeskProblem> {
    let given = Given { pairs };
    if !app.guard.knows(given.get("token")) {
        return Ok(guard::stale());
    }
    let Some(house) = given.house() else { return Err(DeskProblem::NoSuch { what: "house" }) };
    let to = app.at_desk(move |desk| out(desk, house, given.get("was"))).await?;
    Ok(Redirect::to(&to).into_response())
}

fn out(desk: &mut Desk, house: Uuid, name: &str) -> Result<String, DeskProblem> {
    let folded = desk.house(house)?;
    let Some(cloth) = folded.job.cloths.iter().find(|cloth| cloth.name == name) else {
        return Err(DeskProblem::NoSuch { what: "cloth" });
    };
    // First what keeps it, so that a stop in between leaves it twice and never nowhere.
    let mut kept = 0;
    if house == Workroom::ID {
        for user in desk.users(name)? {
            let value = json(cloth, user.job.unit);
            desk.set_fields(&user, vec![(user.job.id, format!("cloths.{name}"), value)])?;
            kept += 1;
        }
    }
    desk.set_fields(&folded, vec![(house, format!("cloths.{name}"), Value::Null)])?;
    let more = match kept {
        0 => String::new(),
        1 => " 1 house keeps it as its own.".to_owned(),
        n => format!(" {n} houses keep it as their own."),
    };
    let done = in_path(&format!("{name} is taken out.{more}"));
    Ok(if house == Workroom::ID {
        format!("/cloths?done={done}")
    } else {
        format!("/house/{house}/cloths?done={done}")
    })
}

async fn of_house(
    State(app): State<App>,
    headers: HeaderMap,
    Path(house): Path<Uuid>,
    Query(find): Query<Asked>,
) -> Result<Response, DeskProblem> {
    if house == Workroom::ID {
        return Ok(Redirect::to("/cloths").into_response());
    }
    let token = app.guard.token();
    app.page(&headers, format!("/house/{house}/cloths"), move |desk| {
        let job = desk.house(house)?.job;
        Ok(house_page(&job, &chosen(&job), &[], &find.done, &token))
    })
    .await
}

/// The choices of a house's openings as its form has them: name of the field, value.
fn chosen(job: &Job) -> Vec<(String, String)> {
    let of = |(_, one): (_, &hangtrue_core::house::Opening)| {
        let text = |value: Value| value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        let lining = text(serde_json::to_value(one.choices.lining).unwrap_or_default());
        [
            (format!("cloth/{}", one.id), one.choices.cloth.clone().unwrap_or_default()),
            (format!("lining/{}", one.id), lining),
            (format!("interlined/{}", one.id), one.choices.interlined.to_string()),
        ]
    };
    job.openings().flat_map(of).collect()
}

const LININGS: [(&str, &str); 3] = [("none", "No lining"), ("plain", "Plain lining"), ("blackout", "Blackout lining")];
const INTERLININGS: [(&str, &str); 2] = [("false", "No interlining"), ("true", "Interlined")];

fn house_page(
    job: &Job,
    typed_in: &[(String, String)],
    slips: &[(String, String)],
    done: &str,
    token: &str,
) -> Content {
    let at = format!("/house/{}/cloths", job.id);
    let value = |name: &str| typed_in.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.as_str());
    let select = |name: String, words: &str, options: &[(&str, &str)]| {
        html! { select name=(name) aria-label=(words) { @for (code, words) in options { option value=(code) selected[value(&name) == *code] { (words) } } } }
    };
    let of_workroom: Vec<&Cloth> =
        job.workroom.cloths.iter().filter(|cloth| job.cloths.iter().all(|own| own.name != cloth.name)).collect();
    let markup = html! {
        datalist #cloth-names { @for cloth in job.all_cloths() { option value=(cloth.name) {} } }
        section.pane {
            h1 { "Cloths of " (job.name) }
            @if !done.is_empty() { p.notice role="status" { (done) } }
            @if !slips.is_empty() {
                div.refusal role="alert" { strong { "Nothing was chosen yet." } ul { @for (_, says) in slips { li { (set(says)) } } } }
            }
            @if job.openings().next().is_none() { p { "There is no opening yet." } }
            @if job.all_cloths().next().is_none() { p { "There is no cloth to choose yet. " a href="/cloths/one" { "Add one to the workroom's" } ", or to this house alone below." } }
            @if job.openings().next().is_some() {
                form.sheet-form method="post" action={ (at) "/choose" } data-plain="yes" {
                    input type="hidden" name="token" value=(token);
                    table.list.chosen {
                        thead { tr { th { "Opening" } th { "Face" } th { "Lining" } th { "Interlining" } } }
                        tbody {
                            @for (room, one) in job.openings() {
                                @let title = format!("{}, {}", room.name, one.name);
                                @let field = format!("cloth/{}", one.id);
                                @let slip = slips.iter().find(|(name, _)| *name == field);
                                tr {
                                    th scope="row" { a href={ "/house/" (job.id) "/opening/" (one.id) } { (title) } }
                                    td { input type="text" name=(field) value=(value(&field)) list="cloth-names" autocomplete="off" placeholder="not chosen" aria-label={ "Face of " (title) } aria-invalid=[slip.map(|_| "true")]; }
                                    td { (select(format!("lining/{}", one.id), &format!("Lining of {title}"), &LININGS)) }
                                    td { (select(format!("interlined/{}", one.id), &format!("Interlining of {title}"), &INTERLININGS)) }
                                }
                            }
                        }
                    }
                    button.main type="submit" data-id="cloths_choose" { "Keep what is chosen" }
                }
            }
        }
        section.pane {
            h2 { "This house's own" }
            @if job.cloths.is_empty() { p { "None: it uses the workroom's." } } @else {
                ul.plain {
                    @for cloth in &job.cloths {
                        li { a href=(path_of(Some(job.id), &cloth.name)) { (cloth.name) } " " span.soft { (set(&about(cloth, job.unit))) } }
                    }
                }
            }
            div.row { a.as-button href={ "/cloths/one?house=" (job.id) } { "Add a cloth to this house alone" } a.as-button href={ "/house/" (job.id) "/shelf" } { "The shelf and its offcuts" } }
            @if !of_workroom.is_empty() {
                details {
                    summary { "Lay a cloth of the workroom's into this house" }
                    p { "It stays here as it is now, whatever becomes of the workroom's." }
                    form.taking method="post" action={ (at) "/lay" } data-plain="yes" {
                        input type="hidden" name="token" value=(token);
                        datalist #workroom-names { @for cloth in &of_workroom { option value=(cloth.name) {} } }
                        label { span { "Its name" } input type="text" name="name" list="workroom-names" autocomplete="off" required; }
                        button type="submit" data-id="cloth_lay" { "Lay it into this house" }
                    }
                }
            }
        }
    };
    Content { title: format!("Cloths, {}", job.name), trail: vec![Crumb::house(job)], outdoors: false, markup }
}

/// A cloth in a few words: "54 in usable, repeat 25 1/4 in, half-drop".
pub(super) fn about(cloth: &Cloth, unit: LengthUnit) -> String {
    let show = |typed: &Typed| typed.value().show_marked(unit);
    let mut words = vec![format!("{} usable", show(cloth.usable.as_ref().unwrap_or(&cloth.width)))];
    match &cloth.repeat {
        Some(repeat) => words.push(format!("repeat {}", show(repeat))),
        None => words.push("plain".to_owned()),
    }
    if cloth.matching == Match::HalfDrop {
        words.push("half-drop".to_owned());
    }
    if cloth.direction == ClothDirection::AnyWay {
        words.push("any way up".to_owned());
    }
    words.join(", ")
}

async fn choose(
    State(app): State<App>,
    headers: HeaderMap,
    Path(house): Path<Uuid>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, DeskProblem> {
    let given = Given { pairs };
    if !app.guard.knows(given.get("token")) {
        return Ok(guard::stale());
    }
    let token = app.guard.token();
    let done = app.at_desk(move |desk| keep_choices(desk, house, &given, &token)).await?;
    Ok(answer(&app, &headers, done))
}

fn keep_choices(desk: &mut Desk, house: Uuid, given: &Given, token: &str) -> Result<Done, DeskProblem> {
    let folded = desk.house(house)?;
    let job = &folded.job;
    let (mut fields, mut slips) = (Vec::new(), Vec::new());
    for (room, one) in job.openings() {
        let name = format!("cloth/{}", one.id);
        let typed_name = given.get(&name).trim();
        let found = job
            .cloth(typed_name)
            .or_else(|| job.all_cloths().find(|cloth| cloth.name.eq_ignore_ascii_case(typed_name)));
        if !typed_name.is_empty() && found.is_none() {
            let says = format!(
                "{}, {}: there is no cloth called \u{201C}{typed_name}\u{201D}; choose one of the list, or add it first.",
                room.name, one.name
            );
            slips.push((name, says));
            continue;
        }
        let cloth = found.map(|cloth| cloth.name.clone());
        if cloth != one.choices.cloth {
            fields.push((one.id, "choices.cloth".to_owned(), cloth.map_or(Value::Null, Value::from)));
        }
        let lining = given.get(&format!("lining/{}", one.id));
        let is_now = serde_json::to_value(one.choices.lining).unwrap_or_default();
        if LININGS.iter().any(|(code, _)| *code == lining) && is_now != lining {
            fields.push((one.id, "choices.lining".to_owned(), lining.into()));
        }
        let interlined = given.get(&format!("interlined/{}", one.id)) == "true";
        if interlined != one.choices.interlined && !given.get(&format!("interlined/{}", one.id)).is_empty() {
            fields.push((one.id, "choices.interlined".to_owned(), interlined.into()));
        }
    }
    if !slips.is_empty() {
        return Ok(Done::Slips(Box::new(house_page(job, &given.pairs, &slips, "", token))));
    }
    let said = match fields.len() {
        0 => "Nothing was changed.".to_owned(),
        1 => "1 choice is kept.".to_owned(),
        n => format!("{n} choices are kept."),
    };
    desk.set_fields(&folded, fields)?;
    Ok(Done::Kept(format!("/house/{house}/cloths?done={}", in_path(&said))))
}

async fn lay(
    State(app): State<App>,
    Path(house): Path<Uuid>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, DeskProblem> {
    let given = Given { pairs };
    if !app.guard.knows(given.get("token")) {
        return Ok(guard::stale());
    }
    let at = format!("/house/{house}/cloths");
    let laid = app.at_desk(move |desk| {
        let folded = desk.house(house)?;
        let name = given.get("name").trim();
        let Some(cloth) = folded.job.workroom.cloths.iter().find(|cloth| cloth.name.eq_ignore_ascii_case(name)) else {
            return Err(DeskProblem::Refused {
                what: format!("The workroom has no cloth called \u{201C}{name}\u{201D}."),
                right: "Choose one of the list.".to_owned(),
            });
        };
        let value = json(cloth, folded.job.unit);
        desk.set_fields(&folded, vec![(house, format!("cloths.{}", cloth.name), value)])?;
        Ok(format!("{} is this house's own now.", cloth.name))
    });
    match laid.await {
        Ok(done) => Ok(Redirect::to(&format!("{at}?done={}", in_path(&done))).into_response()),
        Err(problem) => {
            let (what, right) = problem.words();
            Ok(refused_at(problem.status(), &what, &right, &at))
        }
    }
}

/// A form again with what is wrong: for other pages of fields.
pub(super) fn again(app: &App, headers: &HeaderMap, content: Content) -> Response {
    answer(app, headers, Done::Slips(Box::new(content)))
}

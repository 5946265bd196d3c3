//! A house and the shelf: what its plan cuts from it, what is worth keeping, what is too short, and what arrived.

use super::cloths::{again, in_path};
use super::desk::{Desk, DeskProblem, Spot};
use super::fields::{fields, refused};
use super::lengths::{column, set};
use super::views::{Content, Crumb};
use super::{App, guard};
use crate::cloths::{Field, Reader, Slip, Typing, json, piece as typed, written};
use crate::moments;
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use hangtrue_core::buying::{ClothPlan, Shop, cloth_sold};
use hangtrue_core::fact::House;
use hangtrue_core::house::{Job, ShelfPiece, Workroom};
use hangtrue_core::length::{Length, Typed};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::walk::Event;
use hangtrue_core::work::{self, Arrival, Arrived, Keep, Short};
use maud::{Markup, html};
use serde::Deserialize;
use uuid::Uuid;

/// Houses that are ordered for at once.
const HOUSES: usize = 60;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/house/{house}/shelf", get(of_house))
        .route("/house/{house}/shelf/keep", post(keep))
        .route("/house/{house}/shelf/aside", post(aside))
        .route("/house/{house}/shelf/cut", post(cut))
        .route("/house/{house}/arrival", get(arrival).post(arrived))
        .route("/order", get(order))
}

#[derive(Deserialize)]
struct Said {
    #[serde(default)]
    done: String,
}

/// A house's plans; the numbers of a house that cannot be used are refused.
fn planned(job: &Job) -> Result<(work::WorkedHouse<'_>, work::Plans), DeskProblem> {
    let worked = work::house(job, Catalogue::standard(job.unit)).map_err(|problem| DeskProblem::Refused {
        what: problem.to_string(),
        right: "Put the number right in the settings of the house.".to_owned(),
    })?;
    let plans = work::plans(&worked, Shop::standard(job.unit));
    Ok((worked, plans))
}

async fn of_house(
    State(app): State<App>,
    headers: HeaderMap,
    Path(house): Path<Uuid>,
    Query(said): Query<Said>,
) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    let (version, folded) = app.at_desk(move |desk| Ok::<_, DeskProblem>((desk.version(), desk.house(house)?))).await?;
    // Plans take their time: the book is not kept from others meanwhile.
    let content = tokio::task::spawn_blocking(move || {
        let job = &folded.job;
        let (worked, plans) = planned(job)?;
        let keep = work::keep(&worked, &plans);
        let short = work::short(&worked, Catalogue::standard(job.unit), Shop::standard(job.unit));
        Ok::<_, DeskProblem>(house_page(&worked, &plans, &keep, &short, &said.done, &token))
    });
    let content = content.await.expect("work on plans does not panic")?;
    Ok(app.framed(&headers, &format!("/house/{house}/shelf"), version, &content))
}

fn house_page(
    worked: &work::WorkedHouse<'_>,
    plans: &work::Plans,
    keep: &Keep,
    short: &[Short],
    done: &str,
    token: &str,
) -> Content {
    let job = worked.job;
    let to_cut =
        worked.openings.iter().filter(|one| one.standing.is_settled() && one.opening.progress.cut.is_none()).count();
    let at = format!("/house/{}", job.id);
    let unit = job.unit;
    let of_cloth: Vec<&ClothPlan> =
        plans.cut.cloths.iter().filter(|planned| job.cloth(&planned.bolt.name).is_some()).collect();
    let unset: Vec<&ClothPlan> =
        of_cloth.iter().copied().filter(|planned| !to_set_aside(job, planned).is_empty()).collect();
    let is_done = job
        .workroom
        .shelf
        .values()
        .any(|piece| piece.offcut_of == Some(job.id) || (piece.gone && piece.cut_for == Some(job.id)));
    let button = |to: &str, words: &str, id: &str, class: &str| {
        html! { form.touch method="post" action={ (at) (to) } data-plain="yes" { input type="hidden" name="token" value=(token); button class=(class) type="submit" data-id=(id) { (words) } } }
    };
    let markup = html! {
        section.pane {
            h1 { "The shelf for " (job.name) }
            @if !done.is_empty() { p.notice role="status" { (done) } }
            @if of_cloth.is_empty() { p.lead { "Nothing is planned on a cloth yet: what is settled and has a cloth chosen is." } p { a href={ (at) "/cloths" } { "Choose cloths" } } }
            @for planned in &of_cloth {
                h2 { (planned.bolt.name) }
                ul.plain {
                    @for (n, held) in planned.held.iter().enumerate() {
                        @let cut = planned.plan.pieces.iter().filter(|piece| piece.on_hand == Some(n));
                        @let names: Vec<&str> = cut.map(|piece| planned.wants[piece.want].name.as_str()).collect();
                        li { b { (set(&held.words(unit))) } ": " @if names.is_empty() { span.soft { "not used: it saves nothing here" } } @else { (names.join("; ")) } }
                    }
                    @if planned.held.is_empty() { li.soft { "Nothing of it is on the shelf for this house." } }
                    li { "To buy: " b { (set(&cloth_sold(planned))) } }
                }
            }
            @if !unset.is_empty() { (button("/shelf/aside", "Set these pieces aside for this house", "set_aside", "")) }
            div.row { a.as-button href={ (at) "/arrival" } { "Cloth has arrived" } a.as-button href={ (at) "/sheets/cutting" } { "The cutting sheet" } a.as-button href="/shelf" { "The whole shelf" } }
        }
        @for one in short { (short_pane(one, unit)) }
        section.pane {
            h2 { "When it is cut" }
            @if to_cut > 0 && !is_done {
                p { @if to_cut == 1 { "1 shade of the cutting sheet is not marked as cut." } @else { (to_cut) " shades of the cutting sheet are not marked as cut." } " Mark them together, when they are cut by one sheet: what they take of the shelf is then this house's alone." }
                (button("/shelf/cut", "All of the cutting sheet is cut", "all_cut", ""))
            }
            @if is_done {
                p { "Its offcuts are on the shelf; what was cut of the shelf is off it. Its plan stays as it was." }
            } @else if plans.is_begun() {
                p { "Some of it is cut, and some not: its offcuts are known when all of it is." }
            } @else if keep.is_empty() {
                p { "Its plan leaves nothing that is worth keeping. How long and wide that is, is a setting." }
            } @else {
                @if work::cut_in_steps(job, plans) { div.finding.decide { b { "It was cut in steps, and the plan below is of one." } p { "Measure each piece before it goes on the shelf, and put its size right there." } } }
                @if !keep.new.is_empty() {
                    p { "Worth keeping, by its plan:" }
                    table.list.shelf {
                        thead { tr { th { "Offcut of" } th.n { "Long" } th.n { "Wide" } th { "Lot" } } }
                        tbody {
                            @for piece in &keep.new {
                                tr { td { (piece.cloth) @if let Some(line) = &piece.first_line { br; span.soft { "first line at " (set(&written(line, unit))) } } } td.n { (column(&piece.length.value().show_marked(unit))) } td.n { (column(&width(job, piece))) } td { (piece.lot) } }
                            }
                        }
                    }
                }
                @if !keep.cut.is_empty() { p { @if keep.cut.len() == 1 { "1 piece that it is cut from goes off the shelf." } @else { (keep.cut.len()) " pieces that it is cut from go off the shelf." } } }
                (button("/shelf/keep", "Keep the offcuts on the shelf", "keep_offcuts", "main"))
            }
        }
    };
    Content { title: format!("Shelf, {}", job.name), trail: vec![Crumb::house(job)], outdoors: false, markup }
}

fn width(job: &Job, piece: &ShelfPiece) -> String {
    let of_cloth = || job.cloth(&piece.cloth).map(|cloth| cloth.usable.as_ref().unwrap_or(&cloth.width).value());
    piece
        .usable
        .as_ref()
        .map(Typed::value)
        .or_else(of_cloth)
        .map_or_else(String::new, |width| width.show_marked(job.unit))
}

/// What is tried where there is too little, in order.
fn short_pane(short: &Short, unit: hangtrue_core::length::LengthUnit) -> Markup {
    let show = |length: Length| length.show_marked(unit);
    html! {
        section.pane {
            h2 { "Too little of " (short.cloth) }
            p.lead { "No more of it is to be had, and " (set(&show(short.missing))) " are missing." }
            table.list {
                thead { tr { th { "Tried, each on top of those above" } th.n { "Gains" } th.n { "Missing then" } } }
                tbody {
                    @for step in &short.steps {
                        tr { td { (step.what) } td.n { (column(&show(step.gains))) } td.n { @if step.missing == Length::ZERO { strong { "enough" } } @else { (column(&show(step.missing))) } } }
                    }
                }
            }
            @if !short.largest.is_empty() {
                p { "None of it is enough. The longest shade that what is at hand makes, each alone at its width:" }
                ul.plain { @for (_, name, length) in &short.largest { li { b { (name) } ": " @match length { Some(length) => (set(&show(*length))), None => "none" } } } }
            }
        }
    }
}

/// The pieces that a plan cuts from and nobody set aside yet.
fn to_set_aside(job: &Job, planned: &ClothPlan) -> Vec<Uuid> {
    let cut = planned
        .held
        .iter()
        .enumerate()
        .filter(|(at, _)| planned.plan.pieces.iter().any(|piece| piece.on_hand == Some(*at)));
    let ids = cut.filter_map(|(_, held)| held.id);
    ids.filter(|id| job.workroom.shelf.get(id).is_some_and(|piece| piece.cut_for.is_none())).collect()
}

#[derive(Deserialize)]
struct Bare {
    token: String,
}

async fn keep(
    State(app): State<App>,
    Path(house): Path<Uuid>,
    Form(form): Form<Bare>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let said = app.at_desk(move |desk| {
        let folded = desk.house(house)?;
        let (worked, plans) = planned(&folded.job)?;
        let keep = work::keep(&worked, &plans);
        let (new, cut) = (keep.new.len(), keep.cut.len());
        let new_ones = keep.new.into_iter().map(|piece| (moments::now().uuid(), piece));
        put_on_shelf(desk, new_ones.chain(keep.cut).collect())?;
        let many = |n: usize| if n == 1 { "1 piece".to_owned() } else { format!("{n} pieces") };
        Ok::<_, DeskProblem>(format!("{} put on the shelf, {} off it.", many(new), many(cut)))
    });
    Ok(Redirect::to(&format!("/house/{house}/shelf?done={}", in_path(&said.await?))).into_response())
}

/// Sets pieces of the shelf. Their bare lengths are in the unit of a house, which may be another than the workroom's.
fn put_on_shelf(desk: &mut Desk, pieces: Vec<(Uuid, ShelfPiece)>) -> Result<(), DeskProblem> {
    let workroom: House = desk.workroom()?;
    let unit = workroom.job.unit;
    let fields = pieces.into_iter().map(|(id, piece)| (Workroom::ID, format!("shelf.{id}"), json(&piece, unit)));
    desk.set_fields(&workroom, fields.collect())
}

/// Marks all that the cutting sheet plans as cut, by that one plan.
async fn cut(State(app): State<App>, Path(house): Path<Uuid>, Form(form): Form<Bare>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let event = serde_json::to_string(&Event::MarkAll {}).expect("an event is no map");
    app.at_desk(move |desk| desk.act(&Spot::House(house), &event, None, None)).await?;
    let said = in_path("Marked as cut.");
    Ok(Redirect::to(&format!("/house/{house}/shelf?done={said}")).into_response())
}

async fn aside(
    State(app): State<App>,
    Path(house): Path<Uuid>,
    Form(form): Form<Bare>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    app.at_desk(move |desk| {
        let folded = desk.house(house)?;
        let (_, plans) = planned(&folded.job)?;
        let ids = plans.cut.cloths.iter().flat_map(|planned| to_set_aside(&folded.job, planned));
        let set = |id: Uuid| {
            folded.job.workroom.shelf.get(&id).map(|piece| (id, ShelfPiece { cut_for: Some(house), ..piece.clone() }))
        };
        let pieces = ids.filter_map(set).collect();
        put_on_shelf(desk, pieces)
    })
    .await?;
    let said = in_path("Set aside: no other house is planned on them.");
    Ok(Redirect::to(&format!("/house/{house}/shelf?done={said}")).into_response())
}

/// What is written down of cloth that arrived.
const ARRIVED: [Field; 7] = [
    Field::text("cloth", "Cloth", ""),
    Field::text("length", "Length, as it measures", "from cut end to cut end"),
    Field::text("usable_width", "Usable width, as it measures", "at its narrowest"),
    Field::text("repeat", "Repeat, as it measures", "over several, divided; left empty: as it is written"),
    Field::text("lot", "Lot", "as it stands on its label"),
    Field::text("first_line", "Cut end to the first line of the pattern", ""),
    Field::text("flaws", "Flaws", "from the same end: 12 to 14; 60 to 61 1/2"),
];

async fn arrival(State(app): State<App>, headers: HeaderMap, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, String::new(), move |desk| {
        let job = desk.house(house)?.job;
        let mut cloths: Vec<&str> = job.openings().filter_map(|(_, one)| one.choices.cloth.as_deref()).collect();
        cloths.dedup();
        let typing = if let [one] = cloths.as_slice() { Typing::of([("cloth", *one)]) } else { Typing::default() };
        Ok(arrival_page(&job, &typing, &[], None, &token))
    })
    .await
}

fn arrival_page(job: &Job, typing: &Typing, slips: &[Slip], found: Option<&Arrival>, token: &str) -> Content {
    let show = |length: Length| length.show_marked(job.unit);
    let markup = html! {
        datalist #house-cloths { @for cloth in job.all_cloths() { option value=(cloth.name) {} } }
        section.pane {
            h1 { "Cloth has arrived" }
            (refused(&ARRIVED, slips))
            @if let Some(found) = found {
                div.finding.decide[!found.go] role="status" {
                    b { @if found.go { "Go: every cut lies on it, and " (set(&show(found.slack))) " are left." } @else { "No go." } }
                    @for says in &found.says { p { (set(&hangtrue_core::flag::sentence(says))) } }
                }
            } @else { p { "Measure it before it is cut, and look for flaws on the face under good light. What is written here plans the house again on what came." } }
            form.sheet-form method="post" action={ "/house/" (job.id) "/arrival" } data-plain="yes" {
                input type="hidden" name="token" value=(token);
                (fields(&ARRIVED, typing, slips, &[("cloth", "house-cloths")]))
                div.row {
                    button type="submit" name="do" value="look" data-id="arrival_look" { "Does it do?" }
                    button.main type="submit" name="do" value="keep" data-id="arrival_keep" { "Keep it for this house" }
                }
            }
        }
    };
    Content { title: format!("Arrived, {}", job.name), trail: vec![Crumb::house(job)], outdoors: false, markup }
}

async fn arrived(
    State(app): State<App>,
    headers: HeaderMap,
    Path(house): Path<Uuid>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, DeskProblem> {
    let get = |name: &str| pairs.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.as_str()).to_owned();
    if !app.guard.knows(&get("token")) {
        return Ok(guard::stale());
    }
    let (token, keeps) = (app.guard.token(), get("do") == "keep");
    let typing = Typing::of(pairs.iter().map(|(key, value)| (key.as_str(), value.as_str())));
    let done = app.at_desk(move |desk| take_arrived(desk, house, &typing, keeps, &token));
    Ok(match done.await? {
        Ok(content) => app.framed(&headers, "", 0, &content),
        Err(Some(content)) => again(&app, &headers, *content),
        Err(None) => {
            let said = in_path("It is on the shelf, set aside for this house.");
            Redirect::to(&format!("/house/{house}/shelf?done={said}")).into_response()
        }
    })
}

type Shown = Result<Content, Option<Box<Content>>>;

fn take_arrived(desk: &mut Desk, house: Uuid, typing: &Typing, keeps: bool, token: &str) -> Result<Shown, DeskProblem> {
    let folded = desk.house(house)?;
    let job = &folded.job;
    let piece = typed::read(typing, None, |name| job.cloth(name).is_some(), &[], job.unit);
    let mut reader = Reader::new(typing, job.unit);
    let repeat = reader.length("repeat");
    let mut slips = reader.slips;
    let piece = match piece {
        Ok(piece) if slips.is_empty() => piece,
        Ok(_) => return Ok(Err(Some(Box::new(arrival_page(job, typing, &slips, None, token))))),
        Err(found) => {
            slips.extend(found);
            return Ok(Err(Some(Box::new(arrival_page(job, typing, &slips, None, token)))));
        }
    };
    let arrived = Arrived { id: moments::now().uuid(), piece, repeat };
    let (then, measured) = work::with_arrived(job, &arrived);
    if keeps {
        let piece = then.workroom.shelf[&arrived.id].clone();
        put_on_shelf(desk, vec![(arrived.id, piece)])?;
        if let Some(cloth) = measured {
            desk.set_fields(&folded, vec![(house, format!("cloths.{}", cloth.name), json(&cloth, job.unit))])?;
        }
        return Ok(Err(None));
    }
    let found = work::arrival(&then, &arrived.piece.cloth, Catalogue::standard(job.unit), Shop::standard(job.unit));
    let mut found = found.map_err(|problem| DeskProblem::Refused {
        what: problem.to_string(),
        right: "Put the number right in the settings of the house.".to_owned(),
    })?;
    if let Some(cloth) = measured {
        found.says.push(format!(
            "it measures otherwise than it is written: kept, {} becomes this house's own as it measures",
            cloth.name
        ));
    }
    Ok(Ok(arrival_page(job, typing, &[], Some(&found), token)))
}

/// One line of the order: a cloth for a house.
struct Line {
    supplier: String,
    cloth: String,
    code: String,
    house: String,
    buy: String,
    cents: Option<u64>,
}

async fn order(
    State(app): State<App>,
    headers: HeaderMap,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response, DeskProblem> {
    let asked: Vec<Uuid> =
        asked.iter().filter(|(key, _)| key == "house").filter_map(|(_, id)| Uuid::parse_str(id).ok()).collect();
    let (version, names, jobs) = app
        .at_desk(move |desk| {
            let lines: Vec<_> = desk.houses()?.into_iter().filter(|line| !line.away).collect();
            let names: Vec<(Uuid, String)> = lines.iter().map(|line| (line.job, line.name.clone())).collect();
            let chosen = names.iter().filter(|(id, _)| asked.contains(id)).take(HOUSES);
            let jobs: Vec<Job> =
                chosen.filter_map(|(id, _)| desk.book.job(*id).transpose()).collect::<Result<_, _>>()?;
            Ok::<_, DeskProblem>((desk.version(), names, jobs))
        })
        .await?;
    let content = tokio::task::spawn_blocking(move || {
        let mut lines = Vec::new();
        let mut problems = Vec::new();
        for job in &jobs {
            let (_, plans) = planned(job)?;
            let buying = plans.buy();
            problems.extend(
                buying
                    .problems
                    .iter()
                    .filter(|problem| problem.contains("no more of it"))
                    .map(|problem| format!("{}: {problem}", job.name)),
            );
            for planned in buying.cloths.iter().filter(|planned| planned.plan.buy > Length::ZERO) {
                let cloth = job.cloth(&planned.bolt.name);
                if cloth.is_some_and(|cloth| cloth.no_more) {
                    continue;
                }
                lines.push(Line {
                    supplier: cloth.map(|cloth| cloth.supplier.clone()).unwrap_or_default(),
                    cloth: planned.bolt.name.clone(),
                    code: cloth.map(|cloth| cloth.code.clone()).unwrap_or_default(),
                    house: job.name.clone(),
                    buy: hangtrue_core::cloth::calculator::sold(planned.plan.buy, planned.bolt.unit),
                    cents: planned.plan.cost_cents,
                });
            }
        }
        lines.sort_by_key(|line| (line.supplier.to_lowercase(), line.cloth.to_lowercase(), line.house.clone()));
        let chosen: Vec<Uuid> = jobs.iter().map(|job| job.id).collect();
        Ok::<_, DeskProblem>(order_page(&names, &chosen, &lines, &problems))
    });
    let content = content.await.expect("work on plans does not panic")?;
    Ok(app.framed(&headers, "/order", version, &content))
}

fn order_page(names: &[(Uuid, String)], chosen: &[Uuid], lines: &[Line], problems: &[String]) -> Content {
    let mut suppliers: Vec<&str> = lines.iter().map(|line| line.supplier.as_str()).collect();
    suppliers.dedup();
    let money = |cents: u64| format!("{}.{:02}", cents / 100, cents % 100);
    let markup = html! {
        section.pane {
            h1 { "What to order" }
            @if names.is_empty() { p.lead { "There is no house yet." } }
            @if !names.is_empty() {
                p { "Cloth for the settled shades of the houses that you choose, and for their room-mates in the same cloth; by who sells it." }
                form.taking method="get" action="/order" {
                    fieldset.choice {
                        legend { "Houses" }
                        div.ticks { @for (id, name) in names.iter().take(HOUSES) { label.tick { input type="checkbox" name="house" value=(id) checked[chosen.contains(id)]; " " (name) } } }
                    }
                    button.main type="submit" data-id="order_list" { "Make the list" }
                }
            }
        }
        @if !chosen.is_empty() {
            section.pane {
                h2 { "The list" }
                @for problem in problems { div.finding.decide { b { (set(problem)) } } }
                @if lines.is_empty() { p { "Nothing is to be ordered: no settled shade needs cloth that is not on the shelf." } }
                @for supplier in suppliers {
                    @let of: Vec<&Line> = lines.iter().filter(|line| line.supplier == supplier).collect();
                    h3 { @if supplier.is_empty() { "No seller is written" } @else { (supplier) } }
                    table.list.order {
                        thead { tr { th { "Cloth" } th { "For" } th.n { "Order" } th.n { "Costs" } } }
                        tbody {
                            @for line in &of {
                                tr { td { (line.cloth) @if !line.code.is_empty() { br; span.soft { (line.code) } } } td { (line.house) } td.n { b { (set(&line.buy)) } } td.n { @match line.cents { Some(cents) => (money(cents)), None => "no price" } } }
                            }
                        }
                    }
                    @if let Some(sum) = of.iter().map(|line| line.cents).sum::<Option<u64>>() { p.sum { "In all " b { (money(sum)) } } }
                }
                p.soft { "Ask for each house's length in one piece and of one lot." }
            }
        }
    };
    Content {
        title: "What to order".to_owned(),
        trail: vec![Crumb::here("Workroom", "What to order")],
        outdoors: false,
        markup,
    }
}

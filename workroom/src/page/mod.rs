//! The workroom's page: `hangtrue open` serves it on loopback. Read [`views`] for what it shows.
//!
//! Pages are whole documents rendered here; the one script only swaps what a form brought back, listens for keys and
//! for changes. Without it everything still works, with reloads. Every mutation goes through the walk
//! ([`desk::Desk::act`]) or one of two small forms, and is on the disk before the answer leaves.

mod desk;
mod guard;
mod leaves;
mod views;

use crate::book::BookArgs;
use crate::{Outcome, moments};
use anyhow::Context as _;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Form, Multipart, Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::sse::{Event as LiveEvent, KeepAlive, Sse};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use desk::{Desk, DeskProblem, Spot};
use futures_util::stream::{self, Stream};
use hangtrue_core::house::Place;
use hangtrue_core::length::LengthUnit;
use maud::Markup;
use serde::Deserialize;
use std::convert::Infallible;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use uuid::Uuid;

/// The most a form may bring; a photo may bring more.
const FORM_BYTES: usize = 512 * 1024;
/// The most a photo may have.
const PHOTO_BYTES: usize = 25 * 1024 * 1024;

/// What `hangtrue open` is told.
#[derive(clap::Args, Debug)]
pub(crate) struct OpenArgs {
    #[command(flatten)]
    book: BookArgs,
    /// The port on this computer
    #[arg(long, default_value_t = 8417)]
    port: u16,
    /// Serve it to a browser on the same network too, at this address of this computer; it then asks for a key. What is
    /// sent is not encrypted: only on a network that you trust
    #[arg(long, value_name = "ADDRESS:PORT")]
    share: Option<SocketAddr>,
}

/// What every request shares.
#[derive(Clone)]
struct App {
    desk: Arc<Mutex<Desk>>,
    guard: Arc<guard::Guard>,
}

impl App {
    fn lock(&self) -> MutexGuard<'_, Desk> {
        // A panic leaves the desk as it was: state is put in place only after it was written.
        self.desk.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Runs work on the book away from the threads that serve.
    async fn at_desk<T: Send + 'static>(&self, work: impl FnOnce(&mut Desk) -> T + Send + 'static) -> T {
        let app = self.clone();
        tokio::task::spawn_blocking(move || work(&mut app.lock())).await.expect("work at the desk does not panic")
    }

    fn page(headers: &HeaderMap, title: &str, at: &str, content: &Markup) -> Html<String> {
        Html(views::page(title, at, unit_of(headers), content).into_string())
    }
}

/// Opens the book and serves its page until it is stopped.
pub(crate) fn run(args: &OpenArgs) -> anyhow::Result<Outcome> {
    let book = args.book.open()?;
    let address = args.share.unwrap_or_else(|| SocketAddr::from(([127, 0, 0, 1], args.port)));
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?;
    runtime.block_on(async {
        let listener =
            tokio::net::TcpListener::bind(address).await.with_context(|| format!("{address} cannot be served on"))?;
        let bound = listener.local_addr()?;
        let guard = guard::Guard::new(bound, moments::now, args.share.is_some());
        println!("The page of {} is at {}", args.book.book.display(), guard.address());
        println!("Stop it with Ctrl-C.");
        axum::serve(listener, router(Desk::new(book), guard)).await?;
        anyhow::Ok(())
    })?;
    Ok(Outcome::Good)
}

fn router(desk: Desk, guard: guard::Guard) -> Router {
    let app = App { desk: Arc::new(Mutex::new(desk)), guard: Arc::new(guard) };
    Router::new()
        .route("/", get(houses))
        .route("/house/{house}", get(house))
        .route("/house/{house}/opening/{opening}", get(opening))
        .route("/house/{house}/walk", get(walk))
        .route("/house/{house}/leaving", get(leaving))
        .route("/house/{house}/settings", get(settings))
        .route("/house/{house}/sheets/{leaf}", get(leaf))
        .route("/house/{house}/file", get(house_file))
        .route("/act", post(act))
        .route("/ask", post(ask))
        .route("/take-in", post(take_in))
        .route("/photo/{hash}", get(photo))
        .route("/live", get(live))
        .route("/page.css", get(|| async { asset("text/css", include_str!("assets/page.css")) }))
        .route("/sheet.css", get(|| async { asset("text/css", hangtrue_core::sheet::STYLE) }))
        .route("/page.js", get(|| async { asset("text/javascript", include_str!("assets/page.js")) }))
        .layer(DefaultBodyLimit::max(FORM_BYTES))
        .route("/photo", post(add_photo).layer(DefaultBodyLimit::max(PHOTO_BYTES)))
        .fallback(|| async { refused(StatusCode::NOT_FOUND, "There is no such page.", "Start at the list of houses.") })
        .layer(tower_http::compression::CompressionLayer::new())
        .layer(axum::middleware::from_fn_with_state(app.clone(), guard::stand))
        .with_state(app)
}

fn asset(kind: &'static str, text: &'static str) -> impl IntoResponse {
    (
        [(header::CONTENT_TYPE, format!("{kind}; charset=utf-8")), (header::CACHE_CONTROL, "max-age=300".to_owned())],
        text,
    )
}

/// A refusal as a page of its own: what is wrong, and what would be right.
fn refused(status: StatusCode, what: &str, right: &str) -> Response {
    (status, Html(views::page("Not done", "/", None, &views::refusal(what, right)).into_string())).into_response()
}

impl IntoResponse for DeskProblem {
    fn into_response(self) -> Response {
        let status = match self {
            Self::NoSuch { .. } => StatusCode::NOT_FOUND,
            Self::Refused { .. } => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Store(_) => StatusCode::INTERNAL_SERVER_ERROR,
        };
        let (what, right) = self.words();
        refused(status, &what, &right)
    }
}

/// The unit that lengths are shown in, when a person chose one other than the house's.
fn unit_of(headers: &HeaderMap) -> Option<LengthUnit> {
    let cookies = headers.get(header::COOKIE)?.to_str().ok()?;
    match cookies.split("; ").find_map(|cookie| cookie.strip_prefix("unit="))? {
        "in" => Some(LengthUnit::Inch),
        "mm" => Some(LengthUnit::Millimetre),
        _ => None,
    }
}

#[derive(Deserialize)]
struct Find {
    #[serde(default)]
    find: String,
    #[serde(default)]
    from: usize,
}

async fn houses(State(app): State<App>, headers: HeaderMap, Query(find): Query<Find>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    let content = app
        .at_desk(move |desk| {
            let screen = desk.screen(&Spot::Houses)?;
            Ok::<_, DeskProblem>(views::houses(&screen, &desk.houses()?, &find.find, find.from, &token))
        })
        .await?;
    Ok(App::page(&headers, "Houses", "/", &content).into_response())
}

async fn house(State(app): State<App>, headers: HeaderMap, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    let (token, unit) = (app.guard.token(), unit_of(&headers));
    let (title, content) = app
        .at_desk(move |desk| {
            let screen = desk.screen(&Spot::House(house))?;
            let folded = desk.house(house)?;
            Ok::<_, DeskProblem>((folded.job.name.clone(), views::house(&screen, &folded, unit, &token)?))
        })
        .await?;
    Ok(App::page(&headers, &title, &format!("/house/{house}"), &content).into_response())
}

async fn opening(
    State(app): State<App>,
    headers: HeaderMap,
    Path((house, opening)): Path<(Uuid, Uuid)>,
) -> Result<Response, DeskProblem> {
    let (token, unit) = (app.guard.token(), unit_of(&headers));
    let (title, content) = app
        .at_desk(move |desk| {
            let screen = desk.screen(&Spot::Opening(house, opening))?;
            let folded = desk.house(house)?;
            Ok::<_, DeskProblem>((screen.title.clone(), views::opening(&screen, &folded, opening, unit, &token)?))
        })
        .await?;
    Ok(App::page(&headers, &title, &format!("/house/{house}/opening/{opening}"), &content).into_response())
}

async fn walk(State(app): State<App>, headers: HeaderMap, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    let (title, content) = app
        .at_desk(move |desk| {
            let screen = desk.screen(&Spot::Walk(house))?;
            Ok::<_, DeskProblem>((screen.title.clone(), views::walk(&screen, house, &token)))
        })
        .await?;
    Ok(App::page(&headers, &title, &format!("/house/{house}/walk"), &content).into_response())
}

async fn leaving(State(app): State<App>, headers: HeaderMap, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    let content = app
        .at_desk(move |desk| Ok::<_, DeskProblem>(views::leaving(&desk.screen(&Spot::Leaving(house))?, house, &token)))
        .await?;
    Ok(App::page(&headers, "Before you leave", &format!("/house/{house}/leaving"), &content).into_response())
}

async fn settings(
    State(app): State<App>,
    headers: HeaderMap,
    Path(house): Path<Uuid>,
) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    let content = app
        .at_desk(move |desk| {
            Ok::<_, DeskProblem>(views::settings(&desk.screen(&Spot::Settings(house))?, house, &token))
        })
        .await?;
    Ok(App::page(&headers, "Numbers of the house", &format!("/house/{house}/settings"), &content).into_response())
}

async fn leaf(
    State(app): State<App>,
    headers: HeaderMap,
    Path((house, leaf)): Path<(Uuid, String)>,
) -> Result<Response, DeskProblem> {
    let unit = unit_of(&headers);
    let Some(kind) = leaves::Leaf::named(&leaf) else {
        return Ok(refused(StatusCode::NOT_FOUND, "There is no such sheet.", "Choose one from the house's page."));
    };
    let folded = app.at_desk(move |desk| desk.house(house)).await?;
    // The plans take their time; they are worked out without keeping the book from others.
    let (name, content) = tokio::task::spawn_blocking(move || {
        let content = leaves::render(kind, &folded.job, unit, &moments::today());
        (folded.job.name, content)
    })
    .await
    .expect("work on a sheet does not panic");
    let content = views::leaf(&content?, kind, house, &name);
    Ok(App::page(&headers, &format!("{}, {name}", kind.words()), &format!("/house/{house}/sheets/{leaf}"), &content)
        .into_response())
}

async fn house_file(State(app): State<App>, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    let folded = app.at_desk(move |desk| desk.house(house)).await?;
    let text = hangtrue_core::house::file::write(&folded.job);
    let disposition = format!("attachment; filename=\"{house}.json\"");
    Ok(([(header::CONTENT_TYPE, "application/json".to_owned()), (header::CONTENT_DISPOSITION, disposition)], text)
        .into_response())
}

/// What every form carries.
#[derive(Deserialize)]
struct Act {
    token: String,
    /// The page it was sent from.
    at: String,
    /// The event, as JSON.
    event: String,
    /// What was typed, for an event that gives words.
    #[serde(default)]
    text: Option<String>,
}

async fn act(State(app): State<App>, Form(form): Form<Act>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let Some(spot) = Spot::of_path(&form.at) else {
        return Ok(refused(StatusCode::BAD_REQUEST, "The form names no page.", "Load the page again."));
    };
    let to = app.at_desk(move |desk| desk.act(&spot, &form.event, form.text.as_deref())).await?;
    Ok(Redirect::to(&to).into_response())
}

#[derive(Deserialize)]
struct AskForm {
    token: String,
    house: Uuid,
    opening: Uuid,
    why: String,
    #[serde(default)]
    by: String,
    /// Places' codes, separated by commas; empty for the whole opening.
    #[serde(default)]
    places: String,
}

async fn ask(State(app): State<App>, Form(form): Form<AskForm>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let codes = form.places.split([',', ' ']).filter(|code| !code.is_empty());
    let mut places = Vec::new();
    for code in codes {
        match Place::from_code(code) {
            Some(place) => places.push(place),
            None => {
                let known = Place::ALL.iter().map(|place| place.code()).collect::<Vec<_>>().join(", ");
                return Ok(refused(
                    StatusCode::BAD_REQUEST,
                    &format!("There is no place \"{code}\"."),
                    &format!("The places are: {known}."),
                ));
            }
        }
    }
    let to = format!("/house/{}/opening/{}", form.house, form.opening);
    app.at_desk(move |desk| desk.ask(form.house, form.opening, places, form.why.trim(), form.by.trim())).await?;
    Ok(Redirect::to(&to).into_response())
}

#[derive(Deserialize)]
struct TakeIn {
    token: String,
    text: String,
}

async fn take_in(State(app): State<App>, Form(form): Form<TakeIn>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let house = app.at_desk(move |desk| desk.take_in(&form.text)).await?;
    Ok(Redirect::to(&format!("/house/{house}")).into_response())
}

async fn add_photo(State(app): State<App>, mut form: Multipart) -> Result<Response, DeskProblem> {
    let (mut token, mut house, mut on, mut caption, mut bytes) = (String::new(), None, None, String::new(), Vec::new());
    loop {
        let field = match form.next_field().await {
            Ok(Some(field)) => field,
            Ok(None) => break,
            Err(error) => {
                return Ok(refused(StatusCode::BAD_REQUEST, "The form could not be read.", &error.body_text()));
            }
        };
        let name = field.name().unwrap_or_default().to_owned();
        let Ok(value) = field.bytes().await else {
            return Ok(refused(StatusCode::PAYLOAD_TOO_LARGE, "The photo is too large.", "A photo may have 25 MB."));
        };
        let text = || String::from_utf8_lossy(&value).trim().to_owned();
        match name.as_str() {
            "token" => token = text(),
            "house" => house = text().parse::<Uuid>().ok(),
            "on" => on = text().parse::<Uuid>().ok(),
            "caption" => caption = text(),
            "photo" => bytes = value.to_vec(),
            _ => {}
        }
    }
    if !app.guard.knows(&token) {
        return Ok(guard::stale());
    }
    let (Some(house), Some(on)) = (house, on) else {
        return Ok(refused(StatusCode::BAD_REQUEST, "The form names no opening.", "Load the page again."));
    };
    if desk::picture_kind(&bytes).is_none() {
        return Ok(refused(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "This is no photo.",
            "Choose a JPEG, PNG or WebP picture.",
        ));
    }
    app.at_desk(move |desk| desk.add_photo(house, on, &bytes, &caption)).await?;
    Ok(Redirect::to(&format!("/house/{house}/opening/{on}")).into_response())
}

async fn photo(State(app): State<App>, Path(hash): Path<String>) -> Result<Response, DeskProblem> {
    let Some(bytes) = app.at_desk(move |desk| desk.photo(&hash)).await? else {
        return Ok(refused(StatusCode::NOT_FOUND, "This photo has not arrived yet.", "It comes with the next sync."));
    };
    let kind = desk::picture_kind(&bytes).unwrap_or("application/octet-stream");
    Ok(([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "private, max-age=31536000, immutable")], bytes)
        .into_response())
}

/// Tells the page when the book changed: by this page, by a sync, by another program.
async fn live(State(app): State<App>) -> Sse<impl Stream<Item = Result<LiveEvent, Infallible>>> {
    let first = app.at_desk(|desk| desk.version()).await;
    let changes = stream::unfold((app, first), |(app, seen)| async move {
        loop {
            tokio::time::sleep(Duration::from_secs(1)).await;
            let now = app.at_desk(|desk| desk.version()).await;
            if now != seen {
                return Some((Ok(LiveEvent::default().event("changed").data(now.to_string())), (app, now)));
            }
        }
    });
    Sse::new(changes).keep_alive(KeepAlive::default())
}

#[cfg(test)]
mod tests;

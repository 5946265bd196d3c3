//! The workroom's page: `hangtrue open` serves it on loopback, to who can read a file of its owner's. Read [`views`] for what it shows.
//!
//! Pages are whole documents rendered here; the one script only swaps what a form brought back, listens for keys and
//! for changes. Without it everything still works, with reloads. Every mutation goes through the walk
//! ([`desk::Desk::act`]) or one of two small forms, and is on the disk before the answer leaves.

mod backup;
mod bench;
mod cloths;
mod desk;
mod door;
mod effect;
mod fields;
mod figures;
mod files;
mod find;
mod guard;
mod help;
mod house;
mod hung;
mod keeping;
mod keys;
mod labels;
mod leaves;
mod lengths;
mod money;
mod numbers;
mod opening;
mod pad;
mod paper;
mod prices;
mod seat;
mod sections;
mod shelf;
mod views;

use crate::book::BookArgs;
use crate::{Outcome, hub, moments};
use anyhow::{Context as _, bail};
use axum::Router;
use axum::extract::rejection::FormRejection;
use axum::extract::{DefaultBodyLimit, Form, Path, Query, Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::sse::{Event as LiveEvent, KeepAlive, Sse};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use desk::{Desk, DeskProblem, Spot};
use futures_util::stream::{self, Stream};
use hangtrue_core::flag::sentence;
use hangtrue_core::house::{Place, Workroom};
use hangtrue_core::length::LengthUnit;
use serde::Deserialize;
use std::convert::Infallible;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, LazyLock, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use uuid::Uuid;
use views::Content;

/// The look of every page: the tokens, and what is made of them.
static STYLE: LazyLock<String> =
    LazyLock::new(|| [hangtrue_core::sheet::TOKENS, include_str!("assets/page.css")].concat());
/// The most a form may bring; files may bring more.
const FORM_BYTES: usize = 512 * 1024;

/// What `hangtrue open` is told.
#[derive(clap::Args, Debug)]
pub(crate) struct OpenArgs {
    #[command(flatten)]
    book: BookArgs,
    /// The port on this computer
    #[arg(long, default_value_t = 8417)]
    port: u16,
    /// Gone: what was sent was not encrypted
    #[arg(long, value_name = "ADDRESS:PORT", hide = true)]
    share: Option<String>,
    /// Keep the firm's hub too, in this folder: phones and other desks on the network exchange with it, and are paired
    /// on the page
    #[arg(long, value_name = "FOLDER")]
    hub: Option<PathBuf>,
    /// Where that hub listens
    #[arg(long, value_name = "ADDRESS:PORT", default_value = "0.0.0.0:7443", requires = "hub")]
    hub_listen: SocketAddr,
}

/// What every request shares.
#[derive(Clone)]
struct App {
    desk: Arc<Mutex<Desk>>,
    guard: Arc<guard::Guard>,
    hub: Option<Arc<hub::Hub>>,
    plans: Arc<leaves::Plans>,
    found: Arc<Mutex<Search>>,
}

/// Everything that is found; worked out once, when it is first asked for or before.
#[derive(Default)]
enum Search {
    #[default]
    Not,
    Begun,
    Ready(find::Index),
}

impl App {
    fn lock(&self) -> MutexGuard<'_, Desk> {
        // A panic leaves the desk as it was: state is put in place only after it was written.
        self.desk.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Runs work on the book away from the threads that serve.
    async fn at_desk<T: Send + 'static>(&self, work: impl FnOnce(&mut Desk) -> T + Send + 'static) -> T {
        let (app, seat) = (self.clone(), seat::of_this_request());
        let sat = move || {
            let mut desk = app.lock();
            desk.sit(seat);
            work(&mut desk)
        };
        tokio::task::spawn_blocking(sat).await.expect("work at the desk does not panic")
    }

    /// A page out of the book. The book's version is taken before what is shown of it: a change in between is told later.
    async fn page(
        &self,
        headers: &HeaderMap,
        at: String,
        work: impl FnOnce(&mut Desk) -> Result<Content, DeskProblem> + Send + 'static,
    ) -> Result<Response, DeskProblem> {
        let (version, content) = self.at_desk(move |desk| Ok::<_, DeskProblem>((desk.version(), work(desk)?))).await?;
        Ok(self.framed(headers, &at, version, &content))
    }

    fn framed(&self, headers: &HeaderMap, at: &str, version: i64, content: &Content) -> Response {
        let token = self.guard.token();
        let Content { title, trail, outdoors, markup } = content;
        let (unit, outdoors, keys) = (unit_of(headers), *outdoors, !keys::are_off(headers));
        let frame = views::Frame { title, at, unit, version, token: &token, trail, outdoors, keys };
        Html(views::page(&frame, markup).into_string()).into_response()
    }
}

/// Opens the book and serves its page until it is stopped.
pub(crate) fn run(args: &OpenArgs) -> anyhow::Result<Outcome> {
    if args.share.is_some() {
        bail!(
            "--share is gone: it sent clients' data over the network unencrypted. Pair the other computer with a hub \
             (hangtrue open --hub FOLDER here, hangtrue pair there) and open its own book on it"
        );
    }
    let book = args.book.open()?;
    let address = SocketAddr::from(([127, 0, 0, 1], args.port));
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?;
    let standing = match &args.hub {
        Some(folder) => {
            let words = hub::HubArgs::of_page(folder.clone(), args.hub_listen, args.book.book.clone());
            Some(hub::Standing::of(&words, runtime.handle())?)
        }
        None => None,
    };
    runtime.block_on(async {
        let listener =
            tokio::net::TcpListener::bind(address).await.with_context(|| format!("{address} cannot be served on"))?;
        let bound = listener.local_addr()?;
        let name: String = moments::now().uuid().simple().to_string().chars().rev().take(12).collect();
        let door = door::Door::beside(&args.book.book, &name)?;
        let file = std::path::absolute(door.file())?;
        let guard = Arc::new(guard::Guard::new(bound, moments::now, door)?);
        println!("To see the book, open this file in a browser; only you can read it:");
        println!("{}", file.display());
        println!("Stop with Ctrl-C.");
        let shared = standing.as_ref().map(|standing| Arc::clone(&standing.hub));
        if let Some(standing) = standing {
            tokio::spawn(async move {
                if let Err(error) = standing.serve().await {
                    eprintln!("the hub stopped: {error:#}");
                }
            });
        }
        let (pages, app) = router(Desk::new(book), Arc::clone(&guard), shared);
        // What is looked for first must not wait for it.
        std::thread::spawn(move || app.gather());
        let served = tokio::select! {
            served = axum::serve(listener, pages) => served,
            () = stopped() => Ok(()),
        };
        guard.close();
        anyhow::Ok(served?)
    })?;
    Ok(Outcome::Good)
}

/// Until the program is told to end.
async fn stopped() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let (Ok(mut ended), Ok(mut hung)) = (signal(SignalKind::terminate()), signal(SignalKind::hangup())) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = ended.recv() => {}
                _ = hung.recv() => {}
            }
            return;
        }
    }
    if tokio::signal::ctrl_c().await.is_err() {
        std::future::pending::<()>().await;
    }
}

fn router(desk: Desk, guard: Arc<guard::Guard>, hub: Option<Arc<hub::Hub>>) -> (Router, App) {
    let app = App { desk: Arc::new(Mutex::new(desk)), guard, hub, plans: Arc::default(), found: Arc::default() };
    let router = Router::new()
        .route(guard::ENTER, post(enter))
        .route("/", get(houses))
        .route("/find", get(search))
        .route("/keys", get(keys_page).post(turn_keys))
        .route(
            help::MEASURING,
            get(|State(app): State<App>, headers: HeaderMap| async move { help_page(&app, &headers, help::MEASURING) }),
        )
        .route(
            help::WORDS,
            get(|State(app): State<App>, headers: HeaderMap| async move { help_page(&app, &headers, help::WORDS) }),
        )
        .route(
            help::FORMATS,
            get(|State(app): State<App>, headers: HeaderMap| async move { help_page(&app, &headers, help::FORMATS) }),
        )
        .route("/house/{house}", get(house))
        .route("/house/{house}/opening/{opening}", get(opening))
        .route("/house/{house}/opening/{opening}/note", get(note).post(take_note))
        .route("/house/{house}/walk", get(walk))
        .route("/house/{house}/leaving", get(leaving))
        .route("/house/{house}/settings", get(settings))
        .route("/house/{house}/sheets/labels", get(house_labels))
        .route("/house/{house}/sheets/{leaf}", get(leaf))
        .route("/house/{house}/file", get(house_file))
        .route("/house/{house}/erase", post(erase))
        .route("/house/{house}/prices", get(prices::show).post(prices::act))
        .route("/house/{house}/quotes/{number}", get(prices::quote))
        .route("/trade", get(prices::trade).post(prices::keep_trade))
        .merge(cloths::routes())
        .merge(shelf::routes())
        .merge(keeping::routes())
        .merge(bench::routes())
        .merge(money::routes())
        .merge(hung::routes())
        .route("/workroom", get(workroom))
        .route("/workroom/invite", post(invite))
        .route("/workroom/confirm", post(confirm))
        .route("/check", get(check_page).post(check_now))
        .route("/check/mend", post(mend_now))
        .route("/backup", post(back_up))
        .route("/act", post(act))
        .route("/ask", post(ask))
        .route("/unit", post(in_unit))
        .route("/photo/{hash}", get(photo))
        .route("/live", get(live))
        .route("/page.css", get(|| async { asset("text/css", STYLE.as_str()) }))
        .route("/sheet.css", get(|| async { asset("text/css", hangtrue_core::sheet::STYLE) }))
        .route("/page.js", get(|| async { asset("text/javascript", include_str!("assets/page.js")) }))
        .layer(DefaultBodyLimit::max(FORM_BYTES))
        .route("/photo", post(files::add_photos).layer(DefaultBodyLimit::max(files::BYTES)))
        .route("/take-in", post(files::take_in).layer(DefaultBodyLimit::max(files::BYTES)))
        .fallback(|| async { refused(StatusCode::NOT_FOUND, "There is no such page.", "Start at the list of houses.") })
        .layer(tower_http::compression::CompressionLayer::new())
        .layer(axum::middleware::from_fn(in_words))
        .layer(axum::middleware::from_fn(seat::taken))
        .layer(axum::middleware::from_fn_with_state(app.clone(), guard::stand))
        .layer(axum::middleware::from_fn(crate::drain::answered))
        .with_state(app.clone());
    (router, app)
}

/// What the server itself refuses before we see it, as a page in plain words.
async fn in_words(request: Request, next: Next) -> Response {
    let asks = matches!(*request.method(), Method::GET | Method::HEAD);
    let response = next.run(request).await;
    let plain =
        response.headers().get(header::CONTENT_TYPE).is_some_and(|kind| kind.as_bytes().starts_with(b"text/plain"));
    match response.status() {
        status @ StatusCode::PAYLOAD_TOO_LARGE if plain => refused(
            status,
            "What was sent is too large.",
            "A form may have 512 kB, a photo or a job file 25 MB, all of them at once 100 MB; nothing was changed.",
        ),
        status if plain && asks && status.is_client_error() => {
            let status = if status == StatusCode::BAD_REQUEST { StatusCode::NOT_FOUND } else { status };
            refused(
                status,
                "This address leads to no house and no opening.",
                "It was cut short or typed wrong. Every house is in the list of houses, and its openings are on its page.",
            )
        }
        status if plain && status.is_client_error() => {
            refused(status, "The form could not be read.", "Load the page again; nothing was changed.")
        }
        _ => response,
    }
}

fn asset(kind: &'static str, text: &'static str) -> impl IntoResponse {
    (
        [(header::CONTENT_TYPE, format!("{kind}; charset=utf-8")), (header::CACHE_CONTROL, "max-age=300".to_owned())],
        text,
    )
}

/// A refusal as a page of its own: what is wrong, and what would be right.
fn refused(status: StatusCode, what: &str, right: &str) -> Response {
    refused_at(status, what, right, "/")
}

/// A refusal that leads back to where it was asked.
fn refused_at(status: StatusCode, what: &str, right: &str, back: &str) -> Response {
    let frame = views::Frame {
        title: "Not done",
        at: "",
        unit: None,
        version: 0,
        token: "",
        trail: &[],
        outdoors: false,
        keys: true,
    };
    (status, Html(views::page(&frame, &views::refusal(what, right, back)).into_string())).into_response()
}

impl IntoResponse for DeskProblem {
    fn into_response(self) -> Response {
        let (what, right) = self.words();
        refused(self.status(), &what, &right)
    }
}

impl DeskProblem {
    const fn status(&self) -> StatusCode {
        match self {
            Self::NoSuch { .. } => StatusCode::NOT_FOUND,
            Self::Refused { .. } => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Store(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
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

/// What the door's file brings.
#[derive(Deserialize)]
struct Enter {
    token: String,
}

async fn enter(State(app): State<App>, form: Result<Form<Enter>, FormRejection>) -> Response {
    let token = form.map_or_else(|_| String::new(), |Form(form)| form.token);
    // The door's file is written anew, which waits for the disk.
    tokio::task::spawn_blocking(move || app.guard.enter(&token)).await.expect("opening a door does not panic")
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
    app.page(&headers, "/".to_owned(), move |desk| {
        let screen = desk.screen(&Spot::Houses)?;
        Ok(views::houses(&screen, &desk.houses()?, &desk.alone()?, &find.find, find.from, &token))
    })
    .await
}

async fn house(State(app): State<App>, headers: HeaderMap, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    if house == Workroom::ID {
        return Ok(Redirect::to(&format!("/house/{house}/settings")).into_response());
    }
    let (token, unit) = (app.guard.token(), unit_of(&headers));
    app.page(&headers, format!("/house/{house}"), move |desk| {
        let screen = desk.screen(&Spot::House(house))?;
        house::page(&screen, &desk.house(house)?, unit, &token)
    })
    .await
}

async fn opening(
    State(app): State<App>,
    headers: HeaderMap,
    Path((house, opening)): Path<(Uuid, Uuid)>,
) -> Result<Response, DeskProblem> {
    let (token, unit) = (app.guard.token(), unit_of(&headers));
    app.page(&headers, format!("/house/{house}/opening/{opening}"), move |desk| {
        let screen = desk.screen(&Spot::Opening(house, opening))?;
        opening::page(&screen, &desk.house(house)?, opening, unit, &token)
    })
    .await
}

async fn note(
    State(app): State<App>,
    headers: HeaderMap,
    Path((house, opening)): Path<(Uuid, Uuid)>,
) -> Result<Response, DeskProblem> {
    note_page(&app, &headers, (house, opening), views::Slip::default()).await
}

/// The page of an opening's note, as it is typed so far.
async fn note_page(
    app: &App,
    headers: &HeaderMap,
    (house, opening): (Uuid, Uuid),
    slip: views::Slip,
) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(headers, format!("/house/{house}/opening/{opening}/note"), move |desk| {
        let (folded, form) = (desk.house(house)?, desk.note(opening)?);
        paper::page(&folded, opening, &paper::fields(&form), &token, &slip)
    })
    .await
}

/// A note as it is typed: `token`, `do` ("look" or "keep"), and a field for each place.
async fn take_note(
    State(app): State<App>,
    headers: HeaderMap,
    Path((house, opening)): Path<(Uuid, Uuid)>,
    Form(form): Form<Vec<(String, String)>>,
) -> Result<Response, DeskProblem> {
    let field = |name: &str| form.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.as_str());
    if !app.guard.knows(field("token")) {
        return Ok(guard::stale());
    }
    let (keeps, fields) = (field("do") == "keep", paper::fields(&form));
    let kept = app.at_desk(move |desk| {
        desk.set_note(house, opening, &paper::form(&fields))?;
        if keeps { desk.keep_note(house, opening, &fields).map(Some) } else { Ok(None) }
    });
    match kept.await {
        Ok(Some(to)) => Ok(Redirect::to(&to).into_response()),
        Ok(None) => note_page(&app, &headers, (house, opening), views::Slip::default()).await,
        Err(DeskProblem::Refused { what, right }) => {
            let (what, right) = (sentence(&what), sentence(&right));
            let slip = views::Slip { typed: String::new(), what, right };
            let mut page = note_page(&app, &headers, (house, opening), slip).await?;
            *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
            Ok(page)
        }
        Err(problem) => Err(problem),
    }
}

async fn walk(State(app): State<App>, headers: HeaderMap, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, format!("/house/{house}/walk"), move |desk| {
        let screen = desk.screen(&Spot::Walk(house))?;
        Ok(pad::page(&screen, &desk.house(house)?, &token, &views::Slip::default()))
    })
    .await
}

async fn leaving(State(app): State<App>, headers: HeaderMap, Path(house): Path<Uuid>) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, format!("/house/{house}/leaving"), move |desk| {
        let screen = desk.screen(&Spot::Leaving(house))?;
        Ok(views::leaving(&screen, &desk.house(house)?.job, &token))
    })
    .await
}

async fn settings(
    State(app): State<App>,
    headers: HeaderMap,
    Path(house): Path<Uuid>,
    Query(find): Query<numbers::Find>,
) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, format!("/house/{house}/settings"), move |desk| {
        let screen = desk.screen(&Spot::Settings(house))?;
        Ok(views::settings(&screen, &desk.house(house)?.job, &find.find, &token))
    })
    .await
}

/// Which of the sheets.
#[derive(Deserialize)]
struct Only {
    /// The one opening that is wanted; all when left out.
    opening: Option<Uuid>,
}

async fn leaf(
    State(app): State<App>,
    headers: HeaderMap,
    Path((house, leaf)): Path<(Uuid, String)>,
    Query(Only { opening }): Query<Only>,
) -> Result<Response, DeskProblem> {
    let unit = unit_of(&headers);
    let Some(kind) = leaves::Leaf::named(&leaf) else {
        return Ok(refused(StatusCode::NOT_FOUND, "There is no such sheet.", "Choose one from the house's page."));
    };
    let (version, folded) = app.at_desk(move |desk| Ok::<_, DeskProblem>((desk.version(), desk.house(house)?))).await?;
    // The plans take their time; they are worked out without keeping the book from others.
    let plans = Arc::clone(&app.plans);
    let content = tokio::task::spawn_blocking(move || {
        let sheets = leaves::render(kind, &folded.job, opening, unit, &moments::today(), (&plans, version))?;
        let of = folded.job.openings().find(|(_, one)| Some(one.id) == opening);
        let of = of.map(|(room, one)| (one.id, format!("{}, {}", room.name, one.name)));
        Ok::<_, DeskProblem>(views::leaf(&sheets, kind, &folded.job, of.as_ref()))
    })
    .await
    .expect("work on a sheet does not panic")?;
    Ok(app.framed(&headers, &format!("/house/{house}/sheets/{leaf}"), version, &content))
}

async fn house_labels(
    State(app): State<App>,
    headers: HeaderMap,
    Path(house): Path<Uuid>,
    Query(form): Query<labels::Form>,
) -> Result<Response, DeskProblem> {
    let (version, folded) = app.at_desk(move |desk| Ok::<_, DeskProblem>((desk.version(), desk.house(house)?))).await?;
    // As with the sheets: planning does not keep the book from others.
    let plans = Arc::clone(&app.plans);
    let content = tokio::task::spawn_blocking(move || labels::page(&folded.job, &form, (&plans, version)))
        .await
        .expect("work on labels does not panic")?;
    Ok(app.framed(&headers, &format!("/house/{house}/sheets/labels"), version, &content))
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
    /// The opening and the place that a reading was typed for.
    #[serde(default)]
    place: Option<String>,
    /// Given once what it changes was shown.
    #[serde(default)]
    sure: Option<String>,
}

/// The opening and the place of a form's field: `ID/width_top`.
fn read_place(text: &str) -> Option<(Uuid, Place)> {
    let (opening, place) = text.split_once('/')?;
    Some((opening.parse().ok()?, Place::from_code(place)?))
}

async fn act(State(app): State<App>, headers: HeaderMap, Form(form): Form<Act>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let Some(spot) = Spot::of_path(&form.at) else {
        return Ok(refused(StatusCode::BAD_REQUEST, "The form names no page.", "Load the page again."));
    };
    if spot == Spot::Settings(Workroom::ID) && form.sure.is_none() {
        let (event, text) = (form.event.clone(), form.text.clone());
        let changes = app.at_desk(move |desk| desk.would_change(&event, text.as_deref())).await?;
        if !changes.is_empty() {
            let token = app.guard.token();
            let (at, event, text) = (form.at.clone(), form.event, form.text);
            let content = move |_: &mut Desk| Ok(effect::page(&changes, &at, &event, text.as_deref(), &token));
            return app.page(&headers, form.at, content).await;
        }
    }
    let (event, text, place) = (form.event, form.text.clone(), form.place.as_deref().and_then(read_place));
    let done = app.at_desk(move |desk| desk.act(&spot, &event, text.as_deref(), place)).await;
    match (done, spot) {
        // What is answered over a note leads back to the note.
        (Ok(_), _) if form.at.ends_with("/note") => Ok(Redirect::to(&form.at).into_response()),
        (Ok(to), _) => Ok(Redirect::to(&to).into_response()),
        // A slip of the keyboard is shown on the pad, with what was typed still there to be put right.
        (Err(DeskProblem::Refused { what, right }), Spot::Walk(house)) if form.text.is_some() => {
            let (token, slip) = (app.guard.token(), views::Slip { typed: form.text.unwrap_or_default(), what, right });
            let page = app.page(&headers, form.at, move |desk| {
                let screen = desk.screen(&spot)?;
                Ok(pad::page(&screen, &desk.house(house)?, &token, &slip))
            });
            let mut page = page.await?;
            *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
            Ok(page)
        }
        (Err(problem), _) => {
            let (what, right) = problem.words();
            Ok(refused_at(problem.status(), &what, &right, &form.at))
        }
    }
}

/// Which unit lengths are shown in: a choice of this browser, kept in it and not in the book.
#[derive(Deserialize)]
struct InUnit {
    token: String,
    at: String,
    unit: String,
}

async fn in_unit(State(app): State<App>, Form(form): Form<InUnit>) -> Response {
    if !app.guard.knows(&form.token) {
        return guard::stale();
    }
    // Back to a page of this program and nowhere else.
    let at = if form.at.starts_with("/house/") { form.at.as_str() } else { "/" };
    let unit = if matches!(form.unit.as_str(), "in" | "mm") { form.unit.as_str() } else { "house" };
    let cookie = format!("unit={unit}; SameSite=Strict; HttpOnly; Path=/; Max-Age=31536000");
    ([(header::SET_COOKIE, cookie)], Redirect::to(at)).into_response()
}

/// An ask: `house`, `opening`, `why`, `by`, and a `place` for each place; none for the whole opening.
async fn ask(State(app): State<App>, Form(fields): Form<Vec<(String, String)>>) -> Result<Response, DeskProblem> {
    let field = |name: &str| fields.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.trim());
    if !app.guard.knows(field("token")) {
        return Ok(guard::stale());
    }
    let (Ok(house), Ok(opening)) = (field("house").parse::<Uuid>(), field("opening").parse::<Uuid>()) else {
        return Ok(refused(StatusCode::BAD_REQUEST, "The form names no opening.", "Load the page again."));
    };
    let mut places = Vec::new();
    for (_, code) in fields.iter().filter(|(name, _)| name == "place") {
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
    let to = format!("/house/{house}/opening/{opening}");
    let (why, by) = (field("why").to_owned(), field("by").to_owned());
    match app.at_desk(move |desk| desk.ask(house, opening, places, &why, &by)).await {
        Ok(()) => Ok(Redirect::to(&to).into_response()),
        Err(problem) => {
            let (what, right) = problem.words();
            Ok(refused_at(problem.status(), &what, &right, &to))
        }
    }
}

#[derive(Deserialize)]
struct Erase {
    token: String,
    /// The house's whole name, written once more.
    #[serde(default)]
    name: String,
}

async fn erase(
    State(app): State<App>,
    Path(house): Path<Uuid>,
    Form(form): Form<Erase>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    match app.at_desk(move |desk| desk.erase(house, form.name.trim())).await {
        Ok(()) => Ok(Redirect::to("/").into_response()),
        Err(problem) => {
            let (what, right) = problem.words();
            Ok(refused_at(problem.status(), &what, &right, &format!("/house/{house}")))
        }
    }
}

async fn photo(State(app): State<App>, Path(hash): Path<String>) -> Result<Response, DeskProblem> {
    let Some(bytes) = app.at_desk(move |desk| desk.photo(&hash)).await? else {
        return Ok(refused(StatusCode::NOT_FOUND, "This photo has not arrived yet.", "It comes with the next sync."));
    };
    let kind = desk::picture_kind(&bytes).unwrap_or("application/octet-stream");
    Ok(([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "private, max-age=31536000, immutable")], bytes)
        .into_response())
}

/// What a form with nothing of its own carries.
#[derive(Deserialize)]
struct Bare {
    token: String,
    /// The six digits, where they are asked for.
    #[serde(default)]
    digits: String,
}

async fn check_page(State(app): State<App>, headers: HeaderMap) -> Result<Response, DeskProblem> {
    checked(&app, &headers, None).await
}

async fn check_now(
    State(app): State<App>,
    headers: HeaderMap,
    Form(form): Form<Bare>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    checked(&app, &headers, Some(false)).await
}

async fn mend_now(State(app): State<App>, headers: HeaderMap, Form(form): Form<Bare>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    checked(&app, &headers, Some(true)).await
}

/// The check's page, with what a check found when one is asked for, `Some(true)` when it is to mend.
async fn checked(app: &App, headers: &HeaderMap, mend: Option<bool>) -> Result<Response, DeskProblem> {
    let found = match mend {
        Some(mend) => Some(app.at_desk(move |desk| desk.check(mend)).await?),
        None => None,
    };
    book_page(app, headers, found, None).await
}

/// The page of the book as a whole: its check, and its backup. What was just done stands on it.
async fn book_page(
    app: &App,
    headers: &HeaderMap,
    found: Option<(Vec<String>, bool)>,
    made: Option<backup::Backup>,
) -> Result<Response, DeskProblem> {
    // What was found or made is not swapped for a page without it when the book changes.
    let at = if found.is_some() || made.is_some() { "" } else { "/check" };
    let (version, place) = app.at_desk(|desk| Ok::<_, DeskProblem>((desk.version(), desk.backups()?))).await?;
    let content = views::check(found.as_ref(), made.as_ref(), &place, &app.guard.token());
    Ok(app.framed(headers, at, version, &Content::plain("Check and back up the book", content)))
}

/// Where a backup goes.
#[derive(Deserialize)]
struct BackUp {
    token: String,
    #[serde(default)]
    folder: String,
}

async fn back_up(
    State(app): State<App>,
    headers: HeaderMap,
    Form(form): Form<BackUp>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let (book, place) = app.at_desk(move |desk| desk.place_of_backup(&form.folder)).await?;
    // A large book takes its time; readings are kept meanwhile.
    let stamp = chrono::Local::now().format("%Y-%m-%d-%H%M%S").to_string();
    let made = tokio::task::spawn_blocking(move || backup::make(&book, &place, &stamp)).await;
    match made.expect("a backup does not panic") {
        Ok(made) => book_page(&app, &headers, None, Some(made)).await,
        Err(problem) => {
            let (what, right) = problem.words();
            Ok(refused_at(problem.status(), &what, &right, "/check"))
        }
    }
}

#[derive(Deserialize)]
struct Sought {
    #[serde(default)]
    q: String,
}

async fn search(
    State(app): State<App>,
    headers: HeaderMap,
    Query(sought): Query<Sought>,
) -> Result<Response, DeskProblem> {
    let finding = app.clone();
    let found = app.at_desk(move |desk| finding.search(desk, &sought.q)).await?;
    Ok(app.framed(&headers, "", 0, &found))
}

impl App {
    /// What is found of a text.
    fn search(&self, desk: &Desk, wanted: &str) -> Result<Content, DeskProblem> {
        let mut search = self.found.lock().unwrap_or_else(PoisonError::into_inner);
        if matches!(*search, Search::Not) && desk.houses()?.len() <= find::AT_ONCE {
            *search = Search::Ready(find::Index::of(desk.book())?);
        }
        match &mut *search {
            Search::Ready(index) => {
                index.refresh(desk.book())?;
                Ok(find::page(wanted, Some(&index.find(wanted))))
            }
            Search::Begun => Ok(find::page(wanted, None)),
            Search::Not => {
                let gathering = self.clone();
                std::thread::spawn(move || gathering.gather());
                Ok(find::page(wanted, None))
            }
        }
    }

    /// Works out what is found, beside the serving; once.
    fn gather(&self) {
        {
            let mut search = self.found.lock().unwrap_or_else(PoisonError::into_inner);
            if !matches!(*search, Search::Not) {
                return;
            }
            *search = Search::Begun;
        }
        let beside = self.lock().book().beside();
        let index = beside.and_then(|book| find::Index::of(&book));
        let mut search = self.found.lock().unwrap_or_else(PoisonError::into_inner);
        match index {
            Ok(index) => *search = Search::Ready(index),
            Err(problem) => {
                eprintln!("the search could not be made ready: {problem}");
                *search = Search::Not;
            }
        }
    }
}

async fn keys_page(State(app): State<App>, headers: HeaderMap) -> Response {
    app.framed(&headers, "", 0, &keys::page(keys::are_off(&headers), &app.guard.token()))
}

#[derive(Deserialize)]
struct TurnKeys {
    token: String,
    keys: String,
}

/// Turns letters on or off: a choice of this browser.
async fn turn_keys(State(app): State<App>, Form(form): Form<TurnKeys>) -> Response {
    if !app.guard.knows(&form.token) {
        return guard::stale();
    }
    let keys = if form.keys == "off" { "off" } else { "on" };
    let cookie = format!("keys={keys}; SameSite=Strict; HttpOnly; Path=/; Max-Age=31536000");
    ([(header::SET_COOKIE, cookie)], Redirect::to("/keys")).into_response()
}

fn help_page(app: &App, headers: &HeaderMap, which: &str) -> Response {
    let content = match which {
        help::MEASURING => help::measuring(),
        help::WORDS => help::words(),
        _ => help::formats(),
    };
    app.framed(headers, "", 0, &content)
}

/// The hub as its page shows it; `offer` when a device was just invited, `said` when something was just done.
async fn hub_page(app: &App, headers: &HeaderMap, offer: Option<String>, said: &str) -> Result<Response, DeskProblem> {
    let strange = |problem: anyhow::Error| DeskProblem::Refused {
        what: format!("{problem:#}."),
        right: "Look at the hub's folder, or pair again.".to_owned(),
    };
    let devices = app.hub.as_ref().map(|hub| hub.paired()).transpose().map_err(strange)?;
    let waiting = app.hub.as_ref().and_then(|hub| hub.waiting()).map(|asked| asked.name);
    let offered = match (offer, app.hub.as_ref().and_then(|hub| hub.typed_code())) {
        (Some(text), Some((address, code))) => {
            Some(views::Offered { picture: hub::qr_svg(&text).map_err(strange)?, text, address, code })
        }
        _ => None,
    };
    let content = views::workroom(devices.as_deref(), waiting.as_deref(), offered.as_ref(), said, &app.guard.token());
    let version = app.at_desk(|desk| desk.version()).await;
    Ok(app.framed(headers, "/workroom", version, &Content::plain("Phones and other desks", content)))
}

async fn workroom(State(app): State<App>, headers: HeaderMap) -> Result<Response, DeskProblem> {
    hub_page(&app, &headers, None, "").await
}

async fn invite(State(app): State<App>, headers: HeaderMap, Form(form): Form<Bare>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let offer = app.hub.as_ref().map(|hub| hub.invite());
    hub_page(&app, &headers, offer, "").await
}

async fn confirm(State(app): State<App>, headers: HeaderMap, Form(form): Form<Bare>) -> Result<Response, DeskProblem> {
    if !app.guard.knows(&form.token) {
        return Ok(guard::stale());
    }
    let said = match app.hub.as_ref().map(|hub| hub.confirm(form.digits.trim())) {
        Some(Ok(asked)) => format!("\"{}\" is paired.", asked.name),
        Some(Err(problem)) if app.hub.as_ref().is_some_and(|hub| hub.waiting().is_some()) => {
            format!("Not yet: {problem:#}.")
        }
        Some(Err(problem)) => format!("Not paired: {problem:#}. Show a new code and begin again."),
        None => String::new(),
    };
    hub_page(&app, &headers, None, &said).await
}

/// How often a page that is seen looks whether the book changed: what another does shows within a second.
const LOOKS: Duration = Duration::from_millis(250);

/// Tells the page when the book changed: by this page, by a sync, by another program.
async fn live(State(app): State<App>) -> Sse<impl Stream<Item = Result<LiveEvent, Infallible>>> {
    // A page that was away is told at once where the book is; one that is up to date passes over it.
    let changes = stream::unfold((app, i64::MIN, false), |(app, seen, asked)| async move {
        loop {
            tokio::time::sleep(LOOKS).await;
            let asks = app.hub.as_ref().is_some_and(|hub| hub.waiting().is_some());
            if asks != asked {
                return Some((Ok(LiveEvent::default().event("pairing").data(asks.to_string())), (app, seen, asks)));
            }
            let now = app.at_desk(|desk| desk.version()).await;
            if now != seen {
                return Some((Ok(LiveEvent::default().event("changed").data(now.to_string())), (app, now, asked)));
            }
        }
    });
    Sse::new(changes).keep_alive(KeepAlive::default())
}

#[cfg(test)]
mod tests;

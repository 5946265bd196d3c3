//! Files that are handed to the page: job files and photos, picked or dropped, one or several at once. Each has a result of
//! its own, and a text that was refused stays to be put right.

use super::desk::{DeskProblem, picture_kind};
use super::figures::shape_of;
use super::lengths::set;
use super::views::Content;
use super::{App, guard, refused};
use axum::extract::multipart::Multipart;
use axum::extract::rejection::FormRejection;
use axum::extract::{Form, FromRequest as _, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use hangtrue_core::flag::sentence;
use maud::{Markup, html};
use serde::Deserialize;
use uuid::Uuid;

/// The most that is handed over at once: many job files, or a few photos.
pub(super) const BYTES: usize = 100 * 1024 * 1024;
/// The most that one job file or one photo may have.
const ONE: usize = 25 * 1024 * 1024;
/// A text that was refused is shown again up to this.
const SHOWN: usize = 2 * 1024 * 1024;

/// What a form of files brings.
#[derive(Default)]
struct Handed {
    fields: Vec<(String, String)>,
    files: Vec<(String, Vec<u8>)>,
}

impl Handed {
    /// Reads the parts of a form; a file field in which none was picked is passed over.
    async fn read(mut form: Multipart) -> Result<Self, Response> {
        let mut handed = Self::default();
        loop {
            let field = match form.next_field().await {
                Ok(Some(field)) => field,
                Ok(None) => return Ok(handed),
                Err(error) => {
                    return Err(refused(StatusCode::BAD_REQUEST, "The form could not be read.", &error.body_text()));
                }
            };
            let (name, file) = (field.name().unwrap_or_default().to_owned(), field.file_name().map(str::to_owned));
            let Ok(value) = field.bytes().await else {
                return Err(refused(StatusCode::PAYLOAD_TOO_LARGE, TOO_LARGE.0, TOO_LARGE.1));
            };
            match file {
                Some(file) if !(file.is_empty() && value.is_empty()) => handed.files.push((file, value.to_vec())),
                Some(_) => {}
                None => handed.fields.push((name, String::from_utf8_lossy(&value).trim().to_owned())),
            }
        }
    }

    fn field(&self, name: &str) -> &str {
        self.fields.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value)
    }
}

/// What is too large to be taken, and what would be right.
const TOO_LARGE: (&str, &str) =
    ("What was sent is too large.", "A photo or a job file may have 25 MB, and all of them at once 100 MB.");

/// What became of one file.
struct Outcome {
    name: String,
    done: Result<Done, (String, String)>,
    /// Its text, to be put right.
    text: Option<String>,
}

/// What was done with a file: where it leads, and what is said.
struct Done {
    to: String,
    says: String,
}

/// A text pasted into a form, without a file.
#[derive(Deserialize)]
struct Pasted {
    token: String,
    text: String,
}

/// Takes job files in: those that were picked or dropped, and a text that was pasted.
pub(super) async fn take_in(State(app): State<App>, headers: HeaderMap, request: Request) -> Response {
    let is_files = headers
        .get(header::CONTENT_TYPE)
        .and_then(|kind| kind.to_str().ok())
        .is_some_and(|kind| kind.starts_with("multipart/"));
    let handed = if is_files {
        match Multipart::from_request(request, &app).await {
            Ok(form) => Handed::read(form).await,
            Err(rejection) => Err(rejection.into_response()),
        }
    } else {
        let form: Result<Form<Pasted>, FormRejection> = Form::from_request(request, &app).await;
        form.map_err(axum::response::IntoResponse::into_response).map(|Form(form)| Handed {
            fields: vec![("token".to_owned(), form.token), ("text".to_owned(), form.text)],
            files: Vec::new(),
        })
    };
    let handed = match handed {
        Ok(handed) => handed,
        Err(response) => return response,
    };
    if !app.guard.knows(handed.field("token")) {
        return guard::stale();
    }
    let is_listed = !handed.field("list").is_empty();
    let mut texts: Vec<(String, Vec<u8>)> = handed.files.clone();
    if texts.is_empty() || !handed.field("text").is_empty() {
        texts.push((String::new(), handed.field("text").as_bytes().to_vec()));
    }
    let outcomes = app.at_desk(move |desk| texts.into_iter().map(|(name, bytes)| one(desk, name, bytes)).collect());
    let outcomes: Vec<Outcome> = outcomes.await;
    if let ([Outcome { done: Ok(done), .. }], false) = (outcomes.as_slice(), is_listed) {
        return Redirect::to(&done.to).into_response();
    }
    results(&app, &headers, "Job files", &outcomes)
}

fn one(desk: &mut super::desk::Desk, name: String, bytes: Vec<u8>) -> Outcome {
    let problem = |what: &str, right: &str| Err((what.to_owned(), right.to_owned()));
    if bytes.len() > ONE {
        return Outcome { name, done: problem("It is too large.", "A job file may have 25 MB."), text: None };
    }
    let Ok(text) = String::from_utf8(bytes) else {
        let done = problem("It is no text.", "A job file is JSON in UTF-8; photos are added at their opening.");
        return Outcome { name, done, text: None };
    };
    let done = match desk.take_in(&text) {
        Ok((house, called, new)) => {
            let says = match new {
                0 => format!("{called}: all of it was here already."),
                1 => format!("{called}: 1 new entry."),
                n => format!("{called}: {n} new entries."),
            };
            Ok(Done { to: format!("/house/{house}"), says })
        }
        Err(problem) => Err(problem.words()),
    };
    let text = (done.is_err() && text.len() <= SHOWN).then_some(text);
    Outcome { name, done, text }
}

/// Keeps photos of an opening, or of a house.
pub(super) async fn add_photos(
    State(app): State<App>,
    headers: HeaderMap,
    form: Multipart,
) -> Result<Response, DeskProblem> {
    let handed = match Handed::read(form).await {
        Ok(handed) => handed,
        Err(response) => return Ok(response),
    };
    if !app.guard.knows(handed.field("token")) {
        return Ok(guard::stale());
    }
    let (Ok(house), Ok(on)) = (handed.field("house").parse::<Uuid>(), handed.field("on").parse::<Uuid>()) else {
        return Ok(refused(StatusCode::BAD_REQUEST, "The form names no opening.", "Load the page again."));
    };
    let is_listed = !handed.field("list").is_empty();
    let to = if on == house { format!("/house/{house}") } else { format!("/house/{house}/opening/{on}") };
    let (caption, there) = (handed.field("caption").to_owned(), to.clone());
    let mut outcomes: Vec<Outcome> = app
        .at_desk(move |desk| {
            let each = handed.files.into_iter().map(|(name, bytes)| {
                let done = photo(desk, (house, on), &bytes, &caption)?;
                let done = done.map(|()| Done { to: there.clone(), says: "The photo is kept.".to_owned() });
                Ok(Outcome { name, done, text: None })
            });
            each.collect::<Result<_, DeskProblem>>()
        })
        .await?;
    if outcomes.is_empty() {
        let done = Err(("No picture was picked.".to_owned(), "Choose a JPEG, PNG or WebP picture.".to_owned()));
        outcomes.push(Outcome { name: String::new(), done, text: None });
    }
    if !is_listed && outcomes.iter().all(|outcome| outcome.done.is_ok()) {
        return Ok(Redirect::to(&to).into_response());
    }
    Ok(results(&app, &headers, "Photos", &outcomes))
}

/// Keeps one photo; the inner error is of this file alone.
fn photo(
    desk: &mut super::desk::Desk,
    (house, on): (Uuid, Uuid),
    bytes: &[u8],
    caption: &str,
) -> Result<Result<(), (String, String)>, DeskProblem> {
    let problem = |what: &str, right: &str| Ok(Err((what.to_owned(), right.to_owned())));
    if bytes.len() > ONE {
        return problem("The photo is too large.", "A photo may have 25 MB.");
    }
    if picture_kind(bytes).is_none() {
        return problem("This is no photo.", "Choose a JPEG, PNG or WebP picture.");
    }
    desk.add_photo(house, on, bytes, caption).map(Ok)
}

/// What became of each file, as a page. What was refused is a form again.
fn results(app: &App, headers: &HeaderMap, title: &str, outcomes: &[Outcome]) -> Response {
    let token = app.guard.token();
    let bad = outcomes.iter().filter(|outcome| outcome.done.is_err()).count();
    let markup = html! {
        section.pane {
            h1 { @if bad == outcomes.len() { "Not done" } @else { (title) } }
            p.lead role="status" { (outcomes.len() - bad) " of " (outcomes.len()) " taken in." }
            ul #results { @for outcome in outcomes { (result(outcome, &token)) } }
            p { a.as-button.main href="/" { "To the list of houses" } }
        }
    };
    // It stands under no address of its own: a change of the book does not bring another page in its place.
    let mut response = app.framed(headers, "", 0, &Content::plain(title, markup));
    if bad > 0 {
        let kinds = outcomes.iter().filter_map(|outcome| outcome.done.as_ref().err());
        let is_no_photo = kinds.clone().all(|(what, _)| what == "This is no photo.");
        *response.status_mut() =
            if is_no_photo { StatusCode::UNSUPPORTED_MEDIA_TYPE } else { StatusCode::UNPROCESSABLE_ENTITY };
    }
    response
}

fn result(outcome: &Outcome, token: &str) -> Markup {
    let name = if outcome.name.is_empty() { "The text" } else { &outcome.name };
    html! {
        li.result.refused[outcome.done.is_err()] {
            @match &outcome.done {
                Ok(done) => p { (shape_of("m-settled")) b { (name) } " " a href=(done.to) { (set(&done.says)) } },
                Err((what, right)) => {
                    p role="alert" { (shape_of("m-again")) b { (name) } " " strong { (set(what)) } " " (set(&sentence(right))) }
                    @if let Some(text) = &outcome.text {
                        form.taking method="post" action="/take-in" enctype="multipart/form-data" data-plain="yes" {
                            input type="hidden" name="token" value=(token);
                            label { span { "Its text, to be put right here" } textarea name="text" rows="10" required spellcheck="false" { (text) } }
                            button type="submit" { "Take it in" }
                        }
                    }
                }
            }
        }
    }
}

/// The form for job files.
pub(super) fn form(token: &str) -> Markup {
    html! {
        form.taking method="post" action="/take-in" enctype="multipart/form-data" data-drop="file" {
            input type="hidden" name="token" value=(token);
            label { span { "Job files; or drop them anywhere on this page" } input type="file" name="file" multiple accept=".json,application/json" data-id="job_files"; }
            label { span { "Or the text of one" } textarea name="text" rows="4" spellcheck="false" data-id="job_text" {} }
            button type="submit" data-id="take_in" { "Take them in" }
        }
    }
}

/// The form for photos of an opening, or of a house.
pub(super) fn photo_form(token: &str, house: Uuid, on: Uuid) -> Markup {
    html! {
        form.taking method="post" action="/photo" enctype="multipart/form-data" data-drop="photo" {
            input type="hidden" name="token" value=(token);
            input type="hidden" name="house" value=(house);
            input type="hidden" name="on" value=(on);
            label { span { "Pictures; or drop them anywhere on this page" } input type="file" name="photo" multiple accept="image/jpeg,image/png,image/webp" required data-id="photos"; }
            label { span { "What they show" } input type="text" name="caption" maxlength="200"; }
            button type="submit" { "Add" }
        }
    }
}

//! The measuring walk: the place lit on the drawing, and the pad. Its fractions are an inch of tape: sixteenths stand over
//! their own lines, eighths under theirs, and the inch fills to the fraction that is typed.

use super::help;
use super::lengths::set;
use super::views::{Content, Crumb, Slip, Ways, drawing, far, is_outdoors, readings};
use hangtrue_core::fact::House;
use hangtrue_core::length::LengthUnit;
use hangtrue_core::walk::screen::{PlaceChip, PlaceState, ReadingScreen, Shown, Touch};
use hangtrue_core::walk::{Event, Hand, PadKey, Screen};
use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

/// The page of the walk, at the place where it stands.
pub(super) fn page(screen: &Screen, house: &House, token: &str, slip: &Slip) -> Content {
    let job = &house.job;
    let at = format!("/house/{}/walk", job.id);
    let ways = Ways { at: &at, token };
    let outdoors = is_outdoors(screen);
    let mut trail = vec![Crumb::house(job)];
    let Shown::Reading { screen: shown } = &screen.shown else {
        let markup = html! {
            div.pane {
                h1 { "Nothing is being read" }
                p { a href={ "/house/" (job.id) } { "Choose an opening of the house" } " and go on from there." }
            }
        };
        return Content { title: format!("Nothing is being read, {}", job.name), trail, outdoors, markup };
    };
    trail.push(Crumb::to("Opening", &screen.title, format!("/house/{}/opening/{}", job.id, shown.opening)));
    let (others, wanted): (Vec<&PlaceChip>, Vec<&PlaceChip>) =
        shown.places.iter().partition(|chip| chip.state == PlaceState::Welcome && !chip.go.chosen);
    let markup = html! {
        div.walk {
            div.pane.look {
                @if let Some(ask) = &shown.ask { (ways.choices(std::slice::from_ref(ask))) }
                div.told {
                    p.note { (far(shown.opening_progress, "needed readings")) " " (far(shown.house_progress, "openings")) }
                    h1 { (shown.prompt) }
                    p { (set(&shown.how)) " " a.how-to href={ (help::MEASURING) "#" (shown.place) } { "How to lay the tape" } }
                    @if !shown.because.is_empty() { p.because { (set(&shown.because)) } }
                }
                (drawing(&shown.drawing))
            }
            (pad(&ways, screen, shown, slip))
            div.beside {
                (ways.hands(screen))
                (ways.flags(&shown.flags))
                div.pane {
                    @if !shown.before.is_empty() { h2 { "Read here before" } (readings(&ways, &shown.before, LengthUnit::Inch, None)) }
                    h2 { "Places" }
                    (chips(&ways, &wanted))
                    @if !others.is_empty() { details { summary { "Places that are not needed here" } (chips(&ways, &others)) } }
                    details { summary { "Leave this place out" } div.offers { @for skip in &shown.skips { (ways.button(skip, "small")) } } (ways.naming(&shown.skip_words)) }
                    div.row { (ways.button(&shown.result, "small")) (ways.button(&shown.theme, "small")) }
                }
            }
        }
    };
    Content { title: format!("{}: {}, {}", shown.prompt, screen.title, job.name), trail, outdoors, markup }
}

fn chips(ways: &Ways<'_>, chips: &[&PlaceChip]) -> Markup {
    html! {
        div.offers.places {
            @for chip in chips {
                @let label = if chip.text.is_empty() { chip.go.label.clone() } else { format!("{} {}", chip.go.label, chip.text) };
                (ways.labelled(&chip.go, place_class(chip.state), &label))
            }
        }
    }
}

const fn place_class(state: PlaceState) -> &'static str {
    match state {
        PlaceState::Open => "small place-open",
        PlaceState::Begun => "small place-begun",
        PlaceState::Read => "small place-read",
        PlaceState::Doubtful => "small place-doubtful",
        PlaceState::Skipped => "small place-skipped",
        PlaceState::Welcome => "small place-welcome",
    }
}

/// The pad: large keys, fractions in one touch, the accept key the widest.
fn pad(ways: &Ways<'_>, screen: &Screen, shown: &ReadingScreen, slip: &Slip) -> Markup {
    let hand = match screen.hand {
        Hand::Left => "left",
        Hand::Right => "right",
    };
    html! {
        div class={ "pane pad " (hand) } role="group" aria-label="Keys" {
            div.show {
                output.typed aria-label=(shown.spoken) { @if shown.typed.is_empty() { "\u{00A0}" } @else { (set(&shown.typed)) } }
                p.echo { (shown.unit) br; @if !shown.echo.is_empty() { (set(&shown.echo)) } }
            }
            @if !shown.problem.is_empty() { p.problem { (set(&shown.problem)) } }
            form.typing method="post" action="/act" {
                (ways.hidden(&shown.accept))
                input type="hidden" name="place" value={ (shown.opening) "/" (shown.place) };
                label {
                    span { "Type it, as on paper: " @if shown.unit == "mm" { "911" } @else { (set("35 7/8")) } }
                    input type="text" name="text" value=(slip.typed) maxlength="40" autocomplete="off" data-id="reading" data-place={ (shown.opening) "/" (shown.place) }
                        aria-invalid=[(!slip.what.is_empty()).then_some("true")] aria-describedby=[(!slip.what.is_empty()).then_some("slip")];
                }
                button type="submit" data-id="reading_keep" { "Keep" }
                @if !slip.what.is_empty() { p #slip role="alert" { strong { (slip.what) } " " (slip.right) } }
            }
            div.digits { @for key in &shown.digits { (ways.button(key, "key")) } }
            (quick(ways, &shown.quick))
            div.edit { @for key in shown.edit.iter().chain(&shown.units) { (ways.button(key, "key edit")) } }
            div.accepting { (ways.button(&shown.later, "key later")) (ways.button(&shown.accept, "key accept main")) }
        }
    }
}

/// How many sixteenths a key gives.
fn sixteenths(key: &Touch) -> Option<u8> {
    match key.event {
        Event::Press { key: PadKey::Sixteenths(n) } => Some(n),
        _ => None,
    }
}

/// The quick keys: an inch of tape where they are fractions of one.
fn quick(ways: &Ways<'_>, keys: &[Touch]) -> Markup {
    let Some(parts) = keys.iter().map(sixteenths).collect::<Option<Vec<u8>>>() else {
        return html! { div.quick { @for key in keys { (ways.button(key, "key")) } } };
    };
    let row = |odd: bool| keys.iter().zip(&parts).filter(move |(_, n)| (*n % 2 == 1) == odd).map(|(key, _)| key);
    let chosen = keys.iter().zip(&parts).find(|(key, _)| key.chosen).map(|(_, n)| *n);
    html! {
        div.inch role="group" aria-label="Fractions of an inch" {
            div.sixteenths { @for key in row(true) { (ways.button(key, "key")) } }
            (tape(chosen))
            div.eighths { @for key in row(false) { (ways.button(key, "key")) } }
        }
    }
}

/// The tape between the keys, 16 units wide: each line at its own sixteenth, the longer the coarser, filled to what is typed.
fn tape(chosen: Option<u8>) -> Markup {
    let mut lines = String::new();
    for n in 0..=16_u8 {
        let (y1, y2, class) = match n {
            0 | 8 | 16 => (8, 26, "whole"),
            4 | 12 => (10, 26, "quarter"),
            n if n % 2 == 0 => (12, 26, "eighth"),
            _ => (0, 14, "sixteenth"),
        };
        let _ = write!(lines, r#"<line class="{class}" x1="{n}" y1="{y1}" x2="{n}" y2="{y2}"/>"#);
    }
    html! {
        svg.tape-inch viewBox="0 0 16 26" preserveAspectRatio="none" aria-hidden="true" {
            line.edge x1="0" y1="13" x2="16" y2="13" {}
            @if let Some(n) = chosen { line.filled x1="0" y1="13" x2=(n) y2="13" {} }
            (PreEscaped(lines))
        }
    }
}

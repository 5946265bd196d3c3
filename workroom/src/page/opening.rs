//! One opening: its readings on their drawing, what they say with the gravest first, the ways of mounting side by side, and
//! the choices as the job goes.

use super::desk::DeskProblem;
use super::figures;
use super::house;
use super::keys;
use super::leaves::Leaf;
use super::lengths::set;
use super::sections;
use super::views::{Content, Crumb, Ways, far, is_outdoors, number, readings, wrong};
use super::{hung, prices};
use hangtrue_core::fact::House;
use hangtrue_core::house::{Job, Opening, Place};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::Form;
use hangtrue_core::settings::Settings;
use hangtrue_core::walk::screen::{ChoiceGroup, FigureRow, Naming, OpeningScreen, Shown, Way};
use hangtrue_core::walk::{Screen, needed};
use maud::{Markup, html};
use std::cmp::Reverse;
use uuid::Uuid;

/// The choices in the order of the job: a heading, and the fields under it.
const CHOICES: [(&str, &[&str]); 6] = [
    ("How far the shade is", &["progress"]),
    ("What it is sold at", &["priced"]),
    ("How it hangs", &["choices.mount", "shades", "choices.attach", "choices.board", "choices.foot", "choices.dark"]),
    ("The shade", &["choices.style", "choices.cloth", "choices.lining", "choices.interlined", "choices.count"]),
    ("How it is raised", &["choices.lift", "choices.control"]),
    ("The wall and what is around", &["wall."]),
];

/// The page of one opening.
pub(super) fn page(
    screen: &Screen,
    house: &House,
    id: Uuid,
    unit: Option<LengthUnit>,
    token: &str,
) -> Result<Content, DeskProblem> {
    let job = &house.job;
    let Some((room, opening)) = job.openings().find(|(_, one)| one.id == id) else {
        return Err(DeskProblem::NoSuch { what: "opening" });
    };
    let worked = house::worked(house)?;
    let Some(one) = worked.opening(id) else { return Err(DeskProblem::NoSuch { what: "opening" }) };
    let title = format!("{}, {}, {}", opening.name, room.name, job.name);
    let name = format!("{}, {}", room.name, opening.name);
    let trail = vec![Crumb::house(job), Crumb::here("Opening", &name)];
    let outdoors = is_outdoors(screen);
    let Shown::Opening { screen: shown } = &screen.shown else {
        return Ok(Content { title, trail, outdoors, markup: wrong() });
    };
    let at = format!("/house/{}/opening/{id}", job.id);
    let ways = Ways { at: &at, token };
    let rows = |rows: &[FigureRow]| {
        html! { @for row in rows { dt { (row.name) } dd { (number(&row.figure, job.unit, unit)) } } }
    };
    let asks = |field: &str| field.starts_with("decide.") || field.starts_with("offer.");
    let (questions, choices): (Vec<_>, Vec<_>) =
        shown.choices.iter().cloned().partition(|group: &ChoiceGroup| asks(&group.field));
    let (own_words, lengths): (Vec<Naming>, Vec<Naming>) =
        shown.lengths.iter().cloned().partition(|naming| naming.slot.starts_with("decide/"));
    let (figure, caption) = figures::alone(one);
    let markup = html! {
        div.wrap.opening-page {
            (house::beside(&worked, id))
            section.pane.draw aria-label="Drawing" {
                p.note.soft { (room.name) }
                h1 { (opening.name) }
                p { (figures::mark(one.stand())) }
                figure { (figure) figcaption { (set(&caption)) } }
                p { (far(shown.progress, "needed readings")) }
            }
            section.pane.says aria-labelledby="says" {
                h2 #says { "What the readings say" }
                (ways.hands(screen))
                p { (set(&shown.says)) }
                div.row { (ways.button(&shown.measure, "main")) a.as-button href={ (at) "/note" } aria-keyshortcuts=(keys::PAPER) { "From a paper note" } @if let Some(next) = &shown.next { (ways.button(next, "small")) } }
                (findings(&ways, shown))
            }
        }
        @if !questions.is_empty() {
            section.pane.questions {
                h2 { "Questions" }
                (ways.choices(&questions))
                @if !own_words.is_empty() { details { summary { "Answer in your own words" } @for naming in &own_words { (ways.naming(naming)) } } }
            }
        }
        section.pane.broad {
            h2 { "Every way of mounting" }
            p { (set(&shown.advice)) }
            @let sections = sections::of(&one.mounts, unit.unwrap_or(job.unit));
            div.ways { @for each in &shown.ways { (way(&ways, each, &sections, &rows)) } }
            @if !sections.is_empty() { p.soft.note { "From the side, all at one scale: the wall and what stands before it, the board and its fixing, the fabric." } }
        }
        section.pane.broad {
            h2 { "Choices" }
            (grouped(&ways, &choices))
            details { summary { "Sizes and lengths set by hand" } @for naming in &lengths { (ways.naming(naming)) } }
        }
        section.pane.readings-pane {
            h2 { "Every reading" }
            @if shown.readings.is_empty() { p { "Nothing was read yet." } }
            (readings(&ways, &shown.readings, job.unit, unit))
            @for skipped in &shown.skipped { p.soft { (skipped) } }
        }
        (hung::pane(job, opening, token))
        (prices::pane(&worked, one, token))
        @if !shown.shade.is_empty() { section.pane { h2 { "The shade" } dl.wide { (rows(&shown.shade)) } } }
        section.pane {
            h2 { "Sheets of this opening" }
            nav.leaves aria-label="Sheets of this opening" {
                @for leaf in Leaf::ALL.into_iter().filter(|leaf| leaf.is_of_openings()) {
                    a href={ "/house/" (job.id) "/sheets/" (leaf.name()) "?opening=" (opening.id) } aria-keyshortcuts=[(leaf == Leaf::Making).then_some(keys::SHEETS)] { (leaf.words()) }
                }
            }
        }
        (remarks(&ways, shown, job, opening))
        (ask(job, opening, token))
    };
    Ok(Content { title, trail, outdoors, markup })
}

/// What is asked of this opening and what its readings say, the gravest first.
fn findings(ways: &Ways<'_>, shown: &OpeningScreen) -> Markup {
    let mut flags = shown.flags.clone();
    flags.sort_by_key(|card| Reverse(card.severity));
    html! {
        @for ask in &shown.asks {
            div.finding.take_again {
                (figures::shape_of("m-again"))
                b { (set(&ask.says)) }
                div.row { (ways.button(&ask.answer, "small")) (ways.button(&ask.close, "small plain")) }
            }
        }
        (ways.flags(&flags))
    }
}

fn way(ways: &Ways<'_>, way: &Way, sections: &[(Form, Markup)], rows: &dyn Fn(&[FigureRow]) -> Markup) -> Markup {
    let section = sections.iter().find(|(form, _)| way.choose.id == format!("way_{}", form.code()));
    html! {
        section.way.cannot[!way.can].chosen[way.choose.chosen] {
            h3 { (way.title) @if way.advised { span.advised { " advised" } } }
            p { (set(&way.says)) }
            @if let Some((_, section)) = section { (section) }
            @if !way.rows.is_empty() { dl { (rows(&way.rows)) } }
            (ways.flags(&way.flags))
            @if !way.missing.is_empty() { p { "To be read first:" } div.offers { @for touch in &way.missing { (ways.button(touch, "small")) } } }
            @if way.can { div.choose { (ways.labelled(&way.choose, "small", if way.choose.chosen { "Chosen" } else { "Choose" })) } }
        }
    }
}

/// The choices under the headings of the job; what belongs under none comes last.
fn grouped(ways: &Ways<'_>, choices: &[ChoiceGroup]) -> Markup {
    let under = |fields: &[&str], group: &ChoiceGroup| {
        fields.iter().any(|field| group.field == *field || (field.ends_with('.') && group.field.starts_with(field)))
    };
    let rest: Vec<ChoiceGroup> =
        choices.iter().filter(|group| !CHOICES.iter().any(|(_, fields)| under(fields, group))).cloned().collect();
    html! {
        @for (heading, fields) in CHOICES {
            @let mut mine: Vec<ChoiceGroup> = choices.iter().filter(|group| under(fields, group)).cloned().collect();
            @let () = mine.sort_by_key(|group| fields.iter().position(|field| group.field == *field));
            @if !mine.is_empty() { h3 { (heading) } div.choices { (ways.choices(&mine)) } }
        }
        @if !rest.is_empty() { h3 { "Others of the house" } div.choices { (ways.choices(&rest)) } }
    }
}

fn remarks(ways: &Ways<'_>, shown: &OpeningScreen, job: &Job, opening: &Opening) -> Markup {
    html! {
        section.pane {
            h2 { "Remarks and photos" }
            @for note in &shown.notes { p { (note) } }
            (ways.naming(&shown.note))
            div.photos {
                @for photo in &opening.photos {
                    figure { a href={ "/photo/" (photo.sha256) } { img src={ "/photo/" (photo.sha256) } alt=(if photo.caption.is_empty() { "Photo of the opening" } else { &photo.caption }) loading="lazy"; } figcaption { (photo.caption) " " span.soft { (photo.by) ", " (photo.at.format("%Y-%m-%d")) } } }
                }
            }
            details {
                summary { "Add photos" }
                (super::files::photo_form(ways.token, job.id, opening.id))
            }
        }
    }
}

fn ask(job: &Job, opening: &Opening, token: &str) -> Markup {
    html! {
        section.pane {
            h2 { "Ask to measure again" }
            form.taking method="post" action="/ask" {
                input type="hidden" name="token" value=(token);
                input type="hidden" name="house" value=(job.id);
                input type="hidden" name="opening" value=(opening.id);
                label { span { "Why, for the measurer to read" } input type="text" name="why" required maxlength="400"; }
                fieldset.places {
                    legend { "Which places; none means all of it" }
                    @for place in places_of(job, opening) {
                        label.tick-box { input type="checkbox" name="place" value=(place.code()); " " (place.words()) }
                    }
                }
                label { span { "Who asks" } input type="text" name="by" maxlength="80"; }
                button type="submit" { "Ask" }
            }
        }
    }
}

/// The places worth asking for: those that are needed here, then others that were read.
fn places_of(job: &Job, opening: &Opening) -> Vec<Place> {
    let settings = job.settings().unwrap_or_else(|_| Settings::defaults(job.unit));
    let mut places = needed(job, opening, &settings);
    let others =
        Place::ALL.iter().filter(|place| opening.standing(**place).next().is_some() && !places.contains(place));
    let others: Vec<Place> = others.copied().collect();
    places.extend(others);
    places
}

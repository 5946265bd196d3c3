//! What the pages show: the screens that core draws for every device, with more room, and the sheets.

use super::desk::DeskProblem;
use super::leaves::Leaf;
use crate::asks::STILL_HAVE_IT;
use hangtrue_core::fact::{House, Removed};
use hangtrue_core::flag::{Severity, sentence};
use hangtrue_core::house::{Job, Opening, Place, Workroom};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::settings::Settings;
use hangtrue_core::sheet;
use hangtrue_core::stand::Stand;
use hangtrue_core::store::HouseLine;
use hangtrue_core::walk::screen::{
    ChoiceGroup, Drawing, Figure, FigureRow, FlagCard, HowFar, Ink, MarkKind, Naming, PlaceChip, PlaceState,
    ReadingRow, ReadingScreen, Shown, Touch,
};
use hangtrue_core::walk::{Event, Screen, is_listed, needed};
use hangtrue_core::work;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The units a person can have lengths shown in: words, unit, code.
const UNITS: [(&str, Option<LengthUnit>, &str); 3] = [
    ("house unit", None, "house"),
    ("inches", Some(LengthUnit::Inch), "in"),
    ("millimetres", Some(LengthUnit::Millimetre), "mm"),
];

/// Houses shown at once.
const HOUSES: usize = 60;

/// What stands around the content of a page.
#[derive(Clone, Copy)]
pub(super) struct Frame<'a> {
    /// Its title.
    pub(super) title: &'a str,
    /// Its path; empty for a refusal.
    pub(super) at: &'a str,
    /// The unit lengths are shown in, when a person chose one.
    pub(super) unit: Option<LengthUnit>,
    /// The version of the book that it shows.
    pub(super) version: i64,
    /// What forms carry.
    pub(super) token: &'a str,
}

/// A slip of the keyboard at the pad: what was typed, and what is wrong with it.
#[derive(Clone, Default)]
pub(super) struct Slip {
    /// As it was typed.
    pub(super) typed: String,
    /// What is wrong; empty when nothing is.
    pub(super) what: String,
    /// What would be right.
    pub(super) right: String,
}

/// A whole page.
pub(super) fn page(frame: &Frame<'_>, content: &Markup) -> Markup {
    let Frame { title, at, unit, version, token } = *frame;
    let in_house = at.starts_with("/house/");
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " · Hangtrue" }
                link rel="icon" href="data:,";
                @if in_house { link rel="stylesheet" href="/sheet.css"; }
                link rel="stylesheet" href="/page.css";
                script src="/page.js" defer {}
            }
            body {
                a.skip href="#content" { "To the content" }
                header.top {
                    a.mark href="/" { "Hangtrue" }
                    a.to-workroom href="/workroom" aria-current=[(at == "/workroom").then_some("page")] { "Phones and other desks" }
                    @if in_house {
                        form.units method="post" action="/unit" aria-label="Lengths in" {
                            input type="hidden" name="token" value=(token);
                            input type="hidden" name="at" value=(at);
                            @for (name, value, code) in UNITS {
                                button type="submit" name="unit" value=(code) data-id={ "show_" (code) } aria-pressed=(if unit == value { "true" } else { "false" }) { (name) }
                            }
                        }
                    }
                }
                main #content tabindex="-1" data-at=(at) data-version=(version) { (content) }
                p #said .quiet role="status" aria-live="polite" {}
            }
        }
    }
}

/// What could not be done.
pub(super) fn refusal(what: &str, right: &str, back: &str) -> Markup {
    html! {
        h1 { "Not done" }
        p.refusal role="alert" { strong { (what) } " " (right) }
        p { @if back == "/" { a href="/" { "To the list of houses" } } @else { a href=(back) { "Back to where you were" } } }
    }
}

/// Where forms of one page lead.
#[derive(Clone, Copy)]
pub(super) struct Ways<'a> {
    pub(super) at: &'a str,
    pub(super) token: &'a str,
}

impl Ways<'_> {
    fn event(touch: &Touch) -> String {
        serde_json::to_string(&touch.event).expect("an event has no map with keys that are not text")
    }

    /// A form of one button.
    fn button(&self, touch: &Touch, class: &str) -> Markup {
        self.labelled(touch, class, &touch.label)
    }

    fn labelled(&self, touch: &Touch, class: &str, label: &str) -> Markup {
        // What is said begins with what is written, so that who speaks to the page names a key by its words.
        let words = |text: &str| {
            let parts = text.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty());
            format!(" {} ", parts.collect::<Vec<_>>().join(" ").to_lowercase())
        };
        let named = words(&touch.spoken).contains(&words(label));
        let said = if named { touch.spoken.clone() } else { format!("{label}, {}", touch.spoken) };
        html! {
            form.touch method="post" action="/act" {
                (self.hidden(touch))
                button class=(class) type="submit" data-id=(touch.id) aria-label=[(said != label).then_some(&said)]
                    aria-disabled=[(!touch.live).then_some("true")] aria-pressed=[touch.chosen.then_some("true")] { (label) }
            }
        }
    }

    fn around(&self) -> Markup {
        html! {
            input type="hidden" name="token" value=(self.token);
            input type="hidden" name="at" value=(self.at);
        }
    }

    fn hidden(&self, touch: &Touch) -> Markup {
        html! {
            (self.around())
            input type="hidden" name="event" value=(Self::event(touch));
        }
    }

    /// A name being given, with what one touch gives beside it.
    fn naming(&self, naming: &Naming) -> Markup {
        // Offers that take what is typed stand in the place of the button that gives it: "Begin in inches".
        let own = format!("{}/", naming.slot);
        let uses: Vec<&Touch> = naming
            .offers
            .iter()
            .filter(|offer| matches!(&offer.event, Event::GiveWords { slot, .. } if slot.starts_with(&own)))
            .collect();
        html! {
            div.naming {
                form method="post" action="/act" {
                    (self.around())
                    label { span { (naming.prompt) } input type="text" name="text" value=(naming.typed) maxlength="400" autocomplete="off" data-id={ "words_" (naming.slot) }; }
                    @if uses.is_empty() {
                        button type="submit" name="event" value=(Self::event(&naming.give)) data-id=(naming.give.id) { (naming.give.label) }
                    }
                    @for offer in &uses {
                        button type="submit" name="event" value=(Self::event(offer)) data-id=(offer.id) { (offer.label) }
                    }
                }
                @if uses.is_empty() && !naming.offers.is_empty() { div.offers { @for offer in &naming.offers { (self.button(offer, "small")) } } }
            }
        }
    }

    /// Undo and redo, and what the last touch did.
    fn hands(&self, screen: &Screen) -> Markup {
        html! {
            @if screen.undo.is_some() || screen.redo.is_some() || screen.notice.is_some() {
                div.hands {
                    @if let Some(notice) = &screen.notice { p.notice role="status" { @if notice.kept { span.kept aria-hidden="true" { "\u{2713} " } } (notice.says) } }
                    // What is taken back, and where, stands on the button.
                    @for touch in screen.undo.iter().chain(&screen.redo) { (self.labelled(touch, "small", &sentence(&touch.spoken))) }
                }
            }
        }
    }

    fn flags(&self, flags: &[FlagCard]) -> Markup {
        html! {
            @for card in flags {
                div class={ "flag " (severity(card.severity)) } {
                    b { (card.says) }
                    span.asks { (card.asks) ". " } (card.settle)
                    @if let Some(go) = &card.go { (self.button(go, "small")) }
                }
            }
        }
    }

    pub(super) fn choices(&self, groups: &[ChoiceGroup]) -> Markup {
        html! {
            @for group in groups {
                fieldset.choice { legend { (group.title) } div.offers { @for option in &group.options { (self.button(option, "small")) } } }
            }
        }
    }
}

/// A number in the unit that a person chose: core gives it in the house's and, beside it, in the other.
fn number(figure: &Figure, house: LengthUnit, shown: Option<LengthUnit>) -> Markup {
    let other = shown.is_some_and(|shown| shown.is_imperial() != house.is_imperial()) && !figure.echo.is_empty();
    let (first, second) = if other { (&figure.echo, &figure.text) } else { (&figure.text, &figure.echo) };
    html! { span.figure { (first) } @if !second.is_empty() { " " span.soft { (second) } } }
}

pub(super) const fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::TakeAgain => "take_again",
        Severity::Decide => "decide",
        Severity::Know => "know",
    }
}

fn far(progress: HowFar, of: &str) -> Markup {
    let done = progress.done + progress.skipped;
    html! { span.far { (progress.done) " of " (progress.of) " " (of) @if progress.skipped > 0 { ", " (progress.skipped) " left out" } meter min="0" max=(progress.of.max(1)) value=(done) aria-hidden="true" {} } }
}

/// The list of houses.
pub(super) fn houses(
    screen: &Screen,
    lines: &[HouseLine],
    alone: &BTreeMap<Uuid, u64>,
    find: &str,
    from: usize,
    token: &str,
) -> Markup {
    let ways = Ways { at: "/", token };
    let Shown::Houses { screen: shown } = &screen.shown else { return wrong() };
    let mut found: Vec<&HouseLine> =
        lines.iter().filter(|line| is_listed(&line.name, &line.words, line.away, find)).collect();
    found.sort_by_key(|line| line.asked == 0);
    let away = lines.iter().filter(|line| line.away).count();
    html! {
        h1 { "Houses" }
        (ways.hands(screen))
        @if lines.is_empty() {
            p.lead { "No house yet. Give the first one a name, then key its readings in from paper; or take in a job file, or let a phone bring its houses." }
        } @else {
            form.find method="get" action="/" role="search" {
                label { span { "Find a house by name, room or address" @if away > 0 { "; " (away) " put away" } } input type="search" name="find" value=(find); }
                button type="submit" { "Find" }
            }
            @if found.is_empty() { p { "No house has that in its name, address, rooms or openings." } }
            table.list.houses {
                thead { tr { th { "House" } th.n { "Openings" } th.n { "Readings" } th.n { "Only here" } th { "Changed" } } }
                tbody {
                    @for line in found.iter().skip(from).take(HOUSES) {
                        tr {
                            td { a href={ "/house/" (line.job) } { (line.name) } @if line.asked > 0 { " " strong.asked { "to measure again: " (line.asked) } } @if line.away { " " span.soft { "put away" } } }
                            td.n { (line.openings) } td.n { (line.readings) } td.n { @match alone.get(&line.job) { Some(facts) if *facts > 0 => (facts), _ => "\u{2013}" } } td { (when(line.changed.timestamp_millis())) }
                        }
                    }
                }
            }
            p.soft { "Only here: entries that are on this computer alone; an exchange or an archive brings them elsewhere. " a href="/check" { "Check the book" } }
            @if found.len() > from + HOUSES { p { a href={ "/?from=" (from + HOUSES) "&find=" (find) } { "The next " (HOUSES) " of " (found.len()) } } }
        }
        p { a href={ "/house/" (Workroom::ID) "/settings" } { "The workroom's numbers" } ": what every house is made by that has none of its own." }
        h2 { "Begin a house" }
        p { "The unit is the one that its tape is read in; every length can be shown in the other." }
        (ways.naming(&shown.begin))
        details {
            summary { "Take in a job file" }
            form.taking method="post" action="/take-in" {
                input type="hidden" name="token" value=(token);
                label { span { "The file's text" } textarea name="text" rows="6" required spellcheck="false" {} }
                button type="submit" { "Take it in" }
            }
        }
    }
}

/// One house: its openings as small true drawings, and what stands in the way of cutting.
pub(super) fn house(
    screen: &Screen,
    house: &House,
    unit: Option<LengthUnit>,
    token: &str,
) -> Result<Markup, DeskProblem> {
    let Shown::House { screen: shown } = &screen.shown else { return Ok(wrong()) };
    let at = format!("/house/{}", shown.id);
    let ways = Ways { at: &at, token };
    let job = &house.job;
    let unit = unit.unwrap_or(job.unit);
    let worked = work::house(job, Catalogue::standard(job.unit)).map_err(|problem| DeskProblem::Refused {
        what: problem.to_string(),
        right: "Put the number right in the settings of the house.".to_owned(),
    })?;
    let of = |id: Uuid| worked.openings.iter().find(|one| one.opening.id == id);
    Ok(html! {
        h1 { (job.name) }
        (ways.hands(screen))
        @let any = job.openings().next().is_some();
        @if any { p { (far(shown.progress, "openings read")) } }
        nav.leaves aria-label="Of this house" {
            @if any {
                @for leaf in Leaf::ALL { a href={ (at) "/sheets/" (leaf.name()) } { (leaf.words()) } }
                a href={ (at) "/leaving" } { "Before you leave" }
            }
            a href={ (at) "/settings" } { "Settings" }
            a href={ (at) "/file" } { "Job file" }
        }
        @if any { div.go { (ways.button(&shown.walk, "main")) } }
        (ways.flags(&shown.flags))
        @if shown.rooms.is_empty() {
            p.lead { "Begin with the first room you measured: touch its name below, or type it." }
            ol.steps {
                li { "A room, and in it each window or door." }
                li { "Its readings, one after the other: what does not hold together is said at once." }
                li { "The sheets: what to cut, make, hang and buy." }
            }
        }
        @for room in &shown.rooms {
            section.room {
                h2 { (room.name) }
                div.openings {
                    @for row in &room.openings {
                        article.opening {
                            @if let Some(one) = of(row.id) {
                                a.figure href={ (at) "/opening/" (row.id) } tabindex="-1" aria-hidden="true" { (PreEscaped(sheet::opening_figure(one.opening, &one.truth))) }
                                div {
                                    h3 { a href={ (at) "/opening/" (row.id) } { (one.opening.name) } }
                                    @match one.mounts.advised() {
                                        Some(mounting) => p.size { strong { (mounting.width.total.show(unit)) } " wide, " strong { (mounting.length.total.show(unit)) } " long" br; span.soft { (mounting.form.words()) } },
                                        None => p.soft { "No size yet." },
                                    }
                                    @if !row.asks.is_empty() { p.stands { strong { (one.stand().words()) } } }
                                    @for reason in &one.standing.reasons { p class={ "open " (severity(if reason.stand == Stand::Decide { Severity::Decide } else { Severity::TakeAgain })) } { (reason.says) } }
                                    p.soft { (row.says) }
                                    @if let Some(asked) = &row.asked { p.asked { (asked) } }
                                    div.row { (ways.button(&row.measure, "small")) a.as-button href={ (at) "/opening/" (row.id) "/note" } { "From paper" } (ways.button(&row.earlier, "small plain")) (ways.button(&row.remove, "small plain")) }
                                }
                            }
                        }
                    }
                }
                @if room.openings.is_empty() { p { "Which window or door of this room is the first?" } (ways.naming(&room.add_opening)) }
                details {
                    summary { @if room.openings.is_empty() { "Change the room" } @else { "Add an opening, or change the room" } }
                    @if !room.openings.is_empty() { (ways.naming(&room.add_opening)) }
                    (ways.naming(&room.rename)) (ways.button(&room.earlier, "small plain")) (ways.button(&room.remove, "small plain"))
                }
            }
        }
        section { h2 { "Add a room" } (ways.naming(&shown.add_room)) details { summary { "Name, address, client, year" } (ways.naming(&shown.rename)) @for about in &shown.about { (ways.naming(about)) } @for note in &job.notes { p { (note.text) } } (ways.button(&shown.away, "small")) } }
        @if !house.removed.is_empty() {
            details {
                summary { "Taken out (" (house.removed.len()) ")" }
                p { "Nothing of it is lost: a touch brings it back with its readings." }
                div.offers { @for removed in &house.removed { (ways.button(&brought_back(removed), "small")) } }
            }
        }
        details {
            summary { "Erase the house for good" }
            form.taking method="post" action={ (at) "/erase" } data-plain="yes" {
                input type="hidden" name="token" value=(token);
                p { "Its readings, words and photos go from this book at once, and from every device that hears of it. Nothing brings them back. " (STILL_HAVE_IT) }
                label { span { "Its whole name, to be sure" } input type="text" name="name" required maxlength="400" autocomplete="off" data-id="erase_name"; }
                button type="submit" data-id="erase" { "Erase it" }
            }
        }
    })
}

/// The button that brings back what was taken out.
fn brought_back(removed: &Removed) -> Touch {
    let id = format!("bring_back_{}", removed.on);
    let label = format!("Bring back {}", removed.name);
    let event = Event::BringBack { on: removed.on };
    Touch { id, spoken: label.clone(), label, live: true, chosen: false, event }
}

/// One opening, with all that is known of it.
pub(super) fn opening(
    screen: &Screen,
    house: &House,
    id: Uuid,
    unit: Option<LengthUnit>,
    token: &str,
) -> Result<Markup, DeskProblem> {
    let Shown::Opening { screen: shown } = &screen.shown else { return Ok(wrong()) };
    let job = &house.job;
    let at = format!("/house/{}/opening/{id}", job.id);
    let ways = Ways { at: &at, token };
    let Some((room, opening)) = job.openings().find(|(_, one)| one.id == id) else {
        return Err(DeskProblem::NoSuch { what: "opening" });
    };
    let settings =
        job.settings().map_err(|problem| DeskProblem::Refused { what: problem.to_string(), right: String::new() })?;
    let truth = work::judge(job, opening, &settings);
    let rows = |rows: &[FigureRow]| {
        html! { @for row in rows { dt { (row.name) } dd { (number(&row.figure, job.unit, unit)) } } }
    };
    let asks = |field: &str| field.starts_with("decide.") || field.starts_with("offer.");
    let (questions, choices): (Vec<_>, Vec<_>) =
        shown.choices.iter().cloned().partition(|group: &ChoiceGroup| asks(&group.field));
    let (own_words, lengths): (Vec<Naming>, Vec<Naming>) =
        shown.lengths.iter().cloned().partition(|naming| naming.slot.starts_with("decide/"));
    Ok(html! {
        p.trail { a href={ "/house/" (job.id) } { (job.name) } " / " (room.name) }
        h1 { (opening.name) }
        (ways.hands(screen))
        nav.leaves aria-label="Sheets of this opening" {
            @for leaf in Leaf::ALL.into_iter().filter(|leaf| leaf.is_of_openings()) {
                a href={ "/house/" (job.id) "/sheets/" (leaf.name()) "?opening=" (opening.id) } { (leaf.words()) }
            }
        }
        div.split {
            figure.big { (PreEscaped(sheet::opening_figure(opening, &truth))) figcaption { "To scale, seen from the room. What is out of true is drawn ten times as large." } }
            div {
                p.lead { (shown.says) }
                (ways.flags(&shown.flags))
                @for ask in &shown.asks { div.flag.take_again { b { (ask.says) } div.row { (ways.button(&ask.answer, "small")) (ways.button(&ask.close, "small plain")) } } }
                div.row { (ways.button(&shown.measure, "main")) a.as-button href={ (at) "/note" } { "From a paper note" } @if let Some(next) = &shown.next { (ways.button(next, "small")) } }
                p { (far(shown.progress, "places read")) }
            }
        }
        @if !questions.is_empty() {
            section.questions {
                h2 { "Questions" }
                (ways.choices(&questions))
                @if !own_words.is_empty() { details { summary { "Answer in your own words" } @for naming in &own_words { (ways.naming(naming)) } } }
            }
        }
        h2 { "Every way of mounting" }
        p { (shown.advice) }
        div.ways {
            @for way in &shown.ways {
                section.way.cannot[!way.can] {
                    h3 { (way.title) @if way.advised { span.advised { " advised" } } }
                    p { (way.says) }
                    @if !way.rows.is_empty() { dl { (rows(&way.rows)) } }
                    (ways.flags(&way.flags))
                    @if !way.missing.is_empty() { p { "To be read first:" } div.offers { @for touch in &way.missing { (ways.button(touch, "small")) } } }
                    @if way.can { (ways.labelled(&way.choose, "small", if way.choose.chosen { "Chosen" } else { "Choose" })) }
                }
            }
        }
        @if !shown.shade.is_empty() { h2 { "The shade" } dl.wide { (rows(&shown.shade)) } }
        h2 { "Choices" }
        div.choices { (ways.choices(&choices)) }
        details { summary { "Sizes and lengths set by hand" } @for naming in &lengths { (ways.naming(naming)) } }
        h2 { "Every reading" }
        @if shown.readings.is_empty() { p { "Nothing was read yet." } }
        (readings(&ways, &shown.readings, job.unit, unit))
        @for skipped in &shown.skipped { p.soft { (skipped) } }
        h2 { "Remarks and photos" }
        @for note in &shown.notes { p { (note) } }
        (ways.naming(&shown.note))
        div.photos {
            @for photo in &opening.photos {
                figure { a href={ "/photo/" (photo.sha256) } { img src={ "/photo/" (photo.sha256) } alt=(if photo.caption.is_empty() { "Photo of the opening" } else { &photo.caption }) loading="lazy"; } figcaption { (photo.caption) " " span.soft { (photo.by) ", " (photo.at.format("%Y-%m-%d")) } } }
            }
        }
        details {
            summary { "Add a photo" }
            form.taking method="post" action="/photo" enctype="multipart/form-data" data-plain="yes" {
                input type="hidden" name="token" value=(token);
                input type="hidden" name="house" value=(job.id);
                input type="hidden" name="on" value=(id);
                label { span { "Picture" } input type="file" name="photo" accept="image/jpeg,image/png,image/webp" required; }
                label { span { "What it shows" } input type="text" name="caption" maxlength="200"; }
                button type="submit" { "Add it" }
            }
        }
        h2 { "Ask to measure again" }
        form.taking method="post" action="/ask" {
            input type="hidden" name="token" value=(token);
            input type="hidden" name="house" value=(job.id);
            input type="hidden" name="opening" value=(id);
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
    })
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

fn readings(ways: &Ways<'_>, rows: &[ReadingRow], house: LengthUnit, shown: Option<LengthUnit>) -> Markup {
    html! {
        @if !rows.is_empty() {
            table.list.readings {
                thead { tr { th { "Place" } th.n { "Read" } th { "When, by whom" } th { span.quiet { "What can be done" } } } }
                tbody {
                    @for row in rows {
                        tr.gone[!row.stands] {
                            td { (row.place_words) @if !row.says.is_empty() { br; span.soft { (row.says) } } }
                            td.n { @if row.stands { strong { (number(&row.figure, house, shown)) } } @else { s { (number(&row.figure, house, shown)) } } }
                            td { (when(row.at_ms)) @if !row.by.is_empty() { br; span.soft { (row.by) } } }
                            td { @if row.stands { div.row { (ways.button(&row.amend, "small plain")) (ways.button(&row.withdraw, "small plain")) } } }
                        }
                    }
                }
            }
        }
    }
}

/// A time as the desk writes it: this computer's own.
fn when(ms: i64) -> String {
    chrono::DateTime::from_timestamp_millis(ms)
        .map(|at| at.with_timezone(&chrono::Local).format("%Y-%m-%d %H:%M").to_string())
        .unwrap_or_default()
}

/// The measuring walk: the place lit on the drawing, the pad, what does not hold.
pub(super) fn walk(screen: &Screen, house: Uuid, token: &str, slip: &Slip) -> Markup {
    let at = format!("/house/{house}/walk");
    let ways = Ways { at: &at, token };
    let Shown::Reading { screen: shown } = &screen.shown else {
        return html! {
            h1 { "Nothing is being read" }
            p { a href={ "/house/" (house) } { "Choose an opening of the house" } " and go on from there." }
        };
    };
    html! {
        p.trail { a href={ "/house/" (house) } { "The house" } " / " (screen.title) }
        div.walk {
            div.look {
                @if let Some(ask) = &shown.ask { (ways.choices(std::slice::from_ref(ask))) }
                h1 { (shown.prompt) }
                p { (shown.how) }
                @if !shown.because.is_empty() { p.because { (shown.because) } }
                (drawing(&shown.drawing))
                p { (far(shown.opening_progress, "needed readings")) " " (far(shown.house_progress, "openings")) }
            }
            (pad(&ways, screen, shown, slip))
            div.beside {
                (ways.hands(screen))
                (ways.flags(&shown.flags))
                @if !shown.before.is_empty() { h2 { "Read here before" } (readings(&ways, &shown.before, LengthUnit::Inch, None)) }
                h2 { "Places" }
                @let (others, wanted): (Vec<&PlaceChip>, Vec<&PlaceChip>) = shown.places.iter().partition(|chip| chip.state == PlaceState::Welcome && !chip.go.chosen);
                (chips(&ways, &wanted))
                @if !others.is_empty() { details { summary { "Places that are not needed here" } (chips(&ways, &others)) } }
                details { summary { "Leave this place out" } div.offers { @for skip in &shown.skips { (ways.button(skip, "small")) } } (ways.naming(&shown.skip_words)) }
                div.row { (ways.button(&shown.result, "small")) }
            }
        }
    }
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
        hangtrue_core::walk::Hand::Left => "left",
        hangtrue_core::walk::Hand::Right => "right",
    };
    html! {
        div class={ "pad " (hand) } role="group" aria-label="Keys" {
            output.typed aria-label=(shown.spoken) { span { @if shown.typed.is_empty() { "\u{00A0}" } @else { (shown.typed) } } span.unit { (shown.unit) } }
            p.echo { @if !shown.problem.is_empty() { strong { (shown.problem) } } @else if shown.echo.is_empty() { "\u{00A0}" } @else { (shown.echo) } }
            form.typing method="post" action="/act" {
                (ways.hidden(&shown.accept))
                label {
                    span { "Type it, as on paper: " @if shown.unit == "mm" { "911" } @else { "35 7/8" } }
                    input type="text" name="text" value=(slip.typed) maxlength="40" autocomplete="off" data-id="reading"
                        aria-invalid=[(!slip.what.is_empty()).then_some("true")] aria-describedby=[(!slip.what.is_empty()).then_some("slip")];
                }
                button type="submit" data-id="reading_keep" { "Keep" }
                @if !slip.what.is_empty() { p #slip role="alert" { strong { (slip.what) } " " (slip.right) } }
            }
            div.digits { @for key in &shown.digits { (ways.button(key, "key")) } }
            div.quick { @for key in &shown.quick { (ways.button(key, "key fraction")) } }
            div.edit { @for key in shown.edit.iter().chain(&shown.units) { (ways.button(key, "key edit")) } }
            div.accepting { (ways.button(&shown.later, "key later")) (ways.button(&shown.accept, "key accept")) }
        }
    }
}

/// A drawing of core's, in its box of 1000.
pub(super) fn drawing(drawing: &Drawing) -> Markup {
    let ink = |ink: Ink| match ink {
        Ink::Edge => "edge",
        Ink::Around => "around",
        Ink::Read => "read",
        Ink::Lit => "lit",
        Ink::Doubt => "doubt",
        Ink::Shade => "shade",
    };
    html! {
        svg.pen viewBox="0 0 1000 1000" role="img" aria-label=(drawing.spoken) {
            @for line in &drawing.lines { line class=(ink(line.ink)) x1=(line.x1) y1=(line.y1) x2=(line.x2) y2=(line.y2) {} }
            @for mark in &drawing.marks {
                g class=(ink(mark.ink)) transform={ "translate(" (mark.x) " " (mark.y) ") rotate(" (mark.turn) ")" } {
                    @match mark.kind {
                        MarkKind::Hook => path d="M0 -22 L0 22 M0 22 L-14 22" {},
                        MarkKind::Arrow => path d="M0 0 L-30 -14 L-30 14 Z" {},
                        MarkKind::Dot => circle r="12" {},
                    }
                }
            }
            @for words in &drawing.labels { text class=(ink(words.ink)) x=(words.x) y=(words.y) { (words.text) } }
        }
    }
}

/// What is missing before leaving.
pub(super) fn leaving(screen: &Screen, house: Uuid, token: &str) -> Markup {
    let at = format!("/house/{house}/leaving");
    let ways = Ways { at: &at, token };
    let Shown::Leaving { screen: shown } = &screen.shown else { return wrong() };
    html! {
        p.trail { a href={ "/house/" (house) } { "The house" } }
        h1 { "Before you leave" }
        (ways.hands(screen))
        p.lead { (shown.says) }
        p { (far(shown.progress, "openings read")) }
        @for row in &shown.rows { div class={ "flag " (severity(row.severity)) } { b { (row.opening) } span.asks { (row.asks) ". " } (row.says) (ways.button(&row.go, "small")) } }
    }
}

/// The numbers of the house.
pub(super) fn settings(screen: &Screen, house: Uuid, token: &str) -> Markup {
    let at = format!("/house/{house}/settings");
    let ways = Ways { at: &at, token };
    let Shown::Settings { screen: shown } = &screen.shown else { return wrong() };
    html! {
        @if house == Workroom::ID {
            p.trail { a href="/" { "Houses" } }
            h1 { (screen.title) }
            (ways.hands(screen))
            p.lead { "Every deduction, allowance and limit, with its reason. What is changed here holds for every house that has no such number of its own, and stands on its sheets. A house that is put away keeps the numbers that it had." }
        } @else {
            p.trail { a href={ "/house/" (house) } { "The house" } }
            h1 { "Settings of the house" }
            (ways.hands(screen))
            p.lead { "Every deduction, allowance and limit, with its reason. What is changed here holds for this house and stands on its sheets." }
            div.row { @if let Some(to) = &shown.workroom { (ways.button(to, "small")) } @if let Some(hold) = &shown.hold { (ways.button(hold, "small")) } }
        }
        (ways.choices(&shown.house))
        (ways.naming(&shown.by))
        table.list.numbers {
            thead { tr { th { "Number" } th.n { "Here" } th.n { "Usual" } th { "Why" } } }
            tbody {
                @for row in &shown.rows {
                    tr.changed[row.changed] {
                        td { (row.words) }
                        td.n { strong { (row.value) } @if row.changed { " changed" } }
                        td.n { (row.default) }
                        td { (row.reason) details { summary { "Change" } (ways.naming(&row.change)) @if row.changed { (ways.button(&row.reset, "small plain")) } } }
                    }
                }
            }
        }
    }
}

/// The check of the whole book: what was found, and what can be done.
pub(super) fn check(found: Option<&(Vec<String>, bool)>, token: &str) -> Markup {
    html! {
        p.trail { a href="/" { "Houses" } }
        h1 { "Check the book" }
        @if let Some((says, is_sound)) = found {
            p.notice.lead role="status" { @if *is_sound { "The book is sound." } @else { "The book is not sound." } }
            ul { @for line in says { li { (line) } } }
            @if !is_sound {
                p { "Mending finds every fact again that can be read. The file as it was is kept beside the book." }
                form.touch method="post" action="/check/mend" { input type="hidden" name="token" value=(token); button.main type="submit" data-id="mend" { "Mend it" } }
            }
        } @else {
            p.lead { "Looks at every fact, every list and every photo of this book, and says whether they are what was written. A large book takes some seconds." }
        }
        form.touch method="post" action="/check" { input type="hidden" name="token" value=(token); button type="submit" data-id="check" { "Check now" } }
    }
}

/// What a device is invited with: the text of the whole code, its picture, and what is typed instead.
pub(super) struct Offered {
    pub(super) text: String,
    pub(super) picture: String,
    pub(super) address: String,
    pub(super) code: String,
}

/// The hub: pairing a device, and those that are paired. `None` where this program keeps no hub.
pub(super) fn workroom(
    devices: Option<&[(String, u64, bool)]>,
    waiting: Option<&str>,
    offer: Option<&Offered>,
    said: &str,
    token: &str,
) -> Markup {
    let Some(devices) = devices else {
        return html! {
            h1 { "Phones and other desks" }
            p.lead { "This program keeps no hub now, so no phone can bring its houses here over the network." }
            p { "Stop it, and start it again with a folder for the hub:" }
            pre { "hangtrue open --hub hangtrue-hub" }
            p { "Then devices are paired on this page. A stick or a shared folder needs no hub: " code { "hangtrue sync --help" } " says how." }
        };
    };
    html! {
        h1 { "Phones and other desks" }
        @if !said.is_empty() { p.notice.lead role="status" { (said) } }
        @if let Some(name) = waiting {
            section.pairing {
                h2 { "\u{201C}" (name) "\u{201D} asks to be paired" }
                form.taking method="post" action="/workroom/confirm" {
                    input type="hidden" name="token" value=(token);
                    label { span { "The six digits that it shows" } input.digits-six type="text" name="digits" inputmode="numeric" autocomplete="off" required maxlength="9" data-id="digits_six"; }
                    button.main type="submit" { "Pair it" }
                }
            }
        } @else if let Some(offered) = offer {
            section.pairing {
                h2 { "Show this to the device, within five minutes" }
                figure.code role="img" aria-label="The code to scan; what to type instead is below it" { (PreEscaped(offered.picture.find("<svg").map_or("", |at| &offered.picture[at..]))) }
                p { "Or type on it the workroom's address and this short code:" }
                p.short-code { code data-id="pair_address" { (offered.address) } " " code data-id="pair_code" { (offered.code) } }
                details { summary { "The whole code as text" } pre { (offered.text) } }
                p { "When it has asked, its name and a field for its six digits stand here." a.by-hand href="/workroom" { " Look now" } }
            }
        } @else {
            p.lead { "A device that is paired brings its readings here over the network, encrypted, and takes the asks with it." }
            form.touch method="post" action="/workroom/invite" { input type="hidden" name="token" value=(token); button.main type="submit" data-id="invite" { "Pair a device" } }
        }
        h2 { "Paired" }
        @if devices.is_empty() {
            p { "No device yet." }
        } @else {
            table.list {
                thead { tr { th { "Device" } th { "Paired" } th { "Access" } } }
                tbody { @for (name, ms, good) in devices { tr.gone[!good] { td { (name) } td { (when(i64::try_from(*ms).unwrap_or_default())) } td { @if *good { "active" } @else { "revoked" } } } } }
            }
            p.soft { "A lost phone: " code { "hangtrue hub revoke NAME" } " takes its key back." }
        }
    }
}

/// Sheets of one kind; of one opening alone where one is named.
pub(super) fn leaf(sheets: &[Markup], kind: Leaf, house: Uuid, name: &str, of: Option<&(Uuid, String)>) -> Markup {
    let query = of.map_or_else(String::new, |(id, _)| format!("?opening={id}"));
    html! {
        p.trail {
            a href={ "/house/" (house) } { (name) }
            @if let Some((id, opening)) = of {
                " / " a href={ "/house/" (house) "/opening/" (id) } { (opening) }
                " / " a href={ "/house/" (house) "/sheets/" (kind.name()) } { "of every opening" }
            }
        }
        nav.leaves aria-label="Sheets of this house" {
            @for leaf in Leaf::ALL {
                a href={ "/house/" (house) "/sheets/" (leaf.name()) @if leaf.is_of_openings() { (query) } } aria-current=[(leaf == kind).then_some("page")] { (leaf.words()) }
            }
            button.print type="button" data-print="yes" { "Print" }
            span.by-hand { "Print with your browser: Ctrl and P." }
        }
        h1.unseen[!sheets.is_empty()].quiet[sheets.is_empty()] { (kind.words()) }
        @if sheets.is_empty() { p.lead { "There is nothing on these sheets yet: read the openings first." } }
        div.sheets {
            @for (n, sheet) in sheets.iter().enumerate() {
                div.scroll tabindex="0" role="region" aria-label={ "Sheet " (n + 1) " of " (sheets.len()) } { (sheet) }
            }
        }
    }
}

/// A screen of another kind than the page's: the page is loaded again.
fn wrong() -> Markup {
    refusal("The page and the book do not agree.", "Load the page again.", "/")
}

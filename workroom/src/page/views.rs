//! What the pages show: the screens that core draws for every device, with more room, and the sheets.

use super::backup::Backup;
use super::figures::{ICON, SHAPES, shape_of};
use super::leaves::Leaf;
use super::lengths::{breadth, column, drawn, set};
use super::{files, help, keys};
use hangtrue_core::flag::{Severity, sentence};
use hangtrue_core::house::{Job, Workroom};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::store::HouseLine;
use hangtrue_core::walk::screen::{
    ChoiceGroup, Drawing, Figure, FlagCard, HowFar, Ink, MarkKind, Naming, PenWords, ReadingRow, Shown, Touch,
};
use hangtrue_core::walk::{Event, Screen, Theme, is_listed};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::collections::BTreeMap;
use std::path::PathBuf;
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
    /// Where it is: house, opening, sheet.
    pub(super) trail: &'a [Crumb],
    /// In the colours for bright light.
    pub(super) outdoors: bool,
    /// Letters press what says so.
    pub(super) keys: bool,
}

/// What a page shows, before its frame.
pub(super) struct Content {
    /// Its title: what tells its tab from others comes first.
    pub(super) title: String,
    /// Where it is.
    pub(super) trail: Vec<Crumb>,
    /// In the colours for bright light.
    pub(super) outdoors: bool,
    /// What it shows.
    pub(super) markup: Markup,
}

impl Content {
    /// A page that is in no house.
    pub(super) fn plain(title: &str, markup: Markup) -> Self {
        Self { title: title.to_owned(), trail: Vec::new(), outdoors: false, markup }
    }
}

/// One cell of the head of a page: what it is, its name, and where it leads.
pub(super) struct Crumb {
    kind: &'static str,
    name: String,
    to: Option<String>,
}

impl Crumb {
    /// A cell that leads somewhere.
    pub(super) fn to(kind: &'static str, name: &str, to: String) -> Self {
        Self { kind, name: name.to_owned(), to: Some(to) }
    }

    /// A cell of where the page is.
    pub(super) fn here(kind: &'static str, name: &str) -> Self {
        Self { kind, name: name.to_owned(), to: None }
    }

    /// The house that a page is of.
    pub(super) fn house(job: &Job) -> Self {
        Self::to("House", &job.name, format!("/house/{}", job.id))
    }
}

/// True when a person chose the colours for bright light.
pub(super) fn is_outdoors(screen: &Screen) -> bool {
    screen.theme == Theme::Outdoors
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
    let Frame { title, at, unit, version, token, trail, outdoors, keys } = *frame;
    // The last step of the trail that leads somewhere is the way up.
    let up = trail.iter().rposition(|crumb| crumb.to.is_some());
    let in_house = at.starts_with("/house/");
    // A pad has units of its own, and a paper note takes them all.
    let has_units = in_house && !at.ends_with("/walk") && !at.ends_with("/note");
    html! {
        (DOCTYPE)
        html lang="en" data-light=[outdoors.then_some("outdoors")] {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " \u{b7} Hangtrue" }
                link rel="icon" type="image/svg+xml" href=(ICON);
                @if ["/sheets/", "/quotes/", "/invoices/", "/kit/"].iter().any(|sheet| at.contains(sheet)) { link rel="stylesheet" href="/sheet.css"; }
                link rel="stylesheet" href="/page.css";
                script src="/page.js" defer {}
            }
            body data-keys=[(!keys).then_some("off")] {
                a.skip href="#content" { "To the content" }
                (PreEscaped(SHAPES))
                header.top {
                    a.name href="/" aria-keyshortcuts=(keys::HOUSES) aria-current=[(at == "/").then_some("page")] { (shape_of("m-plumb")) span { "Hangtrue" } }
                    @for (n, crumb) in trail.iter().enumerate() {
                        div.at {
                            span.k { (crumb.kind) " " }
                            @match &crumb.to { Some(to) => a.v href=(to) aria-keyshortcuts=[(Some(n) == up).then_some(keys::UP)] { (crumb.name) }, None => span.v { (crumb.name) } }
                        }
                    }
                    @if has_units {
                        form.units method="post" action="/unit" aria-label="Lengths in" {
                            input type="hidden" name="token" value=(token);
                            input type="hidden" name="at" value=(at);
                            @for (name, value, code) in UNITS {
                                button type="submit" name="unit" value=(code) data-id={ "show_" (code) } aria-pressed=(if unit == value { "true" } else { "false" }) { (name) }
                            }
                        }
                    }
                    a.to-find href="/find" aria-keyshortcuts=(keys::FIND) { "Find" }
                    a.to-workroom href="/workroom" aria-current=[(at == "/workroom").then_some("page")] { "Phones and other desks" }
                }
                main #content tabindex="-1" data-at=(at) data-version=(version) { (content) }
                footer.bottom {
                    nav aria-label="Help and the book" {
                        a href=(help::MEASURING) { "How to lay the tape" }
                        a href=(help::WORDS) { "Words" }
                        a href=(help::FORMATS) { "Formats" }
                        a href="/keys" aria-keyshortcuts=(keys::LIST) { "Keys" }
                        a href="/check" { "Check and back up the book" }
                    }
                }
                p #said .quiet role="status" aria-live="polite" {}
            }
        }
    }
}

/// The key of a button: the next step, undo, redo.
fn shortcut(touch: &Touch, class: &str) -> Option<&'static str> {
    match touch.event {
        Event::Undo => Some(keys::UNDO),
        Event::Redo => Some(keys::REDO),
        _ => class.split(' ').any(|each| each == "main").then_some(keys::NEXT),
    }
}

/// What could not be done.
pub(super) fn refusal(what: &str, right: &str, back: &str) -> Markup {
    html! {
        div.pane {
            h1 { "Not done" }
            p.refusal role="alert" { strong { (what) } " " (right) }
            p { @if back == "/" { a.as-button.main href="/" { "To the list of houses" } } @else { a.as-button.main href=(back) { "Back to where you were" } } }
        }
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
    pub(super) fn button(&self, touch: &Touch, class: &str) -> Markup {
        self.labelled(touch, class, &touch.label)
    }

    pub(super) fn labelled(&self, touch: &Touch, class: &str, label: &str) -> Markup {
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
                button class=(class) type="submit" data-id=(touch.id) aria-keyshortcuts=[shortcut(touch, class)] aria-label=[(said != label).then_some(&said)]
                    aria-disabled=[(!touch.live).then_some("true")] aria-pressed=[touch.chosen.then_some("true")] { span { (set(label)) } }
            }
        }
    }

    fn around(&self) -> Markup {
        html! {
            input type="hidden" name="token" value=(self.token);
            input type="hidden" name="at" value=(self.at);
        }
    }

    pub(super) fn hidden(&self, touch: &Touch) -> Markup {
        html! {
            (self.around())
            input type="hidden" name="event" value=(Self::event(touch));
        }
    }

    /// A name being given, with what one touch gives beside it.
    pub(super) fn naming(&self, naming: &Naming) -> Markup {
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
                    label { span { (set(&naming.prompt)) } input type="text" name="text" value=(naming.typed) maxlength="400" autocomplete="off" data-id={ "words_" (naming.slot) }; }
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
    pub(super) fn hands(&self, screen: &Screen) -> Markup {
        html! {
            @if screen.undo.is_some() || screen.redo.is_some() || screen.notice.is_some() {
                div.hands {
                    @if let Some(notice) = &screen.notice { p.notice role="status" { @if notice.kept { span.kept aria-hidden="true" { "\u{2713} " } } (set(&notice.says)) } }
                    // What is taken back, and where, stands on the button.
                    @for touch in screen.undo.iter().chain(&screen.redo) { (self.labelled(touch, "small", &sentence(&touch.spoken))) }
                }
            }
        }
    }

    pub(super) fn flags(&self, flags: &[FlagCard]) -> Markup {
        html! {
            @for card in flags {
                div class={ "finding " (severity(card.severity)) } {
                    (shape_of(shape(card.severity)))
                    b { (set(&card.says)) }
                    p { span.asks { (card.asks) ". " } (set(&card.settle)) }
                    @if let Some(go) = &card.go { (self.button(go, "small")) }
                }
            }
        }
    }

    pub(super) fn choices(&self, groups: &[ChoiceGroup]) -> Markup {
        html! {
            @for group in groups {
                fieldset.choice { legend { (set(&group.title)) } div.offers { @for option in &group.options { (self.button(option, "small")) } } }
            }
        }
    }
}

/// A number in the unit that a person chose: core gives it in the house's and, beside it, in the other.
pub(super) fn number(figure: &Figure, house: LengthUnit, shown: Option<LengthUnit>) -> Markup {
    let other = shown.is_some_and(|shown| shown.is_imperial() != house.is_imperial()) && !figure.echo.is_empty();
    let (first, second) = if other { (&figure.echo, &figure.text) } else { (&figure.text, &figure.echo) };
    html! { span.figure { (column(first)) } @if !second.is_empty() { " " span.soft { (set(second)) } } }
}

/// A finding: what is wrong, then what to do.
pub(super) fn finding(severe: Severity, says: &str, to_do: &str) -> Markup {
    html! { div class={ "finding " (severity(severe)) } { (shape_of(shape(severe))) b { (set(says)) } p { (set(to_do)) } } }
}

/// The mark of how much a finding asks.
const fn shape(severity: Severity) -> &'static str {
    match severity {
        Severity::TakeAgain => "m-again",
        Severity::Decide => "m-decide",
        Severity::Know => "m-know",
    }
}

pub(super) const fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::TakeAgain => "take_again",
        Severity::Decide => "decide",
        Severity::Know => "know",
    }
}

pub(super) fn far(progress: HowFar, of: &str) -> Markup {
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
) -> Content {
    let ways = Ways { at: "/", token };
    let Shown::Houses { screen: shown } = &screen.shown else { return Content::plain("Houses", wrong()) };
    let mut found: Vec<&HouseLine> =
        lines.iter().filter(|line| is_listed(&line.name, &line.words, line.away, find)).collect();
    found.sort_by_key(|line| line.asked == 0);
    let away = lines.iter().filter(|line| line.away).count();
    let markup = html! {
        section.pane {
            h1 { "Houses" }
            (ways.hands(screen))
            @if lines.is_empty() {
                p.lead { "No house yet. Give the first one a name, then key its readings in from paper; or take in a job file, or let a phone bring its houses." }
            } @else {
                form.find method="get" action="/" role="search" {
                    label { span { "Find a house by name, room or address" @if away > 0 { "; " (away) " put away" } } input type="search" name="find" value=(find); }
                    button type="submit" { "Find" }
                }
                @if found.is_empty() { p { "No house has that in its name, address, rooms or openings." } } @else {
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
                }
                p.soft.note { "Only here: entries that are on this computer alone; an exchange or an archive brings them elsewhere. " a href="/check" { "Check the book" } }
                @if found.len() > from + HOUSES { p { a href={ "/?from=" (from + HOUSES) "&find=" (find) } { "The next " (HOUSES) " of " (found.len()) } } }
            }
        }
        section.pane {
            p { a href={ "/house/" (Workroom::ID) "/settings" } { "The workroom's numbers" } ": what every house is made by that has none of its own." }
            p { a href="/cloths" { "The workroom's cloths" } ", " a href="/shelf" { "its shelf" } " and " a href="/order" { "what to order" } "." }
            p { a href="/bench" { "The bench" } ": what can be done now; " a href="/money" { "invoices" } " and " a href="/mistakes" { "mistakes" } "." }
            h2 { "Begin a house" }
            p { "The unit is the one that its tape is read in; every length can be shown in the other." }
            (ways.naming(&shown.begin))
            details {
                summary { "Take in job files" }
                (files::form(token))
            }
        }
    };
    Content { title: "Houses".to_owned(), trail: Vec::new(), outdoors: is_outdoors(screen), markup }
}

pub(super) fn readings(ways: &Ways<'_>, rows: &[ReadingRow], house: LengthUnit, shown: Option<LengthUnit>) -> Markup {
    html! {
        @if !rows.is_empty() {
            table.list.readings {
                thead { tr { th { "Place" } th.n { "Read" } th { "When, by whom" } th { span.quiet { "What can be done" } } } }
                tbody {
                    @for row in rows {
                        tr.gone[!row.stands] {
                            td { (row.place_words) @if !row.says.is_empty() { br; span.soft { (set(&row.says)) } } }
                            td.n { @if row.stands { strong { (number(&row.figure, house, shown)) } } @else { "[" (number(&row.figure, house, shown)) "]" } }
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
        svg.pen viewBox=(seen(drawing)) role="img" aria-label=(drawing.spoken) {
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
            @for words in &drawing.labels { (label(words, ink(words.ink))) }
        }
    }
}

/// The part of a drawing's box that has something to see: the opening with what is around it, and every tape.
fn seen(drawing: &Drawing) -> String {
    const AROUND: i32 = 105;
    let drawn = || drawing.lines.iter().filter(|line| line.ink != Ink::Around);
    let low = |a: i32, b: i32| a.min(b).saturating_sub(AROUND).max(0);
    let high = |a: i32, b: i32| a.max(b).saturating_add(AROUND).min(1000);
    let left = drawn().map(|line| low(line.x1, line.x2)).min().unwrap_or(0);
    let right = drawn().map(|line| high(line.x1, line.x2)).max().unwrap_or(1000);
    let top = drawn().map(|line| low(line.y1, line.y2)).min().unwrap_or(0);
    let bottom = drawn().map(|line| high(line.y1, line.y2)).max().unwrap_or(1000);
    format!("{left} {top} {} {}", right - left, bottom - top)
}

/// Words on their own ground, so that no line runs through a number.
fn label(words: &PenWords, class: &str) -> Markup {
    const LETTERS: f64 = 38.0;
    let wide = breadth(&words.text, LETTERS) + 16.0;
    let (x, y) = (f64::from(words.x), f64::from(words.y));
    html! {
        rect.ground x=(format!("{:.0}", x - wide / 2.0)) y=(format!("{:.0}", y - LETTERS * 0.65)) width=(format!("{wide:.0}")) height=(format!("{:.0}", LETTERS * 1.3)) {}
        text class=(class) x=(words.x) y=(format!("{:.0}", y + LETTERS * 0.35)) font-size=(LETTERS) { (drawn(&words.text, LETTERS)) }
    }
}

/// What is missing before leaving.
pub(super) fn leaving(screen: &Screen, job: &Job, token: &str) -> Content {
    let at = format!("/house/{}/leaving", job.id);
    let ways = Ways { at: &at, token };
    let title = format!("Before you leave, {}", job.name);
    let (trail, outdoors) = (vec![Crumb::house(job)], is_outdoors(screen));
    let Shown::Leaving { screen: shown } = &screen.shown else {
        return Content { title, trail, outdoors, markup: wrong() };
    };
    let markup = html! {
        div.pane.leaving {
            h1 { "Before you leave" }
            (ways.hands(screen))
            p.lead { (set(&shown.says)) }
            p { (far(shown.progress, "openings read")) }
            @for row in &shown.rows {
                div class={ "finding " (severity(row.severity)) } {
                    (shape_of(shape(row.severity)))
                    b { (row.opening) }
                    p { span.asks { (row.asks) ". " } (set(&row.says)) }
                    (ways.button(&row.go, "small"))
                }
            }
        }
    };
    Content { title, trail, outdoors, markup }
}

/// The numbers of the house.
pub(super) fn settings(screen: &Screen, job: &Job, find: &str, token: &str) -> Content {
    let at = format!("/house/{}/settings", job.id);
    let ways = Ways { at: &at, token };
    let of_all = job.id == Workroom::ID;
    let title = if of_all { screen.title.clone() } else { format!("Settings, {}", job.name) };
    let trail = if of_all { Vec::new() } else { vec![Crumb::house(job)] };
    let outdoors = is_outdoors(screen);
    let Shown::Settings { screen: shown } = &screen.shown else {
        return Content { title, trail, outdoors, markup: wrong() };
    };
    let markup = html! {
        div.pane {
            h1 { @if of_all { (screen.title) } @else { "Settings of the house" } }
            (ways.hands(screen))
            @if of_all {
                p.lead { "Every deduction, allowance and limit, with its reason. What is changed here holds for every house that has no such number of its own, and stands on its sheets. A house that is put away keeps the numbers that it had." }
            } @else {
                p.lead { "Every deduction, allowance and limit, with its reason. What is changed here holds for this house and stands on its sheets." }
                div.row { @if let Some(to) = &shown.workroom { (ways.button(to, "small")) } @if let Some(hold) = &shown.hold { (ways.button(hold, "small")) } }
            }
            (ways.choices(&shown.house))
            (ways.naming(&shown.by))
            (super::numbers::groups(&ways, job, &shown.rows, find))
        }
    };
    Content { title, trail, outdoors, markup }
}

/// The check of the whole book: what was found, and what can be done.
pub(super) fn check(
    found: Option<&(Vec<String>, bool)>,
    made: Option<&Backup>,
    (place, newest): &(PathBuf, Option<String>),
    token: &str,
) -> Markup {
    html! {
    h1.unseen { "Check and back up the book" }
    div.pane {
        h2 { "Back up" }
        @if let Some(made) = made {
            p.notice.lead role="status" { "Backed up, and restored to try it." }
            ul { @for line in &made.says { li { (line) } } }
            p { "It is in " code data-id="backup_folder" { (made.folder.display()) } }
        } @else {
            p.lead { "Writes every entry and every photo of this book to a new folder, and restores that into an empty book to try it." }
            p { "The newest: " @match newest { Some(stamp) => (stamp), None => "none yet" } "." }
        }
        form.taking method="post" action="/backup" {
            input type="hidden" name="token" value=(token);
            label { span { "Folder for backups: best on another disk or a stick. Nothing in it is encrypted." } input type="text" name="folder" value=(place.display()) autocomplete="off" spellcheck="false" data-id="backup_place"; }
            button type="submit" data-id="back_up" { "Back up now" }
        }
        p.soft { "Back from a backup: " code { "hangtrue restore --book NEW.book FOLDER" } }
    }
    div.pane {
        h2 { "Check" }
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
        return html! { div.pane {
            h1 { "Phones and other desks" }
            p.lead { "This program keeps no hub now, so no phone can bring its houses here over the network." }
            p { "Stop it, and start it again with a folder for the hub:" }
            pre { "hangtrue open --hub hangtrue-hub" }
            p { "Then devices are paired on this page. A stick or a shared folder needs no hub: " code { "hangtrue sync --help" } " says how." }
        } };
    };
    html! { div.pane {
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
    } }
}

/// Sheets of one kind; of one opening alone where one is named.
pub(super) fn leaf(sheets: &[Markup], kind: Leaf, job: &Job, of: Option<&(Uuid, String)>) -> Content {
    let query = of.map_or_else(String::new, |(id, _)| format!("?opening={id}"));
    let house = format!("/house/{}", job.id);
    let mut trail = vec![Crumb::house(job)];
    trail.extend(of.map(|(id, opening)| Crumb::to("Opening", opening, format!("{house}/opening/{id}"))));
    let whose = of.map_or_else(|| job.name.clone(), |(_, opening)| format!("{opening}, {}", job.name));
    let markup = html! {
        nav.leaves aria-label="Sheets of this house" {
            @for leaf in Leaf::ALL {
                a href={ (house) "/sheets/" (leaf.name()) @if leaf.is_of_openings() { (query) } } aria-current=[(leaf == kind).then_some("page")] { (leaf.words()) }
            }
            a href={ (house) "/sheets/labels" } { "Labels" }
            @if of.is_some() { a href={ (house) "/sheets/" (kind.name()) } { "of every opening" } }
            button.print.main type="button" data-print="yes" { "Print" }
            span.by-hand { "Print with your browser: Ctrl and P." }
        }
        h1.unseen[!sheets.is_empty()].quiet[sheets.is_empty()] { (kind.words()) }
        @if sheets.is_empty() { p.lead { "There is nothing on these sheets yet: read the openings first." } }
        div.sheets {
            @for (n, sheet) in sheets.iter().enumerate() {
                div.scroll tabindex="0" role="region" aria-label={ "Sheet " (n + 1) " of " (sheets.len()) } { (sheet) }
            }
        }
    };
    Content { title: format!("{}, {whose}", kind.words()), trail, outdoors: false, markup }
}

/// A screen of another kind than the page's: the page is loaded again.
pub(super) fn wrong() -> Markup {
    refusal("The page and the book do not agree.", "Load the page again.", "/")
}

/// A sheet by itself, with the way back and the way to print it.
pub(super) fn one_sheet(title: &str, (to, back): (&str, &str), sheet: &Markup) -> Markup {
    html! {
        nav.leaves aria-label=(title) {
            a href=(to) { (back) }
            button.print.main type="button" data-print="yes" { "Print" }
            span.by-hand { "Print with your browser: Ctrl and P." }
        }
        h1.unseen { (title) }
        div.sheets { div.scroll tabindex="0" role="region" aria-label=(title) { (sheet) } }
    }
}

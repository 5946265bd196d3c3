//! A whole opening from a paper note: a field for each place, typed as it is written there, and beside it what it was
//! taken as and whether it fits.

use super::desk::DeskProblem;
use super::figures::shape_of;
use super::help;
use super::lengths::{column, set};
use super::views::{self, Content, Crumb, Slip};
use hangtrue_core::fact::House;
use hangtrue_core::flag::sentence;
use hangtrue_core::house::{Opening, Place};
use hangtrue_core::length::LengthUnit;
use hangtrue_core::walk::note::{self, Field, Looked, Said, Taken};
use maud::{Markup, html};
use uuid::Uuid;

/// The columns of fields: their names in the form, and their headings.
const COLUMNS: [(&str, &str); 2] = [("first", "On the note"), ("second", "Second reading")];

/// The most that one field holds; a length has a tenth of it.
const FIELD_CHARS: usize = 120;

/// The fields of a form, in the order of their places.
pub(super) fn fields(form: &[(String, String)]) -> Vec<Field> {
    let mut fields = Vec::new();
    for place in Place::ALL {
        for (column, _) in COLUMNS {
            let name = name(column, *place);
            let text = form.iter().find(|(key, _)| *key == name).map_or("", |(_, text)| text.trim());
            let text = text.chars().take(FIELD_CHARS).collect();
            fields.push(Field { place: *place, text });
        }
    }
    fields
}

/// The form of some fields, without the empty ones: what is kept while it is typed.
pub(super) fn form(fields: &[Field]) -> Vec<(String, String)> {
    let columns = COLUMNS.iter().map(|(column, _)| *column).cycle();
    let full = columns.zip(fields).filter(|(_, field)| !field.text.is_empty());
    full.map(|(column, field)| (name(column, field.place), field.text.clone())).collect()
}

fn name(column: &str, place: Place) -> String {
    format!("{column}/{}", place.code())
}

/// A place's fields, with what is said of each.
struct Row<'a> {
    place: Place,
    cells: Vec<(&'a Field, &'a Taken, Option<&'a Said>)>,
}

impl Row<'_> {
    fn is_empty(&self) -> bool {
        self.cells.iter().all(|(_, taken, _)| matches!(taken, Taken::Empty))
    }

    /// What its mark is: something that cannot be read, something to read again, or neither.
    fn class(&self) -> &'static str {
        if self.cells.iter().any(|(_, taken, _)| matches!(taken, Taken::Unreadable { .. })) {
            "wrong"
        } else if self.cells.iter().any(|(.., said)| said.is_some_and(|said| said.severity.is_some())) {
            "again"
        } else {
            ""
        }
    }

    fn taken(&self) -> Markup {
        html! {
            @for (_, taken, _) in &self.cells {
                @if let Taken::Length(figure) = taken {
                    div { strong { (column(&figure.text)) } @if !figure.echo.is_empty() { " " span.soft { (set(&figure.echo)) } } }
                }
            }
        }
    }

    fn said(&self) -> Markup {
        html! {
            @for (field, taken, _) in &self.cells {
                @if let Taken::Unreadable { what, right } = taken {
                    p { (shape_of("m-again")) strong { "\u{201C}" (field.text) "\u{201D}: " (set(what)) "." } " " (set(&sentence(right))) }
                }
            }
            // Two readings of a place are judged together.
            @if let Some(said) = self.cells.iter().find_map(|(.., said)| *said) {
                @if said.severity.is_some() { p { (shape_of("m-again")) (set(&said.says)) } } @else { p.fits { (set(&said.says)) } }
            }
        }
    }
}

/// The page of one opening's note.
pub(super) fn page(
    house: &House,
    id: Uuid,
    fields: &[Field],
    token: &str,
    slip: &Slip,
) -> Result<Content, DeskProblem> {
    let job = &house.job;
    let Some((room, opening)) = job.openings().find(|(_, one)| one.id == id) else {
        return Err(DeskProblem::NoSuch { what: "opening" });
    };
    let looked = note::look(house, opening, fields);
    let rows: Vec<Row<'_>> = Place::ALL
        .iter()
        .map(|place| {
            let cells = fields.iter().zip(&looked.taken).zip(&looked.said);
            let mine = cells.filter(|((field, _), _)| field.place == *place);
            Row { place: *place, cells: mine.map(|((field, taken), said)| (field, taken, said.as_ref())).collect() }
        })
        .collect();
    let of = |places: &[Place]| -> Vec<&Row<'_>> {
        places.iter().filter_map(|place| rows.iter().find(|row| row.place == *place)).collect()
    };
    let (needed, others) = note::places(&house.job, opening);
    let (needed, others) = (of(&needed), of(&others));
    let others_typed = others.iter().any(|row| !row.is_empty());
    let at = format!("/house/{}/opening/{id}", job.id);
    let trail = vec![Crumb::house(job), Crumb::to("Opening", &format!("{}, {}", room.name, opening.name), at.clone())];
    let title = format!("From a paper note: {}, {}, {}", opening.name, room.name, job.name);
    let markup = html! {
        @if let Some(ask) = note::ask(house, opening) { div.pane.asks-first { (views::Ways { at: &format!("{at}/note"), token }.choices(&[ask])) } }
        form.note method="post" action={ (at) "/note" } data-note="yes" {
            input type="hidden" name="token" value=(token);
            div.pane.note-side {
                h1 { "From a paper note" }
                p { "Type each length as it is written. Enter leads to the next row, Shift and Enter to the row above, Tab to a second reading of the same place." }
                p.soft { (set(examples(job.unit))) " " a href=(help::FORMATS) { "Formats" } " " a href=(help::MEASURING) { "How to lay the tape" } }
                div #note-drawing data-fresh="yes" { (views::drawing(&looked.drawing)) }
            }
            div.pane {
                @if !slip.what.is_empty() { p #slip role="alert" { strong { (slip.what) } " " (slip.right) } }
                div #note-flags data-fresh="yes" {
                    @for flag in &looked.flags { (views::finding(flag.severity, &flag.says, &flag.to_do)) }
                }
                (table("The opening", opening, &needed))
                details open[others_typed] { summary { "Other places" } (table("Around the opening", opening, &others)) }
            }
            div.note-bar {
                p #note-sum data-fresh="yes" role="status" { (sum(&looked)) }
                button.by-hand type="submit" name="do" value="look" { "Look at it" }
                button.main type="submit" name="do" value="keep" data-id="note_keep" { span { "Keep " span #note-count data-fresh="yes" { (many(looked.lengths)) } } }
            }
        }
    };
    Ok(Content { title, trail, outdoors: false, markup })
}

const fn examples(unit: LengthUnit) -> &'static str {
    if unit.is_imperial() {
        "35 7/8, 35-7/8 and 35.875 are the same; 911 mm and 2' 11 7/8\" are read too."
    } else {
        "911 and 91.1 cm are the same; 35 7/8 in is read too."
    }
}

fn many(readings: usize) -> String {
    if readings == 1 { "1 reading".to_owned() } else { format!("{readings} readings") }
}

/// What the note comes to so far.
fn sum(looked: &Looked) -> Markup {
    let open = [(looked.unreadable, "cannot be read"), (looked.again, "to read again")];
    let open: Vec<String> = open.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
    html! {
        @if !open.is_empty() { strong { (open.join(", ")) "." } " " }
        @if looked.lengths == 0 { "Nothing is typed yet." } @else { "What is typed is safe on this computer; the button keeps it as readings." }
    }
}

fn table(caption: &str, opening: &Opening, rows: &[&Row<'_>]) -> Markup {
    html! {
        table.list.note {
            caption.quiet { (caption) }
            thead { tr { th { "Place" } @for (_, heading) in COLUMNS { th { (heading) } } th { "Taken as" } th { "Result" } } }
            tbody {
                @for row in rows {
                    @let code = row.place.code();
                    @let words = sentence(row.place.words());
                    @let words = words.trim_end_matches('.');
                    @let before: Vec<String> = opening.standing(row.place).map(|taken| taken.typed.marked_text()).collect();
                    tr #{ "row-" (code) } class=(row.class()) {
                        th scope="row" {
                            a href={ (help::MEASURING) "#" (code) } title=(row.place.how()) tabindex="-1" { (words) }
                            @if !before.is_empty() { " " small.soft { "read before: " (set(&before.join(", "))) } }
                        }
                        @for ((column, heading), (field, taken, _)) in COLUMNS.iter().zip(&row.cells) {
                            td class=(column) {
                                input type="text" name=(name(column, row.place)) value=(field.text) maxlength=(FIELD_CHARS) autocomplete="off"
                                    enterkeyhint="next" data-column=(column) placeholder=[(*column == "second").then_some("again")] aria-label={ (words) ", " (heading.to_lowercase()) }
                                    aria-describedby={ "said-" (code) } aria-invalid=[matches!(taken, Taken::Unreadable { .. }).then_some("true")];
                            }
                        }
                        td.as #{ "as-" (code) } data-fresh="yes" { (row.taken()) }
                        td.said #{ "said-" (code) } data-fresh="yes" { (row.said()) }
                    }
                }
            }
        }
    }
}

//! The labels of a house on the page: a form for the sheet they are printed on, which old ones are void, and the sheets.

use super::desk::DeskProblem;
use super::leaves::{Leaf, Plans};
use super::views::{Content, Crumb};
use crate::labels::{Asked, code};
use crate::moments;
use hangtrue_core::flag::sentence;
use hangtrue_core::house::Job;
use hangtrue_core::label::{self, Label, Stock};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::sheet::{self, Heading};
use hangtrue_core::work;
use maud::html;
use serde::Deserialize;
use uuid::Uuid;

/// What the form asks for.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Form {
    #[serde(flatten)]
    asked: Asked,
    /// One opening's alone.
    opening: String,
    /// Numbers of labels that were printed before.
    old: String,
}

/// The page of a house's labels.
pub(super) fn page(job: &Job, form: &Form, (plans, version): (&Plans, i64)) -> Result<Content, DeskProblem> {
    let worked = work::house(job, Catalogue::standard(job.unit)).map_err(|problem| DeskProblem::Refused {
        what: problem.to_string(),
        right: "Put the number right in the settings of the house.".to_owned(),
    })?;
    let all = label::labels(&worked, &plans.of(version, &worked));
    let day = moments::today();
    let heading = Heading { job, unit: job.unit, day: &day };
    let opening: Option<Uuid> = form.opening.parse().ok();
    let chosen: Vec<Label> =
        all.labels.iter().filter(|label| opening.is_none_or(|id| label.opening == id)).cloned().collect();
    let laid = form.asked.laid(job.unit);
    let made = laid
        .as_ref()
        .map_err(Clone::clone)
        .and_then(|laid| sheet::labels(&heading, &chosen, laid, &code).map_err(|problem| problem.to_string()));
    let judged = label::judge(&worked, &all, &form.old);
    let stock = laid.as_ref().map_or_else(|_| form.asked.sheet.clone(), |laid| laid.stock.code());
    let at = format!("/house/{}/sheets", job.id);
    let markup = html! {
        nav.leaves aria-label="Sheets of this house" {
            @for leaf in Leaf::ALL { a href={ (at) "/" (leaf.name()) } { (leaf.words()) } }
            a href={ (at) "/labels" } aria-current="page" { "Labels" }
        }
        div.pane.not-printed {
            h1 { "Labels" }
            @match &made {
                Ok(_) if chosen.is_empty() => p.lead { "There is nothing to label yet: only what is settled is cut." },
                Ok(pages) => p.lead { (chosen.len()) " labels on " (pages.len()) @if pages.len() == 1 { " sheet" } @else { " sheets" } ". Print at 100 %, on the paper's own size, without margins." },
                Err(problem) => p.refusal role="alert" { strong { (sentence(problem)) } },
            }
            form.find.labels method="get" action={ (at) "/labels" } {
                label { span { "Sheet of labels" } select name="sheet" { @for each in Stock::USUAL { option value=(each.code()) selected[each.code() == stock] { (each.words()) } } } }
                label { span { "Of" } select name="opening" {
                    option value="" { "every opening" }
                    @for one in worked.openings.iter().filter(|one| one.standing.is_settled()) { option value=(one.opening.id) selected[Some(one.opening.id) == opening] { (one.room.name) ", " (one.opening.name) } }
                } }
                label { span { "First label that is left on the sheet, along the rows" } input type="text" inputmode="numeric" name="first" value=(if form.asked.first.is_empty() { "1" } else { &form.asked.first }); }
                label { span { "Move to the right by (left: with a minus)" } input type="text" name="across" value=(if form.asked.across.is_empty() { "0" } else { &form.asked.across }); }
                label { span { "Move down by (up: with a minus)" } input type="text" name="down" value=(if form.asked.down.is_empty() { "0" } else { &form.asked.down }); }
                label { span { "Old labels: the number on each, one a line" } textarea name="old" rows="3" { (form.old) } }
                label { span { input type="checkbox" name="outlined" value="yes" checked[form.asked.outlined]; " Outlines, for a trial on plain paper" } }
                button type="submit" { "Show" }
            }
            @match &judged {
                Ok(judged) => @if !judged.is_empty() { ul.plain { @for one in judged { li { strong { (one.text) } " " (one.says) } } } },
                Err(problem) => p.refusal role="alert" { (sentence(problem)) },
            }
            @if !all.left_out.is_empty() {
                h2 { "No label" }
                ul.plain { @for why in &all.left_out { li { (super::lengths::set(why)) } } }
            }
            @if !chosen.is_empty() && made.is_ok() { button.print.main type="button" data-print="yes" { "Print" } }
        }
        @if let Ok(pages) = &made {
            div.sheets {
                @for (n, page) in pages.iter().enumerate() {
                    div.scroll tabindex="0" role="region" aria-label={ "Sheet " (n + 1) " of " (pages.len()) } { (page) }
                }
            }
        }
    };
    let title = format!("Labels, {}", job.name);
    Ok(Content { title, trail: vec![Crumb::house(job)], outdoors: false, markup })
}

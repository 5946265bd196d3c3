//! The numbers of a house or of the workroom, as people look for them: in groups as the job goes, found by words, and only
//! the groups open in which something was changed.

use super::lengths::{column, set};
use super::views::Ways;
use hangtrue_core::house::Job;
use hangtrue_core::settings::{GROUPS, Row, Settings};
use hangtrue_core::walk::screen::SettingRow;
use maud::{Markup, html};

/// What is looked for in the settings.
#[derive(serde::Deserialize, Default)]
pub(super) struct Find {
    #[serde(default)]
    pub(super) find: String,
}

/// The groups with their numbers; those alone that have what is looked for.
pub(super) fn groups(ways: &Ways<'_>, job: &Job, rows: &[SettingRow], find: &str) -> Markup {
    let settings = job.settings().unwrap_or_else(|_| Settings::defaults(job.unit));
    let table: Vec<Row> = settings.rows(job.unit);
    let below = Settings::with(job.unit, &job.workroom.settings).unwrap_or_else(|_| Settings::defaults(job.unit));
    let usual: Vec<Row> = below.rows(job.unit);
    let find = find.trim().to_lowercase();
    let is_found = |group: &str, row: &SettingRow| {
        let of = format!("{group} {} {}", row.words, row.reason).to_lowercase();
        find.split_whitespace().all(|word| of.contains(word))
    };
    let in_use =
        |table: &[Row], name: &str| table.iter().find(|row| row.name == name).and_then(|row| row.in_use(job.unit));
    let groups: Vec<(&str, Vec<&SettingRow>)> = GROUPS
        .iter()
        .map(|(group, names)| {
            let rows = names.iter().filter_map(|name| rows.iter().find(|row| row.name == *name));
            (*group, rows.filter(|row| is_found(group, row)).collect::<Vec<_>>())
        })
        .filter(|(_, rows)| !rows.is_empty())
        .collect();
    html! {
        form.find method="get" action={ (ways.at) } role="search" {
            label { span { "Find a number by its words: hem, screw, turnings" } input type="search" name="find" value=(find); }
            button type="submit" { "Find" }
        }
        @if groups.is_empty() { p { "No number has that in its words or its reason." } }
        @for (group, rows) in &groups {
            @let changed = rows.iter().filter(|row| row.changed).count();
            details.group open[changed > 0 || !find.is_empty()] {
                summary { (group) span.soft { " " (rows.len()) @if changed > 0 { ", " (changed) " changed" } } }
                table.list.numbers {
                    thead { tr { th { "Number" } th.n { "Here" } th.n { "Usual" } th { "Why" } } }
                    tbody {
                        @for row in rows {
                            tr.changed[row.changed] {
                                td { (row.words) }
                                td.n { strong { @match in_use(&table, &row.name) { Some(words) => (column(&words)), None => (column(&row.value)) } } @if row.changed { " changed" } }
                                td.n { @match in_use(&usual, &row.name) { Some(words) => { (column(&words)) @if row.default.ends_with("workroom's") { ", the workroom's" } } None => (column(&row.default)) } }
                                td {
                                    (set(&row.reason))
                                    details {
                                        summary { "Change" }
                                        @if let Some(counts) = table.iter().find(|one| one.name == row.name).map(Row::counts).filter(|counts| !counts.is_empty()) { p.soft { "Write it " (counts) "." } }
                                        (ways.naming(&row.change))
                                        @if row.changed { (ways.button(&row.reset, "small plain")) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

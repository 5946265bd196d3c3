//! Cloths and the shelf as tables (CSV, RFC 4180): out, and in again.
//!
//! A row that cannot be used is named by its line and column and the rest goes in. Lengths go out with their units, so that
//! a table means the same in any workroom.

use super::{Field, Slip, Typing, cloth, piece, plain_name};
use csv::{ReaderBuilder, StringRecord, WriterBuilder};
use hangtrue_core::house::{Cloth, ShelfPiece};
use hangtrue_core::length::{LengthUnit, Typed};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// The longest table that is taken in.
const MOST_ROWS: usize = 20_000;

/// What is wrong with a row, and where.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct RowSlip {
    /// Its line in the file, from 1.
    pub(crate) line: u64,
    /// The column's heading; empty where it is about the whole row.
    pub(crate) column: String,
    pub(crate) what: String,
    pub(crate) right: String,
}

impl RowSlip {
    /// As a person reads it.
    pub(crate) fn words(&self) -> String {
        let column = if self.column.is_empty() { String::new() } else { format!(", column {}", self.column) };
        format!("Line {}{column}: {}; {}.", self.line, self.what, self.right)
    }
}

/// Rows that can be used, and what is wrong with the others.
#[derive(Debug)]
pub(crate) struct Taken<T> {
    pub(crate) rows: Vec<T>,
    pub(crate) slips: Vec<RowSlip>,
}

/// The cloths as a table.
pub(crate) fn cloths_out(cloths: &[Cloth], unit: LengthUnit) -> String {
    let rows = cloths.iter().map(|one| cloth::typing_by(one, &Typed::marked_text, unit));
    write(&cloth::FIELDS, None, rows.map(|typing| (String::new(), typing)))
}

/// The shelf as a table. What was cut is not on it.
pub(crate) fn shelf_out(shelf: &BTreeMap<Uuid, ShelfPiece>, houses: &[(Uuid, String)]) -> String {
    let there = shelf.iter().filter(|(_, one)| !one.gone);
    let rows = there.map(|(id, one)| (id.to_string(), piece::typing_by(one, houses, &Typed::marked_text)));
    write(&piece::FIELDS, Some("id"), rows)
}

fn heading(field: &Field) -> String {
    field.name.replace('_', " ")
}

fn write(fields: &[Field], id: Option<&str>, rows: impl Iterator<Item = (String, Typing)>) -> String {
    let mut writer = WriterBuilder::new().from_writer(Vec::new());
    let head: Vec<String> = id.map(str::to_owned).into_iter().chain(fields.iter().map(heading)).collect();
    let whole = "a table in memory is always written";
    writer.write_record(&head).expect(whole);
    for (name, typing) in rows {
        let cells = id.map(|_| name).into_iter().chain(fields.iter().map(|field| guarded(typing.get(field.name))));
        writer.write_record(cells).expect(whole);
    }
    String::from_utf8(writer.into_inner().expect(whole)).expect("all that was written is text")
}

/// Spreadsheets work out a cell that begins like a sum; names come from other devices.
fn guarded(text: &str) -> String {
    if is_sum(text.trim_start_matches('\'')) { format!("'{text}") } else { text.to_owned() }
}

fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'').filter(|rest| is_sum(rest.trim_start_matches('\''))).unwrap_or(text)
}

fn is_sum(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r'])
}

/// A table read row by row: its columns by the names of fields.
struct Table {
    columns: Vec<(String, Option<&'static str>)>,
    rows: Vec<(u64, StringRecord)>,
    slips: Vec<RowSlip>,
}

fn read(text: &str, fields: &[Field], more: &'static [&'static str], needed: &[&str]) -> Table {
    // A browser's form ends its lines with two bytes, and then the reader's own count of lines stays one behind.
    let text = &hangtrue_core::json::without_mark(text).replace("\r\n", "\n");
    let first = text.lines().next().unwrap_or_default();
    let count = |mark: char| first.matches(mark).count();
    let mark =
        [(',', b','), (';', b';'), ('\t', b'\t')].into_iter().max_by_key(|(mark, byte)| (count(*mark), *byte == b','));
    let mark = mark.map_or(b',', |(_, byte)| byte);
    let mut table = Table { columns: Vec::new(), rows: Vec::new(), slips: Vec::new() };
    let mut reader =
        ReaderBuilder::new().delimiter(mark).flexible(true).has_headers(false).from_reader(text.as_bytes());
    for (n, row) in reader.records().enumerate() {
        let slip =
            |line, what: String, right: &str| RowSlip { line, column: String::new(), what, right: right.to_owned() };
        let row = match row {
            Ok(row) => row,
            Err(error) => {
                let line = error.position().map_or(1, csv::Position::line);
                table.slips.push(slip(
                    line,
                    "this row cannot be read".to_owned(),
                    "write columns with commas between, and quotes around a text with a comma",
                ));
                continue;
            }
        };
        let line = row.position().map_or(1, csv::Position::line);
        if n == 0 {
            for (at, name) in row.iter().enumerate() {
                let plain = plain_name(name);
                let known =
                    fields.iter().map(|field| field.name).chain(more.iter().copied()).find(|known| *known == plain);
                if known.is_none() && !plain.is_empty() {
                    let names: Vec<String> = fields.iter().map(heading).collect();
                    let what = "no field is called so, and the column is left out".to_owned();
                    table.slips.push(RowSlip {
                        line,
                        column: format!("{} ({name})", at + 1),
                        what,
                        right: format!("the columns are: {}", names.join(", ")),
                    });
                }
                table.columns.push((name.trim().to_owned(), known));
            }
            for name in needed {
                if table.columns.iter().all(|(_, known)| known != &Some(*name)) {
                    table.slips.push(slip(
                        line,
                        format!("there is no column called {}", name.replace('_', " ")),
                        "the first line names the columns",
                    ));
                    return table;
                }
            }
            continue;
        }
        if row.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        if n > MOST_ROWS {
            table.slips.push(slip(
                line,
                format!("there are more than {MOST_ROWS} rows"),
                "take the rest in as a table of its own",
            ));
            break;
        }
        if row.len() != table.columns.len() {
            let what = format!("this row has {} columns and the first line names {}", row.len(), table.columns.len());
            table.slips.push(slip(line, what, "put quotes around a text that has a comma in it"));
            continue;
        }
        table.rows.push((line, row));
    }
    table
}

impl Table {
    fn typing(&self, row: &StringRecord) -> Typing {
        let cells = self.columns.iter().zip(row).filter_map(|((_, known), cell)| Some(((*known)?, unguarded(cell))));
        Typing::of(cells)
    }

    fn slip(&self, line: u64, slip: Slip) -> RowSlip {
        let at = self.columns.iter().position(|(_, known)| *known == Some(slip.field));
        let column =
            at.map_or_else(|| slip.field.replace('_', " "), |at| format!("{} ({})", at + 1, self.columns[at].0));
        RowSlip { line, column, what: slip.what, right: slip.right }
    }
}

/// Takes a table of cloths: each row a cloth, laid over the one of its name.
pub(crate) fn cloths_in(text: &str, before: &[Cloth], unit: LengthUnit) -> Taken<Cloth> {
    let mut table = read(text, &cloth::FIELDS, &[], &["name", "width"]);
    let mut seen: BTreeMap<String, u64> = BTreeMap::new();
    let (mut rows, mut slips) = (Vec::new(), std::mem::take(&mut table.slips));
    for (line, row) in &table.rows {
        let typing = table.typing(row);
        let known = before.iter().find(|cloth| cloth.name.eq_ignore_ascii_case(typing.get("name")));
        match cloth::read(&typing, known, unit) {
            Ok(mut read) => {
                if let Some(known) = known {
                    read.name.clone_from(&known.name);
                }
                if let Some(first) = seen.get(&read.name.to_lowercase()) {
                    let slip = Slip::new(
                        "name",
                        format!("\u{201C}{}\u{201D} stands in line {first} already", read.name),
                        "one row for each cloth",
                    );
                    slips.push(table.slip(*line, slip));
                    continue;
                }
                seen.insert(read.name.to_lowercase(), *line);
                rows.push(read);
            }
            Err(found) => slips.extend(found.into_iter().map(|slip| table.slip(*line, slip))),
        }
    }
    slips.sort_by_key(|slip| slip.line);
    Taken { rows, slips }
}

/// Takes a table of the shelf: a row with the id of a piece is laid over it, any other is a new piece.
pub(crate) fn shelf_in(
    text: &str,
    before: &BTreeMap<Uuid, ShelfPiece>,
    cloths: &[Cloth],
    houses: &[(Uuid, String)],
    unit: LengthUnit,
    new_id: &mut dyn FnMut() -> Uuid,
) -> Taken<(Uuid, ShelfPiece)> {
    let mut table = read(text, &piece::FIELDS, &["id"], &["cloth", "length"]);
    let mut seen = BTreeSet::new();
    let (mut rows, mut slips) = (Vec::new(), std::mem::take(&mut table.slips));
    let id_at = table.columns.iter().position(|(_, known)| *known == Some("id"));
    for (line, row) in &table.rows {
        let written = id_at.map_or("", |at| row[at].trim());
        let id = match Uuid::parse_str(written) {
            Ok(id) if before.contains_key(&id) => Some(id),
            Ok(_) | Err(_) if !written.is_empty() => {
                let slip = RowSlip {
                    line: *line,
                    column: format!("{} (id)", id_at.unwrap_or_default() + 1),
                    what: format!("no piece on the shelf has the id \u{201C}{written}\u{201D}"),
                    right: "leave it empty: then it is a new piece".to_owned(),
                };
                slips.push(slip);
                continue;
            }
            _ => None,
        };
        let known = id.and_then(|id| before.get(&id));
        let is_cloth = |name: &str| cloths.iter().any(|cloth| cloth.name == name);
        match piece::read(&table.typing(row), known, is_cloth, houses, unit) {
            Ok(_) if id.is_some_and(|id| !seen.insert(id)) => {
                slips.push(RowSlip {
                    line: *line,
                    column: "id".to_owned(),
                    what: "this piece has a row already".to_owned(),
                    right: "one row for each piece".to_owned(),
                });
            }
            Ok(read) => rows.push((id.unwrap_or_else(&mut *new_id), read)),
            Err(found) => slips.extend(found.into_iter().map(|slip| table.slip(*line, slip))),
        }
    }
    slips.sort_by_key(|slip| slip.line);
    Taken { rows, slips }
}

#[cfg(test)]
mod tests;

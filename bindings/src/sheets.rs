//! Sheets to share or print: one HTML document for the house, one for each opening.

use crate::BookFault;
use hangtrue_core::house::Job;
use hangtrue_core::mount::Catalogue;
use hangtrue_core::sheet::{self, Heading};
use hangtrue_core::work;
use uuid::Uuid;

/// A document that a print dialog or a share sheet takes as it is.
#[derive(Clone, PartialEq, Eq, Debug, uniffi::Record)]
pub struct SheetFile {
    /// A file name without a folder: `kitchen-over-the-sink.html`.
    pub file_name: String,
    /// Its title.
    pub title: String,
    /// The document: self-contained HTML.
    pub html: String,
}

/// The house's summary, or the sheets of one opening: making, hanging, full size, and its measuring record.
pub(crate) fn write(job: &Job, opening: Option<Uuid>, day: &str) -> Result<SheetFile, BookFault> {
    let catalogue = Catalogue::standard(job.unit);
    let heading = Heading { job, unit: job.unit, day };
    let Some(id) = opening else {
        let worked = work::house(job, catalogue).map_err(|problem| {
            BookFault::refused(problem.to_string(), "set that number back to its default in the settings")
        })?;
        let html = sheet::document(&job.name, &[sheet::summary(&heading, &worked)]);
        return Ok(SheetFile { file_name: file_name(&job.name), title: job.name.clone(), html });
    };
    let settings = job.settings().map_err(|problem| {
        BookFault::refused(problem.to_string(), "set that number back to its default in the settings")
    })?;
    let (room, one) = job.openings().find(|(_, one)| one.id == id).ok_or_else(|| BookFault::Refused {
        reason: "this opening is not in the house".to_owned(),
        advice: "go back and choose again".to_owned(),
        id: Some(id.to_string()),
    })?;
    // With its room: it may wait for another that it hangs together with.
    let all = work::room(job, id, &settings, catalogue);
    let mut sheets = Vec::new();
    if let Some(worked) = all.opening(id) {
        sheets.extend(sheet::making(&heading, worked, None));
        if worked.shade.is_some() || !worked.mounts.chosen.is_empty() {
            sheets.push(sheet::hanging(&heading, worked));
            sheets.extend(sheet::full_size(&heading, worked));
        }
        sheets.push(sheet::measuring(&heading, worked));
    }
    let title = format!("{}, {}", room.name, one.name);
    Ok(SheetFile { file_name: file_name(&title), html: sheet::document(&title, &sheets), title })
}

/// Letters and digits of a title, joined by hyphens: what every file system and share sheet takes.
fn file_name(title: &str) -> String {
    let words = title.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let name = words.map(str::to_lowercase).collect::<Vec<_>>().join("-");
    format!("{}.html", if name.is_empty() { "sheet" } else { &name })
}

//! The commands on the book of houses: take in, list, show, write sheets, export; and the demo.

use crate::{Outcome, moments, table};
use anyhow::{Context as _, bail};
use clap::Args;
use hangtrue_core::buying::Shop;
use hangtrue_core::house::{Job, file};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::sheet::{self, Heading};
use hangtrue_core::store::Book;
use hangtrue_core::work::{self, WorkedHouse};
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// The invented houses of the demo.
const DEMO: [&str; 2] =
    [include_str!("../../fixtures/houses/heron-lane.json"), include_str!("../../fixtures/houses/quay-flat.json")];

/// Where the book is.
#[derive(Args, Debug)]
pub(crate) struct BookArgs {
    /// The book of houses; made when it is not there
    #[arg(long, value_name = "FILE", env = "HANGTRUE_BOOK", default_value = "hangtrue.book")]
    pub(crate) book: PathBuf,
}

impl BookArgs {
    /// Opens the book, saying what a person should know.
    pub(crate) fn open(&self) -> anyhow::Result<Book> {
        let book = Book::open(&self.book, &mut moments::now)?;
        for notice in book.notices() {
            eprintln!("{notice}");
        }
        Ok(book)
    }
}

/// Takes job files into the book.
pub(crate) fn take(at: &BookArgs, files: &[PathBuf], by: &str) -> anyhow::Result<Outcome> {
    let mut book = at.open()?;
    let mut outcome = Outcome::Good;
    for path in files {
        let text = std::fs::read_to_string(path).with_context(|| format!("{} cannot be read", path.display()))?;
        match file::read(&text) {
            Ok(job) => {
                let written = book.take_in(&job, by, &mut moments::now)?;
                say(&format!("{}: {} new facts", job.name, written.len()))?;
            }
            Err(problem) => {
                outcome = Outcome::SomeRefused;
                eprintln!("{}: {problem}", path.display());
            }
        }
    }
    book.pause()?;
    Ok(outcome)
}

/// Lists the houses.
pub(crate) fn houses(at: &BookArgs) -> anyhow::Result<Outcome> {
    let lines = at.open()?.houses()?;
    if lines.is_empty() {
        say("There is no house in this book yet. Take one in: hangtrue take FILE")?;
    } else {
        say(&table::houses(&lines))?;
    }
    Ok(Outcome::Good)
}

/// Shows a house, or one opening of it.
pub(crate) fn show(at: &BookArgs, house: &str, opening: Option<&str>) -> anyhow::Result<Outcome> {
    let job = find(at, house)?;
    let worked = work::house(&job, Catalogue::standard(job.unit))?;
    match opening {
        None => say(&house_words(&worked))?,
        Some(name) => {
            let wanted = name.to_lowercase();
            let named = |worked: &&work::Worked<'_>| {
                format!("{}, {}", worked.room.name, worked.opening.name).to_lowercase().contains(&wanted)
            };
            let found: Vec<_> = worked.openings.iter().filter(named).collect();
            match found.as_slice() {
                [one] => say(&table::opening(&job, one))?,
                [] => bail!("no opening of {} has \"{name}\" in its name; they are: {}", job.name, names(&worked)),
                _ => {
                    bail!("\"{name}\" is in the name of {} openings; write more of it: {}", found.len(), names(&worked))
                }
            }
        }
    }
    Ok(Outcome::Good)
}

/// Writes the sheets of a house into a folder.
pub(crate) fn sheets(at: &BookArgs, house: &str, out: &Path) -> anyhow::Result<Outcome> {
    let job = find(at, house)?;
    for path in write_sheets(&job, out, &moments::today())? {
        say(&path.display().to_string())?;
    }
    Ok(Outcome::Good)
}

/// Writes a house as a job file to standard output or a file.
pub(crate) fn export(at: &BookArgs, house: &str, out: Option<&Path>) -> anyhow::Result<Outcome> {
    let text = file::write(&find(at, house)?);
    match out {
        Some(path) => std::fs::write(path, text).with_context(|| format!("{} cannot be written", path.display()))?,
        None => std::io::stdout().write_all(text.as_bytes())?,
    }
    Ok(Outcome::Good)
}

/// Takes the invented houses in, works them out, and writes their sheets.
pub(crate) fn demo(out: &Path) -> anyhow::Result<Outcome> {
    std::fs::create_dir_all(out).with_context(|| format!("{} cannot be made", out.display()))?;
    let at = BookArgs { book: out.join("demo.book") };
    let mut book = at.open()?;
    let mut written = Vec::new();
    for text in DEMO {
        let job = file::read(text)?;
        book.take_in(&job, "demo", &mut moments::now)?;
        let job = book.job(job.id)?.context("the house that was just taken in is in the book")?;
        let worked = work::house(&job, Catalogue::standard(job.unit))?;
        say(&house_words(&worked))?;
        written.extend(write_sheets(&job, &out.join("sheets"), &moments::today())?);
    }
    book.pause()?;
    say("Sheets, for Letter or A4:")?;
    for path in written {
        say(&format!("  {}", path.display()))?;
    }
    say(&format!("To see the book of the demo: hangtrue open --book {}", at.book.display()))?;
    Ok(Outcome::Good)
}

/// A house's table, and what is to be done before cutting.
fn house_words(worked: &WorkedHouse<'_>) -> String {
    let mut out = table::house(worked);
    out.push('\n');
    for flag in worked.apart() {
        let _ = writeln!(out, "{}", table::flag_words(&flag));
    }
    for one in &worked.openings {
        let mut open = one.stands_open().peekable();
        if open.peek().is_some() {
            let _ = writeln!(out, "\n{}, {}", one.room.name, one.opening.name);
        }
        for flag in open {
            let _ = writeln!(out, "{}", table::flag_words(flag));
        }
    }
    out
}

fn names(worked: &WorkedHouse<'_>) -> String {
    worked.openings.iter().map(|one| format!("{}, {}", one.room.name, one.opening.name)).collect::<Vec<_>>().join("; ")
}

/// The house whose name or id has this text in it: one, or a clear refusal.
pub(crate) fn find(at: &BookArgs, house: &str) -> anyhow::Result<Job> {
    let book = at.open()?;
    let lines = book.houses()?;
    let wanted = house.to_lowercase();
    let found: Vec<_> = lines
        .iter()
        .filter(|line| line.name.to_lowercase().contains(&wanted) || line.job.to_string().starts_with(&wanted))
        .collect();
    let known = || lines.iter().map(|line| line.name.as_str()).collect::<Vec<_>>().join("; ");
    match found.as_slice() {
        [one] => book.job(one.job)?.context("a listed house is in the book"),
        [] if lines.is_empty() => bail!("{} has no house yet; take one in: hangtrue take FILE", at.book.display()),
        [] => bail!("no house has \"{house}\" in its name; they are: {}", known()),
        _ => bail!("\"{house}\" is in the name of {} houses; write more of it: {}", found.len(), known()),
    }
}

/// Writes all sheets of a house: one document for the house, one an opening. Gives the paths.
fn write_sheets(job: &Job, folder: &Path, day: &str) -> anyhow::Result<Vec<PathBuf>> {
    let folder = folder.join(file_name(&job.name));
    std::fs::create_dir_all(&folder).with_context(|| format!("{} cannot be made", folder.display()))?;
    let worked = work::house(job, Catalogue::standard(job.unit))?;
    let heading = Heading { job, unit: job.unit, day };
    let mut written = Vec::new();
    let mut write = |name: String, title: &str, sheets: &[_]| -> anyhow::Result<()> {
        let path = folder.join(name);
        std::fs::write(&path, sheet::document(title, sheets))
            .with_context(|| format!("{} cannot be written", path.display()))?;
        written.push(path);
        Ok(())
    };
    write("house.html".to_owned(), &job.name, &[sheet::summary(&heading, &worked)])?;
    let buying = work::buying(&worked, Shop::standard(job.unit));
    let mut cutting = sheet::cloth(&heading, &buying);
    cutting.push(sheet::timber(&heading, &buying));
    write("cutting.html".to_owned(), &format!("{}: cutting", job.name), &cutting)?;
    write("buying.html".to_owned(), &format!("{}: buying", job.name), &[sheet::buying(&heading, &buying)])?;
    write("care.html".to_owned(), &format!("{}: care", job.name), &[sheet::minding(&heading, &worked)])?;
    for (n, one) in worked.openings.iter().enumerate() {
        let mut sheets = vec![sheet::measuring(&heading, one.room, one.opening, &one.truth)];
        sheets.extend(sheet::making_of(&heading, job, one));
        sheets.push(sheet::hanging(&heading, one));
        sheets.extend(sheet::full_size(&heading, one));
        let title = format!("{}, {}", one.room.name, one.opening.name);
        write(format!("{:02}-{}.html", n + 1, file_name(&title)), &title, &sheets)?;
    }
    Ok(written)
}

/// A name as a file's: letters, digits and hyphens.
fn file_name(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
    plain.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}

/// A line on standard output; a reader that has gone away is no trouble of ours.
pub(crate) fn say(words: &str) -> anyhow::Result<()> {
    match writeln!(std::io::stdout(), "{words}") {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => std::process::exit(0),
        other => Ok(other?),
    }
}

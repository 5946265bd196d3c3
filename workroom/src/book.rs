//! The commands on the book of houses: take in, list, show, write sheets, export; and the demo.

use crate::asks::find_opening;
use crate::near::hint;
use crate::{Outcome, listed, moments, table};
use anyhow::{Context as _, bail};
use clap::Args;
use hangtrue::plain::plain;
use hangtrue_core::buying::Shop;
use hangtrue_core::house::{Job, file};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::sheet::{self, Heading};
use hangtrue_core::store::{Book, Files, HouseLine, make_private, private_folder};
use hangtrue_core::sync::alone;
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
    /// The book of houses; commands that write make it when it is not there
    #[arg(long, value_name = "FILE", env = "HANGTRUE_BOOK", default_value = "hangtrue.book")]
    pub(crate) book: PathBuf,
}

impl BookArgs {
    /// Opens the book, saying what a person should know.
    pub(crate) fn open(&self) -> anyhow::Result<Book> {
        Ok(told(Book::open(&self.book, &mut moments::now)?))
    }

    /// Opens the book for a command that only reads: nothing is made where there is none.
    pub(crate) fn read(&self) -> anyhow::Result<Book> {
        Ok(told(Book::open_to_read(&self.book, &mut moments::now)?))
    }
}

fn told(book: Book) -> Book {
    for notice in book.notices() {
        eprintln!("{notice}");
    }
    book
}

/// Takes job files into the book.
pub(crate) fn take(at: &BookArgs, files: &[PathBuf], by: &str) -> anyhow::Result<Outcome> {
    let mut book = at.open()?;
    let mut outcome = Outcome::Good;
    for path in files {
        let text = match std::fs::read_to_string(path) {
            Ok(text) => text,
            Err(error) => {
                outcome = Outcome::SomeRefused;
                eprintln!("{} cannot be read: {error}", path.display());
                continue;
            }
        };
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
pub(crate) fn houses(at: &BookArgs, json: bool) -> anyhow::Result<Outcome> {
    let book = at.read()?;
    let lines = book.houses()?;
    if json {
        listed::print(&listed::houses(&lines, &alone(&book)?))?;
    } else if lines.is_empty() {
        say("There is no house in this book yet. Take one in: hangtrue take FILE")?;
    } else {
        let alone = alone(&book)?;
        say(&table::houses(&lines, &alone))?;
        if lines.iter().any(|line| alone.get(&line.job).is_some_and(|facts| *facts > 0)) {
            say(
                "Only here: entries that are on this device alone, until an exchange or an archive brings them elsewhere.",
            )?;
        }
    }
    Ok(Outcome::Good)
}

/// Looks at the whole book, and mends it from its facts when that is asked for.
pub(crate) fn check(at: &BookArgs, mend: bool) -> anyhow::Result<Outcome> {
    let opened = at.read();
    let mut book = match opened {
        Ok(book) => book,
        Err(problem) if mend => {
            eprintln!("{}", plain(&format!("{problem:#}"), true));
            Book::mark_damaged(&at.book)?;
            at.open()?
        }
        Err(problem) => return Err(problem),
    };
    let mut found = book.examine()?;
    for line in found.says() {
        say(&line)?;
    }
    if !found.is_sound() && mend {
        if book.path() != at.book {
            bail!("{} cannot be written; copy it to where it can, and mend the copy", at.book.display());
        }
        book.mend(&mut moments::now)?;
        for notice in book.notices() {
            say(&notice.to_string())?;
        }
        found = book.examine()?;
        say("After mending:")?;
        for line in found.says() {
            say(&line)?;
        }
    } else if !found.is_sound() {
        say("To mend it from its facts, keeping the old file: hangtrue check --mend")?;
    }
    Ok(if found.is_sound() { Outcome::Good } else { Outcome::SomeRefused })
}

/// Shows a house, or one opening of it.
pub(crate) fn show(at: &BookArgs, house: &str, opening: Option<&str>, json: bool) -> anyhow::Result<Outcome> {
    let job = find(at, house)?;
    let worked = work::house(&job, Catalogue::standard(job.unit))?;
    match opening {
        None if json => listed::print(&listed::house(&worked))?,
        None => say(&house_words(&worked))?,
        Some(name) => {
            let id = find_opening(&job, name)?.1.id;
            let one = worked.opening(id).context("an opening that was found is in its house")?;
            if json { listed::print(&listed::opening(&job, one))? } else { say(&table::opening(&job, one))? }
        }
    }
    Ok(Outcome::Good)
}

/// Writes the sheets of a house into a folder.
pub(crate) fn sheets(at: &BookArgs, house: &str, wanted: Wanted<'_>, out: &Path) -> anyhow::Result<Outcome> {
    let job = find(at, house)?;
    for path in write_sheets(&job, wanted, out, &moments::today())? {
        say(&path.display().to_string())?;
    }
    Ok(Outcome::Good)
}

/// Writes a house as a job file to standard output or a file.
pub(crate) fn export(at: &BookArgs, house: &str, out: Option<&Path>) -> anyhow::Result<Outcome> {
    let text = file::write(&find(at, house)?);
    match out {
        Some(path) => hand_out(path, text.as_bytes(), "a job file", &|there| {
            there.trim_start().starts_with('{') && file::read(there).is_ok()
        })?,
        None => std::io::stdout().write_all(text.as_bytes())?,
    }
    Ok(Outcome::Good)
}

/// Takes the invented houses in, works them out, and writes their sheets.
pub(crate) fn demo(out: &Path) -> anyhow::Result<Outcome> {
    make_private(out).with_context(|| format!("{} cannot be made", out.display()))?;
    let at = BookArgs { book: out.join("demo.book") };
    let mut book = at.open()?;
    let mut written = Vec::new();
    for text in DEMO {
        let job = file::read(text)?;
        book.take_in(&job, "demo", &mut moments::now)?;
        let job = book.job(job.id)?.context("the house that was just taken in is in the book")?;
        let worked = work::house(&job, Catalogue::standard(job.unit))?;
        say(&house_words(&worked))?;
        written.extend(write_sheets(&job, Wanted::default(), &out.join("sheets"), &moments::today())?);
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
        if !one.standing.is_settled() {
            let _ = writeln!(out, "\n{}, {}: {}", one.room.name, one.opening.name, one.stand().words());
        }
        for reason in &one.standing.reasons {
            let _ = writeln!(out, "{}", table::reason_words(reason));
        }
        out.push_str(&table::asks(one.opening));
    }
    out
}

/// The house of this name or id: one, or a clear refusal. The whole name goes before a part of it.
pub(crate) fn find(at: &BookArgs, house: &str) -> anyhow::Result<Job> {
    let book = at.read()?;
    let lines = book.houses()?;
    let wanted = house.trim().to_lowercase();
    let pick = |holds: &dyn Fn(&HouseLine) -> bool| lines.iter().filter(|line| holds(line)).collect::<Vec<_>>();
    let found = [
        pick(&|line| line.job.to_string() == wanted),
        pick(&|line| line.name == house),
        pick(&|line| line.name.trim().to_lowercase() == wanted),
        pick(&|line| line.name.to_lowercase().contains(&wanted) || line.job.to_string().starts_with(&wanted)),
    ];
    let found = found.iter().find(|found| !found.is_empty()).map_or(&[][..], Vec::as_slice);
    let known = |lines: &[&HouseLine]| {
        lines.iter().map(|line| format!("{} ({})", line.name, line.job)).collect::<Vec<_>>().join("; ")
    };
    match found {
        [one] => book.job(one.job)?.context("a listed house is in the book"),
        [] if lines.is_empty() => bail!("{} has no house yet; take one in: hangtrue take FILE", at.book.display()),
        [] => {
            let names: Vec<&str> = lines.iter().map(|line| line.name.as_str()).collect();
            bail!("no house has \"{house}\" in its name; {}", hint(house, &names, "hangtrue houses"))
        }
        _ => bail!("\"{house}\" may be {} houses; write the whole name, or an id: {}", found.len(), known(found)),
    }
}

/// Which sheets of a house are written.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Wanted<'a> {
    /// One opening, by any part of its room's and its own name; the whole house when left out.
    pub(crate) opening: Option<&'a str>,
    /// The measuring record and the full working too.
    pub(crate) record: bool,
}

/// The folder of a house's sheets in the one that was named, made where it is not there.
pub(crate) fn house_folder(job: &Job, folder: &Path) -> anyhow::Result<PathBuf> {
    // The end of the id tells two houses of one name apart.
    let id = job.id.simple().to_string();
    let name = file_name(&job.name);
    let folder = folder.join(if name.is_empty() { id[20..].to_owned() } else { format!("{name}-{}", &id[20..]) });
    // The folder's name is this program's own choice, so a link there is not what the person named.
    if std::fs::symlink_metadata(&folder).is_ok_and(|there| !there.is_dir()) {
        bail!(
            "{} is a link or a file, not a folder; move it away, or name another folder with --out",
            folder.display()
        );
    }
    private_folder(&folder).with_context(|| format!("{} cannot be made", folder.display()))?;
    Ok(folder)
}

/// Writes a document of sheets; what lies there is replaced only if it is one.
pub(crate) fn write_sheet(path: &Path, title: &str, sheets: &[maud::Markup]) -> anyhow::Result<()> {
    let text = sheet::document(title, sheets);
    hand_out(path, text.as_bytes(), "a sheet", &|there| there.contains(sheet::MARK))
}

/// Writes the sheets that a house is worked from: one document for the house, for what is cut, bought and minded, and one
/// an opening. Gives the paths.
fn write_sheets(job: &Job, wanted: Wanted<'_>, folder: &Path, day: &str) -> anyhow::Result<Vec<PathBuf>> {
    let worked = work::house(job, Catalogue::standard(job.unit))?;
    let heading = Heading { job, unit: job.unit, day };
    let title = |one: &work::Worked<'_>| format!("{}, {}", one.room.name, one.opening.name);
    let chosen: Vec<(usize, &work::Worked<'_>)> = worked
        .openings
        .iter()
        .enumerate()
        .filter(|(_, one)| wanted.opening.is_none_or(|name| title(one).to_lowercase().contains(&name.to_lowercase())))
        .collect();
    if let (Some(name), true) = (wanted.opening, chosen.is_empty()) {
        find_opening(job, name)?;
    }
    let folder = house_folder(job, folder)?;
    let mut written = Vec::new();
    let mut write = |name: String, title: &str, sheets: &[_]| -> anyhow::Result<()> {
        let path = folder.join(name);
        write_sheet(&path, title, sheets)?;
        written.push(path);
        Ok(())
    };
    let plans = work::plans(&worked, Shop::standard(job.unit));
    if wanted.opening.is_none() {
        write("house.html".to_owned(), &job.name, &[sheet::summary(&heading, &worked)])?;
        write("buying.html".to_owned(), &format!("{}: buying", job.name), &[sheet::buying(&heading, &plans)])?;
        write(
            "cutting.html".to_owned(),
            &format!("{}: cutting", job.name),
            &[sheet::cutting(&heading, &plans, &worked)],
        )?;
        write("care.html".to_owned(), &format!("{}: care", job.name), &[sheet::minding(&heading, &worked)])?;
        let sizes = sheet::full_sizes(&heading, &worked);
        if !sizes.is_empty() {
            write("full-size.html".to_owned(), &format!("{}: fixings at full size", job.name), &sizes)?;
        }
    }
    for (n, one) in chosen {
        let title = title(one);
        let name = format!("{:02}-{}", n + 1, file_name(&title));
        let mut sheets: Vec<_> = sheet::making(&heading, one, Some(&plans)).into_iter().collect();
        sheets.push(sheet::hanging(&heading, one));
        if wanted.opening.is_some() {
            sheets.extend(sheet::full_size(&heading, one));
        }
        write(format!("{name}.html"), &title, &sheets)?;
        if wanted.record {
            let record = [sheet::measuring(&heading, one), sheet::working(&heading, one)];
            write(format!("{name}-record.html"), &format!("{title}: record"), &record)?;
        }
    }
    Ok(written)
}

/// Writes a file for the person, which only its owner may read. What lies there is replaced only if it `is_ours`: made by
/// this program as `what`. A link is not followed.
pub(crate) fn hand_out(path: &Path, bytes: &[u8], what: &str, is_ours: &dyn Fn(&str) -> bool) -> anyhow::Result<()> {
    let refused =
        || format!("{} is there already and is not {what}; it was left as it is: name another", path.display());
    match std::fs::symlink_metadata(path) {
        Ok(there) if !there.is_file() => bail!(refused()),
        Ok(_) if !std::fs::read_to_string(path).is_ok_and(|there| is_ours(&there)) => bail!(refused()),
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            return Err(error).with_context(|| format!("{} cannot be looked at", path.display()));
        }
        _ => {}
    }
    Files::default().hand_out(path, bytes).with_context(|| format!("{} cannot be written", path.display()))
}

/// A name as a file's: letters, digits and hyphens, short enough for any disk.
fn file_name(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
    let mut whole = plain.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-");
    while whole.len() > 80 {
        whole.pop();
    }
    whole.trim_end_matches('-').to_owned()
}

/// Every house of a book.
pub(crate) fn jobs(at: &BookArgs) -> anyhow::Result<Vec<Job>> {
    let book = at.read()?;
    let lines = book.houses()?;
    Ok(lines.iter().filter_map(|line| book.job(line.job).transpose()).collect::<Result<_, _>>()?)
}

/// A line on standard output; a reader that has gone away is no trouble of ours.
pub(crate) fn say(words: &str) -> anyhow::Result<()> {
    // Names come from job files and from other devices.
    say_raw(&plain(words, true))
}

/// The same of what is fit for a terminal already.
pub(crate) fn say_raw(words: &str) -> anyhow::Result<()> {
    match writeln!(std::io::stdout(), "{words}") {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => std::process::exit(0),
        other => Ok(other?),
    }
}

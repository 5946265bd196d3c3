//! What helps at the prompt of a terminal: what to do first, completions for shells, the manual's pages.

use crate::book::say;
use crate::{Args, Outcome};
use anyhow::Context as _;
use clap::CommandFactory as _;
use clap_complete::Shell;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// The program as it is called.
const NAME: &str = "hangtrue";

/// What to do first, where no command was given.
pub(crate) fn first() -> anyhow::Result<Outcome> {
    let book = std::env::var_os("HANGTRUE_BOOK").map_or_else(|| PathBuf::from("hangtrue.book"), PathBuf::from);
    say("Hangtrue: from tape readings to finished sizes, sheets and lists for shades.\n")?;
    if book.exists() {
        say(&format!("Your book is here: {}", book.display()))?;
        say("  hangtrue open           the page: measure, decide, print")?;
        say("  hangtrue houses         what is in the book")?;
        say("  hangtrue show HOUSE     a house; a part of its name is enough")?;
        say("  hangtrue sheets HOUSE   its sheets, to make and hang by")?;
    } else {
        say("First:")?;
        say("  hangtrue demo           two invented houses, worked out, with their sheets")?;
        say("  hangtrue open           a book of your own, and the page to work at")?;
        say("  hangtrue take FILE...   houses from job files")?;
        say(&format!("The book is the file {}; --book FILE names another.", book.display()))?;
    }
    say("\nAll commands: hangtrue --help; for your shell: hangtrue completions --help")?;
    Ok(Outcome::Good)
}

/// Writes the completions of a shell.
pub(crate) fn completions(shell: Shell) -> anyhow::Result<Outcome> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Args::command(), NAME, &mut text);
    write_out(&text)
}

/// Writes the manual's first page, or the pages of all commands into a folder.
pub(crate) fn manual(out: Option<&Path>) -> anyhow::Result<Outcome> {
    if let Some(folder) = out {
        std::fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
        clap_mangen::generate_to(Args::command(), folder)
            .with_context(|| format!("the pages cannot be written to {}", folder.display()))?;
        say(&format!(
            "The manual's pages are in {}; to read one: man {}/hangtrue.1",
            folder.display(),
            folder.display()
        ))?;
        return Ok(Outcome::Good);
    }
    let mut text = Vec::new();
    clap_mangen::Man::new(Args::command()).render(&mut text)?;
    write_out(&text)
}

fn write_out(text: &[u8]) -> anyhow::Result<Outcome> {
    match std::io::stdout().write_all(text) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(Outcome::Good),
    }
}

//! `hangtrue labels`: the labels of a house, and which of those that were printed before are void. The page's form asks for
//! the same in the same words.

use crate::book::{self, BookArgs, say};
use crate::{Outcome, moments};
use anyhow::{Context as _, anyhow, bail};
use hangtrue_core::buying::Shop;
use hangtrue_core::label::{self, Label, Stock};
use hangtrue_core::length::{Length, LengthUnit, parse_signed};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::sheet::{self, Code, Heading, Laid};
use hangtrue_core::work;
use qrcode::{Color, EcLevel, QrCode};
use std::path::PathBuf;

/// How the labels are put on their sheet, as a person writes it.
#[derive(clap::Args, Clone, Debug, Default, serde::Deserialize)]
#[serde(default)]
pub(crate) struct Asked {
    /// The sheet of labels: letter-3x10, letter-2x10, letter-2x5, a4-3x8, a4-3x7, a4-2x7 or a4-2x4; the usual one of the
    /// house's unit when left out
    #[arg(long, value_name = "SHEET", default_value = "")]
    pub(crate) sheet: String,
    /// Move all to the right by this much, or to the left with a minus sign, where a printer prints off
    #[arg(long, value_name = "LENGTH", default_value = "0", allow_hyphen_values = true)]
    pub(crate) across: String,
    /// Move all down by this much, or up with a minus sign
    #[arg(long, value_name = "LENGTH", default_value = "0", allow_hyphen_values = true)]
    pub(crate) down: String,
    /// The first label that is still on the sheet, counted along the rows from 1
    #[arg(long, value_name = "NUMBER", default_value = "1")]
    pub(crate) first: String,
    /// Outline every label: a trial on plain paper, to be held against the sheet
    #[arg(long)]
    #[serde(deserialize_with = "ticked")]
    pub(crate) outlined: bool,
}

/// A box in a form: it is sent where it is ticked, and not at all where it is not.
fn ticked<'de, D: serde::Deserializer<'de>>(from: D) -> Result<bool, D::Error> {
    <String as serde::Deserialize>::deserialize(from).map(|text| !text.is_empty())
}

impl Asked {
    /// What was asked, in lengths.
    ///
    /// # Errors
    /// What is wrong and what would be right, in one sentence.
    pub(crate) fn laid(&self, unit: LengthUnit) -> Result<Laid, String> {
        let stock = match self.sheet.trim() {
            "" => Stock::usual(unit),
            code => Stock::named(code).ok_or_else(|| {
                let known: Vec<String> =
                    Stock::USUAL.iter().map(|stock| format!("{} ({})", stock.code(), stock.words())).collect();
                format!("there is no sheet of labels \"{code}\"; they are: {}", known.join("; "))
            })?,
        };
        let moved = |what: &str, text: &str| -> Result<Length, String> {
            if text.trim().is_empty() {
                return Ok(Length::ZERO);
            }
            parse_signed(text.trim(), stock.paper.unit()).map_err(|problem| format!("{what}, \"{text}\": {problem}"))
        };
        let first = self.first.trim();
        let first = if first.is_empty() { Some(1) } else { first.parse::<usize>().ok() }.filter(|n| *n > 0);
        let first = first.ok_or_else(|| {
            format!("the first label, \"{}\": write its number along the rows, 1 to {}", self.first, stock.count())
        })?;
        let laid = Laid {
            stock,
            across: moved("to the right", &self.across)?,
            down: moved("down", &self.down)?,
            first: first - 1,
            outlined: self.outlined,
        };
        laid.check().map_err(|problem| problem.to_string())?;
        Ok(laid)
    }
}

/// What `hangtrue labels` is told.
#[derive(clap::Args, Debug)]
pub(crate) struct LabelArgs {
    #[command(flatten)]
    book: BookArgs,
    /// The house: its name or a part of it, or the start of its id
    house: String,
    /// One opening alone: any part of its room's and its own name
    #[arg(long, value_name = "NAME")]
    opening: Option<String>,
    #[command(flatten)]
    asked: Asked,
    /// Say whether labels that were printed before still hold: the number on them, or what their code says; nothing is
    /// printed then
    #[arg(long, value_name = "NUMBER")]
    old: Vec<String>,
    /// The folder they are written to
    #[arg(long, value_name = "FOLDER", default_value = "sheets")]
    out: PathBuf,
}

/// What a camera reads, as ISO/IEC 18004 has it, a seventh of it may be soiled.
pub(crate) fn code(text: &str) -> Option<Code> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    Some(Code { side: code.width(), dark: code.to_colors().into_iter().map(|color| color == Color::Dark).collect() })
}

/// Writes the labels of a house, or says which old ones are void.
pub(crate) fn run(args: &LabelArgs) -> anyhow::Result<Outcome> {
    let job = book::find(&args.book, &args.house)?;
    let worked = work::house(&job, Catalogue::standard(job.unit))?;
    let plans = work::plans(&worked, Shop::standard(job.unit));
    let all = label::labels(&worked, &plans);
    if !args.old.is_empty() {
        let judged = label::judge(&worked, &all, &args.old.join("\n")).map_err(|problem| anyhow!(problem))?;
        for one in judged {
            say(&format!("{}  {}", one.text, one.says))?;
        }
        return Ok(Outcome::Good);
    }
    let laid = args.asked.laid(job.unit).map_err(|problem| anyhow!(problem))?;
    let wanted = |label: &&Label| {
        let name = format!("{}, {}", label.room, label.name).to_lowercase();
        args.opening.as_ref().is_none_or(|wanted| name.contains(&wanted.to_lowercase()))
    };
    let chosen: Vec<Label> = all.labels.iter().filter(wanted).cloned().collect();
    for why in &all.left_out {
        eprintln!("{}", hangtrue::plain::plain(&format!("No label: {why}"), true));
    }
    if chosen.is_empty() {
        bail!("there is nothing to label: only what is settled is cut and labelled");
    }
    let heading = Heading { job: &job, unit: job.unit, day: &moments::today() };
    let pages = sheet::labels(&heading, &chosen, &laid, &code)?;
    let folder = book::house_folder(&job, &args.out)?;
    let path = folder.join("labels.html");
    book::write_sheet(&path, &format!("{}: labels", job.name), &pages)
        .with_context(|| format!("{} cannot be written", path.display()))?;
    say(&path.display().to_string())?;
    let sheets = if pages.len() == 1 { "1 sheet".to_owned() } else { format!("{} sheets", pages.len()) };
    say(&format!("{} labels on {sheets}: {}. Print at 100 %, without margins.", chosen.len(), laid.stock.words()))?;
    Ok(Outcome::Good)
}

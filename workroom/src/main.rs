//! The workroom's program, `hangtrue`: the calculators, the book of houses, the sheets.
//!
//! It does no arithmetic of the trade: everything it shows comes from `hangtrue-core`.

mod accounts;
mod asks;
mod book;
mod calculators;
mod calendar;
mod cloths;
mod decide;
mod drain;
mod kit;
mod labels;
mod listed;
mod near;
mod page;
mod prompt;
mod table;

use book::BookArgs;
use clap::{Parser, Subcommand};
use hangtrue::{hub, moments, transport};
use std::path::PathBuf;
use std::process::ExitCode;

/// How a command ended, when nothing stopped it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Outcome {
    /// All was done.
    Good,
    /// Some lines of the input were refused; the rest was done.
    SomeRefused,
}

#[derive(Parser)]
#[command(version, about = "Measures, makes and hangs soft window coverings: from tape readings to finished sizes, sheets and lists", after_help = EXIT_CODES)]
struct Args {
    #[command(subcommand)]
    command: Option<Command>,
}

const EXIT_CODES: &str = "Exit codes: 0 all was done; 1 some of the input was refused and the rest was done; 2 the command could not be \
understood; 3 it could not be done. What is refused is said on standard error, one line each.";

#[derive(Subcommand)]
enum Command {
    /// Work out two invented houses, and write their sheets
    #[command(after_help = "Example:\n  hangtrue demo\n  hangtrue demo --out somewhere-else")]
    Demo {
        /// The folder for the demo's book and sheets
        #[arg(long, value_name = "FOLDER", default_value = "hangtrue-demo")]
        out: PathBuf,
    },
    /// Take job files into the book
    #[command(
        after_help = "Taking a file in again adds only what is new; nothing is removed.\n\nExample:\n  hangtrue take fixtures/houses/heron-lane.json"
    )]
    Take {
        #[command(flatten)]
        book: BookArgs,
        /// Who takes them in
        #[arg(long, default_value = "")]
        by: String,
        /// Job files (JSON; fixtures/job-file.schema.json is their form)
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
    /// List the houses in the book
    #[command(after_help = "Example:\n  hangtrue houses --book hangtrue-demo/demo.book")]
    Houses {
        #[command(flatten)]
        book: BookArgs,
        /// One JSON object instead of a table; DEVELOPERS.md has its shape
        #[arg(long)]
        json: bool,
    },
    /// Look at the whole book: whether every fact, list and photo is what was written
    #[command(after_help = "Ends with 1 when something is not sound.\n\nExample:\n  hangtrue check --book houses.book")]
    Check {
        #[command(flatten)]
        book: BookArgs,
        /// Mend what is not sound from the facts; the file as it was is kept beside it
        #[arg(long)]
        mend: bool,
    },
    /// Show a house, or one opening of it, as a table
    #[command(after_help = "Example:\n  hangtrue show heron\n  hangtrue show heron \"study, east\"")]
    Show {
        #[command(flatten)]
        book: BookArgs,
        /// The house: its name or a part of it, or the start of its id
        house: String,
        /// The opening: any part of its room's and its own name
        opening: Option<String>,
        /// One JSON object instead of a table; DEVELOPERS.md has its shape
        #[arg(long)]
        json: bool,
    },
    /// Write the sheets that a house is worked from: summary, buying, cutting, and for each opening making and hanging
    #[command(
        after_help = "Examples:\n  hangtrue sheets heron --out sheets\n  hangtrue sheets heron --opening \"study, east\"\n  hangtrue sheets heron --record"
    )]
    Sheets {
        #[command(flatten)]
        book: BookArgs,
        /// The house: its name or a part of it, or the start of its id
        house: String,
        /// One opening alone: any part of its room's and its own name
        #[arg(long, value_name = "NAME")]
        opening: Option<String>,
        /// Write the measuring record and the full working of each opening too, for the file
        #[arg(long)]
        record: bool,
        /// The folder they are written to
        #[arg(long, value_name = "FOLDER", default_value = "sheets")]
        out: PathBuf,
    },
    /// Write the labels of a house: one for each piece, board, bar, bundle and bag; or say which old ones are void
    #[command(
        after_help = "Examples:\n  hangtrue labels heron --sheet letter-3x10 --first 5\n  hangtrue labels heron --outlined\n  hangtrue labels heron --old \"4f2a 99c1 03de\""
    )]
    Labels(labels::LabelArgs),
    /// Write what is carried to the houses of a day: the bags, bits, tools, ladder, and who else is needed
    #[command(after_help = "Example:\n  hangtrue kit heron quay")]
    Kit(kit::KitArgs),
    /// Write every line of every invoice and every payment as a table (CSV), for whoever keeps the accounts
    #[command(after_help = "Example:\n  hangtrue accounts --from 2026-01-01 --to 2026-12-31 > accounts.csv")]
    Accounts {
        #[command(flatten)]
        book: BookArgs,
        /// The first day; from the beginning when left out
        #[arg(long, value_name = "DAY")]
        from: Option<chrono::NaiveDate>,
        /// The last day; to the end when left out
        #[arg(long, value_name = "DAY")]
        to: Option<chrono::NaiveDate>,
    },
    /// Write the days that were agreed as a calendar file (iCalendar)
    #[command(after_help = "Example:\n  hangtrue days > days.ics")]
    Days {
        #[command(flatten)]
        book: BookArgs,
    },
    /// Write a house as a job file, which can be taken in again
    #[command(after_help = "Example:\n  hangtrue export heron > heron.json")]
    Export {
        #[command(flatten)]
        book: BookArgs,
        /// The house: its name or a part of it, or the start of its id
        house: String,
        /// The file; standard output when left out
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Serve the page of the book on this computer
    #[command(after_help = "Example:\n  hangtrue open --book hangtrue-demo/demo.book")]
    Open(page::OpenArgs),
    /// Keep the firm's exchange on the local network, and pair devices with it
    #[command(
        after_help = "Examples:\n  hangtrue hub --book houses.book\n  hangtrue hub devices\n  hangtrue hub revoke \"Ida's phone\"\n  hangtrue hub audit"
    )]
    Hub(hub::HubArgs),
    /// Pair a book with a workroom's hub, by the code that the hub shows
    Pair {
        #[command(flatten)]
        book: BookArgs,
        #[command(flatten)]
        args: transport::PairArgs,
    },
    /// Exchange a book's facts and photos with a folder, a bucket or the hub
    #[command(
        after_help = "Examples:\n  hangtrue sync\n  hangtrue sync /media/stick/exchange --key firm.key --create\n  hangtrue sync s3://firm/exchange --key firm.key"
    )]
    Sync {
        #[command(flatten)]
        book: BookArgs,
        #[command(flatten)]
        args: transport::SyncArgs,
    },
    /// Copy all that lies at one place of exchange to another and back; no key is needed
    Mirror(transport::MirrorArgs),
    /// Make a firm's key, for a firm without a hub
    Key(transport::KeyArgs),
    /// Ask for an opening to be measured again
    #[command(after_help = "Example:\n  hangtrue ask heron \"study, east\" --place width_top --why \"an inch out?\"")]
    Ask {
        #[command(flatten)]
        book: BookArgs,
        /// The house: its name or a part of it, or the start of its id
        house: String,
        /// The opening: any part of its room's and its own name
        opening: String,
        /// A place to read again, as job files call it; all of the opening when left out
        #[arg(long)]
        place: Vec<String>,
        /// Why
        #[arg(long)]
        why: String,
        /// Who asks
        #[arg(long, default_value = "workroom")]
        by: String,
    },
    /// Erase a house for good: its readings, words and photos, here and on every device that syncs after
    #[command(after_help = "Example:\n  hangtrue erase heron --sure \"12 Heron Lane\" --by Ida")]
    Erase {
        #[command(flatten)]
        book: BookArgs,
        /// The house: its name or a part of it, or the start of its id
        house: String,
        /// The house's whole name, once more
        #[arg(long, value_name = "NAME")]
        sure: String,
        /// Who erases it
        #[arg(long)]
        by: String,
    },
    /// List what is to be decided at an opening, and write down what was decided
    #[command(
        after_help = "Examples:\n  hangtrue decide heron \"study, east\"\n  hangtrue decide heron \"study, east\" 1 --answer 1 --by Ida\n  hangtrue decide heron \"study, east\" 2 --why \"the client has seen it\" --by Ida"
    )]
    Decide(decide::DecideArgs),
    /// Set a choice of an opening: a size by hand, the number of folds, the mount
    #[command(
        after_help = "Examples:\n  hangtrue set heron \"study, east\" finished_width \"35 1/2\" --by Ida\n  hangtrue set heron \"study, east\" finished_width"
    )]
    Set(decide::SetArgs),
    /// List the asks to measure again that nobody has answered yet
    Asks {
        #[command(flatten)]
        book: BookArgs,
        /// One JSON object instead of a table; DEVELOPERS.md has its shape
        #[arg(long)]
        json: bool,
    },
    /// Write down a reading; it answers an open ask for its place
    #[command(after_help = "Example:\n  hangtrue read heron \"study, east\" width_top \"35 7/8\" --by Ida")]
    Read {
        #[command(flatten)]
        book: BookArgs,
        /// The house: its name or a part of it, or the start of its id
        house: String,
        /// The opening: any part of its room's and its own name
        opening: String,
        /// The place, as job files call it
        place: String,
        /// What the tape says
        reading: String,
        /// Who reads
        #[arg(long, default_value = "")]
        by: String,
    },
    /// Write all facts and photos of a book to a plain folder
    Archive {
        #[command(flatten)]
        book: BookArgs,
        /// The folder; empty or not there yet
        folder: PathBuf,
    },
    /// Take an archive into a book
    Restore {
        #[command(flatten)]
        book: BookArgs,
        /// The archive's folder
        folder: PathBuf,
    },
    /// List the workroom's cloths, or take them in and write them out as a table (CSV)
    Cloths(cloths::program::TableArgs),
    /// List what is on the workroom's shelf, or take it in and write it out as a table (CSV)
    Shelf(cloths::program::TableArgs),
    /// Write the completions of a shell, to be put where it looks for them
    #[command(
        after_help = "Examples:\n  hangtrue completions bash > ~/.local/share/bash-completion/completions/hangtrue\n  hangtrue completions fish > ~/.config/fish/completions/hangtrue.fish"
    )]
    Completions {
        /// Which shell
        shell: clap_complete::Shell,
    },
    /// Write the manual: its first page to standard output, or the pages of all commands into a folder
    #[command(after_help = "Examples:\n  hangtrue manual | man -l -\n  hangtrue manual --out ~/.local/share/man/man1")]
    Manual {
        /// The folder
        #[arg(long, value_name = "FOLDER")]
        out: Option<PathBuf>,
    },
    /// Judge the readings of openings: do they hold together, what shape do they tell, what size fits inside
    #[command(after_help = TRUTH_HELP)]
    Truth,
    /// Learn the hand and the kind of houses from past openings: the settings to adopt
    #[command(after_help = LEARN_HELP)]
    Learn,
    /// Size openings with their choices: every way of mounting side by side
    #[command(after_help = SIZE_HELP)]
    Size,
    /// Lay cuts out on a cloth: the plan, what to buy, and a bound
    #[command(after_help = CLOTH_HELP)]
    Cloth,
    /// Cut pieces out of sticks: the fewest, then the cheapest, proven or with a bound
    #[command(after_help = CUTLIST_HELP)]
    Cutlist,
    /// What one wood screw takes, its holes, and whether its point stays in
    #[command(after_help = SCREW_HELP)]
    Screw,
    /// What a house is sold at: a job file on a line in, every amount with its working out
    #[command(after_help = PRICE_HELP)]
    Price,
    /// How far a board or bar bends between its supports
    #[command(after_help = BEAM_HELP)]
    Beam,
}

const LEARN_HELP: &str = r"Past openings on standard input as truth takes them, JSON Lines; one line at the end, with how many told something and
the settings that they propose. Put those into a house's settings and every device judges alike. Below about a hundred
openings what is usual weighs more.

Example:
  hangtrue learn < past.jsonl";

const TRUTH_HELP: &str = r#"One JSON object or JSON Lines on standard input; an answer a line, in the same order. Lines with the same "house" (and
"room") are judged together, in whatever order they come: their answers wait for the end of the input.

Example:
  echo '{"id":"a","unit":"in","readings":{"width_top":["35 7/8"],"width_middle":["35 13/16"],"width_bottom":["35 7/8"],
  "height_left":["60"],"height_right":["60 1/16"],"diagonal_rising":["70"],"diagonal_falling":["69 15/16"],"depth":["3 1/2"]}}' | hangtrue truth"#;

const SIZE_HELP: &str = r#"One JSON object or JSON Lines on standard input; an answer a line. Readings as truth takes them; wall and choices
as a job file's openings have them.

Example:
  echo '{"id":"a","unit":"in","readings":{"trim_width":["41"],"trim_height":["62 1/2"],"trim_thickness":["1/2"]},
  "choices":{"mount":"outside","side_overlap":"1"}}' | hangtrue size"#;

const CLOTH_HELP: &str = r#"One JSON object or JSON Lines on standard input; an answer a line.

Example:
  echo '{"id":"a","unit":"in","cloth":{"width":"55"},"pieces":[{"name":"shade","width":"33","length":"68","count":2}]}' | hangtrue cloth"#;

const CUTLIST_HELP: &str = r#"One JSON object or JSON Lines on standard input; an answer a line.

Example:
  echo '{"unit":"in","kerf":"1/8","stock":[{"length":"96","price":"4.10"}],
  "pieces":[{"length":"35 1/4","count":4,"name":"boards"}]}' | hangtrue cutlist"#;

const SCREW_HELP: &str = r#"One JSON object or JSON Lines on standard input; an answer a line. By the expressions of NDS 2018; what is assumed is
in the answer. A published strength is not what to hang on a screw; the wall is not known until it is probed.

Example:
  echo '{"unit":"in","screw":"No. 10","length":"2","passes":"3/4","wood":"Douglas fir-larch"}' | hangtrue screw"#;

const PRICE_HELP: &str = r"A job file on a line of standard input (hangtrue export writes one; jq -c puts it on a line); an answer a line. Amounts are
whole numbers of the currency's smallest units. What has no price is named, and the sum is without it.

Example:
  hangtrue export heron | jq -c . | hangtrue price";

const BEAM_HELP: &str = r#"One JSON object or JSON Lines on standard input; an answer a line.

Example:
  echo '{"unit":"mm","length":"4 m","supports":["0","4 m"],"height":"200","across":"50","elasticity":11,
  "loads":[{"per_length":2.5}]}' | hangtrue beam"#;

fn main() -> ExitCode {
    match run(&Args::parse()) {
        Ok(Outcome::Good) => ExitCode::SUCCESS,
        Ok(Outcome::SomeRefused) => ExitCode::from(1),
        Err(error) => {
            // An error may quote what others wrote.
            eprintln!("{}", hangtrue::plain::plain(&format!("{error:#}"), true));
            ExitCode::from(3)
        }
    }
}

fn run(args: &Args) -> anyhow::Result<Outcome> {
    let Some(command) = &args.command else { return prompt::first() };
    match command {
        Command::Demo { out } => book::demo(out),
        Command::Take { book, by, files } => book::take(book, files, by),
        Command::Houses { book, json } => book::houses(book, *json),
        Command::Check { book, mend } => book::check(book, *mend),
        Command::Show { book, house, opening, json } => book::show(book, house, opening.as_deref(), *json),
        Command::Sheets { book, house, opening, record, out } => {
            book::sheets(book, house, book::Wanted { opening: opening.as_deref(), record: *record }, out)
        }
        Command::Labels(args) => labels::run(args),
        Command::Kit(args) => kit::run(args),
        Command::Accounts { book, from, to } => accounts::run(book, accounts::Days { from: *from, to: *to }),
        Command::Days { book } => calendar::run(book),
        Command::Export { book, house, out } => book::export(book, house, out.as_deref()),
        Command::Open(args) => page::run(args),
        Command::Hub(args) => hub::run(args).map(|()| Outcome::Good),
        Command::Pair { book, args } => transport::run_pair(&book.book, args).map(|()| Outcome::Good),
        Command::Sync { book, args } => transport::run_sync(&book.book, args).map(|()| Outcome::Good),
        Command::Mirror(args) => transport::run_mirror(args).map(|()| Outcome::Good),
        Command::Key(args) => transport::run_key(args).map(|()| Outcome::Good),
        Command::Ask { book, house, opening, place, why, by } => asks::ask(book, house, opening, place, why, by),
        Command::Erase { book, house, sure, by } => asks::erase(book, house, sure, by),
        Command::Asks { book, json } => asks::list(book, *json),
        Command::Read { book, house, opening, place, reading, by } => {
            asks::read(book, house, opening, place, reading, by)
        }
        Command::Decide(args) => decide::run(args),
        Command::Set(args) => decide::set(args),
        Command::Archive { book, folder } => transport::run_archive(&book.book, folder).map(|()| Outcome::Good),
        Command::Restore { book, folder } => transport::run_restore(&book.book, folder).map(|()| Outcome::Good),
        Command::Cloths(args) => cloths::program::cloths(args),
        Command::Shelf(args) => cloths::program::shelf(args),
        Command::Completions { shell } => prompt::completions(*shell),
        Command::Manual { out } => prompt::manual(out.as_deref()),
        Command::Truth => calculator(hangtrue_core::truth::calculator::Lines::default()),
        Command::Learn => calculator(hangtrue_core::truth::calculator::Learner::default()),
        Command::Size => calculator(hangtrue_core::mount::calculator::answer as calculators::Calculator),
        Command::Cloth => calculator(hangtrue_core::cloth::calculator::answer as calculators::Calculator),
        Command::Cutlist => calculator(calculators::cutlist as calculators::Calculator),
        Command::Screw => calculator(hangtrue_core::fixing::calculator::screw as calculators::Calculator),
        Command::Price => calculator(hangtrue_core::price::calculator::answer as calculators::Calculator),
        Command::Beam => calculator(hangtrue_core::fixing::calculator::beam as calculators::Calculator),
    }
}

fn calculator(calculator: impl calculators::Answers) -> anyhow::Result<Outcome> {
    let out = std::io::BufWriter::new(std::io::stdout().lock());
    calculators::run(calculator, std::io::stdin().lock(), out, std::io::stderr().lock())
}

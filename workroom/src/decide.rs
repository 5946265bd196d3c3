//! The commands that answer questions and set choices: list what is to be decided at an opening, write down what was.
//!
//! It goes the way of the screens: a question, what answers it in one touch, or a reason in a person's own words.

use crate::asks::find_opening;
use crate::book::{BookArgs, find, say};
use crate::{Outcome, listed, moments};
use anyhow::{Context as _, bail};
use clap::Args;
use hangtrue_core::fact::{Body, House, Moment};
use hangtrue_core::store::Book;
use hangtrue_core::walk::screen::{ChoiceGroup, OpeningScreen, Shown, Touch};
use hangtrue_core::walk::{self, Event, SyncLine, Walk, World};
use serde_json::json;
use uuid::Uuid;

/// What is decided, and where.
#[derive(Args, Debug)]
pub(crate) struct DecideArgs {
    #[command(flatten)]
    book: BookArgs,
    /// The house: any part of its name, or the start of its id
    house: String,
    /// The opening: any part of its room's and its own name
    opening: String,
    /// The number of the question, as the list has it; all are listed when left out
    question: Option<usize>,
    /// Take this answer of the question, by its number in the list
    #[arg(long, value_name = "NUMBER", conflicts_with = "why")]
    answer: Option<usize>,
    /// Leave it as it is, and why
    #[arg(long)]
    why: Option<String>,
    /// Who decides
    #[arg(long, default_value = "")]
    by: String,
    /// The list as one JSON object; DEVELOPERS.md has its shape
    #[arg(long, conflicts_with = "question")]
    json: bool,
}

/// What is set by hand, and where.
#[derive(Args, Debug)]
pub(crate) struct SetArgs {
    #[command(flatten)]
    book: BookArgs,
    /// The house: any part of its name, or the start of its id
    house: String,
    /// The opening: any part of its room's and its own name
    opening: String,
    /// What: a choice as job files call it (finished_width, finished_length, folds, head, mount, board, ...)
    field: String,
    /// Its value; back to what is worked out or usual when left out
    value: Option<String>,
    /// Who sets it
    #[arg(long, default_value = "")]
    by: String,
}

/// Sets a choice of an opening.
pub(crate) fn set(args: &SetArgs) -> anyhow::Result<Outcome> {
    let mut desk = Desk::open(&args.book, &args.house, &args.opening, &args.by)?;
    let field = if args.field.contains('.') { args.field.clone() } else { format!("choices.{}", args.field) };
    let event = Event::Choose { on: desk.opening, field, value: args.value.clone() };
    desk.act(&event)?;
    Ok(Outcome::Good)
}

/// Lists the questions of an opening, or answers one.
pub(crate) fn run(args: &DecideArgs) -> anyhow::Result<Outcome> {
    let mut desk = Desk::open(&args.book, &args.house, &args.opening, &args.by)?;
    let screen = desk.screen()?;
    let groups: Vec<&ChoiceGroup> = questions(&screen).collect();
    let Some(number) = args.question else {
        return if args.json { list_json(&screen, &groups) } else { list(&screen, &groups) };
    };
    let group = number
        .checked_sub(1)
        .and_then(|at| groups.get(at))
        .with_context(|| format!("there is no question {number}; this opening has {}", groups.len()))?;
    let event = match (args.answer, &args.why) {
        (Some(answer), _) => {
            let touch: Option<&Touch> = answer.checked_sub(1).and_then(|at| group.options.get(at));
            let known = group.options.len();
            touch.with_context(|| format!("this question has {known} answers, and no number {answer}"))?.event.clone()
        }
        (None, Some(why)) => in_own_words(group, why)?,
        (None, None) => bail!("say how: --answer NUMBER, or --why \"...\" to leave it as it is"),
    };
    desk.act(&event)?;
    Ok(Outcome::Good)
}

fn list(screen: &OpeningScreen, groups: &[&ChoiceGroup]) -> anyhow::Result<Outcome> {
    say(&screen.says)?;
    if groups.is_empty() {
        say("There is no question here that words settle.")?;
    }
    for (n, group) in groups.iter().enumerate() {
        say(&format!("\n{}. {}", n + 1, group.title))?;
        for (n, option) in group.options.iter().enumerate() {
            say(&format!("   --answer {}  {}{}", n + 1, option.label, if option.chosen { " (chosen)" } else { "" }))?;
        }
        if is_question(group) {
            say("   --why \"...\"  leave it as it is, in your own words")?;
        }
    }
    Ok(Outcome::Good)
}

fn list_json(screen: &OpeningScreen, groups: &[&ChoiceGroup]) -> anyhow::Result<Outcome> {
    let answers = |group: &ChoiceGroup| -> Vec<serde_json::Value> {
        let all = group.options.iter().enumerate();
        all.map(|(n, option)| json!({ "number": n + 1, "label": option.label, "chosen": option.chosen })).collect()
    };
    let questions = groups.iter().enumerate().map(|(n, group)| {
        json!({ "number": n + 1, "title": group.title, "own_words": is_question(group), "answers": answers(group) })
    });
    listed::print(&json!({ "says": screen.says, "questions": questions.collect::<Vec<_>>() }))?;
    Ok(Outcome::Good)
}

/// The groups of an opening's screen that ask something.
fn questions(screen: &OpeningScreen) -> impl Iterator<Item = &ChoiceGroup> {
    screen.choices.iter().filter(|group| is_question(group) || group.field.starts_with("offer."))
}

fn is_question(group: &ChoiceGroup) -> bool {
    group.field.starts_with("decide.")
}

/// The event that leaves a question as it is, with a person's own reason.
fn in_own_words(group: &ChoiceGroup, own: &str) -> anyhow::Result<Event> {
    let mut events = group.options.iter().map(|option| option.event.clone());
    let event = events.find(|event| matches!(event, Event::Decide { .. }));
    match event {
        Some(Event::Decide { opening, flag, places, .. }) => {
            Ok(Event::Decide { opening, flag, places, why: own.to_owned() })
        }
        _ => bail!("this is not left as it is: take one of its answers"),
    }
}

/// The book, and a walk that stands at one opening of a house in it.
struct Desk {
    book: Book,
    house: House,
    opening: Uuid,
    walk: Walk,
    by: String,
}

impl Desk {
    fn open(at: &BookArgs, house: &str, opening: &str, by: &str) -> anyhow::Result<Self> {
        let job = find(at, house)?;
        let opening = find_opening(&job, opening)?.1.id;
        let book = at.open()?;
        let house = book.house(job.id)?.context("a house that was found is in the book")?;
        let mut desk = Self { book, house, opening, walk: Walk::default(), by: by.to_owned() };
        let named = Event::GiveWords { slot: "by".to_owned(), text: by.to_owned() };
        for event in [Event::ShowHouse { house: job.id }, named, Event::ShowOpening { opening }] {
            desk.take(&event)?;
        }
        Ok(desk)
    }

    fn over<T>(&self, work: impl FnOnce(&Walk, &World<'_>) -> T) -> T {
        let line = walk::HouseLine { id: self.house.job.id, name: self.house.job.name.clone(), ..Default::default() };
        let lines = [line];
        let world = World { houses: &lines, house: Some(&self.house), sync: SyncLine::default() };
        work(&self.walk, &world)
    }

    fn take(&mut self, event: &Event) -> anyhow::Result<Vec<(Moment, Body)>> {
        let step = self.over(|walk, world| walk.step(event, world, &mut moments::now))?;
        self.walk = step.walk;
        Ok(step.writes.into_iter().map(|write| (write.moment, write.body)).collect())
    }

    /// Takes an event, writes what it leads to, and says where the opening stands then.
    fn act(&mut self, event: &Event) -> anyhow::Result<()> {
        let writes = self.take(event)?;
        let (job, unit) = (self.house.job.id, self.house.job.unit);
        if !writes.is_empty() {
            let bodies: Vec<Body> = writes.iter().map(|(_, body)| body.clone()).collect();
            // An answer and its fact share their id: the moments of the step are those that are written.
            let mut at = writes.iter().map(|(moment, _)| *moment);
            self.book.write(job, &self.by, unit, &bodies, &mut || at.next().unwrap_or_else(moments::now))?;
            self.house = self.book.house(job)?.context("the house is still in the book")?;
        }
        if let Some(notice) = self.over(Walk::screen).notice {
            say(&notice.says)?;
        }
        say(&self.screen()?.says)
    }

    fn screen(&self) -> anyhow::Result<OpeningScreen> {
        match self.over(Walk::screen).shown {
            Shown::Opening { screen } => Ok(screen),
            _ => bail!("this opening is not in the house any more"),
        }
    }
}

//! The book as the page uses it: screens of the walk for any address, events, asks, photos.

use super::backup;
use crate::moments;
use hangtrue_core::fact::{Body, House, fold};
use hangtrue_core::house::{Ask, Job, Photo, Place, Workroom, file};
use hangtrue_core::length::{Grain, LengthUnit, Typed};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::store::{Book, Draft, HouseLine, StoreProblem};
use hangtrue_core::sync::alone;
use hangtrue_core::walk::note::Field;
use hangtrue_core::walk::{self, Event, PadKey, Screen, Walk, World, Write, screen::Shown};
use hangtrue_core::work::{self, Differs};
use std::collections::BTreeMap;
use std::path::PathBuf;
use uuid::Uuid;

/// The key under which the page keeps where a person is.
const WALK: &str = "page.walk";

/// A key of one seat's own.
fn own_key(key: &str, seat: &str) -> String {
    if seat.is_empty() { key.to_owned() } else { format!("{key}/{seat}") }
}

/// A page's place in the conversation.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Spot {
    /// All houses.
    Houses,
    /// A house.
    House(Uuid),
    /// An opening of a house.
    Opening(Uuid, Uuid),
    /// The measuring walk, wherever it stands.
    Walk(Uuid),
    /// What is missing before leaving.
    Leaving(Uuid),
    /// The numbers of a house.
    Settings(Uuid),
}

impl Spot {
    /// The spot of a page's path.
    pub(super) fn of_path(path: &str) -> Option<Self> {
        let parts: Vec<&str> = path.split('?').next()?.split('/').filter(|part| !part.is_empty()).collect();
        let id = |text: &str| Uuid::parse_str(text).ok();
        match parts.as_slice() {
            [] => Some(Self::Houses),
            ["house", house] => Some(Self::House(id(house)?)),
            // A note is typed over its opening.
            ["house", house, "opening", opening] | ["house", house, "opening", opening, "note"] => {
                Some(Self::Opening(id(house)?, id(opening)?))
            }
            ["house", house, "walk"] => Some(Self::Walk(id(house)?)),
            ["house", house, "leaving"] => Some(Self::Leaving(id(house)?)),
            ["house", house, "settings"] => Some(Self::Settings(id(house)?)),
            _ => None,
        }
    }

    /// True when a walk stands at this spot, over the facts as they are.
    fn is_at(self, walk: &Walk, world: &World<'_>) -> bool {
        let Some(house) = self.house().filter(|house| walk.house() == Some(*house)) else { return false };
        match (self, walk.screen(world).shown) {
            (Self::Opening(_, opening), Shown::Opening { screen }) => screen.id == opening,
            (Self::House(_), Shown::House { screen }) => screen.id == house,
            (Self::Walk(_), Shown::Reading { .. })
            | (Self::Leaving(_), Shown::Leaving { .. })
            | (Self::Settings(_), Shown::Settings { .. }) => true,
            _ => false,
        }
    }

    const fn house(self) -> Option<Uuid> {
        match self {
            Self::Houses => None,
            Self::House(house)
            | Self::Opening(house, _)
            | Self::Walk(house)
            | Self::Leaving(house)
            | Self::Settings(house) => Some(house),
        }
    }
}

/// Why the desk could not do it.
#[derive(Debug)]
pub(super) enum DeskProblem {
    /// There is no such house or opening.
    NoSuch {
        /// What there is not.
        what: &'static str,
    },
    /// It was refused; nothing changed.
    Refused {
        /// Why.
        what: String,
        /// What would be right.
        right: String,
    },
    /// The book could not be read or written.
    Store(StoreProblem),
}

impl From<StoreProblem> for DeskProblem {
    fn from(problem: StoreProblem) -> Self {
        Self::Store(problem)
    }
}

impl From<walk::Refusal> for DeskProblem {
    fn from(refusal: walk::Refusal) -> Self {
        Self::Refused { what: refusal.reason, right: refusal.advice }
    }
}

impl DeskProblem {
    /// What is wrong and what would be right, in words.
    pub(super) fn words(&self) -> (String, String) {
        match self {
            Self::NoSuch { what } => {
                (format!("There is no such {what} in this book."), "Start at the list of houses.".to_owned())
            }
            Self::Refused { what, right } => (what.clone(), right.clone()),
            Self::Store(problem) => {
                (problem.to_string(), "Nothing was changed. Try again; if it stays, look at the disk.".to_owned())
            }
        }
    }
}

/// The book, and where a person is in it.
#[derive(Debug)]
pub(super) struct Desk {
    pub(super) book: Book,
    /// The browser that is being served: each has a walk and notes of its own.
    seat: String,
}

impl Desk {
    pub(super) const fn new(book: Book) -> Self {
        Self { book, seat: String::new() }
    }

    /// Serves this browser next.
    pub(super) fn sit(&mut self, seat: String) {
        self.seat = seat;
    }

    pub(super) const fn book(&self) -> &Book {
        &self.book
    }

    fn walk_key(&self) -> String {
        own_key(WALK, &self.seat)
    }

    /// The key under which what is typed of an opening's note is kept.
    fn note_key(&self, opening: Uuid) -> String {
        own_key(&format!("page.note/{opening}"), &self.seat)
    }

    /// The folder of backups, and the newest in it.
    pub(super) fn backups(&self) -> Result<(PathBuf, Option<String>), DeskProblem> {
        let place = backup::place(&self.book)?;
        let newest = backup::newest(&place);
        Ok((place, newest))
    }

    /// The book once more, to be backed up beside the serving, and the folder that it goes to.
    pub(super) fn place_of_backup(&mut self, named: &str) -> Result<(Book, PathBuf), DeskProblem> {
        let place = backup::set_place(&mut self.book, named)?;
        Ok((self.book.beside()?, place))
    }

    /// The houses of these lines, whole.
    pub(super) fn jobs(&self, which: impl Fn(&HouseLine) -> bool) -> Result<Vec<Job>, DeskProblem> {
        let lines = self.book.houses()?;
        let jobs = lines.iter().filter(|line| which(line)).filter_map(|line| self.book.job(line.job).transpose());
        Ok(jobs.collect::<Result<_, _>>()?)
    }

    pub(super) fn houses(&self) -> Result<Vec<HouseLine>, DeskProblem> {
        Ok(self.book.houses()?)
    }

    /// How many facts of each house are on this computer alone.
    pub(super) fn alone(&self) -> Result<BTreeMap<Uuid, u64>, DeskProblem> {
        Ok(alone(&self.book)?)
    }

    pub(super) fn house(&self, house: Uuid) -> Result<House, DeskProblem> {
        self.book.house(house)?.ok_or(DeskProblem::NoSuch { what: "house" })
    }

    /// A number that differs whenever the book changed.
    pub(super) fn version(&self) -> i64 {
        self.book.last_row().unwrap_or_default()
    }

    fn walk(&self) -> Result<Walk, DeskProblem> {
        // A walk that an older program left in another form begins anew: facts are not in it.
        Ok(self.book.draft(&self.walk_key())?.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default())
    }

    /// The screen at a spot. Nothing is written.
    pub(super) fn screen(&mut self, spot: &Spot) -> Result<Screen, DeskProblem> {
        let (walk, folded, lines) = self.led_to(*spot)?;
        Ok(walk.screen(&world(&lines, folded.as_ref())))
    }

    /// The walk as it is at a spot, with what its screens are drawn from.
    fn led_to(&self, spot: Spot) -> Result<(Walk, Option<House>, Vec<walk::HouseLine>), DeskProblem> {
        let mut walk = self.walk()?;
        let folded = spot.house().map(|house| self.house(house)).transpose()?;
        // The list of houses can be long; only its own page draws it, and entering a house asks for that one line.
        let of = |alone: &BTreeMap<Uuid, u64>, id: &Uuid| alone.get(id).copied().unwrap_or_default();
        let lines: Vec<walk::HouseLine> = match spot {
            Spot::Houses => {
                let alone = alone(&self.book)?;
                let lines = self.book.houses()?;
                let short = |line: HouseLine| walk::HouseLine {
                    id: line.job,
                    alone: of(&alone, &line.job),
                    name: line.name,
                    openings: line.openings,
                    readings: line.readings,
                    asked: line.asked,
                    away: line.away,
                    words: line.words,
                };
                lines.into_iter().map(short).collect()
            }
            Spot::Leaving(house) => {
                let alone = of(&alone(&self.book)?, &house);
                folded.iter().map(|folded| short(house, &folded.job.name, alone)).collect()
            }
            Spot::House(house) | Spot::Opening(house, _) | Spot::Walk(house) | Spot::Settings(house) => {
                folded.iter().map(|folded| short(house, &folded.job.name, 0)).collect()
            }
        };
        let world = world(&lines, folded.as_ref());
        // A walk that stands there already stays as it is, with what it says of the last touch.
        if spot.is_at(&walk, &world) {
            return Ok((walk, folded, lines));
        }
        let mut events = Vec::new();
        if let Some(house) = spot.house() {
            if walk.house() != Some(house) || !matches!(spot, Spot::Walk(_)) {
                events.push(Event::ShowHouse { house });
            }
        } else {
            events.push(Event::ShowHouses);
        }
        match spot {
            Spot::Opening(_, opening) => {
                let known =
                    folded.as_ref().is_some_and(|folded| folded.job.openings().any(|(_, one)| one.id == opening));
                if !known {
                    return Err(DeskProblem::NoSuch { what: "opening" });
                }
                events.push(Event::ShowOpening { opening });
            }
            Spot::Leaving(_) => events.push(Event::ShowLeaving),
            Spot::Settings(_) => events.push(Event::ShowSettings),
            Spot::Houses | Spot::House(_) | Spot::Walk(_) => {}
        }
        for event in events {
            walk = walk.step(&event, &world, &mut moments::now)?.walk;
        }
        Ok((walk, folded, lines))
    }

    /// Does what a form asks at a spot, durably, and gives the path of the page that comes next.
    ///
    /// A reading is kept at the place that it was typed for, wherever another desk's ask has led the walk meanwhile.
    pub(super) fn act(
        &mut self,
        spot: &Spot,
        event: &str,
        text: Option<&str>,
        place: Option<(Uuid, Place)>,
    ) -> Result<String, DeskProblem> {
        let mut event: Event = serde_json::from_str(event).map_err(|error| DeskProblem::Refused {
            what: format!("The form asks for something unknown: {error}."),
            right: "Load the page again.".to_owned(),
        })?;
        if let (Event::GiveWords { text: words, .. } | Event::TypeWords { text: words, .. }, Some(given)) =
            (&mut event, text)
        {
            given.trim().clone_into(words);
        }
        if let (Event::Skip { why } | Event::Withdraw { why, .. }, Some(given)) = (&mut event, text) {
            given.trim().clone_into(why);
        }
        let (mut walk, folded, lines) = self.led_to(*spot)?;
        if let (Event::Accept, Some((opening, place))) = (&event, place) {
            let world = world(&lines, folded.as_ref());
            let is_there = match walk.screen(&world).shown {
                Shown::Reading { screen } => screen.opening == opening && screen.place == place.code(),
                _ => false,
            };
            if !is_there {
                walk = walk.step(&Event::GoTo { opening, place }, &world, &mut moments::now)?.walk;
            }
        }
        let entered = match event {
            Event::ShowHouse { house } => Some(self.house(house)?),
            _ => folded,
        };
        let world = world(&lines, entered.as_ref());
        let events = match (event, text.map(str::trim)) {
            (Event::Accept, Some(typed)) if !typed.is_empty() => keyed(&walk, &world, typed)?,
            (event, _) => vec![event],
        };
        let (mut after, mut writes) = (walk, Vec::new());
        for event in &events {
            let step = after.step(event, &world, &mut moments::now)?;
            after = step.walk;
            writes.extend(step.writes);
        }
        self.put(&after, &writes)?;
        self.path(&after)
    }

    /// What a change of the workroom's numbers would change in the houses that are not put away, house by house; nothing for
    /// any other event, and none where it changes nothing.
    pub(super) fn would_change(
        &self,
        event: &str,
        text: Option<&str>,
    ) -> Result<Vec<(String, Vec<Differs>)>, DeskProblem> {
        let of_workroom = format!("set/{}/settings.", Workroom::ID);
        let (name, value) = match serde_json::from_str(event) {
            Ok(Event::Choose { on, field, value }) if on == Workroom::ID => match field.strip_prefix("settings.") {
                Some(name) => (name.to_owned(), value),
                None => return Ok(Vec::new()),
            },
            Ok(Event::GiveWords { slot, text: words }) => match slot.strip_prefix(&of_workroom) {
                Some(name) => (name.to_owned(), Some(text.unwrap_or(&words).to_owned())),
                None => return Ok(Vec::new()),
            },
            _ => return Ok(Vec::new()),
        };
        let now = self.book.workroom()?;
        let mut then = now.clone();
        let mut all = Vec::new();
        for line in self.book.houses()?.into_iter().filter(|line| !line.away) {
            let Some(job) = self.book.job(line.job)? else { continue };
            then.settings.clone_from(&now.settings);
            match &value {
                None => then.settings.take_out(&name),
                // What is no number is refused when it is given.
                Some(value) if then.settings.change(&name, value.trim(), LengthUnit::Inch).is_err() => {
                    return Ok(Vec::new());
                }
                Some(_) => {}
            }
            let after = Job { workroom: then.clone(), ..job.clone() };
            let differs = work::differs(&job, &after, Catalogue::standard(job.unit));
            if !differs.is_empty() {
                all.push((line.name, differs));
            }
        }
        Ok(all)
    }

    /// Puts a walk in the book with what it writes, in one transaction.
    fn put(&mut self, after: &Walk, writes: &[Write]) -> Result<(), DeskProblem> {
        let key = self.walk_key();
        let kept = serde_json::to_string(after).expect("a walk has no map with keys that are not text");
        match writes.first() {
            None => self.book.set_draft(&key, Some(&kept))?,
            Some(first) => {
                let (job, unit) = (first.house, first.unit);
                let bodies: Vec<Body> = writes.iter().map(|write| write.body.clone()).collect();
                let mut at = writes.iter().map(|write| write.moment);
                let draft = Draft { key: &key, value: Some(&kept) };
                self.book.write_with(job, after.by(), unit, &bodies, Some(draft), &mut || {
                    at.next().expect("the store asks for one moment a fact")
                })?;
            }
        }
        Ok(())
    }

    /// What is typed so far of an opening's paper note: names of fields and their texts.
    pub(super) fn note(&self, opening: Uuid) -> Result<Vec<(String, String)>, DeskProblem> {
        Ok(self
            .book
            .draft(&self.note_key(opening))?
            .and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default())
    }

    /// Keeps what is typed of a note, so that nothing typed is lost; it is no reading yet.
    pub(super) fn set_note(
        &mut self,
        house: Uuid,
        opening: Uuid,
        form: &[(String, String)],
    ) -> Result<(), DeskProblem> {
        if !self.house(house)?.job.openings().any(|(_, one)| one.id == opening) {
            return Err(DeskProblem::NoSuch { what: "opening" });
        }
        let text = serde_json::to_string(form).expect("pairs of texts");
        let key = self.note_key(opening);
        self.book.set_draft(&key, (!form.is_empty()).then_some(text.as_str()))?;
        Ok(())
    }

    /// Keeps a note's fields as readings, all or none, and gives the path of the page that comes next.
    pub(super) fn keep_note(&mut self, house: Uuid, opening: Uuid, fields: &[Field]) -> Result<String, DeskProblem> {
        let (walk, folded, lines) = self.led_to(Spot::Opening(house, opening))?;
        let step = walk.keep_note(opening, fields, &world(&lines, folded.as_ref()), &mut moments::now)?;
        self.put(&step.walk, &step.writes)?;
        let key = self.note_key(opening);
        self.book.set_draft(&key, None)?;
        self.path(&step.walk)
    }

    /// The path of the page that a walk is at.
    fn path(&self, walk: &Walk) -> Result<String, DeskProblem> {
        let Some(house) = walk.house() else { return Ok("/".to_owned()) };
        let facts = self.book.facts(house)?;
        let folded = fold(&facts);
        Ok(match walk.screen(&world(&[], folded.as_ref())).shown {
            Shown::Houses { .. } | Shown::Sync { .. } => "/".to_owned(),
            Shown::House { .. } => format!("/house/{house}"),
            Shown::Reading { .. } => format!("/house/{house}/walk"),
            Shown::Opening { screen } => format!("/house/{house}/opening/{}", screen.id),
            Shown::Leaving { .. } => format!("/house/{house}/leaving"),
            Shown::Settings { .. } => format!("/house/{house}/settings"),
        })
    }

    /// Looks at the whole book; mends it when asked to. Gives what was found, in sentences, and whether it is sound now.
    pub(super) fn check(&mut self, mend: bool) -> Result<(Vec<String>, bool), DeskProblem> {
        let mut says = Vec::new();
        if mend {
            self.book.mend(&mut moments::now)?;
            says.extend(self.book.notices().iter().map(ToString::to_string));
        }
        let found = self.book.examine()?;
        says.extend(found.says());
        Ok((says, found.is_sound()))
    }

    /// Asks for an opening to be measured again.
    pub(super) fn ask(
        &mut self,
        house: Uuid,
        opening: Uuid,
        places: Vec<Place>,
        why: &str,
        by: &str,
    ) -> Result<(), DeskProblem> {
        let job = self.house(house)?.job;
        if !job.openings().any(|(_, one)| one.id == opening) {
            return Err(DeskProblem::NoSuch { what: "opening" });
        }
        if why.is_empty() {
            return Err(DeskProblem::Refused {
                what: "The ask does not say why.".to_owned(),
                right: "Write a few words: the measurer stands before the opening with nothing else to go by."
                    .to_owned(),
            });
        }
        let now = moments::now();
        let by = if by.is_empty() { "desk" } else { by };
        let ask = Ask { id: now.uuid(), places, why: why.to_owned(), at: now.time(), by: by.to_owned(), closed: None };
        self.book.write(house, by, job.unit, &[Body::AskMade { opening, ask }], &mut moments::now)?;
        Ok(())
    }

    /// Erases a house for good, here and wherever this is heard of. `name` is its whole name, written once more.
    pub(super) fn erase(&mut self, house: Uuid, name: &str) -> Result<(), DeskProblem> {
        let job = self.house(house)?.job;
        if job.name.trim() != name {
            return Err(DeskProblem::Refused {
                what: format!("The house is called \"{}\", and \"{name}\" was written; nothing was erased.", job.name),
                right: "Write its whole name. Nothing brings a house back that was erased.".to_owned(),
            });
        }
        self.book.write(house, "desk", job.unit, &[Body::HouseErased {}], &mut moments::now)?;
        Ok(())
    }

    /// Takes a job file in: the house, what it is called, and how many of its entries were new.
    pub(super) fn take_in(&mut self, text: &str) -> Result<(Uuid, String, usize), DeskProblem> {
        let job = file::read(text).map_err(|problem| DeskProblem::Refused {
            what: format!(
                "Line {}{}: {}.",
                problem.line,
                if problem.path.is_empty() { String::new() } else { format!(", {}", problem.path) },
                problem.what
            ),
            right: problem.right,
        })?;
        let new = self.book.take_in(&job, "desk", &mut moments::now)?.len();
        Ok((job.id, job.name, new))
    }

    /// Keeps a photo and says what it is of.
    pub(super) fn add_photo(&mut self, house: Uuid, on: Uuid, bytes: &[u8], caption: &str) -> Result<(), DeskProblem> {
        let job = self.house(house)?.job;
        if on != house && !job.openings().any(|(_, one)| one.id == on) {
            return Err(DeskProblem::NoSuch { what: "opening" });
        }
        let sha256 = self.book.photos().keep(bytes)?;
        let photo = Photo { sha256, caption: caption.to_owned(), at: moments::now().time(), by: "desk".to_owned() };
        self.book.write(house, "desk", job.unit, &[Body::PhotoAdded { on, photo }], &mut moments::now)?;
        Ok(())
    }

    pub(super) fn photo(&self, hash: &str) -> Result<Option<Vec<u8>>, DeskProblem> {
        if hash.len() != 64 || !hash.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return Ok(None);
        }
        Ok(self.book.photos().read(hash)?)
    }
}

/// A reading typed as words, as the keys of the pad that give it, and the accept key behind them. So a reading takes one
/// way into the book, whatever it was typed on.
fn keyed(walk: &Walk, world: &World<'_>, typed: &str) -> Result<Vec<Event>, DeskProblem> {
    let refused = |what: String, right: &str| DeskProblem::Refused { what, right: right.to_owned() };
    let Shown::Reading { screen } = walk.screen(world).shown else {
        return Err(refused("No place is being read.".to_owned(), "Choose an opening of the house."));
    };
    let pad = match screen.units.iter().find(|unit| unit.chosen).map(|unit| &unit.event) {
        Some(Event::UseUnit { unit }) => *unit,
        _ => LengthUnit::Inch,
    };
    let bare = if pad.is_imperial() { LengthUnit::Inch } else { LengthUnit::Millimetre };
    let read = Typed::read(typed, bare).map_err(|problem| DeskProblem::Refused {
        what: format!("\"{typed}\": {}.", problem.what),
        right: format!("Right would be: {}.", problem.right),
    })?;
    let imperial = pad.is_imperial();
    let marked = typed.to_lowercase();
    if (imperial && marked.ends_with('m')) || (!imperial && marked.contains(['"', '\'', '/', 'i', 'f'])) {
        let unit = if imperial { "mm" } else { "in" };
        return Err(refused(
            format!("The pad takes {}, and \"{typed}\" is in another unit.", pad.name()),
            &format!("Choose {unit} on the pad first, so that every number on it is of one unit."),
        ));
    }
    let grain = if imperial { Grain::INCH_16.step() } else { Grain::MM_TENTH.step() };
    let (value, parts) = (read.value(), if imperial { 16 } else { 10 });
    let grains = value.abs().count_down(grain).unwrap_or_default();
    if grain.checked_mul(grains) != Some(value.abs()) {
        let right = if imperial { "A reading is to 1/16 in." } else { "A reading is to 0.1 mm." };
        return Err(refused(format!("{typed} is finer than a tape is read."), right));
    }
    let sign = screen.edit.iter().any(|key| key.event == Event::Press { key: PadKey::Sign });
    if value.is_negative() && !sign {
        return Err(refused(format!("{typed} is less than nothing."), "A tape reads from nothing up here."));
    }
    // What is half typed on the pad gives way; longer than any number on it.
    let mut keys = vec![PadKey::Erase; 16];
    if value.is_negative() {
        keys.push(PadKey::Sign);
    }
    let (whole, rest) = (grains / parts, u8::try_from(grains % parts).unwrap_or_default());
    let digits = whole.to_string();
    if whole > 0 || rest == 0 || !imperial {
        keys.extend(digits.bytes().map(|digit| PadKey::Digit(digit - b'0')));
    }
    match (rest, imperial) {
        (0, _) => {}
        (sixteenths, true) => keys.push(PadKey::Sixteenths(sixteenths)),
        (tenth, false) => keys.extend([PadKey::Point, PadKey::Digit(tenth)]),
    }
    if digits.len() > 5 {
        return Err(refused(format!("{typed} is longer than any wall."), "Look for a digit too many."));
    }
    Ok(keys.into_iter().map(|key| Event::Press { key }).chain([Event::Accept]).collect())
}

fn short(id: Uuid, name: &str, alone: u64) -> walk::HouseLine {
    walk::HouseLine { id, name: name.to_owned(), alone, ..walk::HouseLine::default() }
}

fn world<'a>(houses: &'a [walk::HouseLine], house: Option<&'a House>) -> World<'a> {
    World { houses, house, sync: walk::SyncLine::default() }
}

/// The kind of picture these bytes begin like.
pub(super) fn picture_kind(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xFF, 0xD8, 0xFF, ..] => Some("image/jpeg"),
        [0x89, b'P', b'N', b'G', ..] => Some("image/png"),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some("image/webp"),
        _ => None,
    }
}

//! The screens around the walk: houses, a house, an opening's result, what is missing before leaving, settings, sync.

use super::add::{self, unused};
use super::choose::{HOUSE_FIELDS, OPENING_FIELDS, OPENING_LENGTHS, Options, default_option, fields_of, is_value};
use super::houses::LABEL;
use super::reading::{doubtful, flag_card, progress_words, row, touch, worked_out};
use super::screen::{
    AskRow, ChoiceGroup, FigureRow, FlagCard, HouseScreen, HowFar, Leaving, LeavingRow, Naming, OpeningRow,
    OpeningScreen, RoomRow, Screen, SettingsScreen, Shown, SyncScreen, Touch, Way,
};
use super::step::capital;
use super::{
    Done, Event, Hand, Stand, Theme, Walk, World, decide, doubt, drawing, houses, moving, numbers, order, progress,
    question, settings,
};
use crate::apart;
use crate::buying::Shop;
use crate::fact::House;
use crate::flag::{Flag, Severity, listed};
use crate::house::{Job, Mount, Opening, Place, Room, Workroom};
use crate::label;
use crate::length::{Length, LengthUnit};
use crate::mount::{Catalogue, Edge, Form, Mounting};
use crate::price;
use crate::settings::Settings;
use crate::stand::{self, Cause, Stand as Standing};
use crate::sync::alone_words;
use crate::work::{self, Worked, WorkedHouse};
use uuid::Uuid;

pub(super) fn flag_cards(opening: Uuid, flags: &[Flag]) -> Vec<FlagCard> {
    flags.iter().map(|flag| flag_card(opening, flag)).collect()
}

pub(super) fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

pub(super) fn opening_progress(opening: &Opening, needed: &[Place]) -> HowFar {
    let done = needed.iter().filter(|place| order::is_read(opening, **place)).count();
    let skipped = needed.iter().filter(|place| order::is_skipped(opening, **place)).count();
    HowFar { done: count(done), skipped: count(skipped), of: count(needed.len()) }
}

pub(super) fn house_progress(job: &Job, settings: &Settings) -> HowFar {
    let done = job.openings().filter(|(_, opening)| order::is_done(job, opening, settings)).count();
    HowFar { done: count(done), skipped: 0, of: count(job.openings().count()) }
}

impl Walk {
    /// What the walk shows over `world`.
    pub fn screen(&self, world: &World<'_>) -> Screen {
        let stand = self.stand(world);
        let (title, shown) = match &stand {
            Stand::Houses => ("Houses".to_owned(), self.houses(world)),
            Stand::House(house) => (house.job.name.clone(), self.house_screen(house)),
            Stand::Reading(house, opening, place, why) => {
                (title(&house.job, opening), self.reading_screen(house, opening, *place, why))
            }
            Stand::Opening(house, opening) => (title(&house.job, opening), self.opening_screen(house, opening)),
            Stand::Leaving(house) => ("Before leaving".to_owned(), leaving(house, world)),
            Stand::Settings(house) => {
                let of_workroom = house.is_some_and(|house| house.job.id == Workroom::ID);
                let title = if of_workroom { "The workroom's numbers" } else { "Settings" };
                (title.to_owned(), self.settings_screen(*house))
            }
            Stand::Sync => ("With the workroom".to_owned(), Shown::Sync { screen: sync(world) }),
        };
        let back = match stand {
            Stand::Houses => None,
            _ => Some(touch("back", "Back", Event::Back)),
        };
        let to_house = match stand {
            Stand::Reading(house, ..) | Stand::Opening(house, _) => {
                let event = Event::ShowHouse { house: house.job.id };
                Some(touch("house", "House", event).said(format!("to {}", house.job.name)))
            }
            _ => None,
        };
        let id = world.house.map(|house| house.job.id).filter(|id| Some(*id) == self.house);
        let undo = self.done.iter().rfind(|done| Some(done.house) == id && done.undone.is_empty());
        let redo = self.to_redo(id).map(|at| &self.done[at]);
        // What was done, and where.
        let told = |done: &Done| {
            let job = world.house.filter(|_| id.is_some()).map(|house| &house.job);
            let at = job.zip(done.at).and_then(|(job, (opening, _))| {
                job.openings()
                    .find(|(_, one)| one.id == opening)
                    .map(|(room, one)| format!("{}, {}", room.name, one.name))
            });
            at.map_or_else(|| done.says.clone(), |at| format!("{at}: {}", done.says))
        };
        Screen {
            title,
            theme: self.theme,
            hand: self.hand,
            back,
            house: to_house,
            undo: undo.map(|done| touch("undo", "Undo", Event::Undo).said(format!("undo: {}", told(done)))),
            redo: redo.map(|done| touch("redo", "Redo", Event::Redo).said(format!("redo: {}", told(done)))),
            notice: self.notice.clone(),
            shown,
        }
    }

    /// What redo would do again: the last thing taken back, if nothing was written since.
    pub(super) fn to_redo(&self, house: Option<Uuid>) -> Option<usize> {
        let mut last = None;
        for (at, done) in self.done.iter().enumerate().rev().filter(|(_, done)| Some(done.house) == house) {
            if done.undone.is_empty() {
                break;
            }
            last = Some(at);
        }
        last
    }

    fn house_screen(&self, house: &House) -> Shown {
        let job = &house.job;
        let settings = numbers(job);
        let worked = work::house_with(job, &settings, Catalogue::standard(job.unit));
        let id = job.id;
        let names: Vec<&str> = job.rooms.iter().map(|room| room.name.as_str()).collect();
        let rooms = ["Kitchen", "Living room", "Dining room", "Bedroom", "Bathroom", "Study", "Hall"];
        let offers = rooms.iter().map(|name| offer("room", &unused(name, &names))).collect();
        let first = job.openings().find(|(_, opening)| order::asked(opening).is_some());
        let first = first.or_else(|| job.openings().find(|(_, opening)| !order::is_done(job, opening, &settings)));
        let walk = match first {
            Some((_, opening)) => touch("walk", "Measure", Event::Measure { opening: opening.id })
                .said(format!("measure {}", title(job, opening))),
            None => touch("walk", "Measure", Event::ShowLeaving).said("measure: nothing stands open").live(false),
        };
        Shown::House {
            screen: HouseScreen {
                id,
                rooms: job.rooms.iter().map(|room| self.room_row(house, &worked, room)).collect(),
                progress: house_progress(job, &settings),
                add_room: self.naming("room", "Name of the room", offers),
                rename: self.naming(format!("rename/{id}"), "Another name for the house", Vec::new()),
                about: self.about(job),
                away: houses::away(job),
                walk,
                leaving: touch("leaving", "Before leaving", Event::ShowLeaving),
                settings: touch("settings", "Settings", Event::ShowSettings),
                sync: touch("sync", "With the workroom", Event::ShowSync),
                flags: house_flags(house, &worked),
            },
        }
    }

    fn room_row(&self, house: &House, worked: &WorkedHouse<'_>, room: &Room) -> RoomRow {
        let slot = format!("opening/{}", room.id);
        let names: Vec<&str> = room.openings.iter().map(|opening| opening.name.as_str()).collect();
        // What most rooms need next: another like the last.
        let offers = ["Window", "Left window", "Right window", "Door"].map(|name| offer(&slot, &unused(name, &names)));
        let like = room.openings.last().map(|last| add::another_offer(room, last));
        let bay = offer(&slot, add::BAY_WORDS);
        let offers = like.into_iter().chain(offers).chain([bay]).collect();
        RoomRow {
            id: room.id,
            name: room.name.clone(),
            openings: room.openings.iter().map(|opening| self.opening_row(house, worked, room, opening)).collect(),
            add_opening: self.naming(slot, "Name of the opening", offers),
            rename: self.naming(format!("rename/{}", room.id), "Another name for the room", Vec::new()),
            earlier: moving::room_earlier(house, room),
            remove: touch(format!("remove_{}", room.id), "Take out", Event::Remove { on: room.id })
                .said(format!("take {} out of the house", room.name)),
        }
    }

    fn opening_row(&self, house: &House, worked: &WorkedHouse<'_>, room: &Room, opening: &Opening) -> OpeningRow {
        let id = opening.id;
        let needed = order::needed(worked.job, opening, &worked.settings);
        let progress = opening_progress(opening, &needed);
        let stand = worked.opening(id).map_or(Standing::NotMeasured, Worked::stand);
        // The word stands once in a row: as what is asked, or before what was read.
        let asks = stand != Standing::Settled && !opening.readings.is_empty();
        let read = format!("{}{}", progress_words(progress), more_words(worked.opening(id), &needed));
        let says = if asks { read } else { format!("{}; {read}", capital(stand.words())) };
        OpeningRow {
            id,
            open: touch(format!("opening_{id}"), &opening.name, Event::ShowOpening { opening: id })
                .said(format!("{}, {}: {says}", room.name, opening.name)),
            measure: touch(format!("measure_{id}"), "Measure", Event::Measure { opening: id })
                .said(format!("measure {}, {}", room.name, opening.name)),
            progress,
            says,
            asks: if asks { stand.words().to_owned() } else { String::new() },
            asked: order::asked(opening).map(|(ask, _)| ask.why.clone()),
            rename: self.naming(format!("rename/{id}"), "Another name for the opening", Vec::new()),
            earlier: moving::opening_earlier(house, room, opening),
            remove: touch(format!("remove_{id}"), "Take out", Event::Remove { on: id })
                .said(format!("take {} out of the house", opening.name)),
        }
    }

    /// What the label that led to an opening is worth; empty where none did.
    fn scanned(&self, job: &Job, opening: &Opening) -> String {
        let Some(code) = self.words.get(LABEL) else { return String::new() };
        let is_here = code.parse().is_ok_and(|label: label::Address| label.opening == opening.id);
        if !is_here {
            return String::new();
        }
        let house = work::house_with(job, &numbers(job), Catalogue::standard(job.unit));
        let labels = label::labels(&house, &work::plans(&house, Shop::standard(job.unit)));
        let judged = label::judge(&house, &labels, code).unwrap_or_default();
        judged.iter().map(|old| format!("This label: {} ", old.says)).collect()
    }

    fn opening_screen(&self, whole: &House, opening: &Opening) -> Shown {
        let job = &whole.job;
        let house = work::room(job, opening.id, &numbers(job), Catalogue::standard(job.unit));
        let worked = house.opening(opening.id).expect("the walk stands at an opening of the house");
        let truth = &worked.truth;
        let mut readings: Vec<_> = opening.readings.iter().collect();
        readings.sort_by_key(|taken| taken.place);
        let needed = order::needed(job, opening, &house.settings);
        let open_places = order::open(opening, &needed);
        let next = after(job, opening.id, &house.settings).map(|next| {
            touch("next_opening", "Next opening", Event::Measure { opening: next.id })
                .said(format!("next: {}", title(job, next)))
        });
        let open = |flag: &&Flag| stand::closed_by(opening, flag).is_none();
        let mut flags: Vec<FlagCard> = decide::cards(worked);
        flags.extend(worked.flags().into_iter().filter(open).map(|flag| flag_card(opening.id, flag)));
        let asks = opening.asks.iter().filter(|ask| !opening.is_answered(ask)).map(|ask| {
            let places: Vec<&str> = ask.places.iter().map(|place| place.words()).collect();
            let by = if ask.by.is_empty() { "The workroom" } else { &ask.by };
            let what = if places.is_empty() { "all of it".to_owned() } else { places.join(", ") };
            AskRow {
                id: ask.id,
                says: format!("{by} asks for {what}: {}", ask.why),
                answer: touch(format!("answer_{}", ask.id), "Read it", Event::Answer { ask: ask.id }),
                close: touch(format!("close_{}", ask.id), "Close it", Event::CloseAsk { ask: ask.id })
                    .said("close the ask without reading"),
            }
        });
        Shown::Opening {
            screen: OpeningScreen {
                id: opening.id,
                says: format!(
                    "{}{}{}",
                    self.scanned(job, opening),
                    says(worked, &open_places),
                    price_words(&house, worked)
                ),
                drawing: drawing::draw(opening, None, &doubtful(&truth.flags), true),
                flags,
                readings: readings.into_iter().map(|taken| row(opening, taken)).collect(),
                skipped: opening
                    .skipped
                    .iter()
                    .filter(|skip| order::is_skipped(opening, skip.place))
                    .map(|skip| format!("{}: {}", capital(skip.place.words()), skip.why))
                    .collect(),
                advice: worked.mounts.because.clone(),
                ways: ways(job, worked),
                shade: shade_rows(job, worked),
                choices: decide::groups(job, &house, worked)
                    .into_iter()
                    .chain(priced_ways(&house, worked))
                    .chain([progress::steps(opening)])
                    .chain(opening_choices(job, opening))
                    .chain([add::shades(job, opening)])
                    .chain(add::give(job, opening))
                    .chain(moving::to_room(whole, worked.room, opening))
                    .chain([ChoiceGroup {
                        field: "like.this".to_owned(),
                        title: "The next window of this room".to_owned(),
                        options: vec![add::another_offer(worked.room, opening)],
                    }])
                    .collect(),
                lengths: self.own_words(&house, worked).into_iter().chain(self.opening_lengths(job, opening)).collect(),
                note: self.naming(format!("note/{}", opening.id), "A remark for the workroom", Vec::new()),
                notes: opening.notes.iter().map(|note| note.text.clone()).collect(),
                asks: asks.collect(),
                progress: opening_progress(opening, &needed),
                measure: touch(
                    "measure",
                    if open_places.is_empty() { "Read again" } else { "Measure" },
                    if open_places.is_empty() && doubt(truth.clone(), opening).is_none() {
                        Event::GoTo { opening: opening.id, place: Place::WidthTop }
                    } else {
                        Event::Measure { opening: opening.id }
                    },
                ),
                next,
            },
        }
    }

    /// The choices that are lengths, each to be typed.
    fn opening_lengths(&self, job: &Job, opening: &Opening) -> Vec<Naming> {
        let json = opening_fields(job, opening);
        OPENING_LENGTHS
            .iter()
            .map(|(field, words)| {
                let (group, name) = field.split_once('.').unwrap_or(("", field));
                let now = match &json[group][name] {
                    serde_json::Value::Null => "not set".to_owned(),
                    serde_json::Value::Array(all) => all.iter().map(plain).collect::<Vec<_>>().join(", "),
                    other => plain(other),
                };
                // What is set goes back to what is worked out in one touch.
                let event = Event::Choose { on: opening.id, field: (*field).to_owned(), value: None };
                let back = touch(format!("{field}_back"), "Take it out", event).said(format!("take out: {words}"));
                let offers = if json[group][name].is_null() { Vec::new() } else { vec![back] };
                self.naming(format!("set/{}/{field}", opening.id), &format!("{words} ({now})"), offers)
            })
            .collect()
    }

    fn settings_screen(&self, house: Option<&House>) -> Shown {
        let rows = house.map(|house| settings::rows(self, &house.job)).unwrap_or_default();
        let own = house.filter(|house| house.job.id != Workroom::ID);
        let of_house = own.map(|house| {
            let json = serde_json::json!({ "unit": house.job.unit, "region": house.job.region });
            let groups = HOUSE_FIELDS
                .iter()
                .map(|(field, title, options)| choice(house.job.id, field, title, options, &json[*field]));
            groups.chain(add::taken_out(house)).collect()
        });
        let unit = self.unit.unwrap_or_else(|| house.map_or(LengthUnit::Inch, |house| self.pad_unit(&house.job)));
        Shown::Settings {
            screen: SettingsScreen {
                rows,
                house: of_house.unwrap_or_default(),
                workroom: (house.is_none() || own.is_some()).then(settings::to_workroom),
                hold: own.and_then(|house| settings::hold(&house.job)),
                by: {
                    let mut by = self.naming("by", "Your name", Vec::new());
                    if by.typed.is_empty() {
                        by.prompt = if self.by.is_empty() { by.prompt } else { format!("Your name: {}", self.by) };
                    }
                    by
                },
                themes: [(Theme::Indoors, "indoors", "Indoors"), (Theme::Outdoors, "outdoors", "Outdoors")]
                    .map(|(theme, id, label)| {
                        touch(format!("theme_{id}"), label, Event::UseTheme { theme }).chosen(theme == self.theme)
                    })
                    .to_vec(),
                hands: [(Hand::Right, "right", "Right hand"), (Hand::Left, "left", "Left hand")]
                    .map(|(hand, id, label)| {
                        touch(format!("hand_{id}"), label, Event::UseHand { hand }).chosen(hand == self.hand)
                    })
                    .to_vec(),
                units: Self::units(unit),
            },
        }
    }
}

pub(super) fn many(n: u32, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

fn title(job: &Job, opening: &Opening) -> String {
    let room = job.openings().find(|(_, other)| other.id == opening.id).map_or("", |(room, _)| room.name.as_str());
    format!("{room}, {}", opening.name)
}

fn offer(slot: &str, name: &str) -> Touch {
    let event = Event::GiveWords { slot: slot.to_owned(), text: name.to_owned() };
    touch(format!("offer_{}", name.to_lowercase().replace(' ', "_")), name, event).said(format!("add {name}"))
}

/// The next opening after this one, going round, that is not done.
fn after<'a>(job: &'a Job, opening: Uuid, settings: &Settings) -> Option<&'a Opening> {
    let all: Vec<&Opening> = job.openings().map(|(_, opening)| opening).collect();
    let at = all.iter().position(|other| other.id == opening)?;
    all[at + 1..].iter().chain(&all[..at]).find(|other| !order::is_done(job, other, settings)).copied()
}

fn option(on: Uuid, field: &str, value: &str, words: &str, chosen: bool) -> Touch {
    // Touching what is chosen leaves it so; where two devices set it apart, it settles that.
    let event = Event::Choose { on, field: field.to_owned(), value: Some(value.to_owned()) };
    touch(format!("{field}_{value}"), words, event).chosen(chosen)
}

/// Back to nothing chosen, for a field that need not be.
fn not_chosen(on: Uuid, field: &str, chosen: bool) -> Touch {
    let event = Event::Choose { on, field: field.to_owned(), value: None };
    touch(format!("{field}_not_chosen"), "Not chosen", event).chosen(chosen)
}

fn choice(on: Uuid, field: &str, title: &str, options: Options, now: &serde_json::Value) -> ChoiceGroup {
    // What nobody chose shows its default as chosen, where it has one.
    let default = default_option(field);
    let is_now = |value: &str| is_value(now, value) || (now.is_null() && default == Some(value));
    let options = options.iter().map(|(value, words)| option(on, field, value, words, is_now(value)));
    let mut options: Vec<Touch> = options.collect();
    if default.is_none() && field.contains('.') && field != "choices.mount" {
        options.push(not_chosen(on, field, now.is_null()));
    }
    ChoiceGroup { field: field.to_owned(), title: title.to_owned(), options }
}

fn opening_fields(job: &Job, opening: &Opening) -> serde_json::Value {
    serde_json::json!({
        "choices": fields_of(job.unit, &opening.choices),
        "wall": fields_of(job.unit, &opening.wall),
    })
}

fn opening_choices(job: &Job, opening: &Opening) -> Vec<ChoiceGroup> {
    let json = opening_fields(job, opening);
    let fields = OPENING_FIELDS.iter().map(|(field, title, options)| {
        let (group, name) = field.split_once('.').unwrap_or(("", field));
        let mut group = choice(opening.id, field, title, options, &json[group][name]);
        if *field == "choices.mount" {
            let undecided = opening.choices.mount.is_none() && opening.choices.undecided;
            let event = question::not_decided(opening.id);
            group.options.push(touch("choices.mount_undecided", "Not decided", event).chosen(undecided));
        }
        group
    });
    let cloths = job.all_cloths().next().is_some().then(|| {
        let options = job.all_cloths().map(|cloth| {
            let chosen = opening.choices.cloth.as_deref() == Some(cloth.name.as_str());
            option(opening.id, "choices.cloth", &cloth.name, &cloth.name, chosen)
        });
        let none = not_chosen(opening.id, "choices.cloth", opening.choices.cloth.is_none());
        let options = options.chain([none]).collect();
        ChoiceGroup { field: "choices.cloth".to_owned(), title: "Cloth".to_owned(), options }
    });
    let boards = Catalogue::standard(job.unit).usual_boards().map(|board| {
        let name = board.size.name();
        option(opening.id, "choices.board", &name, &name, opening.choices.board == Some(board.size))
    });
    let none = not_chosen(opening.id, "choices.board", opening.choices.board.is_none());
    let boards = boards.chain([none]).collect();
    let boards = ChoiceGroup { field: "choices.board".to_owned(), title: "Board".to_owned(), options: boards };
    let count = opening.choices.count.get();
    let alike = ["1", "2", "3", "4", "5", "6"].map(|n| {
        let words = if n == "1" { "1 shade".to_owned() } else { format!("{n} alike") };
        option(opening.id, "choices.count", n, &words, count.to_string() == n)
    });
    let alike =
        ChoiceGroup { field: "choices.count".to_owned(), title: "Shades alike".to_owned(), options: alike.to_vec() };
    let mut groups: Vec<ChoiceGroup> = fields.chain(cloths).collect();
    // The board comes after how it is held.
    let at = groups.iter().position(|group| group.field == "choices.attach").map_or(0, |at| at + 1);
    groups.insert(at, boards);
    groups.push(alike);
    groups
}

fn house_flags(house: &House, worked: &WorkedHouse<'_>) -> Vec<FlagCard> {
    let mut flags: Vec<FlagCard> = apart::of_house(&house.job).iter().map(|(on, flag)| flag_card(*on, flag)).collect();
    flags.extend(worked.set_aside().iter().map(|flag| flag_card(house.job.id, flag)));
    flags.extend(worked.questions().map(|(_, question)| flag_card(house.job.id, question)));
    if !house.waiting.is_empty() {
        let n = count(house.waiting.len());
        flags.push(flag_card(
            house.job.id,
            &Flag::new(
                "facts_wait",
                Severity::Know,
                &[],
                format!(
                    "{} of a newer program, or about what has not arrived, {} kept.",
                    many(n, "fact"),
                    if n == 1 { "is" } else { "are" }
                ),
                "Nothing is lost; they show once this program is newer or the rest arrives.",
            ),
        ));
    }
    flags
}

fn plain(value: &serde_json::Value) -> String {
    match value {
        serde_json::Value::String(text) => text.replace('_', " "),
        serde_json::Value::Null => "the default".to_owned(),
        other => other.to_string(),
    }
}

/// What else is worth reading once all that is needed was read: "; 2 more would tell more".
fn more_words(worked: Option<&Worked<'_>>, needed: &[Place]) -> String {
    let Some(worked) = worked.filter(|worked| order::open(worked.opening, needed).is_empty()) else {
        return String::new();
    };
    let assumed = worked.truth.flags.iter().filter(|flag| flag.code.starts_with("assumes_"));
    let mut places: Vec<Place> = assumed.flat_map(|flag| flag.places.iter().copied()).collect();
    places.sort_unstable();
    places.dedup();
    places.retain(|place| !order::is_read(worked.opening, *place) && !order::is_skipped(worked.opening, *place));
    match places.len() {
        0 => String::new(),
        n => format!("; {n} more would tell more"),
    }
}

/// Where it stands, and what stops the cutting or is still to be read.
fn says(worked: &Worked<'_>, open: &[Place]) -> String {
    let word = capital(worked.stand().words());
    match worked.stop_cutting() {
        Some(stop) => format!("{word}. {stop}"),
        None if !open.is_empty() => format!("{word}. {} left to read.", capital(&many(count(open.len()), "place"))),
        None => match progress::said(worked.opening) {
            Some(said) => format!("{word}. {said}."),
            None => format!("{word}: it may be cut."),
        },
    }
}

/// What a shade is sold at, where the workroom said what an hour costs and shows prices; empty otherwise.
fn price_words(house: &WorkedHouse<'_>, worked: &Worked<'_>) -> String {
    let settings = &house.settings;
    if settings.hide_prices != 0 || settings.hour_price == 0 {
        return String::new();
    }
    let ways = price::Ways::of(house.job);
    let Some(priced) = price::of_shade(house, worked, &ways) else { return String::new() };
    let without = if priced.without.is_empty() {
        String::new()
    } else {
        format!(", without {}", listed(priced.without.iter().cloned()))
    };
    format!(" It is sold at {}{without}, hanging and taxes apart.", ways.currency.show(priced.all()))
}

/// What the shade is sold at beside other ways to make it, one touch each; nothing where prices are not shown, or it is cut.
fn priced_ways(house: &WorkedHouse<'_>, worked: &Worked<'_>) -> Option<ChoiceGroup> {
    const MOST: usize = 5;
    let (settings, opening) = (&house.settings, worked.opening);
    if settings.hide_prices != 0 || settings.hour_price == 0 || opening.progress.cut.is_some() {
        return None;
    }
    let ways = price::Ways::of(house.job);
    let chosen = price::of_shade(house, worked, &ways)?;
    let others = price::at_the_door(house, worked, MOST, Catalogue::standard(house.job.unit), &ways);
    if others.is_empty() {
        return None;
    }
    let now = fields_of(house.job.unit, &opening.choices);
    let nothing = Event::SetAll { changes: Vec::new() };
    let shown = format!("As chosen: {}", ways.currency.show(chosen.all()));
    let mut options = vec![touch("priced_chosen", shown, nothing).chosen(true)];
    for (nth, other) in others.iter().enumerate() {
        let Some(priced) = &other.priced else { continue };
        let event =
            Event::SetAll { changes: add::to_choose(opening.id, &now, &fields_of(house.job.unit, &other.choices)) };
        let says = format!("{}: {}", other.name, ways.currency.show(priced.all()));
        options.push(touch(format!("priced_{nth}"), says.clone(), event).said(format!("{says}, {}", other.size)));
    }
    let title = "What it is sold at, side by side; hanging and taxes apart".to_owned();
    Some(ChoiceGroup { field: "priced".to_owned(), title, options })
}

/// The ways the opening can be mounted, and those that it cannot.
fn ways(job: &Job, worked: &Worked<'_>) -> Vec<Way> {
    let opening = worked.opening;
    let choose = |form: Form| {
        let chosen = match (opening.choices.mount, opening.choices.attach) {
            (Some(Mount::Inside), _) => form == Form::Inside,
            // Outside, held as is advised.
            (Some(Mount::Outside), None) => form != Form::Inside && worked.mounts.advised == Some(form),
            (Some(mount), attach) => form.choice() == (mount, attach),
            (None, _) => false,
        };
        touch(format!("way_{}", form.code()), "Choose", Event::ChooseWay { opening: opening.id, form })
            .said(format!("choose {}", form.words()))
            .chosen(chosen)
    };
    let can = worked.mounts.can.iter().map(|mounting| Way {
        title: capital(mounting.form.words()),
        can: true,
        advised: worked.mounts.advised == Some(mounting.form),
        says: format!("{} board, {}; by {}.", mounting.board.size.name(), mounting.stop.words(), mounting.width.rule),
        rows: way_rows(job, mounting),
        flags: flag_cards(opening.id, &mounting.flags),
        missing: Vec::new(),
        choose: choose(mounting.form),
    });
    let cannot = worked.mounts.cannot.iter().map(|refusal| Way {
        title: capital(refusal.form.words()),
        can: false,
        advised: false,
        says: format!("{} {}", refusal.why, refusal.would),
        rows: Vec::new(),
        flags: Vec::new(),
        missing: refusal
            .missing
            .iter()
            .map(|place| {
                let event = Event::GoTo { opening: opening.id, place: *place };
                touch(format!("missing_{}", place.code()), capital(place.words()), event)
                    .said(format!("read the {}", place.words()))
            })
            .collect(),
        choose: choose(refusal.form),
    });
    let mut ways: Vec<(Form, Way)> = worked.mounts.can.iter().map(|mounting| mounting.form).zip(can).collect();
    ways.extend(worked.mounts.cannot.iter().map(|refusal| refusal.form).zip(cannot));
    ways.sort_by_key(|(form, _)| *form);
    ways.into_iter().map(|(_, way)| way).collect()
}

fn way_rows(job: &Job, mounting: &Mounting) -> Vec<FigureRow> {
    let mut rows = Vec::new();
    let mut add = |name: &str, length: Length| rows.push(figure_row(job, name, length));
    add(
        if mounting.width_worked.is_some() { "Finished width, set by hand" } else { "Finished width" },
        mounting.width.total,
    );
    if let Some(worked) = &mounting.width_worked {
        add("Width worked out", worked.total);
    }
    add(
        if mounting.length_worked.is_some() { "Finished length, set by hand" } else { "Finished length" },
        mounting.length.total,
    );
    if let Some(worked) = &mounting.length_worked {
        add("Length worked out", worked.total);
    }
    add("Board", mounting.board_length.total);
    add("Projection", mounting.projection);
    if mounting.form == Form::Inside {
        if mounting.proud > Length::ZERO {
            add("Stands proud", mounting.proud);
        }
    } else {
        let edge = mounting.edge;
        let beside = if edge == Edge::Trim { "Past the trim, each side" } else { "Past the opening, each side" };
        add(beside, mounting.overlap);
        if mounting.form == Form::OutsideCeiling {
            add("Back edge of the board off the wall", mounting.off_wall);
        } else {
            add(&format!("Bottom of the fixing above {}", edge.words()), mounting.above_trim);
        }
        if mounting.packing > Length::ZERO {
            add("Packing behind the board", mounting.packing);
        }
        for way in mounting.flush_ways.iter().filter(|way| !way.taken && way.why_not.is_none()) {
            add(&format!("Or {}: projection", way.what), way.projection);
        }
    }
    rows
}

fn figure_row(job: &Job, name: &str, length: Length) -> FigureRow {
    FigureRow { name: name.to_owned(), figure: worked_out(length, job.unit) }
}

/// What the client chooses by: the raised stack and the folds of the shade as it is advised or chosen.
fn shade_rows(job: &Job, worked: &Worked<'_>) -> Vec<FigureRow> {
    let made = worked.shade.as_ref().and_then(|shade| shade.makeup.as_ref().ok());
    made.map(|made| {
        vec![
            figure_row(job, "Height when raised", made.raised.height),
            figure_row(
                job,
                if made.raised.from_head { "Of it, over the glass" } else { "Of it, below the top of the trim" },
                made.raised.covers,
            ),
            figure_row(job, "Height of a fold", made.folds.fold),
        ]
    })
    .unwrap_or_default()
}

fn leaving(house: &House, world: &World<'_>) -> Shown {
    let job = &house.job;
    let all = work::house_with(job, &numbers(job), Catalogue::standard(job.unit));
    let mut rows = Vec::new();
    for worked in &all.openings {
        let opening = worked.opening;
        let name = title(job, opening);
        let mut add = |stand: Standing, says: String, go: Touch| {
            let severity = if stand == Standing::Decide { Severity::Decide } else { Severity::TakeAgain };
            rows.push(LeavingRow { opening: name.clone(), says, severity, asks: stand.words().to_owned(), go });
        };
        if let Some((ask, _)) = order::asked(opening) {
            let go = touch(format!("answer_{}", ask.id), "Read it", Event::Answer { ask: ask.id });
            add(Standing::ReadAgain, format!("The workroom asks: {}", ask.why), go);
        }
        let open = order::open(opening, &order::needed(job, opening, &all.settings));
        for (n, reason) in worked.standing.reasons.iter().enumerate() {
            // What was asked, and what is not read, has a row of its own; what follows from too few readings is not said
            // before they are taken.
            let worst = reason.stand == worked.stand() && reason.stand != Standing::NotMeasured;
            let said = match reason.cause {
                Cause::InDoubt => true,
                Cause::Asked => false,
                _ => open.is_empty() || worst,
            };
            if said {
                let event = match reason.places.first().filter(|_| reason.cause == Cause::InDoubt) {
                    Some(place) => Event::GoTo { opening: opening.id, place: *place },
                    None => Event::ShowOpening { opening: opening.id },
                };
                let go = touch(format!("leaving_{}_{n}", opening.id), "Go there", event);
                add(reason.stand, format!("{} {}", reason.says, reason.to_do), go);
            }
        }
        if !open.is_empty() {
            let words: Vec<&str> = open.iter().map(|place| place.words()).collect();
            let go = touch(format!("measure_{}", opening.id), "Measure", Event::Measure { opening: opening.id });
            add(Standing::NotMeasured, format!("Not read yet: {}.", words.join(", ")), go);
        }
    }
    rows.sort_by_key(|row| std::cmp::Reverse(row.severity));
    let says = match rows.len() {
        0 if job.openings().next().is_none() => "There is no opening in this house yet.".to_owned(),
        0 => "Nothing is missing.".to_owned(),
        1 => "1 thing stands open.".to_owned(),
        n => format!("{n} things stand open."),
    };
    let here = world.houses.iter().find(|line| line.id == job.id).map_or(0, |line| line.alone);
    let says = if here == 0 {
        says
    } else {
        format!("{says} {} until the next exchange: take care of it.", capital(&alone_words(here)))
    };
    Shown::Leaving { screen: Leaving { says, rows, progress: house_progress(job, &all.settings) } }
}

fn sync(world: &World<'_>) -> SyncScreen {
    let sync = world.sync;
    let left = sync.here.saturating_sub(sync.confirmed);
    let says = match (sync.here, left) {
        (0, _) => "Nothing is written yet.".to_owned(),
        (_, 0) => format!("{} has all that was written here.", capital(sync.place.words())),
        (_, 1) => "1 fact is only here yet.".to_owned(),
        (_, n) => format!("{n} facts are only here yet."),
    };
    SyncScreen {
        says,
        here: sync.here,
        with_workroom: sync.confirmed.min(sync.here),
        place: sync.place.words().to_owned(),
        confirmed_ms: sync.confirmed_ms.and_then(|ms| i64::try_from(ms).ok()),
        waiting: sync.waiting,
    }
}

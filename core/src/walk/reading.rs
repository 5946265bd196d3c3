//! The screen of one reading: prompt, pad, flags while the tape is in hand.

use super::screen::{Figure, FlagCard, HowFar, Naming, PlaceChip, PlaceState, ReadingRow, ReadingScreen, Shown, Touch};
use super::screens::{flag_cards, house_progress, opening_progress};
use super::step::capital;
use super::{Event, Hand, PadKey, Theme, Walk, Why, drawing, entry_key, numbers, order, question, spoken, truth};
use crate::fact::House;
use crate::flag::{Flag, Severity};
use crate::house::{Opening, Place, Reading};
use crate::length::{Direction, Grain, Length, LengthUnit, Typed};
use crate::mount::{self, Leads};
use std::cmp::Reverse;
use uuid::Uuid;

/// Reasons to leave a place out that one touch gives. Common practice, no source.
const REASONS: [(&str, &str); 5] = [
    ("cannot_reach", "Cannot be reached"),
    ("in_the_way", "Something is in the way"),
    ("painted_shut", "Painted or fixed shut"),
    ("not_there", "There is none here"),
    ("not_wanted", "Not wanted for this one"),
];

pub(super) fn touch(id: impl Into<String>, label: impl Into<String>, event: Event) -> Touch {
    let label = label.into();
    Touch { id: id.into(), spoken: label.clone(), label, live: true, chosen: false, event }
}

impl Touch {
    pub(super) fn said(mut self, spoken: impl Into<String>) -> Self {
        self.spoken = spoken.into();
        self
    }

    pub(super) const fn live(mut self, live: bool) -> Self {
        self.live = live;
        self
    }

    pub(super) const fn chosen(mut self, chosen: bool) -> Self {
        self.chosen = chosen;
        self
    }
}

/// A length as it was typed, its echo in the other unit, and how it is said.
pub(super) fn figure(typed: &Typed) -> Figure {
    let unit = if typed.text().contains('\'') { LengthUnit::Foot } else { typed.unit() };
    Figure { text: typed.marked_text(), echo: echo(typed.value(), unit), spoken: spoken::length(typed.value(), unit) }
}

/// A worked-out length in the house's unit.
pub(super) fn worked_out(length: Length, unit: LengthUnit) -> Figure {
    Figure { text: length.show_marked(unit), echo: echo(length, unit), spoken: spoken::length(length, unit) }
}

/// The length in the other unit: to 0.1 mm, or to 1/16 in, said where that is rounded.
fn echo(length: Length, unit: LengthUnit) -> String {
    let (grain, other) =
        if unit.is_imperial() { (Grain::MM_TENTH, LengthUnit::Millimetre) } else { (Grain::INCH_16, LengthUnit::Inch) };
    let near = length.round(grain, Direction::Nearest);
    format!("{}{}", if near == length { "" } else { "about " }, near.show_marked(other))
}

impl Walk {
    pub(super) fn reading_screen(&self, house: &House, opening: &Opening, place: Place, why: &Why) -> Shown {
        let unit = self.pad_unit(&house.job);
        let settings = numbers(&house.job);
        let leads = order::leads(&house.job, opening, &settings);
        let needed = mount::needs(opening, leads);
        let entry = self.entry(opening.id, place);
        let length = entry.length(unit);
        let typed = length.as_ref().ok().and_then(Option::as_ref);
        // What is half typed is not judged, or the first digits of every number would be called wrong. The gravest is
        // said first, and of equal weight what concerns the place in hand; what is missing the places tell themselves.
        let mut flags = truth(&house.job, opening).flags;
        flags.sort_by_key(|flag| (Reverse(flag.severity), !flag.places.contains(&place)));
        let doubtful = doubtful(&flags);
        let said = typed.map(|typed| {
            let unit = if typed.text().contains('\'') { LengthUnit::Foot } else { unit };
            spoken::length(typed.value(), unit)
        });
        let problem = length.as_ref().err().map(|problem| format!("{}; {}", problem.what, problem.right));
        let pressed = |id: String, label: String, spoken: String, key: PadKey| {
            let live = entry.takes(key, unit, place.has_sign());
            touch(id, label, Event::Press { key }).said(spoken).live(live)
        };
        let digits = (1..=9).chain([0]).map(|digit: u8| {
            pressed(format!("digit_{digit}"), digit.to_string(), spoken::number(u64::from(digit)), PadKey::Digit(digit))
        });
        let quick: Vec<Touch> = if unit.is_imperial() {
            (1..=15)
                .map(|n: u8| {
                    let (label, spoken) = sixteenths(n);
                    let key = PadKey::Sixteenths(n);
                    pressed(format!("sixteenths_{n}"), label, spoken, key).chosen(entry.sixteenths() == n)
                })
                .collect()
        } else {
            (10..=24)
                .map(|n: u8| {
                    let spoken = format!("{}, and then two more digits", spoken::number(u64::from(n)));
                    pressed(format!("pair_{n}"), format!("{n}··"), spoken, PadKey::Pair(n))
                })
                .collect()
        };
        let mut edit = vec![pressed("erase".into(), "⌫".into(), "erase the last key".into(), PadKey::Erase)];
        edit.push(if unit.is_imperial() {
            pressed("feet".into(), "ft".into(), "feet".into(), PadKey::Feet)
        } else {
            pressed("point".into(), ".".into(), "point".into(), PadKey::Point)
        });
        if place.has_sign() {
            edit.push(pressed("sign".into(), "±".into(), "the other side".into(), PadKey::Sign));
        }
        let slot = format!("skip/{}", entry_key(opening.id, place));
        let ready = typed.is_some();
        let accept_says =
            said.as_ref().map_or_else(|| "keep: nothing is typed yet".to_owned(), |said| format!("keep {said}"));
        let opening_progress = opening_progress(opening, &needed);
        Shown::Reading {
            screen: ReadingScreen {
                opening: opening.id,
                place: place.code().to_owned(),
                prompt: capital(place.words()),
                how: place.how().to_owned(),
                because: self.because(opening, place, why, leads),
                ask: question::ask(house, opening, place, &needed),
                drawing: drawing::draw(opening, Some(place), &doubtful, false),
                typed: entry.text(),
                unit: unit.name().to_owned(),
                echo: typed.map(|typed| echo(typed.value(), unit)).unwrap_or_default(),
                problem: problem.clone().unwrap_or_default(),
                spoken: problem.or(said).unwrap_or_else(|| "nothing typed".to_owned()),
                digits: digits.collect(),
                quick,
                edit,
                units: Self::units(unit),
                accept: touch("accept", "Keep, next", Event::Accept).said(accept_says).live(ready),
                later: touch("later", "Later", Event::Later).said("read it later"),
                skips: REASONS
                    .iter()
                    .map(|(id, why)| {
                        touch(format!("skip_{id}"), *why, Event::Skip { why: (*why).to_owned() })
                            .said(format!("leave out: {why}"))
                    })
                    .collect(),
                skip_words: self.naming(slot, "Why it is left out", Vec::new()),
                flags: flag_cards(opening.id, &flags),
                before: opening
                    .readings
                    .iter()
                    .rev()
                    .filter(|taken| taken.place == place)
                    .map(|taken| row(opening, taken))
                    .collect(),
                places: self.chips(opening, place, &needed, &doubtful),
                opening_progress,
                house_progress: house_progress(&house.job, &settings),
                result: touch("result", "Result", Event::ShowOpening { opening: opening.id }),
                theme: self.theme_switch(),
                hand: self.hand_switch(),
            },
        }
    }

    fn because(&self, opening: &Opening, place: Place, why: &Why, leads: Leads) -> String {
        if let Some(id) = self.amending
            && let Some(taken) = opening.readings.iter().find(|taken| taken.id == id)
        {
            return format!("Instead of {}, which was typed wrong.", taken.typed.marked_text());
        }
        if let Some((ask, places)) = order::asked(opening)
            && places.contains(&place)
        {
            let by = if ask.by.is_empty() { "The workroom" } else { &ask.by };
            return format!("{by} asks: {}", ask.why);
        }
        match why {
            Why::Doubt(because) => because.clone(),
            Why::Next if !mount::needs(opening, Leads::Nowhere).contains(&place) => match leads {
                Leads::Outside(why) => {
                    format!("The shade will hang outside: {why}. So the trim and the wall are needed.")
                }
                Leads::Plumb(_) => {
                    "It seems to lean: this tells whether it does, or whether the sill is out of level.".to_owned()
                }
                Leads::Nowhere => String::new(),
            },
            Why::Chosen if order::is_read(opening, place) => "It was read before; both are kept.".to_owned(),
            _ => String::new(),
        }
    }

    fn chips(&self, opening: &Opening, now: Place, needed: &[Place], doubtful: &[Place]) -> Vec<PlaceChip> {
        let rest = Place::ALL.iter().filter(|place| !needed.contains(place));
        let chip = |place: &Place| {
            let entry = self.entry(opening.id, *place);
            let last = opening.standing(*place).last();
            let state = if !entry.is_empty() {
                PlaceState::Begun
            } else if last.is_some() && doubtful.contains(place) {
                PlaceState::Doubtful
            } else if last.is_some() {
                PlaceState::Read
            } else if order::is_skipped(opening, *place) {
                PlaceState::Skipped
            } else if needed.contains(place) {
                PlaceState::Open
            } else {
                PlaceState::Welcome
            };
            let text = match (entry.is_empty(), last) {
                (false, _) => format!("{}…", entry.text()),
                (true, Some(last)) => last.typed.marked_text(),
                (true, None) => String::new(),
            };
            let says = match state {
                PlaceState::Begun => "half typed",
                PlaceState::Doubtful => "in doubt",
                PlaceState::Read => "read",
                PlaceState::Skipped => "left out",
                PlaceState::Open => "to be read",
                PlaceState::Welcome => "not needed",
            };
            let event = Event::GoTo { opening: opening.id, place: *place };
            let go = touch(format!("place_{}", place.code()), capital(place.words()), event)
                .said(format!("{}, {says}", place.words()))
                .chosen(*place == now);
            PlaceChip { go, state, text }
        };
        needed.iter().chain(rest).map(chip).collect()
    }

    pub(super) fn units(now: LengthUnit) -> Vec<Touch> {
        [
            (LengthUnit::Inch, "unit_in", "in", "inches"),
            (LengthUnit::Foot, "unit_ft", "ft in", "feet and inches"),
            (LengthUnit::Millimetre, "unit_mm", "mm", "millimetres"),
        ]
        .map(|(unit, id, label, spoken)| touch(id, label, Event::UseUnit { unit }).said(spoken).chosen(unit == now))
        .to_vec()
    }

    fn theme_switch(&self) -> Touch {
        match self.theme {
            Theme::Indoors => {
                touch("theme", "Outdoors", Event::UseTheme { theme: Theme::Outdoors }).said("colours for bright light")
            }
            Theme::Outdoors => {
                touch("theme", "Indoors", Event::UseTheme { theme: Theme::Indoors }).said("colours for a room")
            }
        }
    }

    fn hand_switch(&self) -> Touch {
        match self.hand {
            Hand::Right => {
                touch("hand", "Left hand", Event::UseHand { hand: Hand::Left }).said("keys for the left hand")
            }
            Hand::Left => {
                touch("hand", "Right hand", Event::UseHand { hand: Hand::Right }).said("keys for the right hand")
            }
        }
    }

    pub(super) fn naming(&self, slot: impl Into<String>, prompt: &str, offers: Vec<Touch>) -> Naming {
        let slot = slot.into();
        let typed = self.words.get(&slot).cloned().unwrap_or_default();
        let event = Event::GiveWords { slot: slot.clone(), text: typed.clone() };
        let give = touch(format!("give_{slot}"), "Keep", event).live(!typed.trim().is_empty());
        Naming { slot, prompt: prompt.to_owned(), typed, offers, give }
    }
}

/// The places that a flag asks to take again.
pub(super) fn doubtful(flags: &[Flag]) -> Vec<Place> {
    let grave = flags.iter().filter(|flag| flag.severity == Severity::TakeAgain);
    let mut places: Vec<Place> = grave.flat_map(|flag| flag.places.iter().copied()).collect();
    places.sort_unstable();
    places.dedup();
    places
}

/// A key's fraction: its label and how it is said.
fn sixteenths(n: u8) -> (String, String) {
    let (mut parts, mut of) = (n, 16);
    while parts.is_multiple_of(2) {
        parts /= 2;
        of /= 2;
    }
    (format!("{parts}/{of}"), spoken::fraction(u64::from(parts), of))
}

/// A reading that was taken, as a row.
pub(super) fn row(opening: &Opening, taken: &Reading) -> ReadingRow {
    let stands = opening.stands(taken);
    let says = match &taken.withdrawn {
        Some(withdrawn) if withdrawn.why.is_empty() => "taken back".to_owned(),
        Some(withdrawn) => format!("taken back: {}", withdrawn.why),
        None if stands => String::new(),
        None => "corrected by a later one".to_owned(),
    };
    let figure = figure(&taken.typed);
    let words = taken.place.words();
    let amend = touch(format!("amend_{}", taken.id), "Correct", Event::Amend { reading: taken.id })
        .said(format!("correct {words} {}", figure.spoken))
        .live(stands);
    let event = Event::Withdraw { reading: taken.id, why: String::new() };
    let withdraw = touch(format!("withdraw_{}", taken.id), "Take back", event)
        .said(format!("take back {words} {}", figure.spoken))
        .live(stands);
    ReadingRow {
        id: taken.id,
        place: taken.place.code().to_owned(),
        place_words: capital(words),
        figure,
        at_ms: taken.at.timestamp_millis(),
        by: taken.by.clone(),
        stands,
        says,
        amend,
        withdraw,
    }
}

/// How far an opening is, for rows: "4 of 8 needed readings".
pub(super) fn progress_words(progress: HowFar) -> String {
    let left_out = match progress.skipped {
        0 => String::new(),
        n => format!(", {n} left out"),
    };
    format!("{} of {} needed readings{left_out}", progress.done, progress.of)
}

/// Where a flag leads: to the place that its words say to read.
pub(super) fn flag_card(opening: Uuid, flag: &Flag) -> FlagCard {
    let go = flag.leads_to().map(|place| {
        let event = Event::GoTo { opening, place };
        let label =
            if flag.severity == Severity::TakeAgain { "Read it now".to_owned() } else { capital(place.words()) };
        touch(format!("settle_{}_{}", flag.code, place.code()), label, event)
            .said(format!("read it now: the {}", place.words()))
    });
    FlagCard {
        code: flag.code.clone(),
        severity: flag.severity,
        asks: flag.severity.words().to_owned(),
        says: flag.says.clone(),
        settle: flag.to_do.clone(),
        go,
    }
}

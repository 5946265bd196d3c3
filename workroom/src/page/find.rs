//! Search over everything: houses, rooms, openings, addresses, cloths.
//!
//! The book's list of houses holds names and words, not where a room or an opening is. So an index of all houses is kept in
//! memory: worked out once beside the serving, then brought up to date by the facts that are new.

use super::views::Content;
use hangtrue_core::fact::fold;
use hangtrue_core::house::{Cloth, Job, Workroom};
use hangtrue_core::store::{Book, StoreProblem};
use maud::{Markup, html};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Rows of a kind shown at once.
const ROWS: usize = 40;
/// Houses that are worked out while the person waits; more are worked out beside.
pub(super) const AT_ONCE: usize = 50;
/// Facts read at once.
const STEP: usize = 1000;
/// The most that is looked for.
const MOST_CHARS: usize = 200;

/// Everything that is found, by house.
#[derive(Debug, Default)]
pub(super) struct Index {
    up_to: i64,
    houses: BTreeMap<Uuid, Entry>,
    workroom: Vec<String>,
}

/// One house.
#[derive(Debug)]
struct Entry {
    name: String,
    /// Name, address and client, in small letters.
    about: String,
    /// Those, and everything else of it.
    all: String,
    address: String,
    away: bool,
    rooms: Vec<Part>,
    openings: Vec<Part>,
    cloths: Vec<String>,
}

/// A room or an opening.
#[derive(Debug)]
struct Part {
    id: Uuid,
    /// As it is shown: "Study, East".
    name: String,
    /// What it is found by, in small letters: of an opening its room, itself, its cloth.
    key: String,
    /// Its own name alone, in small letters; of an opening with its cloth.
    own: String,
    cloth: String,
}

impl Entry {
    fn of(job: &Job) -> Self {
        let small = |text: &str| text.to_lowercase();
        let about = small(&[job.name.as_str(), &job.address, &job.reach].join("\n"));
        let part = |id, name: String, key: &str, own: &str, cloth: &str| Part {
            id,
            name,
            key: small(key),
            own: small(own),
            cloth: cloth.to_owned(),
        };
        let rooms = job.rooms.iter().map(|room| part(room.id, room.name.clone(), &room.name, &room.name, "")).collect();
        let openings: Vec<Part> = job
            .openings()
            .map(|(room, one)| {
                let cloth = one.choices.cloth.as_deref().unwrap_or_default();
                let (name, own) = (format!("{}, {}", room.name, one.name), format!("{}\n{cloth}", one.name));
                part(one.id, name, &format!("{}\n{own}", room.name), &own, cloth)
            })
            .collect();
        let cloths: Vec<String> = job.cloths.iter().map(|cloth| cloth.name.clone()).collect();
        let mut all = vec![about.clone(), small(&cloths.join("\n"))];
        all.extend(job.rooms.iter().map(|room| small(&room.name)));
        all.extend(openings.iter().map(|one| one.own.clone()));
        Self {
            name: job.name.clone(),
            about,
            all: all.join("\n"),
            address: job.address.clone(),
            away: job.away,
            rooms,
            openings,
            cloths,
        }
    }
}

impl Index {
    /// All houses of a book.
    pub(super) fn of(book: &Book) -> Result<Self, StoreProblem> {
        let mut index = Self { up_to: book.last_row()?, ..Self::default() };
        index.take(book, Workroom::ID)?;
        for line in book.houses()? {
            index.take(book, line.job)?;
        }
        Ok(index)
    }

    /// Brings it up to the book: the houses that new facts are of.
    pub(super) fn refresh(&mut self, book: &Book) -> Result<(), StoreProblem> {
        let mut changed = BTreeSet::new();
        loop {
            let facts = book.all_facts(self.up_to, STEP)?;
            let Some((last, _)) = facts.last() else { break };
            self.up_to = *last;
            changed.extend(facts.iter().map(|(_, fact)| fact.job));
        }
        for job in changed {
            self.take(book, job)?;
        }
        Ok(())
    }

    fn take(&mut self, book: &Book, job: Uuid) -> Result<(), StoreProblem> {
        let folded = fold(&book.facts(job)?);
        if job == Workroom::ID {
            let names = |cloths: &[Cloth]| cloths.iter().map(|cloth| cloth.name.clone()).collect();
            self.workroom = folded.map_or_else(Vec::new, |house| names(&house.job.cloths));
            return Ok(());
        }
        match folded {
            Some(house) => self.houses.insert(job, Entry::of(&house.job)),
            // Erased, or not opened yet.
            None => self.houses.remove(&job),
        };
        Ok(())
    }

    /// What has every word of a text.
    pub(super) fn find(&self, wanted: &str) -> Found {
        let wanted: String = wanted.to_lowercase().chars().take(MOST_CHARS).collect();
        let words: Vec<&str> = wanted.split_whitespace().collect();
        let mut found = Found::default();
        if words.is_empty() {
            return found;
        }
        let whole = words.join(" ");
        let mut cloths: BTreeMap<&str, Vec<(Uuid, &str)>> = BTreeMap::new();
        // The newest first: ids begin with their time.
        for (id, entry) in self.houses.iter().rev() {
            if !words.iter().all(|word| entry.all.contains(word)) {
                continue;
            }
            let path = format!("/house/{id}");
            // What the house itself does not have, a room or an opening must have.
            let rest: Vec<&str> = words.iter().copied().filter(|word| !entry.about.contains(word)).collect();
            if rest.is_empty() {
                let name = entry.name.to_lowercase();
                let more = if entry.away { "put away" } else { "" };
                let beside = match (entry.address.as_str(), more) {
                    ("", more) => more.to_owned(),
                    (address, "") => address.to_owned(),
                    (address, more) => format!("{address}; {more}"),
                };
                found.houses.add(&whole, &name, || Hit { name: entry.name.clone(), to: path.clone(), beside });
            }
            let holds = |key: &str, own: &str| {
                rest.iter().all(|word| key.contains(word)) && words.iter().any(|word| own.contains(word))
            };
            for room in entry.rooms.iter().filter(|room| holds(&room.key, &room.own)) {
                let to = format!("{path}#room-{}", room.id);
                found.rooms.add(&whole, &room.own, || Hit { name: room.name.clone(), to, beside: entry.name.clone() });
            }
            for one in entry.openings.iter().filter(|one| holds(&one.key, &one.own)) {
                found.openings.add(&whole, one.own.lines().next().unwrap_or_default(), || {
                    let beside = if one.cloth.is_empty() {
                        entry.name.clone()
                    } else {
                        format!("{}; {}", entry.name, one.cloth)
                    };
                    Hit { name: one.name.clone(), to: format!("{path}/opening/{}", one.id), beside }
                });
            }
            for cloth in &entry.cloths {
                let small = cloth.to_lowercase();
                if words.iter().all(|word| small.contains(word)) {
                    cloths.entry(cloth).or_default().push((*id, &entry.name));
                }
            }
        }
        for (cloth, houses) in cloths {
            let Some((id, house)) = houses.first() else { continue };
            let beside = match houses.len() {
                1 => format!("in {house}"),
                n => format!("in {house} and {} more", n - 1),
            };
            found.cloths.add(&whole, &cloth.to_lowercase(), || Hit {
                name: cloth.to_owned(),
                to: format!("/house/{id}"),
                beside,
            });
        }
        for cloth in self.workroom.iter().filter(|cloth| words.iter().all(|word| cloth.to_lowercase().contains(word))) {
            let to = format!("/house/{}/settings", Workroom::ID);
            let beside = "the workroom's own".to_owned();
            found.cloths.add(&whole, &cloth.to_lowercase(), || Hit { name: cloth.clone(), to, beside });
        }
        found
    }
}

/// One thing that was found.
#[derive(Debug)]
pub(super) struct Hit {
    name: String,
    to: String,
    beside: String,
}

/// What was found of a kind: the nearest names first, and how many there are in all.
#[derive(Debug, Default)]
pub(super) struct Hits {
    ranked: [Vec<Hit>; 3],
    count: usize,
}

impl Hits {
    /// Adds a hit behind those that are as near: the whole name, its beginning, any part of it.
    fn add(&mut self, wanted: &str, name: &str, hit: impl FnOnce() -> Hit) {
        let rank = if name == wanted {
            0
        } else if name.starts_with(wanted) {
            1
        } else {
            2
        };
        self.count += 1;
        if self.ranked[rank].len() < ROWS {
            self.ranked[rank].push(hit());
        }
    }

    fn rows(&self) -> impl Iterator<Item = &Hit> {
        self.ranked.iter().flatten().take(ROWS)
    }
}

/// What was found.
#[derive(Debug, Default)]
pub(super) struct Found {
    houses: Hits,
    rooms: Hits,
    openings: Hits,
    cloths: Hits,
}

/// The page of the search. `found` is nothing while the index is worked out.
pub(super) fn page(wanted: &str, found: Option<&Found>) -> Content {
    let title = if wanted.is_empty() { "Find".to_owned() } else { format!("Find: {wanted}") };
    let markup = html! {
        section.pane.finding-page {
            h1 { "Find" }
            form.find method="get" action="/find" role="search" {
                label { span { "Houses, rooms, openings, addresses, cloths" } input type="search" name="q" value=(wanted) maxlength=(MOST_CHARS) autocomplete="off" data-id="find" autofocus; }
                button.main type="submit" { "Find" }
            }
            @match found {
                None => p.lead role="status" { "The houses are being gathered; this takes some seconds after a start. Press Find again." },
                Some(found) => {
                    @let kinds = [("Houses", &found.houses), ("Openings", &found.openings), ("Rooms", &found.rooms), ("Cloths", &found.cloths)];
                    @let count: usize = kinds.iter().map(|(_, hits)| hits.count).sum();
                    @if wanted.trim().is_empty() {
                        p.soft { "Several words find what has all of them: \u{201C}heron study\u{201D}." }
                    } @else if count == 0 {
                        p role="status" { "Nothing has \u{201C}" (wanted.trim()) "\u{201D} in its name, address or cloth." }
                    } @else {
                        p.quiet role="status" { (count) " found" }
                    }
                    @for (kind, hits) in kinds { (group(kind, hits)) }
                }
            }
        }
    };
    Content::plain(&title, markup)
}

fn group(kind: &str, hits: &Hits) -> Markup {
    html! {
        @if hits.count > 0 {
            h2 { (kind) " " span.soft { (hits.count) } }
            ul.found { @for hit in hits.rows() { li { a href=(hit.to) { (hit.name) } @if !hit.beside.is_empty() { " " span.soft { (hit.beside) } } } } }
            @if hits.count > ROWS { p.soft { "And " (hits.count - hits.rows().count()) " more; another word finds fewer." } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moments;
    use hangtrue_core::house::file;

    fn shown(hits: &Hits) -> Vec<String> {
        hits.rows().map(|hit| hit.name.clone()).collect()
    }

    #[test]
    fn everything_is_found_by_its_words_and_what_changed_is_found_anew() {
        let folder = tempfile::tempdir().unwrap();
        let mut book = Book::open(&folder.path().join("a.book"), &mut moments::now).unwrap();
        let mut index = Index::of(&book).unwrap();
        let mut job = file::read(include_str!("../../../fixtures/houses/heron-lane.json")).unwrap();
        job.address = "12 Rope Walk, back door".to_owned();
        book.take_in(&job, "test", &mut moments::now).unwrap();
        assert_eq!(index.find("heron").houses.count, 0);
        index.refresh(&book).unwrap();
        assert_eq!(shown(&index.find("HERON lane").houses), ["Heron Lane, number nine"]);
        assert_eq!(shown(&index.find("rope walk").houses), ["Heron Lane, number nine"]);
        assert_eq!(shown(&index.find("study east").openings), ["Study, East"]);
        assert_eq!(shown(&index.find("heron study east").openings), ["Study, East"]);
        assert_eq!(shown(&index.find("study").rooms), ["Study"]);
        // A word of the house alone finds the house, not all that is in it.
        assert_eq!(index.find("heron").openings.count, 0);
        for cloth in &job.cloths {
            assert!(shown(&index.find(&cloth.name).cloths).contains(&cloth.name), "{}", cloth.name);
            let used =
                job.openings().filter(|(_, one)| one.choices.cloth.as_deref() == Some(cloth.name.as_str())).count();
            assert!(index.find(&cloth.name).openings.count >= used, "{}", cloth.name);
        }
        for nothing in ["", "  ", "heron observatory", "study\neast observatory"] {
            let found = index.find(nothing);
            assert_eq!(
                found.houses.count + found.rooms.count + found.openings.count + found.cloths.count,
                0,
                "{nothing:?}"
            );
        }
        // Erased, it is found no more.
        let body = hangtrue_core::fact::Body::HouseErased {};
        book.write(job.id, "test", job.unit, &[body], &mut moments::now).unwrap();
        index.refresh(&book).unwrap();
        assert_eq!(index.find("heron").houses.count, 0);
    }
}

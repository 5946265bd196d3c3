//! Kill -9 while writing, a thousand times: nothing that was acknowledged is lost, and the book opens at once.
//!
//! A real process writes (`src/bin/book_writer.rs`) and says over a pipe what was acknowledged; it is killed at
//! some instant, also while it opens the book, merges, keeps a photo or folds the log into the file. A killed process
//! loses nothing that the system had taken, so most kills are done on a folder in memory, where they fall on the
//! program's own work and not on its waiting; a tenth is done on the disk. `HANGTRUE_KILLS` sets another number of kills.

use hangtrue_core::store::Book;
use hangtrue_tests::kill;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Chance for the instants of the kills (xorshift64, Marsaglia 2003): the same each run; what the machine does in
/// between is not.
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % n
    }
}

#[test]
fn nothing_acknowledged_is_lost_in_a_thousand_kills() {
    let kills: u64 = std::env::var("HANGTRUE_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(1000);
    let memory = Path::new("/dev/shm");
    let on_disk = if memory.is_dir() { kills / 10 } else { kills };
    if kills > on_disk {
        kill_often(&tempfile::tempdir_in(memory).expect("a folder for the test"), kills - on_disk, "in memory");
    }
    kill_often(&tempfile::tempdir().expect("a folder for the test"), on_disk, "on the disk");
}

fn kill_often(folder: &tempfile::TempDir, kills: u64, place: &str) {
    let path = folder.path().join("houses.book");
    let mut chance = Chance(0x5EED);
    let mut moments = kill::moments(1_000_000);
    let mut acknowledged: BTreeMap<u64, BTreeSet<String>> = BTreeMap::new();
    let (mut readings, mut before_open, mut drafts_kept) = (0_usize, 0_usize, 0_usize);
    let mut draft_now: Option<String> = None;
    let began = Instant::now();
    for round in 0..kills {
        let mut child = Command::new(env!("CARGO_BIN_EXE_book_writer"))
            .arg(&path)
            .arg(round.to_string())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the writer starts");
        let mut lines = BufReader::new(child.stdout.take().expect("a pipe")).lines();
        let mut said = Vec::new();
        // Every eighth is killed while it starts and opens; the others after some acknowledgements and a moment.
        let (wait_for, then) =
            if round % 8 == 0 { (0, chance.below(6000)) } else { (1 + chance.below(24), chance.below(1500)) };
        for line in lines.by_ref().take(usize::try_from(wait_for).expect("a few")) {
            said.push(line.expect("a line"));
        }
        std::thread::sleep(Duration::from_micros(then));
        child.kill().expect("killed");
        child.wait().expect("ended");
        // What was in the pipe was acknowledged too; a line that was cut is not whole and has no "\n", yet its call had returned.
        said.extend(lines.map_while(Result::ok));
        if said.is_empty() {
            before_open += 1;
        }

        let book = Book::open(&path, &mut moments).expect("the book opens after a kill");
        assert_eq!(book.notices(), [], "round {round}");
        let facts = book.facts(kill::job(round)).expect("the round's facts");
        let there: BTreeSet<String> = facts.iter().map(|fact| fact.id.to_string()).collect();
        let mut known = BTreeSet::new();
        let (mut i, mut may_follow) = (0_u64, Some(kill::draft(round, 0)));
        for line in &said {
            let Some((kind, what)) = line.split_once(' ') else { continue };
            match kind {
                "draft" if what == kill::draft(round, i) => {
                    draft_now = Some(what.to_owned());
                    may_follow = None;
                }
                "reading" | "fact" if what.len() == 36 => {
                    assert!(there.contains(what), "round {round}: {kind} {what} was acknowledged and is lost");
                    known.insert(what.to_owned());
                    if kind == "reading" {
                        readings += 1;
                        i += 1;
                        draft_now = None;
                        may_follow = Some(kill::draft(round, i));
                    }
                }
                "photo" if what.len() == 64 => {
                    let photo = book.photos().read(what).expect("a whole photo");
                    assert!(photo.is_some(), "round {round}: photo {what} was acknowledged and is lost");
                }
                _ => {}
            }
        }
        // What is half typed is what was acknowledged last, or what the next call did before it could be said.
        let draft = book.draft("walk").expect("the draft");
        assert!(draft == draft_now || draft == may_follow, "round {round}: {draft:?}, {draft_now:?}, {may_follow:?}");
        drafts_kept += usize::from(draft.is_some());
        draft_now = draft;
        acknowledged.insert(round, known);
    }
    let took = began.elapsed();

    let book = Book::open(&path, &mut moments).expect("the book opens");
    book.check().expect("every page and every sum is right");
    for (round, known) in &acknowledged {
        let facts = book.facts(kill::job(*round)).expect("the round's facts");
        let there: BTreeSet<String> = facts.iter().map(|fact| fact.id.to_string()).collect();
        assert!(known.is_subset(&there), "round {round}");
    }
    let facts: usize = acknowledged.values().map(BTreeSet::len).sum();
    println!(
        "{kills} kills {place} in {took:.1?}: {facts} acknowledged facts ({readings} readings) all there; {before_open} kills \
         before the book was open, {drafts_kept} with digits half typed"
    );
    assert!(
        kills < 500 || (readings > 500 && before_open > 0 && drafts_kept > 0),
        "the kills hit all kinds of instants"
    );
}

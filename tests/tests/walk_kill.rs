//! The walk's promise at the pad: a process killed at any key comes back to the same screen with the same digits, and
//! no accepted reading is lost. Real processes, killed by the system; `HANGTRUE_KILLS` sets how many (1,000 each way).

use hangtrue_bindings::{HouseBook, event_from_json};
use hangtrue_core::walk::{Event, PadKey};
use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const FOLDER: &str = "HANGTRUE_KILL_FOLDER";
const SEED: &str = "HANGTRUE_KILL_SEED";

/// What a child says of its screen.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Saw {
    screen: String,
    houses: String,
    typed: String,
    facts: u32,
}

fn look(book: &HouseBook) -> Saw {
    let screen: Value = serde_json::from_str(&book.screen_json().unwrap()).unwrap();
    Saw {
        screen: book.screen_digest().unwrap(),
        houses: book.houses_digest().unwrap(),
        typed: screen.pointer("/shown/screen/typed").and_then(Value::as_str).unwrap_or_default().to_owned(),
        facts: book.facts_after(0, 1_000_000).unwrap().count,
    }
}

/// The process that is killed: not a test of its own, started by the tests below.
#[test]
#[ignore = "started by the other tests"]
fn child() {
    let Ok(folder) = std::env::var(FOLDER) else { return };
    let seed = std::env::var(SEED).unwrap().parse().unwrap();
    let book = HouseBook::open_seeded(folder, seed).unwrap();
    let say = || {
        let saw = look(&book);
        println!("SAW\t{}\t{}\t{}\t{}", saw.screen, saw.houses, saw.facts, saw.typed);
        std::io::stdout().flush().unwrap();
    };
    say();
    for line in std::io::stdin().lock().lines() {
        // A refusal changes nothing, and the answer shows it.
        let _ = book.act(event_from_json(line.unwrap()).unwrap());
        say();
    }
}

struct Running {
    child: Child,
    says: BufReader<std::process::ChildStdout>,
}

impl Running {
    fn start(folder: &Path, seed: u64) -> Self {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["child", "--exact", "--ignored", "--nocapture"])
            .env(FOLDER, folder)
            .env(SEED, seed.to_string())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let says = BufReader::new(child.stdout.take().unwrap());
        Self { child, says }
    }

    fn saw(&mut self) -> Saw {
        let mut line = String::new();
        loop {
            line.clear();
            assert!(self.says.read_line(&mut line).unwrap() > 0, "the child ended by itself");
            // The test runner's own words may stand on the same line before it.
            let Some(at) = line.find("SAW\t") else { continue };
            let parts: Vec<&str> = line[at..].trim_end_matches('\n').split('\t').collect();
            return Saw {
                screen: parts[1].to_owned(),
                houses: parts[2].to_owned(),
                facts: parts[3].parse().unwrap(),
                typed: parts[4].to_owned(),
            };
        }
    }

    fn tell(&mut self, event: &Event) {
        let to = self.child.stdin.as_mut().unwrap();
        writeln!(to, "{}", serde_json::to_string(event).unwrap()).unwrap();
        to.flush().unwrap();
    }

    /// SIGKILL, as the system does it.
    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

/// A small generator of its own, so that a failing run can be done again.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % sides
    }

    fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        let at = self.roll(u64::try_from(of.len()).unwrap());
        of[usize::try_from(at).unwrap()]
    }
}

fn key(dice: &mut Dice) -> PadKey {
    match dice.roll(10) {
        0 => PadKey::Erase,
        1 | 2 => PadKey::Sixteenths(u8::try_from(dice.roll(15) + 1).unwrap()),
        3 => PadKey::Feet,
        _ => PadKey::Digit(u8::try_from(dice.roll(10)).unwrap()),
    }
}

/// What a hand does at an opening: mostly digits, and all that the pad has.
fn event(dice: &mut Dice, opening: uuid::Uuid) -> Event {
    use hangtrue_core::house::Place;
    use hangtrue_core::length::LengthUnit;
    match dice.roll(20) {
        0..=3 => Event::Accept,
        4 => Event::Undo,
        5 => Event::Redo,
        6 => Event::Later,
        7 => Event::Skip { why: "in the way".to_owned() },
        8 => Event::UseUnit { unit: dice.pick(&[LengthUnit::Inch, LengthUnit::Foot, LengthUnit::Millimetre]) },
        9 => Event::GoTo { opening, place: dice.pick(Place::ALL) },
        10 => Event::Measure { opening },
        11 => Event::Back,
        _ => Event::Press { key: key(dice) },
    }
}

fn kills() -> u64 {
    std::env::var("HANGTRUE_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(1000)
}

/// A book with one opening, standing at its first reading. Gives the opening.
fn begin(folder: &Path) -> uuid::Uuid {
    let book = HouseBook::open_seeded(folder.to_string_lossy().into_owned(), 0).unwrap();
    let give = |slot: &str, text: &str| {
        book.act(Event::GiveWords { slot: slot.to_owned(), text: text.to_owned() }).unwrap();
    };
    give("house/in", "Birch End");
    give("room", "Study");
    let open = book.event_of("offer_window".to_owned()).unwrap();
    book.act(open).unwrap();
    let screen: Value = serde_json::from_str(&book.screen_json().unwrap()).unwrap();
    screen.pointer("/shown/screen/opening").unwrap().as_str().unwrap().parse().unwrap()
}

#[test]
fn killed_after_every_key_it_comes_back_to_the_same_screen() {
    let folder = tempfile::tempdir().unwrap();
    let opening = begin(folder.path());
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let mut before: Option<Saw> = None;
    let mut facts = 0;
    for n in 1..=kills() {
        let mut running = Running::start(folder.path(), n);
        let back = running.saw();
        if let Some(before) = &before {
            assert_eq!(&back, before, "after kill {n}");
        }
        running.tell(&event(&mut dice, opening));
        let now = running.saw();
        assert!(now.facts >= back.facts, "a fact is gone at {n}");
        running.kill();
        facts = now.facts;
        before = Some(now);
    }
    println!("{} processes killed after a key; {facts} facts, none lost", kills());
    assert!(facts > 3, "the hand did nothing");
}

#[test]
fn killed_in_the_midst_of_a_key_it_is_before_it_or_after_it() {
    let folder = tempfile::tempdir().unwrap();
    let opening = begin(folder.path());
    let mut dice = Dice(0x2545_F491_4F6C_DD1D);
    let (mut undone, mut done) = (0, 0);
    for n in 1..=kills() {
        let mut running = Running::start(folder.path(), n);
        let before = running.saw();
        // Digits and accepts only: what they may lead to is known beforehand.
        let event = match dice.roll(4) {
            0 => Event::Accept,
            1 if before.typed.is_empty() => Event::Measure { opening },
            _ => Event::Press { key: key(&mut dice) },
        };
        running.tell(&event);
        std::thread::sleep(Duration::from_micros(dice.roll(1500)));
        running.kill();
        let mut running = Running::start(folder.path(), 1_000_000 + n);
        let after = running.saw();
        running.kill();
        if after == before {
            undone += 1;
        } else {
            done += 1;
        }
        let at = || format!("kill {n}, {event:?}: {before:?} then {after:?}");
        match event {
            Event::Accept => {
                assert!(after.facts == before.facts || after.facts == before.facts + 1, "{}", at());
                // The reading is there and its digits gone, or neither.
                if after.facts == before.facts {
                    assert_eq!(after.typed, before.typed, "{}", at());
                }
            }
            _ => assert_eq!((after.facts, &after.houses), (before.facts, &before.houses), "{}", at()),
        }
    }
    println!("{} processes killed in the midst of a key: {undone} before it, {done} after it", kills());
    assert!(undone > 0 && done > 0, "the kills did not fall around the write: {undone} before, {done} after");
}

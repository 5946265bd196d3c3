//! A desk with one house, driven as the screens drive it, and a house of one window to drive.

use hangtrue_core::buying::Shop;
use hangtrue_core::fact::{Body, Fact, Moment, Pen, changes, fold};
use hangtrue_core::house::{Job, Place, Reading, file};
use hangtrue_core::length::{LengthUnit, Typed};
use hangtrue_core::walk::screen::Shown;
use hangtrue_core::walk::{Event, HouseLine, SyncLine, Walk, World};
use serde_json::json;
use uuid::Uuid;

/// The nth moment.
pub fn moment(n: u64) -> Moment {
    let mut random = [0; 10];
    random[2..].copy_from_slice(&n.to_be_bytes());
    Moment { ms: 1_780_000_000_000 + n * 1_000, random }
}

/// One window that is true and 35 13/16 by 60 in, a cloth of 54 in at 24.00 a yard, an hour at 45.00.
pub fn one_window() -> Job {
    let mut prices = serde_json::Map::new();
    for (what, _) in Shop::standard(LengthUnit::Inch).priced() {
        prices.insert(what, json!(0));
    }
    for (what, cents) in [
        ("board, 72 in", 600),
        ("board, 96 in", 800),
        ("board, 144 in", 1200),
        ("bottom bar, 72 in", 500),
        ("bottom bar, 96 in", 700),
        ("bottom bar, 144 in", 1000),
        ("lift", 3000),
    ] {
        assert!(prices.insert(what.to_owned(), json!(cents)).is_some(), "the shop sells \"{what}\"");
    }
    let read = |n: u32, place: &str, read: &str| json!({"id": format!("0192a3b4-0000-7000-8000-0000000001{n:02}"), "place": place, "read": read, "at": "2026-05-04T09:12:00Z"});
    let job = json!({
        "hangtrue_job": 1, "id": "0192a3b4-0000-7000-8000-000000000001", "name": "Sorrel Cottage", "unit": "in",
        "cloths": [{"name": "Moss", "width": "54", "price_cents": 2400}],
        "settings": {"hour_price": 4500},
        "trade": {"currency": "USD", "taxes": [{"name": "Sales tax", "rate": 7000, "on": "goods"}], "prices": prices},
        "rooms": [{"id": "0192a3b4-0000-7000-8000-000000000002", "name": "Study", "openings": [{
            "id": "0192a3b4-0000-7000-8000-000000000003", "name": "North",
            "readings": [
                read(1, "width_top", "35 13/16"), read(2, "width_middle", "35 13/16"), read(3, "width_bottom", "35 13/16"),
                read(4, "height_left", "60"), read(5, "height_right", "60"),
                read(6, "diagonal_rising", "69 7/8"), read(7, "diagonal_falling", "69 7/8"),
                read(8, "depth", "2 1/2"), read(9, "plumb_left", "0")
            ],
            "wall": {"head": "wood"},
            "choices": {"mount": "inside", "cloth": "Moss", "lining": "none"}
        }]}]
    });
    file::read(&job.to_string()).unwrap()
}

/// A desk with one house, as the screens drive it.
#[derive(Debug)]
pub struct Bench {
    /// The house with the workroom's own, which no fact of it holds.
    pub job: Job,
    facts: Vec<Fact>,
    walk: Walk,
    n: u64,
}

impl Bench {
    /// A desk with this house in its book.
    pub fn new(job: &Job) -> Self {
        let mut bench = Self { job: job.clone(), facts: Vec::new(), walk: Walk::default(), n: 100 };
        bench.write(&changes(None, job));
        bench.act(&Event::ShowHouse { house: job.id }).unwrap();
        bench
    }

    fn write(&mut self, bodies: &[Body]) {
        let mut pen = Pen::new(Uuid::from_u128(1), self.facts.iter().map(|fact| fact.stamp).max().unwrap_or_default());
        for body in bodies {
            self.n += 1;
            self.facts.push(pen.write(moment(self.n), self.job.id, "Ida", self.job.unit, body));
        }
    }

    /// Takes a touch.
    ///
    /// # Errors
    /// What was refused, in words.
    pub fn act(&mut self, event: &Event) -> Result<(), String> {
        let mut folded = fold(&self.facts).unwrap();
        folded.job.workroom = self.job.workroom.clone();
        let lines = [HouseLine { id: self.job.id, ..HouseLine::default() }];
        let world = World { houses: &lines, house: Some(&folded), sync: SyncLine::default() };
        let mut n = self.n;
        let step = self.walk.step(event, &world, &mut || {
            n += 1;
            moment(n)
        });
        self.n = n;
        let step = step.map_err(|refusal| refusal.reason)?;
        self.walk = step.walk;
        let bodies: Vec<Body> = step.writes.into_iter().map(|write| write.body).collect();
        self.write(&bodies);
        Ok(())
    }

    /// The house as it is now.
    pub fn now(&self) -> Job {
        let mut job = fold(&self.facts).unwrap().job;
        job.workroom = self.job.workroom.clone();
        job
    }

    /// Takes a reading now.
    pub fn read(&mut self, opening: Uuid, place: Place, read: &str) {
        let (id, at) = (moment(self.n + 1).uuid(), moment(self.n + 1).time());
        let typed = Typed::read(read, self.job.unit).expect("a length");
        let reading = Reading {
            id,
            place,
            typed,
            at,
            by: String::new(),
            with: String::new(),
            amends: None,
            answers: None,
            withdrawn: None,
        };
        self.write(&[Body::ReadingTaken { opening, reading }]);
    }

    /// What is shown.
    pub fn shown(&self) -> Option<Shown> {
        let mut folded = fold(&self.facts)?;
        folded.job.workroom = self.job.workroom.clone();
        Some(self.walk.screen(&World { houses: &[], house: Some(&folded), sync: SyncLine::default() }).shown)
    }

    /// The opening that is shown.
    pub fn shown_opening(&self) -> Option<Uuid> {
        match self.shown()? {
            Shown::Opening { screen } => Some(screen.id),
            _ => None,
        }
    }
}

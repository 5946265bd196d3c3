//! What the walk asks for joined with what the shade is made by: once nothing is left to read, nothing of the size waits
//! for a reading; what is asked for is used; and what a slip of the tape does to the trim is said. Openings are invented;
//! the rules are common practice, no source.

use hangtrue_core::flag::Severity;
use hangtrue_core::house::{Job, Mount, Opening, Place, file};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::mount::{Catalogue, Form};
use hangtrue_core::stand::{Cause, Stand};
use hangtrue_core::walk::needed;
use hangtrue_core::work::{self, Worked};
use proptest::prelude::*;
use serde_json::{Value, json};

const IN: LengthUnit = LengthUnit::Inch;

/// What an arch rises, and a sloping head, in sixteenths.
const RISE: i64 = 80;

/// An opening as it is, in sixteenths of an inch, and what is chosen for it.
#[derive(Clone, Debug)]
struct Window {
    wide: i64,
    high: i64,
    lean: i64,
    depth: i64,
    leg: i64,
    /// Of both sides together.
    reveals: i64,
    mount: usize,
    attach: usize,
    foot: usize,
    dark: bool,
    no_trim: bool,
    no_sill: bool,
    /// The shape of its head, as the job file has it.
    head: &'static str,
}

fn windows() -> impl Strategy<Value = Window> {
    let sizes = (300..1200_i64, 400..1500_i64, -24..=24_i64, 16..80_i64, 24..90_i64, 0..=8_i64);
    let heads = prop_oneof![4 => Just("level"), 1 => Just("arched"), 1 => Just("sloped")];
    let chosen = (0..4_usize, 0..5_usize, 0..3_usize, any::<[bool; 3]>(), heads);
    (sizes, chosen).prop_map(
        |((wide, high, lean, depth, leg, reveals), (mount, attach, foot, [dark, no_trim, no_sill], head))| Window {
            wide,
            high,
            lean,
            depth,
            leg,
            reveals,
            mount,
            attach,
            foot: if no_sill { foot.max(1) } else { foot },
            dark,
            no_trim,
            no_sill,
            head,
        },
    )
}

#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "openings are small")]
fn across(wide: i64, high: i64) -> i64 {
    ((wide * wide + high * high) as f64).sqrt().round() as i64
}

impl Window {
    /// What the tape says at a place.
    fn reads(&self, place: Place) -> i64 {
        match place {
            Place::WidthTop | Place::WidthUpper | Place::WidthMiddle | Place::WidthLower | Place::WidthBottom => {
                self.wide
            }
            Place::HeightRight if self.head == "sloped" => self.high + RISE,
            Place::HeightLeft | Place::HeightCentre | Place::HeightRight => self.high,
            Place::DiagonalRising => across(self.wide + self.lean, self.high),
            Place::DiagonalFalling => across(self.wide - self.lean, self.high),
            Place::PlumbLeft | Place::PlumbRight => self.lean,
            Place::LevelHead | Place::LevelSill | Place::FaceOut => 0,
            Place::Depth | Place::DepthLeft | Place::DepthRight => self.depth,
            Place::HeadRise => RISE,
            Place::PostFirst => self.wide / 3,
            Place::PostSecond => self.wide * 2 / 3,
            Place::SashTop | Place::ProudHeight => self.high / 2,
            Place::TrimWidth => self.wide + 2 * self.leg + self.reveals,
            Place::TrimHeight => self.high + self.leg + 4 + if self.head == "level" { 0 } else { RISE },
            Place::TrimLeg => self.leg,
            Place::TrimThickness => 12,
            Place::ProudMost => 10,
            Place::SillOut => 20,
            Place::SillPast => 8,
            Place::SillToApronFoot => 64,
            Place::SillToFloor | Place::SillToStop => 480,
            Place::WallAbove | Place::SashIn => 200,
            Place::WallLeft | Place::WallRight => 160,
            Place::CeilingToSill => {
                let over = if self.no_trim { 0 } else { self.leg + 4 } + if self.head == "level" { 0 } else { RISE };
                self.high + over + 200
            }
            Place::FaceAbove => 150,
        }
    }

    /// The house with these places read, each as it is or as `instead` has it.
    fn job(&self, places: &[Place], instead: &[(Place, i64)]) -> Job {
        let id = |n: usize| format!("0192a3b4-0000-7000-8000-{n:012}");
        let value = |place: Place| {
            let other = instead.iter().find(|(at, _)| *at == place);
            Length::inches(other.map_or_else(|| self.reads(place), |(_, value)| *value), 16).show(IN)
        };
        let readings: Vec<Value> = places
            .iter()
            .zip(100..)
            .map(|(place, n)| json!({"id": id(n), "place": place.code(), "read": value(*place), "at": "2026-05-04T09:12:00Z"}))
            .collect();
        let mut choices = json!({"dark": self.dark});
        match self.mount {
            0 => {}
            1 => choices["mount"] = json!("inside"),
            2 => choices["mount"] = json!("outside"),
            _ => choices["undecided"] = json!(true),
        }
        if let Some(attach) = ["flush", "brackets", "ceiling", "face"].get(self.attach) {
            choices["attach"] = json!(attach);
        }
        choices["foot"] = json!(["sill", "apron", "floor"][self.foot]);
        let text = json!({
            "hangtrue_job": 1, "id": id(1), "name": "Larch House", "unit": "in",
            "rooms": [{"id": id(2), "name": "Study", "openings": [{
                "id": id(3), "name": "North", "readings": readings, "choices": choices,
                "wall": {"no_trim": self.no_trim, "no_sill": self.no_sill, "head_shape": self.head},
            }]}],
        });
        file::read(&text.to_string()).unwrap()
    }

    /// The places that are read where a person reads what is asked for until nothing is, in order.
    fn walked(&self) -> Vec<Place> {
        let mut read = Vec::new();
        loop {
            let job = self.job(&read, &[]);
            let open = asked(&job).into_iter().find(|place| !read.contains(place));
            let Some(place) = open else { return read };
            read.push(place);
            assert!(read.len() <= Place::ALL.len(), "{read:?}");
        }
    }
}

fn the_opening(job: &Job) -> &Opening {
    job.openings().next().expect("one opening").1
}

fn asked(job: &Job) -> Vec<Place> {
    needed(job, the_opening(job), &job.settings().unwrap())
}

fn look<T>(job: &Job, at: impl FnOnce(&Worked<'_>) -> T) -> T {
    at(&work::house(job, Catalogue::standard(IN)).unwrap().openings[0])
}

/// All that is made of the readings, but for their number.
fn made_of(job: &Job) -> String {
    look(job, |one| format!("{:?} {:?} {:?} {:?}", one.mounts, one.truth.flags, one.truth.missing, one.standing))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 160, ..ProptestConfig::default() })]

    /// Once all that is asked for was read nothing waits for a reading: not the mount that is chosen, not the outside
    /// one that a lean, a shallow opening or light that is kept out leads to.
    #[test]
    fn a_walk_to_its_end_leaves_nothing_that_a_second_trip_must_read(window in windows()) {
        let read = window.walked();
        let job = window.job(&read, &[]);
        look(&job, |one| {
            prop_assert!(one.stand() != Stand::NotMeasured, "{:?} {:?}", read, one.standing);
            let waits = one.standing.reasons.iter().find(|reason| reason.cause == Cause::NotRead);
            prop_assert!(waits.is_none(), "{:?} {:?}", read, waits);
            prop_assert!(one.mounts.missing().is_empty());
            // Where it was left open both ways are known: each can be, or cannot whatever else is read.
            if window.mount == 3 {
                let outside: &[Form] = match window.attach {
                    0 => &[Form::OutsideFlush],
                    1 => &[Form::OutsideBrackets],
                    2 => &[Form::OutsideCeiling],
                    3 => &[Form::OutsideFace],
                    _ => &[Form::OutsideFlush, Form::OutsideBrackets],
                };
                for form in [Form::Inside].iter().chain(outside) {
                    let waits = one.mounts.cannot.iter().find(|refusal| refusal.form == *form && !refusal.missing.is_empty());
                    prop_assert!(waits.is_none(), "{:?}", waits);
                }
                prop_assert_eq!(one.stand(), Stand::Decide, "nothing is cut before it is decided");
            }
            // Nobody chose, and the shade goes outside (a lean past the limit of 1/2 in): that way
            // was worked out too.
            if window.mount == 0 && (window.lean.abs() >= 12 || window.dark) {
                let advised = one.mounts.advised;
                let outside = one.mounts.cannot.iter().filter(|refusal| refusal.form != Form::Inside);
                prop_assert!(
                    advised.is_some_and(|form| form != Form::Inside) || outside.clone().all(|refusal| refusal.missing.is_empty()),
                    "{:?} {:?} {:?}", advised, read, outside.collect::<Vec<_>>()
                );
            }
            Ok(())
        })?;
    }

    /// Where it hangs outside by choice, each reading that is asked for changes what is made of the opening, or checks
    /// one that does; and nothing is asked that only an inside shade needs.
    #[test]
    fn an_outside_shade_asks_for_nothing_that_it_does_not_use(window in windows()) {
        let window = Window { mount: 2, ..window };
        let read = window.walked();
        let whole = made_of(&window.job(&read, &[]));
        let trimmed = !window.no_trim && window.attach != 3;
        for place in &read {
            let checks = trimmed && matches!(place, Place::WidthTop | Place::HeightLeft | Place::TrimLeg);
            if checks {
                continue;
            }
            let rest: Vec<Place> = read.iter().copied().filter(|other| other != place).collect();
            prop_assert!(made_of(&window.job(&rest, &[])) != whole, "{:?} is not used: {:?}", place, window);
        }
        for place in [Place::DiagonalRising, Place::DiagonalFalling, Place::Depth] {
            prop_assert!(!read.contains(&place));
        }
        prop_assert!(read.len() <= 13 + usize::from(window.head == "arched"), "{:?}", read);
    }

    /// Trim that was misread by an inch and a half or more is said at once, at the trim; what was read well is not.
    #[test]
    fn a_slip_at_the_trim_is_said(window in windows(), slip in 24..64_i64, up in any::<bool>(), at_leg in any::<bool>()) {
        let window = Window { mount: 2, no_trim: false, attach: 0, head: "level", ..window };
        let read = window.walked();
        let apart = |job: &Job| look(job, |one| {
            one.truth.flags.iter().filter(|flag| flag.code.starts_with("trim_")).map(|flag| (flag.severity, flag.places.clone())).collect::<Vec<_>>()
        });
        prop_assert_eq!(apart(&window.job(&read, &[])), []);
        let place = if at_leg { Place::TrimLeg } else { Place::TrimWidth };
        let value = window.reads(place) + if up { slip } else { -slip };
        prop_assume!(value > 0);
        let found = apart(&window.job(&read, &[(place, value)]));
        prop_assert_eq!(found, [(Severity::TakeAgain, vec![Place::TrimWidth, Place::TrimLeg])]);
    }
}

/// By pencil: an opening of 34 3/8 with legs of 3 1/4 and 1/4 of jamb to be seen at each side has trim of
/// 34 3/8 + 2 x 3 1/4 + 2 x 1/4 = 41 3/8. Read as 43 3/8 it stands 2 too wide.
#[test]
fn the_pencil_s_trim() {
    let window = Window {
        wide: 550,
        high: 932,
        lean: 0,
        depth: 40,
        leg: 52,
        reveals: 8,
        mount: 2,
        attach: 0,
        foot: 0,
        dark: false,
        no_trim: false,
        no_sill: false,
        head: "level",
    };
    assert_eq!(Length::inches(window.reads(Place::TrimWidth), 16).show(IN), "41 3/8");
    let read = window.walked();
    let job = window.job(&read, &[(Place::TrimWidth, 694)]);
    let says = look(&job, |one| {
        one.truth.flags.iter().find(|flag| flag.code == "trim_width_apart").map(|flag| flag.says.clone())
    });
    let right = "The trim is 43 3/8 in wide; the opening of 34 3/8 in and two legs of 3 1/4 in make 40 7/8 in.";
    assert_eq!(says.as_deref(), Some(right));
    assert_eq!(the_opening(&job).choices.mount, Some(Mount::Outside));
}

/// Where there is no sill and nobody chose where it stops, the height above the floor is read while the tape is there.
#[test]
fn without_a_sill_the_floor_is_asked_for_before_anybody_chose_it() {
    let window = Window {
        wide: 576,
        high: 960,
        lean: 0,
        depth: 40,
        leg: 40,
        reveals: 8,
        mount: 2,
        attach: 4,
        foot: 0,
        dark: false,
        no_trim: true,
        no_sill: true,
        head: "level",
    };
    let read = window.walked();
    assert!(read.contains(&Place::SillToFloor), "{read:?}");
    // Once it is chosen, nothing else is wanted.
    let chosen = Window { foot: 2, ..window };
    look(&chosen.job(&read, &[]), |one| assert!(one.mounts.missing().is_empty() && one.mounts.advised.is_some()));
}

/// What is asked for, in its order, where it hangs outside over trim and stops above the sill.
#[test]
fn outside_over_trim_asks_for_two_readings_between_the_jambs() {
    let window = Window {
        wide: 576,
        high: 960,
        lean: 0,
        depth: 40,
        leg: 40,
        reveals: 8,
        mount: 2,
        attach: 4,
        foot: 0,
        dark: false,
        no_trim: false,
        no_sill: false,
        head: "level",
    };
    let read: Vec<&str> = window.walked().iter().map(|place| place.code()).collect();
    let right = [
        "width_top",
        "height_left",
        "trim_width",
        "trim_height",
        "trim_leg",
        "trim_thickness",
        "wall_above",
        "wall_left",
        "wall_right",
        "proud_most",
    ];
    assert_eq!(read, right);
}

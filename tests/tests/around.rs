//! What is around an opening against what hangs there: the corners of a bay, a head that is an arch or slopes, what opens
//! and what is turned behind the cloth. Sums by pencil stand beside their checks; the rules are common practice, from memory,
//! no source; the geometry is worked once more from corner points.

use hangtrue_core::fixing::{self, Hanging};
use hangtrue_core::flag::Severity;
use hangtrue_core::house::{Job, Place};
use hangtrue_core::length::{Length, LengthUnit, with_default_unit};
use hangtrue_core::mount::{Catalogue, Form, Mounting, Wedge};
use hangtrue_core::work::{self, Worked};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A house of one opening with these readings, and what is laid over it.
fn house(readings: &[(&str, String)], choices: &Value, wall: &Value) -> Job {
    let readings: Vec<Value> = readings
        .iter()
        .enumerate()
        .map(|(i, (place, read))| {
            let id = format!("0192a3b4-0000-7000-8000-{i:012}");
            json!({"id": id, "place": place, "read": read, "at": "2026-05-04T09:12:00Z"})
        })
        .collect();
    let opening = json!({"id": "0192a3b4-0000-7000-9000-000000000001", "name": "north", "readings": readings,
        "choices": choices, "wall": wall});
    let job = json!({"hangtrue_job": 1, "id": "0192a3b4-0000-7000-9000-000000000003", "name": "Larch House", "unit": "in",
        "rooms": [{"id": "0192a3b4-0000-7000-9000-000000000002", "name": "Study", "openings": [opening]}]});
    with_default_unit(LengthUnit::Inch, || serde_json::from_value(job)).unwrap()
}

fn texts(readings: &[(&'static str, &str)]) -> Vec<(&'static str, String)> {
    readings.iter().map(|(place, read)| (*place, (*read).to_owned())).collect()
}

/// Sixteenths of an inch as they are written.
fn sixteenths(n: i64) -> String {
    Length::inches(n, 16).show(LengthUnit::Inch)
}

fn look<T>(job: &Job, see: impl FnOnce(&Worked<'_>) -> T) -> T {
    let worked = work::house(job, Catalogue::standard(job.unit)).unwrap();
    see(&worked.openings[0])
}

fn got<T>(job: &Job, form: Form, see: impl FnOnce(&Mounting) -> T) -> T {
    look(job, |one| see(one.mounts.get(form).unwrap_or_else(|| panic!("{form:?}: {:?}", one.mounts.cannot))))
}

const TRIMMED: &[(&str, &str)] = &[
    ("width_top", "34"),
    ("height_left", "58"),
    ("trim_width", "41"),
    ("trim_height", "61 1/2"),
    ("trim_leg", "3 1/2"),
    ("trim_thickness", "1/2"),
    ("wall_above", "9"),
    ("proud_most", "1/2"),
];

/// By pencil: a 1x2 on its face stands out 3/4. In a bay of three faces (135 degrees) it loses 3/4 x tan 22.5 = 0.3107 to
/// the corner, and 1/2 more is kept: 0.8107, up to 13/16. With the 1/2 that it passes the trim by it needs 1 5/16. The same
/// board on brackets stands out 1 1/2: 0.6213 and 1/2 are 1.1213, up to 1 1/8; it needs 1 5/8.
#[test]
fn the_pencil_s_bay() {
    let at = |left: &str| {
        let more = [("wall_left", left), ("wall_right", "6")];
        let readings: Vec<_> = texts(TRIMMED).into_iter().chain(texts(&more)).collect();
        house(&readings, &json!({"mount": "outside"}), &json!({"corner_left": 135}))
    };
    look(&at("1 5/16"), |one| {
        assert!(one.mounts.get(Form::OutsideFlush).is_some(), "{:?}", one.mounts.cannot);
        let brackets = one.mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideBrackets).unwrap();
        assert!(brackets.why.contains("it needs 1 5/8 in of wall, and there is 1 5/16 in"), "{}", brackets.why);
        assert!(brackets.would.contains("3/16 in or less"), "{}", brackets.would);
    });
    look(&at("1 1/4"), |one| {
        let flush = one.mounts.cannot.iter().find(|refusal| refusal.form == Form::OutsideFlush).unwrap();
        assert!(flush.why.contains("it needs 1 5/16 in of wall, and there is 1 1/4 in"), "{}", flush.why);
        assert!(flush.would.contains("7/16 in or less"), "{}", flush.would);
    });
    // A corner that turns away takes nothing.
    let readings: Vec<_> =
        texts(TRIMMED).into_iter().chain(texts(&[("wall_left", "1/2"), ("wall_right", "6")])).collect();
    let away = house(&readings, &json!({"mount": "outside"}), &json!({"corner_left": 225}));
    got(&away, Form::OutsideFlush, |_| ());
}

const PLASTER: &[(&str, &str)] = &[
    ("width_top", "36"),
    ("width_middle", "36"),
    ("width_bottom", "36"),
    ("wall_above", "14"),
    ("wall_left", "6"),
    ("wall_right", "6"),
    ("proud_most", "0"),
    ("level_sill", "0"),
];

/// By pencil: without trim the screw of a 1x2 on its face goes through its middle, 3/4 above its foot, and keeps 1 in off
/// the plaster's edge: the foot stands 1/4 above the head. The head is 1 in higher at the right: so counted at the left it
/// is 1 1/4, and the length is 60 + 1 1/4 + 1 1/2 - 1/4 = 62 1/2.
#[test]
fn the_pencil_s_sloping_head() {
    let readings: Vec<_> =
        texts(PLASTER).into_iter().chain(texts(&[("height_left", "60"), ("height_right", "61")])).collect();
    for shape in ["level", "sloped"] {
        let job = house(
            &readings,
            &json!({"mount": "outside", "attach": "flush"}),
            &json!({"no_trim": true, "head_shape": shape}),
        );
        got(&job, Form::OutsideFlush, |mounting| {
            assert_eq!(mounting.above_trim, Length::inches(5, 4), "{shape}");
            assert_eq!(mounting.length.total, Length::inches(125, 2), "{shape}");
            assert_eq!(mounting.edge_slopes, Some(Wedge { at_right: true, opens: Length::whole_inches(1) }));
        });
        look(&job, |one| {
            let order = fixing::steps(&Hanging {
                mounting: one.mounts.get(Form::OutsideFlush).unwrap(),
                fixing: one.shade.as_ref().unwrap().fixing.as_ref().unwrap(),
                choices: &one.opening.choices,
                wall: &one.opening.wall,
                at_the_hole: &[],
                settings: &job.settings().unwrap(),
                unit: job.unit,
            });
            let line = "above the top of the opening, counted at its left, which is lower";
            assert!(order.window.iter().any(|step| step.contains(line)), "{:?}", order.window);
        });
    }
}

/// By pencil: an arch that begins 48 above the sill and rises 9 has its crown at 57; the foot of a 1x2 on its face stands
/// 1/4 above it (as above), and the length is 57 + 1/4 + 1 1/2 - 1/4 = 58 1/2.
#[test]
fn the_pencil_s_arch() {
    let heights = [("height_left", "48"), ("height_right", "48")];
    let readings: Vec<_> = texts(PLASTER).into_iter().chain(texts(&heights)).collect();
    let wall = json!({"no_trim": true, "head_shape": "arched"});
    look(&house(&readings, &json!({}), &wall), |one| {
        assert_eq!(one.mounts.advised, None);
        assert_eq!(one.mounts.missing(), [Place::HeadRise]);
        let inside = one.mounts.cannot.iter().find(|refusal| refusal.form == Form::Inside).unwrap();
        assert!(inside.why.contains("arch"), "{}", inside.why);
        assert!(one.truth.missing.is_empty(), "what an inside shade needs is not asked for");
    });
    let readings: Vec<_> = readings.into_iter().chain(texts(&[("head_rise", "9")])).collect();
    let job = house(&readings, &json!({"attach": "flush", "mount": "outside"}), &wall);
    got(&job, Form::OutsideFlush, |mounting| {
        assert_eq!(mounting.length.total, Length::inches(117, 2));
        assert_eq!(mounting.above_trim, Length::inches(1, 4));
    });
    look(&job, |one| {
        let raised = &one.shade.as_ref().unwrap().makeup.as_ref().unwrap().raised;
        // Of the stack, what is below the crown: its height less the 1 3/4 that the board's top stands above it.
        assert_eq!(raised.covers, (raised.height - Length::inches(7, 4)).max(Length::ZERO));
    });
}

/// The shallowest of the depths counts: 1 1/2 is needed for a flush 1x2, and the right is 1/2 in too shallow.
#[test]
fn the_shallowest_depth_counts() {
    let readings = texts(&[
        ("width_top", "35 7/8"),
        ("width_middle", "35 7/8"),
        ("width_bottom", "35 7/8"),
        ("height_left", "60"),
        ("height_right", "60"),
        ("depth", "2"),
        ("depth_left", "2 1/2"),
        ("depth_right", "1"),
    ]);
    got(&house(&readings, &json!({"mount": "inside"}), &json!({})), Form::Inside, |mounting| {
        assert_eq!(mounting.proud, Length::inches(1, 2));
    });
}

/// A rectangle along a face that leaves the corner in this direction: its four corner points, from where it begins to where
/// it ends, standing out so far to the side that is turned to the other face.
fn along(angle: f64, from: f64, to: f64, out: f64, turn: f64) -> [(f64, f64); 4] {
    let (along, across) = ((angle.cos(), angle.sin()), ((angle + turn).cos(), (angle + turn).sin()));
    [(from, 0.0), (to, 0.0), (to, out), (from, out)]
        .map(|(a, b)| (along.0 * a + across.0 * b, along.1 * a + across.1 * b))
}

/// True where two convex figures are apart: some edge of one has all of the other on its far side.
fn are_apart(one: &[(f64, f64); 4], other: &[(f64, f64); 4]) -> bool {
    let splits = |one: &[(f64, f64); 4], other: &[(f64, f64); 4]| {
        (0..4).any(|i| {
            let ((x1, y1), (x2, y2)) = (one[i], one[(i + 1) % 4]);
            let side = |(x, y): (f64, f64)| (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1);
            let own: f64 = one.iter().map(|point| side(*point)).sum();
            other.iter().all(|point| side(*point) * own.signum() <= 1e-9)
        })
    };
    splits(one, other) || splits(other, one)
}

proptest! {
    /// Two shades that are both taken beside one corner of a bay do not meet, whatever each stands out by; and one that is
    /// refused there would come nearer than its half of the corner.
    #[test]
    fn boards_in_a_bay_never_meet(
        degrees in 60u16..180,
        walls in (4i64..80, 4i64..80),
        overlaps in (0i64..24, 0i64..24),
        proud in (0i64..40, 0i64..40),
    ) {
        let shade = |left: bool, wall: i64, overlap: i64, proud: i64| {
            let (near, far) = if left { ("wall_left", "wall_right") } else { ("wall_right", "wall_left") };
            let mut readings = texts(TRIMMED);
            readings.retain(|(place, _)| *place != "proud_most");
            readings.extend([(near, sixteenths(wall)), (far, "20".to_owned()), ("proud_most", sixteenths(proud))]);
            let corner = if left { "corner_left" } else { "corner_right" };
            house(&readings, &json!({"mount": "outside", "side_overlap": sixteenths(overlap)}), &json!({corner: degrees}))
        };
        let inch = |length: Length| f64::from(i32::try_from(length.nm() / 1000).unwrap()) / 25_400.0;
        let taken = |job: &Job, wall: i64| -> Vec<(f64, f64)> {
            look(job, |one| {
                let wall = Length::inches(wall, 16);
                let outside = one.mounts.can.iter().filter(|way| way.form != Form::Inside);
                outside.map(|way| (inch(wall - way.overlap), inch(way.projection))).collect()
            })
        };
        let one = taken(&shade(false, walls.0, overlaps.0, proud.0), walls.0);
        let other = taken(&shade(true, walls.1, overlaps.1, proud.1), walls.1);
        let angle = f64::from(degrees).to_radians();
        let quarter = std::f64::consts::FRAC_PI_2;
        for (from, out) in &one {
            let a = along(0.0, *from, from + 40.0, *out, quarter);
            for (other_from, other_out) in &other {
                let b = along(angle, *other_from, other_from + 40.0, *other_out, -quarter);
                prop_assert!(are_apart(&a, &b), "{degrees}: {from} out {out}, {other_from} out {other_out}");
            }
        }
    }

    /// Over plaster no screw comes nearer to the edge than it may, at either end, however the head slopes; the cloth still
    /// ends above the sill.
    #[test]
    fn over_plaster_every_screw_has_wall_behind_it(left in 700i64..1100, rise in -60i64..60, sloped: bool) {
        let mut readings = texts(PLASTER);
        readings.extend([("height_left", sixteenths(left)), ("height_right", sixteenths(left + rise))]);
        let shape = if sloped { "sloped" } else { "level" };
        let job = house(&readings, &json!({"mount": "outside"}), &json!({"no_trim": true, "head_shape": shape}));
        let settings = job.settings().unwrap();
        // What reading cannot tell is no slope.
        let told = settings.slope_limit;
        let (low, high) = (Length::inches(left.min(left + rise), 16), Length::inches(left.max(left + rise), 16));
        look(&job, |one| {
            for way in &one.mounts.can {
                let holes = way.bracket.as_ref().map_or_else(
                    || way.board.width.split(2, 1),
                    |bracket| bracket.wall_holes.iter().copied().min().unwrap(),
                );
                if way.form.is_screwed_up() {
                    continue;
                }
                let above_sill = low + way.above_trim + holes;
                prop_assert!(above_sill - high >= settings.plaster_edge - told, "{:?} {rise} {:?} {:?}", way.form, way.edge_slopes, one.truth.shape.slope_head);
                prop_assert_eq!(way.above_sill - way.length.total, settings.outside_foot_clearance);
            }
            Ok(())
        })?;
    }

    /// What opens into the room passes below the raised shade or behind it, or a person was asked; and nobody is asked
    /// where it does.
    #[test]
    fn a_sash_that_opens_passes_or_somebody_was_asked(
        high in 640i64..1200, depth in 28i64..80, top in 300i64..1200, reach in 1i64..400, outside: bool,
    ) {
        let mut readings = texts(TRIMMED);
        readings.retain(|(place, _)| !["height_left", "trim_height"].contains(place));
        readings.extend(texts(&[("width_middle", "34"), ("width_bottom", "34"), ("wall_left", "6"), ("wall_right", "6")]));
        readings.extend([
            ("height_left", sixteenths(high)),
            ("height_right", sixteenths(high)),
            ("trim_height", sixteenths(high + 56)),
            ("depth", sixteenths(depth)),
            ("sash_top", sixteenths(top.min(high))),
            ("sash_in", sixteenths(reach)),
        ]);
        let mount = if outside { "outside" } else { "inside" };
        let job = house(&readings, &json!({"mount": mount}), &json!({}));
        let settings = job.settings().unwrap();
        look(&job, |one| {
            let (Some(way), Some(shade)) = (one.mounts.advised(), &one.shade) else { return Ok(()) };
            let Ok(made) = &shade.makeup else { return Ok(()) };
            let asked = one.flags().iter().any(|flag| flag.code == "sash_meets_shade" && flag.severity == Severity::Decide);
            let foot = way.above_sill - made.raised.height;
            let below = Length::inches(top.min(high), 16) + settings.sash_clearance <= foot;
            // The front of an inside board is the opening's front, or proud of it.
            let before = Length::inches(depth, 16) + if outside { way.projection } else { way.proud };
            let behind = Length::inches(reach, 16) + settings.sash_clearance <= before;
            prop_assert_eq!(asked, !(below || behind));
            Ok(())
        })?;
    }

    /// Under a slope or an arch no reading is called a slip for what the head is; and all that is asked for is enough.
    #[test]
    fn a_head_that_is_not_level_is_no_slip(wide in 300i64..900, high in 500i64..1100, rise in 20i64..400, arched: bool, right: bool) {
        let mut readings: Vec<(&str, String)> =
            ["width_top", "width_middle", "width_bottom"].map(|place| (place, sixteenths(wide))).to_vec();
        let heights = match (arched, right) {
            (true, _) => (high, high),
            (false, true) => (high, high + rise),
            (false, false) => (high + rise, high),
        };
        readings.extend([("height_left", sixteenths(heights.0)), ("height_right", sixteenths(heights.1))]);
        readings.extend(texts(&[("wall_above", "40"), ("wall_left", "6"), ("wall_right", "6"), ("proud_most", "0")]));
        if arched {
            readings.push(("head_rise", sixteenths(rise)));
        }
        let shape = if arched { "arched" } else { "sloped" };
        let job = house(&readings, &json!({"mount": "outside"}), &json!({"no_trim": true, "head_shape": shape}));
        look(&job, |one| {
            let likely = one.truth.suspects.iter().find(|suspect| suspect.chance > 0.1);
            prop_assert!(one.truth.holds && likely.is_none(), "{likely:?} {:?}", one.truth.flags);
            let told = one.truth.flags.iter().find(|flag| flag.code == "heights_differ");
            prop_assert!(told.is_none(), "{told:?}");
            prop_assert!(one.mounts.advised.is_some(), "{:?}", one.mounts.cannot);
            for way in one.mounts.can.iter().filter(|way| !way.form.is_screwed_up()) {
                let crown = if arched { high + rise } else { high.max(heights.0).max(heights.1) };
                let foot = way.above_sill - way.adds_above;
                prop_assert!(foot >= Length::inches(crown, 16), "{:?}", way.form);
            }
            Ok(())
        })?;
    }
}

//! The packer against an independent check of its plans and, on small cases, against every plan there is.

use super::pack::{Effort, Held, Packing, Piece, Way, pack};
use proptest::prelude::*;

/// Re-checks a plan from its places alone.
fn holds(pieces: &[Piece], width: i64, packing: &Packing) -> Result<(), String> {
    if packing.spots.len() != pieces.len() {
        return Err(format!("{} spots for {} pieces", packing.spots.len(), pieces.len()));
    }
    let mut length = 0;
    for (i, spot) in packing.spots.iter().enumerate() {
        let way = pieces[i].ways[spot.way];
        let phase_holds = match way.y {
            Held::Every { at, every } => (spot.y + packing.origin - at).rem_euclid(every) == 0,
            _ => true,
        };
        if spot.piece != i
            || spot.x < 0
            || spot.x + way.w > width
            || spot.y < 0
            || !way.x.allows(spot.x)
            || !phase_holds
        {
            return Err(format!("{spot:?} of {way:?}"));
        }
        length = length.max(spot.y + way.h);
        for other in &packing.spots[..i] {
            let beside = pieces[other.piece].ways[other.way];
            let clear = spot.x + way.w <= other.x
                || other.x + beside.w <= spot.x
                || spot.y + way.h <= other.y
                || other.y + beside.h <= spot.y;
            if !clear {
                return Err(format!("{spot:?} lies over {other:?}"));
            }
        }
    }
    if length != packing.length || packing.bound > packing.length {
        return Err(format!("length {length}, said {} with bound {}", packing.length, packing.bound));
    }
    Ok(())
}

/// Every plan there is, by trying every whole place below the best so far: only for a handful of small pieces.
fn shortest(pieces: &[Piece], width: i64, origin: i64, most: i64) -> i64 {
    fn go(pieces: &[Piece], width: i64, origin: i64, placed: &mut Vec<(i64, i64, i64, i64)>, best: &mut i64) {
        let Some(piece) = pieces.get(placed.len()) else {
            *best = placed.iter().map(|spot| spot.1 + spot.3).max().unwrap_or(0);
            return;
        };
        for way in &piece.ways {
            for y in 0.. {
                if y + way.h >= *best {
                    break;
                }
                if let Held::Every { at, every } = way.y
                    && (y + origin - at).rem_euclid(every) != 0
                {
                    continue;
                }
                for x in 0..=(width - way.w) {
                    let clear = way.x.allows(x)
                        && placed.iter().all(|&(ox, oy, ow, oh)| {
                            x + way.w <= ox || ox + ow <= x || y + way.h <= oy || oy + oh <= y
                        });
                    if clear {
                        placed.push((x, y, way.w, way.h));
                        go(pieces, width, origin, placed, best);
                        placed.pop();
                    }
                }
            }
        }
    }
    let mut best = most + 1;
    go(pieces, width, origin, &mut Vec::new(), &mut best);
    best
}

const LIGHT: Effort = Effort { improve: 40_000, prove: 40_000 };

fn one(w: i64, h: i64, x: Held, y: Held) -> Piece {
    Piece { ways: vec![Way { w, h, x, y }] }
}

fn held(at: i64, every: i64) -> Held {
    if every == 0 { Held::Free } else { Held::every(at, every) }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, ..ProptestConfig::default() })]

    /// Four or five small pieces: the bound never exceeds the true optimum, a plan that says it is proven is it.
    #[test]
    fn small_plans_against_every_plan(
        sizes in prop::collection::vec((1_i64..8, 1_i64..6, 0_i64..4, 0_i64..3), 1..5),
        repeat in prop::sample::select(vec![0_i64, 3, 4]),
        across in prop::sample::select(vec![0_i64, 0, 2]),
        free_start in any::<bool>(), turn in any::<bool>(),
    ) {
        let width = 8;
        let pieces: Vec<Piece> = sizes.iter().map(|&(w, h, phase, kind)| {
            let y = if kind == 2 { Held::Free } else { held(phase, repeat) };
            let x = if across > 0 && w <= 6 { held(phase, across) } else { Held::Free };
            let mut piece = one(w, h, x, y);
            if turn && kind == 1 && h <= width {
                piece.ways.push(Way { w: h, h: w, x: Held::Free, y: held(0, repeat) });
            }
            piece
        }).collect();
        let free = (free_start && repeat > 0).then_some(repeat);
        let packing = pack(&pieces, width, free, LIGHT);
        prop_assert_eq!(holds(&pieces, width, &packing), Ok(()));
        let origins = free.map_or(0..1, |repeat| 0..repeat);
        let best = origins.map(|origin| shortest(&pieces, width, origin, packing.length)).min().unwrap();
        prop_assert!(packing.bound <= best, "bound {} above the optimum {best}", packing.bound);
        prop_assert!(best <= packing.length);
    }

    /// More pieces than can be tried: places and bounds hold.
    #[test]
    fn larger_plans_hold(
        sizes in prop::collection::vec((3_i64..54, 20_i64..100, 0_i64..27), 5..30),
        repeat in prop::sample::select(vec![0_i64, 9, 27]),
    ) {
        let pieces: Vec<Piece> =
            sizes.iter().map(|&(w, h, phase)| one(w, h, Held::Free, held(phase, repeat))).collect();
        let packing = pack(&pieces, 54, (repeat > 0).then_some(repeat), LIGHT);
        prop_assert_eq!(holds(&pieces, 54, &packing), Ok(()));
    }
}

/// The same input gives the same plan.
#[test]
fn plans_repeat() {
    let pieces: Vec<Piece> =
        (0..14).map(|i| one(20 + i * 7 % 30, 50 + i * 13 % 40, Held::Free, Held::every(i * 5, 27))).collect();
    let first = pack(&pieces, 54, Some(27), LIGHT);
    assert_eq!(first, pack(&pieces, 54, Some(27), LIGHT));
}

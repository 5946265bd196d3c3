//! Cutting instances: the public ones of `../shared/data`, and classes made by their published recipes.

use hangtrue_core::cutlist::{Piece, Request, Stock};
use hangtrue_core::length::Length;
use hangtrue_core::settings::Settings;

/// Pieces out of one stock length, without kerf.
pub(crate) struct Instance {
    pub(crate) name: String,
    pub(crate) family: String,
    pub(crate) capacity: i64,
    /// One entry a piece.
    pub(crate) sizes: Vec<i64>,
    /// The optimum, where it is known.
    pub(crate) optimum: Option<u32>,
}

impl Instance {
    /// As a request in whole millimetres. Pieces are handed over in a shuffled order.
    pub(crate) fn request(&self) -> Request {
        let mut sizes = self.sizes.clone();
        Draw::new(7).shuffle(&mut sizes);
        Request {
            kerf: Length::ZERO,
            trim: Length::ZERO,
            stock: vec![Stock { length: Length::mm(self.capacity), cents: None, count: None }],
            pieces: sizes
                .iter()
                .map(|size| Piece { name: String::new(), length: Length::mm(*size), count: 1 })
                .collect(),
            ..Request::of_house(&Settings::MILLIMETRES)
        }
    }
}

/// A small generator of our own (SplitMix64), so that the same instances are made everywhere.
pub(crate) struct Draw(u64);

impl Draw {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number from `low` to `high`, both included.
    pub(crate) fn between(&mut self, low: i64, high: i64) -> i64 {
        let span = u64::try_from(high - low + 1).unwrap();
        low + i64::try_from(self.next() % span).unwrap()
    }

    pub(crate) fn shuffle<T>(&mut self, things: &mut [T]) {
        for i in (1..things.len()).rev() {
            let j = usize::try_from(self.next() % (i as u64 + 1)).unwrap();
            things.swap(i, j);
        }
    }
}

/// The public instances of this text, `cutting_1d_instances.jsonl` of the public data.
pub(crate) fn published(text: &str) -> Vec<Instance> {
    text.lines()
        .map(|line| {
            let row: serde_json::Value = serde_json::from_str(line).unwrap();
            let numbers =
                |key: &str| -> Vec<i64> { row[key].as_array().unwrap().iter().map(|n| n.as_i64().unwrap()).collect() };
            let sizes = numbers("sizes")
                .into_iter()
                .zip(numbers("demands"))
                .flat_map(|(size, n)| std::iter::repeat_n(size, usize::try_from(n).unwrap()))
                .collect();
            Instance {
                name: row["name"].as_str().unwrap().to_owned(),
                family: row["family"].as_str().unwrap().to_owned(),
                capacity: row["capacity"].as_i64().unwrap(),
                sizes,
                optimum: row["optimum"].as_u64().map(|n| u32::try_from(n).unwrap()),
            }
        })
        .collect()
}

/// Falkenauer's uniform class (1996): sizes uniform in 20..=100, sticks of 150.
pub(crate) fn uniform(n: usize, seed: u64) -> Instance {
    let mut draw = Draw::new(seed.wrapping_mul(1_000_003) + n as u64);
    let sizes = (0..n).map(|_| draw.between(20, 100)).collect();
    Instance { name: format!("u{n}_{seed}"), family: format!("u{n}"), capacity: 150, sizes, optimum: None }
}

/// Falkenauer's triplets (1996): sticks of 1000 filled to the end by three pieces each, the first in 380..=490,
/// the second from 250 to half of the rest, the third what remains. The optimum is n / 3 by construction.
pub(crate) fn triplets(n: usize, seed: u64) -> Instance {
    let mut draw = Draw::new(seed.wrapping_mul(1_000_003) + 500_000 + n as u64);
    let mut sizes = Vec::new();
    for _ in 0..n / 3 {
        let first = draw.between(380, 490);
        let second = draw.between(250, (1000 - first) / 2);
        sizes.extend([first, second, 1000 - first - second]);
    }
    let optimum = Some(u32::try_from(n / 3).unwrap());
    Instance { name: format!("t{n}_{seed}"), family: format!("t{n}"), capacity: 1000, sizes, optimum }
}

/// Schwerin and Waescher (1997): sizes uniform in 150..=200, sticks of 1000, 100 or 120 pieces.
pub(crate) fn schwerin(n: usize, seed: u64) -> Instance {
    let mut draw = Draw::new(seed.wrapping_mul(1_000_003) + 900_000 + n as u64);
    let sizes = (0..n).map(|_| draw.between(150, 200)).collect();
    Instance {
        name: format!("schwerin{n}_{seed}"),
        family: format!("schwerin{n}"),
        capacity: 1000,
        sizes,
        optimum: None,
    }
}

/// Scholl, Klein and Juergens (1997), first set: sticks of 100, 120 or 150; sizes uniform from 1, 20 or 30 to 100.
pub(crate) fn scholl_1(n: usize, capacity: i64, least: i64, seed: u64) -> Instance {
    let mut draw = Draw::new(
        seed.wrapping_mul(1_000_003) + 7_000_000 + n as u64 * 1000 + capacity.unsigned_abs() + least.unsigned_abs(),
    );
    let sizes = (0..n).map(|_| draw.between(least, 100)).collect();
    let name = format!("scholl1_n{n}_c{capacity}_w{least}_{seed}");
    Instance { name, family: "Scholl 1 (made)".to_owned(), capacity, sizes, optimum: None }
}

/// Scholl, Klein and Juergens (1997), third set: 200 pieces of 20,000 to 35,000 out of sticks of 100,000.
pub(crate) fn scholl_3(seed: u64) -> Instance {
    let mut draw = Draw::new(seed.wrapping_mul(1_000_003) + 9_000_000);
    let sizes = (0..200).map(|_| draw.between(20_000, 35_000)).collect();
    Instance {
        name: format!("scholl3_{seed}"),
        family: "Scholl 3 (made)".to_owned(),
        capacity: 100_000,
        sizes,
        optimum: None,
    }
}

/// The boards, bars and ribs of `shades` invented shades, one request each, out of three stock lengths. Widths are
/// whole eighths of an inch from 18 to 80 in; deductions and counts of ribs are invented too.
pub(crate) fn house(shades: u32, seed: u64) -> Vec<(&'static str, Request)> {
    let mut draw = Draw::new(seed.wrapping_mul(1_000_003) + 11_000_000);
    let eighths = |n: i64| Length::inches(n, 8);
    let widths: Vec<(i64, i64)> = (0..shades).map(|_| (draw.between(18 * 8, 80 * 8), draw.between(4, 8))).collect();
    let parts = |less: i64, ribs: bool| -> Vec<Piece> {
        widths
            .iter()
            .enumerate()
            .map(|(n, (width, folds))| Piece {
                name: format!("shade {}", n + 1),
                length: eighths(width - less),
                count: if ribs { u32::try_from(*folds).unwrap() } else { 1 },
            })
            .collect()
    };
    let stock = |rows: [(i64, u64); 3]| -> Vec<Stock> {
        rows.iter()
            .map(|(feet, cents)| Stock { length: Length::whole_inches(12 * feet), cents: Some(*cents), count: None })
            .collect()
    };
    let request = |pieces, stock| Request { pieces, stock, ..Request::of_house(&Settings::INCHES) };
    vec![
        ("boards", request(parts(1, false), stock([(8, 410), (10, 565), (12, 690)]))),
        ("bars", request(parts(4, false), stock([(7, 530), (8, 610), (12, 905)]))),
        ("ribs", request(parts(6, true), stock([(7, 185), (8, 210), (12, 310)]))),
    ]
}

/// Sixty pieces of twelve lengths, boards and bars of a house, out of three stock lengths.
pub(crate) fn twelve_lengths(seed: u64) -> Request {
    let mut draw = Draw::new(seed.wrapping_mul(1_000_003) + 12_000_000);
    let pieces = (0..12)
        .map(|n| Piece {
            name: format!("length {}", n + 1),
            length: Length::inches(draw.between(16 * 8, 70 * 8), 8),
            count: 5,
        })
        .collect();
    let stock = [(72, 310), (96, 410), (120, 540)].map(|(length, cents)| Stock {
        length: Length::whole_inches(length),
        cents: Some(cents),
        count: None,
    });
    Request { pieces, stock: stock.to_vec(), ..Request::of_house(&Settings::INCHES) }
}

//! Why a request cannot be planned: what is wrong, which piece or stick, and what would be right.

use super::{DEAREST_CENTS, MOST_PIECES, Miscount, Request};
use crate::length::{Length, LengthUnit};

/// Why there is no plan.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum CutProblem {
    /// Pieces that no stick is long enough for; every one is named.
    #[error("{}", sentences(pieces))]
    TooLong {
        /// Each piece, by its place in the request.
        pieces: Vec<TooLong>,
    },
    /// Proven: the sticks that can be had do not hold all the pieces.
    #[error("the sticks on hand and those that can be bought do not hold all the pieces")]
    TooLittle,
    /// The search found no plan and could not rule one out.
    #[error("no way was found to cut all the pieces out of the sticks that can be had; there may be one")]
    NoneFound,
    /// A number that cannot be meant.
    #[error("{place}: {what}")]
    Unusable {
        /// The field, such as `pieces[2].length`.
        place: String,
        /// What is wrong with it, as a plain clause.
        what: String,
        /// What would be right, as a plain clause.
        right: &'static str,
    },
    /// The plan did not add up when it was checked: a fault in Hangtrue, and no plan is given.
    #[error("the plan did not add up and was thrown away: {0}")]
    Miscounted(Miscount),
}

/// A piece that no stick is long enough for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TooLong {
    /// Its place in [`Request::pieces`].
    pub place: usize,
    /// Its name.
    pub name: String,
    /// Its length.
    pub length: Length,
    /// The longest usable length there is; zero when there is no stick at all.
    pub longest: Length,
}

impl TooLong {
    /// One clear sentence, lengths written for a house of `unit`.
    pub fn sentence(&self, unit: LengthUnit) -> String {
        let piece = if self.name.is_empty() { format!("Piece {}", self.place + 1) } else { self.name.clone() };
        let length = self.length.show_marked(unit);
        if self.longest > Length::ZERO {
            let longest = self.longest.show_marked(unit);
            format!("{piece} is {length} long, and the longest stick gives {longest}.")
        } else {
            format!("{piece} is {length} long, and there is no stick to cut it from.")
        }
    }
}

fn sentences(pieces: &[TooLong]) -> String {
    let inches = pieces.iter().all(|p| p.length.nm() % (crate::length::NM_PER_INCH / 64) == 0);
    let unit = if inches { LengthUnit::Inch } else { LengthUnit::Millimetre };
    pieces.iter().map(|piece| piece.sentence(unit)).collect::<Vec<_>>().join(" ")
}

impl CutProblem {
    /// What would be right, as a plain clause.
    pub fn right(&self) -> &'static str {
        match self {
            Self::TooLong { .. } => "add a longer stick, or make the piece in two and join it",
            Self::TooLittle => "add sticks, or raise the count of one that is limited",
            Self::NoneFound => "add a stick, or allow more steps",
            Self::Unusable { right, .. } => right,
            Self::Miscounted(_) => "report the request that led here",
        }
    }
}

/// Refuses what cannot be planned, before any search.
pub(super) fn refuse(request: &Request) -> Result<(), CutProblem> {
    let unusable = |place: String, what: &str, right| Err(CutProblem::Unusable { place, what: what.to_owned(), right });
    let above_zero = "lengths of pieces and sticks are more than zero";
    for (field, length) in
        [("kerf", request.kerf), ("trim", request.trim), ("smallest_offcut", request.smallest_offcut)]
    {
        if length.is_negative() {
            return unusable(field.to_owned(), "it is below zero", "write zero or more");
        }
        if length > Length::LONGEST_READ {
            return unusable(field.to_owned(), "it is longer than 10 km", "check the number and its unit");
        }
    }
    let priced = request.stock.iter().filter(|s| s.cents.is_some()).count();
    for (n, stock) in request.stock.iter().enumerate() {
        if stock.length <= Length::ZERO || stock.length > Length::LONGEST_READ {
            return unusable(format!("stock[{n}].length"), "no stick is this long", above_zero);
        }
        if stock.length <= request.trim * 2 {
            let what = "trimming both ends leaves nothing of it";
            return unusable(format!("stock[{n}].length"), what, "leave it out, or trim less");
        }
        if stock.cents.is_none() && priced > 0 {
            let right = "give every stick a price, or none";
            return unusable(format!("stock[{n}].price"), "it has no price, and others have", right);
        }
        if stock.cents.is_some_and(|cents| cents > DEAREST_CENTS) {
            return unusable(format!("stock[{n}].price"), "no stick costs so much", "check the price");
        }
    }
    for (n, offcut) in request.on_hand.iter().enumerate() {
        if offcut.length <= Length::ZERO || offcut.length > Length::LONGEST_READ {
            return unusable(format!("on_hand[{n}].length"), "no offcut is this long", above_zero);
        }
    }
    for (n, piece) in request.pieces.iter().enumerate() {
        if piece.length <= Length::ZERO {
            return unusable(format!("pieces[{n}].length"), "it is not more than zero", above_zero);
        }
    }
    let held: u64 = request.on_hand.iter().map(|o| u64::from(o.count)).sum();
    let pieces: u64 = request.pieces.iter().map(|p| u64::from(p.count)).sum();
    for (field, n) in [("pieces", pieces), ("on_hand", held)] {
        if n > MOST_PIECES {
            let what = format!("they are {n} in all");
            return unusable(field.to_owned(), &what, "ask for at most 20,000 at once");
        }
    }
    let bought = request.stock.iter().filter(|s| s.count != Some(0)).map(|s| request.usable(s));
    let on_hand = request.on_hand.iter().filter(|o| o.count > 0).map(|o| o.length);
    let longest = bought.chain(on_hand).max().unwrap_or(Length::ZERO);
    let too_long: Vec<TooLong> = request
        .pieces
        .iter()
        .enumerate()
        .filter(|(_, piece)| piece.count > 0 && piece.length > longest)
        .map(|(place, piece)| TooLong { place, name: piece.name.clone(), length: piece.length, longest })
        .collect();
    if too_long.is_empty() { Ok(()) } else { Err(CutProblem::TooLong { pieces: too_long }) }
}

//! Adds a plan up again, stick by stick, from the request alone. It shares no code with the search, so that a
//! fault there cannot hide here.

use super::{Plan, Request, Source, Spend};
use crate::length::Length;

/// What does not add up.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Miscount {
    /// A stick's trims, pieces, kerfs and offcut do not make its length.
    #[error("stick {stick} is {length:?}, and what is cut from it comes to {sum:?}")]
    Stick {
        /// Which stick, from 1.
        stick: usize,
        /// Its length.
        length: Length,
        /// What its parts come to.
        sum: Length,
    },
    /// A saw cut takes what it should not, or an offcut is kept or thrown away against the rule.
    #[error("stick {stick}: {what}")]
    Rule {
        /// Which stick, from 1.
        stick: usize,
        /// Which rule.
        what: &'static str,
    },
    /// A piece is cut too often or not often enough.
    #[error("piece {piece} is cut {cut} times and wanted {wanted} times")]
    Piece {
        /// Which piece, from 1.
        piece: usize,
        /// How often it is cut.
        cut: u32,
        /// How often it is wanted.
        wanted: u32,
    },
    /// More sticks are used than there are.
    #[error("{used} sticks of {of:?} are used and there are {there}")]
    Source {
        /// Which sticks.
        of: Source,
        /// How many are used.
        used: u32,
        /// How many there are.
        there: u32,
    },
    /// A total of the plan is not what its sticks come to, or is below its own bound.
    #[error("the plan's {0} is not what its sticks come to, or lies on the wrong side of its bound")]
    Total(&'static str),
}

/// Adds every stick of `plan` up again.
///
/// # Errors
/// The first thing that does not add up.
pub fn check(request: &Request, plan: &Plan) -> Result<(), Miscount> {
    let mut cut = vec![0_u32; request.pieces.len()];
    let mut used_stock = vec![0_u32; request.stock.len()];
    let mut used_on_hand = vec![0_u32; request.on_hand.len()];
    let (mut longest, mut longest_on_hand) = (Length::ZERO, Length::ZERO);
    for (n, stick) in plan.sticks.iter().enumerate() {
        let rule = |what| Err(Miscount::Rule { stick: n + 1, what });
        let (length, trim) = match stick.source {
            Source::Stock(place) => {
                used_stock[place] += 1;
                (request.stock[place].length, request.trim)
            }
            Source::OnHand(place) => {
                used_on_hand[place] += 1;
                (request.on_hand[place].length, Length::ZERO)
            }
        };
        if stick.length != length {
            return rule("its length is not its source's");
        }
        if stick.cuts.is_empty() {
            return rule("nothing is cut from it");
        }
        // Walk along the stick as the saw does: a piece, then its kerf, or what is left of one.
        let end = length - trim;
        let mut at = trim;
        let mut sawn = Length::ZERO;
        for (k, piece) in stick.cuts.iter().enumerate() {
            if request.pieces.get(piece.piece).map(|p| p.length) != Some(piece.length) {
                return rule("a piece is not of its length");
            }
            cut[piece.piece] += 1;
            at += piece.length;
            let kerf = if at + request.kerf > end { end - at } else { request.kerf };
            if kerf.is_negative() || (kerf < request.kerf && k + 1 < stick.cuts.len()) {
                return rule("its pieces and kerfs are longer than it is");
            }
            at += kerf;
            sawn += kerf;
        }
        if sawn != stick.sawn {
            return rule("the saw does not take what it says");
        }
        let sum = at + stick.offcut + trim;
        if sum != length || stick.offcut.is_negative() {
            return Err(Miscount::Stick { stick: n + 1, length, sum });
        }
        if stick.keep != (stick.offcut > Length::ZERO && stick.offcut >= request.smallest_offcut) {
            return rule("its offcut is kept or thrown away against the rule");
        }
        let longest = if matches!(stick.source, Source::Stock(_)) { &mut longest } else { &mut longest_on_hand };
        if stick.keep && stick.offcut > *longest {
            *longest = stick.offcut;
        }
    }
    for (n, (piece, cut)) in request.pieces.iter().zip(cut).enumerate() {
        if piece.count != cut {
            return Err(Miscount::Piece { piece: n + 1, cut, wanted: piece.count });
        }
    }
    let bought: u32 = used_stock.iter().sum();
    let (mut cents, mut stock_length) = (0_u64, Length::ZERO);
    for (place, (stock, used)) in request.stock.iter().zip(used_stock).enumerate() {
        if let Some(there) = stock.count.filter(|there| used > *there) {
            return Err(Miscount::Source { of: Source::Stock(place), used, there });
        }
        cents += stock.cents.unwrap_or(0) * u64::from(used);
        stock_length += stock.length * i64::from(used);
    }
    for (place, (offcut, used)) in request.on_hand.iter().zip(used_on_hand).enumerate() {
        if used > offcut.count {
            return Err(Miscount::Source { of: Source::OnHand(place), used, there: offcut.count });
        }
    }
    if plan.bought != bought || plan.bought_at_least > bought {
        return Err(Miscount::Total("number of bought sticks"));
    }
    let spend_holds = match plan.spend {
        Spend::Cents { total, at_least } => total == cents && at_least <= total,
        Spend::Bought { total, at_least } => total == stock_length && at_least <= total,
    };
    if !spend_holds {
        return Err(Miscount::Total("cost"));
    }
    let longest = if bought > 0 { longest } else { longest_on_hand };
    if plan.longest_offcut != longest || plan.longest_offcut_at_most < longest {
        return Err(Miscount::Total("longest offcut"));
    }
    Ok(())
}

//! What a workroom's own past openings say of its hand, and of the kind of houses it measures.
//!
//! The numbers are proposed as settings, for a person to adopt: two devices then judge alike. Few openings say little,
//! so that what is usual holds until there are about a hundred.

use super::infer;
use super::likeness;
use super::readings::Readings;
use crate::settings::Settings;

/// Numbers that past openings propose.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Learned {
    /// How many openings told something.
    pub openings: usize,
    /// For the setting `hand_um`.
    pub hand_um: i64,
    /// For the setting `kind_true_permille`.
    pub kind_true_permille: i64,
    /// For the setting `kind_settled_permille`.
    pub kind_settled_permille: i64,
    /// For the setting `kind_racked_permille`.
    pub kind_racked_permille: i64,
}

impl Learned {
    /// `settings` with these numbers.
    pub fn adopted(&self, settings: &Settings) -> Settings {
        Settings {
            hand_um: self.hand_um,
            kind_true_permille: self.kind_true_permille,
            kind_settled_permille: self.kind_settled_permille,
            kind_racked_permille: self.kind_racked_permille,
            ..settings.clone()
        }
    }

    /// The numbers with the names of their settings.
    pub const fn rows(&self) -> [(&'static str, i64); 4] {
        [
            ("hand_um", self.hand_um),
            ("kind_true_permille", self.kind_true_permille),
            ("kind_settled_permille", self.kind_settled_permille),
            ("kind_racked_permille", self.kind_racked_permille),
        ]
    }
}

/// Hands that are tried, thousandths of a millimetre.
const HANDS: [i64; 14] = [50, 100, 150, 200, 250, 300, 400, 500, 650, 800, 1000, 1300, 1700, 2200];
/// How far hands differ from what is usual, one standard deviation of the logarithm. No source.
const HANDS_DIFFER: f64 = 0.6;
/// How many openings the usual shares of kinds weigh. No source.
const USUAL_WEIGHS: f64 = 20.0;
/// Rounds in which the shares settle.
const ROUNDS: usize = 5;

/// Learns from past openings; `None` when none of them has readings of the figure. The order of openings changes nothing
/// that is seen.
pub fn learn(past: &[Readings], settings: &Settings) -> Option<Learned> {
    let usual = likeness::shares(settings);
    let told = past.iter().filter(|readings| !readings.reads(settings).is_empty()).count();
    if told == 0 {
        return None;
    }
    #[allow(clippy::cast_precision_loss, reason = "a hand's spread, and a count of openings")]
    let (count, usual_hand) = (told as f64, settings.hand_um.max(1) as f64);
    let mut best: Option<(f64, i64, [f64; 4])> = None;
    for hand_um in HANDS.into_iter().chain([settings.hand_um]) {
        let with = Settings { hand_um, ..settings.clone() };
        let mut shares = usual;
        let mut evidence = 0.0;
        for _ in 0..ROUNDS {
            let mixture = likeness::mixture(&shares, None, &with);
            let mut kinds = usual.map(|share| share * USUAL_WEIGHS);
            evidence = 0.0;
            for readings in past {
                let reads = readings.reads(&with);
                let Some(posterior) = infer::weigh(&reads, readings.in_inches(), &mixture, &with) else { continue };
                evidence += posterior.evidence;
                for (sum, kind) in kinds.iter_mut().zip(posterior.of_kinds()) {
                    *sum += kind;
                }
            }
            shares = kinds.map(|kind| kind / (count + USUAL_WEIGHS));
        }
        #[allow(clippy::cast_precision_loss, reason = "a hand's spread")]
        let off = (hand_um.max(1) as f64 / usual_hand).ln() / HANDS_DIFFER;
        let weight: f64 = evidence - off * off / 2.0
            + shares.iter().zip(usual).map(|(share, usual)| USUAL_WEIGHS * usual * share.ln()).sum::<f64>();
        if best.is_none_or(|(most, ..)| weight > most) {
            best = Some((weight, hand_um, shares));
        }
    }
    let (_, hand_um, shares) = best?;
    #[allow(clippy::cast_possible_truncation, reason = "parts of a thousand")]
    let permille = |share: f64| ((share * 1000.0).round() as i64).max(1);
    Some(Learned {
        openings: told,
        hand_um,
        kind_true_permille: permille(shares[0]),
        kind_settled_permille: permille(shares[1]),
        kind_racked_permille: permille(shares[2]),
    })
}

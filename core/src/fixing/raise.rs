//! The lift that raises a shade: the first of the catalogue that does, or what stands in the way and what would help.

use crate::flag::{Flag, Severity, listed};
use crate::house::{Lift, LiftKind};
use crate::length::{Length, LengthUnit};
use crate::mount::Catalogue;
use crate::settings::Settings;

/// What a lift has to do.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Raise {
    /// How it lifts, as chosen.
    pub lift: Lift,
    /// What hangs on its cords when the shade is up, pounds-force.
    pub lifted_lbf: f64,
    /// The finished width.
    pub width: Length,
    /// The finished length.
    pub length: Length,
}

impl Raise {
    /// What the lift must raise by its seller's figure: what hangs on it and the house's reserve.
    pub fn asks_lbf(&self, settings: &Settings) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "a percentage is a small number")]
        let reserve = 1.0 + settings.lift_reserve_percent as f64 / 100.0;
        self.lifted_lbf * reserve
    }

    fn is_strong(&self, kind: &LiftKind, settings: &Settings) -> bool {
        kind.lifts_lbf >= self.asks_lbf(settings)
    }

    fn fits(&self, kind: &LiftKind) -> bool {
        kind.narrowest.is_none_or(|least| self.width >= least)
            && kind.widest.is_none_or(|most| self.width <= most)
            && kind.longest.is_none_or(|most| self.length <= most)
    }

    /// The lift to buy: of the chosen way, the first of the catalogue that raises it and goes on its width and length.
    /// The built-in ones stand lightest first, a workroom's own before them.
    ///
    /// # Errors
    /// A flag to decide that says what stands in the way and which other lifts of the catalogue would do.
    pub fn choose<'a>(
        &self,
        settings: &Settings,
        catalogue: &'a Catalogue,
        unit: LengthUnit,
    ) -> Result<&'a LiftKind, Flag> {
        let serves = |kind: &&LiftKind| self.is_strong(kind, settings) && self.fits(kind);
        let of_it = || catalogue.lifts.iter().filter(|kind| kind.lift == self.lift);
        if let Some(kind) = of_it().find(serves) {
            return Ok(kind);
        }
        let ways = [
            Lift::NoReachableCord,
            Lift::Motor,
            Lift::EndlessCord,
            Lift::ChainLoop,
            Lift::CordLock,
            Lift::TopDownBottomUp,
        ];
        let others: Vec<String> = ways
            .into_iter()
            .filter(|way| *way != self.lift)
            .filter_map(|way| catalogue.lifts.iter().filter(|kind| kind.lift == way).find(serves))
            .map(|kind| format!("\"{}\" ({})", kind.name, kind.lift.words()))
            .collect();
        let mut help = Vec::new();
        if !others.is_empty() {
            help.push(format!("choose another lift: {} would do", listed(others)));
        }
        let way = self.lift.words();
        let asks = self.asks_lbf(settings);
        let strongest = of_it().filter(|kind| self.fits(kind)).map(|kind| kind.lifts_lbf).max_by(f64::total_cmp);
        let (code, says) = match strongest {
            None if of_it().next().is_none() => {
                ("lift_not_in_catalogue", format!("The catalogue has no lift of the kind \"{way}\""))
            }
            None => {
                let show = |length: Length| length.show_marked(unit);
                (
                    "lift_no_size",
                    format!(
                        "No lift of the kind \"{way}\" goes on a shade {} wide and {} long",
                        show(self.width),
                        show(self.length)
                    ),
                )
            }
            Some(most) => {
                let lose = (asks - most) * self.lifted_lbf / asks;
                help.push(format!(
                    "or make the shade {} lighter: a lighter cloth, no interlining, a lighter bar, or two shades in place of one",
                    shown_weight(lose, unit)
                ));
                let says = format!(
                    "The shade is too heavy for its lift: {} to raise, {} with the reserve, and the strongest of the kind \"{way}\" \
                     that goes on it raises {}",
                    shown_weight(self.lifted_lbf, unit),
                    shown_weight(asks, unit),
                    shown_weight(most, unit)
                );
                ("lift_too_heavy", says)
            }
        };
        if help.is_empty() {
            help.push("choose another lift, or add one to the house's own hardware".to_owned());
        }
        let help = help.join(", ");
        Err(Flag::new(code, Severity::Decide, &[], says, help.trim_start_matches("or ")))
    }
}

/// A weight as a reader of a house in this unit has it: `4.2 lb`, `1.9 kg`.
pub fn shown_weight(lbf: f64, unit: LengthUnit) -> String {
    if unit.is_imperial() { format!("{lbf:.1} lb") } else { format!("{:.1} kg", lbf * 0.453_592_37) }
}

//! What a shade and a house are sold at: material by what each shade alone needs, labour by minutes, and what a workroom
//! adds and takes off.
//!
//! Every amount is exact in the smallest units of one currency. The one rounding is [`crate::money::Money::times`]: to the nearest unit,
//! halves away from zero, at each line; minutes are whole, rounded likewise. Lines show their working. What has no price
//! is named, and the sum is without it. The numbers are settings; taxes are the workroom's own, and no advice is given.

pub mod bench;
pub mod calculator;
mod house;
mod invoice;
mod mistakes;
mod quote;
mod shade;

pub use house::{HousePrice, OpeningPrice, Other, alone_and_shared, at_the_door, of_house, of_opening};
pub use invoice::{agreed_open, invoice, is_invoiced, is_sold, open, take_back};
pub use mistakes::{Mistake, Mistakes, Sum, mistakes};
pub use quote::{content, cut_unlike_agreed, draw_up, has_changed, paid};
pub use shade::{Kind, Line, Priced, of_shade};

use crate::buying::Shop;
use crate::house::{Job, Trade};
use crate::money::Currency;

/// What prices are worked out by, besides the settings.
#[derive(Clone, Debug)]
pub struct Ways {
    /// How it is traded here.
    pub trade: Trade,
    /// The currency.
    pub currency: Currency,
    /// The shop at what the workroom pays, with nothing on hand: a shade is charged what it needs, whoever's shelf it is off.
    pub shop: Shop,
}

impl Ways {
    /// Those of a house.
    pub fn of(job: &Job) -> Self {
        let trade = job.traded();
        let shop = Shop::standard(job.unit).at(&trade.prices).emptied();
        Self { currency: job.currency(), trade, shop }
    }
}

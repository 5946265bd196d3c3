//! The price of a house: its shades each by itself, its hanging, what is added and taken off, taxes, the deposit.

use super::shade::worth;
use super::{Kind, Priced, Ways, is_sold, of_shade};
use crate::house::{Alternative, Choices, Mount, Opening, QuoteSum, Room, Taxed};
use crate::money::{Currency, Money};
use crate::mount::Catalogue;
use crate::stand::Stand;
use crate::work::{self, Worked, WorkedHouse};
use uuid::Uuid;

/// What an opening's shade is sold at, and other ways to make it.
#[derive(Clone, PartialEq, Debug)]
pub struct OpeningPrice {
    /// The opening.
    pub opening: Uuid,
    /// Its room and name.
    pub name: String,
    /// Where it stands: what is not settled may still become another size.
    pub stand: Stand,
    /// As it is chosen; nothing while it has no size.
    pub chosen: Option<Priced>,
    /// The other ways that were put beside it.
    pub others: Vec<Other>,
}

/// Another way to make a shade.
#[derive(Clone, PartialEq, Debug)]
pub struct Other {
    /// What it is called.
    pub name: String,
    /// Its size there, in words: "35 1/2 x 59 3/4, inside".
    pub size: String,
    /// What is chosen for it then.
    pub choices: Choices,
    /// Its price; nothing where it cannot be made so.
    pub priced: Option<Priced>,
}

/// What a house is sold at.
#[derive(Clone, PartialEq, Debug)]
pub struct HousePrice {
    /// Its currency.
    pub currency: Currency,
    /// Its openings, in the order of the walk.
    pub openings: Vec<OpeningPrice>,
    /// How many shades have a price.
    pub shades: u32,
    /// Their sum.
    pub of_shades: Money,
    /// What is added and taken off below them, taxes last.
    pub sums: Vec<QuoteSum>,
    /// All of it.
    pub total: Money,
    /// What is paid first.
    pub deposit: Money,
    /// How the deposit comes about.
    pub deposit_working: String,
    /// What has no price, in words, each once.
    pub without: Vec<String>,
    /// Minutes on the bench, all shades.
    pub minutes: i64,
}

/// Works out what a house is sold at. Nothing in it is cut by: an unsettled shade is priced as it would be made now. What
/// hangs and is on an invoice is sold, and has no part in it.
pub fn of_house(house: &WorkedHouse<'_>, catalogue: &Catalogue, ways: &Ways) -> HousePrice {
    let openings: Vec<OpeningPrice> = house
        .openings
        .iter()
        .filter(|one| !is_sold(house.job, one.opening))
        .map(|one| of_opening(house, one, catalogue, ways))
        .collect();
    let settings = &house.settings;
    let priced: Vec<&Priced> = openings.iter().filter_map(|one| one.chosen.as_ref()).collect();
    let shades = priced.iter().map(|priced| priced.count).sum();
    let of_shades: Money = priced.iter().map(|priced| priced.all()).sum();
    let mut without: Vec<String> = Vec::new();
    for what in priced.iter().flat_map(|priced| &priced.without) {
        if !without.contains(what) {
            without.push(what.clone());
        }
    }
    let mut sums: Vec<QuoteSum> = Vec::new();
    let mut put = |what: String, money: Money| {
        if money != Money::ZERO {
            sums.push(QuoteSum { what, money });
        }
        money
    };
    let off = put(
        format!("Less {} %", tenths(settings.discount_permille)),
        -of_shades.times(settings.discount_permille, 1_000),
    );
    let hanging: i64 = priced.iter().map(|priced| priced.hanging.saturating_mul(i64::from(priced.count))).sum();
    let stop = if shades > 0 { settings.stop_minutes } else { 0 };
    let hung = match worth(hanging + stop, settings) {
        Some(money) => put("Hanging, one stop".to_owned(), money),
        None => {
            if shades > 0 {
                without.push("hanging, because an hour has no price yet".to_owned());
            }
            Money::ZERO
        }
    };
    let visit = put("Visit to measure".to_owned(), Money(settings.visit_charge));
    let travel = put("The way there".to_owned(), Money(settings.travel_charge));
    let goods = of_shades + off;
    let work = hung + visit + travel;
    let taxes: Money = ways
        .trade
        .taxes
        .iter()
        .map(|tax| {
            let base = match tax.on {
                Taxed::All => goods + work,
                Taxed::Goods => goods,
                Taxed::Work => work,
            };
            let on = match tax.on {
                Taxed::All => "",
                Taxed::Goods => " on the shades",
                Taxed::Work => " on hanging and travel",
            };
            let money = base.times(i64::from(tax.rate), 100_000);
            put(format!("{}, {} %{on}", tax.name, thousandths(tax.rate)), money)
        })
        .sum();
    let total = goods + work + taxes;
    let bought: Money = priced.iter().map(|priced| priced.bought().times(i64::from(priced.count), 1)).sum();
    let part = total.percent(settings.deposit_percent);
    let deposit = part.max(bought).min(total);
    let deposit_working = if bought > part {
        "the cloth, linings and lifts that are bought for it, which is more".to_owned()
    } else {
        format!("{} % of the total", settings.deposit_percent)
    };
    HousePrice {
        currency: ways.currency,
        shades,
        of_shades,
        sums,
        total,
        deposit,
        deposit_working,
        without,
        minutes: priced.iter().map(|priced| priced.minutes.saturating_mul(i64::from(priced.count))).sum(),
        openings,
    }
}

/// What the material costs when every shade is bought alone, and by the house's one plan: the maker's to know, and worked
/// out apart, because that plan takes its time. Nothing where something of it has no price, or is sold already: the one plan
/// is of all.
pub fn alone_and_shared(house: &WorkedHouse<'_>, whole: &HousePrice, ways: &Ways) -> Option<(Money, Money)> {
    let priced: Vec<&Priced> = whole.openings.iter().filter_map(|one| one.chosen.as_ref()).collect();
    let known = |priced: &&Priced| priced.lines.iter().all(|line| line.money.is_some() || line.kind == Kind::Making);
    if !priced.iter().all(known) || house.openings.iter().any(|one| is_sold(house.job, one.opening)) {
        return None;
    }
    let alone: Money = priced.iter().map(|priced| priced.material().times(i64::from(priced.count), 1)).sum();
    let shared = work::buying(house, &ways.shop);
    let items = shared.sections.iter().flat_map(|section| &section.items);
    let own = |name: &str| house.job.all_cloths().any(|cloth| cloth.clients_own && cloth.name == name);
    let cents = items.filter(|item| !own(&item.what)).map(|item| item.share_cents).sum::<Option<u64>>()?;
    Some((alone, ways.currency.of_hundredths(cents)))
}

/// What an opening's shade is sold at, and the other ways that were put beside it.
pub fn of_opening(house: &WorkedHouse<'_>, worked: &Worked<'_>, catalogue: &Catalogue, ways: &Ways) -> OpeningPrice {
    let others =
        worked.opening.alternatives.iter().map(|way| other(house, worked.room, worked.opening, way, catalogue, ways));
    OpeningPrice {
        opening: worked.opening.id,
        name: format!("{}, {}", worked.room.name, worked.opening.name),
        stand: worked.stand(),
        chosen: of_shade(house, worked, ways),
        others: others.collect(),
    }
}

fn other(
    house: &WorkedHouse<'_>,
    room: &Room,
    opening: &Opening,
    way: &Alternative,
    catalogue: &Catalogue,
    ways: &Ways,
) -> Other {
    let mut changed = opening.clone();
    let choices = &mut changed.choices;
    if way.mount.is_some() && way.mount != choices.mount {
        // A board, bracket or size chosen for the other mount is not this one's.
        choices.mount = way.mount;
        choices.undecided = false;
        choices.attach = None;
        choices.board = None;
        choices.bracket = None;
        choices.finished_width = None;
        choices.finished_length = None;
    }
    if let Some(cloth) = &way.cloth {
        choices.cloth = Some(cloth.clone());
    }
    choices.lining = way.lining.unwrap_or(choices.lining);
    choices.interlined = way.interlined.unwrap_or(choices.interlined);
    let worked = work::opening(house.job, room, &changed, &house.settings, catalogue);
    let size = worked.mounts.advised().map_or_else(
        || "it has no size so".to_owned(),
        |mounting| {
            let show = |length: crate::length::Length| length.show(house.job.unit);
            format!("{} x {}, {}", show(mounting.width.total), show(mounting.length.total), mounting.form.words())
        },
    );
    let priced = of_shade(house, &worked, ways);
    Other { name: way.name.clone(), size, choices: changed.choices, priced }
}

/// The ways that a client asks about at the door: those that were put beside it, and the other mount, an interlining or none,
/// and other cloths of the house, so many at most. What cannot be made so is left out.
pub fn at_the_door(
    house: &WorkedHouse<'_>,
    worked: &Worked<'_>,
    most: usize,
    catalogue: &Catalogue,
    ways: &Ways,
) -> Vec<Other> {
    let (job, choices) = (house.job, &worked.opening.choices);
    let mut asked = worked.opening.alternatives.clone();
    let way =
        |name: &str| Alternative { name: name.to_owned(), mount: None, cloth: None, lining: None, interlined: None };
    let hung = worked.mounts.advised().map(|mounting| mounting.form.choice().0);
    let other = match hung {
        Some(Mount::Inside) => Some(("Outside", Mount::Outside)),
        Some(Mount::Outside) => Some(("Inside", Mount::Inside)),
        None => None,
    };
    asked.extend(other.map(|(name, mount)| Alternative { mount: Some(mount), ..way(name) }));
    let name = if choices.interlined { "Without interlining" } else { "Interlined" };
    asked.push(Alternative { interlined: Some(!choices.interlined), ..way(name) });
    let cloths = job.cloths.iter().filter(|cloth| choices.cloth.as_deref() != Some(cloth.name.as_str()));
    asked.extend(
        cloths.map(|cloth| Alternative { cloth: Some(cloth.name.clone()), ..way(&format!("In {}", cloth.name)) }),
    );
    asked.truncate(most);
    let others = asked.iter().map(|way| self::other(house, worked.room, worked.opening, way, catalogue, ways));
    others.filter(|other| other.priced.is_some()).collect()
}

/// Tenths of a percent, as a person reads them: 75 is 7.5.
fn tenths(permille: i64) -> String {
    decimal(permille, 10)
}

/// Thousandths of a percent, likewise: 8875 is 8.875.
fn thousandths(rate: u32) -> String {
    decimal(i64::from(rate), 1_000)
}

fn decimal(n: i64, one: i64) -> String {
    let width = one.to_string().len() - 1;
    let text = format!("{}.{:0width$}", n / one, n % one);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rates_are_said_as_people_write_them() {
        assert_eq!(thousandths(7_000), "7");
        assert_eq!(thousandths(8_875), "8.875");
        assert_eq!(tenths(75), "7.5");
        assert_eq!(thousandths(50), "0.05");
    }
}

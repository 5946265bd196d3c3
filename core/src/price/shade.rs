//! The price of one shade.

use super::Ways;
use crate::buying::{self, Buying, MatchAt};
use crate::house::{Below, Cloth};
use crate::length::{Length, LengthUnit};
use crate::makeup::StickUse;
use crate::money::{Currency, Money};
use crate::settings::Settings;
use crate::work::{Worked, WorkedHouse, to_buy};

/// What a line is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// Cloth, lining, and the lift: what a deposit covers at least.
    Bought,
    /// Everything else that is bought.
    Material,
    /// Work on the bench.
    Making,
    /// What is added or charged.
    Charge,
}

/// One line of a price.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// What it is for.
    pub kind: Kind,
    /// What it is.
    pub what: String,
    /// How it comes about.
    pub working: String,
    /// How much; nothing where its price is not known.
    pub money: Option<Money>,
}

impl Line {
    /// The amount in words: a dash where it is not known.
    pub fn shown(&self, currency: Currency) -> String {
        self.money.map_or_else(|| "no price".to_owned(), |money| currency.number(money))
    }
}

/// What a shade is sold at.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Priced {
    /// Its lines, in order.
    pub lines: Vec<Line>,
    /// What has no price, in words: the sum is without it.
    pub without: Vec<String>,
    /// The sum of the lines.
    pub each: Money,
    /// How many alike.
    pub count: u32,
    /// Minutes of making one.
    pub minutes: i64,
    /// Minutes of hanging one.
    pub hanging: i64,
}

impl Priced {
    /// For all alike.
    pub fn all(&self) -> Money {
        self.each.times(i64::from(self.count), 1)
    }

    /// Of one: what is bought for it alone, as it is charged.
    pub fn bought(&self) -> Money {
        self.lines.iter().filter(|line| line.kind == Kind::Bought).filter_map(|line| line.money).sum()
    }

    /// Of one: all material, before anything is added.
    pub fn material(&self) -> Money {
        let of = |line: &&Line| matches!(line.kind, Kind::Bought | Kind::Material);
        self.lines.iter().filter(of).filter_map(|line| line.money).sum()
    }

    fn put(&mut self, kind: Kind, what: impl Into<String>, working: impl Into<String>, money: Option<Money>) {
        let what = what.into();
        if money.is_none() {
            self.without.push(what.clone());
        }
        self.lines.push(Line { kind, what, working: working.into(), money });
    }
}

/// The price of an opening's shade; nothing where it has no size yet or cannot be made.
pub fn of_shade(house: &WorkedHouse<'_>, worked: &Worked<'_>, ways: &Ways) -> Option<Priced> {
    let settings = &house.settings;
    // Alone, so without the name that tells it from others.
    let mut shade = to_buy(house, worked, "")?;
    let off_no_shelf = shade.cloth.map(|cloth| Cloth { on_hand: Vec::new(), ..cloth.clone() });
    shade.cloth = off_no_shelf.as_ref();
    let list = buying::buy(&[shade], MatchAt::default(), settings, &ways.shop, house.job.unit);
    let own_cloth = shade.cloth.is_some_and(|cloth| cloth.clients_own);
    let mut priced = Priced { count: worked.opening.choices.count.get(), ..Priced::default() };
    material(&mut priced, &list, shade.cloth.map(|cloth| cloth.name.as_str()).filter(|_| own_cloth), ways);
    if shade.cloth.is_none() {
        priced.without.push("cloth, which is not chosen".to_owned());
    }
    let markup = priced.material().percent(settings.markup_percent);
    if settings.markup_percent > 0 {
        let working = format!("{} % of {}", settings.markup_percent, ways.currency.number(priced.material()));
        priced.put(Kind::Charge, "added to what is bought", working, Some(markup));
    }
    if own_cloth {
        let charge = (settings.own_cloth_charge > 0).then_some(Money(settings.own_cloth_charge));
        priced.put(Kind::Charge, "handling of the client's own cloth", "a charge for each shade", charge);
    }
    making(&mut priced, worked, &shade, &list, settings, house.job.unit);
    priced.hanging =
        settings.hang_minutes + if worked.opening.wall.below == Below::Stairs { settings.stairs_minutes } else { 0 };
    let sum: Money = priced.lines.iter().filter_map(|line| line.money).sum();
    let least = Money(settings.least_charge);
    if sum < least {
        let working = format!("no shade is made for less than {}", ways.currency.number(least));
        priced.put(Kind::Charge, "up to the least charge", working, Some(least - sum));
    }
    priced.each = sum.max(least);
    Some(priced)
}

fn material(priced: &mut Priced, list: &Buying, own_cloth: Option<&str>, ways: &Ways) {
    for item in list.sections.iter().flat_map(|section| section.items.iter().map(move |item| (section, item))) {
        let (section, item) = item;
        if section.name == "cloth" && own_cloth == Some(item.what.as_str()) {
            continue;
        }
        let bought = matches!(section.name.as_str(), "cloth" | "lifts");
        let cents = item.share_cents;
        let working =
            if item.buy == item.need { item.need.clone() } else { format!("{}; sold as {}", item.need, item.buy) };
        let money = cents.map(|cents| ways.currency.of_hundredths(cents));
        priced.put(if bought { Kind::Bought } else { Kind::Material }, item.what.clone(), working, money);
    }
    for problem in &list.problems {
        if !problem.contains("no cloth is chosen") {
            priced.without.push(problem.trim_start_matches([':', ' ']).to_owned());
        }
    }
}

fn making(
    priced: &mut Priced,
    worked: &Worked<'_>,
    shade: &buying::Shade<'_>,
    list: &Buying,
    settings: &Settings,
    unit: LengthUnit,
) {
    let made = shade.makeup;
    let joins = list.cloths.iter().map(|cloth| cloth.plan.seams.len()).sum::<usize>();
    let ribs = made.stick(StickUse::Rib).map_or(0, |rib| rib.count);
    let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    let area = area_minutes(made.width, made.length, settings.area_minutes, unit);
    let mut parts = vec![(settings.shade_minutes, "a plain shade".to_owned()), (area, "its size".to_owned())];
    if joins > 0 {
        parts.push((
            settings.join_minutes.saturating_mul(count(joins)),
            if joins == 1 { "1 join".to_owned() } else { format!("{joins} joins") },
        ));
    }
    if worked.opening.choices.interlined {
        parts.push((settings.interlining_minutes, "the interlining".to_owned()));
    }
    if ribs > 0 {
        parts.push((settings.rib_minutes.saturating_mul(count(ribs)), format!("{ribs} ribs")));
    }
    let plain: i64 = parts.iter().map(|(minutes, _)| *minutes).sum();
    let patterned = shade.cloth.is_some_and(|cloth| cloth.repeat.is_some() || cloth.repeat_across.is_some());
    if patterned && settings.pattern_percent > 0 {
        parts.push((Money(plain).percent(settings.pattern_percent).0, "the pattern".to_owned()));
    }
    priced.minutes = parts.iter().map(|(minutes, _)| *minutes).sum();
    let said: Vec<String> = parts.iter().map(|(minutes, what)| format!("{minutes} for {what}")).collect();
    let working = format!("{} minutes: {}", priced.minutes, said.join(", "));
    let money = worth(priced.minutes, settings);
    if money.is_none() {
        priced.put(Kind::Making, "making, because an hour has no price yet", working, None);
    } else {
        priced.put(Kind::Making, "making", working, money);
    }
}

/// What so many minutes are charged at; nothing while an hour has no price.
pub(super) fn worth(minutes: i64, settings: &Settings) -> Option<Money> {
    (settings.hour_price > 0).then(|| Money(settings.hour_price).times(minutes, 60))
}

/// Minutes that a shade's size adds, to the nearest whole one: so many a square foot, or a square metre.
fn area_minutes(width: Length, length: Length, each: i64, unit: LengthUnit) -> i64 {
    let side = if unit.is_imperial() { Length::whole_inches(12) } else { Length::mm(1_000) };
    let (square, area) = (i128::from(side.nm()).pow(2), i128::from(width.nm()) * i128::from(length.nm()));
    i64::try_from((area * i128::from(each) * 2 + square) / (square * 2)).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 35 1/2 x 59 3/4 in is 2121.125 sq in, 14.73 sq ft; at 7 minutes a square foot 103.1 minutes. By hand.
    #[test]
    fn a_shades_size_is_charged_by_its_area() {
        let minutes = area_minutes(Length::inches(71, 2), Length::inches(239, 4), 7, LengthUnit::Inch);
        assert_eq!(minutes, 103);
        assert_eq!(
            area_minutes(Length::mm(900), Length::mm(1_500), 75, LengthUnit::Millimetre),
            101,
            "1.35 m2: 101.25"
        );
    }

    #[test]
    fn without_a_price_of_an_hour_nothing_is_made_up() {
        assert_eq!(worth(60, &Settings::INCHES), None);
        let settings = Settings { hour_price: 4_500, ..Settings::INCHES };
        assert_eq!(worth(193, &settings), Some(Money(14_475)), "193 x 45.00 / 60 = 144.75");
    }
}

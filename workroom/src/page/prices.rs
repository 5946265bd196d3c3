//! What a house is sold at: each shade with its working and the other ways beside it, the sum, quotes that were given, what
//! was agreed and paid; and how the workroom trades.

use super::desk::{Desk, DeskProblem};
use super::lengths::set;
use super::views::{Content, Crumb, one_sheet};
use super::{App, guard, house, money, refused_at};
use crate::moments;
use axum::extract::{Form, Path, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse as _, Redirect, Response};
use chrono::NaiveDate;
use hangtrue_core::buying::Shop;
use hangtrue_core::fact::House;
use hangtrue_core::house::{Agreed, Alternative, Job, Lining, Mount, Payment, Quote, Tax, Taxed, Workroom};
use hangtrue_core::length::{LengthUnit, with_default_unit};
use hangtrue_core::money::{Currency, Money};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::price::{self, HousePrice, Priced, Ways};
use hangtrue_core::sheet::{self, Heading};
use hangtrue_core::work::{Worked, WorkedHouse};
use maud::{Markup, html};
use serde_json::Value;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Taxes that a workroom's form has room for.
const TAXES: usize = 3;

fn refuse(what: impl Into<String>, right: impl Into<String>) -> DeskProblem {
    DeskProblem::Refused { what: what.into(), right: right.into() }
}

fn json_in<T: serde::Serialize>(unit: LengthUnit, record: &T) -> Value {
    with_default_unit(unit, || serde_json::to_value(record)).unwrap_or_default()
}

/// True where prices are shown at all.
fn are_shown(worked: &WorkedHouse<'_>) -> bool {
    worked.settings.hide_prices == 0
}

fn lines(priced: &Priced, currency: Currency) -> Markup {
    html! {
        div.table-box tabindex="0" role="region" aria-label="Working of the price" {
            table.list.price {
                thead { tr { th { "What" } th { "How it comes about" } th.n { (currency.code()) } } }
                tbody {
                    @for line in &priced.lines {
                        tr { th scope="row" { (set(&line.what)) } td { (set(&line.working)) } td.n { (line.shown(currency)) } }
                    }
                    tr.total {
                        th scope="row" { "One shade" } td { @if priced.count > 1 { (priced.count) " alike: " (currency.number(priced.all())) } }
                        td.n { b { (currency.number(priced.each)) } }
                    }
                }
            }
        }
        @if !priced.without.is_empty() { p.without { b { "Without: " } (set(&priced.without.join("; "))) "." } }
    }
}

/// The price of one opening on its page: as chosen, the other ways beside it, and a form for one more.
pub(super) fn pane(worked: &WorkedHouse<'_>, one: &Worked<'_>, token: &str) -> Markup {
    if !are_shown(worked) {
        return html! {};
    }
    let job = worked.job;
    let ways = Ways::of(job);
    let chosen = price::of_shade(worked, one, &ways);
    let action = format!("/house/{}/prices", job.id);
    html! {
        section.pane.prices-pane {
            h2 { "Price" }
            @match &chosen {
                None => p { "It has a price as soon as it has a size." },
                Some(priced) => {
                    p.lead { b { (ways.currency.show(priced.all())) } @if !priced.without.is_empty() { " without " (set(&priced.without.join("; "))) } ", hanging and taxes apart." }
                    details { summary { "How it comes about" } (lines(priced, ways.currency)) }
                }
            }
            @if !one.opening.alternatives.is_empty() {
                @let whole = price::of_opening(worked, one, Catalogue::standard(job.unit), &ways);
                h3 { "Other ways" }
                ul.ways-priced {
                    @for other in &whole.others {
                        li {
                            b { (other.name) } ": " (set(&other.size)) ", "
                            @match &other.priced { Some(priced) => b { (ways.currency.show(priced.all())) }, None => "it cannot be made so" }
                            form.inline method="post" action=(action) {
                                input type="hidden" name="token" value=(token);
                                input type="hidden" name="do" value="drop_way";
                                input type="hidden" name="opening" value=(one.opening.id);
                                input type="hidden" name="name" value=(other.name);
                                button.small.plain type="submit" { "Take out" }
                            }
                        }
                    }
                }
            }
            details {
                summary { "Put another way beside it" }
                form.taking method="post" action=(action) {
                    input type="hidden" name="token" value=(token);
                    input type="hidden" name="do" value="add_way";
                    input type="hidden" name="opening" value=(one.opening.id);
                    label { span { "What to call it" } input type="text" name="name" required maxlength="80" data-id="way_name"; }
                    label { span { "Mount" } select name="mount" { option value="" { "as chosen" } option value="inside" { "inside" } option value="outside" { "outside" } } }
                    label { span { "Cloth" } select name="cloth" { option value="" { "as chosen" } @for cloth in job.all_cloths() { option value=(cloth.name) { (cloth.name) } } } }
                    label { span { "Lining" } select name="lining" { option value="" { "as chosen" } option value="plain" { "plain" } option value="blackout" { "blackout" } option value="none" { "none" } } }
                    label { span { "Interlining" } select name="interlined" { option value="" { "as chosen" } option value="true" { "with" } option value="false" { "without" } } }
                    button type="submit" data-id="add_way" { "Put it beside" }
                }
            }
        }
    }
}

/// The page of a house's prices.
fn page(folded: &House, token: &str) -> Result<Content, DeskProblem> {
    let job = &folded.job;
    let worked = house::worked(folded)?;
    let trail = vec![Crumb::house(job), Crumb::here("Page", "Prices and quotes")];
    let title = format!("Prices, {}", job.name);
    if !are_shown(&worked) {
        let markup = html! { section.pane { h1 { "Prices" } p { "Prices are not shown here: the settings say so (" (hangtrue_core::settings::label("hide_prices")) ")." } } };
        return Ok(Content { title, trail, outdoors: false, markup });
    }
    let ways = Ways::of(job);
    let whole = price::of_house(&worked, Catalogue::standard(job.unit), &ways);
    let markup = html! {
        section.pane.broad {
            h1 { "Prices" }
            p.note { "As the readings and choices are now. What was quoted stays as it was quoted, below. " a href="/trade" { "Name, currency, taxes and what is paid for things" } "; minutes, the price of an hour and charges are among " a href={ "/house/" (Workroom::ID) "/settings" } { "the workroom's numbers" } "." }
            (sums(&whole, price::alone_and_shared(&worked, &whole, &ways), job))
        }
        section.pane.broad { h2 { "Each shade" } (shades(&whole, job)) }
        section.pane.broad { h2 { "Quotes" } (quotes(job, &worked, &whole, token)) }
        section.pane.broad { h2 { "Invoices" } (money::pane(job, token)) }
        section.pane.broad { h2 { "Payments" } (payments(job, ways.currency, token)) }
    };
    Ok(Content { title, trail, outdoors: false, markup })
}

fn sums(whole: &HousePrice, material: Option<(Money, Money)>, job: &Job) -> Markup {
    let number = |money: Money| whole.currency.number(money);
    html! {
        table.list.price.sum {
            tbody {
                tr { th scope="row" { (whole.shades) @if whole.shades == 1 { " shade" } @else { " shades" } } td.n { (number(whole.of_shades)) } }
                @for sum in &whole.sums { tr { th scope="row" { (sum.what) } td.n { (number(sum.money)) } } }
                tr.total { th scope="row" { "Total, " (whole.currency.code()) } td.n { b { (number(whole.total)) } } }
                tr { th scope="row" { "Deposit: " (whole.deposit_working) } td.n { (number(whole.deposit)) } }
            }
        }
        @if !whole.without.is_empty() {
            div.finding.decide { p { b { "The sum is without: " } (set(&whole.without.join("; "))) "." } }
        }
        @if let Some((alone, shared)) = material {
            p { "For you: bought shade by shade the material costs " (number(alone)) ", by the one plan of " (job.name) " " (number(shared)) "." }
        }
        p.soft { "On the bench: " (whole.minutes / 60) " h " (whole.minutes % 60) " min." }
        p.soft.note { "Laws on sales at the door, on the right to withdraw, on taxes and on deposits differ by place; ask who knows yours." }
    }
}

fn shades(whole: &HousePrice, job: &Job) -> Markup {
    html! {
        table.list.priced {
            thead { tr { th { "Window or door" } th { "Stands" } th.n { (whole.currency.code()) } } }
            tbody {
                @for one in &whole.openings {
                    tr {
                        td {
                            a href={ "/house/" (job.id) "/opening/" (one.opening) } { b { (one.name) } }
                            @if let Some(priced) = &one.chosen { details { summary { "How it comes about" } (lines(priced, whole.currency)) } }
                        }
                        td { (one.stand.words()) }
                        td.n { @match &one.chosen { Some(priced) => b { (whole.currency.number(priced.all())) }, None => span.soft { "no size yet" } } }
                    }
                    @for other in &one.others {
                        tr.other {
                            td { "or " (other.name) ": " (set(&other.size)) }
                            td {}
                            td.n { @match &other.priced { Some(priced) => (whole.currency.number(priced.all())), None => span.soft { "cannot be made so" } } }
                        }
                    }
                }
            }
        }
    }
}

fn quotes(job: &Job, worked: &WorkedHouse<'_>, whole: &HousePrice, token: &str) -> Markup {
    let action = format!("/house/{}/prices", job.id);
    html! {
        @if job.quotes.is_empty() { p { "None was given yet." } }
        @for quote in job.quotes.iter().rev() {
            @let changed = price::has_changed(quote, worked);
            article.quote {
                h3 { a href={ "/house/" (job.id) "/quotes/" (quote.name) } { "Quote " (quote.name) } " of " (quote.at.date_naive()) ", " (quote.currency.show(quote.total)) }
                @match &quote.agreed {
                    Some(agreed) => p { "Agreed by " b { (agreed.name) } " on " (agreed.at.date_naive()) "." },
                    None => p { "Good until " (quote.until) "; not agreed yet." },
                }
                @if !changed.is_empty() {
                    div.finding.decide { b { @if quote.agreed.is_some() { "Not as agreed any more; agree on a new quote:" } @else { "Not as offered any more; draw up a new one:" } }
                        ul { @for each in &changed { li { (set(each)) } } }
                    }
                }
                @if quote.agreed.is_none() && changed.is_empty() {
                    form.taking method="post" action=(action) {
                        input type="hidden" name="token" value=(token);
                        input type="hidden" name="do" value="agree";
                        input type="hidden" name="quote" value=(quote.name);
                        label { span { "Who agrees, as signed" } input type="text" name="name" required maxlength="120" data-id="agree_name"; }
                        div.sign-here data-sign="yes" hidden { span { "Signature, drawn with a finger or the mouse; it may be left empty" } svg viewBox="0 0 300 100" role="img" aria-label="box to sign in" {} button.small type="button" data-sign-clear="yes" { "Once more" } input type="hidden" name="strokes"; }
                        button type="submit" data-id="agree" { "It is agreed" }
                    }
                }
            }
        }
        form.touch method="post" action=(action) {
            input type="hidden" name="token" value=(token);
            input type="hidden" name="do" value="quote";
            button.main type="submit" data-id="draw_up" disabled[whole.shades == 0] { "Draw up a quote" }
        }
    }
}

fn payments(job: &Job, currency: Currency, token: &str) -> Markup {
    let agreed = job.quotes.iter().rev().find(|quote| quote.agreed.is_some());
    let paid = price::paid(job);
    html! {
        @if job.payments.is_empty() { p { "Nothing was paid yet." } }
        @else {
            table.list.price { tbody {
                @for payment in &job.payments { tr { th scope="row" { (payment.on) } td { (payment.what) } td.n { (currency.number(payment.money)) } } }
                tr.total { th scope="row" { "Paid" } td {} td.n { b { (currency.number(paid)) } } }
            } }
        }
        @if let Some(quote) = agreed {
            p { "Agreed: " (quote.currency.show(quote.total)) ". Open: " b { (quote.currency.show(price::agreed_open(job).unwrap_or_default())) } "." }
        }
        form.taking method="post" action={ "/house/" (job.id) "/prices" } {
            input type="hidden" name="token" value=(token);
            input type="hidden" name="do" value="pay";
            label { span { "Day it came" } input type="date" name="on" required data-id="pay_on"; }
            label { span { "How much, " (currency.code()) } input type="text" name="amount" inputmode="decimal" required data-id="pay_amount"; }
            label { span { "What for" } input type="text" name="what" maxlength="120"; }
            button type="submit" data-id="pay" { "Write it down" }
        }
    }
}

/// What was typed into a form that was refused, and why: it is shown again, nothing of it lost.
struct Refused {
    fields: Fields,
    what: String,
    right: String,
}

/// How the workroom trades.
fn trade_page(job: &Job, refused: Option<&Refused>, token: &str) -> Content {
    let trade = &job.trade;
    let currency = trade.currency.unwrap_or(Currency::USUAL);
    let shop = Shop::standard(LengthUnit::Inch);
    let metric = Shop::standard(LengthUnit::Millimetre);
    let mut things: BTreeMap<String, Option<u64>> = BTreeMap::new();
    things.extend(shop.priced());
    things.extend(metric.priced());
    let text = |cents: u64| format!("{}.{:02}", cents / 100, cents % 100);
    let shown = |name: &str, kept: Option<String>| match refused {
        Some(refused) => field(&refused.fields, name).to_owned(),
        None => kept.unwrap_or_default(),
    };
    let markup = html! {
        section.pane {
            h1 { "How the workroom trades" }
            @if let Some(refused) = refused { div.finding.take_again role="alert" { p { b { (refused.what) } " " (refused.right) " Nothing was changed; what you typed stands below." } } }
            form.taking method="post" action="/trade" {
                input type="hidden" name="token" value=(token);
                label { span { "Name on quotes" } input type="text" name="name" value=(shown("name", Some(trade.name.clone()))) maxlength="120" data-id="trade_name"; }
                label { span { "How clients reach it" } input type="text" name="reach" value=(shown("reach", Some(trade.reach.clone()))) maxlength="200"; }
                label { span { "Currency, three letters (ISO 4217)" } input type="text" name="currency" value=(shown("currency", Some(currency.code().to_owned()))) maxlength="3" required data-id="trade_currency"; }
                fieldset {
                    legend { "Taxes: which apply, and at what rate, you know or ask" }
                    @for n in 0..TAXES {
                        @let tax = trade.taxes.get(n);
                        div.row {
                            label { span { "Name" } input type="text" name={ "tax_name_" (n) } value=(shown(&format!("tax_name_{n}"), tax.map(|tax| tax.name.clone()))) maxlength="60"; }
                            label { span { "Rate, %" } input type="text" name={ "tax_rate_" (n) } inputmode="decimal" value=(shown(&format!("tax_rate_{n}"), tax.map(|tax| rate(tax.rate)))) maxlength="8"; }
                            label { span { "On" } select name={ "tax_on_" (n) } {
                                @for (value, words, on) in [("all", "everything", Taxed::All), ("goods", "the shades", Taxed::Goods), ("work", "hanging and travel", Taxed::Work)] {
                                    option value=(value) selected[shown(&format!("tax_on_{n}"), tax.filter(|tax| tax.on == on).map(|_| value.to_owned())) == value] { (words) }
                                }
                            } }
                        }
                    }
                }
                fieldset {
                    legend { "What you pay for things; empty where there is no price yet" }
                    p.note { "Linings by the yard in houses in inches, by the metre in metric ones; everything else by the piece, stick, spool or pack that it names." }
                    @for what in things.keys() {
                        label { span { (set(what)) } input type="text" name={ "price:" (what) } inputmode="decimal" value=(shown(&format!("price:{what}"), trade.prices.get(what).map(|cents| text(*cents)))) maxlength="12"; }
                    }
                }
                button.main type="submit" data-id="keep_trade" { "Keep" }
            }
        }
    };
    let numbers = format!("/house/{}/settings", Workroom::ID);
    Content {
        title: "How the workroom trades".to_owned(),
        trail: vec![Crumb::to("Workroom", "The workroom's numbers", numbers), Crumb::here("Page", "Trade")],
        outdoors: false,
        markup,
    }
}

/// Thousandths of a percent as they are typed.
fn rate(thousandths: u32) -> String {
    let text = format!("{}.{:03}", thousandths / 1_000, thousandths % 1_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A rate in percent as people write it, in thousandths of a percent: at most 100 %, three decimals at most.
fn read_rate(text: &str) -> Option<u32> {
    let (whole, decimals) = text
        .trim()
        .trim_end_matches('%')
        .trim_end()
        .split_once('.')
        .unwrap_or((text.trim().trim_end_matches('%').trim_end(), ""));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(decimals) || decimals.len() > 3 {
        return None;
    }
    let rest: u32 = format!("{decimals:0<3}").parse().ok()?;
    whole.parse::<u32>().ok()?.checked_mul(1_000)?.checked_add(rest).filter(|rate| *rate <= 100_000)
}

/// A signature as the page draws it: pairs in a box of 300 by 100, strokes apart by semicolons. At most so many points.
fn signature(text: &str) -> Option<String> {
    const POINTS: usize = 2_000;
    let mut points = 0;
    for stroke in text.split(';').filter(|stroke| !stroke.trim().is_empty()) {
        let numbers: Vec<u16> = stroke.split_whitespace().map(|n| n.parse().ok()).collect::<Option<_>>()?;
        let sound = |pair: &[u16]| matches!(pair, [x, y] if *x <= 300 && *y <= 100);
        if !numbers.chunks(2).all(sound) {
            return None;
        }
        points += numbers.len() / 2;
    }
    (points <= POINTS).then(|| text.to_owned())
}

/// A price as people write it, in hundredths.
fn read_cents(text: &str) -> Option<u64> {
    u64::try_from(Currency::USUAL.read_amount(text)?.0).ok()
}

type Fields = Vec<(String, String)>;

fn field<'a>(fields: &'a Fields, name: &str) -> &'a str {
    fields.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.trim())
}

/// What a form says of the trade, as fields of the workroom that differ.
fn traded(fields: &Fields, job: &Job) -> Result<Vec<(Uuid, String, Value)>, DeskProblem> {
    let code = field(fields, "currency");
    let currency = Currency::read(code)
        .ok_or_else(|| refuse(format!("\"{code}\" is no currency."), "Write its three letters, such as USD or EUR."))?;
    let mut taxes = Vec::new();
    for n in 0..TAXES {
        let (name, typed) = (field(fields, &format!("tax_name_{n}")), field(fields, &format!("tax_rate_{n}")));
        if name.is_empty() && typed.is_empty() {
            continue;
        }
        if name.is_empty() {
            return Err(refuse(format!("The tax of {typed} % has no name."), "Write what it is called on paper."));
        }
        let rate = read_rate(typed).ok_or_else(|| {
            refuse(format!("\"{typed}\" is no rate for {name}."), "Write percent, with three decimals at most: 8.875.")
        })?;
        let on = match field(fields, &format!("tax_on_{n}")) {
            "goods" => Taxed::Goods,
            "work" => Taxed::Work,
            _ => Taxed::All,
        };
        taxes.push(Tax { name: name.to_owned(), rate, on });
    }
    let mut prices = job.trade.prices.clone();
    for (key, typed) in fields {
        let Some(what) = key.strip_prefix("price:") else { continue };
        if typed.trim().is_empty() {
            prices.remove(what);
            continue;
        }
        let cents = read_cents(typed).ok_or_else(|| {
            refuse(format!("\"{typed}\" is no price of {what}."), "Write it like 4.10: two decimals at most.")
        })?;
        prices.insert(what.to_owned(), cents);
    }
    let text = |value: &str| if value.is_empty() { Value::Null } else { Value::from(value) };
    let (was, words) = (&job.trade, |name: &str| field(fields, name).to_owned());
    let mut all = Vec::new();
    let mut set = |name: &str, differs: bool, value: Value| {
        if differs {
            all.push((Workroom::ID, format!("trade.{name}"), value));
        }
    };
    set("name", was.name != words("name"), text(&words("name")));
    set("reach", was.reach != words("reach"), text(&words("reach")));
    set("currency", was.currency != Some(currency), json_in(LengthUnit::Inch, &currency));
    set("taxes", was.taxes != taxes, if taxes.is_empty() { Value::Null } else { json_in(LengthUnit::Inch, &taxes) });
    set(
        "prices",
        was.prices != prices,
        if prices.is_empty() { Value::Null } else { json_in(LengthUnit::Inch, &prices) },
    );
    Ok(all)
}

/// What a form of a house's prices page does.
fn change(desk: &mut Desk, id: Uuid, fields: &Fields) -> Result<String, DeskProblem> {
    let folded = desk.house(id)?;
    let job = &folded.job;
    let unit = job.unit;
    let prices = format!("/house/{id}/prices");
    let word = |name: &str| field(fields, name);
    match word("do") {
        "quote" => {
            let worked = house::worked(&folded)?;
            let whole = price::of_house(&worked, Catalogue::standard(unit), &Ways::of(job));
            let quote = price::draw_up(&worked, &whole, moments::now(), "")
                .ok_or_else(|| refuse("No shade has a price yet.", "Read and choose first: a shade needs a size."))?;
            let (number, value) = (quote.name.clone(), json_in(unit, &quote));
            desk.set_fields(&folded, vec![(id, format!("quotes.{number}"), value)])?;
            Ok(format!("/house/{id}/quotes/{number}"))
        }
        "agree" => {
            let quote = job.quotes.iter().find(|quote| quote.name == word("quote"));
            let quote = quote.ok_or(DeskProblem::NoSuch { what: "quote" })?;
            if word("name").is_empty() {
                return Err(refuse("It is not said who agrees.", "Write the name as it is signed."));
            }
            let changed = price::has_changed(quote, &house::worked(&folded)?);
            if let Some(first) = changed.first() {
                return Err(refuse(
                    format!("It is not what was offered any more. {first}"),
                    "Draw up a new quote, and agree on that.",
                ));
            }
            let strokes = signature(word("strokes"))
                .ok_or_else(|| refuse("The signature cannot be read.", "Draw it once more, or leave it empty."))?;
            let agreed = Agreed { name: word("name").to_owned(), at: moments::now().time(), strokes };
            let quote = Quote { agreed: Some(agreed), ..quote.clone() };
            desk.set_fields(&folded, vec![(id, format!("quotes.{}", quote.name), json_in(unit, &quote))])?;
            Ok(prices)
        }
        "pay" => {
            let currency = job.traded().currency.unwrap_or(Currency::USUAL);
            let typed = word("amount");
            let (sign, amount) = typed.strip_prefix('-').map_or((1, typed), |rest| (-1, rest));
            let money = currency.read_amount(amount).ok_or_else(|| {
                refuse(
                    format!("\"{typed}\" is no amount in {}.", currency.code()),
                    "Write it like 1,234.50; a minus before what went back.",
                )
            })?;
            let on: NaiveDate = word("on")
                .parse()
                .map_err(|_| refuse(format!("\"{}\" is no day.", word("on")), "Write it like 2026-05-04."))?;
            let payment = Payment {
                name: moments::now().uuid().to_string(),
                on,
                money: Money(money.0 * sign),
                what: word("what").to_owned(),
            };
            desk.set_fields(&folded, vec![(id, format!("payments.{}", payment.name), json_in(unit, &payment))])?;
            Ok(prices)
        }
        way @ ("add_way" | "drop_way") => {
            let on: Uuid = word("opening").parse().map_err(|_| DeskProblem::NoSuch { what: "opening" })?;
            let (_, opening) =
                job.openings().find(|(_, one)| one.id == on).ok_or(DeskProblem::NoSuch { what: "opening" })?;
            let name = word("name");
            if name.is_empty() {
                return Err(refuse("The other way has no name.", "Write what to call it: \"blackout\"."));
            }
            let known = opening.alternatives.iter().any(|other| other.name == name);
            let value = if way == "drop_way" {
                Value::Null
            } else if known {
                return Err(refuse(
                    format!("There is a way called \"{name}\" already."),
                    "Give this one another name, or take that one out first.",
                ));
            } else {
                let other = Alternative {
                    name: name.to_owned(),
                    mount: match word("mount") {
                        "inside" => Some(Mount::Inside),
                        "outside" => Some(Mount::Outside),
                        _ => None,
                    },
                    cloth: Some(word("cloth").to_owned()).filter(|cloth| !cloth.is_empty()),
                    lining: match word("lining") {
                        "plain" => Some(Lining::Plain),
                        "blackout" => Some(Lining::Blackout),
                        "none" => Some(Lining::None),
                        _ => None,
                    },
                    interlined: match word("interlined") {
                        "true" => Some(true),
                        "false" => Some(false),
                        _ => None,
                    },
                };
                if other.mount.is_none()
                    && other.cloth.is_none()
                    && other.lining.is_none()
                    && other.interlined.is_none()
                {
                    return Err(refuse(
                        "It is the same as what is chosen.",
                        "Choose what is to be otherwise: mount, cloth, lining or interlining.",
                    ));
                }
                json_in(unit, &other)
            };
            desk.set_fields(&folded, vec![(on, format!("alternatives.{name}"), value)])?;
            Ok(format!("/house/{id}/opening/{on}"))
        }
        _ => Err(refuse("The form asks for nothing.", "Load the page again.")),
    }
}

pub(super) async fn show(
    State(app): State<App>,
    headers: HeaderMap,
    Path(house): Path<Uuid>,
) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    app.page(&headers, format!("/house/{house}/prices"), move |desk| page(&desk.house(house)?, &token)).await
}

pub(super) async fn act(
    State(app): State<App>,
    Path(house): Path<Uuid>,
    Form(fields): Form<Fields>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(field(&fields, "token")) {
        return Ok(guard::stale());
    }
    let back = match field(&fields, "opening").parse::<Uuid>() {
        Ok(opening) => format!("/house/{house}/opening/{opening}"),
        Err(_) => format!("/house/{house}/prices"),
    };
    Ok(answered(app.at_desk(move |desk| change(desk, house, &fields)).await, &back))
}

fn answered(done: Result<String, DeskProblem>, back: &str) -> Response {
    match done {
        Ok(to) => Redirect::to(&to).into_response(),
        Err(problem) => {
            let (what, right) = problem.words();
            refused_at(problem.status(), &what, &right, back)
        }
    }
}

pub(super) async fn quote(
    State(app): State<App>,
    headers: HeaderMap,
    Path((house, number)): Path<(Uuid, String)>,
) -> Result<Response, DeskProblem> {
    app.page(&headers, format!("/house/{house}/quotes/{number}"), move |desk| {
        let folded = desk.house(house)?;
        let job = &folded.job;
        let quote =
            job.quotes.iter().find(|quote| quote.name == number).ok_or(DeskProblem::NoSuch { what: "quote" })?;
        let day = moments::today();
        let heading = Heading { job, unit: job.unit, day: &day };
        let sheet = sheet::quote(&heading, quote, &house::worked(&folded)?);
        let trail = vec![Crumb::house(job), Crumb::to("Page", "Prices and quotes", format!("/house/{house}/prices"))];
        let prices = format!("/house/{house}/prices");
        let title = format!("Quote {}", quote.name);
        let markup = one_sheet(&title, (&prices, "Prices and quotes"), &sheet);
        Ok(Content { title: format!("{title}, {}", job.name), trail, outdoors: false, markup })
    })
    .await
}

pub(super) async fn trade(State(app): State<App>, headers: HeaderMap) -> Result<Response, DeskProblem> {
    let token = app.guard.token();
    let page = move |desk: &mut Desk| Ok(trade_page(&desk.house(Workroom::ID)?.job, None, &token));
    app.page(&headers, "/trade".to_owned(), page).await
}

pub(super) async fn keep_trade(
    State(app): State<App>,
    headers: HeaderMap,
    Form(fields): Form<Fields>,
) -> Result<Response, DeskProblem> {
    if !app.guard.knows(field(&fields, "token")) {
        return Ok(guard::stale());
    }
    let typed = fields.clone();
    let done = app.at_desk(move |desk| {
        let folded = desk.house(Workroom::ID)?;
        let all = traded(&fields, &folded.job)?;
        if all.is_empty() { Ok(()) } else { desk.set_fields(&folded, all) }
    });
    let problem = match done.await {
        Ok(()) => return Ok(Redirect::to("/trade").into_response()),
        Err(problem) => problem,
    };
    let ((what, right), status, token) = (problem.words(), problem.status(), app.guard.token());
    let refused = Refused { fields: typed, what, right };
    let page = move |desk: &mut Desk| Ok(trade_page(&desk.house(Workroom::ID)?.job, Some(&refused), &token));
    let mut page = app.page(&headers, "/trade".to_owned(), page).await?;
    *page.status_mut() = status;
    Ok(page)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rates_and_prices_are_read_as_people_write_them() {
        assert_eq!(read_rate("8.875 %"), Some(8_875));
        assert_eq!(read_rate("7"), Some(7_000));
        assert_eq!(read_rate("100.001"), None);
        assert_eq!(read_rate("7,5"), None);
        assert_eq!(rate(8_875), "8.875");
        assert_eq!(read_cents("4.1"), Some(410));
        assert_eq!(read_cents("-4.1"), None);
        for good in ["", "0 0 300 100", "1 2 3 4;5 6 7 8"] {
            assert_eq!(signature(good).as_deref(), Some(good));
        }
        for bad in ["1", "1 2 3", "301 1 2 2", "1 101", "a b", "\"><script>", "-1 2"] {
            assert_eq!(signature(bad), None, "{bad}");
        }
        assert_eq!(signature(&"1 2 ".repeat(2_001)), None);
    }
}

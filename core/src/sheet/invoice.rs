//! The invoice: what is asked for, under its number, with what came already and what is open.

use super::Heading;
use super::frame::{Block, Sheet, WIDE, text_mm};
use crate::house::Invoice;
use crate::money::Money;
use maud::html;

/// An invoice as its client reads it. It says what was frozen in it.
pub fn invoice(heading: &Heading<'_>, invoice: &Invoice) -> maud::Markup {
    let number = |money: Money| invoice.currency.number(money);
    let open = invoice.total - invoice.paid;
    let mut blocks = vec![Block::whole(
        html! {
            div.quote-head {
                h1 { "Invoice " (invoice.name) }
                p { "Of " (invoice.at.date_naive()) ", on quote " (invoice.quote) "."
                    @if let Some(other) = &invoice.takes_back { " It takes back invoice " (other) "." } }
            }
        },
        13.0,
    )];
    let trade = heading.job.traded();
    let from: Vec<&str> = [trade.name.as_str(), &trade.reach].into_iter().filter(|words| !words.is_empty()).collect();
    if !from.is_empty() {
        let from = format!("From {}.", from.join(", "));
        blocks.push(Block::whole(html! { p { (from) } }, text_mm(&from, WIDE, 10.0, 1.28) + 1.5));
    }
    let rows = invoice
        .lines
        .iter()
        .map(|line| {
            let row = html! { tr { td { (heading.set(&line.what)) } td.n { (number(line.money)) } } };
            (row, text_mm(&line.what, WIDE - 40.0, 10.0, 1.28) + 2.0)
        })
        .collect();
    blocks.push(Block::parts(8.0, rows, 1, |parts, _| {
        html! {
            table.quote {
                thead { tr { th { "What" } th.n { (invoice.currency.code()) } } }
                tbody { @for part in parts { (part) } }
            }
        }
    }));
    blocks.push(Block::whole(
        html! {
            div.quote-below {
                div {
                    @if invoice.takes_back.is_none() && open > Money::ZERO { h2 { "To pay" } p { (invoice.currency.show(open)) " by " (invoice.due) "." } }
                    @else if invoice.takes_back.is_none() { h2 { "Paid" } p { "Nothing is open." } }
                }
                table.sum {
                    tbody {
                        tr.total { td { "Total, " (invoice.currency.code()) } td.n { (number(invoice.total)) } }
                        @if invoice.takes_back.is_none() {
                            tr { td { "Came until then" } td.n { (number(invoice.paid)) } }
                            tr { td { "Open" } td.n { b { (number(open)) } } }
                        }
                    }
                }
            }
        },
        24.0,
    ));
    let law = "What an invoice must hold, and which taxes are on it, differs by place; who knows yours decides, not this sheet. \
               Amounts are as they were agreed on.";
    blocks.push(Block::whole(html! { p.note { (law) } }, text_mm(law, WIDE, 8.5, 1.25) + 1.5));
    let made_for = if heading.job.reach.is_empty() { heading.job.name.clone() } else { heading.job.reach.clone() };
    heading.pages(&Sheet { given: true, ..Sheet::of("Invoice", "For", &made_for, blocks) })
}

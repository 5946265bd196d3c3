//! `price` as a calculator: one job file on a line in, its price on a line out, every line with its working.

use super::{Kind, Priced, Ways, alone_and_shared, of_house};
use crate::house::file;
use crate::mount::Catalogue;
use crate::work;
use serde_json::{Value, json};

/// Prices one house: a job file (`hangtrue export` writes one) as one line of JSON. Amounts are whole numbers of the
/// currency's smallest units; an amount that is not known is null, and is told under `without`. Always one line of JSON,
/// without its newline.
pub fn answer(text: &str, _line: usize) -> String {
    let refused = |id: Value, place: &str, what: &str, right: &str| {
        json!({"id": id, "error": {"where": place, "what": what, "right": right}}).to_string()
    };
    let job = match file::read(text) {
        Ok(job) => job,
        Err(problem) => return refused(Value::Null, &problem.path, &problem.what, &problem.right),
    };
    let id = Value::from(job.id.to_string());
    let catalogue = Catalogue::standard(job.unit);
    let house = match work::house(&job, catalogue) {
        Ok(house) => house,
        Err(problem) => {
            return refused(id, "settings", &problem.to_string(), "put the number right in the settings of the house");
        }
    };
    let ways = Ways::of(&job);
    let price = of_house(&house, catalogue, &ways);
    let openings: Vec<Value> = price
        .openings
        .iter()
        .map(|one| {
            json!({
                "opening": one.opening,
                "name": one.name,
                "stands": one.stand,
                "price": one.chosen.as_ref().map(of_priced),
                "others": one.others.iter().map(|other| json!({
                    "name": other.name,
                    "size": other.size,
                    "price": other.priced.as_ref().map(of_priced),
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({
        "id": id,
        "currency": price.currency,
        "decimals": price.currency.decimals(),
        "openings": openings,
        "shades": price.shades,
        "of_shades": price.of_shades,
        "sums": price.sums,
        "total": price.total,
        "deposit": price.deposit,
        "deposit_because": price.deposit_working,
        "minutes": price.minutes,
        "material_alone_and_shared": alone_and_shared(&house, &price, &ways),
        "without": price.without,
    })
    .to_string()
}

fn of_priced(priced: &Priced) -> Value {
    let kind = |kind: Kind| match kind {
        Kind::Bought => "bought",
        Kind::Material => "material",
        Kind::Making => "making",
        Kind::Charge => "charge",
    };
    let lines = priced
        .lines
        .iter()
        .map(|line| json!({"kind": kind(line.kind), "what": line.what, "working": line.working, "money": line.money}));
    json!({
        "lines": lines.collect::<Vec<_>>(),
        "each": priced.each,
        "count": priced.count,
        "all": priced.all(),
        "minutes": priced.minutes,
        "hanging_minutes": priced.hanging,
        "without": priced.without,
    })
}

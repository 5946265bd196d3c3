//! A cloth as it is typed.

use super::{Field, Reader, Slip, Typing, decimal, number_and_rest, written};
use hangtrue_core::cloth::Bolt;
use hangtrue_core::house::{Cloth, ClothDirection, Match};
use hangtrue_core::length::{Length, LengthUnit, Typed};
use hangtrue_core::settings::Settings;

/// Every field, in the order of the form.
pub(crate) const FIELDS: [Field; 17] = [
    Field::text("name", "Name", "what openings choose it by"),
    Field::text("code", "Maker's code", "pattern and colour, as it is ordered"),
    Field::text("supplier", "Bought from", ""),
    Field::text("width", "Full width", "selvages included: 54, or 137 cm"),
    Field::text("usable_width", "Usable width", "without the selvages; left empty: the full width"),
    Field::text("repeat", "Repeat, down the cloth", "left empty: plain"),
    Field::text("repeat_across", "Repeat, across the cloth", ""),
    Field {
        name: "match",
        label: "How the pattern meets at a seam",
        hint: "",
        options: &[("straight", "At the same height"), ("half_drop", "Half a repeat lower: half-drop")],
    },
    Field {
        name: "direction",
        label: "Which way up",
        hint: "",
        options: &[("one_way", "One way only"), ("any_way", "Any way: it may be turned a quarter")],
    },
    Field::text("shrinks", "Shrinks along its length", "3 %"),
    Field::text("weight", "Weight", "240 g/m2, or 7.1 oz (of a square yard)"),
    Field::text("price", "Price", "24.50 a yard, or 26 a metre"),
    Field {
        name: "no_more",
        label: "Is there more to be had",
        hint: "",
        options: &[("no", "Yes, it can be bought"), ("yes", "No: what is on the shelf is all")],
    },
    Field {
        name: "clients_own",
        label: "Whose it is",
        hint: "",
        options: &[("no", "The workroom buys it"), ("yes", "The client's own: its handling is charged")],
    },
    Field::text("selvage_left", "Left selvage, face up", "left empty: half of what the usable width leaves"),
    Field::text("selvage_right", "Right selvage, face up", ""),
    Field::text("note", "Remark", ""),
];

/// A square yard's ounce in grams a square metre: 28.349523125 g over 0.83612736 m2 (NIST Special Publication 811, B.8),
/// in thousandths.
const OUNCE: u64 = 33_906;
/// No cloth of a shade weighs more, grams a square metre. Common practice, no source.
const HEAVIEST: u64 = 5_000;
/// No cloth is wider. Common practice, no source: the widest seamless cloths are about 3.3 m.
const WIDEST: Length = Length::mm(6_000);

/// Reads a cloth. What the form does not ask for is kept from `before`.
///
/// # Errors
/// Every field that cannot be used.
pub(crate) fn read(typing: &Typing, before: Option<&Cloth>, unit: LengthUnit) -> Result<Cloth, Vec<Slip>> {
    let mut reader = Reader::new(typing, unit);
    let name = reader.words("name");
    if name.is_empty() {
        reader.slip("name", "the name is empty", "a cloth has a name: Reed, natural");
    }
    let (code, supplier, note) = (reader.words("code"), reader.words("supplier"), reader.words("note"));
    let width = reader.length("width");
    if typing.get("width").is_empty() {
        reader.slip("width", "the full width is missing", "measure it from edge to edge: 54, or 137 cm");
    }
    if width.as_ref().is_some_and(|width| width.value() > WIDEST) {
        reader.slip(
            "width",
            format!("no cloth is {} wide", typing.get("width")),
            "look at the unit: 54 in, 137 cm or 1370 mm",
        );
    }
    let usable = reader.length("usable_width");
    let (repeat, repeat_across) = (reader.length("repeat"), reader.length("repeat_across"));
    let (selvage_left, selvage_right) =
        (reader.length_from("selvage_left", true), reader.length_from("selvage_right", true));
    let matching = match typing.get("match").to_lowercase().replace([' ', '-'], "_").as_str() {
        "" | "straight" => Match::Straight,
        "half_drop" => Match::HalfDrop,
        other => {
            reader.slip("match", format!("\u{201C}{other}\u{201D} is no way to meet"), "write straight or half-drop");
            Match::Straight
        }
    };
    let direction = match typing.get("direction").to_lowercase().replace([' ', '-'], "_").as_str() {
        "" | "one_way" => ClothDirection::OneWay,
        "any_way" => ClothDirection::AnyWay,
        other => {
            reader.slip("direction", format!("\u{201C}{other}\u{201D} is no direction"), "write one way or any way");
            ClothDirection::OneWay
        }
    };
    let shrinks_permille = shrinks(&mut reader);
    let weight_gsm = weight(&mut reader);
    let price = price(&mut reader);
    let no_more = reader.yes("no_more");
    let clients_own = reader.yes("clients_own");
    let Some(width) = width.filter(|_| reader.slips.is_empty()) else { return Err(reader.slips) };
    let cloth = Cloth {
        name,
        code,
        supplier,
        width,
        usable,
        selvage_left,
        selvage_right,
        repeat,
        repeat_across,
        matching,
        direction,
        shrinks_permille,
        weight_gsm,
        price_cents: price.as_ref().map(|(cents, _)| *cents),
        price_per: price.map(|(_, per)| per),
        no_more,
        clients_own,
        note,
        on_hand: before.map(|before| before.on_hand.clone()).unwrap_or_default(),
    };
    match Bolt::of(&cloth, &Settings::defaults(unit), unit) {
        Ok(_) => Ok(cloth),
        Err(problem) => Err(vec![Slip::new(field_of(&problem.place), problem.what, problem.right)]),
    }
}

/// The field that a problem of the cloth is shown at.
fn field_of(place: &str) -> &'static str {
    match place {
        "usable" => "usable_width",
        "matching" => "match",
        "shrinks_permille" => "shrinks",
        "price_per" => "price",
        other => FIELDS.iter().map(|field| field.name).find(|name| *name == other).unwrap_or("width"),
    }
}

fn shrinks(reader: &mut Reader<'_>) -> u32 {
    let text = reader.typing.get("shrinks");
    if text.is_empty() {
        return 0;
    }
    let (number, rest) = number_and_rest(text);
    match decimal(number, 1).filter(|_| matches!(rest, "" | "%" | "percent" | "per cent")) {
        Some(permille) if permille < 500 => u32::try_from(permille).unwrap_or(0),
        Some(_) => {
            reader.slip(
                "shrinks",
                format!("\u{201C}{text}\u{201D} is half of the cloth or more"),
                "most shrink by 1 to 5 %",
            );
            0
        }
        None => {
            reader.slip(
                "shrinks",
                format!("\u{201C}{text}\u{201D} is no share"),
                "write percent with one decimal at most: 3 % or 2.5 %",
            );
            0
        }
    }
}

fn weight(reader: &mut Reader<'_>) -> Option<u32> {
    let text = reader.typing.get("weight");
    if text.is_empty() {
        return None;
    }
    let (number, rest) = number_and_rest(text);
    let unit: String = rest.to_lowercase().chars().filter(|c| !c.is_whitespace() && *c != '.').collect();
    let grams = match unit.as_str() {
        "" | "g" | "gsm" | "g/m2" | "g/m\u{b2}" => decimal(number, 2).map(|hundredths| (hundredths + 50) / 100),
        "oz" | "oz/yd2" | "oz/yd\u{b2}" | "oz/sqyd" | "ozsqyd" => {
            decimal(number, 2).and_then(|hundredths| hundredths.checked_mul(OUNCE)).map(|all| (all + 50_000) / 100_000)
        }
        _ => None,
    };
    match grams {
        Some(grams @ 1..=HEAVIEST) => u32::try_from(grams).ok(),
        Some(_) => {
            reader.slip("weight", format!("no cloth of a shade weighs {text}"), format!("1 to {HEAVIEST} g/m2"));
            None
        }
        None => {
            reader.slip("weight", format!("\u{201C}{text}\u{201D} is no weight"), "write it like 240 g/m2 or 7.1 oz");
            None
        }
    }
}

/// A price in hundredths, and the length that it is for.
fn price(reader: &mut Reader<'_>) -> Option<(u64, Typed)> {
    let text = reader.typing.get("price");
    if text.is_empty() {
        return None;
    }
    let bare = text.trim_start_matches(|c: char| !c.is_ascii_digit() && !matches!(c, '-' | '.' | ','));
    let (number, rest) = number_and_rest(bare);
    let Some(cents) = decimal(number, 2) else {
        reader.slip("price", format!("\u{201C}{text}\u{201D} is no price"), "write it like 24.50 a yard or 26 a metre");
        return None;
    };
    let per = rest.trim_start_matches(|c: char| !c.is_ascii_alphanumeric() && c != '/').trim_start_matches('/').trim();
    let per = ["per ", "a ", "for ", "each "].iter().find_map(|word| per.strip_prefix(word)).unwrap_or(per).trim();
    let length = match per.to_lowercase().as_str() {
        "" => Ok(usual_length(reader.unit)),
        "yard" | "yd" | "yds" | "yards" => Ok(usual_length(LengthUnit::Inch)),
        "metre" | "meter" | "m" | "metres" => Ok(usual_length(LengthUnit::Millimetre)),
        other => reader.read_length(other, false),
    };
    match length {
        Ok(length) => Some((cents, length)),
        Err(_) => {
            let what = format!("\u{201C}{text}\u{201D} does not say what the price is for");
            reader.slip("price", what, "write it like 24.50 a yard or 26 a metre");
            None
        }
    }
}

/// What cloth is priced by: a yard or a metre.
fn usual_length(unit: LengthUnit) -> Typed {
    let (length, unit) = if unit.is_imperial() {
        (Length::whole_inches(36), LengthUnit::Inch)
    } else {
        (Length::mm(1000), LengthUnit::Metre)
    };
    Typed::exact(length, unit)
}

/// A cloth's price as it is read back: "24.50 a yard".
pub(crate) fn price_words(cloth: &Cloth, unit: LengthUnit) -> String {
    let Some(cents) = cloth.price_cents else { return String::new() };
    let per = cloth.price_per.as_ref().map_or_else(|| usual_length(unit).value(), Typed::value);
    let words = match () {
        () if per == Length::whole_inches(36) => "a yard".to_owned(),
        () if per == Length::mm(1000) => "a metre".to_owned(),
        () => format!("for {}", cloth.price_per.as_ref().map_or_else(String::new, Typed::marked_text)),
    };
    format!("{}.{:02} {words}", cents / 100, cents % 100)
}

/// A cloth as its form shows it.
pub(crate) fn typing(cloth: &Cloth, unit: LengthUnit) -> Typing {
    typing_by(cloth, &|typed| written(typed, unit), unit)
}

/// A cloth as its fields are written, lengths by `write`.
pub(crate) fn typing_by(cloth: &Cloth, write: &dyn Fn(&Typed) -> String, unit: LengthUnit) -> Typing {
    let mut typing = Typing::default();
    let some = |typed: &Option<Typed>| typed.as_ref().map_or_else(String::new, write);
    typing.put("name", cloth.name.as_str());
    typing.put("code", cloth.code.as_str());
    typing.put("supplier", cloth.supplier.as_str());
    typing.put("width", write(&cloth.width));
    typing.put("usable_width", some(&cloth.usable));
    typing.put("repeat", some(&cloth.repeat));
    typing.put("repeat_across", some(&cloth.repeat_across));
    typing.put("match", if cloth.matching == Match::HalfDrop { "half_drop" } else { "straight" });
    typing.put("direction", if cloth.direction == ClothDirection::AnyWay { "any_way" } else { "one_way" });
    if cloth.shrinks_permille > 0 {
        let (whole, tenth) = (cloth.shrinks_permille / 10, cloth.shrinks_permille % 10);
        typing.put("shrinks", if tenth == 0 { format!("{whole} %") } else { format!("{whole}.{tenth} %") });
    }
    if let Some(weight) = cloth.weight_gsm {
        typing.put("weight", format!("{weight} g/m2"));
    }
    typing.put("price", price_words(cloth, unit));
    typing.put("no_more", if cloth.no_more { "yes" } else { "no" });
    typing.put("clients_own", if cloth.clients_own { "yes" } else { "no" });
    typing.put("selvage_left", some(&cloth.selvage_left));
    typing.put("selvage_right", some(&cloth.selvage_right));
    typing.put("note", cloth.note.as_str());
    typing
}

/// The words a cloth is found by.
pub(crate) fn is_found(cloth: &Cloth, find: &str) -> bool {
    let of = format!("{} {} {} {}", cloth.name, cloth.code, cloth.supplier, cloth.note).to_lowercase();
    find.to_lowercase().split_whitespace().all(|word| of.contains(word))
}

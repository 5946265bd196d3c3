//! A piece of the shelf as it is typed.

use super::{Field, Reader, Slip, Typing, written};
use hangtrue_core::house::{Flaw, ShelfPiece};
use hangtrue_core::length::{Length, LengthUnit, Typed};
use uuid::Uuid;

/// Every field, in the order of the form.
pub(crate) const FIELDS: [Field; 8] = [
    Field::text("cloth", "Cloth", "its name in the workroom's cloths"),
    Field::text("length", "Length", "from cut end to cut end"),
    Field::text("usable_width", "Usable width", "left empty: as wide as its cloth"),
    Field::text("lot", "Lot", "two lots never meet in a room unless you say so"),
    Field::text("first_line", "Cut end to the first line of the pattern", "left empty: not measured"),
    Field::text("flaws", "Flaws", "from the same end: 12 to 14; 60 to 61 1/2"),
    Field::text("whose", "Whose it is", "left empty: the workroom's; else the house whose client owns it"),
    Field::text("note", "Remark", ""),
];

/// Reads a piece. What the form does not ask for is kept from `before`. `houses` are those that may own it, by name.
///
/// # Errors
/// Every field that cannot be used.
pub(crate) fn read(
    typing: &Typing,
    before: Option<&ShelfPiece>,
    is_cloth: impl Fn(&str) -> bool,
    houses: &[(Uuid, String)],
    unit: LengthUnit,
) -> Result<ShelfPiece, Vec<Slip>> {
    let mut reader = Reader::new(typing, unit);
    let cloth = reader.words("cloth");
    if cloth.is_empty() {
        reader.slip("cloth", "the cloth is missing", "choose one of the workroom's cloths");
    } else if !is_cloth(&cloth) {
        reader.slip(
            "cloth",
            format!("the workroom has no cloth called \u{201C}{cloth}\u{201D}"),
            "add the cloth first, or write its name as it stands there",
        );
    }
    let length = reader.length("length");
    if typing.get("length").is_empty() {
        reader.slip("length", "the length is missing", "measure it from cut end to cut end");
    }
    let usable = reader.length("usable_width");
    let (lot, note) = (reader.words("lot"), reader.words("note"));
    let first_line = reader.length_from("first_line", true);
    let flaws = flaws(&mut reader, length.as_ref().map(Typed::value));
    if let (Some(line), Some(length)) = (&first_line, &length)
        && line.value() > length.value()
    {
        reader.slip(
            "first_line",
            format!("{} is beyond the end of the piece", line.text()),
            "measure from the same cut end",
        );
    }
    let owner = owner(&mut reader, houses);
    let Some(length) = length.filter(|_| reader.slips.is_empty()) else { return Err(reader.slips) };
    let kept = before.map(|before| (before.offcut_of, before.cut_for, before.gone));
    let (offcut_of, cut_for, gone) = kept.unwrap_or_default();
    Ok(ShelfPiece { cloth, length, usable, lot, first_line, flaws, owner, offcut_of, cut_for, gone, note })
}

/// Flaws as they are written: "12 to 14; 60".
fn flaws(reader: &mut Reader<'_>, length: Option<Length>) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    for part in reader.typing.get("flaws").split([';', '\n']).map(str::trim).filter(|part| !part.is_empty()) {
        let (from, to) = part.split_once(" to ").map_or((part, part), |(from, to)| (from.trim(), to.trim()));
        let read = reader.read_length(from, true).and_then(|from| Ok((from, reader.read_length(to, true)?)));
        match read {
            Ok((from, to)) if length.is_some_and(|length| from.value().max(to.value()) > length) => {
                reader.slip(
                    "flaws",
                    format!("\u{201C}{part}\u{201D} is beyond the end of the piece"),
                    "measure from the same cut end",
                );
            }
            Ok((from, to)) if from.value() > to.value() => {
                reader.slip(
                    "flaws",
                    format!("\u{201C}{part}\u{201D} ends before it begins"),
                    "write the nearer place first: 12 to 14",
                );
            }
            Ok((from, to)) => flaws.push(Flaw { from, to }),
            Err((what, _)) => reader.slip(
                "flaws",
                what,
                "write from and to, with a semicolon between two flaws: 12 to 14; 60 to 61 1/2",
            ),
        }
    }
    flaws
}

/// The house whose client owns it: by its whole name or its id.
fn owner(reader: &mut Reader<'_>, houses: &[(Uuid, String)]) -> Option<Uuid> {
    let text = reader.words("whose");
    if text.is_empty() || matches!(text.to_lowercase().as_str(), "workroom" | "the workroom" | "the workroom's") {
        return None;
    }
    if let Ok(id) = Uuid::parse_str(&text)
        && houses.iter().any(|(known, _)| *known == id)
    {
        return Some(id);
    }
    let named: Vec<&(Uuid, String)> =
        houses.iter().filter(|(_, name)| name.trim().eq_ignore_ascii_case(&text)).collect();
    match named.as_slice() {
        [(id, _)] => Some(*id),
        [] => {
            reader.slip(
                "whose",
                format!("no house is called \u{201C}{text}\u{201D}"),
                "write the house's whole name, or leave it empty: the workroom's",
            );
            None
        }
        _ => {
            reader.slip(
                "whose",
                format!("{} houses are called \u{201C}{text}\u{201D}", named.len()),
                "give one of them another name first",
            );
            None
        }
    }
}

/// A piece as its form shows it.
pub(crate) fn typing(piece: &ShelfPiece, houses: &[(Uuid, String)], unit: LengthUnit) -> Typing {
    typing_by(piece, houses, &|typed| written(typed, unit))
}

/// A piece as its fields are written, lengths by `write`.
pub(crate) fn typing_by(piece: &ShelfPiece, houses: &[(Uuid, String)], write: &dyn Fn(&Typed) -> String) -> Typing {
    let mut typing = Typing::default();
    let some = |typed: &Option<Typed>| typed.as_ref().map_or_else(String::new, write);
    typing.put("cloth", piece.cloth.as_str());
    typing.put("length", write(&piece.length));
    typing.put("usable_width", some(&piece.usable));
    typing.put("lot", piece.lot.as_str());
    typing.put("first_line", some(&piece.first_line));
    typing.put("flaws", flaw_words(piece, write));
    let name = |id: Uuid| {
        houses.iter().find(|(known, _)| *known == id).map_or_else(|| id.to_string(), |(_, name)| name.clone())
    };
    // Two houses of one name are told apart by id.
    let named = |id: Uuid| {
        if houses.iter().filter(|(_, other)| *other == name(id)).count() > 1 { id.to_string() } else { name(id) }
    };
    typing.put("whose", piece.owner.map_or_else(String::new, named));
    typing.put("note", piece.note.as_str());
    typing
}

/// The flaws of a piece as they are read back.
pub(crate) fn flaw_words(piece: &ShelfPiece, write: &dyn Fn(&Typed) -> String) -> String {
    let of = |flaw: &Flaw| format!("{} to {}", write(&flaw.from), write(&flaw.to));
    piece.flaws.iter().map(of).collect::<Vec<_>>().join("; ")
}

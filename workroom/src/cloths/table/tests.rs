//! Tables go out and come in again as they were; what is wrong is named by line and column.

use super::*;
use hangtrue_core::house::{ClothDirection, Flaw, Match};
use hangtrue_core::length::Length;
use proptest::prelude::*;

const IN: LengthUnit = LengthUnit::Inch;
const MM: LengthUnit = LengthUnit::Millimetre;

fn typed(text: &str) -> Typed {
    Typed::read(text, IN).unwrap()
}

#[test]
fn a_bad_row_is_named_by_line_and_column_and_the_rest_goes_in() {
    let text = "name,width,repeat,weight,price\n\
                Reed,54,25 1/4,240 g/m2,24.50 a yard\n\
                Ash,wide,,,\n\
                \"Moss, deep\",137 cm,,7.1 oz,\"26,00 a metre\"\n\
                Fern,54,,,12,34\n\
                reed,55,,,\n\
                Lake,54,0,heavy,\n";
    let taken = cloths_in(text, &[], IN);
    let names: Vec<&str> = taken.rows.iter().map(|cloth| cloth.name.as_str()).collect();
    assert_eq!(names, ["Reed", "Moss, deep"]);
    assert_eq!(taken.rows[0].price_cents, Some(2450));
    assert_eq!(taken.rows[0].price_per.as_ref().unwrap().value(), Length::whole_inches(36));
    assert_eq!(taken.rows[1].price_cents, Some(2600));
    assert_eq!(taken.rows[1].price_per.as_ref().unwrap().value(), Length::mm(1000));
    // 7.1 oz/yd2 x 33.906 g/m2 (NIST Special Publication 811, appendix B.8) is 240.7 g/m2.
    assert_eq!(taken.rows[1].weight_gsm, Some(241));
    let said: Vec<(u64, &str)> = taken.slips.iter().map(|slip| (slip.line, slip.column.as_str())).collect();
    assert_eq!(said, [(3, "2 (width)"), (5, ""), (6, "1 (name)"), (7, "3 (repeat)"), (7, "4 (weight)")]);
    assert!(taken.slips.iter().all(|slip| !slip.what.is_empty() && !slip.right.is_empty()));
    // As a browser's form sends it.
    assert_eq!(cloths_in(&text.replace('\n', "\r\n"), &[], IN).slips, taken.slips);
}

#[test]
fn what_is_no_table_of_cloths_says_what_is_missing() {
    for (text, said) in
        [("", ""), ("name,code\nReed,7\n", "no column called width"), ("<html>\n", "no column called name")]
    {
        let taken = cloths_in(text, &[], IN);
        assert!(taken.rows.is_empty());
        assert!(
            said.is_empty() || taken.slips.iter().any(|slip| slip.what.contains(said)),
            "{text}: {:?}",
            taken.slips
        );
    }
    // A column of another program is named and the rest is read.
    let taken = cloths_in("name;width;colour\nReed;54;green\n", &[], IN);
    assert_eq!((taken.rows.len(), taken.slips.len()), (1, 1));
    assert!(taken.slips[0].what.contains("left out"));
}

#[test]
fn a_cell_never_works_out_as_a_sum() {
    let cloth = cloths_in("name,width\n\"=1+1\",54\n", &[], IN).rows.remove(0);
    assert_eq!(cloth.name, "=1+1");
    let text = cloths_out(std::slice::from_ref(&cloth), IN);
    assert!(text.contains("\n'=1+1,"), "{text}");
    assert_eq!(cloths_in(&text, &[], IN).rows[0].name, "=1+1");
}

#[test]
fn the_shelf_s_rows_are_laid_over_their_pieces() {
    let cloths = cloths_in("name,width\nReed,54\n", &[], IN).rows;
    let houses = [(Uuid::from_u128(7), "Larch House".to_owned())];
    let mut n = 0;
    let mut id = || {
        n += 1;
        Uuid::from_u128(n)
    };
    let text = "cloth,length,lot,first line,flaws,whose\n\
                Reed,150,A,3,12 to 14; 60 to 61 1/2,\n\
                Reed,40,B,,,larch house\n\
                Rush,40,,,,\n\
                Reed,20,,30,19 to 40,\n";
    let taken = shelf_in(text, &BTreeMap::new(), &cloths, &houses, IN, &mut id);
    assert_eq!(taken.rows.len(), 2);
    assert_eq!(taken.rows[1].1.owner, Some(Uuid::from_u128(7)));
    let said: Vec<(u64, &str)> = taken.slips.iter().map(|slip| (slip.line, slip.column.as_str())).collect();
    assert_eq!(said, [(4, "1 (cloth)"), (5, "5 (flaws)"), (5, "4 (first line)")]);
    let shelf: BTreeMap<Uuid, ShelfPiece> = taken.rows.into_iter().collect();
    let again = shelf_in(&shelf_out(&shelf, &houses), &shelf, &cloths, &houses, MM, &mut id);
    assert!(again.slips.is_empty(), "{:?}", again.slips);
    assert_eq!(again.rows.len(), 2);
    for (id, piece) in again.rows {
        let was = &shelf[&id];
        assert_eq!(
            (piece.length.value(), piece.owner, piece.flaws.len()),
            (was.length.value(), was.owner, was.flaws.len())
        );
    }
}

/// A name as people and spreadsheets make trouble with it.
fn name() -> impl Strategy<Value = String> {
    "['=@+;,\"a-zA-Z0-9 äé/.-]{1,12}"
        .prop_map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
        .prop_filter("a name", |text| !text.is_empty())
}

fn length() -> impl Strategy<Value = Typed> {
    prop_oneof![
        (1_i64..2000).prop_map(|n| Typed::exact(Length::inches(n, 16), IN)),
        (1_i64..3000).prop_map(|n| Typed::exact(Length::mm(n), MM)),
        Just(typed("1' 2 1/2\"")),
        Just(typed("88 cm")),
    ]
}

prop_compose! {
    fn cloth()(
        name in name(), code in name(), supplier in proptest::option::of(name()), usable in length(),
        selvages in proptest::option::of((0_i64..3, 0_i64..3)), repeat in proptest::option::of(length()),
        across in proptest::option::of(length()), drop in any::<bool>(), any_way in any::<bool>(), shrinks in 0_u32..500,
        weight in proptest::option::of(1_u32..5000), price in proptest::option::of((0_u64..100_000, length())), no_more in any::<bool>(), clients_own in any::<bool>(),
    ) -> Cloth {
        let (left, right) = selvages.unwrap_or_default();
        let width = usable.value() + Length::mm(left) + Length::mm(right);
        let half_drop = drop && repeat.is_some();
        Cloth {
            name, code, supplier: supplier.unwrap_or_default(),
            width: Typed::exact(width, MM), usable: Some(usable),
            selvage_left: selvages.map(|_| Typed::exact(Length::mm(left), MM)),
            selvage_right: selvages.map(|_| Typed::exact(Length::mm(right), MM)),
            repeat, repeat_across: across,
            matching: if half_drop { Match::HalfDrop } else { Match::Straight },
            direction: if any_way { ClothDirection::AnyWay } else { ClothDirection::OneWay },
            shrinks_permille: shrinks, weight_gsm: weight,
            price_cents: price.as_ref().map(|(cents, _)| *cents), price_per: price.map(|(_, per)| per),
            no_more, clients_own, note: String::new(), on_hand: Vec::new(),
        }
    }
}

/// All lengths as exact values: how they are written may differ.
fn values(cloth: &Cloth) -> Typing {
    cloth::typing_by(cloth, &|typed| typed.value().nm().to_string(), IN)
}

proptest! {
    #[test]
    fn cloths_come_back_from_their_table(all in proptest::collection::vec(cloth(), 1..6), metric in any::<bool>()) {
        let mut cloths: Vec<Cloth> = Vec::new();
        for cloth in all {
            if cloths.iter().all(|other| other.name.to_lowercase() != cloth.name.to_lowercase()) && cloth.width.value() <= Length::mm(6000) {
                cloths.push(cloth);
            }
        }
        let unit = if metric { MM } else { IN };
        let text = cloths_out(&cloths, unit);
        let back = cloths_in(&text, &[], unit);
        prop_assert!(back.slips.is_empty(), "{:?}\n{}", back.slips, text);
        prop_assert_eq!(back.rows.len(), cloths.len());
        for (one, other) in cloths.iter().zip(&back.rows) {
            prop_assert_eq!(values(one), values(other));
            prop_assert_eq!(&one.price_per.as_ref().map(Typed::value), &other.price_per.as_ref().map(Typed::value));
        }
    }

    #[test]
    fn pieces_come_back_from_their_table(
        long in 1_i64..4000, lot in proptest::option::of(name()), first in proptest::option::of(0_i64..4000),
        flaws in proptest::collection::vec((0_i64..4000, 0_i64..200), 0..4), owned in any::<bool>(),
    ) {
        let cloths = cloths_in("name,width\nReed,54\n", &[], IN).rows;
        let houses = [(Uuid::from_u128(7), "Larch House".to_owned())];
        let at = |n: i64| Typed::exact(Length::inches(n.min(long), 16), IN);
        let piece = ShelfPiece {
            cloth: "Reed".to_owned(), length: at(long), usable: None, lot: lot.unwrap_or_default(), first_line: first.map(at),
            flaws: flaws.iter().map(|(from, more)| Flaw { from: at(*from), to: at(from + more) }).collect(),
            owner: owned.then(|| Uuid::from_u128(7)), offcut_of: None, cut_for: None, gone: false, note: String::new(),
        };
        let shelf: BTreeMap<Uuid, ShelfPiece> = [(Uuid::from_u128(1), piece.clone())].into();
        let text = shelf_out(&shelf, &houses);
        let back = shelf_in(&text, &shelf, &cloths, &houses, MM, &mut || Uuid::nil());
        prop_assert!(back.slips.is_empty(), "{:?}\n{}", back.slips, text);
        let write = |piece: &ShelfPiece| piece::typing_by(piece, &houses, &|typed| typed.value().nm().to_string());
        prop_assert_eq!(write(&back.rows[0].1), write(&piece));
    }
}

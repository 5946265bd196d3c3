//! The three openings of `docs/worked-by-hand.md`: every result of the pencil is the program's.

use hangtrue_core::buying::{Buying, ClothPlan, Shop};
use hangtrue_core::cloth::{PartOf, Placed};
use hangtrue_core::house::{Job, file};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::makeup::{Makeup, Part};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::work;
use std::path::Path;

fn house(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses").join(name);
    file::read(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn worked<T>(
    file: &str,
    opening: &str,
    look: impl FnOnce(&work::WorkedHouse<'_>, &work::Worked<'_>, &Makeup) -> T,
) -> T {
    let job = house(file);
    let all = work::house(&job, Catalogue::standard(job.unit)).unwrap();
    let one = all.openings.iter().find(|one| one.opening.name == opening).unwrap();
    let made = one.shade.as_ref().unwrap().makeup.as_ref().unwrap();
    look(&all, one, made)
}

fn inches(lengths: impl IntoIterator<Item = Length>) -> Vec<String> {
    lengths.into_iter().map(|length| length.show(LengthUnit::Inch)).collect()
}

fn mm(lengths: impl IntoIterator<Item = Length>) -> Vec<String> {
    lengths.into_iter().map(|length| length.show(LengthUnit::Millimetre)).collect()
}

fn cut(made: &Makeup, part: Part) -> [Length; 2] {
    let cut = made.cut(part).unwrap();
    [cut.width, cut.length]
}

fn folds(made: &Makeup) -> [Length; 6] {
    let folds = &made.folds;
    [folds.head_least, folds.fold, folds.flap, folds.head, made.raised.height, made.raised.covers]
}

fn sticks(made: &Makeup) -> Vec<Length> {
    made.sticks.iter().map(|stick| stick.length).collect()
}

/// The pieces that a want of this name is cut as.
fn of_face(buying: &Buying, name: &str) -> Vec<Placed> {
    let mut pieces = Vec::new();
    for ClothPlan { wants, plan, .. } in &buying.cloths {
        pieces.extend(plan.pieces.iter().filter(|piece| wants[piece.want].name == name).cloned());
    }
    pieces
}

#[test]
fn the_study_s_east_window() {
    worked("heron-lane.json", "East", |all, one, made| {
        assert_eq!(inches([made.width, made.length]), ["35 1/2", "47 3/4"]);
        assert_eq!(inches(folds(made)), ["3 5/8", "6 5/8", "4 5/16", "3 11/16", "8", "8"]);
        let rows = made.grid.rows.iter().rev().map(|row| row.from_hem.mark);
        assert_eq!(inches(rows), ["4 5/16", "10 15/16", "17 9/16", "24 3/16", "30 13/16", "37 7/16", "44 1/16"]);
        let columns = made.grid.columns.iter().map(|column| column.from_left.mark);
        assert_eq!(inches(columns), ["1 1/4", "12 1/4", "23 1/4", "34 1/4"]);
        assert_eq!(made.rings(), 28);
        assert_eq!(inches(cut(made, Part::Face)), ["38 1/2", "52 3/4"]);
        assert_eq!(inches(cut(made, Part::Lining)), ["36 1/2", "49 1/4"]);
        assert_eq!(inches(cut(made, Part::BoardCover)), ["37", "5"]);
        assert_eq!(inches(sticks(made)), ["35 3/8", "35"]);
        assert_eq!(inches(made.cords.runs.iter().map(|run| run.total)), ["58 11/16"; 4]);
        assert_eq!(inches([made.cords.total, made.cords.to_buy]), ["234 3/4", "258 1/4"]);
        let buying = work::buying(all, Shop::standard(LengthUnit::Inch));
        let along = of_face(&buying, "Study, East: face").into_iter().map(|piece| piece.along);
        assert_eq!(inches(along), ["53 7/8"]);
        let fixing = one.shade.as_ref().unwrap().fixing.as_ref().unwrap();
        let may: Vec<String> = fixing.fixed.iter().map(|fixed| format!("{:.1}", fixed.load.pull_allowed_lbf)).collect();
        assert_eq!(may, ["54.5", "96.9", "54.5"]);
    });
}

#[test]
fn the_bay_s_centre() {
    worked("heron-lane.json", "Bay centre", |all, _, made| {
        assert_eq!(inches([made.width, made.length]), ["84 1/2", "62 1/2"]);
        assert_eq!(inches(folds(made)), ["5", "6 5/8", "4 5/16", "5 3/16", "9 1/2", "2 3/4"]);
        let columns = made.grid.columns.iter().map(|column| column.from_left.mark);
        assert_eq!(
            inches(columns),
            ["1 1/4", "12 15/16", "24 11/16", "36 3/8", "48 1/8", "59 13/16", "71 9/16", "83 1/4"]
        );
        assert_eq!(made.rings(), 72);
        assert_eq!(inches(cut(made, Part::Face)), ["87 1/2", "68 1/2"]);
        assert_eq!(inches(cut(made, Part::Lining)), ["85 1/2", "65"]);
        assert_eq!(inches(cut(made, Part::Interlining)), ["84 1/2", "62 1/2"]);
        assert_eq!(inches(cut(made, Part::BoardCover)), ["86", "7"]);
        assert_eq!(inches(sticks(made)), ["84 3/8", "84"]);
        assert_eq!(inches([made.cords.runs[0].total, made.cords.total]), ["73 7/16", "587 1/2"]);
        assert_eq!(inches([made.cords.to_buy]), ["646 1/4"]);
        let buying = work::buying(all, Shop::standard(LengthUnit::Inch));
        let sides = of_face(&buying, "Sitting room, Bay centre: face").into_iter();
        let sides = sides.filter(|piece| matches!(piece.part, PartOf::Left(_) | PartOf::Right(_)));
        assert_eq!(inches(sides.map(|piece| piece.across)), ["16 3/4", "16 3/4"]);
    });
}

#[test]
fn the_balcony_door() {
    worked("quay-flat.json", "Balcony door", |_, _, made| {
        assert_eq!(mm([made.width, made.length]), ["1056", "2261"]);
        assert_eq!(mm(folds(made)), ["108", "170", "110", "111", "221", "67"]);
        let rows: Vec<String> = (0..13).map(|n| (110 + 170 * n).to_string()).collect();
        assert_eq!(mm(made.grid.rows.iter().rev().map(|row| row.from_hem.mark)), rows);
        let columns = made.grid.columns.iter().map(|column| column.from_left.mark);
        assert_eq!(mm(columns), ["32", "280", "528", "776", "1024"]);
        assert_eq!(mm(cut(made, Part::Face)), ["1132", "2413"]);
        assert_eq!(mm(cut(made, Part::Lining)), ["1080", "2325"]);
        assert_eq!(mm(cut(made, Part::BoardCover)), ["1094", "179"]);
        assert_eq!(mm(sticks(made)), ["1053", "1043"]);
        assert_eq!(mm([made.cords.runs[0].total, made.cords.total, made.cords.to_buy]), ["2532", "12660", "13926"]);
    });
}

//! Labels over invented houses: they are the pieces of the plans, each once; none for what is not settled; a re-measure
//! voids them. What is on a label is looked for in its print.

use hangtrue_core::buying::Shop;
use hangtrue_core::cloth::PartOf;
use hangtrue_core::house::Job;
use hangtrue_core::label::{self, Address, Label, Labels, Stock, Thing};
use hangtrue_core::length::{Length, LengthUnit, Typed};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::sheet::{self, Code, Heading, Laid};
use hangtrue_core::work::{self, Plans, WorkedHouse};
use hangtrue_tests::houses;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use uuid::Uuid;

/// A house worked out, planned and labelled.
fn with_all<T>(job: &Job, look: impl FnOnce(&WorkedHouse<'_>, &Plans, &Labels) -> T) -> T {
    let worked = work::house(job, Catalogue::standard(job.unit)).unwrap();
    let plans = work::plans(&worked, Shop::standard(job.unit));
    let labels = label::labels(&worked, &plans);
    look(&worked, &plans, &labels)
}

fn demo() -> Job {
    let text = include_str!("../../fixtures/houses/heron-lane.json");
    hangtrue_core::house::file::read(text).unwrap()
}

fn seeds() -> impl Iterator<Item = (u64, Job)> {
    (1..=60).map(|seed| {
        let unit = if seed % 2 == 0 { LengthUnit::Inch } else { LengthUnit::Millimetre };
        (seed, houses::house(seed, unit))
    })
}

/// What is cut by the plans: the shade and part as the plan names it, which part of it, its sizes, how many.
fn planned(plans: &Plans) -> BTreeMap<(String, String, Length, Length), usize> {
    let mut all = BTreeMap::new();
    for plan in &plans.cut.cloths {
        for piece in &plan.plan.pieces {
            let name = plan.wants[piece.want].name.clone();
            // A joined piece that lies turned has its own width along the cloth.
            let (wide, long) = if piece.turned { (piece.along, piece.across) } else { (piece.across, piece.along) };
            *all.entry((name, piece.part.words(), wide, long)).or_default() += 1;
        }
    }
    for plan in &plans.cut.sticks {
        for piece in &plan.request.pieces {
            *all.entry((piece.name.clone(), format!("{}", piece.count), piece.length, Length::ZERO)).or_default() += 1;
        }
    }
    all
}

fn labelled(labels: &[Label]) -> BTreeMap<(String, String, Length, Length), usize> {
    let mut all = BTreeMap::new();
    for label in labels {
        let key = match &label.thing {
            Thing::Cloth { part, piece, width, length, .. } => {
                (format!("{}: {}", label.place(), part.words()), piece.words(), *width, *length)
            }
            Thing::Sticks { part, length, count, .. } => {
                (format!("{}: {}", label.place(), part.words()), count.to_string(), *length, Length::ZERO)
            }
            Thing::Cords(_) | Thing::Bag(_) => continue,
        };
        *all.entry(key).or_default() += 1;
    }
    all
}

#[test]
fn the_labels_are_the_pieces_of_the_plans_each_once_and_nothing_unsettled_has_one() {
    let (mut joined, mut bags, mut unsettled, mut many) = (0, 0, 0, 0);
    let all = seeds().map(|(_, job)| job).chain([demo()]);
    for job in all {
        with_all(&job, |house, plans, labels| {
            assert_eq!(labelled(&labels.labels), planned(plans), "{}", job.name);
            many += labels.labels.len();
            for one in &house.openings {
                let mine: Vec<&Label> = labels.labels.iter().filter(|label| label.opening == one.opening.id).collect();
                let name = format!("{}, {}", one.room.name, one.opening.name);
                if !one.standing.is_settled() {
                    unsettled += 1;
                    assert!(mine.is_empty(), "{name} is not settled");
                    let said = labels.left_out.iter().find(|said| said.starts_with(&name));
                    assert!(
                        said.is_some_and(|said| said.contains(one.stand().words())),
                        "{name}: {:?}",
                        labels.left_out
                    );
                    continue;
                }
                let count = usize::try_from(one.opening.choices.count.get()).unwrap();
                let cords = mine.iter().filter(|label| matches!(label.thing, Thing::Cords(_))).count();
                let with_cords = one.shade.iter().filter_map(|shade| shade.makeup.as_ref().ok());
                let with_cords = with_cords.filter(|made| !made.cords.runs.is_empty() || made.cords.around.is_some());
                assert_eq!(cords, with_cords.count() * count, "{name}");
                let bag = mine.iter().filter(|label| matches!(label.thing, Thing::Bag(_))).count();
                let holds = one.shade.iter().filter_map(|shade| shade.fixing.as_ref()).any(|fixing| fixing.holds);
                assert_eq!(bag, if holds { count } else { 0 }, "{name}");
                bags += bag;
                joined += mine
                    .iter()
                    .filter(|label| matches!(label.thing, Thing::Cloth { piece, .. } if piece != PartOf::Whole))
                    .count();
                // What is cut has one number, and what is packed another.
                let numbers: BTreeSet<_> = mine.iter().map(|label| label.number).collect();
                assert!(numbers.len() <= 2, "{name}: {numbers:?}");
            }
        });
    }
    // The houses tell something: settled and unsettled openings are among them.
    assert!(bags >= 8 && unsettled > 20 && many > 60, "{joined} {bags} {unsettled} {many}");
}

/// A code that is none, for what is not about codes.
fn no_code(_: &str) -> Option<Code> {
    None
}

#[test]
fn a_print_has_every_label_once_on_as_many_sheets_as_it_takes_from_any_position() {
    let job = demo();
    with_all(&job, |_, _, labels| {
        let labels = &labels.labels;
        let heading = Heading { job: &job, unit: job.unit, day: "2026-05-04" };
        for stock in Stock::USUAL {
            for first in [0, 1, stock.count() - 1] {
                let laid = Laid { first, outlined: true, ..Laid::on(stock) };
                let pages = sheet::labels(&heading, labels, &laid, &no_code).unwrap();
                assert_eq!(pages.len(), (first + labels.len()).div_ceil(stock.count()));
                let outlines = |page: &String| page.matches("class=\"outline\"").count();
                let texts: Vec<String> = pages.into_iter().map(|page| page.0).collect();
                assert_eq!(texts.iter().map(outlines).sum::<usize>(), labels.len());
                assert_eq!(outlines(&texts[0]), labels.len().min(stock.count() - first));
            }
        }
    });
}

#[test]
fn positions_offsets_and_sheets_that_cannot_be_are_refused_with_what_would_be_right() {
    let job = demo();
    let heading = Heading { job: &job, unit: job.unit, day: "2026-05-04" };
    let stock = Stock::USUAL[0];
    for (laid, words) in [
        (Laid { first: 30, ..Laid::on(stock) }, "label 31 of a sheet; a sheet has 30: begin at 1 to 30"),
        (Laid { across: Length::mm(-11), ..Laid::on(stock) }, "moved to the right by"),
        (Laid { down: Length::whole_inches(1), ..Laid::on(stock) }, "by 10 mm at most"),
        (Laid::on(Stock { columns: 4, ..stock }), "Letter is 8 1/2 in across"),
    ] {
        let said = sheet::labels(&heading, &[], &laid, &no_code).unwrap_err().to_string();
        assert!(said.contains(words), "{said}");
    }
}

#[test]
fn a_label_says_what_its_piece_is_and_its_code_leads_to_its_opening() {
    let job = demo();
    with_all(&job, |_, _, labels| {
        let heading = Heading { job: &job, unit: job.unit, day: "2026-05-04" };
        let said = std::cell::RefCell::new(Vec::new());
        let code = |text: &str| {
            said.borrow_mut().push(text.to_owned());
            Some(Code { side: 2, dark: vec![true, false, false, true] })
        };
        let pages = sheet::labels(&heading, &labels.labels, &Laid::on(Stock::USUAL[6]), &code).unwrap();
        let print: String = pages.into_iter().map(|page| page.0).collect();
        let said = said.into_inner();
        assert_eq!(said.len(), labels.labels.len());
        for (text, label) in said.iter().zip(&labels.labels) {
            let address: Address = text.parse().unwrap();
            assert_eq!(address, label.address(job.id));
            assert_eq!((address.house, address.opening), (job.id, label.opening));
            // QR version 7 at level M holds 122 bytes (ISO/IEC 18004, table 7): as large as the smallest label can take.
            assert!(text.len() <= 122, "{} bytes", text.len());
            assert!(print.contains(&label.part()) && print.contains(&label.number.to_string()), "{}", label.part());
        }
        // On a label as large as this nothing is left out.
        assert!(!print.contains('\u{2026}'));
    });
}

#[test]
fn a_re_measure_voids_the_old_labels_of_its_opening_and_no_others() {
    let before = demo();
    let old = with_all(&before, |_, _, labels| labels.clone());
    let settled: BTreeSet<Uuid> = old.labels.iter().map(|label| label.opening).collect();
    let changed = *settled.iter().next().unwrap();
    let mut after = before.clone();
    let opening = after.rooms.iter_mut().flat_map(|room| &mut room.openings).find(|one| one.id == changed).unwrap();
    // Set by hand, so that it stays settled: an inch longer than it was.
    let length =
        with_all(&before, |house, _, _| house.opening(changed).unwrap().mounts.advised().unwrap().length.total);
    opening.choices.finished_length = Some(Typed::exact(length + Length::whole_inches(1), before.unit));
    let list = |labels: &Labels, pick: &dyn Fn(&Label) -> String| {
        labels.labels.iter().map(pick).collect::<BTreeSet<String>>().into_iter().collect::<Vec<_>>().join("\n")
    };
    let addresses = |label: &Label| label.address(before.id).to_string();
    let numbers = |label: &Label| label.number.to_string();
    // As they are now, all hold.
    with_all(&before, |house, _, labels| {
        for text in [list(&old, &addresses), list(&old, &numbers)] {
            assert!(label::judge(house, labels, &text).unwrap().iter().all(|one| one.holds));
        }
    });
    with_all(&after, |house, _, labels| {
        for one in label::judge(house, labels, &list(&old, &addresses)).unwrap() {
            let address: Address = one.text.parse().unwrap();
            let cut =
                old.labels.iter().any(|label| label.number == address.sizes && !matches!(label.thing, Thing::Bag(_)));
            if address.opening == changed && cut {
                assert!(!one.holds && one.says.starts_with("Void: "), "{one:?}");
            } else if address.opening != changed && cut {
                // Another opening's pieces are void only where the plan cuts them otherwise now.
                let same = labels.labels.iter().any(|label| label.number == address.sizes);
                assert_eq!(one.holds, same, "{one:?}");
            }
        }
        let void = label::judge(house, labels, &list(&old, &numbers)).unwrap();
        assert!(void.iter().any(|one| !one.holds) && void.iter().any(|one| one.holds), "{void:?}");
        let wrong = label::judge(house, labels, "4f2a 99").unwrap_err();
        assert!(wrong.contains("twelve digits"), "{wrong}");
        let strange = old.labels[0].address(Uuid::nil()).to_string();
        assert!(label::judge(house, labels, &strange).unwrap_err().contains("another house"));
    });
    // Taken out of the house, or not settled any more, they are void too.
    let mut without = before.clone();
    without.rooms.iter_mut().for_each(|room| room.openings.retain(|one| one.id != changed));
    with_all(&without, |house, _, labels| {
        let of_it: Vec<_> = label::judge(house, labels, &list(&old, &addresses)).unwrap();
        let gone = of_it.iter().filter(|one| one.says.contains("not in this house any more")).count();
        assert!(gone > 0, "{of_it:?}");
    });
}

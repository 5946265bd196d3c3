//! Every sheet of the invented houses as a reader has it: no words of a drawing run off its paper, no drawing is wider
//! than the paper, no length stands in a unit that the house does not use.

use hangtrue_core::buying::Shop;
use hangtrue_core::house::{Job, file};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::{sheet, work};
use std::path::Path;

fn house(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses").join(name);
    file::read(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// Every sheet of a house, with a name to find it by.
fn sheets(job: &Job) -> Vec<(String, String)> {
    let heading = sheet::Heading { job, unit: job.unit, day: "2026-05-04" };
    let worked = work::house(job, Catalogue::standard(job.unit)).unwrap();
    let mut all = vec![("house".to_owned(), sheet::summary(&heading, &worked).into_string())];
    for one in &worked.openings {
        let name = format!("{}, {}", one.room.name, one.opening.name);
        let mut add = |what: &str, text: String| all.push((format!("{name}: {what}"), text));
        add("measuring", sheet::measuring(&heading, one.room, one.opening, &one.truth).into_string());
        add("hanging", sheet::hanging(&heading, one).into_string());
        if let Some(markup) = sheet::making_of(&heading, job, one) {
            add("making", markup.into_string());
        }
        if let Some(markup) = sheet::full_size(&heading, one) {
            add("full size", markup.into_string());
        }
    }
    let buying = work::buying(&worked, Shop::standard(job.unit));
    all.extend(sheet::cloth(&heading, &buying).into_iter().map(|markup| ("cloth".to_owned(), markup.into_string())));
    all.push(("timber".to_owned(), sheet::timber(&heading, &buying).into_string()));
    all.push(("buying".to_owned(), sheet::buying(&heading, &buying).into_string()));
    all
}

/// The value of an attribute of a tag.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    tag.split_once(&format!(" {name}=\""))?.1.split('"').next()
}

/// Millimetres that words take, from the widths of DejaVu Sans (digits 0.636 em, bold 0.696 em; letters at most 0.65 em
/// on the average), the font the sheets are set in.
fn wide(class: &str, words: &str) -> f64 {
    let letters = f64::from(u32::try_from(words.chars().count()).unwrap());
    if class.contains("small") { 2.4 * 0.6 * letters } else { 2.9 * 0.66 * letters }
}

#[test]
fn words_stay_on_the_paper_of_their_drawing() {
    let mut drawings = 0;
    for name in ["heron-lane.json", "quay-flat.json"] {
        for (of, text) in sheets(&house(name)) {
            for svg in text.split("<svg").skip(1) {
                let svg = svg.split("</svg>").next().unwrap();
                let paper: Vec<f64> =
                    attribute(svg, "viewBox").unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
                assert!(paper[2] <= 186.0, "{name}, {of}: {} mm wide", paper[2]);
                drawings += 1;
                for tag in svg.split("<text").skip(1) {
                    let (tag, words) = tag.split_once('>').unwrap();
                    let words = words.split('<').next().unwrap();
                    let number = |name: &str| attribute(tag, name).unwrap().parse::<f64>().unwrap();
                    let long = wide(attribute(tag, "class").unwrap(), words);
                    // Turned words stand along the paper's height.
                    let (at, room) =
                        if tag.contains("rotate(-90") { (number("y"), paper[3]) } else { (number("x"), paper[2]) };
                    let (from, to) = match attribute(tag, "text-anchor") {
                        Some("start") => (at, at + long),
                        Some("end") => (at - long, at),
                        _ => (at - long / 2.0, at + long / 2.0),
                    };
                    assert!(
                        from > -0.5 && to < room + 0.5,
                        "{name}, {of}: \"{words}\" from {from:.1} to {to:.1} of {room}"
                    );
                }
            }
        }
    }
    assert!(drawings > 100, "{drawings} drawings");
}

#[test]
fn a_house_in_inches_shows_no_millimetres_and_the_other_way_round() {
    for (name, foreign) in [("heron-lane.json", " mm"), ("quay-flat.json", " lbf")] {
        for (of, text) in sheets(&house(name)) {
            if of.ends_with("full size") || of.ends_with("hanging") && foreign == " mm" {
                // The check bars are in both units; sources of loads may be quoted in millimetres.
                continue;
            }
            assert!(
                !text.contains(foreign),
                "{name}, {of}: {}",
                &text[text.find(foreign).unwrap().saturating_sub(80)..][..120]
            );
        }
    }
}

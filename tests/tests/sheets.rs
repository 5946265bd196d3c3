//! Every sheet of the invented houses as a reader has it: no words of a drawing run off its paper, no drawing is wider
//! than the paper, no length stands in a unit that the house does not use.

use hangtrue_core::house::{Job, file};
use hangtrue_core::length::{Length, LengthUnit};
use hangtrue_core::mount::Catalogue;
use hangtrue_core::stand::Stand;
use hangtrue_core::{sheet, work};
use hangtrue_tests::houses;
use hangtrue_tests::printed::sheets_in;
use std::path::Path;

fn house(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses").join(name);
    file::read(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// Every sheet of a house, with a name to find it by.
fn sheets(job: &Job) -> Vec<(String, String)> {
    sheets_in(job, job.unit)
}

/// The texts of a sheet as a reader has them, one for each element, without what is named: the set form of lengths (it
/// says again what stands beside it) and styles. In a drawing a fraction is put together from its parts.
fn texts(html: &str, without: &[&str]) -> Vec<String> {
    let mut texts = vec![String::new()];
    // How many open elements there are, and from which of them on nothing is read.
    let (mut depth, mut quiet) = (0, None);
    // What stands after the last tag counts too.
    let html = &format!("{html}<end/>");
    let mut rest: &str = html;
    while let Some(at) = rest.find('<') {
        if quiet.is_none() {
            texts.last_mut().unwrap().push_str(&rest[..at]);
        }
        let end = rest[at..].find('>').unwrap() + at;
        let tag = &rest[at + 1..end];
        rest = &rest[end + 1..];
        let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap();
        let inline = matches!(name, "span" | "b" | "i" | "u" | "strong" | "tspan" | "s" | "code");
        if !inline {
            texts.push(String::new());
        }
        if let Some(closed) = tag.strip_prefix('/') {
            assert!(!closed.is_empty());
            depth -= 1;
            if quiet == Some(depth) {
                quiet = None;
            }
            continue;
        }
        if tag.starts_with('!')
            || tag.ends_with('/')
            || matches!(name, "meta" | "br" | "link" | "path" if !html.contains(&format!("</{name}>")))
        {
            continue;
        }
        let class = attribute(tag, "class").unwrap_or_default();
        if quiet.is_none() && (class.split(' ').any(|class| without.contains(&class)) || matches!(name, "style")) {
            quiet = Some(depth);
        }
        // A fraction of a drawing: its first part stands apart from the whole inches before it.
        if name == "tspan" && tag.contains(" dx=") && quiet.is_none() {
            texts.last_mut().unwrap().push(' ');
        }
        depth += 1;
    }
    texts.retain(|text| !text.trim().is_empty());
    texts.iter().map(|text| text.trim().replace('\u{2044}', "/").replace("&quot;", "\"")).collect()
}

/// The value of an attribute of a tag.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    tag.split_once(&format!(" {name}=\""))?.1.split('"').next()
}

/// Millimetres that words take, from the widths of DejaVu Sans (digits 0.636 em, bold 0.696 em; letters at most 0.65 em
/// on the average), the font the sheets are set in.
fn wide(class: &str, words: &str) -> f64 {
    let letters = f64::from(u32::try_from(words.chars().count()).unwrap());
    match class {
        class if class.contains("small") => 2.9 * 0.6 * letters,
        class if class.contains("large") => 5.2 * 0.6 * letters,
        _ => 3.4 * 0.6 * letters,
    }
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
                    let words = texts(&format!("<text>{}", words.split("</text>").next().unwrap()), &[]).concat();
                    let number = |name: &str| attribute(tag, name).unwrap().parse::<f64>().unwrap();
                    let long = wide(attribute(tag, "class").unwrap(), &words);
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
            if of.contains("full size") {
                // The check bars are in both units.
                continue;
            }
            // Readings stand as they were typed; the rules of a place have their own figures.
            for text in texts(&text, &["set", "typed", "care", "lifts", "exact"]) {
                let of_source = of.ends_with("working") && foreign == " mm";
                assert!(of_source || !text.contains(foreign), "{name}, {of}: {text}");
            }
        }
    }
}

/// Every number of a text: what stands before it, the number, and what stands after.
fn numbers(text: &str) -> Vec<(&str, &str, &str)> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        if !bytes[at].is_ascii_digit() {
            at += 1;
            continue;
        }
        let from = at;
        while at < bytes.len()
            && (bytes[at].is_ascii_digit()
                || matches!(bytes[at], b'.' | b'/') && bytes.get(at + 1).is_some_and(u8::is_ascii_digit))
        {
            at += 1;
        }
        found.push((&text[..from], &text[from..at], &text[at..]));
    }
    found
}

/// What in a text is finer than the tape of a unit: not a drill bit, which is named by its own size.
fn off_the_tape(text: &str, unit: LengthUnit) -> Option<String> {
    for (before, number, after) in numbers(text) {
        let is_bit = after.starts_with(" bit") || after.starts_with(" in bit") || after.starts_with(" mm bit");
        let is_name = before.ends_with(|c: char| c.is_alphanumeric() || c == '/');
        if is_bit || is_name {
            continue;
        }
        // A reading that was typed in millimetres stands in brackets.
        if unit.is_imperial() && !before.ends_with('(') && (after.starts_with(" mm") || after.starts_with(" cm")) {
            return Some(format!("{number}{after} in: {text}"));
        }
        if let Some((_, under)) = number.split_once('/') {
            if matches!(under, "32" | "64" | "128") || !unit.is_imperial() && matches!(under, "2" | "4" | "8" | "16") {
                return Some(format!("{number} in: {text}"));
            }
        } else if number.contains('.') {
            let alone = after.is_empty() && before.trim().is_empty();
            let length = [" in", " mm", " cm", "\""]
                .iter()
                .any(|tail| after.starts_with(tail) && !after[tail.len()..].starts_with(|c: char| c.is_alphanumeric()));
            if alone || length {
                return Some(format!("{number} in: {text}"));
            }
        }
    }
    None
}

#[test]
fn what_is_finer_than_the_tape_is_found() {
    let inch = LengthUnit::Inch;
    for fine in ["Cut cord 2 to 4134.379167 mm", "3 15/32", "16 27/32 in", "21/32 deep", "2.25 in", "0.5"] {
        assert!(off_the_tape(fine, inch).is_some(), "{fine}");
    }
    for fine in ["485.5 mm", "485.5", "3 1/2", "12.25 mm deep"] {
        assert!(off_the_tape(fine, LengthUnit::Millimetre).is_some(), "{fine}");
    }
    for good in ["3 15/16 in", "a 5/64 in bit", "6.18 lb", "No. 8 x 1 1/4 in", "2026-05-04", "R310, 1926.1053(b)"] {
        assert_eq!(off_the_tape(good, inch), None);
    }
    assert_eq!(off_the_tape("a 2.5 mm bit, 1.5 kg, 486 mm", LengthUnit::Millimetre), None);
}

/// Every sheet of 200 invented houses, half in inches and half in millimetres, with readings finer than a tape, in the
/// other unit, and settings off the tape: nothing that is printed is finer than 1/16 in or 1 mm. What was typed stands as
/// it was typed; the full working shows exact terms with their roundings (class `exact`); rules of a place have their own
/// figures (`care`). Other seeds: `PROPTEST_RNG_SEED`.
#[test]
fn nothing_printed_is_off_the_tape_and_nothing_is_called_by_a_code_name() {
    let seed: u64 = std::env::var("PROPTEST_RNG_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(1);
    let (mut printed, mut steps, mut bars) = (0, 0, 0);
    for n in 0..200 {
        let unit = if n % 2 == 0 { LengthUnit::Inch } else { LengthUnit::Millimetre };
        let job = houses::house(seed * 1000 + n, unit);
        for (of, html) in sheets(&job) {
            bars += usize::from(html.contains("<b>Do not "));
            for text in texts(&html, &["set", "typed", "exact", "care", "lifts"]) {
                // The bar at full size that any rule at hand checks the print by.
                let off = off_the_tape(&text, unit).filter(|_| text != "150 mm");
                assert_eq!(off, None, "house {n} in {}, {of}: {text}", unit.name());
                printed += 1;
            }
            for text in texts(&html, &["set", "typed"]) {
                let code = text
                    .split(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))
                    .find(|word| word.contains('_') && word.chars().any(char::is_alphabetic));
                assert_eq!(code, None, "house {n}, {of}: {text}");
            }
            for list in html.split("<ol class=\"steps").skip(1) {
                for step in texts(list.split("</ol>").next().unwrap().split_once('>').unwrap().1, &["set", "box", "no"])
                {
                    assert_eq!(off_the_tape(&step, unit), None, "house {n}, {of}");
                    let other = if unit.is_imperial() { " mm" } else { " in " };
                    let other =
                        step.match_indices(other).find(|(at, _)| step[..*at].ends_with(|c: char| c.is_ascii_digit()));
                    assert_eq!(other, None, "house {n}, {of}: {step}");
                    steps += 1;
                }
            }
        }
    }
    assert!(printed > 20_000 && steps > 4_000 && bars > 10, "{printed} texts, {steps} steps, {bars} bars");
}

/// Readings that no house has, at one place or at all of them: the opening is never settled, everything is printed all the
/// same, and no number on it is none.
#[test]
fn readings_that_no_house_has_are_questioned_and_printed() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/houses/heron-lane.json");
    let text = std::fs::read_to_string(path).unwrap();
    for read in ["0", "1/16", "1000", "100000", "300000"] {
        for places in [&["width"][..], &["height"], &["width_middle"], &["diagonal"], &["depth"], &["trim"], &[""]] {
            let mut job: serde_json::Value = serde_json::from_str(&text).unwrap();
            for reading in job["rooms"][0]["openings"][0]["readings"].as_array_mut().unwrap() {
                let place = reading["place"].as_str().unwrap();
                if places.iter().any(|of| place.starts_with(of)) {
                    reading["read"] = read.into();
                }
            }
            let job = file::read(&job.to_string()).unwrap();
            let house = work::house(&job, Catalogue::standard(job.unit)).unwrap();
            let stand = house.openings[0].stand();
            let shade = &house.openings[0].shade;
            let away = matches!(places, ["depth" | "trim"]);
            assert!(away || stand != Stand::Settled, "{read} at {places:?}: {:?}", house.openings[0].flags());
            assert!(
                shade
                    .as_ref()
                    .and_then(|shade| shade.makeup.as_ref().ok())
                    .is_none_or(|made| made.width <= house.settings.largest_size)
            );
            for (of, html) in sheets(&job) {
                assert!(!html.contains("NaN") && !html.contains("inf\""), "{read} at {places:?}: {of}");
            }
        }
    }
}

/// A length stands on paper once for eyes, in a form that does not break, and once as text.
#[test]
fn a_fraction_is_set_and_read_the_same() {
    let mut fractions = 0;
    for (of, html) in sheets(&house("heron-lane.json")) {
        for length in html.split("<span class=\"len\">").skip(1) {
            let (read, set) = length.split_once("</span><span class=\"set\" aria-hidden=\"true\">").unwrap();
            let read = read.strip_prefix("<span class=\"vh\">").unwrap();
            let set = set
                .split("</u><i>")
                .next()
                .unwrap()
                .replace("<span class=\"fr\"><i>", " ")
                .replace("</i><u>\u{2044}", "/");
            let set = set.replace("- ", "-");
            assert!(read.starts_with(set.trim()), "{of}: {read} is not {set}");
            fractions += 1;
        }
        // No fraction is left bare in a text; drawings set theirs by parts.
        for text in texts(&html, &["len", "drawing"]) {
            for (before, number, _) in numbers(&text) {
                let bare = number.split_once('/').is_some_and(|(_, under)| matches!(under, "2" | "4" | "8" | "16"));
                assert!(!bare || before.ends_with(|c: char| c.is_alphanumeric()), "{of}: {text}");
            }
        }
    }
    assert!(fractions > 500, "{fractions}");
}

/// The work of hanging stands in the order of a fitter's hands (common practice, no source).
#[test]
fn hanging_is_told_in_the_order_of_the_hands() {
    let job = house("heron-lane.json");
    let (mut brackets, mut plain) = (0, 0);
    for (of, html) in sheets(&job).into_iter().filter(|(of, _)| of.ends_with("hanging")) {
        let text = texts(&html, &["set"]).join(" ");
        let in_order = |phrases: &[&str]| {
            let mut last = 0;
            for phrase in phrases {
                let at = text[last..].find(phrase);
                last += at.unwrap_or_else(|| panic!("{of}: no \"{phrase}\" after what comes before it: {text}"));
            }
        };
        if !text.contains("At the bench, in order") {
            continue;
        }
        if text.contains("brackets' middles") {
            brackets += 1;
            in_order(&[
                "At the bench, in order",
                "clear of the screw eyes",
                "with an awl",
                "drill with",
                "At the window, in order",
                "Find cables",
                "Draw a level line",
                "left end on the line",
                "From there mark",
                "Probe the wall",
                "Lay the level from",
                "over the shoulder",
                "up through the arms",
                "Lower it, raise it",
            ]);
        } else {
            plain += 1;
            in_order(&[
                "At the bench, in order",
                "clear of the screw eyes",
                "with an awl",
                "scrap wood",
                "Start the",
                "At the window, in order",
                "Find cables",
                "over the shoulder",
                "Mark through each hole",
                "Probe",
                "ring the board back",
                "Lower it, raise it",
            ]);
        }
    }
    assert!(brackets > 0 && plain > 0, "{brackets} on brackets, {plain} without");
}

/// Cautions stand on the paper of their work, and a rule for stock products is no rule of a shade made to order.
#[test]
fn each_paper_carries_the_cautions_of_its_own_work() {
    for n in 0..40 {
        let job = houses::house(7000 + n, LengthUnit::Inch);
        let worked = work::house(&job, Catalogue::standard(job.unit)).unwrap();
        let heading = sheet::Heading { job: &job, unit: job.unit, day: "2026-05-04" };
        for one in worked.openings.iter().filter(|one| one.shade.as_ref().is_some_and(|shade| shade.fixing.is_some())) {
            let making = sheet::making(&heading, one, None).unwrap().into_string();
            let hanging = sheet::hanging(&heading, one).into_string();
            let wall = &one.opening.wall;
            if one.shade.as_ref().unwrap().fixing.as_ref().is_some_and(|fixing| fixing.fixed.is_empty()) {
                continue;
            }
            let mind = making.split("<b>Mind.</b>").nth(1).expect("what to mind").split("</p>").next().unwrap();
            let first = texts(mind, &[]).concat();
            assert!(first.split(". ").next().unwrap().contains("ords"), "cords come first: {first}");
            // At the window the cords are a step, and what else a lift asks stands first among what to mind.
            assert!(hanging.contains("Show the client"), "{hanging}");
            if let Some(mind) = hanging.split("<b>Mind.</b>").nth(1).filter(|_| one.opening.choices.lift.is_reachable())
            {
                let first = texts(mind.split("</p>").next().unwrap(), &[]).concat();
                assert!(first.split(". ").next().unwrap().contains("ords"), "cords come first: {first}");
            }
            assert!(!making.contains("stock product") && !hanging.contains("stock product"));
            assert_eq!(wall.escape, hanging.contains("way out in a fire"));
            assert_eq!(wall.door, hanging.contains("A door swings here"));
            let cleat = one.opening.choices.lift == hangtrue_core::house::Lift::CordLock;
            assert_eq!(cleat, hanging.contains("Screw the cord cleat"));
        }
    }
}

/// A number of one page or another: the title block's pages count up to the pages of that sheet.
#[test]
fn every_page_has_house_opening_sheet_and_its_number() {
    for name in ["heron-lane.json", "quay-flat.json"] {
        let job = house(name);
        for (of, html) in sheets(&job) {
            let pages = html.matches("<section class=\"sheet\">").count();
            assert!(pages >= 1);
            assert_eq!(html.matches(&format!("<dd>{}</dd>", job.name)).count(), pages, "{of}");
            for page in 1..=pages {
                assert_eq!(html.matches(&format!("<dd>{page} of {pages}</dd>")).count(), 1, "{of}");
            }
            assert_eq!(html.matches("Content ").count(), pages, "{of}");
        }
    }
}

/// A house shown in the other unit: every size to that unit's grain, "about" where that is not exact, and the settings
/// that nobody changed are not listed as changed.
#[test]
fn a_house_in_the_other_unit_is_shown_about_and_its_settings_stay_unlisted() {
    for (name, unit) in [("heron-lane.json", LengthUnit::Millimetre), ("quay-flat.json", LengthUnit::Inch)] {
        let job = house(name);
        let worked = work::house(&job, Catalogue::standard(job.unit)).unwrap();
        let heading = sheet::Heading { job: &job, unit, day: "2026-05-04" };
        let mut sheets = vec![sheet::summary(&heading, &worked).into_string()];
        for one in &worked.openings {
            if let Some(markup) = sheet::making(&heading, one, None) {
                sheets.push(markup.into_string());
            }
        }
        let (mut sizes, mut abouts) = (0, 0);
        for text in &sheets {
            assert!(text.contains("All settings at their defaults"), "{name}");
            assert!(text.contains("The house is measured in"), "{name}");
            for cell in text.split("<td class=\"").skip(1) {
                let (class, cell) = cell.split_once("\">").unwrap();
                let cell = texts(&format!("<p>{}</p>", cell.split("</td>").next().unwrap()), &["set"]).concat();
                if !class.ends_with("big") && !class.ends_with("mid") || cell.is_empty() {
                    continue;
                }
                let size = cell.strip_prefix("about ").unwrap_or(&cell);
                let read = Length::parse(size, unit).unwrap_or_else(|problem| panic!("{name}: {cell}: {problem}"));
                // On that unit's tape: whole millimetres, or sixteenths.
                let grain = if unit.is_imperial() { Length::inches(1, 16) } else { Length::mm(1) };
                assert_eq!(read.nm() % grain.nm(), 0, "{name}: {cell}");
                assert!(!cell.contains("mm"), "{name}: {cell}");
                sizes += 1;
                abouts += usize::from(size != cell);
            }
        }
        // Two tapes seldom meet at a mark: 8 in are 203.2 mm.
        assert!(sizes > 60 && abouts * 2 > sizes, "{sizes}, about {abouts}");
        // One setting that is changed is listed, and no other.
        let mut changed = job.clone();
        changed.settings.change("inside_width_deduction", "1/2 in", changed.unit).unwrap();
        let heading = sheet::Heading { job: &changed, unit, day: "2026-05-04" };
        let text = sheet::summary(&heading, &worked).into_string();
        let said = text.split("Settings changed: ").nth(1).unwrap().split(".</p>").next().unwrap();
        assert!(said.starts_with("inside width deduction about 13") || said == "inside width deduction 1/2", "{said}");
        assert!(!said.contains(';'), "{said}");
    }
}

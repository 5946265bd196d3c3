//! Questions and sizes by hand through the program: listed, answered in one touch or in own words, and seen on paper.

use std::path::Path;
use std::process::Command;

fn hangtrue(book: &Path, arguments: &[&str]) -> (String, bool) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hangtrue"));
    let output = command.args(arguments).arg("--book").arg(book).output().expect("the program starts");
    let text = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    (text, output.status.success())
}

/// A shallow opening, whose board stands proud: one question.
const HOUSE: &str = r#"{"hangtrue_job":1,"id":"0192a3b4-0000-7000-8000-000000000001","name":"Larch House","unit":"in",
  "cloths":[{"name":"Reed","width":"54"}],
  "rooms":[{"id":"0192a3b4-0000-7000-8000-000000000002","name":"Study","openings":[
    {"id":"0192a3b4-0000-7000-8000-000000000003","name":"North","wall":{"head":"wood"},"choices":{"mount":"inside","cloth":"Reed"},"readings":[
      {"id":"0192a3b4-0000-7000-8000-000000000011","place":"width_top","read":"36","at":"2026-05-04T09:12:00Z"},
      {"id":"0192a3b4-0000-7000-8000-000000000012","place":"width_middle","read":"36","at":"2026-05-04T09:12:00Z"},
      {"id":"0192a3b4-0000-7000-8000-000000000013","place":"width_bottom","read":"36","at":"2026-05-04T09:12:00Z"},
      {"id":"0192a3b4-0000-7000-8000-000000000014","place":"height_left","read":"60","at":"2026-05-04T09:12:00Z"},
      {"id":"0192a3b4-0000-7000-8000-000000000015","place":"height_right","read":"60","at":"2026-05-04T09:12:00Z"},
      {"id":"0192a3b4-0000-7000-8000-000000000016","place":"diagonal_rising","read":"69 15/16","at":"2026-05-04T09:12:00Z"},
      {"id":"0192a3b4-0000-7000-8000-000000000017","place":"diagonal_falling","read":"69 15/16","at":"2026-05-04T09:12:00Z"},
      {"id":"0192a3b4-0000-7000-8000-000000000018","place":"depth","read":"1","at":"2026-05-04T09:12:00Z"}]}]}]}"#;

#[test]
fn a_question_is_listed_answered_and_seen_and_a_size_set_by_hand_is_on_the_sheets() {
    let at = tempfile::tempdir().unwrap();
    let book = at.path().join("a.book");
    let file = at.path().join("larch.json");
    std::fs::write(&file, HOUSE).unwrap();
    hangtrue(&book, &["take", file.to_str().unwrap()]);

    let (listed, _) = hangtrue(&book, &["decide", "larch", "north"]);
    assert!(listed.starts_with("To decide. Do not cut: ") && listed.contains("1/2 in proud"), "{listed}");
    let (table, _) = hangtrue(&book, &["show", "larch"]);
    assert!(table.contains("to decide"), "{table}");
    let (bare, done) = hangtrue(&book, &["decide", "larch", "north", "1"]);
    assert!(!done && bare.contains("--answer"), "{bare}");

    let (said, done) = hangtrue(&book, &["decide", "larch", "north", "1", "--why", "she wants it so", "--by", "Ida"]);
    assert!(done && said.contains("Decided: she wants it so.") && said.contains("Settled"), "{said}");
    let (table, _) = hangtrue(&book, &["show", "larch"]);
    assert!(table.contains("settled") && !table.contains("to decide"), "{table}");
    let (exported, _) = hangtrue(&book, &["export", "larch"]);
    assert!(exported.contains("\"why\": \"she wants it so\"") && exported.contains("\"by\": \"Ida\""), "{exported}");

    // Another reading of the depth, and the question is open again.
    hangtrue(&book, &["read", "larch", "north", "depth", "1", "--by", "Bo"]);
    let (again, _) = hangtrue(&book, &["decide", "larch", "north"]);
    assert!(again.starts_with("To decide."), "{again}");
    let (said, _) = hangtrue(&book, &["decide", "larch", "north", "1", "--answer", "1", "--by", "Bo"]);
    assert!(said.contains("Settled"), "{said}");

    // 36 less 3/8 is 35 5/8; by hand 35 1/4.
    let (said, done) = hangtrue(&book, &["set", "larch", "north", "finished_width", "35 1/4", "--by", "Ida"]);
    assert!(done && said.contains("Finished width, set by hand: 35 1/4."), "{said}");
    let sheets = at.path().join("sheets");
    hangtrue(&book, &["sheets", "larch", "--out", sheets.to_str().unwrap()]);
    let mut seen = 0;
    let folder = std::fs::read_dir(&sheets).unwrap().next().unwrap().unwrap().path();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        if text.contains(r#"width set by hand, worked out <span class="len"><span class="vh">35 5/8 in</span>"#) {
            seen += 1;
        }
    }
    assert!(seen >= 2, "on the sheet of the house and of the opening");
    let (refused, done) = hangtrue(&book, &["set", "larch", "north", "finished_width", "wide"]);
    assert!(!done && refused.contains("wide"), "{refused}");
}

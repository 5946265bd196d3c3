//! The commands on a book, as a person gives them: what is mistyped makes nothing, names tell houses apart, and what is said
//! is what was done.
#![cfg(unix)]

use hangtrue_core::store::Book;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

const HERON: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/houses/heron-lane.json");

fn hangtrue(at: &Path, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hangtrue"));
    command.current_dir(at).env_remove("HANGTRUE_BOOK").args(words).output().expect("the program runs")
}

fn said(out: &Output) -> (String, String) {
    (String::from_utf8_lossy(&out.stdout).into_owned(), String::from_utf8_lossy(&out.stderr).into_owned())
}

fn done(at: &Path, words: &[&str]) -> String {
    let out = hangtrue(at, words);
    assert!(out.status.success(), "{words:?}: {:?}", said(&out));
    said(&out).0
}

fn names(at: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(at).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn commands_that_read_make_nothing_where_the_path_is_mistyped() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    for words in [
        &["houses", "--book", "typo/houses.bok"][..],
        &["show", "heron", "--book", "houses.bok"],
        &["sheets", "heron", "--book", "houses.bok"],
        &["export", "heron", "--book", "houses.bok"],
        &["asks", "--book", "houses.bok"],
        &["ask", "heron", "east", "--why", "x", "--book", "houses.bok"],
        &["erase", "heron", "--sure", "x", "--by", "Ida", "--book", "houses.bok"],
        &["check", "--book", "houses.bok"],
        &["check", "--mend", "--book", "houses.bok"],
        &["archive", "archive", "--book", "houses.bok"],
    ] {
        let out = hangtrue(at, words);
        assert_eq!(out.status.code(), Some(3), "{words:?}");
        assert!(said(&out).1.contains("there is no book here"), "{words:?}: {:?}", said(&out));
        assert_eq!(names(at), [""; 0], "{words:?} made something");
    }
}

#[test]
fn a_missing_file_does_not_keep_the_good_one_out() {
    let folder = tempfile::tempdir().unwrap();
    let out = hangtrue(folder.path(), &["take", "missing.json", HERON, "--book", "houses.book"]);
    assert_eq!(out.status.code(), Some(1));
    let (told, wrong) = said(&out);
    assert!(told.contains("Heron Lane") && wrong.contains("missing.json cannot be read"), "{told}{wrong}");
    assert!(done(folder.path(), &["houses", "--book", "houses.book"]).contains("Heron Lane"));
}

/// Heron Lane under another name, with ids of its own.
fn house(at: &Path, name: &str, n: u8) -> String {
    let mut text = fs::read_to_string(HERON).unwrap().replacen("Heron Lane, number nine", name, 1).into_bytes();
    let is_id = |some: &[u8]| {
        some.iter().enumerate().all(|(at, b)| match at {
            8 | 13 | 18 | 23 => *b == b'-',
            _ => b.is_ascii_hexdigit() && !b.is_ascii_uppercase(),
        })
    };
    for start in 0..text.len() - 36 {
        if is_id(&text[start..start + 36]) {
            text[start + 24..start + 26].copy_from_slice(format!("{n:02x}").as_bytes());
        }
    }
    let path = at.join(format!("{n}.json"));
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

#[test]
fn houses_of_like_names_are_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let files: Vec<String> =
        ["Smith", "Smith!", "Jones", "Jones", "!!"].iter().zip(1..).map(|(name, n)| house(at, name, n)).collect();
    for file in &files {
        done(at, &["take", file, "--book", "houses.book"]);
    }
    // The whole name goes before a part of another's.
    for (name, wanted) in [("Smith", "Smith"), ("smith", "Smith"), ("Smith!", "Smith!")] {
        let text = done(at, &["export", name, "--book", "houses.book"]);
        let job: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(job["name"], wanted);
    }
    // Of two with one name each is reached by its id, which the refusal gives.
    let out = hangtrue(at, &["export", "Jones", "--book", "houses.book"]);
    let (_, wrong) = said(&out);
    let ids: Vec<&str> = wrong.split('(').skip(1).filter_map(|rest| rest.split(')').next()).collect();
    assert_eq!(ids.len(), 2, "{wrong}");
    for id in &ids {
        let job: serde_json::Value = serde_json::from_str(&done(at, &["export", id, "--book", "houses.book"])).unwrap();
        assert_eq!((job["id"].as_str(), job["name"].as_str()), (Some(*id), Some("Jones")));
    }
    // And every house has a folder of its own for its sheets.
    for house in ids.iter().copied().chain(["Smith", "Smith!", "!!"]) {
        done(at, &["sheets", house, "--book", "houses.book", "--out", "sheets"]);
    }
    assert_eq!(names(&at.join("sheets")).len(), 5, "{:?}", names(&at.join("sheets")));
}

#[test]
fn names_do_not_steer_the_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let file = house(at, "Mill \\u001b[2J\\u202eegattoC\\u009b1m", 1);
    done(at, &["take", &file, "--book", "houses.book"]);
    for words in [&["houses", "--book", "houses.book"][..], &["show", "Mill", "--book", "houses.book"]] {
        let text = done(at, words);
        assert!(text.contains("Mill"), "{text}");
        assert!(text.chars().all(|c| c == '\n' || (!c.is_control() && c != '\u{202e}')), "{text:?}");
    }
    let (_, wrong) = said(&hangtrue(at, &["show", "nowhere", "--book", "houses.book"]));
    assert!(wrong.chars().all(|c| c == '\n' || !c.is_control()), "{wrong:?}");
}

/// Runs a script in a mount namespace of its own; `None`, said aloud, where the system does not let a test have one.
fn apart(at: &Path, script: &str) -> Option<Output> {
    let command = |script: &str| {
        let mut command = Command::new("unshare");
        command.args(["--user", "--map-root-user", "--mount", "--", "sh", "-c", script, "sh"]).current_dir(at);
        command.arg(env!("CARGO_BIN_EXE_hangtrue")).arg(HERON);
        command
    };
    let able = command("mount -t tmpfs none .").stdout(Stdio::null()).stderr(Stdio::null()).status();
    if !able.is_ok_and(|code| code.success()) {
        println!("SKIPPED: this system does not let a test mount a file system of its own");
        return None;
    }
    Some(command(script).output().expect("the script runs"))
}

#[test]
fn a_book_on_a_medium_that_cannot_be_written_is_listed_and_archived() {
    let folder = tempfile::tempdir().unwrap();
    let script = r#"set -e
        mkdir disk; mount -t tmpfs none disk
        "$1" take "$2" --book disk/houses.book
        mount -o remount,ro disk
        "$1" houses --book disk/houses.book
        "$1" export heron --book disk/houses.book > heron.json
        "$1" archive archive --book disk/houses.book
        "$1" check --book disk/houses.book
        ls -a disk"#;
    let Some(out) = apart(folder.path(), script) else { return };
    let (told, wrong) = said(&out);
    assert!(out.status.success(), "{told}{wrong}");
    assert!(told.contains("Heron Lane") && told.contains("facts and 0 photos are in archive"), "{told}");
    assert!(folder.path().join("archive/archive.json").exists());
}

#[test]
fn a_full_disk_is_never_both_saved_and_not_saved() {
    let folder = tempfile::tempdir().unwrap();
    // From far too little to enough, in steps of less than what one house takes.
    let script = r#"
        mkdir disk
        for kb in $(seq 100 60 1500) 4300 4700 5400 6200; do
            mount -t tmpfs -o size=${kb}k none disk
            "$1" take "$2" --book disk/houses.book > out 2> err; code=$?
            echo "== $kb $code"; cat out err
            umount disk
            mount -t tmpfs none disk && umount disk
        done"#;
    let Some(out) = apart(folder.path(), script) else { return };
    let (told, _) = said(&out);
    let (mut saved, mut refused) = (0, 0);
    for case in told.split("== ").skip(1) {
        let is_saved = case.contains("new facts");
        let is_not = case.contains("not saved");
        assert!(!(is_saved && is_not), "both: {case}");
        assert!(is_saved || is_not || case.contains("full") || case.contains("failed"), "neither: {case}");
        assert_eq!(is_saved, case.lines().next().unwrap().ends_with(" 0"), "{case}");
        if is_saved { saved += 1 } else { refused += 1 }
    }
    assert!(saved > 0 && refused > 0, "{saved} saved, {refused} refused: {told}");
}

#[test]
fn what_is_on_this_device_alone_is_said_until_it_was_exchanged() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    done(at, &["take", HERON, "--book", "houses.book"]);
    done(at, &["key", "firm.key"]);
    let only = |text: &str| text.contains("on this device alone");
    let sync = ["sync", "stick", "--key", "firm.key", "--create", "--book", "houses.book"];
    assert!(only(&done(at, &["houses", "--book", "houses.book"])));
    done(at, &sync);
    assert!(!only(&done(at, &["houses", "--book", "houses.book"])));
    done(at, &["ask", "heron", "study, east", "--why", "again", "--book", "houses.book"]);
    assert!(only(&done(at, &["houses", "--book", "houses.book"])));
    done(at, &sync);
    assert!(!only(&done(at, &["houses", "--book", "houses.book"])));
    // What came from elsewhere is elsewhere; what is added to it here is here alone.
    done(at, &["sync", "stick", "--key", "firm.key", "--book", "other.book"]);
    assert!(!only(&done(at, &["houses", "--book", "other.book"])));
    done(at, &["ask", "heron", "study, north", "--why", "again", "--book", "other.book"]);
    assert!(only(&done(at, &["houses", "--book", "other.book"])));
}

#[test]
fn a_house_is_erased_by_its_whole_name_here_and_where_this_is_heard_of() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    done(at, &["take", HERON, "--book", "houses.book"]);
    done(at, &["key", "firm.key"]);
    let name = hangtrue_core::house::file::read(&fs::read_to_string(HERON).unwrap()).unwrap().name;
    let has = |path: &str| {
        let bytes = fs::read(at.join(path)).unwrap();
        bytes.windows(name.len()).any(|window| window == name.as_bytes())
    };
    done(at, &["sync", "stick", "--key", "firm.key", "--create", "--book", "houses.book"]);
    done(at, &["sync", "stick", "--key", "firm.key", "--book", "other.book"]);
    done(at, &["archive", "before", "--book", "other.book"]);
    assert!(has("houses.book") && has("other.book"));
    let refused = hangtrue(at, &["erase", "heron", "--sure", "heron", "--by", "Ida", "--book", "houses.book"]);
    assert_ne!(refused.status.code(), Some(0));
    assert!(said(&refused).1.contains("nothing was erased"), "{:?}", said(&refused));
    assert!(done(at, &["houses", "--book", "houses.book"]).contains("Heron"));
    done(at, &["erase", "heron", "--sure", &name, "--by", "Ida", "--book", "houses.book"]);
    done(at, &["sync", "stick", "--key", "firm.key", "--book", "houses.book"]);
    done(at, &["sync", "stick", "--key", "firm.key", "--book", "other.book"]);
    // An archive from before has it still, and brings it back into neither.
    done(at, &["restore", "before", "--book", "other.book"]);
    for book in ["houses.book", "other.book"] {
        assert!(done(at, &["houses", "--book", book]).contains("no house in this book"), "{book}");
        assert!(!has(book), "{book}");
        assert!(done(at, &["check", "--book", book]).contains("Sound"), "{book}");
    }
}

#[test]
fn a_damaged_book_is_said_to_be_and_mended() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    done(at, &["take", HERON, "--book", "houses.book"]);
    assert!(done(at, &["check", "--book", "houses.book"]).contains("Sound"));
    {
        let book = Book::open(&at.join("houses.book"), &mut hangtrue::moments::now).unwrap();
        assert!(book.examine().unwrap().is_sound());
    }
    let path = at.join("houses.book");
    let mut bytes = fs::read(&path).unwrap();
    // The name of an opening, wherever it lies.
    let name = b"Bay centre";
    let spots: Vec<usize> =
        bytes.windows(name.len()).enumerate().filter(|(_, some)| some == name).map(|(at, _)| at).collect();
    assert!(!spots.is_empty());
    for spot in spots {
        bytes[spot] ^= 4;
    }
    fs::write(&path, bytes).unwrap();
    let out = hangtrue(at, &["check", "--book", "houses.book"]);
    let (told, wrong) = said(&out);
    assert!(!out.status.success() && (told.contains("Not sound") || wrong.contains("damaged")), "{told}{wrong}");
    let out = hangtrue(at, &["check", "--mend", "--book", "houses.book"]);
    let (told, wrong) = said(&out);
    assert!(out.status.success(), "{told}{wrong}");
    assert!((told + &wrong).contains("the damaged file is kept as"));
    assert!(done(at, &["check", "--book", "houses.book"]).contains("Sound"));
}

#[test]
fn accounts_and_days_are_written_of_all_houses() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let text = fs::read_to_string(HERON).unwrap();
    let mut job: serde_json::Value = serde_json::from_str(&text).unwrap();
    job["payments"] = serde_json::json!([{"name": "one", "on": "2026-05-20", "money": 100_050, "what": "=deposit"}]);
    job["visits"] =
        serde_json::json!([{"name": "two", "what": "hang", "on": "2026-06-01", "at": "09:30:00", "minutes": 90}]);
    fs::write(at.join("job.json"), job.to_string()).unwrap();
    done(at, &["take", "job.json"]);
    let rows = done(at, &["accounts"]);
    assert!(rows.starts_with("kind,day,number,house,client,what,amount,currency,due,takes_back\n"), "{rows}");
    // A table program takes no text for a formula.
    assert!(rows.contains("payment,2026-05-20,one,\"Heron Lane, number nine\",,'=deposit,1000.50,USD,,"), "{rows}");
    assert_eq!(done(at, &["accounts", "--from", "2026-05-21"]).lines().count(), 1);
    let days = done(at, &["days"]);
    assert!(days.contains("DTSTART:20260601T093000\r\n") && days.contains("DTEND:20260601T110000\r\n"), "{days}");
    assert!(!hangtrue(at, &["accounts", "--from", "May"]).status.success());
}

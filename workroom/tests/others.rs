//! Others who are logged in on the same computer, and what they laid in the way: nothing that is written can be read by
//! them, nothing of theirs is overwritten or followed, and the page is served to none of them.
#![cfg(unix)]

use hangtrue_core::store::Book;
use proptest::prelude::*;
use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

const HERON: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/houses/heron-lane.json");

fn hangtrue(at: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_hangtrue")).current_dir(at).args(words).output().expect("the program runs")
}

fn done(at: &Path, words: &[&str]) -> String {
    let out = hangtrue(at, words);
    assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8_lossy(&out.stdout).into_owned()
}

/// A folder that everybody may look into, as one on a shared computer: what is kept from others is kept by its own mode.
fn open_folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder for the test");
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
    folder
}

fn mode(path: &Path) -> u32 {
    fs::symlink_metadata(path).unwrap_or_else(|error| panic!("{}: {error}", path.display())).permissions().mode()
        & 0o777
}

/// Every file and folder below.
fn all_below(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.is_symlink() {
            found.extend(all_below(&path));
        }
        found.push(path);
    }
    found
}

/// True when the tests may act as another user (as root, with setpriv of util-linux); else only modes are looked at.
fn another_user() -> bool {
    let able = Command::new("setpriv")
        .args(["--reuid=65534", "--regid=65534", "--clear-groups", "true"])
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success());
    if !able {
        println!("SKIPPED in part: this system lets no test act as another user; only the modes are looked at");
    }
    able
}

/// What another user gets who runs this.
fn as_another(words: &[&str]) -> Output {
    Command::new("setpriv")
        .args(["--reuid=65534", "--regid=65534", "--clear-groups"])
        .args(words)
        .output()
        .expect("setpriv runs")
}

#[test]
fn what_is_written_is_for_its_owner_alone_also_when_an_older_book_is_opened_again() {
    let folder = open_folder();
    let at = folder.path();
    done(at, &["take", HERON, "--book", "new/houses.book"]);
    {
        let book = Book::open(&at.join("new/houses.book"), &mut hangtrue::moments::now).unwrap();
        book.photos().keep(b"a photo").unwrap();
    }
    done(at, &["sheets", "heron", "--book", "new/houses.book", "--out", "sheets"]);
    done(at, &["export", "heron", "--book", "new/houses.book", "--out", "heron.json"]);
    done(at, &["archive", "archive", "--book", "new/houses.book"]);
    done(at, &["key", "firm.key"]);
    done(at, &["demo", "--out", "demo"]);
    let is_private = |path: &Path| {
        let wanted = if path.is_dir() { 0o700 } else { 0o600 };
        // A folder that only its owner may enter keeps what is in it.
        mode(path) == wanted || path.ancestors().skip(1).take_while(|up| *up != at).any(|up| mode(up) == 0o700)
    };
    let found = all_below(at);
    assert!(found.len() > 60, "{}", found.len());
    for path in &found {
        assert!(is_private(path), "{} has {:o}", path.display(), mode(path));
    }
    // The files that are handed out can be carried elsewhere: each is private by itself.
    for path in found.iter().filter(|path| path.is_file()) {
        assert_eq!(mode(path), 0o600, "{}", path.display());
    }
    if another_user() {
        for path in found.iter().filter(|path| path.is_file()) {
            let got = as_another(&["cat", path.to_str().unwrap()]);
            assert!(!got.status.success() && got.stdout.is_empty(), "another user read {}", path.display());
        }
    }
    // As an older program left it: for everybody to read.
    let old = at.join("old");
    fs::create_dir(&old).unwrap();
    for tail in ["", ".photos"] {
        fs::rename(at.join(format!("new/houses.book{tail}")), old.join(format!("houses.book{tail}"))).unwrap();
    }
    fs::set_permissions(&old, fs::Permissions::from_mode(0o755)).unwrap();
    fs::set_permissions(old.join("houses.book"), fs::Permissions::from_mode(0o644)).unwrap();
    fs::set_permissions(old.join("houses.book.photos"), fs::Permissions::from_mode(0o755)).unwrap();
    for path in all_below(&old.join("houses.book.photos")) {
        fs::set_permissions(path, fs::Permissions::from_mode(0o644)).unwrap();
    }
    done(at, &["houses", "--book", "old/houses.book"]);
    assert_eq!(mode(&old.join("houses.book")), 0o600);
    assert_eq!(mode(&old.join("houses.book.photos")), 0o700);
    assert_eq!(mode(&old), 0o755, "a folder that was there is the person's to open or close");
}

/// A program that serves the page, ended when it goes out of sight.
struct Page {
    program: Child,
    door: PathBuf,
    host: String,
}

impl Page {
    fn of(at: &Path, more: &[&str]) -> Self {
        let mut program = Command::new(env!("CARGO_BIN_EXE_hangtrue"))
            .current_dir(at)
            .args(["open", "--port", "0", "--book", "houses.book"])
            .args(more)
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program runs");
        let mut said = String::new();
        let mut out = std::io::BufReader::new(program.stdout.take().expect("it is piped"));
        while !said.trim_end().ends_with("open.html") {
            said.clear();
            assert!(std::io::BufRead::read_line(&mut out, &mut said).unwrap() > 0, "it named no file");
        }
        // Kept open: a program whose reader is gone would end.
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        let door = PathBuf::from(said.trim());
        let text = fs::read_to_string(&door).unwrap();
        let host = text.split("action=\"http://").nth(1).unwrap().split('/').next().unwrap().to_owned();
        Self { program, door, host }
    }

    fn port(&self) -> u16 {
        self.host.rsplit(':').next().unwrap().parse().unwrap()
    }

    fn ask(&self, method: &str, path: &str, host: &str, more: &str) -> String {
        let mut line = TcpStream::connect(("127.0.0.1", self.port())).unwrap();
        line.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        write!(line, "{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{more}\r\n").unwrap();
        let mut got = String::new();
        line.read_to_string(&mut got).unwrap();
        got
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

#[test]
fn another_user_of_the_machine_gets_no_page_no_name_and_no_key() {
    let folder = open_folder();
    let at = folder.path();
    done(at, &["take", HERON, "--book", "houses.book"]);
    let page = Page::of(at, &[]);
    // What another user sees without asking: the command line, the environment is not readable, the file neither.
    let line = fs::read(format!("/proc/{}/cmdline", page.program.id())).unwrap_or_default();
    let text = fs::read_to_string(&page.door).unwrap();
    let token = text.split("value=\"").nth(1).unwrap().split('"').next().unwrap();
    let name = page.host.split('.').next().unwrap();
    let line = String::from_utf8_lossy(&line).into_owned();
    assert!(!line.contains(token) && !line.contains(name), "{line}");
    assert_eq!((mode(&page.door), mode(page.door.parent().unwrap())), (0o600, 0o700));
    if another_user() {
        let got = as_another(&["cat", page.door.to_str().unwrap()]);
        assert!(!got.status.success() && got.stdout.is_empty());
    }
    // What was fetched from outside the folder before: the page with its token, then an invitation, then the key.
    let port = page.port();
    for host in [page.host.clone(), format!("127.0.0.1:{port}"), format!("localhost:{port}")] {
        for (method, path) in [("GET", "/"), ("GET", "/workroom"), ("POST", "/workroom/invite"), ("GET", "/page.js")] {
            let got = page.ask(method, path, &host, "Content-Length: 0\r\n");
            assert!(got.contains("Access key required."), "{method} {path} at {host}: {got}");
            assert!(!got.contains("Hangtrue") && !got.contains("Heron") && !got.contains("token"), "{got}");
            assert!(!got.to_lowercase().contains("set-cookie"), "{got}");
        }
    }
    // And its owner comes in, by what is in the file.
    let form = format!("token={token}");
    let more =
        format!("Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}", form.len());
    let got = page.ask("POST", "/enter", &page.host, &more);
    let cookie = got.split("set-cookie: ").nth(1).unwrap_or_else(|| panic!("{got}")).split(';').next().unwrap();
    let got = page.ask("GET", "/", &page.host, &format!("Cookie: {cookie}\r\n"));
    assert!(got.starts_with("HTTP/1.1 200") && got.contains("Heron Lane"), "{got}");
}

#[test]
fn the_page_is_not_shared_over_the_network_unencrypted() {
    let folder = open_folder();
    let out = hangtrue(folder.path(), &["open", "--book", "houses.book", "--share", "127.0.0.1:0"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&out.stderr).contains("unencrypted"));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "nothing was made");
}

/// What another laid under a name that is going to be written.
#[derive(Clone, Copy, Debug)]
enum Trap {
    Link,
    LinkToNothing,
    SecondName,
    Folder,
    Pipe,
    File,
}

/// A command that writes, and what is in place before it.
const WRITERS: [(&str, &[&str]); 7] = [
    ("export", &["export", "heron", "--book", "desk/houses.book", "--out", "out/heron.json"]),
    ("sheets", &["sheets", "heron", "--book", "desk/houses.book", "--out", "out"]),
    ("key", &["key", "out/firm.key"]),
    ("archive", &["archive", "out/archive", "--book", "desk/houses.book"]),
    ("take", &["take", HERON, "--book", "out/fresh.book"]),
    ("sync", &["sync", "out/exchange", "--key", "desk/firm.key", "--create", "--book", "desk/houses.book"]),
    ("demo", &["demo", "--out", "out/demo"]),
];

/// The paths that a writer makes, and those of their halves.
fn paths_of(writer: usize) -> Vec<PathBuf> {
    static KNOWN: [std::sync::OnceLock<Vec<PathBuf>>; 7] = [const { std::sync::OnceLock::new() }; 7];
    KNOWN[writer]
        .get_or_init(|| {
            let folder = desk();
            done(folder.path(), WRITERS[writer].1);
            let out = folder.path().join("out");
            let mut paths = Vec::new();
            for path in all_below(&out) {
                let inside = path.strip_prefix(&out).unwrap().to_owned();
                // Names with chance in them cannot be known before.
                if inside.to_string_lossy().contains("segments/") {
                    continue;
                }
                for tail in
                    ["", ".new", ".1.new", ".hangtrue-new", ".reserve.new", ".check", "-journal", "-wal", "-shm"]
                {
                    paths.push(PathBuf::from(format!("{}{tail}", inside.display())));
                }
            }
            paths
        })
        .clone()
}

fn desk() -> tempfile::TempDir {
    let folder = open_folder();
    fs::create_dir(folder.path().join("out")).unwrap();
    done(folder.path(), &["take", HERON, "--book", "desk/houses.book"]);
    done(folder.path(), &["key", "desk/firm.key"]);
    folder
}

fn set(trap: Trap, path: &Path, victim: &Path) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    match trap {
        Trap::Link => std::os::unix::fs::symlink(victim, path).unwrap(),
        Trap::LinkToNothing => std::os::unix::fs::symlink(victim.with_extension("nothing"), path).unwrap(),
        Trap::SecondName => fs::hard_link(victim, path).unwrap(),
        Trap::Folder => fs::create_dir(path).unwrap(),
        Trap::Pipe => assert!(Command::new("mkfifo").arg(path).status().unwrap().success()),
        Trap::File => fs::copy(victim, path).map(drop).unwrap(),
    }
}

/// How many cases are tried: 40, or what PROPTEST_CASES says.
fn cases() -> u32 {
    std::env::var("PROPTEST_CASES").ok().and_then(|said| said.parse().ok()).unwrap_or(40)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn nothing_of_others_is_overwritten_or_followed(writer in 0..7_usize, pick in any::<prop::sample::Index>(), trap in prop_oneof![
        Just(Trap::Link), Just(Trap::LinkToNothing), Just(Trap::SecondName), Just(Trap::Folder), Just(Trap::Pipe), Just(Trap::File)
    ]) {
        let inside = pick.get(&paths_of(writer)).clone();
        let folder = desk();
        let (victim, path) = (folder.path().join("another's notes"), folder.path().join("out").join(&inside));
        let words = b"what another wrote, longer than nothing\n".repeat(20);
        fs::write(&victim, &words).unwrap();
        fs::set_permissions(&victim, fs::Permissions::from_mode(0o644)).unwrap();
        set(trap, &path, &victim);
        let mut command = Command::new("timeout");
        command.arg("60").arg(env!("CARGO_BIN_EXE_hangtrue")).current_dir(folder.path()).args(WRITERS[writer].1);
        let out = command.output().unwrap();
        let said = String::from_utf8_lossy(&out.stderr).into_owned();
        prop_assert!(matches!(out.status.code(), Some(0 | 3)), "{inside:?} {trap:?}: {:?} {said}", out.status);
        prop_assert!(out.status.success() || !said.trim().is_empty(), "it says why");
        prop_assert_eq!(fs::read(&victim).unwrap(), words.clone(), "{:?} {:?} in {:?}", inside, trap, WRITERS[writer].0);
        prop_assert!(fs::symlink_metadata(victim.with_extension("nothing")).is_err(), "a link was followed: {inside:?}");
        // A file of its own under the very name that is written to: left as it is. The names of half-written files
        // and of SQLite's own are none that another would give.
        let name = inside.to_string_lossy();
        let half = [".new", ".hangtrue-new", "-journal", "-wal", "-shm"].iter().any(|end| name.ends_with(end));
        if matches!(trap, Trap::File) && !half {
            prop_assert_eq!(fs::read(&path).unwrap(), words, "{:?} in {:?}", inside, WRITERS[writer].0);
        }
        prop_assert!(fs::metadata(&victim).unwrap().mode() & 0o777 != 0o600 || matches!(trap, Trap::SecondName), "its mode was changed");
    }
}

#[test]
fn the_quoted_cases_of_files_that_were_lost() {
    // A link on a stick destroyed a book.
    let folder = desk();
    let book = folder.path().join("desk/houses.book");
    let before = fs::read(&book).unwrap();
    let stick = folder.path().join("out/exchange");
    fs::create_dir(&stick).unwrap();
    std::os::unix::fs::symlink(&book, stick.join("hangtrue-exchange.json.new")).unwrap();
    let words = ["sync", "out/exchange", "--key", "desk/firm.key", "--create", "--book", "out/other.book"];
    done(folder.path(), &words);
    assert_eq!(fs::read(&book).unwrap(), before);
    // A new book was begun where a link to nothing led.
    std::os::unix::fs::symlink(folder.path().join("elsewhere"), folder.path().join("out/new.book")).unwrap();
    let out = hangtrue(folder.path(), &["take", HERON, "--book", "out/new.book"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&out.stderr).contains("a link that leads to nothing"));
    assert!(!folder.path().join("elsewhere").exists());
    // Export onto its own book.
    let out = hangtrue(folder.path(), &["export", "heron", "--book", "desk/houses.book", "--out", "desk/houses.book"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(done(folder.path(), &["houses", "--book", "desk/houses.book"]).contains("Heron Lane"));
    // An export is written over an earlier one.
    for _ in 0..2 {
        done(folder.path(), &["export", "heron", "--book", "desk/houses.book", "--out", "out/heron.json"]);
        done(folder.path(), &["sheets", "heron", "--book", "desk/houses.book", "--out", "out/sheets"]);
    }
}

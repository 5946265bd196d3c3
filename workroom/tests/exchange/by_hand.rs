//! Pairing by hand: a short code that is typed, slips, another computer at the workroom's address, and a hub that runs as a
//! service without a terminal.

use super::process::{HubProcess, program, run, try_run};
use hangtrue_core::sync::pairing::Offer;
use hangtrue_core::sync::short::ShortCode;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Stdio};

/// A command that talks, line by line.
struct Talk {
    child: Child,
    stdin: ChildStdin,
    out: BufReader<std::process::ChildStdout>,
}

impl Talk {
    fn of(words: &[&str]) -> Self {
        let mut child =
            program().args(words).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the program starts");
        let stdin = child.stdin.take().expect("piped");
        let out = BufReader::new(child.stdout.take().expect("piped"));
        Self { child, stdin, out }
    }

    fn wait_for(&mut self, words: &str) -> String {
        loop {
            let mut line = String::new();
            assert!(self.out.read_line(&mut line).unwrap() > 0, "it ended before it said {words:?}");
            if line.contains(words) {
                return line.trim().to_owned();
            }
        }
    }

    fn type_in(&mut self, line: &str) {
        writeln!(self.stdin, "{line}").expect("it reads");
    }

    fn end(mut self) -> bool {
        drop(self.stdin);
        self.child.wait().expect("it ends").success()
    }
}

fn text(path: &Path) -> String {
    path.display().to_string()
}

#[test]
fn a_device_is_paired_by_a_typed_code_with_a_hub_that_has_no_terminal() {
    let at = tempfile::tempdir().unwrap();
    let hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let folder = text(&hub.folder);
    let mut desk = Talk::of(&["hub", "--folder", &folder, "pair"]);
    let shown = desk.wait_for("type on the device: ").split("device: ").nth(1).unwrap().to_owned();
    let (address, code) = shown.split_once(' ').unwrap();
    assert!(code.len() == 19 && address.len() < 22, "short enough to be typed: {shown}");
    let book = text(&at.path().join("phone.book"));
    // A slip is told before anything is sent, and costs nothing.
    let slip = format!("{}{}", if code.starts_with('2') { '3' } else { '2' }, &code[1..]);
    let refused = try_run(&["pair", "--book", &book, address, &slip]);
    let said = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(said.contains("slip") || said.contains("no such code"), "{said}");
    let mut phone = Talk::of(&["pair", "--book", &book, "--name", "Ida's phone", address, &code.to_lowercase()]);
    let digits = phone.wait_for("six digits").rsplit(' ').next().unwrap().to_owned();
    desk.wait_for("\"Ida's phone\" asks to be paired");
    // A wrong digit costs a try, not the whole.
    desk.type_in(if digits == "111111" { "222222" } else { "111111" });
    desk.wait_for("2 more may be tried");
    desk.type_in(&digits);
    desk.wait_for("is paired");
    assert!(desk.end());
    phone.wait_for("Paired with");
    assert!(phone.end());
    assert!(run(&["sync", "--book", &book]).contains("0 facts arrived"));
    // Who cannot read the hub's folder has no door.
    let other = text(&at.path().join("elsewhere"));
    assert!(
        String::from_utf8_lossy(&try_run(&["hub", "--folder", &other, "pair"]).stderr).contains("is a hub running")
    );
}

#[test]
fn another_computer_at_the_typed_address_is_found_out() {
    let at = tempfile::tempdir().unwrap();
    let mut ours = HubProcess::start(&at.path().join("ours"), 0, &[]);
    let mut other = HubProcess::start(&at.path().join("other"), 0, &[]);
    let offer: Offer = ours.offer();
    other.offer();
    let code = ShortCode::of(&offer).to_string();
    let book = text(&at.path().join("phone.book"));
    // The other hub has no such code; it is not told what it is either.
    let out = try_run(&["pair", "--book", &book, &format!("127.0.0.1:{}", other.port), &code]);
    assert!(!out.status.success());
    assert!(String::from_utf8_lossy(&out.stderr).contains("no such code"), "{out:?}");
    assert!(!at.path().join("phone.book").exists(), "nothing was made");
}

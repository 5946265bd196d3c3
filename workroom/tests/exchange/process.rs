//! The program as a process: a hub that can be paired with, commands that run to their end.

use hangtrue::transport::Https;
use hangtrue_core::sync::pairing::{Joining, Offer, Paired};
use hangtrue_core::sync::{Http, Hub};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Output, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;
use uuid::Uuid;

pub(crate) const SHORT: Duration = Duration::from_secs(20);

pub(crate) fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hangtrue"));
    command.env_remove("HANGTRUE_BOOK");
    command
}

/// Runs a command to its end; it must succeed.
pub(crate) fn run(arguments: &[&str]) -> String {
    let output = try_run(arguments);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{arguments:?}: {text}{}", String::from_utf8_lossy(&output.stderr));
    text
}

pub(crate) fn try_run(arguments: &[&str]) -> Output {
    program().args(arguments).output().expect("the program starts")
}

/// A hub that runs.
pub(crate) struct HubProcess {
    child: Child,
    stdin: ChildStdin,
    lines: Receiver<String>,
    pub(crate) folder: PathBuf,
    pub(crate) port: u16,
}

impl HubProcess {
    pub(crate) fn start(folder: &Path, port: u16, more: &[&str]) -> Self {
        let mut child = program()
            .args(["hub", "--folder", &folder.display().to_string(), "--listen", &format!("127.0.0.1:{port}")])
            .args(more)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("the hub starts");
        let stdin = child.stdin.take().expect("piped");
        let out = BufReader::new(child.stdout.take().expect("piped"));
        let (send, lines) = channel();
        std::thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                if send.send(line).is_err() {
                    return;
                }
            }
        });
        let mut hub = Self { child, stdin, lines, folder: folder.to_owned(), port: 0 };
        let said = hub.wait_for("listens on port");
        let digits: String =
            said.split("port ").nth(1).expect("a port").chars().take_while(char::is_ascii_digit).collect();
        hub.port = digits.parse().expect("a port");
        // Routes are served once this line is out.
        hub.wait_for("Type \"pair\"");
        hub
    }

    /// The most memory that it has had, in kilobytes (proc(5): VmHWM).
    #[cfg(target_os = "linux")]
    pub(crate) fn most_memory_kb(&self) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).expect("it runs");
        let line = status.lines().find(|line| line.starts_with("VmHWM:")).expect("Linux says it");
        line.split_whitespace().nth(1).and_then(|number| number.parse().ok()).expect("a number")
    }

    pub(crate) fn wait_for(&self, words: &str) -> String {
        loop {
            let line =
                self.lines.recv_timeout(Duration::from_secs(60)).unwrap_or_else(|_| panic!("no line \"{words}\""));
            if line.contains(words) {
                return line;
            }
        }
    }

    pub(crate) fn type_in(&mut self, line: &str) {
        writeln!(self.stdin, "{line}").expect("the hub reads its terminal");
    }

    pub(crate) fn offer(&mut self) -> Offer {
        self.type_in("pair");
        self.wait_for("hangtrue-pair:").parse().expect("an offer")
    }

    pub(crate) fn https(offer: &Offer) -> Https {
        Https::new(offer.addresses.clone(), offer.certificate, SHORT).expect("a client")
    }

    /// Pairs a device by the whole way: offer, ask, six digits typed in the hub's terminal, answer.
    pub(crate) fn pair(&mut self, device: Uuid, name: &str) -> Paired {
        let offer = self.offer();
        let mut https = Self::https(&offer);
        let secret = hangtrue::moments::random().expect("chance");
        let joining = Joining::new(offer, device, name, hangtrue::moments::now().ms / 1000, secret).expect("joining");
        joining.asked(&https.send(&joining.ask()).expect("sent")).expect("taken");
        self.wait_for("Type the six digits");
        self.type_in(&joining.code());
        self.wait_for("is paired");
        let answer = https.send(&joining.poll()).expect("sent");
        joining.polled(&answer).expect("an answer").expect("the digits were typed")
    }

    /// The hub as a paired device reaches it.
    pub(crate) fn place(&self, paired: &Paired) -> Hub<Https> {
        let address = format!("127.0.0.1:{}", self.port);
        let https = Https::new(vec![address], paired.certificate, SHORT).expect("a client");
        Hub::new(https, paired.certificate, paired.key.clone())
    }

    /// Ends it as a power cut would.
    pub(crate) fn kill(&mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("ended");
    }
}

impl Drop for HubProcess {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

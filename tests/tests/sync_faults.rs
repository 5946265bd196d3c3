//! Every write, file sync, rename and request of an exchange fails once, and once more during the recovery from it:
//! nothing that was acknowledged is lost, and the next undisturbed sync brings all devices to the same state.

mod sync_help;

use hangtrue_core::house::Place;
use hangtrue_core::store::{Book, Files, Step};
use hangtrue_core::sync::{FirmKey, Folder, Hash, ObjectName, Prune, Transport, TransportProblem, archive, compact};
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;
use std::sync::{Arc, Mutex};
use sync_help::{Chance, Clock, Device, scratch};
use uuid::Uuid;

/// Counts what is asked and refuses the n-th.
#[derive(Clone, Default)]
struct Fault(Arc<Mutex<Count>>);

#[derive(Default)]
struct Count {
    asked: u64,
    strike_at: u64,
    struck: BTreeMap<&'static str, u64>,
}

impl Fault {
    fn arm(&self, at: u64) {
        let mut inner = self.0.lock().unwrap();
        inner.asked = 0;
        inner.strike_at = at;
    }

    fn count(&self) -> u64 {
        self.0.lock().unwrap().asked
    }

    /// True when this one is to fail.
    fn strikes(&self, what: &'static str) -> bool {
        let mut inner = self.0.lock().unwrap();
        inner.asked += 1;
        let strikes = inner.asked == inner.strike_at;
        if strikes {
            *inner.struck.entry(what).or_default() += 1;
        }
        strikes
    }

    fn files(&self) -> Files {
        let fault = self.clone();
        Files::gated(move |step, _| {
            let what = match step {
                Step::Create => "create",
                Step::Write => "write",
                Step::Sync => "file sync",
                Step::Rename => "rename",
                Step::SyncFolder => "folder sync",
                Step::Remove => "remove",
            };
            if fault.strikes(what) { Err(io::Error::from(io::ErrorKind::StorageFull)) } else { Ok(()) }
        })
    }
}

/// A folder whose requests can fail before they are done, and after: the reply is lost.
struct Faulty<'a> {
    inner: Folder,
    fault: &'a Fault,
}

impl Faulty<'_> {
    fn ask(&self, what: &'static str) -> Result<(), TransportProblem> {
        if self.fault.strikes(what) {
            return Err(TransportProblem::Away { place: "test".to_owned(), what: what.to_owned() });
        }
        Ok(())
    }
}

impl Transport for Faulty<'_> {
    fn place(&self) -> String {
        self.inner.place()
    }

    fn list(&mut self, prefix: &str) -> Result<Vec<ObjectName>, TransportProblem> {
        self.ask("list")?;
        self.inner.list(prefix)
    }

    fn get(&mut self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        self.ask("get")?;
        self.inner.get(name)
    }

    fn put(&mut self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem> {
        self.ask("put, not sent")?;
        let hash = self.inner.put(name, bytes)?;
        self.ask("put, reply lost")?;
        Ok(hash)
    }
}

impl Prune for Faulty<'_> {
    fn remove(&mut self, name: &ObjectName) -> Result<(), TransportProblem> {
        self.ask("remove, not sent")?;
        self.inner.remove(name)
    }
}

fn device(at: &Path, name: &str, seed: u64, files: &Files) -> Device {
    let mut clock = Clock { ms: 1_700_000_000_000 + seed, chance: Chance(seed) };
    let path = at.join(format!("{name}.book"));
    let book = Book::open_with(&path, files, &mut || clock.moment()).expect("a book");
    Device { book, path, clock }
}

/// What is on both disks before anything fails: a phone with three segments sent, more to send, a photo of two parts; a
/// desk with an ask to send. Written once and copied for every run.
fn prepare(at: &Path, key: &FirmKey) -> (Uuid, usize) {
    let mut place = Folder::create(&at.join("exchange"), Uuid::from_u128(9), Files::default()).unwrap();
    let (mut phone, mut desk) = (device(at, "phone", 1, &Files::default()), device(at, "desk", 2, &Files::default()));
    let (job, openings) = phone.house(1);
    phone.sync(key, &mut place);
    desk.sync(key, &mut place);
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    phone.sync(key, &mut place);
    phone.read(job, openings[0], Place::WidthMiddle, "34 3/8");
    let bytes: Vec<u8> = (0..300_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    phone.photo(job, openings[0], &bytes);
    desk.ask(job, openings[0], &[Place::WidthTop], "again");
    phone.book.pause().unwrap();
    desk.book.pause().unwrap();
    let all = phone.all().len() + 1;
    (job, all)
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else if !entry.path().to_string_lossy().ends_with(".reserve") {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// One exchange from where the disk is: phone, desk, phone, the phone's segments joined, an archive of the desk.
/// Everything may fail; nothing may panic.
fn exchange(at: &Path, key: &FirmKey, fault: &Fault, seed: u64) {
    let files = fault.files();
    let Ok(inner) = Folder::open(&at.join("exchange"), files.clone()) else { return };
    let mut place = Faulty { inner, fault };
    let open = |name: &str, seed| {
        let mut clock = Clock { ms: 1_700_000_100_000, chance: Chance(seed) };
        let path = at.join(format!("{name}.book"));
        Book::open_with(&path, &files, &mut || clock.moment()).ok().map(|book| Device { book, path, clock })
    };
    let (Some(mut phone), Some(mut desk)) = (open("phone", seed), open("desk", seed + 1)) else { return };
    let _ = phone.try_sync(key, &mut place);
    let _ = desk.try_sync(key, &mut place);
    let _ = phone.try_sync(key, &mut place);
    let _ = compact(&mut phone.book, key, &mut place);
    let out = at.join("archive");
    let _ = fs::remove_dir_all(&out);
    if archive::write(&desk.book, &out, &files).is_ok() {
        archive::check(&out).expect("what says that it was written is whole");
    }
}

fn judge(at: &Path, key: &FirmKey, job: Uuid, all: usize, what: &str) {
    let mut place = Folder::open(&at.join("exchange"), Files::default()).unwrap();
    let (mut phone, mut desk) = (device(at, "phone", 71, &Files::default()), device(at, "desk", 72, &Files::default()));
    for _ in 0..2 {
        phone.sync(key, &mut place);
        desk.sync(key, &mut place);
    }
    let mut late = device(at, "late", 73, &Files::default());
    let report = late.sync(key, &mut place);
    assert_eq!((report.gaps, report.bad), (vec![], vec![]), "{what}");
    assert_eq!(late.all().len(), all, "{what}");
    assert_eq!(late.all(), phone.all(), "{what}");
    assert_eq!(late.all(), desk.all(), "{what}");
    assert_eq!(late.book.photos().list().unwrap().len(), 1, "{what}");
    assert_eq!(desk.book.photos().list().unwrap().len(), 1, "{what}");
    assert!(desk.book.house(job).unwrap().unwrap().waiting.is_empty(), "{what}");
}

#[test]
fn every_step_fails_once_and_once_more_in_the_recovery() {
    let prepared = scratch();
    let key = FirmKey::generate();
    let (job, all) = prepare(prepared.path(), &key);
    let fault = Fault::default();
    let at = scratch();
    copy(prepared.path(), at.path());
    fault.arm(u64::MAX);
    exchange(at.path(), &key, &fault, 100);
    let points = fault.count();
    judge(at.path(), &key, job, all, "undisturbed");
    let mut twice = 0;
    for n in 1..=points {
        let strike = |again| {
            let at = scratch();
            copy(prepared.path(), at.path());
            fault.arm(n);
            exchange(at.path(), &key, &fault, 100);
            fault.arm(again);
            exchange(at.path(), &key, &fault, 200);
            at
        };
        // First to learn how many steps the recovery has, then to strike it at one of them, which moves along with n, so
        // that over all runs it is struck everywhere.
        drop(strike(u64::MAX));
        let m = 1 + (n * 7) % fault.count();
        let at = strike(m);
        twice += u64::from(fault.count() >= m);
        fault.arm(u64::MAX);
        judge(at.path(), &key, job, all, &format!("point {n} of {points}, then {m}"));
    }
    let struck = fault.0.lock().unwrap().struck.clone();
    println!("{points} fault points, each struck alone, and {twice} of them once more in the recovery: {struck:?}");
    assert_eq!(twice, points);
    for kind in
        ["create", "write", "file sync", "rename", "folder sync", "list", "get", "put, not sent", "put, reply lost"]
    {
        assert!(struck.contains_key(kind), "no {kind} was struck");
    }
}

/// A folder that is pulled out before the n-th request.
struct Pulled<'a> {
    inner: Folder,
    n: u64,
    at: u64,
    away: &'a Path,
}

impl Pulled<'_> {
    fn ask(&mut self) {
        self.n += 1;
        if self.n == self.at {
            let root = self.inner.root().to_owned();
            fs::rename(&root, self.away).expect("pulled");
            // The empty mount point that a stick leaves.
            fs::create_dir(&root).expect("left");
        }
    }
}

impl Transport for Pulled<'_> {
    fn place(&self) -> String {
        self.inner.place()
    }

    fn list(&mut self, prefix: &str) -> Result<Vec<ObjectName>, TransportProblem> {
        self.ask();
        self.inner.list(prefix)
    }

    fn get(&mut self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        self.ask();
        self.inner.get(name)
    }

    fn put(&mut self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem> {
        self.ask();
        self.inner.put(name, bytes)
    }
}

#[test]
fn a_folder_that_vanishes_before_any_request_is_said_and_not_made_anew() {
    let prepared = scratch();
    let key = FirmKey::generate();
    let (job, all) = prepare(prepared.path(), &key);
    for n in 1.. {
        let at = scratch();
        copy(prepared.path(), at.path());
        let (root, away) = (at.path().join("exchange"), at.path().join("pulled"));
        let inner = Folder::open(&root, Files::default()).unwrap();
        let mut place = Pulled { inner, n: 0, at: n, away: &away };
        let report = device(at.path(), "phone", 70, &Files::default()).try_sync(&key, &mut place).unwrap();
        if !away.exists() {
            assert!(report.all_sent);
            println!("a folder that vanished before each of {} requests", n - 1);
            assert!(n > 5);
            return;
        }
        assert!(matches!(report.stopped, Some(TransportProblem::Away { .. })), "request {n}: {report:?}");
        assert_eq!(fs::read_dir(&root).unwrap().count(), 0, "request {n}: nothing is written where it was");
        fs::remove_dir(&root).unwrap();
        fs::rename(&away, &root).unwrap();
        judge(at.path(), &key, job, all, &format!("gone before request {n}"));
    }
}

/// A real file system of 256 kB; needs the right to mount, so it says when it could not run.
#[test]
fn a_full_and_a_read_only_folder_are_said_and_lose_nothing() {
    let at = tempfile::tempdir().unwrap();
    let small = at.path().join("small");
    fs::create_dir(&small).unwrap();
    let mount = |options: &str| {
        std::process::Command::new("mount")
            .args(["-t", "tmpfs", "-o", options, "tmpfs"])
            .arg(&small)
            .output()
            .is_ok_and(|done| done.status.success())
    };
    if !mount("size=256k") {
        eprintln!("SKIPPED: no right to mount a small file system here");
        return;
    }
    let key = FirmKey::generate();
    let run = || -> Result<(), String> {
        let mut place = Folder::create(&small, Uuid::from_u128(9), Files::default()).map_err(|e| e.to_string())?;
        let mut phone = device(at.path(), "phone", 1, &Files::default());
        let (job, openings) = phone.house(1);
        let bytes: Vec<u8> = (0..600_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
        phone.photo(job, openings[0], &bytes);
        let report = phone.try_sync(&key, &mut place).map_err(|e| e.to_string())?;
        let Some(TransportProblem::Full { .. }) = report.stopped else { return Err(format!("{report:?}")) };
        let said = report.stopped.map(|problem| problem.to_string()).unwrap_or_default();
        if report.sent != 4 || !said.contains("full") {
            return Err(format!("facts go first: {said}"));
        }
        let remounted = std::process::Command::new("mount").args(["-o", "remount,ro"]).arg(&small).status();
        if !remounted.is_ok_and(|status| status.success()) {
            return Err("remounting".to_owned());
        }
        phone.read(job, openings[0], Place::WidthTop, "34 3/8");
        let mut desk = device(at.path(), "desk", 2, &Files::default());
        let report = desk.try_sync(&key, &mut place).map_err(|e| e.to_string())?;
        if report.arrived != 4 {
            return Err(format!("a read-only folder can be read: {report:?}"));
        }
        let report = phone.try_sync(&key, &mut place).map_err(|e| e.to_string())?;
        let Some(TransportProblem::Refused { .. }) = report.stopped else { return Err(format!("{report:?}")) };
        let larger = std::process::Command::new("mount").args(["-o", "remount,rw,size=4m"]).arg(&small).status();
        if !larger.is_ok_and(|status| status.success()) {
            return Err("remounting".to_owned());
        }
        phone.sync(&key, &mut place);
        desk.sync(&key, &mut place);
        if desk.all() != phone.all() || desk.book.photos().list().map_err(|e| e.to_string())?.len() != 1 {
            return Err("not equal in the end".to_owned());
        }
        Ok(())
    };
    let ended = run();
    let _ = std::process::Command::new("umount").arg(&small).status();
    ended.unwrap();
}

//! A folder without a path as a place of exchange: the same stick serves a phone's picker and a desk; each step of it fails
//! once and nothing is lost; what lies there damaged is put aside, and nothing that lies there is changed.

mod sync_help;

use hangtrue_core::house::Place;
use hangtrue_core::store::Files;
use hangtrue_core::sync::{
    DocumentFolder, DocumentProblem, Documents, FirmKey, Folder, Hash, MARKER, ObjectName, Transport, TransportProblem,
};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use sync_help::{Device, files, scratch};
use uuid::Uuid;

/// Documents over a folder of this machine, as a phone's system has them; the n-th step fails, of a write the half is done.
#[derive(Clone)]
struct Stick {
    root: PathBuf,
    steps: Arc<Mutex<(u64, u64)>>,
}

impl Stick {
    fn new(root: &Path) -> Self {
        Self { root: root.to_owned(), steps: Arc::new(Mutex::new((0, u64::MAX))) }
    }

    fn arm(&self, at: u64) {
        *self.steps.lock().unwrap() = (0, at);
    }

    fn count(&self) -> u64 {
        self.steps.lock().unwrap().0
    }

    fn step(&self) -> Result<(), DocumentProblem> {
        let mut steps = self.steps.lock().unwrap();
        steps.0 += 1;
        if steps.0 == steps.1 { Err(DocumentProblem::Away("the stick was pulled".to_owned())) } else { Ok(()) }
    }

    fn full(error: &std::io::Error) -> DocumentProblem {
        DocumentProblem::Full(error.to_string())
    }
}

impl Documents for Stick {
    fn list(&mut self, prefix: &str) -> Result<Vec<String>, DocumentProblem> {
        self.step()?;
        let name = |path: PathBuf| path.strip_prefix(&self.root).unwrap().to_str().unwrap().to_owned();
        Ok(files(&self.root.join(prefix)).into_iter().map(name).collect())
    }

    fn read(&mut self, name: &str, most: u64) -> Result<Option<Vec<u8>>, DocumentProblem> {
        self.step()?;
        let Ok(mut bytes) = fs::read(self.root.join(name)) else { return Ok(None) };
        bytes.truncate(usize::try_from(most).unwrap().saturating_add(1));
        Ok(Some(bytes))
    }

    fn create(&mut self, name: &str, bytes: &[u8]) -> Result<(), DocumentProblem> {
        self.step()?;
        let path = self.root.join(name);
        fs::create_dir_all(path.parent().unwrap()).map_err(|error| Self::full(&error))?;
        let half = self.root.join(format!("{name}.new"));
        fs::write(&half, &bytes[..bytes.len() / 2]).map_err(|error| Self::full(&error))?;
        self.step()?;
        fs::write(&half, bytes).map_err(|error| Self::full(&error))?;
        self.step()?;
        if path.exists() {
            fs::rename(&path, self.root.join(format!("{name}.damaged"))).map_err(|error| Self::full(&error))?;
        }
        fs::rename(&half, &path).map_err(|error| Self::full(&error))?;
        // done, and the answer is lost
        self.step()
    }
}

const CALLED: &str = "Stick";

/// Every document whose name is one of ours is what its name says.
fn all_whole(root: &Path) {
    for path in files(root) {
        let name = path.strip_prefix(root).unwrap().to_str().unwrap();
        if let Ok(name) = name.parse::<ObjectName>() {
            assert!(name.fits(&fs::read(&path).unwrap()), "{name} is there in part");
        }
    }
}

#[test]
fn a_stick_serves_a_phone_that_picked_it_and_a_desk_that_has_its_path() {
    let at = scratch();
    let key = FirmKey::generate();
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    phone.photo(job, openings[0], &vec![7; 300_000]);
    let root = at.path().join("stick");
    fs::create_dir(&root).unwrap();
    let stick = Stick::new(&root);

    // no place yet, and none is begun unasked
    let none = DocumentFolder::open(stick.clone(), CALLED).err().unwrap();
    assert!(
        matches!(&none, TransportProblem::Away { place, what } if place == CALLED && what.contains(MARKER)),
        "{none}"
    );
    assert_eq!(files(&root), Vec::<PathBuf>::new());

    let mut picked = DocumentFolder::create_for(stick.clone(), CALLED, Uuid::from_u128(5), &key).unwrap();
    assert!(phone.sync(&key, &mut picked).all_sent);
    let mut by_path = Folder::open(&root, Files::default()).unwrap();
    assert_eq!((picked.place(), picked.firm()), (by_path.place(), by_path.firm()));
    desk.sync(&key, &mut by_path);
    assert_eq!(desk.all(), phone.all());
    desk.ask(job, openings[0], &[Place::WidthTop], "an inch out?");
    desk.sync(&key, &mut by_path);
    phone.sync(&key, &mut picked);
    assert_eq!(desk.all(), phone.all());
    assert_eq!(desk.book.photos().list().unwrap().len(), 1);

    // begun again it stays what it is; another in its stead is not written to
    let again = DocumentFolder::create_for(stick.clone(), CALLED, Uuid::from_u128(6), &key).unwrap();
    assert_eq!(again.place(), picked.place());
    let before = files(&root).len();
    fs::write(
        root.join(MARKER),
        fs::read_to_string(root.join(MARKER)).unwrap().replace("000000000005", "000000000007"),
    )
    .unwrap();
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    let stopped = phone.try_sync(&key, &mut picked).unwrap().stopped.unwrap();
    assert!(stopped.to_string().contains("another folder of exchange"), "{stopped}");
    assert_eq!(files(&root).len(), before);
    for (text, wants) in
        [("{}".to_owned(), "hangtrue_exchange"), (" ".repeat(5000), "far too long"), ("x".repeat(20), MARKER)]
    {
        fs::write(root.join(MARKER), text).unwrap();
        let refused = DocumentFolder::create_for(stick.clone(), CALLED, Uuid::from_u128(6), &key).err().unwrap();
        assert!(matches!(&refused, TransportProblem::Nonsense { what, .. } if what.contains(wants)), "{refused}");
    }
}

#[test]
fn every_step_fails_once_and_what_has_a_name_of_ours_is_whole_at_every_time() {
    let key = FirmKey::generate();
    let run = |strike: u64| {
        let at = scratch();
        let root = at.path().join("stick");
        fs::create_dir(&root).unwrap();
        let stick = Stick::new(&root);
        let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
        let (job, openings) = phone.house(1);
        phone.photo(job, openings[0], &vec![7; 300_000]);
        stick.arm(strike);
        for device in [&mut phone, &mut desk] {
            if let Ok(mut place) = DocumentFolder::create_for(stick.clone(), CALLED, Uuid::from_u128(5), &key) {
                let _ = device.try_sync(&key, &mut place);
            }
            all_whole(&root);
        }
        let steps = stick.count();
        stick.arm(u64::MAX);
        let mut place = DocumentFolder::create_for(stick, CALLED, Uuid::from_u128(5), &key).unwrap();
        assert!(phone.sync(&key, &mut place).all_sent, "step {strike}");
        assert!(desk.sync(&key, &mut place).all_sent, "step {strike}");
        assert_eq!(desk.all(), phone.all(), "step {strike}");
        assert_eq!(desk.book.photos().list().unwrap().len(), 1, "step {strike}");
        steps
    };
    let steps = run(u64::MAX);
    assert!(steps > 20, "{steps} steps: nothing was tried");
    for strike in 1..=steps {
        run(strike);
    }
}

#[test]
fn what_lies_there_damaged_is_put_aside_and_brought_again() {
    let at = scratch();
    let key = FirmKey::generate();
    let (mut phone, mut desk) = (Device::new(at.path(), "phone", 1), Device::new(at.path(), "desk", 2));
    let (job, openings) = phone.house(1);
    let root = at.path().join("stick");
    fs::create_dir(&root).unwrap();
    let mut place = DocumentFolder::create_for(Stick::new(&root), CALLED, Uuid::from_u128(5), &key).unwrap();
    phone.sync(&key, &mut place);
    phone.read(job, openings[0], Place::WidthTop, "34 3/8");
    phone.sync(&key, &mut place);
    let path = files(&root.join("segments")).pop().unwrap();
    let name: ObjectName = path.strip_prefix(&root).unwrap().to_str().unwrap().parse().unwrap();
    let right = fs::read(&path).unwrap();
    let damaged = &right[1..];
    fs::write(&path, damaged).unwrap();
    // the desk finds it damaged and says so there; the phone brings what it held again, under a name of its own
    desk.sync(&key, &mut place);
    assert_ne!(desk.all(), phone.all());
    phone.sync(&key, &mut place);
    desk.sync(&key, &mut place);
    assert_eq!(desk.all(), phone.all());
    assert_eq!(fs::read(&path).unwrap(), damaged, "what lay there was changed");
    // the very same brought again has its name, and what had it lies aside
    assert_eq!(place.put(&name, &right).unwrap(), Hash::of(&right));
    all_whole(&root);
    assert_eq!(fs::read(format!("{}.damaged", path.display())).unwrap(), damaged, "what lay there was changed");
    let before = files(&root);
    assert_eq!(place.put(&name, &right).unwrap(), Hash::of(&right));
    assert_eq!(files(&root), before, "what is there and whole was written again");
}

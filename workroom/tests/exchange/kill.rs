//! The program is killed (SIGKILL) at random instants of a sync, on both ends: what was acknowledged is still there.

use crate::help::{Chance, Device, scratch};
use crate::process::{HubProcess, program, run};
use hangtrue_core::house::Place;
use hangtrue_core::store::Book;
use std::process::Stdio;
use std::time::{Duration, Instant};
use uuid::Uuid;

/// `HANGTRUE_KILLS` of each end; 20, and 250 in the long run.
#[test]
fn killed_at_random_instants_on_both_ends_nothing_acknowledged_is_lost() {
    let kills: u64 = std::env::var("HANGTRUE_KILLS").ok().and_then(|text| text.parse().ok()).unwrap_or(20);
    let at = scratch();
    let hub_folder = at.path().join("hub");
    let mut hub = HubProcess::start(&hub_folder, 0, &[]);
    let port = hub.port;
    let mut phone = Device::new(at.path(), "phone", 1);
    let (job, openings) = phone.house(2);
    let book = phone.path.display().to_string();
    // Paired as a person does it, by the program itself.
    let offer = hub.offer().to_string();
    let child = program()
        .args(["pair", "--book", &book, "--name", "phone", &offer])
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut out = std::io::BufReader::new(child.stdout.expect("piped"));
    let mut line = String::new();
    std::io::BufRead::read_line(&mut out, &mut line).expect("a line");
    hub.wait_for("Type the six digits");
    hub.type_in(line.trim().rsplit(' ').next().expect("the digits"));
    std::io::Read::read_to_string(&mut out, &mut line).expect("its end");
    assert!(line.contains("Paired with"), "{line}");

    // How long an undisturbed sync takes, so that the blows fall all over it.
    let started = Instant::now();
    run(&["sync", "--book", &book]);
    let whole = u64::try_from(started.elapsed().as_micros()).expect("short");
    let mut chance = Chance(7);
    let (mut client_struck, mut hub_struck) = (0, 0);
    for n in 0..kills * 2 {
        let text = format!("{} {}/16", 30 + n % 9, n % 16);
        phone.read(job, openings[0], Place::ALL[(n % 8) as usize], &text);
        if n % 10 == 0 {
            phone.photo(job, openings[1], format!("photo {n}").as_bytes());
        }
        let mut child = program()
            .args(["sync", "--book", &book])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("it starts");
        std::thread::sleep(Duration::from_micros(chance.next() % (whole + whole / 4)));
        if n % 2 == 0 {
            client_struck += u64::from(child.try_wait().expect("asked").is_none());
            child.kill().expect("killed");
            child.wait().expect("ended");
        } else {
            hub_struck += u64::from(child.try_wait().expect("asked").is_none());
            hub.kill();
            child.wait().expect("ended");
            hub = HubProcess::start(&hub_folder, port, &[]);
        }
        if n % 50 == 49 {
            // What the phone was told is sent, the hub's folder holds, whole.
            run(&["sync", "--book", &book]);
            drop(Book::open(&phone.path, &mut hangtrue::moments::now).expect("it opens"));
        }
    }
    run(&["sync", "--book", &book]);
    let mut desk = Device::new(at.path(), "desk", 2);
    let paired = hub.pair(Uuid::from_u128(2), "desk");
    let report = desk.sync(&paired.firm, &mut hub.place(&paired));
    assert_eq!((report.gaps, report.bad), (vec![], vec![]));
    assert_eq!(desk.all(), phone.all());
    assert_eq!(desk.book.photos().list().unwrap(), phone.book.photos().list().unwrap());
    println!(
        "{kills} kills of the client ({client_struck} while it ran) and {kills} of the hub ({hub_struck} during a sync), all facts equal"
    );
    assert!(kills < 50 || (client_struck > kills / 4 && hub_struck > kills / 4), "the blows fell on running syncs");
}

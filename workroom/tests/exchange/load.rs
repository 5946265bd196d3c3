//! A day's house over the wire, fifty devices at once: everything arrives, nothing fails. The times are measured by
//! `cargo bench -p hangtrue --bench exchange`, which runs the same.

use crate::help::{Device, scratch};
use crate::process::HubProcess;
use hangtrue::transport::Https;
use hangtrue_core::fact::Body;
use hangtrue_core::house::Place;
use hangtrue_core::sync::{Http, HttpProblem, Hub, Request, Response};
use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Barrier, Mutex};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// A day's house: twelve openings, 300 facts in all.
fn a_day(device: &mut Device) -> (Uuid, Vec<Uuid>) {
    let (job, openings) = device.house(12);
    let mut bodies: Vec<Body> = Vec::new();
    for n in 0..300 - 14 {
        let place = Place::ALL[n / 12 % 11];
        let text = format!("{} {}/16", 30 + n % 40, (n * 7) % 16);
        bodies.push(device.reading(openings[n % 12], place, &text, None));
    }
    for body in bodies {
        device.write(job, &[body]);
    }
    (job, openings)
}

/// Passes bytes on and counts them, both ways.
fn counting(to: u16) -> (u16, Arc<AtomicU64>) {
    fn pump(mut from: TcpStream, mut to: TcpStream, count: &AtomicU64) {
        let mut buffer = [0; 16 << 10];
        while let Ok(n @ 1..) = from.read(&mut buffer) {
            count.fetch_add(n as u64, Ordering::Relaxed);
            if to.write_all(&buffer[..n]).is_err() {
                break;
            }
        }
        let _ = to.shutdown(Shutdown::Write);
    }
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    let count = Arc::new(AtomicU64::new(0));
    let counted = Arc::clone(&count);
    std::thread::spawn(move || {
        for near in listener.incoming().map_while(Result::ok) {
            let far = TcpStream::connect(("127.0.0.1", to)).unwrap();
            let (near_too, far_too) = (near.try_clone().unwrap(), far.try_clone().unwrap());
            let (there, back) = (Arc::clone(&counted), Arc::clone(&counted));
            std::thread::spawn(move || pump(near, far, &there));
            std::thread::spawn(move || pump(far_too, near_too, &back));
        }
    });
    (port, count)
}

#[test]
fn a_days_house_is_small_on_the_wire() {
    days_house();
}

/// Prints the bytes and the time of a day's house, from the phone to the hub and from there to the desk.
pub(crate) fn days_house() {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let mut phone = Device::new(at.path(), "phone", 1);
    let paired = hub.pair(phone.book.device(), "phone");
    a_day(&mut phone);
    let (port, wire) = counting(hub.port);
    let started = Instant::now();
    let https = Https::new(vec![format!("127.0.0.1:{port}")], paired.certificate, Duration::from_secs(20)).unwrap();
    let mut place = Hub::new(https, paired.certificate, paired.key.clone());
    let report = phone.sync(&paired.firm, &mut place);
    let took = started.elapsed();
    let bytes = wire.load(Ordering::Relaxed);
    assert_eq!((report.sent, report.all_sent), (300, true));
    println!(
        "a day's house, 300 facts: {bytes} bytes on the wire with TLS both ways (to hold: 20,000), {} ms (to hold: 1,000)",
        took.as_millis()
    );
    assert!(bytes < 20_000, "{bytes}");
    // And to the desk.
    let mut desk = Device::new(at.path(), "desk", 2);
    let paired = hub.pair(desk.book.device(), "desk");
    let before = wire.load(Ordering::Relaxed);
    let https = Https::new(vec![format!("127.0.0.1:{port}")], paired.certificate, Duration::from_secs(20)).unwrap();
    let report = desk.sync(&paired.firm, &mut Hub::new(https, paired.certificate, paired.key.clone()));
    println!("the same to the desk: {} bytes", wire.load(Ordering::Relaxed) - before);
    assert_eq!(report.arrived, 300);
}

/// Times every request.
struct Timed {
    inner: Https,
    times: Arc<Mutex<Vec<Duration>>>,
}

impl Http for Timed {
    fn send(&mut self, request: &Request) -> Result<Response, HttpProblem> {
        let started = Instant::now();
        let response = self.inner.send(request);
        self.times.lock().unwrap().push(started.elapsed());
        response
    }
}

#[test]
fn many_devices_at_once_are_all_served() {
    at_once(20);
}

/// Prints the times of requests when so many devices bring a day of measuring each.
pub(crate) fn at_once(count: usize) {
    let at = scratch();
    let mut hub = HubProcess::start(&at.path().join("hub"), 0, &[]);
    let mut devices: Vec<_> = (0..count)
        .map(|n| {
            let mut device = Device::new(at.path(), &format!("device{n}"), n as u64);
            let paired = hub.pair(device.book.device(), &format!("device {n}"));
            a_day(&mut device);
            (device, paired)
        })
        .collect();
    let times = Arc::new(Mutex::new(Vec::new()));
    let begin = Barrier::new(count);
    let port = hub.port;
    let started = Instant::now();
    std::thread::scope(|scope| {
        for (device, paired) in &mut devices {
            let (times, begin) = (Arc::clone(&times), &begin);
            scope.spawn(move || {
                let inner =
                    Https::new(vec![format!("127.0.0.1:{port}")], paired.certificate, Duration::from_secs(60)).unwrap();
                let mut place = Hub::new(Timed { inner, times }, paired.certificate, paired.key.clone());
                begin.wait();
                let report = device.sync(&paired.firm, &mut place);
                assert_eq!((report.sent, report.all_sent), (300, true));
            });
        }
    });
    let took = started.elapsed();
    let mut times = Arc::into_inner(times).unwrap().into_inner().unwrap();
    times.sort();
    let p99 = times[times.len() * 99 / 100];
    println!(
        "{count} devices with 300 facts each: all done in {:.1} s, {} requests, no error, median {} ms, p99 {} ms (to hold: \
         1,000), worst {} ms",
        took.as_secs_f64(),
        times.len(),
        times[times.len() / 2].as_millis(),
        p99.as_millis(),
        times[times.len() - 1].as_millis()
    );
    let mut desk = Device::new(at.path(), "desk", 99);
    let paired = hub.pair(desk.book.device(), "desk");
    let report = desk.sync(&paired.firm, &mut hub.place(&paired));
    assert!(report.arrived >= 300 * count as u64, "{report:?}");
    assert_eq!((report.gaps.len(), report.bad.len()), (0, 0));
}

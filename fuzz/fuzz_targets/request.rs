//! Fuzzes the parts of a hub's requests and answers that are ours: asks to pair, tickets, digits, receipts, refusals.
//! The first byte says which. Requests as a whole are thrown at the running routes by the `requests` tests of the
//! exchange, in `workroom/tests/exchange`.
#![no_main]

use hangtrue_core::sync::pairing::{Invitation, Joining};
use hangtrue_core::sync::{FirmKey, Hash, Http, HttpProblem, Hub, ObjectName, Request, Response, SegmentName, Transport};
use libfuzzer_sys::fuzz_target;
use std::io::Write;
use std::sync::LazyLock;
use uuid::Uuid;

const NOW: u64 = 1_800_000_000;

static KEY: LazyLock<FirmKey> = LazyLock::new(|| {
    let text = include_str!("../key.txt");
    text.parse().expect("a firm's key")
});

fuzz_target!(|data: &[u8]| {
    let Some((what, rest)) = data.split_first() else { return };
    match what {
        b'a' => asked(rest),
        b'd' => digits(rest),
        b'p' => polled(rest),
        digit @ b'0'..=b'9' => answered(*digit, rest),
        _ => {}
    }
});

fn invitation() -> Invitation {
    Invitation::new(vec!["192.0.2.7:7443".to_owned()], Hash::of(b"certificate"), NOW)
}

/// An ask as it lies inside the encryption. What is taken has a name that can be shown.
fn asked(plain: &[u8]) {
    let mut hub = invitation();
    let sealed = sealed_to(&hub, plain);
    if let Ok(asked) = hub.take(&sealed, NOW) {
        assert!(asked.name.chars().count() <= 60 && !asked.name.chars().any(char::is_control));
        assert!(hub.take(&sealed, NOW).is_err(), "one device an offer");
    }
    assert!(invitation().take(plain, NOW).is_err(), "nobody sealed this");
}

fn sealed_to(hub: &Invitation, plain: &[u8]) -> Vec<u8> {
    let to: age::x25519::Recipient = hub.offer().key.parse().expect("an age public key");
    let mut out = Vec::new();
    let encryptor = age::Encryptor::with_recipients(std::iter::once(&to as &dyn age::Recipient)).expect("a recipient");
    let mut writer = encryptor.wrap_output(&mut out).expect("memory takes every write");
    writer.write_all(plain).and_then(|()| writer.finish()).expect("memory takes every write");
    out
}

/// Digits that were typed: only the right ones give anything.
fn digits(typed: &[u8]) {
    let Ok(typed) = std::str::from_utf8(typed) else { return };
    let mut hub = invitation();
    let phone = Joining::new(hub.offer().clone(), Uuid::from_u128(5), "phone", NOW, [7; 32]).expect("an offer");
    hub.take(&phone.ask().body, NOW).expect("an ask");
    let right = typed.chars().filter(|c| !c.is_whitespace()).eq(phone.code().chars());
    assert_eq!(hub.confirm(typed, NOW, &KEY, "key", "Loft").is_ok(), right);
}

/// A ticket that was never given, and an answer that nobody sealed.
fn polled(bytes: &[u8]) {
    let mut hub = invitation();
    let phone = Joining::new(hub.offer().clone(), Uuid::from_u128(5), "phone", NOW, [7; 32]).expect("an offer");
    hub.take(&phone.ask().body, NOW).expect("an ask");
    hub.confirm(&phone.code(), NOW, &KEY, "key", "Loft").expect("the right digits");
    let ticket = String::from_utf8_lossy(bytes);
    if phone.poll().body != bytes {
        assert!(hub.answer(&ticket, NOW).is_err());
    }
    assert!(phone.polled(&Response { status: 200, body: bytes.to_vec() }).is_err());
}

struct Says(u16, Vec<u8>);

impl Http for Says {
    fn send(&mut self, _: &Request) -> Result<Response, HttpProblem> {
        Ok(Response { status: self.0, body: self.1.clone() })
    }
}

/// Any status with any body: an answer or a problem in words, and never a receipt for other bytes.
fn answered(digit: u8, body: &[u8]) {
    let status = [200, 201, 204, 302, 400, 401, 404, 429, 500, 507][usize::from(digit - b'0')];
    let mut hub = Hub::new(Says(status, body.to_vec()), Hash::of(b"certificate"), "key".to_owned());
    let name = SegmentName { device: Uuid::from_u128(1), first: 1, last: 2, hash: Hash::of(b"x") };
    let name = ObjectName::Segment(name);
    if let Err(problem) = hub.list("segments/") {
        assert!(!problem.to_string().is_empty());
    }
    if let Ok(bytes) = hub.get(&name) {
        assert_eq!(bytes, body);
    }
    if let Ok(hash) = hub.put(&name, b"x") {
        assert!(String::from_utf8_lossy(body).contains(&hash.to_string()));
    }
}

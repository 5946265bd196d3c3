//! Fuzzes the segment reader at each of its layers. The first byte says which: `p` the lines, `z` what zstd unpacks,
//! `a` what age opens, `f` a part of a photo, `l` a hub's list of names.
#![no_main]

use hangtrue_core::fact::{Fact, fold};
use hangtrue_core::sync::segment::{self, MOST_FACTS, Segment, SegmentProblem, Writer};
use hangtrue_core::sync::{FirmKey, Hash, PhotoPartName, SegmentName, photo, read_list};
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;
use uuid::Uuid;

/// Invented, and the same in every run, so that what is found is found again.
static KEY: LazyLock<FirmKey> = LazyLock::new(|| {
    let text = include_str!("../key.txt");
    text.parse().expect("a firm's key")
});

fuzz_target!(|data: &[u8]| {
    let Some((layer, rest)) = data.split_first() else { return };
    match layer {
        b'p' => believed(&name_for(rest), segment::read_plain(&name_for(rest), rest)),
        b'z' => opened(rest, &KEY.seal(rest)),
        b'a' => opened(rest, rest),
        b'f' => {
            let hash = Hash::of(rest);
            let _ = photo::open(&PhotoPartName { photo: hash, part: 1, parts: 1, hash }, rest, &KEY);
        }
        b'l' => {
            for prefix in ["segments/", "photos/", "again/"] {
                if let Ok(names) = read_list(rest, prefix) {
                    assert!(names.iter().all(|name| name.to_string().starts_with(prefix)));
                }
            }
        }
        _ => {}
    }
});

/// A name that agrees with what the first line says, where it says something.
fn name_for(plain: &[u8]) -> SegmentName {
    let head = plain.split(|byte| *byte == b'\n').next().unwrap_or_default();
    let head: serde_json::Value = serde_json::from_slice(head).unwrap_or_default();
    let number = |field: &str| head[field].as_u64().filter(|n| (1..=9_999_999_999).contains(n)).unwrap_or(1);
    let device = head["device"].as_str().and_then(|text| text.parse().ok()).unwrap_or(Uuid::from_u128(1));
    let first = number("first");
    SegmentName { device, first, last: number("last").max(first), hash: Hash::of(plain) }
}

fn opened(plain: &[u8], stored: &[u8]) {
    let name = SegmentName { hash: Hash::of(stored), ..name_for(plain) };
    believed(&name, segment::open(&name, stored, &KEY));
}

/// What is believed is what its name says, and can be passed on.
fn believed(name: &SegmentName, read: Result<Segment, SegmentProblem>) {
    match read {
        Ok(segment) => {
            assert_eq!(segment.facts.len() as u64, name.last - name.first + 1);
            assert!(segment.facts.len() <= MOST_FACTS);
            let mut writer = Writer::new(segment.device, segment.first);
            for fact in &segment.facts {
                assert!(writer.add(fact).expect("what was read is short enough to write"));
                let line = serde_json::to_vec(fact).expect("JSON");
                assert_eq!(&serde_json::from_slice::<Fact>(&line).expect("reads back"), fact);
            }
            assert_eq!(writer.range(), (name.first, name.last));
            // The fold takes any fact, of a known kind or not.
            let _ = fold(&segment.facts);
        }
        Err(problem) => assert!(!problem.code().is_empty() && !problem.to_string().is_empty()),
    }
}

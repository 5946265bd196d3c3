//! Fuzzes the text of a pairing code and the names of objects: what is read writes back to the same.
#![no_main]

use hangtrue_core::sync::ObjectName;
use hangtrue_core::sync::pairing::{Joining, Offer};
use libfuzzer_sys::fuzz_target;
use uuid::Uuid;

fuzz_target!(|data: &[u8]| {
    let Ok(text) = std::str::from_utf8(data) else { return };
    match text.parse::<Offer>() {
        Ok(offer) => {
            assert_eq!(offer.to_string().parse().as_ref(), Ok(&offer));
            assert!((1..=8).contains(&offer.addresses.len()));
            for address in &offer.addresses {
                // It goes into a web address as it is.
                assert!(!address.contains(['/', '@', '?', '#', ' ', '\\', '%']), "{address}");
            }
            let joining = Joining::new(offer, Uuid::from_u128(1), text, 0, [1; 32]).expect("an offer that is not late");
            assert_eq!(joining.code().len(), 6);
        }
        Err(problem) => assert!(!problem.code().is_empty() && !problem.to_string().is_empty()),
    }
    if let Ok(name) = text.parse::<ObjectName>() {
        assert_eq!(name.to_string(), text);
        assert!(!text.contains("..") && !text.starts_with('/'));
    }
});

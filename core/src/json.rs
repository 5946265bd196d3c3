//! Reading JSON strictly where serde is lenient: a name that stands twice in one object is refused, and a byte-order
//! mark before the first character is passed over.
//!
//! A derived record refuses a doubled field of its own, but a map or a free value keeps the last one in silence: of two
//! sizes under one name, one would be cut and nobody would know of the other.

use serde::Deserialize;
use serde::de::{DeserializeSeed, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use std::collections::BTreeSet;
use std::fmt::{self, Write as _};

/// A name that stands twice in one object.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("\"{key}\" stands twice here")]
pub struct DoubledKey {
    /// Where the second one is, such as `rooms[0].openings[1]`; empty for the outermost object.
    pub path: String,
    /// The name.
    pub key: String,
    /// Its line, from 1.
    pub line: usize,
}

impl DoubledKey {
    /// What would be right.
    pub fn right(&self) -> String {
        format!("keep one of the two \"{}\"", self.key)
    }
}

/// The text without a byte-order mark before it.
pub fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

/// The first name that stands twice in one object of `text`; nothing in a text that is not JSON, which the reader
/// after this one says better.
///
/// ```
/// use hangtrue_core::json::doubled_key;
/// let found = doubled_key(r#"{"readings": {"width_top": ["35"], "width_top": ["36"]}}"#).unwrap();
/// assert_eq!((found.path.as_str(), found.key.as_str(), found.line), ("readings", "width_top", 1));
/// assert_eq!(doubled_key(r#"[{"a": 1}, {"a": 2}]"#), None);
/// ```
pub fn doubled_key(text: &str) -> Option<DoubledKey> {
    let mut found = None;
    let mut path = Vec::new();
    let mut reader = serde_json::Deserializer::from_str(text);
    let stopped = Once { path: &mut path, found: &mut found }.deserialize(&mut reader);
    if let (Some(found), Err(error)) = (&mut found, stopped) {
        found.line = error.line().max(1);
    }
    found
}

/// A step from an object or array to what it holds.
enum Step {
    Key(String),
    Item(usize),
}

/// Reads any value and stops at the first doubled name.
struct Once<'a> {
    path: &'a mut Vec<Step>,
    found: &'a mut Option<DoubledKey>,
}

impl Once<'_> {
    fn place(&self) -> String {
        let mut text = String::new();
        for step in &*self.path {
            match step {
                Step::Key(key) if text.is_empty() => text.push_str(key),
                Step::Key(key) => text.extend([".", key]),
                Step::Item(at) => {
                    let _ = write!(text, "[{at}]");
                }
            }
        }
        text
    }

    fn inside(&mut self, step: Step) -> Once<'_> {
        self.path.push(step);
        Once { path: self.path, found: self.found }
    }
}

impl<'de> DeserializeSeed<'de> for Once<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Once<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_bool<E>(self, _: bool) -> Result<(), E> {
        Ok(())
    }
    fn visit_i64<E>(self, _: i64) -> Result<(), E> {
        Ok(())
    }
    fn visit_u64<E>(self, _: u64) -> Result<(), E> {
        Ok(())
    }
    fn visit_f64<E>(self, _: f64) -> Result<(), E> {
        Ok(())
    }
    fn visit_str<E>(self, _: &str) -> Result<(), E> {
        Ok(())
    }
    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(mut self, mut items: A) -> Result<(), A::Error> {
        for at in 0.. {
            let more = items.next_element_seed(self.inside(Step::Item(at)))?.is_some();
            self.path.pop();
            if !more {
                break;
            }
        }
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(mut self, mut map: A) -> Result<(), A::Error> {
        let mut seen = BTreeSet::new();
        while let Some(key) = map.next_key::<String>()? {
            if !seen.insert(key.clone()) {
                *self.found = Some(DoubledKey { path: self.place(), key, line: 1 });
                return Err(A::Error::custom("doubled"));
            }
            map.next_value_seed(self.inside(Step::Key(key)))?;
            self.path.pop();
        }
        Ok(())
    }
}

/// Deserialises a free value, refusing a name that stands twice in one object of it: for `deserialize_with`.
///
/// # Errors
/// Those of the reader, and a doubled name.
pub fn once<'de, D: Deserializer<'de>>(from: D) -> Result<serde_json::Value, D::Error> {
    Strict::deserialize(from).map(|strict| strict.0)
}

struct Strict(serde_json::Value);

impl<'de> Deserialize<'de> for Strict {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Any;
        impl<'de> Visitor<'de> for Any {
            type Value = Strict;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a JSON value")
            }
            fn visit_bool<E>(self, value: bool) -> Result<Strict, E> {
                Ok(Strict(value.into()))
            }
            fn visit_i64<E>(self, value: i64) -> Result<Strict, E> {
                Ok(Strict(value.into()))
            }
            fn visit_u64<E>(self, value: u64) -> Result<Strict, E> {
                Ok(Strict(value.into()))
            }
            fn visit_f64<E>(self, value: f64) -> Result<Strict, E> {
                Ok(Strict(value.into()))
            }
            fn visit_str<E>(self, value: &str) -> Result<Strict, E> {
                Ok(Strict(value.into()))
            }
            fn visit_string<E>(self, value: String) -> Result<Strict, E> {
                Ok(Strict(value.into()))
            }
            fn visit_unit<E>(self) -> Result<Strict, E> {
                Ok(Strict(serde_json::Value::Null))
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Strict, A::Error> {
                let mut all = Vec::new();
                while let Some(Strict(item)) = items.next_element()? {
                    all.push(item);
                }
                Ok(Strict(all.into()))
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Strict, A::Error> {
                let mut all = serde_json::Map::new();
                while let Some(key) = map.next_key::<String>()? {
                    if all.contains_key(&key) {
                        return Err(A::Error::custom(format!("\"{key}\" stands twice here; keep one of the two")));
                    }
                    let Strict(value) = map.next_value()?;
                    all.insert(key, value);
                }
                Ok(Strict(all.into()))
            }
        }
        from.deserialize_any(Any)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde_json::{Value, json};

    fn any_value() -> impl Strategy<Value = Value> {
        let leaf =
            prop_oneof![Just(Value::Null), any::<bool>().prop_map(Value::from), "[a-c]{0,3}".prop_map(Value::from)];
        leaf.prop_recursive(4, 40, 5, |inner| {
            prop_oneof![
                proptest::collection::vec(inner.clone(), 0..5).prop_map(Value::from),
                proptest::collection::btree_map("[a-d]{1,2}", inner, 0..5).prop_map(|map| json!(map)),
            ]
        })
    }

    /// Writes `value` with the key of its `nth` object entry said once more; `None` when it has fewer.
    fn doubled(value: &Value, nth: &mut isize) -> (String, bool) {
        match value {
            Value::Array(items) => {
                let (texts, hits): (Vec<_>, Vec<_>) = items.iter().map(|item| doubled(item, nth)).unzip();
                (format!("[{}]", texts.join(",")), hits.contains(&true))
            }
            Value::Object(map) => {
                let (mut texts, mut hit) = (Vec::new(), false);
                for (key, value) in map {
                    *nth -= 1;
                    let here = *nth == -1;
                    let (text, below) = doubled(value, nth);
                    texts.push(format!("{}:{text}", json!(key)));
                    if here {
                        texts.push(format!("{}:0", json!(key)));
                    }
                    hit |= here || below;
                }
                (format!("{{{}}}", texts.join(",")), hit)
            }
            other => (other.to_string(), false),
        }
    }

    proptest! {
        #[test]
        fn a_doubled_name_is_found_and_nothing_else_is(value in any_value(), mut nth in 0isize..12) {
            prop_assert_eq!(doubled_key(&value.to_string()), None);
            let mut reader = serde_json::Deserializer::from_str("{}");
            prop_assert!(once(&mut reader).is_ok());
            let (text, hit) = doubled(&value, &mut nth);
            prop_assert_eq!(doubled_key(&text).is_some(), hit, "{}", text);
            let strict = once(&mut serde_json::Deserializer::from_str(&text));
            prop_assert_eq!(strict.is_err(), hit, "{}", text);
            if !hit { prop_assert_eq!(strict.unwrap(), value); }
        }
    }

    #[test]
    fn it_says_where() {
        let found = doubled_key("{\"rooms\": [\n{\"name\": \"a\"},\n{\"name\": \"b\",\n \"name\": \"c\"}]}").unwrap();
        assert_eq!((found.path.as_str(), found.key.as_str(), found.line), ("rooms[1]", "name", 4));
        assert_eq!(doubled_key("{\"a\": 1, \"b\""), None, "what is no JSON is said by the reader itself");
    }
}

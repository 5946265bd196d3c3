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

/// A record that could not be read.
#[derive(Debug)]
pub struct Misread {
    /// Where, such as `rooms[0].openings[1]`; empty for the outermost object.
    pub path: String,
    /// What serde says of it.
    pub error: serde_json::Error,
}

/// Reads a record, and says where what cannot be read stands. The place is looked for only then, in the text: a reader that
/// keeps it beside every value would be a second one of every record, and a tenth of the phone library.
///
/// # Errors
/// What cannot be read, and where.
pub fn read<'de, T: Deserialize<'de>>(text: &'de str) -> Result<T, Misread> {
    let mut reader = serde_json::Deserializer::from_str(text);
    T::deserialize(&mut reader).map_err(|error| {
        let start: usize = text.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum();
        let before = text.get(..start + error.column()).unwrap_or(text);
        // What a record says of a value that it read to its end is told once what follows that was taken too: a comma, or the
        // bracket that ends what held it.
        let said = error.to_string();
        let ends: &[char] = if said.starts_with("invalid type") || said.starts_with("invalid length") {
            &[]
        } else if said.starts_with("missing field") {
            // An object that lacks one has been read to its own end.
            &[']', ',']
        } else {
            &['}', ']', ',']
        };
        let whole = before.trim_end();
        let before = if whole.ends_with(ends) { &whole[..whole.len() - 1] } else { before };
        Misread { path: place(&path_to(before)), error }
    })
}

/// The steps to where this beginning of a JSON text ends.
fn path_to(text: &str) -> Vec<Step> {
    let mut path: Vec<Step> = Vec::new();
    let mut bytes = text.bytes().enumerate();
    // True where the next text is a name.
    let mut names = false;
    while let Some((at, byte)) = bytes.next() {
        match byte {
            b'{' => {
                path.push(Step::Key(String::new()));
                names = true;
            }
            b'[' => path.push(Step::Item(0)),
            b'}' | b']' => {
                path.pop();
                names = false;
            }
            b',' => match path.last_mut() {
                Some(Step::Item(n)) => *n += 1,
                _ => names = true,
            },
            b'"' => {
                let mut escaped = false;
                let close = bytes.find(|(_, byte)| {
                    let is_end = *byte == b'"' && !escaped;
                    escaped = *byte == b'\\' && !escaped;
                    is_end
                });
                if names && let (Some(Step::Key(key)), Some((close, _))) = (path.last_mut(), close) {
                    *key = serde_json::from_str(text.get(at..=close).unwrap_or_default()).unwrap_or_default();
                    names = false;
                }
            }
            _ => {}
        }
    }
    // An object of which no name was read yet.
    path.retain(|step| !matches!(step, Step::Key(key) if key.is_empty()));
    path
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

/// Steps as people write them: `rooms[0].openings[1]`.
fn place(path: &[Step]) -> String {
    let mut text = String::new();
    for step in path {
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

impl Once<'_> {
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
                *self.found = Some(DoubledKey { path: place(self.path), key, line: 1 });
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
    use crate::house::Job;
    use crate::length::{LengthUnit, with_default_unit};
    use proptest::prelude::*;
    use serde_json::{Value, json};

    /// Every object and list of a value, by pointer.
    fn pointers(value: &Value, at: String, all: &mut Vec<String>) {
        match value {
            Value::Object(map) => map.iter().for_each(|(key, value)| pointers(value, format!("{at}/{key}"), all)),
            Value::Array(items) => {
                items.iter().zip(0..).for_each(|(value, n): (_, usize)| pointers(value, format!("{at}/{n}"), all));
            }
            _ => {}
        }
        all.push(at);
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

        /// Where a job file is misread is said as the library serde_path_to_error says it, and with the same words.
        #[test]
        fn what_is_misread_is_where_serde_path_to_error_finds_it(at in any::<prop::sample::Index>(), what in 0..6_usize, pretty: bool) {
            let text = include_str!("../../fixtures/houses/heron-lane.json");
            let mut value: Value = serde_json::from_str(text).unwrap();
            let mut all = Vec::new();
            pointers(&value, String::new(), &mut all);
            let place = value.pointer_mut(all[at.index(all.len())].as_str()).unwrap();
            match (what, place) {
                (0, Value::Object(map)) => { map.insert("a \\ \"stray\" one, {here}".to_owned(), json!([1, {"b": "]"}])); }
                (1, Value::Object(map)) => { let first = map.keys().next().cloned(); first.and_then(|key| map.remove(&key)); }
                (2, place) => *place = json!([]),
                (3, place) => *place = json!({"x": [1]}),
                (4, place) => *place = json!("no \"such\" thing"),
                (_, place) => *place = json!(-7.5),
            }
            let text = if pretty { serde_json::to_string_pretty(&value) } else { serde_json::to_string(&value) }.unwrap();
            let ours = with_default_unit(LengthUnit::Inch, || read::<Job>(&text)).map_err(|misread| (misread.path, misread.error.to_string()));
            let mut reader = serde_json::Deserializer::from_str(&text);
            let theirs: Result<Job, _> = with_default_unit(LengthUnit::Inch, || serde_path_to_error::deserialize(&mut reader));
            let theirs = theirs.map_err(|error| (error.path().to_string(), error.inner().to_string()));
            match (ours, theirs) {
                (Ok(_), Ok(_)) => {}
                (Err((at, ours)), Err((path, said))) => {
                    // An object or a list in place of a word is said to be wrong at what it begins with.
                    let path = if path == "." { String::new() } else { path };
                    prop_assert!(at == path || (what == 3 && at == format!("{path}.x")) || (what == 2 && at == format!("{path}[0]")), "{at} {path}");
                    prop_assert_eq!(ours, said);
                }
                (ours, theirs) => prop_assert!(false, "{:?} {:?}", ours.err(), theirs.err()),
            }
        }
    }

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

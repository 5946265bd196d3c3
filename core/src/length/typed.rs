//! A length beside the words it was written in.

use super::{Length, LengthProblem, LengthUnit, parse_signed};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use std::cell::Cell;

/// A length as somebody wrote it: their words, the unit a bare number had, and the exact value.
///
/// In JSON it is its text alone. A text that names no unit takes the unit of the file it stands in
/// ([`with_default_unit`]), and is written back there as it was; anywhere else its unit is added.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Typed {
    text: String,
    unit: LengthUnit,
    value: Length,
}

thread_local! {
    static DEFAULT_UNIT: Cell<Option<LengthUnit>> = const { Cell::new(None) };
}

/// Runs `work` (a reading or writing of JSON) with bare numbers taken in `unit`. Nested calls restore the outer unit,
/// also when `work` panics.
pub fn with_default_unit<T>(unit: LengthUnit, work: impl FnOnce() -> T) -> T {
    struct Restore(Option<LengthUnit>);
    impl Drop for Restore {
        fn drop(&mut self) {
            DEFAULT_UNIT.set(self.0);
        }
    }
    let _restore = Restore(DEFAULT_UNIT.replace(Some(unit)));
    work()
}

impl Typed {
    /// Reads `text`, a bare number taking `unit`. A sign is allowed; who keeps a place that has no sign
    /// (a width) refuses it there.
    ///
    /// # Errors
    /// As [`super::parse`].
    pub fn read(text: &str, unit: LengthUnit) -> Result<Self, LengthProblem> {
        Ok(Self { text: text.to_owned(), unit, value: parse_signed(text, unit)? })
    }

    /// A length that nobody typed (worked out, or a default), in the words of the one formatter.
    pub fn exact(value: Length, unit: LengthUnit) -> Self {
        Self { text: value.show(unit), unit, value }
    }

    /// The words, as they were written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The unit a bare number had where this was written.
    pub const fn unit(&self) -> LengthUnit {
        self.unit
    }

    /// The exact length.
    pub const fn value(&self) -> Length {
        self.value
    }

    /// The words, with the unit added where they only mean the same in a house of this unit.
    pub fn marked_text(&self) -> String {
        let others = [LengthUnit::Inch, LengthUnit::Millimetre, LengthUnit::Metre, LengthUnit::Foot];
        // Digits alone name no unit, and only nothing is the same in all: this spares most texts the four readings.
        let digits = |byte| matches!(byte, b'0'..=b'9' | b' ' | b'/' | b'.' | b',' | b'-');
        let bare = self.value != Length::ZERO && self.text.bytes().all(digits);
        if !bare && others.iter().all(|other| parse_signed(&self.text, *other).as_ref() == Ok(&self.value)) {
            self.text.clone()
        } else {
            format!("{} {}", self.text.trim_end(), self.unit.name())
        }
    }
}

impl Serialize for Typed {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        if DEFAULT_UNIT.get() == Some(self.unit) {
            to.serialize_str(&self.text)
        } else {
            to.serialize_str(&self.marked_text())
        }
    }
}

impl<'de> Deserialize<'de> for Typed {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        if let Some(unit) = DEFAULT_UNIT.get() {
            return Self::read(&text, unit).map_err(D::Error::custom);
        }
        // No unit is given: only a text that names its own can be believed.
        let inch = Self::read(&text, LengthUnit::Inch).map_err(D::Error::custom)?;
        match Self::read(&text, LengthUnit::Metre) {
            Ok(metre) if metre.value == inch.value => Ok(inch),
            _ => Err(D::Error::custom(format!("\"{text}\" names no unit; write it like {text} in or {text} mm"))),
        }
    }
}

impl Serialize for Length {
    /// As exact text with its unit in millimetres, or in inches where that is a tape's fraction.
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.show_marked(natural_unit(*self)))
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Typed::deserialize(from).map(|typed| typed.value)
    }
}

/// Inches for whole inches and for 64ths that are no whole tenth of a millimetre, else millimetres.
fn natural_unit(length: Length) -> LengthUnit {
    let whole = |step: i64| length.nm() % step == 0;
    let tape_fraction = whole(super::NM_PER_INCH / 64) && !whole(super::NM_PER_MM / 10);
    let whole_inches = whole(super::NM_PER_INCH) && !whole(super::NM_PER_MM);
    if tape_fraction || whole_inches { LengthUnit::Inch } else { LengthUnit::Millimetre }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_the_words_and_reads_the_same_anywhere() {
        let typed = Typed::read("34-3/8", LengthUnit::Inch).unwrap();
        assert_eq!(typed.text(), "34-3/8");
        let json = serde_json::to_string(&typed).unwrap();
        assert_eq!(json, "\"34-3/8 in\"");
        let back: Typed = serde_json::from_str(&json).unwrap();
        assert_eq!(back.value(), typed.value());
        let bare: Typed = with_default_unit(LengthUnit::Millimetre, || serde_json::from_str("\"873\"").unwrap());
        assert_eq!(bare.value(), Length::mm(873));
        assert_eq!(bare.marked_text(), "873 mm");
        assert!(serde_json::from_str::<Typed>("\"873\"").unwrap_err().to_string().contains("names no unit"));
    }

    #[test]
    fn a_bare_length_in_json_names_its_unit() {
        for (length, text) in [
            (Length::inches(7, 16), "\"7/16 in\""),
            (Length::mm(10), "\"10 mm\""),
            (Length::whole_inches(36), "\"36 in\""),
        ] {
            assert_eq!(serde_json::to_string(&length).unwrap(), text);
            assert_eq!(serde_json::from_str::<Length>(text).unwrap(), length);
        }
    }
}

//! The JSON form: an object, or the words alone.

use crate::{Phrase, Value};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::cell::Cell;
use std::collections::BTreeMap;

/// What a phrase looks like in JSON. Words alone are all that there is of a phrase without a code, and all that is written
/// [plainly].
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(untagged)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Form {
    /// The English words.
    Plain(String),
    /// Words, code and values.
    Coded(Coded),
}

/// A phrase that can be said in other languages.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(
    feature = "typescript",
    derive(ts_rs::TS),
    ts(rename = "CodedPhrase", optional_fields)
)]
pub struct Coded {
    /// The English words.
    text: String,
    /// The template.
    code: String,
    /// Values by the names of their places.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    #[cfg_attr(feature = "typescript", ts(optional, as = "Option<BTreeMap<String, Value>>"))]
    values: BTreeMap<String, Value>,
}

thread_local! {
    static PLAIN: Cell<bool> = const { Cell::new(false) };
}

/// Runs something that writes JSON, and every phrase in it is written as its English words: the form of documents that are
/// promised to others, such as the command line's.
pub fn plainly<T>(write: impl FnOnce() -> T) -> T {
    /// Takes the mark away again, whatever becomes of the writing.
    struct Before(bool);
    impl Drop for Before {
        fn drop(&mut self) {
            PLAIN.set(self.0);
        }
    }
    let _before = Before(PLAIN.replace(true));
    write()
}

impl Serialize for Phrase {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        Form::from(self.clone()).serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Phrase {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Form::deserialize(deserializer).map(Self::from)
    }
}

impl From<Phrase> for Form {
    fn from(phrase: Phrase) -> Self {
        match phrase.code() {
            Some(code) if !PLAIN.get() => Self::Coded(Coded {
                code: code.to_owned(),
                values: phrase
                    .values()
                    .map(|(name, value)| (name.to_owned(), value.clone()))
                    .collect(),
                text: phrase.into(),
            }),
            _ => Self::Plain(phrase.into()),
        }
    }
}

impl From<Form> for Phrase {
    fn from(form: Form) -> Self {
        match form {
            Form::Plain(text) => Self::foreign(text),
            Form::Coded(Coded { text, code, values }) => {
                Self::read(text, Some(code), values.into_iter().collect())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_code_and_values_come_back() {
        let inner = Value::Words {
            words: Phrase::listed("left"),
        };
        let values = vec![
            ("gap", Value::length(1.4217, Some(0.05), None)),
            ("corner", inner),
        ];
        let phrase = Phrase::made("{corner}: {gap}", "left: 1.42 ± 0.05 mm".into(), values);
        let json = serde_json::to_string(&phrase).unwrap();
        let back: Phrase = serde_json::from_str(&json).unwrap();
        assert_eq!(back, phrase);
        assert_eq!(back.code(), phrase.code());
        assert_eq!(serde_json::to_string(&back).unwrap(), json);
    }

    #[test]
    fn words_alone_are_read_and_written_as_words() {
        let kept: Phrase = serde_json::from_str("\"the lamp was in view\"").unwrap();
        assert_eq!(kept.code(), None);
        assert_eq!(serde_json::to_string(&kept).unwrap(), "\"the lamp was in view\"");
    }

    #[test]
    fn plain_writing_ends_with_its_scope() {
        let phrase = Phrase::listed("it is so");
        assert_eq!(
            plainly(|| serde_json::to_string(&phrase).unwrap()),
            "\"it is so\""
        );
        assert!(serde_json::to_string(&phrase).unwrap().starts_with('{'));
        let torn = std::panic::catch_unwind(|| plainly(|| panic!("in the middle")));
        assert!(torn.is_err());
        assert!(serde_json::to_string(&phrase).unwrap().starts_with('{'));
    }

    #[test]
    fn numbers_that_json_cannot_hold_are_words() {
        for value in [
            Value::length(f64::NAN, None, Some(2)),
            Value::number(f64::INFINITY, None, false),
        ] {
            assert!(matches!(value, Value::Text { .. }), "{value:?}");
        }
    }
}

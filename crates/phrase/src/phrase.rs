//! The phrase itself.

#[cfg(feature = "typescript")]
use crate::Form;
use crate::Value;
use std::borrow::{Borrow, Cow};
use std::fmt;
use std::ops::Deref;

/// A sentence or a part of one, in English, with what it takes to say it in another language.
///
/// Two phrases are equal when they read the same in English, as their words are all that older records hold.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(as = "Form"))]
pub struct Phrase(Box<Parts>);

/// Behind a pointer, so that errors which hold phrases stay small.
#[derive(Clone, Debug)]
struct Parts {
    text: String,
    code: Option<Cow<'static, str>>,
    values: Vec<(Cow<'static, str>, Value)>,
}

impl Phrase {
    fn of(parts: Parts) -> Self {
        Self(Box::new(parts))
    }

    /// A phrase from its template, its words and the values by their names: what the macros expand to.
    pub fn made(code: &'static str, text: String, values: Vec<(&'static str, Value)>) -> Self {
        let values = values.into_iter();
        Self::of(Parts {
            text,
            code: Some(Cow::Borrowed(code)),
            values: values.map(|(name, value)| (Cow::Borrowed(name), value)).collect(),
        })
    }

    /// Words that are not the program's own: a library's or an operating system's error, a person's text. They are shown as they are.
    pub fn foreign(text: impl Into<String>) -> Self {
        Self::of(Parts {
            text: text.into(),
            code: None,
            values: Vec::new(),
        })
    }

    /// Words from a table that comes with the program and that a workshop can replace; its own are shown as they are.
    pub fn listed(text: impl Into<String>) -> Self {
        let text = text.into();
        Self::of(Parts {
            code: Some(Cow::Owned(crate::template::escaped(&text))),
            text,
            values: Vec::new(),
        })
    }

    /// Phrases in a row with a sign between them that is no word, such as `; ` or a space.
    pub fn joined(phrases: impl IntoIterator<Item = Self>, sign: &str) -> Self {
        let mut phrases: Vec<Self> = phrases.into_iter().collect();
        if phrases.len() == 1 {
            return phrases.remove(0);
        }
        let places: Vec<String> = (0..phrases.len()).map(|k| format!("{{{k}}}")).collect();
        Self::of(Parts {
            text: phrases.join(sign),
            code: Some(Cow::Owned(places.join(&crate::template::escaped(sign)))),
            values: phrases
                .into_iter()
                .enumerate()
                .map(|(k, words)| (Cow::Owned(k.to_string()), Value::Words { words }))
                .collect(),
        })
    }

    /// What was read back.
    pub(crate) fn read(text: String, code: Option<String>, values: Vec<(String, Value)>) -> Self {
        let values = values.into_iter();
        Self::of(Parts {
            text,
            code: code.map(Cow::Owned),
            values: values.map(|(name, value)| (Cow::Owned(name), value)).collect(),
        })
    }

    /// The English words.
    pub fn as_str(&self) -> &str {
        &self.0.text
    }

    /// The template that names the phrase; absent when these words are all there is.
    pub fn code(&self) -> Option<&str> {
        self.0.code.as_deref()
    }

    /// The values in it by the names of their places.
    pub fn values(&self) -> impl Iterator<Item = (&str, &Value)> {
        self.0.values.iter().map(|(name, value)| (&**name, value))
    }

    /// The same to begin a sentence with: its first letter is a capital.
    #[must_use]
    pub fn capital(self) -> Self {
        self.with_first(|first| first.to_uppercase().collect())
    }

    /// The same to stand within a sentence: its first letter is a small one.
    #[must_use]
    pub fn small(self) -> Self {
        self.with_first(|first| first.to_lowercase().collect())
    }

    fn with_first(mut self, other: impl Fn(char) -> String) -> Self {
        let mut letters = self.0.text.chars();
        if let Some(first) = letters.next() {
            self.0.text = other(first) + letters.as_str();
        }
        self
    }

    /// The same as a whole sentence: with a capital and a full stop. Whoever says it in another language does so by itself.
    #[must_use]
    pub fn sentence(self) -> Self {
        self.capital().with_stop()
    }

    /// The same with a full stop. Whoever says it in another language ends it by itself.
    #[must_use]
    pub fn with_stop(mut self) -> Self {
        self.0.text.push('.');
        self
    }
}

impl Deref for Phrase {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0.text
    }
}

impl AsRef<str> for Phrase {
    fn as_ref(&self) -> &str {
        &self.0.text
    }
}

impl Borrow<str> for Phrase {
    fn borrow(&self) -> &str {
        &self.0.text
    }
}

impl fmt::Display for Phrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0.text)
    }
}

impl From<Phrase> for String {
    fn from(phrase: Phrase) -> Self {
        phrase.0.text
    }
}

impl PartialEq for Phrase {
    fn eq(&self, other: &Self) -> bool {
        self.0.text == other.0.text
    }
}

impl Eq for Phrase {}

impl PartialEq<str> for Phrase {
    fn eq(&self, other: &str) -> bool {
        self.0.text == other
    }
}

impl PartialEq<&str> for Phrase {
    fn eq(&self, other: &&str) -> bool {
        self.0.text == *other
    }
}

impl PartialEq<String> for Phrase {
    fn eq(&self, other: &String) -> bool {
        self.0.text == *other
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phrases_in_a_row_keep_their_codes() {
        let row = Phrase::joined([Phrase::listed("one"), Phrase::listed("two")], "; ");
        assert_eq!(row, "one; two");
        assert_eq!(row.code(), Some("{0}; {1}"));
        assert_eq!(Phrase::joined([Phrase::listed("one")], "; ").code(), Some("one"));
    }

    #[test]
    fn a_sentence_begins_with_a_capital_and_keeps_its_code() {
        let sentence = Phrase::listed("it is so").sentence();
        assert_eq!(sentence, "It is so.");
        assert_eq!(sentence.code(), Some("it is so"));
        assert_eq!(Phrase::foreign("Élan").small(), "élan");
    }
}

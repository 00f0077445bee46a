//! What stands in the places of a template.

use crate::Phrase;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A value in a sentence, with its kind: whoever shows it rounds, converts and writes it as it does everywhere else.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
#[cfg_attr(
    feature = "typescript",
    derive(ts_rs::TS),
    ts(rename = "PhraseValue", optional_fields)
)]
pub enum Value {
    /// A name or other words that are the same in every language.
    Text {
        /// The words.
        text: String,
    },
    /// A number without a unit, or with one that the template's words name.
    Number {
        /// The number.
        value: f64,
        /// Decimals to write; absent: all that it has.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        decimals: Option<u8>,
        /// Whether a plus sign is written.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        signed: Option<bool>,
    },
    /// A length.
    Length {
        /// In millimetres.
        mm: f64,
        /// Expanded uncertainty (95 %), mm, when it is told with the length.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        u95: Option<f64>,
        /// Decimals of millimetres to write where there is no uncertainty; absent: all that it has.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        decimals: Option<u8>,
    },
    /// A measured number that is no length.
    Measured {
        /// The number.
        value: f64,
        /// Its expanded uncertainty (95 %).
        u95: f64,
        /// Its unit, such as `deg` or `N`.
        unit: String,
    },
    /// A probability.
    Chance {
        /// From 0 to 1.
        probability: f64,
    },
    /// A torque.
    Torque {
        /// In newton metres.
        newton_metres: f64,
    },
    /// A phrase within the phrase.
    Words {
        /// It.
        words: Phrase,
    },
}

impl Value {
    /// Words that are the same in every language.
    pub fn text(text: impl fmt::Display) -> Self {
        Self::Text {
            text: text.to_string(),
        }
    }

    /// A number; one that JSON cannot hold becomes its English words.
    pub fn number(value: f64, decimals: Option<u8>, signed: bool) -> Self {
        if !value.is_finite() {
            return Self::text(value);
        }
        Self::Number {
            value,
            decimals,
            signed: signed.then_some(true),
        }
    }

    /// A length in millimetres; one that JSON cannot hold becomes its English words.
    pub fn length(mm: f64, u95: Option<f64>, decimals: Option<u8>) -> Self {
        if !(mm.is_finite() && u95.is_none_or(f64::is_finite)) {
            return Self::text(format_args!("{mm} mm"));
        }
        Self::Length { mm, u95, decimals }
    }

    /// A measured number that is no length.
    pub fn measured(value: f64, u95: f64, unit: &str) -> Self {
        if !(value.is_finite() && u95.is_finite()) {
            return Self::text(format_args!("{value} {unit}"));
        }
        Self::Measured {
            value,
            u95,
            unit: unit.to_owned(),
        }
    }
}

/// A value with its English words, for where these say more than the value's kind would: both units, or a chance in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Valued {
    /// The words.
    pub text: String,
    /// The value.
    pub value: Value,
}

impl fmt::Display for Valued {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

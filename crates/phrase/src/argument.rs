//! From what stands in a place of a template to its value.

use crate::{Phrase, Value, Valued};
use std::borrow::Cow;
use std::fmt;

/// How a template writes what stands in a place.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct How {
    /// Decimals, where it names them.
    pub decimals: Option<u8>,
    /// Whether it asks for a plus sign.
    pub signed: bool,
    /// Whether it says millimetres, so that the place is a length with its unit.
    pub millimetres: bool,
}

impl How {
    fn number(self, value: f64) -> Value {
        if self.millimetres {
            Value::length(value, None, self.decimals)
        } else {
            Value::number(value, self.decimals, self.signed)
        }
    }

    fn text(self, text: &str) -> Value {
        if self.millimetres {
            Value::text(format_args!("{text} mm"))
        } else {
            Value::text(text)
        }
    }
}

/// What has a kind of its own within a sentence.
pub trait Said {
    /// The value.
    fn said(&self, how: How) -> Value;
}

macro_rules! numbers {
    ($($kind:ty),*) => {
        $(impl Said for $kind {
            fn said(&self, how: How) -> Value {
                how.number(f64::from(*self))
            }
        })*
    };
}
numbers!(f32, f64, u8, u16, u32, i8, i16, i32);

macro_rules! wide_numbers {
    ($($kind:ty),*) => {
        $(impl Said for $kind {
            fn said(&self, how: How) -> Value {
                // Counts in sentences are far below the 2^53 that a double holds.
                how.number(*self as f64)
            }
        })*
    };
}
wide_numbers!(u64, i64, usize, isize);

impl Said for str {
    fn said(&self, how: How) -> Value {
        how.text(self)
    }
}

impl Said for String {
    fn said(&self, how: How) -> Value {
        how.text(self)
    }
}

impl Said for Cow<'_, str> {
    fn said(&self, how: How) -> Value {
        how.text(self)
    }
}

impl Said for Phrase {
    fn said(&self, _: How) -> Value {
        Value::Words { words: self.clone() }
    }
}

impl Said for Valued {
    fn said(&self, _: How) -> Value {
        self.value.clone()
    }
}

impl<T: Said + ?Sized> Said for &T {
    fn said(&self, how: How) -> Value {
        (**self).said(how)
    }
}

impl<T: Said + ?Sized> Said for Box<T> {
    fn said(&self, how: How) -> Value {
        (**self).said(how)
    }
}

/// What a macro found in a place. Which of the two traits below answers is chosen by the compiler: [`ViaSaid`] where the
/// type has a kind of its own, [`ViaDisplay`] for anything else that can be written.
#[derive(Debug)]
pub struct Argument<'a, T: ?Sized>(pub &'a T);

/// See [`Argument`].
pub trait ViaSaid {
    /// The value.
    fn value(&self, how: How) -> Value;
}

impl<T: Said + ?Sized> ViaSaid for Argument<'_, T> {
    fn value(&self, how: How) -> Value {
        self.0.said(how)
    }
}

/// See [`Argument`].
pub trait ViaDisplay {
    /// The value.
    fn value(&self, how: How) -> Value;
}

impl<T: fmt::Display + ?Sized> ViaDisplay for &Argument<'_, T> {
    fn value(&self, how: How) -> Value {
        how.text(&self.0.to_string())
    }
}

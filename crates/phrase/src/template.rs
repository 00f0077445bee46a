//! Templates: the words of a format string with names in the places of values.
//!
//! `"{photo}: the gap is {:.2} mm"` has the template `{photo}: the gap is {0}`. A place that is followed by ` mm` takes the
//! unit in, because another language may say it in inches; so does one that shares the unit with the next, as in `{} to {} mm`
//! and `{} +- {} mm`.

use crate::How;

/// A place in a format string.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Its name: as the format string has it, or its number from 0.
    pub name: String,
    /// Whether it takes the next argument that has no name.
    pub positional: bool,
    /// How it is written.
    pub how: How,
    /// Whether it is written in a way that is for programmers (`?`), or otherwise not as a plain value.
    pub debug: bool,
}

/// A format string, taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Template {
    /// The template, which is the phrase's code.
    pub code: String,
    /// Its places in order, each as often as it stands there.
    pub places: Vec<Place>,
}

/// A piece of a format string.
enum Piece {
    Words(String),
    Place(Place),
}

/// Words as a template that has no places.
pub fn escaped(words: &str) -> String {
    words.replace('{', "{{").replace('}', "}}")
}

/// The mark in a message between what is wrong and what to do.
const MARK: &str = "; ";

/// What is wrong and what to do, of a message that says both; the fields of a tuple, `{0}`, are called `{of_0}` in both.
pub fn split(message: &str) -> (String, Option<String>) {
    let named = (0..10).fold(message.to_owned(), |text, k| {
        text.replace(&format!("{{{k}}}"), &format!("{{of_{k}}}"))
            .replace(&format!("{{{k}:"), &format!("{{of_{k}:"))
    });
    match named.split_once(MARK) {
        Some((wrong, mend)) => (wrong.to_owned(), Some(mend.to_owned())),
        None => (named, None),
    }
}

/// The templates of what is wrong and what to do in a message.
///
/// # Errors
/// As [`of`].
pub fn halves(message: &str) -> Result<Vec<String>, String> {
    let (wrong, mend) = split(message);
    [Some(wrong), mend]
        .into_iter()
        .flatten()
        .map(|half| Ok(of(&half)?.code))
        .collect()
}

/// Takes a format string apart.
///
/// # Errors
/// Says what in it is not understood.
pub fn of(format: &str) -> Result<Template, String> {
    let mut pieces = pieces(format)?;
    take_units_in(&mut pieces);
    let code = pieces
        .iter()
        .map(|piece| match piece {
            Piece::Words(words) => escaped(words),
            Piece::Place(place) => format!("{{{}}}", place.name),
        })
        .collect();
    let places = pieces.into_iter().filter_map(|piece| match piece {
        Piece::Words(_) => None,
        Piece::Place(place) => Some(place),
    });
    Ok(Template {
        code,
        places: places.collect(),
    })
}

fn pieces(format: &str) -> Result<Vec<Piece>, String> {
    let mut pieces = Vec::new();
    let mut words = String::new();
    let mut positional = 0;
    let mut letters = format.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '{' | '}' if letters.next_if_eq(&letter).is_some() => words.push(letter),
            '{' => {
                let inside: String = letters.by_ref().take_while(|&letter| letter != '}').collect();
                pieces.push(Piece::Words(std::mem::take(&mut words)));
                pieces.push(Piece::Place(place(&inside, &mut positional)?));
            }
            _ => words.push(letter),
        }
    }
    pieces.push(Piece::Words(words));
    Ok(pieces)
}

fn place(inside: &str, positional: &mut usize) -> Result<Place, String> {
    let (name, spec) = inside.split_once(':').unwrap_or((inside, ""));
    let numbered = name.is_empty();
    let name = if numbered {
        *positional += 1;
        (*positional - 1).to_string()
    } else {
        name.to_owned()
    };
    let (signed, rest) = match spec.strip_prefix('+') {
        Some(rest) => (true, rest),
        None => (false, spec),
    };
    let decimals = match rest.strip_prefix('.') {
        Some(digits) => Some(
            digits
                .parse()
                .map_err(|_| format!("`{{{inside}}}` must say its decimals as a number"))?,
        ),
        None => None,
    };
    let debug = decimals.is_none() && !rest.is_empty();
    Ok(Place {
        name,
        positional: numbered,
        how: How {
            decimals,
            signed,
            millimetres: false,
        },
        debug,
    })
}

/// The unit, where it ends there.
fn after_unit(words: &str) -> Option<&str> {
    let rest = words.strip_prefix(" mm")?;
    let goes_on = rest.starts_with(|letter: char| letter.is_alphanumeric() || letter == '/' || letter == '^');
    (!goes_on).then_some(rest)
}

fn take_units_in(pieces: &mut [Piece]) {
    let mut next_is_length = false;
    for at in (0..pieces.len()).rev() {
        let [left, right] = match pieces.get_mut(at..) {
            Some([left, right, ..]) => [left, right],
            _ => continue,
        };
        let (Piece::Place(place), Piece::Words(words)) = (left, right) else {
            continue;
        };
        if place.debug {
            next_is_length = false;
            continue;
        }
        let shares =
            [" to ", " and ", " or ", " +- ", " ± ", " x "].contains(&words.as_str()) && next_is_length;
        let rest = after_unit(words).map(str::to_owned);
        place.how.millimetres = rest.is_some() || shares;
        if let Some(rest) = rest {
            *words = rest;
        }
        next_is_length = place.how.millimetres;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lengths(template: &Template) -> Vec<bool> {
        template
            .places
            .iter()
            .map(|place| place.how.millimetres)
            .collect()
    }

    #[test]
    fn a_unit_goes_into_its_place() {
        let template = of("{photo}: the gap is {:.2} mm, and {limit} mm/s is no length").unwrap();
        assert_eq!(
            template.code,
            "{photo}: the gap is {0}, and {limit} mm/s is no length"
        );
        assert_eq!(lengths(&template), [false, true, false]);
        assert_eq!(template.places[1].how.decimals, Some(2));
    }

    #[test]
    fn a_unit_that_two_share_goes_into_both() {
        for (format, code) in [
            ("{} to {} mm", "{0} to {1}"),
            ("{value:.2} +- {u95} mm.", "{value} +- {u95}."),
        ] {
            let template = of(format).unwrap();
            assert_eq!(template.code, code);
            assert_eq!(lengths(&template), [true, true]);
        }
        assert_eq!(lengths(&of("{} photos and {} mm").unwrap()), [false, true]);
    }

    #[test]
    fn brackets_and_odd_places() {
        assert_eq!(of("{{a}} is {b}").unwrap().code, "{{a}} is {b}");
        assert!(of("{a:?}").unwrap().places[0].debug);
        assert!(of("{a:+.1}").unwrap().places[0].how.signed);
        assert!(of("{a:.*}").is_err());
    }
}

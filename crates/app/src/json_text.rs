//! JSON that people write by hand: read it, and say in one sentence what is wrong with it.

use crate::bridge::Failure;
use crate::nearest::nearest;
use serde::de::DeserializeOwned;
use shimwright_record::Phrase;
use shimwright_say::say;

/// Reads JSON text; `name` is the file's name for the messages.
///
/// # Errors
/// Bad input that names the key, the line and the nearest known key.
pub(crate) fn read<T: DeserializeOwned>(name: &str, bytes: &[u8]) -> Result<T, Failure> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        Failure::bad_input(
            say!("{name} is not text: byte {} is no UTF-8", error.valid_up_to()),
            say!("name a JSON file and not a picture"),
        )
        .about(name)
    })?;
    serde_json::from_str(text).map_err(|error| explain(name, text, &error).about(name))
}

/// Reads a JSON value that was put together from words of a command line.
///
/// # Errors
/// Bad input that names the key and the nearest known one.
pub fn json_value<T: DeserializeOwned>(name: &str, value: &serde_json::Value) -> Result<T, Failure> {
    read(name, value.to_string().as_bytes())
}

fn explain(name: &str, text: &str, error: &serde_json::Error) -> Failure {
    if text.trim().is_empty() {
        return Failure::bad_input(
            say!("{name} is empty"),
            say!("write the question into it as JSON"),
        );
    }
    let said = error.to_string();
    let line = error.line();
    let quoted: Vec<&str> = said.split('`').skip(1).step_by(2).collect();
    match (said.split('`').next().unwrap_or_default(), quoted.split_first()) {
        ("unknown field ", Some((key, known))) => Failure::bad_input(
            say!("{name} has the unknown key `{key}` in line {line}"),
            mend(key, known, "key"),
        ),
        ("unknown variant ", Some((word, known))) => Failure::bad_input(
            say!("{name} says `{word}` in line {line}, which means nothing"),
            mend(word, known, "word"),
        ),
        ("missing field ", Some((key, _))) => Failure::bad_input(
            say!("{name} lacks the key `{key}` in the part that ends in line {line}"),
            say!("add `{key}` there"),
        ),
        _ if said.contains("untagged enum Height") => Failure::bad_input(
            say!("`height` in {name} cannot be read"),
            say!(
                "write {}, or one of these for each mark",
                r#"{"value": 4.2, "u95": 0.3}"#
            ),
        ),
        _ if error.is_eof() => Failure::bad_input(
            say!("{name} ends in line {line} before its last bracket is closed"),
            say!("close every bracket and quote"),
        ),
        _ => {
            let what = said.split(" at line ").next().unwrap_or(&said);
            Failure::bad_input(
                say!("{name} cannot be read: {what}"),
                say!("mend line {line}, column {}", error.column()),
            )
        }
    }
}

fn mend(word: &str, known: &[&str], what: &str) -> Phrase {
    match nearest(word, known) {
        Some(near) => say!("did you mean `{near}`?"),
        None if known.is_empty() => say!("remove the {what}"),
        None => say!("the {what}s known here are {}", known.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_record::Job;

    fn refused(text: &str) -> Failure {
        read::<Job>("job.json", text.as_bytes()).unwrap_err()
    }

    #[test]
    fn an_unknown_key_is_named_with_its_nearest_neighbour() {
        let failure = refused("{\"check\": \"gap\",\n\"photos\": [{\"file\": \"a.jpg\", \"mark\": {}}]}");
        assert_eq!(failure.message, "job.json has the unknown key `mark` in line 2");
        assert_eq!(failure.hint, "did you mean `marks`?");
        let failure = refused("{\"weather\": 1}");
        assert!(
            failure.hint.starts_with("the keys known here are check, photos"),
            "{}",
            failure.hint
        );
    }

    #[test]
    fn other_slips_are_told_with_their_place() {
        assert_eq!(
            refused("{\"check\": \"gab\", \"photos\": []}").hint,
            "did you mean `gap`?"
        );
        assert!(
            refused("{\"photos\": []}")
                .message
                .contains("lacks the key `check`")
        );
        assert!(
            refused("{\"check\": \"gap\", \"photos\": [")
                .message
                .contains("ends in line 1")
        );
        assert!(refused("").message.contains("is empty"));
        assert!(
            refused("{\"check\": \"gap\", \"photos\": 3}")
                .hint
                .contains("line 1, column")
        );
        let failure = refused("{\"check\": \"gap\", \"photos\": [], \"height\": 3}");
        assert!(failure.message.contains("`height`"), "{failure}");
        let failure = read::<Job>("a.jpg", &[0xFF, 0xD8, 0xFF]).unwrap_err();
        assert!(failure.message.contains("is not text"), "{failure}");
    }
}

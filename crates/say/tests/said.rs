//! What the macros make of format strings and of error messages.

use shimwright_phrase::{Phrase, Value};
use shimwright_say::{Halves, say};

fn value<'p>(phrase: &'p Phrase, name: &str) -> &'p Value {
    let found = phrase.values().find(|(own, _)| *own == name);
    found.map(|(_, value)| value).expect("the place has a value")
}

#[test]
fn a_sentence_keeps_its_words_its_template_and_its_values() {
    let photo = "a.jpg";
    let (gap, limit) = (1.4217, 0.5);
    let phrase = say!(
        "{photo}: {} px off, and the gap of {gap:.2} mm keeps {:.1} mm",
        1 + 2,
        limit
    );
    assert_eq!(phrase, "a.jpg: 3 px off, and the gap of 1.42 mm keeps 0.5 mm");
    assert_eq!(
        phrase.code(),
        Some("{photo}: {0} px off, and the gap of {gap} keeps {1}")
    );
    assert_eq!(*value(&phrase, "photo"), Value::text("a.jpg"));
    assert_eq!(*value(&phrase, "0"), Value::number(3.0, None, false));
    assert_eq!(*value(&phrase, "gap"), Value::length(gap, None, Some(2)));
    assert_eq!(*value(&phrase, "1"), Value::length(limit, None, Some(1)));
}

#[test]
fn a_phrase_within_a_phrase_stays_one_and_other_things_are_their_words() {
    let phrase = say!("on the {}: {error}", say!("left"), error = std::fmt::Error);
    assert_eq!(value(&phrase, "0"), &Value::Words { words: say!("left") });
    assert!(matches!(value(&phrase, "error"), Value::Text { .. }));
}

#[derive(Debug, thiserror::Error, Halves)]
enum Trouble {
    #[error("the file has {} MB and the limit is {limit}; export it as {}", bytes / 1_000_000, .kind.to_lowercase())]
    TooLarge {
        bytes: usize,
        limit: usize,
        kind: &'static str,
    },
    #[error("`{0}` is no day; write it otherwise")]
    NoDay(String),
    #[error("the work stopped")]
    Stopped,
}

#[test]
fn an_errors_message_falls_into_what_is_wrong_and_what_to_do() {
    let large = Trouble::TooLarge {
        bytes: 3_000_000,
        limit: 2,
        kind: "JPEG",
    };
    for trouble in [large, Trouble::NoDay("x".into()), Trouble::Stopped] {
        let (wrong, mend) = trouble.halves();
        let both = mend.map_or(wrong.to_string(), |mend| format!("{wrong}; {mend}"));
        assert_eq!(both, trouble.to_string());
    }
    let (wrong, mend) = Trouble::NoDay("x".into()).halves();
    assert_eq!(wrong.code(), Some("`{of_0}` is no day"));
    assert_eq!(mend.as_ref().and_then(Phrase::code), Some("write it otherwise"));
}

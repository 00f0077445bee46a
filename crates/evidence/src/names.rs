//! Names that mean the same on every system.

use shimwright_record::{CheckKind, Corner, Phrase};
use shimwright_say::say;

/// Longest path in a bundle.
pub(crate) const MOST_PATH: usize = 120;
/// Longest name made from a photo's.
const MOST_NAME: usize = 60;
/// Names that Windows keeps for devices, with any ending.
const DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];

/// The folder of a check: `checks/01-left-gap`. `place` counts from 0.
pub fn folder_name(place: usize, corner: Corner, kind: CheckKind) -> String {
    format!("checks/{:02}-{}-{}", place + 1, corner.name(), kind.name())
}

/// A file name for a photo: the last part of its own name with odd letters replaced, and numbered when it is taken.
pub fn safe_name(original: &str, taken: &[String]) -> String {
    let last = original.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last
        .chars()
        .take(MOST_NAME)
        .map(|c| {
            if c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-') {
                c
            } else {
                '_'
            }
        })
        .collect();
    let plain = plain.trim_start_matches(['.', '-']).trim_end_matches('.');
    let (stem, end) = match plain.rsplit_once('.') {
        Some((stem, end)) if !stem.is_empty() => (stem, format!(".{end}")),
        _ => (plain, String::new()),
    };
    let stem = if stem.is_empty() || is_device(stem) {
        "photo"
    } else {
        stem
    };
    let free = |name: &String| !taken.iter().any(|other| other.eq_ignore_ascii_case(name));
    let names = std::iter::once(format!("{stem}{end}")).chain((2..).map(|n| format!("{stem}-{n}{end}")));
    names.into_iter().find(free).unwrap_or_default()
}

/// What is wrong with a path in an archive; `None` for one that a bundle may hold.
pub(crate) fn trouble(path: &str) -> Option<Phrase> {
    if path.is_empty() || path.len() > MOST_PATH {
        return Some(say!("is empty or longer than {MOST_PATH} letters"));
    }
    if path.starts_with('/') || path.contains(':') {
        return Some(say!("is an absolute path"));
    }
    if path.contains('\\') {
        return Some(say!("has a backslash"));
    }
    if path.split('/').any(|part| part == ".." || part == ".") {
        return Some(say!("leads out of its folder"));
    }
    if path.ends_with('/') {
        return Some(say!("is a folder"));
    }
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-' | '/');
    if !path.chars().all(plain) {
        return Some(say!("has letters that bundles do not use"));
    }
    let odd = |part: &str| {
        part.is_empty() || part.starts_with(['.', '-']) || part.ends_with('.') || is_device(part)
    };
    path.split('/')
        .any(odd)
        .then(|| say!("has a part that some systems read as something else"))
}

fn is_device(part: &str) -> bool {
    let stem = part.split('.').next().unwrap_or_default().to_ascii_lowercase();
    let numbered = stem.len() == 4
        && (stem.starts_with("com") || stem.starts_with("lpt"))
        && stem.ends_with(|c: char| c.is_ascii_digit());
    numbered || DEVICES.contains(&stem.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn photos_get_names_that_pass() {
        let cases = [
            ("left-1.jpg", "left-1.jpg"),
            ("../../etc/passwd", "passwd"),
            ("C:\\Pictures\\my photo (2).JPG", "my_photo__2_.JPG"),
            ("räder.jpeg", "r_der.jpeg"),
            ("..", "photo"),
            (".hidden.jpg", "hidden.jpg"),
            ("con.jpg", "photo.jpg"),
            ("", "photo"),
        ];
        for (original, name) in cases {
            assert_eq!(safe_name(original, &[]), name);
            assert_eq!(trouble(name), None, "{name}");
        }
        let taken = ["a.jpg".to_owned(), "a-2.jpg".to_owned()];
        assert_eq!(safe_name("x/A.jpg", &taken), "A-3.jpg");
        assert!(safe_name(&"long".repeat(80), &[]).len() <= MOST_NAME);
    }

    #[test]
    fn tricks_are_named() {
        for path in [
            "",
            "/etc/passwd",
            "a/../b",
            "..",
            "./a",
            "a\\b",
            "C:a",
            "a//b",
            "a/",
            ".ssh/key",
            "-rf",
            "nul.txt",
            "a/COM1",
            "ä",
            "a\nb",
            "a.",
        ] {
            assert!(trouble(path).is_some(), "{path:?}");
        }
        assert!(trouble(&"a".repeat(121)).is_some());
        let folder = folder_name(0, Corner::Left, CheckKind::Gap);
        assert_eq!((folder.as_str(), trouble(&folder)), ("checks/01-left-gap", None));
    }
}

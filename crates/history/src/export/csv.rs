//! Fields of comma-separated values (RFC 4180), written so that spreadsheets take text for text, and read back.

/// Signs with which spreadsheets begin a formula (OWASP, "CSV injection"), their wide forms, and the sign that guards
/// against them, which must be told from a text's own.
const GUARDED: [char; 12] = [
    '=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}', GUARD,
];
/// Stands before a text that begins with one of these.
const GUARD: char = '\'';

/// A text that no spreadsheet takes for a formula.
fn guarded(text: String) -> String {
    if text.starts_with(GUARDED) {
        format!("{GUARD}{text}")
    } else {
        text
    }
}

/// The text that [`guarded`] was given.
pub(super) fn unguarded(text: &str) -> &str {
    match text.strip_prefix(GUARD) {
        Some(bare) if bare.starts_with(GUARDED) => bare,
        _ => text,
    }
}

/// A JSON text as a field: a string without its quotes and guarded, empty for null, all else as it is; quoted where
/// RFC 4180 asks.
pub(super) fn field(json: &str) -> String {
    let text = match json {
        "null" => String::new(),
        _ if json.starts_with('"') => serde_json::from_str(json).map_or_else(|_| json.to_owned(), guarded),
        _ => json.to_owned(),
    };
    if text.contains(['"', ',', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

/// The lines of a file as their fields.
///
/// # Errors
/// What is wrong, with the number of the line among those of the table, the headings being line 1.
pub(super) fn lines(text: &str) -> Result<Vec<Vec<String>>, String> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut lines = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let number = lines.len() + 1;
        let (line, behind) =
            line(rest).ok_or_else(|| format!("line {number}: a quote is open or out of place"))?;
        lines.push(line);
        rest = behind;
    }
    Ok(lines)
}

/// The fields of the first line, and what stands behind it.
fn line(text: &str) -> Option<(Vec<String>, &str)> {
    let mut fields = Vec::new();
    let mut rest = text;
    loop {
        let (field, behind) = match rest.strip_prefix('"') {
            Some(quoted) => quoted_field(quoted)?,
            None => {
                let end = rest.find([',', '\r', '\n']).unwrap_or(rest.len());
                (rest[..end].to_owned(), &rest[end..])
            }
        };
        fields.push(field);
        if let Some(behind) = behind.strip_prefix(',') {
            rest = behind;
            continue;
        }
        // Spreadsheets on some systems end lines with a line feed alone.
        let end = ["\r\n", "\n", "\r"]
            .into_iter()
            .find_map(|end| behind.strip_prefix(end));
        return match end {
            Some(behind) => Some((fields, behind)),
            None => behind.is_empty().then_some((fields, behind)),
        };
    }
}

/// A field behind its opening quote, and what stands behind its closing one.
fn quoted_field(text: &str) -> Option<(String, &str)> {
    let mut field = String::new();
    let mut rest = text;
    loop {
        let (part, behind) = rest.split_once('"')?;
        field.push_str(part);
        match behind.strip_prefix('"') {
            Some(behind) => {
                field.push('"');
                rest = behind;
            }
            None => return Some((field, behind)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_quoted_where_they_must_be() {
        assert_eq!(field("null"), "");
        assert_eq!(field("1.5"), "1.5");
        assert_eq!(field("\"7/16 in\""), "7/16 in");
        assert_eq!(field("\"a, \\\"b\\\"\\nc\""), "\"a, \"\"b\"\"\nc\"");
        assert_eq!(field("{\"a\":1,\"b\":2}"), "\"{\"\"a\"\":1,\"\"b\"\":2}\"");
    }

    #[test]
    fn no_text_begins_as_a_formula_and_each_comes_back() {
        for text in [
            "=HYPERLINK(\"http://x\")",
            "+1",
            "-2+3",
            "@SUM(A1)",
            "\t=1",
            "\r=1",
            "\n=1",
            "\u{ff1d}1",
            "'quoted'",
            "'=1",
            "''",
            "'",
            "it's",
            "a=b",
            "",
            "a,\"b\"\r\nc",
        ] {
            let written = field(&serde_json::to_string(text).unwrap());
            let [line] = &lines(&(written.clone() + "\r\n")).unwrap()[..] else {
                panic!("{written:?} is not one line");
            };
            assert_eq!(unguarded(&line[0]), text, "{written:?}");
            let shown = written.trim_start_matches('"');
            assert!(
                !shown.starts_with(['=', '+', '-', '@', '\t', '\r', '\u{ff1d}']),
                "{written:?}"
            );
        }
        // A number below zero is a number.
        assert_eq!(field("-1.5"), "-1.5");
    }

    #[test]
    fn lines_end_in_any_way_and_open_quotes_are_told() {
        let wanted = [vec!["a", "b,\"c"], vec!["", "d"]];
        for end in ["\r\n", "\n", "\r"] {
            let text = format!("\u{feff}a,\"b,\"\"c\"{end},d");
            assert_eq!(lines(&text).unwrap(), wanted);
        }
        assert!(lines("a\r\nb,\"c").unwrap_err().starts_with("line 2"));
        assert!(lines("\"a\"b").unwrap_err().starts_with("line 1"));
    }
}

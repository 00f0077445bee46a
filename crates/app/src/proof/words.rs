//! Dates and names in words.

use crate::bridge::Failure;
use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, Timelike};
use shimwright_record::{CheckKind, Corner};
use shimwright_report::Moment;
use shimwright_say::say;

/// `8 March 2026` from `2026-03-08`; the text itself when it is no day.
pub(crate) fn day(text: &str) -> String {
    NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .map_or_else(|_| text.to_owned(), |day| day.format("%-d %B %Y").to_string())
}

/// `8 March 2026, 10:00 (UTC+05:30)` from its RFC 3339 text; the text itself when it is none.
pub(crate) fn moment(text: &str) -> String {
    DateTime::parse_from_rfc3339(text).map_or_else(
        |_| text.to_owned(),
        |at| at.format("%-d %B %Y, %H:%M (UTC%:z)").to_string(),
    )
}

/// `8 Mar 2026` from an RFC 3339 text.
pub(crate) fn short_day(text: &str) -> String {
    DateTime::parse_from_rfc3339(text)
        .map_or_else(|_| text.to_owned(), |at| at.format("%-d %b %Y").to_string())
}

/// A stored moment.
///
/// # Errors
/// Bad input for a text that is none: a record must not tell another moment in its stead.
pub(crate) fn stored_moment(what: &str, text: &str) -> Result<DateTime<FixedOffset>, Failure> {
    let read = DateTime::parse_from_rfc3339(text).map_err(|error| error.to_string());
    let read = match read {
        Ok(at) if u16::try_from(at.year()).is_err() => Err("its year has not four digits".to_owned()),
        read => read,
    };
    read.map_err(|why| {
        Failure::bad_input(
            say!("the stored moment of {what}, {text:?}, cannot be read ({why})"),
            say!("restore the history from a backup"),
        )
        .about(what)
    })
}

/// Days since 1970, with their parts.
pub(crate) fn days(at: &DateTime<FixedOffset>) -> f64 {
    at.timestamp() as f64 / 86_400.0
}

/// The clock's face. [`stored_moment`] gives no year that does not fit.
pub(crate) fn clock(at: &DateTime<FixedOffset>) -> Moment {
    Moment {
        year: at.year().clamp(0, i32::from(u16::MAX)) as u16,
        month: at.month() as u8,
        day: at.day() as u8,
        hour: at.hour() as u8,
        minute: at.minute() as u8,
        second: at.second() as u8,
        offset_minutes: at.offset().local_minus_utc() / 60,
    }
}

/// `Left gap`.
pub(crate) fn check(corner: Corner, kind: CheckKind) -> String {
    let corner = match corner {
        Corner::Left => "Left",
        Corner::Right => "Right",
    };
    format!("{corner} {}", kind.name())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_told_with_their_zone() {
        assert_eq!(
            moment("2026-03-08T10:00:00+05:30"),
            "8 March 2026, 10:00 (UTC+05:30)"
        );
        assert_eq!(
            (day("2026-03-08"), day("soon")),
            ("8 March 2026".into(), "soon".into())
        );
        assert_eq!(short_day("2026-12-24T23:59:59-08:00"), "24 Dec 2026");
        let second = stored_moment("a check", "1970-01-02T12:00:00+00:00").unwrap();
        assert_eq!(days(&second), 1.5);
        for wrong in ["soon", "", "2026-03-08", "2026-13-08T10:00:00+00:00"] {
            let refused = stored_moment("a check", wrong).unwrap_err();
            assert!(refused.message.contains("a check"), "{refused}");
        }
        let at = DateTime::parse_from_rfc3339("2026-03-08T10:00:07-03:30").unwrap();
        assert_eq!((clock(&at).second, clock(&at).offset_minutes), (7, -210));
    }
}

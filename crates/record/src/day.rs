//! A day of the calendar, without clock or time zone.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use std::fmt;
use std::str::FromStr;

/// A day of the Gregorian calendar. In files `2026-11-25`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[cfg_attr(feature = "typescript", ts(type = "string"))]
pub struct Day {
    since_1970: i64,
}

/// Why a text is no day.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no day: write it as year-month-day, such as 2026-11-25")]
pub struct NoDay(String);

/// Days in 400 years of the calendar.
const DAYS_IN_ERA: i64 = 146_097;
/// From 1 March of year 0 to 1 January 1970.
const TO_1970: i64 = 719_468;
/// Years that a board can see.
const YEARS: std::ops::RangeInclusive<i64> = 1900..=2999;

impl Day {
    /// A day by year, month (1 to 12) and day of the month; none when there is no such day, or it is not between the
    /// years 1900 and 2999.
    pub fn new(year: i64, month: u32, day: u32) -> Option<Self> {
        if !YEARS.contains(&year) || !(1..=12).contains(&month) || day < 1 {
            return None;
        }
        // Counted from March, so that the leap day is the last of the year: months then have
        // (153 m + 2) / 5 days before them.
        let (year_from_march, month_from_march) = if month > 2 {
            (year, i64::from(month) - 3)
        } else {
            (year - 1, i64::from(month) + 9)
        };
        let (era, year_of_era) = (year_from_march / 400, year_from_march % 400);
        let day_of_year = (153 * month_from_march + 2) / 5 + i64::from(day) - 1;
        let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
        let made = Self {
            since_1970: era * DAYS_IN_ERA + day_of_era - TO_1970,
        };
        // A day too many in its month comes out as another one.
        (made.parts() == (year, month, day)).then_some(made)
    }

    /// Year, month and day of the month.
    pub fn parts(self) -> (i64, u32, u32) {
        let days = self.since_1970 + TO_1970;
        let (era, day_of_era) = (days.div_euclid(DAYS_IN_ERA), days.rem_euclid(DAYS_IN_ERA));
        let year_of_era =
            (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let month_from_march = (5 * day_of_year + 2) / 153;
        let day = day_of_year - (153 * month_from_march + 2) / 5 + 1;
        let month = if month_from_march < 10 {
            month_from_march + 3
        } else {
            month_from_march - 9
        };
        let year = year_of_era + era * 400 + i64::from(month <= 2);
        // A month and a day of it are small and positive.
        (year, month as u32, day as u32)
    }

    /// The day so many days later (earlier when negative).
    #[must_use]
    pub fn plus(self, days: i64) -> Self {
        Self {
            since_1970: self.since_1970 + days,
        }
    }

    /// Days from another day to this one.
    pub fn since(self, other: Self) -> i64 {
        self.since_1970 - other.since_1970
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.parts();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

impl FromStr for Day {
    type Err = NoDay;

    fn from_str(text: &str) -> Result<Self, NoDay> {
        let no_day = || NoDay(text.to_owned());
        let parts: Vec<&str> = text.trim().split('-').collect();
        let [year, month, day] = parts.as_slice() else {
            return Err(no_day());
        };
        let number = |part: &str| part.parse::<u32>().map_err(|_| no_day());
        Self::new(i64::from(number(year)?), number(month)?, number(day)?).ok_or_else(no_day)
    }
}

impl Serialize for Day {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(D::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    /// Days since 1970-01-01 as POSIX time counts them: 1,000,000,000 s is 2001-09-09 and 2,147,483,647 s is 2038-01-19.
    #[test]
    fn days_are_counted_as_posix_time_counts_them() {
        let start = day("1970-01-01");
        assert_eq!(day("2001-09-09").since(start), 1_000_000_000 / 86_400);
        assert_eq!(day("2038-01-19").since(start), 2_147_483_647 / 86_400);
        assert_eq!(day("1969-12-31").since(start), -1);
    }

    #[test]
    fn every_day_has_one_successor_and_reads_back() {
        let mut one = day("1999-12-25");
        for _ in 0..40_000 {
            let next = one.plus(1);
            assert_eq!(day(&one.to_string()), one);
            let ((y, m, d), (ny, nm, nd)) = (one.parts(), next.parts());
            let same_month = (ny, nm, nd) == (y, m, d + 1);
            let next_month = nd == 1 && ((ny, nm) == (y, m + 1) || (ny, nm, m) == (y + 1, 1, 12));
            assert!(same_month || next_month, "{one} then {next}");
            one = next;
        }
    }

    #[test]
    fn leap_days_follow_the_rule_of_400_years() {
        for (text, there) in [
            ("2000-02-29", true),
            ("1900-02-29", false),
            ("2024-02-29", true),
            ("2026-02-29", false),
            ("2026-02-30", false),
            ("2026-13-01", false),
            ("2026-00-10", false),
            ("2026-04-31", false),
            ("26-04-01", false),
            ("2026/04/01", false),
            ("tomorrow", false),
        ] {
            assert_eq!(text.parse::<Day>().is_ok(), there, "{text}");
        }
    }
}

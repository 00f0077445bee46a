//! When a check is due.

use shimwright_record::{Due, DueState, ServiceCheck, ServiceDone, Today};

/// The last part of an interval in which a check is due soon.
const SOON: f64 = 0.1;

/// When a check is due, from when it was last done and from today: at whichever comes first, its days or its kilometres.
///
/// A distance counts when the odometer was written down then and is known today. An odometer that went backwards (another
/// one was fitted) counts as overdue, because nobody knows how far it was.
pub fn due(check: &ServiceCheck, last: Option<&ServiceDone>, today: Today) -> Due {
    let interval_days = check.every_days.map(i64::from);
    let nothing_left = |state| Due {
        state,
        day: None,
        days_left: None,
        odometer_km: None,
        km_left: None,
    };
    if interval_days.is_none() && check.every_km.is_none() {
        return nothing_left(DueState::OnOccasion);
    }
    let Some(last) = last else {
        return nothing_left(DueState::NeverDone);
    };
    let day = interval_days.map(|days| last.day.plus(days));
    let days_left = day.map(|day| day.since(today.day));
    let odometer_km = check
        .every_km
        .zip(last.odometer_km)
        .map(|(every, then)| then + every);
    let km_left = odometer_km.zip(today.odometer_km).map(|(due, now)| due - now);
    let went_back = last
        .odometer_km
        .zip(today.odometer_km)
        .is_some_and(|(then, now)| now < then);
    let parts = [
        days_left
            .zip(interval_days)
            .map(|(left, every)| (left as f64, every as f64)),
        km_left.zip(check.every_km),
    ];
    let is = |test: fn(f64, f64) -> bool| parts.iter().flatten().any(|&(left, every)| test(left, every));
    let state = if went_back && check.every_km.is_some() || is(|left, _| left <= 0.0) {
        DueState::Due
    } else if is(|left, every| left <= SOON * every) {
        DueState::Soon
    } else {
        DueState::Later
    };
    Due {
        state,
        day,
        days_left,
        odometer_km,
        km_left,
    }
}

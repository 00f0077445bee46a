//! Service checks that need no camera: which there are, when they are due, and their words.
//!
//! The checks are data that a maker can replace; [`due`] says when one is due, from what was done and from today, which the
//! caller knows. No clock is asked here.

mod book;
mod due;

pub use book::check_service_book;
pub use due::due;

use crate::Error;
use crate::torque_table::torque_entry;
use crate::wording::{and, torque};
use shimwright_record::{
    Cautions, DriveDescription, Due, DueState, Guidance, ServiceAdvice, ServiceBook, ServiceCheck,
    ServiceDone, ServiceItem, Today, TorqueSource, TorqueTable,
};

/// Everything that service advice is made from.
#[derive(Clone, Copy, Debug)]
pub struct ServiceQuestion<'a> {
    /// The checks.
    pub book: &'a ServiceBook,
    /// The torques that they name.
    pub torques: &'a TorqueTable,
    /// The board's drive, if it was described.
    pub description: Option<&'a DriveDescription>,
    /// What was done on this board, in any order.
    pub done: &'a [ServiceDone],
    /// Today.
    pub today: Today,
}

/// All checks with their due dates, most pressing first.
///
/// # Errors
/// [`Error::BadData`] for a book or table that does not hold together.
pub fn service_advice(question: &ServiceQuestion) -> Result<ServiceAdvice, Error> {
    check_service_book(question.book, question.torques)?;
    let mut items: Vec<ServiceItem> = question
        .book
        .checks
        .iter()
        .map(|check| item(check, question))
        .collect();
    // Stable: checks that press alike stay in the book's order.
    items.sort_by_key(|item| item.due.state);
    Ok(ServiceAdvice {
        guidance: Guidance::new(headline(&items), cautions()).basis([
            question.book.about.clone(),
            "Due at whichever comes first, the days or the kilometres; a distance counts only where the odometer was written \
             down, then and now."
                .to_owned(),
        ]),
        items,
    })
}

fn item(check: &ServiceCheck, question: &ServiceQuestion) -> ServiceItem {
    let last = question
        .done
        .iter()
        .filter(|done| done.check == check.id)
        // The last of equal days is the one with the higher odometer.
        .max_by(|a, b| {
            let km = |done: &ServiceDone| done.odometer_km.unwrap_or(f64::NEG_INFINITY);
            a.day.cmp(&b.day).then(km(a).total_cmp(&km(b)))
        });
    let due = due(check, last, question.today);
    ServiceItem {
        id: check.id.clone(),
        title: check.title.clone(),
        guidance: words(check, &due, question),
        last: last.cloned(),
        due,
    }
}

fn cautions() -> Cautions {
    Cautions::for_drive_work()
        .and("Wear eye protection when you feel for play, loosen stuck screws, heat or cut anything.")
}

fn words(check: &ServiceCheck, due: &Due, question: &ServiceQuestion) -> Guidance {
    let all = check
        .cautions
        .iter()
        .fold(cautions(), |all, one| all.and(one.as_str()));
    let entry = check
        .torque_class
        .as_deref()
        .and_then(|class| torque_entry(question.torques, question.description, class));
    let how_tight = entry.and_then(|entry| {
        let whose = match entry.source {
            TorqueSource::Maker => "the board maker's",
            TorqueSource::CommonPractice | TorqueSource::Computed => "your board maker's value goes first",
        };
        entry.torque.map(|value| {
            format!(
                "{}: {} ({}; {whose}).",
                check.how_tight,
                torque(value),
                entry.cited
            )
        })
    });
    let how_tight = how_tight.unwrap_or_else(|| format!("{}.", check.how_tight));
    Guidance::new(format!("{}: {}", check.title, due_in_words(due)), all)
        .steps(check.how.iter().cloned())
        .notes([
            check.what.clone(),
            check.why.clone(),
            format!("How tight: {how_tight}"),
            format!("Interval: {}.", interval(check)),
        ])
        .basis([format!("Source: {}.", check.source)])
}

/// `every 200 km or 90 days, whichever comes first, and after every fall`.
fn interval(check: &ServiceCheck) -> String {
    let km = check.every_km.map(|km| format!("{km} km"));
    let days = check.every_days.map(|days| format!("{days} days"));
    match (km, days) {
        (Some(km), Some(days)) => format!("every {km} or {days}, whichever comes first, and {}", check.also),
        (Some(one), None) | (None, Some(one)) => format!("every {one}, and {}", check.also),
        (None, None) => check.also.clone(),
    }
}

fn due_in_words(due: &Due) -> String {
    let days = due.days_left.map(|days| left(days as f64, "days"));
    let km = due.km_left.map(|km| left(km, "km"));
    let when: Vec<String> = [days, km].into_iter().flatten().collect();
    match due.state {
        DueState::Due => format!("due now ({}).", and(&when)),
        DueState::NeverDone => "due now: nobody wrote down that it was ever done.".to_owned(),
        DueState::Soon => format!("due soon ({}).", and(&when)),
        DueState::Later if when.is_empty() => "not due yet.".to_owned(),
        DueState::Later => format!("not due yet ({}).", and(&when)),
        DueState::OnOccasion => "due when its occasion comes.".to_owned(),
    }
}

fn left(amount: f64, unit: &str) -> String {
    if amount < 0.0 {
        format!("{:.0} {unit} overdue", -amount)
    } else {
        format!("{amount:.0} {unit} left")
    }
}

fn headline(items: &[ServiceItem]) -> String {
    let titled = |state: DueState| -> Vec<String> {
        items
            .iter()
            .filter(|item| item.due.state == state)
            .map(|item| item.title.to_lowercase())
            .collect()
    };
    let (due, never) = (titled(DueState::Due), titled(DueState::NeverDone));
    let mut parts = Vec::new();
    if !due.is_empty() {
        parts.push(format!("Due now: {}.", and(&due)));
    }
    if !never.is_empty() {
        parts.push(format!("Never written down as done: {}.", and(&never)));
    }
    if parts.is_empty() {
        return "Nothing is due today.".to_owned();
    }
    parts.join(" ")
}

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
    Cautions, DriveDescription, Due, DueState, Guidance, Phrase, ServiceAdvice, ServiceBook, ServiceCheck,
    ServiceDone, ServiceItem, Today, TorqueSource, TorqueTable,
};
use shimwright_say::say;

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
            Phrase::listed(&question.book.about),
            say!("Due at whichever comes first, the days or the kilometres; a distance counts only where the odometer was written \
             down, then and now."),
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
    Cautions::for_drive_work().and(say!(
        "Wear eye protection when you feel for play, loosen stuck screws, heat or cut anything."
    ))
}

fn words(check: &ServiceCheck, due: &Due, question: &ServiceQuestion) -> Guidance {
    let all = check
        .cautions
        .iter()
        .fold(cautions(), |all, one| all.and(Phrase::listed(one)));
    let entry = check
        .torque_class
        .as_deref()
        .and_then(|class| torque_entry(question.torques, question.description, class));
    let how_tight = entry.and_then(|entry| {
        let whose = match entry.source {
            TorqueSource::Maker => say!("the board maker's"),
            TorqueSource::CommonPractice | TorqueSource::Computed => {
                say!("your board maker's value goes first")
            }
        };
        entry.torque.map(|value| {
            say!(
                "{}: {} ({}; {whose}).",
                listed(&check.how_tight),
                torque(value),
                listed(&entry.cited)
            )
        })
    });
    let how_tight = how_tight.unwrap_or_else(|| listed(&check.how_tight).sentence());
    Guidance::new(say!("{}: {}", listed(&check.title), due_in_words(due)), all)
        .steps(check.how.iter().map(listed))
        .notes([
            listed(&check.what),
            listed(&check.why),
            say!("How tight: {how_tight}"),
            say!("Interval: {}.", interval(check)),
        ])
        .basis([say!("Source: {}.", listed(&check.source))])
}

/// `every 200 km or 90 days, whichever comes first, and after every fall`.
fn interval(check: &ServiceCheck) -> Phrase {
    let km = check.every_km.map(|km| say!("{km} km"));
    let days = check.every_days.map(|days| say!("{days} days"));
    match (km, days) {
        (Some(km), Some(days)) => say!(
            "every {km} or {days}, whichever comes first, and {}",
            listed(&check.also)
        ),
        (Some(one), None) | (None, Some(one)) => say!("every {one}, and {}", listed(&check.also)),
        (None, None) => listed(&check.also),
    }
}

fn due_in_words(due: &Due) -> Phrase {
    let days = due.days_left.map(|days| days_left(days as f64));
    let km = due.km_left.map(km_left);
    let when: Vec<Phrase> = [days, km].into_iter().flatten().collect();
    match due.state {
        DueState::Due => say!("due now ({}).", and(&when)),
        DueState::NeverDone => say!("due now: nobody wrote down that it was ever done."),
        DueState::Soon => say!("due soon ({}).", and(&when)),
        DueState::Later if when.is_empty() => say!("not due yet."),
        DueState::Later => say!("not due yet ({}).", and(&when)),
        DueState::OnOccasion => say!("due when its occasion comes."),
    }
}

fn days_left(days: f64) -> Phrase {
    if days < 0.0 {
        say!("{:.0} days overdue", -days)
    } else {
        say!("{days:.0} days left")
    }
}

fn km_left(km: f64) -> Phrase {
    if km < 0.0 {
        say!("{:.0} km overdue", -km)
    } else {
        say!("{km:.0} km left")
    }
}

/// Words of the book or of the torque table.
fn listed(words: &String) -> Phrase {
    Phrase::listed(words)
}

fn headline(items: &[ServiceItem]) -> Phrase {
    let titled = |state: DueState| -> Vec<Phrase> {
        items
            .iter()
            .filter(|item| item.due.state == state)
            .map(|item| Phrase::listed(&item.title).small())
            .collect()
    };
    let (due, never) = (titled(DueState::Due), titled(DueState::NeverDone));
    let mut parts = Vec::new();
    if !due.is_empty() {
        parts.push(say!("Due now: {}.", and(&due)));
    }
    if !never.is_empty() {
        parts.push(say!("Never written down as done: {}.", and(&never)));
    }
    if parts.is_empty() {
        return say!("Nothing is due today.");
    }
    Phrase::joined(parts, " ")
}

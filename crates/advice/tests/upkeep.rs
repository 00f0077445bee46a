//! Service checks: the book that comes with the project, and due dates by pencil and paper.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod tables;

use shimwright_advice::{ServiceQuestion, check_service_book, due, service_advice};
use shimwright_record::{
    Day, DriveDescription, DueState, OwnTorque, ServiceAdvice, ServiceBook, ServiceCheck, ServiceDone, Today,
};
use tables::{service, torques};

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn today(text: &str, odometer_km: Option<f64>) -> Today {
    Today {
        day: day(text),
        odometer_km,
    }
}

fn done(check: &str, on: &str, odometer_km: Option<f64>) -> ServiceDone {
    ServiceDone {
        check: check.into(),
        day: day(on),
        odometer_km,
        note: String::new(),
    }
}

fn belt() -> ServiceCheck {
    let book = service();
    book.checks.into_iter().find(|check| check.id == "belt").unwrap()
}

/// Every 200 km or 60 days. 60 days after 2026-01-31 is 2026-04-01: 28 in February, 31 in March, 1 in April.
#[test]
fn due_dates_by_hand() {
    let last = done("belt", "2026-01-31", Some(1000.0));
    let on = |text, odometer| due(&belt(), Some(&last), today(text, odometer));
    let fresh = on("2026-02-01", Some(1010.0));
    assert_eq!(fresh.state, DueState::Later);
    assert_eq!((fresh.day, fresh.days_left), (Some(day("2026-04-01")), Some(59)));
    assert_eq!((fresh.odometer_km, fresh.km_left), (Some(1200.0), Some(190.0)));
    for (text, odometer, state) in [
        ("2026-03-25", Some(1010.0), DueState::Later),
        ("2026-03-26", Some(1010.0), DueState::Soon),
        ("2026-03-31", Some(1010.0), DueState::Soon),
        ("2026-04-01", Some(1010.0), DueState::Due),
        ("2026-02-01", Some(1179.0), DueState::Later),
        ("2026-02-01", Some(1180.0), DueState::Soon),
        ("2026-02-01", Some(1200.0), DueState::Due),
        ("2026-02-01", Some(1500.0), DueState::Due),
        // Nobody looked: days alone.
        ("2026-02-01", None, DueState::Later),
        // Another odometer was fitted.
        ("2026-02-01", Some(3.0), DueState::Due),
    ] {
        assert_eq!(on(text, odometer).state, state, "{text} {odometer:?}");
    }
    assert_eq!(
        due(&belt(), None, today("2026-02-01", None)).state,
        DueState::NeverDone
    );
    let occasion = ServiceCheck {
        every_km: None,
        every_days: None,
        ..belt()
    };
    assert_eq!(
        due(&occasion, Some(&last), today("2029-02-01", None)).state,
        DueState::OnOccasion
    );
}

fn ask(book: &ServiceBook, done: &[ServiceDone], description: Option<&DriveDescription>) -> ServiceAdvice {
    service_advice(&ServiceQuestion {
        book,
        torques: &torques(),
        description,
        done,
        today: today("2026-06-01", Some(700.0)),
    })
    .unwrap()
}

fn item_text(advice: &ServiceAdvice, id: &str) -> String {
    let item = advice.items.iter().find(|item| item.id == id).unwrap();
    let sections = item.guidance.sections();
    let lines: Vec<&str> = sections
        .iter()
        .flat_map(|section| section.lines.iter().map(|line| line.as_str()))
        .collect();
    lines.join("\n")
}

#[test]
fn what_presses_most_comes_first_and_the_newest_entry_counts() {
    let entries = [
        done("belt", "2025-01-01", Some(100.0)),
        done("belt", "2026-05-31", Some(690.0)),
        done("axle-nut", "2026-01-01", Some(100.0)),
        done("motor-screws", "2026-04-07", Some(690.0)),
    ];
    let advice = ask(&service(), &entries, None);
    let states: Vec<DueState> = advice.items.iter().map(|item| item.due.state).collect();
    assert!(states.is_sorted(), "{states:?}");
    assert_eq!(advice.items[0].id, "axle-nut");
    let state = |id: &str| advice.items.iter().find(|item| item.id == id).unwrap().due.state;
    assert_eq!(state("belt"), DueState::Later);
    // 60 days from 7 April are 6 June: five days left, within the last tenth.
    assert_eq!(state("motor-screws"), DueState::Soon);
    assert_eq!(state("wheel-refit"), DueState::OnOccasion);
    assert!(item_text(&advice, "axle-nut").contains("91 days overdue and 400 km overdue"));
    assert!(advice.guidance.sections()[0].lines[0].starts_with("Due now: axle nuts and bearing play."));
}

/// Common practice, no source: pivot nut 4.6 N m, small body screws 0.8 N m, axle nuts only until play is gone.
#[test]
fn torques_come_from_the_table_and_a_makers_value_goes_first() {
    let advice = ask(&service(), &[], None);
    assert!(item_text(&advice, "pivot-nut").contains("4.6 N m (40.7 in lb)"));
    assert!(item_text(&advice, "body-screws").contains("0.8 N m (7.1 in lb)"));
    assert!(item_text(&advice, "axle-nut").contains("no torque says when"));
    let description = DriveDescription {
        torques: vec![OwnTorque {
            class: "pivot-nut".into(),
            torque: 6.0,
            source: "maker's manual".into(),
        }],
        ..DriveDescription::default()
    };
    let advice = ask(&service(), &[], Some(&description));
    let text = item_text(&advice, "pivot-nut");
    assert!(
        text.contains("6 N m (53.1 in lb) (maker's manual; the board maker's)"),
        "{text}"
    );
}

#[test]
fn every_check_says_what_why_how_how_tight_and_its_cautions() {
    let book = service();
    for wanted in [
        "axle-nut",
        "body-screws",
        "pivot-nut",
        "belt",
        "motor-screws",
        "never-loosen",
        "grub-screws",
        "suspension-pins",
        "added-mass",
        "wheel-refit",
    ] {
        assert!(book.checks.iter().any(|check| check.id == wanted), "{wanted}");
    }
    let advice = ask(&book, &[], None);
    for item in &advice.items {
        let text = item_text(&advice, &item.id);
        for words in [
            "disconnect the battery",
            "clear of belt and pulleys",
            "eye protection",
            "qualified workshop",
        ] {
            assert!(text.contains(words), "{}: {words}", item.id);
        }
        let check = book.checks.iter().find(|check| check.id == item.id).unwrap();
        for caution in &check.cautions {
            assert!(text.contains(caution), "{}: {caution}", item.id);
        }
        assert!(text.contains("How tight: ") && text.contains("Interval: ") && text.contains("Source: "));
        for line in item.guidance.sections().iter().flat_map(|section| section.lines) {
            assert!(line.ends_with('.') && !line.contains(".."), "{}: {line}", item.id);
        }
    }
}

#[test]
fn a_book_that_does_not_hold_together_is_refused() {
    let refused = |change: fn(&mut ServiceBook)| {
        let mut book = service();
        change(&mut book);
        check_service_book(&book, &torques()).unwrap_err().to_string()
    };
    assert!(refused(|book| book.checks[1].id = book.checks[0].id.clone()).contains("is in the book twice"));
    assert!(refused(|book| book.checks[0].cautions.clear()).contains("carries no caution"));
    assert!(refused(|book| book.checks[0].cautions = vec![" ".into()]).contains("carries no caution"));
    assert!(refused(|book| book.checks[0].how.clear()).contains("does not say how"));
    assert!(refused(|book| book.checks[0].why.clear()).contains("empty text"));
    assert!(refused(|book| book.checks[0].every_km = Some(-1.0)).contains("interval that is none"));
    assert!(refused(|book| book.checks[0].every_days = Some(0)).contains("interval that is none"));
    assert!(refused(|book| book.checks[0].torque_class = Some("x".into())).contains("torque class"));
}

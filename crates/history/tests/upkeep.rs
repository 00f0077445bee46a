//! Service that was done.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{Bench, board, minute};
use shimwright_history::Error;
use shimwright_record::ServiceDone;

wherever_it_lies!(what_was_done_comes_back_newest_day_first,);

fn done(check: &str, day: &str, odometer_km: Option<f64>) -> ServiceDone {
    ServiceDone {
        check: check.into(),
        day: day.parse().unwrap(),
        odometer_km,
        note: "found as it should be".into(),
    }
}

async fn what_was_done_comes_back_newest_day_first(bench: &Bench) {
    let history = bench.open().await;
    let saved = history.save_board(&board(), minute(0)).await.unwrap();
    let entries = [
        done("axle-nut", "2026-03-01", Some(210.5)),
        done("belt", "2026-02-11", None),
        done("axle-nut", "2026-03-01", Some(212.0)),
    ];
    for (at, entry) in (1..).zip(&entries) {
        history
            .add_service_done(&saved.id, entry, minute(at))
            .await
            .unwrap();
    }
    let [first, second, third] = entries;
    assert_eq!(
        history.service_done(&saved.id).await.unwrap(),
        [third, first, second]
    );
    assert!(matches!(
        history
            .add_service_done("nobody", &done("belt", "2026-02-11", None), minute(9))
            .await,
        Err(Error::NotFound { .. })
    ));
}

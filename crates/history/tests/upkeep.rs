//! Service that was done, and a history from before it could be written down.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{board, minute};
use shimwright_history::{Error, History};
use shimwright_record::ServiceDone;
use sqlx::SqlitePool;
use sqlx::migrate::Migrator;
use sqlx::sqlite::SqliteConnectOptions;
use std::path::Path;

fn done(check: &str, day: &str, odometer_km: Option<f64>) -> ServiceDone {
    ServiceDone {
        check: check.into(),
        day: day.parse().unwrap(),
        odometer_km,
        note: "found as it should be".into(),
    }
}

#[tokio::test]
async fn what_was_done_comes_back_newest_day_first() {
    let dir = tempfile::tempdir().unwrap();
    let history = History::open(dir.path(), "0.1.0").await.unwrap();
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

/// A history as the first program wrote it: its own layout, and one board.
async fn first_form(folder: &Path) {
    let migrations = folder.join("first");
    std::fs::create_dir_all(&migrations).unwrap();
    let first = Path::new(env!("CARGO_MANIFEST_DIR")).join("migrations/0001_first.sql");
    std::fs::copy(first, migrations.join("0001_first.sql")).unwrap();
    let options = SqliteConnectOptions::new()
        .filename(folder.join("history.sqlite3"))
        .create_if_missing(true);
    let pool = SqlitePool::connect_with(options).await.unwrap();
    Migrator::new(migrations).await.unwrap().run(&pool).await.unwrap();
    for statement in [
        "INSERT INTO boards VALUES ('b1', 'Old', '', '', '2026-01-01', '2026-01-01', NULL)",
        "INSERT INTO drives VALUES ('b1', 99.0, NULL, NULL, 'wheel', 0.5, -0.5, 0.5, 1, 1)",
    ] {
        sqlx::query(statement).execute(&pool).await.unwrap();
    }
    pool.close().await;
}

#[tokio::test]
async fn a_history_of_the_first_program_is_brought_along() {
    let dir = tempfile::tempdir().unwrap();
    first_form(dir.path()).await;
    let history = History::open(dir.path(), "0.2.0").await.unwrap();
    let board = history.board("b1").await.unwrap();
    assert_eq!(
        (board.drive.rim_diameter, &board.drive.description),
        (99.0, &None)
    );
    history.save_board(&board, minute(0)).await.unwrap();
    history
        .add_service_done("b1", &done("belt", "2026-02-11", None), minute(1))
        .await
        .unwrap();
    assert_eq!(history.service_done("b1").await.unwrap().len(), 1);
}

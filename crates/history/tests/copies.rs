//! Daily copies, and the way back from a damaged database.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{Bench, board, check, minute, photo};
use shimwright_history::{Error, History, Time};
use shimwright_record::{Board, Corner};
use std::path::PathBuf;

fn day(days: i64) -> Time {
    minute(days * 24 * 60)
}

fn copies(bench: &Bench) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = std::fs::read_dir(bench.folder().join("copies"))
        .map(|entries| entries.map(|entry| entry.unwrap().path()).collect())
        .unwrap_or_default();
    all.sort();
    all
}

#[tokio::test]
async fn a_copy_is_made_once_a_day_and_kept_for_thirty() {
    let bench = Bench::sqlite().unwrap();
    let history = bench.open().await;
    assert_eq!(
        history.keep_daily_copy(day(0)).await.unwrap(),
        None,
        "there is nothing worth a copy"
    );
    history.save_board(&board(), minute(0)).await.unwrap();
    for n in 0..40 {
        let made = history.keep_daily_copy(day(n)).await.unwrap();
        assert!(made.is_some(), "day {n}");
        let again = history
            .keep_daily_copy(day(n) + chrono::Duration::hours(23))
            .await
            .unwrap();
        assert_eq!(again, None, "day {n}, 23 hours later");
    }
    // Days 9 to 39: the last one is 30 days after the first.
    assert_eq!(copies(&bench).len(), 31);
    // A clock that ran ahead neither keeps a copy from being made nor costs the newest ones.
    assert!(history.keep_daily_copy(day(4000)).await.unwrap().is_some());
    assert_eq!(copies(&bench).len(), 3);
    assert!(history.keep_daily_copy(day(41)).await.unwrap().is_some());
}

#[tokio::test]
async fn a_damaged_database_is_told_with_its_newest_good_copy_and_mended_by_it() {
    let bench = Bench::sqlite().unwrap();
    let history = bench.open().await;
    let kept = history.save_board(&board(), minute(0)).await.unwrap();
    let new = check(&kept, Corner::Left, 1.0, vec![photo("a.jpg", b"a")]);
    let id = history.save_check(new, minute(1)).await.unwrap();
    history.keep_daily_copy(day(0)).await.unwrap().unwrap();
    history
        .save_board(
            &Board {
                name: "Late".into(),
                ..board()
            },
            day(1),
        )
        .await
        .unwrap();
    let broken = history.keep_daily_copy(day(1)).await.unwrap().unwrap();
    history.close().await;
    drop(history);
    // The newest copy is damaged too, so the one before it counts.
    std::fs::write(&broken.path, [b'x'; 9000]).unwrap();
    let file = bench.folder().join("history.sqlite3");
    let damaged = {
        let mut bytes = std::fs::read(&file).unwrap();
        bytes[..60].fill(0xAA);
        bytes
    };
    std::fs::write(&file, &damaged).unwrap();

    let refused = History::open_at(&bench.home, "0.1.0").await.unwrap_err();
    let sentence = refused.to_string();
    assert!(
        matches!(&refused, Error::Damaged { newest_copy: Some(day), .. } if day == "2026-03-08"),
        "{refused:?}"
    );
    assert!(
        sentence.contains("2026-03-08") && sentence.contains("--newest-copy"),
        "{sentence}"
    );
    assert_eq!(std::fs::read(&file).unwrap(), damaged, "it is left as it was");

    let (copy, aside) = History::restore_newest_copy(bench.folder(), day(2))
        .await
        .unwrap();
    assert_eq!(copy.day(), "2026-03-08");
    assert_eq!(
        std::fs::read(aside.unwrap()).unwrap(),
        damaged,
        "the damaged file is kept"
    );
    let history = bench.open().await;
    assert_eq!(history.check(&id).await.unwrap().photos.len(), 1);
    assert_eq!(history.boards().await.unwrap().len(), 1);
}

#[tokio::test]
async fn a_copy_is_not_restored_under_a_running_program_or_from_nothing() {
    let bench = Bench::sqlite().unwrap();
    let history = bench.open().await;
    let refused = History::restore_newest_copy(bench.folder(), day(0)).await;
    assert!(matches!(refused, Err(Error::InUse)), "{refused:?}");
    history.close().await;
    drop(history);
    let refused = History::restore_newest_copy(bench.folder(), day(0)).await;
    assert!(matches!(refused, Err(Error::NoCopy)), "{refused:?}");
}

#[tokio::test]
async fn damage_inside_is_seen_when_the_copy_is_made() {
    let bench = Bench::sqlite().unwrap();
    let history = bench.open().await;
    let kept = history.save_board(&board(), minute(0)).await.unwrap();
    for n in 0..60 {
        history
            .save_check(check(&kept, Corner::Left, 1.0, vec![]), minute(n))
            .await
            .unwrap();
    }
    history.keep_daily_copy(day(0)).await.unwrap().unwrap();
    history.close().await;
    drop(history);
    let file = bench.folder().join("history.sqlite3");
    let mut bytes = std::fs::read(&file).unwrap();
    let middle = bytes.len() / 2 / 4096 * 4096;
    bytes[middle..middle + 8192].fill(0xAA);
    std::fs::write(&file, &bytes).unwrap();
    let history = bench.open().await;
    let refused = history.keep_daily_copy(day(1)).await.unwrap_err();
    assert!(
        matches!(
            &refused,
            Error::Damaged {
                newest_copy: Some(_),
                ..
            }
        ),
        "{refused:?}"
    );
    assert_eq!(copies(&bench).len(), 1, "the good copy stays");
}

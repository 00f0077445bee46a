//! What is saved comes back, and what must not be saved is not.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{board, check, minute, photo};
use shimwright_history::{Error, History};
use shimwright_record::*;
use std::path::Path;

async fn open(dir: &Path) -> History {
    History::open(dir, "0.1.0").await.unwrap()
}

#[tokio::test]
async fn a_board_comes_back_as_it_was_saved_and_changed() {
    let dir = tempfile::tempdir().unwrap();
    let history = open(dir.path()).await;
    let saved = history.save_board(&board(), minute(0)).await.unwrap();
    assert!(!saved.id.is_empty());
    assert_eq!(history.board(&saved.id).await.unwrap(), saved);

    let mut changed = saved.clone();
    changed.drive.rim_chamfer = Some(0.1);
    changed.drive.located = Located::Pulley;
    changed.drive.description = Some(DriveDescription {
        wheel_teeth: 40,
        screw_1_angle: Some(12.5),
        ..DriveDescription::default()
    });
    changed.corners[1].spacer_label = "1/2 in".into();
    assert_eq!(history.save_board(&changed, minute(1)).await.unwrap(), changed);
    history.close().await;

    let again = open(dir.path()).await;
    assert_eq!(again.board(&saved.id).await.unwrap(), changed);
    assert_eq!(again.boards().await.unwrap().len(), 1);
}

#[tokio::test]
async fn a_deleted_board_is_gone_from_sight_only() {
    let dir = tempfile::tempdir().unwrap();
    let history = open(dir.path()).await;
    let saved = history.save_board(&board(), minute(0)).await.unwrap();
    history
        .save_check(
            check(&saved, Corner::Left, 1.0, vec![photo("a.jpg", b"a")]),
            minute(1),
        )
        .await
        .unwrap();
    history.delete_board(&saved.id, minute(2)).await.unwrap();
    assert!(history.boards().await.unwrap().is_empty());
    assert!(matches!(
        history.board(&saved.id).await,
        Err(Error::NotFound { .. })
    ));
    assert!(matches!(
        history.delete_board(&saved.id, minute(3)).await,
        Err(Error::NotFound { .. })
    ));
    assert_eq!(
        history.checks(&saved.id).await.unwrap().len(),
        1,
        "its checks stay stored"
    );
}

#[tokio::test]
async fn stock_comes_back_in_order_and_labels_are_single() {
    let dir = tempfile::tempdir().unwrap();
    let history = open(dir.path()).await;
    let ring = |label: &str, thickness| SpacerStock {
        label: label.into(),
        thickness,
        u95: 0.03,
        count: 4,
    };
    let stock = vec![ring("1/2 in", 12.7), ring("7/16 in", 11.1125)];
    history.save_stock(&stock, minute(0)).await.unwrap();
    history.save_stock(&stock, minute(1)).await.unwrap();
    assert_eq!(history.stock().await.unwrap(), stock);
    let twice = vec![ring("a", 1.0), ring("a", 2.0)];
    assert!(matches!(
        history.save_stock(&twice, minute(2)).await,
        Err(Error::SameLabel(_))
    ));
    assert_eq!(history.stock().await.unwrap(), stock);
}

#[tokio::test]
async fn a_check_comes_back_with_everything_that_went_into_it() {
    let dir = tempfile::tempdir().unwrap();
    let history = open(dir.path()).await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    let mut new = check(
        &board,
        Corner::Left,
        1.42,
        vec![photo("a.jpg", b"first"), photo("b.jpg", b"second")],
    );
    let question = SpacerQuestion {
        drive: board.drive.clone(),
        corners: vec![],
        stock: vec![],
        earlier: vec![],
    };
    let answer = SpacerAdvice {
        headline: "keep the 7/16 in ring".into(),
        fits: true,
        choices: vec![],
        ideal: vec![],
        steps: vec![],
        notes: vec![],
        cautions: Cautions::for_drive_work(),
        rejected: vec![],
        basis: vec![],
    };
    new.advice = Some((question, answer.clone()));
    let id = history.save_check(new.clone(), minute(1)).await.unwrap();
    history.close().await;

    let history = open(dir.path()).await;
    let saved = history.check(&id).await.unwrap();
    assert_eq!(saved.at, "2026-03-08T10:01:00+05:30");
    assert_eq!(
        (saved.board, saved.job, saved.result),
        (new.board, new.job, new.result)
    );
    assert_eq!(
        (saved.advice, saved.work_done.as_str(), saved.program.as_str()),
        (Some(answer), "", "0.1.0")
    );
    assert_eq!(saved.camera, new.camera);
    let names: Vec<&str> = saved.photos.iter().map(|photo| photo.name.as_str()).collect();
    assert_eq!(names, ["a.jpg", "b.jpg"]);
    assert_eq!(history.photos().get(&saved.photos[1].sha256).unwrap(), b"second");
    let line = &history.boards().await.unwrap()[0];
    assert_eq!(
        (line.checks, line.last_check.as_deref()),
        (1, Some("2026-03-08T10:01:00+05:30"))
    );
}

#[tokio::test]
async fn newest_first_by_the_moment_and_not_by_the_clocks_text() {
    let dir = tempfile::tempdir().unwrap();
    let history = open(dir.path()).await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    // 09:00 in UTC is later than 10:01 at +05:30, though its text sorts before.
    let later = chrono::DateTime::parse_from_rfc3339("2026-03-08T09:00:00+00:00").unwrap();
    let second = history
        .save_check(check(&board, Corner::Left, 2.0, vec![]), later)
        .await
        .unwrap();
    let first = history
        .save_check(check(&board, Corner::Left, 1.0, vec![]), minute(1))
        .await
        .unwrap();
    history
        .save_check(check(&board, Corner::Right, 3.0, vec![]), minute(0))
        .await
        .unwrap();
    let ids: Vec<String> = history
        .checks(&board.id)
        .await
        .unwrap()
        .into_iter()
        .map(|c| c.id)
        .collect();
    assert_eq!(ids[..2], [second.clone(), first]);
    let newest = history
        .newest(&board.id, Corner::Left, CheckKind::Gap)
        .await
        .unwrap()
        .unwrap();
    assert_eq!(newest.id, second);
    assert_eq!(
        history
            .newest(&board.id, Corner::Left, CheckKind::Turn)
            .await
            .unwrap(),
        None
    );
}

#[tokio::test]
async fn the_same_photo_is_stored_once() {
    let dir = tempfile::tempdir().unwrap();
    let history = open(dir.path()).await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    for corner in Corner::BOTH {
        history
            .save_check(
                check(&board, corner, 1.0, vec![photo("same.jpg", b"same")]),
                minute(1),
            )
            .await
            .unwrap();
    }
    let files = stored_files(dir.path());
    assert_eq!(files.len(), 1, "{files:?}");
}

fn stored_files(dir: &Path) -> Vec<std::path::PathBuf> {
    let shelves = std::fs::read_dir(dir.join("photos"))
        .unwrap()
        .map(|entry| entry.unwrap().path());
    shelves
        .flat_map(|shelf| {
            std::fs::read_dir(shelf)
                .unwrap()
                .map(|entry| entry.unwrap().path())
        })
        .collect()
}

#[tokio::test]
async fn the_last_word_on_the_work_counts() {
    let dir = tempfile::tempdir().unwrap();
    let history = open(dir.path()).await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    let id = history
        .save_check(check(&board, Corner::Left, 1.0, vec![]), minute(1))
        .await
        .unwrap();
    history
        .set_work_done(&id, "ring changed", minute(2))
        .await
        .unwrap();
    history
        .set_work_done(&id, "ring changed, belt set", minute(3))
        .await
        .unwrap();
    assert_eq!(
        history.check(&id).await.unwrap().work_done,
        "ring changed, belt set"
    );
    let unknown = history.set_work_done("no-such", "x", minute(4)).await;
    assert!(matches!(unknown, Err(Error::NotFound { what: "check", .. })));
}

#[tokio::test]
async fn a_check_of_an_unknown_board_leaves_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let history = open(dir.path()).await;
    let mut stranger = board();
    stranger.id = "0192".into();
    let refused = history
        .save_check(check(&stranger, Corner::Left, 1.0, vec![]), minute(0))
        .await;
    assert!(matches!(refused, Err(Error::NotFound { what: "board", .. })));
    assert!(history.checks("0192").await.unwrap().is_empty());
}

#[tokio::test]
async fn a_history_of_a_newer_program_is_refused_with_both_versions() {
    let dir = tempfile::tempdir().unwrap();
    open(dir.path()).await.close().await;
    let url = format!("sqlite://{}", dir.path().join("history.sqlite3").display());
    let pool = sqlx::SqlitePool::connect(&url).await.unwrap();
    sqlx::query("UPDATE program SET version = '9.4.0'")
        .execute(&pool)
        .await
        .unwrap();
    sqlx::query(
        "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
         VALUES (999, 'of the future', 1, x'00', 0)",
    )
    .execute(&pool)
    .await
    .unwrap();
    pool.close().await;
    let before = std::fs::read(dir.path().join("history.sqlite3")).unwrap();
    let sentence = History::open(dir.path(), "0.1.0").await.unwrap_err().to_string();
    assert!(
        sentence.contains("9.4.0") && sentence.contains("0.1.0") && sentence.contains("999"),
        "{sentence}"
    );
    assert_eq!(
        std::fs::read(dir.path().join("history.sqlite3")).unwrap(),
        before,
        "it is left as it was"
    );
}

#[tokio::test]
async fn a_file_that_is_no_database_is_called_damaged() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("history.sqlite3"), [b'x'; 5000]).unwrap();
    let error = History::open(dir.path(), "0.1.0").await.unwrap_err();
    assert!(matches!(error, Error::Damaged(_)), "{error:?}");
}

#[tokio::test]
async fn a_folder_that_cannot_be_written_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("file");
    std::fs::write(&file, b"").unwrap();
    let sentence = History::open(&file.join("history"), "0.1.0")
        .await
        .unwrap_err()
        .to_string();
    assert!(
        sentence.contains("cannot be written") && sentence.contains("file"),
        "{sentence}"
    );
}

#[cfg(unix)]
#[tokio::test]
async fn a_read_only_folder_is_named() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().unwrap();
    open(dir.path()).await.close().await;
    for path in [
        dir.path().to_owned(),
        dir.path().join("history.sqlite3"),
        dir.path().join("history.lock"),
    ] {
        let mode = if path.is_dir() { 0o555 } else { 0o444 };
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(mode)).unwrap();
    }
    if std::fs::write(dir.path().join("probe"), b"").is_ok() {
        println!("skipped: this user may write into read-only folders");
        return;
    }
    let error = History::open(dir.path(), "0.1.0").await.unwrap_err();
    assert!(matches!(error, Error::NotWritable { .. }), "{error:?}");
    std::fs::set_permissions(dir.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn many_openers_and_writers_lose_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let tasks: Vec<_> = (0..4)
        .map(|n| {
            let dir = dir.path().to_owned();
            tokio::spawn(async move {
                let history = open(&dir).await;
                for i in 0..10 {
                    history.save_board(&board(), minute(n * 100 + i)).await.unwrap();
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    assert_eq!(open(dir.path()).await.boards().await.unwrap().len(), 40);
}

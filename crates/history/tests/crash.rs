//! A program that is killed while it saves leaves every acknowledged check whole and no half-saved one.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{board, check, minute, photo};
use shimwright_history::History;
use shimwright_record::Corner;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const CHILD: &str = "SHIMWRIGHT_CRASH_TEST_FOLDER";
const KILLS: u64 = 12;

/// The child's part: saves checks with large photos and acknowledges each, until it is killed.
#[tokio::test]
async fn child_that_saves_until_it_is_killed() {
    let Some(folder) = std::env::var_os(CHILD) else {
        return;
    };
    let history = History::open(Path::new(&folder), "0.1.0").await.unwrap();
    let board = match history.boards().await.unwrap().first() {
        Some(line) => history.board(&line.id).await.unwrap(),
        None => history.save_board(&board(), minute(0)).await.unwrap(),
    };
    let run = std::process::id();
    for n in 0_u32.. {
        let bytes =
            |which: u32| -> Vec<u8> { (0..400_000_u32).map(|i| (i ^ run ^ n ^ which) as u8).collect() };
        let photos = vec![
            photo("a.jpg", &bytes(1 << 20 | run | n << 8)),
            photo("b.jpg", &bytes(n)),
        ];
        let id = history
            .save_check(check(&board, Corner::Left, 1.0, photos), minute(1))
            .await
            .unwrap();
        println!("saved {id}");
    }
}

#[test]
fn a_kill_at_any_moment_loses_no_acknowledged_check() {
    let dir = tempfile::tempdir().unwrap();
    let mut acknowledged = Vec::new();
    for kill in 0..KILLS {
        acknowledged.extend(run_and_kill(dir.path(), Duration::from_millis(60 + kill * 37)));
    }
    assert!(
        acknowledged.len() > 5,
        "only {} checks were saved before the kills",
        acknowledged.len()
    );
    tokio::runtime::Runtime::new().unwrap().block_on(async {
        let history = History::open(dir.path(), "0.1.0").await.unwrap();
        for id in &acknowledged {
            history.check(id).await.unwrap();
        }
        let board = &history.boards().await.unwrap()[0];
        let mut photos = 0;
        for saved in history.checks(&board.id).await.unwrap() {
            assert_eq!(saved.photos.len(), 2);
            for photo in &saved.photos {
                history.photos().get(&photo.sha256).unwrap();
                photos += 1;
            }
        }
        println!("{} acknowledged, {} photos whole", acknowledged.len(), photos);
        assert_eq!(
            std::fs::read_dir(dir.path().join("photos/unfinished"))
                .unwrap()
                .count(),
            0
        );
    });
}

/// Runs the child and kills it some time after its first acknowledged check; gives what it acknowledged.
fn run_and_kill(folder: &Path, delay: Duration) -> Vec<String> {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["child_that_saves_until_it_is_killed", "--exact", "--nocapture"])
        .env(CHILD, folder)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let reader = std::thread::spawn(move || {
        lines
            .map_while(Result::ok)
            .filter_map(|line| line.split("saved ").nth(1).map(str::to_owned))
            .collect()
    });
    std::thread::sleep(delay);
    child.kill().unwrap();
    child.wait().unwrap();
    reader.join().unwrap()
}

#[tokio::test]
async fn a_save_that_is_dropped_halfway_leaves_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let history = History::open(dir.path(), "0.1.0").await.unwrap();
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    let mut finished = 0;
    for microseconds in (0..3_000).step_by(150) {
        let save = history.save_check(
            check(&board, Corner::Left, 1.0, vec![photo("a", b"a")]),
            minute(1),
        );
        if tokio::time::timeout(Duration::from_micros(microseconds), save)
            .await
            .is_ok()
        {
            finished += 1;
        }
    }
    let saved = history.checks(&board.id).await.unwrap();
    assert!(saved.len() >= finished, "{} of {finished}", saved.len());
    for check in saved {
        assert_eq!(check.photos.len(), 1, "a check without its photo");
    }
}

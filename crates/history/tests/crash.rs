//! A program that is killed at any moment leaves every acknowledged save whole, nothing half-saved, and no stray file
//! that counts: 285 kills here while it saves, imports, backs up and brings an old history along, and 15 more while it
//! measures (`crates/cli/tests/crash.rs`), all of them when `SHIMWRIGHT_FULL` is set and a tenth otherwise.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::filled::fill;
use made::killing::{Dice, Worker, asked, times};
use made::{board, check, minute, photo};
use shimwright_history::{History, Home, OnConflict, PhotosOut};
use shimwright_record::Corner;
use std::path::Path;
use std::time::{Duration, Instant};

/// Says something to the test that started this worker.
fn tell(text: &str) {
    println!("::{text}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn worker() {
    let Some((work, place)) = asked() else {
        return;
    };
    let place = Path::new(&place);
    match work.as_str() {
        "save" => save(place).await,
        "import" => import(place).await,
        "back up" => back_up(place).await,
        "restore" => restore(place).await,
        "open" => {
            History::open(place, "0.1.0").await.unwrap();
            tell("opened");
        }
        other => panic!("{other}"),
    }
}

async fn save(folder: &Path) {
    let history = History::open(folder, "0.1.0").await.unwrap();
    let board = match history.boards().await.unwrap().first() {
        Some(line) => history.board(&line.id).await.unwrap(),
        None => history.save_board(&board(), minute(0)).await.unwrap(),
    };
    let run = std::process::id();
    tell("ready");
    for n in 0_u32.. {
        let bytes = |which: u32| -> Vec<u8> {
            (0..60_000_u32)
                .map(|i| (i ^ run ^ (n << 4) ^ which) as u8)
                .chain(run.to_le_bytes())
                .chain(n.to_le_bytes())
                .collect()
        };
        let photos = vec![photo("a.jpg", &bytes(1)), photo("b.jpg", &bytes(2))];
        let id = history
            .save_check(check(&board, Corner::Left, 1.0, photos), minute(1))
            .await
            .unwrap();
        tell(&id);
    }
}

async fn import(folder: &Path) {
    let history = History::open(folder, "0.1.0").await.unwrap();
    tell("ready");
    history
        .import(&folder.join("../backup.tar"), OnConflict::Refuse)
        .await
        .unwrap();
    tell("imported");
}

async fn back_up(folder: &Path) {
    let history = History::open(folder, "0.1.0").await.unwrap();
    tell("ready");
    for n in 0_u32.. {
        let file = folder.join(format!("../{}-{n}.tar", std::process::id()));
        history
            .back_up(&file, PhotosOut::Untouched, minute(9))
            .await
            .unwrap();
        tell(file.to_str().unwrap());
    }
}

async fn restore(folder: &Path) {
    tell("ready");
    loop {
        History::restore_newest_copy(folder, minute(9)).await.unwrap();
    }
}

/// Opens a history, and looks at every check that it holds: it has its two photos, whole. Gives the number of checks.
async fn whole(folder: &Path) -> (History, usize) {
    let history = History::open(folder, "0.1.0").await.unwrap();
    let mut count = 0;
    for line in history.boards().await.unwrap() {
        for saved in history.checks(&line.id).await.unwrap() {
            assert_eq!(saved.photos.len(), 2, "a check without its photos");
            for photo in &saved.photos {
                history.photos().get(&photo.sha256).unwrap();
            }
            count += 1;
        }
    }
    for place in ["unfinished", "photos/unfinished"] {
        let left = std::fs::read_dir(folder.join(place)).map_or(0, Iterator::count);
        assert_eq!(left, 0, "stray files in {place}");
    }
    assert_eq!(history.photo_sizes().await.unwrap().missing, [""; 0]);
    (history, count)
}

/// The time within which the next kill falls: as the machine gets busier or idler, kills go on falling into the work and
/// not only before its end or after it.
fn adapted(longest: Duration, finished: bool) -> Duration {
    longest.mul_f64(if finished { 0.9 } else { 1.1 })
}

/// A full history in `history`, and its backup beside it.
async fn full(dir: &Path) -> usize {
    let folder = dir.join("history");
    let history = History::open(&folder, "0.1.0").await.unwrap();
    fill(&history).await;
    history.keep_daily_copy(minute(5)).await.unwrap();
    history
        .back_up(&dir.join("backup.tar"), PhotosOut::Untouched, minute(6))
        .await
        .unwrap();
    history.close().await;
    whole(&folder).await.1
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn killed_while_it_saves() {
    let dir = tempfile::tempdir().unwrap();
    let mut dice = Dice::new(1);
    let mut acknowledged = Vec::new();
    // The first run is killed after three saves: it tells how long they take on this machine.
    let mut longest = Duration::ZERO;
    let runs = times(145);
    for run in 0..runs {
        let worker = Worker::start("save", dir.path().to_str().unwrap());
        // Some are killed before they have opened the history.
        if run == 0 || dice.share() < 0.9 {
            assert_eq!(worker.told().as_deref(), Some("ready"));
        }
        if run == 0 {
            let begun = Instant::now();
            acknowledged.extend((0..3).map(|_| worker.told().unwrap()));
            longest = begun.elapsed();
        }
        let told = worker.kill_after(dice.moment(longest));
        let before = acknowledged.len();
        acknowledged.extend(told.into_iter().filter(|text| text != "ready"));
        longest = adapted(longest, acknowledged.len() > before);
    }
    assert!(
        acknowledged.len() > runs * 2 / 5,
        "only {} checks were saved",
        acknowledged.len()
    );
    let (history, count) = whole(dir.path()).await;
    for id in &acknowledged {
        history.check(id).await.unwrap();
    }
    println!("{} acknowledged, {count} whole", acknowledged.len());
    assert!(count >= acknowledged.len());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn killed_while_it_imports() {
    let dir = tempfile::tempdir().unwrap();
    let all = full(dir.path()).await;
    let mut dice = Dice::new(2);
    let (mut longest, mut nothing) = (Duration::ZERO, 0);
    // The first run is not killed: it tells how long an import takes.
    let kills = times(50);
    for run in 0..=kills {
        let folder = dir.path().join(format!("into-{run}"));
        let worker = Worker::start("import", folder.to_str().unwrap());
        assert_eq!(worker.told().as_deref(), Some("ready"));
        if run == 0 {
            let begun = Instant::now();
            assert_eq!(worker.told().as_deref(), Some("imported"));
            longest = begun.elapsed().mul_f64(1.1);
        }
        let told = worker.kill_after(if run == 0 {
            Duration::ZERO
        } else {
            dice.moment(longest)
        });
        let (_, count) = whole(&folder).await;
        assert!(count == 0 || count == all, "{count} of {all}");
        assert!(
            count == all || told.is_empty(),
            "an import was acknowledged and is not there"
        );
        nothing += usize::from(count == 0);
        longest = adapted(longest, count == all);
    }
    println!("{nothing} of {kills} left nothing, the others all; an import takes {longest:?}");
    // A few kills may well all fall on one side of the end.
    assert!(
        kills < 20 || (3..kills - 2).contains(&nothing),
        "{nothing} of {kills} kills came before the end"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn killed_while_it_backs_up_or_restores_a_copy() {
    let dir = tempfile::tempdir().unwrap();
    let all = full(dir.path()).await;
    let folder = dir.path().join("history");
    let mut dice = Dice::new(3);
    let mut longest = Duration::ZERO;
    let (runs, backing_up) = (times(40), times(25));
    for run in 0..runs {
        let work = if run < backing_up { "back up" } else { "restore" };
        let worker = Worker::start(work, folder.to_str().unwrap());
        assert_eq!(worker.told().as_deref(), Some("ready"));
        if run == 0 {
            let begun = Instant::now();
            worker.told().unwrap();
            longest = begun.elapsed() * 2;
        }
        let told = worker.kill_after(dice.moment(longest));
        if run < backing_up {
            longest = adapted(longest, !told.is_empty());
        }
        assert_eq!(whole(&folder).await.1, all, "{work}");
    }
    let mut backups = 0;
    for entry in std::fs::read_dir(dir.path()).unwrap() {
        let file = entry.unwrap().path();
        if file.extension().is_some_and(|end| end == "tar") {
            let into = dir.path().join(format!("restored-{backups}"));
            History::restore(&Home::folder(&into), &file, "0.1.0", minute(9))
                .await
                .unwrap();
            assert_eq!(whole(&into).await.1, all);
            backups += 1;
        }
    }
    println!("{backups} backups, all whole");
    assert!(backups * 5 > backing_up, "only {backups} backups were finished");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn killed_while_it_brings_an_old_history_along() {
    let dir = tempfile::tempdir().unwrap();
    let mut dice = Dice::new(4);
    let mut longest = Duration::from_millis(1);
    for run in 0..=times(50) {
        let folder = dir.path().join(format!("old-{run}"));
        made::old::lay_out_sqlite(&folder, 1).await;
        let begun = Instant::now();
        let worker = Worker::start("open", folder.to_str().unwrap());
        if run == 0 {
            assert_eq!(worker.told().as_deref(), Some("opened"));
            longest = begun.elapsed();
            continue;
        }
        worker.kill_after(dice.moment(longest));
        let history = History::open(&folder, "0.1.0").await.unwrap();
        assert_eq!(history.boards().await.unwrap().len(), 2);
        assert_eq!(history.check("c1").await.unwrap().work_done, "ring changed");
        assert_eq!(history.search("ada", 5).await.unwrap().len(), 1);
    }
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

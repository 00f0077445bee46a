//! Two programs that write 1,000 visits at once lose none, on both databases and with photos in a bucket (100 visits unless `SHIMWRIGHT_FULL` is set).

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::killing::{Worker, asked, times};
use made::{Bench, board, check, minute, photo};
use shimwright_history::{History, Home};
use shimwright_record::Corner;
use std::path::Path;

wherever_it_lies!(two_programs_write_visits_at_once);

/// How many visits each of both writes.
fn each() -> usize {
    times(500)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn worker() {
    let Some((work, place)) = asked() else {
        return;
    };
    let mut parts = place.split('\n');
    let folder = Path::new(parts.next().unwrap()).to_owned();
    let mut set = || parts.next().filter(|part| !part.is_empty()).map(str::to_owned);
    let home = Home {
        folder,
        database: set(),
        photos: set().map(|place| made::shared(&place)),
    };
    let first: i64 = work.parse().unwrap();
    let history = History::open_at(&home, "0.1.0").await.unwrap();
    let id = history.boards().await.unwrap()[0].id.clone();
    let board = history.board(&id).await.unwrap();
    for n in 0..each() as i64 {
        // Every tenth brings a photo, which both programs bring.
        let photos = if n % 10 == 0 {
            vec![photo("a.jpg", &n.to_le_bytes())]
        } else {
            vec![]
        };
        let day = minute((2 * n + first) * 24 * 60);
        let id = history
            .save_check(check(&board, Corner::Left, 1.0, photos), day)
            .await
            .unwrap();
        println!("::{id}");
    }
}

async fn two_programs_write_visits_at_once(bench: &Bench) {
    let history = bench.open().await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    let set = |part: &Option<String>| part.clone().unwrap_or_default();
    let place = [
        bench.folder().display().to_string(),
        set(&bench.home.database),
        set(&bench.home.photos.as_ref().map(|shared| shared.place.clone())),
    ]
    .join("\n");
    let workers = ["0", "1"].map(|first| Worker::start(first, &place));
    let ids: Vec<String> = workers.into_iter().flat_map(Worker::finish).collect();
    let all = 2 * each();
    assert_eq!(ids.len(), all);
    assert_eq!(history.visits(&board.id).await.unwrap().len(), all);
    let saved = history.checks(&board.id).await.unwrap();
    assert_eq!(saved.len(), all);
    for id in &ids {
        assert!(saved.iter().any(|check| check.id == *id), "{id} is lost");
    }
    let sizes = history.photo_sizes().await.unwrap();
    assert_eq!(
        (sizes.named, sizes.uses, sizes.missing.len()),
        (all as u64 / 20, all as u64 / 10, 0)
    );
}

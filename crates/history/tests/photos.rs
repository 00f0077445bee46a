//! Room that photos take, and a clean-up that never touches evidence.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::filled::fill;
use made::{Bench, board, check, minute, photo};
use shimwright_history::{Error, History, Home};
use shimwright_record::Corner;

wherever_it_lies!(a_clean_up_takes_only_what_nothing_names);

#[tokio::test]
async fn two_benches_share_a_folder_of_photos() {
    let (one, other) = (Bench::sqlite().unwrap(), Bench::sqlite().unwrap());
    let shared = one.path("shared");
    let at = |bench: &Bench| Home {
        photos: Some(shared.display().to_string()),
        ..bench.home.clone()
    };
    let first = History::open_at(&at(&one), "0.1.0").await.unwrap();
    let second = History::open_at(&at(&other), "0.1.0").await.unwrap();
    let checks = fill(&first).await;
    assert_eq!(second.photos().get(&checks[0].photos[1].sha256).unwrap(), b"b");
    assert!(!one.folder().join("photos").exists());
    let elsewhere = Home {
        photos: Some("ftp://shop/photos".into()),
        ..one.home.clone()
    };
    let refused = History::open_at(&elsewhere, "0.1.0").await.unwrap_err();
    assert!(matches!(refused, Error::NoPhotoPlace { .. }), "{refused:?}");
}

#[tokio::test]
async fn a_bucket_that_cannot_be_used_is_named_without_its_key() {
    let Some(place) = made::bucket::new_bucket() else {
        return;
    };
    let bench = Bench::sqlite().unwrap();
    // Port 1 is nobody's, and nobody made the other bucket.
    let nobody = on_port_1(&place);
    for (place, why) in [
        (nobody, "refused"),
        (place.replacen("s3://shop", "s3://other", 1), "no such bucket"),
    ] {
        let home = Home {
            photos: Some(place),
            ..bench.home.clone()
        };
        let refused = History::open_at(&home, "0.1.0").await.unwrap_err();
        assert!(matches!(refused, Error::PhotoService { .. }), "{refused:?}");
        let sentence = refused.to_string();
        assert!(
            sentence.contains(why) && !sentence.contains("secret"),
            "{sentence}"
        );
    }
}

/// The same place at port 1.
fn on_port_1(place: &str) -> String {
    let (before, after) = place.split_once("127.0.0.1:").unwrap();
    format!("{before}127.0.0.1:1{}", &after[after.find('&').unwrap()..])
}

async fn a_clean_up_takes_only_what_nothing_names(bench: &Bench) {
    let history = bench.open().await;
    let checks = fill(&history).await;
    let stray = history.photos().put(b"stray").unwrap();
    let sizes = history.photo_sizes().await.unwrap();
    assert_eq!(
        (sizes.named, sizes.uses, sizes.unnamed, sizes.unnamed_bytes),
        (4, 6, 1, 5)
    );
    let told = history.clean_up_photos(true).await.unwrap();
    assert_eq!((&told.photos, told.bytes), (&vec![stray.clone()], 5));
    assert!(history.photos().has(&stray).unwrap(), "a dry run removes nothing");
    // A board that was deleted keeps its evidence.
    history
        .delete_board(&checks[0].board.id, minute(9))
        .await
        .unwrap();
    assert_eq!(history.clean_up_photos(false).await.unwrap(), told);
    assert!(!history.photos().has(&stray).unwrap());
    assert_eq!(history.photos().list().unwrap().len(), 4);
    // A photo that is gone is told, and left out of a backup by name.
    let gone = &checks[0].photos[0].sha256;
    bench.lose_photo(gone);
    assert_eq!(
        &history.photo_sizes().await.unwrap().missing,
        std::slice::from_ref(gone)
    );
    let backup = history
        .back_up(&bench.path("backup.tar"), minute(9))
        .await
        .unwrap();
    assert_eq!((backup.photos, &backup.left_out), (3, &vec![gone.clone()]));
}

/// Saves and clean-ups at once: no photo that was saved is missing afterwards.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_clean_up_never_takes_a_photo_that_is_being_saved() {
    for bench in [Bench::sqlite(), Bench::postgres()].into_iter().flatten() {
        let history = bench.open().await;
        let kept = history.save_board(&board(), minute(0)).await.unwrap();
        let saving = {
            let history = history.clone();
            tokio::spawn(async move {
                for n in 0..60_u8 {
                    let new = check(&kept, Corner::Left, 1.0, vec![photo("a.jpg", &[n; 900])]);
                    history.save_check(new, minute(1)).await.unwrap();
                }
            })
        };
        while !saving.is_finished() {
            history.clean_up_photos(false).await.unwrap();
        }
        saving.await.unwrap();
        let sizes = history.photo_sizes().await.unwrap();
        assert_eq!((sizes.named, sizes.missing.len()), (60, 0));
    }
}

#[tokio::test]
async fn what_a_copy_or_a_database_kept_aside_names_is_evidence_too() {
    let bench = Bench::sqlite().unwrap();
    let history = bench.open().await;
    let checks = fill(&history).await;
    history.keep_daily_copy(minute(1)).await.unwrap().unwrap();
    let late = check(
        &checks[0].board,
        Corner::Left,
        2.0,
        vec![photo("late.jpg", b"late")],
    );
    history.save_check(late, minute(2)).await.unwrap();
    history.close().await;
    drop(history);
    History::restore_newest_copy(bench.folder(), minute(3))
        .await
        .unwrap();
    let history = bench.open().await;
    assert_eq!(
        history.photo_sizes().await.unwrap().unnamed,
        1,
        "the copy does not know the late photo"
    );
    assert!(history.clean_up_photos(false).await.unwrap().photos.is_empty());
    let aside = std::fs::read_dir(bench.folder().join("kept-aside"))
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    std::fs::write(aside.join("history.sqlite3"), [b'x'; 5000]).unwrap();
    let refused = history.clean_up_photos(false).await;
    assert!(
        matches!(refused, Err(Error::UnreadableAside { .. })),
        "{refused:?}"
    );
}

//! Room that photos take, and a clean-up that never touches evidence.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::filled::fill;
use made::{Bench, board, check, minute, photo};
use shimwright_history::{Error, ExportForm, History, Home, OnConflict, PhotosOut};
use shimwright_record::{Board, Corner};
use std::path::Path;

wherever_it_lies!(
    a_clean_up_takes_only_what_nothing_names,
    what_leaves_tells_no_place
);

#[tokio::test]
async fn two_benches_share_a_folder_of_photos() {
    let (one, other) = (Bench::sqlite().unwrap(), Bench::sqlite().unwrap());
    let shared = one.path("shared");
    let at = |bench: &Bench| Home {
        photos: Some(made::shared(shared.to_str().unwrap())),
        ..bench.home.clone()
    };
    let first = History::open_at(&at(&one), "0.1.0").await.unwrap();
    let second = History::open_at(&at(&other), "0.1.0").await.unwrap();
    let checks = fill(&first).await;
    assert_eq!(second.photos().get(&checks[0].photos[1].sha256).unwrap(), b"b");
    let elsewhere = Home {
        photos: Some(made::shared("ftp://shop/photos")),
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
            photos: Some(made::shared(&place)),
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
    // Here, and where other benches reach it.
    let room = if bench.home.photos.is_some() { 10 } else { 5 };
    assert_eq!(
        (sizes.named, sizes.uses, sizes.unnamed, sizes.unnamed_bytes),
        (4, 6, 1, room)
    );
    let told = history.clean_up_photos(true).await.unwrap();
    assert_eq!((&told.photos, told.bytes), (&vec![stray.clone()], room));
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
        .back_up(&bench.path("backup.tar"), PhotosOut::Untouched, minute(9))
        .await
        .unwrap();
    assert_eq!((backup.photos, &backup.left_out), (3, &vec![gone.clone()]));
}

/// Whether any file of a folder, or a file, holds what a photo tells of its place.
fn tells_the_place(path: &Path) -> bool {
    if path.is_dir() {
        return std::fs::read_dir(path)
            .unwrap()
            .any(|entry| tells_the_place(&entry.unwrap().path()));
    }
    let bytes = std::fs::read(path).unwrap();
    bytes.windows(made::PLACE.len()).any(|part| part == made::PLACE)
}

async fn restored(file: &Path) -> (Bench, History) {
    let bench = Bench::sqlite().unwrap();
    History::restore(&bench.home, file, "0.1.0", minute(9))
        .await
        .unwrap();
    let history = bench.open().await;
    (bench, history)
}

async fn what_leaves_tells_no_place(bench: &Bench) {
    let history = bench.open().await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    let picture = [made::PLACE, b"picture"].concat();
    let photos = vec![photo("a.jpg", &picture), photo("b.jpg", b"plain")];
    let id = history
        .save_check(check(&board, Corner::Left, 1.0, photos), minute(1))
        .await
        .unwrap();
    let saved = history.check(&id).await.unwrap();
    let sum = saved.photos[0].sha256.as_str();
    assert_eq!(
        history.photos().get(sum).unwrap(),
        picture,
        "here it stays as it was"
    );
    if bench.home.photos.is_some() {
        // Another bench sees the copy, and only that: the photo never went to the place that both reach.
        let other = Home {
            folder: bench.path("other"),
            ..bench.home.clone()
        };
        let other = History::open_at(&other, "0.1.0").await.unwrap();
        let held = other.photos().held(sum).unwrap();
        assert_eq!(
            (held.bytes.as_slice(), held.is_copy),
            (b"picture".as_slice(), true)
        );
        assert_eq!(other.photos().original(sum).unwrap(), None);
    }

    let without = PhotosOut::WithoutPlace(made::without_place());
    let file = bench.path("shared.tar");
    let backup = history.back_up(&file, without, minute(2)).await.unwrap();
    assert_eq!((backup.photos, backup.copies), (2, 1));
    assert!(!tells_the_place(&file));
    let (_elsewhere, there) = restored(&file).await;
    assert_eq!(there.check(&id).await.unwrap(), saved, "the photo keeps its name");
    assert_eq!(there.photos().get(sum).unwrap(), b"picture");
    assert_eq!(there.photo_sizes().await.unwrap().missing, [""; 0]);
    assert_eq!(there.clean_up_photos(false).await.unwrap().photos, [""; 0]);
    // What is a copy stays one, however it goes on.
    let further = bench.path("further.tar");
    let backup = there
        .back_up(&further, PhotosOut::Untouched, minute(3))
        .await
        .unwrap();
    assert_eq!((backup.photos, backup.copies), (2, 1));
    for (form, name) in [(ExportForm::Json, "json"), (ExportForm::Csv, "csv")] {
        let folder = bench.path(name);
        let exported = history.export(&folder, form, Some(without)).await.unwrap();
        assert_eq!((exported.photos, exported.copies), (2, 1));
        assert!(!tells_the_place(&folder), "{name}");
        let again = there.import(&folder, OnConflict::Refuse).await.unwrap();
        assert!(again.done && again.added.is_empty(), "{again:?}");
    }

    // Asked for, the photo goes as it is, and takes the place of its copy.
    let whole = bench.path("whole.tar");
    let backup = history
        .back_up(&whole, PhotosOut::Untouched, minute(4))
        .await
        .unwrap();
    assert_eq!(backup.copies, 0);
    assert!(tells_the_place(&whole));
    let merged = there.import(&whole, OnConflict::Refuse).await.unwrap();
    assert!(merged.done && merged.conflicts.is_empty(), "{merged:?}");
    assert_eq!(
        there.photos().original(sum).unwrap().as_deref(),
        Some(&picture[..])
    );
    a_photo_that_cannot_lose_its_place_stays(bench, &history, &board).await;
}

async fn a_photo_that_cannot_lose_its_place_stays(bench: &Bench, history: &History, board: &Board) {
    let new = check(board, Corner::Left, 1.0, vec![photo("c", made::STUCK)]);
    let saved = history.save_check(new, minute(5)).await;
    if bench.home.photos.is_some() {
        assert!(matches!(saved, Err(Error::PlaceStays(_))), "{saved:?}");
        return;
    }
    let id = saved.unwrap();
    let sum = history.check(&id).await.unwrap().photos[0].sha256.clone();
    let without = PhotosOut::WithoutPlace(made::without_place());
    let file = bench.path("stuck.tar");
    let backup = history.back_up(&file, without, minute(6)).await.unwrap();
    assert_eq!((backup.photos, &backup.kept_back), (2, &vec![sum.clone()]));
    let (_elsewhere, there) = restored(&file).await;
    assert_eq!(there.photo_sizes().await.unwrap().missing, [sum]);
}

/// A damaged photo is mended by restoring a backup that holds it.
#[tokio::test]
async fn a_restored_backup_mends_a_damaged_photo() {
    let bench = Bench::sqlite().unwrap();
    let history = bench.open().await;
    let checks = fill(&history).await;
    let file = bench.path("backup.tar");
    history
        .back_up(&file, PhotosOut::Untouched, minute(9))
        .await
        .unwrap();
    history.close().await;
    drop(history);
    let sum = &checks[0].photos[0].sha256;
    std::fs::write(bench.folder().join("photos").join(&sum[..2]).join(sum), b"damage").unwrap();
    History::restore(&bench.home, &file, "0.1.0", minute(9))
        .await
        .unwrap();
    bench.open().await.photos().get(sum).unwrap();
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

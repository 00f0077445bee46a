//! What is saved comes back, and what must not be saved is not.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{Bench, board, check, minute, photo};
use shimwright_history::{Error, History};
use shimwright_record::*;

wherever_it_lies!(
    a_board_comes_back_as_it_was_saved_and_changed,
    a_deleted_board_is_gone_from_sight_only,
    stock_comes_back_in_order_and_labels_are_single,
    a_check_comes_back_with_everything_that_went_into_it,
    newest_first_by_the_moment_and_not_by_the_clocks_text,
    the_same_photo_is_stored_once,
    the_last_word_on_the_work_counts,
    a_check_of_an_unknown_board_leaves_nothing,
    many_openers_and_writers_lose_nothing,
    of_two_changes_from_one_state_the_second_is_told,
    many_changes_of_one_board_at_once_all_count,
    many_checks_of_one_board_at_once_are_one_visit,
    boards_are_found_by_words_about_them,
    a_value_is_followed_over_time,
);

async fn a_board_comes_back_as_it_was_saved_and_changed(bench: &Bench) {
    let history = bench.open().await;
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
    let seen = history.kept_board(&saved.id).await.unwrap().revision;
    history.change_board(&changed, seen, minute(1)).await.unwrap();
    history.close().await;

    let again = bench.open().await;
    assert_eq!(again.board(&saved.id).await.unwrap(), changed);
    assert_eq!(again.boards().await.unwrap().len(), 1);
}

async fn a_deleted_board_is_gone_from_sight_only(bench: &Bench) {
    let history = bench.open().await;
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

async fn stock_comes_back_in_order_and_labels_are_single(bench: &Bench) {
    let history = bench.open().await;
    let ring = |label: &str, thickness| SpacerStock {
        label: label.into(),
        thickness,
        u95: 0.03,
        count: 4,
    };
    let stock = vec![ring("1/2 in", 12.7), ring("7/16 in", 11.1125)];
    let seen = history.kept_stock().await.unwrap().revision;
    let seen = history.save_stock(&stock, seen, minute(0)).await.unwrap();
    let seen = history.save_stock(&stock, seen, minute(1)).await.unwrap();
    assert_eq!(history.stock().await.unwrap(), stock);
    let twice = vec![ring("a", 1.0), ring("a", 2.0)];
    assert!(matches!(
        history.save_stock(&twice, seen, minute(2)).await,
        Err(Error::SameLabel(_))
    ));
    assert_eq!(history.stock().await.unwrap(), stock);
}

async fn of_two_changes_from_one_state_the_second_is_told(bench: &Bench) {
    let (one, other) = (bench.open().await, bench.open().await);
    let saved = one.save_board(&board(), minute(0)).await.unwrap();
    let (first, second) = (
        one.kept_board(&saved.id).await.unwrap(),
        other.kept_board(&saved.id).await.unwrap(),
    );
    let noted = |text: &str| Board {
        notes: text.into(),
        ..saved.clone()
    };
    one.change_board(&noted("belt set"), first.revision, minute(1))
        .await
        .unwrap();
    let refused = other
        .change_board(&noted("ring changed"), second.revision, minute(1))
        .await;
    assert!(
        matches!(refused, Err(Error::ChangedMeanwhile("board"))),
        "{refused:?}"
    );
    assert_eq!(other.board(&saved.id).await.unwrap().notes, "belt set");
    let now = other.kept_board(&saved.id).await.unwrap().revision;
    other
        .change_board(&noted("belt set, ring changed"), now, minute(2))
        .await
        .unwrap();
    assert_eq!(
        one.board(&saved.id).await.unwrap().notes,
        "belt set, ring changed"
    );

    let seen = one.kept_stock().await.unwrap().revision;
    let rings = [SpacerStock {
        label: "a".into(),
        thickness: 1.0,
        u95: 0.1,
        count: 1,
    }];
    one.save_stock(&rings, seen, minute(3)).await.unwrap();
    let refused = other.save_stock(&[], seen, minute(3)).await;
    assert!(
        matches!(refused, Err(Error::ChangedMeanwhile("stock"))),
        "{refused:?}"
    );
    assert_eq!(other.stock().await.unwrap(), rings);
}

/// Four benches add one to a number in a board's notes, each by reading, changing and, when told that somebody was
/// faster, reading again.
async fn many_changes_of_one_board_at_once_all_count(bench: &Bench) {
    let history = bench.open().await;
    let id = history
        .save_board(
            &Board {
                notes: "0".into(),
                ..board()
            },
            minute(0),
        )
        .await
        .unwrap()
        .id;
    let tasks: Vec<_> = (0..4)
        .map(|_| {
            let (history, id) = (history.clone(), id.clone());
            tokio::spawn(async move {
                for _ in 0..8 {
                    loop {
                        let kept = history.kept_board(&id).await.unwrap();
                        let number: u32 = kept.board.notes.parse().unwrap();
                        let more = Board {
                            notes: (number + 1).to_string(),
                            ..kept.board
                        };
                        match history.change_board(&more, kept.revision, minute(1)).await {
                            Ok(_) => break,
                            Err(Error::ChangedMeanwhile(_)) => {}
                            Err(error) => panic!("{error}"),
                        }
                    }
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    assert_eq!(history.board(&id).await.unwrap().notes, "32");
}

/// Checks of one board on one day from several benches share one visit.
async fn many_checks_of_one_board_at_once_are_one_visit(bench: &Bench) {
    let history = bench.open().await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    let tasks: Vec<_> = (0..8_u8)
        .map(|n| {
            let (history, board) = (history.clone(), board.clone());
            tokio::spawn(async move {
                let photos = vec![
                    photo("own.jpg", &[n]),
                    photo("same.jpg", b"same"),
                    photo("too.jpg", b"too"),
                ];
                history
                    .save_check(check(&board, Corner::Left, 1.0, photos), minute(1))
                    .await
                    .unwrap()
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    assert_eq!(history.checks(&board.id).await.unwrap().len(), 8);
    assert_eq!(history.visits(&board.id).await.unwrap().len(), 1);
    assert_eq!(history.photos().list().unwrap().len(), 10);
}

async fn boards_are_found_by_words_about_them(bench: &Bench) {
    let history = bench.open().await;
    let add = async |name: &str, owner: &str, notes: &str| {
        let board = Board {
            name: name.into(),
            owner: owner.into(),
            notes: notes.into(),
            ..board()
        };
        history.save_board(&board, minute(0)).await.unwrap()
    };
    let kestrel = add("Kestrel 2", "Ada Öst", "serial TW-100_7").await;
    add("Marlin", "Ben", "serial TW-100x7, 50% worn").await;
    let found = async |text: &str| -> Vec<String> {
        history
            .search(text, 10)
            .await
            .unwrap()
            .into_iter()
            .map(|line| line.name)
            .collect()
    };
    assert_eq!(found("KESTREL").await, ["Kestrel 2"]);
    assert_eq!(
        found("öst kes").await,
        ["Kestrel 2"],
        "in any order, in letters of either size"
    );
    assert_eq!(
        found("tw-100_7").await,
        ["Kestrel 2"],
        "an underscore stands for itself"
    );
    assert_eq!(found("50%").await, ["Marlin"]);
    assert_eq!(found("tw-100").await, ["Kestrel 2", "Marlin"]);
    assert_eq!(found(&kestrel.id).await, ["Kestrel 2"]);
    assert_eq!(found("ada marlin").await, [""; 0]);
    assert_eq!(found("").await.len(), 2);
    assert_eq!(history.search("", 1).await.unwrap().len(), 1);
    let renamed = Board {
        name: "Falcon".into(),
        ..kestrel
    };
    history.change_board(&renamed, 1, minute(1)).await.unwrap();
    assert_eq!(found("kestrel").await, [""; 0]);
    assert_eq!(found("falcon").await, ["Falcon"]);
}

async fn a_value_is_followed_over_time(bench: &Bench) {
    let history = bench.open().await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    for (at, gap) in [(3, 1.2), (1, 1.4), (2, 1.3)] {
        history
            .save_check(check(&board, Corner::Left, gap, vec![]), minute(at))
            .await
            .unwrap();
    }
    history
        .save_check(check(&board, Corner::Right, 9.0, vec![]), minute(1))
        .await
        .unwrap();
    let trend = history
        .trend(&board.id, Corner::Left, CheckKind::Gap, "gap")
        .await
        .unwrap();
    let gaps: Vec<f64> = trend.iter().map(|point| point.quantity.value).collect();
    assert_eq!(gaps, [1.4, 1.3, 1.2]);
    assert_eq!(
        (trend[0].quantity.unit.as_str(), trend[0].quantity.u95),
        ("mm", 0.05)
    );
    assert_eq!(trend[0].at, "2026-03-08T10:01:00+05:30");
    assert!(
        history
            .trend(&board.id, Corner::Left, CheckKind::Gap, "none")
            .await
            .unwrap()
            .is_empty()
    );
}

async fn a_check_comes_back_with_everything_that_went_into_it(bench: &Bench) {
    let history = bench.open().await;
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
        guidance: Guidance::new(
            Phrase::foreign("keep the 7/16 in ring"),
            Cautions::for_drive_work(),
        ),
        fits: true,
        choices: vec![],
        ideal: vec![],
        rejected: vec![],
    };
    new.advice = Some((question, answer.clone()));
    let id = history.save_check(new.clone(), minute(1)).await.unwrap();
    history.close().await;

    let history = bench.open().await;
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

async fn newest_first_by_the_moment_and_not_by_the_clocks_text(bench: &Bench) {
    let history = bench.open().await;
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

async fn the_same_photo_is_stored_once(bench: &Bench) {
    let history = bench.open().await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    for corner in Corner::BOTH {
        let new = check(&board, corner, 1.0, vec![photo("same.jpg", b"same")]);
        history.save_check(new, minute(1)).await.unwrap();
    }
    assert_eq!(history.photos().list().unwrap().len(), 1);
    let sizes = history.photo_sizes().await.unwrap();
    // Here, and where other benches reach it.
    let room = if bench.home.photos.is_some() { 8 } else { 4 };
    assert_eq!(
        (sizes.named, sizes.named_bytes, sizes.uses, sizes.unnamed),
        (1, room, 2, 0)
    );
}

async fn the_last_word_on_the_work_counts(bench: &Bench) {
    let history = bench.open().await;
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

async fn a_check_of_an_unknown_board_leaves_nothing(bench: &Bench) {
    let history = bench.open().await;
    let mut stranger = board();
    stranger.id = "0192".into();
    let refused = history
        .save_check(check(&stranger, Corner::Left, 1.0, vec![]), minute(0))
        .await;
    assert!(matches!(refused, Err(Error::NotFound { what: "board", .. })));
    assert!(history.checks("0192").await.unwrap().is_empty());
}

async fn many_openers_and_writers_lose_nothing(bench: &Bench) {
    let tasks: Vec<_> = (0..4)
        .map(|n| {
            let home = bench.home.clone();
            tokio::spawn(async move {
                let history = History::open_at(&home, "0.1.0").await.unwrap();
                for i in 0..10 {
                    history.save_board(&board(), minute(n * 100 + i)).await.unwrap();
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    assert_eq!(bench.open().await.boards().await.unwrap().len(), 40);
}

//! Backups, exports and imports: what goes out comes back whole, into either database, and nothing is overwritten.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::filled::{fill, seal};
use made::{Bench, board, check, minute, photo};
use shimwright_history::{Error, ExportForm, History, OnConflict, PhotosOut, SavedCheck};
use shimwright_record::*;
use std::path::Path;

wherever_it_lies!(
    a_backup_comes_back_whole,
    an_export_comes_back_whole,
    two_histories_become_one,
    what_differs_is_refused_or_kept_twice,
);

/// Everything that `fill` put in is there.
async fn holds(history: &History, checks: &[SavedCheck]) {
    let id = &checks[0].board.id;
    for saved in checks {
        assert_eq!(&history.check(&saved.id).await.unwrap(), saved);
        for photo in &saved.photos {
            history.photos().get(&photo.sha256).unwrap();
        }
    }
    assert_eq!(history.board(id).await.unwrap(), checks[0].board);
    assert_eq!(
        history.shop().await.unwrap().address,
        "Harbour Lane 4\nPort \"Elm\", west"
    );
    assert_eq!(history.stock().await.unwrap()[0].thickness, 11.1125);
    assert_eq!(history.visits(id).await.unwrap()[0].notes.technician, "Ada");
    assert_eq!(
        history.service_done(id).await.unwrap()[0].odometer_km,
        Some(210.5)
    );
    assert_eq!(history.seals(id).await.unwrap().len(), 1);
    assert_eq!(history.search("kestrel", 5).await.unwrap().len(), 1);
}

async fn a_backup_comes_back_whole(bench: &Bench) {
    let history = bench.open().await;
    let checks = fill(&history).await;
    let file = bench.path("backup.tar");
    let backup = history
        .back_up(&file, PhotosOut::Untouched, minute(9))
        .await
        .unwrap();
    assert_eq!((backup.photos, backup.left_out.len()), (4, 0));
    assert_eq!(backup.bytes, std::fs::metadata(&file).unwrap().len());
    let again = history.back_up(&file, PhotosOut::Untouched, minute(9)).await;
    assert!(matches!(again, Err(Error::Exists(_))), "{again:?}");
    assert!(!bench.path("backup.tar.unfinished").exists());

    let mut others = vec![Bench::sqlite().unwrap()];
    others.extend(Bench::postgres());
    for other in &others {
        let restored = History::restore(&other.home, &file, "0.1.0", minute(10))
            .await
            .unwrap();
        assert_eq!((restored.photos, restored.kept_aside), (4, None));
        holds(&other.open().await, &checks).await;
    }

    // In the place of a history that is there: that one is kept aside.
    let other = &others[0];
    let later = other.open().await;
    let refused = History::restore(&other.home, &file, "0.1.0", minute(10)).await;
    assert!(matches!(refused, Err(Error::InUse)), "{refused:?}");
    later
        .save_board(
            &Board {
                name: "Late".into(),
                ..board()
            },
            minute(11),
        )
        .await
        .unwrap();
    later.close().await;
    drop(later);
    let restored = History::restore(&other.home, &file, "0.1.0", minute(12))
        .await
        .unwrap();
    let aside = restored.kept_aside.unwrap();
    let history = other.open().await;
    assert_eq!(history.boards().await.unwrap().len(), 1);
    let merged = history
        .import(aside.parent().unwrap(), OnConflict::Refuse)
        .await
        .unwrap();
    assert_eq!(
        merged.added.get("boards"),
        Some(&1),
        "the board that was kept aside is brought back"
    );
    // A shared database that holds something is not replaced.
    if let Some(other) = others.get(1) {
        let refused = History::restore(&other.home, &file, "0.1.0", minute(12)).await;
        assert!(
            matches!(refused, Err(Error::NotEmpty { boards: 1 })),
            "{refused:?}"
        );
    }
    damaged_backups_are_refused(&file, &others[0]).await;
}

async fn damaged_backups_are_refused(file: &Path, bench: &Bench) {
    let bytes = std::fs::read(file).unwrap();
    let bad = bench.path("bad.tar");
    let cut = bytes.len() - 3000;
    let mut flipped = bytes.clone();
    flipped[3000] ^= 0x40;
    for (what, bytes) in [
        ("cut", &bytes[..cut]),
        ("flipped", &flipped[..]),
        ("other", b"dear diary".as_slice()),
        ("empty", b""),
    ] {
        std::fs::write(&bad, bytes).unwrap();
        let fresh = Bench::sqlite().unwrap();
        let refused = History::restore(&fresh.home, &bad, "0.1.0", minute(1)).await;
        assert!(
            matches!(refused, Err(Error::NoBackup { .. })),
            "{what}: {refused:?}"
        );
        assert!(!fresh.folder().join("history.sqlite3").exists(), "{what}");
    }
}

async fn an_export_comes_back_whole(bench: &Bench) {
    let history = bench.open().await;
    let checks = fill(&history).await;
    let csv = history
        .export(&bench.path("csv"), ExportForm::Csv, None)
        .await
        .unwrap();
    assert_eq!(
        (csv.rows["checks.csv"], csv.rows["values.csv"], csv.photos),
        (3, 3, 0)
    );
    let values = std::fs::read_to_string(bench.path("csv/values.csv")).unwrap();
    let lines: Vec<&str> = values.split("\r\n").collect();
    assert_eq!(
        lines[0],
        "check_id,at,board_id,board_name,corner,kind,name,place,value,u95,unit,verdict"
    );
    let wanted = format!(
        "{},2026-03-08T10:01:00+05:30,{},Kestrel 2,right,gap,gap,,1.1,0.05,mm,within",
        checks[1].id, checks[1].board.id
    );
    assert_eq!(lines[2], wanted);
    let shop = std::fs::read_to_string(bench.path("csv/shop.csv")).unwrap();
    assert!(
        shop.contains("\"Harbour Lane 4\nPort \"\"Elm\"\", west\""),
        "{shop}"
    );
    let words = std::fs::read_to_string(bench.path("csv/COLUMNS.md")).unwrap();
    for file in csv.rows.keys() {
        let head = std::fs::read_to_string(bench.path("csv").join(file)).unwrap();
        for column in head.split("\r\n").next().unwrap().split(',') {
            assert!(
                words.contains(&format!("| `{column}` | ")),
                "{file}: {column} is not described"
            );
        }
    }

    let json = bench.path("json");
    let exported = history
        .export(&json, ExportForm::Json, Some(PhotosOut::Untouched))
        .await
        .unwrap();
    assert_eq!((exported.photos, exported.left_out.len()), (4, 0));
    assert!(matches!(
        history
            .export(&json, ExportForm::Json, Some(PhotosOut::Untouched))
            .await,
        Err(Error::Exists(_))
    ));
    let list: serde_json::Value =
        serde_json::from_slice(&std::fs::read(json.join("checks.json")).unwrap()).unwrap();
    assert_eq!(
        list[0]["result"]["values"]["gap"]["unit"], "mm",
        "results are no text within text"
    );
    let other = Bench::sqlite().unwrap();
    let into = other.open().await;
    let merged = into.import(&json, OnConflict::Refuse).await.unwrap();
    assert!(merged.done && merged.conflicts.is_empty());
    holds(&into, &checks).await;
    let again = into.import(&json, OnConflict::Refuse).await.unwrap();
    assert!(again.added.is_empty(), "{again:?}");

    std::fs::write(json.join("boards.json"), "[{\"id\": \"b\"").unwrap();
    let refused = into.import(&json, OnConflict::Refuse).await;
    assert!(matches!(refused, Err(Error::BadExport { .. })), "{refused:?}");
    lists_for_spreadsheets_come_back(&history, &bench.path("csv"), &checks).await;
}

/// A formula for a name does no harm in a spreadsheet, and comes back as it was; so does all else.
async fn lists_for_spreadsheets_come_back(history: &History, plain: &Path, checks: &[SavedCheck]) {
    let other = Bench::sqlite().unwrap();
    let into = other.open().await;
    let refused = into.import(plain, OnConflict::Refuse).await;
    assert!(
        matches!(refused, Err(Error::NotFound { what: "photo", .. })),
        "{refused:?}"
    );
    let sly = Board {
        name: "=1+1".into(),
        owner: "@ada".into(),
        notes: "'-5".into(),
        ..board()
    };
    let sly = history.save_board(&sly, minute(9)).await.unwrap();
    let csv = other.path("csv");
    history
        .export(&csv, ExportForm::Csv, Some(PhotosOut::Untouched))
        .await
        .unwrap();
    let boards = std::fs::read_to_string(csv.join("boards.csv")).unwrap();
    assert!(boards.contains(",'=1+1,'@ada,''-5,"), "{boards}");
    let merged = into.import(&csv, OnConflict::Refuse).await.unwrap();
    assert!(merged.done && merged.conflicts.is_empty(), "{merged:?}");
    holds(&into, checks).await;
    assert_eq!(into.board(&sly.id).await.unwrap(), sly);
    let again = into.import(&csv, OnConflict::Refuse).await.unwrap();
    assert!(again.added.is_empty(), "{again:?}");
    // And the other way round: what came by spreadsheet is told in JSON as it was.
    let [here, there] = ["here", "there"].map(|name| other.path(name));
    history.export(&here, ExportForm::Json, None).await.unwrap();
    into.export(&there, ExportForm::Json, None).await.unwrap();
    for table in [
        "boards",
        "drives",
        "corners",
        "visits",
        "visit_notes",
        "checks",
        "seals",
        "advice",
    ] {
        let [ours, theirs] = [&here, &there].map(|folder| {
            let text = std::fs::read(folder.join(format!("{table}.json"))).unwrap();
            serde_json::from_slice::<serde_json::Value>(&text).unwrap()
        });
        assert_eq!(ours, theirs, "{table}");
    }
    std::fs::write(
        csv.join("visits.csv"),
        "id,board_id,day,opened_at,deleted_at\r\na,b\r\n",
    )
    .unwrap();
    let refused = into.import(&csv, OnConflict::Refuse).await.unwrap_err();
    assert!(
        refused.to_string().contains("line 2 has 2 fields instead of 5"),
        "{refused}"
    );
}

async fn two_histories_become_one(bench: &Bench) {
    let (here, elsewhere) = (bench.open().await, Bench::sqlite().unwrap());
    let checks = fill(&here).await;
    let file = bench.path("backup.tar");
    here.back_up(&file, PhotosOut::Untouched, minute(6))
        .await
        .unwrap();
    History::restore(&elsewhere.home, &file, "0.1.0", minute(6))
        .await
        .unwrap();
    // From the same state both go on: another check of the same board on the same new day, another board, a ring.
    let there = elsewhere.open().await;
    let kept = &checks[0].board;
    let day = minute(24 * 60);
    let ours = here
        .save_check(
            check(kept, Corner::Left, 2.0, vec![photo("ours.jpg", b"ours")]),
            day,
        )
        .await
        .unwrap();
    let theirs = there
        .save_check(
            check(kept, Corner::Left, 3.0, vec![photo("theirs.jpg", b"theirs")]),
            day,
        )
        .await
        .unwrap();
    let new = there
        .save_board(
            &Board {
                name: "Marlin".into(),
                ..board()
            },
            day,
        )
        .await
        .unwrap();
    there
        .save_check(check(&new, Corner::Left, 4.0, vec![]), day)
        .await
        .unwrap();
    let mut rings = there.kept_stock().await.unwrap();
    rings.lines.push(SpacerStock {
        label: "1/2 in".into(),
        thickness: 12.7,
        u95: 0.03,
        count: 2,
    });
    there.save_stock(&rings.lines, rings.revision, day).await.unwrap();
    let visit = there.visits(&kept.id).await.unwrap()[1].id.clone();
    there
        .add_seal(&kept.id, &seal(&visit, 2, "b", Some("a")))
        .await
        .unwrap();
    there.close().await;
    drop(there);

    let merged = here.import(elsewhere.folder(), OnConflict::Refuse).await.unwrap();
    assert!(
        merged.done && merged.conflicts.is_empty() && merged.left_out.is_empty(),
        "{merged:?}"
    );
    assert_eq!(
        (
            merged.added["boards"],
            merged.added["checks"],
            merged.added["seals"]
        ),
        (1, 2, 1)
    );
    assert_eq!(here.check(&theirs).await.unwrap().result, made::result(3.0));
    assert_eq!(here.check(&ours).await.unwrap().result, made::result(2.0));
    let theirs = here.check(&theirs).await.unwrap();
    assert_eq!(here.photos().get(&theirs.photos[0].sha256).unwrap(), b"theirs");
    assert_eq!(here.visits(&kept.id).await.unwrap().len(), 2, "one visit a day");
    assert_eq!(here.visits(&new.id).await.unwrap().len(), 1);
    let labels: Vec<String> = here
        .stock()
        .await
        .unwrap()
        .into_iter()
        .map(|ring| ring.label)
        .collect();
    assert_eq!(labels, ["7/16 in", "1/2 in"]);
    assert_eq!(here.search("marlin", 5).await.unwrap()[0].checks, 1);
    assert!(
        here.import(elsewhere.folder(), OnConflict::Refuse)
            .await
            .unwrap()
            .added
            .is_empty()
    );
}

async fn what_differs_is_refused_or_kept_twice(bench: &Bench) {
    let (here, elsewhere) = (bench.open().await, Bench::sqlite().unwrap());
    let checks = fill(&here).await;
    let file = bench.path("backup.tar");
    here.back_up(&file, PhotosOut::Untouched, minute(6))
        .await
        .unwrap();
    History::restore(&elsewhere.home, &file, "0.1.0", minute(6))
        .await
        .unwrap();
    let there = elsewhere.open().await;
    let kept = &checks[0].board;
    let noted = |notes: &str| Board {
        notes: notes.into(),
        ..kept.clone()
    };
    here.change_board(
        &noted("ours"),
        here.kept_board(&kept.id).await.unwrap().revision,
        minute(7),
    )
    .await
    .unwrap();
    there
        .change_board(
            &noted("theirs"),
            there.kept_board(&kept.id).await.unwrap().revision,
            minute(7),
        )
        .await
        .unwrap();
    let mut rings = there.kept_stock().await.unwrap();
    rings.lines[0].count = 9;
    there
        .save_stock(&rings.lines, rings.revision, minute(7))
        .await
        .unwrap();
    let new = there
        .save_check(check(kept, Corner::Left, 3.0, vec![]), minute(8))
        .await
        .unwrap();
    let visit = there.visits(&kept.id).await.unwrap()[0].id.clone();
    here.add_seal(&kept.id, &seal(&visit, 2, "b", Some("a")))
        .await
        .unwrap();
    there
        .add_seal(&kept.id, &seal(&visit, 2, "c", Some("a")))
        .await
        .unwrap();
    there.close().await;
    drop(there);
    // A check that somebody tampered with.
    let url = format!(
        "sqlite://{}",
        elsewhere.folder().join("history.sqlite3").display()
    );
    let pool = sqlx::SqlitePool::connect(&url).await.unwrap();
    sqlx::query("UPDATE checks SET result = json_set(result, '$.values.gap.value', 9.9) WHERE id = $1")
        .bind(&checks[0].id)
        .execute(&pool)
        .await
        .unwrap();
    pool.close().await;

    let refused = here.import(elsewhere.folder(), OnConflict::Refuse).await.unwrap();
    assert!(!refused.done);
    let named: Vec<&str> = refused.conflicts.iter().map(|one| one.what.as_str()).collect();
    assert_eq!(
        named,
        [
            "board Kestrel 2",
            "spacer 7/16 in",
            "check of 2026-03-08T10:00:00+05:30"
        ]
    );
    assert_eq!(
        refused.conflicts[0].differs,
        "notes is \"ours\" here and \"theirs\" there"
    );
    assert_eq!(refused.left_out[0].what, "sealed record 2");
    assert!(here.check(&new).await.is_err(), "nothing was imported");
    assert_eq!(here.boards().await.unwrap().len(), 1);

    let both = here
        .import(elsewhere.folder(), OnConflict::KeepBoth)
        .await
        .unwrap();
    assert!(both.done);
    assert_eq!(here.board(&kept.id).await.unwrap().notes, "ours");
    assert_eq!(
        here.check(&checks[0].id).await.unwrap(),
        checks[0],
        "ours is as it was"
    );
    let copy = here.search("(imported) theirs", 5).await.unwrap();
    assert_eq!(copy[0].name, "Kestrel 2 (imported)");
    let all = here.checks(&kept.id).await.unwrap();
    assert_eq!(
        all.len(),
        5,
        "three, the new one, and the other's form of the first"
    );
    let tampered = all
        .iter()
        .find(|one| one.result.quantity("gap").unwrap().value == 9.9)
        .unwrap();
    assert_eq!(
        (tampered.photos.len(), tampered.work_done.as_str()),
        (2, "ring changed, \"tight\"")
    );
    let rings: Vec<(String, u32)> = here
        .stock()
        .await
        .unwrap()
        .into_iter()
        .map(|ring| (ring.label, ring.count))
        .collect();
    assert_eq!(rings, [("7/16 in".into(), 4), ("7/16 in (imported)".into(), 9)]);
    assert_eq!(
        here.seals(&kept.id).await.unwrap()[1].seal,
        "b".repeat(64),
        "our chain stays"
    );
    let again = here
        .import(elsewhere.folder(), OnConflict::KeepBoth)
        .await
        .unwrap();
    assert!(again.added.is_empty(), "{again:?}");
}

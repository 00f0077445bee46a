//! A history of every earlier form is brought along whole, on both databases.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::old::{FORMS, lay_out_postgres, lay_out_sqlite};
use made::{Bench, check, minute, photo};
use shimwright_history::{Error, History};
use shimwright_record::{CheckKind, Corner};
use sqlx::PgPool;

wherever_it_lies!(every_earlier_form_is_brought_along);

async fn every_earlier_form_is_brought_along(bench: &Bench) {
    assert!(FORMS.iter().count() >= 4);
    for count in 1..=FORMS.iter().count() {
        if bench.folder().exists() {
            std::fs::remove_dir_all(bench.folder()).unwrap();
        }
        match &bench.home.database {
            None => lay_out_sqlite(bench.folder(), count).await,
            Some(url) => lay_out_postgres(url, count).await,
        }
        let history = bench.open().await;
        history.photos().put(b"first").unwrap();
        let names: Vec<String> = history
            .boards()
            .await
            .unwrap()
            .into_iter()
            .map(|line| line.name)
            .collect();
        assert_eq!(names, ["Kestrel 2", "Marlin"], "form {count}");
        let kept = history.kept_board("b1").await.unwrap();
        assert_eq!(
            (
                kept.board.drive.rim_diameter,
                kept.board.drive.description.as_ref()
            ),
            (99.0, None)
        );
        assert_eq!(kept.board.corners[0].spacer_label, "7/16 in");
        let saved = history.check("c1").await.unwrap();
        assert_eq!(
            (saved.work_done.as_str(), saved.program.as_str()),
            ("ring changed", "0.0.9")
        );
        assert_eq!(saved.result, made::result(1.25));
        assert_eq!(history.photos().get(&saved.photos[0].sha256).unwrap(), b"first");
        assert_eq!(history.stock().await.unwrap()[0].label, "1/2 in");
        assert_eq!(
            history.search("ada", 5).await.unwrap().len(),
            1,
            "form {count}: search is filled in"
        );
        assert_eq!(
            history
                .trend("b1", Corner::Left, CheckKind::Gap, "gap")
                .await
                .unwrap()
                .len(),
            1
        );
        // What came along can be changed and added to.
        history
            .change_board(&kept.board, kept.revision, minute(1))
            .await
            .unwrap();
        history
            .save_check(
                check(&kept.board, Corner::Right, 2.0, vec![photo("b", b"b")]),
                minute(2),
            )
            .await
            .unwrap();
        assert_eq!(history.checks("b1").await.unwrap().len(), 2);
        history.close().await;
    }
}

#[tokio::test]
async fn a_newer_form_on_postgres_is_refused_with_both_versions() {
    let Some(bench) = Bench::postgres() else {
        return;
    };
    bench.open().await.close().await;
    let pool = PgPool::connect(bench.home.database.as_deref().unwrap())
        .await
        .unwrap();
    for statement in [
        "UPDATE program SET version = '9.4.0'",
        "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
            VALUES (999, 'of the future', true, '\\x00', 0)",
    ] {
        sqlx::query(statement).execute(&pool).await.unwrap();
    }
    pool.close().await;
    let refused = History::open_at(&bench.home, "0.1.0").await.unwrap_err();
    assert!(
        matches!(refused, Error::Newer { its_schema: 999, .. }),
        "{refused:?}"
    );
    assert!(refused.to_string().contains("9.4.0"), "{refused}");
}

//! Histories as earlier programs laid them out and filled them.

use super::{board, check, photo};
use shimwright_record::{Board, Corner};
use sqlx::migrate::Migrator;
use sqlx::{AssertSqlSafe, PgPool, SqlitePool};
use std::path::Path;

/// All forms of SQLite.
pub static FORMS: Migrator = sqlx::migrate!("./migrations/sqlite");
static POSTGRES: Migrator = sqlx::migrate!("./migrations/postgres");

/// What every form from the first on can hold: two boards, their drive, a check with photo, advice and work done, a ring.
fn first_rows() -> Vec<String> {
    let board = Board {
        id: "b1".into(),
        ..board()
    };
    let new = check(&board, Corner::Left, 1.25, vec![photo("a.jpg", b"first")]);
    let sha256 = shimwright_history::sha256_hex(b"first");
    let text = |value: &dyn erased::Json| format!("'{}'", value.json().replace('\'', "''"));
    vec![
        "INSERT INTO program (id, version) VALUES (1, '0.0.9')".into(),
        "INSERT INTO boards (id, name, owner, notes, created_at, changed_at) VALUES
            ('b1', 'Kestrel 2', 'ADA', 'rear', '2026-01-01T10:00:00+00:00', '2026-01-01T10:00:00+00:00'),
            ('b2', 'Marlin', '', '', '2026-01-01T10:00:00+00:00', '2026-01-01T10:00:00+00:00')".into(),
        "INSERT INTO drives (board_id, rim_diameter_mm, located, minimum_gap_mm, motor_slide_in_mm, motor_slide_out_mm,
                             same_spacer_everywhere, stack_limit)
            VALUES ('b1', 99.0, 'wheel', 0.5, -0.5, 0.5, 1, 1), ('b2', 98.0, 'hub', 0.4, -0.5, 0.5, 0, 2)".into(),
        "INSERT INTO corners (board_id, corner, spacer_label, spacer_thickness_mm, belt_offset_mm, belt_offset_u95_mm)
            VALUES ('b1', 'left', '7/16 in', 11.1125, 0.2, 0.1)".into(),
        "INSERT INTO spacer_stock (id, position, label, thickness_mm, u95_mm, count, changed_at)
            VALUES ('s1', 0, '1/2 in', 12.7, 0.03, 4, '2026-01-01T10:00:00+00:00')".into(),
        "INSERT INTO visits (id, board_id, day, opened_at) VALUES ('v1', 'b1', '2026-01-02', '2026-01-02T10:00:00+00:00')"
            .into(),
        format!(
            "INSERT INTO checks (id, visit_id, board_id, corner, kind, at, at_ms, board, job, camera, result, program)
                VALUES ('c1', 'v1', 'b1', 'left', 'gap', '2026-01-02T10:00:00+00:00', 1767348000000, {}, {}, NULL, {}, '0.0.9')",
            text(&new.board),
            text(&new.job),
            text(&new.result)
        ),
        "INSERT INTO work_done (id, check_id, text, at, at_ms)
            VALUES ('w1', 'c1', 'ring changed', '2026-01-02T11:00:00+00:00', 1767351600000)".into(),
        format!(
            "INSERT INTO photos (sha256, bytes, facts, stored_at) VALUES ('{sha256}', 5, '{{}}', '2026-01-02T10:00:00+00:00')"
        ),
        format!("INSERT INTO check_photos (check_id, position, sha256, name) VALUES ('c1', 0, '{sha256}', 'a.jpg')"),
    ]
}

mod erased {
    /// What can be written as JSON, whatever it is.
    pub trait Json {
        fn json(&self) -> String;
    }
    impl<T: serde::Serialize> Json for T {
        fn json(&self) -> String {
            serde_json::to_string(self).unwrap()
        }
    }
}

fn first(all: &Migrator, count: usize) -> Migrator {
    Migrator::with_migrations(all.iter().take(count).cloned().collect())
}

/// Lays out the first `count` forms of SQLite in a folder, and fills them.
pub async fn lay_out_sqlite(folder: &Path, count: usize) {
    std::fs::create_dir_all(folder).unwrap();
    let url = format!("sqlite://{}?mode=rwc", folder.join("history.sqlite3").display());
    let pool = SqlitePool::connect(&url).await.unwrap();
    first(&FORMS, count).run(&pool).await.unwrap();
    for row in first_rows() {
        sqlx::query(AssertSqlSafe(row)).execute(&pool).await.unwrap();
    }
    pool.close().await;
}

/// The same on PostgreSQL; what was there before goes.
pub async fn lay_out_postgres(url: &str, count: usize) {
    let pool = PgPool::connect(url).await.unwrap();
    for statement in ["DROP SCHEMA public CASCADE", "CREATE SCHEMA public"] {
        sqlx::query(statement).execute(&pool).await.unwrap();
    }
    first(&POSTGRES, count).run(&pool).await.unwrap();
    for row in first_rows() {
        sqlx::query(AssertSqlSafe(row)).execute(&pool).await.unwrap();
    }
    pool.close().await;
}

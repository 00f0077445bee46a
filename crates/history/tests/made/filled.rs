//! A history with something in every table.

use super::{board, check, minute, photo};
use shimwright_history::{History, SavedCheck, Seal};
use shimwright_record::*;

/// A history with something in every table.
pub async fn fill(history: &History) -> Vec<SavedCheck> {
    let kept = history.save_board(&board(), minute(0)).await.unwrap();
    let shop = Shop {
        name: "Tidewheel Works".into(),
        address: "Harbour Lane 4\nPort \"Elm\", west".into(),
        technician: "Ada".into(),
    };
    history.save_shop(&shop, minute(0)).await.unwrap();
    let rings = [SpacerStock {
        label: "7/16 in".into(),
        thickness: 11.1125,
        u95: 0.03,
        count: 4,
    }];
    let seen = history.kept_stock().await.unwrap().revision;
    history.save_stock(&rings, seen, minute(0)).await.unwrap();
    let mut ids = Vec::new();
    for (n, corner) in (0..).zip([Corner::Left, Corner::Right, Corner::Left]) {
        let mut new = check(
            &kept,
            corner,
            1.0 + 0.1 * f64::from(n),
            vec![photo("a.jpg", &[n as u8]), photo("b.jpg", b"b")],
        );
        new.camera = Some("{\n  \"fx\": 2290.0\n}".into());
        new.work_done = "ring changed, \"tight\"".into();
        ids.push(history.save_check(new, minute(i64::from(n))).await.unwrap());
    }
    let visit = history.visits(&kept.id).await.unwrap()[0].id.clone();
    let notes = VisitNotes {
        technician: "Ada".into(),
        ..VisitNotes::default()
    };
    history.set_visit_notes(&visit, &notes, minute(4)).await.unwrap();
    let done = ServiceDone {
        check: "belt".into(),
        day: "2026-03-01".parse().unwrap(),
        odometer_km: Some(210.5),
        note: String::new(),
    };
    history
        .add_service_done(&kept.id, &done, minute(5))
        .await
        .unwrap();
    history
        .add_seal(&kept.id, &seal(&visit, 1, "a", None))
        .await
        .unwrap();
    let mut checks = Vec::new();
    for id in &ids {
        checks.push(history.check(id).await.unwrap());
    }
    checks
}

/// A sealed record.
pub fn seal(visit: &str, number: u32, letter: &str, previous: Option<&str>) -> Seal {
    Seal {
        number,
        visit_id: visit.into(),
        seal: letter.repeat(64),
        previous: previous.map(|letter| letter.repeat(64)),
        fingerprint: "f".repeat(64),
        form: "{}".into(),
        at: "2026-03-08T10:00:00+05:30".into(),
    }
}

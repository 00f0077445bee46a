//! The shop, what is written down of visits, and the chain of sealed records.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{Bench, board, check, minute, photo};
use shimwright_history::{Error, Seal};
use shimwright_record::{Corner, PartUsed, Shop, TorqueUsed, VisitNotes};

wherever_it_lies!(
    the_shop_is_remembered_and_can_be_corrected,
    a_visit_keeps_its_notes_and_lists_its_checks_in_order,
    a_chain_of_seals_grows_at_its_end_only,
);

async fn the_shop_is_remembered_and_can_be_corrected(bench: &Bench) {
    let history = bench.open().await;
    assert_eq!(history.shop().await.unwrap(), Shop::default());
    let mut shop = Shop {
        name: "Tidewheel Works".into(),
        address: "Harbour Lane 4\nPort Elm".into(),
        technician: "Ada".into(),
    };
    history.save_shop(&shop, minute(0)).await.unwrap();
    shop.technician = "Ben".into();
    history.save_shop(&shop, minute(1)).await.unwrap();
    history.close().await;
    assert_eq!(bench.open().await.shop().await.unwrap(), shop);
}

async fn a_visit_keeps_its_notes_and_lists_its_checks_in_order(bench: &Bench) {
    let history = bench.open().await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    let mut ids = Vec::new();
    for (i, corner) in [Corner::Left, Corner::Right].into_iter().enumerate() {
        let new = check(&board, corner, 1.0, vec![photo("a.jpg", &[i as u8])]);
        ids.push(history.save_check(new, minute(i as i64)).await.unwrap());
    }
    let visits = history.visits(&board.id).await.unwrap();
    assert_eq!(
        (visits.len(), visits[0].day.as_str(), &visits[0].notes),
        (1, "2026-03-08", &VisitNotes::default())
    );
    assert_eq!(
        history.open_visit(&board.id, minute(5)).await.unwrap(),
        visits[0].id
    );
    let notes = VisitNotes {
        odometer_km: Some(812.5),
        technician: "Ada".into(),
        parts: vec![PartUsed {
            name: "spacer 31/64 in".into(),
            count: 2,
        }],
        torques: vec![TorqueUsed {
            screw: "pulley screws".into(),
            newton_metres: 6.0,
            source: "the board's manual".into(),
        }],
        remarks: "belt looks fine".into(),
    };
    history
        .set_visit_notes(&visits[0].id, &VisitNotes::default(), minute(6))
        .await
        .unwrap();
    history
        .set_visit_notes(&visits[0].id, &notes, minute(6))
        .await
        .unwrap();
    assert_eq!(history.visits(&board.id).await.unwrap()[0].notes, notes);
    let kept: Vec<String> = history
        .visit_checks(&visits[0].id)
        .await
        .unwrap()
        .into_iter()
        .map(|c| c.id)
        .collect();
    assert_eq!(kept, ids);
    // A day later there is another visit, and it comes first.
    let later = history.open_visit(&board.id, minute(24 * 60)).await.unwrap();
    assert_eq!(history.visits(&board.id).await.unwrap()[0].id, later);
    let unknown = history.set_visit_notes("none", &notes, minute(7)).await;
    assert!(matches!(unknown, Err(Error::NotFound { what: "visit", .. })));
}

async fn a_chain_of_seals_grows_at_its_end_only(bench: &Bench) {
    let history = bench.open().await;
    let board = history.save_board(&board(), minute(0)).await.unwrap();
    let visit = history.open_visit(&board.id, minute(0)).await.unwrap();
    let seal = |number: u32, letter: &str, previous: Option<&str>| Seal {
        number,
        visit_id: visit.clone(),
        seal: letter.repeat(64),
        previous: previous.map(|letter| letter.repeat(64)),
        fingerprint: "f".repeat(64),
        form: "{}".into(),
        at: "2026-03-08T10:00:00+05:30".into(),
    };
    assert_eq!(history.seals(&board.id).await.unwrap(), []);
    let wrong = [seal(2, "b", None), seal(1, "a", Some("0"))];
    for wrong in &wrong {
        let refusal = history.add_seal(&board.id, wrong).await;
        assert!(matches!(refusal, Err(Error::ChainMoved { .. })), "{wrong:?}");
    }
    history.add_seal(&board.id, &seal(1, "a", None)).await.unwrap();
    history
        .add_seal(&board.id, &seal(2, "b", Some("a")))
        .await
        .unwrap();
    for wrong in [
        seal(3, "c", Some("a")),
        seal(2, "c", Some("b")),
        seal(4, "c", Some("b")),
    ] {
        assert!(history.add_seal(&board.id, &wrong).await.is_err(), "{wrong:?}");
    }
    let kept = history.seals(&board.id).await.unwrap();
    assert_eq!(kept, [seal(1, "a", None), seal(2, "b", Some("a"))]);
}

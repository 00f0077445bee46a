//! One phone, one check: pairing, what may be asked, and when it is over.

mod visitor;

use serde_json::json;
use shimwright_receive::{Error, Event, Identity, Limits, Page, Setup, StopReason, receive};
use std::sync::Arc;
use std::time::{Duration, Instant};
use visitor::{BYTES, HERE, Remembering, Visit, sum_of};

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_pairs_looks_and_hands_in_a_photo() {
    let visit = Visit::paired(Limits::default()).await;
    let look = "/api/look?width=4&height=2&photo_width=16";
    let looked = visit.ask("POST", look, BYTES, b"12345678").await;
    assert_eq!((looked.status, looked.json()), (200, json!({"judged": true})));
    let frame = visit.bench.frames.lock().expect("frames").remove(0);
    assert_eq!((frame.width, frame.height, frame.photo_width), (4, 2, 16));
    assert_eq!(frame.grey, b"12345678");

    let photo = b"\xff\xd8 a photo with <EXIF>";
    let sum = sum_of(photo);
    let name = "<img src=x onerror=alert(1)>.jpg";
    let announced = visit.announce(&sum, photo.len(), name).await;
    assert_eq!(
        (announced.status, announced.json()),
        (200, json!({"is": "coming", "have": 0}))
    );
    let more = visit.piece(&sum, 0, &photo[..9]).await;
    assert_eq!(
        (more.status, more.json()),
        (200, json!({"is": "coming", "have": 9}))
    );
    let kept = visit.piece(&sum, 9, &photo[9..]).await;
    assert_eq!(
        (kept.status, kept.json()),
        (200, json!({"is": "kept", "said": {"number": 1}}))
    );
    let again = visit.announce(&sum, photo.len(), name).await;
    assert_eq!(again.json()["is"], "kept");
    let standing = visit.ask("GET", "/api/standing", &[], b"").await;
    assert_eq!(standing.json(), json!({"photos": 1}));
    assert!(
        standing.head.contains("x-content-type-options: nosniff"),
        "{}",
        standing.head
    );
    assert!(standing.head.contains("default-src 'none'"), "{}", standing.head);
    assert_eq!(
        visit.ask("POST", "/api/measure", &[], b"").await.json(),
        json!({"started": true})
    );
    let photos = visit.bench.photos.lock().expect("photos");
    assert_eq!(photos.len(), 1);
    assert_eq!(
        (photos[0].bytes.as_slice(), photos[0].name.as_str()),
        (&photo[..], name)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_bench_refuses_or_fails_on_is_told_and_stays_told() {
    let visit = Visit::paired(Limits::default()).await;
    for (photo, code) in [(&b"no picture"[..], "bad-input"), (b"fault", "internal")] {
        let sum = sum_of(photo);
        visit.announce(&sum, photo.len(), "a.jpg").await;
        let refused = visit.piece(&sum, 0, photo).await.json();
        assert_eq!(
            (&refused["is"], &refused["failure"]["code"]),
            (&json!("refused"), &json!(code))
        );
        assert_eq!(visit.announce(&sum, photo.len(), "a.jpg").await.json(), refused);
    }
    let changed = sum_of(b"what was announced");
    visit.announce(&changed, 5, "a.jpg").await;
    assert_eq!(visit.piece(&changed, 0, b"other").await.status, 422);
    assert!(visit.bench.photos.lock().expect("photos").is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_code_is_good_for_one_phone() {
    let visit = Visit::paired(Limits::default()).await;
    let replayed = visit.pair(&visit.code).await;
    assert_eq!(replayed.status, 410, "{replayed:?}");
    assert_eq!(visit.ask("GET", "/api/standing", &[], b"").await.status, 200);
    for said in [
        "",
        "Bearer ",
        "Bearer 0",
        &format!("Basic {}", visit.token),
        &format!("bearer{}", visit.token),
    ] {
        let other = visit
            .ask("GET", "/api/standing", &[("authorization", said)], b"")
            .await;
        assert_eq!(other.status, 401, "{said}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn guessing_closes_the_server() {
    let mut visit = Visit::new(Limits::default()).await;
    let first = if visit.code.starts_with('1') { '2' } else { '1' };
    let wrong = format!("{first}{}", &visit.code[1..]);
    for left in [4, 3, 2, 1, 0] {
        let reply = visit.pair(&wrong).await;
        assert_eq!(reply.status, 403);
        // With its code and the number in it, so that the phone can say it in its own language.
        let message = reply.json()["message"].clone();
        assert_eq!(message["text"], format!("the code is wrong; tries left: {left}"));
        assert_eq!(message["code"], "the code is wrong; tries left: {left}");
        assert_eq!(message["values"]["left"]["value"].as_f64(), Some(f64::from(left)));
    }
    assert_eq!(visit.receiving.ended().await, StopReason::WrongCodes);
    let request = visit.request("POST", "/api/pair", &[], b"{}");
    assert!(visit.send(&request).await.is_err(), "it still listens");
    let events = visit.bench.events.lock().expect("events");
    assert_eq!(
        events.first(),
        Some(&Event::Started {
            address: visit.address
        })
    );
    assert_eq!(
        events
            .iter()
            .filter(|event| matches!(event, Event::WrongCode { .. }))
            .count(),
        5
    );
    assert_eq!(events.last(), Some(&Event::Stopped(StopReason::WrongCodes)));
}

#[tokio::test(flavor = "multi_thread")]
async fn it_closes_by_itself() {
    let short = Limits {
        code_life: Duration::from_millis(300),
        idle: Duration::from_millis(900),
        ..Limits::default()
    };
    let mut nobody = Visit::new(short).await;
    assert_eq!(nobody.receiving.ended().await, StopReason::NobodyPaired);
    let mut visit = Visit::paired(short).await;
    let begun = Instant::now();
    for _ in 0..4 {
        tokio::time::sleep(Duration::from_millis(400)).await;
        assert_eq!(visit.ask("POST", "/api/measure", &[], b"").await.status, 200);
    }
    // Asking where it stands is no use of it.
    tokio::time::sleep(Duration::from_millis(500)).await;
    assert_eq!(visit.ask("GET", "/api/standing", &[], b"").await.status, 200);
    assert_eq!(visit.receiving.ended().await, StopReason::Idle);
    let took = begun.elapsed().as_millis();
    assert!((2400..3300).contains(&took), "it closed after {took} ms");
}

#[tokio::test(flavor = "multi_thread")]
async fn it_stops_when_asked() {
    let mut visit = Visit::paired(Limits::default()).await;
    visit.receiving.stop();
    assert_eq!(visit.receiving.ended().await, StopReason::Asked);
    let request = visit.request("GET", "/", &[], b"");
    assert!(visit.send(&request).await.is_err(), "it still listens");
}

#[tokio::test(flavor = "multi_thread")]
async fn addresses_that_others_reach_are_refused() {
    for address in ["0.0.0.0", "8.8.8.8", "::"] {
        let setup = Setup {
            address: address.parse().expect("an address"),
            port: 0,
            identity: Identity::new(HERE, (2026, 3, 8)).expect("a certificate"),
            page: Page::default(),
            limits: Limits::default(),
        };
        let refused = receive(setup, Arc::new(Remembering::default())).await;
        assert!(
            matches!(refused, Err(Error::NotLocal(_))),
            "{address} was listened on"
        );
    }
}

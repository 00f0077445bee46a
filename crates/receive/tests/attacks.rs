//! What somebody on the same network may try.

mod visitor;

use serde_json::json;
use shimwright_receive::Limits;
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use visitor::{BYTES, Dice, Visit, read_reply, sum_of, unhurried};

/// Most memory of this process, visitors included, MB.
const MOST_MB: usize = 300;

fn memory_mb() -> usize {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux tells");
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kb = line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<usize>().ok());
    kb.expect("a number") / 1024
}

#[tokio::test(flavor = "multi_thread")]
async fn paths_lead_nowhere() {
    let visit = Visit::paired(unhurried()).await;
    assert_eq!(visit.ask("GET", "/", &[], b"").await.status, 200);
    assert_eq!(visit.ask("GET", "/assets/page.js", &[], b"").await.status, 200);
    let paths = [
        "/../../etc/passwd",
        "/assets/../../../etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "//etc/passwd",
        "/assets/",
        "/index.html/..",
        "/assets/page.js%00.html",
        "/api/photos/../standing",
        "/api/photos/",
        "/api",
        "/api/boards",
        "/api/photos/%2e%2e%2fstanding",
        "/.git/config",
        "/\\..\\..\\secret",
    ];
    for path in paths {
        for method in ["GET", "POST", "DELETE", "PROPFIND"] {
            let request = visit.request(method, path, &[], b"");
            // One that is no HTTP is answered so, or not at all.
            if let Ok(reply) = visit.send(&request).await {
                assert!((400..500).contains(&reply.status), "{method} {path}: {reply:?}");
                assert!(!String::from_utf8_lossy(&reply.body).contains("root:"), "{path}");
            }
        }
    }
    for name in ["../../a.jpg", "a/b.jpg", "a\\b.jpg", ".ssh", "a\u{0}b"] {
        assert_eq!(
            visit.announce(&sum_of(b"x"), 1, name).await.status,
            422,
            "{name:?}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_told_or_taken_before_pairing() {
    let visit = Visit::new(unhurried()).await;
    let asked = [
        ("GET", "/api/standing"),
        ("POST", "/api/photos"),
        ("POST", "/api/measure"),
        ("PUT", "/api/photos/00?at=0"),
        ("POST", "/api/look?width=1&height=1&photo_width=1"),
        ("GET", "/api/anything"),
        ("DELETE", "/api/pair"),
    ];
    for (method, path) in asked {
        assert_eq!(
            visit.ask(method, path, BYTES, b"1").await.status,
            401,
            "{method} {path}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn other_sites_and_names_are_turned_away() {
    let visit = Visit::paired(unhurried()).await;
    let port = visit.address.port();
    for host in [
        "attacker.example".to_owned(),
        format!("localhost:{port}"),
        format!("attacker.example:{port}"),
    ] {
        for path in ["/", "/api/standing"] {
            assert_eq!(
                visit.ask("GET", path, &[("host", &host)], b"").await.status,
                421,
                "{host}"
            );
        }
    }
    for origin in ["https://attacker.example", "null", ""] {
        for path in ["/api/pair", "/api/photos", "/api/measure"] {
            assert_eq!(
                visit.ask("POST", path, &[("origin", origin)], b"{}").await.status,
                403,
                "{origin}"
            );
        }
    }
    let foreign = visit
        .ask(
            "OPTIONS",
            "/api/photos",
            &[("origin", "https://attacker.example")],
            b"",
        )
        .await;
    assert_eq!(foreign.status, 403);
    assert!(!foreign.head.contains("access-control-allow"), "{}", foreign.head);
    // What a form of another site can send is of another kind, too.
    let form = [("content-type", "text/plain")];
    assert_eq!(visit.ask("POST", "/api/photos", &form, b"{}").await.status, 415);
}

#[tokio::test(flavor = "multi_thread")]
async fn bodies_that_are_too_long_or_endless_are_not_read() {
    let visit = Visit::paired(unhurried()).await;
    let sum = sum_of(b"x");
    let long = [("content-length", "40000001"), BYTES[0]];
    let piece = format!("/api/photos/{sum}?at=0");
    assert_eq!(visit.ask("PUT", &piece, &long, b"").await.status, 413);
    let look = "/api/look?width=1&height=1&photo_width=1";
    assert_eq!(visit.ask("POST", look, &long, b"").await.status, 413);
    assert_eq!(
        visit
            .ask("POST", "/api/pair", &[("content-length", "4097")], b"")
            .await
            .status,
        413
    );
    assert_eq!(visit.announce(&sum, 40_000_001, "a.jpg").await.status, 422);
    let endless = [("content-length", ""), ("transfer-encoding", "chunked"), BYTES[0]];
    assert_eq!(
        visit.ask("PUT", &piece, &endless, b"5\r\nhello\r\n").await.status,
        411
    );
    let both = [("transfer-encoding", "chunked"), BYTES[0]];
    let request = visit.request("PUT", &piece, &both, b"0\r\n\r\n");
    if let Ok(reply) = visit.send(&request).await {
        assert!((400..500).contains(&reply.status), "{reply:?}");
    }
    let line = "x".repeat(40_000);
    let request = visit.request("GET", "/", &[("x-long", &line)], b"");
    if let Ok(reply) = visit.send(&request).await {
        assert_eq!(reply.status, 431);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn slow_visitors_are_cut_off() {
    let hurried = Limits {
        head_wait: Duration::from_millis(300),
        body_wait: Duration::from_millis(300),
        ..unhurried()
    };
    let visit = Visit::paired(hurried).await;
    let begun = Instant::now();
    let mut mute = TcpStream::connect(visit.address).await.expect("connected");
    let plain = TcpStream::connect(visit.address).await.expect("connected");
    let mut slow_head = visit.secure(plain).await.expect("secure");
    slow_head
        .write_all(b"GET / HTTP/1.1\r\nhost: ")
        .await
        .expect("sent");
    let plain = TcpStream::connect(visit.address).await.expect("connected");
    let mut slow_body = visit.secure(plain).await.expect("secure");
    let request = visit.request("POST", "/api/pair", &[("content-length", "50")], b"{\"code\"");
    slow_body.write_all(&request).await.expect("sent");
    assert_eq!(read_reply(&mut slow_body).await.expect("an answer").status, 408);
    let mut rest = Vec::new();
    // What comes before the end does not matter, only that it comes.
    let _ = slow_head.read_to_end(&mut rest).await;
    let _ = mute.read_to_end(&mut rest).await;
    assert!(
        begun.elapsed() < Duration::from_secs(3),
        "it took {:?}",
        begun.elapsed()
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn five_hundred_strangers_do_not_keep_the_phone_out() {
    let visit = Visit::paired(Limits::default()).await;
    let mut strangers = Vec::new();
    for number in 0..500_u32 {
        let last = 2 + (number % 25) as u8;
        strangers.push(visit.stranger(last).await.expect("connected"));
    }
    let begun = Instant::now();
    for _ in 0..5 {
        assert_eq!(visit.ask("GET", "/api/standing", &[], b"").await.status, 200);
    }
    let took = begun.elapsed();
    assert!(took < Duration::from_secs(2), "five answers took {took:?}");
    let mut open = 0;
    for stranger in &mut strangers {
        let mut byte = [0];
        let read = tokio::time::timeout(Duration::from_millis(5), stranger.read(&mut byte)).await;
        open += usize::from(read.is_err());
    }
    assert!(open <= 56, "{open} strangers were let in");
    let memory = memory_mb();
    println!("{open} of 500 strangers let in, five answers in {took:?}, {memory} MB");
    assert!(memory < MOST_MB, "{memory} MB");
}

#[tokio::test(flavor = "multi_thread")]
async fn requests_are_rationed() {
    let visit = Visit::paired(Limits {
        requests_a_second: 2.0,
        requests_at_once: 5.0,
        ..Limits::default()
    })
    .await;
    let mut refused = 0;
    for _ in 0..20 {
        refused += usize::from(visit.ask("GET", "/api/standing", &[], b"").await.status == 429);
    }
    assert!(refused >= 8, "{refused} of 20 were refused");
    tokio::time::sleep(Duration::from_millis(600)).await;
    assert_eq!(visit.ask("GET", "/api/standing", &[], b"").await.status, 200);
}

/// Requests put together from good and bad parts: none brings an answer that blames the server, and it goes on.
#[tokio::test(flavor = "multi_thread")]
async fn odd_requests_never_make_it_fail() {
    let visit = Visit::paired(unhurried()).await;
    let mut dice = Dice(77);
    let methods = [
        "GET", "POST", "PUT", "HEAD", "DELETE", "PATCH", "OPTIONS", "TRACE",
    ];
    let sum = sum_of(b"0123456789");
    let paths = [
        "/",
        "/api/pair",
        "/api/standing",
        "/api/look",
        "/api/photos",
        "/api/measure",
        "/api/photos/x",
        "/nothing",
        "*",
        &format!("/api/photos/{sum}"),
    ];
    let queries = [
        "",
        "?",
        "?at=0",
        "?at=-1",
        "?at=99999999999999999999",
        "?at=0&at=1",
        "?at=%00",
        "?width=1&height=1&photo_width=1",
        "?width=4294967295&height=4294967295&photo_width=1",
        "?width=0&height=0&photo_width=0",
        "?width=1.5&height=x",
    ];
    let good = json!({"sha256": sum, "bytes": 10, "name": "a.jpg", "by_itself": true}).to_string();
    let bodies = [
        "",
        "{",
        "[]",
        "null",
        "{\"code\":1}",
        "{\"code\":\"\u{fffd}\"}",
        "{\"code\":\"\",\"more\":1}",
        "0123456789",
        &good,
        &good.replace("10", "-1"),
        &good.replace("10", "1e999"),
        &"[".repeat(4000),
    ];
    let kinds = [
        "application/json",
        "application/octet-stream",
        "",
        "text/html",
        "\u{1}",
    ];
    let mut seen = std::collections::BTreeMap::new();
    for _ in 0..400 {
        let path = format!(
            "{}{}",
            paths[dice.below(paths.len())],
            queries[dice.below(queries.len())]
        );
        let kind = [("content-type", kinds[dice.below(kinds.len())])];
        let body = bodies[dice.below(bodies.len())].as_bytes();
        let request = visit.request(methods[dice.below(methods.len())], &path, &kind, body);
        if let Ok(reply) = visit.send(&request).await {
            assert!(
                reply.status < 500,
                "{}: {reply:?}",
                String::from_utf8_lossy(&request)
            );
            *seen.entry(reply.status).or_insert(0) += 1;
        }
    }
    println!("answers by status: {seen:?}");
    assert!(seen.len() > 4, "hardly anything was reached: {seen:?}");
    let standing = visit.ask("GET", "/api/standing", &[], b"").await;
    assert!(standing.status == 200 || standing.status == 401);
}

//! The server for phones against its own description, `crates/receive/openapi.json`: schemathesis makes requests from it,
//! good ones and bad ones, and looks at every answer.

use serde_json::json;
use shimwright_app::receive::{Identity, Limits, Page, Receiving, Setup, receive};
use shimwright_app::record::CheckKind;
use shimwright_app::{PhoneCheck, Workshop};
use shimwright_tests::outside;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

const DESCRIPTION: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../crates/receive/openapi.json");
/// Requests made up for each path, and as many of them in the full run (`SHIMWRIGHT_FULL=1`).
const EXAMPLES: (u32, u32) = (12, 400);

/// A server whose requests are not rationed, over a workshop of its own.
async fn server(folder: &Path) -> Receiving {
    let workshop = Arc::new(Workshop::open(folder).await.expect("a workshop"));
    let check = PhoneCheck::for_desk(workshop, CheckKind::Turn, |_| {}).expect("a check");
    let address = [127, 0, 0, 1].into();
    let setup = Setup {
        address,
        port: 0,
        identity: Identity::new(address, (2026, 3, 8)).expect("a certificate"),
        page: Page::new([("index.html".to_owned(), b"<!doctype html>".to_vec())]),
        limits: Limits {
            requests_at_once: 1e9,
            // On a busy machine closed connections are noticed late, and the next is turned away before a word is said.
            connections: 10_000,
            connections_each: 1_000,
            wrong_codes: u32::MAX,
            announced: usize::MAX,
            code_life: Duration::from_secs(3600),
            idle: Duration::from_secs(3600),
            ..Limits::default()
        },
    };
    receive(setup, Arc::new(check)).await.expect("a server")
}

#[tokio::test(flavor = "multi_thread")]
async fn every_answer_is_described_and_none_blames_the_server() {
    if !outside::is_ready(&["schemathesis"], &[]) {
        return;
    }
    let (few, many) = EXAMPLES;
    let full = std::env::var_os("SHIMWRIGHT_FULL").is_some_and(|full| full == "1");
    let folders = [tempfile::tempdir(), tempfile::tempdir()].map(|folder| folder.expect("a folder"));
    let (paired, waiting) = (server(folders[0].path()).await, server(folders[1].path()).await);
    let question = json!({
        "description": DESCRIPTION,
        "examples": if full { many } else { few },
        "servers": [
            { "url": paired.invitation().address, "code": paired.invitation().code },
            { "url": waiting.invitation().address, "only": "pair" },
        ],
    });
    let asked = tokio::task::spawn_blocking(move || outside::ask("phone_fuzz.py", &question));
    let told = asked.await.expect("the script ends");
    for run in told.as_array().expect("a list") {
        println!("{}", run["told"].as_str().unwrap_or_default());
    }
    assert!(
        told.as_array()
            .is_some_and(|runs| runs.len() == 2 && runs.iter().all(|run| run["passed"] == true)),
        "schemathesis found something; its words are above"
    );
}

//! The window's commands over the real bridge and the real permissions, on the runtime of the tests: no display.

use serde_json::{Value, json};
use shimwright_window::{Shop, furnish};
use std::path::Path;
use tauri::http::{HeaderMap, HeaderValue};
use tauri::ipc::{CallbackFn, InvokeBody};
use tauri::test::{INVOKE_KEY, MockRuntime, get_ipc_response, mock_builder};
use tauri::webview::InvokeRequest;
use tauri::{App, WebviewWindow, WebviewWindowBuilder};

struct Page {
    // Kept, because the web view lives no longer than its program.
    _app: App<MockRuntime>,
    view: WebviewWindow<MockRuntime>,
}

impl Page {
    fn open(folder: &Path) -> Self {
        let shop = tauri::async_runtime::block_on(Shop::open_in(folder));
        let app = furnish(mock_builder(), shop)
            .build(tauri::generate_context!())
            .expect("the program is built");
        let view = WebviewWindowBuilder::new(&app, "main", Default::default())
            .build()
            .expect("a web view");
        Self { _app: app, view }
    }

    fn ask(&self, command: &str, arguments: Value) -> Result<Value, Value> {
        self.send(command, InvokeBody::Json(arguments), HeaderMap::new())
    }

    fn send(&self, command: &str, body: InvokeBody, headers: HeaderMap) -> Result<Value, Value> {
        let request = InvokeRequest {
            cmd: command.into(),
            callback: CallbackFn(0),
            error: CallbackFn(1),
            url: "tauri://localhost".parse().expect("an address"),
            body,
            headers,
            invoke_key: INVOKE_KEY.to_owned(),
        };
        get_ipc_response(&self.view, request).map(|body| body.deserialize().expect("an answer in JSON"))
    }
}

fn fresh() -> (tempfile::TempDir, Page) {
    let folder = tempfile::tempdir().expect("a folder");
    let page = Page::open(folder.path());
    (folder, page)
}

#[test]
fn a_board_is_kept_and_listed() {
    let (_folder, page) = fresh();
    let demo = page.ask("load_demo", json!({})).expect("the demo board");
    let boards = page.ask("boards", json!({})).expect("a list");
    assert_eq!(boards[0]["id"], demo["id"]);
    assert_eq!(boards[0]["checks"], 0);
    let detail = page
        .ask("board", json!({ "id": demo["id"] }))
        .expect("its history");
    assert_eq!(detail["board"]["name"], "Kestrel 2");
    let rings = page.ask("stock", json!({})).expect("the drawer");
    page.ask("save_stock", json!({ "stock": rings }))
        .expect("the same drawer again");
    page.ask("delete_board", json!({ "id": demo["id"] }))
        .expect("out of sight");
    assert_eq!(page.ask("boards", json!({})).expect("a list"), json!([]));
}

#[test]
fn a_failure_comes_as_code_message_and_hint() {
    let (_folder, page) = fresh();
    let failure = page
        .ask("board", json!({ "id": "nobody" }))
        .expect_err("no such board");
    assert_eq!(failure["code"], "not-found");
    assert!(failure["message"].as_str().is_some_and(|text| !text.is_empty()));
    assert!(failure["hint"].as_str().is_some_and(|text| !text.is_empty()));
    let late = page
        .ask("save_check", json!({ "draftId": "gone", "workDone": "" }))
        .expect_err("no such draft");
    assert_eq!(late["code"], "not-found");
}

#[test]
fn a_photo_comes_as_raw_bytes_with_its_name_in_a_header() {
    let (_folder, page) = fresh();
    let mut headers = HeaderMap::new();
    headers.insert("x-file-name", HeaderValue::from_static("M%C3%BChle%20links.jpg"));
    let broken = page
        .send("add_photo", InvokeBody::Raw(vec![1, 2, 3]), headers.clone())
        .expect_err("not a photo");
    assert_eq!(broken["code"], "bad-input");
    assert!(
        broken["message"]
            .as_str()
            .is_some_and(|text| text.contains("Mühle links.jpg")),
        "{broken}"
    );

    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../calibration/demo/left-1.jpg");
    let bytes = std::fs::read(file).expect("the demo's photo");
    let added = page
        .send("add_photo", InvokeBody::Raw(bytes), headers)
        .expect("a photo");
    assert_eq!(added["name"], "Mühle links.jpg");
    assert_eq!(added["found"][0]["name"], "mount-card");
    page.ask("forget_photos", json!({ "ids": [added["id"]] }))
        .expect("let go of");
}

#[test]
fn a_photo_without_bytes_is_a_fault_and_no_panic() {
    let (_folder, page) = fresh();
    let failure = page.ask("add_photo", json!({})).expect_err("no bytes");
    assert_eq!(failure["code"], "internal");
}

#[test]
fn a_history_that_cannot_be_opened_is_said_by_every_command() {
    let folder = tempfile::tempdir().expect("a folder");
    let blocked = folder.path().join("a-file");
    std::fs::write(&blocked, "in the way").expect("a file");
    let page = Page::open(&blocked.join("history"));
    for command in ["boards", "stock", "app_info"] {
        let failure = page.ask(command, json!({})).expect_err("no history");
        assert_eq!(failure["code"], "storage", "{command}: {failure}");
    }
}

#[test]
fn the_page_may_ask_nothing_else() {
    let (_folder, page) = fresh();
    for command in [
        "plugin:fs|read_file",
        "plugin:shell|open",
        "plugin:window|close",
        "plugin:path|resolve_directory",
    ] {
        let refusal = page.ask(command, json!({})).expect_err("not permitted");
        assert!(
            refusal.as_str().is_some_and(|text| text.contains("not")),
            "{command}: {refusal}"
        );
    }
}

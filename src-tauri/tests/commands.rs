//! The window's commands over the real bridge and the real permissions, on the runtime of the tests: no display.

use serde_json::{Value, json};
use shimwright_window::{Shop, furnish, leave};
use std::path::Path;
use tauri::http::{HeaderMap, HeaderValue};
use tauri::ipc::{CallbackFn, InvokeBody};
use tauri::test::{INVOKE_KEY, MockRuntime, get_ipc_response, mock_builder};
use tauri::webview::InvokeRequest;
use tauri::{App, WebviewWindow, WebviewWindowBuilder};

struct Page {
    // Kept, because the web view lives no longer than its program.
    app: App<MockRuntime>,
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
        Self { app, view }
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

/// The list of boards.
fn listed(page: &Page) -> Result<Value, Value> {
    let mut list = page.ask("boards", json!({ "find": "", "most": 60 }))?;
    Ok(list["boards"].take())
}

fn fresh() -> (tempfile::TempDir, Page) {
    let folder = tempfile::tempdir().expect("a folder");
    let page = Page::open(folder.path());
    (folder, page)
}

#[test]
fn the_demo_brings_its_camera_along_and_it_can_be_forgotten() {
    let (_folder, page) = fresh();
    assert_eq!(page.ask("cameras", json!({})).expect("a list"), json!([]));
    page.ask("load_demo", json!({})).expect("the demo board");
    let kept = page.ask("cameras", json!({})).expect("a list");
    assert_eq!(kept.as_array().map(Vec::len), Some(1));
    assert_eq!(
        (&kept[0]["demo"], &kept[0]["name"]),
        (&json!(true), &json!("Larkspur L-20 Test"))
    );
    page.ask("load_demo", json!({})).expect("the demo board again");
    assert_eq!(page.ask("cameras", json!({})).expect("a list"), kept);
    let left = page
        .ask("forget_camera", json!({ "id": kept[0]["id"] }))
        .expect("the others");
    assert_eq!(left, json!([]));
}

#[test]
fn a_board_is_kept_and_listed() {
    let (_folder, page) = fresh();
    let demo = page.ask("load_demo", json!({})).expect("the demo board");
    let boards = listed(&page).expect("a list");
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
    assert_eq!(listed(&page), Ok(json!([])));
}

/// The English words of a phrase that the page can say in its own language: one with a code.
fn words(phrase: &Value) -> &str {
    assert!(phrase["code"].is_string(), "{phrase}");
    phrase["text"].as_str().expect("a phrase has words")
}

#[test]
fn a_failure_comes_as_code_message_and_hint() {
    let (_folder, page) = fresh();
    let failure = page
        .ask("board", json!({ "id": "nobody" }))
        .expect_err("no such board");
    assert_eq!(failure["code"], "not-found");
    assert!(!words(&failure["message"]).is_empty());
    assert!(!words(&failure["hint"]).is_empty());
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
        .send("open_photo", InvokeBody::Raw(vec![1, 2, 3]), headers.clone())
        .expect_err("not a photo");
    assert_eq!(broken["code"], "bad-input");
    assert!(words(&broken["message"]).contains("Mühle links.jpg"), "{broken}");

    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../calibration/demo/left-1.jpg");
    let bytes = std::fs::read(file).expect("the demo's photo");
    let glimpse = page
        .send("open_photo", InvokeBody::Raw(bytes), headers)
        .expect("a photo");
    assert_eq!(glimpse["name"], "Mühle links.jpg");
    assert_eq!(glimpse["drawn"][0]["what"], "target");
    let added = page
        .ask("look_closer", json!({ "id": glimpse["id"] }))
        .expect("its corners");
    assert_eq!(added["name"], "Mühle links.jpg");
    assert_eq!(added["found"][0]["name"], "mount-card");
    page.ask("forget_photos", json!({ "ids": [added["id"]] }))
        .expect("let go of");
    let gone = page
        .ask("look_closer", json!({ "id": added["id"] }))
        .expect_err("forgotten");
    assert_eq!(gone["code"], "not-found");
}

#[test]
fn a_photo_without_bytes_is_a_fault_and_no_panic() {
    let (_folder, page) = fresh();
    let failure = page.ask("open_photo", json!({})).expect_err("no bytes");
    assert_eq!(failure["code"], "internal");
}

#[test]
fn a_history_that_cannot_be_opened_is_said_by_every_command() {
    let folder = tempfile::tempdir().expect("a folder");
    let blocked = folder.path().join("a-file");
    std::fs::write(&blocked, "in the way").expect("a file");
    let page = Page::open(&blocked.join("history"));
    for (command, asked) in [
        ("boards", json!({ "find": "", "most": 60 })),
        ("stock", json!({})),
        ("app_info", json!({})),
    ] {
        let failure = page.ask(command, asked).expect_err("no history");
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

/// Sends a file as the body of a request.
fn hand_in(page: &Page, command: &str, path: &str) -> Result<Value, Value> {
    let mut headers = HeaderMap::new();
    headers.insert("x-file-name", HeaderValue::from_static("bundle.zip"));
    let bytes = std::fs::read(path).expect("the file that was written");
    page.send(command, InvokeBody::Raw(bytes), headers)
}

#[test]
fn a_visit_becomes_a_record_and_a_bundle_that_holds() {
    let (_folder, page) = fresh();
    let demo = page.ask("load_demo", json!({})).expect("the demo board");
    let board = &demo["id"];
    let photos = page
        .ask("add_demo_photos", json!({ "corner": "left" }))
        .expect("the demo's photos");
    let request = json!({ "board_id": board, "corner": "left", "job": photos["job"] });
    let measured = page.ask("measure", json!({ "request": request })).expect("a gap");
    page.ask(
        "save_check",
        json!({ "draftId": measured["draft_id"], "workDone": "nothing" }),
    )
    .expect("saved");

    let records = page
        .ask("records_of", json!({ "boardId": board }))
        .expect("its visits");
    let visit = &records["visits"][0];
    assert_eq!((&visit["checks"], &records["sealed"]), (&json!(1), &json!(0)));
    let mut notes = visit["notes"].clone();
    notes["technician"] = json!("Ada");
    let note = json!({ "boardId": board, "visit": visit["id"], "notes": notes });
    page.ask("note_visit", note).expect("written down");
    let stated = json!({ "stated": { "name": "Tidewheel Works", "address": "", "technician": "" } });
    page.ask("save_shop", stated).expect("written down");

    let wanted = json!({ "board_id": board, "visit": visit["id"], "paper": "letter" });
    let record = page
        .ask("write_record", json!({ "request": wanted }))
        .expect("a record");
    let pdf = std::fs::read(record["file"].as_str().expect("a path")).expect("the file");
    assert!(pdf.starts_with(b"%PDF-"));
    let bundle = json!({ "request": { "record": wanted, "sign": true, "with_place": false } });
    let sealed = page.ask("write_bundle", bundle.clone()).expect("a bundle");
    assert_eq!(sealed["sealed"]["number"], 1);
    assert_eq!(page.ask("write_bundle", bundle).expect("the same bundle"), sealed);

    let file = sealed["file"].as_str().expect("a path");
    let verified = hand_in(&page, "verify_bundle", file).expect("verified");
    assert_eq!(
        (&verified["holds"], &verified["fingerprint"]),
        (&json!(true), &sealed["fingerprint"])
    );
    let mut bytes = std::fs::read(file).expect("the bundle");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(file, bytes).expect("changed");
    let verified = hand_in(&page, "verify_bundle", file).expect("looked at");
    assert_eq!(verified["holds"], false, "{verified}");
}

#[test]
fn a_history_is_backed_up_replaced_and_taken_in() {
    let (_folder, page) = fresh();
    page.ask("load_demo", json!({})).expect("the demo board");
    let names = |page: &Page| listed(page).map(|boards| boards.as_array().map(Vec::len));
    let backup = page
        .ask("back_up", json!({ "withPlace": false }))
        .expect("a backup");
    let export = json!({ "format": "json", "withPhotos": true, "withPlace": false });
    let exported = page.ask("export_history", export).expect("an export");
    let board = listed(&page).expect("a list")[0]["id"].clone();
    page.ask("delete_board", json!({ "id": board }))
        .expect("out of sight");
    let keeping = page.ask("keeping", json!({})).expect("how it is kept");
    let kinds: Vec<&Value> = keeping["found"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|found| &found["kind"])
        .collect();
    assert_eq!(kinds, [&json!("backup"), &json!("export")]);
    page.ask("restore_backup", json!({ "file": backup["file"] }))
        .expect("in place");
    assert_eq!(names(&page), Ok(Some(1)));
    let wrong = page
        .ask("restore_backup", json!({ "file": exported["file"] }))
        .expect_err("no backup");
    assert_eq!(wrong["code"], "bad-input");
    assert_eq!(names(&page), Ok(Some(1)), "the history is open again");
    let again = json!({ "from": exported["file"], "keepBoth": false });
    let told = page.ask("import_history", again).expect("taken in");
    assert!(
        told["lines"][0]["text"]
            .as_str()
            .is_some_and(|line| line.starts_with("0 entries")),
        "{told}"
    );
    page.ask("clean_up_photos", json!({})).expect("nothing to remove");
}

#[test]
fn a_damaged_history_is_mended_by_its_daily_copy() {
    let folder = tempfile::tempdir().expect("a folder");
    for opened in 0..2 {
        let shop = tauri::async_runtime::block_on(Shop::open_in(folder.path()));
        let workshop = shop.workshop().expect("it is open");
        tauri::async_runtime::block_on(async {
            // With a board in it the next opening makes a copy.
            if opened == 0 {
                workshop.load_demo().await.expect("the demo board");
            }
            workshop.close().await;
        });
    }
    std::fs::write(folder.path().join("history.sqlite3"), [b'x'; 9000]).expect("damaged");
    let page = Page::open(folder.path());
    let refused = listed(&page).expect_err("damaged");
    assert_eq!(refused["code"], "storage");
    assert!(
        words(&refused["hint"]).contains("under Keep in the app"),
        "{refused}"
    );
    page.ask("restore_copy", json!({})).expect("the copy is in place");
    let boards = listed(&page).expect("a list");
    assert_eq!(boards.as_array().map(Vec::len), Some(1));
}

#[test]
fn a_picture_of_the_camera_comes_as_grey_bytes_and_is_judged() {
    let (_folder, page) = fresh();
    let asked = r#"{"check":"turn","width":320,"height":240,"photo_width":1280,"photo_ids":["gone"]}"#;
    let mut headers = HeaderMap::new();
    headers.insert("x-look", HeaderValue::from_static(asked));
    let look = page
        .send("look", InvokeBody::Raw(vec![200; 320 * 240]), headers.clone())
        .expect("a wall is seen");
    assert_eq!(look["troubles"][0]["code"], "no-target");
    assert_eq!(look["judged"]["standing"]["is"], "troubled");
    assert_eq!(
        look["judged"]["covered"],
        json!([false, false, false, false, false, false, false, false])
    );
    let short = page
        .send("look", InvokeBody::Raw(vec![200; 320]), headers)
        .expect_err("too few bytes");
    assert_eq!(short["code"], "bad-input");
    let bare = page
        .send("look", InvokeBody::Raw(vec![200; 320]), HeaderMap::new())
        .expect_err("no size");
    assert_eq!(bare["code"], "internal");
}

#[test]
fn a_phone_that_is_let_in_while_the_window_closes_is_shut_out_in_the_log() {
    let (folder, page) = fresh();
    let asked = json!({ "check": "gap", "address": "127.0.0.1" });
    page.ask("phone_start", asked).expect("a phone may come");
    let whats = || -> Vec<Value> {
        let log = std::fs::read_to_string(folder.path().join("phone-log.jsonl")).expect("a log");
        let line = |line| serde_json::from_str::<Value>(line).expect("a line of JSON")["what"].take();
        log.lines().map(line).collect()
    };
    assert_eq!(whats(), ["started"]);
    leave(page.app.handle());
    assert_eq!(whats(), ["started", "ended"]);
    leave(page.app.handle());
    assert_eq!(whats(), ["started", "ended"], "nothing is shut twice");
}

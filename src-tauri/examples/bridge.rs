//! The window's commands behind HTTP on this computer's own address, so that the built page can be tested in another browser
//! with everything behind it real. It is no part of the program: it has no guard, and ends with its standard input.
//!
//! `bridge FOLDER` keeps its history in the folder and prints the port on a line. `POST /COMMAND` asks, with JSON or raw bytes;
//! a failure comes with status 400. `GET /SHA-256` gives a photo.

// A program of the tests may end where it cannot go on.
#![allow(clippy::expect_used)]

use serde_json::Value;
use shimwright_window::{Shop, furnish};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::PathBuf;
use tauri::http::{HeaderMap, HeaderName, HeaderValue};
use tauri::ipc::{CallbackFn, InvokeBody, InvokeResponseBody};
use tauri::test::{INVOKE_KEY, MockRuntime, get_ipc_response, mock_builder};
use tauri::webview::InvokeRequest;
use tauri::{Manager, WebviewWindow, WebviewWindowBuilder};

/// What a browser asked.
struct Asked {
    method: String,
    path: String,
    headers: HeaderMap,
    body: Vec<u8>,
}

fn main() {
    let folder: PathBuf = std::env::args_os()
        .nth(1)
        .expect("the folder of the history")
        .into();
    let shop = tauri::async_runtime::block_on(Shop::open_in(&folder));
    let app = furnish(mock_builder(), shop)
        .build(tauri::generate_context!())
        .expect("the program is built");
    let view = WebviewWindowBuilder::new(&app, "main", Default::default())
        .build()
        .expect("a web view");
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    println!("{}", listener.local_addr().expect("an address").port());
    std::thread::spawn(move || {
        for stream in listener.incoming().flatten() {
            let view = view.clone();
            // A browser that hangs up in the middle is its own affair.
            std::thread::spawn(move || drop(serve(&view, &stream)));
        }
    });
    let mut rest = Vec::new();
    std::io::stdin().read_to_end(&mut rest).expect("standard input");
}

fn serve(view: &WebviewWindow<MockRuntime>, stream: &TcpStream) -> std::io::Result<()> {
    let mut reader = BufReader::new(stream);
    while let Some(asked) = read(&mut reader)? {
        let (status, kind, body) = match asked.method.as_str() {
            "OPTIONS" => (204, "text/plain", Vec::new()),
            "GET" => photo(view, &asked.path),
            _ => command(view, asked),
        };
        write!(
            &mut &*stream,
            "HTTP/1.1 {status} -\r\ncontent-type: {kind}\r\ncontent-length: {}\r\naccess-control-allow-origin: *\r\n\
             access-control-allow-headers: *\r\naccess-control-max-age: 600\r\n\r\n",
            body.len()
        )?;
        (&mut &*stream).write_all(&body)?;
    }
    Ok(())
}

fn read(reader: &mut BufReader<&TcpStream>) -> std::io::Result<Option<Asked>> {
    let mut line = String::new();
    if reader.read_line(&mut line)? == 0 {
        return Ok(None);
    }
    let mut words = line.split_whitespace().map(str::to_owned);
    let (method, path) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
    let mut headers = HeaderMap::new();
    loop {
        line.clear();
        reader.read_line(&mut line)?;
        let Some((name, value)) = line.trim_end().split_once(": ") else {
            break;
        };
        if let (Ok(name), Ok(value)) = (name.parse::<HeaderName>(), value.parse::<HeaderValue>()) {
            headers.insert(name, value);
        }
    }
    let length = headers
        .get("content-length")
        .and_then(|value| value.to_str().ok());
    let mut body = vec![0; length.and_then(|length| length.parse().ok()).unwrap_or(0)];
    reader.read_exact(&mut body)?;
    Ok(Some(Asked {
        method,
        path,
        headers,
        body,
    }))
}

fn command(view: &WebviewWindow<MockRuntime>, asked: Asked) -> (u16, &'static str, Vec<u8>) {
    let is_json = asked
        .headers
        .get("content-type")
        .is_some_and(|kind| kind == "application/json");
    let body = if is_json {
        match serde_json::from_slice(&asked.body) {
            Ok(value) => InvokeBody::Json(value),
            Err(error) => return refused(&asked.path, &error),
        }
    } else {
        InvokeBody::Raw(asked.body)
    };
    let request = InvokeRequest {
        cmd: asked.path.trim_start_matches('/').to_owned(),
        callback: CallbackFn(0),
        error: CallbackFn(1),
        url: "tauri://localhost".parse().expect("an address"),
        body,
        headers: asked.headers,
        invoke_key: INVOKE_KEY.to_owned(),
    };
    match get_ipc_response(view, request) {
        Ok(InvokeResponseBody::Raw(bytes)) => (200, "application/octet-stream", bytes),
        Ok(answer) => match answer.deserialize() {
            Ok(value) => (200, "application/json", json(value)),
            Err(error) => refused(&asked.path, &error),
        },
        Err(failure) => (400, "application/json", json(failure)),
    }
}

/// A body that is no JSON is a fault of the test or of a command, and must not pass for an empty one.
fn refused(path: &str, error: &serde_json::Error) -> (u16, &'static str, Vec<u8>) {
    let failure = serde_json::json!({
        "code": "internal",
        "message": format!("what crossed with {path} cannot be read: {error}"),
        "hint": "look at the test, or at the command",
    });
    (400, "application/json", json(failure))
}

fn json(value: Value) -> Vec<u8> {
    value.to_string().into_bytes()
}

fn photo(view: &WebviewWindow<MockRuntime>, path: &str) -> (u16, &'static str, Vec<u8>) {
    let id = path.trim_start_matches('/');
    let found = view
        .state::<Shop>()
        .workshop()
        .and_then(|workshop| tauri::async_runtime::block_on(workshop.photo(id)));
    match found {
        Ok(bytes) => (200, "image/jpeg", bytes.to_vec()),
        Err(failure) => (404, "text/plain", failure.message.as_bytes().to_vec()),
    }
}

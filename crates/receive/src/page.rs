//! The page that a phone opens: a handful of files, held in memory.

use hyper::body::Bytes;
use std::collections::HashMap;

/// Files by the path that a browser asks for. Nothing is read from a disk when one is asked for, so no path leads anywhere
/// else.
#[derive(Clone, Debug, Default)]
pub struct Page {
    files: HashMap<String, (&'static str, Bytes)>,
}

impl Page {
    /// A page of files by their paths, `index.html` or `assets/page.js`; the kind of each is told from how its name ends.
    pub fn new(files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Self {
        let files = files.into_iter().map(|(path, bytes)| {
            let kind = kind_of(&path);
            let path = match path.as_str() {
                "index.html" => "/".to_owned(),
                path => format!("/{path}"),
            };
            (path, (kind, Bytes::from(bytes)))
        });
        Self {
            files: files.collect(),
        }
    }

    /// Kind and bytes of the file at exactly this path.
    pub(crate) fn file(&self, path: &str) -> Option<(&'static str, Bytes)> {
        self.files.get(path).cloned()
    }
}

fn kind_of(path: &str) -> &'static str {
    match path.rsplit_once('.').map(|(_, ending)| ending) {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("woff2") => "font/woff2",
        _ => "application/octet-stream",
    }
}

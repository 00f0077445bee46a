//! Takes the files that `npm run build` made of the page for phones.

use std::path::{Path, PathBuf};

/// Where they are.
const BUILT: &str = "../../ui/dist-phone";

fn main() {
    let root = PathBuf::from(std::env::var("CARGO_MANIFEST_DIR").expect("cargo tells")).join(BUILT);
    // A folder that is not there yet is looked for each time.
    println!("cargo:rerun-if-changed={}", root.display());
    let mut files = Vec::new();
    collect(&root, &mut files);
    files.sort();
    let entries: Vec<String> = files
        .iter()
        .map(|file| {
            let path = file
                .strip_prefix(&root)
                .expect("a file below it")
                .to_string_lossy();
            let path = if path == "phone.html" {
                "index.html".into()
            } else {
                path.replace('\\', "/")
            };
            format!("({path:?}, include_bytes!({file:?}) as &[u8])")
        })
        .collect();
    let out = PathBuf::from(std::env::var("OUT_DIR").expect("cargo tells")).join("files.rs");
    std::fs::write(out, format!("&[{}]", entries.join(", "))).expect("cargo's folder can be written");
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            collect(&path, files);
        } else {
            files.push(path);
        }
    }
}

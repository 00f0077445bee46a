//! Good input to begin with, and spoiled input that once did harm.

use crate::keeping::house;
use std::path::{Path, PathBuf};

/// Where the corpus lies: a folder for each entrance.
pub(crate) fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz/corpus")
}

/// Good input of an entrance, in the order of its names. What needs a history is made here and not kept.
pub fn seeds(entrance: &str) -> Vec<Vec<u8>> {
    let mut seeds = files(&corpus().join(entrance));
    match entrance {
        "import" => {
            seeds.push(house().backup.clone());
            seeds.extend(files(&corpus().join("bundle")));
        }
        "export" => seeds.extend(house().table()),
        _ => {}
    }
    seeds
}

/// JPEG files: the small ones of the corpus, and a photo of the demo as a phone would write it.
pub fn jpegs() -> Vec<Vec<u8>> {
    let mut all = seeds("photo");
    all.retain(|bytes| bytes.starts_with(b"\xff\xd8"));
    all.extend(std::fs::read(
        corpus().join("../../../calibration/demo/left-1.jpg"),
    ));
    all
}

/// Input that was found to do harm before it was mended.
pub fn found(entrance: &str) -> Vec<Vec<u8>> {
    files(&corpus().join("../found").join(entrance))
}

fn files(folder: &Path) -> Vec<Vec<u8>> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .map(|entries| entries.flatten().map(|entry| entry.path()).collect())
        .unwrap_or_default();
    paths.sort();
    paths.iter().flat_map(std::fs::read).collect()
}

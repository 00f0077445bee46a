//! Writes the seeds of every entrance, those made at run time included: `seeds FOLDER`. A fuzzer begins with them.

use shimwright_hostile::{ALL, found, seeds};
use std::path::PathBuf;

fn main() -> std::io::Result<()> {
    let Some(folder) = std::env::args().nth(1).map(PathBuf::from) else {
        return Err(std::io::Error::other("usage: seeds FOLDER"));
    };
    for entrance in ALL {
        let folder = folder.join(entrance.name);
        std::fs::create_dir_all(&folder)?;
        let all = seeds(entrance.name).into_iter().chain(found(entrance.name));
        for (k, bytes) in all.enumerate() {
            std::fs::write(folder.join(format!("seed-{k}")), bytes)?;
        }
    }
    Ok(())
}

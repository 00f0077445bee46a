//! Every entrance over spoiled input: no panic, none over ten seconds, never more than a gigabyte.
//!
//! `SHIMWRIGHT_SPOILED=10000` sets how many are tried at each entrance, `SHIMWRIGHT_SEED` where the chance begins.

use shimwright_hostile::{ALL, Entrance, Spoiler, found, peak_bytes, seeds};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

/// Longest that one input may take.
const LONGEST: Duration = Duration::from_secs(10);
/// Most memory of the whole process.
const MOST_BYTES: u64 = 1_000_000_000;

fn number(name: &str, otherwise: u64) -> u64 {
    std::env::var(name)
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(otherwise)
}

/// Takes in one input; panics with what was wrong and where the input lies.
fn take_in(entrance: &Entrance, bytes: &[u8]) -> bool {
    let started = Instant::now();
    let came_back = catch_unwind(AssertUnwindSafe(|| (entrance.take_in)(bytes)));
    let took = started.elapsed();
    let kept = || {
        let path = std::env::temp_dir().join(format!("shimwright-{}-{}", entrance.name, bytes.len()));
        let _ = std::fs::write(&path, bytes);
        path.display().to_string()
    };
    let Ok(taken) = came_back else {
        panic!("the entrance {} panicked at {}", entrance.name, kept());
    };
    assert!(
        took < LONGEST,
        "the entrance {} took {took:?} for {}",
        entrance.name,
        kept()
    );
    taken
}

fn entrance(name: &str, otherwise: u64) {
    entrance_from(name, &seeds(name), otherwise);
}

/// As it says above, from seeds of one's own.
fn entrance_from(name: &str, seeds: &[Vec<u8>], otherwise: u64) {
    let entrance = ALL
        .iter()
        .find(|one| one.name == name)
        .expect("an entrance of this name");
    let taken = seeds.iter().filter(|seed| take_in(entrance, seed)).count();
    assert!(
        taken > 0,
        "none of the good inputs was taken: the spoiled ones would never get far"
    );
    for bytes in found(name) {
        take_in(entrance, &bytes);
    }
    let count = number("SHIMWRIGHT_SPOILED", otherwise);
    let mut spoiler = Spoiler::new(number("SHIMWRIGHT_SEED", 1));
    let started = Instant::now();
    let taken = (0..count)
        .filter(|_| take_in(entrance, &spoiler.spoiled(seeds)))
        .count();
    println!(
        "{name}: {count} spoiled inputs in {:.1} s, {taken} were taken all the same, peak {} MB",
        started.elapsed().as_secs_f64(),
        peak_bytes() / 1_000_000
    );
    assert!(
        peak_bytes() < MOST_BYTES,
        "peak {} bytes and the limit is {MOST_BYTES}",
        peak_bytes()
    );
    if cfg!(target_os = "linux") {
        assert!(peak_bytes() > 0, "the peak is not told, so it cannot be held");
    }
}

#[test]
fn photos() {
    entrance("photo", 150);
}

/// JPEG alone, also as large as phones write it.
#[test]
fn jpegs() {
    entrance_from("photo", &shimwright_hostile::jpegs(), 40);
}

#[test]
fn job_files() {
    entrance("job", 1_000);
}

#[test]
fn definitions_of_targets() {
    entrance("targets", 1_000);
}

#[test]
fn camera_profiles() {
    entrance("camera", 3_000);
}

#[test]
fn bundles() {
    entrance("bundle", 1_000);
}

#[test]
fn recordings() {
    entrance("sound", 100);
}

#[test]
fn backups() {
    entrance("import", 40);
}

#[test]
fn exports() {
    entrance("export", 40);
}

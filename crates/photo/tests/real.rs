//! Public photographs, read in place when they are there. Expected values: the folders' own notes, and the size and
//! EXIF fields that Pillow 12 and EXIF.py read from the same files (`baseline.json`).

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_photo::{Error, Limits, Orientation, decode, decode_rgb, read_facts};
use std::path::{Path, PathBuf};

const ANY_SIZE: Limits = Limits {
    max_bytes: 80_000_000,
    max_pixels: 60_000_000,
    min_side: 1,
};

/// The folder of public photographs; `SHIMWRIGHT_REAL_PHOTOS` names another one.
fn folder(name: &str) -> Option<PathBuf> {
    let root = std::env::var_os("SHIMWRIGHT_REAL_PHOTOS").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/real"),
        PathBuf::from,
    );
    let folder = root.join(name);
    if !folder.exists() {
        println!("skipped: {} is not there", folder.display());
        return None;
    }
    Some(folder)
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(files_below(&path));
        } else {
            files.push(path);
        }
    }
    files.sort();
    files
}

/// All landscape pictures of the set are 600 x 450 when upright and all portrait ones 450 x 600 (their NOTICE), and
/// all eight of a kind show the same scene.
#[test]
fn photographs_with_each_orientation_stand_upright() {
    let Some(folder) = folder("exif_samples/orientation") else {
        return;
    };
    for (kind, size) in [("landscape", (600, 450)), ("portrait", (450, 600))] {
        let first = decode(
            &std::fs::read(folder.join(format!("{kind}_1.jpg"))).unwrap(),
            &ANY_SIZE,
        )
        .unwrap();
        for number in 1..=8 {
            let bytes = std::fs::read(folder.join(format!("{kind}_{number}.jpg"))).unwrap();
            let photo = decode(&bytes, &ANY_SIZE).unwrap();
            assert_eq!(photo.facts.orientation, number);
            assert_eq!((photo.facts.width, photo.facts.height), size);
            // Each carries its own number in the middle, so the scenes are not equal; but no further turn or mirror
            // may bring them closer together.
            let (w, h) = (photo.grey.width(), photo.grey.height());
            let differences: Vec<u64> = Orientation::ALL[..4]
                .iter()
                .map(|further| {
                    let pixels = (0..h).flat_map(|y| (0..w).map(move |x| (x, y)));
                    let difference = |(x, y)| {
                        let (u, v) = further.upright_place(x, y, w, h);
                        u64::from(first.grey.at(u, v).abs_diff(photo.grey.at(x, y)))
                    };
                    pixels.map(difference).sum()
                })
                .collect();
            let least = differences[1..].iter().min().unwrap();
            assert!(differences[0] * 2 < *least, "{kind}_{number}: {differences:?}");
        }
    }
}

#[test]
fn facts_agree_with_another_reader() {
    let Some(root) = folder("") else { return };
    let baseline: serde_json::Value =
        serde_json::from_slice(&std::fs::read(root.join("baseline.json")).unwrap()).unwrap();
    let mut compared = 0;
    for (name, want) in baseline["exif"].as_object().unwrap() {
        if want["size"].is_null() {
            continue;
        }
        let Ok(bytes) = std::fs::read(root.join(name)) else {
            println!("skipped: {name} is not there");
            continue;
        };
        let Ok(facts) = read_facts(&bytes, &ANY_SIZE) else {
            println!("not read: {name}");
            continue;
        };
        compared += 1;
        let size = [facts.stored_width, facts.stored_height].map(u64::from);
        assert_eq!(want["size"], serde_json::json!(size), "{name}");
        for (key, got) in [("make", &facts.make), ("model", &facts.model)] {
            if let Some(text) = want[key].as_str() {
                assert_eq!(got.as_deref(), Some(text.trim()), "{name} {key}");
            }
        }
        if let Some(number) = want["orientation"].as_str() {
            assert_eq!(facts.orientation.to_string(), number, "{name}");
        }
        if let Some(focal) = want["focal_mm"].as_f64() {
            assert!(
                (facts.focal_mm.unwrap_or(0.0) - focal).abs() < 0.01,
                "{name}: {:?} for {focal}",
                facts.focal_mm
            );
        }
        if let Some(focal) = want["focal35_mm"]
            .as_str()
            .and_then(|text| text.parse::<f64>().ok())
        {
            assert_eq!(facts.focal_35mm, Some(focal), "{name}");
        }
        if let Some(taken) = want["taken"].as_str() {
            let (date, clock) = taken.split_once(' ').unwrap();
            let want = format!("{}T{clock}", date.replace(':', "-"));
            assert!(
                facts.taken.as_deref().unwrap_or("").starts_with(&want),
                "{name}: {:?}",
                facts.taken
            );
        }
    }
    println!("compared {compared} files");
    assert!(compared > 50, "{compared}");
}

/// Files that once crashed a decoder: an answer must come, and no error may be longer than one line.
#[test]
fn broken_files_get_an_answer() {
    let mut asked = 0;
    for name in [
        "jpeg_decoder",
        "image_rs_bad",
        "exif_samples",
        "nom_exif",
        "exif_rs",
    ] {
        let Some(folder) = folder(name) else { continue };
        for path in files_below(&folder) {
            let answer = decode(&std::fs::read(&path).unwrap(), &ANY_SIZE);
            if let Err(error) = &answer {
                assert!(!error.to_string().contains('\n'), "{}: {error}", path.display());
            }
            println!(
                "{}: {:?}",
                path.display(),
                answer.map(|photo| (photo.facts.width, photo.facts.height))
            );
            asked += 1;
        }
    }
    println!("asked {asked} files");
}

#[test]
fn a_phones_heic_is_recognised() {
    let Some(folder) = folder("exif_samples/heic") else {
        return;
    };
    for path in files_below(&folder) {
        assert_eq!(
            decode(&std::fs::read(&path).unwrap(), &ANY_SIZE),
            Err(Error::Heic),
            "{}",
            path.display()
        );
    }
}

/// Photographs that must be refused, and why. Every other one of the list must decode, in colour and in grey, and
/// both must agree: the two ways through the JPEG decoder differ.
#[test]
fn photographs_decode_alike_in_grey_and_in_colour() {
    const REFUSED: &[&str] = &[
        "exif_samples/cameras/corrupted.jpg", // a quarter of its rows is missing
        "image_rs_bad/oss-fuzz-36829.jpeg",   // 658 bytes that claim 3 x 62728
    ];
    let Some(root) = folder("") else { return };
    let baseline: serde_json::Value =
        serde_json::from_slice(&std::fs::read(root.join("baseline.json")).unwrap()).unwrap();
    let mut decoded = 0;
    for (name, entry) in baseline["exif"].as_object().unwrap() {
        // That folder is of broken files only.
        if name.starts_with("jpeg_decoder/") {
            continue;
        }
        let Ok(bytes) = std::fs::read(root.join(name)) else {
            continue;
        };
        if entry["size"].is_null() || REFUSED.contains(&name.as_str()) {
            assert!(decode(&bytes, &ANY_SIZE).is_err(), "{name}");
            continue;
        }
        let grey = decode(&bytes, &ANY_SIZE)
            .unwrap_or_else(|error| panic!("{name}: {error}"))
            .grey;
        let colours = decode_rgb(&bytes, &ANY_SIZE).unwrap_or_else(|error| panic!("{name}: {error}"));
        let mut differences: Vec<u8> = grey
            .data()
            .iter()
            .zip(colours.pixels())
            .map(|(&grey, p)| {
                let luma = 0.299 * f64::from(p[0]) + 0.587 * f64::from(p[1]) + 0.114 * f64::from(p[2]);
                (luma.round() as u8).abs_diff(grey)
            })
            .collect();
        // The median: strong colours that leave the range of RGB are clipped there and change their luma.
        let middle = differences.len() / 2;
        let median = *differences.select_nth_unstable(middle).1;
        assert!(
            median <= 1,
            "{name}: grey and colours differ by {median} levels in the median"
        );
        decoded += 1;
    }
    println!("decoded {decoded} files");
    assert!(decoded > 100, "{decoded}");
}

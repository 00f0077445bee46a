//! Rendered photos of a phone's size, reduced as the page reduces a stream: every one of a series is a good picture, and the
//! series is taken all round. Speed is told.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use image::imageops::{FilterType, resize};
use shimwright_geom::GreyPicture;
use shimwright_live::{Standing, Trouble, View, Wish, judge, look};
use shimwright_record::CheckKind;
use shimwright_target::TargetSet;
use std::path::{Path, PathBuf};
use std::time::Instant;

fn rendered(sub: &str) -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../../shared/data/rendered/dev")
        .join(sub);
    if folder.is_dir() {
        return Some(folder);
    }
    println!("skipped: the rendered pictures are not at ../shared/data/rendered");
    None
}

fn reduced(path: &Path) -> GreyPicture {
    let small = resize(
        &image::open(path).unwrap().into_luma8(),
        1280,
        960,
        FilterType::Triangle,
    );
    GreyPicture::new(1280, 960, small.into_raw()).unwrap()
}

#[test]
fn every_photo_of_a_turn_is_good_and_the_turn_is_covered() {
    let Some(folder) = rendered("R") else { return };
    let targets = TargetSet::built_in();
    let wish = Wish::of(CheckKind::Turn).unwrap();
    for series in ["r1", "r2"] {
        let mut taken: Vec<View> = Vec::new();
        let mut milliseconds = Vec::new();
        for number in 1..=12 {
            let picture = reduced(&folder.join(format!("{series}_{number:02}.jpg")));
            let start = Instant::now();
            let seen = look(&picture, &targets, &wish, 2.2);
            milliseconds.push(start.elapsed().as_secs_f64() * 1e3);
            assert_eq!(seen.troubles, vec![], "{series} photo {number}");
            let judged = judge(&wish, &seen, true, &taken);
            println!(
                "{series} {number}: tilt {:.0} deg, {:?}",
                seen.view.as_ref().unwrap().tilt().to_degrees(),
                judged.standing
            );
            if judged.take {
                taken.push(seen.view.unwrap());
            }
        }
        milliseconds.sort_by(f64::total_cmp);
        println!(
            "{series}: {} taken; a look took {:.0} ms in the median, {:.0} at most",
            taken.len(),
            milliseconds[6],
            milliseconds[11]
        );
        assert!(taken.len() >= 6, "{series}: {} of 12", taken.len());
    }
}

#[test]
fn a_gap_is_seen_from_sides_that_differ() {
    let Some(folder) = rendered("G") else { return };
    let targets = TargetSet::built_in();
    let wish = Wish::of(CheckKind::Gap).unwrap();
    let mut names: Vec<PathBuf> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "jpg"))
        .collect();
    names.sort();
    let mut taken: Vec<View> = Vec::new();
    // As photos of 1440 px these would be too coarse to be measured: the camera asks to come closer.
    let coarse = look(&reduced(&names[0]), &targets, &wish, 1.125);
    assert!(
        matches!(coarse.troubles[..], [Trouble::TooFar { .. }]),
        "{:?}",
        coarse.troubles
    );
    for path in names.iter().take(6) {
        let seen = look(&reduced(path), &targets, &wish, 2.2);
        let judged = judge(&wish, &seen, true, &taken);
        println!(
            "{}: {:?} {:?} {:?}",
            path.display(),
            seen.view.as_ref().map(|v| v.tilt().to_degrees()),
            judged.standing,
            seen.troubles
        );
        if let (true, Some(view)) = (judged.take, seen.view.clone()) {
            taken.push(view);
            let again = judge(&wish, &seen, true, &taken);
            assert!(
                matches!(again.standing, Standing::SameSide { .. } | Standing::Enough),
                "{again:?}"
            );
        }
    }
    assert!(taken.len() >= 2, "{} of 6", taken.len());
}

//! Tags in public photographs, against what the AprilTag C library found there. Gates may only tighten.

mod support;

use shimwright_detect::{Tag, TagParams, find_tags};
use shimwright_geom::Vec2;
use std::path::Path;

fn tags_of(path: &Path) -> Vec<Tag> {
    find_tags(&support::picture(path), &TagParams::default())
}

fn ids(tags: &[Tag]) -> Vec<u32> {
    tags.iter().map(|t| t.id).collect()
}

/// Reference detections of `test/data/*.txt` of github.com/AprilRobotics/apriltag at 1c21707: id and four corners
/// a line, pixel centres at half-integers, found with `quad_decimate = 1, refine_edges = 0`.
fn references(text: &str) -> Vec<(u32, [Vec2; 4])> {
    let numbers = |line: &str| -> Vec<f64> {
        line.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
            .filter_map(|w| w.parse().ok())
            .collect()
    };
    text.lines()
        .map(numbers)
        .filter(|n| n.len() == 9)
        .map(|n| {
            (
                n[0] as u32,
                std::array::from_fn(|i| Vec2::new(n[1 + 2 * i] - 0.5, n[2 + 2 * i] - 0.5)),
            )
        })
        .collect()
}

fn middle(corners: &[Vec2; 4]) -> Vec2 {
    corners.iter().fold(Vec2::zeros(), |s, c| s + c) / 4.0
}

/// Distances from the reference's corners to the nearest of the tag's: the two count corners from other starts.
fn corner_distances(tag: &Tag, reference: &[Vec2; 4]) -> Vec<f64> {
    let nearest = |r: &Vec2| {
        tag.corners
            .iter()
            .map(|c| (c - r).norm())
            .fold(f64::INFINITY, f64::min)
    };
    reference.iter().map(nearest).collect()
}

#[test]
fn the_c_librarys_photos_give_all_its_tags() {
    let Some(folder) = support::data("real/apriltag_c") else {
        return;
    };
    // Photo, count of reference detections, count found here: every further one was looked at and is a tag,
    // seen too steeply for the library.
    for (name, references_count, all) in [
        ("33369213973_9d9bb4cc96_c", 12, 12),
        ("34085369442_304b6bafd9_c", 25, 25),
        ("34139872896_defdb2f8d9_c", 10, 14),
    ] {
        let tags = tags_of(&folder.join(format!("{name}.jpg")));
        let references = references(&std::fs::read_to_string(folder.join(format!("{name}.txt"))).unwrap());
        assert_eq!(references.len(), references_count, "{name}");
        let mut distances = Vec::new();
        for (id, corners) in &references {
            let side = (corners[1] - corners[0]).norm();
            let near = |t: &&Tag| t.id == *id && (t.centre() - middle(corners)).norm() < 0.25 * side;
            let tag = tags
                .iter()
                .find(near)
                .unwrap_or_else(|| panic!("{name}: missed {id} at {corners:?}"));
            distances.extend(corner_distances(tag, corners));
        }
        distances.sort_by(f64::total_cmp);
        let median = distances[distances.len() / 2];
        println!(
            "{name}: {} tags, median corner distance {median:.2} px",
            tags.len()
        );
        assert!(
            median < 1.0,
            "{name}: corners differ by {median} px in the median"
        );
        assert_eq!(
            ids(&tags),
            vec![0; all],
            "{name}: all tags in these photos have id 0"
        );
    }
}

#[test]
fn the_julia_packages_photos_give_their_tags() {
    let Some(folder) = support::data("real/apriltags_jl") else {
        return;
    };
    let grid: Vec<u32> = (1..=40).collect();
    assert_eq!(ids(&tags_of(&folder.join("taggridphoto.jpg"))), grid);
    assert_eq!(ids(&tags_of(&folder.join("AprilTagGrid1to40.png"))), grid);
    assert_eq!(ids(&tags_of(&folder.join("colortag.jpg"))), [495]);
    let tags = tags_of(&folder.join("tagtest.jpg"));
    assert_eq!(ids(&tags), [5, 6, 9]);
    // Tag centres (row, column) of the package's own test, pixel centres at half-integers.
    for (row, column) in [(404.5, 176.1), (134.0, 216.1), (412.0, 130.1)] {
        let want = Vec2::new(column - 0.5, row - 0.5);
        assert!(
            tags.iter().any(|t| (crossing(t) - want).norm() < 1.0),
            "no tag at {want:?}"
        );
    }
}

/// Where a tag's diagonals cross, which is the picture of its centre.
fn crossing(tag: &Tag) -> Vec2 {
    let [a, b, c, d] = tag.corners;
    let (u, v) = (c - a, d - b);
    a + u * ((b - a).perp(&v) / u.perp(&v))
}

/// Photos of other families' markers, of chessboards and of ordinary things.
#[test]
fn photos_without_tags_of_the_family_give_none() {
    let mut count = 0;
    for sub in [
        "abakisita_aruco",
        "opencv_samples",
        "opencv_aruco",
        "sksurgery_image",
        "exif_samples/mobile",
        "nom_exif",
    ] {
        let Some(folder) = support::data(&format!("real/{sub}")) else {
            return;
        };
        let mut paths: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().path())
            .collect();
        paths.sort();
        for path in paths {
            if let Some(picture) = support::try_picture(&path) {
                let tags = find_tags(&picture, &TagParams::default());
                assert!(tags.is_empty(), "{}: {tags:?}", path.display());
                count += 1;
            }
        }
    }
    println!("{count} photos without tags");
    assert!(count >= 56, "only {count} photos were read");
}

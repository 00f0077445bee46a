//! A gap in photos that are too coarse for it, as a running camera may give them: refused, and never told wrongly.

use image::imageops::{FilterType, resize};
use shimwright_measure::Kind;
use shimwright_record::{Corner, Job};
use shimwright_tests::made::jpeg;
use shimwright_tests::measured::measured;
use std::path::Path;

/// Width of the demo's photos, px.
const WIDTH: f64 = 2816.0;

/// The demo's job of a corner with its photos reduced to a width, marks along with them.
fn reduced(corner: Corner, width: u32) -> (Job, Vec<Vec<u8>>) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../calibration/demo");
    let text =
        std::fs::read_to_string(folder.join(format!("{}.json", corner.name()))).expect("the demo's job");
    let mut job: Job = serde_json::from_str(&text).expect("a job");
    job.camera = None;
    let scale = f64::from(width) / WIDTH;
    let mut photos = Vec::new();
    for photo in &mut job.photos {
        let whole = image::open(folder.join(&photo.file))
            .expect("a photo")
            .into_luma8();
        let small = resize(&whole, width, width * 3 / 4, FilterType::Triangle);
        let grey =
            shimwright_geom::GreyPicture::new(width as usize, (width * 3 / 4) as usize, small.into_raw());
        photos.push(jpeg(&grey.expect("as many bytes as pixels")));
        for place in photo.marks.values_mut().flatten() {
            *place = place.map(|px| (px + 0.5) * scale - 0.5);
        }
    }
    (job, photos)
}

#[test]
fn too_coarse_photos_are_refused_with_their_scale() {
    // Both were told with a wrong rim before: the flange's other edge.
    for (corner, width) in [(Corner::Left, 1600), (Corner::Right, 1600)] {
        let (job, photos) = reduced(corner, width);
        let error = measured(&job, &photos, None).expect_err("too coarse");
        let text = error.to_string();
        assert_eq!(error.kind, Kind::NotMeasurable, "{text}");
        assert!(text.contains("7 px are needed"), "{corner:?} {width}: {text}");
    }
}

//! Views that contradict each other, because a part moved between the shots.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use image::{ImageDecoder, ImageEncoder, RgbImage};
use serde_json::{Value, json};
use shop::{Shop, refused};

/// Columns of the mount card's saddles, and the width of its squares.
const COLUMNS: usize = 7;
const SQUARE_MM: f64 = 8.0;

/// Where the card's saddles lie in a photo of the unspoilt job, row by row.
fn saddles(shop: &Shop, file: &str) -> Vec<[f64; 2]> {
    let result = shop.json(["measure", "left.json", "--json"]);
    let photos = result["photos"].as_array().unwrap();
    let photo = photos.iter().find(|photo| photo["file"] == json!(file)).unwrap();
    let drawn = photo["drawn"].as_array().unwrap();
    let corners = &drawn
        .iter()
        .find(|drawn| drawn["what"] == json!("corner"))
        .unwrap()["points"];
    let points: Vec<[f64; 2]> = serde_json::from_value(corners.clone()).unwrap();
    assert_eq!(points.len(), 2 * COLUMNS, "all saddles of the card are in view");
    points
}

/// A place on the card in mm, as pixels: bilinear between the outermost saddles, which is near enough for cutting out.
fn on_card(saddles: &[[f64; 2]], x: f64, y: f64) -> [f64; 2] {
    let last = COLUMNS - 1;
    let (u, v) = ((x / SQUARE_MM - 1.0) / last as f64, y / SQUARE_MM - 1.0);
    [0, 1].map(|i| {
        let (a, b, c, d) = (
            saddles[0][i],
            saddles[last][i],
            saddles[COLUMNS][i],
            saddles[COLUMNS + last][i],
        );
        (a * (1.0 - u) + b * u) * (1.0 - v) + (c * (1.0 - u) + d * u) * v
    })
}

/// Slides the card in a photo along its own axes, as if it had slipped on the mount. The print and its margin are cut
/// out and laid down elsewhere; camera data stays in the file.
fn slide_card(shop: &Shop, file: &str, [x_mm, y_mm]: [f64; 2]) {
    let saddles = saddles(shop, file);
    let bytes = std::fs::read(shop.path(file)).unwrap();
    let mut decoder = image::codecs::jpeg::JpegDecoder::new(std::io::Cursor::new(&bytes)).unwrap();
    let exif = decoder.exif_metadata().unwrap().unwrap();
    let before = image::load_from_memory(&bytes).unwrap().into_rgb8();
    let quad = [[-2.0, -2.0], [66.0, -2.0], [66.0, 26.0], [-2.0, 26.0]].map(|[x, y]| on_card(&saddles, x, y));
    let (from, to) = (
        on_card(&saddles, 32.0, 12.0),
        on_card(&saddles, 32.0 + x_mm, 12.0 + y_mm),
    );
    let shift = [(to[0] - from[0]).round() as i64, (to[1] - from[1]).round() as i64];
    let mut after: RgbImage = before.clone();
    for (x, y, pixel) in before.enumerate_pixels() {
        if inside(&quad, [f64::from(x), f64::from(y)]) {
            let (u, v) = ((i64::from(x) + shift[0]) as u32, (i64::from(y) + shift[1]) as u32);
            after.put_pixel(u, v, *pixel);
        }
    }
    let mut spoilt = Vec::new();
    let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut spoilt, 95);
    encoder.set_exif_metadata(exif).unwrap();
    encoder
        .write_image(
            &after,
            after.width(),
            after.height(),
            image::ExtendedColorType::Rgb8,
        )
        .unwrap();
    shop.write(file, &spoilt);
}

/// Whether a point lies in a convex outline, whichever way that runs.
fn inside(outline: &[[f64; 2]; 4], p: [f64; 2]) -> bool {
    let side = |i: usize| {
        let (a, b) = (outline[i], outline[(i + 1) % 4]);
        (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0.0
    };
    (1..4).all(|i| side(i) == side(0))
}

fn gap(result: &Value) -> f64 {
    result["values"]["gap"]["value"].as_f64().unwrap()
}

/// A card that slides by nothing changes nothing: the cutting and the second JPEG coding are not what is refused.
#[test]
fn a_card_that_did_not_move_measures_as_before() {
    let shop = Shop::new();
    let before = gap(&shop.json(["measure", "left.json", "--json"]));
    slide_card(&shop, "left-2.jpg", [0.0, 0.0]);
    let after = gap(&shop.json(["measure", "left.json", "--json"]));
    assert!((after - before).abs() < 0.05, "{before} mm became {after} mm");
}

#[test]
fn a_card_that_slipped_between_the_views_is_named() {
    for slip in [[2.0, 0.0], [1.5, 1.0]] {
        let shop = Shop::new();
        slide_card(&shop, "left-2.jpg", slip);
        let trouble = refused(&shop.run(["measure", "left.json"]), 3);
        assert!(
            trouble.contains("moved") || trouble.contains("slipped"),
            "{slip:?}: {trouble}"
        );
    }
}

/// The second and third photos show another corner, whose wheel stands 2.7 mm further out.
#[test]
fn a_wheel_that_moved_between_the_views_is_named() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["photos"] = json!([job["photos"][0], {"file": "right-1.jpg"}, {"file": "right-2.jpg"}]);
    let path = shop.write_job(&job);
    refused(&shop.run(["measure".as_ref(), path.as_os_str()]), 3);
}

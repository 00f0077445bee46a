//! Makes a film of a rendered turn series, for a browser's made-up camera: grey YUV4MPEG2, each photo held for a moment by a hand
//! that trembles, with a smeared picture in between.
//!
//! `film OUT WIDTH PHOTO...` in the order of the photos. Says on a line how many pictures it wrote.

// A program of the tests may end where it cannot go on.
#![allow(clippy::expect_used)]

use image::DynamicImage;
use image::imageops::FilterType;
use std::fs::File;
use std::io::{BufWriter, Write};

/// Pictures a second.
const RATE: u32 = 10;
/// Pictures for which a photo is held: a little more than a second.
const HELD: usize = 12;
/// A hand's tremble from picture to picture, px in each direction.
const TREMBLE: [(usize, usize); 4] = [(0, 0), (1, 0), (1, 1), (0, 1)];
/// The picture in between is reduced by so much and stretched again.
const SMEARED: u32 = 12;

/// A film's pictures: light in its range (16 to 235), row by row.
struct Light {
    width: usize,
    light: Vec<u8>,
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    let out = arguments.next().expect("the film's file");
    let width: u32 = arguments.next().and_then(|w| w.parse().ok()).expect("its width");
    let photos: Vec<DynamicImage> = arguments
        .map(|path| {
            let photo = image::open(path).expect("a photo");
            let height = width * photo.height() / photo.width() / 2 * 2;
            photo.resize_exact(width, height, FilterType::Triangle)
        })
        .collect();
    let height = photos.first().expect("a photo at least").height();
    let mut film = BufWriter::new(File::create(out).expect("a file that can be written"));
    writeln!(film, "YUV4MPEG2 W{width} H{height} F{RATE}:1 Ip A1:1").expect("room on the disk");
    let mut write = |light: &[u8]| -> std::io::Result<()> {
        film.write_all(b"FRAME\n")?;
        film.write_all(light)?;
        // No colour.
        film.write_all(&vec![128; light.len() / 2])
    };
    let mut written = 0;
    for (number, photo) in photos.iter().enumerate() {
        let held = Light::of(photo);
        let between = smeared(&held, &Light::of(&photos[(number + 1) % photos.len()]), height);
        for k in 0..HELD {
            write(&held.shifted(TREMBLE[k % TREMBLE.len()])).expect("room on the disk");
        }
        write(&between.light).expect("room on the disk");
        written += HELD + 1;
    }
    println!("{written}");
}

impl Light {
    fn of(photo: &DynamicImage) -> Self {
        let in_range: [u8; 256] = std::array::from_fn(|v| (16 + v * 219 / 255) as u8);
        Self {
            width: photo.width() as usize,
            light: photo
                .to_luma8()
                .as_raw()
                .iter()
                .map(|v| in_range[usize::from(*v)])
                .collect(),
        }
    }

    /// Moved to the left and up, whole rows at a time; what comes in at the border repeats it.
    fn shifted(&self, by: (usize, usize)) -> Vec<u8> {
        let rows = self.light.chunks(self.width);
        let last = rows.clone().last().expect("a row at least");
        let mut moved = Vec::with_capacity(self.light.len());
        for row in rows.skip(by.1).chain(std::iter::repeat_n(last, by.1)) {
            moved.extend_from_slice(&row[by.0..]);
            moved.extend_from_slice(&row[self.width - by.0..]);
        }
        moved
    }
}

/// What a shutter sees while everything moves: both, smeared.
fn smeared(a: &Light, b: &Light, height: u32) -> Light {
    let width = a.width as u32;
    let both = a.light.iter().zip(&b.light).map(|(a, b)| a / 2 + b / 2).collect();
    let both = image::GrayImage::from_raw(width, height, both).expect("as many bytes as pixels");
    let small = DynamicImage::from(both).thumbnail_exact(width / SMEARED, height / SMEARED);
    Light {
        width: a.width,
        light: small
            .resize_exact(width, height, FilterType::Triangle)
            .to_luma8()
            .into_raw(),
    }
}

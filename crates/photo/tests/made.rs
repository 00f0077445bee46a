//! Pictures made here, whose content is known exactly.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use exif::experimental::Writer;
use exif::{Field, In, Rational, Tag, Value};
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder, tiff::TiffEncoder, webp::WebPEncoder};
use image::{DynamicImage, ExtendedColorType, ImageEncoder, RgbImage};
use shimwright_photo::{Error, Format, Limits, Orientation, decode, decode_rgb, read_facts};
use std::io::Cursor;

const WIDTH: u32 = 400;
const HEIGHT: u32 = 330;

/// Smooth, with a different corner in each direction, so that every turn and mirror shows.
fn picture() -> RgbImage {
    RgbImage::from_fn(WIDTH, HEIGHT, |x, y| {
        let left_to_right = (x * 200 / WIDTH) as u8;
        let top_to_bottom = (y * 50 / HEIGHT) as u8;
        let grey = left_to_right + top_to_bottom;
        image::Rgb([grey, grey, grey])
    })
}

fn exif_block(fields: &[Field]) -> Vec<u8> {
    let mut writer = Writer::new();
    for field in fields {
        writer.push_field(field);
    }
    let mut block = Cursor::new(Vec::new());
    writer.write(&mut block, false).unwrap();
    block.into_inner()
}

fn field(tag: Tag, value: Value) -> Field {
    Field {
        tag,
        ifd_num: In::PRIMARY,
        value,
    }
}

fn oriented(number: u16) -> Vec<u8> {
    exif_block(&[field(Tag::Orientation, Value::Short(vec![number]))])
}

fn jpeg(exif: Option<Vec<u8>>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, 95);
    if let Some(block) = exif {
        encoder.set_exif_metadata(block).unwrap();
    }
    let picture = picture();
    encoder
        .write_image(&picture, WIDTH, HEIGHT, ExtendedColorType::Rgb8)
        .unwrap();
    bytes
}

fn png(exif: Option<Vec<u8>>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = PngEncoder::new(&mut bytes);
    if let Some(block) = exif {
        encoder.set_exif_metadata(block).unwrap();
    }
    encoder
        .write_image(&picture(), WIDTH, HEIGHT, ExtendedColorType::Rgb8)
        .unwrap();
    bytes
}

fn webp(exif: Option<Vec<u8>>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = WebPEncoder::new_lossless(&mut bytes);
    if let Some(block) = exif {
        encoder.set_exif_metadata(block).unwrap();
    }
    encoder
        .write_image(&picture(), WIDTH, HEIGHT, ExtendedColorType::Rgb8)
        .unwrap();
    bytes
}

fn tiff(picture: &DynamicImage) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_with_encoder(TiffEncoder::new(&mut bytes)).unwrap();
    bytes.into_inner()
}

fn grey_at(bytes: &[u8], x: usize, y: usize) -> i32 {
    i32::from(decode(bytes, &Limits::default()).unwrap().grey.at(x, y))
}

#[test]
fn every_format_gives_the_same_grey() {
    let wanted = picture();
    let files = [
        (Format::Jpeg, jpeg(None), 2),
        (Format::Png, png(None), 0),
        (Format::WebP, webp(None), 0),
        (Format::Tiff, tiff(&DynamicImage::ImageRgb8(picture())), 0),
    ];
    for (format, bytes, tolerance) in files {
        let photo = decode(&bytes, &Limits::default()).unwrap();
        assert_eq!(photo.facts.format, format);
        assert_eq!((photo.facts.width, photo.facts.height), (WIDTH, HEIGHT));
        for (x, y, pixel) in wanted.enumerate_pixels() {
            let got = i32::from(photo.grey.at(x as usize, y as usize));
            assert!(
                (got - i32::from(pixel[0])).abs() <= tolerance,
                "{format} at ({x}, {y}): {got} for {}",
                pixel[0]
            );
        }
    }
}

#[test]
fn each_orientation_is_applied_in_each_format_that_can_carry_one() {
    let stored = picture();
    for orientation in Orientation::ALL {
        let block = oriented(orientation.exif().into());
        for (format, bytes) in [
            ("jpeg", jpeg(Some(block.clone()))),
            ("png", png(Some(block.clone()))),
            ("webp", webp(Some(block.clone()))),
        ] {
            let photo = decode(&bytes, &Limits::default()).unwrap();
            let colours = decode_rgb(&bytes, &Limits::default()).unwrap();
            assert_eq!(photo.facts.orientation, orientation.exif(), "{format}");
            assert_eq!(
                (photo.facts.stored_width, photo.facts.stored_height),
                (WIDTH, HEIGHT),
                "{format}"
            );
            assert_eq!(photo.grey.width(), photo.facts.width as usize);
            for (x, y) in [(3, 5), (390, 7), (11, 320), (395, 325), (200, 100)] {
                let (u, v) = orientation.upright_place(x, y, WIDTH as usize, HEIGHT as usize);
                let want = i32::from(stored.get_pixel(x as u32, y as u32)[0]);
                assert!(
                    (i32::from(photo.grey.at(u, v)) - want).abs() <= 2,
                    "{format} {orientation:?}"
                );
                let pixel = colours.get_pixel(u as u32, v as u32)[1];
                assert!((i32::from(pixel) - want).abs() <= 2, "{format} {orientation:?}");
            }
        }
    }
}

#[test]
fn an_orientation_that_means_nothing_counts_as_upright() {
    for number in [0, 9, 65_535] {
        let facts = read_facts(&jpeg(Some(oriented(number))), &Limits::default()).unwrap();
        assert_eq!((facts.orientation, facts.width), (1, WIDTH));
    }
}

#[test]
fn the_facts_are_read() {
    let ascii = |text: &str| Value::Ascii(vec![text.as_bytes().to_vec()]);
    let block = exif_block(&[
        field(Tag::Make, ascii("Tidewheel ")),
        field(Tag::Model, ascii("Tidewheel Eye 2")),
        field(Tag::LensModel, ascii("Eye 2 back lens")),
        field(
            Tag::FocalLength,
            Value::Rational(vec![Rational { num: 543, denom: 100 }]),
        ),
        field(Tag::FocalLengthIn35mmFilm, Value::Short(vec![26])),
        field(Tag::DateTimeOriginal, ascii("2026:03:08 14:05:09")),
        field(Tag::OffsetTimeOriginal, ascii("-03:30")),
    ]);
    let facts = read_facts(&jpeg(Some(block)), &Limits::default()).unwrap();
    assert_eq!(facts.make.as_deref(), Some("Tidewheel"));
    assert_eq!(facts.camera_name(), "Tidewheel Eye 2");
    assert_eq!(facts.lens.as_deref(), Some("Eye 2 back lens"));
    assert_eq!((facts.focal_mm, facts.focal_35mm), (Some(5.43), Some(26.0)));
    assert_eq!(facts.taken.as_deref(), Some("2026-03-08T14:05:09-03:30"));
    assert!(!facts.has_gps);
    let json = serde_json::to_string(&facts).unwrap();
    assert_eq!(
        serde_json::from_str::<shimwright_photo::PhotoFacts>(&json).unwrap(),
        facts
    );
}

#[test]
fn an_unknown_equivalent_focal_length_is_absent() {
    let block = exif_block(&[field(Tag::FocalLengthIn35mmFilm, Value::Short(vec![0]))]);
    assert_eq!(
        read_facts(&jpeg(Some(block)), &Limits::default())
            .unwrap()
            .focal_35mm,
        None
    );
}

#[test]
fn sixteen_bits_and_transparency_come_out_right() {
    let deep = image::ImageBuffer::from_fn(WIDTH, HEIGHT, |x, _| image::Luma([(x * 163) as u16]));
    let bytes = tiff(&DynamicImage::ImageLuma16(deep));
    // A sixteen-bit value of 257 v is the eight-bit value v.
    assert_eq!(
        grey_at(&bytes, 100, 3),
        ((100 * 163) as f64 / 257.0).round() as i32
    );

    let half_red = image::ImageBuffer::from_pixel(WIDTH, HEIGHT, image::Rgba([255_u8, 0, 0, 128]));
    let mut bytes = Cursor::new(Vec::new());
    half_red.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    // On white: red stays 255, green and blue are 127; luma 0.299 * 255 + 0.701 * 127 = 165.3.
    assert_eq!(grey_at(&bytes.into_inner(), 9, 9), 165);
}

#[test]
fn colours_survive() {
    let bytes = {
        let red = RgbImage::from_pixel(WIDTH, HEIGHT, image::Rgb([200, 30, 60]));
        shimwright_photo::encode_jpeg(&red, 95).unwrap()
    };
    let pixel = *decode_rgb(&bytes, &Limits::default())
        .unwrap()
        .get_pixel(100, 100);
    for (got, want) in pixel.0.into_iter().zip([200, 30, 60]) {
        assert!((i32::from(got) - want).abs() <= 3, "{pixel:?}");
    }
    // 0.299 * 200 + 0.587 * 30 + 0.114 * 60 = 84.3
    assert!((grey_at(&bytes, 100, 100) - 84).abs() <= 1);
}

/// A file that is cut anywhere is refused: no part of it may come back as grey.
#[test]
fn a_file_cut_short_anywhere_is_refused() {
    let files = [
        jpeg(Some(oriented(6))),
        png(None),
        webp(None),
        tiff(&DynamicImage::ImageRgb8(picture())),
    ];
    for bytes in files {
        for permille in [1, 5, 20, 100, 300, 500, 700, 900, 990, 999] {
            let kept = (bytes.len() * permille / 1000).max(12);
            let cut = &bytes[..kept];
            let error = decode(cut, &Limits::default()).err();
            assert!(
                matches!(error, Some(Error::Truncated { .. } | Error::Damaged { .. })),
                "{permille} permille of {} bytes: {error:?}",
                bytes.len()
            );
        }
    }
}

#[test]
fn a_cut_jpeg_is_called_cut() {
    let bytes = jpeg(None);
    for kept in [bytes.len() / 2, bytes.len() - 2] {
        let error = decode(&bytes[..kept], &Limits::default()).unwrap_err();
        assert_eq!(
            error,
            Error::Truncated {
                format: Format::Jpeg,
                bytes: kept
            }
        );
        let sentence = error.to_string();
        assert!(
            sentence.contains("cut short") && !sentence.contains('\n'),
            "{sentence}"
        );
    }
}

/// The usual decoders fill such a file with grey and report nothing.
#[test]
fn a_cut_jpeg_is_refused_even_with_an_end_marker_put_behind_it() {
    let bytes = jpeg(None);
    for permille in [200, 500, 800, 950] {
        let mut cut = bytes[..bytes.len() * permille / 1000].to_vec();
        cut.extend([0xFF, 0xD9]);
        let error = decode(&cut, &Limits::default()).err();
        assert!(
            matches!(error, Some(Error::Truncated { .. } | Error::Damaged { .. })),
            "{permille}: {error:?}"
        );
    }
}

#[test]
fn a_jpeg_whose_tail_is_zeros_is_refused() {
    let mut bytes = jpeg(None);
    let half = bytes.len() / 2;
    bytes[half..].fill(0);
    assert!(matches!(
        decode(&bytes, &Limits::default()),
        Err(Error::Truncated { .. })
    ));
}

/// Phones append video, depth maps and second pictures behind the end marker, and some programs leave stray bytes
/// between segments.
#[test]
fn bytes_behind_or_between_the_segments_do_no_harm() {
    let mut bytes = jpeg(Some(oriented(1)));
    bytes.extend(b"a motion video and so on \xff\xd8\xff");
    assert!(decode(&bytes, &Limits::default()).is_ok());
    let mut stray = bytes[..2].to_vec();
    stray.extend([7; 11]);
    stray.extend(&bytes[2..]);
    let photo = decode(&stray, &Limits::default()).unwrap();
    assert_eq!(photo.grey, decode(&bytes, &Limits::default()).unwrap().grey);
}

#[test]
fn wrong_kinds_are_named() {
    let refuse = |bytes: &[u8]| decode(bytes, &Limits::default()).unwrap_err();
    assert_eq!(refuse(b""), Error::Empty);
    assert_eq!(
        refuse(b"{\"check\": \"gap\", \"photos\": []}"),
        Error::NotAPicture
    );
    assert_eq!(
        refuse(b"%PDF-1.7 ..."),
        Error::OtherFormat {
            name: "a PDF document"
        }
    );
    let heic = refuse(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").to_string();
    assert!(
        heic.contains("HEIC") && heic.contains("most compatible") && heic.contains("JPEG"),
        "{heic}"
    );
}

/// A PNG head that claims 20,000 x 20,000 pixels; there is no picture behind it, so only a check that comes before
/// decoding can name the limit.
#[test]
fn a_huge_picture_is_refused_before_it_is_decoded() {
    let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
    let mut head = Vec::new();
    head.extend(20_000_u32.to_be_bytes());
    head.extend(20_000_u32.to_be_bytes());
    head.extend([8, 0, 0, 0, 0]);
    png.extend(&head);
    png.extend(crc(&[b"IHDR", &head[..]].concat()).to_be_bytes());
    png.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e");
    let error = decode(&png, &Limits::default()).unwrap_err();
    assert_eq!(
        error,
        Error::TooManyPixels {
            width: 20_000,
            height: 20_000,
            limit: 60_000_000
        }
    );
    assert!(error.to_string().contains("20000 x 20000") && error.to_string().contains("60 megapixels"));

    // The same in a JPEG's frame header.
    let mut bytes = jpeg(None);
    let frame = bytes.windows(2).position(|two| two == [0xFF, 0xC0]).unwrap();
    bytes[frame + 5..frame + 9].copy_from_slice(&[0x4E, 0x20, 0x4E, 0x20]);
    assert!(matches!(
        decode(&bytes, &Limits::default()),
        Err(Error::TooManyPixels {
            width: 20_000,
            height: 20_000,
            ..
        })
    ));
}

/// CRC-32 as PNG uses it (ISO 3309).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |c, _| {
            if c & 1 == 1 {
                0xEDB8_8320 ^ (c >> 1)
            } else {
                c >> 1
            }
        })
    })
}

#[test]
fn limits_are_kept_on_both_sides() {
    let bytes = png(None);
    let small = Limits {
        min_side: HEIGHT + 1,
        ..Limits::default()
    };
    assert!(matches!(
        decode(&bytes, &small),
        Err(Error::TooSmall {
            width: WIDTH,
            height: HEIGHT,
            min: 331
        })
    ));
    let exact = Limits {
        min_side: HEIGHT,
        max_pixels: u64::from(WIDTH * HEIGHT),
        max_bytes: bytes.len(),
    };
    assert!(decode(&bytes, &exact).is_ok());
    let short = Limits {
        max_bytes: bytes.len() - 1,
        ..Limits::default()
    };
    assert!(matches!(decode(&bytes, &short), Err(Error::TooManyBytes { .. })));
}

/// Every byte of a small file in turn is set to three values: an answer must come, picture or error.
#[test]
fn no_single_wrong_byte_causes_a_panic() {
    let tiny = RgbImage::from_fn(24, 16, |x, y| image::Rgb([(x * 9) as u8, (y * 15) as u8, 90]));
    let limits = Limits {
        min_side: 1,
        ..Limits::default()
    };
    let mut files = vec![tiff(&DynamicImage::ImageRgb8(tiny.clone()))];
    for format in [
        image::ImageFormat::Jpeg,
        image::ImageFormat::Png,
        image::ImageFormat::WebP,
    ] {
        let mut bytes = Cursor::new(Vec::new());
        tiny.write_to(&mut bytes, format).unwrap();
        files.push(bytes.into_inner());
    }
    let mut answers = 0;
    for mut bytes in files {
        for at in 0..bytes.len() {
            let right = bytes[at];
            for wrong in [0x00, 0xFF, right ^ 0x10] {
                bytes[at] = wrong;
                if let Err(error) = decode(&bytes, &limits) {
                    let sentence = error.to_string();
                    assert!(!sentence.contains('\n') && sentence.len() < 400, "{sentence}");
                }
                answers += 1;
            }
            bytes[at] = right;
        }
    }
    assert!(answers > 3_000, "{answers}");
}

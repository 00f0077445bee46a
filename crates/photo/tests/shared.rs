//! Copies to hand out: no place in them, and the same measurement.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use exif::experimental::Writer;
use exif::{Context, Field, In, Rational, Reader, Tag, Value};
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder, webp::WebPEncoder};
use image::{ExtendedColorType, ImageEncoder, RgbImage};
use shimwright_photo::{Error, Limits, decode, picture_part, read_facts, shared_copy};
use std::io::Cursor;
use std::path::{Path, PathBuf};

const ANY_SIZE: Limits = Limits {
    max_bytes: 80_000_000,
    max_pixels: 60_000_000,
    min_side: 1,
};

/// A photo whose Exif block tells place, owner and a maker's note beside what measuring needs.
fn exif_block() -> Vec<u8> {
    let ascii = |text: &str| Value::Ascii(vec![text.as_bytes().to_vec()]);
    let ratio = |num, denom| Value::Rational(vec![Rational { num, denom }]);
    let fields = [
        (Tag::Make, ascii("Larkspur")),
        (Tag::Model, ascii("L-20 Test")),
        (Tag::Artist, ascii("SECRET OWNER")),
        (Tag::Orientation, Value::Short(vec![6])),
        (Tag::DateTimeOriginal, ascii("2026:03:08 10:00:00")),
        (Tag::OffsetTimeOriginal, ascii("+05:30")),
        (Tag::FocalLength, ratio(425, 100)),
        (Tag::FocalLengthIn35mmFilm, Value::Short(vec![26])),
        (Tag::LensModel, ascii("a lens")),
        (Tag::BodySerialNumber, ascii("SECRET SERIAL")),
        (Tag::MakerNote, Value::Undefined(b"SECRET NOTE".to_vec(), 0)),
        (Tag::GPSLatitudeRef, ascii("N")),
        (
            Tag::GPSLatitude,
            Value::Rational(vec![
                Rational {
                    num: 5252,
                    denom: 101
                };
                3
            ]),
        ),
        (
            Tag::GPSLongitude,
            Value::Rational(vec![
                Rational {
                    num: 1313,
                    denom: 101
                };
                3
            ]),
        ),
    ]
    .map(|(tag, value)| Field {
        tag,
        ifd_num: In::PRIMARY,
        value,
    });
    let mut writer = Writer::new();
    fields.iter().for_each(|field| writer.push_field(field));
    let mut block = Cursor::new(Vec::new());
    writer.write(&mut block, false).unwrap();
    block.into_inner()
}

fn picture() -> RgbImage {
    RgbImage::from_fn(400, 330, |x, y| image::Rgb([(x / 2) as u8, (y / 2) as u8, 99]))
}

fn written(mut encoder: impl ImageEncoder) {
    encoder.set_exif_metadata(exif_block()).unwrap();
    encoder
        .write_image(&picture(), 400, 330, ExtendedColorType::Rgb8)
        .unwrap();
}

/// Checks a copy against its original: same pixels, same facts but the place, no field beyond the list.
fn check(name: &str, original: &[u8], copy: &[u8]) {
    let (before, after) = (
        decode(original, &ANY_SIZE).unwrap(),
        decode(copy, &ANY_SIZE).unwrap(),
    );
    assert_eq!(before.grey, after.grey, "{name}: other pixels");
    assert!(!after.facts.has_gps, "{name}");
    let mut facts = before.facts;
    facts.has_gps = false;
    assert_eq!(facts, after.facts, "{name}");
    if let Ok(exif) = Reader::new().read_from_container(&mut Cursor::new(copy)) {
        for field in exif.fields() {
            assert!(field.tag.context() != Context::Gps, "{name}: {}", field.tag);
            assert!(
                field.tag != Tag::MakerNote && field.ifd_num == In::PRIMARY,
                "{name}: {}",
                field.tag
            );
        }
    }
    for hidden in [
        b"ns.adobe.com/xap".as_slice(),
        b"SECRET",
        b"GPS",
        b"Photoshop 3.0",
    ] {
        assert!(
            !copy.windows(hidden.len()).any(|part| part == hidden),
            "{name} still holds {hidden:?}"
        );
    }
    assert!(
        copy.windows(4).filter(|part| part == b"Exif").count() <= 1,
        "{name} holds a second Exif block"
    );
    assert_eq!(
        shared_copy(copy, &ANY_SIZE).unwrap(),
        copy,
        "{name}: a copy of a copy is the copy"
    );
}

#[test]
fn made_photos_lose_their_place_and_keep_what_measuring_needs() {
    let (mut jpeg, mut png, mut webp) = (Vec::new(), Vec::new(), Vec::new());
    written(JpegEncoder::new_with_quality(&mut jpeg, 90));
    written(PngEncoder::new(&mut png));
    written(WebPEncoder::new_lossless(&mut webp));
    // What phones hide behind a picture's end, and before it.
    jpeg.extend(b"trailer with SECRET place and another Exif block");
    jpeg.splice(
        2..2,
        [b"\xff\xe1\x00\x29http://ns.adobe.com/xap/1.0/\0SECRET XMP".as_slice()].concat(),
    );
    for (name, original) in [("jpeg", jpeg), ("png", png), ("webp", webp)] {
        let facts = read_facts(&original, &ANY_SIZE).unwrap();
        assert!(
            facts.has_gps && facts.orientation == 6 && facts.focal_35mm == Some(26.0),
            "{name}: {facts:?}"
        );
        assert_eq!(facts.taken.as_deref(), Some("2026-03-08T10:00:00+05:30"));
        check(name, &original, &shared_copy(&original, &ANY_SIZE).unwrap());
    }
}

#[test]
fn a_part_of_a_picture_is_made_smaller_and_never_larger() {
    let picture = picture();
    let whole = picture_part(&picture, [0, 0, 400, 330], 1000);
    assert_eq!(whole, picture);
    let part = picture_part(&picture, [100, 50, 300, 150], 50);
    assert_eq!((part.width(), part.height()), (50, 25));
    // The middle of the part is the middle of its window: (200, 100) is red 100, green 50.
    let middle = part.get_pixel(25, 12).0;
    assert!(
        middle[0].abs_diff(100) <= 2 && middle[1].abs_diff(50) <= 2,
        "{middle:?}"
    );
    let beyond = picture_part(&picture, [390, 320, 500, 500], 1000);
    assert_eq!((beyond.width(), beyond.height()), (10, 10));
}

/// A TIFF of one strip with the block's fields, a preview with a secret in a second directory, and a trailer.
fn tiff(order_is_little: bool) -> Vec<u8> {
    let picture = picture();
    let short = |number: u16| Value::Short(vec![number]);
    let fields = [
        (Tag::ImageWidth, short(400)),
        (Tag::ImageLength, short(330)),
        (Tag::BitsPerSample, Value::Short(vec![8, 8, 8])),
        (Tag::Compression, short(1)),
        (Tag::PhotometricInterpretation, short(2)),
        (Tag::SamplesPerPixel, short(3)),
        (Tag::RowsPerStrip, short(330)),
        (Tag::PlanarConfiguration, short(1)),
    ]
    .map(|(tag, value)| Field {
        tag,
        ifd_num: In::PRIMARY,
        value,
    });
    let (told, _) = exif::parse_exif(&exif_block()).unwrap();
    let preview = Field {
        tag: Tag::ImageDescription,
        ifd_num: In::THUMBNAIL,
        value: Value::Ascii(vec![b"SECRET PREVIEW".to_vec()]),
    };
    let strip: &[u8] = &picture;
    let strips = [strip];
    let mut writer = Writer::new();
    fields
        .iter()
        .chain(&told)
        .for_each(|field| writer.push_field(field));
    writer.push_field(&preview);
    writer.set_strips(&strips, In::PRIMARY);
    let mut file = Cursor::new(Vec::new());
    writer.write(&mut file, order_is_little).unwrap();
    let mut file = file.into_inner();
    file.extend(b"trailer with SECRET place");
    file
}

#[test]
fn a_tiff_keeps_its_layout_and_loses_its_place() {
    for little in [true, false] {
        let original = tiff(little);
        let facts = read_facts(&original, &ANY_SIZE).unwrap();
        assert!(facts.has_gps && facts.orientation == 6, "{facts:?}");
        let copy = shared_copy(&original, &ANY_SIZE).unwrap();
        assert_eq!(copy.len(), original.len());
        check("tiff", &original, &copy);
    }
}

#[test]
fn a_damaged_tiff_is_refused_with_the_way_out() {
    let mut damaged = tiff(true);
    // The strip's length says more than there is.
    let length = (400_u32 * 330 * 3).to_le_bytes();
    let place = damaged.windows(4).position(|part| part == length).unwrap();
    damaged[place + 3] = 0x7f;
    let refusal = shared_copy(&damaged, &ANY_SIZE).unwrap_err();
    assert!(matches!(refusal, Error::NoSharedCopy { .. }), "{refusal:?}");
    assert!(
        refusal
            .to_string()
            .ends_with("hand it out as it is, or as a JPEG"),
        "{refusal}"
    );
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).into_iter().flatten() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(files_below(&path))
        } else {
            files.push(path)
        }
    }
    files.sort();
    files
}

/// Photographs of many phones and cameras, a good part of them with places.
#[test]
fn public_photographs_lose_their_place_and_nothing_that_measuring_needs() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/real");
    let (mut copied, mut with_place, mut refused) = (0, 0, Vec::new());
    for path in ["exif_samples", "exif_rs", "nom_exif"]
        .iter()
        .flat_map(|name| files_below(&root.join(name)))
    {
        let bytes = std::fs::read(&path).unwrap();
        if decode(&bytes, &ANY_SIZE).is_err() {
            continue; // Damaged files are another test's.
        }
        let facts = read_facts(&bytes, &ANY_SIZE).unwrap();
        match shared_copy(&bytes, &ANY_SIZE) {
            Ok(copy) => {
                check(&path.display().to_string(), &bytes, &copy);
                copied += 1;
                with_place += usize::from(facts.has_gps);
            }
            Err(error) => refused.push(format!("{}: {error}", path.display())),
        }
    }
    if copied == 0 {
        println!("skipped: {} is not there", root.display());
        return;
    }
    println!("{copied} copies, {with_place} of photos with a place; refused: {refused:?}");
    assert!(
        copied >= 51 && with_place >= 4,
        "{copied} copied, {with_place} with a place"
    );
    assert_eq!(refused, [] as [String; 0]);
}

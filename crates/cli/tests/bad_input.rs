//! Bad input: one line that says what is wrong and how to mend it, exit status 2 or 3, and nothing stored.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use serde_json::{Value, json};
use shop::{Shop, refuse, refused};

/// A smooth picture without any target, different for each seed.
fn plain_jpeg(seed: u32) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(900, 700, |x, y| {
        image::Rgb([(x * 200 / 900) as u8, (y * 200 / 700) as u8, (seed * 40) as u8])
    });
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

/// The head of a PNG that claims a size; there is no picture behind it.
fn png_head(width: u32, height: u32) -> Vec<u8> {
    let mut head = b"IHDR".to_vec();
    head.extend(width.to_be_bytes());
    head.extend(height.to_be_bytes());
    head.extend([8, 2, 0, 0, 0]);
    // CRC-32 as PNG uses it (ISO 3309).
    let crc = !head.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |c, _| {
            if c & 1 == 1 {
                0xEDB8_8320 ^ (c >> 1)
            } else {
                c >> 1
            }
        })
    });
    [
        b"\x89PNG\r\n\x1a\n\0\0\0\x0d".as_slice(),
        &head,
        &crc.to_be_bytes(),
        b"\0\0\0\0IDAT\x35\xaf\x06\x1e",
    ]
    .concat()
}

#[test]
fn no_target_in_view() {
    let shop = Shop::new();
    for i in [1, 2] {
        shop.write(&format!("plain-{i}.jpg"), &plain_jpeg(i));
    }
    let edges =
        json!({"mount_edge": [[100, 100], [500, 110]], "rim_edge": [[100, 200], [300, 190], [500, 200]]});
    let job = json!({"check": "gap", "photos": [
        {"file": "plain-1.jpg", "marks": edges}, {"file": "plain-2.jpg"}
    ]});
    let trouble = refuse(&shop, &job, 3);
    assert!(
        trouble.contains("mount-card") || trouble.contains("target") || trouble.contains("card"),
        "{trouble}"
    );
}

#[test]
fn a_file_of_another_kind() {
    let shop = Shop::new();
    shop.write("left-2.jpg", b"dear diary, the wheel rubs again");
    let trouble = refuse(&shop, &shop.job(), 2);
    assert!(
        trouble.contains("left-2.jpg") && trouble.contains("not a picture"),
        "{trouble}"
    );
    shop.write("left-2.jpg", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic");
    assert!(refuse(&shop, &shop.job(), 2).contains("HEIC"));
}

#[test]
fn a_jpeg_that_is_cut_short() {
    let shop = Shop::new();
    let whole = std::fs::read(shop.path("left-2.jpg")).unwrap();
    shop.write("left-2.jpg", &whole[..whole.len() * 6 / 10]);
    let trouble = refuse(&shop, &shop.job(), 2);
    assert!(
        trouble.contains("left-2.jpg") && trouble.contains("cut short"),
        "{trouble}"
    );
}

#[test]
fn a_jpeg_that_is_cut_short_behind_an_end_marker() {
    let shop = Shop::new();
    let whole = std::fs::read(shop.path("left-2.jpg")).unwrap();
    let mut cut = whole[..whole.len() * 6 / 10].to_vec();
    cut.extend([0xFF, 0xD9]);
    shop.write("left-2.jpg", &cut);
    let trouble = refuse(&shop, &shop.job(), 2);
    assert!(trouble.contains("left-2.jpg"), "{trouble}");
}

#[test]
fn a_picture_of_twenty_thousand_by_twenty_thousand() {
    let shop = Shop::new();
    shop.write("left-2.jpg", &png_head(20_000, 20_000));
    let trouble = refuse(&shop, &shop.job(), 2);
    assert!(
        trouble.contains("20000 x 20000") && trouble.contains("60 megapixels"),
        "{trouble}"
    );
}

#[test]
fn an_empty_photo_and_an_empty_job() {
    let shop = Shop::new();
    shop.write("left-2.jpg", b"");
    assert!(refuse(&shop, &shop.job(), 2).contains("left-2.jpg: the file is empty"));
    shop.write("empty.json", b"");
    assert!(refused(&shop.run(["measure", "empty.json"]), 2).contains("empty.json is empty"));
}

#[test]
fn a_missing_photo_job_or_camera() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["photos"][1]["file"] = json!("gone.jpg");
    assert!(refuse(&shop, &job, 2).contains("no file gone.jpg"));
    let mut job = shop.job();
    job["camera"] = json!("gone.json");
    assert!(refuse(&shop, &job, 2).contains("no file gone.json"));
    assert!(refused(&shop.run(["measure", "gone.json"]), 2).contains("no file gone.json"));
}

#[test]
fn a_folder_where_a_photo_should_be() {
    let shop = Shop::new();
    std::fs::create_dir(shop.path("folder")).unwrap();
    let mut job = shop.job();
    job["photos"][1]["file"] = json!("folder");
    assert!(refuse(&shop, &job, 2).contains("folder is a folder"));
}

#[test]
fn marks_outside_the_picture() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["photos"][0]["marks"]["mount_edge"][0] = json!([2816, 100]);
    let trouble = refuse(&shop, &job, 2);
    assert!(
        trouble.contains("mount_edge") && trouble.contains("outside the picture of 2816 x 2112"),
        "{trouble}"
    );
    job["photos"][0]["marks"]["mount_edge"][0] = json!([-1, 100]);
    assert!(refuse(&shop, &job, 2).contains("outside the picture"));
}

#[test]
fn a_mark_of_one_point() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["photos"][0]["marks"]["mount_edge"] = json!([[100, 100]]);
    assert!(refuse(&shop, &job, 2).contains("1 point"));
}

#[test]
fn an_unknown_key_in_the_job() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["print_scael"] = json!(1.0);
    let trouble = refuse(&shop, &job, 2);
    assert!(
        trouble.contains("`print_scael`") && trouble.contains("did you mean `print_scale`?"),
        "{trouble}"
    );
}

#[test]
fn a_job_that_is_no_json() {
    let shop = Shop::new();
    shop.write("job.json", b"{\"check\": \"gap\", \"photos\": [");
    assert!(refused(&shop.run(["measure", "job.json"]), 2).contains("bracket"));
    assert!(refused(&shop.run(["measure", "left-1.jpg"]), 2).contains("is not text"));
}

#[test]
fn two_photos_with_the_same_content() {
    let shop = Shop::new();
    std::fs::copy(shop.path("left-1.jpg"), shop.path("left-2.jpg")).unwrap();
    let trouble = refuse(&shop, &shop.job(), 2);
    assert!(
        trouble.contains("left-1.jpg and left-2.jpg have the same content"),
        "{trouble}"
    );
}

#[test]
fn one_view_without_a_stated_height() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["photos"] = json!([job["photos"][0]]);
    let trouble = refuse(&shop, &job, 2);
    assert!(trouble.contains("height"), "{trouble}");
}

#[test]
fn a_print_scale_that_no_printer_makes() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["print_scale"]["x"] = json!(1.3);
    assert!(refuse(&shop, &job, 2).contains("print_scale"));
}

#[test]
fn too_many_photos() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["photos"] = json!(vec![json!({"file": "left-1.jpg"}); 61]);
    assert!(refuse(&shop, &job, 2).contains("61 photos"));
}

#[test]
fn a_camera_profile_that_is_none() {
    let shop = Shop::new();
    shop.write("camera.json", b"{\"fx\": 3}");
    assert!(refuse(&shop, &shop.job(), 2).contains("camera.json"));
}

#[test]
fn a_check_that_is_not_offered() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["check"] = json!("play");
    assert!(refuse(&shop, &job, 2).contains("play"));
}

/// Part jobs that cannot be meant: each is refused before a photo is measured.
#[test]
fn part_jobs_that_cannot_be_meant() {
    let shop = Shop::new();
    let rim = json!([[900, 900], [1000, 800], [1100, 900]]);
    let edge = json!([[900, 900], [1000, 900]]);
    let two = |marks: Value| json!([{"file": "left-1.jpg", "marks": marks}, {"file": "left-2.jpg"}]);
    let one = |marks: Value| json!([{"file": "left-1.jpg", "marks": marks}]);
    for (photos, more, part) in [
        (two(json!({})), json!({}), "no photo has a mark"),
        (two(json!({"rim_edge": rim})), json!({}), "no mark `rim_edge`"),
        (two(json!({"outer": edge})), json!({}), "at least 3 points"),
        (two(json!({"edge_a": edge})), json!({}), "`edge_b`"),
        (one(json!({"outer": rim})), json!({}), "`height`"),
        (
            one(json!({"outer": rim})),
            json!({"height": {"value": 300, "u95": 0.1}}),
            "not between 0 and 80",
        ),
        (
            two(json!({"outer": rim})),
            json!({"drive": {"nominal": 22.0}}),
            "belong together",
        ),
        (
            two(json!({"outer": rim})),
            json!({"drive": {"rim_chamfer": -1}}),
            "rim_chamfer",
        ),
        (
            two(json!({"outer": rim})),
            json!({"targets": {"fixed": "moon-card"}}),
            "moon-card",
        ),
    ] {
        let mut job = json!({"check": "part", "photos": photos});
        for (key, value) in more.as_object().unwrap() {
            job[key] = value.clone();
        }
        let trouble = refuse(&shop, &job, 2);
        assert!(trouble.contains(part), "{trouble}");
    }
    // The demo's photos show no bench sheet.
    let job = json!({"check": "part", "photos": two(json!({"outer": rim}))});
    assert!(refuse(&shop, &job, 3).contains("no bench-sheet"));
}

#[test]
fn arguments_that_make_no_sense() {
    let shop = Shop::new();
    for (arguments, part) in [
        (&["frobnicate"][..], "frobnicate"),
        (&["measure"], "JOB.json"),
        (&["measure", "left.json", "--jsno"], "--jsno"),
        (
            &["save", "left.json", "--board", "x", "--corner", "middle"],
            "middle",
        ),
        (&["advise"], "QUESTION.json"),
        (&["targets", "--sheet", "moon", "--out", "t"], "moon"),
        (&["targets", "--paper", "a7", "--out", "t"], "a7"),
        (&["record", "--board", "nobody"], "nobody"),
        (&["stock", "add", "thick", "wide"], "wide"),
        (&["board", "add", " "], "name"),
    ] {
        let trouble = refused(&shop.run(arguments), 2);
        assert!(trouble.contains(part), "{trouble}");
    }
}

#[test]
fn a_history_that_cannot_be_written_is_the_storages_fault() {
    let shop = Shop::new();
    shop.write("history", b"a file where a folder should be");
    assert!(refused(&shop.run(["board", "list"]), 1).contains("cannot be written"));
}

#[test]
fn trials_that_are_too_few_or_too_many_or_of_another_check() {
    let shop = Shop::new();
    for count in [199, 100_001] {
        let mut job = shop.job();
        job["trials"] = json!(count);
        let trouble = refuse(&shop, &job, 2);
        let words = format!("`trials` is {count}, which is not between 200 and 100000");
        assert!(trouble.contains(&words), "{trouble}");
    }
    let mut turn = shop.job();
    turn["check"] = json!("turn");
    turn["trials"] = json!(199);
    assert!(refuse(&shop, &turn, 2).contains("which is not between"));
    for (key, value) in [
        ("check", json!("play")),
        ("drive", json!({"equal_steps": "clockwise"})),
    ] {
        let mut other = turn.clone();
        other[key] = value;
        other["trials"] = json!(1000);
        let trouble = refuse(&shop, &other, 2);
        assert!(
            trouble.contains("for a gap job and for a turn job with a hub ring only"),
            "{trouble}"
        );
    }
}

#[test]
fn edges_proposed_without_a_diameter_or_for_another_check() {
    let shop = Shop::new();
    let mut job = shop.job();
    job["drive"].as_object_mut().unwrap().remove("rim_diameter");
    let path = shop.write_job(&job);
    let trouble = refused(&shop.run(["propose".as_ref(), path.as_os_str()]), 2);
    assert!(trouble.contains("diameter"), "{trouble}");
    job["check"] = json!("play");
    let path = shop.write_job(&job);
    let trouble = refused(&shop.run(["propose".as_ref(), path.as_os_str()]), 2);
    assert!(trouble.contains("gap job only"), "{trouble}");
}

/// The marks of a proposal are those of a job: put into it, they are measured from.
#[test]
fn proposed_edges_are_marks() {
    let shop = Shop::new();
    let proposal = shop.json(["propose", "left.json", "--json"]);
    let names: Vec<_> = proposal["edges"]
        .as_array()
        .unwrap()
        .iter()
        .map(|edge| &edge["mark"])
        .collect();
    assert!(names.contains(&&json!("rim_edge")), "{proposal}");
    let quality = proposal["edges"][0]["quality"].as_f64().unwrap();
    assert!(quality > 0.0 && quality <= 1.0, "{quality}");
    let photos = proposal["photos"].as_array().unwrap();
    assert_eq!(photos[0]["file"], "left-1.jpg");
    assert!(
        photos[0]["marks"]["rim_edge"].as_array().unwrap().len() >= 3,
        "{proposal}"
    );
    assert_eq!(photos.len(), shop.job()["photos"].as_array().unwrap().len());
}

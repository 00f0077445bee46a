//! The camera check on the rendered bench sheet with known truth, and against OpenCV's calibration from the same
//! corners.

use serde_json::json;
use shimwright_camera::{Camera, CameraProfile};
use shimwright_measure::{Error, JobInput, Kind, PhotoInput, Silent, look_at, run};
use shimwright_record::{CheckKind, CheckResult, Conformity, Job, JobPhoto};
use shimwright_solve::field_difference;
use shimwright_target::TargetSet;
use shimwright_tests::outside;
use shimwright_tests::rendered::{Truth, number};

const NAMES: [&str; 8] = ["fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2"];
/// Largest error of the solved lens over the picture, px: what an afternoon with OpenCV reaches on these photos.
const FIELD_PX: f64 = 0.16;

type Photos = Vec<(String, Vec<u8>)>;

fn photos(truth: &Truth, numbers: impl IntoIterator<Item = usize>) -> Photos {
    numbers
        .into_iter()
        .map(|i| format!("b_{i:02}"))
        .map(|id| (format!("{id}.jpg"), truth.bytes(&id)))
        .collect()
}

fn calibrate(photos: &Photos) -> Result<CheckResult, Error> {
    let job = Job {
        photos: photos
            .iter()
            .map(|(name, _)| JobPhoto {
                file: name.clone(),
                marks: Default::default(),
            })
            .collect(),
        ..Job::of(CheckKind::Camera)
    };
    let inputs: Vec<_> = photos
        .iter()
        .map(|(name, bytes)| PhotoInput { name, bytes })
        .collect();
    let targets = TargetSet::built_in();
    let input = JobInput {
        job: &job,
        photos: &inputs,
        targets: &targets,
        camera: None,
    };
    run(&input, &Silent)
}

/// The camera of a result, and its standard deviations.
fn camera(result: &CheckResult) -> (Camera, [f64; 8]) {
    let mut camera = Camera::ideal(2816, 2112, 1.0);
    let mut sigma = [0.0; 8];
    for (k, name) in NAMES.into_iter().enumerate() {
        let quantity = result.quantity(name).expect("a value");
        camera.intrinsics[k] = quantity.value;
        sigma[k] = quantity.u95 / 1.96;
    }
    (camera, sigma)
}

fn true_camera(truth: &Truth) -> Camera {
    CameraProfile::from_json(&truth.camera_profile())
        .expect("a profile")
        .camera
}

#[test]
fn twelve_photos_give_the_true_camera() {
    let Some(truth) = Truth::load() else { return };
    let started = std::time::Instant::now();
    let result = calibrate(&photos(&truth, 1..=12)).expect("a calibration");
    let took = started.elapsed().as_secs_f64();
    let ((found, sigma), want) = (camera(&result), true_camera(&truth));
    let error = field_difference(&want, &found);
    println!("12 photos in {took:.1} s: field error {error:.3} px");
    for k in 0..8 {
        let miss = found.intrinsics[k] - want.intrinsics[k];
        println!(
            "{}: off by {miss:.2e}, standard deviation {:.2e}",
            NAMES[k], sigma[k]
        );
        assert!(miss.abs() <= 3.0 * sigma[k], "{} is off by {miss}", NAMES[k]);
    }
    assert!(error <= FIELD_PX, "{error} px");
    assert_eq!(
        result.verdict.state,
        Conformity::Within,
        "{}",
        result.verdict.text
    );
    assert_eq!(result.warnings, Vec::<String>::new());
    assert!(result.photos.iter().all(|p| p.used && p.rms_px < 0.1));
    let u: f64 = result
        .budget
        .iter()
        .map(|line| line.u * line.u)
        .sum::<f64>()
        .sqrt();
    let told = format!("{:.2} px (95 %)", 1.96 * u);
    assert!(
        result.verdict.text.contains(&told),
        "{told}: {}",
        result.verdict.text
    );
}

/// Any four of the photos: the truth lies within what is stated, and it is said that more are wanted.
#[test]
fn few_photos_are_told_to_be_few() {
    let Some(truth) = Truth::load() else { return };
    let want = true_camera(&truth);
    let (mut outside, mut all) = (0, 0);
    for first in 1..=3 {
        let result = calibrate(&photos(&truth, (first..=12).step_by(3))).expect("a calibration");
        assert_eq!(result.verdict.state, Conformity::Undecided);
        assert!(
            result.warnings.iter().any(|w| w.contains("only 4 photos")),
            "{:?}",
            result.warnings
        );
        let (found, sigma) = camera(&result);
        for (k, sigma) in sigma.iter().enumerate() {
            let miss = (found.intrinsics[k] - want.intrinsics[k]).abs();
            assert!(miss <= 4.0 * sigma, "{}: {miss} at {sigma}", NAMES[k]);
            outside += usize::from(miss > 1.96 * sigma);
            all += 1;
        }
    }
    println!("{outside} of {all} values outside their 95 % interval");
    assert!(outside <= 5, "{outside} of {all}");
}

/// Half of the photos say that they must be turned to stand upright: the camera that stored them is the same.
#[test]
fn turned_photos_give_the_same_camera() {
    let Some(truth) = Truth::load() else { return };
    let plain = photos(&truth, 1..=6);
    let mut turned = plain.clone();
    for ((_, bytes), orientation) in turned.iter_mut().zip([6, 8, 3]) {
        // EXIF orientation, big-endian: tag 0x0112, one 16-bit number.
        let entry = [0x01, 0x12, 0, 3, 0, 0, 0, 1, 0];
        let at = bytes.windows(entry.len()).position(|w| w == entry);
        bytes[at.expect("an orientation") + entry.len()] = orientation;
    }
    let (plain, _) = camera(&calibrate(&plain).expect("a calibration"));
    let (turned, _) = camera(&calibrate(&turned).expect("a calibration"));
    let apart = field_difference(&plain, &turned);
    println!("turned photos: {apart:.4} px apart");
    assert!(apart < 0.05, "{apart} px");
}

#[test]
fn what_cannot_be_calibrated_is_refused_in_words() {
    let Some(truth) = Truth::load() else { return };
    let refused = |photos: &Photos| calibrate(photos).expect_err("no calibration");
    let few = refused(&photos(&truth, 1..=2));
    assert_eq!(few.kind, Kind::BadInput);
    assert!(few.message.contains("2 photos"), "{few}");
    // Gap photos show no bench sheet.
    let other: Photos = ["g1_v1", "g1_v2", "g1_v3"]
        .map(|id| (format!("{id}.jpg"), truth.bytes(id)))
        .into();
    let other = refused(&other);
    assert_eq!(other.kind, Kind::NotMeasurable);
    assert!(
        other.message.contains("bench-sheet") && other.message.contains("g1_v2.jpg"),
        "{other}"
    );
    // A photo by another camera: its name in the EXIF data is changed.
    let mut mixed = photos(&truth, 1..=3);
    let name = b"L-20 Test";
    let at = mixed[1].1.windows(name.len()).position(|w| w == name);
    mixed[1].1[at.expect("a model") + 2] = b'4';
    let mixed = refused(&mixed);
    assert_eq!(
        (mixed.kind, mixed.subject.as_deref()),
        (Kind::BadInput, Some("b_02.jpg"))
    );
    assert!(mixed.message.contains("L-40 Test"), "{mixed}");
}

/// `cv2.calibrateCamera` on our corners: every value within two joint standard deviations, the lenses within 0.1 px
/// over the whole picture.
#[test]
fn opencv_agrees_on_the_same_corners() {
    let Some(truth) = Truth::load() else { return };
    if !outside::is_ready(&["cv2", "numpy"], &[]) {
        return;
    }
    let photos = photos(&truth, 1..=12);
    let targets = TargetSet::built_in();
    let views: Vec<Vec<[f64; 4]>> = photos
        .iter()
        .map(|(name, bytes)| {
            let found = look_at(&PhotoInput { name, bytes }, &targets).expect("a readable photo");
            let sheet = found.targets.iter().find(|t| t.name == "bench-sheet");
            let corners = &sheet.expect("the sheet is in view").corners;
            corners
                .iter()
                .map(|c| [c.place.x, c.place.y, c.at.x, c.at.y])
                .collect()
        })
        .collect();
    let theirs = outside::ask(
        "calibrate_opencv.py",
        &json!({"width": 2816, "height": 2112, "views": views}),
    );
    let result = calibrate(&photos).expect("a calibration");
    let (ours, sigma) = camera(&result);
    let mut other = ours;
    for k in 0..8 {
        other.intrinsics[k] = number(&theirs["intrinsics"][k]);
        let joint = sigma[k].hypot(number(&theirs["sigma"][k]));
        let apart = (ours.intrinsics[k] - other.intrinsics[k]).abs();
        println!(
            "{}: {:.2} joint standard deviations apart",
            NAMES[k],
            apart / joint
        );
        assert!(apart <= 2.0 * joint, "{}: {apart} at {joint}", NAMES[k]);
    }
    let (apart, their_error) = (
        field_difference(&ours, &other),
        field_difference(&true_camera(&truth), &other),
    );
    let rms = result.quantity("rms_px").expect("a value").value;
    println!(
        "lenses {apart:.3} px apart; OpenCV's error {their_error:.3} px; rms {rms:.4} px, OpenCV's {:.4} px",
        number(&theirs["rms"])
    );
    assert!(apart <= 0.1, "{apart} px");
    assert!((rms / number(&theirs["rms"]) - 1.0).abs() < 0.05);
}

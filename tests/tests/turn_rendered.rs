//! The turn check on rendered pictures with known truth (`../shared/data/rendered`, series R: ray-traced, handheld, uneven
//! wheel angles, lens, blur, noise, JPEG).

use shimwright_measure::Kind;
use shimwright_record::{CheckKind, CheckResult, Job, JobDrive, JobPhoto, PrintScale, Quantity, Value};
use shimwright_tests::rendered::{Random, Truth, number};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

const SERIES: [&str; 2] = ["r1", "r2"];

/// The photos of a series.
fn photos(truth: &Truth, case: &str) -> Vec<String> {
    let ids = truth.case(case)["photos"].as_array().expect("photos");
    ids.iter()
        .map(|id| id.as_str().expect("an id").to_owned())
        .collect()
}

/// Three points of the rim's face line in a photo, `jitter` px off at most.
fn rim_marks(truth: &Truth, photo: &str, jitter: f64, seed: u64) -> Vec<[f64; 2]> {
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let flange = &truth.photo(photo)["scene"]["flange"];
    let radius = number(&flange["face_edge_radius"]);
    let centre: Vec<f64> = (0..3)
        .map(|i| number(&flange["face_circle_centre_W"][i]))
        .collect();
    [0.1, 0.42, 0.77]
        .map(|share| {
            let (sin, cos) = (TAU * share).sin_cos();
            // The flange's normal is the world's x to within a fifth of a degree.
            let at = truth.project(
                photo,
                &[centre[0], centre[1] + radius * cos, centre[2] + radius * sin],
            );
            at.map(|v| v + jitter * random.signed())
        })
        .to_vec()
}

/// A turn job over photos; `marked` carries the marks, if any does.
fn job(truth: &Truth, ids: &[String], marked: Option<(usize, f64, u64)>, drive: JobDrive) -> Job {
    let photos = ids.iter().enumerate().map(|(i, id)| {
        let mut marks = BTreeMap::new();
        if let Some((index, jitter, seed)) = marked
            && index == i
        {
            marks.insert("rim_edge".to_owned(), rim_marks(truth, id, jitter, seed));
        }
        JobPhoto {
            file: format!("{id}.jpg"),
            marks,
        }
    });
    Job {
        photos: photos.collect(),
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.0,
            u95: 0.001,
        }),
        drive: Some(drive),
        ..Job::of(CheckKind::Turn)
    }
}

/// Largest errors allowed, mm: eccentricity vector, axial run-out, rim diameter.
struct Gate {
    eccentricity: f64,
    axial: f64,
    diameter: f64,
}

const WITH_PROFILE: Gate = Gate {
    eccentricity: 0.010,
    axial: 0.020,
    diameter: 0.05,
};
const WITHOUT: Gate = Gate {
    eccentricity: 0.020,
    axial: 0.040,
    diameter: 0.15,
};

fn value<'a>(result: &'a CheckResult, name: &str) -> &'a Quantity {
    result.quantity(name).unwrap_or_else(|| panic!("no `{name}`"))
}

/// Difference of two angles in degrees, -180 to 180.
fn turn_between(a: f64, b: f64) -> f64 {
    (a - b + 540.0).rem_euclid(360.0) - 180.0
}

/// Holds a result against the truth of its series.
fn hold(truth: &Truth, case: &str, what: &str, result: &CheckResult, gate: &Gate) {
    let of = truth.case(case);
    let list = |name: &str| -> Vec<f64> { (0..3).map(|i| number(&of[name][i])).collect() };
    let e = list("ecc_vector_ring_frame_mm");
    let (size, direction) = (
        value(result, "eccentricity"),
        value(result, "eccentricity_direction"),
    );
    // Counter-clockwise from x as seen from the printed side, where y points down.
    let (sin, cos) = direction.value.to_radians().sin_cos();
    let miss = (size.value * cos - e[0]).hypot(-size.value * sin - e[1]);
    let true_size = number(&of["ecc_mm"]);
    let true_direction = (-e[1]).atan2(e[0]).to_degrees();
    let (axis, normal) = (
        list("axis_direction_ring_frame"),
        list("flange_normal_ring_frame"),
    );
    let high: Vec<f64> = (0..2)
        .map(|i| normal[i] * axis[2] - axis[i] * normal[2])
        .collect();
    // The rim rises towards the printed side, against z, where its normal leans out from the axis.
    let true_high = (-high[1]).atan2(high[0]).to_degrees();
    let true_axial = number(&of["axial_TIR_mm_at_od_radius"]);
    let axial = value(result, "axial_runout");
    let high = value(result, "axial_high_direction");
    let diameter = value(result, "rim_diameter");
    let true_diameter = 2.0 * number(&of["axial_TIR_radius_mm"]);
    println!(
        "{case} {what}: eccentricity off by {miss:.4} mm (size {:+.4} +- {:.4}, direction {:+.1} +- {:.1} deg), axial {:+.4} +- {:.4} mm (direction {:+.1} +- {:.1} deg), \
         diameter {:+.4} +- {:.4} mm",
        size.value - true_size,
        size.u95,
        turn_between(direction.value, true_direction),
        direction.u95,
        axial.value - true_axial,
        axial.u95,
        turn_between(high.value, true_high),
        high.u95,
        diameter.value - true_diameter,
        diameter.u95
    );
    assert!(
        miss <= gate.eccentricity,
        "{case} {what}: eccentricity off by {miss:.4} mm"
    );
    let errors = [
        ("eccentricity", size.value - true_size, size.u95),
        (
            "eccentricity_direction",
            turn_between(direction.value, true_direction),
            direction.u95,
        ),
        ("axial_runout", axial.value - true_axial, axial.u95),
        (
            "axial_high_direction",
            turn_between(high.value, true_high),
            high.u95,
        ),
        ("rim_diameter", diameter.value - true_diameter, diameter.u95),
    ];
    for (name, error, u95) in errors {
        assert!(
            error.abs() <= u95,
            "{case} {what}: {name} off by {error:+.4}, outside +-{u95:.4}"
        );
    }
    assert!(
        (axial.value - true_axial).abs() <= gate.axial,
        "{case} {what}: axial run-out"
    );
    assert!(
        (diameter.value - true_diameter).abs() <= gate.diameter,
        "{case} {what}: diameter"
    );
    assert!((value(result, "radial_runout").value - 2.0 * size.value).abs() < 1e-12);
    // An interval that says something.
    assert!(size.u95 < 3.0 * gate.eccentricity && axial.u95 < 3.0 * gate.axial && diameter.u95 < 0.3);
    angles(truth, case, result);
}

/// Angles against the first photo's, about the axis that points into the ring's printed side.
fn angles(truth: &Truth, case: &str, result: &CheckResult) {
    let Some(Value::Many(angles)) = result.values.get("angles") else {
        panic!("no angles")
    };
    let ids: Vec<String> = result
        .photos
        .iter()
        .filter(|p| p.used)
        .map(|p| p.file.replace(".jpg", ""))
        .collect();
    let at = |id: &str| number(&truth.photo(id)["scene"]["wheel_angle_deg"]);
    assert_eq!(angles.len(), ids.len());
    for (angle, id) in angles.iter().zip(&ids) {
        let error = turn_between(angle.value, at(id) - at(&ids[0]));
        assert!(
            error.abs() <= 0.05,
            "{case} {id}: angle off by {error:+.4} degrees"
        );
        assert!(
            error.abs() <= 2.0 * angle.u95.max(1e-9),
            "{case} {id}: {error:+.4} +- {:.4}",
            angle.u95
        );
    }
}

/// Trials (JCGM 101, clause 8) agree with the linear budget of an ordinary job: half the intervals to 15 %, which is three
/// standard deviations of what 400 trials tell of them; and the budget is not contradicted in words.
#[test]
fn the_linear_budget_agrees_with_trials() {
    let Some(truth) = Truth::load() else { return };
    let plain = job(&truth, &photos(&truth, "r2"), Some((0, 3.0, 1)), known(Some(0.1)));
    let tried = Job {
        trials: Some(400),
        ..plain.clone()
    };
    let [plain, tried] = [&plain, &tried].map(|job| truth.measure(job, false).expect("measured"));
    for name in ["radial_runout", "axial_runout", "rim_diameter"] {
        let linear = value(&plain, name);
        let trials = value(&tried, &format!("{name}_by_trials"));
        println!(
            "{name}: linear {:.4} +- {:.4} mm, trials {:.4} +- {:.4} mm",
            linear.value, linear.u95, trials.value, trials.u95
        );
        assert!((trials.u95 / linear.u95 - 1.0).abs() < 0.15, "{name}");
        assert!((trials.value - linear.value).abs() < 0.15 * linear.u95, "{name}");
        // What is told is the wider of both.
        let told = value(&tried, name);
        assert!(told.value == linear.value && told.u95 >= linear.u95, "{name}");
    }
    assert!(
        tried.warnings.iter().all(|w| !w.contains("do not agree")),
        "{:?}",
        tried.warnings
    );
    assert!(plain.quantity("rim_diameter_by_trials").is_none());
}

fn known(chamfer: Option<f64>) -> JobDrive {
    JobDrive {
        rim_chamfer: chamfer,
        ..JobDrive::default()
    }
}

#[test]
fn both_series_with_marks() {
    let Some(truth) = Truth::load() else { return };
    for case in SERIES {
        for (seed, index) in [(1, 0), (2, 5)] {
            let job = job(
                &truth,
                &photos(&truth, case),
                Some((index, 8.0, seed)),
                known(Some(0.1)),
            );
            for (with_profile, gate) in [(true, &WITH_PROFILE), (false, &WITHOUT)] {
                let what = format!("marks in photo {index}, profile {with_profile}");
                let result = truth
                    .measure(&job, with_profile)
                    .unwrap_or_else(|error| panic!("{case} {what}: {error}"));
                hold(&truth, case, &what, &result, gate);
            }
        }
    }
}

/// The stated diameter alone finds the rim, and a chamfer that nobody stated only widens the interval.
#[test]
fn both_series_without_marks() {
    let Some(truth) = Truth::load() else { return };
    for (case, with_profile, gate) in [("r1", true, &WITH_PROFILE), ("r2", false, &WITHOUT)] {
        let drive = JobDrive {
            rim_diameter: Some(99.0),
            ..JobDrive::default()
        };
        let job = job(&truth, &photos(&truth, case), None, drive);
        let result = truth
            .measure(&job, with_profile)
            .unwrap_or_else(|error| panic!("{case}: {error}"));
        hold(&truth, case, "no marks", &result, gate);
    }
}

/// No rim of such a size is about the axis.
#[test]
fn a_wrong_diameter_without_marks_finds_nothing() {
    let Some(truth) = Truth::load() else { return };
    let drive = JobDrive {
        rim_diameter: Some(118.0),
        ..JobDrive::default()
    };
    let job = job(&truth, &photos(&truth, "r2"), None, drive);
    let error = truth.measure(&job, true).expect_err("no such rim");
    println!("{error}");
    assert_eq!(error.kind, Kind::NotMeasurable);
}

#[test]
fn two_series_in_one_job_are_refused() {
    let Some(truth) = Truth::load() else { return };
    let (first, second) = (photos(&truth, "r1"), photos(&truth, "r2"));
    let ids: Vec<String> = first[..7].iter().chain(&second[7..]).cloned().collect();
    let job = job(&truth, &ids, Some((0, 3.0, 1)), known(Some(0.1)));
    let error = truth
        .measure(&job, true)
        .expect_err("ring and card stand elsewhere from photo 8 on");
    println!("{error}");
    assert_eq!(error.kind, Kind::NotMeasurable);
}

/// Two photos between which the wheel was turned by 17.5 degrees stand in for play: the ring, 1.17 mm off the axis, moves by
/// a known way. The measured movement is that, and since the wheel turned, no play is claimed.
#[test]
fn a_ring_off_the_axis_does_not_pass_for_play() {
    let Some(truth) = Truth::load() else { return };
    let ids = ["r2_10", "r2_11"].map(str::to_owned);
    let mut job = job(&truth, &ids, None, JobDrive::default());
    job.check = CheckKind::Play;
    let result = truth
        .measure(&job, true)
        .unwrap_or_else(|error| panic!("{error}"));
    let place = |id: &str| -> Vec<f64> {
        let at = &truth.photo(id)["scene"]["ring"]["T_W_ring"]["t"];
        (0..3).map(|i| number(&at[i])).collect()
    };
    let (a, b) = (place("r2_10"), place("r2_11"));
    let moved = (b[1] - a[1]).hypot(b[2] - a[2]);
    let (radial, axial) = (value(&result, "radial_play"), value(&result, "axial_play"));
    println!(
        "moved {moved:.4}: {radial:?}, {axial:?}, {:?}; {:?}",
        value(&result, "tilt_play"),
        result.warnings
    );
    assert!(
        (radial.value - moved).abs() < 0.06,
        "{} against {moved}",
        radial.value
    );
    assert!(radial.u95 > moved, "a turned wheel proves no play");
    assert!(axial.value <= axial.u95 + (b[0] - a[0]).abs());
    assert!(
        result.warnings.iter().any(|w| w.contains("the wheel turned by")),
        "{:?}",
        result.warnings
    );
}

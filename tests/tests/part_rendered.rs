//! The part check on rendered pictures with known truth: a spacer ring with chamfers and a sharp toothed pulley on the
//! bench sheet (`../shared/data/rendered`, series P).

use shimwright_measure::Kind;
use shimwright_record::{
    CheckKind, CheckResult, Conformity, Height, Job, JobDrive, JobPhoto, PrintScale, StatedLength,
};
use shimwright_tests::rendered::{Random, Truth, number};
use std::collections::BTreeMap;

const VIEWS: [&str; 3] = ["p1_v1", "p1_v2", "p1_v3"];

/// A part of the scene.
#[derive(Clone, Copy)]
struct Part {
    index: usize,
    outer: f64,
    inner: f64,
    height: f64,
    chamfer: f64,
}

fn part(truth: &Truth, index: usize) -> Part {
    let part = &truth.photo(VIEWS[0])["scene"]["parts"][index];
    let of = |name: &str| part[name].as_f64();
    Part {
        index,
        outer: of("od_mm").or(of("tip_od_mm")).expect("an outer diameter"),
        inner: of("id_mm").or(of("bore_mm")).expect("a bore"),
        height: number(&part["height_mm"]),
        chamfer: of("chamfer_mm").unwrap_or(0.0),
    }
}

/// Marks around a rim of a part's upper face, disturbed.
fn marks(
    truth: &Truth,
    photo: &str,
    part: &Part,
    diameter: f64,
    disturb: &mut dyn FnMut() -> [f64; 2],
) -> Vec<[f64; 2]> {
    let axis = &truth.photo(photo)["scene"]["parts"][part.index]["axis_point_W"];
    let top = number(&truth.photo(photo)["scene"]["parts"][part.index]["top_plane_z_W"]);
    [0.3f64, 1.7, 3.3, 4.8]
        .into_iter()
        .map(|angle| {
            let (sin, cos) = angle.sin_cos();
            let r = diameter / 2.0;
            let at = truth.project(
                photo,
                &[number(&axis[0]) + r * cos, number(&axis[1]) + r * sin, top],
            );
            let off = disturb();
            [at[0] + off[0], at[1] + off[1]]
        })
        .collect()
}

fn job(truth: &Truth, views: &[&str], part: &Part, seed: u64, jitter: f64) -> Job {
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let mut disturb = move || [jitter * random.signed(), jitter * random.signed()];
    let photos = views
        .iter()
        .enumerate()
        .map(|(i, id)| JobPhoto {
            file: format!("{id}.jpg"),
            marks: if i == 0 {
                BTreeMap::from([
                    (
                        "outer".to_owned(),
                        marks(truth, id, part, part.outer, &mut disturb),
                    ),
                    (
                        "inner".to_owned(),
                        marks(truth, id, part, part.inner, &mut disturb),
                    ),
                ])
            } else {
                BTreeMap::new()
            },
        })
        .collect();
    Job {
        photos,
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.0,
            u95: 0.001,
        }),
        drive: Some(JobDrive {
            rim_chamfer: Some(part.chamfer),
            ..JobDrive::default()
        }),
        ..Job::of(CheckKind::Part)
    }
}

/// Holds the values against the truth: the errors of the two diameters within `most` mm, every value within its interval.
fn hold(what: &str, result: &CheckResult, part: &Part, most: f64, widest: f64) {
    for (name, truth, limit) in [
        ("outer_diameter", part.outer, most),
        ("inner_diameter", part.inner, most),
        ("centre_offset", 0.0, f64::INFINITY),
        ("height", part.height, f64::INFINITY),
    ] {
        let quantity = result.quantity(name).expect("a value");
        let error = quantity.value - truth;
        println!("{what}: {name} error {error:+.3} mm, u95 {:.3} mm", quantity.u95);
        assert!(
            error.abs() <= quantity.u95,
            "{what}: {name} {error:+.3} outside +-{:.3}",
            quantity.u95
        );
        assert!(error.abs() <= limit, "{what}: {name} is off by {error:+.3} mm");
        if limit.is_finite() {
            assert!(
                quantity.u95 <= widest,
                "{what}: {name} +-{:.3} says too little",
                quantity.u95
            );
        }
    }
    let u: f64 = result
        .budget
        .iter()
        .map(|line| line.u * line.u)
        .sum::<f64>()
        .sqrt();
    let main = result.quantity("outer_diameter").expect("a value");
    assert!(
        (1.96 * u / main.u95 - 1.0).abs() < 1e-6,
        "the budget does not add up"
    );
}

/// How a job differs from three views with a profile and a stated chamfer.
struct Variant {
    what: &'static str,
    views: &'static [&'static str],
    profile: bool,
    chamfer: bool,
    height: bool,
}

const USUAL: Variant = Variant {
    what: "three views",
    views: &VIEWS,
    profile: true,
    chamfer: true,
    height: false,
};

/// Measures both parts and holds them; `widest` bounds the intervals.
fn hold_variant(variant: &Variant, seed: u64, jitter: f64, most: f64, widest: f64) {
    let Some(truth) = Truth::load() else { return };
    for index in [0, 1] {
        let part = part(&truth, index);
        let mut job = job(&truth, variant.views, &part, seed, jitter);
        if !variant.chamfer {
            job.drive = None;
        }
        if variant.height {
            job.height = Some(Height::All(StatedLength {
                value: part.height,
                u95: 0.1,
            }));
        }
        let what = format!("part {index}, {}", variant.what);
        let started = std::time::Instant::now();
        let result = truth
            .measure(&job, variant.profile)
            .unwrap_or_else(|error| panic!("{what}: {error}"));
        println!("{what}: {:.1} s", started.elapsed().as_secs_f64());
        hold(&what, &result, &part, most, widest);
    }
}

#[test]
fn three_views_with_a_profile() {
    hold_variant(&USUAL, 1, 3.0, 0.05, 0.06);
    // Marks up to 8 px off.
    hold_variant(&USUAL, 9, 8.0, 0.05, 0.06);
}

#[test]
fn three_views_without_a_profile() {
    let variant = Variant {
        what: "no profile",
        profile: false,
        ..USUAL
    };
    hold_variant(&variant, 4, 3.0, 0.05, 0.06);
}

#[test]
fn an_unknown_chamfer_widens() {
    let variant = Variant {
        what: "unknown chamfer",
        chamfer: false,
        ..USUAL
    };
    hold_variant(&variant, 5, 3.0, 0.15, 0.2);
}

#[test]
fn two_views() {
    for views in [&["p1_v1", "p1_v2"], &["p1_v1", "p1_v3"]] {
        let variant = Variant {
            what: "two views",
            views,
            ..USUAL
        };
        hold_variant(&variant, 6, 3.0, 0.05, 0.08);
    }
}

/// One view shows few of a pulley's teeth against anything: its interval is wider.
#[test]
fn one_view_with_its_height_stated() {
    for views in [&["p1_v1"], &["p1_v2"], &["p1_v3"]] {
        let variant = Variant {
            what: "one view",
            views,
            height: true,
            ..USUAL
        };
        hold_variant(&variant, 7, 3.0, 0.1, 0.15);
    }
}

/// A stated size gets a verdict: the ring is 22 mm, so 22.0 is kept, 22.4 is not, and a limit at the true size cannot be
/// decided.
#[test]
fn a_stated_size_is_judged() {
    let Some(truth) = Truth::load() else { return };
    let ring = part(&truth, 0);
    for (nominal, state) in [
        (22.0, Conformity::Within),
        (22.4, Conformity::Outside),
        (22.2, Conformity::Undecided),
    ] {
        let mut job = job(&truth, &VIEWS, &ring, 8, 3.0);
        job.drive = Some(JobDrive {
            nominal: Some(nominal),
            tolerance: Some(0.2),
            rim_chamfer: Some(0.2),
            ..JobDrive::default()
        });
        let result = truth.measure(&job, true).expect("a result");
        assert_eq!(result.verdict.state, state, "{}", result.verdict.text);
    }
}

/// A height that is stated wrongly is contradicted by the photos, and said to be.
#[test]
fn a_wrong_height_is_named() {
    let Some(truth) = Truth::load() else { return };
    let ring = part(&truth, 0);
    let mut job = job(&truth, &VIEWS, &ring, 10, 3.0);
    job.height = Some(Height::All(StatedLength { value: 6.6, u95: 0.3 }));
    let result = truth.measure(&job, true).expect("a result");
    let warned = result
        .warnings
        .iter()
        .any(|w| w.contains("stated height of `outer` is 6.60 mm"));
    assert!(warned, "{:?}", result.warnings);
}

/// Two opposite sides of a printed square, which is 24 mm wide and lies at no height.
#[test]
fn the_width_of_a_printed_square() {
    let Some(truth) = Truth::load() else { return };
    let views = ["b_01", "b_03", "b_05"];
    let project = |photo: &str, x: f64, y: f64| {
        let sheet = &truth.photo(photo)["scene"]["sheet"]["T_W_sheet"];
        let at: [f64; 3] = std::array::from_fn(|i| {
            number(&sheet["R"][i][0]) * x + number(&sheet["R"][i][1]) * y + number(&sheet["t"][i])
        });
        truth.project(photo, &at)
    };
    let mut random = Random(77);
    let mut mark = |view: &str, x: f64| -> Vec<[f64; 2]> {
        [75.0, 93.0]
            .map(|y| {
                let at = project(view, x, y);
                [at[0] + 3.0 * random.signed(), at[1] + 3.0 * random.signed()]
            })
            .to_vec()
    };
    // The square of the sixth column and fourth row is black: columns and rows count from 0.
    let mut marks = |view: &str| {
        BTreeMap::from([
            ("edge_a".to_owned(), mark(view, 120.0)),
            ("edge_b".to_owned(), mark(view, 144.0)),
        ])
    };
    let ring = part(&truth, 0);
    let mut job = job(&truth, &VIEWS, &ring, 1, 0.0);
    for (photo, id) in job.photos.iter_mut().zip(views) {
        photo.file = format!("{id}.jpg");
    }
    job.photos[0].marks = marks(views[0]);
    job.photos[1].marks = marks(views[1]);
    job.drive = Some(JobDrive {
        rim_chamfer: Some(0.0),
        ..JobDrive::default()
    });
    let result = truth
        .measure(&job, true)
        .unwrap_or_else(|error| panic!("{error}"));
    for (name, truth, most) in [("width", 24.0, 0.05), ("height", 0.0, 0.1)] {
        let quantity = result.quantity(name).expect("a value");
        let error = quantity.value - truth;
        println!("{name}: error {error:+.3} mm, u95 {:.3} mm", quantity.u95);
        assert!(
            error.abs() <= most && error.abs() <= quantity.u95,
            "{name}: {error:+.3}"
        );
    }
}

/// A mark that lies on nothing, and photos of another sheet: refused, never measured.
#[test]
fn what_cannot_be_measured_is_refused() {
    let Some(truth) = Truth::load() else { return };
    let ring = part(&truth, 0);
    let mut elsewhere = job(&truth, &VIEWS, &ring, 1, 0.0);
    for point in elsewhere.photos[0].marks.values_mut().flatten() {
        // Into the middle of a black square.
        *point = [point[0] * 0.1 + 330.0, point[1] * 0.1 + 390.0];
    }
    let error = truth.measure(&elsewhere, true).expect_err("no ring lies there");
    assert_eq!(error.kind, Kind::NotMeasurable, "{error}");
    let mut other = job(&truth, &VIEWS, &ring, 1, 0.0);
    other.photos[2].file = "b_02.jpg".into();
    let error = truth
        .measure(&other, true)
        .expect_err("the third photo shows no ring");
    println!("{error}");
    assert_eq!(
        (error.kind, error.subject.as_deref()),
        (Kind::NotMeasurable, Some("b_02.jpg"))
    );
}

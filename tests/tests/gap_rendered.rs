//! The gap check on rendered pictures with known truth.

use shimwright_camera::CameraProfile;
use shimwright_measure::{JobInput, PhotoInput, Silent, run};
use shimwright_record::{CheckResult, Job};
use shimwright_target::TargetSet;
use shimwright_tests::rendered::{Marking, Truth, number};

fn measure(truth: &Truth, job: &Job, with_profile: bool) -> Result<CheckResult, shimwright_measure::Error> {
    let bytes: Vec<_> = job
        .photos
        .iter()
        .map(|p| truth.bytes(p.file.trim_end_matches(".jpg")))
        .collect();
    let photos: Vec<_> = job
        .photos
        .iter()
        .zip(&bytes)
        .map(|(p, bytes)| PhotoInput { name: &p.file, bytes })
        .collect();
    let profile = CameraProfile::from_json(&truth.camera_profile()).expect("a profile");
    let targets = TargetSet::built_in();
    let input = JobInput {
        job,
        photos: &photos,
        targets: &targets,
        camera: with_profile.then_some(&profile),
    };
    run(&input, &Silent)
}

fn true_gap(truth: &Truth, case: &str) -> f64 {
    number(&truth.case(case)["true_gap"]["min_flange_face_to_plate_face_mm"])
}

/// Prints every state under many markings; a table to look at, run by hand with `--ignored`-free filter.
#[test]
fn table() {
    let Some(truth) = Truth::load() else { return };
    for with_profile in [true, false] {
        for case in ["g1", "g2", "g3", "g4", "g5"] {
            let ids = [1, 2, 3].map(|v| format!("{case}_v{v}"));
            let ids = ids.each_ref().map(String::as_str);
            let want = true_gap(&truth, case);
            for (name, marking) in [
                ("v1 only", Marking::default()),
                (
                    "v2 only",
                    Marking {
                        photos: &[1],
                        ..Marking::default()
                    },
                ),
                (
                    "v3 only",
                    Marking {
                        photos: &[2],
                        ..Marking::default()
                    },
                ),
                (
                    "v1 v3",
                    Marking {
                        photos: &[0, 2],
                        ..Marking::default()
                    },
                ),
                (
                    "all",
                    Marking {
                        photos: &[0, 1, 2],
                        ..Marking::default()
                    },
                ),
                (
                    "all 8px",
                    Marking {
                        photos: &[0, 1, 2],
                        jitter: 8.0,
                        seed: 3,
                        ..Marking::default()
                    },
                ),
                (
                    "all wide",
                    Marking {
                        photos: &[0, 1, 2],
                        mount: (4.0, 80.0),
                        rim: (50.0, 130.0),
                        ..Marking::default()
                    },
                ),
            ] {
                let job = truth.gap_job(&ids, &marking);
                match measure(&truth, &job, with_profile) {
                    Ok(result) => {
                        let gap = result.quantity("gap").unwrap();
                        let rms: Vec<_> = result
                            .photos
                            .iter()
                            .map(|p| format!("{:.3}/{}", p.rms_px, p.corners))
                            .collect();
                        println!(
                            "{case} profile {with_profile} {name:9} true {want:.3} got {:.3} +- {:.3} error {:+.3} {} | {}",
                            gap.value,
                            gap.u95,
                            gap.value - want,
                            if (gap.value - want).abs() > gap.u95 {
                                "OUTSIDE"
                            } else {
                                ""
                            },
                            rms.join(" ")
                        );
                    }
                    Err(error) => println!("{case} profile {with_profile} {name:9} FAILED {error}"),
                }
            }
        }
    }
}

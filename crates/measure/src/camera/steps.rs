//! From the photos to a calibrated camera.

use super::problem::{ADVISED_PHOTOS, FEWEST_PHOTOS, Problem, check_one_camera};
use super::stored;
use crate::Error;
use crate::observe::Observed;
use crate::told::list_of;
use shimwright_camera::focal_prior;
use shimwright_detect::FoundTarget;
use shimwright_geom::Vec2;
use shimwright_say::say;
use shimwright_solve::{Calibration, CalibrationPriors, CalibrationProblem, PlanePoint};

/// Fewest corners that a photo must show.
const FEWEST_CORNERS: usize = 12;
/// Standard deviation of the sheet's sagitta, mm: paper that lies on a table.
const BEND: f64 = 0.2;
/// Standard deviation of a photo's focal factor when the camera refocused.
const REFOCUS: f64 = 0.004;
/// Fewest photos in which refocusing shows.
const REFOCUS_PHOTOS: usize = 5;

/// The photos that take part.
pub(super) struct Views {
    /// Index in the job of each.
    pub used: Vec<usize>,
    /// Their corners, px of the stored picture.
    pub corners: Vec<Vec<PlanePoint>>,
    /// Size of the stored picture, px.
    pub size: (u32, u32),
    /// Focal length that EXIF tells, px.
    pub focal_px: Option<f64>,
    /// Name of the target.
    pub target: String,
}

/// A solved camera.
pub(super) struct Solved {
    /// What was found.
    pub calibration: Calibration,
    /// Root mean square distance of the corners, px.
    pub rms_px: f64,
    /// Whether the camera was found to have refocused between the photos.
    pub refocused: bool,
}

/// Collects the corners of the photos that show the target.
pub(super) fn views(problem: &Problem, photos: &[Observed]) -> Result<Views, Error> {
    photos.iter().try_for_each(stored::check_orientation)?;
    check_one_camera(photos)?;
    let mut used = Vec::new();
    let mut corners = Vec::new();
    for (i, photo) in photos.iter().enumerate() {
        if let Some(found) = sheet(&problem.target, photo) {
            used.push(i);
            corners.push(points(photo, found));
        }
    }
    if used.len() < FEWEST_PHOTOS {
        let missing = list_of(
            (0..photos.len())
                .filter(|i| !used.contains(i))
                .map(|i| &photos[i]),
        );
        return Err(Error::unmeasurable(
            None,
            say!(
                "the {} shows {FEWEST_CORNERS} or more of its corners in {} of {} photos and {FEWEST_PHOTOS} are needed; \
                 it is missing in {missing}",
                problem.target,
                used.len(),
                photos.len()
            ),
            say!(
                "take {ADVISED_PHOTOS} or more photos with most of the sheet in view, sharp and without glare"
            ),
        ));
    }
    let facts = &photos[used[0]].found.facts;
    let size = (facts.stored_width, facts.stored_height);
    let known = facts
        .focal_35mm
        .map(|mm| focal_prior(size.0, size.1, Some(mm)).focal_px);
    Ok(Views {
        used,
        corners,
        size,
        focal_px: known,
        target: problem.target.clone(),
    })
}

/// The sheet in a photo, when enough of it was found.
pub(super) fn sheet<'a>(name: &str, photo: &'a Observed) -> Option<&'a FoundTarget> {
    let mut targets = photo.found.targets.iter();
    targets.find(|t| t.name == name && t.corners.len() >= FEWEST_CORNERS)
}

fn points(photo: &Observed, found: &FoundTarget) -> Vec<PlanePoint> {
    found
        .corners
        .iter()
        .map(|corner| PlanePoint {
            place: corner.place,
            at: stored::to_stored(&photo.found.facts, &corner.at),
            sigma_px: corner.sigma_px,
        })
        .collect()
}

/// Solves for the camera, at one focus for all photos unless they say otherwise.
pub(super) fn solve(problem: &Problem, views: &Views) -> Result<Solved, Error> {
    let mut asked = CalibrationProblem {
        width: views.size.0,
        height: views.size.1,
        views: &views.corners,
        focal_px: views.focal_px,
        priors: CalibrationPriors {
            scale: problem.scale,
            scale_sigma: problem.scale_sigma,
            bend: Vec2::repeat(BEND),
            ..CalibrationPriors::default()
        },
    };
    let trouble = |error: shimwright_solve::Error| {
        Error::unmeasurable(
            None,
            say!("the photos do not determine the lens ({error})"),
            say!("take {ADVISED_PHOTOS} or more photos, several of them from a slant"),
        )
    };
    let one_focus = asked.solve().map_err(trouble)?;
    if views.used.len() >= REFOCUS_PHOTOS {
        asked.priors.focal_factor = REFOCUS;
        let refocused = asked.solve().map_err(trouble)?;
        if is_better(&refocused, &one_focus, views.used.len()) {
            return Ok(Solved {
                rms_px: refocused.rms_px(&asked),
                calibration: refocused,
                refocused: true,
            });
        }
    }
    Ok(Solved {
        rms_px: one_focus.rms_px(&asked),
        calibration: one_focus,
        refocused: false,
    })
}

/// Whether a focal factor for each photo earns its keep: by chance the cost falls by one a photo, with a standard
/// deviation of the root of twice their number, and four of those are no chance.
fn is_better(free: &Calibration, held: &Calibration, photos: usize) -> bool {
    let by_chance = photos as f64 + 4.0 * (2.0 * photos as f64).sqrt();
    (held.cost - free.cost) / free.dispersion.powi(2) > by_chance
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_camera::Camera;
    use shimwright_geom::{Pose, Vec3};

    const TRUTH: Camera = Camera {
        width: 2816,
        height: 2112,
        intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.0],
    };

    /// Nine views with a focal factor each, and an even noise of standard deviation 0.05 px.
    fn made_up(factor: impl Fn(usize) -> f64) -> Views {
        let mut state = 12345u64;
        let mut noise = || {
            state = state
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            0.05 * 12f64.sqrt() * ((state >> 11) as f64 / (1u64 << 53) as f64 - 0.5)
        };
        let corners = (0..9)
            .map(|k| {
                let (sin, cos) = (2.4 * k as f64).sin_cos();
                let tilt = 0.3 + 0.04 * k as f64;
                let pose = Pose::from_rotation_vector(
                    Vec3::new(tilt * cos, tilt * sin, 0.3 * sin),
                    Vec3::new(-100.0, -60.0, 260.0 + 5.0 * k as f64),
                );
                let camera = TRUTH.with_focal_factor(factor(k));
                let place = |i: usize| Vec2::new(24.0 * (i % 10) as f64, 24.0 * (i / 10) as f64);
                (0..70)
                    .map(place)
                    .map(|place| PlanePoint {
                        place,
                        at: camera
                            .project(&pose.point(&Vec3::new(place.x, place.y, 0.0)))
                            .unwrap()
                            + Vec2::new(noise(), noise()),
                        sigma_px: 0.05,
                    })
                    .collect()
            })
            .collect();
        Views {
            used: (0..9).collect(),
            corners,
            size: (2816, 2112),
            focal_px: Some(2400.0),
            target: "bench-sheet".into(),
        }
    }

    fn problem() -> Problem {
        Problem {
            target: "bench-sheet".into(),
            scale: Vec2::new(1.0, 1.0),
            scale_sigma: 0.001,
        }
    }

    #[test]
    fn one_focus_is_kept_when_there_was_one() {
        let solved = solve(&problem(), &made_up(|_| 1.0)).unwrap();
        assert!(!solved.refocused);
        let sigma = solved.calibration.sigma();
        for (k, sigma) in sigma.iter().take(8).enumerate() {
            let miss = solved.calibration.camera.intrinsics[k] - TRUTH.intrinsics[k];
            assert!(miss.abs() < 3.0 * sigma, "{k}: {miss} at {sigma}");
        }
        // Noise of 0.05 px along each axis.
        assert!((solved.rms_px - 0.0707).abs() < 0.005, "{}", solved.rms_px);
    }

    #[test]
    fn refocusing_is_noticed_and_widens_the_focal_length() {
        let still = solve(&problem(), &made_up(|_| 1.0)).unwrap().calibration.sigma()[0];
        let solved = solve(&problem(), &made_up(|k| 1.0 + 0.003 * (k as f64 - 4.0) / 4.0)).unwrap();
        assert!(solved.refocused);
        let sigma = solved.calibration.sigma()[0];
        assert!(sigma > 2.0 * still, "{sigma} {still}");
        assert!((solved.calibration.camera.intrinsics[0] - TRUTH.intrinsics[0]).abs() < 3.0 * sigma);
    }
}

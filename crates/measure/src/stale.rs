//! Whether a camera profile fits the photos that are measured with it.
//!
//! The target's corners are solved for twice: with the profile, and with the lens as free as if there were no profile. A
//! profile that fits is hardly beaten; one of another camera, zoom or phone software is.

use crate::cameras;
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{JointProblem, JointSolution, Options, Priors};

/// Intrinsics that become free: focal lengths, principal point, and the distortion that photos show.
const FREED: f64 = 8.0;
/// Standard deviations beyond what chance alone gives that are no chance.
const NO_CHANCE: f64 = 6.0;
/// Standard deviation of refocusing between the photos of one job when nothing is known of the lens.
const REFOCUS: f64 = 0.006;
/// A focal length that is off by less than this share is not what is wrong.
const NOTED_FOCAL: f64 = 0.005;

/// What to tell the user about a profile that does not fit; `None` when it does. `held` is the solution of `problem`, whose
/// camera priors are the profile's.
pub(crate) fn warning(problem: &JointProblem, held: &JointSolution) -> Option<Phrase> {
    let cameras = problem.priors.cameras.iter().zip(&held.state.cameras);
    let freed = Priors {
        cameras: cameras
            .map(|((expected, _), camera)| (*expected, cameras::relaxed(camera)))
            .collect(),
        aspect_sigma: 0.003,
        focal_factor_sigma: REFOCUS,
        ..problem.priors.clone()
    };
    let free = JointProblem {
        priors: &freed,
        corners: problem.corners,
        edges: problem.edges,
        middle: problem.middle,
        half: problem.half,
        photos: problem.photos,
        has_line: problem.has_line,
        has_circle: problem.has_circle,
        edge_loss: problem.edge_loss,
    };
    let free = free.solve(held.state.clone(), &Options::default()).ok()?;
    let photos = problem.photos as f64;
    let unknown = FREED + 7.0 * photos;
    let freedom = (2.0 * problem.corners.len() as f64 - unknown).max(1.0);
    // Corners that scatter more than they claim make every fall of the cost larger by as much.
    let dispersion = (free.cost / freedom).max(1.0);
    // By chance the cost falls by one for each number that becomes free, with a variance of twice their number.
    let by_chance = FREED + photos;
    let fall = (held.cost - free.cost) / dispersion;
    (fall > by_chance + NO_CHANCE * (2.0 * by_chance).sqrt()).then(|| {
        let expected = problem.priors.cameras[held.state.photos[0].camera].0[0];
        let longer = free.state.camera_of(0).intrinsics[0] / expected - 1.0;
        let how = if longer.abs() > NOTED_FOCAL {
            say!("they ask for a focal length {:+.1} % off", 100.0 * longer)
        } else {
            say!("they ask for another distortion")
        };
        say!(
            "the camera profile does not fit these photos ({how}): it may be of another camera, zoom or lens; calibrate \
             again, or leave the profile out"
        )
    })
}

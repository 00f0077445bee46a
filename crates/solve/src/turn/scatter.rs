//! How surely corners were located, told by how they scatter about a solution.

use super::{TurnProblem, TurnSolution};
use crate::{CornerSight, Group};
use shimwright_geom::Vec2;

/// Share of a normal distribution within one standard deviation.
const ONE_SIGMA: f64 = 0.6827;

impl TurnProblem<'_> {
    /// The corners' scatter about a solution, in their standard deviations (JCGM 100, 4.2): that within which as many residuals
    /// lie as within one standard deviation, so that a few corners under glare do not decide, with what poses, lens and prints
    /// took from them given back. Much beyond one it falls a little short, because corners far off pull less: widen them by it and ask
    /// again. `None` where the corners are no more than these, or one cannot be seen.
    pub fn corner_scatter(&self, solution: &TurnSolution) -> Option<f64> {
        let state = &solution.state;
        let miss = |seen: Option<Vec2>, sight: &CornerSight| Some((seen? - sight.at) / sight.sigma_px);
        let fixed = self.fixed.iter();
        let turning = self.turning.iter();
        let misses: Option<Vec<Vec2>> = fixed
            .map(|sight| miss(self.fixed_corner(state, sight), sight))
            .chain(turning.map(|sight| miss(self.turning_corner(state, sight), sight)))
            .collect();
        let mut residuals: Vec<f64> = misses?.iter().flat_map(|m| [m.x.abs(), m.y.abs()]).collect();
        residuals.sort_by(f64::total_cmp);
        let count = residuals.len() as f64;
        // How many numbers the corners determine: the trace of their share of the information.
        let covariance = solution.covariance().ok()?;
        let taken = (covariance * &solution.normal_by_group[Group::Corners as usize]).trace();
        let within = residuals.get((ONE_SIGMA * count) as usize)?;
        (taken < count).then(|| within / (1.0 - taken / count).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{LIGHT, Options, Print, TurnPhoto, TurnPriors, TurnState, Wobble};
    use shimwright_camera::Camera;
    use shimwright_geom::{Pose, Random, Vec3};

    const SIGMA: f64 = 0.02;

    fn state() -> TurnState {
        let photo = |x: f64| TurnPhoto {
            camera_from_fixed: Pose::from_rotation_vector(
                Vec3::new(0.1, x, 0.02),
                Vec3::new(-30.0, 35.0, 285.0),
            ),
            focal: 1.0,
            camera: 0,
            rim_shift: 0.0,
            angle: 0.7,
            wobble: Wobble::none(),
        };
        TurnState {
            cameras: vec![Camera::ideal(2816, 2112, 2290.0)],
            photos: vec![photo(-0.1), photo(0.15)],
            scale: Vec2::new(1.0, 1.0),
            own_scale: Vec2::new(1.0, 1.0),
            bend: Vec2::zeros(),
            turning_bend: Vec2::zeros(),
            fixed_from_axis: Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(30.0, -62.0, 9.0)),
            turning_from_axis: Pose::identity(),
            rim: None,
            light: [0.0; LIGHT],
        }
    }

    fn priors(state: &TurnState) -> TurnPriors {
        TurnPriors {
            cameras: vec![(
                state.cameras[0].intrinsics,
                [1.0, 1.0, 1.0, 1.0, 0.002, 0.005, 2e-4, 2e-4, 0.0],
            )],
            aspect_sigma: 0.001,
            focal_factor_sigma: 0.004,
            scale: state.scale,
            scale_sigma: 0.0005,
            axes_sigma: None,
            own_scale_sigma: 0.0007,
            bend_sigma: Vec2::new(0.05, 0.02),
            turning_bend_sigma: Vec2::new(0.02, 0.02),
            radius: None,
            rim_shift_sigma: 0.1,
            light_sigma: [0.01, 0.02],
            hold_shared: false,
            hold_axis: true,
            wobble_sigma: [10.0, 10.0, 0.3],
        }
    }

    /// Scatter of two photos with some noise in standard deviations, and one corner in ten, perhaps, far off.
    fn scatter(noise: f64, spoiled: bool, seed: u64) -> f64 {
        let state = state();
        let mut random = Random::new(seed);
        let mut sights = |ring: bool| -> Vec<CornerSight> {
            let places = (0..32).map(|i| Vec2::new(f64::from(i % 8) - 3.5, f64::from(i / 8) - 1.5) * 7.0);
            let both = places.flat_map(|place| [(0, place), (1, place)]);
            both.enumerate()
                .map(|(i, (photo, place))| {
                    let pose = match ring {
                        true => state.camera_from_turning(photo),
                        false => state.photos[photo].camera_from_fixed,
                    };
                    let at = Vec3::new(place.x, place.y, 0.0);
                    let mut off = Vec2::new(random.normal(), random.normal()) * (noise * SIGMA);
                    if spoiled && i % 10 == 0 {
                        off.x += 5.0;
                    }
                    CornerSight {
                        photo,
                        place,
                        at: state.camera_of(photo).project(&pose.point(&at)).unwrap() + off,
                        sigma_px: SIGMA,
                    }
                })
                .collect()
        };
        let (fixed, turning, priors) = (sights(false), sights(true), priors(&state));
        let print = Print {
            middle: Vec2::zeros(),
            half: Vec2::new(27.0, 27.0),
        };
        let problem = TurnProblem {
            fixed: &fixed,
            turning: &turning,
            rim: &[],
            priors: &priors,
            fixed_print: print,
            turning_print: print,
            photos: 2,
            has_rim: false,
            wobbles: true,
        };
        let solution = problem.solve(state, &Options::default()).unwrap();
        problem.corner_scatter(&solution).unwrap()
    }

    /// The noise that was put in comes out, in the mean over some jobs to 4 % (256 residuals tell it to 6 % each); one corner in
    /// ten far off widens it by what a tenth more beyond one standard deviation makes.
    #[test]
    fn scatter_is_that_of_the_corners() {
        for noise in [0.4, 0.7, 1.0] {
            let mean = |spoiled| (0..12).map(|seed| scatter(noise, spoiled, seed)).sum::<f64>() / 12.0;
            let (plain, spoiled) = (mean(false) / noise, mean(true) / noise);
            println!("noise {noise}: {plain:.3}, spoiled {spoiled:.3}");
            assert!((plain - 1.0).abs() < 0.04, "{noise}: {plain}");
            assert!((1.0..1.3).contains(&spoiled), "{noise}: {spoiled}");
        }
    }
}

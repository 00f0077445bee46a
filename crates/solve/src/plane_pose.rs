//! Pose of a flat target from its corners in one photo.

use crate::{Error, Homography, Loss, Model, Options, Residuals, solve};
use nalgebra::{DVector, Matrix3};
use shimwright_camera::Camera;
use shimwright_geom::{Pose, Vec2, Vec3};

/// A corner of a flat target: where it is on the target (mm) and in the photo (px), with its standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanePoint {
    /// Place on the target, mm.
    pub place: Vec2,
    /// Place in the photo, px.
    pub at: Vec2,
    /// Standard deviation of `at` along each axis, px.
    pub sigma_px: f64,
}

/// `camera_from_target` with the least reprojection error. Both solutions of the planar ambiguity are refined and
/// the better one is returned.
///
/// # Errors
/// [`Error::TooFew`] below four corners, [`Error::Degenerate`] when they lie on a line.
pub fn pose_of_plane(camera: &Camera, points: &[PlanePoint]) -> Result<Pose, Error> {
    if points.len() < 4 {
        return Err(Error::TooFew {
            need: 4,
            got: points.len(),
        });
    }
    let pairs: Vec<_> = points
        .iter()
        .map(|p| (p.place, camera.undistort(&p.at)))
        .collect();
    let degenerate = Error::Degenerate {
        what: "the pose of the target",
    };
    let homography = Homography::fit(&pairs).ok_or_else(|| degenerate.clone())?;
    let first = from_homography(&homography.0).ok_or(degenerate)?;
    let model = PoseModel { camera, points };
    let refine = |start| {
        solve(
            &model,
            start,
            &Options {
                iterations: 40,
                relative_fall: 1e-10,
            },
        )
    };
    let first = refine(first)?;
    let best = match refine(flipped(&first.state, points)) {
        Ok(second) if second.cost < first.cost => second,
        _ => first,
    };
    Ok(best.state)
}

/// Pose from the homography between a plane and the ideal picture (Zhang 2000, section 3.1).
fn from_homography(h: &Matrix3<f64>) -> Option<Pose> {
    let (a, b, t) = (
        h.column(0).into_owned(),
        h.column(1).into_owned(),
        h.column(2).into_owned(),
    );
    let scale = 2.0 / (a.norm() + b.norm());
    let sign = if t.z < 0.0 { -scale } else { scale };
    let (x, y) = (a * sign, b * sign);
    let z = x.cross(&y);
    let svd = Matrix3::from_columns(&[x, y, z]).svd(true, true);
    let rotation = svd.u? * svd.v_t?;
    (rotation.determinant() > 0.0).then(|| Pose::from_matrix(&rotation, t * sign))
}

/// The other candidate of the planar ambiguity: the target's normal mirrored about the line of sight.
fn flipped(pose: &Pose, points: &[PlanePoint]) -> Pose {
    let middle = points.iter().map(|p| p.place).sum::<Vec2>() / points.len() as f64;
    let middle = Vec3::new(middle.x, middle.y, 0.0);
    let centre = pose.point(&middle);
    let sight = centre.normalize();
    let normal = pose.direction(&Vec3::z());
    let axis = normal.cross(&sight);
    let turn = 2.0 * axis.norm().atan2(normal.dot(&sight));
    if axis.norm() < 1e-9 {
        return *pose;
    }
    let turned = pose.nudged(&(axis.normalize() * turn), &Vec3::zeros());
    Pose::from_matrix(&turned.rotation(), centre - turned.direction(&middle))
}

struct PoseModel<'a> {
    camera: &'a Camera,
    points: &'a [PlanePoint],
}

impl Model for PoseModel<'_> {
    type State = Pose;

    fn parameters(&self) -> usize {
        6
    }

    fn groups(&self) -> usize {
        1
    }

    fn moved(&self, state: &Pose, step: &DVector<f64>) -> Pose {
        state.nudged(
            &step.fixed_rows::<3>(0).into_owned(),
            &step.fixed_rows::<3>(3).into_owned(),
        )
    }

    fn residuals(&self, state: &Pose, out: &mut Residuals) -> bool {
        for point in self.points {
            let place = Vec3::new(point.place.x, point.place.y, 0.0);
            let turned = state.direction(&place);
            let Some(seen) = self
                .camera
                .project_with_derivatives(&(turned + state.translation()))
            else {
                return false;
            };
            let by_turn = -seen.by_point * turned.cross_matrix();
            for axis in 0..2 {
                let s = 1.0 / point.sigma_px;
                let derivatives: [(usize, f64); 6] = std::array::from_fn(|k| {
                    (
                        k,
                        s * if k < 3 {
                            by_turn[(axis, k)]
                        } else {
                            seen.by_point[(axis, k - 3)]
                        },
                    )
                });
                out.push(
                    0,
                    Loss::Cauchy(4.0),
                    s * (seen.at[axis] - point.at[axis]),
                    &derivatives,
                );
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_corners_give_the_exact_pose() {
        let camera = Camera::ideal(2816, 2112, 2290.0);
        for (k, tilt) in [0.1, 0.5, 0.9, -0.7].into_iter().enumerate() {
            let truth = Pose::from_rotation_vector(
                Vec3::new(tilt, 0.3 - 0.2 * k as f64, 0.4 * k as f64),
                Vec3::new(-20.0, 10.0, 230.0),
            );
            let points: Vec<_> = (0..14)
                .map(|i| {
                    let place = Vec2::new(8.0 * f64::from(i % 7), 8.0 * f64::from(i / 7));
                    let at = camera
                        .project(&truth.point(&Vec3::new(place.x, place.y, 0.0)))
                        .unwrap();
                    PlanePoint {
                        place,
                        at,
                        sigma_px: 0.05,
                    }
                })
                .collect();
            let found = pose_of_plane(&camera, &points).unwrap();
            assert!(
                (found.translation() - truth.translation()).norm() < 1e-6,
                "tilt {tilt}"
            );
            assert!((found.rotation() - truth.rotation()).norm() < 1e-8);
        }
    }

    #[test]
    fn three_corners_are_too_few() {
        let camera = Camera::ideal(100, 100, 100.0);
        assert_eq!(
            pose_of_plane(&camera, &[]),
            Err(Error::TooFew { need: 4, got: 0 })
        );
    }
}

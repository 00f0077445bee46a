//! Features that a search moves by five small numbers: the mount's edge and the rim.

use super::view::View;
use shimwright_geom::{Vec2, Vec3};
use shimwright_solve::{Circle, CurvePoint, FeatureId, JointState, Line};

/// How far the rim's axis usually leans against the card, rad: the card lies as its place on the mount does.
const USUAL_LEAN: f64 = 0.03;
/// How far out of square with the mount's edge a rim usually stands, rad.
const USUAL_WOBBLE: f64 = 0.01;

/// A step of a feature: along the axis (mm), along the mount's edge (mm), down (mm), tilt about the mount's edge and
/// about down (rad). For the mount's edge itself the second is nothing and the tilts are about the axis and down.
pub(crate) type Move = [f64; 5];

/// Directions at the mount's edge: the axis as square to the edge and along the card, the edge, and down.
pub(crate) struct Frame {
    pub origin: Vec3,
    pub axis: Vec3,
    pub along: Vec3,
    pub down: Vec3,
}

impl Frame {
    pub fn of(line: &Line) -> Self {
        let axis = line.direction.cross(&Vec3::z()).normalize();
        let down = axis.cross(&line.direction);
        let down = if down.z < 0.0 { -down } else { down };
        Self {
            origin: line.point,
            axis,
            along: line.direction,
            down,
        }
    }
}

/// A feature that can be moved.
pub(crate) trait Movable: Copy + Sync {
    const ID: FeatureId;
    fn moved(&self, frame: &Frame, by: &Move) -> Self;
    fn at(&self, t: f64) -> Vec3;
    /// The parameter of the place nearest to a point.
    fn parameter(&self, point: &Vec3) -> f64;
    /// What a move costs in the score for bringing the feature out of square with the mount's edge.
    fn askew_cost(&self, frame: &Frame, by: &Move) -> f64;
    /// The place nearest to a pixel: parameter, pixel and unit normal there.
    fn nearest(
        &self,
        state: &JointState,
        photo: usize,
        view: &View,
        pixel: &Vec2,
    ) -> Option<(f64, Vec2, Vec2)>;
}

impl Movable for Circle {
    const ID: FeatureId = FeatureId::Circle;

    fn askew_cost(&self, frame: &Frame, by: &Move) -> f64 {
        let turn = frame.along * by[3] + frame.down * by[4];
        let normal = self.normal + turn.cross(&self.normal);
        let (square, level) = (normal.dot(&frame.along), normal.dot(&frame.down));
        0.02 * ((square / USUAL_WOBBLE).powi(2) + (level / USUAL_LEAN).powi(2))
    }

    fn moved(&self, frame: &Frame, by: &Move) -> Self {
        let turn = frame.along * by[3] + frame.down * by[4];
        Self {
            centre: self.centre + frame.axis * by[0] + frame.along * by[1] + frame.down * by[2],
            normal: (self.normal + turn.cross(&self.normal)).normalize(),
            radius: self.radius,
        }
    }

    fn at(&self, t: f64) -> Vec3 {
        self.centre + self.radial(t) * self.radius
    }

    fn parameter(&self, point: &Vec3) -> f64 {
        self.angle_of(point)
    }

    fn nearest(
        &self,
        state: &JointState,
        photo: usize,
        view: &View,
        pixel: &Vec2,
    ) -> Option<(f64, Vec2, Vec2)> {
        let (ray, centre) = (view.ray(pixel), view.place());
        let s = (self.centre - centre).dot(&self.normal) / ray.dot(&self.normal);
        // Where the line of sight runs in the rim's plane, the point of the rim nearest to the camera is the start.
        let start = if s > 0.0 && s < 2000.0 {
            centre + ray * s
        } else {
            centre
        };
        let (camera, pose) = (state.camera_of(photo), &state.photos[photo].camera_from_fixed);
        let near = CurvePoint::nearest(
            self,
            &camera,
            pose,
            pixel,
            &Vec2::new(1.0, 0.0),
            self.angle_of(&start),
        )?;
        Some((near.t, near.seen.at, near.normal))
    }
}

impl Movable for Line {
    const ID: FeatureId = FeatureId::Line;

    fn askew_cost(&self, _: &Frame, _: &Move) -> f64 {
        0.0
    }

    fn moved(&self, frame: &Frame, by: &Move) -> Self {
        let turned = self.direction + frame.down * by[3] + frame.axis * by[4];
        Self {
            point: self.point + frame.axis * by[0] + frame.down * by[2],
            direction: turned.normalize(),
        }
    }

    fn at(&self, t: f64) -> Vec3 {
        self.point + self.direction * t
    }

    fn parameter(&self, point: &Vec3) -> f64 {
        (point - self.point).dot(&self.direction)
    }

    fn nearest(&self, state: &JointState, photo: usize, _: &View, pixel: &Vec2) -> Option<(f64, Vec2, Vec2)> {
        let (camera, pose) = (state.camera_of(photo), &state.photos[photo].camera_from_fixed);
        let near = CurvePoint::nearest(self, &camera, pose, pixel, &Vec2::new(1.0, 0.0), 0.0)?;
        Some((near.t, near.seen.at, near.normal))
    }
}

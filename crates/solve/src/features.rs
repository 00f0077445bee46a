//! Straight edges and rims in space.

use nalgebra::{Matrix3xX, Vector2};
use shimwright_camera::{Camera, Projected};
use shimwright_geom::{Pose, Vec2, Vec3};

/// A straight edge in space: a point on it and its unit direction, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// A point on the line, near the middle of what was seen of it.
    pub point: Vec3,
    /// Unit direction.
    pub direction: Vec3,
}

/// A rim in space: centre, unit normal and radius, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Centre.
    pub centre: Vec3,
    /// Unit normal of its plane.
    pub normal: Vec3,
    /// Radius.
    pub radius: f64,
}

/// Two unit vectors that complete a unit vector to an orthogonal frame; continuous but for one direction.
pub(crate) fn across(direction: &Vec3) -> (Vec3, Vec3) {
    let helper = if direction.x.abs() < 0.7 {
        Vec3::x()
    } else {
        Vec3::y()
    };
    let first = direction.cross(&helper).normalize();
    (first, direction.cross(&first))
}

/// A curve in space with a parameter: arc length on a line (mm), angle on a circle (rad).
pub trait Curve: Copy {
    /// Number of step parameters.
    const PARAMETERS: usize;
    /// The point at a curve parameter.
    fn point(&self, t: f64) -> Vec3;
    /// Its derivative by the curve parameter.
    fn tangent(&self, t: f64) -> Vec3;
    /// Derivative of the point by each step parameter.
    fn by_step(&self, t: f64) -> Matrix3xX<f64>;
    /// The curve moved by a step.
    fn moved(&self, step: &[f64]) -> Self;
    /// A length scale of the curve parameter for Newton steps.
    fn stride(&self) -> f64;
}

impl Curve for Line {
    const PARAMETERS: usize = 4;

    fn point(&self, t: f64) -> Vec3 {
        self.point + self.direction * t
    }

    fn tangent(&self, _: f64) -> Vec3 {
        self.direction
    }

    fn by_step(&self, t: f64) -> Matrix3xX<f64> {
        let (a, b) = across(&self.direction);
        Matrix3xX::from_columns(&[a, b, a * t, b * t])
    }

    fn moved(&self, step: &[f64]) -> Self {
        let (a, b) = across(&self.direction);
        Self {
            point: self.point + a * step[0] + b * step[1],
            direction: (self.direction + a * step[2] + b * step[3]).normalize(),
        }
    }

    fn stride(&self) -> f64 {
        200.0
    }
}

impl Circle {
    /// Unit direction from the centre to the point at an angle.
    pub fn radial(&self, angle: f64) -> Vec3 {
        let (a, b) = across(&self.normal);
        a * angle.cos() + b * angle.sin()
    }

    /// The angle of the point of the circle nearest to a point.
    pub fn angle_of(&self, p: &Vec3) -> f64 {
        let (a, b) = across(&self.normal);
        let d = p - self.centre;
        d.dot(&b).atan2(d.dot(&a))
    }
}

impl Curve for Circle {
    const PARAMETERS: usize = 6;

    fn point(&self, t: f64) -> Vec3 {
        self.centre + self.radial(t) * self.radius
    }

    fn tangent(&self, t: f64) -> Vec3 {
        self.normal.cross(&self.radial(t)) * self.radius
    }

    fn by_step(&self, t: f64) -> Matrix3xX<f64> {
        let (a, b) = across(&self.normal);
        let radial = self.radial(t);
        let arm = radial * self.radius;
        Matrix3xX::from_columns(&[
            Vec3::x(),
            Vec3::y(),
            Vec3::z(),
            a.cross(&arm),
            b.cross(&arm),
            radial,
        ])
    }

    fn moved(&self, step: &[f64]) -> Self {
        let (a, b) = across(&self.normal);
        let turn = a * step[3] + b * step[4];
        Self {
            centre: self.centre + Vec3::new(step[0], step[1], step[2]),
            normal: (self.normal + turn.cross(&self.normal)).normalize(),
            radius: self.radius + step[5],
        }
    }

    fn stride(&self) -> f64 {
        0.8
    }
}

/// Where a curve passes an observed edge point: the residual across the curve and what it depends on.
pub struct CurvePoint {
    /// Curve parameter there.
    pub t: f64,
    /// Point in the fixed frame, mm.
    pub point: Vec3,
    /// Projection with derivatives.
    pub seen: Projected,
    /// Unit normal of the projected curve, px, on the same side as the observed normal.
    pub normal: Vec2,
}

impl CurvePoint {
    /// Finds where the projected curve lies nearest to a pixel, starting from curve parameter `t`. `None` when it
    /// runs behind the camera or does not settle.
    pub fn nearest<C: Curve>(
        curve: &C,
        camera: &Camera,
        camera_from_fixed: &Pose,
        pixel: &Vec2,
        side: &Vec2,
        t: f64,
    ) -> Option<Self> {
        let mut t = t;
        for _ in 0..20 {
            let seen = camera.project_with_derivatives(&camera_from_fixed.point(&curve.point(t)))?;
            let along: Vector2<f64> = seen.by_point * camera_from_fixed.direction(&curve.tangent(t));
            let length2 = along.norm_squared();
            if length2 < 1e-12 {
                return None;
            }
            let step = (pixel - seen.at).dot(&along) / length2;
            let step = step.clamp(-curve.stride(), curve.stride());
            t += step;
            if (step * step * length2).sqrt() < 1e-6 {
                let along = along / length2.sqrt();
                let normal = Vec2::new(-along.y, along.x);
                let normal = if normal.dot(side) < 0.0 { -normal } else { normal };
                return Some(Self {
                    t,
                    point: curve.point(t),
                    seen,
                    normal,
                });
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check_derivatives<C: Curve>(curve: &C, t: f64) {
        let d = curve.by_step(t);
        for k in 0..C::PARAMETERS {
            let mut step = vec![0.0; C::PARAMETERS];
            step[k] = 1e-6;
            let up = curve.moved(&step);
            step[k] = -1e-6;
            let down = curve.moved(&step);
            // A step may slide the curve along itself (a turned frame renumbers its points): only motion off the
            // curve counts.
            let slope = (up.point(t) - down.point(t)) / 2e-6 - d.column(k);
            let tangent = curve.tangent(t).normalize();
            let off = slope - tangent * slope.dot(&tangent);
            assert!(off.norm() < 1e-5, "parameter {k}: {off}");
        }
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let direction = Vec3::new(0.9, 0.3, -0.2).normalize();
        check_derivatives(
            &Line {
                point: Vec3::new(1.0, 2.0, 3.0),
                direction,
            },
            12.0,
        );
        check_derivatives(
            &Circle {
                centre: Vec3::new(5.0, -4.0, 30.0),
                normal: direction,
                radius: 49.5,
            },
            0.7,
        );
    }

    #[test]
    fn the_nearest_point_is_perpendicular() {
        let camera = Camera::ideal(2816, 2112, 2290.0);
        let pose = Pose::from_rotation_vector(Vec3::new(0.4, -0.2, 0.1), Vec3::new(0.0, 0.0, 230.0));
        let circle = Circle {
            centre: Vec3::new(3.0, 20.0, 5.0),
            normal: Vec3::new(0.1, 1.0, 0.3).normalize(),
            radius: 49.5,
        };
        let on = camera.project(&pose.point(&circle.point(1.1))).unwrap();
        let pixel = on + Vec2::new(3.0, -2.0);
        let near = CurvePoint::nearest(&circle, &camera, &pose, &pixel, &Vec2::new(0.0, 1.0), 0.9).unwrap();
        let gap = pixel - near.seen.at;
        assert!(gap.perp(&near.normal).abs() < 1e-5 && gap.norm() <= (pixel - on).norm());
        assert!(near.normal.y > 0.0);
    }
}

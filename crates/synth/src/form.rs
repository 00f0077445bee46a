//! The shapes of surfaces, and where a ray meets them.

use nalgebra::Matrix3;
use shimwright_geom::{Pose, Vec2, Vec3};

/// A place of a surface that a ray met.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Meeting {
    /// Where it is in the world.
    pub at: Vec3,
    /// Place on the surface, mm: x and y of a flat one, arc length and axial place of a turned one.
    pub place: Vec2,
    /// Unit normal, towards where the ray came from.
    pub normal: Vec3,
}

/// What part of a plane a flat surface takes up.
#[derive(Clone, Debug)]
pub enum Outline {
    /// Between two corners.
    Rectangle(Vec2, Vec2),
    /// Between two radii about the origin.
    Annulus(f64, f64),
    /// Within a radius about the origin, less a hole.
    Pierced {
        /// Radius.
        outer: f64,
        /// Radius of the hole.
        hole: f64,
        /// Middle of the hole.
        at: Vec2,
    },
    /// Within a radius of the stretch from the origin to (`reach`, 0).
    Capsule {
        /// Where the far end's middle lies.
        reach: f64,
        /// Radius.
        radius: f64,
    },
    /// Everything.
    Endless,
}

impl Outline {
    fn holds(&self, p: &Vec2) -> bool {
        match self {
            Self::Rectangle(low, high) => p.x >= low.x && p.y >= low.y && p.x <= high.x && p.y <= high.y,
            Self::Annulus(inner, outer) => {
                let r2 = p.norm_squared();
                r2 >= inner * inner && r2 <= outer * outer
            }
            Self::Pierced { outer, hole, at } => {
                p.norm_squared() <= outer * outer && (p - at).norm_squared() >= hole * hole
            }
            Self::Capsule { reach, radius } => {
                let nearest = Vec2::new(p.x.clamp(0.0, *reach), 0.0);
                (p - nearest).norm_squared() <= radius * radius
            }
            Self::Endless => true,
        }
    }

    /// Points around its border; empty when it has none.
    fn border(&self) -> Vec<Vec2> {
        let around = |radius: f64| {
            (0..48).map(move |k| {
                let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 48.0).sin_cos();
                // A polygon about the circle, so that nothing of it is outside.
                Vec2::new(cos, sin) * radius / (std::f64::consts::PI / 48.0).cos()
            })
        };
        match self {
            Self::Rectangle(low, high) => {
                let corners = [*low, Vec2::new(high.x, low.y), *high, Vec2::new(low.x, high.y)];
                (0..4)
                    .flat_map(|k| {
                        (0..8).map(move |i| {
                            corners[k] + (corners[(k + 1) % 4] - corners[k]) * f64::from(i) / 8.0
                        })
                    })
                    .collect()
            }
            Self::Annulus(_, outer) | Self::Pierced { outer, .. } => around(*outer).collect(),
            Self::Capsule { reach, radius } => around(*radius)
                .chain(around(*radius).map(|p| p + Vec2::new(*reach, 0.0)))
                .collect(),
            Self::Endless => Vec::new(),
        }
    }
}

/// A bow of a flat surface: it leaves its plane by `height` in the middle of a stretch and meets it at both ends.
#[derive(Clone, Copy, Debug, Default)]
pub struct Bow {
    /// Middle of the stretch along x, mm.
    pub middle: f64,
    /// Half its length, mm.
    pub half: f64,
    /// Height towards -z in the middle, mm.
    pub height: f64,
}

impl Bow {
    fn z(&self, x: f64) -> f64 {
        if self.height == 0.0 {
            return 0.0;
        }
        let share = (x - self.middle) / self.half;
        -self.height * (1.0 - share * share)
    }

    fn slope(&self, x: f64) -> f64 {
        if self.height == 0.0 {
            return 0.0;
        }
        2.0 * self.height * (x - self.middle) / (self.half * self.half)
    }
}

/// The form of a surface.
#[derive(Clone, Debug)]
pub enum Form {
    /// A piece of a plane, z = 0 of its frame, slightly bowed if need be.
    Flat {
        /// Its frame.
        world_from_flat: Pose,
        /// Which piece.
        outline: Outline,
        /// Its bow.
        bow: Bow,
    },
    /// A piece of a cone or cylinder about the z axis of its frame, between two places on the axis.
    Turned {
        /// Its frame.
        world_from_turned: Pose,
        /// Axial place and radius where it begins.
        from: (f64, f64),
        /// Axial place and radius where it ends.
        to: (f64, f64),
        /// Only where y of its frame is negative.
        half: bool,
    },
}

impl Form {
    /// A flat form without bow.
    pub fn flat(world_from_flat: Pose, outline: Outline) -> Self {
        Self::Flat {
            world_from_flat,
            outline,
            bow: Bow::default(),
        }
    }

    /// A whole cone or cylinder.
    pub fn turned(world_from_turned: Pose, from: (f64, f64), to: (f64, f64)) -> Self {
        Self::Turned {
            world_from_turned,
            from,
            to,
            half: false,
        }
    }

    /// The same form carried along by a motion of the world.
    pub fn moved(&self, motion: &Pose) -> Self {
        let mut form = self.clone();
        match &mut form {
            Self::Flat { world_from_flat, .. } => *world_from_flat = *motion * *world_from_flat,
            Self::Turned {
                world_from_turned, ..
            } => *world_from_turned = *motion * *world_from_turned,
        }
        form
    }

    /// Points about it that bound all of it; empty when it has no bound.
    pub(crate) fn bounds(&self) -> Vec<Vec3> {
        match self {
            Self::Flat {
                world_from_flat,
                outline,
                ..
            } => outline
                .border()
                .iter()
                .map(|p| world_from_flat.point(&Vec3::new(p.x, p.y, 0.0)))
                .collect(),
            Self::Turned {
                world_from_turned,
                from,
                to,
                ..
            } => [from, to]
                .iter()
                .flat_map(|(z, radius)| {
                    Outline::Annulus(0.0, *radius)
                        .border()
                        .into_iter()
                        .map(|p| world_from_turned.point(&Vec3::new(p.x, p.y, *z)))
                })
                .collect(),
        }
    }
}

/// A form made ready for many rays from one place.
#[derive(Clone, Debug)]
pub(crate) struct Ready<'a> {
    form: &'a Form,
    to_local: Matrix3<f64>,
    /// Where the rays start, in the form's frame.
    from: Vec3,
    from_world: Vec3,
}

/// Where a ray meets a form, in the form's frame.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hit {
    /// How far along the ray, in lengths of its direction.
    pub t: f64,
    at: Vec3,
}

impl<'a> Ready<'a> {
    pub fn new(form: &'a Form, from: &Vec3) -> Self {
        let pose = match form {
            Form::Flat { world_from_flat, .. } => world_from_flat,
            Form::Turned {
                world_from_turned, ..
            } => world_from_turned,
        };
        Self {
            form,
            to_local: pose.rotation().transpose(),
            from: pose.inverse().point(from),
            from_world: *from,
        }
    }

    /// The nearest place at which a ray meets the form, nearer than `limit` lengths of its direction.
    pub fn meet(&self, along: &Vec3, limit: f64) -> Option<Hit> {
        let (t, at) = match self.form {
            Form::Flat { outline, bow, .. } => self.meet_flat(along, limit, outline, bow)?,
            Form::Turned { from, to, half, .. } => {
                let v = self.to_local * along;
                let t = meet_turned(&self.from, &v, *from, *to, *half)?;
                (t, self.from + v * t)
            }
        };
        (t > 1e-9 && t < limit).then_some(Hit { t, at })
    }

    fn meet_flat(&self, along: &Vec3, limit: f64, outline: &Outline, bow: &Bow) -> Option<(f64, Vec3)> {
        let m = &self.to_local;
        let vz = m.m31 * along.x + m.m32 * along.y + m.m33 * along.z;
        let mut t = -self.from.z / vz;
        // Most planes are out of the question already: behind the camera, or behind what was met before.
        if !(t > 1e-9 && t < 1.01 * limit) {
            return None;
        }
        let v = Vec3::new(
            m.m11 * along.x + m.m12 * along.y + m.m13 * along.z,
            m.m21 * along.x + m.m22 * along.y + m.m23 * along.z,
            vz,
        );
        // A bow is low and long, so the surface is met where the plane is, nearly; each step leaves a hundredth.
        if bow.height != 0.0 {
            for _ in 0..4 {
                let x = self.from.x + v.x * t;
                let away = self.from.z + v.z * t - bow.z(x);
                t -= away / (v.z - bow.slope(x) * v.x);
            }
        }
        let at = self.from + v * t;
        outline.holds(&at.xy()).then_some((t, at))
    }

    /// What there is to know of the place that was met.
    pub fn describe(&self, hit: &Hit) -> Meeting {
        let at = &hit.at;
        let (place, normal) = match self.form {
            Form::Flat { bow, .. } => (at.xy(), Vec3::new(-bow.slope(at.x), 0.0, 1.0).normalize()),
            Form::Turned { from, to, .. } => {
                let k = (to.1 - from.1) / (to.0 - from.0);
                let radius = at.xy().norm();
                (
                    Vec2::new(at.y.atan2(at.x) * radius, at.z),
                    Vec3::new(at.x, at.y, -k * radius).normalize(),
                )
            }
        };
        let towards_eye = if normal.dot(&(self.from - at)) < 0.0 {
            -normal
        } else {
            normal
        };
        Meeting {
            at: self.to_local.transpose() * (at - self.from) + self.from_world,
            place,
            normal: self.to_local.transpose() * towards_eye,
        }
    }
}

fn meet_turned(p: &Vec3, v: &Vec3, from: (f64, f64), to: (f64, f64), half: bool) -> Option<f64> {
    // The radius grows by `k` a millimetre along the axis: x^2 + y^2 = (r0 + k (z - z0))^2.
    let k = (to.1 - from.1) / (to.0 - from.0);
    let r = from.1 + k * (p.z - from.0);
    let a = v.x * v.x + v.y * v.y - k * k * v.z * v.z;
    let b = p.x * v.x + p.y * v.y - k * r * v.z;
    let c = p.x * p.x + p.y * p.y - r * r;
    let root = b * b - a * c;
    if root < 0.0 || a.abs() < 1e-15 {
        return None;
    }
    let root = root.sqrt();
    let (low, high) = (from.0.min(to.0), from.0.max(to.0));
    let mut found = [(-b - root) / a, (-b + root) / a];
    if found[0] > found[1] {
        found.swap(0, 1);
    }
    let met = |t: &f64| {
        let z = p.z + v.z * t;
        *t > 1e-9
            && z >= low
            && z <= high
            && from.1 + k * (z - from.0) >= 0.0
            && !(half && p.y + v.y * t > 0.0)
    };
    found.into_iter().find(met)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How far along the ray the form is met, and what is met there.
    fn meet(form: &Form, from: [f64; 3], along: [f64; 3]) -> Option<(f64, Meeting)> {
        let ready = Ready::new(form, &Vec3::from(from));
        let hit = ready.meet(&Vec3::from(along), f64::INFINITY)?;
        Some((hit.t, ready.describe(&hit)))
    }

    #[test]
    fn a_plane_is_met_within_its_outline_only() {
        let form = Form::flat(Pose::identity(), Outline::Annulus(2.0, 5.0));
        let (t, met) = meet(&form, [3.0, 0.0, -10.0], [0.0, 0.0, 2.0]).unwrap();
        assert!((t - 5.0).abs() < 1e-12 && met.normal.z == -1.0);
        for x in [1.9, 5.1] {
            assert!(meet(&form, [x, 0.0, -10.0], [0.0, 0.0, 1.0]).is_none());
        }
        assert!(
            meet(&form, [3.0, 0.0, -10.0], [0.0, 0.0, -1.0]).is_none(),
            "behind"
        );
    }

    #[test]
    fn a_bowed_plane_is_met_on_its_bow() {
        let bow = Bow {
            middle: 32.0,
            half: 32.0,
            height: 0.3,
        };
        let form = Form::Flat {
            world_from_flat: Pose::identity(),
            outline: Outline::Endless,
            bow,
        };
        let (_, met) = meet(&form, [10.0, 0.0, -200.0], [0.1, 0.3, 1.0]).unwrap();
        let share = (met.at.x - 32.0) / 32.0;
        assert!((met.at.z + 0.3 * (1.0 - share * share)).abs() < 1e-9);
    }

    #[test]
    fn a_cone_is_met_where_its_radius_says() {
        let form = Form::turned(Pose::identity(), (0.0, 10.0), (1.0, 11.0));
        let (t, met) = meet(&form, [40.0, 0.0, 0.5], [-1.0, 0.0, 0.0]).unwrap();
        assert!((t - 29.5).abs() < 1e-9 && (met.at - Vec3::new(10.5, 0.0, 0.5)).norm() < 1e-9);
        let half = std::f64::consts::FRAC_1_SQRT_2;
        assert!((met.normal - Vec3::new(half, 0.0, -half)).norm() < 1e-9);
        assert!(meet(&form, [40.0, 0.0, 1.5], [-1.0, 0.0, 0.0]).is_none());
    }

    #[test]
    fn the_nearer_side_of_a_tube_is_met_from_inside_and_outside() {
        let form = Form::turned(Pose::identity(), (-5.0, 4.0), (5.0, 4.0));
        assert!((meet(&form, [9.0, 0.0, 0.0], [-1.0, 0.0, 0.0]).unwrap().0 - 5.0).abs() < 1e-12);
        let (t, met) = meet(&form, [0.0, 0.0, 0.0], [-1.0, 0.0, 0.0]).unwrap();
        assert!((t - 4.0).abs() < 1e-12 && met.normal.x > 0.0);
    }
}

//! Light: a sky all around, one lamp, and walls that keep both out of a slit.

use crate::paint::Paint;
use shimwright_geom::{Vec2, Vec3};

/// The light that falls on a scene.
#[derive(Clone, Copy, Debug)]
pub struct Light {
    /// Light from all around.
    pub sky: f64,
    /// Light of the lamp.
    pub lamp: f64,
    /// Unit direction towards the lamp.
    pub towards_lamp: Vec3,
}

/// The rim of a wall.
#[derive(Clone, Copy, Debug)]
pub enum Rim {
    /// Straight: a point of it; it runs across the wall's two directions.
    Straight(Vec3),
    /// Round about the axis: a point of the axis and the radius.
    Round(Vec3, f64),
}

/// A wall beside a surface, that stands across the axis of a slit and takes light from it.
///
/// Light is worked out as between long straight walls, in the plane of axis and slit.
#[derive(Clone, Copy, Debug)]
pub struct Wall {
    /// A point of the wall's face.
    pub face: Vec3,
    /// Unit direction of the slit's axis, from the surface to the wall.
    pub axis: Vec3,
    /// The wall's rim, up to which it takes light.
    pub rim: Rim,
    /// Unit direction out of the slit at a straight rim.
    pub out: Vec3,
}

/// A soft shadow: what stands near a surface keeps light from it.
#[derive(Clone, Copy, Debug)]
pub struct Shadow {
    /// Where it is deepest.
    pub middle: Vec3,
    /// How far it reaches, mm (standard deviation of a Gaussian).
    pub reach: f64,
    /// Share of light that is lost where it is deepest.
    pub depth: f64,
}

impl Shadow {
    /// Share of light that is left at a place.
    fn left(&self, at: &Vec3) -> f64 {
        let away = (at - self.middle).norm_squared() / (self.reach * self.reach);
        1.0 - self.depth * (-0.5 * away).exp()
    }
}

/// How wide the border of a lamp's shadow is, rad: the lamp is not a point.
const PENUMBRA: f64 = 0.25;

impl Wall {
    /// Angle of the wall's rim seen from a place, from the axis outward, rad; and the direction outward there.
    fn rim_angle(&self, at: &Vec3) -> (f64, Vec3) {
        let across = (self.face - at).dot(&self.axis).max(1e-3);
        let (up, out) = match self.rim {
            Rim::Straight(rim) => ((rim - at).dot(&self.out), self.out),
            Rim::Round(centre, radius) => {
                let from = at - centre;
                let radial = from - self.axis * from.dot(&self.axis);
                let distance = radial.norm().max(1e-9);
                (radius - distance, radial / distance)
            }
        };
        (up.atan2(across), out)
    }

    /// Shares of sky and lamp that reach a place with a given normal.
    ///
    /// The sky's share is the view factor of what the wall leaves open, (1 - sin(open - tilt)) / 2 for a surface whose
    /// normal is tilted by `tilt` from the axis outward (exact for endless straight walls).
    fn shares(&self, at: &Vec3, normal: &Vec3, towards_lamp: &Vec3) -> (f64, f64) {
        let (rim, out) = self.rim_angle(at);
        let tilt = normal.dot(&out).atan2(normal.dot(&self.axis));
        let open = rim.max(tilt - std::f64::consts::FRAC_PI_2);
        let sky = (0.5 * (1.0 - (open - tilt).sin())).clamp(0.0, 1.0);
        let lamp_angle = towards_lamp.dot(&out).atan2(towards_lamp.dot(&self.axis));
        let lamp = ((lamp_angle - rim) / PENUMBRA + 0.5).clamp(0.0, 1.0);
        (sky, lamp)
    }
}

impl Light {
    /// Light that a surface sends to the camera, linear.
    pub(crate) fn shade(&self, lit: &Lit, paint: &Paint) -> f64 {
        let (sky, lamp) = match lit.wall {
            Some(wall) => wall.shares(&lit.at, &lit.normal, &self.towards_lamp),
            None => (1.0, 1.0),
        };
        let facing = lit.normal.dot(&self.towards_lamp).max(0.0);
        let left = lit.shadow.map_or(1.0, |shadow| shadow.left(&lit.at));
        let scattered =
            left * paint.albedo_at(&lit.place, lit.black) * (self.sky * sky + self.lamp * lamp * facing);
        let (gloss, exponent) = paint.gloss;
        if gloss == 0.0 {
            return scattered;
        }
        let half = (self.towards_lamp + lit.towards_camera.normalize()).normalize();
        scattered + gloss * lamp * self.lamp * half.dot(&lit.normal).max(0.0).powf(exponent)
    }
}

/// A place that is lit.
pub(crate) struct Lit<'a> {
    pub at: Vec3,
    pub place: Vec2,
    pub normal: Vec3,
    /// Of any length.
    pub towards_camera: Vec3,
    pub black: bool,
    pub wall: Option<&'a Wall>,
    pub shadow: Option<&'a Shadow>,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wall(rim: f64) -> Wall {
        Wall {
            face: Vec3::new(2.0, 0.0, 0.0),
            axis: Vec3::x(),
            rim: Rim::Straight(Vec3::new(2.0, 0.0, rim)),
            out: Vec3::z(),
        }
    }

    /// View factors of textbook cases: an endless wall that faces a surface leaves it dark, one whose rim is level
    /// with the place leaves it half of its sky, and so does one that stands at the foot of level ground.
    #[test]
    fn a_wall_takes_its_share_of_the_sky() {
        let sky = |rim: f64, normal: Vec3, at: Vec3| wall(rim).shares(&at, &normal, &Vec3::z()).0;
        assert!(sky(1e6, Vec3::x(), Vec3::zeros()) < 1e-5);
        assert!((sky(0.0, Vec3::x(), Vec3::zeros()) - 0.5).abs() < 1e-9);
        assert!((sky(-1e6, Vec3::x(), Vec3::zeros()) - 1.0).abs() < 1e-5);
        assert!((sky(1e6, Vec3::z(), Vec3::new(1.999, 0.0, 0.0)) - 0.5).abs() < 1e-3);
        // Two millimetres away and two high: (1 + cos 45 degrees) / 2.
        assert!((sky(2.0, Vec3::z(), Vec3::zeros()) - 0.853_553_4).abs() < 1e-6);
    }
}

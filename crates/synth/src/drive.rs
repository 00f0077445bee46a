//! What the scenes have in common: frames, metals, the light, the camera of an invented phone, a printed sheet.

use crate::form::{Bow, Form, Outline};
use crate::light::Light;
use crate::paint::{Grain, Paint};
use crate::print::Print;
use crate::scene::Surface;
use crate::shot::Sensor;
use nalgebra::Matrix3;
use shimwright_camera::Camera;
use shimwright_geom::Random;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_target::Target;

/// Share of light that printed black gives back.
const INK: f64 = 0.035;
/// Share of light that paper gives back.
const PAPER: f64 = 0.82;

/// A pose with the given axes (unit vectors, right-handed) and origin.
pub(crate) fn frame(x: Vec3, y: Vec3, z: Vec3, origin: Vec3) -> Pose {
    Pose::from_matrix(&Matrix3::from_columns(&[x, y, z]), origin)
}

/// A pose whose z axis is given and whose other axes lie anyhow.
pub(crate) fn frame_about(z: &Vec3, origin: Vec3) -> Pose {
    let start = if z.x.abs() < 0.7 { Vec3::x() } else { Vec3::y() };
    let x = start.cross(z).normalize();
    frame(x, z.cross(&x), *z, origin)
}

/// A unit vector tilted by an angle from another, towards a direction square to it.
pub(crate) fn tilted(from: &Vec3, towards: &Vec3, angle: f64) -> Vec3 {
    from * angle.cos() + towards * angle.sin()
}

/// Turned or milled metal.
pub(crate) fn metal(random: &mut Random, albedo: f64) -> Paint {
    let brushed = random.between(0.15, 0.6);
    Paint {
        albedo,
        gloss: (random.between(0.0, 0.25), random.between(8.0, 40.0)),
        grain: Grain {
            amount: random.between(0.02, 0.06),
            size: Vec2::new(brushed, 0.15),
            seed: random.bits(),
        },
        print: None,
    }
}

/// Dull and dark: rubber, paint.
pub(crate) fn dark(random: &mut Random) -> Paint {
    let albedo = random.between(0.025, 0.06);
    Paint::grained(albedo, 0.08, Vec2::new(0.7, 0.7), random.bits())
}

/// Light from all around and a lamp somewhere above.
///
/// `up` points up, `about` is square to it; together they bring white paper that lies level near full scale.
pub(crate) fn light(random: &mut Random, up: &Vec3, about: &Vec3) -> Light {
    let (height, turn) = (
        random.between(0.6, 1.4),
        random.between(0.0, std::f64::consts::TAU),
    );
    let level = about * turn.cos() + up.cross(about) * turn.sin();
    let lamp = random.between(0.25, 0.6);
    Light {
        sky: 1.0 - lamp * height.sin(),
        lamp,
        towards_lamp: level * height.cos() + up * height.sin(),
    }
}

/// A phone's camera: 65 degrees wide, a little distorted. The size is that of the pictures, 4 to 3.
pub(crate) fn phone(random: &mut Random, width: u32) -> Camera {
    let size = f64::from(width);
    let fx = 0.8138 * size * random.between(0.96, 1.04);
    let height = width * 3 / 4;
    let centre = |n: f64, random: &mut Random| (n - 1.0) / 2.0 + 0.004 * size * random.normal();
    let cx = centre(size, random);
    let cy = centre(f64::from(height), random);
    Camera {
        width,
        height,
        intrinsics: [
            fx,
            fx * (1.0 + 0.0007 * random.normal()),
            cx,
            cy,
            random.between(-0.03, 0.08),
            random.between(-0.12, 0.03),
            0.0004 * random.normal(),
            0.0004 * random.normal(),
            0.0,
        ],
    }
}

/// A phone's lens and sensor in the light of a workshop. The blur goes with the picture's size.
pub(crate) fn sensor(random: &mut Random, width: u32) -> Sensor {
    Sensor {
        blur_px: random.between(0.5, 0.9) * (f64::from(width) / 2816.0).max(0.75),
        exposure: random.between(0.8, 1.05),
        // Of the grey of a picture of 6 megapixels: 30 to 37 dB at full scale.
        full_well: random.between(1_000.0, 5_000.0),
        read_noise: 4.0,
        vignette: random.between(0.1, 0.35),
    }
}

/// How a sheet came out of the printer and how it lies.
#[derive(Clone, Copy, Debug)]
pub struct Sheet {
    /// Where it lies: its frame has x right, y down, z into the paper.
    pub world_from_sheet: Pose,
    /// Lengths of the print over nominal ones, along x and y.
    pub scale: Vec2,
    /// By how much ink moved every black edge outward, mm.
    pub growth_mm: f64,
    /// By how much the middle stands above the ends, along x, mm.
    pub bow_mm: f64,
}

impl Sheet {
    /// The sheet with a target printed on it.
    pub(crate) fn surface(&self, target: &Target, seed: u64) -> Surface {
        let (low, high) = target.pattern_box();
        let outline = match target.kind() {
            shimwright_target::Kind::Ring {
                outer_diameter_mm,
                hole_diameter_mm,
                ..
            } => Outline::Annulus(hole_diameter_mm / 2.0, outer_diameter_mm / 2.0),
            _ => {
                let (low, size) = target
                    .page()
                    .map_or((low, high - low), |page| (page.origin, page.size));
                Outline::Rectangle(low, low + size)
            }
        };
        let form = Form::Flat {
            world_from_flat: self.world_from_sheet,
            outline,
            bow: Bow {
                middle: (low.x + high.x) / 2.0,
                half: (high.x - low.x) / 2.0,
                height: self.bow_mm,
            },
        };
        let paper = Paint {
            print: Some((Print::new(target, self.scale, self.growth_mm), INK)),
            ..Paint::grained(PAPER, 0.012, Vec2::repeat(0.18), seed)
        };
        Surface::new(form, paper)
    }
}

/// A disc with both its edges chamfered by 45 degrees: a face, a rim, and the cones between.
pub(crate) struct Disc {
    /// Its frame: the face in z = 0, z into the disc.
    pub world_from_disc: Pose,
    pub radius: f64,
    pub hole: f64,
    pub thickness: f64,
    pub chamfer: f64,
}

impl Disc {
    pub fn face(&self) -> Form {
        Form::flat(
            self.world_from_disc,
            Outline::Annulus(self.hole, self.radius - self.chamfer),
        )
    }

    pub fn chamfer(&self) -> Form {
        let (c, r) = (self.chamfer, self.radius);
        Form::turned(self.world_from_disc, (0.0, r - c), (c, r))
    }

    pub fn rim(&self) -> Form {
        let (c, r) = (self.chamfer, self.radius);
        Form::turned(self.world_from_disc, (c, r), (self.thickness - c, r))
    }

    pub fn far_chamfer(&self) -> Form {
        let (c, r, t) = (self.chamfer, self.radius, self.thickness);
        Form::turned(self.world_from_disc, (t - c, r), (t, r - c))
    }
}

/// A point of a circle in its frame's plane.
pub(crate) fn on_circle(world_from_circle: &Pose, radius: f64, angle: f64) -> Vec3 {
    world_from_circle.point(&Vec3::new(radius * angle.cos(), radius * angle.sin(), 0.0))
}

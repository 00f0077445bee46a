//! Two made-up pulleys in line, or nearly: that of the wheel and that of the motor, beside a mount with a card on it.
//!
//! World frame: x along the axle away from the mount (outboard), y from the wheel to the motor, z up, origin on the axle in
//! the plate's face.

use crate::drive::{self, Disc, Sheet, frame};
use crate::form::{Form, Outline};
use crate::light::Shadow;
use crate::paint::Paint;
use crate::scene::{Scene, Surface};
use crate::shot::{Shot, looking_at};
use shimwright_camera::Camera;
use shimwright_geom::Random;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_target::Target;
use std::f64::consts::PI;

/// Between what limits pairs of pulleys are made.
#[derive(Clone, Copy, Debug)]
pub struct AlignmentLimits {
    /// Width of the pictures, px; they are 4 to 3.
    pub width: u32,
    /// Number of photos.
    pub photos: usize,
    /// Largest belt offset either way, mm.
    pub offset: f64,
    /// Largest turn of the motor's axis against the wheel's, about each of two axes, rad.
    pub turn: f64,
    /// Chamfer legs, mm; all edges have the same.
    pub chamfer: (f64, f64),
    /// Standard deviation of each print scale factor.
    pub scale_sigma: f64,
    /// Standard deviation of the bow of the card, mm.
    pub bow_sigma: f64,
    /// From the camera to the pulleys, mm.
    pub distance: (f64, f64),
}

impl Default for AlignmentLimits {
    fn default() -> Self {
        Self {
            width: 2816,
            photos: 4,
            offset: 1.0,
            turn: 0.012,
            chamfer: (0.05, 0.25),
            scale_sigma: 0.0005,
            bow_sigma: 0.04,
            distance: (200.0, 260.0),
        }
    }
}

/// A pulley with two flanges.
#[derive(Clone, Copy, Debug)]
pub struct Pulley {
    /// Its frame: origin in the middle of its width, z along its axis, outboard.
    pub world_from_pulley: Pose,
    /// Radius of its flanges, mm.
    pub radius: f64,
    /// From one outer face to the other, mm.
    pub width: f64,
    /// Thickness of each flange, mm.
    pub flange: f64,
    /// Chamfer leg of the outer edges, mm.
    pub chamfer: f64,
}

impl Pulley {
    /// Points of the edge between the flange's rim and the chamfer towards its outer face, on the side of the mount
    /// (`outer` false) or away from it, between two angles (rad) from the direction towards the motor upward.
    pub fn edge_points(&self, outer: bool, range: (f64, f64), count: usize) -> Vec<Vec3> {
        let z = self.width / 2.0 - self.chamfer;
        let z = if outer { z } else { -z };
        let last = (count.max(2) - 1) as f64;
        (0..count)
            .map(|i| range.0 + (range.1 - range.0) * i as f64 / last)
            .map(|angle| {
                let (sin, cos) = angle.sin_cos();
                let local = Vec3::new(self.radius * cos, self.radius * sin, z);
                self.world_from_pulley.point(&local)
            })
            .collect()
    }

    fn middle(&self) -> Vec3 {
        self.world_from_pulley.translation()
    }
}

/// What is true of two pulleys. mm and rad.
#[derive(Clone, Copy, Debug)]
pub struct AlignmentTruth {
    /// How far the wheel's pulley stands further outboard than the motor's, along the wheel's axis at the motor.
    pub offset: f64,
    /// By how much the axes spread apart outboard, in the plane through the wheel's axis and the motor's middle.
    pub spread: f64,
    /// The motor's axis turned about the line from wheel to motor, right-handed.
    pub twist: f64,
    /// The wheel's pulley.
    pub driven: Pulley,
    /// The motor's pulley.
    pub motor: Pulley,
    /// The card.
    pub card: Sheet,
}

/// A scene of two pulleys with the photos to be taken of it.
#[derive(Clone, Debug)]
pub struct AlignmentScene {
    /// What is there.
    pub scene: Scene,
    /// The photos.
    pub shots: Vec<Shot>,
    /// Their camera before it focused for each.
    pub camera: Camera,
    /// What is true.
    pub truth: AlignmentTruth,
    /// Which of the scene's surfaces are the motor's pulley.
    pub motor_surfaces: std::ops::Range<usize>,
}

/// Height of the mount's plate above the axle, mm, and its thickness.
const PLATE_TOP: f64 = 30.0;
const PLATE: f64 = 8.0;
/// How far a flange stands above the belt, mm.
const PROUD: f64 = 1.5;

impl AlignmentScene {
    /// A scene of its own for each seed. `card` is the definition of the card on the mount.
    pub fn random(card: &Target, limits: &AlignmentLimits, seed: u64) -> Self {
        let mut random = Random::new(seed ^ 0x616c_6967);
        let truth = truth(limits, &mut random);
        let (surfaces, motor_surfaces) = surfaces(&truth, card, &mut random);
        let scene = Scene {
            surfaces,
            light: drive::light(&mut random, &Vec3::z(), &Vec3::x()),
            background: 0.1,
        };
        let camera = drive::phone(&mut random, limits.width);
        let shots = (0..limits.photos)
            .map(|k| Shot {
                camera: camera.with_focal_factor(1.0 + 0.003 * random.normal()),
                camera_from_world: view(k, &truth, limits, &mut random),
                sensor: drive::sensor(&mut random, limits.width),
            })
            .collect();
        Self {
            scene,
            shots,
            camera,
            truth,
            motor_surfaces,
        }
    }
}

fn truth(limits: &AlignmentLimits, random: &mut Random) -> AlignmentTruth {
    let chamfer = random.between(limits.chamfer.0, limits.chamfer.1);
    let pulley = |radius: f64, middle: Vec3, axis: Vec3, random: &mut Random| {
        // Angles count from the direction towards the motor upward, so y of the frame is up.
        let up = (Vec3::z() - axis * axis.z).normalize();
        Pulley {
            world_from_pulley: frame(up.cross(&axis), up, axis, middle),
            radius,
            width: random.between(15.5, 18.0),
            flange: random.between(1.2, 1.8),
            chamfer,
        }
    };
    let lean = |limit: f64, random: &mut Random| {
        let (y, z) = (
            limit * random.between(-1.0, 1.0),
            limit * random.between(-1.0, 1.0),
        );
        Vec3::new(1.0, y, z).normalize()
    };
    let wheel_middle = Vec3::new(
        random.between(10.5, 12.5),
        0.2 * random.normal(),
        0.2 * random.normal(),
    );
    let wheel_radius = random.between(44.0, 50.0);
    let wheel_axis = lean(0.004, random);
    let driven = pulley(wheel_radius, wheel_middle, wheel_axis, random);
    let reach = random.between(85.0, 95.0);
    let offset = limits.offset * random.between(-1.0, 1.0);
    let at = Vec3::new(wheel_middle.x - offset, reach, 2.0 * random.normal());
    let axis = (wheel_axis + lean(limits.turn, random) - Vec3::x()).normalize();
    let radius = random.between(14.0, 18.0);
    let motor = pulley(radius, at, axis, random);
    let between = motor.middle() - driven.middle();
    let along = (between - wheel_axis * between.dot(&wheel_axis)).normalize();
    AlignmentTruth {
        offset: -between.dot(&wheel_axis),
        spread: axis.dot(&along).atan2(axis.dot(&wheel_axis)),
        // A right-handed turn about `along` takes the axis towards `along` x axis.
        twist: axis.dot(&along.cross(&wheel_axis)).atan2(axis.dot(&wheel_axis)),
        driven,
        motor,
        card: card_on_block(limits, random),
    }
}

/// The card lies on a block behind the plate, level but for a degree or two.
fn card_on_block(limits: &AlignmentLimits, random: &mut Random) -> Sheet {
    let lean = Vec3::new(
        0.015 * random.normal(),
        0.015 * random.normal(),
        random.between(-0.06, 0.06),
    );
    let at = Vec3::new(
        -40.0 + 1.5 * random.normal(),
        6.0 + 4.0 * random.normal(),
        PLATE_TOP + random.between(3.5, 6.0),
    );
    let scale = |random: &mut Random| 1.0 + limits.scale_sigma * random.normal();
    Sheet {
        world_from_sheet: frame(Vec3::y(), Vec3::x(), -Vec3::z(), at).nudged(&lean, &Vec3::zeros()),
        scale: Vec2::new(scale(random), scale(random)),
        growth_mm: random.between(0.0, 0.04),
        bow_mm: limits.bow_sigma * random.normal(),
    }
}

/// From above the motor's end, from high up and from lower down, two a little outboard of the pulleys and two a little inboard.
fn view(index: usize, truth: &AlignmentTruth, limits: &AlignmentLimits, random: &mut Random) -> Pose {
    let (height, turn): ((f64, f64), (f64, f64)) = match index % 4 {
        0 => ((66.0, 76.0), (18.0, 28.0)),
        1 => ((36.0, 44.0), (-14.0, -7.0)),
        2 => ((62.0, 72.0), (-26.0, -16.0)),
        _ => ((46.0, 54.0), (7.0, 11.0)),
    };
    let height = random.between(height.0, height.1).to_radians();
    let turn = random.between(turn.0, turn.1).to_radians();
    let target = Vec3::new(
        -4.0 + 3.0 * random.normal(),
        0.5 * truth.motor.middle().y + 4.0 * random.normal(),
        20.0,
    );
    let away = Vec3::new(
        -height.cos() * turn.sin(),
        height.cos() * turn.cos(),
        height.sin(),
    );
    let eye = target + away * random.between(limits.distance.0, limits.distance.1);
    // Held so that the drive lies along the picture.
    looking_at(&eye, &target, &Vec3::z(), 0.08 * random.normal())
}

/// All surfaces, and which of them are the motor's pulley.
fn surfaces(
    truth: &AlignmentTruth,
    card: &Target,
    random: &mut Random,
) -> (Vec<Surface>, std::ops::Range<usize>) {
    let mut all = surroundings(truth, random);
    all.extend(pulley(&truth.driven, random));
    let first = all.len();
    all.extend(pulley(&truth.motor, random));
    let motor = first..all.len();
    all.push(span(truth, random));
    all.push(truth.card.surface(card, random.bits()));
    (all, motor)
}

/// Both flanges with their chamfers and faces, and the belt between them.
fn pulley(pulley: &Pulley, random: &mut Random) -> Vec<Surface> {
    let albedo = random.between(0.25, 0.6);
    let metal = drive::metal(random, albedo);
    let broken = Paint {
        albedo: albedo * random.between(0.8, 1.25),
        ..metal.clone()
    };
    let half = pulley.width / 2.0;
    let belt = pulley.radius - PROUD;
    let mut all = Vec::new();
    for turn in [0.0, PI] {
        // Turned about x, the frame of the far flange has its z into the flange, too.
        let world_from_disc = pulley.world_from_pulley
            * Pose::from_rotation_vector(Vec3::x() * turn, Vec3::zeros())
            * Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(0.0, 0.0, -half));
        let disc = Disc {
            world_from_disc,
            radius: pulley.radius,
            hole: 0.0,
            thickness: pulley.flange,
            chamfer: pulley.chamfer,
        };
        let back = Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(0.0, 0.0, pulley.flange));
        let inside = Form::flat(
            world_from_disc * back,
            Outline::Annulus(belt - 3.0, pulley.radius - pulley.chamfer),
        );
        all.push(Surface::new(disc.face(), metal.clone()));
        all.push(Surface::new(disc.chamfer(), broken.clone()));
        all.push(Surface::new(disc.rim(), metal.clone()));
        all.push(Surface::new(disc.far_chamfer(), broken.clone()));
        all.push(Surface::new(inside, metal.clone()));
    }
    let room = half - pulley.flange;
    let form = Form::turned(pulley.world_from_pulley, (-room, belt), (room, belt));
    all.push(Surface::new(form, drive::dark(random)));
    all
}

/// The upper span of the belt.
fn span(truth: &AlignmentTruth, random: &mut Random) -> Surface {
    let (from, to) = (truth.driven.middle(), truth.motor.middle());
    let (large, small) = (truth.driven.radius - PROUD, truth.motor.radius - PROUD);
    let line = to - from;
    let distance = line.yz().norm();
    // The belt's tangent dips from the large pulley to the small one.
    let slope = line.z.atan2(line.y) - ((large - small) / distance).asin();
    let up = Vec3::new(0.0, -slope.sin(), slope.cos());
    let (start, end) = (from + up * large, to + up * small);
    let x = (end - start).normalize();
    let y = (Vec3::x() - x * x.x).normalize();
    let half = truth.driven.width.min(truth.motor.width) / 2.0 - 2.2;
    let pose = frame(x, y, x.cross(&y), start);
    let outline = Outline::Rectangle(Vec2::new(0.0, -half), Vec2::new((end - start).norm(), half));
    Surface::new(Form::flat(pose, outline), drive::dark(random))
}

/// Plate, motor, tyre, axle, the block under the card, the bench.
fn surroundings(truth: &AlignmentTruth, random: &mut Random) -> Vec<Surface> {
    let reach = truth.motor.middle().y;
    let albedo = random.between(0.03, 0.12);
    let plate = drive::metal(random, albedo);
    let rubber = drive::dark(random);
    let at = |x: f64, y: f64| frame(Vec3::y(), Vec3::z(), Vec3::x(), Vec3::new(x, y, 0.0));
    let capsule = |x: f64| {
        Form::flat(
            at(x, 0.0),
            Outline::Capsule {
                reach,
                radius: PLATE_TOP,
            },
        )
    };
    let top = Form::flat(
        frame(Vec3::y(), -Vec3::x(), Vec3::z(), Vec3::new(0.0, 0.0, PLATE_TOP)),
        Outline::Rectangle(Vec2::zeros(), Vec2::new(reach, PLATE)),
    );
    let end = |y: f64| Form::turned(at(0.0, y), (-PLATE, PLATE_TOP), (0.0, PLATE_TOP));
    let tyre = 34.0;
    let sheet = truth.card.world_from_sheet;
    let under = Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(0.0, 0.0, 0.4 + truth.card.bow_mm.abs()));
    let bench = frame(Vec3::x(), Vec3::y(), Vec3::z(), Vec3::new(0.0, 0.0, -85.0));
    // Whoever measures an edge lays a dark cloth behind it; mounts are mostly anodised black.
    let cloth = drive::dark(random);
    let shadow = Shadow {
        middle: Vec3::new(10.0, 40.0, -85.0),
        reach: 75.0,
        depth: random.between(0.6, 0.95),
    };
    vec![
        Surface::new(capsule(0.0), plate.clone()),
        Surface::new(capsule(-PLATE), plate.clone()),
        Surface::new(top, plate.clone()),
        Surface::new(end(0.0), plate.clone()),
        Surface::new(end(reach), plate),
        Surface::new(
            Form::turned(at(0.0, 0.0), (tyre, 74.0), (tyre + 42.0, 74.0)),
            rubber.clone(),
        ),
        Surface::new(
            Form::flat(at(tyre, 0.0), Outline::Annulus(0.0, 74.0)),
            rubber.clone(),
        ),
        Surface::new(
            Form::turned(at(0.0, reach), (-75.0, 28.0), (-PLATE, 28.0)),
            drive::dark(random),
        ),
        Surface::new(
            Form::flat(
                sheet * under,
                Outline::Rectangle(Vec2::new(-5.0, -4.0), Vec2::new(69.0, 27.5)),
            ),
            drive::dark(random),
        ),
        Surface::new(Form::flat(bench, Outline::Endless), cloth).shaded(shadow),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_target::TargetSet;

    /// Offset and angles as told must be those of the pulleys as they stand.
    #[test]
    fn the_truth_is_that_of_the_pulleys() {
        let targets = TargetSet::built_in();
        let card = targets.by_name("mount-card").unwrap();
        for seed in 0..20 {
            let truth = AlignmentScene::random(card, &AlignmentLimits::default(), seed).truth;
            let (wheel, motor) = (&truth.driven, &truth.motor);
            // The motor's middle in the wheel pulley's frame: its z is what the motor stands further outboard.
            let seen = wheel.world_from_pulley.inverse().point(&motor.middle());
            assert!((truth.offset + seen.z).abs() < 1e-9);
            // The axis turned by both angles is the motor's.
            let between = Vec3::new(seen.x, seen.y, 0.0).normalize();
            let axis = motor.world_from_pulley.direction(&Vec3::z());
            let axis = wheel.world_from_pulley.inverse().direction(&axis);
            let leaning =
                Vec3::z() + between * truth.spread.tan() + between.cross(&Vec3::z()) * truth.twist.tan();
            assert!((leaning.normalize() - axis).norm() < 1e-9, "{leaning} {axis}");
            assert!(truth.offset.abs() < 1.7 && truth.spread.abs() < 0.02);
        }
    }
}

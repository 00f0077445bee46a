//! A made-up turn series: a pulley with a ring on its face, turned by hand between photos, and a card that stays.
//!
//! World frame: x along the axle away from the camera, z up, origin on the axle in the pulley's nominal face.

use crate::drive::{self, Disc, Sheet, frame, tilted};
use crate::form::{Form, Outline};
use crate::light::{Light, Shadow};
use crate::paint::Paint;
use crate::scene::{Scene, Surface};
use crate::shot::{Shot, looking_at};
use shimwright_camera::Camera;
use shimwright_geom::Random;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_target::Target;

/// Between what limits turn series are made.
#[derive(Clone, Copy, Debug)]
pub struct TurnLimits {
    /// Width of the pictures, px; they are 4 to 3.
    pub width: u32,
    /// Number of photos.
    pub photos: usize,
    /// Eccentricity, mm.
    pub eccentricity: (f64, f64),
    /// Largest tilt of the pulley against the axle, rad.
    pub tilt: f64,
    /// Chamfer leg of the rim, mm.
    pub chamfer: (f64, f64),
    /// Standard deviation of each print scale factor, of card and ring alike.
    pub scale_sigma: f64,
    /// How the axle's end moves between the photos.
    pub play: Play,
    /// Whether a hand holds the wheel's angle, to within a fifth of a degree, while it pushes and pulls.
    pub held: bool,
    /// From the camera to the pulley, mm.
    pub distance: (f64, f64),
    /// Whether the phone stands on a stand and the wheel is turned by equal steps, as well as a hand can.
    pub stand: bool,
}

impl Default for TurnLimits {
    fn default() -> Self {
        Self {
            width: 2816,
            photos: 12,
            eccentricity: (0.0, 0.5),
            tilt: 0.004,
            chamfer: (0.05, 0.25),
            scale_sigma: 0.0005,
            play: Play::default(),
            held: false,
            distance: (255.0, 310.0),
            stand: false,
        }
    }
}

/// How the axle's end lies in each photo against where it belongs, as standard deviations.
#[derive(Clone, Copy, Debug, Default)]
pub struct Play {
    /// Square to the axle, each way, mm.
    pub across: f64,
    /// Along the axle, mm.
    pub along: f64,
    /// How the axle leans, each way, rad.
    pub lean: f64,
}

impl Play {
    /// A place of the axle's end, as world-from-axle. What is not across is drawn from a source of its own: a seed's series
    /// stay what they were.
    fn place(&self, random: &mut Random, more: &mut Random) -> Pose {
        let across = Vec3::new(0.0, random.normal(), random.normal()) * self.across;
        let along = Vec3::x() * (self.along * more.normal());
        let lean = Vec3::new(0.0, more.normal(), more.normal()) * self.lean;
        Pose::from_rotation_vector(lean, across + along)
    }
}

/// What is true of a turn series. mm and rad; the ring's frame is that of the printed target, without its scale.
#[derive(Clone, Debug)]
pub struct TurnTruth {
    /// From the axle to the middle of the rim, square to the axle, in the ring's frame.
    pub eccentricity: Vec3,
    /// Direction of the axle in the ring's frame, into the paper.
    pub axis: Vec3,
    /// A point of the axle in the ring's frame.
    pub axis_point: Vec3,
    /// Normal of the rim's plane in the ring's frame, into the paper.
    pub normal: Vec3,
    /// Angle between the two.
    pub tilt: f64,
    /// Full axial run-out at the rim's outer radius: 2 r tan(tilt).
    pub axial_runout: f64,
    /// Outer diameter of the rim.
    pub rim_diameter: f64,
    /// Chamfer leg of the rim.
    pub rim_chamfer: f64,
    /// By how much the wheel was turned in each photo, right-handed about world x (clockwise as the camera sees it).
    pub angles: Vec<f64>,
    /// The card.
    pub card: Sheet,
    /// The ring, on the wheel before it is turned.
    pub ring: Sheet,
}

impl TurnTruth {
    /// Direction of the eccentricity in the ring's frame, rad, counter-clockwise from its x axis seen from its
    /// printed side (on which y points down).
    pub fn direction(&self) -> f64 {
        (-self.eccentricity.y).atan2(self.eccentricity.x)
    }
}

/// One photo of a series: the scene as it stood then.
#[derive(Clone, Debug)]
pub struct TurnPhoto {
    /// What was there.
    pub scene: Scene,
    /// The photo.
    pub shot: Shot,
    /// Frame of the rim's face, z away from the camera.
    pub world_from_rim: Pose,
    /// Frame of the printed ring, its middle the origin, z into the paper.
    pub world_from_ring: Pose,
    /// Radius of the rim's face, inside its chamfer.
    pub face_radius: f64,
}

impl TurnPhoto {
    /// Points of the rim's face edge all around, `count` of them, evenly from an angle (rad).
    pub fn rim_points(&self, from: f64, count: usize) -> Vec<Vec3> {
        (0..count)
            .map(|k| {
                let angle = from + std::f64::consts::TAU * k as f64 / count as f64;
                drive::on_circle(&self.world_from_rim, self.face_radius, angle)
            })
            .collect()
    }
}

/// A turn series.
#[derive(Clone, Debug)]
pub struct TurnScene {
    /// The photos.
    pub photos: Vec<TurnPhoto>,
    /// Their camera before it focused for each.
    pub camera: Camera,
    /// What is true.
    pub truth: TurnTruth,
}

/// Thickness of the flange and of the paper in front of it, mm.
const FLANGE: f64 = 1.5;
const PAPER: f64 = 0.25;

/// How far a step of a hand that means them all equal is off, rad.
const STEP_SIGMA: f64 = 0.02;
/// How far a hand that holds the wheel's angle lets it turn, rad.
const HELD_SIGMA: f64 = 0.0035;

impl TurnScene {
    /// A series of its own for each seed, with the definitions of its card and its ring.
    pub fn random(card: &Target, ring: &Target, limits: &TurnLimits, seed: u64) -> Self {
        let mut random = Random::new(seed ^ 0x7475_726e);
        let mut more = Random::new(seed ^ 0x706c_6179);
        let body = Body::random(limits, &mut random);
        let card_sheet = card_below(limits, &mut random);
        let fixed = surroundings(&card_sheet, card, &mut random);
        let wheel = wheel(&body, ring, &mut random);
        let light = drive::light(&mut random, &(-Vec3::x()), &Vec3::z());
        let camera = drive::phone(&mut random, limits.width);
        let first = random.between(0.0, std::f64::consts::TAU);
        let step = std::f64::consts::TAU / limits.photos.max(1) as f64;
        let mut uneven = |k: usize| match (limits.held, limits.stand) {
            (true, _) => first + HELD_SIGMA * random.normal(),
            (false, true) => first + step * k as f64 + STEP_SIGMA * random.normal(),
            (false, false) => first + step * (k as f64 + random.between(-0.4, 0.4)),
        };
        let angles: Vec<f64> = (0..limits.photos).map(&mut uneven).collect();
        let still = limits.stand.then(|| view(limits, &mut random));
        let photos = angles
            .iter()
            .map(|&angle| {
                let about = Pose::from_rotation_vector(Vec3::x() * angle, Vec3::zeros());
                let turned = limits.play.place(&mut random, &mut more) * about;
                TurnPhoto {
                    scene: scene(&fixed, &wheel, &turned, light),
                    shot: Shot {
                        camera: camera.with_focal_factor(1.0 + 0.003 * random.normal()),
                        camera_from_world: still.unwrap_or_else(|| view(limits, &mut random)),
                        sensor: drive::sensor(&mut random, limits.width),
                    },
                    world_from_rim: turned * body.wheel_from_rim,
                    world_from_ring: turned * body.ring.world_from_sheet,
                    face_radius: body.radius - body.chamfer,
                }
            })
            .collect();
        let truth = body.truth(angles, card_sheet);
        Self {
            photos,
            camera,
            truth,
        }
    }
}

/// The pulley with its ring, in the wheel's frame: the world's before the wheel is turned.
struct Body {
    wheel_from_rim: Pose,
    ring: Sheet,
    radius: f64,
    chamfer: f64,
}

impl Body {
    fn random(limits: &TurnLimits, random: &mut Random) -> Self {
        let around = |random: &mut Random| {
            let (sin, cos) = random.between(0.0, std::f64::consts::TAU).sin_cos();
            Vec3::new(0.0, cos, sin)
        };
        let away = around(random) * random.between(limits.eccentricity.0, limits.eccentricity.1);
        let normal = tilted(&Vec3::x(), &around(random), limits.tilt * random.unit());
        // Seen from the camera, x points right and y down, as a printed target's frame does.
        let down = (-Vec3::z() + normal * normal.z).normalize();
        let wheel_from_rim = frame(down.cross(&normal), down, normal, away);
        let turn = random.between(0.0, std::f64::consts::TAU);
        let lean = Vec3::new(0.002 * random.normal(), 0.002 * random.normal(), 0.0);
        let at = Vec3::new(random.normal(), random.normal(), -PAPER);
        let rim_from_ring = Pose::from_rotation_vector(Vec3::z() * turn, at).nudged(&lean, &Vec3::zeros());
        let scale = Vec2::new(
            1.0 + limits.scale_sigma * random.normal(),
            1.0 + limits.scale_sigma * random.normal(),
        );
        Self {
            wheel_from_rim,
            ring: Sheet {
                world_from_sheet: wheel_from_rim * rim_from_ring,
                scale,
                growth_mm: random.between(0.0, 0.04),
                bow_mm: 0.0,
            },
            radius: random.between(47.0, 52.0),
            chamfer: random.between(limits.chamfer.0, limits.chamfer.1),
        }
    }

    fn truth(&self, angles: Vec<f64>, card: Sheet) -> TurnTruth {
        let ring_from_wheel = self.ring.world_from_sheet.inverse();
        let centre = self.wheel_from_rim.translation();
        let normal = self.wheel_from_rim.direction(&Vec3::z());
        let tilt = normal.x.clamp(-1.0, 1.0).acos();
        TurnTruth {
            eccentricity: ring_from_wheel.direction(&Vec3::new(0.0, centre.y, centre.z)),
            axis: ring_from_wheel.direction(&Vec3::x()),
            axis_point: ring_from_wheel.point(&Vec3::zeros()),
            normal: ring_from_wheel.direction(&normal),
            tilt,
            axial_runout: 2.0 * self.radius * tilt.tan(),
            rim_diameter: 2.0 * self.radius,
            rim_chamfer: self.chamfer,
            angles,
            card,
            ring: self.ring,
        }
    }
}

/// A card on a stand below the wheel, facing the camera but for a degree or two.
fn card_below(limits: &TurnLimits, random: &mut Random) -> Sheet {
    let lean = Vec3::new(
        0.02 * random.normal(),
        0.02 * random.normal(),
        0.02 * random.normal(),
    );
    let at = Vec3::new(
        -8.0 + 2.0 * random.normal(),
        33.0 + 3.0 * random.normal(),
        -93.0 + 2.0 * random.normal(),
    );
    let level = frame(-Vec3::y(), -Vec3::z(), Vec3::x(), at);
    Sheet {
        world_from_sheet: level.nudged(&lean, &Vec3::zeros()),
        scale: Vec2::new(
            1.0 + limits.scale_sigma * random.normal(),
            1.0 + limits.scale_sigma * random.normal(),
        ),
        growth_mm: random.between(0.0, 0.04),
        bow_mm: 0.03 * random.normal(),
    }
}

fn view(limits: &TurnLimits, random: &mut Random) -> Pose {
    let target = Vec3::new(0.0, 4.0 * random.normal(), -28.0 + 4.0 * random.normal());
    let (lean, turn) = (
        random.between(0.0, 12f64.to_radians()),
        random.between(0.0, std::f64::consts::TAU),
    );
    let away = Vec3::new(-lean.cos(), lean.sin() * turn.cos(), lean.sin() * turn.sin());
    let eye = target + away * random.between(limits.distance.0, limits.distance.1);
    looking_at(&eye, &target, &Vec3::z(), 0.06 * random.normal())
}

/// The scene with the wheel turned.
fn scene(fixed: &[Surface], wheel: &[Surface], turned: &Pose, light: Light) -> Scene {
    let turning = wheel.iter().map(|surface| Surface {
        form: surface.form.moved(turned),
        ..surface.clone()
    });
    Scene {
        surfaces: fixed.iter().cloned().chain(turning).collect(),
        light,
        background: 0.4,
    }
}

/// Flange with groove and screws, ring, bolt, belt and tyre, in the wheel's frame.
fn wheel(body: &Body, ring: &Target, random: &mut Random) -> Vec<Surface> {
    let albedo = random.between(0.25, 0.6);
    let metal = drive::metal(random, albedo);
    let broken = Paint {
        albedo: albedo * random.between(0.8, 1.25),
        ..metal.clone()
    };
    let disc = Disc {
        world_from_disc: body.wheel_from_rim,
        radius: body.radius,
        hole: 0.0,
        thickness: FLANGE,
        chamfer: body.chamfer,
    };
    let before = |depth: f64, x: f64, y: f64| {
        body.wheel_from_rim * Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(x, y, -depth))
    };
    let annulus = |pose: Pose, inner: f64, outer: f64| Form::flat(pose, Outline::Annulus(inner, outer));
    let rubber = drive::dark(random);
    let axle = frame(-Vec3::y(), -Vec3::z(), Vec3::x(), Vec3::zeros());
    let belt = body.radius - 0.6;
    let tyre = 14.0;
    let mut all = vec![
        Surface::new(disc.face(), metal.clone()),
        Surface::new(disc.chamfer(), broken),
        Surface::new(disc.rim(), metal.clone()),
        Surface::new(Form::turned(axle, (FLANGE, belt), (tyre, belt)), rubber.clone()),
        Surface::new(
            annulus(
                axle * Pose::from_rotation_vector(Vec3::zeros(), Vec3::z() * tyre),
                0.0,
                76.0,
            ),
            rubber,
        ),
        Surface::new(
            annulus(before(PAPER + 0.5, 0.0, 0.0), 0.0, 9.0),
            drive::metal(random, 0.3),
        ),
        body.ring.surface(ring, random.bits()),
    ];
    let groove = body.radius - random.between(2.5, 5.0);
    if random.chance(0.5) {
        all.push(Surface::new(
            annulus(before(1e-3, 0.0, 0.0), groove, groove + 0.2),
            Paint::plain(0.05),
        ));
    }
    for k in 0..6 {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 6.0).sin_cos();
        let form = annulus(before(1e-3, 39.0 * cos, 39.0 * sin), 0.0, 3.2);
        all.push(Surface::new(form, Paint::plain(0.04)));
    }
    all
}

/// The card on its stand, the bench, the wall behind.
fn surroundings(sheet: &Sheet, card: &Target, random: &mut Random) -> Vec<Surface> {
    let stand = Pose::from_rotation_vector(Vec3::zeros(), Vec3::z() * 0.6);
    let bench = frame(Vec3::x(), Vec3::y(), Vec3::z(), Vec3::new(0.0, 0.0, -145.0));
    let wall = frame(Vec3::y(), Vec3::z(), Vec3::x(), Vec3::new(330.0, 0.0, 0.0));
    let shadow = Shadow {
        middle: Vec3::new(10.0, 0.0, -145.0),
        reach: 70.0,
        depth: 0.6,
    };
    vec![
        sheet.surface(card, random.bits()),
        Surface::new(
            Form::flat(
                sheet.world_from_sheet * stand,
                Outline::Rectangle(Vec2::new(-5.0, -6.0), Vec2::new(69.0, 60.0)),
            ),
            drive::dark(random),
        ),
        Surface::new(
            Form::flat(bench, Outline::Endless),
            Paint::grained(random.between(0.1, 0.5), 0.12, Vec2::new(6.0, 1.5), random.bits()),
        )
        .shaded(shadow),
        Surface::new(
            Form::flat(wall, Outline::Endless),
            Paint::grained(random.between(0.3, 0.6), 0.03, Vec2::new(9.0, 9.0), random.bits()),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_target::TargetSet;

    /// What the truth says in the ring's frame must be what the photos show in the world's: the rim's middle turns
    /// about the axle with the eccentricity for its radius, and stands where ring and wheel angle put it.
    #[test]
    fn the_truth_agrees_with_the_photos() {
        let targets = TargetSet::built_in();
        let (card, ring) = (
            targets.by_name("mount-card").unwrap(),
            targets.by_name("hub-ring").unwrap(),
        );
        for seed in 0..20 {
            let made = TurnScene::random(card, ring, &TurnLimits::default(), seed);
            let truth = &made.truth;
            for (photo, angle) in made.photos.iter().zip(&truth.angles) {
                let turned = Pose::from_rotation_vector(Vec3::x() * *angle, Vec3::zeros());
                let world_from_ring = turned * truth.ring.world_from_sheet;
                let centre = photo.world_from_rim.translation();
                let away = Vec3::new(0.0, centre.y, centre.z);
                assert!((away.norm() - truth.eccentricity.norm()).abs() < 1e-9);
                assert!((world_from_ring.direction(&truth.eccentricity) - away).norm() < 1e-9);
                assert!((world_from_ring.direction(&truth.axis) - Vec3::x()).norm() < 1e-9);
                let on_axle = world_from_ring.point(&truth.axis_point);
                assert!(on_axle.y.abs() < 1e-9 && on_axle.z.abs() < 1e-9);
                // A dial indicator on the face at the outer radius.
                let reach = (0..720).map(|k| {
                    let angle = f64::from(k) * std::f64::consts::TAU / 720.0;
                    let r = truth.rim_diameter / 2.0;
                    drive::on_circle(&photo.world_from_rim, r, angle).x
                });
                let (low, high) = reach.fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(x), h.max(x)));
                assert!((high - low - truth.axial_runout).abs() < 1e-4);
            }
        }
    }
}

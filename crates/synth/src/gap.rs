//! A made-up gap: a mount plate with a card on it, beside the flange of a driven pulley.
//!
//! World frame: x along the axle away from the mount, z up, origin on the axle in the plate's face.

use crate::drive::{self, Disc, Sheet, frame, frame_about, tilted};
use crate::form::{Form, Outline};
use crate::light::{Rim, Shadow, Wall};
use crate::paint::Paint;
use crate::scene::{Scene, Surface};
use crate::shot::{Shot, looking_at};
use shimwright_camera::Camera;
use shimwright_geom::Random;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_target::Target;

/// Between what limits gap scenes are made.
#[derive(Clone, Copy, Debug)]
pub struct GapLimits {
    /// Width of the pictures, px; they are 4 to 3.
    pub width: u32,
    /// Number of photos.
    pub photos: usize,
    /// Gap at the axle, mm.
    pub gap: (f64, f64),
    /// Largest tilt of the pulley, rad.
    pub tilt: f64,
    /// Chamfer legs, mm.
    pub chamfer: (f64, f64),
    /// Standard deviation of each print scale factor.
    pub scale_sigma: f64,
    /// Standard deviation of the bow of the card, mm.
    pub bow_sigma: f64,
    /// From the camera to the edges, mm.
    pub distance: (f64, f64),
}

impl Default for GapLimits {
    fn default() -> Self {
        Self {
            width: 2816,
            photos: 3,
            gap: (0.3, 3.0),
            tilt: 0.006,
            chamfer: (0.05, 0.25),
            scale_sigma: 0.0005,
            bow_sigma: 0.04,
            distance: (180.0, 270.0),
        }
    }
}

/// What is true of a gap scene. World frame, mm.
#[derive(Clone, Copy, Debug)]
pub struct GapTruth {
    /// Smallest distance along the axle from the straight edge of the mount's face to the rim's face, over the part
    /// of the edge that lies inside the rim.
    pub gap: f64,
    /// The same over the whole of both faces, hidden parts included.
    pub gap_of_faces: f64,
    /// The straight edge of the mount's face from end to end.
    pub mount_edge: [Vec3; 2],
    /// Frame of the rim's face: its centre, z away from the mount.
    pub world_from_rim: Pose,
    /// Radius of the rim's face, inside its chamfer.
    pub face_radius: f64,
    /// Outer diameter of the rim.
    pub rim_diameter: f64,
    /// Chamfer leg of the mount.
    pub mount_chamfer: f64,
    /// Chamfer leg of the rim.
    pub rim_chamfer: f64,
    /// The card.
    pub card: Sheet,
}

/// A gap scene with the photos to be taken of it.
#[derive(Clone, Debug)]
pub struct GapScene {
    /// What is there.
    pub scene: Scene,
    /// The photos.
    pub shots: Vec<Shot>,
    /// Their camera before it focused for each.
    pub camera: Camera,
    /// What is true.
    pub truth: GapTruth,
}

/// Thickness of the plate, mm.
const PLATE: f64 = 8.0;
/// Thickness of the flange, mm.
const FLANGE: f64 = 1.5;

/// Lengths of the drive, mm.
struct Sizes {
    gap: f64,
    plate: f64,
    reach: f64,
    rim: f64,
    mount_chamfer: f64,
    rim_chamfer: f64,
}

impl GapScene {
    /// A scene of its own for each seed. `card` is the definition of the card on the mount.
    pub fn random(card: &Target, limits: &GapLimits, seed: u64) -> Self {
        let mut random = Random::new(seed);
        let sizes = Sizes {
            gap: random.between(limits.gap.0, limits.gap.1),
            plate: random.between(34.0, 38.0),
            reach: random.between(85.0, 105.0),
            rim: random.between(47.0, 52.0),
            mount_chamfer: random.between(limits.chamfer.0, limits.chamfer.1),
            rim_chamfer: random.between(limits.chamfer.0, limits.chamfer.1),
        };
        let truth = truth(&sizes, limits, &mut random);
        let scene = Scene {
            surfaces: surfaces(&sizes, &truth, card, &mut random),
            light: drive::light(&mut random, &Vec3::z(), &Vec3::x()),
            background: 0.1,
        };
        let camera = drive::phone(&mut random, limits.width);
        let shots = (0..limits.photos)
            .map(|k| {
                let camera_from_world = view(k, &sizes, limits, &mut random);
                Shot {
                    // Phones focus anew for every photo.
                    camera: camera.with_focal_factor(1.0 + 0.003 * random.normal()),
                    camera_from_world,
                    sensor: drive::sensor(&mut random, limits.width),
                }
            })
            .collect();
        Self {
            scene,
            shots,
            camera,
            truth,
        }
    }

    /// Points of the mount's edge between two distances along it, mm from where its straight part begins above the axle.
    pub fn mount_points(&self, range: (f64, f64), count: usize) -> Vec<Vec3> {
        let [from, to] = self.truth.mount_edge;
        let along = (to - from).normalize();
        spread(range, count).map(|s| from + along * s).collect()
    }

    /// Points of the rim's face edge between two angles, rad, from the plate's direction (world y) upward.
    pub fn rim_points(&self, range: (f64, f64), count: usize) -> Vec<Vec3> {
        let truth = &self.truth;
        spread(range, count)
            .map(|angle| drive::on_circle(&truth.world_from_rim, truth.face_radius, angle))
            .collect()
    }
}

fn spread(range: (f64, f64), count: usize) -> impl Iterator<Item = f64> {
    let last = (count.max(2) - 1) as f64;
    (0..count).map(move |i| range.0 + (range.1 - range.0) * i as f64 / last)
}

fn truth(sizes: &Sizes, limits: &GapLimits, random: &mut Random) -> GapTruth {
    let tilt = limits.tilt * random.unit();
    let (sin, cos) = random.between(0.0, std::f64::consts::TAU).sin_cos();
    let normal = tilted(&Vec3::x(), &Vec3::new(0.0, cos, sin), tilt);
    let centre = Vec3::new(sizes.gap, 0.2 * random.normal(), 0.2 * random.normal());
    // y of the frame is as near to up as may be, x to the plate's direction.
    let up = (Vec3::z() - normal * normal.z).normalize();
    let world_from_rim = frame(up.cross(&normal), up, normal, centre);
    let face_radius = sizes.rim - sizes.rim_chamfer;
    let height = sizes.plate - sizes.mount_chamfer;
    let gap_at = |y: f64, z: f64| {
        let d = Vec3::new(0.0, y, z) - centre;
        -d.dot(&normal) / normal.x
    };
    let last = (face_radius * face_radius - height * height).sqrt();
    let gap = gap_at(0.0, height).min(gap_at(last, height));
    // The gap is linear over the faces, so it is smallest on the border of what they share.
    let border = (0..3600).map(|k| {
        let (sin, cos) = (f64::from(k) * std::f64::consts::TAU / 3600.0).sin_cos();
        let far = if cos > 0.0 {
            height / sin.abs().max(1e-9)
        } else {
            height
        };
        let r = far.min(face_radius);
        gap_at(r * cos, r * sin)
    });
    GapTruth {
        gap,
        gap_of_faces: border.fold(gap, f64::min),
        mount_edge: [Vec3::new(0.0, 0.0, height), Vec3::new(0.0, sizes.reach, height)],
        world_from_rim,
        face_radius,
        rim_diameter: 2.0 * sizes.rim,
        mount_chamfer: sizes.mount_chamfer,
        rim_chamfer: sizes.rim_chamfer,
        card: card_on_block(sizes, limits, random),
    }
}

/// The card lies on a block behind the plate, level but for a degree or two.
fn card_on_block(sizes: &Sizes, limits: &GapLimits, random: &mut Random) -> Sheet {
    let turn = random.between(-0.06, 0.06);
    let lean = Vec3::new(0.015 * random.normal(), 0.015 * random.normal(), 0.0);
    let level = frame(
        Vec3::y(),
        Vec3::x(),
        -Vec3::z(),
        Vec3::new(
            -38.0 + 1.5 * random.normal(),
            -28.0 + 4.0 * random.normal(),
            sizes.plate + random.between(3.5, 6.0),
        ),
    );
    Sheet {
        world_from_sheet: level.nudged(&(lean + Vec3::z() * turn), &Vec3::zeros()),
        scale: Vec2::new(
            1.0 + limits.scale_sigma * random.normal(),
            1.0 + limits.scale_sigma * random.normal(),
        ),
        growth_mm: random.between(0.0, 0.04),
        bow_mm: limits.bow_sigma * random.normal(),
    }
}

fn view(index: usize, sizes: &Sizes, limits: &GapLimits, random: &mut Random) -> Pose {
    // From the left, from the right, from lower down, and around again: as somebody would walk about it.
    let (turn, height): ((f64, f64), (f64, f64)) = match index % 3 {
        0 => ((8.0, 22.0), (46.0, 60.0)),
        1 => ((-14.0, -5.0), (50.0, 64.0)),
        _ => ((-3.0, 10.0), (35.0, 46.0)),
    };
    let turn = random.between(turn.0, turn.1).to_radians();
    let height = random.between(height.0, height.1).to_radians();
    let target = Vec3::new(
        -16.0 + 5.0 * random.normal(),
        8.0 + 6.0 * random.normal(),
        sizes.plate,
    );
    let away = Vec3::new(
        -height.cos() * turn.sin(),
        -height.cos() * turn.cos(),
        height.sin(),
    );
    let eye = target + away * random.between(limits.distance.0, limits.distance.1);
    looking_at(&eye, &target, &Vec3::z(), 0.08 * random.normal())
}

fn surfaces(sizes: &Sizes, truth: &GapTruth, card: &Target, random: &mut Random) -> Vec<Surface> {
    let mut all = plate(sizes, truth, random);
    all.extend(flange(sizes, truth, random));
    all.extend(surroundings(sizes, truth, random));
    all.push(truth.card.surface(card, random.bits()));
    all
}

/// The plate: face, chamfer and top of its straight upper edge and of its rounded ends.
fn plate(sizes: &Sizes, truth: &GapTruth, random: &mut Random) -> Vec<Surface> {
    let albedo = random.between(0.15, 0.6);
    let metal = drive::metal(random, albedo);
    let broken = Paint {
        albedo: albedo * random.between(0.8, 1.25),
        ..metal.clone()
    };
    let (r, c) = (sizes.plate, sizes.mount_chamfer);
    let normal = truth.world_from_rim.direction(&Vec3::z());
    let centre = truth.world_from_rim.translation();
    let wall = Wall {
        face: centre,
        axis: normal,
        rim: Rim::Round(centre, sizes.rim),
        out: Vec3::z(),
    };
    let face = frame(Vec3::y(), Vec3::z(), Vec3::x(), Vec3::zeros());
    let capsule = |x: f64| {
        Form::flat(
            face.nudged(&Vec3::zeros(), &Vec3::new(x, 0.0, 0.0)),
            Outline::Capsule {
                reach: sizes.reach,
                radius: r - c,
            },
        )
    };
    // A stretch of the upper edge between two places of its section (x, z).
    let stretch = |from: (f64, f64), to: (f64, f64)| {
        let along = Vec3::new(to.0 - from.0, 0.0, to.1 - from.1);
        let width = along.norm();
        let (x, y) = (Vec3::y(), along / width);
        let pose = frame(x, y, x.cross(&y), Vec3::new(from.0, 0.0, from.1));
        Form::flat(
            pose,
            Outline::Rectangle(Vec2::zeros(), Vec2::new(sizes.reach, width)),
        )
    };
    let ends = [
        frame(-Vec3::z(), Vec3::y(), Vec3::x(), Vec3::zeros()),
        frame(Vec3::z(), -Vec3::y(), Vec3::x(), Vec3::new(0.0, sizes.reach, 0.0)),
    ];
    let end = |world_from_turned: Pose, from: (f64, f64), to: (f64, f64)| Form::Turned {
        world_from_turned,
        from,
        to,
        half: true,
    };
    let section = [(0.0, r - c), (-c, r), (c - PLATE, r), (-PLATE, r - c)];
    let mut all = vec![
        Surface::new(capsule(0.0), metal.clone()).beside(wall),
        Surface::new(capsule(-PLATE), metal.clone()),
    ];
    for (i, pair) in section.windows(2).enumerate() {
        let paint = if i == 1 { &metal } else { &broken };
        let forms = [
            stretch(pair[0], pair[1]),
            end(ends[0], pair[0], pair[1]),
            end(ends[1], pair[0], pair[1]),
        ];
        for form in forms {
            all.push(Surface::new(form, paint.clone()).beside(wall));
        }
    }
    all
}

fn flange(sizes: &Sizes, truth: &GapTruth, random: &mut Random) -> Vec<Surface> {
    let albedo = random.between(0.2, 0.6);
    let metal = drive::metal(random, albedo);
    let broken = Paint {
        albedo: albedo * random.between(0.8, 1.25),
        ..metal.clone()
    };
    let disc = Disc {
        world_from_disc: truth.world_from_rim,
        radius: sizes.rim,
        hole: 0.0,
        thickness: FLANGE,
        chamfer: sizes.rim_chamfer,
    };
    let wall = Wall {
        face: Vec3::zeros(),
        axis: -Vec3::x(),
        rim: Rim::Straight(Vec3::new(0.0, 0.0, sizes.plate)),
        out: Vec3::z(),
    };
    let mut all = vec![
        Surface::new(disc.face(), metal.clone()).beside(wall),
        Surface::new(disc.chamfer(), broken.clone()).beside(wall),
        Surface::new(disc.rim(), metal.clone()),
        Surface::new(disc.far_chamfer(), broken),
    ];
    // Many flanges have a turned groove near their edge, which is nobody's rim.
    if random.chance(0.5) {
        let at = sizes.rim - random.between(2.5, 5.0);
        let z = truth.world_from_rim.direction(&Vec3::z());
        let before = truth.world_from_rim.nudged(&Vec3::zeros(), &(z * -1e-3));
        let form = Form::flat(before, Outline::Annulus(at, at + 0.2));
        all.push(Surface::new(form, Paint::plain(0.05)).beside(wall));
    }
    all
}

/// Belt, tyre, axle, motor, the block under the card, the bench.
fn surroundings(sizes: &Sizes, truth: &GapTruth, random: &mut Random) -> Vec<Surface> {
    let pulley = truth.world_from_rim;
    let axle = frame_about(&Vec3::x(), Vec3::zeros());
    let motor = frame_about(&Vec3::x(), Vec3::new(0.0, sizes.reach, 0.0));
    let rubber = drive::dark(random);
    let tyre = sizes.gap + 24.0;
    let belt = FLANGE + 15.0;
    let annulus = |x: f64, inner: f64, outer: f64| {
        Form::flat(
            axle.nudged(&Vec3::zeros(), &Vec3::new(x, 0.0, 0.0)),
            Outline::Annulus(inner, outer),
        )
    };
    let axle_paint = drive::metal(random, 0.5);
    let mut all = vec![
        Surface::new(
            Form::turned(pulley, (FLANGE, sizes.rim - 0.6), (belt, sizes.rim - 0.6)),
            rubber.clone(),
        ),
        Surface::new(
            Form::turned(axle, (tyre, 78.0), (tyre + 42.0, 78.0)),
            rubber.clone(),
        ),
        Surface::new(annulus(tyre, 0.0, 78.0), rubber.clone()),
        Surface::new(Form::turned(axle, (-160.0, 12.0), (-PLATE, 12.0)), axle_paint),
        // The boss that the pulley runs on.
        Surface::new(
            Form::turned(axle, (0.0, 19.0), (sizes.gap + 1.0, 19.0)),
            rubber.clone(),
        ),
        Surface::new(
            Form::turned(motor, (-75.0, 30.0), (-PLATE, 30.0)),
            drive::dark(random),
        ),
    ];
    all.extend(block(sizes, truth, random));
    let grain = drive::frame(Vec3::x(), Vec3::y(), Vec3::z(), Vec3::new(0.0, 0.0, -85.0));
    let bench = Paint::grained(
        random.between(0.1, 0.5),
        0.12,
        Vec2::new(random.between(4.0, 20.0), 1.5),
        random.bits(),
    );
    // Little light comes through the drive to the bench under it.
    let shadow = Shadow {
        middle: Vec3::new(10.0, 10.0, -85.0),
        reach: 75.0,
        depth: random.between(0.6, 0.95),
    };
    all.push(Surface::new(Form::flat(grain, Outline::Endless), bench).shaded(shadow));
    all
}

/// The block that carries the card: its top just below the card, and the sides that can be seen.
fn block(sizes: &Sizes, truth: &GapTruth, random: &mut Random) -> Vec<Surface> {
    let paint = drive::dark(random);
    // Its own frame is the card's: x along the card, y across it, z down.
    let pose = truth.card.world_from_sheet;
    let (low, high) = (Vec2::new(-5.0, -4.0), Vec2::new(69.0, 27.5));
    let (top, foot) = (
        0.4 + truth.card.bow_mm.abs(),
        truth.card.world_from_sheet.translation().z - sizes.plate + 20.0,
    );
    let side = |x: Vec3, corner: Vec2, width: f64| {
        let local = frame(
            x,
            Vec3::z(),
            x.cross(&Vec3::z()),
            Vec3::new(corner.x, corner.y, top),
        );
        Form::flat(
            pose * local,
            Outline::Rectangle(Vec2::zeros(), Vec2::new(width, foot)),
        )
    };
    let level = Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(0.0, 0.0, top));
    let (along, across) = (high.x - low.x, high.y - low.y);
    let forms = [
        Form::flat(pose * level, Outline::Rectangle(low, high)),
        side(Vec3::x(), low, along),
        side(Vec3::y(), low, across),
        side(Vec3::x(), Vec2::new(low.x, high.y), along),
    ];
    forms.map(|form| Surface::new(form, paint.clone())).into()
}

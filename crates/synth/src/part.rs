//! Made-up loose parts on the bench sheet: a ring, as a spacer is, and a block with straight sides.
//!
//! World frame: the sheet's, x right, y down, z into the paper, without the print's own scale.

use crate::drive::{self, Disc, Sheet};
use crate::form::{Form, Outline};
use crate::light::Shadow;
use crate::paint::Paint;
use crate::scene::{Scene, Surface};
use crate::shot::{Shot, looking_at};
use shimwright_camera::Camera;
use shimwright_geom::Random;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_target::Target;

/// Between what limits part scenes are made.
#[derive(Clone, Copy, Debug)]
pub struct PartLimits {
    /// Width of the pictures, px; they are 4 to 3.
    pub width: u32,
    /// Number of photos.
    pub photos: usize,
    /// Outer diameter of the ring, mm.
    pub diameter: (f64, f64),
    /// Height of ring and block, mm.
    pub height: (f64, f64),
    /// Chamfer legs, mm.
    pub chamfer: (f64, f64),
    /// How far the middle of the hole lies from the middle of the ring, mm.
    pub offset: (f64, f64),
    /// Standard deviation of each print scale factor.
    pub scale_sigma: f64,
}

impl Default for PartLimits {
    fn default() -> Self {
        Self {
            width: 2816,
            photos: 3,
            diameter: (18.0, 60.0),
            height: (2.0, 12.0),
            chamfer: (0.05, 0.3),
            offset: (0.0, 0.3),
            scale_sigma: 0.0005,
        }
    }
}

/// What is true of the parts. mm, world frame.
#[derive(Clone, Copy, Debug)]
pub struct PartTruth {
    /// Outer diameter of the ring.
    pub outer_diameter: f64,
    /// Diameter of its hole.
    pub inner_diameter: f64,
    /// From the middle of the ring to the middle of its hole.
    pub centre_offset: Vec2,
    /// Middle of the ring on the sheet.
    pub ring_at: Vec2,
    /// Distance between the two long sides of the block.
    pub width: f64,
    /// Length of its long sides.
    pub length: f64,
    /// Frame of the block's upper face: origin in its middle, x along its long sides, z down.
    pub world_from_block: Pose,
    /// Height of both parts above the paper.
    pub height: f64,
    /// Chamfer leg of all upper edges.
    pub chamfer: f64,
    /// The sheet.
    pub sheet: Sheet,
}

/// A part scene with the photos to be taken of it.
#[derive(Clone, Debug)]
pub struct PartScene {
    /// What is there.
    pub scene: Scene,
    /// The photos.
    pub shots: Vec<Shot>,
    /// Their camera before it focused for each.
    pub camera: Camera,
    /// What is true.
    pub truth: PartTruth,
}

impl PartScene {
    /// A scene of its own for each seed. `sheet` is the definition of the bench sheet.
    pub fn random(sheet: &Target, limits: &PartLimits, seed: u64) -> Self {
        let mut random = Random::new(seed ^ 0x7061_7274);
        let truth = truth(sheet, limits, &mut random);
        let scene = Scene {
            surfaces: surfaces(sheet, &truth, &mut random),
            light: drive::light(&mut random, &(-Vec3::z()), &Vec3::x()),
            background: 0.2,
        };
        let camera = drive::phone(&mut random, limits.width);
        let (low, high) = sheet.pattern_box();
        let middle = (low + high) / 2.0;
        let shots = (0..limits.photos)
            .map(|k| Shot {
                camera: camera.with_focal_factor(1.0 + 0.003 * random.normal()),
                camera_from_world: view(k, &middle, &mut random),
                sensor: drive::sensor(&mut random, limits.width),
            })
            .collect();
        Self {
            scene,
            shots,
            camera,
            truth,
        }
    }

    /// Points of the ring's upper outer edge (the face's line, inside the chamfer), evenly from an angle (rad).
    pub fn outer_points(&self, from: f64, count: usize) -> Vec<Vec3> {
        let t = &self.truth;
        self.circle(t.ring_at, t.outer_diameter / 2.0 - t.chamfer, from, count)
    }

    /// Points of the hole's upper edge (the face's line, outside the chamfer), evenly from an angle (rad).
    pub fn inner_points(&self, from: f64, count: usize) -> Vec<Vec3> {
        let t = &self.truth;
        self.circle(
            t.ring_at + t.centre_offset,
            t.inner_diameter / 2.0 + t.chamfer,
            from,
            count,
        )
    }

    /// The ends of the upper face's two long edges (inside their chamfers), `share` of the way from their middles to
    /// their corners.
    pub fn side_points(&self, share: f64) -> [[Vec3; 2]; 2] {
        let t = &self.truth;
        let (x, y) = (share * t.length / 2.0, t.width / 2.0 - t.chamfer);
        [-y, y].map(|y| [-x, x].map(|x| t.world_from_block.point(&Vec3::new(x, y, 0.0))))
    }

    fn circle(&self, middle: Vec2, radius: f64, from: f64, count: usize) -> Vec<Vec3> {
        let face =
            Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(middle.x, middle.y, -self.truth.height));
        (0..count)
            .map(|k| from + std::f64::consts::TAU * k as f64 / count as f64)
            .map(|angle| drive::on_circle(&face, radius, angle))
            .collect()
    }
}

fn truth(sheet: &Target, limits: &PartLimits, random: &mut Random) -> PartTruth {
    let (low, high) = sheet.pattern_box();
    let place = |x: f64, y: f64| low + (high - low).component_mul(&Vec2::new(x, y));
    let outer = random.between(limits.diameter.0, limits.diameter.1);
    let offset = random.between(limits.offset.0, limits.offset.1);
    let (sin, cos) = random.between(0.0, std::f64::consts::TAU).sin_cos();
    let ring_at = place(random.between(0.25, 0.4), random.between(0.35, 0.65));
    let block_at = place(random.between(0.65, 0.75), random.between(0.35, 0.65));
    let height = random.between(limits.height.0, limits.height.1);
    let turn = random.between(0.0, std::f64::consts::TAU);
    PartTruth {
        outer_diameter: outer,
        inner_diameter: outer * random.between(0.35, 0.7),
        centre_offset: Vec2::new(cos, sin) * offset,
        ring_at,
        width: random.between(12.0, 35.0),
        length: random.between(40.0, 55.0),
        world_from_block: Pose::from_rotation_vector(
            Vec3::z() * turn,
            Vec3::new(block_at.x, block_at.y, -height),
        ),
        height,
        chamfer: random.between(limits.chamfer.0, limits.chamfer.1),
        sheet: Sheet {
            world_from_sheet: Pose::identity(),
            scale: Vec2::new(
                1.0 + limits.scale_sigma * random.normal(),
                1.0 + limits.scale_sigma * random.normal(),
            ),
            growth_mm: random.between(0.0, 0.05),
            bow_mm: 0.0,
        },
    }
}

fn view(index: usize, middle: &Vec2, random: &mut Random) -> Pose {
    // The first from above, the others from about: as somebody would who was asked for three views.
    let lean = match index {
        0 => random.between(2.0, 10.0),
        _ => random.between(15.0, 32.0),
    };
    let (lean, turn) = (lean.to_radians(), random.between(0.0, std::f64::consts::TAU));
    let target = Vec3::new(
        middle.x + 8.0 * random.normal(),
        middle.y + 8.0 * random.normal(),
        0.0,
    );
    let away = Vec3::new(lean.sin() * turn.cos(), lean.sin() * turn.sin(), -lean.cos());
    let eye = target + away * random.between(245.0, 290.0);
    looking_at(&eye, &target, &(-Vec3::y()), 0.08 * random.normal())
}

fn surfaces(sheet: &Target, truth: &PartTruth, random: &mut Random) -> Vec<Surface> {
    let shadow = |at: Vec2, reach: f64, random: &mut Random| Shadow {
        middle: Vec3::new(at.x, at.y, 0.0),
        reach,
        depth: random.between(0.1, 0.5),
    };
    let bench = Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(0.0, 0.0, 0.3));
    let wood = Paint::grained(
        random.between(0.1, 0.4),
        0.12,
        Vec2::new(random.between(4.0, 20.0), 1.5),
        random.bits(),
    );
    // The sheet lies in the shadow of the ring or of the block: one each is enough to make its light uneven.
    let under = if random.chance(0.5) {
        shadow(truth.ring_at, 0.4 * truth.outer_diameter + truth.height, random)
    } else {
        let at = truth.world_from_block.translation();
        shadow(at.xy(), 0.5 * truth.width + truth.height, random)
    };
    let mut all = vec![
        Surface::new(Form::flat(bench, Outline::Endless), wood),
        truth.sheet.surface(sheet, random.bits()).shaded(under),
    ];
    all.extend(ring(truth, random));
    all.extend(block(truth, random));
    all
}

fn ring(truth: &PartTruth, random: &mut Random) -> Vec<Surface> {
    let albedo = random.between(0.2, 0.6);
    let metal = drive::metal(random, albedo);
    let at = |middle: Vec2| {
        Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(middle.x, middle.y, -truth.height))
    };
    let outer = Disc {
        world_from_disc: at(truth.ring_at),
        radius: truth.outer_diameter / 2.0,
        hole: 0.0,
        thickness: truth.height + truth.chamfer,
        chamfer: truth.chamfer,
    };
    let (hole, c) = (truth.inner_diameter / 2.0, truth.chamfer);
    let bore = at(truth.ring_at + truth.centre_offset);
    let face = Form::flat(
        outer.world_from_disc,
        Outline::Pierced {
            outer: outer.radius - c,
            hole: hole + c,
            at: truth.centre_offset,
        },
    );
    let forms = [
        face,
        outer.chamfer(),
        outer.rim(),
        Form::turned(bore, (0.0, hole + c), (c, hole)),
        Form::turned(bore, (c, hole), (truth.height, hole)),
    ];
    forms.map(|form| Surface::new(form, metal.clone())).into()
}

fn block(truth: &PartTruth, random: &mut Random) -> Vec<Surface> {
    let albedo = random.between(0.2, 0.6);
    let metal = drive::metal(random, albedo);
    let (half, c) = (Vec2::new(truth.length, truth.width) / 2.0, truth.chamfer);
    let top = half.add_scalar(-c);
    let mut forms = vec![Form::flat(truth.world_from_block, Outline::Rectangle(-top, top))];
    // Each side: its chamfer, then its wall down to the paper. x runs along the side, z out of the block.
    for k in 0..4 {
        let (along, out) = if k % 2 == 0 {
            (half.x, half.y)
        } else {
            (half.y, half.x)
        };
        let turn = Pose::from_rotation_vector(
            Vec3::z() * (std::f64::consts::FRAC_PI_2 * f64::from(k)),
            Vec3::zeros(),
        );
        let strip = |from: (f64, f64), to: (f64, f64), along: f64| {
            let down = Vec3::new(0.0, to.0 - from.0, to.1 - from.1);
            let width = down.norm();
            let y = down / width;
            let local = drive::frame(Vec3::x(), y, Vec3::x().cross(&y), Vec3::new(0.0, from.0, from.1));
            Form::flat(
                truth.world_from_block * turn * local,
                Outline::Rectangle(Vec2::new(-along, 0.0), Vec2::new(along, width)),
            )
        };
        forms.push(strip((out - c, 0.0), (out, c), along));
        forms.push(strip((out, c), (out, truth.height), along));
    }
    forms
        .into_iter()
        .map(|form| Surface::new(form, metal.clone()))
        .collect()
}

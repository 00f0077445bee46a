//! From where a photo was taken, and how far the wheel was turned in it.

use serde::{Deserialize, Serialize};
use shimwright_camera::{Camera, focal_prior};
use shimwright_detect::FoundTarget;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_solve::{PlanePoint, pose_of_plane};

/// The target on the wheel and the one that stands still beside it.
const RING: &str = "hub-ring";
const CARD: &str = "mount-card";
/// A place on the ring's x axis, mm from its centre.
const ON_THE_AXIS: f64 = 20.0;

/// From where a picture was taken. Directions and distance lean on a guessed field of view.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// Camera frame from the frame of the target that stands still.
    pub camera_from_target: Pose,
    /// Middle of what was seen of that target, mm in its frame.
    pub middle: Vec3,
    /// Roughly how far the wheel is turned, rad from 0 to a full turn; `None` unless card and ring are both in view.
    pub wheel_angle: Option<f64>,
}

/// A way to move the phone, as the person behind it sees the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Way {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// Up.
    Higher,
    /// Down.
    Lower,
}

impl Way {
    /// Left and right.
    pub const SIDEWAYS: [Way; 2] = [Way::Left, Way::Right];
    /// All four.
    pub const ALL: [Way; 4] = [Way::Left, Way::Right, Way::Higher, Way::Lower];

    /// The camera's direction of it: x right, y down.
    fn in_camera(self) -> Vec3 {
        match self {
            Self::Left => -Vec3::x(),
            Self::Right => Vec3::x(),
            Self::Higher => -Vec3::y(),
            Self::Lower => Vec3::y(),
        }
    }
}

impl View {
    /// The view of a picture of `width` x `height` px by what was found in it; `fixed` names the target that stands still.
    /// `None` when that is not in view.
    pub fn of(found: &[FoundTarget], fixed: &str, width: u32, height: u32) -> Option<Self> {
        let target = found.iter().find(|target| target.name == fixed)?;
        let focal_px = focal_prior(width, height, None).focal_px;
        let camera = Camera::ideal(width, height, focal_px);
        let points: Vec<PlanePoint> = target
            .corners
            .iter()
            .map(|corner| PlanePoint {
                place: corner.place,
                at: corner.at,
                sigma_px: corner.sigma_px,
            })
            .collect();
        let camera_from_target = pose_of_plane(&camera, &points).ok()?;
        let middle = points.iter().map(|p| p.place).sum::<Vec2>() / points.len() as f64;
        Some(Self {
            camera_from_target,
            middle: Vec3::new(middle.x, middle.y, 0.0),
            wheel_angle: wheel_angle(found),
        })
    }

    /// From the target's middle to the camera, mm in the target's frame.
    fn to_camera(&self) -> Vec3 {
        self.camera_from_target.inverse().translation() - self.middle
    }

    /// Angle between the line of sight and the target's normal, rad: 0 when it is looked at squarely.
    pub fn tilt(&self) -> f64 {
        // The target's z goes into the paper.
        self.to_camera().angle(&-Vec3::z())
    }

    /// Angle between the lines of sight of two views, rad.
    pub fn apart(&self, other: &View) -> f64 {
        self.to_camera().angle(&other.to_camera())
    }

    /// Angle by which the phone is held otherwise about its line of sight, rad; distances as a ratio of at least one.
    pub(crate) fn pose_apart(&self, other: &View) -> (f64, f64) {
        let up = |view: &View| view.camera_from_target.inverse().direction(&Vec3::y());
        let (a, b) = (self.to_camera().norm(), other.to_camera().norm());
        (up(self).angle(&up(other)), (a / b).max(b / a))
    }

    /// The view after the camera went a way around the target by an angle (rad).
    pub(crate) fn moved(&self, way: Way, angle: f64) -> View {
        let target_from_camera = self.camera_from_target.inverse();
        let sight = self.to_camera();
        let aside = target_from_camera.direction(&way.in_camera());
        // Square to the line of sight, so that the angle is the one asked for.
        let aside = (aside - sight * (aside.dot(&sight) / sight.norm_squared())).normalize() * sight.norm();
        let there = self.middle + sight * angle.cos() + aside * angle.sin();
        let turned = self.camera_from_target.rotation();
        Self {
            camera_from_target: Pose::from_matrix(&turned, -(turned * there)),
            ..self.clone()
        }
    }
}

/// Roughly how far the wheel is turned: direction of the ring's x axis as the card sees it, rad counter-clockwise from the
/// card's x axis, 0 to a full turn. `None` unless both targets are in view.
pub fn wheel_angle(found: &[FoundTarget]) -> Option<f64> {
    let [ring, card] = [RING, CARD].map(|name| found.iter().find(|target| target.name == name));
    let (ring, card) = (ring?, card?);
    let [centre, out] = [0.0, ON_THE_AXIS].map(|x| card.place_at(&ring.seen_at(&Vec2::new(x, 0.0))?));
    let way = out? - centre?;
    // The frames' y axes point down as printed.
    Some((-way.y).atan2(way.x).rem_euclid(std::f64::consts::TAU))
}

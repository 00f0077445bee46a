//! Where rim and mount may lie against the card before anything of them is seen: the card lies flat beside the gap, its
//! long side along the mount, and the rim stands beyond it, square to the mount's edge.

use shimwright_geom::{Vec2, Vec3};
use shimwright_solve::{Circle, Line};

/// A long side of the card: the middle of its printed edge, and directions. Down is into the paper.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    pub origin: Vec3,
    /// Away from the card.
    pub away: Vec3,
    pub along: Vec3,
}

impl Side {
    /// Both long sides of a card with the given middle and half size, mm.
    pub fn both(middle: &Vec2, half: &Vec2) -> [Self; 2] {
        let long_x = half.x >= half.y;
        let (across, along) = if long_x {
            (Vec3::y(), Vec3::x())
        } else {
            (Vec3::x(), Vec3::y())
        };
        let reach = half.x.min(half.y);
        let middle = Vec3::new(middle.x, middle.y, 0.0);
        [1.0, -1.0].map(|sign| Self {
            origin: middle + across * (sign * reach),
            away: across * sign,
            along,
        })
    }
}

/// A rim beside the card.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RimPlace {
    /// Its plane, mm from the card's printed edge, away from the card.
    pub off: f64,
    /// Its centre along the card's side, mm.
    pub along: f64,
    /// Its centre below the card's face, mm.
    pub down: f64,
    /// How far it is turned against the card's side, about down, rad.
    pub turn: f64,
    /// How far its axis leans against the card's face, rad.
    pub lean: f64,
}

impl RimPlace {
    /// The circle in the card's frame.
    pub fn circle(&self, side: &Side, radius: f64) -> Circle {
        let down = Vec3::z();
        Circle {
            centre: side.origin + side.away * self.off + side.along * self.along + down * self.down,
            normal: (side.away + side.along * self.turn + down * self.lean).normalize(),
            radius,
        }
    }
}

/// The directions of a rim: its axis away from the card, along the mount, and up towards the photographer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Directions {
    pub axis: Vec3,
    pub along: Vec3,
    pub up: Vec3,
}

impl Directions {
    pub fn of(circle: &Circle, side: &Side) -> Self {
        let axis = circle.normal * circle.normal.dot(&side.away).signum();
        let along = (side.along - axis * side.along.dot(&axis)).normalize();
        let up = -(Vec3::z() - axis * axis.z - along * along.z).normalize();
        Self { axis, along, up }
    }

    /// The point of a circle at an angle from its top, towards along.
    pub fn on(&self, circle: &Circle, angle: f64) -> Vec3 {
        let (sin, cos) = angle.sin_cos();
        circle.centre + (self.up * cos + self.along * sin) * circle.radius
    }

    /// The circle's own parameter of that point.
    pub fn parameter(&self, circle: &Circle, angle: f64) -> f64 {
        circle.angle_of(&self.on(circle, angle))
    }
}

/// The mount's edge before a rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct MountPlace {
    /// How far before the rim's plane, mm.
    pub before: f64,
    /// How far below the rim's top, mm.
    pub below: f64,
    /// How far it is turned against the rim's plane, rad.
    pub turn: f64,
    /// How far it slopes upward, rad.
    pub slope: f64,
}

impl MountPlace {
    /// The line in the card's frame; its point lies before the rim's middle.
    pub fn line(&self, circle: &Circle, to: &Directions) -> Line {
        Line {
            point: circle.centre + to.up * (circle.radius - self.below) - to.axis * self.before,
            direction: (to.along + to.axis * self.turn + to.up * self.slope).normalize(),
        }
    }
}

//! Outlines of parts: curves in space whose edges are located in all photos of a job and solved for together.
//!
//! Each curve is cut into short pieces, each piece is located across the edge with the band model of a chamfered edge,
//! and pieces count only where their neighbours agree: between the teeth of a pulley there is no edge on its circle.

mod compass;
mod find;
mod lines;
mod pieces;
mod rounds;

pub(crate) use find::{Sought, farthest_mark, flat_curve, rim_near};
pub(crate) use pieces::{Ridges, around, shows_face};
pub(crate) use rounds::{Rounds, Settled};

use crate::gap::view::View;
use shimwright_edge::{Band, Shade};
use shimwright_geom::Vec3;
use shimwright_solve::Shape;

/// How a curve of the state shows: where on it to look, and the other line of its chamfer.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    /// Curve parameters between which it is looked at.
    pub range: (f64, f64),
    /// Of a straight edge: the unit directions outward and along the axis of the part. A rim has its own.
    pub across: (Vec3, Vec3),
    /// The other line of the chamfer, mm outward and mm along the axis.
    pub chamfer: (f64, f64),
    /// Whether it is seen from the side, so that across the edge is along the axis and not outward, and only where the face
    /// turns away from the camera.
    pub aside: bool,
    /// The only photo that shows it, by its index among those used; `None` for all: a part that turns stands elsewhere in each.
    pub only_in: Option<usize>,
    /// What is expected of the chamfer's light.
    pub light: ChamferLight,
}

/// What is expected of a chamfer's light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum ChamferLight {
    /// Nothing: each piece of the edge for itself.
    Open,
    /// That of the rim beside it, give or take this share (standard deviation).
    OfRim(f64),
    /// A share of the face's light that all photos share, place by place along the edge: the part lies still on the target,
    /// and its wall stands on this side of the edge.
    Shared(Wall),
}

/// On which side of the upper edge of a part that lies on the target its wall stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Wall {
    /// Outward: that of a disc or a block.
    Outward,
    /// Inward: that of a bore.
    Inward,
}

/// Widest sliver of wall beside an edge that draws it off little, px.
const SLIVER: f64 = 0.15;
/// Width from which a wall is a flat surface like any other, px.
const BROAD: f64 = 9.0;

impl Wall {
    /// Whether the wall below a place of the edge stays out of the way: hidden behind the face, or seen broadly. Between the
    /// two it is a sliver of the same metal, and the edge that stands out is the one at its foot.
    fn is_clear(self, view: &View, place: &Vec3, outward: &Vec3) -> bool {
        let seen = self.seen_px(view, place, outward);
        seen.is_some_and(|seen| !(SLIVER..BROAD).contains(&seen))
    }

    /// How broadly the wall below a place of the edge is seen, px; negative where the face hides it. `None` behind the camera.
    fn seen_px(self, view: &View, place: &Vec3, outward: &Vec3) -> Option<f64> {
        let at = view.see(place)?;
        let side = (view.see(&(place + outward))? - at).normalize();
        // The target lies in the plane z = 0.
        let foot = view.see(&Vec3::new(place.x, place.y, 0.0))?;
        let seen = (foot - at).dot(&side);
        Some(if self == Self::Outward { seen } else { -seen })
    }
}

/// Mean and standard deviation of a chamfer's share of the face's light in each [`sector`] of a curve.
pub(crate) type Shares = Vec<(f64, f64)>;

/// Which of `count` equal stretches of an edge a curve parameter lies in.
pub(crate) fn sector((from, to): (f64, f64), t: f64, count: usize) -> usize {
    (((t - from) / (to - from) * count as f64).max(0.0) as usize).min(count - 1)
}

impl Edge {
    /// The direction that becomes the positive side in a picture, at a curve parameter.
    pub fn side(&self, shape: &Shape, t: f64) -> Vec3 {
        let (outward, along) = self.frame(shape, t);
        if self.aside { along } else { outward }
    }

    /// The band of its chamfer in a picture; `share` is what is known of the share of the face's light.
    fn band(&self, width: f64, blur: f64, share: Option<(f64, f64)>) -> Band {
        let shade = match self.light {
            ChamferLight::Open => None,
            ChamferLight::OfRim(sigma) => Some(Shade {
                // The rim lies on that side of the band from which the other line is not seen.
                of_beyond: width < 0.0,
                share: 1.0,
                sigma,
            }),
            ChamferLight::Shared(wall) => share.map(|(share, sigma)| Shade {
                of_beyond: wall == Wall::Inward,
                share,
                sigma,
            }),
        };
        Band { width, blur, shade }
    }

    /// The side on which its wall stands, when it is the edge of a part that lies on the target.
    fn wall(&self) -> Option<Wall> {
        match self.light {
            ChamferLight::Shared(wall) => Some(wall),
            ChamferLight::Open | ChamferLight::OfRim(_) => None,
        }
    }

    /// Whether the wall below a curve parameter is hidden behind the face, so that its edge should stand out.
    pub fn hides_wall(&self, view: &View, shape: &Shape, t: f64) -> bool {
        let (outward, _) = self.frame(shape, t);
        let seen = |wall: Wall| wall.seen_px(view, &shape.point(t), &outward);
        self.wall().and_then(seen).is_none_or(|seen| seen < SLIVER)
    }

    /// Directions outward and along the axis at a curve parameter.
    pub fn frame(&self, shape: &Shape, t: f64) -> (Vec3, Vec3) {
        match shape {
            Shape::Line(_) => self.across,
            Shape::Circle(circle) => (circle.radial(t), circle.normal),
        }
    }

    /// Whether it goes all the way round.
    fn is_closed(&self, shape: &Shape) -> bool {
        matches!(shape, Shape::Circle(_)) && self.range.1 - self.range.0 > std::f64::consts::TAU - 1e-6
    }
}

//! Outlines of parts: curves in space whose edges are located in all photos of a job and solved for together.
//!
//! Each curve is cut into short pieces, each piece is located across the edge with the band model of a chamfered edge,
//! and pieces count only where their neighbours agree: between the teeth of a pulley there is no edge on its circle.

mod find;
mod lines;
mod pieces;
mod rounds;

pub(crate) use find::{Sought, farthest_mark, flat_curve, rim_near};
pub(crate) use pieces::{Ridges, around, shows_face};
pub(crate) use rounds::{Rounds, Settled};

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
    /// Standard deviation of the chamfer's light about that of the rim beside it, as a share; `None` for no expectation.
    pub shade: Option<f64>,
}

impl Edge {
    /// The direction that becomes the positive side in a picture, at a curve parameter.
    pub fn side(&self, shape: &Shape, t: f64) -> Vec3 {
        let (outward, along) = self.frame(shape, t);
        if self.aside { along } else { outward }
    }

    /// The band of its chamfer in a picture.
    fn band(&self, width: f64, blur: f64) -> Band {
        let shade = self.shade.map(|sigma| Shade {
            // The rim lies on that side of the band from which the other line is not seen.
            of_beyond: width < 0.0,
            share: 1.0,
            sigma,
        });
        Band { width, blur, shade }
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

//! What is seen in the photos: corners of the target and points of edges.

use shimwright_geom::Vec2;

/// A corner of the fixed target seen in a photo.
#[derive(Clone, Copy, Debug)]
pub struct CornerSight {
    /// Index of the photo.
    pub photo: usize,
    /// Place on the target as printed, mm.
    pub place: Vec2,
    /// Place in the photo, px.
    pub at: Vec2,
    /// Standard deviation along each axis, px.
    pub sigma_px: f64,
}

impl CornerSight {
    /// The same corner with its standard deviation `factor` times as large.
    pub fn widened(&self, factor: f64) -> Self {
        Self {
            sigma_px: self.sigma_px * factor,
            ..*self
        }
    }
}

/// Which feature an edge point belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FeatureId {
    /// The straight edge.
    Line = 0,
    /// The rim.
    Circle = 1,
}

/// A point of an edge seen in a photo.
#[derive(Clone, Copy, Debug)]
pub struct EdgeSight {
    /// Index of the photo.
    pub photo: usize,
    /// The feature it belongs to.
    pub feature: FeatureId,
    /// A point of the edge, px.
    pub at: Vec2,
    /// Unit vector across the edge, px.
    pub side: Vec2,
    /// Curve parameter to start the search for the nearest point from (mm or rad).
    pub t: f64,
    /// Place in the measured part of the edge, -1 at one end and 1 at the other; 0 where no part is chosen yet.
    pub along: f64,
    /// Standard deviation across the edge, px.
    pub sigma_px: f64,
}

//! How much of an edge is seen at the places of a feature, as it is moved.

use super::movable::Move;
use shimwright_edge::Ridge;

/// A step of encoded brightness that is an edge beyond doubt; stronger ones count no more.
const CLEAR_STEP: f64 = 0.03;

/// A place on the projected feature: the edges across it, and how each of the five numbers moves it across, px.
pub(crate) struct Place {
    pub edges: Vec<Ridge>,
    pub by: Move,
}

/// How near a feature must come to an edge to be seen there where it stands, px (standard deviation).
pub(crate) const SEEN_NEAR: f64 = 1.5;

impl Place {
    /// How much of an edge is seen `offset` px across from the place, 0 to 1. The step may change its sign along a rim
    /// as the light does.
    fn seen(&self, offset: f64, nearness: f64) -> f64 {
        seen_among(&self.edges, offset, nearness)
    }
}

/// The same of edges that lie across a place.
pub(crate) fn seen_among(edges: &[Ridge], offset: f64, nearness: f64) -> f64 {
    let credit = |edge: &Ridge| {
        let away = (edge.offset - offset) / nearness;
        let near = (1.0 - away * away / 4.0).max(0.0);
        (edge.height / CLEAR_STEP).min(1.0) * near * near
    };
    edges.iter().map(credit).fold(0.0, f64::max)
}

/// Steps to the nearness in which a [`Credit`] is tabled.
const CREDIT_STEPS: f64 = 24.0;

/// What is seen at a place for every offset, tabled: a search asks some ten thousand times.
pub(crate) struct Credit {
    by: Move,
    first: f64,
    per_px: f64,
    seen: Vec<f32>,
}

impl Credit {
    pub fn of(place: &Place, nearness: f64) -> Self {
        let offsets = || place.edges.iter().map(|edge| edge.offset);
        // No edge counts from farther away than twice the nearness.
        let first = offsets().fold(f64::INFINITY, f64::min) - 2.0 * nearness;
        let last = offsets().fold(f64::NEG_INFINITY, f64::max) + 2.0 * nearness;
        let per_px = CREDIT_STEPS / nearness;
        let count = ((last - first) * per_px + 2.0).max(0.0) as usize;
        let seen = (0..count).map(|i| place.seen(first + i as f64 / per_px, nearness) as f32);
        Self {
            by: place.by,
            first,
            per_px,
            seen: seen.collect(),
        }
    }

    pub fn at(&self, by: &Move) -> f64 {
        let offset: f64 = self.by.iter().zip(by).map(|(a, b)| a * b).sum();
        let cell = (offset - self.first) * self.per_px;
        let whole = cell as usize;
        let part = cell - whole as f64;
        let beside = (cell >= 0.0).then(|| self.seen.get(whole..)?.first_chunk::<2>());
        (beside.flatten()).map_or(0.0, |[a, b]| f64::from(*a) * (1.0 - part) + f64::from(*b) * part)
    }
}

/// Mean over photos of the mean over places.
pub(crate) fn seen_of<P>(photos: &[Vec<P>], seen: impl Fn(&P) -> f64) -> f64 {
    let of_photo = |places: &Vec<P>| places.iter().map(&seen).sum::<f64>() / places.len().max(1) as f64;
    photos.iter().map(of_photo).sum::<f64>() / photos.len().max(1) as f64
}

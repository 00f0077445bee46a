//! The search for tags.

use crate::cores;
use crate::decode::{self, Reading};
use crate::params::TagParams;
use crate::quad::{self, Quad};
use crate::region::{BoxLimits, Regions};
use crate::threshold::{Threshold, halved};
use shimwright_geom::{GreyPicture, Vec2};

/// Margin from which a tag without wrong cells needs no second look at another scale.
const CLEAR_MARGIN: f64 = 0.6;

/// Regions that a thread takes at a time.
const SHARE: usize = 32;

/// A tag36h11 found in a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Tag {
    /// Its number in the family.
    pub id: u32,
    /// Top-left, top-right, bottom-right, bottom-left outer corner of the upright tag's black square, pixels,
    /// good to about half a pixel.
    pub corners: [Vec2; 4],
    /// Count of cells that were read wrongly.
    pub hamming: u32,
    /// How clearly black and white cells stand apart: 1 is full contrast, 0 none.
    pub margin: f64,
}

impl Tag {
    /// The mean of the corners, pixels.
    pub fn centre(&self) -> Vec2 {
        self.corners.iter().fold(Vec2::zeros(), |sum, c| sum + c) / 4.0
    }

    fn is_clear(&self) -> bool {
        self.hamming == 0 && self.margin > CLEAR_MARGIN
    }

    /// True when the figure's middle lies near the tag's own and its size is alike.
    fn covers(&self, figure: &Quad) -> bool {
        let middle = figure.iter().fold(Vec2::zeros(), |sum, c| sum + c) / 4.0;
        let side = self.shortest_side();
        (middle - self.centre()).norm() < 0.3 * side && quad::side_range(figure).0 < 1.5 * side
    }

    fn shortest_side(&self) -> f64 {
        quad::side_range(&self.corners).0
    }
}

/// Finds the tags of the family 36h11 in a picture, sorted by id and place.
///
/// Dark regions on light ground are looked for in the full picture and in reduced ones, which hold large, noisy
/// and blurred tags better; the corners are then refined in the full picture. The same picture always gives the
/// same answer.
pub fn find_tags(picture: &GreyPicture, params: &TagParams) -> Vec<Tag> {
    let mut tags: Vec<Tag> = Vec::new();
    let largest = params.scales.iter().copied().max().unwrap_or(1);
    let mut reduced: Option<GreyPicture> = None;
    let mut factor = 1;
    while factor <= largest {
        let level = reduced.as_ref().unwrap_or(picture);
        if params.scales.contains(&factor) {
            let fresh = search_level(picture, level, factor, params, &tags);
            tags.extend(fresh);
        }
        factor *= 2;
        match halved(level) {
            Some(half) => reduced = Some(half),
            None => break,
        }
    }
    without_doubles(tags)
}

/// Tags of one reduced picture but for those that lie where clear ones are known.
fn search_level(
    full: &GreyPicture,
    reduced: &GreyPicture,
    factor: usize,
    params: &TagParams,
    known: &[Tag],
) -> Vec<Tag> {
    let scale = factor as f64;
    // At full scale a tag needs its own pixels; below that size a reduced picture cannot hold its cells.
    let min_side = if factor == 1 {
        params.min_side_px
    } else {
        (params.min_side_px / scale).max(9.0)
    };
    let limits = BoxLimits {
        min_long: (0.8 * min_side) as u32,
        min_short: (0.35 * min_side).max(4.0) as u32,
    };
    let threshold = Threshold::of(reduced, params.min_contrast);
    let regions = Regions::of(reduced, &threshold, &limits);
    let read = |index: usize| {
        let found = quad::quad_of_outline(&regions.outline(index), min_side)?;
        let at_full = found.map(|c| (c.add_scalar(0.5)) * scale - Vec2::repeat(0.5));
        if known.iter().any(|k| k.is_clear() && k.covers(&at_full)) || !decode::may_be_tag(reduced, &found) {
            return None;
        }
        read_refined(full, reduced, &found, &at_full, scale, params)
    };
    cores::map(regions.count(), SHARE, read)
        .into_iter()
        .flatten()
        .collect()
}

/// Refines and reads a figure in the full picture; in the reduced one, where noise is averaged, if that fails.
fn read_refined(
    full: &GreyPicture,
    reduced: &GreyPicture,
    found: &Quad,
    at_full: &Quad,
    scale: f64,
    params: &TagParams,
) -> Option<Tag> {
    let (shortest, _) = quad::side_range(at_full);
    let reach = (0.08 * shortest).clamp(1.0, 3.0 * scale.max(1.0));
    let refined = quad::refine_on_picture(full, at_full, reach)
        .filter(quad::is_convex)
        .unwrap_or(*at_full);
    if !refined.iter().all(|c| full.contains(c.x, c.y, 0.0)) {
        return None;
    }
    let read =
        |picture: &GreyPicture, q: &Quad| decode::read(picture, q, params.max_hamming, params.min_margin);
    let reading = read(full, &refined)
        .or_else(|| read(full, at_full))
        .or_else(|| (scale > 1.0).then(|| read(reduced, found)).flatten())?;
    Some(tag_of(&reading, &refined))
}

fn tag_of(reading: &Reading, quad: &Quad) -> Tag {
    let corners = std::array::from_fn(|i| quad[(i + reading.turns) % 4]);
    Tag {
        id: reading.id,
        corners,
        hamming: reading.hamming,
        margin: reading.margin,
    }
}

/// Keeps the best of readings that lie over each other.
fn without_doubles(mut tags: Vec<Tag>) -> Vec<Tag> {
    tags.sort_by(|a, b| {
        a.hamming
            .cmp(&b.hamming)
            .then(b.margin.total_cmp(&a.margin))
            .then(a.id.cmp(&b.id))
            .then(place_order(a, b))
    });
    let mut kept: Vec<Tag> = Vec::new();
    for tag in tags {
        let centre = tag.centre();
        let doubled = kept.iter().any(|k| {
            (k.centre() - centre).norm() < 0.5 * k.shortest_side().min(tag.shortest_side()).max(4.0)
        });
        if !doubled {
            kept.push(tag);
        }
    }
    kept.sort_by(|a, b| a.id.cmp(&b.id).then(place_order(a, b)));
    kept
}

fn place_order(a: &Tag, b: &Tag) -> std::cmp::Ordering {
    let (p, q) = (a.centre(), b.centre());
    p.y.total_cmp(&q.y).then(p.x.total_cmp(&q.x))
}

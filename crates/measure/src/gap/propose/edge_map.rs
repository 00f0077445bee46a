//! Where a photo shows edges, and which way they run: a reduced picture in which many places can be asked quickly.

use shimwright_geom::{GreyPicture, Vec2};
use std::f64::consts::PI;

/// Directions that are told apart, over half a turn.
const WAYS: usize = 8;
/// A step of encoded brightness (0 to 1) that is an edge beyond doubt.
const CLEAR_STEP: f64 = 0.05;
/// Least step that is an edge at all.
const LEAST_STEP: f64 = 0.012;
/// A step must stand out from this many times what pixels commonly step by.
const OVER_COMMON: f64 = 3.0;
/// How far from an edge it still counts, px of the reduced picture.
const NEAR: f64 = 2.5;
/// Central difference of a sharp step, after smoothing with 1 2 1: this share of the step.
const SHARE_OF_STEP: f64 = 0.36;

/// The edges of a photo.
pub(super) struct EdgeMap {
    /// How many pixels of the photo one of the map stands for, along each side.
    reduced: usize,
    width: usize,
    height: usize,
    /// How surely each pixel lies on an edge of each direction, 0 to 255.
    seen: Vec<u8>,
}

impl EdgeMap {
    /// The map of a picture reduced by a whole number. Edges where `leave_out` says so are left out; it is given pixels
    /// of the photo.
    pub fn of(picture: &GreyPicture, reduced: usize, leave_out: impl Fn(&Vec2) -> bool) -> Self {
        let (small, width, height) = smoothed(picture, reduced);
        let mut map = Self {
            reduced,
            width,
            height,
            seen: vec![0; width * height * WAYS],
        };
        let steps = Steps::of(&small, width, height);
        let least = LEAST_STEP.max(OVER_COMMON * steps.common());
        for y in 2..height.saturating_sub(2) {
            for x in 2..width.saturating_sub(2) {
                let step = steps.ridge(x, y);
                if step > least && !leave_out(&map.photo_px(x, y)) {
                    let sure = ((step - least) / (CLEAR_STEP - LEAST_STEP)).min(1.0);
                    map.stamp(x, y, sure, steps.way(x, y));
                }
            }
        }
        map
    }

    /// How surely the photo shows an edge at a pixel that runs along a direction, 0 to 1; `None` outside the picture.
    pub fn seen(&self, at: &Vec2, along: &Vec2) -> Option<f64> {
        let place = |v: f64| (v + 0.5) / self.reduced as f64 - 0.5;
        let (x, y) = (place(at.x).round(), place(at.y).round());
        if !(x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64) {
            return None;
        }
        let way = (along.y.atan2(along.x) / PI * WAYS as f64)
            .rem_euclid(WAYS as f64)
            .round() as usize
            % WAYS;
        let i = (y as usize * self.width + x as usize) * WAYS + way;
        Some(f64::from(self.seen[i]) / 255.0)
    }

    fn photo_px(&self, x: usize, y: usize) -> Vec2 {
        Vec2::new(x as f64 + 0.5, y as f64 + 0.5) * self.reduced as f64 - Vec2::new(0.5, 0.5)
    }

    /// Writes an edge into all places near it and directions like its own.
    fn stamp(&mut self, x: usize, y: usize, sure: f64, way: f64) {
        let reach = NEAR as isize;
        for way_to in 0..WAYS {
            let apart = (way - way_to as f64).rem_euclid(WAYS as f64);
            let alike = (1.6 - apart.min(WAYS as f64 - apart)).clamp(0.0, 1.0);
            if alike == 0.0 {
                continue;
            }
            for dy in -reach..=reach {
                for dx in -reach..=reach {
                    let away = (dx * dx + dy * dy) as f64 / (NEAR * NEAR);
                    let near = (1.0 - away).max(0.0);
                    let value = (255.0 * sure * alike * near.sqrt()) as u8;
                    let at = (y as isize + dy) as usize * self.width + (x as isize + dx) as usize;
                    let slot = &mut self.seen[at * WAYS + way_to];
                    *slot = value.max(*slot);
                }
            }
        }
    }
}

/// Mean brightness (encoded, 0 to 1) of squares of pixels, smoothed with 1 2 1 both ways; its width and height.
fn smoothed(picture: &GreyPicture, reduced: usize) -> (Vec<f32>, usize, usize) {
    let (width, height) = (picture.width() / reduced, picture.height() / reduced);
    let scale = 1.0 / (255.0 * (reduced * reduced) as f32);
    let mut small = vec![0f32; width * height];
    for y in 0..height * reduced {
        let row = &mut small[y / reduced * width..][..width];
        for (pixels, sum) in picture.row(y).chunks_exact(reduced).zip(row) {
            *sum += pixels.iter().map(|p| f32::from(*p)).sum::<f32>() * scale;
        }
    }
    let mut across = small.clone();
    for y in 0..height {
        for x in 1..width.saturating_sub(1) {
            let i = y * width + x;
            across[i] = (small[i - 1] + 2.0 * small[i] + small[i + 1]) / 4.0;
        }
    }
    let mut both = across.clone();
    for i in width..(width * height).saturating_sub(width) {
        both[i] = (across[i - width] + 2.0 * across[i] + across[i + width]) / 4.0;
    }
    (both, width, height)
}

/// How brightness steps at each pixel: the gradient as steps of encoded brightness.
struct Steps {
    width: usize,
    gradient: Vec<(f32, f32)>,
}

impl Steps {
    fn of(small: &[f32], width: usize, height: usize) -> Self {
        let mut gradient = vec![(0.0, 0.0); width * height];
        let scale = 0.5 / SHARE_OF_STEP as f32;
        for y in 1..height.saturating_sub(1) {
            for x in 1..width.saturating_sub(1) {
                let i = y * width + x;
                gradient[i] = (
                    (small[i + 1] - small[i - 1]) * scale,
                    (small[i + width] - small[i - width]) * scale,
                );
            }
        }
        Self { width, gradient }
    }

    fn size(&self, i: usize) -> f64 {
        let (x, y) = self.gradient[i];
        f64::from(x.hypot(y))
    }

    /// What pixels commonly step by: grain and texture.
    fn common(&self) -> f64 {
        let mut sizes: Vec<f64> = (0..self.gradient.len())
            .step_by(7)
            .map(|i| self.size(i))
            .collect();
        sizes.sort_by(f64::total_cmp);
        sizes.get(sizes.len() / 2).copied().unwrap_or(0.0)
    }

    /// The step where it is the largest across itself, else 0.
    fn ridge(&self, x: usize, y: usize) -> f64 {
        let i = y * self.width + x;
        let (size, (gx, gy)) = (self.size(i), self.gradient[i]);
        let beside = if gx.abs() > 2.4 * gy.abs() {
            1
        } else if gy.abs() > 2.4 * gx.abs() {
            self.width
        } else if gx * gy > 0.0 {
            self.width + 1
        } else {
            self.width - 1
        };
        if size >= self.size(i - beside) && size > self.size(i + beside) {
            size
        } else {
            0.0
        }
    }

    /// Which way the edge runs, in steps of half a turn over [`WAYS`].
    fn way(&self, x: usize, y: usize) -> f64 {
        let (gx, gy) = self.gradient[y * self.width + x];
        f64::from(gx.atan2(-gy)) / PI * WAYS as f64
    }
}

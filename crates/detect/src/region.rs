//! Connected dark regions and their outlines.

use crate::threshold::Threshold;
use shimwright_geom::{GreyPicture, Vec2};

/// A horizontal run of dark pixels, `x0..x1` in row `y`.
#[derive(Clone, Copy)]
struct Run {
    y: u32,
    x0: u32,
    x1: u32,
}

/// The outermost border points of a dark region, on the pixel borders (half-integer places).
pub(crate) struct Outline {
    /// Left and right ends of each row, then top and bottom ends of each column.
    pub(crate) points: Vec<Vec2>,
    /// Count of dark pixels.
    pub(crate) area: usize,
}

/// Size limits of a region's box, in pixels.
pub(crate) struct BoxLimits {
    /// Smallest longer side.
    pub(crate) min_long: u32,
    /// Smallest shorter side.
    pub(crate) min_short: u32,
}

/// Finds 4-connected dark regions whose box fits the limits and gives their outlines, in picture order.
pub(crate) fn dark_outlines(
    picture: &GreyPicture,
    threshold: &Threshold,
    limits: &BoxLimits,
) -> Vec<Outline> {
    let (runs, mut parent) = connected_runs(picture, threshold);
    for i in 0..runs.len() as u32 {
        let r = root(&mut parent, i);
        parent[i as usize] = r;
    }
    // A region's root is its smallest run index, so that a counting pass groups runs in picture order.
    let mut boxes: Vec<Option<RegionBox>> = vec![None; runs.len()];
    for (run, &r) in runs.iter().zip(&parent) {
        let slot = &mut boxes[r as usize];
        match slot {
            Some(b) => b.add(run),
            None => *slot = Some(RegionBox::of(run)),
        }
    }
    let mut place = vec![u32::MAX; runs.len()];
    let mut members: Vec<(RegionBox, Vec<Run>)> = Vec::new();
    for (i, b) in boxes.iter().enumerate() {
        if let Some(b) = b.filter(|b| b.fits(limits) && b.is_inside(threshold)) {
            place[i] = members.len() as u32;
            members.push((b, Vec::new()));
        }
    }
    for (run, &r) in runs.iter().zip(&parent) {
        if place[r as usize] != u32::MAX {
            members[place[r as usize] as usize].1.push(*run);
        }
    }
    members.iter().map(|(b, runs)| b.outline(runs)).collect()
}

fn connected_runs(picture: &GreyPicture, threshold: &Threshold) -> (Vec<Run>, Vec<u32>) {
    let mut runs: Vec<Run> = Vec::new();
    let mut parent: Vec<u32> = Vec::new();
    let mut dark = vec![false; threshold.width()];
    let mut above = 0..0;
    for y in 0..threshold.height() {
        threshold.mark_row(picture.row(y), y, &mut dark);
        let start = runs.len();
        push_runs(&dark, y as u32, &mut runs);
        parent.extend(start as u32..runs.len() as u32);
        let mut a = above.start;
        for b in start..runs.len() {
            while a < above.end && runs[a].x1 <= runs[b].x0 {
                a += 1;
            }
            let mut k = a;
            while k < above.end && runs[k].x0 < runs[b].x1 {
                join(&mut parent, k as u32, b as u32);
                k += 1;
            }
        }
        above = start..runs.len();
    }
    (runs, parent)
}

fn push_runs(dark: &[bool], y: u32, runs: &mut Vec<Run>) {
    let mut x = 0;
    while let Some(skip) = dark[x..].iter().position(|&d| d) {
        let x0 = x + skip;
        let length = dark[x0..].iter().position(|&d| !d).unwrap_or(dark.len() - x0);
        runs.push(Run {
            y,
            x0: x0 as u32,
            x1: (x0 + length) as u32,
        });
        x = x0 + length;
    }
}

fn root(parent: &mut [u32], mut i: u32) -> u32 {
    while parent[i as usize] != i {
        parent[i as usize] = parent[parent[i as usize] as usize];
        i = parent[i as usize];
    }
    i
}

fn join(parent: &mut [u32], a: u32, b: u32) {
    let (a, b) = (root(parent, a), root(parent, b));
    let (low, high) = (a.min(b), a.max(b));
    parent[high as usize] = low;
}

#[derive(Clone, Copy)]
struct RegionBox {
    x0: u32,
    x1: u32,
    y0: u32,
    y1: u32,
    area: usize,
}

impl RegionBox {
    fn of(run: &Run) -> Self {
        Self {
            x0: run.x0,
            x1: run.x1,
            y0: run.y,
            y1: run.y + 1,
            area: (run.x1 - run.x0) as usize,
        }
    }

    fn add(&mut self, run: &Run) {
        self.x0 = self.x0.min(run.x0);
        self.x1 = self.x1.max(run.x1);
        self.y0 = self.y0.min(run.y);
        self.y1 = self.y1.max(run.y + 1);
        self.area += (run.x1 - run.x0) as usize;
    }

    fn fits(&self, limits: &BoxLimits) -> bool {
        let (w, h) = (self.x1 - self.x0, self.y1 - self.y0);
        // The thinnest tag outline still covers its border ring: a fifth of the box at strong tilt and turn.
        w.max(h) >= limits.min_long
            && w.min(h) >= limits.min_short
            && self.area * 12 >= (w as usize) * (h as usize)
    }

    /// False for a region that touches the border of the picture: what shows of it may be a part.
    fn is_inside(&self, threshold: &Threshold) -> bool {
        let (w, h) = (threshold.width() as u32, threshold.height() as u32);
        self.x0 > 0 && self.y0 > 0 && self.x1 < w && self.y1 < h
    }

    fn outline(&self, runs: &[Run]) -> Outline {
        let (w, h) = ((self.x1 - self.x0) as usize, (self.y1 - self.y0) as usize);
        let mut rows = vec![(u32::MAX, 0); h];
        let mut columns = vec![(u32::MAX, 0); w];
        for run in runs {
            let row = &mut rows[(run.y - self.y0) as usize];
            row.0 = row.0.min(run.x0);
            row.1 = row.1.max(run.x1);
            for x in run.x0..run.x1 {
                let column = &mut columns[(x - self.x0) as usize];
                column.0 = column.0.min(run.y);
                column.1 = column.1.max(run.y + 1);
            }
        }
        let mut points = Vec::with_capacity(2 * (w + h));
        for (i, &(a, b)) in rows.iter().enumerate() {
            let y = f64::from(self.y0) + i as f64;
            points.push(Vec2::new(f64::from(a) - 0.5, y));
            points.push(Vec2::new(f64::from(b) - 0.5, y));
        }
        for (i, &(a, b)) in columns.iter().enumerate() {
            let x = f64::from(self.x0) + i as f64;
            points.push(Vec2::new(x, f64::from(a) - 0.5));
            points.push(Vec2::new(x, f64::from(b) - 0.5));
        }
        Outline {
            points,
            area: self.area,
        }
    }
}

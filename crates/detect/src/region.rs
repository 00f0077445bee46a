//! Connected dark regions and their outlines.

use crate::cores;
use crate::threshold::Threshold;
use shimwright_geom::{GreyPicture, Vec2};
use std::ops::Range;

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
    /// Count of those that end rows; ends of columns follow, from left to right.
    pub(crate) row_points: usize,
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

/// Dark regions of a picture, in picture order.
pub(crate) struct Regions {
    boxes: Vec<RegionBox>,
    /// The runs of all of them, region by region, each in picture order.
    runs: Vec<Run>,
    /// Where each region's runs begin, and where the last ones end.
    begins: Vec<usize>,
}

impl Regions {
    /// Finds the 4-connected dark regions whose box fits the limits.
    pub(crate) fn of(picture: &GreyPicture, threshold: &Threshold, limits: &BoxLimits) -> Self {
        let (runs, region, boxes) = labelled(connected_runs(picture, threshold));
        let mut place = vec![u32::MAX; boxes.len()];
        let mut fitting = Vec::new();
        for (place, b) in place.iter_mut().zip(&boxes) {
            if b.fits(limits) && b.is_inside(threshold) {
                *place = fitting.len() as u32;
                fitting.push(*b);
            }
        }
        let mut begins = Vec::with_capacity(fitting.len() + 1);
        let mut total = 0;
        for b in &fitting {
            begins.push(total);
            total += b.runs;
        }
        begins.push(total);
        let mut at = begins.clone();
        let mut sorted = vec![Run { y: 0, x0: 0, x1: 0 }; total];
        for (run, &r) in runs.iter().zip(&region) {
            let place = place[r as usize];
            if place != u32::MAX {
                let slot = &mut at[place as usize];
                sorted[*slot] = *run;
                *slot += 1;
            }
        }
        Self {
            boxes: fitting,
            runs: sorted,
            begins,
        }
    }

    /// How many there are.
    pub(crate) fn count(&self) -> usize {
        self.boxes.len()
    }

    /// The outline of one of them.
    pub(crate) fn outline(&self, index: usize) -> Outline {
        self.boxes[index].outline(&self.runs[self.begins[index]..self.begins[index + 1]])
    }
}

/// Runs with the region of each, and the regions' boxes in picture order.
fn labelled((runs, mut parent): (Vec<Run>, Vec<u32>)) -> (Vec<Run>, Vec<u32>, Vec<RegionBox>) {
    let mut boxes: Vec<RegionBox> = Vec::new();
    // A run's parent lies before it, so that one pass in order turns parents into regions.
    for i in 0..runs.len() {
        let above = parent[i] as usize;
        if above == i {
            parent[i] = boxes.len() as u32;
            boxes.push(RegionBox::of(&runs[i]));
        } else {
            let region = parent[above];
            parent[i] = region;
            boxes[region as usize].add(&runs[i]);
        }
    }
    (runs, parent, boxes)
}

/// Runs of some rows with the tree that connects them.
struct Band {
    runs: Vec<Run>,
    parent: Vec<u32>,
    /// Index of the first run that is not in the first row, and of the first one in the last row.
    first_row_ends: usize,
    last_row_begins: usize,
}

/// Fewest rows of a band that is worth a thread.
const LEAST_ROWS: usize = 256;

/// All runs in picture order; a run's parent is a run of the same region, the first one its own.
fn connected_runs(picture: &GreyPicture, threshold: &Threshold) -> (Vec<Run>, Vec<u32>) {
    let height = threshold.height();
    // The bands do not depend on the number of cores; what is found does not depend on the bands.
    let count = (height / LEAST_ROWS).clamp(1, 4);
    let bands = cores::map(count, 1, |k| {
        Band::of(picture, threshold, height * k / count..height * (k + 1) / count)
    });
    let mut all = bands.into_iter();
    let Some(Band {
        mut runs,
        mut parent,
        mut last_row_begins,
        ..
    }) = all.next()
    else {
        return (Vec::new(), Vec::new());
    };
    for band in all {
        let start = runs.len();
        parent.extend(band.parent.iter().map(|p| p + start as u32));
        runs.extend(band.runs);
        connect(
            &runs,
            &mut parent,
            last_row_begins..start,
            start..start + band.first_row_ends,
        );
        last_row_begins = start + band.last_row_begins;
    }
    (runs, parent)
}

impl Band {
    fn of(picture: &GreyPicture, threshold: &Threshold, rows: Range<usize>) -> Self {
        let mut runs: Vec<Run> = Vec::new();
        let mut parent: Vec<u32> = Vec::new();
        let mut dark = threshold.row_of_bits();
        let mut above = 0..0;
        let mut first_row_ends = 0;
        for y in rows.clone() {
            threshold.mark_row(picture.row(y), y, &mut dark);
            let start = runs.len();
            push_runs(dark.bits(), y as u32, threshold.width() as u32, &mut runs);
            parent.extend(start as u32..runs.len() as u32);
            connect(&runs, &mut parent, above, start..runs.len());
            above = start..runs.len();
            if y == rows.start {
                first_row_ends = runs.len();
            }
        }
        Self {
            runs,
            parent,
            first_row_ends,
            last_row_begins: above.start,
        }
    }
}

/// Joins the runs of a row with those of the row above that they touch.
fn connect(runs: &[Run], parent: &mut [u32], above: Range<usize>, row: Range<usize>) {
    let mut a = above.start;
    for b in row {
        while a < above.end && runs[a].x1 <= runs[b].x0 {
            a += 1;
        }
        let mut k = a;
        while k < above.end && runs[k].x0 < runs[b].x1 {
            join(parent, k as u32, b as u32);
            k += 1;
        }
    }
}

/// The runs of a row of bits, lowest bit first; bits beyond the width are zero.
fn push_runs(dark: &[u64], y: u32, width: u32, runs: &mut Vec<Run>) {
    let mut open = None;
    let mut last = 0;
    for (k, &word) in dark.iter().enumerate() {
        // Bits that differ from the one before.
        let mut turns = word ^ (word << 1 | last);
        last = word >> 63;
        while turns != 0 {
            let at = 64 * k as u32 + turns.trailing_zeros();
            turns &= turns - 1;
            match open.take() {
                None => open = Some(at),
                Some(x0) => runs.push(Run { y, x0, x1: at }),
            }
        }
    }
    runs.extend(open.map(|x0| Run { y, x0, x1: width }));
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
    /// Count of its runs.
    runs: usize,
}

impl RegionBox {
    fn of(run: &Run) -> Self {
        Self {
            x0: run.x0,
            x1: run.x1,
            y0: run.y,
            y1: run.y + 1,
            area: (run.x1 - run.x0) as usize,
            runs: 1,
        }
    }

    fn add(&mut self, run: &Run) {
        self.x0 = self.x0.min(run.x0);
        self.x1 = self.x1.max(run.x1);
        self.y0 = self.y0.min(run.y);
        self.y1 = self.y1.max(run.y + 1);
        self.area += (run.x1 - run.x0) as usize;
        self.runs += 1;
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
        // Top and bottom of each column: runs come from top to bottom, so that the first to write is the highest.
        let mut columns = vec![(u32::MAX, 0); w];
        for run in runs {
            let row = &mut rows[(run.y - self.y0) as usize];
            row.0 = row.0.min(run.x0);
            row.1 = row.1.max(run.x1);
            for column in &mut columns[(run.x0 - self.x0) as usize..(run.x1 - self.x0) as usize] {
                column.0 = column.0.min(run.y);
                column.1 = run.y + 1;
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
            row_points: 2 * h,
            area: self.area,
        }
    }
}

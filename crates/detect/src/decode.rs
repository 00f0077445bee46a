//! Reads the cells inside a four-sided figure as a tag of the family.

use crate::homography::Homography;
use crate::quad::{Quad, grey_at};
use nalgebra::{Matrix3, Vector3};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::tag36h11::{self, CELLS, DATA_CELLS as DATA};

/// Fewest grey levels between the black and the white of a tag.
const LEAST_CONTRAST: f64 = 8.0;
/// Most of the 28 border cells that may look light.
const BORDER_ERRORS: usize = 3;
/// The same before the figure is refined.
const ROUGH_BORDER_ERRORS: usize = 12;

/// Fewest light and fewest dark data cells before the figure is refined: the family's codes have 10 and 11 at least.
const ROUGH_MIXED: u32 = 4;
/// How much cells are sharpened, more each time.
const STRENGTHS: [f64; 3] = [0.0, 0.35, STRONGEST];
const STRONGEST: f64 = 0.8;

/// A tag that was read.
pub(crate) struct Reading {
    pub(crate) id: u32,
    pub(crate) hamming: u32,
    /// Mean distance of the data cells from the threshold, 1 = full black or white.
    pub(crate) margin: f64,
    /// Count of quarter turns from the figure's first corner to the tag's top-left corner.
    pub(crate) turns: usize,
}

/// The figure's cells, 0 for the local black and 1 for the local white.
struct Cells([[f64; CELLS]; CELLS]);

/// Reads a figure; `None` when it has no dark border on light ground or is no code of the family.
pub(crate) fn read(picture: &GreyPicture, quad: &Quad, max_hamming: u32, min_margin: f64) -> Option<Reading> {
    let cells = Cells::sample(picture, quad, FIVE)?;
    if cells.light_border_cells() > BORDER_ERRORS {
        return None;
    }
    // Blur mixes neighbours: when the plain cells are no code, sharpened ones may be (more each time).
    let mut best: Option<Reading> = None;
    for strength in STRENGTHS {
        let reading = cells.sharpened(strength).code(max_hamming);
        if let Some(reading) = reading.filter(|r| r.margin >= min_margin)
            && best.as_ref().is_none_or(|b| reading.hamming < b.hamming)
        {
            let perfect = reading.hamming == 0;
            best = Some(reading);
            if perfect {
                break;
            }
        }
    }
    best
}

/// A quick look: false when the figure's border is mostly light, when there is no contrast, or when its inside is all
/// of one kind.
pub(crate) fn may_be_tag(picture: &GreyPicture, quad: &Quad) -> bool {
    Cells::sample(picture, quad, MIDDLE)
        .is_some_and(|c| c.light_border_cells() <= ROUGH_BORDER_ERRORS && c.sharpened(STRONGEST).is_mixed())
}

/// Count of data cells that differ from a tag that is expected upright in the figure; `None` when the figure
/// has no dark border on light ground.
pub(crate) fn errors_against(picture: &GreyPicture, quad: &Quad, id: u32) -> Option<u32> {
    let cells = Cells::sample(picture, quad, FIVE)?;
    if cells.light_border_cells() > BORDER_ERRORS {
        return None;
    }
    let expected = tag36h11::bits(id)?;
    STRENGTHS
        .iter()
        .map(|&s| (cells.sharpened(s).bits().0 ^ expected).count_ones())
        .min()
}

impl Cells {
    fn sample(picture: &GreyPicture, quad: &Quad, around: &[(f64, f64)]) -> Option<Self> {
        let square = [(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 8.0)].map(|(x, y)| Vec2::new(x, y));
        let map = Homography::of_four(&square, quad)?;
        let mut black = PlaneFit::default();
        let mut white = PlaneFit::default();
        let mut raw = [[0.0; CELLS]; CELLS];
        for (j, row) in raw.iter_mut().enumerate() {
            for (i, cell) in row.iter_mut().enumerate() {
                let middle = Vec2::new(i as f64 + 0.5, j as f64 + 0.5);
                *cell = mean_around(picture, &map, &middle, around)?;
                if is_border(i, j) {
                    black.add(&middle, *cell);
                }
            }
        }
        // The quiet zone: half a cell outside the border. A few of its places may lie outside the picture.
        for k in 0..CELLS {
            let t = k as f64 + 0.5;
            for p in [(t, -0.6), (t, 8.6), (-0.6, t), (8.6, t)] {
                let p = Vec2::new(p.0, p.1);
                if let Some(v) = mean_around(picture, &map, &p, around) {
                    white.add(&p, v);
                }
            }
        }
        let (black, white) = (black.solve()?, white.solve()?);
        for (j, row) in raw.iter_mut().enumerate() {
            for (i, cell) in row.iter_mut().enumerate() {
                let p = Vector3::new(i as f64 + 0.5, j as f64 + 0.5, 1.0);
                let (b, w) = (black.dot(&p), white.dot(&p));
                if w - b < LEAST_CONTRAST {
                    return None;
                }
                *cell = (*cell - b) / (w - b);
            }
        }
        Some(Self(raw))
    }

    fn light_border_cells(&self) -> usize {
        (0..CELLS)
            .flat_map(|j| (0..CELLS).map(move |i| (i, j)))
            .filter(|&(i, j)| is_border(i, j) && self.0[j][i] > 0.5)
            .count()
    }

    fn is_mixed(&self) -> bool {
        let light = self.bits().0.count_ones();
        (ROUGH_MIXED..=(DATA * DATA) as u32 - ROUGH_MIXED).contains(&light)
    }

    /// Adds `strength` times the difference from the mean of the four neighbours.
    fn sharpened(&self, strength: f64) -> Self {
        let c = &self.0;
        let mut out = *c;
        for j in 1..CELLS - 1 {
            for i in 1..CELLS - 1 {
                let around = 0.25 * (c[j - 1][i] + c[j + 1][i] + c[j][i - 1] + c[j][i + 1]);
                out[j][i] = c[j][i] + strength * (c[j][i] - around);
            }
        }
        Self(out)
    }

    fn code(&self, max_hamming: u32) -> Option<Reading> {
        let (bits, margin) = self.bits();
        let found = tag36h11::decode(bits, max_hamming)?;
        Some(Reading {
            id: found.id,
            hamming: found.hamming,
            margin,
            turns: found.rotation as usize,
        })
    }

    /// The data cells row by row, the first the highest bit, and their mean distance from the threshold.
    fn bits(&self) -> (u64, f64) {
        let mut bits = 0;
        let mut margin = 0.0;
        for row in &self.0[1..=DATA] {
            for &v in &row[1..=DATA] {
                bits = bits << 1 | u64::from(v > 0.5);
                margin += (2.0 * (v - 0.5).abs()).min(1.0);
            }
        }
        (bits, margin / (DATA * DATA) as f64)
    }
}

fn is_border(i: usize, j: usize) -> bool {
    i == 0 || j == 0 || i == CELLS - 1 || j == CELLS - 1
}

/// Places within a cell about its middle, cells.
const FIVE: &[(f64, f64)] = &[(0.0, 0.0), (-0.2, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.2, 0.2)];
/// The middle alone, for a quick look.
const MIDDLE: &[(f64, f64)] = &[(0.0, 0.0)];

/// Mean grey of places about a cell's middle.
fn mean_around(picture: &GreyPicture, map: &Homography, middle: &Vec2, around: &[(f64, f64)]) -> Option<f64> {
    let mut sum = 0.0;
    for &(dx, dy) in around {
        sum += grey_at(picture, &map.apply(&(middle + Vec2::new(dx, dy))))?;
    }
    Some(sum / around.len() as f64)
}

/// Least squares of a plane `a x + b y + c` through grey values.
#[derive(Default)]
struct PlaneFit {
    normal: Matrix3<f64>,
    right: Vector3<f64>,
}

impl PlaneFit {
    fn add(&mut self, p: &Vec2, value: f64) {
        let row = Vector3::new(p.x, p.y, 1.0);
        self.normal += row * row.transpose();
        self.right += row * value;
    }

    fn solve(&self) -> Option<Vector3<f64>> {
        Some(self.normal.cholesky()?.solve(&self.right))
    }
}

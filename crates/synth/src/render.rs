//! Rays into pixels.
//!
//! One ray through the middle of each pixel tells where something changes. Pixels beside a change are cut into parts,
//! parts beside a change are sampled further, so that an edge is placed to a hundredth of a pixel while the rest of
//! the picture costs one ray a pixel. The blur acts on the parts, not on whole pixels: an edge moves through the
//! pixels of the picture as it would under a lens.

use crate::lens::{Lens, MARGIN};
use crate::scene::{Scene, Seen, Stage};
use crate::sensor::Develop;
use crate::shot::Shot;
use shimwright_geom::{GreyPicture, Vec3};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Parts of a pixel each way.
const PARTS: usize = 4;
/// Samples of a part beside a change: on a pattern in which no two share a row or a column.
const SAMPLES: usize = 16;
/// Distance of the rays over what changes slowly, px. Nothing that is thinner may stand alone before it.
const COARSE: usize = 4;
/// Side of the tiles that are worked on at a time, px.
pub(crate) const TILE: usize = 64;

/// Takes the photo. The same seed gives the same noise, whatever the number of threads.
pub fn render(scene: &Scene, shot: &Shot, seed: u64) -> GreyPicture {
    let frame = Frame::new(scene, shot);
    let develop = Develop::new(shot, seed);
    let (width, height) = (frame.width, frame.height);
    let (across, down) = (width.div_ceil(TILE), height.div_ceil(TILE));
    let bands: Vec<Mutex<Vec<u8>>> = (0..down)
        .map(|band| Mutex::new(vec![0; width * TILE.min(height - band * TILE)]))
        .collect();
    let next = AtomicUsize::new(0);
    let threads = std::thread::available_parallelism().map_or(1, |n| n.get());
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let band = next.fetch_add(1, Ordering::Relaxed);
                    let Some(slot) = bands.get(band) else { return };
                    let Ok(mut rows) = slot.lock() else { return };
                    for column in 0..across {
                        let tile = Tile::look(&frame, column * TILE, band * TILE);
                        develop.tile(
                            &tile.blurred(shot.sensor.blur_px),
                            (tile.x, tile.y),
                            width,
                            &mut rows,
                        );
                    }
                }
            });
        }
    });
    let data = bands
        .into_iter()
        .flat_map(|band| band.into_inner().unwrap_or_default())
        .collect();
    GreyPicture::new(width, height, data)
        .unwrap_or_else(|| unreachable!("every row of {width} x {height} pixels was filled"))
}

/// What all tiles of a photo share.
struct Frame<'a> {
    stage: Stage<'a>,
    lens: Lens,
    boxes: Vec<Option<[f64; 4]>>,
    width: usize,
    height: usize,
    margin: usize,
}

impl<'a> Frame<'a> {
    fn new(scene: &'a Scene, shot: &'a Shot) -> Self {
        let lens = Lens::new(shot);
        Self {
            stage: Stage::new(scene, &lens.eye()),
            lens,
            boxes: scene
                .surfaces
                .iter()
                .map(|surface| box_of(&surface.form.bounds(), shot))
                .collect(),
            width: shot.camera.width as usize,
            height: shot.camera.height as usize,
            margin: reach(shot.sensor.blur_px).min(MARGIN - 2),
        }
    }
}

/// How far the blur reaches, px.
fn reach(blur_px: f64) -> usize {
    (3.5 * blur_px).ceil() as usize + 1
}

/// The box in the picture that holds points; `None` when it has no bound there.
fn box_of(points: &[Vec3], shot: &Shot) -> Option<[f64; 4]> {
    let mut found = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    for p in points {
        let seen = shot.project(p)?;
        found = [
            found[0].min(seen.x),
            found[1].min(seen.y),
            found[2].max(seen.x),
            found[3].max(seen.y),
        ];
    }
    // Straight sides bend under the lens; these pixels are more than a phone's lens bends a short one by.
    (!points.is_empty()).then_some([found[0] - 12.0, found[1] - 12.0, found[2] + 12.0, found[3] + 12.0])
}

/// A tile with what surrounds it as far as the blur reaches.
struct Tile {
    x: usize,
    y: usize,
    width: usize,
    height: usize,
    margin: usize,
    /// Light of whole pixels, margin included.
    light: Vec<f32>,
    /// Light of the parts of pixels, when something changes in the tile.
    parts: Option<Vec<f32>>,
}

impl Tile {
    fn look(frame: &Frame, x: usize, y: usize) -> Self {
        let (width, height) = (TILE.min(frame.width - x), TILE.min(frame.height - y));
        // One more than the blur reaches: whether a pixel lies beside a change is asked of its neighbours.
        let ring = frame.margin + 1;
        let (columns, rows) = (width + 2 * ring, height + 2 * ring);
        let (left, top) = (x as f64 - ring as f64, y as f64 - ring as f64);
        let near = candidates(frame, [left, top, left + columns as f64, top + rows as f64]);
        let pixels = Pixels {
            lens: &frame.lens,
            stage: &frame.stage,
            near: &near,
        };
        let seen = pixels.whole((left, top), (columns, rows));
        let inner = Inner {
            columns: columns - 2,
            rows: rows - 2,
            stride: columns,
            left: left + 1.0,
            top: top + 1.0,
        };
        let light: Vec<f32> = inner.all().map(|i| seen[inner.among_seen(i)].light).collect();
        let changes: Vec<bool> = inner
            .all()
            .map(|i| beside_change(&seen, inner.among_seen(i), columns))
            .collect();
        let parts = changes
            .contains(&true)
            .then(|| inner.parts(&light, &changes, &seen, &pixels));
        Self {
            x,
            y,
            width,
            height,
            margin: frame.margin,
            light,
            parts,
        }
    }

    /// The light of the tile's own pixels after the blur.
    fn blurred(&self, blur_px: f64) -> Vec<f32> {
        let (columns, rows) = (self.width + 2 * self.margin, self.height + 2 * self.margin);
        let (source, per_pixel) = match &self.parts {
            Some(parts) => (parts, PARTS),
            None => (&self.light, 1),
        };
        let kernel = kernel(blur_px, self.margin, per_pixel);
        let stride = columns * per_pixel;
        let source_rows = rows * per_pixel;
        let mut wide = vec![0f32; source_rows * self.width];
        for row in 0..source_rows {
            let line = &source[row * stride..(row + 1) * stride];
            for x in 0..self.width {
                let taps = &line[x * per_pixel..x * per_pixel + kernel.len()];
                wide[row * self.width + x] = taps.iter().zip(&kernel).map(|(a, b)| a * b).sum();
            }
        }
        let mut out = vec![0f32; self.width * self.height];
        for (y, line) in out.chunks_mut(self.width).enumerate() {
            for (k, weight) in kernel.iter().enumerate() {
                let from = (y * per_pixel + k) * self.width;
                line.iter_mut()
                    .zip(&wide[from..])
                    .for_each(|(a, b)| *a += weight * b);
            }
        }
        out
    }
}

/// The pixels of a tile and its margin, within one more ring of pixels that were looked at.
struct Inner {
    columns: usize,
    rows: usize,
    /// Columns with the ring.
    stride: usize,
    /// Place of the first pixel in the picture.
    left: f64,
    top: f64,
}

impl Inner {
    fn all(&self) -> std::ops::Range<usize> {
        0..self.columns * self.rows
    }

    /// Index of a pixel among those with the ring.
    fn among_seen(&self, i: usize) -> usize {
        (i / self.columns + 1) * self.stride + i % self.columns + 1
    }

    /// The light of all pixels' parts: looked at where something changes, else that of the whole pixel.
    fn parts(&self, light: &[f32], changes: &[bool], seen: &[Seen], pixels: &Pixels) -> Vec<f32> {
        let stride = self.columns * PARTS;
        let mut parts = vec![0f32; light.len() * PARTS * PARTS];
        for (i, (&whole, &changes)) in light.iter().zip(changes).enumerate() {
            let (column, row) = (i % self.columns, i / self.columns);
            let cut = if changes {
                let centre = (self.left + column as f64, self.top + row as f64);
                // Within a print only one surface is in question.
                match only_surface(seen, self.among_seen(i), self.stride) {
                    Some(surface) => Pixels {
                        near: &[surface],
                        ..*pixels
                    }
                    .cut(centre),
                    None => pixels.cut(centre),
                }
            } else {
                [whole; PARTS * PARTS]
            };
            for (k, line) in cut.chunks(PARTS).enumerate() {
                let at = (row * PARTS + k) * stride + column * PARTS;
                parts[at..at + PARTS].copy_from_slice(line);
            }
        }
        parts
    }
}

/// The surfaces that may be seen in a box of the picture.
fn candidates(frame: &Frame, place: [f64; 4]) -> Vec<u16> {
    let touches = |b: &Option<[f64; 4]>| {
        b.is_none_or(|b| b[0] <= place[2] && b[2] >= place[0] && b[1] <= place[3] && b[3] >= place[1])
    };
    (0..frame.boxes.len())
        .filter(|&i| touches(&frame.boxes[i]))
        .map(|i| i as u16)
        .collect()
}

/// Whether one of the eight neighbours shows something else.
fn beside_change(seen: &[Seen], at: usize, step: usize) -> bool {
    let class = seen[at].class;
    [at - step, at, at + step]
        .iter()
        .any(|&row| (row - 1..=row + 1).any(|i| seen[i].class != class))
}

/// The one surface that a pixel and its eight neighbours show, if it is one.
fn only_surface(seen: &[Seen], at: usize, step: usize) -> Option<u16> {
    let surface = seen[at].class / 2;
    let one = [at - step, at, at + step]
        .iter()
        .all(|&row| (row - 1..=row + 1).all(|i| seen[i].class / 2 == surface));
    (one && seen[at].class != u16::MAX).then_some(surface)
}

/// Whether one of the four neighbours shows something else.
fn beside_change_across(seen: &[Seen], at: usize, step: usize) -> bool {
    let class = seen[at].class;
    [at - step, at - 1, at + 1, at + step]
        .iter()
        .any(|&i| seen[i].class != class)
}

/// What is needed to look closer at a pixel.
struct Pixels<'a> {
    lens: &'a Lens,
    stage: &'a Stage<'a>,
    near: &'a [u16],
}

impl Pixels<'_> {
    fn see(&self, x: f64, y: f64) -> Seen {
        self.stage.see(&self.lens.along(x, y), self.near)
    }

    /// What the middle of each pixel of a box sees.
    fn whole(&self, (left, top): (f64, f64), (columns, rows): (usize, usize)) -> Vec<Seen> {
        if let Some(seen) = self.smooth((left, top), (columns, rows)) {
            return seen;
        }
        (0..rows * columns)
            .map(|i| self.see(left + (i % columns) as f64, top + (i / columns) as f64))
            .collect()
    }

    /// The same from a few rays, where all of them see one surface that changes slowly.
    fn smooth(&self, (left, top): (f64, f64), (columns, rows): (usize, usize)) -> Option<Vec<Seen>> {
        let (across, down) = (
            (columns - 1).div_ceil(COARSE) + 1,
            (rows - 1).div_ceil(COARSE) + 1,
        );
        let place = |i: usize| (i * COARSE) as f64;
        let first = self.see(left, top);
        if !self.stage.is_smooth(first.class) {
            return None;
        }
        let mut nodes = Vec::with_capacity(across * down);
        for i in 0..across * down {
            let seen = self.see(left + place(i % across), top + place(i / across));
            if seen.class != first.class {
                return None;
            }
            nodes.push(seen.light);
        }
        let share = |i: usize| (i % COARSE) as f32 / COARSE as f32;
        let between = |i: usize| {
            let (x, y) = (i % columns, i / columns);
            let at = (y / COARSE).min(down - 2) * across + (x / COARSE).min(across - 2);
            let (fx, fy) = (share(x), share(y));
            let row = |at: usize| nodes[at] + (nodes[at + 1] - nodes[at]) * fx;
            row(at) + (row(at + across) - row(at)) * fy
        };
        Some(
            (0..rows * columns)
                .map(|i| Seen {
                    class: first.class,
                    light: between(i),
                })
                .collect(),
        )
    }

    /// The light of a pixel's parts.
    fn cut(&self, centre: (f64, f64)) -> [f32; PARTS * PARTS] {
        // A ring of parts around the pixel's own tells whether a part lies beside a change.
        const SIDE: usize = PARTS + 2;
        let part = 1.0 / PARTS as f64;
        let place = |k: usize| (k as f64 - 0.5) * part - 0.5;
        let seen: [Seen; SIDE * SIDE] =
            std::array::from_fn(|i| self.see(centre.0 + place(i % SIDE), centre.1 + place(i / SIDE)));
        std::array::from_fn(|k| {
            let (column, row) = (k % PARTS + 1, k / PARTS + 1);
            let at = row * SIDE + column;
            if !beside_change_across(&seen, at, SIDE) {
                return seen[at].light;
            }
            let sum: f32 = (0..SAMPLES)
                .map(|s| {
                    // Multiples of 7 modulo 16 visit every column once, spread over the rows.
                    let offset = |i: usize| ((i as f64 + 0.5) / SAMPLES as f64 - 0.5) * part;
                    let (dx, dy) = (offset(s), offset((s * 7 + 3) % SAMPLES));
                    self.see(centre.0 + place(column) + dx, centre.1 + place(row) + dy)
                        .light
                })
                .sum();
            sum / SAMPLES as f32
        })
    }
}

/// Weights of the pixels, or of their parts, about a pixel: the pixel's own area blurred by a Gaussian.
fn kernel(blur_px: f64, margin: usize, per_pixel: usize) -> Vec<f32> {
    let count = (2 * margin + 1) * per_pixel;
    let middle = (count as f64 - 1.0) / 2.0;
    let sigma = blur_px * per_pixel as f64;
    let gauss = |d: f64| {
        if sigma > 0.0 {
            (-0.5 * (d / sigma).powi(2)).exp()
        } else {
            f64::from(d.abs() < 0.5)
        }
    };
    let weight = |k: usize| -> f64 {
        (0..per_pixel)
            .map(|p| gauss(k as f64 - middle - (p as f64 - (per_pixel as f64 - 1.0) / 2.0)))
            .sum()
    };
    let weights: Vec<f64> = (0..count).map(weight).collect();
    let total: f64 = weights.iter().sum();
    weights.iter().map(|w| (w / total) as f32).collect()
}

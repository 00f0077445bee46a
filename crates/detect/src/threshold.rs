//! Reduced pictures and the local threshold that separates dark from light.

use shimwright_geom::GreyPicture;

/// Side of a threshold tile in pixels. Each tile is judged by itself and its eight neighbours.
const TILE: usize = 4;

/// The picture at half the size, each pixel from 4 x 4 of the finer one with binomial weights 1 3 3 1, so that
/// noise falls to a third; an odd last row or column is left out. `None` when nothing is left.
pub fn halved(picture: &GreyPicture) -> Option<GreyPicture> {
    let (w, h) = (picture.width() / 2, picture.height() / 2);
    let mut data = Vec::with_capacity(w * h);
    let mut column = vec![0u16; picture.width()];
    for y in 0..h {
        let below = (2 * y + 2).min(picture.height() - 1);
        let rows = [(2 * y).saturating_sub(1), 2 * y, 2 * y + 1, below].map(|y| picture.row(y));
        for (x, sum) in column.iter_mut().enumerate() {
            let [a, b, c, d] = rows.map(|r| u16::from(r[x]));
            *sum = a + d + 3 * (b + c);
        }
        for x in 0..w {
            let (before, after) = ((2 * x).saturating_sub(1), (2 * x + 2).min(picture.width() - 1));
            let sum = column[before] + column[after] + 3 * (column[2 * x] + column[2 * x + 1]);
            data.push(((sum + 32) >> 6) as u8);
        }
    }
    GreyPicture::new(w, h, data)
}

/// For each tile the level below which a pixel counts as dark; 0 where the neighbourhood has no contrast.
pub(crate) struct Threshold {
    columns: usize,
    rows: usize,
    level: Vec<u8>,
}

impl Threshold {
    /// Levels halfway between the darkest and the lightest pixel of 3 x 3 tiles.
    pub(crate) fn of(picture: &GreyPicture, min_contrast: u8) -> Self {
        let columns = picture.width() / TILE;
        let rows = picture.height() / TILE;
        let (low, high) = tile_extremes(picture, columns, rows);
        let low = spread(&low, columns, rows, u8::min);
        let high = spread(&high, columns, rows, u8::max);
        let level = low
            .iter()
            .zip(&high)
            .map(|(&a, &b)| {
                if b - a < min_contrast {
                    0
                } else {
                    (u16::from(a) + u16::from(b)).div_ceil(2) as u8
                }
            })
            .collect();
        Self { columns, rows, level }
    }

    /// Height in pixels that the tiles cover.
    pub(crate) fn height(&self) -> usize {
        self.rows * TILE
    }

    /// Width in pixels that the tiles cover.
    pub(crate) fn width(&self) -> usize {
        self.columns * TILE
    }

    /// Marks the dark pixels of row `y` in `dark`, which is as long as [`Threshold::width`].
    pub(crate) fn mark_row(&self, pixels: &[u8], y: usize, dark: &mut [bool]) {
        let at = (y / TILE) * self.columns;
        let levels = &self.level[at..at + self.columns];
        for ((p, d), &level) in pixels
            .chunks_exact(TILE)
            .zip(dark.chunks_exact_mut(TILE))
            .zip(levels)
        {
            for (d, &p) in d.iter_mut().zip(p) {
                *d = p < level;
            }
        }
    }
}

fn tile_extremes(picture: &GreyPicture, columns: usize, rows: usize) -> (Vec<u8>, Vec<u8>) {
    let mut low = vec![u8::MAX; columns * rows];
    let mut high = vec![0; columns * rows];
    for ty in 0..rows {
        let low = &mut low[ty * columns..(ty + 1) * columns];
        let high = &mut high[ty * columns..(ty + 1) * columns];
        for y in ty * TILE..(ty + 1) * TILE {
            for ((p, l), h) in picture
                .row(y)
                .chunks_exact(TILE)
                .zip(low.iter_mut())
                .zip(high.iter_mut())
            {
                *l = p.iter().fold(*l, |a, &b| a.min(b));
                *h = p.iter().fold(*h, |a, &b| a.max(b));
            }
        }
    }
    (low, high)
}

/// The extreme of each tile and its neighbours.
fn spread(values: &[u8], columns: usize, rows: usize, pick: fn(u8, u8) -> u8) -> Vec<u8> {
    let mut across = values.to_vec();
    for y in 0..rows {
        let row = &values[y * columns..(y + 1) * columns];
        for x in 0..columns {
            let left = row[x.saturating_sub(1)];
            let right = row[(x + 1).min(columns - 1)];
            across[y * columns + x] = pick(pick(left, right), row[x]);
        }
    }
    let mut out = across.clone();
    for y in 0..rows {
        let (up, down) = (y.saturating_sub(1) * columns, (y + 1).min(rows - 1) * columns);
        for x in 0..columns {
            out[y * columns + x] = pick(pick(across[up + x], across[down + x]), across[y * columns + x]);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halving_keeps_a_slope_and_its_place() {
        // Pixel (x, y) of the half lies at (2 x + 0.5, 2 y + 0.5) of the whole.
        let (w, h) = (40, 21);
        let data = (0..h)
            .flat_map(|y| (0..w).map(move |x| (4 * x + 2 * y) as u8))
            .collect();
        let half = halved(&GreyPicture::new(w, h, data).unwrap()).unwrap();
        assert_eq!((half.width(), half.height()), (20, 10));
        for y in 1..9 {
            for x in 1..19 {
                assert_eq!(usize::from(half.at(x, y)), 8 * x + 4 * y + 3);
            }
        }
    }

    #[test]
    fn dark_is_told_from_light_on_a_slope_of_light() {
        // Light falls off from left to right; a dark bar of half the local light crosses it.
        let (w, h) = (64, 32);
        let data = (0..h)
            .flat_map(|y| {
                (0..w).map(move |x| {
                    let light = 250 - x;
                    if (12..18).contains(&y) {
                        (light / 2) as u8
                    } else {
                        light as u8
                    }
                })
            })
            .collect();
        let p = GreyPicture::new(w, h, data).unwrap();
        let t = Threshold::of(&p, 14);
        let mut dark = vec![false; t.width()];
        for y in 0..t.height() {
            t.mark_row(p.row(y), y, &mut dark);
            let expected = (12..18).contains(&y);
            assert!(dark.iter().all(|&d| d == expected), "row {y}");
        }
    }
}

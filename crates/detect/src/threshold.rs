//! Reduced pictures and the local threshold that separates dark from light.

use crate::cores;
use shimwright_geom::GreyPicture;
use std::ops::Range;

/// Side of a threshold tile in pixels (`tile_extremes` names its four rows). Each tile is judged by itself and its eight
/// neighbours.
const TILE: usize = 4;

/// The picture at half the size, each pixel from 4 x 4 of the finer one with binomial weights 1 3 3 1, so that
/// noise falls to a third; an odd last row or column is left out. `None` when nothing is left.
pub fn halved(picture: &GreyPicture) -> Option<GreyPicture> {
    let (w, h) = (picture.width() / 2, picture.height() / 2);
    let shares = h.div_ceil(ROWS);
    let parts = cores::map(shares, 1, |k| {
        halved_rows(picture, k * ROWS..h.min((k + 1) * ROWS))
    });
    GreyPicture::new(w, h, parts.concat())
}

/// Rows that a thread takes at a time.
const ROWS: usize = 128;

fn halved_rows(picture: &GreyPicture, rows: Range<usize>) -> Vec<u8> {
    let w = picture.width() / 2;
    let mut data = Vec::with_capacity(w * rows.len());
    // Sums down the columns, with the first and the last one repeated on either side.
    let mut column = vec![0u16; picture.width() + 2];
    for y in rows {
        let below = (2 * y + 2).min(picture.height() - 1);
        let rows = [(2 * y).saturating_sub(1), 2 * y, 2 * y + 1, below].map(|y| picture.row(y));
        let [first, second, third, fourth] = rows;
        let four = first.iter().zip(second).zip(third.iter().zip(fourth));
        for (sum, ((a, b), (c, d))) in column[1..].iter_mut().zip(four) {
            *sum = u16::from(*a) + u16::from(*d) + 3 * (u16::from(*b) + u16::from(*c));
        }
        column[0] = column[1];
        column[picture.width() + 1] = column[picture.width()];
        let (pairs, _) = column.as_chunks::<2>();
        data.extend(
            pairs
                .iter()
                .zip(&pairs[1..])
                .take(w)
                .map(|([before, a], [b, after])| {
                    let sum = before + after + 3 * (a + b);
                    ((sum + 32) >> 6) as u8
                }),
        );
    }
    data
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
        if columns == 0 || rows == 0 {
            return Self {
                columns: 0,
                rows: 0,
                level: Vec::new(),
            };
        }
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

    /// Room for a row of bits, and for the levels of its pixels.
    pub(crate) fn row_of_bits(&self) -> DarkRow {
        let words = self.width().div_ceil(WORD);
        DarkRow {
            bits: vec![0; words],
            levels: vec![0; words * WORD],
            tile_row: usize::MAX,
        }
    }

    /// Marks the dark pixels of row `y`.
    pub(crate) fn mark_row(&self, pixels: &[u8], y: usize, row: &mut DarkRow) {
        if row.tile_row != y / TILE {
            row.tile_row = y / TILE;
            let at = row.tile_row * self.columns;
            let levels = &self.level[at..at + self.columns];
            for (wide, &level) in row.levels.chunks_exact_mut(TILE).zip(levels) {
                wide.fill(level);
            }
        }
        let pixels = &pixels[..self.width()];
        let whole = pixels.chunks_exact(WORD);
        let rest = whole.remainder();
        let (levels, last) = row.levels.as_chunks::<WORD>();
        debug_assert!(last.is_empty(), "levels fill whole words");
        for ((bits, pixels), levels) in row.bits.iter_mut().zip(whole).zip(levels) {
            *bits = darker(pixels, levels);
        }
        if let (false, Some(bits), Some(levels)) = (rest.is_empty(), row.bits.last_mut(), levels.last()) {
            let mut padded = [u8::MAX; WORD];
            padded[..rest.len()].copy_from_slice(rest);
            *bits = darker(&padded, levels);
        }
    }
}

/// Pixels of a word of bits.
const WORD: usize = 64;

/// The dark pixels of a row: a bit each, lowest first, zero beyond the last tile.
pub(crate) struct DarkRow {
    bits: Vec<u64>,
    /// The level of each pixel, for the rows of one tile.
    levels: Vec<u8>,
    tile_row: usize,
}

impl DarkRow {
    pub(crate) fn bits(&self) -> &[u64] {
        &self.bits
    }
}

/// A bit for each pixel below its level.
#[inline]
fn darker(pixels: &[u8], levels: &[u8; WORD]) -> u64 {
    // Moves the lowest bit of byte k to bit 56 + k.
    const GATHER: u64 = 0x0102_0408_1020_4080;
    let mut dark = [0_u8; WORD];
    for ((dark, pixel), level) in dark.iter_mut().zip(pixels).zip(levels) {
        *dark = u8::from(pixel < level);
    }
    let (bytes, _) = dark.as_chunks::<8>();
    let gathered = bytes
        .iter()
        .map(|eight| u64::from_le_bytes(*eight).wrapping_mul(GATHER) >> 56);
    gathered
        .enumerate()
        .fold(0, |word, (k, byte)| word | byte << (8 * k))
}

fn tile_extremes(picture: &GreyPicture, columns: usize, rows: usize) -> (Vec<u8>, Vec<u8>) {
    let share = ROWS / TILE;
    let parts = cores::map(rows.div_ceil(share), 1, |k| {
        extremes_of_rows(picture, columns, k * share..rows.min((k + 1) * share))
    });
    let (low, high): (Vec<_>, Vec<_>) = parts.into_iter().unzip();
    (low.concat(), high.concat())
}

fn extremes_of_rows(picture: &GreyPicture, columns: usize, rows: Range<usize>) -> (Vec<u8>, Vec<u8>) {
    let mut low = Vec::with_capacity(columns * rows.len());
    let mut high = Vec::with_capacity(columns * rows.len());
    let (mut lows, mut highs) = (vec![0; columns * TILE], vec![0; columns * TILE]);
    for ty in rows {
        // First down the columns of pixels, many at once, then across each tile.
        let pixels = [0, 1, 2, 3].map(|k| &picture.row(ty * TILE + k)[..columns * TILE]);
        for (x, (l, h)) in lows.iter_mut().zip(&mut highs).enumerate() {
            let [a, b, c, d] = [pixels[0][x], pixels[1][x], pixels[2][x], pixels[3][x]];
            *l = a.min(b).min(c.min(d));
            *h = a.max(b).max(c.max(d));
        }
        let (lows, _) = lows.as_chunks::<TILE>();
        let (highs, _) = highs.as_chunks::<TILE>();
        low.extend(lows.iter().map(|[a, b, c, d]| *a.min(b).min(c.min(d))));
        high.extend(highs.iter().map(|[a, b, c, d]| *a.max(b).max(c.max(d))));
    }
    (low, high)
}

/// The extreme of each tile and its neighbours.
fn spread(values: &[u8], columns: usize, rows: usize, pick: impl Fn(u8, u8) -> u8) -> Vec<u8> {
    let mut across = values.to_vec();
    for (row, across) in values.chunks_exact(columns).zip(across.chunks_exact_mut(columns)) {
        for (to, (left, right)) in across[1..].iter_mut().zip(row.iter().zip(&row[1..])) {
            *to = pick(*left, *right);
        }
        for (to, right) in across.iter_mut().zip(&row[1..]) {
            *to = pick(*to, *right);
        }
    }
    let mut out = across.clone();
    for y in 0..rows {
        let row = |y: usize| &across[y * columns..(y + 1) * columns];
        let (up, down) = (row(y.saturating_sub(1)), row((y + 1).min(rows - 1)));
        for (to, (up, down)) in out[y * columns..].iter_mut().zip(up.iter().zip(down)) {
            *to = pick(*to, pick(*up, *down));
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
        let mut dark = t.row_of_bits();
        for y in 0..t.height() {
            t.mark_row(p.row(y), y, &mut dark);
            let expected = if (12..18).contains(&y) { u64::MAX } else { 0 };
            assert_eq!(dark.bits(), [expected], "row {y}");
        }
    }
}

//! The tag family tag36h11: 587 codes of 36 bits, any two at least 11 bits apart in every turn.
//!
//! # Bit order
//! The 6 x 6 data cells of the upright tag as printed, row by row from the top left, inside a black border one
//! module wide; white is 1. Bit 35 (the most significant) is the top-left cell, bit 0 the bottom-right one.
//!
//! "Upright" is OpenCV's reading of the family. The AprilTag C library's tags of version 2 (its id 0 is
//! `0xd5d628584`, also row by row) are the same printed tags turned by half a turn.

mod codes;

use codes::CODES;

/// How many ids the family has: 0 to 586.
pub const COUNT: u32 = CODES.len() as u32;

/// Data cells along one side.
pub const DATA_CELLS: usize = 6;

/// Cells along one side with the black border.
pub const CELLS: usize = DATA_CELLS + 2;

/// Wrong bits that can be told from every other code: half of the family's distance of 11, rounded down.
pub const MAX_HAMMING: u32 = 5;

/// Fewest differing bits between two tags of the family in any turn, and between a tag and itself turned.
pub const DISTANCE: u32 = 11;

/// What a grid of cells was read as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decoded {
    /// The tag's id.
    pub id: u32,
    /// Quarter turns clockwise, 0 to 3, by which the read grid is turned against the upright tag. Corner `k` of
    /// the upright tag is corner `(k + rotation) % 4` of the read grid, both counted clockwise from the top left.
    pub rotation: u32,
    /// Bits that were read wrong.
    pub hamming: u32,
}

/// The code of a tag, `None` beyond the family. For the bit order see the module.
pub fn bits(id: u32) -> Option<u64> {
    CODES.get(id as usize).copied()
}

/// All cells of the upright tag with its border, `cells[row][column]`, white is true. `None` beyond the family.
pub fn cells(id: u32) -> Option<[[bool; CELLS]; CELLS]> {
    let code = bits(id)?;
    let mut cells = [[false; CELLS]; CELLS];
    for row in 0..DATA_CELLS {
        for column in 0..DATA_CELLS {
            cells[row + 1][column + 1] = code >> bit_of(row, column) & 1 == 1;
        }
    }
    Some(cells)
}

/// Finds the tag whose code is nearest to 36 bits read from a picture, in any of four turns.
///
/// `None` when the nearest is more than `max_hamming` bits away. Beyond [`MAX_HAMMING`] two codes could be
/// equally near, so a larger `max_hamming` counts as that.
pub fn decode(read: u64, max_hamming: u32) -> Option<Decoded> {
    let mut upright = read & MASK;
    for rotation in 0..4 {
        let limit = max_hamming.min(MAX_HAMMING);
        // Within half the family's distance there is at most one such code over all turns: the first is it.
        let hit = CODES.iter().position(|code| has_at_most(code ^ upright, limit));
        if let Some(id) = hit {
            let hamming = (CODES[id] ^ upright).count_ones();
            return Some(Decoded {
                id: id as u32,
                rotation,
                hamming,
            });
        }
        upright = turned_anticlockwise(upright);
    }
    None
}

/// Whether no more bits are set than that; quicker than counting them where the machine cannot.
fn has_at_most(mut bits: u64, limit: u32) -> bool {
    for _ in 0..limit {
        bits &= bits.wrapping_sub(1);
    }
    bits == 0
}

const MASK: u64 = (1 << (DATA_CELLS * DATA_CELLS)) - 1;

fn bit_of(row: usize, column: usize) -> usize {
    DATA_CELLS * DATA_CELLS - 1 - (row * DATA_CELLS + column)
}

/// The grid after a quarter turn anticlockwise: what stood at the top right comes to the top left.
fn turned_anticlockwise(bits: u64) -> u64 {
    let mut turned = 0;
    for row in 0..DATA_CELLS {
        for column in 0..DATA_CELLS {
            let from = bit_of(column, DATA_CELLS - 1 - row);
            turned |= (bits >> from & 1) << bit_of(row, column);
        }
    }
    turned
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned_clockwise(bits: u64, turns: u32) -> u64 {
        (0..(4 - turns) % 4).fold(bits, |b, _| turned_anticlockwise(b))
    }

    /// `0xd5d628584` is the first code of tag36h11 in the AprilTag C library, version 2 (`tag36h11.c`).
    #[test]
    fn id_0_turned_by_half_is_the_first_code_of_the_c_library() {
        assert_eq!(turned_clockwise(bits(0).unwrap(), 2), 0xd_5d62_8584);
    }

    #[test]
    fn the_first_bit_is_the_top_left_cell() {
        let code = bits(0).unwrap();
        let cells = cells(0).unwrap();
        assert_eq!(cells[1][1], code >> 35 & 1 == 1);
        assert_eq!(cells[1][6], code >> 30 & 1 == 1);
        assert_eq!(cells[6][6], code & 1 == 1);
        assert!(cells[0].iter().chain(&cells[7]).all(|white| !white));
        assert!(cells.iter().all(|row| !row[0] && !row[7]));
        assert!(bits(COUNT).is_none());
    }

    /// The family's name promises a distance of 11 bits (the 11 in 36h11).
    #[test]
    fn all_codes_are_11_bits_apart_in_every_turn() {
        let mut least = 36;
        for a in 0..COUNT {
            for b in a..COUNT {
                for turns in 0..4 {
                    if a == b && turns == 0 {
                        continue;
                    }
                    let other = turned_clockwise(bits(b).unwrap(), turns);
                    least = least.min((bits(a).unwrap() ^ other).count_ones());
                }
            }
        }
        assert_eq!(least, DISTANCE);
    }

    #[test]
    fn a_turned_tag_tells_its_turn() {
        for id in [0, 7, 100, 207, 586] {
            for turns in 0..4 {
                let read = turned_clockwise(bits(id).unwrap(), turns);
                assert_eq!(
                    decode(read, 0),
                    Some(Decoded {
                        id,
                        rotation: turns,
                        hamming: 0
                    })
                );
            }
        }
    }

    #[test]
    fn a_corner_of_the_upright_tag_is_found_in_the_turned_grid() {
        // Only the top-left cell is white; a clockwise quarter turn brings it to the top right: corner 0 -> 1.
        let top_left = 1 << bit_of(0, 0);
        assert_eq!(turned_clockwise(top_left, 1), 1 << bit_of(0, DATA_CELLS - 1));
        assert_eq!(turned_clockwise(top_left, 3), 1 << bit_of(DATA_CELLS - 1, 0));
    }

    #[test]
    fn wrong_bits_are_counted_and_limited() {
        let code = bits(42).unwrap();
        let read = code ^ 0b1011 ^ (1 << 35) ^ (1 << 20);
        assert_eq!(
            decode(read, 5),
            Some(Decoded {
                id: 42,
                rotation: 0,
                hamming: 5
            })
        );
        assert_eq!(decode(read, 4), None);
        assert_eq!(
            decode(code ^ 0x3f, 36),
            None,
            "six wrong bits are beyond what the family can tell"
        );
    }
}

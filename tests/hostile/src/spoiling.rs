//! Ways in which good input is spoiled: by chance, and by what breaks parsers.

use shimwright_geom::Random;

/// Numbers at the ends of what fits.
const EXTREMES: [u32; 9] = [0, 1, 0x7f, 0x80, 0xff, 0x7fff, 0xffff, 0x7fff_ffff, 0xffff_ffff];
/// The same in text, and words that numbers turn into.
const WORDS: [&str; 12] = [
    "0",
    "-1",
    "1e308",
    "-1e-308",
    "1e999",
    "NaN",
    "null",
    "[]",
    "{}",
    "\"\"",
    "18446744073709551616",
    "0.1",
];
/// Most places that are spoiled at once.
const MOST_PLACES: u64 = 8;

/// Spoils input; the same seed spoils in the same way.
#[derive(Debug)]
pub struct Spoiler {
    random: Random,
}

impl Spoiler {
    /// With a seed.
    pub fn new(seed: u64) -> Self {
        Self {
            random: Random::new(seed),
        }
    }

    fn below(&mut self, end: usize) -> usize {
        (self.random.bits() % end.max(1) as u64) as usize
    }

    /// A spoiled copy of one of the seeds.
    pub fn spoiled(&mut self, seeds: &[Vec<u8>]) -> Vec<u8> {
        let Some(first) = seeds.get(self.below(seeds.len())) else {
            return Vec::new();
        };
        let mut bytes = first.clone();
        // One place alone often leaves the rest readable, so that what lies behind a parser is reached as well.
        let further = if self.random.chance(0.5) {
            0
        } else {
            self.random.bits() % MOST_PLACES
        };
        for _ in 0..=further {
            let at = self.place(&bytes);
            match self.below(10) {
                0 | 1 => self.flip(&mut bytes, at),
                2 => self.extreme(&mut bytes, at),
                3 => self.number(&mut bytes, at),
                4 => self.twice(&mut bytes, at),
                5 => drop(bytes.drain(at..(at + 1 + self.below(64)).min(bytes.len()))),
                6 => bytes.truncate(at),
                7 => self.other(&mut bytes, at, seeds),
                8 => self.noise(&mut bytes, at),
                _ => self.swap(&mut bytes, at),
            }
        }
        bytes
    }

    /// A place, often near the beginning, where headers are.
    fn place(&mut self, bytes: &[u8]) -> usize {
        let reach = if self.random.chance(0.5) {
            bytes.len().min(512)
        } else {
            bytes.len()
        };
        self.below(reach)
    }

    fn flip(&mut self, bytes: &mut [u8], at: usize) {
        if let Some(byte) = bytes.get_mut(at) {
            *byte ^= 1 << (self.random.bits() % 8);
        }
    }

    fn extreme(&mut self, bytes: &mut [u8], at: usize) {
        let value = EXTREMES[self.below(EXTREMES.len())];
        let width = 1 << self.below(3);
        let told = if self.random.chance(0.5) {
            value.to_be_bytes()
        } else {
            value.to_le_bytes()
        };
        for (slot, byte) in bytes.iter_mut().skip(at).take(width).zip(told.iter().rev()) {
            *slot = *byte;
        }
    }

    /// Puts a word in the place of the next number, where there is one.
    fn number(&mut self, bytes: &mut Vec<u8>, at: usize) {
        let is_part = |b: &u8| b.is_ascii_digit() || matches!(b, b'-' | b'+' | b'.' | b'e');
        let Some(from) = bytes[at..].iter().position(u8::is_ascii_digit).map(|k| at + k) else {
            return;
        };
        let length = bytes[from..].iter().take_while(|b| is_part(b)).count();
        let word = WORDS[self.below(WORDS.len())];
        bytes.splice(from..from + length, word.bytes());
    }

    fn twice(&mut self, bytes: &mut Vec<u8>, at: usize) {
        let end = (at + 1 + self.below(256)).min(bytes.len());
        let part = bytes[at..end].to_vec();
        let times = if self.random.chance(0.1) { 40 } else { 1 };
        for _ in 0..times {
            bytes.splice(at..at, part.iter().copied());
        }
    }

    /// A part of another seed.
    fn other(&mut self, bytes: &mut Vec<u8>, at: usize, seeds: &[Vec<u8>]) {
        let other = &seeds[self.below(seeds.len())];
        let from = self.below(other.len());
        let part = &other[from..(from + 1 + self.below(512)).min(other.len())];
        let end = (at + part.len()).min(bytes.len());
        bytes.splice(at..end, part.iter().copied());
    }

    fn noise(&mut self, bytes: &mut [u8], at: usize) {
        let length = 1 + self.below(32);
        for byte in bytes.iter_mut().skip(at).take(length) {
            *byte = self.random.bits() as u8;
        }
    }

    fn swap(&mut self, bytes: &mut [u8], at: usize) {
        let to = self.below(bytes.len());
        if at < bytes.len() {
            bytes.swap(at, to);
        }
    }
}

//! SHA-256 as text.

use sha2::{Digest, Sha256};
use std::fmt::Write as _;

/// SHA-256 in hexadecimal (FIPS 180-4).
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Bytes as lower-case hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
            // Writing to a string cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        })
}

/// The bytes that hexadecimal digits stand for; `None` when they are not `N` bytes.
pub(crate) fn from_hex<const N: usize>(text: &str) -> Option<[u8; N]> {
    if text.len() != 2 * N || !text.bytes().all(|digit| digit.is_ascii_hexdigit()) {
        return None;
    }
    let mut bytes = [0; N];
    for (byte, place) in bytes.iter_mut().zip((0..).step_by(2)) {
        *byte = u8::from_str_radix(text.get(place..place + 2)?, 16).ok()?;
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4's example message "abc" (NIST, SHA256 example values).
    #[test]
    fn sums_are_sha_256() {
        assert_eq!(
            sha256_hex(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn digits_come_back_as_bytes() {
        assert_eq!(from_hex("00fF10"), Some([0, 255, 16]));
        for wrong in ["", "00", "00ff1", "00ff1g", "+0ff10", "00ff1é"] {
            assert_eq!(from_hex::<3>(wrong), None, "{wrong}");
        }
    }
}

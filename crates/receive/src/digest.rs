//! SHA-256 as text.

use sha2::{Digest, Sha256};
use std::fmt::Write as _;

/// SHA-256 in lower-case hexadecimal (FIPS 180-4).
pub(crate) fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
            // Writing to a string cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        })
}

/// Whether a text is a SHA-256 as this program writes it.
pub(crate) fn is_sha256(text: &str) -> bool {
    text.len() == 64
        && text
            .bytes()
            .all(|sign| sign.is_ascii_digit() || (b'a'..=b'f').contains(&sign))
}

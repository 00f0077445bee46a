//! The zip archive (APPNOTE.TXT 6.3, the parts without encryption, spanning and 64 bit lengths).

mod index;
mod unpack;
mod write;

pub(crate) use index::read_index;
pub(crate) use unpack::unpack;
pub(crate) use write::{Part, write};

/// How large a bundle may be before it is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Most bytes of the archive, and of all its files unpacked.
    pub bytes: u64,
    /// Most bytes of one file unpacked.
    pub file_bytes: u64,
    /// Most entries.
    pub entries: u64,
    /// Most bytes that one byte of a packed entry may become.
    pub expansion: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            bytes: 1_000_000_000,
            file_bytes: 100_000_000,
            entries: 1_000,
            expansion: 100,
        }
    }
}

// Signatures of the records (APPNOTE 4.3.7, 4.3.12, 4.3.16).
const LOCAL: u32 = 0x0403_4b50;
const CENTRAL: u32 = 0x0201_4b50;
const END: u32 = 0x0605_4b50;

/// Length of a local header without its name.
const LOCAL_BYTES: usize = 30;
/// Length of a central header without its name.
const CENTRAL_BYTES: usize = 46;
/// Length of the end record without its comment.
const END_BYTES: usize = 22;

/// The bytes as a 16 bit number, lowest first.
fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    bytes.get(at..at + 2)?.try_into().ok().map(u16::from_le_bytes)
}

/// The bytes as a 32 bit number, lowest first.
fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..at + 4)?.try_into().ok().map(u32::from_le_bytes)
}

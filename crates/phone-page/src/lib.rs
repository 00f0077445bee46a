//! The built page for phones, as bytes in the program.
//!
//! A crate of its own, because it changes with every build of the page and nothing but the two shells should be compiled
//! again for that.
//!
//! ```
//! for (path, bytes) in shimwright_phone_page::FILES {
//!     assert!(!path.starts_with('/') && !bytes.is_empty());
//! }
//! ```

/// Path and bytes of every file; empty when the page was not built before the program.
pub const FILES: &[(&str, &[u8])] = include!(concat!(env!("OUT_DIR"), "/files.rs"));

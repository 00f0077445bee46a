//! Part of Shimwright.

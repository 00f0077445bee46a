//! The window.
fn main() {}

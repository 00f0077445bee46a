//! Starts the window on a desk; everything is in the library.

// No console beside the window on Windows.
#![cfg_attr(not(debug_assertions), windows_subsystem = "windows")]

fn main() {
    shimwright_window::run();
}

#![no_main]
//! The entrance `camera`.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shimwright_hostile::take_in("camera", bytes));

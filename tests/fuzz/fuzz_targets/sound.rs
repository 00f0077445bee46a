#![no_main]
//! The entrance `sound`.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shimwright_hostile::take_in("sound", bytes));

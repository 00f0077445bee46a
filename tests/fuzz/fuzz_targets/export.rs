#![no_main]
//! The entrance `export`.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shimwright_hostile::take_in("export", bytes));

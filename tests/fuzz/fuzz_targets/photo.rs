#![no_main]
//! The entrance `photo`.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shimwright_hostile::take_in("photo", bytes));

#![no_main]
//! The entrance `job`.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shimwright_hostile::take_in("job", bytes));

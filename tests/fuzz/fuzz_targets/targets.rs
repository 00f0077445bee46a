#![no_main]
//! The entrance `targets`.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shimwright_hostile::take_in("targets", bytes));

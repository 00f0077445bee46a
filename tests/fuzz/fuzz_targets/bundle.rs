#![no_main]
//! The entrance `bundle`.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shimwright_hostile::take_in("bundle", bytes));

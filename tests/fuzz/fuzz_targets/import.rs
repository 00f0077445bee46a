#![no_main]
//! The entrance `import`.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shimwright_hostile::take_in("import", bytes));

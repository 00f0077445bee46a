//! A backup that becomes larger than what was written into one is refused before it fills the disk.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{Bench, minute};
use shimwright_history::{Error, History};

/// A sparse entry of a few bytes that says it is a tebibyte long, under the name of a photo and under the database's.
#[tokio::test]
async fn a_backup_that_would_swell_is_refused_by_its_numbers() {
    for name in [format!("photos/{}", "ab".repeat(32)), "history.sqlite3".into()] {
        let bench = Bench::sqlite().unwrap();
        let bomb = bench.path("bomb.tar");
        std::fs::write(&bomb, sparse_entry(&name, 1 << 40)).unwrap();
        let refused = History::restore(&bench.home, &bomb, "0.1.0", minute(1)).await;
        let Err(Error::NoBackup { why, .. }) = refused else {
            panic!("{refused:?}")
        };
        assert!(why.contains("1099511627776 bytes and the limit is"), "{why}");
    }
}

/// A tar file with one GNU sparse entry: no bytes of its own, all of it a hole (GNU tar manual, "Old GNU Format").
fn sparse_entry(name: &str, real_size: u64) -> Vec<u8> {
    let mut head = vec![0u8; 512];
    let mut put = |at: usize, text: &str| head[at..at + text.len()].copy_from_slice(text.as_bytes());
    put(0, name);
    put(100, "0000644\0");
    put(124, "00000000000\0");
    put(136, "00000000000\0");
    put(156, "S");
    put(257, "ustar  \0");
    // One piece, at the end, of no length; then the length that the whole is said to have.
    put(398, "00000000000\0");
    // Beyond eleven octal digits a length is written as binary with its first bit set.
    head[386..398].copy_from_slice(&binary(real_size));
    head[483..495].copy_from_slice(&binary(real_size));
    head[148..156].fill(b' ');
    let sum: u32 = head.iter().map(|&b| u32::from(b)).sum();
    head[148..156].copy_from_slice(format!("{sum:06o}\0 ").as_bytes());
    head.resize(512 * 3, 0);
    head
}

fn binary(number: u64) -> [u8; 12] {
    let mut field = [0; 12];
    field[0] = 0x80;
    field[4..].copy_from_slice(&number.to_be_bytes());
    field
}

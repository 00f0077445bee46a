//! A small bundle of made-up evidence.
#![allow(dead_code)]

use shimwright_evidence::*;
use shimwright_record::{Board, CheckKind, Corner, CornerState, Drive, Quantity, Shop, VisitNotes};
use std::collections::BTreeMap;

pub const FOLDER: &str = "checks/01-left-gap";

fn board() -> Board {
    Board {
        id: "0190-board".into(),
        name: "Kestrel 2".into(),
        owner: "Ada".into(),
        notes: String::new(),
        drive: Drive::default(),
        corners: [CornerState::default(), CornerState::default()],
    }
}

/// Bytes that look like nothing, the same for each seed.
pub fn noise(seed: u64, length: usize) -> Vec<u8> {
    let mut chance = Chance(seed);
    (0..length).map(|_| chance.next() as u8).collect()
}

/// A stream of pseudo-random numbers (xorshift64*, Vigna 2016).
pub struct Chance(pub u64);

impl Chance {
    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 32
    }
}

/// Evidence with one check and two photos, and its files. A bundle without place data holds `shared`, one with it
/// `original`.
pub fn evidence(place: Place) -> (Evidence, BTreeMap<String, Vec<u8>>) {
    let mut files = BTreeMap::new();
    let mut photos = Vec::new();
    for (seed, name) in [(1, "a.jpg"), (2, "b.jpg")] {
        let (original, shared) = (noise(seed, 3000), noise(seed + 10, 2500));
        photos.push(EvidencePhoto {
            name: format!("DCIM/{name}"),
            file: name.into(),
            original: sha256_hex(&original),
            shared: sha256_hex(&shared),
        });
        let bytes = if place == Place::Kept { original } else { shared };
        files.insert(format!("{FOLDER}/{name}"), bytes);
    }
    let (job, result) = (b"{\"check\": \"gap\"}\n".to_vec(), b"{\"gap\": 1.42}\n".to_vec());
    let check = EvidenceCheck {
        folder: FOLDER.into(),
        id: "0190-check".into(),
        at: "2026-03-08T10:00:00+05:30".into(),
        corner: Corner::Left,
        program: "0.1.0".into(),
        board: board(),
        advice: None,
        work_done: "fitted 31/64 in".into(),
        job: sha256_hex(&job),
        result: sha256_hex(&result),
        camera: None,
        photos,
    };
    files.insert(format!("{FOLDER}/job.json"), job);
    files.insert(format!("{FOLDER}/result.json"), result);
    let evidence = Evidence {
        format: EVIDENCE_FORMAT.into(),
        shop: Shop {
            name: "Tidewheel Works".into(),
            ..Shop::default()
        },
        board: board(),
        visit: EvidenceVisit {
            id: "0190-visit".into(),
            day: "2026-03-08".into(),
            notes: VisitNotes::default(),
            service: vec![],
        },
        checks: vec![check],
        earlier: vec![EarlierValue {
            corner: Corner::Left,
            check: CheckKind::Gap,
            at: "2026-02-01T10:00:00+05:30".into(),
            value: Quantity {
                value: 0.3,
                u95: 0.05,
                unit: "mm".into(),
            },
        }],
    };
    (evidence, files)
}

pub fn options(place: Place) -> SealOptions {
    SealOptions {
        program: "0.1.0".into(),
        number: 2,
        previous: Some("ab".repeat(32)),
        sealed_at: "2026-03-08T18:30:12+05:30".into(),
        paper: "a4".into(),
        place,
    }
}

pub fn key() -> ShopKey {
    ShopKey::from_seed([42; 32])
}

/// A whole bundle, signed.
pub fn signed() -> Bundle {
    let (evidence, files) = evidence(Place::Removed);
    seal_bundle(
        &evidence,
        b"%PDF-1.7 a record",
        &files,
        &options(Place::Removed),
        Some(&key()),
    )
    .unwrap()
}

pub fn open(bytes: &[u8]) -> Result<OpenedBundle, Error> {
    open_bundle(bytes, &Limits::default())
}

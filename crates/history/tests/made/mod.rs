//! Places for histories on either database, and a board and a check to save.
#![allow(dead_code)]

pub mod bucket;
pub mod filled;
pub mod killing;
pub mod old;
pub mod postgres;

use shimwright_history::{History, Home, NewCheck, NewPhoto, SharedPhotos, Time, WithoutPlace};
use shimwright_record::*;

/// A place for a history, on one database or the other.
pub struct Bench {
    pub home: Home,
    folder: tempfile::TempDir,
}

/// What a photo that tells its place begins with here.
pub const PLACE: &[u8] = b"taken at home: ";
/// A photo that cannot lose its place begins with it here.
pub const STUCK: &[u8] = b"stuck";

/// Takes the place out of a photo.
pub fn without_place() -> WithoutPlace {
    WithoutPlace::new(|bytes| {
        if bytes.starts_with(STUCK) {
            return Err("it is stuck".into());
        }
        Ok(bytes.strip_prefix(PLACE).unwrap_or(bytes).to_vec())
    })
}

/// A place that benches share.
pub fn shared(place: &str) -> SharedPhotos {
    SharedPhotos {
        place: place.to_owned(),
        without_place: without_place(),
    }
}

impl Bench {
    /// A new one with SQLite.
    pub fn sqlite() -> Option<Self> {
        Some(Self::with(None, None))
    }

    /// A new one with PostgreSQL, where there is a server.
    pub fn postgres() -> Option<Self> {
        postgres::new_database().map(|url| Self::with(Some(url), None))
    }

    /// A new one with SQLite and the photos in a bucket, where there is a server.
    pub fn bucket() -> Option<Self> {
        bucket::new_bucket().map(|place| Self::with(None, Some(place)))
    }

    fn with(database: Option<String>, photos: Option<String>) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let home = Home {
            database,
            photos: photos.map(|place| shared(&place)),
            ..Home::folder(&folder.path().join("history"))
        };
        Self { home, folder }
    }

    /// Opens the history.
    pub async fn open(&self) -> History {
        History::open_at(&self.home, "0.1.0").await.unwrap()
    }

    /// Takes a stored photo away behind the history's back.
    pub fn lose_photo(&self, sha256: &str) {
        if let Some(shared) = &self.home.photos {
            bucket::delete(&shared.place, sha256);
        }
        let shelf = self.folder().join("photos").join(&sha256[..2]);
        std::fs::remove_file(shelf.join(sha256)).unwrap();
    }

    /// A path beside the history.
    pub fn path(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join(name)
    }

    /// The history's folder.
    pub fn folder(&self) -> &std::path::Path {
        &self.home.folder
    }
}

/// Makes three tests of each function: one for each database, and one with the photos in a bucket.
#[macro_export]
macro_rules! wherever_it_lies {
    ($($name:ident),* $(,)?) => {
        mod sqlite {
            $(
                #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
                async fn $name() {
                    super::$name(&super::made::Bench::sqlite().unwrap()).await;
                }
            )*
        }
        mod postgres {
            $(
                #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
                async fn $name() {
                    if let Some(bench) = super::made::Bench::postgres() {
                        super::$name(&bench).await;
                    }
                }
            )*
        }
        mod bucket {
            $(
                #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
                async fn $name() {
                    if let Some(bench) = super::made::Bench::bucket() {
                        super::$name(&bench).await;
                    }
                }
            )*
        }
    };
}

/// 2026-03-08 10:00 in a zone half an hour off, plus some minutes.
pub fn minute(minutes: i64) -> Time {
    let start = chrono::DateTime::parse_from_rfc3339("2026-03-08T10:00:00+05:30").unwrap();
    start + chrono::Duration::minutes(minutes)
}

pub fn board() -> Board {
    Board {
        id: String::new(),
        name: "Kestrel 2".into(),
        owner: "Ada".into(),
        notes: "rear drive".into(),
        drive: Drive {
            mount_chamfer: Some(0.15),
            located: Located::Hub,
            ..Drive::default()
        },
        corners: [
            CornerState {
                spacer_label: "7/16 in".into(),
                spacer_thickness: 11.1125,
                belt_offset: 0.2,
                belt_offset_u95: 0.1,
            },
            CornerState::default(),
        ],
    }
}

pub fn result(gap: f64) -> CheckResult {
    let value = Value::One(Quantity {
        value: gap,
        u95: 0.05,
        unit: "mm".into(),
    });
    CheckResult {
        check: CheckKind::Gap,
        values: [("gap".to_owned(), value)].into(),
        verdict: Verdict {
            state: Conformity::Within,
            text: Phrase::foreign("it clears"),
            limit: 0.5,
            probability: 0.99,
        },
        budget: vec![BudgetLine {
            part: Phrase::foreign("edge noise"),
            u: 0.02,
            note: Phrase::foreign("scatter"),
        }],
        photos: vec![PhotoUse {
            file: "a.jpg".into(),
            corners: 14,
            rms_px: 0.1,
            used: true,
            note: None,
            drawn: vec![Drawn {
                what: "gap".into(),
                points: vec![[1.5, 2.5], [3.0, 4.0]],
            }],
        }],
        warnings: vec![Phrase::foreign("print scale not checked")],
    }
}

pub fn photo(name: &str, bytes: &[u8]) -> NewPhoto {
    NewPhoto {
        name: name.into(),
        bytes: bytes.into(),
        facts: serde_json::json!({"make": "Tidewheel"}),
    }
}

pub fn check(board: &Board, corner: Corner, gap: f64, photos: Vec<NewPhoto>) -> NewCheck {
    let job = Job {
        photos: photos
            .iter()
            .map(|p| JobPhoto {
                file: p.name.clone(),
                marks: Default::default(),
            })
            .collect(),
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.001,
            u95: 0.001,
        }),
        ..Job::of(CheckKind::Gap)
    };
    NewCheck {
        board: board.clone(),
        corner,
        job,
        camera: Some("{\"fx\": 2290.0}".into()),
        result: result(gap),
        advice: None,
        work_done: String::new(),
        photos,
    }
}

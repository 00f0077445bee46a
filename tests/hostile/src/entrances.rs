//! What takes in foreign bytes.

use crate::keeping::{self, House};
use shimwright_app::{Cancel, load_job, measure_job};
use shimwright_camera::CameraProfile;
use shimwright_detect::{TagParams, TargetParams, find_tags, find_target};
use shimwright_evidence::open_bundle;
use shimwright_geom::{Vec2, Vec3};
use shimwright_measure::{Silent, SoundInput, measure_tension};
use shimwright_photo::{Limits, decode, decode_rgb, read_facts, shared_copy};
use shimwright_record::Job;
use shimwright_target::TargetSet;

/// Bytes come in, and whether they were taken; it must come back without a panic, in bounded time and memory.
type TakeIn = fn(&[u8]) -> bool;

/// One of them.
#[derive(Clone, Copy, Debug)]
pub struct Entrance {
    /// Its name, and that of its corpus.
    pub name: &'static str,
    /// The way in.
    pub take_in: TakeIn,
}

/// All of them.
pub const ALL: [Entrance; 8] = [
    Entrance {
        name: "photo",
        take_in: photo,
    },
    Entrance {
        name: "job",
        take_in: job,
    },
    Entrance {
        name: "targets",
        take_in: targets,
    },
    Entrance {
        name: "camera",
        take_in: camera,
    },
    Entrance {
        name: "bundle",
        take_in: bundle,
    },
    Entrance {
        name: "sound",
        take_in: sound,
    },
    Entrance {
        name: "import",
        take_in: keeping::import,
    },
    Entrance {
        name: "export",
        take_in: keeping::export,
    },
];

/// Hands bytes to the entrance of a name. Panics when there is none.
pub fn take_in(entrance: &str, bytes: &[u8]) {
    let known = ALL.iter().find(|one| one.name == entrance);
    (known.expect("an entrance of this name").take_in)(bytes);
}

/// Small pictures are let in, so that a fuzzer gets anywhere; large ones are not, so that it is quick.
const PICTURE_LIMITS: Limits = Limits {
    max_bytes: 4_000_000,
    max_pixels: 8_000_000,
    min_side: 8,
};

/// A photo with its EXIF data: decoded both ways, copied without its place, looked at for targets.
fn photo(bytes: &[u8]) -> bool {
    let facts = read_facts(bytes, &PICTURE_LIMITS);
    if let Ok(facts) = &facts {
        let _ = facts.camera_name();
    }
    let _ = shared_copy(bytes, &Limits::default());
    let _ = decode_rgb(bytes, &PICTURE_LIMITS);
    let Ok(photo) = decode(bytes, &PICTURE_LIMITS) else {
        return false;
    };
    let tags = find_tags(&photo.grey, &TagParams::default());
    for target in TargetSet::built_in().iter() {
        let _ = find_target(&photo.grey, &tags, target, &TargetParams::default());
    }
    facts.is_ok()
}

/// A job file, beside two small photos, a camera profile and a recording; measured when it can be read.
fn job(bytes: &[u8]) -> bool {
    let House { jobs, .. } = keeping::house();
    let path = jobs.join("job.json");
    if std::fs::write(&path, bytes).is_err() {
        return false;
    }
    let Ok(loaded) = load_job(&path) else { return false };
    let _ = measure_job(&loaded, &TargetSet::built_in(), &|_| {}, &Cancel::default());
    true
}

/// Definitions of targets, drawn and joined to the built-in ones when they can be read.
fn targets(bytes: &[u8]) -> bool {
    let Ok(own) = TargetSet::from_json(&String::from_utf8_lossy(bytes)) else {
        return false;
    };
    let _ = TargetSet::built_in().with(&own);
    for target in own.iter() {
        let _ = (target.outline(), target.pattern_box(), target.shapes().len());
    }
    true
}

/// A camera profile, looked through when it can be read.
fn camera(bytes: &[u8]) -> bool {
    let Ok(profile) = CameraProfile::from_json(&String::from_utf8_lossy(bytes)) else {
        return false;
    };
    for k in 0..20 {
        let t = f64::from(k) / 10.0 - 1.0;
        let _ = profile.camera.project(&Vec3::new(100.0 * t, 50.0 * t * t, 300.0));
        let _ = profile.camera.undistort(&Vec2::new(3000.0 * t, 2000.0 * t * t));
    }
    true
}

/// An evidence bundle: opened, and taken in as a visit.
fn bundle(bytes: &[u8]) -> bool {
    let limits = shimwright_evidence::Limits {
        bytes: 20_000_000,
        file_bytes: 4_000_000,
        ..shimwright_evidence::Limits::default()
    };
    open_bundle(bytes, &limits).is_ok_and(|opened| opened.findings.is_empty())
}

/// A recording of plucks.
fn sound(bytes: &[u8]) -> bool {
    const JOB: &str = r#"{"check": "tension", "sound": "pluck.wav", "belt": {"span": {"value": 100.0, "u95": 1.0},
        "mass_per_length": {"value": 58.5, "u95": 3.0}}}"#;
    let Ok(job) = serde_json::from_str::<Job>(JOB) else {
        return false;
    };
    let sound = SoundInput {
        name: "pluck.wav",
        bytes,
    };
    measure_tension(&job, &sound, &Silent).is_ok()
}

//! The rendered pictures and their truth.

#![allow(dead_code, reason = "each test file uses a part")]

use serde_json::Value;
use shimwright_geom::{GreyPicture, Vec2, Vec3};
use std::path::{Path, PathBuf};

/// Folder of the shared data, or `None` with a line on standard output.
pub fn data(sub: &str) -> Option<PathBuf> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../../../shared/data")
        .join(sub);
    if path.exists() {
        return Some(path);
    }
    println!("skipped: no {}", path.display());
    None
}

/// Reads a picture file as stored, without turning it.
pub fn picture(path: &Path) -> GreyPicture {
    try_picture(path).expect("a readable picture")
}

/// The same; `None` for what is no picture.
pub fn try_picture(path: &Path) -> Option<GreyPicture> {
    let luma = image::open(path).ok()?.into_luma8();
    let (w, h) = luma.dimensions();
    GreyPicture::new(w as usize, h as usize, luma.into_raw())
}

/// The truth of a set of rendered photos.
pub struct Truth {
    folder: PathBuf,
    all: Value,
}

/// One rendered photo.
pub struct Photo<'a> {
    folder: &'a PathBuf,
    camera: &'a Value,
    truth: &'a Value,
}

impl Truth {
    pub fn dev() -> Option<Self> {
        let folder = data("rendered/dev")?;
        let text = std::fs::read_to_string(folder.join("truth.json")).expect("truth.json");
        Some(Self {
            folder,
            all: serde_json::from_str(&text).expect("valid JSON"),
        })
    }

    pub fn photos(&self) -> impl Iterator<Item = Photo<'_>> {
        self.all["photos"]
            .as_array()
            .expect("photos")
            .iter()
            .map(|truth| Photo {
                folder: &self.folder,
                camera: &self.all["camera"],
                truth,
            })
    }
}

impl Photo<'_> {
    pub fn id(&self) -> &str {
        self.truth["id"].as_str().expect("id")
    }

    pub fn series(&self) -> &str {
        self.truth["series"].as_str().expect("series")
    }

    pub fn grey(&self) -> GreyPicture {
        picture(&self.folder.join(self.truth["file"].as_str().expect("file")))
    }

    /// The key of the target in the scene, with the name of its definition.
    pub fn targets(&self) -> Vec<(&'static str, &'static str)> {
        [
            ("card", "mount-card"),
            ("ring", "hub-ring"),
            ("sheet", "bench-sheet"),
        ]
        .into_iter()
        .filter(|(key, _)| self.truth["scene"][*key].is_object())
        .filter(|(key, _)| self.truth["scene"][*key]["present"].as_bool() != Some(false))
        .collect()
    }

    /// Where a point of a target's plane (mm) is seen, pixels.
    pub fn project(&self, key: &str, place: &Vec2) -> Vec2 {
        let entry = &self.truth["scene"][key];
        let scale = entry["print_scale"].as_f64().unwrap_or(1.0);
        let pose = entry
            .as_object()
            .expect("a target")
            .iter()
            .find(|(k, _)| k.starts_with("T_W_"))
            .expect("pose")
            .1;
        let world = transform(pose, &Vec3::new(place.x * scale, place.y * scale, 0.0));
        let p = transform(&self.truth["pose_W_to_camera"], &world);
        let (x, y) = (p.x / p.z, p.y / p.z);
        let c = |k: &str| self.camera[k].as_f64().expect("a number");
        let d: Vec<f64> = self.camera["dist_k1_k2_p1_p2_k3"]
            .as_array()
            .expect("five numbers")
            .iter()
            .map(|v| v.as_f64().expect("a number"))
            .collect();
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (d[0] + r2 * (d[1] + r2 * d[4]));
        let xd = x * radial + 2.0 * d[2] * x * y + d[3] * (r2 + 2.0 * x * x);
        let yd = y * radial + d[2] * (r2 + 2.0 * y * y) + 2.0 * d[3] * x * y;
        Vec2::new(c("fx") * xd + c("cx"), c("fy") * yd + c("cy"))
    }
}

fn transform(pose: &Value, p: &Vec3) -> Vec3 {
    let n = |v: &Value| v.as_f64().expect("a number");
    let (r, t) = (&pose["R"], &pose["t"]);
    Vec3::from_fn(|i, _| n(&r[i][0]) * p.x + n(&r[i][1]) * p.y + n(&r[i][2]) * p.z + n(&t[i]))
}

/// Processor milliseconds of this thread so far, as Linux counts them; wall time where it does not.
pub fn cpu_ms() -> f64 {
    static START: std::sync::OnceLock<std::time::Instant> = std::sync::OnceLock::new();
    let wall = START.get_or_init(std::time::Instant::now).elapsed().as_secs_f64() * 1e3;
    let counted = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    counted
        .and_then(|s| s.split(' ').next()?.parse::<f64>().ok())
        .map_or(wall, |ns| ns * 1e-6)
}

//! The rendered pictures with known truth, read in place from `../shared/data/rendered` when it is there.

use crate::measured::measured;
use serde_json::Value;
use shimwright_camera::CameraProfile;
use shimwright_measure::Error;
use shimwright_record::{CheckKind, CheckResult, Job, JobDrive, JobPhoto, PrintScale};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Where the rendered set lies, if it is there.
pub fn folder() -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data/rendered/dev");
    path.join("truth.json").is_file().then_some(path)
}

/// The set's truth.
pub struct Truth {
    folder: PathBuf,
    json: Value,
}

/// A point in space.
pub type Point = [f64; 3];

/// How marks are made from the truth.
#[derive(Clone, Copy, Debug)]
pub struct Marking {
    /// Offset of every mark, px.
    pub shift: [f64; 2],
    /// Largest further random offset of each mark, px.
    pub jitter: f64,
    /// Seed of the random offsets.
    pub seed: u64,
    /// Which photos are marked, by index.
    pub photos: &'static [usize],
    /// Reach of the mount's marks along the plate, mm from the axle.
    pub mount: (f64, f64),
    /// Reach of the rim's marks, degrees from the plate's direction.
    pub rim: (f64, f64),
}

impl Default for Marking {
    fn default() -> Self {
        Self {
            shift: [0.0; 2],
            jitter: 3.0,
            seed: 1,
            photos: &[0],
            mount: (4.0, 33.0),
            rim: (58.0, 122.0),
        }
    }
}

impl Truth {
    /// Reads the truth. `None`, with a line in the output, when the set is not there.
    pub fn load() -> Option<Self> {
        let Some(folder) = folder() else {
            println!("skipped: the rendered pictures are not at ../shared/data/rendered");
            return None;
        };
        let text = std::fs::read_to_string(folder.join("truth.json")).ok()?;
        Some(Self {
            folder,
            json: serde_json::from_str(&text).ok()?,
        })
    }

    /// The path of a photo.
    pub fn path(&self, id: &str) -> PathBuf {
        self.folder
            .join(self.photo(id)["file"].as_str().unwrap_or_default())
    }

    /// The bytes of a photo.
    pub fn bytes(&self, id: &str) -> Vec<u8> {
        std::fs::read(self.path(id)).expect("the photo is there")
    }

    /// The truth of a photo.
    pub fn photo(&self, id: &str) -> &Value {
        let photos = self.json["photos"].as_array().expect("photos");
        photos.iter().find(|p| p["id"] == id).expect("the photo is known")
    }

    /// The truth of a case.
    pub fn case(&self, id: &str) -> &Value {
        &self.json["cases"][id]
    }

    /// The camera profile as a file's text.
    pub fn camera_profile(&self) -> String {
        let camera = &self.json["camera"];
        serde_json::json!({
            "width": camera["width"], "height": camera["height"],
            "fx": camera["fx"], "fy": camera["fy"], "cx": camera["cx"], "cy": camera["cy"],
            "dist_k1_k2_p1_p2_k3": camera["dist_k1_k2_p1_p2_k3"],
        })
        .to_string()
    }

    /// Measures a job over photos of the set, with or without the profile of their camera.
    ///
    /// # Errors
    /// The engine's own.
    pub fn measure(&self, job: &Job, with_profile: bool) -> Result<CheckResult, Error> {
        let profile = CameraProfile::from_json(&self.camera_profile()).expect("a profile");
        self.measure_by(job, with_profile.then_some(&profile))
    }

    /// Measures a job over photos of the set, with any profile.
    ///
    /// # Errors
    /// The engine's own.
    pub fn measure_by(&self, job: &Job, profile: Option<&CameraProfile>) -> Result<CheckResult, Error> {
        let id = |photo: &JobPhoto| photo.file.trim_end_matches(".jpg").to_owned();
        let bytes: Vec<_> = job.photos.iter().map(|photo| self.bytes(&id(photo))).collect();
        measured(job, &bytes, profile)
    }

    /// Projects a point of the world frame into a photo, px of the stored picture.
    pub fn project(&self, photo: &str, p: &Point) -> [f64; 2] {
        let pose = &self.photo(photo)["pose_W_to_camera"];
        let c: Vec<f64> = (0..3)
            .map(|i| (0..3).map(|j| number(&pose["R"][i][j]) * p[j]).sum::<f64>() + number(&pose["t"][i]))
            .collect();
        let camera = &self.json["camera"];
        let k: Vec<f64> = (0..5)
            .map(|i| number(&camera["dist_k1_k2_p1_p2_k3"][i]))
            .collect();
        let (x, y) = (c[0] / c[2], c[1] / c[2]);
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (k[0] + r2 * (k[1] + r2 * k[4]));
        let xd = x * radial + 2.0 * k[2] * x * y + k[3] * (r2 + 2.0 * x * x);
        let yd = y * radial + k[2] * (r2 + 2.0 * y * y) + 2.0 * k[3] * x * y;
        [
            number(&camera["fx"]) * xd + number(&camera["cx"]),
            number(&camera["fy"]) * yd + number(&camera["cy"]),
        ]
    }

    /// True points of the mount's edge, evenly between two distances along the plate, mm.
    pub fn mount_points(&self, photo: &str, range: (f64, f64), count: usize) -> Vec<Point> {
        let edge = &self.photo(photo)["scene"]["plate"]["top_edges_W"]["plate_virtual_sharp_edge"];
        spread(range, count)
            .map(|y| [number(&edge[0][0]), y, number(&edge[0][2])])
            .collect()
    }

    /// True points of the rim's face edge, evenly between two angles, degrees.
    pub fn rim_points(&self, photo: &str, range: (f64, f64), count: usize) -> Vec<Point> {
        let flange = &self.photo(photo)["scene"]["flange"];
        let radius = number(&flange["face_edge_radius"]);
        spread(range, count)
            .map(|degrees| {
                let (sin, cos) = degrees.to_radians().sin_cos();
                std::array::from_fn(|i| {
                    number(&flange["face_circle_centre_W"][i])
                        + radius
                            * (cos * number(&flange["basis_u_W"][i]) + sin * number(&flange["basis_v_W"][i]))
                })
            })
            .collect()
    }

    /// A gap job over photos, with marks made from the truth and disturbed.
    pub fn gap_job(&self, photos: &[&str], marking: &Marking) -> Job {
        let mut random = Random(marking.seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        let mut marked = |photo: &str, points: Vec<Point>| -> Vec<[f64; 2]> {
            points
                .iter()
                .map(|p| {
                    let at = self.project(photo, p);
                    std::array::from_fn(|k| at[k] + marking.shift[k] + marking.jitter * random.signed())
                })
                .collect()
        };
        let photos = photos
            .iter()
            .enumerate()
            .map(|(i, id)| {
                let mut marks = BTreeMap::new();
                if marking.photos.contains(&i) {
                    marks.insert(
                        "mount_edge".to_owned(),
                        marked(id, self.mount_points(id, marking.mount, 2)),
                    );
                    marks.insert(
                        "rim_edge".to_owned(),
                        marked(id, self.rim_points(id, marking.rim, 3)),
                    );
                }
                JobPhoto {
                    file: format!("{id}.jpg"),
                    marks,
                }
            })
            .collect();
        Job {
            photos,
            print_scale: Some(PrintScale {
                x: 1.0,
                y: 1.0,
                u95: 0.001,
            }),
            drive: Some(JobDrive {
                rim_diameter: Some(99.0),
                mount_chamfer: Some(0.15),
                rim_chamfer: Some(0.1),
                ..JobDrive::default()
            }),
            ..Job::of(CheckKind::Gap)
        }
    }
}

/// A number in the truth; fails loudly when it is not one.
pub fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn spread(range: (f64, f64), count: usize) -> impl Iterator<Item = f64> {
    let last = (count - 1).max(1) as f64;
    (0..count).map(move |i| range.0 + (range.1 - range.0) * i as f64 / last)
}

/// A small xorshift generator: the same marks for the same seed on every machine.
pub struct Random(pub u64);

impl Random {
    /// Uniform in -1..1.
    pub fn signed(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

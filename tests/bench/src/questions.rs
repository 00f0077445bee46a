//! What can be asked.

use crate::clock::timed;
use serde::Deserialize;
use serde_json::{Value, json};
use shimwright_camera::CameraProfile;
use shimwright_detect::{FoundTarget, Tag, TagParams, TargetParams, find_tags, find_target};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_measure::{JobInput, PhotoInput, Silent, look_at, run};
use shimwright_photo::{Limits, decode};
use shimwright_record::Job;
use shimwright_solve::{CalibrationPriors, CalibrationProblem, PlanePoint, pose_of_plane};
use shimwright_target::TargetSet;
use std::path::Path;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

type Trouble = Box<dyn std::error::Error>;

/// A question.
#[derive(Deserialize)]
#[serde(tag = "do", rename_all = "snake_case")]
pub(crate) enum Question {
    /// Decode a photo as the engine does.
    Decode { path: String },
    /// Decode it with the library alone, to grey, without what the engine checks.
    DecodeBare { path: String },
    /// Find the tags of a photo that is decoded already.
    Tags { path: String },
    /// Find a target in a photo that is decoded already.
    Board { path: String, target: String },
    /// From bytes to every known target in view.
    Whole { path: String },
    /// The pose of a flat target, from corners `[x mm, y mm, u px, v px, sigma px]`.
    Pose {
        camera: Value,
        corners: Vec<[f64; 5]>,
        times: u32,
    },
    /// A calibration from corners of several views.
    Calibrate {
        width: u32,
        height: u32,
        views: Vec<Vec<[f64; 5]>>,
    },
    /// A whole job from its photos' bytes.
    Job { path: String },
}

/// Answers a question.
pub(crate) fn answer(question: &Question) -> Result<Value, Trouble> {
    Ok(match question {
        Question::Decode { path } => {
            let bytes = std::fs::read(path)?;
            timed(
                1,
                || decode(&bytes, &Limits::default()),
                |photo| json!(photo.is_ok()),
            )
        }
        Question::DecodeBare { path } => {
            let bytes = std::fs::read(path)?;
            timed(1, || bare_grey(&bytes), |grey| json!(grey.is_some()))
        }
        Question::Tags { path } => {
            let picture = picture(path)?;
            timed(
                1,
                || find_tags(&picture, &TagParams::default()),
                |tags| told_tags(&tags),
            )
        }
        Question::Board { path, target } => board(&picture(path)?, target)?,
        Question::Whole { path } => {
            let bytes = std::fs::read(path)?;
            let targets = TargetSet::built_in();
            let photo = PhotoInput {
                name: path,
                bytes: &bytes,
            };
            timed(
                1,
                || look_at(&photo, &targets),
                |found| json!(found.is_ok_and(|f| !f.targets.is_empty())),
            )
        }
        Question::Pose {
            camera,
            corners,
            times,
        } => {
            let camera = CameraProfile::from_json(&camera.to_string())?.camera;
            let points = plane_points(corners);
            timed(
                *times,
                || pose_of_plane(&camera, &points),
                |pose| {
                    pose.map_or(Value::Null, |p| {
                        json!([p.rotation_vector().as_slice(), p.translation().as_slice()])
                    })
                },
            )
        }
        Question::Calibrate { width, height, views } => calibrate(*width, *height, views),
        Question::Job { path } => {
            let asked = Asked::read(path)?;
            timed(
                1,
                || asked.measured(),
                |told| told.unwrap_or_else(|error| json!(error.to_string())),
            )
        }
    })
}

/// Measures the job of a file and tells the result.
pub(crate) fn whole_job(path: &str) -> Result<Value, Trouble> {
    Asked::read(path)?.measured()
}

fn bare_grey(bytes: &[u8]) -> Option<Vec<u8>> {
    let options = DecoderOptions::default().jpeg_set_out_colorspace(ColorSpace::Luma);
    JpegDecoder::new_with_options(ZCursor::new(bytes), options)
        .decode()
        .ok()
}

fn picture(path: &str) -> Result<GreyPicture, Trouble> {
    Ok(decode(
        &std::fs::read(path)?,
        &Limits {
            min_side: 1,
            ..Limits::default()
        },
    )?
    .grey)
}

fn told_tags(tags: &[Tag]) -> Value {
    let told = |tag: &Tag| json!({"id": tag.id, "corners": tag.corners.map(|c| [c.x, c.y])});
    tags.iter().map(told).collect()
}

fn board(picture: &GreyPicture, name: &str) -> Result<Value, Trouble> {
    let targets = TargetSet::built_in();
    let target = targets.by_name(name).ok_or("no target of this name")?;
    let find = || {
        let tags = find_tags(picture, &TagParams::default());
        find_target(picture, &tags, target, &TargetParams::default())
    };
    Ok(timed(1, find, |found| {
        found.as_ref().map_or(json!([]), told_corners)
    }))
}

/// Index, place seen (px), place printed (mm) and sigma (px) of each corner.
fn told_corners(found: &FoundTarget) -> Value {
    let corners = found.corners.iter();
    corners
        .map(|c| json!([c.index, c.at.x, c.at.y, c.place.x, c.place.y, c.sigma_px]))
        .collect()
}

fn plane_points(corners: &[[f64; 5]]) -> Vec<PlanePoint> {
    let point = |&[x, y, u, v, sigma_px]: &[f64; 5]| PlanePoint {
        place: Vec2::new(x, y),
        at: Vec2::new(u, v),
        sigma_px,
    };
    corners.iter().map(point).collect()
}

fn calibrate(width: u32, height: u32, views: &[Vec<[f64; 5]>]) -> Value {
    let views: Vec<_> = views.iter().map(|view| plane_points(view)).collect();
    let asked = CalibrationProblem {
        width,
        height,
        views: &views,
        focal_px: None,
        priors: CalibrationPriors::default(),
    };
    timed(
        1,
        || asked.solve(),
        |solved| match solved {
            Ok(solved) => json!({"intrinsics": solved.camera.intrinsics, "sigma": solved.sigma()}),
            Err(error) => json!(error.to_string()),
        },
    )
}

/// A job with its photos' bytes.
struct Asked {
    job: Job,
    photos: Vec<Vec<u8>>,
    camera: Option<CameraProfile>,
}

impl Asked {
    fn read(path: &str) -> Result<Self, Trouble> {
        let job: Job = serde_json::from_slice(&std::fs::read(path)?)?;
        let folder = Path::new(path).parent().unwrap_or(Path::new("."));
        let photos = job
            .photos
            .iter()
            .map(|photo| std::fs::read(folder.join(&photo.file)));
        let profile = |name: &String| -> Result<CameraProfile, Trouble> {
            Ok(CameraProfile::from_json(&std::fs::read_to_string(
                folder.join(name),
            )?)?)
        };
        Ok(Self {
            photos: photos.collect::<Result<_, _>>()?,
            camera: job.camera.as_ref().map(profile).transpose()?,
            job,
        })
    }

    /// The result's values, or a calibration's.
    fn measured(&self) -> Result<Value, Trouble> {
        let listed = self.job.photos.iter().zip(&self.photos);
        let photos: Vec<_> = listed
            .map(|(photo, bytes)| PhotoInput {
                name: &photo.file,
                bytes,
            })
            .collect();
        let input = JobInput {
            job: &self.job,
            photos: &photos,
            targets: &TargetSet::built_in(),
            camera: self.camera.as_ref(),
        };
        let result = run(&input, &Silent).map_err(|error| error.to_string())?;
        Ok(json!({"values": result.values}))
    }
}

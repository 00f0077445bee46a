//! The camera profile file.

use crate::{Camera, Error, INTRINSICS};
use serde::Deserialize;

/// A calibrated camera: what it is of, its numbers and their standard deviations.
#[derive(Clone, Debug, PartialEq)]
pub struct CameraProfile {
    /// The camera.
    pub camera: Camera,
    /// Standard deviations of the intrinsics, same order; zero for a parameter that was held fixed.
    pub sigma: [f64; INTRINSICS],
    /// Make and model of the camera as EXIF names them; empty when unknown.
    pub make: String,
    /// Model.
    pub model: String,
    /// Lens model as EXIF names it; `None` when the photos do not say.
    pub lens: Option<String>,
    /// Focal length as EXIF states it, mm; `None` when the photos do not say.
    pub focal_mm: Option<f64>,
}

/// Standard deviations taken when a profile states none: a careful calibration from a dozen photos reaches these
/// (px for focal length and principal point).
const UNSTATED_SIGMA: [f64; INTRINSICS] = [1.0, 1.0, 1.0, 1.0, 0.002, 0.005, 2e-4, 2e-4, 0.0];

/// The file's form. Also read: the distortion as one list `dist_k1_k2_p1_p2_k3`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ProfileFile {
    width: u32,
    height: u32,
    fx: f64,
    fy: f64,
    cx: f64,
    cy: f64,
    #[serde(default)]
    k1: f64,
    #[serde(default)]
    k2: f64,
    #[serde(default)]
    p1: f64,
    #[serde(default)]
    p2: f64,
    #[serde(default)]
    k3: f64,
    #[serde(default)]
    dist_k1_k2_p1_p2_k3: Vec<f64>,
    /// Standard deviations of fx, fy, cx, cy, k1, k2, p1, p2, k3.
    #[serde(default)]
    sigma: Vec<f64>,
    #[serde(default)]
    make: String,
    #[serde(default)]
    model: String,
    #[serde(default)]
    lens: Option<String>,
    #[serde(default)]
    focal_mm: Option<f64>,
}

impl CameraProfile {
    /// Reads a profile from JSON text.
    pub fn from_json(text: &str) -> Result<Self, Error> {
        let file: ProfileFile =
            serde_json::from_str(text).map_err(|error| Error::NotAProfile(error.to_string()))?;
        let mut intrinsics = [
            file.fx, file.fy, file.cx, file.cy, file.k1, file.k2, file.p1, file.p2, file.k3,
        ];
        for (slot, value) in intrinsics[4..].iter_mut().zip(&file.dist_k1_k2_p1_p2_k3) {
            *slot = *value;
        }
        let mut sigma = UNSTATED_SIGMA;
        for (slot, value) in sigma.iter_mut().zip(&file.sigma) {
            *slot = *value;
        }
        let profile = Self {
            camera: Camera {
                width: file.width,
                height: file.height,
                intrinsics,
            },
            sigma,
            make: file.make,
            model: file.model,
            lens: file.lens,
            focal_mm: file.focal_mm,
        };
        profile.check()?;
        Ok(profile)
    }

    /// Writes the profile as JSON text.
    pub fn to_json(&self) -> String {
        let [fx, fy, cx, cy, k1, k2, p1, p2, k3] = self.camera.intrinsics;
        let file = serde_json::json!({
            "make": self.make, "model": self.model, "lens": self.lens, "focal_mm": self.focal_mm,
            "width": self.camera.width, "height": self.camera.height,
            "fx": fx, "fy": fy, "cx": cx, "cy": cy,
            "k1": k1, "k2": k2, "p1": p1, "p2": p2, "k3": k3,
            "sigma": self.sigma,
        });
        format!("{file:#}")
    }

    fn check(&self) -> Result<(), Error> {
        let size = f64::from(self.camera.width.max(self.camera.height));
        let impossible = |what, value| Err(Error::Impossible { what, value });
        if self.camera.width == 0 || self.camera.height == 0 {
            return impossible("width or height", 0.0);
        }
        for (what, value, least, most) in [
            ("fx", self.camera.intrinsics[0], 0.2 * size, 20.0 * size),
            ("fy", self.camera.intrinsics[1], 0.2 * size, 20.0 * size),
            ("cx", self.camera.intrinsics[2], 0.0, size),
            ("cy", self.camera.intrinsics[3], 0.0, size),
        ] {
            if !(value >= least && value <= most) {
                return impossible(what, value);
            }
        }
        for (what, value) in ["k1", "k2", "p1", "p2", "k3"]
            .into_iter()
            .zip(&self.camera.intrinsics[4..])
        {
            if !(value.abs() <= 10.0) {
                return impossible(what, *value);
            }
        }
        match self.sigma.iter().find(|sigma| !(**sigma >= 0.0)) {
            Some(bad) => impossible("sigma", *bad),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_profile_survives_a_round_trip() {
        let profile = CameraProfile {
            camera: Camera::ideal(2816, 2112, 2290.0),
            sigma: [0.5; INTRINSICS],
            make: "Aperta".into(),
            model: "One".into(),
            lens: Some("Aperta One back camera".into()),
            focal_mm: Some(5.4),
        };
        assert_eq!(CameraProfile::from_json(&profile.to_json()).unwrap(), profile);
    }

    #[test]
    fn distortion_may_come_as_one_list() {
        let text = r#"{"width": 2816, "height": 2112, "fx": 2291.7, "fy": 2289.9, "cx": 1418.3, "cy": 1049.6,
            "dist_k1_k2_p1_p2_k3": [0.04, -0.07, 0.0005, -0.0003, 0]}"#;
        let profile = CameraProfile::from_json(text).unwrap();
        assert_eq!(profile.camera.intrinsics[4..8], [0.04, -0.07, 0.0005, -0.0003]);
        assert_eq!(profile.sigma, UNSTATED_SIGMA);
    }

    #[test]
    fn impossible_profiles_are_refused() {
        let text = r#"{"width": 100, "height": 100, "fx": -3, "fy": 100, "cx": 50, "cy": 50}"#;
        assert_eq!(
            CameraProfile::from_json(text),
            Err(Error::Impossible {
                what: "fx",
                value: -3.0
            })
        );
        assert!(matches!(
            CameraProfile::from_json("{"),
            Err(Error::NotAProfile(_))
        ));
    }
}

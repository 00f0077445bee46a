//! What a photo's EXIF numbers say about the focal length.

/// Diagonal of a 36 mm x 24 mm film frame, mm.
pub const FILM_DIAGONAL_MM: f64 = 43.266_615_305_567_87;

/// A guess of the focal length in pixels with its relative standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FocalPrior {
    /// Focal length, px.
    pub focal_px: f64,
    /// Relative standard deviation (1).
    pub relative_sigma: f64,
}

/// The prior from the 35 mm equivalent focal length (mm), or from a 65 degree field of view when there is none.
///
/// `f_px = f35 * diagonal_px / 43.27 mm`: CIPA DC-008 relates the equivalent to the picture's diagonal. Real phones
/// were seen to be off by up to 8 %, and 5 % is the standard deviation taken.
pub fn focal_prior(width: u32, height: u32, focal_35mm: Option<f64>) -> FocalPrior {
    let diagonal = f64::from(width).hypot(f64::from(height));
    match focal_35mm {
        Some(mm) if mm > 5.0 && mm < 1000.0 => FocalPrior {
            focal_px: mm * diagonal / FILM_DIAGONAL_MM,
            relative_sigma: 0.05,
        },
        _ => FocalPrior {
            focal_px: f64::from(width.max(height)) / 2.0 / (65.0_f64.to_radians() / 2.0).tan(),
            relative_sigma: 0.25,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked values computed from the CIPA DC-008 relation: 26 mm on 4032 x 3024 px is 3028.663 px,
    /// 50 mm on 6000 x 4000 px is 8333.333 px.
    #[test]
    fn equivalent_focal_lengths() {
        assert!((focal_prior(4032, 3024, Some(26.0)).focal_px - 3028.663).abs() < 1e-3);
        assert!((focal_prior(6000, 4000, Some(50.0)).focal_px - 8333.333).abs() < 1e-3);
    }

    #[test]
    fn without_exif_the_prior_is_wide() {
        assert_eq!(focal_prior(4000, 3000, None).relative_sigma, 0.25);
        assert_eq!(focal_prior(4000, 3000, Some(0.0)).relative_sigma, 0.25);
    }
}

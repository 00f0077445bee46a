//! What the grey levels alone tell: darkness, and a blur that no target can be read through.

use shimwright_geom::GreyPicture;

/// Every so many rows are looked at.
const ROW_STEP: usize = 3;
/// Distance over which a smeared edge has risen whole, px.
const WIDE_PX: usize = 12;
/// Share of the wide steps that are counted as edges. An edge makes as many of those as they are wide, and one steepest step.
const EDGES: f64 = 0.005;
/// Smallest rise that is an edge, grey levels.
const LEAST_RISE: usize = 40;
/// Slope of a blurred step: `rise / (sigma sqrt(2 pi))`.
const ROOT_OF_TWO_PI: f64 = 2.506_628_274_631_000_2;

/// Grey level that a hundredth of the pixels reaches.
pub(crate) fn brightest(picture: &GreyPicture) -> u8 {
    let mut counts = [0_usize; 256];
    for y in (0..picture.height()).step_by(ROW_STEP) {
        for &value in picture.row(y) {
            counts[usize::from(value)] += 1;
        }
    }
    upper(&counts, 0.01) as u8
}

/// Blur of the picture's strongest edges, standard deviation in pixels, from their slope beside their rise; `None` when
/// there is hardly an edge. Good to about a third where edges stand apart.
pub(crate) fn blur_of_edges(picture: &GreyPicture) -> Option<f64> {
    let (mut slopes, mut rises) = ([0_usize; 256], [0_usize; 256]);
    for y in (0..picture.height()).step_by(ROW_STEP) {
        let row = picture.row(y);
        for pair in row.windows(2) {
            slopes[usize::from(pair[0].abs_diff(pair[1]))] += 1;
        }
        for wide in row.windows(WIDE_PX + 1) {
            rises[usize::from(wide[0].abs_diff(wide[WIDE_PX]))] += 1;
        }
    }
    let rise = upper(&rises, EDGES);
    let slope = upper(&slopes, EDGES / WIDE_PX as f64).max(1);
    (rise >= LEAST_RISE).then(|| rise as f64 / (slope as f64 * ROOT_OF_TWO_PI))
}

/// The value that a share of all reaches.
fn upper(counts: &[usize; 256], share: f64) -> usize {
    let total: usize = counts.iter().sum();
    let mut left = (share * total as f64) as usize;
    for (value, &count) in counts.iter().enumerate().rev() {
        if count > left {
            return value;
        }
        left -= count;
    }
    0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bars of 40 px whose borders are cumulative normals.
    fn bars(sigma: f64) -> GreyPicture {
        let erf = |t: f64| {
            // Abramowitz and Stegun 7.1.27, good to 5e-4; from memory.
            let t4 = 1.0
                + 0.278_393 * t.abs()
                + 0.230_389 * t * t
                + 0.000_972 * t.abs().powi(3)
                + 0.078_108 * t.powi(4);
            t.signum() * (1.0 - t4.powi(-4))
        };
        let row: Vec<u8> = (0..400)
            .map(|x| {
                let from_border = (x % 40) as f64 - 19.5;
                let share = 0.5 * (1.0 + erf(from_border / (sigma * std::f64::consts::SQRT_2)));
                let up = if (x / 40) % 2 == 0 { share } else { 1.0 - share };
                (40.0 + 160.0 * up) as u8
            })
            .collect();
        GreyPicture::new(400, 60, row.repeat(60)).unwrap()
    }

    #[test]
    fn a_known_blur_is_told_by_slope_and_rise() {
        for sigma in [1.0, 2.0, 3.0] {
            let told = blur_of_edges(&bars(sigma)).unwrap();
            assert!((told / sigma - 1.0).abs() < 0.35, "{sigma} told as {told}");
        }
    }

    #[test]
    fn an_even_wall_has_no_edges_and_its_level_is_its_light() {
        let wall = GreyPicture::new(50, 50, vec![17; 2500]).unwrap();
        assert_eq!(blur_of_edges(&wall), None);
        assert_eq!(brightest(&wall), 17);
    }
}

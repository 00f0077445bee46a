//! What share of its face's light a chamfer throws back, weighed out over the shares that are tried.

/// Shares that are tried: 0 to 1.8.
pub(crate) const SHARES: usize = 10;
pub(crate) const SHARE_STEP: f64 = 0.2;
/// A chamfer is cut into the metal of its face and leans towards the same light: about so bright, give or take so much. It
/// decides where the pixels leave open which of the chamfer's two lines is which.
pub(crate) const USUAL: f64 = 0.9;
const USUAL_SPREAD: f64 = 0.5;

/// What costs of all shares tell together.
pub(crate) struct Weighed {
    /// Cost with the share weighed out: twice the negative logarithm of the likelihood.
    pub cost: f64,
    /// Mean of the share, and its standard deviation.
    pub mean: f64,
    pub spread: f64,
}

/// What a share costs for being unusual.
pub(crate) fn unusual(share: usize) -> f64 {
    ((of(share) - USUAL) / USUAL_SPREAD).powi(2)
}

fn of(share: usize) -> f64 {
    SHARE_STEP * share as f64
}

/// Weighs the shares by their costs (twice the negative logarithm of the likelihood).
pub(crate) fn weighed(costs: &[f64]) -> Weighed {
    let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
    let weights: Vec<f64> = costs.iter().map(|c| (-0.5 * (c - least)).exp()).collect();
    let total: f64 = weights.iter().sum();
    let over = |value: &dyn Fn(usize) -> f64| {
        weights.iter().enumerate().map(|(k, w)| w * value(k)).sum::<f64>() / total
    };
    let mean = over(&of);
    Weighed {
        cost: least - 2.0 * total.ln(),
        mean,
        spread: over(&|k| (of(k) - mean).powi(2)).sqrt(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sharp_minimum_and_an_open_row_are_told_as_they_are() {
        let sharp: Vec<f64> = (0..SHARES).map(|k| if k == 4 { 3.0 } else { 1e3 }).collect();
        let told = weighed(&sharp);
        assert!((told.mean - 0.8).abs() < 1e-12 && told.spread < 1e-12 && (told.cost - 3.0).abs() < 1e-12);
        let open = weighed(&[0.0; SHARES]);
        // Ten shares from 0 to 1.8: the standard deviation of a uniform row of n steps is step sqrt((n^2 - 1) / 12).
        assert!(
            (open.mean - 0.9).abs() < 1e-12 && (open.spread - 0.2 * (99.0f64 / 12.0).sqrt()).abs() < 1e-12
        );
        assert!(unusual(0) > unusual(4));
    }
}

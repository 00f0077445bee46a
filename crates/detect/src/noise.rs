//! What the residuals of a fit tell about the noise of the pixels.

/// What is left over at a pixel.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Residual {
    pub(crate) x: f64,
    pub(crate) y: f64,
    /// The model's linear light.
    pub(crate) light: f64,
    /// Seen minus model.
    pub(crate) residual: f64,
}

/// Noise variance as a straight function of light, as photon noise is: `dark + per_light * light`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Noise {
    dark: f64,
    per_light: f64,
    least: f64,
}

impl Noise {
    /// The same for every pixel.
    pub(crate) fn flat() -> Self {
        Self {
            dark: 1.0,
            per_light: 0.0,
            least: 1.0,
        }
    }

    /// Mean squared residuals below and above the middle of the light give the two coefficients.
    pub(crate) fn of(left: &[Residual]) -> Self {
        let middle = left.iter().map(|r| r.light).sum::<f64>() / left.len() as f64;
        let mut halves = [(0.0, 0.0, 0.0); 2];
        for r in left {
            let half = &mut halves[usize::from(r.light > middle)];
            half.0 += 1.0;
            half.1 += r.light;
            half.2 += r.residual * r.residual;
        }
        let all = ((halves[0].2 + halves[1].2) / left.len() as f64).max(1e-10);
        if halves.iter().any(|h| h.0 < 8.0) {
            return Self {
                dark: all,
                per_light: 0.0,
                least: all,
            };
        }
        let [(l0, v0), (l1, v1)] = halves.map(|h| (h.1 / h.0, h.2 / h.0));
        let per_light = ((v1 - v0) / (l1 - l0)).max(0.0);
        Self {
            dark: v0 - per_light * l0,
            per_light,
            least: (0.5 * v0.min(v1)).max(0.02 * all),
        }
    }

    /// The variance at a light.
    pub(crate) fn at(&self, light: f64) -> f64 {
        (self.dark + self.per_light * light).max(self.least)
    }
}

/// How much larger a mean's variance is than for independent pixels: one plus twice the sum of the correlations
/// with the neighbours to the right, below and on both diagonals. Paper grain under the lens's blur, demosaicing
/// and compression make neighbours alike. The residuals come row by row.
pub(crate) fn alikeness(left: &[Residual]) -> f64 {
    let power = left.iter().map(|r| r.residual * r.residual).sum::<f64>() / left.len() as f64;
    if power <= 0.0 {
        return 1.0;
    }
    let mut sums = [(0.0, 0.0); 4];
    let mut add = |slot: usize, a: &Residual, b: &Residual| {
        sums[slot].0 += a.residual * b.residual;
        sums[slot].1 += 1.0;
    };
    let mut ahead = 0;
    for (i, here) in left.iter().enumerate() {
        if let Some(next) = left.get(i + 1)
            && next.y == here.y
            && next.x - here.x < 1.5
        {
            add(0, here, next);
        }
        let is_before = |r: &Residual| r.y < here.y + 0.5 || (r.y < here.y + 1.5 && r.x < here.x - 1.5);
        while left.get(ahead).is_some_and(is_before) {
            ahead += 1;
        }
        for below in left[ahead..].iter().take(3) {
            let (dx, dy) = (below.x - here.x, below.y - here.y);
            if dy < 1.5 && dx < 1.5 {
                add((2.0 + dx).round() as usize, here, below);
            }
        }
    }
    let total: f64 = sums.iter().filter(|s| s.1 > 0.0).map(|s| s.0 / s.1 / power).sum();
    (1.0 + 2.0 * total).clamp(1.0, 9.0)
}

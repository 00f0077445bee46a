//! What a caller may set, with the values that serve ordinary photographs.

/// How tags are looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct TagParams {
    /// Smallest side of a tag's black square, in pixels of the full picture (a tag is eight cells wide).
    pub min_side_px: f64,
    /// Smallest difference of encoded grey levels between black and white within a few pixels.
    pub min_contrast: u8,
    /// Largest number of wrong bits that is still read (the family keeps codes eleven bits apart).
    pub max_hamming: u32,
    /// Smallest mean distance of the 36 cells from the threshold, as a share of half the contrast (0 to 1).
    pub min_margin: f64,
    /// Reduction factors of the picture that are searched, finest first.
    pub scales: Vec<usize>,
}

/// Most tags of a photo that targets are looked for among: the largest target there can be has a fifth of them, and the time
/// that it takes to see which agree grows with the square of their number.
pub const MOST_TAGS: usize = 1_000;

impl Default for TagParams {
    fn default() -> Self {
        Self {
            min_side_px: 14.0,
            min_contrast: 14,
            max_hamming: 2,
            min_margin: 0.25,
            scales: vec![1, 2, 4],
        }
    }
}

/// How the corners of a known target are refined.
#[derive(Clone, Debug, PartialEq)]
pub struct TargetParams {
    /// Fewest corners for a board to count as found.
    pub min_board_corners: usize,
    /// Fewest tags for a ring of lone tags to count as found.
    pub min_ring_tags: usize,
    /// Smallest contrast between white and black in linear light, as a share of full scale.
    pub min_contrast: f64,
    /// Largest blur (standard deviation across an edge, pixels) at which a corner is still used.
    pub max_blur_px: f64,
    /// Largest stated standard deviation of a corner, in pixels per axis.
    pub max_sigma_px: f64,
    /// Part of the corner's standard deviation that no fit shows, pixels per axis, added in quadrature: what the
    /// model leaves out. It grows with the blur where that is more than a pixel.
    pub floor_px: f64,
}

impl Default for TargetParams {
    fn default() -> Self {
        Self {
            min_board_corners: 6,
            min_ring_tags: 2,
            min_contrast: 0.008,
            max_blur_px: 7.0,
            max_sigma_px: 0.6,
            floor_px: 0.012,
        }
    }
}

impl TargetParams {
    /// A standard deviation from a fit with the floor for its blur added.
    pub(crate) fn with_floor(&self, sigma_px: f64, blur_px: f64) -> f64 {
        sigma_px.hypot(self.floor_px * blur_px.max(1.0))
    }
}

//! Edges that the program proposes, for somebody to confirm.

use crate::{JobPhoto, Phrase};
use serde::{Deserialize, Serialize};

/// Marks that were found and not made by hand. Nothing is measured from them until somebody has looked at them: they become
/// a job's marks when they are put into it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Proposal {
    /// The edges that were found; one that was not is missing.
    pub edges: Vec<ProposedEdge>,
    /// The job's photos with the proposed marks, px of the upright photo; none in a photo that does not show an edge.
    pub photos: Vec<JobPhoto>,
    /// What to look at before it is confirmed, one sentence each.
    pub notes: Vec<Phrase>,
}

/// How good a proposed edge is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ProposedEdge {
    /// Name of its marks: `mount_edge` or `rim_edge`.
    pub mark: String,
    /// From 0 to 1: the share of it that the photos show as an edge, less what speaks for another edge. It is no
    /// probability.
    pub quality: f64,
}

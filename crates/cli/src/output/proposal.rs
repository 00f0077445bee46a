//! Proposed marks as people read them.

use super::{paragraph, table};
use shimwright_app::record::Proposal;

/// What was found, how good it is, and where.
pub fn proposal(proposal: &Proposal) -> String {
    let edges = proposal.edges.iter();
    let qualities: Vec<_> = edges
        .map(|edge| vec![edge.mark.clone(), format!("quality {:.2} of 1", edge.quality)])
        .collect();
    let mut text = String::from("proposed marks, to be looked at before they are measured from\n");
    text += &table(&qualities);
    for note in &proposal.notes {
        text += &paragraph("note: ", "  ", note);
    }
    for photo in &proposal.photos {
        text += &format!("{}\n", photo.file);
        let points = |points: &[[f64; 2]]| {
            let points: Vec<_> = points.iter().map(|[x, y]| format!("[{x:.1}, {y:.1}]")).collect();
            points.join(", ")
        };
        let rows: Vec<_> = (photo.marks.iter())
            .map(|(name, at)| vec![name.clone(), format!("{} px", points(at))])
            .collect();
        text += &table(&rows);
        if rows.is_empty() {
            text += "  neither edge\n";
        }
    }
    text
}

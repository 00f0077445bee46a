//! What the photos leave out: parts of the picture without corners, slants that were not taken.

use super::problem::ADVISED_PHOTOS;
use super::steps::{Solved, Views};
use crate::observe::Observed;
use shimwright_geom::Vec3;
use shimwright_record::Phrase;
use shimwright_say::say;

/// Fewest corners in a ninth of the picture, over all photos.
const FEWEST_IN_CELL: usize = 8;
/// Slant that at least some photos must reach, degrees: below it focal length and distance trade against each other.
const SLANT_DEG: f64 = 20.0;
/// How far the photos must lean to both sides, degrees (root mean square).
const LEAN_DEG: f64 = 6.0;
const CELLS: [[&str; 3]; 3] = [
    ["top left", "top middle", "top right"],
    ["middle left", "middle", "middle right"],
    ["bottom left", "bottom middle", "bottom right"],
];

/// Sentences about what is missing, the most wanted first.
pub(super) fn missing(photos: &[Observed], views: &Views, solved: &Solved) -> Vec<Phrase> {
    let mut hints = Vec::new();
    if views.used.len() < ADVISED_PHOTOS {
        hints.push(say!(
            "only {} photos show the sheet: take {ADVISED_PHOTOS} or more",
            views.used.len()
        ));
    }
    let normals: Vec<Vec3> = solved
        .calibration
        .poses
        .iter()
        .map(|pose| pose.direction(&Vec3::z()))
        .collect();
    hints.extend(slant(&normals));
    let empty = empty_cells(photos, views);
    if !empty.is_empty() {
        let names: Vec<_> = empty.iter().map(|&(row, column)| CELLS[row][column]).collect();
        hints.push(say!(
            "hardly a corner of the sheet was seen in these parts of the picture: {}; take more photos with the sheet \
             there",
            names.join(", ")
        ));
    }
    hints
}

/// What is said of the slants, from the sheet's normal in each view (into the paper, camera frame).
fn slant(normals: &[Vec3]) -> Option<Phrase> {
    let slants = normals.iter().map(|n| n.z.clamp(-1.0, 1.0).acos().to_degrees());
    let largest = slants.fold(0.0, f64::max);
    if largest < SLANT_DEG {
        return Some(say!(
            "no photo looks at the sheet from a slant of {SLANT_DEG:.0} degrees or more, the largest is {largest:.0}: \
             lean the phone more"
        ));
    }
    let moment = |f: &dyn Fn(&Vec3) -> f64| normals.iter().map(f).sum::<f64>() / normals.len() as f64;
    let (xx, yy, xy) = (
        moment(&|n| n.x * n.x),
        moment(&|n| n.y * n.y),
        moment(&|n| n.x * n.y),
    );
    let smaller = (xx + yy) / 2.0 - ((xx - yy) / 2.0).hypot(xy);
    (smaller.max(0.0).sqrt() < LEAN_DEG.to_radians().sin()).then(|| {
        say!("all photos lean about the same line: lean the phone to the left and right as well as forwards and back")
    })
}

/// Ninths of the upright picture, row and column, in which hardly a corner was seen.
fn empty_cells(photos: &[Observed], views: &Views) -> Vec<(usize, usize)> {
    let mut counts = [[0usize; 3]; 3];
    for &i in &views.used {
        let facts = &photos[i].found.facts;
        let cell = |at: f64, size: u32| ((3.0 * (at + 0.5) / f64::from(size)) as usize).min(2);
        for corner in super::steps::sheet(&views.target, &photos[i])
            .iter()
            .flat_map(|t| &t.corners)
        {
            counts[cell(corner.at.y, facts.height)][cell(corner.at.x, facts.width)] += 1;
        }
    }
    (0..9)
        .map(|i| (i / 3, i % 3))
        .filter(|&(row, column)| counts[row][column] < FEWEST_IN_CELL)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn normals(leans: &[(f64, f64)]) -> Vec<Vec3> {
        leans
            .iter()
            .map(|(x, y)| Vec3::new(x.to_radians().tan(), y.to_radians().tan(), 1.0).normalize())
            .collect()
    }

    #[test]
    fn flat_and_one_sided_photos_are_told() {
        let flat = slant(&normals(&[(3.0, 1.0), (-8.0, 9.0), (0.0, 0.0)])).unwrap();
        assert!(flat.contains("largest is 12"), "{flat}");
        let one_way = slant(&normals(&[(30.0, 1.0), (-25.0, 2.0), (10.0, -1.0)])).unwrap();
        assert!(one_way.contains("same line"), "{one_way}");
        assert_eq!(slant(&normals(&[(30.0, 1.0), (-5.0, 22.0), (10.0, -21.0)])), None);
    }
}

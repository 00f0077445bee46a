//! A printed target as something to look up: black or paper at a place.

use shimwright_geom::Vec2;
use shimwright_target::{Shape, Target};

/// Side of a cell of the index, mm.
const CELL: f64 = 0.5;

/// What an index cell holds.
#[derive(Clone, Debug)]
enum Cell {
    /// All of one colour.
    Even(bool),
    /// The areas that may reach into it.
    Mixed(Vec<u32>),
}

/// A printed target: black areas on paper, as a printer with its own scale and ink made it.
#[derive(Clone, Debug)]
pub struct Print {
    areas: Vec<Vec<Vec<Vec2>>>,
    low: Vec2,
    columns: usize,
    rows: usize,
    cells: Vec<Cell>,
    scale: Vec2,
    growth: f64,
}

impl Print {
    /// A print whose lengths along x and y are `scale` times the nominal ones, with every black edge moved outward by
    /// `growth_mm`, as spreading ink does.
    pub fn new(target: &Target, scale: Vec2, growth_mm: f64) -> Self {
        let areas: Vec<Vec<Vec<Vec2>>> = target
            .shapes()
            .into_iter()
            .filter_map(|shape| match shape {
                Shape::Black(outlines) => Some(outlines),
                Shape::CutLine(_) | Shape::CutCircle { .. } => None,
            })
            .collect();
        let (low, high) = target.pattern_box();
        let low = low.add_scalar(-1.0 - growth_mm);
        let size = (high.add_scalar(1.0 + growth_mm) - low) / CELL;
        let (columns, rows) = (size.x.ceil() as usize, size.y.ceil() as usize);
        let mut print = Self {
            areas,
            low,
            columns,
            rows,
            cells: Vec::new(),
            scale,
            growth: growth_mm,
        };
        print.cells = (0..columns * rows).map(|i| print.cell(i)).collect();
        print
    }

    /// The print's scale along x and y.
    pub fn scale(&self) -> Vec2 {
        self.scale
    }

    /// Whether the print is black at a place of the paper, mm from the target's origin as the paper lies.
    pub fn is_black(&self, on_paper: &Vec2) -> bool {
        let p = on_paper.component_div(&self.scale);
        let at = (p - self.low) / CELL;
        if !(at.x >= 0.0 && at.y >= 0.0) || at.x as usize >= self.columns || at.y as usize >= self.rows {
            return false;
        }
        match &self.cells[at.y as usize * self.columns + at.x as usize] {
            Cell::Even(black) => *black,
            Cell::Mixed(areas) => areas.iter().any(|&a| self.holds(&self.areas[a as usize], &p)),
        }
    }

    fn holds(&self, area: &[Vec<Vec2>], p: &Vec2) -> bool {
        is_inside(area, p)
            || (self.growth > 0.0 && sides(area).any(|(a, b)| distance(&a, &b, p) < self.growth))
    }

    fn cell(&self, index: usize) -> Cell {
        let corner = Vec2::new((index % self.columns) as f64, (index / self.columns) as f64) * CELL;
        let middle = self.low + corner.add_scalar(CELL / 2.0);
        // A side that comes this near to the middle may cross the cell.
        let near = CELL * 0.71 + self.growth;
        let touching: Vec<u32> = (0..self.areas.len())
            .filter(|&a| sides(&self.areas[a]).any(|(p, q)| distance(&p, &q, &middle) <= near))
            .map(|a| a as u32)
            .collect();
        let inside = self.areas.iter().any(|area| is_inside(area, &middle));
        match (touching.is_empty(), inside) {
            (true, inside) => Cell::Even(inside),
            (false, _) => {
                let mut areas = touching;
                let holding = (0..self.areas.len()).filter(|&a| is_inside(&self.areas[a], &middle));
                areas.extend(holding.map(|a| a as u32));
                areas.sort_unstable();
                areas.dedup();
                Cell::Mixed(areas)
            }
        }
    }
}

fn sides(area: &[Vec<Vec2>]) -> impl Iterator<Item = (Vec2, Vec2)> + '_ {
    area.iter()
        .flat_map(|outline| (0..outline.len()).map(move |i| (outline[i], outline[(i + 1) % outline.len()])))
}

/// Even-odd rule.
fn is_inside(area: &[Vec<Vec2>], p: &Vec2) -> bool {
    sides(area)
        .filter(|(a, b)| (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
        .count()
        % 2
        == 1
}

/// Distance from a point to a stretch of line.
fn distance(a: &Vec2, b: &Vec2, p: &Vec2) -> f64 {
    let along = b - a;
    let share = ((p - a).dot(&along) / along.norm_squared().max(1e-12)).clamp(0.0, 1.0);
    (a + along * share - p).norm()
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_target::TargetSet;

    fn card(scale: Vec2, growth: f64) -> Print {
        let targets = TargetSet::built_in();
        Print::new(targets.by_name("mount-card").unwrap(), scale, growth)
    }

    #[test]
    fn squares_are_black_to_their_very_border() {
        let print = card(Vec2::repeat(1.0), 0.0);
        for (x, y, black) in [
            (0.001, 4.0, true),
            (-0.001, 4.0, false),
            (7.999, 7.999, true),
            (8.001, 7.999, false),
            (16.001, 0.001, true),
            (63.9, 12.0, true),
            (200.0, 4.0, false),
        ] {
            assert_eq!(print.is_black(&Vec2::new(x, y)), black, "{x} {y}");
        }
    }

    #[test]
    fn scale_and_ink_move_borders() {
        let print = card(Vec2::new(1.01, 1.0), 0.0);
        assert!(print.is_black(&Vec2::new(8.079, 4.0)) && !print.is_black(&Vec2::new(8.081, 4.0)));
        let print = card(Vec2::repeat(1.0), 0.05);
        assert!(print.is_black(&Vec2::new(-0.049, 4.0)) && !print.is_black(&Vec2::new(-0.051, 4.0)));
    }

    /// The hub ring's tags lie turned; a place in the middle of each border is black.
    #[test]
    fn turned_tags_are_found_in_the_index() {
        let targets = TargetSet::built_in();
        let ring = targets.by_name("hub-ring").unwrap();
        let print = Print::new(ring, Vec2::repeat(1.0), 0.0);
        for tag in ring.tags() {
            let middle = tag.corners.iter().sum::<Vec2>() / 4.0;
            for corner in tag.corners {
                let inward = (middle - corner).normalize();
                assert!(print.is_black(&(corner + inward * 0.01)));
                assert!(!print.is_black(&(corner - inward * 0.01)));
            }
        }
    }
}

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
    /// Whether its middle is black, and all sides of black areas that may reach into it.
    Mixed(bool, Vec<(Vec2, Vec2)>),
}

/// A printed target: black areas on paper, as a printer with its own scale and ink made it.
#[derive(Clone, Debug)]
pub struct Print {
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
        // Odd offsets, another each way: no middle of a cell lies on a side, not of tags turned by 45 degrees either.
        let low = low - Vec2::new(1.0137, 1.0291).add_scalar(growth_mm);
        let size = (high.add_scalar(1.0 + growth_mm) - low) / CELL;
        let (columns, rows) = (size.x.ceil() as usize, size.y.ceil() as usize);
        let mut print = Self {
            low,
            columns,
            rows,
            cells: Vec::new(),
            scale,
            growth: growth_mm,
        };
        print.cells = print.index(&areas);
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
            Cell::Mixed(black, sides) => {
                // Between two places with an even number of sides between them the colour is the same.
                let middle = self.middle(at.x as usize, at.y as usize);
                let between = sides.iter().filter(|side| crosses(side, &middle, &p)).count();
                *black ^ (between % 2 == 1)
                    || (self.growth > 0.0 && sides.iter().any(|(a, b)| distance(a, b, &p) < self.growth))
            }
        }
    }

    fn middle(&self, column: usize, row: usize) -> Vec2 {
        self.low + Vec2::new(column as f64 + 0.5, row as f64 + 0.5) * CELL
    }

    /// What every cell of the index holds.
    fn index(&self, areas: &[Vec<Vec<Vec2>>]) -> Vec<Cell> {
        let count = self.columns * self.rows;
        let mut black = vec![false; count];
        let mut touching: Vec<Vec<(Vec2, Vec2)>> = vec![Vec::new(); count];
        for area in areas {
            for i in self.cells_about(area) {
                let middle = self.middle(i % self.columns, i / self.columns);
                // A side that comes this near to the middle may cross the cell.
                let near = CELL * 0.71 + self.growth;
                touching[i].extend(sides(area).filter(|(p, q)| distance(p, q, &middle) <= near));
                black[i] |= is_inside(area, &middle);
            }
        }
        black
            .into_iter()
            .zip(touching)
            .map(|(black, sides)| match sides.is_empty() {
                true => Cell::Even(black),
                false => Cell::Mixed(black, sides),
            })
            .collect()
    }

    /// The cells in the box about an area, a little wider than what may touch it.
    fn cells_about(&self, area: &[Vec<Vec2>]) -> impl Iterator<Item = usize> + use<> {
        let start = (Vec2::repeat(f64::INFINITY), Vec2::repeat(f64::NEG_INFINITY));
        let corners = area.iter().flatten();
        let (low, high) = corners.fold(start, |(low, high), p| (low.inf(p), high.sup(p)));
        let margin = CELL + self.growth;
        let cell = |v: f64, most: usize| ((v / CELL).max(0.0) as usize).min(most - 1);
        let (low, high) = (
            low.add_scalar(-margin) - self.low,
            high.add_scalar(margin) - self.low,
        );
        let columns = self.columns;
        let across = cell(low.x, columns)..=cell(high.x, columns);
        let down = cell(low.y, self.rows)..=cell(high.y, self.rows);
        down.flat_map(move |y| across.clone().map(move |x| y * columns + x))
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

/// Whether a side lies between two places.
fn crosses((a, b): &(Vec2, Vec2), p: &Vec2, q: &Vec2) -> bool {
    let (side, way) = (b - a, q - p);
    (side.perp(&(p - a)) > 0.0) != (side.perp(&(q - a)) > 0.0)
        && (way.perp(&(a - p)) > 0.0) != (way.perp(&(b - p)) > 0.0)
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

    /// The index tells what the even-odd rule over all areas tells.
    #[test]
    fn the_index_agrees_with_the_areas() {
        let targets = TargetSet::built_in();
        for name in ["mount-card", "hub-ring"] {
            let target = targets.by_name(name).unwrap();
            let print = Print::new(target, Vec2::repeat(1.0), 0.0);
            let mut random = shimwright_geom::Random::new(5);
            let (low, high) = target.pattern_box();
            let areas: Vec<_> = target
                .shapes()
                .into_iter()
                .filter_map(|shape| match shape {
                    Shape::Black(outlines) => Some(outlines),
                    _ => None,
                })
                .collect();
            for _ in 0..20_000 {
                let p = Vec2::new(random.between(low.x, high.x), random.between(low.y, high.y));
                let black = areas.iter().any(|area| is_inside(area, &p));
                assert_eq!(print.is_black(&p), black, "{name} {p}");
            }
        }
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

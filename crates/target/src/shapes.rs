//! A target as plain shapes, for whoever draws it.

use crate::layout;
use crate::tag36h11::{self, CELLS};
use crate::target::{Kind, TagPlace, Target};
use shimwright_geom::Vec2;

/// Something to draw, mm in the target's frame.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// An area printed black: closed outlines; a point is inside when an odd number of them holds it.
    ///
    /// Cells that touch are one area, so that no hairline of paper can show between them.
    Black(Vec<Vec<Vec2>>),
    /// A closed line to cut along.
    CutLine(Vec<Vec2>),
    /// A circle to cut along.
    CutCircle {
        /// Its centre.
        centre: Vec2,
        /// Its radius.
        radius_mm: f64,
    },
}

pub(crate) fn of_target(target: &Target) -> Vec<Shape> {
    let mut shapes = Vec::new();
    if let Kind::Board {
        columns,
        rows,
        square_mm,
        ..
    } = target.kind()
    {
        shapes.extend(black_squares(columns, rows, square_mm));
    }
    shapes.extend(target.tags().iter().filter_map(tag));
    match target.kind() {
        Kind::Ring {
            outer_diameter_mm,
            hole_diameter_mm,
            ..
        } => {
            for diameter in [outer_diameter_mm, hole_diameter_mm] {
                shapes.push(Shape::CutCircle {
                    centre: Vec2::zeros(),
                    radius_mm: diameter / 2.0,
                });
            }
        }
        Kind::Board { .. } | Kind::Tags => {
            shapes.extend(
                target
                    .page()
                    .map(|page| Shape::CutLine(layout::rectangle(page.origin, page.size))),
            );
        }
    }
    shapes
}

fn black_squares(columns: u32, rows: u32, square_mm: f64) -> impl Iterator<Item = Shape> {
    let squares = (0..rows).flat_map(move |row| (0..columns).map(move |column| (column, row)));
    squares
        .filter(|&(column, row)| layout::is_black_square(column, row))
        .map(move |(column, row)| {
            let origin = Vec2::new(f64::from(column), f64::from(row)) * square_mm;
            Shape::Black(vec![layout::rectangle(origin, Vec2::repeat(square_mm))])
        })
}

fn tag(tag: &TagPlace) -> Option<Shape> {
    let white = tag36h11::cells(tag.id)?;
    let [origin, top_right, _, bottom_left] = tag.corners;
    let across = (top_right - origin) / CELLS as f64;
    let down = (bottom_left - origin) / CELLS as f64;
    let place = |(x, y): GridPoint| origin + across * x as f64 + down * y as f64;
    let outlines = outlines_of_black(&white);
    Some(Shape::Black(
        outlines
            .into_iter()
            .map(|o| o.into_iter().map(place).collect())
            .collect(),
    ))
}

/// A crossing of the lines between cells: column and row of the cell at its lower right.
type GridPoint = (usize, usize);

/// The outlines of all black areas of a grid: around each area clockwise, around each hole anticlockwise.
fn outlines_of_black(white: &[[bool; CELLS]; CELLS]) -> Vec<Vec<GridPoint>> {
    let mut borders = borders_of_black(white);
    let mut outlines = Vec::new();
    while let Some((start, mut at)) = borders.pop() {
        let mut outline = vec![start];
        while at != start {
            outline.push(at);
            // Every border that ends at a point is followed by one that starts there.
            let Some(next) = borders.iter().position(|&(from, _)| from == at) else {
                break;
            };
            at = borders.swap_remove(next).1;
        }
        outlines.push(without_straight_points(&outline));
    }
    outlines
}

/// The sides of black cells that have white or nothing beyond them, each running with the black on its right.
fn borders_of_black(white: &[[bool; CELLS]; CELLS]) -> Vec<(GridPoint, GridPoint)> {
    let is_black = |x: Option<usize>, y: Option<usize>| match (x, y) {
        (Some(x), Some(y)) if x < CELLS && y < CELLS => !white[y][x],
        _ => false,
    };
    let mut borders = Vec::new();
    for y in 0..CELLS {
        for x in 0..CELLS {
            if !is_black(Some(x), Some(y)) {
                continue;
            }
            let sides = [
                (Some(x), y.checked_sub(1), (x, y), (x + 1, y)),
                (Some(x + 1), Some(y), (x + 1, y), (x + 1, y + 1)),
                (Some(x), Some(y + 1), (x + 1, y + 1), (x, y + 1)),
                (x.checked_sub(1), Some(y), (x, y + 1), (x, y)),
            ];
            borders.extend(sides.iter().filter(|s| !is_black(s.0, s.1)).map(|s| (s.2, s.3)));
        }
    }
    borders
}

/// Leaves out the points between two borders that run on in the same direction.
fn without_straight_points(outline: &[GridPoint]) -> Vec<GridPoint> {
    let n = outline.len();
    let is_corner = |i: &usize| {
        let (a, b, c) = (outline[(i + n - 1) % n], outline[*i], outline[(i + 1) % n]);
        !(a.0 == b.0 && b.0 == c.0 || a.1 == b.1 && b.1 == c.1)
    };
    (0..n).filter(is_corner).map(|i| outline[i]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::TargetSet;

    fn is_inside(outlines: &[Vec<Vec2>], p: Vec2) -> bool {
        let crossings = outlines.iter().flat_map(|o| {
            (0..o.len()).filter(move |&i| {
                let (a, b) = (o[i], o[(i + 1) % o.len()]);
                (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
            })
        });
        crossings.count() % 2 == 1
    }

    #[test]
    fn the_outlines_of_every_tag_hold_just_its_black_cells() {
        for id in 0..tag36h11::COUNT {
            let white = tag36h11::cells(id).unwrap();
            let corners = layout::rectangle(Vec2::zeros(), Vec2::repeat(CELLS as f64));
            let place = TagPlace {
                id,
                corners: [corners[0], corners[1], corners[2], corners[3]],
            };
            let Some(Shape::Black(outlines)) = tag(&place) else {
                panic!("no shape")
            };
            for (y, row) in white.iter().enumerate() {
                for (x, &white) in row.iter().enumerate() {
                    let middle = Vec2::new(x as f64 + 0.5, y as f64 + 0.5);
                    assert_eq!(is_inside(&outlines, middle), !white, "id {id} cell {x} {y}");
                }
            }
        }
    }

    #[test]
    fn a_turned_tag_is_drawn_with_its_top_outward() {
        let targets = TargetSet::built_in();
        let ring = targets.by_name("hub-ring").unwrap();
        let place = ring.tag(202).unwrap();
        let Some(Shape::Black(outlines)) = tag(place) else {
            panic!("no shape")
        };
        let white = tag36h11::cells(202).unwrap();
        // At 3 o'clock the tag's top is its right side, its left is at the top: row from the right, column from
        // the top.
        for (row, cells) in white.iter().enumerate() {
            for (column, &white) in cells.iter().enumerate() {
                let module = 9.0 / 8.0;
                let p = Vec2::new(
                    27.0 - (row as f64 + 0.5) * module,
                    -4.5 + (column as f64 + 0.5) * module,
                );
                assert_eq!(is_inside(&outlines, p), !white, "row {row} column {column}");
            }
        }
    }

    #[test]
    fn a_board_has_its_black_squares_tags_and_a_line_to_cut() {
        let targets = TargetSet::built_in();
        let shapes = targets.by_name("mount-card").unwrap().shapes();
        let black = shapes.iter().filter(|s| matches!(s, Shape::Black(_))).count();
        assert_eq!(black, 12 + 12);
        assert_eq!(shapes.len(), black + 1);
        let Shape::Black(first) = &shapes[0] else {
            panic!("no square")
        };
        assert_eq!(first[0][2], Vec2::new(8.0, 8.0), "the top-left square is black");
    }
}

//! Where the tags and saddles of each kind of target lie.

use crate::target::{SaddlePlace, TagPlace};
use shimwright_geom::Vec2;
use std::f64::consts::TAU;

/// Whether a board's square is black: OpenCV's chequer pattern (not its legacy one), black at the top left.
pub(crate) fn is_black_square(column: u32, row: u32) -> bool {
    (column + row).is_multiple_of(2)
}

/// A board's tags: one in the middle of each white square, ids row by row from `first_id`.
pub(crate) fn board_tags(size: (u32, u32), square_mm: f64, marker_mm: f64, first_id: u32) -> Vec<TagPlace> {
    let (columns, rows) = size;
    let border = (square_mm - marker_mm) / 2.0;
    let squares = (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)));
    squares
        .filter(|&(column, row)| !is_black_square(column, row))
        .zip(first_id..)
        .map(|((column, row), id)| {
            let origin = Vec2::new(f64::from(column), f64::from(row)) * square_mm;
            let corners = rectangle(origin.add_scalar(border), Vec2::repeat(marker_mm));
            TagPlace {
                id,
                corners: [corners[0], corners[1], corners[2], corners[3]],
            }
        })
        .collect()
}

/// A board's saddles, row by row.
pub(crate) fn board_saddles(columns: u32, rows: u32, square_mm: f64) -> Vec<SaddlePlace> {
    let inner = (1..rows).flat_map(|row| (1..columns).map(move |column| (column, row)));
    inner
        .zip(0..)
        .map(|((column, row), index)| SaddlePlace {
            index,
            at: Vec2::new(f64::from(column), f64::from(row)) * square_mm,
        })
        .collect()
}

/// A ring's tags: the first at -y with its top outward, the next clockwise seen from the printed side.
pub(crate) fn ring_tags(count: u32, tag_mm: f64, radius_mm: f64, first_id: u32) -> Vec<TagPlace> {
    let half = tag_mm / 2.0;
    let place = |k: u32| {
        let (sin, cos) = (TAU * f64::from(k) / f64::from(count)).sin_cos();
        let (outward, clockwise) = (Vec2::new(sin, -cos), Vec2::new(cos, sin));
        let corner = |right: f64, up: f64| outward * (radius_mm + up * half) + clockwise * (right * half);
        let corners = [
            corner(-1.0, 1.0),
            corner(1.0, 1.0),
            corner(1.0, -1.0),
            corner(-1.0, -1.0),
        ];
        TagPlace {
            id: first_id + k,
            corners,
        }
    };
    (0..count).map(place).collect()
}

/// The corners of a rectangle, clockwise from its top left.
pub(crate) fn rectangle(origin: Vec2, size: Vec2) -> Vec<Vec2> {
    let across = Vec2::new(size.x, 0.0);
    let down = Vec2::new(0.0, size.y);
    vec![origin, origin + across, origin + across + down, origin + down]
}

/// Points on a circle around the origin, clockwise from -y.
pub(crate) fn circle(radius: f64, corners: u32) -> Vec<Vec2> {
    let point = |k: u32| {
        let (sin, cos) = (TAU * f64::from(k) / f64::from(corners)).sin_cos();
        Vec2::new(sin, -cos) * radius
    };
    (0..corners).map(point).collect()
}

//! The two lines of a chamfered edge.

use nalgebra::Unit;
use shimwright_geom::Vec3;
use shimwright_solve::{Circle, Line};

/// Chamfer leg taken when the job states none, mm: machined edges are usually broken by 0.1 to 0.2 mm
/// (common practice, no source).
pub(crate) const UNKNOWN_CHAMFER: f64 = 0.12;
/// Its standard deviation, mm.
pub(crate) const UNKNOWN_CHAMFER_SIGMA: f64 = 0.06;

/// The direction of the axis from mount to rim: the rim's normal, made square to the mount's edge.
pub(crate) fn axis(line: &Line, circle: &Circle) -> Vec3 {
    let n = circle.normal;
    let square = n - line.direction * n.dot(&line.direction);
    let square = Unit::new_normalize(square).into_inner();
    // The rim stands on the far side of the gap: its normal is kept pointing away from the mount.
    if square.dot(&(circle.centre - line.point)) < 0.0 {
        -square
    } else {
        square
    }
}

/// From the face line of the mount's edge to its other line: back along the axis and up towards the cameras.
pub(crate) fn mount_offset(line: &Line, circle: &Circle, cameras: &Vec3, chamfer: f64) -> Vec3 {
    let axis = axis(line, circle);
    let up = axis.cross(&line.direction);
    let up = if up.dot(&(cameras - line.point)) < 0.0 {
        -up
    } else {
        up
    };
    (up - axis) * chamfer
}

/// From the face line of the rim to its other line at a place on the rim: along the axis and outward.
pub(crate) fn rim_offset(line: &Line, circle: &Circle, at: f64, chamfer: f64) -> Vec3 {
    let away = axis(line, circle).dot(&circle.normal).signum();
    (circle.normal * away + circle.radial(at)) * chamfer
}

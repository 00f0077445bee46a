//! What hides what: from the side of the wheel the rim covers part of the mount's edge, from the side of the motor the
//! mount covers part of the rim. A hidden edge is not looked for: another edge would be found in its place.

use super::chamfer;
use shimwright_geom::Vec3;
use shimwright_solve::{Circle, Line};

/// How near a line of sight may pass an edge that hides things, mm.
const MARGIN: f64 = 0.5;

/// Whether the rim's disc hides a point of the mount's edge from a camera, or comes so near to the line of sight that
/// its own edge would be taken for the mount's.
pub(crate) fn behind_rim(circle: &Circle, eye: &Vec3, point: &Vec3) -> bool {
    let crossing = crossing(&circle.centre, &circle.normal, eye, point);
    crossing.is_some_and(|at| (at - circle.centre).norm() < circle.radius + MARGIN)
}

/// Whether the mount, which lies below its edge, hides a point of the rim from a camera.
pub(crate) fn behind_mount(line: &Line, circle: &Circle, eye: &Vec3, point: &Vec3) -> bool {
    let axis = chamfer::axis(line, circle);
    let up = axis.cross(&line.direction);
    // The rim's centre lies below the edge.
    let up = if up.dot(&(circle.centre - line.point)) > 0.0 {
        -up
    } else {
        up
    };
    crossing(&line.point, &axis, eye, point).is_some_and(|at| (at - line.point).dot(&up) < MARGIN)
}

/// Where a line of sight crosses a plane on its way to a point.
fn crossing(on_plane: &Vec3, normal: &Vec3, eye: &Vec3, point: &Vec3) -> Option<Vec3> {
    let (from, to) = ((eye - on_plane).dot(normal), (point - on_plane).dot(normal));
    (from * to < 0.0).then(|| eye + (point - eye) * (from / (from - to)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mount's edge along x at z = 0, face plane y = 0, mount below (z > 0); rim of radius 50 in the plane y = 2,
    /// its centre 40 below the edge. Cameras above (negative z).
    fn scene() -> (Line, Circle) {
        (
            Line {
                point: Vec3::zeros(),
                direction: Vec3::x(),
            },
            Circle {
                centre: Vec3::new(0.0, 2.0, 40.0),
                normal: Vec3::y(),
                radius: 50.0,
            },
        )
    }

    #[test]
    fn the_rim_hides_the_edge_from_the_wheel_side_only() {
        let (_, circle) = scene();
        assert!(behind_rim(
            &circle,
            &Vec3::new(0.0, 100.0, -200.0),
            &Vec3::zeros()
        ));
        assert!(!behind_rim(
            &circle,
            &Vec3::new(0.0, -50.0, -200.0),
            &Vec3::zeros()
        ));
        // Beyond the disc the edge is free again.
        assert!(!behind_rim(
            &circle,
            &Vec3::new(60.0, 100.0, -200.0),
            &Vec3::new(60.0, 0.0, 0.0)
        ));
    }

    #[test]
    fn the_mount_hides_the_low_rim_from_the_motor_side_only() {
        let (line, circle) = scene();
        let low = Vec3::new(48.0, 2.0, 30.0);
        assert!(behind_mount(
            &line,
            &circle,
            &Vec3::new(48.0, -80.0, -200.0),
            &low
        ));
        assert!(!behind_mount(
            &line,
            &circle,
            &Vec3::new(48.0, 100.0, -200.0),
            &low
        ));
        assert!(!behind_mount(
            &line,
            &circle,
            &Vec3::new(0.0, -80.0, -200.0),
            &Vec3::new(0.0, 2.0, -10.0)
        ));
    }
}

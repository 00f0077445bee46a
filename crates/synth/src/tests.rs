//! Rendered pictures against what can be worked out by hand.

use crate::{Form, Light, Outline, Paint, Scene, Sensor, Shot, Surface, render};
use shimwright_camera::Camera;
use shimwright_geom::{GreyPicture, Pose, Vec2, Vec3, linear_light};

/// A camera that looks along z at the plane z = 100 with one pixel a tenth of a millimetre.
pub(crate) fn square_shot(size: u32, sensor: Sensor) -> Shot {
    Shot {
        camera: Camera::ideal(size, size, 1000.0),
        camera_from_world: Pose::identity(),
        sensor,
    }
}

/// A bright half plane on a dark ground, its border through a place (px from the picture's middle) at an angle.
fn step_scene(place: f64, angle: f64, levels: (f64, f64)) -> Scene {
    let (sin, cos) = angle.sin_cos();
    let (x, y) = (Vec3::new(cos, sin, 0.0), Vec3::new(-sin, cos, 0.0));
    let edge = x * (place / 10.0) + Vec3::new(0.0, 0.0, 100.0);
    let half = crate::drive::frame(x, y, Vec3::z(), edge);
    let ground = crate::drive::frame(x, y, Vec3::z(), Vec3::new(0.0, 0.0, 100.5));
    Scene {
        surfaces: vec![
            Surface::new(
                Form::flat(
                    half,
                    Outline::Rectangle(Vec2::new(0.0, -90.0), Vec2::new(90.0, 90.0)),
                ),
                Paint::plain(levels.1),
            ),
            Surface::new(Form::flat(ground, Outline::Endless), Paint::plain(levels.0)),
        ],
        light: Light {
            sky: 1.0,
            lamp: 0.0,
            towards_lamp: -Vec3::z(),
        },
        background: 0.0,
    }
}

fn light(picture: &GreyPicture, x: usize, y: usize) -> f64 {
    f64::from(linear_light()[picture.at(x, y) as usize])
}

/// Sum of light along a row places a border between two levels: to a hundredth of a pixel at every sub-pixel place and
/// angle, along the rows too, where regular samples would jump.
#[test]
fn borders_stand_where_they_should() {
    let (low, high) = (0.05, 0.6);
    let size = 64;
    for angle in [0.0f64, 0.003, 0.05, 0.4] {
        for step in 0..11 {
            let place = f64::from(step) * 0.1 - 0.5;
            let picture = render(
                &step_scene(place, angle, (low, high)),
                &square_shot(size, Sensor::quiet(0.7)),
                1,
            );
            let middle = f64::from(size - 1) / 2.0;
            let rows = 20..44;
            let away: f64 = rows
                .clone()
                .map(|y| {
                    // Levels as the bytes have them: their rounding adds up over a row.
                    let (low, high) = (light(&picture, 1, y), light(&picture, size as usize - 2, y));
                    let sum: f64 = (0..size as usize).map(|x| light(&picture, x, y) - low).sum();
                    // The border in this row, from the left, in pixels.
                    let at = f64::from(size) - sum / (high - low) - 0.5;
                    let want = middle + (place - (y as f64 - middle) * angle.sin()) / angle.cos();
                    at - want
                })
                .sum::<f64>()
                / rows.len() as f64;
            // The few bytes on the border are rounded too: to 0.01 px each, and all alike where rows are alike.
            assert!(away.abs() < 0.02, "angle {angle} place {place}: {away:+.4} px");
        }
    }
}

/// The blur of a border is that of a Gaussian and a pixel's own area: variance blur^2 + 1/12.
#[test]
fn the_blur_is_as_stated() {
    let picture = render(
        &step_scene(0.13, 0.0, (0.05, 0.6)),
        &square_shot(64, Sensor::quiet(1.1)),
        1,
    );
    let edge: Vec<f64> = (1..64)
        .map(|x| light(&picture, x, 30) - light(&picture, x - 1, 30))
        .collect();
    let total: f64 = edge.iter().sum();
    let mean = (0..63).map(|i| i as f64 * edge[i]).sum::<f64>() / total;
    let variance = (0..63).map(|i| (i as f64 - mean).powi(2) * edge[i]).sum::<f64>() / total;
    // Differences of neighbouring pixels blur by another pixel's width.
    let want = 1.1f64.powi(2) + 2.0 / 12.0;
    assert!(
        (variance.sqrt() / want.sqrt() - 1.0).abs() < 0.02,
        "{variance} {want}"
    );
}

/// Noise is the square root of the electrons.
#[test]
fn noise_is_that_of_its_electrons() {
    let sensor = Sensor {
        full_well: 5000.0,
        read_noise: 5.0,
        ..Sensor::quiet(0.5)
    };
    let picture = render(&step_scene(-90.0, 0.0, (0.4, 0.4)), &square_shot(128, sensor), 9);
    let values: Vec<f64> = picture
        .data()
        .iter()
        .map(|b| f64::from(linear_light()[*b as usize]))
        .collect();
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let sigma = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let want = (0.4f64 * 5000.0 + 25.0).sqrt() / 5000.0;
    assert!((mean - 0.4).abs() < 5e-4, "{mean}");
    // Rounding adds a little.
    assert!((sigma / want - 1.0).abs() < 0.05, "{sigma} {want}");
}

#[test]
fn the_same_seed_gives_the_same_picture() {
    let sensor = Sensor {
        full_well: 5000.0,
        ..Sensor::quiet(0.5)
    };
    let take = |seed| render(&step_scene(0.0, 0.1, (0.1, 0.4)), &square_shot(64, sensor), seed);
    assert_eq!(take(4), take(4));
    assert_ne!(take(4), take(5));
}

//! Rendered pictures and the detector judge each other: corners must be found where the exact scene puts them.

use shimwright_geom::{Vec2, Vec3};
use shimwright_measure::{PhotoInput, look_at};
use shimwright_synth::{GapLimits, Sheet, Shot, render};
use shimwright_target::TargetSet;
use shimwright_tests::made;

/// Where a printed place of a bowed, scaled sheet appears.
fn appears(shot: &Shot, sheet: &Sheet, place: &Vec2, (middle, half): (f64, f64)) -> Vec2 {
    let at = place.component_mul(&sheet.scale);
    let share = (at.x - middle) / half;
    let bow = -sheet.bow_mm * (1.0 - share * share);
    let p = sheet.world_from_sheet.point(&Vec3::new(at.x, at.y, bow));
    shot.project(&p).expect("the card is before the camera")
}

/// Every corner of the card is found in JPEG pictures of random scenes, to two hundredths of a pixel and without bias, and
/// the stated sigma is not too small. (It may be too large: it allows for lenses and prints that are worse than these.)
#[test]
fn corners_are_found_where_the_scene_puts_them() {
    let targets = TargetSet::built_in();
    let card = targets.by_name("mount-card").expect("built in");
    let (low, high) = card.pattern_box();
    let stretch = ((low.x + high.x) / 2.0, (high.x - low.x) / 2.0);
    let (mut errors, mut pulls) = (Vec::new(), Vec::new());
    for seed in 1..=2 {
        let made = made::gap_scene(seed, &GapLimits::default());
        let shot = &made.shots[0];
        let bytes = made::jpeg(&render(&made.scene, shot, seed));
        let photo = PhotoInput {
            name: "made",
            bytes: &bytes,
        };
        let seen = look_at(&photo, &targets).expect("a readable photo");
        let found = seen
            .targets
            .iter()
            .find(|t| t.name == "mount-card")
            .expect("the card is in view");
        assert_eq!(found.corners.len(), card.saddles().len(), "seed {seed}");
        for corner in &found.corners {
            let away = corner.at - appears(shot, &made.truth.card, &corner.place, stretch);
            errors.push(away);
            pulls.push(away.norm_squared() / (2.0 * corner.sigma_px * corner.sigma_px));
        }
    }
    let n = errors.len() as f64;
    let mean = errors.iter().sum::<Vec2>() / n;
    let rms = (errors.iter().map(|e| e.norm_squared()).sum::<f64>() / (2.0 * n)).sqrt();
    let pull = (pulls.iter().sum::<f64>() / n).sqrt();
    println!(
        "{n} corners: mean {:+.4} {:+.4} px, rms {rms:.4} px an axis, {pull:.2} stated sigmas",
        mean.x, mean.y
    );
    assert!(rms < 0.02, "rms {rms:.4} px");
    assert!(mean.norm() < 0.005, "mean {mean}");
    assert!(pull < 1.2, "the stated sigma is {pull:.2} times too small");
}

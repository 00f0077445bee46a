//! Targets drawn here, so that the search is tested where no photographs are at hand.

#[path = "support/drawing.rs"]
mod drawing;

use drawing::{View, middle};
use shimwright_detect::{CornerKind, FoundTarget, TagParams, TargetParams, find_tags, find_target};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::{Target, TargetSet};

fn target(name: &str) -> Target {
    TargetSet::built_in()
        .by_name(name)
        .expect("a built-in target")
        .clone()
}

fn find(picture: &GreyPicture, target: &Target) -> Option<FoundTarget> {
    let tags = find_tags(picture, &TagParams::default());
    find_target(picture, &tags, target, &TargetParams::default())
}

/// Root mean square error per axis and the mean error, pixels.
fn errors(view: &View, target: &Target, found: &FoundTarget) -> (f64, Vec2) {
    let n = found.corners.len() as f64;
    let off: Vec<Vec2> = found
        .corners
        .iter()
        .map(|c| c.at - view.project(&(c.place - middle(target))))
        .collect();
    let squares: f64 = off.iter().map(|e| e.norm_squared()).sum();
    (
        (squares / 2.0 / n).sqrt(),
        off.iter().fold(Vec2::zeros(), |s, e| s + e) / n,
    )
}

#[test]
fn a_board_is_found_at_every_tilt_and_blur() {
    let card = target("mount-card");
    for (tilt, blur) in [(0.0, 0.6), (0.5, 0.8), (1.0, 0.8), (-0.7, 1.5), (0.3, 2.5)] {
        let view = View {
            tilt,
            blur,
            light_slope: 0.6,
            ..View::default()
        };
        let found = find(&view.draw(&card), &card).unwrap_or_else(|| panic!("tilt {tilt} blur {blur}"));
        let (rms, mean) = errors(&view, &card, &found);
        println!(
            "tilt {tilt} blur {blur}: {} corners, rms {rms:.4}, mean {mean:?}",
            found.corners.len()
        );
        assert_eq!(
            found.corners.len(),
            card.saddles().len(),
            "tilt {tilt} blur {blur}"
        );
        assert!(found.corners.iter().all(|c| c.kind == CornerKind::Saddle));
        assert!(
            rms < 0.02 && mean.norm() < 0.01,
            "tilt {tilt} blur {blur}: rms {rms} mean {mean:?}"
        );
        let seen = found.blur_px().unwrap();
        // A pixel's own width adds a twelfth of a square pixel.
        let expected = (blur * blur + 1.0 / 12.0).sqrt();
        assert!(
            (seen / expected - 1.0).abs() < 0.15,
            "blur {expected} seen as {seen}"
        );
    }
}

#[test]
fn a_ring_of_lone_tags_gives_the_corners_of_its_tags() {
    let ring = target("hub-ring");
    for (tilt, blur) in [(0.0, 0.7), (0.9, 0.8), (0.4, 2.0)] {
        let view = View {
            tilt,
            blur,
            scale: 8.0,
            ..View::default()
        };
        let found = find(&view.draw(&ring), &ring).unwrap_or_else(|| panic!("tilt {tilt} blur {blur}"));
        let (rms, mean) = errors(&view, &ring, &found);
        println!(
            "tilt {tilt} blur {blur}: {} corners, rms {rms:.4}, mean {mean:?}",
            found.corners.len()
        );
        assert_eq!(found.corners.len(), 32);
        assert!(found.corners.iter().all(|c| c.kind == CornerKind::TagCorner));
        assert!(
            rms < 0.03 && mean.norm() < 0.01,
            "tilt {tilt} blur {blur}: rms {rms} mean {mean:?}"
        );
        let first = &found.corners[0];
        assert_eq!((first.index, first.place), (4 * 200, ring.tags()[0].corners[0]));
    }
}

/// A cell of 2.5 px: a mount card as wide as a thumbnail.
#[test]
fn small_tags_are_read() {
    let card = target("mount-card");
    let view = View {
        scale: 2.5 / 0.7,
        blur: 0.6,
        tilt: 0.1,
        ..View::default()
    };
    let tags = find_tags(&view.draw(&card), &TagParams::default());
    assert!(tags.len() >= 10, "only {} of 12 tags", tags.len());
    assert!(tags.iter().all(|t| card.tags().iter().any(|p| p.id == t.id)));
}

#[test]
fn a_dark_and_noisy_board_is_found_and_says_how_well() {
    let card = target("mount-card");
    let (mut normalised, mut count) = (0.0, 0.0);
    for seed in 1..=4 {
        let view = View {
            light: (0.05, 0.003),
            noise: 0.004,
            seed,
            ..View::default()
        };
        let found = find(&view.draw(&card), &card).expect("found in the dark");
        assert!(found.corners.len() >= 12);
        for c in &found.corners {
            let error = c.at - view.project(&(c.place - middle(&card)));
            normalised += error.norm_squared() / 2.0 / c.sigma_px.powi(2);
            count += 1.0;
        }
    }
    let normalised = normalised / count;
    println!("normalised variance {normalised:.2} of {count} corners");
    assert!(
        (0.5..1.6).contains(&normalised),
        "normalised variance {normalised}"
    );
}

/// A sheet of grey paper over the left half: what is left is found, what is covered is not.
#[test]
fn a_half_covered_board_gives_the_other_half() {
    let card = target("mount-card");
    let view = View {
        turn: 0.05,
        ..View::default()
    };
    let whole = view.draw(&card);
    let covered = |i: usize| i % whole.width() < 440;
    let data = whole
        .data()
        .iter()
        .enumerate()
        .map(|(i, &v)| if covered(i) { 150 } else { v })
        .collect();
    let half = GreyPicture::new(whole.width(), whole.height(), data).unwrap();
    let found = find(&half, &card).expect("six corners are left");
    let (rms, _) = errors(&view, &card, &found);
    assert!(
        (6..=8).contains(&found.corners.len()),
        "{} corners",
        found.corners.len()
    );
    assert!(found.corners.iter().all(|c| c.at.x > 440.0));
    assert!(rms < 0.03, "rms {rms}");
}

#[test]
fn too_few_corners_or_none_are_no_target() {
    let card = target("mount-card");
    let ring = target("hub-ring");
    let picture = View::default().draw(&card);
    assert!(find(&picture, &ring).is_none());
    let paper = GreyPicture::new(300, 200, vec![180; 60_000]).unwrap();
    assert!(find(&paper, &card).is_none());
    let tags = find_tags(&picture, &TagParams::default());
    let strict = TargetParams {
        min_board_corners: 15,
        ..TargetParams::default()
    };
    assert!(find_target(&picture, &tags, &card, &strict).is_none());
}

#[test]
fn tiny_pictures_are_searched_without_harm() {
    for (w, h) in [(1, 1), (3, 2), (7, 40), (16, 16), (4, 1000)] {
        let picture = GreyPicture::new(w, h, (0..w * h).map(|i| (i * 37 % 256) as u8).collect()).unwrap();
        assert!(find_tags(&picture, &TagParams::default()).is_empty());
    }
}

//! A glimpse of a large photo: targets lie where the close look finds them, and nothing is seen where nothing is.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod support;

use shimwright_detect::{FoundTarget, TagParams, TargetParams, find_tags, find_target};
use shimwright_geom::GreyPicture;
use shimwright_live::glimpse;
use shimwright_synth::{TurnLimits, TurnScene, render};
use shimwright_target::{Target, TargetSet};

/// Largest distance between a corner as it is glimpsed and as it is fitted, px of the photo: it is a line on a small screen.
const MOST_OFF_PX: f64 = 2.0;

fn photo(width: u32, seed: u64) -> GreyPicture {
    let targets = TargetSet::built_in();
    let limits = TurnLimits {
        width,
        photos: 1,
        ..TurnLimits::default()
    };
    let [card, ring] = ["mount-card", "hub-ring"].map(|name| targets.by_name(name).unwrap());
    let made = TurnScene::random(card, ring, &limits, seed);
    render(&made.photos[0].scene, &made.photos[0].shot, seed)
}

/// The largest distance between the target's corners by the one and by the other, px.
fn apart(target: &Target, a: &FoundTarget, b: &FoundTarget) -> f64 {
    let saddles = target.saddles().iter().map(|saddle| saddle.at);
    let tags = target.tags().iter().flat_map(|tag| tag.corners);
    saddles
        .chain(tags)
        .map(|place| (a.seen_at(&place).unwrap() - b.seen_at(&place).unwrap()).norm())
        .fold(0.0, f64::max)
}

#[test]
fn targets_lie_where_the_close_look_finds_them() {
    let targets = TargetSet::built_in();
    // As it is, and reduced twice.
    for (width, seed) in [(1280, 3), (3400, 5)] {
        let photo = photo(width, seed);
        let tags = find_tags(&photo, &TagParams::default());
        let glimpsed = glimpse(&photo, &targets);
        let names: Vec<&str> = glimpsed.iter().map(|found| found.name.as_str()).collect();
        assert!(
            names.contains(&"mount-card") && names.contains(&"hub-ring"),
            "{width}: {names:?}"
        );
        for found in &glimpsed {
            let target = targets.by_name(&found.name).unwrap();
            let close = find_target(&photo, &tags, target, &TargetParams::default()).unwrap();
            let off = apart(target, found, &close);
            println!("{width} px wide, {}: {off:.2} px", found.name);
            assert!(off < MOST_OFF_PX, "{width}: {} is {off} px off", found.name);
        }
    }
}

#[test]
fn nothing_is_seen_where_nothing_is() {
    let wall = GreyPicture::new(2400, 1800, vec![180; 2400 * 1800]).unwrap();
    assert_eq!(glimpse(&wall, &TargetSet::built_in()), vec![]);
}

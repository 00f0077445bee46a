//! Pictures for the tests, and ways to spoil them.

#![allow(dead_code, reason = "each test file uses a part")]

use shimwright_detect::FoundCorner;
use shimwright_geom::GreyPicture;
use shimwright_synth::{TurnLimits, TurnScene};
use shimwright_target::TargetSet;

/// A turn series in the size of a stream's pictures.
pub fn turn_scene(seed: u64, photos: usize) -> TurnScene {
    let targets = TargetSet::built_in();
    let limits = TurnLimits {
        width: 1280,
        photos,
        ..TurnLimits::default()
    };
    TurnScene::random(
        targets.by_name("mount-card").unwrap(),
        targets.by_name("hub-ring").unwrap(),
        &limits,
        seed,
    )
}

fn made(width: usize, height: usize, value: impl Fn(usize, usize) -> u8) -> GreyPicture {
    let data = (0..width * height).map(|i| value(i % width, i / width)).collect();
    GreyPicture::new(width, height, data).unwrap()
}

/// The means of squares: what a motion both ways or a lens out of focus does, roughly.
pub fn blurred(picture: &GreyPicture, radius: usize) -> GreyPicture {
    let (w, h) = (picture.width(), picture.height());
    let across = |picture: &GreyPicture| {
        made(w, h, |x, y| {
            let row = &picture.row(y)[x.saturating_sub(radius)..(x + radius + 1).min(w)];
            (row.iter().map(|v| usize::from(*v)).sum::<usize>() / row.len()) as u8
        })
    };
    let down = |picture: &GreyPicture| {
        made(w, h, |x, y| {
            let range = y.saturating_sub(radius)..(y + radius + 1).min(h);
            let count = range.len();
            (range.map(|y| usize::from(picture.at(x, y))).sum::<usize>() / count) as u8
        })
    };
    // Twice, so that edges look like those of a lens and not like ramps.
    down(&across(&down(&across(picture))))
}

/// With less light.
pub fn darkened(picture: &GreyPicture, factor: f64) -> GreyPicture {
    made(picture.width(), picture.height(), |x, y| {
        (f64::from(picture.at(x, y)) * factor) as u8
    })
}

/// As from so many times the distance, on a grey ground.
pub fn far(picture: &GreyPicture, factor: usize) -> GreyPicture {
    let (w, h) = (picture.width(), picture.height());
    made(w, h, |x, y| {
        let (x, y) = (x * factor, y * factor);
        if x + factor > w || y + factor > h {
            return 130;
        }
        let sum: usize = (0..factor * factor)
            .map(|k| usize::from(picture.at(x + k % factor, y + k / factor)))
            .sum();
        (sum / (factor * factor)) as u8
    })
}

/// With an upright band of one grey level painted over the height of some corners.
pub fn painted(picture: &GreyPicture, across: (f64, f64), level: u8, over: &[FoundCorner]) -> GreyPicture {
    let ys = || over.iter().map(|corner| corner.at.y);
    let (top, bottom) = (
        ys().fold(f64::INFINITY, f64::min) - 14.0,
        ys().fold(0.0, f64::max) + 14.0,
    );
    made(picture.width(), picture.height(), |x, y| {
        let (fx, fy) = (x as f64, y as f64);
        if fx > across.0 && fx < across.1 && fy > top && fy < bottom {
            level
        } else {
            picture.at(x, y)
        }
    })
}

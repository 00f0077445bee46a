//! Tags and targets in rendered photographs with known truth. Gates may only tighten.

mod support;

use shimwright_detect::{FoundTarget, Tag, TagParams, TargetParams, find_tags, find_target};
use shimwright_geom::GreyPicture;
use shimwright_target::TargetSet;
use std::collections::BTreeMap;
use support::{Photo, Truth};

/// What a photo, or a series of them, must give of one target.
struct Gate {
    /// Series or photo, and the target's name.
    of: (&'static str, &'static str),
    /// Fewest corners in each photo.
    corners: usize,
    /// Largest root mean square error per axis over all, and largest error of any corner, pixels.
    rms_px: f64,
    worst_px: f64,
    /// Mean square of the errors in units of their stated sigma.
    normalised: std::ops::Range<f64>,
}

fn gate(
    of: (&'static str, &'static str),
    corners: usize,
    rms_px: f64,
    worst_px: f64,
    normalised: std::ops::Range<f64>,
) -> Gate {
    Gate {
        of,
        corners,
        rms_px,
        worst_px,
        normalised,
    }
}

/// A series stands for its photos; a nasty photo for itself. Sixty and more corners tell a normalised variance to
/// a fifth, a dozen only its order.
fn gates() -> Vec<Gate> {
    vec![
        gate(("B", "bench-sheet"), 70, 0.019, 0.08, 0.8..1.2),
        gate(("G", "mount-card"), 14, 0.022, 0.10, 0.8..1.2),
        gate(("R", "mount-card"), 14, 0.022, 0.09, 0.8..1.2),
        gate(("R", "hub-ring"), 32, 0.022, 0.13, 0.8..1.2),
        gate(("P", "bench-sheet"), 64, 0.020, 0.08, 0.8..1.2),
        gate(("n_scale_b", "bench-sheet"), 70, 0.022, 0.08, 0.7..1.4),
        gate(("n_scale_g", "mount-card"), 14, 0.022, 0.08, 0.4..2.0),
        gate(("n_rot6", "mount-card"), 14, 0.022, 0.08, 0.4..2.0),
        gate(("n_half", "mount-card"), 6, 0.030, 0.08, 0.4..2.5),
        gate(("n_blur_g", "mount-card"), 14, 0.06, 0.15, 0.1..2.0),
        gate(("n_blur_r", "mount-card"), 14, 0.06, 0.15, 0.4..2.0),
        gate(("n_blur_r", "hub-ring"), 32, 0.08, 0.25, 0.4..2.0),
        gate(("n_dark", "mount-card"), 14, 0.12, 0.35, 0.4..2.0),
        gate(("n_glare", "mount-card"), 7, 0.25, 0.9, 0.1..2.0),
    ]
}

#[derive(Default)]
struct Score {
    photos: usize,
    corners: usize,
    fewest: Option<usize>,
    squares: f64,
    worst_px: f64,
    normalised: f64,
}

impl Score {
    fn add(&mut self, photo: &Photo<'_>, key: &str, found: &FoundTarget) {
        self.photos += 1;
        self.corners += found.corners.len();
        self.fewest = Some(
            self.fewest
                .map_or(found.corners.len(), |f| f.min(found.corners.len())),
        );
        for c in &found.corners {
            let error = c.at - photo.project(key, &c.place);
            self.squares += error.norm_squared() / 2.0;
            self.normalised += error.norm_squared() / 2.0 / c.sigma_px.powi(2);
            self.worst_px = self.worst_px.max(error.norm());
        }
    }

    fn rms_px(&self) -> f64 {
        (self.squares / self.corners as f64).sqrt()
    }

    fn normalised(&self) -> f64 {
        self.normalised / self.corners as f64
    }
}

fn search(picture: &GreyPicture) -> (Vec<Tag>, f64) {
    let start = support::cpu_ms();
    let tags = find_tags(picture, &TagParams::default());
    (tags, support::cpu_ms() - start)
}

/// The nasty photos differ too much to be judged together.
fn group(photo: &Photo<'_>) -> String {
    if photo.series() == "N" {
        photo.id().to_owned()
    } else {
        photo.series().to_owned()
    }
}

#[test]
fn corners_lie_where_the_truth_says() {
    let Some(truth) = Truth::dev() else { return };
    let targets = TargetSet::built_in();
    let mut scores: BTreeMap<(String, &str), Score> = BTreeMap::new();
    let (mut tag_ms, mut photos) = (0.0, 0.0);
    for photo in truth.photos() {
        let picture = photo.grey();
        let (tags, ms) = search(&picture);
        (tag_ms, photos) = (tag_ms + ms, photos + 1.0);
        let known = photo.targets();
        for target in targets.iter() {
            let found = find_target(&picture, &tags, target, &TargetParams::default());
            match (known.iter().find(|(_, name)| *name == target.name()), found) {
                (Some((key, name)), Some(found)) => {
                    scores
                        .entry((group(&photo), name))
                        .or_default()
                        .add(&photo, key, &found);
                }
                (Some(_), None) => panic!("{}: {} not found", photo.id(), target.name()),
                (None, Some(_)) => panic!("{}: {} is not there but was found", photo.id(), target.name()),
                (None, None) => {}
            }
        }
        no_false_tags(&photo, &tags, &targets);
    }
    println!("tag search {:.0} ms of processor time a photo", tag_ms / photos);
    judge(&scores);
}

/// Every tag read belongs to a target that is there and lies on its place; a corner of it may be covered.
fn no_false_tags(photo: &Photo<'_>, tags: &[Tag], targets: &TargetSet) {
    for tag in tags {
        let off = photo.targets().iter().find_map(|(key, name)| {
            let place = targets.by_name(name)?.tags().iter().find(|t| t.id == tag.id)?;
            let corners = place.corners.map(|c| photo.project(key, &c));
            let side = (corners[1] - corners[0]).norm();
            let errors = (0..4).map(|i| (corners[i] - tag.corners[i]).norm() / side);
            Some(errors.fold(0.0, f64::max))
        });
        assert!(off.is_some_and(|o| o < 0.25), "{}: false tag {tag:?}", photo.id());
    }
}

fn judge(scores: &BTreeMap<(String, &str), Score>) {
    let mut failures = Vec::new();
    for ((group, name), s) in scores {
        println!(
            "{group:10} {name:11} {:2} photos {:4} corners, rms {:.4} px, worst {:.3} px, normalised {:.2}",
            s.photos,
            s.corners,
            s.rms_px(),
            s.worst_px,
            s.normalised()
        );
        let gate = gates()
            .into_iter()
            .find(|g| g.of == (group.as_str(), name))
            .expect("a gate for each group");
        let good = s.fewest >= Some(gate.corners)
            && s.rms_px() <= gate.rms_px
            && s.worst_px <= gate.worst_px
            && gate.normalised.contains(&s.normalised());
        if !good {
            failures.push(format!("{group} {name}, fewest corners {:?}", s.fewest));
        }
    }
    assert_eq!(scores.len(), gates().len(), "a group is missing");
    assert!(failures.is_empty(), "gates not met: {failures:?}");
}

#[test]
fn the_same_picture_gives_the_same_answer() {
    let Some(truth) = Truth::dev() else { return };
    let photo = truth.photos().next().expect("a photo");
    let picture = photo.grey();
    let targets = TargetSet::built_in();
    let card = targets.by_name("mount-card").unwrap();
    let run = || {
        let tags = find_tags(&picture, &TagParams::default());
        let found = find_target(&picture, &tags, card, &TargetParams::default());
        (tags, found)
    };
    assert_eq!(run(), run());
}

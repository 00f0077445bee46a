//! Whether to take a picture as a photo, by what it shows and what was taken before.

use crate::look::Seen;
use crate::view::{View, Way};
use crate::wish::{News, SECTORS, Wish};
use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, TAU};

/// How far to the next side somebody is sent, in multiples of the smallest angle that is new.
const STEP_AHEAD: f64 = 1.7;
/// Nobody is sent to a side from which a target is seen at more than this, rad.
const MOST_TILT: f64 = 0.85;
/// Another way up, rad, and another distance, as a ratio.
const OTHER_ROLL: f64 = 0.7;
const OTHER_DISTANCE: f64 = 1.3;

/// What stands between a picture and the shutter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Standing {
    /// Its troubles.
    Troubled,
    /// Phone or wheel moves.
    Moving,
    /// Nothing new: the wheel is to be turned on.
    SameAngle,
    /// Nothing new: the phone is to be moved, best this way.
    SameSide {
        /// The way, as the person behind the phone sees it.
        way: Way,
    },
    /// The person decides.
    ByHand,
    /// As many photos as are wanted were taken.
    Enough,
    /// Nothing: sharp, steady and new.
    Good,
}

/// What comes of a picture.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Judgement {
    /// Whether it is to be taken as a photo now.
    pub take: bool,
    /// What stands between it and the shutter.
    pub standing: Standing,
    /// Parts of the turn that have a photo, counter-clockwise from the card's x axis; empty unless wheel angles are asked for.
    pub covered: Vec<bool>,
    /// How many photos that show something else were taken.
    pub taken: usize,
    /// How many of those are enough.
    pub enough: usize,
}

/// Judges a picture beside the views of the photos taken so far.
pub fn judge(wish: &Wish, seen: &Seen, still: bool, taken: &[View]) -> Judgement {
    let covered = match wish.news {
        News::WheelAngle { .. } => covered(taken),
        _ => Vec::new(),
    };
    let different = match wish.news {
        News::WheelAngle { .. } => covered.iter().filter(|has| **has).count(),
        News::Side { .. } => different(wish, taken),
        News::ByHand => taken.len(),
    };
    let standing = standing(wish, seen, still, taken, different);
    Judgement {
        take: standing == Standing::Good,
        standing,
        covered,
        taken: different.min(wish.enough),
        enough: wish.enough,
    }
}

fn standing(wish: &Wish, seen: &Seen, still: bool, taken: &[View], different: usize) -> Standing {
    if different >= wish.enough {
        return Standing::Enough;
    }
    let Some(view) = seen.view.as_ref().filter(|_| seen.troubles.is_empty()) else {
        return Standing::Troubled;
    };
    let nothing_new = match wish.news {
        News::ByHand => Some(Standing::ByHand),
        News::WheelAngle { .. } => {
            (!taken.iter().all(|other| is_new(wish, view, other))).then_some(Standing::SameAngle)
        }
        News::Side { .. } => {
            (!taken.iter().all(|other| is_new(wish, view, other))).then(|| Standing::SameSide {
                way: open_way(wish, view, taken),
            })
        }
    };
    match nothing_new {
        Some(standing) => standing,
        None if !still => Standing::Moving,
        None => Standing::Good,
    }
}

/// Whether a view shows what another does not.
fn is_new(wish: &Wish, view: &View, other: &View) -> bool {
    match wish.news {
        News::WheelAngle { apart } => match (view.wheel_angle, other.wheel_angle) {
            (Some(a), Some(b)) => ((a - b + PI).rem_euclid(TAU) - PI).abs() >= apart,
            // A photo without an angle covers nothing.
            _ => true,
        },
        News::Side { apart, also_pose, .. } => {
            let (roll, distance) = view.pose_apart(other);
            view.apart(other) >= apart || (also_pose && (roll >= OTHER_ROLL || distance >= OTHER_DISTANCE))
        }
        News::ByHand => true,
    }
}

/// Which parts of the turn have a photo.
fn covered(taken: &[View]) -> Vec<bool> {
    let mut covered = vec![false; SECTORS];
    for angle in taken.iter().filter_map(|view| view.wheel_angle) {
        covered[(angle / TAU * SECTORS as f64) as usize % SECTORS] = true;
    }
    covered
}

/// How many views differ from all before them.
fn different(wish: &Wish, taken: &[View]) -> usize {
    let mut kept: Vec<&View> = Vec::new();
    for view in taken {
        if kept.iter().all(|other| is_new(wish, view, other)) {
            kept.push(view);
        }
    }
    kept.len()
}

/// The way that leads furthest from all views taken, without looking along the target.
fn open_way(wish: &Wish, view: &View, taken: &[View]) -> Way {
    let (apart, ways) = match wish.news {
        News::Side {
            apart,
            all_ways: true,
            ..
        } => (apart, &Way::ALL[..]),
        News::Side { apart, .. } => (apart, &Way::SIDEWAYS[..]),
        _ => return Way::Left,
    };
    let openness = |way: Way| {
        let there = view.moved(way, STEP_AHEAD * apart);
        let nearest = taken.iter().map(|other| there.apart(other)).fold(PI, f64::min);
        if there.tilt() > MOST_TILT {
            nearest - PI
        } else {
            nearest
        }
    };
    let mut best = ways[0];
    for &way in &ways[1..] {
        if openness(way) > openness(best) {
            best = way;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Matrix3;
    use shimwright_geom::{Pose, Vec3};
    use shimwright_record::CheckKind;

    /// A camera 200 mm from a card, looking at its middle from so many degrees to the right and above, held level.
    fn view(right_deg: f64, above_deg: f64) -> View {
        let (right, above) = (right_deg.to_radians(), above_deg.to_radians());
        // The card's x points right, its y down and its z away from the camera.
        let sight = Vec3::new(-right.sin() * above.cos(), above.sin(), right.cos() * above.cos());
        let x = Vec3::y().cross(&sight).normalize();
        let axes = Matrix3::from_columns(&[x, sight.cross(&x), sight]);
        let card_from_camera = Pose::from_matrix(&axes, -200.0 * sight);
        View {
            camera_from_target: card_from_camera.inverse(),
            middle: Vec3::zeros(),
            wheel_angle: None,
        }
    }

    fn seen(view: &View) -> Seen {
        Seen {
            width: 1280,
            height: 960,
            found: Vec::new(),
            view: Some(view.clone()),
            troubles: Vec::new(),
        }
    }

    fn standing_of(kind: CheckKind, now: &View, taken: &[View]) -> Standing {
        let wish = Wish::of(kind).expect("measured from photos");
        judge(&wish, &seen(now), true, taken).standing
    }

    #[test]
    fn angles_between_views_are_those_they_were_made_with() {
        assert!((view(30.0, 0.0).tilt().to_degrees() - 30.0).abs() < 1e-9);
        assert!((view(20.0, 0.0).apart(&view(-15.0, 0.0)).to_degrees() - 35.0).abs() < 1e-9);
        assert!((view(0.0, 25.0).tilt().to_degrees() - 25.0).abs() < 1e-9);
    }

    #[test]
    fn a_gap_sends_to_the_side_that_is_open_and_is_content_with_three() {
        let (straight, right, left) = (view(0.0, 10.0), view(20.0, 10.0), view(-20.0, 10.0));
        let gap = CheckKind::Gap;
        assert_eq!(standing_of(gap, &straight, &[]), Standing::Good);
        assert_eq!(
            standing_of(gap, &view(5.0, 10.0), &[straight.clone(), right.clone()]),
            Standing::SameSide { way: Way::Left }
        );
        assert_eq!(
            standing_of(gap, &view(-5.0, 10.0), &[straight.clone(), left.clone()]),
            Standing::SameSide { way: Way::Right }
        );
        assert_eq!(
            standing_of(gap, &left, &[straight.clone(), right.clone()]),
            Standing::Good
        );
        assert_eq!(
            standing_of(gap, &view(40.0, 0.0), &[straight, right, left]),
            Standing::Enough
        );
    }

    #[test]
    fn an_alignment_is_also_seen_from_higher_up_and_nobody_is_sent_too_far_aside() {
        let taken = [view(0.0, 10.0), view(20.0, 10.0), view(-20.0, 10.0)];
        let told = standing_of(CheckKind::Alignment, &view(2.0, 10.0), &taken);
        assert!(
            matches!(
                told,
                Standing::SameSide {
                    way: Way::Higher | Way::Lower
                }
            ),
            "{told:?}"
        );
        let aside = [view(45.0, 0.0)];
        assert_eq!(
            standing_of(CheckKind::Gap, &view(44.0, 0.0), &aside),
            Standing::SameSide { way: Way::Left }
        );
    }

    #[test]
    fn a_push_is_taken_by_hand_and_a_phone_held_upright_is_new_to_a_calibration() {
        assert_eq!(
            standing_of(CheckKind::Play, &view(0.0, 0.0), &[]),
            Standing::ByHand
        );
        let level = view(0.0, 20.0);
        let mut upright = level.clone();
        let quarter = Pose::from_rotation_vector(Vec3::z() * std::f64::consts::FRAC_PI_2, Vec3::zeros());
        upright.camera_from_target = quarter * level.camera_from_target;
        assert!(matches!(
            standing_of(CheckKind::Camera, &level, std::slice::from_ref(&level)),
            Standing::SameSide { .. }
        ));
        assert_eq!(standing_of(CheckKind::Camera, &upright, &[level]), Standing::Good);
    }
}

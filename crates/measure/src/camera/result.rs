//! How a calibration is told.

use super::coverage;
use super::steps::{Solved, Views, sheet};
use crate::observe::Observed;
use crate::told::drawn_target;
use shimwright_record::conformity::normal_cdf;
use shimwright_record::{
    BudgetLine, CheckKind, CheckResult, Conformity, PhotoUse, Phrase, Quantity, Value, Verdict,
};
use shimwright_say::say;
use shimwright_solve::{Group, WorstPlace};
use std::collections::BTreeMap;

/// Names and units of the intrinsics in their order; k3 is held at zero and not told.
const NAMES: [(&str, &str); 8] = [
    ("fx", "px"),
    ("fy", "px"),
    ("cx", "px"),
    ("cy", "px"),
    ("k1", "1"),
    ("k2", "1"),
    ("p1", "1"),
    ("p2", "1"),
];
/// How well (95 %) a good profile places a direction anywhere in the picture, px: about 0.03 mm at 230 mm from a
/// phone, below what the edges of a gap allow.
const GOOD_PX: f64 = 0.3;
/// Residual above which the photos do not fit one lens of this model, px.
const BAD_RMS_PX: f64 = 1.5;
/// A photo whose residual is this many times the usual one is named.
const ODD_PHOTO: f64 = 2.5;
/// A sheet bent by more than this is named, mm.
const BENT_MM: f64 = 0.3;

/// Tells the result.
pub(super) fn tell(photos: &[Observed], views: &Views, solved: &Solved) -> CheckResult {
    let hints = coverage::missing(photos, views, solved);
    let worst = WorstPlace::of(&solved.calibration.camera, &solved.calibration.covariance);
    let lines = photo_lines(photos, views, solved);
    let mut warnings = hints.clone();
    warnings.extend(oddities(views, solved, &lines));
    CheckResult {
        check: CheckKind::Camera,
        values: values(views, solved),
        verdict: verdict(solved, &worst, &hints),
        budget: budget(solved, &worst),
        photos: lines,
        warnings,
    }
}

fn values(views: &Views, solved: &Solved) -> BTreeMap<String, Value> {
    let one = |value, u95, unit: &str| {
        Value::One(Quantity {
            value,
            u95,
            unit: unit.into(),
        })
    };
    let sigma = solved.calibration.sigma();
    let intrinsics = &solved.calibration.camera.intrinsics;
    let mut values: BTreeMap<String, Value> = NAMES
        .iter()
        .enumerate()
        .map(|(k, (name, unit))| ((*name).to_owned(), one(intrinsics[k], 1.96 * sigma[k], unit)))
        .collect();
    let coordinates = 2 * views.corners.iter().map(Vec::len).sum::<usize>();
    // A standard deviation from n numbers is known to its (2 n)th root.
    let u95 = 1.96 * solved.rms_px / (2.0 * coordinates as f64).sqrt();
    values.insert("rms_px".to_owned(), one(solved.rms_px, u95, "px"));
    values
}

fn verdict(solved: &Solved, worst: &WorstPlace, hints: &[Phrase]) -> Verdict {
    let u95 = 1.96 * worst.sigma;
    let place = say!(
        "a direction is placed to {u95:.2} px (95 %) at the worst place of the picture, and {GOOD_PX} px is good enough"
    );
    let (state, text) = if solved.rms_px > BAD_RMS_PX {
        (
            Conformity::Outside,
            say!(
                "the corners miss a common lens by {:.2} px: the sheet moved or is not flat, or the camera zoomed or \
                 corrected the pictures; use plain photos of a sheet that lies flat",
                solved.rms_px
            ),
        )
    } else if u95 <= GOOD_PX && hints.is_empty() {
        (Conformity::Within, say!("the profile is good enough: {place}"))
    } else {
        let wanted = match hints.first() {
            Some(hint) => hint.clone(),
            None => say!("take more photos from other sides"),
        };
        (
            Conformity::Undecided,
            say!("the profile is usable and could be better: {place}; {wanted}"),
        )
    };
    Verdict {
        state,
        text,
        limit: GOOD_PX,
        probability: if solved.rms_px > BAD_RMS_PX {
            0.0
        } else {
            2.0 * normal_cdf(GOOD_PX / worst.sigma) - 1.0
        },
    }
}

/// The budget of the verdict's number, px.
fn budget(solved: &Solved, worst: &WorstPlace) -> Vec<BudgetLine> {
    let note = |group: Group| match group {
        Group::Corners => (
            say!("corner noise"),
            say!("how well the sheet's corners were located"),
        ),
        Group::Camera => (
            say!("camera"),
            say!("what was taken for likely of any lens, and one focus for all photos"),
        ),
        Group::Scale => (say!("print scale"), say!("how well the print's two scales agree")),
        Group::Flatness => (say!("target flatness"), say!("how flat the sheet is taken to be")),
        // These have no part in a calibration.
        Group::Edges | Group::Features | Group::EdgeShift => (say!("model choice"), Phrase::foreign("")),
    };
    let mut lines: Vec<BudgetLine> = Group::ALL
        .into_iter()
        .zip(&solved.calibration.parts)
        .map(|(group, part)| {
            let (part_name, note) = note(group);
            BudgetLine {
                part: part_name,
                u: worst.variance(part).max(0.0).sqrt(),
                note,
            }
        })
        .filter(|line| !line.note.is_empty())
        .collect();
    lines.sort_by(|a, b| b.u.total_cmp(&a.u));
    lines
}

fn photo_lines(photos: &[Observed], views: &Views, solved: &Solved) -> Vec<PhotoUse> {
    photos
        .iter()
        .enumerate()
        .map(|(i, photo)| {
            let place = views.used.iter().position(|&used| used == i);
            let corners = sheet(&views.target, photo).map_or(0, |found| found.corners.len());
            PhotoUse {
                file: photo.name.clone(),
                corners,
                rms_px: place.map_or(0.0, |k| {
                    (solved.calibration.squares[k] / corners.max(1) as f64).sqrt()
                }),
                used: place.is_some(),
                note: place
                    .is_none()
                    .then(|| say!("no {} with enough corners in view", views.target)),
                drawn: photo.found.targets.iter().map(drawn_target).collect(),
            }
        })
        .collect()
}

fn oddities(views: &Views, solved: &Solved, lines: &[PhotoUse]) -> Vec<Phrase> {
    let mut warnings = Vec::new();
    let mut usual: Vec<f64> = lines.iter().filter(|l| l.used).map(|l| l.rms_px).collect();
    usual.sort_by(f64::total_cmp);
    let usual = usual[usual.len() / 2];
    for line in lines.iter().filter(|l| l.used && l.rms_px > ODD_PHOTO * usual) {
        warnings.push(say!(
            "{} fits worse than the others ({:.2} px against {usual:.2} px): it may be blurred, or the sheet moved; take it \
             again",
            line.file, line.rms_px
        ));
    }
    if solved.refocused {
        let factors = &solved.calibration.focal_factors;
        let (low, high) = factors.iter().fold((f64::INFINITY, 0.0f64), |(low, high), f| {
            (low.min(*f), high.max(*f))
        });
        warnings.push(say!(
            "the camera refocused between the photos: the focal length differs by {:.2} %, which widens its uncertainty; \
             lock the focus if the phone can",
            100.0 * (high - low)
        ));
    }
    let (bend, sigma) = solved.calibration.bend;
    for (axis, name) in ["x", "y"].into_iter().enumerate() {
        if bend[axis].abs() > BENT_MM && bend[axis].abs() > 3.0 * sigma[axis] {
            warnings.push(say!(
                "the {} is bent by {:.1} mm along {name}; lay it flat on glass or a board",
                views.target,
                bend[axis].abs()
            ));
        }
    }
    warnings
}

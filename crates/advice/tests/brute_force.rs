//! The search against plain enumeration: never a worse choice, never an unsafe one, never a wrong "nothing fits".
//!
//! The enumeration below shares no code with the search: it writes out every way to fit the corners, counts rings one
//! by one and works out gap, belt offset and uncertainty from the definitions.

mod made_up;

use made_up::{Dice, any_question};
use shimwright_advice::choose_spacer;
use shimwright_record::{CornerGap, SpacerQuestion};
use std::collections::BTreeMap;

const CASES: u64 = 10_000;
/// Half a millionth of a millimetre: far below a ring, far above rounding.
const SAME: f64 = 5e-7;

/// One way to fit one corner: how many of each ring, and whether that is what is there.
#[derive(Clone, Debug)]
struct Way {
    rings: BTreeMap<usize, u32>,
    label: String,
    stays: bool,
    step: f64,
    step_u95: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Score {
    offset: f64,
    changes: u32,
    step: f64,
}

impl Score {
    fn better_than(&self, other: &Score) -> bool {
        if (self.offset - other.offset).abs() > SAME {
            return self.offset < other.offset;
        }
        if self.changes != other.changes {
            return self.changes < other.changes;
        }
        self.step < other.step - SAME
    }
}

/// The rings of a fitted label, when the stock has them and the thickness entered is theirs.
fn fitted_rings(question: &SpacerQuestion, corner: &CornerGap) -> Option<BTreeMap<usize, u32>> {
    let mut rings = BTreeMap::new();
    let mut thickness = 0.0;
    for label in corner.spacer_label.split(" + ") {
        let ring = question.stock.iter().position(|ring| ring.label == label)?;
        *rings.entry(ring).or_insert(0) += 1;
        thickness += question.stock[ring].thickness;
    }
    // The made-up entries are off by 0.04 mm at most, which is below what is taken for granted of a ring.
    assert!((thickness - corner.spacer_thickness).abs() < 0.05);
    Some(rings)
}

fn ways(question: &SpacerQuestion, corner: &CornerGap) -> Vec<Way> {
    let fitted = fitted_rings(question, corner);
    let mut ways = Vec::new();
    if fitted.is_none() {
        ways.push(Way {
            rings: BTreeMap::new(),
            label: corner.spacer_label.clone(),
            stays: true,
            step: 0.0,
            step_u95: 0.0,
        });
    }
    let sizes = question.stock.len();
    // Every sequence of rings, sorted ones only: written out with one digit a place, digit 0 for "no ring".
    let limit = question.drive.stack_limit;
    for number in 1..(sizes + 1).pow(limit) {
        let digits: Vec<usize> = (0..limit)
            .map(|place| number / (sizes + 1).pow(place) % (sizes + 1))
            .collect();
        if !digits.is_sorted() {
            continue;
        }
        let mut rings = BTreeMap::new();
        for digit in digits.into_iter().filter(|&digit| digit > 0) {
            *rings.entry(digit - 1).or_insert(0) += 1;
        }
        ways.push(way(question, corner, fitted.as_ref(), rings));
    }
    ways
}

fn way(
    question: &SpacerQuestion,
    corner: &CornerGap,
    fitted: Option<&BTreeMap<usize, u32>>,
    rings: BTreeMap<usize, u32>,
) -> Way {
    let thickness: f64 = rings
        .iter()
        .map(|(&ring, &many)| f64::from(many) * question.stock[ring].thickness)
        .sum();
    let label = format!("{rings:?}");
    if fitted == Some(&rings) {
        return Way {
            rings,
            label,
            stays: true,
            step: 0.0,
            step_u95: 0.0,
        };
    }
    let many = |rings: Option<&BTreeMap<usize, u32>>, ring| {
        f64::from(rings.and_then(|rings| rings.get(&ring)).copied().unwrap_or(0))
    };
    let mut square = if fitted.is_some() { 0.0 } else { 0.05_f64.powi(2) };
    for (ring, size) in question.stock.iter().enumerate() {
        square += ((many(Some(&rings), ring) - many(fitted, ring)) * size.u95).powi(2);
    }
    Way {
        rings,
        label,
        stays: false,
        step: thickness - corner.spacer_thickness,
        step_u95: square.sqrt(),
    }
}

fn safe(question: &SpacerQuestion, corner: &CornerGap, way: &Way) -> bool {
    let factor = question.drive.located.gap_per_spacer();
    let gap = corner.gap.value + factor * way.step;
    let u = (corner.gap.u95.powi(2) + (factor * way.step_u95).powi(2)).sqrt() / 1.96;
    gap - 1.6448536269514722 * u >= question.drive.minimum_gap && others_safe(question, corner, way)
}

/// Every other clearance of the corner, from the spacer with which it was measured to the one of this way.
fn others_safe(question: &SpacerQuestion, corner: &CornerGap, way: &Way) -> bool {
    let Some(description) = &question.drive.description else {
        return true;
    };
    let here = description
        .clearances
        .iter()
        .filter(|one| one.corner == corner.corner);
    here.into_iter().all(|one| {
        let factor = f64::from(one.per_spacer);
        let since = corner.spacer_thickness - one.spacer_thickness;
        // Two rings of 0.05 mm each lie between then and now, unless it is the same one.
        let since_square = if since == 0.0 { 0.0 } else { 2.0 * 0.05_f64.powi(2) };
        let value = one.value + factor * (since + way.step);
        let square = one.u95.powi(2) + factor.powi(2) * (since_square + way.step_u95.powi(2));
        value - 1.6448536269514722 * square.sqrt() / 1.96 >= one.minimum
    })
}

fn offset(question: &SpacerQuestion, corner: &CornerGap, way: &Way) -> f64 {
    let unslid = corner.belt_offset.value + question.drive.located.belt_offset_per_spacer() * way.step;
    let [low, high] = question.drive.motor_slide;
    if unslid > high {
        unslid - high
    } else if unslid < low {
        low - unslid
    } else {
        0.0
    }
}

fn enough(question: &SpacerQuestion, ways: &[&Way]) -> bool {
    (0..question.stock.len()).all(|ring| {
        let used: u32 = ways.iter().filter_map(|way| way.rings.get(&ring)).sum();
        let fitted: u32 = question
            .corners
            .iter()
            .filter_map(|corner| fitted_rings(question, corner))
            .filter_map(|rings| rings.get(&ring).copied())
            .sum();
        used <= question.stock[ring].count + fitted
    })
}

fn score(question: &SpacerQuestion, ways: &[&Way]) -> Option<Score> {
    let corners = || question.corners.iter().zip(ways);
    if !corners().all(|(corner, way)| safe(question, corner, way)) || !enough(question, ways) {
        return None;
    }
    if question.drive.same_spacer_everywhere && ways.len() == 2 {
        let alike = ways[0].rings == ways[1].rings
            && ways[0].label == ways[1].label
            && (!ways[0].rings.is_empty()
                || (question.corners[0].spacer_thickness - question.corners[1].spacer_thickness).abs()
                    <= 0.05);
        if !alike {
            return None;
        }
    }
    Some(Score {
        offset: corners()
            .map(|(corner, way)| offset(question, corner, way))
            .fold(0.0, f64::max),
        changes: ways.iter().map(|way| u32::from(!way.stays)).sum(),
        step: ways.iter().map(|way| way.step.abs()).sum(),
    })
}

/// The best score there is, by looking at everything.
fn best(question: &SpacerQuestion) -> Option<Score> {
    let each: Vec<Vec<Way>> = question
        .corners
        .iter()
        .map(|corner| ways(question, corner))
        .collect();
    let mut best: Option<Score> = None;
    let mut look = |ways: &[&Way]| {
        if let Some(score) = score(question, ways)
            && best.is_none_or(|best| score.better_than(&best))
        {
            best = Some(score);
        }
    };
    for first in &each[0] {
        match each.get(1) {
            None => look(&[first]),
            // Safety is asked here already, or the pairs of unsafe ones would take most of the time.
            Some(_) if !safe(question, &question.corners[0], first) => {}
            Some(second) => second.iter().for_each(|second| look(&[first, second])),
        }
    }
    best
}

/// The score of what was advised, found again among the ways; `None` when it is unsafe or not to be had.
fn advised(question: &SpacerQuestion, advice: &shimwright_record::SpacerAdvice) -> Option<Score> {
    let mut ways_taken = Vec::new();
    for (corner, choice) in question.corners.iter().zip(&advice.choices) {
        assert_eq!(corner.corner, choice.corner);
        let all = ways(question, corner);
        let mut rings = BTreeMap::new();
        for label in &choice.rings {
            if let Some(ring) = question.stock.iter().position(|ring| &ring.label == label) {
                *rings.entry(ring).or_insert(0) += 1;
            }
        }
        let way = all
            .into_iter()
            .find(|way| way.rings == rings)
            .expect("a way that exists");
        assert_eq!(choice.change, !way.stays);
        let factor = question.drive.located.gap_per_spacer();
        assert!((choice.gap_after.value - corner.gap.value - factor * way.step).abs() < 1e-9);
        let u95 = corner.gap.u95.hypot(factor * way.step_u95);
        assert!((choice.gap_after.u95 - u95).abs() < 1e-12);
        assert!((choice.belt_offset_after.value.abs() - offset(question, corner, &way)).abs() < 1e-9);
        let [low, high] = question.drive.motor_slide;
        assert!((low..=high).contains(&choice.motor_slide));
        ways_taken.push(way);
    }
    assert_eq!(ways_taken.len(), question.corners.len());
    score(question, &ways_taken.iter().collect::<Vec<_>>())
}

#[test]
fn never_worse_and_never_unsafe() {
    let (mut served, mut pairs, mut stacked, mut starved, mut limited) = (0, 0, 0, 0, 0);
    for seed in 0..CASES {
        let mut dice = Dice(seed);
        let question = any_question(&mut dice, if seed % 8 == 0 { 7 } else { 4 });
        let advice = choose_spacer(&question).unwrap();
        let best = best(&question);
        assert_eq!(
            advice.fits,
            best.is_some(),
            "case {seed}: {question:#?}\n{advice:#?}"
        );
        assert_eq!(advice.choices.is_empty(), best.is_none(), "case {seed}");
        let Some(best) = best else {
            starved += 1;
            continue;
        };
        let advised = advised(&question, &advice);
        let advised =
            advised.unwrap_or_else(|| panic!("case {seed}: not allowed: {question:#?}\n{advice:#?}"));
        assert!(
            !best.better_than(&advised),
            "case {seed}: {best:?} is better than {advised:?}: {question:#?}\n{advice:#?}"
        );
        served += 1;
        limited += u32::from(question.drive.description.is_some());
        pairs += u32::from(question.corners.len() == 2 && !question.drive.same_spacer_everywhere);
        stacked += u32::from(advice.choices.iter().any(|choice| choice.rings.len() > 1));
    }
    // The made-up cases must reach every part of the search, or the test above says little.
    println!(
        "served {served} (pairs {pairs}, stacks {stacked}, other clearances {limited}), nothing fits {starved}"
    );
    assert!(limited > 500, "{limited}");
    assert!(served > 1000 && pairs > 200 && stacked > 50 && starved > 500);
}

#[test]
fn equal_questions_get_equal_answers_and_the_order_of_the_corners_does_not_matter() {
    for seed in 0..200 {
        let question = any_question(&mut Dice(seed), 6);
        let advice = choose_spacer(&question).unwrap();
        let mut turned = question.clone();
        turned.corners.reverse();
        assert_eq!(advice, choose_spacer(&question).unwrap());
        assert_eq!(advice, choose_spacer(&turned).unwrap());
    }
}

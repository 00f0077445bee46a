//! How long the search may take.

mod made_up;

use made_up::{Dice, mm, question, ring};
use shimwright_advice::choose_spacer;
use shimwright_record::{Corner, CornerGap, Drive};
use std::time::{Duration, Instant};

/// Promised for 40 sizes of ring in stacks of two, in an optimised build on a machine that does nothing else.
const PROMISED: Duration = Duration::from_millis(50);
/// What a busy machine may take in a test: a search that looks at every pair without leaving any out would take far longer.
const BUSY: u32 = 10;

fn forty_sizes(
    dice: &mut Dice,
    one_size: bool,
    slide: f64,
    stack_limit: u32,
) -> shimwright_record::SpacerQuestion {
    let stock = (0..40)
        .map(|at| ring(&format!("R{at}"), dice.between(3.0, 14.0), 0.05, 1))
        .collect();
    let drive = Drive {
        same_spacer_everywhere: one_size,
        motor_slide: [-slide, slide],
        stack_limit,
        ..Drive::default()
    };
    let corners = Corner::BOTH.map(|corner| CornerGap {
        corner,
        gap: mm(dice.between(-1.0, 2.0), 0.08),
        spacer_thickness: 11.0,
        spacer_label: "own".into(),
        belt_offset: mm(dice.between(-1.5, 1.5), 0.2),
    });
    question(drive, corners.to_vec(), stock)
}

#[test]
fn forty_rings_in_stacks_of_two_are_quick() {
    let mut dice = Dice(40);
    let mut slowest = [Duration::ZERO; 2];
    for round in 0..20 {
        for (kind, stack_limit) in [(0, 2), (1, 3)] {
            // A wide slide makes hundreds of ties at no offset at all, which is the hard case.
            let slide = if round % 4 < 2 { 0.5 } else { 5.0 };
            let question = forty_sizes(&mut dice, round % 2 == 0, slide, stack_limit);
            let start = Instant::now();
            let advice = choose_spacer(&question).unwrap();
            slowest[kind] = slowest[kind].max(start.elapsed());
            assert!(advice.fits || !advice.ideal.is_empty());
        }
    }
    println!("stacks of two {:?}, of three {:?}", slowest[0], slowest[1]);
    assert!(
        slowest[0] < PROMISED * BUSY,
        "the slowest of 20 took {:?}, promised are {PROMISED:?} on an idle machine",
        slowest[0]
    );
}

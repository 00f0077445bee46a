//! Times the spacer search on a drawer of 40 sizes in stacks of two, a corner pair at a time:
//! `cargo run --release -p shimwright-advice --example spacer_speed`. Promised are 50 ms for the slowest.

use shimwright_advice::choose_spacer;
use shimwright_record::{Corner, CornerGap, Drive, Quantity, SpacerQuestion, SpacerStock};
use std::time::{Duration, Instant};

const ROUNDS: u32 = 200;

/// Spreads numbers evenly over 0 to 1 without a seed: the golden ratio's fractional parts.
fn spread(at: u32) -> f64 {
    (f64::from(at) * 0.618_033_988_749_895).fract()
}

fn mm(value: f64, u95: f64) -> Quantity {
    Quantity {
        value,
        u95,
        unit: "mm".to_owned(),
    }
}

fn question(round: u32) -> SpacerQuestion {
    let corner = |corner, at: u32| CornerGap {
        corner,
        gap: mm(3.0 * spread(at) - 1.0, 0.08),
        spacer_thickness: 11.0,
        spacer_label: "own".to_owned(),
        belt_offset: mm(3.0 * spread(at + 7) - 1.5, 0.2),
    };
    // A wide slide makes hundreds of ties at no offset at all, which is the hard case.
    let slide = if round % 4 < 2 { 0.5 } else { 5.0 };
    SpacerQuestion {
        drive: Drive {
            same_spacer_everywhere: round.is_multiple_of(2),
            motor_slide: [-slide, slide],
            stack_limit: 2,
            ..Drive::default()
        },
        corners: vec![corner(Corner::Left, round), corner(Corner::Right, round + 100)],
        stock: (0..40)
            .map(|ring| SpacerStock {
                label: format!("R{ring}"),
                thickness: 3.0 + 11.0 * spread(ring + 40 * round),
                u95: 0.05,
                count: 1,
            })
            .collect(),
        earlier: Vec::new(),
    }
}

fn main() {
    let mut times: Vec<Duration> = (0..ROUNDS)
        .map(|round| {
            let question = question(round);
            let start = Instant::now();
            let advice = choose_spacer(&question);
            let took = start.elapsed();
            assert!(advice.is_ok(), "{advice:?}");
            took
        })
        .collect();
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share) as usize];
    println!(
        "40 sizes in stacks of two, {ROUNDS} questions: median {:?}, slowest {:?}",
        at(0.5),
        at(1.0)
    );
}

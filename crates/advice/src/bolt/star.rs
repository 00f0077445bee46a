//! Star order and stages of tightening.

use super::{wrench_gives, wrench_share};
use crate::wording::torque as told_torque;
use shimwright_record::{Phrase, TighteningPass};
use shimwright_say::say;

/// Shares of the full torque in the stages, besides hand-snug before and a round at full torque after: within the 20 to
/// 30 %, 50 to 70 % and 100 % of ASME PCC-1 (from memory, not read).
const STAGES: [f64; 3] = [0.3, 0.7, 1.0];

/// Settings of a small torque wrench are read to a hundredth of a newton metre.
const SETTINGS_PER_NEWTON_METRE: f64 = 100.0;

/// The order in which `count` screws around a circle are tightened, numbered 1 to `count` around it.
///
/// An even count goes in opposite pairs, every second pair first; an odd count steps on by half of the count, rounded
/// down, so that each screw lies across from the one before. Every screw comes once.
pub fn star_order(count: u32) -> Vec<u32> {
    if count < 3 {
        return (1..=count).collect();
    }
    if count % 2 == 1 {
        let step = (count - 1) / 2;
        return (0..count).map(|at| at * step % count + 1).collect();
    }
    let half = count / 2;
    // With an odd number of pairs neighbours alternate by themselves.
    let starts: Vec<u32> = if half.is_multiple_of(2) {
        (1..=half).step_by(2).chain((2..=half).step_by(2)).collect()
    } else {
        (1..=half).collect()
    };
    starts
        .into_iter()
        .flat_map(|start| [start, start + half])
        .collect()
}

/// The passes that bring `count` screws to a torque, N m: hand-snug, three stages in star order, and a round at full
/// torque until no screw turns. Without a torque: the same by feel.
pub fn passes(count: u32, torque: Option<f64>) -> Vec<TighteningPass> {
    let star = star_order(count);
    let in_star = in_words(&star);
    let pass = |torque: Option<f64>, order: &[u32], told: Phrase| TighteningPass {
        torque,
        order: order.to_vec(),
        told,
    };
    let snug = pass(
        None,
        &star,
        say!("By hand until each head just touches, in the order {in_star}."),
    );
    let Some(full) = torque else {
        let told = say!(
            "In small equal steps in the order {in_star}, to the torque that your board's maker gives; it is not known \
             here."
        );
        return vec![snug, pass(None, &star, told)];
    };
    let staged = STAGES.map(|share| {
        let set = (share * full * SETTINGS_PER_NEWTON_METRE).round() / SETTINGS_PER_NEWTON_METRE;
        let told = say!("Wrench at {}, in the order {in_star}.", told_torque(set));
        pass(Some(set), &star, told)
    });
    let [low, high] = wrench_gives(full);
    let around: Vec<u32> = (1..=count).collect();
    let told = say!(
        "Once around from screw 1 to {count} at {}, and again until no screw turns any more. A wrench in order gives \
         {low:.2} to {high:.2} N m at that setting (± {:.0} %).",
        told_torque(full),
        wrench_share(full) * 100.0
    );
    [snug]
        .into_iter()
        .chain(staged)
        .chain([pass(Some(full), &around, told)])
        .collect()
}

/// `1, 3, 5, 2, 4`.
fn in_words(order: &[u32]) -> String {
    order.iter().map(u32::to_string).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// Orders as flange practice gives them (ASME PCC-1, from memory): 4: 1-3-2-4; 6: 1-4-2-5-3-6; 8: 1-5-3-7-2-6-4-8;
    /// five bolts in steps of two.
    #[test]
    fn the_known_orders() {
        assert_eq!(star_order(4), [1, 3, 2, 4]);
        assert_eq!(star_order(5), [1, 3, 5, 2, 4]);
        assert_eq!(star_order(6), [1, 4, 2, 5, 3, 6]);
        assert_eq!(star_order(8), [1, 5, 3, 7, 2, 6, 4, 8]);
    }

    #[test]
    fn every_screw_comes_once_and_pairs_lie_opposite() {
        for count in 3..=8 {
            let order = star_order(count);
            assert_eq!(order.len(), count as usize);
            assert_eq!(
                order.iter().copied().collect::<BTreeSet<_>>(),
                (1..=count).collect()
            );
            let apart = |a: u32, b: u32| a.abs_diff(b).min(count - a.abs_diff(b));
            if count % 2 == 0 {
                let opposite = |pair: &[u32]| apart(pair[0], pair[1]) == count / 2;
                assert!(order.chunks(2).all(opposite), "{count}");
            } else {
                let across = |pair: &[u32]| apart(pair[0], pair[1]) == (count - 1) / 2;
                assert!(order.windows(2).all(across), "{count}");
            }
        }
    }

    #[test]
    fn torque_rises_in_stages_and_ends_with_a_round_at_full_torque() {
        for count in 3..=8 {
            let passes = passes(count, Some(0.55));
            let torques: Vec<_> = passes.iter().map(|pass| pass.torque).collect();
            assert_eq!(torques, [None, Some(0.17), Some(0.39), Some(0.55), Some(0.55)]);
            assert!(passes[..4].iter().all(|pass| pass.order == star_order(count)));
            assert!(passes[4].order.is_sorted());
            assert!(
                passes[4]
                    .told
                    .contains("0.52 to 0.58 N m at that setting (± 6 %)")
            );
        }
        assert!(passes(5, None).iter().all(|pass| pass.torque.is_none()));
    }
}

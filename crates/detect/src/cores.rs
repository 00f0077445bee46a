//! Work spread over the machine's cores, with an outcome that does not depend on how many there are.

use std::num::NonZero;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How many cores there are; asked once, because the answer is read from files.
fn cores() -> usize {
    static CORES: OnceLock<usize> = OnceLock::new();
    *CORES.get_or_init(|| std::thread::available_parallelism().map_or(1, NonZero::get))
}

/// `work` of every number below `count`, in order. Threads take `share` numbers at a time.
pub fn map<T: Send>(count: usize, share: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let share = share.max(1);
    let threads = cores().min(count.div_ceil(share));
    if threads <= 1 {
        return (0..count).map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let take = || {
        let mut done = Vec::new();
        loop {
            let from = next.fetch_add(share, Ordering::Relaxed);
            if from >= count {
                return done;
            }
            let part: Vec<T> = (from..count.min(from + share)).map(&work).collect();
            done.push((from, part));
        }
    };
    let mut all = std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(take)).collect();
        let mut all = take();
        for other in others {
            match other.join() {
                Ok(done) => all.extend(done),
                // What broke there breaks here as well: a part of the work must not be missing.
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    all.sort_unstable_by_key(|(from, _)| *from);
    all.into_iter().flat_map(|(_, part)| part).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_is_worked_on_once_and_in_order() {
        for (count, share) in [(0, 4), (1, 4), (3, 1), (1000, 7), (1000, 0)] {
            assert_eq!(
                map(count, share, |i| i * i),
                (0..count).map(|i| i * i).collect::<Vec<_>>()
            );
        }
    }

    #[test]
    #[should_panic(expected = "the seventh")]
    fn a_panic_of_one_part_is_passed_on() {
        map(100, 1, |i| assert!(i != 7, "the seventh"));
    }
}

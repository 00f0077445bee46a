//! How long work takes.

use rustix::time::{ClockId, Timespec, clock_gettime};
use serde_json::{Value, json};

fn seconds(clock: ClockId) -> f64 {
    let Timespec { tv_sec, tv_nsec } = clock_gettime(clock);
    tv_sec as f64 + 1e-9 * tv_nsec as f64
}

/// Does the work `times` over and tells the mean seconds of one, by the wall and of processors (all threads), with
/// what `tell` makes of the last result.
pub(crate) fn timed<T>(times: u32, mut work: impl FnMut() -> T, tell: impl FnOnce(T) -> Value) -> Value {
    let times = times.max(1);
    let (wall, cpu) = (seconds(ClockId::Monotonic), seconds(ClockId::ProcessCPUTime));
    for _ in 1..times {
        drop(std::hint::black_box(work()));
    }
    let last = work();
    let share = 1.0 / f64::from(times);
    let (wall, cpu) = (
        share * (seconds(ClockId::Monotonic) - wall),
        share * (seconds(ClockId::ProcessCPUTime) - cpu),
    );
    json!({"wall": wall, "cpu": cpu, "result": tell(last)})
}

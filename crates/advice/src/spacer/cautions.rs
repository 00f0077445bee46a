//! The cautions of spacer advice: always the standing ones, more when tools come out.

use shimwright_record::Cautions;
use shimwright_say::say;

/// For advice that asks for no tool.
pub(super) fn looking_only() -> Cautions {
    Cautions::for_drive_work()
}

/// For advice after which somebody loosens, looks for play, heats or has something cut.
pub(super) fn with_tools() -> Cautions {
    Cautions::for_drive_work()
        .and(
            say!("Wear eye protection when you feel for play, loosen stuck screws, heat or cut anything: clips, chips and \
             old thread locker fly."),
        )
        .and(say!("Do not file or grind a ring to size by hand: its two faces must stay flat and parallel."))
}

//! What a check wants of its photos.

use shimwright_record::CheckKind;

/// Parts of a turn that should have a photo each.
pub const SECTORS: usize = 8;

/// What makes a picture new beside those that were taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum News {
    /// Another wheel angle, by so much (rad) at least, until every part of the turn has a photo.
    WheelAngle {
        /// Smallest turn between two photos.
        apart: f64,
    },
    /// Another side, by so much (rad) at least between two lines of sight.
    Side {
        /// Smallest angle between two lines of sight.
        apart: f64,
        /// Whether it helps to look from higher or lower too, and not only from left and right.
        all_ways: bool,
        /// Whether a phone held another way up, or nearer, is new as well.
        also_pose: bool,
    },
    /// Nothing in the picture can tell: a person decides when to take it.
    ByHand,
}

/// What a check wants of its photos.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// Names of the targets that every photo must show; the first stands still.
    pub targets: &'static [&'static str],
    /// Whether they must be in view whole and uncovered.
    pub whole: bool,
    /// Fewest px that a millimetre of the target that stands still must show as in the photo, where edges beside it are told
    /// apart; a little more than is refused when it is measured.
    pub least_px_per_mm: Option<f64>,
    /// What makes a photo new.
    pub news: News,
    /// So many photos are enough.
    pub enough: usize,
}

const CARD: &[&str] = &["mount-card"];
const CARD_AND_RING: &[&str] = &["mount-card", "hub-ring"];
const SHEET: &[&str] = &["bench-sheet"];

impl Wish {
    /// The wish of a kind of check; `None` for one that is not measured from photos.
    pub fn of(kind: CheckKind) -> Option<Self> {
        let side = |degrees: f64, all_ways| News::Side {
            apart: degrees.to_radians(),
            all_ways,
            also_pose: false,
        };
        let (targets, whole, news, enough) = match kind {
            CheckKind::Gap => (CARD, true, side(12.0, false), 3),
            // Two photos of one part of the turn are wanted only when they differ by half of it.
            CheckKind::Turn => (
                CARD_AND_RING,
                true,
                News::WheelAngle {
                    apart: 22.5_f64.to_radians(),
                },
                SECTORS,
            ),
            CheckKind::Play => (CARD_AND_RING, true, News::ByHand, 2),
            CheckKind::Alignment => (CARD, true, side(12.0, true), 4),
            // The part lies on the sheet and covers some of it.
            CheckKind::Part => (SHEET, false, side(12.0, true), 3),
            CheckKind::Camera => (
                SHEET,
                false,
                News::Side {
                    apart: 10.0_f64.to_radians(),
                    all_ways: true,
                    also_pose: true,
                },
                12,
            ),
            CheckKind::Tension => return None,
        };
        Some(Self {
            targets,
            whole,
            least_px_per_mm: (kind == CheckKind::Gap).then_some(7.5),
            news,
            enough,
        })
    }
}

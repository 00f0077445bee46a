//! The words on the sheets.

use shimwright_target::{Kind, Target};

/// One of the steps from the printer to the first photo.
pub(super) struct Step {
    pub heading: &'static str,
    pub text: &'static str,
}

const PRINT: Step = Step {
    heading: "Print",
    text: "At 100\u{a0}%, never \u{201c}fit to page\u{201d}. Matt paper, full-strength black.",
};

const MEASURE: Step = Step {
    heading: "Measure",
    text: "Both bars with callipers, middle of one end line to middle of the other. Enter both lengths.",
};

const SAFETY: Step = Step {
    heading: "Make it safe",
    text: "Before it goes on the drive: power off, battery disconnected, fingers clear.",
};

/// The steps for a sheet that is cut up.
pub(super) fn card_steps(target: &Target) -> [Step; 4] {
    let text = match target.kind() {
        Kind::Ring { .. } => {
            "On flat, stiff card. Cut along the grey lines. It may sit off centre, but must not slip."
        }
        _ => "On flat, stiff card or plate. Cut along the grey lines. Once placed it must not slip.",
    };
    [
        PRINT,
        MEASURE,
        Step {
            heading: "Stick flat and cut",
            text,
        },
        SAFETY,
    ]
}

/// The steps for one large pattern, each a line of a narrow band.
pub(super) fn bench_steps() -> [Step; 4] {
    [
        Step {
            heading: "Print",
            text: "at 100\u{a0}%, never \u{201c}fit to page\u{201d}, on matt paper.",
        },
        Step {
            heading: "Measure",
            text: "both bars with callipers, middle to middle of the end lines, and enter both lengths.",
        },
        Step {
            heading: "Stick",
            text: "the whole sheet flat on a stiff plate.",
        },
        Step {
            heading: "Make it safe",
            text: "before you take parts off a drive: power off, battery disconnected, fingers clear.",
        },
    ]
}

/// `mount-card` as a heading: `Mount card`.
pub(super) fn title(target: &Target) -> String {
    let words = target.name().replace('-', " ");
    let mut letters = words.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The measures in a few words: `70 × 30 mm`.
pub(super) fn measures(target: &Target) -> String {
    match target.kind() {
        Kind::Ring {
            outer_diameter_mm,
            hole_diameter_mm,
            ..
        } => {
            format!("\u{d8}\u{a0}{outer_diameter_mm}\u{a0}mm, hole \u{d8}\u{a0}{hole_diameter_mm}\u{a0}mm")
        }
        Kind::Board {
            columns,
            rows,
            square_mm,
            ..
        } => {
            format!("{columns}\u{a0}×\u{a0}{rows} squares of {square_mm}\u{a0}mm")
        }
        Kind::Tags => format!("{} tags", target.tags().len()),
    }
}

//! The advice when rings in stock serve.

use super::case::{Case, Side};
use super::options::Options;
use super::predict::{Fit, rub_chance};
use super::search::Plan;
use super::{basis, cautions, describe, notes, rejected, steps};
use crate::wording::{and, chance, length, quantity};
use shimwright_record::{SpacerAdvice, SpacerChoice};

/// A chosen option at a corner.
pub(super) struct Chosen<'a> {
    pub side: &'a Side<'a>,
    pub option: usize,
    pub fit: &'a Fit,
}

/// Slides below this, mm, are too small to set by hand and are left alone in words.
pub(super) const SMALLEST_SLIDE: f64 = 0.05;

impl Chosen<'_> {
    /// Whether the motor pulley is worth sliding.
    pub fn slides(&self) -> bool {
        self.fit.slide.abs() >= SMALLEST_SLIDE
    }
}

/// Puts the advice together.
pub(super) fn advice(case: &Case, options: &Options, plan: &Plan) -> SpacerAdvice {
    let chosen: Vec<Chosen> = case
        .sides
        .iter()
        .zip(&plan.0)
        .zip(plan.fits(options))
        .map(|((side, &option), fit)| Chosen { side, option, fit })
        .collect();
    let work = chosen.iter().any(|one| !one.fit.stays || one.slides());
    SpacerAdvice {
        headline: headline(case, options, &chosen),
        fits: true,
        choices: chosen.iter().map(|one| choice(case, options, one)).collect(),
        ideal: Vec::new(),
        steps: steps::for_choice(case, options, &chosen),
        notes: notes::for_choice(case, options, &chosen),
        cautions: if work {
            cautions::with_tools()
        } else {
            cautions::looking_only()
        },
        basis: basis::basis(case),
        rejected: rejected::rejected(case, options, Some(plan)),
    }
}

fn choice(case: &Case, options: &Options, one: &Chosen) -> SpacerChoice {
    let gap = &one.side.measured.gap;
    let rings = match options.rings(one.option) {
        [] => vec![one.side.fitted_label()],
        rings => case.labels(rings),
    };
    SpacerChoice {
        corner: one.side.measured.corner,
        rings,
        thickness: one.fit.thickness,
        change: !one.fit.stays,
        gap_after: one.fit.gap(),
        belt_offset_after: one.fit.offset(),
        motor_slide: one.fit.slide,
        rub_chance_now: rub_chance(gap.value, gap.u95),
        rub_chance_after: one.fit.rub_chance(),
    }
}

fn headline(case: &Case, options: &Options, chosen: &[Chosen]) -> String {
    let what = what_to_fit(case, options, chosen);
    let gaps: Vec<String> = chosen
        .iter()
        .map(|one| {
            let (name, gap) = (one.side.name(), length(one.fit.gap, one.fit.gap_u95));
            let rub = chance(one.fit.rub_chance());
            if one.fit.stays {
                format!("the {name} gap stays at {gap} (chance of a rub: {rub})")
            } else {
                let now = quantity(&one.side.measured.gap);
                format!("the {name} gap goes from {now} to {gap} (chance of a rub: {rub})")
            }
        })
        .collect();
    format!("{what}: {}.", and(&gaps))
}

fn what_to_fit(case: &Case, options: &Options, chosen: &[Chosen]) -> String {
    let changed: Vec<&Chosen> = chosen.iter().filter(|one| !one.fit.stays).collect();
    let stay: Vec<&Side> = chosen
        .iter()
        .filter(|one| one.fit.stays)
        .map(|one| one.side)
        .collect();
    let slide = if chosen.iter().any(Chosen::slides) {
        ", and slide the motor pulley as listed below"
    } else {
        ""
    };
    match changed.as_slice() {
        [] => format!("Leave the spacer on {} as it is{slide}", describe::corners(&stay)),
        [a, b] if a.option == b.option => {
            format!(
                "Fit {} on both corners{slide}",
                describe::rings(case, options.rings(a.option))
            )
        }
        changed => {
            let mut parts: Vec<String> = changed
                .iter()
                .map(|one| {
                    let rings = describe::rings(case, options.rings(one.option));
                    format!("{rings} on the {} corner", one.side.name())
                })
                .collect();
            if !stay.is_empty() {
                parts.push(format!("leave {} as it is", describe::corners(&stay)));
            }
            format!("Fit {}{slide}", and(&parts))
        }
    }
}

//! The advice when rings in stock serve.

use super::case::{Case, Side};
use super::options::Options;
use super::predict::{Fit, rub_chance};
use super::search::Plan;
use super::{basis, cautions, describe, notes, rejected, steps};
use crate::wording::{and, chance, length};
use shimwright_record::{Guidance, Phrase, SpacerAdvice, SpacerChoice};
use shimwright_say::say;

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
    let cautions = if work {
        cautions::with_tools()
    } else {
        cautions::looking_only()
    };
    SpacerAdvice {
        guidance: Guidance::new(headline(case, options, &chosen), cautions)
            .steps(steps::for_choice(case, options, &chosen))
            .notes(notes::for_choice(case, options, &chosen))
            .basis(basis::basis(case)),
        fits: true,
        choices: chosen.iter().map(|one| choice(case, options, one)).collect(),
        ideal: Vec::new(),
        rejected: rejected::rejected(case, options, Some(plan)),
    }
}

fn choice(case: &Case, options: &Options, one: &Chosen) -> SpacerChoice {
    let gap = &one.side.measured.gap;
    let rings = match options.rings(one.option) {
        [] => vec![one.side.fitted_label().into()],
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

fn headline(case: &Case, options: &Options, chosen: &[Chosen]) -> Phrase {
    let gaps: Vec<Phrase> = chosen
        .iter()
        .map(|one| {
            say!(
                "{} on the {}",
                length(one.fit.gap, one.fit.gap_u95),
                one.side.name()
            )
        })
        .collect();
    let rub = chosen.iter().map(|one| one.fit.rub_chance()).fold(0.0, f64::max);
    let each = if chosen.len() > 1 {
        say!(" on each")
    } else {
        Phrase::foreign("")
    };
    say!(
        "{}. The gap will be {}, and the chance of a rub is {}{each}.{}",
        what_to_do(case, options, chosen),
        and(&gaps),
        chance(rub),
        steps::first(case, chosen).map_or(Phrase::foreign(""), |first| say!(" But first: {first}"))
    )
}

fn what_to_do(case: &Case, options: &Options, chosen: &[Chosen]) -> Phrase {
    let changed: Vec<&Chosen> = chosen.iter().filter(|one| !one.fit.stays).collect();
    let stay: Vec<&Side> = chosen
        .iter()
        .filter(|one| one.fit.stays)
        .map(|one| one.side)
        .collect();
    let label = |one: &Chosen| describe::label(case, options, one.option);
    let spacers = match changed.as_slice() {
        [] => say!("Leave the spacer on {} as it is", describe::corners(&stay)),
        [a, b] if a.option == b.option => say!("Fit {} on both corners", label(a)),
        changed => {
            let fit = |one: &&Chosen| say!("{} on the {} corner", label(one), one.side.name());
            let fitted = and(&changed.iter().map(fit).collect::<Vec<_>>());
            let left = if stay.is_empty() {
                Phrase::foreign("")
            } else {
                say!(", leave the spacer on {} as it is", describe::corners(&stay))
            };
            say!("Fit {fitted}{left}")
        }
    };
    let slid: Vec<&Side> = chosen
        .iter()
        .filter(|one| one.slides())
        .map(|one| one.side)
        .collect();
    if slid.is_empty() {
        spacers
    } else {
        say!(
            "{spacers}, and slide the motor pulley on {}",
            describe::corners(&slid)
        )
    }
}

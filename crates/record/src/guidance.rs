//! Words about work on a drive, which cannot be read without their cautions.

use crate::{Cautions, Phrase};
use serde::{Deserialize, Serialize};

/// What to do about something on the drive, in words.
///
/// None of its sentences can be reached by itself: [`Guidance::sections`] is the only way to the text, and the cautions
/// are always among the sections. The JSON form holds all parts side by side, and one without cautions is refused.
///
/// ```
/// use shimwright_record::{Cautions, Guidance, Phrase};
/// let push = Phrase::listed("Push the pulley 0.18 mm.");
/// let guidance = Guidance::new(push, Cautions::for_drive_work()).step(Phrase::listed("Loosen the screws."));
/// assert!(guidance.sections().iter().any(|section| section.title == "cautions"));
/// ```
///
/// Its text without the cautions does not compile, because its fields are private:
/// ```compile_fail,E0616
/// use shimwright_record::{Cautions, Guidance, Phrase};
/// let guidance = Guidance::new(Phrase::listed("Push the pulley 0.18 mm."), Cautions::for_drive_work());
/// println!("{}", guidance.headline);
/// ```
///
/// Nor does guidance that is made without cautions, or with a list of one's own in their place:
/// ```compile_fail,E0061
/// use shimwright_record::{Guidance, Phrase};
/// let guidance = Guidance::new(Phrase::listed("Push the pulley 0.18 mm."));
/// ```
/// ```compile_fail,E0308
/// use shimwright_record::{Guidance, Phrase};
/// let guidance = Guidance::new(Phrase::listed("Push the pulley 0.18 mm."), Vec::<Phrase>::new());
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Guidance {
    /// One sentence or two in plain words.
    headline: Phrase,
    /// The work, step by step.
    steps: Vec<Phrase>,
    /// What to know before starting.
    #[serde(default)]
    notes: Vec<Phrase>,
    /// Cautions: there is no guidance without them.
    #[cfg_attr(feature = "typescript", ts(as = "Vec<Phrase>"))]
    cautions: Cautions,
    /// What the words rest on: rules, assumptions, sources.
    basis: Vec<Phrase>,
}

/// A part of guidance, as every shell shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Section<'a> {
    /// `headline`, `steps`, `notes`, `cautions` or `basis`.
    pub title: &'static str,
    /// Its sentences.
    pub lines: &'a [Phrase],
}

impl Guidance {
    /// Begins guidance. Cautions come first, because nothing may be said without them.
    pub fn new(headline: Phrase, cautions: Cautions) -> Self {
        Self {
            headline,
            steps: Vec::new(),
            notes: Vec::new(),
            cautions,
            basis: Vec::new(),
        }
    }

    /// The same with a further step.
    #[must_use]
    pub fn step(mut self, step: Phrase) -> Self {
        self.steps.push(step);
        self
    }

    /// The same with further steps.
    #[must_use]
    pub fn steps(mut self, steps: impl IntoIterator<Item = Phrase>) -> Self {
        self.steps.extend(steps);
        self
    }

    /// The same with further notes.
    #[must_use]
    pub fn notes(mut self, notes: impl IntoIterator<Item = Phrase>) -> Self {
        self.notes.extend(notes);
        self
    }

    /// The same with further grounds.
    #[must_use]
    pub fn basis(mut self, basis: impl IntoIterator<Item = Phrase>) -> Self {
        self.basis.extend(basis);
        self
    }

    /// The cautions, which may be read by themselves.
    pub fn cautions(&self) -> &Cautions {
        &self.cautions
    }

    /// All of it in reading order: headline, cautions, steps, notes, basis. Empty parts are left out; the cautions never
    /// are, and they stand before the first step.
    pub fn sections(&self) -> Vec<Section<'_>> {
        let headline = std::slice::from_ref(&self.headline);
        let all: [(&'static str, &[Phrase]); 5] = [
            ("headline", headline),
            ("cautions", &self.cautions),
            ("steps", &self.steps),
            ("notes", &self.notes),
            ("basis", &self.basis),
        ];
        all.into_iter()
            .filter(|(_, lines)| !lines.is_empty())
            .map(|(title, lines)| Section { title, lines })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cautions_stand_before_the_first_step_and_are_never_left_out() {
        let bare = Guidance::new(Phrase::listed("Nothing to do."), Cautions::for_drive_work());
        let titles = |guidance: &Guidance| -> Vec<&str> {
            guidance.sections().iter().map(|section| section.title).collect()
        };
        assert_eq!(titles(&bare), ["headline", "cautions"]);
        let full = bare
            .step(Phrase::listed("Loosen."))
            .notes([Phrase::listed("Know.")])
            .basis([Phrase::listed("Because.")]);
        assert_eq!(titles(&full), ["headline", "cautions", "steps", "notes", "basis"]);
    }

    #[test]
    fn stored_guidance_cannot_lose_its_cautions() {
        let guidance = Guidance::new(Phrase::listed("Push."), Cautions::for_drive_work())
            .step(Phrase::listed("Loosen."));
        let mut json = serde_json::to_value(&guidance).unwrap();
        assert_eq!(
            serde_json::from_value::<Guidance>(json.clone()).unwrap(),
            guidance
        );
        json["cautions"] = serde_json::json!([""]);
        assert!(serde_json::from_value::<Guidance>(json.clone()).is_err());
        json.as_object_mut().unwrap().remove("cautions");
        assert!(serde_json::from_value::<Guidance>(json).is_err());
    }
}

//! Cautions: what must be said with every piece of advice that touches a drive.

use crate::Phrase;
use serde::{Deserialize, Deserializer, Serialize, de::Error};
use shimwright_say::say;
use std::ops::Deref;

/// The cautions that go with every piece of advice. One can only be made by [`Cautions::for_drive_work`], so a list
/// without them cannot exist in a running program.
///
/// Its JSON form is a list of sentences. One read back from a file keeps the wording it was given with, but an empty
/// list is refused.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Cautions(Vec<Phrase>);

/// Said whenever anybody may put a hand near the drive.
fn drive_work() -> [Phrase; 5] {
    [
        say!(
            "Switch the board off and disconnect the battery before a hand or tool goes near the drive: a motor that wakes \
     up does not wait for you."
        ),
        say!(
            "Keep fingers, hair and sleeves clear of belt and pulleys, and turn the wheel slowly by hand only."
        ),
        say!("Stand the board so that it can neither tip nor roll."),
        say!("Do not ride before every wheel turns freely all the way round and nothing rubs."),
        say!("When in doubt, have a qualified workshop do the work or check it before you ride."),
    ]
}

impl Cautions {
    /// What must be said of any work on a drive: power off and battery disconnected, fingers clear, board secured,
    /// no riding while something rubs, and a qualified workshop when in doubt.
    pub fn for_drive_work() -> Self {
        Self(drive_work().to_vec())
    }

    /// The same with a further caution at the end; one that is there already is not said twice.
    #[must_use]
    pub fn and(mut self, caution: Phrase) -> Self {
        if !self.0.contains(&caution) {
            self.0.push(caution);
        }
        self
    }
}

impl Deref for Cautions {
    type Target = [Phrase];

    fn deref(&self) -> &[Phrase] {
        &self.0
    }
}

impl<'a> IntoIterator for &'a Cautions {
    type Item = &'a Phrase;
    type IntoIter = std::slice::Iter<'a, Phrase>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

impl<'de> Deserialize<'de> for Cautions {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let sentences = Vec::<Phrase>::deserialize(deserializer)?;
        if sentences.iter().all(|sentence| sentence.trim().is_empty()) {
            return Err(D::Error::custom(
                "advice must carry its cautions, and this list of cautions is empty",
            ));
        }
        Ok(Self(sentences))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn further_cautions_come_after_the_standing_ones() {
        let cautions = Cautions::for_drive_work()
            .and(Phrase::listed("Wear eye protection."))
            .and(Phrase::listed("Wear eye protection."));
        assert_eq!(cautions.len(), drive_work().len() + 1);
        assert_eq!(cautions.last().map(Phrase::as_str), Some("Wear eye protection."));
    }

    #[test]
    fn the_json_form_is_a_list_and_an_empty_one_is_refused() {
        let cautions = Cautions::for_drive_work();
        let json = shimwright_phrase::plainly(|| serde_json::to_string(&cautions).unwrap());
        assert!(json.starts_with("[\"Switch the board off"));
        assert_eq!(serde_json::from_str::<Cautions>(&json).unwrap(), cautions);
        for empty in ["[]", "[\"\", \" \"]"] {
            let refusal = serde_json::from_str::<Cautions>(empty).unwrap_err().to_string();
            assert!(refusal.contains("must carry its cautions"), "{refusal}");
        }
    }
}

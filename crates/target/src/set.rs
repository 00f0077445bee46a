//! The targets that a job may use.

use crate::target::Target;
use crate::{Error, file};

/// Targets with different names and no tag id in common.
#[derive(Clone, Debug, PartialEq)]
pub struct TargetSet {
    targets: Vec<Target>,
}

impl TargetSet {
    /// The bench sheet, mount card and hub ring of `calibration/targets.json`.
    pub fn built_in() -> Self {
        Self::from_json(include_str!("../../../calibration/targets.json"))
            .expect("the built-in definitions are checked by this crate's tests")
    }

    /// Reads and checks a file of definitions; `calibration/README.md` explains its format.
    pub fn from_json(text: &str) -> Result<Self, Error> {
        let mut set = Self { targets: Vec::new() };
        for target in file::read(text)? {
            if set.by_name(target.name()).is_some() {
                return Err(Error::DuplicateName {
                    name: target.name().to_owned(),
                });
            }
            set.push(target)?;
        }
        Ok(set)
    }

    /// This set with a user's own targets: one of the same name takes the old one's place, the others are added.
    /// Fails when a tag id is then used twice.
    pub fn with(&self, own: &TargetSet) -> Result<Self, Error> {
        let kept = self.targets.iter().filter(|t| own.by_name(t.name()).is_none());
        let mut set = Self { targets: Vec::new() };
        for target in kept.chain(&own.targets) {
            set.push(target.clone())?;
        }
        Ok(set)
    }

    /// The target of that name.
    pub fn by_name(&self, name: &str) -> Option<&Target> {
        self.targets.iter().find(|t| t.name() == name)
    }

    /// The target that carries a tag.
    pub fn by_tag(&self, id: u32) -> Option<&Target> {
        self.targets.iter().find(|t| t.tag(id).is_some())
    }

    /// All targets, in the order of their files.
    pub fn iter(&self) -> std::slice::Iter<'_, Target> {
        self.targets.iter()
    }

    fn push(&mut self, target: Target) -> Result<(), Error> {
        for tag in target.tags() {
            if let Some(first) = self.by_tag(tag.id) {
                return Err(Error::DuplicateId {
                    id: tag.id,
                    first: first.name().to_owned(),
                    second: target.name().to_owned(),
                });
            }
        }
        self.targets.push(target);
        Ok(())
    }
}

impl<'a> IntoIterator for &'a TargetSet {
    type Item = &'a Target;
    type IntoIter = std::slice::Iter<'a, Target>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

//! Where in a kitchen file something stands: `joints[3].weight`.

use std::fmt;

/// One step down from the root of the file.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Step {
    /// Into a field.
    Key(String),
    /// Into an item of a list, from 0.
    At(usize),
}

/// A path from the root of a kitchen file to one value in it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Path(pub Vec<Step>);

impl Path {
    /// The whole file.
    pub const ROOT: Self = Self(Vec::new());

    /// A field at the root.
    pub fn of(key: &str) -> Self {
        Self::ROOT.key(key)
    }

    /// A field further in.
    #[must_use]
    pub fn key(&self, key: &str) -> Self {
        let mut steps = self.0.clone();
        steps.push(Step::Key(key.to_owned()));
        Self(steps)
    }

    /// An item of the list here.
    #[must_use]
    pub fn at(&self, index: usize) -> Self {
        let mut steps = self.0.clone();
        steps.push(Step::At(index));
        Self(steps)
    }

    /// The path without its last step.
    pub fn parent(&self) -> Option<Self> {
        let (_, front) = self.0.split_last()?;
        Some(Self(front.to_vec()))
    }
}

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, step) in self.0.iter().enumerate() {
            match step {
                Step::Key(k) if i == 0 => f.write_str(k)?,
                Step::Key(k) => write!(f, ".{k}")?,
                Step::At(n) => write!(f, "[{n}]")?,
            }
        }
        Ok(())
    }
}

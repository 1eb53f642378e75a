//! Resources and their capacity over time.

use crate::Tick;

/// A renewable resource.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resource {
    /// A name for people.
    pub name: String,
    /// How much of it there is, over time.
    pub capacity: Profile,
}

/// A step function of time: a level from each step until the next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Profile {
    steps: Vec<(Tick, u32)>,
}

/// What is wrong with the steps of a profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ProfileFault {
    /// The first step is missing or does not begin at tick 0.
    #[error("a capacity profile begins with a step at tick 0")]
    NoOrigin,
    /// A step does not come after the one before it.
    #[error("the step at tick {0} does not come after the one before it")]
    OutOfOrder(Tick),
}

impl Profile {
    /// The same level for ever.
    pub fn constant(level: u32) -> Self {
        Self { steps: vec![(0, level)] }
    }

    /// A profile from steps `(from, level)` in order of time, the first at tick 0. Steps
    /// that change nothing are merged away.
    pub fn new(steps: Vec<(Tick, u32)>) -> Result<Self, ProfileFault> {
        if steps.first().is_none_or(|&(from, _)| from != 0) {
            return Err(ProfileFault::NoOrigin);
        }
        if let Some(pair) = steps.windows(2).find(|pair| pair[0].0 >= pair[1].0) {
            return Err(ProfileFault::OutOfOrder(pair[1].0));
        }
        let mut merged: Vec<(Tick, u32)> = Vec::with_capacity(steps.len());
        for step in steps {
            if merged.last().is_none_or(|last| last.1 != step.1) {
                merged.push(step);
            }
        }
        Ok(Self { steps: merged })
    }

    /// The steps, in order of time; the first begins at tick 0.
    pub fn steps(&self) -> &[(Tick, u32)] {
        &self.steps
    }

    /// The level at a tick; before tick 0 it is the level at tick 0.
    pub fn at(&self, tick: Tick) -> u32 {
        let after = self.steps.partition_point(|&(from, _)| from <= tick);
        self.steps[after.saturating_sub(1)].1
    }

    /// The greatest level that is ever reached.
    pub fn peak(&self) -> u32 {
        self.steps.iter().map(|&(_, level)| level).max().unwrap_or(0)
    }
}

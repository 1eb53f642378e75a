//! What is asked of a search, and what it answers.

use std::time::Duration;

use timetable::{Measures, Schedule};

use crate::Conflict;

/// How to search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Options {
    /// When to stop.
    pub stop: Stop,
    /// How many threads may run; 0 counts as 1. The answer to a budget of steps does not
    /// depend on it.
    pub threads: usize,
    /// Where the random streams begin.
    pub seed: u64,
    /// A schedule to begin from. A hint: it may be unlawful, and one that does not fit
    /// the problem (a wrong number of assignments, an unknown mode) is passed over.
    pub start_from: Option<Schedule>,
}

impl Default for Options {
    /// Ten seconds, one thread, seed 1.
    fn default() -> Self {
        let stop = Stop { time: Some(Duration::from_secs(10)), steps: None };
        Self { stop, threads: 1, seed: 1, start_from: None }
    }
}

/// When to stop, if nothing has been proven until then: whichever comes first. With
/// neither, the search goes on until it has a proof or is cancelled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Stop {
    /// After so much time. Where time decides, the answer is *not* reproducible: it
    /// depends on the machine, on its other work and on the number of threads.
    pub time: Option<Duration>,
    /// After so many schedules have been decoded; a conflict of the exact search counts
    /// as one, and so do moves that together place as many tasks as there are. The budget is spent in rounds of a fixed size, so that a search may pass it
    /// by less than one round. Same problem, options and seed: same answer.
    pub steps: Option<u64>,
}

impl Stop {
    /// Stops after some time; not reproducible.
    pub const fn after(time: Duration) -> Self {
        Self { time: Some(time), steps: None }
    }

    /// Stops after a number of decoded schedules; reproducible.
    pub const fn after_steps(steps: u64) -> Self {
        Self { time: None, steps: Some(steps) }
    }
}

/// Looks on while a search runs, and may end it.
pub trait Watch: Sync {
    /// Hears about the state of the search, some twenty times a second at most, and besides
    /// when the first schedule is there and when the rounds end; always from the thread
    /// that called [`solve`](crate::solve()).
    fn progress(&self, news: &News);

    /// Whether the search should end now, with what it has. Asked often, from every
    /// thread: it must be cheap.
    fn cancelled(&self) -> bool {
        false
    }
}

/// Nobody looks on.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Watch for Silent {
    fn progress(&self, _news: &News) {}
}

/// The state of a search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct News {
    /// What the best lawful schedule so far measures.
    pub best: Option<Measures>,
    /// What is proven.
    pub bound: Bound,
    /// Schedules decoded so far.
    pub steps: u64,
    /// Time since the search began.
    pub elapsed: Duration,
}

/// Proven lower bounds, one for each level of [`Measures::key`], in the order in which the
/// levels count: no lawful schedule has less tardiness; none of those with the least
/// tardiness has less cost; none of those with the least tardiness and then the least cost is
/// shorter. So a schedule that meets all three is optimal. The opposite need not be: a bound
/// may be weaker than what is true.
///
/// A bound that was found before the search holds for every lawful schedule, whatever it
/// measures on the other levels; one that the exact search raised may need the levels before
/// it to be at their best.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Bound {
    /// No lawful schedule has less weighted tardiness.
    pub tardiness: i64,
    /// No lawful schedule with the least tardiness has a smaller sum of cost and drift.
    pub cost: i64,
    /// No lawful schedule with the least tardiness and then the least cost is shorter, in
    /// ticks from the origin.
    pub length: timetable::Tick,
}

impl Bound {
    /// Whether a schedule with these measures can't be beaten.
    pub const fn is_met_by(&self, measures: &Measures) -> bool {
        let (tardiness, cost, length) = measures.key();
        tardiness <= self.tardiness && cost <= self.cost && length <= self.length
    }

    /// The stronger of two bounds, level by level.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self {
            tardiness: self.tardiness.max(other.tardiness),
            cost: self.cost.max(other.cost),
            length: self.length.max(other.length),
        }
    }
}

/// What ended a search that proved nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    /// The time was over.
    Time,
    /// The steps were spent.
    Steps,
    /// Whoever looked on cancelled it.
    Cancelled,
}

/// The answer to a problem.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// A lawful schedule, and no lawful schedule has a smaller key.
    Optimal {
        /// The schedule.
        schedule: Schedule,
        /// What it measures.
        measures: Measures,
    },
    /// A lawful schedule.
    Feasible {
        /// The schedule.
        schedule: Schedule,
        /// What it measures.
        measures: Measures,
        /// What is proven about every schedule.
        bound: Bound,
        /// Why the search ended.
        stopped: Stopped,
    },
    /// Proven: there is no lawful schedule.
    Infeasible(Conflict),
    /// Neither a lawful schedule nor a proof that there is none.
    Unknown {
        /// What is proven about every schedule.
        bound: Bound,
        /// Why the search ended.
        stopped: Stopped,
    },
}

impl Outcome {
    /// The schedule, if there is one.
    pub const fn schedule(&self) -> Option<&Schedule> {
        match self {
            Self::Optimal { schedule, .. } | Self::Feasible { schedule, .. } => {
                Some(schedule)
            }
            Self::Infeasible(_) | Self::Unknown { .. } => None,
        }
    }

    /// What the schedule measures, if there is one.
    pub const fn measures(&self) -> Option<Measures> {
        match self {
            Self::Optimal { measures, .. } | Self::Feasible { measures, .. } => {
                Some(*measures)
            }
            Self::Infeasible(_) | Self::Unknown { .. } => None,
        }
    }
}

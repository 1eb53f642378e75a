//! What a check has to say.

use std::fmt;

use timetable::{
    Assignment, CalendarId, LinkId, ModeId, OccupancyId, Problem, ResourceId, StockId,
    TaskId, Tick,
};

use crate::sentence;

/// One breach of one rule. Displays as a sentence with the problem's own names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// What the breach means for the rest of the check.
    pub severity: Severity,
    /// Which rule, and how it is broken.
    pub rule: Rule,
    sentence: String,
}

/// What a breach means for the rest of the check. Either way the schedule is not lawful.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// A rule is broken; all other rules could be judged.
    Breach,
    /// The schedule makes no sense here, so that other rules could not be judged.
    Unreadable,
}

/// A rule, and how it is broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Rule {
    /// A schedule has one assignment for each task.
    WrongNumberOfTasks {
        /// How many tasks the problem has.
        expected: usize,
        /// How many assignments the schedule has.
        found: usize,
    },
    /// A task runs in one of its modes.
    UnknownMode {
        /// The task.
        task: TaskId,
        /// The mode that it does not have.
        mode: ModeId,
        /// How many modes it has.
        modes: usize,
    },
    /// Nothing starts before tick 0.
    BeforeOrigin {
        /// The task.
        task: TaskId,
        /// Its start.
        start: Tick,
    },
    /// A task starts at its release or later.
    StartsTooEarly {
        /// The task.
        task: TaskId,
        /// Its start.
        start: Tick,
        /// Its release.
        release: Tick,
    },
    /// A task finishes at its deadline or earlier.
    FinishesTooLate {
        /// The task.
        task: TaskId,
        /// Its finish.
        finish: Tick,
        /// Its deadline.
        deadline: Tick,
    },
    /// A task finishes at the horizon or earlier.
    BeyondHorizon {
        /// The task.
        task: TaskId,
        /// Its finish.
        finish: Tick,
        /// The horizon of the problem.
        horizon: Tick,
    },
    /// The finish follows from the start (or from what is left), the work and the pace.
    WrongFinish {
        /// The task.
        task: TaskId,
        /// The finish that follows; nothing if the calendar ends too soon for one.
        expected: Option<Tick>,
        /// The finish in the schedule.
        found: Tick,
    },
    /// A mode that runs without a break lies in open ticks, one that pauses starts in one.
    ClosedTick {
        /// The task.
        task: TaskId,
        /// The first tick that should be open and is not.
        tick: Tick,
        /// The calendar of the mode.
        calendar: CalendarId,
    },
    /// What a link's events keep at least between them.
    LeastLag {
        /// The link.
        link: LinkId,
        /// The least lag.
        least: Tick,
        /// The lag in the schedule, counted by the link's clock.
        found: i64,
        /// The tick of the event that the lag is measured from.
        from: Tick,
        /// The tick of the event that it is measured to.
        to: Tick,
    },
    /// What a link's events keep at most between them.
    GreatestLag {
        /// The link.
        link: LinkId,
        /// The greatest lag.
        greatest: Tick,
        /// The lag in the schedule, counted by the link's clock.
        found: i64,
        /// The tick of the event that the lag is measured from.
        from: Tick,
        /// The tick of the event that it is measured to.
        to: Tick,
    },
    /// An occupancy does not end before it begins.
    OccupancyBackwards {
        /// The occupancy.
        occupancy: OccupancyId,
        /// From when.
        from: Tick,
        /// Until when.
        to: Tick,
    },
    /// A resource is not used beyond its capacity.
    CapacityExceeded {
        /// The resource.
        resource: ResourceId,
        /// The first tick of the stretch in which it is.
        tick: Tick,
        /// The first tick after the stretch.
        until: Tick,
        /// How much is used at `tick`.
        used: u64,
        /// How much there is at `tick`.
        capacity: u32,
        /// Who uses it at `tick`, tasks before occupancies, in order.
        users: Vec<Use>,
    },
    /// Tasks do not take more of a stock than there is.
    StockExceeded {
        /// The stock.
        stock: StockId,
        /// How much is taken in all; the greatest number there is if it is more.
        taken: i64,
        /// How much there is.
        available: i64,
        /// Which tasks take how much of it, in order.
        takers: Vec<Taken>,
    },
    /// A schedule repeats what has happened.
    PastChanged {
        /// The task.
        task: TaskId,
        /// What happened of it.
        happened: Happened,
        /// What the schedule says of it.
        found: Assignment,
    },
}

/// What has happened of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Happened {
    /// The mode that it runs or ran in.
    pub mode: ModeId,
    /// When it started.
    pub start: Tick,
    /// When it finished; nothing if it has not.
    pub finish: Option<Tick>,
}

/// What a task takes of a stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// The task.
    pub task: TaskId,
    /// How much, at least 1.
    pub amount: i64,
}

/// A use of a resource at a tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Use {
    /// Who uses it.
    pub user: User,
    /// How much, at least 1.
    pub amount: u64,
}

/// Who uses a resource.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum User {
    /// A running task.
    Task(TaskId),
    /// An occupancy.
    Occupancy(OccupancyId),
}

impl Note {
    pub(crate) fn new(problem: &Problem, rule: Rule) -> Self {
        let severity = match rule {
            Rule::WrongNumberOfTasks { .. } | Rule::UnknownMode { .. } => {
                Severity::Unreadable
            }
            _ => Severity::Breach,
        };
        let sentence = sentence::of(problem, &rule);
        Self { severity, rule, sentence }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.sentence)
    }
}

//! Tasks and the ways in which they can be done.

use crate::{CalendarId, ModeId, ResourceId, Take, Tick};

/// Something to be done once, in one of its modes, from a start to a finish.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// A name for people.
    pub name: String,
    /// The ways to do it; at least one. Exactly one is chosen.
    pub modes: Vec<Mode>,
    /// It starts at this tick or later.
    pub release: Tick,
    /// It finishes at this tick or earlier, without exception.
    pub deadline: Option<Tick>,
    /// It should finish by a tick; being late counts in the objective.
    pub due: Option<Due>,
    /// What has happened already.
    pub progress: Progress,
    /// Where the plan that people work from has it.
    pub published: Option<Published>,
}

impl Task {
    /// A task with one mode, no window, no due date, and nothing done yet.
    pub fn new(name: impl Into<String>, mode: Mode) -> Self {
        Self {
            name: name.into(),
            modes: vec![mode],
            release: 0,
            deadline: None,
            due: None,
            progress: Progress::Todo,
            published: None,
        }
    }
}

/// One way to do a task.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mode {
    /// A name for people; may be empty where a task has one mode.
    pub name: String,
    /// How many ticks of work (or of elapsed time, as `pace` says) it takes; not negative.
    pub work: Tick,
    /// How the work lies in time.
    pub pace: Pace,
    /// What it uses while it runs; each resource at most once for each [`During`].
    pub demands: Vec<Demand>,
    /// What it takes of stocks, whenever it runs; each stock at most once.
    pub takes: Vec<Take>,
    /// What choosing this mode costs, in the objective's unit of cost; not negative.
    pub cost: i64,
}

impl Mode {
    /// A mode of elapsed time.
    pub fn elapsed(work: Tick, demands: Vec<Demand>) -> Self {
        Self {
            name: String::new(),
            work,
            pace: Pace::Elapsed,
            demands,
            takes: Vec::new(),
            cost: 0,
        }
    }
}

/// How the work of a mode lies in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pace {
    /// Runs on through nights and closures: `finish = start + work`.
    Elapsed,
    /// Runs on without a break, and only while the calendar is open: every tick of
    /// `[start, start + work)` is open.
    Whole(CalendarId),
    /// Pauses when the calendar closes and resumes when it opens. If `work > 0` the tick
    /// `start` is open, and `finish` is the least tick for which `[start, finish)` holds
    /// `work` open ticks. If `work = 0`, `finish = start`, which may be any tick.
    Pausing(CalendarId),
}

/// A use of a resource by a running task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Demand {
    /// What is used.
    pub resource: ResourceId,
    /// How much of it, at least 1.
    pub amount: u32,
    /// When it is used.
    pub during: During,
}

impl Demand {
    /// A use from the start to the finish of the task.
    pub const fn throughout(resource: ResourceId, amount: u32) -> Self {
        Self { resource, amount, during: During::Throughout }
    }

    /// A use in the ticks that are worked.
    pub const fn working(resource: ResourceId, amount: u32) -> Self {
        Self { resource, amount, during: During::Working }
    }
}

/// When a running task uses a resource.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum During {
    /// In every tick of `[start, finish)`, pauses included: a bay, a stand, a crew that is
    /// kept together.
    Throughout,
    /// In the ticks of `[start, finish)` in which the mode's calendar is open: people, who
    /// go home. The same as `Throughout` for modes that do not pause.
    Working,
}

/// A date that a task should keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Due {
    /// It should finish at this tick or earlier.
    pub at: Tick,
    /// What each tick of lateness counts; at least 1.
    pub weight: u32,
}

/// What has happened of a task already.
///
/// What has happened is a fact, and so is all that follows from facts alone: the mode, the
/// start and the finish of a task that is `Started` or `Done` are the same in every
/// schedule. A schedule repeats them; it is not blamed for them:
///
/// - a link or an occupancy between two events of such tasks is not judged;
/// - a resource may be used beyond its capacity at a tick as long as only use that every
///   schedule has is there: that of such tasks, and that of an occupancy from an event of
///   such a task until the other event or, where a task that is still to do sets it, until
///   that task's release. Nothing that a schedule chooses may be added at such a tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// Nothing.
    Todo,
    /// It started, in a mode that is no longer open to choice. The work that is left lies
    /// from `resume` on by the mode's pace, as if a task of `left` ticks started at
    /// `resume`:
    ///
    /// - `Elapsed`: `finish = resume + left`;
    /// - `Whole`: `finish = resume + left`, and every tick of `[resume, finish)` must be
    ///   open, so whoever states the facts puts `resume` where the rest can be done;
    /// - `Pausing`: `finish` is the least tick for which `[resume, finish)` holds `left`
    ///   open ticks, whether `resume` is open or not; `finish = resume` if `left = 0`.
    ///
    /// It uses what its mode demands in `[start, finish)`. Its `release` no longer applies;
    /// its `deadline` and the horizon do.
    Started {
        /// The mode that it runs in.
        mode: ModeId,
        /// When it started.
        start: Tick,
        /// From when on the rest is counted: now, as a rule.
        resume: Tick,
        /// How much of the mode's work is left; at least 0.
        left: Tick,
    },
    /// It is finished; nothing about it can change, and windows no longer apply.
    Done {
        /// The mode that it ran in.
        mode: ModeId,
        /// When it started.
        start: Tick,
        /// When it finished.
        finish: Tick,
    },
}

/// Where the published plan has a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Published {
    /// Its published start.
    pub start: Tick,
    /// What each tick of difference from it counts, as cost.
    pub weight: u32,
}

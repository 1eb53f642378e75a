//! Rules between tasks: lags and occupancies.

use crate::{CalendarId, ResourceId, TaskId, Tick};

/// One end of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// Its start.
    Start,
    /// Its finish.
    Finish,
}

/// The moment at which a task starts or finishes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Event {
    /// The task.
    pub task: TaskId,
    /// Which of its ends.
    pub end: End,
}

impl Event {
    /// The start of a task.
    pub const fn start(task: TaskId) -> Self {
        Self { task, end: End::Start }
    }

    /// The finish of a task.
    pub const fn finish(task: TaskId) -> Self {
        Self { task, end: End::Finish }
    }
}

/// A least and a greatest time from one event to another.
///
/// With `t(e)` the tick of an event and an elapsed clock: `t(to) - t(from) >= least` and
/// `t(to) - t(from) <= greatest`, where given. Either may be negative: a greatest lag is
/// the same as a least lag of the opposite sign in the other direction.
///
/// With a working clock the difference is the number of open ticks in
/// `[t(from), t(to))`, negated when `to` comes before `from`; such a `least` must not be
/// negative, and it also asks for `t(to) >= t(from)`. A `greatest` on a working clock must
/// not be negative either, and bounds only how long `to` may come after `from`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link {
    /// Where the lag is measured from.
    pub from: Event,
    /// Where it is measured to.
    pub to: Event,
    /// The least lag.
    pub least: Option<Tick>,
    /// The greatest lag.
    pub greatest: Option<Tick>,
    /// What counts as time.
    pub clock: Clock,
}

impl Link {
    /// `to` starts when `from` has finished, or later.
    pub const fn after(from: TaskId, to: TaskId) -> Self {
        Self::least(Event::finish(from), Event::start(to), 0)
    }

    /// At least so much elapsed time between two events.
    pub const fn least(from: Event, to: Event, least: Tick) -> Self {
        Self { from, to, least: Some(least), greatest: None, clock: Clock::Elapsed }
    }

    /// At most so much elapsed time between two events.
    pub const fn greatest(from: Event, to: Event, greatest: Tick) -> Self {
        Self { from, to, least: None, greatest: Some(greatest), clock: Clock::Elapsed }
    }
}

/// What counts as time in a lag.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clock {
    /// Every tick.
    Elapsed,
    /// The open ticks of a calendar.
    Working(CalendarId),
}

/// Something that stays in use from one event to another: a stand from the removal of
/// what it holds to its refit.
///
/// The resource is used in every tick of `[t(from), t(to))`, and `t(from) <= t(to)` must
/// hold. Several may wait for each other in a ring (each holds what the next one needs);
/// a schedule in which that happens cannot be written down, so lawfulness is plain: the
/// capacity holds at each tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Occupancy {
    /// What is occupied.
    pub resource: ResourceId,
    /// How much of it, at least 1.
    pub amount: u32,
    /// From when.
    pub from: Event,
    /// Until when.
    pub to: Event,
}

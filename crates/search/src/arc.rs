//! Lags between events, all in one direction.
//!
//! Write `t(u)` for the tick of an event. Every rule between two events becomes an arc
//! `u -> v` that asks for `t(v) >= f(t(u))` with a function `f` that never falls:
//!
//! | rule | arc | `f(x)` |
//! |---|---|---|
//! | least elapsed lag `l` | from -> to | `x + l` |
//! | greatest elapsed lag `g` | to -> from | `x - g` |
//! | least working lag `w` | from -> to | the least `y` with `w` open ticks in `[x, y)` |
//! | greatest working lag `g` | to -> from | the least `y` with at most `g` open ticks in `[y, x)` |
//! | occupancy | from -> to | `x` |
//!
//! Because every `f` rises, the least times that satisfy all arcs are found by raising ticks
//! until nothing moves, calendars or not. [`Lag::latest`] turns `f` round: the greatest `x`
//! with `f(x) <= y`.

use timetable::{
    Calendar, Clock, End, Event, LinkId, OccupancyId, Problem, TaskId, Tick,
};

use crate::pattern::always;
use crate::steps::FAR;

/// A number for an event: twice the task, plus one for its finish.
pub(crate) type Node = usize;

/// The number of an event.
pub(crate) const fn node(event: Event) -> Node {
    2 * event.task.at() + matches!(event.end, End::Finish) as usize
}

/// The task of an event.
pub(crate) const fn task_of(node: Node) -> usize {
    node / 2
}

/// Whether an event is the finish of its task.
pub(crate) const fn is_finish(node: Node) -> bool {
    node % 2 == 1
}

/// What an arc comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Source {
    /// The least lag of a link.
    Least(LinkId),
    /// The greatest lag of a link.
    Greatest(LinkId),
    /// The order of the two events of an occupancy.
    Occupancy(OccupancyId),
}

/// How far the later event must lie from the earlier.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Lag<'p> {
    /// So many ticks; may be negative.
    Elapsed(Tick),
    /// At least so many open ticks after.
    Open(&'p Calendar, Tick),
    /// At most so many open ticks before.
    Within(&'p Calendar, Tick),
}

/// An arc of the event graph.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Arc<'p> {
    /// Where the lag is measured from.
    pub(crate) from: Node,
    /// The event that it holds back.
    pub(crate) to: Node,
    /// By how much.
    pub(crate) lag: Lag<'p>,
    /// Whose rule it is.
    pub(crate) source: Source,
}

impl Lag<'_> {
    /// `f`: the earliest that the lag allows its end, given the tick of its beginning.
    /// [`FAR`] if a calendar ends too soon.
    pub(crate) fn earliest(&self, from: Tick) -> Tick {
        match *self {
            Self::Elapsed(lag) => from + lag,
            Self::Open(calendar, work) => calendar.finish_of(from, work).unwrap_or(FAR),
            Self::Within(calendar, work) => {
                calendar.start_of(from, work + 1).map_or(0, |tick| tick + 1)
            }
        }
    }

    /// The latest that the lag allows its beginning, given the tick of its end; negative
    /// if a calendar begins too late.
    pub(crate) fn latest(&self, to: Tick) -> Tick {
        match *self {
            Self::Elapsed(lag) => to - lag,
            Self::Open(calendar, work) => calendar.start_of(to, work).unwrap_or(-1),
            Self::Within(calendar, work) => {
                calendar.finish_of(to, work + 1).map_or(FAR, |tick| tick - 1)
            }
        }
    }
}

impl Arc<'_> {
    /// The earliest that the arc allows its end, given the tick of its beginning.
    pub(crate) fn earliest(&self, from: Tick) -> Tick {
        self.lag.earliest(from)
    }

    /// The latest that the arc allows its beginning, given the tick of its end.
    pub(crate) fn latest(&self, to: Tick) -> Tick {
        self.lag.latest(to)
    }

    /// A lag in elapsed ticks that the arc implies whatever the time, if there is one.
    pub(crate) const fn implied(&self) -> Option<Tick> {
        match self.lag {
            Lag::Elapsed(lag) | Lag::Open(_, lag) => Some(lag),
            Lag::Within(..) => None,
        }
    }
}

/// All the arcs of a problem.
pub(crate) fn arcs(problem: &Problem) -> Vec<Arc<'_>> {
    let mut arcs =
        Vec::with_capacity(problem.links().len() + problem.occupancies().len());
    for (position, link) in problem.links().iter().enumerate() {
        let (from, to) = (node(link.from), node(link.to));
        let id = LinkId::new(position);
        let calendar = match link.clock {
            Clock::Working(id) if !always(problem, id) => Some(problem.calendar(id)),
            Clock::Elapsed | Clock::Working(_) => None,
        };
        if let Some(least) = link.least {
            let lag = calendar.map_or(Lag::Elapsed(least), |c| Lag::Open(c, least));
            arcs.push(Arc { from, to, lag, source: Source::Least(id) });
        }
        if let Some(greatest) = link.greatest {
            let back = Lag::Elapsed(-greatest);
            let lag = calendar.map_or(back, |c| Lag::Within(c, greatest));
            arcs.push(Arc { from: to, to: from, lag, source: Source::Greatest(id) });
        }
    }
    for (position, occupancy) in problem.occupancies().iter().enumerate() {
        let source = Source::Occupancy(OccupancyId::new(position));
        let (from, to) = (node(occupancy.from), node(occupancy.to));
        arcs.push(Arc { from, to, lag: Lag::Elapsed(0), source });
    }
    arcs
}

/// The task of an event, as an identifier.
pub(crate) const fn id_of(node: Node) -> TaskId {
    TaskId::new(task_of(node))
}

#[cfg(test)]
mod tests {
    use timetable::Window;

    use super::*;

    #[test]
    fn both_directions_agree_with_counting() {
        let windows = vec![Window { from: 2, until: 5 }, Window { from: 8, until: 9 }];
        let calendar = Calendar::new("c", windows).unwrap();
        let arc = |lag| Arc { from: 0, to: 2, lag, source: Source::Least(LinkId(0)) };
        for lag in 0..4 {
            let least = arc(Lag::Open(&calendar, lag));
            let within = arc(Lag::Within(&calendar, lag));
            for x in 0..14 {
                let allowed = |y: &Tick| *y >= x && calendar.open_between(x, *y) >= lag;
                let first = (0..14).find(allowed).unwrap_or(FAR);
                assert_eq!(least.earliest(x), first, "open {lag} from {x}");
                let first = (0..14).find(|&y| calendar.open_between(y, x) <= lag);
                assert_eq!(Some(within.earliest(x)), first, "within {lag} from {x}");
                for y in 0..14 {
                    assert_eq!(x <= least.latest(y), least.earliest(x) <= y);
                    assert_eq!(x <= within.latest(y), within.earliest(x) <= y);
                }
            }
        }
    }
}
